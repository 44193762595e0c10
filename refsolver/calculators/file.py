"""The calculator file: identity, scope, mapping and criteria, as its user wrote them.

See the README for a walk through one. Everything that judges is stated here with a
reason; nothing has a silent default.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.accepted import Accepted, read_accepted
from refsolver.calculators.criteria import Criterion, CriterionError, read_criterion
from refsolver.calculators.partly_stated import left_open
from refsolver.calculators.undecided import undecided
from refsolver.catalogue.reading import VIEW_KEYS, read_view
from refsolver.catalogue.toml import TomlReader, read_toml
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE, LENGTH, NUMBER, Dimension
from refsolver.quantities.kinds import ChoiceKind
from refsolver.quantities.leaves import AXIS, Axis
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import UNITLESS, Unit, UnitError, UnitSystem, read_unit
from refsolver.quantities.views import RANGES, View, ViewError, dimension_of, inner_kind
from refsolver.statics.contract import Family, Given
from refsolver.statics.finding import finding
from refsolver.statics.givens import fields
from refsolver.statics.registry import UnknownFamily, family

__all__ = [
    "CalculatorFile",
    "CalculatorFileError",
    "Condition",
    "FamilySection",
    "InputLine",
    "OutputLine",
    "Refusals",
    "read_calculator_file",
    "read_input_line",
    "read_output_line",
]


class CalculatorFileError(ValueError):
    """A calculator file (or what it names) that cannot be used; says what, where, how to mend."""


KINDS = ("workbook", "command", "python", "http", "sheet")


@attrs.frozen
class InputLine:
    """One given of the case, in the calculator's unit and convention, and where it goes."""

    given: str
    """Path pattern: ``forces[*].force``, ``span``."""
    field: Given
    take: str
    unit: Unit | None
    place: str
    says: str
    along: str | None = None
    start: Axis = "+x"
    toward: Axis = "+y"
    range: str = "-180..180"
    negate: bool = False
    decimals: int | None = None
    words: Mapping[str, str] = attrs.field(factory=dict)
    blank: str = ""
    """What an unused row holds: "" leaves the cell blank."""

    @property
    def id(self) -> str:
        return " ".join(x for x in (self.given, self.take, self.along) if x)


@attrs.frozen
class WordReading:
    """A second place whose word completes a number: its sense, or its quadrant."""

    place: str
    words: Mapping[str, tuple[int, ...]]
    """Sense: word to (+1,) or (-1,). Quadrant: word to the signs along from and toward."""


@attrs.frozen
class OutputLine:
    """One answer, in the calculator's unit and convention, where it stands, and its criterion."""

    view: View
    dimension: Dimension
    unit: Unit | None
    place: str
    says: str
    criterion: Criterion | None
    negate: bool = False
    sense: WordReading | None = None
    quadrant: WordReading | None = None
    judge: str = "both"
    words: Mapping[str, str] = attrs.field(factory=dict)
    """For a choice: the calculator's word to ours."""
    units: Mapping[str, Unit] = attrs.field(factory=dict)
    """What the calculator's own unit words mean ("pounds" is lbf)."""
    line: str = ""
    """The id of the mapping line that this one was expanded from, where it was."""

    @property
    def id(self) -> str:
        return self.view.describe()

    @property
    def period(self) -> Enclosure | None:
        """The period in which the output, an angle, repeats; in its own unit."""
        turns = self.view.repeats_after if self.dimension == ANGLE else None
        return None if turns is None else factor_to(UNITLESS, self.unit, ANGLE).scaled(turns)


@attrs.frozen
class Condition:
    """One plain condition of the scope; ``sentence`` is what a report says."""

    kind: str
    target: str
    reason: str
    sentence: str
    at_least: fmpq | None = None
    at_most: fmpq | None = None
    resolution: fmpq | None = None
    unit: Unit | None = None
    ids: tuple[str, ...] = ()


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
    fixed: Mapping[str, str]
    """Givens that the calculator takes for granted, path pattern to text."""
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
_INPUT_KEYS = (
    "given", "take", "unit", "place", "says", "along", "from", "toward", "range", "negate",
    "decimals", "words", "blank",
)  # fmt: skip
_OUTPUT_KEYS = (
    *VIEW_KEYS, "unit", "place", "says", "criterion", "negate", "sense", "quadrant", "judge",
    "words", "units",
)  # fmt: skip


