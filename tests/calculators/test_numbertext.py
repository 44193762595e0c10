"""Number texts: what programs print, and what is printed for them.

Outside the project: Fortran output forms (ISO/IEC 1539-1:2018, 13.7.2, from memory), the
formatted output of the C library as the printf utility gives it (POSIX.1-2017, printf), and
correct rounding by the decimal module (General Decimal Arithmetic Specification, version 1.70).
"""

from __future__ import annotations

import decimal
import shutil
import subprocess
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from refsolver.calculators.numbertext import (
    Half,
    NumberText,
    UnreadableNumber,
    as_decimal,
    dressed,
    figures_text,
    fixed_text,
    read_number,
    scientific_text,
)

ROUNDING: dict[Half, str] = {"away": ROUND_HALF_UP, "even": ROUND_HALF_EVEN}
HALVES: tuple[Half, ...] = ("away", "even")


class TestReading:
    @pytest.mark.parametrize(
        ("text", "number", "unit", "decimals", "figures"),
        [
            ("62.0 lbf", "62.0", "lbf", 1, 3),
            ("  -12 ", "-12", "", 0, 2),
            ("+3.50", "3.50", "", 2, 3),
            ("- 5 kN", "-5", "kN", 0, 1),
            ("\N{MINUS SIGN}7.5", "-7.5", "", 1, 2),
            ("-0.00", "-0.00", "", 2, 0),
            (".5", "0.5", "", 1, 1),
            ("-.050", "-0.050", "", 3, 2),
            ("5.", "5", "", 0, 1),
            ("007.50", "7.50", "", 2, 3),
            ("1,234.5", "1234.5", "", 1, 5),
            ("12,345,678", "12345678", "", 0, 8),
            ("1.5E3", "1.5E+3", "", -2, 2),
            ("2e-4 m", "2E-4", "m", 4, 1),
            ("0.123D+04", "0.123E+4", "", -1, 3),
            ("1.25Q-02", "1.25E-2", "", 4, 3),
            ("1.234-105", "1.234E-105", "", 108, 4),
            (".1234+123 N", "0.1234E+123", "N", -119, 4),
            ("1.5 x 10^3 mm^4", "1.5E+3", "mm^4", -2, 2),
            ("1.5×10⁻⁶", "1.5E-6", "", 7, 2),
            ("2*10**6", "2E+6", "", -6, 1),
            ("12.3kN", "12.3", "kN", 1, 3),
            ("45°", "45", "°", 0, 2),
            ("30.0 deg", "30.0", "deg", 1, 3),
            ("10 %", "10", "%", 0, 2),
            ("3 N/mm2", "3", "N/mm2", 0, 1),
            ("8.1 kip-ft", "8.1", "kip-ft", 1, 2),
            ("8.1 kN·m", "8.1", "kN·m", 1, 2),
            ("8.1 in.^4", "8.1", "in.^4", 1, 2),
            ("0.2 1/m", "0.2", "1/m", 1, 1),
            ("5 (kN)", "5", "(kN)", 0, 1),
            ("12.3\N{NO-BREAK SPACE}kN", "12.3", "kN", 1, 3),
        ],
    )
    def test_one_number_with_its_unit(
        self, text: str, number: str, unit: str, decimals: int, figures: int
    ) -> None:
        read = read_number(text)
        assert read == NumberText(number, unit, decimals, figures)
        assert read.value == Fraction(number)

    @pytest.mark.parametrize(
        ("text", "kind"),
        [
            ("", "blank"),
            (" \n", "blank"),
            ("********", "overflow"),
            ("** kN", "overflow"),
            ("####", "overflow"),
            ("NaN", "not a number"),
            ("-nan(ind)", "not a number"),
            ("1.#QNAN", "not a number"),
            ("-1.#IND00", "not a number"),
            ("nan kN", "not a number"),
            ("Infinity", "infinite"),
            ("-inf", "infinite"),
            ("1.#INF", "infinite"),
            ("∞", "infinite"),
            ("3 ft 6 in", "several numbers"),
            ("3' 6\"", "several numbers"),
            ("1 000", "several numbers"),
            ("12.3 45.6", "several numbers"),
            ("12.3-45.6", "several numbers"),
            ("1.5-10", "several numbers"),
            ("5-105", "several numbers"),
            ("1.234-1055", "several numbers"),
            ("3/4", "several numbers"),
            ("9 5/8 in", "several numbers"),
            ("12.3 ± 0.1", "several numbers"),
            ("12,5", "malformed"),
            ("1,2345", "malformed"),
            ("0,123", "malformed"),
            ("1234,567", "malformed"),
            ("12.3.4", "malformed"),
            ("1.5e-3.2", "malformed"),
            ("1.2E", "malformed"),
            ("1.2E+", "malformed"),
            ("1.5 E3", "malformed"),
            ("1E99999", "malformed"),
            ("1E" + "9" * 5000, "malformed"),
            ("0x1A", "malformed"),
            ("12.3-", "malformed"),
            ("12.3 ?", "malformed"),
            ("<0.1", "malformed"),
            ("(12.3)", "malformed"),
            ("kN", "malformed"),
            ("#DIV/0!", "malformed"),
            ("٣", "malformed"),
        ],
    )
    def test_anything_else_is_refused_with_its_kind(self, text: str, kind: str) -> None:
        with pytest.raises(UnreadableNumber) as refusal:
            read_number(text)
        assert refusal.value.kind == kind
        assert repr(text) in str(refusal.value)

    @pytest.mark.parametrize(
        ("text", "mark", "group", "number"),
        [
            ("12,5 kN", ",", ".", "12.5"),
            ("1.234,50", ",", ".", "1234.50"),
            ("12,5", ",", "", "12.5"),
            ("1 234.5", ".", " ", "1234.5"),
            ("1'234.5", ".", "'", "1234.5"),
            ("1234.5", ".", "", "1234.5"),
        ],
    )
    def test_other_notations_where_stated(
        self, text: str, mark: str, group: str, number: str
    ) -> None:
        assert read_number(text, mark=mark, group=group).number == number

    @pytest.mark.parametrize(("mark", "group"), [(",", ","), ("", ","), ("3", ","), (".", "-")])
    def test_a_notation_that_cannot_be_told_apart(self, mark: str, group: str) -> None:
        with pytest.raises(ValueError, match="told apart"):
            read_number("1.5", mark=mark, group=group)

    @given(st.decimals(allow_nan=False, allow_infinity=False), st.sampled_from("EeDdQq"))
    def test_every_decimal_text_is_read_exactly(self, x: Decimal, letter: str) -> None:
        assume(abs(x.as_tuple().exponent) < 9000)  # type: ignore[arg-type]
        assert read_number(str(x).replace("E", letter)).value == Fraction(x)

    @given(st.integers(-(10**20), 10**20), st.integers(0, 6))
    def test_grouping_changes_nothing(self, n: int, digits: int) -> None:
        text = format(Decimal(n).scaleb(-digits), f",.{digits}f")
        assert read_number(text).value == Fraction(n, 10**digits)

    @pytest.mark.skipif(shutil.which("printf") is None, reason="needs the printf utility")
    @pytest.mark.parametrize("form", ["%e", "%.3E", "%12.4f", "%-12.4f|", "%+.2f", "%g", "%#.0f"])
    def test_what_printf_writes(self, form: str) -> None:
        for value in ("1234.5678", "-0.00001234", "0", "987654321"):
            done = subprocess.run(
                [str(shutil.which("printf")), form, value],
                capture_output=True,
                text=True,
                env={"LC_ALL": "C"},
            )
            printed = done.stdout.rstrip("|")
            assert read_number(printed).value == Fraction(Decimal(printed.strip()))


