"""What a signal carries: the prover and the reports read names and reasons from it."""

from __future__ import annotations

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided


def test_a_signal_names_its_decision():
    undecided = Undecided("sign of Y")
    assert (undecided.name, undecided.why) == ("sign of Y", "the enclosure is too wide")
    assert str(undecided) == "undecided: sign of Y (the enclosure is too wide)"
    assert Undecided("sign of Y", "so").why == "so"
    against = Contradiction("sign of Y", 1, "proven -1")
    assert against.name == "sign of Y"
    assert str(against) == "decision 'sign of Y' was +1 but here it is proven -1"
    assert Singular("frame").name == "frame" and str(Singular("frame")) == "singular: frame"
