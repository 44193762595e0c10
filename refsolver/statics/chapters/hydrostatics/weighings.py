"""Bodies weighed in two fluids, one of them mostly air: volume and density.

Source of the method: any text of physics, for instance P. P. Urone and R. Hinrichs,
"College Physics", OpenStax, section on Archimedes' principle: the buoyant force is the
weight of the fluid displaced.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import (
    FORCE,
    SPECIFIC_WEIGHT,
    VOLUME,
)
from refsolver.quantities.kinds import (
    NoAnswer,
    ScalarKind,
    Value,
)
from refsolver.statics.chapters.hydrostatics.fluids import AFLOAT
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Region
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["TwoWeighings", "TwoWeighingsGivens"]


@attrs.frozen
class TwoWeighingsGivens:
    first: Exact = quantity(SPECIFIC_WEIGHT, "of the first fluid; 0 for air", sign="not negative")
    in_first: Exact = quantity(FORCE, "what the body seems to weigh in it")
    second: Exact = quantity(SPECIFIC_WEIGHT, "of the second fluid", sign="not negative")
    in_second: Exact = quantity(FORCE, "what the body seems to weigh in it")


def loss_over(loss: Number, difference: Number, second: Number) -> Number:
    """V = loss of apparent weight over the difference of the fluids' weights per volume."""
    return loss / difference


_SAME = NoAnswer("no unique answer", "the two fluids weigh the same per volume")
_IMPOSSIBLE = NoAnswer("no solution", "the body does not seem lighter in the heavier fluid")


@register
class TwoWeighings(Family):
    name = "hydrostatics/two-weighings"
    title = "A body weighed in two fluids, or in air and a fluid: volume and density"
    givens = TwoWeighingsGivens
    answers = {
        "volume": Answer(ScalarKind(VOLUME), "of the body", ("no unique answer", "no solution")),
        "weight": Answer(
            ScalarKind(FORCE), "of the body, freed of buoyancy", ("no unique answer", "no solution")
        ),
        "body": Answer(
            ScalarKind(SPECIFIC_WEIGHT),
            "weight per volume of the body",
            ("no unique answer", "no solution"),
        ),
        "displaced": Answer(
            ScalarKind(FORCE),
            "weight of the second fluid displaced",
            ("no unique answer", "no solution"),
        ),
    }
    rules = {"loss_over": loss_over, "freed": lambda in_first, buoyancy: in_first + buoyancy}
    mistakes = (
        Mistake(
            "first fluid taken for air",
            "the loss is divided by the weight per volume of the second fluid alone",
            rules={"loss_over": lambda loss, difference, second: loss / second},
        ),
        Mistake(
            "first reading taken for the weight",
            "the buoyancy in the first fluid is not added back",
            rules={"freed": lambda in_first, buoyancy: in_first},
        ),
        Mistake(
            "buoyancy taken off",
            "the buoyancy is subtracted from what the body seems to weigh",
            rules={"freed": lambda in_first, buoyancy: in_first - buoyancy},
        ),
        Mistake(
            "readings exchanged",
            "the two readings are put to the wrong fluids",
            givens=lambda given: attrs.evolve(
                given, in_first=given.in_second, in_second=given.in_first
            ),
        ),
    )
    method = "V = (W1 - W2) / (gamma_2 - gamma_1), W = W1 + gamma_1 V, gamma_b = W / V"
    second_method = "both readings recovered as (gamma_b - gamma) V"
    caution = AFLOAT

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        first, second = ar.bring(given.first), ar.bring(given.second)
        in_first, in_second = ar.bring(given.in_first), ar.bring(given.in_second)
        difference, loss = second - first, in_first - in_second
        heavier = ar.sign(difference, "second fluid heavier than the first")
        if heavier == 0:
            return Solution(dict.fromkeys(self.answers, _SAME))
        if ar.sign(loss, "apparent weight lost in the second fluid") * heavier <= 0:
            return Solution(dict.fromkeys(self.answers, _IMPOSSIBLE))
        volume = rules.loss_over(loss, difference, second)
        weight = rules.freed(in_first, first * volume)
        if ar.sign(weight, "weight of the body") <= 0:
            return Solution(dict.fromkeys(self.answers, _IMPOSSIBLE))
        answers = {
            "volume": volume,
            "weight": weight,
            "body": weight / volume,
            "displaced": second * volume,
        }
        sheets = (
            number_sheet("Volume", {"V": volume}, self.method, VOLUME),
            number_sheet("Weights", {"W": weight, "displaced": second * volume}),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["volume"], NoAnswer):
            return []
        body, volume, weight = answers["body"], answers["volume"], answers["weight"]
        size = weight + (ar.bring(given.first) + ar.bring(given.second)) * volume
        off = [
            (body - ar.bring(fluid)) * volume - ar.bring(reading)
            for fluid, reading in (
                (given.first, given.in_first),
                (given.second, given.in_second),
            )
        ]
        return [
            Residual("first reading", off[0], size),
            Residual("second reading", off[1], size),
            Residual("weight", body * volume - weight, size),
            Residual("displaced", weight - answers["displaced"] - ar.bring(given.in_second), size),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        for left, key in ((0.0, "first"), (3.0, "second")):
            reading = ar.bring(getattr(given, f"in_{key}"))
            corners = ((left, 0.0), (left + 1, 0.0), (left + 1, 1.0), (left, 1.0))
            parts.append(Region(corners, f"body in the {key} fluid"))
            parts.append(Arrow((left + 0.5, 1.0), (0.0, reading), f"reading in the {key}"))
        return Drawing(tuple(parts), "The body hung in each fluid with what it seems to weigh")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoWeighingsGivens:
        """Two fluids alike but for about 1/kappa."""
        target = log_uniform(rng, kappa)
        places = figures_for(target) + 1
        first, volume, weight = drawn(rng, 5, 9, 2), drawn(rng, 1, 3), drawn(rng, 50, 99)
        second = first * (1 + decimal(rng.uniform(0.5, 1) / target, places))
        return TwoWeighingsGivens(first, weight - first * volume, second, weight - second * volume)
