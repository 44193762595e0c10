"""What stands where in a report: the record regrouped, nothing computed but layout.

The HTML and the Markdown report are both written from this. A record whose counts do not
add up is refused, because a report made from it could not be believed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

import attrs

from refsolver.records.canonical import canonical
from refsolver.reporting.accepted import Acceptance, acceptances
from refsolver.reporting.shown import unshown_words
from refsolver.reporting.spans import Spans, blunt_words, spans_of
from refsolver.reporting.words import IDENTITY, VERDICTS, computed_by

__all__ = ["Arrangement", "CaseView", "Reading", "ReportError", "arranged", "readings"]

RIGHT = ("pass", "not applicable")


class ReportError(ValueError):
    """A record that no report can be written from; says what in it contradicts what."""


@attrs.frozen
class Reading:
    """One finding with the case it belongs to."""

    case: str
    family: str
    finding: Mapping[str, Any]

    @property
    def verdict(self) -> str:
        return str(self.finding["verdict"])


@attrs.frozen
class CaseView:
    """One case with its readings, as the record has them."""

    id: str
    data: Mapping[str, Any]
    readings: tuple[Reading, ...]

    @property
    def short(self) -> str:
        """The id without its family."""
        return self.id.removeprefix(f"{self.data['family']}/")

    @property
    def verdicts(self) -> list[str]:
        """The verdicts met, each once, in the order of the table of verdicts."""
        met = {reading.verdict for reading in self.readings}
        return [verdict for verdict in VERDICTS if verdict in met]


@attrs.frozen
class Arrangement:
    """The parts of a report in the order of reading."""

    record: Mapping[str, Any]
    content: Mapping[str, Any]
    id: str
    hash: str
    computed: tuple[str, str]
    excluded: tuple[tuple[str, str, str], ...]
    """Family, case id and reason of each case excluded by name."""
    failing: tuple[CaseView, ...]
    """Cases with a reading that is neither a pass nor not applicable, in order."""
    passes: tuple[tuple[str, tuple[Reading, ...]], ...]
    """By family, every reading that passes."""
    outside: tuple[CaseView, ...]
    """Cases that were not asked, being outside the scope."""
    unreached: tuple[CaseView, ...]
    """Cases that were not judged because the run was stopped."""
    unjudged: tuple[Reading, ...]
    """Readings of cases that were asked, and not applicable."""
    verdicts: tuple[tuple[str, int], ...]
    """Every verdict with its number of readings; they add up to the total."""
    provenance: tuple[tuple[str, ...], tuple[tuple[str, tuple[int, ...]], ...]]
    """Heads, then by family the number of cases of each provenance and their sum."""
    families: tuple[tuple[str, Mapping[str, Any]], ...]
    """The families mapped, in the order of the mapping."""
    identification: tuple[tuple[str, str], ...]
    accepted: tuple[Acceptance, ...]
    spans: Mapping[str, Spans]
    """By family, between which values the calculator was tried."""

    @property
    def blunt(self) -> str:
        """How many readings were held to a large part of their value, "" where none was."""
        return blunt_words(self.spans.values())

    @property
    def unshown(self) -> str:
        """How many numbers were judged without the text they show, "" where none was."""
        return unshown_words(self.content)

    def acceptance(self, case: str, finding: Mapping[str, Any]) -> Acceptance | None:
        """What speaks of this reading: one in force before one that has expired."""
        found = [a for a in self.accepted if a.speaks_of(case, finding)]
        return min(found, key=lambda a: a.expired, default=None)


def readings(record: Mapping[str, Any]) -> Iterator[Reading]:
    """Every finding of the record, in order of the cases."""
    for case in _cases(record):
        yield from case.readings


def arranged(record: Mapping[str, Any]) -> Arrangement:
    """The record regrouped, as it reads back from its file (keys in order).

    Raises ReportError where its counts do not add up.
    """
    record = json.loads(canonical(record))
    content = record["content"]
    cases = list(_cases(record))
    everything = [reading for case in cases for reading in case.readings]
    _add_up(content, cases, everything)
    families = list(dict.fromkeys(section["family"] for section in content["mapping"]))
    passing = {
        f: tuple(r for r in everything if r.family == f and r.verdict == "pass") for f in families
    }
    hash_ = record["identity"]["content"]
    return Arrangement(
        record=record,
        content=content,
        id=hash_[:12],
        hash=hash_,
        computed=computed_by(content["calculator"]["identity"]),
        excluded=tuple(_excluded(content)),
        failing=tuple(c for c in cases if any(r.verdict not in RIGHT for r in c.readings)),
        passes=tuple((name, found) for name, found in passing.items() if found),
        outside=tuple(c for c in cases if c.data["state"] == "not applicable"),
        unreached=tuple(c for c in cases if c.data["state"] == "not judged"),
        unjudged=tuple(r for r in everything if r.verdict == "not applicable"),
        verdicts=tuple((v, content["counts"]["readings"].get(v, 0)) for v in VERDICTS),
        provenance=_provenance(content["counts"]["provenance"], families),
        families=tuple((name, content["families"][name]) for name in families),
        identification=tuple(
            (IDENTITY.get(name, name), value)
            for name, value in _rows(content["calculator"]["identity"])
        ),
        accepted=acceptances(record),
        spans={name: spans_of(content, name) for name in families},
    )


def _cases(record: Mapping[str, Any]) -> Iterator[CaseView]:
    content = record["content"]
    for id in content["order"]:
        data = content["cases"][id]
        found = tuple(Reading(id, data["family"], f) for f in data.get("findings", ()))
        yield CaseView(id, data, found)


def _add_up(content: Mapping[str, Any], cases: list[CaseView], found: list[Reading]) -> None:
    counts = content["counts"]
    counted = {verdict: sum(r.verdict == verdict for r in found) for verdict in VERDICTS}
    states = {s: sum(c.data["state"] == s for c in cases) for s in counts["cases"]}
    asked = sum(sum(by.values()) for by in counts["provenance"].values())
    claims = (
        ("readings by verdict", {v: n for v, n in counts["readings"].items() if n},
         {v: n for v, n in counted.items() if n}),
        ("total of readings", counts["total"], len(found)),
        ("cases by state", dict(counts["cases"]), states),
        ("cases", sum(states.values()), len(content["cases"])),
        ("cases asked, by provenance", asked, states.get("asked", 0)),
    )  # fmt: skip
    for what, stated, there in claims:
        if stated != there:
            raise ReportError(
                f"the record states {what} as {stated}, but its cases give {there}; "
                "it has been altered or cut off: run the check again"
            )


def _excluded(content: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for section in content["scope"]:
        for condition in section["conditions"]:
            for id in condition["ids"] if condition["kind"] == "exclude" else ():
                yield section["family"], id, condition["reason"]


def _provenance(
    counts: Mapping[str, Mapping[str, int]], families: list[str]
) -> tuple[tuple[str, ...], tuple[tuple[str, tuple[int, ...]], ...]]:
    usual = ("read at the source", "second hand", "from memory", "common practice", "constructed")
    others = {kind for by in counts.values() for kind in by} - set(usual)
    heads = (*usual, *sorted(others))
    rows = [
        (name, tuple(by.get(head, 0) for head in heads))
        for name in families
        if (by := counts.get(name))
    ]
    return heads, tuple((name, (*row, sum(row))) for name, row in rows)


def _rows(part: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    """Nested facts as pairs of words, in order, empty ones left out."""
    for key, value in part.items():
        words = f"{before}{key.replace('_', ' ')}"
        if isinstance(value, Mapping):
            if "sha256" in value:
                yield f"{before}{value.get('name', key)}", f"SHA-256 {value['sha256']}"
            else:
                yield from _rows(value, f"{words}, ")
        elif isinstance(value, list | tuple) and any(isinstance(v, Mapping) for v in value):
            for item in value:
                yield from _rows({words: item})
        elif isinstance(value, list | tuple):
            if value:
                yield words, ", ".join(map(str, value))
        elif isinstance(value, bool):
            yield words, "yes" if value else "no"
        elif value not in ("", None):
            yield words, str(value)
