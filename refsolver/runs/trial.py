"""One case put to a calculator, shown in full before a whole run."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tabulate import tabulate

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.mapping import NotApplicable, hand_over
from refsolver.calculators.opening import open_calculator
from refsolver.runs.one_case import with_outputs
from refsolver.runs.questions import with_units
from refsolver.runs.solving import read_any_case

__all__ = ["trial_text"]


def trial_text(path: Path, name: str) -> str:
    """One case put to the calculator: exactly what is handed over, sent and received."""
    file = read_calculator_file(path)
    case = read_any_case(name)
    if case.family not in [section.family for section in file.sections]:
        raise CalculatorFileError(
            f"{path}: no [[family]] {case.family}, which {name} asks for; add it, or choose "
            "another case"
        )
    calculator = open_calculator(file)
    try:
        section = calculator.file.section(case.family)
        case = with_units(case, section)
        handed = hand_over(case, section, takes_doubles=calculator.takes_doubles)
        question = with_outputs(case, section, handed)
        trial = getattr(calculator, "trial", None)
        shown: dict[str, Any] = (
            trial(question) if trial else {"received": next(calculator.ask([question]))}
        )
    except NotApplicable as outside:
        return f"{name} is not applicable: {outside}"
    finally:
        calculator.close()
    received = shown["received"]
    parts = [
        f"{case.title}\n{case.statement}",
        tabulate(
            [[x.place, x.says, x.case_value, x.handed_value, x.unit] for x in handed.leaves],
            headers=["place", "the calculator's words", "case", "handed over", "unit"],
            disable_numparse=True,
        ),
    ]
    for name, sent in shown.get("sent", {}).items():
        parts.append(f"sent as {name}:\n{sent.decode('utf-8', 'replace')}")
    for name, found in shown.get("in_echo", {}).items():
        parts.append(f"CAUTION: pattern {name} also matches the text sent: {found}")
    if shown.get("unprinted"):
        parts.append(f"CAUTION: never printed by the template: {', '.join(shown['unprinted'])}")
    for name, raw in received.raw.items():
        if name not in ("sent",) and raw not in (b"", {}, ""):
            parts.append(f"received, {name}:\n{_readable(raw)}")
    if received.failure is not None:
        parts.append(f"no answer: {received.failure.kind}: {received.failure.detail}")
    parts.append(
        tabulate(
            [[place, json.dumps(dict(value))] for place, value in received.values.items()],
            headers=["place", "read"],
            disable_numparse=True,
        )
    )
    return "\n\n".join(parts)


def _readable(raw: Any) -> str:
    if isinstance(raw, bytes):
        return raw.decode("utf-8", "replace")
    return json.dumps(raw, default=str)
