"""The greater part of a shard: cases of one form handed over, proven and judged together.

Only what passes is counted here, and only where that is proven. Whatever is left (a reading
that does not pass, a word, a refusal, an open decision, a form that cannot be put in columns)
goes the way of a check, case by case.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import attrs
import numpy as np
from flint import arb

from refsolver.arithmetic.columns import NotInColumns, at, subset
from refsolver.calculators.contract import (
    Calculator,
    Received,
    ReceivedColumns,
    TakesColumns,
    places_read,
)
from refsolver.calculators.file import FamilySection
from refsolver.calculators.handing_columns import HandedColumns, hand_over_columns
from refsolver.calculators.lines import OutputLine
from refsolver.calculators.scope import NotApplicable
from refsolver.catalogue.schema import Case
from refsolver.checking.quick import Passed, judged_quickly, suits
from refsolver.checking.readings import displayed_number
from refsolver.quantities.kinds import TableKind
from refsolver.quantities.views import View
from refsolver.runs.tally import CellTally
from refsolver.statics.columns import prove_columns
from refsolver.statics.contract import Cases
from refsolver.statics.question import bits_for
from refsolver.statics.registry import family

__all__ = ["Left", "counted_quickly"]


@attrs.frozen
class Left:
    """A case that is left to be judged by itself; what is known of it already, if anything."""

    number: int
    given: Any
    received: Received | None = None
    doubles: dict[str, Any] = attrs.field(factory=dict)
    """What was put at each place to receive that."""
    balls: dict[View, arb] = attrs.field(factory=dict)
    """What was proven in columns."""


@attrs.frozen
class _Shard:
    """What the cases of one shard have in common."""

    calculator: TakesColumns
    section: FamilySection
    case_of: Callable[[Any], Case]
    digits: int
    spare: int
    by_itself: Callable[[int], bool]


def counted_quickly(
    cases: Cases,
    calculator: Calculator,
    section: FamilySection,
    case_of: Callable[[Any], Case],
    tally: CellTally,
    digits: int,
    spare: int,
    by_itself: Callable[[int], bool],
) -> list[Left]:
    """Counts the cases that pass and those outside the scope; the others come back.

    ``case_of`` makes a case of givens; ``spare`` bits are worked with beyond those that
    ``digits`` need; a case for whose number ``by_itself`` holds comes back in any event.
    """
    names = {line.view.answer for line in section.outputs}
    owner = family(section.family)
    tables = any(isinstance(owner.answers[name].kind, TableKind) for name in names)
    if tables or not isinstance(calculator, TakesColumns) or not calculator.takes_doubles:
        return _alone(cases)
    shard = _Shard(calculator, section, case_of, digits, spare, by_itself)
    try:
        return _counted(cases, shard, tally)
    except NotInColumns:
        return _alone(cases)


def _alone(cases: Cases) -> list[Left]:
    return [Left(number, at(cases.given, i)) for i, number in enumerate(cases.numbers)]


def _counted(cases: Cases, shard: _Shard, tally: CellTally) -> list[Left]:
    count, section = len(cases.numbers), shard.section
    case = shard.case_of(cases.given)
    try:
        handed = hand_over_columns(case, count, section)
    except NotApplicable:
        tally.outside += count
        return []
    if handed.outside:
        inside = [i for i in range(count) if i not in handed.outside]
        rest = Cases(tuple(cases.numbers[i] for i in inside), subset(cases.given, inside))
        left = _counted(rest, shard, tally) if inside else []
        tally.outside += len(handed.outside)
        return left
    places = places_read(section.outputs)
    received = shard.calculator.ask_columns(handed.places, count, places)
    owner, views = family(section.family), list(dict.fromkeys(x.view for x in section.outputs))
    given = Cases(cases.numbers, handed.given)
    balls = prove_columns(owner, given, views, shard.digits, shard.spare)
    readings = _readings(shard, case, received, balls)
    every = [passed.passes for _, passed in readings]
    passes = np.all(every, axis=0) if readings else [False] * count
    done = [i for i in range(count) if passes[i] and not shard.by_itself(cases.numbers[i])]
    tally.add_passed(
        [cases.numbers[i] for i in done],
        [output for output, _ in readings],
        [passed.at(done) for _, passed in readings],
    )
    known = set(done)
    return [_left(i, cases, handed, received, balls) for i in range(count) if i not in known]


def _readings(
    shard: _Shard,
    case: Case,
    received: ReceivedColumns,
    balls: dict[View, list[arb | None]],
) -> list[tuple[str, Passed]]:
    """Each output line and what came of its readings, stored and displayed ones apart.

    None at all where a line does not suit.
    """
    found: list[tuple[str, Passed]] = []
    accuracy = bits_for(shard.digits)
    for line in shard.section.outputs:
        reported = received.values.get(line.place)
        if reported is None or not suits(line):
            return []
        for each in _judged_of(line, reported, received.displayed.get(line.place), shard):
            passed = judged_quickly(line, case.units, each, balls[line.view], accuracy)
            found.append((line.id, passed))
    return found


def _judged_of(
    line: OutputLine, stored: Sequence[Any], texts: Sequence[str | None] | None, shard: _Shard
) -> Iterator[Sequence[Any]]:
    """What is judged of a line in all cases: what is stored, what is displayed, or both."""
    shows = texts is not None and line.judge != "stored"
    if not shows or line.judge == "both":
        yield stored
    if shows:
        refusals = shard.calculator.file.refusals
        yield [displayed_number(line, text, refusals) for text in texts or ()]


def _left(
    position: int,
    cases: Cases,
    handed: HandedColumns,
    received: ReceivedColumns,
    balls: dict[View, list[arb | None]],
) -> Left:
    proven = {view: column[position] for view, column in balls.items()}
    return Left(
        cases.numbers[position],
        at(cases.given, position),
        received.received(position),
        handed.doubles(position),
        {view: ball for view, ball in proven.items() if ball is not None},
    )
