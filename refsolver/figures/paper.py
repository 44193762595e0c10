"""The paper a figure is drawn on: shapes in layers, and the wires that labels keep clear of.

Coordinates are pixels of the SVG, y downward. Nothing here knows of forces or lengths.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from typing import TypeAlias

import attrs

from refsolver.quantities.visible import visible

__all__ = ["INK", "Paper", "Spot", "Style", "px"]

Spot: TypeAlias = tuple[float, float]

INK = "#2b2f36"
"""Lines of bodies and text; at least 12:1 on white."""


@attrs.frozen
class Style:
    """A stroke: its colour, its width in pixels, and a dash pattern or none."""

    colour: str = INK
    width: float = 1.2
    dash: str = ""

    @property
    def attributes(self) -> str:
        dash = f' stroke-dasharray="{self.dash}"' if self.dash else ""
        return f'fill="none" stroke="{self.colour}" stroke-width="{px(self.width)}"{dash}'


def px(value: float) -> str:
    """A coordinate to a tenth of a pixel, without idle zeros."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _path(spots: Sequence[Spot], *, closed: bool) -> str:
    joined = " L".join(f"{px(x)} {px(y)}" for x, y in spots)
    return f"M{joined}{' Z' if closed else ''}"


@attrs.define
class Paper:
    """Collects shapes; ``body`` gives them back, lowest layer first."""

    layers: dict[int, list[str]] = attrs.field(factory=dict)
    wires: list[tuple[Spot, Spot]] = attrs.field(factory=list)
    spots: list[Spot] = attrs.field(factory=list)
    """Everything the finished figure must hold."""

    def _add(self, shape: str, layer: int, spots: Iterable[Spot]) -> None:
        self.layers.setdefault(layer, []).append(shape)
        self.spots.extend(spots)

    def line(
        self, spots: Sequence[Spot], style: Style, *, layer: int = 2, wire: bool = True
    ) -> None:
        """A polyline. ``wire`` says that labels should keep clear of it."""
        self._add(f'<path d="{_path(spots, closed=False)}" {style.attributes}/>', layer, spots)
        if wire:
            self.wires.extend(zip(spots, spots[1:], strict=False))

    def area(
        self, spots: Sequence[Spot], fill: str, style: Style | None = None, *, layer: int = 1
    ) -> None:
        """A closed polygon, filled; outlined where a style is given."""
        outline = f' stroke="{style.colour}" stroke-width="{px(style.width)}"' if style else ""
        if style and style.dash:
            outline += f' stroke-dasharray="{style.dash}"'
        shape = f'<path d="{_path(spots, closed=True)}" fill="{fill}"{outline}/>'
        self._add(shape, layer, spots)

    def ring(self, centre: Spot, radius: float, fill: str, style: Style, *, layer: int = 4) -> None:
        """A circle."""
        x, y = centre
        shape = (
            f'<circle cx="{px(x)}" cy="{px(y)}" r="{px(radius)}" fill="{fill}" '
            f'stroke="{style.colour}" stroke-width="{px(style.width)}"/>'
        )
        self._add(shape, layer, [(x - radius, y - radius), (x + radius, y + radius)])
        self.wires.append(((x - radius, y), (x + radius, y)))

    def text(
        self, at: Spot, words: str, *, anchor: str = "start", size: float = 11.5, colour: str = INK
    ) -> None:
        """A text with its baseline at ``at``, on the top layer, haloed in white."""
        x, y = at
        shape = (
            f'<text x="{px(x)}" y="{px(y)}" text-anchor="{anchor}" font-size="{px(size)}" '
            f'fill="{colour}" stroke="#fff" stroke-width="3" paint-order="stroke" '
            f'stroke-linejoin="round">{escape(visible(words))}</text>'
        )
        self._add(shape, 9, ())

    def head(self, tip: Spot, toward: Spot, colour: str, size: float) -> None:
        """A filled arrow head with its point at ``tip``; ``toward`` is its direction."""
        length = math.hypot(*toward)
        if length == 0 or size <= 0:
            return
        ux, uy = toward[0] / length, toward[1] / length
        back = (tip[0] - size * ux, tip[1] - size * uy)
        half = 0.36 * size
        wings = [
            (back[0] - half * uy, back[1] + half * ux),
            (back[0] + half * uy, back[1] - half * ux),
        ]
        self.area([tip, *wings], colour, layer=5)

    def body(self) -> str:
        """All shapes, lowest layer first."""
        return "".join(shape for layer in sorted(self.layers) for shape in self.layers[layer])

    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of everything drawn."""
        xs, ys = [x for x, _ in self.spots] or [0.0], [y for _, y in self.spots] or [0.0]
        return min(xs), min(ys), max(xs), max(ys)
