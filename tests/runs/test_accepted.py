"""Accepted deviations: they change no verdict, and every view says what became of each."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

import refsolver.runs.checking as checking
from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.canonical import canonical, sealed
from refsolver.records.changes import changes_since
from refsolver.reporting.accepted import acceptances
from refsolver.reporting.markdown import markdown_text
from refsolver.runs.verifying import verify
from tests.command import command
from tests.plane_pulls import inputs, output

FAMILY = "concurrent-forces/plane-resultant"
MODULE = """
import math
def total(asked):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in asked["pulls"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in asked["pulls"])
    r = math.hypot(x, y)
    return {"r": 1.01 * r if x < -1 else r, "up": y}
"""
AGREED = '{ relative = "0.1 %", absolute = "0.01 lbf", reason = "as agreed" }'
TOML = f"""
[calculator]
name = "Mast stays (made up)"
version = "1"
owner = "a yard that does not exist"
[python]
function = "mast:total"
[[family]]
name = "{FAMILY}"
{inputs("lbf")}
{output(AGREED, "lbf")}
[[family.output]]
answer = "resultant"
take = "component"
along = "+y"
unit = "lbf"
place = "up"
says = "up"
criterion = {AGREED}
"""
LEFT = f"{FAMILY}/downward-left"
TODAY = date.today()
LATER = (TODAY + timedelta(days=40)).isoformat()
EARLIER = (TODAY - timedelta(days=40)).isoformat()


def entry(what: str, expires: str = LATER, more: str = "") -> str:
    return f"""
[[accepted]]
{what}
reason = "the old table is | kept <until> the new one"
approved_by = "R. Ahmed & Co"
expires = {expires}
{more}
"""


@pytest.fixture
def check(
    tmp_path: Path,
    catalogue: Catalogue,
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[..., tuple[int, str]]:
    """The command, on the small catalogue, with some entries: exit status and what it says."""
    monkeypatch.setattr(checking, "Catalogue", lambda: catalogue)
    (tmp_path / "mast.py").write_text(MODULE)

    def checked(*entries: str) -> tuple[int, str]:
        (tmp_path / "mast.toml").write_text(TOML + "".join(entries))
        done = command("check", "mast.toml", "--out", "out", cwd=tmp_path)
        return done.status, done.words

    return checked


def record(folder: Path) -> dict[str, Any]:
    return checking._read(folder / "out" / "record.json") or {}


def test_the_verdict_stays_and_every_view_says_who_accepts_it(
    check: Callable[..., tuple[int, str]], tmp_path: Path
) -> None:
    check()
    plain = record(tmp_path)
    code, said = check(entry(f'case = "{LEFT}"'))
    found = record(tmp_path)
    assert code == 1
    assert found["content"]["overall"]["result"] == "not met"
    for section in ("cases", "counts", "overall", "coverage", "criteria", "diagnosis"):
        assert found["content"][section] == plain["content"][section], section
    assert "accepted deviations: 1 in force; failing readings accepted: 1" in said

    (accepted,) = found["content"]["accepted"]
    (reading,) = accepted["readings"]
    assert (reading["case"], reading["output"]) == (LEFT, "resultant magnitude")
    assert found["circumstances"]["changes"]["items"] == [
        f"accepted deviations: new: every output of {LEFT}, accepted by R. Ahmed & Co until "
        f"{LATER} (the old table is | kept <until> the new one)"
    ]

    out = tmp_path / "out"
    for name in ("report.html", "report.md"):
        text = words(out / name)
        for word in ("Accepted deviations", "R. Ahmed & Co", LATER, "the reading stays a failure"):
            assert word in text, (name, word)
        assert "the old table is | kept <until> the new one" in text
    (row,) = (
        r
        for r in csv.DictReader(io.StringIO((out / "findings.csv").read_text(encoding="utf-8")))
        if r["accepted"]
    )
    assert (row["case"], row["verdict"], row["accepted"]) == (LEFT, "fail", "in force")
    assert (row["accepted_by"], row["accepted_until"]) == ("R. Ahmed & Co", LATER)

    tests = ElementTree.parse(out / "junit.xml").iter("testcase")
    (test,) = (t for t in tests if t.find("properties") is not None)
    assert test.get("classname") == LEFT and test.find("failure") is not None
    facts = {p.get("name"): p.get("value") for p in test.iter("property")}
    assert facts["accepted"] == "in force" and facts["accepted.approved_by"] == "R. Ahmed & Co"
    assert facts["accepted.expires"] == LATER and "old table" in facts["accepted.reason"]
    assert verify(out / "record.json").holds


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []

    def handle_data(self, data: str) -> None:
        self.parts.append(data)


def words(path: Path) -> str:
    """What a reader sees, without markup."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".md":
        return text.replace("\\", "")
    parser = _Text()
    parser.feed(text)
    return " ".join("".join(parser.parts).split())


