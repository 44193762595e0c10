"""Answers a little wrong: each number off by a millionth, each word another one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.quantities.kinds import (
    AlternativesKind,
    Choice,
    ChoiceKind,
    FunctionKind,
    Kind,
    LineKind,
    NoAnswer,
    Piece,
    ScalarKind,
    TableKind,
    Value,
)

OFF = fmpq(1, 10**6)

Wrong = tuple[str, Value]
"""Which part of an answer is wrong, and the answer with it."""


def wrong_values(kind: Kind, value: Value) -> Iterator[Wrong]:
    """The value with one part of it wrong, each in turn; nothing of a refusal."""
    if isinstance(value, NoAnswer):
        return
    if isinstance(kind, TableKind):
        for key, entry in value.items():
            for part, wrong in wrong_values(kind.of, entry):
                yield f"[*]{part}", {**value, key: wrong}
    elif isinstance(kind, AlternativesKind):
        for number, one in enumerate(value):
            for name, inner in kind.of.items():
                for part, wrong in wrong_values(inner, one[name]):
                    yield f" {name}{part}", _put(value, number, {**one, name: wrong})
    elif isinstance(kind, ChoiceKind):
        for word in kind.words:
            if word != value.word:
                yield "", Choice(word, value.margins)
    elif isinstance(kind, ScalarKind):
        yield "", _off(value)
    elif isinstance(kind, FunctionKind):
        for number, piece in enumerate(value):
            for cs in _each_off(piece.coefficients):
                wrong_piece = Piece(piece.start, piece.end, tuple(cs))
                yield "", tuple(_put(value, number, wrong_piece))
    elif isinstance(kind, LineKind) and kind.space == 3:
        place, along = value
        yield from ((" place", (tuple(p), along)) for p in _each_off(place))
        yield from ((" direction", (place, tuple(d))) for d in _each_off(along))
    else:
        yield from (("", tuple(v)) for v in _each_off(value))


def _off(x: Any) -> arb:
    x = arb(x)
    return x + OFF if x.contains(0) else x * (1 + OFF)


def _each_off(values: Sequence[Any]) -> Iterator[list[Any]]:
    for number, x in enumerate(values):
        yield _put(values, number, _off(x))


def _put(values: Sequence[Any], number: int, value: Any) -> list[Any]:
    return [*values[:number], value, *values[number + 1 :]]


@attrs.frozen
class Wrongs:
    """What of a family's answers was made wrong, and what of that was noticed."""

    answers: set[str] = attrs.field(factory=set)
    tried: set[str] = attrs.field(factory=set)
    noticed: set[str] = attrs.field(factory=set)

    def left(self, owner: Any) -> set[str]:
        """Parts never noticed, and answers that never had a value."""
        return (self.tried - self.noticed) | (set(owner.answers) - self.answers)

    def __call__(self, owner: Any, given: Any, answers: Mapping[str, Value], decided: Any) -> None:
        """``decided()`` makes an arithmetic that knows the decisions of the proof."""
        for name, value in answers.items():
            for part, wrong in wrong_values(owner.answers[name].kind, value):
                self.answers.add(name)
                self.tried.add(name + part)
                if name + part not in self.noticed and _notices(
                    owner, given, {**answers, name: wrong}, decided()
                ):
                    self.noticed.add(name + part)


def _notices(owner: Any, given: Any, answers: Mapping[str, Value], ar: Any) -> bool:
    return any(not arb(r.value).contains(0) for r in owner.check(given, answers, ar))
