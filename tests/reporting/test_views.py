"""Writing all views: whole or not at all, and the same from a record read back from its file."""

from __future__ import annotations

import pytest

from refsolver.records.canonical import read_record, write_record
from refsolver.reporting import pdf
from refsolver.reporting.arrangement import ReportError
from refsolver.reporting.pdf import PdfError, write_pdf
from refsolver.reporting.views import write_reports

NAMES = ["report.html", "report.md", "findings.csv", "junit.xml"]


def test_all_views_are_written_and_their_paths_returned(record, tmp_path):
    written = write_reports(record, tmp_path / "new" / "folder")
    assert [path.name for path in written] == NAMES
    assert all(path.stat().st_size > 1000 for path in written)
    assert sorted(path.name for path in written[0].parent.iterdir()) == sorted(NAMES)


def test_a_record_read_back_gives_the_same_reports(record, tmp_path):
    """Keys come back sorted; no view may depend on their order in memory."""
    write_record(record, tmp_path / "record.json")
    first = write_reports(record, tmp_path / "first")
    second = write_reports(read_record(tmp_path / "record.json"), tmp_path / "second")
    for a, b in zip(first, second, strict=True):
        assert a.read_bytes() == b.read_bytes(), a.name


def test_a_record_that_lies_leaves_nothing_behind(record, tmp_path):
    record["content"]["counts"]["total"] += 1
    with pytest.raises(ReportError):
        write_reports(record, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_without_a_browser_the_error_says_what_to_install(monkeypatch, tmp_path):
    monkeypatch.setattr(pdf.shutil, "which", lambda name: None)
    with pytest.raises(PdfError, match="apt install chromium"):
        write_pdf(tmp_path / "report.html", tmp_path / "report.pdf")


def test_a_browser_that_fails_is_named(monkeypatch, tmp_path):
    page = tmp_path / "report.html"
    page.write_text("<html><head></head></html>")
    monkeypatch.setattr(pdf.shutil, "which", lambda name: "/bin/false")
    with pytest.raises(PdfError, match="/bin/false made no PDF"):
        write_pdf(page, tmp_path / "report.pdf")
    assert not (tmp_path / "report.pdf").exists()
