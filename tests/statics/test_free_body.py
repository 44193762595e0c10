"""Free bodies: equations, rank decided exactly and by proof, values put back."""

from __future__ import annotations

import pytest
from flint import arb, fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.elimination import Elimination
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant, Slope, Turn
from refsolver.quantities.leaves import ByAngle, ByRun
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import (
    Action,
    Body,
    Unknown,
    between,
    couple_on,
    equations,
    force_on,
    heading,
    pull_on,
)
from refsolver.statics.bodies.independence import (
    OPAQUE,
    Irrational,
    Rationals,
    exact_ranking,
    proven_ranking,
)


def left_over(bodies, unknowns, loads, found, ar):
    """What the values leave of each equation, written out by this test."""
    written = equations(bodies, 2, unknowns(ar), loads(ar))
    return written.left_over(found.values, ar.bring(fmpq(0)))


def numbers(ar, *values):
    return tuple(ar.bring(fmpq(v)) for v in values)


def test_heading_keeps_rational_statements_rational():
    exact = Rationals()
    assert heading(ByRun((fmpq(3), fmpq(4))), exact) == (3, 4)
    assert heading(ByAngle(Slope(fmpq(3), fmpq(4)), "+y", "-x"), exact) == (-3, 4)
    assert heading(ByAngle(Turn(fmpq(1, 4))), exact) == (0, 1)
    assert heading(ByAngle(Turn(fmpq(1, 12))), exact) == (OPAQUE, OPAQUE)


def test_rationals_leave_the_rest_to_others():
    exact = Rationals()
    assert exact.sqrt(fmpq(9, 4)) == fmpq(3, 2)
    for twelfths in range(-19, 20):
        angle = Turn(fmpq(twelfths, 12))
        rounded = tuple(round(x) for x in DoubleArithmetic().cos_sin(angle))
        found = exact.cos_sin(angle)
        assert found == ((OPAQUE, OPAQUE) if twelfths % 3 else rounded)
        assert exact.radians(angle) is OPAQUE
    assert exact.larger(fmpq(2), fmpq(3), "x") == 3 == exact.larger(fmpq(3), fmpq(2), "x")
    for x in (exact.sqrt(fmpq(2)), exact.sqrt(OPAQUE), exact.bring(Constant("pi")), exact.pi()):
        assert x is OPAQUE
        assert (x + 1) * fmpq(2) is fmpq(3) - x / 2 is -x is OPAQUE
        with pytest.raises(Irrational):
            exact.sign(x, "anything")


def three_hinged_arch(a):
    """Pins at (0, 0) and (8, 0), hinge at (4, 3)."""
    x, y = numbers(a, 1, 0), numbers(a, 0, 1)
    crown = numbers(a, 4, 3)
    return [
        Unknown("A x", (force_on("left", x, numbers(a, 0, 0)),)),
        Unknown("A y", (force_on("left", y, numbers(a, 0, 0)),)),
        Unknown("B x", (force_on("right", x, numbers(a, 8, 0)),)),
        Unknown("B y", (force_on("right", y, numbers(a, 8, 0)),)),
        between("C x", force_on("left", x, crown), "right"),
        between("C y", force_on("left", y, crown), "right"),
    ]


def test_two_bodies_joined_by_a_pin():
    """12 kN on the crown of a three-hinged arch: thrust W l / (4 h) = 12 * 8 / 12 (any text)."""
    ar = EnclosureArithmetic()
    bodies = [Body("left"), Body("right")]

    def loads(a):
        return [force_on("right", numbers(a, 0, -12), numbers(a, 4, 3))]

    found = equilibrium(bodies, 2, three_hinged_arch, loads, ar)
    assert (found.free_motions, found.redundants, found.rank) == (0, 0, 6)
    expected = {"A x": 8, "A y": 6, "B x": -8, "B y": 6, "C x": -8, "C y": -6}
    for key, value in expected.items():
        assert found.values[key].overlaps(arb(value)), key
    assert all(x.contains(0) for x in left_over(bodies, three_hinged_arch, loads, found, ar))
    assert "left: moments" in found.names


