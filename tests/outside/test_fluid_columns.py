"""Columns, presses, floats and walls against SciPy and SymPy, from p = gamma z anew."""

from __future__ import annotations

import math
import random

import numpy
import pytest
import sympy
from flint import fmpq
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from refsolver.quantities.views import View
from refsolver.statics.chapters.hydrostatics.floating_shares import FloatingShareGivens
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

SAMPLES = 60


def number(x):
    return float(int(x.p) / int(x.q))


def rational(x):
    return sympy.Rational(int(x.p), int(x.q))


def values(name, case, *asks):
    views = [ask if isinstance(ask, View) else View(ask) for ask in asks]
    found = prove(
        family(f"hydrostatics/{name}"), case, views, digits=18, second_opinion=False
    ).outcomes
    return [number(found[view].enclosure.middle) for view in views]


def drawn(name):
    owner = family(f"hydrostatics/{name}")
    for seed in range(SAMPLES):
        yield owner.propose((1, 30), random.Random(f"outside {name} {seed}"))


def near(wanted):
    return pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_a_walk_along_columns_is_the_integral_of_its_weight():
    """dp/ds along the walk, integrated by Runge and Kutta's method."""
    for case in drawn("pressure-along-columns"):
        pressure, heaviest = number(case.start), 0.0
        for column in case.columns:
            slope = number(column.specific_weight) * number(column.drop)
            told = solve_ivp(lambda s, p, slope=slope: [slope], (0, 1), [pressure], rtol=1e-12)
            pressure = float(told.y[0, -1])
            heaviest = max(heaviest, abs(pressure))
        end, rise = values("pressure-along-columns", case, "end", "rise")
        assert end == pytest.approx(pressure, abs=1e-9 * (1 + heaviest))
        assert rise == pytest.approx(pressure - number(case.start), abs=1e-9 * (1 + heaviest))


def test_the_height_of_a_column_is_where_the_weights_balance():
    for case in drawn("column-height"):
        foot = number(case.pressure) + numpy.dot(
            [number(c.specific_weight) for c in case.columns],
            [number(c.height) for c in case.columns],
        )
        gamma = number(case.fluid.specific_weight)
        height, pressure = values("column-height", case, "height", "pressure")
        assert pressure == near(foot)
        reach = 1 + abs(foot) / gamma
        root = brentq(lambda h, g=gamma, p=foot: g * h - p, -reach, reach, xtol=1e-13)
        assert height == pytest.approx(root, rel=1e-9, abs=1e-11)


def test_force_pressure_and_area_against_quadrature_over_the_circle():
    for case in drawn("pressure-on-area"):
        force, pressure, area, diameter = values(
            "pressure-on-area", case, "force", "pressure", "area", "diameter"
        )
        ring, _ = quad(lambda r, p=pressure: p * math.tau * r, 0, diameter / 2)
        assert ring == near(force)
        assert pressure * area == near(force)
        stated = {"force": force, "pressure": pressure, "area": area, "diameter": diameter}
        for name, told in stated.items():
            given = getattr(case, name)
            assert given is None or told == near(number(given))


def test_a_press_keeps_the_work_and_the_volume():
    """Work of both pistons and of the fluid lifted, and as much fluid in as out, by SymPy."""
    out, lifted = sympy.symbols("out lifted")
    for case in drawn("press"):
        first, second = (
            sympy.pi * rational(p.diameter) ** 2 / 4 if p.area is None else rational(p.area)
            for p in (case.driving, case.driven)
        )
        rise = rational(case.rise or fmpq(0))
        gamma = rational(case.specific_weight) if case.specific_weight is not None else 0
        step = sympy.Integer(1)
        told = sympy.solve(
            [
                first * step - second * out,
                rational(case.force) * step - lifted * out - gamma * first * step * rise,
            ],
            [out, lifted],
            dict=True,
        )[0]
        force, ratio = values("press", case, "force", "ratio")
        wanted = float(told[lifted])
        assert force == near(wanted)
        assert ratio == near(wanted / number(case.force))
        if case.travel is not None:
            (travel,) = values("press", case, "travel")
            assert travel == near(float(told[out]) * number(case.travel))


def surplus(height, density, below, section, weight):
    """Buoyancy less weight with the stem wetted to a height above the mark 1."""
    return density * (below + section * height) - weight


def test_marks_of_a_hydrometer_by_finding_where_it_floats():
    for case in drawn("hydrometer"):
        weight, reference = number(case.weight), number(case.reference)
        section = math.pi * number(case.stem) ** 2 / 4
        below = weight / reference
        (displaced,) = values("hydrometer", case, "displaced")
        assert displaced == near(below)
        for place, mark in enumerate(case.marks, 1):
            density, reach = number(mark.relative_density) * reference, 100 * below / section
            at_rest = (density, below, section, weight)
            root = brentq(surplus, -reach, reach, args=at_rest, xtol=1e-14 * reach, rtol=1e-15)
            (told,) = values("hydrometer", case, View("marks", key=mark.name or f"mark {place}"))
            assert told == pytest.approx(root, rel=1e-8, abs=1e-10 * below / section)


def test_a_floating_body_weighs_what_it_displaces():
    body, fluid, share = sympy.symbols("body fluid share")
    for case in drawn("floating-share"):
        known = {
            s: rational(x)
            for s, x in ((body, case.body), (fluid, case.fluid), (share, case.submerged))
            if x is not None
        }
        (asked,) = {body, fluid, share} - set(known)
        (wanted,) = sympy.solve(sympy.Eq(body, fluid * share).subs(known), asked)
        name = {body: "body", fluid: "fluid", share: "submerged"}[asked]
        told, above, under = values("floating-share", case, name, "above", "submerged")
        assert told == near(float(wanted))
        assert above + under == near(1)


def test_about_a_tenth_of_an_iceberg_stands_out():
    """Ice 917 kg/m3, sea water 1025 kg/m3: usual handbook values, from memory."""
    (above,) = values(
        "floating-share", FloatingShareGivens(body=fmpq(917), fluid=fmpq(1025)), "above"
    )
    assert above == pytest.approx(0.105, abs=5e-4)


def test_a_wall_tips_where_the_fluid_turns_it_over_its_edge():
    """Pressures integrated about the foot against the weight, width or depth by root finding."""
    for case in drawn("tipping-wall"):
        fluid, wall = number(case.fluid.specific_weight), number(case.wall.specific_weight)
        height = number(case.height)

        def turning(depth, fluid=fluid):
            return quad(lambda z: fluid * (depth - z) * z, 0, depth)[0]

        def standing(width, wall=wall, height=height):
            return wall * width**2 * height / 2

        if case.width is None:
            depth = number(case.depth)
            root = brentq(lambda b, d=depth, s=standing, t=turning: s(b) - t(d), 1e-9, 1e3)
            assert values("tipping-wall", case, "width") == [pytest.approx(root, rel=1e-9)]
        else:
            width = number(case.width)
            root = brentq(lambda d, b=width, s=standing, t=turning: t(d) - s(b), 1e-9, 1e3)
            asked = prove(
                family("hydrostatics/tipping-wall"), case, [View("depth")], digits=18
            ).outcomes[View("depth")]
            if root <= height:
                assert number(asked.enclosure.middle) == pytest.approx(root, rel=1e-9)
            else:
                assert not hasattr(asked, "enclosure")
