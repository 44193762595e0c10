"""Writes ``reports/benchmarks.md`` from the results of one or more runs of the benchmarks.

    python -m pytest tests/benchmarks --benchmark-only --benchmark-json=results.json
    python tests/benchmarks/report.py results.json [more.json ...]

Of several runs each benchmark is that of its fastest round, with what was noted in that run.
Ratios within a group count; times are those of the machine named.
"""

from __future__ import annotations

import json
import platform
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from tabulate import tabulate

NOTES = {
    "campaign in arrays, two workers against one": (
        "The bar is 1.7 times as fast, from 10^5 cases on. Only the cases are shared: reading "
        "the program, the calculator file and the plan, and starting the calculator once to say "
        "what it is, take one worker as long as two. At 10^4 cases that is more than half of "
        "the whole, and two workers gain little. On idle cores: from the processor "
        "seconds of all processes, what is shared divided by the workers; the other column "
        "scatters with what else the machine does (a figure above 2 is such scatter)."
    ),
}
"""What a table by itself would not say, by group."""

REPORT = Path(__file__).parents[2] / "reports" / "benchmarks.md"


def fastest(runs: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The runs as one: each benchmark from the run in which it was fastest, in order."""
    found: dict[str, Mapping[str, Any]] = {}
    for one in (one for run in runs for one in run["benchmarks"]):
        name = one["fullname"]
        if name not in found or one["stats"]["min"] < found[name]["stats"]["min"]:
            found[name] = one
    count = f"{len(runs)} run{'s' * (len(runs) > 1)}"
    return {**runs[-1], "benchmarks": list(found.values()), "runs": count}


def report(data: Mapping[str, Any]) -> str:
    return "\n\n".join(_parts(data)) + "\n"


def _parts(data: Mapping[str, Any]) -> Iterator[str]:
    cpu = data["machine_info"].get("cpu", {})
    yield "# Benchmarks"
    yield (
        f"Of {data['runs']} of `tests/benchmarks` the fastest round of each, which other work on "
        "the machine disturbs least. Read the ratios, which are to the first row "
        "of each table: times belong to one machine on one day and scatter. This file is not "
        "checked for being current; `tests/benchmarks/report.py` writes it."
    )
    yield tabulate(
        [
            ["date", data["datetime"][:10]],
            [
                "processor",
                f"{cpu.get('brand_raw', platform.processor())}, {cpu.get('count')} cores",
            ],
            ["Python", data["machine_info"]["python_version"]],
            ["system", f"{data['machine_info']['system']} {data['machine_info']['release']}"],
        ],
        headers=["", ""],
        disable_numparse=True,
        tablefmt="pipe",
    )
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for one in data["benchmarks"]:
        groups.setdefault(one["group"], []).append(one)
    for name, found in groups.items():
        yield f"## {name[0].upper()}{name[1:]}"
        if name in NOTES:
            yield NOTES[name]
        yield _table(found)


def _seconds(one: Mapping[str, Any]) -> float:
    return float(one["stats"]["min"]) * float(one["extra_info"].get("scale", 1))


def _table(found: list[Mapping[str, Any]]) -> str:
    base = _seconds(found[0])
    extra = sorted({key for one in found for key in one["extra_info"] if key != "scale"})
    rows = [
        [
            one["name"].removeprefix("test_").replace("_", " "),
            _time(_seconds(one)),
            f"{_seconds(one) / base:.3g}",
            *(one["extra_info"].get(key, "") for key in extra),
        ]
        for one in found
    ]
    return tabulate(
        rows, headers=["", "fastest", "ratio", *extra], disable_numparse=True, tablefmt="pipe",
        colalign=("left", *["right"] * (2 + len(extra))),
    )  # fmt: skip


def _time(seconds: float) -> str:
    units = (("s", 1.0), ("ms", 1e-3), ("us", 1e-6))
    unit, size = next((u for u in units if seconds >= u[1]), units[-1])
    return f"{seconds / size:.3g} {unit}"


if __name__ == "__main__":
    results = [json.loads(Path(name).read_text()) for name in sys.argv[1:]]
    REPORT.write_text(report(fastest(results)), encoding="utf-8")
    print(f"written: {REPORT}")
