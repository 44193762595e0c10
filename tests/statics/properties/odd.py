"""Cases that a careful user would not state: zeros, right angles, things in one place."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Slope, Turn
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields, replaced, walk

NUMBERS = {
    "any": (0, 1, -1, fmpq(1, 2), fmpq(-1, 2), 100),
    "not negative": (0, 1, fmpq(1, 2), 100),
    "positive": (1, fmpq(1, 2), 3, 100),
}
AXES = ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1), (1, 1, 0))


def _quantity(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    """A plain number, its own negative or half, or the value of another given like it."""
    if not isinstance(leaf, fmpq):
        return fmpq(rng.choice(NUMBERS[kind.sign]))
    own = (leaf / 2, leaf * 2, -leaf) if kind.sign == "any" else (leaf / 2, leaf * 2)
    value = rng.choice((fmpq(rng.choice(NUMBERS[kind.sign])), *own, *like))
    fits = value > 0 if kind.sign == "positive" else kind.sign == "any" or value >= 0
    return value if fits else leaf


def _angle(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    turn = Turn(fmpq(rng.randint(-24, 24), 24))
    return rng.choice((turn, Slope(fmpq(rng.randint(-4, 4)), fmpq(rng.choice((-3, 4)))), *like))


def _direction(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    run = rng.choice([axis for axis in AXES if any(axis[: kind.space])])
    choices: list[Any] = [ByRun(tuple(map(fmpq, run[: kind.space]))), *like]
    if kind.space == 2:
        choices.append(ByAngle(Turn(fmpq(rng.randint(0, 24), 24))))
    return rng.choice(choices)


def _vector(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    along = rng.choice(AXES)[: kind.space]
    size = rng.choice((0, 1, 10))
    negative = (
        Polar(-leaf.magnitude, leaf.direction)
        if isinstance(leaf, Polar) and isinstance(leaf.magnitude, fmpq)
        else leaf
    )
    return rng.choice((Components(tuple(fmpq(size * x) for x in along)), negative, *like))


def _point(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    corner = tuple(fmpq(rng.randint(-2, 2)) for _ in leaf)
    return rng.choice((corner, (*leaf[:-1], fmpq(0)), *like))


def _choice(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    return rng.choice(kind.choices)


def _integer(leaf: Any, kind: Given, like: list[Any], rng: random.Random) -> Any:
    return max(kind.minimum, rng.randint(0, 3))


CHANGES: dict[str, Callable[..., Any]] = {
    "quantity": _quantity,
    "quantities": _quantity,
    "angle": _angle,
    "direction": _direction,
    "vector": _vector,
    "point": _point,
    "choice": _choice,
    "integer": _integer,
}


def _absent(given: Any) -> list[str]:
    """Quantities and angles at the top that may be stated and are not."""
    return [
        name
        for name, field in fields(type(given)).items()
        if getattr(given, name) is None and field.shape in ("quantity", "angle")
    ]


def with_odd_rows(given: Any, rng: random.Random) -> Any:
    """One table with a row left out or twice in it; ValueError where it will not be."""
    tables = [
        name
        for name, field in fields(type(given)).items()
        if field.shape == "many" and getattr(given, name)
    ]
    if not tables:
        return given
    table = rng.choice(tables)
    rows = list(getattr(given, table))
    place = rng.randrange(len(rows))
    if rng.random() < 0.5 and len(rows) > 1:
        del rows[place]
    elif "name" in fields(type(rows[place])):
        rows.insert(place, attrs.evolve(rows[place], name="once more"))
    else:
        rows.insert(place, rows[place])
    return attrs.evolve(given, **{table: tuple(rows)})


def odd(owner: Family, given: Any, rng: random.Random) -> Any:
    """The case with one to three of its givens made odd; ValueError where it will not be."""
    if rng.random() < 0.3:
        given = with_odd_rows(given, rng)
    leaves = [item for item in walk(given) if item[2].shape in CHANGES]
    changes: dict[str, Any] = {}
    for path, leaf, field in rng.sample(leaves, min(len(leaves), rng.randint(1, 3))):
        like = [
            other
            for there, other, kind in leaves
            if (kind.shape, kind.dimension, kind.space)
            == (field.shape, field.dimension, field.space)
            and there != path
        ]
        plain = [
            x for x in like if field.shape not in ("quantity", "quantities") or isinstance(x, fmpq)
        ]
        changes[path] = CHANGES[field.shape](leaf, field, plain[:6], rng)
    absent = _absent(given)
    if absent and rng.random() < 0.15:
        name = rng.choice(absent)
        field = fields(type(given))[name]
        changes[name] = CHANGES[field.shape](fmpq(1), field, [], rng)
    optional = [
        a.name
        for a in attrs.fields(type(given))
        if a.default is None and getattr(given, a.name) is not None
    ]
    if optional and rng.random() < 0.15:
        changes[rng.choice(optional)] = None
    return replaced(given, changes)
