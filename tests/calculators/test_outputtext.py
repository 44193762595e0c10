"""Answers located in the text of a calculator. The listings are invented for these tests."""

from __future__ import annotations

import re
from typing import Any

import pytest

from refsolver.calculators.numbertext import read_number
from refsolver.calculators.textformat import (
    FixedColumns,
    Found,
    OutputPattern,
    PatternProblem,
    ResultTable,
    UnreadableOutput,
    matches_in_echo,
)

LISTING = """\
 SPAN  6.000 m      LOAD  12.500 kN
 ------------------------------------
 Reaction A =     8.3333 kN  up
 Reaction B =    -4.1667 kN  down
 Max. moment :  1.25D+01
 step 1 deflection 0.5
 step 2 deflection 0.25
 step 3 deflection 0.125
"""


def failing(reader: Any, text: str) -> UnreadableOutput:
    with pytest.raises(UnreadableOutput) as failure:
        reader.read(text)
    assert failure.value.name == reader.name
    return failure.value


class TestPattern:
    def test_one_group(self) -> None:
        found = OutputPattern("A", r"Reaction A\s*=(.*?)(?:up|down)$").read(LISTING)
        assert found == Found("8.3333 kN", {})
        assert read_number(found.text).unit == "kN"

    def test_named_groups(self) -> None:
        pattern = r"Reaction B\s*=\s*(?P<value>\S+)\s+(?P<unit>\w+)\s+(?P<sense>\w+)?$"
        found = OutputPattern("B", pattern).read(LISTING)
        assert found == Found("-4.1667", {"unit": "kN", "sense": "down"})

    def test_a_group_that_took_no_part_is_blank(self) -> None:
        found = OutputPattern("M", r"moment :\s*(?P<value>\S+)(?P<unit> kNm)?$").read(LISTING)
        assert found == Found("1.25D+01", {"unit": ""})

    def test_nothing_printed_is_blank(self) -> None:
        assert OutputPattern("R", r"R =(.*)$").read("R =  \nS = 1").text == ""

    @pytest.mark.parametrize(
        ("which", "text"), [("first", "0.5"), ("last", "0.125"), (2, "0.25"), (3, "0.125")]
    )
    def test_which_of_several(self, which: Any, text: str) -> None:
        assert OutputPattern("d", r"deflection (\S+)", which).read(LISTING).text == text

    def test_several_without_saying_which(self) -> None:
        failure = failing(OutputPattern("d", r"deflection (\S+)"), LISTING)
        assert failure.kind == "ambiguous"
        assert "3 times" in str(failure)

    @pytest.mark.parametrize("which", [None, "first", "last"])
    def test_none(self, which: Any) -> None:
        assert failing(OutputPattern("C", r"Reaction C = (\S+)", which), LISTING).kind == "missing"

    def test_fewer_than_the_one_asked_for(self) -> None:
        failure = failing(OutputPattern("d", r"deflection (\S+)", 4), LISTING)
        assert (failure.kind, "3 times, not 4" in failure.why) == ("missing", True)

    @pytest.mark.parametrize("text", ["a\nR = 5 kN\nb", "a\r\nR = 5 kN\r\nb", "\ufeffR = 5 kN"])
    def test_any_line_end(self, text: str) -> None:
        assert OutputPattern("R", r"^R = (.*)$").read(text).text == "5 kN"

    @pytest.mark.parametrize(
        ("pattern", "text"),
        [
            (r"R = (\d+)", "R = 12.5"),
            (r"R = (\d+\.\d)", "R = 12.56"),
            (r"R =\D*([\d.]+)", "R = -12.5"),
            (r"R =\D*([\d.]+)", "R = \N{MINUS SIGN}12.5"),
            (r"R = ([\d.]+)", "R = 12.5E+03"),
            (r"R = ([\d.]+)", "R = 12.5D3"),
            (r"R = ([\d.]+)", "R = 1.234-105"),
            (r"(\d+) kN", "R = 12.5 kN"),
            (r"(\.\d+) kN", "R = 12.5 kN"),
        ],
    )
    def test_a_part_of_a_number_is_never_taken_for_the_whole(self, pattern: str, text: str) -> None:
        failure = failing(OutputPattern("R", pattern), text)
        assert failure.kind == "malformed"
        assert "only a part" in failure.why

    @pytest.mark.parametrize(
        ("pattern", "text", "value"),
        [
            (r"is ([\d.]*\d)", "It is 12.5.", "12.5"),
            (r"is ([\d.]+) ?kN", "is 12.5kN", "12.5"),
            (r"R(?P<sign>[+-])(?P<value>\d+)", "R-12", "12"),
            (r"R1=(\S+)", "R1=12", "12"),
        ],
    )
    def test_whole_numbers_with_neighbours(self, pattern: str, text: str, value: str) -> None:
        assert OutputPattern("R", pattern).read(text).text == value

    @pytest.mark.parametrize(
        ("pattern", "which", "seen"),
        [
            (r"R = (\d+", None, "no regular expression"),
            (r"R = \d+", None, "one group"),
            (r"(\w+) = (\d+)", None, "one group"),
            (r"(?P<a>\w+) = (?P<b>\d+)", None, "named value"),
            (r"(?P<value>\w+) = (\d+)", None, "one group"),
            (r"(.)", "second", "which is"),
            (r"(.)", 0, "which is"),
            (r"(.)", True, "which is"),
        ],
    )
    def test_a_pattern_must_be_defined_properly(self, pattern: str, which: Any, seen: str) -> None:
        with pytest.raises(PatternProblem, match=seen):
            OutputPattern("R", pattern, which)


