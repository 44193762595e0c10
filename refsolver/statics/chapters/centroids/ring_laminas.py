"""Plates cut from a ring, of varying mass per area: mass, centre, moments of inertia.

Source of the method: G. Hartman et al., "APEX Calculus", center of mass (double integrals in
polar coordinates).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import LENGTH, MASS, MASS_PER_AREA
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.figures import arc_points
from refsolver.statics.areas.shapes import checked_opening
from refsolver.statics.chapters.centroids.plate_moments import (
    MOMENTS,
    TAKEN_AS_UNIFORM,
    plate_answers,
    plate_residuals,
    with_centre,
)
from refsolver.statics.chapters.centroids.polar_integrals import (
    Opening,
    by_harmonics,
    by_reduction,
    radial,
    radial_about_middle,
)
from refsolver.statics.contract import (
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    angle,
    integer,
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing, Mark, Primitive, Region
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.limits import reaches
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class PolarTerm:
    coefficient: Exact = quantity(MASS_PER_AREA, "where x, y and r are the reference length")
    power_r: int = integer("of the distance from the origin", default=0)
    power_x: int = integer("of x", default=0)
    power_y: int = integer("of y", default=0)


@attrs.frozen
class RingLamina:
    outer: Exact = quantity(LENGTH, "outer radius about the origin", sign="positive")
    density: tuple[PolarTerm, ...] = many(
        PolarTerm, "mass per area = sum of coefficient (r/a)^n (x/a)^i (y/a)^j, a the reference"
    )
    reference: Exact = quantity(
        LENGTH, "where a term has its stated value: 1 m for a formula in metres", sign="positive"
    )
    inner: Exact = quantity(LENGTH, "inner radius", sign="not negative", default=fmpq(0))
    start: Angle = angle("of its first straight side, from +x toward +y", default=Turn(fmpq(0)))
    opening: Angle = angle("between its straight sides", default=Turn(fmpq(1)))

    def __attrs_post_init__(self) -> None:
        checked_opening(self.opening)
        if not self.density:
            raise ValueError("at least one term of the density is needed")
        if reaches(self.inner, self.outer):
            raise ValueError("the inner radius must be less than the outer one")


def width_element(power: int) -> int:
    """r dr dphi: one more power of r than the density has."""
    return power + 1


@register
class RingLaminaFamily(Family):
    name = "centroids/ring-lamina"
    title = "Centre of mass of a plate cut from a ring, of varying mass per area"
    givens = RingLamina
    answers = plate_answers()
    rules = {"width_element": width_element}
    mistakes = (
        Mistake(
            "r left out of the element of area", "dr dphi is taken for r dr dphi",
            rules={"width_element": lambda power: power},
        ),
        TAKEN_AS_UNIFORM,
        Mistake(
            "inner radius left out", "the plate is taken to reach the centre",
            givens=lambda given: attrs.evolve(given, inner=fmpq(0)),
        ),
    )  # fmt: skip
    method = (
        "m = integral of rho r dr dphi, M_x of rho y, I_x of rho y^2 and so on, the radius and the "
        "angle each by itself"
    )
    second_method = (
        "the radius about the middle of the ring, and the angle by sines and cosines of its "
        "multiples"
    )

    def solve(self, given: RingLamina, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        inner, outer = ar.bring(given.inner), ar.bring(given.outer)
        over = Opening.of(given.start, given.opening, ar)

        def part(k: int, a: int, b: int) -> Number:
            return radial(rules.width_element(k), inner, outer) * by_reduction(a, b, over)

        moments = {n: _integral(given, p, q, part, ar) for n, (p, q) in MOMENTS.items()}
        answers = with_centre(moments, ar)
        rows = (Row("plate", (moments["mass"], answers["M_x"], answers["M_y"])),)
        columns = (Column("m", MASS), Column("M_x", MASS * LENGTH), Column("M_y", MASS * LENGTH))
        return Solution(answers, (Sheet("Integrals", columns, rows, self.method),))

    def check(
        self, given: RingLamina, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        inner, outer = ar.bring(given.inner), ar.bring(given.outer)
        over = Opening.of(given.start, given.opening, ar)

        def part(k: int, a: int, b: int) -> Number:
            return radial_about_middle(k + 1, inner, outer, ar) * by_harmonics(a, b, over, ar)

        def bound(k: int, a: int, b: int) -> Number:
            return radial(k + 1, 0 * outer, outer) * over.angle

        found, sizes = (
            {name: _integral(given, p, q, route, ar, route is bound)
             for name, (p, q) in MOMENTS.items()}
            for route in (part, bound)
        )  # fmt: skip
        return plate_residuals(answers, found, sizes)

    def figure(self, given: RingLamina, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        start, sweep = ar.radians(given.start), ar.radians(given.opening)
        outer, inner = ar.bring(given.outer), ar.bring(given.inner)
        edge = arc_points((0.0, 0.0), (outer, outer), start, sweep)
        back = (
            arc_points((0.0, 0.0), (inner, inner), start, sweep)[::-1] if inner else ((0.0, 0.0),)
        )
        parts: list[Primitive] = [Region((*edge, *back)), Mark((0.0, 0.0), "O", "axis")]
        if not isinstance(answers["centre"], NoAnswer):
            parts.append(Mark(answers["centre"], "centre of mass", "answer"))
        return Drawing(tuple(parts), "the plate and its centre of mass, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> RingLamina:
        """A ring whose width is 1/kappa of its radius, of growing density."""
        target = max(1.2, log_uniform(rng, kappa))
        outer = drawn(rng, 2, 9)
        inner = outer - decimal(float(outer) / target, figures_for(target))
        terms = (PolarTerm(drawn(rng, 1, 9)), _drawn_term(rng))
        start, opening = Turn(drawn(rng, -180, 180) / 360), Turn(drawn(rng, 10, 359) / 360)
        return RingLamina(outer, terms, drawn(rng, 1, 4), inner, start, opening)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> RingLamina | None:
        count = rows.get("density", 0)
        if set(rows) != {"density"} or count < 1:
            return None
        given = self.propose((2, 3), rng)
        return attrs.evolve(given, density=tuple(_drawn_term(rng) for _ in range(count)))


def _drawn_term(rng: random.Random) -> PolarTerm:
    """Even in x and y, so that the density is nowhere negative."""
    powers = (rng.randint(0, 2), rng.choice((0, 2)), rng.choice((0, 2)))
    return PolarTerm(drawn(rng, 1, 9), *powers)


def _integral(
    given: RingLamina,
    p: int,
    q: int,
    part: Callable[[int, int, int], Number],
    ar: Arithmetic,
    sizes: bool = False,
) -> Number:
    """Density times x^p y^q; ``part`` integrates r^k cos^a sin^b over r dr dphi."""
    a = ar.bring(given.reference)
    terms = []
    for term in given.density:
        power = term.power_r + term.power_x + term.power_y
        value = ar.bring(term.coefficient)
        value = (ar.size(value) if sizes else value) * part(
            power + p + q, term.power_x + p, term.power_y + q
        )
        for _ in range(power):
            value = value / a
        terms.append(value)
    return sum_of(terms, ar)
