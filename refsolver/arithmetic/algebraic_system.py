"""Linear systems of the algebraic arithmetic: proven singular, proven regular, solved."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NoReturn, TypeGuard, cast

from flint import arb, arb_mat, fmpq, fmpq_mat

from refsolver.arithmetic.algebraic_number import (
    AlgebraicNumber,
    Real,
    Unseparated,
    as_real,
    ball_of,
    bits_to_settle,
    needed_bits,
    within_bound,
)
from refsolver.arithmetic.contract import NotAlgebraic, Number, Singular
from refsolver.arithmetic.linear import solve_exact
from refsolver.arithmetic.separation import Bounds, linear_system

__all__ = ["LinearSystem"]


class LinearSystem:
    """``matrix`` x = ``right``, square; ``name`` is the decision whether it is regular."""

    def __init__(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> None:
        self._rows = [[as_real(x) for x in row] for row in matrix]
        self._right = [as_real(x) for x in right]
        self._name = name

    def solution(self) -> list[Real]:
        """The solution of a matrix proven regular.

        Raises Singular for one proven singular, else Undecided or NotAlgebraic.
        """
        if not _all_rational(self._rows):
            return self._by_balls()
        if _all_rational([self._right]):
            return list(solve_exact(self._rows, cast("list[fmpq]", self._right), self._name))
        return self._by_inverse(self._rows)

    def bounds_of_unknown(self, i: int) -> Bounds:
        """By Cramer's rule, for an unknown of a regular algebraic system."""
        return self._unknowns[i]

    @cached_property
    def _unknowns(self) -> list[Bounds]:
        return linear_system([_bounds(row) for row in self._rows], _bounds(self._right))[1]

    def _by_inverse(self, rows: list[list[fmpq]]) -> list[Real]:
        """An exact inverse keeps to each unknown the field of the loads that reach it."""
        n = len(rows)
        try:
            inverse = fmpq_mat(rows).inv()
        except ZeroDivisionError:
            raise Singular(self._name) from None
        return [
            as_real(sum((self._right[j] * inverse[i, j] for j in range(n)), fmpq()))
            for i in range(n)
        ]

    def _by_balls(self) -> list[Real]:
        matrix = arb_mat([[ball_of(x) for x in row] for row in self._rows])
        try:
            loads = arb_mat([[ball_of(x)] for x in self._right])
            balls = matrix.solve(loads, algorithm="lu")
        except ZeroDivisionError:
            self._refuse()
        if all(isinstance(x, fmpq) and x == 0 for x in self._right):
            return self._right
        algebraic = _algebraic([*self._rows, self._right])
        return [
            AlgebraicNumber(balls[i, 0], algebraic, ("unknown", self, i))
            for i in range(len(self._right))
        ]

    def _refuse(self) -> NoReturn:
        """Raises, Singular only where the determinant is proven zero."""
        if _algebraic(self._rows):
            determinant = _determinant([[ball_of(x) for x in row] for row in self._rows])
            rows = [_bounds(row) for row in self._rows]
            bounds, _ = linear_system(rows, [None] * len(rows))
            if within_bound(determinant, bounds):
                raise Singular(self._name)
            raise Unseparated(self._name, needed_bits(determinant, bounds))
        needed = bits_to_settle([x for row in self._rows for x in row])
        if needed is None:
            raise NotAlgebraic(
                f"{self._name}: entries not known to be algebraic, and not proven regular"
            )
        raise Unseparated(self._name, needed)


def _determinant(rows: list[list[arb]]) -> arb:
    """A ball that narrows with the precision, for a singular matrix too.

    Each pivot is sought in all that is left. ``arb_mat.det`` seeks it in the next column
    only; where that one depends on those before, it stays as wide as the columns behind it.
    """
    total = arb(1)
    while rows:
        size, i, j = max(
            (x.abs_lower(), i, j) for i, row in enumerate(rows) for j, x in enumerate(row)
        )
        if not size > 0:
            return total * arb(0, _most(rows))
        pivot, taken = rows[i], rows[:i] + rows[i + 1 :]
        total *= pivot[j] if (i + j) % 2 == 0 else -pivot[j]
        rest = pivot[:j] + pivot[j + 1 :]
        rows = []
        for row in taken:
            factor = row[j] / pivot[j]
            others = row[:j] + row[j + 1 :]
            rows.append([x - factor * y for x, y in zip(others, rest, strict=True)])
    return total


def _most(rows: list[list[arb]]) -> arb:
    """Above any determinant of these rows: the product of their lengths (Hadamard)."""
    product = arb(1)
    for row in rows:
        product *= sum((x * x for x in row), arb(0)).abs_upper().sqrt()
    return product.abs_upper()


def _all_rational(rows: list[list[Real]]) -> TypeGuard[list[list[fmpq]]]:
    return all(isinstance(x, fmpq) for row in rows for x in row)


def _algebraic(rows: Sequence[Sequence[Real]]) -> bool:
    return all(isinstance(x, fmpq) or x.algebraic for row in rows for x in row)


def _bounds(row: Sequence[Real]) -> list[Bounds | None]:
    return [
        (Bounds.of_rational(x) if x else None) if isinstance(x, fmpq) else x.bounds for x in row
    ]
