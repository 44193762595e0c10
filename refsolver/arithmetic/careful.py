"""A calculator of some care: double precision that knows how far rounding may have taken it.

A number is a ball: its middle agrees with plain double precision within rounding, its radius
bounds what the rounding of the givens (a unit of the fifteenth figure) and of every operation
since can have made of it. What rounding alone can leave counts as zero, whatever the size of the
numbers at work: 1e-19 m^4 may be a good second moment, and 1e-9 lbf the rest of a sum of
thousands. This is running error analysis (J. H. Wilkinson, "Rounding Errors in Algebraic
Processes", 1963, from memory), done by ball arithmetic.

For replaying what calculators report: nothing is proven, a decision is never refused, and
the sign of a number too near zero to tell is 0. It works at the precision in force;
:func:`at_double_precision` sets it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any

import numpy
from flint import arb, arb_mat, ctx

from refsolver.arithmetic.bracketing import NoBracket, bracketed_root, scanned_roots
from refsolver.arithmetic.contract import Number, Singular, Undecided
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.naming import root_decisions, slope_name

__all__ = ["CarefulArithmetic", "at_double_precision", "known"]

_BITS = 53
_GIVENS = arb(1, 2.0**-46)
"""What a given is known to: handed over as text it may carry fifteen figures."""

_PRECISION = 2.0**-52
_VANISHING = 2.0**-40
_SCALINGS, _NEAR = 12, 30.0
_EASY = 2.0**-12
"""Of the norm of |inverse| |uncertainty|: below it doubles invert well enough."""

_MANY_BITS = 1024


def at_double_precision() -> AbstractContextManager[Any]:
    """Within it the middles of balls are rounded as doubles are."""
    found: AbstractContextManager[Any] = ctx.workprec(_BITS)
    return found


def known(x: float | arb) -> arb:
    """A given as it is known."""
    return arb(x) * _GIVENS


class CarefulArithmetic:
    """Balls as wide as rounding may have made them; a ball that holds zero has the sign 0.

    A division by such a ball is not a number; an overflow is infinite.
    """

    takes_rationals = True
    proves = False

    def __init__(self) -> None:
        self.decisions: dict[str, int] = {}

    def apart(self) -> CarefulArithmetic:
        return type(self)()

    def bring(self, x: Exact) -> Number:
        # A given number is typed in, 0.342 and not sin 20 degrees: no mistake is made in it.
        return known(evaluate(x))

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        if isinstance(angle, Turn | Radian):
            sine, cosine = self.radians(angle).sin_cos()
            return cosine, sine
        x, y = self.bring(angle.run), self.bring(angle.rise)
        length = (x * x + y * y).sqrt()
        return x / length, y / length

    def radians(self, angle: Angle) -> Number:
        if isinstance(angle, Turn):
            return self.bring(2 * angle.turns) * arb.pi()
        if isinstance(angle, Radian):
            return self.bring(angle.radians)
        return self.atan2(self.bring(angle.rise), self.bring(angle.run), slope_name(angle))

    def pi(self) -> Number:
        return arb.pi()

    def sqrt(self, x: Number) -> Number:
        # The caller knows that it is not negative; rounding, or a mistake, may not.
        if x > 0:
            return x.sqrt()
        middle = x.mid()
        root = middle.sqrt() if middle > 0 else arb(0)
        return arb(root, abs(x).upper().sqrt()) if x.contains(0) else root

    def atan2(self, y: Number, x: Number, name: str) -> Number:
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
        if sx == 0 and sy == 0:
            raise ValueError(f"{name}: the zero vector has no direction")
        if sy == 0:
            # The ball reaches to both sides of the cut.
            return y / x if sx > 0 else arb.pi() + y / x
        if sx == 0:
            return arb.pi() / (2 * sy) - x / y
        return arb.atan2(y, x)

    def cos(self, x: Number) -> Number:
        return x.cos()

    def sin(self, x: Number) -> Number:
        return x.sin()

    def exp(self, x: Number) -> Number:
        return x.exp()

    def log(self, x: Number) -> Number:
        return x.log()

    def cosh(self, x: Number) -> Number:
        return x.cosh()

    def sinh(self, x: Number) -> Number:
        return x.sinh()

    def asinh(self, x: Number) -> Number:
        return x.asinh()

    def size(self, x: Number) -> Number:
        return abs(x)

    def sign(self, x: Number, name: str) -> int:
        if x > 0:
            decided = 1
        elif x < 0:
            decided = -1
        elif x.is_finite():
            decided = 0
        else:
            raise Undecided(name, "not a number")
        self.decisions[name] = decided
        return decided

    def larger(self, a: Number, b: Number, name: str) -> Number:
        decided = self.sign(a - b, name)
        if decided:
            return a if decided > 0 else b
        # Either may be the larger: as unsure as the less known of them.
        likely = a if a.mid() >= b.mid() else b
        return arb(likely.mid(), max(a.rad(), b.rad()))

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Number]:
        """As in the contract; singular where a system as near as rounding may be singular."""
        solution = _solved([[arb(x) for x in row] for row in matrix], [arb(x) for x in right])
        self.decisions[name] = int(solution is not None)
        if solution is None:
            raise Singular(name)
        return solution

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Number:
        """As in the contract, from changes of sign alone; the slope says how wide the ball is."""
        try:
            found = bracketed_root(_middles(function), *_ends(bracket), _PRECISION, _VANISHING)
        except NoBracket as problem:
            raise Undecided(name, str(problem)) from None
        self.decisions[name] = 1
        return _around(found, function, slope)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Number]:
        """As in the contract, from the changes of sign that a scan sees."""
        try:
            found = scanned_roots(_middles(function), *_ends(bracket), None, _PRECISION, _VANISHING)
        except NoBracket as problem:
            raise Undecided(name, str(problem)) from None
        self.decisions.update(root_decisions(name, len(found)))
        return [_around(x, function, slope) for x in found]


def _ends(bracket: tuple[Exact, Exact]) -> tuple[float, float]:
    low, high = (float(evaluate(x)) for x in bracket)
    return low, high


def _middles(function: Callable[[Number], Number]) -> Callable[[float], float]:
    return lambda x: float(function(arb(x)))


def _around(
    root: float, function: Callable[[Number], Number], slope: Callable[[Number], Number]
) -> arb:
    """The root with the radius that the function's own uncertainty there gives it."""
    place = arb(root)
    change = function(place) / slope(place)
    found = arb(place, (abs(place) * _PRECISION).upper())
    return arb(found, abs(change).upper()) if change.is_finite() else found


