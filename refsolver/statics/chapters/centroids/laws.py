"""Elementary laws of a distance X and their integrals: powers, e^X, sine, cosine, logarithm."""

from __future__ import annotations

from math import comb
from typing import Protocol

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number

__all__ = ["LAWS", "Term", "antiderivative", "from_the_end", "grown", "law_at", "squared"]

LAWS = ("power", "exponential", "sine", "cosine", "logarithm")


class Term(Protocol):
    """A law of X, and the power where it is one."""

    @property
    def law(self) -> str: ...
    @property
    def power(self) -> int: ...


@attrs.frozen
class PlainLaw:
    law: str
    power: int = 0


def grown(x: Number, exponent: int) -> Number:
    found: Number = 1
    for _ in range(exponent):
        found = found * x
    return found


def antiderivative(term: Term, n: int, x: Number, ar: Arithmetic) -> Number:
    """Of X^n (n = 0, 1, 2) times the law, without its coefficient."""
    if term.law == "power":
        return grown(x, term.power + n + 1) / (term.power + n + 1)
    if term.law == "exponential":
        return (1, x - 1, x * x - x * 2 + 2)[n] * ar.exp(x)
    if term.law == "logarithm":
        return grown(x, n + 1) * (ar.log(x) - ar.bring(fmpq(1, n + 1))) / (n + 1)
    c, s = ar.cos(x), ar.sin(x)
    if term.law == "sine":
        return (-c, s - x * c, x * s * 2 - (x * x - 2) * c)[n]
    return (s, c + x * s, x * c * 2 + (x * x - 2) * s)[n]


def from_the_end(term: Term, n: int, low: Number, high: Number, ar: Arithmetic) -> Number:
    """The same integral with X written as the far end less u (a logarithm: as e^t)."""
    if term.law == "logarithm":
        ends = [(ar.exp(t * (n + 1)), t) for t in (ar.log(low), ar.log(high))]
        values = [e * t / (n + 1) - e / (n + 1) / (n + 1) for e, t in ends]
        return values[1] - values[0]
    whole, span = term.power + n if term.law == "power" else n, high - low
    total = ar.bring(fmpq(0))
    for k in range(whole + 1):
        part = comb(whole, k) * grown(high, whole - k) * (1 if k % 2 == 0 else -1)
        total = total + part * _power_of_u(term, k, span, high, ar)
    return total


def _power_of_u(term: Term, k: int, span: Number, high: Number, ar: Arithmetic) -> Number:
    """Integral of u^k times the law of (high - u), u from 0 to the span; k up to 2."""
    if term.law == "power":
        return grown(span, k + 1) / (k + 1)
    if term.law == "exponential":
        fall = ar.exp(-span)
        polynomial = (1, span + 1, span * span + span * 2 + 2)[k]
        return ar.exp(high) * ((1, 1, 2)[k] - polynomial * fall)
    one = {law: PlainLaw(law) for law in ("sine", "cosine")}
    zero = ar.bring(fmpq(0))
    sines, cosines = (
        antiderivative(one[law], k, span, ar) - antiderivative(one[law], k, zero, ar)
        for law in ("sine", "cosine")
    )
    if term.law == "sine":
        return ar.sin(high) * cosines - ar.cos(high) * sines
    return ar.cos(high) * cosines + ar.sin(high) * sines


def law_at(term: Term, x: Number, ar: Arithmetic) -> Number:
    """The law itself."""
    if term.law == "power":
        return grown(x, term.power)
    return {"exponential": ar.exp, "sine": ar.sin, "cosine": ar.cos, "logarithm": ar.log}[term.law](
        x
    )


def squared(term: Term, x: Number, ar: Arithmetic) -> Number:
    """The antiderivative of the square of the law."""
    if term.law == "power":
        return grown(x, 2 * term.power + 1) / (2 * term.power + 1)
    if term.law == "exponential":
        return ar.exp(x * 2) / 2
    if term.law == "logarithm":
        log = ar.log(x)
        return x * (log * log - log * 2 + 2)
    wave = ar.sin(x * 2) / 4
    return x / 2 - wave if term.law == "sine" else x / 2 + wave
