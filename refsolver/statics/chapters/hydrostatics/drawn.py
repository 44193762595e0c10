"""Figures of walls and vessels with fluids: the section to scale, with levels and forces."""

from __future__ import annotations

from collections.abc import Sequence

from refsolver.statics.drawing import Arrow, Curve, Drawing, Primitive, Region, Stroke

__all__ = ["level_lines", "surface_drawing"]


def level_lines(
    fluids: Sequence[tuple[str, str, float]], left: float, wall: float, right: float
) -> list[Primitive]:
    """The upper surface of each fluid, (name, side, depth): front to the left of the wall."""
    lines: list[Primitive] = []
    for number, (name, side, depth) in enumerate(fluids, 1):
        ends = (left, wall) if side == "front" else (wall, right)
        start, end = (ends[0], -depth), (ends[1], -depth)
        lines.append(Stroke(start, end, name or f"fluid {number}", "construction"))
    return lines


def surface_drawing(
    place: tuple[float, float, float],
    outline: Sequence[tuple[float, float]],
    fluids: Sequence[tuple[str, str, float]],
    force: tuple[float, float] | None,
    under: bool = False,
) -> Drawing:
    """The section across a plane surface, and beside it the surface seen square on.

    ``place`` is (depth of the upper edge, cosine, sine of the slope), ``outline`` (distance
    down the slope, width), ``force`` (its distance down the slope, its size). ``under``
    draws the front fluid below a sloping surface.
    """
    depth, cosine, sine = place
    cosine = -cosine if under else cosine
    reach = outline[-1][0]
    upper, lower = (0.0, -depth), (-reach * cosine, -depth - reach * sine)
    left = min(lower[0], 0.0) - 0.8 * reach
    parts: list[Primitive] = level_lines(fluids, left, 0.0, max(lower[0], 0.0) + 0.8 * reach)
    parts.append(Stroke(upper, lower, "surface"))
    if force is not None:
        along, size = force
        at = (-along * cosine, -depth - along * sine)
        parts.append(Arrow(at, (size * sine, -size * cosine), "F", "answer", pushes=True))
    widest = max(width for _, width in outline)
    beside = max(lower[0], 0.0) + 1.2 * reach + widest / 2
    right = [(beside + width / 2, -depth - along) for along, width in outline]
    mirrored = [(2 * beside - x, y) for x, y in reversed(right)]
    parts.append(Region((*right, *mirrored)))
    if force is not None:
        row = -depth - force[0]
        span = ((beside - widest / 2, row), (beside + widest / 2, row))
        parts.append(Curve(span, "centre of pressure", "answer"))
    caption = (
        "A section across the surface with the levels of the fluids and the force on it, and "
        "the surface seen square on, to scale"
    )
    return Drawing(tuple(parts), caption)
