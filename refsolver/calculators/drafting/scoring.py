"""How well one place of a workbook fits one number of a family, and on what that rests."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from refsolver.calculators.drafting.fields import Field
from refsolver.calculators.drafting.slots import Slot
from refsolver.calculators.drafting.words import axis_in, hinted_dimension, kinds_of, tokens
from refsolver.quantities.dimensions import ANGLE, NUMBER

__all__ = ["score", "takes_a_root", "texts_in"]

_SAID_ONLY = {
    "run": {"run", "rise", "slope"},
    "slope": {"slope", "gradient"},
    "cosine": {"cosine", "cos"},
    "size": {"size", "absolute", "greatest"},
    "intercept": {"intercept", "cut", "crosse", "line", "distance"},
    "foot": {"foot", "perpendicular"},
    "pierces": {"pierce"},
    "axis angle": {"x", "y", "z", "alpha", "beta", "gamma"},
    "azimuth": {"azimuth", "bearing", "plan"},
    "elevation": {"elevation", "above", "inclination"},
    "distance": {"distance"},
}
"""Ways of taking a number that a label must speak of to be proposed."""


def score(field: Field, slot: Slot, outputs: bool) -> tuple[float, str] | None:
    """How well a place fits a number, and on what that rests; None where it cannot."""
    words = tokens(field.words)
    by_dimension = _by_dimension(field, slot, words)
    by_rows = _by_rows(field, slot, outputs)
    by_axis = _by_axis(field, slot)
    wanted = _SAID_ONLY.get(slot.take)
    if by_dimension is None or by_rows is None or by_axis is None:
        return None
    if wanted is not None and not words & wanted:
        return None
    if slot.take == "elevation" and slot.along != "+z":
        return None
    score, why = by_dimension[0] + by_rows + by_axis, [by_dimension[1]]
    named = words & slot.named
    said = (words & slot.said) - named
    kinds = kinds_of(words) & kinds_of(slot.named)
    if named:
        # part of a name of several words ("angle" of "force angle") tells less than all of it
        score += 1 + 2 * len(named) / len(slot.named) + 0.75 * (len(named) - 1)
        why.append(f"the word {' and '.join(sorted(named))}")
    if said:
        score += min(1.5, 0.75 * len(said))
        why.append(f"also {' and '.join(sorted(said))}")
    if kinds and not named:
        score += 1.5 * len(kinds)
        why.append(f"a word for {' and '.join(sorted(kinds))}")
    if slot.dimension == ANGLE and "angle" in kinds_of(words):
        score += 1.0
        why.append("a word for an angle")
    if slot.take == "magnitude" and takes_a_root(field.formula):
        score += 1.0
        why.append("its formula takes a square root")
    if outputs and not field.final:
        score -= 0.25
    return score, "; ".join(filter(None, why))


def texts_in(formula: str) -> Sequence[str]:
    """The texts that a formula may give."""
    return list(dict.fromkeys(_texts(formula)))


def _texts(formula: str) -> Iterator[str]:
    for piece in formula.replace('""', "\0").split('"')[1::2]:
        if piece.replace("\0", "").strip():
            yield piece.replace("\0", '"')


def takes_a_root(formula: str) -> bool:
    """The formula takes a square root, as that of a magnitude does."""
    return re.search(r"SQRT\(|\^0\.5|\^\(1/2\)|SUMSQ\(|HYPOT", formula.upper()) is not None


def _by_dimension(field: Field, slot: Slot, words: frozenset[str]) -> tuple[float, str] | None:
    if slot.shape == "choice" and len(texts := texts_in(field.formula)) > 1:
        said = tokens(" ".join(texts))
        ours = [choice for choice in slot.choices if tokens(choice) & said]
        return (2.0, f'its formula says "{ours[0]}"') if ours else (0.5, "its formula gives words")
    if slot.dimension is None:
        fits = not field.unit.known and (slot.shape != "integer" or not field.is_text)
        return (0.5 if slot.shape == "integer" or field.is_text else -1.0, "") if fits else None
    if field.is_text:
        return None
    if field.unit.known:
        meaning = field.unit.meanings.get(slot.dimension)
        if meaning is None:
            return None
        return (3.0 if meaning[1] else 2.0), f'the unit "{field.unit.text.strip("()[]")}"'
    hint = ANGLE if field.as_angle else hinted_dimension(words)
    if hint == slot.dimension:
        why = "formulas take it as an angle" if field.as_angle else f"it sounds like {hint.name}"
        return 1.5, why
    if slot.dimension == NUMBER:
        return (0.5 if hint is None else -1.0), ""
    return (-0.25 if hint is None and slot.dimension != ANGLE else -2.0), ""


def _by_rows(field: Field, slot: Slot, outputs: bool) -> float | None:
    if field.rows > 1:
        return 1.0 if slot.row else None
    return -1.0 if slot.row else 0.0


def _by_axis(field: Field, slot: Slot) -> float | None:
    found = None if field.as_angle and slot.dimension != ANGLE else axis_in(field.words)
    if slot.along and slot.take != "elevation":
        return 2.0 if found is not None and found[0][1] == slot.along[1] else None
    return -1.5 if found is not None and slot.take == "magnitude" else 0.0
