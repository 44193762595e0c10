"""How a number was made, and what cancels whatever the numbers are.

``F sin(a) - F sin(a)`` is zero by the distributive law alone, at any angle and without
any digits. Every irrational number of the algebraic arithmetic remembers the operation
and the operands it was made of; here they are read back, when a sign is in question, as a
linear combination of *atoms* with rational coefficients. Two expressions get the same atom
only if they are built alike, so they are the same number.

For: decides the symmetric pairs of the trade at any angle, transcendental ones too.
Against: sees no identity beyond like terms; the separation bound is for those.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeAlias

from flint import fmpq

from refsolver.arithmetic.separation import square_part

__all__ = ["Atoms", "Expression", "Factor", "Term", "flattened", "operands", "post_order", "sum_of"]


class Expression:
    """Something made of others: ``made`` is the operation's name and what it was made of.

    The operations read here: "sum" (see :func:`sum_of`), "*" and "/" (two operands), "surd"
    (rational coefficient, radicand), "size" and "sqrt" (one operand first); anything else is
    a function of what follows and of nothing else: expressions, rationals, or any hashable
    object.
    """

    __slots__ = ("flat", "made")

    def __init__(self, made: tuple[Any, ...]) -> None:
        self.made = made
        self.flat: tuple[list[tuple[Expression, Factor]], Factor] | None = None


Factor: TypeAlias = int | fmpq
Term: TypeAlias = tuple[Factor, int]
"""A rational coefficient and the number of an atom."""


def sum_of(*parts: tuple[Expression, Factor], constant: Factor = 0) -> tuple[Any, ...]:
    """How the sum of the parts, each times its factor, and of the constant is made."""
    return ("sum", parts, constant)


class Atoms:
    """The atoms met so far, numbered; 0 is the number one."""

    def __init__(self) -> None:
        self._numbers: dict[tuple[Any, ...], int] = {("one",): 0}
        self._terms: dict[Expression, Term] = {}
        self._linear: dict[Expression, dict[int, Factor]] = {}

    def cancels(self, x: Expression) -> bool:
        """Whether x is zero by collecting like terms alone."""
        return not self.linear(x)

    def linear(self, x: Expression) -> dict[int, Factor]:
        """x as a combination of atoms: the coefficients that are not zero."""
        if x not in self._linear:
            parts, constant = flattened(x)
            total: dict[int, Factor] = {0: constant}
            for part, factor in parts:
                coefficient, atom = self.term(part)
                total[atom] = total.get(atom, 0) + coefficient * factor
            self._linear[x] = {atom: total[atom] for atom in total if total[atom] != 0}
        return self._linear[x]

    def term(self, x: Expression) -> Term:
        """x as a multiple of one atom."""
        if x not in self._terms:
            for node in post_order(x, self._unread):
                if node not in self._terms:
                    self._terms[node] = self._read(node)
        return self._terms[x]

    def root_term(self, x: Expression) -> Term:
        """sqrt(x) as a multiple of one atom, the same for all x that differ by a square."""
        factor, atom = self.term(x)
        coefficient = fmpq(factor)
        if not coefficient:
            return 0, 0
        m, d = square_part(abs(int(coefficient.p)) * int(coefficient.q))
        return fmpq(m, int(coefficient.q)), self.number("sqrt", d, atom)

    def number(self, *atom: Any) -> int:
        """The number of an atom described by ``atom``."""
        return self._numbers.setdefault(atom, len(self._numbers))

    def _unread(self, node: Expression) -> Iterable[Expression]:
        return () if node in self._terms else operands(node)

    def _read(self, node: Expression) -> Term:
        operation, *rest = node.made
        if operation == "sum":
            return self._read_sum(self.linear(node))
        if operation == "surd":
            return rest[0], self.number("surd", rest[1])
        if operation == "sqrt":
            return self.root_term(rest[0])
        known = [self._operand(part) for part in rest]
        if operation == "*":
            (a, one), (b, other) = known
            return a * b, self.number("*", min(one, other), max(one, other))
        if operation == "/":
            (a, one), (b, other) = known
            return fmpq(a) / b, (0 if one == other else self.number("/", one, other))
        if operation == "size":
            ((a, one),) = known
            return abs(a), self.number("size", one)
        return 1, self.number(operation, *known)

    def _read_sum(self, linear: dict[int, Factor]) -> Term:
        if not linear:
            return 0, 0
        (atom, first), *rest = sorted(linear.items())
        if not rest:
            return first, atom
        return first, self.number("sum", atom, *[(other, fmpq(b) / first) for other, b in rest])

    def _operand(self, part: Any) -> Any:
        if isinstance(part, Expression):
            return self._terms[part]
        return (part, 0) if isinstance(part, fmpq) else part


def flattened(x: Expression) -> tuple[list[tuple[Expression, Factor]], Factor]:
    """x as a sum of rational multiples of expressions that are no sums, and a rational."""
    if x.made[0] != "sum":
        return [(x, 1)], 0
    if x.flat is None:
        x.flat = _flattened(x, _occurrences(x))
    return x.flat


def _occurrences(x: Expression) -> dict[Expression, int]:
    """How often each expression stands in the sum x and in the sums that x is made of."""
    found: dict[Expression, int] = {}
    sums = [x]
    while sums:
        for part, _ in sums.pop().made[1]:
            if part.made[0] == "sum" and part not in found:
                sums.append(part)
            found[part] = found.get(part, 0) + 1
    return found


def _flattened(
    x: Expression, awaited: dict[Expression, int]
) -> tuple[list[tuple[Expression, Factor]], Factor]:
    weights: dict[Expression, Factor] = {x: 1}
    constant: Factor = 0
    parts: list[Expression] = []
    sums = [x]
    while sums:
        node = sums.pop()
        weight = weights[node]
        constant += weight * node.made[2]
        for part, factor in node.made[1]:
            weights[part] = weights.get(part, 0) + weight * factor
            awaited[part] -= 1
            if awaited[part] == 0:
                (sums if part.made[0] == "sum" else parts).append(part)
    return [(part, weights[part]) for part in parts], constant


def operands(node: Expression) -> list[Expression]:
    """The expressions that this one was made of; of a sum, those that are no sums."""
    if node.made[0] == "sum":
        return [part for part, _ in flattened(node)[0]]
    return [part for part in node.made[1:] if isinstance(part, Expression)]


def post_order(
    root: Expression, below: Callable[[Expression], Iterable[Expression]]
) -> list[Expression]:
    """Every expression reachable from ``root``, once, those it is made of before it.

    Without recursion, since a sum over thousands of loads is thousands of steps deep.
    """
    order: list[Expression] = []
    begun: set[Expression] = set()
    ended: set[Expression] = set()
    stack = [root]
    while stack:
        node = stack[-1]
        if node not in begun:
            begun.add(node)
            stack.extend([part for part in below(node) if part not in begun])
        else:
            stack.pop()
            if node not in ended:
                ended.add(node)
                order.append(node)
    return order
