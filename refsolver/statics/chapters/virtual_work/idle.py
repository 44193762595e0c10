"""Whether the forces on a mechanism do work at all as it moves.

Where no torsion spring acts, the derivative of the potential energy by the angle t is

    f(t) = A(t) + sum over i = 1..n of B_i(t) / sqrt(Q_i(t)),

A, B_i and Q_i trigonometric polynomials of degree 2 at most, Q_i the squares of the n
lengths that enter the energy not only by their squares. Such an f, on an interval shorter
than a turn where no Q_i vanishes, has at most 2^(n+1) (2n + 2) roots or is zero throughout:

With z = e^(it) let g = f Q_1 ... Q_n. It lies in the field of rational functions of z with
the n roots adjoined. The conjugates of g there differ in signs of roots; they are 2^n at
most, and their product N is a rational function of z. It is integral over the polynomials in
z and 1/z, as g is, and so is one of them; no conjugate grows faster than |z|^(2n + 2) or
|1/z|^(2n + 2). Hence N has at most 2 * 2^n (2n + 2) roots, among them those of f, or N is
zero, and then a conjugate of g, g itself, and f on that interval are.

A torsion spring that turns makes f grow by the same amount at every turn, so that it is not
zero throughout.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.chapters.virtual_work.energy import joined_by_length
from refsolver.statics.chapters.virtual_work.mechanism import Mechanism

__all__ = ["angles_that_tell", "nothing_does_work"]

_MOST_LENGTHS = 3
"""With more of them so many angles would have to be looked at that it takes too long."""

_MARGIN = 1e-9
"""Of a turn, from the ends: far more than a double loses in a tangent and back."""


def angles_that_tell(given: Mechanism, start: fmpq, end: fmpq) -> list[fmpq]:
    """tan(t/2) of so many angles between ``start`` and ``end`` (in turns) that the
    derivative of the energy is zero throughout where it is zero at all of them.

    Empty where angles cannot tell: a torsion spring turns, too many lengths enter the
    energy, or the range is too narrow.
    """
    lengths = len(joined_by_length(given))
    if lengths > _MOST_LENGTHS or any(spring.turns != 0 for spring in given.torsion_springs):
        return []
    count = 2 ** (lengths + 1) * (2 * lengths + 2) + 1
    low, high = float(start), float(end)
    found: dict[Fraction, None] = {}
    for i in range(count):
        turn = low + (high - low) * (i + 0.382) / count
        half = Fraction(math.tan(math.pi * turn)).limit_denominator(1000 * count)
        seen = math.atan(half) / math.pi
        if low + _MARGIN < seen + round(turn - seen) < high - _MARGIN:
            found[half] = None
    return [fmpq(x.numerator, x.denominator) for x in found] if len(found) == count else []


def nothing_does_work(
    given: Mechanism,
    first: Callable[[Number, Number], Number],
    start: fmpq,
    end: fmpq,
    ar: Arithmetic,
) -> list[tuple[fmpq, Number]]:
    """Proves that ``first`` is zero between two angles; empty where it is not, or not proven.

    ``first`` is the derivative of the energy, of the cosine and the sine of the angle. No
    two points that a length joins meet there (:mod:`.meeting_points`). What
    is returned is the proof: tan(t/2) of the angles that tell, and the zero at each.
    """
    zeros = []
    for half in angles_that_tell(given, start, end):
        square = 1 + half * half
        value = first(ar.bring((1 - half * half) / square), ar.bring(2 * half / square))
        if ar.sign(value, f"virtual work where tan(t/2) = {half}"):
            return []
        zeros.append((half, value))
    return zeros
