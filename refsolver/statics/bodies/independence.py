"""How many equations of equilibrium are independent, and which unknowns they determine.

Exact where the geometry is rational, by elimination in whole fractions
(:class:`~refsolver.arithmetic.elimination.Elimination`); elsewhere by an elimination whose
pivots are decided by name.

Source of the method: counting independent equations by rank, G. Strang, "Linear Algebra and
Its Applications", chapter 2; motions and states of self-stress as the null spaces of the
equilibrium matrix, S. Pellegrino and C. R. Calladine, "Matrix analysis of statically and
kinematically indeterminate frameworks", Int. J. Solids and Structures 22, 1986 (both from
memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
from flint import fmpq
from flint.utils.flint_exceptions import DomainError

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.elimination import Elimination
from refsolver.arithmetic.exact import Angle, Exact, Turn

__all__ = [
    "OPAQUE",
    "Irrational",
    "Ranking",
    "Rationals",
    "Sparse",
    "exact_ranking",
    "proven_ranking",
]

Sparse = Sequence[Mapping[int, Number]]
"""A matrix by columns: the entries that may differ from zero, by row."""


class Irrational(ArithmeticError):
    """A decision was asked about a number that is not rational."""


class _Opaque:
    """Any number that is not known to be rational; whatever is made with it is one too."""

    def _opaque(self, *_: object) -> _Opaque:
        return self

    __add__ = __radd__ = __sub__ = __rsub__ = _opaque
    __mul__ = __rmul__ = __truediv__ = __rtruediv__ = __neg__ = _opaque


OPAQUE = _Opaque()


class Rationals:
    """The part of an arithmetic that stays within the rationals; the rest is ``OPAQUE``.

    It decides ranks and whatever is exact; Irrational is raised where a sign is asked of an
    opaque number.
    """

    def bring(self, x: Exact) -> fmpq | _Opaque:
        return x if isinstance(x, fmpq) else OPAQUE

    def cos_sin(self, angle: Angle) -> tuple[fmpq | _Opaque, fmpq | _Opaque]:
        if isinstance(angle, Turn):
            quarters = angle.turns * 4
            if quarters.q == 1:
                c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters.p) % 4]
                return fmpq(c), fmpq(s)
        return OPAQUE, OPAQUE

    def sqrt(self, x: fmpq | _Opaque) -> fmpq | _Opaque:
        if isinstance(x, _Opaque):
            return x
        try:
            return x.sqrt()
        except DomainError:
            return OPAQUE

    def size(self, x: fmpq | _Opaque) -> fmpq | _Opaque:
        return x if isinstance(x, _Opaque) else abs(x)

    def sign(self, x: fmpq | _Opaque, name: str) -> int:
        if isinstance(x, _Opaque):
            raise Irrational(f"{name}: not a rational number")
        return int(x > 0) - int(x < 0)

    def larger(self, a: fmpq | _Opaque, b: fmpq | _Opaque, name: str) -> fmpq | _Opaque:
        return a if self.sign(a - b, name) >= 0 else b

    def pi(self) -> _Opaque:
        return OPAQUE

    def radians(self, angle: Angle) -> _Opaque:
        return OPAQUE

    def atan2(self, y: object, x: object, name: str) -> _Opaque:
        return OPAQUE


@attrs.frozen
class Ranking:
    """Independent rows and columns, the columns that equilibrium determines, and the rows
    that take part in a motion which no unknown resists (known only where exact)."""

    rows: tuple[int, ...]
    columns: tuple[int, ...]
    determined: tuple[int, ...]
    motions: tuple[Mapping[int, fmpq], ...] = ()


def exact_ranking(found: Elimination) -> Ranking:
    """The ranking of an elimination in whole fractions."""
    determined = found.determined() if found.free else tuple(sorted(j for _, j in found.pivots))
    return Ranking(
        tuple(sorted(i for i, _ in found.pivots)),
        tuple(sorted(j for _, j in found.pivots)),
        determined,
        tuple(found.motions()),
    )


def proven_ranking(
    columns: Sparse,
    names: Sequence[str],
    keys: Sequence[str],
    ar: Arithmetic,
    name: str,
) -> Ranking:
    """Gauss-Jordan elimination, each pivot decided by name, without exchanging rows."""
    zero = ar.bring(fmpq(0))
    rows = [[column.get(i, zero) for column in columns] for i in range(len(names))]
    pivots: dict[int, int] = {}
    for j, key in enumerate(keys):
        pivot = _pivot(rows, pivots, j, f"{name}: {key} acts in", names, ar)
        if pivot is None:
            continue
        pivots[j] = pivot
        for i, row in enumerate(rows):
            if i != pivot:
                factor = row[j] / rows[pivot][j]
                rows[i] = [a - factor * b for a, b in zip(row, rows[pivot], strict=True)]
    free = [j for j in range(len(keys)) if j not in pivots]
    determined = tuple(
        j
        for j, i in pivots.items()
        if all(ar.sign(rows[i][f], f"{name}: {keys[j]} depends on {keys[f]}") == 0 for f in free)
    )
    return Ranking(tuple(sorted(pivots.values())), tuple(sorted(pivots)), determined)


def _pivot(
    rows: Sequence[Sequence[Number]],
    pivots: Mapping[int, int],
    column: int,
    name: str,
    names: Sequence[str],
    ar: Arithmetic,
) -> int | None:
    taken = set(pivots.values())
    for i, row in enumerate(rows):
        if i not in taken and ar.sign(row[column], f"{name} {names[i]}") != 0:
            return i
    return None
