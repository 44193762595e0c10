"""Turning, mirroring and moving a whole case, axes and all: an exact isometry.

The matrix is rational (a Pythagorean turn, an Euler-Rodrigues turn of whole numbers, a
signed exchange of axes), so every leaf stays exact; what was stated by an angle is stated
by its cosine and sine where the turn is no exchange of axes. A mirror changes the sign of
what has a sense of turning: plane moments, and moments in space as axial vectors.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Slope, Turn, negated, total
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.folding import difference, over, times
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import (
    AXIS,
    ByAngle,
    ByAxisAngles,
    ByRun,
    Components,
    Direction,
    Polar,
)
from refsolver.statics.contract import Family
from refsolver.statics.givens import pattern_of, replaced, walk
from tests.statics.properties.claims import Answers, Claim, Identity
from tests.statics.properties.values import Rule, changed

Matrix = tuple[tuple[fmpq, ...], ...]

ONE, ZERO = fmpq(1), fmpq(0)
TRIPLES = ((3, 4, 5), (5, -12, 13), (-8, 15, 17), (-7, -24, 25))


class NotStated(Exception):
    """The leaf cannot be stated exactly after this motion."""


@attrs.frozen
class Motion:
    """p becomes ``matrix`` p + ``shift``; ``sense`` is the determinant of the matrix."""

    matrix: Matrix
    shift: tuple[fmpq, ...]

    @property
    def sense(self) -> int:
        m = self.matrix
        if len(m) == 2:
            return int((m[0][0] * m[1][1] - m[0][1] * m[1][0]).p)
        return int(
            sum(
                m[0][i] * (m[1][j] * m[2][k] - m[1][k] * m[2][j])
                for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1))
            ).p
        )

    @property
    def exchanges_axes(self) -> bool:
        return all(x in (-1, 0, 1) for row in self.matrix for x in row)

    def turned(self, v: Sequence[Any]) -> tuple[Any, ...]:
        """The vector v in numbers of any arithmetic."""
        return tuple(sum((c * x for c, x in zip(row, v, strict=True)), 0) for row in self.matrix)

    def moved(self, p: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(x + s for x, s in zip(self.turned(p), self.shift, strict=True))

    def exact(self, v: Sequence[Exact]) -> tuple[Exact, ...]:
        """The vector v in exact leaves."""
        return tuple(
            _sum([times(c, x) for c, x in zip(row, v, strict=True)]) for row in self.matrix
        )

    def axis(self, name: str) -> str:
        """The signed axis that a signed axis becomes where axes are exchanged."""
        index, sense = AXIS[name]
        (column,) = (i for i, row in enumerate(self.matrix) if row[index] != 0)
        sign = self.matrix[column][index] * sense
        return f"{'+' if sign > 0 else '-'}{'xyz'[column]}"


def _sum(parts: Sequence[Exact]) -> Exact:
    found: Exact = ZERO
    for part in parts:
        found = total(found, part)
    return found


def cosine_sine(angle: Angle) -> tuple[Exact, Exact]:
    """Exactly: rational at multiples of a quarter turn, a slope's legs by its hypotenuse."""
    if isinstance(angle, Slope):
        squares = total(times(angle.run, angle.run), times(angle.rise, angle.rise))
        root = Constant("sqrt", (squares,))
        return over(angle.run, root), over(angle.rise, root)
    if isinstance(angle, Turn) and (angle.turns * 4).q == 1:
        quarter = int((angle.turns * 4).p) % 4
        return fmpq((1, 0, -1, 0)[quarter]), fmpq((0, 1, 0, -1)[quarter])
    return Constant("cos", (angle,)), Constant("sin", (angle,))


def supplement(angle: Angle) -> Angle:
    """Half a turn less the angle."""
    if isinstance(angle, Turn):
        return Turn(fmpq(1, 2) - angle.turns)
    if isinstance(angle, Radian):
        return Radian(difference(Constant("pi"), angle.radians))
    return Slope(angle.rise, negated(angle.run))


def opposite(angle: Angle) -> Angle:
    """The angle turned the other way."""
    if isinstance(angle, Turn):
        return Turn(-angle.turns)
    if isinstance(angle, Radian):
        return Radian(negated(angle.radians))
    return Slope(negated(angle.rise), angle.run)


def _unit(axis: str, space: int) -> list[Exact]:
    index, sense = AXIS[axis]
    return [fmpq(sense) if i == index else ZERO for i in range(space)]


