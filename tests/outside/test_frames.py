"""Frames against numpy and sympy on equations written here, and against arch formulas."""

from __future__ import annotations

import random

import numpy as np
import pytest
import sympy
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.leaves import Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.frames.frame import (
    Connection,
    Frame,
    FrameBody,
    FrameForce,
    FrameSupport,
)
from refsolver.statics.naming import keys_of
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import unit_vector, vector

OWNER = family("frames/plane-frame")
DOUBLE = DoubleArithmetic()


def number(x):
    return float(int(x.p) / int(x.q))


def spot(at):
    return np.array([number(x) for x in at])


def moment(at, force):
    return at[0] * force[1] - at[1] * force[0]


class Written:
    """Equations of every body about its own first point, not about the origin."""

    def __init__(self, frame):
        self.rows = {body.name: 3 * n for n, body in enumerate(frame.bodies)}
        self.poles = {}
        for item in frame.connections:
            self.poles.setdefault(item.first, spot(item.at))
            self.poles.setdefault(item.second, spot(item.at))
        for item in frame.supports:
            self.poles.setdefault(item.body, spot(item.at))
        self.columns, self.right = [], np.zeros(3 * len(self.rows))

    def act(self, vector, body, at, force, couple=0.0):
        row = self.rows[body]
        turning = moment(at - self.poles[body], force) + couple
        vector[row : row + 3] += [force[0], force[1], turning]

    def unknown(self, *actions):
        column = np.zeros(len(self.right))
        for action in actions:
            self.act(column, *action)
        self.columns.append(column)

    def load(self, body, at, force, couple=0.0):
        self.act(self.right, body, at, -np.array(force), -couple)


AXES = (np.array([1.0, 0.0]), np.array([0.0, 1.0]))
NOTHING = np.zeros(2)


def written(frame):
    made = Written(frame)
    for item in frame.connections:
        at = spot(item.at)
        if item.kind == "link":
            far = spot(item.far)
            run = (far - at) / np.linalg.norm(far - at)
            made.unknown((item.first, at, run), (item.second, far, -run))
        else:
            for axis in AXES:
                made.unknown((item.first, at, axis), (item.second, at, -axis))
    for item in frame.supports:
        at = spot(item.at)
        lines = AXES if item.direction is None else [np.array(unit_vector(item.direction, DOUBLE))]
        for line in lines:
            made.unknown((item.body, at, line))
        if item.kind == "fixed":
            made.unknown((item.body, at, NOTHING, 1.0))
    for item in frame.forces:
        made.load(item.body, spot(item.at), vector(item.force, DOUBLE))
    for item in frame.couples:
        made.load(item.body, made.poles[item.body], NOTHING, number(item.moment))
    for line in frame.line_loads:
        start, end = spot(line.start), spot(line.end)
        along = np.array(unit_vector(line.direction, DOUBLE))
        for share, weight in zip(*np.polynomial.legendre.leggauss(4), strict=True):
            t = (share + 1) / 2
            size = number(line.at_start) * (1 - t) + number(line.at_end) * t
            force = size * weight / 2 * np.linalg.norm(end - start) * along
            made.load(line.body, start + t * (end - start), force)
    tension = {item.cable: number(item.tension) for item in frame.tensions}
    for part in frame.cable_parts:
        pull = tension[part.cable] * np.array(unit_vector(part.direction, DOUBLE))
        made.load(part.body, spot(part.at), pull)
    return np.array(made.columns).T, made.right


def proven_unknowns(frame):
    """In the order in which the equations here have them."""
    asks = []
    for item, key in zip(frame.connections, keys_of(frame.connections, "connection"), strict=True):
        if item.kind == "link":
            asks.append(View("connection_forces", key=key))
        else:
            asks += [View("connections", "component", key=key, along=a) for a in ("+x", "+y")]
    for item, key in zip(frame.supports, keys_of(frame.supports, "support"), strict=True):
        if item.direction is not None:
            asks.append(View("support_forces", key=key))
        else:
            asks += [View("reactions", "component", key=key, along=a) for a in ("+x", "+y")]
        if item.kind == "fixed":
            asks.append(View("couples", key=key))
    outcomes = prove(OWNER, frame, asks, second_opinion=False, residuals=False).outcomes
    return [float(outcomes[ask].ball) for ask in asks]


