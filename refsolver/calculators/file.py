"""The calculator file: identity, scope, mapping and criteria, as its user wrote them.

See the README for a walk through one. Everything that judges is stated here with a
reason; nothing has a silent default.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.accepted import Accepted, read_accepted
from refsolver.calculators.granted import Fixed, read_fixed
from refsolver.calculators.line_readers import read_condition, read_input_line, read_output_line
from refsolver.calculators.lines import Condition, InputLine, OutputLine
from refsolver.calculators.partly_stated import left_open
from refsolver.calculators.undecided import undecided
from refsolver.catalogue.reading import read_view
from refsolver.catalogue.toml import TomlReader, read_toml
from refsolver.quantities.units import UNITLESS
from refsolver.statics.contract import Family
from refsolver.statics.finding import finding
from refsolver.statics.registry import UnknownFamily, family

__all__ = [
    "CalculatorFile",
    "CalculatorFileError",
    "FamilySection",
    "Refusals",
    "read_calculator_file",
]


class CalculatorFileError(ValueError):
    """A calculator file (or what it names) that cannot be used; says what, where, how to mend."""


KINDS = ("workbook", "command", "python", "http", "sheet")


@attrs.frozen
class Refusals:
    """What counts as the calculator declining to answer."""

    texts: tuple[str, ...] = ()
    errors: tuple[str, ...] = ()
    exit_codes: tuple[int, ...] = ()
    blank: bool = False


@attrs.frozen
class FamilySection:
    """The part of the file about one family."""

    family: str
    inputs: tuple[InputLine, ...]
    outputs: tuple[OutputLine, ...]
    scope: tuple[Condition, ...]
    fixed: Fixed
    """Givens that the calculator takes for granted, and what each may then be."""
    gaps: bool
    """True where a blank row between used ones is allowed."""
    ladder: bool
    """True where the cases of the difficulty ladder are put as well."""
    read_at_source: bool
    settings: Mapping[str, Any] = attrs.field(factory=dict)
    """Keys of this family for the kind of calculator (a command's own input template)."""

    @cached_property
    def lines_by_given(self) -> Mapping[str, tuple[InputLine, ...]]:
        """The input lines of each given, by its path pattern."""
        found: dict[str, tuple[InputLine, ...]] = {}
        for line in self.inputs:
            found[line.given] = (*found.get(line.given, ()), line)
        return found


@attrs.frozen
class CalculatorFile:
    """A calculator under test, as stated by its user."""

    path: Path
    text: str
    sha256: str
    name: str
    version: str
    owner: str
    description: str
    kind: str
    settings: Mapping[str, Any]
    """The table of the kind: file, engine, argv, limits, ..."""
    sections: tuple[FamilySection, ...]
    refusals: Refusals
    least_cases: int
    """In how many judged cases each family, input and output must appear."""
    accepted: tuple[Accepted, ...] = ()

    @property
    def folder(self) -> Path:
        return self.path.resolve().parent

    def section(self, name: str) -> FamilySection:
        for section in self.sections:
            if section.family == name:
                return section
        raise KeyError(name)


_TOP_KEYS = ("calculator", "family", "refusals", "acceptance", "accepted", *KINDS)
_FAMILY_KEYS = (
    "name", "find", "from", "input", "output", "scope", "fixed", "gaps", "ladder", "read_at_source",
    "settings",
)  # fmt: skip


def read_calculator_file(path: Path) -> CalculatorFile:
    """The calculator file at ``path``. Raises CaseFileError with every complaint."""
    data, text, sha256 = read_toml(path, "a calculator file")
    reader = TomlReader(str(path))
    for where, what, mend in undecided(data, text):
        reader.complain(where, what, mend)
    reader.stop_if_wrong()
    reader.unknown_keys(data, _TOP_KEYS, "")
    head = reader.table(data.get("calculator", {}), "calculator")
    reader.unknown_keys(head, ("name", "version", "owner", "description"), "calculator")
    kinds = [kind for kind in KINDS if kind in data]
    if len(kinds) != 1:
        reader.complain(
            "", f"says {len(kinds)} ways to ask; write exactly one table of {', '.join(KINDS)}"
        )
    tables = data.get("family", [])
    if not isinstance(tables, list) or not tables:
        reader.complain("family", "at least one [[family]] with inputs and outputs is needed")
        tables = []
    sections = tuple(_section(reader, item, n) for n, item in enumerate(tables, 1))
    _complain_of_settings(reader, kinds, sections)
    acceptance = reader.table(data.get("acceptance", {}), "acceptance")
    reader.unknown_keys(acceptance, ("least_cases",), "acceptance")
    least = acceptance.get("least_cases", 3)
    if type(least) is not int or least < 1:
        reader.complain("acceptance.least_cases", "a whole number of at least 1 is expected")
    name, version, owner = (reader.words(head, key) for key in ("name", "version", "owner"))
    refusals = _refusals(reader, reader.table(data.get("refusals", {}), "refusals"))
    known = tuple(s for s in sections if s is not None)
    accepted = read_accepted(reader, data.get("accepted", []), known)
    reader.stop_if_wrong()
    return CalculatorFile(
        path=path,
        text=text,
        sha256=sha256,
        name=name,
        version=version,
        owner=owner,
        description=str(head.get("description", "")).strip(),
        kind=kinds[0],
        settings=reader.table(data[kinds[0]], kinds[0]),
        sections=known,
        refusals=refusals,
        least_cases=least,
        accepted=accepted,
    )


def _complain_of_settings(
    reader: TomlReader, kinds: Sequence[str], sections: Sequence[FamilySection | None]
) -> None:
    """Settings of a family where the kind of calculator has none, and nobody would read them."""
    for number, section in enumerate(sections, 1):
        if section is not None and section.settings and kinds not in ([], ["command"]):
            reader.complain(
                f"family[{number}].settings",
                "only a program ([command]) is asked otherwise for one family than for another",
                f"write under [{kinds[0]}] what holds for all",
            )


def _refusals(reader: TomlReader, table: Mapping[str, Any]) -> Refusals:
    reader.unknown_keys(table, ("texts", "errors", "exit_codes", "blank"), "refusals")
    return Refusals(
        reader.listed(table, "refusals", "texts", str),
        reader.listed(table, "refusals", "errors", str),
        reader.listed(table, "refusals", "exit_codes", int),
        reader.yes_or_no(table, "refusals", "blank"),
    )


def _family_of(reader: TomlReader, table: Mapping[str, Any], key: str) -> Family | None:
    """The family named, or the inverse question of it that ``find`` and ``from`` state."""
    try:
        owner = family(str(table.get("name")))
    except UnknownFamily as error:
        reader.complain(f"{key}.name", str(error))
        return None
    if "find" not in table:
        return owner
    known = reader.table(table.get("from", {}), f"{key}.from")
    try:
        view = read_view(known, owner, UNITLESS)
        return finding(owner.name, str(table["find"]), (), view)
    except ValueError as error:
        reader.complain(
            f"{key}.find",
            str(error),
            'find names a given, from the answer known: find = "friction", from = { answer = ... }',
        )
        return None


def _section(reader: TomlReader, data: Any, number: int) -> FamilySection | None:
    key = f"family[{number}]"
    table = reader.table(data, key)
    reader.unknown_keys(table, _FAMILY_KEYS, key)
    owner = _family_of(reader, table, key)
    if owner is None:
        return None
    inputs = [
        read_input_line(reader, item, f"{key}.input[{n}]", owner)
        for n, item in enumerate(_tables(reader, table, key, "input"), 1)
    ]
    outputs = [
        read_output_line(reader, item, f"{key}.output[{n}]", owner)
        for n, item in enumerate(_tables(reader, table, key, "output"), 1)
    ]
    if not inputs:
        reader.complain(f"{key}.input", "no input is mapped: write each one under [[family.input]]")
    if not outputs:
        reader.complain(
            f"{key}.output", "no output is mapped: write each one under [[family.output]]"
        )
    lines = tuple(line for line in inputs if line is not None)
    _complain_of_open(reader, lines, key)
    scope = [
        read_condition(reader, item, f"{key}.scope[{n}]", owner, lines)
        for n, item in enumerate(_tables(reader, table, key, "scope"), 1)
    ]
    return FamilySection(
        family=owner.name,
        inputs=lines,
        outputs=tuple(line for line in outputs if line is not None),
        scope=tuple(c for c in scope if c is not None),
        fixed=read_fixed(
            reader,
            reader.table(table.get("fixed", {}), f"{key}.fixed"),
            f"{key}.fixed",
            owner.givens,
            {line.given for line in lines},
        ),
        gaps=reader.yes_or_no(table, key, "gaps"),
        ladder=reader.yes_or_no(table, key, "ladder"),
        read_at_source=reader.yes_or_no(table, key, "read_at_source"),
        settings=reader.table(table.get("settings", {}), f"{key}.settings"),
    )


def _complain_of_open(reader: TomlReader, lines: tuple[InputLine, ...], key: str) -> None:
    """Vectors and directions of which the input lines leave a part open."""
    for given in dict.fromkeys(line.given for line in lines):
        problem = left_open([line for line in lines if line.given == given])
        if problem:
            reader.complain(f"{key}.input", f"{given}: {problem}")


def _tables(reader: TomlReader, table: Mapping[str, Any], key: str, name: str) -> list[Any]:
    value = table.get(name, [])
    if isinstance(value, list):
        return value
    reader.complain(f"{key}.{name}", f"write each one under [[family.{name}]]")
    return []
