"""Friction against general libraries, each family by a formulation of its own.

- scipy.optimize.linprog: the largest and the smallest force for which equilibrium with
  |F| <= mu N at every contact is possible at all; nothing is assumed to slip;
- scipy.integrate: rings and arcs of pivots, shoes and bands, and the differential equation
  of a band, dT = mu T d(beta);
- scipy.optimize.brentq: the place where a journal touches, the pull over a sheave.

The random cases are those of each family's own generator, of condition number up to 100.
"""

from __future__ import annotations

import math
import random

import attrs
import numpy as np
import pytest
from flint import fmpq
from scipy import integrate, optimize, sparse
from scipy.spatial import ConvexHull

from refsolver.arithmetic.detached import nearest_double
from refsolver.arithmetic.exact import Slope, Turn
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

CASES = 1000
KAPPA = (1.0, 100.0)
BOUND = 1e7
"""Far beyond every force of the cases, for a sum of limits of which some have no bound."""


def generated(name, count=CASES):
    owner = family(f"friction/{name}")
    for seed in range(count):
        yield owner.propose(KAPPA, random.Random(f"{name} {seed}"))


def answers(name, case, *asked):
    """Proven answers as doubles, angles in turns; None for a refusal."""
    owner = family(f"friction/{name}")
    reference = prove(
        owner, case, [View(a) for a in asked], digits=18, second_opinion=False, residuals=False
    )
    return [
        nearest_double(found.enclosure.middle) if isinstance(found, Proven) else None
        for found in reference.outcomes.values()
    ]


def number(x):
    return int(x.p) / int(x.q)


def radians(angle):
    if isinstance(angle, Slope):
        return math.atan2(number(angle.rise), number(angle.run))
    assert isinstance(angle, Turn)
    return math.tau * number(angle.turns)


@attrs.frozen
class Limit:
    """The largest value of an objective under equations of equilibrium.

    Each of ``cones`` is (index of F, index of N, mu): |F| <= mu N. Variables are not
    negative but for frictions and ``free``.
    """

    objective: list[float]
    equations: list[list[float]]
    right: list[float]
    cones: list[tuple[int, int, float]]
    free: tuple[int, ...] = ()

    def slips(self):
        rows = []
        for f, n, mu in self.cones:
            for sign in (1.0, -1.0):
                row = [0.0] * len(self.objective)
                row[f], row[n] = sign, -mu
                rows.append(row)
        return rows

    def bounds(self):
        loose = {f for f, _, _ in self.cones} | set(self.free)
        return [(-BOUND if i in loose else 0, BOUND) for i in range(len(self.objective))]


def largest(limits):
    """The value of each; None where it has no bound. All are solved as one sparse problem."""
    found = optimize.linprog(
        [-c for x in limits for c in x.objective],
        A_ub=sparse.block_diag([x.slips() for x in limits], format="csr"),
        b_ub=[0.0] * sum(2 * len(x.cones) for x in limits),
        A_eq=sparse.block_diag([x.equations for x in limits], format="csr"),
        b_eq=[r for x in limits for r in x.right],
        bounds=[bound for x in limits for bound in x.bounds()],
        method="highs",
    )
    assert found.status == 0, found.message
    values, start = [], 0
    for x in limits:
        end = start + len(x.objective)
        value = float(np.dot(x.objective, found.x[start:end]))
        values.append(None if np.abs(found.x[start:end]).max() > BOUND / 2 else value)
        start = end
    return values


class Comparison:
    """Proven answers beside limits of equilibrium, collected and compared at the end."""

    def __init__(self):
        self.proven, self.limits, self.sizes = [], [], []

    def add(self, value, limit, size):
        """``value`` is the largest of the limit's objective; None: it must have no bound."""
        self.proven.append(value)
        self.limits.append(limit)
        self.sizes.append(size)

    def hold(self, least=CASES):
        assert len(self.proven) >= least
        for value, found, size in zip(self.proven, largest(self.limits), self.sizes, strict=True):
            assert (value is None) == (found is None)
            if value is not None:
                near(value, found, size)


def turned(value, sign):
    return None if value is None else sign * value


