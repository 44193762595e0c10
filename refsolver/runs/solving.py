"""Solving one case for a reader: the answers, proven digits, and the working."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import Case
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.dimensions import ANGLE, NUMBER, Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.printing import outward, proven_text
from refsolver.quantities.units import UNITLESS, Unit, read_unit
from refsolver.quantities.views import View, dimension_of
from refsolver.records.building import working_data
from refsolver.statics.prover import NotProven, Reference, Word, asks_of, prove
from refsolver.statics.registry import family

__all__ = ["Solved", "read_any_case", "solve_case"]


@attrs.frozen
class Solved:
    """A solved case, and how to show it."""

    case: Case
    reference: Reference
    digits: int

    @property
    def not_proven(self) -> bool:
        return any(isinstance(o, NotProven) for o in self.reference.outcomes.values())

    def data(self) -> dict[str, Any]:
        """As JSON: every answer with value, unit, digits, lower and upper end."""
        return {
            "case": self.case.id,
            "family": self.case.family,
            "answers": {view.describe(): self._answer(view) for view in self.reference.outcomes},
            "decisions": self.reference.decisions,
            "zeros": list(self.reference.zeros),
            "bits": self.reference.bits,
            "residuals": self.reference.residuals,
            "second_opinion": self.reference.second_opinion,
            "working": working_data(self.reference, self.case, self.digits),
        }

    def _answer(self, view: View) -> dict[str, Any]:
        outcome = self.reference.outcomes[view]
        if isinstance(outcome, Word):
            return {"value": outcome.word}
        if isinstance(outcome, NoAnswer):
            return {"refused": outcome.reason, "evidence": outcome.evidence}
        if isinstance(outcome, NotProven):
            return {"not_proven": outcome.why}
        unit, dimension = self._unit(view)
        value = in_unit(outcome.enclosure, self.case.units, unit, dimension)
        lower, upper = outward(value, self.digits + 3)
        return {
            "value": proven_text(value, self.digits),
            "unit": "" if unit is None else unit.name,
            "digits": outcome.digits,
            "how": outcome.how,
            "lower": lower,
            "upper": upper,
        }

    def _unit(self, view: View) -> tuple[Unit | None, Dimension]:
        """The unit of the published answer to the same view, else the case's own."""
        kind = family(self.case.family).answers[view.answer].kind
        dimension = dimension_of(view, kind)
        for published in self.case.published:
            if published.view == view and published.unit is not None:
                return published.unit, dimension
        if dimension == ANGLE:
            return read_unit("deg"), dimension
        if dimension == NUMBER or self.case.units == UNITLESS:
            return None, dimension
        return self.case.units.unit(dimension), dimension

    def text(self) -> str:
        """For people: statement, working, answers, how they were proven."""
        case, reference = self.case, self.reference
        parts = [f"{case.title}\n{case.statement}"]
        for sheet in working_data(reference, case):
            heads = ["", *sheet["columns"]]
            table = tabulate(sheet["rows"], headers=heads, disable_numparse=True, tablefmt="simple")
            parts.append(f"{sheet['title']}: {sheet['note']}\n{table}")
        rows = []
        for view in reference.outcomes:
            answer = self._answer(view)
            said = answer.get("value") or answer.get("refused") or f"not proven: {answer}"
            if "refused" in answer:
                said = f"no answer: {answer['refused']} ({answer['evidence']})"
            rows.append([view.describe(), said, answer.get("unit", ""), answer.get("how", "")])
        heads = ["answer", "proven value", "unit", "proven as"]
        parts.append(tabulate(rows, headers=heads, disable_numparse=True, tablefmt="simple"))
        parts.append(
            f"Proven to {self.digits} digits at {reference.bits} bits; residuals "
            f"{reference.residuals} (second method: {family(case.family).second_method}); "
            f"second opinion on the arithmetic (mpmath): {reference.second_opinion}."
        )
        caution = family(case.family).caution
        if caution:
            parts.append(caution)
        return "\n\n".join(parts)


def read_any_case(name: str, catalogue: Catalogue | None = None) -> Case:
    """A case by its id, or by the path of a file."""
    catalogue = catalogue or Catalogue()
    path = Path(name)
    if path.suffix == ".toml" or path.exists():
        return read_case(path, path.stem, catalogue.works)
    return catalogue.read(name)


def solve_case(name: str, digits: int = 30) -> Solved:
    """Every natural view of every answer, and every view that was published."""
    case = read_any_case(name)
    owner = family(case.family)
    views = [p.view for p in case.published] + asks_of(owner, case.given)
    views = list(dict.fromkeys(views))
    return Solved(case, prove(owner, case.given, views, digits=digits), digits)
