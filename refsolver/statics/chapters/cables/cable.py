"""What all questions on cables share: places along the span, names, signs, cautions.

Signs: x from the first (left) support, y up from it. An inclination is that of the
tangent, from left to right, positive where the cable rises. Reactions are the forces of
the supports on the cable.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4
(cables with concentrated loads, with a distributed load, under own weight), from memory;
catenary identities: H. M. Irvine, "Cable Structures", chapter 1, from memory.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Column, Mistake, Row, Sheet, quantity, text
from refsolver.statics.drawing import Arrow, Curve, Mark, Pin, Primitive
from refsolver.statics.limits import exceeds
from refsolver.statics.naming import distinct_keys, keys_of
from refsolver.statics.random_givens import decimal, share_of

__all__ = [
    "STATES",
    "Station",
    "checked_stations",
    "dips_of",
    "drawn_cable",
    "drawn_supports",
    "end_sheet",
    "greatest_for_horizontal",
    "inclination",
    "nearly_straight",
    "no_solution",
    "shares",
    "stated_one",
    "stations_anywhere",
    "stations_in_a_row",
    "supports_level",
]

STATES = ("flatter", "deeper")
"""Two states can have one greatest tension: the taut one and the slack one."""


@attrs.frozen
class Station:
    at: Exact = quantity(LENGTH, "horizontal distance from the first support", sign="not negative")
    name: str = text("what it is called")


def nearly_straight(spread: float, rng: random.Random) -> dict[str, Any]:
    """Givens of a cable of uniform load, drawn at random: by its length, hardly longer than a
    chord of 3 : 4 : 5, or by its dip, hardly lower than its lower end."""
    side = decimal(rng.uniform(5, 100), 1)
    rise = 3 * side * rng.choice((-1, 1))
    share = share_of(spread, rng)
    stated: dict[str, Any] = rng.choice(
        ({"length": 5 * side * (1 + share)}, {"dip": max(fmpq(0), -rise) + 4 * side * share})
    )
    stations = (Station(side, "S0"), Station(3 * side, "S1"))
    load = decimal(rng.uniform(0.5, 10), 2)
    return {"span": 4 * side, "load": load, "rise": rise, "stations": stations, **stated}


class Placed(Protocol):
    """Anything with a name at a place along the span."""

    @property
    def at(self) -> Exact: ...
    @property
    def name(self) -> str: ...


def stated_one(given: Any, names: Sequence[str]) -> str:
    """The one of these givens that is stated. Raises ValueError for none or several."""
    stated = [name for name in names if getattr(given, name) is not None]
    if len(stated) != 1:
        found = " and ".join(stated) or "none"
        raise ValueError(f"state exactly one of {', '.join(names)}; stated: {found}")
    return stated[0]


def checked_stations(
    stations: Sequence[Placed], span: Exact, ends: Sequence[str], word: str = "station"
) -> None:
    """Raises ValueError for a name used twice, or a place known to lie outside the span."""
    keys = [*ends, *keys_of(stations, word)]
    distinct_keys(keys)
    for key, station in zip(keys[len(ends) :], stations, strict=True):
        if exceeds(fmpq(0), station.at) or exceeds(station.at, span):
            raise ValueError(f"{key} at {station.at} lies outside the span of {span}")


def stations_anywhere(span: float, rng: random.Random) -> tuple[Station, ...]:
    """Two stations, drawn at random."""
    return tuple(Station(decimal(span * rng.uniform(0.05, 0.95), 2), f"S{i}") for i in range(2))


def stations_in_a_row(count: int, rng: random.Random) -> tuple[Station, ...]:
    """So many stations along a span of 100, each at random within its own part of it."""
    places = [decimal(100 * (i + rng.uniform(0.1, 0.9)) / count, 2) for i in range(count)]
    return tuple(Station(x) for x in places)


def dips_of(given: Any, ar: Arithmetic) -> tuple[tuple[Number, Number], tuple[int, int]] | str:
    """The depths of the lowest point below the supports, and their signs; or why there is none."""
    first = ar.bring(given.dip)
    dips = first, first + ar.bring(given.rise)
    one = ar.sign(dips[0], "dip below the first support")
    two = ar.sign(dips[1], "dip below the second support")
    if min(one, two) < 0 or not (one or two):
        return "the lowest point would not lie below both supports"
    return dips, (one, two)


def inclination(slope: Number, name: str, ar: Arithmetic, level: bool = False) -> Number:
    """The angle of a tangent; ``level`` says that it is known to be level there.

    The sign of a slope that comes out of a proven root cannot be shown to be zero. Where
    it is known to be, the slope stands for its own angle.
    """
    return slope if level else ar.atan2(slope, 1 + 0 * slope, f"inclination {name}")


def no_solution(names: Iterable[str], why: str) -> dict[str, NoAnswer]:
    return dict.fromkeys(names, NoAnswer("no solution", why))


def end_sheet(
    title: str, slopes: Mapping[str, Number], tensions: Mapping[str, Number], note: str = ""
) -> Sheet:
    """A row a place or segment: slope and tension."""
    rows = tuple(Row(key, (slopes[key], tensions[key])) for key in slopes)
    return Sheet(title, (Column("slope"), Column("tension", FORCE)), rows, note)


def shares(count: int) -> list[float]:
    """Equal steps from 0 to 1, for a curve of a figure."""
    return [i / count for i in range(count + 1)]


def drawn_cable(
    points: Sequence[tuple[float, float]],
    reactions: Mapping[str, tuple[float, float]],
) -> list[Primitive]:
    """The cable's curve, its two supports and what they do."""
    parts: list[Primitive] = [Curve(tuple(points), "cable")]
    for (name, force), end in zip(reactions.items(), (points[0], points[-1]), strict=True):
        parts += [Pin(end, "pin", label=name), Arrow(end, force, "", "answer")]
    return parts


def drawn_supports(span: float, rise: float, names: Sequence[str]) -> list[Primitive]:
    """The two supports alone, where there is no cable to draw."""
    ends = ((0.0, 0.0), (span, rise))
    return [Mark(end, name) for end, name in zip(ends, names, strict=True)]


# --- mistakes made with every cable -------------------------------------------------------


def _level(given: Any) -> Any | None:
    return None if given.rise == 0 else attrs.evolve(given, rise=fmpq(0))


def _greatest_taken_for_horizontal(given: Any) -> Any | None:
    if given.greatest is None:
        return None
    state = {"state": STATES[0]} if hasattr(given, "state") else {}
    return attrs.evolve(given, greatest=None, horizontal=given.greatest, **state)


supports_level = Mistake(
    "supports taken level",
    "the second support is put at the level of the first",
    givens=_level,
)

greatest_for_horizontal = Mistake(
    "greatest tension taken for the horizontal one",
    "the stated greatest tension is put in as the horizontal tension",
    givens=_greatest_taken_for_horizontal,
)
