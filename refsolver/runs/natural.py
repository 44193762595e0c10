"""A plain calculator for a family: every given goes in, every answer comes out.

It is what the bars of the diagnosis are measured with. Its calculator file is written from
what the family declares; the calculator itself solves the family in double precision, in
one coherent system of units, with a known mistake made where one is asked. It gets nothing
but its fields, as any calculator does, and answers by its fields.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import exact_double
from refsolver.calculators.by_python import raw_value
from refsolver.calculators.contract import Asked, Received
from refsolver.calculators.fields import at_field, nested
from refsolver.calculators.file import CalculatorFile, OutputLine, leaf_dimension
from refsolver.calculators.mapping import places_of
from refsolver.calculators.python_worker import ReturnedNumber
from refsolver.mistakes.known import KnownMistake, replayed
from refsolver.mistakes.replay import Replayed, answers_of, replay
from refsolver.quantities.dimensions import ANGLE, NUMBER, Dimension
from refsolver.quantities.kinds import (
    REFUSALS,
    ChoiceKind,
    DirectionKind,
    FunctionKind,
    Kind,
    LineKind,
    PointKind,
    TableKind,
    VectorKind,
)
from refsolver.quantities.leaves import Axis, ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.units import UnitSystem, read_angle, read_unit
from refsolver.quantities.views import View, checked, dimension_of, inner_kind
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = [
    "Angles",
    "Answering",
    "NaturalCalculator",
    "forms",
    "given_from",
    "natural_answers",
    "natural_function",
    "natural_text",
]

_ANGLE_FLOOR = {"deg": "0.05 deg", "rad": "0.0009 rad"}
_AXES = ("+x", "+y", "+z")
_DECLINED = "none: "
"""Before the reason of a refusal: "redundant" is also a word for how a body is held."""


@attrs.frozen
class Angles:
    """How the calculator counts plane angles, given and answered, and in which unit."""

    start: Axis = "+x"
    toward: Axis = "+y"
    unit: str = "deg"


Answering = Callable[[Family, Any, Sequence[View]], Replayed | None]
"""How the calculator solves: the family, its givens, the views wanted."""


# ---- the calculator file


def forms(owner: Family) -> tuple[str, ...]:
    """The ways in which its vectors and directions can be handed over; one where it has none."""
    shapes = {field.shape for _, field in _leaves(owner.givens)}
    return ("angles", "components", "runs") if shapes & {"vector", "direction"} else ("plain",)


def natural_text(
    owner: Family,
    system: UnitSystem,
    form: str,
    *,
    share: str = "0.5 %",
    function: str = "natural:answer",
    angles: Angles | None = None,
) -> str:
    """The calculator file of the plain calculator, ``share`` its relative criterion.

    The absolute floor is a millionth of the coherent unit (a thousandth of that where lengths
    are in metres; an angle: a twentieth of a degree), so that 6e-14 for a zero passes.
    ``function`` is what answers.
    """
    texts = ", ".join(f'"{_DECLINED}{reason}"' for reason in REFUSALS)
    parts = [
        f'[calculator]\nname = "Plain calculator of {owner.name}, {form}"\nversion = "1"\n'
        f'owner = "constructed"\n\n[python]\nfunction = "{function}"\n\n'
        f'[refusals]\ntexts = [{texts}]\n\n[[family]]\nname = "{owner.name}"\n'
    ]
    counted = angles or Angles()
    parts += [_input(*line, system, counted) for line in _input_lines(owner.givens, form, counted)]
    parts += [
        _output(view, place, owner, system, share, counted)
        for name in owner.answers
        for view, place in _output_views(name, owner.answers[name].kind, counted)
    ]
    return "\n".join(parts)


def _leaves(cls: type, before: str = "") -> Iterator[tuple[str, Given]]:
    """Every leaf a givens class can have, by its path pattern."""
    for name, field in fields(cls).items():
        if field.shape == "many":
            assert field.of is not None
            yield from _leaves(field.of, f"{before}{name}[*].")
        elif field.shape == "one":
            assert field.of is not None
            yield from _leaves(field.of, f"{before}{name}.")
        else:
            yield f"{before}{name}{'[*]' if field.shape == 'quantities' else ''}", field


def _input_lines(
    cls: type, form: str, angles: Angles
) -> Iterator[tuple[str, Given, str, str, str]]:
    """Path pattern, given, take, the keys that complete it, and the name of the field."""
    for pattern, field in _leaves(cls):
        if field.shape == "point":
            for axis in _AXES[: field.space]:
                yield pattern, field, "coordinate", f'along = "{axis}"\n', f".{axis[1]}"
        elif field.shape in ("vector", "direction"):
            yield from ((pattern, field, *line) for line in _directed(field, form, angles))
        else:
            take = "word" if field.shape in ("choice", "text") else "value"
            yield pattern, field, take, "", ""


def _directed(field: Given, form: str, angles: Angles) -> Iterator[tuple[str, str, str]]:
    axes = _AXES[: field.space]
    if field.shape == "vector" and form != "components":
        yield "magnitude", "", ".size"
    if form == "angles" and field.space == 2:
        keys = f'from = "{angles.start}"\ntoward = "{angles.toward}"\nrange = "0..360"\n'
        yield "angle", keys, ".angle"
    elif form == "angles":
        yield "azimuth", 'from = "+x"\ntoward = "+y"\n', ".azimuth"
        yield "elevation", 'along = "+z"\n', ".elevation"
    else:
        take = "component" if form == "components" else "run"
        for axis in axes:
            yield take, f'along = "{axis}"\n', f".{axis[1]}"


def _unit(dimension: Dimension, system: UnitSystem, angles: Angles) -> str:
    if dimension == NUMBER:
        return ""
    name = angles.unit if dimension == ANGLE else system.unit(dimension).name
    return f'unit = "{name}"\n'


def _input(
    pattern: str,
    field: Given,
    take: str,
    keys: str,
    suffix: str,
    system: UnitSystem,
    angles: Angles,
) -> str:
    unit = "" if take == "word" else _unit(leaf_dimension(field, take), system, angles)
    words = pattern.replace("[*]", "").replace(".", ", ") + suffix.replace(".", ", ")
    return (
        f'[[family.input]]\ngiven = "{pattern}"\ntake = "{take}"\n{keys}{unit}'
        f'place = "{pattern}{suffix}"\nsays = "{words}"\n'
    )


def _output_views(
    name: str, kind: Kind, angles: Angles, place: str = ""
) -> Iterator[tuple[View, str]]:
    place = place or name.replace(" ", "_").replace(",", "")
    if isinstance(kind, TableKind):
        for view, inner in _output_views(name, kind.of, angles, f"{place}[*]"):
            yield attrs.evolve(view, key="*"), inner
        return
    space = getattr(kind, "space", 2)
    axes = _AXES[:space]
    if isinstance(kind, VectorKind):
        yield View(name, "magnitude"), f"{place}.size"
        if space == 2:
            yield _angle(name, angles), f"{place}.angle"
        takes = "component"
    elif isinstance(kind, DirectionKind):
        if space == 2:
            yield _angle(name, angles), f"{place}.angle"
            return
        takes = "axis angle"
    elif isinstance(kind, PointKind):
        takes = "coordinate"
    elif isinstance(kind, LineKind):
        takes = "intercept" if space == 2 else "foot"
    else:
        # A function of position needs a place along it, which no case but its own knows.
        if not isinstance(kind, FunctionKind):
            yield View(name), place
        return
    for axis in axes:
        yield View(name, takes, along=axis), f"{place}.{axis[1]}"


def _angle(name: str, angles: Angles) -> View:
    return View(name, "angle", start=angles.start, toward=angles.toward, range="-180..180")


def _output(
    view: View, place: str, owner: Family, system: UnitSystem, share: str, angles: Angles
) -> str:
    kind = owner.answers[view.answer].kind
    view = checked(view, kind)
    lines = [f'[[family.output]]\nanswer = "{view.answer}"\ntake = "{view.take}"']
    keys = {"key": view.key, "along": view.along, "from": view.start, "toward": view.toward,
            "range": view.range}  # fmt: skip
    lines += [f'{key} = "{value}"' for key, value in keys.items() if value is not None]
    if not isinstance(inner_kind(view, kind), ChoiceKind):
        dimension = dimension_of(view, kind)
        unit = _unit(dimension, system, angles)
        name = unit.partition('"')[2].partition('"')[0]
        small = "1e-6" if system.length.factor < fmpq(1, 2) else "1e-9"
        floor = _ANGLE_FLOOR[angles.unit] if dimension == ANGLE else f"{small} {name}".strip()
        lines.append(
            f'{unit}criterion = {{ relative = "{share}", absolute = "{floor}", '
            'reason = "half a per cent: what hand computation is held to" }'
        )
    lines.append(f'place = "{place}"\nsays = "{view.answer}, {view.take}"\n')
    return "\n".join(lines)


# ---- the calculator


def given_from(owner: Family, data: Mapping[str, Any], angles: Angles) -> Any:
    """The givens that the fields state, in the calculator's own coherent system."""
    return _table(owner.givens, data, angles)


