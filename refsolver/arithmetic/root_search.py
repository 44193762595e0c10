"""Roots proven on balls: the one root of a bracket, or every root inside it.

The search looks at cells of the bracket and divides those that tell nothing. How much it
may look at is bounded (:data:`~refsolver.arithmetic.contract.MOST_EVALUATIONS`): where two
roots are all but one, or the function is all but zero, there is no end to dividing.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import MOST_EVALUATIONS, GivenUp, Undecided
from refsolver.arithmetic.expansion import Expansion, expanded

__all__ = ["proven_root", "proven_roots"]

_CLOSEST_BITS = 250

_PLAIN_CELLS = 128
"""Cells looked at on balls alone, which are cheaper; no search of the catalogue needs half of
them."""

_FEWEST_TERMS, _MOST_TERMS = 8, 256

Function = Callable[[arb], arb]


class _Search:
    """A function with its derivative, each evaluation counted."""

    def __init__(self, function: Function, slope: Function, name: str) -> None:
        self._function, self._slope, self.name = function, slope, name
        self._spent = 0

    def value(self, x: arb) -> arb:
        self._spend(1)
        return self._function(x)

    def gradient(self, x: arb) -> arb:
        self._spend(1)
        return self._slope(x)

    def expansion(self, box: arb, terms: int) -> Expansion | None:
        """By a Taylor polynomial, each term of which counts as one evaluation."""
        self._spend(terms)
        return expanded(self._function, box, terms)

    def undecided(self, why: str) -> Undecided:
        return Undecided(self.name, why)

    def _spend(self, evaluations: int) -> None:
        self._spent += evaluations
        if self._spent > MOST_EVALUATIONS:
            raise GivenUp(
                self.name,
                f"the search for roots was given up after {MOST_EVALUATIONS} evaluations: two of "
                "them lie too close together, or the function is all but zero over a whole range",
            )


def proven_root(function: Function, slope: Function, bracket: tuple[arb, arb], name: str) -> arb:
    """Bisection to a small bracket, then interval Newton until it no longer shrinks.

    The sign change over the bracket proves a root (Bolzano); N(I) inside I proves that I
    holds exactly one (Moore, Kearfott and Cloud, "Introduction to Interval Analysis",
    section 8.1). The slope must not vanish on the bracket for the root to be the only
    one there: a family chooses brackets that exclude trivial roots. A root exactly at an
    end, where a trivial one is most likely, is accepted only with a proof of that.
    """
    search = _Search(function, slope, name)
    low, high = bracket
    at_low, at_high = search.value(low), search.value(high)
    if at_low.is_zero() or at_high.is_zero():
        if not _keeps_its_sign(search, low, high, pieces=64):
            raise search.undecided("a root at the end of the bracket may not be the only one")
        return low if at_low.is_zero() else high
    if not ((at_low < 0 and at_high > 0) or (at_low > 0 and at_high < 0)):
        raise search.undecided("no change of sign over the bracket")
    return _enclosed(search, low, high, bool(at_high > 0))


def proven_roots(
    function: Function, slope: Function, bracket: tuple[arb, arb], name: str
) -> list[arb]:
    """All roots strictly inside the bracket, in order.

    The bracket is divided at points where the function's sign is proven, until on each cell
    the function or its slope is proven not to vanish; a cell of the second sort holds one
    root or none, as the signs at its ends say (Moore, Kearfott and Cloud, "Introduction to
    Interval Analysis", section 8.1). An end of the bracket may be a root proven exactly; it
    lies outside. Where too many cells would be needed, because terms nearly cancel, each is
    asked by a Taylor polynomial too (:mod:`.expansion`), for which ``function`` is given a
    series for a ball.
    """
    search = _Search(function, slope, name)
    low, high = bracket
    ends = (search.value(low), search.value(high))
    for value in ends:
        if not (value > 0 or value < 0 or value.is_zero()):
            raise search.undecided("a root may lie at an end of the bracket")
    whole = (low, high, *ends)
    try:
        return _divided(search, whole, _settled, _PLAIN_CELLS)
    except _ManyCells:
        return _divided(search, whole, _settled_by_terms)


_BRANCH = "the root lies where a decision falls otherwise on one side than on the other"

_CLOSE = "roots too close together, or one where the slope vanishes"


class _ManyCells(Exception):
    """So many cells do not tell all roots."""


Cell = tuple[arb, arb, arb, arb]
"""Its ends, and the values there."""


def _divided(
    search: _Search,
    whole: Cell,
    settled: Callable[[_Search, arb], str],
    most: int = MOST_EVALUATIONS,
) -> list[arb]:
    """The roots inside, cell by cell; _ManyCells where ``most`` cells do not tell."""
    found: list[arb] = []
    cells = [whole]
    # Roots closer than this are given up whatever the precision: they may well be one.
    least = (whole[1] - whole[0]) * arb(2) ** -_CLOSEST_BITS
    looked_at = 0
    while cells:
        if looked_at == most:
            raise _ManyCells
        looked_at += 1
        left, right, at_left, at_right = cells.pop()
        holds = settled(search, left.union(right))
        if holds == "one at most":
            if (at_left < 0 and at_right > 0) or (at_left > 0 and at_right < 0):
                found.append(_enclosed(search, left, right, bool(at_right > 0)))
        elif not holds:
            if right - left < least:
                raise GivenUp(search.name, _CLOSE)
            point, at_point = _signed_point(search, left, right)
            cells += [(point, right, at_point, at_right), (left, point, at_left, at_point)]
    return found


def _settled(search: _Search, box: arb) -> str:
    """Whether the cell holds no root ("none") or "one at most"; empty where that is open."""
    value = search.value(box)
    if value > 0 or value < 0:
        return "none"
    gradient = search.gradient(box)
    return "one at most" if gradient > 0 or gradient < 0 else ""


def _settled_by_terms(search: _Search, box: arb) -> str:
    """The same by a Taylor polynomial, of twice the terms where only its rest leaves it open.

    More terms than a cell half as wide would take are worth it where each makes the rest less
    than half: n terms of ratio q leave q^n, and two halves with m terms (q/2)^m.
    """
    holds = _settled(search, box)
    terms = _FEWEST_TERMS
    expansion = None if holds else search.expansion(box, terms)
    while expansion is not None:
        if expansion.excludes_zero():
            return "none"
        if expansion.is_monotone():
            return "one at most"
        if terms == _MOST_TERMS or not (
            expansion.excludes_zero(rest=False) or expansion.is_monotone(rest=False)
        ):
            break
        worth = expansion.rest * arb(2) ** -terms
        terms *= 2
        expansion = search.expansion(box, terms)
        if expansion is not None and not expansion.rest < worth:
            break
    return holds


def _signed_point(search: _Search, low: arb, high: arb) -> tuple[arb, arb]:
    """A point well inside the cell that is proven to be no root, and the value there."""
    for share in (fmpq(1, 2), fmpq(3, 8), fmpq(5, 8)):
        point = (low + (high - low) * share).mid()
        value = search.value(point)
        if (value > 0 or value < 0) and low < point < high:
            return point, value
    raise search.undecided(_CLOSE)


def _enclosed(search: _Search, low: arb, high: arb, rising: bool) -> arb:
    """The root between two points of proven opposite signs, by bisection and Newton.

    Where the function takes another branch at the root itself, no box about the root has a
    slope; that is given up when the box is narrow enough to tell it from a branch nearby.
    """
    least = (high - low) * arb(2) ** -_CLOSEST_BITS
    while True:
        box = low.union(high)
        newton = _newton(search, box)
        if newton is not None and box.contains(newton):
            return _narrowed(search, newton)
        if high - low < least and not search.gradient(box).is_finite():
            raise GivenUp(search.name, _BRANCH)
        point, value = _decided_point(search, low, high)
        if value.is_zero():
            return point
        if (value > 0) == rising:
            high = point
        else:
            low = point


def _newton(search: _Search, box: arb) -> arb | None:
    """The interval Newton step from the box; None where the slope may vanish on it."""
    gradient = search.gradient(box)
    if gradient.contains(0) or not gradient.is_finite():
        return None
    middle = box.mid()
    return middle - search.value(middle) / gradient


def _narrowed(search: _Search, proven: arb) -> arb:
    """The ball around a root proven to be the only one in it, as narrow as precision allows.

    Every step keeps the root, so that rounding, which in the end moves a step by as much
    as its width, can no longer undo the proof. A step that loses the root shows that
    ``slope`` is not the derivative, on which the proof rests: ValueError.
    """
    # A root that is exactly zero could be narrowed for ever; more precision is asked for then.
    least = proven.rad() * arb(2) ** (-2 * ctx.prec)
    for _ in range(ctx.prec):
        newton = _newton(search, proven)
        if newton is None or not newton.is_finite():
            break
        if not proven.overlaps(newton):
            raise ValueError(f"{search.name}: the slope is not the derivative of the function")
        narrower = proven.intersection(newton)
        enough = 2 * narrower.rad() >= proven.rad()
        if narrower.rad() < proven.rad():
            proven = narrower
        if enough or proven.rad() < least:
            break
    if not search.value(proven).contains(0):
        raise ValueError(f"{search.name}: the slope is not the derivative of the function")
    return proven


def _decided_point(search: _Search, low: arb, high: arb) -> tuple[arb, arb]:
    """A point well inside the bracket, and the value there with a decided sign.

    The middle first; off the middle where the root lies so near it that no precision tells.
    """
    for share in (fmpq(1, 2), fmpq(3, 8), fmpq(5, 8)):
        point = (low + (high - low) * share).mid()
        value = search.value(point)
        if value > 0 or value < 0 or value.is_zero():
            return point, value
    raise search.undecided("the bracket cannot be divided at this precision")


def _keeps_its_sign(search: _Search, low: arb, high: arb, pieces: int) -> bool:
    """Whether the slope is proven not to vanish on [low, high], cut into equal pieces."""
    ends = [low + (high - low) * fmpq(i, pieces) for i in range(pieces + 1)]
    values = [search.gradient(a.union(b)) for a, b in pairwise(ends)]
    return all(v > 0 for v in values) or all(v < 0 for v in values)
