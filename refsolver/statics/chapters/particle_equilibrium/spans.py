"""What a few directions span, decided exactly: parallel, coplanar, enough, too many.

Everything rests on one function, :func:`wedge`: the numbers that vanish exactly where
directions are dependent (the exterior product of linear algebra). In the plane that is
x1 y2 - x2 y1; in space the vector product of two and the triple product of three. No
square root is taken, so that directions given by rational runs are decided rationally.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.vectors import Numbers, cross, cross_plane, dot

__all__ = ["Basis", "basis_of", "coefficients", "lies_in", "wedge"]


def wedge(directions: Sequence[Numbers]) -> Numbers:
    """Numbers that are all zero where the directions are dependent; none where they must be.

    For no direction at all it is empty too.
    """
    if not directions or len(directions) > len(directions[0]):
        return ()
    if len(directions) == 1:
        return directions[0]
    if len(directions) == 3:
        return (dot(directions[0], cross(directions[1], directions[2])),)
    a, b = directions
    return (cross_plane(a, b),) if len(a) == 2 else cross(a, b)


@attrs.frozen
class Basis:
    """The first independent ones among some directions, by their places in the list."""

    places: tuple[int, ...]
    directions: tuple[Numbers, ...]
    wedge: Numbers

    @property
    def rank(self) -> int:
        return len(self.places)


def basis_of(directions: Sequence[Numbers], names: Sequence[str], ar: Arithmetic) -> Basis:
    """Each direction in turn is taken where it is proven independent of those taken before."""
    places: list[int] = []
    taken: list[Numbers] = []
    extent: Numbers = ()
    for place, direction in enumerate(directions):
        wider = wedge([*taken, direction])
        words = " and ".join(names[i] for i in [*places, place])
        if not _vanishes(wider, f"{words} independent", ar):
            places.append(place)
            taken.append(direction)
            extent = wider
    return Basis(tuple(places), tuple(taken), extent)


def lies_in(vector: Numbers, basis: Basis, name: str, ar: Arithmetic) -> bool:
    """Whether the vector is proven to be a combination of the basis."""
    return _vanishes(wedge([*basis.directions, vector]), f"{name} outside", ar)


def coefficients(vector: Numbers, basis: Basis) -> list[Number]:
    """The combination of the basis that gives ``vector``, which must lie in it.

    Cramer's rule, with the wedge in the place of the determinant.
    """
    if basis.rank == 0:
        return []
    square = dot(basis.wedge, basis.wedge)
    found = []
    for i in range(basis.rank):
        exchanged = [*basis.directions[:i], vector, *basis.directions[i + 1 :]]
        if len(basis.wedge) == 1 and basis.rank > 1:
            found.append(wedge(exchanged)[0] / basis.wedge[0])
        else:
            found.append(dot(wedge(exchanged), basis.wedge) / square)
    return found


def _vanishes(numbers: Numbers, name: str, ar: Arithmetic) -> bool:
    if len(numbers) == 1:
        return ar.sign(numbers[0], name) == 0
    return all(
        ar.sign(x, f"{name}: {letter}") == 0 for x, letter in zip(numbers, "xyz", strict=False)
    )
