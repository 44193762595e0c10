"""Inverse questions: what a forward solve gives leads back to the given it came from."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import arb, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Radian, Turn
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, NUMBER
from refsolver.quantities.leaves import ByAngle, Polar
from refsolver.quantities.views import View, checked
from refsolver.statics.contract import quantity
from refsolver.statics.finding import _root_near, finding, sought_between
from refsolver.statics.forces.systems import PlaneForceAt
from refsolver.statics.givens import leaf, walk
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import family

BELT = """
title = "A made-up case"
family = "friction/belt"
statement = "Made up for a test."
[source]
kind = "constructed"
by = "made up"
[given]
friction = "to find"
lap = "{lap}"
tension = "2 kN"
{more}
[find]
between = {between}
{answer}
"""
SLACK = 'answer = "slack"\nvalue = "40 N"'


def read(tmp_path, lap="720 deg", more="", between='["0.01", "1"]', answer=SLACK):
    path = tmp_path / "case.toml"
    path.write_text(
        BELT.format(lap=lap, more=more, between=between, answer=answer), encoding="utf-8"
    )
    return read_case(path, "case", Catalogue().works)


def complaint(tmp_path, **changes):
    with pytest.raises(CaseFileError) as caught:
        read(tmp_path, **changes)
    return str(caught.value)


def found_of(case, digits=30):
    reference = prove(family(case.family), case.given, [View("found")], digits=digits, strict=True)
    return reference.outcomes[View("found")]


def test_the_capstan_equation_by_hand(tmp_path):
    # common practice, no source: mu = ln(T1 / T2) / beta
    outcome = found_of(read(tmp_path), digits=50)
    assert isinstance(outcome, Proven)
    assert outcome.ball.overlaps(arb(50).log() / (4 * arb.pi()))
    assert outcome.digits >= 50


@pytest.mark.parametrize("seed", range(25))
def test_a_resultant_leads_back_to_any_of_its_forces(seed):
    """A forward solve at known givens is the inverse question's known answer."""
    rng = random.Random(seed)
    base = family("concurrent-forces/plane-resultant")
    given = base.propose((1.0, 10.0), rng)
    view = View("resultant", "component", along="+x")
    path = f"forces[{rng.randrange(len(given.forces)) + 1}].force"
    here = leaf(given, path)
    truth = here.magnitude
    ends = [here.__class__(end, here.direction) for end in (truth / 3 - 1, truth * 3 + 1)]
    sought = sought_between(*ends, path)
    assert sought.name == f"{path}.magnitude"
    known = prove(base, given, [view], digits=60).outcomes[view]
    inverse = finding(base.name, path, sought.inside, view)
    own = {a: getattr(given, a) for a in ("forces",)}
    question = inverse.givens(**own, known_answer=known.enclosure.middle, sought=sought)
    outcome = prove(inverse, question, [View("found")], digits=30).outcomes[View("found")]
    if isinstance(outcome, NotProven):  # a force along y has no part in this component
        assert "no change of sign" in outcome.why
        assert abs(here.direction.angle.turns * 4 % 2) == 1
        return
    assert abs(outcome.enclosure.middle - truth) < fmpq(1, 10**25)


def test_an_unknown_is_no_given_to_hand_over(tmp_path):
    case = read(tmp_path)
    paths = [path for path, _, _ in walk(case.given)]
    assert "friction" not in paths
    assert "known_answer" in paths


def test_no_root_in_the_bracket_is_not_proven_and_says_so(tmp_path):
    outcome = found_of(read(tmp_path, between='["0.5", "1"]'), digits=10)
    assert isinstance(outcome, NotProven)
    assert "no change of sign over the bracket" in outcome.why


def test_an_angle_is_found_in_turns():
    base = family("friction/belt")
    view = View("ratio")
    inverse = finding("friction/belt", "lap", (), view)
    own = {"friction": fmpq(1, 4), "lap": Turn(fmpq(0)), "tension": fmpq(1)}
    sought = sought_between(Turn(fmpq(1, 100)), Turn(fmpq(5)), "lap")
    given = inverse.givens(**own, known_answer=fmpq(3), sought=sought)
    outcome = prove(inverse, given, [View("found")]).outcomes[View("found")]
    assert outcome.ball.overlaps(arb(3).log() * 4 / (2 * arb.pi()))
    assert inverse.answers["found"].kind.dimension.name == "angle"
    assert family(inverse.name) is inverse
    assert base.name in inverse.name


