"""Columns of many cases as they go to the worker of a Python function, and come back."""

from __future__ import annotations

import base64
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from refsolver.calculators.contract import Asked, Failure, Placed
from refsolver.calculators.fields import at_field, steps_of, why_missing
from refsolver.calculators.python_worker import ReturnedNumber, decoded
from refsolver.calculators.worker import WorkerFailure

__all__ = ["columns_of", "in_columns", "raw_value", "sent", "value_at", "values_of"]

Values = dict[str, Sequence[float | Mapping[str, Any]]]


def in_columns(questions: Sequence[Asked]) -> Iterator[tuple[list[int], dict[str, Placed]]]:
    """The questions that fill and read the same places together: which, and what they fill."""
    forms: dict[Any, list[int]] = {}
    for index, question in enumerate(questions):
        filled = tuple((slot.place, slot.number) for slot in question.slots)
        forms.setdefault((question.family, filled, tuple(question.places)), []).append(index)
    for members in forms.values():
        rows = zip(*(questions[index].slots for index in members), strict=True)
        yield (
            members,
            {slots[0].place: [slot.handed for slot in slots] for slots in rows},
        )


def columns_of(places: Mapping[str, Placed], position: int) -> dict[str, Placed]:
    """The columns of one case alone."""
    return {
        place: [value[position]] if isinstance(value, list) else value
        for place, value in places.items()
    }


def sent(places: Mapping[str, Placed], *, blanks: bool) -> list[Any]:
    """The columns as the worker reads them.

    A blank among numbers is null with ``blanks``; without them, for arrays, it is NaN.
    """
    return [[list(steps_of(place)), _sent(value, blanks)] for place, value in places.items()]


def _sent(value: Placed, blanks: bool) -> Any:
    if not isinstance(value, list):
        return value
    kinds = set(map(type, value))
    if str in kinds:
        return {"items": [x or "" for x in value]}
    if blanks and type(None) in kinds:
        return {"items": value}
    doubles = np.array(value, dtype="<f8")  # None becomes NaN
    return {"doubles": base64.b64encode(doubles.tobytes()).decode("ascii")}


def values_of(answer: Any, count: int, wanted: Sequence[str]) -> tuple[Values, dict[int, Failure]]:
    """What stands at each wanted place, one entry a case, and the cases that failed.

    Raises WorkerFailure where it is no answer of the worker's.
    """
    try:
        if "results" in answer:
            return _of_each(answer["results"], count, wanted)
        if "exception" in answer:
            return {}, dict.fromkeys(range(count), _exception(answer["exception"]))
        result = answer["result"]
        return {place: _column_at(result, place, count) for place in wanted}, {}
    except (KeyError, TypeError, ValueError, AttributeError, IndexError):
        raise WorkerFailure(
            "garbage", f"{repr(answer)[:200]} is no answer of the worker's"
        ) from None


def _exception(problem: Mapping[str, Any]) -> Failure:
    return Failure("exception", f"{problem['type']}: {problem['message']}")


def _of_each(
    answers: Sequence[Any], count: int, wanted: Sequence[str]
) -> tuple[Values, dict[int, Failure]]:
    if len(answers) != count:
        raise ValueError
    failures = {
        at: _exception(answer["exception"])
        for at, answer in enumerate(answers)
        if "exception" in answer
    }
    results = [None if "exception" in answer else answer["result"] for answer in answers]
    return {place: [_quick(result, place) for result in results] for place in wanted}, failures


def _quick(result: Any, place: str) -> float | dict[str, Any]:
    """A double where one stands there, else the raw value."""
    here = result
    for step in steps_of(place):
        if not isinstance(step, str) or not isinstance(here, dict) or "fields" not in here:
            return value_at(decoded(result), place)
        here = here["fields"].get(step)
    if isinstance(here, dict) and here.get("type") == "float":
        return float(here["number"])
    return value_at(decoded(result), place)


def _column_at(result: Any, place: str, count: int) -> Sequence[float | Mapping[str, Any]]:
    steps = steps_of(place)
    here, known = result, result
    for step in steps:
        if isinstance(step, str):
            known = here.get("fields")
            here = known.get(step) if known else None
            if here is None:
                why = why_missing(dict.fromkeys(known or ()), place)
                return [{"blank": True, "why": why}] * count
    rows = [step for step in steps if isinstance(step, int)]
    if "fields" in here:
        return [{"error": "a table instead of a number"}] * count
    if "items" in here:
        return [_item_at(decoded(item), rows, place) for item in here["items"]]
    doubles = np.frombuffer(base64.b64decode(here["doubles"]), "<f8").reshape(here["shape"])
    if doubles.ndim != len(rows) + 1:
        axes = f"{doubles.ndim - 1} axes beside the cases where {len(rows)} are expected"
        return [{"error": f"an array with {axes}"}] * count
    if any(row >= size for row, size in zip(rows, doubles.shape[1:], strict=True)):
        why = f"the array at {place} has {' by '.join(map(str, doubles.shape[1:]))} places"
        return [{"blank": True, "why": why}] * count
    for row in rows:
        doubles = doubles[:, row]
    found: list[float] = doubles.tolist()
    return found


def _item_at(item: Any, rows: Sequence[int], place: str) -> dict[str, Any]:
    for row in rows:
        if not isinstance(item, list) or row >= len(item):
            return {"blank": True, "why": f"nothing stands at {place}"}
        item = item[row]
    return raw_value(item)


def value_at(result: Any, place: str) -> dict[str, Any]:
    """The raw value at a place of a decoded result."""
    if place == ".":
        return raw_value(result)
    why = why_missing(result, place)
    return {"blank": True, "why": why} if why else raw_value(at_field(result, place))


def raw_value(value: Any) -> dict[str, Any]:
    """A decoded value as :class:`Received` holds it."""
    if isinstance(value, ReturnedNumber):
        if value.text in ("nan", "inf", "-inf"):
            return {"error": value.text}
        return {"number": value.text}
    if isinstance(value, bool) or value is None:
        return {"blank": True} if value is None else {"text": str(value)}
    if isinstance(value, str):
        return {"text": value}
    return {"error": f"a {type(value).__name__} instead of a number"}
