"""What a calculator takes for granted: givens without an input, and what they must then be.

``[family.fixed]`` names a given (``span``), one of every row (``"supports[*].kind"``) or one
of a single row (``"supports[2].at"``), and says what it is taken to be: a word, a number with
its unit, another given of the case (``"length"``), or a list of such, any of which will do. A
case in which it is otherwise is not applicable.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from flint import fmpq

from refsolver.catalogue.schema import Case
from refsolver.catalogue.toml import TomlReader
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.literals import read_literal
from refsolver.quantities.nearest import did_you_mean
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.units import UnitSystem, read_angle, read_unit
from refsolver.statics.contract import Given
from refsolver.statics.givens import leaf as leaf_at
from refsolver.statics.givens import pattern_of, patterns, walk

__all__ = [
    "Fixed",
    "fixed_for",
    "followed",
    "granted_leaf",
    "is_granted",
    "names_others",
    "read_fixed",
]

Fixed = Mapping[str, tuple[str, ...]]
"""Given (a pattern, or with the number of its row) to what it may be, as written."""

_ROW = re.compile(r"\[\d+\]")
_NUMBERS = ("quantity", "quantities", "angle")


def read_fixed(
    reader: TomlReader, table: Mapping[str, Any], key: str, givens: type, mapped: Collection[str]
) -> Fixed:
    """The table ``[family.fixed]``; what is wrong goes to the reader's complaints.

    ``mapped`` are the patterns that have an input, which cannot be taken for granted as well.
    """
    known = patterns(givens)
    found: dict[str, tuple[str, ...]] = {}
    for name, value in table.items():
        where = f'{key}."{name}"'
        pattern = _ROW.sub("[*]", name)
        field = known.get(pattern)
        if field is None or re.search(r"\[0+\]", name):
            near = did_you_mean(pattern, known, most=2, cutoff=0.5)
            hint = near or f"known: {', '.join(known)}"
            reader.complain(where, "is no given of the family (rows count from 1)", hint)
        elif pattern in mapped:
            reader.complain(where, "has an input as well", "leave out one of the two")
        else:
            texts = tuple(str(x) for x in (value if isinstance(value, list) else [value]))
            problems = [_problem(text, field, known) for text in texts] or ["says nothing"]
            for problem in filter(None, problems):
                reader.complain(where, problem)
            found[name] = texts
    return found


def _problem(text: str, field: Given, known: Mapping[str, Given]) -> str:
    """Why the text cannot be what the given is; "" where it can."""
    if field.shape == "choice":
        if text in field.choices:
            return ""
        near = difflib.get_close_matches(text, field.choices, n=1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        return f"{text!r} is none of {', '.join(field.choices)}{hint}"
    if field.shape == "integer":
        return "" if re.fullmatch(r"-?\d+", text) else f"a whole number is expected, not {text!r}"
    if field.shape not in _NUMBERS:
        return (
            f"a {field.shape} cannot be taken for granted by a text; leave it out: where a case "
            "does not state it, it is what the family takes for it"
        )
    other = known.get(_ROW.sub("[*]", text))
    wanted = _dimension(field)
    if other is not None and "[*]" not in text:
        return "" if _dimension(other) == wanted else f"{text} is no {wanted.name}"
    if _number(text, field, None) is None:
        return (
            f"{text!r} is no {wanted.name} with its unit, and no other given of the family "
            f'(write "3.5 m", or the name of a given)'
        )
    return ""


def _dimension(field: Given) -> Dimension:
    if field.shape == "angle" or field.dimension is None:
        return ANGLE
    return field.dimension


def fixed_for(fixed: Fixed, path: str, pattern: str) -> tuple[str, ...] | None:
    """What is granted of the given at ``path``: of its row before that of every row."""
    return fixed.get(path, fixed.get(pattern))


def is_granted(granted: Sequence[str], path: str, leaf: Any, field: Given, case: Case) -> bool:
    """Whether the leaf is one of those that the calculator takes for granted."""
    stated = case.literals.get(path)
    held = str(leaf) if stated is None else stated.text
    return held in granted or any(
        leaf == granted_leaf(text, field, case.given, case.units) for text in granted
    )


def names_others(fixed: Fixed, givens: type) -> bool:
    """Whether something is taken to be what another given is."""
    known = patterns(givens)
    return any(_ROW.sub("[*]", text) in known for texts in fixed.values() for text in texts)


def followed(fixed: Fixed, given: Any) -> Mapping[str, str]:
    """The givens that are what another given is, as granted: path to the other's path.

    What is handed over of the other (rounded, or as a double) is then this one's as well.
    """
    known = patterns(type(given))
    if not names_others(fixed, type(given)):
        return {}
    found: dict[str, str] = {}
    for path, leaf, field in walk(given):
        for text in fixed_for(fixed, path, pattern_of(path)) or ():
            named = field.shape != "choice" and _ROW.sub("[*]", text) in known
            if named and _other(given, text) == leaf:
                found[path] = text
    return found


def _other(given: Any, path: str) -> Any:
    try:
        return leaf_at(given, path)
    except KeyError:
        return None


def granted_leaf(text: str, field: Given, given: Any, system: UnitSystem) -> Any:
    """The leaf that a text grants: a word, a whole number, a number, or another given's.

    None where it is none, or the other given is not there.
    """
    if field.shape == "choice":
        return text
    if field.shape == "integer":
        return int(text)
    other = _other(given, text)
    return _number(text, field, system) if other is None else other


def _number(text: str, field: Given, system: UnitSystem | None) -> Any:
    """The number of a text, in the system's units; None where it does not fit the given."""
    try:
        literal = read_literal(text)
        if literal.value == 0 and not literal.unit_text and field.shape != "angle":
            return fmpq(0)
        unit = read_unit(literal.unit_text)
        if unit.dimension != _dimension(field):
            return None
        if field.shape == "angle":
            return read_angle(literal.value, unit)
        return literal.value if system is None else system.bring(literal.value, unit)
    except ReadingError:
        return None
