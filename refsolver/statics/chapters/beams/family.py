"""What every family of beams shares: its mistakes, its figure, the sheet of loads.

The beam itself, its signs and its sources are in :mod:`.beam`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, MOMENT
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.beams.beam import RULES, Beam, acting_on
from refsolver.statics.chapters.beams.drawn import drawn_beam
from refsolver.statics.chapters.beams.samples import beam_with_rows, overhanging_beam
from refsolver.statics.contract import Column, Family, Mistake, Row, Sheet, Solution
from refsolver.statics.drawing import Drawing, Primitive
from refsolver.statics.polynomials import integral, value

__all__ = ["LINE_LOAD_MISTAKES", "REFUSALS", "BeamFamily", "load_sheet"]


REFUSALS = ("mechanism", "redundant", "improper constraint")


def _couple_reversed(moment: Number) -> Number:
    return -moment


def _load_not_halved(intensity: Sequence[Number], length: Number) -> Number:
    """The last intensity over the whole length, as if the load were uniform."""
    return value(intensity, length) * length


def _at_the_middle(intensity: Sequence[Number], length: Number) -> Number:
    return value(integral(intensity, 0 * length), length) * length / 2


def _last_left_out(field: str) -> Any:
    def without(given: Any) -> Any | None:
        items = getattr(given, field)
        return attrs.evolve(given, **{field: items[:-1]}) if items else None

    return without


LINE_LOAD_MISTAKES = (
    Mistake(
        "last line load left out",
        "the last line load is not read",
        givens=_last_left_out("line_loads"),
    ),
    Mistake(
        "triangular load not halved",
        "a load that grows from zero is taken at its end value over its whole length",
        rules={"line_resultant": _load_not_halved},
    ),
    Mistake(
        "line load at its middle",
        "the resultant of every line load is put at the middle of its length",
        rules={"line_first_moment": _at_the_middle},
    ),
)

_MISTAKES = (
    Mistake(
        "couple reversed",
        "applied couples enter with the wrong sign",
        rules={"applied_couple": _couple_reversed},
    ),
    Mistake("couple left out", "the last couple is not read", givens=_last_left_out("couples")),
    Mistake(
        "last force left out", "the last point load is not read", givens=_last_left_out("forces")
    ),
    *LINE_LOAD_MISTAKES,
)


class BeamFamily(Family):
    """What every question about a beam has in common."""

    givens = Beam
    rules = RULES
    mistakes: ClassVar[tuple[Mistake, ...]] = _MISTAKES
    caution = cautions.BEAMS

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Beam:
        return overhanging_beam(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Beam | None:
        return beam_with_rows(rows, rng)

    def figure(self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = drawn_beam(given, ar)
        supports = ", ".join(s.kind for s in given.supports)
        caption = (
            f"Beam with supports ({supports}), {len(given.forces)} point loads, "
            f"{len(given.line_loads)} line loads and {len(given.couples)} couples, to scale"
        )
        return Drawing((*parts, *self.drawn_answers(given, answers, ar)), caption)

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        return []

    def refused(
        self, why: NoAnswer, given: Beam, ar: Arithmetic, rules: SimpleNamespace
    ) -> Solution:
        """No answer at all; the loads are shown all the same."""
        return Solution(
            dict.fromkeys(self.answers, why),
            lambda: (load_sheet(given, ar, rules, self.method),),
        )


def load_sheet(given: Beam, ar: Arithmetic, rules: SimpleNamespace, note: str) -> Sheet:
    """Every load with its force and its moment about the left end."""
    columns = (
        Column("force along x", FORCE),
        Column("force along y", FORCE),
        Column("moment about the left end", MOMENT),
    )
    rows = tuple(
        Row(key, (*action.force, *action.moment)) for key, action in acting_on(given, ar, rules)
    )
    return Sheet("Loads", columns, rows, note)
