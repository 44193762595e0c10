"""Command-line calculators, written here as small programs with text formats of their own.

The simply supported beam that some of them solve: reactions P(L - a)/L and P a/L, as any
textbook of statics has them (common practice, no source)."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from flint import fmpq

from refsolver.calculators.program import (
    Prepared,
    ProgramProblem,
    ProgramSpec,
    RawAnswer,
    prepare,
    run_program,
)
from refsolver.calculators.textformat import (
    FixedColumns,
    InputTemplate,
    OutputPattern,
    ResultTable,
    TemplateProblem,
    matches_in_echo,
    read_number,
)

FIELDS: dict[str, Any] = {"title": "ledge", "P": fmpq(25, 2), "L": fmpq(6), "a": fmpq(7, 3)}

BEAM = """
    import sys
    title = sys.stdin.readline().strip()
    line = sys.stdin.readline()
    p, span, a = (float(line[i:i + 10].replace("D", "E")) for i in (0, 10, 20))
    print(f" *** {title} ***")
    print(f" INPUT   {line.rstrip()}")
    print(" JOINT     VERTICAL")
    print(f"     A{p * (span - a) / span:12.4f}")
    print(f"     B{p * a / span:12.4f}")
    moment = f"{p * a * (span - a) / span:.3E}".replace("E", "D")
    print(f" LARGEST MOMENT = {moment} kNm")
