"""Solids against convex hulls of many points (scipy) and weighted averages (numpy)."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.leaves import AXIS
from refsolver.statics.chapters.centroids.solids import (
    SHAPES,
    Box,
    Cone,
    Paraboloid,
    Sphere,
    Tetrahedron,
    Wedge,
)
from refsolver.statics.registry import family

VOLUME = family("centroids/composite-volume")
BODIES = (
    (family("centroids/mass-centre"), "mass"),
    (family("centroids/centre-of-gravity"), "weight"),
)
TURNS = np.linspace(0, 2 * np.pi, 97)[:-1]


def number(x):
    return int(x.p) / int(x.q)


def numbers(at):
    return np.array([number(x) for x in at])


def ring(centre, radius, across):
    points = np.tile(centre, (len(TURNS), 1))
    u, v = (i for i in range(3) if i != across)
    points[:, u] += radius * np.cos(TURNS)
    points[:, v] += radius * np.sin(TURNS)
    return points


def boundary(row):
    """Points whose convex hull is the solid, nearly (all these shapes are convex)."""
    if isinstance(row, Tetrahedron):
        return np.array([numbers(p) for p in (row.a, row.b, row.c, row.d)])
    if isinstance(row, Box | Wedge):
        first = numbers(row.corner)
        sides = np.diag([number(s) for s in (row.x, row.y, row.z)])
        grid = [(i, j, k) for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        if isinstance(row, Wedge):
            u, v = (i for i in range(3) if "xyz"[i] != row.length)
            grid = [g for g in grid if not (g[u] and g[v])]
        return np.array([first + np.array(g) @ sides for g in grid])
    r = number(row.radius)
    if isinstance(row, Sphere):
        levels = np.linspace(-1, 1, 49)
        centre = numbers(row.centre)
        up = np.array([0, 0, r])
        return np.vstack([ring(centre + z * up, r * np.sqrt(1 - z * z), 2) for z in levels])
    name = "bulges" if hasattr(row, "bulges") else "axis"
    index, sense = AXIS[getattr(row, name)]
    base = numbers(row.centre if name == "bulges" else row.base)
    height = r if name == "bulges" else number(row.height)
    axis = np.eye(3)[index] * sense * height
    shares = np.sin(np.linspace(0, np.pi / 2, 49))
    if name == "bulges":
        radii = r * np.sqrt(np.maximum(0, 1 - shares**2))
    elif isinstance(row, Paraboloid):
        radii = r * np.sqrt(1 - shares)
    else:
        tip = number(row.tip) if isinstance(row, Cone) else r
        radii = r + (tip - r) * shares
    return np.vstack([ring(base + t * axis, s, index) for t, s in zip(shares, radii, strict=True)])


def hull_properties(points):
    """Volume, and centroid by the tetrahedra between the facets and a point inside."""
    hull, inside = ConvexHull(points), points.mean(axis=0)
    facets = points[hull.simplices]
    volumes = np.abs(np.linalg.det(facets - inside)) / 6
    middles = (facets.sum(axis=1) + inside) / 4
    return hull.volume, (volumes[:, None] * middles).sum(axis=0) / volumes.sum()


@pytest.mark.parametrize("table", sorted(SHAPES))
@pytest.mark.parametrize("seed", range(4))
def test_each_shape_against_its_convex_hull(table, seed):
    case = VOLUME.filled({table: 1}, random.Random(seed))
    volume, centre = hull_properties(boundary(getattr(case, table)[0]))
    answers = VOLUME.solve(case, DoubleArithmetic(), VOLUME.rule_set()).answers
    flat = table in ("boxes", "wedges", "tetrahedra")
    assert answers["volume"] == pytest.approx(volume, rel=1e-9 if flat else 4e-3)
    size = volume ** (1 / 3)
    assert answers["centre"] == pytest.approx(centre, abs=(1e-8 if flat else 4e-3) * size)


@pytest.mark.parametrize(("owner", "amount"), BODIES)
@pytest.mark.parametrize("seed", range(30))
def test_bodies_are_weighted_averages_of_their_parts(seed, owner, amount):
    """Each part alone in the plain family, then weighted by numpy."""
    rng = random.Random(seed)
    tables = rng.sample(sorted(SHAPES), 4)
    case = owner.filled({**dict.fromkeys(tables, 1), "lumps": 2}, rng)
    amounts, places = [], []
    for table in tables:
        row = getattr(case, table)[0]
        plain = {f: getattr(row, f) for f in SHAPES[table][0].__slots__ if f != "__weakref__"}
        alone = VOLUME.givens(**{table: (SHAPES[table][0](**plain),)})
        part = VOLUME.solve(alone, DoubleArithmetic(), VOLUME.rule_set()).answers
        amounts.append(part["volume"] * number(row.density))
        places.append(part["centre"])
    for lump in case.lumps:
        amounts.append(number(lump.amount))
        places.append(numbers(lump.at))
    answers = owner.solve(case, DoubleArithmetic(), owner.rule_set()).answers
    assert answers[amount] == pytest.approx(sum(amounts), rel=1e-12)
    centre = np.average(np.array(places, dtype=float), axis=0, weights=amounts)
    assert answers["centre"] == pytest.approx(centre, rel=1e-10, abs=1e-10)
