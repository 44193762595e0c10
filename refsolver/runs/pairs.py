"""Two known mistakes at once: one on the way, and one in the number reported.

Asked only where single mistakes leave much unexplained. The second one is made
on what the first was already replayed to give, so that a pair costs no solve of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import attrs

from refsolver.mistakes.known import AnswerMistake, KnownMistake, seat
from refsolver.runs.situations import Predicted, Situation

__all__ = ["Pair", "pairs_of"]


@attrs.frozen
class Pair:
    """Two mistakes in words, and what they make of a case together."""

    name: str
    sentence: str
    predict: Callable[[Situation], Predicted | None]


def pairs_of(mistakes: Sequence[KnownMistake]) -> Iterator[Pair]:
    """Every mistake made before the answer, with every one made in the answer."""
    last = [mistake for mistake in mistakes if isinstance(mistake, AnswerMistake)]
    for first in mistakes:
        if seat(first) != "answers":
            for second in last:
                yield Pair(
                    f"{first.name}, and {second.name}",
                    f"{first.says}, and {second.says}",
                    _predicting(first, second),
                )


def _predicting(
    first: KnownMistake, second: AnswerMistake
) -> Callable[[Situation], Predicted | None]:
    def predict(situation: Situation) -> Predicted | None:
        before = situation.predicted(first)
        if before is None:
            return None
        found: dict[str, float | str] = {}
        changed = False
        for line in situation.lines:
            value = before.get(line.id)
            if value is None:
                continue
            found[line.id] = value
            if isinstance(value, str):
                continue
            factor = situation.factors[line.id]
            other = second.change(line.view, line.dimension, value / factor)
            if other is not None:
                found[line.id] = other * factor
                changed = True
        return found if changed else None

    return predict
