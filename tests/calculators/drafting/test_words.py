"""Reading labels: units, axes, how an angle is counted."""

from __future__ import annotations

import pytest

from refsolver.calculators.drafting.said_units import unit_in_format, unit_in_label, unit_of_text
from refsolver.calculators.drafting.words import angle_words, axis_in, tokens
from refsolver.quantities.dimensions import ANGLE, FORCE, LINE_LOAD, MASS, MOMENT


@pytest.mark.parametrize(
    ("label", "dimension", "name"),
    [
        ("Pull (lbf)", FORCE, "lbf"),
        ("Span, L (m), Load [kN]", FORCE, "kN"),
        ("Pull, kN", FORCE, "kN"),
        ("Pull in newtons", FORCE, "N"),
        ("w / kN/m", LINE_LOAD, "kN/m"),
        ("Moment (lb-ft)", MOMENT, "lbf·ft"),
        ("Moment (kNm)", MOMENT, "kN·m"),
        ("Angle (Deg)", ANGLE, "deg"),
        ("Angle (°)", ANGLE, "°"),
        ("Bearing (deg, clockwise from N)", ANGLE, "deg"),
        ("Pull lbf", FORCE, "lbf"),
    ],
)
def test_units_in_labels(label, dimension, name):
    unit, _ = unit_in_label(label).meanings[dimension]
    assert unit.name in (name, "deg")


@pytest.mark.parametrize(
    "label", ["Pull", "Weight W", "Length L", "Force F", "Load (see note)", ""]
)
def test_labels_without_a_unit(label):
    assert unit_in_label(label) is None


def test_a_word_that_may_be_mass_or_force_is_a_guess_as_a_force():
    said = unit_in_label("Pull (lb)")
    assert said.meanings[MASS][1] is True and said.meanings[FORCE][1] is False
    assert said.meanings[FORCE][0].name == "lbf"
    assert unit_in_label("Pull (lbf)").meanings[FORCE][1] is True


def test_a_symbol_in_a_cell_of_its_own_is_no_unit():
    assert unit_of_text("W", "a cell", alone=False) is None
    assert unit_of_text("kN", "a cell", alone=False) is not None


def test_units_in_number_formats():
    assert unit_in_format('0.00" kN"').meanings[FORCE][0].name == "kN"
    assert unit_in_format("0.00") is None and unit_in_format('0" pcs"') is None


@pytest.mark.parametrize(
    ("text", "start", "toward"),
    [
        ("Angle from vertical, clockwise", "+y", "+x"),
        ("Angle from the vertical, counter-clockwise", "+y", "-x"),
        ("Angle from the x axis, anticlockwise", "+x", "+y"),
        ("direction, clockwise from the horizontal", "+x", "-y"),
        ("angle above the horizontal", "+x", "+y"),
        ("Angle from +y, CW", "+y", "+x"),
        ("angle off plumb", "+y", None),
        ("Angle (deg)", None, None),
        ("Bearing (deg)", "+y", "+x"),
        ("Bearing (deg, clockwise from N)", "+y", "+x"),
        ("Bearing from grid north", "+y", "+x"),
        ("Bearing from +x", "+x", None),
        ("Angle, clockwise", None, None),
    ],
)
def test_how_an_angle_is_counted(text, start, toward):
    words = angle_words([text])
    assert (words.start and words.start[0]) == start
    assert (words.toward and words.toward[0]) == toward


def test_each_part_names_the_words_it_rests_on_and_the_nearest_text_goes_first():
    words = angle_words(["Angle from vertical", "all angles clockwise from the right, 0 to 360"])
    assert words.start == ("+y", "from vertical")
    assert words.toward == ("+x", "clockwise")
    assert words.range == ("0..360", "0 to 360")


@pytest.mark.parametrize(
    ("label", "axis"),
    [("Fx (kN)", "+x"), ("Across, to the right", "+x"), ("Up (lbf)", "+y"), ("pull down", "-y"),
     ("Reaction Ry", "+y"), ("Resultant", None), ("Guy", None), ("Made by hand", None),
     ("North component", "+y"), ("Easting", "+x"), ("Rax", "+x")],
)  # fmt: skip
def test_axes_in_labels(label, axis):
    assert (axis_in(label) or (None,))[0] == axis


def test_tokens_are_singular_and_leave_out_small_words():
    assert tokens("The Angles of the legs, mass") == {"angle", "leg", "mass"}
