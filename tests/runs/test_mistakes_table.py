"""Which cases reveal which mistake, on a small catalogue with answers known by construction.

The cases are those of ``conftest.py``: right triangles and symmetry, so that what each
mistake does can be worked out by hand.
"""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from refsolver.catalogue.catalogue import Catalogue
from refsolver.commands import commands
from refsolver.mistakes.known import GENERAL, replayed, seat
from refsolver.mistakes.replay import replay
from refsolver.quantities.views import View
from refsolver.runs.mistakes_table import mistakes_table
from refsolver.statics.registry import family

FAMILY = "concurrent-forces/plane-resultant"


@pytest.fixture(scope="module")
def rows(catalogue):
    return {row.name: row for row in mistakes_table(0.005, [FAMILY], catalogue)}


def names(row):
    return {id.rpartition("/")[2] for id in row.revealed_by}


def test_a_lost_quadrant_turns_the_resultant_about_where_it_points_left(catalogue):
    view = View("resultant", "angle", start="+x", toward="+y", range="-180..180")
    mistake = next(m for m in GENERAL if m.name == "one-argument arctangent")
    found = {
        name: replayed(family(FAMILY), catalogue.read(f"{FAMILY}/{name}").given, [view], mistake)
        for name in ("downward-left", "anchor-right-triangle")
    }
    assert found["downward-left"] == {view: pytest.approx(math.atan(120 / 50))}
    assert found["anchor-right-triangle"] == {view: pytest.approx(math.atan(40 / 30))}


def test_an_inverted_slope_shows_only_where_a_slope_is_given(rows):
    assert names(rows["slope inverted"]) == {"slopes"}


def test_one_row_left_out_shows_in_every_case(rows):
    assert len(names(rows["last row left out"])) == 5
    assert rows["last row left out"].families == [FAMILY]


def test_rows_beyond_those_of_any_case_reveal_nothing(rows):
    assert rows["rows after the first 3 left out"].revealed_by == []
    assert names(rows["rows after the first 2 left out"]) == {"balanced"}


def test_a_larger_share_reveals_less(catalogue, rows):
    # 3.14 for pi is half a thousandth wrong in every angle.
    finer = {row.name: row for row in mistakes_table(1e-5, [FAMILY], catalogue)}
    assert len(finer["pi = 3.14"].revealed_by) > len(rows["pi = 3.14"].revealed_by)


def test_names_are_distinct_and_every_mistake_says_what_is_done():
    assert len({m.name for m in GENERAL}) == len(GENERAL)
    assert all(m.says and seat(m) in ("givens", "answers", "arithmetic") for m in GENERAL)


@pytest.mark.parametrize(
    ("name", "across", "up"),
    [
        ("sine and cosine swapped", -120.0, -50.0),
        ("angle from the wrong axis", -120.0, -50.0),
        ("sense reversed", 50.0, 120.0),
        ("angle turned the other way", -50.0, 120.0),
        ("last row left out", -50.0, 0.0),
        ("first row left out", 0.0, -120.0),
        ("sign reversed", 50.0, 120.0),
    ],
)
def test_what_would_be_reported_of_50_left_and_120_down(catalogue, name, across, up):
    # cos 180 = -1 and sin 180 = 0, cos 270 = 0 and sin 270 = -1: by hand, for each mistake.
    case = catalogue.read(f"{FAMILY}/downward-left")
    views = [View("resultant", "component", along=axis) for axis in ("+x", "+y")]
    mistake = next(m for m in GENERAL if m.name == name)
    found = replayed(family(FAMILY), case.given, views, mistake)
    assert [found[view] for view in views] == pytest.approx([across, up], abs=1e-9)


def test_no_arithmetic_mistake_is_made_in_a_given_number():
    # The coefficient is stated as tan 20 degrees; who works with it has 0.364.
    case = Catalogue().read("friction/journal-bearing/friction-circle-formula")
    owner, views = family(case.family), [View("friction circle"), View("torque, by mu r")]
    right = replay(owner, case.given, views)
    for mistake in GENERAL:
        if mistake.name in ("sine and cosine swapped", "degrees taken as radians"):
            assert replayed(owner, case.given, views, mistake) == right


def test_the_command_lists_them_for_a_program():
    asked = ["mistakes", "--family", "rigging/two-legs", "--format", "json"]
    listed = json.loads(CliRunner().invoke(commands, asked, standalone_mode=False).output)
    assert {"name", "kind", "applies_to", "revealed_by", "families"} <= set(listed[0])
    own = [row for row in listed if row["kind"] == "rules"]
    assert own
    assert all(id.startswith("rigging/two-legs/") for row in own for id in row["revealed_by"])
