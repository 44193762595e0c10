"""The text a calculator is given: a jinja2 template, or JSON, filled with exact numbers.

A number of a case is printed only through a format that states its digits, so that nothing
is rounded unseen, and every number printed is recorded under its path: what was handed over
is then known exactly, and the reference is solved for that.

Formats for templates, all correctly rounded, ``half="away"`` (default) or ``half="even"``
saying where exact halves go:

=====================  =========================================  ==================
``x|fixed(3)``         three digits behind the point              ``-12.346``
``x|grouped(1)``       the same, thousands separated by a comma   ``12,345.6``
``x|sci(4)``           one digit before, four behind the point    ``1.2346E+04``
``x|dexp(6)``          the same with a D                          ``1.234568D+04``
``x|figures(4)``       four significant figures, no exponent      ``12350``
``x|exact``            all digits; an error where none suffice    ``0.125``
=====================  =========================================  ==================

Each takes ``width=10`` (right-aligned in that many columns; a number that does not fit is an
error, never a row of asterisks), ``left=true`` (left-aligned), ``mark=","`` (decimal mark)
and ``group=" "`` (separator of thousands). A whole number given as a count may be printed
bare. Numbers can be compared with whole numbers and with each other, not calculated with:
units and senses are the business of the calculator's mapping. As usual in jinja2 a list
counts from 0 (``forces[0]``); in paths it counts from 1.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from types import TracebackType
from typing import Any, NoReturn, TypeAlias

import attrs
import jinja2
from flint import fmpq
from jinja2.sandbox import ImmutableSandboxedEnvironment

from refsolver.calculators.numbertext import (
    Half,
    UnreadableNumber,
    as_decimal,
    dressed,
    figures_text,
    fixed_text,
    read_number,
    scientific_text,
)

__all__ = ["InputTemplate", "Rendered", "TemplateProblem", "render_json"]

Fields: TypeAlias = Mapping[str, object]

JSON_FIGURES = 17


class TemplateProblem(ValueError):
    """A template that cannot be read or filled; the message says where and why."""


@attrs.frozen
class Rendered:
    """A text ready to be sent.

    ``handed`` gives for the path of each number printed (``forces[1].magnitude``, items
    counted from 1) the exact decimal text of what was printed, in plain form (no grouping,
    point, E exponent); ``unprinted`` the paths of the numbers that the text does not show.
    """

    text: str
    handed: Mapping[str, str]
    unprinted: tuple[str, ...]


class _Record:
    """What was printed while one text was made."""

    def __init__(self) -> None:
        self.handed: dict[str, str] = {}
        self.known: list[str] = []
        self._printed: list[tuple[str, str]] = []

    def note(self, path: str, plain: str, printed: str) -> None:
        before = self.handed.setdefault(path, plain)
        if Fraction(before) != Fraction(plain):
            raise TemplateProblem(
                f"{path} is printed as {before} and as {plain}: which of them the calculator "
                "uses cannot be known"
            )
        self._printed.append((path, printed))

    def rendered(self, text: str) -> Rendered:
        for path, printed in self._printed:
            if printed not in text:
                raise TemplateProblem(
                    f"{path} was formatted as {printed!r}, which is not in the text sent: "
                    "print it, and let no filter follow its number format"
                )
        unprinted = tuple(path for path in self.known if path not in self.handed)
        return Rendered(text, self.handed, unprinted)


@functools.total_ordering
class _Given:
    """A number of the case inside a template: comparable, printed through a format only."""

    def __init__(self, value: Fraction, count: bool, path: str, record: _Record) -> None:
        self._value = value
        self._count = count
        self._path = path
        self._record = record
        record.known.append(path)

    def __str__(self) -> str:
        if not self._count:
            raise TemplateProblem(
                f"{self._path} is printed without a number format: write for example "
                "|fixed(3) behind it"
            )
        text = str(self._value)
        self._record.note(self._path, text, text)
        return text

    __repr__ = __str__  # a list or mapping printed whole would show its numbers unseen

    def __index__(self) -> int:
        if not self._count:
            raise TemplateProblem(
                f"{self._path} is not a count; only counts of rows can be ranges or places"
            )
        return int(self._value)

    def __bool__(self) -> bool:
        return bool(self._value)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, float):
            self._compared_with_a_float()
        if isinstance(other, (int, _Given)):
            return self._value == _value_of(other)
        return NotImplemented

    def __lt__(self, other: object) -> bool:
        if isinstance(other, float):
            self._compared_with_a_float()
        if isinstance(other, (int, _Given)):
            return self._value < _value_of(other)
        return NotImplemented

    def __hash__(self) -> int:
        return hash(self._value)

    def _compared_with_a_float(self) -> NoReturn:
        raise TemplateProblem(f"{self._path} can be compared with whole numbers only")

    def _no_arithmetic(self, _other: object = None) -> NoReturn:
        raise TemplateProblem(
            f"{self._path} is calculated with or converted: print it with a number format, and "
            "state unit and sense in the mapping"
        )

    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = _no_arithmetic
    __truediv__ = __rtruediv__ = __floordiv__ = __rfloordiv__ = _no_arithmetic
    __mod__ = __pow__ = __rpow__ = __neg__ = __pos__ = __abs__ = _no_arithmetic
    __float__ = __int__ = _no_arithmetic


def _value_of(x: int | _Given) -> Fraction:
    return x._value if isinstance(x, _Given) else Fraction(x)


class _GivenText(str):
    """A text of the case inside a template; recorded as handed over where it is a number."""

    __slots__ = ("_path", "_record")
    _path: str
    _record: _Record

    @classmethod
    def of(cls, text: str, path: str, record: _Record) -> _GivenText:
        made = cls(text)
        made._path = path
        made._record = record
        if _plain_number(text) is not None:
            record.known.append(path)
        return made

    def __str__(self) -> str:
        text = str.__str__(self)
        plain = _plain_number(text)
        if plain is not None:
            self._record.note(self._path, plain, text.strip())
        return text


def _plain_number(text: str) -> str | None:
    """The exact decimal text of a text that is a bare number."""
    try:
        read = read_number(str.__str__(text), group="")
    except UnreadableNumber:
        return None
    return None if read.unit else read.number


def _rational(value: object) -> Fraction | None:
    if isinstance(value, fmpq):
        return Fraction(int(value.p), int(value.q))
    if isinstance(value, (int, Fraction)) and not isinstance(value, bool):
        return Fraction(value)
    return None


def _refuse(value: object, path: str) -> NoReturn:
    raise TypeError(
        f"{path} is of type {type(value).__name__}: a field is an exact rational number, a text, "
        "a boolean, None, or a list or mapping of them"
    )


def _inside(path: str, key: object) -> str:
    """The path of a member; items of a list count from 1, as in every path."""
    if isinstance(key, int):
        return f"{path}[{key + 1}]"
    return f"{path}.{key}" if path else str(key)


def _wrapped(value: object, path: str, record: _Record) -> Any:
    """``value`` as a template sees it."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _GivenText.of(value, path, record)
    number = _rational(value)
    if number is not None:
        return _Given(number, isinstance(value, int), path, record)
    if isinstance(value, Mapping):
        return {
            str(key): _wrapped(item, _inside(path, str(key)), record) for key, item in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [_wrapped(item, _inside(path, i), record) for i, item in enumerate(value)]
    return _refuse(value, path)


def _source(given: object) -> tuple[Fraction, str, _Record | None]:
    """The value of what a format is put to, with its path and where to record it."""
    if isinstance(given, _Given):
        return given._value, given._path, given._record
    if isinstance(given, _GivenText):
        plain = _plain_number(given)
        if plain is None:
            raise TemplateProblem(
                f"{given._path} is the text {given!r}, not a number; print it without a format"
            )
        return Fraction(plain), given._path, given._record
    if isinstance(given, int) and not isinstance(given, bool):
        return Fraction(given), f"the number {given}", None
    raise TemplateProblem(
        "a number format follows something that is not a number of the case; put it behind one"
    )


@attrs.frozen(kw_only=True)
class _Layout:
    width: int = 0
    left: bool = False
    mark: str = "."
    group: str = ""


def _printed(given: object, form: Callable[[Fraction], str], options: Mapping[str, Any]) -> str:
    """``given`` in ``form``, dressed, aligned and recorded."""
    unknown = options.keys() - attrs.fields_dict(_Layout).keys()
    if unknown:
        raise TemplateProblem(
            f"a number format has no option {', '.join(sorted(unknown))}; leave it out"
        )
    layout = _Layout(**options)
    value, path, record = _source(given)
    try:
        formatted = form(value)
        text = dressed(formatted, layout.mark, layout.group)
        read = read_number(text, mark=layout.mark, group=layout.group)
    except ValueError as error:
        raise TemplateProblem(f"{path}: {error}") from error
    plain = formatted.upper().replace("D", "E")
    if read.value != Fraction(plain):
        raise TemplateProblem(
            f"{path}: {text!r} does not read as {plain}; use another mark or group"
        )
    if "width" in options and len(text) > layout.width:
        raise TemplateProblem(
            f"{path} is {text}, too long for {layout.width} columns; give it a larger width"
        )
    if record is not None:
        record.note(path, plain, text)
    return text.ljust(layout.width) if layout.left else text.rjust(layout.width)


def _count(name: str, count: object, least: int) -> int:
    if not isinstance(count, int) or isinstance(count, bool) or count < least:
        raise TemplateProblem(f"{name}({count!r}): the number of digits is at least {least}")
    return count


def _half(half: object) -> Half:
    if half == "away":
        return "away"
    if half == "even":
        return "even"
    raise TemplateProblem(
        f'half={half!r}: exact halves go "away" (from zero) or to "even"; write one'
    )


def fixed(x: object, digits: object, half: object = "away", **options: Any) -> str:
    places, manner = _count("fixed", digits, 0), _half(half)
    return _printed(x, lambda value: fixed_text(value, places, manner), options)


def grouped(x: object, digits: object, half: object = "away", **options: Any) -> str:
    return fixed(x, digits, half, **({"group": ","} | options))


def sci(x: object, digits: object, half: object = "away", letter: str = "E", **options: Any) -> str:
    places, manner = _count("sci", digits, 0), _half(half)
    if letter not in ("E", "e", "D", "d"):
        raise TemplateProblem(
            f"letter={letter!r}: an exponent is marked by E, e, D or d; write one"
        )
    return _printed(x, lambda value: scientific_text(value, places, manner, letter), options)


def dexp(x: object, digits: object, half: object = "away", **options: Any) -> str:
    return sci(x, digits, half, "D", **options)


def figures(x: object, digits: object, half: object = "away", **options: Any) -> str:
    count, manner = _count("figures", digits, 1), _half(half)
    return _printed(x, lambda value: figures_text(value, count, manner), options)


def exact(x: object, **options: Any) -> str:
    return _printed(x, as_decimal, options)


# Of jinja2's own filters only these: others turn what they cannot convert into a silent 0.
TEXT_FILTERS = (
    *("center", "default", "first", "indent", "items", "join", "last", "length"),
    *("list", "lower", "map", "replace", "reverse", "trim", "upper"),
)


class _Environment(ImmutableSandboxedEnvironment):
    """Fields before methods of the same name, strict about names, no filters that convert."""

    def __init__(self, newline: str) -> None:
        super().__init__(
            undefined=jinja2.StrictUndefined,
            autoescape=False,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
            newline_sequence=newline,
        )
        kept = {name: self.filters[name] for name in TEXT_FILTERS}
        self.filters.clear()
        self.filters.update(
            kept,
            fixed=fixed,
            grouped=grouped,
            sci=sci,
            dexp=dexp,
            figures=figures,
            exact=exact,
        )
        self.globals = {name: self.globals[name] for name in ("range", "namespace")}

    def getattr(self, obj: Any, attribute: str) -> Any:
        if isinstance(obj, Mapping) and attribute in obj:
            return obj[attribute]
        return super().getattr(obj, attribute)


class InputTemplate:
    """A jinja2 template (sandboxed, strict about names) for one text of a calculator.

    Block tags alone on a line leave no line behind. ``name`` appears in error messages;
    ``newline`` ends the lines of the text. Raises :class:`TemplateProblem` where the source
    is not a template.
    """

    def __init__(self, source: str, *, name: str = "input template", newline: str = "\n") -> None:
        if newline not in ("\n", "\r\n", "\r"):
            raise TemplateProblem(f"{name}: {newline!r} does not end a line; write \\n or \\r\\n")
        self.source = source
        self.name = name
        self.newline = newline
        try:
            self._template = _Environment(newline).from_string(source)
        except jinja2.TemplateSyntaxError as error:
            raise TemplateProblem(f"{name}, line {error.lineno}: {error.message}") from error

    def render(self, fields: Fields) -> Rendered:
        """The template filled with ``fields``: exact numbers, texts, lists and mappings.

        Raises :class:`TemplateProblem` where a name is unknown, a number has no format or
        does not fit it, or one number is printed with two values; TypeError where a field is
        of no type a field can be (a float).
        """
        record = _Record()
        wrapped = _wrapped(fields, "", record)
        try:
            return record.rendered(self._template.render(wrapped))
        except Exception as error:
            raise TemplateProblem(f"{self.name}{_line(error.__traceback__)}: {error}") from error


def _line(trace: TracebackType | None) -> str:
    """Where in the template an error arose, in words; "" where no line is known."""
    lines = [t.tb_lineno for t in _frames(trace) if t.tb_frame.f_code.co_filename == "<template>"]
    return f", line {lines[-1]}" if lines else ""


def _frames(trace: TracebackType | None) -> Iterator[TracebackType]:
    while trace is not None:
        yield trace
        trace = trace.tb_next


def render_json(fields: Fields) -> Rendered:
    """``fields`` as one JSON object.

    A number stands there exactly where 17 significant figures are enough for that, otherwise
    rounded to 17 figures, as many as tell any two doubles apart (IEEE 754-2019, 5.12.2);
    ``handed`` has the exact decimal text either way. Raises TypeError for a field of no type
    a field can be.
    """
    record = _Record()
    return record.rendered(_json(fields, "", record) + "\n")


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _json(value: object, path: str, record: _Record) -> str:
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    if isinstance(value, str):
        plain = _plain_number(value)
        if plain is not None:
            record.note(path, plain, value.strip())
        return _quoted(value)
    number = _rational(value)
    if number is not None:
        text = str(value) if isinstance(value, int) else _json_number(number)
        record.note(path, text, text)
        return text
    if isinstance(value, Mapping):
        members = (
            f"{_quoted(str(key))}: {_json(item, _inside(path, str(key)), record)}"
            for key, item in value.items()
        )
        return "{" + ", ".join(members) + "}"
    if isinstance(value, (list, tuple)):
        items = (_json(item, _inside(path, i), record) for i, item in enumerate(value))
        return "[" + ", ".join(items) + "]"
    return _refuse(value, path)


def _json_number(value: Fraction) -> str:
    """Plain digits where they are few, an exponent where the number is far from 1."""
    try:
        text = as_decimal(value)
    except ValueError:
        text = ""
    figures = len(text.lstrip("-").replace(".", "").strip("0"))
    if text and figures <= JSON_FIGURES and len(text) <= JSON_FIGURES + 8:
        return text
    return scientific_text(value, JSON_FIGURES - 1, "even")
