"""Solving for a reader: what could not be solved or proven is said, never left out."""

from refsolver.runs.solving import solve_case

HEAD = """
title = "A made-up case"
family = "{family}"
statement = "Made up for a test."
[source]
kind = "constructed"
by = "made up"
[given]
"""


def solved(tmp_path, family, given):
    path = tmp_path / "case.toml"
    path.write_text(HEAD.format(family=family) + given, encoding="utf-8")
    return solve_case(str(path))


def test_a_solve_that_stops_says_where(tmp_path):
    """Which of 2 and exp(ln 2) is the larger is beyond any proof here."""
    given = 'i_x = "2 m^4"\ni_y = "exp(ln(2)) m^4"\n'
    found = solved(tmp_path, "second-moments/principal-axes", given)
    assert found.not_proven
    assert "Nothing is proven: undecided" in found.text()
    assert found.data()["stopped"].startswith("undecided")


def test_a_family_without_independent_check_says_so(tmp_path):
    given = 'quantity = "1 N"\n'
    found = solved(tmp_path, "unit-conversion/force", given)
    assert not found.not_proven and found.data()["stopped"] == ""
    assert "no independent check" in found.text()


def test_a_second_method_is_named(tmp_path):
    given = 'area = "2 m^2"\nmoment = "9 m^4"\nknown = "1 m"\n'
    text = solved(tmp_path, "second-moments/parallel-axis", given).text()
    assert "Proven to 30 digits" in text and "second method: I' - I" in text
