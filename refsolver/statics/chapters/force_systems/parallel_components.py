"""The two parallel forces at given places that are equal to given parallel forces: how a
load is shared by two supports.

Source of the method: E. R. Maurer, "Strength of Materials and Statics" (1907), on parallel
components (from memory).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.force_systems.forces_on_a_line import (
    OnLine,
    drawn_loads,
    drawn_on_line,
    drawn_sizes,
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
)
from refsolver.statics.drawing import Arrow, Drawing, Mark
from refsolver.statics.forces.moment_rules import sum_of_sizes
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class TwoPlacesGivens:
    forces: tuple[OnLine, ...] = many(OnLine, "the parallel forces to be replaced")
    first: Exact = quantity(LENGTH, "where the first of the two forces acts")
    second: Exact = quantity(LENGTH, "where the second of the two forces acts")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


def opposite_arm(reach: Number, other: Number) -> Number:
    """The force at a place is in proportion to the distance of the load from the other place."""
    return other


def own_arm(reach: Number, other: Number) -> Number:
    return reach


@register
class TwoPlaces(Family):
    name = "force-systems/two-parallel-components"
    title = "Two parallel forces at given places that replace parallel forces"
    givens = TwoPlacesGivens
    answers = {
        "first": Answer(
            ScalarKind(FORCE),
            "the force at the first place, positive the way the loads are; a support there "
            "pushes back with the opposite",
            ("no unique answer", "no solution"),
        ),
        "second": Answer(
            ScalarKind(FORCE),
            "the force at the second place, positive the way the loads are",
            ("no unique answer", "no solution"),
        ),
    }
    rules = {"share_arm": opposite_arm, "summed": sum_of}
    mistakes = (
        Mistake(
            "shares exchanged",
            "each place is given the share that belongs to the other",
            {"share_arm": own_arm},
        ),
        Mistake(
            "loads added without sign",
            "a load acting the other way is counted as if it acted the same way",
            {"summed": sum_of_sizes},
        ),
    )
    method = (
        "F_1 = sum of F (x_2 - x) / (x_2 - x_1), F_2 = sum of F (x - x_1) / (x_2 - x_1), from "
        "moments about the two places"
    )
    second_method = "the sum of the forces, and moments about a third place"
    caution = cautions.PARALLEL_FORCES

    def solve(self, given: TwoPlacesGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        first, second = ar.bring(given.first), ar.bring(given.second)
        forces = [ar.bring(item.force) for item in given.forces]
        places = [ar.bring(item.at) for item in given.forces]
        span = second - first
        if ar.sign(span, "distance between the two places") == 0:
            refused = self._one_place(forces, places, first, ar)
            return Solution({"first": refused, "second": refused})
        to_first = [f * rules.share_arm(x - first, second - x) / span
                    for f, x in zip(forces, places, strict=True)]  # fmt: skip
        to_second = [f * rules.share_arm(second - x, x - first) / span
                     for f, x in zip(forces, places, strict=True)]  # fmt: skip
        answers = {"first": rules.summed(to_first, ar), "second": rules.summed(to_second, ar)}
        sheet = Sheet(
            "Shares of each load",
            (Column("F", FORCE), Column("at first", FORCE), Column("at second", FORCE)),
            (
                *(
                    Row(key, tuple(cells))
                    for key, *cells in zip(
                        keys_of(given.forces, "force"), forces, to_first, to_second, strict=True
                    )
                ),
                Row("sum", (None, answers["first"], answers["second"])),
            ),
            self.method,
        )
        return Solution(answers, (sheet,))

    @staticmethod
    def _one_place(
        forces: Sequence[Number], places: Sequence[Number], place: Number, ar: Arithmetic
    ) -> NoAnswer:
        turning = sum_of([f * (x - place) for f, x in zip(forces, places, strict=True)], ar)
        if ar.sign(turning, "moment about the common place") == 0:
            return NoAnswer("no unique answer", "the two places coincide with the resultant")
        return NoAnswer("no solution", "both places coincide, away from the resultant")

    def check(
        self, given: TwoPlacesGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["first"], NoAnswer):
            return []
        loads = [(ar.bring(item.force), ar.bring(item.at)) for item in given.forces]
        shares = [
            (answers["first"], ar.bring(given.first)),
            (answers["second"], ar.bring(given.second)),
        ]
        residuals = []
        for name, pole in (("sum of forces", None), ("moments about a third place", rational(11))):
            arms = [
                (f, ar.bring(rational(1)) if pole is None else x - ar.bring(pole))
                for f, x in [*loads, *((-f, x) for f, x in shares)]
            ]
            gap = sum_of([f * x for f, x in arms], ar)
            size = sum_of([ar.size(f) * ar.size(x) for f, x in arms], ar)
            residuals.append(Residual(name, gap, size))
        return residuals

    def figure(
        self, given: TwoPlacesGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        parts = drawn_on_line(given.forces, ar)
        for key in ("first", "second"):
            place = (ar.bring(getattr(given, key)), 0.0)
            parts.append(Mark(place, f"{key} place", "construction"))
            if not isinstance(answers[key], NoAnswer):
                parts.append(Arrow(place, (0.0, -answers[key]), key, "answer"))
        caption = (
            f"{len(given.forces)} parallel loads across a line, a positive one drawn downward, "
            "and the two forces at the given places that are equal to them, to scale"
        )
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoPlacesGivens:
        """Random loads, and one whose share nearly cancels theirs at the first place."""
        from refsolver.arithmetic.double import DoubleArithmetic

        first, second = self._places(rng)
        loads = drawn_loads(rng, drawn_sizes(rng, rng.randint(1, 5)))
        ar = DoubleArithmetic()
        share = sum(ar.bring(x.force) * (ar.bring(second) - ar.bring(x.at)) for x in loads)
        reach = rng.choice((-1, 1)) * drawn(rng, 1, 9)
        target = log_uniform(rng, kappa)
        size = decimal(-share * (1 - 1 / target) / ar.bring(reach), figures_for(target))
        return TwoPlacesGivens((*loads, OnLine(size, second - reach)), first, second)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> TwoPlacesGivens:
        loads = drawn_loads(rng, drawn_sizes(rng, rows.get("forces", 1)))
        return TwoPlacesGivens(loads, *self._places(rng))

    @staticmethod
    def _places(rng: random.Random) -> tuple[fmpq, fmpq]:
        first = drawn(rng, -10, 0)
        return first, first + drawn(rng, 1, 12)
