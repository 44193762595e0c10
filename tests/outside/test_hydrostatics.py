"""Hydrostatics against general-purpose libraries and handbook values.

SciPy integrates pressures numerically, finds roots and clips nothing of ours; SymPy solves
small systems exactly. Each formulation is written anew from p = gamma z. Handbook values
name their source beside them.
"""

import math
import random

import numpy
import pytest
import sympy
from flint import fmpq
from scipy.integrate import quad
from scipy.optimize import brentq

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.hydrostatics.floating import PlacedWeight, Prism
from refsolver.statics.chapters.hydrostatics.floating_solids import SHAPES, Solid
from refsolver.statics.chapters.hydrostatics.fluids import Fluid
from refsolver.statics.chapters.hydrostatics.round_surfaces import Ellipse
from refsolver.statics.chapters.hydrostatics.straight_sided_surfaces import Panel, Panels
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven, Word
from refsolver.statics.registry import family

SAMPLES = 60


def number(x):
    return float(x.p) / float(x.q)


def outcomes(name, case, *asks):
    views = [ask if isinstance(ask, View) else View(ask) for ask in asks]
    found = prove(
        family(f"hydrostatics/{name}"), case, views, digits=18, second_opinion=False
    ).outcomes
    return [found[v] for v in views]


def values(name, case, *asks):
    found = outcomes(name, case, *asks)
    assert all(isinstance(x, Proven) for x in found), found
    return [number(x.enclosure.middle) for x in found]


def drawn(name, seed, kappa=(1, 30)):
    return family(f"hydrostatics/{name}").propose(kappa, random.Random(f"outside {name} {seed}"))


# --- plane surfaces -----------------------------------------------------------------------------


def width_of(case):
    """The width at a distance s down the slope, the whole length, and where it breaks."""
    if hasattr(case, "panels"):
        edges = numpy.cumsum([0.0, *(number(p.height) for p in case.panels)])

        def by_panel(s):
            i = min(int(numpy.searchsorted(edges, s, side="right")) - 1, len(case.panels) - 1)
            panel, share = case.panels[i], (s - edges[i]) / number(case.panels[i].height)
            a, b = number(panel.top_width), number(panel.bottom_width)
            return a + (b - a) * share

        return by_panel, edges[-1], list(edges[1:-1])
    height = number(case.height)
    if hasattr(case, "part"):
        half = height / 2
        wide = height if case.width is None else number(case.width)
        start = half if case.part == "lower half" else 0.0
        end = half if case.part == "upper half" else height

        def chord(s):
            t = (s + start - half) / half
            return wide * math.sqrt(max(0.0, 1 - t * t))

        return chord, end - start, []

    def formula(s):
        t = s if case.measured == "from the upper edge" else height - s
        ratio = t / number(case.reference)
        return sum(number(term.width) * ratio ** number(term.power) for term in case.terms)

    return formula, height, []


def pressure_at(case, z):
    total = number(case.pressure)
    for side, sense in (("front", 1), ("back", -1)):
        layers = [f for f in case.fluids if f.side == side]
        for i, fluid in enumerate(layers):
            bottom = number(layers[i + 1].top) if i + 1 < len(layers) else math.inf
            within = min(z, bottom) - number(fluid.top)
            total += sense * number(fluid.specific_weight) * max(0.0, within)
    return total


def plane_surface_agrees(case, name):
    width, reach, breaks = width_of(case)
    depth, sine = number(case.depth), math.sin(2 * math.pi * number(case.slope.turns))
    cuts = [(number(f.top) - depth) / sine for f in case.fluids]
    breaks = sorted({0.0, reach, *(x for x in (*breaks, *cuts) if 0 < x < reach)})

    def p(s):
        return pressure_at(case, depth + s * sine)

    def whole(f):
        pairs = zip(breaks, breaks[1:], strict=False)
        return sum(quad(f, a, b, epsabs=1e-12, epsrel=1e-12, limit=200)[0] for a, b in pairs)

    force = whole(lambda s: p(s) * width(s))
    moment = whole(lambda s: p(s) * width(s) * s)
    size = whole(lambda s: (abs(p(s)) + abs(pressure_at(case, 1e3)) / 1e3) * width(s)) + 1
    asks = ("force", "moment about top", "depth", "pressure at top", "pressure at bottom")
    found = values(name, case, *asks)
    assert found[0] == pytest.approx(force, abs=1e-9 * size)
    assert found[1] == pytest.approx(moment, abs=1e-9 * size * reach)
    assert (found[2] - depth) * force == pytest.approx(moment * sine, abs=1e-8 * size * reach)
    assert found[3:] == pytest.approx([p(0.0), p(reach)], abs=1e-9 * size)


