"""Systems with irrational entries, worked by hand."""

from __future__ import annotations

from refsolver.arithmetic.algebraic import AlgebraicArithmetic
from refsolver.arithmetic.exact import rational


def test_whole_loads_on_an_irrational_frame():
    """[[root 2, 1], [1, root 2]] x = (2, 0) has the solution (2 root 2, -2)."""
    ar = AlgebraicArithmetic()
    r = ar.sqrt(rational(2))
    one = rational(1)
    x, y = ar.solve_linear([[r, one], [one, r]], [rational(2), rational(0)], "frame")
    assert ar.sign(x - 2 * r, "x") == 0 and ar.sign(y + 2, "y") == 0
    assert ar.decisions["frame"] == 1
    assert ar.solve_linear([[r, one], [one, r]], [rational(0)] * 2, "idle") == [0, 0]
