"""Inverse questions: which value of a given leads to a known answer.

Any family, any of its leaves, any of its answers that is a number: for which coefficient
of friction does the block begin to slip at 120 N, at which angle is the cord pulled with
2 kN. The family is not changed. It is solved with the leaf as an unknown, and a proven
root of (answer - known answer) inside a stated bracket is the value found.

What is proven: a change of sign inside the bracket, hence a root (Bolzano), and that the
enclosure returned holds exactly one (interval Newton: Moore, Kearfott and Cloud,
"Introduction to Interval Analysis", section 8.1). It is looked for close to the root that
doubles find, and over the whole bracket where that shows none. Another root elsewhere in the
bracket is not excluded: the bracket, which belongs to the question, is to be chosen so that it
holds one.

A family may branch exactly on a leaf (where along a beam a load stands). That branch is
taken at the double nearest the root, the same in every arithmetic.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from types import SimpleNamespace
from typing import Any, ClassVar, cast

import attrs
from flint import fmpq

from refsolver.arithmetic.bracketing import NoBracket, bracketed_root
from refsolver.arithmetic.contract import Arithmetic, Contradiction, Number, Undecided
from refsolver.arithmetic.detached import exact_double
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.substituted import Substituted, TangentArithmetic, Token
from refsolver.quantities.dimensions import ANGLE, LENGTH, Dimension
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.quantities.views import View, dimension_of, evaluate
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Residual,
    Row,
    Sheet,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.givens import fields, replaced
from refsolver.statics.registry import derived, family
from refsolver.statics.worked_out import LastWorkedOut

__all__ = ["FOUND", "KNOWN", "Sought", "finding", "sought_between"]

FOUND = "found"
"""The answer that is the value found."""

KNOWN = "known_answer"
"""The given that is the answer known beforehand."""

_PRECISION = 2.0**-52

_CLOSE = 30
"""The root is first looked for within this many halvings of the bracket about the estimate."""


@attrs.frozen
class Sought:
    """Where the unknown stands among the givens, and the bracket that holds it.

    ``inside`` leads from the leaf at ``path`` to the number itself, where the leaf is made
    of several (the magnitude of a vector, one coordinate of a point).
    """

    path: str
    inside: tuple[str | int, ...]
    template: Any
    low: Token
    high: Token

    @property
    def whole(self) -> bool:
        """Whether the whole leaf is unknown, and not a part of it."""
        return not self.inside

    @property
    def name(self) -> str:
        return ".".join([self.path, *(str(step) for step in self.inside)])

    def put(self, given: Any, token: Token) -> Any:
        """The givens with the unknown's place taken by ``token``, by that very object."""
        return replaced(given, {self.path: _put(self.template, self.inside, token)})


def _put(holder: Any, inside: tuple[str | int, ...], token: Token) -> Any:
    if not inside:
        return token
    step, rest = inside[0], inside[1:]
    if isinstance(step, int):
        return tuple(
            _put(item, rest, token) if i == step else item for i, item in enumerate(holder)
        )
    return attrs.evolve(holder, **{step: _put(getattr(holder, step), rest, token)})


def sought_between(low: Any, high: Any, path: str) -> Sought:
    """The one place in which two readings of a leaf differ.

    Raises ValueError where they do not differ, or differ in more than one place, or in
    something that is neither a number nor an angle in one unit.
    """
    inside, ends = _difference(low, high, path)
    if isinstance(ends[0], Turn) and isinstance(ends[1], Turn):
        return Sought(path, inside, low, *ends)
    if isinstance(ends[0], Radian) and isinstance(ends[1], Radian):
        return Sought(path, inside, low, *ends)
    if isinstance(ends[0], fmpq) and isinstance(ends[1], fmpq):
        return Sought(path, inside, low, *ends)
    raise ValueError(f"{path}: the two ends are not numbers, or not angles of one kind")


def _difference(low: Any, high: Any, path: str) -> tuple[tuple[str | int, ...], tuple[Any, Any]]:
    if isinstance(low, fmpq | Turn | Radian) or type(low) is not type(high):
        return (), (low, high)
    parts: list[tuple[str | int, Any, Any]]
    if isinstance(low, tuple):
        parts = [(i, a, b) for i, (a, b) in enumerate(zip(low, high, strict=True)) if a != b]
    elif attrs.has(type(low)):
        parts = [
            (f.name, getattr(low, f.name), getattr(high, f.name))
            for f in attrs.fields(type(low))
            if getattr(low, f.name) != getattr(high, f.name)
        ]
    else:
        parts = []
    if len(parts) != 1:
        raise ValueError(f"{path}: what is to find stands in {len(parts)} places, not in one")
    step, a, b = parts[0]
    inside, ends = _difference(a, b, path)
    return (step, *inside), ends


def _number(token: Token) -> Exact:
    """The unknown's exact value: turns, radians, or the number itself."""
    if isinstance(token, Turn):
        return token.turns
    return token.radians if isinstance(token, Radian) else token


