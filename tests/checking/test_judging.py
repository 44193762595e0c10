"""The table of verdicts, pair by pair, and what surrounds it; the prover is the real one."""

from __future__ import annotations

import math
from fractions import Fraction
from math import isqrt

import attrs
import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.contract import Failure, Received
from refsolver.calculators.file import Refusals
from refsolver.calculators.lines import OutputLine, WordReading
from refsolver.checking.equality import SolvedByAlgebra, proven_equal
from refsolver.checking.judging import VERDICTS, _least_square, _wider, judge
from refsolver.quantities import dimensions
from refsolver.quantities.kinds import ChoiceKind
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View, checked
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Reference, Word
from refsolver.statics.registry import family

OWNER = family("concurrent-forces/plane-resultant")
SYSTEM = UnitSystem.of([read_unit("lbf")])
REFUSALS = Refusals(texts=("No direction",), errors=("#N/A",), exit_codes=(7,))


def forces(*components):
    return PlaneForces(tuple(PlaneForce(Components((fmpq(x), fmpq(y)))) for x, y in components))


RIGHT = forces((30, 0), (0, 40))
BALANCED = forces((30, 40), (-30, -40))


def judged(lines, values, given=RIGHT, refusals=REFUSALS, failure=None, reference=None):
    views = [line.view for line in lines]

    def reprove(digits):
        return prove(OWNER, given, views, digits=digits)

    def exactly(line, value):
        return proven_equal(SolvedByAlgebra(OWNER, given), SYSTEM, line, value)

    return judge(
        lines, Received(values, failure=failure), refusals, reference or reprove(30), reprove,
        given, SYSTEM, exactly,
    )  # fmt: skip


NUMBER = {"number": "50.001"}
WRONG = {"number": "51"}
REFUSAL = {"text": "  no DIRECTION "}
ERROR = {"error": "#DIV/0!"}
LISTED_ERROR = {"error": "#N/A"}
BLANK = {"blank": True}
UNREADABLE = {"text": "about fifty"}


@pytest.mark.parametrize(
    ("reported", "verdict"),
    [
        (NUMBER, "pass"),
        (WRONG, "fail"),
        (REFUSAL, "refused"),
        (LISTED_ERROR, "refused"),
        (ERROR, "error"),
        (UNREADABLE, "error"),
        ({"text": "******"}, "error"),
        ({"text": "50 60"}, "error"),
        ({"text": "50 deg"}, "error"),  # another dimension than the line's
        (BLANK, "no answer"),
        ({"text": " "}, "no answer"),
        ({"text": "50.001 lbf"}, "pass"),
        ({"text": "222.415 N"}, "pass"),
    ],
)
def test_where_a_value_is_expected(size, reported, verdict):
    (finding,) = judged([size], {"R": reported})
    assert finding.verdict == verdict, finding


@pytest.mark.parametrize(
    ("reported", "magnitude", "verdict"),
    [
        (REFUSAL, "0", "pass"),
        (LISTED_ERROR, "0", "pass"),
        (ERROR, "0", "error"),
        (UNREADABLE, "0", "error"),
        (BLANK, "0", "no answer"),
        ({"number": "127.3"}, "0", "not applicable"),
        ({"number": "127.3"}, "6e-14", "not applicable"),
        ({"number": "127.3"}, "0.02", "fail"),  # the size is not rightly reported as zero
        (REFUSAL, "0.02", "pass"),
    ],
)
def test_where_a_refusal_is_expected(size, turn, reported, magnitude, verdict):
    first, second = judged([size, turn], {"R": {"number": magnitude}, "A": reported}, BALANCED)
    assert first.verdict == ("fail" if magnitude == "0.02" else "pass")
    assert second.verdict == verdict, second
    assert second.expected == "no answer: no direction"


def test_a_blank_may_count_as_a_refusal(size, turn):
    blank = Refusals(blank=True)
    values = {"R": {"number": "0"}, "A": BLANK}
    assert [f.verdict for f in judged([size, turn], values, BALANCED, blank)] == ["pass"] * 2
    assert [f.verdict for f in judged([size, turn], values | {"R": BLANK}, RIGHT, blank)] == [
        "refused", "refused",
    ]  # fmt: skip


