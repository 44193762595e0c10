"""Both engines, and plain arithmetic, on many random cases of one invented workbook."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import (
    CellInput,
    ErrorCell,
    NumberCell,
    Readings,
    TextCell,
)
from refsolver.calculators.workbook.office import OfficeEngine
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.trust import compare_engines

CASES = 300


def _cell(row: int, column: int) -> CellRef:
    return CellRef("Resultant", row, column)


def _random_cases(count: int) -> list[dict[CellRef, CellInput]]:
    """From no pull at all to eight, gaps between them, an unknown unit now and then."""
    rng = random.Random(11)
    cases = []
    for _ in range(count):
        case: dict[CellRef, CellInput] = {}
        for row in range(6, 14):
            used = rng.random() < 0.7
            case[_cell(row, 2)] = rng.choice([rng.uniform(0, 500), 100]) if used else None
            case[_cell(row, 3)] = rng.choice([rng.uniform(-360, 720), 90.0]) if used else None
            case[_cell(row, 4)] = rng.choices(["lbf", "kip", "kgf", "stone"], [9, 3, 3, 0.2])[0]
        cases.append(case)
    return cases


@pytest.mark.office
def test_both_engines_give_the_same_values(
    embedded: EmbeddedEngine, office: OfficeEngine, resultant: Path
) -> None:
    reads = read_contents(resultant).names.cells("Resultant!B16:B26")
    reads += read_contents(resultant).names.cells("Resultant!E6:F13")
    comparison = compare_engines(embedded, office, resultant, reads, _random_cases(CASES))
    assert comparison.agree
    assert comparison.compared == CASES * len(reads)
    assert (comparison.first, comparison.second) == (embedded.identity(), office.identity())


def test_the_embedded_engine_gives_what_arithmetic_gives(
    embedded: EmbeddedEngine, resultant: Path
) -> None:
    factors = {"lbf": 1.0, "kip": 1000.0, "kgf": 2.2046226218487757}
    cases = _random_cases(CASES)
    reads = [_cell(row, 2) for row in (16, 17, 18, 20, 22)]
    embedded.open(resultant)
    answers = embedded.run(cases, reads)
    unknown_units = 0
    for case, answer in zip(cases, answers, strict=True):
        assert isinstance(answer, Readings)
        x, y, size, words, count = answer.values.values()
        rows = [(case[_cell(r, 2)], case[_cell(r, 3)], case[_cell(r, 4)]) for r in range(6, 14)]
        pulls = [(p, a, u) for p, a, u in rows if isinstance(p, float | int)]
        assert count == NumberCell(float(len(pulls)))
        if any(unit not in factors for *_, unit in pulls):
            unknown_units += 1
            assert x == size == ErrorCell("#N/A")
            continue
        terms = [(p * factors[str(u)], math.radians(float(a or 0))) for p, a, u in pulls]
        expected = [
            math.fsum(p * math.sin(a) for p, a in terms),
            math.fsum(p * math.cos(a) for p, a in terms),
        ]
        scale = sum(p for p, _ in terms)
        for got, wanted in zip((x, y, size), (*expected, math.hypot(*expected)), strict=True):
            assert isinstance(got, NumberCell)
            assert abs(got.value - wanted) <= 1e-13 * scale
        if min(map(abs, expected)) > 1e-12 * scale:
            side = "down" if expected[1] < 0 else "up"
            assert words == TextCell(side + (" left" if expected[0] < 0 else " right"))
    assert 0 < unknown_units < CASES / 2
