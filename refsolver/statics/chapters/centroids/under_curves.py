"""Centroids of areas under one elementary curve: e^x, sine, cosine, logarithm, power.

Source of the method: G. Strang, E. Herman et al., "Calculus Volume 2", OpenStax, section
2.6: A = integral of f dx, Q_y = integral of x f dx, Q_x = integral of f^2/2 dx.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import AREA, LENGTH, VOLUME
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, Value
from refsolver.statics.chapters.centroids.laws import (
    LAWS,
    antiderivative,
    from_the_end,
    law_at,
    squared,
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
    choice,
    integer,
    quantity,
)
from refsolver.statics.drawing import Drawing, Mark, Region
from refsolver.statics.random_givens import drawn, log_uniform, share_of
from refsolver.statics.registry import register

_REFUSED = ("not defined",)


@attrs.frozen
class UnderCurve:
    start: Exact = quantity(LENGTH, "the x where the area starts")
    end: Exact = quantity(LENGTH, "the x where it ends")
    height: Exact = quantity(LENGTH, "what the law is multiplied by", sign="positive")
    reference: Exact = quantity(LENGTH, "the length by which x is divided", sign="positive")
    law: str = choice(LAWS, "of X, the distance over the reference length", default="power")
    power: int = integer("of X, where the law is a power", default=0)

    def __attrs_post_init__(self) -> None:
        if seen_sign(difference(self.end, self.start)) in (-1, 0):
            raise ValueError("an area must end beyond its start")
        if self.law == "logarithm" and seen_sign(self.start) != 1:
            raise ValueError("a logarithm needs an area that starts right of x = 0")


def half_square(square: Number) -> Number:
    """Of the integral of f^2: each strip's centre lies at half its height."""
    return square / 2


