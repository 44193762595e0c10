"""The findings as a table: one row a reading, and one for each case without a reading."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from refsolver.quantities.visible import visible
from refsolver.reporting.arrangement import Arrangement, arranged
from refsolver.reporting.words import STOPPED

if TYPE_CHECKING:
    import pandas

__all__ = ["COLUMNS", "csv_text", "frame"]

COLUMNS = (
    "case", "family", "title", "made", "counts", "state", "condition",
    "source_kind", "source_work", "source_place", "source_read", "inexact",
    "line", "output", "judged", "verdict", "why", "reported", "number", "unit", "expected",
    "reference", "reference_lower", "reference_upper", "proven_digits",
    "deviation", "deviation_lower", "deviation_upper",
    "tolerance_below", "tolerance_above", "share", "relative", "agreeing_digits",
    "condition_number", "digits_lost", "figures_justified",
    "accepted", "accepted_reason", "accepted_by", "accepted_until",
)  # fmt: skip

_FLOATS = ("share", "relative", "agreeing_digits", "condition_number", "digits_lost")
_COUNTS = ("proven_digits", "figures_justified")


def frame(record: Mapping[str, Any]) -> pandas.DataFrame:
    """All findings as a data frame with the columns :data:`COLUMNS`.

    Values that were decided exactly (``number``, reference, deviation, tolerance) are
    decimal texts, exact or rounded outward as the record has them; ``share``, ``relative``,
    ``agreeing_digits``, ``condition_number`` and ``digits_lost`` are doubles, missing where
    there is none; ``figures_justified`` says how many figures the printed givens justify.
    A case that was not asked has one row with verdict ``not applicable``, its condition,
    and an empty ``line``; one that a stopped run did not reach has the verdict ``not judged``.
    ``accepted`` is ``in force`` or ``expired`` where the calculator file accepts the failure.
    """
    import pandas

    table = pandas.DataFrame(list(_rows(record)), columns=list(COLUMNS))
    table[list(_FLOATS)] = table[list(_FLOATS)].astype("float64")
    table[list(_COUNTS)] = table[list(_COUNTS)].astype("Int64")
    return table


def csv_text(record: Mapping[str, Any]) -> str:
    """The same as CSV (RFC 4180, UTF-8, a header line); doubles print so as to read back.

    A spreadsheet takes a cell that begins with ``=``, ``+``, ``-`` or ``@`` for a formula,
    and one with other separators than ours looks behind those too. Where a text is no plain
    number an apostrophe stands before such a character; the record has the text as it was.
    """
    table = frame(record)
    for name in table.columns:
        if name not in (*_FLOATS, *_COUNTS):
            table[name] = [_harmless(value) for value in table[name]]
    return str(table.to_csv(index=False, lineterminator="\r\n"))


_NUMBER = re.compile(
    r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?"
    r"( ?[A-Za-zµ°%]+(\^[0-9])?(/[A-Za-z]+(\^[0-9])?)?)?"
)
"""A number, with its unit where there is one."""

_FORMULA = re.compile(r"(^|[;|\t\r\n])(\s*)([=+\-@＝＋－＠])")


def _harmless(value: Any) -> Any:
    if not isinstance(value, str) or _NUMBER.fullmatch(value):
        return value
    return _FORMULA.sub(r"\1\2'\3", visible(value))


def _rows(record: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    arrangement = arranged(record)
    for id in arrangement.content["order"]:
        data = arrangement.content["cases"][id]
        base = _of_case(id, data)
        if data["state"] == "not judged":
            yield {**base, "verdict": "not judged", "why": STOPPED}
        elif data["state"] != "asked":
            yield {**base, "verdict": "not applicable", "why": data["condition"]}
        for finding in data.get("findings", ()):
            yield {**base, **_of_finding(finding), **_accepted(arrangement, id, finding)}


def _accepted(arrangement: Arrangement, id: str, finding: Mapping[str, Any]) -> dict[str, str]:
    found = arrangement.acceptance(id, finding)
    if found is None:
        return {}
    return {
        "accepted": found.state,
        "accepted_reason": found.entry["reason"],
        "accepted_by": found.entry["approved_by"],
        "accepted_until": found.entry["expires"],
    }


def _of_case(id: str, data: Mapping[str, Any]) -> dict[str, Any]:
    plain = ("family", "title", "made", "counts", "state", "condition")
    source = data["source"]
    return {
        **dict.fromkeys(COLUMNS, ""),
        **dict.fromkeys((*_FLOATS, *_COUNTS), None),
        "case": id,
        **{name: data[name] for name in plain},
        **{f"source_{name}": source[name] for name in ("kind", "work", "place", "read")},
        "inexact": data.get("inexact", False),
    }


def _of_finding(finding: Mapping[str, Any]) -> dict[str, Any]:
    plain = ("line", "output", "judged", "verdict", "why", "reported", "unit", "expected")
    reference = finding["reference"] or {}
    deviation = finding["deviation"] or {}
    tolerance = finding["tolerance"] or {}
    return {
        **{name: finding[name] for name in plain},
        "number": finding["number"] or "",
        "reference": reference.get("shown", ""),
        "reference_lower": reference.get("lower", ""),
        "reference_upper": reference.get("upper", ""),
        "proven_digits": reference.get("digits"),
        "deviation": deviation.get("shown", ""),
        "deviation_lower": deviation.get("lower", ""),
        "deviation_upper": deviation.get("upper", ""),
        "tolerance_below": tolerance.get("below", ""),
        "tolerance_above": tolerance.get("above", ""),
        "share": tolerance.get("share"),
        **{
            name: finding[name]
            for name in (
                "relative",
                "agreeing_digits",
                "condition_number",
                "digits_lost",
                "figures_justified",
            )
        },
    }