def _like(token: Token, value: fmpq) -> Token:
    """A new leaf of the same kind; always a new object, because leaves are told by identity."""
    if isinstance(token, Turn):
        return Turn(value)
    return Radian(value) if isinstance(token, Radian) else fmpq(value.p, value.q)


class _Finding(Family):
    """An inverse question of ``base``; :func:`finding` makes one a path and a view."""

    base: ClassVar[Family]
    view: ClassVar[View]
    known_dimension: ClassVar[Dimension]

    def complete(self, given: Any, token: Token) -> Any:
        """The base family's givens with a value for the unknown."""
        own = {name: getattr(given, name) for name in fields(self.base.givens)}
        return given.sought.put(self.base.givens(**own), token)

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        sought = given.sought
        token = self._near(given, rules)
        complete = self.complete(given, token)
        name = f"{sought.name} for the known {self.view.describe()}"

        def function(x: Number) -> Number:
            trial = Substituted(ar.apart(), token, x)
            return self._apart(given, complete, trial, rules, name)

        def slope(x: Number) -> Number:
            trial = TangentArithmetic(ar.apart(), token, x)
            return ar.bring(fmpq(0)) + self._apart(given, complete, trial, rules, name).rate

        x = _root_near(_number(token), sought, function, slope, name, ar)
        solved = self.base.solve(complete, _arithmetic(Substituted(ar, token, x)), rules)
        found = x * 2 * ar.pi() if isinstance(token, Turn) else x
        known = _brought(given.known_answer, ar)

        def working() -> tuple[Sheet, ...]:
            own = solved.working() if callable(solved.working) else solved.working
            return (self._sheet(found, known), *own)

        return Solution({FOUND: found, **solved.answers}, working)

    def _sheet(self, found: Number, known: Number) -> Sheet:
        """What was known and what it leads to."""
        dimension = _number_kind(self.answers[FOUND])
        columns = (Column("known", self.known_dimension), Column("found", dimension))
        what = f"{self.answers[FOUND].says} from {self.view.describe()}"
        note = "the root inside the stated bracket; below, the question itself at that value"
        return Sheet("Value found", columns, (Row(what, (known, found)),), note)

    def _apart(
        self, given: Any, complete: Any, trial: Any, rules: SimpleNamespace, name: str
    ) -> Number:
        """The answer at a trial value, less the known one."""
        value = self.base.solve(complete, trial, rules).answers[self.view.answer]
        kind = self.base.answers[self.view.answer].kind
        seen = evaluate(self.view, kind, value, trial)
        if isinstance(seen, NoAnswer | str):
            raise Undecided(name, f"no number at a trial value: {seen}")
        return seen - _brought(given.known_answer, trial)

    def _near(self, given: Any, rules: SimpleNamespace) -> Token:
        """A double near the root as an exact leaf; the middle of the bracket where none is."""
        return _LAST.of((self, given, rules), lambda: self._estimate(given, rules))

    def _estimate(self, given: Any, rules: SimpleNamespace) -> Token:
        low, high = given.sought.low, given.sought.high
        ends = [DoubleArithmetic().bring(_number(end)) for end in (low, high)]

        def function(x: float) -> float:
            complete = self.complete(given, _like(low, exact_double(x)))
            return float(self._apart(given, complete, DoubleArithmetic(), rules, "estimate"))

        try:
            near = bracketed_root(function, ends[0], ends[1], _PRECISION, 0.0)
        except (NoBracket, ArithmeticError, ValueError):
            near = sum(ends) / 2
        return _like(low, exact_double(near))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        """The base family's own residuals at the root, and what the leaf does as a leaf."""
        token = self._near(given, self.rule_set())
        complete = self.complete(given, token)
        x = answers[FOUND]
        if isinstance(token, Turn):
            x = x / (2 * ar.pi())
        found = {name: value for name, value in answers.items() if name in self.base.answers}
        residuals = list(self.base.check(complete, found, _arithmetic(Substituted(ar, token, x))))
        kind = self.base.answers[self.view.answer].kind
        known = _brought(given.known_answer, ar)
        value = evaluate(self.view, kind, found[self.view.answer], ar)
        size = ar.size(known) + 1
        residuals.append(Residual("the known answer", value - known, size))
        return [*residuals, self._same_as_leaf(given, token, ar)]

    def _same_as_leaf(self, given: Any, token: Token, ar: Arithmetic) -> Residual:
        """Beside the root: the leaf given exactly, less the leaf as an unknown.

        It is not zero where the family makes other leaves out of this one, for then the
        unknown does not reach all of its equations.
        """
        low, high = (_number(end) for end in (given.sought.low, given.sought.high))
        assert isinstance(low, fmpq) and isinstance(high, fmpq)
        own = _number(token)
        assert isinstance(own, fmpq)
        step = (high - low) / 2**30
        beside = own + step if own + step <= high else own - step
        rules, name = self.base.rule_set(), "beside the root"
        exact = self._apart(
            given, self.complete(given, _like(token, beside)), ar.apart(), rules, name
        )
        trial = Substituted(ar.apart(), token, ar.bring(beside))
        unknown = self._apart(given, self.complete(given, token), trial, rules, name)
        size = ar.size(_brought(given.known_answer, ar)) + 1
        return Residual(f"{given.sought.name} enters by one leaf only", exact - unknown, size)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        complete = self.complete(given, self._near(given, self.rule_set()))
        found = {name: value for name, value in answers.items() if name in self.base.answers}
        return self.base.figure(complete, found, ar)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        raise NotImplementedError(f"{self.name} has no generator of cases")


