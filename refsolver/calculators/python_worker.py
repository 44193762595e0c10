"""A user's Python function behind a pipe, and the other end of that pipe.

Run as a script it imports MODULE from DIR and answers lines of JSON::

    python -m refsolver.calculators.python_worker MODULE:FUNCTION --path DIR [--arrays]

    {"call": fields}                      -> {"result": value} or {"exception": {...}}
    {"calls": [fields, ...]}              -> {"results": [one such answer for each]}
    {"columns": [...], "count": number}   -> the same, or with --arrays one such answer for all

The first line it prints, ``{"ready": {"python": ..., "file": ..., "beside": [...]}}``, says
that the function was found, and what was loaded from DIR for it; where it was not, the reason
stands on stderr and the exit status is 2. What is loaded from DIR is compiled from its source:
a cached compilation may be another program than the file whose hash is taken.

The function gets one dict of plain numbers, texts, lists and dicts and returns a dict or a
number. What it prints goes to stderr and it finds nothing on stdin, so neither can disturb
the answers.

Columns hand over many cases of one form at once, field by field: each is [steps, value], the
steps names and row numbers from 0, the value {"doubles": base64 of little-endian binary64},
{"items": [one a case]} or what all cases have. With ``--arrays``, which takes nothing else,
the function is called once for all of them. A field is then a numpy array over the cases,
the rows of a table along its further axes (``case["pulls"]["size"][:, 0]``); a blank is NaN.
It returns such arrays, or a dict of them, which come back in the forms above, an array of
doubles with its ``shape``.

On the pipe a number is ``{"number": text, "type": ...}``, exact: a double in the shortest
decimal form that reads back as the same double, a decimal as it stands, a fraction as
``p/q``; NaN and infinities as ``nan``, ``inf``, ``-inf``. A dict is ``{"fields": {...}}``;
lists, texts, booleans and null stand for themselves. :func:`decoded` undoes this.

The script uses the standard library alone, so that the user's own interpreter can run it.
"""

from __future__ import annotations

import argparse
import array
import base64
import dataclasses
import importlib
import importlib.machinery
import json
import operator
import os
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from types import CodeType
from typing import IO, TYPE_CHECKING, Any, Literal, TypeAlias

if TYPE_CHECKING:
    from refsolver.calculators.worker import Worker

__all__ = ["Returned", "ReturnedNumber", "decoded", "open_python"]

PROCESS = os.getpid()
"""The process whose answers count."""

NumberType: TypeAlias = Literal["float", "int", "decimal", "fraction"]


@dataclasses.dataclass(frozen=True)
class ReturnedNumber:
    """A number as the function returned it.

    ``text`` is exact (see the module docstring); ``type`` says what it was: ``float`` for a
    double or narrower, ``fraction`` also for floating types wider than a double.
    """

    text: str
    type: NumberType


Returned: TypeAlias = "ReturnedNumber | str | bool | None | list[Returned] | dict[str, Returned]"


def open_python(
    function: str,
    path: str | os.PathLike[str],
    limit: float = 30.0,
    *,
    arrays: bool = False,
    interpreter: str = sys.executable,
    output_limit: int = 64_000_000,
) -> Worker:
    """A started worker that calls ``function`` ("module:function") found in folder ``path``.

    The folder is also the function's working folder. ``limit`` is the time allowed for
    starting and importing. Raises WorkerFailure where the function cannot be imported; its
    detail carries the reason.
    """
    from refsolver.calculators.worker import Worker

    folder = Path(path).resolve()
    # By file and with -P, so that no folder of ours hides a module of the user's.
    argv = [interpreter, "-P", str(Path(__file__).resolve()), function, "--path", str(folder)]
    worker = Worker(
        argv + (["--arrays"] if arrays else []),
        cwd=folder,
        start_limit=limit,
        output_limit=output_limit,
        greets=True,
    )
    _ = worker.greeting
    return worker


