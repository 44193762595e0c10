"""A user's Python functions, written here, called through real worker processes."""

from __future__ import annotations

import base64
import math
import struct
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.python_worker import (
    CannotHandOver,
    ReturnedNumber,
    decoded,
    encoded,
    open_python,
)
from refsolver.calculators.worker import Worker, WorkerFailure

Open = Callable[..., Worker]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Open]:
    workers: list[Worker] = []

    def open_source(source: str, name: str = "calculate", **options: Any) -> Worker:
        (tmp_path / "sheet.py").write_text(textwrap.dedent(source), encoding="utf-8")
        workers.append(open_python(f"sheet:{name}", tmp_path, 30, **options))
        return workers[-1]

    yield open_source
    for worker in workers:
        worker.close()


class TestCalls:
    def test_a_dict_comes_back_with_exact_numbers(self, opened: Open) -> None:
        worker = opened("""
            from decimal import Decimal
            from fractions import Fraction
            import numpy as np

            def calculate(case):
                return {
                    "sum": case["a"] + case["b"],
                    "third": Fraction(1, 3),
                    "printed": Decimal("62.00"),
                    "narrow": np.float32(0.1),
                    "array": np.array([[1.5, 2.0]]),
                    "count": np.int64(3),
                    "holds": np.bool_(True),
                    "note": "ok",
                    "none": None,
                    "nan": float("nan"),
                    "joints": {1: -math.inf},
                }

            import math
        """)
        answer = worker.ask({"call": {"a": 0.1, "b": 0.2}}, 10)
        assert decoded(answer["result"]) == {
            "sum": ReturnedNumber("0.30000000000000004", "float"),
            "third": ReturnedNumber("1/3", "fraction"),
            "printed": ReturnedNumber("62.00", "decimal"),
            "narrow": ReturnedNumber("0.10000000149011612", "float"),
            "array": [[ReturnedNumber("1.5", "float"), ReturnedNumber("2.0", "float")]],
            "count": ReturnedNumber("3", "int"),
            "holds": True,
            "note": "ok",
            "none": None,
            "nan": ReturnedNumber("nan", "float"),
            "joints": {"1": ReturnedNumber("-inf", "float")},
        }

    def test_doubles_arrive_as_they_were_sent(self, opened: Open) -> None:
        worker = opened("def calculate(case): return case['x'].hex()")
        for x in (0.1, 5e-324, 1.7976931348623157e308, 1 / 3):
            assert worker.ask({"call": {"x": x}}, 10)["result"] == x.hex()

    def test_a_bare_number(self, opened: Open) -> None:
        worker = opened("def calculate(case): return case['x'] / 3")
        answer = worker.ask({"call": {"x": 1}}, 10)
        assert decoded(answer["result"]) == ReturnedNumber("0.3333333333333333", "float")

    def test_printing_and_reading_disturb_nothing(self, opened: Open) -> None:
        worker = opened("""
            import os, subprocess, sys
            print("imported")
            def calculate(case):
                print("inside")
                os.write(1, b'{"result": 1}\\n')
                sys.stdout.flush()
                subprocess.run(["echo", "from a program"])
                try:
                    return input()
                except EOFError:
                    return "nothing to read"
        """)
        for _ in range(3):
            assert worker.ask({"call": {}}, 10) == {"result": "nothing to read"}

    def test_an_exception_is_an_answer(self, opened: Open) -> None:
        worker = opened("""
            import sys
            def calculate(case):
                if case["leave"]:
                    sys.exit("no solution")
                raise ValueError("support missing")
        """)
        raised = worker.ask({"call": {"leave": False}}, 10)["exception"]
        assert (raised["type"], raised["message"]) == ("ValueError", "support missing")
        assert raised["where"].endswith("sheet.py:6")
        left = worker.ask({"call": {"leave": True}}, 10)["exception"]
        assert (left["type"], left["message"]) == ("SystemExit", "no solution")

    @pytest.mark.parametrize(
        ("expression", "message"),
        [
            ("{'a': [1, 2j]}", "a[1] is of type complex: return numbers, texts, lists and dicts"),
            ("{'a': {'b': {1, 2}}}", "a.b is of type set"),
            ("object()", "the result is of type object"),
            ("{(1, 2): 3}", "the result has the key (1, 2): use a text"),
            ("{1: 3, '1': 4}", "the result has the key 1 twice"),
        ],
    )
    def test_what_cannot_be_handed_over_says_where(
        self, opened: Open, expression: str, message: str
    ) -> None:
        worker = opened(f"def calculate(case): return {expression}")
        raised = worker.ask({"call": {}}, 10)["exception"]
        assert raised["type"] == "CannotHandOver"
        assert raised["message"].startswith(message)

    def test_a_batch_keeps_the_order_and_the_failures_apart(self, opened: Open) -> None:
        worker = opened("def calculate(case): return 12 // case['n']")
        answers = worker.ask({"calls": [{"n": 3}, {"n": 0}, {"n": 4}]}, 10)["results"]
        assert [a.get("result", {}).get("number") for a in answers] == ["4", None, "3"]
        assert answers[1]["exception"]["type"] == "ZeroDivisionError"

    def test_names_of_ours_do_not_hide_the_users(self, opened: Open, tmp_path: Path) -> None:
        (tmp_path / "processes.py").write_text("MINE = 1")
        (tmp_path / "program.py").write_text("MINE = 2")
        worker = opened("""
            import processes, program
            def calculate(case): return processes.MINE + program.MINE
        """)
        assert worker.ask({"call": {}}, 10)["result"]["number"] == "3"

    def test_files_beside_the_function_are_found(self, opened: Open, tmp_path: Path) -> None:
        (tmp_path / "table.txt").write_text("42")
        worker = opened("def calculate(case): return int(open('table.txt').read())")
        assert worker.ask({"call": {}}, 10)["result"]["number"] == "42"

    def test_a_method_by_dotted_name(self, opened: Open) -> None:
        source = "class Sheet:\n    @staticmethod\n    def solve(case): return 1"
        assert opened(source, "Sheet.solve").ask({"call": {}}, 10)["result"]["number"] == "1"

    def test_the_greeting_names_the_file(self, opened: Open, tmp_path: Path) -> None:
        ready = opened("def calculate(case): return 1").greeting["ready"]
        assert Path(ready["file"]) == tmp_path / "sheet.py"
        assert ready["python"] == sys.version.split()[0]