COLUMNS = """\
 JOINT    FX        FY
     1   -12.345-67.890
     2 *********  0.001
     3     1.000
"""


class TestFixedColumns:
    def test_a_field_and_its_neighbour(self) -> None:
        assert FixedColumns("1x", r"^ +1\b", (7, 16)).read(COLUMNS).text == "-12.345"
        assert FixedColumns("1y", r"^ +1\b", (17, 23)).read(COLUMNS).text == "-67.890"

    def test_overflow_is_found_and_told_by_the_number_reader(self) -> None:
        assert FixedColumns("2x", r"^ +2\b", (7, 16)).read(COLUMNS).text == "*********"

    def test_a_short_line_is_blank(self) -> None:
        assert FixedColumns("3y", r"^ +3\b", (17, 26)).read(COLUMNS).text == ""

    def test_below_a_line(self) -> None:
        assert FixedColumns("1x", "JOINT", (7, 16), below=1).read(COLUMNS).text == "-12.345"
        assert failing(FixedColumns("x", "JOINT", (7, 16), below=9), COLUMNS).kind == "missing"

    def test_columns_that_cut_a_number(self) -> None:
        for columns in [(11, 16), (7, 14), (18, 23)]:
            failure = failing(FixedColumns("1x", r"^ +1\b", columns), COLUMNS)
            assert failure.kind == "malformed"

    def test_abutting_fields_where_said(self) -> None:
        line = "R 1234.5678765.432"
        assert failing(FixedColumns("a", "^R", (3, 10)), line).kind == "malformed"
        assert FixedColumns("a", "^R", (3, 10), abutting=True).read(line).text == "1234.567"
        assert FixedColumns("b", "^R", (11, 18), abutting=True).read(line).text == "8765.432"

    def test_a_neighbour_with_its_own_sign_is_no_cut(self) -> None:
        assert FixedColumns("a", "^R", (3, 8)).read("R 12.345-678.90").text == "12.345"

    def test_a_tab_is_refused(self) -> None:
        assert failing(FixedColumns("R", "^R", (3, 9)), "R\t12.5").kind == "malformed"

    def test_several_lines(self) -> None:
        assert failing(FixedColumns("R", r"\d", (1, 5)), COLUMNS).kind == "ambiguous"
        assert FixedColumns("R", r"\d", (1, 6), "first").read(COLUMNS).text == "1"

    @pytest.mark.parametrize("columns", [(0, 5), (5, 4)])
    def test_columns_must_be_columns(self, columns: tuple[int, int]) -> None:
        with pytest.raises(PatternProblem, match="from 1"):
            FixedColumns("R", "R", columns)


MEMBERS = """\
 MEMBER FORCES
 Member   Axial     Remark
 ------   ------    ------
   AB      12.5     tie
   BC     -3,000.0  strut

   CA       0.0     -
 end of list
 Member count 3
"""