@pytest.mark.parametrize("reported", [NUMBER, REFUSAL, ERROR, BLANK])
def test_what_is_not_proven_is_never_judged(size, reported):
    reference = Reference(30, 200, {size.view: NotProven("too narrow")}, {}, (), ())
    (finding,) = judged([size], {"R": reported}, reference=reference)
    assert finding.verdict == "not proven" and finding.why == "too narrow"


@pytest.mark.parametrize("kind", ["crash", "timeout", "exit code", "exception", "garbage"])
def test_a_calculator_that_fails_is_an_error_everywhere(size, turn, kind):
    found = judged([size, turn], {}, failure=Failure(kind, "as seen"))
    assert [f.verdict for f in found] == ["error", "error"]
    assert all(kind in f.why and "as seen" in f.why for f in found)


def test_an_exit_code_of_refusal_is_judged_by_the_table(size, turn):
    found = judged([size, turn], {}, BALANCED, failure=Failure("refusal", "exit code 7"))
    assert [f.verdict for f in found] == ["refused", "pass"]


def test_a_missing_place_is_blank(size):
    assert judged([size], {})[0].verdict == "no answer"


def test_the_direction_of_what_cannot_be_told_from_zero(size, turn):
    """A balance handed over in doubles leaves 1e-13 lbf and some proven direction."""
    nearly = forces((30, 40), (fmpq(-30) + fmpq(1, 10**13), -40))
    for reported in ({"number": "10"}, REFUSAL):
        _, found = judged([size, turn], {"R": {"number": "0"}, "A": reported}, nearly)
        assert found.verdict == "not applicable" and "told from zero" in found.why
    _, right = judged([size, turn], {"R": {"number": "0"}, "A": {"number": "90"}}, nearly)
    assert right.verdict == "pass"
    _, error = judged([size, turn], {"R": {"number": "0"}, "A": ERROR}, nearly)
    assert error.verdict == "error"


def test_a_direction_is_excused_only_beside_its_size(size, turn, line):
    nearly = forces((30, 40), (fmpq(-30) + fmpq(1, 10**13), -40))
    relative = line(View("resultant", "magnitude"), "lbf", {"relative": "1 %"}, "R")
    across = line(View("resultant", "component", along="+x"), "lbf", {"absolute": "1 lbf"}, "X")
    wrong = {"A": {"number": "10"}, "R": {"number": "1e-13"}, "X": {"number": "0"}}
    assert judged([turn], wrong, nearly)[0].verdict == "fail"
    assert judged([relative, turn], wrong, nearly)[1].verdict == "fail"
    assert judged([across, turn], wrong, nearly)[1].verdict == "fail"  # it may point up


def test_angles_wrap(turn):
    down = forces((-1, 1000))  # just left of straight up: 359.94 degrees
    for reported in ("359.9427", "-0.0573", "719.9427"):
        assert judged([turn], {"A": {"number": reported}}, down)[0].verdict == "pass"
    assert judged([turn], {"A": {"number": "0.0573"}}, down)[0].verdict == "fail"


def test_stored_and_displayed_are_two_findings(size):
    found = judged([size], {"R": {"number": "50.001", "displayed": "50"}})
    assert [(f.judged, f.verdict) for f in found] == [("stored", "pass"), ("displayed", "pass")]
    found = judged([size], {"R": {"number": "50.001", "displayed": "49"}})
    assert [f.verdict for f in found] == ["pass", "fail"]
    found = judged([size], {"R": {"number": "50.001", "displayed": "####"}})
    assert [f.verdict for f in found] == ["pass", "error"]


@pytest.mark.parametrize(
    ("judge_which", "judged_readings"),
    [("stored", ["stored"]), ("displayed", ["displayed"]), ("both", ["stored", "displayed"])],
)
def test_which_reading_is_judged_may_be_said(size, judge_which, judged_readings):
    line = attrs.evolve(size, judge=judge_which)
    found = judged([line], {"R": {"number": "50", "displayed": "50.0"}})
    assert [f.judged for f in found] == judged_readings


