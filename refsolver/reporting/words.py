"""Sentences that every report carries, and the sign and meaning of each verdict.

They state results and the decision rule; what follows from them is for people.
"""

from __future__ import annotations

__all__ = [
    "ACCEPTED",
    "ALL_PASS",
    "BLANKS",
    "CONDITION",
    "DETECTION",
    "IDENTITY",
    "LIMITS",
    "NOTHING_JUDGED",
    "NOT_SHOWN",
    "PROVEN",
    "RANGE",
    "READ",
    "RESULTS",
    "SIGNATURES",
    "STOPPED",
    "VERDICTS",
    "cell_said",
    "computed_by",
    "how_far",
    "judged",
    "start_and_end",
    "two_engines",
]

from collections.abc import Mapping
from typing import Any

VERDICTS: dict[str, tuple[str, str]] = {
    "pass": ("✓", "the deviation lies within the tolerance, or a case without answer is declined"),
    "fail": ("✗", "the deviation lies outside the tolerance, or a value stands where none exists"),
    "error": ("!", "a crash, an error value, or text that is no number"),
    "no answer": ("○", "the output was left blank"),
    "refused": ("⊘", "the calculator declines where an answer exists"),
    "not proven": ("?", "the reference solver could not decide it"),
    "not applicable": (
        "–",
        "a zero resultant has no direction to judge, or the case lies on a border that the "
        "numbers handed over miss",
    ),
}
"""By verdict, in the order they are listed: a sign to stand beside the word, and its meaning."""

RESULTS: dict[str, str] = {"met": "✓", "not met": "✗", "insufficient": "○"}

IDENTITY: dict[str, str] = {
    "noticed, hidden sheets": "hidden sheets",
    "noticed, macros": "holds macros",
    "noticed, external": "links to other files",
    "noticed, volatile": "volatile functions",
    "noticed, changing": "outputs that rest on the date, the time or random numbers",
    "noticed, computed": "references made by formulas, so that precedents are not fully known",
    "noticed, functions": "functions that are user-defined or misspelt",
    "noticed, names": "names and references that mean nothing",
    "noticed, data tables": "data tables",
    "noticed, validation": "data validation of inputs",
    "noticed, iteration": "iterative calculation",
    "noticed, precision as displayed": "calculates with the precision displayed",
    "noticed, dates from 1904": "dates count from 1904",
    "program of use": "computed by the user's own program",
    "by exchange": "answered by exchange of files",
    "trust, compared": "stored results recalculated",
    "trust, outcome": "agreement with the stored results",
    "trust, reason": "about that agreement",
}
"""What a fact of the calculator's identity is called, where its own key says too little."""

STOPPED = "the run was stopped before this case was judged"

ACCEPTED = (
    "An accepted deviation stays a failure and the result stays what it is. The calculator file "
    "states who accepts it, why, and the last day on which that holds; the day (UTC) on which "
    "the run ended decides whether it has expired. Who may accept a deviation is not this "
    "program's to judge."
)

PROVEN = (
    "Each reference value is an enclosure: two ends between which the solution of the equations "
    "shown in the working is proven to lie, to the number of digits stated. It is computed in "
    "ball arithmetic with outward rounding and repeated by a second library of multiple "
    "precision; every digit printed is one on which both ends agree.",
    "That these equations are the right ones is not proven by arithmetic. It rests on published "
    "answers (the self-check below) and, family by family, on a second, separately written "
    "method, named here.",
)

CONDITION = (
    "Condition: the factor by which small relative changes of the givens reach the answer at "
    "worst (undefined for angles and for zero). Digits lost: decimal digits that a value handed "
    "over as a double lacks beyond what the condition and double precision cost anybody, "
    "P = log10(1 + |deviation| / (condition x 2^-53 x |reference|)) after NPL Report CISE 25/99; "
    "values below 1 are as good as double precision allows."
)

RANGE = (
    "Nothing is known from this run of inputs outside these ranges. A pass shows little where the "
    "tolerance is a large part of the value: such readings are counted (not for angles, nor where "
    "the reference is zero)."
)

NOTHING_JUDGED = "Nothing was judged: no reading passes, and none fails."
ALL_PASS = "Nothing: every reading passes or is not applicable."

NOT_SHOWN = (
    "Cases outside the scope stated above, and inputs other than those handed over here.",
    "That the calculator suits its intended use, that its model fits the structure or the lift, "
    "or that its inputs are right.",
    "Outputs, cells and branches that the coverage lists as never judged, varied or exercised.",
    "Other versions, other copies, other settings and other programs than those identified here.",
    "How the calculator behaves when its user mistypes, or reads an output in another unit.",
    "That the mapping says truly what each place of the calculator means; its sentences quote "
    "the calculator's own words so that a person can judge.",
)

