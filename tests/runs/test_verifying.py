"""Records: sealed, verified byte by byte, reproduced from themselves, compared."""

import json
import random
import shutil

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.ladders import LADDER
from refsolver.records.alterations import alterations
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import RecordError, canonical, read_record, sealed, write_record
from refsolver.records.comparing import compared
from refsolver.reporting.views import write_reports
from refsolver.runs import restating, verifying
from refsolver.runs.check import opened_check, run_check
from refsolver.runs.detection import detection, detection_data
from refsolver.runs.diagnosis import diagnosis_data
from refsolver.runs.situations import Situations
from refsolver.runs.verifying import copy_differences, verify
from tests.command import command
from tests.plane_pulls import inputs, output

MODULE = """
import math
def total(case):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in case["guys"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in case["guys"])
    return {"r": SCALE * math.hypot(x, y)}
"""
FILE = """
[calculator]
name = "Mast guys (made up)"
version = "1"
owner = "test"
[python]
function = "guys:total"
[[family]]
name = "concurrent-forces/plane-resultant"
"""
DOUBLES = '{ relative = "0.1 %", absolute = "1e-9 kN", reason = "double precision" }'
FILE += inputs(place="guys") + output(DOUBLES, says="total")


def a_few_cases(folder):
    """A catalogue of the two cases that the tests need."""
    shipped = Catalogue()
    family = folder / "cases" / "concurrent-forces" / "plane-resultant"
    family.mkdir(parents=True, exist_ok=True)
    shutil.copy(shipped.folder / "sources.toml", folder / "cases")
    for name, path in shipped.paths.items():
        if name.startswith("concurrent-forces/plane-resultant/anchor"):
            shutil.copy(path, family)
    return Catalogue(folder / "cases")


def checked(folder, scale="1.0", name="record.json"):
    """A record of a small check of a made-up calculator."""
    folder.mkdir(exist_ok=True)
    (folder / "guys.py").write_text(MODULE.replace("SCALE", scale))
    (folder / "guys.toml").write_text(FILE)
    file = read_calculator_file(folder / "guys.toml")
    run = run_check(file, a_few_cases(folder))
    content = content_of(run)
    record = sealed(content, circumstances_of(run))
    write_record(record, folder / name)
    return folder / name


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return checked(tmp_path_factory.mktemp("guys"))


def test_an_untouched_record_holds_and_is_reproduced(path):
    found = verify(path)
    assert found.holds, found
    readings = read_record(path)["content"]["counts"]["total"]
    assert found.reproduced == readings > 3


def test_the_same_check_gives_the_same_content(path, tmp_path):
    again = read_record(checked(tmp_path / "again"))
    assert canonical(again["content"]) == canonical(read_record(path)["content"])


def test_any_altered_byte_is_detected(path, tmp_path):
    """A thousand random alterations: a byte changed, dropped or put in."""
    raw = path.read_bytes()
    draw = random.Random(1000)
    altered = tmp_path / "altered.json"
    for _ in range(1000):
        at, kind = draw.randrange(len(raw)), draw.randrange(3)
        if kind == 0:
            new = raw[:at] + bytes([(raw[at] + draw.randrange(1, 256)) % 256]) + raw[at + 1 :]
        elif kind == 1:
            new = raw[:at] + raw[at + 1 :]
        else:
            new = raw[:at] + bytes([draw.randrange(256)]) + raw[at:]
        if new == raw:
            continue
        altered.write_bytes(new)
        try:
            record = read_record(altered)
        except RecordError:
            continue
        assert list(alterations(new, record)), (at, kind)


def test_the_altered_part_is_named(path, tmp_path):
    record = read_record(path)
    record["content"]["overall"]["result"] = "met, really"
    write_record(record, tmp_path / "record.json")
    found = verify(tmp_path / "record.json")
    assert any("content.overall" in part for part in found.altered)


def test_a_resealed_forgery_is_not_reproduced(path, tmp_path):
    """Whoever seals again after changing a verdict is found by repeating the judgement."""
    record = read_record(path)
    case = next(c for c in record["content"]["cases"].values() if c["state"] == "asked")
    case["findings"][0]["verdict"] = "fail"
    forged = sealed(record["content"], record["circumstances"])
    write_record(forged, tmp_path / "record.json")
    found = verify(tmp_path / "record.json")
    assert not found.altered and found.not_reproduced


