"""Which families there are: every chapter module registers its own."""

from __future__ import annotations

import difflib
import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
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


@cache
def families() -> Mapping[str, Family]:
    """All families by name; loads every chapter."""
    from refsolver.statics import chapters

    for module in pkgutil.iter_modules(chapters.__path__):
        importlib.import_module(f"{chapters.__name__}.{module.name}")
    return dict(sorted(_FAMILIES.items()))


def family(name: str) -> Family:
    """The family of that name. Raises UnknownFamily."""
    known = families()
    if name in known:
        return known[name]
    if name in _DERIVED:
        return _DERIVED[name]
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.4)
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    raise UnknownFamily(f"there is no family {name!r}{hint} (refsolver cases lists them)")
