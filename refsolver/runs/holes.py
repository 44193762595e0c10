"""Holes of the catalogue: mistakes that too few of a family's cases reveal.

A mistake can matter to a family where it changes an answer by more than half a per cent in
some case, of the catalogue or generated; the family's own mistakes are there because they
do. Left out are those that are smaller by nature (another pi, rounding to three figures and
more) and tables read only to a certain row: for those every check puts cases made to fill
the calculator's own table.
"""

from __future__ import annotations

import random
from collections.abc import Iterable

import attrs

from refsolver.catalogue.schema import Case
from refsolver.mistakes.known import GENERAL, KnownMistake, replayed
from refsolver.mistakes.replay import replay, reveals
from refsolver.runs.mistakes_table import views_of, views_shown
from refsolver.statics.contract import Family

__all__ = ["LEAST", "SHARE", "Hole", "holes"]

LEAST = 3
"""Cases that should reveal each mistake."""

SHARE = 0.005
"""The share of the right value by which an answer must change."""

_GENERATED = 2
"""Generated cases that are asked whether a mistake can matter."""

_KAPPA = (1.0, 30.0)

_SMALL = (
    "pi = 3.14",
    "pi = 22/7",
    "early rounding to 3 figures",
    "early rounding to 4 figures",
    "early rounding to 5 figures",
)


@attrs.frozen
class Hole:
    """A mistake of a family that only ``revealed_by`` cases reveal."""

    family: str
    mistake: str
    says: str
    revealed_by: tuple[str, ...]

    def words(self) -> str:
        found = f"only {', '.join(self.revealed_by)}" if self.revealed_by else "no case"
        return (
            f"{self.family}: {self.mistake} ({self.says}) is revealed by {found}; add cases in "
            f"which it changes an answer by more than half a per cent, until there are {LEAST}"
        )


def holes(
    owner: Family, cases: Iterable[Case], *, of_its_own: bool = True, general: bool = True
) -> list[Hole]:
    """The holes of a family with these cases, its own mistakes first; those of one kind only
    where the other is not asked for."""
    own: dict[str, KnownMistake] = {mistake.name: mistake for mistake in owner.mistakes}
    others = {m.name: m for m in GENERAL if _asked_for(m.name) and m.name not in own}
    wanted = (own if of_its_own else {}) | (others if general else {})
    revealed: dict[str, list[str]] = {name: [] for name in wanted}
    for case in cases:
        if all(len(ids) == LEAST for ids in revealed.values()):
            break
        views = views_of(owner, case)
        right = replay(owner, case.given, views)
        if not right:
            continue
        for name, mistake in wanted.items():
            if len(revealed[name]) == LEAST:
                continue
            wrong = replayed(owner, case.given, views, mistake)
            if wrong and reveals(right, wrong, SHARE):
                revealed[name].append(case.id)
    silent = {n: m for n, m in wanted.items() if not revealed[n] and n not in own}
    matters = _shown_by_generated(owner, silent)
    return [
        Hole(owner.name, name, mistake.says, tuple(revealed[name]))
        for name, mistake in wanted.items()
        if len(revealed[name]) < LEAST and (name in own or revealed[name] or name in matters)
    ]


def _shown_by_generated(owner: Family, silent: dict[str, KnownMistake]) -> set[str]:
    """Which of these mistakes a few generated cases reveal."""
    found: set[str] = set()
    for seed in range(_GENERATED):
        try:
            given = owner.generate(_KAPPA, random.Random(f"{owner.name} {seed}"))
        except NotImplementedError:
            return found
        views = views_shown(owner, given)
        right = replay(owner, given, views)
        if not right:
            continue
        for name in silent.keys() - found:
            wrong = replayed(owner, given, views, silent[name])
            if wrong and reveals(right, wrong, SHARE):
                found.add(name)
    return found


def _asked_for(name: str) -> bool:
    return name not in _SMALL and not name.startswith("rows after")
