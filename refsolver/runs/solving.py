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
from refsolver.records.findings import half_units_of
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import NotProven, Proven, Reference, Word
from refsolver.statics.registry import family
from refsolver.statics.sensitivity import figures_justified, sensitivities

__all__ = ["Solved", "read_any_case", "solve_case"]

_EFFECT = (
    "Effect: by how many per cent the answer changes where the given changes by 1 % (an angle: "
    "by 1 degree); for an answer that is an angle or zero, by how much, in coherent units and "
    "degrees. The condition number is the sum of the sizes of the relative effects. Figures "
    "justified: the figures that hold whatever the true givens are, if each printed given is "
    "right to half a unit of its last digit."
)


@attrs.frozen
class Solved:
    """A solved case, and how to show it."""

    case: Case
    reference: Reference
    digits: int

    @property
    def not_proven(self) -> bool:
        outcomes = self.reference.outcomes.values()
        return bool(self.reference.stopped) or any(isinstance(o, NotProven) for o in outcomes)

    def data(self) -> dict[str, Any]:
        """As JSON: every answer with value, unit, digits, lower and upper end."""
        return {
            "case": self.case.id,
            "family": self.case.family,
            "answers": {view.describe(): self._answer(view) for view in self.reference.outcomes},
            "decisions": self.reference.decisions,
            "zeros": list(self.reference.zeros),
            "bits": self.reference.bits,
            "stopped": self.reference.stopped,
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

    def sensitivities(self) -> list[dict[str, Any]]:
        """How each answer moves with each given, as JSON.

        ``by_given`` has, by the given's path, what a relative change of 1 % of it does to
        the answer, in per cent of the answer (per degree of an angle); where the answer
        is zero or an angle, in coherent units (radians) instead.
        """
        owner, case = family(self.case.family), self.case
        views = [v for v, o in self.reference.outcomes.items() if isinstance(o, Proven)]
        half_units = half_units_of(case)
        found = sensitivities(owner, case.given, views, self.reference.decisions)
        return [
            {
                "answer": view.describe(),
                "condition": None if one.condition is None else float(f"{one.condition:.4g}"),
                "figures_justified": figures_justified(one, half_units),
                "effects": {path: float(f"{x:.4g}") for path, x in one.effects.items() if x},
                "no_slope": list(one.without),
                "why": one.why,
            }
            for view, one in found.items()
        ]

    def sensitivity_text(self) -> str:
        """For people: one row an answer and given that matters."""
        rows = []
        for one in self.sensitivities():
            condition = "undefined" if one["condition"] is None else f"{one['condition']:g}"
            figures = "" if one["figures_justified"] is None else one["figures_justified"]
            rows.append([one["answer"], "", "", condition, figures])
            rows += [["", path, f"{x:+.4g}", "", ""] for path, x in one["effects"].items()]
            rows += [["", path, one["why"], "", ""] for path in one["no_slope"]]
        heads = ["answer", "given", "effect", "condition number", "figures justified"]
        table = tabulate(rows, headers=heads, disable_numparse=True, tablefmt="simple")
        return f"{table}\n\n{_EFFECT}"

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
            said = answer.get("value") or f"not proven: {answer.get('not_proven')}"
            if "refused" in answer:
                said = f"no answer: {answer['refused']} ({answer['evidence']})"
            rows.append([view.describe(), said, answer.get("unit", ""), answer.get("how", "")])
        heads = ["answer", "proven value", "unit", "proven as"]
        if rows:
            parts.append(tabulate(rows, headers=heads, disable_numparse=True, tablefmt="simple"))
        parts.append(self._proof())
        caution = family(case.family).caution
        if caution:
            parts.append(caution)
        return "\n\n".join(parts)

    def _proof(self) -> str:
        """How the answers were proven, or what was not."""
        reference = self.reference
        if reference.stopped:
            return f"Nothing is proven: {reference.stopped}."
        tried = f"{self.digits} digits at {reference.bits} bits"
        method = family(self.case.family).second_method
        return (
            f"{'Not all answers are proven' if self.not_proven else 'Proven'} to {tried}; "
            f"residuals {reference.residuals} "
            f"({f'second method: {method}' if method else 'no independent check'}); "
            f"second opinion on the arithmetic (mpmath): {reference.second_opinion}."
        )


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
