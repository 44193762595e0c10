"""The second method for beams: everything right of a section, or all of a part.

Line loads enter by the first and second antiderivative of their intensity at their far
end, with the polynomial from Lagrange's products; the families use Newton's differences
and first moments about the near end.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import Value
from refsolver.statics.bodies.supports import assembled
from refsolver.statics.chapters.beams.beam import (
    RULES,
    Beam,
    BeamLineLoad,
    beam_equilibrium,
    stations,
    supports_of,
)
from refsolver.statics.contract import Residual
from refsolver.statics.naming import keys_of
from refsolver.statics.polynomials import integral, value
from refsolver.statics.vectors import added, unit_vector, vector

__all__ = [
    "Acting",
    "along_curve",
    "everything_left_of",
    "moment_residual",
    "right_pieces",
    "right_sections",
    "Section",
    "spread_as_force",
    "sum_residual",
    "through_by_products",
]


Acting = tuple[Number, tuple[Number, ...], Number]
"""A position, a force there, and a couple."""


def everything_left_of(
    given: Beam, answers: Mapping[str, Value], ar: Arithmetic, until: fmpq | None = None
) -> list[Acting]:
    """Loads and reactions, of the part left of ``until`` only where that is stated.

    A line load from a to b is its force and its moment about its own end: the first and
    the second antiderivative of its intensity at that end.
    """
    zero = ar.bring(fmpq(0))
    found: list[Acting] = []
    for item in given.forces:
        if until is None or item.at < until:
            found.append((ar.bring(item.at), vector(item.force, ar), zero))
    for couple in given.couples:
        if until is None or couple.at < until:
            found.append((zero, (zero, zero), ar.bring(couple.moment)))
    for support, key in zip(given.supports, keys_of(given.supports, "support"), strict=True):
        if until is None or support.at <= until:
            moment = answers["couples"].get(key, zero)
            found.append((ar.bring(support.at), answers["reactions"][key], moment))
    for line in given.line_loads:
        end = line.end if until is None else min(line.end, until)
        if line.start < end:
            found.append(spread_as_force(line, end, ar))
    return found


def spread_as_force(line: BeamLineLoad, end: fmpq, ar: Arithmetic) -> Acting:
    start, here = ar.bring(line.start), ar.bring(end)
    values = [ar.bring(w) for w in line.intensities]
    intensity = through_by_products(values, ar.bring(line.end) - start)
    zero = ar.bring(fmpq(0))
    once = integral(intensity, zero)
    total = value(once, here - start)
    about_end = value(integral(once, zero), here - start)
    u = unit_vector(line.direction, ar)
    # A force right of the pole turns by +, so one spread left of its end turns by -.
    return here, tuple(total * c for c in u), -about_end * u[1]


def through_by_products(values: Sequence[Number], length: Number) -> tuple[Number, ...]:
    """The polynomial through values at equal steps, by Lagrange's products."""
    count = len(values)
    if count == 1:
        return (values[0],)
    step = length / (count - 1)
    total: tuple[Number, ...] = (0 * length,) * count
    for i, w in enumerate(values):
        product: list[Number] = [w]
        for j in range(count):
            if j != i:
                low = [0 * length, *(c / (step * (i - j)) for c in product)]
                high = [*(-c * j / (i - j) for c in product), 0 * length]
                product = [a + b for a, b in zip(low, high, strict=True)]
        total = added(total, tuple(product))
    return total


def moment_residual(name: str, acting: Sequence[Acting], pole: Number, ar: Arithmetic) -> Residual:
    terms = [(at - pole) * force[1] for at, force, _ in acting] + [c for _, _, c in acting]
    return sum_residual(name, terms, ar)


def sum_residual(name: str, terms: Sequence[Number], ar: Arithmetic) -> Residual:
    total = size = ar.bring(fmpq(0))
    for term in terms:
        total, size = total + term, size + ar.size(term)
    return Residual(name, total, size)


Section = tuple[Number, Number, Number]


def right_sections(beam: Beam, ar: Arithmetic) -> Callable[[fmpq], Section]:
    """N, V, M at any place by the part right of it."""
    found = beam_equilibrium(beam, ar, SimpleNamespace(**RULES))
    tables = assembled(supports_of(beam), keys_of(beam.supports, "support"), found, ar)
    return lambda x: _from_the_right(beam, tables, x, ar)


def _from_the_right(
    beam: Beam, tables: Mapping[str, Mapping[str, Value]], x: fmpq, ar: Arithmetic
) -> Section:
    """N, V, M at x from everything right of it, line loads by their far ends."""
    here, zero = ar.bring(x), ar.bring(fmpq(0))
    acting: list[Acting] = []
    for item in beam.forces:
        if item.at > x:
            acting.append((ar.bring(item.at), vector(item.force, ar), zero))
    for couple in beam.couples:
        if couple.at > x:
            acting.append((here, (zero, zero), ar.bring(couple.moment)))
    for support, key in zip(beam.supports, keys_of(beam.supports, "support"), strict=True):
        if support.at > x:
            moment = tables["couples"].get(key, zero)
            acting.append((ar.bring(support.at), tables["reactions"][key], moment))
    for line in beam.line_loads:
        if line.end > x:
            acting.append(spread_as_force(line, line.end, ar))
            if line.start < x:
                at, force, moment = spread_as_force(line, x, ar)
                acting.append((at, tuple(-c for c in force), -moment))
    n = v = m = zero
    for at, force, couple_ in acting:
        n, v = n + force[0], v - force[1]
        m = m + (at - here) * force[1] + couple_
    return n, v, m


StartedPolynomial = tuple[Number, tuple[Number, ...]]
"""A start and the coefficients of a polynomial from there."""


def along_curve(curve: StartedPolynomial, x: Number) -> Number:
    start, coefficients = curve
    return value(coefficients, x - start)


def right_pieces(given: Beam, ar: Arithmetic) -> list[tuple[StartedPolynomial, StartedPolynomial]]:
    """V and M of each piece, through values from the right at inner points of the piece."""
    section = right_sections(given, ar)
    count = 2 + max([len(line.intensities) for line in given.line_loads], default=0)
    found = []
    at = stations(given)
    for a, b in pairwise(at):
        step = (b - a) / (count + 1)
        sections = [section(a + step * i) for i in range(1, count + 1)]
        start, reach = ar.bring(a + step), ar.bring(step * (count - 1))
        shear = through_by_products([v for _, v, _ in sections], reach)
        moment = through_by_products([m for _, _, m in sections], reach)
        found.append(((start, shear), (start, moment)))
    return found