def test_a_leaf_that_is_not_the_only_way_in_is_refused(monkeypatch):
    """A family that works a second leaf out of the first: the unknown does not reach it."""
    base = family("friction/belt")
    inverse = finding("friction/belt", "tension", (), View("difference"))
    honest = type(base).solve

    def solve(self, given, ar, rules):
        solution = honest(self, given, ar, rules)
        beyond = ar.bring(given.tension * fmpq(1, 10))  # an exact detour
        answers = {**solution.answers, "difference": solution.answers["difference"] + beyond}
        return type(solution)(answers, solution.working)

    sought = sought_between(fmpq(1), fmpq(100), "tension")
    own = {"friction": fmpq(1, 4), "lap": Turn(fmpq(1, 2)), "tension": fmpq(1)}
    given = inverse.givens(**own, known_answer=fmpq(9), sought=sought)
    assert isinstance(prove(inverse, given, [View("found")]).outcomes[View("found")], Proven)
    monkeypatch.setattr(type(base), "solve", solve)
    monkeypatch.setattr(type(base), "check", lambda *_: [])
    reference = prove(inverse, given, [View("found")])
    assert "tension enters by one leaf only" in reference.residuals
    assert isinstance(reference.outcomes[View("found")], NotProven)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"between": '["0.1"]'}, "find.between: two texts are expected"),
        ({"lap": "to find"}, "2 givens say 'to find'"),
        ({"between": '["0.1", "0.1"]'}, "the two ends change 0 givens, not one"),
        ({"between": '["0.1", "-0.1"]'}, "must be not negative"),
        ({"answer": 'answer = "slack"'}, "find.value: the known answer is missing"),
        ({"answer": 'answer = "slack"\nvalue = "40"'}, "'40' has no unit; it is force"),
        ({"answer": 'answer = "slack"\nvalue = "40 m"'}, "'40 m' is length, but slack is force"),
        ({"answer": 'answer = "slip"\nvalue = "1"'}, "answer = 'slip'"),
        ({"answer": SLACK + "\nfar = 1"}, "find.far: unknown key"),
    ],
)
def test_complaints_name_the_key(tmp_path, changes, said):
    assert said in complaint(tmp_path, **changes)


def test_two_ends_that_differ_in_kind_or_place_are_refused():
    with pytest.raises(ValueError, match="angles of one kind"):
        sought_between(fmpq(1), Turn(fmpq(1)), "lap")
    with pytest.raises(ValueError, match="in 2 places"):
        sought_between((fmpq(1), fmpq(2)), (fmpq(3), fmpq(4)), "point")


SYSTEM = family("force-systems/single-force")
MOMENT = View("moment", "value")


def one_force(path, inside, low, high, view, known, force):
    """What in one force placed in the plane leads to a known answer: family and question."""
    inverse = finding(SYSTEM.name, path, inside, view)
    given = inverse.givens(
        forces=(PlaneForceAt(force, (fmpq(4), fmpq(0))),), known_answer=known,
        sought=sought_between(low, high, path),
    )  # fmt: skip
    return inverse, given


DOWN = Polar(fmpq(6), ByAngle(Turn(fmpq(-1, 4))))


def test_a_coordinate_of_a_point_is_found():
    """6 down at x turns by -6 x: 30 clockwise at x = 5, whatever y is."""
    inverse, given = one_force(
        "forces[1].at", (0,), (fmpq(1), fmpq(2)), (fmpq(9), fmpq(2)), MOMENT, fmpq(-30), DOWN
    )
    assert given.sought.name == "forces[1].at.0"
    assert inverse.answers["found"].kind.dimension == LENGTH
    reference = prove(inverse, given, [View("found"), View("resultant", "magnitude")])
    assert reference.residuals == "close" and reference.second_opinion == "agrees"
    found, size = (outcome.ball for outcome in reference.outcomes.values())
    assert found.overlaps(arb(5)) and size.overlaps(arb(6))


