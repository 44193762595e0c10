"""All views of a record that a check writes beside it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refsolver.catalogue.userfile import write_text

__all__ = ["REPORTS", "report_texts", "write_reports"]

REPORTS = ("report.html", "report.md", "findings.csv", "junit.xml")
"""The names of the views that are always written."""


def report_texts(record: Mapping[str, Any]) -> dict[str, str]:
    """The text of each view by its name. Raises ReportError where the counts do not add up."""
    from refsolver.reporting.csv import csv_text
    from refsolver.reporting.html import html_text
    from refsolver.reporting.junit import junit_text
    from refsolver.reporting.markdown import markdown_text

    views = (html_text, markdown_text, csv_text, junit_text)
    return {name: view(record) for name, view in zip(REPORTS, views, strict=True)}


def write_reports(
    record: Mapping[str, Any], folder: Path, *, pdf: bool = False
) -> tuple[Path, ...]:
    """Writes ``report.html``, ``report.md``, ``findings.csv``, ``junit.xml`` to ``folder``.

    With ``pdf`` also ``report.pdf`` (A4). Each file is written whole or not at all.
    Returns their paths. Raises ReportError for a record whose counts do not add up, and
    PdfError where no PDF can be made.
    """
    texts = report_texts(record)
    for name, text in texts.items():
        write_text(folder / name, text)
    written = [folder / name for name in texts]
    if pdf:
        from refsolver.reporting.pdf import write_pdf

        write_pdf(folder / "report.html", folder / "report.pdf")
        written.append(folder / "report.pdf")
    return tuple(written)
