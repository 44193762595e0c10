"""Small wrong changes of a module's source, one at a time.

Each :class:`Change` replaces one node of the syntax tree: a comparison swapped or its
boundary moved, an arithmetic or boolean operator exchanged, a negation left out or put in, a
constant altered, two arguments exchanged, a value returned as None, a statement removed.
Docstrings, annotations, messages of errors and what only the type checker reads are left
alone, and so are assertions: no test of behaviour can see them.
"""

from __future__ import annotations

import ast
import copy
import random
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt, ast.GtE),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt, ast.LtE),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
SYMMETRIC = ("isinstance", "issubclass", "cast", "max", "min", "gcd", "math.gcd", "math.lcm")


@dataclass
class Change:
    """One wrong change. ``key`` names it whatever its line; ``lines`` are where it can be met.

    ``inside`` says whether it lies in the body of a function, so that it can be put into a
    module already imported.
    """

    where: str
    before: str
    after: str
    lines: range
    inside: bool
    holder: Any
    field: str
    index: int | None
    replacement: ast.AST
    turn: int = 1

    @property
    def key(self) -> str:
        again = f" ({self.turn})" if self.turn > 1 else ""
        return f"{self.where}: {self.before} -> {self.after}{again}"

    @contextmanager
    def applied(self) -> Iterator[None]:
        """The tree it was found in holds the change for as long as this lasts."""
        old = self._put(self.replacement)
        try:
            yield
        finally:
            self._put(old)

    def _put(self, node: ast.AST) -> ast.AST:
        if self.index is None:
            old = getattr(self.holder, self.field)
            setattr(self.holder, self.field, node)
            return old
        place = getattr(self.holder, self.field)
        old, place[self.index] = place[self.index], node
        return old


def changes(tree: ast.Module) -> list[Change]:
    """All changes of one module, in the order of its text."""
    found = list(_Finder().module(tree))
    turns: Counter[str] = Counter()
    for change in found:
        bare = change.key
        turns[bare] += 1
        change.turn = turns[bare]
    return found


def sampled(found: list[Change], most: int, seed: str) -> list[Change]:
    """At most ``most`` of them, always the same ones for the same seed and text."""
    if len(found) <= most:
        return found
    kept = set(random.Random(seed).sample(range(len(found)), most))
    return [change for place, change in enumerate(found) if place in kept]


class _Finder:
    """Walks a module, knowing the names, statement and parent around each node."""

    def __init__(self) -> None:
        self.names: list[str] = []
        self.depth = 0

    def module(self, tree: ast.Module) -> Iterator[Change]:
        yield from self._body(tree, "body")

    def _body(self, holder: Any, field: str) -> Iterator[Change]:
        for index, statement in enumerate(getattr(holder, field)):
            if not _is_text(statement):
                yield from self._statement(statement, holder, field, index)

    def _statement(self, node: ast.stmt, holder: Any, field: str, index: int) -> Iterator[Change]:
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
            yield from self._definition(node)
            return
        if isinstance(node, (ast.Import, ast.ImportFrom)) or _unseen(node):
            return
        for other in _other_statements(node):
            yield self._change(node, other, node, holder, field, index)
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "type_comment"):
                continue
            if name in ("body", "orelse", "finalbody"):
                yield from self._body(node, name)
            elif name == "handlers":
                for handler in value:
                    yield from self._body(handler, "body")
            elif name == "cases":
                for case in value:
                    yield from self._field(case, "guard", case.guard, case.pattern)
                    yield from self._body(case, "body")
            else:
                compound = hasattr(node, "body")
                yield from self._field(node, name, value, None if compound else node)

    def _definition(self, node: Any) -> Iterator[Change]:
        for index, decorator in enumerate(node.decorator_list):
            yield from self._expression(decorator, node, "decorator_list", index, decorator)
        if not isinstance(node, ast.ClassDef):
            for field in ("defaults", "kw_defaults"):
                for index, value in enumerate(getattr(node.args, field)):
                    if value is not None:
                        yield from self._expression(value, node.args, field, index, value)
        self.names.append(node.name)
        self.depth += not isinstance(node, ast.ClassDef)
        yield from self._body(node, "body")
        self.depth -= not isinstance(node, ast.ClassDef)
        self.names.pop()

    def _field(self, holder: Any, name: str, value: Any, around: Any) -> Iterator[Change]:
        if isinstance(value, ast.expr):
            yield from self._expression(value, holder, name, None, around or value)
        elif isinstance(value, (ast.comprehension, ast.keyword, ast.withitem, ast.arguments)):
            for inner, content in ast.iter_fields(value):
                yield from self._field(value, inner, content, around)
        elif isinstance(value, list):
            for index, item in enumerate(value):
                if isinstance(item, ast.expr):
                    yield from self._expression(item, holder, name, index, around or item)
                elif isinstance(item, (ast.comprehension, ast.keyword, ast.withitem)):
                    for inner, content in ast.iter_fields(item):
                        yield from self._field(item, inner, content, around)

    def _expression(
        self, node: ast.expr, holder: Any, field: str, index: int | None, around: Any
    ) -> Iterator[Change]:
        if _typing(holder, node):
            return
        for other in _other_expressions(node, holder, field, around):
            yield self._change(node, other, around, holder, field, index)
        if isinstance(node, ast.JoinedStr):
            return
        inside = self.depth
        self.depth += isinstance(node, ast.Lambda)
        for name, value in ast.iter_fields(node):
            yield from self._field(node, name, value, around)
        self.depth = inside

    def _change(
        self, node: Any, other: ast.AST, around: Any, holder: Any, field: str, index: int | None
    ) -> Change:
        ast.copy_location(other, node)
        ast.fix_missing_locations(other)
        change = Change(
            ".".join(self.names) or "module",
            "", "", range(around.lineno, around.end_lineno + 1), self.depth > 0,
            holder, field, index, other,
        )  # fmt: skip
        shown = holder if isinstance(node, ast.Constant) and _short(holder) else node
        change.before = _text(shown)
        with change.applied():
            change.after = _text(holder if shown is holder else other)
        return change