def test_the_angle_of_a_force_is_found_in_turns():
    """6 at 4 along x turns by 24 sin of its angle: 12 at 30 degrees."""
    ends = [Polar(fmpq(6), ByAngle(Turn(fmpq(turns, 100)))) for turns in (1, 20)]
    inverse, given = one_force(
        "forces[1].force", ("direction", "angle"), *ends, MOMENT, fmpq(12), DOWN
    )
    assert inverse.answers["found"].kind.dimension == ANGLE
    assert prove(inverse, given, [View("found")]).outcomes[View("found")].ball.overlaps(arb(1) / 12)


PULL = """
title = "A made-up case"
family = "components/space-rectangular"
statement = "44 N, of which 22 N along x; made up for a test."
[source]
kind = "constructed"
by = "made up"
[given]
force = { magnitude = "44 N", %s }
[find]
between = ["%s", "%s"]
answer = "force"
take = "component"
along = "+x"
value = "22 N"
"""


def read_pull(tmp_path, direction, low, high):
    path = tmp_path / "case.toml"
    path.write_text(PULL % (direction, low, high), encoding="utf-8")
    return read_case(path, "case", Catalogue().works)


@pytest.mark.parametrize(
    ("direction", "low", "high"),
    [
        ('azimuth = "to find"', "10 deg", "80 deg"),
        ('azimuth = "0 deg", elevation = "to find"', "10 deg", "80 deg"),
        ('axis_angles = { x = "to find", y = "45 deg", sense = "+z" }', "46 deg", "80 deg"),
        ('axis_angles = { x = "to find", y = "60 deg", sense = "+z" }', "0.6 rad", "1.2 rad"),
    ],
)
def test_an_angle_of_a_force_in_space_is_found_as_an_angle(tmp_path, direction, low, high):
    """The cosine of 60 degrees is a half, whichever angle it belongs to."""
    case = read_pull(tmp_path, direction, low, high)
    inverse = family(case.family)
    assert inverse.answers["found"].kind.dimension == ANGLE
    assert abs(found_of(case).enclosure.middle - fmpq(1, 6)) < fmpq(1, 10**25)


@pytest.mark.parametrize(
    ("direction", "low", "high"),
    [
        ('run = ["to find", "1", "0"]', "0", "5"),
        ('slope = { "-x" = "to find", "+y" = "1" }', "1", "5"),
        ('points = [["1 m", "0 m", "0 m"], ["to find", "2 m", "0 m"]]', "0 m", "5 m"),
        ('azimuth = "to find"', "1:2", "3:2"),
    ],
)
def test_one_side_of_a_slope_is_not_found(tmp_path, direction, low, high):
    """Whether it is a number or a length, and from where it is counted, is not known of it."""
    with pytest.raises(CaseFileError, match="find that") as caught:
        read_pull(tmp_path, direction, low, high)
    assert "find: force: one side of a slope is no answer by itself" in str(caught.value)


def test_the_working_begins_with_what_was_known_and_found():
    inverse = finding("friction/belt", "friction", (), View("slack"))
    sought = sought_between(fmpq(1, 100), fmpq(1), "friction")
    own = {"friction": fmpq(1, 4), "lap": Turn(fmpq(2)), "tension": fmpq(2000)}
    given = inverse.givens(**own, known_answer=fmpq(40), sought=sought)
    reference = prove(inverse, given, [View("found")])
    first, *rest = reference.sheets()
    assert first.title == "Value found"
    assert [(c.head, c.dimension) for c in first.columns] == [("known", FORCE), ("found", NUMBER)]
    known, found = first.rows[0].cells
    assert known.lower == known.upper == 40
    assert found == reference.outcomes[View("found")].enclosure
    base = family("friction/belt")
    direct = prove(base, base.givens(**own | {"friction": found.middle}), [View("slack")])
    assert [sheet.title for sheet in rest] == [sheet.title for sheet in direct.sheets()]
    assert "slack" in inverse.title and "friction" in inverse.title
    assert inverse.method.startswith(base.method) and inverse.method != base.method
    assert inverse.second_method.startswith(base.second_method)
    assert inverse.caution == base.caution != ""
    with pytest.raises(NotImplementedError, match="no generator of cases"):
        inverse.propose((1.0, 2.0), random.Random(1))
    assert {m.name for m in inverse.mistakes} == {m.name for m in base.mistakes if m.rules}


