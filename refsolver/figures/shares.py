"""Dot plots of readings: shares of the tolerance by output, digits lost by family.

One mark a reading, stacked where they fall together. Shape tells the verdict as well as
colour. Shares are drawn on a logarithmic axis: what lies right of the line at 1 is outside
its tolerance. Digits lost are drawn on a linear one: left of 1 is as good as double
precision allows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import TypeAlias

import attrs

from refsolver.figures.paper import INK, Paper, Spot, Style, px

__all__ = ["Row", "Share", "lost_svg", "shares_svg"]

Across: TypeAlias = Callable[[float], float]

_LEAST, _MOST = -9, 6
"""Decades beyond which a share is drawn at the end of the axis."""
_STEP = 6.5
_STACK = 60.0
_DENSEST = 3.0
"""Marks of one verdict closer than this, in pixels, are drawn once."""
_PASS = Style("#1f6b45", 1.3)
_OUT = Style("#a11d21", 1.8)
_GRID = Style("#d9dcdf", 0.8)


@attrs.frozen
class Share:
    """One reading: its share of the tolerance, or the digits it lost; and whether it passed."""

    size: float
    passes: bool


@attrs.frozen
class Row:
    """One output's readings under its label."""

    label: str
    shares: Sequence[Share]


def shares_svg(
    rows: Sequence[Row], *, width: float = 680, name: str = "shares", title: str, says: str
) -> str:
    """The plot as one ``<svg>`` element; ``title`` and ``says`` are its text alternative."""
    low, high = _decades(rows)
    left, right = 12.0, width - 12.0

    def across(size: float) -> float:
        power = math.log10(size) if size > 0 else float(low)
        return left + (right - left) * (min(max(power, low), high) - low) / (high - low)

    return _dots(
        rows, across, lambda paper, bottom: _scale(paper, range(low, high + 1), across, bottom),
        (width, name, title, says),
    )  # fmt: skip


def lost_svg(
    rows: Sequence[Row], *, width: float = 680, name: str = "lost", title: str, says: str
) -> str:
    """The same for digits lost, each :class:`Share` holding a number of digits."""
    left, right = 12.0, width - 12.0
    high = max([2.0, *(share.size for row in rows for share in row.shares)])
    last = math.ceil(high)

    def across(size: float) -> float:
        return left + (right - left) * min(max(size, 0.0), last) / last

    return _dots(
        rows, across, lambda paper, bottom: _digits(paper, last, across, bottom),
        (width, name, title, says),
    )  # fmt: skip


def _dots(
    rows: Sequence[Row],
    across: Across,
    scale: Callable[[Paper, float], None],
    about: tuple[float, str, str, str],
) -> str:
    width, name, title, says = about
    paper, y = Paper(), 26.0
    for row in rows:
        paper.text((12.0, y), row.label, size=11)
        y = _stacked(paper, row.shares, across, y + 8) + 18
    scale(paper, y - 6)
    high_px = y + 34
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{px(width)}" '
        f'height="{px(high_px)}" viewBox="0 0 {px(width)} {px(high_px)}" font-family="sans-serif" '
        f'aria-labelledby="{name}-t {name}-d"><title id="{name}-t">{escape(title)}</title>'
        f'<desc id="{name}-d">{escape(says)}</desc>{paper.body()}</svg>'
    )


def _decades(rows: Iterable[Row]) -> tuple[int, int]:
    powers = [math.log10(s.size) for row in rows for s in row.shares if s.size > 0]
    low = math.floor(min(powers, default=-3.0))
    high = math.ceil(max(powers, default=1.0))
    return max(min(low, -2), _LEAST), min(max(high, 1), _MOST)


def _stacked(paper: Paper, shares: Sequence[Share], across: Across, top: float) -> float:
    """Draws one row's marks above its baseline; returns the baseline.

    Marks are gathered in columns that do not reach over the limit, 1.
    """
    columns: dict[int, list[Share]] = {}
    limit = across(1.0)
    for share in sorted(shares, key=lambda s: (not s.passes, s.size)):
        steps = (across(share.size) - limit) / _STEP
        place = math.ceil(steps) if share.size <= 1 else math.floor(steps) + 1
        columns.setdefault(place, []).append(share)
    tallest = max((len(column) for column in columns.values()), default=1)
    step = min(_STEP, _STACK / tallest)
    base = top + step * (tallest - 1) + 5
    for place, column in columns.items():
        drawn: set[tuple[int, bool]] = set()
        for k, share in enumerate(column):
            key = (round(k * step / _DENSEST), share.passes)
            if key not in drawn:
                drawn.add(key)
                _mark(paper, (limit + (place - 0.5) * _STEP, base - k * step), share.passes)
    return base


def _mark(paper: Paper, spot: Spot, passes: bool) -> None:
    if passes:
        paper.ring(spot, 2.6, "#fff", _PASS)
        return
    x, y = spot
    paper.line([(x - 2.6, y - 2.6), (x + 2.6, y + 2.6)], _OUT, layer=5)
    paper.line([(x - 2.6, y + 2.6), (x + 2.6, y - 2.6)], _OUT, layer=5)


def _scale(paper: Paper, decades: range, across: Across, bottom: float) -> None:
    each = 1 if len(decades) <= 9 else 2
    for power in decades:
        x = across(10.0**power)
        limit = power == 0
        style = Style(INK, 1.4, "4 3") if limit else _GRID
        paper.line([(x, 14), (x, bottom)], style, layer=0)
        if limit:
            paper.text((x, 10), "tolerance", anchor="middle", size=10)
        if power % each == 0:
            said = f"{10.0**power:g}" if -4 <= power <= 4 else f"1e{power}"
            anchor = {decades[0]: "start", decades[-1]: "end"}.get(power, "middle")
            paper.text((x, bottom + 13), said, anchor=anchor, size=10, colour="#4b5563")
    middle = (across(10.0 ** decades[0]) + across(10.0 ** decades[-1])) / 2
    said = "size of the deviation as a share of the tolerance (first mark: that or less)"
    paper.text((middle, bottom + 28), said, anchor="middle", size=10, colour="#4b5563")


def _digits(paper: Paper, last: int, across: Across, bottom: float) -> None:
    for digits in range(last + 1):
        x = across(digits)
        limit = digits == 1
        paper.line([(x, 14), (x, bottom)], Style(INK, 1.4, "4 3") if limit else _GRID, layer=0)
        if limit:
            paper.text((x, 10), "double precision", anchor="middle", size=10)
        anchor = {0: "start", last: "end"}.get(digits, "middle")
        paper.text((x, bottom + 13), str(digits), anchor=anchor, size=10, colour="#4b5563")
    said = "decimal digits lost beyond what the condition of the case costs"
    paper.text((across(last / 2), bottom + 28), said, anchor="middle", size=10, colour="#4b5563")
