"""Drawing primitives of a beam, its loads and its diagrams."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.kinds import Piece
from refsolver.statics.chapters.beams.beam import RULES, Beam, BeamLineLoad
from refsolver.statics.drawing import Arrow, Curve, Mark, Pin, Primitive, Stroke, Turning
from refsolver.statics.naming import keys_of
from refsolver.statics.polynomials import value
from refsolver.statics.vectors import unit_vector, vector

__all__ = [
    "drawn_beam",
    "drawn_function",
    "drawn_line_load",
]


_PIN_KIND: dict[str, Any] = {"pin": "pin", "roller": "roller", "fixed": "fixed"}


def drawn_beam(given: Beam, ar: Arithmetic) -> list[Primitive]:
    parts: list[Primitive] = [Stroke((0.0, 0.0), (ar.bring(given.length), 0.0))]
    for support, key in zip(given.supports, keys_of(given.supports, "support"), strict=True):
        parts.append(Pin((ar.bring(support.at), 0.0), _PIN_KIND[support.kind], label=key))
    for hinge, key in zip(given.hinges, keys_of(given.hinges, "hinge"), strict=True):
        parts.append(Mark((ar.bring(hinge.at), 0.0), key))
    for force, key in zip(given.forces, keys_of(given.forces, "force"), strict=True):
        parts.append(Arrow((ar.bring(force.at), 0.0), vector(force.force, ar), key, pushes=True))
    for couple, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        parts.append(Turning((ar.bring(couple.at), 0.0), ar.bring(couple.moment), key))
    for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
        parts += drawn_line_load(line, key, ar.bring(given.length) / 12, ar)
    return parts


def drawn_line_load(line: BeamLineLoad, key: str, height: float, ar: Arithmetic) -> list[Primitive]:
    """The envelope of the load over the beam, its greatest intensity ``height`` tall."""
    start, end = ar.bring(line.start), ar.bring(line.end)
    u = unit_vector(line.direction, ar)
    curve = RULES["line_intensity"]([ar.bring(w) for w in line.intensities], end - start)
    steps = [(end - start) * i / 24 for i in range(25)]
    sizes = [value(curve, t) for t in steps]
    scale = height / (max(abs(w) for w in sizes) or 1.0)
    top = tuple(
        (start + t - u[0] * w * scale, -u[1] * w * scale) for t, w in zip(steps, sizes, strict=True)
    )
    return [Curve(((start, 0.0), *top, (end, 0.0)), key, "given")]


def drawn_function(pieces: Sequence[Piece], base: float, height: float, label: str) -> Curve:
    spots = [
        (p.start + t, value(p.coefficients, t))
        for p in pieces
        for t in ((p.end - p.start) * i / 16 for i in range(17))
    ]
    scale = height / (max(abs(y) for _, y in spots) or 1.0)
    points = tuple((x, base + y * scale) for x, y in spots)
    return Curve(points, label, "answer")
