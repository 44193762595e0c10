"""Free bodies: equilibrium of any number of bodies, particles and joints together.

A family lists its bodies, its *unknowns* (each a force or couple of unknown size on the
bodies it touches, equal and opposite where it joins two) and its loads.
:func:`equilibrium` writes the equations of each body (sum of the forces along each axis,
sum of the moments about the origin), decides how many of them are independent, and solves
for every unknown that equilibrium alone determines.

The decision is exact wherever the geometry is rational: the unknowns are then built a
second time in whole fractions (:class:`Rationals`) and the rank is counted there. Give
forces along :func:`heading`, which takes no square root, so that an unknown of a bar is
its force density N/L. Where an angle makes the geometry irrational, a square system is
proven regular by its solution, and everything else by an elimination whose pivots are
decided by name.

Source of the method: any text of statics on free bodies and proper constraint, for
instance R. C. Hibbeler, "Engineering Mechanics: Statics", sections 5.3 to 5.7; counting
independent equations by rank: G. Strang, "Linear Algebra and Its Applications", chapter 2.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import attrs
from flint import fmpq, fmpq_mat
from flint.utils.flint_exceptions import DomainError

from refsolver.arithmetic.contract import Arithmetic, Number, Singular
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import AXIS, ByAngle, ByRun, Direction
from refsolver.statics.vectors import Numbers, brought, cross, cross_plane, unit_vector

__all__ = [
    "Action",
    "Body",
    "Equations",
    "Equilibrium",
    "Irrational",
    "Rationals",
    "Unknown",
    "between",
    "couple_on",
    "equations",
    "equilibrium",
    "force_on",
    "heading",
    "moment_of",
    "pull_on",
]


class Irrational(ArithmeticError):
    """The geometry cannot be written in rational numbers."""


class Rationals:
    """The part of an arithmetic that stays within the rationals; the rest is Irrational.

    It decides ranks, not values: nothing a case asks for is computed in it.
    """

    def bring(self, x: Exact) -> fmpq:
        if not isinstance(x, fmpq):
            raise Irrational(f"{x} is not rational")
        return x

    def cos_sin(self, angle: Angle) -> tuple[fmpq, fmpq]:
        if isinstance(angle, Turn):
            quarters = angle.turns * 4
            if quarters.q == 1:
                c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters.p) % 4]
                return fmpq(c), fmpq(s)
        raise Irrational(f"the sine of {angle} is not taken to be rational")

    def sqrt(self, x: fmpq) -> fmpq:
        try:
            return x.sqrt()
        except DomainError:
            raise Irrational(f"the root of {x} is not rational") from None

    def sign(self, x: fmpq, name: str) -> int:
        return int(x > 0) - int(x < 0)


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
    """``matrix`` times the unknowns equals ``right``; a row an equation, a column an unknown."""

    names: tuple[str, ...]
    keys: tuple[str, ...]
    matrix: tuple[tuple[Number, ...], ...]
    right: tuple[Number, ...]

    def left_over(self, values: Mapping[str, Number]) -> list[Number]:
        """What is left of each equation when the values are put back."""
        residuals = []
        for row, load in zip(self.matrix, self.right, strict=True):
            total = -load
            for coefficient, key in zip(row, self.keys, strict=True):
                total = total + coefficient * values[key]
            residuals.append(total)
        return residuals


def equations(
    bodies: Sequence[Body],
    space: int,
    unknowns: Sequence[Unknown],
    loads: Sequence[Action],
    zero: Number,
) -> Equations:
    """The equilibrium equations of all bodies; ``zero`` is the zero of the arithmetic."""
    letters = "xyz"[:space]
    turning = ("moments",) if space == 2 else tuple(f"moments about {a}" for a in letters)
    names: list[str] = []
    first: dict[str, int] = {}
    for body in bodies:
        first[body.name] = len(names)
        words = [f"forces along {a}" for a in letters] + (list(turning) if body.rigid else [])
        names += [f"{body.name}: {word}" if body.name else word for word in words]
    columns = [_column(unknown.actions, first, len(names), zero) for unknown in unknowns]
    right = tuple(-x for x in _column(loads, first, len(names), zero))
    matrix = tuple(tuple(column[i] for column in columns) for i in range(len(names)))
    return Equations(tuple(names), tuple(u.key for u in unknowns), matrix, right)


def _column(
    actions: Sequence[Action], first: Mapping[str, int], count: int, zero: Number
) -> list[Number]:
    column = [zero] * count
    for action in actions:
        start = first[action.body]
        for i, part in enumerate((*action.force, *action.moment), start):
            column[i] = column[i] + part
    return column


@attrs.frozen
class Equilibrium:
    """What equilibrium says: values, or why there are none.

    ``values`` holds the unknowns that equilibrium determines, all of them in a determinate
    case, none where the loads are not balanced. ``unbalanced`` names an equation that the
    loads violate although no unknown can help.
    """

    equations: Equations
    rank: int
    values: Mapping[str, Number]
    unbalanced: str = ""

    @property
    def free_motions(self) -> int:
        """Independent motions the unknowns do not prevent."""
        return len(self.equations.names) - self.rank

    @property
    def redundants(self) -> int:
        """Unknowns beyond those that equilibrium can determine."""
        return len(self.equations.keys) - self.rank

    def refusal(self) -> NoAnswer | None:
        """Why there is no equilibrium worth the name, for every answer alike.

        A constraint that is only partial but not needed by the loads (a beam on two
        rollers under vertical loads) is no reason.
        """
        counts = (
            f"{len(self.equations.names)} equations, {self.rank} of them independent, "
            f"{len(self.equations.keys)} unknowns"
        )
        if self.free_motions and self.redundants + self.rank >= len(self.equations.names):
            return NoAnswer("improper constraint", counts)
        if self.unbalanced:
            return NoAnswer("mechanism", f"{counts}; not satisfied: {self.unbalanced}")
        return None

    def missing(self, key: str) -> NoAnswer | None:
        """Why this unknown has no value; None where it has one."""
        if key in self.values:
            return None
        return self.refusal() or NoAnswer(
            "redundant", f"{self.redundants} unknowns more than independent equations"
        )


@attrs.frozen
class _Ranking:
    """Independent rows, independent columns, and the columns that equilibrium determines."""

    rows: tuple[int, ...]
    columns: tuple[int, ...]
    determined: tuple[int, ...]


def equilibrium(
    bodies: Sequence[Body],
    space: int,
    unknowns: Callable[[Arithmetic], Sequence[Unknown]],
    loads: Sequence[Action],
    ar: Arithmetic,
    name: str = "equilibrium",
) -> Equilibrium:
    """The equations of all bodies, their rank, and the unknowns they determine.

    ``unknowns`` builds the unknowns in the arithmetic it is handed (``ar``, or
    :class:`Rationals`, which offers ``bring``, ``cos_sin``, ``sqrt`` and ``sign`` only).
    ``loads`` are numbers of ``ar``. ``name`` begins the names of all decisions.
    """
    written = equations(bodies, space, unknowns(ar), loads, ar.bring(fmpq(0)))
    ranking = _exact_ranking(bodies, space, unknowns)
    if ranking is None and len(written.names) == len(written.keys):
        try:
            solution = ar.solve_linear(written.matrix, written.right, name)
            return Equilibrium(written, len(solution), _keyed(written, solution))
        except Singular:
            pass
    if ranking is None:
        ranking = _proven_ranking(written, ar, name)
    return _solved(written, ranking, ar, name)


def _keyed(written: Equations, solution: Sequence[Number]) -> dict[str, Number]:
    return dict(zip(written.keys, solution, strict=True))


def _solved(written: Equations, ranking: _Ranking, ar: Arithmetic, name: str) -> Equilibrium:
    rank = len(ranking.columns)
    solution: list[Number] = []
    if rank:
        matrix = [[written.matrix[i][j] for j in ranking.columns] for i in ranking.rows]
        right = [written.right[i] for i in ranking.rows]
        solution = ar.solve_linear(matrix, right, f"{name}: independent equations")
    trial = {key: ar.bring(fmpq(0)) for key in written.keys}
    trial.update({written.keys[j]: x for j, x in zip(ranking.columns, solution, strict=True)})
    if rank < len(written.names):
        left = written.left_over(trial)
        for i in set(range(len(left))) - set(ranking.rows):
            if ar.sign(left[i], f"{name}: {written.names[i]} left over") != 0:
                return Equilibrium(written, rank, {}, written.names[i])
    values = {written.keys[j]: trial[written.keys[j]] for j in ranking.determined}
    return Equilibrium(written, rank, values)


def _exact_ranking(
    bodies: Sequence[Body], space: int, unknowns: Callable[[Arithmetic], Sequence[Unknown]]
) -> _Ranking | None:
    """The ranking in rational numbers; None where the geometry is not rational."""
    exact: Arithmetic = Rationals()  # type: ignore[assignment]
    try:
        written = equations(bodies, space, unknowns(exact), (), fmpq(0))
    except Irrational:
        return None
    if not written.keys:
        return _Ranking((), (), ())
    matrix = fmpq_mat([list(row) for row in written.matrix])
    reduced, columns = _reduced(matrix)
    rows = _reduced(matrix.transpose())[1]
    free = [j for j in range(len(written.keys)) if j not in columns]
    determined = tuple(j for i, j in enumerate(columns) if all(reduced[i, f] == 0 for f in free))
    return _Ranking(rows, columns, determined)


def _reduced(matrix: fmpq_mat) -> tuple[fmpq_mat, tuple[int, ...]]:
    """The reduced row echelon form and the columns of its pivots."""
    reduced, rank = matrix.rref()
    width = range(matrix.ncols())
    return reduced, tuple(next(j for j in width if reduced[i, j] != 0) for i in range(rank))


def _proven_ranking(written: Equations, ar: Arithmetic, name: str) -> _Ranking:
    """Gauss-Jordan elimination, each pivot decided by name, without exchanging rows."""
    rows = [list(row) for row in written.matrix]
    pivots: dict[int, int] = {}
    for j, key in enumerate(written.keys):
        pivot = _pivot(rows, pivots, j, f"{name}: {key} acts in", written.names, ar)
        if pivot is None:
            continue
        pivots[j] = pivot
        for i, row in enumerate(rows):
            if i != pivot:
                factor = row[j] / rows[pivot][j]
                rows[i] = [a - factor * b for a, b in zip(row, rows[pivot], strict=True)]
    free = [j for j in range(len(written.keys)) if j not in pivots]
    determined = tuple(
        j
        for j, i in pivots.items()
        if all(
            ar.sign(rows[i][f], f"{name}: {written.keys[j]} depends on {written.keys[f]}") == 0
            for f in free
        )
    )
    return _Ranking(tuple(sorted(pivots.values())), tuple(sorted(pivots)), determined)


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