def _text(node: ast.AST) -> str:
    return " ".join(ast.unparse(node).split())[:160]


def _short(node: ast.AST) -> bool:
    return isinstance(node, (ast.expr, ast.keyword, ast.stmt)) and len(ast.unparse(node)) < 120


def _is_text(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _unseen(node: ast.stmt) -> bool:
    """Assertions, what runs only for the type checker, and the list of public names."""
    if isinstance(node, ast.Assert):
        return True
    if isinstance(node, ast.If):
        return "TYPE_CHECKING" in ast.unparse(node.test)
    if isinstance(node, ast.Assign):
        return ast.unparse(node.targets[0]) in ("__all__", "__slots__") or _alias(node)
    return isinstance(node, ast.Raise) and not isinstance(node.exc, ast.Call)


def _alias(node: ast.Assign) -> bool:
    """A name for a type, which only annotations use."""
    text = ast.unparse(node.value)
    return text.startswith(("Literal[", "Callable[", "TypeVar(", "ParamSpec(", "Union["))


def _typing(holder: Any, node: ast.expr) -> bool:
    """Subscripts of types, first arguments of ``cast``."""
    return (
        isinstance(holder, ast.Call)
        and ast.unparse(holder.func) in ("cast", "TypeVar", "NewType")
        and bool(holder.args)
        and node is holder.args[0]
    )


def _other_statements(node: ast.stmt) -> Iterator[ast.stmt]:
    if isinstance(node, ast.Return) and node.value is not None:
        # None for False is seldom told apart, and True for False is tried
        if not (isinstance(node.value, ast.Constant) and node.value.value in (None, False)):
            yield ast.Return(ast.Constant(None))
    elif isinstance(node, (ast.Expr, ast.AugAssign, ast.Raise)):
        if not isinstance(getattr(node, "value", None), (ast.Yield, ast.YieldFrom)):
            yield ast.Pass()
    elif isinstance(node, ast.Assign):
        if isinstance(node.targets[0], (ast.Attribute, ast.Subscript)):
            yield ast.Pass()
    elif isinstance(node, ast.Break):
        yield ast.Continue()
    elif isinstance(node, ast.Continue):
        yield ast.Break()


def _other_expressions(node: ast.expr, holder: Any, field: str, around: Any) -> Iterator[ast.expr]:
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            for other in COMPARISONS[type(operator)]:
                changed = copy.deepcopy(node)
                changed.ops[place] = other()
                yield changed
    elif isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
        yield ast.BinOp(node.left, OPERATORS[type(node.op)](), node.right)
    elif isinstance(node, ast.BoolOp):
        other_op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
        yield ast.BoolOp(other_op, node.values)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.Not)):
        yield node.operand
    elif isinstance(node, ast.Call):
        yield from _exchanged(node)
    elif isinstance(node, ast.Constant):
        yield from _other_constants(node, holder, around)
    conditional = isinstance(holder, (ast.If, ast.While, ast.IfExp)) and field == "test"
    conditional = conditional or (isinstance(holder, ast.comprehension) and field == "ifs")
    if conditional and not isinstance(node, (ast.Compare, ast.UnaryOp)):
        yield ast.UnaryOp(ast.Not(), node)


def _exchanged(node: ast.Call) -> Iterator[ast.expr]:
    """The first two arguments exchanged, where that can be a difference."""
    if len(node.args) < 2 or ast.unparse(node.func) in SYMMETRIC:
        return
    first, second, *rest = node.args
    if ast.unparse(first) != ast.unparse(second) and not isinstance(first, ast.Starred):
        yield ast.Call(node.func, [second, first, *rest], node.keywords)


def _other_constants(node: ast.Constant, holder: Any, around: Any) -> Iterator[ast.expr]:
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, (int, float)):
        yield ast.Constant(value + 1)
    elif isinstance(value, str) and not isinstance(around, ast.Raise) and _is_word(value, holder):
        yield ast.Constant(value + "x")


def _is_word(text: str, holder: Any) -> bool:
    """A sentence is for people; one word is a key, a mark or a name."""
    return bool(text) and " " not in text and not isinstance(holder, ast.JoinedStr)
