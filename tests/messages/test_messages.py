"""Every message of this program that a person has to mend says what to do.

A message mends where it has a part that asks for something ("write ...", "give ...",
"say ..."), names what is known or expected, or hands on what another message says. Those that
state a plain fact which needs no more are named one by one. The place is stated by a field of
the message.
"""

from __future__ import annotations

import re

import pytest

from tests.messages.collecting import ASKS, ERRORS, PACKAGE, messages
from tests.messages.page import PAGE, kind_of, page, rows

NAMES = re.compile(
    # what is expected is named
    r"\bexpected\b|\bneeds?\b|\bmust be\b|\bis needed\b|\b(?:are|is) missing\b"
    r"|\bat (?:least|most)\b|\bone of\b|\bnone of\b|\bis one$|\bknown\b|\bare numbered\b"
    r"|\bthere are \{|\bit has \{|\banswers \{"
    r"|apt install|pip install|refsolver \w+|did you mean|\bonly\b"
    # or another message is handed on
    r"|\{[^}]*(?:hint|near|mend|error|problem|failure|why|said|wrong|what|reason|suggestion|WANTED"
    r"|ANEW|MADE_OTHERWISE|PROTECTED|DAMAGED|MENDS|_WANTED|AMBIGUOUS|says|covered|another|advice|_NOT_ALLOWED)",
    re.IGNORECASE,
)
EXCEPTIONS: dict[str, str] = {}
"""Messages without a mend, by their words, and why they have none."""


def test_the_messages_are_found() -> None:
    assert len(messages()) > 400


def test_every_message_says_what_to_do() -> None:
    silent = {m.words: m for m in messages() if not (ASKS.search(m.words) or NAMES.search(m.words))}
    left = [f"{m.module}:{m.line}: {w}" for w, m in silent.items() if w not in EXCEPTIONS]
    assert not left, "\n".join(left)
    assert not set(EXCEPTIONS) - set(silent), "no longer there, or they say it now"


def test_no_message_speaks_of_the_inside_of_the_program() -> None:
    inside = re.compile(r"\b(None|NoneType|dict|tuple|str|KeyError|TypeError|assert)\b")
    shown = [f"{row.place} {row.what} {row.mend}" for row in rows()]
    assert not [words for words in shown if inside.search(words)]


@pytest.mark.parametrize(
    "name", sorted(ERRORS - {"complain", "problem", "error", "_error", "UsageError"})
)
def test_every_error_of_the_list_is_one_of_the_package(name: str) -> None:
    assert any(
        f"class {name}" in path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py")
    )


def test_the_page_is_as_the_code_is() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), (
        "reports/messages.md is stale: run python -m tests.messages"
    )


def test_each_message_stands_once_on_the_page() -> None:
    said = [(row.kind, row.what, row.mend) for row in rows()]
    assert len(said) == len(set(said))
    assert {kind_of(m.module) for m in messages()} == {kind for kind, _, _ in said}


def test_the_page_shows_no_code() -> None:
    for row in rows():
        words = f"{row.place} {row.what} {row.mend}"
        blanks = re.findall(r"(?<!\\)\*([^*]+)\*", words)
        assert all(re.fullmatch(r"[A-Z0-9][A-Z0-9 ,.?]*", blank) for blank in blanks), words
        plain = re.sub(r"(?<!\\)\*[^*]+\*", "", words)
        assert not re.search(r"self\.|\w\.\w+\(|\bjoin\b|\w\[0\]", plain), words