def near(a, b, size, share=1e-8):
    assert a == pytest.approx(b, rel=share, abs=share * size)


# --- blocks ---------------------------------------------------------------------------------


def test_a_block_is_moved_by_the_largest_force_that_equilibrium_allows():
    beside = Comparison()
    for case in generated("block"):
        a, b = radians(case.incline), radians(case.force_angle)
        weight, mu = number(case.weight), number(case.static)
        up, hold = answers("block", case, "force to move up", "force to hold")
        # N, F (up the plane), P: across and along the plane.
        across = [[1.0, 0.0, math.sin(b)], [0.0, 1.0, math.cos(b)]]
        right = [weight * math.cos(a), weight * math.sin(a)]
        for value, sign in ((up, 1), (hold, -1)):
            limit = Limit([0, 0, sign], across, right, [(1, 0, mu)], free=(2,))
            beside.add(turned(value, sign), limit, weight)
    beside.hold()


def test_slip_or_tip_against_two_edges_in_contact():
    """Normal forces at both edges of the base and one friction: the largest force is the least
    of those that slip and tip the block."""
    beside = Comparison()
    for case in generated("slip-or-tip"):
        a, b = radians(case.incline), radians(case.force_angle)
        weight, mu, half = number(case.weight), number(case.friction), number(case.breadth) / 2
        px, py = number(case.force_along), number(case.force_height)
        gx, gy = number(case.centre_along), number(case.centre_height)
        (move,) = answers("slip-or-tip", case, "force to move")
        if move is None:
            continue
        c, s = math.cos(b), math.sin(b)
        # N front, N rear, N together, F, P.
        rows = [
            [1, 1, -1, 0, 0],
            [0, 0, 1, 0, s],
            [0, 0, 0, 1, c],
            [-half, half, 0, 0, py * c - px * s],
        ]
        right = [
            0,
            weight * math.cos(a),
            weight * math.sin(a),
            weight * (gy * math.sin(a) - gx * math.cos(a)),
        ]
        beside.add(move, Limit([0, 0, 0, 0, 1], rows, right, [(3, 2, mu)]), weight)
    beside.hold(CASES / 2)


def test_two_blocks_joined_by_a_bar_are_moved_by_the_largest_pull():
    beside = Comparison()
    for case in generated("blocks-in-a-row"):
        a = radians(case.incline)
        weights = number(case.lower), number(case.upper)
        mus = number(case.lower_friction), number(case.upper_friction)
        pull, link = answers("blocks-in-a-row", case, "force to move up", "link, moving up")
        # P, T, and F with N of each block.
        rows = [
            [0, 1, 1, 0, 0, 0],
            [1, -1, 0, 0, 1, 0],
            [0, 0, 0, 1, 0, 0],
            [0, 0, 0, 0, 0, 1],
        ]
        right = [w * math.sin(a) for w in weights] + [w * math.cos(a) for w in weights]
        cones = [(2, 3, mus[0]), (4, 5, mus[1])]
        for value, objective in ((pull, [1, 0, 0, 0, 0, 0]), (link, [0, 1, 0, 0, 0, 0])):
            beside.add(value, Limit(objective, rows, right, cones, free=(1,)), sum(weights))
    beside.hold()


def test_weights_over_a_pulley_are_the_limits_of_equilibrium():
    beside = Comparison()
    for case in generated("blocks-over-a-pulley"):
        a, b = radians(case.first_incline), radians(case.second_incline)
        weight = number(case.first)
        mus = number(case.first_friction), number(case.second_friction)
        asked = ("least second weight", "greatest second weight")
        # W2, T, F1, N1, F2, N2; frictions up each plane.
        rows = [
            [0, 1, 1, 0, 0, 0],
            [0, 0, 0, 1, 0, 0],
            [-math.sin(b), 1, 0, 0, 1, 0],
            [-math.cos(b), 0, 0, 0, 0, 1],
        ]
        right = [weight * math.sin(a), weight * math.cos(a), 0, 0]
        cones = [(2, 3, mus[0]), (4, 5, mus[1])]
        for value, sign in zip(answers("blocks-over-a-pulley", case, *asked), (-1, 1), strict=True):
            limit = Limit([sign, 0, 0, 0, 0, 0], rows, right, cones)
            beside.add(turned(value, sign), limit, weight)
    beside.hold()