def test_a_display_is_judged_under_its_own_rounding(size):
    """50.001 shown in tens is 50; 54 shown as 50 passes as displayed, fails as stored."""
    found = judged([size], {"R": {"number": "49.99", "displayed": "5.0e1"}})
    assert [f.verdict for f in found] == ["pass", "pass"]
    thirds = forces((0, fmpq(100, 3)))
    found = judged([size], {"R": {"number": "33.333333", "displayed": "33"}}, thirds)
    assert [f.verdict for f in found] == ["pass", "pass"]
    found = judged([size], {"R": {"number": "33.333333", "displayed": "34"}}, thirds)
    assert [f.verdict for f in found] == ["pass", "fail"]


def test_a_display_that_is_judged_alone_is_held_to_the_criterion(size):
    """With nothing behind it that is held to 0.1 %, whole pounds are no excuse for half a pound."""
    alone = attrs.evolve(size, judge="displayed")
    given = forces((0, fmpq(503, 10)))
    for text, verdict in (("50", "fail"), ("5E1", "fail"), ("50.3", "pass")):
        (found,) = judged([alone], {"R": {"number": "50.3", "displayed": text}}, given)
        assert (found.judged, found.verdict) == ("displayed", verdict), text


def test_a_display_that_is_judged_alone_and_not_known_is_no_answer(size):
    """The number behind it is another reading than the one that was to be judged."""
    alone = attrs.evolve(size, judge="displayed")
    (found,) = judged([alone], {"R": {"number": "50"}})
    assert (found.judged, found.verdict) == ("displayed", "no answer")
    assert "not known" in found.why
    (found,) = judged([size], {"R": {"number": "50"}})
    assert (found.judged, found.verdict) == ("stored", "pass")


def test_a_value_out_of_all_proportion_fails_and_has_no_figures_beyond_doubles(size):
    for reported in ("1.7e308", "-1e300"):
        (found,) = judged([size], {"R": {"number": reported}}, forces((0, fmpq(1, 10**9))))
        assert found.verdict == "fail" and found.measures is not None
        figures = (found.measures.relative, found.measures.digits)
        assert all(x is None or math.isfinite(x) for x in figures), figures


def test_a_tie_is_proven_and_allowed(line):
    """The resultant is 50.05 exactly; 50.0 and 50.1 are both half a step away."""
    shown = line(
        View("resultant", "magnitude"), "lbf", {"rounded_to": "0.1 lbf", "manner": "nearest"}, "R"
    )
    given = forces((fmpq(3003, 100), fmpq(4004, 100)))
    for text, verdict in (("50.0", "pass"), ("50.1", "pass"), ("50.2", "fail"), ("49.9", "fail")):
        (finding,) = judged([shown], {"R": {"text": text}}, given)
        assert finding.verdict == verdict, (text, finding)


def test_a_tie_with_an_irrational_is_decided_by_more_digits(line):
    """sqrt(2) printed to 40 decimals: far more than the 30 digits asked at first."""
    shown = line(
        View("resultant", "magnitude"), "lbf", {"rounded_to": "1e-40 lbf", "manner": "nearest"}, "R"
    )
    given = forces((1, 0), (0, 1))
    right = "1.4142135623730950488016887242096980785697"  # OEIS A002193
    assert judged([shown], {"R": {"text": right}}, given)[0].verdict == "pass"
    assert judged([shown], {"R": {"text": right[:-1] + "8"}}, given)[0].verdict == "fail"


def components(line, **criterion):
    return [
        line(
            View("resultant", "component", along=axis), "lbf", criterion | {"as_vector": True}, axis
        )
        for axis in ("+x", "+y")
    ]


@pytest.mark.parametrize(
    ("x", "y", "verdict"),
    [
        ("30.3", "40.4", "pass"),  # 0.3-0.4-0.5: the length of the deviation is the limit
        ("30.4", "40.4", "fail"),  # each within half a pound, the vector not
        ("30.5", "40", "pass"),
        ("30", "39.4999", "fail"),
    ],
)
def test_components_judged_as_a_vector(line, x, y, verdict):
    lines = components(line, absolute="0.5 lbf")
    found = judged(lines, {"+x": {"number": x}, "+y": {"number": y}})
    assert [f.verdict for f in found] == [verdict] * 2
    assert {f.why for f in found} == {"judged as a vector"}


