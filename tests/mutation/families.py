"""The tests of a chapter: those that name its families, or are made for each family."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from refsolver.statics.registry import families

TOP = Path(__file__).parents[2]


def families_in(module: str) -> frozenset[str]:
    """The names of the families that a module of the package makes."""
    return frozenset(n for n, f in families().items() if type(f).__module__ == module)


def files_of(names: Iterable[str], module: str, tests: Iterable[str]) -> list[str]:
    """Files among the tests in which one of the names, its chapter or the module stands.

    A file that is listed itself is always one of them.
    """
    marks = {module, *names, *(f'"{name.partition("/")[0]}/' for name in names)}
    found = []
    for place in tests:
        for path in [TOP / place] if place.endswith(".py") else sorted((TOP / place).glob("*.py")):
            text = path.read_text(encoding="utf-8")
            if place.endswith(".py") or any(mark in text for mark in marks):
                found.append(str(path.relative_to(TOP)))
    return found


def concerns(item: Any, names: frozenset[str]) -> bool:
    """Whether a test is made for one of the families, or for none in particular."""
    asked = set(_named(item))
    return not asked or not asked.isdisjoint(names)


def _named(item: Any) -> Iterator[str]:
    """The families for which a test is made: by name, by themselves, by one of their cases."""
    for value in item.callspec.params.values() if hasattr(item, "callspec") else ():
        name = value if isinstance(value, str) else getattr(value, "name", "")
        for known in (name, str(name).rpartition("/")[0]):
            if known in families():
                yield known
