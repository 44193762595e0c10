"""Rigid bodies against sympy (exact) and numpy (double), and a published three-force body."""

from __future__ import annotations

import random

import numpy as np
import pytest
import sympy
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.bodies.loads import PlaneBody, PlaneLoad, SpaceBody, SpaceLoad
from refsolver.statics.bodies.loads import plane_loads as plane_loads_of
from refsolver.statics.bodies.loads import space_loads as space_loads_of
from refsolver.statics.bodies.supports import PlaneSupport, SpaceSupport, parts_of
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import brought

PLANE = family("rigid-bodies/plane-reactions")
SPACE = family("rigid-bodies/space-reactions")


def whole(rng, count, low=-9, high=9):
    return tuple(fmpq(rng.randint(low, high)) for _ in range(count))


def rational(x):
    return sympy.Rational(int(x.p), int(x.q))


def test_ten_plane_bodies_against_sympy():
    """Moments about three points that do not lie in a line, solved by sympy in fractions."""
    rng = random.Random(11)
    done = 0
    while done < 10:
        pin, other = whole(rng, 2), whole(rng, 2)
        run = whole(rng, 2)
        arm = (other[0] - pin[0]) * run[1] - (other[1] - pin[1]) * run[0]
        if arm == 0:
            continue
        forces = tuple(PlaneLoad(Components(whole(rng, 2)), whole(rng, 2)) for _ in range(3))
        body = PlaneBody(
            (PlaneSupport("pin", pin, name="A"), PlaneSupport("link", other, ByRun(run), "B")),
            forces,
        )
        ax, ay, b = sympy.symbols("ax ay b")
        acting = [(pin, (ax, ay)), (other, tuple(rational(r) * b for r in run))]
        acting += [(f.at, tuple(rational(x) for x in f.force.along)) for f in forces]
        equations = []
        for px, py in ((0, 0), (7, 0), (0, 5)):
            equations.append(
                sum(
                    (rational(at[0]) - px) * f[1] - (rational(at[1]) - py) * f[0]
                    for at, f in acting
                )
            )
        found = sympy.solve(equations, [ax, ay, b], dict=True)[0]
        asks = [View("reactions", "component", key="A", along=a) for a in ("+x", "+y")]
        outcomes = prove(PLANE, body, asks).outcomes
        for ask, symbol in zip(asks, (ax, ay), strict=True):
            exact = fmpq(int(found[symbol].p), int(found[symbol].q))
            enclosure = outcomes[ask].enclosure
            assert enclosure.lower <= exact <= enclosure.upper
        done += 1


def test_ten_space_bodies_against_sympy():
    """A ball and three links: six equations in fractions by sympy."""
    rng = random.Random(12)
    done = 0
    while done < 10:
        points = [whole(rng, 3) for _ in range(4)]
        runs = [whole(rng, 3) for _ in range(3)]
        loads = tuple(SpaceLoad(Components(whole(rng, 3)), whole(rng, 3)) for _ in range(2))
        unknowns = sympy.symbols("ax ay az b c d")
        acting = [(points[0], sympy.Matrix(unknowns[:3]))]
        for at, run, u in zip(points[1:], runs, unknowns[3:], strict=True):
            acting.append((at, sympy.Matrix([rational(r) * u for r in run])))
        acting += [(f.at, sympy.Matrix([rational(x) for x in f.force.along])) for f in loads]
        total = sum((f for _, f in acting), sympy.zeros(3, 1))
        turning = sum(
            (sympy.Matrix([rational(x) for x in at]).cross(f) for at, f in acting),
            sympy.zeros(3, 1),
        )
        matrix, right = sympy.linear_eq_to_matrix([*total, *turning], unknowns)
        if matrix.det() == 0 or any(all(x == 0 for x in run) for run in runs):
            continue
        exact = matrix.LUsolve(right)
        supports = (
            SpaceSupport("ball", points[0], name="A"),
            *(
                SpaceSupport("link", at, ByRun(run), name=n)
                for at, run, n in zip(points[1:], runs, "BCD", strict=True)
            ),
        )
        body = SpaceBody(supports, loads)
        asks = [View("reactions", "component", key="A", along=a) for a in ("+x", "+y", "+z")]
        outcomes = prove(SPACE, body, asks).outcomes
        for i, ask in enumerate(asks):
            value = fmpq(int(exact[i].p), int(exact[i].q))
            enclosure = outcomes[ask].enclosure
            assert enclosure.lower <= value <= enclosure.upper
        done += 1


@pytest.mark.parametrize(
    ("owner", "loads_of"),
    [(PLANE, plane_loads_of), (SPACE, space_loads_of)],
    ids=("plane", "space"),
)
def test_generated_bodies_against_numpy(owner, loads_of):
    """numpy.linalg.solve on its own matrix, within its condition number in double precision."""
    ar, rng = DoubleArithmetic(), random.Random(13)
    rules = owner.rule_set()
    count = 6 if owner is SPACE else 3
    for _ in range(1000):
        case = owner.propose((1, 1e4), rng)
        columns, keys = [], []
        for support in case.supports:
            at = np.array(brought(support.at, ar), dtype=float)
            for part in parts_of(support, support.name, ar):
                along = np.array(part.along, dtype=float)
                columns.append(_column(at, along))
                keys.append((support.name, along))
        matrix = np.array(columns).T
        right = -sum(
            np.array([*action.force, *action.moment], dtype=float)
            for _, action in loads_of(case, ar, rules)
        )
        assert matrix.shape == (count, count)
        found = np.linalg.solve(matrix, right)
        bound = 1e-13 * np.linalg.cond(matrix) * np.abs(found).max()
        reaction = np.zeros(owner.space)
        for (name, along), x in zip(keys, found, strict=True):
            if name == "B":
                reaction = reaction + x * along
        axes = ("+x", "+y", "+z")[: owner.space]
        asks = [View("reactions", "component", key="B", along=a) for a in axes]
        outcomes = prove(
            owner, case, asks, digits=18, second_opinion=False, residuals=False
        ).outcomes
        for ask, expected in zip(asks, reaction, strict=True):
            middle = outcomes[ask].enclosure.middle
            assert abs(int(middle.p) / int(middle.q) - expected) <= bound


def _column(at, along):
    if len(at) == 2:
        return [*along, at[0] * along[1] - at[1] * along[0]]
    return [*along, *np.cross(at, along)]


def test_three_force_body():
    """Three forces in balance meet in one point or are parallel (any text of statics).

    A load, a smooth wall and a floor: the floor reaction points at the meeting point.
    """
    supports = (
        PlaneSupport("pin", (fmpq(0), fmpq(0)), name="floor"),
        PlaneSupport("contact", (fmpq(3), fmpq(8)), ByRun((fmpq(-1), fmpq(0))), "wall"),
    )
    body = PlaneBody(supports, (PlaneLoad(Components((fmpq(0), fmpq(-90))), (fmpq(2), fmpq(5))),))
    asks = [View("reactions", "component", key="floor", along=a) for a in ("+x", "+y")]
    x, y = (o.enclosure.middle for o in prove(PLANE, body, asks).outcomes.values())
    assert abs(x / y - fmpq(2, 8)) < fmpq(1, 10**25)
