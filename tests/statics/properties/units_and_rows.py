"""What every family must satisfy, told from its givens alone.

Units: the equations of statics know no unit, so force, length and time multiplied by any
three factors multiply every answer by the factor of its own dimension (dimensional
homogeneity). Pounds for newtons is one such change. Rows: where the order of a table
carries no meaning, another order changes nothing.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

import attrs
from flint import fmpq

from refsolver.quantities.dimensions import Dimension
from refsolver.statics.contract import Family
from refsolver.statics.givens import fields, restated
from tests.statics.properties.claims import Answers, Claim, Identity
from tests.statics.properties.values import Rescaled, changed

POUND_FORCE = fmpq(44482216152605, 10**13)
FOOT = fmpq(3048, 10**4)
INCH = fmpq(254, 10**4)
FACTORS = {
    "force": (1 / POUND_FORCE, POUND_FORCE, fmpq(1, 1000), fmpq(7, 3), fmpq(1)),
    "length": (FOOT, 1 / INCH, fmpq(1000), fmpq(5, 11), fmpq(1)),
    "time": (fmpq(1, 60), fmpq(3600), fmpq(13, 7)),
}

IN_ORDER = frozenset({"corners"})
"""Tables inside a row whose order is that of a walk."""


def _in_other_units(owner: Family, given: Any, rng: random.Random) -> Claim:
    force, length, time = (rng.choice(FACTORS[base]) for base in ("force", "length", "time"))

    def factor(dimension: Dimension) -> fmpq:
        powers = force**dimension.force * length**dimension.length
        return fmpq(powers) * fmpq(time**dimension.time)

    def expect(before: Answers) -> Answers:
        rule = Rescaled(factor)
        return {name: changed(owner.answers[name].kind, v, rule) for name, v in before.items()}

    return Claim(restated(given, factor), [(owner, given)], expect)


def named(given: Any) -> Any:
    """The same givens, every row that may have a name having one of its own."""
    changes: dict[str, Any] = {}
    for table, field in fields(type(given)).items():
        if field.shape != "many":
            continue
        rows = [
            attrs.evolve(row, name=f"{table} no {number}")
            if "name" in fields(type(row)) and not row.name
            else row
            for number, row in enumerate(getattr(given, table), 1)
        ]
        changes[table] = tuple(rows)
    return attrs.evolve(given, **changes)


def _shuffled(given: Any, rng: random.Random) -> Any:
    changes: dict[str, Any] = {}
    for table, field in fields(type(given)).items():
        here = getattr(given, table)
        if field.shape == "one" and here is not None:
            changes[table] = _shuffled(here, rng)
        elif field.shape == "many" and here:
            rows = [_shuffled(row, rng) for row in here]
            if not field.ordered and table not in IN_ORDER:
                rng.shuffle(rows)
            changes[table] = tuple(rows)
    return attrs.evolve(given, **changes)


def _rows_in_another_order(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    try:
        given = named(given)
    except ValueError:  # one row speaks of another by the name it has by its number
        return None
    other = _shuffled(given, rng)
    if other == given:
        return None
    return Claim(other, [(owner, given)], lambda before: before)


UNITS = Identity("units", _in_other_units)
ROWS = Identity("rows", _rows_in_another_order)


def tables_of(cls: type) -> Iterator[str]:
    """Tables, at any depth, whose rows may change places."""
    for name, field in fields(cls).items():
        if field.shape == "many" and not field.ordered and name not in IN_ORDER:
            yield name
        if field.of is not None:
            yield from tables_of(field.of)


def automatic(owner: Family) -> tuple[Identity, ...]:
    """The identities that a family has by its givens alone."""
    return (UNITS, ROWS) if any(tables_of(owner.givens)) else (UNITS,)


def patterns(cls: type, prefix: str = "") -> Iterator[str]:
    """Every given of a givens class by its pattern, ``forces[*].at``."""
    for name, field in fields(cls).items():
        if field.shape == "many":
            yield from patterns(field.of, f"{prefix}{name}[*].")
        elif field.shape == "one":
            yield from patterns(field.of, f"{prefix}{name}.")
        else:
            yield f"{prefix}{name}[*]" if field.shape == "quantities" else f"{prefix}{name}"
