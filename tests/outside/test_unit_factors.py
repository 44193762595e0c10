"""Unit factors against two outside sources: a published table and a general library.

- A. Thompson and B. N. Taylor, "Guide for the Use of the International System of Units
  (SI)", NIST Special Publication 811, 2008 edition, Appendix B.9, conversion factors as
  printed (seven figures), and B.8 for the pound-force. Read second hand, in a
  transcription of the table.
- Pint, with its registry computing in fractions.
"""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.quantities.literals import half_unit, read_literal
from refsolver.quantities.unit_table import UNITS
from refsolver.quantities.units import read_unit

NIST_SP_811_B9 = [
    ("standard gravity", "g_n", "9.806 65 E+00", "m/s^2"),
    ("kilogram-force", "kgf", "9.806 65 E+00", "N"),
    ("kip (1000 lbf)", "kip", "4.448 222 E+03", "N"),
    ("ounce-force (avoirdupois)", "ozf", "2.780 139 E-01", "N"),
    ("poundal", "pdl", "1.382 550 E-01", "N"),
    ("pound-force", "lbf", "4.448 222 E+00", "N"),
    ("ton-force (2000 lbf)", "tonf-US", "8.896 443 E+03", "N"),
    ("foot", "ft", "3.048 E-01", "m"),
    ("inch", "in", "2.54 E-02", "m"),
    ("mile", "mi", "1.609 344 E+03", "m"),
    ("mile, nautical", "nmi", "1.852 E+03", "m"),
    ("micron", "µm", "1.0 E-06", "m"),
    ("ounce (avoirdupois)", "oz", "2.834 952 E-02", "kg"),
    ("pound (avoirdupois)", "lb", "4.535 924 E-01", "kg"),
    ("slug", "slug", "1.459 390 E+01", "kg"),
    ("ton, short (2000 lb)", "ton-US", "9.071 847 E+02", "kg"),
    ("tonne", "t", "1.0 E+03", "kg"),
    ("atmosphere, standard", "atm", "1.013 25 E+05", "Pa"),
    ("atmosphere, technical", "kgf/cm^2", "9.806 65 E+04", "Pa"),
    ("bar", "bar", "1.0 E+05", "Pa"),
    ("millimeter of mercury, conventional", "mmHg", "1.333 224 E+02", "Pa"),
    ("psi (lbf/in2)", "psi", "6.894 757 E+03", "Pa"),
    ("horsepower (550 ft lbf/s)", "hp", "7.456 999 E+02", "W"),
    ("horsepower (metric)", "PS", "7.354 988 E+02", "W"),
    ("knot", "knot", "5.144 444 E-01", "m/s"),
    ("gallon (Imperial)", "gal-UK", "4.546 09 E-03", "m^3"),
    ("gallon (U.S.)", "gal-US", "3.785 412 E-03", "m^3"),
    ("liter", "L", "1.0 E-03", "m^3"),
    ("erg", "dyn cm", "1.0 E-07", "J"),
    ("minute of arc", "arcmin", "2.908 882 E-04", "rad"),
    ("second of arc", "arcsec", "4.848 137 E-06", "rad"),
    ("revolution", "turn", "6.283 185 E+00", "rad"),
]


@pytest.mark.parametrize(("name", "unit", "printed", "si"), NIST_SP_811_B9)
def test_factors_round_to_those_printed_in_nist_sp_811(name: str, unit: str, printed: str, si: str):
    ours, base = read_unit(unit), read_unit(si)
    assert ours.dimension == base.dimension
    literal = read_literal(printed)
    tolerance = half_unit(literal)
    assert tolerance is not None
    factor = ours.in_si
    if isinstance(factor, fmpq):
        assert abs(factor / base.factor - literal.value) <= tolerance
    else:
        with ctx.workprec(100):
            assert abs(evaluate(factor) / base.factor - literal.value) < tolerance


def test_the_pound_force_is_exact_as_in_nist_sp_811_b8():
    assert read_unit("lbf").factor == fmpq(44482216152605, 10**13)
    assert read_unit("lb").factor == fmpq(45359237, 10**8)


PINT_NAMES = {
    "N": "newton",
    "daN": "decanewton",
    "kN": "kilonewton",
    "MN": "meganewton",
    "mN": "millinewton",
    "dyn": "dyne",
    "gf": "gram_force",
    "kgf": "kilogram_force",
    "tf": "metric_ton * g_0",
    "lbf": "pound_force",
    "ozf": "ounce_force",
    "kip": "kip",
    "tonf-US": "force_ton",
    "tonf-UK": "UK_force_ton",
    "pdl": "poundal",
    "m": "meter",
    "km": "kilometer",
    "dm": "decimeter",
    "cm": "centimeter",
    "mm": "millimeter",
    "µm": "micrometer",
    "in": "inch",
    "ft": "foot",
    "yd": "yard",
    "fathom": "6 * foot",
    "mi": "mile",
    "nmi": "nautical_mile",
    "kg": "kilogram",
    "g": "gram",
    "mg": "milligram",
    "Mg": "megagram",
    "t": "metric_ton",
    "lb": "pound",
    "oz": "ounce",
    "ton-US": "short_ton",
    "ton-UK": "long_ton",
    "slug": "slug",
    "s": "second",
    "ms": "millisecond",
    "min": "minute",
    "h": "hour",
    "g_n": "standard_gravity",
    "knot": "knot",
    "plf": "pound_force / foot",
    "klf": "kip / foot",
    "Pa": "pascal",
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "GPa": "gigapascal",
    "bar": "bar",
    "mbar": "millibar",
    "atm": "standard_atmosphere",
    "mmHg": "millimeter_Hg",
    "psi": "pound_force_per_square_inch",
    "psf": "pound_force / foot ** 2",
    "ksi": "kip_per_square_inch",
    "ksf": "kip / foot ** 2",
    "J": "joule",
    "kJ": "kilojoule",
    "MJ": "megajoule",
    "W": "watt",
    "kW": "kilowatt",
    "MW": "megawatt",
    "hp": "horsepower",
    "PS": "metric_horsepower",
    "L": "liter",
    "mL": "milliliter",
    "gal-US": "gallon",
    "gal-UK": "imperial_gallon",
    "%": "percent",
}
ANGLES_IN_PINT = {
    "deg": "degree",
    "arcmin": "arcminute",
    "arcsec": "arcsecond",
    "gon": "gon",
    "turn": "turn",
    "rpm": "revolutions_per_minute",
    "rad": "radian",
    "mrad": "milliradian",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("unit", PINT_NAMES)
def test_factors_are_exactly_those_of_pint(unit: str, registry: pint.UnitRegistry):
    theirs = registry.parse_expression(PINT_NAMES[unit]).to_base_units().magnitude
    assert isinstance(theirs, int | Fraction)
    assert read_unit(unit).factor == fmpq(theirs.numerator, theirs.denominator)


@pytest.mark.parametrize("unit", ANGLES_IN_PINT)
def test_angles_are_those_of_pint_to_its_fifty_digits_of_pi(unit: str, registry: pint.UnitRegistry):
    theirs = registry.parse_expression(ANGLES_IN_PINT[unit]).to_base_units().magnitude
    assert isinstance(theirs, int | Fraction)
    with ctx.workprec(250):
        ours = evaluate(read_unit(unit).in_si)
        deviation = ours / arb(fmpq(theirs.numerator, theirs.denominator)) - 1
        assert abs(deviation) < arb(10) ** -45


def test_every_unit_of_the_table_is_compared():
    assert {unit.name for unit in UNITS.values()} == set(PINT_NAMES) | set(ANGLES_IN_PINT)
