"""The second route of gravity dams: section by its corners, pressures by strips upward."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.chapters.hydrostatics.fluids import weight_of_density, weight_of_fluid
from refsolver.statics.forces.systems import sum_of

__all__ = ["WITHIN", "bearing_of", "by_strips"]

WITHIN = "within the middle third"


def by_strips(given: Any, ar: Arithmetic) -> tuple[Any, Any, Any, Number]:
    """Weight, faces and uplift by corners and strips, moments about the toe.

    Weight: (force, righting moment). Faces: (thrust, downward force, righting less
    overturning moment, overturning moment of the upstream thrust). Uplift: (force,
    overturning moment).
    """
    rules = SimpleNamespace(weight_of_density=weight_of_density)
    length, height = ar.bring(given.length), ar.bring(given.height)
    stone = weight_of_fluid(given.dam, given.gravity, ar, rules) * length
    water = weight_of_fluid(given.fluid, given.gravity, ar, rules) * length
    heel, crest, toe = (
        ar.bring(x) for x in (given.upstream_run, given.crest, given.downstream_run)
    )
    base, zero = heel + crest + toe, ar.bring(fmpq(0))
    corners = [(zero, zero), (toe, height), (toe + crest, height), (base, zero)]
    area, first = zero, zero
    for (x, y), (u, v) in zip(corners, [*corners[1:], corners[0]], strict=True):
        k = u * y - x * v
        area, first = area + k / 2, first + k * (x + u) / 6
    up, low = ar.bring(given.upstream), ar.bring(given.downstream)
    front, back = (
        pressed_upward(water, depth, run, height) for depth, run in ((up, heel), (low, toe))
    )
    righting = base * front[1] - front[3] + back[3] - front[2] + back[2]
    faces = (front[0] - back[0], front[1] + back[1], righting, front[2])
    full = ar.bring(given.uplift) * water
    heights = [(base, up, 1), (base / 2, (up + low) / 2, 4), (zero, low, 1)]
    lifted = sum_of([h * n for _, h, n in heights], ar) * full * base / 6
    turned = sum_of([x * h * n for x, h, n in heights], ar) * full * base / 6
    return (stone * area, stone * first), faces, (lifted, turned), base


def pressed_upward(
    water: Number, depth: Number, run: Number, height: Number
) -> tuple[Number, Number, Number, Number]:
    """Thrust, downward force, and their moments about the foot, by Simpson's rule upward."""
    sums = [depth * 0] * 4
    lean = run / height
    for y, n in ((depth * 0, 1), (depth / 2, 4), (depth, 1)):
        pressure = water * (depth - y) * n * depth / 6
        parts = (pressure, pressure * lean, pressure * y, pressure * lean * lean * y)
        sums = [a + b for a, b in zip(sums, parts, strict=True)]
    return sums[0], sums[1], sums[2], sums[3]


def bearing_of(
    word: str, toe: Number, heel: Number, place: Number, base: Number, ar: Arithmetic
) -> tuple[Number, Number]:
    """Force and moment about the toe, per length, of the pressures under the base."""
    if word == WITHIN:
        return (toe + heel) * base / 2, base * base * (toe + 2 * heel) / 6
    if ar.sign(base / 2 - place, "resultant on the side of the toe") > 0:
        force = toe * 3 * place / 2
        return force + heel * base, force * place
    behind = base - place
    force = heel * 3 * behind / 2
    return force + toe * base, force * place
