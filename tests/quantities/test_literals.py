from __future__ import annotations

import pickle

import pytest
from flint import fmpq
from hypothesis import example, given
from hypothesis import strategies as st

from refsolver.arithmetic.exact import Exact, square_root
from refsolver.quantities.literals import Literal, LiteralError, half_unit, read_literal
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.units import UnitError

THIN, NO_BREAK, NARROW, FIGURE = "\u2009", "\u00a0", "\u202f", "\u2007"


@pytest.mark.parametrize(
    ("text", "value", "unit", "step", "figures", "decimals", "ambiguous"),
    [
        ("62", 62, "", 1, 2, 0, False),
        ("62.0 lbf", 62, "lbf", fmpq(1, 10), 3, 1, False),
        ("62.5kN", fmpq(125, 2), "kN", fmpq(1, 10), 3, 1, False),
        (".5", fmpq(1, 2), "", fmpq(1, 10), 1, 1, False),
        ("0.0125 m", fmpq(1, 80), "m", fmpq(1, 10**4), 3, 4, False),
        ("62.", 62, "", 1, 2, 0, False),
        ("500.", 500, "", 1, 3, 0, False),
        ("500", 500, "", 1, 3, 0, True),
        ("10,300 lb", 10300, "lb", 1, 5, 0, True),
        ("1,234,567.89", fmpq(123456789, 100), "", fmpq(1, 100), 9, 2, False),
        (f"10{THIN}300 N", 10300, "N", 1, 5, 0, True),
        (f"0.453{NARROW}592{NARROW}37", fmpq(45359237, 10**8), "", fmpq(1, 10**8), 8, 8, False),
        (f"1{FIGURE}234.5", fmpq(12345, 10), "", fmpq(1, 10), 5, 1, False),
        (f"5{NO_BREAK}N", 5, "N", 1, 1, 0, False),
        ("+5", 5, "", 1, 1, 0, False),
        ("-5.0 kN", -5, "kN", fmpq(1, 10), 2, 1, False),
        ("−5.0 kN", -5, "kN", fmpq(1, 10), 2, 1, False),
        ("- 5", -5, "", 1, 1, 0, False),
        ("0", 0, "", 1, 0, 0, False),
        ("-0.00", 0, "", fmpq(1, 100), 0, 2, False),
        ("007", 7, "", 1, 1, 0, False),
        ("3.2e5", 320000, "", 10000, 2, 1, False),
        ("3.2E+05", 320000, "", 10000, 2, 1, False),
        ("320e3", 320000, "", 1000, 3, 0, True),
        ("7.81e−4", fmpq(781, 10**6), "", fmpq(1, 10**6), 3, 2, False),
        ("1.25D+03", 1250, "", 10, 3, 2, False),
        ("3.2 x 10^5 N", 320000, "N", 10000, 2, 1, False),
        ("3.2x10^5", 320000, "", 10000, 2, 1, False),
        ("3.2 × 10^(-5)", fmpq(32, 10**6), "", fmpq(1, 10**6), 2, 1, False),
        ("3.2*10^5", 320000, "", 10000, 2, 1, False),
        ("3.2·10⁵ mm^4", 320000, "mm^4", 10000, 2, 1, False),
        ("3.2 × 10⁻⁵", fmpq(32, 10**6), "", fmpq(1, 10**6), 2, 1, False),
        ("4.448 222 E+00", fmpq(4448222, 10**6), "", fmpq(1, 10**6), 7, 6, False),
        ("3.048 E-01", fmpq(3048, 10**4), "", fmpq(1, 10**4), 4, 3, False),
        ("12%", 12, "%", 1, 2, 0, False),
        ("12 percent", 12, "percent", 1, 2, 0, False),
        ("45°", 45, "°", 1, 2, 0, False),
        ("45.0 deg", 45, "deg", fmpq(1, 10), 3, 1, False),
        ("5 lbf/ft", 5, "lbf/ft", 1, 1, 0, False),
        ("  7  kip ft ", 7, "kip ft", 1, 1, 0, False),
        ("10 ft 6 in", fmpq(21, 2), "ft", fmpq(1, 12), 3, 0, False),
        ("10 ft 10 in", fmpq(65, 6), "ft", fmpq(1, 12), 3, 0, False),
        ("10 ft 6.25 in", fmpq(505, 48), "ft", fmpq(1, 1200), 5, 2, False),
        ("10'-6\"", fmpq(21, 2), "ft", fmpq(1, 12), 3, 0, False),
        ("10' 6\"", fmpq(21, 2), "ft", fmpq(1, 12), 3, 0, False),
        ("10′6″", fmpq(21, 2), "ft", fmpq(1, 12), 3, 0, False),
        ("30 deg 15 arcmin", fmpq(121, 4), "deg", fmpq(1, 60), 4, 0, False),
        ("30°15'20\"", fmpq(30) + fmpq(920, 3600), "°", fmpq(1, 3600), 6, 0, False),
        ("30° 15′ 20.5″", fmpq(30) + fmpq(9205, 36000), "°", fmpq(1, 36000), 7, 1, False),
        ("-0°15'", -fmpq(1, 4), "°", fmpq(1, 60), 2, 0, False),
        ("1 h 20 min", fmpq(4, 3), "h", fmpq(1, 60), 2, 0, False),
        ("2 yd 1 ft 3 in", fmpq(29, 12), "yd", fmpq(1, 36), 2, 0, False),
    ],
)
def test_printed_numbers(
    text: str,
    value: fmpq,
    unit: str,
    step: fmpq,
    figures: int,
    decimals: int,
    ambiguous: bool,
):
    literal = read_literal(text)
    assert literal.text == text
    assert (literal.value, literal.unit_text, literal.ratio) == (value, unit, None)
    assert literal.printed is not None
    assert literal.printed.step == step
    assert literal.printed.figures == figures
    assert literal.printed.decimals == decimals
    assert literal.printed.trailing_zeros_ambiguous is ambiguous
    assert half_unit(literal) == step / fmpq(2)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("2/3", fmpq(2, 3), ""),
        ("-2/3 kip", fmpq(-2, 3), "kip"),
        ("18/15", fmpq(6, 5), ""),
        ("10,300/7", fmpq(10300, 7), ""),
        ("1.5/2", fmpq(3, 4), ""),
        ("9 5/8 in", fmpq(77, 8), "in"),
        ("-9 5/8", fmpq(-77, 8), ""),
        ("10,300 1/2", fmpq(20601, 2), ""),
        ("9½", fmpq(19, 2), ""),
        ("9 ⅝ in", fmpq(77, 8), "in"),
        ("½ in", fmpq(1, 2), "in"),
        ("-⅔", fmpq(-2, 3), ""),
        ("10'-6 1/2\"", fmpq(253, 24), "ft"),
        ("10′-6½″", fmpq(253, 24), "ft"),
        ("10 ft 6 1/2 in", fmpq(253, 24), "ft"),
        ("10 ft 3/4 in", fmpq(161, 16), "ft"),
        ("-10 ft 6 1/2 in", fmpq(-253, 24), "ft"),
        ("10^5", 10**5, ""),
        ("2*10^3*3", 6000, ""),
        ("50*sqrt(4) lbf", 100, "lbf"),
    ],
)
def test_exact_prints_have_no_tolerance(text: str, value: fmpq, unit: str):
    literal = read_literal(text)
    assert (literal.value, literal.unit_text, literal.printed) == (value, unit, None)
    assert half_unit(literal) is None


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("3:4", (3, 4)),
        ("1:12.5", (1, fmpq(25, 2))),
        ("-3 : 4", (-3, 4)),
        ("3:-4", (3, -4)),
        ("0:1", (0, 1)),
        ("1:sqrt(3)", (1, square_root(fmpq(3)))),
        ("2/3:1", (fmpq(2, 3), 1)),
    ],
)
def test_ratios(text: str, ratio: tuple[Exact, Exact]):
    literal = read_literal(text)
    assert literal.ratio == ratio
    assert (literal.unit_text, literal.printed) == ("", None)
    if isinstance(ratio[1], int | fmpq):
        assert literal.value == fmpq(1) * ratio[0] / ratio[1]


