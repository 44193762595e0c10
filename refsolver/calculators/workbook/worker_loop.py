"""The worker's side of an engine: one line of JSON in, one out, until the input ends.

Standard library only, and nothing newer than Python 3.10: one of the workers runs under the
system's own Python. A *book* is an engine's way of holding one workbook:

``open(path)``
    open the workbook, recalculate it, return what is to be answered;
``plan(cells)``
    prepare a list of ``[sheet, row, column]`` for repeated use;
``put(plan, values)``
    set the planned cells; :data:`OWN` puts the file's own contents back;
``recalculate()``
    one recalculation;
``read(plan, shown)``
    the stored values, and of the first ``shown`` cells the displayed texts or None;
``restore()``
    put the file's own contents back into every cell that was set;
``renewed()``
    open the workbook anew where it goes on from its last results; whether that was done, so that
    every plan is void;
``export(path)``
    write the workbook, as it is, to another file as .xlsx;
``close()``
    let go of everything.

Values travel as a number, a text, true or false, null for a blank, ``["#N/A"]`` for an
error; those of many cases as :func:`packed` puts them. A question that cannot be answered
gets ``{"refused": why}``; anything unexpected, a panic of native code included, gets
``{"died": why}`` and ends the process, because the state of the book is then in doubt.
"""

from __future__ import annotations

import json
import math
import os
import sys
import time
from array import array
from base64 import b64decode, b64encode
from collections.abc import Sequence
from typing import Any, BinaryIO

__all__ = ["OWN", "Refused", "claim_stdout", "packed", "serve", "unpacked", "write_line"]

OWN: list[Any] = []
"""In place of a value: the file's own contents of the cell."""

_IN_DOUBLES = {float, type(None)}


def packed(values: Sequence[Any]) -> dict[str, Any]:
    """Many values for one line of JSON: finite numbers and blanks in binary, the rest beside."""
    others: list[list[Any]] = []
    if not _IN_DOUBLES.issuperset(map(type, values)):
        others = [[i, value] for i, value in enumerate(values) if type(value) not in _IN_DOUBLES]
        values = [value if type(value) is float else None for value in values]
    doubles = array("d", [math.nan if value is None else value for value in values])
    return {"doubles": b64encode(doubles).decode("ascii"), "others": others}


def unpacked(data: dict[str, Any]) -> list[Any]:
    """The values that :func:`packed` put together. ValueError where they are not that."""
    doubles = array("d")
    doubles.frombytes(b64decode(data["doubles"]))
    values: list[Any] = [None if value != value else value for value in doubles]
    for index, value in data["others"]:
        values[index] = value
    return values


class Refused(Exception):
    """The question cannot be answered, but the next one may be."""


def claim_stdout() -> BinaryIO:
    """The stdout of this process for answers alone: what else is printed goes to stderr."""
    sys.stdout.flush()
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return answers


def write_line(answers: BinaryIO, obj: Any) -> None:
    answers.write(json.dumps(obj, allow_nan=False).encode() + b"\n")
    answers.flush()


def serve(book: Any, answers: BinaryIO) -> None:
    """Answer the questions on stdin until it ends."""
    try:
        for line in sys.stdin.buffer:
            if not _answer(book, answers, json.loads(line)):
                return
    finally:
        book.close()


def _answer(book: Any, answers: BinaryIO, question: dict[str, Any]) -> bool:
    """Answer one question; False where the process must end."""
    try:
        answer = {"done": _do(book, question)}
    except Refused as error:
        answer = {"refused": str(error)}
    except BaseException as error:  # a panic of native code is no Exception
        write_line(answers, {"died": f"{type(error).__name__}: {error}"})
        return False
    write_line(answers, answer)
    return True


def _do(book: Any, question: dict[str, Any]) -> Any:
    what = question["do"]
    if what == "open":
        return book.open(question["path"])
    if what == "set":
        return book.put(book.plan(question["cells"]), question["values"])
    if what == "recalculate":
        return book.recalculate()
    if what == "read":
        return book.read(book.plan(question["cells"]), 0)[0]
    if what == "show":
        return book.read(book.plan(question["cells"]), len(question["cells"]))[1]
    if what == "reset":
        return _reset(book)
    if what == "run":
        return _run(book, question)
    if what == "export":
        return book.export(question["path"])
    raise Refused(f"no such question: {what!r}")


def _reset(book: Any) -> None:
    if book.renewed():
        return
    book.restore()
    book.recalculate()


def _run(book: Any, question: dict[str, Any]) -> dict[str, Any]:
    """Each case in turn: its cells set, one recalculation, what is asked read.

    None begins from the results of the one before it.

    ``rows`` are the packed values of ``cells`` in one case after the other, and so are the
    ``values`` of ``reads`` in the answer; ``texts`` are those of the first ``shown`` of them.
    ``seconds`` is what it took.
    """
    begun = time.monotonic()
    if not book.renewed():
        book.restore()
    inputs, reads = book.plan(question["cells"]), book.plan(question["reads"])
    shown = question["shown"]
    given, width = unpacked(question["rows"]), len(question["cells"])
    values: list[Any] = []
    texts: list[str | None] = []
    for case in range(question["count"]):
        if case and book.renewed():
            inputs, reads = book.plan(question["cells"]), book.plan(question["reads"])
        book.put(inputs, given[case * width : (case + 1) * width])
        book.recalculate()
        found, shows = book.read(reads, shown)
        values += found
        texts += shows
    _reset(book)
    seconds = time.monotonic() - begun
    return {"values": packed(values), "texts": texts, "seconds": seconds}
