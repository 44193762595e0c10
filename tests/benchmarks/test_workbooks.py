"""A workbook case: the engine alone, our side of it, and LibreOffice in two manners.

*The engine's own time* is that of the bare engine doing what a case needs of it, in this
process, through its own functions and with every address ready: each mapped input set by the
setter of its type (a blank cleared), one recalculation, and of each output the value, its type
and the displayed text. *A calculator asked* is the whole of our side of the same cases, from
what is handed over to the answer that is judged: the cells of each place, the worker process
with its messages, inputs set, the recalculation, values, types and displayed texts (by
:mod:`refsolver.calculators.workbook.display`), the exact decimal text of each number, the cells
followed for coverage, and the cutting to size of what came back. Whatever that takes beyond the
engine's own time is our overhead; the bar is that it takes no more than that again.

Two processes share the work, which the wall clock does not show where there are two cores; so
the processor time of both together stands beside it.

*Handing over* (units, signs, the nearest doubles) is done for every kind of calculator alike,
as are proof, judging and journal; it has a row by itself and is not in the others. A campaign
does it in columns; its row is made, handed over, asked, proven and judged.
"""

from __future__ import annotations

import itertools
import shutil
import subprocess
import time
from importlib import resources
from pathlib import Path

import attrs
import pytest

from refsolver.calculators.bounds import bounded
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded_worker import EmbeddedBook
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs import quick_shards
from refsolver.runs.one_case import asked_of, prepared_run
from refsolver.runs.questions import questions_for
from refsolver.runs.shards import Cell, Plan, run_shard

CASES = 400
OFFICE_CASES = 40
ROUNDS = 30
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


@pytest.fixture(scope="module")
def bare(file, questions):
    """Put, recalculate and read in this process: the least that any case costs."""
    path = file.folder / "hanger-workbook.xlsx"
    names, book = read_contents(path).names, EmbeddedBook()
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

    return run


def test_the_engine_alone(benchmark, bare):
    benchmark.pedantic(bare, rounds=ROUNDS)


def _processor_ratio(run, bare, worker):
    """Processor time of a run, the worker's included, to the bare engine's, turn by turn.

    The least of each counts: the speed of a machine with other work changes by the second.
    """
    least = {run: float("inf"), bare: float("inf")}
    for _ in range(ROUNDS):
        for each in (bare, run):
            begun = time.process_time() + _processor_time(worker)
            each()
            taken = time.process_time() + _processor_time(worker) - begun
            least[each] = min(least[each], taken)
    return least[run] / least[bare]


def _processor_time(process):
    """Seconds on a processor of all threads of a process, to the nanosecond (Linux)."""
    threads = Path(f"/proc/{process}/task").glob("*/schedstat")
    return sum(int(path.read_text().split()[0]) for path in threads) * 1e-9


def _asked(file, engine, questions):
    settings = {**file.settings, "engine": engine}
    calculator = open_calculator(attrs.evolve(file, settings=settings))
    list(calculator.ask(questions))  # starts the worker, and follows the cells
    answers = []

    def run():
        answers[:] = map(bounded, calculator.ask(questions))

    return calculator, run, answers


def test_a_calculator_asked(benchmark, file, questions, bare):
    calculator, run, answers = _asked(file, "embedded", questions)
    try:
        benchmark.pedantic(run, rounds=ROUNDS, warmup_rounds=1)
        if benchmark.enabled:
            worker = calculator._engine._worker._child.process.pid
            ratio = _processor_ratio(run, bare, worker)
            benchmark.extra_info["processor time to the engine's own"] = f"{ratio:.3g}"
    finally:
        calculator.close()
    assert len(answers) == CASES
    assert all(answer.failure is None for answer in answers)


@no_office
def test_office_asked(benchmark, file, questions):
    benchmark.extra_info["scale"] = CASES / OFFICE_CASES
    calculator, run, answers = _asked(file, "office", questions[:OFFICE_CASES])
    try:
        benchmark.pedantic(run, rounds=3)
    finally:
        calculator.close()
    assert all(answer.failure is None for answer in answers)


def test_handing_over(benchmark, file):
    """The same cases before they are asked, for comparison: a calculator of any kind has it."""
    found = list(itertools.islice(questions_for(file, Catalogue(), True), 40))
    benchmark.extra_info["scale"] = CASES / len(found)
    benchmark.pedantic(lambda: [prepared_run(question, True) for question in found], rounds=3)


@pytest.mark.parametrize("batch", ["in columns", "case by case"])
def test_a_campaign(benchmark, file, monkeypatch, batch):
    """As many generated cases, judged to thirty digits, the calculator open already.

    Of the form's two outputs the one that is right: what fails is judged by itself.
    """
    if batch == "case by case":
        monkeypatch.setattr(quick_shards, "TakesColumns", _Nobody)
    path = file.folder / "right-output.toml"
    path.write_text(file.text.rpartition("[[family.output]]")[0], encoding="utf-8")
    plan = Plan(path, 1, 30, (Cell(file.sections[0].family, 1.0, 10.0),), CASES, CASES)
    run_shard(plan, next(plan.shards()))
    benchmark.pedantic(lambda: run_shard(plan, next(plan.shards())), rounds=3)


class _Nobody:
    """No calculator is one of these."""


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
