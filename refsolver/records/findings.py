"""Readings as the record has them: verdict, proof, deviation, and what the problem costs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Exact
from refsolver.catalogue.schema import Case
from refsolver.checking.judging import Finding
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.folding import times
from refsolver.quantities.literals import half_unit
from refsolver.quantities.printing import outward, proven_text
from refsolver.quantities.rounding import exact_decimal
from refsolver.quantities.units import read_unit
from refsolver.records.runs import CaseRun
from refsolver.statics.registry import family
from refsolver.statics.sensitivity import (
    Sensitivity,
    digits_lost,
    figures_justified,
    sensitivities,
)

__all__ = ["findings_data", "half_units_of"]

_SHOWN = 12
"""Figures of a reference value shown to people; the enclosure has all of them."""

_SLOPE = re.compile(r"\.slope\.[+-](x|y|z)$")


def findings_data(run: CaseRun, takes_doubles: bool) -> list[dict[str, Any]]:
    """Every reading of a case that was asked, as the record has it.

    The sensitivities are those of the values handed over.
    """
    assert run.handed is not None and run.reference is not None
    views = {line.id: line.view for line in run.outputs}
    numbers = [views[f.output] for f in run.findings if f.reference is not None]
    owner, decisions = family(run.case.family), run.reference.decisions
    found = sensitivities(owner, run.handed.given, list(dict.fromkeys(numbers)), decisions)
    half_units = half_units_of(run.case)
    return [
        _finding(finding, found.get(views[finding.output]), half_units, takes_doubles)
        for finding in run.findings
    ]


def half_units_of(case: Case) -> dict[str, Exact]:
    """Half a unit of the last digit of each given printed as a decimal, by path.

    In coherent units, an angle in radians; a whole number counts as printed to its unit.
    """
    found: dict[str, Exact] = {}
    for path, literal in case.literals.items():
        half = half_unit(literal)
        if half is None:
            continue
        # A slope says which way along the axis; the run's component is meant.
        path = _SLOPE.sub(r".run.\1", path)
        if not literal.unit_text:
            found[path] = half
            continue
        unit = read_unit(literal.unit_text, mass_words_are_force=case.unit_words)
        found[path] = (
            times(half, unit.in_si) if unit.dimension == ANGLE else case.units.bring(half, unit)
        )
    return found


def _finding(
    finding: Finding,
    sensitivity: Sensitivity | None,
    half_units: Mapping[str, Exact],
    takes_doubles: bool,
) -> dict[str, Any]:
    figures = max(finding.digits, 1) + 3
    band, measure = finding.band, finding.measures
    return {
        "line": finding.line,
        "output": finding.output,
        "judged": finding.judged,
        "verdict": finding.verdict,
        "why": finding.why,
        "reported": finding.reported,
        "number": _decimal(finding.number),
        "unit": finding.unit,
        "expected": finding.expected,
        "reference": None
        if finding.reference is None
        else {
            "shown": proven_text(finding.reference, _SHOWN),
            **(_ends(finding.reference, figures) or {}),
            "digits": finding.digits,
        },
        "deviation": None
        if finding.deviation is None
        else {"shown": proven_text(finding.deviation, 3), **(_ends(finding.deviation, 6) or {})},
        "tolerance": None
        if band is None
        else {
            "below": proven_text(band.below, 4),
            "above": proven_text(band.above, 4),
            "share": _share(finding),
        },
        "relative": None if measure is None else measure.relative,
        "agreeing_digits": None
        if measure is None or measure.digits is None
        else min(measure.digits, 400.0),
        **_costs(finding, sensitivity, half_units, takes_doubles),
    }


def _costs(
    finding: Finding,
    sensitivity: Sensitivity | None,
    half_units: Mapping[str, Exact],
    takes_doubles: bool,
) -> dict[str, Any]:
    """What the problem itself costs, and what the calculator lost beyond that.

    The digits lost are those of a double: they mean nothing for a text shown rounded, nor
    for a program that computes otherwise.
    """
    condition = None if sensitivity is None else sensitivity.condition
    doubles = takes_doubles and finding.judged == "stored" and finding.measures is not None
    relative = finding.measures.relative if doubles and finding.measures is not None else None
    lost = digits_lost(relative, condition)
    return {
        "condition_number": None if condition is None else float(f"{condition:.3g}"),
        "digits_lost": None if lost is None else float(f"{lost:.2f}"),
        "figures_justified": None
        if sensitivity is None
        else figures_justified(sensitivity, half_units),
    }


def _share(finding: Finding) -> float | None:
    """The deviation as a share of the tolerance on its side; None where that is zero."""
    assert finding.band is not None and finding.deviation is not None
    low = finding.deviation.middle < 0
    allowed = (finding.band.below if low else finding.band.above).middle
    if allowed == 0:
        return None
    ratio = abs(finding.deviation.middle) / allowed
    return float(f"{int(ratio.p) / int(ratio.q):.6g}") if ratio < 10**300 else None


def _decimal(x: fmpq | None) -> str | None:
    if x is None:
        return None
    return exact_decimal(x) or f"{x.p}/{x.q}"


def _ends(value: Enclosure | None, figures: int) -> dict[str, str] | None:
    if value is None:
        return None
    lower, upper = outward(value, figures)
    return {"lower": lower, "upper": upper}