DETECTION = (
    "Every known mistake was made in double precision in every case that was asked, and the "
    "answers held to the criteria of this check. A calculator that makes a mistake listed as "
    "revealed, and makes it throughout, would not have passed.",
    "This says nothing of mistakes that are not on the list, or that are made only now and then.",
)

LIMITS = (
    "Statics decides whether things fall on people. This report compares numbers with reference "
    "values; it does not design, rate or approve anything.",
    "Rated capacities, reductions for choker and basket hitches, dynamic effects, wear and load "
    "sharing other than the one a case states are out of scope.",
    "Local codes, regulations and the makers' instructions come first, and work that needs a "
    "licence needs the licensed engineer in charge.",
)

READ: dict[str, str] = {
    "read": "read at the source",
    "second hand": "SECOND HAND: a transcription was read, not the page",
    "from memory": "FROM MEMORY: does not count towards coverage",
}

BLANKS = ("Intended use", "Conclusion", "Restrictions", "Next review due")
SIGNATURES = ("Performed by", "Reviewed by", "Approved by")


def judged(kind: str, which: str) -> str:
    """What is judged of an output: of a workbook's cell the number, the text it shows, or both."""
    if kind != "workbook":
        return "what is reported"
    return {"stored": "the number", "displayed": "the text shown"}.get(
        which, "the number, and the text shown"
    )


def computed_by(identity: Mapping[str, Any]) -> tuple[str, str]:
    """Whether the user's own program computed the results: a short answer and a sentence."""
    own = identity.get("program_of_use")
    untied = "" if identity.get("files", [""]) else _UNTIED
    if own is True:
        sentence = f"The results were computed by the user's own program.{untied}"
        return "the user's own program", sentence
    if own is False:
        engine = " ".join(str(x) for x in _values(identity.get("engine", {}))) or "an engine"
        sentence = (
            f"The results were NOT computed by the user's own program, but by an engine of this "
            f"suite: {engine}."
        )
        return "an engine of this suite, not the user's program", sentence
    runtime = identity.get("runtime", "a runtime that is not stated")
    if "address" in identity:
        sentence = f"A service of the user's answered at {identity['address']}.{untied}"
        return "a service of the user's", sentence
    sentence = f"The user's own function was called by this suite, in {runtime}.{untied}"
    return "the user's own function, called by this suite", sentence


_UNTIED = (
    " NO FILE OF IT WAS HASHED: nothing in this record tells whether a copy in use is what was "
    "checked."
)


def _values(part: Any) -> list[Any]:
    if isinstance(part, Mapping):
        return [value for value in part.values() if isinstance(value, str | int | float)]
    return [part] if part else []


def how_far(cases: Mapping[str, int]) -> str:
    """How many cases a stopped run judged, and how many it did not."""
    judged, left = cases.get("asked", 0), cases.get("not judged", 0)
    return (
        f"The run was stopped: {judged} of {judged + left} cases within the scope were judged, "
        f"{left} were not. What follows speaks of those that were."
    )


def start_and_end(circumstances: Mapping[str, Any]) -> str:
    """When the run began and ended, and when it was gone on with after it was cut short."""
    said = f"{circumstances['started']} to {circumstances['ended']}"
    again = [
        f"gone on with at {x['at']} with {x['answered']} cases answered before"
        for x in circumstances.get("continued", ())
    ]
    return ", ".join([said, *again])


def two_engines(engines: Mapping[str, Any]) -> str:
    """What was compared between two workbook engines, and how much of it differs."""
    counted = {
        what: sum(d["what"] == what for d in engines["differences"])
        for what in ("stored", "displayed")
    }
    return (
        f"{engines['judged']} was judged; {engines['other']} was put the same cases. In "
        f"{engines['cases']} cases {engines['cells']} stored values were compared, "
        f"{counted['stored']} differ by more than rounding explains; of {engines['texts']} "
        f"displayed texts {counted['displayed']} differ ({engines['texts_untold']} more cannot be "
        f"told by both). Not compared: {len(engines['not_compared'])} cases."
    )


def cell_said(value: Any) -> str:
    """A cell's value, or a displayed text, as one of the engines has it."""
    if isinstance(value, Mapping):
        ((kind, inner),) = value.items()
        return "blank" if kind == "blank" else f"{inner}"
    return f"{value}"
