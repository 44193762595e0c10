"""Cables against SciPy and tabulated constants, each question written in its own way.

SciPy integrates the differential equation of the hanging cable, solves the equilibrium of its
segments, or finds a root of the textbook's scalar equation; nothing is shared with the solver.
Bounds are those of double precision (and of the integrator) at these sizes.
"""

import math
import random

import numpy
import pytest
import scipy.integrate
import scipy.optimize
from flint import fmpq

from refsolver.arithmetic.detached import nearest_double
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.cables.catenary import HangingCable
from refsolver.statics.chapters.cables.parabolic import UniformCable
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

CASES = 120
COMPONENTS = [View("lowest", "coordinate", along=axis) for axis in ("+x", "+y")]


def values(name, given, *views):
    outcomes = prove(
        family(name), given, views, digits=20, second_opinion=False, residuals=False
    ).outcomes.values()
    return [o if isinstance(o, NoAnswer) else nearest_double(o.enclosure.middle) for o in outcomes]


def number(x):
    return float(int(x.p) / int(x.q))


def samples(name, kappa=(1.0, 30.0)):
    rng = random.Random(f"outside {name}")
    return [family(name).propose(kappa, rng) for _ in range(CASES)]


def close(a, b, bound=1e-9):
    return abs(a - b) <= bound * (1 + abs(b))


# --- point loads ----------------------------------------------------------------------------


def test_point_loads_against_the_equilibrium_of_segments_of_given_lengths():
    """Moments on every segment and the closing of the polygon, in the angles of the segments."""
    for given in samples("cables/point-loads")[:25]:
        loads = sorted(given.loads, key=lambda load: load.at)
        joints = [given.first, *(load.name for load in loads), given.second]
        segments = [f"{a}-{b}" for a, b in zip(joints, joints[1:], strict=False)]
        views = [View("lengths", key=key) for key in segments]
        views += [View("depths", key=load.name) for load in loads]
        found = values("cables/point-loads", given, *views)
        reach, depths = numpy.array(found[: len(segments)]), found[len(segments) :]
        weights = numpy.array([number(load.weight) for load in loads])
        end = numpy.array([number(given.span), number(given.rise)])

        def angles_to_points(angles, reach=reach):
            steps = reach[:, None] * numpy.column_stack([numpy.cos(angles), numpy.sin(angles)])
            return numpy.cumsum(steps, axis=0)

        def off(unknowns, weights=weights, end=end, to_points=angles_to_points, reach=reach):
            angles, pull = unknowns[:-2], unknowns[-2:]
            upright = pull[1] - numpy.concatenate([numpy.cumsum(weights[::-1])[::-1], [0]])
            turning = upright * numpy.cos(angles) - pull[0] * numpy.sin(angles)
            return numpy.concatenate([turning, to_points(angles)[-1] - end])

        xs = numpy.array([0, *(number(load.at) for load in loads), end[0]])
        ys = numpy.array([0, *(-d for d in depths), end[1]])
        start = numpy.arctan2(numpy.diff(ys), numpy.diff(xs)) + 1e-3
        # A start beside the answer; the equations decide.
        horizontal, upright = values(
            "cables/point-loads",
            given,
            View("horizontal"),
            View("reactions", "component", key=given.second, along="+y"),
        )
        solution = scipy.optimize.root(off, [*start, 1.01 * horizontal, 0.99 * upright], tol=1e-13)
        points = angles_to_points(solution.x[:-2])
        assert close(solution.x[-2], horizontal, 1e-8)
        for depth, point in zip(depths, points, strict=False):
            assert close(-point[1], depth, 1e-7)


# --- the parabola ---------------------------------------------------------------------------


def parabola(given, horizontal):
    span, load, rise = number(given.span), number(given.load), number(given.rise)
    return lambda x: rise / span + load / horizontal * (x - span / 2)


def test_parabolic_cables_against_quadrature():
    for given in samples("cables/parabolic"):
        found = values(
            "cables/parabolic", given, View("horizontal"), View("length"), View("sag"),
            View("greatest"), View("least"), *COMPONENTS,
        )  # fmt: skip
        horizontal, long, sag, greatest, least, x, y = found
        slope, span = parabola(given, horizontal), number(given.span)
        arc, _ = scipy.integrate.quad(
            lambda x, slope=slope: math.sqrt(1 + slope(x) ** 2), 0, span, epsabs=1e-12
        )
        drop, _ = scipy.integrate.quad(slope, 0, span / 2)
        assert close(long, arc) and close(sag, number(given.rise) / 2 - drop)
        ends = [horizontal * math.hypot(1, slope(at)) for at in (0, span)]
        assert close(greatest, max(ends))
        if isinstance(x, NoAnswer):
            assert slope(0) * slope(span) > 0 and close(least, min(ends))
        else:
            assert close(slope(x), 0, 1e-7) and close(least, horizontal)
            assert close(y, scipy.integrate.quad(slope, 0, x)[0], 1e-7)


