"""Exact numbers and angles as text that reads back to the same value.

The texts are those of :func:`~refsolver.quantities.literals.read_literal`: "50*sqrt(2)",
"3/(4*pi)", "30 deg", "3:4". Expressions of more than a hundred numbers are described
too, but the reader refuses them.
"""

from __future__ import annotations

from flint import fmpq

from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Turn
from refsolver.quantities.folding import operands, split
from refsolver.quantities.rounding import shortest

__all__ = ["describe", "describe_angle"]


def describe(x: Exact) -> str:
    """An exact number as text ("50*sqrt(2)")."""
    if isinstance(x, fmpq):
        return shortest(x)
    if x.operation == "sum":
        return _sum_text(x)
    factor, core = split(x)
    return shortest(factor) if core is None else _product_text(factor, core)


def describe_angle(angle: Angle) -> str:
    """An exact angle as text: "30 deg", "0.7 rad", "3:4" (rise:run)."""
    if isinstance(angle, Turn):
        return f"{shortest(360 * angle.turns)} deg"
    if isinstance(angle, Radian):
        return f"{describe(angle.radians)} rad"
    return f"{describe(angle.rise)}:{describe(angle.run)}"


def _sum_text(x: Constant) -> str:
    a, b = operands(x)
    factor, core = split(b)
    size = shortest(abs(factor)) if core is None else _product_text(abs(factor), core)
    return f"{describe(a)} {'-' if factor < 0 else '+'} {size}"


def _product_text(factor: fmpq, core: Constant) -> str:
    above, below = _above_and_below(core, alone_below=factor.q == 1)
    # The reader refuses -a^b, so a power that stands first keeps its factor: -1*a^b.
    if abs(factor.p) != 1 or not above or (factor < 0 and _begins_with_power(core)):
        above.insert(0, str(abs(factor.p)))
    if factor.q != 1:
        below.insert(0, str(factor.q))
    text = ("-" if factor < 0 else "") + "*".join(above)
    if not below:
        return text
    return f"{text}/{below[0]}" if len(below) == 1 else f"{text}/({'*'.join(below)})"


def _above_and_below(core: Constant, alone_below: bool) -> tuple[list[str], list[str]]:
    """The factors of numerator and denominator; a rational numerator is 1 and left out."""
    if core.operation != "quotient":
        return [_left_text(core)], []
    numerator, denominator = operands(core)
    above = [] if isinstance(numerator, fmpq) else [_left_text(numerator)]
    return above, [_right_text(denominator) if alone_below else _left_text(denominator)]


def _begins_with_power(x: Exact) -> bool:
    while isinstance(x, Constant) and x.operation in ("product", "quotient"):
        x, _ = operands(x)
    return isinstance(x, Constant) and x.operation == "power"


def _left_text(x: Exact) -> str:
    """A first factor: what binds less than a product goes into parentheses."""
    if isinstance(x, Constant) and x.operation == "product":
        a, b = operands(x)
        return f"{_left_text(a)}*{_right_text(b)}"
    return _right_text(x)


def _right_text(x: Exact) -> str:
    """A further factor, a divisor or a base: anything but an atom goes into parentheses."""
    if isinstance(x, fmpq):
        return str(x) if x >= 0 and x.q == 1 else f"({x})"
    if x.operation == "pi":
        return "pi"
    if x.operation == "power":
        base, exponent = operands(x)
        return f"{_base_text(base)}^{exponent}"
    if x.operation in ("sum", "product", "quotient"):
        return f"({describe(x)})"
    (argument,) = x.args
    if isinstance(argument, fmpq | Constant):
        return f"{x.operation}({describe(argument)})"
    return f"{x.operation}({describe_angle(argument)})"


def _base_text(x: Exact) -> str:
    text = _right_text(x)
    return f"({text})" if isinstance(x, Constant) and x.operation == "power" else text
