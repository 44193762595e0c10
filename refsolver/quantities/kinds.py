"""Kinds of answer: plain closed data on which every consumer dispatches.

The value of an answer is plain Python holding numbers of the arithmetic at work:

========================  ==============================================================
kind                      value
========================  ==============================================================
:class:`ScalarKind`       a number (an angle: radians)
:class:`VectorKind`       a tuple of components
:class:`DirectionKind`    a tuple of components; its length carries no meaning, never zero
:class:`PointKind`        a tuple of coordinates
:class:`LineKind`         plane: (a, b, c) of the line a x + b y = c; space: (point,
                          direction), two tuples
:class:`FunctionKind`     a tuple of :class:`Piece`
:class:`TableKind`        a dict from key to the value of the inner kind
:class:`AlternativesKind` a list of dicts (answer name to value), one a solution
:class:`ChoiceKind`       a :class:`Choice`: a word and the margins that decided it
========================  ==============================================================

Instead of its value any answer may be a :class:`NoAnswer`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

import attrs

from refsolver.arithmetic.contract import Number
from refsolver.quantities.dimensions import Dimension

__all__ = [
    "REFUSALS",
    "AlternativesKind",
    "Choice",
    "ChoiceKind",
    "DirectionKind",
    "FunctionKind",
    "Kind",
    "LineKind",
    "NoAnswer",
    "Piece",
    "PointKind",
    "ScalarKind",
    "TableKind",
    "Value",
    "VectorKind",
]

REFUSALS: dict[str, str] = {
    "no direction": "the vector is zero, and zero has no direction",
    "no line of action": "the system reduces to a couple or to nothing, and acts along no line",
    "no point": "the forces balance or form a couple, so they have no centre",
    "no intercept": "the line is parallel to what it should meet",
    "no unique answer": "more than one state satisfies the conditions stated",
    "no solution": "no state satisfies the conditions stated",
    "improper constraint": "the supports leave a motion free although they are enough in number",
    "mechanism": "the supports or members leave a motion free",
    "redundant": "equilibrium alone does not determine the forces",
    "no wrench axis": "the resultant force is zero, so there is no axis",
    "not defined": "the quantity asked has no meaning for this case",
}
"""The reasons for which an answer can be missing, each with its meaning."""


@attrs.frozen
class NoAnswer:
    """There is no such answer, and why: a valid outcome, not an error.

    ``reason`` is a key of :data:`REFUSALS`; ``evidence`` says what was proven.
    """

    reason: str
    evidence: str = ""

    def __attrs_post_init__(self) -> None:
        if self.reason not in REFUSALS:
            raise ValueError(f"{self.reason!r} is not a reason for refusing an answer")


@attrs.frozen
class Choice:
    """A word chosen by proof, and the margins by which it was chosen."""

    word: str
    margins: Mapping[str, Number] = attrs.field(factory=dict)


@attrs.frozen
class Piece:
    """A polynomial piece of a function of position: sum of c[k] (x - start)^k.

    On the closed stretch from ``start`` to ``end``; neighbouring pieces may differ where
    they meet (a jump), and the view says which side.
    """

    start: Number
    end: Number
    coefficients: tuple[Number, ...]


@attrs.frozen
class ScalarKind:
    dimension: Dimension


@attrs.frozen
class VectorKind:
    dimension: Dimension
    space: int = 2


@attrs.frozen
class DirectionKind:
    space: int = 2


@attrs.frozen
class PointKind:
    space: int = 2


@attrs.frozen
class LineKind:
    space: int = 2


@attrs.frozen
class FunctionKind:
    dimension: Dimension


@attrs.frozen
class TableKind:
    of: Kind
    keyed_by: str
    """What a key is, in words: "member", "force", "joint"."""


@attrs.frozen
class AlternativesKind:
    of: Mapping[str, Kind]


@attrs.frozen
class ChoiceKind:
    words: tuple[str, ...]


Kind: TypeAlias = (
    ScalarKind
    | VectorKind
    | DirectionKind
    | PointKind
    | LineKind
    | FunctionKind
    | TableKind
    | AlternativesKind
    | ChoiceKind
)

Value: TypeAlias = Any
"""A value as tabled above, or a :class:`NoAnswer`."""
