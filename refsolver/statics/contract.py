"""The family contract: one question of statics, stated once, solvable in any arithmetic.

A chapter is a folder of :mod:`refsolver.statics.chapters`; a family is one class in it,
derived from :class:`Family` and registered with :func:`refsolver.statics.registry.register`.
A family declares its givens (an attrs class built with the helpers below), its answers,
its rules and its mistakes, and implements ``solve``, ``check``, ``figure`` and
``propose``. It never sees tolerances, calculators, digits, or units as text: all exact
leaves arrive in one coherent system of units.
"""

from __future__ import annotations

import math
import random
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from types import SimpleNamespace
from typing import Any, ClassVar, Literal

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import Kind, Value
from refsolver.statics.drawing import Drawing

__all__ = [
    "Answer",
    "Cases",
    "Column",
    "Family",
    "Given",
    "Mistake",
    "Residual",
    "Row",
    "Sheet",
    "Solution",
    "Unreachable",
    "angle",
    "choice",
    "direction",
    "integer",
    "many",
    "one",
    "point",
    "quantity",
    "quantities",
    "text",
    "vector",
]

Shape = Literal[
    "quantity", "quantities", "angle", "direction", "vector", "point", "many", "one", "choice",
    "integer", "text",
]  # fmt: skip


@attrs.frozen
class Given:
    """What one attribute of a givens class holds: enough to read, vary and print it."""

    shape: Shape
    says: str
    dimension: Dimension | None = None
    space: int = 2
    of: type | None = None
    choices: tuple[str, ...] = ()
    sign: Literal["any", "positive", "not negative"] = "any"
    minimum: int = 0
    ordered: bool = False
    """Of a table: the order of its rows carries meaning, so that no test may change it."""


_MISSING: Any = object()


def _field(given: Given, default: Any = _MISSING) -> Any:
    metadata = {"given": given}
    if default is _MISSING:
        return attrs.field(metadata=metadata)
    return attrs.field(metadata=metadata, default=default)


def quantity(
    dimension: Dimension,
    says: str,
    *,
    sign: Literal["any", "positive", "not negative"] = "any",
    default: Any = _MISSING,
) -> Any:
    """An exact number of a dimension, in the case's coherent units."""
    return _field(Given("quantity", says, dimension, sign=sign), default)


def quantities(
    dimension: Dimension, says: str, *, minimum: int = 1, default: Any = _MISSING
) -> Any:
    """A tuple of exact numbers of one dimension."""
    return _field(Given("quantities", says, dimension, minimum=minimum), default)


def angle(says: str, *, default: Any = _MISSING) -> Any:
    """An exact angle (:data:`~refsolver.arithmetic.exact.Angle`)."""
    return _field(Given("angle", says), default)


def direction(says: str, *, space: int = 2, default: Any = _MISSING) -> Any:
    """An exact direction in any of its forms."""
    return _field(Given("direction", says, space=space), default)


def vector(dimension: Dimension, says: str, *, space: int = 2, default: Any = _MISSING) -> Any:
    """An exact vector: magnitude and direction, or components."""
    return _field(Given("vector", says, dimension, space=space), default)


def point(says: str, *, space: int = 2, default: Any = _MISSING) -> Any:
    """A tuple of exact coordinates."""
    return _field(Given("point", says, space=space), default)


def many(
    of: type, says: str, *, minimum: int = 1, ordered: bool = False, default: Any = _MISSING
) -> Any:
    """A tuple of sub-tables, each an attrs class of givens.

    ``ordered``: the order of the rows carries meaning (stations along a line, layers).
    """
    return _field(Given("many", says, of=of, minimum=minimum, ordered=ordered), default)


def one(of: type, says: str, *, default: Any = _MISSING) -> Any:
    """One sub-table."""
    return _field(Given("one", says, of=of), default)


def choice(choices: Sequence[str], says: str, *, default: Any = _MISSING) -> Any:
    """One of a closed set of words."""
    return _field(Given("choice", says, choices=tuple(choices)), default)


def integer(says: str, *, minimum: int = 0, default: Any = _MISSING) -> Any:
    """A count."""
    return _field(Given("integer", says, minimum=minimum), default)


def text(says: str, *, default: Any = "") -> Any:
    """A name: of a force, a joint, a member."""
    return _field(Given("text", says), default)


@attrs.frozen
class Answer:
    """One answer a family gives: its kind, what it is in words, and how it may be missing."""

    kind: Kind
    says: str
    refusals: tuple[str, ...] = ()