class TestFailures:
    def test_a_hang_does_not_take_the_next_case_along(self, opened: Open) -> None:
        worker = opened("""
            import os, signal, time
            def calculate(case):
                if case["do"] == "hang":
                    time.sleep(600)
                if case["do"] == "segfault":
                    os.kill(os.getpid(), signal.SIGSEGV)
                return 1
        """)
        for kind, do in [("timeout", "hang"), ("crash", "segfault")]:
            with pytest.raises(WorkerFailure) as failure:
                worker.ask({"call": {"do": do}}, 0.5 if do == "hang" else 10)
            assert failure.value.kind == kind
            assert worker.ask({"call": {"do": ""}}, 10)["result"]["number"] == "1"

    @pytest.mark.parametrize(
        ("source", "name", "seen"),
        [
            ("import no_such_library", "calculate", "No module named 'no_such_library'"),
            ("def calculat(case): return 1", "calculate", "has no function 'calculate'"),
            ("calculate = 3", "calculate", "not a function but int"),
            ("def calculate(case) return 1", "calculate", "SyntaxError"),
            ("", "", "write module:function"),
        ],
    )
    def test_what_cannot_be_opened_says_why(
        self, opened: Open, source: str, name: str, seen: str
    ) -> None:
        with pytest.raises(WorkerFailure) as failure:
            opened(source, name)
        assert seen in failure.value.detail

    def test_no_such_folder(self, tmp_path: Path) -> None:
        with pytest.raises(WorkerFailure, match="nowhere"):
            open_python("sheet:calculate", tmp_path / "nowhere")

    def test_an_import_that_hangs(self, tmp_path: Path) -> None:
        (tmp_path / "sheet.py").write_text("import time; time.sleep(600)")
        with pytest.raises(WorkerFailure, match=r"not ready within 0\.5 s"):
            open_python("sheet:calculate", tmp_path, 0.5)


