"""Values of answers: changed by a rule, added up, and held against each other as enclosures."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from flint import arb, fmpq

from refsolver.quantities.dimensions import LENGTH, Dimension
from refsolver.quantities.kinds import (
    AlternativesKind,
    Choice,
    ChoiceKind,
    DirectionKind,
    FunctionKind,
    Kind,
    LineKind,
    NoAnswer,
    Piece,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)

WIDTH = arb(fmpq(1, 10**12))
"""How wide an enclosure may be, relative to its value and the scale of the case: two wide
enclosures overlap and say nothing."""


class Rule:
    """How values change; each method may be replaced, and changes nothing as it stands."""

    def scalar(self, x: Any, dimension: Dimension) -> Any:
        return x

    def vector(self, v: Sequence[Any], dimension: Dimension) -> Sequence[Any]:
        return v

    def direction(self, v: Sequence[Any]) -> Sequence[Any]:
        return v

    def point(self, p: Sequence[Any]) -> Sequence[Any]:
        return p

    def line(self, line: Any) -> Any:
        return line

    def pieces(self, pieces: Sequence[Piece], dimension: Dimension) -> Sequence[Piece]:
        return pieces

    def word(self, word: str) -> str:
        return word

    def key(self, key: str) -> str:
        return key


def changed(kind: Kind, value: Value, rule: Rule) -> Value:
    """The value of an answer of this kind, changed by the rule; a refusal stays."""
    if isinstance(value, NoAnswer):
        return value
    if isinstance(kind, TableKind):
        return {rule.key(str(key)): changed(kind.of, v, rule) for key, v in value.items()}
    if isinstance(kind, AlternativesKind):
        return [{p: changed(k, one[p], rule) for p, k in kind.of.items()} for one in value]
    if isinstance(kind, ChoiceKind):
        return Choice(rule.word(value.word))
    if isinstance(kind, ScalarKind):
        return rule.scalar(value, kind.dimension)
    if isinstance(kind, VectorKind):
        return tuple(rule.vector(value, kind.dimension))
    if isinstance(kind, DirectionKind):
        return tuple(rule.direction(value))
    if isinstance(kind, PointKind):
        return tuple(rule.point(value))
    if isinstance(kind, LineKind):
        return rule.line(value)
    return tuple(rule.pieces(value, kind.dimension))


class Rescaled(Rule):
    """Every quantity times the factor of its dimension."""

    def __init__(self, factor: Callable[[Dimension], fmpq]) -> None:
        self.factor = factor

    def scalar(self, x: Any, dimension: Dimension) -> Any:
        return x * self.factor(dimension)

    def vector(self, v: Sequence[Any], dimension: Dimension) -> Sequence[Any]:
        return [x * self.factor(dimension) for x in v]

    def point(self, p: Sequence[Any]) -> Sequence[Any]:
        return self.vector(p, LENGTH)

    def line(self, line: Any) -> Any:
        if len(line) == 3:
            return (line[0], line[1], line[2] * self.factor(LENGTH))
        return (tuple(self.point(line[0])), line[1])

    def pieces(self, pieces: Sequence[Piece], dimension: Dimension) -> Sequence[Piece]:
        stretch = self.factor(LENGTH)
        return [
            Piece(
                piece.start * stretch,
                piece.end * stretch,
                tuple(
                    c * (self.factor(dimension) / stretch**k)
                    for k, c in enumerate(piece.coefficients)
                ),
            )
            for piece in pieces
        ]


def added(kind: Kind, values: Sequence[Value]) -> Value:
    """The sum of the values; the first refusal among them, where there is one."""
    for value in values:
        if isinstance(value, NoAnswer):
            return value
    if isinstance(kind, TableKind):
        return {key: added(kind.of, [v[key] for v in values]) for key in values[0]}
    if isinstance(kind, ScalarKind):
        return sum(values[1:], values[0])
    if isinstance(kind, VectorKind):
        return tuple(sum(parts[1:], parts[0]) for parts in zip(*values, strict=True))
    if isinstance(kind, FunctionKind):
        return tuple(_piece_sum(pieces) for pieces in zip(*values, strict=True))
    raise TypeError(f"{type(kind).__name__} does not add up")


def _piece_sum(pieces: Sequence[Piece]) -> Piece:
    degree = max(len(piece.coefficients) for piece in pieces)
    padded = [(*p.coefficients, *([0] * (degree - len(p.coefficients)))) for p in pieces]
    sums = tuple(sum(cs[1:], cs[0]) for cs in zip(*padded, strict=True))
    return Piece(pieces[0].start, pieces[0].end, sums)


def gaps(
    kind: Kind, expected: Value, found: Value, scale: Callable[[Dimension], arb], name: str
) -> Iterator[str]:
    """What keeps two values from being the same, in words; nothing where they agree.

    They agree where the enclosures overlap and both are narrow.
    """
    if isinstance(expected, NoAnswer) or isinstance(found, NoAnswer):
        a, b = (v.reason if isinstance(v, NoAnswer) else "a value" for v in (expected, found))
        if a != b:
            yield f"{name}: {a} expected, {b} found"
    elif isinstance(kind, TableKind):
        if set(expected) != set(found):
            yield f"{name}: keys {sorted(expected)} expected, {sorted(found)} found"
        else:
            for key, value in expected.items():
                yield from gaps(kind.of, value, found[key], scale, f"{name} [{key}]")
    elif isinstance(kind, AlternativesKind):
        if len(expected) != len(found):
            yield f"{name}: {len(expected)} solutions expected, {len(found)} found"
        else:
            for number, (a, b) in enumerate(zip(expected, found, strict=True), 1):
                for part, inner in kind.of.items():
                    yield from gaps(inner, a[part], b[part], scale, f"{name} {number} {part}")
    elif isinstance(kind, ChoiceKind):
        if expected.word != found.word:
            yield f"{name}: {expected.word!r} expected, {found.word!r} found"
    else:
        yield from _number_gaps(kind, expected, found, scale, name)


def _number_gaps(
    kind: Kind, expected: Any, found: Any, scale: Callable[[Dimension], arb], name: str
) -> Iterator[str]:
    if isinstance(kind, ScalarKind):
        yield from _gap(expected, found, scale(kind.dimension), name)
    elif isinstance(kind, VectorKind | PointKind):
        size = scale(LENGTH if isinstance(kind, PointKind) else kind.dimension)
        for axis, a, b in zip("xyz", expected, found, strict=False):
            yield from _gap(a, b, size, f"{name} along {axis}")
    elif isinstance(kind, DirectionKind):
        yield from _gap_of_unit_vectors(expected, found, name)
    elif isinstance(kind, LineKind):
        yield from _line_gaps(expected, found, scale, name)
    else:
        yield from _piece_gaps(kind, expected, found, scale, name)


def _gap(a: Any, b: Any, scale: arb, name: str) -> Iterator[str]:
    a, b = arb(a), arb(b)
    if not a.overlaps(b):
        yield f"{name}: {a.str(15)} expected, {b.str(15)} found"
    for word, x in (("expected", a), ("found", b)):
        if not x.is_finite() or x.rad() > WIDTH * (abs(x).upper() + scale):
            yield f"{name}: the enclosure {word} is too wide, {x.str(5)}"


def _unit(v: Sequence[Any]) -> list[arb]:
    size = sum((arb(x) * x for x in v), arb(0)).sqrt()
    return [x / size for x in v]


def _gap_of_unit_vectors(a: Sequence[Any], b: Sequence[Any], name: str) -> Iterator[str]:
    for axis, x, y in zip("xyz", _unit(a), _unit(b), strict=False):
        yield from _gap(x, y, arb(1), f"{name}, unit vector along {axis}")


def _line_gaps(a: Any, b: Any, scale: Callable[[Dimension], arb], name: str) -> Iterator[str]:
    """A line carries no sense: its foot from the origin and its direction, either way."""
    if len(a) == 3:
        (a, b) = (((n * c, m * c), (-m, n), n * n + m * m) for n, m, c in (a, b))
    else:
        (a, b) = (_foot(*line) for line in (a, b))
    for axis, x, y in zip("xyz", a[0], b[0], strict=False):
        yield from _gap(x / a[2], y / b[2], scale(LENGTH), f"{name}, foot along {axis}")
    u, v = _unit(a[1]), _unit(b[1])
    along = sum((x * y for x, y in zip(u, v, strict=True)), arb(0))
    yield from _gap(abs(along), 1, arb(1), f"{name}, cosine between the lines")


def _foot(point: Sequence[Any], run: Sequence[Any]) -> tuple[Any, Any, Any]:
    square = sum((arb(d) * d for d in run), arb(0))
    along = sum((p * d for p, d in zip(point, run, strict=True)), arb(0))
    return [p * square - along * d for p, d in zip(point, run, strict=True)], run, square


def _piece_gaps(
    kind: FunctionKind, a: Any, b: Any, scale: Callable[[Dimension], arb], name: str
) -> Iterator[str]:
    if len(a) != len(b):
        yield f"{name}: {len(a)} pieces expected, {len(b)} found"
        return
    for number, (p, q) in enumerate(zip(a, b, strict=True), 1):
        here = f"{name}, piece {number}"
        yield from _gap(p.start, q.start, scale(LENGTH), f"{here} starts")
        yield from _gap(p.end, q.end, scale(LENGTH), f"{here} ends")
        longest = max(len(p.coefficients), len(q.coefficients))
        for k in range(longest):
            x, y = ((*r.coefficients, *([0] * longest))[k] for r in (p, q))
            yield from _gap(x, y, scale(kind.dimension / LENGTH**k), f"{here}, order {k}")
