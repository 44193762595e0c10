"""Constant expressions evaluated with nothing but the functions of an arithmetic."""

from __future__ import annotations

from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Constant, Exact

__all__ = ["constant", "whole_power"]


def constant(x: Constant, ar: Arithmetic) -> Number:
    """The value of a constant expression in the arithmetic."""
    args: tuple[Any, ...] = x.args
    match x.operation:
        case "pi":
            return ar.pi()
        case "cos":
            return ar.cos_sin(args[0])[0]
        case "sin":
            return ar.cos_sin(args[0])[1]
        case "tan":
            c, s = ar.cos_sin(args[0])
            return s / c
        case "power":
            return whole_power(ar.bring(args[0]), args[1])
    numbers = [ar.bring(arg) for arg in args]
    match x.operation:
        case "sum":
            return numbers[0] + numbers[1]
        case "product":
            return numbers[0] * numbers[1]
        case "quotient":
            return numbers[0] / numbers[1]
        case "sqrt":
            return ar.sqrt(numbers[0])
        case "exp":
            return ar.exp(numbers[0])
        case "ln":
            return ar.log(numbers[0])


def whole_power(base: Number, exponent: Exact) -> Number:
    """base^exponent by squaring; ValueError where the exponent is not a whole number."""
    if not isinstance(exponent, fmpq) or exponent.q != 1:
        raise ValueError(f"the exponent of a constant must be a whole number, not {exponent}")
    power, factor, left = None, base, abs(int(exponent.p))
    while left:
        if left % 2:
            # Once more than needed, the radius of a ball next to zero would reach it.
            power = factor if power is None else power * factor
        factor = factor * factor
        left //= 2
    if power is None:
        return base * 0 + 1
    return 1 / power if exponent < 0 else power
