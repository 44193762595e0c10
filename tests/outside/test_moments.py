"""Moments and couples against sympy (exact), numpy (double) and geometry by determinants."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy
import pytest
import sympy

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.leaves import ByAngle, ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import brought, unit_vector, vector

POINT, SPACE = family("moments/plane-point"), family("moments/space-point")
AXIS = family("moments/space-axis")
PAIRS, SPACE_PAIRS = family("moments/plane-couples"), family("moments/space-couples")
AXES = ("+x", "+y", "+z")


def exact(x):
    return sympy.Rational(int(x.p), int(x.q))


def angle(turn):
    return 2 * sympy.pi * exact(turn.turns)


def direction(given):
    if isinstance(given, ByRun):
        run = sympy.Matrix([exact(x) for x in given.run])
        return run / run.norm()
    if isinstance(given, ByAngle):
        return sympy.Matrix([sympy.cos(angle(given.angle)), sympy.sin(angle(given.angle))])
    azimuth, rise = angle(given.azimuth), angle(given.elevation)
    level = sympy.cos(rise)
    return sympy.Matrix([level * sympy.cos(azimuth), level * sympy.sin(azimuth), sympy.sin(rise)])


def force_of(given):
    if isinstance(given, Components):
        return sympy.Matrix([exact(x) for x in given.along])
    return exact(given.magnitude) * direction(given.direction)


def place(at):
    return sympy.Matrix([exact(x) for x in at])


def lifted(vector_of_plane):
    return sympy.Matrix([*vector_of_plane, *[0] * (3 - len(vector_of_plane))])


def turning(arm, force):
    return lifted(arm).cross(lifted(force))


def moment_views(space):
    return [View("moment")] if space == 2 else [View("moment", "component", along=a) for a in AXES]


def agrees(owner, case, views, expected):
    outcomes = prove(owner, case, views).outcomes
    for view, value in zip(views, expected, strict=True):
        enclosure = outcomes[view].enclosure
        number = Fraction(str(sympy.N(value, 45)))
        size = abs(number) + Fraction(1, 10**20)
        found = Fraction(int(enclosure.middle.p), int(enclosure.middle.q))
        assert abs(found - number) <= size / 10**28, view.describe()


@pytest.mark.parametrize("owner", [POINT, SPACE], ids=lambda f: f.name)
def test_moments_about_a_point_against_sympy(owner):
    for seed in range(12):
        case = owner.propose((1, 100), random.Random(seed))
        about = place(case.about)
        total = sympy.zeros(3, 1)
        for item in case.forces:
            total += turning(place(item.at) - about, force_of(item.force))
        space = len(case.about)
        expected = [total[2]] if space == 2 else list(total)
        first = case.forces[0]
        along = lifted(force_of(first.force))
        arm = lifted(place(first.at) - about)
        views = [*moment_views(space), View("distances", key="force 1")]
        agrees(owner, case, views, [*expected, arm.cross(along).norm() / along.norm()])


def test_moments_about_an_axis_against_sympy():
    """The moment as a determinant, the distance as that of two skew lines."""
    for seed in range(12):
        case = AXIS.propose((1, 100), random.Random(seed))
        through, unit = place(case.through), direction(case.along)
        total = sum(
            sympy.Matrix.hstack(unit, place(f.at) - through, force_of(f.force)).det()
            for f in case.forces
        )
        force = force_of(case.forces[0].force)
        across = unit.cross(force)
        gap = abs((place(case.forces[0].at) - through).dot(across)) / across.norm()
        agrees(AXIS, case, [View("moment"), View("distances", key="force 1")], [total, gap])


@pytest.mark.parametrize("owner", [PAIRS, SPACE_PAIRS], ids=lambda f: f.name)
def test_couples_against_sympy(owner):
    """Both forces of every pair, each about a point of no distinction."""
    for seed in range(12):
        case = owner.propose((1, 100), random.Random(seed))
        pole = sympy.Matrix([7, -11, 13])
        total = sympy.zeros(3, 1)
        for pair in case.pairs:
            force = force_of(pair.force)
            total += turning(lifted(place(pair.at)) - pole, force)
            total += turning(lifted(place(pair.opposite_at)) - pole, -force)
        if owner is PAIRS:
            expected = [total[2] + sum(exact(c.moment) for c in case.couples)]
        else:
            for couple in case.couples:
                total += force_of(couple.moment)
            expected = list(total)
        agrees(owner, case, moment_views(2 if owner is PAIRS else 3), expected)


@pytest.mark.parametrize("owner", [POINT, SPACE, AXIS], ids=lambda f: f.name)
def test_four_hundred_random_cases_against_numpy(owner):
    """Within 64 rounding errors of the terms that are added (backward error of a sum)."""
    ar = DoubleArithmetic()
    for seed in range(400):
        kappa = [(1, 10), (1e3, 1e4), (1e7, 1e8)][seed % 3]
        case = owner.propose(kappa, random.Random(seed))
        start = numpy.array(brought(case.about if owner is not AXIS else case.through, ar))
        forces = numpy.array([vector(f.force, ar) for f in case.forces])
        places = numpy.array([brought(f.at, ar) for f in case.forces])
        arms = places - start
        if owner is POINT:
            expected = numpy.sum(arms[:, 0] * forces[:, 1] - arms[:, 1] * forces[:, 0])
        else:
            expected = numpy.cross(arms, forces).sum(axis=0)
        if owner is AXIS:
            expected = expected @ numpy.array(unit_vector(case.along, ar))
        size = numpy.sum(
            (numpy.abs(places).sum(1) + numpy.abs(start).sum()) * numpy.abs(forces).sum(1)
        )
        views = [View("moment")] if owner is not SPACE else moment_views(3)
        outcomes = prove(owner, case, views, digits=15, second_opinion=False).outcomes
        proven = [float(outcomes[v].ball.mid()) for v in views]
        assert numpy.max(numpy.abs(proven - expected)) <= 64 * 2.0**-53 * size
