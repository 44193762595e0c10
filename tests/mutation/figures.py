"""What the last trials left: figures, a line a module, and the changes that went unnoticed."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
FIGURES = HERE / "figures.toml"
LEFT = HERE / "left.toml"
HEAD = "# Written by `python -m tests.mutation`; reports/reliability.md shows the figures.\n\n"


def left(module: str) -> list[str] | None:
    """The keys of the changes that went unnoticed last; None where the module is new."""
    return list(_read(LEFT).get(module, ())) if module in _read(FIGURES) else None


def keep(module: str, changes: int, tried: int, unnoticed: Iterable[str], reasons: Any) -> None:
    """Writes the figures of a module; ``reasons`` has those of its changes that alter nothing."""
    keys = sorted(unnoticed)
    equivalent = sum(key in reasons for key in keys)
    figures = _read(FIGURES)
    figures[module] = {
        "changes": changes,
        "tried": tried,
        "noticed": tried - len(keys),
        "equivalent": equivalent,
        "surviving": len(keys) - equivalent,
    }
    rows = [
        f'"{name}" = {{ ' + ", ".join(f"{key} = {value}" for key, value in row.items()) + " }\n"
        for name, row in sorted(figures.items())
    ]
    FIGURES.write_text(HEAD + "".join(rows), encoding="utf-8")
    known = _read(LEFT) | {module: keys}
    lists = [f'"{name}" = [\n{_lines(known[name])}]\n' for name in sorted(known) if known[name]]
    LEFT.write_text(HEAD + "".join(lists), encoding="utf-8")


def tried(module: str) -> int | None:
    """How many changes of the module were tried last; None where none were."""
    row = _read(FIGURES).get(module)
    return None if row is None else int(row["tried"])


def _lines(keys: Iterable[str]) -> str:
    return "".join(f"  {json.dumps(key, ensure_ascii=False)},\n" for key in keys)


def _read(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