@pytest.mark.parametrize(
    ("text", "position", "why", "mend"),
    [
        ("", 0, "it is empty", "write a number"),
        ("   ", 0, "it is empty", "write a number"),
        ("5 kN\n6", 4, "a line ends here", "one line"),
        ("1,5", 1, "this comma may be a decimal comma", "write a point for decimals (1.5)"),
        ("10,30", 2, "this comma may be a decimal comma", "groups of exactly three"),
        ("1,2345", 1, "this comma may be a decimal comma", "groups of exactly three"),
        ("0,300", 1, "this comma may be a decimal comma", "write a point"),
        ("1.234,5", 5, "this comma may be a decimal comma", "write a point"),
        ("1,00,000", 1, "this comma may be a decimal comma", "groups of exactly three"),
        ("10_300", 2, "digits are not grouped by _", "without it"),
        ("1.2.3", 3, "a second decimal point", "one point"),
        ("0..4", 2, "a second decimal point", "one number"),
        ("1e", 1, "this power of ten is not complete", "3.2e5"),
        ("1e+", 1, "this power of ten is not complete", "3.2e5"),
        ("1D+", 1, "this power of ten is not complete", "3.2e5"),
        ("5 E5", 1, "this power of ten is not complete", "without spaces"),
        ("3.2e1001", 3, "this power of ten is out of all proportion", "-1000 to 1000"),
        ("3.2 x 10^99999999999", 3, "this power of ten is out of all proportion", "1000"),
        ("--5", 1, "two signs in a row", "one sign"),
        ("+-5", 1, "two signs in a row", "one sign"),
        ("5 5", 2, "two numbers stand side by side", "10,300 without a space"),
        ("10 300", 3, "two numbers stand side by side", "10,300 without a space"),
        ("9½½", 2, "two numbers stand side by side", "one quantity"),
        ("9 5/8 3", 6, "two numbers stand side by side", "one quantity"),
        ("9 9/8", 2, "a mixed number ends with a proper fraction", "9 5/8"),
        ("9 0/8", 2, "a mixed number ends with a proper fraction", "9 5/8"),
        ("9 5/8 * 2", 5, "a mixed number is not part of an expression", "(9 + 5/8)"),
        ("9-5/8 in", 1, "this may be a range, a mixed number or a difference", "9 5/8"),
        ("10-20 lbf", 2, "this may be a range", "20 - 10"),
        ("5 -3", 2, "a sign with a space on one side only", "5 - 3"),
        ("200 x 150", 3, "a cross is read only in a power of ten", "one by one"),
        ("3.2 x 10", 3, "a cross is read only in a power of ten", "write * for a product"),
        (f"9{NO_BREAK}125/128", 5, "digits grouped by a space before /", "9 125/128"),
        ("5'", 1, "a lone ' is read in two ways", "ft or arcmin"),
        ('6"', 1, 'a lone " is read in two ways', "in or arcsec"),
        ("10 ft 6", 6, "this number has no unit", "10 ft 6 in"),
        ("10'-6", 4, "this number has no unit", "10 ft 6 in"),
        ("10 ft 13 in", 6, "this is not less than 1 ft", "carry it over"),
        ("10.5 ft 6 in", 0, "only the last part may have a fraction", "10 ft 6 1/2 in"),
        ("sqrt(2) ft 6 in", 0, "only the last part may have a fraction", "10 ft 6 1/2 in"),
        ("6 in 10 ft", 8, "ft is no part of in", "larger unit to the smaller"),
        ("10 ft 6 kN", 8, "kN is no part of ft", "larger unit to the smaller"),
        ("1 rad 3 deg", 8, "deg is no part of rad", "larger unit to the smaller"),
        ("10 ft 6 foo", 8, "'foo' is no unit known here", "foot"),
        ("10 ft 6 in / 2", 12, "a unit is expected here", "kN/m"),
        ("10 ft 4*3 in", 6, "a further part must be a plain number", "10 ft 6 1/2 in"),
        ("10 ft, 6 in", 5, "',' has no place here", "kN/m^2"),
        ("10, 20", 2, "a unit is expected here", "kN/m"),
        ("5 kN/m/s", 6, "a second / leaves open", "m/s^2"),
        ("1:0", 2, "this ratio has no value", "90 deg"),
        ("3:4:5", 3, "a ratio ends here", "3:4"),
        ("3:4 ft", 4, "a ratio ends here", "3:4"),
        ("5 m : 4 m", 4, "':' has no place here", "one quantity"),
        ("*****", 0, "a number is expected here", "62.0"),
        ("nan", 0, "'nan' is no number", "write numbers"),
        ("kN", 0, "'kN' is no number", "write numbers"),
    ],
)
def test_refusals_say_where_why_and_how_to_mend(text: str, position: int, why: str, mend: str):
    with pytest.raises(LiteralError) as caught:
        read_literal(text)
    error = caught.value
    assert error.text == text
    assert why in error.why
    assert mend in error.mend
    assert error.position == position


