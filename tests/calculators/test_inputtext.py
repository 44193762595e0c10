"""Texts made for a calculator. Checked against the decimal module (General Decimal Arithmetic
Specification, version 1.70) and against the JSON reader of the standard library (RFC 8259)."""

from __future__ import annotations

import json
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.textformat import InputTemplate, TemplateProblem, render_json

FIELDS: dict[str, Any] = {
    "title": "a bracket & two loads",
    "case": "12",
    "span": fmpq(6),
    "loads": [
        {"at": fmpq(1, 3), "size": fmpq(-123456789, 10000), "kind": "point"},
        {"at": fmpq(5, 2), "size": fmpq(0), "kind": "spread"},
    ],
    "count": 2,
    "typed": "62.0",
    "joints": {"A": {"values": Fraction(1, 8)}},
    "fixed_end": True,
}


def rendered(source: str, fields: dict[str, Any] = FIELDS) -> str:
    return InputTemplate(source).render(fields).text


def problem(source: str, fields: dict[str, Any] = FIELDS) -> str:
    with pytest.raises(TemplateProblem) as raised:
        InputTemplate(source, name="beam.in").render(fields)
    return str(raised.value)


class TestFormats:
    @pytest.mark.parametrize(
        ("printed", "text", "plain"),
        [
            ("loads[0].size|fixed(3)", "-12345.679", "-12345.679"),
            ("loads[0].size|fixed(0)", "-12346", "-12346"),
            ("loads[0].size|fixed(2, width=12)", "   -12345.68", "-12345.68"),
            ("loads[0].size|fixed(2, width=12, left=true)", "-12345.68   ", "-12345.68"),
            ("loads[0].size|fixed(2, mark=',')", "-12345,68", "-12345.68"),
            ("loads[0].size|fixed(1, mark=',', group='.')", "-12.345,7", "-12345.7"),
            ("loads[0].size|grouped(1)", "-12,345.7", "-12345.7"),
            ("loads[0].size|sci(4)", "-1.2346E+04", "-1.2346E+04"),
            ("loads[0].size|sci(4, letter='e')", "-1.2346e+04", "-1.2346E+04"),
            ("loads[0].size|dexp(6)", "-1.234568D+04", "-1.234568E+04"),
            ("loads[0].size|figures(3)", "-12300", "-12300"),
            ("loads[0].size|exact", "-12345.6789", "-12345.6789"),
            ("loads[0].at|fixed(4, 'even', width=8)", "  0.3333", "0.3333"),
            ("loads[1].at|fixed(0)", "3", "3"),
            ("loads[1].at|fixed(0, half='even')", "2", "2"),
            ("loads[1].size|fixed(2)", "0.00", "0.00"),
            ("count", "2", "2"),
            ("count|fixed(0, width=5)", "    2", "2"),
            ("typed", "62.0", "62.0"),
            ("typed|fixed(3)", "62.000", "62.000"),
            ("case", "12", "12"),
            ("joints.A.values|exact", "0.125", "0.125"),
        ],
    )
    def test_what_is_printed_is_recorded(self, printed: str, text: str, plain: str) -> None:
        result = InputTemplate("<{{ " + printed + " }}>").render(FIELDS)
        assert result.text == f"<{text}>"
        assert list(result.handed.values()) == [plain]

    @given(
        st.fractions(-(10**6), 10**6, max_denominator=10**6),
        st.integers(0, 9),
        st.sampled_from(["fixed", "sci", "dexp", "grouped"]),
    )
    def test_the_record_is_what_stands_there(self, x: Fraction, digits: int, form: str) -> None:
        result = InputTemplate(f"{{{{ x|{form}({digits}) }}}}").render({"x": x})
        stands = Decimal(result.text.replace("D", "E").replace(",", ""))
        assert Fraction(result.handed["x"]) == Fraction(stands)

    def test_loops_paths_and_what_is_left_out(self) -> None:
        result = InputTemplate(
            "{% for load in loads %}\n"
            "{{ loop.index|fixed(0, width=3) }}{{ load.at|fixed(2, width=8) }}"
            "{% if load.size < 0 %} down{% endif %}\n"
            "\n"
            "{% endfor %}\n"
            "{{ loads|length }} {{ loads|map(attribute='size')|map('fixed', 1)|join(';') }}\n"
        ).render(FIELDS)
        assert result.text == "  1    0.33 down\n  2    2.50\n2 -12345.7;0.0\n"
        assert result.handed == {
            "loads[1].at": "0.33",
            "loads[2].at": "2.50",
            "loads[1].size": "-12345.7",
            "loads[2].size": "0.0",
        }
        assert result.unprinted == ("case", "span", "count", "typed", "joints.A.values")

    def test_texts_stay_texts(self) -> None:
        source = "{{ title }}{% if loads[0].kind == 'point' %} P{% endif %} {{ title|upper }}"
        assert rendered(source) == "a bracket & two loads P A BRACKET & TWO LOADS"

    def test_a_field_goes_before_a_method_of_its_name(self) -> None:
        assert rendered("{{ joints.A.values|fixed(1) }}") == "0.1"
        assert rendered("{{ x.items|fixed(0) }}", {"x": {"items": fmpq(3)}}) == "3"
        assert rendered("{% for k, v in joints|items %}{{ k }}{% endfor %}") == "A"

    def test_numbers_compare_exactly(self) -> None:
        third = {"x": fmpq(1, 3), "y": Fraction(1, 3), "z": fmpq(1)}
        source = "{{ x == y }} {{ x < z }} {{ z == 1 }} {{ x >= 1 }} {{ x == 'a' }}"
        assert rendered(source, third) == "True True True False False"
        assert rendered("{% if loads[1].size %}load{% else %}none{% endif %}") == "none"

    def test_a_count_counts(self) -> None:
        assert rendered("{% for i in range(count) %}{{ i }} {% endfor %}") == "0 1 "

    def test_line_ends(self) -> None:
        template = InputTemplate("A\r\nB\n", newline="\r\n")
        assert template.render({}).text == "A\r\nB\r\n"
        with pytest.raises(TemplateProblem, match="does not end a line"):
            InputTemplate("A", newline=";")


