"""Beams made at random: of a stated difficulty, or with stated numbers of rows."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from flint import fmpq

from refsolver.quantities.leaves import Components
from refsolver.statics.chapters.beams.beam import (
    Beam,
    BeamCouple,
    BeamForce,
    BeamHinge,
    BeamLineLoad,
    BeamSupport,
)
from refsolver.statics.random_givens import decimal, figures_for, log_uniform

__all__ = [
    "beam_with_rows",
    "couple_sample",
    "force_sample",
    "line_sample",
    "overhanging_beam",
]


def _fraction_of(length: fmpq, rng: random.Random) -> fmpq:
    return length * rng.randint(1, 99) / 100


def force_sample(length: fmpq, rng: random.Random) -> BeamForce:
    parts = (fmpq(rng.randint(-99, 99)), fmpq(-rng.randint(10, 990)))
    return BeamForce(Components(parts), _fraction_of(length, rng))


def couple_sample(length: fmpq, rng: random.Random) -> BeamCouple:
    moment = fmpq(rng.choice((-1, 1)) * rng.randint(10, 990))
    return BeamCouple(moment, length * (2 * rng.randint(1, 49) + 1) / 101)


def line_sample(length: fmpq, rng: random.Random) -> BeamLineLoad:
    start = length * rng.randint(0, 60) / 100
    end = start + length * rng.randint(10, 40) / 100
    return BeamLineLoad(
        start, end, tuple(fmpq(rng.randint(1, 99)) for _ in range(rng.randint(1, 2)))
    )


def _loads(length: fmpq, count: int, rng: random.Random) -> dict[str, Any]:
    found: dict[str, list[Any]] = {"forces": [], "couples": [], "line_loads": []}
    for _ in range(count):
        field, make = rng.choice(
            (("forces", force_sample), ("couples", couple_sample), ("line_loads", line_sample))
        )
        found[field].append(make(length, rng))
    return {field: tuple(items) for field, items in found.items()}


def overhanging_beam(kappa: tuple[float, float], rng: random.Random) -> Beam:
    """An overhanging beam: the closer its supports, the larger the condition number."""
    spread = log_uniform(rng, kappa)
    places_ = figures_for(kappa[1])
    length = decimal(rng.uniform(4, 20), 1)
    first = decimal(rng.uniform(0, 0.3) * float(length.p) / float(length.q), 1)
    room = length - first
    apart = decimal(float(room.p) / float(room.q) / spread, places_)
    supports = (
        BeamSupport("pin", first, name="A"),
        BeamSupport("roller", min(first + apart, length), name="B"),
    )
    return Beam(length, supports, **_loads(length, rng.randint(1, 4), rng))


def beam_with_rows(rows: Mapping[str, int], rng: random.Random) -> Beam | None:
    """One support fixed, two simple, or one more for every hinge."""
    hinges = rows.get("hinges", 0)
    supports = rows.get("supports", 2 + hinges)
    if supports - hinges not in (1, 2):
        return None
    length = fmpq(10 * (hinges + 1))
    held = (
        [BeamSupport("fixed", fmpq(0), name="A")]
        if supports - hinges == 1
        else [BeamSupport("pin", fmpq(0), name="A"), BeamSupport("roller", fmpq(8), name="B")]
    )
    held += [BeamSupport("roller", fmpq(10 * i + 8), name=f"C{i}") for i in range(1, hinges + 1)]
    loads = _loads(length, 0, rng)
    for field, make in (
        ("forces", force_sample),
        ("couples", couple_sample),
        ("line_loads", line_sample),
    ):
        count = rows.get(field, 0)
        loads[field] = tuple(make(length, rng) for _ in range(count))
    joints = tuple(BeamHinge(fmpq(10 * i)) for i in range(1, hinges + 1))
    return Beam(length, tuple(held), joints, **loads)