def turned_direction(direction: Direction, motion: Motion) -> Direction:
    """Raises NotStated for axis angles under a turn that is no exchange of axes."""
    if isinstance(direction, ByRun):
        return ByRun(motion.exact(direction.run))
    if isinstance(direction, ByAxisAngles):
        return _turned_axis_angles(direction, motion)
    if motion.exchanges_axes:
        named = {
            part: motion.axis(getattr(direction, part))
            for part in ("start", "toward", "up")
            if hasattr(direction, part)
        }
        return attrs.evolve(direction, **named)
    if isinstance(direction, ByAngle):
        c, s = _run(direction.angle)
        parts = zip(_unit(direction.start, 2), _unit(direction.toward, 2), strict=True)
        return ByRun(motion.exact([total(times(c, a), times(s, b)) for a, b in parts]))
    level, rise = cosine_sine(direction.elevation)
    c, s = cosine_sine(direction.azimuth)
    frame = (_unit(axis, 3) for axis in (direction.start, direction.toward, direction.up))
    weights = (times(level, c), times(level, s), rise)
    return ByRun(
        motion.exact(
            [
                _sum([times(w, x) for w, x in zip(weights, row, strict=True)])
                for row in zip(*frame, strict=True)
            ]
        )
    )


def _run(angle: Angle) -> tuple[Exact, Exact]:
    return (angle.run, angle.rise) if isinstance(angle, Slope) else cosine_sine(angle)


def _turned_axis_angles(direction: ByAxisAngles, motion: Motion) -> ByAxisAngles:
    if not motion.exchanges_axes:
        raise NotStated
    angles: list[Angle | None] = [None, None, None]
    sense = direction.sense
    for axis, angle in zip("xyz", direction.angles, strict=True):
        new = motion.axis(f"+{axis}")
        back = new[0] == "-"
        if angle is None:
            sense = -sense if back else sense
        else:
            angles["xyz".index(new[1])] = supplement(angle) if back else angle
    return ByAxisAngles((angles[0], angles[1], angles[2]), sense)


Turns = Literal["any", "sideways", "level", "none"]


@attrs.frozen
class Placed:
    """What of a family moves, and how.

    ``turns``: any isometry; ``sideways``, a mirror of x alone; ``level``, about the upright
    z; ``none``. ``turning``: answers, and patterns of given numbers, that change sign with a
    mirror. ``axial``: answers, and patterns of given vectors, that are axial. ``arrows``:
    patterns of given points that are vectors and do not move. ``about_origin``: answers that
    are moments about the origin, with the answer that is the force. ``weighed``: first
    moments, with the answer that is the whole weight, mass or length.
    """

    space: int = 2
    turns: Turns = "any"
    moves: bool = True
    turning: frozenset[str] = frozenset()
    axial: frozenset[str] = frozenset()
    arrows: frozenset[str] = frozenset()
    about_origin: Mapping[str, str] = {}
    weighed: Mapping[str, str] = {}
    leaves_out: frozenset[str] = frozenset()


class _Moved(Rule):
    def __init__(self, motion: Motion, name: str, placed: Placed) -> None:
        self.motion = motion
        self.sign = motion.sense if name in placed.turning else 1
        self.axial = motion.sense if name in placed.axial else 1

    def scalar(self, x: Any, dimension: Dimension) -> Any:
        if dimension == ANGLE and arb(x).overlaps(arb.pi()):
            return x  # half a turn is half a turn either way
        return x * self.sign

    def vector(self, v: Sequence[Any], dimension: Dimension) -> Sequence[Any]:
        return [x * self.axial for x in self.motion.turned(v)]

    def direction(self, v: Sequence[Any]) -> Sequence[Any]:
        return self.motion.turned(v)

    def point(self, p: Sequence[Any]) -> Sequence[Any]:
        return self.motion.moved(p)

    def line(self, line: Any) -> Any:
        if len(line) == 2:
            return self.motion.moved(line[0]), self.motion.turned(line[1])
        a, b = self.motion.turned(line[:2])
        return a, b, line[2] + a * self.motion.shift[0] + b * self.motion.shift[1]


def moved_givens(given: Any, motion: Motion, placed: Placed) -> Any:
    """Every point, direction and vector moved. Raises NotStated where one cannot be stated."""
    changes: dict[str, Any] = {}
    for path, leaf, field in walk(given):
        pattern = pattern_of(path)
        if field.shape == "point":
            run = motion.exact(leaf)
            free = pattern in placed.arrows
            changes[path] = run if free else tuple(map(total, run, motion.shift))
        elif field.shape == "direction":
            changes[path] = turned_direction(leaf, motion)
        elif field.shape == "vector":
            changes[path] = turned_vector(leaf, motion, pattern in placed.axial)
        elif pattern in placed.turning and motion.sense < 0:
            changes[path] = negated(leaf)
    return replaced(given, changes)


