"""From a leaf to the number that an input line takes of it, in the line's unit.

What is a rational multiple of what the case states (a magnitude, an angle stated in turns
seen from another axis) is taken exactly, for one case or for a column of them. The rest
goes through geometry and comes out enclosed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np
from flint import arb, ctx, fmpq

from refsolver.arithmetic.columns import Leaves
from refsolver.arithmetic.detached import Enclosure, enclosure_of
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.line_readers import leaf_dimension
from refsolver.calculators.lines import InputLine
from refsolver.calculators.scope import NotApplicable
from refsolver.quantities.conversion import factor_to, in_unit
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import DirectionKind, NoAnswer
from refsolver.quantities.leaves import AXIS, ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.units import UnitSystem
from refsolver.quantities.views import View
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.vectors import unit_vector, vector

__all__ = ["BITS", "exactly_taken", "small_whole", "taken"]

BITS = 300
"""Enough for the double nearest to any leaf that is not built to defeat it."""


def taken(line: InputLine, leaf: Any, system: UnitSystem) -> Enclosure:
    """What the line takes from a leaf, enclosed, in the line's unit.

    Raises NotApplicable where the line cannot state the leaf, and Undecided.
    """
    exact = exactly_taken(line, leaf, system)
    if isinstance(exact, fmpq):
        return Enclosure(exact, exact)
    dimension = ANGLE
    with ctx.workprec(BITS):
        ar = EnclosureArithmetic()
        if line.field.shape in ("quantity", "quantities"):
            assert line.field.dimension is not None
            dimension = line.field.dimension
            ball = evaluate(leaf)
        elif line.field.shape == "angle":
            ball = ar.radians(leaf) / (2 * arb.pi())
        else:
            ball, dimension = _from_geometry(line, leaf, ar)
        value = enclosure_of(ball)
    return in_unit(value, system, line.unit, dimension)


def exactly_taken(line: InputLine, leaf: Any, system: UnitSystem) -> fmpq | Leaves | None:
    """The same where it is a rational multiple of stated rational numbers; None elsewhere.

    ``leaf`` may hold columns; what is taken is then the column of the cases' numbers.
    """
    shape = line.field.shape
    number: Any = None
    if shape in ("quantity", "quantities"):
        number = leaf
    elif shape == "angle":
        number = leaf.turns if isinstance(leaf, Turn) else None
    elif shape == "point" or (line.take == "component" and isinstance(leaf, Components)):
        index, sense = AXIS[str(line.along)]
        number = leaf[index] if shape == "point" else leaf.along[index]
        number = number if sense > 0 else _negative(number)
    elif line.take == "magnitude":
        number = leaf.magnitude if isinstance(leaf, Polar) else None
    else:
        number = _of_direction(line, leaf.direction if isinstance(leaf, Polar) else leaf)
    if not isinstance(number, fmpq | Leaves):
        return None
    factor = factor_to(system, line.unit, _dimension(line))
    if not factor.is_exact:
        return None
    return number.scaled(factor.lower) if isinstance(number, Leaves) else number * factor.lower


def _dimension(line: InputLine) -> Dimension:
    if line.field.shape in ("quantity", "quantities"):
        assert line.field.dimension is not None
        return line.field.dimension
    return leaf_dimension(line.field, line.take)


def _negative(number: Any) -> Any:
    return -number if isinstance(number, fmpq | Leaves) else None


def _of_direction(line: InputLine, direction: Any) -> Any:
    """An angle of a direction, in turns, or a side of its slope triangle."""
    if line.take == "angle" and isinstance(direction, ByAngle):
        angle = direction.angle
        return _seen_from(line, direction, angle.turns) if isinstance(angle, Turn) else None
    if line.take in ("azimuth", "elevation") and isinstance(direction, ByAzimuth):
        return _of_azimuth(line, direction)
    if line.take == "run":
        run: Any = direction.along if isinstance(direction, Components) else None
        run = direction.run if isinstance(direction, ByRun) else run
        if run is not None and all(isinstance(x, fmpq) for x in run) and any(x != 0 for x in run):
            index, sense = AXIS[str(line.along)]
            return run[index] * sense
    return None


def _of_azimuth(line: InputLine, direction: ByAzimuth) -> Any:
    azimuth, rise = direction.azimuth, direction.elevation
    if not (isinstance(azimuth, Turn) and isinstance(rise, Turn) and _below_quarter(rise.turns)):
        return None  # beyond the vertical the azimuth turns round
    if line.take == "azimuth":
        return _seen_from(line, direction, azimuth.turns)
    (index, sense), (up, forward) = AXIS[str(line.along)], AXIS[direction.up]
    if index != up:
        return None
    return rise.turns if sense == forward else _negative(rise.turns)


def _below_quarter(turns: Any) -> bool:
    if not isinstance(turns, Leaves):
        return bool(abs(turns) < fmpq(1, 4))
    largest = max(map(abs, turns.values))
    return isinstance(largest, int) and bool(4 * largest * abs(turns.factor) < 1)


def _seen_from(line: InputLine, direction: ByAngle | ByAzimuth, turns: Any) -> Any:
    """The angle from the line's axis, in its range, of one stated from another axis."""
    stated = AXIS[direction.start], AXIS[direction.toward]
    wanted = AXIS[line.start], AXIS[line.toward]
    plane = sorted(index for index, _ in stated)
    if plane != sorted(index for index, _ in wanted):
        return None
    if line.range not in ("-180..180", "0..360"):
        return None

    def quarters(axis: tuple[int, int]) -> int:
        return plane.index(axis[0]) + (0 if axis[1] > 0 else 2)

    def sense(axes: tuple[tuple[int, int], tuple[int, int]]) -> int:
        return 1 if (quarters(axes[1]) - quarters(axes[0])) % 4 == 1 else -1

    shift = sense(wanted) * (quarters(stated[0]) - quarters(wanted[0]))
    return _turned(turns, sense(wanted) * sense(stated), shift, line.range)


