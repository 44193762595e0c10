"""The force or couple that holds a mechanism of one freedom in a given position.

The mechanism, its sources and its signs are in :mod:`.mechanism`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun, Direction
from refsolver.statics import cautions
from refsolver.statics.chapters.virtual_work.cancelling import nearly_cancelled
from refsolver.statics.chapters.virtual_work.drawn import (
    drawn_mechanism,
    mechanism_with_rows,
    two_bars,
    with_knee_load,
)
from refsolver.statics.chapters.virtual_work.energy import (
    MISTAKES,
    RULES,
    PotentialEnergy,
    positions,
    virtual_work,
    without_separation,
)
from refsolver.statics.chapters.virtual_work.mechanism import Mechanism, keys_of_parts
from refsolver.statics.contract import Answer, Family, Residual, Solution, angle, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import brought, dot, length, minus, scaled, unit_vector

__all__ = ["HeldMechanism", "HoldingForce"]


@attrs.frozen(kw_only=True)
class HeldMechanism(Mechanism):
    angle: Angle = angle("the position", default=attrs.NOTHING)
    holding_at: str = text("the point where the sought force acts, if a force is sought")
    holding_along: Direction | None = direction_given("of the sought force", default=None)

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        if bool(self.holding_at) != (self.holding_along is not None):
            raise ValueError("a sought force needs both 'holding_at' and 'holding_along'")
        if self.holding_at and self.holding_at not in {p.name for p in self.points}:
            raise ValueError(f"there is no point {self.holding_at!r} for the sought force")


_NO_FORCE = NoAnswer("not defined", "no point and direction are stated for a force")
_ANY_FORCE = NoAnswer(
    "no unique answer", "the point does not move along the force, and nothing needs holding"
)
_NO_GRIP = NoAnswer("no solution", "the point does not move along the force: it does no work")


@register
class HoldingForce(Family):
    name = "virtual-work/holding-force"
    title = "The force or couple that holds a mechanism of one freedom in a given position"
    givens = HeldMechanism
    answers = {
        "couple": Answer(
            ScalarKind(MOMENT),
            "on a bar that turns with the angle, positive in its sense, holding it alone",
            ("not defined",),
        ),
        "force": Answer(
            ScalarKind(FORCE),
            "at the stated point, positive along the stated direction, holding it alone",
            ("not defined", "no unique answer", "no solution"),
        ),
        "displacements": Answer(
            TableKind(VectorKind(LENGTH, 2), "point"), "of each point for each radian of the angle"
        ),
        "springs": Answer(
            TableKind(ScalarKind(FORCE), "spring"),
            "tension of each spring; negative where it is pressed",
        ),
    }
    rules = RULES
    mistakes = MISTAKES
    method = (
        "the work of all forces over the displacements of one radian, - V', and that of the "
        "holding couple M or force P u sum to zero: M = V', P u . r' = V'"
    )
    second_method = (
        "displacements from the places a quarter turn further; springs as forces on two points; "
        "the work of everything vanishes"
    )
    caution = cautions.MECHANISMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        c, s = ar.cos_sin(given.angle)
        places = positions(given.points, c, s, ar)
        displacements = {
            p.name: rules.rate(brought(p.cosine, ar), brought(p.sine, ar), c, s)
            for p in given.points
        }
        springs = self._springs(given, places, ar)
        lost = without_separation(given, places, ar)
        if lost is not None:
            why = NoAnswer("not defined", f"what joins {lost[0]} and {lost[1]} has no direction")
            held = {"couple": why, "force": why}
            return Solution({**held, "displacements": displacements, "springs": springs})
        t = ar.radians(given.angle) if given.torsion_springs else 0 * c
        couple, parts = PotentialEnergy(given, ar, rules).first(t, c, s)
        answers = {
            "couple": couple,
            "force": self._force(given, couple, displacements, ar),
            "displacements": displacements,
            "springs": springs,
        }
        sheets = [number_sheet("Derivative of the potential energy", parts, self.method, MOMENT)]
        if displacements:
            sheets.append(vector_sheet("Displacements for each radian", LENGTH, displacements))
        return Solution(answers, tuple(sheets))

    def _springs(
        self, given: HeldMechanism, places: Mapping[str, Any], ar: Arithmetic
    ) -> dict[str, Number]:
        found = {}
        for key, spring in zip(keys_of_parts(given)["springs"], given.springs, strict=True):
            reach = length(minus(places[spring.end], places[spring.start]), ar)
            found[key] = ar.bring(spring.stiffness) * (reach - ar.bring(spring.unstretched))
        return found

    def _force(
        self, given: HeldMechanism, needed: Number, displacements: Mapping[str, Any], ar: Arithmetic
    ) -> Value:
        if given.holding_along is None:
            return _NO_FORCE
        along = dot(unit_vector(given.holding_along, ar), displacements[given.holding_at])
        if ar.sign(along, "the sought force does work") != 0:
            return needed / along
        return _NO_GRIP if ar.sign(needed, "something needs holding") else _ANY_FORCE

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        c, s = ar.cos_sin(given.angle)
        ahead, behind = (positions(given.points, k * s, -k * c, ar) for k in (-1, 1))
        residuals = []
        for name, moved in answers["displacements"].items():
            for axis in range(2):
                off = 2 * moved[axis] - ahead[name][axis] + behind[name][axis]
                size = 1 + length(ahead[name], ar) + length(behind[name], ar)
                residuals.append(Residual(f"displacement of {name}, axis {axis + 1}", off, size))
        here = positions(given.points, c, s, ar)
        for key, spring in zip(keys_of_parts(given)["springs"], given.springs, strict=True):
            apart = minus(here[spring.end], here[spring.start])
            reach = answers["springs"][key] / ar.bring(spring.stiffness)
            reach = reach + ar.bring(spring.unstretched)
            square = dot(apart, apart)
            residuals.append(Residual(f"length of {key}", reach * reach - square, 1 + square))
        if isinstance(answers["couple"], NoAnswer):
            return residuals
        t = ar.radians(given.angle) if given.torsion_springs else 0 * c
        work, _, size = virtual_work(given, t, c, s, ar)
        residuals.append(Residual("work with the couple", work + answers["couple"], size))
        if not isinstance(answers["force"], NoAnswer):
            push = scaled(answers["force"], unit_vector(given.holding_along, ar))
            place = given.holding_at
            moved = minus(ahead[place], behind[place])
            size = size + length(push, ar) * length(moved, ar)
            residuals.append(Residual("work with the force", work + dot(push, moved) / 2, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        caption = "the points of the mechanism in this position and the forces on them"
        angle = math.atan2(*reversed(ar.cos_sin(given.angle)))
        parts = drawn_mechanism(given, angle, ar, caption)
        if not isinstance(answers["force"], NoAnswer):
            at = positions(given.points, math.cos(angle), math.sin(angle), ar)[given.holding_at]
            push = scaled(answers["force"], unit_vector(given.holding_along, ar))
            parts.append(Arrow(at, push, "holding", "answer"))
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HeldMechanism:
        """A toggle of two bars within about 1/kappa radians of straight, or nearly balanced."""
        spread = log_uniform(rng, kappa)
        if spread > 30:
            turn = Turn(decimal(rng.uniform(20, 70), 1) / 360)
            bars = two_bars(rng, torsion=rng.random() < 0.3)
            along = ByRun((fmpq(-1), fmpq(0)))
            return nearly_cancelled(
                self,
                "force",
                lambda load: HeldMechanism(
                    **with_knee_load(bars, load),
                    angle=turn, holding_at="slider", holding_along=along,
                ),
                spread,
            )  # fmt: skip
        places = 2 + max(0, math.ceil(math.log10(kappa[1])))
        tables = two_bars(rng, torsion=rng.random() < 0.3)
        degrees = math.degrees(rng.uniform(0.3, 1.2) / spread)
        return HeldMechanism(
            **tables,
            angle=Turn(decimal(degrees, places) / 360),
            holding_at="slider",
            holding_along=ByRun((fmpq(-1), fmpq(0))),
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> HeldMechanism | None:
        tables = mechanism_with_rows(rows, rng)
        if tables is None:
            return None
        return HeldMechanism(
            **tables,
            angle=Turn(fmpq(40, 360)),
            holding_at="P1",
            holding_along=ByRun((fmpq(3), fmpq(4))),
        )
