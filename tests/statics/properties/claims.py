"""Claims that hold exactly: the answers for one case, said by those of other cases.

An :class:`Identity` takes a family's case and a random generator, and makes a
:class:`Claim` of it, or None where it does not speak of such a case. What it claims is
decided by enclosures: both sides are proven, and they must overlap and be narrow.
"""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import attrs
from flint import arb, ctx

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import Value
from refsolver.statics.contract import Family
from refsolver.statics.givens import fields
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.question import scale_of
from refsolver.statics.reference import NotProven
from tests.statics.properties.values import gaps

DIGITS = 20
_TRIES = 20

Answers = Mapping[str, Value]


@attrs.frozen
class Solved:
    answers: Answers
    bits: int


@attrs.frozen
class Claim:
    """``expect`` makes, of the answers of ``others``, answers that ``given`` must have.

    ``others`` are pairs of a family and givens. What ``expect`` leaves out is not claimed.
    """

    given: Any
    others: Sequence[tuple[Family, Any]]
    expect: Callable[..., Answers]


@attrs.frozen
class Identity:
    """``claim(owner, given, rng)``; ``name`` stands in the name of the test."""

    name: str
    claim: Callable[[Family, Any, random.Random], Claim | None]


class BeyondProof(Exception):
    """A sign of the solve is decided by no arithmetic, as that of exp(ln 2) - 2."""


def solved(owner: Family, given: Any) -> Solved:
    """Every answer as proven balls, with the decisions of the proof.

    AssertionError where an answer is not proven or does not close, BeyondProof where
    nothing could be solved for want of a decision.
    """
    reference = prove(owner, given, asks_of(owner, given), digits=DIGITS, second_opinion=False)
    if reference.stopped.startswith("undecided"):
        raise BeyondProof(reference.stopped)
    assert reference.residuals == "close", (reference.residuals, given)
    for view, outcome in reference.outcomes.items():
        assert not isinstance(outcome, NotProven), (view.describe(), outcome, given)
    with ctx.workprec(reference.bits):
        ar = EnclosureArithmetic(reference.decisions)
        return Solved(owner.solve(given, ar, owner.rule_set()).answers, reference.bits)


def hold(owner: Family, claim: Claim) -> bool:
    """AssertionError where the claim does not hold, with all that disagrees.

    False where it comes to say nothing, because the answers it speaks of are refused or
    beyond proof.
    """
    try:
        others = [solved(family, given) for family, given in claim.others]
        found = solved(owner, claim.given)
    except BeyondProof:
        return False
    with ctx.workprec(2 * max(s.bits for s in (found, *others))):
        expected = claim.expect(*(s.answers for s in others))

        def scale(dimension: Dimension) -> arb:
            return scale_of(claim.given, dimension)

        if not expected:
            return False
        wrong = [
            gap
            for name, value in expected.items()
            for gap in gaps(owner.answers[name].kind, value, found.answers[name], scale, name)
        ]
        assert not wrong, "\n".join([*wrong, f"of {claim.given}", f"by {claim.others}"])
        return True


@cache
def _catalogue() -> Catalogue:
    return Catalogue()


@cache
def _ids(name: str) -> tuple[str, ...]:
    return tuple(id for id in _catalogue().paths if id.startswith(f"{name}/"))


@cache
def _catalogued(id: str) -> tuple[str, Any]:
    case = _catalogue().read(id)
    return case.family, case.given


def catalogued_cases(owner: Family) -> Iterator[Any]:
    """Every case of the catalogue that is no inverse question."""
    for id in _ids(owner.name):
        family, given = _catalogued(id)
        if family == owner.name:
            yield given


def drawn_case(owner: Family, rng: random.Random) -> Any:
    """A case of the catalogue, one with its tables filled, or a random one.

    Inverse questions are left alone.
    """
    ids, source = _ids(owner.name), rng.random()
    if ids and source < 0.4:
        family, given = _catalogued(rng.choice(ids))
        if family == owner.name:
            return given
    if source > 0.8:
        tables = [name for name, field in fields(owner.givens).items() if field.shape == "many"]
        some = rng.sample(tables, rng.randint(1, len(tables))) if tables else []
        given = owner.filled({name: rng.randint(2, 4) for name in some}, rng)
        if given is not None:
            return given
    low = rng.choice((1.0, 3.0, 30.0, 1e3))
    for _ in range(_TRIES):
        with contextlib.suppress(ValueError, ArithmeticError):  # two things rounded to one
            return owner.propose((low, 10 * low), rng)
    raise AssertionError(f"{owner.name} proposes nothing")