@pytest.mark.parametrize(("y", "verdict"), [("0.4", "pass"), ("0.400000000000000001", "fail")])
def test_a_vector_on_its_very_limit_is_decided_where_it_is_rational(line, y, verdict):
    """0.1 is no binary number, so that no ball around it is narrow enough by itself."""
    lines, given = components(line, absolute="0.5 lbf"), forces((fmpq(1, 10), 0))
    found = judged(lines, {"+x": {"number": "0.4"}, "+y": {"number": y}}, given)
    assert [(f.verdict, f.why) for f in found] == [(verdict, "judged as a vector")] * 2


DIAGONAL = PlaneForces((PlaneForce(Polar(fmpq(2), ByAngle(Turn(fmpq(1, 8))))),))


@pytest.mark.parametrize(
    ("x", "verdict"), [("-1e-60", "fail"), ("-1e-45", "fail"), ("1e-45", "pass")]
)
def test_a_vector_beside_its_limit_is_decided_by_more_digits(line, x, verdict):
    """Off by the root of two in each component, in one by a little more or less."""
    lines = components(line, absolute="2 lbf")
    found = judged(lines, {"+x": {"number": x}, "+y": {"number": "0"}}, DIAGONAL)
    assert [f.verdict for f in found] == [verdict] * 2


def test_an_irrational_vector_on_its_very_limit_says_that_it_is_not_decided(line):
    lines = components(line, absolute="2 lbf")
    found = judged(lines, {"+x": {"number": "0"}, "+y": {"number": "0"}}, DIAGONAL)
    assert {f.verdict for f in found} == {"not proven"}
    assert {f.why for f in found} == {"judged as a vector: lies too near the limit to be decided"}


def test_a_displayed_vector_may_be_rounded_in_each_component(line):
    given = forces((fmpq(305, 10) - fmpq(1, 100), fmpq(405, 10) - fmpq(1, 100)))
    values = {
        "+x": {"number": "30.49", "displayed": "30"},
        "+y": {"number": "40.49", "displayed": "40"},
    }
    found = judged(components(line, absolute="0.1 lbf"), values, given)
    assert [f.verdict for f in found] == ["pass"] * 4


def test_scales_are_those_of_the_given_forces(line):
    """A hundredth of the largest force (40) or of the sum (70)."""
    for of, right, wrong in (
        ("largest force", "50.4", "50.41"),
        ("sum of forces", "50.7", "50.71"),
    ):
        shown = line(View("resultant", "magnitude"), "lbf", {"fraction": "1 %", "of": of}, "R")
        assert judged([shown], {"R": {"number": right}})[0].verdict == "pass"
        assert judged([shown], {"R": {"number": wrong}})[0].verdict == "fail"


def test_a_word_completes_a_number(line):
    across = line(
        View("resultant", "component", along="+x"), "lbf", {"absolute": "0.01 lbf"}, "X",
        sense=WordReading("S", {"right": (1,), "left": (-1,)}),
    )  # fmt: skip
    for word, verdict in (("right", "pass"), ("left", "fail"), ("up", "error"), ("", "error")):
        (finding,) = judged([across], {"X": {"number": "30"}, "S": {"text": word}})
        assert finding.verdict == verdict, word


@pytest.mark.parametrize(
    ("x", "y", "word"), [(30, 40, "NE"), (-30, 40, "NW"), (-30, -40, "SW"), (30, -40, "SE")]
)
def test_a_quadrant_word_completes_an_acute_angle(line, x, y, word):
    """The acute angle from the horizontal, 53.13 degrees, in each of the four quadrants."""
    acute = line(
        View("resultant", "angle"), "deg", {"absolute": "0.01 deg"}, "A",
        quadrant=WordReading("Q", {"NE": (1, 1), "NW": (-1, 1), "SW": (-1, -1), "SE": (1, -1)}),
    )  # fmt: skip
    for said in ("NE", "NW", "SW", "SE"):
        values = {"A": {"number": "53.13"}, "Q": {"text": said}}
        (finding,) = judged([acute], values, forces((x, y)))
        assert finding.verdict == ("pass" if said == word else "fail"), (said, finding)


