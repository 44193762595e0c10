"""Commands run within the test, in a folder with one valid file of each kind."""

from __future__ import annotations

import functools
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.command import Said
from tests.command import command as run
from tests.hostile.bases import Bases

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
def command(folder: Path) -> Command:
    """Runs a command in ``folder``."""
    return functools.partial(run, cwd=folder)


def tree(folder: Path) -> dict[str, tuple[int, int]]:
    """Every name below a folder, with the size and the moment of its last change."""
    return {
        str(path.relative_to(folder)): (path.lstat().st_size, path.lstat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if "__pycache__" not in path.parts and not path.is_dir()
    }
