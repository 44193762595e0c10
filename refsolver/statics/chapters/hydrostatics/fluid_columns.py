"""Columns of fluids that balance a pressure or each other.

Source of the method: any text of hydrostatics, for instance B. S. Massey, "Mechanics of
Fluids", chapter 2 (from memory): going down by h in a fluid the pressure rises by gamma h,
going up it falls, and at one level of one connected fluid it is the same.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, PRESSURE, SPECIFIC_WEIGHT
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    WeighedFluid,
    density_given,
    gravity_given,
    needs_gravity,
    specific_weight_given,
    weight_of_density,
    weight_of_fluid,
    weight_stated_once,
)
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    one,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing, Primitive, Region
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register

__all__ = ["Balance", "ColumnHeight", "FluidColumn"]


@attrs.frozen
class FluidColumn:
    specific_weight: Exact | None = specific_weight_given()
    density: Exact | None = density_given()
    height: Exact = quantity(
        LENGTH, "from its lower to its upper surface", sign="not negative", default=fmpq(0)
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "a column")


@attrs.frozen
class Balance:
    fluid: WeighedFluid = one(WeighedFluid, "the fluid whose column is asked")
    pressure: Exact = quantity(
        PRESSURE, "that the column balances", sign="not negative", default=fmpq(0)
    )
    columns: tuple[FluidColumn, ...] = many(
        FluidColumn, "columns of other fluids that it balances as well", minimum=0, default=()
    )
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        distinct_names(self.columns, "column")
        needs_gravity((self.fluid, *self.columns), self.gravity)
        if self.pressure == 0 and not self.columns:
            raise ValueError("state a pressure or a column that is to be balanced")


def head_of(pressure: Number, weight: Number) -> Number:
    """h = p / gamma."""
    return pressure / weight


def balanced_pressure(weight: Number, height: Number, own: Number) -> Number:
    """gamma h of a column on the other side."""
    return weight * height


@register
class ColumnHeight(Family):
    name = "hydrostatics/column-height"
    title = "Height of a fluid column that balances a pressure or other columns"
    givens = Balance
    answers = {
        "height": Answer(ScalarKind(LENGTH), "of the column asked"),
        "pressure": Answer(ScalarKind(PRESSURE), "at its foot"),
        "difference": Answer(
            ScalarKind(LENGTH), "heights of the other columns together less that height"
        ),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "head_of": head_of,
        "balanced_pressure": balanced_pressure,
    }
    mistakes = (
        Mistake(
            "weights taken alike",
            "the columns are given equal heights, whatever they weigh",
            rules={"balanced_pressure": lambda weight, height, own: own * height},
        ),
        Mistake(
            "ratio of weights upside down",
            "the height is multiplied by the weight of the column asked over the other's",
            rules={"balanced_pressure": lambda weight, height, own: own * own * height / weight},
        ),
        *DENSITY_MISTAKES,
    )
    method = "p = stated pressure + sum of gamma h of the other columns; height = p / gamma"
    second_method = "each share of the height by ratios of weights, added"
    caution = cautions.GAUGES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        own = weight_of_fluid(given.fluid, given.gravity, ar, rules)
        parts, rows, heights = [ar.bring(given.pressure)], [], []
        for key, column in zip(keys_of(given.columns, "column"), given.columns, strict=True):
            weight = weight_of_fluid(column, given.gravity, ar, rules)
            heights.append(ar.bring(column.height))
            parts.append(rules.balanced_pressure(weight, heights[-1], own))
            rows.append(Row(key, (weight, heights[-1], parts[-1])))
        pressure = sum_of(parts, ar)
        height = rules.head_of(pressure, own)
        rows.append(Row("the column asked", (own, height, pressure)))
        answers = {
            "height": height,
            "pressure": pressure,
            "difference": sum_of(heights, ar) - height,
        }
        columns = (
            Column("gamma", SPECIFIC_WEIGHT),
            Column("h", LENGTH),
            Column("p", PRESSURE),
        )
        return Solution(answers, (Sheet("Columns", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        rules = self.rule_set()
        own = weight_of_fluid(given.fluid, given.gravity, ar, rules)
        share = ar.bring(given.pressure) / own
        others = ar.bring(fmpq(0))
        for column in given.columns:
            ratio = weight_of_fluid(column, given.gravity, ar, rules) / own
            share = share + ratio * ar.bring(column.height)
            others = others + ar.bring(column.height)
        size = share + others
        return [
            Residual("height by ratios", answers["height"] - share, size),
            Residual("pressure", answers["pressure"] - share * own, size * own),
            Residual("difference", answers["difference"] + share - others, size),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        height = answers["height"]
        stack = [("column asked", height)]
        parts: list[Primitive] = []
        wide = 0.15 * max(height, sum(ar.bring(c.height) for c in given.columns), 1e-9)
        for name, tall in stack:
            parts.append(_block(name, 0.0, 0.0, wide, tall))
        level = 0.0
        for key, column in zip(keys_of(given.columns, "column"), given.columns, strict=True):
            parts.append(_block(key, 3 * wide, level, wide, ar.bring(column.height)))
            level += ar.bring(column.height)
        return Drawing(tuple(parts), "The column asked and those it balances, heights to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Balance:
        """Weights alike but for about 1/kappa, so that the difference of the heights is small."""
        target = log_uniform(rng, kappa)
        places = figures_for(target) + 1
        weight = drawn(rng, 5, 15, 2)
        other = weight * (1 + decimal(rng.uniform(0.5, 1) / target, places))
        column = FluidColumn(other, height=drawn(rng, 1, 9))
        return Balance(WeighedFluid(weight), columns=(column,))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Balance | None:
        if set(rows) - {"columns"}:
            return None
        columns = tuple(
            FluidColumn(drawn(rng, 5, 15, 2), height=drawn(rng, 1, 9))
            for _ in range(rows.get("columns", 1))
        )
        return Balance(WeighedFluid(drawn(rng, 5, 15, 2)), fmpq(3), columns)


def _block(name: str, left: float, foot: float, wide: float, tall: float) -> Region:
    right, top = left + wide, foot + tall
    return Region(((left, foot), (right, foot), (right, top), (left, top)), name)
