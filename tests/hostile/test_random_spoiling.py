"""A small sample of what ``python -m tests.reliability fuzz`` does by the hundred thousand."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.reliability.fuzz import try_one
from tests.reliability.readers import readers

CHEAP = (
    "case file", "calculator file (function)", "calculator file (program)", "log of a campaign",
    "folder of exchange (program)", "answer sheet", "workbook", "workbook, stored results",
    "number of a calculator", "number of a case",
)  # fmt: skip


@pytest.mark.parametrize("title", CHEAP)
def test_a_spoilt_file_is_read_or_refused_in_words(folder: Path, _bases, title: str) -> None:
    reader = readers(_bases, folder)[title]
    raw = (folder / reader.base).read_bytes()
    spoilt = folder / f"spoilt{Path(reader.base).suffix}"
    refused = 0
    for seed in range(60):
        spoilt.write_bytes(reader.spoil(raw, random.Random(f"sample {seed}")))
        said = try_one(reader, spoilt)
        assert said in ("read", "refused"), (seed, said)
        refused += said == "refused"
    assert refused > 20
