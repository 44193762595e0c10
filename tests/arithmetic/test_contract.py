"""What a signal carries: the prover and the reports read names and reasons from it."""

from __future__ import annotations

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.exact import rational


def test_a_signal_names_its_decision():
    undecided = Undecided("sign of Y")
    assert (undecided.name, undecided.why) == ("sign of Y", "the enclosure is too wide")
    assert str(undecided) == "undecided: sign of Y (the enclosure is too wide)"
    assert Undecided("sign of Y", "so").why == "so"
    against = Contradiction("sign of Y", 1, "proven -1")
    assert against.name == "sign of Y"
    assert str(against) == "decision 'sign of Y' was +1 but here it is proven -1"
    assert Singular("frame").name == "frame" and str(Singular("frame")) == "singular: frame"


def test_trial_values_leave_the_decisions_of_a_derivative_alone():
    leaf = rational(3)
    ar = DerivativeArithmetic([leaf], {"x": 0})
    apart = ar.apart()
    assert apart.sign(apart.bring(leaf), "x") == 1  # neither replayed nor logged
    assert ar.decisions == {} and apart.decisions == {"x": 1}
