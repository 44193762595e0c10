"""Givens in which an answer nearly cancels, by choosing one number on which it depends linearly."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from flint import arb, ctx, fmpq

from refsolver.arithmetic.detached import enclosure_of
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Family
from refsolver.statics.random_givens import figures_for, rounded

__all__ = ["nearly_cancelled"]

_BITS = 400

G = TypeVar("G")


def nearly_cancelled(
    family: Family, answer: str, given_with: Callable[[fmpq], G], spread: float
) -> G:
    """The givens whose scalar ``answer`` is about 1/``spread`` of what it is made of.

    ``given_with`` makes them with one number, of which the answer is a linear function. The
    number is a decimal. ValueError where the answer does not depend on it, or is refused.
    """
    saved = ctx.prec
    try:
        ctx.prec = _BITS
        one, two = (_value(family, answer, given_with(fmpq(n))) for n in (1, 2))
        change = two - one
        if change.contains(0):
            raise ValueError(f"{answer} does not depend on the number that was to be chosen")
        vanishing = enclosure_of(1 - one / change).middle
    finally:
        ctx.prec = saved
    places = figures_for(spread) + 3
    return given_with(rounded(vanishing * (1 + 1 / fmpq(round(100 * spread), 100)), places))


def _value(family: Family, answer: str, given: Any) -> arb:
    found = family.solve(given, EnclosureArithmetic(), family.rule_set()).answers[answer]
    if isinstance(found, NoAnswer):
        raise ValueError(f"{answer}: {found.reason}")
    return arb(found)