def test_the_message_shows_the_place_under_the_text():
    with pytest.raises(LiteralError) as caught:
        read_literal("10,30 lbf")
    assert str(caught.value).splitlines() == [
        "cannot read the value '10,30 lbf': this comma may be a decimal comma or may group "
        "digits by three",
        "  10,30 lbf",
        "    ^",
        "Write a point for decimals (1.5) and groups of exactly three digits (10,300), or no "
        "commas at all.",
    ]


def test_a_text_of_any_length_is_answered():
    assert read_literal("9" * 4000).value == fmpq(10) ** 4000 - 1
    with pytest.raises(LiteralError, match="too long"):
        read_literal("9" * 4001)


def test_unknown_units_are_left_to_the_reader_of_units():
    assert read_literal("50 down").unit_text == "down"


def test_literals_and_errors_survive_pickling():
    literal = read_literal("50*sqrt(2) lbf")
    assert pickle.loads(pickle.dumps(literal)) == literal
    with pytest.raises(LiteralError) as caught:
        read_literal("5 5")
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


digit_strings = st.text("0123456789", min_size=1, max_size=30)


@given(st.sampled_from(["", "-", "+", "−"]), digit_strings, digit_strings, st.integers(-50, 50))
def test_scientific_prints_mean_digits_times_a_power_of_ten(
    sign: str, whole: str, decimals: str, exponent: int
):
    literal = read_literal(f"{sign}{whole}.{decimals}e{exponent}")
    size = fmpq(int(whole + decimals)) * fmpq(10) ** (exponent - len(decimals))
    assert literal.value == (-size if sign in ("-", "−") else size)
    assert literal.printed is not None
    assert literal.printed.step == fmpq(10) ** (exponent - len(decimals))
    assert literal.printed.figures == len((whole + decimals).lstrip("0"))


