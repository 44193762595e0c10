"""Walls under fluids made at random: nearly balanced, or in a stated number of layers."""

from __future__ import annotations

import random
from typing import Any

from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.statics.chapters.hydrostatics.fluids import Fluid
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform

__all__ = ["drawn_layers", "drawn_place"]


def drawn_place(kappa: tuple[float, float], rng: random.Random) -> dict[str, Any]:
    """Front and back fluids alike, their levels apart by about 1/kappa of the depth."""
    target = log_uniform(rng, kappa)
    depth, weight = drawn(rng, 0, 4), drawn(rng, 5, 15, 2)
    above = decimal(rng.uniform(1, 2) / target, figures_for(target))
    fluids: tuple[Fluid, ...] = (Fluid(weight), Fluid(weight, top=above, side="back"))
    if rng.random() < 0.3:
        extra = Fluid(weight + drawn(rng, 1, 5, 2), top=above + drawn(rng, 1, 4), side="front")
        fluids = (*fluids, extra)
    return {"depth": depth, "slope": Turn(drawn(rng, 5, 90) / 360), "fluids": fluids}


def drawn_layers(count: int, rng: random.Random) -> dict[str, Any]:
    """Layers that all press on the surface, each heavier than the one above."""
    fluids = tuple(Fluid(fmpq(6 + 2 * i), top=fmpq(i, 20)) for i in range(count))
    return {"depth": fmpq(count, 20), "slope": Turn(drawn(rng, 20, 90) / 360), "fluids": fluids}