def test_the_figure_is_that_of_the_question_at_the_value_found():
    inverse, given = one_force(
        "forces[1].at", (0,), (fmpq(1), fmpq(0)), (fmpq(9), fmpq(0)), MOMENT, fmpq(-30), DOWN
    )
    ar = DoubleArithmetic()
    answers = inverse.solve(given, ar, inverse.rule_set()).answers
    base = SYSTEM.givens(forces=(PlaneForceAt(DOWN, (fmpq(5), fmpq(0))),))
    direct = SYSTEM.solve(base, ar, SYSTEM.rule_set()).answers
    assert inverse.figure(given, answers, ar) == SYSTEM.figure(base, direct, ar)


def test_a_question_that_the_answer_does_not_reach_is_not_proven():
    """At no force at all there is no angle to be compared with the known one."""
    view = checked(View("resultant", "angle"), SYSTEM.answers["resultant"].kind)
    ends = [Polar(fmpq(size), DOWN.direction) for size in (-1, 1)]
    inverse, given = one_force("forces[1].force", ("magnitude",), *ends, view, Turn(fmpq(1)), DOWN)
    (outcome,) = prove(inverse, given, [View("found")]).outcomes.values()
    assert isinstance(outcome, NotProven)
    complete = inverse.complete(given, fmpq(0))
    with pytest.raises(Undecided, match=r"asked \(no number at a trial value: ") as caught:
        inverse._apart(given, complete, DoubleArithmetic(), inverse.rule_set(), "asked")
    assert caught.value.name == "asked"


def test_an_estimate_that_misses_is_made_good_over_the_whole_bracket():
    sought = sought_between(fmpq(0), fmpq(2), "x")
    for estimate in (fmpq(1, 3), fmpq(14142135623731, 10**13)):
        root = _root_near(
            estimate, sought, lambda x: x * x - 2, lambda x: 2 * x, "x", EnclosureArithmetic()
        )
        assert root.overlaps(arb(2).sqrt()) and root.rel_accuracy_bits() > 40


def test_what_cannot_be_inverted_is_told():
    with pytest.raises(ValueError, match="no given 'grip'"):
        finding("friction/belt", "grip", (), View("slack"))
    with pytest.raises(ValueError, match="is not a number"):
        finding(SYSTEM.name, "forces[1].name", (), MOMENT)
    with pytest.raises(ValueError, match="angles of one kind"):
        sought_between(Radian(fmpq(1)), Turn(fmpq(1)), "lap")
    with pytest.raises(ValueError, match="angles of one kind"):
        sought_between(Turn(fmpq(1)), Radian(fmpq(1)), "lap")
    low, high = (Polar(fmpq(size), DOWN.direction) for size in (1, 2))
    sought = sought_between(low, high, "force")
    assert (sought.low, sought.high, sought.template) == (1, 2, low)
    inverse, given = one_force("forces[1].force", ("magnitude",), low, high, MOMENT, fmpq(1), DOWN)
    with pytest.raises(ValueError, match="names reserved"):
        finding(inverse.name, "forces[1].at", (0,), MOMENT)
    with pytest.raises(AttributeError):
        given.known_answer = fmpq(2)


@pytest.mark.parametrize("taken", ["answers", "givens"])
def test_a_family_that_uses_a_reserved_name_is_not_inverted(taken, monkeypatch):
    base = family("friction/belt")
    if taken == "answers":
        changed = {**base.answers, "found": base.answers["slack"]}
    else:
        own = {"known_answer": quantity(FORCE, "made up")}
        changed = attrs.make_class("Own", own, bases=(base.givens,), kw_only=True)
    monkeypatch.setattr(type(base), taken, changed)
    with pytest.raises(ValueError, match="names reserved"):
        finding(base.name, f"not yet asked: {taken}", (), View("slack"))


def test_a_direction_is_no_number_but_its_angles_are():
    name, view = "force-systems/parallel-space", View("resultant", "component", along="+x")
    with pytest.raises(ValueError, match="along is not a number"):
        finding(name, "along", (), view)
    inverse = finding(name, "along", ("azimuth",), view)
    assert inverse.answers["found"].kind.dimension == ANGLE
    assert inverse.answers["found"].says == "along.azimuth"
