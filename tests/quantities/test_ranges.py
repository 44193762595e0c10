"""Views of one direction in several ranges of angle, asked together."""

import pytest
from flint import fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.kinds import VectorKind
from refsolver.quantities.views import RANGES, View, checked, evaluate


@pytest.mark.parametrize("vector", [(-3, 2), (3, -2), (3, 2), (-3, -2), (0, -2), (-3, 0)])
def test_every_range_of_one_direction_survives_the_second_opinion(vector):
    # "-90..90" and "0..90" fold to opposite signs of y: their decisions may share no name.
    kind = VectorKind(FORCE, 2)
    views = [checked(View("R", "angle", range=span), kind) for span in RANGES]

    def angles(ar):
        u, v = (ar.bring(fmpq(x)) for x in vector)
        return [float(evaluate(view, kind, (u, v), ar)) for view in views]

    proof = EnclosureArithmetic({})
    proven = angles(proof)
    assert angles(MultiprecisionArithmetic(200, proof.decisions)) == pytest.approx(proven)
