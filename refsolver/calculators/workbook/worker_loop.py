"""The worker's side of an engine: one line of JSON in, one out, until the input ends.

Standard library only, and nothing newer than Python 3.10: one of the workers runs under the
system's own Python. A *book* is an engine's way of holding one workbook:

``open(path)``
    open the workbook, recalculate it, return what is to be answered;
``plan(cells)``
    prepare a list of ``[sheet, row, column]`` for repeated use;
``put(plan, values)``
    set the planned cells; :data:`OWN` puts the file's own contents back;
``recalculate()``, ``values(plan)``, ``shown(plan)``
    one recalculation; the stored values; the displayed texts or None;
``restore()``
    put the file's own contents back into every cell that was set;
``export(path)``
    write the workbook, as it is, to another file as .xlsx;
``close()``
    let go of everything.

Values travel as a number, a text, true or false, null for a blank, ``["#N/A"]`` for an
error. A question that cannot be answered gets ``{"refused": why}``; anything unexpected,
a panic of native code included, gets ``{"died": why}`` and ends the process, because the
state of the book is then in doubt.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any, BinaryIO

__all__ = ["OWN", "Refused", "claim_stdout", "serve", "write_line"]

OWN: list[Any] = []
"""In place of a value: the file's own contents of the cell."""


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
        return book.values(book.plan(question["cells"]))
    if what == "show":
        return book.shown(book.plan(question["cells"]))
    if what == "reset":
        return _reset(book)
    if what == "run":
        return _run(book, question)
    if what == "export":
        return book.export(question["path"])
    raise Refused(f"no such question: {what!r}")


def _reset(book: Any) -> None:
    book.restore()
    book.recalculate()


def _run(book: Any, question: dict[str, Any]) -> list[list[Any]]:
    """One pair of lists (values, texts) for each case; see ``WorkbookEngine.run``.

    ``blanks`` are the cells that every case leaves blank, set once for all.
    """
    book.restore()
    blanks, inputs, reads, shows = (
        book.plan(question[k]) for k in ("blanks", "cells", "reads", "shows")
    )
    book.put(blanks, [None] * len(question["blanks"]))
    results = []
    for case in question["cases"]:
        book.put(inputs, case)
        book.recalculate()
        results.append([book.values(reads), book.shown(shows)])
    _reset(book)
    return results
