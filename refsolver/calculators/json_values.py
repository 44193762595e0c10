"""What a calculator answered in JSON, as raw values by place; numbers keep their text."""

from __future__ import annotations

import json
from typing import Any

from refsolver.calculators.contract import Asked
from refsolver.calculators.fields import at_field, why_missing

__all__ = ["values_from_json", "values_in_data"]


def values_from_json(question: Asked, text: str) -> dict[str, dict[str, Any]]:
    """The value at each place that is read; text that is no JSON is an error at each.

    A number stays the text it was printed as.
    """
    try:
        data = json.loads(text, parse_float=str, parse_int=str, parse_constant=str)
    except (ValueError, RecursionError) as error:
        return {place: {"error": f"the output is not JSON: {error}"} for place in question.places}
    return values_in_data(question, data)


def values_in_data(question: Asked, data: Any) -> dict[str, dict[str, Any]]:
    """The value at each place that is read of an answer whose numbers are still texts."""
    return {place: _value_at(data, place) for place in question.places}


def _value_at(data: Any, place: str) -> dict[str, Any]:
    if place == ".":
        return _json_value(data)
    why = why_missing(data, place)
    return {"blank": True, "why": why} if why else _json_value(at_field(data, place))


def _json_value(value: Any) -> dict[str, Any]:
    if value is None:
        return {"blank": True}
    if isinstance(value, str):
        return {"text": value}
    return {"error": f"a {type(value).__name__} instead of a number"}