@pytest.mark.parametrize(
    "name", ["straight-sided-surface", "round-surface", "curved-sided-surface"]
)
def test_plane_surfaces_against_quadrature(name):
    """Adaptive quadrature of p w and p w s, broken at the levels and the edges."""
    for seed in range(SAMPLES):
        plane_surface_agrees(drawn(name, seed), name)


HANDBOOK = [
    ("rectangle from the surface", Panel(fmpq(2), fmpq(2), fmpq(6)), fmpq(4)),
    ("triangle, point in the surface", Panel(fmpq(0), fmpq(2), fmpq(6)), fmpq(9, 2)),
    ("triangle, base in the surface", Panel(fmpq(2), fmpq(0), fmpq(6)), fmpq(3)),
]


@pytest.mark.parametrize(("_", "panel", "place"), HANDBOOK, ids=[h[0] for h in HANDBOOK])
def test_centres_of_pressure_of_the_tables(_, panel, place):
    """2/3, 3/4 and 1/2 of the height (handbook tables of centres of pressure, for instance

    B. S. Massey, "Mechanics of Fluids", chapter 2; from memory).
    """
    case = Panels(depth=fmpq(0), panels=(panel,), fluids=(Fluid(fmpq(10)),))
    assert values("straight-sided-surface", case, "depth") == pytest.approx([number(place)])


def test_centres_of_pressure_of_round_surfaces():
    """5/8 of the diameter of a circle touching the surface, 3 pi r / 16 of a half circle with

    its diameter in it (the same tables; from memory).
    """
    fluids = (Fluid(fmpq(10)),)
    circle = Ellipse(depth=fmpq(0), height=fmpq(8), fluids=fluids)
    half = Ellipse(depth=fmpq(0), height=fmpq(8), part="lower half", fluids=fluids)
    assert values("round-surface", circle, "depth") == pytest.approx([5.0])
    assert values("round-surface", half, "depth") == pytest.approx([3 * math.pi / 4])


# --- curved faces and gates ---------------------------------------------------------------------


def arc_agrees(case):
    r, deep = number(case.radius), number(case.centre_depth)
    per = number(case.specific_weight) * number(case.width) * r
    ends = [2 * math.pi * number(a.turns) for a in (case.lower, case.upper)]
    sense = 1 if case.wetted == "convex" else -1

    def whole(f):
        return quad(lambda a: per * (deep - r * math.sin(a)) * f(a), *ends)[0]

    across, lift = whole(math.cos), -sense * whole(math.sin)
    views = [View("force", "component", along=axis) for axis in ("+x", "+y")]
    found = values("arc-gate", case, *views, "distance of vertical")
    assert found[:2] == pytest.approx([across, lift], rel=1e-9, abs=1e-9 * across)
    turning = whole(lambda a: r * math.cos(a) * math.sin(a))
    assert found[2] * sense * lift == pytest.approx(-turning, rel=1e-8, abs=1e-8 * across * r)


def test_arcs_against_quadrature():
    for seed in range(SAMPLES):
        arc_agrees(drawn("arc-gate", seed))


def leaning_face_agrees(case):
    h, back, n = number(case.depth), number(case.set_back), case.power
    per = number(case.specific_weight) * number(case.width)

    def lean(y):
        return back * n * (y / h) ** (n - 1) / h

    across = quad(lambda y: per * (h - y), 0, h)[0]
    down = quad(lambda y: per * (h - y) * lean(y), 0, h)[0]
    moment = quad(lambda y: per * (h - y) * (y + lean(y) * back * (y / h) ** n), 0, h)[0]
    views = [View("force", "component", along=axis) for axis in ("+x", "-y")]
    found = values("leaning-face", case, *views, "moment about foot")
    assert found == pytest.approx([across, down, moment], rel=1e-9)


def test_leaning_faces_against_quadrature():
    for seed in range(SAMPLES):
        leaning_face_agrees(drawn("leaning-face", seed))


