"""The section of a record that says where two workbook engines differ."""

from __future__ import annotations

from typing import Any

from refsolver.records.runs import CheckRun

__all__ = ["engines_data"]


def engines_data(run: CheckRun) -> dict[str, Any] | None:
    """What the two engines of a run saw; None of a run with one.

    ``differences`` lists case, cell, ``what`` (stored or displayed), and what the engine that
    was judged and the other one say.
    """
    found = {
        r.case.id: r.received.engines
        for r in run.runs
        if r.received is not None and r.received.engines
    }
    if not found:
        return None
    compared = {id: one for id, one in found.items() if "failure" not in one}
    return {
        "judged": run.identity.get("engine", ""),
        "other": run.identity.get("second_engine", ""),
        "cases": len(compared),
        "cells": sum(one["cells"] for one in compared.values()),
        "texts": sum(one["texts"] for one in compared.values()),
        "texts_untold": sum(one["untold"] for one in compared.values()),
        "differences": [
            {"case": id, "cell": cell, "what": what, "judged": pair[0], "other": pair[1]}
            for id, one in compared.items()
            for what in ("stored", "displayed")
            for cell, pair in one[what].items()
        ],
        "not_compared": [
            {"case": id, "why": one["failure"]} for id, one in found.items() if "failure" in one
        ],
    }
