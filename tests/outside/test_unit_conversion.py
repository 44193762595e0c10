"""Conversions of units, from the text of a case to the verdict, against Pint in fractions.

Each case states a quantity in one unit and prints Pint's exact value in another; reading,
solving and comparing must find them equal, and must find a value that is off in its last
figure unequal. The printed factors of NIST SP 811, Appendix B, stand in
``test_unit_factors`` and in the catalogue.
"""

from __future__ import annotations

import random
from fractions import Fraction

import pint
import pytest

from refsolver.catalogue.reading import read_case
from refsolver.runs.selfcheck import check_case
from refsolver.statics.registry import families

SPELLINGS = {
    "length": {"m": "meter", "mm": "millimeter", "in": "inch", "ft": "foot", "yd": "yard",
               "mi": "mile", "nmi": "nautical_mile", "km": "kilometer"},
    "area": {"m^2": "meter**2", "mm^2": "millimeter**2", "in^2": "inch**2", "ft^2": "foot**2",
             "cm^2": "centimeter**2"},
    "volume": {"m^3": "meter**3", "in^3": "inch**3", "ft^3": "foot**3", "L": "liter",
               "gal-US": "gallon", "gal-UK": "imperial_gallon", "cm^3": "centimeter**3"},
    "second-moment": {"m^4": "meter**4", "mm^4": "millimeter**4", "in^4": "inch**4",
                      "ft^4": "foot**4", "cm^4": "centimeter**4"},
    "force": {"N": "newton", "kN": "kilonewton", "lbf": "pound_force", "kip": "kip",
              "kgf": "kilogram_force", "pdl": "poundal", "tonf-US": "force_ton",
              "tonf-UK": "UK_force_ton", "daN": "decanewton", "dyn": "dyne"},
    "pressure": {"Pa": "pascal", "MPa": "megapascal", "psi": "pound_force_per_square_inch",
                 "ksi": "kip_per_square_inch", "bar": "bar", "atm": "standard_atmosphere",
                 "mmHg": "millimeter_Hg", "kgf/cm^2": "kilogram_force/centimeter**2",
                 "N/mm^2": "newton/millimeter**2", "psf": "pound_force/foot**2"},
    "moment": {"N m": "newton*meter", "kN m": "kilonewton*meter", "lbf ft": "pound_force*foot",
               "lbf in": "pound_force*inch", "kip ft": "kip*foot", "J": "joule",
               "kgf m": "kilogram_force*meter"},
    "mass": {"kg": "kilogram", "t": "metric_ton", "lb": "pound", "slug": "slug", "oz": "ounce",
             "ton-US": "short_ton", "ton-UK": "long_ton", "g": "gram"},
    "power": {"W": "watt", "kW": "kilowatt", "hp": "horsepower", "PS": "metric_horsepower",
              "lbf ft/s": "pound_force*foot/second", "MW": "megawatt"},
    "speed": {"m/s": "meter/second", "km/h": "kilometer/hour", "ft/s": "foot/second",
              "mi/h": "mile/hour", "knot": "knot", "ft/min": "foot/minute"},
    "acceleration": {"m/s^2": "meter/second**2", "ft/s^2": "foot/second**2",
                     "g_n": "standard_gravity", "in/s^2": "inch/second**2"},
}  # fmt: skip
PAIRS = 90

CASE = """title = "A quantity in another unit"
family = "unit-conversion/{name}"
statement = "As drawn."

[source]
kind = "constructed"
by = "exact factors"

[given]
quantity = "{given}"

[[published]]
answer = "quantity"
value = "{printed}"
"""


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(non_int_type=Fraction)


def verdict(path, name, given, printed):
    path.write_text(CASE.format(name=name, given=given, printed=printed))
    (answer,) = check_case(read_case(path, "drawn", {}))
    return answer.agreement


def test_every_family_is_compared():
    assert {f"unit-conversion/{name}" for name in SPELLINGS} == {
        name for name in families() if name.startswith("unit-conversion/")
    }


@pytest.mark.parametrize("name", SPELLINGS)
def test_random_quantities_are_what_pint_makes_of_them(name, registry, tmp_path):
    rng = random.Random(name)
    units = SPELLINGS[name]
    for _ in range(PAIRS):
        stated, asked = rng.choice(list(units)), rng.choice(list(units))
        value = Fraction(rng.randint(1, 10**6), 10 ** rng.randint(0, 5))
        theirs = registry.parse_expression(units[stated]) * value
        exact = Fraction(theirs.to(units[asked]).magnitude)
        given = f"{value.numerator}/{value.denominator} {stated}"
        path = tmp_path / "case.toml"
        printed = f"{exact.numerator}/{exact.denominator}"
        assert verdict(path, name, given, f"{printed} {asked}") == "agree", (given, asked)
        off = exact * (1 + Fraction(1, 10**20))
        printed = f"{off.numerator}/{off.denominator}"
        assert verdict(path, name, given, f"{printed} {asked}") == "disagree", (given, asked)