def test_parabolic_cables_of_given_length_or_tension_against_brent():
    for given in samples("cables/parabolic"):
        span, load, rise = number(given.span), number(given.load), number(given.rise)

        def long(h, span=span, load=load, rise=rise):
            ends = [rise / span + s * load * span / (2 * h) for s in (-1, 1)]
            first, second = (p * math.hypot(1, p) + math.asinh(p) for p in ends)
            return h / (2 * load) * (second - first)

        def steepest(h, span=span, load=load, rise=rise):
            return h * math.hypot(1, abs(rise) / span + load * span / (2 * h))

        (horizontal,) = values("cables/parabolic", given, View("horizontal"))
        for stated, shape in (("length", long), ("greatest", steepest)):
            wanted = getattr(given, stated)
            if wanted is None:
                continue
            if isinstance(horizontal, NoAnswer):
                assert stated == "greatest" and number(wanted) <= load * span / 2
                continue
            root = scipy.optimize.brentq(
                lambda h, shape=shape, wanted=wanted: shape(h) - number(wanted),
                load * span / 1e4, load * span * 1e4, xtol=1e-12, rtol=1e-14,
            )  # fmt: skip
            assert close(root, horizontal, 1e-7)


# --- the catenary ---------------------------------------------------------------------------


def test_catenaries_against_the_differential_equation():
    """H y'' = w sqrt(1 + y'^2), integrated from the first support with its proven slope."""
    for given in samples("cables/catenary")[:60]:
        found = values(
            "cables/catenary", given, View("horizontal"), View("length"), View("sag"),
            View("reactions", "component", key="first", along="+y"),
            View("tensions", key=given.stations[0].name),
            View("heights", key=given.stations[0].name),
        )  # fmt: skip
        if isinstance(found[0], NoAnswer):
            continue
        horizontal, long, sag, upright, tension, height = found
        span, load, rise = number(given.span), number(given.load), number(given.rise)

        def rates(x, state, rate=load / horizontal):
            steep = math.hypot(1, state[1])
            return [state[1], rate * steep, steep]

        at = number(given.stations[0].at)
        stops = sorted({at, span / 2, span})
        answer = scipy.integrate.solve_ivp(
            rates, (0, span), [0, -upright / horizontal, 0], t_eval=stops, rtol=1e-12, atol=1e-12,
            method="DOP853",
        )  # fmt: skip
        state = dict(zip(stops, answer.y.T, strict=True))
        scale = 1e-7 * (span + long)
        assert abs(state[span][0] - rise) < scale and abs(state[span][2] - long) < scale
        assert abs(rise / 2 - state[span / 2][0] - sag) < scale
        assert abs(state[at][0] - height) < scale
        assert close(horizontal * math.hypot(1, state[at][1]), tension, 1e-7)


def test_catenaries_meet_what_is_stated():
    """The stated quantity from y = c cosh((x - a)/c) + b, fitted by SciPy to both supports."""
    for given in samples("cables/catenary"):
        (c, x) = values("cables/catenary", given, View("parameter"), COMPONENTS[0])
        if isinstance(c, NoAnswer):
            continue
        span, rise, load = number(given.span), number(given.rise), number(given.load)
        a = scipy.optimize.brentq(
            lambda a, c=c, span=span, rise=rise: (
                c * (math.cosh((span - a) / c) - math.cosh(a / c)) - rise
            ),
            span / 2 - 40 * c, span / 2 + 40 * c, xtol=1e-13,
        )  # fmt: skip
        assert isinstance(x, NoAnswer) or close(x, a, 1e-8)
        shape = {
            "length": c * (math.sinh((span - a) / c) + math.sinh(a / c)),
            "horizontal": load * c,
            "parameter": c,
            "greatest": load * c * max(math.cosh(a / c), math.cosh((span - a) / c)),
            "dip": c * (math.cosh(a / c) - 1),
            "sag": rise / 2 - c * (math.cosh((span / 2 - a) / c) - math.cosh(a / c)),
        }
        for stated, value in shape.items():
            if getattr(given, stated) is not None:
                assert close(value, number(getattr(given, stated)), 1e-8), stated


