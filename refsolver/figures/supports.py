"""Supports as they are drawn on the board: pin, roller, fixed end, link, ball, contact."""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs

from refsolver.figures.paper import INK, Paper, Spot, Style

__all__ = ["SUPPORTS", "support"]

_LINE = Style(INK, 1.4)
_HATCH = Style(INK, 0.8)


@attrs.frozen
class _Local:
    """Coordinates at a support: ``s`` along the surface, ``t`` along its outward normal."""

    paper: Paper
    at: Spot
    normal: Spot

    def spot(self, s: float, t: float) -> Spot:
        nx, ny = self.normal
        return self.at[0] - s * ny + t * nx, self.at[1] + s * nx + t * ny

    def line(self, *places: Spot) -> None:
        self.paper.line([self.spot(*place) for place in places], _LINE)

    def ring(self, s: float, t: float, radius: float) -> None:
        self.paper.ring(self.spot(s, t), radius, "#fff", _LINE, layer=6)

    def triangle(self, depth: float) -> None:
        places = [(0.0, 0.0), (-9.0, -depth), (9.0, -depth)]
        self.paper.area([self.spot(*p) for p in places], "#fff", _LINE, layer=3)

    def ground(self, t: float, half: float = 15) -> None:
        """The fixed surface: a line with hatching on the far side."""
        self.line((-half, t), (half, t))
        for k in range(6):
            s = -half + (k + 0.8) * 2 * half / 6
            self.paper.line([self.spot(s, t), self.spot(s - 5, t - 6)], _HATCH, wire=False)


def _pin(here: _Local) -> None:
    here.triangle(15)
    here.ground(-15)
    here.ring(0, 0, 3)


def _roller(here: _Local) -> None:
    here.triangle(12)
    here.ring(-5, -15, 2.8)
    here.ring(5, -15, 2.8)
    here.ground(-18)
    here.ring(0, 0, 3)


def _fixed(here: _Local) -> None:
    here.ground(0, 18)


def _link(here: _Local) -> None:
    here.line((0, 0), (0, -22))
    here.ring(0, 0, 3)
    here.ring(0, -22, 3)
    here.ground(-26, 11)


def _ball(here: _Local) -> None:
    here.triangle(17)
    here.ground(-17)
    here.ring(0, 0, 5.5)


def _contact(here: _Local) -> None:
    here.ground(0, 20)


SUPPORTS: dict[str, Callable[[_Local], None]] = {
    "pin": _pin,
    "roller": _roller,
    "fixed": _fixed,
    "link": _link,
    "ball": _ball,
    "contact": _contact,
}


def support(paper: Paper, kind: str, at: Spot, angle: float) -> None:
    """Draws a support at a spot; ``angle`` in degrees is its surface's outward normal."""
    turn = math.radians(angle)
    SUPPORTS[kind](_Local(paper, at, (math.cos(turn), -math.sin(turn))))
