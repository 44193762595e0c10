"""Trusses made at random: of a stated difficulty, or with stated numbers of rows.

All grow joint by joint: a new joint hangs on as many bars (or supports) as there are
equations for it, which keeps the truss determinate (a simple truss).
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

from flint import fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Direction
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Body
from refsolver.statics.chapters.trusses.joints import PlaneJoint, SpaceJoint
from refsolver.statics.chapters.trusses.truss import (
    RULES,
    Member,
    PlaneTruss,
    PlaneTrussLoad,
    PlaneTrussSupport,
    SpaceTruss,
    SpaceTrussLoad,
    SpaceTrussSupport,
    loads_on,
    unknowns_in,
)
from refsolver.statics.random_givens import decimal, drawn_vector, figures_for, log_uniform

__all__ = ["plane_truss", "space_truss", "truss_with_rows"]

_TRIES = 200


def plane_truss(kappa: tuple[float, float], rng: random.Random) -> PlaneTruss:
    """A simple truss whose last joint hangs on two bars nearly in one line.

    Their forces are about as many times the load as the condition asked.
    """
    places: list[tuple[Exact, ...]] = [(fmpq(0), fmpq(0)), (fmpq(6), fmpq(0)), (fmpq(3), fmpq(4))]
    bars = [(0, 1), (0, 2), (1, 2)]
    for _ in range(rng.randint(0, 6)):
        a, b = rng.sample(range(len(places)), 2)
        places.append(_beside(places[a], places[b], rng.uniform(0.5, 1.5), 2, rng))
        bars += [(a, len(places) - 1), (b, len(places) - 1)]
    spread = log_uniform(rng, kappa)
    a, b = rng.sample(range(len(places)), 2)
    places.append(_beside(places[a], places[b], 0.4 / spread, figures_for(spread) + 2, rng))
    bars += [(a, len(places) - 1), (b, len(places) - 1)]
    names = [f"{n}" for n in range(1, len(places) + 1)]
    roller: Direction = ByRun((fmpq(0), fmpq(1)))
    if rng.random() < 0.4:
        roller = ByAngle(Turn(decimal(rng.uniform(45, 135), 1) / 360))
    loaded = {len(places) - 1, *rng.sample(range(len(places)), rng.randint(1, 3))}
    return PlaneTruss(
        tuple(PlaneJoint(n, at) for n, at in zip(names, places, strict=True)),
        tuple(Member(names[a], names[b]) for a, b in bars),
        (PlaneTrussSupport("pin", "1"), PlaneTrussSupport("roller", "2", roller)),
        tuple(PlaneTrussLoad(drawn_vector(rng, 2), names[i]) for i in sorted(loaded)),
    )


def _beside(
    a: Sequence[Any], b: Sequence[Any], share: float, places: int, rng: random.Random
) -> tuple[Exact, ...]:
    """A point off the middle of a line, by about ``share`` of its length on either side."""
    along = rng.uniform(0.3, 0.7)
    off = rng.choice((-1, 1)) * share
    (ax, ay), (bx, by) = ([float(int(x.p) / int(x.q)) for x in point] for point in (a, b))
    x, y = ax + along * (bx - ax) - off * (by - ay), ay + along * (by - ay) + off * (bx - ax)
    return decimal(x, places), decimal(y, places)


_TRIPOD = ((0, 0, 0), (6, 0, 0), (0, 6, 0), (2, 2, 5))


def space_truss(kappa: tuple[float, float], rng: random.Random) -> SpaceTruss:
    """A tripod on the ground, further joints on three bars each, the last on a flat tripod."""
    places: list[tuple[Exact, ...]] = [tuple(fmpq(x) for x in at) for at in _TRIPOD]
    bars = [(0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (2, 3)]
    for _ in range(rng.randint(0, 3)):
        feet = rng.sample(range(len(places)), 3)
        places.append(_above([places[i] for i in feet], rng.uniform(0.4, 1.2), 2, rng))
        bars += [(i, len(places) - 1) for i in feet]
    spread = log_uniform(rng, kappa)
    feet = rng.sample(range(len(places)), 3)
    flat = _above([places[i] for i in feet], 0.4 / spread, figures_for(spread) + 2, rng)
    bars += [(i, len(places)) for i in feet]
    places.append(flat)
    names = [f"{n}" for n in range(1, len(places) + 1)]
    loaded = {len(places) - 1, *rng.sample(range(len(places)), 2)}
    return SpaceTruss(
        tuple(SpaceJoint(n, at) for n, at in zip(names, places, strict=True)),
        tuple(Member(names[a], names[b]) for a, b in bars),
        (
            SpaceTrussSupport("ball", "1"),
            SpaceTrussSupport("roller", "2", _unit(2, 3), "2 up"),
            SpaceTrussSupport("link", "2", _unit(1, 3), "2 across"),
            SpaceTrussSupport("roller", "3", _unit(2, 3)),
        ),
        tuple(SpaceTrussLoad(drawn_vector(rng, 3), names[i]) for i in sorted(loaded)),
    )


def _unit(index: int, space: int) -> ByRun:
    return ByRun(tuple(fmpq(int(i == index)) for i in range(space)))


def _above(
    feet: Sequence[Sequence[Any]], share: float, places: int, rng: random.Random
) -> tuple[Exact, ...]:
    """A point off the plane of three others, by about ``share`` of their spread."""
    points = [[float(int(x.p) / int(x.q)) for x in point] for point in feet]
    middle = [sum(p[i] for p in points) / 3 for i in range(3)]
    u, v = ([p[i] - points[0][i] for i in range(3)] for p in points[1:])
    normal = [u[i - 2] * v[i - 1] - u[i - 1] * v[i - 2] for i in range(3)]
    size = math.sqrt(sum(x * x for x in normal)) or 1.0
    off, slide = rng.choice((-1, 1)) * share * math.sqrt(size) / size, rng.uniform(-0.2, 0.2)
    return tuple(
        decimal(m + off * n + slide * (u[i] + v[i]), places)
        for i, (m, n) in enumerate(zip(middle, normal, strict=True))
    )


# --- with stated numbers of rows ----------------------------------------------------------


def truss_with_rows(rows: Mapping[str, int], space: int, rng: random.Random) -> Any | None:
    """A determinate truss with these numbers of rows, all its members with force if possible.

    None where no determinate truss has that many joints, members and supports.
    """
    joints = rows.get("joints", 5)
    members = rows.get("members", space * joints - space * (space + 1) // 2)
    supports = rows.get("supports", 2 if space == 2 else 4)
    held = space * joints - members
    firm, odd = divmod(held - supports, space - 1)
    if odd or not 1 <= firm <= supports:
        return None
    best, most = None, -1
    for _ in range(_TRIES):
        found = _grown(joints, firm, supports - firm, rows.get("loads", 2), space, rng)
        if found is None:
            continue
        bearing = _bearing(found, space)
        if bearing > most:
            best, most = found, bearing
        if most == members + held:
            break
    return best


def _grown(
    joints: int, firm: int, links: int, loads: int, space: int, rng: random.Random
) -> Any | None:
    """One try: every joint hangs on supports and on bars to the joints before it."""
    ground = _grounded(joints, firm, links, space, rng)
    if ground is None:
        return None
    bars: list[tuple[int, int]] = []
    for k, held in enumerate(ground):
        wanted = space - (space if "firm" in held else len(held))
        if wanted > k:
            return None
        bars += [(i, k) for i in sorted(rng.sample(range(k), wanted))]
    return _stated(ground, bars, loads, space, rng)


def _grounded(
    joints: int, firm: int, links: int, space: int, rng: random.Random
) -> list[list[str]] | None:
    """What holds each joint: "firm" (pin or ball) or up to two links (three in space)."""
    ground: list[list[str]] = [[] for _ in range(joints)]
    for k in [0, *rng.sample(range(1, joints), firm - 1)] if firm <= joints else ():
        ground[k] = ["firm"]
    for k in range(1, joints):
        missing = max(0, space - k) if not ground[k] else 0
        ground[k] += ["link"] * min(missing, links)
        links -= min(missing, links)
    while links:
        open_ones = [
            k for k in range(1, joints) if "firm" not in ground[k] and len(ground[k]) < space
        ]
        if not open_ones:
            return None
        ground[rng.choice(open_ones)].append("link")
        links -= 1
    return ground


_PLACES = {2: (PlaneJoint, PlaneTrussSupport, PlaneTrussLoad, PlaneTruss, "pin"),
           3: (SpaceJoint, SpaceTrussSupport, SpaceTrussLoad, SpaceTruss, "ball")}  # fmt: skip


def _stated(
    ground: Sequence[Sequence[str]],
    bars: Sequence[tuple[int, int]],
    loads: int,
    space: int,
    rng: random.Random,
) -> Any | None:
    joint, support, load, truss, firm = _PLACES[space]
    names = [f"J{n}" for n in range(1, len(ground) + 1)]
    last_first = list(reversed(names))
    try:
        return truss(
            tuple(joint(name, _whole(space, 9, rng)) for name in names),
            tuple(Member(names[a], names[b], f"bar {n}") for n, (a, b) in enumerate(bars, 1)),
            tuple(
                support(firm, name, name=f"support at {name}")
                if kind == "firm"
                else support("link", name, ByRun(_whole(space, 5, rng)), f"link {n} at {name}")
                for name, held in zip(names, ground, strict=True)
                for n, kind in enumerate(held, 1)
            ),
            tuple(
                load(Components(_whole(space, 90, rng)), last_first[n % len(names)])
                for n in range(loads)
            ),
        )
    except ValueError:  # two joints of a bar fell on one point
        return None


def _whole(space: int, reach: int, rng: random.Random) -> tuple[Exact, ...]:
    return tuple(fmpq(rng.choice((-1, 1)) * rng.randint(1, reach)) for _ in range(space))


def _bearing(truss: Any, space: int) -> int:
    """How many unknowns of a determinate truss are not zero; -1 of any other truss."""
    rules = SimpleNamespace(**RULES)
    found = equilibrium(
        [Body(joint.name, rigid=False) for joint in truss.joints],
        space,
        lambda a: unknowns_in(truss, space, a, rules),
        lambda a: loads_on(truss, a, rules),
        EnclosureArithmetic(),
    )
    if found.free_motions or found.redundants:
        return -1
    return sum(not x.is_zero() for x in found.values.values())
