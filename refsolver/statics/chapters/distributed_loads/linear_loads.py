"""Loads spread along a straight line: the resultant force, its place and its moment.

A load is positive in its own sense (mostly downward); a moment is the sum of load times
distance beyond the stated point. Source of the method: any text of statics, for instance
R. C. Hibbeler, "Engineering Mechanics: Statics", section 4.9 (from memory):
W = integral of w, W x = integral of w x.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, LINE_LOAD, MOMENT
from refsolver.quantities.kinds import Value
from refsolver.statics.chapters.distributed_loads.along_a_line import LoadsAlongLine, Part, forward
from refsolver.statics.contract import (
    Column,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class LinearStretch:
    start: Exact = quantity(LENGTH, "where the stretch starts")
    end: Exact = quantity(LENGTH, "where it ends")
    first: Exact = quantity(LINE_LOAD, "the load per length at its start")
    last: Exact = quantity(LINE_LOAD, "the load per length at its end")
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        forward(self.start, self.end)


@attrs.frozen
class LinearLoads:
    stretches: tuple[LinearStretch, ...] = many(
        LinearStretch, "stretches of linear load; where they overlap the loads add"
    )
    about: Exact = quantity(
        LENGTH, "the point about which the moment is taken", default=rational(0)
    )

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.stretches, "stretch")


def triangle_force(load: Number, span: Number) -> Number:
    """w L / 2."""
    return load * span / 2


def triangle_acts_at(span: Number) -> Number:
    """2 L / 3 from the end where the triangular load is zero."""
    return 2 * span / 3


def rectangle_acts_at(span: Number) -> Number:
    """L / 2."""
    return span / 2


def triangle_not_halved(load: Number, span: Number) -> Number:
    return load * span


def third_from_zero_end(span: Number) -> Number:
    return span / 3


@register
class LineLoad(LoadsAlongLine):
    name = "distributed-loads/line-load"
    title = "Resultant of loads that vary linearly along a line"
    givens = LinearLoads
    rules = {
        "triangle_force": triangle_force,
        "triangle_acts_at": triangle_acts_at,
        "rectangle_acts_at": rectangle_acts_at,
    }
    mistakes = (
        Mistake(
            "triangular load not halved",
            "its peak is multiplied by its length, without the half",
            {"triangle_force": triangle_not_halved},
        ),
        Mistake(
            "triangular load at the wrong third",
            "it acts a third of its length from the end where it is zero",
            {"triangle_acts_at": third_from_zero_end},
        ),
        Mistake(
            "triangular load at its middle",
            "it acts at the middle of its length",
            {"triangle_acts_at": rectangle_acts_at},
        ),
    )
    method = (
        "each stretch is a rectangle w_1 L at L/2 and a triangle (w_2 - w_1) L / 2 at 2 L/3; "
        "W = sum of both, x = sum of W x / W"
    )
    second_method = (
        "each stretch as two triangles, w_1 L / 2 at L/3 and w_2 L / 2 at 2 L/3 from its start"
    )

    def solve(self, given: LinearLoads, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts, rows = [], []
        for key, stretch in zip(keys_of(given.stretches, "stretch"), given.stretches, strict=True):
            start, first = ar.bring(stretch.start), ar.bring(stretch.first)
            span, rise = ar.bring(stretch.end) - start, ar.bring(stretch.last) - first
            level, peak = first * span, rules.triangle_force(rise, span)
            at_level = start + rules.rectangle_acts_at(span)
            at_peak = start + rules.triangle_acts_at(span)
            parts.append(Part(key, level + peak, level * at_level + peak * at_peak))
            rows += [
                Row(f"{key}, rectangle", (level, at_level, level * at_level)),
                Row(f"{key}, triangle", (peak, at_peak, peak * at_peak)),
            ]
        answers = self.answers_of(parts, ar.bring(given.about), ar)
        first_moment = sum_of([part.moment for part in parts], ar)
        rows.append(Row("sum", (answers["resultant"], None, first_moment)))
        sheet = Sheet(
            "Rectangles and triangles",
            (Column("W", FORCE), Column("x", LENGTH), Column("W x", MOMENT)),
            tuple(rows),
            self.method,
        )
        return Solution(answers, (sheet,))

    def check(
        self, given: LinearLoads, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        parts, size, moment_size = [], ar.bring(rational(0)), ar.bring(rational(0))
        for key, stretch in zip(answers["forces"], given.stretches, strict=True):
            start, end = ar.bring(stretch.start), ar.bring(stretch.end)
            first, last = ar.bring(stretch.first), ar.bring(stretch.last)
            falling, rising = first * (end - start) / 2, last * (end - start) / 2
            moment = falling * (2 * start + end) / 3 + rising * (start + 2 * end) / 3
            parts.append(Part(key, falling + rising, moment))
            load = (ar.size(first) + ar.size(last)) * ar.size(end - start)
            size = size + load
            moment_size = moment_size + load * (ar.size(start) + ar.size(end))
        return self.gaps_of(parts, (size, moment_size), ar.bring(given.about), answers, ar)

    def figure(self, given: LinearLoads, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        curves = [
            (
                key,
                [
                    (ar.bring(stretch.start), ar.bring(stretch.first)),
                    (ar.bring(stretch.end), ar.bring(stretch.last)),
                ],
            )
            for key, stretch in zip(answers["forces"], given.stretches, strict=True)
        ]
        return self.drawing_of(curves, ar.bring(given.about), answers)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LinearLoads:
        """Random stretches, and a uniform one that cancels their load down to about 1/kappa."""
        stretches = [_drawn_stretch(rng) for _ in range(rng.randint(1, 4))]
        loads = [(s.first + s.last) * (s.end - s.start) / 2 for s in stretches]
        whole, size = sum(loads, rational(0)), sum((abs(x) for x in loads), rational(0))
        target = log_uniform(rng, kappa)
        span = drawn(rng, 1, 9)
        left = decimal(float(size.p) / float(size.q) / target, figures_for(target))
        load = decimal_of((left - whole) / span, figures_for(target) + 2)
        start = drawn(rng, -5, 5)
        last = _Linear(start, start + span, load, load)
        about = drawn(rng, -9, 9)
        return LinearLoads(tuple(s.given() for s in [*stretches, last]), about)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LinearLoads:
        count = rows.get("stretches", 1)
        stretches = tuple(_drawn_stretch(rng).given() for _ in range(count))
        return LinearLoads(stretches, drawn(rng, -9, 9))


@attrs.frozen
class _Linear:
    start: fmpq
    end: fmpq
    first: fmpq
    last: fmpq

    def given(self) -> LinearStretch:
        return LinearStretch(self.start, self.end, self.first, self.last)


def decimal_of(value: fmpq, places: int) -> fmpq:
    """A rational rounded to a decimal with this many places."""
    return fmpq((value * 10**places + fmpq(1, 2)).floor(), 10**places)


def _drawn_stretch(rng: random.Random) -> _Linear:
    start = drawn(rng, -9, 9)
    return _Linear(start, start + drawn(rng, 1, 9), drawn(rng, 0, 50), drawn(rng, 1, 50))
