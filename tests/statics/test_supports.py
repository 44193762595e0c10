"""What each support exerts, as the tables of any text of statics have it."""

from __future__ import annotations

import numpy as np
import pytest
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import Choice, NoAnswer
from refsolver.quantities.leaves import ByRun
from refsolver.statics.bodies.equilibrium import Equilibrium, equilibrium
from refsolver.statics.bodies.free_body import Body, couple_on, force_on
from refsolver.statics.bodies.supports import (
    ONE_WAY,
    PLANE_KINDS,
    SPACE_KINDS,
    PlaneSupport,
    SpaceSupport,
    assembled,
    bearing_state,
    constraint_of,
    parts_of,
    unknowns_of,
)

# forces and couples: R. C. Hibbeler, Engineering Mechanics: Statics, tables 5-1 and 5-2
# (from memory)
PLANE = {
    "pin": (2, 0), "fixed": (2, 1), "roller": (1, 0), "rocker": (1, 0), "contact": (1, 0),
    "cable": (1, 0), "link": (1, 0), "slider": (1, 0), "guide": (1, 1), "couple": (0, 1),
}  # fmt: skip
SPACE = {
    "ball": (3, 0), "fixed": (3, 3), "journal bearing": (2, 0), "thrust bearing": (3, 0),
    "hinge": (3, 0), "roller": (1, 0), "contact": (1, 0), "cable": (1, 0), "link": (1, 0),
}  # fmt: skip
UNDIRECTED = ("pin", "fixed", "couple", "ball")
AXLED = ("journal bearing", "thrust bearing", "hinge")
RUN = {2: (3, 4), 3: (2, -3, 6)}


def direction(kind, run):
    return None if kind in UNDIRECTED else ByRun(tuple(fmpq(x) for x in run))


def plane(kind, at=(0, 0), run=RUN[2]):
    return PlaneSupport(kind, tuple(fmpq(x) for x in at), direction(kind, run))


def space(kind, at=(0, 0, 0), run=RUN[3], couples="none"):
    return SpaceSupport(kind, tuple(fmpq(x) for x in at), direction(kind, run), couples)


def split(support):
    """The forces and the couples as matrices of floats."""
    parts = parts_of(support, "A", EnclosureArithmetic())
    assert len({part.key for part in parts}) == len(parts)
    return [
        np.array([[float(x.mid()) for x in map(arb, p.along)] for p in parts if p.turns == turns])
        for turns in (False, True)
    ]


@pytest.mark.parametrize("kind", PLANE_KINDS)
def test_a_support_in_the_plane(kind):
    forces, couples = split(plane(kind))
    assert (len(forces), len(couples)) == PLANE[kind]
    if len(forces) == 2:
        assert np.array_equal(forces, np.eye(2))
    if len(forces) == 1:
        assert np.array_equal(forces[0], RUN[2])
    if len(couples):
        assert couples.tolist() == [[1]]


@pytest.mark.parametrize("kind", SPACE_KINDS)
@pytest.mark.parametrize("run", [(2, -3, 6), (0, 5, 2), (0, 0, -1), (4, 0, 0)])
@pytest.mark.parametrize("carried", [False, True])
def test_a_support_in_space(kind, run, carried):
    if carried and kind not in AXLED:
        with pytest.raises(ValueError, match="belongs to a bearing or hinge"):
            space(kind, run=run, couples="carried")
        return
    forces, couples = split(space(kind, run=run, couples="carried" if carried else "none"))
    assert (len(forces), len(couples)) == (SPACE[kind][0], SPACE[kind][1] + 2 * carried)
    if kind == "journal bearing":
        assert not (forces @ run).any()
        assert np.linalg.matrix_rank(forces) == 2
    elif len(forces) == 3:
        assert np.array_equal(forces, np.eye(3))
    else:
        assert np.array_equal(forces[0], run)
    if carried:
        assert not (couples @ run).any() and np.linalg.matrix_rank(couples) == 2
    elif kind == "fixed":
        assert np.array_equal(couples, np.eye(3))


@pytest.mark.parametrize("make", [PlaneSupport, SpaceSupport])
def test_a_direction_is_stated_where_it_means_something(make):
    at = (fmpq(0),) * (2 if make is PlaneSupport else 3)
    run = ByRun((*at[1:], fmpq(1)))
    with pytest.raises(ValueError, match="a roller needs its 'direction'"):
        make("roller", at)
    with pytest.raises(ValueError, match="a fixed takes no 'direction'"):
        make("fixed", at, run)
    if make is SpaceSupport:
        with pytest.raises(ValueError, match="a hinge needs its 'direction'"):
            make("hinge", at)


