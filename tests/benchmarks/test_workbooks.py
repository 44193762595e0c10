"""A workbook case: the engine alone, our side of it, and LibreOffice in two manners.

The engine alone is driven by hand, in this process, and does what a case needs of it: every
input set, one recalculation, and of each output the value, its type and the displayed text.
A calculator asked is the whole of our side: places found, a worker process with its messages,
texts by :mod:`refsolver.calculators.workbook.display`, and the cells followed for coverage.
"""

from __future__ import annotations

import itertools
import shutil
import subprocess
from importlib import resources
from pathlib import Path

import attrs
import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.embedded_worker import EmbeddedBook
from refsolver.calculators.workbook.references import WorkbookNames
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.one_case import asked_of, prepared_run
from refsolver.runs.questions import questions_for

CASES = 400
OFFICE_CASES = 40
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
    return list(itertools.islice(itertools.cycle([asked_of(run) for run in runs[:40]]), CASES))


def _cells(book, names, mapped):
    return book.plan([names.cell(one.place) for one in mapped]).cells


def test_the_engine_alone(benchmark, file, questions):
    """Put, recalculate and read in this process: the least that any case costs."""
    path = file.folder / "hanger-workbook.xlsx"
    names, book = WorkbookNames.read(path), EmbeddedBook()
    book.open(str(path))
    cases = [
        (
            list(zip(_cells(book, names, q.slots), (s.handed for s in q.slots), strict=True)),
            _cells(book, names, q.outputs),
        )
        for q in questions
    ]
    model = book.model

    def run():
        for inputs, outputs in cases:
            for address, value in inputs:
                if value is None:
                    model.clear_cell_contents(*address)
                elif isinstance(value, str):
                    model.update_cell_with_text(*address, value)
                else:
                    model.update_cell_with_number(*address, value)
            model.evaluate()
            for address in outputs:
                model.get_cell_value(*address)
                model.get_cell_type(*address)
                model.get_formatted_cell_value(*address)

    benchmark(run)


def _asked(file, engine, questions):
    settings = {**file.settings, "engine": engine}
    return open_calculator(attrs.evolve(file, settings=settings)), questions


@pytest.mark.parametrize("engine", ["embedded", pytest.param("office", marks=no_office)])
def test_a_calculator_asked(benchmark, file, questions, engine):
    calculator, asked = _asked(file, engine, questions)
    if engine == "office":
        asked = asked[:OFFICE_CASES]
        benchmark.extra_info["scale"] = CASES / OFFICE_CASES
    list(calculator.ask(asked[:OFFICE_CASES]))  # starts the worker, and follows the cells
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
