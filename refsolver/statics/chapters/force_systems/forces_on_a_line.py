"""Parallel forces at places along one line."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.statics.contract import quantity, text
from refsolver.statics.drawing import Arrow, Mark, Primitive, Stroke
from refsolver.statics.naming import keys_of
from refsolver.statics.random_givens import drawn

__all__ = ["OnLine", "drawn_loads", "drawn_on_line", "drawn_sizes"]


@attrs.frozen
class OnLine:
    force: Exact = quantity(FORCE, "its size; negative where it acts the other way")
    at: Exact = quantity(LENGTH, "where it acts along the line")
    name: str = text("what it is called")


def drawn_on_line(forces: Sequence[Any], ar: Arithmetic) -> list[Primitive]:
    places = [ar.bring(item.at) for item in forces]
    parts: list[Primitive] = [
        Stroke((min([*places, 0.0]), 0.0), (max([*places, 0.0]), 0.0)),
        Mark((0.0, 0.0), "origin"),
    ]
    for key, item, x in zip(keys_of(forces, "force"), forces, places, strict=True):
        parts.append(Arrow((x, 0.0), (0.0, -ar.bring(item.force)), key, pushes=True))
    return parts


def drawn_sizes(rng: random.Random, count: int) -> list[fmpq]:
    """Sizes of forces, about a third of them the other way."""
    return [rng.choice((-1, 1, 1)) * drawn(rng, 10, 990) for _ in range(count)]


def drawn_loads(rng: random.Random, sizes: Sequence[fmpq]) -> tuple[OnLine, ...]:
    return tuple(OnLine(size, drawn(rng, -10, 10, 2)) for size in sizes)
