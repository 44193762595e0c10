"""Trusses: what turning, scaling and adding may not change, refusals with proof, mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Radian, Turn
from refsolver.quantities.kinds import ChoiceKind, NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.trusses.joints import PlaneJoint, SpaceJoint, places_of
from refsolver.statics.chapters.trusses.truss import (
    Member,
    PlaneTruss,
    PlaneTrussLoad,
    PlaneTrussSupport,
    SpaceTrussSupport,
)
from refsolver.statics.givens import walk
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven, Word
from refsolver.statics.registry import family
from tests.shipped_cases import cases_of

PLANE = family("trusses/plane-truss")
SPACE = family("trusses/space-truss")
FAMILIES = pytest.mark.parametrize("owner", [PLANE, SPACE], ids=lambda f: f.name)
UP = ByRun((fmpq(0), fmpq(1)))


def q(*values):
    return tuple(fmpq(v) for v in values)


def truss(places, bars, supports, loads):
    """``places`` by name; bars as "AB"; supports as (kind, joint, direction); loads by joint."""
    return PlaneTruss(
        tuple(PlaneJoint(name, q(*at)) for name, at in places.items()),
        tuple(Member(bar[0], bar[1]) for bar in bars.split()),
        tuple(PlaneTrussSupport(*support) for support in supports),
        tuple(PlaneTrussLoad(Components(q(*force)), joint) for joint, force in loads.items()),
    )


TRIANGLE = {"A": (0, 0), "B": (6, 0), "C": (3, 4)}
HELD = (("pin", "A"), ("roller", "B", UP))


def rafters(**loads):
    return truss(TRIANGLE, "AB AC BC", HELD, loads or {"C": (0, -8)})


def outcome(owner, case, **view):
    ask = View(**view)
    return prove(owner, case, [ask], strict=True).outcomes[ask]


def forces(owner, case):
    asks = [a for a in asks_of(owner, case) if a.answer == "forces"]
    return {a.key: o for a, o in prove(owner, case, asks).outcomes.items()}


def test_rafters_and_tie():
    found = forces(PLANE, rafters())
    assert {key: o.enclosure.middle for key, o in found.items()} == {"AB": 3, "AC": -5, "BC": -5}


whole = st.integers(-30, 30)
pairs = st.tuples(whole, whole)


@settings(max_examples=30, deadline=None)
@given(pairs, pairs, pairs, st.sampled_from([(3, 4, 5), (5, -12, 13), (0, 1, 1)]), pairs)
def test_turning_and_moving_the_whole_changes_no_bar_force(a, b, c, turn, shift):
    """A rotation by a Pythagorean angle, so that everything stays exact."""
    x, y, r = turn

    def turned(v):
        return (fmpq(x * v[0] - y * v[1], r), fmpq(y * v[0] + x * v[1], r))

    def moved(v):
        return tuple(p + s for p, s in zip(turned(v), shift, strict=True))

    case = rafters(A=a, B=b, C=c)
    other = truss(
        {name: moved(at) for name, at in TRIANGLE.items()},
        "AB AC BC",
        (("pin", "A"), ("roller", "B", ByRun(turned((0, 1))))),
        {"A": turned(a), "B": turned(b), "C": turned(c)},
    )
    before, after = forces(PLANE, case), forces(PLANE, other)
    for key in before:
        assert before[key].ball.overlaps(after[key].ball), key


@settings(max_examples=30, deadline=None)
@given(pairs, pairs, pairs, pairs)
def test_loads_add_up(a, b, c, d):
    def summed(u, v):
        return tuple(x + y for x, y in zip(u, v, strict=True))

    one, two = forces(PLANE, rafters(B=a, C=b)), forces(PLANE, rafters(B=c, C=d))
    both = forces(PLANE, rafters(B=summed(a, c), C=summed(b, d)))
    for key in both:
        assert (one[key].ball + two[key].ball).overlaps(both[key].ball)


@settings(max_examples=20, deadline=None)
@given(pairs, st.integers(1, 9))
def test_size_of_the_truss_does_not_matter(load, factor):
    big = truss(
        {name: (x * factor, y * factor) for name, (x, y) in TRIANGLE.items()},
        "AB AC BC", HELD, {"C": load},
    )  # fmt: skip
    before, after = forces(PLANE, rafters(C=load)), forces(PLANE, big)
    assert all(before[key].ball.overlaps(after[key].ball) for key in before)


def test_zero_members_are_exactly_zero_without_asking_the_algebra():
    """A brace idle by symmetry: its ball would hold zero and prove nothing."""
    places = {"A": (0, 0), "B": (4, 0), "C": (8, 0), "D": (12, 0), "E": (4, 3), "F": (8, 3)}
    case = truss(
        places, "AB BC CD AE EF FD BE CF BF", (("pin", "A"), ("roller", "D", UP)), {}
    )  # fmt: skip
    third = Polar(fmpq(7, 3), ByRun(q(0, -1)))
    case = attrs.evolve(case, loads=(PlaneTrussLoad(third, "E"), PlaneTrussLoad(third, "F")))
    asks = [View("forces", key="BF"), View("senses", key="BF"), View("zero_members")]
    reference = prove(PLANE, case, asks)
    assert reference.zeros == ()
    assert reference.bits == 30 * 3322 // 1000 + 21
    values = list(reference.outcomes.values())
    assert values[0].how == "zero"
    assert values[1].word == "zero"
    assert values[2].enclosure.middle == 3


def test_who_moves_and_what_is_open_is_said():
    square = {"A": (0, 0), "B": (2, 0), "C": (2, 2), "D": (0, 2)}
    loose = truss(square, "AB BC CD DA", HELD, {"D": (5, 0)})
    found = outcome(PLANE, loose, answer="forces", key="AB")
    assert found == NoAnswer("mechanism", found.evidence)
    assert "8 equations, 7 of them independent, 7 unknowns" in found.evidence
    assert "free to move: C, D" in found.evidence
    stiff = truss(square, "AB BC CD DA AC BD", HELD, {"D": (5, 0)})
    found = outcome(PLANE, stiff, answer="forces", key="AC")
    assert found.reason == "redundant"
    assert found.evidence.startswith("1 unknowns more")
    assert "member AC" in found.evidence
    assert "A: along x" not in found.evidence


@pytest.mark.parametrize(
    ("supports", "reason"),
    [
        ((("roller", "A", UP), ("roller", "B", UP), ("roller", "C", UP)), "improper constraint"),
        ((("pin", "A"), ("link", "B", ByRun((fmpq(1), fmpq(0))))), "improper constraint"),
        ((("roller", "A", UP), ("roller", "B", UP)), "mechanism"),
    ],
)
def test_supports_that_let_the_whole_move(supports, reason):
    case = truss(TRIANGLE, "AB AC BC", supports, {"C": (1, 0)})
    assert outcome(PLANE, case, answer="forces", key="AB").reason == reason


def test_enough_bars_in_number_but_not_in_place_is_a_mechanism():
    """Three pinned bars in a line: the middle joint moves across, whatever the supports."""
    line = {"A": (0, 0), "B": (5, 0), "C": (9, 0)}
    case = truss(line, "AB BC", (("pin", "A"), ("pin", "C")), {"B": (0, -1)})
    found = outcome(PLANE, case, answer="forces", key="AB")
    assert found.reason == "mechanism"
    assert "free to move: B" in found.evidence
    words = prove(PLANE, case, [View("constraint"), View("degree"), View("free_motions")])
    constraint, degree, free = words.outcomes.values()
    assert (constraint.word, degree.enclosure.middle, free.enclosure.middle) == ("mechanism", 1, 1)


def test_refusals_are_proven_also_on_irrational_geometry():
    """A roller at 20 degrees whose line is turned through the pin."""
    lean = ByAngle(Turn(fmpq(20, 360)))
    far = PlaneJoint("B", None, "A", lean, fmpq(6))
    case = PlaneTruss(
        (PlaneJoint("A", q(0, 0)), far, PlaneJoint("C", q(0, 4))),
        (Member("A", "B"), Member("A", "C"), Member("B", "C")),
        (PlaneTrussSupport("pin", "A"), PlaneTrussSupport("roller", "B", lean)),
        (PlaneTrussLoad(Components(q(1, 0)), "C"),),
    )
    assert outcome(PLANE, case, answer="forces", key="AC").reason == "improper constraint"


def test_joints_laid_off_and_intersected():
    down = ByRun(q(0, -1))
    joints = (
        PlaneJoint("D", None, "C", down, None, "A", ByRun(q(1, 0))),
        PlaneJoint("C", None, "A", ByRun(q(3, 4)), fmpq(10)),
        PlaneJoint("A", q(1, 2)),
    )
    from refsolver.statics.bodies.independence import Rationals

    assert places_of(joints, Rationals()) == {"D": q(7, 2), "C": q(7, 10), "A": q(1, 2)}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"joints": (PlaneJoint("A", q(0, 0)), PlaneJoint("A", q(1, 0)))}, "two joints are called"),
        ({"joints": (PlaneJoint("", q(0, 0)),) * 2}, r"joints\[1\] has no name"),
        ({"joints": (PlaneJoint("A", q(0, 0)), PlaneJoint("B"))}, "state 'at'; or 'from_joint'"),
        (
            {"joints": (PlaneJoint("A", None, "B", UP, fmpq(1)),
                        PlaneJoint("B", None, "A", UP, fmpq(1)))},
            "in a circle",
        ),
        (
            {"joints": (PlaneJoint("A", q(0, 0)), PlaneJoint("B", None, "X", UP, fmpq(1)))},
            "there is no joint 'X'",
        ),
        (
            {"joints": (PlaneJoint("A", q(0, 0)), PlaneJoint("B", q(1, 0)),
                        PlaneJoint("C", None, "A", UP, None, "B", ByRun(q(0, -2))))},
            "parallel",
        ),
        ({"members": (Member("A", "X"),)}, r"members\[1\]: there is no joint 'X'"),
        ({"members": (Member("A", "A"),)}, "has no length"),
        ({"members": (Member("A", "B"), Member("A", "B"))}, "two members go by the name 'AB'"),
        ({"loads": (PlaneTrussLoad(Components(q(1, 0)), "Z"),)}, r"loads\[1\]"),
        ({"supports": (PlaneTrussSupport("pin", "A"),) * 2}, "two supports go by the name 'A'"),
    ],
)  # fmt: skip
def test_a_truss_that_does_not_hang_together_is_refused_in_words(change, message):
    with pytest.raises(ValueError, match=message):
        attrs.evolve(rafters(), **change)


def test_a_support_that_lacks_or_has_too_much_is_refused():
    with pytest.raises(ValueError, match="needs its 'direction'"):
        PlaneTrussSupport("roller", "A")
    with pytest.raises(ValueError, match="takes no 'direction'"):
        SpaceTrussSupport("ball", "A", ByRun(q(1, 0, 0)))


def test_members_are_called_by_name_or_by_their_joints():
    case = PlaneTruss(
        (PlaneJoint("A1", q(0, 0)), PlaneJoint("B", q(6, 0)), PlaneJoint("C", q(3, 4))),
        (Member("A1", "B"), Member("B", "C"), Member("A1", "C", "left rafter")),
        (PlaneTrussSupport("pin", "A1"), PlaneTrussSupport("roller", "B", UP)),
        (PlaneTrussLoad(Components(q(0, -8)), "C"),),
    )
    assert list(forces(PLANE, case)) == ["A1-B", "BC", "left rafter"]


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven_and_as_hard_as_asked(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"
        largest = max(abs(float(o.ball)) for o in forces(owner, case).values())
        assert largest > kappa[0]


@FAMILIES
def test_filled_tables_have_the_rows_asked_and_every_row_matters(owner):
    extra = 0 if owner is PLANE else 2
    rows = {"joints": 6, "members": 9 + 3 * (extra > 0), "supports": 2 + extra, "loads": 3}
    case = owner.filled(rows, random.Random(1))
    assert {name: len(getattr(case, name)) for name in rows} == rows
    assert outcome(owner, case, answer="constraint").word == "determinate"
    before = forces(owner, case)
    assert not any(o.how == "zero" for o in before.values())
    for i in range(rows["loads"]):
        kept = tuple(x for j, x in enumerate(case.loads) if j != i)
        after = forces(owner, attrs.evolve(case, loads=kept))
        assert any(not before[key].ball.overlaps(after[key].ball) for key in before), i
    assert owner.filled({**rows, "members": 99}, random.Random(1)) is None


@FAMILIES
@pytest.mark.parametrize("supports", [2, 3, 4, 5])
def test_other_numbers_of_supports_are_filled_where_they_can_be(owner, supports):
    space = owner.space
    held = {2: {2: 3, 3: 4, 4: 5, 5: 6}, 3: {2: None, 3: None, 4: 6, 5: 7}}[space][supports]
    if held is None:
        return
    rows = {"joints": 7, "members": 7 * space - held, "supports": supports, "loads": 4}
    case = owner.filled(rows, random.Random(2))
    assert outcome(owner, case, answer="constraint").word == "determinate"


@FAMILIES
def test_every_mistake_shows_on_some_case(owner):
    cases = [owner.propose((1, 10), random.Random(seed)) for seed in range(12)]
    leaning = SpaceTrussSupport("roller", "2", ByRun(q(1, 1, 3)), "2 up")
    if owner is SPACE:
        old = cases[0].supports
        cases.append(attrs.evolve(cases[0], supports=(old[0], leaning, *old[2:])))
    ar = DoubleArithmetic()
    for mistake in owner.mistakes:
        assert any(_shows(owner, mistake, case, ar) for case in cases), mistake.name


def _shows(owner, mistake, case, ar):
    right = owner.solve(case, ar, owner.rule_set()).answers
    if mistake.rules:
        wrong = owner.solve(case, ar, owner.rule_set(mistake.rules)).answers
    elif mistake.givens:
        changed = mistake.givens(case)
        if changed is None:
            return False
        wrong = owner.solve(changed, ar, owner.rule_set()).answers
    else:
        wrong = mistake.answers(case, right, ar)
    return any(right[name] != wrong[name] for name in ("forces", "reactions"))


@FAMILIES
def test_figures_are_drawn_also_where_nothing_is_answered(owner):
    ar = DoubleArithmetic()
    case = owner.propose((1, 10), random.Random(5))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.space == owner.space
    assert any(getattr(part, "role", "") == "answer" for part in drawing.parts)
    loose = attrs.evolve(case, supports=case.supports[:1])
    answers = owner.solve(loose, ar, owner.rule_set()).answers
    assert owner.figure(loose, answers, ar).parts


def test_a_section_that_does_not_close_is_seen():
    case = rafters()
    ar = EnclosureArithmetic()
    answers = dict(PLANE.solve(case, ar, PLANE.rule_set()).answers)
    assert all(r.value.contains(0) for r in PLANE.check(case, answers, ar))
    answers["forces"] = {**answers["forces"], "AC": answers["forces"]["AC"] + 1}
    assert any(not r.value.contains(0) for r in PLANE.check(case, answers, ar))


IDLE_PLACES = {"A": (0, 0), "B": (4, 0), "C": (2, -3), "D": (7, 1), "P": (3, 4), "Q": (5, 5)}


@pytest.mark.parametrize("first", ["P", "Q", "D", "C"])
def test_idle_members_close_in_whatever_order_the_joints_stand(first):
    """A section that cuts idle members alone leaves nothing but rounding to be judged by."""
    order = [first, *(name for name in IDLE_PLACES if name != first)]
    leaning = ("roller", "B", ByAngle(Turn(fmpq(100, 360))))
    given = truss(
        {name: IDLE_PLACES[name] for name in order},
        "AC BC AB PA PB QP QB DB DQ",
        (("pin", "A"), leaning),
        {},
    )
    loads = [
        PlaneTrussLoad(Polar(fmpq(10), ByAngle(Turn(fmpq(degrees, 360)))), joint)
        for joint, degrees in (("C", 233), ("A", 31))
    ]
    given = attrs.evolve(given, loads=tuple(loads))
    reference = prove(PLANE, given, asks_of(PLANE, given), digits=20)
    assert reference.residuals == "close"
    assert reference.second_opinion == "agrees"
    senses = {v.key: o.word for v, o in reference.outcomes.items() if v.answer == "senses"}
    assert {key for key, word in senses.items() if word == "zero"} == {
        "PA", "PB", "QP", "QB", "DB", "DQ",
    }  # fmt: skip


def test_every_leaf_has_a_path():
    case = attrs.evolve(rafters(), joints=(*rafters().joints, SPACE_LIKE))
    paths = [path for path, _, _ in walk(case)]
    assert "joints[4].distance" in paths
    assert "members[2].start" in paths
    assert "supports[2].direction" in paths
    assert "loads[1].force" in paths


SPACE_LIKE = PlaneJoint("D", None, "C", UP, fmpq(2))


def test_a_proven_sense_has_its_margin():
    answers = PLANE.solve(rafters(), EnclosureArithmetic(), PLANE.rule_set()).answers
    assert answers["senses"]["AC"].word == "compression"
    assert answers["senses"]["AC"].margins["AC"] == -1
    assert isinstance(outcome(PLANE, rafters(), answer="forces", key="AB"), Proven)
    assert SpaceJoint("A", q(0, 0, 0)).distance is None


@FAMILIES
def test_every_refusal_and_every_word_has_a_case(owner):
    refused, said = set(), set()
    for case in (c for c in cases_of(owner.name) if c.family == owner.name):
        asks = [*asks_of(owner, case.given), *(item.view for item in case.published)]
        found = prove(owner, case.given, asks, second_opinion=False, residuals=False).outcomes
        for view, outcome in found.items():
            if isinstance(outcome, NoAnswer):
                refused.add((view.answer, outcome.reason))
            elif isinstance(outcome, Word):
                said.add((view.answer, outcome.word))
    declared = {(n, r) for n, answer in owner.answers.items() for r in answer.refusals}
    assert refused == declared, (declared - refused, refused - declared)
    kinds = {n: getattr(answer.kind, "of", answer.kind) for n, answer in owner.answers.items()}
    words = {(n, w) for n, k in kinds.items() if isinstance(k, ChoiceKind) for w in k.words}
    assert said == words, words - said


PANELS = {"A": (0, 0), "B": (2, 0), "C": (4, 0), "D": (0, 2), "E": (2, 2), "F": (4, 2)}
FRAME = "AB BC DE EF AD BE CF"


@pytest.mark.parametrize("diagonals", ["AE BD", "AE BD BF", "AE BF", "AE BD CE BF", "AE"])
@pytest.mark.parametrize("force", [(2, -3), (0, 0)])
def test_what_holds_at_every_slope_is_proven_for_one_in_radians(diagonals, force):
    """A roller at 1.2 rad, of which algebra knows nothing, and one on a slope of 5 : 2."""
    told = []
    for direction in (ByAngle(Radian(fmpq(6, 5))), ByRun((fmpq(2), fmpq(5)))):
        supports = (("pin", "A"), ("roller", "C", direction))
        case = truss(PANELS, f"{FRAME} {diagonals}", supports, {"F": force})
        views = [View("constraint", "word"), View("degree"), View("free_motions")]
        views += [View("forces", key=key) for key in ("AE", "AD", "EF")]
        reference = prove(PLANE, case, views, strict=True)
        found = reference.outcomes.values()
        assert reference.residuals == "close" and reference.second_opinion == "agrees"
        told.append(
            [
                x.reason if isinstance(x, NoAnswer) else x if isinstance(x, Word) else type(x)
                for x in found
            ]
            + [x.ball for x in list(found)[1:3]]
        )
    assert told[0] == told[1]