class TestProblems:
    @pytest.mark.parametrize(
        ("source", "seen"),
        [
            ("{{ span }}", "span is printed without a number format"),
            ("{{ loads }}", "loads[1].at is printed without a number format"),
            ("{{ '%s' % span }}", "span is printed without a number format"),
            ("{{ span ~ ' m' }}", "span is printed without a number format"),
            ("{{ '%.2f' % span }}", "span is calculated with or converted"),
            ("{{ '%d' % count }}", "count is calculated with or converted"),
            ("{{ span * 2 }}", "span is calculated with"),
            ("{{ 2 - span }}", "span is calculated with"),
            ("{{ -span }}", "span is calculated with"),
            ("{{ span|int }}", "No filter named 'int'"),
            ("{{ span|round(2) }}", "No filter named 'round'"),
            ("{{ span|fixed(3, width=4) }}", "span is 6.000, too long for 4 columns"),
            ("{{ span|fixed(1) }} {{ span|fixed(2) }} {{ spam }}", "'spam' is undefined"),
            ("{{ loads[0].at|fixed(1) }} {{ loads[0].at|fixed(2) }}", "printed as 0.3 and as 0.33"),
            ("{{ loads[0].at|exact }}", "loads[1].at: 1/3 has no finite decimal form"),
            ("{{ loads[2].at|fixed(1) }}", "no element 2"),
            ("{{ title|fixed(1) }}", "title is the text 'a bracket & two loads', not a number"),
            ("{{ fixed_end|fixed(1) }}", "not a number of the case"),
            ("{{ (1 / 3)|fixed(1) }}", "not a number of the case"),
            ("{% if span > 0.5 %}{% endif %}", "compared with whole numbers only"),
            ("{{ span|fixed }}", "missing 1 required positional argument: 'digits'"),
            ("{{ span|fixed(-1) }}", "at least 0"),
            ("{{ span|fixed('2') }}", "at least 0"),
            ("{{ span|figures(0) }}", "at least 1"),
            ("{{ span|fixed(1, 'up') }}", 'exact halves go "away"'),
            ("{{ span|sci(1, letter='x') }}", "marked by E, e, D or d"),
            ("{{ span|fixed(1, widht=9) }}", "no option widht"),
            ("{{ span|fixed(1, mark='') }}", "told apart"),
            ("{{ span|fixed(1, mark=',', group=',') }}", "told apart"),
            ("{{ span._value }}", "unsafe"),
            ("{{ title.__class__ }}", "unsafe"),
            ("{{ range(9)|fixed(1) }}", "not a number of the case"),
        ],
    )
    def test_said_with_the_line(self, source: str, seen: str) -> None:
        message = problem("first line\n" + source)
        assert message.startswith("beam.in, line 2: ")
        assert seen in message

    def test_a_filter_behind_a_number_format(self) -> None:
        message = problem("{{ span|fixed(2)|replace('6', '7') }}")
        assert "let no filter follow its number format" in message

    def test_formatted_but_never_sent(self) -> None:
        assert "print it" in problem("{% set x = span|fixed(2) %}")

    def test_not_a_template(self) -> None:
        with pytest.raises(TemplateProblem, match=r"beam\.in, line 2: "):
            InputTemplate("first\n{% for %}", name="beam.in")

    @pytest.mark.parametrize("value", [0.5, 2j, {1, 2}, b"x"])
    def test_no_field_is_a_float(self, value: object) -> None:
        with pytest.raises(TypeError, match=r"a\[1\]\.x is of type"):
            InputTemplate("").render({"a": [{"x": value}]})
        with pytest.raises(TypeError, match=r"a\[1\]\.x is of type"):
            render_json({"a": [{"x": value}]})


