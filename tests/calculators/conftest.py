"""Workbooks in the other formats of the office program."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from refsolver.calculators.workbook.office import find_office


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
