"""A light cable with hanging loads between two supports: a polygon of straight segments.

Givens, sources and the horizontal tension are in :mod:`.polygons`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import (
    DirectionKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics import cautions
from refsolver.statics.chapters.cables.cable import (
    drawn_cable,
    drawn_supports,
    end_sheet,
    greatest_for_horizontal,
    no_solution,
    supports_level,
)
from refsolver.statics.chapters.cables.polygons import (
    Beam,
    CableLoad,
    LoadedCable,
    beam_of,
    beam_reaction,
    by_depth,
    by_greatest,
    by_length,
    chord_slope,
    ordered_loads,
    segments_of,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive
from refsolver.statics.naming import keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform, rounded, share_of
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import brought, cross_plane, length, minus

__all__ = ["PointLoads"]


# --- rules ----------------------------------------------------------------------------------


def _farther_support_taken(loads: Sequence[tuple[Number, Number]], span: Number) -> Number:
    return beam_reaction([(weight, span - at) for weight, at in loads], span)


def tension_of(horizontal: Number, upright: Number, ar: Arithmetic) -> Number:
    """T = sqrt(H^2 + V^2)."""
    return ar.sqrt(horizontal * horizontal + upright * upright)


# --- the family ---------------------------------------------------------------------------


def _horizontal_for_all(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["horizontal"], NoAnswer):
        return None
    flat = dict.fromkeys(answers["tensions"], answers["horizontal"])
    return {**answers, "tensions": flat, "greatest": answers["horizontal"]}


def _depth_from_chord(given: LoadedCable) -> LoadedCable | None:
    if given.depth is None or given.depth_from == "chord":
        return None
    return attrs.evolve(given, depth_from="chord")


def _last_left_out(given: LoadedCable) -> LoadedCable | None:
    rest = given.loads[:-1]
    if not rest or (given.depth is not None and given.depth_of not in keys_of(rest, "load")):
        return None
    return attrs.evolve(given, loads=rest)


@register
class PointLoads(Family):
    name = "cables/point-loads"
    title = "A light cable with loads hanging at given places along the span"
    givens = LoadedCable
    answers = {
        "horizontal": Answer(ScalarKind(FORCE), "the horizontal tension, the same in every "
                             "segment", ("no solution",)),
        "tensions": Answer(TableKind(ScalarKind(FORCE), "segment"), "of each segment",
                           ("no solution",)),
        "greatest": Answer(ScalarKind(FORCE), "the greatest tension", ("no solution",)),
        "directions": Answer(TableKind(DirectionKind(2), "segment"),
                             "of each segment from left to right", ("no solution",)),
        "reactions": Answer(TableKind(VectorKind(FORCE, 2), "support"),
                            "of each support on the cable (y up)", ("no solution",)),
        "depths": Answer(TableKind(ScalarKind(LENGTH), "load"),
                         "of each loaded point below the first support", ("no solution",)),
        "lengths": Answer(TableKind(ScalarKind(LENGTH), "segment"), "of each segment",
                          ("no solution",)),
        "length": Answer(ScalarKind(LENGTH), "of the whole cable", ("no solution",)),
    }  # fmt: skip
    rules = {"beam_reaction": beam_reaction, "chord_slope": chord_slope, "tension": tension_of}
    mistakes = (
        supports_level,
        greatest_for_horizontal,
        Mistake("horizontal tension for the tension", "every segment is given the horizontal "
                "tension", answers=_horizontal_for_all),
        Mistake("depth taken for the sag below the chord", "the depth below a support is used "
                "as the sag below the line joining the supports", givens=_depth_from_chord),
        Mistake("distances from the other support", "the moments of the loads take the "
                "distance from the wrong support",
                rules={"beam_reaction": _farther_support_taken}),
        Mistake("last load left out", "the last load of the table is not read",
                givens=_last_left_out),
    )  # fmt: skip
    method = (
        "H s = M, the moment of a beam of the same span at the point with sag s below the chord; "
        "in each segment V = shear of that beam - H rise/span, T = sqrt(H^2 + V^2)"
    )
    second_method = (
        "every loaded point in equilibrium with the segments' pulls resolved by the coordinates; "
        "moments about the second support; the stated quantity found again"
    )
    caution = cautions.CABLES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        beam = beam_of(given, ar, rules)
        horizontal = self._horizontal(given, beam, ar)
        if isinstance(horizontal, str):
            return Solution(no_solution(self.answers, horizontal))
        keys = segments_of(given)
        slopes = {
            key: beam.slope - q / horizontal for key, q in zip(keys, beam.shears, strict=True)
        }
        tensions = {k: rules.tension(horizontal, horizontal * p, ar) for k, p in slopes.items()}
        one = horizontal / horizontal
        left, right = slopes[keys[0]], slopes[keys[-1]]
        runs = dict(zip(keys, beam.runs, strict=True))
        lengths = {key: runs[key] * tensions[key] / horizontal for key in keys}
        whole = lengths[keys[0]]
        for key in keys[1:]:
            whole = whole + lengths[key]
        answers = {
            "horizontal": horizontal,
            "tensions": tensions,
            "greatest": ar.larger(tensions[keys[0]], tensions[keys[-1]], "steeper end"),
            "directions": {key: (one, p) for key, p in slopes.items()},
            "reactions": {
                given.first: (-horizontal, -horizontal * left),
                given.second: (horizontal, horizontal * right),
            },
            "depths": {
                key: beam.moments[key] / horizontal - beam.slope * beam.places[key]
                for key in keys_of(given.loads, "load")
            },
            "lengths": lengths,
            "length": whole,
        }
        sheets = (
            number_sheet("Moments of the beam of the same span", beam.moments, self.method,
                         FORCE * LENGTH),
            number_sheet("Horizontal tension", {"H": horizontal}),
            end_sheet("Segments", slopes, tensions),
            number_sheet("Depths below the first support", answers["depths"], "", LENGTH),
        )  # fmt: skip
        return Solution(answers, sheets)

    def _horizontal(self, given: LoadedCable, beam: Beam, ar: Arithmetic) -> Number | str:
        if given.horizontal is not None:
            return ar.bring(given.horizontal)
        if given.depth is not None:
            return by_depth(given, beam, ar)
        return (by_greatest if given.greatest is not None else by_length)(given, beam, ar)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["horizontal"], NoAnswer):
            return []
        ordered = ordered_loads(given)
        span, rise = brought((given.span, given.rise), ar)
        points = [(0 * span, 0 * span)]
        points += [(ar.bring(load.at), -answers["depths"][key]) for key, load in ordered]
        points.append((span, rise))
        keys = segments_of(given)
        reach = span + ar.size(rise)
        pulls, residuals = [], []
        for key, (a, b) in zip(keys, pairwise(points), strict=True):
            along = minus(b, a)
            long, tension = length(along, ar), answers["tensions"][key]
            pulls.append(tuple(tension / long * x for x in along))
            residuals.append(Residual(f"length of {key}", long - answers["lengths"][key], reach))
            off = cross_plane(answers["directions"][key], pulls[-1])
            size = tension * length(answers["directions"][key], ar)
            residuals.append(Residual(f"direction of {key}", off, size))
        total = answers["tensions"][keys[0]] + answers["tensions"][keys[-1]]
        for (key, load), (before, after) in zip(ordered, pairwise(pulls), strict=True):
            weight = ar.bring(load.weight)
            residuals.append(Residual(f"level pulls at {key}", after[0] - before[0], total))
            residuals.append(
                Residual(f"vertical pulls at {key}", after[1] - before[1] - weight, total)
            )
        residuals += self._ends(given, answers, pulls, total, ar)
        return [*residuals, *self._stated(given, answers, reach, ar)]

    def _ends(
        self, given: LoadedCable, answers: Mapping[str, Value], pulls: Sequence[Any],
        total: Number, ar: Arithmetic,
    ) -> list[Residual]:  # fmt: skip
        span, rise = brought((given.span, given.rise), ar)
        first, second = answers["reactions"][given.first], answers["reactions"][given.second]
        residuals = [
            Residual("horizontal tension", answers["horizontal"] - pulls[0][0], total),
        ]
        for axis in range(2):
            off = first[axis] + pulls[0][axis]
            residuals.append(Residual(f"first support, axis {axis + 1}", off, total))
            off = second[axis] - pulls[-1][axis]
            residuals.append(Residual(f"second support, axis {axis + 1}", off, total))
        moment = first[1] * span - first[0] * rise
        for _, load in ordered_loads(given):
            moment = moment - ar.bring(load.weight) * (span - ar.bring(load.at))
        size = total * (span + ar.size(rise))
        residuals.append(Residual("moments about the second support", moment, size))
        ends = [answers["greatest"] - ar.sqrt(p[0] * p[0] + p[1] * p[1])
                for p in (pulls[0], pulls[-1])]  # fmt: skip
        return [*residuals, Residual("greatest tension", ends[0] * ends[1], total * total)]

    def _stated(
        self, given: LoadedCable, answers: Mapping[str, Value], reach: Number, ar: Arithmetic
    ) -> list[Residual]:
        residuals = []
        whole = answers["length"]
        for part in answers["lengths"].values():
            whole = whole - part
        residuals.append(Residual("sum of the segments", whole, reach + answers["length"]))
        for name in ("horizontal", "greatest", "length"):
            if getattr(given, name) is not None:
                stated = ar.bring(getattr(given, name))
                residuals.append(Residual(f"stated {name}", answers[name] - stated, stated))
        if given.depth is not None:
            at = next(load.at for key, load in ordered_loads(given) if key == given.depth_of)
            span, rise, place = brought((given.span, given.rise, at), ar)
            level = {"first support": 0 * rise, "second support": rise,
                     "chord": rise * place / span}[given.depth_from]  # fmt: skip
            off = ar.bring(given.depth) - level - answers["depths"][given.depth_of]
            size = reach + ar.size(answers["depths"][given.depth_of])
            residuals.append(Residual("stated depth", off, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        span, rise = brought((given.span, given.rise), ar)
        parts: list[Primitive] = []
        if isinstance(answers["horizontal"], NoAnswer):
            parts += drawn_supports(span, rise, (given.first, given.second))
            parts += [Arrow((ar.bring(load.at), 0.0), (0.0, -ar.bring(load.weight)), key)
                      for key, load in ordered_loads(given)]  # fmt: skip
            return Drawing(tuple(parts), "two supports and the loads between them")
        points = [(0.0, 0.0)]
        for key, load in ordered_loads(given):
            points.append((ar.bring(load.at), -answers["depths"][key]))
            parts.append(Arrow(points[-1], (0.0, -ar.bring(load.weight)), key))
        points.append((span, rise))
        parts += drawn_cable(points, answers["reactions"])
        return Drawing(tuple(parts), "a cable with its loads and the forces of its supports")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LoadedCable:
        """A sag that is about 1/kappa of the depth it is left over from."""
        spread = log_uniform(rng, kappa)
        span = decimal(rng.uniform(5, 50), 1)
        loads = _drawn_loads(rng, rng.randint(1, 5), float(span.p) / float(span.q))
        held = rng.choice(loads)
        assert isinstance(held.at, fmpq)
        rise = rounded(span * decimal(rng.uniform(0.2, 1), 2) * rng.choice((-1, 1)), 2)
        sag = max(rise, -rise) * share_of(spread, rng)
        depth = rounded(sag - rise * held.at / span, figures_for(spread) + 4)
        return LoadedCable(span, tuple(loads), rise, depth, held.name)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LoadedCable | None:
        if set(rows) != {"loads"} or rows["loads"] < 1:
            return None
        loads = _drawn_loads(rng, rows["loads"], 40.0)
        return LoadedCable(
            fmpq(40), tuple(loads), decimal(rng.uniform(-5, 5), 1),
            horizontal=decimal(rng.uniform(100, 900), 1),
        )  # fmt: skip


def _drawn_loads(rng: random.Random, count: int, span: float) -> list[CableLoad]:
    """Loads at distinct places, not in their order along the span."""
    steps = sorted(rng.sample(range(1, 100 * count), count))
    loads = [
        CableLoad(
            decimal(rng.uniform(10, 990), 1), decimal(step / (100 * count) * span, 3), f"P{number}"
        )
        for number, step in enumerate(steps, 1)
    ]
    rng.shuffle(loads)
    return loads
