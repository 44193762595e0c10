"""Condition numbers against those that can be written down."""

from __future__ import annotations

import math

import pytest
from flint import ctx, fmpq

from refsolver.arithmetic.exact import Turn, negated, square_root
from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.force_systems.parallel_forces import OnLine, OnLineGivens
from refsolver.statics.conditioning import condition_number, condition_numbers
from refsolver.statics.contract import Solution
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.registry import family

PLANE = family("concurrent-forces/plane-resultant")
LINE = family("force-systems/parallel-line")
BELT = family("friction/belt")
BEAM = family("beams/internal-forces")


def on_line(*pairs):
    return OnLineGivens(tuple(OnLine(fmpq(force), fmpq(at)) for force, at in pairs))


def pulls_at(*pairs):
    """Pulls as sizes and turns."""
    return PlaneForces(tuple(PlaneForce(Polar(fmpq(a), ByAngle(Turn(b)))) for a, b in pairs))


class _Refusing(type(LINE)):
    def solve(self, given, ar, rules):
        return Solution({name: NoAnswer("no point") for name in self.answers})


class _Unsolved(type(LINE)):
    def solve(self, given, ar, rules):
        raise ArithmeticError("as stated")


def test_a_difference_loses_what_it_cancels():
    """(a + b) / |a - b|: Higham, Accuracy and Stability of Numerical Algorithms, section 1.7."""
    found = condition_numbers(LINE, on_line((100, 1), (-96, 3)))
    assert found[View("resultant", "value")] == pytest.approx(196 / 4)
    # each product F x counts twice, once for each factor; the place is their quotient
    assert found[View("moment", "value")] == pytest.approx(2 * (100 + 288) / 188)
    place = (100 - 288) / 4
    by_hand = (100 * abs(1 - place) + 96 * abs(3 - place) + 100 + 288) / (4 * abs(place))
    assert found[View("position", "value")] == pytest.approx(by_hand)
    assert condition_number(LINE, on_line((100, 1), (-96, 3))) == max(found.values())


def test_the_power_of_a_rope_around_a_post():
    """T1 = T2 exp(mu beta): relative changes come through as 1, mu beta and mu beta."""
    case = BELT.givens(friction=fmpq(3, 10), lap=Turn(fmpq(2)), tension=fmpq(800))
    found = condition_numbers(BELT, case)
    assert found[View("slack", "value")] == pytest.approx(1 + 2 * 0.3 * 4 * math.pi)


def test_zeros_angles_and_what_is_refused_have_none():
    # all but the moment is zero or refused, and the moment of a pair does not cancel
    found = condition_numbers(LINE, on_line((5, 2), (-5, 9)))
    assert found[View("moment", "value")] == pytest.approx(2 * (10 + 45) / 35)
    assert not {"resultant", "position"} & {view.answer for view in found}
    pulls = PlaneForces((PlaneForce(Components((fmpq(3), fmpq(4)))),))
    assert "angle" not in {view.take for view in condition_numbers(PLANE, pulls)}
    balanced = condition_numbers(PLANE, pulls_at((7, fmpq(1, 12)), (7, fmpq(7, 12))))
    assert "resultant" not in {view.answer for view in balanced}
    assert condition_number(_Refusing(), on_line((5, 2))) is None


def test_a_zero_that_only_algebra_proves_is_no_obstacle():
    """The roots of 2 and 8 less that of 18 are nothing; their moment is -4 roots of 2."""
    two, eight, eighteen = (square_root(fmpq(n)) for n in (2, 8, 18))
    forces = zip((two, eight, negated(eighteen)), (1, 2, 3), strict=True)
    case = OnLineGivens(tuple(OnLine(force, fmpq(at)) for force, at in forces))
    found = condition_numbers(LINE, case)
    assert found[View("moment", "value")] == pytest.approx(2 * (1 + 4 + 9) / 4)
    assert not {"resultant", "position"} & {view.answer for view in found}


def test_an_answer_that_is_refused_leaves_the_others():
    class Partly(type(LINE)):
        def solve(self, given, ar, rules):
            whole = super().solve(given, ar, rules)
            return Solution({**whole.answers, "resultant": NoAnswer("no point")})

    case = on_line((100, 1), (-96, 3))
    whole, partly = condition_numbers(LINE, case), condition_numbers(Partly(), case)
    assert partly == {view: k for view, k in whole.items() if view.answer != "resultant"}
    refused = Catalogue().read("beams/internal-forces/too-many-hinges").given
    assert condition_numbers(BEAM, refused) == {}


def test_a_function_counts_in_the_middle_of_each_piece():
    case = Catalogue().read("beams/internal-forces/diagrams-01").given
    answers = {view.answer for view in condition_numbers(BEAM, case)}
    assert {"shear", "moment"} <= answers
    places = {view.at for view in condition_numbers(BEAM, case) if view.answer == "shear"}
    ends = sorted({fmpq(0), *(load.at for load in case.forces), case.length})
    assert places <= {(a + b) / 2 for a, b in zip(ends, ends[1:], strict=False)}


def test_the_precision_of_the_process_is_restored():
    with ctx.workprec(77):
        hair = 1 - fmpq(1, 10**30)
        nearly = condition_numbers(PLANE, pulls_at((1, fmpq(17, 360)), (-hair, fmpq(17, 360))))
        assert ctx.prec == 77
        assert nearly[View("resultant", "magnitude")] > 1e30
        with pytest.raises(ArithmeticError, match="as stated"):
            condition_numbers(_Unsolved(), on_line((5, 2)))
        assert ctx.prec == 77
