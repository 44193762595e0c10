"""Two records of one calculator: what changed between them, and whether it matters.

An answer changed *beyond tolerance* where the two reported values differ by more than the
criterion allows either way; a verdict that flipped always matters, a case that came or
went never does by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.quantities.visible import markdown_line
from refsolver.records.changes import changes_since

__all__ = ["Compared", "compared"]


@attrs.frozen
class Change:
    """One reading that is not what it was."""

    case: str
    output: str
    what: str
    before: str
    after: str


@attrs.frozen
class Compared:
    """The comparison of two records; rows are in order of case and output."""

    calculator: str
    results: tuple[str, str]
    flipped: tuple[Change, ...]
    beyond: tuple[Change, ...]
    within: tuple[Change, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    stated: tuple[str, ...]
    """Changes of criteria, scope and mapping, and of calculator and suite."""
    speed: float | None
    """Time per case, new over old; None where it was not measured."""

    @property
    def matters(self) -> bool:
        return bool(self.flipped or self.beyond or self.results[0] != self.results[1])

    def data(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"matters": self.matters}

    def markdown(self) -> str:
        """For a merge request."""
        parts = [
            f"## {markdown_line(self.calculator)}: {self.results[0]} -> {self.results[1]}",
            *(f"- {markdown_line(item)}" for item in self.stated),
        ]
        for title, rows in (
            ("Verdicts that changed", self.flipped),
            ("Verdict the same, answer changed beyond tolerance", self.beyond),
            ("Verdict the same, answer changed within tolerance", self.within),
        ):
            parts.append(f"\n### {title}: {len(rows)}\n")
            if rows:
                heads = ["case", "output", "what", "before", "after"]
                table = [[markdown_line(x) for x in attrs.astuple(row)] for row in rows]
                parts.append(tabulate(table, headers=heads, tablefmt="pipe", disable_numparse=True))
        parts.append(f"\nCases added: {len(self.added)}; gone: {len(self.gone)}.")
        parts += [f"- added: {markdown_line(name)}" for name in self.added]
        parts += [f"- gone: {markdown_line(name)}" for name in self.gone]
        if self.speed is not None:
            parts.append(f"\nTime per case, new over old: {self.speed:.2f}.")
        return "\n".join(parts)


def compared(old: Mapping[str, Any], new: Mapping[str, Any]) -> Compared:
    """The comparison of two whole records."""
    before, after = old["content"], new["content"]
    changes = list(_changes(before, after))
    return Compared(
        calculator=after["calculator"]["name"],
        results=(before["overall"]["result"], after["overall"]["result"]),
        flipped=tuple(c for kind, c in changes if kind == "flipped"),
        beyond=tuple(c for kind, c in changes if kind == "beyond"),
        within=tuple(c for kind, c in changes if kind == "within"),
        added=tuple(sorted(set(after["cases"]) - set(before["cases"]))),
        gone=tuple(sorted(set(before["cases"]) - set(after["cases"]))),
        stated=(*_incomplete(before, after), *changes_since(old, after)["items"]),
        speed=_speed(old, new),
    )


def _incomplete(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    for which, content in (("old", before), ("new", after)):
        if not content["overall"].get("complete", True):
            left = content["counts"]["cases"].get("not judged", 0)
            yield f"the {which} record is incomplete: {left} cases were not judged"


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[tuple[str, Change]]:
    for name in sorted(set(before["cases"]) & set(after["cases"])):
        old, new = (_readings(content["cases"][name]) for content in (before, after))
        for key in sorted(set(old) | set(new)):
            a, b = old.get(key), new.get(key)
            verdicts = tuple("not asked" if x is None else x["verdict"] for x in (a, b))
            if verdicts[0] != verdicts[1]:
                yield "flipped", Change(name, key[0], "verdict", *verdicts)
            elif a is not None and b is not None and a["number"] != b["number"]:
                kind = "beyond" if _apart(a, b) else "within"
                yield kind, Change(name, key[0], "value", a["reported"], b["reported"])
            elif a is not None and b is not None and a["reported"] != b["reported"]:
                yield "within", Change(name, key[0], "text", a["reported"], b["reported"])


def _readings(case: Mapping[str, Any]) -> dict[tuple[str, str], Mapping[str, Any]]:
    return {(f["output"], f["judged"]): f for f in case.get("findings", [])}


def _apart(a: Mapping[str, Any], b: Mapping[str, Any]) -> bool:
    """Whether two reported numbers differ by more than the tolerance of the newer finding."""
    from flint import fmpq

    from refsolver.quantities.literals import read_literal

    def number(text: str | None) -> fmpq | None:
        value = None if text is None else read_literal(text).value
        return value if isinstance(value, fmpq) else None

    first, second = number(a["number"]), number(b["number"])
    if first is None or second is None or b["tolerance"] is None:
        return True
    allowed = number(b["tolerance"]["above" if second > first else "below"])
    return allowed is None or bool(abs(second - first) > allowed)


def _speed(old: Mapping[str, Any], new: Mapping[str, Any]) -> float | None:
    times = []
    for record in (old, new):
        seconds = list(record["circumstances"].get("seconds", {}).values())
        if not seconds or sum(seconds) <= 0:
            return None
        times.append(sum(seconds) / len(seconds))
    return float(f"{times[1] / times[0]:.3g}")
