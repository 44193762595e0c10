"""Forces at a point against general-purpose libraries that share no code with the solver.

SymPy (symbolic, then 40 digits) writes each question's equations in its own way: complex
numbers in the plane, Matrix in space, its own linear solver. NumPy and SciPy (IEEE double)
run many random cases with a bound from rounding and condition.
"""

import math
import random

import numpy
import pytest
import scipy.optimize
import sympy
from flint import fmpq
from mpmath import mp

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

SAMPLES = 10
AXES = ("+x", "+y", "+z")


def proven(name, given, *views, digits=32):
    return [o.enclosure for o in prove(family(name), given, views, digits=digits).outcomes.values()]


def number(x):
    return sympy.Rational(int(x.p), int(x.q))


def turn(angle):
    assert isinstance(angle, Turn)
    return 2 * sympy.pi * number(angle.turns)


def direction(d):
    """A unit vector as a SymPy column."""
    if isinstance(d, ByAngle):
        z = sympy.exp(sympy.I * turn(d.angle))
        return sympy.Matrix([sympy.re(z), sympy.im(z)])
    if isinstance(d, ByRun):
        run = sympy.Matrix([number(x) for x in d.run])
        return run / run.norm()
    assert isinstance(d, ByAzimuth)
    a, e = turn(d.azimuth), turn(d.elevation)
    level = sympy.rot_axis3(-a) * sympy.Matrix([1, 0, 0])
    return level * sympy.cos(e) + sympy.Matrix([0, 0, sympy.sin(e)])


def force(v):
    if isinstance(v, Components):
        return sympy.Matrix([number(x) for x in v.along])
    return number(v.magnitude) * direction(v.direction)


def agrees(enclosure, exact):
    """Within 1e-30 of SymPy's value to 60 digits (relative to 1 and the value)."""
    value = sympy.N(exact, 60)
    with mp.workdps(60):
        middle = mp.mpf(int(enclosure.middle.p)) / int(enclosure.middle.q)
        return abs(middle - mp.mpf(str(value))) <= mp.mpf(10) ** -30 * (1 + abs(middle))


def samples(name, kappa=(1.0, 1e4)):
    rng = random.Random(f"outside {name}")
    return [family(name).propose(kappa, rng) for _ in range(SAMPLES)]


@pytest.mark.parametrize("space", [2, 3])
def test_resultants_against_sympy(space):
    name = f"concurrent-forces/{'plane' if space == 2 else 'space'}-resultant"
    views = [View("resultant", "component", along=a) for a in AXES[:space]]
    for given in samples(name):
        total = sympy.zeros(space, 1)
        for item in given.forces:
            total += force(item.force)
        found = proven(name, given, *views, View("resultant", "magnitude"))
        for enclosure, exact in zip(found, [*total, sympy.sqrt(total.dot(total))], strict=True):
            assert agrees(enclosure, exact)


def test_rectangular_components_against_sympy():
    for given in samples("components/plane-rectangular"):
        found = proven("components/plane-rectangular", given, View("along"), View("across"))
        polar = number(given.force.magnitude) * sympy.exp(
            sympy.I * (turn(given.force.direction.angle) - turn(given.axis.angle))
        )
        for enclosure, exact in zip(found, (sympy.re(polar), sympy.im(polar)), strict=True):
            assert agrees(enclosure, exact)
    for given in samples("components/space-rectangular"):
        views = [View("force", "component", along=a) for a in AXES]
        found = proven("components/space-rectangular", given, *views)
        for enclosure, exact in zip(found, force(given.force), strict=True):
            assert agrees(enclosure, exact)


def test_oblique_components_against_sympy():
    for given in samples("components/oblique"):
        matrix = direction(given.first).row_join(direction(given.second))
        shares = matrix.adjugate() * force(given.force) / matrix.det()
        found = proven("components/oblique", given, View("first"), View("second"), digits=40)
        for enclosure, exact in zip(found, shares, strict=True):
            assert agrees(enclosure, exact)


