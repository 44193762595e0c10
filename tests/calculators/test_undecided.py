"""Marks in a drafted file: found wherever they stand, and nothing else taken for one."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.drafting.toml_text import guess, line
from refsolver.calculators.undecided import undecided


def complaints(text):
    return list(undecided(tomllib.loads(text), text))


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ('x = "decide"', "line 1", "x is not decided"),
        ('\nx = "decide: +y"  # guess', "line 2", 'x is not decided: "+y" is a guess'),
        ("x = 'decide: +y'", "line 1", 'x is not decided: "+y" is a guess'),
        ('c = { absolute = "decide" }', "line 1", "c.absolute is not decided"),
        ('t = ["no", "decide: can\'t"]', "line 1", 't is not decided: "can\'t" is a guess'),
        ('x = """\ndecide"""', "", 'a value still says "decide"'),
    ],
)
def test_a_mark_is_said_with_its_line(text, where, what):
    ((found, said, _),) = complaints(text)
    assert (found, said) == (where, what)


@pytest.mark.parametrize(
    "text", ['x = "decided"', '# x = "decide"\ny = 1', 'x = "to decide"', 'x = 1 # "decide"']
)
def test_other_words_are_no_mark(text):
    assert complaints(text) == []


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"]), max_size=30))
def test_any_guess_is_found_again(words):
    text = "\n".join(line("x", guess(words), words))
    assert len(complaints(text)) == 1
    value = tomllib.loads(text)["x"]
    assert value == (f"decide: {words}" if words else "decide")
