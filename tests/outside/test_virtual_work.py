"""Virtual work against SymPy, SciPy and NumPy, which know the potential energy only.

SymPy differentiates the energy symbolically (the solver's derivatives are written by hand);
SciPy looks for equilibria by sampling and Brent's method; the crank and rod come from
geometry in complex numbers; rocking from the exact energy of rolling.
"""

import cmath
import math
import random

import numpy
import scipy.optimize
import sympy
from flint import fmpq

from refsolver.arithmetic.detached import nearest_double
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.views import View
from refsolver.statics.chapters.virtual_work.balanced import MechanismBetween, PlacedMechanism
from refsolver.statics.chapters.virtual_work.drawn import mechanism_with_rows
from refsolver.statics.chapters.virtual_work.held import HeldMechanism
from refsolver.statics.prover import prove
from refsolver.statics.reference import Word
from refsolver.statics.registry import family

ROWS = {"points": 3, "forces": 4, "couples": 1, "springs": 2, "cords": 1, "torsion_springs": 1}


def values(name, given, *views):
    outcomes = prove(
        family(f"virtual-work/{name}"), given, views, digits=20, second_opinion=False
    ).outcomes.values()
    return [nearest_double(o.enclosure.middle) if hasattr(o, "enclosure") else o for o in outcomes]


def number(x):
    return float(int(x.p) / int(x.q))


def rational(x):
    return sympy.Rational(int(x.p), int(x.q))


def turned(angle):
    return math.tau * number(angle.turns)


def energy(given, t, bring=number, cos=math.cos, sin=math.sin, sqrt=math.sqrt, turn=math.tau):
    """Loads by their heights, springs and cords by lengths, couples by rotation."""
    places = {
        p.name: [
            bring(a) + bring(b) * cos(t) + bring(c) * sin(t)
            for a, b, c in zip(p.place, p.cosine, p.sine, strict=True)
        ]
        for p in given.points
    }

    def distance(link):
        a, b = places[link.start], places[link.end]
        return sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)

    total = 0
    for load in given.forces:
        size = bring(load.force.magnitude)
        direction = turn * bring(load.force.direction.angle.turns)
        at = places[load.at]
        total -= size * (cos(direction) * at[0] + sin(direction) * at[1])
    total -= sum(bring(c.moment) * bring(c.turns) * t for c in given.couples)
    total += sum(bring(s.stiffness) * (distance(s) - bring(s.unstretched)) ** 2 / 2
                 for s in given.springs)  # fmt: skip
    total += sum(bring(c.tension) * distance(c) for c in given.cords)
    for s in given.torsion_springs:
        total += bring(s.stiffness) * (bring(s.turns) * t - turn * bring(s.relaxed.turns)) ** 2 / 2
    return total


def test_derivatives_of_the_energy_against_sympy():
    t = sympy.Symbol("t", real=True)
    for seed in range(2):
        tables = mechanism_with_rows(ROWS, random.Random(f"outside {seed}"))
        angle = Turn(fmpq(random.Random(seed).randint(-800, 800), 3600))
        given = PlacedMechanism(**tables, angle=angle)
        v = energy(given, t, rational, sympy.cos, sympy.sin, sympy.sqrt, 2 * sympy.pi)
        at = 2 * sympy.pi * rational(angle.turns)
        first, second = values("stability", given, View("first"), View("second"))
        for found, order in ((first, 1), (second, 2)):
            wanted = float(sympy.diff(v, t, order).evalf(30, subs={t: at}))
            assert abs(found - wanted) <= 1e-12 * (1 + abs(wanted))


def test_holding_forces_against_differences_of_the_energy():
    """P u . dr = dV by central differences of both, over a small rotation."""
    step = 1e-5
    for seed in range(40):
        tables = mechanism_with_rows(ROWS, random.Random(f"held {seed}"))
        given = HeldMechanism(
            **tables,
            angle=Turn(fmpq(random.Random(seed).randint(-800, 800), 3600)),
            holding_at="P2",
            holding_along=tables["forces"][0].force.direction,
        )
        (push,) = values("holding-force", given, View("force"))
        t = turned(given.angle)
        along = turned(given.holding_along.angle)
        point = given.points[1]

        def along_force(t, point=point, along=along):
            at = [number(b) * math.cos(t) + number(c) * math.sin(t)
                  for b, c in zip(point.cosine, point.sine, strict=True)]  # fmt: skip
            return at[0] * math.cos(along) + at[1] * math.sin(along)

        slopes = [(f(t + step) - f(t - step)) / (2 * step)
                  for f in (lambda t, given=given: energy(given, t), along_force)]  # fmt: skip
        assert abs(push * slopes[1] - slopes[0]) <= 1e-5 * (1 + abs(slopes[0]) + abs(push))


