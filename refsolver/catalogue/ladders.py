"""The difficulty ladders: constructed benchmark cases from benign to beyond double precision.

    python -m refsolver.catalogue.ladders

writes the case files anew; a test holds the committed ones to it. Each ladder has a rung for
every range of :data:`~refsolver.statics.difficulty.RANGES`; the case of a rung is the first
that its family generates from a seed of its own, so that anyone can make it again. The
answers with the greatest condition number stand in it to 15 proven figures.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs

from refsolver.catalogue.place import shipped_folder
from refsolver.catalogue.writing import case_text, quoted
from refsolver.quantities.printing import proven_text
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View, dimension_of
from refsolver.statics.conditioning import condition_numbers
from refsolver.statics.contract import Family
from refsolver.statics.difficulty import RANGES
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

__all__ = ["LADDER", "LADDERS", "Ladder", "ladder_files", "write_ladders"]

LADDER = "difficulty ladder"
"""The topic of these cases. A run puts them where the calculator file says ``ladder = true``."""

_FIGURES = 15
_SHOWN = 3


@attrs.frozen
class Ladder:
    """A family, the units of its cases, and the scenario in a sentence."""

    family: str
    units: tuple[str, ...]
    scene: str


LADDERS = (
    Ladder(
        "concurrent-forces/plane-resultant",
        ("kN",),
        "Mooring lines hold a barge against the stream and nearly balance at its ring",
    ),
    Ladder(
        "trusses/plane-truss",
        ("kN", "m"),
        "The last joint of a loading frame hangs on two bars that lie nearly in one line",
    ),
    Ladder(
        "frames/plane-frame",
        ("kN", "m"),
        "Two halves of a shed roof lean on each other at a crown that hardly rises",
    ),
    Ladder("cables/parabolic", ("kN", "m"), "A footbridge hangs from a cable that is hardly slack"),
    Ladder(
        "beams/reactions",
        ("kN", "m"),
        "A jib rests on two bearings that stand closer together from case to case",
    ),
    Ladder(
        "second-moments/parallel-axis",
        ("mm",),
        "A thin strip is measured about an axis so far away that its own moment is hardly seen",
    ),
    Ladder(
        "friction/block", ("N",), "A crate on a ramp is about to slip, by less from case to case"
    ),
    Ladder(
        "virtual-work/slider-crank",
        ("N", "m"),
        "A couple on the crank of a pump all but balances the push at its pin",
    ),
)


def write_ladders(folder: Path | None = None) -> list[Path]:
    """Writes every ladder below the folder of the cases; what was written."""
    written = []
    for place, text in ladder_files():
        path = (folder or shipped_folder()) / place
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written


def ladder_files() -> Iterator[tuple[str, str]]:
    """The place of each case file below the folder of the cases, and its text."""
    for ladder in LADDERS:
        for rung in range(1, len(RANGES) + 1):
            yield f"{ladder.family}/ladder-rung-{rung}.toml", _text(ladder, rung)


def _text(ladder: Ladder, rung: int) -> str:
    owner, kappa = family(ladder.family), RANGES[rung - 1]
    given = owner.generate(kappa, random.Random(f"ladder {owner.name} {rung}"))
    system = UnitSystem.of([read_unit(unit) for unit in ladder.units])
    conditions = condition_numbers(owner, given)
    worst = sorted(conditions, key=lambda view: -conditions[view])[:_SHOWN]
    text = case_text(
        owner,
        given,
        system,
        title=f"Ladder of difficulty, rung {rung} of {len(RANGES)}",
        statement=f"{ladder.scene}. Invented values; the worst answer has the condition number "
        f"{conditions[worst[0]]:.1e}.",
        by="made from a seed by refsolver.catalogue.ladders; the answers are proven by the "
        "solver and borne out by its second method alone",
        topics=(LADDER,),
    )
    return text + "".join(_published(owner, given, system, worst))


def _published(owner: Family, given: Any, system: UnitSystem, views: list[View]) -> Iterator[str]:
    outcomes = prove(owner, given, views, digits=2 * _FIGURES).outcomes
    for view in views:
        outcome = outcomes[view]
        assert isinstance(outcome, Proven), outcome
        dimension = dimension_of(view, owner.answers[view.answer].kind)
        unit = system.unit(dimension).name
        value = f"{_printed(proven_text(outcome.enclosure, _FIGURES))} {unit}".strip()
        keys = {"answer": view.answer, "key": view.key, "take": view.take, "along": view.along}
        yield "\n[[published]]\n"
        yield "".join(f"{k} = {quoted(v)}\n" for k, v in keys.items() if v is not None)
        yield f"value = {quoted(value)}\n"


def _printed(text: str) -> str:
    """The proven figures, whose zeros before the point would count as figures too."""
    digits = text.lstrip("-")
    if not digits.isdigit() or len(digits) <= _FIGURES:
        return text
    sign = text[: len(text) - len(digits)]
    return f"{sign}{digits[0]}.{digits[1:_FIGURES]}e{len(digits) - 1}"


if __name__ == "__main__":
    for path in write_ladders():
        print(f"written: {path}")
