"""A calculator that is a program, with its own text format.

``[command]`` takes ``argv`` (a list, no shell), and what is sent: ``stdin`` or ``files``
(name to template file, or ``"json"``); and what is read: ``output_files`` or standard
output, as JSON unless ``[command.patterns]`` names patterns. A family's ``settings`` may
override any of them. Numbers are handed over as text; the template states their format.
With ``batch`` (how many) one run takes many cases, a line of JSON each, see
:mod:`~refsolver.calculators.command_batch`.
In ``argv`` the word ``{python}`` stands for the interpreter that runs this program.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import platform
import shutil
import sys
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.command_batch import asked_in_batches, cases_a_run, lines_for
from refsolver.calculators.contract import Asked, Failure, Received
from refsolver.calculators.fields import nested
from refsolver.calculators.file import CalculatorFile, CalculatorFileError, FamilySection
from refsolver.calculators.json_values import values_from_json
from refsolver.calculators.program import (
    Format,
    Prepared,
    ProgramProblem,
    ProgramSpec,
    RawAnswer,
    prepare,
    run_program,
)
from refsolver.calculators.settings import Settings, stated_by_the_user
from refsolver.calculators.textformat import (
    FixedColumns,
    InputTemplate,
    OutputPattern,
    PatternProblem,
    ResultTable,
    TemplateProblem,
    UnreadableOutput,
    matches_in_echo,
)
from refsolver.catalogue.userfile import file_bytes

__all__ = ["CommandCalculator"]

_KEYS = (
    "argv", "stdin", "files", "output_files", "copied", "env", "limit", "output_limit",
    "encoding", "patterns", "answer_exit_codes", "program_files", "runtime", "newline",
    "batch",
)  # fmt: skip
_OF_THE_PROGRAM = ("batch", "program_files", "runtime")
"""Keys that hold for all families, or for none."""

_LARGEST_TEMPLATE = 4_000_000
"""Bytes."""

_PYTHON = "{python}"

Reader = OutputPattern | FixedColumns | ResultTable


class CommandCalculator:
    """An opened program: its specification and its readers, family by family."""

    takes_doubles = False
    resumable = True

    def __init__(self, file: CalculatorFile) -> None:
        self.file = file
        self._settings = Settings(file, _KEYS)
        batch = cases_a_run(file)
        self._lines, self._batch = batch is not None, batch or 1
        self._templates: dict[str, None] = {}
        self._specs: dict[str, ProgramSpec] = {}
        self._readers: dict[str, dict[str, Reader]] = {}
        for section in file.sections:
            self._check_settings(section)
            merged = {**file.settings, **section.settings}
            settings = Settings(attrs.evolve(file, settings=merged), _KEYS)
            try:
                self._specs[section.family] = self._spec(settings)
                self._readers[section.family] = _readers(settings.table("patterns"))
            except (ProgramProblem, PatternProblem, TemplateProblem) as problem:
                raise CalculatorFileError(f"{file.path}: command: {problem}") from None
            self._check_places(section)
            if self._lines:
                self._check_lines(section)

    def _check_settings(self, section: FamilySection) -> None:
        for key in _OF_THE_PROGRAM:
            if key in section.settings:
                raise CalculatorFileError(
                    f"{self.file.path}: {section.family}: settings.{key}: is said of the program, "
                    "not of one family; write it under [command]"
                )

    def _spec(self, settings: Settings) -> ProgramSpec:
        argv = settings.texts("argv")
        if not argv:
            raise settings.problem("argv", "the program and its arguments are missing")
        newline = str(settings.get("newline", "\n"))
        extra: dict[str, Any] = {}
        if settings.get("stdin") is not None:
            extra["stdin"] = self._format(settings.get("stdin"), "stdin", newline)
        return ProgramSpec(
            argv=[sys.executable if part == _PYTHON else part for part in argv],
            folder=self.file.folder,
            files={
                name: self._format(source, f"files.{name}", newline)
                for name, source in settings.table("files").items()
            },
            output_files=settings.texts("output_files"),
            copied=settings.texts("copied"),
            env={name: str(value) for name, value in settings.table("env").items()},
            limit=settings.seconds("limit", 30.0),
            output_limit=settings.whole("output_limit", 16_000_000),
            answer_exit_codes=settings.whole_numbers("answer_exit_codes", (0,)),
            refusal_exit_codes=self.file.refusals.exit_codes,
            encoding=settings.text("encoding", "utf-8"),
            **extra,
        )

    def _format(self, source: Any, key: str, newline: str) -> Format:
        """``"json"``, the name of a template file beside the calculator file, or its text."""
        if source == "json":
            return "json"
        if isinstance(source, dict) and set(source) == {"template"}:
            return InputTemplate(str(source["template"]), name=key, newline=newline)
        path = self.file.folder / str(source)
        try:
            text = file_bytes(path, _LARGEST_TEMPLATE).decode("utf-8-sig").replace("\r\n", "\n")
        except ValueError:
            raise self._settings.problem(
                key,
                f"{source!r} is no readable template file; write {{ template = '...' }} for text",
            ) from None
        self._templates[str(source)] = None
        return InputTemplate(text, name=str(source), newline=newline)

    def _check_places(self, section: FamilySection) -> None:
        readers = self._readers[section.family]
        if not readers:
            return
        for line in section.outputs:
            for part in (line, line.sense, line.quadrant):
                name = "" if part is None else part.place.split("[")[0].split(".")[0]
                if part is not None and name not in readers:
                    raise CalculatorFileError(
                        f"{self.file.path}: output {line.id}: no pattern {name!r}; "
                        f"use one of {', '.join(readers)}"
                    )

    def _check_lines(self, section: FamilySection) -> None:
        """A line a case, in and out, leaves no room for another format."""
        spec = self._specs[section.family]
        if spec.files or spec.output_files or spec.stdin != "json" or self._readers[section.family]:
            raise self._settings.problem(
                "batch", "many cases a run go as lines of JSON on stdin and stdout; leave out "
                "stdin, files, output_files and patterns",
            )  # fmt: skip

    def identity(self) -> dict[str, Any]:
        argv = self.file.settings.get("argv", [])
        templates = [self.file.folder / name for name in self._templates]
        return {
            "argv": list(argv),
            "files": [_hashed(path) for path in self._program_files()],
            **({"templates": [_hashed(path) for path in templates]} if templates else {}),
            "runtime": self._runtime(argv),
            "program_of_use": True,
        }

    def _program_files(self) -> list[Path]:
        """The files that are stated, those that an argument names, and the program itself."""
        folder = self.file.folder
        named = [folder / name for name in self._settings.texts("program_files")]
        for spec in self._specs.values():
            for part in spec.argv:
                path = folder / part.replace("{calculator_folder}", str(folder))
                # an argument may be a text longer than any name
                with contextlib.suppress(OSError):
                    if path.is_file() and part != sys.executable:
                        named.append(path)
            found = shutil.which(spec.argv[0])
            if found is not None and spec.argv[0] != sys.executable:
                named.append(Path(found))
        return list({path.resolve(): path for path in reversed(named)}.values())[::-1]

    def _runtime(self, argv: Sequence[str]) -> str:
        if _PYTHON in argv:
            return f"Python {platform.python_version()}"
        return stated_by_the_user(str(self._settings.get("runtime", "")))

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        if not self._lines:
            return map(self._one, questions)
        return itertools.chain.from_iterable(
            self._in_lines(family, list(some))
            for family, some in itertools.groupby(questions, key=lambda q: q.family)
        )

    def _in_lines(self, family: str, questions: Sequence[Asked]) -> Iterator[Received]:
        cases = [_fields(question) for question in questions]
        return asked_in_batches(self._specs[family], questions, cases, self._batch, _kept)

    def _one(self, question: Asked) -> Received:
        spec = self._specs[question.family]
        if self._lines:
            (received,) = self._in_lines(question.family, [question])
            return received
        fields = _fields(question)
        try:
            raw = run_program(spec, fields)
        except (ProgramProblem, TemplateProblem) as problem:
            return Received(failure=Failure("input", str(problem)))
        kept = _kept(raw)
        if raw.refused:
            return Received(
                raw=kept, failure=Failure("refusal", f"exit code {raw.exit_code}"),
                handed=raw.sent.handed, seconds=raw.seconds,
            )  # fmt: skip
        if raw.failure is not None:
            return Received(raw=kept, failure=_failure(raw), seconds=raw.seconds)
        return Received(
            values=self.values_in("\n".join(raw.texts.values()), question),
            raw=kept,
            handed=raw.sent.handed,
            seconds=raw.seconds,
        )

    def prepared(self, question: Asked) -> Prepared:
        """What the program is to be sent. Raises ProgramProblem or TemplateProblem."""
        fields = _fields(question)
        return lines_for([fields]) if self._lines else prepare(self._specs[question.family], fields)

    def output_names(self, family: str) -> tuple[str, ...]:
        """The files the program writes its answers to; none for standard output."""
        return self._specs[family].output_files

    def encoding(self, family: str) -> str:
        return self._specs[family].encoding

    def output_limit(self, family: str) -> int:
        """The bytes that an output file may hold."""
        return self._specs[family].output_limit

    def values_in(self, text: str, question: Asked) -> dict[str, dict[str, Any]]:
        """The raw value at each place, read from a text the program printed."""
        readers = self._readers[question.family]
        if not readers:
            return values_from_json(question, text)
        return {place: _read(readers, place, text) for place in question.places}

    def trial(self, question: Asked) -> dict[str, Any]:
        """What is sent and received for one case, and which patterns match the sent text."""
        spec = self._specs[question.family]
        sent = self.prepared(question)
        echoed = b"\n".join([sent.stdin, *sent.files.values()]).decode(spec.encoding, "replace")
        return {
            "sent": {"stdin": sent.stdin, **sent.files},
            "unprinted": list(sent.unprinted),
            "received": self._one(question),
            "in_echo": {
                name: list(found)
                for name, reader in self._readers[question.family].items()
                if (found := matches_in_echo(reader, echoed))
            },
        }

    def close(self) -> None:
        return


def _fields(question: Asked) -> dict[str, Any]:
    """What a template may print: numbers exactly, words (an unnamed row has an empty name)."""
    return nested(
        {
            slot.place: Fraction(slot.value) if slot.number else slot.value
            for slot in question.slots
            if slot.value or not slot.number
        }
    )


def _failure(raw: RawAnswer) -> Failure:
    """What went wrong, without stderr: it may name the private folder, which varies."""
    assert raw.failure is not None
    return Failure(raw.failure, raw.detail.split("; it wrote on stderr:")[0])


def _kept(raw: RawAnswer) -> dict[str, Any]:
    return {
        "sent": {"stdin": raw.sent.stdin, **raw.sent.files},
        "stdout": raw.stdout,
        "stderr": raw.stderr,
        "files": dict(raw.files),
        "exit_code": raw.exit_code,
    }


def _hashed(path: Path) -> dict[str, str]:
    return {"name": path.name, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}


def _readers(patterns: Mapping[str, Any]) -> dict[str, Reader]:
    found: dict[str, Reader] = {}
    for name, table in patterns.items():
        if not isinstance(table, str | dict):
            raise PatternProblem(f"patterns.{name}: a pattern or a table is expected")
        data = {"pattern": table} if isinstance(table, str) else dict(table)
        for key in ("columns", "value", "key"):
            if isinstance(data.get(key), list):
                data[key] = tuple(data[key])
        kind: Any = ResultTable if "header" in data else FixedColumns if "line" in data else None
        kind = kind or OutputPattern
        try:
            found[name] = kind(name, **data)
        except TypeError as error:
            raise PatternProblem(f"patterns.{name}: {error}") from None
    return found


def _read(readers: Mapping[str, Reader], place: str, text: str) -> dict[str, Any]:
    """A pattern by its name, a named group as ``name.group``, a table row as ``name[key]``."""
    name, _, key = place.partition("[")
    name, _, group = name.partition(".")
    reader = readers[name]
    try:
        if isinstance(reader, ResultTable):
            rows = reader.read(text)
            wanted = key.rstrip("]")
            return {"text": rows[wanted]} if wanted in rows else {"blank": True}
        found = reader.read(text)
        if group:
            return {"text": found.groups.get(group, "")}
        unit = found.groups.get("unit", "")
        return {"text": f"{found.text} {unit}".strip()}
    except UnreadableOutput as problem:
        return {"error": str(problem)}
