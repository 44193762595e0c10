"""Acceptance criteria: how far a reported value may lie from the reference, and why.

A criterion is stated for one output, in that output's unit, and always with its reason.
Parts are combined by "whichever is larger" (or smaller); each side may differ, with a
named safe side; a rounding output has a criterion of its own, which states step and
manner. Everything is exact: a tolerance that depends on the reference is an enclosure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.quantities.dimensions import FORCE, LENGTH, Dimension
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import Unit, UnitError, read_unit

__all__ = ["Band", "Criterion", "CriterionError", "Part", "SCALES", "Rounding", "read_criterion"]

Manner = Literal["nearest", "up", "down", "cut"]
MANNERS: tuple[Manner, ...] = ("nearest", "up", "down", "cut")

SCALES: dict[str, Dimension] = {
    "largest force": FORCE,
    "sum of forces": FORCE,
    "span": LENGTH,
}
"""The scales by name, and the dimension of an output they suit."""


class CriterionError(ValueError):
    """A criterion that cannot be used; the message names the key and how to mend it."""


@attrs.frozen
class Band:
    """The deviation allowed below and above the reference, each a proven enclosure >= 0."""

    below: Enclosure
    above: Enclosure


@attrs.frozen
class Part:
    """One side's allowance: relative to the reference, absolute, relative to a scale."""

    relative: fmpq | None = None
    absolute: fmpq | None = None
    fraction: fmpq | None = None
    of: str = ""
    combine: Literal["larger", "smaller"] = "larger"

    def allowance(self, reference: Enclosure, scales: Mapping[str, Enclosure]) -> Enclosure:
        found: list[Enclosure] = []
        if self.relative is not None:
            size = reference.deviation(fmpq(0))
            found.append(size.scaled(self.relative))
        if self.absolute is not None:
            found.append(Enclosure(self.absolute, self.absolute))
        if self.fraction is not None:
            found.append(scales[self.of].scaled(self.fraction))
        pick = max if self.combine == "larger" else min
        return Enclosure(pick(e.lower for e in found), pick(e.upper for e in found))

    def least(self) -> fmpq:
        """What is allowed whatever the reference is."""
        beside = self.relative is not None or self.fraction is not None
        if self.absolute is None or (beside and self.combine == "smaller"):
            return fmpq(0)
        return self.absolute

    def words(self, unit: str) -> str:
        found = []
        if self.relative is not None:
            found.append(f"{_text(self.relative * 100)} % of the reference value")
        if self.absolute is not None:
            found.append(f"{_text(self.absolute)} {unit}".strip())
        if self.fraction is not None:
            found.append(f"{_text(self.fraction * 100)} % of the {self.of}")
        joined = " or ".join(found)
        return f"{joined}, whichever is {self.combine}" if len(found) > 1 else joined


@attrs.frozen
class Rounding:
    """A reported value that is rounded on purpose: to a step, or to significant figures.

    ``within`` is how far the value may lie from the true one before it is rounded: without
    it a double of 119.999 999 999 999 99 rounded down to whole pounds fails against 120.
    """

    manner: Manner
    step: fmpq | None = None
    figures: int | None = None
    within: fmpq = fmpq(0)

    def band(self, reference: Enclosure) -> Band:
        exact = self._band(reference)
        return Band(_plus(exact.below, self.within), _plus(exact.above, self.within))

    def least_width(self) -> fmpq:
        """What both sides together allow whatever the reference is."""
        return 2 * self.within + (fmpq(0) if self.step is None else self.step)

    def _band(self, reference: Enclosure) -> Band:
        steps = [self._step(abs(end)) for end in (reference.lower, reference.upper)]
        whole = Enclosure(min(steps), max(steps))
        none = Enclosure(fmpq(0), fmpq(0))
        if self.manner == "nearest":
            half = whole.scaled(fmpq(1, 2))
            return Band(half, half)
        if self.manner == "up":
            return Band(none, whole)
        if self.manner == "down":
            return Band(whole, none)
        if reference.lower >= 0:
            return Band(whole, none)
        if reference.upper <= 0:
            return Band(none, whole)
        return Band(whole, whole)

    def _step(self, size: fmpq) -> fmpq:
        if self.step is not None:
            return self.step
        assert self.figures is not None
        return _power_below(size) * fmpq(10) ** (1 - self.figures) if size > 0 else fmpq(0)

    def words(self, unit: str) -> str:
        how = {
            "nearest": "rounded to the nearest",
            "up": "rounded up to",
            "down": "rounded down to",
            "cut": "cut to",
        }
        to = f"{self.figures} significant figures"
        if self.step is not None:
            to = f"{_text(self.step)} {unit}".strip()
        said = f"{how[self.manner]} {to}"
        if self.within:
            said += f", from a value computed within {_text(self.within)} {unit}".rstrip()
        return said


