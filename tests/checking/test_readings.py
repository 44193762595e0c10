"""From what a calculator returned to readings: kind, number in the line's unit, step, reason."""

from __future__ import annotations

import sys

import attrs
import pytest
from flint import fmpq

from refsolver.calculators.file import Refusals
from refsolver.calculators.lines import OutputLine, WordReading
from refsolver.checking.readings import Reading, readings_of, reread
from refsolver.quantities.dimensions import NUMBER
from refsolver.quantities.views import View

NONE = Refusals()
WORDS = OutputLine(
    View("state", "word"), NUMBER, None, "W", "its word", None,
    words={"moves": "slips", "stays": "holds"},
)  # fmt: skip
FREE = attrs.evolve(WORDS, words={})


def one(line, raw, refusals=NONE, **places):
    (reading,) = readings_of(line, {line.place: raw} | places, refusals)
    return reading


@pytest.fixture
def across(line):
    view = View("resultant", "component", along="+x")
    return line(view, "lbf", {"absolute": "1 lbf"}, "X")


@pytest.mark.parametrize(
    ("raw", "kind", "text", "why"),
    [
        ({"number": "50.25"}, "number", "50.25", ""),
        ({"number": "fifty"}, "error", "fifty", "fifty"),
        ({"refused": "will not say"}, "refusal", "will not say", ""),
        ({"error": "#DIV/0!"}, "error", "#DIV/0!", "the calculator shows #DIV/0!"),
        ({"blank": True}, "blank", "", ""),
        ({"blank": True, "why": "no such key"}, "blank", "", "no such key"),
        ({"blank": True, "in_question": "read twice"}, "blank", "", "read twice"),
        ({"text": "50.25"}, "number", "50.25", ""),
        ({"text": "  "}, "blank", "  ", ""),
        ({"text": "about 50"}, "error", "about 50", "about 50"),
    ],
)
def test_what_is_stored_is_read_as_what_it_is(size, raw, kind, text, why):
    found = one(size, raw)
    assert (found.kind, found.judged, found.text) == (kind, "stored", text)
    assert why in found.why and bool(found.why) == bool(why)
    assert found.number == (fmpq(201, 4) if kind == "number" else None)
    assert found.step == (fmpq(1, 100) if raw.get("text") == "50.25" else 0)


def test_a_place_that_is_missing_is_blank(size):
    assert readings_of(size, {}, NONE) == [Reading("blank", "stored", "")]
    blank = readings_of(size, {}, Refusals(blank=True))
    assert blank == [Reading("refusal", "stored", "", why="a blank counts as a refusal")]
    assert one(size, {"text": " "}, Refusals(blank=True)).kind == "refusal"


@pytest.mark.parametrize(
    ("refusals", "raw"),
    [
        (Refusals(texts=("No direction",)), {"text": " NO direction "}),
        (Refusals(errors=("#N/A",)), {"error": "#N/A"}),
    ],
)
def test_a_refusal_is_what_the_file_lists(size, refusals, raw):
    assert one(size, raw, refusals).kind == "refusal"
    assert one(size, raw).kind == "error"


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        ({"number": "50.25", "displayed": "50"}, "number"),
        ({"error": "#DIV/0!", "displayed": "#DIV/0!"}, "error"),
        ({"blank": True, "displayed": ""}, "blank"),
        ({"blank": True, "why": "so", "displayed": "0"}, "blank"),  # a zero shown for nothing
    ],
)
def test_what_is_displayed_is_a_reading_of_its_own(size, raw, kind):
    stored, displayed = readings_of(size, {"R": raw}, NONE)
    assert [stored.kind, displayed.kind] == [kind, kind]
    assert [stored.judged, displayed.judged] == ["stored", "displayed"]
    assert stored.why == displayed.why
    if kind == "number":
        assert (displayed.number, displayed.step) == (50, 1) and stored.number == fmpq(201, 4)


@pytest.mark.parametrize(
    ("text", "number", "step"),
    [
        ("1.25 kip", 1250, 10),
        ("1250", 1250, 1),
        ("12.5e2 lbf", 1250, 10),
        ("0.0 lbf", 0, fmpq(1, 10)),
    ],
)
def test_number_and_step_are_in_the_unit_of_the_line(size, text, number, step):
    found = one(size, {"text": text})
    assert (found.number, found.step) == (number, step)


def test_negated_numbers_are_negated_once(across):
    down = attrs.evolve(across, negate=True)
    for raw in ({"number": "3.5"}, {"text": "3.5"}, {"text": "3.5 lbf"}):
        assert one(down, raw).number == fmpq(-7, 2) and one(across, raw).number == fmpq(7, 2)


@pytest.mark.parametrize("text", ["50 in", "50 deg", "50 furlongs"])
def test_another_unit_than_the_line_s_is_an_error_that_names_both(size, text):
    found = one(size, {"text": text})
    assert found.kind == "error" and found.number is None and text.split()[1] in found.why
    if "furlongs" not in text:
        assert "lbf is expected" in found.why and "\n" not in found.why


def test_a_plain_number_takes_no_unit(size):
    bare = attrs.evolve(size, dimension=NUMBER, unit=None)
    assert one(bare, {"text": "0.25"}).number == fmpq(1, 4)
    found = one(bare, {"text": "0.25 lbf"})
    assert found.kind == "error" and "a plain number is expected" in found.why


def test_pounds_and_kilograms_are_forces_where_a_unit_is_expected(size):
    assert one(size, {"text": "50 lb"}).number == 50