def test_positions_against_sampling_and_brent():
    """Every extreme of the energy that 900 samples show, and no other."""
    found = 0
    for seed in range(8):
        rows = {k: n for k, n in ROWS.items() if seed % 2 or k != "torsion_springs"}
        tables = mechanism_with_rows(rows, random.Random(f"positions {seed}"))
        given = MechanismBetween(
            **tables, start=Turn(fmpq(-1713, 3600)), end=Turn(fmpq(1887, 3600))
        )
        (count,) = values("equilibrium-positions", given, View("count"))
        views = [
            View("positions", pick=n, part=part)
            for n in range(1, round(count) + 1)
            for part in ("angle", "stability")
        ]
        told = values("equilibrium-positions", given, *views) if views else []

        def slope(t, given=given, h=1e-6):
            return (energy(given, t + h) - energy(given, t - h)) / (2 * h)

        ts = numpy.linspace(turned(given.start), turned(given.end), 901)
        ys = numpy.array([slope(t) for t in ts])
        cells = numpy.nonzero(numpy.sign(ys[:-1]) * numpy.sign(ys[1:]) < 0)[0]
        roots = [scipy.optimize.brentq(slope, ts[i], ts[i + 1], xtol=1e-12) for i in cells]
        assert len(roots) == round(count)
        for root, cell, angle, word in zip(roots, cells, told[::2], told[1::2], strict=True):
            assert abs(math.tau * angle - root) < 1e-5
            assert word == Word("stable" if ys[cell] < 0 else "unstable")
            found += 1
    assert found > 12


def test_sliders_against_complex_numbers():
    """The slider as the far end of a rod of fixed length, its pull by the pin's equilibrium."""
    for seed in range(80):
        given = family("virtual-work/slider-crank").propose((1.0, 50.0), random.Random(seed))
        place, push = values("slider-crank", given, View("slider"), View("force"))
        pin = number(given.crank) * cmath.exp(1j * turned(given.angle))
        lean = math.asin(-(pin.imag - number(given.offset)) / number(given.rod))
        rod = cmath.rect(number(given.rod), lean)
        assert abs((pin + rod).real - place) < 1e-12 * (1 + abs(place))
        force = complex(*(number(x) for x in given.pin_force.along))
        # Moments about the axis: of the pin force, the couple, and the rod's pull T rod/|rod|.
        moment = (pin.conjugate() * force).imag + number(given.couple)
        tension = -moment / (pin.conjugate() * rod / abs(rod)).imag
        assert abs(push - tension * math.cos(lean)) < 1e-9 * (1 + abs(push))


def test_rocking_against_the_exact_energy_of_rolling():
    """The height of the centre of gravity after rolling without slip, expanded by SymPy."""
    a = sympy.Symbol("a", real=True)
    for seed in range(40):
        given = family("virtual-work/rocking").propose((1.0, 20.0), random.Random(seed))
        h, w = rational(given.height), rational(given.weight)
        r, big = (None if x is None else rational(x)
                  for x in (given.body_radius, given.support_radius))  # fmt: skip
        if r is None:  # a flat bottom on a cylinder, turned by a: contact moved by R a
            body, height = a, big * sympy.cos(a) + h * sympy.cos(a) + big * a * sympy.sin(a)
        elif big is None:
            body, height = a, r - (r - h) * sympy.cos(a)
        else:  # the contact is at the angle a on the support, at R a / r on the body
            sense = -1 if given.support == "hollow" else 1
            body = a * (big / r + sense)
            height = sense * (big + sense * r) * sympy.cos(a) - (r - h) * sympy.cos(body)
        second = sympy.diff(w * height, a, 2).subs(a, 0) / sympy.diff(body, a) ** 2
        (stiffness, word) = values("rocking", given, View("stiffness"), View("stability"))
        wanted = float(second)
        assert abs(stiffness - wanted) <= 1e-9 * (1 + abs(wanted))
        assert word == Word("stable" if second > 0 else "unstable")


def test_known_bodies_on_a_table():
    """Hemisphere, cone on hemisphere, cylinder on hemisphere: stable while the centre of
    gravity lies below the centre of the sphere.

    Source: S. Timoshenko and D. H. Young, "Engineering Mechanics", chapter on stability of
    equilibrium (height of the cone sqrt 3 r, of the cylinder r / sqrt 2), from memory; the
    centres of gravity are taken by SymPy's integrals here.
    """
    z = sympy.Symbol("z")

    def height(area_above, top):
        below = sympy.pi * (1 - (1 - z) ** 2)
        pieces = [(below, 0, 1), (area_above, 1, 1 + top)]
        volume = sum(sympy.integrate(area, (z, lo, hi)) for area, lo, hi in pieces)
        return sum(sympy.integrate(area * z, (z, lo, hi)) for area, lo, hi in pieces) / volume

    cone = height(sympy.pi * (1 - (z - 1) / sympy.sqrt(3)) ** 2, sympy.sqrt(3))
    rod = height(sympy.pi, 1 / sympy.sqrt(2))
    assert sympy.simplify(cone - 1) == 0 and sympy.simplify(rod - 1) == 0


def test_work_against_numpy():
    for seed in range(60):
        given = family("virtual-work/work-of-forces").filled(
            {"forces": 3, "couples": 2}, random.Random(seed)
        )
        forces = numpy.array([[number(x) for x in f.force.along] for f in given.forces])
        moves = numpy.array([[number(x) for x in f.displacement.along] for f in given.forces])
        wanted = numpy.einsum("ij,ij->", forces, moves)
        wanted += sum(number(c.moment) * turned(c.turned) for c in given.couples)
        (total,) = values("work-of-forces", given, View("total"))
        assert abs(total - wanted) < 1e-10 * (1 + abs(wanted))
