"""From an unknown program with its own text format to a judged record.

The program, a made-up adder of the pulls on a bell frame, takes a file, prints back what it
was given, and writes a report file with numbers of Fortran's look. It is written here.
"""

from __future__ import annotations

import json
import math
import os
import re

import pytest

from refsolver.calculators.by_command import CommandCalculator
from refsolver.calculators.file import read_calculator_file
from refsolver.runs.trial import trial_text
from tests.command import command
from tests.plane_pulls import inputs

PROGRAM = """
import math, sys, time
manner, source, target = sys.argv[1:4]
lines = open(source).read().split("\\n")
assert lines[0] == "BELL FRAME"
pulls = [tuple(map(float, line.split()[1:3])) for line in lines[2:] if line.startswith("P")]
x = sum(f * math.cos(math.radians(a)) for f, a in pulls)
y = sum(f * math.sin(math.radians(a)) for f, a in pulls)
r, turn = math.hypot(x, y), math.degrees(math.atan2(y, x))
if manner == "hangs" and len(pulls) == 3:
    time.sleep(60)
if manner == "crashes" and len(pulls) == 3:
    raise RuntimeError("a fault in " + source)
if manner == "declines" and r < 0.01:
    sys.exit(7)
if manner == "wrong exit" and len(pulls) == 3:
    sys.exit(4)
def real(v):
    if manner == "stars" and abs(v) >= 600:
        return "*" * 12
    if manner == "fortran":
        mantissa, power = f"{v:.9e}".split("e")
        return f"{mantissa}D{int(power):+03d}"
    return f"{v:.6f}"
def force(v):
    if manner == "scales" and abs(v) >= 500:
        return f"{v / 1000:.9f} kN"
    return real(v) + " N"
with open(target, "w") as out:
    out.write("INPUT\\n" + "".join(f"  PULL {f:10.1f} N AT {a:8.3f}\\n" for f, a in pulls))
    if manner == "twice":
        out.write("  RESULTANT 1.0 N (first pass)\\n")
    out.write("RESULTS\\n")
    out.write(f"  RESULTANT {force(r)}\\n")
    out.write(f"  ACROSS {force(x)}\\n")
    out.write(f"  ANGLE {real(turn)} DEG\\n" if r >= 0.01 else "  ANGLE (no direction)\\n")
"""

TEMPLATE = """BELL FRAME
PULLS {{ pulls|length }}
{% for p in pulls %}
P {{ p.size|fixed(1, width=10) }} {{ p.turn|fixed(DIGITS, width=10) }}
{% endfor %}
"""

