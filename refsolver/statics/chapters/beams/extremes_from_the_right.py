"""Extremes and zeros along a beam, against the functions of the right-hand parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.chapters.beams.beam import Beam, stations
from refsolver.statics.chapters.beams.sections import along_curve, right_pieces
from refsolver.statics.contract import Residual
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.residuals import least_of, of_sign

__all__ = ["EXTREMES", "extremes_from_the_right"]

EXTREMES = (
    ("largest moment", "moment", 1),
    ("smallest moment", "moment", -1),
    ("largest shear", "shear", 1),
    ("smallest shear", "shear", -1),
)


def extremes_from_the_right(
    given: Beam, answers: Mapping[str, Value], ar: Arithmetic
) -> list[Residual]:
    """Each place and value found, against the functions of the right-hand parts.

    Which piece a place lies in is not decided again: a product over all pieces vanishes
    where one of its factors does.
    """
    pieces = right_pieces(given, ar)
    ends = [ar.bring(at) for at in stations(given)]
    shears, moments = ([pair[i] for pair in pieces] for i in range(2))
    residuals = []
    for key, x in answers["zero shear"].items():
        if isinstance(x, NoAnswer):
            continue
        here = answers["moment at zero shear"][key]
        level = _off_each_piece(0 * here, x, shears, ends, ar)
        jumps = [x - ar.bring(at) for at in stations(given)]
        residuals.append(_one_vanishes(f"shear at zero shear {key}", [*level, *jumps], ar))
        off = _off_each_piece(here, x, moments, ends, ar)
        residuals.append(_one_vanishes(f"moment at zero shear {key}", off, ar))
    for key, x in answers["contraflexure"].items():
        if not isinstance(x, NoAnswer):
            level = _off_each_piece(0 * x, x, moments, ends, ar)
            jumps = [x - ar.bring(couple.at) for couple in given.couples]
            residuals.append(_one_vanishes(f"contraflexure {key}", [*level, *jumps], ar))
    for name, of, sense in EXTREMES:
        x, curves = answers[f"{name} at"], moments if of == "moment" else shears
        if not isinstance(x, NoAnswer):
            off = _off_each_piece(answers[name], x, curves, ends, ar)
            residuals.append(_one_vanishes(name, off, ar))
        candidates = _at_ends(curves, ends)
        if of == "moment":
            level = answers["moment at zero shear"].values()
            candidates += [y for y in level if not isinstance(y, NoAnswer)]
        beyond = sense * answers[name] + least_of([-sense * y for y in candidates], ar)
        size = 1 + ar.size(answers[name]) + sum_of([ar.size(y) for y in candidates], ar)
        # A shear may also be extreme where its slope changes sign.
        exact = of == "moment" or all(len(line.intensities) == 1 for line in given.line_loads)
        word = f"{name} among the ends of the pieces"
        residuals.append(
            Residual(word, beyond, size) if exact else of_sign(word, 1, beyond, size, ar)
        )
    return residuals + _greatest(answers, ar)


def _off_each_piece(
    level: Number, x: Number, curves: Sequence[Any], ends: Sequence[Number], ar: Arithmetic
) -> list[Number]:
    """For each piece |level - value there| and how far x lies outside: zero where it is it."""
    return [
        ar.size(level - along_curve(curve, x))
        + (ar.size(x - start) + ar.size(end - x) - (end - start))
        for curve, (start, end) in zip(curves, pairwise(ends), strict=True)
    ]


def _at_ends(curves: Sequence[Any], ends: Sequence[Number]) -> list[Number]:
    """Values at both ends of each piece."""
    return [
        along_curve(curve, end)
        for curve, pair in zip(curves, pairwise(ends), strict=True)
        for end in pair
    ]


def _greatest(answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """The greater of both sizes is the mean of the two ends and half their distance."""
    residuals = []
    for of in ("moment", "shear"):
        high, low = answers[f"largest {of}"], answers[f"smallest {of}"]
        twice = ar.size(high - low) + ar.size(high + low)
        gap = 2 * answers[f"greatest {of}"] - twice
        residuals.append(Residual(f"greatest {of}", gap, 1 + ar.size(high) + ar.size(low)))
    return residuals


def _one_vanishes(name: str, factors: Sequence[Number], ar: Arithmetic) -> Residual:
    product = size = ar.bring(fmpq(1))
    for factor in factors:
        product, size = product * factor, size * (1 + ar.size(factor))
    return Residual(name, product, size)
