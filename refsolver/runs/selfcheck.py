"""The reference solver against every published answer of the catalogue.

A printed answer agrees when the proven value lies within half a unit of its last printed
digit (ties allowed), or within the tolerance that the case states with its reason. One
that does not agree is explained where the case says why (a misprint, an intermediate
rounding ...); otherwise it disagrees, and the self-check has failed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import Band
from refsolver.catalogue.schema import Case, Published
from refsolver.checking.comparison import compare, on_circle, signed_deviation
from refsolver.checking.equality import equality
from refsolver.quantities.conversion import enclosed, factor_to, in_unit
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.literals import half_unit
from refsolver.quantities.units import UNITLESS
from refsolver.quantities.views import dimension_of
from refsolver.records.runs import CheckedAnswer
from refsolver.statics.prover import (
    NotProven,
    Outcome,
    Word,
    prove,
)
from refsolver.statics.registry import family

__all__ = ["check_case", "counts", "self_check"]

_EQUALITY_CAP = 20_000
"""Bits up to which the equality of an exact print is pursued; the digits asked agree anyway."""

_FINEST = 400
"""Digits up to which a value that vanishes beside the case is looked at more finely."""


def self_check(cases: Iterable[Case], digits: int = 30) -> Iterator[CheckedAnswer]:
    """Every printed answer of the cases, in order."""
    for case in cases:
        yield from check_case(case, digits)


def check_case(case: Case, digits: int = 30) -> list[CheckedAnswer]:
    """The printed answers of one case. The strict arithmetic runs along."""
    owner = family(case.family)
    views = [published.view for published in case.published]
    reference = prove(owner, case.given, views, digits=digits, strict=True)
    return [
        _checked(case, published, reference.outcomes[published.view], digits)
        for published in case.published
    ]


def counts(answers: Iterable[CheckedAnswer]) -> dict[str, int]:
    """How many answers there are of each agreement; they add up to ``values``."""
    found = list(answers)
    by = {
        kind: sum(a.agreement == kind for a in found) for kind in ("agree", "explained", "disagree")
    }
    return {
        "cases": len({a.case for a in found}),
        "values": len(found),
        **by,
        "not_proven": sum(a.agreement == "not proven" for a in found),
    }


def _checked(case: Case, published: Published, outcome: Outcome, digits: int) -> CheckedAnswer:
    unit = "" if published.unit is None else published.unit.name
    printed = published.refused or published.word
    if published.literal is not None:
        printed = published.literal.text
    base = CheckedAnswer(case.id, published.view.describe(), "not proven", printed, None, unit)
    if isinstance(outcome, NotProven):
        return attrs.evolve(base, why=outcome.why)
    if published.refused or isinstance(outcome, NoAnswer):
        found = outcome.reason if isinstance(outcome, NoAnswer) else "an answer"
        return _settled(base, published, found == published.refused, f"proven: {found}")
    if isinstance(outcome, Word):
        right = outcome.word == published.word
        return _settled(base, published, right, f"proven: {outcome.word}")
    dimension = dimension_of(
        published.view, family(case.family).answers[published.view.answer].kind
    )
    proven = in_unit(outcome.enclosure, case.units, published.unit, dimension)
    finer = outcome.how == "below scale" and digits < _FINEST
    agrees = _agrees(case, published, proven, dimension, digits)
    if agrees is not True and finer:
        return _checked(case, published, _finer(case, published, 2 * digits), 2 * digits)
    return _settled(attrs.evolve(base, proven=proven), published, agrees is not False, "")


def _finer(case: Case, published: Published, digits: int) -> Outcome:
    """The answer with more digits: what is small beside the case need not be so beside print."""
    return prove(family(case.family), case.given, [published.view], digits=digits).outcomes[
        published.view
    ]


def _settled(base: CheckedAnswer, published: Published, agrees: bool, why: str) -> CheckedAnswer:
    if agrees:
        return attrs.evolve(base, agreement="agree", stale=published.explained is not None)
    if published.explained is not None:
        said = f"{published.explained.why}: {published.explained.note}"
        return attrs.evolve(base, agreement="explained", why=said)
    return attrs.evolve(base, agreement="disagree", why=why)


def _agrees(
    case: Case, published: Published, proven: Enclosure, dimension: Dimension, digits: int
) -> bool | None:
    """Whether print and proof agree; None where all proven digits do and no proof says more.

    Where print and enclosure only overlap, they agree if the value is an end of what the print
    allows; whoever has more digits to ask for asks again.
    """
    assert published.literal is not None
    tolerance = published.tolerance
    if tolerance is None:
        tolerance = half_unit(published.literal)
    period = _period(published, dimension)
    value = published.literal.value
    if isinstance(value, fmpq) and tolerance:
        allowed = Enclosure(tolerance, tolerance)
        found = compare(value, proven, Band(allowed, allowed), period)
        if found.decision != "undecided":
            return found.decision == "within"
        edges = [
            _equal(case, _printing(published, edge), dimension, proven, digits, period)
            for edge in (value - tolerance, value + tolerance)
        ]
        return True if True in edges else None if None in edges else False
    return _equal(case, published, dimension, proven, digits, period)


def _printing(published: Published, value: fmpq) -> Published:
    """The same answer had it been printed with this value: an edge of the tolerance."""
    assert published.literal is not None
    return attrs.evolve(published, literal=attrs.evolve(published.literal, value=value))


def _period(published: Published, dimension: Dimension) -> Enclosure | None:
    turns = published.view.repeats_after if dimension == ANGLE else None
    return None if turns is None else factor_to(UNITLESS, published.unit, ANGLE).scaled(turns)


def _equal(
    case: Case,
    published: Published,
    dimension: Dimension,
    proven: Enclosure,
    digits: int,
    period: Enclosure | None,
) -> bool | None:
    """Whether an exact print is the value: by the enclosures, then by algebra.

    None where the algebraic arithmetic cannot say (an angle, pi): all proven digits agree.
    """
    assert published.literal is not None
    printed = enclosed(published.literal.value)
    apart = Enclosure(printed.lower - proven.upper, printed.upper - proven.lower)
    if period is not None:
        apart = on_circle(signed_deviation(printed.middle, proven), period)
    width = max(proven.size(), printed.size()) / fmpq(10) ** (digits - 2)
    if apart.lower > width or apart.upper < -width:
        return False
    owner = family(case.family)
    return equality(
        owner, case.given, case.units, published.view, dimension, published.unit,
        published.literal.value, _EQUALITY_CAP,
    )  # fmt: skip
