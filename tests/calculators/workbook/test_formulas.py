from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.workbook.formulas import normal_form, parsed


def _plain(formula: str) -> str:
    return normal_form(formula, lambda reference: reference.replace("$", "").upper())


@pytest.mark.parametrize(
    ("formula", "references"),
    [
        ("=A1+$B$2*2", ["A1", "$B$2"]),
        ("=SUM('My Sheet'!B2:C3,pulls)", ["'My Sheet'!B2:C3", "pulls"]),
        ("=@A1", ["A1"]),
        ("=A1:INDEX(B1:B9,3)", ["A1", "B1:B9"]),
        ("=OFFSET(A1,0,0):B3", ["A1", "B3"]),
        ("=T[[#This Row],[F]]+T[@G]", ["T[[#This Row],[F]]", "T[@G]"]),
        ("=[1]Loads!A1+S:T!B2", ["[1]Loads!A1", "S:T!B2"]),
        ('="A1"&TRUE&1.5&#N/A', []),
        ("=_xlfn.LET(_xlpm.x,A1,_xlpm.x+1)", ["A1"]),
        ("={1,2;3,4}*A:A", ["A:A"]),
    ],
)
def test_the_references_of_a_formula(formula: str, references: list[str]) -> None:
    said = parsed(formula)
    assert said is not None
    assert list(said.references) == references


def test_functions_without_case_and_prefix() -> None:
    said = parsed("=sum(_xlfn.STDEV.S(A1:A3),MyOwn(1),A1:index(B:B,2),_xlfn._xlws.FILTER(A:A,B:B))")
    assert said is not None
    assert said.functions == {"SUM", "STDEV.S", "MYOWN", "INDEX", "FILTER"}
    assert said.unlisted == {"MYOWN"}


@pytest.mark.parametrize("formula", ["=OFFSET(A1,1,0)", '=INDIRECT("A"&1)', "=A1:INDEX(B:B,2)"])
def test_references_made_at_run_time(formula: str) -> None:
    said = parsed(formula)
    assert said is not None
    assert said.computed


def test_unions_intersections_and_joins() -> None:
    plain, union, cut, join = map(
        parsed, ["=SUM( A1 , B1 ) * ( C1 )", "=SUM((A1,B2))", "=SUM(A1:C1 B1:B3)", '="a"&A1']
    )
    assert plain is not None and not (plain.unites or plain.intersects or plain.joins)
    assert union is not None and union.unites and not union.intersects
    assert cut is not None and cut.intersects and not cut.unites
    assert join is not None and join.joins


def test_a_formula_that_cannot_be_taken_apart() -> None:
    assert parsed("=A1#") is None
    assert normal_form("=A1#", str.upper) == "=A1#"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("= sum( $A$1 ,\n b2 )", "=SUM(A1,B2)"),
        ("=A1*1.50E-3", "=A1*0.0015"),
        ("=IF(A1,true(),False)", "=IF(A1,TRUE,FALSE)"),
        ("=_xlfn.STDEV.S(A1:A3)", "=STDEV.S(A1:A3)"),
        ("=SUM(A1 :A3)", "=SUM(A1:A3)"),
        ("=A1:index(B1:B9,2)", "=$A$1:INDEX($B$1:$B$9,2)"),
    ],
)
def test_one_normal_form_for_one_meaning(one: str, other: str) -> None:
    assert _plain(one) == _plain(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("=A1+B1", "=A1-B1"),
        ('="a b"', '="ab"'),
        ('="TRUE()"', '="TRUE"'),
        ("=SUM(A1:C1 B1:B3)", "=SUM(A1:C1,B1:B3)"),
        ("=A1*3.14", "=A1*3.1416"),
        ("=SIN(A1)", "=COS(A1)"),
        ("=(A1+B1)*2", "=A1+B1*2"),
    ],
)
def test_other_meanings_keep_other_forms(one: str, other: str) -> None:
    assert _plain(one) != _plain(other)


PARTS = ["A1", "+", "-", "*", "(", ")", " ", "2", ",", "SUM(", '"x"', ":", "[", "]", "'", "{"]


@given(st.lists(st.sampled_from(PARTS)))
def test_any_text_is_answered_however_malformed(parts: list[str]) -> None:
    formula = "=" + "".join(parts)
    kept_as_it_is = normal_form(formula, str) == formula
    assert kept_as_it_is == (parsed(formula) is None)


leaves = st.sampled_from(
    ["A1", "$B$2:C3", "'My Sheet'!a1", "2.50", "1E3", '"x ""y"', "true", "#N/A"]
)
formulas = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.builds("{} {} {}".format, inner, st.sampled_from("+-*/^&=<"), inner),
        st.builds("( {})".format, inner),
        st.builds("-{}%".format, inner),
        st.builds("{}({} ,{})".format, st.sampled_from(["sum", "_xlfn.IFS", "TRUE"]), inner, inner),
    ),
    max_leaves=12,
)


@given(formulas)
def test_the_normal_form_is_its_own_normal_form(formula: str) -> None:
    assert parsed("=" + formula) is not None
    once = _plain("=" + formula)
    assert _plain("=" + once) == once