class TestPrinting:
    @given(st.fractions(), st.integers(0, 12), st.sampled_from(HALVES))
    def test_fixed_is_the_nearest(self, x: Fraction, digits: int, half: Half) -> None:
        text = fixed_text(x, digits, half)
        assert abs(Fraction(text) - x) <= Fraction(1, 2 * 10**digits)
        assert len(text.partition(".")[2]) == digits

    @given(
        st.decimals(-(10**9), 10**9, places=6),
        st.integers(0, 8),
        st.sampled_from(HALVES),
    )
    def test_fixed_rounds_like_decimal_arithmetic(
        self, x: Decimal, digits: int, half: Half
    ) -> None:
        expected = x.quantize(Decimal(1).scaleb(-digits), rounding=ROUNDING[half])
        assert fixed_text(Fraction(x), digits, half) == format(expected + 0, "f")

    @given(
        st.decimals(-(10**9), 10**9, places=6),
        st.integers(0, 8),
        st.sampled_from(HALVES),
    )
    def test_scientific_rounds_like_decimal_arithmetic(
        self, x: Decimal, digits: int, half: Half
    ) -> None:
        assume(x != 0)
        with decimal.localcontext(prec=digits + 1, rounding=ROUNDING[half]):
            expected = format(+x, f".{digits}E")
        mantissa, _, exponent = expected.partition("E")
        assert scientific_text(Fraction(x), digits, half) == f"{mantissa}E{int(exponent):+03d}"

    @given(st.fractions(), st.integers(1, 10), st.sampled_from(HALVES))
    def test_scientific_is_the_nearest(self, x: Fraction, digits: int, half: Half) -> None:
        read = read_number(scientific_text(x, digits, half, "D"))
        assert abs(read.value - x) <= Fraction(10) ** -read.decimals / 2
        assert read.figures == (digits + 1 if x else 0)

    @pytest.mark.parametrize(
        ("x", "away", "even"),
        [("0.125", "0.13", "0.12"), ("-0.125", "-0.13", "-0.12"), ("0.135", "0.14", "0.14")],
    )
    def test_halves(self, x: str, away: str, even: str) -> None:
        assert fixed_text(Fraction(x), 2, "away") == away
        assert fixed_text(Fraction(x), 2, "even") == even

    def test_carries(self) -> None:
        assert fixed_text(Fraction("9.996"), 2) == "10.00"
        assert scientific_text(Fraction("9.996"), 2) == "1.00E+01"
        assert scientific_text(Fraction("-0.0009996"), 2) == "-1.00E-03"
        assert figures_text(Fraction("99.96"), 3) == "100"

    def test_zero_has_no_sign(self) -> None:
        assert fixed_text(Fraction("-0.001"), 2) == "0.00"
        assert scientific_text(Fraction(0), 3) == "0.000E+00"

    def test_far_exponents(self) -> None:
        assert scientific_text(Fraction(10) ** -308 * 5, 1) == "5.0E-308"
        assert scientific_text(Fraction(10) ** 20000, 0) == "1E+20000"

    @pytest.mark.parametrize(
        ("x", "figures", "text"),
        [
            ("12344", 4, "12340"),
            ("0.00123456", 3, "0.00123"),
            ("2/3", 5, "0.66667"),
            ("0", 3, "0"),
            ("-1", 3, "-1.00"),
        ],
    )
    def test_significant_figures(self, x: str, figures: int, text: str) -> None:
        assert figures_text(Fraction(x), figures) == text

    @given(st.decimals(allow_nan=False, allow_infinity=False, places=9))
    def test_exact_decimals(self, x: Decimal) -> None:
        text = as_decimal(Fraction(x))
        assert Fraction(text) == Fraction(x)
        assert not (text.endswith("0") and "." in text)

    def test_no_exact_decimal(self) -> None:
        with pytest.raises(ValueError, match="1/3 has no finite decimal form"):
            as_decimal(Fraction(1, 3))

    def test_another_mark_and_grouping(self) -> None:
        assert dressed("-1234567.25", ",", ".") == "-1.234.567,25"
        assert dressed("123.5", ".", ",") == "123.5"
        assert dressed("1.50E+03", ",") == "1,50E+03"
