"""The force equivalent to loads along a line."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun
from refsolver.statics import cautions
from refsolver.statics.chapters.beams.beam import RULES, BeamLineLoad, spread_of
from refsolver.statics.chapters.beams.drawn import drawn_line_load
from refsolver.statics.chapters.beams.family import LINE_LOAD_MISTAKES
from refsolver.statics.chapters.beams.samples import line_sample
from refsolver.statics.chapters.beams.sections import spread_as_force, sum_residual
from refsolver.statics.contract import Answer, Column, Family, Residual, Row, Sheet, Solution, many
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import added

__all__ = ["LineLoads", "LineResultant"]


@attrs.frozen
class LineLoads:
    line_loads: tuple[BeamLineLoad, ...] = many(BeamLineLoad, "loads along one line")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.line_loads, "line load")
        for line in self.line_loads:
            if not (isinstance(line.start, fmpq) and isinstance(line.end, fmpq)):
                raise ValueError("a position along a beam is a rational number")


@register
class LineResultant(Family):
    name = "beams/line-resultant"
    title = "The force equivalent to loads along a line"
    givens = LineLoads
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the sum of all line loads", ("no direction",)),
        "moment": Answer(
            ScalarKind(MOMENT), "of all line loads about x = 0, counter-clockwise positive"
        ),
        "position": Answer(
            ScalarKind(LENGTH),
            "x where the resultant crosses the line",
            ("no line of action", "no intercept"),
        ),
        "totals": Answer(
            TableKind(ScalarKind(FORCE), "line load"),
            "the force of each line load, positive in its direction",
        ),
        "places": Answer(
            TableKind(ScalarKind(LENGTH), "line load"),
            "x of the force of each line load",
            ("no line of action",),
        ),
    }
    rules = RULES
    mistakes = LINE_LOAD_MISTAKES
    method = "W = integral of w, W x = integral of w x; the resultant acts at sum of moments / R_y"
    second_method = (
        "each load as its antiderivatives at its far end, with the polynomial by Lagrange's "
        "products; the resultant at the place found has the moment of all loads about x = 0 and "
        "about the end of the last"
    )
    caution = cautions.LOADS_ALONG_A_LINE

    def solve(self, given: LineLoads, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        zero = ar.bring(fmpq(0))
        total: tuple[Number, ...] = (zero, zero)
        moment = zero
        totals: dict[str, Value] = {}
        places_of_loads: dict[str, Value] = {}
        for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
            spread = spread_of(line, ar, rules)
            start = ar.bring(line.start)
            length = ar.bring(line.end) - start
            size = rules.line_resultant(spread.intensity, length)
            first = rules.line_first_moment(spread.intensity, length)
            totals[key] = size
            places_of_loads[key] = (
                start + first / size
                if ar.sign(size, f"force of {key}")
                else NoAnswer("no line of action", f"the force of {key} is zero")
            )
            total = added(total, tuple(size * u for u in spread.along))
            moment = moment + (start * size + first) * spread.along[1]
        answers: dict[str, Value] = {
            "resultant": total,
            "moment": moment,
            "position": _crossing(total, moment, ar),
            "totals": totals,
            "places": places_of_loads,
        }
        rows = tuple(
            Row(
                key,
                (
                    size,
                    None if isinstance(places_of_loads[key], NoAnswer) else places_of_loads[key],
                ),
            )
            for key, size in totals.items()
        )
        sheet = Sheet("Line loads", (Column("W", FORCE), Column("at x", LENGTH)), rows, self.method)
        return Solution(answers, (sheet,))

    def check(
        self, given: LineLoads, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        acting = [spread_as_force(line, line.end, ar) for line in given.line_loads]
        zero = ar.bring(fmpq(0))
        residuals = [
            sum_residual(f"forces along {letter}", [f[i] for _, f, _ in acting] + [-total], ar)
            for i, (letter, total) in enumerate(zip("xy", answers["resultant"], strict=True))
        ]
        poles = {"x = 0": zero, "the far end": ar.bring(max(x.end for x in given.line_loads))}
        for word, pole in poles.items():
            turning = [(at - pole) * f[1] + c for at, f, c in acting]
            own = -answers["moment"] + pole * answers["resultant"][1]
            residuals.append(sum_residual(f"moments about {word}", [*turning, own], ar))
            if not isinstance(answers["position"], NoAnswer):
                own = -(answers["position"] - pole) * answers["resultant"][1]
                residuals.append(
                    sum_residual(f"moment of the resultant about {word}", [*turning, own], ar)
                )
        residuals += _each_load(given, answers, ar)
        # A load that changes sign may all but cancel within itself: what cancels is its
        # whole, up to the farthest place.
        whole = _gross(given, ar)
        return [attrs.evolve(each, size=each.size + whole) for each in residuals]

    def figure(self, given: LineLoads, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        reach = ar.bring(max(line.end for line in given.line_loads))
        parts: list[Primitive] = [Stroke((0.0, 0.0), (reach, 0.0))]
        for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
            parts += drawn_line_load(line, key, reach / 12, ar)
        if not isinstance(answers["position"], NoAnswer):
            spot = (answers["position"], 0.0)
            parts.append(Arrow(spot, answers["resultant"], "R", "answer", pushes=True))
        caption = f"{len(given.line_loads)} line loads and the one force equal to them, to scale"
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LineLoads:
        """A load, and one the other way that leaves about 1/kappa of it."""
        spread = log_uniform(rng, kappa)
        digits = figures_for(kappa[1])
        first = line_sample(fmpq(10), rng)
        mean = (first.intensities[0] + first.intensities[-1]) / 2  # type: ignore[operator]
        rest = mean * (first.end - first.start) * decimal(1 - 1 / spread, digits) / 4
        up = ByRun((fmpq(0), fmpq(1)))
        return LineLoads((first, BeamLineLoad(fmpq(6), fmpq(10), (rest,), up)))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LineLoads | None:
        count = rows.get("line_loads", 1)
        return LineLoads(tuple(line_sample(fmpq(10), rng) for _ in range(count))) if count else None


def _each_load(
    given: LineLoads, answers: Mapping[str, Value], ar: Arithmetic
) -> Iterator[Residual]:
    """Of each load turned to act straight up: its force, and its moment about x = 0."""
    for line, (key, total) in zip(given.line_loads, answers["totals"].items(), strict=True):
        upward = attrs.evolve(line, direction=ByRun((fmpq(0), fmpq(1))))
        at, force, couple = spread_as_force(upward, line.end, ar)
        yield sum_residual(f"force of {key}", [force[1], -total], ar)
        place = answers["places"][key]
        if not isinstance(place, NoAnswer):
            turning = [at * force[1], couple, -place * total]
            yield sum_residual(f"moment of {key} about x = 0", turning, ar)


def _gross(given: LineLoads, ar: Arithmetic) -> Number:
    """A number not smaller than the forces, and the moments per length, that make up the loads."""
    total = ar.bring(fmpq(0))
    for line in given.line_loads:
        for intensity in line.intensities:
            total = total + ar.size(ar.bring(intensity)) * ar.bring(line.end - line.start)
    return total


def _crossing(total: Sequence[Number], moment: Number, ar: Arithmetic) -> Value:
    if ar.sign(total[1], "resultant across the line") != 0:
        return moment / total[1]
    if ar.sign(total[0], "resultant along the line") == 0:
        return NoAnswer("no line of action", "the loads balance or form a couple")
    return NoAnswer("no intercept", "the resultant lies along the line")