@numpy.errstate(over="ignore", invalid="ignore")
def _solved(matrix: Sequence[Sequence[arb]], right: Sequence[arb]) -> list[arb] | None:
    """The solution with bounds by row and column; None where singular.

    With M = |inverse of A| |dA|, every system so near is regular where the spectral radius of
    M is below 1, and |x' - x| <= (I - M)^-1 |inverse of A| (|dA| |x| + |db|) (N. J. Higham,
    "Accuracy and Stability of Numerical Algorithms", theorem 7.4 and section 7.2, from
    memory). The radius does not depend on how rows and columns are scaled; that only keeps
    the numbers within range.
    """
    if not right:
        return []
    middles = numpy.array([[float(x) for x in row] for row in matrix])
    loads, unsure = numpy.array([float(x) for x in right]), _radii([right])[0]
    if not (numpy.isfinite(middles).all() and numpy.isfinite(loads).all()):
        raise ValueError("not a number")
    down, across = _scales(numpy.abs(middles))
    scale = down[:, None] * across
    system, loads, unsure = middles / scale, loads / down, unsure / down
    radii = _radii(matrix) / scale + _PRECISION * numpy.abs(system)
    found = _easily(system, loads, radii) or _in_many_figures(system, loads)
    if found is None:
        return None
    solution, size = found
    moved = size @ radii
    if not _below_half(moved):
        return None
    change = size @ (radii @ numpy.abs(solution) + unsure)
    radius = change + numpy.linalg.solve(numpy.identity(len(loads)) - moved, change)
    return [
        arb(float(x), float(r)) for x, r in zip(solution / across, radius / across, strict=True)
    ]


def _easily(system: Any, loads: Any, radii: Any) -> tuple[Any, Any] | None:
    """The solution and the sizes of the inverse in doubles; None where doubles may not do.

    The solution is refined once with a residual of more figures (Higham, chapter 12).
    """
    try:
        inverse = numpy.linalg.inv(system)
    except numpy.linalg.LinAlgError:
        return None
    size = numpy.abs(inverse)
    if not (size @ radii).sum(axis=1).max() < _EASY:
        return None
    solution = inverse @ loads
    long = numpy.longdouble
    residual = loads.astype(long) - system.astype(long) @ solution.astype(long)
    return solution + inverse @ residual.astype(float), size


def _in_many_figures(system: Any, loads: Any) -> tuple[Any, Any] | None:
    """As above, by balls of many bits; None where these do not show the matrix regular."""
    count = len(loads)
    with ctx.workprec(_MANY_BITS):
        try:
            inverse = arb_mat(system.tolist()).inv()
        except ZeroDivisionError:
            return None
        solution = inverse * arb_mat([[x] for x in loads.tolist()])
        rows = range(count)
        sizes = [[abs(float(inverse[i, j].mid())) for j in rows] for i in rows]
        return numpy.array([float(solution[i, 0].mid()) for i in rows]), numpy.array(sizes)


def _below_half(moved: Any) -> bool:
    """Whether the spectral radius of a matrix without negative entries is below a half.

    It is where some v > 0 has M v <= v / 2, which the solution of (I - 2 M) v = 1 then is
    (A. Berman and R. J. Plemmons, "Nonnegative Matrices in the Mathematical Sciences",
    theorem 6.2.3, from memory).
    """
    if not numpy.isfinite(moved).all():
        return False
    count = len(moved)
    try:
        tried = numpy.linalg.solve(numpy.identity(count) - 2 * moved, numpy.ones(count))
    except numpy.linalg.LinAlgError:
        return False
    return bool((tried > 0.5).all() and (moved @ tried <= 0.51 * tried).all())


def _scales(sizes: Any) -> tuple[Any, Any]:
    """Factors of rows and columns by which every row and column has a largest entry near 1.

    Roots of the largest entries, again and again (D. Ruiz, report RAL-TR-2001-034, from
    memory). A row or column of zeros keeps the factor 1.
    """
    down, across = numpy.ones(len(sizes)), numpy.ones(len(sizes))
    for _ in range(_SCALINGS):
        rows, columns = sizes.max(axis=1), sizes.max(axis=0)
        rows[rows == 0] = columns[columns == 0] = 1.0
        if max(rows.max(), columns.max(), 1 / rows.min(), 1 / columns.min()) < _NEAR:
            break
        rows, columns = numpy.sqrt(rows), numpy.sqrt(columns)
        sizes = sizes / (rows[:, None] * columns)
        down, across = down * rows, across * columns
    return down, across


def _radii(rows: Sequence[Sequence[arb]]) -> Any:
    return numpy.array([[0.0 if x.is_exact() else float(x.rad()) for x in row] for row in rows])
