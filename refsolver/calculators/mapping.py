"""Handing a case over: from exact leaves to the calculator's numbers, and back.

Most leaves cannot be handed over exactly (an irrational angle as a double, a magnitude
typed to one decimal). That never widens a tolerance: :func:`hand_over` also returns the
givens that were *really* handed over, and the reference is solved for those.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.detached import (
    Enclosure,
    enclosure_of,
    exact_double,
    nearest_double,
)
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Exact, Turn, negated
from refsolver.calculators.contract import Slot
from refsolver.calculators.file import CalculatorFileError, Condition, FamilySection, InputLine
from refsolver.calculators.partly_stated import PARTED, left_open, not_stated
from refsolver.catalogue.schema import Case
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.kinds import DirectionKind, NoAnswer
from refsolver.quantities.leaves import (
    AXIS,
    Axis,
    ByAngle,
    ByAxisAngles,
    ByAzimuth,
    ByRun,
    Components,
    Polar,
)
from refsolver.quantities.literals import read_literal
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.rounding import exact_decimal, rounded, significant, significant_text
from refsolver.quantities.units import UnitSystem, read_angle, read_unit
from refsolver.quantities.views import View
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Given
from refsolver.statics.givens import leaf as leaf_at
from refsolver.statics.givens import pattern_of, replaced, walk
from refsolver.statics.vectors import unit_vector, vector

__all__ = ["Handed", "HandedLeaf", "NotApplicable", "hand_over", "handed_value", "places_of"]

_BITS = 300
"""Enough for the double nearest to any leaf that is not built to defeat it."""

_SHORT_FIGURES = 40
"""A decimal of so many figures inside an enclosure of _BITS bits is taken for the value."""

_TEXT_FIGURES = 17
"""Figures of a text where none are stated: as many as tell any two doubles apart
(IEEE 754-2019, 5.12.2)."""


class NotApplicable(Exception):
    """The case lies outside the calculator's scope; the message names the condition."""


@attrs.frozen
class HandedLeaf:
    """What became of one leaf: the case's own value, and the value handed over."""

    given: str
    take: str
    place: str
    unit: str
    says: str
    case_value: str
    handed_value: str
    exact: bool


@attrs.frozen
class Handed:
    """Everything handed over for one case, and the givens the reference is solved for."""

    slots: tuple[Slot, ...]
    given: Any
    leaves: tuple[HandedLeaf, ...]

    @property
    def inexact(self) -> bool:
        return not all(leaf.exact for leaf in self.leaves)


_CELLS = re.compile(r"^(.*!)?\$?([A-Z]{1,3})\$?(\d+):\$?([A-Z]{1,3})\$?(\d+)$")


def places_of(place: str, rows: int) -> list[str] | None:
    """The places of the rows of a table; None where there are fewer than ``rows``.

    A cell range gives its cells in reading order; a field with a star gives one field a
    row, as many as wanted (a second star is that of a table within the table).
    """
    match = _CELLS.match(place)
    if match is None:
        if ", " in place:
            cells = place.split(", ")
            return cells if len(cells) >= rows else None
        if "*" in place:
            return [place.replace("*", str(n), 1) for n in range(1, rows + 1)]
        return [place] if rows <= 1 else None
    sheet, left, top, right, bottom = match.groups()
    found = [
        f"{sheet or ''}{_letters(column)}{row}"
        for row in range(int(top), int(bottom) + 1)
        for column in range(_number(left), _number(right) + 1)
    ]
    return found if len(found) >= rows else None


def _number(letters: str) -> int:
    value = 0
    for letter in letters:
        value = value * 26 + ord(letter) - 64
    return value


