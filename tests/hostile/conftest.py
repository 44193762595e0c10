"""Commands run within the test, in a folder with one valid file of each kind."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import attrs
import pytest

from refsolver.cli import main
from tests.hostile.bases import Bases


@attrs.frozen
class Said:
    """What a command came to."""

    status: int
    out: str
    err: str

    def refuses(self, *says: str) -> None:
        """It is unusable input, said in words and nothing else."""
        assert self.status == 2, self
        assert self.err.strip(), self
        for word in ("Traceback", "a fault of the program", "object at 0x"):
            assert word not in self.out + self.err, self
        for word in says:
            assert word in self.err + self.out, self


Command = Callable[..., Said]


@pytest.fixture(scope="session")
def _bases(tmp_path_factory: pytest.TempPathFactory) -> Bases:
    return Bases.made(tmp_path_factory.mktemp("bases"))


@pytest.fixture
def folder(_bases: Bases, tmp_path: Path) -> Path:
    """A copy of the valid files that a test may spoil."""
    target = tmp_path / "here"
    shutil.copytree(_bases.folder, target)
    return target


@pytest.fixture
def command(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Command:
    """Runs a command in ``folder``."""

    def run(*arguments: object) -> Said:
        monkeypatch.chdir(folder)
        monkeypatch.setattr(sys, "argv", ["refsolver", *map(str, arguments)])
        capsys.readouterr()
        try:
            main()
            status = 0
        except SystemExit as leaving:
            status = int(leaving.code or 0)
        shown = capsys.readouterr()
        return Said(status, shown.out, shown.err)

    return run


def tree(folder: Path) -> dict[str, tuple[int, int]]:
    """Every name below a folder, with the size and the moment of its last change."""
    return {
        str(path.relative_to(folder)): (path.lstat().st_size, path.lstat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if "__pycache__" not in path.parts and not path.is_dir()
    }
