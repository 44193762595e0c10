"""Inverse questions: what a forward solve gives leads back to the given it came from."""

from __future__ import annotations

import random

import pytest
from flint import arb, fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.quantities.views import View
from refsolver.statics.finding import finding, sought_between
from refsolver.statics.givens import leaf, walk
from refsolver.statics.prover import NotProven, Proven, prove
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