def doubles(*values: float) -> dict[str, str]:
    return {"doubles": base64.b64encode(struct.pack(f"<{len(values)}d", *values)).decode()}


def unpacked(column: dict[str, Any]) -> list[float]:
    data = base64.b64decode(column["doubles"])
    return list(struct.unpack(f"<{len(data) // 8}d", data))


class TestColumns:
    COLUMNS: ClassVar = [
        [["name"], {"items": ["a", "b", "c"]}],
        [["pulls", 0, "size"], doubles(1.0, 2.0, 3.0)],
        [["pulls", 1, "size"], doubles(0.1, 0.2, 0.3)],
        [["pulls", 0, "word"], "left"],
        [["pulls", 1, "word"], None],
        [["grid", 1, 0], doubles(7.0, 8.0, 9.0)],
    ]

    def test_a_function_gets_each_case(self, opened: Open) -> None:
        worker = opened("def calculate(case): return repr(case)")
        answers = worker.ask({"columns": self.COLUMNS, "count": 3}, 20)["results"]
        assert eval(answers[1]["result"]) == {
            "name": "b",
            "pulls": [{"size": 2.0, "word": "left"}, {"size": 0.2, "word": None}],
            "grid": [None, [8.0]],
        }

    def test_one_that_raises_costs_its_own_case_only(self, opened: Open) -> None:
        worker = opened("def calculate(case): return 1 / (case['x'] - 2)")
        first, second, third = worker.ask(
            {"columns": [[["x"], doubles(1.0, 2.0, 4.0)]], "count": 3}, 20
        )["results"]
        assert decoded(first["result"]) == ReturnedNumber("-1.0", "float")
        assert second["exception"]["type"] == "ZeroDivisionError"
        assert decoded(third["result"]) == ReturnedNumber("0.5", "float")


class TestArrays:
    SOURCE = """
        import numpy as np
        def calculate(case):
            assert isinstance(case["force"], np.ndarray)
            return {"double": 2 * case["force"], "total": case["pulls"]["size"].sum(axis=1),
                    "all": case["pulls"], "whole": np.arange(3), "words": ["a", None, True]}
    """

    def test_one_call_for_all_cases(self, opened: Open) -> None:
        worker = opened(self.SOURCE, arrays=True)
        columns = [[["force"], doubles(0.1, 0.2, 0.3)], *TestColumns.COLUMNS]
        found = worker.ask({"columns": columns, "count": 3}, 20)["result"]["fields"]
        assert unpacked(found["double"]) == [0.2, 0.4, 0.6]
        assert unpacked(found["total"]) == [1.0 + 0.1, 2.0 + 0.2, 3.0 + 0.3]
        table = found["all"]["fields"]
        assert table["size"]["shape"] == [3, 2]
        assert unpacked(table["size"]) == [1.0, 0.1, 2.0, 0.2, 3.0, 0.3]
        assert table["word"] == {"items": [["left", ""]] * 3}
        assert [decoded(x).text for x in found["whole"]["items"]] == ["0", "1", "2"]
        assert found["words"] == {"items": ["a", None, True]}

    def test_a_blank_is_no_number(self, opened: Open) -> None:
        worker = opened("def calculate(case): return case['x']", arrays=True)
        answer = worker.ask({"columns": [[["x"], None]], "count": 2}, 20)["result"]
        assert all(map(math.isnan, unpacked(answer)))

    @pytest.mark.parametrize(
        ("expression", "message"),
        [
            ("{'a': case['x'].sum()}", "a must be an array with one value for each of 2 cases"),
            ("{'a': case['x'][:1]}", "a must be an array with one value for each of 2 cases"),
            ("{'a': {'b': 5}}", "a.b must be an array with one value for each of 2 cases"),
            ("7", "the result must be an array with one value for each of 2 cases"),
            ("1 / 0", "division by zero"),
        ],
    )
    def test_a_failed_call_is_an_answer(self, opened: Open, expression: str, message: str) -> None:
        worker = opened(f"def calculate(case): return {expression}", arrays=True)
        answer = worker.ask({"columns": [[["x"], doubles(1.0, 2.0)]], "count": 2}, 20)
        assert answer["exception"]["message"] == message


