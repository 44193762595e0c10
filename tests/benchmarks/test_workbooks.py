"""A workbook case: the engine alone, our side of it, and LibreOffice in two manners."""

from __future__ import annotations

import shutil
import subprocess
from importlib import resources
from pathlib import Path

import attrs
import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.embedded_worker import EmbeddedBook
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.one_case import asked_of, prepared_run
from refsolver.runs.questions import questions_for

CASES = 40
pytestmark = pytest.mark.benchmark(group=f"workbook of the demonstration, {CASES} cases")
OFFICE = shutil.which("soffice")
no_office = pytest.mark.skipif(OFFICE is None, reason="a benchmark that needs LibreOffice")


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    folder = tmp_path_factory.mktemp("workbook")
    for name in ("hanger-workbook.toml", "hanger-workbook.xlsx"):
        data = (resources.files("refsolver.demo") / name).read_bytes()
        (folder / name).write_bytes(data)
    return read_calculator_file(folder / "hanger-workbook.toml")


@pytest.fixture(scope="module")
def questions(file):
    found = questions_for(file, Catalogue(), True)
    runs = [run for run in (prepared_run(q, True) for q in found) if run.asked]
    return [asked_of(run) for run in runs[:CASES]]


def _address(place: str) -> tuple[str, int, int]:
    sheet, _, cell = place.rpartition("!")
    letters = cell.rstrip("0123456789")
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return sheet.strip("'"), int(cell[len(letters) :]), column


def test_the_engine_alone(benchmark, file, questions):
    """Put, recalculate and read in this process: the least that any case costs."""
    book = EmbeddedBook()
    book.open(str(file.folder / "hanger-workbook.xlsx"))
    calculator = open_calculator(file)
    outputs = book.plan([_address(p) for p in questions[0].places if "!" in p])
    inputs = book.plan([_address(slot.place) for slot in questions[0].slots])
    calculator.close()

    def run():
        for question in questions:
            values = [slot.double for slot in question.slots][: len(inputs)]
            book.put(inputs[: len(values)], values)
            book.recalculate()
            book.values(outputs)

    benchmark(run)


def _asked(file, engine, questions):
    settings = {**file.settings, "engine": engine}
    return open_calculator(attrs.evolve(file, settings=settings)), questions


@pytest.mark.parametrize("engine", ["embedded", pytest.param("office", marks=no_office)])
def test_a_calculator_asked(benchmark, file, questions, engine):
    calculator, asked = _asked(file, engine, questions)
    try:
        answers = benchmark.pedantic(lambda: list(calculator.ask(asked)), rounds=3)
    finally:
        calculator.close()
    assert all(answer.failure is None for answer in answers)


@no_office
def test_office_with_a_file_a_case(benchmark, file, tmp_path):
    """Two files only, converted one after the other; times twenty for as many cases."""

    def convert():
        for number in range(2):
            shutil.copy(file.folder / "hanger-workbook.xlsx", tmp_path / f"{number}.xlsx")
            subprocess.run(
                [
                    str(OFFICE), f"-env:UserInstallation=file://{tmp_path}/profile", "--headless",
                    "--convert-to", "csv", "--outdir", str(tmp_path), f"{tmp_path}/{number}.xlsx",
                ],
                check=True, capture_output=True, timeout=120,
            )  # fmt: skip

    benchmark.extra_info["scale"] = CASES / 2
    benchmark.pedantic(convert, rounds=1, warmup_rounds=int(benchmark.enabled))
    assert Path(tmp_path / "1.csv").exists()
