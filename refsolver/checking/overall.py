"""The overall result: ``met``, ``not met`` or ``insufficient``, by one rule.

=============  ========================================================================
not met        any finding is ``fail`` or ``error``
insufficient   no finding failed, but a declared family, input or output was not judged
               often enough, or something asked stayed without an answer (``no answer``,
               ``refused``, ``not proven``), or the self-check of this installation
               failed for a case that was used, or nothing was judged, or the run was
               stopped before every case was judged
met            none of these
=============  ========================================================================
"""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from refsolver.checking.coverage import Coverage

__all__ = ["RULE", "Overall", "overall"]

RULE = (
    "met: the run is complete, every reading judged passes, every declared family and output is "
    "judged in at least {least} cases that count, every input is given at least two values, "
    "nothing asked stayed without an answer, and the self-check of this installation agrees for "
    "the cases used. "
    "not met: at least one reading fails or is an error. insufficient: anything else."
)


@attrs.frozen
class Overall:
    """``because`` lists every reason in words; empty where the result is met.

    That the run was stopped comes first, then what fails, then what is lacking.
    """

    result: str
    rule: str
    because: tuple[str, ...]


def _counted(number: int, verdict: str) -> str:
    """How many readings have a verdict, in words."""
    return f"{number} reading{'s' * (number != 1)}: {verdict}"


def overall(
    counts: Mapping[str, int],
    coverage: Coverage,
    least: int,
    selfcheck_failed: int,
    unjudged: int = 0,
    asked: int = 0,
) -> Overall:
    """The result by the rule above, with its reasons.

    ``unjudged`` of the ``asked`` cases were not reached before the run was stopped.
    """
    failing = [
        _counted(counts[verdict], verdict) for verdict in ("fail", "error") if counts[verdict]
    ]
    stopped = [
        f"the run was stopped: {asked - unjudged} of {asked} cases judged, {unjudged} not"
    ] * bool(unjudged)
    lacking = [
        _counted(counts[verdict], verdict)
        for verdict in ("no answer", "refused", "not proven")
        if counts[verdict]
    ]
    for part in coverage.families:
        if part.cases < least:
            lacking.append(f"{part.family}: judged in {part.cases} cases, {least} are asked")
        lacking += [
            f"{part.family}: {name} judged in {count} cases, {least} are asked"
            for name, count in part.outputs.items()
            if count < least
        ]
        lacking += [
            f"{part.family}: input {place} was given {part.values[place]} values"
            for place in part.never_varied
        ]
    if selfcheck_failed:
        lacking.append(f"the self-check of this installation failed for {selfcheck_failed} values")
    result = "not met" if failing else "insufficient" if stopped or lacking else "met"
    return Overall(result, RULE.format(least=least), (*stopped, *failing, *lacking))