@attrs.frozen
class Column:
    """A column of a working sheet; ``dimension`` None is a bare number."""

    head: str
    dimension: Dimension | None = None


@attrs.frozen
class Row:
    """A labelled row; an empty cell is None."""

    label: str
    cells: tuple[Number | None, ...]


@attrs.frozen
class Sheet:
    """A table of the working that a reviewer can follow by hand.

    ``note`` is the equation behind it, in plain text.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""


@attrs.frozen
class Solution:
    """What ``solve`` returns: the value of every answer, and the working.

    A function in place of the sheets makes them, so that they cost nothing where nobody
    reads them. It decides nothing that ``solve`` has not decided.
    """

    answers: Mapping[str, Value]
    working: tuple[Sheet, ...] | Callable[[], tuple[Sheet, ...]] = ()


@attrs.frozen
class Residual:
    """A governing equation evaluated by another route: ``value`` must enclose zero.

    ``size`` is a number comparable with the terms that cancel, against which the width
    of the enclosure is judged.
    """

    name: str
    value: Number
    size: Number


@attrs.frozen
class Mistake:
    """A known mistake that belongs to this family.

    Exactly one seat: ``rules`` replaces rules by name; ``givens`` returns mistaken givens
    (None where it does not apply); ``answers`` returns mistaken answers.
    """

    name: str
    says: str
    rules: Mapping[str, Callable[..., Any]] | None = None
    givens: Callable[[Any], Any | None] | None = None
    answers: Callable[[Any, Mapping[str, Value], Arithmetic], Mapping[str, Value] | None] | None = (
        None
    )


class Unreachable(ValueError):
    """No case of the family has a condition number in the range asked for."""


@attrs.frozen
class Cases:
    """Givens of one form: the leaves of ``given`` are columns, one entry a case of ``numbers``.

    A leaf that all cases share may stand for itself.
    """

    numbers: tuple[int, ...]
    given: Any


class Family(ABC):
    """One question. Subclasses set the class attributes and are stateless."""

    name: ClassVar[str]
    """"chapter/question", the folder of its cases."""
    title: ClassVar[str]
    givens: ClassVar[type]
    answers: ClassVar[Mapping[str, Answer]]
    rules: ClassVar[Mapping[str, Callable[..., Any]]] = {}
    mistakes: ClassVar[tuple[Mistake, ...]] = ()
    method: ClassVar[str]
    """The equations solved, in a sentence."""
    second_method: ClassVar[str]
    """How ``check`` verifies them by another route; "" means: no independent check."""
    caution: ClassVar[str] = ""
    """What the report says where the subject can hurt someone."""
    reach: ClassVar[tuple[float, float]] = (1.0, math.inf)
    """From the least to the greatest condition number that generated cases can have."""
    reach_because: ClassVar[str] = ""
    """Why no case is worse, where that is so."""

    @abstractmethod
    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        """All answers, each a value or NoAnswer, and the working."""

    @abstractmethod
    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        """Residuals of the governing equations by a route that ``solve`` did not take."""

    @abstractmethod
    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        """The case to scale. ``ar`` is the double arithmetic: numbers are floats here."""

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random givens whose condition number lies near the range ``kappa``, unmeasured."""
        raise NotImplementedError(f"{self.name} has no generator of cases")

    def propose_many(
        self,
        kappa: tuple[float, float],
        rng: random.Random,
        count: int,
        rows: Mapping[str, tuple[int, int]],
    ) -> Sequence[Cases] | None:
        """``count`` cases as :meth:`propose` makes them, in columns; None where it cannot.

        They are numbered from 0. ``rows`` states for tables by name how many rows they may
        have, least and most.
        """
        return None

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random givens whose condition number, measured, lies in the range ``kappa``.

        The same givens for an ``rng`` in the same state. The condition number of a case is
        that of its worst answer (:mod:`refsolver.statics.conditioning`). Raises Unreachable
        where :attr:`reach` says that no case has it.
        """
        from refsolver.statics.difficulty import case_within

        return case_within(self, kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        """Givens whose tables have exactly these numbers of rows, every row mattering.

        They show that a calculator reads every row it offers. None where the family has no
        tables that can be filled.
        """
        return None

    def rule_set(self, replaced: Mapping[str, Callable[..., Any]] | None = None) -> SimpleNamespace:
        """The rules as a namespace, some of them replaced."""
        if not replaced:
            return self._own_rules
        return SimpleNamespace(**{**self.rules, **replaced})

    @cached_property
    def _own_rules(self) -> SimpleNamespace:
        return SimpleNamespace(**self.rules)