def held(supports, force, at, couple=None):
    """A body under one force (and a couple): what equilibrium says, and the three tables."""
    ar = EnclosureArithmetic()
    names = [chr(ord("A") + n) for n in range(len(supports))]

    def numbers(a, values):
        return tuple(a.bring(fmpq(x)) for x in values)

    def loads(a):
        turned = [] if couple is None else [couple_on("b", numbers(a, couple))]
        return [force_on("b", numbers(a, force), numbers(a, at)), *turned]

    found = equilibrium(
        [Body("b")], len(force), lambda a: unknowns_of(supports, names, ["b"] * len(names), a),
        loads, ar,
    )  # fmt: skip
    return found, assembled(supports, names, found, ar), ar


def test_the_tables_of_a_bar_on_a_pin_and_a_leaning_roller():
    """8 down halfway, a push along (-3, 4) / 5 at the end: 5, so 3 and 4 at the pin."""
    found, tables, _ = held([plane("pin"), plane("roller", (4, 0), (-3, 4))], (0, -8), (2, 0))
    assert set(tables["reactions"]) == {"A", "B"} and set(tables["forces"]) == {"B"}
    assert tables["couples"] == {}
    for vector, expected in (
        (tables["reactions"]["A"], (3, 4)),
        (tables["reactions"]["B"], (-3, 4)),
    ):
        assert all(arb(x).overlaps(arb(y)) for x, y in zip(vector, expected, strict=True))
    assert arb(tables["forces"]["B"]).overlaps(arb(5))
    assert constraint_of(found).word == "determinate"


def test_a_fixed_end_and_a_guide_take_couples():
    _, tables, _ = held([plane("fixed", (1, 0))], (0, -8), (4, 0), (5,))
    assert arb(tables["couples"]["A"]).overlaps(arb(24 - 5)) and not tables["forces"]
    _, tables, _ = held([space("fixed")], (0, 0, -2), (3, 5, 0), (1, 0, 7))
    assert [arb(x).unique_fmpz() for x in tables["couples"]["A"]] == [10 - 1, -6, -7]
    _, tables, _ = held(
        [plane("guide", (0, 0), (0, 2)), plane("link", (3, 0), (2, 0))], (1, -8), (2, 0)
    )
    assert arb(tables["forces"]["A"]).overlaps(arb(8)) and arb(tables["couples"]["A"]).overlaps(
        arb(16)
    )
    assert arb(tables["forces"]["B"]).overlaps(arb(-1))


def test_how_the_supports_hold():
    pin, roller = plane("pin"), plane("roller", (4, 0), (0, 1))
    rollers = [plane("roller", (x, 0), (0, 1)) for x in (0, 2, 5)]
    through = [plane("link", (0, y), (1, 0)) for y in (0, 1)] + [plane("link", (5, 0), (1, 0))]
    for supports, force, word in (
        ([pin, roller], (1, -1), "determinate"),
        ([pin, roller, rollers[1]], (1, -1), "redundant"),
        (rollers[:2], (0, -1), "partially constrained"),
        (rollers[:2], (1, -1), "mechanism"),
        (rollers, (1, -1), "improperly constrained"),
        (through, (1, -1), "improperly constrained"),
    ):
        found, tables, _ = held(supports, force, (1, 0))
        assert constraint_of(found).word == word, word
        if word == "redundant":
            for table in ("forces", "reactions"):
                assert tables[table]["B"].reason == "redundant"
            assert tables["reactions"]["A"].reason == "redundant"


@pytest.mark.parametrize(
    ("at", "word"), [((2, 0), "holds"), ((0, 0), "idle"), ((-1, 0), "cannot hold")]
)
@pytest.mark.parametrize("kind", ONE_WAY)
def test_what_acts_one_way_only(kind, at, word):
    """A cable pulls along its direction and a contact pushes along it; a roller does either."""
    supports = [plane("pin"), plane(kind, (4, 0), (0, 1))]
    _, tables, ar = held(supports, (0, -8), at)
    state = bearing_state(supports, "AB", tables["forces"], ar)
    assert isinstance(state, Choice) and state.word == word
    assert set(state.margins) == {"B"}
    either = [plane("pin"), plane("roller", (4, 0), (0, 1))]
    assert bearing_state(either, "AB", tables["forces"], ar).word == "holds"
    refused = NoAnswer("redundant", "as stated")
    assert bearing_state(supports, "AB", {"B": refused}, ar) == refused


def test_counts_of_an_equilibrium():
    found = Equilibrium(("x", "y", "m"), ("a", "b"), 2, {})
    assert (found.free_motions, found.redundants) == (1, 0)
