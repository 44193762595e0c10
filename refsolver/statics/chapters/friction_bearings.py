"""Pivots, collars, disc clutches and cones: friction torque and power.

Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 9 (rotating discs); R. S. Khurmi and J. K. Gupta,
"Theory of Machines", chapter 10 (uniform pressure, uniform wear, cones), from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.dimensions import ANGULAR_SPEED, FORCE, LENGTH, MOMENT, NUMBER, POWER
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.chapters.components import number_sheet
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    integer,
    quantity,
)
from refsolver.statics.drawing import Curve, Drawing
from refsolver.statics.random_givens import decimal
from refsolver.statics.registry import register

__all__ = ["RubbingSurface", "SurfaceTorque"]


@attrs.frozen
class RubbingSurface:
    load: Exact = quantity(FORCE, "along the axis", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="not negative")
    outer: Exact = quantity(LENGTH, "outer radius", sign="positive")
    inner: Exact = quantity(LENGTH, "inner radius", sign="not negative", default=fmpq(0))
    half_angle: Angle | None = angle(
        "of a cone, between its side and the axis; none is a flat face", default=None
    )
    surfaces: int = integer("faces that each carry the whole load", minimum=1, default=1)
    speed: Exact | None = quantity(ANGULAR_SPEED, "of rotation", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        outer, inner = self.outer, self.inner
        if isinstance(outer, fmpq) and isinstance(inner, fmpq) and inner >= outer:
            raise ValueError("the inner radius must be smaller than the outer one")


def pressure_radius(outer: Number, inner: Number) -> Number:
    """(2/3)(r1^3 - r2^3)/(r1^2 - r2^2), divided out so that it holds for equal radii."""
    return 2 * (outer * outer + outer * inner + inner * inner) / (3 * (outer + inner))


def wear_radius(outer: Number, inner: Number) -> Number:
    """(r1 + r2) / 2."""
    return (outer + inner) / 2


def wedged(load: Number, sine: Number) -> Number:
    """Normal load of a cone, W / sin(half angle)."""
    return load / sine


_LEVEL = NoAnswer("no solution", "the cone does not rise from its axis: no axial load presses it")
_NO_SPEED = NoAnswer("not defined", "no speed is stated")
_WAYS = ("uniform pressure", "uniform wear")


@register
class SurfaceTorque(Family):
    name = "friction/pivot-or-collar"
    title = "Friction torque of a pivot, collar or clutch face"
    givens = RubbingSurface
    answers = {
        **{
            f"torque, {way}": Answer(ScalarKind(MOMENT), f"assuming {way}", ("no solution",))
            for way in _WAYS
        },
        **{
            f"power, {way}": Answer(
                ScalarKind(POWER), f"assuming {way}", ("no solution", "not defined")
            )
            for way in _WAYS
        },
    }
    rules = {"pressure_radius": pressure_radius, "wear_radius": wear_radius, "wedged": wedged}
    mistakes = (
        Mistake(
            "mean radius for uniform pressure",
            "uniform pressure is given the radius of uniform wear",
            rules={"pressure_radius": wear_radius},
        ),
        Mistake(
            "uniform pressure for wear",
            "uniform wear is given the radius of uniform pressure",
            rules={"wear_radius": pressure_radius},
        ),
        Mistake(
            "cone taken as flat",
            "the wedging of the cone is forgotten",
            rules={"wedged": lambda load, sine: load},
        ),
        Mistake(
            "one face for all",
            "a single face is counted",
            givens=lambda given: attrs.evolve(given, surfaces=1) if given.surfaces > 1 else None,
        ),
    )
    method = (
        "T = n mu W R / sin(half angle); R = (2/3)(r1^3 - r2^3)/(r1^2 - r2^2) for uniform "
        "pressure, (r1 + r2)/2 for uniform wear; power = T w"
    )
    second_method = (
        "T from the cubes of the radii multiplied out, and the wear torque from the areas "
        "between the radii and their mean"
    )
    caution = "Friction coefficients scatter widely; a clutch or brake is rated by test and code."

    def solve(self, given: RubbingSurface, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        load = ar.bring(given.load) * ar.bring(given.friction) * given.surfaces
        if given.half_angle is not None:
            _, sine = ar.cos_sin(given.half_angle)
            if ar.sign(sine, "sine of the half angle") <= 0:
                return Solution(dict.fromkeys(self.answers, _LEVEL))
            load = rules.wedged(load, sine)
        outer, inner = ar.bring(given.outer), ar.bring(given.inner)
        radii = {
            "uniform pressure": rules.pressure_radius(outer, inner),
            "uniform wear": rules.wear_radius(outer, inner),
        }
        answers: dict[str, Value] = {}
        for way, radius in radii.items():
            torque = load * radius
            answers[f"torque, {way}"] = torque
            answers[f"power, {way}"] = (
                _NO_SPEED if given.speed is None else torque * ar.bring(given.speed)
            )
        return Solution(answers, (number_sheet("Radii of friction", radii, self.method, LENGTH),))

    def check(
        self, given: RubbingSurface, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["torque, uniform wear"], NoAnswer):
            return []
        outer, inner = ar.bring(given.outer), ar.bring(given.inner)
        push = ar.bring(given.load) * ar.bring(given.friction) * given.surfaces
        sine = ar.bring(fmpq(1))
        if given.half_angle is not None:
            _, sine = ar.cos_sin(given.half_angle)
        even, worn = (answers[f"torque, {way}"] * sine for way in _WAYS)
        squares = outer * outer - inner * inner
        cubes = outer * outer * outer - inner * inner * inner
        off = 3 * even * squares - 2 * push * cubes
        size = ar.bring(given.load) * (outer + inner) * (outer + inner) * (outer + inner)
        residuals = [Residual("uniform pressure, cubes", off, size)]
        off = 2 * worn * (outer - inner) - push * squares
        size = ar.bring(given.load) * (outer + inner) * (outer + inner)
        residuals.append(Residual("uniform wear, squares", off, size))
        if given.speed is not None:
            speed = ar.bring(given.speed)
            for way in _WAYS:
                power, torque = answers[f"power, {way}"], answers[f"torque, {way}"]
                residuals.append(
                    Residual(
                        f"power, {way}",
                        power / speed - torque,
                        torque + ar.bring(given.load) * outer,
                    )
                )
        return residuals

    def figure(
        self, given: RubbingSurface, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        turns = [math.tau * i / 60 for i in range(61)]
        parts = tuple(
            Curve(tuple((r * math.cos(t), r * math.sin(t)) for t in turns), label)
            for r, label in ((ar.bring(given.outer), "outer"), (ar.bring(given.inner), "inner"))
            if r > 0
        )
        return Drawing(parts, "the rubbing face along its axis, to scale")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> RubbingSurface:
        """Products and quotients only: the condition number stays small whatever is asked."""
        outer = rng.uniform(50, 300)
        return RubbingSurface(
            fmpq(rng.randint(100, 99999)),
            decimal(rng.uniform(0.02, 0.4), 3),
            decimal(outer, 1),
            decimal(outer * rng.uniform(0.3, 0.9), 1),
            surfaces=rng.randint(1, 6),
            speed=fmpq(rng.randint(5, 300)),
        )