@pytest.mark.parametrize("name", ["components/plane-projection", "components/space-projection"])
def test_projections_against_sympy(name):
    for given in samples(name):
        pull, line = force(given.force), direction(given.line)
        shadow = line * line.T * pull
        views = [View("parallel", "component", along=a) for a in AXES[: len(pull)]]
        views += [View("perpendicular", "component", along=a) for a in AXES[: len(pull)]]
        for enclosure, exact in zip(
            proven(name, given, *views), [*shadow, *(pull - shadow)], strict=True
        ):
            assert agrees(enclosure, exact)


@pytest.mark.parametrize("name", ["components/plane-angle", "components/space-angle"])
def test_angles_against_sympy_by_the_arc_cosine(name):
    for given in samples(name):
        a, b = force(given.first), force(given.second)
        exact = sympy.acos(a.dot(b) / sympy.sqrt(a.dot(a) * b.dot(b))) / (2 * sympy.pi)
        assert agrees(proven(name, given, View("angle"))[0], exact)


@pytest.mark.parametrize("space", [2, 3])
def test_tensions_against_sympy(space):
    name = f"particle-equilibrium/{'plane' if space == 2 else 'space'}-tensions"
    for given in samples(name):
        load = sympy.zeros(space, 1)
        for item in given.forces:
            load += force(item.force)
        columns = [direction(s.direction) for s in given.supports]
        matrix = sympy.Matrix.hstack(*columns)
        tensions = -matrix.adjugate() * load / matrix.det()
        views = [View("forces", key=f"support {n}") for n in range(1, space + 1)]
        for enclosure, exact in zip(proven(name, given, *views, digits=40), tensions, strict=True):
            assert agrees(enclosure, exact)


def test_one_cord_against_sympy():
    for given in samples("particle-equilibrium/one-cord"):
        total = sympy.zeros(2, 1)
        for item in given.forces:
            total += force(item.force)
        place = number(given.length) * total / total.norm()
        found = proven(
            "particle-equilibrium/one-cord",
            given,
            View("cord", "magnitude"),
            View("place", "coordinate", along="+x"),
            View("rise"),
        )
        wanted = (total.norm(), place[0], place[1] + number(given.length))
        for enclosure, exact in zip(found, wanted, strict=True):
            assert agrees(enclosure, exact)


def test_springs_against_sympy_as_the_gradient_of_their_energy():
    x, y = sympy.symbols("x y", real=True)
    for given in samples("particle-equilibrium/plane-springs"):
        energy = 0
        for spring in given.springs:
            reach = sympy.sqrt(
                (x - number(spring.anchor[0])) ** 2 + (y - number(spring.anchor[1])) ** 2
            )
            energy += number(spring.stiffness) * (reach - number(spring.unstretched)) ** 2 / 2
        at = {x: number(given.ring[0]), y: number(given.ring[1])}
        known = sympy.zeros(2, 1)
        for item in given.forces:
            known += force(item.force)
        views = [View("holding", "component", along=a) for a in AXES[:2]]
        found = proven("particle-equilibrium/plane-springs", given, *views)
        for enclosure, variable, pull in zip(found, (x, y), known, strict=True):
            assert agrees(enclosure, sympy.diff(energy, variable).subs(at) - pull)


def double(x):
    return int(x.p) / int(x.q)


def test_a_running_pulley_comes_to_rest_at_the_lowest_point():
    """Least potential energy, by SciPy: the depth found by minimising over the split."""
    rng = random.Random(2)
    for _ in range(40):
        given = family("particle-equilibrium/running-pulley").propose((2.0, 50.0), rng)
        reach, span, rise = map(double, (given.length, given.span, given.rise))

        def level(first, reach=reach, span=span, rise=rise):
            """The lower meeting point of circles about both supports."""
            apart = math.hypot(span, rise)
            along = (first**2 - (reach - first) ** 2 + apart**2) / (2 * apart)
            off = math.sqrt(max(first**2 - along**2, 0))
            return (along * rise - off * span) / apart

        slack = (reach - math.hypot(span, rise)) / 2
        low, high = slack, reach - slack
        best = scipy.optimize.minimize_scalar(
            level, bounds=(low, high), method="bounded", options={"xatol": 1e-12}
        )
        (depth,) = proven(
            "particle-equilibrium/running-pulley", given, View("place", "coordinate", along="+y")
        )
        assert double(depth.middle) == pytest.approx(best.fun, rel=1e-9, abs=1e-9)


