"""Dimensions of the quantities of statics, over force, length, time and plane angle.

Force is a base here and mass is derived from it (F L^-1 T^2), as in the trade's
gravitational systems; the equations of statics then need no conversion constant. Plane
angle is kept as a base of its own so that degrees are never taken for a plain number;
the coherent unit of angle is the radian.
"""

from __future__ import annotations

import attrs

__all__ = [
    "ACCELERATION",
    "ANGLE",
    "ANGULAR_SPEED",
    "AREA",
    "DENSITY",
    "ENERGY",
    "FORCE",
    "FREQUENCY",
    "LENGTH",
    "LINE_LOAD",
    "MASS",
    "MASS_MOMENT",
    "MASS_PER_AREA",
    "MASS_PER_LENGTH",
    "MOMENT",
    "NUMBER",
    "POWER",
    "PRESSURE",
    "SECOND_MOMENT",
    "SPECIFIC_WEIGHT",
    "SPEED",
    "STIFFNESS",
    "TIME",
    "TORSIONAL_STIFFNESS",
    "VOLUME",
    "Dimension",
]


@attrs.frozen(cache_hash=True)
class Dimension:
    """The product force^f length^l time^t angle^a."""

    force: int = 0
    length: int = 0
    time: int = 0
    angle: int = 0

    def __mul__(self, other: Dimension) -> Dimension:
        return Dimension(
            self.force + other.force,
            self.length + other.length,
            self.time + other.time,
            self.angle + other.angle,
        )

    def __truediv__(self, other: Dimension) -> Dimension:
        return self * other**-1

    def __pow__(self, n: int) -> Dimension:
        return Dimension(self.force * n, self.length * n, self.time * n, self.angle * n)

    @property
    def name(self) -> str:
        """The trade's word for it, or the product of powers where there is none."""
        return _NAMES.get(self) or self._product_of_powers()

    def _product_of_powers(self) -> str:
        powers = attrs.asdict(self).items()
        return " ".join(word if n == 1 else f"{word}^{n}" for word, n in powers if n)


NUMBER = Dimension()
FORCE = Dimension(force=1)
LENGTH = Dimension(length=1)
TIME = Dimension(time=1)
ANGLE = Dimension(angle=1)

AREA = LENGTH**2
VOLUME = LENGTH**3
SECOND_MOMENT = LENGTH**4
MOMENT = FORCE * LENGTH
ENERGY = MOMENT
LINE_LOAD = FORCE / LENGTH
STIFFNESS = LINE_LOAD
TORSIONAL_STIFFNESS = MOMENT / ANGLE
PRESSURE = FORCE / AREA
SPECIFIC_WEIGHT = FORCE / VOLUME
SPEED = LENGTH / TIME
ACCELERATION = SPEED / TIME
FREQUENCY = TIME**-1
ANGULAR_SPEED = ANGLE / TIME
POWER = ENERGY / TIME
MASS = FORCE / ACCELERATION
MASS_PER_LENGTH = MASS / LENGTH
MASS_PER_AREA = MASS / AREA
DENSITY = MASS / VOLUME
MASS_MOMENT = MASS * AREA

_NAMES = {
    NUMBER: "plain number",
    FORCE: "force",
    LENGTH: "length",
    TIME: "time",
    ANGLE: "angle",
    AREA: "area",
    VOLUME: "volume or section modulus",
    SECOND_MOMENT: "second moment of area",
    MOMENT: "moment or energy",
    LINE_LOAD: "force per length",
    TORSIONAL_STIFFNESS: "moment per angle",
    PRESSURE: "pressure or stress",
    SPECIFIC_WEIGHT: "weight per volume",
    SPEED: "speed",
    ACCELERATION: "acceleration",
    FREQUENCY: "frequency",
    ANGULAR_SPEED: "angular speed",
    POWER: "power",
    MASS: "mass",
    MASS * LENGTH: "mass times length",
    MASS_PER_LENGTH: "mass per length",
    MASS_PER_AREA: "mass per area",
    DENSITY: "density",
    MASS_MOMENT: "mass moment of inertia",
}
