"""What a workbook speaks of: its words against those of each family and of that family's cases.

Units and shapes alone leave many families that would fit; a person tells them apart by what
the sheet is about. Words that few families use tell the most, as in the search of documents
(the inverse document frequency of K. Sparck Jones, Journal of Documentation 28, 1972).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import lru_cache

from refsolver.calculators.drafting.slots import input_slots, output_slots
from refsolver.calculators.drafting.words import tokens
from refsolver.catalogue.listing import listed
from refsolver.statics.contract import Family
from refsolver.statics.registry import families

__all__ = ["nearness"]

_IN_TITLE, _IN_NAMES = 4, 2
"""What a word of a family's title, or of its givens and answers, counts in titles of cases."""

_HALF = 2.0
"""So many mentions make half the weight of a word that is spoken of all the time."""


def nearness(words: Iterable[str], family: Family) -> float:
    """How much the words tell for this family: 0 where it shares none that has a meaning."""
    said, rare = _spoken()
    own = said[family.name]
    return sum(own[word] * rare[word] for word in set(words) if word in own)


@lru_cache(maxsize=1)
def _spoken() -> tuple[Mapping[str, Mapping[str, float]], Mapping[str, float]]:
    """By family, how much it is spoken of with each word; by word, how few families it serves."""
    mentions: dict[str, Counter[str]] = {
        name: _of_family(family) for name, family in families().items()
    }
    for entry in listed():
        mentions[entry["family"].partition(" finding ")[0]].update(_longer(entry["title"]))
    weights = {
        name: {word: count / (count + _HALF) for word, count in counted.items()}
        for name, counted in mentions.items()
    }
    served: Counter[str] = Counter()
    for own in weights.values():
        served.update(own)
    rare = {word: math.log(1 + len(weights) / sum_) for word, sum_ in served.items()}
    return weights, rare


def _of_family(family: Family) -> Counter[str]:
    found: Counter[str] = Counter()
    for word in _longer(f"{family.title} {family.name.replace('/', ' ').replace('-', ' ')}"):
        found[word] += _IN_TITLE
    named = {w for slot in (*input_slots(family), *output_slots(family)) for w in slot.named}
    for word in named:
        if len(word) > 1:
            found[word] += _IN_NAMES
    return found


def _longer(text: str) -> set[str]:
    return {word for word in tokens(text) if len(word) > 1}