def test_a_stack_moves_at_the_largest_pull():
    beside = Comparison()
    for case in generated("stacked-blocks"):
        a, b = radians(case.incline), radians(case.pull_angle)
        upper, lower = number(case.upper), number(case.lower)
        (move,) = answers("stacked-blocks", case, "force to move")
        # P, F and N between, F and N below; frictions against the pull on the upper block.
        rows = [
            [math.cos(b), -1, 0, 0, 0],
            [math.sin(b), 0, 1, 0, 0],
            [0, 1, 0, -1, 0],
            [0, 0, -1, 0, 1],
        ]
        c, s = math.cos(a), math.sin(a)
        right = [-upper * s, upper * c, -lower * s, lower * c]
        cones = [(1, 2, number(case.between)), (3, 4, number(case.below))]
        beside.add(move, Limit([1, 0, 0, 0, 0], rows, right, cones), upper + lower)
    beside.hold()


def test_a_block_is_drawn_from_under_a_tied_one_at_the_largest_pull():
    beside = Comparison()
    for case in generated("block-under-tied"):
        a, b = radians(case.incline), radians(case.pull_angle)
        upper, lower = number(case.upper), number(case.lower)
        force, rope = answers("block-under-tied", case, "force to draw out", "rope")
        # P, rope, F and N between, F and N below.
        rows = [
            [0, -1, 1, 0, 0, 0],
            [0, 0, 0, 1, 0, 0],
            [math.cos(b), 0, -1, 0, -1, 0],
            [math.sin(b), 0, 0, -1, 0, 1],
        ]
        c, s = math.cos(a), math.sin(a)
        right = [-upper * s, upper * c, -lower * s, lower * c]
        cones = [(2, 3, number(case.between)), (4, 5, number(case.below))]
        for value, objective in ((force, [1, 0, 0, 0, 0, 0]), (rope, [0, 1, 0, 0, 0, 0])):
            beside.add(value, Limit(objective, rows, right, cones, free=(0,)), upper + lower)
    beside.hold()


def test_a_ladder_needs_the_least_push_that_equilibrium_allows():
    """Where tan(slope) < 1/mu; on a steeper one a wall that pushes down holds still more."""
    beside = Comparison()
    for case in generated("ladder"):
        slope, length = radians(case.slope), number(case.length)
        floor, wall = number(case.floor_friction), number(case.wall_friction)
        if math.tan(slope) * floor > 1:
            continue
        weight, load, at = number(case.weight), number(case.load), number(case.load_at)
        (held,) = answers("ladder", case, "force at the foot")
        # H, N and F of the floor, N and F of the wall; moments about the foot.
        c, s = math.cos(slope), math.sin(slope)
        rows = [
            [1, 0, 1, -1, 0],
            [0, 1, 0, 0, 1],
            [0, 0, 0, length * s, length * c],
        ]
        right = [0, weight + load, c * (weight * length / 2 + load * at)]
        cones = [(2, 1, floor), (4, 3, wall)]
        limit = Limit([-1, 0, 0, 0, 0], rows, right, cones, free=(0,))
        beside.add(-held, limit, weight + load)
    beside.hold(CASES / 2)


def test_two_trials_by_a_root_in_two_unknowns():
    for case in generated("two-trials", 300):
        trials = [
            (number(case.first), radians(case.first_incline)),
            (number(case.second), radians(case.second_incline)),
        ]
        mu, weight = answers("two-trials", case, "coefficient", "weight")

        def off(x, trials=trials):
            return [p - x[1] * (math.sin(a) + x[0] * math.cos(a)) for p, a in trials]

        found = optimize.root(off, [0.3, 500.0], method="hybr", tol=1e-13)
        assert np.abs(found.fun).max() < 1e-9 * weight
        near(mu, found.x[0], 1.0, 1e-6)
        near(weight, found.x[1], weight, 1e-6)


