"""A root inside a bracket for numbers that compare: floats and multiprecision floats."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from refsolver.arithmetic.contract import MOST_EVALUATIONS

__all__ = ["NoBracket", "bracketed_root", "scanned_roots"]

_SCANS = (16, 64, 256, 1024, 4096)
_LONE_SCAN = (256,)
"""The places looked at where nobody knows how many changes of sign there are."""

_GOLDEN = 0.6180339887498949
"""The golden section; how exactly it is kept decides nothing."""


class NoBracket(ArithmeticError):
    """The function does not change its sign over the bracket, as far as can be seen."""


def _counted(function: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """The function, which may be evaluated as often as any search for roots may do it."""
    left = iter(range(MOST_EVALUATIONS))

    def value(x: Any) -> Any:
        if next(left, None) is None:
            raise NoBracket(f"given up after {MOST_EVALUATIONS} evaluations")
        return function(x)

    return value


def bracketed_root(
    function: Callable[[Any], Any], low: Any, high: Any, precision: Any, vanishing: Any
) -> Any:
    """A point next to a change of sign of ``function`` in [low, high].

    Inverse quadratic interpolation where it is safe, bisection elsewhere, always keeping
    the bracket (T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149).
    The result is within about ``precision`` of the root, relative to it. An end where the
    value is at most ``vanishing`` times that at the other end counts as a root if there
    is no change of sign. Raises NoBracket, also after :data:`MOST_EVALUATIONS`. No slope is
    used, so this is also a check of the slope given to an interval Newton step.
    """
    return _bracketed(_counted(function), low, high, precision, vanishing)


def _bracketed(
    function: Callable[[Any], Any], low: Any, high: Any, precision: Any, vanishing: Any
) -> Any:
    at_low, at_high = function(low), function(high)
    if _sign(at_low) * _sign(at_high) >= 0:
        return _root_at_end((low, at_low), (high, at_high), vanishing)
    smallest = precision * precision * abs(high - low)
    a, b, at_a, at_b = high, low, at_high, at_low
    share: Any = 0.5
    while True:
        x = a + share * (b - a)
        at_x = function(x)
        if _sign(at_x) == _sign(at_a):
            c, at_c = a, at_a
        else:
            c, at_c, b, at_b = b, at_b, a, at_a
        a, at_a = x, at_x
        best, at_best = (a, at_a) if abs(at_a) < abs(at_b) else (b, at_b)
        least = (precision * abs(best) + smallest) / abs(b - a)
        if at_best == 0 or 2 * least > 1:
            return best
        share = min(1 - least, max(least, _interpolated(a, b, c, at_a, at_b, at_c)))


def scanned_roots(
    function: Callable[[Any], Any],
    low: Any,
    high: Any,
    count: int | None,
    precision: Any,
    vanishing: Any,
) -> list[Any]:
    """The changes of sign inside (low, high), in order, seen at more and more places.

    Stops when ``count`` of them are seen; without a count a single scan decides. The places
    avoid the simple fractions where roots of symmetric cases lie; where one is a root all the
    same, its neighbours show it. An end counts only where the value does not vanish beside the
    largest one seen. Where too few changes are seen, the least value between two larger ones
    is looked for, so that two roots about to meet are found. Raises NoBracket where another
    number of changes is seen at the finest scan, and after :data:`MOST_EVALUATIONS` in all.
    """
    function = _counted(function)
    for steps in _LONE_SCAN if count is None else _SCANS:
        places = [low + (high - low) * (1000 * i + 382) / (1000 * steps) for i in range(steps)]
        values = [function(x) for x in places]
        largest = max(abs(v) for v in values)
        ends = [(x, v) for x in (low, high) if abs(v := function(x)) > vanishing * largest]
        seen = sorted((x, v) for x, v in [*zip(places, values, strict=True), *ends] if _sign(v))
        pairs = _changes(seen)
        if count is not None and len(pairs) < count:
            pairs = _changes(sorted([*seen, *_across(function, seen, precision)]))
        if count is None or len(pairs) == count:
            return [_bracketed(function, a[0], b[0], precision, vanishing) for a, b in pairs]
    raise NoBracket(f"{len(pairs)} changes of sign in the bracket, not {count}")


def _changes(seen: Sequence[tuple[Any, Any]]) -> list[tuple[tuple[Any, Any], tuple[Any, Any]]]:
    return [(a, b) for a, b in pairwise(seen) if _sign(a[1]) != _sign(b[1])]


def _across(
    function: Callable[[Any], Any], seen: Sequence[tuple[Any, Any]], precision: Any
) -> list[tuple[Any, Any]]:
    """Points of the other sign, sought where a value is less than its neighbours of its sign."""
    found = []
    for left, here, right in zip(seen, seen[1:], seen[2:], strict=False):
        sizes = [_sign(here[1]) * end[1] for end in (left, here, right)]
        if min(sizes) > 0 and sizes[1] == min(sizes):
            point = _point_across(function, left[0], right[0], _sign(here[1]), precision)
            found += [] if point is None else [point]
    return found


def _point_across(
    function: Callable[[Any], Any], low: Any, high: Any, sign: int, precision: Any
) -> tuple[Any, Any] | None:
    """Golden section search for the least of ``sign`` times the function, left off at the first
    point of the other sign; None where there is none.

    Near a least value the function no longer changes once the places differ by the root of the
    precision (R. P. Brent, "Algorithms for Minimization without Derivatives", section 5.3, from
    memory).
    """
    width = high - low
    points = [(x, function(x)) for x in (high - width * _GOLDEN, low + width * _GOLDEN)]
    while True:
        for x, value in points:
            if _sign(value) * sign < 0:
                return x, value
        (x, at_x), (y, at_y) = points
        if (high - low) * (high - low) <= precision * width * width:
            return None
        if sign * at_x < sign * at_y:
            high = y
            fresh = high - (high - low) * _GOLDEN
            points = [(fresh, function(fresh)), (x, at_x)]
        else:
            low = x
            fresh = low + (high - low) * _GOLDEN
            points = [(y, at_y), (fresh, function(fresh))]


def _interpolated(a: Any, b: Any, c: Any, at_a: Any, at_b: Any, at_c: Any) -> Any:
    """The share of the way from a to b by inverse quadratic interpolation, half if unsafe."""
    xi = (a - b) / (c - b)
    phi = (at_a - at_b) / (at_c - at_b)
    if not (phi * phi < xi and (1 - phi) * (1 - phi) < 1 - xi):
        return 0.5
    first = at_a / (at_b - at_a) * at_c / (at_b - at_c)
    second = (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
    return first + second


def _root_at_end(first: tuple[Any, Any], second: tuple[Any, Any], vanishing: Any) -> Any:
    (near, small), (_, large) = sorted((first, second), key=lambda end: abs(end[1]))
    if large != 0 and abs(small) <= vanishing * abs(large):
        return near
    raise NoBracket("no change of sign over the bracket")


def _sign(x: Any) -> int:
    if x != x:
        raise NoBracket("the function is not a number somewhere in the bracket")
    return int(x > 0) - int(x < 0)
