"""Reading a case file: TOML in, a :class:`~refsolver.catalogue.schema.Case` out.

Every complaint carries the path of the key it is about; a file with three mistakes gets
three complaints. Numbers are texts with a unit (``"62.0 lbf"``), read exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from flint import fmpq

from refsolver.arithmetic.exact import Exact
from refsolver.catalogue.givens_reader import GivensReader
from refsolver.catalogue.inverse import read_inverse
from refsolver.catalogue.schema import (
    CITABLE,
    EXPLANATIONS,
    Case,
    CaseFileError,
    Explanation,
    Published,
    Source,
    Work,
)
from refsolver.catalogue.toml import TomlReader, read_toml
from refsolver.quantities.dimensions import ANGLE, LENGTH, NUMBER, Dimension
from refsolver.quantities.kinds import REFUSALS, ChoiceKind
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import Unit, UnitError, UnitSystem, read_unit
from refsolver.quantities.views import View, ViewError, checked, dimension_of, inner_kind
from refsolver.statics.contract import Family
from refsolver.statics.registry import UnknownFamily, family

__all__ = ["VIEW_KEYS", "read_case", "read_view"]


def read_view(
    table: Mapping[str, Any],
    owner: Family,
    system: UnitSystem,
    *,
    mass_words_are_force: bool = False,
) -> View:
    """The view that the keys of a table state, checked against the family.

    Raises ViewError, LiteralError or UnitError with a message that names the key.
    """
    answer = str(table.get("answer", ""))
    if answer not in owner.answers:
        raise ViewError(f"answer = {answer!r}: {owner.name} answers {', '.join(owner.answers)}")
    for name in _WORDS:
        if name in table and not isinstance(table[name], str):
            raise ViewError(f"{name} = {table[name]!r}: a text is expected")
    at: Exact | None = None
    if "at" in table:
        literal = read_literal(str(table["at"]))
        at = literal.value
        if literal.unit_text:
            unit = read_unit(literal.unit_text, mass_words_are_force=mass_words_are_force)
            if unit.dimension != LENGTH:
                raise ViewError(f"at = {table['at']!r} is not a length; write it as '1.5 m'")
            at = system.bring(literal.value, unit)
    pick = table.get("pick")
    view = View(
        answer=answer,
        take=table.get("take"),
        key=None if table.get("key") is None else str(table["key"]),
        along=table.get("along"),
        start=table.get("from"),
        toward=table.get("toward"),
        range=table.get("range"),
        at=at,
        side=table.get("side"),
        through=table.get("through"),
        pick=pick,
        part=table.get("part"),
    )
    return checked(view, owner.answers[answer].kind)


_WORDS = ("take", "along", "from", "toward", "range", "side", "through", "part")

VIEW_KEYS = (
    "answer", "take", "key", "along", "from", "toward", "range", "at", "side", "through", "pick",
    "part",
)  # fmt: skip

_CASE_KEYS = (
    "title", "statement", "family", "source", "given", "published", "topics", "note", "units",
    "lb_and_kg_are_forces", "features", "find",
)  # fmt: skip


def read_case(path: Path, id: str, works: Mapping[str, Work]) -> Case:
    """The case in a file, or in what a pipe brings. Raises CaseFileError with every complaint."""
    data, text, sha256 = read_toml(path, "a case file", piped=True)
    reader = TomlReader(str(path))
    reader.unknown_keys(data, _CASE_KEYS, "")
    title, statement = reader.words(data, "title"), reader.words(data, "statement")
    name = reader.words(data, "family")
    source = _source(reader, reader.table(data.get("source", {}), "source"), works)
    if not name:
        reader.stop_if_wrong()
    try:
        owner = family(name)
    except UnknownFamily as error:
        reader.complain("family", str(error))
        raise CaseFileError(reader.complaints) from None
    mass_words = bool(data.get("lb_and_kg_are_forces", False))

    def make() -> GivensReader:
        return GivensReader(
            reader, mass_words_are_force=mass_words, unitless=data.get("units") == "none"
        )

    if "find" in data:
        inverse = read_inverse(reader, owner, data, make, _view_of_known, VIEW_KEYS)
        if inverse is None:
            raise CaseFileError(reader.complaints)
        owner, given, givens = inverse
    else:
        givens = make()
        given = givens.read(owner.givens, data.get("given", {}))
    published = tuple(
        _published(reader, item, number, owner, givens)
        for number, item in enumerate(_tables(reader, data, "published"), 1)
    )
    topics, features = (_words_of(reader, data, key) for key in ("topics", "features"))
    reader.stop_if_wrong()
    return Case(
        id=id,
        path=path,
        text=text,
        sha256=sha256,
        title=title,
        statement=statement,
        family=owner.name,
        source=source,
        units=givens.system,
        unit_words=mass_words,
        given=given,
        literals=givens.literals,
        published=tuple(p for p in published if p is not None),
        topics=topics,
        note=str(data.get("note", "")),
        features=features,
    )


def _view_of_known(table: Mapping[str, Any], owner: Family, givens: GivensReader) -> View:
    words = givens.mass_words_are_force
    return read_view(table, owner, givens.system, mass_words_are_force=words)


def _words_of(reader: TomlReader, data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    words = data.get(key, [])
    if isinstance(words, list) and all(isinstance(word, str) for word in words):
        return tuple(words)
    reader.complain(key, "an array of texts is expected")
    return ()


def _tables(reader: TomlReader, data: Mapping[str, Any], key: str) -> list[Any]:
    value = data.get(key, [])
    if not isinstance(value, list):
        reader.complain(key, f"write each one under [[{key}]]")
        return []
    return value


def _source(reader: TomlReader, data: Mapping[str, Any], works: Mapping[str, Work]) -> Source:
    reader.unknown_keys(data, ("work", "place", "kind", "by", "read"), "source")
    if "work" in data:
        work = works.get(str(data["work"]))
        if work is None:
            reader.complain(
                "source.work", f"{data['work']!r} is not listed in sources.toml; add it there"
            )
            return Source("constructed")
        place = str(data.get("place", "")).strip()
        if not place:
            reader.complain("source.place", "say where in the work the example stands")
        return Source(data.get("kind", work.kind), work.key, place, data.get("read", work.read))
    kind, by = data.get("kind"), str(data.get("by", "")).strip()
    if kind not in ("common practice", "constructed"):
        reader.complain(
            "source", f"a source of kind {kind!r} names its work and place; write",
            f"'work' and 'place' for {', '.join(CITABLE)}; 'kind' and 'by' for common practice "
            "or constructed",
        )  # fmt: skip
    elif not by:
        reader.complain("source.by", "say how the answer is known")
    return Source(kind or "constructed", by=by)


_PUBLISHED_KEYS = (*VIEW_KEYS, "value", "refused", "tolerance", "reason", "explained")


def _published(
    reader: TomlReader, data: Any, number: int, owner: Family, givens: GivensReader
) -> Published | None:
    key = f"published[{number}]"
    table = reader.table(data, key)
    reader.unknown_keys(table, _PUBLISHED_KEYS, key)
    try:
        view = read_view(
            table, owner, givens.system, mass_words_are_force=givens.mass_words_are_force
        )
    except (ViewError, LiteralError, UnitError) as error:
        reader.complain(key, str(error))
        return None
    if "refused" in table:
        if str(table["refused"]) not in REFUSALS:
            reader.complain(f"{key}.refused", f"is one of: {', '.join(REFUSALS)}")
        return Published(view, key, refused=str(table["refused"]))
    kind = owner.answers[view.answer].kind
    inner = inner_kind(view, kind)
    explained = _explanation(reader, table, key)
    if isinstance(inner, ChoiceKind):
        word = str(table.get("value", ""))
        if word not in inner.words:
            reader.complain(f"{key}.value", f"{word!r} is not one of: {', '.join(inner.words)}")
        return Published(view, key, word=word, explained=explained)
    return _printed_number(reader, table, key, view, dimension_of(view, kind), givens, explained)


def _printed_number(
    reader: TomlReader,
    table: Mapping[str, Any],
    key: str,
    view: View,
    dimension: Dimension,
    givens: GivensReader,
    explained: Explanation | None,
) -> Published | None:
    if "value" not in table:
        reader.complain(key, "needs 'value' as printed, or 'refused'")
        return None
    words = givens.mass_words_are_force
    try:
        literal = read_literal(str(table["value"]))
        unit = (
            read_unit(literal.unit_text, mass_words_are_force=words) if literal.unit_text else None
        )
        tolerance, reason = _tolerance(reader, table, key, unit, words)
    except (LiteralError, UnitError) as error:
        reader.complain(f"{key}.value", str(error))
        return None
    if unit is not None and unit.dimension != dimension:
        reader.complain(
            f"{key}.value",
            f"{literal.text!r} is {unit.dimension.name}, but {view.describe()} is {dimension.name}",
            "check unit and answer",
        )
    if unit is None and dimension != NUMBER and (dimension == ANGLE or not givens.unitless):
        reader.complain(
            f"{key}.value", f"{table['value']!r} has no unit; it is {dimension.name}: give it one"
        )
    return Published(
        view,
        key,
        literal=literal,
        unit=unit,
        tolerance=tolerance,
        reason=reason,
        explained=explained,
    )


def _tolerance(
    reader: TomlReader, table: Mapping[str, Any], key: str, unit: Unit | None, words: bool
) -> tuple[fmpq | None, str]:
    if "tolerance" not in table:
        return None, ""
    reason = str(table.get("reason", "")).strip()
    if not reason:
        reader.complain(f"{key}.tolerance", "needs 'reason'")
    literal = read_literal(str(table["tolerance"]))
    own = read_unit(literal.unit_text, mass_words_are_force=words) if literal.unit_text else None
    unlike = (own is None) != (unit is None) or (
        own is not None
        and unit is not None
        and (own.dimension != unit.dimension or own.pi_power != unit.pi_power)
    )
    if unlike:
        reader.complain(f"{key}.tolerance", "must have a unit like the value's; add it")
        return None, reason
    if not isinstance(literal.value, fmpq):
        reader.complain(f"{key}.tolerance", "must be a rational number")
        return None, reason
    factor = own.factor / unit.factor if own is not None and unit is not None else fmpq(1)
    return literal.value * factor, reason


def _explanation(reader: TomlReader, table: Mapping[str, Any], key: str) -> Explanation | None:
    if "explained" not in table:
        return None
    data = reader.table(table["explained"], f"{key}.explained")
    why, note = str(data.get("why", "")), str(data.get("note", "")).strip()
    if why not in EXPLANATIONS:
        reader.complain(f"{key}.explained.why", f"is one of: {', '.join(EXPLANATIONS)}")
    if not note:
        reader.complain(f"{key}.explained.note", "say what the source did and what is right")
    return Explanation(why, note)
