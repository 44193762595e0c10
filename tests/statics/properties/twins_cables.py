"""Cables: part of one hangs as it hung in the whole; a catenary known by its own curve."""

from __future__ import annotations

import random
from typing import Any

from flint import fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Constant, Exact, total
from refsolver.quantities.folding import difference, times
from refsolver.statics.chapters.cables.cable import Station
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import twin

LATER = ("b", "second")
"""What stands beyond the cut."""


@twin("cables/parabolic")
def part_of_a_cable_hangs_as_before(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Cut at a point and held there as the rest held it: y = h x / L - w x (L - x) / (2 H)."""
    span, rise = fmpq(rng.randint(20, 200)), fmpq(rng.randint(-20, 20))
    load, horizontal = fmpq(rng.randint(1, 40), 4), fmpq(rng.randint(10, 999))

    def height(x: fmpq) -> fmpq:
        return rise * x / span - load * x * (span - x) / (2 * horizontal)

    before, cut, after = (span * fmpq(rng.randint(n, n + 2), 10) for n in (1, 4, 7))

    def cable(long: fmpq, up: fmpq, **stations: fmpq) -> Any:
        rows = tuple(Station(at, name) for name, at in stations.items())
        return owner.givens(span=long, load=load, rise=up, horizontal=horizontal, stations=rows)

    whole = cable(span, rise, a=before, b=after)
    left = cable(cut, height(cut), a=before)
    right = cable(span - cut, rise - height(cut), b=after - cut)

    def expect(first: Answers, second: Answers) -> Answers:
        kept = _joined(first, second, "heights")
        lifted = {key: y + evaluate(height(cut)) for key, y in kept.items() if key in LATER}
        return {
            "horizontal": evaluate(horizontal),
            "length": first["length"] + second["length"],
            "heights": kept | lifted,
            "tensions": _joined(first, second, "tensions"),
            "inclinations": _joined(first, second, "inclinations"),
            "reactions": {
                "first": first["reactions"]["first"],
                "second": second["reactions"]["second"],
            },
        }

    return Claim(whole, [(owner, left), (owner, right)], expect)


def _joined(first: Answers, second: Answers, name: str) -> Any:
    """Of the supports and stations that both parts of a cut cable keep of the whole."""
    kept = {key: x for key, x in second[name].items() if key != "first"}
    return {key: x for key, x in first[name].items() if key != "second"} | kept


def _hyperbolic_cosine(x: fmpq) -> Exact:
    return times(fmpq(1, 2), total(Constant("exp", (x,)), Constant("exp", (-x,))))


@twin("cables/catenary")
def an_arc_of_a_known_catenary(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Between two points of y = c cosh(x/c) nothing needs to be solved for."""
    parameter, load = fmpq(rng.randint(4, 400), 4), fmpq(rng.randint(1, 40), 4)
    low, high = -fmpq(rng.randint(2, 15), 10), fmpq(rng.randint(2, 15), 10)
    at = low + (high - low) * fmpq(rng.randint(1, 9), 10)
    rise = times(parameter, difference(_hyperbolic_cosine(high), _hyperbolic_cosine(low)))
    cable = owner.givens(
        span=parameter * (high - low),
        load=load,
        rise=rise,
        horizontal=load * parameter,
        stations=(Station(parameter * (at - low), "S"),),
    )

    def expect() -> Answers:
        c, a, b, s = (evaluate(x) for x in (parameter, low, high, at))
        horizontal, start = evaluate(load) * c, a.cosh()
        return {
            "parameter": c,
            "horizontal": horizontal,
            "least": horizontal,
            "greatest": horizontal * start.max(b.cosh()),
            "length": c * (b.sinh() - a.sinh()),
            "lowest": (-c * a, c * (1 - start)),
            "heights": {
                "first": 0 * c,
                "S": c * (s.cosh() - start),
                "second": c * (b.cosh() - start),
            },
            "tensions": {
                "first": horizontal * start,
                "S": horizontal * s.cosh(),
                "second": horizontal * b.cosh(),
            },
            "inclinations": {"first": a.sinh().atan(), "S": s.sinh().atan(),
                             "second": b.sinh().atan()},
            "reactions": {
                "first": (-horizontal, -horizontal * a.sinh()),
                "second": (horizontal, horizontal * b.sinh()),
            },
        }  # fmt: skip

    return Claim(cable, [], expect)
