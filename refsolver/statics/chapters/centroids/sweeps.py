"""Areas and lines that turn about an axis of their plane: what both families share.

Source of the method: the theorems of Pappus and Guldinus, any text of statics, for
instance R. C. Hibbeler, "Engineering Mechanics: Statics", section 9.3, from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.dimensions import LENGTH, Dimension
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.areas.extents import Extents
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    angle,
    choice,
)
from refsolver.statics.drawing import Stroke

__all__ = [
    "ACROSS",
    "SWEEP_MISTAKES",
    "Swept",
    "axis_stroke",
    "path_of_centroid",
    "sweep_answers",
    "turning_axis",
    "whole_turn",
]

FULL_TURN = Turn(fmpq(1))


ACROSS = {"x": 1, "y": 0}
"""Which coordinate is the distance from an axis."""


def turning_axis() -> Any:
    return choice(("x", "y"), "the axis it turns about", default="x")


def whole_turn() -> Any:
    return angle("through which it turns", default=FULL_TURN)


def path_of_centroid(distance: Number, turn: Number) -> Number:
    """The way the centroid goes: distance times the turn in radians."""
    return distance * turn


SWEEP_MISTAKES = (
    Mistake(
        "half the way", "the centroid's way is taken as pi d for a whole turn, not 2 pi d",
        rules={"path_of_centroid": lambda distance, turn: distance * turn / 2},
    ),
    Mistake(
        "turned about the other axis", "the distance from the wrong axis is taken",
        givens=lambda given: attrs.evolve(given, axis="y" if given.axis == "x" else "x"),
    ),
)  # fmt: skip


class Swept(Family):
    """Shared: an amount (area or length) times the way of its centroid."""

    swept: ClassVar[str]
    amount: ClassVar[str]
    dimensions: ClassVar[tuple[Dimension, Dimension]]

    def _missing(self, why: str) -> Solution:
        return Solution(dict.fromkeys(self.answers, NoAnswer("not defined", why)))

    def _side(self, reach: Extents | None, axis: str, ar: Arithmetic) -> int | str:
        """+1 or -1 for the side of the axis on which it lies, or why there is none."""
        if reach is None:
            return "no part is solid"
        low, high = (reach.bottom, reach.top) if axis == "x" else (reach.left, reach.right)
        below = ar.sign(low, f"least distance from the {axis} axis") < 0
        above = ar.sign(high, f"greatest distance from the {axis} axis") > 0
        if below and above:
            return f"it lies on both sides of the {axis} axis: turn the two parts by themselves"
        return -1 if below else 1

    def _answered(
        self, amount: Number, distance: Number, turn: Number, ar: Arithmetic, rules: SimpleNamespace
    ) -> Solution:
        way = rules.path_of_centroid(distance, turn)
        answers: dict[str, Value] = {
            self.swept: amount * way,
            self.amount: amount,
            "distance": distance,
            "way": way,
        }
        rows = [
            Row(self.amount, (amount, None)),
            Row("distance of the centroid", (None, distance)),
            Row("way of the centroid", (None, way)),
        ]
        columns = (Column(self.amount, self.dimensions[1]), Column("length", LENGTH))
        return Solution(answers, (Sheet("Sweep", columns, tuple(rows), self.method),))

    def _closed(
        self, given: Any, answers: Mapping[str, Value], amount: Number, moment: Number,
        sizes: tuple[Number, Number], reach: Extents | None, ar: Arithmetic,
    ) -> list[Residual]:  # fmt: skip
        """Residuals from the amount and its first moment about the axis by another route.

        ``sizes`` are those of an amount and of a distance, beside which residuals are small.
        """
        turn, (total, distance) = ar.radians(given.turn), sizes
        side = self._side(reach, given.axis, ar)
        swept = moment * turn * (1 if side == 1 else -1)
        return [
            Residual(self.amount, answers[self.amount] - amount, total),
            Residual(self.swept, answers[self.swept] - swept, total * distance * 7),
            Residual("way", answers["way"] * amount - swept, total * distance * 7),
            Residual("distance", answers["distance"] * turn - answers["way"], distance * 7),
        ]


def sweep_answers(
    swept: str, amount: str, dimensions: tuple[Dimension, Dimension]
) -> dict[str, Answer]:
    refused = ("not defined",)
    return {
        swept: Answer(ScalarKind(dimensions[0]), "swept through the turn", refused),
        amount: Answer(ScalarKind(dimensions[1]), "that is turned", refused),
        "distance": Answer(ScalarKind(LENGTH), "of the centroid from the axis", refused),
        "way": Answer(ScalarKind(LENGTH), "of the centroid through the turn", refused),
    }


def axis_stroke(reach: Extents, axis: str) -> Stroke:
    """The axis along what turns about it; a line square to it still shows a piece of it."""
    left, right, bottom, top = map(float, attrs.astuple(reach))
    if axis == "x":
        spare = 0.0 if left < right else (top - bottom) / 2
        return Stroke((left - spare, 0.0), (right + spare, 0.0), "axis", "axis")
    spare = 0.0 if bottom < top else (right - left) / 2
    return Stroke((0.0, bottom - spare), (0.0, top + spare), "axis", "axis")
