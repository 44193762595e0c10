"""Fields: the places of calculators that take and give nested tables.

``pulls[1].size`` is the size in the first row of ``pulls``; rows are counted from one. A
field that is empty, ``"."``, is the whole result (a function that returns one number).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

__all__ = ["at_field", "nested", "steps_of", "why_missing"]

_NAMED = 12
_STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


@lru_cache(maxsize=4096)
def steps_of(field: str) -> tuple[str | int, ...]:
    """The names and the row numbers (from 0) on the way to a field."""
    return tuple(m[1] if m[1] is not None else int(m[2]) - 1 for m in _STEP.finditer(field))


def nested(values: Mapping[str, Any]) -> dict[str, Any]:
    """Fields as nested tables and lists: {"pulls[1].size": 3} is {"pulls": [{"size": 3}]}."""
    root: dict[str, Any] = {}
    for field, value in values.items():
        steps = steps_of(field)
        here: Any = root
        for step, following in zip(steps, [*steps[1:], None], strict=True):
            if following is None:
                new: Any = value
            else:
                new = [] if isinstance(following, int) else {}
            here = _entered(here, step, new, last=following is None)
    return root


def _entered(here: Any, step: str | int, new: Any, *, last: bool) -> Any:
    if isinstance(step, int):
        here.extend([None] * (step + 1 - len(here)))
        if last or here[step] is None:
            here[step] = new
    elif last or step not in here:
        here[step] = new
    return here[step]


def at_field(data: Any, field: str) -> Any:
    """The value at a field of nested data; None where there is nothing."""
    for step in steps_of(field):
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def why_missing(data: Any, field: str) -> str:
    """Why nested data has nothing at a field, naming what it has there; "" where it has."""
    for step in steps_of(field):
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            if isinstance(data, Mapping):
                names = ", ".join(map(str, list(data)[:_NAMED])) or "none"
                return f"the answer has no field {field!r}; the fields there are: {names}"
            if isinstance(data, list):
                return f"the answer has no field {field!r}; there are {len(data)} rows"
            return f"the answer has no field {field!r}; there are no fields"
    return ""
