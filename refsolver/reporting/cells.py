"""Single facts of a finding as the words that stand in a cell, the same in every view."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = [
    "agreeing",
    "condition",
    "deviation",
    "lost",
    "output",
    "reference",
    "reported",
    "share",
    "tolerance",
]

Finding = Mapping[str, Any]
NONE = "—"


def output(finding: Finding) -> str:
    """The output; where its displayed text is judged, not the number behind it, that too."""
    name, judged = str(finding["output"]), finding["judged"]
    return name if judged == "stored" else f"{name} ({judged})"


def reported(finding: Finding) -> str:
    """What the calculator gave, exactly as it came."""
    return str(finding["reported"]) or "(blank)"


def reference(finding: Finding) -> str:
    """The proven value, or the expected word or refusal."""
    found = finding["reference"]
    return str(finding["expected"]) or NONE if found is None else str(found["shown"])


def deviation(finding: Finding) -> str:
    """Reported less reference, to three proven figures, with its sign."""
    found = finding["deviation"]
    if found is None:
        return NONE
    shown = str(found["shown"])
    return shown if shown[0] in "-|" or shown == "0" else f"+{shown}"


def tolerance(finding: Finding) -> str:
    """The allowed deviation; below and above apart where they differ."""
    found = finding["tolerance"]
    if found is None:
        return NONE
    if found["below"] == found["above"]:
        return f"±{found['above']}"
    return f"-{found['below']} / +{found['above']}"


def share(finding: Finding) -> str:
    """The deviation as a share of the tolerance: 1 is the limit."""
    found = finding["tolerance"]
    if found is None or found["share"] is None:
        return NONE
    size = found["share"]
    if size >= 1e6 or 0 < size < 1e-3:
        return f"{size:.1e}"
    return f"{size:,.0f}" if size >= 100 else f"{size:.3g}"


def agreeing(finding: Finding) -> str:
    """Significant digits in which reported and reference agree."""
    if finding["deviation"] is not None and finding["deviation"]["shown"] == "0":
        return "all"
    digits = finding["agreeing_digits"]
    return NONE if digits is None else f"{max(digits, 0.0):.1f}"


def condition(finding: Finding) -> str:
    """The condition number: by how much the problem itself enlarges relative changes."""
    found = finding["condition_number"]
    return NONE if found is None else f"{found:.3g}"


def lost(finding: Finding) -> str:
    """Digits of double precision lost beyond what the problem costs."""
    found = finding["digits_lost"]
    return NONE if found is None else f"{found:.1f}"
