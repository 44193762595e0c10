"""A file given in place of another is called by what it is, with what to do with it instead."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from refsolver.catalogue.recognising import mistaken_file, mistaken_table
from refsolver.runs.campaign import run_campaign
from tests.hostile.conftest import Command, tree

CALCULATOR, CASE, RECORD = ("check",), ("solve",), ("verify",)


@pytest.mark.parametrize(
    ("read_by", "file", "says"),
    [
        (CALCULATOR, "record.json", "is a record of a check, not a calculator file; verify it"),
        (CALCULATOR, "out/record.journal", "is the journal of a run, not a calculator file; give"),
        (CALCULATOR, "exchange/exchange.json", "is the index of a folder of exchange, not a"),
        (CALCULATOR, "filled.xlsx", "is an answer sheet, not a calculator file; give"),
        (CALCULATOR, "bollard.xlsx", "is a workbook, not a calculator file; have one drafted"),
        (CALCULATOR, "bollard.py", "is a Python program, not a calculator file; have a blank"),
        (CALCULATOR, "case.toml", "is a case file, not a calculator file; solve it"),
        (CALCULATOR, "cases/works.toml", "is a list of sources, not a calculator file; give"),
        (CASE, "record.json", "is a record of a check, not a case file; verify it"),
        (CASE, "function.toml", "is a calculator file, not a case file; check it"),
        (CASE, "bollard.xlsx", "is a workbook, not a case file; give a case file"),
        (RECORD, "function.toml", "is a calculator file, not a record of a check; check it"),
        (RECORD, "case.toml", "is a case file, not a record of a check; solve it"),
        (RECORD, "out/record.journal", "is the journal of a run that was cut short; go on"),
        (RECORD, "bollard.xlsx", "is a workbook, not a record of a check; name the record.json"),
    ],
)
def test_it_is_called_by_what_it_is(
    command: Command, folder: Path, read_by: tuple[str], file: str, says: str
) -> None:
    (folder / "cases/works.toml").write_text('[made-up]\ncitation = "Nobody, Nothing, 1st ed."\n')
    before = tree(folder)
    done = command(*read_by, file)
    done.refuses(f"{file}: {says}")
    assert len(done.err.splitlines()) == 1
    assert tree(folder) == before


def test_the_record_of_a_campaign_is_called_so(command: Command, folder: Path) -> None:
    run_campaign(folder / "function.toml", folder / "made", count=5, ranges=((1.0, 10.0),))
    command("check", "made/campaign.json").refuses(
        "is the record of a campaign, not a calculator file; give"
    )
    command("verify", "made/campaign.json").refuses("is the record of a campaign, not of a check")


def test_a_record_longer_than_any_file_in_toml_is_known_by_its_beginning(
    command: Command, folder: Path
) -> None:
    record = json.loads((folder / "record.json").read_text())
    record["content"]["padding"] = "x" * 5_000_000
    text = json.dumps(record, sort_keys=True, separators=(",", ":"))
    (folder / "record.json").write_text(text)
    command("check", "record.json").refuses("is a record of a check, not a calculator file")
    command("solve", "record.json").refuses("is a record of a check, not a case file")


def test_a_workbook_without_its_end_is_called_one_by_its_name(
    command: Command, folder: Path
) -> None:
    data = (folder / "bollard.xlsx").read_bytes()
    (folder / "bollard.xlsx").write_bytes(data[: len(data) // 2])
    command("check", "bollard.xlsx").refuses("is a workbook, not a calculator file")
    shutil.copy(folder / "bollard.xlsx", folder / "half.zip")
    command("check", "half.zip").refuses("is an archive (zip), not a calculator file; give")


@pytest.mark.parametrize(
    ("name", "text", "kind"),
    [
        ("f.csv", "case,verdict\na,pass\n", "a table of values (CSV)"),
        ("f.txt", "a;b;c\n1;2;3\n", "a table of values (CSV)"),
        ("f.html", "<!DOCTYPE html><html></html>", "a web page"),
        ("f.xml", '<?xml version="1.0"?><a/>', "a file in XML"),
        ("f.pdf", "%PDF-1.7\n", "a PDF"),
        ("f.json", '{"a": 1}', "a file in JSON"),
        ("f.json", '[{"a": 1}]', "a file in JSON"),
        ("f.md", "# A report\n\ntext\n", "a text in Markdown"),
        ("f.toml", "a = [1, 2\n", None),
        ("f.toml", "{]", None),
        ("f.toml", "", None),
        ("f.toml", "key = 1, 2\nother = 3, 4\n", None),
    ],
)
def test_what_a_text_is(name: str, text: str, kind: str | None) -> None:
    said = mistaken_file(Path(name), text.encode(), "a calculator file")
    assert said == (
        kind
        and f"is {kind}, not a calculator file; give a calculator file (refsolver draft writes one)"
    )


def test_what_is_wanted_is_never_mistaken() -> None:
    record = b'{"circumstances":{},"content":{},"format":"refsolver record, version 1"'
    assert mistaken_file(Path("r.json"), record, "a record of a check") is None
    assert mistaken_table({"calculator": {}, "family": []}, "a calculator file") is None
    assert mistaken_table({"family": "a/b", "given": {}}, "a case file") is None
    assert mistaken_table({"family": "a/b", "given": {}, "find": {}}, "a case file") is None
    assert mistaken_table({"w": {"citation": "x"}}, "a list of sources") is None
    assert mistaken_table({}, "a calculator file") is None
