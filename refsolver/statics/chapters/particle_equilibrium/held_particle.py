"""A particle and what holds it: cables, springs, bars and contacts of known direction."""

from __future__ import annotations

import attrs

from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import STIFFNESS
from refsolver.quantities.leaves import Direction
from refsolver.statics.contract import choice, many, quantity, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.forces.concurrent import PlaneForce, SpaceForce
from refsolver.statics.naming import distinct_names

__all__ = ["ONE_WAY", "PlaneParticle", "PlaneSupport", "SpaceParticle", "SpaceSupport"]

_KINDS = ("cable", "contact", "bar", "spring")
ONE_WAY = ("cable", "contact")
"""What can act in one sense only."""

_DIRECTION = "from the particle along a cable, spring or bar; of a contact, away from the surface"
_OTHER_PART = (
    "the direction of the other part of the same cable, where it runs over a frictionless "
    "pulley at the particle"
)


@attrs.frozen
class PlaneSupport:
    direction: Direction = direction_given(_DIRECTION)
    other_part: Direction | None = direction_given(_OTHER_PART, default=None)
    kind: str = choice(_KINDS, "what it is: cables only pull, contacts only push", default="cable")
    stiffness: Exact | None = quantity(STIFFNESS, "of a spring", sign="positive", default=None)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        _check_support(self)


@attrs.frozen
class SpaceSupport:
    direction: Direction = direction_given(_DIRECTION, space=3)
    other_part: Direction | None = direction_given(_OTHER_PART, space=3, default=None)
    kind: str = choice(_KINDS, "what it is: cables only pull, contacts only push", default="cable")
    stiffness: Exact | None = quantity(STIFFNESS, "of a spring", sign="positive", default=None)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        _check_support(self)


def _check_support(support: PlaneSupport | SpaceSupport) -> None:
    if support.stiffness is not None and support.kind != "spring":
        raise ValueError(f'a stiffness belongs to kind = "spring", not to a {support.kind}')
    if support.other_part is not None and support.kind != "cable":
        raise ValueError(f"only a cable has another part over a pulley, not a {support.kind}")


@attrs.frozen
class PlaneParticle:
    forces: tuple[PlaneForce, ...] = many(PlaneForce, "the known forces on the particle")
    supports: tuple[PlaneSupport, ...] = many(PlaneSupport, "what holds it")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")
        distinct_names(self.supports, "support")


@attrs.frozen
class SpaceParticle:
    forces: tuple[SpaceForce, ...] = many(SpaceForce, "the known forces on the particle")
    supports: tuple[SpaceSupport, ...] = many(SpaceSupport, "what holds it")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")
        distinct_names(self.supports, "support")
