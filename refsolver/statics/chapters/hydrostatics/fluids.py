"""Fluids at rest: what they weigh, and the pressure at a depth.

Depths are measured downward from one level that the case chooses. Pressures are gauge
pressures: the atmosphere presses on both sides of a wall and is left out. Fluids on one
side lie in layers, listed from the top; each is as deep as it needs to be, down to the
next one's upper surface. Source of the method: any text of hydrostatics, for instance
D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", section on fluid
statics: p = gamma z, gamma = rho g.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn, rational
from refsolver.quantities.dimensions import ACCELERATION, DENSITY, LENGTH, SPECIFIC_WEIGHT
from refsolver.quantities.folding import difference
from refsolver.statics.contract import Mistake, choice, quantity, text
from refsolver.statics.naming import keys_of

__all__ = [
    "AFLOAT",
    "DENSITY_MISTAKES",
    "Fluid",
    "Load",
    "SIDES",
    "WeighedFluid",
    "at_most_upright",
    "gravity_given",
    "is_acute",
    "loads_of",
    "needs_gravity",
    "weight_of_density",
    "weight_of_fluid",
    "weight_stated_once",
]

AFLOAT = (
    "Weights, densities and loading as stated, in still fluid. The stability of vessels and "
    "pontoons, loaded, damaged or in waves, and lifting under water are for a competent naval "
    "architect or engineer and the rules that apply."
)

SIDES = ("front", "back")


def specific_weight_given(says: str = "its weight per volume") -> Any:
    return quantity(SPECIFIC_WEIGHT, says, sign="positive", default=None)


def density_given(says: str = "its density, where no weight per volume is stated") -> Any:
    return quantity(DENSITY, says, sign="positive", default=None)


def gravity_given() -> Any:
    return quantity(
        ACCELERATION, "of gravity, needed where a density is stated", sign="positive", default=None
    )


@attrs.frozen
class Fluid:
    specific_weight: Exact | None = specific_weight_given()
    density: Exact | None = density_given()
    top: Exact = quantity(
        LENGTH,
        "depth of its upper surface below the level from which depths are measured",
        default=rational(0),
    )
    side: str = choice(
        SIDES, "which side of the wall it presses; on each side listed downward", default="front"
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "a fluid")


@attrs.frozen
class WeighedFluid:
    specific_weight: Exact | None = specific_weight_given()
    density: Exact | None = density_given()

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "a fluid")


def weight_stated_once(item: Any, what: str) -> None:
    """Raises ValueError unless the specific weight or the density is stated, not both."""
    if (item.specific_weight is None) == (item.density is None):
        raise ValueError(f"{what} is stated by its specific_weight or by its density, by one")


def needs_gravity(items: Sequence[Any], gravity: Exact | None) -> None:
    """Raises ValueError where a density meets no gravity, or gravity no density."""
    dense = [item for item in items if item.density is not None]
    if dense and gravity is None:
        raise ValueError("a density weighs nothing without 'gravity': state it")
    if gravity is not None and not dense:
        raise ValueError("'gravity' is stated but no density needs it: leave it out")


def layered(fluids: Sequence[Fluid]) -> None:
    """Raises ValueError where the fluids of one side are not listed downward."""
    for side in SIDES:
        tops = [fluid.top for fluid in fluids if fluid.side == side]
        for above, below in zip(tops, tops[1:], strict=False):
            if seen_sign(difference(below, above)) in (-1, 0):
                raise ValueError(f"{side} fluids are listed from the top down, each below the last")


def at_most_upright(slope: Angle, what: str) -> None:
    """Raises ValueError unless the angle lies from level to upright (where that is plain)."""
    if isinstance(slope, Turn):
        wrong = not 0 <= slope.turns <= fmpq(1, 4)
    elif isinstance(slope, Slope):
        wrong = any(seen_sign(x) == -1 for x in (slope.rise, slope.run))
    else:
        wrong = seen_sign(slope.radians) == -1 or not _at_most_a_right_angle(slope.radians)
    if wrong:
        raise ValueError(f"{what} is from 0 to 90 degrees")


def is_acute(angle: Angle) -> bool:
    """Whether the angle lies between 0 and 90 degrees, both left out (where that is plain)."""
    if isinstance(angle, Turn):
        return bool(0 < angle.turns < fmpq(1, 4))
    if isinstance(angle, Slope):
        return seen_sign(angle.rise) in (1, None) and seen_sign(angle.run) in (1, None)
    return seen_sign(angle.radians) in (1, None) and _at_most_a_right_angle(angle.radians)


def _at_most_a_right_angle(radians: Exact) -> bool:
    """A right angle handed out in radians is rounded, and so may lie a little beyond."""
    return seen_sign(difference(fmpq(1571, 1000), radians)) in (1, None)


def weight_of_density(density: Number, gravity: Number) -> Number:
    """gamma = rho g."""
    return density * gravity


def weight_of_fluid(fluid: Any, gravity: Exact | None, ar: Arithmetic, rules: Any) -> Number:
    """The weight per volume of anything stated by specific weight or density."""
    if fluid.specific_weight is not None:
        return ar.bring(fluid.specific_weight)
    assert fluid.density is not None and gravity is not None
    return rules.weight_of_density(ar.bring(fluid.density), ar.bring(gravity))


DENSITY_MISTAKES = (
    Mistake(
        "gravity left out",
        "a density is taken for a weight per volume",
        rules={"weight_of_density": lambda density, gravity: density},
    ),
    Mistake(
        "gravity counted twice",
        "a weight per volume is multiplied by gravity once more",
        rules={"weight_of_density": lambda density, gravity: density * gravity * gravity},
    ),
)


@attrs.frozen
class Load:
    """A fluid as if alone, with the excess of its weight over the one above it.

    ``excess`` is negative on the back. Below its ``level`` it adds ``excess * (z - level)``
    to the pressure; the sum over all loads is the pressure toward the back.
    """

    key: str
    side: str
    weight: Number
    excess: Number
    level: Number


def loads_of(
    fluids: Sequence[Fluid], gravity: Exact | None, ar: Arithmetic, rules: Any
) -> list[Load]:
    """The fluids of both sides as loads that simply add."""
    above: dict[str, Number] = {}
    loads = []
    for key, fluid in zip(keys_of(fluids, "fluid"), fluids, strict=True):
        weight = weight_of_fluid(fluid, gravity, ar, rules)
        excess = weight - above[fluid.side] if fluid.side in above else weight
        above[fluid.side] = weight
        sense = 1 if fluid.side == "front" else -1
        loads.append(Load(key, fluid.side, weight, excess * sense, ar.bring(fluid.top)))
    return loads


def unknown_given(dimension: Any, says: str, sign: Any = "positive") -> Any:
    return quantity(dimension, says, sign=sign, default=None)
