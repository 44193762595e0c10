"""Mass centre of a straight rod whose mass per length varies along it.

Source of the method: G. Strang, E. Herman et al., "Calculus Volume 2", OpenStax, section
2.6: m = integral of rho dx, x = integral of rho x dx / m.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, MASS, MASS_MOMENT, MASS_PER_LENGTH
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.areas.second_moment_sums import gyration
from refsolver.statics.chapters.centroids.laws import LAWS, antiderivative, from_the_end, grown
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
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing, Mark, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class RodTerm:
    coefficient: Exact = quantity(MASS_PER_LENGTH, "what the law is multiplied by")
    law: str = choice(LAWS, "of X, the distance over the reference length", default="power")
    power: int = integer("of X, where the law is a power", default=0)


@attrs.frozen
class Rod:
    start: Exact = quantity(LENGTH, "the x of its first end")
    end: Exact = quantity(LENGTH, "the x of its other end")
    density: tuple[RodTerm, ...] = many(RodTerm, "mass per length, a sum of terms")
    reference: Exact = quantity(
        LENGTH, "the length by which x is divided: 1 m for a formula in metres", sign="positive"
    )

    def __attrs_post_init__(self) -> None:
        if not self.density:
            raise ValueError("at least one term of the density is needed")
        if seen_sign(difference(self.end, self.start)) in (-1, 0):
            raise ValueError("a rod must end beyond its start")
        logs = any(term.law == "logarithm" for term in self.density)
        if logs and seen_sign(self.start) != 1:
            raise ValueError("a logarithm needs a rod that starts right of x = 0")


def weighted(n: int) -> int:
    """The power of x that a moment takes beside the density."""
    return n


@register
class VaryingRod(Family):
    name = "centroids/rod"
    title = "Mass centre of a straight rod of varying mass per length"
    givens = Rod
    answers = {
        "mass": Answer(ScalarKind(MASS), "of the whole rod"),
        "first moment": Answer(ScalarKind(MASS * LENGTH), "about the origin"),
        "centre": Answer(ScalarKind(LENGTH), "its x", ("no point",)),
        "moment of inertia": Answer(ScalarKind(MASS_MOMENT), "about the origin"),
        "radius of gyration": Answer(ScalarKind(LENGTH), "root of I over m", ("not defined",)),
    }
    rules: ClassVar[Mapping[str, Callable[..., int]]] = {"weighted": weighted}
    mistakes = (
        Mistake(
            "middle of the rod", "the centre is taken half way, as of a uniform rod",
            answers=lambda given, answers, ar: {
                **answers, "centre": (ar.bring(given.start) + ar.bring(given.end)) / 2
            },
        ),
        Mistake(
            "moment not divided", "the first moment over the length is given for the centre",
            answers=lambda given, answers, ar: {
                **answers,
                "centre": answers["first moment"] / (ar.bring(given.end) - ar.bring(given.start)),
            },
        ),
        Mistake(
            "distance squared", "x^2 is taken where the first moment takes x",
            rules={"weighted": lambda n: 2 if n else 0},
        ),
    )  # fmt: skip
    method = (
        "m = integral of rho dx, S = integral of rho x dx, I = integral of rho x^2 dx, x = S / m"
    )
    second_method = "the distance counted back from the far end; a logarithm with X = e^t"

    def solve(self, given: Rod, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        a = ar.bring(given.reference)
        low, high = ar.bring(given.start) / a, ar.bring(given.end) / a
        sums = []
        for n in range(3):
            m = rules.weighted(n)
            parts = [
                ar.bring(t.coefficient)
                * (antiderivative(t, m, high, ar) - antiderivative(t, m, low, ar))
                for t in given.density
            ]
            sums.append(sum_of(parts, ar) * grown(a, n + 1))
        mass, first, second = sums
        answers: dict[str, Value] = {
            "mass": mass,
            "first moment": first,
            "moment of inertia": second,
        }
        if ar.sign(mass, "mass of the whole") == 0:
            why = "positive and negative masses cancel"
            answers["centre"] = NoAnswer("no point", why)
            answers["radius of gyration"] = NoAnswer("not defined", why)
        else:
            answers["centre"] = first / mass
            k = gyration(second, mass, "moment of inertia", "mass", ar)
            answers["radius of gyration"] = k
        columns = (Column("m", MASS), Column("S", MASS * LENGTH), Column("I", MASS_MOMENT))
        sheet = Sheet("Integrals", columns, (Row("rod", tuple(sums)),), self.method)
        return Solution(answers, (sheet,))

    def check(self, given: Rod, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        a = ar.bring(given.reference)
        low, high = ar.bring(given.start) / a, ar.bring(given.end) / a
        sums, sizes = [], []
        for n in range(3):
            parts = [
                ar.bring(t.coefficient) * from_the_end(t, n, low, high, ar) for t in given.density
            ]
            sums.append(sum_of(parts, ar) * grown(a, n + 1))
            sizes.append(_size(given, n, low, high, ar) * grown(a, n + 1))
        names = ("mass", "first moment", "moment of inertia")
        found = [
            Residual(name, answers[name] - x, size)
            for name, x, size in zip(names, sums, sizes, strict=True)
        ]
        if not isinstance(answers["centre"], NoAnswer):
            found.append(Residual("centre", answers["centre"] * sums[0] - sums[1], sizes[1]))
        k = answers["radius of gyration"]
        if not isinstance(k, NoAnswer):
            found.append(Residual("radius of gyration", k * k * sums[0] - sums[2], sizes[2]))
        return found

    def figure(self, given: Rod, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ends = ((ar.bring(given.start), 0.0), (ar.bring(given.end), 0.0))
        marks = [Mark((0.0, 0.0), "O", "axis")]
        if not isinstance(answers["centre"], NoAnswer):
            marks.append(Mark((answers["centre"], 0.0), "mass centre", "answer"))
        return Drawing((Stroke(*ends), *marks), "the rod and its mass centre, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Rod:
        """A rod on which a negative uniform term leaves about 1/kappa of the mass."""
        from refsolver.arithmetic.double import DoubleArithmetic

        start, span = drawn(rng, 0.5, 3), drawn(rng, 0.5, 4)
        terms = tuple(
            RodTerm(drawn(rng, 1, 9), law, rng.randint(0, 3) if law == "power" else 0)
            for law in rng.sample(LAWS, 2)
        )
        given = Rod(start, start + span, terms, drawn(rng, 2, 5))
        target = log_uniform(rng, kappa)
        if target < 3:
            return given
        ar = DoubleArithmetic()
        mass = self.solve(given, ar, self.rule_set()).answers["mass"]
        level = decimal(float(mass) * (2 / target - 1) / float(span), figures_for(target) + 2)
        return attrs.evolve(given, density=(*terms, RodTerm(level)))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Rod | None:
        count = rows.get("density", 0)
        if set(rows) != {"density"} or count < 1:
            return None
        start = drawn(rng, 1, 3)
        terms = tuple(RodTerm(drawn(rng, 1, 9), power=rng.randint(0, 4)) for _ in range(count))
        return Rod(start, start + drawn(rng, 1, 4), terms, drawn(rng, 2, 5))


def _size(given: Rod, n: int, low: Number, high: Number, ar: Arithmetic) -> Number:
    """A bound of the terms that may cancel."""
    reach = 1 + ar.size(low) + ar.size(high)
    total = []
    for term in given.density:
        size = ar.size(ar.bring(term.coefficient)) * grown(reach, term.power + n + 2)
        total.append(size * (ar.exp(reach) if term.law == "exponential" else 1))
    return sum_of(total, ar)