TOML = (
    r"""
[calculator]
name = "Bell frame (made up)"
version = "0.9"
owner = "a foundry that does not exist"

[command]
argv = ["{python}", "{calculator_folder}/bell.py", "MANNER", "{input_file}", "{output_file}"]
files = { "bell.in" = "bell.txt" }
output_files = ["bell.out"]
limit = 8

[command.patterns]
size = '^  RESULTANT +(?P<value>\S+) (?P<unit>\w+)$'
across = '^  ACROSS +(?P<value>\S+) (?P<unit>\w+)$'
turn = '^  ANGLE +(?P<value>\(no direction\)|\S+)(?: (?P<unit>DEG))?$'

[refusals]
texts = ["(no direction)"]
exit_codes = [7]

[[family]]
name = "concurrent-forces/plane-resultant"

[[family.scope]]
count = "forces"
at_most = 5
reason = "the frame has five arms"
"""
    + inputs("N")
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "N"
place = "size"
says = "RESULTANT"
criterion = { absolute = "0.001 N", reason = "six decimals are printed" }

[[family.output]]
answer = "resultant"
take = "component"
along = "+x"
unit = "N"
place = "across"
says = "ACROSS"
criterion = { absolute = "0.001 N", reason = "six decimals are printed" }

[[family.output]]
answer = "resultant"
take = "angle"
unit = "deg"
units = { DEG = "deg" }
place = "turn"
says = "ANGLE"
criterion = { absolute = "0.001 deg", reason = "six decimals are printed" }
"""
)


def describe(folder, manner="plain", digits=3, replace=()):
    folder.mkdir(exist_ok=True)
    (folder / "bell.py").write_text(PROGRAM)
    (folder / "bell.txt").write_text(TEMPLATE.replace("DIGITS", str(digits)))
    text = TOML.replace("MANNER", manner)
    for old, new in replace:
        assert old in text
        text = text.replace(old, new)
    (folder / "bell.toml").write_text(text)
    return folder / "bell.toml"


@pytest.fixture(scope="module")
def checked(tmp_path_factory, walk):
    """Checks of the program in one manner or another, each run once for the module."""
    done = {}

    def run(manner="plain", **options):
        key = json.dumps([manner, options], default=list)
        if key not in done:
            done[key] = walk(describe(tmp_path_factory.mktemp("bell"), manner, **options))
        return done[key]

    return run


def as_float(x):
    return int(x.p) / int(x.q)


def test_the_right_program_is_met(checked):
    found = checked()
    assert found.result == "met", found.run.overall.because
    assert set(found.asked) >= {"anchor-right-triangle", "in-newtons", "filled-1", "permuted"}
    assert found.content["calculator"]["identity"]["runtime"].startswith("Python 3")


def test_the_program_and_its_template_are_part_of_its_identity(tmp_path):
    """Also where only an argument names the program, whatever stands before its name."""
    file = describe(tmp_path)
    text = file.read_text()
    for argument in ("bell.py", "{calculator_folder}/bell.py", str(tmp_path / "bell.py")):
        file.write_text(
            re.sub(r"^argv = .*$", f'argv = ["{{python}}", "{argument}"]', text, flags=re.M)
        )
        before = CommandCalculator(read_calculator_file(file)).identity()
        assert [each["name"] for each in before["files"]] == ["bell.py"]
        assert [each["name"] for each in before["templates"]] == ["bell.txt"]
    (tmp_path / "bell.txt").write_text("another template {{ pulls }}")
    after = CommandCalculator(read_calculator_file(file)).identity()
    assert after["files"] == before["files"] and after["templates"] != before["templates"]


def test_a_program_found_by_its_name_is_part_of_its_identity(tmp_path, monkeypatch):
    file = describe(tmp_path)
    tool = tmp_path / "bin" / "ringer"
    tool.parent.mkdir()
    tool.write_text("#!/bin/sh\n")
    tool.chmod(0o755)
    monkeypatch.setenv("PATH", str(tool.parent), prepend=os.pathsep)
    text = re.sub(r"^argv = .*$", 'argv = ["ringer"]', file.read_text(), flags=re.M)
    file.write_text(re.sub(r"^program_files = .*$", "", text, flags=re.M))
    identity = CommandCalculator(read_calculator_file(file)).identity()
    assert [each["name"] for each in identity["files"]] == ["ringer"]


def test_an_argument_may_be_longer_than_any_name_of_a_file(tmp_path):
    file = describe(tmp_path)
    said = "# " + "a program of its own " * 20
    text = re.sub(r"^argv = .*$", f'argv = ["{{python}}", "-c", "{said}", "bell.py"]',
                  file.read_text(), flags=re.M)  # fmt: skip
    file.write_text(text)
    identity = CommandCalculator(read_calculator_file(file)).identity()
    assert [each["name"] for each in identity["files"]] == ["bell.py"]


def test_values_typed_to_one_decimal_are_solved_again(checked):
    """30 lbf is 133.446... N and typed as 133.4: the reference is that of 133.4."""
    found = checked()
    leaves = found.content["cases"][found.case("anchor-right-triangle").case.id]["handed"]
    pull, angle = leaves[:2]
    assert pull["case_value"].startswith("133.4466") and pull["handed_value"] == "133.4"
    assert not pull["exact"] and angle["exact"] and angle["handed_value"] == "0"
    typed = math.hypot(133.4, 177.9)  # 40 lbf is 177.929 N
    (size,) = found.findings("anchor-right-triangle", "magnitude")
    assert as_float(size.reference.middle) == pytest.approx(typed, rel=1e-12)
    assert abs(typed - 50 * 4.4482216152605) > 0.05  # far outside the criterion


def test_rows_in_reverse_are_solved_as_sent(checked):
    found = checked()
    permuted = found.case("permuted")
    order = [slot.value for slot in permuted.handed.slots if slot.place.endswith("size")]
    forces = permuted.handed.given.forces
    places = [slot.place for slot in permuted.handed.slots if slot.place.endswith("size")]
    assert places == [f"pulls[{n}].size" for n in range(len(forces), 0, -1)]
    assert len(order) == len(forces) == 5
    assert {f.verdict for f in permuted.findings} == {"pass"}


def test_exponents_with_a_d_are_read(checked):
    found = checked("fortran")
    assert found.result == "met", found.run.overall.because
    assert "D+0" in found.findings("in-newtons", "magnitude")[0].reported


def test_units_that_scale_themselves_are_read(checked):
    found = checked("scales")
    assert found.result == "met", found.run.overall.because
    (small,) = found.findings("anchor-right-triangle", "magnitude")
    (large,) = found.findings("in-newtons", "magnitude")
    assert small.reported.endswith(" N") and large.reported == "0.500000000 kN"
    assert large.number == 500


def test_stars_are_an_error_not_a_number(checked):
    found = checked("stars")
    starred = [f for r in found.run.runs for f in r.findings if "*" in f.reported]
    assert starred and {f.verdict for f in starred} == {"error"}
    assert all("too small" in f.why for f in starred)
    assert found.result == "not met"


def test_an_exit_code_of_refusal_refuses_every_output(checked):
    """Declining the direction of a balanced case is right, declining its zero size is not."""
    found = checked("declines")
    assert found.verdict("balanced", "magnitude") == "refused"
    assert found.verdict("balanced", "angle") == "pass"
    assert found.result == "insufficient"
    assert found.verdict("slopes", "magnitude") == "pass"


def test_another_exit_code_is_an_error_of_that_case_alone(checked):
    found = checked("wrong exit")
    assert {f.verdict for f in found.case("balanced").findings} == {"error"}
    assert "exit code 4" in found.findings("balanced", "magnitude")[0].why
    assert found.verdict("in-newtons", "magnitude") == "pass"


def test_a_crash_in_one_case_is_an_error_of_that_case_alone(checked):
    found = checked("crashes")
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == "error" and "exit code 1" in finding.why
    assert {f.verdict for f in found.case("slopes").findings} == {"pass"}
    assert found.result == "not met"
    # what the program wrote on stderr is kept, outside the part that must repeat
    assert "/bell.in" not in json.dumps(found.content["cases"])
    assert b"RuntimeError" in found.case("balanced").received.raw["stderr"]


def test_a_hang_is_an_error_of_that_case_alone(checked):
    found = checked("hangs", replace=[("limit = 8", "limit = 1")])
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == "error" and "timeout" in finding.why
    assert found.verdict("slopes", "magnitude") == "pass"


def test_a_pattern_that_matches_twice_is_an_error(checked):
    pattern = (
        r"RESULTANT +(?P<value>\S+) (?P<unit>\w+)$",
        r"RESULTANT +(?P<value>\S+) (?P<unit>N)",
    )
    found = checked("twice", replace=[pattern])
    (finding,) = found.findings("slopes", "magnitude")
    assert finding.verdict == "error" and "there 2 times" in finding.why


def test_which_match_counts_may_be_said(checked):
    line = r"size = '^  RESULTANT +(?P<value>\S+) (?P<unit>\w+)$'"
    said = r"size = { pattern = 'RESULTANT +(?P<value>\S+) (?P<unit>N)', which = 'last' }"
    assert checked("twice", replace=[(line, said)]).result == "met"


def test_a_case_beyond_the_arms_is_not_applicable(checked):
    found = checked(replace=[("at_most = 5", "at_most = 2")])
    outside = found.case("balanced")
    assert not outside.asked and "number of forces: at most 2" in outside.condition
    assert "the frame has five arms" in outside.condition
    assert found.content["counts"]["cases"]["not applicable"] >= 1


def test_a_coarser_typing_of_angles_is_no_excuse(checked):
    """The program itself is right: typed to whole degrees the reference follows."""
    found = checked(digits=0)
    assert found.result == "met", found.run.overall.because


CASE = "concurrent-forces/plane-resultant/anchor-three-four-five"


def test_a_trial_shows_what_is_sent_and_received(tmp_path):
    said = trial_text(describe(tmp_path), CASE)
    for words in ("BELL FRAME", "P      133.4      0.000", "RESULTANT", "133.44664845", '"text"'):
        assert words in said, said
    assert "CAUTION" not in said


def test_a_trial_reports_patterns_that_match_the_text_sent(tmp_path):
    # this pattern would take the first pull, printed back, for an answer
    loose = [(r"size = '^  RESULTANT +(?P<value>\S+) (?P<unit>\w+)$'", r"size = '(\d+\.\d) +0'")]
    said = trial_text(describe(tmp_path, replace=loose), CASE)
    assert "CAUTION: pattern size also matches the text sent" in said


def test_a_trial_reports_numbers_that_are_never_printed(tmp_path):
    path = describe(tmp_path)
    (tmp_path / "bell.txt").write_text(
        TEMPLATE.replace("{{ p.turn|fixed(DIGITS, width=10) }}", "0")
    )
    assert "never printed by the template: pulls[1].turn" in trial_text(path, CASE)


@pytest.mark.parametrize(
    ("replace", "said"),
    [
        ((r"size = '^  RES", r"size = '^  (RES"), "no regular expression"),
        (('place = "size"', 'place = "sizes"'), "no pattern 'sizes'"),
        (('"bell.in" = "bell.txt"', '"bell.in" = "bells.txt"'), "bells.txt"),
        (("limit = 8", 'limit = "soon"'), "limit"),
        (("limit = 8", "patience = 8"), "patience"),
        (('argv = ["{python}"', 'argv = ["{pythons}"'), "{pythons}"),
        (("exit_codes = [7]", 'exit_codes = "7"'), "refusals.exit_codes"),
        (('texts = ["(no direction)"]', 'texts = "(no direction)"'), "refusals.texts"),
        (('unit = "deg"', 'unit = "furlong"'), "furlong"),
        (('["bell.out"]', '"bell.out"'), "output_files"),
        (('files = { "bell.in" = "bell.txt" }', 'files = ["bell.txt"]'), "command.files"),
        (("limit = 8", 'answer_exit_codes = "0"'), "answer_exit_codes"),
        (("limit = 8", 'newline = "no"'), "does not end a line"),
        (("limit = 8", 'encoding = "runes"'), "runes"),
        (("[command.patterns]", "[command.patterns]\nspare = 7"), "patterns.spare"),
        (("[command.patterns]", "[command.patterns]\nspare = { line = 5 }"), "patterns.spare"),
        (("[refusals]", "[refusals]\nwords = []"), "words"),
        (("[[family.scope]]", "settings = { patience = 3 }\n[[family.scope]]"), "patience"),
        (("[[family.scope]]", "settings = { batch = 3 }\n[[family.scope]]"), "under [command]"),
        (("exit_codes = [7]", "exit_codes = [0]"), "both an answer and a refusal"),
    ],
)
def test_a_wrong_description_is_a_sentence(tmp_path, replace, said):
    path = describe(tmp_path, replace=[replace])
    before = sorted(p.name for p in tmp_path.iterdir())
    command("check", path, "--out", "out", cwd=tmp_path).refuses(said)
    assert sorted(p.name for p in tmp_path.iterdir()) == before
