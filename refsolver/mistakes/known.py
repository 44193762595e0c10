"""The known mistakes that are no family's own: on givens, on answers, in the arithmetic.

Each has a name in plain trade words and one sentence on what people do wrong. Those on
givens change exact leaves wherever a case has them; those on answers change the number
reported, in coherent units (angles in radians).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Literal, TypeAlias

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Slope, Turn, negated
from refsolver.mistakes.arithmetics import ARITHMETICS, MistakenArithmetic
from refsolver.mistakes.replay import Replayed, replay, replay_in
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, Dimension
from refsolver.quantities.leaves import AXIS, ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.rounding import rounded
from refsolver.quantities.views import View, dimension_of
from refsolver.statics.contract import Family, Mistake
from refsolver.statics.givens import fields, replaced, walk
from refsolver.statics.vectors import vector

__all__ = [
    "AnswerMistake",
    "GENERAL",
    "KnownMistake",
    "early_rounding",
    "replayed",
    "seat",
]


@attrs.frozen
class AnswerMistake:
    """A mistake in the number reported; ``change`` gives None where it does not apply."""

    name: str
    says: str
    change: Callable[[View, Dimension, float], float | None]


KnownMistake: TypeAlias = Mistake | MistakenArithmetic | AnswerMistake


def seat(mistake: KnownMistake) -> Literal["givens", "answers", "arithmetic", "rules"]:
    """Where the mistake is made."""
    if isinstance(mistake, MistakenArithmetic):
        return "arithmetic"
    if isinstance(mistake, AnswerMistake) or mistake.answers is not None:
        return "answers"
    return "givens" if mistake.givens is not None else "rules"


def replayed(
    family: Family, given: Any, views: Sequence[View], mistake: KnownMistake
) -> Replayed | None:
    """What would be reported for each view by somebody who makes the mistake.

    None where it does not apply. Double precision; angles in radians.
    """
    if isinstance(mistake, Mistake):
        return replay(family, given, views, mistake)
    if isinstance(mistake, AnswerMistake):
        return _changed(family, replay(family, given, views), mistake)
    found = replay_in(family, given, views, mistake.make)
    if found is None:
        return None
    # An angle is turned into degrees with the same wrong pi.
    factor = math.pi / mistake.pi
    return {
        view: value * factor
        if isinstance(value, float) and _dimension(family, view) == ANGLE
        else value
        for view, value in found.items()
    }


def _dimension(family: Family, view: View) -> Dimension:
    return dimension_of(view, family.answers[view.answer].kind)


def _changed(family: Family, right: Replayed | None, mistake: AnswerMistake) -> Replayed | None:
    found: dict[View, float | str] = {}
    for view, value in (right or {}).items():
        if isinstance(value, str):
            found[view] = value
            continue
        other = mistake.change(view, _dimension(family, view), value)
        found[view] = value if other is None else other
    return None if found == right or not found else found


# ---- on givens: every leaf that has the form in question is changed alike


def _on_leaves(change: Callable[[Any], Any]) -> Callable[[Any], Any | None]:
    """A change of every leaf that it applies to (None elsewhere)."""

    def changed(given: Any) -> Any | None:
        changes = {path: new for path, leaf, _ in walk(given) if (new := change(leaf)) is not None}
        return replaced(given, changes) if changes else None

    return changed


def _on_directions(change: Callable[[Any], Any]) -> Callable[[Any], Any | None]:
    """The same for the direction of a leaf, alone or in a magnitude with direction."""

    def on_leaf(leaf: Any) -> Any:
        if not isinstance(leaf, Polar):
            return change(leaf)
        new = change(leaf.direction)
        return None if new is None else attrs.evolve(leaf, direction=new)

    return _on_leaves(on_leaf)


def _from_the_other_axis(direction: Any) -> Any:
    if isinstance(direction, ByAngle | ByAzimuth):
        return attrs.evolve(direction, start=direction.toward, toward=direction.start)
    return None


def _turned_the_other_way(direction: Any) -> Any:
    if isinstance(direction, ByAngle) and isinstance(direction.angle, Turn):
        return attrs.evolve(direction, angle=Turn(-direction.angle.turns))
    return None


def _slope_inverted(leaf: Any) -> Any:
    if isinstance(leaf, ByRun) and len(leaf.run) == 2:
        return ByRun((leaf.run[1], leaf.run[0]))
    if isinstance(leaf, Slope):
        return Slope(leaf.run, leaf.rise)
    if isinstance(leaf, ByAngle) and isinstance(leaf.angle, Slope):
        return attrs.evolve(leaf, angle=Slope(leaf.angle.run, leaf.angle.rise))
    return None


def _sense_reversed(leaf: Any) -> Any:
    if isinstance(leaf, Polar):
        return attrs.evolve(leaf, magnitude=negated(leaf.magnitude))
    if isinstance(leaf, Components):
        return Components(tuple(negated(x) for x in leaf.along))
    return None


_QUARTERS = ("up to the right", "up to the left", "down to the left", "down to the right")


def _quarter(direction: ByAngle, first_axis: bool) -> int | None:
    """The quarter (0 to 3) that a direction by a rational angle points into.

    An axis belongs to the quarter before it, counter-clockwise, or with ``first_axis`` to
    the one after it.
    """
    if not isinstance(direction.angle, Turn):
        return None
    (first, sense), (second, other) = AXIS[direction.start], AXIS[direction.toward]
    if {first, second} != {0, 1}:
        return None
    turns = direction.angle.turns
    if first == 0:
        turns = turns if sense == other else -turns
        turns += 0 if sense > 0 else fmpq(1, 2)
    else:
        turns = -turns if sense == other else turns
        turns += fmpq(1, 4) if sense > 0 else fmpq(3, 4)
    turns -= turns.floor()
    return int((4 * turns).floor()) if first_axis else (int((4 * turns).ceil()) - 1) % 4


def _rest_from_the_other_axis(quarter: int, first_axis: bool) -> Callable[[Any], Any]:
    """The acute angle left in one quarter, laid off from the other axis: x and y change roles."""

    def changed(direction: Any) -> Any:
        if not isinstance(direction, ByAngle) or _quarter(direction, first_axis) != quarter:
            return None
        sign = "+" if quarter % 2 == 0 else "-"
        swap = {"+x": f"{sign}y", "-x": f"{'-' if sign == '+' else '+'}y"}
        swap |= {y: x for x, y in swap.items()}
        return ByAngle(direction.angle, swap[direction.start], swap[direction.toward])  # type: ignore[arg-type]

    return changed


def _tables(given: Any) -> Iterator[tuple[str, tuple[Any, ...]]]:
    for name, field in fields(type(given)).items():
        if field.shape == "many":
            yield name, getattr(given, name)


def _rows(keep: slice) -> Callable[[Any], Any | None]:
    def changed(given: Any) -> Any | None:
        kept = {n: rows[keep] for n, rows in _tables(given) if len(rows) > 1}
        kept = {n: rows for n, rows in kept.items() if rows and rows != getattr(given, n)}
        return attrs.evolve(given, **kept) if kept else None

    return changed


def early_rounding(step: fmpq, words: str) -> Mistake:
    """Components rounded to ``step`` (in the case's coherent unit) before they are used."""

    def components(leaf: Any) -> Any:
        if not isinstance(leaf, Polar | Components):
            return None
        try:
            parts = vector(leaf, DoubleArithmetic())
        except (ArithmeticError, ValueError, Undecided):
            return None
        return Components(tuple(rounded(_exact(x), step) for x in parts))

    return Mistake(
        f"early rounding to {words}",
        f"the components of every force are rounded to {words} before they are added",
        givens=_on_leaves(components),
    )


def _exact(x: float) -> fmpq:
    return fmpq(*x.as_integer_ratio())


# ---- on answers

_SIGNED = ("value", "component", "coordinate", "intercept", "foot", "pierces", "cosine", "slope")


def _sign_reversed(view: View, dimension: Dimension, value: float) -> float | None:
    return -value if view.take in _SIGNED or dimension == ANGLE else None


def _angle(change: Callable[[float], float]) -> Callable[[View, Dimension, float], float | None]:
    return lambda view, dimension, value: change(value) if dimension == ANGLE else None


def _scaled(wanted: Dimension, factor: float) -> Callable[[View, Dimension, float], float | None]:
    return lambda view, dimension, value: value * factor if dimension == wanted else None


_LBF, _G, _FOOT = 4.4482216152605, 9.80665, 12.0

GENERAL: tuple[KnownMistake, ...] = (
    *ARITHMETICS,
    Mistake("angle from the wrong axis",
            "every angle is laid off from the other axis of its pair",
            givens=_on_directions(_from_the_other_axis)),
    *(
        Mistake(f"angle from the wrong axis, {words}{which}",
                f"the acute angle of a direction {words} is taken from one axis and resolved "
                "as if from the other",
                givens=_on_directions(_rest_from_the_other_axis(quarter, first_axis)))
        for quarter, words in enumerate(_QUARTERS)
        for first_axis, which in ((False, ""), (True, " or along its first axis"))
    ),
    Mistake("angle turned the other way",
            "clockwise is taken for counter-clockwise, or the other way round",
            givens=_on_directions(_turned_the_other_way)),
    Mistake("slope inverted", "rise and run of a slope are exchanged",
            givens=_on_directions(_slope_inverted)),
    Mistake("sense reversed", "every force is taken to act the other way",
            givens=_on_leaves(_sense_reversed)),
    Mistake("last row left out", "the last row of each table is not read",
            givens=_rows(slice(None, -1))),
    Mistake("first row left out", "the first row of each table is not read",
            givens=_rows(slice(1, None))),
    *(
        Mistake(f"rows after the first {count} left out",
                f"only {count} rows of each table are read", givens=_rows(slice(None, count)))
        for count in range(2, 13)
    ),
    AnswerMistake("sign reversed", "the answer has the opposite sign (tension and compression, "
                  "or the two senses, exchanged)", _sign_reversed),
    AnswerMistake("half a turn off", "the direction given is the opposite one",
                  _angle(lambda x: x + math.pi)),
    AnswerMistake("supplementary angle", "the angle to half a turn is given",
                  _angle(lambda x: math.pi - x)),
    AnswerMistake("complementary angle", "the angle to the other axis is given",
                  _angle(lambda x: math.pi / 2 - x)),
    AnswerMistake("radians given for degrees", "an angle is reported in radians and read as "
                  "degrees", _angle(lambda x: x * math.pi / 180)),
    AnswerMistake("newtons given for pounds", "a force is reported in newtons and read as "
                  "pounds", _scaled(FORCE, _LBF)),
    AnswerMistake("pounds given for newtons", "a force is reported in pounds and read as "
                  "newtons", _scaled(FORCE, 1 / _LBF)),
    AnswerMistake("g applied twice", "a force is multiplied by g as if it were a mass",
                  _scaled(FORCE, _G)),
    AnswerMistake("g left out", "a mass is reported where its weight is asked",
                  _scaled(FORCE, 1 / _G)),
    AnswerMistake("inches given for feet", "a length is reported in inches and read as feet",
                  _scaled(LENGTH, _FOOT)),
    AnswerMistake("feet given for inches", "a length is reported in feet and read as inches",
                  _scaled(LENGTH, 1 / _FOOT)),
)  # fmt: skip
"""Every known mistake that is no family's own, except those that need a calculator's unit."""
