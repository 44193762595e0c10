"""Frames and machines: action and reaction, what moving and adding may not change, refusals."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import ChoiceKind, NoAnswer
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.frames.frame import (
    CablePart,
    Connection,
    Frame,
    FrameBody,
    FrameCouple,
    FrameForce,
    FrameLineLoad,
    FrameSupport,
    KnownTension,
)
from refsolver.statics.givens import walk
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Word
from refsolver.statics.registry import family
from tests.shipped_cases import cases_of

OWNER = family("frames/plane-frame")
UP, RIGHT = ByRun((fmpq(0), fmpq(1))), ByRun((fmpq(1), fmpq(0)))


def q(*values):
    return tuple(fmpq(v) for v in values)


def bodies(*names):
    return tuple(FrameBody(name) for name in names)


def arch(*forces, shift=(0, 0)):
    """Three hinges at (0, 0), (4, 3) and (8, 0); forces as (body, at, components)."""

    def at(x, y):
        return q(x + shift[0], y + shift[1])

    return Frame(
        bodies("left", "right"),
        (Connection("pin", "left", "right", at(4, 3), name="crown"),),
        (
            FrameSupport("pin", "left", at(0, 0), name="A"),
            FrameSupport("pin", "right", at(8, 0), name="B"),
        ),
        tuple(FrameForce(Components(q(*f)), at(*p), body) for body, p, f in forces),
    )


def outcome(case, **view):
    ask = View(**view)
    return prove(OWNER, case, [ask], strict=True).outcomes[ask]


def vectors(case):
    asks = [
        a for a in asks_of(OWNER, case)
        if a.answer in ("connections", "reactions") and a.take == "component"
    ]  # fmt: skip
    found = prove(OWNER, case, asks).outcomes
    return {(a.answer, a.key, a.along): o.ball for a, o in found.items()}


whole = st.integers(-20, 20)
pairs = st.tuples(whole, whole)
forces = st.tuples(st.sampled_from(["left", "right"]), pairs, pairs)


@settings(max_examples=25, deadline=None)
@given(st.lists(forces, min_size=1, max_size=3), pairs)
def test_moving_the_origin_changes_nothing(loads, shift):
    here, there = vectors(arch(*loads)), vectors(arch(*loads, shift=shift))
    assert all(here[key].overlaps(there[key]) for key in here)


@settings(max_examples=25, deadline=None)
@given(forces, forces)
def test_loads_add_up(one, two):
    a, b, both = vectors(arch(one)), vectors(arch(two)), vectors(arch(one, two))
    assert all((a[key] + b[key]).overlaps(both[key]) for key in both)


@settings(max_examples=25, deadline=None)
@given(st.lists(forces, min_size=1, max_size=3))
def test_the_other_body_feels_the_opposite(loads):
    case = arch(*loads)
    turned = attrs.evolve(
        case, connections=(attrs.evolve(case.connections[0], first="right", second="left"),)
    )
    here, there = vectors(case), vectors(turned)
    for axis in ("+x", "+y"):
        key = ("connections", "crown", axis)
        assert (here[key] + there[key]).contains(0)


def test_a_two_force_member_is_a_link():
    """A bar with a pin at each end and no load, against a link in its place."""
    ends = q(1, 0), q(4, 4)
    beam = FrameSupport("pin", "beam", q(0, 0), name="A")
    load = (FrameForce(Components(q(3, -10)), q(6, 1), "beam"),)
    as_bar = Frame(
        bodies("beam", "bar"),
        (Connection("pin", "beam", "bar", ends[0], name="P"),),
        (beam, FrameSupport("pin", "bar", ends[1], name="W")),
        load,
    )
    as_link = Frame(
        bodies("beam"), (), (beam, FrameSupport("link", "beam", ends[0], ByRun(q(3, 4)), "W")), load
    )
    bar = outcome(as_bar, answer="connections", key="P", take="magnitude")
    link = outcome(as_link, answer="support_forces", key="W", take="size")
    assert bar.ball.overlaps(link.ball)


def test_a_cable_over_a_free_pulley_may_be_put_at_its_centre():
    def pulley(radius, centre_only):
        parts = tuple(
            CablePart("rope", "pulley", q(4, 1) if centre_only else q(4 + dx, 1 + dy), ByRun(along))
            for dx, dy, along in ((radius, 0, q(0, -1)), (0, radius, q(-1, 0)))
        )
        return Frame(
            bodies("beam", "pulley"),
            (Connection("pin", "beam", "pulley", q(4, 1), name="axle"),),
            (FrameSupport("fixed", "beam", q(0, 0), name="wall"),),
            cable_parts=parts,
            tensions=(KnownTension("rope", fmpq(70)),),
        )

    here, there = vectors(pulley(1, False)), vectors(pulley(1, True))
    assert all(here[key].overlaps(there[key]) for key in here)


def test_exact_zeros_stay_exact():
    case = arch(("left", (2, 5), (0, -7)), ("right", (6, 5), (0, -7)))
    found = outcome(case, answer="connections", key="crown", take="component", along="+y")
    assert found.how == "zero"


POSTS = Frame(
    bodies("left", "beam", "right"),
    (
        Connection("pin", "left", "beam", q(0, 3), name="B"),
        Connection("pin", "beam", "right", q(4, 3), name="C"),
    ),
    (
        FrameSupport("pin", "left", q(0, 0), name="A"),
        FrameSupport("pin", "right", q(4, 0), name="D"),
    ),
    (FrameForce(Components(q(2, 0)), q(0, 3), "beam"),),
)


def test_a_mechanism_says_who_moves():
    found = outcome(POSTS, answer="reactions", key="A", take="magnitude")
    assert found == NoAnswer("mechanism", found.evidence)
    assert "free to move: left, beam, right" in found.evidence


def test_a_tool_in_the_air_needs_loads_that_balance():
    """What nothing holds from outside is in equilibrium under balanced hands alone."""
    scissors = Frame(
        bodies("upper", "lower"),
        (
            Connection("pin", "upper", "lower", q(0, 0), name="rivet"),
            Connection("contact", "lower", "upper", q(-2, 0), direction=UP, name="work"),
        ),
        forces=(
            FrameForce(Components(q(0, -3)), q(6, 0), "upper"),
            FrameForce(Components(q(0, 3)), q(6, 0), "lower"),
        ),
    )
    assert outcome(scissors, answer="connection_forces", key="work").enclosure.middle == 9
    heavier = attrs.evolve(scissors.forces[0], force=Components(q(0, -4)))
    uneven = attrs.evolve(scissors, forces=(heavier, scissors.forces[1]))
    found = outcome(uneven, answer="connection_forces", key="work")
    assert found.reason == "mechanism" and "not satisfied" in found.evidence
    assert outcome(uneven, answer="constraint").word == "mechanism"


def test_hinges_in_a_line_are_a_mechanism_and_not_a_matter_of_supports():
    case = arch(("left", (4, 3), (0, -1)))
    flat = attrs.evolve(case, connections=(attrs.evolve(case.connections[0], at=q(4, 0)),))
    assert outcome(flat, answer="connections", key="crown", take="magnitude").reason == "mechanism"
    assert outcome(flat, answer="degree").enclosure.middle == 1


def test_a_whole_that_can_move_is_improperly_held():
    links = tuple(
        FrameSupport("link", "left", q(x, 0), UP, name) for x, name in ((0, "A"), (2, "B"))
    )
    case = attrs.evolve(
        arch(("left", (4, 3), (1, 0))),
        supports=(*links, FrameSupport("link", "right", q(8, 0), UP, "C")),
        connections=(Connection("fixed", "left", "right", q(4, 3), name="crown"),),
    )
    found = outcome(case, answer="connections", key="crown", take="magnitude")
    assert found.reason == "improper constraint"
    assert outcome(case, answer="constraint").word == "improperly constrained"


def test_what_is_determined_in_a_redundant_frame_is_still_answered():
    case = attrs.evolve(
        arch(("left", (4, 3), (0, -6))),
        connections=(
            Connection("pin", "left", "right", q(4, 3), name="crown"),
            Connection("cable", "left", "right", q(1, 1), q(7, 1), name="upper"),
            Connection("link", "left", "right", q(0, 0), q(8, 0), name="lower"),
        ),
        supports=(
            FrameSupport("pin", "left", q(0, 0), name="A"),
            FrameSupport("roller", "right", q(8, 0), UP, "B"),
        ),
    )
    assert outcome(case, answer="support_forces", key="B").enclosure.middle == 3
    found = outcome(case, answer="connection_forces", key="upper")
    assert found.reason == "redundant"
    assert "connection lower" in found.evidence


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Connection("slider", "a", "b", q(0, 0)), "needs its 'direction'"),
        (lambda: Connection("link", "a", "b", q(0, 0)), "needs its 'far'"),
        (lambda: Connection("pin", "a", "b", q(0, 0), q(1, 0)), "takes no 'far'"),
        (lambda: FrameSupport("roller", "a", q(0, 0)), "needs its 'direction'"),
        (lambda: Frame(bodies("a", "a")), "two go by the name 'a'"),
        (lambda: Frame(bodies("")), r"bodies\[1\] has no name"),
        (
            lambda: Frame(bodies("a"), (Connection("pin", "a", "a", q(0, 0)),)),
            "joins 'a' with itself",
        ),
        (
            lambda: Frame(bodies("a", "b"), (Connection("link", "a", "b", q(0, 0), q(0, 0)),)),
            "needs a length",
        ),
        (
            lambda: Frame(bodies("a"), forces=(FrameForce(Components(q(1, 0)), q(0, 0), "x"),)),
            r"forces\[1\]: there is no body 'x'",
        ),
        (
            lambda: Frame(bodies("a"), tensions=(KnownTension("rope", fmpq(1)),)),
            "has no parts",
        ),
        (
            lambda: Frame(bodies("a"), cable_parts=(CablePart("", "a", q(0, 0), UP),)),
            "of which 'cable'",
        ),
    ],
)
def test_what_does_not_hang_together_is_refused_in_words(make, message):
    with pytest.raises(ValueError, match=message):
        make()


@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven_and_as_hard_as_asked(kappa):
    for seed in range(5):
        case = OWNER.propose(kappa, random.Random(seed))
        reference = prove(OWNER, case, asks_of(OWNER, case), strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"
        assert max(abs(float(x)) for x in vectors(case).values()) > kappa[0]


ROWS = {
    "bodies": 3, "connections": 3, "supports": 2, "forces": 3, "couples": 2, "line_loads": 1,
    "cable_parts": 2, "tensions": 2,
}  # fmt: skip


def test_filled_tables_have_the_rows_asked_and_every_row_matters():
    case = OWNER.filled(ROWS, random.Random(1))
    assert {name: len(getattr(case, name)) for name in ROWS} == ROWS
    assert outcome(case, answer="constraint").word == "determinate"
    before = vectors(case)
    for name in ("forces", "couples", "line_loads"):
        for i in range(ROWS[name]):
            kept = tuple(x for j, x in enumerate(getattr(case, name)) if j != i)
            after = vectors(attrs.evolve(case, **{name: kept}))
            assert any(not before[key].overlaps(after[key]) for key in before), (name, i)


@pytest.mark.parametrize(
    ("rows", "possible"),
    [
        ({"bodies": 1, "connections": 0, "supports": 1}, True),
        ({"bodies": 1, "connections": 0, "supports": 3}, True),
        ({"bodies": 4, "connections": 3, "supports": 4}, True),
        ({"bodies": 2, "connections": 1, "supports": 9}, False),
        ({"bodies": 3, "connections": 1, "supports": 3}, False),
        ({"bodies": 2, "cable_parts": 3, "tensions": 2}, False),
    ],
)
def test_other_numbers_of_rows_are_filled_where_they_can_be(rows, possible):
    case = OWNER.filled(rows, random.Random(2))
    assert (case is not None) == possible
    if possible:
        assert outcome(case, answer="constraint").word == "determinate"


def test_every_mistake_shows_on_some_case():
    cases = [OWNER.propose((1, 10), random.Random(seed)) for seed in range(12)]
    cases += [OWNER.filled(ROWS, random.Random(seed)) for seed in range(2)]
    ar = DoubleArithmetic()
    for mistake in OWNER.mistakes:
        assert any(_shows(mistake, case, ar) for case in cases), mistake.name


def _shows(mistake, case, ar):
    right = OWNER.solve(case, ar, OWNER.rule_set()).answers
    if mistake.rules:
        wrong = OWNER.solve(case, ar, OWNER.rule_set(mistake.rules)).answers
    elif mistake.givens:
        changed = mistake.givens(case)
        if changed is None:
            return False
        wrong = OWNER.solve(changed, ar, OWNER.rule_set()).answers
    else:
        wrong = mistake.answers(case, right, ar)
    return any(right[name] != wrong[name] for name in ("connections", "reactions"))


def test_a_body_that_does_not_close_is_seen():
    case = arch(("left", (2, 5), (0, -7)))
    ar = EnclosureArithmetic()
    answers = dict(OWNER.solve(case, ar, OWNER.rule_set()).answers)
    assert all(r.value.contains(0) for r in OWNER.check(case, answers, ar))
    x, y = answers["connections"]["crown"]
    answers["connections"] = {"crown": (x, y + 1)}
    assert any(not r.value.contains(0) for r in OWNER.check(case, answers, ar))


def test_figures_are_drawn_also_where_nothing_is_answered():
    ar = DoubleArithmetic()
    for case in (OWNER.propose((1, 10), random.Random(5)), OWNER.filled(ROWS, random.Random(1))):
        drawing = OWNER.figure(case, OWNER.solve(case, ar, OWNER.rule_set()).answers, ar)
        assert any(getattr(part, "role", "") == "answer" for part in drawing.parts)
    answers = OWNER.solve(POSTS, ar, OWNER.rule_set()).answers
    assert OWNER.figure(POSTS, answers, ar).parts


def test_every_leaf_has_a_path():
    case = Frame(
        bodies("a", "b"),
        (Connection("link", "a", "b", q(0, 0), q(1, 0)),),
        couples=(FrameCouple(fmpq(1), "a"),),
        line_loads=(FrameLineLoad(q(0, 0), q(1, 0), fmpq(1), fmpq(2), "b"),),
        cable_parts=(CablePart("rope", "a", q(0, 0), RIGHT),),
        tensions=(KnownTension("rope", fmpq(3)),),
    )
    paths = [path for path, _, _ in walk(case)]
    for path in ("connections[1].far", "couples[1].moment", "line_loads[1].at_end",
                 "cable_parts[1].direction", "tensions[1].tension", "bodies[2].name"):  # fmt: skip
        assert path in paths


def test_every_refusal_and_every_word_has_a_case():
    refused, said = set(), set()
    for case in (c for c in cases_of(OWNER.name) if c.family == OWNER.name):
        asks = [*asks_of(OWNER, case.given), *(item.view for item in case.published)]
        found = prove(OWNER, case.given, asks, second_opinion=False, residuals=False).outcomes
        for view, outcome in found.items():
            if isinstance(outcome, NoAnswer):
                refused.add((view.answer, outcome.reason))
            elif isinstance(outcome, Word):
                said.add((view.answer, outcome.word))
    declared = {(n, r) for n, answer in OWNER.answers.items() for r in answer.refusals}
    assert refused == declared, (declared - refused, refused - declared)
    kinds = {n: getattr(answer.kind, "of", answer.kind) for n, answer in OWNER.answers.items()}
    words = {(n, w) for n, k in kinds.items() if isinstance(k, ChoiceKind) for w in k.words}
    assert said == words, words - said