CLAIMS = {
    "the result": lambda c: c["overall"].update(result="insufficient"),
    "a reason": lambda c: c["overall"]["because"].append("as agreed"),
    "the counts": lambda c: c["counts"]["readings"].update(fail=0, **{"pass": 99}),
    "the coverage": lambda c: c["coverage"][0].update(cases=99),
    "the self-check": lambda c: c["selfcheck"].update(disagree=1),
    "an accepted deviation": lambda c: c["accepted"].append({}),
    "a criterion": lambda c: c["criteria"][0]["outputs"][0].update(reason="as agreed"),
    "the calculator's name": lambda c: c["calculator"].update(name="Another"),
    "a title": lambda c: next(iter(c["cases"].values())).update(title="Easy"),
    "a text": lambda c: next(iter(c["cases"].values())).update(sha256="0" * 64),
    "a case left out": lambda c: c["cases"].pop(c["order"].pop()),
    "a case less in the order": lambda c: c["order"].pop(),
}


@pytest.mark.parametrize("claim", CLAIMS)
def test_what_follows_from_the_readings_is_made_again(path, tmp_path, claim):
    """Whoever changes a conclusion and seals the record again is found too."""
    record = read_record(path)
    CLAIMS[claim](record["content"])
    write_record(sealed(record["content"], record["circumstances"]), tmp_path / "record.json")
    found = verify(tmp_path / "record.json")
    assert not found.altered and found.not_reproduced


def test_a_case_of_the_catalogue_that_was_left_out_is_missed(path, tmp_path):
    content = read_record(path)["content"]
    assert "another catalogue" in verify(path).unchecked
    content["suite"]["catalogue"] = Catalogue().hash
    write_record(sealed(content, {}), tmp_path / "record.json")
    found = verify(tmp_path / "record.json")
    assert not found.unchecked
    missing = [said for said in found.not_reproduced if "is missing" in said]
    family = "concurrent-forces/plane-resultant/"
    catalogue = Catalogue()
    cases = [catalogue.read(id) for id in catalogue.paths if id.startswith(family)]
    plain = {c.id for c in cases if c.family == family[:-1] and LADDER not in c.topics}
    there = plain - set(content["order"])
    assert len(missing) == len(there) > 100


def of_the_whole_catalogue(content, small):
    """The record as it was made of ``small``, which is installed here."""
    content["suite"]["catalogue"] = small.hash
    return content


def shorn(content, name):
    """A case taken out, and all that follows from the rest said anew."""
    case = content["cases"].pop(name)
    content["order"].remove(name)
    counts = content["counts"]
    counts["cases"]["asked"] -= 1
    counts["total"] -= len(case["findings"])
    for finding in case["findings"]:
        counts["readings"][finding["verdict"]] -= 1
    counts["provenance"][case["family"]]["constructed"] -= 1
    (coverage,) = content["coverage"]
    coverage["cases"] -= 1
    coverage["outputs"] = {k: n - 1 for k, n in coverage["outputs"].items()}


@pytest.mark.parametrize("kind", ["made", "of the catalogue"])
@pytest.mark.parametrize("asked", ["a function", "a program"])
def test_a_failing_case_cannot_be_left_out(tmp_path, monkeypatch, kind, asked):
    """Whoever drops a case says the counts anew and seals again; a program of use is no excuse."""
    source = checked(tmp_path / "guys")
    small = a_few_cases(tmp_path / "guys")
    monkeypatch.setattr(restating, "Catalogue", lambda: small)
    content = of_the_whole_catalogue(read_record(source)["content"], small)
    write_record(sealed(content, {}), source)
    assert verify(source).holds
    if asked == "a program":
        content["calculator"]["identity"]["program_of_use"] = True
    names = [n for n, c in content["cases"].items() if c["state"] == "asked"]
    name = next(n for n in reversed(names) if content["cases"][n]["made"] == (kind == "made"))
    shorn(content, name)
    write_record(sealed(content, {}), source)
    found = verify(source)
    assert f"{name}: is missing, though its family is mapped" in found.not_reproduced, found
    assert not found.holds


def test_a_case_of_ones_own_is_not_passed_off_as_one_made_by_the_run(tmp_path, monkeypatch):
    source = checked(tmp_path / "guys")
    small = a_few_cases(tmp_path / "guys")
    monkeypatch.setattr(restating, "Catalogue", lambda: small)
    content = of_the_whole_catalogue(read_record(source)["content"], small)
    name = next(n for n, c in content["cases"].items() if not c["made"] and c["state"] == "asked")
    case = content["cases"][name]
    case["made"] = True
    write_record(sealed(content, {}), source)
    found = verify(source)
    assert f"{name}: is not the case made for this calculator" in found.not_reproduced, found


