"""A light string with hanging weights, two of its segments in known directions.

Source of the method: triangle of forces at each knot, the string (funicular) polygon;
S. Timoshenko and D. H. Young, "Engineering Mechanics", chapter on funicular polygons, from
memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import (
    DirectionKind,
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import ByAngle, Direction
from refsolver.statics import cautions
from refsolver.statics.bodies.free_body import heading
from refsolver.statics.chapters.cables.cable import drawn_cable, end_sheet, no_solution
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    integer,
    many,
    one,
    quantities,
    quantity,
    text,
)
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.drawing import Arrow, Drawing, Primitive
from refsolver.statics.limits import reaches
from refsolver.statics.naming import distinct_keys, keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, added, brought, cross_plane, length, minus, scaled

__all__ = ["HungWeight", "KnownSegment", "LoadedString", "WeightsOnAString"]


@attrs.frozen
class HungWeight:
    weight: Exact = quantity(FORCE, "the weight on the knot", sign="positive")
    name: str = text("what the knot is called")


@attrs.frozen
class KnownSegment:
    segment: int = integer("its number from the left, the first is 1", minimum=1)
    direction: Direction = direction_given("of the segment, going from left to right")


@attrs.frozen
class LoadedString:
    weights: tuple[HungWeight, ...] = many(
        HungWeight, "the weights from left to right", ordered=True
    )
    known: KnownSegment = one(KnownSegment, "a segment of known direction")
    other: KnownSegment = one(KnownSegment, "another segment of known direction")
    lengths: tuple[Exact, ...] = quantities(
        LENGTH, "of the segments from left to right, where they are known", minimum=0, default=()
    )
    first: str = text("name of the left end", default="first")
    second: str = text("name of the right end", default="second")

    def __attrs_post_init__(self) -> None:
        distinct_keys([self.first, *keys_of(self.weights, "weight"), self.second])
        numbers = (self.known.segment, self.other.segment)
        if numbers[0] == numbers[1]:
            raise ValueError("the two known directions are those of one segment: state another")
        if max(numbers) > len(self.weights) + 1:
            raise ValueError(f"there are {len(self.weights) + 1} segments, not {max(numbers)}")
        if self.lengths and len(self.lengths) != len(self.weights) + 1:
            raise ValueError(f"{len(self.weights) + 1} lengths are expected, one a segment")
        if any(reaches(fmpq(0), x) for x in self.lengths):
            raise ValueError("the length of a segment is positive")


def _segments(given: LoadedString) -> list[str]:
    joints = [given.first, *keys_of(given.weights, "weight"), given.second]
    return [f"{a}-{b}" for a, b in pairwise(joints)]


# --- rules --------------------------------------------------------------------------------


def slope_of(along: Sequence[Number]) -> Number:
    """Rise over run of a direction."""
    return along[1] / along[0]


def _run_over_rise(along: Sequence[Number]) -> Number:
    return along[0] / along[1]


def tension_of(horizontal: Number, slope: Number, ar: Arithmetic) -> Number:
    """T = H / cos a = H sqrt(1 + tan^2 a)."""
    return horizontal * ar.sqrt(1 + slope * slope)


def weights_between(weights: Sequence[Number], low: int, high: int) -> Number:
    """The weights on the knots between two segments."""
    total = weights[low - 1]
    for weight in weights[low : high - 1]:
        total = total + weight
    return total


_NOT_TO_THE_RIGHT = "a known segment does not run from left to right"
_NO_SAG = "with these directions the string would bend upward or not at all under its weights"
_NO_LENGTHS = NoAnswer("not defined", "the lengths of the segments are not stated")


@register
class WeightsOnAString(Family):
    name = "cables/weights-on-a-string"
    title = "A light string with hanging weights, two of its segments in known directions"
    givens = LoadedString
    answers = {
        "horizontal": Answer(ScalarKind(FORCE), "the horizontal tension, the same in every "
                             "segment", ("no solution",)),
        "tensions": Answer(TableKind(ScalarKind(FORCE), "segment"), "of each segment",
                           ("no solution",)),
        "directions": Answer(TableKind(DirectionKind(2), "segment"),
                             "of each segment from left to right", ("no solution",)),
        "reactions": Answer(TableKind(VectorKind(FORCE, 2), "end"),
                            "of what holds each end, on the string (y up)", ("no solution",)),
        "second_end": Answer(PointKind(2), "place of the right end from the left one (y up)",
                             ("no solution", "not defined")),
    }  # fmt: skip
    rules = {"slope": slope_of, "tension": tension_of, "weights_between": weights_between}
    mistakes = (
        Mistake("angle from the wrong axis", "run and rise are exchanged: angles from the "
                "vertical are taken from the horizontal", rules={"slope": _run_over_rise}),
        Mistake("horizontal tension for the tension", "every segment is given the horizontal "
                "tension", rules={"tension": lambda horizontal, slope, ar: horizontal}),
        Mistake("one weight only", "of the weights between the known segments only the first "
                "is counted", rules={"weights_between": lambda w, low, high: w[low - 1]}),
        Mistake("cosine multiplied", "the horizontal tension is multiplied by the cosine "
                "instead of divided",
                rules={"tension": lambda horizontal, slope, ar:
                       horizontal / ar.sqrt(1 + slope * slope)}),
    )  # fmt: skip
    method = (
        "H (tan b - tan a) = weights between the two known segments; from knot to knot "
        "tan changes by W / H; T = H / cos a"
    )
    second_method = (
        "Lami's theorem at each knot by the products of its directions; the known directions "
        "found again; the polygon of forces closes"
    )
    caution = cautions.CABLES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weights = [ar.bring(item.weight) for item in given.weights]
        low, high = sorted((given.known, given.other), key=lambda item: item.segment)
        directions = [heading(item.direction, ar) for item in (low, high)]
        for item, along in zip((low, high), directions, strict=True):
            if ar.sign(along[0], f"segment {item.segment} runs to the right") <= 0:
                return Solution(no_solution(self.answers, _NOT_TO_THE_RIGHT))
        turn = directions[1][1] * directions[0][0] - directions[0][1] * directions[1][0]
        if ar.sign(turn, "the string bends upward") <= 0:
            return Solution(no_solution(self.answers, _NO_SAG))
        start, end = (rules.slope(along) for along in directions)
        horizontal = rules.weights_between(weights, low.segment, high.segment) / (end - start)
        stated = {low.segment: start, high.segment: end}
        slopes = self._slopes(given, weights, stated, horizontal)
        tensions = {key: rules.tension(horizontal, p, ar) for key, p in slopes.items()}
        one = horizontal / horizontal
        ends = list(slopes.values())
        answers: dict[str, Value] = {
            "horizontal": horizontal,
            "tensions": tensions,
            "directions": {key: (one, p) for key, p in slopes.items()},
            "reactions": {
                given.first: (-horizontal, -horizontal * ends[0]),
                given.second: (horizontal, horizontal * ends[-1]),
            },
            "second_end": _NO_LENGTHS,
        }
        if given.lengths:
            place = (0 * horizontal, 0 * horizontal)
            for reach, p in zip(brought(given.lengths, ar), ends, strict=True):
                run = reach / ar.sqrt(1 + p * p)
                place = (place[0] + run, place[1] + run * p)
            answers["second_end"] = place
        sheets = (
            number_sheet("Horizontal tension", {"H": horizontal}, self.method),
            end_sheet("Segments", slopes, tensions),
        )
        return Solution(answers, sheets)

    def _slopes(
        self,
        given: LoadedString,
        weights: Sequence[Number],
        stated: Mapping[int, Number],
        horizontal: Number,
    ) -> dict[str, Number]:
        """Of every segment, counted on from the known ones, which keep what is stated."""
        slopes = dict(stated)
        first = min(stated)
        for segment in range(first + 1, len(weights) + 2):
            if segment not in slopes:
                slopes[segment] = slopes[segment - 1] + weights[segment - 2] / horizontal
        for segment in range(first - 1, 0, -1):
            slopes[segment] = slopes[segment + 1] - weights[segment - 1] / horizontal
        return {key: slopes[number] for number, key in enumerate(_segments(given), 1)}

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["horizontal"], NoAnswer):
            return []
        keys = _segments(given)
        units = [self._unit(answers["directions"][key], ar) for key in keys]
        tensions = [answers["tensions"][key] for key in keys]
        residuals = []
        total = answers["horizontal"] + tensions[0] + tensions[-1]
        knots = zip(keys_of(given.weights, "weight"), given.weights, strict=True)
        for i, (key, item) in enumerate(knots):
            weight = ar.bring(item.weight)
            bend = cross_plane(units[i], units[i + 1])
            before = tensions[i] * bend - weight * units[i + 1][0]
            after = tensions[i + 1] * bend - weight * units[i][0]
            residuals.append(Residual(f"Lami's theorem at {key}, before", before, total + weight))
            residuals.append(Residual(f"Lami's theorem at {key}, after", after, total + weight))
        for item in (given.known, given.other):
            along = heading(item.direction, ar)
            off = cross_plane(along, units[item.segment - 1])
            size = along[0] + ar.size(along[1])
            residuals.append(Residual(f"direction of segment {item.segment}", off, size))
        residuals += self._closing(given, answers, units, tensions, ar)
        return residuals

    def _unit(self, along: Numbers, ar: Arithmetic) -> Numbers:
        return scaled(1 / length(along, ar), along)

    def _closing(
        self,
        given: LoadedString,
        answers: Mapping[str, Value],
        units: Sequence[Numbers],
        tensions: Sequence[Number],
        ar: Arithmetic,
    ) -> list[Residual]:
        ends = answers["reactions"][given.first], answers["reactions"][given.second]
        total = tensions[0] + tensions[-1]
        residuals = [
            Residual("horizontal tension", answers["horizontal"] - ends[1][0], total),
        ]
        for sense, force, unit, tension, word in (
            (-1, ends[0], units[0], tensions[0], "left"),
            (1, ends[1], units[-1], tensions[-1], "right"),
        ):
            for axis, part in enumerate(unit):
                off = force[axis] - tension * part * sense
                residuals.append(Residual(f"{word} end, axis {axis + 1}", off, total))
        place = answers["second_end"]
        if not isinstance(place, NoAnswer):
            for reach, unit in zip(brought(given.lengths, ar), units, strict=True):
                place = minus(place, scaled(reach, unit))
            size = brought(given.lengths, ar)[0] + ar.size(answers["second_end"][0])
            residuals += [Residual(f"right end, axis {i + 1}", place[i], size) for i in range(2)]
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        """Segments of the stated lengths, or of one length where none are stated."""
        if isinstance(answers["horizontal"], NoAnswer):
            parts = [
                Arrow((float(i), 0.0), (0.0, -ar.bring(item.weight)), key)
                for i, (key, item) in enumerate(
                    zip(keys_of(given.weights, "weight"), given.weights, strict=True)
                )
            ]
            return Drawing(tuple(parts), "weights that no string holds in these directions")
        lengths = brought(given.lengths, ar) or (1.0,) * (len(given.weights) + 1)
        points: list[Any] = [(0.0, 0.0)]
        for reach, along in zip(lengths, answers["directions"].values(), strict=True):
            points.append(added(points[-1], scaled(reach, self._unit(along, ar))))
        drawn: list[Primitive] = list(drawn_cable(points, answers["reactions"]))
        for key, item, at in zip(
            keys_of(given.weights, "weight"), given.weights, points[1:-1], strict=True
        ):
            drawn.append(Arrow(at, (0.0, -ar.bring(item.weight)), key))
        return Drawing(tuple(drawn), "a string with its weights and the forces at its ends")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LoadedString:
        """Two neighbouring segments whose slopes differ by about 1/kappa."""
        spread = log_uniform(rng, kappa)
        places = figures_for(kappa[1]) + 2
        count = rng.randint(1, 5)
        low = rng.randint(1, count)
        start = rng.uniform(-60, 20)
        end = start + math.degrees(math.atan(1 / spread)) * rng.uniform(0.5, 1)
        return LoadedString(
            _drawn_weights(rng, count),
            KnownSegment(low, _at(start, places)),
            KnownSegment(rng.randint(low + 1, count + 1), _at(end, places)),
            tuple(decimal(rng.uniform(1, 9), 1) for _ in range(count + 1)),
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LoadedString | None:
        if set(rows) != {"weights"} or rows["weights"] < 1:
            return None
        return LoadedString(
            _drawn_weights(rng, rows["weights"]),
            KnownSegment(1, _at(rng.uniform(-60, -30), 1)),
            KnownSegment(rows["weights"] + 1, _at(rng.uniform(20, 60), 1)),
            tuple(decimal(rng.uniform(1, 9), 1) for _ in range(rows["weights"] + 1)),
        )


def _at(degrees: float, places: int) -> ByAngle:
    return ByAngle(Turn(decimal(degrees, places) / 360), "+x", "+y")


def _drawn_weights(rng: random.Random, count: int) -> tuple[HungWeight, ...]:
    return tuple(
        HungWeight(decimal(rng.uniform(10, 990), 1), f"W{number}") for number in range(1, count + 1)
    )
