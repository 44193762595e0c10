"""Pressure in fluids at rest: at a depth, under layers, along a manometer.

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
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH, NUMBER, PRESSURE, SPECIFIC_WEIGHT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
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
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing, Primitive, Region
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register

__all__ = ["PressureAlongColumns", "Step", "Steps"]


@attrs.frozen
class Step:
    specific_weight: Exact | None = specific_weight_given()
    density: Exact | None = density_given()
    drop: Exact = quantity(
        LENGTH, "how much lower it ends than it begins; negative where it rises", default=fmpq(0)
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "a column")


@attrs.frozen
class Steps:
    columns: tuple[Step, ...] = many(Step, "the columns in the order walked", ordered=True)
    start: Exact = quantity(PRESSURE, "pressure where the walk begins", default=rational(0))
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        distinct_names(self.columns, "column")
        needs_gravity(self.columns, self.gravity)


def rise_of_pressure(weight: Number, drop: Number, ar: Arithmetic) -> Number:
    """gamma h, negative where the column rises."""
    return weight * drop


def _always_added(weight: Number, drop: Number, ar: Arithmetic) -> Number:
    return weight * ar.size(drop)


def added_to(before: Number, rise: Number) -> Number:
    """The rise along all columns up to the end of one, from that up to its beginning."""
    return before + rise


def _only_the_last(before: Number, rise: Number) -> Number:
    return rise


@register
class PressureAlongColumns(Family):
    name = "hydrostatics/pressure-along-columns"
    title = "Pressure at a depth, under layers, or at the far end of a manometer"
    givens = Steps
    answers = {
        "end": Answer(ScalarKind(PRESSURE), "pressure where the walk ends"),
        "rise": Answer(ScalarKind(PRESSURE), "pressure at the end less that at the start"),
        "ratio": Answer(
            ScalarKind(NUMBER), "pressure at the end over that at the start", ("not defined",)
        ),
        "pressures": Answer(
            TableKind(ScalarKind(PRESSURE), "column"), "pressure where each column ends"
        ),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "rise_of_pressure": rise_of_pressure,
        "added_to": added_to,
    }
    mistakes = (
        Mistake(
            "rising column added",
            "the pressure is raised along every column, also upward",
            rules={"rise_of_pressure": _always_added},
        ),
        Mistake(
            "other columns forgotten",
            "only the last column is counted",
            rules={"added_to": _only_the_last},
        ),
        *DENSITY_MISTAKES,
    )
    method = "p at the end = p at the start + sum of gamma h, h positive downward"
    second_method = (
        "walked back from the end to the start, and all columns turned into heads of the first "
        "fluid"
    )
    caution = cautions.GAUGES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        start = ar.bring(given.start)
        keys = keys_of(given.columns, "column")
        total: Number | None = None
        pressures, rows = {}, []
        for key, column in zip(keys, given.columns, strict=True):
            weight = weight_of_fluid(column, given.gravity, ar, rules)
            drop = ar.bring(column.drop)
            rise = rules.rise_of_pressure(weight, drop, ar)
            total = rise if total is None else rules.added_to(total, rise)
            pressures[key] = start + total
            rows.append(Row(key, (weight, drop, rise, pressures[key])))
        answers: dict[str, Value] = {
            "end": pressures[keys[-1]],
            "rise": pressures[keys[-1]] - start,
            "ratio": NoAnswer("not defined", "the walk starts at no pressure"),
            "pressures": pressures,
        }
        if ar.sign(start, "pressure at the start") != 0:
            answers["ratio"] = answers["end"] / start
        columns = (
            Column("gamma", SPECIFIC_WEIGHT),
            Column("h", LENGTH),
            Column("gamma h", PRESSURE),
            Column("p", PRESSURE),
        )
        return Solution(answers, (Sheet("Columns", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        rules, start = self.rule_set(), ar.bring(given.start)
        weights = [weight_of_fluid(c, given.gravity, ar, rules) for c in given.columns]
        drops = [ar.bring(c.drop) for c in given.columns]
        heads = [h * w / weights[0] for w, h in zip(weights, drops, strict=True)]
        size = sum_of([ar.size(h) for h in heads], ar) * weights[0] + ar.size(start)
        whole = sum_of(heads, ar) * weights[0]
        residuals = [
            Residual("heads of the first fluid", answers["rise"] - whole, size),
            Residual("end", answers["end"] - start - whole, size),
        ]
        here = answers["end"]
        keys = list(answers["pressures"])
        for i in reversed(range(len(keys))):
            there = answers["pressures"][keys[i]]
            residuals.append(Residual(f"back to the end of {keys[i]}", there - here, size))
            here = here - weights[i] * drops[i]
        residuals.append(Residual("back to the start", here - start, size))
        if not isinstance(answers["ratio"], NoAnswer):
            off = answers["ratio"] * start - answers["end"]
            residuals.append(Residual("ratio", off, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        drops = [ar.bring(column.drop) for column in given.columns]
        wide = 0.3 * (sum(map(abs, drops)) or 1.0)
        parts: list[Primitive] = []
        level, left = 0.0, 0.0
        for key, drop in zip(answers["pressures"], drops, strict=True):
            corners = ((left, level), (left + wide, level))
            foot = ((left + wide, level - drop), (left, level - drop))
            parts.append(Region((*corners, *foot), key))
            level, left = level - drop, left + 1.5 * wide
        return Drawing(tuple(parts), "The columns of fluid in the order walked, heights to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Steps:
        """Columns down, and one up that cancels their rise to about 1/kappa."""
        target = log_uniform(rng, kappa)
        columns = [Step(drawn(rng, 5, 15, 2), drop=drawn(rng, 1, 4)) for _ in range(2)]
        whole = sum((c.specific_weight * c.drop for c in columns), fmpq(0))  # type: ignore[operator]
        weight = drawn(rng, 20, 140, 1)
        back = (
            float(whole.p) / float(whole.q) * (1 - 0.9 / target) / float(weight.p) * float(weight.q)
        )
        columns.append(Step(weight, drop=-decimal(back, figures_for(target) + 3)))
        return Steps(tuple(columns), drawn(rng, 0, 3) if rng.random() < 0.3 else fmpq(0))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Steps | None:
        if set(rows) - {"columns"}:
            return None
        return Steps(
            tuple(
                Step(drawn(rng, 5, 15, 2), drop=drawn(rng, 1, 4))
                for _ in range(rows.get("columns", 1))
            )
        )