def _letters(number: int) -> str:
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def hand_over(
    case: Case,
    section: FamilySection,
    *,
    takes_doubles: bool,
    placement: Mapping[str, Sequence[int]] | None = None,
    as_sent: Mapping[str, str] | None = None,
) -> Handed:
    """The slots for a case, and the givens they really state.

    ``placement`` puts the rows of a table, by name, at these positions (counting from 0),
    to leave gaps or to permute. ``as_sent`` gives, by place, the number that a text template
    really printed. Raises NotApplicable, naming the condition.
    """
    _check_excluded(case, section.scope)
    slots: list[Slot] = []
    leaves: list[HandedLeaf] = []
    changes: dict[str, Any] = {}
    numbers: dict[str, list[fmpq]] = {}
    rows = _row_counts(case.given, section)
    for path, leaf, field in walk(case.given):
        pattern = pattern_of(path)
        lines = [line for line in section.inputs if line.given == pattern]
        if not lines:
            _check_not_needed(path, pattern, leaf, field, section, case)
            continue
        _check_rest(lines, leaf)
        taken: list[tuple[InputLine, fmpq | str]] = []
        for line in lines:
            place = _place(line, path, rows, placement)
            value, shown, handed = handed_value(line, leaf, case.units, takes_doubles)
            if as_sent is not None and place in as_sent and not isinstance(handed, str):
                handed = _number_sent(as_sent[place])
            if isinstance(handed, str):
                slots.append(Slot(place, path, handed, number=False))
                text, exact = handed, True
            else:
                double = nearest_double(handed) if takes_doubles else None
                text = exact_decimal(handed) or f"{handed.p}/{handed.q}"
                slots.append(Slot(place, path, text, double))
                numbers.setdefault(line.id, []).append(handed)
                exact = value is not None and value.is_exact and value.lower == handed
                exact = exact or (value is not None and _same(value, handed))
                text = _short(handed)
            taken.append((line, handed))
            unit = "" if line.unit is None else line.unit.name
            leaves.append(HandedLeaf(path, line.take, place, unit, line.says, shown, text, exact))
        changes[path] = _rebuilt(leaf, field.shape, taken, case.units)
    slots += _blanks(section, rows, placement)
    _check_scope(section.scope, numbers, case, rows)
    try:
        given = replaced(case.given, changes)
    except ValueError as contradiction:
        raise NotApplicable(
            f"the numbers handed over contradict each other once rounded: {contradiction}"
        ) from None
    return Handed(tuple(slots), given, tuple(leaves))


def _check_rest(lines: Sequence[InputLine], leaf: Any) -> None:
    """What the lines do not state of a leaf must be what the calculator takes for granted."""
    if lines[0].field.shape not in PARTED:
        return
    problem = left_open(lines)
    if problem:
        raise CalculatorFileError(f"{lines[0].given}: {problem}")
    with ctx.workprec(_BITS):
        outside = not_stated(lines, leaf)
    if outside:
        raise NotApplicable(outside)


def _number_sent(text: str) -> fmpq:
    value = read_literal(text).value
    assert isinstance(value, fmpq)
    return value


def _same(value: Enclosure, handed: fmpq) -> bool:
    """The case's value is this number as far as can be told (its enclosure is that tight)."""
    return bool(value.lower <= handed <= value.upper)


def _short(x: fmpq) -> str:
    """A decimal a person can read: exact where short, else 17 significant figures."""
    exact: str | None = exact_decimal(x)
    if exact is not None and len(exact) <= 20:
        return exact
    double = nearest_double(x)
    if not math.isfinite(double) or (double == 0 and x != 0):
        return significant_text(x, _TEXT_FIGURES)
    return repr(double)


def _check_excluded(case: Case, scope: Sequence[Condition]) -> None:
    for condition in scope:
        if condition.kind == "exclude" and case.id in condition.ids:
            raise NotApplicable(f"excluded by name: {condition.reason}")
        if condition.kind == "without" and condition.target in case.features:
            raise NotApplicable(f"{condition.sentence}: {condition.reason}")


def _row_counts(given: Any, section: FamilySection) -> dict[str, int]:
    counts: dict[str, int] = {}
    for path, _, _ in walk(given):
        match = re.match(r"(\w+)\[(\d+)\]", path)
        if match is not None:
            counts[match[1]] = max(counts.get(match[1], 0), int(match[2]))
    return counts


def _check_not_needed(
    path: str, pattern: str, leaf: Any, field: Given, section: FamilySection, case: Case
) -> None:
    """A leaf without an input must be what the calculator takes for granted."""
    if field.shape == "text":
        return
    if pattern not in section.fixed:
        if leaf == _default(case.given, path):
            return
        raise NotApplicable(f"the calculator has no input for {pattern}")
    stated = case.literals.get(path)
    held = str(leaf) if stated is None else stated.text
    granted = section.fixed[pattern]
    if held != granted and leaf != _granted(granted, field, case.units):
        raise NotApplicable(f"the calculator takes {pattern} = {granted} for granted, not {held}")