@pytest.fixture
def with_reports(path, tmp_path, monkeypatch):
    """A record in the folder of a check, with its reports, as if of the catalogue installed."""
    content = read_record(path)["content"]
    monkeypatch.setattr(verifying, "suite_data", lambda *_: content["suite"])
    shutil.copy(path, tmp_path / "record.json")
    write_reports(read_record(path), tmp_path)
    return tmp_path / "record.json"


def test_a_report_beside_the_record_says_what_the_record_says(with_reports):
    found = verify(with_reports)
    assert found.holds and not found.reports
    for name, old, new in (
        ("report.html", "Mast guys", "Mast stays"),
        ("report.md", "met", "not met"),
        ("findings.csv", "pass", "fail"),
        ("junit.xml", "made up", "made"),
    ):
        report = with_reports.with_name(name)
        whole = report.read_bytes()
        assert old.encode() in whole
        report.write_bytes(whole.replace(old.encode(), new.encode(), 1))
        found = verify(with_reports)
        assert found.reports == (name,) and found.intact and not found.holds
        assert f"{name} beside it IS NOT the report of this record" in found.text()
        report.write_bytes(whole)
    with_reports.with_name("report.md").unlink()
    assert verify(with_reports).holds


def test_what_cannot_be_made_again_is_said_not_to_be_looked_at(with_reports, monkeypatch):
    with_reports.with_name("report.pdf").write_bytes(b"%PDF")
    assert "report.pdf" in verify(with_reports).unchecked
    monkeypatch.setattr(verifying, "suite_data", lambda *_: {})
    found = verify(with_reports)
    assert found.holds and "the reports beside it" in found.unchecked


def test_the_mistakes_said_to_be_revealed_are_found_again(tmp_path):
    path = checked(tmp_path / "guys")
    content = read_record(path)["content"]
    file = read_calculator_file(path.parent / "guys.toml")
    run = run_check(file, a_few_cases(path.parent))
    told = content | {"detection": detection_data(detection(run.runs, Situations(file)))}
    write_record(sealed(told, {}), path)
    assert verify(path).holds
    (part,) = told["detection"].values()
    part["revealed"].extend(part["holes"])
    part["holes"].clear()
    part["known"] += 1
    write_record(sealed(told, {}), path)
    found = verify(path)
    assert found.not_reproduced == ("detection: other mistakes would have been revealed",)


def test_rows_that_were_to_be_moved_are_moved_again_where_the_run_was_stopped_before(tmp_path):
    """Rounding on the way comes out otherwise in another order, and reveals other mistakes."""
    path = checked(tmp_path / "guys")
    file = read_calculator_file(path.parent / "guys.toml")
    with opened_check(file, Catalogue()) as opened:
        run = opened.finished(opened.calculator.identity())
    assert not run.complete
    content = content_of(run)
    moved = {run.case.id for run in run.runs if run.placement is not None}
    assert moved == {name for name, case in content["cases"].items() if case["placement"]}
    told = {"detection": detection_data(detection(run.runs, Situations(run.file)))}
    write_record(sealed(content | told, circumstances_of(run)), path)
    assert moved and verify(path).holds, verify(path)


SCOPE = """
[[family.scope]]
count = "forces"
at_most = 1
reason = "one guy"
"""


def test_no_case_outside_the_scope_is_missed_in_a_short_run(path, tmp_path, monkeypatch):
    small = a_few_cases(tmp_path)
    monkeypatch.setattr(restating, "Catalogue", lambda: small)
    (tmp_path / "guys.py").write_text(MODULE.replace("SCALE", "1.0"))
    (tmp_path / "guys.toml").write_text(
        FILE.replace("[[family.input]]", SCOPE + "[[family.input]]", 1)
    )
    run = run_check(read_calculator_file(tmp_path / "guys.toml"), small, short=True)
    content = content_of(run)
    outside = set(content["short"]["outside_scope"]) & set(small.paths)
    assert outside and outside.isdisjoint(content["cases"])
    content |= {"diagnosis": diagnosis_data(run)}
    write_record(sealed(content, {}), tmp_path / "record.json")
    found = verify(tmp_path / "record.json")
    assert found.holds and not found.unchecked, found
    content["short"]["outside_scope"].remove(min(outside))
    write_record(sealed(content, {}), tmp_path / "record.json")
    (said,) = verify(tmp_path / "record.json").not_reproduced
    assert said.startswith(min(outside)) and "is missing" in said
    content["short"]["outside_scope"].append(min(outside))
    content["short"]["outside_scope"].sort()
    content["short"]["of"] += 1
    write_record(sealed(content, {}), tmp_path / "record.json")
    (said,) = verify(tmp_path / "record.json").not_reproduced
    assert said == "short: is not the short set of these cases"


