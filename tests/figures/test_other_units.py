"""A figure shows the same in whatever units its case is written: nothing in it is a fixed length.

Lengths, forces and times are restated by powers of two, so that doubles stay what they are
and decisions fall alike. Of all coordinates of a figure each must then be multiplied by one
number, and so must those of its forces, and those of its couples.
"""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.givens import restated
from refsolver.statics.prover import prove
from refsolver.statics.registry import families
from tests.shipped_cases import cases_of

FORCE, LENGTH, TIME = fmpq(8), fmpq(1, 64), fmpq(4)
SCALED = {"at": "places", "points": "places", "vector": "forces", "moment": "couples"}
"""What the fields of the parts of a drawing are; ends of lines are places, all else stays."""


def factor(dimension):
    powers = FORCE**dimension.force * LENGTH**dimension.length
    return fmpq(powers) * fmpq(TIME**dimension.time)


def drawn(owner, given, decisions):
    ar = DoubleArithmetic(decisions)
    return owner.figure(given, owner.solve(given, ar, owner.rule_set()).answers, ar)


def numbers(value):
    return [x for part in value for x in numbers(part)] if isinstance(value, tuple) else [value]


def content(part):
    """The numbers of a part by what they are, and all that has no unit."""
    scaled, rest = {}, [type(part)]
    for field in attrs.fields(type(part)):
        value = getattr(part, field.name)
        ends = field.name in ("start", "end") and isinstance(value, tuple)
        kind = "places" if ends else SCALED.get(field.name)
        if kind is None:
            rest.append(round(value, 6) if isinstance(value, float) else value)
        else:
            scaled.setdefault(kind, []).extend(map(float, numbers(value)))
    return scaled, rest


def cases(name):
    """A generated case, and every tenth of the catalogue."""
    yield families()[name].propose((1.0, 30.0), random.Random(f"figure of {name}"))
    yield from (case.given for case in cases_of(name)[::10] if case.family == name)


@pytest.mark.parametrize("name", sorted(families()))
def test_a_figure_is_the_same_in_other_units(name):
    owner = families()[name]
    for given in cases(name):
        alike = prove(owner, given, (), residuals=False, second_opinion=False).decisions
        own, other = drawn(owner, given, alike), drawn(owner, restated(given, factor), alike)
        assert (own.caption, own.space) == (other.caption, other.space)
        assert len(own.parts) == len(other.parts)
        pairs = {}
        for part, same in zip(own.parts, other.parts, strict=True):
            (mine, rest), (theirs, again) = content(part), content(same)
            assert rest == again
            for kind, values in mine.items():
                pairs.setdefault(kind, []).extend(zip(values, theirs[kind], strict=True))
        for kind, both in pairs.items():
            most, there = max(both, key=lambda pair: abs(pair[0]))
            for x, y in both:
                assert abs(y * most - x * there) <= 1e-9 * abs(there * most), (kind, x, y)