"""

BEAM_INPUT = """\
{{ title }}
{{ P|fixed(3, width=10) }}{{ L|dexp(3, width=10) }}{{ a|fixed(2, width=10) }}
"""


@pytest.fixture
def spec_of(tmp_path: Path) -> Any:
    def make(source: str, *arguments: str, **options: Any) -> ProgramSpec:
        (tmp_path / "calculator.py").write_text(textwrap.dedent(source), encoding="utf-8")
        argv = [sys.executable, "{calculator_folder}/calculator.py", *arguments]
        return ProgramSpec(argv, tmp_path, **options)

    return make


def run(spec: ProgramSpec, **fields: Any) -> RawAnswer:
    return run_program(spec, fields or FIELDS)


class TestAnswers:
    def test_a_text_format_both_ways(self, spec_of: Any) -> None:
        spec = spec_of(BEAM, stdin=InputTemplate(BEAM_INPUT))
        answer = run(spec)
        assert (answer.failure, answer.refused, answer.exit_code) == (None, False, 0)
        assert answer.sent == Prepared(
            b"ledge\n    12.500 6.000D+00      2.33\n",
            {},
            {"P": "12.500", "L": "6.000E+00", "a": "2.33"},
            (),
        )
        text = answer.texts["stdout"]
        p, span, a = (Fraction(answer.sent.handed[name]) for name in ("P", "L", "a"))
        table = ResultTable("R", "^ JOINT", key="JOINT", value="VERTICAL", until="LARGEST")
        printed = {key: read_number(value) for key, value in table.read(text).items()}
        for key, exact in {"A": p * (span - a) / span, "B": p * a / span}.items():
            assert abs(printed[key].value - exact) <= Fraction(1, 2 * 10 ** printed[key].decimals)
        moment = OutputPattern("M", r"LARGEST MOMENT = (.*)$").read(text)
        assert (read_number(moment.text).number, read_number(moment.text).unit) == (
            "1.781E+1",
            "kNm",
        )
        assert FixedColumns("A", r"^ +A\b", (7, 18)).read(text).text == "7.6458"

    def test_an_echo_is_told(self, spec_of: Any) -> None:
        sent = run(spec_of(BEAM, stdin=InputTemplate(BEAM_INPUT))).sent.stdin.decode()
        assert matches_in_echo(OutputPattern("L", r"(\d\.\d+D\+\d+)"), sent) == ("6.000D+00",)
        assert matches_in_echo(OutputPattern("M", r"MOMENT = (.*)$"), sent) == ()

    def test_json_on_stdin_where_nothing_is_said(self, spec_of: Any) -> None:
        spec = spec_of("import json, sys; print(json.load(sys.stdin)['P'] * 2)")
        answer = run(spec)
        assert answer.texts == {"stdout": "25.0\n"}
        assert json.loads(answer.sent.stdin)["a"] == 7 / 3
        assert answer.sent.handed["a"] == "2.3333333333333333E+00"

    def test_files_in_a_private_folder(self, spec_of: Any, tmp_path: Path) -> None:
        (tmp_path / "materials.txt").write_text("210000")
        (tmp_path / "secret.txt").write_text("not listed")
        spec = spec_of(
            """
            import os, sys
            with open(sys.argv[1]) as f, open(sys.argv[2], "w") as out:
                out.write(f"{f.read().strip()} / {open('materials.txt').read()}\\n")
                out.write(" ".join(sorted(os.listdir("."))) + "\\n" + os.getcwd())
            print("done")
            """,
            "{input_file}",
            "{output_file}",
            files={"case.dat": InputTemplate("P = {{ P|fixed(1) }}")},
            output_files=["out/result.txt"],
            copied=["materials.txt"],
        )
        answer = run(spec)
        line, listing, folder = answer.texts["out/result.txt"].split("\n")
        assert line == "P = 12.5 / 210000"
        assert listing == "case.dat materials.txt out"
        assert answer.argv[-1] == f"{folder}/out/result.txt"
        assert answer.sent.files == {"case.dat": b"P = 12.5"}
        assert (answer.sent.stdin, answer.stdout) == (b"", b"done\n")
        assert answer.files["out/result.txt"] == answer.texts["out/result.txt"].encode()
        assert answer.sent.unprinted == ("L", "a")
        assert not Path(folder).exists()

    def test_folders_are_copied_too(self, spec_of: Any, tmp_path: Path) -> None:
        (tmp_path / "tables").mkdir()
        (tmp_path / "tables" / "shapes.txt").write_text("IPE")
        spec = spec_of("print(open('tables/shapes.txt').read())", copied=["tables"])
        assert run(spec).texts["stdout"] == "IPE\n"

    def test_a_program_in_the_calculator_folder(self, tmp_path: Path) -> None:
        program = tmp_path / "bin" / "twice"
        program.parent.mkdir()
        program.write_text("#!/bin/sh\nread x\necho $((x * 2))\n")
        program.chmod(0o755)
        spec = ProgramSpec(["bin/twice"], tmp_path, stdin=InputTemplate("{{ n }}\n"))
        assert run(spec, n=21).texts["stdout"] == "42\n"

    @pytest.mark.skipif(shutil.which("awk") is None, reason="needs awk")
    def test_a_program_that_is_not_ours(self, tmp_path: Path) -> None:
        """awk (POSIX.1-2017) as a calculator: it reads what is sent and rounds as printf does."""
        script = '{ printf "R_A = %12.4f\\nR_B = %.5e\\n", $1 * ($2 - $3) / $2, $1 * $3 / $2 }'
        source = "{{ P|fixed(3) }} {{ L|sci(3) }} {{ a|fixed(4) }}\n"
        spec = ProgramSpec(["awk", script], tmp_path, stdin=InputTemplate(source))
        answer = run(spec)
        p, span, a = (Fraction(answer.sent.handed[name]) for name in ("P", "L", "a"))
        for name, exact in {"R_A": p * (span - a) / span, "R_B": p * a / span}.items():
            found = OutputPattern(name, rf"^{name} = (.*)$").read(answer.texts["stdout"])
            read = read_number(found.text)
            assert abs(read.value - exact) <= Fraction(10) ** -read.decimals / 2

    def test_environment_and_encoding(self, spec_of: Any) -> None:
        spec = spec_of(
            """
            import os, sys
            text = sys.stdin.buffer.read()
            sys.stdout.buffer.write(text + os.environ["UNITS"].encode("latin-1"))
            """,
            stdin=InputTemplate("30°\n"),
            env={"UNITS": "kN·m", "PYTHONUTF8": "1"},
            encoding="latin-1",
        )
        answer = run(spec)
        assert answer.sent.stdin == b"30\xb0\n"
        assert answer.texts["stdout"] == "30°\nkN·m"


class TestFailures:
    @pytest.mark.parametrize(
        ("source", "options", "failure", "seen"),
        [
            ("import time; time.sleep(600)", {"limit": 0.5}, "timeout", "within 0.5 s"),
            (
                "import os, time\nos.fork()\ntime.sleep(600)",
                {"limit": 0.5},
                "timeout",
                "within 0.5 s",
            ),
            (
                "while True: print('x' * 1000)",
                {"output_limit": 5000},
                "output limit",
                "more than 5000 bytes",
            ),
            ("import os; os.kill(os.getpid(), 11)", {}, "crash", "SIGSEGV"),
            (
                "import sys; print('no support', file=sys.stderr); sys.exit(3)",
                {},
                "exit code",
                "exit code 3; it wrote on stderr: no support",
            ),
            (
                "import sys; sys.stdout.buffer.write(b'R = \\xff')",
                {},
                "garbage",
                "no text in utf-8",
            ),
            ("print(1)", {"output_files": ["r.txt"]}, "no output file", "did not write r.txt"),
            (
                "open('r.txt', 'w').write('x' * 5001)",
                {"output_files": ["r.txt"], "output_limit": 5000},
                "output limit",
                "more than 5000 bytes to r.txt",
            ),
        ],
    )
    def test_each_is_named(
        self, spec_of: Any, source: str, options: dict[str, Any], failure: str, seen: str
    ) -> None:
        answer = run(spec_of(source, **options))
        assert answer.failure == failure
        assert seen in answer.detail
        assert answer.texts == {}
        assert not answer.refused
        assert len(answer.stdout) + sum(map(len, answer.files.values())) <= 5000

    def test_a_flood_into_a_file_is_stopped(self, spec_of: Any) -> None:
        source = "f = open('r.txt', 'w')\nwhile True: f.write('x' * 100_000)"
        answer = run(spec_of(source, output_files=["r.txt"], output_limit=1_000_000, limit=60))
        assert answer.failure == "output limit"
        assert len(answer.files["r.txt"]) == 1_000_000

    def test_a_missing_program(self, tmp_path: Path) -> None:
        answer = run(ProgramSpec(["./nowhere"], tmp_path))
        assert answer.failure == "not started"
        assert str(tmp_path / "nowhere") in answer.detail

    def test_a_refusal_is_no_failure(self, spec_of: Any) -> None:
        spec = spec_of(
            "import sys; print('outside my range'); sys.exit(3)",
            output_files=["r.txt"],
            refusal_exit_codes=[3],
        )
        answer = run(spec)
        assert (answer.refused, answer.failure, answer.exit_code) == (True, None, 3)
        assert answer.texts == {"stdout": "outside my range\n"}

    def test_other_exit_codes_may_mean_an_answer(self, spec_of: Any) -> None:
        spec = spec_of("import sys; print(7); sys.exit(1)", answer_exit_codes=[0, 1])
        assert run(spec).texts == {"stdout": "7\n"}

    def test_an_old_result_is_never_taken_for_an_answer(self, spec_of: Any, tmp_path: Path) -> None:
        (tmp_path / "r.txt").write_text("R = 12")
        assert run(spec_of("pass", output_files=["r.txt"])).failure == "no output file"
        with pytest.raises(ProgramProblem, match="taken already"):
            spec_of("pass", output_files=["r.txt"], copied=["./r.txt"])

    def test_a_file_to_copy_is_missing(self, spec_of: Any) -> None:
        with pytest.raises(ProgramProblem, match=r"tables\.txt is to be copied"):
            run(spec_of("pass", copied=["tables.txt"]))

    def test_no_folder_is_left_behind(
        self, spec_of: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (tmp_path / "t").mkdir()
        monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "t"))
        run(spec_of("open('scratch', 'w').write('x')"))
        run(spec_of("import time; time.sleep(600)", limit=0.5))
        assert list((tmp_path / "t").iterdir()) == []


class TestDescription:
    @pytest.mark.parametrize(
        ("options", "seen"),
        [
            ({"argv": []}, "must name the program"),
            ({"argv": ["x", "{case}"]}, "{case} in '{case}' is none of {input_file}"),
            ({"argv": ["x", "{input_file}"]}, "but there are 0"),
            ({"argv": ["x", "{output_file}"], "output_files": ["a", "b"]}, "but there are 2"),
            ({"files": {"../a": "json"}}, "not a name within"),
            ({"files": {"/etc/a": "json"}}, "not a name within"),
            ({"output_files": ["C:\\a"]}, "not a name within"),
            ({"output_files": ["."]}, "not a name within"),
            ({"output_files": ["a", "a"]}, "taken already"),
            ({"files": {"a": "json"}, "output_files": ["./a"]}, "taken already"),
            ({"output_files": ["stdout"]}, "taken already"),
            ({"stdin": None}, "nothing hands the case over"),
            ({"limit": 0}, "above zero"),
            ({"refusal_exit_codes": [0, 2]}, "exit code 0 means both"),
            ({"encoding": "utf-9"}, "'utf-9' is not known"),
        ],
    )
    def test_a_description_that_cannot_hold(self, options: dict[str, Any], seen: str) -> None:
        with pytest.raises(ProgramProblem) as problem:
            ProgramSpec(**{"argv": ["x"], "folder": Path(), **options})
        assert seen in str(problem.value)

    def test_what_the_encoding_cannot_hold(self) -> None:
        spec = ProgramSpec(["x"], Path(), stdin=InputTemplate("30°"), encoding="ascii")
        with pytest.raises(ProgramProblem, match="stdin: '°' cannot be written in ascii"):
            prepare(spec, {})

    def test_two_files_that_disagree_on_a_number(self) -> None:
        files = {"a": InputTemplate("{{ x|fixed(1) }}"), "b": InputTemplate("{{ x|fixed(2) }}")}
        with pytest.raises(ProgramProblem, match=r"file b shows x as 0\.33, another text as 0\.3"):
            prepare(ProgramSpec(["x"], Path(), files=files), {"x": fmpq(1, 3)})
        agreed = prepare(ProgramSpec(["x"], Path(), files=files), {"x": fmpq(1, 2), "y": fmpq(1)})
        assert (agreed.handed, agreed.unprinted) == ({"x": "0.5"}, ("y",))

    def test_a_template_problem_names_its_template(self) -> None:
        spec = ProgramSpec(["x"], Path(), stdin=InputTemplate("{{ q }}", name="beam.in"))
        with pytest.raises(TemplateProblem, match=r"beam\.in, line 1: 'q' is undefined"):
            prepare(spec, {})
