"""Free bodies: any number of bodies, particles and joints, and the equations of each.

A family lists its bodies, its *unknowns* (each a force or couple of unknown size on the
bodies it touches, equal and opposite where it joins two) and its loads.
:func:`equations` writes for each body the sum of the forces along each axis and the sum of
the moments about the origin; :mod:`.equilibrium` solves them. Give forces
along :func:`heading`, which takes no square root, so that an unknown of a bar is its force
density N/L and rational statements leave rational equations.

Source of the method: any text of statics on free bodies, for instance R. C. Hibbeler,
"Engineering Mechanics: Statics", chapter 5 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Slope
from refsolver.quantities.leaves import AXIS, ByAngle, ByRun, Direction
from refsolver.statics.bodies.independence import Sparse
from refsolver.statics.vectors import Numbers, brought, cross, cross_plane, unit_vector

__all__ = [
    "Action",
    "Body",
    "Equations",
    "Unknown",
    "between",
    "couple_on",
    "equations",
    "force_on",
    "heading",
    "moment_of",
    "pull_on",
]


def heading(direction: Direction, ar: Arithmetic) -> Numbers:
    """A vector along a direction, of any length: rational where the statement is rational."""
    if isinstance(direction, ByRun):
        return brought(direction.run, ar)
    if isinstance(direction, ByAngle) and isinstance(direction.angle, Slope):
        (i, along), (j, across) = AXIS[direction.start], AXIS[direction.toward]
        parts: list[Number] = [None, None]
        parts[i] = ar.bring(direction.angle.run) * along
        parts[j] = ar.bring(direction.angle.rise) * across
        return tuple(parts)
    return unit_vector(direction, ar)


@attrs.frozen
class Body:
    """A rigid body, or a particle or pinned joint (``rigid`` false: no moment equations)."""

    name: str
    rigid: bool = True


@attrs.frozen
class Action:
    """A force and a moment about the origin on one body.

    ``force`` has 2 or 3 components; ``moment`` 1 (plane, counter-clockwise positive), 3
    (space), or none on a particle.
    """

    body: str
    force: Numbers
    moment: Numbers = ()

    def opposite(self, body: str) -> Action:
        """The same line and size, reversed, on another body."""
        return Action(body, tuple(-x for x in self.force), tuple(-x for x in self.moment))


def moment_of(point: Numbers, force: Numbers) -> Numbers:
    """The moment about the origin of a force at a point: 1 number in the plane, 3 in space."""
    return (cross_plane(point, force),) if len(force) == 2 else cross(point, force)


def force_on(body: str, force: Numbers, point: Numbers) -> Action:
    """A force on a rigid body at a point."""
    return Action(body, force, moment_of(point, force))


def pull_on(particle: str, force: Numbers) -> Action:
    """A force on a particle."""
    return Action(particle, force)


def couple_on(body: str, moment: Numbers) -> Action:
    """A couple: one number in the plane, three components in space."""
    nothing = 0 * moment[0]
    return Action(body, (nothing,) * (2 if len(moment) == 1 else 3), moment)


@attrs.frozen
class Unknown:
    """What one unit of an unknown does to the bodies it touches."""

    key: str
    actions: tuple[Action, ...]


def between(key: str, action: Action, other: str) -> Unknown:
    """An unknown of a connection: ``action`` on its body, reversed on the other one."""
    return Unknown(key, (action, action.opposite(other)))


@attrs.frozen
class Equations:
    """``columns`` of coefficients and ``right`` by row; a row an equation.

    What is absent is exactly zero.
    """

    names: tuple[str, ...]
    keys: tuple[str, ...]
    columns: Sparse
    right: Mapping[int, Number]

    def left_over(self, values: Mapping[str, Number], zero: Number) -> list[Number]:
        """What is left of each equation when the values are put back."""
        residuals = [-self.right[i] if i in self.right else zero for i in range(len(self.names))]
        for column, key in zip(self.columns, self.keys, strict=True):
            for i, coefficient in column.items():
                residuals[i] = residuals[i] + coefficient * values[key]
        return residuals

    def square(
        self, rows: Sequence[int], columns: Sequence[int], zero: Number
    ) -> tuple[list[list[Number]], list[Number]]:
        """Some of the equations in some of the unknowns, every entry written out."""
        chosen = [self.columns[j] for j in columns]
        matrix = [[column.get(i, zero) for column in chosen] for i in rows]
        return matrix, [self.right.get(i, zero) for i in rows]


def equations(
    bodies: Sequence[Body], space: int, unknowns: Sequence[Unknown], loads: Sequence[Action]
) -> Equations:
    """The equilibrium equations of all bodies. Two unknowns of one key are a ValueError."""
    letters = "xyz"[:space]
    turning = ("moments",) if space == 2 else tuple(f"moments about {a}" for a in letters)
    names: list[str] = []
    first: dict[str, int] = {}
    for body in bodies:
        first[body.name] = len(names)
        words = [f"forces along {a}" for a in letters] + (list(turning) if body.rigid else [])
        names += [f"{body.name}: {word}" if body.name else word for word in words]
    keys = tuple(unknown.key for unknown in unknowns)
    if len(set(keys)) < len(keys):
        raise ValueError(f"two unknowns go by one key: {', '.join(keys)}")
    columns = [_column(unknown.actions, first) for unknown in unknowns]
    right = {i: -x for i, x in _column(loads, first).items()}
    return Equations(tuple(names), keys, columns, right)


def _column(actions: Sequence[Action], first: Mapping[str, int]) -> dict[int, Number]:
    column: dict[int, Number] = {}
    for action in actions:
        for i, part in enumerate((*action.force, *action.moment), first[action.body]):
            column[i] = column[i] + part if i in column else part
    return column
