"""Loads per area collected over an area: the load that one joint, truss or beam receives.

Source of the method: common practice of roof and floor loads, for instance F. E. Kidder,
"Building Construction and Superintendence", Part III (1906): load = load per area times the
area that belongs to the part.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import AREA, FORCE, LENGTH, PRESSURE
from refsolver.quantities.kinds import ScalarKind, TableKind, Value
from refsolver.statics import cautions
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
    quantities,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing, Primitive, Region
from refsolver.statics.forces.moment_rules import listed
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register


@attrs.frozen
class Patch:
    loads: tuple[Exact, ...] = quantities(PRESSURE, "the loads per area that act on it together")
    area: Exact | None = quantity(AREA, "its area", default=None)
    length: Exact | None = quantity(LENGTH, "its length, where no area is stated", default=None)
    width: Exact | None = quantity(LENGTH, "its width, where no area is stated", default=None)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        stated = tuple(side is not None for side in (self.area, self.length, self.width))
        if stated not in ((True, False, False), (False, True, True)):
            raise ValueError("state either the area, or the length and the width")


@attrs.frozen
class Patches:
    patches: tuple[Patch, ...] = many(Patch, "the areas with their loads")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.patches, "area")


def combined(loads: Sequence[Number], ar: Arithmetic) -> Number:
    """All loads per area that act together."""
    return sum_of(loads, ar)


def first_load_only(loads: Sequence[Number], ar: Arithmetic) -> Number:
    return loads[0]


@register
class AreaLoad(Family):
    name = "distributed-loads/area-load"
    title = "Load collected from an area"
    givens = Patches
    reach = (1.0, 3.0)
    reach_because = "sums of products of three positive numbers at most"
    answers = {
        "total": Answer(ScalarKind(FORCE), "the load of all areas together"),
        "forces": Answer(TableKind(ScalarKind(FORCE), "area"), "the load of each area"),
        "intensities": Answer(
            TableKind(ScalarKind(PRESSURE), "area"), "the whole load per area on each"
        ),
    }
    rules = {"combined": combined}
    mistakes = (
        Mistake(
            "only one kind of load",
            "only the first load per area is counted, not all that act together",
            {"combined": first_load_only},
        ),
    )
    method = "F = (p_1 + p_2 + ...) A for each area, A = length times width"
    second_method = "each kind of load carried to the area by itself, and all the forces added"
    caution = cautions.LOADS_ON_AREAS

    def solve(self, given: Patches, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.patches, "area")
        areas = [_area(patch, ar) for patch in given.patches]
        loads = [rules.combined([ar.bring(p) for p in patch.loads], ar) for patch in given.patches]
        forces = [p * a for p, a in zip(loads, areas, strict=True)]
        answers = {
            "total": sum_of(forces, ar),
            "forces": listed(keys, forces),
            "intensities": listed(keys, loads),
        }
        sheet = Sheet(
            "Areas and loads",
            (Column("p", PRESSURE), Column("A", AREA), Column("F", FORCE)),
            (
                *(
                    Row(key, tuple(cells))
                    for key, *cells in zip(keys, loads, areas, forces, strict=True)
                ),
                Row("sum", (None, None, answers["total"])),
            ),
            self.method,
        )
        return Solution(answers, (sheet,))

    def check(
        self, given: Patches, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        residuals, every = [], []
        for key, patch in zip(answers["forces"], given.patches, strict=True):
            if patch.area is None:
                strips = [ar.bring(p) * ar.bring(patch.width) for p in patch.loads]  # type: ignore[arg-type]
                carried = [strip * ar.bring(patch.length) for strip in strips]  # type: ignore[arg-type]
                area = ar.bring(patch.length) * ar.bring(patch.width)  # type: ignore[arg-type]
            else:
                area = ar.bring(patch.area)
                carried = [ar.bring(p) * ar.bring(patch.area) for p in patch.loads]
            size = sum_of([ar.size(f) for f in carried], ar)
            residuals.append(
                Residual(f"load of {key}", sum_of(carried, ar) - answers["forces"][key], size)
            )
            spread = answers["intensities"][key] * area
            residuals.append(Residual(f"spread over {key}", sum_of(carried, ar) - spread, size))
            every += carried
        size = sum_of([ar.size(f) for f in every], ar)
        residuals.append(Residual("all loads", sum_of(every, ar) - answers["total"], size))
        return residuals

    def figure(self, given: Patches, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        left = 0.0
        for key, patch in zip(answers["forces"], given.patches, strict=True):
            area = _area(patch, ar)
            length = ar.sqrt(ar.size(area)) if patch.length is None else ar.bring(patch.length)
            width = area / length if length else 0.0
            corners = ((left, 0.0), (left + length, 0.0), (left + length, width), (left, width))
            parts.append(Region(corners, key))
            left += 1.1 * length
        caption = (
            f"{len(given.patches)} loaded areas side by side, to scale; one stated without its "
            "sides is drawn as a square"
        )
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Patches:
        """Random areas; sums of loads of one sign are well conditioned whatever is asked."""
        return self.filled({"patches": rng.randint(1, 6)}, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Patches:
        return Patches(
            tuple(
                Patch(
                    tuple(drawn(rng, 1, 60) for _ in range(rng.randint(1, 4))),
                    length=drawn(rng, 1, 30, 2),
                    width=drawn(rng, 1, 20, 2),
                )
                for _ in range(rows.get("patches", 1))
            )
        )


def _area(patch: Patch, ar: Arithmetic) -> Number:
    if patch.area is not None:
        return ar.bring(patch.area)
    assert patch.length is not None and patch.width is not None
    return ar.bring(patch.length) * ar.bring(patch.width)
