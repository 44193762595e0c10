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
from refsolver.arithmetic.exact import Exact
from refsolver.calculators.criteria import Band
from refsolver.catalogue.schema import Case, Published
from refsolver.checking.comparison import compare, on_circle, signed_deviation
from refsolver.checking.equality import SolvedByAlgebra, equality
from refsolver.quantities.conversion import enclosed, factor_to, in_unit
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.literals import half_unit
from refsolver.quantities.units import UNITLESS
from refsolver.quantities.views import View, dimension_of
from refsolver.records.runs import Agreement, CheckedAnswer
from refsolver.statics.contract import Family
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Outcome, Word
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
    prints = _Prints(case, owner, SolvedByAlgebra(owner, case.given))
    return [
        prints.checked(published, reference.outcomes[published.view], digits)
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


@attrs.frozen
class _Prints:
    """What was printed about one case, put beside what is proven of it."""

    case: Case
    owner: Family
    solved: SolvedByAlgebra

    def checked(self, published: Published, outcome: Outcome, digits: int) -> CheckedAnswer:
        if isinstance(outcome, NotProven):
            return self._said(published, "not proven", why=outcome.why)
        if published.refused or isinstance(outcome, NoAnswer):
            found = outcome.reason if isinstance(outcome, NoAnswer) else "an answer"
            return self._settled(published, found == published.refused, f"proven: {found}")
        if isinstance(outcome, Word):
            right = outcome.word == published.word
            return self._settled(published, right, f"proven: {outcome.word}")
        view, unit = published.view, published.unit
        dimension = dimension_of(view, self.owner.answers[view.answer].kind)
        proven = in_unit(outcome.enclosure, self.case.units, unit, dimension)
        agrees = self._agrees(published, proven, dimension, digits)
        if agrees is not True and outcome.how == "below scale" and digits < _FINEST:
            return self.checked(published, self._finer(view, 2 * digits), 2 * digits)
        return self._settled(published, agrees is not False, "", proven)

    def _finer(self, view: View, digits: int) -> Outcome:
        """With more digits: what is small beside the case need not be so beside print."""
        return prove(self.owner, self.case.given, [view], digits=digits).outcomes[view]

    def _settled(
        self, published: Published, agrees: bool, why: str, proven: Enclosure | None = None
    ) -> CheckedAnswer:
        explained = published.explained
        if agrees:
            return self._said(published, "agree", proven, stale=explained is not None)
        if explained is not None:
            said = f"{explained.why}: {explained.note}"
            return self._said(published, "explained", proven, said)
        return self._said(published, "disagree", proven, why)

    def _said(
        self,
        published: Published,
        agreement: Agreement,
        proven: Enclosure | None = None,
        why: str = "",
        stale: bool = False,
    ) -> CheckedAnswer:
        printed = published.refused or published.word
        if published.literal is not None:
            printed = published.literal.text
        unit = "" if published.unit is None else published.unit.name
        return CheckedAnswer(
            self.case.id, published.view.describe(), agreement, printed, proven, unit, why, stale
        )

    def _agrees(
        self, published: Published, proven: Enclosure, dimension: Dimension, digits: int
    ) -> bool | None:
        """Whether print and proof agree; None where all proven digits do, and no proof says more.

        Where print and enclosure only overlap, they agree if the value is an end of what the
        print allows; whoever has more digits to ask for asks again.
        """
        assert published.literal is not None
        tolerance = published.tolerance
        if tolerance is None:
            tolerance = half_unit(published.literal)
        value = published.literal.value
        if not (isinstance(value, fmpq) and tolerance):
            return self._equal(published, value, dimension, proven, digits)
        allowed = Enclosure(tolerance, tolerance)
        band, period = Band(allowed, allowed), _period(published, dimension)
        decision = compare(value, proven, band, period).decision
        if decision != "undecided":
            return decision == "within"
        edges = [
            self._equal(published, edge, dimension, proven, digits)
            for edge in (value - tolerance, value + tolerance)
        ]
        return True if True in edges else None if None in edges else False

    def _equal(
        self,
        published: Published,
        value: Exact,
        dimension: Dimension,
        proven: Enclosure,
        digits: int,
    ) -> bool | None:
        """Whether the answer is this value: by the enclosures, then by algebra.

        None where the algebraic arithmetic cannot say (an angle, pi): all proven digits agree.
        """
        printed = enclosed(value)
        apart = Enclosure(printed.lower - proven.upper, printed.upper - proven.lower)
        period = _period(published, dimension)
        if period is not None:
            apart = on_circle(signed_deviation(printed.middle, proven), period)
        if apart.is_zero:
            return True
        width = max(proven.size(), printed.size()) / fmpq(10) ** (digits - 2)
        if apart.lower > width or apart.upper < -width:
            return False
        return equality(
            self.solved, self.case.units, published.view, dimension, published.unit, value,
            _EQUALITY_CAP,
        )  # fmt: skip


def _period(published: Published, dimension: Dimension) -> Enclosure | None:
    turns = published.view.repeats_after if dimension == ANGLE else None
    return None if turns is None else factor_to(UNITLESS, published.unit, ANGLE).scaled(turns)
