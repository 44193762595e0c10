"""Random exact givens for generated cases: decimals drawn from a seeded generator."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from typing import Any

from flint import fmpq

from refsolver.arithmetic.exact import Turn, rational
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components, Polar, Vector

__all__ = [
    "decimal",
    "drawn",
    "drawn_forces",
    "drawn_point",
    "drawn_vector",
    "figures_for",
    "gap_for",
    "log_uniform",
    "places_for",
    "plane_direction",
    "plane_force",
    "rounded",
    "share_of",
    "small",
]


def decimal(value: float, places: int) -> fmpq:
    """The value rounded to a decimal with this many places, exactly."""
    return rational(round(value * 10**places), 10**places)


def rounded(value: fmpq, places: int) -> fmpq:
    """The exact number rounded to a decimal with this many places."""
    return fmpq((value * 10**places + fmpq(1, 2)).floor(), 10**places)


def share_of(spread: float, rng: random.Random) -> fmpq:
    """About one part in ``spread``, exactly: three figures, whatever its size."""
    places = figures_for(spread) + 1
    share = decimal(rng.uniform(0.3, 1), 3) / fmpq(round(spread * 100), 100)
    return max(rounded(share, places), fmpq(1, 10**places))


def drawn(rng: random.Random, low: float, high: float, places: int = 1) -> fmpq:
    return decimal(rng.uniform(low, high), places)


def drawn_point(rng: random.Random, space: int, reach: float = 10.0) -> tuple[fmpq, ...]:
    return tuple(drawn(rng, -reach, reach, 2) for _ in range(space))


def drawn_vector(rng: random.Random, space: int, low: float = 10.0, high: float = 990.0) -> Vector:
    """A vector stated in one of the usual ways: angle, slope or components."""
    size = drawn(rng, low, high)
    form = rng.choice(("angle", "slope", "components"))
    if form == "slope":
        run = [fmpq(rng.randint(-12, 12)) for _ in range(space - 1)]
        return Polar(size, ByRun((*run, fmpq(rng.choice((-1, 1)) * rng.randint(1, 12)))))
    if form == "components":
        return Components(tuple(drawn(rng, -high, high) for _ in range(space)))
    turn = Turn(drawn(rng, 0, 360) / 360)
    if space == 2:
        return Polar(size, ByAngle(turn))
    return Polar(size, ByAzimuth(turn, Turn(drawn(rng, -90, 90) / 360)))


def drawn_forces(
    make: Callable[[Vector, tuple[fmpq, ...]], Any], space: int, count: int, rng: random.Random
) -> list[Any]:
    return [make(drawn_vector(rng, space), drawn_point(rng, space)) for _ in range(count)]


def log_uniform(rng: random.Random, between: Sequence[float]) -> float:
    """A number between two positive ones, every decade as likely as the next."""
    low, high = between
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def figures_for(kappa: float) -> int:
    """Decimal places that a cancellation by a factor ``kappa`` needs to survive rounding."""
    return 2 + max(0, math.ceil(math.log10(kappa)))


def gap_for(rng: random.Random, kappa: Sequence[float], cost: float, most: float = 0.9) -> float:
    """How far, relatively, to stay from where an answer vanishes.

    The condition number of the answer is about ``cost`` over the gap; it is drawn from
    ``kappa``, every decade as likely as the next. ``most`` keeps the case what it is.
    """
    return min(most, cost / log_uniform(rng, kappa))


def places_for(kappa: tuple[float, float]) -> int:
    """Decimals enough to tell 1/kappa."""
    return figures_for(kappa[1]) + 1


def small(kappa: tuple[float, float], rng: random.Random) -> float:
    """A number of size 1/kappa, of either sign."""
    return rng.choice((-1, 1)) / log_uniform(rng, kappa)


def plane_direction(degrees: float, kappa: tuple[float, float]) -> ByAngle:
    return ByAngle(Turn(decimal(degrees % 360, places_for(kappa)) / 360))


def plane_force(rng: random.Random, degrees: float, kappa: tuple[float, float]) -> Polar:
    return Polar(decimal(rng.uniform(10, 990), 1), plane_direction(degrees, kappa))