def test_a_sign_convention_may_be_reversed(line):
    down = line(
        View("resultant", "component", along="+y"), "lbf", {"absolute": "0.01 lbf"}, "D",
        negate=True,
    )  # fmt: skip
    assert judged([down], {"D": {"number": "-40"}})[0].verdict == "pass"
    assert judged([down], {"D": {"number": "40"}})[0].verdict == "fail"


def test_a_unit_word_of_the_calculator_is_read_as_it_says(size):
    named = attrs.evolve(size, units={"pounds": read_unit("lbf")})
    assert judged([named], {"R": {"text": "50.00 pounds"}})[0].verdict == "pass"
    assert judged([size], {"R": {"text": "50.00 pounds"}})[0].verdict == "error"


def test_radians_are_no_degrees(line):
    turned = line(View("resultant", "angle"), "rad", {"absolute": "0.001 rad"}, "A")
    given = PlaneForces((PlaneForce(Polar(fmpq(5), ByAngle(Turn(fmpq(-1, 8))))),))
    for text, verdict in (
        ("-0.785398", "pass"),
        ("5.497787", "pass"),
        ("-0.785398 rad", "pass"),
        ("-45 deg", "error"),
    ):
        assert judged([turned], {"A": {"text": text}}, given)[0].verdict == verdict, text


def test_every_verdict_is_a_known_one(size, turn):
    raws = [{"number": "0"}, NUMBER, WRONG, REFUSAL, ERROR, LISTED_ERROR, BLANK, UNREADABLE]
    seen = {
        f.verdict
        for given in (RIGHT, BALANCED)
        for one in raws
        for other in raws
        for f in judged([size, turn], {"R": one, "A": other}, given)
    }
    assert seen == set(VERDICTS) - {"not proven"}


def test_a_tie_that_nothing_proves_is_not_proven(line):
    """50.05 lies on the limit of 50.0; without algebra all the digits there are do not tell."""
    shown = line(
        View("resultant", "magnitude"), "lbf", {"rounded_to": "0.1 lbf", "manner": "nearest"}, "R"
    )
    given, asked = forces((fmpq(3003, 100), fmpq(4004, 100))), []

    def reprove(digits):
        asked.append(digits)
        return prove(OWNER, given, [shown.view], digits=digits)

    (found,) = judge(
        [shown], Received({"R": {"text": "50.0"}}), REFUSALS, reprove(30), reprove, given, SYSTEM
    )
    assert found.verdict == "not proven" and "too near the limit" in found.why
    assert asked == [30, 60, 120, 240]


def test_two_hundred_digits_are_worth_asking_for(line):
    shown = line(
        View("resultant", "magnitude"), "lbf", {"rounded_to": "1e-200 lbf", "manner": "cut"}, "R"
    )
    root = str(isqrt(2 * 10**400))
    for text, verdict in ((root, "pass"), (str(int(root) + 1), "fail")):
        raw = {"R": {"text": f"1.{text[1:]}"}}
        assert judged([shown], raw, forces((1, 0), (0, 1)))[0].verdict == verdict


def test_a_display_may_be_off_by_half_a_step_and_no_more(line):
    tight = line(View("resultant", "magnitude"), "lbf", {"absolute": "0.001 lbf"}, "R")
    for exact, text, verdict in (
        (fmpq(334, 10), "33", "pass"),
        (fmpq(335, 10), "33", "pass"),
        (fmpq(336, 10), "33", "fail"),
        (fmpq(3315, 100), "33.1", "pass"),
    ):
        number = str(float(exact))
        found = judged([tight], {"R": {"number": number, "displayed": text}}, forces((0, exact)))
        assert [f.verdict for f in found] == ["pass", verdict], text


SLIDES = family("friction/block")


