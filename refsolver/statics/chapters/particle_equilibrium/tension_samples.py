"""Held particles made at random: of a stated difficulty, or with stated numbers of rows."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Polar
from refsolver.statics.chapters.particle_equilibrium.held_particle import (
    PlaneParticle,
    PlaneSupport,
    SpaceParticle,
    SpaceSupport,
)
from refsolver.statics.forces.concurrent import PlaneForce, SpaceForce
from refsolver.statics.random_givens import decimal, figures_for, log_uniform, share_of

__all__ = ["plane_of_difficulty", "plane_with_rows", "space_of_difficulty", "space_with_rows"]


def plane_of_difficulty(kappa: tuple[float, float], rng: random.Random) -> PlaneParticle:
    """A load on two cables whose directions are about 1/kappa of a radian off one line.

    The cables rise on both sides of the load's reverse, so that both pull.
    """
    places = figures_for(kappa[1])
    dip = math.degrees(1 / log_uniform(rng, kappa)) / 2
    load = rng.uniform(0, 360)
    headings = (load + 90 + dip, load + 270 - dip * rng.uniform(0.5, 1))
    return PlaneParticle(
        (_plane_load(rng.uniform(10, 990), load, places),),
        tuple(_plane_cable(heading, places) for heading in headings),
    )


def plane_with_rows(rows: Mapping[str, int], rng: random.Random) -> PlaneParticle | None:
    """Any number of loads; one or two cables, more would be redundant."""
    if set(rows) != {"forces", "supports"} or rows["forces"] < 1 or rows["supports"] != 2:
        return None
    return PlaneParticle(
        tuple(_plane_load(f, a, 1) for f, a in _spread_loads(rows["forces"], rng)),
        (_plane_cable(rng.uniform(20, 70), 1), _plane_cable(rng.uniform(110, 160), 1)),
    )


def space_of_difficulty(kappa: tuple[float, float], rng: random.Random) -> SpaceParticle:
    """A weight on three cables that rise by about 1/kappa of their reach in plan.

    For a larger ``kappa`` two of them lie nearly in one plane with the weight, so that
    the third is nearly idle.
    """
    places = figures_for(kappa[1])
    spread = log_uniform(rng, kappa)
    if spread > 30:
        return _nearly_idle(spread, rng)
    rise = 1 / log_uniform(rng, kappa)
    first = rng.uniform(0, 360)
    cables = []
    for i in range(3):
        azimuth = math.radians(first + 120 * i + rng.uniform(-25, 25))
        reach = rng.uniform(2, 9)
        run = (reach * math.cos(azimuth), reach * math.sin(azimuth), reach * rise)
        cables.append(SpaceSupport(ByRun(tuple(decimal(x, places + 1) for x in run))))
    weight = Polar(decimal(rng.uniform(10, 990), 1), ByRun((fmpq(0), fmpq(0), fmpq(-1))))
    return SpaceParticle((SpaceForce(weight),), tuple(cables))


def space_with_rows(rows: Mapping[str, int], rng: random.Random) -> SpaceParticle | None:
    """Any number of loads; three cables, more would be redundant."""
    if set(rows) != {"forces", "supports"} or rows["forces"] < 1 or rows["supports"] != 3:
        return None
    loads = [
        SpaceForce(
            Polar(
                decimal(rng.uniform(10, 990), 1),
                ByAzimuth(
                    Turn(decimal(rng.uniform(0, 360), 1) / 360),
                    Turn(decimal(rng.uniform(-85, -60), 1) / 360),
                ),
            )
        )
        for _ in range(rows["forces"])
    ]
    cables = [
        SpaceSupport(
            ByAzimuth(
                Turn(decimal(120 * i + rng.uniform(-20, 20), 1) / 360),
                Turn(decimal(rng.uniform(25, 50), 1) / 360),
            )
        )
        for i in range(3)
    ]
    return SpaceParticle(tuple(loads), tuple(cables))


def _spread_loads(count: int, rng: random.Random) -> list[tuple[float, float]]:
    """Pulls downward within 60 degrees of the vertical."""
    return [(rng.uniform(10, 990), rng.uniform(210, 330)) for _ in range(count)]


def _plane_load(size: float, degrees: float, places: int) -> PlaneForce:
    return PlaneForce(Polar(decimal(size, 1), _heading(degrees, places)))


def _plane_cable(degrees: float, places: int) -> PlaneSupport:
    return PlaneSupport(_heading(degrees, places))


def _heading(degrees: float, places: int) -> ByAngle:
    return ByAngle(Turn(decimal(degrees % 360, places) / 360))


def _nearly_idle(spread: float, rng: random.Random) -> SpaceParticle:
    """Two cables across from each other but for about 1/spread, and one square to them."""
    x, y = decimal(rng.uniform(1, 9), 2), decimal(rng.uniform(1, 9), 2)
    off, beyond = share_of(spread, rng), decimal(rng.uniform(0.5, 2), 2)
    heights = [decimal(rng.uniform(2, 9), 1) for _ in range(3)]
    plans = ((x, y), (off * y - beyond * x, -off * x - beyond * y), (-y, x))
    weight = Polar(decimal(rng.uniform(10, 990), 1), ByRun((fmpq(0), fmpq(0), fmpq(-1))))
    return SpaceParticle(
        (SpaceForce(weight),),
        tuple(
            SpaceSupport(ByRun((*plan, height)))
            for plan, height in zip(plans, heights, strict=True)
        ),
    )
