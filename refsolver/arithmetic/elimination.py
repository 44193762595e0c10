"""Sparse elimination in whole fractions: rank, null vectors and solutions, all exact.

The equations of many bodies are sparse: a bar of a truss acts on two joints. Working only
on entries that are not zero, and taking next the equation and the unknown that spread
least (H. M. Markowitz, "The elimination form of the inverse and its application to linear
programming", Management Science 3, 1957), costs about as much as the frame has bars, where
a dense solve costs the cube of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from heapq import heapify, heappop, heappush
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Number

__all__ = ["Elimination"]


class Elimination:
    """A matrix of rationals, given by columns as row -> entry, brought to triangular form.

    ``pivots`` are pairs (row, column) in the order taken; ``idle`` are the rows that turned
    out to depend on them, ``free`` the columns without a pivot.
    """

    def __init__(self, columns: Sequence[Mapping[int, fmpq]], height: int) -> None:
        self._rows: list[dict[int, fmpq]] = [{} for _ in range(height)]
        self._holding: list[set[int]] = []
        for j, column in enumerate(columns):
            entries = {i: x for i, x in column.items() if x != 0}
            self._holding.append(set(entries))
            for i, x in entries.items():
                self._rows[i][j] = x
        self._steps: list[tuple[int, int, fmpq]] = []
        self.pivots: list[tuple[int, int]] = []
        self._eliminate()
        taken = {j for _, j in self.pivots}
        used = {i for i, _ in self.pivots}
        self.idle = tuple(i for i in range(height) if i not in used)
        self.free = tuple(j for j in range(len(columns)) if j not in taken)

    @property
    def rank(self) -> int:
        return len(self.pivots)

    def _eliminate(self) -> None:
        rows, holding = self._rows, self._holding
        queue = [(len(row), i) for i, row in enumerate(rows) if row]
        heapify(queue)
        done = [False] * len(rows)
        while queue:
            count, i = heappop(queue)
            row = rows[i]
            if done[i] or count != len(row):
                continue
            done[i] = True
            if not row:
                continue
            j = min(row, key=lambda k: len(holding[k]))
            self.pivots.append((i, j))
            for k in row:
                holding[k].discard(i)
            pivot = row[j]
            for target in holding[j]:
                self._subtract(target, i, rows[target][j] / pivot)
                heappush(queue, (len(rows[target]), target))
            holding[j] = set()

    def _subtract(self, target: int, source: int, factor: fmpq) -> None:
        """Takes ``factor`` times one row from another and forgets what became zero."""
        self._steps.append((target, source, factor))
        row, holding = self._rows[target], self._holding
        pivot = self.pivots[-1][1]
        for k, x in self._rows[source].items():
            if k == pivot:
                del row[k]
                continue
            old = row.get(k)
            if old is None:
                row[k] = -factor * x
                holding[k].add(target)
                continue
            new = old - factor * x
            if new == 0:
                del row[k]
                holding[k].discard(target)
            else:
                row[k] = new

    def solve(self, right: Mapping[int, Number]) -> tuple[dict[int, Number], dict[int, Number]]:
        """A solution with the free unknowns zero, and what is left of the idle equations.

        ``right`` holds fractions, or numbers of an arithmetic that takes rationals, by row.
        What is absent, there and in the results, is exactly zero: an unknown that no load
        reaches takes no arithmetic at all.
        """
        loads = {i: x for i, x in right.items() if not _vanishes(x)}
        for target, source, factor in self._steps:
            if source in loads:
                _take(loads, target, factor * loads[source])
        values: dict[int, Number] = {}
        for i, j in reversed(self.pivots):
            total = loads.pop(i, None)
            row = self._rows[i]
            for k, x in row.items():
                if k in values:
                    part = x * values[k]
                    total = -part if total is None else total - part
            if total is not None and not _vanishes(total):
                values[j] = total / row[j]
        return values, loads

    def null_vectors(self) -> list[dict[int, fmpq]]:
        """A basis of the unknowns that balance themselves, by column; one for a free column."""
        found = []
        for place in self.free:
            vector = {place: fmpq(1)}
            for i, j in reversed(self.pivots):
                row = self._rows[i]
                total = sum((x * vector[k] for k, x in row.items() if k in vector), fmpq(0))
                if total != 0:
                    vector[j] = -total / row[j]
            found.append(vector)
        return found

    def motions(self) -> list[dict[int, fmpq]]:
        """A basis of the combinations of equations that vanish, by row; one for an idle row.

        For equations of equilibrium they are the velocities of a motion that no unknown
        resists.
        """
        found = []
        for place in self.idle:
            vector = {place: fmpq(1)}
            for target, source, factor in reversed(self._steps):
                if target in vector:
                    _take(vector, source, factor * vector[target])
            found.append(vector)
        return found

    def determined(self) -> tuple[int, ...]:
        """The columns that have one value in every solution."""
        bound = {j for vector in self.null_vectors() for j in vector}
        return tuple(sorted(j for _, j in self.pivots if j not in bound))


def _vanishes(x: Any) -> bool:
    return isinstance(x, fmpq) and x == 0


def _take(numbers: dict[int, Number], place: int, part: Number) -> None:
    """Takes a part from the number at a place, where nothing stands for zero."""
    if place not in numbers:
        numbers[place] = -part
        return
    left = numbers[place] - part
    if _vanishes(left):
        del numbers[place]
    else:
        numbers[place] = left