# --- wedges and screws ----------------------------------------------------------------------


def test_a_wedge_beside_a_smooth_wall_against_the_limits_of_equilibrium():
    beside = Comparison()
    for case in generated("wedge"):
        a, load = radians(case.wedge_angle), number(case.load) / case.wedges
        asked = ("force to drive in", "force to draw out")
        # P, N and F of the floor, N and F of the face, thrust of the wall.
        c, s = math.cos(a), math.sin(a)
        rows = [
            [0, 0, 0, s, c, -1],
            [0, 0, 0, c, -s, 0],
            [1, 0, -1, -s, -c, 0],
            [0, 1, 0, -c, s, 0],
        ]
        right = [0, load, 0, 0]
        cones = [(2, 1, number(case.floor_friction)), (4, 3, number(case.friction))]
        for value, sign in zip(answers("wedge", case, *asked), (1, -1), strict=True):
            beside.add(value, Limit([sign, 0, 0, 0, 0, 0], rows, right, cones, free=(0, 5)), load)
    beside.hold()


def test_a_wedge_beside_a_rough_wall_by_friction_angles():
    """The rule of sines in both triangles of forces, angles of friction added to the slope."""
    rng = random.Random(21)
    for _ in range(CASES):
        face, floor, wall = (fmpq(rng.randint(5, 30), 100) for _ in range(3))
        degrees = rng.randint(18, 35)
        case = attrs.evolve(
            next(generated("wedge", 1)),
            load=fmpq(1000), wedge_angle=Turn(fmpq(degrees, 360)), friction=face,
            floor_friction=floor, wall_friction=wall, wedges=1,
        )  # fmt: skip
        drive, draw = answers("wedge", case, "force to drive in", "force to draw out")
        a = math.radians(degrees)
        f1, f2, f3 = (math.atan(number(x)) for x in (floor, face, wall))
        inward = math.sin(a + f1 + f2) / (math.cos(f1) * math.cos(a + f2 + f3))
        near(drive, 1000 * math.cos(f3) * inward, 1000)
        if a > f2:
            outward = math.sin(a - f1 - f2) / (math.cos(f1) * math.cos(a - f2 - f3))
            near(draw, -1000 * math.cos(f3) * outward, 1000)


def test_a_square_thread_is_an_inclined_plane_that_a_level_force_moves():
    beside = Comparison()
    for case in generated("screw"):
        radius, load = number(case.mean_diameter) / 2, number(case.load)
        slope = math.atan2(number(case.pitch) * case.starts, math.tau * radius)
        c, s = math.cos(slope), math.sin(slope)
        # Q level, N, F along the thread: across and along it.
        rows = [[-s, 1, 0], [c, 0, -1]]
        right = [load * c, load * s]
        for name, sign in (("raising torque", 1), ("lowering torque", -1)):
            (torque,) = answers("screw", case, name)
            limit = Limit([sign, 0, 0], rows, right, [(2, 1, number(case.friction))], free=(0,))
            beside.add(torque / radius, limit, load)
    beside.hold()


# --- bands, brakes ---------------------------------------------------------------------------


def grown(exponent):
    """Tension after an arc, from dT = T d(mu beta) and T = 1."""
    found = integrate.solve_ivp(
        lambda _, t: t, (0.0, exponent), [1.0], method="DOP853", rtol=1e-12, atol=1e-13
    )
    return found.y[0, -1]


def test_a_belt_by_its_differential_equation():
    for case in generated("belt", 150):
        exponent = number(case.friction) * radians(case.lap)
        ratio, difference = answers("belt", case, "ratio", "difference")
        near(ratio, grown(exponent), 1.0, 1e-9)
        slack = number(case.tension) / math.expm1(exponent)
        near(difference, slack * (grown(exponent) - 1), number(case.tension), 1e-7)


