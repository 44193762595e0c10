"""Sheets of working of the usual shapes: vectors under the axes, numbers in one column."""

from __future__ import annotations

from collections.abc import Mapping

from refsolver.arithmetic.contract import Number
from refsolver.quantities.dimensions import FORCE, Dimension
from refsolver.statics.contract import Column, Row, Sheet
from refsolver.statics.vectors import Numbers

__all__ = ["number_sheet", "vector_sheet"]


def vector_sheet(
    title: str, dimension: Dimension | None, rows: Mapping[str, Numbers], note: str = ""
) -> Sheet:
    """Vectors of one dimension, a row each, under the axes."""
    space = len(next(iter(rows.values())))
    columns = tuple(Column(f"along {letter}", dimension) for letter in "xyz"[:space])
    return Sheet(title, columns, tuple(Row(key, v) for key, v in rows.items()), note)


def number_sheet(
    title: str, rows: Mapping[str, Number], note: str = "", dimension: Dimension = FORCE
) -> Sheet:
    """Numbers of one dimension, a row each."""
    return Sheet(
        title,
        (Column("value", dimension),),
        tuple(Row(key, (x,)) for key, x in rows.items()),
        note,
    )
