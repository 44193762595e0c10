"""Accepted deviations as reports show them: what each speaks of, and whether it has expired.

The day on which the run ended decides; the day is that of UTC, as everywhere in a record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs

__all__ = ["Acceptance", "acceptances", "counted"]


@attrs.frozen
class Acceptance:
    """One entry of the calculator file with what became of it."""

    entry: Mapping[str, Any]
    expired: bool

    @property
    def state(self) -> str:
        """``expired``, ``unused`` (no failing reading is the one it speaks of) or ``in force``."""
        if self.expired:
            return "expired"
        return "in force" if self.entry["readings"] else "unused"

    @property
    def words(self) -> str:
        """Its state as a sentence."""
        entry = self.entry
        parts = []
        if self.expired:
            parts.append(f"EXPIRED on {entry['expires']}: it accepts nothing any more")
        if not entry["readings"]:
            parts.append("unused: no failing reading is the one it speaks of")
        elif not self.expired:
            parts.append(f"in force until {entry['expires']}; the reading stays a failure")
        if entry["others"]:
            found = ", ".join(dict.fromkeys(r["reported"] for r in entry["others"]))
            parts.append(f"accepted was {entry['reported']}, but {found} is reported")
        return "; ".join(parts)

    @property
    def mark(self) -> str:
        """A few words to stand beside a reading that it speaks of."""
        entry = self.entry
        if self.expired:
            return f"its acceptance by {entry['approved_by']} expired on {entry['expires']}"
        return f"accepted by {entry['approved_by']} until {entry['expires']}: {entry['reason']}"

    def speaks_of(self, case: str, finding: Mapping[str, Any]) -> bool:
        return any(
            (r["case"], r["output"], r["judged"]) == (case, finding["output"], finding["judged"])
            for r in self.entry["readings"]
        )


def acceptances(record: Mapping[str, Any]) -> tuple[Acceptance, ...]:
    """Every accepted deviation of a record, in the order of the calculator file."""
    day = str(record["circumstances"]["ended"])[:10]
    entries = record["content"].get("accepted", ())
    return tuple(Acceptance(entry, day > entry["expires"]) for entry in entries)


def counted(found: Sequence[Acceptance]) -> str:
    """How many accepted deviations there are, by their state; "" where there are none."""
    if not found:
        return ""
    states = ("in force", "expired", "unused")
    numbers = {state: sum(a.state == state for a in found) for state in states}
    said = ", ".join(f"{n} {state}" for state, n in numbers.items() if n)
    readings = sum(len(a.entry["readings"]) for a in found if a.state == "in force")
    if not readings:
        return said
    return f"{said}; failing readings accepted: {readings}, which stay failures"