def plates_agree(case):
    per = number(case.specific_weight) * number(case.width)
    level = number(case.level)
    force, moment = numpy.zeros(2), 0.0
    here = numpy.array([number(x) for x in case.start])
    hinge = numpy.array([number(x) for x in case.hinge])
    for plate in case.plates:
        there = numpy.array([number(x) for x in plate.to])
        run = there - here
        square = numpy.array([run[1], -run[0]])
        cut = (level - here[1]) / run[1] if run[1] else 2.0
        ends = [0.0, *([cut] if 0 < cut < 1 else []), 1.0]

        def pressed(t, here=here, run=run, level=level, per=per):
            return per * max(0.0, level - here[1] - t * run[1])

        for a, b in zip(ends, ends[1:], strict=False):
            size = quad(pressed, a, b)[0]
            first = quad(lambda t, f=pressed: t * f(t), a, b)[0]
            force = force + size * square
            arm = size * (here - hinge) + first * run
            moment += arm[0] * square[1] - arm[1] * square[0]
        middle = (here + there) / 2 - hinge
        force[1] -= number(plate.weight)
        moment -= middle[0] * number(plate.weight)
        here = there
    push = numpy.array([number(x) for x in case.support.run])
    push = push / numpy.linalg.norm(push)
    at = numpy.array([number(x) for x in case.support_at]) - hinge
    matrix = numpy.array(
        [[1, 0, push[0]], [0, 1, push[1]], [0, 0, at[0] * push[1] - at[1] * push[0]]]
    )
    solved = numpy.linalg.solve(matrix, [-force[0], -force[1], -moment])
    views = [View("hinge", "component", along=axis) for axis in ("+x", "+y")]
    found = values("profile-gate", case, *views, "support")
    assert found == pytest.approx(list(solved), rel=1e-7, abs=1e-7 * max(abs(solved)))


def test_gates_of_plates_against_quadrature_and_a_linear_solver():
    for seed in range(SAMPLES):
        plates_agree(drawn("profile-gate", seed))


def hinged_gate_agrees(case):
    width, reach, breaks = width_of(case)
    slope = 2 * math.pi * number(case.slope.turns)
    depth, hinge = number(case.depth), number(case.hinge)
    cuts = [(number(f.top) - depth) / math.sin(slope) for f in case.fluids]
    breaks = sorted({0.0, reach, *(x for x in (*breaks, *cuts) if 0 < x < reach)})

    def turned(s):
        return pressure_at(case, depth + s * math.sin(slope)) * width(s) * (s - hinge)

    pairs = list(zip(breaks, breaks[1:], strict=False))
    fluids = sum(quad(turned, a, b, epsabs=1e-12, epsrel=1e-12)[0] for a, b in pairs)
    heavy = number(case.weight) * math.cos(slope) * (1 if case.front == "above" else -1)
    total = fluids + heavy * (number(case.weight_at) - hinge)
    lean = 2 * math.pi * number(case.lean.turns)
    held = total / (math.cos(lean) * (number(case.hold) - hinge))
    found = values("hinged-gate", case, "fluid moment", "holding force")
    assert found == pytest.approx([fluids, held], rel=1e-6, abs=1e-6)


def test_hinged_gates_against_quadrature():
    for seed in range(SAMPLES):
        hinged_gate_agrees(drawn("hinged-gate", seed))


def test_lock_gates_as_three_forces_in_plan():
    """A linear solve for hinge (two parts) and mitre force (across the lock by symmetry)."""
    for seed in range(SAMPLES):
        case = drawn("lock-gates", seed)
        a = 2 * math.pi * number(case.lean.turns)
        width, weight = number(case.width), number(case.specific_weight)
        h1, h2 = number(case.upstream), number(case.downstream)
        push = weight * width * (h1 * h1 - h2 * h2) / 2
        along, square = (
            numpy.array([math.cos(a), math.sin(a)]),
            numpy.array([math.sin(a), -math.cos(a)]),
        )
        # hinge at the origin; the mitre presses back along x at the gate's end
        matrix = [[1, 0, -1], [0, 1, 0], [0, 0, width * along[1]]]
        moment = push * width / 2 * (along[0] * square[1] - along[1] * square[0])
        x, y, mitre = numpy.linalg.solve(
            numpy.array(matrix, float), [-push * square[0], -push * square[1], -moment]
        )
        found = values("lock-gates", case, "mitre force", "hinge force")
        assert found == pytest.approx([mitre, math.hypot(x, y)], rel=1e-9)


# --- floating -----------------------------------------------------------------------------------


