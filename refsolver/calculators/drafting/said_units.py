"""The unit that a label, a neighbouring cell or a number format states, if it states one."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache

import attrs

from refsolver.quantities.dimensions import (
    ANGLE,
    AREA,
    FORCE,
    LENGTH,
    LINE_LOAD,
    MASS,
    MOMENT,
    PRESSURE,
    SECOND_MOMENT,
    VOLUME,
    Dimension,
)
from refsolver.quantities.units import NO_UNIT, Unit, UnitError, read_unit

__all__ = ["SaidUnit", "unit_in_format", "unit_in_label", "unit_of_text"]

_WORDS = {
    "pound": "lb", "pounds": "lb", "lbs": "lb", "#": "lb", "newton": "N", "newtons": "N",
    "kilonewton": "kN", "kilonewtons": "kN", "kilogram": "kg", "kilograms": "kg", "deg.": "deg",
    "degs": "deg", "radian": "rad", "radians": "rad", "metres": "m", "meters": "m", "metre": "m",
    "meter": "m", "millimetres": "mm", "millimeters": "mm", "centimetres": "cm",
    "centimeters": "cm", "kgs": "kg", "kn": "kN", "knm": "kN m", "nm": "N m", "nmm": "N mm",
    "%": "%",
}  # fmt: skip
"""Spellings met in labels (common practice, no source), and the unit's own."""

_USUAL = {ANGLE, AREA, FORCE, LENGTH, LINE_LOAD, MASS, MOMENT, PRESSURE, SECOND_MOMENT, VOLUME}
_SYMBOLS = frozenset({"t", "g", "L", "h", "s", "T", "G", "H", "S", "W", "J", "M", "F", "P", "V"})
"""Letters that stand for a quantity at least as often as for a unit."""


@attrs.frozen
class SaidUnit:
    """A unit as a workbook writes it. ``meanings``: what it can be, by dimension, and whether
    that is what the text says (True) or a guess about it (False)."""

    text: str = ""
    where: str = ""
    meanings: Mapping[Dimension, tuple[Unit, bool]] = attrs.field(factory=dict)

    @property
    def known(self) -> bool:
        return bool(self.meanings)


def unit_of_text(text: str, where: str, *, alone: bool = True) -> SaidUnit | None:
    """The unit that ``text`` is, None where it is none.

    ``alone`` is false where a text stands in a cell of its own and may be a symbol instead.
    """
    plain = text.strip().strip("()[]").strip()
    if not plain or len(plain) > 20 or (not alone and plain in _SYMBOLS):
        return None
    meanings = _meanings(plain, alone)
    return SaidUnit(text.strip(), where, meanings) if meanings else None


@lru_cache(maxsize=4096)
def _meanings(plain: str, alone: bool) -> dict[Dimension, tuple[Unit, bool]]:
    """What a text can mean as a unit; empty where it is none."""
    spelt = _WORDS.get(plain.lower(), plain.rstrip("."))
    meanings: dict[Dimension, tuple[Unit, bool]] = {}
    for as_force in (False, True):
        for form in dict.fromkeys((spelt, spelt.lower())):
            try:
                unit = read_unit(form, mass_words_are_force=as_force)
            except UnitError:
                continue
            sure = not as_force and form == plain.rstrip(".")
            if unit != NO_UNIT and (alone or unit.dimension in _USUAL):
                meanings.setdefault(unit.dimension, (unit, sure or _same_word(plain, form)))
            break
    if len(meanings) > 1:  # lb, kg, t: a mass, or the weight of one
        return {d: (u, sure and d == MASS) for d, (u, sure) in meanings.items()}
    return meanings


def _same_word(plain: str, form: str) -> bool:
    """A spelling that can mean nothing else, such as "pounds" or "Deg"."""
    return plain.lower() in _WORDS or plain.lower() == form.lower() in ("deg", "degrees", "rad")


_GROUP = re.compile(r"[(\[]([^()\[\],;]{1,20})(?:[,;][^()\[\]]*)?[)\]]")
"""What stands in brackets, up to a comma: "(deg, clockwise from N)"."""


def unit_in_label(label: str) -> SaidUnit | None:
    """The unit in a label: "Pull (lbf)", "Span, m", "Load in kN", "w / kN/m"."""
    for text, alone in _parts(label):
        found = unit_of_text(text, "the label", alone=alone)
        if found is not None:
            return found
    return None


def _parts(label: str) -> Iterator[tuple[str, bool]]:
    for match in reversed(list(_GROUP.finditer(label))):
        yield match[1], True
    for mark in (r",\s*", r"\bin\s+", r"\s/\s*"):
        pieces = re.split(mark, label)
        if len(pieces) > 1:
            yield pieces[-1], True
    words = label.split()
    if len(words) > 1:
        yield words[-1], False


def unit_in_format(number_format: str) -> SaidUnit | None:
    """The unit that a number format shows behind the number: ``0.0" kN"``."""
    quoted = re.findall(r'"([^"]+)"', number_format)
    return unit_of_text(quoted[-1], "the number format") if quoted else None
