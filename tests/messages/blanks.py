"""What code fills in, as a reader of the page sees it: a constant, or a blank with a name."""

from __future__ import annotations

import ast
import builtins
import importlib
from collections.abc import Iterator

__all__ = ["filled"]

_CALLED = {
    "', '.join(kind.of)": "PARTS",
    "AMBIGUOUS[word]": "WHICH THEY ARE, AND WHAT TO WRITE",
    "_WANTED[wanted]": "WHAT TO GIVE",
    "SCALES[of].name": "DIMENSION",
    "_MENDS.get(fault.errno, 'give another place with --out')": "WHAT TO DO",
    "_UNIT_OF_MARK['angle'][mark]": "UNIT",
    "_UNIT_OF_MARK['length'][mark]": "UNIT",
    "str(case.path)": "FILE",
    "formula.area": "RANGE",
    "case.family": "FAMILY",
    "cell.family": "FAMILY",
    "chr(65 + index)": "COLUMN",
    "error.lineno": "NUMBER",
    "error.start": "NUMBER",
    "field.space": "2 OR 3",
    "first.cell": "CELL",
    "first.first": "ONE RESULT",
    "first.second": "ANOTHER RESULT",
    "found.st_size": "NUMBER",
    "head": "HEADING",
    "line.id": "NAME",
    "kind.keyed_by": "MEMBER, JOINT OR OTHER NAME",
    "lines[0].given": "GIVEN",
    "own.dimension.name": "DIMENSION",
    "part.place.split('[')[0].split('.')[0]": "FIELD",
    "quoted_sheet(self.sheets[0])": "SHEET",
    "self": "RANGE",
    "self._path": "GIVEN",
    "given._path": "GIVEN",
    "self.case.id": "CASE",
    "sheet.title": "SHEET",
    "type(error).__name__": "KIND OF ERROR",
    "unit.dimension.name": "DIMENSION",
    "wanted.name": "DIMENSION",
}
"""By code."""

_NAMED = {
    "altered": "PLACE", "anchor": "CELL", "area": "NUMBER", "at": "VALUE", "before": "OTHER",
    "both": "NUMBER", "count": "NUMBER", "data": "VALUE", "differing": "WHAT DIFFERS",
    "dimension_advice": "WHAT TO WRITE", "error": "REASON", "failure": "REASON", "first": "OTHER",
    "handed": "VALUE", "hint": "WHAT IS KNOWN", "holder": "WHICH", "id": "NAME",
    "incomplete": "REASON", "kinds": "KIND", "larger": "UNIT", "last_line": "REASON",
    "least": "NUMBER", "letters": "AXIS", "literal": "VALUE", "mapped": "FAMILIES",
    "mend": "WHAT TO DO", "message": "REASON", "minimum": "NUMBER", "missing": "NAME",
    "most": "NUMBER", "n": "NUMBER", "near": "DID YOU MEAN ...?", "note": "REASON",
    "odd": "CHARACTER", "of": "SCALE", "owner": "FAMILY", "path": "FILE", "plain": "NUMBER",
    "printed": "TEXT", "problem": "REASON", "public": "FILE", "readers": "PATTERNS",
    "record": "FILE", "rest": "CHARACTER", "said": "TEXT", "says": "WHAT IT IS",
    "signature": "FILE", "size": "NUMBER", "soffice": "PROGRAM", "source": "FILE",
    "space": "2 OR 3", "split": "VALUE", "stem": "NAME", "strerror": "REASON",
    "suggestion": "WHAT IS KNOWN", "table": "VALUE", "target": "NAME", "target_of": "FILE",
    "there": "FILE", "tries": "NUMBER", "unknown": "KEY", "view": "ANSWER", "where": "FILE",
    "which": "VALUE", "why": "REASON", "width": "NUMBER", "workbook": "FILE", "wrong": "REASON",
    "x": "INPUTS",
}  # fmt: skip
"""By identifier; others are their own name in capitals."""

_WITHIN = {
    "calculators/inputtext.py": {"path": "GIVEN"},
    "calculators/program.py": {"path": "GIVEN"},
    "calculators/typed_cells.py": {"refused": "WORD", "words": "ONE OF ..."},
    "checking/readings.py": {"wanted": "UNIT"},
    "calculators/granted.py": {"where": "KEY"},
    "catalogue/toml.py": {"where": "KEY"},
    "catalogue/listing.py": {"what": "KIND", "wanted": "NAME"},
    "reporting/arrangement.py": {"stated": "NUMBER", "there": "NUMBER"},
    "runs/problems.py": {"what": "REASON"},
}
"""By module and identifier."""

_GENERIC = {"name", "path", "text", "id", "describe"}
"""Attributes that say less than what they belong to."""


def filled(node: ast.expr, module: str) -> tuple[str, bool]:
    """The words for code in a message of ``module``, and whether they are a blank."""
    constant = _constant(node, module)
    if constant is not None:
        return constant, False
    code = ast.unparse(node)
    if code in _CALLED:
        return _CALLED[code], True
    if isinstance(node, ast.Call) and ast.unparse(node.func) == "len":
        return "NUMBER", True
    name = _identifier(node).strip("_")
    return _WITHIN.get(module, {}).get(name) or _NAMED.get(
        name, name.upper().replace("_", " ")
    ), True


def _constant(node: ast.expr, module: str) -> str | None:
    """The text of code that reads nothing but constants of its module."""
    own = {name.id for name in _names(node)}
    names = vars(importlib.import_module("refsolver." + module[:-3].replace("/", ".")))
    if not all(name in names or hasattr(builtins, name) for name in own):
        return None
    if not any(name.isupper() or name == "ReadAs" for name in own):
        return None
    return str(eval(compile(ast.Expression(node), "message", "eval"), dict(names)))


def _names(node: ast.AST) -> Iterator[ast.Name]:
    return (part for part in ast.walk(node) if isinstance(part, ast.Name))


def _identifier(node: ast.expr) -> str:
    """The word that says most about what this code gives."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        said = isinstance(node.value, ast.Name) and node.value.id == "self"
        return _identifier(node.value) if node.attr in _GENERIC and not said else node.attr
    if isinstance(node, ast.Subscript):
        key = getattr(node.slice, "value", None)
        return key if isinstance(key, str) else _identifier(node.value)
    if isinstance(node, ast.BoolOp):
        return _identifier(node.values[0])
    if isinstance(node, ast.IfExp):
        return _identifier(node.body)
    if isinstance(node, ast.GeneratorExp):
        return _identifier(node.elt)
    if isinstance(node, ast.Call):
        return _of_call(node)
    joined = isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div)
    return "path" if joined else "reason"


def _of_call(call: ast.Call) -> str:
    called = call.func
    if isinstance(called, ast.Name):
        handed_on = called.id in ("str", "min", "sorted", "repr")
        return _identifier(call.args[0]) if handed_on else called.id
    if isinstance(called, ast.Attribute) and not isinstance(called.value, ast.Constant):
        return _identifier(called.value) if called.attr in _GENERIC | {"size"} else called.attr
    return _identifier(call.args[0])
