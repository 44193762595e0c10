"""Between which values a calculator was tried, and how sharp the criteria were there.

A tolerance in newtons that suits a form for tonnes passes anything on a case of a few
newtons. A signer has to see how far the run's values reach, and how many of its readings
were held to a tolerance that is a large part of the value itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

import attrs

from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.units import read_unit
from refsolver.statics.givens import pattern_of

__all__ = ["BLUNT", "BLUNT_SHARES", "InputSpan", "OutputSpan", "Spans", "blunt_words", "spans_of"]

BLUNT = (Fraction(1, 100), Fraction(1, 10))
"""Parts of the reference value beyond which a tolerance is counted."""

WIDE_TURN = Fraction(5)
"""Degrees to either side beyond which the tolerance of an angle is counted."""

BLUNT_SHARES = tuple(f"{float(part):.0%}".replace("%", " %") for part in BLUNT)
"""The same as words."""

_JUDGED = ("pass", "fail")


@attrs.frozen
class InputSpan:
    """The least and the largest number handed over for one input, as texts in its unit."""

    name: str
    says: str
    unit: str
    least: str
    most: str


@attrs.frozen
class OutputSpan:
    """The least and the largest reference of one output, in its unit, over its readings.

    ``blunt`` counts the readings whose tolerance is beyond each part of :data:`BLUNT` of the
    reference; None for an angle. A reference of zero is of no size and not among ``sized``.
    ``wide`` counts the readings of an angle whose tolerance is beyond :data:`WIDE_TURN`.
    """

    name: str
    unit: str
    readings: int
    sized: int
    least: str
    most: str
    blunt: tuple[int, ...] | None
    wide: int = 0


@attrs.frozen
class Spans:
    family: str
    inputs: tuple[InputSpan, ...]
    outputs: tuple[OutputSpan, ...]


def blunt_words(spans: Iterable[Spans]) -> str:
    """Sentences for the first page where readings were held to a large part of the value."""
    outputs = [o for each in spans for o in each.outputs]
    sized = [o for o in outputs if o.blunt is not None]
    angles = [o for o in outputs if o.blunt is None]
    blunt, wide = sum(o.blunt[-1] for o in sized if o.blunt), sum(o.wide for o in angles)
    said = []
    if blunt:
        said.append(
            f"The tolerance is more than {BLUNT_SHARES[-1]} of the reference value in {blunt} of "
            f"{sum(o.sized for o in sized)} readings (angles and values of zero aside); a pass "
            "shows little there."
        )
    if wide:
        said.append(
            f"The tolerance of an angle is more than {WIDE_TURN} degrees in {wide} of "
            f"{sum(o.readings for o in angles)} readings; a pass shows little there."
        )
    return " ".join(said)


def spans_of(content: Mapping[str, Any], family: str) -> Spans:
    """The ranges tried of one family, from the cases of a record that were judged."""
    cases = [
        case
        for case in content["cases"].values()
        if case["family"] == family
        and any(f["verdict"] in _JUDGED for f in case.get("findings", ()))
    ]
    return Spans(family, tuple(_inputs(cases)), tuple(_outputs(cases)))


def _inputs(cases: Iterable[Mapping[str, Any]]) -> Iterable[InputSpan]:
    found: dict[tuple[str, str, str], dict[Fraction, str]] = {}
    for case in cases:
        for leaf in case["handed"]:
            number = _number(leaf["handed_value"])
            if number is not None:
                name = f"{pattern_of(leaf['given'])} ({leaf['take']})"
                key = name, leaf["says"], leaf["unit"]
                found.setdefault(key, {})[number] = leaf["handed_value"]
    for (name, says, unit), seen in found.items():
        yield InputSpan(name, says, unit, seen[min(seen)], seen[max(seen)])


def _outputs(cases: Iterable[Mapping[str, Any]]) -> Iterable[OutputSpan]:
    found: dict[str, list[Mapping[str, Any]]] = {}
    for case in cases:
        for finding in case["findings"]:
            if finding["verdict"] in _JUDGED and finding["reference"] is not None:
                found.setdefault(finding["line"], []).append(finding)
    for name, readings in found.items():
        values = {_middle(f): f["reference"]["shown"] for f in readings}
        sized = [f for f in readings if _middle(f) != 0]
        unit = readings[0]["unit"]
        turned = _degrees(unit)
        blunt = None if turned else tuple(_beyond(sized, part) for part in BLUNT)
        wide = sum(_allowed(f) * turned > WIDE_TURN for f in readings) if turned else 0
        ends = values[min(values)], values[max(values)]
        yield OutputSpan(name, unit, len(readings), len(sized), *ends, blunt, wide)


def _beyond(readings: Iterable[Mapping[str, Any]], part: Fraction) -> int:
    return sum(_allowed(f) > part * abs(_middle(f)) for f in readings)


def _allowed(finding: Mapping[str, Any]) -> Fraction:
    """The larger of the deviations allowed below and above; 0 where the record states none."""
    stated = finding["tolerance"] or {}
    return max(_number(stated.get(k, "")) or Fraction(0) for k in ("below", "above"))


def _middle(finding: Mapping[str, Any]) -> Fraction:
    low, high = (_number(finding["reference"][end]) or Fraction(0) for end in ("lower", "upper"))
    return Fraction(0) if low <= 0 <= high else (low + high) / 2


def _number(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None


def _degrees(unit: str) -> Fraction:
    """Degrees in one of an angle's unit; 0 for a unit of something else."""
    try:
        known = read_unit(unit) if unit else None
    except ReadingError:
        known = None
    if known is None or known.dimension != ANGLE:
        return Fraction(0)
    factor = Fraction(int(known.factor.p), int(known.factor.q))
    return factor * 180 if known.pi_power else factor * _RADIAN


_RADIAN = Fraction("57.2958")
