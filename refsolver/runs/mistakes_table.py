"""The known mistakes as a table, and which cases of the catalogue reveal each.

A case reveals a mistake where making it changes an answer by more than a stated share of
its right value. A mistake that no case reveals is a hole in the catalogue.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case
from refsolver.mistakes.known import GENERAL, KnownMistake, replayed, seat
from refsolver.mistakes.replay import Replayed, answers_of, replay, reveals
from refsolver.quantities.kinds import Kind
from refsolver.quantities.views import View, inner_kind, natural_views, takes
from refsolver.statics.contract import Family
from refsolver.statics.registry import families, family

__all__ = ["MistakeRow", "mistakes_table", "mistakes_text", "views_of", "views_shown"]


@attrs.define
class MistakeRow:
    """One mistake: where it is made, and the cases (by id) that reveal it."""

    name: str
    kind: str
    """Its seat: givens, answers, arithmetic or rules."""
    says: str
    applies_to: int = 0
    """In how many cases it can be made at all."""
    revealed_by: list[str] = attrs.field(factory=list)
    families: list[str] = attrs.field(factory=list)
    """The families it can be made in."""

    def data(self) -> dict[str, Any]:
        return attrs.asdict(self)


def mistakes_table(
    share: float, wanted: Sequence[str] = (), catalogue: Catalogue | None = None
) -> list[MistakeRow]:
    """Every known mistake, general ones first, replayed on the cases of the families.

    ``share`` is the share of the right value by which an answer must change; ``wanted``
    names families (all by default). Raises UnknownFamily.
    """
    names = tuple(family(name).name for name in wanted) or tuple(families())
    general = [MistakeRow(m.name, seat(m), m.says) for m in GENERAL]
    own: list[MistakeRow] = []
    cases: dict[str, list[Case]] = {}
    for case in (catalogue or Catalogue()).cases(names):
        cases.setdefault(case.family, []).append(case)
    for name in names:
        owner = family(name)
        rows = [MistakeRow(m.name, seat(m), m.says, families=[name]) for m in owner.mistakes]
        pairs: list[tuple[KnownMistake, MistakeRow]] = [
            *zip(owner.mistakes, rows, strict=True),
            *zip(GENERAL, general, strict=True),
        ]
        for case in cases.get(name, ()):
            _replay_all(owner, case, pairs, share)
        own += rows
    return [*general, *own]


def mistakes_text(rows: Sequence[MistakeRow]) -> str:
    """The table for people: counts, and one case that reveals each mistake."""
    table = [
        [
            row.name,
            row.kind,
            row.families[0] if len(row.families) == 1 else f"{len(row.families)} families",
            row.applies_to,
            len(row.revealed_by),
            row.revealed_by[0] if row.revealed_by else "",
        ]
        for row in rows
    ]
    heads = ["mistake", "seat", "family", "can be made in", "revealed by", "for example"]
    holes = sum(not row.revealed_by for row in rows)
    said = f"{len(rows)} mistakes; {holes} are revealed by no case of these families."
    return f"{tabulate(table, headers=heads, disable_numparse=True)}\n\n{said}"


def _replay_all(
    owner: Family, case: Case, pairs: Sequence[tuple[KnownMistake, MistakeRow]], share: float
) -> None:
    views = views_of(owner, case)
    right = replay(owner, case.given, views)
    if not right:
        return
    for mistake, row in pairs:
        wrong = replayed(owner, case.given, views, mistake)
        if not wrong or _same(right, wrong):
            continue
        row.applies_to += 1
        if owner.name not in row.families:
            row.families.append(owner.name)
        if reveals(right, wrong, share):
            row.revealed_by.append(case.id)


def views_of(owner: Family, case: Case) -> list[View]:
    """The natural views of the case's answers, angles of vectors, and those printed."""
    printed = (answer.view for answer in case.published)
    return list(dict.fromkeys([*views_shown(owner, case.given), *printed]))


def views_shown(owner: Family, given: Any) -> list[View]:
    """The natural views of the answers, and angles of vectors; none where nothing is solved."""
    solved = answers_of(owner, given)
    if solved is None:
        return []
    natural = [
        view
        for name, value in solved[0].items()
        for view in natural_views(name, owner.answers[name].kind, value)
    ]
    angles = [
        attrs.evolve(view, take="angle", start="+x", toward="+y", range="-180..180")
        for view in natural
        if view.take == "magnitude" and "angle" in takes(_kind(owner, view))
    ]
    return list(dict.fromkeys([*natural, *angles]))


def _kind(owner: Family, view: View) -> Kind:
    return inner_kind(view, owner.answers[view.answer].kind)


def _same(right: Replayed, wrong: Replayed) -> bool:
    return all(
        other == value or other != other
        for view, value in right.items()
        for other in (wrong.get(view, value),)
    )