def decoded(value: Any) -> Returned:
    """A returned value as read from the pipe, with numbers as :class:`ReturnedNumber`."""
    if isinstance(value, list):
        return [decoded(item) for item in value]
    if not isinstance(value, dict):
        text: str | bool | None = value
        return text
    if "number" in value:
        return ReturnedNumber(value["number"], value["type"])
    return {name: decoded(item) for name, item in value["fields"].items()}


class CannotHandOver(TypeError):
    """The function returned something that is neither a number, a text nor made of them."""


def encoded(value: object, where: str = "") -> Any:
    """``value`` in the form it has on the pipe; ``where`` is its place in the result."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return str(value)
    number = _number(value, where)
    if number is not None:
        return number
    if hasattr(value, "dtype") and hasattr(value, "tolist"):
        return encoded(value.tolist(), where)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _fields({f.name: getattr(value, f.name) for f in dataclasses.fields(value)}, where)
    if hasattr(value, "_asdict"):
        return _fields(value._asdict(), where)
    if isinstance(value, Mapping):
        return _fields(value, where)
    if isinstance(value, (list, tuple)):
        return [encoded(item, f"{where}[{i}]") for i, item in enumerate(value)]
    raise CannotHandOver(
        f"{where or 'the result'} is of type {type(value).__name__}: return numbers, texts, "
        "lists and dicts of them"
    )


def _number(value: object, where: str) -> dict[str, str] | None:
    """The exact form of a number; None for anything else."""
    if isinstance(value, int):
        try:
            return _form(int.__repr__(value), "int")
        except ValueError as error:
            raise CannotHandOver(f"{where or 'the result'}: {error}") from error
    if isinstance(value, float):
        return _form(float.__repr__(value), "float")
    if isinstance(value, Decimal):
        return _form(str(value).lower() if not value.is_finite() else str(value), "decimal")
    if isinstance(value, Fraction):
        return _form(str(value), "fraction")
    if hasattr(value, "dtype") and type(value.tolist()) is not type(value):  # type: ignore[attr-defined]
        return None  # numpy converts it to one of the types above
    if hasattr(value, "as_integer_ratio"):
        try:
            return _form(str(Fraction(*map(int, value.as_integer_ratio()))), "fraction")
        except (ValueError, OverflowError):
            return _form(str(value).lower(), "float")
    return None


def _form(text: str, kind: NumberType) -> dict[str, str]:
    return {"number": text, "type": kind}


def _fields(value: Mapping[Any, object], where: str) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for key, item in value.items():
        name = _key(key, where)
        if name in fields:
            raise CannotHandOver(f"{where or 'the result'} has the key {name} twice")
        fields[name] = encoded(item, f"{where}.{name}" if where else name)
    return {"fields": fields}


def _key(key: object, where: str) -> str:
    """A text as it stands, or a whole number as text (joints are often numbered)."""
    if isinstance(key, str):
        return str(key)
    if isinstance(key, bool) or not hasattr(key, "__index__"):
        raise CannotHandOver(f"{where or 'the result'} has the key {key!r}: use a text")
    return str(operator.index(key))


Answer: TypeAlias = dict[str, Any]
Function: TypeAlias = Callable[[dict[str, Any]], object]


def _exception(error: BaseException) -> Answer:
    frames = traceback.extract_tb(error.__traceback__)
    where = f"{frames[-1].filename}:{frames[-1].lineno}" if frames else ""
    return {"exception": {"type": type(error).__name__, "message": str(error), "where": where}}


def _called(function: Function, fields: dict[str, Any]) -> Answer:
    try:
        answer = {"result": encoded(function(fields))}
    except BaseException as error:  # sys.exit() in a calculator is an answer too
        answer = _exception(error)
    _end_unless_worker()
    return answer


def _end_unless_worker() -> None:
    """Where the function forked, its other half came back too; it has nothing to answer."""
    if os.getpid() != PROCESS:
        os._exit(0)


Steps: TypeAlias = list[str | int]


def _cases(columns: Sequence[tuple[Steps, Any]], count: int) -> list[dict[str, Any]]:
    """The cases of the columns, each as the dict that a function gets."""
    cases: list[dict[str, Any]] = [{} for _ in range(count)]
    for steps, value in columns:
        ways = [
            (step, isinstance(after, int)) for step, after in zip(steps, steps[1:], strict=False)
        ]
        last = steps[-1]
        for case, item in zip(cases, _items(value, count), strict=True):
            here: Any = case
            for step, listed in ways:
                here = _entered(here, step, listed)
            if isinstance(last, int):
                here.extend([None] * (last + 1 - len(here)))
            here[last] = item
    return cases


def _entered(here: Any, step: str | int, listed: bool) -> Any:
    """The list or dict at a step, made where it is not there yet."""
    if isinstance(step, int):
        here.extend([None] * (step + 1 - len(here)))
        if here[step] is None:
            here[step] = [] if listed else {}
    elif step not in here:
        here[step] = [] if listed else {}
    return here[step]


def _items(value: Any, count: int) -> Sequence[Any]:
    if not isinstance(value, dict):
        return [value] * count
    if "items" in value:
        items: list[Any] = value["items"]
        return items
    doubles = array.array("d", base64.b64decode(value["doubles"]))
    if sys.byteorder == "big":
        doubles.byteswap()
    return doubles


def _arrays(columns: Sequence[tuple[Steps, Any]], count: int) -> dict[str, Any]:
    """The columns as a function of arrays gets them."""
    fields: dict[tuple[str, ...], dict[tuple[int, ...], Sequence[Any]]] = {}
    for steps, value in columns:
        names = tuple(step for step in steps if isinstance(step, str))
        rows = tuple(step for step in steps if isinstance(step, int))
        fields.setdefault(names, {})[rows] = _items(value, count)
    root: dict[str, Any] = {}
    for names, cells in fields.items():
        here = root
        for name in names[:-1]:
            here = here.setdefault(name, {})
        here[names[-1]] = _array(cells, count)
    return root


def _array(cells: Mapping[tuple[int, ...], Sequence[Any]], count: int) -> Any:
    import numpy as np

    whole: Any
    texts = any(isinstance(x, str) for items in cells.values() for x in items[:1])
    size = [max(rows) + 1 for rows in zip(*cells, strict=True)]
    if texts:
        longest = max(len(str(x)) for items in cells.values() for x in items)
        whole = np.full((count, *size), "", dtype=f"<U{max(1, longest)}")
    else:
        whole = np.full((count, *size), np.nan)
    for rows, items in cells.items():
        whole[(slice(None), *rows)] = [x or "" for x in items] if texts else items
    return whole


def _called_with_arrays(
    function: Function, columns: Sequence[tuple[Steps, Any]], count: int
) -> Answer:
    """One call for all cases."""
    try:
        answer = {"result": _encoded_arrays(function(_arrays(columns, count)), count, "")}
    except BaseException as error:
        answer = _exception(error)
    _end_unless_worker()
    return answer


def _encoded_arrays(value: Any, count: int, where: str) -> Any:
    import numpy as np

    if isinstance(value, Mapping):
        return {
            "fields": {
                _key(key, where): _encoded_arrays(item, count, f"{where}.{key}".lstrip("."))
                for key, item in value.items()
            }
        }
    whole = value if isinstance(value, (np.ndarray, list, tuple)) else None
    if whole is None or len(np.shape(whole) or ()) == 0 or len(whole) != count:
        raise CannotHandOver(
            f"{where or 'the result'} must be an array with one value for each of {count} cases"
        )
    if isinstance(whole, np.ndarray) and whole.dtype.kind == "f" and whole.dtype.itemsize <= 8:
        doubles = np.ascontiguousarray(whole, dtype="<f8")
        text = base64.b64encode(doubles.tobytes()).decode("ascii")
        return {"doubles": text, "shape": list(doubles.shape)}
    return {"items": [encoded(item, f"{where}[{i}]") for i, item in enumerate(whole)]}


class _FromSource(importlib.machinery.SourceFileLoader):
    """Compiles the source, whatever compilation of it lies in a cache."""

    def get_code(self, fullname: str) -> CodeType:
        path = self.get_filename(fullname)
        return self.source_to_code(self.get_data(path), path)


def _from_source_in(folder: str) -> Callable[[str], importlib.machinery.FileFinder]:
    """A path hook for ``folder`` and all below it."""
    home = Path(folder)
    kinds = (
        (importlib.machinery.ExtensionFileLoader, importlib.machinery.EXTENSION_SUFFIXES),
        (_FromSource, importlib.machinery.SOURCE_SUFFIXES),
    )

    def finder(entry: str) -> importlib.machinery.FileFinder:
        if not (Path(entry).is_dir() and _is_own(Path(entry), home)):
            raise ImportError(entry)
        return importlib.machinery.FileFinder(entry, *kinds)

    return finder


def _is_own(path: Path, home: Path) -> bool:
    """Whether the path is the user's own work in the folder, and no installed package there."""
    inside = path.is_relative_to(home)
    return inside and "site-packages" not in path.relative_to(home).parts