def test_a_belt_is_the_tightest_line_round_its_pulleys():
    """Open: the hull of points on both circles. Crossed: tangents found by a root."""
    for case in generated("belt-lap", 200):
        large, small, apart = (number(x) for x in (case.larger, case.smaller, case.centres))
        turns = np.linspace(0, math.tau, 2001)[:-1]
        length, first, second = answers(
            "belt-lap", case, "length", "lap on the larger", "lap on the smaller"
        )
        first, second = math.tau * first, math.tau * second
        if case.run == "open":
            points = np.concatenate(
                [large * np.exp(1j * turns), apart + small * np.exp(1j * turns)]
            )
            hull = ConvexHull(np.column_stack([points.real, points.imag]))
            # In the plane "area" is the perimeter; chords are short of arcs by (step^2)/24.
            near(length, hull.area, length, 1e-6)
            near(first + second, math.tau, math.tau, 1e-12)
            continue

        def off(t, large=large, small=small, apart=apart):
            return apart * math.cos(t) - large - small

        angle = optimize.brentq(off, 0, math.pi / 2, xtol=1e-15)
        near(first, math.tau - 2 * angle, 1.0, 1e-11)
        near(length, 2 * apart * math.sin(angle) + (large + small) * first, length, 1e-11)


def test_a_band_brake_by_its_differential_equation_and_its_lever():
    for case in generated("band-brake", 150):
        ratio = grown(number(case.friction) * radians(case.lap))
        radius, arm = number(case.radius), number(case.effort_arm)
        pull, ease = number(case.pull_arm), number(case.ease_arm)
        for turning, order in (("pulled end slack", (1, 0)), ("pulled end tight", (0, 1))):
            asked = [f"{w}, {turning}" for w in ("tight side", "slack side", "effort")]
            found = answers("band-brake", case, *asked)
            # Tight, slack, effort: drum, grip, lever.
            lever = [0.0, 0.0, -arm]
            lever[order[0]], lever[order[1]] = pull, -ease
            matrix = [[radius, -radius, 0], [1, -ratio, 0], lever]
            expected = np.linalg.solve(matrix, [number(case.torque), 0, 0])
            for a, b in zip(found, expected, strict=True):
                near(a, b, expected[0], 1e-7)


def test_the_equivalent_coefficient_of_a_shoe_by_its_pressures():
    """A pivoted shoe wears so that its pressure is p cos(angle from its middle)."""
    rng = random.Random(22)
    for case in generated("shoe-brake", 150):
        degrees = rng.randint(20, 150)
        case = attrs.evolve(case, contact=Turn(fmpq(degrees, 360)))
        half = math.radians(degrees) / 2
        turning, _ = integrate.quad(math.cos, -half, half)
        pressing, _ = integrate.quad(lambda t: math.cos(t) ** 2, -half, half)
        (mu,) = answers("shoe-brake", case, "coefficient")
        near(mu, number(case.friction) * turning / pressing, 1.0, 1e-11)


def test_a_shoe_brake_by_its_lever():
    for case in generated("shoe-brake"):
        mu, arm, x, c = (
            number(v) for v in (case.friction, case.effort_arm, case.shoe_arm, case.friction_arm)
        )
        torque = number(case.torque)
        for turning, sense in (("drum helping", 1), ("drum opposing", -1)):
            asked = [f"{w}, {turning}" for w in ("normal", "friction", "effort")]
            matrix = [[0, number(case.radius), 0], [mu, -1, 0], [x, -sense * c, -arm]]
            expected = np.linalg.solve(matrix, [torque, 0, 0])
            for a, b in zip(answers("shoe-brake", case, *asked), expected, strict=True):
                near(a, b, expected[0])


# --- bearings --------------------------------------------------------------------------------


def ring(outer, inner, weigh):
    return integrate.quad(weigh, inner, outer)[0]


def test_pivots_and_collars_by_rings():
    for case in generated("pivot-or-collar", 200):
        outer, inner, load = (number(x) for x in (case.outer, case.inner, case.load))
        push = number(case.friction) * case.surfaces
        for way, pressure in (
            ("uniform pressure", lambda r: 1.0),
            ("uniform wear", lambda r: 1 / r),
        ):
            asked = [f"{w}, {way}" for w in ("torque", "greatest pressure", "least pressure")]
            torque, most, least = answers("pivot-or-collar", case, *asked)
            share = load / ring(outer, inner, lambda r, p=pressure: math.tau * r * p(r))
            turning = ring(outer, inner, lambda r, p=pressure: math.tau * r * r * p(r))
            near(torque, push * share * turning, load * outer)
            near(most, share * pressure(inner), most)
            near(least, share * pressure(outer), least)


