"""Linear algebra that is exact on rationals, and full rank proven for balls.

A matrix is a sequence of rows of equal length. The exact functions take rationals and
integers; FLINT computes with whole numbers throughout, so there is nothing to round.
Remove square roots before asking: with force densities N/L as unknowns the equilibrium
matrix of a pin-jointed frame has rational entries.
"""

from __future__ import annotations

from collections.abc import Sequence

from flint import arb, arb_mat, fmpq, fmpq_mat

from refsolver.arithmetic.contract import Singular

__all__ = ["exact_rank", "null_space", "proven_full_rank", "solve_exact"]


def exact_rank(matrix: Sequence[Sequence[fmpq | int]]) -> int:
    """The rank. For m equations in n unknowns: n - rank free ones, m - rank idle equations."""
    return int(_exact(matrix).rank()) if matrix else 0


def null_space(matrix: Sequence[Sequence[fmpq | int]]) -> list[list[fmpq]]:
    """A basis of all x with matrix x = 0, as many vectors as columns less the rank.

    Each vector has 1 in one free place and 0 in the other free places, and the basis is
    unique with that. For an equilibrium matrix (a row for each equation of a joint, a
    column for each member) the vectors are its states of self-stress; for the transposed
    matrix they are its mechanisms, rigid motions included where it is not supported.
    Raises ValueError for a matrix without rows, which has no known number of columns.
    """
    if not matrix:
        raise ValueError("a matrix without rows has no known number of columns")
    reduced, rank = _exact(matrix).rref()
    columns = reduced.ncols()
    pivots = [next(j for j in range(columns) if reduced[i, j] != 0) for i in range(rank)]
    free = [j for j in range(columns) if j not in pivots]
    return [_null_vector(reduced, pivots, place) for place in free]


def _null_vector(reduced: fmpq_mat, pivots: list[int], place: int) -> list[fmpq]:
    vector = [fmpq(0)] * reduced.ncols()
    vector[place] = fmpq(1)
    for i, pivot in enumerate(pivots):
        vector[pivot] = -reduced[i, place]
    return vector


def solve_exact(
    matrix: Sequence[Sequence[fmpq | int]], right: Sequence[fmpq | int], name: str
) -> list[fmpq]:
    """The exact solution of a square system; Singular(name) where there is not just one."""
    if not right and not matrix:
        return []
    try:
        solution = _exact(matrix).solve(_exact([[x] for x in right]))
    except ZeroDivisionError:
        raise Singular(name) from None
    return [solution[i, 0] for i in range(len(right))]


def proven_full_rank(matrix: Sequence[Sequence[arb]]) -> bool:
    """Whether every matrix within the balls is proven to have full rank.

    Full rank is the smaller of the numbers of rows and columns. False proves nothing: it
    says only that at this precision the balls do not exclude a deficit.

    With M the midpoints of A (m rows, n <= m columns), A x = 0 gives (M^T A) x = 0, so a
    determinant of the n by n matrix M^T A that cannot vanish leaves only x = 0.
    """
    if not matrix or not matrix[0]:
        return True
    balls = arb_mat(matrix)
    if balls.ncols() > balls.nrows():
        balls = balls.transpose()
    if balls.ncols() < balls.nrows():
        balls = balls.mid().transpose() * balls
    determinant = balls.det()
    return bool(determinant > 0 or determinant < 0)


def _exact(matrix: Sequence[Sequence[fmpq | int]]) -> fmpq_mat:
    for row in matrix:
        for x in row:
            if not (type(x) is int or isinstance(x, fmpq)):
                raise TypeError(f"an exact matrix holds rationals and integers, not {x!r}")
    return fmpq_mat(matrix)
