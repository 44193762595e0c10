"""Output lines as a calculator file would state them, and numbers from texts."""

from __future__ import annotations

from fractions import Fraction

import pytest
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import read_criterion
from refsolver.calculators.lines import OutputLine
from refsolver.quantities.units import read_unit
from refsolver.quantities.views import View, checked, dimension_of
from refsolver.statics.registry import family


def number(text):
    return fmpq(Fraction(text).numerator, Fraction(text).denominator)


def output_line(view, unit, criterion, place="", owner="concurrent-forces/plane-resultant", **more):
    kind = family(owner).answers[view.answer].kind
    view = checked(view, kind)
    dimension = dimension_of(view, kind)
    unit = read_unit(unit)
    reason = {"reason": "a test"}
    return OutputLine(
        view, dimension, unit, place or view.take, "its label",
        read_criterion(criterion | reason, unit, dimension, "criterion"), **more,
    )  # fmt: skip


@pytest.fixture(scope="session")
def q():
    return number


@pytest.fixture(scope="session")
def exactly():
    return lambda text: Enclosure(number(text), number(text))


@pytest.fixture(scope="session")
def line():
    return output_line


@pytest.fixture(scope="session")
def size():
    criterion = {"relative": "0.1 %", "absolute": "0.01 lbf"}
    return output_line(View("resultant", "magnitude"), "lbf", criterion, "R")


@pytest.fixture(scope="session")
def turn():
    view = View("resultant", "angle", start="+y", toward="+x", range="0..360")
    return output_line(view, "deg", {"absolute": "0.01 deg"}, "A")
