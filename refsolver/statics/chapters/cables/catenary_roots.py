"""The equations of the catenary that only a root solves, each with a bracket that is proven.

The unknown is ``d`` = L / (2 c), half the span in parameters of the catenary y = c cosh(x/c);
``m`` is rise over span. Every function here is monotone, or has one minimum, for d > 0, so
that the root in the bracket is the only one (the reason stands beside each).
"""

from __future__ import annotations

from collections.abc import Callable

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number

__all__ = ["by_dips", "by_length", "by_sag", "by_tension", "least_tension"]

_WHOLE = (fmpq(0), fmpq(1))


def _root(
    function: Callable[[Number], Number],
    slope: Callable[[Number], Number],
    low: Number,
    high: Number,
    name: str,
    ar: Arithmetic,
) -> Number:
    """The root between two numbers of the arithmetic, by the share of the way."""
    reach = high - low
    share = ar.root(
        lambda t: function(low + t * reach), lambda t: reach * slope(low + t * reach), _WHOLE, name
    )
    return low + share * reach


def by_length(ratio: Number, ar: Arithmetic) -> Number:
    """d with sinh d / d = ``ratio`` > 1, which grows with d.

    sinh d / d < exp(d^2 / 6) bounds d from below, and at d = 2 ln(2 r) it exceeds r >= 1.
    """
    return _root(
        lambda d: ar.sinh(d) - ratio * d,
        lambda d: ar.cosh(d) - ratio,
        ar.sqrt(6 * ar.log(ratio)) / 2,
        2 * ar.log(2 * ratio),
        "half the span over the parameter",
        ar,
    )


def by_sag(ratio: Number, m: Number, ar: Arithmetic) -> Number:
    """d with tanh(d/2) sqrt((sinh d / d)^2 + m^2) = ``ratio``, sag over half the span.

    Each factor grows with d. Below 1, sinh d / d < 6/5, which bounds d from below; the value
    exceeds (cosh d - 1) / d, which at d = 2 ln(2 + 2 r) exceeds r.
    """

    def shape(d: Number) -> Number:
        return ar.sqrt(ar.sinh(d) * ar.sinh(d) + m * m * d * d)

    def slope(d: Number) -> Number:
        half = ar.sinh(d) / (1 + ar.cosh(d))
        grown = (ar.sinh(d) * ar.cosh(d) + m * m * d) / shape(d)
        return shape(d) / (1 + ar.cosh(d)) + half * grown - ratio

    return _root(
        lambda d: ar.sinh(d) / (1 + ar.cosh(d)) * shape(d) - ratio * d,
        slope,
        ratio / ((1 + ratio) * (2 + ar.size(m))),
        2 * ar.log(2 + 2 * ratio),
        "half the span over the parameter",
        ar,
    )


def half_angle(dip: Number, parameter: Number, ar: Arithmetic) -> Number:
    """Half of v where dip = c (cosh v - 1): sinh(v/2) = sqrt(dip / 2 c)."""
    return ar.asinh(ar.sqrt(dip / (2 * parameter)))


def by_dips(span: Number, dips: list[Number], ar: Arithmetic) -> Number:
    """The parameter with which the parts up to these dips make the span.

    ``dips`` holds one or two positive numbers. Each part, c v with dip = c (cosh v - 1),
    grows with c. It is less than that of the parabola, sqrt(2 c dip), and more than
    sqrt(2 c dip / (1 + dip / 2 c)), which bound c.
    """
    roots, total = 0 * span, 0 * span
    for dip in dips:
        roots, total = roots + ar.sqrt(dip), total + dip

    def reach(c: Number) -> Number:
        parts = -span
        for dip in dips:
            parts = parts + 2 * c * half_angle(dip, c, ar)
        return parts

    def slope(c: Number) -> Number:
        parts = 0 * span
        for dip in dips:
            z = ar.sqrt(dip / (2 * c))
            parts = parts + 2 * ar.asinh(z) - z / ar.sqrt(1 + z * z)
        return parts

    low = span * span / (4 * roots * roots)
    return _root(reach, slope, low, span * span / total + total, "parameter", ar)


def _square(d: Number, m: Number, ar: Arithmetic) -> Number:
    """(cosh d / d)^2 + (m coth d)^2: the square of 2 T / w L - m at the higher support.

    Both terms are log-convex, so is their sum, and it has one minimum.
    """
    steep = ar.cosh(d) / d
    level = m * ar.cosh(d) / ar.sinh(d)
    return steep * steep + level * level


def least_tension(m: Number, ar: Arithmetic) -> tuple[Number, Number]:
    """The d of the least greatest tension, and the square of 2 T / w L - m there.

    It is the root of d tanh d - 1 - m^2 d^3 / (sinh^3 d cosh d), which grows with d.
    """

    def rest(d: Number) -> Number:
        s = ar.sinh(d)
        return m * m * d * d * d / (s * s * s * ar.cosh(d))

    def slope(d: Number) -> Number:
        s, c = ar.sinh(d), ar.cosh(d)
        return s / c + d / (c * c) - rest(d) * (3 / d - 3 * c / s - s / c)

    one = 1 + 0 * m
    there = _root(
        lambda d: d * ar.sinh(d) / ar.cosh(d) - 1 - rest(d),
        slope,
        one * 119 / 100,
        2 + ar.size(m),
        "half the span over the parameter, least tension",
        ar,
    )
    return there, _square(there, m, ar)


def by_tension(ratio: Number, m: Number, there: Number, deeper: bool, ar: Arithmetic) -> Number:
    """d of the flatter or the deeper state with 2 T / w L - m = ``ratio``.

    ``there`` parts the two. The root of the sum of squares exceeds 1 / d, and exceeds r at
    d = 2 ln(2 + 2 r).
    """
    low = there if deeper else 1 / ratio
    high = 2 * ar.log(2 + 2 * ratio) if deeper else there

    def slope(d: Number) -> Number:
        s, c = ar.sinh(d), ar.cosh(d)
        return 2 * c * s / (d * d) - 2 * c * c / (d * d * d) - 2 * m * m * c / (s * s * s)

    word = "deeper" if deeper else "flatter"
    return _root(
        lambda d: _square(d, m, ar) - ratio * ratio,
        slope,
        low,
        high,
        f"half the span over the parameter, {word} state",
        ar,
    )