def word_line(words=None):
    kind = SLIDES.answers["state"].kind
    assert isinstance(kind, ChoiceKind)
    return kind, OutputLine(
        checked(View("state"), kind),
        dimensions.NUMBER,
        None,
        "W",
        "its word",
        None,
        words=words or {},
    )


def word_verdicts(line, outcome, *texts):
    reference = Reference(30, 200, {line.view: outcome}, {}, (), ())
    return [judged([line], {"W": {"text": text}}, reference=reference)[0] for text in texts]


def test_words_are_judged_as_words():
    kind, line = word_line()
    right, wrong = kind.words[:2]
    found = word_verdicts(line, Word(right), right, f" {right} ", wrong, "7")
    assert [f.verdict for f in found] == ["pass", "pass", "fail", "fail"]
    assert {f.expected for f in found} == {right}


def test_words_of_the_calculator_s_own_are_judged_by_what_they_stand_for():
    kind, _ = word_line()
    right, wrong = kind.words[:2]
    _, line = word_line({"A": right, "B": wrong})
    found = word_verdicts(line, Word(right), "A", "B", right)
    assert [f.verdict for f in found] == ["pass", "fail", "error"]


def test_a_word_where_a_number_is_expected_is_an_error(size):
    bare = attrs.evolve(size, unit=None)
    (found,) = judged([bare], {"R": {"text": "fifty"}})
    assert found.verdict == "error" and "'fifty' stands where a number" in found.why


def test_what_a_crash_leaves_says_what_was_expected(size, turn):
    expanded = attrs.evolve(size, line="rows[*] magnitude")
    first, second = judged([expanded, turn], {}, BALANCED, failure=Failure("crash", "gone"))
    assert (first.line, first.output, first.judged) == ("rows[*] magnitude", size.id, "stored")
    assert second.line == second.output == turn.id
    assert (first.expected, second.expected) == ("", "no answer: no direction")
    _, line = word_line()
    reference = Reference(30, 200, {line.view: Word("as it is")}, {}, (), ())
    (third,) = judged([line], {}, reference=reference, failure=Failure("crash", "gone"))
    assert third.expected == "as it is"
    reference = Reference(30, 200, {line.view: NotProven("why")}, {}, (), ())
    (fourth,) = judged([line], {}, reference=reference, failure=Failure("crash", "gone"))
    assert fourth.expected == "not proven"


def test_a_finding_carries_what_it_rests_on(size):
    expanded = attrs.evolve(size, line="rows[*] magnitude")
    (found,) = judged([expanded], {"R": {"number": "50.001"}})
    assert (found.line, found.output, found.unit) == ("rows[*] magnitude", size.id, "lbf")
    assert (found.reported, found.number, found.digits) == ("50.001", fmpq(50001, 1000), 30)
    assert found.expected == "" and found.why == ""
    assert found.reference.lower <= 50 <= found.reference.upper
    assert found.measures.relative == pytest.approx(2e-5)
    (plain,) = judged([size], {"R": {"refused": "no"}})
    assert plain.line == plain.output == size.id
    assert (plain.judged, plain.reported) == ("stored", "no")
    (refused,) = judged([size], {}, failure=Failure("refusal", "exit code 7"))
    assert (refused.judged, refused.reported) == ("stored", "exit code 7")


def test_why_an_output_is_blank_is_passed_on(size, turn):
    odd = {"blank": True, "in_question": "two readings differ"}
    for raw, why in ((BLANK, "the output is blank"), (odd, "two readings differ")):
        values = {"R": raw, "A": raw}
        assert [f.why for f in judged([size, turn], values, BALANCED)] == [why] * 2


def test_an_error_value_is_passed_on(size, turn):
    found = judged([size, turn], {"R": ERROR, "A": ERROR}, BALANCED)
    assert [(f.verdict, "#DIV/0!" in f.why) for f in found] == [("error", True)] * 2