def _beside(folder: str) -> list[str]:
    """The files under ``folder`` that modules were loaded from, relative to it."""
    home = Path(folder)
    files = [getattr(module, "__file__", None) for module in list(sys.modules.values())]
    own = {Path(file) for file in files if isinstance(file, str) and _is_own(Path(file), home)}
    return sorted(path.relative_to(home).as_posix() for path in own)


def _found(reference: str, folder: str) -> tuple[Function, str]:
    """The function named "module:function" and the file of its module."""
    module_name, colon, function_name = reference.partition(":")
    if not (module_name and colon and function_name):
        raise LookupError(f"{reference!r} does not name a function: write module:function")
    sys.path.insert(0, folder)
    sys.path_hooks.insert(0, _from_source_in(folder))
    sys.path_importer_cache.clear()
    module = importlib.import_module(module_name)
    file = getattr(module, "__file__", None) or ""
    try:
        function = operator.attrgetter(function_name)(module)
    except AttributeError:
        raise LookupError(f"{file or module_name} has no function {function_name!r}") from None
    if not callable(function):
        raise LookupError(f"{reference} is not a function but {type(function).__name__}")
    return function, file


def _private_pipes() -> tuple[IO[bytes], IO[bytes]]:
    """The question and answer pipes, with standard input and output cut off from them."""
    questions, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    os.dup2(2, 1)
    return questions, answers