def test_a_face_is_sized_by_a_root_of_its_rings():
    for case in generated("face-size", 100):
        ratio, bears = number(case.ratio), number(case.pressure)
        push = number(case.friction) * case.surfaces
        mean = case.pressure_is == "mean"

        def carried(inner, ratio=ratio, bears=bears, push=push, mean=mean, case=case):
            outer = ratio * inner
            area = ring(outer, inner, lambda r: math.tau * r)
            load = ring(outer, inner, lambda r: math.tau * bears * inner)
            load = bears * area if mean else load
            turning = push * load * (outer + inner) / 2
            wanted = case.load if case.torque is None else case.torque
            return (load if case.torque is None else turning) / number(wanted) - 1

        (inner,) = answers("face-size", case, "inner radius, uniform wear")
        found = optimize.brentq(carried, inner / 3, inner * 3, xtol=1e-13 * inner, rtol=1e-14)
        near(inner, found, inner, 1e-9)


def test_a_journal_climbs_until_it_slips():
    for case in generated("journal-bearing"):
        mu, radius, load = (number(x) for x in (case.friction, case.radius, case.load))
        climbed = optimize.brentq(lambda p, mu=mu: math.sin(p) - mu * math.cos(p), 0, 1.5)
        torque, circle = answers(
            "journal-bearing", case, "torque, by the friction circle", "friction circle"
        )
        near(torque, load * radius * math.sin(climbed), load * radius)
        near(circle, radius * math.sin(climbed), radius)


def test_a_sheave_by_a_root_of_its_moments():
    for case in generated("sheave-on-pin"):
        load, radius, pin = (number(x) for x in (case.load, case.radius, case.pin_radius))
        between = radians(case.between)
        arm = pin * math.sin(math.atan(number(case.friction)))
        raised, lowered = answers("sheave-on-pin", case, "pull to raise", "pull to lower")

        def moment(pull, sense, load=load, radius=radius, between=between, arm=arm):
            pressing = math.hypot(load + pull * math.cos(between), pull * math.sin(between))
            return sense * (pull - load) * radius - arm * pressing

        for value, sense, bracket in ((raised, 1, (load, 9 * load)), (lowered, -1, (0, load))):
            found = optimize.brentq(moment, *bracket, args=(sense,), xtol=1e-11, rtol=1e-14)
            near(value, found, load)


def test_a_wheel_by_three_equations():
    for case in generated("rolling"):
        load, radius = number(case.load), number(case.radius)
        slope = radians(case.incline)
        ahead, arm = number(case.coefficient), radius
        if case.upper_coefficient is not None:
            ahead, arm = ahead + number(case.upper_coefficient), 2 * radius
        for name, sense in (("force to roll up", 1), ("force to roll down", -1)):
            # Pull, normal force and friction of the ground: along, across, moments.
            matrix = [[sense, 0, -sense], [0, 1, 0], [0, ahead, -arm]]
            right = [load * math.sin(slope), load * math.cos(slope), 0]
            (value,) = answers("rolling", case, name)
            near(value, np.linalg.solve(matrix, right)[0], load)


# --- a printed example ----------------------------------------------------------------------


def test_wedge_of_baker_and_haynes():
    """Engineering Statics: Open and Interactive, chapter 9: 9.35 lb and 0.436 lb, as printed."""
    case = attrs.evolve(
        next(generated("wedge", 1)),
        load=fmpq(10), wedge_angle=Turn(fmpq(25, 360)), friction=fmpq(1, 5),
        floor_friction=fmpq(1, 5), wedges=1,
    )  # fmt: skip
    drive, draw = answers("wedge", case, "force to drive in", "force to draw out")
    assert abs(drive - 9.35) <= 0.005
    assert abs(draw + 0.436) <= 0.0005
