"""Mass moments of inertia of composite bodies: joining, cutting out, scaling; refusals."""

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.mass_moments.composite import (
    COEFFICIENTS,
    TWO_SIZES,
    BodiesAboutAxis,
    Body,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("mass-moments/composite")
MOMENT = View("moment of inertia")
DISC = "disc or solid cylinder"
TINY = fmpq(1, 10**20)

sizes = st.integers(1, 12).map(fmpq)
shapes = st.sampled_from(sorted(COEFFICIENTS))


def body(mass, shape, size, distance, **more):
    second = {"second": size / 2} if shape in TWO_SIZES else {}
    return Body(mass, shape, size, distance, **second, **more)


def outcomes(case, *views):
    reference = prove(FAMILY, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def moment(*bodies):
    (found,) = outcomes(BodiesAboutAxis(bodies), MOMENT)
    return found.enclosure.middle


def test_a_rod_about_its_end_is_a_third_of_m_l_squared():
    """University Physics, volume 1 (OpenStax), section 10.5: I = m L^2 / 3."""
    rod = Body(fmpq(6), "rod across the axis", fmpq(2), fmpq(1))
    answers = FAMILY.solve(BodiesAboutAxis((rod,)), DoubleArithmetic(), FAMILY.rule_set()).answers
    assert answers["moment of inertia"] == pytest.approx(8)
    assert answers["radius of gyration"] == pytest.approx((4 / 3) ** 0.5)


@given(st.lists(st.tuples(sizes, shapes, sizes, sizes), min_size=2, max_size=4))
@settings(max_examples=25, deadline=None)
def test_bodies_together_have_the_sum_of_their_moments(rows):
    bodies = [body(*row) for row in rows]
    assert abs(moment(*bodies) - sum(moment(b) for b in bodies)) <= TINY


@given(sizes, shapes, sizes, sizes, sizes)
@settings(max_examples=25, deadline=None)
def test_lengths_scale_the_moment_by_their_square(mass, shape, size, distance, factor):
    one = moment(body(mass, shape, size, distance))
    assert (
        abs(moment(body(mass, shape, size * factor, distance * factor)) - one * factor**2) <= TINY
    )


@given(sizes, shapes, sizes, sizes)
@settings(max_examples=25, deadline=None)
def test_what_is_cut_out_again_leaves_the_rest(mass, shape, size, distance):
    rest, extra = Body(fmpq(7), DISC, fmpq(2)), body(mass, shape, size, distance)
    assert abs(moment(rest, extra, attrs.evolve(extra, kind="hole")) - moment(rest)) <= TINY


def test_refusals():
    disc = Body(fmpq(2), DISC, fmpq(1))
    k = View("radius of gyration")
    (nothing,) = outcomes(BodiesAboutAxis((disc, attrs.evolve(disc, kind="hole"))), k)
    assert nothing.reason == "not defined" and "leaves no mass" in nothing.evidence
    far = Body(fmpq(1), distance=fmpq(3), kind="hole")
    (negative,) = outcomes(BodiesAboutAxis((disc, far)), k)
    assert negative.reason == "not defined" and "different signs" in negative.evidence


@pytest.mark.parametrize("shape", [s for s in COEFFICIENTS if s != "point mass"])
def test_a_body_without_size_is_refused(shape):
    with pytest.raises(ValueError, match="needs a size"):
        Body(fmpq(1), shape)


def test_a_second_size_belongs_to_two_shapes():
    with pytest.raises(ValueError, match="a hollow cylinder needs a second size"):
        Body(fmpq(1), "hollow cylinder", fmpq(1))
    with pytest.raises(ValueError, match="a ring has no second size"):
        Body(fmpq(1), "ring", fmpq(1), second=fmpq(1))


@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(kappa):
    for seed in range(6):
        case = FAMILY.propose(kappa, random.Random(seed))
        reference = prove(FAMILY, case, asks_of(FAMILY, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = FAMILY.figure(case, FAMILY.solve(case, ar, FAMILY.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize("target", [1e2, 1e6])
def test_generated_moments_cancel_as_asked(target):
    case = FAMILY.propose((target, target * 1.01), random.Random(3))
    left = moment(*case.bodies)
    size = sum((moment(attrs.evolve(b, kind="solid")) for b in case.bodies), fmpq(0))
    assert target / 3 < float((size / left).p) / float((size / left).q) < target * 3


def test_every_filled_row_matters():
    case = FAMILY.filled({"bodies": 5}, random.Random(3))
    for i in range(5):
        assert moment(*case.bodies[:i], *case.bodies[i + 1 :]) != moment(*case.bodies)
