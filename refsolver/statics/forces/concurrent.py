"""Forces through one point, each with a name, and how they are resolved and summed."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn, rational
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.leaves import ByAngle, ByAzimuth, Polar, Vector
from refsolver.statics.contract import many, text
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_names, of_names_alone
from refsolver.statics.random_givens import decimal
from refsolver.statics.vectors import Numbers, brought, scaled, vector

__all__ = [
    "PlaneForce",
    "PlaneForces",
    "SpaceForce",
    "SpaceForces",
    "component_sum",
    "plan_not_reduced",
    "plane_force_row",
    "run_not_divided",
]


@attrs.frozen
class PlaneForce:
    force: Vector = vector_given(FORCE, "the force")
    name: str = text("what it is called")


@attrs.frozen
class PlaneForces:
    forces: tuple[PlaneForce, ...] = many(PlaneForce, "the forces, all through one point")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


@attrs.frozen
class SpaceForce:
    force: Vector = vector_given(FORCE, "the force", space=3)
    name: str = text("what it is called")


@attrs.frozen
class SpaceForces:
    forces: tuple[SpaceForce, ...] = many(SpaceForce, "the forces, all through one point")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


def component_sum(parts: Sequence[Number], ar: Arithmetic) -> Number:
    """The algebraic sum of components along one axis."""
    total = parts[0]
    for part in parts[1:]:
        total = total + part
    return total


def run_not_divided(force: Vector, ar: Arithmetic) -> Numbers:
    """Magnitude times the stated run itself, not divided by its length."""
    run = getattr(getattr(force, "direction", None), "run", None)
    if run is None or not isinstance(force, Polar):
        return vector(force, ar)
    return scaled(ar.bring(force.magnitude), brought(run, ar))


def plan_not_reduced(force: Vector, ar: Arithmetic) -> Numbers:
    """The whole magnitude in plan, not its cosine of the elevation."""
    if not isinstance(force, Polar) or not isinstance(force.direction, ByAzimuth):
        return vector(force, ar)
    level = attrs.evolve(force.direction, elevation=Turn(rational(0)))
    up = "xyz".index(force.direction.up[1])
    flat, true = vector(Polar(force.magnitude, level), ar), vector(force, ar)
    return tuple(true[i] if i == up else flat[i] for i in range(3))


def plane_force_row(magnitude: float, degrees: float, places: int) -> PlaneForce:
    turns = decimal(degrees, places + 1) / 360
    return PlaneForce(Polar(decimal(magnitude, places), ByAngle(Turn(turns))))
