"""Centroids of wires of straight pieces in space.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", sections 9.1 and 9.2,
from memory: centroid = sum of L r / sum of L.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import AREA, LENGTH
from refsolver.quantities.kinds import PointKind, ScalarKind, TableKind, Value, VectorKind
from refsolver.statics.chapters.centroids.lines import (
    NOT_WEIGHTED,
    first_moment,
)
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    point,
    text,
)
from refsolver.statics.drawing import Drawing, Mark, Primitive, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import (
    decimal,
    drawn_point,
    figures_for,
    log_uniform,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, brought, length, minus


@attrs.frozen
class SpaceSegment:
    start: tuple[Exact, ...] = point("one end", space=3)
    end: tuple[Exact, ...] = point("the other end", space=3)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if self.start == self.end:
            raise ValueError("a straight piece needs two different ends")


@attrs.frozen
class SpaceLine:
    segments: tuple[SpaceSegment, ...] = many(SpaceSegment, "straight pieces")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.segments, "segment")


@register
class LineInSpace(Family):
    name = "centroids/line-in-space"
    title = "Centroid of a wire of straight pieces in space"
    givens = SpaceLine
    answers = {
        "length": Answer(ScalarKind(LENGTH), "of all pieces"),
        "first moment": Answer(VectorKind(AREA, 3), "sum of L x, L y and L z"),
        "centroid": Answer(PointKind(3), "of the whole"),
        "lengths": Answer(TableKind(ScalarKind(LENGTH), "piece"), "of each piece"),
        "centroids": Answer(TableKind(PointKind(3), "piece"), "of each piece"),
    }
    rules = {"first_moment": first_moment}
    mistakes = (
        NOT_WEIGHTED,
        Mistake(
            "length in plan", "pieces are weighted by their lengths in plan, without the height",
            answers=lambda given, answers, ar: _in_plan(given, answers, ar),
        ),
    )  # fmt: skip
    method = "L = sum of L_i, centroid = sum of L_i r_i / L"
    second_method = "half of each piece's length put at either of its ends"

    def solve(self, given: SpaceLine, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        ends = [(brought(s.start, ar), brought(s.end, ar)) for s in given.segments]
        sizes = [length(minus(b, a), ar) for a, b in ends]
        places = [tuple((x + y) / 2 for x, y in zip(a, b, strict=True)) for a, b in ends]
        size = sum_of(sizes, ar)
        moment = tuple(
            sum_of([rules.first_moment(s, p[i]) for s, p in zip(sizes, places, strict=True)], ar)
            for i in range(3)
        )
        keys = keys_of(given.segments, "segment")
        answers: dict[str, Value] = {
            "length": size,
            "first moment": moment,
            "centroid": tuple(m / size for m in moment),
            "lengths": dict(zip(keys, sizes, strict=True)),
            "centroids": dict(zip(keys, places, strict=True)),
        }
        columns = (Column("L", LENGTH), *(Column(a, LENGTH) for a in "xyz"))
        rows = tuple(Row(k, (s, *p)) for k, s, p in zip(keys, sizes, places, strict=True))
        return Solution(answers, (Sheet("Pieces", columns, rows, self.method),))

    def check(
        self, given: SpaceLine, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        found, total = [], answers["length"]
        reach = total + sum_of(
            [ar.size(x) for s in given.segments for x in brought(s.start, ar)], ar
        )
        for key, s in zip(answers["lengths"], given.segments, strict=True):
            step = minus(brought(s.end, ar), brought(s.start, ar))
            square = step[0] * step[0] + step[1] * step[1] + step[2] * step[2]
            size = answers["lengths"][key]
            found.append(Residual(f"length of {key}", size * size - square, square))
            ends = [brought(at, ar) for at in (s.start, s.end)]
            gaps = zip(answers["centroids"][key], *ends, strict=True)
            found += [
                Residual(f"middle of {key} along {letter}", (x - a) - (b - x), reach)
                for letter, (x, a, b) in zip("xyz", gaps, strict=True)
            ]
        parts = sum_of(list(answers["lengths"].values()), ar)
        found.append(Residual("length", parts - total, total))
        for i, letter in enumerate("xyz"):
            ends = [
                answers["lengths"][key] / 2 * (ar.bring(s.start[i]) + ar.bring(s.end[i]))
                for key, s in zip(answers["lengths"], given.segments, strict=True)
            ]
            moment = sum_of(ends, ar)
            gap = answers["centroid"][i] * total - moment
            found.append(Residual(f"centroid along {letter}", gap, total * reach))
            gap = answers["first moment"][i] - moment
            found.append(Residual(f"first moment along {letter}", gap, total * reach))
        return found

    def figure(self, given: SpaceLine, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Stroke(brought(s.start, ar), brought(s.end, ar), key)
            for key, s in zip(answers["lengths"], given.segments, strict=True)
        ]
        parts.append(Mark((0.0, 0.0, 0.0), "O", "axis"))
        parts.append(Mark(answers["centroid"], "centroid", "answer"))
        return Drawing(tuple(parts), "the pieces of the wire and its centroid, to scale", 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceLine:
        """Pieces moved so that the centroid is 1/kappa of their reach from the origin."""
        from refsolver.arithmetic.double import DoubleArithmetic

        target = log_uniform(rng, kappa)
        given = self.filled({"segments": rng.randint(2, 5)}, rng)
        assert given is not None
        place = self.solve(given, DoubleArithmetic(), self.rule_set()).answers["centroid"]
        by = [decimal(8 / target - float(x), figures_for(target)) for x in place]
        return SpaceLine(
            tuple(SpaceSegment(_shifted(s.start, by), _shifted(s.end, by)) for s in given.segments)
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceLine | None:
        count = rows.get("segments", 0)
        if set(rows) != {"segments"} or count < 1:
            return None
        return SpaceLine(
            tuple(SpaceSegment(drawn_point(rng, 3), drawn_point(rng, 3)) for _ in range(count))
        )


def _shifted(at: Any, by: Sequence[fmpq]) -> Numbers:
    return tuple(x + d for x, d in zip(at, by, strict=True))


def _in_plan(
    given: SpaceLine, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    places = list(answers["centroids"].values())
    plans = []
    for s in given.segments:
        step = minus(brought(s.end, ar), brought(s.start, ar))
        plans.append(length(step[:2], ar))
    total = sum_of(plans, ar)
    if ar.sign(total, "length in plan") == 0:
        return None
    moment = [sum_of([w * p[i] for w, p in zip(plans, places, strict=True)], ar) for i in range(3)]
    return {**answers, "length": total, "centroid": tuple(m / total for m in moment)}