def _default(given: Any, path: str) -> Any:
    """What the leaf is where a case does not state it; NOTHING where it must be stated."""
    parent, _, name = path.rpartition(".")
    owner = leaf_at(given, parent) if parent else given
    return getattr(attrs.fields(type(owner)), name.partition("[")[0]).default


def _granted(text: str, field: Given, system: UnitSystem) -> Any:
    """The value of a number taken for granted, None where the text is no such number."""
    if field.shape not in ("quantity", "quantities", "angle"):
        return None
    try:
        literal = read_literal(text)
        unit = read_unit(literal.unit_text)
        if field.shape == "angle":
            return read_angle(literal.value, unit)
        return system.bring(literal.value, unit) if unit.dimension == field.dimension else None
    except ReadingError:
        return None


def _place(
    line: InputLine,
    path: str,
    rows: Mapping[str, int],
    placement: Mapping[str, Sequence[int]] | None,
) -> str:
    match = re.match(r"(\w+)\[(\d+)\](?:.*\[(\d+)\])?", path)
    if match is None:
        return line.place
    row = int(match[2]) - 1
    needed = rows[match[1]]
    if placement is not None and match[1] in placement:
        row, needed = placement[match[1]][row], max(placement[match[1]]) + 1
    found = places_of(line.place, needed)
    if found is None:
        room = len(places_of(line.place, 0) or [line.place])
        raise NotApplicable(f"{needed} {match[1]} asked, the calculator has {room} rows")
    inner = match[3]
    if inner is not None and inner != "1" and "*" not in found[row]:
        raise NotApplicable(
            f"{inner} values of {line.given} asked in one row, the calculator has one place"
        )
    return found[row] if inner is None else found[row].replace("*", inner, 1)


def _blanks(
    section: FamilySection, rows: Mapping[str, int], placement: Mapping[str, Sequence[int]] | None
) -> list[Slot]:
    """Unused rows of a fixed table, blank as the calculator wants it."""
    slots: list[Slot] = []
    for line in section.inputs:
        if "[*]" not in line.given or "*" in line.place:
            continue
        table = line.given.split("[")[0]
        at = None if placement is None else placement.get(table)
        used = set(range(rows.get(table, 0)) if at is None else at)
        for row, place in enumerate(places_of(line.place, 0) or []):
            if row not in used:
                double = None if line.blank == "" else float(line.blank)
                slots.append(Slot(place, "", line.blank, double))
    return slots


def handed_value(
    line: InputLine, leaf: Any, system: UnitSystem, takes_doubles: bool
) -> tuple[Enclosure | None, str, fmpq | str]:
    """The case's value in the line's unit (None for a word), as text, and what is handed over.

    Raises NotApplicable where the line cannot state the leaf.
    """
    if line.field.shape in ("choice", "text"):
        word = line.words.get(str(leaf), str(leaf))
        if line.field.shape == "choice" and line.words and str(leaf) not in line.words:
            raise NotApplicable(f"the calculator has no word for {line.given} = {leaf}")
        return None, str(leaf), word
    if line.field.shape == "integer":
        return None, str(leaf), fmpq(leaf)
    try:
        value = _taken(line, leaf, system)
    except Undecided as undecided:
        raise NotApplicable(f"{line.given} cannot be worked out: {undecided.name}") from None
    if line.negate:
        value = value.scaled(fmpq(-1))
    short = _short_decimal(value)
    handed = value.middle if short is None else short
    if line.decimals is not None:
        handed = rounded(handed, fmpq(10) ** -line.decimals)
    if takes_doubles:
        double = nearest_double(handed)
        if not math.isfinite(double):
            raise NotApplicable(f"{line.given} is beyond the range of a double")
        handed = exact_double(double)
    elif line.decimals is None and short is None:
        handed = significant(handed, _TEXT_FIGURES)
    return value, _short(value.middle if short is None else short), handed


def _short_decimal(value: Enclosure) -> fmpq | None:
    """The decimal that the value is, as far as can be told, None where it is none.

    What is handed over is this decimal, whatever the value: nothing rests on the guess.
    """
    if value.is_exact and exact_decimal(value.middle) is not None:
        return value.middle
    near = significant(value.middle, _SHORT_FIGURES)
    return near if value.lower <= near <= value.upper else None


def _taken(line: InputLine, leaf: Any, system: UnitSystem) -> Enclosure:
    """What the line takes from a leaf, enclosed, in the line's unit."""
    dimension = ANGLE
    with ctx.workprec(_BITS):
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


