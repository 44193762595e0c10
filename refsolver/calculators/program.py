"""A command-line calculator, run once for one prepared case.

The case is handed over on standard input or in files, as JSON or through templates, in a
private folder that exists for that case alone and is the program's working folder. What was
sent and what came back is kept byte for byte; what it means is not decided here.
"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from fractions import Fraction
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Literal, TypeAlias

import attrs

from refsolver.calculators.inputtext import InputTemplate, Rendered, render_json
from refsolver.calculators.one_run import ENTRY, Outcome, run_once
from refsolver.calculators.processes import FailureKind
from refsolver.calculators.warden import private_prefix

__all__ = [
    "Prepared",
    "ProgramFailure",
    "ProgramProblem",
    "ProgramSpec",
    "RawAnswer",
    "prepare",
    "run_program",
    "run_sent",
]

Format: TypeAlias = InputTemplate | Literal["json"]

ProgramFailure: TypeAlias = FailureKind | Literal["exit code", "no output file"]
"""Why a run gave no text to read: as for any process, or it ended with an exit code that
means neither an answer nor a refusal, or did not write an output file."""

FOLDER_FACTOR = 16
"""All files in the private folder together may take up this many times the output limit."""

PLACEHOLDER = re.compile(r"\{(\w+)\}")
PLACEHOLDERS = ("input_file", "output_file", "folder", "calculator_folder")


class ProgramProblem(ValueError):
    """A program that is not described properly, or a case that cannot be put to it."""


def _names(items: Iterable[str]) -> tuple[str, ...]:
    return tuple(items)


def _codes(items: Iterable[int]) -> frozenset[int]:
    return frozenset(items)


@attrs.frozen
class ProgramSpec:
    """How a program is run.

    ``argv`` is its argument list; no shell sees it. A program given by a relative path with a
    separator lies in ``folder``, the calculator's own; a bare name is looked up as usual. In
    arguments ``{input_file}`` and ``{output_file}`` stand for the one input or output file,
    ``{folder}`` for the private folder of the case, ``{calculator_folder}`` for ``folder``.

    ``stdin`` and each of ``files`` (by name, in the private folder) is filled from the case by
    a template or is ``"json"``; where neither is given JSON goes to stdin. ``copied`` names
    files and folders of the calculator's folder that the private folder needs. Answers are
    read from ``output_files``, or from standard output where there are none, in ``encoding``
    (JSON is always sent in UTF-8).

    ``limit`` is the time in seconds, ``output_limit`` the bytes of stdout and stderr together
    and of each file written; all files together may take up sixteen times that. ``env`` is
    added to the environment. Exit codes outside
    ``answer_exit_codes`` and ``refusal_exit_codes`` are failures.
    """

    argv: tuple[str, ...] = attrs.field(converter=_names)
    folder: Path
    files: Mapping[str, Format] = attrs.field(factory=dict)
    stdin: Format | None = attrs.field()
    output_files: tuple[str, ...] = attrs.field(default=(), converter=_names)
    copied: tuple[str, ...] = attrs.field(default=(), converter=_names)
    env: Mapping[str, str] = attrs.field(factory=dict)
    limit: float = 30.0
    output_limit: int = 16_000_000
    answer_exit_codes: frozenset[int] = attrs.field(default=frozenset({0}), converter=_codes)
    refusal_exit_codes: frozenset[int] = attrs.field(default=frozenset(), converter=_codes)
    encoding: str = "utf-8"

    @stdin.default
    def _json_where_nothing_is_said(self) -> Format | None:
        return None if self.files else "json"

    def __attrs_post_init__(self) -> None:
        self._check_argv()
        self._check_names()
        both = self.answer_exit_codes & self.refusal_exit_codes
        if both:
            raise ProgramProblem(
                f"exit code {min(both)} means both an answer and a refusal: leave "
                "it out of one of them"
            )
        if self.limit <= 0 or self.output_limit <= 0:
            raise ProgramProblem("the time limit and the output limit must be above zero")
        try:
            "1".encode(self.encoding)
        except (LookupError, UnicodeError):
            raise ProgramProblem(
                f"the encoding {self.encoding!r} is not known as one of texts; write utf-8, "
                "latin-1 or cp1252, for instance"
            ) from None

    def _check_argv(self) -> None:
        if not self.argv or not self.argv[0]:
            raise ProgramProblem("the argument list must name the program to run")
        for name, value in [*(("argv", x) for x in self.argv), *self.env.items()]:
            if "\0" in name + value or "=" in name or not name:
                raise ProgramProblem(
                    f"{name!r}: no system hands over a zero byte, nor a variable named with =; "
                    "leave it out"
                )
        for argument in self.argv:
            for name in PLACEHOLDER.findall(argument):
                if name not in PLACEHOLDERS:
                    known = ", ".join(f"{{{known}}}" for known in PLACEHOLDERS)
                    raise ProgramProblem(f"{{{name}}} in {argument!r} is none of {known}")
        for name, files in [("input_file", self.files), ("output_file", self.output_files)]:
            if any(f"{{{name}}}" in argument for argument in self.argv) and len(files) != 1:
                raise ProgramProblem(
                    f"{{{name}}} stands for the only such file, but there are {len(files)}: "
                    "write {folder}/NAME"
                )

    def _check_names(self) -> None:
        if self.stdin is None and not self.files:
            raise ProgramProblem("nothing hands the case over: give an input text or input files")
        seen = {PurePosixPath("stdout")}
        for name in [*self.files, *self.output_files, *self.copied]:
            if not _stays_inside(name):
                raise ProgramProblem(
                    f"{name!r} is not a name within the program's folder; give one without .. and /"
                )
            if PurePosixPath(name) in seen:
                raise ProgramProblem(
                    f"{name!r} is taken already: an answer must be told from what was there before"
                )
            seen.add(PurePosixPath(name))


def _stays_inside(name: str) -> bool:
    """Whether a name is relative, with no way out of its folder, on any system."""
    paths = PurePosixPath(name), PureWindowsPath(name)
    return (
        bool(name.strip("./\\"))
        and "\0" not in name
        and not any(
            path.is_absolute() or path.drive or path.root or ".." in path.parts for path in paths
        )
    )


@attrs.frozen
class Prepared:
    """What a program is sent for one case: bytes on stdin and in files.

    ``handed`` and ``unprinted`` as for :class:`~refsolver.calculators.inputtext.Rendered`,
    over all of them.
    """

    stdin: bytes
    files: Mapping[str, bytes]
    handed: Mapping[str, str]
    unprinted: tuple[str, ...]


@attrs.frozen
class RawAnswer:
    """What came back from one run.

    ``argv`` is the argument list used (it names the private folder, so it varies). ``stdout``,
    ``stderr`` and ``files`` (by name, those that were written) are the bytes received.
    ``texts`` are the texts to read answers from, by file name or under ``stdout``; empty
    where there is a ``failure``, which ``detail`` puts in words. ``refused`` says that the
    exit code was one of refusal.
    """

    argv: tuple[str, ...]
    sent: Prepared
    stdout: bytes
    stderr: bytes
    files: Mapping[str, bytes]
    texts: Mapping[str, str]
    exit_code: int | None
    signal: int | None
    seconds: float
    refused: bool
    failure: ProgramFailure | None
    detail: str


def prepare(spec: ProgramSpec, fields: Mapping[str, object]) -> Prepared:
    """The exact bytes ``spec`` hands over for a case with these ``fields``.

    Raises TemplateProblem or TypeError where a template cannot be filled, and
    :class:`ProgramProblem` where its text does not fit the encoding or two texts show one
    number with two values.
    """
    rendered: dict[str, Rendered] = {}
    sources = {"stdin": spec.stdin} if spec.stdin is not None else {}
    contents: dict[str, bytes] = {}
    for name, form in [*sources.items(), *((f"file {n}", f) for n, f in spec.files.items())]:
        rendered[name] = render_json(fields) if form == "json" else form.render(fields)
        encoding = "utf-8" if form == "json" else spec.encoding
        contents[name] = _encoded(rendered[name].text, encoding, name)
    handed = _merged(rendered)
    unprinted = {path: None for one in rendered.values() for path in one.unprinted}
    return Prepared(
        stdin=contents.get("stdin", b""),
        files={name: contents[f"file {name}"] for name in spec.files},
        handed=handed,
        unprinted=tuple(path for path in unprinted if path not in handed),
    )


def _encoded(text: str, encoding: str, name: str) -> bytes:
    try:
        return text.encode(encoding)
    except UnicodeEncodeError as error:
        odd = text[error.start : error.end]
        raise ProgramProblem(
            f"{name}: {odd!r} cannot be written in {encoding}; choose another encoding"
        ) from error


def _merged(rendered: Mapping[str, Rendered]) -> dict[str, str]:
    handed: dict[str, str] = {}
    for name, one in rendered.items():
        for path, number in one.handed.items():
            if Fraction(handed.setdefault(path, number)) != Fraction(number):
                raise ProgramProblem(
                    f"{name} shows {path} as {number}, another text as {handed[path]}: which of "
                    "them the calculator uses cannot be known"
                )
    return handed


def run_program(spec: ProgramSpec, fields: Mapping[str, object]) -> RawAnswer:
    """Put one case to the program and collect what came back.

    Raises as :func:`prepare` does, and :class:`ProgramProblem` where a file to copy is
    missing; never for what the program does.
    """
    return run_sent(spec, prepare(spec, fields))


def run_sent(spec: ProgramSpec, sent: Prepared) -> RawAnswer:
    """The same with what is to be sent. Raises ProgramProblem where a file to copy is missing."""
    with tempfile.TemporaryDirectory(
        prefix=private_prefix("case"), ignore_cleanup_errors=True
    ) as name:
        folder = Path(name).resolve()
        _fill(folder, spec, sent)
        copied = sum(x.lstat().st_blocks * 512 + ENTRY for x in folder.rglob("*"))
        argv = _arguments(spec, folder)
        outcome = run_once(
            argv,
            stdin=sent.stdin,
            env={**os.environ, **spec.env},
            cwd=folder,
            limit=spec.limit,
            output_limit=spec.output_limit,
            file_limit=spec.output_limit + 1,
            folder_limit=FOLDER_FACTOR * spec.output_limit + copied,
        )
        files = _written(folder, spec)
    return _judged(spec, argv, sent, outcome, files)


def _fill(folder: Path, spec: ProgramSpec, sent: Prepared) -> None:
    for name in spec.copied:
        source, target = spec.folder / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target)
        elif source.is_file():
            shutil.copy2(source, target)
        else:
            raise ProgramProblem(
                f"{name} is to be copied from {spec.folder} but is not there; check the name"
            )
    for name, content in sent.files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    for name in spec.output_files:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)


def _arguments(spec: ProgramSpec, folder: Path) -> tuple[str, ...]:
    home = spec.folder.resolve()
    stands_for = {"folder": str(folder), "calculator_folder": str(home)}
    for name, files in [("input_file", [*spec.files]), ("output_file", [*spec.output_files])]:
        if len(files) == 1:
            stands_for[name] = str(folder / files[0])
    program, *rest = (PLACEHOLDER.sub(lambda m: stands_for[m[1]], part) for part in spec.argv)
    if len(Path(program).parts) > 1 or program.startswith("."):
        program = str(home / program)
    return (program, *rest)


def _written(folder: Path, spec: ProgramSpec) -> dict[str, bytes]:
    """The output files that are there, each up to one byte beyond the limit."""
    files: dict[str, bytes] = {}
    for name in spec.output_files:
        if (folder / name).is_file():
            with (folder / name).open("rb") as file:
                files[name] = file.read(spec.output_limit + 1)
    return files


def _judged(
    spec: ProgramSpec,
    argv: tuple[str, ...],
    sent: Prepared,
    outcome: Outcome,
    files: dict[str, bytes],
) -> RawAnswer:
    refused = outcome.failure is None and outcome.exit_code in spec.refusal_exit_codes
    failure, detail = _failure(spec, outcome, files, refused)
    texts: dict[str, str] = {}
    if failure is None:
        try:
            texts = _texts(spec, outcome, files)
        except UnicodeDecodeError as error:
            failure, detail = "garbage", f"the output is no text in {spec.encoding}: {error}"
    return RawAnswer(
        argv=argv,
        sent=sent,
        stdout=outcome.stdout,
        stderr=outcome.stderr,
        files={name: content[: spec.output_limit] for name, content in files.items()},
        texts=texts,
        exit_code=outcome.exit_code,
        signal=outcome.signal,
        seconds=outcome.seconds,
        refused=refused,
        failure=failure,
        detail=detail,
    )


def _failure(
    spec: ProgramSpec, outcome: Outcome, files: Mapping[str, bytes], refused: bool
) -> tuple[ProgramFailure | None, str]:
    for name, content in files.items():
        if len(content) > spec.output_limit:
            return "output limit", f"wrote more than {spec.output_limit} bytes to {name}"
    if outcome.failure is not None:
        return outcome.failure, outcome.detail
    if refused:
        return None, ""
    if outcome.exit_code not in spec.answer_exit_codes:
        return "exit code", f"ended with exit code {outcome.exit_code}{_last_words(outcome)}"
    for name in spec.output_files:
        if name not in files:
            return "no output file", f"did not write {name}{_last_words(outcome)}"
    return None, ""


def _last_words(outcome: Outcome, size: int = 500) -> str:
    words = outcome.stderr[-size:].decode("utf-8", "replace").strip()
    return f"; it wrote on stderr: {words}" if words else ""


def _texts(spec: ProgramSpec, outcome: Outcome, files: Mapping[str, bytes]) -> dict[str, str]:
    texts = {name: content.decode(spec.encoding) for name, content in files.items()}
    beside = "replace" if spec.output_files else "strict"
    return {"stdout": outcome.stdout.decode(spec.encoding, beside), **texts}
