"""A light cable with hanging loads: the case, and its horizontal tension however stated.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4 (cable
subjected to concentrated loads); the general cable theorem, H times the sag below the
chord is the bending moment of a beam of the same span: C. H. Norris and J. B. Wilbur,
"Elementary Structural Analysis". Both from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.statics.chapters.cables.cable import STATES, checked_stations, stated_one
from refsolver.statics.contract import choice, many, quantity, text
from refsolver.statics.naming import keys_of
from refsolver.statics.vectors import brought

__all__ = [
    "Beam",
    "CableLoad",
    "LoadedCable",
    "beam_of",
    "beam_reaction",
    "by_depth",
    "by_greatest",
    "by_length",
    "chord_slope",
    "ordered_loads",
    "segments_of",
]

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


def ordered_loads(given: LoadedCable) -> list[tuple[str, CableLoad]]:
    """The loads from left to right under their names."""
    pairs = zip(keys_of(given.loads, "load"), given.loads, strict=True)
    return sorted(pairs, key=lambda pair: pair[1].at)


def segments_of(given: LoadedCable) -> list[str]:
    joints = [given.first, *(key for key, _ in ordered_loads(given)), given.second]
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


# --- the horizontal tension, from each way of stating the case ----------------------------


@attrs.frozen
class Beam:
    """The beam of the same span: its shear in each segment, its moment at each load."""

    runs: tuple[Number, ...]
    shears: tuple[Number, ...]
    moments: Mapping[str, Number]
    places: Mapping[str, Number]
    span: Number
    slope: Number


def beam_of(given: LoadedCable, ar: Arithmetic, rules: SimpleNamespace) -> Beam:
    ordered = ordered_loads(given)
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
    return Beam(tuple(runs), tuple(shears), moments, places, span, slope)


def by_depth(given: LoadedCable, beam: Beam, ar: Arithmetic) -> Number | str:
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


def by_greatest(given: LoadedCable, beam: Beam, ar: Arithmetic) -> Number | str:
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


def by_length(given: LoadedCable, beam: Beam, ar: Arithmetic) -> Number | str:
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
