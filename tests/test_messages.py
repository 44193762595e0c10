"""Every message of this program that a person has to mend says what to do.

Collected from the code: each ``raise`` of an error that the command line prints as a sentence
(``UNUSABLE_INPUT``), and each complaint about a file. A message mends where it has a part that
asks for something ("write ...", "give ...", "say ..."), names what is known or expected, or
hands on what another message says. Those that state a plain fact which needs no more are named
one by one. The place is stated by a field of the message.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import refsolver

PACKAGE = Path(refsolver.__file__).parent
ERRORS = {
    "CalculatorFileError", "CaseFileError", "Complaint", "CriterionError", "EngineAbsent",
    "FileUnreadable", "FolderInUse", "JournalError", "LiteralError", "LostWorker", "NoGenerator",
    "PatternProblem", "PdfError", "ProgramProblem", "RecordError", "ReferenceProblem",
    "ReportError", "SheetProblem", "SigningError", "TemplateProblem", "UnitError", "UnknownCase",
    "UnknownFamily", "UsageError", "ViewError", "WorkbookUnreadable", "complain", "problem",
}  # fmt: skip
VERBS = (
    "write", "give", "say", "state", "name", "save", "copy", "use", "choose", "run", "rename",
    "put", "remove", "move", "make", "take", "check", "change", "raise", "install", "shorten",
    "reinstall", "print", "read", "open", "wait", "leave", "decide", "settle", "strike", "keep",
    "spell", "add", "convert", "map", "quote", "set", "start", "close", "let", "look", "end",
)  # fmt: skip
ASKS = re.compile(
    # asked for: a verb where a clause begins
    rf"(?:^|[;:,(|.]\s+|\b(?:or|and|first|then|to)\s+|writes? )(?:{'|'.join(VERBS)})\b"
    # or what is expected is named
    r"|\bexpected\b|\bneeds?\b|\bmust be\b|\bis needed\b|\b(?:are|is) missing\b"
    r"|\bat (?:least|most)\b|\bone of\b|\bnone of\b|\bis one$|\bknown\b|\bare numbered\b"
    r"|\bthere are \{|\bit has \{|\banswers \{"
    r"|apt install|pip install|refsolver \w+|did you mean|\bonly\b"
    # or another message is handed on
    r"|\{[^}]*(?:hint|near|mend|error|problem|failure|why|said|wrong|what|reason|suggestion|WANTED"
    r"|ANEW|MADE_OTHERWISE|PROTECTED|DAMAGED|MENDS|AMBIGUOUS|says)",
    re.IGNORECASE,
)
EXCEPTIONS: dict[str, str] = {}
"""Messages without a mend, by their words, and why they have none."""


def text_of(node: ast.AST) -> str | None:
    """The words of a literal message, with ``{code}`` for what is filled in."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        parts = (
            v.value if isinstance(v, ast.Constant) else "{" + ast.unparse(v.value) + "}"
            for v in node.values
            if isinstance(v, ast.Constant | ast.FormattedValue)
        )
        return "".join(str(part) for part in parts)
    if isinstance(node, ast.BinOp):
        return " ".join(t for t in map(text_of, (node.left, node.right)) if t)
    if isinstance(node, ast.IfExp):
        return " ".join(t for t in map(text_of, (node.body, node.orelse)) if t)
    return None


def messages() -> Iterator[tuple[str, str]]:
    """Place and words of each literal message."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if called not in ERRORS:
                continue
            given = (*node.args, *(k.value for k in node.keywords))
            if any(map(text_of, given)):  # what is no text itself hands on what others say
                words = [text_of(part) or f"{{{ast.unparse(part)}}}" for part in given]
                yield f"{path.relative_to(PACKAGE)}:{node.lineno}", " | ".join(words)


def test_the_messages_are_found() -> None:
    assert len(list(messages())) > 300


def test_every_message_says_what_to_do() -> None:
    silent = {words: place for place, words in messages() if not ASKS.search(words)}
    left = [f"{place}: {words}" for words, place in silent.items() if words not in EXCEPTIONS]
    assert not left, "\n".join(left)
    assert not set(EXCEPTIONS) - set(silent), "no longer there, or they say it now"


def test_no_message_speaks_of_the_inside_of_the_program() -> None:
    inside = re.compile(r"\b(None|NoneType|dict|tuple|str|KeyError|TypeError|assert)\b")
    wrong = [f"{p}: {w}" for p, w in messages() if inside.search(re.sub(r"\{[^}]*\}", "", w))]
    assert not wrong


@pytest.mark.parametrize(
    "name", sorted(ERRORS - {"Complaint", "complain", "problem", "UsageError"})
)
def test_every_error_of_the_list_is_one_of_the_package(name: str) -> None:
    assert any(
        f"class {name}" in path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py")
    )
