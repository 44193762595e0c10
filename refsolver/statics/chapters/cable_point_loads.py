"""A light cable with hanging loads between two supports: a polygon of straight segments.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4 (cable
subjected to concentrated loads); the general cable theorem, H times the sag below the
chord is the bending moment of a beam of the same span: C. H. Norris and J. B. Wilbur,
"Elementary Structural Analysis". Both from memory.
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
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import (
    DirectionKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics.cables import (
    CAUTION,
    STATES,
    checked_stations,
    drawn_cable,
    drawn_supports,
    end_sheet,
    greatest_for_horizontal,
    no_solution,
    stated_one,
    supports_level,
)
from refsolver.statics.chapters.components import number_sheet
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive
from refsolver.statics.naming import keys_of
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import brought, cross_plane, length, minus

__all__ = ["CableLoad", "LoadedCable", "PointLoads"]

_STATED = ("depth", "horizontal", "greatest", "length")
_FROM = ("first support", "second support", "chord")


@attrs.frozen
class CableLoad:
    weight: Exact = quantity(FORCE, "the load, acting down", sign="positive")
    at: fmpq = quantity(LENGTH, "horizontal distance from the first support", sign="positive")
    name: str = text("what its point of the cable is called")


@attrs.frozen
class LoadedCable:
    span: fmpq = quantity(LENGTH, "horizontal distance of the supports", sign="positive")
    loads: tuple[CableLoad, ...] = many(CableLoad, "the loads")
    rise: Exact = quantity(
        LENGTH, "of the second support above the first (negative: below)", default=fmpq(0)
    )
    depth: Exact | None = quantity(
        LENGTH, "of one load's point, measured down; or state another of these four", default=None
    )
    depth_of: str = text("the load whose depth is stated")
    depth_from: str = choice(_FROM, "the level that depth is measured from", default=_FROM[0])
    horizontal: Exact | None = quantity(
        FORCE, "the horizontal tension", sign="positive", default=None
    )
    greatest: Exact | None = quantity(FORCE, "the greatest tension", sign="positive", default=None)
    length: Exact | None = quantity(
        LENGTH, "of the whole cable between its supports", sign="positive", default=None
    )
    state: str = choice(STATES, "which of two states with one greatest tension", default=STATES[0])
    first: str = text("name of the first support", default="first")
    second: str = text("name of the second support", default="second")

    def __attrs_post_init__(self) -> None:
        stated = stated_one(self, _STATED)
        if self.state != STATES[0] and stated != "greatest":
            raise ValueError("a 'deeper' state is a matter of a stated greatest tension only")
        keys = keys_of(self.loads, "load")
        if stated == "depth" and self.depth_of not in keys:
            raise ValueError(f"'depth_of' names one of the loads {', '.join(keys)}")
        for place in (self.span, *(load.at for load in self.loads)):
            if not isinstance(place, fmpq):
                raise ValueError("the span and the places of the loads are rational numbers")
        checked_stations(self.loads, self.span, (self.first, self.second), "load")
        places = [load.at for load in self.loads]
        if len(set(places)) < len(places) or self.span in places:
            raise ValueError("two loads at one place, or one at a support: state their sum there")


def _ordered(given: LoadedCable) -> list[tuple[str, CableLoad]]:
    """The loads from left to right under their names."""
    pairs = zip(keys_of(given.loads, "load"), given.loads, strict=True)
    return sorted(pairs, key=lambda pair: pair[1].at)


def _segments(given: LoadedCable) -> list[str]:
    joints = [given.first, *(key for key, _ in _ordered(given)), given.second]
    return [f"{a}-{b}" for a, b in pairwise(joints)]


# --- rules --------------------------------------------------------------------------------


def beam_reaction(loads: Sequence[tuple[Number, Number]], span: Number) -> Number:
    """Of the first support of a beam with these loads: sum of W (L - x) / L."""
    total = 0 * span
    for weight, at in loads:
        total = total + weight * (span - at) / span
    return total


def chord_slope(rise: Number, span: Number) -> Number:
    """Rise over run of the line joining the supports."""
    return rise / span


def _farther_support_taken(loads: Sequence[tuple[Number, Number]], span: Number) -> Number:
    return beam_reaction([(weight, span - at) for weight, at in loads], span)


def tension_of(horizontal: Number, upright: Number, ar: Arithmetic) -> Number:
    """T = sqrt(H^2 + V^2)."""
    return ar.sqrt(horizontal * horizontal + upright * upright)


# --- the horizontal tension, from each way of stating the case ----------------------------


@attrs.frozen
class _Beam:
    """The beam of the same span: its shear in each segment, its moment at each load."""

    runs: tuple[Number, ...]
    shears: tuple[Number, ...]
    moments: Mapping[str, Number]
    places: Mapping[str, Number]
    span: Number
    slope: Number


def _beam(given: LoadedCable, ar: Arithmetic, rules: SimpleNamespace) -> _Beam:
    ordered = _ordered(given)
    span, rise = brought((given.span, given.rise), ar)
    loads = [brought((load.weight, load.at), ar) for _, load in ordered]
    shear = rules.beam_reaction(loads, span)
    last, moment = 0 * span, 0 * span * shear
    runs, shears, moments, places = [], [shear], {}, {}
    for (key, _), (weight, at) in zip(ordered, loads, strict=True):
        runs.append(at - last)
        moment = moment + shear * (at - last)
        shear, last = shear - weight, at
        moments[key], places[key] = moment, at
        shears.append(shear)
    runs.append(span - last)
    slope = rules.chord_slope(rise, span)
    return _Beam(tuple(runs), tuple(shears), moments, places, span, slope)


def _by_depth(given: LoadedCable, beam: _Beam, ar: Arithmetic) -> Number | str:
    depth = ar.bring(given.depth) if given.depth is not None else 0 * beam.span
    chord = beam.slope * beam.places[given.depth_of]
    sag = depth
    if given.depth_from != "chord":
        sag = depth + chord
    if given.depth_from == "second support":
        sag = sag - beam.slope * beam.span
    if ar.sign(sag, f"sag of {given.depth_of} below the chord") <= 0:
        return "that point would not hang below the line joining the supports"
    return beam.moments[given.depth_of] / sag


def _by_greatest(given: LoadedCable, beam: _Beam, ar: Arithmetic) -> Number | str:
    """Both ends bear at most T for H within an interval each: its ends are the states.

    T^2 = H^2 + (r -+ m H)^2 at the first and the second support, r the beam's reaction.
    """
    assert given.greatest is not None
    greatest, m = ar.bring(given.greatest), beam.slope
    lows, highs = [], []
    ends = ((beam.shears[0], -m), (-beam.shears[-1], m))
    for number, (reaction, lift) in enumerate(ends, 1):
        square = (1 + m * m) * greatest * greatest - reaction * reaction
        if ar.sign(square, f"support {number} can bear its share") < 0:
            return "no cable with these loads has so small a greatest tension"
        root = ar.sqrt(square)
        highs.append((root - lift * reaction) / (1 + m * m))
        lows.append((-root - lift * reaction) / (1 + m * m))
    high = -ar.larger(-highs[0], -highs[1], "steeper end of the flatter state")
    low = ar.larger(lows[0], lows[1], "steeper end of the deeper state")
    if ar.sign(high, "a flatter state") <= 0 or ar.sign(high - low, "room between states") < 0:
        return "no cable with these loads has so small a greatest tension"
    if given.state == STATES[0]:
        return high
    if ar.sign(low, "a deeper state") <= 0:
        return "there is no deeper state with this greatest tension"
    return low


def _by_length(given: LoadedCable, beam: _Beam, ar: Arithmetic) -> Number | str:
    """The length is convex in 1/H and stationary at the chord: one root beyond it.

    Each segment is longer than its rise, so the length exceeds the sum of a |q| / H less
    the rise of the chord, which bounds 1/H from above.
    """
    assert given.length is not None
    whole, m = ar.bring(given.length), beam.slope
    excess = whole * whole - beam.span * beam.span * (1 + m * m)
    if ar.sign(excess, "cable beyond the chord") <= 0:
        return "the cable does not exceed the distance of its supports"
    drop = 0 * whole
    for run, shear in zip(beam.runs, beam.shears, strict=True):
        drop = drop + run * ar.size(shear) / beam.span
    bound = (whole / beam.span + ar.size(m)) / drop
    pieces = list(zip(beam.runs, beam.shears, strict=True))

    def too_long(share: Number) -> Number:
        total = -whole
        for run, shear in pieces:
            slope = m - shear * bound * share
            total = total + run * ar.sqrt(1 + slope * slope)
        return total

    def slope_of_that(share: Number) -> Number:
        total = 0 * whole
        for run, shear in pieces:
            slope = m - shear * bound * share
            total = total - run * slope * shear * bound / ar.sqrt(1 + slope * slope)
        return total

    share = ar.root(too_long, slope_of_that, (fmpq(0), fmpq(1)), "inverse of the tension")
    return 1 / (share * bound)


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
    caution = CAUTION

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        beam = _beam(given, ar, rules)
        horizontal = self._horizontal(given, beam, ar)
        if isinstance(horizontal, str):
            return Solution(no_solution(self.answers, horizontal))
        keys = _segments(given)
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
                key: moment / horizontal - beam.slope * beam.places[key]
                for key, moment in beam.moments.items()
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

    def _horizontal(self, given: LoadedCable, beam: _Beam, ar: Arithmetic) -> Number | str:
        if given.horizontal is not None:
            return ar.bring(given.horizontal)
        if given.depth is not None:
            return _by_depth(given, beam, ar)
        return (_by_greatest if given.greatest is not None else _by_length)(given, beam, ar)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["horizontal"], NoAnswer):
            return []
        ordered = _ordered(given)
        span, rise = brought((given.span, given.rise), ar)
        points = [(0 * span, 0 * span)]
        points += [(ar.bring(load.at), -answers["depths"][key]) for key, load in ordered]
        points.append((span, rise))
        keys = _segments(given)
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
        for _, load in _ordered(given):
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
            at = next(load.at for key, load in _ordered(given) if key == given.depth_of)
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
                      for key, load in _ordered(given)]  # fmt: skip
            return Drawing(tuple(parts), "two supports and the loads between them")
        points = [(0.0, 0.0)]
        for key, load in _ordered(given):
            points.append((ar.bring(load.at), -answers["depths"][key]))
            parts.append(Arrow(points[-1], (0.0, -ar.bring(load.weight)), key))
        points.append((span, rise))
        parts += drawn_cable(points, answers["reactions"])
        return Drawing(tuple(parts), "a cable with its loads and the forces of its supports")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> LoadedCable:
        """A sag that is about 1/kappa of the depth it is left over from."""
        spread = log_uniform(rng, kappa)
        places = 3 + max(0, math.ceil(math.log10(kappa[1])))
        span = rng.uniform(5, 50)
        loads = _drawn_loads(rng, rng.randint(1, 5), span)
        held = rng.choice(loads)
        rise = rng.uniform(0.2, 1) * span * rng.choice((-1, 1))
        sag = abs(rise) / spread
        depth = sag - rise * float(held.at.p) / float(held.at.q) / span
        return LoadedCable(
            decimal(span, 2), tuple(loads), decimal(rise, places), decimal(depth, places),
            held.name,
        )  # fmt: skip

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
