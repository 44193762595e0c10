"""Trusses against scipy and sympy on equations written here, and against hand formulas.

The equations here have unit vectors and member forces as unknowns (the families have force
densities), moments for the reactions, and come from coordinates in doubles or sympy.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import scipy.linalg
import sympy
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.trusses.joints import PlaneJoint, SpaceJoint
from refsolver.statics.chapters.trusses.truss import (
    Member,
    PlaneTruss,
    PlaneTrussLoad,
    PlaneTrussSupport,
    SpaceTruss,
    SpaceTrussLoad,
    SpaceTrussSupport,
    member_keys,
)
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import unit_vector, vector

PLANE = family("trusses/plane-truss")
SPACE = family("trusses/space-truss")
DOUBLE = DoubleArithmetic()


def joint_equations(truss, space):
    """Unit vectors in a dense matrix: members first, then what the supports can exert."""
    place = {j.name: np.array([float(int(x.p) / int(x.q)) for x in j.at]) for j in truss.joints}
    row = {j.name: space * n for n, j in enumerate(truss.joints)}
    columns, right = [], np.zeros(space * len(place))
    for m in truss.members:
        run = place[m.end] - place[m.start]
        unit = run / np.linalg.norm(run)
        column = np.zeros(len(right))
        column[row[m.start] : row[m.start] + space] = unit
        column[row[m.end] : row[m.end] + space] = -unit
        columns.append(column)
    for s in truss.supports:
        lines = np.eye(space) if s.direction is None else [unit_vector(s.direction, DOUBLE)]
        for line in lines:
            column = np.zeros(len(right))
            column[row[s.joint] : row[s.joint] + space] = line
            columns.append(column)
    for item in truss.loads:
        right[row[item.joint] : row[item.joint] + space] -= vector(item.force, DOUBLE)
    return np.array(columns).T, right


def proven_forces(owner, truss):
    asks = [View("forces", key=key) for key in member_keys(truss.members)]
    outcomes = prove(owner, truss, asks, second_opinion=False, residuals=False).outcomes
    return [float(outcomes[ask].enclosure.middle) for ask in asks]


@pytest.mark.parametrize(("owner", "count"), [(PLANE, 40), (SPACE, 30)], ids=["plane", "space"])
def test_random_trusses_against_a_dense_solve_of_joint_equations(owner, count):
    for seed in range(count):
        truss = owner.propose((1, 1e4), random.Random(f"dense {seed}"))
        matrix, right = joint_equations(truss, owner.space)
        found = scipy.linalg.solve(matrix, right)
        loss = np.linalg.cond(matrix) * 1e-15
        scale = np.abs(found).max()
        for proven, dense in zip(proven_forces(owner, truss), found, strict=False):
            assert proven == pytest.approx(dense, rel=1e-9, abs=loss * scale), seed


def test_rank_and_degree_against_singular_values():
    """Trusses with bars taken out and put in: rank by numpy's singular values."""
    for seed in range(25):
        rng = random.Random(f"rank {seed}")
        truss = PLANE.filled({"joints": 6, "members": 9, "supports": 2, "loads": 2}, rng)
        places = tuple(
            PlaneJoint(j.name, tuple(fmpq(round(float(int(x.p)) / 3)) for x in j.at))
            for j in truss.joints
        )
        bars = list(truss.members)
        rng.shuffle(bars)
        del bars[: rng.randint(0, 2)]
        names = [j.name for j in truss.joints]
        for n in range(rng.randint(0, 2)):
            a, b = rng.sample(names, 2)
            bars.append(Member(a, b, f"extra {n}"))
        try:
            truss = PlaneTruss(places, tuple(bars), truss.supports, truss.loads)
        except ValueError:  # two joints of a bar fell on one point
            continue
        matrix, _ = joint_equations(truss, 2)
        rank = np.linalg.matrix_rank(matrix, tol=1e-9)
        asks = [View("degree"), View("free_motions")]
        degree, free = prove(PLANE, truss, asks).outcomes.values()
        assert degree.enclosure.middle == matrix.shape[1] - rank
        assert free.enclosure.middle == matrix.shape[0] - rank


