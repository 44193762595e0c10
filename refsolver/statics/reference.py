"""What is proven about one case: numbers with their enclosures, words, refusals.

What a proof here means: the enclosure contains the solution of the equations that the
family states. That these equations are the right ones rests on published answers and on
the family's second method.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

import attrs
from flint import arb, ctx

from refsolver.arithmetic.detached import Enclosure, enclosure_of
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.contract import Row, Sheet

__all__ = ["NotProven", "Outcome", "Proven", "Reference", "Word"]


@attrs.define
class Proven:
    """A number proven to lie in :attr:`enclosure`, in coherent units; an angle in turns.

    ``how`` is ``digits`` (at least the digits asked are proven), ``zero`` (proven to be
    zero) or ``below scale`` (proven smaller than 10^-N of the scale of the case).
    """

    ball: arb
    how: str
    _enclosure: Enclosure | None = attrs.field(default=None, eq=False, repr=False)

    @property
    def enclosure(self) -> Enclosure:
        if self._enclosure is None:
            self._enclosure = enclosure_of(self.ball)
        return self._enclosure

    @property
    def digits(self) -> int:
        """Proven relative decimal digits: 0 where not told from zero, 1000 where exact."""
        return min(1000, max(0, int(self.ball.rel_accuracy_bits() * 30103 // 100_000)))

    def __reduce__(self) -> tuple[Any, ...]:
        return _attached, (self.enclosure, self.how)


def _attached(enclosure: Enclosure, how: str) -> Proven:
    bits = max(
        64, int(abs(enclosure.middle.q)).bit_length() + int(abs(enclosure.middle.p)).bit_length()
    )
    with ctx.workprec(bits + 64):
        ball = arb(enclosure.middle, arb((enclosure.upper - enclosure.lower) / 2))
    return Proven(ball, how, enclosure)


@attrs.frozen
class Word:
    """A word chosen by proven decisions."""

    word: str


@attrs.frozen
class NotProven:
    """The prover gave up; ``why`` names the decision or the width reached."""

    why: str


Outcome: TypeAlias = Proven | Word | NoAnswer | NotProven


@attrs.define
class Reference:
    """Everything proven about one case.

    ``zeros`` names the decisions that only the algebraic arithmetic could take.
    ``second_opinion`` and ``residuals`` are "agrees" / "close", "not asked", or say what
    is wrong; anything but agreement turns every outcome into NotProven.
    """

    digits: int
    bits: int
    outcomes: dict[View, Outcome]
    decisions: dict[str, int]
    zeros: tuple[str, ...]
    working: tuple[Sheet, ...] | Callable[[], tuple[Sheet, ...]]
    residuals: str = "not asked"
    second_opinion: str = "not asked"
    stopped: str = ""
    """Why the solve could not be carried through, so that there are no answers at all."""

    def sheets(self) -> list[Sheet]:
        """The working with detached enclosures in its cells; angles still in radians."""
        with ctx.workprec(self.bits):
            working = self.working() if callable(self.working) else self.working
        return [
            attrs.evolve(
                sheet,
                rows=tuple(
                    Row(row.label, tuple(_detached(cell) for cell in row.cells))
                    for row in sheet.rows
                ),
            )
            for sheet in working
        ]

    def __getstate__(self) -> dict[str, Any]:
        state = {a.name: getattr(self, a.name) for a in attrs.fields(type(self))}
        state["working"] = tuple(self.sheets())
        return state

    def __setstate__(self, state: dict[str, Any]) -> None:
        for name, value in state.items():
            setattr(self, name, value)


def _detached(cell: Any) -> Any:
    if not isinstance(cell, arb):
        return cell
    try:
        return enclosure_of(cell)
    except ValueError:
        return "no number that can be written down"
