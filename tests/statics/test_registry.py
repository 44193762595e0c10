"""Families are found by name, and one of them without the chapters of the others."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from refsolver.statics import registry
from refsolver.statics.registry import UnknownFamily, families, family

ALONE = """
import sys
from refsolver.statics.registry import UnknownFamily, families, family
assert family("friction/belt").name == "friction/belt"
chapters = [name for name in sys.modules if name.startswith("refsolver.statics.chapters.")]
try:
    family("friction/bell")
except UnknownFamily as problem:
    print(len(chapters), "friction/belt" in str(problem), len(families()))
"""


def test_every_family_is_stated_in_the_source_of_its_chapter():
    """Nothing else tells where a family is before its chapter is loaded."""
    stated = registry._stated()
    assert {name: type(one).__module__ for name, one in families().items()} == dict(stated)


def test_one_family_loads_few_chapters_and_all_are_loaded_when_asked_for():
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", ALONE], capture_output=True, text=True, check=True, env=environment
    )
    loaded, near, known = done.stdout.split()
    assert int(loaded) < 5 and near == "True" and int(known) == len(families())


@pytest.mark.parametrize("stated", [{}, {"friction/belt": "refsolver.statics.chapters.beams"}])
def test_without_sources_or_with_misleading_ones_every_chapter_is_loaded(monkeypatch, stated):
    belt = families()["friction/belt"]
    monkeypatch.setattr(registry, "_stated", lambda: stated)
    monkeypatch.setattr(registry, "_FAMILIES", {})
    assert family("friction/belt") is belt
    with pytest.raises(UnknownFamily, match="did you mean friction/belt"):
        family("friction/bell")
