"""reports/reliability.md from the figures that each part keeps; measures nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tabulate import tabulate

HERE = Path(__file__).parent
FIGURES = HERE / "figures"
MUTATION = HERE.parent / "mutation" / "figures.toml"
REPORT = HERE.parents[1] / "reports" / "reliability.md"

HEAD = """# Reliability

How this program stands up to broken and hostile input and to being killed, and how much of a
wrong program its tests would notice. Written by `python -m tests.reliability`, which measures
everything anew and takes an hour or two; `python -m tests.reliability PART ...` measures only
the parts named, `python -m tests.mutation` the last one. The figures are those of the day
named with each part, on one machine.
"""
TEXTS = {
    "fuzz": """## Spoilt files for every reader

A valid file of each kind has one to four random changes made to it: values replaced by bad
ones, lines moved, bytes altered, parts repeated; files that carry hashes are sealed again in
seven cases of ten, so that the reader behind the hash is met too. Each file must be read or
be refused in words. A traceback is a fault, and so are more than 20 seconds of work or 5
minutes of waiting.
""",
    "kills": """## Runs ended by force

SIGKILL at a moment drawn at random within the time that is left of a run. After each kill what
lies on the disk is looked at: a record must be a whole one (every hash holds), old or new, and
after every fifth kill in a row `--resume` must end with the content of a run that was not
disturbed. Every kill counted met a run at work; `ended before` are the moments that came too
late, for which others were drawn. `records whole` are those found on the disk after a kill.
""",
    "versions": """## Versions of packages and of Python

The oldest versions that `pyproject.toml` admits of what it names itself, and the newest there
are, on every Python that the machine has. Wheel and source package are installed in fresh
environments; the wheel runs the demonstration in an empty folder; the tests are run on the
tracked files.
""",
    "mutation": """## Wrong programs that the tests notice

Small wrong changes are made to a module, one at a time, and the tests that belong to it are
run. `noticed` counts the changes that a test fails for; an `equivalent` change alters nothing,
as is explained one by one (`tests/mutation/accepted.toml`); a `surviving` one went unnoticed
(`left.toml` names both). Of a large module a sample is tried, always the same one, with few
examples of a property and without slow tests; these figures are of changes inside functions.
""",
}


def keep(part: str, found: Mapping[str, Any]) -> None:
    """Keeps the figures of a part as TOML."""
    FIGURES.mkdir(exist_ok=True)
    lines = ["# Written by `python -m tests.reliability`."]
    lines += [f"{key} = {_toml(value)}" for key, value in found.items() if key != "rows"]
    lines += ["", "[rows]"]
    for title, row in found["rows"].items():
        inner = ", ".join(f"{_toml(key)} = {_toml(value)}" for key, value in row.items())
        lines.append(f"{_toml(title)} = {{ {inner} }}")
    (FIGURES / f"{part}.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _toml(value: Any) -> str:
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    return str(value).lower() if isinstance(value, bool) else str(value)


def write() -> None:
    """The report from the figures there are."""
    REPORT.write_text("\n".join(_parts()), encoding="utf-8")


def _parts() -> Iterator[str]:
    yield HEAD
    for part, text in TEXTS.items():
        path = MUTATION if part == "mutation" else FIGURES / f"{part}.toml"
        if not path.exists():
            continue
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        yield text
        rows = data if part == "mutation" else data["rows"]
        yield _table(rows)
        if "day" in data:
            said = ", ".join(
                f"{key} {value}" for key, value in data.items()
                if key not in ("rows", "day", "minutes", "on", "notes")
            )  # fmt: skip
            measured = f"Measured {data['day']} in {data['minutes']} minutes ({data['on']})"
            yield "\n" + "; ".join(filter(None, (measured, said))) + "."
        for note in data.get("notes", ()):
            yield f"\n- {note}"
        yield ""


def _table(rows: Mapping[str, Mapping[str, Any]]) -> str:
    heads = list(dict.fromkeys(key for row in rows.values() for key in row))
    body = [[name, *(row.get(head, "") for head in heads)] for name, row in rows.items()]
    numbers = [
        head for head in heads if all(isinstance(r.get(head, 0), int) for r in rows.values())
    ]
    if len(rows) > 1 and numbers:
        sums = [sum(r.get(h, 0) for r in rows.values()) if h in numbers else "" for h in heads]
        body.append(["**all**", *sums])
    return tabulate(body, headers=["", *heads], tablefmt="pipe", disable_numparse=True)