@given(st.integers(1, 10**15), st.sampled_from([",", THIN, NARROW, NO_BREAK, FIGURE]))
def test_grouping_by_three_does_not_change_the_value(n: int, separator: str):
    grouped = f"{n:,}".replace(",", separator)
    assert read_literal(grouped) == Literal(grouped, fmpq(n), "", read_literal(str(n)).printed)


@given(st.integers(0, 500), st.integers(0, 11), st.integers(0, 15), st.booleans())
def test_feet_inches_and_sixteenths(feet: int, inches: int, sixteenths: int, marks: bool):
    fraction = f" {sixteenths}/16" if sixteenths else ""
    text = f"{feet}'-{inches}{fraction}\"" if marks else f"{feet} ft {inches}{fraction} in"
    expected = fmpq(feet) + fmpq(inches, 12) + fmpq(sixteenths, 192)
    literal = read_literal(text)
    assert (literal.value, literal.unit_text) == (expected, "ft")
    assert (literal.printed is None) == bool(sixteenths)


@given(st.integers(0, 359), st.integers(0, 59), st.integers(0, 59))
def test_degrees_minutes_and_seconds(degrees: int, minutes: int, seconds: int):
    expected = fmpq(3600 * degrees + 60 * minutes + seconds, 3600)
    assert read_literal(f"{degrees}°{minutes}'{seconds}\"").value == expected
    words = f"{degrees} deg {minutes} arcmin {seconds} arcsec"
    assert read_literal(words).value == expected


@given(st.text("0123456789.,-+−*/^()eExX 'ftinlb°\"½:pisqr\u2009", max_size=14))
@example("((((((((((((((((((((((((((((((((((((((((((1")
@example("1" + "+1" * 150)
@example("2^9999^9999")
@example("sqrt(2)^1000000000000")
def test_any_text_is_read_or_refused_with_a_place_in_it(text: str):
    try:
        literal = read_literal(text)
    except (LiteralError, UnitError) as error:
        assert isinstance(error, ReadingError)
        assert 0 <= error.position <= len(text)
        assert error.why
        assert error.mend
    else:
        assert literal.text == text
