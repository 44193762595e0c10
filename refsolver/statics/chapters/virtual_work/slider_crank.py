"""The force that holds a crank, its connecting rod and its slider in a given position.

Toggles with unequal bars, presses and engines. Source of the method: R. C. Hibbeler,
"Engineering Mechanics: Statics", chapter 11 (virtual work), from memory.
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
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.quantities.leaves import Components, Vector
from refsolver.statics import cautions
from refsolver.statics.chapters.virtual_work.cancelling import nearly_cancelled
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Solution, angle, quantity
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import brought, vector

__all__ = ["CrankAndRod", "SliderCrank"]

_NOTHING = Components((fmpq(0), fmpq(0)))


@attrs.frozen
class CrankAndRod:
    crank: Exact = quantity(LENGTH, "of the crank, turning about the origin", sign="positive")
    rod: Exact = quantity(LENGTH, "of the connecting rod", sign="positive")
    angle: Angle = angle("of the crank from +x toward +y; the slider is on the +x side")
    pin_force: Vector = vector_given(FORCE, "at the crank pin", default=_NOTHING)
    couple: Exact = quantity(MOMENT, "on the crank, counter-clockwise positive", default=fmpq(0))
    offset: Exact = quantity(
        LENGTH, "of the slider's line, parallel to x, above the origin", default=fmpq(0)
    )

    def __attrs_post_init__(self) -> None:
        if self.pin_force == _NOTHING and self.couple == 0:
            raise ValueError("nothing acts on the crank: state 'pin_force' or 'couple'")


# --- rules --------------------------------------------------------------------------------


def rod_along(rod: Number, across: Number, ar: Arithmetic) -> Number:
    """The rod's extent along x: sqrt(l^2 - (r sin t - e)^2)."""
    return ar.sqrt(rod * rod - across * across)


def slider_rate(along: Number, across: Number, c: Number, s: Number, crank: Number) -> Number:
    """dx/dt = - r sin t - (r sin t - e) r cos t / extent."""
    return -crank * s - across * crank * c / along


def pin_rate(crank: Number, c: Number, s: Number) -> tuple[Number, Number]:
    """(- r sin t, r cos t)."""
    return -crank * s, crank * c


_TOO_SHORT = NoAnswer("no solution", "the rod does not reach the slider's line in this position")
_UPRIGHT = NoAnswer("no solution", "the rod stands across the slider's line: no force along it")
_DEAD = NoAnswer("no solution", "dead centre: no force on the slider balances what acts")
_FREE = NoAnswer("no unique answer", "dead centre, and nothing to balance: any force will do")


def _folds(given: CrankAndRod) -> bool:
    """Whether the rod can fold over the crank: on the far side the slider stays on the axis."""
    return given.rod == given.crank and given.offset == 0