def test_degrees_shown_where_radians_are_mapped(line, turn):
    radians = line(View("resultant", "angle"), "rad", {"absolute": "1 rad"}, "A")
    for output, text in ((radians, "45 deg"), (turn, "0.8 rad")):
        found = one(output, {"text": text})
        assert found.kind == "error" and "mixes radians and degrees" in found.why
        assert "\n" not in found.why
    assert one(turn, {"text": "100 gon"}).number == 90


def test_words_are_those_of_the_calculator():
    assert one(WORDS, {"text": " moves "}) == Reading("word", "stored", "slips")
    found = one(WORDS, {"text": "slips"})
    assert found.kind == "error" and found.text == "slips"
    assert found.why == "'slips' is none of its words: moves, stays"
    assert one(FREE, {"text": "slips "}) == Reading("word", "stored", "slips")
    assert one(FREE, {"text": "3 slips"}).kind == "error"


def test_a_word_is_no_number(size):
    assert one(size, {"text": "moves"}).kind == "error"
    assert one(attrs.evolve(size, words={"moves": "slips"}), {"text": "5"}).number == 5


def test_what_a_person_read_is_marked(size):
    assert one(size, {"text": "50", "by_hand": True}).by_hand
    assert not one(size, {"text": "50"}).by_hand


@pytest.mark.parametrize(
    ("text", "number"), [("50,25 lbf", fmpq(201, 4)), ("1.250,5", fmpq(2501, 2)), ("50.25", None)]
)
def test_a_decimal_comma_is_read_where_it_is_stated(size, text, number):
    found = one(size, {"text": text, "by_hand": True, "mark": ","})
    assert found.number == number and found.mark == ","


def test_a_decimal_comma_that_is_not_stated_is_an_error_with_the_way_out(size):
    found = one(size, {"text": "50,25 lbf", "by_hand": True})
    assert found.kind == "error" and 'decimal_mark = ","' in found.why
    assert "decimal_mark" not in one(size, {"text": "50,25 lbf"}).why


def test_a_unit_misspelled_is_said_in_one_line(size):
    assert one(size, {"text": "50 LBF"}).why == (
        "cannot read the unit 'LBF': 'LBF' is no unit known here; did you mean lbf? "
        "Units are spelled exactly, capitals count"
    )


def test_reading_another_text_in_the_place_of_one(size, across):
    reading = one(size, {"text": "50 lbf"})
    assert reread(size, reading, "0.05 kip") == 50
    assert reread(size, reading, "none") is None
    assert reread(attrs.evolve(across, negate=True), reading, "50") == -50


@pytest.mark.parametrize(
    ("word", "number"), [("up", fmpq(-5, 2)), ("down", fmpq(5, 2)), (" down ", fmpq(5, 2))]
)
def test_a_sense_word_gives_the_sign(across, word, number):
    line = attrs.evolve(across, sense=WordReading("S", {"up": (-1,), "down": (1,)}))
    found = one(line, {"number": "2.5"}, S={"text": word})
    assert found.number == number and found.text == f"2.5 {word.strip()}"


def test_a_sense_may_be_a_number(across):
    line = attrs.evolve(across, sense=WordReading("S", {"1": (-1,), "0": (1,)}))
    assert one(line, {"number": "2.5"}, S={"number": "1"}).number == fmpq(-5, 2)


@pytest.mark.parametrize("shown", [{}, {"S": {"text": "left"}}])
def test_a_sense_word_that_is_not_known_is_an_error(across, shown):
    line = attrs.evolve(across, sense=WordReading("S", {"up": (-1,), "down": (1,)}))
    found = one(line, {"number": "2.5"}, **shown)
    assert found.kind == "error" and found.number is None
    assert "which is none of: up, down" in found.why and "S shows" in found.why
    assert one(line, {"blank": True}, **shown).kind == "blank"


@pytest.mark.parametrize(
    ("unit", "word", "angle"),
    [("deg", "++", 30), ("deg", "-+", 150), ("deg", "--", -150), ("deg", "+-", -30),
     ("gon", "-+", 170), ("turn", "--", fmpq(59, 2))],
)  # fmt: skip
def test_a_quadrant_word_makes_the_acute_angle_a_full_one(line, unit, word, angle):
    words = {"++": (1, 1), "-+": (-1, 1), "--": (-1, -1), "+-": (1, -1)}
    turned = line(
        View("resultant", "angle"), unit, {"absolute": f"0.1 {unit}"}, "A",
        quadrant=WordReading("Q", words),
    )  # fmt: skip
    assert one(turned, {"number": "30"}, Q={"text": word}).number == angle


@pytest.mark.parametrize(
    "raw",
    [
        {"text": "1e400"}, {"text": "-1e5000 lbf"}, {"text": "1E-5000"}, {"text": "1" * 9000},
        {"number": "1" + "0" * 400}, {"number": "2e308"}, {"text": "2e305 kip"},
    ],
)  # fmt: skip
def test_a_number_beyond_all_proportion_is_an_error_of_that_reading(size, raw):
    """Whatever a calculator answers is a finding: nothing that follows has to bear it."""
    found = one(size, raw)
    assert (found.kind, found.number) == ("error", None) and found.why, raw


def test_the_largest_double_is_a_number(size):
    largest = repr(sys.float_info.max)
    assert one(size, {"number": largest}).number == one(size, {"text": largest}).number
