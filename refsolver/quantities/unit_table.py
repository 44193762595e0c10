"""The units the program knows, each with its exact factor and where that is defined.

A factor takes a value in the unit to coherent SI (N, m, s; rad for angles), and is exact:
a rational number times pi to an integer power (a degree is pi/180 rad). Decimals printed
in conversion tables are roundings of these.

Sources:

- BIPM, "The International System of Units (SI Brochure)", 9th edition, 2019;
- United States, Federal Register 24 FR 5348, 1 July 1959: the agreed international yard
  (0.9144 m) and avoirdupois pound (0.453 592 37 kg);
- A. Thompson and B. N. Taylor, NIST Special Publication 811, 2008, Appendix B;
- 3rd General Conference on Weights and Measures, 1901: standard gravity 9.806 65 m/s^2.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import (
    ACCELERATION,
    ANGLE,
    ANGULAR_SPEED,
    ENERGY,
    FORCE,
    LENGTH,
    LINE_LOAD,
    MASS,
    NUMBER,
    POWER,
    PRESSURE,
    SPEED,
    TIME,
    VOLUME,
    Dimension,
)
from refsolver.quantities.folding import PI, over, power, times

__all__ = ["AMBIGUOUS", "FORCE_OF_MASS_WORD", "UNITS", "Unit"]


@attrs.frozen(cache_hash=True)
class Unit:
    """A unit: ``factor * pi**pi_power`` coherent SI units of its dimension.

    ``customary`` marks the foot-pound family. ``parts`` are the base units it is made of
    with their powers, in the order written; empty for a base unit.
    """

    name: str
    dimension: Dimension
    factor: fmpq
    source: str
    pi_power: int = 0
    customary: bool = False
    parts: tuple[tuple[Unit, int], ...] = ()

    @property
    def in_si(self) -> Exact:
        """One such unit in coherent SI units: ``factor * pi**pi_power``."""
        if self.pi_power < 0:
            return over(self.factor, power(PI, -self.pi_power))
        return times(self.factor, power(PI, self.pi_power))

    def bases(self) -> Iterator[Unit]:
        """The base units it is made of, itself where it is one."""
        if not self.parts:
            yield self
        for part, _ in self.parts:
            yield from part.bases()


SI = "SI Brochure, 9th ed., sections 2.3 and 3"
ACCEPTED = "SI Brochure, 9th ed., section 4 (non-SI units accepted for use with the SI)"
PERCENT = "SI Brochure, 9th ed., section 5"
AGREEMENT = "yard and pound agreement, 24 FR 5348, 1959"
GRAVITY_1901 = "standard gravity, 3rd CGPM 1901"
POUND_FORCE = "pound of 1959 times standard gravity of 1901 (NIST SP 811, B.8)"
SP_811 = "NIST SP 811 (2008), Appendix B"

POUND = Fraction("0.45359237")
GRAVITY = Fraction("9.80665")
FOOT = Fraction("0.3048")
LBF = POUND * GRAVITY
INCH = FOOT / 12

UNITS: dict[str, Unit] = {}
"""Every known word, spelled exactly, with its unit."""


def _add(
    words: str,
    dimension: Dimension,
    factor: Fraction | int,
    source: str,
    *,
    pi_power: int = 0,
    made_of: str = "",
) -> None:
    """Enter a unit under each of the words; the first is its name.

    ``made_of`` names base units with powers ("lbf 1 in -2") for units that stand for a
    quotient or product of others.
    """
    name, *_ = words.split()
    pieces = made_of.split()
    parts = tuple((UNITS[word], int(n)) for word, n in zip(pieces[::2], pieces[1::2], strict=True))
    customary = name in _CUSTOMARY or any(part.customary for part, _ in parts)
    unit = Unit(name, dimension, rational(factor), source, pi_power, customary, parts)
    for word in words.split():
        assert word not in UNITS, word
        UNITS[word] = unit


_CUSTOMARY = frozenset(
    ("in", "ft", "yd", "fathom", "mi", "lb", "oz", "slug", "ton-US", "ton-UK")
    + ("lbf", "ozf", "kip", "pdl", "tonf-US", "tonf-UK")
)


def _enter_lengths() -> None:
    _add("m metre meter", LENGTH, 1, SI)
    _add("km", LENGTH, 1000, SI)
    _add("dm", LENGTH, Fraction(1, 10), SI)
    _add("cm", LENGTH, Fraction(1, 100), SI)
    _add("mm", LENGTH, Fraction(1, 1000), SI)
    _add("µm μm um", LENGTH, Fraction(1, 10**6), SI)
    _add("in inch inches", LENGTH, INCH, AGREEMENT)
    _add("ft foot feet", LENGTH, FOOT, AGREEMENT)
    _add("yd yard yards", LENGTH, 3 * FOOT, AGREEMENT)
    _add("fathom fathoms", LENGTH, 6 * FOOT, AGREEMENT)
    _add("mi mile miles", LENGTH, 5280 * FOOT, AGREEMENT)
    _add("nmi", LENGTH, 1852, SP_811)


def _enter_forces() -> None:
    _add("N newton newtons", FORCE, 1, SI)
    _add("daN", FORCE, 10, SI)
    _add("kN", FORCE, 1000, SI)
    _add("MN", FORCE, 10**6, SI)
    _add("mN", FORCE, Fraction(1, 1000), SI)
    _add("dyn", FORCE, Fraction(1, 10**5), SP_811)
    _add("gf", FORCE, GRAVITY / 1000, GRAVITY_1901)
    _add("kgf kp kilopond kilogram-force", FORCE, GRAVITY, GRAVITY_1901)
    _add("tf tonne-force", FORCE, 1000 * GRAVITY, GRAVITY_1901)
    _add("lbf pound-force", FORCE, LBF, POUND_FORCE)
    _add("ozf ounce-force", FORCE, LBF / 16, POUND_FORCE)
    _add("kip kips", FORCE, 1000 * LBF, POUND_FORCE)
    _add("tonf-US", FORCE, 2000 * LBF, POUND_FORCE)
    _add("tonf-UK", FORCE, 2240 * LBF, POUND_FORCE)
    _add("pdl poundal", FORCE, POUND * FOOT, SP_811)


def _enter_masses() -> None:
    _add("kg", MASS, 1, SI)
    _add("g", MASS, Fraction(1, 1000), SI)
    _add("mg", MASS, Fraction(1, 10**6), SI)
    _add("Mg", MASS, 1000, SI)
    _add("t tonne tonnes", MASS, 1000, ACCEPTED)
    _add("lb lbs lbm", MASS, POUND, AGREEMENT)
    _add("oz", MASS, POUND / 16, AGREEMENT)
    _add("ton-US", MASS, 2000 * POUND, SP_811)
    _add("ton-UK", MASS, 2240 * POUND, SP_811)
    _add("slug slugs", MASS, LBF / FOOT, SP_811)


def _enter_times_and_motion() -> None:
    _add("s", TIME, 1, SI)
    _add("ms", TIME, Fraction(1, 1000), SI)
    _add("min", TIME, 60, ACCEPTED)
    _add("h", TIME, 3600, ACCEPTED)
    _add("g_n", ACCELERATION, GRAVITY, GRAVITY_1901)
    _add("knot", SPEED, Fraction(1852, 3600), SP_811)


def _enter_angles() -> None:
    _add("rad", ANGLE, 1, SI)
    _add("mrad", ANGLE, Fraction(1, 1000), SI)
    _add("deg ° degree degrees", ANGLE, Fraction(1, 180), ACCEPTED, pi_power=1)
    _add("arcmin", ANGLE, Fraction(1, 180 * 60), ACCEPTED, pi_power=1)
    _add("arcsec", ANGLE, Fraction(1, 180 * 3600), ACCEPTED, pi_power=1)
    _add("gon grad", ANGLE, Fraction(1, 200), SP_811, pi_power=1)
    _add("turn rev turns", ANGLE, 2, SP_811, pi_power=1)
    _add("rpm", ANGULAR_SPEED, Fraction(2, 60), SP_811, pi_power=1, made_of="turn 1 min -1")


def _enter_loads_and_pressures() -> None:
    _add("plf", LINE_LOAD, LBF / FOOT, POUND_FORCE, made_of="lbf 1 ft -1")
    _add("klf", LINE_LOAD, 1000 * LBF / FOOT, POUND_FORCE, made_of="kip 1 ft -1")
    _add("Pa", PRESSURE, 1, SI, made_of="N 1 m -2")
    _add("hPa", PRESSURE, 100, SI, made_of="N 1 m -2")
    _add("kPa", PRESSURE, 1000, SI, made_of="kN 1 m -2")
    _add("MPa", PRESSURE, 10**6, SI, made_of="N 1 mm -2")
    _add("GPa", PRESSURE, 10**9, SI, made_of="kN 1 mm -2")
    _add("bar", PRESSURE, 10**5, SP_811, made_of="N 1 m -2")
    _add("mbar", PRESSURE, 100, SP_811, made_of="N 1 m -2")
    _add("atm", PRESSURE, 101325, SP_811, made_of="N 1 m -2")
    _add("mmHg", PRESSURE, Fraction("13.5951") * GRAVITY, SP_811, made_of="N 1 m -2")
    _add("psi", PRESSURE, LBF / INCH**2, POUND_FORCE, made_of="lbf 1 in -2")
    _add("psf", PRESSURE, LBF / FOOT**2, POUND_FORCE, made_of="lbf 1 ft -2")
    _add("ksi", PRESSURE, 1000 * LBF / INCH**2, POUND_FORCE, made_of="kip 1 in -2")
    _add("ksf", PRESSURE, 1000 * LBF / FOOT**2, POUND_FORCE, made_of="kip 1 ft -2")


def _enter_energies_and_powers() -> None:
    _add("J", ENERGY, 1, SI, made_of="N 1 m 1")
    _add("kJ", ENERGY, 1000, SI, made_of="kN 1 m 1")
    _add("MJ", ENERGY, 10**6, SI, made_of="MN 1 m 1")
    _add("W", POWER, 1, SI, made_of="N 1 m 1 s -1")
    _add("kW", POWER, 1000, SI, made_of="kN 1 m 1 s -1")
    _add("MW", POWER, 10**6, SI, made_of="MN 1 m 1 s -1")
    _add("hp", POWER, 550 * LBF * FOOT, SP_811, made_of="lbf 1 ft 1 s -1")
    _add("PS", POWER, 75 * GRAVITY, SP_811, made_of="kgf 1 m 1 s -1")


def _enter_volumes_and_numbers() -> None:
    _add("L litre liter", VOLUME, Fraction(1, 1000), ACCEPTED, made_of="dm 3")
    _add("mL", VOLUME, Fraction(1, 10**6), ACCEPTED, made_of="cm 3")
    _add("gal-US", VOLUME, 231 * INCH**3, SP_811, made_of="in 3")
    _add("gal-UK", VOLUME, Fraction("0.00454609"), SP_811, made_of="ft 3")
    _add("% percent", NUMBER, Fraction(1, 100), PERCENT)


_enter_lengths()
_enter_forces()
_enter_masses()
_enter_times_and_motion()
_enter_angles()
_enter_loads_and_pressures()
_enter_energies_and_powers()
_enter_volumes_and_numbers()

FORCE_OF_MASS_WORD = {
    UNITS[mass].name: UNITS[force]
    for mass, force in {
        "lb": "lbf",
        "oz": "ozf",
        "g": "gf",
        "kg": "kgf",
        "t": "tf",
        "ton-US": "tonf-US",
        "ton-UK": "tonf-UK",
    }.items()
}
"""What a mass word means where a case says that its mass words are forces."""

_TONS = (
    "for a force write tonf-US (2000 lbf), tonf-UK (2240 lbf) or tf (1000 kgf); "
    "for a mass write ton-US, ton-UK or t (tonne)"
)
_POUNDS = "write lbf for the force, lb for the mass"
_FEET = "write ft for feet, arcmin for minutes of arc"
_INCHES = "write in for inches, arcsec for seconds of arc"

AMBIGUOUS = {
    **dict.fromkeys(("ton", "tons", "tonf"), _TONS),
    **dict.fromkeys(("pound", "pounds", "#"), _POUNDS),
    **dict.fromkeys(("'", "′"), _FEET),
    **dict.fromkeys(('"', "″"), _INCHES),
    "gal": "write gal-US (231 in^3) or gal-UK (4.54609 L)",
    "k": "write kip for 1000 lbf",
}
"""Words with more than one meaning, and what to write instead."""
