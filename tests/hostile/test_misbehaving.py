"""Calculators that spoil what lies beside them, and two runs at once.

What they do to themselves and to this program is for ``tests/runs/test_misbehaviour.py``.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from refsolver.records.alterations import alterations
from refsolver.records.canonical import read_record
from refsolver.records.locking import locked
from tests.hostile.conftest import Command

SPOILS = {
    "its own module": 'open(__file__, "a").write("# again\\n")',
    "the folder of the record": "shutil.rmtree(NEW, ignore_errors=True)",
    "the journal": 'open(NEW + "/record.journal", "w").write("{}")',
    "the lock": 'os.unlink(NEW + "/record.lock") if os.path.exists(NEW + "/record.lock") else 0',
    "the calculator file": 'open(HERE + "/function.toml", "w").write("")',
}
MAY_SAY = {
    "its own module": "was changed while it was checked",
    "the calculator file": "",
}


@pytest.mark.parametrize("what", SPOILS)
def test_a_calculator_that_spoils(command: Command, folder: Path, what: str) -> None:
    """A whole record, or none and a word about it; never half of one."""
    module = folder / "bollard.py"
    here = "    HERE = os.path.dirname(os.path.abspath(__file__)); NEW = HERE + '/new'\n"
    body = f"{here}    {SPOILS[what]}\n"
    text = module.read_text().replace("import json", "import os, shutil, json")
    module.write_text(text.replace("    x = math", body + "    x = math"))
    said = command("check", "function.toml", "--short", "--out", "new")
    record = folder / "new" / "record.json"
    assert "Traceback" not in said.err and "a fault of" not in said.err, said
    if said.status == 2:
        assert MAY_SAY.get(what, "") in said.err and not record.exists(), said
    else:
        assert not list(alterations(record.read_bytes(), read_record(record)))
    if what == "its own module":
        assert said.status == 2


def test_a_workbook_that_is_changed_on_the_way(
    command: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from refsolver.runs.check import OpenCheck

    put = OpenCheck.put

    def put_and_change(self: OpenCheck, *arguments: object, **named: object) -> None:
        put(self, *arguments, **named)  # type: ignore[arg-type]
        with (folder / "bollard.xlsx").open("ab") as file:
            file.write(b"\0")

    monkeypatch.setattr(OpenCheck, "put", put_and_change)
    said = command("check", "workbook.toml", "--short", "--out", "new")
    said.refuses("was changed while it was checked")
    assert not (folder / "new" / "record.json").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "function.toml", "--out", "new"),
        ("campaign", "function.toml", "--cases", "10", "--out", "new"),
    ],
)
def test_another_run_in_the_same_folder(
    command: Command, folder: Path, arguments: tuple[str, ...]
) -> None:
    with locked(folder / "new"):
        command(*arguments).refuses("new", "another run is writing there", str(os.getpid()))
        assert [path.name for path in (folder / "new").iterdir()] == ["record.lock"]
    assert not (folder / "new").exists()