def _plus(value: Enclosure, amount: fmpq) -> Enclosure:
    return Enclosure(value.lower + amount, value.upper + amount)


@attrs.frozen
class Criterion:
    """What is accepted for one output. Exactly one of ``rounding`` and the two parts is used."""

    reason: str
    below: Part | None = None
    above: Part | None = None
    rounding: Rounding | None = None
    safe_side: str = ""
    as_vector: bool = False

    def band(self, reference: Enclosure, scales: Mapping[str, Enclosure]) -> Band:
        """The allowed deviations around an enclosed reference."""
        if self.rounding is not None:
            return self.rounding.band(reference)
        assert self.below is not None and self.above is not None
        return Band(
            self.below.allowance(reference, scales), self.above.allowance(reference, scales)
        )

    def scales_used(self) -> set[str]:
        return {part.of for part in (self.below, self.above) if part is not None and part.of}

    def words(self, unit: str) -> str:
        """The criterion as a sentence for the report."""
        if self.rounding is not None:
            return self.rounding.words(unit)
        assert self.below is not None and self.above is not None
        if self.below == self.above:
            said = "within " + self.below.words(unit)
        else:
            said = f"at most {self.below.words(unit)} low, {self.above.words(unit)} high"
        if self.as_vector:
            said += ", as the length of the deviation of the vector"
        return f"{said} (safe side: {self.safe_side})" if self.safe_side else said


def _power_below(size: fmpq) -> fmpq:
    """The power of ten at or just below a positive number."""
    exponent = len(str(int(size.p))) - len(str(int(size.q)))
    power = fmpq(10) ** exponent
    return power if power <= size else power / 10


def _text(x: fmpq) -> str:
    from refsolver.quantities.rounding import exact_decimal

    return exact_decimal(x) or f"{x.p}/{x.q}"


_PART_KEYS = {"relative", "absolute", "fraction", "of", "combine"}
_KEYS = _PART_KEYS | {
    "reason", "below", "above", "rounded_to", "significant", "manner", "computed_within",
    "safe_side", "as_vector",
}  # fmt: skip


def read_criterion(
    table: Mapping[str, Any],
    unit: Unit | None,
    dimension: Dimension,
    key: str,
    all_round: Enclosure | None = None,
) -> Criterion:
    """A criterion from the keys of a calculator file. Raises CriterionError.

    ``all_round``, for a direction: what both sides together must stay below, in its unit.
    """
    unknown = set(table) - _KEYS
    if unknown:
        raise CriterionError(
            f"{key}.{min(unknown)}: unknown key; known: {', '.join(sorted(_KEYS))}"
        )
    reason = str(table.get("reason", "")).strip()
    if not reason:
        raise CriterionError(f"{key}.reason: say why this deviation is acceptable")
    rounding = _rounding(table, unit, dimension, key)
    if rounding is not None:
        _leave_directions(rounding.least_width(), all_round, f"{key}.{_named(table)}")
        return Criterion(reason, rounding=rounding)
    safe_side = str(table.get("safe_side", "")).strip()
    as_vector = table.get("as_vector", False)
    if type(as_vector) is not bool:
        raise CriterionError(f"{key}.as_vector: true or false is expected")
    if as_vector and {"relative", "below", "above"} & set(table):
        raise CriterionError(
            f"{key}.as_vector: the length of a deviation has no sides; state 'absolute', or "
            "'fraction' with 'of'"
        )
    if "below" in table or "above" in table:
        if not safe_side or not {"below", "above"} <= set(table):
            raise CriterionError(
                f"{key}: sides that differ need 'below', 'above' and 'safe_side' in words"
            )
        if set(table) & _PART_KEYS:
            raise CriterionError(f"{key}: state every amount inside 'below' and 'above'")
        sides = [
            _part(table[side], unit, dimension, f"{key}.{side}") for side in ("below", "above")
        ]
    else:
        sides = [_part(table, unit, dimension, key)] * 2
    _leave_out_zero(sides, key)
    _leave_directions(sum((s.least() for s in sides), fmpq(0)), all_round, f"{key}.absolute")
    return Criterion(reason, sides[0], sides[1], safe_side=safe_side, as_vector=as_vector)


def _leave_out_zero(sides: Sequence[Part], key: str) -> None:
    if all(s.relative is not None and s.relative >= 1 and s.combine == "larger" for s in sides):
        raise CriterionError(
            f"{key}.relative: at 100 % or more a calculator that always answers zero passes; "
            "state less"
        )


def _leave_directions(width: fmpq, all_round: Enclosure | None, key: str) -> None:
    """Refuses a width, of both sides together, that no direction lies outside of."""
    if all_round is not None and width >= all_round.upper:
        raise CriterionError(f"{key}: so wide that every direction passes; state less")


