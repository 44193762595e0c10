"""Polygons turned and bounded by straight lines, cables as strings, ranges cut in two."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import attrs
from flint import arb, fmpq, fmpq_mat

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Constant, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByRun
from refsolver.statics.areas.curves import CurveTerm, Region
from refsolver.statics.areas.shapes import Corner, Polygon
from refsolver.statics.chapters.cables.loaded_strings import HungWeight, KnownSegment
from refsolver.statics.chapters.cables.polygons import CableLoad
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.motions import Motion, Placed, drawn_motion
from tests.statics.properties.twinning import ONE, ZERO, asked, picked, twin

Place = tuple[fmpq, fmpq]


def _drawn_corners(rng: random.Random) -> list[Place]:
    """An angle section, or a triangle, at places of whole eighths."""

    def size() -> fmpq:
        return fmpq(rng.randint(8, 60), 8)

    x, y = (fmpq(rng.randint(-40, 40), 8) for _ in "xy")
    if rng.random() < 0.4:
        return [(x, y), (x + size(), y - size() / 3), (x + size() / 5, y + size())]
    long, tall, thick = size() + 2, size() + 2, fmpq(rng.randint(1, 7), 8)
    return [
        (x, y), (x + long, y), (x + long, y + thick), (x + thick, y + thick),
        (x + thick, y + tall), (x, y + tall),
    ]  # fmt: skip


def _polygon(corners: Sequence[Any]) -> Polygon:
    return Polygon(tuple(Corner(at) for at in corners))


def _turned_moments(found: Answers, motion: Motion, where: str = "") -> Answers:
    """The matrix of second moments about axes turned or mirrored: M R M^T."""
    (a, b), (c, d) = motion.matrix
    xx, yy, xy = (found[f"{where}{n}"] for n in ("I_y", "I_x", "I_xy"))
    return {
        f"{where}I_y": a * a * xx + 2 * a * b * xy + b * b * yy,
        f"{where}I_x": c * c * xx + 2 * c * d * xy + d * d * yy,
        f"{where}I_xy": a * c * xx + (a * d + b * c) * xy + b * d * yy,
    }


@twin("second-moments/composite")
def a_polygon_turned_about_the_origin(owner: Family, given: Any, rng: random.Random) -> Claim:
    corners, motion = _drawn_corners(rng), drawn_motion(Placed(moves=False), rng)
    here = owner.givens(polygons=(_polygon(corners),))
    there = owner.givens(polygons=(_polygon([motion.moved(at) for at in corners]),))
    same = ("area", "polar", "polar k", "centroidal polar", "centroidal polar k")

    def expect(found: Answers) -> Answers:
        return {
            **{name: found[name] for name in same},
            "centroid": motion.moved(found["centroid"]),
            **_turned_moments(found, motion),
            **_turned_moments(found, motion, "centroidal "),
        }

    return Claim(there, [(owner, here)], expect)


@twin("second-moments/section")
def a_polygon_bears_at_its_outermost_corners(
    owner: Family, given: Any, rng: random.Random
) -> Claim:
    corners, motion = _drawn_corners(rng), drawn_motion(Placed(), rng)
    moved = [motion.moved(at) for at in corners]
    here = owner.givens(polygons=(_polygon(corners),))
    there = owner.givens(polygons=(_polygon(moved),))
    same = ("area", "polar", "polar k", "maximum", "minimum")

    def expect(found: Answers) -> Answers:
        x, y = motion.moved(found["centroid"])
        moments = _turned_moments(found, motion)
        far = {
            "c_top": max(at[1] for at in moved) - y,
            "c_bottom": y - min(at[1] for at in moved),
            "c_left": x - min(at[0] for at in moved),
            "c_right": max(at[0] for at in moved) - x,
        }
        return {
            **{name: found[name] for name in same},
            "centroid": (x, y),
            **moments,
            **far,
            **{f"S_x {side}": moments["I_x"] / far[f"c_{side}"] for side in ("top", "bottom")},
            **{f"S_y {side}": moments["I_y"] / far[f"c_{side}"] for side in ("left", "right")},
            "k_x": (moments["I_x"] / found["area"]).sqrt(),
            "k_y": (moments["I_y"] / found["area"]).sqrt(),
        }

    return Claim(there, [(owner, here)], expect)


def _between_lines(rng: random.Random) -> tuple[Region, Polygon]:
    """A region between two straight lines, and the same as a polygon."""
    start = fmpq(rng.randint(-16, 16), 4)
    end = start + fmpq(rng.randint(1, 16), 4)
    low, slope, steeper = (fmpq(rng.randint(-9, 9), 4) for _ in range(3))
    high = low + fmpq(rng.randint(1, 9), 4) - min(steeper * start, steeper * end)
    upper = (CurveTerm(high), CurveTerm(slope + steeper, ONE))
    lower = (CurveTerm(low), CurveTerm(slope, ONE))

    def on(terms: Sequence[CurveTerm], x: fmpq) -> Place:
        return x, terms[0].coefficient + terms[1].coefficient * x  # type: ignore[operator]

    corners = [on(lower, start), on(lower, end), on(upper, end), on(upper, start)]
    return Region(start, end, upper, lower), _polygon(corners)


@twin("second-moments/between-curves", "centroids/between-curves")
def straight_edges_bound_a_polygon(owner: Family, given: Any, rng: random.Random) -> Claim:
    region, polygon = _between_lines(rng)
    here = owner.givens(regions=(region,), reference=ONE)
    other = "second-moments/composite" if "I_x" in owner.answers else "centroids/composite-area"
    names = {name: name for name in owner.answers}
    return Claim(here, [asked(other, polygons=(polygon,))], lambda found: picked(found, names))


def _hung(rng: random.Random) -> tuple[dict[str, Any], dict[str, Any]]:
    """A cable of stated sag, and the same as a string of two known directions and lengths."""
    count = rng.randint(2, 4)
    steps = [fmpq(rng.randint(4, 40), 4) for _ in range(count + 1)]
    span, rise = sum(steps, ZERO), fmpq(rng.randint(-12, 12), 4)
    places = [sum(steps[: n + 1], ZERO) for n in range(count)]
    weights = [fmpq(rng.randint(1, 99)) for _ in places]
    shear = sum((w * (span - x) for w, x in zip(weights, places, strict=True)), ZERO) / span
    sag = span / rng.randint(3, 12)
    horizontal = shear * places[0] / sag
    slopes = []
    for weight in (*weights, ZERO):
        slopes.append(rise / span - shear / horizontal)
        shear -= weight
    names = "abcd"[:count]
    cable = {
        "span": span,
        "rise": rise,
        "loads": tuple(CableLoad(w, x, n) for w, x, n in zip(weights, places, names, strict=True)),
        "depth": sag,
        "depth_of": "a",
        "depth_from": "chord",
    }
    known = [KnownSegment(n, ByRun((ONE, slopes[n - 1]))) for n in (1, count + 1)]
    string = {
        "weights": tuple(HungWeight(w, n) for w, n in zip(weights, names, strict=True)),
        "known": known[0],
        "other": known[1],
        "lengths": tuple(
            Constant("sqrt", (run * run * (1 + p * p),))
            for run, p in zip(steps, slopes, strict=True)
        ),
    }
    return cable, string


@twin("cables/point-loads", "cables/weights-on-a-string")
def a_cable_is_a_string_of_known_ends(owner: Family, given: Any, rng: random.Random) -> Claim:
    cable, string = _hung(rng)
    here = asked("cables/point-loads", **cable)
    there = asked("cables/weights-on-a-string", **string)
    names = {name: name for name in ("horizontal", "tensions", "directions", "reactions")}
    ends = (evaluate(cable["span"]), evaluate(cable["rise"]))
    sizes = [evaluate(x) for x in string["lengths"]]

    def of_cable(found: Answers) -> Answers:
        lengths = dict(zip(found["tensions"], sizes, strict=True))
        return {**picked(found, names), "lengths": lengths, "length": sum(sizes)}

    def of_string(found: Answers) -> Answers:
        return {**picked(found, names), "second_end": ends}

    if owner is here[0]:
        return Claim(here[1], [there], of_cable)
    return Claim(there[1], [here], of_string)


@twin("virtual-work/equilibrium-positions")
def a_range_cut_in_two(owner: Family, given: Any, rng: random.Random) -> Claim:
    """No position is lost or found twice where one range of angles ends and the next begins."""
    start, end = given.start.turns, given.end.turns
    between = Turn(start + (end - start) * fmpq(rng.randint(5, 32), 37))
    cut = [attrs.evolve(given, end=between), attrs.evolve(given, start=between)]

    def expect(first: Answers, second: Answers) -> Answers:
        if any(isinstance(found["positions"], NoAnswer) for found in (first, second)):
            return {}
        return {
            "positions": [*first["positions"], *second["positions"]],
            "count": first["count"] + second["count"],
        }

    return Claim(given, [(owner, one) for one in cut], expect)


@twin("trusses/plane-truss", "trusses/space-truss")
def as_stiff_as_its_elongations_say(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """What no member and no support resists is free to move (rank of the elongations)."""
    rows = _elongations(given)
    if rows is None:
        return None
    width = len(rows[0])
    rank = fmpq_mat(rows).rank()

    def expect() -> Answers:
        return {"degree": arb(len(rows) - rank), "free_motions": arb(width - rank)}

    return Claim(given, [], expect)


def _elongations(given: Any) -> list[list[fmpq]] | None:
    """Of each member and support by unit velocities of the joints; None where not rational."""
    places = {joint.name: joint.at for joint in given.joints}
    if any(at is None or not all(isinstance(x, fmpq) for x in at) for at in places.values()):
        return None
    numbers = {name: number for number, name in enumerate(places)}
    space = len(next(iter(places.values())))

    def row(*ends: tuple[str, Sequence[Any]]) -> list[fmpq]:
        found = [fmpq(0)] * (space * len(numbers))
        for joint, along in ends:
            for i, x in enumerate(along):
                found[space * numbers[joint] + i] += x
        return found

    rows = []
    for member in given.members:
        ends = zip(places[member.start], places[member.end], strict=True)
        run = [b - a for a, b in ends]
        rows.append(row((member.end, run), (member.start, [-x for x in run])))
    for support in given.supports:
        axes = [[fmpq(int(i == j)) for j in range(space)] for i in range(space)]
        if support.direction is not None:
            run = getattr(support.direction, "run", None)
            if run is None or not all(isinstance(x, fmpq) for x in run):
                return None
            axes = [list(run)]
        rows += [row((support.joint, along)) for along in axes]
    return rows