def radius_share(shape, y):
    """Area of the slice at a share y of the height, over the area of the largest slice."""
    if shape == "sphere":
        return 4 * y * (1 - y)
    if shape == "lying cylinder":
        return 2 * math.sqrt(max(0.0, y * (1 - y)))
    reach = y if "down" in shape else 1 - y
    return reach if shape.startswith("wedge") else reach * reach


@pytest.mark.parametrize("shape", SHAPES)
def test_floating_depths_against_a_root_finder(shape):
    whole = quad(lambda y: radius_share(shape, y), 0, 1)[0]
    rng = random.Random(shape)
    for _ in range(12):
        density = fmpq(rng.randint(2, 98), 100)
        height = None if shape in ("sphere", "lying cylinder") else fmpq(rng.randint(1, 9))
        case = Solid(shape, density, fmpq(rng.randint(1, 9)), height)

        def off(x, density=density):
            return quad(lambda y: radius_share(shape, y), 0, x)[0] / whole - number(density)

        share = brentq(off, 0.0, 1.0, xtol=1e-13)
        assert values("floating-solid", case, "depth share") == pytest.approx([share], abs=1e-7)


def clipped(corners, level):
    """The part of a polygon below y = level (Sutherland and Hodgman's clipping, one side)."""
    kept = []
    for (x, y), (u, v) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if y <= level:
            kept.append((x, y))
        if (y - level) * (v - level) < 0:
            t = (level - y) / (v - y)
            kept.append((x + t * (u - x), level))
    return kept


def area_and_centre(corners):
    area = x = 0.0
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        k = a * d - c * b
        area, x = area + k / 2, x + k * (a + c) / 6
    return area, x / area


def test_metacentric_heights_by_heeling_a_box():
    """The righting lever at a heel of 1e-4 rad over that angle: GM to first order."""
    rng = random.Random(11)
    for _ in range(SAMPLES):
        breadth, deep, high = (
            fmpq(rng.randint(*ends), 10) for ends in ((10, 60), (5, 30), (1, 40))
        )
        fluid, length = fmpq(10), fmpq(7)
        weight = fluid * length * breadth * deep
        case = Prism(fluid, length, breadth, weights=(PlacedWeight(weight, high),))
        b, d, g, heel = number(breadth), number(deep), number(high), 1e-4
        c, s = math.cos(heel), math.sin(heel)
        box = [(-b / 2, 0.0), (b / 2, 0.0), (b / 2, 3 * d + b), (-b / 2, 3 * d + b)]
        turned = [(c * x - s * y, s * x + c * y) for x, y in box]

        def surplus(level, turned=turned, b=b, d=d):
            return area_and_centre(clipped(turned, level))[0] - b * d

        level = brentq(surplus, 0.5 * d, 2 * d, xtol=1e-14)
        lever = area_and_centre(clipped(turned, level))[1] + s * g
        # Heeled to the left (counter-clockwise): the box rights itself if buoyancy acts left of G.
        (found,) = values("floating-prism", case, "metacentric height")
        assert found == pytest.approx(-lever / heel, abs=2e-5 * (1 + b * b / d))


# --- dams ---------------------------------------------------------------------------------------


def on_the_base(case):
    """The vertical force, its moment about the toe (x toward the heel), and the base."""
    h, b = number(case.height), number(case.crest)
    heel, toe = number(case.upstream_run), number(case.downstream_run)
    base = heel + b + toe
    stone, water = (number(x.specific_weight) for x in (case.dam, case.fluid))
    up, low = number(case.upstream), number(case.downstream)

    def slab(y, n):
        return (base - heel * y / h) ** n - (toe * y / h) ** n

    def front(y):
        """Arm of the downward part less that of the thrust, on the upstream face."""
        return heel / h * (base - heel * y / h) - y

    def back(y):
        return toe / h * toe * y / h + y

    def lifted(x):
        return number(case.uplift) * water * (low + (up - low) * x / base)

    def head(y, depth):
        return water * (depth - y)

    force = quad(lambda y: stone * slab(y, 1), 0, h)[0] - quad(lifted, 0, base)[0]
    force += quad(lambda y: head(y, up) * heel / h, 0, up)[0]
    force += quad(lambda y: head(y, low) * toe / h, 0, low)[0]
    moment = quad(lambda y: stone * slab(y, 2) / 2, 0, h)[0]
    moment -= quad(lambda x: lifted(x) * x, 0, base)[0]
    moment += quad(lambda y: head(y, up) * front(y), 0, up)[0]
    moment += quad(lambda y: head(y, low) * back(y), 0, low)[0]
    return force, moment, base


