"""Beams against sympy (exact integration), scipy (double quadrature) and beam formulas.

The formulas stand in the AISC Steel Construction Manual, Table 3-23, and in every handbook;
here they are written from memory.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import sympy
from flint import fmpq
from scipy import integrate

from refsolver.quantities.leaves import Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.beams.beam import Beam, BeamForce, BeamLineLoad, BeamSupport
from refsolver.statics.chapters.beams.samples import overhanging_beam
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

REACTIONS = family("beams/reactions")
INTERNAL = family("beams/internal-forces")
EXTREMES = family("beams/extremes")
SPAN = (BeamSupport("pin", fmpq(0), name="A"), BeamSupport("roller", fmpq(6), name="B"))


def rational(x):
    return sympy.Rational(int(x.p), int(x.q))


def proven(owner, case, *asks):
    return [
        o.enclosure for o in prove(owner, case, list(asks), second_opinion=False).outcomes.values()
    ]


def holds(enclosure, exact):
    value = fmpq(int(exact.p), int(exact.q))
    return enclosure.lower <= value <= enclosure.upper


def intensity(line, x):
    values = [rational(w) for w in line.intensities]
    if len(values) == 1:
        return values[0] + 0 * x
    start, end = rational(line.start), rational(line.end)
    step = (end - start) / (len(values) - 1)
    return sympy.interpolate([(start + step * i, w) for i, w in enumerate(values)], x)


def test_twelve_beams_against_sympy():
    """V and M as integrals over everything left of the section, reactions by moments."""
    x, t = sympy.symbols("x t")
    for seed in range(12):
        case = overhanging_beam((1, 100), random.Random(seed))
        left, right = (rational(s.at) for s in case.supports)
        turning = force = sympy.Integer(0)
        for f in case.forces:
            force += rational(f.force.along[1])
            turning += rational(f.force.along[1]) * (rational(f.at) - left)
        for c in case.couples:
            turning += rational(c.moment)
        for w in case.line_loads:
            q, a, b = intensity(w, x), rational(w.start), rational(w.end)
            force -= sympy.integrate(q, (x, a, b))
            turning -= sympy.integrate(q * (x - left), (x, a, b))
        second = -turning / (right - left)
        first = -force - second
        a_y, b_y = proven(
            REACTIONS, case, *(View("reactions", "component", key=k, along="+y") for k in "AB")
        )
        assert holds(a_y, first)
        assert holds(b_y, second)
        cut = case.length * fmpq(61, 103)
        at = rational(cut)
        shear = moment = sympy.Integer(0)
        for place, size in ((left, first), (right, second)):
            if place < at:
                shear, moment = shear + size, moment + size * (at - place)
        for f in case.forces:
            if f.at < cut:
                size = rational(f.force.along[1])
                shear, moment = shear + size, moment + size * (at - rational(f.at))
        for c in case.couples:
            if c.at < cut:
                moment -= rational(c.moment)
        for w in case.line_loads:
            a, b = rational(w.start), min(rational(w.end), at)
            if a < at:
                q = intensity(w, t)
                shear -= sympy.integrate(q, (t, a, b))
                moment -= sympy.integrate(q * (at - t), (t, a, b))
        v, m = proven(INTERNAL, case, View("shear", at=cut), View("moment", at=cut))
        assert holds(v, shear)
        assert holds(m, moment)


def test_random_beams_against_scipy():
    """The moment at midspan by quadrature in double precision, a thousand simple spans."""
    rng = random.Random(5)
    for _ in range(1000):
        lines = tuple(
            BeamLineLoad(
                fmpq(rng.randint(0, 20), 10),
                fmpq(rng.randint(35, 60), 10),
                tuple(fmpq(rng.randint(-9, 20)) for _ in range(rng.randint(1, 3))),
            )
            for _ in range(2)
        )
        case = Beam(fmpq(6), SPAN, line_loads=lines)
        moment = 0.0
        for w in lines:
            a, b = float(rational(w.start)), float(rational(w.end))
            values = [float(rational(q)) for q in w.intensities]
            nodes = np.linspace(a, b, len(values)) if len(values) > 1 else np.array([a])
            poly = (
                np.polynomial.Polynomial.fit(nodes, values, len(values) - 1)
                if len(values) > 1
                else None
            )
            q = poly if poly is not None else (lambda x, w0=values[0]: w0)
            # Influence line of the moment at midspan: half the distance to the nearer support.
            found, _ = integrate.quad(lambda x, q=q: q(x) * min(x, 6 - x) / 2, a, b, points=[3.0])
            moment += found
        ask = View("moment", at=fmpq(3))
        m = (
            prove(INTERNAL, case, [ask], digits=18, second_opinion=False, residuals=False)
            .outcomes[ask]
            .enclosure
        )
        assert math.isclose(float(rational(m.middle)), moment, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize("share", [fmpq(1, 10), fmpq(1, 3), fmpq(1, 2), fmpq(7, 8)])
def test_load_at_any_place(share):
    """M = P a b / l under the load (AISC Table 3-23, case 8, from memory)."""
    a = 6 * share
    case = Beam(fmpq(6), SPAN, forces=(BeamForce(Components((fmpq(0), fmpq(-9))), a),))
    high, at = proven(EXTREMES, case, View("largest moment"), View("largest moment at"))
    assert high.lower <= 9 * a * (6 - a) / 6 <= high.upper
    assert at.lower <= a <= at.upper


def test_load_increasing_uniformly_to_one_end():
    """M = 2 W l / (9 sqrt 3) at l / sqrt 3 (AISC Table 3-23, case 2, from memory)."""
    case = Beam(fmpq(6), SPAN, line_loads=(BeamLineLoad(fmpq(0), fmpq(6), (fmpq(0), fmpq(4))),))
    high, at = proven(EXTREMES, case, View("largest moment"), View("largest moment at"))
    assert math.isclose(
        float(rational(high.middle)), 2 * 12 * 6 / (9 * math.sqrt(3)), rel_tol=1e-14
    )
    assert math.isclose(float(rational(at.middle)), 6 / math.sqrt(3), rel_tol=1e-14)


def test_uniform_load_partially_distributed_at_one_end():
    """R1 = w a (2 l - a) / (2 l), M = R1^2 / (2 w) (AISC Table 3-23, case 5, from memory)."""
    case = Beam(fmpq(6), SPAN, line_loads=(BeamLineLoad(fmpq(0), fmpq(2), (fmpq(5),)),))
    (r,) = proven(REACTIONS, case, View("reactions", "component", key="A", along="+y"))
    expected = fmpq(5 * 2 * (12 - 2), 12)
    assert r.lower <= expected <= r.upper
    (high,) = proven(EXTREMES, case, View("largest moment"))
    assert high.lower <= expected * expected / 10 <= high.upper
