"""Second moments of an area put together from parts, and what is derived from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.composite import PAIRS, Part
from refsolver.statics.contract import Mistake
from refsolver.statics.forces.systems import sum_of

__all__ = [
    "ALL_NAMES",
    "MOMENT_MISTAKES",
    "MOMENT_RULES",
    "NAMES",
    "about",
    "gyration",
    "gyrations",
    "of_part",
]

NAMES = ("I_x", "I_y", "I_xy")
ALL_NAMES = (*NAMES, "polar")


def shift(area: Number, u: Number, v: Number) -> Number:
    """The term of the parallel axis theorem, A u v."""
    return area * u * v


def own_moment(own: Number) -> Number:
    """The part's second moment about axes through its own centroid."""
    return own


def with_sign(sign: int, own: Number, moved: Number) -> Number:
    """Own moment and parallel axis term together, both negative for a hole."""
    return sign * (own + moved)


def only_own_taken_off(sign: int, own: Number, moved: Number) -> Number:
    return sign * own + moved


MOMENT_RULES: Mapping[str, Callable[..., Any]] = {
    "shift": shift,
    "own_moment": own_moment,
    "with_sign": with_sign,
}

MOMENT_MISTAKES = (
    Mistake(
        "own moments left out",
        "only A d^2 of each part is added up",
        rules={"own_moment": lambda own: own * 0},
    ),
    Mistake(
        "parallel axis term left out",
        "only the parts' own second moments are added up",
        rules={"shift": lambda area, u, v: area * u * v * 0},
    ),
    Mistake(
        "hole's parallel axis term added",
        "a hole's own moment is taken off, but its A d^2 is added",
        rules={"with_sign": only_own_taken_off},
    ),
)


def of_part(p: Part, k: int, pole: Sequence[Number], rules: SimpleNamespace) -> Number:
    """I_x, I_y or I_xy (k = 0, 1, 2) of one part about axes through the pole, with its sign."""
    i, j = PAIRS[k]
    moved = rules.shift(p.area, p.centroid[i] - pole[i], p.centroid[j] - pole[j])
    return rules.with_sign(p.sign, rules.own_moment(p.own[k]), moved)


def about(
    parts: Sequence[Part], pole: Sequence[Number], rules: SimpleNamespace, ar: Arithmetic
) -> dict[str, Number]:
    """I_x, I_y, I_xy and polar of the whole about axes through the pole."""
    values = {
        name: sum_of([of_part(p, k, pole, rules) for p in parts], ar)
        for k, name in enumerate(NAMES)
    }
    return {**values, "polar": values["I_x"] + values["I_y"]}


def gyration(moment: Number, area: Number, name: str, of: str, ar: Arithmetic) -> Value:
    """sqrt(I / A); refused where holes leave I and A with different signs.

    ``of`` is the word for what I is divided by: "area", "mass".
    """
    sign = ar.sign(moment * area, f"{name} times the {of}")
    if sign == 0:
        return ar.bring(fmpq(0))
    if sign < 0:
        return NoAnswer("not defined", f"{name} and the {of} have different signs")
    return ar.sqrt(moment / area)


def gyrations(
    moments: Mapping[str, Number], area: Number, where: str, ar: Arithmetic
) -> dict[str, Value]:
    """k_x, k_y and polar k of moments as :func:`about` gives them."""
    return {
        f"{where}{k}": gyration(moments[name], area, f"{where}{name}", "area", ar)
        for k, name in (("k_x", "I_x"), ("k_y", "I_y"), ("polar k", "polar"))
    }
