"""A real record: a check of an invented calculator with planted mistakes."""

from __future__ import annotations

import copy
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import sealed
from refsolver.records.changes import changes_since
from refsolver.runs.check import run_check

Record = dict[str, Any]

FESTOON = Path(__file__).parent / "festoon"


@pytest.fixture(scope="session")
def _record() -> Record:
    run = run_check(read_calculator_file(FESTOON / "festoon.toml"), Catalogue(FESTOON / "cases"))
    content = content_of(run)
    changes = {"changes": changes_since(None, content)}
    return sealed(content, circumstances_of(run) | changes)


@pytest.fixture
def record(_record: Record) -> Record:
    """The record, a copy that a test may change."""
    return copy.deepcopy(_record)


@pytest.fixture
def resealed() -> Callable[[Record], Record]:
    """Seals a changed record again, so that its hashes are those of its content."""
    return lambda record: sealed(record["content"], record["circumstances"])


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of a Chromium; skips the test where there is none."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("Chromium is not installed")
    return found