_LAST: LastWorkedOut[Token] = LastWorkedOut()


def _root_near(
    estimate: Exact,
    sought: Sought,
    function: Callable[[Number], Number],
    slope: Callable[[Number], Number],
    name: str,
    ar: Arithmetic,
) -> Number:
    """The root beside the estimate, or wherever in the bracket it is."""
    low, high = _number(sought.low), _number(sought.high)
    assert isinstance(low, fmpq) and isinstance(high, fmpq) and isinstance(estimate, fmpq)
    margin = abs(high - low) / 2**_CLOSE
    close = max(min(low, high), estimate - margin), min(max(low, high), estimate + margin)
    try:
        return ar.root(function, slope, close, name)
    except (Undecided, Contradiction):
        return ar.root(function, slope, (low, high), name)


_ANGLES = ("angle", "angles", "azimuth", "elevation")
"""The parts of a direction that are angles."""


def _number_kind(answer: Answer) -> Dimension:
    assert isinstance(answer.kind, ScalarKind)
    return answer.kind.dimension


def _arithmetic(substituted: Substituted) -> Arithmetic:
    return cast(Arithmetic, substituted)


def _brought(known: Exact | Angle, ar: Arithmetic) -> Number:
    return ar.radians(known) if isinstance(known, Angle) else ar.bring(known)


@cache
def finding(base_name: str, path: str, inside: tuple[str | int, ...], view: View) -> Family:
    """The family that asks for the leaf at ``path`` of ``base_name``, ``view`` being known.

    Its givens are the base's, the leaf missing, and :data:`KNOWN`; its answers are
    :data:`FOUND` and the base's own at the value found. It is known to the registry from
    now on. Raises ValueError where the view is no number or the leaf no number or angle.
    """
    base = family(base_name)
    if FOUND in base.answers or KNOWN in fields(base.givens):
        raise ValueError(f"{base_name} cannot be inverted: it uses the names reserved for that")
    dimension = dimension_of(view, base.answers[view.answer].kind)
    known = (
        angle("the answer known beforehand")
        if dimension == ANGLE
        else quantity(dimension, "the answer known beforehand")
    )
    sought_name = ".".join([path, *(str(step) for step in inside)])
    givens = attrs.make_class(
        "Inverse" + base.givens.__name__,
        {KNOWN: _keyword_only(known), "sought": attrs.field(kw_only=True)},
        bases=(base.givens,),
        frozen=True,
    )
    name = f"{base_name} finding {sought_name} from {view.describe()}"
    title = f"{base.title}: which {sought_name} leads to a known {view.describe()}"
    body: dict[str, Any] = {
        "base": base,
        "view": view,
        "name": name,
        "title": title,
        "givens": givens,
        "known_dimension": dimension,
        "answers": {
            FOUND: Answer(ScalarKind(_dimension_of_leaf(base, path, inside)), sought_name),
            **base.answers,
        },
        "rules": base.rules,
        "mistakes": tuple(m for m in base.mistakes if m.rules is not None),
        "method": f"{base.method}; solved for {sought_name}",
        "second_method": f"{base.second_method}; the known answer put beside the one found",
        "caution": base.caution,
    }
    return derived(type("Finding", (_Finding,), body))


def _keyword_only(field: Any) -> Any:
    return attrs.field(kw_only=True, metadata=field.metadata)


def _dimension_of_leaf(base: Family, path: str, inside: tuple[str | int, ...]) -> Dimension:
    cls = base.givens
    for step in path.split("."):
        name = step.partition("[")[0]
        if name not in fields(cls):
            raise ValueError(f"{base.name} has no given {path!r}")
        field = fields(cls)[name]
        if field.of is not None:
            cls = field.of
    part = next((step for step in reversed(inside) if isinstance(step, str)), "")
    if part in ("rise", "run"):
        raise ValueError(
            f"{path}: one side of a slope is no answer by itself, only the slope is: "
            "state the direction by an angle in degrees or radians, and find that"
        )
    if field.shape == "point":
        return LENGTH
    if field.shape == "angle" or part in _ANGLES:
        return ANGLE
    if field.dimension is None:
        raise ValueError(f"{path} is not a number")
    return field.dimension