def _answer(request: dict[str, Any], function: Function, arrays: bool) -> Answer:
    if arrays:
        return _called_with_arrays(function, request["columns"], request["count"])
    if "call" in request:
        return _called(function, request["call"])
    calls = request.get("calls")
    if calls is None:
        calls = _cases(request["columns"], request["count"])
    return {"results": [_called(function, fields) for fields in calls]}


def _write(answers: IO[bytes], answer: object) -> None:
    answers.write(json.dumps(answer, allow_nan=False).encode() + b"\n")
    answers.flush()


def _arguments(argv: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Answers JSON lines by calling a function.")
    parser.add_argument("function", metavar="MODULE:FUNCTION")
    parser.add_argument("--path", metavar="DIR", required=True, help="folder of the module")
    parser.add_argument("--arrays", action="store_true", help="one call for a whole batch")
    return parser.parse_args(argv)


def main(argv: Sequence[str] | None = None) -> int:
    arguments = _arguments(argv)
    questions, answers = _private_pipes()
    try:
        function, file = _found(arguments.function, arguments.path)
    except BaseException as error:
        trace = "" if isinstance(error, LookupError) else traceback.format_exc()
        print(trace or error, file=sys.stderr)
        return 2
    found = {"python": sys.version.split()[0], "file": file, "beside": _beside(arguments.path)}
    _write(answers, {"ready": found})
    for line in questions:
        _write(answers, _answer(json.loads(line), function, arguments.arrays))
    return 0


if __name__ == "__main__":
    sys.exit(main())