def read_calculator_file(path: Path) -> CalculatorFile:
    """The calculator file at ``path``. Raises CaseFileError with every complaint."""
    data, text, sha256 = read_toml(path)
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
            "", f"says {len(kinds)} ways to ask; exactly one table of {', '.join(KINDS)}"
        )
    tables = data.get("family", [])
    if not isinstance(tables, list) or not tables:
        reader.complain("family", "at least one [[family]] with inputs and outputs is needed")
        tables = []
    sections = tuple(_section(reader, item, n) for n, item in enumerate(tables, 1))
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


def _refusals(reader: TomlReader, table: Mapping[str, Any]) -> Refusals:
    reader.unknown_keys(table, ("texts", "errors", "exit_codes", "blank"), "refusals")
    return Refusals(
        _listed(reader, table, "refusals", "texts", str),
        _listed(reader, table, "refusals", "errors", str),
        _listed(reader, table, "refusals", "exit_codes", int),
        _yes_or_no(reader, table, "refusals", "blank"),
    )


T = TypeVar("T")


def _listed(
    reader: TomlReader, table: Mapping[str, Any], key: str, name: str, kind: type[T]
) -> tuple[T, ...]:
    """A list of texts or of whole numbers; a single text is not taken letter by letter."""
    value = table.get(name, [])
    if isinstance(value, list) and all(type(x) is kind for x in value):
        return tuple(value)
    words = "texts" if kind is str else "whole numbers"
    reader.complain(f"{key}.{name}", f"a list of {words} is expected, not {value!r}")
    return ()


