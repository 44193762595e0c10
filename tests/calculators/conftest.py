"""Workbooks in the other formats of the office program; small programs to be started."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from refsolver.calculators.workbook.office import find_office
from tests.calculators.programs import Script


@pytest.fixture(scope="session")
def as_kind(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path, str], Path]:
    """Saves a workbook beside itself as .ods or .xls, with LibreOffice's own converter."""
    profile = tmp_path_factory.mktemp("profile").as_uri()

    def convert(path: Path, kind: str) -> Path:
        how = ["--headless", "--convert-to", kind, "--outdir", str(path.parent), str(path)]
        subprocess.run(
            [str(find_office().soffice), f"-env:UserInstallation={profile}", *how],
            check=True, capture_output=True, timeout=120,
        )  # fmt: skip
        return path.with_suffix(f".{kind}")

    return convert


@pytest.fixture
def script(tmp_path: Path) -> Script:
    """Writes a program, and gives the words that start it."""

    def write(source: str) -> list[str]:
        path = tmp_path / f"program{len(list(tmp_path.iterdir()))}.py"
        path.write_text(textwrap.dedent(source), encoding="utf-8")
        return [sys.executable, str(path)]

    return write