def _named(table: Mapping[str, Any]) -> str:
    return "rounded_to" if "rounded_to" in table else "computed_within"


def _rounding(
    table: Mapping[str, Any], unit: Unit | None, dimension: Dimension, key: str
) -> Rounding | None:
    if "rounded_to" not in table and "significant" not in table:
        if "computed_within" in table or "manner" in table:
            raise CriterionError(
                f"{key}: 'manner' and 'computed_within' belong to a rounding; state rounded_to or "
                "significant"
            )
        return None
    beside = _PART_KEYS | {"below", "above", "safe_side", "as_vector"}
    if set(table) & beside or {"rounded_to", "significant"} <= set(table):
        raise CriterionError(
            f"{key}: a rounding is a criterion of its own; state nothing beside it"
        )
    manner = table.get("manner")
    if manner not in MANNERS:
        raise CriterionError(f"{key}.manner: say how it is rounded: {', '.join(MANNERS)}")
    within = _amount(table.get("computed_within", 0), unit, dimension, f"{key}.computed_within")
    if "significant" in table:
        figures = table["significant"]
        if type(figures) is not int or figures < 1:
            raise CriterionError(f"{key}.significant: a whole number of figures is expected")
        return Rounding(manner, figures=figures, within=within)
    step = _amount(table["rounded_to"], unit, dimension, f"{key}.rounded_to")
    if step == 0:
        raise CriterionError(f"{key}.rounded_to: a step above zero is expected")
    return Rounding(manner, step=step, within=within)


def _part(table: Any, unit: Unit | None, dimension: Dimension, key: str) -> Part:
    if not isinstance(table, Mapping):
        raise CriterionError(f"{key}: a table is expected, not {table!r}")
    unknown = set(table) - _KEYS
    if unknown:
        raise CriterionError(f"{key}.{min(unknown)}: unknown key; leave it out")
    relative = fraction = absolute = None
    if "relative" in table:
        relative = _share(table["relative"], f"{key}.relative")
    if "absolute" in table:
        absolute = _amount(table["absolute"], unit, dimension, f"{key}.absolute")
    of = str(table.get("of", ""))
    if ("fraction" in table) != bool(of) or (of and of not in SCALES):
        raise CriterionError(f"{key}.of: 'fraction' goes with 'of', one of: {', '.join(SCALES)}")
    if of and SCALES[of] != dimension:
        raise CriterionError(
            f"{key}.of: the {of} is {SCALES[of].name}, not {dimension.name}; choose another"
        )
    if of:
        fraction = _share(table["fraction"], f"{key}.fraction")
    if relative is None and absolute is None and fraction is None:
        raise CriterionError(
            f"{key}: needs relative, absolute, fraction with of, rounded_to or significant"
        )
    combine = table.get("combine", "larger")
    if combine not in ("larger", "smaller"):
        raise CriterionError(f"{key}.combine: write larger or smaller")
    return Part(relative, absolute, fraction, of, combine)


def _share(value: Any, key: str) -> fmpq:
    """A ratio: "0.005", "0.5 %"."""
    try:
        literal = read_literal(str(value))
        if literal.unit_text not in ("", "%"):
            raise CriterionError(
                f"{key}: {value!r} is to be a ratio without unit; write it as 0.5 %"
            )
        share = literal.value
        if not isinstance(share, fmpq) or share < 0:
            raise CriterionError(
                f"{key}: {value!r} is not a ratio of zero or more; write it as 0.5 %"
            )
        if literal.unit_text == "%":
            return share * read_unit("%").factor
        return share
    except (LiteralError, UnitError) as error:
        raise CriterionError(f"{key}: {error}") from None


def _amount(value: Any, unit: Unit | None, dimension: Dimension, key: str) -> fmpq:
    """An amount in the output's own unit."""
    try:
        literal = read_literal(str(value))
        amount = literal.value
        if not isinstance(amount, fmpq) or amount < 0:
            raise CriterionError(
                f"{key}: {value!r} is not an amount of zero or more; write it as 0.1 kN"
            )
        if not literal.unit_text:
            if unit is None or amount == 0:
                return amount
            raise CriterionError(f'{key}: {value!r} needs a unit, as in "{value} {unit.name}"')
        own = read_unit(literal.unit_text)
        if own.dimension != dimension or unit is None:
            raise CriterionError(
                f"{key}: {value!r} is {own.dimension.name}, not {dimension.name}; change its unit"
            )
        if own.pi_power != unit.pi_power:
            raise CriterionError(f"{key}: {value!r} must be in the unit of the output, {unit.name}")
        return amount * own.factor / unit.factor
    except (LiteralError, UnitError) as error:
        raise CriterionError(f"{key}: {error}") from None