@pytest.mark.parametrize(
    ("text", "state", "said"),
    [
        (entry(f'case = "{LEFT}"', EARLIER), "expired", f"EXPIRED on {EARLIER}"),
        (entry(f'case = "{LEFT}"', f'"{LATER}"'), "in force", "in force until"),
        (entry(f'case = "{LEFT}"\nanswer = "resultant magnitude"'), "in force", "in force"),
        (
            entry(f'case = "{LEFT}"\nanswer = "resultant component along +y"'),
            "unused", "unused: no failing reading",
        ),
        (entry(f'case = "{FAMILY}/slopes"'), "unused", "unused: no failing reading"),
        (entry(f'case = "{FAMILY}/made/permuted"'), "unused", "unused: no failing reading"),
        (
            entry(f'family = "{FAMILY}"\nanswer = "resultant magnitude"'), "in force", "in force",
        ),
        (
            entry(f'case = "{LEFT}"', more='reported = "131.3"\nrecord = "0123abcd"'),
            "in force", "in force",
        ),
        (
            entry(f'case = "{LEFT}"', more='reported = "140"'),
            "unused", "accepted was 140, but 131.3 is reported",
        ),
    ],
)  # fmt: skip
def test_what_becomes_of_an_entry_is_said(
    check: Callable[..., tuple[int, str]], tmp_path: Path, text: str, state: str, said: str
) -> None:
    code, _ = check(text)
    assert code == 1
    (found,) = acceptances(record(tmp_path))
    assert found.state == state
    assert said in found.words
    for name in ("report.html", "report.md"):
        assert said in words(tmp_path / "out" / name)
    junit = (tmp_path / "out" / "junit.xml").read_text()
    assert f'name="accepted" value="{state}"' in junit


def test_the_content_does_not_depend_on_the_day(
    check: Callable[..., tuple[int, str]], tmp_path: Path
) -> None:
    """Whether an entry has expired is read off the end of the run, a circumstance."""
    check(entry(f'case = "{LEFT}"'))
    found = record(tmp_path)
    day = found["circumstances"]["ended"][:10]
    for expires, state in ((day, "in force"), (LATER, "in force")):
        found["content"]["accepted"][0]["expires"] = expires
        assert acceptances(found)[0].state == state
    found["content"]["accepted"][0]["expires"] = LATER
    next_year = sealed(
        found["content"], found["circumstances"] | {"ended": f"{int(day[:4]) + 1}-12-31T00:00:00"}
    )
    assert acceptances(next_year)[0].state == "expired"
    assert "EXPIRED" in markdown_text(next_year)
    assert next_year["identity"]["content"] == found["identity"]["content"]
    assert str(TODAY) not in canonical(found["content"]).decode()


def test_an_entry_taken_away_is_said(check: Callable[..., tuple[int, str]], tmp_path: Path) -> None:
    check(entry(f'case = "{LEFT}"'))
    before = record(tmp_path)
    check()
    (said,) = changes_since(before, record(tmp_path)["content"])["items"]
    assert said.startswith(f"accepted deviations: no longer: every output of {LEFT}")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (entry(f'case = "{FAMILY}/downward-lift"'), f"did you mean {LEFT}"),
        (entry('case = "concurrent-force/plane/x"'), "is of no family of this file"),
        (entry('family = "concurrent-forces/plane-resultants"\nanswer = "x"'), f"mean {FAMILY}"),
        (entry(f'family = "{FAMILY}"'), "accepted[1].answer: say which: resultant magnitude; "),
        (entry(f'case = "{LEFT}"\nanswer = "size"'), "'size' is none of: resultant magnitude"),
        (entry(f'case = "{LEFT}"\nfamily = "{FAMILY}"'), "states either a case, or a family"),
        (entry(""), "states either a case, or a family"),
        (entry(f'case = "{LEFT}"', '"soon"'), "accepted[1].expires: say the last day"),
        (entry(f'case = "{LEFT}"', "2030-01-01T00:00:00"), "accepted[1].expires"),
        (entry(f'case = "{LEFT}"').replace("R. Ahmed & Co", " "), "say who approved it"),
        (entry(f'case = "{LEFT}"').replace("expires", "until"), "unknown key"),
        (entry(f'case = "{LEFT}"', more='record = "record 7"'), "figures of a record's id"),
        ("[accepted]\nreason = 'x'\n", "write each one under [[accepted]]"),
        (entry(f'case = "{LEFT}"', more="reported = 131.3"), "a text is expected"),
    ],
)
def test_a_wrong_entry_is_a_sentence(
    check: Callable[..., tuple[int, str]], tmp_path: Path, text: str, said: str
) -> None:
    code, words_said = check(text)
    assert code == 2 and said in words_said and "Traceback" not in words_said, words_said
    assert not (tmp_path / "out").exists()


def test_the_entry_in_the_readme_can_be_used(tmp_path: Path) -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (shown,) = (b for b in re.findall(r"```toml\n(.*?)```", text, re.S) if "[[accepted]]" in b)
    (tmp_path / "mast.toml").write_text(TOML + shown)
    (found,) = read_calculator_file(tmp_path / "mast.toml").accepted
    assert found.case in Catalogue().paths
    assert (found.answer, found.expires) == ("resultant magnitude", date(2027, 3, 31))
