"""The findings as CSV, read back with pandas; RFC 4180 for the form."""

from __future__ import annotations

import csv
import io

import pandas
import pytest

import refsolver
from refsolver.records.canonical import RecordError, write_record
from refsolver.reporting.arrangement import readings
from refsolver.reporting.csv import COLUMNS, csv_text, frame


def test_one_row_a_reading_and_one_a_case_not_asked(record):
    table = frame(record)
    counts = record["content"]["counts"]
    assert list(table.columns) == list(COLUMNS)
    assert len(table) == counts["total"] + counts["cases"]["not applicable"]
    asked = table[table["line"] != ""]
    assert asked["verdict"].value_counts().to_dict() == {
        verdict: n for verdict, n in counts["readings"].items() if n
    }


def test_a_case_not_asked_names_its_condition(record):
    table = frame(record).set_index("case")
    row = table.loc["concurrent-forces/plane-resultant/nine-lines"]
    assert row["verdict"] == "not applicable"
    assert row["why"] == row["condition"] == "number of forces: at most 8 (the desk has eight rows)"


def test_exact_texts_survive_the_way_through_pandas(record):
    table = pandas.read_csv(io.StringIO(csv_text(record)), dtype=str, keep_default_na=False)
    there = [r.finding for r in readings(record) if r.finding["reference"]]
    read = table[table["reference_lower"] != ""]
    assert list(read["reference_lower"]) == [f["reference"]["lower"] for f in there]
    assert list(read["number"]) == [f["number"] or "" for f in there]
    assert list(read["reported"]) == [f["reported"] for f in there]


def test_doubles_read_back_to_themselves(record):
    read = pandas.read_csv(io.StringIO(csv_text(record)), dtype=str)
    for name in ("share", "relative", "agreeing_digits"):
        there = frame(record)[name]
        pandas.testing.assert_series_equal(read[name].map(float), there, check_exact=True)


def test_quotes_commas_and_line_ends_stay_in_their_cell(record):
    first = next(iter(readings(record)))
    first.finding["reported"] = 'a "word", two\r\nlines'
    rows = list(csv.reader(io.StringIO(csv_text(record), newline="")))
    assert {len(row) for row in rows} == {len(COLUMNS)}
    assert any('a "word", two\r\nlines' in row for row in rows)


def test_a_record_from_its_file_and_its_frame(record, tmp_path):
    path = tmp_path / "record.json"
    write_record(record, path)
    for read in (refsolver.read_record(path), refsolver.read_record(str(path))):
        pandas.testing.assert_frame_equal(read.to_frame(), frame(record))
        assert read.data == record and read.content == record["content"]
        assert read.circumstances == record["circumstances"]
        assert read.result == record["content"]["overall"]["result"]
        assert read.identity == record["identity"]["content"]


def test_something_else_is_no_record(tmp_path):
    path = tmp_path / "record.json"
    path.write_text("{}")
    with pytest.raises(RecordError, match="not a record of a check"):
        refsolver.read_record(path)
