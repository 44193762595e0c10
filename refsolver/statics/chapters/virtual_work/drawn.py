"""Figures of a mechanism and random ones to try a question with."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.statics.chapters.virtual_work.energy import positions
from refsolver.statics.chapters.virtual_work.mechanism import (
    BarCouple,
    Cord,
    LinkSpring,
    Mechanism,
    MovingPoint,
    PointForce,
    TorsionSpring,
    keys_of_parts,
    links_of,
)
from refsolver.statics.drawing import Arrow, Mark, Primitive, Stroke
from refsolver.statics.random_givens import decimal
from refsolver.statics.vectors import vector

__all__ = ["drawn_mechanism", "mechanism_with_rows", "two_bars", "weight"]


def drawn_mechanism(
    given: Mechanism, angle: float, ar: Arithmetic, caption: str
) -> list[Primitive]:
    """Points, links and known forces at an angle in radians, the path of each point behind."""
    parts: list[Primitive] = []
    places = positions(given.points, math.cos(angle), math.sin(angle), ar)
    keys = keys_of_parts(given)
    for name, at in places.items():
        parts.append(Mark(at, name))
        origin = next(p for p in given.points if p.name == name)
        fixed = (ar.bring(origin.place[0]), ar.bring(origin.place[1]))
        if fixed != at:
            parts.append(Stroke(fixed, at, "", "construction"))
    for key, link in zip([*keys["springs"], *keys["cords"]], links_of(given), strict=True):
        parts.append(Stroke(places[link.start], places[link.end], key))
    for key, load in zip(keys["forces"], given.forces, strict=True):
        parts.append(Arrow(places[load.at], vector(load.force, ar), key))
    return parts or [Mark((0.0, 0.0), caption)]


def weight(size: Any) -> Components:
    """A force straight down."""
    return Components((fmpq(0), -size))


def two_bars(rng: random.Random, *, torsion: bool) -> dict[str, Any]:
    """Two equal bars from a pin to a slider, weights at their middles, a spring on the slider."""
    bar = decimal(rng.uniform(0.2, 2), 2)
    load = decimal(rng.uniform(20, 200), 1)
    points = (
        MovingPoint("pin"),
        MovingPoint("knee", cosine=(bar, fmpq(0)), sine=(fmpq(0), bar)),
        MovingPoint("slider", cosine=(2 * bar, fmpq(0))),
        MovingPoint("middle", cosine=(bar / 2, fmpq(0)), sine=(fmpq(0), bar / 2)),
    )
    forces = (
        PointForce("knee", weight(load), "load"),
        PointForce("middle", weight(decimal(rng.uniform(1, 20), 1)), "bar"),
    )
    springs = (
        LinkSpring(
            "pin", "slider", decimal(rng.uniform(50, 900), 1),
            decimal(rng.uniform(0.2, 1.2), 2) * bar, "spring",
        ),
    )  # fmt: skip
    relaxed = Turn(decimal(rng.uniform(10, 80), 0) / 360)
    twist = TorsionSpring(decimal(rng.uniform(5, 90), 1), relaxed)
    twists = (twist,) if torsion else ()
    return {"points": points, "forces": forces, "springs": springs, "torsion_springs": twists}


def with_knee_load(tables: Mapping[str, Any], load: fmpq) -> dict[str, Any]:
    """The two bars with another weight on the knee."""
    return {**tables, "forces": (PointForce("knee", weight(load), "load"), *tables["forces"][1:])}


_TABLES = ("points", "forces", "couples", "springs", "cords", "torsion_springs")


def mechanism_with_rows(rows: Mapping[str, int], rng: random.Random) -> dict[str, Any] | None:
    """Tables with these numbers of rows, every point with a force of its own."""
    if not rows or set(rows) - set(_TABLES) or min(rows.values()) < 1:
        return None
    count = rows.get("points", min(2, rows.get("forces", 2)))
    forces = rows.get("forces", count)
    links = rows.get("springs", 0) + rows.get("cords", 0)
    if forces < count or (links and count < 2):
        return None

    def number(low: float, high: float) -> fmpq:
        return decimal(rng.uniform(low, high), 1)

    def ends(i: int) -> tuple[str, str]:
        return f"P{i % count + 1}", f"P{(i + 1) % count + 1}"

    points = [
        MovingPoint(
            f"P{i + 1}",
            (number(5, 9) * i, number(1, 3)),
            (number(1, 2), number(0.1, 1)),
            (number(0.1, 1), number(1, 2)),
        )
        for i in range(count)
    ]
    turn = [ByAngle(Turn(number(200, 340) / 360)) for _ in range(forces)]
    return {
        "points": tuple(points),
        "forces": tuple(
            PointForce(f"P{i % count + 1}", Polar(number(10, 90), turn[i])) for i in range(forces)
        ),
        "couples": tuple(BarCouple(number(1, 3)) for _ in range(rows.get("couples", 0))),
        "springs": tuple(
            LinkSpring(*ends(i), number(5, 9), number(1, 2)) for i in range(rows.get("springs", 0))
        ),
        "cords": tuple(Cord(*ends(i), number(1, 9)) for i in range(rows.get("cords", 0))),
        "torsion_springs": tuple(
            TorsionSpring(number(0.5, 1)) for _ in range(rows.get("torsion_springs", 0))
        ),
    }