def turned_vector(leaf: Any, motion: Motion, axial: bool = False) -> Any:
    """A vector turned; an axial one also takes the sense of the motion."""
    sign = fmpq(motion.sense if axial else 1)
    if isinstance(leaf, Polar):
        return Polar(times(sign, leaf.magnitude), turned_direction(leaf.direction, motion))
    return Components(tuple(times(sign, x) for x in motion.exact(leaf.along)))


def drawn_motion(placed: Placed, rng: random.Random) -> Motion:
    shift = [fmpq(rng.randint(-9, 9), rng.choice((1, 2, 7))) for _ in range(placed.space)]
    if not placed.moves:
        shift = [ZERO] * placed.space
    return Motion(_drawn_matrix(placed, rng), tuple(shift))


def _drawn_matrix(placed: Placed, rng: random.Random) -> Matrix:
    size = placed.space
    if placed.turns == "none":
        rows = [[ONE if i == j else ZERO for j in range(size)] for i in range(size)]
    elif placed.turns == "sideways":
        rows = [
            [-ONE if i == 0 else ONE if i == j else ZERO for j in range(size)] for i in range(size)
        ]
        rows[0] = [-ONE, *([ZERO] * (size - 1))]
    elif size == 3 and placed.turns == "any" and rng.random() < 0.6:
        rows = _euler_rodrigues(rng)
    elif size == 3 and placed.turns == "any":
        order = rng.sample(range(3), 3)
        rows = [[ONE if j == k else ZERO for j in range(3)] for k in order]
    else:
        x, y, r = rng.choice((*TRIPLES, (0, 1, 1), (-1, 0, 1), (0, -1, 1)))
        rows = [[fmpq(x, r), fmpq(-y, r)], [fmpq(y, r), fmpq(x, r)]]
        if size == 3:
            rows = [[*rows[0], ZERO], [*rows[1], ZERO], [ZERO, ZERO, ONE]]
    if placed.turns in ("any", "level") and rng.random() < 0.5:
        rows[0] = [-x for x in rows[0]]
    return tuple(tuple(row) for row in rows)


def _euler_rodrigues(rng: random.Random) -> list[list[fmpq]]:
    """The turn of a quaternion of whole numbers: rational throughout."""
    a, b, c, d = (rng.choice((-3, -2, -1, 1, 2, 3)) for _ in range(4))
    n = a * a + b * b + c * c + d * d
    rows = (
        (a * a + b * b - c * c - d * d, 2 * (b * c - a * d), 2 * (b * d + a * c)),
        (2 * (b * c + a * d), a * a + c * c - b * b - d * d, 2 * (c * d - a * b)),
        (2 * (b * d - a * c), 2 * (c * d + a * b), a * a + d * d - b * b - c * c),
    )
    return [[fmpq(x, n) for x in row] for row in rows]


def motion_of(placed: Placed) -> Identity:
    """The identity that a family has by what of it moves."""

    def claim(owner: Family, given: Any, rng: random.Random) -> Claim | None:
        motion = drawn_motion(placed, rng)
        try:
            other = moved_givens(given, motion, placed)
        except NotStated:
            return None

        def expect(before: Answers) -> Answers:
            after = {
                name: changed(owner.answers[name].kind, value, _Moved(motion, name, placed))
                for name, value in before.items()
                if name not in placed.leaves_out
            }
            for moment, force in placed.about_origin.items():
                after[moment] = _carried(after[moment], after[force], motion.shift)
            for first, whole in placed.weighed.items():
                after[first] = tuple(
                    x + s * before[whole] for x, s in zip(after[first], motion.shift, strict=True)
                )
            return after

        return Claim(other, [(owner, given)], expect)

    return Identity("motion", claim)


def _carried(moment: Any, force: Any, arm: Sequence[fmpq]) -> Any:
    """A moment about the origin after the force has moved by ``arm``: + arm x force."""
    if isinstance(moment, NoAnswer):
        return moment
    if len(arm) == 2:
        return moment + force[1] * arm[0] - force[0] * arm[1]
    pairs = ((1, 2), (2, 0), (0, 1))
    return tuple(
        m + force[j] * arm[i] - force[i] * arm[j] for m, (i, j) in zip(moment, pairs, strict=True)
    )