def _turned(turns: Any, sense: int, shift: int, span: str) -> Any:
    """``sense`` times the turns and ``shift`` quarters of one, brought into the range."""
    column = isinstance(turns, Leaves)
    values, factor = (turns.values, turns.factor) if column else ((1,), turns)
    if isinstance(values[0], float):
        return None
    whole, share = 4 * int(factor.q), 4 * sense * int(factor.p)
    offset = shift * int(factor.q)
    small = small_whole(values, share) if column and whole < _SMALL else None
    if small is not None:
        turned = (small * share + offset) % whole
        found = (np.where(2 * turned > whole, turned - whole, turned) if span == "-180..180"
                 else turned).tolist()  # fmt: skip
    else:
        found = [(value * share + offset) % whole for value in values]
        if span == "-180..180":
            found = [x - whole if 2 * x > whole else x for x in found]
    return Leaves(found, fmpq(1, whole)) if column else fmpq(found[0], whole)


_SMALL = 1 << 53


def small_whole(values: Sequence[Any], factor: int) -> Any:
    """Whole numbers as an array, where they and their products with ``factor`` are below 2^53.

    Such numbers are doubles exactly. None where they are not so small.
    """
    largest = max(max(values), -min(values))
    if isinstance(largest, int) and largest * max(1, abs(factor)) < _SMALL:
        return np.array(values, dtype=np.int64)
    return None


def _from_geometry(line: InputLine, leaf: Any, ar: EnclosureArithmetic) -> tuple[arb, Any]:
    dimension = leaf_dimension(line.field, line.take)
    if line.take == "coordinate":
        index, sense = AXIS[str(line.along)]
        return evaluate(leaf[index]) * sense, dimension
    if line.take == "magnitude":
        if isinstance(leaf, Polar):
            return evaluate(leaf.magnitude), dimension
        return ar.sqrt(sum((evaluate(x) ** 2 for x in leaf.along), arb(0))), dimension
    direction = leaf.direction if isinstance(leaf, Polar) else leaf
    if line.take == "run":
        run = (
            direction.along
            if isinstance(direction, Components)
            else getattr(direction, "run", None)
        )
        if run is None:
            raise NotApplicable("the case states no slope triangle")
        if all(x == 0 for x in run):
            raise NotApplicable("a vector of no length has no slope triangle")
        index, sense = AXIS[str(line.along)]
        return evaluate(run[index]) * sense, dimension
    if line.take == "component" and line.field.shape == "vector":
        index, sense = AXIS[str(line.along)]
        return vector(leaf, ar)[index] * sense, dimension
    parts = (
        vector(direction, ar) if isinstance(direction, Components) else unit_vector(direction, ar)
    )
    view = View("", line.take, along=line.along, start=line.start, toward=line.toward,
                range=line.range)  # fmt: skip
    if all(ar.sign(x, f"{line.given} {i}") == 0 for i, x in enumerate(parts)):
        return arb(0), dimension
    ball = evaluate_view(view, DirectionKind(line.field.space), parts, ar)
    _check_sense(line, view, parts, ball, ar)
    if isinstance(ball, NoAnswer | str):
        return arb(0), dimension
    return (ball / (2 * arb.pi()) if dimension == ANGLE else ball), dimension


_FOLDED = ("0..180", "-90..90", "0..90")


def _check_sense(line: InputLine, view: View, parts: Any, ball: Any, ar: Any) -> None:
    """Raises NotApplicable where the angle of an undirected line loses the direction."""
    if line.take not in ("angle", "azimuth") or line.range not in _FOLDED:
        return
    full = attrs.evolve(view, range="-180..180")
    apart = ball - evaluate_view(full, DirectionKind(line.field.space), parts, ar)
    if not apart.contains(0):
        raise NotApplicable(
            f"an angle in {line.range} cannot state the direction of {line.given} here"
        )
