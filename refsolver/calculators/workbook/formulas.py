"""One formula's text: the functions it calls, the cells it names, its normal form.

Formulas are as an .xlsx file holds them (ECMA-376 part 1, 18.17): English function names,
commas between arguments, ``_xlfn.`` before functions younger than the format.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import lru_cache

import attrs
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token, TokenizerError
from openpyxl.utils import FORMULAE

__all__ = [
    "CHANGING_FUNCTIONS",
    "VOLATILE_FUNCTIONS",
    "ParsedFormula",
    "function_name",
    "normal_form",
    "number_text",
    "parsed",
]

CHANGING_FUNCTIONS = frozenset({"NOW", "TODAY", "RAND", "RANDBETWEEN", "RANDARRAY"})
"""Functions whose result changes though no cell does."""

VOLATILE_FUNCTIONS = CHANGING_FUNCTIONS | {"OFFSET", "INDIRECT", "CELL", "INFO"}
"""Functions recalculated every time (common practice, no source)."""

LISTED_FUNCTIONS = FORMULAE | {"TABLE"}
"""The functions that stand in a file without a prefix; TABLE is what a data table becomes."""

ARRAY_FUNCTIONS = frozenset({"SUMPRODUCT", "MMULT", "MINVERSE", "MDETERM", "LOOKUP", "FREQUENCY"})
"""Functions that calculate their arguments as arrays, in a plain formula too (the first four
by OpenDocument 1.3 part 4, "ForceArray"; the rest common practice, no source)."""

RUN_TIME_REFERENCES = frozenset({"OFFSET", "INDIRECT"})

_PREFIX = re.compile(r"(?i)^(?:_xlfn\.|_xlws\.|_xludf\.)+")
_PARAMETER = "_xlpm."
_OPERATORS = (Token.OP_IN, Token.OP_PRE, Token.OP_POST)


@attrs.frozen
class ParsedFormula:
    """What a formula's text says.

    ``references`` are the operands that name cells, ranges, names or tables, as written.
    ``functions`` are upper case, without prefixes; ``unlisted`` are those among them that no
    .xlsx file should hold in this way: user-defined functions, and misspellings.
    ``computed`` is true where the formula makes references while it runs (OFFSET, INDIRECT,
    a range with a function at one end), so that ``references`` may not be all it reads.
    ``joins`` is true where ``&`` joins texts, ``intersects`` and ``unites`` where references
    are combined with a space or a comma. ``summed`` are the functions called inside
    SUMPRODUCT; ``operated`` the references that stand beside an operator, outside functions
    that calculate arrays: a range among them means the one cell in the formula's own row or
    column.
    """

    references: tuple[str, ...]
    functions: frozenset[str]
    unlisted: frozenset[str]
    computed: bool
    joins: bool
    intersects: bool
    unites: bool
    summed: frozenset[str]
    operated: tuple[str, ...]


def function_name(token_value: str) -> str:
    """``_xlfn.stdev.s(`` -> ``STDEV.S``; what stands before a colon is no part of it."""
    return _PREFIX.sub("", token_value.rstrip("(").rpartition(":")[2].lstrip("@")).upper()


@lru_cache(maxsize=4096)
def parsed(formula: str) -> ParsedFormula | None:
    """What ``formula`` (with its ``=``) says, or None where it cannot be taken apart."""
    tokens = _tokens(formula)
    if tokens is None:
        return None
    references: list[str] = []
    functions: set[str] = set()
    unlisted: set[str] = set()
    computed = joins = False
    for token in tokens:
        if token.type == Token.FUNC and token.subtype == Token.OPEN:
            before, colon, _ = token.value.rpartition(":")
            references += [before] if before else []
            computed = computed or bool(colon)
            functions.add(name := function_name(token.value))
            if not _PREFIX.match(token.value) and name not in LISTED_FUNCTIONS:
                unlisted.add(name)
        elif token.type == Token.OPERAND and token.subtype == Token.RANGE:
            computed = computed or token.value.startswith(":")
            references.append(token.value.lstrip(":@"))
        joins = joins or (token.type == Token.OP_IN and token.value == "&")
    meaningful = tuple(_meaningful(tokens))
    summed, operated = _inside(meaningful)
    return ParsedFormula(
        tuple(r for r in references if r and not r.startswith(_PARAMETER)),
        frozenset(functions),
        frozenset(unlisted),
        computed or bool(functions & RUN_TIME_REFERENCES),
        joins,
        any(token.type == Token.WSPACE for token in meaningful),
        any(token.type == Token.OP_IN and token.value == "," for token in tokens),
        frozenset(summed),
        tuple(operated),
    )


def _inside(tokens: tuple[Token, ...]) -> tuple[set[str], list[str]]:
    """The functions inside SUMPRODUCT, and the references operated on outside of arrays."""
    summed: set[str] = set()
    operated: list[str] = []
    calls: list[str] = []
    for place, token in enumerate(tokens):
        if token.subtype == Token.OPEN:
            name = function_name(token.value) if token.type == Token.FUNC else ""
            if "SUMPRODUCT" in calls and name:
                summed.add(name)
            calls.append(name)
        elif token.subtype == Token.CLOSE and calls:
            calls.pop()
        elif _is_range(token) and not ARRAY_FUNCTIONS.intersection(calls):
            around = tokens[max(place - 1, 0) : place + 2]
            if any(t.type in _OPERATORS and t.value != "," for t in around):
                operated.append(token.value.lstrip(":@"))
    return summed, operated


@lru_cache(maxsize=4096)
def _tokens(formula: str) -> tuple[Token, ...] | None:
    try:
        return tuple(Tokenizer(formula).items)
    except (TokenizerError, IndexError):  # IndexError: what it raises on stray brackets
        return None


def _meaningful(tokens: tuple[Token, ...]) -> Iterator[Token]:
    """The tokens without white space, except where a space intersects two references."""
    for place, token in enumerate(tokens):
        around = tokens[max(place - 1, 0) : place + 2]
        if token.type != Token.WSPACE or (len(around) == 3 and _intersects(*around)):
            yield token


def _intersects(before: Token, space: Token, after: Token) -> bool:
    ends = _is_range(before) or before.subtype == Token.CLOSE
    starts = _is_range(after) or (after.subtype == Token.OPEN and after.type != Token.ARRAY)
    return ends and starts and not after.value.startswith(":")


def _is_range(token: Token) -> bool:
    return token.type == Token.OPERAND and token.subtype == Token.RANGE


def number_text(number: float) -> str:
    """A number with the 15 digits a person can type into a spreadsheet program."""
    return f"{number:.15g}"


def normal_form(formula: str, reference: Callable[[str], str]) -> str:
    """The formula without what does not change its meaning.

    White space, the case of functions and their prefixes, the way numbers are written and
    ``TRUE()`` for ``TRUE`` go; ``reference`` gives the normal form of each operand that
    names cells. A text that cannot be taken apart is kept as it is.
    """
    tokens = _tokens(formula)
    if tokens is None:
        return formula
    parts = [_normal_token(token, reference) for token in _meaningful(tokens)]
    for place in range(len(parts) - 1):
        if parts[place] in ("TRUE(", "FALSE(") and parts[place + 1] == ")":
            parts[place : place + 2] = [parts[place].rstrip("("), ""]
    return "".join(parts)


def _normal_token(token: Token, reference: Callable[[str], str]) -> str:
    if token.type == Token.WSPACE:
        return " "
    if token.type == Token.FUNC and token.subtype == Token.OPEN:
        before, colon, _ = token.value.rpartition(":")
        start = reference(before) if before else ""
        return f"{start}{colon}{function_name(token.value)}("
    if token.type != Token.OPERAND or token.subtype == Token.TEXT:
        return str(token.value)
    if token.subtype == Token.NUMBER:
        return number_text(float(token.value))
    if token.subtype == Token.RANGE:
        sign = ":" if token.value.startswith(":") else ""
        return sign + reference(token.value.lstrip(":@"))
    return str(token.value).upper()
