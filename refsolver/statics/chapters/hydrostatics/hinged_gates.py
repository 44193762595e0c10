"""Plane gates on a hinge.

The force of the fluids is that of :mod:`.plane_surfaces`; the gate is then
a rigid body on its hinge. Source of the method: any text of hydrostatics, for instance
J. F. Douglas, J. M. Gasiorek and J. A. Swaffield, "Fluid Mechanics", chapter 3 (second
hand): moments about the hinge.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.samples import drawn_layers, drawn_place
from refsolver.statics.chapters.hydrostatics.straight_sided_surfaces import (
    Panel,
    Panels,
    StraightSidedSurface,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    choice,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Pin
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["HingedGate", "HingedPanels"]

_STRAIGHT = StraightSidedSurface()


@attrs.frozen(kw_only=True)
class HingedPanels(Panels):
    hinge: Exact = quantity(LENGTH, "of the hinge from the upper edge, down the slope")
    hold: Exact = quantity(LENGTH, "of the holding force from the upper edge, down the slope")
    lean: Angle = angle(
        "of the holding force from square to the gate, toward its upper edge",
        default=Turn(rational(0)),
    )
    weight: Exact = quantity(FORCE, "of the gate", sign="not negative", default=rational(0))
    weight_at: Exact = quantity(
        LENGTH, "of its centre of gravity from the upper edge, down the slope", default=rational(0)
    )
    front: str = choice(
        ("above", "below"), "where the front fluid lies on a sloping gate", default="above"
    )

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        if self.hold == self.hinge:
            raise ValueError("a force at the hinge holds no moment: 'hold' differs from 'hinge'")
        upright = isinstance(self.lean, Slope) and seen_sign(self.lean.run) in (-1, 0)
        if upright or (isinstance(self.lean, Turn) and abs(self.lean.turns) >= fmpq(1, 4)):
            raise ValueError("the lean of the holding force lies between -90 and 90 degrees")


def arm_of(at: Number, hinge: Number) -> Number:
    """The distance down the slope from the hinge."""
    return at - hinge


def square_part(cosine: Number) -> Number:
    """The part of the holding force square to the gate turns it about the hinge."""
    return cosine


@register
class HingedGate(Family):
    name = "hydrostatics/hinged-gate"
    title = "A plane gate on a hinge: the force that holds it, and the hinge"
    givens = HingedPanels
    answers = {
        "fluid force": Answer(ScalarKind(FORCE), "square to the gate, toward the back"),
        "fluid moment": Answer(
            ScalarKind(MOMENT), "about the hinge; positive turns the lower edge to the back"
        ),
        "holding force": Answer(ScalarKind(FORCE), "toward the front; negative: toward the back"),
        "hinge across": Answer(
            ScalarKind(FORCE), "of the hinge on the gate, square to it, toward the front"
        ),
        "hinge along": Answer(
            ScalarKind(FORCE), "of the hinge on the gate, along it, toward the upper edge"
        ),
        "hinge": Answer(ScalarKind(FORCE), "both parts together"),
    }
    rules = {**StraightSidedSurface.rules, "arm_of": arm_of, "square_part": square_part}
    mistakes = (
        *StraightSidedSurface.mistakes,
        Mistake(
            "holding force taken at its arm from the edge",
            "the arm is measured from the upper edge, not from the hinge",
            rules={"arm_of": lambda at, hinge: at},
        ),
        Mistake(
            "lean of the holding force left out",
            "an inclined holding force is taken as square to the gate",
            rules={"square_part": lambda cosine: cosine * 0 + 1},
        ),
        Mistake(
            "weight of the gate left out",
            "the gate is taken without weight",
            givens=lambda given: (
                None if given.weight == 0 else attrs.evolve(given, weight=rational(0))
            ),
        ),
    )
    method = (
        "force and moment of the fluids as on any plane surface; moments about the hinge give the "
        "holding force, both sums of forces the hinge"
    )
    second_method = (
        "the fluids integrated over strips by Simpson's rule; moments about the holding force "
        "and about the upper edge"
    )
    caution = cautions.STILL_FLUIDS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        fluids = _STRAIGHT.solve(given, ar, rules)
        force, about_top = fluids.answers["force"], fluids.answers["moment about top"]
        hinge, hold = ar.bring(given.hinge), ar.bring(given.hold)
        across, along = self._weight(given, ar)
        moment = about_top - force * hinge
        turning = moment + across * rules.arm_of(ar.bring(given.weight_at), hinge)
        cosine, sine = ar.cos_sin(given.lean)
        holding = turning / (rules.square_part(cosine) * rules.arm_of(hold, hinge))
        square = force + across - holding * cosine
        down = along - holding * sine
        answers = {
            "fluid force": force,
            "fluid moment": moment,
            "holding force": holding,
            "hinge across": square,
            "hinge along": down,
            "hinge": ar.sqrt(square * square + down * down),
        }
        moments = {"of the fluids": moment, "with the weight": turning}
        working = fluids.working
        sheets = (
            *(working() if callable(working) else working),
            number_sheet("Moments about the hinge", moments, self.method, MOMENT),
            number_sheet("Forces on the gate", {k: answers[k] for k in list(answers)[2:]}),
        )
        return Solution(answers, sheets)

    def _weight(self, given: Any, ar: Arithmetic) -> tuple[Number, Number]:
        """Square to the gate toward the back, and down the slope."""
        weight = ar.bring(given.weight)
        cosine, sine = ar.cos_sin(given.slope)
        across = weight * cosine
        return (across if given.front == "above" else -across), weight * sine

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        total = _STRAIGHT.by_strips(given, ar).total
        hinge, hold = ar.bring(given.hinge), ar.bring(given.hold)
        place = ar.bring(given.weight_at)
        across, along = self._weight(given, ar)
        cosine, sine = ar.cos_sin(given.lean)
        held = answers["holding force"]
        turned = ar.size(hinge) + ar.size(hold) + ar.size(place)
        size = total.size + ar.size(across) + ar.size(along) + ar.size(held)
        turning = size * turned + ar.size(total.moment)
        square, down = answers["hinge across"], answers["hinge along"]
        about_hold = (
            total.moment - total.force * hold + across * (place - hold) - square * (hinge - hold)
        )
        about_top = total.moment + across * place - square * hinge - held * cosine * hold
        off = answers["fluid moment"] + answers["fluid force"] * hinge - total.moment
        return [
            Residual("force by strips", answers["fluid force"] - total.force, size),
            Residual("moment by strips", off, turning),
            Residual("moments about the holding force", about_hold, turning),
            Residual("moments about the upper edge", about_top, turning),
            Residual("forces along the gate", down + held * sine - along, size),
            Residual(
                "hinge by Pythagoras",
                answers["hinge"] * answers["hinge"] - square * square - down * down,
                size * size,
            ),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        fluids = _STRAIGHT.solve(given, ar, self.rule_set()).answers
        under = given.front == "below"
        drawing = _STRAIGHT.drawn(given, fluids, ar, under)
        cosine, sine = ar.cos_sin(given.slope)
        cosine = -cosine if under else cosine
        depth = ar.bring(given.depth)

        def at(along: float) -> tuple[float, float]:
            return (-along * cosine, -depth - along * sine)

        lean, up = ar.cos_sin(given.lean)
        held = answers["holding force"]
        pull = (held * (up * cosine - lean * sine), held * (up * sine + lean * cosine))
        parts = (
            *drawing.parts,
            Pin(at(ar.bring(given.hinge)), "pin", label="hinge"),
            Arrow(at(ar.bring(given.hold)), pull, "holding force", "answer"),
        )
        return Drawing(parts, f"{drawing.caption}; with the hinge and the holding force")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HingedPanels:
        """A gate nearly balanced by the fluid behind it to about 1/kappa."""
        return self._made(drawn_place(kappa, rng), rng.randint(1, 2), rng)

    def _made(self, place: dict[str, Any], count: int, rng: random.Random) -> HingedPanels:
        heights = [drawn(rng, 1, 4) for _ in range(count)]
        panels = tuple(Panel(drawn(rng, 0, 5), drawn(rng, 1, 5), height) for height in heights)
        whole = sum(heights, fmpq(0))
        ends = [fmpq(0), whole]
        rng.shuffle(ends)
        return HingedPanels(
            panels=panels, hinge=ends[0], hold=ends[1], weight=drawn(rng, 0, 5),
            weight_at=whole / 2, lean=Turn(fmpq(rng.randint(-60, 60), 360)),
            front=rng.choice(("above", "below")), **place,
        )  # fmt: skip

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> HingedPanels | None:
        if set(rows) - {"panels", "fluids"}:
            return None
        place = drawn_layers(rows.get("fluids", 1), rng)
        return self._made(place, rows.get("panels", 1), rng)
