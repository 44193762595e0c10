"""Givens at their limits are taken, those beyond are refused in words, irrational ones too."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.columns import Leaves
from refsolver.arithmetic.exact import Radian, Slope, Turn, product, square_root
from refsolver.quantities.leaves import Components
from refsolver.statics.givens import leaf, replaced
from refsolver.statics.limits import exceeds, reaches
from refsolver.statics.registry import families

ROOT = square_root(fmpq(2))


def number(value):
    return fmpq(value) if isinstance(value, int) else value


def some(family, **own):
    """Givens of the family, these fields stated otherwise and None left out."""
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