def test_a_likely_slip_of_reading_is_named_where_a_person_read(size):
    """A reading that would pass but for one slip is to be read again, not believed."""
    for text, said in (
        ("05.00", "two neighbouring digits exchanged; 50.00 would pass"),
        ("5.0", "the decimal mark one place off; 50. would pass"),
        ("-50", "a sign put in; 50 would pass"),
        ("570", "a digit doubled or put in; 50 would pass"),
    ):
        (found,) = judged([size], {"R": {"text": text, "by_hand": True}})
        assert found.verdict == "fail" and said in found.why, found.why
        (machine,) = judged([size], {"R": {"text": text}})
        assert machine.verdict == "fail" and machine.why == ""
    (far,) = judged([size], {"R": {"text": "77", "by_hand": True}})
    assert far.verdict == "fail" and far.why == ""
    (right,) = judged([size], {"R": {"text": "50", "by_hand": True}})
    assert right.verdict == "pass" and right.why == ""


def test_a_slip_that_leaves_no_number_is_passed_over(size):
    """Exchanged or left out, the 5 leaves ``e5`` to begin with; the sign alone is no help."""
    (found,) = judged([size], {"R": {"text": "-5e1", "by_hand": True}})
    assert "a sign put in; 5e1 would pass" in found.why


def test_a_zero_reference_says_what_its_criterion_lacks(line):
    relative = line(View("resultant", "magnitude"), "lbf", {"relative": "1 %"}, "R")
    (found,) = judged([relative], {"R": {"number": "1e-13"}}, BALANCED)
    assert found.verdict == "fail" and "without an absolute part allows nothing" in found.why
    one_side = line(
        View("resultant", "component", along="+x"), "lbf",
        {"below": {"absolute": "1 lbf"}, "above": {"relative": "1 %"},
         "safe_side": "below"}, "R",
    )  # fmt: skip
    (found,) = judged([one_side], {"R": {"number": "0.5"}}, BALANCED)
    assert found.verdict == "fail" and found.why == ""
    (found,) = judged([relative], {"R": {"number": "60"}})
    assert found.verdict == "fail" and found.why == ""


def test_a_vector_is_judged_by_its_length_in_each_component(line):
    """Three pounds off in one component alone, either way, against four and against two."""
    for x in ("33", "27"):
        values = {"+x": {"number": x}, "+y": {"number": "40"}}
        for limit, verdict in (("4 lbf", "pass"), ("2 lbf", "fail")):
            found = judged(components(line, absolute=limit), values)
            assert [f.verdict for f in found] == [verdict] * 2


@pytest.mark.parametrize(
    ("x", "y", "verdict"), [("0.5", "0.5", "pass"), ("0.7", "0.09", "pass"), ("0.7", "0.2", "fail")]
)
def test_a_displayed_vector_is_off_by_half_a_step_in_each_component_at_most(line, x, y, verdict):
    """Shown in whole pounds: squares of the deviations add up to a half at most."""
    exact = {"+x": 30 + Fraction(x), "+y": 40 + Fraction(y)}
    given = forces(tuple(fmpq(e.numerator, e.denominator) for e in exact.values()))
    values = {
        axis: {"number": str(float(exact[axis])), "displayed": shown}
        for axis, shown in (("+x", "30"), ("+y", "40"))
    }
    found = judged(components(line, absolute="0.001 lbf"), values, given)
    assert [f.verdict for f in found if f.judged == "stored"] == ["pass"] * 2
    assert [f.verdict for f in found if f.judged == "displayed"] == [verdict] * 2


def test_a_vector_too_near_its_limit_is_not_proven(line):
    """Both components are the root of 2: the deviation is exactly 2 long, and so is the limit."""
    given = PlaneForces((PlaneForce(Polar(fmpq(2), ByAngle(Turn(fmpq(1, 8))))),))
    values = {"+x": {"number": "0"}, "+y": {"number": "0"}}
    for limit, verdict in (("2 lbf", "not proven"), ("2.001 lbf", "pass"), ("1.999 lbf", "fail")):
        found = judged(components(line, absolute=limit), values, given)
        assert {f.verdict for f in found} == {verdict}


