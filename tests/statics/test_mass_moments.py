"""Mass moments of inertia of composite bodies."""

import random

import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.chapters.mass_moments import COEFFICIENTS, BodiesAboutAxis, Body
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import family

FAMILY = family("mass-moments/composite")


@pytest.mark.parametrize("seed", range(5))
def test_point_masses_confirm_the_parallel_axis_theorem(seed):
    given = FAMILY.generate((1.0, 1e3), random.Random(seed))
    assert prove(FAMILY, given, asks_of(FAMILY, given)).residuals == "close"


def test_a_rod_about_its_end_is_a_third_of_m_l_squared():
    """University Physics, volume 1 (OpenStax), section 10.5: I = m L^2 / 3."""
    rod = Body(fmpq(6), "rod across the axis", fmpq(2), fmpq(1))
    answers = FAMILY.solve(BodiesAboutAxis((rod,)), DoubleArithmetic(), FAMILY.rule_set()).answers
    assert answers["moment of inertia"] == pytest.approx(8)
    assert answers["radius of gyration"] == pytest.approx((4 / 3) ** 0.5)


@pytest.mark.parametrize("shape", [s for s in COEFFICIENTS if s != "point mass"])
def test_a_body_without_size_is_refused(shape):
    with pytest.raises(ValueError, match="needs a size"):
        Body(fmpq(1), shape)
