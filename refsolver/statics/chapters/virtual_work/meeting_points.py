"""Whether two points of a mechanism that a spring or cord joins meet as it moves.

Where they do, what joins them has no direction, and the potential energy no derivative.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, Turn, negated, product, total
from refsolver.statics.chapters.virtual_work.energy import joined_by_length
from refsolver.statics.chapters.virtual_work.mechanism import Mechanism

__all__ = ["meeting_pair"]

Exacts: TypeAlias = Sequence[Exact]


def meeting_pair(
    given: Mechanism, start: fmpq, end: fmpq, ar: Arithmetic
) -> tuple[str, str] | None:
    """The first two points, joined by a length that enters the energy, that meet at an angle
    strictly between ``start`` and ``end`` (in turns, at most one apart); None where none do."""
    points = {p.name: p for p in given.points}
    for pair in dict.fromkeys(joined_by_length(given)):
        one, other = (points[name] for name in pair)
        place, cosine, sine = (
            tuple(map(_less, getattr(other, part), getattr(one, part)))
            for part in ("place", "cosine", "sine")
        )
        name = f"meeting of {pair[0]} and {pair[1]}"
        found = _zeros(place, cosine, sine, name, ar)
        for number, (c, s) in enumerate(found or [], 1):
            if _between(c, s, start, end, f"{name}, {number}", ar):
                return pair
        if found is None:
            return pair
    return None


# Exact as long as the leaves are, so that a zero of rational numbers is one in every arithmetic.


def _less(a: Exact, b: Exact) -> Exact:
    return total(a, negated(b))


def _dot(a: Exacts, b: Exacts) -> Exact:
    return total(product(a[0], b[0]), product(a[1], b[1]))


def _cross(a: Exacts, b: Exacts) -> Exact:
    return _less(product(a[0], b[1]), product(a[1], b[0]))


def _zeros(
    place: Exacts, cosine: Exacts, sine: Exacts, name: str, ar: Arithmetic
) -> list[tuple[Number, Number]] | None:
    """Every (c, s) of length 1, up to a positive factor, with place + c cosine + s sine = 0.

    None where every one is such.
    """
    wide = _cross(cosine, sine)
    if ar.sign(ar.bring(wide), f"{name}: the way is no line") != 0:
        found = (_cross(sine, place), _cross(place, cosine))
        excess = _less(_dot(found, found), product(wide, wide))
        if ar.sign(ar.bring(excess), f"{name}: the way passes through") != 0:
            return []
        return [(ar.bring(product(wide, found[0])), ar.bring(product(wide, found[1])))]
    for along, word in ((cosine, "cosine"), (sine, "sine")):
        if ar.sign(ar.bring(_dot(along, along)), f"{name}: size of the {word}") != 0:
            return _zeros_on_line(place, cosine, sine, along, name, ar)
    return [] if ar.sign(ar.bring(_dot(place, place)), f"{name}: distance") else None


def _zeros_on_line(
    place: Exacts, cosine: Exacts, sine: Exacts, along: Exacts, name: str, ar: Arithmetic
) -> list[tuple[Number, Number]]:
    """As above where the way is a line ``along``."""
    if ar.sign(ar.bring(_cross(place, along)), f"{name}: the line passes through") != 0:
        return []
    a, swing = _dot(place, along), (_dot(cosine, along), _dot(sine, along))
    square = ar.bring(_less(_dot(swing, swing), product(a, a)))
    sign = ar.sign(square, f"{name}: the line is long enough")
    if sign < 0:
        return []
    a, b, e = ar.bring(a), ar.bring(swing[0]), ar.bring(swing[1])
    if sign == 0:
        return [(-a * b, -a * e)]
    h = ar.sqrt(square)
    return [(-a * b - e * h, b * h - a * e), (e * h - a * b, -a * e - b * h)]


def _between(c: Number, s: Number, start: fmpq, end: fmpq, name: str, ar: Arithmetic) -> bool:
    """Whether the direction (c, s) lies strictly between two angles."""
    (c0, s0), (c1, s1) = ar.cos_sin(Turn(start)), ar.cos_sin(Turn(end))
    after = ar.sign(c0 * s - s0 * c, f"{name}: after the start")
    width = end - start
    if width == 1:
        return after != 0 or ar.sign(c * c0 + s * s0, f"{name}: at the start") < 0
    if 2 * width == 1:
        return after > 0
    before = ar.sign(c * s1 - s * c1, f"{name}: before the end")
    if 2 * width < 1:
        return after > 0 and before > 0
    return after > 0 or before > 0
