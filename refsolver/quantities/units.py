"""Units: reading them, composing them, and the coherent system that suits a case.

Unit expressions are "lbf/ft", "kip ft", "kN·m", "in^4", "kg/m^3", "N·m/rad" (the grammar
is in ``unit_form``). Words are those of ``unit_table.UNITS``, spelled exactly: mN and MN
differ.

In a coherent system the equations hold between the plain numbers. Where all forces of a
case are in lbf and all lengths in ft, solving in lbf and ft keeps the numbers as simple
as they were given; zero proofs cost ten to twenty times as much otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, MASS, NUMBER, Dimension
from refsolver.quantities.folding import over, pi_multiple, times
from refsolver.quantities.unit_form import UnitError, read_unit_form
from refsolver.quantities.unit_table import AMBIGUOUS, FORCE_OF_MASS_WORD, UNITS, Unit

__all__ = [
    "NO_UNIT",
    "UNITLESS",
    "Unit",
    "UnitError",
    "UnitSystem",
    "compose",
    "read_angle",
    "read_unit",
    "require_dimension",
]

NO_UNIT = Unit("", NUMBER, fmpq(1), "a plain number")
"""The unit of a plain number."""

_SECOND, _RADIAN = UNITS["s"], UNITS["rad"]


@lru_cache(maxsize=4096)
def read_unit(
    text: str, *, mass_words_are_force: bool = False, wanted: Dimension | None = None
) -> Unit:
    """The unit a text stands for; an empty text is the plain number.

    "lb", "kg", "g", "t", "oz", "ton-US" and "ton-UK" are masses; with
    ``mass_words_are_force`` they are the weights of those masses in standard gravity.
    With ``wanted`` the unit must have that dimension.

    Raises UnitError where the text is malformed, a word is unknown or has several
    meanings (a bare "ton"), or the dimension is not the one wanted.
    """
    factors = [
        (_known(word, text, at, mass_words_are_force), n) for word, n, at in read_unit_form(text)
    ]
    unit = compose(factors)
    if wanted is not None:
        require_dimension(unit, wanted, text)
    return unit


def compose(factors: Sequence[tuple[Unit, int]]) -> Unit:
    """The product of units to integer powers, named in their order ("kN/m^2")."""
    if not factors:
        return NO_UNIT
    if len(factors) == 1 and factors[0][1] == 1:
        return factors[0][0]
    dimension, factor, pi_power = NUMBER, fmpq(1), 0
    for unit, n in factors:
        dimension *= unit.dimension**n
        factor *= unit.factor**n
        pi_power += unit.pi_power * n
    return Unit(
        name=_product_name(factors),
        dimension=dimension,
        factor=factor,
        source="; ".join(dict.fromkeys(unit.source for unit, _ in factors)),
        pi_power=pi_power,
        customary=any(unit.customary for unit, _ in factors),
        parts=tuple(factors),
    )


def require_dimension(unit: Unit, wanted: Dimension, text: str | None = None) -> None:
    """Raise UnitError unless the unit has the wanted dimension; ``text`` is what was read."""
    if unit.dimension == wanted:
        return
    shown = unit.name if text is None else text
    why = f"its dimension is {unit.dimension.name}, wanted is {wanted.name}"
    raise UnitError(shown, 0, why, _dimension_advice(unit, wanted))


def _dimension_advice(unit: Unit, wanted: Dimension) -> str:
    as_force = compose([(_weight(part), n) for part, n in unit.parts or ((unit, 1),)])
    if as_force.dimension == wanted:
        return (
            f"write {as_force.name}, or say that mass words are forces: "
            "lb, kg, g, t and oz are masses otherwise"
        )
    examples = [known.name for known in dict.fromkeys(UNITS.values()) if known.dimension == wanted]
    if examples:
        return "write for example " + " or ".join(examples[:3])
    return f"write a unit with the dimension {wanted.name}"


def _weight(unit: Unit) -> Unit:
    return FORCE_OF_MASS_WORD.get(unit.name, unit)


def _product_name(factors: Sequence[tuple[Unit, int]]) -> str:
    above = [_power_name(unit, n) for unit, n in factors if n > 0]
    below = [_power_name(unit, -n) for unit, n in factors if n < 0]
    if not above:
        return "·".join(_power_name(unit, n) for unit, n in factors)
    if not below:
        return "·".join(above)
    divisor = below[0] if len(below) == 1 else f"({'·'.join(below)})"
    return f"{'·'.join(above)}/{divisor}"


def _power_name(unit: Unit, n: int) -> str:
    return unit.name if n == 1 else f"{unit.name}^{n}"


def _known(word: str, text: str, at: int, mass_words_are_force: bool) -> Unit:
    if word in AMBIGUOUS:
        raise UnitError(text, at, f"{word!r} has several meanings", AMBIGUOUS[word])
    unit = UNITS.get(word)
    if unit is None:
        raise UnitError(text, at, f"{word!r} is no unit known here", _suggestion(word))
    return _weight(unit) if mass_words_are_force else unit


def _suggestion(word: str) -> str:
    import difflib  # only for messages

    same_letters = [name for name in UNITS if name.casefold() == word.casefold()]
    near = same_letters or difflib.get_close_matches(word, UNITS, n=3, cutoff=0.6)
    if near:
        return "did you mean " + " or ".join(near) + "? Units are spelled exactly, capitals count"
    return "use units such as N, kN, lbf, kip, m, mm, ft, in, kg, deg and products of them"


@attrs.frozen(cache_hash=True)
class UnitSystem:
    """The coherent system with this force and this length, the second and the radian."""

    force: Unit
    length: Unit

    @classmethod
    def of(cls, units: Iterable[Unit]) -> UnitSystem:
        """The system that suits the units of a case, in their order.

        Force and length are the first force and the first length that occur, within
        compound units too (lbf/ft gives both). A missing force is lbf where the first
        mass, or without one the first length, is of the foot-pound family, else N; a
        missing length is ft or m by the force. Plain numbers and angles alone give
        :data:`UNITLESS`.
        """
        bases = [base for unit in units for base in unit.bases()]
        if not any(_is_mechanical(base) for base in bases):
            return UNITLESS
        force, length, mass = (_first(bases, kind) for kind in (FORCE, LENGTH, MASS))
        if force is None:
            like = mass or length
            force = UNITS["lbf" if like is not None and like.customary else "N"]
        if length is None:
            length = UNITS["ft" if force.customary else "m"]
        return cls(force, length)

    def factor(self, dimension: Dimension) -> fmpq:
        """The coherent unit of this dimension in coherent SI units (N, m, s, rad)."""
        by_force: fmpq = self.force.factor**dimension.force
        by_length: fmpq = self.length.factor**dimension.length
        return by_force * by_length

    def unit(self, dimension: Dimension) -> Unit:
        """The coherent unit of this dimension, named ("lbf·ft", "kip·s^2/ft").

        In the unitless system the plain number, or a power of the radian.
        """
        bases = (
            (self.force, dimension.force),
            (self.length, dimension.length),
            (_SECOND, dimension.time),
            (_RADIAN, dimension.angle),
        )
        used = bases[3:] if self == UNITLESS else bases
        return compose([(unit, n) for unit, n in used if n])

    def ratio(self, unit: Unit) -> Exact:
        """How many coherent units one ``unit`` is: rational, times a power of pi for angles.

        Raises UnitError for a force, length or time in the unitless system.
        """
        return _ratio(self, unit)

    def bring(self, value: Exact, unit: Unit) -> Exact:
        """A value given in ``unit``, in coherent units of this system."""
        return times(value, self.ratio(unit))


@lru_cache(maxsize=4096)
def _ratio(system: UnitSystem, unit: Unit) -> Exact:
    if system == UNITLESS and _is_mechanical(unit):
        raise UnitError(
            unit.name,
            0,
            "this case was taken to have no units",
            "give units to all of its quantities or to none",
        )
    return over(unit.in_si, system.factor(unit.dimension))


UNITLESS = UnitSystem(NO_UNIT, NO_UNIT)
"""The system of a case that gives plain numbers (and angles) only."""


def _is_mechanical(unit: Unit) -> bool:
    of = unit.dimension
    return bool(of.force or of.length or of.time)


def _first(units: Iterable[Unit], dimension: Dimension) -> Unit | None:
    return next((unit for unit in units if unit.dimension == dimension), None)


def read_angle(value: Exact, unit: Unit) -> Angle:
    """The angle ``value`` times ``unit``.

    A rational number of degrees, gons, turns or minutes and seconds of arc is a
    :class:`Turn`, and so is a rational multiple of pi radians; anything else is a
    :class:`Radian`. Raises UnitError where the unit is none of an angle.
    """
    require_dimension(unit, ANGLE)
    radians = times(value, unit.in_si)
    multiple = pi_multiple(radians)
    return Radian(radians) if multiple is None else Turn(multiple / 2)
