"""Rigid bodies made at random: of a stated difficulty, or with stated numbers of rows."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

from flint import fmpq

from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.leaves import (
    ByAngle,
    ByAzimuth,
    ByRun,
    Components,
    Direction,
    Polar,
)
from refsolver.statics.bodies.loads import (
    LineLoad,
    PlaneBody,
    PlaneCouple,
    PlaneLoad,
    SpaceBody,
    SpaceCouple,
    SpaceLoad,
)
from refsolver.statics.bodies.supports import PlaneSupport, SpaceSupport
from refsolver.statics.random_givens import decimal, log_uniform, places_for

__all__ = [
    "plane_body",
    "plane_body_with_rows",
    "space_body",
    "space_body_with_rows",
]


def plane_body(kappa: tuple[float, float], rng: random.Random) -> PlaneBody:
    """A pin and a roller close together, or a roller whose line nearly meets the pin."""
    spread = log_uniform(rng, kappa)
    places = places_for(kappa)
    reach = rng.uniform(2, 20)
    turned = rng.uniform(0, 360)
    lean = math.degrees(math.asin(min(1.0, 1 / spread))) if spread > 1 else 90.0
    bearing = math.radians(turned)
    supports = (
        PlaneSupport("pin", (fmpq(0), fmpq(0)), name="A"),
        PlaneSupport(
            "roller",
            (
                decimal(reach * math.cos(bearing), places),
                decimal(reach * math.sin(bearing), places),
            ),
            ByAngle(Turn(decimal(turned + lean, places) / 360)),
            name="B",
        ),
    )
    return PlaneBody(supports, _scattered(reach, rng.randint(1, 5), rng))


def plane_body_with_rows(rows: Mapping[str, int], rng: random.Random) -> PlaneBody | None:
    """A pin and a roller, or as many unknowns as are asked in a determinate set."""
    kinds = _PLANE_SETS.get(rows.get("supports", 2))
    if kinds is None:
        return None
    supports = tuple(_plane_support(kind, i, rng) for i, kind in enumerate(kinds))
    couples = tuple(PlaneCouple(fmpq(rng.randint(11, 990))) for _ in range(rows.get("couples", 0)))
    lines = tuple(_level_line(i, rng) for i in range(rows.get("line_loads", 0)))
    return PlaneBody(supports, _scattered(9, rows.get("forces", 0), rng), couples, lines)


_PLANE_SETS = {1: ("fixed",), 2: ("pin", "roller"), 3: ("link", "link", "roller")}


def _plane_support(kind: str, index: int, rng: random.Random) -> PlaneSupport:
    at = (fmpq(7 * index), fmpq(rng.randint(-1, 1) + 2 * index * index))
    directions = {"roller": (0, 1), "link": (3, 4 - 7 * index)}
    run = directions.get(kind)
    direction = ByRun((fmpq(run[0]), fmpq(run[1]))) if run else None
    return PlaneSupport(kind, at, direction, name="ABC"[index])


def _level_line(index: int, rng: random.Random) -> LineLoad:
    start = fmpq(3 * index + 1)
    end = start + rng.randint(1, 3)
    sizes = [fmpq(rng.randint(10, 99)) for _ in range(2)]
    return LineLoad((start, fmpq(1)), (end, fmpq(1)), sizes[0], sizes[1])


def _scattered(reach: float, count: int, rng: random.Random) -> tuple[PlaneLoad, ...]:
    return tuple(
        PlaneLoad(
            Polar(
                decimal(rng.uniform(10, 990), 1),
                ByAngle(Turn(decimal(rng.uniform(0, 360), 1) / 360)),
            ),
            (decimal(rng.uniform(-reach, reach), 2), decimal(rng.uniform(-reach, reach), 2)),
        )
        for _ in range(count)
    )


def space_body(kappa: tuple[float, float], rng: random.Random) -> SpaceBody:
    """A mast on a ball and socket with three links, two of them nearly in one plane."""
    spread = log_uniform(rng, kappa)
    places = places_for(kappa)
    height = decimal(rng.uniform(4, 12), 2)
    half = math.degrees(math.asin(min(1.0, 1 / spread)))
    middle = rng.uniform(0, 360)
    down = Turn(decimal(-rng.uniform(20, 60), 1) / 360)
    across = Turn(decimal(middle + 90, 1) / 360)
    supports = [SpaceSupport("ball", (fmpq(0),) * 3, name="A")]
    for i, offset in enumerate((-half, half)):
        azimuth = Turn(decimal(middle + offset, places) / 360)
        supports.append(
            SpaceSupport("link", (fmpq(0), fmpq(0), height), ByAzimuth(azimuth, down), name="BC"[i])
        )
    supports.append(
        SpaceSupport("link", (fmpq(2), fmpq(0), fmpq(1)), ByAzimuth(across, down), name="D")
    )
    return SpaceBody(tuple(supports), _scattered_in_space(rng.randint(1, 4), rng))


def space_body_with_rows(rows: Mapping[str, int], rng: random.Random) -> SpaceBody | None:
    supports = _SPACE_SETS.get(rows.get("supports", 4))
    if supports is None:
        return None
    couples = tuple(
        SpaceCouple(Components(tuple(fmpq(rng.randint(11, 99)) for _ in range(3))))
        for _ in range(rows.get("couples", 0))
    )
    return SpaceBody(supports, _scattered_in_space(rows.get("forces", 0), rng), couples)


def _scattered_in_space(count: int, rng: random.Random) -> tuple[SpaceLoad, ...]:
    return tuple(
        SpaceLoad(
            Components(tuple(fmpq(rng.choice((-1, 1)) * rng.randint(11, 990)) for _ in range(3))),
            tuple(decimal(rng.uniform(-9, 9), 2) for _ in range(3)),
        )
        for _ in range(count)
    )


def _at(*coordinates: int) -> tuple[Exact, ...]:
    return tuple(fmpq(x) for x in coordinates)


def _run(*parts: int) -> Direction:
    return ByRun(tuple(fmpq(x) for x in parts))


_SPACE_SETS: dict[int, tuple[SpaceSupport, ...]] = {
    1: (SpaceSupport("fixed", _at(1, 2, 0), name="A"),),
    2: (
        SpaceSupport("hinge", _at(0, 0, 0), _run(1, 0, 0), "carried", "A"),
        SpaceSupport("link", _at(2, 3, 0), _run(0, 1, 2), name="B"),
    ),
    3: (
        SpaceSupport("ball", _at(0, 0, 0), name="A"),
        SpaceSupport("journal bearing", _at(5, 0, 1), _run(1, 0, 0), name="B"),
        SpaceSupport("link", _at(2, 3, 0), _run(0, 1, 2), name="C"),
    ),
    4: (
        SpaceSupport("ball", _at(0, 0, 0), name="A"),
        SpaceSupport("link", _at(5, 0, 0), _run(0, 3, 4), name="B"),
        SpaceSupport("link", _at(5, 0, 0), _run(0, -3, 4), name="C"),
        SpaceSupport("link", _at(0, 4, 0), _run(1, 0, 2), name="D"),
    ),
}
