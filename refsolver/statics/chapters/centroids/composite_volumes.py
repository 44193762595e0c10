"""Centroids of composite solids, and mass centres of bodies put together from parts.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 7 (centroids of three-dimensional objects).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import (
    FORCE,
    LENGTH,
    MASS,
    VOLUME,
    Dimension,
)
from refsolver.quantities.kinds import (
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics.chapters.centroids.solid_givens import MassGivens, SolidGivens, WeightGivens
from refsolver.statics.chapters.centroids.solid_mistakes import SOLID_MISTAKES, weighted
from refsolver.statics.chapters.centroids.solid_samples import hollow_rows, solid_row, solid_strokes
from refsolver.statics.chapters.centroids.solid_slices import sliced
from refsolver.statics.chapters.centroids.solids import (
    SHAPES,
    SOLID_TABLE,
    named_solids,
    solids_of,
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
)
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import named_rows
from refsolver.statics.random_givens import drawn, drawn_point, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, brought


class _Bodies(Family):
    """Shared: what is summed differs (volume, mass or weight), not how."""

    total: ClassVar[str]
    plural: ClassVar[str]
    """The names of the sum and of the table of its parts."""
    dimension: ClassVar[Dimension]
    rules = {**SOLID_TABLE, "weighted": weighted}
    second_method = (
        "each round part by the prismoidal formula (end, middle, other end), straight-edged ones "
        "as polyhedra by the tetrahedra on their faces"
    )

    def _lumps(self, given: Any) -> Sequence[Any]:
        return getattr(given, "lumps", ())

    def _weight(self, row: Any, volume: Number, ar: Arithmetic, rules: SimpleNamespace) -> Number:
        density = getattr(row, "density", None)
        return volume if density is None else rules.weighted(ar.bring(density), volume)

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        amounts: dict[str, Number] = {}
        places: dict[str, Numbers] = {}
        for part in solids_of(given, ar, rules):
            amounts[part.name] = part.sign * self._weight(part.row, part.volume, ar, rules)
            places[part.name] = part.centroid
        for key, lump in named_rows((self._lumps(given), "point")):
            amounts[key], places[key] = ar.bring(lump.amount), brought(lump.at, ar)
        total = sum_of(list(amounts.values()), ar)
        moment = tuple(
            sum_of([a * places[key][i] for key, a in amounts.items()], ar) for i in range(3)
        )
        answers: dict[str, Value] = {
            self.total: total,
            "first moment": moment,
            "centre": NoAnswer("no point", "the parts and the holes cancel"),
            self.plural: amounts,
            "centroids": places,
        }
        if ar.sign(total, f"{self.total} of the whole") != 0:
            answers["centre"] = tuple(m / total for m in moment)
        columns = (Column(self.total, self.dimension), *(Column(a, LENGTH) for a in "xyz"))
        rows = [Row(key, (a, *places[key])) for key, a in amounts.items()]
        return Solution(answers, (Sheet("Parts", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        plain = self.rule_set()
        sums: list[tuple[Number, Numbers]] = []
        size = reach = ar.bring(fmpq(0))
        for name, row, sign in named_solids(given):
            volume, moment = sliced(name, row, ar)
            weights = [self._weight(row, x, ar, plain) * sign for x in (volume, *moment)]
            sums.append((weights[0], tuple(weights[1:])))
            size = size + self._weight(row, volume, ar, plain)
        for lump in self._lumps(given):
            amount = ar.bring(lump.amount)
            sums.append((amount, tuple(amount * x for x in brought(lump.at, ar))))
            size = size + amount
        for place in answers["centroids"].values():
            reach = reach + sum_of([ar.size(x) for x in place], ar)
        reach = reach + sum_of([ar.size(part) for part in _extent(given, ar)], ar)
        total = sum_of([s[0] for s in sums], ar)
        found = [Residual(self.total, answers[self.total] - total, size)]
        for (key, place), (own, moments) in zip(answers["centroids"].items(), sums, strict=True):
            found.append(Residual(f"{self.total} of {key}", answers[self.plural][key] - own, size))
            found += [
                Residual(f"first moment of {key} along {letter}", own * x - along, size * reach)
                for letter, x, along in zip("xyz", place, moments, strict=True)
            ]
        for i, letter in enumerate("xyz"):
            moment_along = sum_of([s[1][i] for s in sums], ar)
            gap = answers["first moment"][i] - moment_along
            found.append(Residual(f"first moment along {letter}", gap, size * reach))
            if not isinstance(answers["centre"], NoAnswer):
                gap = answers["centre"][i] * total - moment_along
                found.append(Residual(f"centre along {letter}", gap, size * reach))
        return found

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = solid_strokes(given, ar)
        for lump in self._lumps(given):
            parts.append(Mark(brought(lump.at, ar), lump.name))
        parts.append(Mark((0.0, 0.0, 0.0), "O", "axis"))
        if not isinstance(answers["centre"], NoAnswer):
            parts.append(Mark(answers["centre"], "centre", "answer"))
        return Drawing(tuple(parts), "the parts of the body and their common centre, to scale", 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random solids; for a larger ``kappa`` a box that its hole almost fills."""
        target = log_uniform(rng, kappa)
        if target >= 3:
            more = self._more(rng)
            return self.givens(boxes=hollow_rows(self._class("boxes"), target, rng, more))
        tables = rng.sample(tuple(SHAPES), 3)
        return self.filled(dict.fromkeys(tables, 1), rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        if not any(rows.values()):
            return None
        made = {
            table: tuple(
                solid_row(table, self._class(table), rng, self._more(rng)) for _ in range(count)
            )
            for table, count in rows.items()
            if table in SHAPES
        }
        lumps = {
            table: tuple(
                self._class(table)(drawn(rng, 1, 90), drawn_point(rng, 3)) for _ in range(count)
            )
            for table, count in rows.items()
            if table == "lumps"
        }
        return self.givens(**made, **lumps)

    def _class(self, table: str) -> Any:
        return getattr(attrs.fields(self.givens), table).metadata["given"].of

    def _more(self, rng: random.Random) -> Mapping[str, Any]:
        return {}


def _extent(given: Any, ar: Arithmetic) -> Sequence[Number]:
    """Lengths of the solids, so that the size of the moments is not underrated."""
    found = []
    for _, row, _ in named_solids(given):
        for field in ("x", "y", "z", "radius", "height"):
            if hasattr(row, field):
                found.append(ar.bring(getattr(row, field)))
    return found


def _answers(total: str, plural: str, dimension: Dimension, says: str) -> dict[str, Answer]:
    return {
        total: Answer(ScalarKind(dimension), f"{says}, holes taken off"),
        "first moment": Answer(
            VectorKind(dimension * LENGTH, 3), f"sum of {total} times x, y and z"
        ),
        "centre": Answer(PointKind(3), "the common centre", ("no point",)),
        plural: Answer(TableKind(ScalarKind(dimension), "part"), "of each part, a hole's negative"),
        "centroids": Answer(TableKind(PointKind(3), "part"), "of each part"),
    }


@register
class CompositeVolume(_Bodies):
    name = "centroids/composite-volume"
    title = "Centroid of a solid put together from simple ones"
    givens = SolidGivens
    answers = _answers("volume", "volumes", VOLUME, "of the whole")
    total, plural, dimension = "volume", "volumes", VOLUME
    mistakes = SOLID_MISTAKES
    method = "V = sum of V_i, centroid = sum of V_i r_i / V, holes negative"


_WEIGHED = (
    *SOLID_MISTAKES,
    Mistake(
        "densities left out", "the parts are weighted by their volumes alone",
        rules={"weighted": lambda density, volume: volume},
    ),
)  # fmt: skip


class _DenseBodies(_Bodies):
    mistakes = _WEIGHED

    def _more(self, rng: random.Random) -> Mapping[str, Any]:
        return {"density": drawn(rng, 1, 9)}


_CONFIRMED = (
    "The centre of gravity of a real load must be confirmed before it is lifted; densities, "
    "contents and attached parts differ from the drawing."
)


@register
class MassCentre(_DenseBodies):
    name = "centroids/mass-centre"
    title = "Mass centre of a body of parts with different densities"
    givens = MassGivens
    answers = _answers("mass", "masses", MASS, "of the whole")
    total, plural, dimension = "mass", "masses", MASS
    method = "m = sum of rho_i V_i, centre = sum of m_i r_i / m, holes negative"
    caution = _CONFIRMED


@register
class GravityCentre(_DenseBodies):
    name = "centroids/centre-of-gravity"
    title = "Centre of gravity of a body of parts with different specific weights"
    givens = WeightGivens
    answers = _answers("weight", "weights", FORCE, "of the whole")
    total, plural, dimension = "weight", "weights", FORCE
    method = "W = sum of gamma_i V_i, centre = sum of W_i r_i / W, holes negative"
    caution = _CONFIRMED
