"""Givens at their limits are taken, those beyond are refused in words, irrational ones too."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.columns import Leaves
from refsolver.arithmetic.exact import Radian, Slope, Turn, negated, product, square_root
from refsolver.quantities.leaves import Components
from refsolver.statics.givens import leaf, replaced
from refsolver.statics.limits import exceeds, reaches
from refsolver.statics.registry import families

ROOT = square_root(fmpq(2))


def number(value):
    return fmpq(value) if isinstance(value, int) else value


def some(family, **own):
    """Givens of the family, these fields stated otherwise."""
    given = families()[family].propose((1.0, 10.0), random.Random(family))
    return attrs.evolve(given, **{name: number(value) for name, value in own.items()})


def test_what_is_seen_of_two_numbers():
    almost = fmpq(14142, 10000)
    for a, b, more in ((3, 2, True), (2, 3, False), (ROOT, almost, True), (almost, ROOT, False)):
        assert exceeds(number(a), number(b)) == reaches(number(a), number(b)) == more
    assert not exceeds(fmpq(2), fmpq(2)) and reaches(fmpq(2), fmpq(2))
    assert not exceeds(ROOT, ROOT)
    column = Leaves.of([fmpq(5), fmpq(7)])
    for a, b in ((None, fmpq(1)), (fmpq(1), None), (column, fmpq(1)), (fmpq(9), column)):
        assert not exceeds(a, b) and not reaches(a, b)


BELOW = [
    # family, what must stay below, what bounds it, whether it may be equal, what is said
    ("hydrostatics/gravity-dam", "upstream", "height", True, "upstream: the fluid stands"),
    ("hydrostatics/gravity-dam", "downstream", "height", True, "downstream: the fluid stands"),
    ("hydrostatics/gravity-dam", "uplift", 1, True, "share from 0 to 1"),
    ("hydrostatics/floating-share", "submerged", 1, True, "not above 1"),
    ("hydrostatics/tipping-wall", "depth", "height", True, "higher than the wall"),
    ("hydrostatics/submerged-body", "apparent", "weight", False, "seems lighter"),
    ("friction/ladder", "centre", "length", True, "'centre' lies beyond the end"),
    ("friction/ladder", "load_at", "length", True, "'load_at' lies beyond the end"),
    ("friction/sheave-on-pin", "pin_radius", "radius", False, "smaller than its sheave"),
    ("friction/belt-lap", "smaller", "larger", True, "must not exceed 'larger'"),
    ("friction/pivot-or-collar", "inner", "outer", False, "smaller than the outer one"),
    ("centroids/ring-lamina", "inner", "outer", False, "less than the outer one"),
    ("centroids/rod", "start", "end", False, "end beyond its start"),
    ("centroids/under-curve", "start", "end", False, "end beyond its start"),
    ("hydrostatics/lock-gates", "lower_hinge", "upper_hinge", False, "is higher than"),
]  # fmt: skip
OWN = {
    "hydrostatics/floating-share": {"body": 8, "fluid": None},
    "hydrostatics/tipping-wall": {"width": None},
    "hydrostatics/submerged-body": {"volume": None, "body": None, "fluid": 9},
    "hydrostatics/lock-gates": {},
}


@pytest.mark.parametrize("irrational", [False, True])
@pytest.mark.parametrize(("family", "name", "bound", "equal", "said"), BELOW)
def test_one_given_stays_below_another(family, name, bound, equal, said, irrational):
    own = dict(OWN.get(family, {}))
    limit = fmpq(bound) if isinstance(bound, int) else product(fmpq(5), ROOT)
    if not irrational and not isinstance(bound, int):
        limit = fmpq(5)
    if isinstance(bound, str):
        own[bound] = limit
    inside = product(limit, fmpq(99, 100))
    assert leaf(some(family, **own, **{name: inside}), name) == inside
    hair = fmpq(1, 10**6)
    for beyond in (
        product(limit, 1 + hair),
        product(ROOT, limit if isinstance(bound, int) else fmpq(6)),
    ):
        with pytest.raises(ValueError, match=said):
            some(family, **own, **{name: beyond})
    if irrational:
        return  # no ball shows that two are equal
    if equal:
        some(family, **own, **{name: limit})
    else:
        with pytest.raises(ValueError, match=said):
            some(family, **own, **{name: limit})


def test_moments_that_no_area_has():
    """I_xy^2 <= I_x I_y (Cauchy and Schwarz), with equality for a line."""
    family = "second-moments/principal-axes"
    some(family, i_x=4, i_y=9, i_xy=-6)
    some(family, i_x=product(fmpq(4), ROOT), i_y=product(fmpq(9), ROOT), i_xy=8)
    for sizes in ((4, 9, fmpq(61, 10)), (4, 9, product(fmpq(-5), ROOT)), (ROOT, ROOT, 2)):
        with pytest.raises(ValueError, match="no area has these moments"):
            some(family, **dict(zip(("i_x", "i_y", "i_xy"), sizes, strict=True)))
    axis = "second-moments/parallel-axis"
    some(axis, area=2, moment=fmpq(181, 10), known=3)
    for moment in (18, product(fmpq(12), ROOT)):
        with pytest.raises(ValueError, match="must exceed A d"):
            some(axis, area=2, moment=moment, known=3)


@pytest.mark.parametrize("place", [fmpq(0), fmpq(5), product(fmpq(7, 2), ROOT)])
@pytest.mark.parametrize("beyond", [fmpq(-1, 100), fmpq(501, 100), product(fmpq(4), ROOT)])
def test_a_station_lies_within_its_span(place, beyond):
    family = "cables/parabolic"
    given = families()[family].propose((1.0, 10.0), random.Random(1))
    station = attrs.fields(type(given)).stations.metadata["given"].of
    assert attrs.evolve(given, span=fmpq(5), stations=(station(place),)).stations[0].at == place
    with pytest.raises(ValueError, match="lies outside the span"):
        attrs.evolve(given, span=fmpq(5), stations=(station(beyond),))


def test_a_load_lies_on_its_beam():
    family = families()["beams/reactions"]
    load = attrs.fields(family.givens).forces.metadata["given"].of
    given = family.propose((1.0, 10.0), random.Random(1))
    short = {"supports": (attrs.evolve(given.supports[0], at=fmpq(0)),), "length": fmpq(5)}
    bare = dict.fromkeys(("hinges", "couples", "line_loads"), ())
    down = Components((fmpq(0), fmpq(-1)))
    own = attrs.evolve(given, **short, **bare, forces=(load(force=down, at=fmpq(4)),))
    assert replaced(own, {"forces[1].at": fmpq(5)}).forces[0].at == 5
    with pytest.raises(ValueError, match="lies beyond the end of the beam"):
        replaced(own, {"forces[1].at": fmpq(501, 100)})


@pytest.mark.parametrize(
    ("lean", "taken"),
    [
        (Turn(fmpq(1, 4)), False), (Turn(fmpq(-1, 4)), False), (Turn(fmpq(89, 360)), True),
        (Turn(fmpq(-89, 360)), True), (Slope(fmpq(1), fmpq(0)), False),
        (Slope(fmpq(1), fmpq(-1)), False), (Slope(fmpq(9), fmpq(1)), True),
    ],
)  # fmt: skip
def test_a_gate_is_held_by_a_force_that_presses_it(lean, taken):
    if taken:
        assert some("hydrostatics/hinged-gate", lean=lean).lean == lean
    else:
        with pytest.raises(ValueError, match="between -90 and 90"):
            some("hydrostatics/hinged-gate", lean=lean)


@pytest.mark.parametrize(
    ("lean", "taken"),
    [
        (Turn(fmpq(0)), False), (Turn(fmpq(1, 4)), False), (Turn(fmpq(1, 10**6)), True),
        (Turn(fmpq(899, 3600)), True), (Slope(fmpq(0), fmpq(1)), False),
        (Slope(fmpq(1), fmpq(0)), False), (Slope(fmpq(1), fmpq(9)), True),
        (Radian(fmpq(0)), False), (Radian(fmpq(157, 100)), True), (Radian(fmpq(158, 100)), False),
    ],
)  # fmt: skip
def test_gates_of_a_lock_lean_between_closed_and_open(lean, taken):
    if taken:
        assert some("hydrostatics/lock-gates", lean=lean).lean == lean
    else:
        with pytest.raises(ValueError, match="between 0 and 90"):
            some("hydrostatics/lock-gates", lean=lean)


@pytest.mark.parametrize(
    ("upper", "lower", "said"),
    [
        (Turn(fmpq(1, 4)), Turn(fmpq(-1, 4)), None),
        (Turn(fmpq(91, 360)), Turn(fmpq(0)), "from -90 to 90"),
        (Turn(fmpq(0)), Turn(fmpq(-91, 360)), "from -90 to 90"),
        (Slope(fmpq(1), fmpq(-1)), Turn(fmpq(0)), "from -90 to 90"),
        (Slope(fmpq(1), fmpq(0)), Turn(fmpq(0)), None),
        (Turn(fmpq(1, 8)), Turn(fmpq(1, 8)), "above 'lower'"),
        (Turn(fmpq(0)), Turn(fmpq(1, 8)), "above 'lower'"),
    ],
)
def test_the_ends_of_an_arc(upper, lower, said):
    if said is None:
        assert some("hydrostatics/arc-gate", upper=upper, lower=lower).upper == upper
    else:
        with pytest.raises(ValueError, match=said):
            some("hydrostatics/arc-gate", upper=upper, lower=lower)


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        (0, fmpq(1), None), (0, fmpq(361, 360), "more than one turn apart"),
        (fmpq(1, 4), fmpq(1, 4), "must be less"), (fmpq(1, 2), fmpq(1, 4), "must be less"),
    ],
)  # fmt: skip
def test_positions_are_sought_within_one_turn(start, end, said):
    family, own = "virtual-work/equilibrium-positions", {"start": start, "end": end}
    own = {name: Turn(number(turns)) for name, turns in own.items()}
    if said is None:
        assert some(family, **own).end == own["end"]
    else:
        with pytest.raises(ValueError, match=said):
            some(family, **own)


@pytest.mark.parametrize("law", ["rod", "under-curve"])
def test_a_logarithm_starts_right_of_zero(law):
    family = f"centroids/{law}"
    given = families()[family].propose((1.0, 10.0), random.Random(1))
    if law == "rod":
        term = attrs.evolve(given.density[0], law="logarithm")
        own = {"density": (term,)}
    else:
        own = {"law": "logarithm"}
    for start, taken in ((fmpq(1, 100), True), (fmpq(0), False), (fmpq(-1), False)):
        if taken:
            assert attrs.evolve(given, start=start, end=fmpq(9), **own).start == start
        else:
            with pytest.raises(ValueError, match="right of x = 0"):
                attrs.evolve(given, start=start, end=fmpq(9), **own)


EFFORT, TORQUE = {"effort": 4, "torque": None}, {"effort": None, "torque": 4}
PLAIN = {"lap": Turn(fmpq(1, 2)), "blocks": 0, "block_angle": None}
BLOCKS = {"lap": None, "blocks": 9, "block_angle": Turn(fmpq(1, 40))}
TENTH = Turn(fmpq(1, 10))
LEG = {"angle": None, "leg_length": 5, "height": 4}
RATIO = {
    "kind": "stated ratio", "velocity_ratio": 8, "effort_arm": None, "load_arm": None,
    "smaller": None, "pulleys": 0, "gears": (), "load": 9, "effort": 2, "efficiency": None,
}  # fmt: skip
SIZE_FACE = {"load": 9, "torque": None, "power": None, "speed": None}
STATED = [
    # family, givens that are taken, other statements that are refused, what is said
    ("hydrostatics/gravity-dam", {"crest": 1, "upstream_run": 0, "downstream_run": 0},
     [{"crest": 0}], "a dam needs a base"),
    ("hydrostatics/gravity-dam", {"crest": 0, "upstream_run": 0, "downstream_run": 1}, [], ""),
    ("hydrostatics/gravity-dam", {"crest": 0, "upstream_run": 1, "downstream_run": 0}, [], ""),
    ("hydrostatics/floating-share", {"body": 8, "fluid": 9, "submerged": None},
     [{"body": None}, {"submerged": fmpq(1, 2)}], "state two of body, fluid and submerged"),
    ("hydrostatics/floating-solid", {"shape": "sphere", "height": None}, [{"height": 2}],
     "a sphere takes no height"),
    ("hydrostatics/submerged-body",
     {"weight": 9, "apparent": 5, "fluid": 8, "volume": None, "body": None},
     [{"body": 3}, {"fluid": None}, {"apparent": None, "fluid": None, "volume": 1, "body": 9}],
     "state three of weight"),
    ("friction/band-brake", EFFORT | PLAIN, [EFFORT | TORQUE | {"effort": 4}, {"effort": None}],
     "state 'effort' or 'torque'"),
    ("friction/band-brake", TORQUE | PLAIN, [{"lap": None}, {"blocks": 9}], "state the 'lap'"),
    ("friction/band-brake", EFFORT | BLOCKS, [{"block_angle": None}], "and 'block_angle' together"),
    ("friction/band-brake", EFFORT | PLAIN, [{"block_angle": TENTH}], "and 'block_angle' together"),
    ("friction/shoe-brake", EFFORT, [{"effort": None}, {"torque": 4}], "'effort' or 'torque', one"),
    ("friction/face-size", SIZE_FACE | {"ratio": 2}, [{"ratio": 1}, {"ratio": fmpq(1, 2)},
     {"ratio": product(fmpq(7, 10), ROOT)}], "the outer radius must exceed"),
    ("friction/face-size", SIZE_FACE, [{"load": None}, {"torque": 1}], "state one of 'load', 't"),
    ("friction/face-size", SIZE_FACE, [{"load": None, "power": 3}], "'power' needs 'speed'"),
    ("friction/face-size", SIZE_FACE | {"load": None, "power": 3, "speed": 1}, [], ""),
    ("friction/pivot-or-collar", {"load": 1, "pressure": None, "torque": None, "power": None},
     [{"load": None}, {"torque": 1}, {"power": 1}], "state one of 'load', 'pressure'"),
    ("friction/wedge", {"wedges": 2, "wall_friction": 0}, [{"wall_friction": fmpq(1, 5)}],
     "leave out 'wall_friction'"),
    ("friction/wedge", {"wedges": 1, "wall_friction": fmpq(1, 5)}, [{"wedges": 3}], "one or two"),
    ("friction/ladder", {"weight": 0, "load": 3}, [{"load": 0}], "without weight needs a 'load'"),
    ("friction/ladder", {"weight": 3, "load": 0}, [], ""),
    ("hydrostatics/pressure-on-area",
     {"force": 3, "pressure": 2, "area": None, "diameter": None},
     [{"area": 3}, {"force": None}], "state two of force, pressure and area"),
    ("hydrostatics/pressure-on-area",
     {"force": None, "pressure": 2, "area": 4, "diameter": None}, [{"diameter": 3}], "not by both"),
    ("hydrostatics/pressure-on-area",
     {"force": None, "pressure": 2, "area": None, "diameter": 2}, [], ""),
    ("hydrostatics/floating-prism", {"length": 5, "breadth": 4, "diameter": None},
     [{"breadth": None}, {"length": None}, {"diameter": 3}], "the length and the breadth, or"),
    ("hydrostatics/tipping-wall", {"width": 2, "depth": None}, [{"width": None}, {"depth": 1}],
     "either the width or the depth"),
    ("lifting-machines/performance", RATIO, [{"effort": None}, {"efficiency": fmpq(1, 2)}],
     "state two of 'load', 'effort' and 'efficiency'"),
    ("lifting-machines/performance", RATIO, [{"velocity_ratio": None}], "needs 'velocity_ratio'"),
    ("lifting-machines/performance", RATIO, [{"pulleys": 2}], "takes no 'pulleys'"),
    ("virtual-work/equilibrium-positions", {"start": TENTH},
     [{"start": Radian(fmpq(1, 10))}, {"end": Radian(fmpq(3))}], "'start' and 'end' in degrees"),
    ("virtual-work/rocking", {"support": "convex", "body_radius": 2, "support_radius": None},
     [{"body_radius": None}], "flat on flat does not roll"),
    ("rigging/equal-legs", LEG, [LEG | {"height": 6}, {"height": product(fmpq(4), ROOT)}],
     "cannot exceed its length"),
    ("rigging/equal-legs", LEG | {"height": 5}, [{"height": None}, {"angle": TENTH}],
     "state either the 'angle' of a leg"),
    ("rigging/equal-legs", {"angle": TENTH, "leg_length": None, "height": None},
     [{"angle": None}, {"height": 3}], "state either the 'angle' of a leg"),
]  # fmt: skip


@pytest.mark.parametrize(("family", "own", "others", "said"), STATED)
def test_what_belongs_together_and_what_excludes_the_other(family, own, others, said):
    taken = some(family, **own)
    for other in others:
        with pytest.raises(ValueError, match=said):
            attrs.evolve(taken, **{name: number(value) for name, value in other.items()})


def test_a_string_names_its_knots_and_measures_its_segments():
    family = "cables/weights-on-a-string"
    given = families()[family].propose((1.0, 10.0), random.Random(3))
    weights = tuple(attrs.evolve(given.weights[0], name=f"knot {n}") for n in (1, 2))
    first, second = (attrs.evolve(given.known, segment=n) for n in (1, 3))
    own = {"weights": weights, "known": first, "other": second, "first": "A", "second": "B"}
    lengths = (fmpq(2), ROOT, fmpq(3))
    taken = attrs.evolve(given, **own, lengths=lengths)
    assert attrs.evolve(taken, lengths=()).lengths == ()
    for change, said in (
        ({"lengths": lengths[:2]}, "3 lengths are expected"),
        ({"lengths": (fmpq(2), fmpq(0), fmpq(3))}, "length of a segment is positive"),
        ({"lengths": (fmpq(2), negated(ROOT), fmpq(3))}, "length of a segment is positive"),
        ({"second": "A"}, "go by the name 'A'"),
        ({"first": "knot 2"}, "go by the name 'knot 2'"),
        ({"other": first}, "those of one segment"),
        ({"other": attrs.evolve(second, segment=4)}, "there are 3 segments, not 4"),
    ):
        with pytest.raises(ValueError, match=said):
            attrs.evolve(taken, **change)
