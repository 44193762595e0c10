"""The calculator file of the plain calculator of a family: every given in, every answer out.

Written from what the family declares, in one coherent system of units, with angles counted
in one way, and with vectors handed over by angle, by components or by slope triangle.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
from flint import fmpq

from refsolver.calculators.criteria import SCALES
from refsolver.calculators.line_readers import leaf_dimension
from refsolver.quantities.dimensions import ANGLE, NUMBER, Dimension
from refsolver.quantities.kinds import (
    REFUSALS,
    AlternativesKind,
    ChoiceKind,
    DirectionKind,
    FunctionKind,
    Kind,
    LineKind,
    PointKind,
    TableKind,
    VectorKind,
)
from refsolver.quantities.leaves import Axis
from refsolver.quantities.units import UnitSystem
from refsolver.quantities.views import View, checked, dimension_of, inner_kind
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = ["DECLINED", "Angles", "forms", "natural_text"]

_ANGLE_FLOOR = {"deg": "0.05 deg", "rad": "0.0009 rad"}
_SCALES = ("largest force", "span")
_ROOT_OF_ROUNDING = "0.000005 %"
"""sqrt(2^-52) is 1.5e-8; the square of a sum of a few terms leaves some units more."""

_SOLUTIONS = 3
"""Of a question with several solutions, how many the calculator shows."""

_AXES = ("+x", "+y", "+z")
DECLINED = "none: "
"""Before the reason of a refusal: "redundant" is also a word for how a body is held."""


@attrs.frozen
class Angles:
    """How the calculator counts plane angles, given and answered, and in which unit."""

    start: Axis = "+x"
    toward: Axis = "+y"
    unit: str = "deg"


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

    The absolute floor is a millionth of the coherent unit (a thousandth of that for lengths,
    areas and the like in metres, more for powers of a millimetre; an angle: a twentieth of a
    degree), so that what rounding leaves of a zero passes. Of forces and lengths passes what
    the root of a difference that rounding leaves can come to, beside the greatest given.
    ``function`` is what answers.
    """
    texts = ", ".join(f'"{DECLINED}{reason}"' for reason in REFUSALS)
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
    if isinstance(kind, AlternativesKind):
        for pick in range(1, _SOLUTIONS + 1):
            for part, of in kind.of.items():
                for view, inner in _output_views(name, of, angles, f"{place}[{pick}].{part}"):
                    yield attrs.evolve(view, pick=pick, part=part), inner
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


def _small(dimension: Dimension, system: UnitSystem) -> str:
    """The number that passes for zero, by how many units a common size has."""
    if system.length.factor >= fmpq(1, 2):
        return "1e-6" if dimension.force else "1e-9"
    millimetres = system.length.factor <= fmpq(1, 100)
    return f"1e{max(dimension.length, 0) - 6 if millimetres else -6}"


def _of_scale(dimension: Dimension) -> str:
    """The root of a difference of squares that doubles leave, as a share of what is subtracted."""
    scale = next((name for name in _SCALES if SCALES[name] == dimension), None)
    return f'fraction = "{_ROOT_OF_ROUNDING}", of = "{scale}", ' if scale else ""


def _output(
    view: View, place: str, owner: Family, system: UnitSystem, share: str, angles: Angles
) -> str:
    kind = owner.answers[view.answer].kind
    view = checked(view, kind)
    lines = [f'[[family.output]]\nanswer = "{view.answer}"\ntake = "{view.take}"']
    if view.pick is not None:
        lines.append(f"pick = {view.pick}")
    keys = {"key": view.key, "part": view.part, "along": view.along, "from": view.start,
            "toward": view.toward, "range": view.range}  # fmt: skip
    lines += [f'{key} = "{value}"' for key, value in keys.items() if value is not None]
    if not isinstance(inner_kind(view, kind), ChoiceKind):
        dimension = dimension_of(view, kind)
        unit = _unit(dimension, system, angles)
        name = unit.partition('"')[2].partition('"')[0]
        small = _small(dimension, system)
        floor = _ANGLE_FLOOR[angles.unit] if dimension == ANGLE else f"{small} {name}".strip()
        lines.append(
            f'{unit}criterion = {{ relative = "{share}", absolute = "{floor}", '
            f"{_of_scale(dimension)}"
            'reason = "half a per cent: what hand computation is held to" }'
        )
    lines.append(f'place = "{place}"\nsays = "{view.answer}, {view.take}"\n')
    return "\n".join(lines)
