"""Sections, extremes and reactions of beams, and loads along a line, against NumPy and SciPy.

Reactions come from three equations solved by NumPy, internal forces from all that acts left
of a section, line loads by Gauss's quadrature (exact for them up to rounding), extremes from
a fine sampling. Nothing of the polynomials or the free bodies of the solver is used.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.integrate import quad

from refsolver.quantities.leaves import ByRun
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

SAMPLES = 40
NODES, WEIGHTS = np.polynomial.legendre.leggauss(6)


def number(x):
    return float(int(x.p) / int(x.q))


def values(name, case, *views):
    found = prove(family(name), case, list(views), digits=16, second_opinion=False).outcomes
    return [number(found[view].enclosure.middle) for view in views]


def drawn(name):
    for seed in range(SAMPLES):
        yield family(name).propose((1, 30), random.Random(f"outside {name} {seed}"))


def intensity(line):
    """The load per length along the stated direction, by Lagrange's formula."""
    told = [number(w) for w in line.intensities]
    start, end = number(line.start), number(line.end)
    at = np.linspace(start, end, len(told))

    def q(x):
        total = np.zeros_like(np.asarray(x, dtype=float))
        for i, w in enumerate(told):
            others = [at[j] for j in range(len(at)) if j != i]
            total = total + w * np.prod([(x - o) / (at[i] - o) for o in others], axis=0)
        return total

    return q, start, end


def unit(direction):
    assert isinstance(direction, ByRun)
    run = np.array([number(x) for x in direction.run])
    return run / np.hypot(*run)


class Loads:
    """All that loads a beam, and what of it acts left of a place."""

    def __init__(self, case):
        self.forces = [(number(f.at), [number(x) for x in f.force.along]) for f in case.forces]
        self.couples = [(number(c.at), number(c.moment)) for c in case.couples]
        self.lines = [(*intensity(w), unit(w.direction)) for w in case.line_loads]

    def left_of(self, x, touching):
        """Sum of the forces, and their moment about the place; ``touching`` counts loads there."""
        force, turning = np.zeros(2), 0.0
        for at, f in self.forces:
            if at < x or (touching and at == x):
                force, turning = force + f, turning + (at - x) * f[1]
        for at, m in self.couples:
            if at < x or (touching and at == x):
                turning += m
        for q, start, end, along in self.lines:
            stop = min(end, x)
            if stop > start:
                t = (stop - start) / 2 * NODES + (stop + start) / 2
                parts = (stop - start) / 2 * WEIGHTS * q(t)
                force = force + parts.sum() * along
                turning += (parts * (t - x)).sum() * along[1]
        return force, turning


def pin_and_roller(case):
    """The loads with the reactions of a pin and an upright roller among them."""
    loads = Loads(case)
    pin, roller = (next(s for s in case.supports if s.kind == k) for k in ("pin", "roller"))
    force, turning = loads.left_of(number(case.length) + 1, touching=True)
    about_zero = turning + (number(case.length) + 1) * force[1]
    a, b = number(pin.at), number(roller.at)
    matrix = [[1, 0, 0], [0, 1, 1], [0, a, b]]
    x, y, up = np.linalg.solve(matrix, [-force[0], -force[1], -about_zero])
    loads.forces += [(a, [x, y]), (b, [0.0, up])]
    return loads, {pin.name: (x, y), roller.name: (0.0, up)}


def on_pin_and_roller(name):
    for case in drawn(name):
        upright = all(s.direction is None for s in case.supports)
        kinds = sorted(s.kind for s in case.supports)
        if upright and not case.hinges and kinds == ["pin", "roller"]:
            yield case


def test_reactions_against_three_equations():
    met = 0
    for case in on_pin_and_roller("beams/reactions"):
        _, wanted = pin_and_roller(case)
        for key, (x, y) in wanted.items():
            views = [View("reactions", "component", key=key, along=a) for a in ("+x", "+y")]
            size = 1 + abs(x) + abs(y)
            assert values("beams/reactions", case, *views) == pytest.approx([x, y], abs=1e-9 * size)
            met += 1
    assert met >= SAMPLES


def test_sections_against_all_that_acts_left_of_them():
    met = 0
    for case in on_pin_and_roller("beams/section-forces"):
        loads, _ = pin_and_roller(case)
        force, turning = loads.left_of(number(case.section), case.side == "right")
        told = values("beams/section-forces", case, *map(View, ("axial", "shear", "moment")))
        size = 1 + sum(map(abs, told))
        assert told == pytest.approx([-force[0], force[1], -turning], abs=1e-8 * size)
        met += 1
    assert met >= SAMPLES // 2


def test_extremes_against_a_fine_sampling():
    met = 0
    for case in on_pin_and_roller("beams/extremes"):
        loads, _ = pin_and_roller(case)
        jumps = [at for at, _ in (*loads.forces, *loads.couples)]
        places = sorted({*np.linspace(0, number(case.length), 1501), *jumps})
        states = [loads.left_of(x, side) for x in places for side in (False, True)]
        moment = max(abs(turning) for _, turning in states)
        shear = max(abs(force[1]) for force, _ in states)
        told = values("beams/extremes", case, View("greatest moment"), View("greatest shear"))
        assert told[0] == pytest.approx(moment, rel=1e-5, abs=1e-6)
        assert told[1] == pytest.approx(shear, rel=1e-5, abs=1e-6)
        met += 1
    assert met >= SAMPLES // 2


def test_loads_along_a_line_against_quadrature():
    for case in drawn("beams/line-resultant"):
        total, turning = np.zeros(2), 0.0
        for line in case.line_loads:
            q, start, end = intensity(line)
            along = unit(line.direction)
            total = total + quad(q, start, end)[0] * along
            turning += quad(lambda x, q=q: q(x) * x, start, end)[0] * along[1]
        views = [View("resultant", "component", along=a) for a in ("+x", "+y")]
        told = values("beams/line-resultant", case, *views, View("moment"))
        size = 1 + math.hypot(*total) + abs(turning)
        assert told == pytest.approx([*total, turning], abs=1e-9 * size)
        if abs(total[1]) > 1e-6 * size:
            (place,) = values("beams/line-resultant", case, View("position"))
            assert place == pytest.approx(turning / total[1], rel=1e-7)