class TestJson:
    def test_everything_is_there(self) -> None:
        result = render_json(FIELDS)
        read = json.loads(result.text, parse_float=Decimal)
        assert read["loads"][0]["size"] == Decimal("-12345.6789")
        assert read["loads"][0]["at"] == Decimal("0.33333333333333333")
        assert (read["title"], read["typed"], read["fixed_end"]) == (FIELDS["title"], "62.0", True)
        assert result.handed == {
            "case": "12",
            "span": "6",
            "loads[1].at": "3.3333333333333333E-01",
            "loads[1].size": "-12345.6789",
            "loads[2].at": "2.5",
            "loads[2].size": "0",
            "count": "2",
            "typed": "62.0",
            "joints.A.values": "0.125",
        }
        assert result.unprinted == ()

    def test_quotes_and_other_alphabets(self) -> None:
        odd = {'a"b': 'x\n"\\é', "none": None}
        assert json.loads(render_json(odd).text) == odd

    @given(st.fractions())
    def test_seventeen_figures_rounded_correctly(self, x: Fraction) -> None:
        result = render_json({"x": x})
        stands = json.loads(result.text, parse_float=Decimal, parse_int=Decimal)["x"]
        assert Fraction(result.handed["x"]) == Fraction(stands)
        if Fraction(stands) != x:
            place = stands.adjusted() - 16
            scaled = Fraction(x) / Fraction(10) ** place
            assert round(scaled) == Fraction(stands) / Fraction(10) ** place

    @given(st.floats(allow_nan=False, allow_infinity=False))
    def test_every_double_arrives(self, x: float) -> None:
        assert json.loads(render_json({"x": Fraction(x)}).text)["x"] == x

    def test_seventeen_figures_are_those_of_decimal_arithmetic(self) -> None:
        x = Fraction(2, 7)
        expected = (Decimal(2) / Decimal(7)).quantize(Decimal("1E-17"), ROUND_HALF_EVEN)
        assert Fraction(render_json({"x": x}).handed["x"]) == Fraction(expected)