def test_a_size_by_components_excuses_a_direction_only_in_two_axes(line, turn):
    nearly = forces((30, 40), (fmpq(-30) + fmpq(1, 10**13), -40))
    axes = [
        line(View("resultant", "component", along=a), "lbf", {"absolute": "1 lbf"}, a)
        for a in ("+x", "+y")
    ]
    values = {"A": {"number": "10"}, "+x": {"number": "0"}, "+y": {"number": "0"}}
    *_, found = judged([*axes, turn], values, nearly)
    assert found.verdict == "not applicable" and "told from zero" in found.why
    *_, found = judged([axes[0], axes[0], turn], values, nearly)
    assert found.verdict == "fail"
    *_, found = judged([*axes, turn], values | {"+x": {"number": "2"}}, nearly)
    assert found.verdict == "fail"  # a component that fails excuses nothing
    *_, found = judged([*axes, turn], values | {"+x": BLANK}, nearly)
    assert found.verdict == "fail"


def test_a_direction_of_nothing_says_whether_its_size_was_asked(size, turn):
    _, beside = judged([size, turn], {"R": {"number": "0"}, "A": {"number": "5"}}, BALANCED)
    (alone,) = judged([turn], {"A": {"number": "5"}}, BALANCED)
    assert beside.verdict == alone.verdict == "not applicable"
    assert "rightly reported as zero" in beside.why and "not asked" in alone.why


def test_only_what_is_displayed_is_judged_under_its_rounding(size):
    """50.3 told as 50: a text that stands for the value itself has no rounding to forgive."""
    given = forces((0, fmpq(503, 10)))
    (stored,) = judged([size], {"R": {"text": "50"}}, given)
    *_, displayed = judged([size], {"R": {"number": "50.3", "displayed": "50"}}, given)
    assert (stored.verdict, displayed.verdict) == ("fail", "pass")


def test_the_sides_of_a_criterion_keep_their_places_under_a_rounding(line):
    low = line(
        View("resultant", "magnitude"), "lbf",
        {"below": {"absolute": "1 lbf"}, "above": {"absolute": "0.001 lbf"}, "safe_side": "below"},
        "R",
    )  # fmt: skip
    for text, verdict in (("49.2", "pass"), ("48.9", "fail"), ("50.0", "pass"), ("50.2", "fail")):
        *_, found = judged([low], {"R": {"number": "50", "displayed": text}})
        assert found.verdict == verdict, text


def test_a_vector_that_is_a_little_too_far_off_fails(line):
    values = {"+x": {"number": "33"}, "+y": {"number": "40"}}
    found = judged(components(line, absolute="2.9 lbf"), values)
    assert [f.verdict for f in found] == ["fail"] * 2


def test_a_direction_beside_components_that_are_no_zeros_is_judged(line, turn):
    axes = [
        line(View("resultant", "component", along=a), "lbf", {"absolute": "1 lbf"}, a)
        for a in ("+x", "+y")
    ]
    right = {"+x": {"number": "30"}, "+y": {"number": "40"}, "A": {"number": "10"}}
    assert judged([*axes, turn], right)[-1].verdict == "fail"
    along = {"+x": {"number": "50"}, "+y": {"number": "0"}, "A": {"number": "10"}}
    assert judged([*axes, turn], along, forces((50, 0)))[-1].verdict == "fail"


tenths = st.integers(-30, 30).map(lambda n: fmpq(n, 10))
intervals = st.tuples(tenths, tenths).map(lambda ends: Enclosure(min(ends), max(ends)))


@given(intervals)
def test_the_least_square_is_that_of_the_point_nearest_to_zero(deviation):
    near = min(max(fmpq(0), deviation.lower), deviation.upper)
    assert _least_square(deviation) == near * near


@given(intervals, intervals, st.fractions(0, 1), st.fractions(0, 1))
def test_the_wider_of_two_allowances_holds_the_larger_of_any_two_values(a, b, s, t):
    found = _wider(a, b)
    shares = (fmpq(s.numerator, s.denominator), fmpq(t.numerator, t.denominator))
    x, y = (e.lower + share * (e.upper - e.lower) for e, share in zip((a, b), shares, strict=True))
    assert found.lower <= max(x, y) <= found.upper
