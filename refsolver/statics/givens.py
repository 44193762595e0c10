"""Walking over and changing the exact leaves of a case, whatever its family.

A leaf has a path name as a person would write it, counting from one:
``forces[3].magnitude``, ``load.intensity``, ``point``. Units, mappings to a calculator's
cells, sensitivities and mistakes all address leaves by these names.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import product
from refsolver.quantities.dimensions import LENGTH, Dimension
from refsolver.quantities.leaves import Components, Polar
from refsolver.statics.contract import Given

__all__ = [
    "checks_numbers",
    "fields",
    "leaf",
    "pattern_of",
    "patterns",
    "replaced",
    "required",
    "restated",
    "walk",
]


_FIELDS: dict[type, Mapping[str, Given]] = {}


def fields(cls: type) -> Mapping[str, Given]:
    """The given fields of a givens class, in order."""
    known = _FIELDS.get(cls)
    if known is None:
        known = {a.name: a.metadata["given"] for a in attrs.fields(cls) if "given" in a.metadata}
        _FIELDS[cls] = known
    return known


def patterns(cls: type, prefix: str = "") -> dict[str, Given]:
    """Every leaf that givens of a class may have, by its pattern, in order."""
    found: dict[str, Given] = {}
    for name, field in fields(cls).items():
        path = f"{prefix}{name}" + ("[*]" if field.shape in ("many", "quantities") else "")
        if field.of is not None and field.shape in ("many", "one"):
            found |= patterns(field.of, f"{path}.")
        else:
            found[path] = field
    return found


@lru_cache(maxsize=1024)
def required(cls: type) -> frozenset[str]:
    """The names of the givens that a case must state."""
    return frozenset(a.name for a in attrs.fields(cls) if a.default is attrs.NOTHING)


def checks_numbers(cls: type) -> bool:
    """Whether givens of this class, or a table in them, check their numbers when made."""
    check = getattr(cls, "__attrs_post_init__", None)
    if check is not None and not getattr(check, "of_names_alone", False):
        return True
    return any(f.of is not None and checks_numbers(f.of) for f in fields(cls).values())


def walk(given: Any, prefix: str = "") -> Iterator[tuple[str, Any, Given]]:
    """Every leaf that is present, with its path and what it is; sub-tables are entered.

    In an inverse question the leaf to find is not among them.
    """
    sought = getattr(given, "sought", None)
    for path, leaf, field in _leaves(given, prefix):
        if sought is None or not sought.whole or path != sought.path:
            yield path, leaf, field


def _leaves(given: Any, prefix: str) -> Iterator[tuple[str, Any, Given]]:
    for name, field in fields(type(given)).items():
        value, path = getattr(given, name), f"{prefix}{name}"
        if value is None:
            continue
        if field.shape == "many":
            for number, item in enumerate(value, 1):
                yield from _leaves(item, f"{path}[{number}].")
        elif field.shape == "one":
            yield from _leaves(value, f"{path}.")
        elif field.shape == "quantities":
            for number, item in enumerate(value, 1):
                yield f"{path}[{number}]", item, field
        else:
            yield path, value, field


_Step = tuple[str, int | None]
_STEP = re.compile(r"(\w+)(?:\[(\d+)\])?(?:\.|$)")


@lru_cache(maxsize=65536)
def _steps(path: str) -> tuple[_Step, ...]:
    steps: list[_Step] = []
    position = 0
    while position < len(path):
        match = _STEP.match(path, position)
        if match is None:
            raise KeyError(f"{path!r} is not the name of a given")
        steps.append((match[1], None if match[2] is None else int(match[2]) - 1))
        position = match.end()
    return tuple(steps)


def leaf(given: Any, path: str) -> Any:
    """The leaf (or sub-table) at a path; KeyError says which step is missing."""
    here = given
    for name, index in _steps(path):
        if name not in fields(type(here)):
            raise KeyError(f"{path!r}: there is no given {name!r}")
        here = getattr(here, name)
        if index is not None:
            if not 0 <= index < len(here):
                raise KeyError(f"{path!r}: there are {len(here)} {name}")
            here = here[index]
    return here


def replaced(given: Any, changes: Mapping[str, Any]) -> Any:
    """A copy of the givens with some leaves (or whole sub-tables) replaced, all at once.

    No state in between is made, so that givens may move together whose order is checked
    (a load that stays on its beam). Raises what the givens raise if they do not hold.
    """
    for path in changes:
        leaf(given, path)
    return _with(given, [(_steps(path), value) for path, value in changes.items()])


def _with(given: Any, changes: list[tuple[tuple[_Step, ...], Any]]) -> Any:
    by_step: dict[_Step, list[tuple[tuple[_Step, ...], Any]]] = {}
    for steps, value in changes:
        by_step.setdefault(steps[0], []).append((steps[1:], value))
    new: dict[str, Any] = {}
    for (name, index), inner in by_step.items():
        here = new.get(name, getattr(given, name))
        part = here if index is None else here[index]
        whole = [value for rest, value in inner if not rest]
        changed = whole[-1] if whole else _with(part, inner)
        if index is not None:
            changed = (*here[:index], changed, *here[index + 1 :])
        new[name] = changed
    return attrs.evolve(given, **new) if new else given


def restated(given: Any, factor: Callable[[Dimension], fmpq]) -> Any:
    """The same givens in other coherent units: each leaf times the factor of its dimension."""
    changes = {path: _times(leaf, field, factor) for path, leaf, field in walk(given)}
    return replaced(given, {path: new for path, new in changes.items() if new is not None})


def _times(leaf: Any, field: Given, factor: Callable[[Dimension], fmpq]) -> Any:
    if field.shape == "point":
        return tuple(product(factor(LENGTH), x) for x in leaf)
    if field.dimension is None or field.shape not in ("quantity", "quantities", "vector"):
        return None
    ratio = factor(field.dimension)
    if isinstance(leaf, Polar):
        return attrs.evolve(leaf, magnitude=product(ratio, leaf.magnitude))
    if isinstance(leaf, Components):
        return Components(tuple(product(ratio, x) for x in leaf.along))
    return product(ratio, leaf)


@lru_cache(maxsize=65536)
def pattern_of(path: str) -> str:
    """The path with every index replaced by a star: what a table's column is called."""
    return re.sub(r"\[\d+\]", "[*]", path)
