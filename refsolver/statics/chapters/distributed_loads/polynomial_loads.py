"""Loads along a straight line that follow a polynomial: resultant, place and moment.

Source of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", section 4.9 (from memory): W = integral of w, W x = integral of w x.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from math import comb
from types import SimpleNamespace

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, LINE_LOAD, MOMENT
from refsolver.quantities.kinds import Value
from refsolver.statics.chapters.distributed_loads.along_a_line import LoadsAlongLine, Part, forward
from refsolver.statics.contract import (
    Column,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    integer,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class Term:
    power: int = integer("the power of the distance")
    load: Exact = quantity(LINE_LOAD, "the load per length it gives at the reference distance")


@attrs.frozen
class PolynomialStretch:
    start: Exact = quantity(LENGTH, "where the stretch starts")
    end: Exact = quantity(LENGTH, "where it ends")
    terms: tuple[Term, ...] = many(
        Term, "w = sum of load (distance / reference)^power, distance from the zero of the formula"
    )
    reference: Exact = quantity(
        LENGTH,
        "the distance at which a term has its stated load: 1 m for a formula in metres",
        sign="positive",
    )
    zero: Exact = quantity(LENGTH, "where the distance in the formula is zero", default=rational(0))
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        forward(self.start, self.end)


@attrs.frozen
class PolynomialLoads:
    stretches: tuple[PolynomialStretch, ...] = many(
        PolynomialStretch, "stretches of load; where they overlap the loads add"
    )
    about: Exact = quantity(
        LENGTH, "the point about which the moment is taken", default=rational(0)
    )

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.stretches, "stretch")


def power(x: Number, exponent: int, ar: Arithmetic) -> Number:
    """x^n for a whole n that is not negative."""
    result = ar.bring(rational(1))
    for _ in range(exponent):
        result = result * x
    return result


def load_between(
    term: tuple[int, Number], low: Number, high: Number, reference: Number, ar: Arithmetic
) -> Number:
    """Integral of q (t/a)^n from t = low to high: q (high^(n+1) - low^(n+1)) / ((n+1) a^n)."""
    n, load = term
    rise = power(high, n + 1, ar) - power(low, n + 1, ar)
    return load * rise / ((n + 1) * power(reference, n, ar))


def first_moment_between(
    term: tuple[int, Number], low: Number, high: Number, reference: Number, ar: Arithmetic
) -> Number:
    """Integral of q (t/a)^n t: q (high^(n+2) - low^(n+2)) / ((n+2) a^n)."""
    n, load = term
    rise = power(high, n + 2, ar) - power(low, n + 2, ar)
    return load * rise / ((n + 2) * power(reference, n, ar))


def load_at_the_middle(
    term: tuple[int, Number], low: Number, high: Number, reference: Number, ar: Arithmetic
) -> Number:
    return load_between(term, low, high, reference, ar) * (low + high) / 2


def load_as_triangle(
    term: tuple[int, Number], low: Number, high: Number, reference: Number, ar: Arithmetic
) -> Number:
    n, load = term
    ends = power(low, n, ar) + power(high, n, ar)
    return load * ends * (high - low) / (2 * power(reference, n, ar))


@register
class PolynomialLoad(LoadsAlongLine):
    name = "distributed-loads/polynomial"
    title = "Resultant of loads that vary as a polynomial along a line"
    givens = PolynomialLoads
    rules = {"load_between": load_between, "first_moment_between": first_moment_between}
    mistakes = (
        Mistake(
            "load acts at its middle",
            "the load of a stretch is placed at the middle of the stretch",
            {"first_moment_between": load_at_the_middle},
        ),
        Mistake(
            "curved load taken as straight",
            "the mean of the loads at the two ends is multiplied by the length",
            {"load_between": load_as_triangle},
        ),
    )
    method = "W = integral of w, W x = integral of w x over each stretch, by antiderivatives"
    second_method = (
        "the polynomial expanded anew about the end of the stretch (binomial theorem), "
        "integrated backward from there"
    )

    def solve(self, given: PolynomialLoads, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts, rows = [], []
        for key, stretch in zip(keys_of(given.stretches, "stretch"), given.stretches, strict=True):
            zero, reference = ar.bring(stretch.zero), ar.bring(stretch.reference)
            low, high = ar.bring(stretch.start) - zero, ar.bring(stretch.end) - zero
            forces, moments = [], []
            for term in stretch.terms:
                numbers = (term.power, ar.bring(term.load))
                forces.append(rules.load_between(numbers, low, high, reference, ar))
                moment = rules.first_moment_between(numbers, low, high, reference, ar)
                moments.append(moment + zero * forces[-1])
                rows.append(Row(f"{key}, power {term.power}", (forces[-1], moments[-1])))
            parts.append(Part(key, sum_of(forces, ar), sum_of(moments, ar)))
        answers = self.answers_of(parts, ar.bring(given.about), ar)
        first_moment = sum_of([part.moment for part in parts], ar)
        rows.append(Row("sum", (answers["resultant"], first_moment)))
        sheet = Sheet(
            "Terms", (Column("W", FORCE), Column("W x", MOMENT)), tuple(rows), self.method
        )
        return Solution(answers, (sheet,))

    def check(
        self, given: PolynomialLoads, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        parts, size, moment_size = [], ar.bring(rational(0)), ar.bring(rational(0))
        for key, stretch in zip(answers["forces"], given.stretches, strict=True):
            part = _from_the_end(key, stretch, ar)
            parts.append(part)
            load, reach = _size_of_load(stretch, ar)
            size, moment_size = size + load, moment_size + load * reach
        return self.gaps_of(parts, (size, moment_size), ar.bring(given.about), answers, ar)

    def figure(
        self, given: PolynomialLoads, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        curves = []
        for key, stretch in zip(answers["forces"], given.stretches, strict=True):
            start, end = ar.bring(stretch.start), ar.bring(stretch.end)
            places = [start + (end - start) * i / 24 for i in range(25)]
            curves.append((key, [(x, _load_at(stretch, x, ar)) for x in places]))
        return self.drawing_of(curves, ar.bring(given.about), answers)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PolynomialLoads:
        """Random stretches, and a uniform one that cancels their load down to about 1/kappa."""
        from refsolver.arithmetic.double import DoubleArithmetic

        given = self.filled({"stretches": rng.randint(1, 3)}, rng)
        ar = DoubleArithmetic()
        whole = self.solve(given, ar, self.rule_set()).answers["resultant"]
        size = sum(_size_of_load(stretch, ar)[0] for stretch in given.stretches)
        target = log_uniform(rng, kappa)
        span, start = drawn(rng, 1, 9), drawn(rng, -5, 5)
        load = decimal((size / target - whole) / ar.bring(span), figures_for(target) + 2)
        last = PolynomialStretch(start, start + span, (Term(0, load),), rational(1))
        return attrs.evolve(given, stretches=(*given.stretches, last))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PolynomialLoads:
        count = rows.get("stretches", 1)
        stretches = tuple(_drawn_polynomial(rng) for _ in range(count))
        return PolynomialLoads(stretches, drawn(rng, -9, 9))


def _drawn_polynomial(rng: random.Random) -> PolynomialStretch:
    start = drawn(rng, -5, 5)
    powers = rng.sample(range(5), rng.randint(1, 3))
    terms = tuple(Term(n, drawn(rng, 1, 50)) for n in powers)
    reference = drawn(rng, 1, 5)
    return PolynomialStretch(start, start + drawn(rng, 1, 9), terms, reference, start)


def _load_at(stretch: PolynomialStretch, x: Number, ar: Arithmetic) -> Number:
    ratio = (x - ar.bring(stretch.zero)) / ar.bring(stretch.reference)
    return sum_of([ar.bring(t.load) * power(ratio, t.power, ar) for t in stretch.terms], ar)


def _from_the_end(name: str, stretch: PolynomialStretch, ar: Arithmetic) -> Part:
    """Force and moment with the load written in s, the distance back from the end."""
    end, reference = ar.bring(stretch.end), ar.bring(stretch.reference)
    span, far = end - ar.bring(stretch.start), end - ar.bring(stretch.zero)
    force = back = ar.bring(rational(0))
    for term in stretch.terms:
        n, load = term.power, ar.bring(term.load)
        for k in range(n + 1):
            part = load * comb(n, k) * power(far, n - k, ar) * (1 if k % 2 == 0 else -1)
            part = part / power(reference, n, ar)
            force = force + part * power(span, k + 1, ar) / (k + 1)
            back = back + part * power(span, k + 2, ar) / (k + 2)
    return Part(name, force, end * force - back)


def _size_of_load(stretch: PolynomialStretch, ar: Arithmetic) -> tuple[Number, Number]:
    """A bound of the terms that may cancel: (of the load, the reach by which it turns)."""
    start, end = ar.size(ar.bring(stretch.start)), ar.size(ar.bring(stretch.end))
    far, reference = ar.size(ar.bring(stretch.zero)) + start + end, ar.bring(stretch.reference)
    loads = [
        ar.size(ar.bring(term.load)) * power(2 * far / reference, term.power, ar)
        for term in stretch.terms
    ]
    return sum_of(loads, ar) * (start + end), far
