"""A case drawn from its givens alone: for those who are to work out the answers.

A family's figure may draw answers as arrows, and may place what is given by them (a load
that hangs where equilibrium puts it). What is drawn from an answer is found by drawing once
more with other answers: whatever is not the same in every drawing is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.kinds import Choice, ChoiceKind, Kind, NoAnswer, Piece, TableKind, Value
from refsolver.statics.contract import Family
from refsolver.statics.drawing import Drawing
from refsolver.statics.finding import FOUND

__all__ = ["givens_drawing"]

CAPTION = "What is given, to scale"

_OTHERWISE: tuple[Callable[[float], float], ...] = (
    lambda x: 1.37 * x + 0.19,
    lambda x: -0.61 * x - 0.23,
)


def givens_drawing(
    family: Family, given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Drawing | None:
    """The family's figure without anything that tells an answer; None where nothing is left.

    ``answers`` are those of the double arithmetic ``ar``. A question for a given (see
    :mod:`refsolver.statics.finding`) has no such figure: all of it is drawn from what is
    sought.
    """
    if FOUND in family.answers:
        return None
    try:
        drawings = [family.figure(given, answers, ar)]
        for change in _OTHERWISE:
            others = {
                name: _changed(value, family.answers[name].kind, change)
                for name, value in answers.items()
            }
            drawings.append(family.figure(given, others, ar))
    except (ArithmeticError, ValueError, LookupError, TypeError):
        return None
    kept = [
        part
        for part in drawings[0].parts
        if getattr(part, "role", "") != "answer"
        and all(part in other.parts for other in drawings[1:])
    ]
    return attrs.evolve(drawings[0], parts=tuple(kept), caption=CAPTION) if kept else None


def _changed(value: Any, kind: Kind | None, change: Callable[[float], float]) -> Any:
    """Another value of the same kind."""
    if isinstance(value, NoAnswer):
        return value
    if isinstance(value, Choice):
        words = kind.words if isinstance(kind, ChoiceKind) else (value.word,)
        return attrs.evolve(value, word=words[(words.index(value.word) + 1) % len(words)])
    if isinstance(value, Piece):
        coefficients = tuple(change(float(c)) for c in value.coefficients)
        return attrs.evolve(value, coefficients=coefficients)
    if isinstance(value, Mapping):
        inner = kind.of if isinstance(kind, TableKind) else None
        return {key: _changed(item, inner, change) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(_changed(item, None, change) for item in value)
    return change(float(value))
