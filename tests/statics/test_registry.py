"""Families are found by name, and one of them without the chapters of the others."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from refsolver.statics.registry import UnknownFamily, families, family

ALONE = """
import sys
from refsolver.statics.registry import UnknownFamily, families, family
assert family("friction/belt").name == "friction/belt"
inside = "refsolver.statics.chapters."
loaded = {name.split(".")[3] for name in sys.modules if name.startswith(inside)}
try:
    family("friction/bell")
except UnknownFamily as problem:
    print(*loaded, "friction/belt" in str(problem), len(families()))
"""


def test_every_family_stands_in_the_folder_of_its_chapter():
    """Nothing else tells where a family is before its chapter is loaded."""
    for name, one in families().items():
        chapter = type(one).__module__.removeprefix("refsolver.statics.chapters.").split(".")[0]
        assert name.partition("/")[0] == chapter.replace("_", "-")


def test_one_family_loads_few_chapters_and_all_are_loaded_when_asked_for():
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", ALONE], capture_output=True, text=True, check=True, env=environment
    )
    loaded, near, known = done.stdout.split()
    assert loaded == "friction" and near == "True" and int(known) == len(families())


@pytest.mark.parametrize("near", ["friction/bell", "frictions/belt", "belt"])
def test_an_unknown_family_is_answered_with_the_nearest_ones(near):
    with pytest.raises(UnknownFamily, match="did you mean .*friction/belt"):
        family(near)
