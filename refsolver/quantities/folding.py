"""Exact arithmetic that keeps one rational factor in front of a constant.

``5*pi/4`` and ``pi*(5/4)`` become the same leaf, (5/4)*pi, so that equal constants
written in the usual ways compare equal and a multiple of pi is recognised. Only rational
factors move; nothing is expanded and no identity of roots is used.
"""

from __future__ import annotations

from typing import TypeAlias, cast

from flint import fmpq

from refsolver.arithmetic.exact import Constant, Exact, product, total

__all__ = ["PI", "difference", "negative", "over", "pi_multiple", "power", "split", "times"]

PI = Constant("pi")

_ONE = fmpq(1)

_Split: TypeAlias = tuple[fmpq, Constant | None]


def split(x: Exact) -> _Split:
    """x as (rational factor, constant without one); the constant is None for a rational.

    ZeroDivisionError for a tree that divides by a rational zero (the reader builds none).
    """
    if isinstance(x, fmpq):
        return x, None
    if x.operation == "product":
        a, b = operands(x)
        return _multiplied(split(a), split(b))
    if x.operation == "quotient":
        a, b = operands(x)
        return _divided(split(a), split(b))
    return _ONE, x


def operands(x: Constant) -> tuple[Exact, Exact]:
    """The two operands of a sum, product, quotient or power."""
    return cast(tuple[Exact, Exact], x.args)


def times(a: Exact, b: Exact) -> Exact:
    """a b."""
    if isinstance(a, fmpq) and isinstance(b, fmpq):
        return a * b
    return _joined(_multiplied(split(a), split(b)))


def over(a: Exact, b: Exact) -> Exact:
    """a / b; ZeroDivisionError where b is the rational zero."""
    if isinstance(a, fmpq) and isinstance(b, fmpq):
        return a / b
    return _joined(_divided(split(a), split(b)))


def negative(a: Exact) -> Exact:
    """-a."""
    return times(fmpq(-1), a)


def difference(a: Exact, b: Exact) -> Exact:
    """a - b."""
    return total(a, negative(b))


def power(base: Exact, exponent: int) -> Exact:
    """base^exponent; ZeroDivisionError for a negative power of the rational zero."""
    if isinstance(base, fmpq):
        return base**exponent
    if exponent == 0:
        return _ONE
    return base if exponent == 1 else Constant("power", (base, fmpq(exponent)))


def pi_multiple(x: Exact) -> fmpq | None:
    """The rational q with x = q pi, or None where x is not seen to be one."""
    factor, core = split(x)
    if core is None:
        return fmpq(0) if factor == 0 else None
    if core.operation == "pi":
        return factor
    if core.operation == "sum":
        a, b = (pi_multiple(term) for term in operands(core))
        return None if a is None or b is None else factor * (a + b)
    return None


def _multiplied(a: _Split, b: _Split) -> _Split:
    (p, x), (q, y) = a, b
    if x is None or y is None:
        return p * q, x or y
    return p * q, Constant("product", (x, y))


def _divided(a: _Split, b: _Split) -> _Split:
    (p, x), (q, y) = a, b
    if y is None:
        return p / q, x
    return p / q, Constant("quotient", (_ONE if x is None else x, y))


def _joined(x: _Split) -> Exact:
    factor, core = x
    return factor if core is None else product(factor, core)