def compared(frame, note):
    matrix, right = written(frame)
    found = np.linalg.solve(matrix, right)
    slack = np.linalg.cond(matrix) * 1e-15 * np.abs(found).max()
    for proven, dense in zip(proven_unknowns(frame), found, strict=True):
        assert proven == pytest.approx(dense, rel=1e-9, abs=slack), note


def test_sixty_generated_frames_against_numpy():
    for seed in range(60):
        compared(OWNER.propose((1, 1e4), random.Random(f"numpy {seed}")), seed)


def test_thirty_filled_frames_against_numpy():
    for seed in range(30):
        rng = random.Random(f"filled {seed}")
        bodies = rng.randint(1, 5)
        extra = rng.randint(0, 1) if bodies > 1 else 0
        rows = {
            "bodies": bodies, "connections": bodies - 1 + extra, "forces": 3, "couples": 1,
            "line_loads": 1, "supports": rng.randint(max(1, bodies // 2), bodies + 2 - extra),
            "cable_parts": 2, "tensions": 2,
        }  # fmt: skip
        frame = OWNER.filled(rows, rng)
        if frame is not None:
            compared(frame, (seed, rows))


def test_ten_arches_against_sympy_in_fractions():
    """Each side's moment about the crown and the whole about both feet, solved exactly."""
    rng = random.Random("sympy")
    for _ in range(10):
        span, rise = rng.randint(4, 12), rng.randint(1, 6)
        crown = (rng.randint(1, span - 1), rise)
        loads = [
            (
                body,
                (rng.randint(-3, 12), rng.randint(-3, 9)),
                (rng.randint(-9, 9), -rng.randint(1, 9)),
            )
            for body in ("left", "right")
        ]
        ax, ay, bx, by = sympy.symbols("ax ay bx by")
        ends = {"left": ((0, 0), (ax, ay)), "right": ((span, 0), (bx, by))}

        def about(pole, at, force):
            return (at[0] - pole[0]) * force[1] - (at[1] - pole[1]) * force[0]

        equations = [
            about(crown, *ends[body]) + about(crown, at, force) for body, at, force in loads
        ]
        for pole in ((0, 0), (span, 0)):
            everything = [*ends.values(), *(load[1:] for load in loads)]
            equations.append(sum(about(pole, at, force) for at, force in everything))
        exact = sympy.solve(equations, [ax, ay, bx, by], dict=True)[0]
        frame = Frame(
            (FrameBody("left"), FrameBody("right")),
            (Connection("pin", "left", "right", tuple(map(fmpq, crown)), name="crown"),),
            (
                FrameSupport("pin", "left", (fmpq(0), fmpq(0)), name="A"),
                FrameSupport("pin", "right", (fmpq(span), fmpq(0)), name="B"),
            ),
            tuple(
                FrameForce(Components(tuple(map(fmpq, force))), tuple(map(fmpq, at)), body)
                for body, at, force in loads
            ),
        )
        for key, axis, symbol in (
            ("A", "+x", ax),
            ("A", "+y", ay),
            ("B", "+x", bx),
            ("B", "+y", by),
        ):
            ask = View("reactions", "component", key=key, along=axis)
            enclosure = prove(OWNER, frame, [ask]).outcomes[ask].enclosure
            value = fmpq(int(exact[symbol].p), int(exact[symbol].q))
            assert enclosure.lower <= value <= enclosure.upper


def test_parabolic_arch_has_the_thrust_of_the_handbooks():
    """w l^2 / (8 h), any handbook on three-hinged arches (from memory)."""
    from refsolver.statics.chapters.frames.frame import FrameLineLoad

    span, rise, load = fmpq(30), fmpq(4), fmpq(7)
    level = [(fmpq(0), rise), (span / 2, rise), (span, rise)]
    frame = Frame(
        (FrameBody("left"), FrameBody("right")),
        (Connection("pin", "left", "right", level[1], name="crown"),),
        (
            FrameSupport("pin", "left", (fmpq(0), fmpq(0)), name="A"),
            FrameSupport("pin", "right", (span, fmpq(0)), name="B"),
        ),
        line_loads=(
            FrameLineLoad(level[0], level[1], load, load, "left", name="left half"),
            FrameLineLoad(level[1], level[2], load, load, "right", name="right half"),
        ),
    )
    ask = View("reactions", "component", key="A", along="+x")
    thrust = prove(OWNER, frame, [ask]).outcomes[ask].enclosure
    assert thrust.middle == load * span * span / (8 * rise)
