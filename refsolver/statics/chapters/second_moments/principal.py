"""Principal axes of second moments: directions without angles, moments by Mohr's circle.

I_xy is the integral of +x y. The moment about an axis along the unit vector n is n M n
with M = [[I_x, -I_xy], [-I_xy, I_y]]; the double angle of the major axis is that of the
vector ((I_x - I_y)/2, -I_xy). Source: A. P. Boresi and R. J. Schmidt, "Advanced Mechanics
of Materials", tan 2 theta = -2 I_xy / (I_x - I_y).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.integrals import CentralZeros
from refsolver.statics.contract import Mistake, Residual
from refsolver.statics.vectors import Numbers

__all__ = [
    "EVERY_AXIS",
    "PRINCIPAL_MISTAKES",
    "PRINCIPAL_RULES",
    "Moments",
    "Principal",
    "principal_axes",
    "principal_residuals",
    "quadratic_form",
]

EVERY_AXIS = "I_x = I_y and I_xy = 0: every axis through the point is principal"


@attrs.frozen
class Moments:
    i_x: Number
    i_y: Number
    i_xy: Number


@attrs.frozen
class Principal:
    """The largest and smallest moment and the axes about which they are."""

    maximum: Number
    minimum: Number
    radius: Number
    major: Value
    minor: Value


def radius(half_difference: Number, product: Number, ar: Arithmetic) -> Number:
    """sqrt(((I_x - I_y)/2)^2 + I_xy^2), of Mohr's circle."""
    return ar.sqrt(half_difference * half_difference + product * product)


def double_angle(half_difference: Number, product: Number) -> Numbers:
    """A vector at twice the angle of the major axis."""
    return (half_difference, -product)


def halved(double: Numbers, size: Number, right: bool) -> Numbers:
    """A vector at half the angle of ``double``; ``right`` where that points to the right."""
    u, v = double
    return (u + size, v) if right else (v, size - u)


def difference_not_halved(half_difference: Number, product: Number, ar: Arithmetic) -> Number:
    return ar.sqrt(half_difference * half_difference * 4 + product * product)


def product_of_other_sign(half_difference: Number, product: Number) -> Numbers:
    return (half_difference, product)


def not_halved(double: Numbers, size: Number, right: bool) -> Numbers:
    return double


PRINCIPAL_RULES: Mapping[str, Callable[..., Any]] = {
    "radius": radius,
    "double_angle": double_angle,
    "halved": halved,
}


def _axes_exchanged(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["major axis"], NoAnswer):
        return None
    return {**answers, "major axis": answers["minor axis"], "minor axis": answers["major axis"]}


PRINCIPAL_MISTAKES = (
    Mistake(
        "sign of the product",
        "I_xy enters the double angle with the wrong sign, so that the axes lean the other way",
        rules={"double_angle": product_of_other_sign},
    ),
    Mistake(
        "double angle not halved",
        "2 theta is given for theta",
        rules={"halved": not_halved},
    ),
    Mistake(
        "difference not halved",
        "I_x - I_y enters the root without its half",
        rules={"radius": difference_not_halved},
    ),
    Mistake(
        "major and minor axis exchanged",
        "the axis of the smallest moment is given for that of the largest",
        answers=_axes_exchanged,
    ),
)


def principal_axes(
    of: Moments, ar: Arithmetic, rules: SimpleNamespace, known: CentralZeros | None = None
) -> Principal:
    """Decides as ``I_xy`` and ``I_x less I_y``; directions point to the right, or straight up.

    ``known`` says which of the two are proven zero already. Axes are refused with "no unique
    answer" where every axis is principal.
    """
    mean, half = (of.i_x + of.i_y) / 2, (of.i_x - of.i_y) / 2
    size = rules.radius(half, of.i_xy, ar)
    known = known or CentralZeros(False, False)
    leans = 0 if known.product else ar.sign(of.i_xy, "I_xy")
    wide = 0 if known.difference else ar.sign(half, "I_x less I_y")
    if leans == 0 and wide == 0:
        missing = NoAnswer("no unique answer", EVERY_AXIS)
        return Principal(mean, mean, ar.bring(fmpq(0)), missing, missing)
    product = of.i_xy if leans else ar.bring(fmpq(0))
    major = rules.halved(rules.double_angle(half, product), size, wide >= 0)
    if wide < 0 and leans > 0:
        major = tuple(-x for x in major)
    upward = leans > 0 or (leans == 0 and wide > 0)
    minor = (-major[1], major[0]) if upward else (major[1], -major[0])
    return Principal(mean + size, mean - size, size, major, minor)


def quadratic_form(of: Moments, u: Numbers, v: Numbers) -> Number:
    """u M v: the moment about an axis (u = v), or minus the product about two of them."""
    return u[0] * (of.i_x * v[0] - of.i_xy * v[1]) + u[1] * (of.i_y * v[1] - of.i_xy * v[0])


def principal_residuals(of: Moments, answers: Mapping[str, Value], size: Number) -> list[Residual]:
    """Trace and determinant, and M applied to the axes that were found."""
    largest, smallest = answers["maximum"], answers["minimum"]
    found = [
        Residual("sum of the principal moments", largest + smallest - of.i_x - of.i_y, size),
        Residual(
            "product of the principal moments",
            largest * smallest - of.i_x * of.i_y + of.i_xy * of.i_xy,
            size * size,
        ),
    ]
    for name, moment in (("major axis", largest), ("minor axis", smallest)):
        axis = answers[name]
        if isinstance(axis, NoAnswer):
            continue
        square = axis[0] * axis[0] + axis[1] * axis[1]
        across = (-axis[1], axis[0])
        found += [
            Residual(f"moment about the {name}", quadratic_form(of, axis, axis) - moment * square,
                     size * square),
            Residual(f"product about the {name}", quadratic_form(of, axis, across), size * square),
        ]  # fmt: skip
    return found
