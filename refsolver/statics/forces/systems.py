"""Systems of placed forces and of couples, in the plane and in space: what the chapters on
moments and on reduction share.

Right-handed axes. In the plane a moment is positive counter-clockwise; in space it is the
vector r x F. A force is placed at any point of its line of action (transmissibility).
Source: any text of statics, for instance R. C. Hibbeler, "Engineering Mechanics: Statics",
chapter 4 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, MOMENT
from refsolver.quantities.leaves import ByRun, Components, Polar, Vector
from refsolver.statics.contract import Column, Residual, many, point, quantity, text
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_rows, of_names_alone
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    cross,
    cross_plane,
    length,
    minus,
    unit_vector,
    vector,
)

__all__ = [
    "Placed",
    "PlaneCouple",
    "PlaneForceAt",
    "PlaneSystem",
    "SpaceCouple",
    "SpaceForceAt",
    "SpaceSystem",
    "along_axes",
    "arm_from",
    "distance_to_line",
    "force_columns",
    "is_zero",
    "is_zero_force",
    "moment_columns",
    "moment_gaps",
    "placed",
    "run_of",
    "size_of_areas",
    "sum_of",
    "sum_of_vectors",
    "triangle_moment",
    "turning_plane",
]


@attrs.frozen
class PlaneForceAt:
    force: Vector = vector_given(FORCE, "the force")
    at: tuple[Exact, ...] = point("a point of its line of action")
    name: str = text("what it is called")


@attrs.frozen
class SpaceForceAt:
    force: Vector = vector_given(FORCE, "the force", space=3)
    at: tuple[Exact, ...] = point("a point of its line of action", space=3)
    name: str = text("what it is called")


@attrs.frozen
class PlaneCouple:
    moment: Exact = quantity(MOMENT, "its moment, counter-clockwise positive")
    name: str = text("what it is called")


@attrs.frozen
class SpaceCouple:
    moment: Vector = vector_given(MOMENT, "its moment, a vector by the right-hand rule", space=3)
    name: str = text("what it is called")


def _something(forces: Sequence[Any], couples: Sequence[Any]) -> None:
    if not forces and not couples:
        raise ValueError("at least one force or couple is needed")


@attrs.frozen
class PlaneSystem:
    forces: tuple[PlaneForceAt, ...] = many(
        PlaneForceAt, "the forces with their places", minimum=0, default=()
    )
    couples: tuple[PlaneCouple, ...] = many(PlaneCouple, "the couples", minimum=0, default=())

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        _something(self.forces, self.couples)
        distinct_rows((self.forces, "force"), (self.couples, "couple"))


@attrs.frozen
class SpaceSystem:
    forces: tuple[SpaceForceAt, ...] = many(
        SpaceForceAt, "the forces with their places", minimum=0, default=()
    )
    couples: tuple[SpaceCouple, ...] = many(SpaceCouple, "the couples", minimum=0, default=())

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        _something(self.forces, self.couples)
        distinct_rows((self.forces, "force"), (self.couples, "couple"))


Placed: TypeAlias = tuple[Numbers, Numbers]
"""A force in numbers: (a point of its line, its components)."""


def placed(forces: Iterable[Any], ar: Arithmetic) -> list[Placed]:
    return [(brought(item.at, ar), vector(item.force, ar)) for item in forces]


def arm_from(at: Numbers, about: Numbers) -> Numbers:
    """The arm of a force: from the point about which moments are taken to its place."""
    return minus(at, about)


def turning_plane(arm: Numbers, force: Numbers, ar: Arithmetic) -> Number:
    """x F_y - y F_x."""
    return cross_plane(arm, force)


def sum_of(parts: Sequence[Number], ar: Arithmetic) -> Number:
    """The algebraic sum; zero of nothing."""
    if not parts:
        return ar.bring(rational(0))
    total = parts[0]
    for part in parts[1:]:
        total = total + part
    return total


def sum_of_vectors(parts: Sequence[Numbers], space: int, ar: Arithmetic) -> Numbers:
    """The sum along each axis; zeros of nothing."""
    return tuple(sum_of([part[i] for part in parts], ar) for i in range(space))


def is_zero(numbers: Numbers, name: str, ar: Arithmetic) -> bool:
    """Whether all components are zero, each decided as ``name along x`` ..."""
    return all(
        ar.sign(x, f"{name} along {letter}") == 0 for x, letter in zip(numbers, "xyz", strict=False)
    )


def is_zero_force(force: Vector, key: str, ar: Arithmetic) -> bool:
    if isinstance(force, Polar):
        return ar.sign(ar.bring(force.magnitude), f"magnitude of {key}") == 0
    return is_zero(brought(force.along, ar), key, ar)


def run_of(force: Vector, ar: Arithmetic) -> Numbers:
    """A vector along the line of action, without the square root of a unit vector.

    Its length carries no meaning; it is zero only for a force of zero components.
    """
    if isinstance(force, Components):
        return brought(force.along, ar)
    if isinstance(force.direction, ByRun):
        return brought(force.direction.run, ar)
    return unit_vector(force.direction, ar)


def distance_to_line(arm: Numbers, run: Numbers, ar: Arithmetic) -> Number:
    """The perpendicular distance |r x d| / |d| from a point to a line along ``run``."""
    if len(run) == 2:
        return ar.size(cross_plane(arm, run)) / length(run, ar)
    return length(cross(arm, run), ar) / length(run, ar)


def along_axes(space: int) -> list[str]:
    return [f"along {letter}" for letter in "xyz"[:space]]


def force_columns(space: int) -> tuple[Column, ...]:
    return tuple(Column(f"F {axis}", FORCE) for axis in along_axes(space))


def moment_columns(space: int) -> tuple[Column, ...]:
    if space == 2:
        return (Column("moment", MOMENT),)
    return tuple(Column(f"M {axis}", MOMENT) for axis in along_axes(space))


def triangle_moment(pole: Numbers, at: Numbers, force: Numbers) -> Numbers:
    """The moment of a force about a pole by areas, another route than r x F.

    Projected on each coordinate plane it is twice the signed area of the triangle with
    corners at the pole, the place of the force and the head of its arrow (the shoelace
    formula). One component in the plane, three in space.
    """
    head = added(at, force)
    if len(at) == 2:
        return (_twice_area(pole, at, head, 0, 1),)
    return (
        _twice_area(pole, at, head, 1, 2),
        _twice_area(pole, at, head, 2, 0),
        _twice_area(pole, at, head, 0, 1),
    )


def size_of_areas(pole: Numbers, at: Numbers, force: Numbers, ar: Arithmetic) -> Number:
    """A bound of the products that cancel in :func:`triangle_moment`, also for a zero force."""
    reach = sum_of([ar.size(x) for x in (*pole, *at, *force)], ar)
    return reach * reach


def _twice_area(a: Numbers, b: Numbers, c: Numbers, i: int, j: int) -> Number:
    return (a[i] * b[j] - b[i] * a[j]) + (b[i] * c[j] - c[i] * b[j]) + (c[i] * a[j] - a[i] * c[j])


def moment_gaps(
    system: Sequence[Placed],
    couples: Sequence[Numbers],
    equivalent: Placed,
    couple: Numbers,
    ar: Arithmetic,
) -> list[Residual]:
    """Moments of a system less those of its equivalent about three points not in a line.

    Two systems of forces are equivalent exactly when their moments about three such
    points agree, so this verifies force and couple together (in the plane the three-moment
    form of the equations of equilibrium). Couples have one component in the plane.
    """
    residuals = []
    for number, pole in enumerate(_three_points(len(equivalent[0]), ar), 1):
        moments = [*(triangle_moment(pole, *force) for force in system), *couples]
        reduced = added(triangle_moment(pole, *equivalent), couple)
        gaps = minus(sum_of_vectors(moments, len(couple), ar), reduced)
        size = _size_of_terms(pole, [*system, equivalent], [*couples, couple], ar)
        residuals += [
            Residual(f"moment {axis} about point {number}", gap, size)
            for axis, gap in zip("xyz", gaps, strict=False)
        ]
    return residuals


_POLES = ((3, -2, 5), (-4, 1, 2), (1, 7, -3))


def _three_points(space: int, ar: Arithmetic) -> list[Numbers]:
    return [tuple(ar.bring(rational(x)) for x in pole[:space]) for pole in _POLES]


def _size_of_terms(
    pole: Numbers, forces: Sequence[Placed], couples: Sequence[Numbers], ar: Arithmetic
) -> Number:
    total = ar.bring(rational(0))
    for at, force in forces:
        total = total + size_of_areas(pole, at, force, ar)
    for couple in couples:
        total = total + sum_of([ar.size(x) for x in couple], ar)
    return total
