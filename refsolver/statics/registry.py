"""Which families there are: every chapter module registers its own.

One family is had without loading the other chapters: the sources of all are looked through
for its name, and the one that states it is loaded. What a chapter registers when it is loaded
counts, not what was found in its source.
"""

from __future__ import annotations

import difflib
import importlib
import pkgutil
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

from refsolver.statics.contract import Family

__all__ = ["UnknownFamily", "derived", "families", "family", "folder_of", "register"]

_FAMILIES: dict[str, Family] = {}
_DERIVED: dict[str, Family] = {}

F = TypeVar("F", bound=type[Family])


class UnknownFamily(LookupError):
    """No family has this name; the message lists the nearest ones."""


def register(cls: F) -> F:
    """Class decorator: the family becomes known under its name. ValueError if taken."""
    if cls.name in _FAMILIES:
        raise ValueError(f"the family {cls.name!r} is registered twice")
    _FAMILIES[cls.name] = cls()
    return cls


def derived(cls: type[Family]) -> Family:
    """The one instance of a family made from another, known under its name from now on."""
    return _DERIVED.setdefault(cls.name, cls())


def folder_of(name: str) -> str:
    """The folder of a family's cases; an inverse question lies with the family it inverts."""
    return name.partition(" ")[0]


_NAME = re.compile(rb'\n    name = "([^"\n]+)"\r?\n')
"""How the class of a family states its name."""


def _chapters() -> Iterator[tuple[str, Path]]:
    """Every chapter: its module's full name, and its source."""
    from refsolver.statics import chapters

    folder = Path(chapters.__path__[0])
    for module in pkgutil.iter_modules(chapters.__path__):
        yield f"{chapters.__name__}.{module.name}", folder / f"{module.name}.py"


@cache
def _stated() -> Mapping[str, str]:
    """The module in whose source a name is stated; empty where there are no sources."""
    try:
        return {
            name.decode(): module
            for module, source in _chapters()
            for name in _NAME.findall(source.read_bytes())
        }
    except (OSError, UnicodeDecodeError):
        return {}


@cache
def families() -> Mapping[str, Family]:
    """All families by name; loads every chapter."""
    for module, _ in _chapters():
        importlib.import_module(module)
    return dict(sorted(_FAMILIES.items()))


def family(name: str) -> Family:
    """The family of that name; loads its chapter. Raises UnknownFamily."""
    if name in _DERIVED:
        return _DERIVED[name]
    if name not in _FAMILIES and name in _stated():
        importlib.import_module(_stated()[name])
    if name in _FAMILIES:
        return _FAMILIES[name]
    known = families()
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.4)
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    raise UnknownFamily(
        f"there is no family {name!r}{hint} (refsolver cases --families lists them)"
    )