@register
class SliderCrank(Family):
    name = "virtual-work/slider-crank"
    title = "The force on the slider that holds a crank and rod in a given position"
    givens = CrankAndRod
    answers = {
        "slider": Answer(
            ScalarKind(LENGTH), "its place along x from the crank's axis", ("no solution",)
        ),
        "displacement": Answer(
            ScalarKind(LENGTH), "of the slider for each radian of the crank", ("no solution",)
        ),
        "force": Answer(
            ScalarKind(FORCE),
            "on the slider, positive away from the crank (+x), holding everything",
            ("no solution", "no unique answer"),
        ),
        "rod_force": Answer(
            ScalarKind(FORCE),
            "in the rod, positive in tension",
            ("no solution", "no unique answer"),
        ),
    }
    rules = {"rod_along": rod_along, "slider_rate": slider_rate, "pin_rate": pin_rate}
    mistakes = (
        Mistake("rod taken as very long", "the slider is taken to move as r cos t alone",
                rules={"slider_rate": lambda along, across, c, s, crank: -crank * s}),
        Mistake("sine and cosine exchanged", "the place of the pin is used as its displacement",
                rules={"pin_rate": lambda crank, c, s: (crank * c, crank * s)}),
        Mistake("offset left out", "the slider's line is taken through the crank's axis",
                givens=lambda given: (None if given.offset == 0
                                      else attrs.evolve(given, offset=fmpq(0)))),
        Mistake("couple reversed", "the couple enters with the wrong sense",
                givens=lambda given: (attrs.evolve(given, couple=-given.couple)
                                      if isinstance(given.couple, fmpq) and given.couple != 0
                                      else None)),
    )  # fmt: skip
    method = (
        "x = r cos t + sqrt(l^2 - (r sin t - e)^2); the work of one radian vanishes: "
        "F . r_pin' + M + C x' = 0"
    )
    second_method = (
        "free bodies: the rod's force by the slider's equilibrium, then moments of the crank "
        "about its axis; the displacement from the velocities along the rod"
    )
    caution = cautions.MECHANISMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        crank, rod, offset = brought((given.crank, given.rod, given.offset), ar)
        c, s = ar.cos_sin(given.angle)
        across = crank * s - offset
        reach = ar.sign(rod * rod - across * across, "the rod reaches the slider's line")
        if reach < 0:
            return Solution(dict.fromkeys(self.answers, _TOO_SHORT))
        if reach == 0:
            answers: dict[str, Value] = dict.fromkeys(self.answers, _UPRIGHT)
            return Solution({**answers, "slider": crank * c})
        along = rules.rod_along(rod, across, ar)
        moved = rules.slider_rate(along, across, c, s, crank)
        if _folds(given) and ar.sign(c, "crank toward the slider") < 0:
            along, moved = -crank * c, 0 * crank
        pin, force = rules.pin_rate(crank, c, s), vector(given.pin_force, ar)
        work = force[0] * pin[0] + force[1] * pin[1] + ar.bring(given.couple)
        held: dict[str, Value]
        if ar.sign(moved, "displacement of the slider") != 0:
            push = -work / moved
            held = {"force": push, "rod_force": push * rod / along}
        else:
            idle = _DEAD if ar.sign(work, "work to balance at dead centre") else _FREE
            held = {"force": idle, "rod_force": idle}
        answers = {"slider": crank * c + along, "displacement": moved, **held}
        sheets = (
            number_sheet("Slider", {"x": answers["slider"], "x'": moved}, self.method, LENGTH),
            number_sheet("Work of one radian", {"pin and couple": work}, "", MOMENT),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["slider"], NoAnswer):
            return []
        crank, rod, offset = brought((given.crank, given.rod, given.offset), ar)
        c, s = ar.cos_sin(given.angle)
        pin = (crank * c, crank * s)
        bar = (answers["slider"] - pin[0], offset - pin[1])
        square = rod * rod
        off = bar[0] * bar[0] + bar[1] * bar[1] - square
        residuals = [Residual("length of the rod", off, square + crank * crank)]
        if isinstance(answers["displacement"], NoAnswer):
            return residuals
        moved = answers["displacement"]
        off = bar[0] * (moved + pin[1]) - bar[1] * pin[0]
        residuals.append(Residual("the rod keeps its length", off, rod * (crank + ar.size(moved))))
        if isinstance(answers["force"], NoAnswer):
            return residuals
        tension = answers["rod_force"]
        off = answers["force"] * rod - tension * bar[0]
        residuals.append(Residual("slider along its line", off, ar.size(tension) * rod))
        force = vector(given.pin_force, ar)
        pull = tuple(f + tension * x / rod for f, x in zip(force, bar, strict=True))
        moment = pin[0] * pull[1] - pin[1] * pull[0] + ar.bring(given.couple)
        size = crank * (ar.size(tension) + ar.size(force[0]) + ar.size(force[1]))
        size = size + ar.size(ar.bring(given.couple))
        return [*residuals, Residual("moments about the crank's axis", moment, size)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        c, s = ar.cos_sin(given.angle)
        crank = ar.bring(given.crank)
        pin = (crank * c, crank * s)
        parts: list[Primitive] = [Stroke((0.0, 0.0), pin, "crank"), Mark((0.0, 0.0), "axis")]
        parts.append(Arrow(pin, vector(given.pin_force, ar), "pin force"))
        if not isinstance(answers["slider"], NoAnswer):
            slider = (answers["slider"], ar.bring(given.offset))
            parts += [Stroke(pin, slider, "rod"), Mark(slider, "slider")]
            if not isinstance(answers["force"], NoAnswer):
                parts.append(Arrow(slider, (answers["force"], 0.0), "holding", "answer"))
        return Drawing(tuple(parts), "crank, rod and slider in the stated position, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> CrankAndRod:
        """Within about 1/kappa radians of dead centre, or the couple nearly balanced at the pin."""
        spread = log_uniform(rng, kappa)
        if spread > 30:
            return self._nearly_balanced(spread, rng)
        places = 2 + max(0, math.ceil(math.log10(kappa[1])))
        crank = rng.uniform(0.1, 1)
        degrees = math.degrees(rng.uniform(0.3, 1.4) / spread) + rng.choice((0, 180))
        return CrankAndRod(
            decimal(crank, 2),
            decimal(crank * rng.uniform(1.2, 4), 2),
            Turn(decimal(degrees, places) / 360),
            Components((decimal(rng.uniform(-90, 90), 1), decimal(rng.uniform(-90, 90), 1))),
            decimal(rng.uniform(-20, 20), 1),
        )

    def _nearly_balanced(self, spread: float, rng: random.Random) -> CrankAndRod:
        crank = decimal(rng.uniform(0.1, 1), 2)
        place = (
            crank,
            2 * crank,
            Turn(decimal(rng.uniform(20, 80), 1) / 360),
            Components((decimal(rng.uniform(-90, 90), 1), decimal(rng.uniform(10, 90), 1))),
        )
        return nearly_cancelled(self, "force", lambda couple: CrankAndRod(*place, couple), spread)