@register
class AreaUnderCurve(Family):
    name = "centroids/under-curve"
    title = "Centroid of the area under an elementary curve"
    givens = UnderCurve
    answers = {
        "area": Answer(ScalarKind(AREA), "down to the x axis", _REFUSED),
        "Q_x": Answer(ScalarKind(VOLUME), "first moment about the x axis", _REFUSED),
        "Q_y": Answer(ScalarKind(VOLUME), "first moment about the y axis", _REFUSED),
        "centroid": Answer(PointKind(), "of the area", _REFUSED),
    }
    rules: ClassVar[Mapping[str, Callable[..., Number]]] = {"half_square": half_square}
    mistakes = (
        Mistake(
            "strip's centre at its top", "the integral of f^2 is taken without its half",
            rules={"half_square": lambda square: square},
        ),
        Mistake(
            "axes exchanged", "the moment about the x axis is divided to give x",
            answers=lambda given, answers, ar: None
            if isinstance(answers["centroid"], NoAnswer)
            else {**answers, "Q_x": answers["Q_y"], "Q_y": answers["Q_x"],
                  "centroid": answers["centroid"][::-1]},
        ),
    )  # fmt: skip
    method = "A = integral of f dx, Q_y = integral of x f dx, Q_x = integral of f^2/2 dx"
    second_method = (
        "the distance counted back from the end, a logarithm with X = e^t; squares by products of "
        "the values at the ends"
    )

    def solve(self, given: UnderCurve, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        a, h = ar.bring(given.reference), ar.bring(given.height)
        low, high = ar.bring(given.start) / a, ar.bring(given.end) / a
        if _below(given, low, high, ar):
            missing = NoAnswer("not defined", "the curve reaches below the x axis")
            return Solution(dict.fromkeys(self.answers, missing))
        area, along = (
            antiderivative(given, n, high, ar) - antiderivative(given, n, low, ar) for n in (0, 1)
        )
        area, along = area * h * a, along * h * a * a
        up = rules.half_square(squared(given, high, ar) - squared(given, low, ar)) * h * h * a
        answers = {"area": area, "Q_x": up, "Q_y": along, "centroid": (along / area, up / area)}
        columns = (Column("A", AREA), Column("Q_y", VOLUME), Column("Q_x", VOLUME))
        sheet = Sheet("Integrals", columns, (Row("area", (area, along, up)),), self.method)
        return Solution(answers, (sheet,))

    def check(
        self, given: UnderCurve, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["area"], NoAnswer):
            return ()
        a, h = ar.bring(given.reference), ar.bring(given.height)
        low, high = ar.bring(given.start) / a, ar.bring(given.end) / a
        area, along = (from_the_end(given, n, low, high, ar) for n in (0, 1))
        area, along = area * h * a, along * h * a * a
        up = _square_by_ends(given, low, high, ar) * h * h * a / 2
        reach = a * (1 + ar.size(low) + ar.size(high))
        x, y = answers["centroid"]
        return [
            Residual("area", answers["area"] - area, area),
            Residual("Q_y", answers["Q_y"] - along, area * reach),
            Residual("Q_x", answers["Q_x"] - up, up),
            Residual("x of the centroid", x * area - along, area * reach),
            Residual("y of the centroid", y * area - up, up),
        ]

    def figure(self, given: UnderCurve, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        a, h = ar.bring(given.reference), ar.bring(given.height)
        start, end = ar.bring(given.start), ar.bring(given.end)
        places = [start + (end - start) * i / 48 for i in range(49)]
        curve = [(x, h * law_at(given, x / a, ar)) for x in places]
        marks = [Mark((0.0, 0.0), "O", "axis")]
        if not isinstance(answers["centroid"], NoAnswer):
            marks.append(Mark(answers["centroid"], "centroid", "answer"))
        area = Region(((start, 0.0), *curve, (end, 0.0)))
        return Drawing((area, *marks), "the area under the curve and its centroid, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> UnderCurve:
        """Integrals of a curve above the axis, between ends about 1/kappa of their place apart."""
        spread = log_uniform(rng, kappa)
        law, reference = rng.choice(LAWS), drawn(rng, 2, 5)
        low, high = {
            "sine": (0.1, 3.0), "cosine": (-1.5, 1.5), "logarithm": (1.1, 4.0),
        }.get(law, (0.1, 3.0))  # fmt: skip
        ends = sorted(rng.uniform(low, high) for _ in range(2))
        start, end = (fmpq(round(x * 100), 100) * reference for x in (ends[0], ends[1] + 0.05))
        if spread > 20:
            start = fmpq(rng.randint(30, 90) + (100 if law == "logarithm" else 0), 100) * reference
            end = start * (1 + share_of(spread, rng))
        power = rng.randint(0, 4) if law == "power" else 0
        return UnderCurve(start, end, drawn(rng, 1, 9), reference, law, power)


def _below(given: UnderCurve, low: Number, high: Number, ar: Arithmetic) -> bool:
    """Whether the law turns negative between the ends."""
    if given.law == "exponential":
        return False
    places = {"start": low, "middle": (low + high) / 2, "end": high}
    if given.law in ("sine", "cosine"):
        if ar.sign(ar.pi() - (high - low), "less than half a wave") < 0:
            return True
    elif given.law == "power" and given.power % 2 == 0:
        return False
    return any(
        ar.sign(law_at(given, x, ar), f"height at the {name}") < 0 for name, x in places.items()
    )


def _square_by_ends(given: UnderCurve, low: Number, high: Number, ar: Arithmetic) -> Number:
    """The integral of the squared law by another form of its antiderivative."""
    if given.law == "exponential":
        p, q = ar.exp(low), ar.exp(high)
        return (q - p) * (q + p) / 2
    if given.law in ("sine", "cosine"):
        swing = ar.sin(high) * ar.cos(high) - ar.sin(low) * ar.cos(low)
        return (high - low - swing) / 2 if given.law == "sine" else (high - low + swing) / 2
    if given.law == "logarithm":
        values = [ar.exp(t) * ((t - 1) * (t - 1) + 1) for t in (ar.log(low), ar.log(high))]
        return values[1] - values[0]
    twice = attrs.evolve(given, power=2 * given.power)
    return from_the_end(twice, 0, low, high, ar)
