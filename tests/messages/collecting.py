"""Every message of this program that a person has to mend, collected from the code.

A message is what is handed to an error that the command line prints as a sentence
(``UNUSABLE_INPUT``) or to a complaint about a file, and what a function named ``..._problem`` or
a table named ``_MENDS`` says for others to hand on. A text chosen by a condition, or by the
branches before it, gives one message for each choice.
"""

from __future__ import annotations

import ast
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

import attrs

import refsolver

__all__ = ["ASKS", "ERRORS", "PACKAGE", "Message", "Part", "messages"]

PACKAGE = Path(refsolver.__file__).parent

Part = str | ast.expr
"""Words, or the code of what is filled in."""

_ROLES = {
    "Complaint": ("where", "where", "what", "mend"),
    "complain": ("where", "what", "mend"),
    "problem": ("where", "what"),
    "LiteralError": ("", "", "what", "mend"),
    "UnitError": ("", "", "what", "mend"),
    "error": ("what", "mend"),
    "_error": ("what", "mend"),
    "FileUnreadable": ("where", "what"),
    "WorkbookUnreadable": ("where", "what"),
}
"""What is handed to an error in which place, where it is not one text."""

ERRORS = {
    *_ROLES, "CalculatorFileError", "CaseFileError", "CriterionError", "EngineAbsent",
    "FolderInUse", "JournalError", "LostWorker", "NoGenerator", "NothingListed",
    "PatternProblem", "PdfError", "ProgramProblem", "RecordError", "ReferenceCaseError",
    "ReferenceProblem", "ReportError", "SheetProblem", "SigningError", "TemplateProblem",
    "UnknownCase", "UnknownFamily", "UsageError", "ViewError",
}  # fmt: skip

_VERBS = (
    "write", "give", "say", "state", "name", "save", "copy", "use", "choose", "run", "rename",
    "put", "remove", "move", "make", "take", "check", "change", "raise", "install", "shorten",
    "reinstall", "print", "read", "open", "wait", "leave", "decide", "settle", "strike", "keep",
    "spell", "add", "convert", "map", "quote", "set", "start", "close", "let", "look", "end",
    "ask", "hand", "complete", "unlock", "multiply", "have", "verify", "solve", "go",
)  # fmt: skip
_VERB = rf"(?:{'|'.join(_VERBS)})\b"
ASKS = re.compile(
    rf"(?:^|[;:,(|.]\s+|\b(?:or|and|first|then|to)\s+|writes? ){_VERB}", re.IGNORECASE
)
"""Where a message asks for something: a verb where a clause begins."""

_MOST_CHOICES = 12
"""More than these are not told one by one."""


@attrs.frozen
class Message:
    """``module`` within the package; where it arises, what it says, and its mend if it is apart."""

    module: str
    line: int
    where: tuple[Part, ...]
    what: tuple[Part, ...]
    mend: tuple[Part, ...]

    @property
    def words(self) -> str:
        """All of it, what is filled in as ``{code}``."""
        parts = (self.where, self.what, self.mend)
        return " | ".join(t for t in map(_with_code, parts) if t)


@cache
def messages() -> tuple[Message, ...]:
    """Every message, in the order of the code."""
    return tuple(_messages())


def _messages() -> Iterator[Message]:
    for path in sorted(PACKAGE.rglob("*.py")):
        module = path.relative_to(PACKAGE).as_posix()
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node, function in _within_functions(tree, None):
            if isinstance(node, ast.Call):
                found = _of_call(node, function)
            elif isinstance(node, ast.Return) and function and _hands_on(function.name):
                found = _of_answer(node.value)
            elif isinstance(node, ast.Assign) and _names(node) == ["_MENDS"]:
                found = _of_table(node.value)
            else:
                continue
            line = getattr(node, "lineno", 0)
            yield from (Message(module, line, *parts) for parts in found)


_Parts = tuple[Part, ...]
_Function = ast.FunctionDef | ast.AsyncFunctionDef


def _within_functions(
    node: ast.AST, function: _Function | None
) -> Iterator[tuple[ast.AST, _Function | None]]:
    """Each node with the function it stands in."""
    for child in ast.iter_child_nodes(node):
        yield child, function
        inner = child if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef) else function
        yield from _within_functions(child, inner)


def _hands_on(name: str) -> bool:
    return name == "said" or name.endswith("problem")


def _names(node: ast.Assign) -> list[str]:
    return [target.id for target in node.targets if isinstance(target, ast.Name)]


def _of_answer(node: ast.expr | None) -> Iterator[tuple[_Parts, _Parts, _Parts]]:
    if node is not None and _is_text(node):
        yield from (((), text, ()) for text in texts(node, {}) if text != ("",))


