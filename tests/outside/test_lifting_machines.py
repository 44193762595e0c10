"""Lifting machines against their motions, written as linear equations and solved by numpy.

The velocity ratio is not taken from a formula but from the geometry of a small motion: ropes
keep their length, drums and screws turn without slip, wheels in mesh pass as many teeth. The
law of a machine is compared with numpy.polyfit. The principle (the velocity ratio is a
matter of geometry alone) stands in every text of the subject, for instance NAVEDTRA 14037,
"Basic Machines" (from memory).
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from flint import fmpq
from scipy.integrate import trapezoid

from refsolver.arithmetic.detached import nearest_double
from refsolver.quantities.views import View
from refsolver.statics.chapters.lifting_machines.machines import Gear, Machine
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven, Word
from refsolver.statics.registry import family

PERFORMANCE = family("lifting-machines/performance")
LAW = family("lifting-machines/law")
CASES = 1000


def answers(owner, case, *asked):
    reference = prove(
        owner, case, [View(a) for a in asked], digits=18, second_opinion=False, residuals=False
    )
    return [
        nearest_double(found.enclosure.middle) if isinstance(found, Proven) else found
        for found in reference.outcomes.values()
    ]


def number(x):
    return int(x.p) / int(x.q)


def travel(equations, right):
    """Travel of the effort, the last unknown, while the load rises by one."""
    return np.linalg.solve(np.array(equations, dtype=float), np.array(right, dtype=float))[-1]


def first_order(count):
    """Pulley i hangs in a rope from the beam to pulley i + 1; the last rope is the effort's."""
    # Travels of the pulleys 1..n, then of the effort; the load hangs on pulley 1.
    rows = [[1.0] + [0.0] * count]
    for i in range(count):
        row = [0.0] * (count + 1)
        row[i], row[i + 1] = -2.0, 1.0
        rows.append(row)
    return travel(rows, [1.0] + [0.0] * count)


def second_order(count):
    """One rope round all pulleys: each of its parts at the load shortens by the rise."""
    rows = [[1.0, 0.0], [-float(count), 1.0]]
    return travel(rows, [1.0, 0.0])


def third_order(count):
    """Every rope is made fast to the load; pulley i + 1 hangs in the rope over pulley i.

    The rope over pulley i runs from the load up and down to pulley i + 1 (the last: to the
    effort): load and pulley i + 1 together move twice as far as pulley i.
    """
    # Downward travels of the pulleys 1..n (the first is fixed), then of the effort.
    rows = [[1.0] + [0.0] * count]
    right = [0.0]
    for i in range(count):
        row = [0.0] * (count + 1)
        row[i], row[i + 1] = -2.0, 1.0
        rows.append(row)
        right.append(1.0)
    return travel(rows, right)


def axle(arm, large, small):
    """Turn, rope wound on the larger less unwound from the smaller radius, and the rise."""
    # Unknowns: turn of the axle, effort. Rope shortens by twice the rise.
    return travel([[large - small, 0.0], [-arm, 1.0]], [2.0, 0.0])


def screw(arm, lead):
    """A whole turn advances the lead while the effort goes once round."""
    return travel([[lead, 0.0], [-math.tau * arm, 1.0]], [1.0, 0.0])


def arms(arm, radius):
    return travel([[radius, 0.0], [-arm, 1.0]], [1.0, 0.0])


def geared(base, gears):
    """Turns of the shafts, mesh after mesh, from the load's to the effort's."""
    rows = [[1.0] + [0.0] * len(gears)]
    for i, gear in enumerate(gears):
        row = [0.0] * (len(gears) + 1)
        row[i], row[i + 1] = -float(gear.driven), float(gear.driver)
        rows.append(row)
    return base * travel(rows, [1.0] + [0.0] * len(gears))


def length(rng, low, high):
    return fmpq(rng.randint(low, high), 10)


def drawn(rng):
    """A machine of any kind, and its velocity ratio by its motions."""
    kind = rng.choice(
        ("arms", "gears alone", "differential axle", "differential block", "screw",
         "differential screw", "pulleys, first order", "pulleys, second order",
         "pulleys, third order")
    )  # fmt: skip
    gears = tuple(Gear(rng.randint(20, 90), rng.randint(1, 40)) for _ in range(rng.randint(0, 3)))
    small = length(rng, 20, 90)
    large, arm = small + length(rng, 5, 60), length(rng, 200, 900)
    stated, base = {}, 1.0
    if kind.startswith("pulleys"):
        count = rng.randint(1, 8)
        stated = {"pulleys": count}
        motions = {"first": first_order, "second": second_order, "third": third_order}
        base = motions[kind.split()[1]](count)
    elif kind == "arms":
        stated, base = {"effort_arm": arm, "load_arm": large}, arms(number(arm), number(large))
    elif kind == "screw":
        stated, base = {"effort_arm": arm, "load_arm": small}, screw(number(arm), number(small))
    elif kind == "differential screw":
        stated = {"effort_arm": arm, "load_arm": large, "smaller": small}
        base = screw(number(arm), number(large) - number(small))
    elif kind == "differential axle":
        stated = {"effort_arm": arm, "load_arm": large, "smaller": small}
        base = axle(number(arm), number(large), number(small))
    elif kind == "differential block":
        stated = {"load_arm": large, "smaller": small}
        base = axle(number(large), number(large), number(small))
    load, share = fmpq(rng.randint(100, 9999)), fmpq(rng.randint(20, 95), 100)
    case = Machine(kind, gears=gears, load=load, efficiency=share, **stated)
    return case, geared(base, gears)


def test_a_thousand_machines_by_their_motions():
    rng = random.Random(31)
    kinds = set()
    for _ in range(CASES):
        case, ratio = drawn(rng)
        kinds.add(case.kind)
        load, share = number(case.load), number(case.efficiency)
        found = answers(
            PERFORMANCE, case, "velocity ratio", "effort", "effort lost", "load lost", "state"
        )
        effort = load / (share * ratio)
        expected = (ratio, effort, effort - load / ratio, effort * ratio - load)
        for value, other in zip(found, expected, strict=False):
            assert value == pytest.approx(other, rel=1e-10)
        held = "holds itself" if 2 * case.efficiency < 1 else "runs back"
        assert isinstance(found[-1], Word)
        assert found[-1].word in (held, "on the point of running back")
    assert len(kinds) == 9


def test_a_machine_with_stated_forces_keeps_its_work():
    """Work put in less work got is what friction takes, integrated over one rise."""
    for seed in range(CASES):
        case = PERFORMANCE.propose((1.0, 100.0), random.Random(seed))
        ratio, effort, share = answers(PERFORMANCE, case, "velocity ratio", "effort", "efficiency")
        rise = np.linspace(0.0, 1.0, 11)
        put_in = trapezoid(np.full(11, effort), ratio * rise)
        assert share == pytest.approx(number(case.load) / put_in, rel=1e-12)


def test_a_thousand_laws_by_polyfit():
    for seed in range(CASES):
        case = LAW.propose((1.0, 100.0), random.Random(seed))
        loads = [number(case.first), number(case.second)]
        efforts = [number(case.first_effort), number(case.second_effort)]
        slope, offset = np.polyfit(loads, efforts, 1)
        load = number(case.load)
        effort = np.polyval([slope, offset], load)
        found = answers(LAW, case, "slope", "offset", "effort", "efficiency")
        share = load / (effort * number(case.velocity_ratio))
        for value, other, size in zip(
            found, (slope, offset, effort, share), (abs(slope), *efforts, share), strict=True
        ):
            assert value == pytest.approx(other, rel=1e-8, abs=1e-8 * size)
