"""Force systems against sympy (the equations of equivalence solved) and numpy (double)."""

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
from refsolver.statics.vectors import brought, vector

PLANE, SPACE = family("force-systems/plane-reduction"), family("force-systems/space-reduction")
SINGLE, WRENCH = family("force-systems/single-force"), family("force-systems/wrench")
LINE, CENTRE = family("force-systems/parallel-line"), family("force-systems/parallel-space")
TWO = family("force-systems/two-parallel-components")
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


def in_space(given):
    if isinstance(given, Components):
        found = sympy.Matrix([exact(x) for x in given.along])
    else:
        found = exact(given.magnitude) * direction(given.direction)
    return sympy.Matrix([*found, *[0] * (3 - len(found))]).evalf(60)


def place(at):
    return sympy.Matrix([*[exact(x) for x in at], *[0] * (3 - len(at))])


def reduced(case, about):
    """Resultant and moment about a point, to 60 digits."""
    force, moment = sympy.zeros(3, 1), sympy.zeros(3, 1)
    for item in case.forces:
        pull = in_space(item.force)
        force += pull
        moment += (place(item.at) - about).cross(pull)
    for couple in case.couples:
        plane = not hasattr(couple.moment, "magnitude") and not hasattr(couple.moment, "along")
        moment += sympy.Matrix([0, 0, exact(couple.moment)]) if plane else in_space(couple.moment)
    return force, moment


def agrees(owner, case, pairs):
    views = [view for view, _ in pairs]
    outcomes = prove(owner, case, views).outcomes
    for view, value in pairs:
        middle = outcomes[view].enclosure.middle
        found, number = Fraction(int(middle.p), int(middle.q)), Fraction(str(sympy.N(value, 45)))
        size = abs(number) + Fraction(1, 10**15)
        assert abs(found - number) <= size / 10**27, view.describe()


@pytest.mark.parametrize("owner", [PLANE, SPACE], ids=lambda f: f.name)
def test_reductions_against_sympy(owner):
    for seed in range(12):
        case = owner.propose((1, 100), random.Random(seed))
        force, moment = reduced(case, place(case.about))
        space = len(case.about)
        pairs = [
            (View("resultant", "component", along=a), f)
            for a, f in zip(AXES[:space], force, strict=False)
        ]
        if space == 2:
            pairs.append((View("moment"), moment[2]))
        else:
            pairs += [
                (View("moment", "component", along=a), m) for a, m in zip(AXES, moment, strict=True)
            ]
        agrees(owner, case, pairs)


def test_lines_of_action_against_sympy():
    """The intercept is where the moment of the system vanishes, solved as an equation."""
    x = sympy.Symbol("x")
    for seed in range(12):
        case = SINGLE.propose((1, 100), random.Random(seed))
        force, moment = reduced(case, sympy.zeros(3, 1))
        # linsolve keeps the 60 digits; solve would round them.
        ((across,),) = sympy.linsolve([moment[2] - x * force[1]], [x])
        ((up,),) = sympy.linsolve([moment[2] + x * force[0]], [x])
        agrees(
            SINGLE,
            case,
            [
                (View("line", "intercept", along="+x"), across),
                (View("line", "intercept", along="+y"), up),
                (View("line", "distance"), abs(moment[2]) / force.norm()),
            ],
        )


def test_wrenches_against_sympy():
    """Pitch and axis as the solution of M - r x R = p R in (x, y, p) with z = 0."""
    x, y, p = sympy.symbols("x y p")
    for seed in range(12):
        case = WRENCH.propose((1, 100), random.Random(seed))
        force, moment = reduced(case, sympy.zeros(3, 1))
        gap = moment - sympy.Matrix([x, y, 0]).cross(force) - p * force
        (solution,) = sympy.linsolve(list(gap), [x, y, p])
        agrees(
            WRENCH,
            case,
            [
                (View("axis", "pierces", along="+x", through="z"), solution[0]),
                (View("axis", "pierces", along="+y", through="z"), solution[1]),
                (View("pitch"), solution[2]),
                (View("moment"), solution[2] * force.norm()),
            ],
        )


def test_parallel_forces_against_sympy():
    for seed in range(12):
        case = LINE.propose((1, 100), random.Random(seed))
        weights = [exact(f.force) for f in case.forces]
        moment = sum(w * exact(f.at) for w, f in zip(weights, case.forces, strict=True))
        agrees(LINE, case, [(View("position"), moment / sum(weights)), (View("moment"), moment)])
        case = CENTRE.propose((1, 100), random.Random(seed))
        weights = [exact(f.force) for f in case.forces]
        moments = sympy.zeros(3, 1)
        for weight, item in zip(weights, case.forces, strict=True):
            moments += weight * place(item.at)
        turning = moments.cross(direction(case.along))
        agrees(
            CENTRE,
            case,
            [
                (View("centre", "coordinate", along=a), m / sum(weights))
                for a, m in zip(AXES, moments, strict=True)
            ]
            + [
                (View("moment", "component", along=a), t)
                for a, t in zip(AXES, turning, strict=True)
            ],
        )


def test_two_components_against_sympy():
    one, two = sympy.symbols("one two")
    for seed in range(12):
        case = TWO.propose((1, 100), random.Random(seed))
        first, second = exact(case.first), exact(case.second)
        loads = [(exact(f.force), exact(f.at)) for f in case.forces]
        found = sympy.solve(
            [
                one + two - sum(f for f, _ in loads),
                one * first + two * second - sum(f * x for f, x in loads),
            ],
            [one, two],
        )
        agrees(TWO, case, [(View("first"), found[one]), (View("second"), found[two])])


@pytest.mark.parametrize("owner", [SINGLE, WRENCH], ids=lambda f: f.name)
def test_three_hundred_random_systems_against_numpy(owner):
    """The force within 64 rounding errors of its terms, the line within those of R and M."""
    ar = DoubleArithmetic()
    for seed in range(300):
        case = owner.propose([(1, 10), (1e3, 1e4)][seed % 2], random.Random(seed))
        forces = numpy.array([vector(f.force, ar) for f in case.forces])
        places = numpy.array([brought(f.at, ar) for f in case.forces])
        total, eps = forces.sum(axis=0), 64 * 2.0**-53
        slack = eps * numpy.abs(forces).sum()
        turns = eps * numpy.sum(numpy.abs(places).sum(1) * numpy.abs(forces).sum(1))
        force = numpy.linalg.norm(total)
        if owner is SINGLE:
            stated = [ar.bring(c.moment) for c in case.couples]
            moment = numpy.sum(places[:, 0] * forces[:, 1] - places[:, 1] * forces[:, 0])
            moment += sum(stated)
            turns += eps * numpy.abs(stated).sum()
            expected = abs(moment) / force
            view = View("line", "distance")
            bound = turns / force + abs(moment) * slack / force**2
        else:
            stated = numpy.array([vector(c.moment, ar) for c in case.couples]).reshape(-1, 3)
            moment = numpy.cross(places, forces).sum(axis=0) + stated.sum(axis=0)
            turns += eps * numpy.abs(stated).sum()
            expected = total @ moment / force**2
            view = View("pitch")
            bound = turns / force + 3 * numpy.linalg.norm(moment) * slack / force**2
        (outcome,) = prove(owner, case, [view], digits=15, second_opinion=False).outcomes.values()
        assert abs(float(outcome.ball.mid()) - expected) <= bound
