"""The figures of the last trials, a line a module, kept beside the plan."""

from __future__ import annotations

import tomllib
from pathlib import Path

from tests.mutation.trials import Module, Outcome

FIGURES = Path(__file__).parent / "figures.toml"
HEAD = "# Written by `python -m tests.mutation`; see reports/reliability.md.\n\n"


def keep(module: Module, found: list[Outcome], reasons: dict[str, str]) -> None:
    kept = tomllib.loads(FIGURES.read_text(encoding="utf-8")) if FIGURES.exists() else {}
    surviving = [o.change.key for o in found if o.noticed_by is None]
    kept[module.name] = {
        "changes": module.all,
        "tried": len(found),
        "noticed": len(found) - len(surviving),
        "equivalent": sum(key in reasons for key in surviving),
        "surviving": sum(key not in reasons for key in surviving),
    }
    lines = [
        f'"{name}" = {{ ' + ", ".join(f"{key} = {value}" for key, value in row.items()) + " }\n"
        for name, row in sorted(kept.items())
    ]
    FIGURES.write_text(HEAD + "".join(lines), encoding="utf-8")