def test_the_least_greatest_tension_against_its_constants():
    """Level supports: x tanh x = 1 at x = 1.19967864025773 (the root of coth x = x, which
    gives the Laplace limit 0.662743419349), T / wL = 0.754439, sag / span = 0.337720.

    Source: N. J. A. Sloane's encyclopedia of integer sequences, A085984 and A033259, and
    Irvine's "Cable Structures", section 1.2; all from memory, and found here again by SciPy.
    """
    x = scipy.optimize.brentq(lambda x: x * math.tanh(x) - 1, 1, 2, xtol=1e-15)
    assert abs(x - 1.19967864025773) < 1e-13 and abs(1 / math.sinh(x) - 0.662743419349) < 1e-12
    least = math.cosh(x) / (2 * x)
    assert abs(least - 0.754439) < 5e-6
    for beyond, refused in ((-1e-9, True), (1e-9, False)):
        greatest = fmpq(round((least + beyond) * 10**12), 10**12)
        (sag,) = values(
            "cables/catenary", HangingCable(fmpq(1), fmpq(1), greatest=greatest), View("sag")
        )
        assert isinstance(sag, NoAnswer) is refused
        if not refused:
            assert abs(sag - 0.337720) < 1e-4


@pytest.mark.parametrize("stated", ["greatest", "horizontal"])
def test_spans_of_catenaries_against_brent(stated):
    for given in samples("cables/catenary-span"):
        if getattr(given, stated) is None:
            continue
        span, c, greatest = values(
            "cables/catenary-span", given, View("span"), View("parameter"), View("greatest")
        )
        whole, rise, load = number(given.length), number(given.rise), number(given.load)
        bulge = math.sqrt(whole * whole - rise * rise)

        def ends(c, bulge=bulge, rise=rise, whole=whole, load=load):
            half = math.asinh(bulge / (2 * c))
            middle = math.atanh(rise / whole)
            return half, middle, load * c * math.cosh(half + abs(middle))

        if stated == "greatest":
            c = scipy.optimize.brentq(
                lambda c, ends=ends, given=given: ends(c)[2] - number(given.greatest),
                1e-3 * whole,
                1e4 * whole,
            )
        half, _, steepest = ends(c)
        assert close(span, 2 * c * half, 1e-7) and close(greatest, steepest, 1e-7)


def test_a_flat_catenary_is_nearly_a_parabola():
    """c = L^2 / 8 f + f / 6 to the next term, so that H exceeds w L^2 / 8 f by 4/3 (f / L)^2.

    Source: the series of cosh, in any table of functions.
    """
    for sag in (fmpq(1), fmpq(5), fmpq(12)):
        hung = HangingCable(fmpq(100), fmpq(2), sag=sag)
        spread = UniformCable(fmpq(100), fmpq(2), sag=sag)
        one = values("cables/catenary", hung, View("horizontal"))[0]
        other = values("cables/parabolic", spread, View("horizontal"))[0]
        assert close((one / other - 1) * (100 / number(sag)) ** 2, 4 / 3, 0.02)


# --- strings --------------------------------------------------------------------------------


def test_strings_against_numpy_joint_by_joint():
    """All tensions at once from the equations of every knot and the known directions."""
    for given in samples("cables/weights-on-a-string"):
        weights = [number(w.weight) for w in given.weights]
        count = len(weights)
        keys = [given.first, *(w.name for w in given.weights), given.second]
        segments = [f"{a}-{b}" for a, b in zip(keys, keys[1:], strict=False)]
        found = values(
            "cables/weights-on-a-string", given, *(View("tensions", key=key) for key in segments)
        )
        # Unknowns: H and the upright part in every segment.
        matrix, right = numpy.zeros((count + 2, count + 2)), numpy.zeros(count + 2)
        for i, weight in enumerate(weights):
            matrix[i, 1 + i], matrix[i, 2 + i], right[i] = -1, 1, weight
        for row, item in ((count, given.known), (count + 1, given.other)):
            turns = item.direction.angle.turns
            matrix[row, 0] = -math.tan(math.tau * number(turns))
            matrix[row, item.segment] = 1
        solution = numpy.linalg.solve(matrix, right)
        assert numpy.allclose(numpy.hypot(solution[0], solution[1:]), found, rtol=1e-8)
