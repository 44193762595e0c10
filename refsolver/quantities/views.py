"""Views: one number (or word) taken from an answer, in a stated convention.

A view is structured keys, never an expression. Case files and calculator files use the
same keys: ``{ answer = "resultant", take = "angle", from = "+y", toward = "+x" }``.

==============  ============================================================  ==============
kind            take                                                          uses
==============  ============================================================  ==============
scalar          value (default), size
vector          component, magnitude; angle (plane); axis angle, cosine,      along, from,
                azimuth, elevation (space)                                    toward, range
direction       the same without magnitude; component and cosine are of       along, from,
                the unit vector; slope (rise over run, plane)                 toward, range
point           coordinate, distance (from the origin)                        along
plane line      intercept (coordinate ``along`` where the other one is        along, at
                ``at``, by default 0), foot (coordinate ``along`` of the
                point nearest the origin), distance (from the origin),
                angle (of the undirected line, "0..180" or "-90..90")
space line      pierces (coordinate ``along`` where coordinate ``through``    along, at,
                is ``at``), foot, distance, axis angle                        through
function        value at ``at`` (``side``: left or right where it jumps)      at, side
table           any take of the inner kind                                    key
alternatives    any take of the inner kind of answer ``part``                 pick, part
choice          word (default)
==============  ============================================================  ==============

Angles come out in radians here; the prover turns them into turns.
"""

from __future__ import annotations

