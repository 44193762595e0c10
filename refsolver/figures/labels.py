"""Labels put where they collide least, one after another.

Each label names a few places it could stand, best first. The first place that touches
neither another label nor a line is taken; where there is none near, the one that touches least.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from refsolver.figures.paper import INK, Paper, Spot

__all__ = ["SIZE", "Wish", "around", "beside", "put_labels", "width_of"]

SIZE = 11.5
_WIDE = 0.61
"""Width of a letter as a share of the size: a wide sans, so that narrow ones fit too."""


@attrs.frozen
class Wish:
    """A label and the centres of the places it could stand at, best first."""

    words: str
    places: Sequence[Spot]
    colour: str = INK


@attrs.frozen
class _Box:
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: _Box) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def crossed_by(self, wire: tuple[Spot, Spot]) -> bool:
        """Whether a segment passes through, by clipping it to the box (Liang and Barsky)."""
        (x0, y0), (x1, y1) = wire
        dx, dy = x1 - x0, y1 - y0
        enter, leave = 0.0, 1.0
        for step, room in (
            (-dx, x0 - self.left), (dx, self.right - x0),
            (-dy, y0 - self.top), (dy, self.bottom - y0),
        ):  # fmt: skip
            if step == 0:
                if room < 0:
                    return False
                continue
            share = room / step
            if step < 0:
                enter = max(enter, share)
            else:
                leave = min(leave, share)
        return enter <= leave


def width_of(words: str, size: float = SIZE) -> float:
    """How wide a text may come out, in pixels."""
    return len(words) * _WIDE * size


def around(spot: Spot, words: str, gap: float = 7) -> list[Spot]:
    """Places around a point: right and up first, then the other sides."""
    side, rise = width_of(words) / 2 + gap, SIZE / 2 + gap
    x, y = spot
    near = [
        (x + side, y - rise), (x - side, y - rise), (x + side, y + rise), (x - side, y + rise),
        (x, y - rise - 2), (x, y + rise + 2), (x + side + 2, y), (x - side - 2, y),
    ]  # fmt: skip
    return near + [(x + 2.2 * (u - x), y + 2.2 * (v - y)) for u, v in near]


def beside(start: Spot, end: Spot, words: str, gap: float = 6) -> list[Spot]:
    """Places on both sides of a segment, at its middle first."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    nx, ny = -dy / length, dx / length
    reach = gap + abs(nx) * width_of(words) / 2 + abs(ny) * SIZE / 2
    places = []
    for share in (0.5, 0.65, 0.35, 0.8, 0.2):
        x, y = start[0] + share * dx, start[1] + share * dy
        places += [(x + reach * nx, y + reach * ny), (x - reach * nx, y - reach * ny)]
    return places


def put_labels(paper: Paper, wishes: Iterable[Wish]) -> None:
    """Writes every label on the paper, each at its best free place."""
    taken: list[_Box] = []
    for wish in wishes:
        boxes = [_box(place, wish.words) for place in wish.places]
        best = min(range(len(boxes)), key=lambda i: _cost(boxes[i], taken, paper) + i)
        box, (x, y) = boxes[best], wish.places[best]
        taken.append(box)
        paper.text((x, y + 0.35 * SIZE), wish.words, anchor="middle", colour=wish.colour)
        paper.spots += [(box.left, box.top), (box.right, box.bottom)]


def _box(centre: Spot, words: str) -> _Box:
    half, rise = width_of(words) / 2 + 1, 0.62 * SIZE
    return _Box(centre[0] - half, centre[1] - rise, centre[0] + half, centre[1] + rise)


def _cost(box: _Box, taken: Iterable[_Box], paper: Paper) -> int:
    """Touching a label is worse than crossing lines; a line crossed is as bad as six steps down
    the list of places, and more than two count as two: a label does not flee far."""
    labels = sum(box.overlaps(other) for other in taken)
    lines = sum(box.crossed_by(wire) for wire in paper.wires)
    return 40 * labels + 6 * min(lines, 2)
