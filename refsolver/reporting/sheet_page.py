"""The page that goes with an answer sheet: each case with its figure, to be printed.

A page beside the workbook rather than pictures in it: pictures would need two more libraries
(one to draw them in pixels, one for openpyxl to take them, some 8 MB), and lose scale and
sharpness; the page is drawn as the report's figures are, and needs nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import attrs

from refsolver.figures.svg import svg
from refsolver.quantities.visible import visible

__all__ = ["PageCase", "anchor_of", "sheet_page"]

_STYLE = """
body { font: 11pt/1.45 sans-serif; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
article { break-inside: avoid; border-top: 1px solid #9ca3af; padding: .8rem 0; }
h2 { font-size: 1.1rem; margin: 0; } .id { color: #525c66; font-size: .85rem; margin: 0; }
table { border-collapse: collapse; } td, th { padding: .1rem .8rem .1rem 0; text-align: left; }
svg { max-width: 100%; height: auto; display: block; margin: .6rem 0; }
@page { margin: 18mm 15mm; @bottom-right { content: counter(page) " of " counter(pages); } }
"""


@attrs.frozen
class PageCase:
    """A case on the page: its number on the sheet, what is asked, its figure where it has one."""

    number: int
    id: str
    title: str
    statement: str
    inputs: tuple[tuple[str, str, str, str], ...]
    """(the calculator's words, what to type, unit, convention)."""
    drawing: Mapping[str, Any] | None


def anchor_of(number: int) -> str:
    """Where a case stands on the page."""
    return f"case-{number}"


def sheet_page(title: str, cases: Sequence[PageCase], notes: Sequence[str]) -> str:
    """One self-contained HTML page, without scripts; it carries no answer."""
    said = "".join(f"<p>{_shown(note)}</p>" for note in notes)
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{_shown(title)}'
        f"</title><style>{_STYLE}</style></head><body><h1>{_shown(title)}</h1>{said}"
        f"{''.join(map(_article, cases))}</body></html>\n"
    )


def _shown(text: str) -> str:
    return escape(visible(text))


def _article(case: PageCase) -> str:
    rows = "".join(
        f"<tr><td>{_shown(says)}</td><td><b>{_shown(value)}</b></td><td>{_shown(unit)}</td>"
        f"<td>{_shown(convention)}</td></tr>"
        for says, value, unit, convention in case.inputs
    )
    figure = (
        "<p>No figure: nothing of this case can be drawn without its answers.</p>"
        if case.drawing is None
        else svg(case.drawing, name=anchor_of(case.number) + "-figure")
    )
    return (
        f'<article id="{anchor_of(case.number)}"><h2>{case.number}. {_shown(case.title)}</h2>'
        f'<p class="id">{_shown(case.id)}</p><p>{_shown(case.statement)}</p>{figure}'
        "<table><tr><th>the calculator's words</th><th>type this</th><th>unit</th>"
        f"<th>convention</th></tr>{rows}</table></article>\n"
    )
