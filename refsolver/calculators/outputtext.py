"""Where a calculator's text shows its answers: patterns, fixed columns, tables.

A reader finds texts; what they mean is read from them by
:func:`~refsolver.calculators.numbertext.read_number` and the calculator's mapping. Each
reader must find exactly one place, or say which of several counts, and none may take a part
of a number for the whole. Texts are taken with any kind of line end, without a byte order
mark and without form feeds.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from typing import Literal, TypeAlias, TypeVar

import attrs

__all__ = [
    "Column",
    "FixedColumns",
    "Found",
    "Misplaced",
    "OutputPattern",
    "PatternProblem",
    "ResultTable",
    "UnreadableOutput",
    "Which",
    "matches_in_echo",
]

Which: TypeAlias = Literal["first", "last"] | int | None
"""Which of several matches counts: the first, the last, the n-th from 1; None: exactly one."""

Column: TypeAlias = int | str | tuple[int, int]
"""A column of a table: its number from 1, its name in the header line, or its first and last
character position from 1."""

Misplaced: TypeAlias = Literal["missing", "ambiguous", "malformed"]

T = TypeVar("T")


class PatternProblem(ValueError):
    """A pattern, column or table that is not defined properly."""


class UnreadableOutput(ValueError):
    """An answer cannot be located in the text received: ``name``, ``kind`` and ``why``."""

    def __init__(self, name: str, kind: Misplaced, why: str) -> None:
        super().__init__(name, kind, why)
        self.name = name
        self.kind: Misplaced = kind
        self.why = why

    def __str__(self) -> str:
        return f"{self.name}: {self.why}"


@attrs.frozen
class Found:
    """A text found for an answer, without outer blanks; ``groups`` has the other named groups
    of its pattern (a unit, a sense word), "" where one took no part in the match."""

    text: str
    groups: Mapping[str, str] = attrs.field(factory=dict)


def _normal(text: str) -> str:
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    return plain.replace("\f", "")


def _cuts_a_number(text: str, start: int, end: int, signed: bool = True) -> bool:
    """Whether a number goes on before ``start`` or behind ``end``; with ``signed`` a sign
    right before counts."""
    part = text[start:end]
    before = r"[\d.+\-\u2212]$" if signed else r"[\d.]$"
    starts_inside = re.match(r"\.?\d", part) and re.search(before, text[:start][-1:])
    ends_inside = re.search(r"\d\.?$", part) and re.match(
        r"\d|\.\d|[EeDdQq][+-]?\d|[+-]\d{3}(?![\d.])", text[end : end + 6]
    )
    return bool(starts_inside or ends_inside)


def _compiled(name: str, pattern: str) -> re.Pattern[str]:
    try:
        return re.compile(pattern, re.MULTILINE)
    except re.error as error:
        raise PatternProblem(f"{name}: {pattern!r} is no regular expression: {error}") from error


def _check_which(name: str, which: Which) -> None:
    number = isinstance(which, int) and not isinstance(which, bool) and which >= 1
    if not (which in ("first", "last", None) or number):
        raise PatternProblem(
            f'{name}: which is "first", "last" or a number from 1, not {which!r}; write one'
        )


def _chosen(name: str, what: str, candidates: list[T], which: Which) -> T:
    count = len(candidates)
    if not count:
        raise UnreadableOutput(name, "missing", f"{what} is not in the output")
    if which == "first":
        return candidates[0]
    if which == "last":
        return candidates[-1]
    if isinstance(which, int):
        if which > count:
            raise UnreadableOutput(name, "missing", f"{what} is there {count} times, not {which}")
        return candidates[which - 1]
    if count > 1:
        raise UnreadableOutput(
            name, "ambiguous", f"{what} is there {count} times: say which of them counts"
        )
    return candidates[0]


@attrs.frozen
class OutputPattern:
    """A regular expression whose group is the text of one answer.

    Either it has one group, or one named ``value`` beside others with names. ``^`` and ``$``
    match at the ends of lines.
    """

    name: str
    pattern: str
    which: Which = None
    _regex: re.Pattern[str] = attrs.field(init=False, repr=False, eq=False)

    def __attrs_post_init__(self) -> None:
        regex = _compiled(self.name, self.pattern)
        named = regex.groupindex
        if len(named) < regex.groups and regex.groups > 1 or regex.groups == 0:
            raise PatternProblem(
                f"{self.name}: {self.pattern!r} needs one group, or several that all have names"
            )
        if named and "value" not in named:
            raise PatternProblem(
                f"{self.name}: no group of {self.pattern!r} is named value; name it (?P<value>...)"
            )
        _check_which(self.name, self.which)
        object.__setattr__(self, "_regex", regex)

    @property
    def locator(self) -> re.Pattern[str]:
        return self._regex

    def read(self, text: str) -> Found:
        """The text found; raises :class:`UnreadableOutput`."""
        plain = _normal(text)
        matches = list(self._regex.finditer(plain))
        match = _chosen(self.name, f"the pattern {self.pattern!r}", matches, self.which)
        self._refuse_part_of_a_number(match, plain)
        groups = {name: (part or "").strip() for name, part in match.groupdict().items()}
        value = groups.pop("value") if groups else (match[1] or "").strip()
        return Found(value, groups)

    def _refuse_part_of_a_number(self, match: re.Match[str], text: str) -> None:
        start, end = match.span("value" if match.groupdict() else 1)
        others = [match.end(name) for name in match.groupdict() if name != "value"]
        if start >= 0 and _cuts_a_number(text, start, end, signed=start not in others):
            around = text[max(start - 10, 0) : end + 10]
            raise UnreadableOutput(
                self.name,
                "malformed",
                f"the pattern {self.pattern!r} takes only a part of the number in {around!r}",
            )


def _check_columns(name: str, columns: tuple[int, int]) -> None:
    first, last = columns
    if not 1 <= first <= last:
        raise PatternProblem(
            f"{name}: columns [{first}, {last}] run from 1, first to last; write them so"
        )


def _cut(name: str, line: str, columns: tuple[int, int], abutting: bool) -> str:
    if "\t" in line:
        raise UnreadableOutput(
            name, "malformed", f"{line!r} holds a tab: its columns are not fixed"
        )
    first, last = columns
    if not abutting and _cuts_a_number(line, first - 1, last):
        raise UnreadableOutput(
            name,
            "malformed",
            f"columns {first} to {last} cut through a number in {line!r}; if fields abut there, "
            "say so",
        )
    return line[first - 1 : last].strip()


def _chosen_line(name: str, lines: list[str], regex: re.Pattern[str], which: Which) -> int:
    candidates = [number for number, line in enumerate(lines) if regex.search(line)]
    return _chosen(name, f"a line with {regex.pattern!r}", candidates, which)


@attrs.frozen
class FixedColumns:
    """The characters ``columns`` (first, last, from 1) of a line that ``line`` matches.

    ``below`` takes the line that many lines further down instead. ``abutting`` says that
    numbers may stand side by side without a blank; without it, columns that cut through a
    number are an error.
    """

    name: str
    line: str
    columns: tuple[int, int]
    which: Which = None
    below: int = 0
    abutting: bool = False
    _regex: re.Pattern[str] = attrs.field(init=False, repr=False, eq=False)

    def __attrs_post_init__(self) -> None:
        _check_columns(self.name, self.columns)
        _check_which(self.name, self.which)
        if self.below < 0:
            raise PatternProblem(f"{self.name}: below counts lines downward; write 0 or more")
        object.__setattr__(self, "_regex", _compiled(self.name, self.line))

    @property
    def locator(self) -> re.Pattern[str]:
        return self._regex

    def read(self, text: str) -> Found:
        """The text found, "" where the line ends before; raises :class:`UnreadableOutput`."""
        lines = _normal(text).split("\n")
        number = _chosen_line(self.name, lines, self._regex, self.which) + self.below
        if number >= len(lines):
            raise UnreadableOutput(
                self.name,
                "missing",
                f"the output ends before line {self.below} below {self.line!r}",
            )
        return Found(_cut(self.name, lines[number], self.columns, self.abutting))


@attrs.frozen
class ResultTable:
    """Results listed by key: a row for each joint, member, support.

    The table begins below the line that ``header`` matches. Without ``until`` it ends at the
    first blank line behind a row, or with the text; with it, at the line that ``until``
    matches, which must be there. Blank lines and ruled lines (no letter, no digit) are passed
    over. ``key`` None numbers the rows from 1. ``split`` says what separates the columns of
    a line: ``blanks``, ``wide blanks`` (two or more, so that a unit may follow a number), or
    one character, quoted fields allowed; a column given by character positions needs none
    (``abutting`` as in :class:`FixedColumns`).
    """

    name: str
    header: str
    value: Column
    key: Column | None = None
    which: Which = None
    until: str | None = None
    split: str = "blanks"
    abutting: bool = False
    _regex: re.Pattern[str] = attrs.field(init=False, repr=False, eq=False)
    _end: re.Pattern[str] | None = attrs.field(init=False, repr=False, eq=False)

    def __attrs_post_init__(self) -> None:
        for column in (self.value, self.key):
            if isinstance(column, tuple):
                _check_columns(self.name, column)
            elif isinstance(column, int) and column < 1:
                raise PatternProblem(f"{self.name}: columns are numbered from 1, not {column}")
        _check_which(self.name, self.which)
        if self.split not in ("blanks", "wide blanks") and not re.fullmatch(
            r"[^\w\n.+\-\"]", self.split
        ):
            raise PatternProblem(
                f'{self.name}: write "blanks", "wide blanks" or, for split, one character that '
                f"is in no number or word, not {self.split!r}"
            )
        object.__setattr__(self, "_regex", _compiled(self.name, self.header))
        end = None if self.until is None else _compiled(self.name, self.until)
        object.__setattr__(self, "_end", end)

    @property
    def locator(self) -> re.Pattern[str]:
        return self._regex

    def read(self, text: str) -> dict[str, str]:
        """The text of each result by its key, in printed order.

        Raises :class:`UnreadableOutput` where there is no such table, it has no row or no
        such column, a row is too short, or two rows have one key.
        """
        lines = _normal(text).split("\n")
        start = _chosen_line(self.name, lines, self._regex, self.which)
        results: dict[str, str] = {}
        for row in self._rows(lines[start + 1 :]):
            key = str(len(results) + 1)
            if self.key is not None:
                key = self._field(row, self.key, lines[start])
            if key in results:
                raise UnreadableOutput(self.name, "ambiguous", f"two rows have the key {key!r}")
            results[key] = self._field(row, self.value, lines[start])
        if not results:
            raise UnreadableOutput(self.name, "missing", f"no row stands below {lines[start]!r}")
        return results

    def _rows(self, below: list[str]) -> Iterator[str]:
        any_row = False
        for line in below:
            if self._end is not None and self._end.search(line):
                return
            if not line.strip():
                if any_row and self._end is None:
                    return
            elif any(character.isalnum() for character in line):
                any_row = True
                yield line
        if self._end is not None:
            raise UnreadableOutput(
                self.name, "malformed", f"the table is cut off: no line with {self.until!r} ends it"
            )

    def _field(self, row: str, column: Column, header: str) -> str:
        if isinstance(column, tuple):
            return _cut(self.name, row, column, self.abutting)
        fields = self._fields(row)
        if isinstance(column, str):
            column = self._number(column, header, fields, row)
        if column > len(fields):
            raise UnreadableOutput(
                self.name, "malformed", f"the row {row!r} has {len(fields)} columns, not {column}"
            )
        return fields[column - 1]

    def _number(self, column: str, header: str, fields: list[str], row: str) -> int:
        names = self._fields(header)
        if names.count(column) != 1:
            raise UnreadableOutput(
                self.name,
                "ambiguous" if column in names else "missing",
                f"{names.count(column)} columns of {header!r} are named {column!r}",
            )
        if len(names) != len(fields):
            raise UnreadableOutput(
                self.name,
                "malformed",
                f"the row {row!r} has {len(fields)} columns, its header {len(names)}: which "
                "belongs to which is not known",
            )
        return names.index(column) + 1

    def _fields(self, line: str) -> list[str]:
        if self.split == "blanks":
            return line.split()
        if self.split == "wide blanks":
            return re.split(r"[ \t]{2,}|\t", line.strip())
        stripped = line.strip().strip("|") if self.split == "|" else line
        try:
            row = next(csv.reader([stripped], delimiter=self.split, skipinitialspace=True))
        except csv.Error as error:
            raise UnreadableOutput(self.name, "malformed", f"the row {line!r}: {error}") from error
        return [field.strip() for field in row]


def matches_in_echo(
    reader: OutputPattern | FixedColumns | ResultTable, sent: str
) -> tuple[str, ...]:
    """What ``reader`` would find in the text sent, should the calculator print it back.

    Empty where nothing is found, as it must be: an answer read from an echo proves nothing.
    """
    return tuple(match[0] for match in reader.locator.finditer(_normal(sent)))
