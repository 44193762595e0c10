"""Exact leaves: what a case gives, before any arithmetic touches it.

A given number is a rational, or a constant expression such as ``50*sqrt(2)``; a given
angle is a rational number of turns, a rational (or constant) number of radians, or a
slope. Leaves are immutable, hashable and picklable. Nothing here is rounded and nothing
here is a float.

``Rational`` is python-flint's ``fmpq``. It compares, hashes and sorts like a fraction,
pickles, and mixes with ``int`` and with balls without conversion.
"""

from __future__ import annotations

import contextlib
from fractions import Fraction
from typing import Literal, TypeAlias

import attrs
from flint import fmpq
from flint.utils.flint_exceptions import DomainError

__all__ = [
    "Angle",
    "Constant",
    "Exact",
    "Operation",
    "Radian",
    "Rational",
    "Slope",
    "Turn",
    "negated",
    "product",
    "quotient",
    "rational",
    "square_root",
    "total",
]

Rational: TypeAlias = fmpq

Operation: TypeAlias = Literal[
    "sum", "product", "quotient", "power", "sqrt", "pi", "sin", "cos", "tan", "exp", "ln"
]


@attrs.frozen(cache_hash=True)
class Constant:
    """An exact number that is not (known to be) rational, as an expression tree.

    ``args`` are exact numbers, except that ``sin``, ``cos`` and ``tan`` take one
    :data:`Angle` and ``power`` takes an exact base and an integer rational exponent.
    Build it with :func:`total`, :func:`product`, ... which fold rationals.
    """

    operation: Operation
    args: tuple[Exact | Angle, ...] = ()


Exact: TypeAlias = fmpq | Constant


@attrs.frozen(cache_hash=True)
class Turn:
    """An angle of a rational number of full turns (30 degrees is 1/12)."""

    turns: fmpq


@attrs.frozen(cache_hash=True)
class Radian:
    """An angle in radians. A rational multiple of pi belongs in :class:`Turn`."""

    radians: Exact


@attrs.frozen(cache_hash=True)
class Slope:
    """The angle of the vector (run, rise), measured from the run axis; not both zero."""

    rise: Exact
    run: Exact


Angle: TypeAlias = Turn | Radian | Slope


def rational(numerator: int | Fraction, denominator: int = 1) -> fmpq:
    """The rational ``numerator / denominator``; a float is refused with TypeError."""
    if isinstance(numerator, Fraction):
        return fmpq(numerator.numerator, numerator.denominator * denominator)
    if type(numerator) is not int or type(denominator) is not int:
        raise TypeError("an exact number is made from integers or fractions, never floats")
    return fmpq(numerator, denominator)


def total(a: Exact, b: Exact) -> Exact:
    """a + b."""
    if isinstance(a, fmpq):
        if isinstance(b, fmpq):
            return a + b
        if a == 0:
            return b
    elif isinstance(b, fmpq) and b == 0:
        return a
    return Constant("sum", (a, b))


def product(a: Exact, b: Exact) -> Exact:
    """a b."""
    if isinstance(a, fmpq):
        if isinstance(b, fmpq):
            return a * b
        if a == 0 or a == 1:
            return b if a == 1 else a
    elif isinstance(b, fmpq) and (b == 0 or b == 1):
        return a if b == 1 else b
    return Constant("product", (a, b))


def quotient(a: Exact, b: Exact) -> Exact:
    """a / b; ZeroDivisionError where b is the rational zero."""
    if isinstance(b, fmpq):
        return product(a, 1 / b)
    return Constant("quotient", (a, b))


def negated(a: Exact) -> Exact:
    """-a."""
    return product(fmpq(-1), a)


def square_root(a: Exact) -> Exact:
    """The square root of a, rational where a is the square of a rational.

    Raises ValueError for a negative rational.
    """
    if isinstance(a, fmpq):
        if a < 0:
            raise ValueError("square root of a negative number")
        with contextlib.suppress(DomainError):  # no rational square root
            return a.sqrt()
    return Constant("sqrt", (a,))