def test_dams_against_quadrature_and_a_joint_without_tension():
    """Forces integrated numerically; the base by the compressed length of a no-tension joint."""
    met = set()
    for seed in range(SAMPLES):
        case = drawn("gravity-dam", seed, (1, 6))
        force, moment, base = on_the_base(case)
        vertical, place, toe, heel, state = outcomes(
            "gravity-dam", case, "vertical", "from toe", "pressure at toe", "pressure at heel",
            "state",
        )  # fmt: skip
        assert number(vertical.enclosure.middle) == pytest.approx(force, rel=1e-8)
        assert isinstance(state, Word)
        met.add(state.word)
        if isinstance(place, NoAnswer):
            assert force < 0 or not 0 < moment / force < base
            continue
        found = [number(x.enclosure.middle) for x in (place, toe, heel)]
        assert found[0] == pytest.approx(moment / force, rel=1e-6, abs=1e-8)
        ends = no_tension(force, moment / force, base)
        assert found[1:] == pytest.approx(ends, rel=1e-5, abs=1e-6 * max(ends))
    assert met >= {"outside the middle third", "overturns"}


def no_tension(force, place, base):
    """Pressures at toe and heel: full contact by two equations, else the compressed length."""
    toe, heel = numpy.linalg.solve(
        [[base / 2, base / 2], [base * base / 6, base * base / 3]], [force, force * place]
    )
    if toe >= 0 and heel >= 0:
        return [toe, heel]
    near = place if heel < 0 else base - place
    # A triangle of compressed length c acts at c/3: find c so that it meets the resultant.
    length = brentq(lambda c: c / 3 - near, 1e-12, base)
    edge = 2 * force / length
    return [edge, 0.0] if heel < 0 else [0.0, edge]


# --- small systems, solved exactly --------------------------------------------------------------


def exact(x):
    return sympy.Rational(int(x.p), int(x.q))


def test_two_weighings_by_a_symbolic_solver():
    weight, volume = sympy.symbols("W V")
    for seed in range(20):
        case = drawn("two-weighings", seed)
        equations = [
            weight - exact(fluid) * volume - exact(reading)
            for fluid, reading in (
                (case.first, case.in_first),
                (case.second, case.in_second),
            )
        ]
        solved = sympy.solve(equations, [weight, volume])
        found = values("two-weighings", case, "weight", "volume")
        assert found == pytest.approx([float(solved[weight]), float(solved[volume])], rel=1e-12)


def test_submerged_bodies_by_a_symbolic_solver():
    names = ("weight", "apparent", "volume", "body", "fluid")
    symbols = dict(zip(names, sympy.symbols("W A V b f"), strict=True))
    for seed in range(20):
        case = drawn("submerged-body", seed)
        known = {symbols[n]: exact(getattr(case, n)) for n in names if getattr(case, n) is not None}
        equations = [
            symbols["weight"] - symbols["body"] * symbols["volume"],
            symbols["apparent"] - symbols["weight"] + symbols["fluid"] * symbols["volume"],
        ]
        unknown = [s for s in symbols.values() if s not in known]
        solved = sympy.solve([e.subs(known) for e in equations], unknown, dict=True)
        assert len(solved) == 1
        both = {**known, **solved[0]}
        found = values("submerged-body", case, *names)
        assert found == pytest.approx([float(both[symbols[n]]) for n in names], rel=1e-12)


def test_a_sphere_that_lies_a_quarter_deep():
    """The cubic 3 x^2 - 2 x^3 = 5/32 solved by SymPy: x = 1/4 is its root between 0 and 1."""
    x = sympy.Symbol("x")
    roots = [r for r in sympy.real_roots(3 * x**2 - 2 * x**3 - sympy.Rational(5, 32)) if 0 < r < 1]
    assert roots == [sympy.Rational(1, 4)]
    case = Solid("sphere", fmpq(5, 32), fmpq(4))
    assert values("floating-solid", case, "depth") == pytest.approx([1.0])


def test_a_level_gate_takes_its_depth_everywhere():
    """F = gamma z A on a level area (any text; from memory)."""
    case = Panels(
        depth=fmpq(3), slope=Turn(fmpq(0)), fluids=(Fluid(fmpq(10)),),
        panels=(Panel(fmpq(2), fmpq(4), fmpq(5)),),
    )  # fmt: skip
    assert values("straight-sided-surface", case, "force") == pytest.approx([450.0])
