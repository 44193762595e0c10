"""Extremes and changes of sign of a function of position, proven.

The function is given by pieces that follow one another; it may jump from one to the next.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Piece
from refsolver.statics.polynomials import Crossing, crossings, derivative, value

__all__ = ["Change", "Extreme", "Place", "changes_of_sign", "extreme", "places"]


@attrs.frozen
class Place:
    """A candidate for an extreme: where, the value there, and whose neighbour it is.

    ``station`` is the exact position of an end of a piece, None inside one; ``label`` names
    the place in decisions.
    """

    at: Number
    value: Number
    label: str
    station: fmpq | None = None


@attrs.frozen
class Extreme:
    """The extreme value and its place; no single place where it is reached at several."""

    value: Number
    at: Number | NoAnswer
    label: str


@attrs.frozen
class Change:
    """A change of sign: where, or on which stretch the function is zero in between."""

    at: Number | NoAnswer
    piece: int
    offset: Number
    """The position within piece number ``piece``, from its start."""


def places(
    pieces: Sequence[Piece],
    stations: Sequence[fmpq],
    jumps: frozenset[fmpq],
    ar: Arithmetic,
    name: str,
) -> list[Place]:
    """Every place where the function can be extreme: ends of pieces and level places.

    At a station that is not among ``jumps`` the function is continuous and counts once.
    """
    found: list[Place] = []
    for i, piece in enumerate(pieces):
        start, end = stations[i], stations[i + 1]
        c = piece.coefficients
        if i == 0 or start in jumps:
            found.append(Place(piece.start, c[0], f"right of station {i + 1}", start))
        span = piece.end - piece.start
        _, level = crossings(derivative(c), span, ar, f"{name}, piece {i + 1}: slope")
        for k, turn in enumerate(level, 1):
            label = f"level place {k} of piece {i + 1}"
            found.append(Place(piece.start + turn.at, value(c, turn.at), label))
        found.append(Place(piece.end, value(c, span), f"left of station {i + 2}", end))
    return found


def extreme(candidates: Sequence[Place], ar: Arithmetic, name: str, sense: int = 1) -> Extreme:
    """The largest value (``sense`` 1) or the smallest (-1), and where it is reached."""
    best = [candidates[0]]
    for place in candidates[1:]:
        words = f"{name}: {place.label} against {best[0].label}"
        sign = ar.sign(place.value - best[0].value, words) * sense
        if sign > 0:
            best = [place]
        elif sign == 0:
            best.append(place)
    one_place = len(best) == 1 or len({p.station for p in best} - {None}) == 1 == len(
        {p.station for p in best}
    )
    at = (
        best[0].at
        if one_place
        else NoAnswer("no unique answer", f"{name}: reached at {len(best)} places")
    )
    return Extreme(best[0].value, at, best[0].label)


def changes_of_sign(pieces: Sequence[Piece], ar: Arithmetic, name: str) -> list[Change]:
    """Every change of sign from left to right, inside a piece, by a jump, or across zero.

    Zero at the ends of the whole function, and zeros that are touched without a change of
    sign, do not count.
    """
    found: list[Change] = []
    before = 0
    zero_since: Piece | None = None
    for i, piece in enumerate(pieces):
        span = piece.end - piece.start
        first, inside = crossings(piece.coefficients, span, ar, f"{name}, piece {i + 1}")
        if first == 0:
            zero_since = zero_since or piece
            continue
        if before * first < 0:
            at = piece.start if zero_since is None else _stretch(name)
            found.append(Change(at, i, 0 * span))
        found += [Change(piece.start + c.at, i, c.at) for c in inside]
        before, zero_since = _last(first, inside), None
    return found


def _last(first: int, inside: Sequence[Crossing]) -> int:
    return inside[-1].after if inside else first


def _stretch(name: str) -> NoAnswer:
    return NoAnswer("no unique answer", f"{name} is zero over a stretch and changes sign across it")
