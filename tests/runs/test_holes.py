"""Every mistake that can matter to a family is revealed by at least three of its cases.

``holes.toml`` lists by family those that are not yet, for families new or changed: a list
that may only become shorter. Every family is asked about the mistakes of its own, every
third about the general ones too; REFSOLVER_HOLES=all asks every one (some minutes).
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest

from refsolver.runs.holes import LEAST, holes
from refsolver.statics.registry import families, family
from tests.shipped_cases import cases_of

KNOWN = tomllib.loads(Path(__file__).with_name("holes.toml").read_text(encoding="utf-8"))


ASKED = list(families())[:: 1 if os.environ.get("REFSOLVER_HOLES") == "all" else 3]


def own_cases(name):
    return [case for case in cases_of(name) if case.family == name]


def test_the_list_names_families_that_there_are():
    assert set(KNOWN) <= set(families())


def as_listed(name, **which):
    """The holes of these mistakes are those of the list."""
    found = {hole.mistake: hole for hole in holes(family(name), own_cases(name), **which)}
    own = {mistake.name for mistake in family(name).mistakes}
    known = {m for m in KNOWN.get(name, ()) if which["of_its_own" if m in own else "general"]}
    new = [hole.words() for mistake, hole in found.items() if mistake not in known]
    assert not new, "\n".join(new)
    closed = sorted(known - set(found))
    assert not closed, f"{name}: strike from tests/runs/holes.toml: {', '.join(closed)}"


@pytest.mark.parametrize("name", families())
def test_three_cases_reveal_each_mistake_of_a_family(name):
    as_listed(name, of_its_own=True, general=False)


@pytest.mark.slow
@pytest.mark.parametrize("name", ASKED)
def test_three_cases_reveal_each_general_mistake(name):
    as_listed(name, of_its_own=False, general=True)


def test_a_family_without_cases_has_a_hole_for_each_mistake_of_its_own():
    owner = family("friction/screw")
    found = holes(owner, [])
    own = [mistake.name for mistake in owner.mistakes]
    assert [hole.mistake for hole in found][: len(own)] == own
    assert "revealed by no case; add cases" in found[0].words()


def test_a_mistake_that_three_cases_reveal_is_no_hole():
    owner = family("friction/screw")
    found = {hole.mistake: hole for hole in holes(owner, own_cases("friction/screw"))}
    assert all(len(hole.revealed_by) < LEAST for hole in found.values())
    assert "tangents added" not in found
    some = {hole.mistake: hole for hole in holes(owner, own_cases("friction/screw")[:2])}
    assert len(some["tangents added"].revealed_by) <= 2


def test_a_mistake_that_only_generated_cases_reveal_is_a_hole_too():
    # Pulls by components alone: no case has an angle that could be mistaken.
    name = "particle-equilibrium/one-cord"
    plain = [case for case in own_cases(name) if "angle" not in case.text]
    found = {hole.mistake: hole for hole in holes(family(name), plain)}
    assert found["degrees taken as radians"].revealed_by == ()