class TestExactForms:
    """IEEE 754-2019, 5.12.2: a decimal form that converts back to the same datum."""

    @given(st.floats(allow_nan=False, allow_infinity=False))
    def test_every_double_reads_back_bit_by_bit(self, x: float) -> None:
        text = encoded(x)["number"]
        assert struct.pack("<d", float(text)) == struct.pack("<d", x)
        assert encoded(np.float64(x)) == encoded(x)

    @given(st.floats(width=32, allow_nan=False, allow_infinity=False))
    def test_every_single_reads_back_exactly(self, x: float) -> None:
        assert float(encoded(np.float32(x))["number"]) == x

    def test_wider_than_a_double_is_a_fraction(self) -> None:
        x = np.longdouble(1) / 3
        form = encoded(x)
        assert form["type"] in ("fraction", "float")  # some systems have no wider type
        assert Fraction(form["number"]) == Fraction(*x.as_integer_ratio())
        assert encoded(np.longdouble("nan"))["number"] == "nan"

    @given(st.fractions())
    def test_fractions(self, x: Fraction) -> None:
        assert Fraction(encoded(x)["number"]) == x

    @given(st.decimals(allow_nan=False, allow_infinity=False))
    def test_decimals_keep_their_printed_form(self, x: Decimal) -> None:
        assert str(Decimal(encoded(x)["number"])) == str(x)

    def test_not_numbers(self) -> None:
        assert [encoded(x)["number"] for x in (math.nan, math.inf, -math.inf)] == [
            "nan",
            "inf",
            "-inf",
        ]
        assert encoded(Decimal("Infinity"))["number"] == "infinity"

    def test_a_whole_number_too_long_to_print(self) -> None:
        with pytest.raises(CannotHandOver, match=r"n: .*4300"):
            encoded({"n": 10**5000})

    def test_a_field_named_number_is_not_mistaken_for_one(self) -> None:
        assert decoded(encoded({"number": "seven", "fields": {}})) == {
            "number": "seven",
            "fields": {},
        }


def test_it_runs_as_a_module(tmp_path: Path) -> None:
    (tmp_path / "sheet.py").write_text("def calculate(case): return 7")
    command = [sys.executable, "-m", "refsolver.calculators.python_worker"]
    done = subprocess.run(
        [*command, "sheet:calculate", "--path", str(tmp_path)],
        input='{"call": {}}\n',
        capture_output=True,
        text=True,
        timeout=30,
    )
    assert done.stdout.splitlines()[1] == '{"result": {"number": "7", "type": "int"}}'


def test_the_script_needs_the_standard_library_alone(tmp_path: Path) -> None:
    (tmp_path / "sheet.py").write_text("def calculate(case): return 7")
    script = Path(sys.modules[open_python.__module__].__file__ or "")
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(script), "sheet:calculate", "--path", str(tmp_path)],
        input='{"call": {}}\n',
        capture_output=True,
        text=True,
        timeout=30,
    )
    assert '"7"' in done.stdout, done.stderr
