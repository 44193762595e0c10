"""Where the catalogue lies: inside the installed package, or beside it in a clone."""

from __future__ import annotations

from pathlib import Path

__all__ = ["INDEX", "SOURCES", "shipped_folder"]

SOURCES = "sources.toml"
INDEX = "index.json"


def shipped_folder() -> Path:
    """The catalogue that came with the program."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "cases"
    return inside if (inside / SOURCES).exists() else package.parent / "cases"