def test_counterweights_against_scipy():
    """The three-force balance solved numerically for both directions."""
    rng = random.Random(4)
    name = "particle-equilibrium/two-counterweights"
    for _ in range(40):
        given = family(name).propose((2.0, 20.0), rng)
        left, right, load = map(double, (given.left, given.right, given.load))

        def unbalanced(angles, left=left, right=right, load=load):
            a, b = angles
            level = right * math.sin(b) - left * math.sin(a)
            return [level / load, (left * math.cos(a) + right * math.cos(b) - load) / load]

        found = proven(
            name,
            given,
            View("left", "angle", start="+y", toward="-x"),
            View("right", "angle", start="+y", toward="+x"),
        )
        angles = [2 * math.pi * double(e.middle) for e in found]
        solved = scipy.optimize.fsolve(unbalanced, [0.9 * angles[0], 1.1 * angles[1]], xtol=1e-12)
        assert list(solved) == pytest.approx(angles, rel=1e-8)


def test_a_thousand_plane_resultants_against_numpy():
    """Double sums are within a few units of rounding of the sum of sizes."""
    rng = random.Random(11)
    owner = family("concurrent-forces/plane-resultant")
    views = [View("resultant", "component", along=a) for a in AXES[:2]]
    for _ in range(1000):
        given = owner.filled({"forces": rng.randint(1, 8)}, rng)
        size = numpy.array([double(f.force.magnitude) for f in given.forces])
        turns = numpy.array([double(f.force.direction.angle.turns) for f in given.forces])
        total = (size * numpy.exp(2j * numpy.pi * turns)).sum()
        found = prove(
            owner, given, views, digits=18, second_opinion=False, residuals=False
        ).outcomes.values()
        for outcome, value in zip(found, (total.real, total.imag), strict=True):
            assert abs(double(outcome.enclosure.middle) - value) <= 4e-15 * size.sum()


def test_hundreds_of_space_tensions_against_numpy():
    """Double elimination errs by at most about its condition number times rounding."""
    rng = random.Random(12)
    owner = family("particle-equilibrium/space-tensions")
    views = [View("forces", key=f"support {n}") for n in (1, 2, 3)]
    for _ in range(300):
        given = owner.filled({"forces": 8, "supports": 3}, rng)

        def unit(d):
            a, e = (2 * math.pi * double(x.turns) for x in (d.azimuth, d.elevation))
            return [math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)]

        matrix = numpy.array([unit(s.direction) for s in given.supports]).T
        loads = [
            double(f.force.magnitude) * numpy.array(unit(f.force.direction)) for f in given.forces
        ]
        tensions = numpy.linalg.solve(matrix, -sum(loads))
        found = prove(
            owner, given, views, digits=18, second_opinion=False, residuals=False
        ).outcomes.values()
        slack = 1e-14 * numpy.linalg.cond(matrix) * numpy.abs(tensions).sum()
        for outcome, value in zip(found, tensions, strict=True):
            assert abs(double(outcome.enclosure.middle) - value) <= slack


def test_right_triangles_with_whole_sides():
    """m^2 - n^2, 2 m n and m^2 + n^2 (Euclid, Elements X, first lemma to proposition 28)."""
    name = "concurrent-forces/plane-resultant"
    for m in range(2, 12):
        for n in range(1, m):
            sides = ((m * m - n * n, 0), (0, 2 * m * n))
            rows = tuple(PlaneForce(Components(tuple(map(fmpq, side)))) for side in sides)
            (size,) = proven(name, PlaneForces(rows), View("resultant", "magnitude"))
            assert size.lower <= m * m + n * n <= size.upper