class TestTable:
    def test_by_position_until_a_blank_line(self) -> None:
        table = ResultTable("N", r"^ Member +Axial", value=2, key=1)
        assert table.read(MEMBERS) == {"AB": "12.5", "BC": "-3,000.0"}

    def test_by_name_until_a_line(self) -> None:
        table = ResultTable("N", "Axial", value="Axial", key="Member", until="end of list")
        assert table.read(MEMBERS) == {"AB": "12.5", "BC": "-3,000.0", "CA": "0.0"}

    def test_rows_are_numbered_without_a_key(self) -> None:
        assert ResultTable("N", "Axial", value="Axial").read(MEMBERS) == {
            "1": "12.5",
            "2": "-3,000.0",
        }

    def test_by_characters(self) -> None:
        table = ResultTable("R", "JOINT", key=(1, 6), value=(17, 26))
        assert table.read(COLUMNS) == {"1": "-67.890", "2": "0.001", "3": ""}

    def test_wide_blanks_keep_a_unit_with_its_number(self) -> None:
        text = "Joint A    Sum x\nleft end   12.5 kN\nright end  7.5 kN"
        table = ResultTable("R", "^Joint", key="Joint A", value="Sum x", split="wide blanks")
        assert table.read(text) == {"left end": "12.5 kN", "right end": "7.5 kN"}

    def test_separators(self) -> None:
        comma = 'name, force\n"A, left", "1,250.5"\nB, 3\n'
        table = ResultTable("R", "^name", key="name", value="force", split=",")
        assert table.read(comma) == {"A, left": "1,250.5", "B": "3"}
        bars = "| name | force |\n|:--|--:|\n| A | 1.5 |\n| B |  |\n"
        table = ResultTable("R", "name", key="name", value="force", split="|")
        assert table.read(bars) == {"A": "1.5", "B": ""}
        tabs = "name\tforce\nA\t1.5\n"
        assert ResultTable("R", "name", key=1, value=2, split="\t").read(tabs) == {"A": "1.5"}

    @pytest.mark.parametrize(
        ("table", "text", "kind"),
        [
            (ResultTable("R", "no such", value=1), MEMBERS, "missing"),
            (ResultTable("R", "Member", value=1), MEMBERS, "ambiguous"),
            (ResultTable("R", "Axial", value="Shear"), MEMBERS, "missing"),
            (ResultTable("R", "Axial", value=4), MEMBERS, "malformed"),
            (ResultTable("R", "Axial", value=2, until="THE END"), MEMBERS, "malformed"),
            (ResultTable("R", "^n", value=2, key=1), "n x\nA 1\nA 2\n", "ambiguous"),
            (ResultTable("R", "^n", value="x", key=1), "n x x\nA 1 2\n", "ambiguous"),
            (ResultTable("R", "^n", value="x", key=1), "n x\nA 1 kN\n", "malformed"),
            (ResultTable("R", "^n", value=1), "n x\n---\n", "missing"),
        ],
    )
    def test_what_cannot_be_located(self, table: ResultTable, text: str, kind: str) -> None:
        assert failing(table, text).kind == kind

    @pytest.mark.parametrize(
        "options",
        [{"value": 0}, {"value": (3, 2)}, {"value": 1, "split": ", "}, {"value": 1, "split": "."}],
    )
    def test_a_table_must_be_defined_properly(self, options: dict[str, Any]) -> None:
        with pytest.raises(PatternProblem, match="R: "):
            ResultTable("R", "x", **options)


class TestEcho:
    SENT = "TITLE Reaction A = 0\nSPAN 6.000\n"

    def test_a_pattern_that_would_read_the_echo(self) -> None:
        assert matches_in_echo(OutputPattern("L", r"SPAN\s+(\S+)"), self.SENT) == ("SPAN 6.000",)
        assert matches_in_echo(FixedColumns("A", "Reaction A", (1, 5)), self.SENT) == (
            "Reaction A",
        )
        assert matches_in_echo(ResultTable("A", "^TITLE", value=1), self.SENT) == ("TITLE",)

    def test_a_pattern_that_would_not(self) -> None:
        assert matches_in_echo(OutputPattern("A", r"^Reaction A = (\S+)"), self.SENT) == ()


def test_readers_are_values() -> None:
    assert OutputPattern("A", "(.)") == OutputPattern("A", "(.)")
    assert OutputPattern("A", "(.)") != OutputPattern("A", "(..)")
    assert re.search("pattern='", repr(OutputPattern("A", "(.)")))