def _yes_or_no(reader: TomlReader, table: Mapping[str, Any], key: str, name: str) -> bool:
    value = table.get(name, False)
    if type(value) is not bool:
        reader.complain(f"{key}.{name}", f"true or false is expected, not {value!r}")
    return bool(value)


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
        _condition(reader, item, f"{key}.scope[{n}]", owner, lines)
        for n, item in enumerate(_tables(reader, table, key, "scope"), 1)
    ]
    return FamilySection(
        family=owner.name,
        inputs=lines,
        outputs=tuple(line for line in outputs if line is not None),
        scope=tuple(c for c in scope if c is not None),
        fixed={k: str(v) for k, v in reader.table(table.get("fixed", {}), f"{key}.fixed").items()},
        gaps=_yes_or_no(reader, table, key, "gaps"),
        ladder=_yes_or_no(reader, table, key, "ladder"),
        read_at_source=_yes_or_no(reader, table, key, "read_at_source"),
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


def given_at(cls: type, pattern: str) -> Given | None:
    """The given that a path pattern names, None where there is none."""
    here: type | None = cls
    found: Given | None = None
    for step in pattern.split("."):
        name = step.removesuffix("[*]")
        if here is None or name not in fields(here):
            return None
        found = fields(here)[name]
        if (found.shape in ("many", "quantities")) != step.endswith("[*]"):
            return None
        here = found.of
    return found if found is not None and found.shape not in ("many", "one") else None


LEAF_TAKES: dict[str, tuple[str, ...]] = {
    "quantity": ("value",),
    "quantities": ("value",),
    "angle": ("value",),
    "direction": ("angle", "component", "run", "axis angle", "azimuth", "elevation"),
    "vector": ("magnitude", "angle", "component", "run", "axis angle", "azimuth", "elevation"),
    "point": ("coordinate",),
    "integer": ("value",),
    "choice": ("word",),
    "text": ("word",),
}
ANGLE_TAKES = ("angle", "axis angle", "azimuth", "elevation")


def read_input_line(reader: TomlReader, data: Any, key: str, owner: Family) -> InputLine | None:
    """An input line from its keys; what is wrong goes to the reader's complaints."""
    table = reader.table(data, key)
    reader.unknown_keys(table, _INPUT_KEYS, key)
    pattern = reader.words(table, "given")
    field = given_at(owner.givens, pattern)
    if field is None:
        reader.complain(f"{key}.given", f"{pattern!r} is not a given of {owner.name}")
        return None
    allowed = LEAF_TAKES[field.shape]
    take = str(table.get("take", allowed[0]))
    if take not in allowed:
        reader.complain(f"{key}.take", f"{take!r} does not fit; use one of {', '.join(allowed)}")
        return None
    needs_axis = take in ("component", "coordinate", "run", "axis angle", "elevation")
    axes = {name: table.get(name) for name in ("along", "from", "toward")}
    if any(axis is not None and not isinstance(axis, str) for axis in axes.values()):
        reader.complain(key, "'along', 'from' and 'toward' are texts such as \"+x\"")
        return None
    along = axes["along"]
    if needs_axis and along not in AXIS:
        reader.complain(f"{key}.along", f'{take} needs a signed axis such as "+x"')
    start: Axis = table.get("from", "+x")
    toward: Axis = table.get("toward", "+y")
    if start not in AXIS or toward not in AXIS or AXIS[start][0] == AXIS[toward][0]:
        reader.complain(key, "'from' and 'toward' must be perpendicular axes")
    span = str(table.get("range", "-180..180"))
    if span not in RANGES:
        reader.complain(f"{key}.range", f"is one of: {', '.join(RANGES)}")
    dimension = leaf_dimension(field, take)
    decimals = table.get("decimals")
    if decimals is not None and type(decimals) is not int:
        reader.complain(f"{key}.decimals", "a whole number of decimals is expected")
    return InputLine(
        given=pattern,
        field=field,
        take=take,
        unit=_unit(reader, table, f"{key}.unit", dimension),
        place=_place(reader, table, key),
        says=_says(reader, table, key),
        along=along,
        start=start,
        toward=toward,
        range=span,
        negate=_yes_or_no(reader, table, key, "negate"),
        decimals=decimals,
        words=_word_table(reader, table, key),
        blank=str(table.get("blank", "")),
    )


def leaf_dimension(field: Given, take: str) -> Dimension:
    """The dimension of what is taken from a leaf."""
    if take in ANGLE_TAKES or field.shape == "angle":
        return ANGLE
    if field.shape == "point":
        return LENGTH
    if field.dimension is None or take == "run" or field.shape == "direction":
        return NUMBER
    return field.dimension


def _place(reader: TomlReader, table: Mapping[str, Any], key: str) -> str:
    place = table.get("place")
    if not isinstance(place, str) or not place.strip():
        reader.complain(f"{key}.place", "say where: a cell, a range, a field or a pattern")
        return ""
    return place.strip()


def _says(reader: TomlReader, table: Mapping[str, Any], key: str) -> str:
    says = str(table.get("says", "")).strip()
    if not says:
        reader.complain(f"{key}.says", "quote the calculator's own words for it (label, manual)")
    return says


def _unit(
    reader: TomlReader, table: Mapping[str, Any], key: str, dimension: Dimension
) -> Unit | None:
    text = str(table.get("unit", "")).strip()
    if not text:
        if dimension != NUMBER:
            reader.complain(key, f"say the unit of this {dimension.name}")
        return None
    try:
        unit = read_unit(text, mass_words_are_force=bool(table.get("lb_and_kg_are_forces")))
    except UnitError as error:
        reader.complain(key, str(error))
        return None
    if unit.dimension != dimension:
        reader.complain(key, f"{text!r} is {unit.dimension.name}, but {dimension.name} is expected")
    return unit


def read_output_line(reader: TomlReader, data: Any, key: str, owner: Family) -> OutputLine | None:
    """An output line from its keys; what is wrong goes to the reader's complaints."""
    table = reader.table(data, key)
    reader.unknown_keys(table, _OUTPUT_KEYS, key)
    try:
        view = read_view(table, owner, UnitSystem.of([]))
    except (ViewError, LiteralError, UnitError) as error:
        reader.complain(key, str(error))
        return None
    kind = owner.answers[view.answer].kind
    dimension = dimension_of(view, kind)
    is_word = isinstance(inner_kind(view, kind), ChoiceKind)
    unit = None if is_word else _unit(reader, table, f"{key}.unit", dimension)
    criterion: Criterion | None = None
    if not is_word:
        if "criterion" not in table:
            reader.complain(
                f"{key}.criterion", "every output needs an acceptance criterion with its reason"
            )
            return None
        try:
            criterion = read_criterion(
                reader.table(table["criterion"], f"{key}.criterion"),
                unit, dimension, f"{key}.criterion",
            )  # fmt: skip
        except CriterionError as error:
            reader.complain("", str(error))
            return None
    judge = table.get("judge", "both")
    if judge not in ("stored", "displayed", "both"):
        reader.complain(f"{key}.judge", "is one of: stored, displayed, both")
    if "quadrant" in table and (dimension != ANGLE or unit is None or not unit.pi_power):
        reader.complain(f"{key}.quadrant", "completes an acute angle in degrees: map that")
    return OutputLine(
        view=view,
        dimension=dimension,
        unit=unit,
        place=_place(reader, table, key),
        says=_says(reader, table, key),
        criterion=criterion,
        negate=_yes_or_no(reader, table, key, "negate"),
        sense=_word_reading(reader, table, key, "sense", 1),
        quadrant=_word_reading(reader, table, key, "quadrant", 2),
        judge=judge,
        words=_word_table(reader, table, key),
        units=_unit_words(reader, table, key, dimension),
    )


def _word_table(reader: TomlReader, table: Mapping[str, Any], key: str) -> dict[str, str]:
    words = reader.table(table.get("words", {}), f"{key}.words")
    return {str(k): str(v) for k, v in words.items()}


def _unit_words(
    reader: TomlReader, table: Mapping[str, Any], key: str, dimension: Dimension
) -> dict[str, Unit]:
    """The units that the calculator's own words stand for."""
    found: dict[str, Unit] = {}
    for word, text in reader.table(table.get("units", {}), f"{key}.units").items():
        unit = _unit(reader, {"unit": text}, f"{key}.units.{word}", dimension)
        if unit is not None:
            found[word] = unit
    return found


def _word_reading(
    reader: TomlReader, table: Mapping[str, Any], key: str, name: str, count: int
) -> WordReading | None:
    if name not in table:
        return None
    data = reader.table(table[name], f"{key}.{name}")
    words: dict[str, tuple[int, ...]] = {}
    for word, signs in reader.table(data.get("words", {}), f"{key}.{name}.words").items():
        if len(str(signs)) != count or set(str(signs)) - {"+", "-"}:
            wanted = '"+" or "-"' if count == 1 else '"++", "-+", "--" or "+-" (from, toward)'
            reader.complain(f"{key}.{name}.words.{word}", f"is one of {wanted}")
            continue
        words[str(word)] = tuple(1 if sign == "+" else -1 for sign in str(signs))
    if not words:
        reader.complain(f"{key}.{name}.words", "say what each word means")
    return WordReading(_place(reader, data, f"{key}.{name}"), words)


def _condition(
    reader: TomlReader, data: Any, key: str, owner: Family, lines: tuple[InputLine, ...]
) -> Condition | None:
    table = reader.table(data, key)
    reader.unknown_keys(
        table,
        ("count", "input", "at_least", "at_most", "resolution", "without", "exclude", "reason"),
        key,
    )
    reason = str(table.get("reason", "")).strip()
    if not reason:
        reader.complain(f"{key}.reason", "say why the calculator is not meant for the others")
    stated = [k for k in ("count", "input", "without", "exclude") if k in table]
    if len(stated) != 1:
        reader.complain(key, "states one of: count, input, without (a feature), exclude (case ids)")
        return None
    kind = stated[0]
    if kind == "exclude":
        ids = _listed(reader, table, key, "exclude", str)
        return Condition(kind, "", reason, f"without the cases {', '.join(ids)}", ids=ids)
    target = str(table[kind])
    if kind == "without":
        return Condition(kind, target, reason, f"without cases that have: {target}")
    line = next((x for x in lines if x.id == target), None) if kind == "input" else None
    if kind == "input" and line is None:
        reader.complain(f"{key}.input", f"{target!r} is none of: {', '.join(x.id for x in lines)}")
        return None
    unit = None if line is None else line.unit
    limits: dict[str, fmpq | None] = {}
    for name in ("at_least", "at_most", "resolution"):
        limits[name] = None
        if name in table:
            try:
                limits[name] = _limit(str(table[name]), unit)
            except (LiteralError, UnitError) as error:
                reader.complain(f"{key}.{name}", str(error))
    said = [
        f"{name.replace('_', ' ')} {table[name]}"
        for name in ("at_least", "at_most", "resolution")
        if name in table
    ]
    what = f"number of {target}" if kind == "count" else target
    return Condition(
        kind,
        target,
        reason,
        f"{what}: {', '.join(said)}",
        limits["at_least"],
        limits["at_most"],
        limits["resolution"],
        unit,
    )


def _limit(text: str, unit: Unit | None) -> fmpq:
    literal = read_literal(text)
    if not isinstance(literal.value, fmpq):
        raise UnitError(text, 0, "must be a rational number", "write a decimal")
    if not literal.unit_text:
        return literal.value
    own = read_unit(literal.unit_text)
    if unit is None or own.dimension != unit.dimension:
        raise UnitError(text, 0, "does not fit the unit of the input", "use that unit")
    if own.pi_power != unit.pi_power:
        raise UnitError(text, 0, "must be in the unit of the input", f"use {unit.name}")
    return literal.value * own.factor / unit.factor
