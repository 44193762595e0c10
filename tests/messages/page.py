"""The page of all messages (reports/messages.md): by what was given, then by the alphabet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import groupby
from pathlib import Path

import attrs

from refsolver.catalogue.userfile import write_text
from tests.messages.blanks import filled
from tests.messages.collecting import ASKS, Message, Part, messages

__all__ = ["PAGE", "Row", "kind_of", "page", "rows", "write"]

PAGE = Path(__file__).resolve().parents[2] / "reports" / "messages.md"

_KINDS = {
    "Any file": ["catalogue/userfile", "runs/problems"],
    "A file given in place of another": ["catalogue/recognising"],
    "Any file in TOML": ["catalogue/toml"],
    "Case file": ["catalogue/", "statics/"],
    "List of sources": ["catalogue/works"],
    "Numbers, units and angles": ["quantities/"],
    "Which answer, and what is taken from it": ["quantities/views"],
    "Calculator file": ["calculators/", "checking/", "runs/check", "runs/several"],
    "Calculator file: what a program is given and what is read from it": [
        "calculators/inputtext", "calculators/outputtext", "calculators/program",
    ],
    "Workbook": [
        "calculators/by_workbook", "calculators/mapped_workbook", "calculators/workbook/",
    ],
    "Drafting a calculator file": ["calculators/drafting/", "runs/drafting"],
    "Answer sheet": ["calculators/answer_sheet"],
    "Folder of exchange": ["calculators/by_exchange", "runs/exchanging"],
    "Record": ["records/", "reporting/"],
    "Signature and keys": ["records/signing"],
    "Folder of results, and going on with a run": [
        "records/journal", "records/locking", "runs/campaign_log", "runs/crew",
    ],
    "Options and names on the command line": ["catalogue/listing", "commands", "runs/"],
    "PDF": ["reporting/pdf"],
    "Tests of your own Python function": ["testing"],
}  # fmt: skip
"""What was given, and how the modules that speak of it begin; the longest beginning counts."""

_HEAD = """\
# Error messages and what to do

Every message with which this program declines what it was given, collected from its code by
`python -m tests.messages`. What differs from one time to the next stands in *CAPITALS*: *FILE*
is the file that was given, *KEY* the place in it, as `family[2].input[1].unit` (counted from 1),
*REASON* what another message of this page, a library or the operating system says. Find a
message by the kind of input, then by its first words that stand still.

Where the last column is empty, the message itself names what is expected. What is wrong with
an option as such (its name, a missing value) is said by the library click in its own words;
what a calculator did wrong is no error of this kind, and stands in the report.
"""

_NOTES = {
    "Any file in TOML": "Case files, calculator files and the list of sources are TOML.",
    "Numbers, units and angles": (
        "Such a message begins with `cannot read the value 'TEXT'` (or `the unit`), and shows the "
        "text with a caret under the character at fault."
    ),
}


@attrs.frozen
class Row:
    """A message as the page has it, as Markdown; ``place`` is where it says it arises."""

    kind: str
    place: str
    what: str
    mend: str

    @property
    def order(self) -> tuple[str, str]:
        """By the first words that are no blank."""
        steady = re.sub(r"\*[^*]+\*", "", self.what)
        return (re.sub(r"[^a-z0-9]+", " ", steady.casefold()).strip(), self.place)


def kind_of(module: str) -> str:
    """What kind of input the messages of a module are about. Raises LookupError."""
    begun = {m: kind for kind, modules in _KINDS.items() for m in modules if module.startswith(m)}
    if not begun:
        raise LookupError(f"say in {__name__}._KINDS what the messages of {module} are about")
    return begun[max(begun, key=len)]


@cache
def rows() -> list[Row]:
    """Each message once, in the order of the page."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for message in messages():
        row = _row(message)
        if re.search(r"[a-z]{2}", row.order[0] + row.mend):  # else it only hands on another one
            places = found.setdefault((row.kind, row.what, row.mend), [])
            places.extend([row.place] if row.place not in places else [])
    merged = [
        Row(k, "; ".join(filter(None, p)), what, mend) for (k, what, mend), p in found.items()
    ]
    kinds = list(_KINDS)
    return sorted(merged, key=lambda row: (kinds.index(row.kind), row.order))


def _row(message: Message) -> Row:
    place, what, mend = (
        _shown(part, message.module) for part in (message.where, message.what, message.mend)
    )
    inner = _PLACE.match(what)
    if inner:
        place, what = place + inner[0], what[inner.end() :]
    if not mend:
        what, mend = _told_apart(what)
    return Row(kind_of(message.module), place.rstrip(": "), what, mend)


_STEP = r"(?:[\w.!/-]|\*[A-Z ]+\*|\\.)+(?:\[[^\]]*\])?"
_PLACE = re.compile(
    rf"(?:(?:(?:input|output|line) )?{_STEP}: )*(?:(?:input|output|line) )?{_STEP}: "
)
"""What stands before the message itself: a file, a key in it, both."""


_NAMES_ANOTHER = re.compile(
    r"refsolver \w+|on Debian|pip install|known: |there are |it has |LibreOffice Calc is needed"
    r"|\*(?:DID YOU MEAN|WHAT IS KNOWN)"
)
"""What leads to the mend without asking for it."""


def _told_apart(text: str) -> tuple[str, str]:
    """What is wrong and what to do, of a message that says both in one text."""
    for end in re.finditer(r"(?<!one of)(?:[;:,|.] | ?\()\s*(?=\S)", text):
        rest = text[end.end() :]
        if ASKS.match(rest) or _NAMES_ANOTHER.match(rest):
            bracket = text[: end.end()].rstrip().endswith("(") and rest.endswith(")")
            return text[: end.start()], rest[:-1] if bracket else rest
    return text, ""


def _shown(parts: tuple[Part, ...], module: str) -> str:
    shown: list[str] = []
    for part in parts:
        words, blank = (part, False) if isinstance(part, str) else filled(part, module)
        words = re.sub(r"([*|<`\\])", r"\\\1", words)
        if blank and words in ("DID YOU MEAN ...?", "WHAT IS KNOWN") and shown:
            shown.append("" if shown[-1].endswith((" ", "; ")) else "; ")
        shown.append(f"*{words}*" if blank else words)
    return "".join(shown).replace("\n", " ").replace("**", "* *")


def page() -> str:
    """The whole page."""
    lines = [_HEAD.rstrip()]
    for kind, told in groupby(rows(), key=lambda row: row.kind):
        note = [_NOTES[kind], ""] if kind in _NOTES else []
        lines += ["", f"## {kind}", "", *note, *_table(list(told))]
    return "\n".join(lines) + "\n"


def _table(told: list[Row]) -> Iterator[str]:
    """Without the column of places where none is named."""
    placed = any(row.place for row in told)
    heads = ["where", "message", "what to do"]
    for cells in (heads, ["---"] * 3, *([row.place, row.what, row.mend] for row in told)):
        yield f"| {' | '.join(cells if placed else cells[1:])} |"


def write() -> None:
    """The page, where it is committed."""
    write_text(PAGE, page())