def _table(cls: type, data: Mapping[str, Any], angles: Angles) -> Any:
    values: dict[str, Any] = {}
    for name, field in fields(cls).items():
        value = data.get(name)
        if field.shape == "many":
            assert field.of is not None
            if value or attrs.fields_dict(cls)[name].default is attrs.NOTHING:
                values[name] = tuple(_table(field.of, row, angles) for row in value or ())
        elif value is None:
            continue
        elif field.shape == "one":
            assert field.of is not None
            values[name] = _table(field.of, value, angles)
        else:
            values[name] = _leaf(field, value, angles)
    return cls(**values)


def _leaf(field: Given, value: Any, angles: Angles) -> Any:
    if field.shape in ("choice", "text"):
        return value
    if field.shape == "integer":
        return int(value)
    if field.shape == "quantities":
        return tuple(exact_double(x) for x in value)
    if field.shape == "quantity":
        return exact_double(value)
    if field.shape == "angle":
        return _turned(value, angles)
    axes = "xyz"[: field.space]
    if field.shape == "point":
        return tuple(exact_double(value[axis]) for axis in axes)
    if "angle" in value:
        direction: Any = ByAngle(_turned(value["angle"], angles), angles.start, angles.toward)
    elif "azimuth" in value:
        direction = ByAzimuth(
            _turned(value["azimuth"], angles), _turned(value["elevation"], angles)
        )
    else:
        parts = tuple(exact_double(value[axis]) for axis in axes)
        if field.shape == "vector" and "size" not in value:
            return Components(parts)
        direction = ByRun(parts)
    if field.shape == "direction":
        return direction
    return Polar(exact_double(value["size"]), direction)


