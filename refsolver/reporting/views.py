"""All views of a record that a check writes beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = ["write_reports"]


def write_reports(record: dict[str, Any], folder: Path) -> tuple[Path, ...]:
    return ()
