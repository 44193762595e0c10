"""The report of a campaign as Markdown; computes nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from tabulate import tabulate

from refsolver.quantities.visible import markdown_line as safe
from refsolver.reporting import words

__all__ = ["campaign_text"]


def campaign_text(record: Mapping[str, Any]) -> str:
    """The whole report; ``record`` is what ``campaign.json`` holds."""
    return "\n\n".join(_parts(record)) + "\n"


def _parts(record: Mapping[str, Any]) -> Iterator[str]:
    c = record["content"]
    calculator = c["calculator"]
    yield f"# Generated cases put to {safe(calculator['name'])}"
    if not c["complete"]:
        yield "**This campaign was stopped before its end.** `--resume` goes on with it."
    yield tabulate(
        [
            ["calculator", f"{safe(calculator['name'])}, version {safe(calculator['version'])}"],
            ["owner", safe(calculator["owner"])],
            ["its file", f"{safe(calculator['file'])}, SHA-256 {calculator['sha256']}"],
            ["refsolver", c["solver"]],
            ["seed", c["seed"]],
            ["proven digits asked", c["digits"]],
            ["cases", ", ".join(f"{n} {word}" for word, n in c["cases"].items())],
            ["readings", ", ".join(f"{n} {word}" for word, n in c["verdicts"].items())],
            ["content", record["hash"]],
        ],
        headers=["", ""],
        disable_numparse=True,
        tablefmt="pipe",
    )
    yield (
        "Cases are invented: made from the seed, each depending on its number alone. The range "
        "is the condition number aimed at (the factor by which small relative changes of the "
        "givens reach an answer at worst), which a single case may miss. Every value "
        "is proven; the residuals and the second opinion on the arithmetic run along in every "
        "two-hundredth case. A campaign is no substitute for the check against published answers."
    )
    for name in dict.fromkeys(cell["family"] for cell in c["results"]):
        yield f"## {safe(name)}"
        cells = [cell for cell in c["results"] if cell["family"] == name]
        yield _table(cells)
        worst = [row for cell in cells for row in _worst(cell)]
        if worst:
            yield "The worst case of each range (the folder `worst` has it as a case file):"
            heads = ["range", "case", "output", "verdict", "share of the tolerance", "relative"]
            yield tabulate(worst, headers=heads, disable_numparse=True, tablefmt="pipe")
    if c.get("left_out"):
        yield "Left out, because no case of the family is so hard:"
        yield "\n".join(f"- {safe(one['why'])}" for one in c["left_out"])
    yield " ".join(words.LIMITS)


def _range(cell: Mapping[str, Any]) -> str:
    return f"{cell['from']:g} to {cell['to']:g}"


def _table(cells: list[Mapping[str, Any]]) -> str:
    verdicts = [v for v in words.VERDICTS if any(cell["verdicts"].get(v) for cell in cells)]
    rows = [
        [
            _range(cell),
            cell["cases"],
            cell["outside"],
            *(cell["verdicts"].get(v, 0) for v in verdicts),
            "" if cell["least_digits"] is None else f"{cell['least_digits']:.1f}",
            _median(cell["digits"]),
        ]
        for cell in cells
    ]
    heads = ["range", "cases", "outside", *verdicts, "least digits", "median digits"]
    return tabulate(rows, headers=heads, disable_numparse=True, tablefmt="pipe")


def _median(digits: list[int]) -> str:
    """The whole agreeing digits that half of the readings reach."""
    half, seen = sum(digits) / 2, 0
    for number, count in enumerate(digits):
        seen += count
        if count and seen >= half:
            return str(number)
    return ""


def _worst(cell: Mapping[str, Any]) -> Iterator[list[Any]]:
    for one in cell["worst"][:1]:
        yield [
            _range(cell), one["case"], safe(one["output"]), one["verdict"],
            f"{one['share_of_tolerance']:.3g}", f"{one['relative']:.1e}",
        ]  # fmt: skip