def test_open_members_are_those_a_self_stress_reaches():
    """The null space by sympy, in fractions: members outside it keep a value."""
    names = "ABCDEF"
    places = {"A": (0, 0), "B": (2, 0), "C": (4, 0), "D": (0, 2), "E": (2, 3), "F": (4, 2)}
    bars = ["AB", "BC", "DE", "EF", "AD", "BE", "CF", "AE", "BD", "BF"]
    truss = PlaneTruss(
        tuple(PlaneJoint(n, tuple(map(fmpq, places[n]))) for n in names),
        tuple(Member(*bar) for bar in bars),
        (
            PlaneTrussSupport("pin", "A"),
            PlaneTrussSupport("roller", "C", ByRun((fmpq(0), fmpq(1)))),
        ),
        (PlaneTrussLoad(Components((fmpq(3), fmpq(-5))), "E"),),
    )
    matrix = sympy.zeros(12, 13)
    for j, (a, b) in enumerate(bars):
        for i in range(2):
            run = places[b][i] - places[a][i]
            matrix[2 * names.index(a) + i, j], matrix[2 * names.index(b) + i, j] = run, -run
    matrix[0, 10] = matrix[1, 11] = matrix[5, 12] = 1
    (stress,) = matrix.nullspace()
    asks = [View("forces", key=bar) for bar in bars]
    outcomes = prove(PLANE, truss, asks).outcomes
    for j, ask in enumerate(asks):
        refused = getattr(outcomes[ask], "reason", "") == "redundant"
        assert refused == (stress[j] != 0), ask.key


def test_parallel_chords_against_bending_moment_and_shear():
    """Chord = M / h, diagonal = V / sin: the method of sections in any text on statics, for
    instance R. C. Hibbeler, "Engineering Mechanics: Statics", section 6.4 (from memory)."""
    panels, width, depth, load = 8, 5, 12, 10
    low = [PlaneJoint(f"L{i}", (fmpq(width * i), fmpq(0))) for i in range(panels + 1)]
    high = [PlaneJoint(f"U{i}", (fmpq(width * i), fmpq(depth))) for i in range(panels + 1)]
    bars = [Member(f"L{i}", f"L{i + 1}") for i in range(panels)]
    bars += [Member(f"U{i}", f"U{i + 1}") for i in range(panels)]
    bars += [Member(f"L{i}", f"U{i}") for i in range(panels + 1)]
    bars += [Member(f"U{i}", f"L{i + 1}") for i in range(panels)]
    truss = PlaneTruss(
        (*low, *high),
        tuple(bars),
        (
            PlaneTrussSupport("pin", "L0"),
            PlaneTrussSupport("roller", f"L{panels}", ByRun((fmpq(0), fmpq(1)))),
        ),
        tuple(
            PlaneTrussLoad(Components((fmpq(0), fmpq(-load))), f"L{i}") for i in range(1, panels)
        ),
    )
    end = load * (panels - 1) / 2
    found = dict(zip(member_keys(truss.members), proven_forces(PLANE, truss), strict=True))
    for i in range(panels):
        x = width * i
        moment = end * x - sum(load * (x - width * k) for k in range(1, i))
        assert found[f"L{i}-L{i + 1}"] == pytest.approx(moment / depth)
        shear = end - load * i
        assert found[f"U{i}-L{i + 1}"] == pytest.approx(shear * math.hypot(5, 12) / 12)


def test_even_legs_by_the_formula():
    """N = P L / (n h) for n like legs around an upright load; any text of statics (from memory)."""
    feet = {"A": (6, 0, 0), "B": (0, 6, 0), "C": (-6, -6, 0)}
    joints = [SpaceJoint(n, tuple(map(fmpq, at))) for n, at in feet.items()]
    truss = SpaceTruss(
        (*joints, SpaceJoint("T", (fmpq(0), fmpq(0), fmpq(7)))),
        tuple(Member(n, "T") for n in feet),
        tuple(SpaceTrussSupport("ball", n) for n in feet),
        (SpaceTrussLoad(Components((fmpq(0), fmpq(0), fmpq(-21))), "T"),),
    )
    for force, at in zip(proven_forces(SPACE, truss), feet.values(), strict=True):
        assert force == pytest.approx(-21 / 3 * math.hypot(*at, 7) / 7)
