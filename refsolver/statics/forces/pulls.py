"""Forces through one point as a size along a stated direction, and how they close.

A family that adds forces adds components. Its second method is here: the square of the
resultant from the sizes and the angles between every two forces (the law of cosines,
applied to any number), and the projections of all forces on the line of each. Where two
directions are stated by angles in one frame, the cosine between them comes from the
difference of the angles and shares no step with the components.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, ByAzimuth, Direction, Polar, Vector
from refsolver.statics.contract import Residual
from refsolver.statics.vectors import Numbers, brought, dot, unit_vector

__all__ = ["Pull", "along_direction", "closure", "plane_heading", "product", "pull_of"]


@attrs.frozen
class Pull:
    """The force ``size * along``; ``along`` is a unit vector where ``stated`` is given."""

    size: Number
    along: Numbers
    stated: Direction | None = None


def pull_of(force: Vector, ar: Arithmetic) -> Pull:
    """A force by magnitude and direction; one stated by components keeps them, with size 1."""
    if isinstance(force, Polar):
        return along_direction(ar.bring(force.magnitude), force.direction, ar)
    return Pull(ar.bring(fmpq(1)), brought(force.along, ar))


def along_direction(size: Number, direction: Direction, ar: Arithmetic) -> Pull:
    """The force of that size along an exact direction."""
    return Pull(size, unit_vector(direction, ar), direction)


_QUARTERS = {"+x": 0, "+y": 1, "-x": 2, "-y": 3}


def plane_heading(direction: Direction | None) -> fmpq | None:
    """Turns counter-clockwise from +x, exactly; None where no rational angle is stated."""
    if not isinstance(direction, ByAngle) or not isinstance(direction.angle, Turn):
        return None
    start, toward = _QUARTERS[direction.start], _QUARTERS[direction.toward]
    sense = 1 if (toward - start) % 4 == 1 else -1
    return fmpq(start, 4) + sense * direction.angle.turns


def product(a: Pull, b: Pull, ar: Arithmetic) -> Number:
    """The scalar product of two forces."""
    return a.size * b.size * _cosine(a, b, ar)


def _cosine(a: Pull, b: Pull, ar: Arithmetic) -> Number:
    heading, other = plane_heading(a.stated), plane_heading(b.stated)
    if heading is not None and other is not None:
        return ar.cos_sin(Turn(heading - other))[0]
    if _one_frame(a.stated, b.stated):
        return _cosine_in_frame(a.stated, b.stated, ar)
    return dot(a.along, b.along)


def _one_frame(a: Direction | None, b: Direction | None) -> bool:
    return (
        isinstance(a, ByAzimuth)
        and isinstance(b, ByAzimuth)
        and (a.start, a.toward, a.up) == (b.start, b.toward, b.up)
        and isinstance(a.azimuth, Turn)
        and isinstance(b.azimuth, Turn)
    )


def _cosine_in_frame(a: Direction | None, b: Direction | None, ar: Arithmetic) -> Number:
    """The spherical law of cosines for the sides 90 degrees less the elevations."""
    assert isinstance(a, ByAzimuth) and isinstance(a.azimuth, Turn)
    assert isinstance(b, ByAzimuth) and isinstance(b.azimuth, Turn)
    (level_a, rise_a), (level_b, rise_b) = ar.cos_sin(a.elevation), ar.cos_sin(b.elevation)
    between = ar.cos_sin(Turn(a.azimuth.turns - b.azimuth.turns))[0]
    return level_a * level_b * between + rise_a * rise_b


def closure(
    pulls: Sequence[Pull], keys: Sequence[str], total: Numbers, ar: Arithmetic
) -> list[Residual]:
    """That ``pulls`` have the resultant ``total``: its square, and its projections."""
    one = ar.bring(fmpq(1))
    square = sizes = 0 * one
    for i, a in enumerate(pulls):
        own = product(a, a, ar)
        sizes = sizes + ar.sqrt(own)
        square = square + own
        for b in pulls[i + 1 :]:
            square = square + 2 * product(a, b, ar)
    residuals = [Residual("law of cosines", square - dot(total, total), sizes * sizes)]
    for key, a in zip(keys, pulls, strict=True):
        line = Pull(one, a.along, a.stated)
        projected = 0 * one
        for b in pulls:
            projected = projected + product(b, line, ar)
        size = sizes if a.stated is not None else sizes * sizes
        residuals.append(Residual(f"projection on {key}", projected - dot(total, a.along), size))
    return residuals