def test_the_diagnosis_is_made_again(tmp_path):
    """A tenth too much: the other unit or factor that explains it is found again, or is missed."""
    path = checked(tmp_path / "tenth", "1.1")
    content = read_record(path)["content"]
    assert verify(path).diagnosis == "not recorded"
    file = read_calculator_file(path.parent / "guys.toml")
    run = run_check(file, a_few_cases(path.parent))
    told = content | {"diagnosis": diagnosis_data(run)}
    assert told["diagnosis"]["suggestions"]
    write_record(sealed(told, {}), path)
    found = verify(path)
    assert found.holds and found.diagnosis == "reproduced"
    forged = told | {"diagnosis": {"suggestions": ["The scale was off."], "cases": {}}}
    write_record(sealed(forged, {}), path)
    found = verify(path)
    assert not found.holds and found.diagnosis == "differs"
    assert found.not_reproduced == ("diagnosis: the same readings are explained otherwise now",)
    older = forged | {"suite": {**forged["suite"], "version": "0.0.1"}}
    write_record(sealed(older, {}), path)
    found = verify(path)
    assert found.holds and found.diagnosis == "of another version"


def test_a_copy_of_the_program_is_known(path):
    record = read_record(path)
    module = path.parent / "guys.py"
    assert not list(copy_differences(record, module))
    other = path.parent / "other.py"
    other.write_text(module.read_text() + "\n# touched\n")
    assert list(copy_differences(record, other))


def test_what_is_no_record_is_said(tmp_path):
    other = tmp_path / "x.json"
    other.write_text("[1, 2]")
    with pytest.raises(RecordError, match="not a record of this format"):
        read_record(other)
    other.write_text("{")
    with pytest.raises(RecordError, match="is not a record"):
        read_record(other)


def test_a_strange_copy_is_not_said_to_be_an_altered_record(path, tmp_path):
    strange = tmp_path / "strange.py"
    strange.write_text("another program")
    found = verify(path, strange, reproduce=False)
    said = found.text(strange)
    assert found.intact and not found.holds
    assert "... holds" in said and "strange.py IS NOT the calculator" in said
    assert f"it states: {found.states}" in said and found.states.endswith(": MET")
    altered = read_record(path)
    altered["content"]["overall"]["result"] = "not met"
    (tmp_path / "altered.json").write_bytes(canonical(altered) + b"\n")
    said = verify(tmp_path / "altered.json", strange).text(strange)
    assert "DOES NOT HOLD" in said and "it states" not in said and "nothing can be said" in said


def test_comparing_tells_within_from_beyond(path, tmp_path):
    same = compared(read_record(path), read_record(path))
    assert not same.matters and not same.within
    little = read_record(checked(tmp_path / "little", "1.00001"))
    found = compared(read_record(path), little)
    assert found.within and not found.beyond and not found.flipped
    much = read_record(checked(tmp_path / "much", "1.01"))
    found = compared(read_record(path), much)
    assert found.flipped and found.matters
    assert "met" in found.markdown() or "insufficient" in found.markdown()
    assert json.dumps(found.data())


def test_the_command_checks_a_signature_too(path, tmp_path):
    asymmetric = pytest.importorskip("cryptography.hazmat.primitives.asymmetric.ed25519")
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
        PublicFormat,
    )

    key = asymmetric.Ed25519PrivateKey.generate()
    private, public = tmp_path / "key.pem", tmp_path / "public.pem"
    private.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    public.write_bytes(
        key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    )
    record = tmp_path / "record.json"
    record.write_bytes(path.read_bytes())

    assert command("sign", record, "--key", private).status == 0
    signature = tmp_path / "record.json.sig"
    asked = ("verify", record, "--signature", signature, "--public", public)
    done = command(*asked)
    assert done.status == 0 and "holds, signed" in done.out
    found = json.loads(command(*asked, "--format", "json").out)
    assert found["holds"] and found["signature"] == "holds"
    changed = read_record(record)
    write_record(sealed(changed["content"], changed["circumstances"] | {"platform": "?"}), record)
    done = command(*asked)
    assert done.status == 1 and "DOES NOT HOLD" in done.out
    assert "is not a signature of these bytes" in done.out