def _from_geometry(line: InputLine, leaf: Any, ar: EnclosureArithmetic) -> tuple[arb, Any]:
    from refsolver.calculators.file import leaf_dimension

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


def _rebuilt(
    leaf: Any, shape: str, taken: Sequence[tuple[InputLine, fmpq | str]], system: UnitSystem
) -> Any:
    """The leaf that the handed numbers state."""
    if shape in ("choice", "text", "integer"):
        return leaf
    space = taken[0][0].field.space
    numbers = {
        (line.take, line.along): (line, -value if line.negate else value)
        for line, value in taken
        if isinstance(value, fmpq)
    }
    if shape in ("quantity", "quantities"):
        return _exact(*next(iter(numbers.values())), system)
    if shape == "angle":
        line, value = next(iter(numbers.values()))
        assert line.unit is not None
        return read_angle(value, line.unit)
    if shape == "point":
        return _by_axis(space, numbers, "coordinate", system)
    if shape == "vector" and not any(take == "magnitude" for take, _ in numbers):
        return Components(_by_axis(space, numbers, "component", system))
    direction = _direction(space, numbers, system)
    if shape == "direction":
        return direction
    magnitude = _exact(*numbers[("magnitude", None)], system)
    if isinstance(direction, Components):
        direction = ByRun(direction.along)
    return Polar(magnitude, direction)


def _exact(line: InputLine, value: fmpq, system: UnitSystem) -> Exact:
    return value if line.unit is None else system.bring(value, line.unit)


def _by_axis(
    space: int,
    numbers: Mapping[tuple[str, str | None], tuple[InputLine, fmpq]],
    take: str,
    system: UnitSystem,
) -> tuple[Exact, ...]:
    """Coordinates or components; along an axis that is not mapped, zero."""
    found: list[Exact] = [fmpq(0)] * space
    for (t, along), (line, value) in numbers.items():
        if t == take:
            index, sense = AXIS[str(along)]
            exact = _exact(line, value, system)
            found[index] = exact if sense > 0 else negated(exact)
    return tuple(found)


def _direction(
    space: int,
    numbers: Mapping[tuple[str, str | None], tuple[InputLine, fmpq]],
    system: UnitSystem,
) -> Any:
    def angle_of(take: str, along: str | None = None) -> Any:
        line, value = numbers[(take, along)]
        assert line.unit is not None
        return read_angle(value, line.unit)

    takes = {take for take, _ in numbers}
    if "azimuth" in takes:
        line = numbers[("azimuth", None)][0]
        up: Any = next((a for t, a in numbers if t == "elevation"), None)
        rise = Turn(fmpq(0)) if up is None else angle_of("elevation", up)
        return ByAzimuth(angle_of("azimuth"), rise, line.start, line.toward, up or _third(line))
    if "angle" in takes:
        line = numbers[("angle", None)][0]
        return ByAngle(angle_of("angle"), line.start, line.toward)
    if "axis angle" in takes:
        angles = {AXIS[str(a)][0]: angle_of(t, a) for t, a in numbers if t == "axis angle"}
        return ByAxisAngles((angles.get(0), angles.get(1), angles.get(2)))
    take = "component" if "component" in takes else "run"
    return ByRun(_by_axis(space, numbers, take, system))


_POSITIVE: tuple[Axis, ...] = ("+x", "+y", "+z")


def _third(line: InputLine) -> Axis:
    """The axis square to both of an azimuth."""
    (index,) = {0, 1, 2} - {AXIS[line.start][0], AXIS[line.toward][0]}
    return _POSITIVE[index]


def _check_scope(
    scope: Sequence[Condition],
    numbers: Mapping[str, Sequence[fmpq]],
    case: Case,
    rows: Mapping[str, int],
) -> None:
    for condition in scope:
        if condition.kind == "count":
            values: Sequence[fmpq] = [fmpq(rows.get(condition.target, 0))]
        elif condition.kind == "input":
            values = numbers.get(condition.target, [])
        else:
            continue
        for value in values:
            low, high, step = condition.at_least, condition.at_most, condition.resolution
            if (
                (low is not None and value < low)
                or (high is not None and value > high)
                or (step is not None and not (value / step).q == 1)
            ):
                raise NotApplicable(f"{condition.sentence} ({condition.reason})")