def eight_down(a):
    return [pull_on("R", numbers(a, 0, -8))]


def nothing(a):
    return []


def bar(a, key, one, other, run):
    action = pull_on(one, numbers(a, *run))
    return between(key, action, other)


def triangle_truss(a, extra=()):
    """Joints P (0, 0), Q (6, 0), R (3, 4), pinned at P and on a roller at Q; force densities."""
    unknowns = [
        bar(a, "PQ", "P", "Q", (6, 0)),
        bar(a, "PR", "P", "R", (3, 4)),
        bar(a, "QR", "Q", "R", (-3, 4)),
        Unknown("P x", (pull_on("P", numbers(a, 1, 0)),)),
        Unknown("P y", (pull_on("P", numbers(a, 0, 1)),)),
        Unknown("Q y", (pull_on("Q", numbers(a, 0, 1)),)),
    ]
    return [u for u in unknowns if u.key not in extra]


JOINTS = [Body(name, rigid=False) for name in "PQR"]


def test_a_truss_of_particles_by_force_densities():
    """8 kN on the top of the 3-4-5 triangle: the rafters carry -5 kN, the tie 3 kN."""
    ar = EnclosureArithmetic()
    found = equilibrium(JOINTS, 2, triangle_truss, eight_down, ar)
    lengths = {"PQ": 6, "PR": 5, "QR": 5}
    forces = {"PQ": 3, "PR": -5, "QR": -5}
    for key, n in lengths.items():
        assert (found.values[key] * n).overlaps(arb(forces[key])), key


def test_loads_handed_over_as_a_function_leave_exact_values():
    """What cancels is then zero, not a ball around it; mpmath still works it out in numbers."""
    from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic

    def loads(a):
        third = a.bring(fmpq(1, 3))
        return [pull_on("R", (third, -third)), pull_on("Q", (-third, 0 * third))]

    for ar in (EnclosureArithmetic(), MultiprecisionArithmetic(128, {})):
        found = equilibrium(JOINTS, 2, triangle_truss, loads, ar)
        assert ar.decisions == ({} if ar.proves else {"equilibrium: independent equations": 1})
        if ar.proves:
            assert found.values["P x"].is_zero()
        else:
            assert abs(found.values["P x"]) < 1e-30


def test_what_no_irrational_angle_touches_stays_exact():
    """A roller at 20 degrees, the load level at the pin: the bars carry exactly nothing."""
    lean = ByAngle(Turn(fmpq(110, 360)))

    def unknowns(a):
        roller = Unknown("Q lean", (pull_on("Q", heading(lean, a)),))
        return [*triangle_truss(a, ("Q y",)), roller]

    def loads(a):
        return [pull_on("P", numbers(a, 7, 0))]

    ar = EnclosureArithmetic()
    found = equilibrium(JOINTS, 2, unknowns, loads, ar)
    assert all(found.values[key].is_zero() for key in ("PQ", "PR", "QR", "Q lean", "P y"))
    assert found.values["P x"] == -7
    assert ar.decisions == {"equilibrium: at irrational angles": 1}


def test_who_moves_in_a_mechanism_is_said():
    ar = EnclosureArithmetic()
    found = equilibrium(JOINTS, 2, lambda a: triangle_truss(a, ("QR", "Q y")), eight_down, ar)
    assert found.moving() == ["Q", "R"]
    assert "free to move: Q, R" in found.refusal().evidence


def test_two_unknowns_of_one_key_are_refused():
    with pytest.raises(ValueError, match="one key"):
        equilibrium(JOINTS, 2, lambda a: triangle_truss(a)[:1] * 2, nothing, EnclosureArithmetic())


def test_a_truss_without_its_tie_is_a_mechanism():
    ar = EnclosureArithmetic()
    found = equilibrium(JOINTS, 2, lambda a: triangle_truss(a, ("PQ",)), eight_down, ar)
    assert found.refusal().reason == "mechanism"
    assert found.missing("PR").reason == "mechanism"
    idle = equilibrium(JOINTS, 2, lambda a: triangle_truss(a, ("PQ",)), nothing, ar)
    assert idle.refusal() is None
    assert idle.free_motions == 1


