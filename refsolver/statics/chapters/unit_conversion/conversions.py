"""A quantity stated in one unit and asked for in another.

The quantity itself never changes; what is under test is the reading and printing of
units, so a family here has one given and gives it back. There is one family for each kind
of quantity, since a mistake in the units has its own marks in each.

Source of the factors: those of :mod:`refsolver.quantities.unit_table` (NIST SP 811 and the
exact definitions of the foot, the pound, standard gravity and the litre).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities import dimensions as d
from refsolver.quantities.kinds import ScalarKind, Value
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
    quantity,
)
from refsolver.statics.drawing import Drawing, Stroke
from refsolver.statics.random_givens import drawn, figures_for, log_uniform
from refsolver.statics.registry import register

STANDARD_GRAVITY = fmpq(980665, 100000)
"""Newtons in a kilogram-force: 3rd CGPM (1901), exact."""


def _givens(dimension: d.Dimension) -> type:
    says = "the quantity, in the unit it is stated in"
    return attrs.make_class("StatedQuantity", {"quantity": quantity(dimension, says)}, frozen=True)


def _answers(dimension: d.Dimension) -> dict[str, Answer]:
    return {"quantity": Answer(ScalarKind(dimension), "the same quantity, in the unit asked for")}


def as_stated(stated: Number) -> Number:
    """A change of unit leaves the quantity as it is."""
    return stated


def _factor(name: str, says: str, factor: fmpq) -> Mistake:
    """The answer comes out ``factor`` times what it should be."""

    def mistaken(
        given: Any, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Mapping[str, Value] | None:
        return {"quantity": answers["quantity"] * ar.bring(factor)}

    return Mistake(name, says, answers=mistaken)


def _foot_for_inch(power: int) -> Mistake:
    return _factor(
        "twelve once too often",
        "a length in inches is read as feet, so every length is twelve times too long",
        fmpq(12) ** power,
    )


def _linear_factor(power: int) -> Mistake:
    return _factor(
        "factor of length used unraised",
        "the factor of inch to millimetre is used once instead of to the power of the unit",
        fmpq(254, 10) ** (1 - power),
    )


_KILOGRAM_FORCE = _factor(
    "kilogram taken as newton",
    "the kilogram-force is read as a newton",
    1 / STANDARD_GRAVITY,
)
_INVERTED_THOUSAND = _factor(
    "prefix dropped", "the answer is a thousand times too large", fmpq(1000)
)
_ROUNDED_GRAVITY = _factor(
    "gravity rounded to ten", "standard gravity is taken as 10 m/s2", 10 / STANDARD_GRAVITY
)


class _Conversion(Family):
    """One given, one answer, equal."""

    reach = (1.0, 1.0)
    reach_because = "a change of unit multiplies by a number that is exact"

    dimension: ClassVar[d.Dimension]
    rules = {"as_stated": as_stated}
    method = "stated number x factor of its unit = asked number x factor of the asked unit"
    second_method = ""  # the unit factors are checked against Pint and SP 811 in the tests
    caution = cautions.UNITS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        value = rules.as_stated(ar.bring(given.quantity))
        head = Column(self.dimension.name, self.dimension)
        sheet = Sheet("The quantity", (head,), (Row("as stated", (value,)),), self.method)
        return Solution({"quantity": value}, (sheet,))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        stated = ar.bring(given.quantity)
        one = ar.bring(fmpq(1))
        if ar.sign(stated, "sign of the quantity stated") == 0:
            return (Residual("zero stays zero", answers["quantity"], one),)
        return (Residual("ratio to the quantity stated", answers["quantity"] / stated - one, one),)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        bars = (
            Stroke((0.0, 1.0), (10.0, 1.0), "as stated"),
            Stroke((0.0, 0.0), (10.0, 0.0), "as asked for", "answer"),
        )
        return Drawing(bars, "two bars of one length: a change of unit changes no quantity")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """A decimal; a change of unit has condition number one, so ``kappa`` sets figures."""
        places = min(12, figures_for(log_uniform(rng, kappa)))
        return self.givens(drawn(rng, 0.5, 9999.0, places) * rng.choice((1, 1, 1, -1)))


@register
class Length(_Conversion):
    name = "unit-conversion/length"
    title = "A length in another unit"
    dimension = d.LENGTH
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(1), _INVERTED_THOUSAND)


@register
class Area(_Conversion):
    name = "unit-conversion/area"
    title = "An area in another unit"
    dimension = d.AREA
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(2), _linear_factor(2))


@register
class Volume(_Conversion):
    name = "unit-conversion/volume"
    title = "A volume or section modulus in another unit"
    dimension = d.VOLUME
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(3), _linear_factor(3))


@register
class SecondMoment(_Conversion):
    name = "unit-conversion/second-moment"
    title = "A second moment of area in another unit"
    dimension = d.SECOND_MOMENT
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(4), _linear_factor(4))


@register
class Force(_Conversion):
    name = "unit-conversion/force"
    title = "A force in another unit"
    dimension = d.FORCE
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_KILOGRAM_FORCE, _ROUNDED_GRAVITY, _INVERTED_THOUSAND)


@register
class Pressure(_Conversion):
    name = "unit-conversion/pressure"
    title = "A pressure or stress in another unit"
    dimension = d.PRESSURE
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(-2), _KILOGRAM_FORCE, _INVERTED_THOUSAND)


@register
class Moment(_Conversion):
    name = "unit-conversion/moment"
    title = "A moment or energy in another unit"
    dimension = d.MOMENT
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(1), _KILOGRAM_FORCE)


@register
class Mass(_Conversion):
    name = "unit-conversion/mass"
    title = "A mass in another unit"
    dimension = d.MASS
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (
        _INVERTED_THOUSAND,
        _factor(
            "slug taken as pound",
            "a mass in slugs is read as pounds",
            fmpq(3048, 10000) / STANDARD_GRAVITY,
        ),
    )


@register
class Power(_Conversion):
    name = "unit-conversion/power"
    title = "A power in another unit"
    dimension = d.POWER
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_KILOGRAM_FORCE, _INVERTED_THOUSAND)


@register
class Speed(_Conversion):
    name = "unit-conversion/speed"
    title = "A speed in another unit"
    dimension = d.SPEED
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (
        _foot_for_inch(1),
        _factor("per minute for per hour", "hours are counted as minutes", fmpq(60)),
    )


@register
class Acceleration(_Conversion):
    name = "unit-conversion/acceleration"
    title = "An acceleration in another unit"
    dimension = d.ACCELERATION
    givens = _givens(dimension)
    answers = _answers(dimension)
    mistakes = (_foot_for_inch(1), _ROUNDED_GRAVITY)
