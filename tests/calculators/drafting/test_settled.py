"""Drafts of several layouts, settled as their comments say, lead to a result of met.

All of these workbooks compute rightly, so whatever was mapped wrongly would show.
"""

from __future__ import annotations

import re

import openpyxl
import pytest

from refsolver.calculators.drafting.writing import draft_workbook, write_draft
from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.check import run_check

ANSWERS = {
    'version = "decide"': 'version = "1"',
    'owner = "decide"': 'owner = "nobody (made up)"',
    'range = "decide"': 'range = "0..360"',
    'negate = "decide"': "negate = false",
    'sharing = "decide"': 'sharing = "every leg"',
    "# gaps = true": "gaps = true",
}
"""What holds for these workbooks where a draft has nothing to propose."""


def settled(text):
    """Guesses kept, what was not recognised deleted, a criterion written for each output."""
    tables = []
    for table in re.split(r"(?m)^(?=\[\[family)", text):
        if re.search(r'(?m)^(given|answer) = "decide"', table):
            continue
        unit = re.search(r'(?m)^unit = "(?:decide: )?([^"]+)"', table)
        amount = f"0.000001 {unit[1]}" if unit else "0.000001"
        tables.append(
            re.sub(
                r"(?m)^criterion = .*$",
                f'criterion = {{ relative = "0.001 %", absolute = "{amount}", '
                'reason = "nothing is rounded" }',
                table,
            )
        )
    text = "".join(tables).replace('"decide: ', '"')
    for old, new in ANSWERS.items():
        text = text.replace(old, new)
    return text


@pytest.mark.slow
@pytest.mark.parametrize("layout", ["sling", "belt", "moments", "wide"])
def test_a_settled_draft_of_a_right_workbook_is_met(build, layout, tmp_path):
    path = build(layout)
    target = tmp_path / "draft.toml"
    write_draft(draft_workbook(path, target), target)
    target.write_text(settled(target.read_text()))
    run = run_check(read_calculator_file(target), Catalogue())
    assert run.overall.result == "met", run.overall.because
    assert sum(r.asked for r in run.runs) >= 3


SPAN = [
    ["Simply supported beam, two loads"],
    ["Span (ft)", 20],
    ["Load 1 (lb)", 400, "Distance of load 1 from the left (ft)", 5],
    ["Load 2 (lb)", 250, "Distance of load 2 from the left (ft)", 12],
    [],
    ["Reaction A (lb)", "=(B3*(B2-D3)+B4*(B2-D4))/B2"],
    ["Reaction B (lb)", "=B3+B4-B6"],
]
"""A sheet (constructed) that has no place for its supports, and counts loads and reactions."""


@pytest.mark.slow
def test_a_draft_of_a_beam_whose_supports_are_taken_for_granted(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Span, two loads"
    for row in SPAN:
        book.active.append(row)
    book.save(tmp_path / "span.xlsx")
    target = tmp_path / "draft.toml"
    write_draft(draft_workbook(tmp_path / "span.xlsx", target), target)
    text = target.read_text()
    assert text.count('along = "decide"') == 2
    down, rest = text.replace('along = "decide"', 'along = "-y"', 1), 'along = "decide"'
    text = down.replace(rest, 'along = "+y"')
    for row, at in ((1, "0 ft"), (2, "length")):
        text = text.replace(f'"supports[{row}].at" = "decide"', f'"supports[{row}].at" = "{at}"')
        kind = f'"supports[{row}].kind" = '
        text = text.replace(f'{kind}"decide"', f'{kind}["pin", "roller"]')
    for key, value in (("at_least", "2"), ("at_most", "2"), ("reason", '"one span"')):
        text = re.sub(rf'(?m)^{key} = "decide"', f"{key} = {value}", text)
    target.write_text(settled(text))
    run = run_check(read_calculator_file(target), Catalogue())
    assert run.overall.result == "met", run.overall.because
    assert sum(r.asked for r in run.runs) >= 3
