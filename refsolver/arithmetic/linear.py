"""Square systems that are exact on rationals; FLINT computes with whole numbers throughout.

Remove square roots before asking: with force densities N/L as unknowns the equilibrium
matrix of a pin-jointed frame has rational entries. What may be singular or of any shape
goes through :mod:`~refsolver.arithmetic.elimination`.
"""

from __future__ import annotations

from collections.abc import Sequence

from flint import fmpq, fmpq_mat

from refsolver.arithmetic.contract import Singular

__all__ = ["solve_exact"]


def solve_exact(
    matrix: Sequence[Sequence[fmpq | int]], right: Sequence[fmpq | int], name: str
) -> list[fmpq]:
    """The exact solution of a square system; Singular(name) where there is not just one.

    Raises TypeError for an entry that is neither a rational nor an integer, ValueError for
    rows that do not make a square.
    """
    if not right and not matrix:
        return []
    try:
        solution = _exact(matrix).solve(_exact([[x] for x in right]))
    except ZeroDivisionError:
        raise Singular(name) from None
    return [solution[i, 0] for i in range(len(right))]


def _exact(matrix: Sequence[Sequence[fmpq | int]]) -> fmpq_mat:
    for row in matrix:
        for x in row:
            if not (type(x) is int or isinstance(x, fmpq)):
                raise TypeError(f"an exact matrix holds rationals and integers, not {x!r}")
    return fmpq_mat(matrix)