from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGLE, LENGTH, NUMBER, Dimension
from refsolver.quantities.kinds import (
    AlternativesKind,
    Choice,
    ChoiceKind,
    DirectionKind,
    FunctionKind,
    Kind,
    LineKind,
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import AXIS

__all__ = ["RANGES", "View", "ViewError", "dimension_of", "evaluate", "natural_views", "takes"]

RANGES = ("-180..180", "0..360", "0..180", "-90..90", "0..90")
"""Ranges of a plane angle. The last three are of the undirected line: "0..90" is the
acute angle between the line and the axis, without sense."""


_REPEATS = {"-180..180": fmpq(1), "0..360": fmpq(1), "0..180": fmpq(1, 2)}


class ViewError(ValueError):
    """A view that does not fit its answer; the message says which key and what fits."""


@attrs.frozen(cache_hash=True)
class View:
    """What is asked of an answer. Unused keys stay None."""

    answer: str
    take: str | None = None
    key: str | None = None
    along: str | None = None
    start: str | None = None
    toward: str | None = None
    range: str | None = None
    at: Exact | None = None
    side: str | None = None
    through: str | None = None
    pick: int | None = None
    part: str | None = None

    @property
    def repeats_after(self) -> fmpq | None:
        """The turns after which the angle taken is the same direction or line again."""
        span = self.range or ("0..360" if self.take == "azimuth" else "")
        return _REPEATS.get(span)

    def describe(self) -> str:
        """The view in words, unique within a family."""
        words = [self.answer if self.key is None else f"{self.answer} [{self.key}]"]
        if self.pick is not None:
            words.append(f"solution {self.pick}")
        if self.part is not None:
            words.append(self.part)
        if self.take not in (None, "value", "word"):
            words.append(str(self.take))
        if self.along is not None:
            words.append(f"along {self.along}")
        if self.start is not None or self.toward is not None:
            words.append(f"from {self.start or '+x'} toward {self.toward or '+y'}")
        if self.range is not None:
            words.append(f"in {self.range}")
        if self.through is not None:
            words.append(f"through {self.through}")
        if self.at is not None:
            words.append(f"at {self.at}")
        if self.side is not None:
            words.append(f"just {self.side}")
        return " ".join(words)


_TAKES: dict[type, tuple[str, ...]] = {
    ScalarKind: ("value", "size"),
    PointKind: ("coordinate", "distance"),
    FunctionKind: ("value", "size"),
    ChoiceKind: ("word",),
}
_PLANE_TAKES: dict[type, tuple[str, ...]] = {
    VectorKind: ("magnitude", "component", "angle", "slope"),
    DirectionKind: ("angle", "component", "cosine", "slope"),
    LineKind: ("intercept", "foot", "distance", "angle"),
}
_SPACE_TAKES: dict[type, tuple[str, ...]] = {
    VectorKind: ("magnitude", "component", "axis angle", "cosine", "azimuth", "elevation"),
    DirectionKind: ("axis angle", "component", "cosine", "azimuth", "elevation"),
    LineKind: ("pierces", "foot", "distance", "axis angle"),
}


def takes(kind: Kind) -> tuple[str, ...]:
    """What can be taken from a kind; the first is the default."""
    if isinstance(kind, VectorKind | DirectionKind | LineKind):
        return (_PLANE_TAKES if kind.space == 2 else _SPACE_TAKES)[type(kind)]
    return _TAKES[type(kind)]


def inner_kind(view: View, kind: Kind) -> Kind:
    """The kind that ``take`` applies to, inside tables and alternatives."""
    while isinstance(kind, TableKind | AlternativesKind):
        if isinstance(kind, TableKind):
            if view.key is None:
                raise ViewError(f"{view.answer}: say which {kind.keyed_by} with 'key'")
            kind = kind.of
        else:
            if view.part is None or view.part not in kind.of:
                raise ViewError(f"{view.answer}: 'part' is one of {', '.join(kind.of)}")
            kind = kind.of[view.part]
    return kind


def checked(view: View, kind: Kind) -> View:
    """The view with its defaults filled in; raises ViewError where it does not fit."""
    inner = inner_kind(view, kind)
    allowed = takes(inner)
    take = view.take or allowed[0]
    if take not in allowed:
        raise ViewError(
            f"{view.answer}: 'take = \"{take}\"' does not fit; use one of {', '.join(allowed)}"
        )
    needs_axis = take in {
        "component", "cosine", "coordinate", "intercept", "foot", "pierces", "axis angle",
        "elevation",
    }  # fmt: skip
    if needs_axis and view.along is None:
        raise ViewError(f"{view.answer}: {take} needs 'along', an axis such as \"+x\"")
    space = getattr(inner, "space", 2)
    for name, axis in (("along", view.along), ("from", view.start), ("toward", view.toward)):
        if axis is not None and (axis not in AXIS or AXIS[axis][0] >= space):
            letters = "xyz"[:space]
            raise ViewError(
                f"{view.answer}: '{name}' is a signed axis such as \"+{letters[-1]}\", "
                f"not {axis!r}; write one"
            )
    start, toward = view.start, view.toward
    if take in ("angle", "azimuth", "slope"):
        start, toward = start or "+x", toward or "+y"
        if AXIS[start][0] == AXIS[toward][0]:
            raise ViewError(f"{view.answer}: 'from' and 'toward' must be perpendicular axes")
    elif start or toward:
        raise ViewError(
            f"{view.answer}: 'from' and 'toward' belong to an angle, not to {take}; leave them out"
        )
    span = view.range
    if take == "angle" and span is None:
        span = "0..180" if isinstance(inner, LineKind) else "-180..180"
    if span is not None and (span not in RANGES or take not in ("angle", "azimuth")):
        raise ViewError(f"{view.answer}: 'range' is of an angle, one of {', '.join(RANGES)}")
    if isinstance(inner, FunctionKind) and view.at is None:
        raise ViewError(f"{view.answer}: a function of position needs 'at'")
    if take == "pierces" and view.through not in ("x", "y", "z"):
        raise ViewError(f"{view.answer}: pierces needs 'through', a coordinate such as \"z\"")
    if (take, start, toward, span) == (view.take, view.start, view.toward, view.range):
        return view
    return attrs.evolve(view, take=take, start=start, toward=toward, range=span)


def dimension_of(view: View, kind: Kind) -> Dimension:
    """The dimension of what a (checked) view takes; NUMBER for words and cosines."""
    inner = inner_kind(view, kind)
    take = view.take or takes(inner)[0]
    if take in ("angle", "axis angle", "azimuth", "elevation"):
        return ANGLE
    if take in ("cosine", "slope", "word") or isinstance(inner, DirectionKind):
        return NUMBER
    if isinstance(inner, PointKind | LineKind):
        return LENGTH
    assert isinstance(inner, ScalarKind | VectorKind | FunctionKind)
    return inner.dimension


_NESTED = (TableKind, AlternativesKind)


def evaluate(view: View, kind: Kind, value: Value, ar: Arithmetic) -> Number | str | NoAnswer:
    """The number (or word) that a checked view takes from the value of an answer."""
    while isinstance(kind, _NESTED):
        if isinstance(value, NoAnswer):
            return value
        if isinstance(kind, TableKind):
            if view.key not in value:
                known = ", ".join(str(key) for key in value)
                raise ViewError(
                    f"{view.answer}: no {kind.keyed_by} {view.key!r}; there are {known}"
                )
            kind, value = kind.of, value[view.key]
        else:
            index = view.pick or 1
            if index > len(value):
                return NoAnswer("no solution", f"there are {len(value)} solutions")
            kind, value = kind.of[str(view.part)], value[index - 1][view.part]
    if isinstance(value, NoAnswer):
        return value
    if isinstance(kind, ChoiceKind):
        assert isinstance(value, Choice)
        return value.word
    return _EVALUATE[type(kind)](view, value, ar)


def _along(axis: str, vector: tuple[Number, ...]) -> Number:
    index, sense = AXIS[axis]
    return vector[index] if sense > 0 else -vector[index]


def _squares(numbers: list[Number] | tuple[Number, ...]) -> Number:
    total = numbers[0] * numbers[0]
    for x in numbers[1:]:
        total = total + x * x
    return total


def _scalar(view: View, value: Any, ar: Arithmetic) -> Number:
    return ar.size(value) if view.take == "size" else value


def _is_zero(vector: tuple[Number, ...], name: str, ar: Arithmetic) -> bool:
    for x, letter in zip(vector, "xyz", strict=False):
        if ar.sign(x, f"{name}: {letter}") != 0:
            return False
    return True


def _vector(view: View, value: tuple[Number, ...], ar: Arithmetic) -> Number | NoAnswer:
    if view.take == "component":
        return _along(str(view.along), value)
    if view.take == "magnitude":
        return ar.sqrt(_squares(value))
    if _is_zero(value, f"{view.answer}{_of(view)}", ar):
        return NoAnswer("no direction", f"{view.answer} is proven zero")
    return _direction(view, value, ar)


def _of(view: View) -> str:
    return "" if view.key is None else f" [{view.key}]"


def _direction(view: View, value: tuple[Number, ...], ar: Arithmetic) -> Number | NoAnswer:
    if view.take in ("cosine", "component"):
        return _along(str(view.along), value) / ar.sqrt(_squares(value))
    if view.take == "axis angle":
        index, _ = AXIS[str(view.along)]
        rest = [x for i, x in enumerate(value) if i != index]
        return _from_axis(ar.sqrt(_squares(rest)), rest, _along(str(view.along), value), view, ar)
    if view.take == "elevation":
        index, _ = AXIS[str(view.along)]
        rest = [x for i, x in enumerate(value) if i != index]
        up = _along(str(view.along), value)
        if _is_zero(tuple(rest), f"{view.answer}{_of(view)} off {view.along}", ar):
            return ar.pi() / (2 * ar.sign(up, f"{view.answer}{_of(view)} along {view.along}"))
        return ar.atan2(up, ar.sqrt(_squares(rest)), _angle_name(view))
    u, v = _along(str(view.start), value), _along(str(view.toward), value)
    if view.take == "slope":
        if ar.sign(u, f"{_angle_name(view)}: x") == 0:
            return NoAnswer("not defined", "the slope of a direction along the rise axis")
        return v / u
    if len(value) == 3 and _is_zero((u, v), f"{_angle_name(view)}, in plan", ar):
        return NoAnswer("no direction", "it has no component in the plane of the azimuth")
    return _plane_angle(u, v, view, ar)


def _angle_name(view: View) -> str:
    """Unique for the numbers decided: another axis or another take decides other signs."""
    toward = f" toward {view.toward}" if view.toward else ""
    return f"{view.take} of {view.answer}{_of(view)} from {view.start or view.along}{toward}"


def _from_axis(
    across: Number, rest: list[Number], along: Number, view: View, ar: Arithmetic
) -> Number:
    if _is_zero(tuple(rest), f"{view.answer}{_of(view)} off {view.along}", ar):
        forward = ar.sign(along, f"{view.answer}{_of(view)} along {view.along}") > 0
        return ar.pi() * (0 if forward else 1)
    return ar.atan2(across, along, _angle_name(view))


def _plane_angle(u: Number, v: Number, view: View, ar: Arithmetic) -> Number:
    name = _angle_name(view)
    if view.range in (None, "-180..180"):
        return ar.atan2(v, u, name)
    su, sv = ar.sign(u, f"{name}: x"), ar.sign(v, f"{name}: y")
    if view.range == "0..360":
        angle = ar.atan2(v, u, name)
        return angle + ar.pi() * 2 if sv < 0 else angle
    if su < 0 or (su == 0 and sv < 0):
        u, v, su, sv = -u, -v, -su, -sv
    if view.range == "0..90" and sv < 0:
        v = -v
    folded = ar.atan2(v, u, f"{name} folded into {view.range}")
    return folded + ar.pi() if view.range == "0..180" and sv < 0 else folded


def _point(view: View, value: tuple[Number, ...], ar: Arithmetic) -> Number:
    if view.take == "distance":
        return ar.sqrt(_squares(value))
    return _along(str(view.along), value)


def _line(view: View, value: Any, ar: Arithmetic) -> Number | NoAnswer:
    return _plane_line(view, value, ar) if len(value) == 3 else _space_line(view, value, ar)


def _plane_line(view: View, value: tuple[Number, ...], ar: Arithmetic) -> Number | NoAnswer:
    a, b, c = value
    if view.take == "distance":
        return ar.size(c) / ar.sqrt(a * a + b * b)
    if view.take == "foot":
        square = a * a + b * b
        return _along(str(view.along), (a * c / square, b * c / square))
    if view.take == "angle":
        along = (-b, a)
        u, v = _along(str(view.start), along), _along(str(view.toward), along)
        return _plane_angle(u, v, view, ar)
    index, sense = AXIS[str(view.along)]
    here, other = (a, b) if index == 0 else (b, a)
    if ar.sign(here, f"{view.answer}: coefficient of {'xy'[index]}") == 0:
        return NoAnswer("no intercept", f"the line is parallel to the {'xy'[index]} axis")
    coordinate = (c if view.at is None else c - other * ar.bring(view.at)) / here
    return coordinate if sense > 0 else -coordinate


def _space_line(view: View, value: Any, ar: Arithmetic) -> Number | NoAnswer:
    point, direction = value
    if view.take == "axis angle":
        return _direction(view, direction, ar)
    if view.take in ("foot", "distance"):
        dot = point[0] * direction[0] + point[1] * direction[1] + point[2] * direction[2]
        t = dot / _squares(direction)
        foot = tuple(p - t * d for p, d in zip(point, direction, strict=True))
        return ar.sqrt(_squares(foot)) if view.take == "distance" else _along(str(view.along), foot)
    across = "xyz".index(str(view.through))
    if ar.sign(direction[across], f"{view.answer}: along {view.through}") == 0:
        return NoAnswer("no intercept", f"the line is parallel to the plane {view.through} = const")
    rise = -point[across] if view.at is None else ar.bring(view.at) - point[across]
    t = rise / direction[across]
    return _along(str(view.along), tuple(p + t * d for p, d in zip(point, direction, strict=True)))


def _function(view: View, value: Any, ar: Arithmetic) -> Number | NoAnswer:
    assert view.at is not None
    x = ar.bring(view.at)
    found: list[Number] = []
    for number, piece in enumerate(value, 1):
        after = ar.sign(x - piece.start, f"{view.answer} at {view.at}: past start {number}")
        before = ar.sign(piece.end - x, f"{view.answer} at {view.at}: before end {number}")
        if after < 0 or before < 0:
            continue
        if (after == 0 and view.side == "left") or (before == 0 and view.side == "right"):
            continue
        t, result = x - piece.start, piece.coefficients[-1]
        for c in reversed(piece.coefficients[:-1]):
            result = result * t + c
        found.append(result)
    if not found:
        return NoAnswer("not defined", f"{view.answer} has no value there")
    if len(found) == 2 and view.side is None:
        jump = ar.sign(found[1] - found[0], f"{view.answer} at {view.at}: jump")
        if jump != 0:
            return NoAnswer("not defined", f"{view.answer} jumps there: say which side")
    return ar.size(found[0]) if view.take == "size" else found[0]


_EVALUATE: dict[type, Any] = {
    ScalarKind: _scalar,
    VectorKind: _vector,
    DirectionKind: _direction,
    PointKind: _point,
    LineKind: _line,
    FunctionKind: _function,
}


def natural_views(answer: str, kind: Kind, value: Value) -> list[View]:
    """The views shown when nobody asked for particular ones."""
    if isinstance(kind, TableKind):
        keys = [] if isinstance(value, NoAnswer) else list(value)
        return [
            attrs.evolve(view, key=str(key))
            for key in keys
            for view in natural_views(answer, kind.of, value[key])
        ]
    if isinstance(kind, AlternativesKind):
        solutions = [] if isinstance(value, NoAnswer) else value
        return [
            attrs.evolve(view, pick=number, part=part)
            for number, solution in enumerate(solutions, 1)
            for part, inner in kind.of.items()
            for view in natural_views(answer, inner, solution[part])
        ]
    if isinstance(kind, FunctionKind):
        return []
    views: list[View] = []
    space = getattr(kind, "space", 2)
    axes = [f"+{letter}" for letter in "xyz"[:space]]
    if isinstance(kind, VectorKind):
        views = [View(answer, "component", along=axis) for axis in axes]
        views.append(View(answer, "magnitude"))
    elif isinstance(kind, DirectionKind):
        views = (
            [View(answer, "angle")]
            if space == 2
            else [View(answer, "axis angle", along=axis) for axis in axes]
        )
    elif isinstance(kind, PointKind):
        views = [View(answer, "coordinate", along=axis) for axis in axes]
    elif isinstance(kind, LineKind):
        take = "intercept" if space == 2 else "foot"
        views = [View(answer, take, along=axis) for axis in axes]
    else:
        views = [View(answer)]
    return [checked(view, kind) for view in views]
