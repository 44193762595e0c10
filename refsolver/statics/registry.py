"""Which families there are: every module of a chapter registers its own.

A chapter is a folder of :mod:`refsolver.statics.chapters`, named as the first word of its
families (with ``_`` for ``-``) and as their folder in ``cases/``. One family is had without
loading the other chapters.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
from typing import TypeVar

from refsolver.quantities.nearest import did_you_mean
from refsolver.statics import chapters
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
def _load(chapter: str) -> None:
    """Loads every module in the folder of a chapter; does nothing where there is none."""
    package = importlib.import_module(f"{chapters.__name__}.{chapter}")
    for module in pkgutil.iter_modules(package.__path__):
        importlib.import_module(f"{package.__name__}.{module.name}")


@cache
def _folders() -> frozenset[str]:
    return frozenset(folder.name for folder in pkgutil.iter_modules(chapters.__path__))


@cache
def families() -> Mapping[str, Family]:
    """All families by name; loads every chapter."""
    for chapter in sorted(_folders()):
        _load(chapter)
    return dict(sorted(_FAMILIES.items()))


def family(name: str) -> Family:
    """The family of that name; loads its chapter. Raises UnknownFamily."""
    if name in _DERIVED:
        return _DERIVED[name]
    chapter = name.partition("/")[0].replace("-", "_")
    if chapter in _folders():
        _load(chapter)
    if name in _FAMILIES:
        return _FAMILIES[name]
    known = families()
    near = did_you_mean(name, known)
    hint = f"; {near}" if near else ""
    raise UnknownFamily(
        f"there is no family {name!r}{hint} (refsolver cases --families lists them)"
    )