def test_couples_and_unknowns_without_any_support():
    ar = EnclosureArithmetic()
    for moment, space in (((0,), 2), ((0, 0, 4), 3)):
        assert couple_on("b", moment) == Action("b", (0,) * space, moment)
    turned = equilibrium([Body("b")], 2, nothing, lambda a: [couple_on("b", numbers(a, 1))], ar)
    assert turned.unbalanced == "b: moments"
    idle = equilibrium([Body("b")], 3, nothing, nothing, ar)
    assert idle.refusal() is None
    assert idle.free_motions == 6


def irrational_links(a, angles):
    """Links through (cos, sin) of their own angle along that angle: all meet in the origin."""
    found = []
    for i, turns in enumerate(angles):
        along = heading(ByAngle(Turn(turns)), a)
        found.append(Unknown(f"link {i}", (force_on("b", along, along),)))
    return found


def test_improper_constraint_is_proven_where_angles_leave_no_rational_geometry():
    from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions

    angles = [fmpq(1, 12), fmpq(5, 12), fmpq(3, 10)]
    results = []

    def run(ar):
        found = equilibrium(
            [Body("b")],
            2,
            lambda a: irrational_links(a, angles),
            lambda a: [force_on("b", numbers(a, 0, -1), numbers(a, 1, 0))],
            ar,
        )
        results.append(found)

    assert AlgebraicArithmetic is not None
    decisions = algebraic_decisions(run, 128, 100_000)
    assert decisions["equilibrium"] == 0
    assert results[-1].rank == 2
    assert results[-1].refusal().reason == "improper constraint"


small = st.integers(-2, 2)


@settings(deadline=None)
@given(st.lists(st.tuples(small, small, small), min_size=1, max_size=5))
def test_exact_and_proven_ranking_agree(columns):
    """The elimination in fractions against the one with named pivots."""

    def unknowns(a):
        return [
            Unknown(f"u{i}", (Action("b", numbers(a, x, y), numbers(a, m)),))
            for i, (x, y, m) in enumerate(columns)
        ]

    ar = EnclosureArithmetic()
    written = equations([Body("b")], 2, unknowns(Rationals()), ())
    exact = exact_ranking(Elimination(written.columns, len(written.names)))
    proven = proven_ranking(written.columns, written.names, written.keys, Rationals(), "x")
    assert len(exact.columns) == len(proven.columns) == len(exact.rows) == len(proven.rows)
    assert exact.determined == proven.determined
    assert ar.decisions == {}


@settings(deadline=None)
@given(st.lists(st.tuples(small, small, small), min_size=1, max_size=5), small, small, small)
def test_what_is_determined_satisfies_every_equation(columns, fx, fy, m):
    ar = EnclosureArithmetic()

    def unknowns(a):
        return [
            Unknown(f"u{i}", (Action("b", numbers(a, x, y), numbers(a, z)),))
            for i, (x, y, z) in enumerate(columns)
        ]

    def loads(a):
        return [Action("b", numbers(a, fx, fy), numbers(a, m))]

    found = equilibrium([Body("b")], 2, unknowns, loads, ar)
    if found.unbalanced:
        assert found.values == {}
        assert found.free_motions > 0
    elif not found.redundants:
        assert set(found.values) == {u.key for u in unknowns(ar)}
        assert all(x.contains(0) for x in left_over([Body("b")], unknowns, loads, found, ar))


def test_the_strict_arithmetic_sees_a_float_among_the_unknowns_and_the_loads():
    """Nothing is worked out for it elsewhere, so that it meets every number itself."""
    from refsolver.arithmetic.strict import StrictArithmetic

    def spoiled(a):
        return [pull_on("R", tuple(x * 0.5 for x in numbers(a, 0, -8)))]

    with pytest.raises(TypeError):
        equilibrium(JOINTS, 2, triangle_truss, spoiled, StrictArithmetic())
    found = equilibrium(JOINTS, 2, triangle_truss, eight_down, StrictArithmetic())
    assert found.values["PQ"].ball.overlaps(arb(1) / 2)
