"""Deviations that somebody accepted, as the calculator file states them.

``[[accepted]]`` names a case, or a family and one of its outputs, with the reason, who
approved it and the last day on which it holds. It changes no verdict and no result: the
reading stays ``fail``. It says beside the failure that a person knows of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import attrs

from refsolver.catalogue.toml import TomlReader
from refsolver.quantities.nearest import did_you_mean

if TYPE_CHECKING:
    from refsolver.calculators.file import FamilySection

__all__ = ["Accepted", "read_accepted", "unknown_case"]

_KEYS = ("case", "family", "answer", "reason", "approved_by", "expires", "record", "reported")


@attrs.frozen
class Accepted:
    """One accepted deviation. Exactly one of ``case`` and ``family`` is stated."""

    case: str
    family: str
    answer: str
    """An output as reports name it ("resultant magnitude"); "" for every output of a case."""
    reason: str
    approved_by: str
    expires: date
    """The last day on which it holds."""
    record: str = ""
    """The beginning of the id of the record in which it was seen, where that is stated."""
    reported: str = ""
    """The reading that was accepted, exactly as reported; "" for whatever is reported."""

    def covers(self, case: str, family: str, output: str, line: str) -> bool:
        """Whether it speaks of this output (expanded from ``line``) of this case."""
        where = self.case == case if self.case else self.family == family
        return where and self.answer in ("", output, line)


def read_accepted(
    reader: TomlReader, data: Any, sections: Sequence[FamilySection]
) -> tuple[Accepted, ...]:
    """Every entry; what is wrong goes to the reader's complaints."""
    if not isinstance(data, list):
        reader.complain("accepted", "write each one under [[accepted]]")
        return ()
    read = [_entry(reader, item, f"accepted[{n}]", sections) for n, item in enumerate(data, 1)]
    return tuple(entry for entry in read if entry is not None)


def _entry(
    reader: TomlReader, data: Any, key: str, sections: Sequence[FamilySection]
) -> Accepted | None:
    table = reader.table(data, key)
    reader.unknown_keys(table, _KEYS, key)
    if ("case" in table) == ("family" in table):
        reader.complain(key, "states either a case, or a family with one of its answers")
        return None
    case, family = (reader.words(table, name, "") for name in ("case", "family"))
    answer = reader.words(table, "answer", "")
    section = _section(reader, key, case, family, sections)
    if section is not None:
        _hold_answer(reader, key, answer, section, needed=not case)
    texts = {name: reader.words(table, name, "") for name in ("reason", "approved_by")}
    for name, what in (("reason", "why it is accepted"), ("approved_by", "who approved it")):
        if not texts[name]:
            reader.complain(f"{key}.{name}", f"say {what}")
    record = reader.words(table, "record", "")
    if record and not re.fullmatch("[0-9a-f]{8,64}", record):
        reader.complain(f"{key}.record", "at least the first 8 figures of a record's id")
    expires = _day(reader, table.get("expires"), f"{key}.expires")
    if section is None or expires is None:
        return None
    return Accepted(
        case=case,
        family=family,
        answer=answer,
        expires=expires,
        record=record,
        reported=reader.words(table, "reported", ""),
        **texts,
    )


def _section(
    reader: TomlReader, key: str, case: str, family: str, sections: Sequence[FamilySection]
) -> FamilySection | None:
    for section in sections:
        if section.family == family or (case and case.startswith(f"{section.family}/")):
            return section
    name, said = ("case", case) if case else ("family", family)
    known = [section.family for section in sections]
    reader.complain(f"{key}.{name}", f"{said!r} is of no family of this file{_near(said, known)}")
    return None


def _hold_answer(
    reader: TomlReader, key: str, answer: str, section: FamilySection, *, needed: bool
) -> None:
    outputs = [line.id for line in section.outputs]
    if not answer:
        if needed:
            reader.complain(f"{key}.answer", f"say which: {'; '.join(outputs)}")
        return
    for output in outputs:
        any_key = re.escape(output).replace(re.escape("[*]"), r"\[[^\]]+\]")
        if answer == output or re.fullmatch(any_key, answer):
            return
    reader.complain(f"{key}.answer", f"{answer!r} is none of: {'; '.join(outputs)}")


def _day(reader: TomlReader, value: Any, key: str) -> date | None:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            value = None
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    reader.complain(key, "say the last day on which it holds, as 2027-03-31")
    return None


def _near(word: str, known: Iterable[str]) -> str:
    names = list(known)
    near = did_you_mean(word, names, most=2)
    return f"; {near}" if near else f"; it has {', '.join(names)}"


def unknown_case(entries: Iterable[Accepted], ids: Mapping[str, Any] | set[str]) -> str:
    """What is wrong with the first entry whose case there is not, with a hint; "" if none."""
    for entry in entries:
        if entry.case and entry.case not in ids:
            near = did_you_mean(entry.case, ids)
            hint = f"; {near}" if near else ""
            return f"accepted: there is no case {entry.case!r}{hint} (refsolver cases lists them)"
    return ""
