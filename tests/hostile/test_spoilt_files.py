"""Every reader, given files made to break it: a clear complaint, and nothing written.

Exit status 2, one message that names the file and says what to do, no traceback, and the
folder as it was before.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.hostile.conftest import Command, tree
from tests.hostile.generated import SPOILT

READ_BY = {
    "case.toml": [("solve", "case.toml"), ("cases", "lint", "case.toml")],
    "function.toml": [("check", "function.toml", "--out", "new")],
    "program.toml": [("check", "program.toml", "--out", "new")],
    "workbook.toml": [("check", "workbook.toml", "--out", "new")],
    "bollard.xlsx": [
        ("check", "workbook.toml", "--out", "new"),
        ("draft", "bollard.xlsx", "--out", "new.toml"),
    ],
    "filled.xlsx": [("check", "sheet.toml", "--out", "new")],
    "record.json": [("verify", "record.json"), ("compare", "record.json", "record.json")],
    "out/record.journal": [("check", "function.toml", "--out", "out", "--resume")],
    "campaign.log": [
        ("campaign", "function.toml", "--cases", "10", "--out", ".", "--resume"),
    ],
    "exchange/exchange.json": [("check", "program.toml", "--exchange", "exchange", "--out", "new")],
    "copies/exchange.json": [("check", "workbook.toml", "--exchange", "copies", "--out", "new")],
}  # fmt: skip
"""The commands that read each file."""

SLOW = {
    READ_BY["function.toml"][0], READ_BY["program.toml"][0], READ_BY["campaign.log"][0],
    *READ_BY["bollard.xlsx"],
}  # fmt: skip
"""They go on to ask the calculator every case of the catalogue, where they are not stopped."""

CORPUS = tomllib.loads(Path(__file__).with_name("corpus.toml").read_text(encoding="utf-8"))
LISTED = {(entry["file"], entry["name"]): entry for entry in CORPUS["spoilt"]}


def spoil(entry: dict[str, str], path: Path) -> None:
    if "bytes" in entry:
        path.write_bytes(bytes.fromhex(entry["bytes"]))
    elif "whole" in entry:
        path.write_text(entry["whole"], encoding="utf-8")
    else:
        text = path.read_text(encoding="utf-8")
        assert entry["from"] in text
        path.write_text(
            text.replace(entry["from"], entry["to"].replace("\\n", "\n"), 1), encoding="utf-8"
        )


def held(command: Command, folder: Path, file: str, says: str) -> None:
    before = tree(folder)
    for arguments in READ_BY[file]:
        said = command(*arguments)
        said.refuses(says)
        assert any(part in said.err + said.out for part in (file, Path(file).stem, "exchange"))
        assert len(said.err) < 100_000
    assert tree(folder) == before


def test_every_base_is_read_where_nothing_is_spoilt(command: Command) -> None:
    """So that what is refused below is refused for the reason stated."""
    for arguments in {a for found in READ_BY.values() for a in found}:
        if arguments not in SLOW:
            said = command(*arguments)
            assert said.status in (0, 1) and not said.err.strip().startswith("refsolver:"), said


@pytest.mark.parametrize(("file", "name"), LISTED)
def test_a_listed_file(command: Command, folder: Path, file: str, name: str) -> None:
    entry = LISTED[file, name]
    spoil(entry, folder / file)
    held(command, folder, file, entry["says"])


@pytest.mark.parametrize(("file", "name"), SPOILT)
def test_a_generated_file(command: Command, folder: Path, file: str, name: str) -> None:
    says, spoilt = SPOILT[file, name]
    spoilt(folder / file)
    held(command, folder, file, says)