def _of_table(node: ast.expr) -> Iterator[tuple[_Parts, _Parts, _Parts]]:
    for value in node.values if isinstance(node, ast.Dict) else ():
        yield from (((), text, ()) for text in texts(value, {}))


def _of_call(call: ast.Call, function: _Function | None) -> Iterator[tuple[_Parts, _Parts, _Parts]]:
    called = getattr(call.func, "attr", getattr(call.func, "id", ""))
    if called not in ERRORS:
        return
    roles = _ROLES.get(called, ("what",))
    given = {
        role: [a for r, a in zip(roles, call.args, strict=False) if r == role] for role in roles
    }
    given |= {k.arg: [k.value] for k in call.keywords if k.arg in roles}
    wanted = {n.id for part in ("what", "mend") for a in given.get(part, ()) for n in _blanks(a)}
    for bound in _bindings(function, wanted, call):
        parts = [
            [text for a in given.get(role, ()) for text in texts(a, bound)] or [()]
            for role in ("what", "mend")
        ]
        where = tuple(p for a in given.get("where", ()) for p in _where(a))
        for what, mend in itertools.product(*parts):
            if any(isinstance(p, str) and p.strip() for p in (*what, *mend)):
                yield where, what, mend


def _where(node: ast.expr) -> Iterator[Part]:
    """The path and the key of a complaint, with a colon behind each."""
    text = next(texts(node, {}))
    if text != ("",):
        yield from (*text, ": ")


def _blanks(node: ast.expr) -> Iterator[ast.Name]:
    """Local names that stand for a text, or for a part of one."""
    if isinstance(node, ast.Name):
        yield node
    elif isinstance(node, ast.JoinedStr):
        for value in node.values:
            if isinstance(value, ast.FormattedValue):
                yield from _blanks(value.value)


def _bindings(
    function: _Function | None, names: set[str], call: ast.Call
) -> list[Mapping[str, ast.expr]]:
    """What the function puts into these names before the call, where all of it is literal.

    Of the blocks around the call the innermost counts; without one, every branch before it.
    """
    found: list[Mapping[str, ast.expr]] = []
    around: Mapping[str, ast.expr] = {}
    for block in _blocks(function) if function and names else ():
        here = dict(pair for statement in block for pair in _assigned(statement))
        here = {name: value for name, value in here.items() if name in names and _is_text(value)}
        if here:
            found.append(here)
        if here and any(node is call for statement in block for node in ast.walk(statement)):
            around = here
    if around:
        return [around]
    most = max(map(len, found), default=0)
    return [here for here in found if len(here) == most][:_MOST_CHOICES] or [{}]


def _blocks(function: _Function) -> Iterator[list[ast.stmt]]:
    for node in ast.walk(function):
        for name in ("body", "orelse", "finalbody"):
            block = getattr(node, name, None)
            if isinstance(block, list):
                yield block


def _assigned(statement: ast.stmt) -> Iterator[tuple[str, ast.expr]]:
    if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
        return
    target, value = statement.targets[0], statement.value
    pairs = [(target, value)]
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        pairs = list(zip(target.elts, value.elts, strict=False))
    yield from ((t.id, v) for t, v in pairs if isinstance(t, ast.Name))


def _is_text(node: ast.expr) -> bool:
    if isinstance(node, ast.IfExp):
        return all(_is_text(x) or _is_none(x) for x in (node.body, node.orelse))
    if isinstance(node, ast.BinOp):
        return _is_text(node.left) or _is_text(node.right)
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def texts(node: ast.expr | None, bound: Mapping[str, ast.expr]) -> Iterator[_Parts]:
    """The texts an expression may be, each as its words and the code between them."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield (node.value,)
    elif isinstance(node, ast.JoinedStr):
        for parts in itertools.product(*(list(texts(v, bound)) for v in node.values)):
            yield tuple(itertools.chain.from_iterable(parts))
    elif isinstance(node, ast.FormattedValue):
        yield from texts(node.value, bound)
    elif isinstance(node, ast.BinOp) and (_is_text(node.left) or _is_text(node.right)):
        for left, right in itertools.product(texts(node.left, bound), texts(node.right, bound)):
            yield left + right
    elif isinstance(node, ast.IfExp) and _is_text(node):
        yield from (*texts(node.body, bound), *texts(node.orelse, bound))
    elif isinstance(node, ast.BoolOp) and _is_text(node.values[-1]):
        yield from texts(node.values[-1], bound)
    elif isinstance(node, ast.Name) and node.id in bound:
        yield from texts(bound[node.id], {})
    elif node is not None and not _is_none(node):
        yield (node,)


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _with_code(parts: Iterable[Part]) -> str:
    return "".join(p if isinstance(p, str) else "{" + ast.unparse(p) + "}" for p in parts)