def _turned(value: float, angles: Angles) -> Any:
    return read_angle(exact_double(value), read_unit(angles.unit))


def natural_answers(
    owner: Family,
    data: Mapping[str, Any],
    lines: Sequence[OutputLine],
    answering: Answering,
    angles: Angles,
) -> dict[str, Any]:
    """What the calculator shows at each place, in its own units.

    A table is shown row by row in the order of the givens, whatever a mistake does to it.
    """
    given = given_from(owner, data, angles)
    right = answers_of(owner, given)
    views: dict[str, View] = {}
    for line in lines:
        if line.view.key != "*":
            views[line.place] = line.view
            continue
        table = None if right is None else right[0].get(line.view.answer)
        keys = [str(key) for key in table] if isinstance(table, Mapping) else []
        for place, key in zip(places_of(line.place, len(keys)) or (), keys, strict=False):
            views[place] = attrs.evolve(line.view, key=key)
    wanted = list(dict.fromkeys(views.values()))
    found = answering(owner, given, wanted) or replay(owner, given, wanted) or {}
    per_radian = 180 / math.pi if angles.unit == "deg" else 1.0
    return {
        place: _shown(
            found.get(view),
            per_radian if dimension_of(view, owner.answers[view.answer].kind) == ANGLE else 1.0,
        )
        for place, view in views.items()
    }


def _shown(value: float | str | None, factor: float) -> float | str | None:
    if isinstance(value, str):
        return _DECLINED + value[1:-1] if value.startswith("[") else value
    if value is None:
        return None
    return float(value) * factor


@attrs.define
class NaturalCalculator:
    """The plain calculator in this process, as a calculator under test.

    ``mistake`` is made throughout; ``answering`` is for an error that is no known mistake;
    ``shown`` is what the calculator does to a number before it shows it (rounds it).
    """

    file: CalculatorFile
    owner: Family
    mistake: KnownMistake | None = None
    answering: Answering | None = None
    angles: Angles = Angles()
    shown: Callable[[float], float] | None = None
    takes_doubles: bool = True

    def identity(self) -> dict[str, Any]:
        return {"function": "the plain calculator", "files": []}

    def ask(self, questions: Sequence[Asked]) -> list[Received]:
        return [self._asked(question) for question in questions]

    def close(self) -> None:
        return None

    def solved(self, owner: Family, given: Any, views: Sequence[View]) -> Replayed | None:
        if self.answering is not None:
            return self.answering(owner, given, views)
        if self.mistake is None:
            return replay(owner, given, views)
        return replayed(owner, given, views, self.mistake)

    def _asked(self, question: Asked) -> Received:
        data = nested(
            {
                slot.place: slot.double
                if slot.double is not None
                else (slot.value if slot.value else None)
                for slot in question.slots
            }
        )
        lines = self.file.section(question.family).outputs
        answers = natural_answers(self.owner, data, lines, self.solved, self.angles)
        if self.shown is not None:
            answers = {p: self.shown(x) if isinstance(x, float) else x for p, x in answers.items()}
        shown = nested(answers)
        values = {place: raw_value(_returned(at_field(shown, place))) for place in question.places}
        return Received(values)


def _returned(value: Any) -> Any:
    return ReturnedNumber(repr(value), "float") if isinstance(value, float) else value


def natural_function(
    name: str, path: Path, mistake: KnownMistake | None = None
) -> Callable[[Mapping[str, Any]], dict[str, Any]]:
    """The same as a function of fields, for a calculator file that names a module."""
    from refsolver.calculators.file import read_calculator_file
    from refsolver.statics.registry import family

    file, owner = read_calculator_file(path), family(name)
    solver = NaturalCalculator(file, owner, mistake)
    lines = file.section(name).outputs
    return lambda data: nested(natural_answers(owner, data, lines, solver.solved, Angles()))
