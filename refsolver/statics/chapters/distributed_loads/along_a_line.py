"""Loads along a straight line: what the families of spread loads share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Residual,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.forces.systems import sum_of

__all__ = ["LoadsAlongLine", "Part", "forward"]


def forward(start: Exact, end: Exact) -> None:
    if seen_sign(difference(end, start)) in (-1, 0):
        raise ValueError("a stretch of load must end beyond its start")


@attrs.frozen
class Part:
    """The force of a piece of load, and its moment about the origin of the positions."""

    name: str
    force: Number
    moment: Number


class LoadsAlongLine(Family):
    """Shared: what is done with the force and moment of every stretch."""

    caution = cautions.LOADS_ALONG_A_LINE
    answers = {
        "resultant": Answer(ScalarKind(FORCE), "the whole load, positive in the load's sense"),
        "position": Answer(
            ScalarKind(LENGTH), "where the resultant acts along the line", ("no point",)
        ),
        "moment": Answer(
            ScalarKind(MOMENT),
            "about the stated point: sum of load times distance, positive for load beyond it",
        ),
        "forces": Answer(TableKind(ScalarKind(FORCE), "stretch"), "the load of each stretch"),
        "positions": Answer(
            TableKind(ScalarKind(LENGTH), "stretch"),
            "where the load of each stretch acts",
            ("no point",),
        ),
    }

    def answers_of(self, parts: Sequence[Part], about: Number, ar: Arithmetic) -> dict[str, Any]:
        force = sum_of([part.force for part in parts], ar)
        first = sum_of([part.moment for part in parts], ar)
        return {
            "resultant": force,
            "position": _acts_at(force, first, "all stretches", ar),
            "moment": first - about * force,
            "forces": {part.name: part.force for part in parts},
            "positions": {
                part.name: _acts_at(part.force, part.moment, part.name, ar) for part in parts
            },
        }

    def gaps_of(
        self,
        parts: Sequence[Part],
        sizes: tuple[Number, Number],
        about: Number,
        answers: Mapping[str, Value],
        ar: Arithmetic,
    ) -> list[Residual]:
        force = sum_of([part.force for part in parts], ar)
        first = sum_of([part.moment for part in parts], ar)
        size, moment_size = sizes
        moment_size = moment_size + ar.size(about) * size
        residuals = [
            Residual("whole load", force - answers["resultant"], size),
            Residual("moment", first - about * force - answers["moment"], moment_size),
        ]
        for part in parts:
            gap = part.force - answers["forces"][part.name]
            residuals.append(Residual(f"load of {part.name}", gap, size))
            position = answers["positions"][part.name]
            if not isinstance(position, NoAnswer):
                gap = part.moment - position * part.force
                residuals.append(Residual(f"place of {part.name}", gap, moment_size))
        if not isinstance(answers["position"], NoAnswer):
            gap = first - answers["position"] * force
            residuals.append(Residual("place of the resultant", gap, moment_size))
        return residuals

    @staticmethod
    def drawing_of(
        curves: Sequence[tuple[str, Sequence[tuple[float, float]]]],
        about: float,
        answers: Mapping[str, Value],
    ) -> Drawing:
        """Curves of (position, load per length), drawn above the line, a quarter span high."""
        places = [x for _, curve in curves for x, _ in curve]
        low, high = min([*places, about]), max([*places, about])
        tallest = max(abs(w) for _, curve in curves for _, w in curve) or 1.0
        scale = (high - low) / 4 / tallest
        parts: list[Primitive] = [Stroke((low, 0.0), (high, 0.0)), Mark((about, 0.0), "point")]
        for name, curve in curves:
            points = [(x, w * scale) for x, w in curve]
            ends = [(curve[-1][0], 0.0), (curve[0][0], 0.0)]
            parts.append(Region((*points, *ends), name))
        if not isinstance(answers["position"], NoAnswer):
            at = (answers["position"], 0.0)
            parts.append(Arrow(at, (0.0, -answers["resultant"]), "R", "answer", pushes=True))
        caption = (
            f"{len(curves)} stretches of load along a line, drawn above it where positive, and "
            "their resultant R where it acts, to scale"
        )
        return Drawing(tuple(parts), caption)


def _acts_at(force: Number, moment: Number, name: str, ar: Arithmetic) -> Any:
    if ar.sign(force, f"load of {name}") == 0:
        return NoAnswer("no point", f"the load of {name} adds up to zero")
    return moment / force
