"""Readings beside a border of a case: what is excused, and what is not.

A block on an incline of 30 degrees with friction tan 30 degrees is on the very point of
slipping (it slips when the incline exceeds the angle of friction, any textbook). Neither
tan 30 degrees nor half of a square root of three is a double, so as handed over the block
slips or holds, whichever way the roundings fall.
"""

from __future__ import annotations

import attrs
import pytest

from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.bench import bench
from refsolver.runs.borders import CAREFUL, MADE_BY_ROUNDING, STATED
from refsolver.runs.natural import NaturalCalculator
from refsolver.runs.natural_file import Angles
from refsolver.statics.registry import family

EXCUSED = {CAREFUL, STATED, MADE_BY_ROUNDING}


@pytest.fixture(scope="module")
def block():
    return bench(family("friction/block"), "plain", Catalogue())


def excused(runs):
    return {
        (run.case.id.rpartition("/")[2], f.output)
        for run in runs
        for f in run.findings
        if f.why in EXCUSED
    }


def test_a_block_on_the_point_of_slipping_is_no_failure_of_a_right_calculator(block):
    runs = block.runs(block.right())
    assert ("repose-of-thirty", "state") in excused(runs)
    assert all(f.verdict in ("pass", "not applicable") for r in runs for f in r.findings)


def test_a_couple_handed_over_in_radians_is_no_failure():
    """The radians leave a resultant of 1e-15 N, and of the couple only the part along it."""
    wrench = bench(family("force-systems/wrench"), "angles", Catalogue(), angles=Angles(unit="rad"))
    couple = next(r for r in wrench.prepared if r.case.id.endswith("/couple-only"))
    wrench.prepared = [couple]
    (run,) = wrench.runs(wrench.right())
    said = {f.output: f for f in run.findings}
    assert said["reduces to"].reported == "couple" and said["reduces to"].expected == "wrench"
    assert all(f.verdict in ("pass", "not applicable") for f in run.findings)
    assert said["couple magnitude"].why == STATED
    half = attrs.evolve(wrench.right(), shown=lambda x: x / 2)
    (run,) = wrench.runs(half)
    said = {f.output: f.verdict for f in run.findings}
    assert said["couple magnitude"] == said["couple component along +y"] == "fail"


def test_a_count_of_what_rounding_leaves_of_zeros_is_no_failure():
    """A pull along one leg of a tripod: as doubles its angles leave next to nothing in the rest."""
    truss = bench(family("trusses/space-truss"), "angles", Catalogue())
    truss.prepared = [r for r in truss.prepared if r.case.id.endswith("/load-on-one-leg")]
    (run,) = truss.runs(truss.right())
    said = {f.output: f for f in run.findings}
    assert (said["zero_members"].reported, said["zero_members"].why) == ("2.0", CAREFUL)
    (run,) = truss.runs(attrs.evolve(truss.right(), shown=lambda x: x + 1))
    assert {f.output: f.verdict for f in run.findings}["zero_members"] == "fail"


def test_an_axis_turned_by_rounding_points_either_way():
    """An I section in metres: rounding leaves a product of inertia of 1e-37 m^4."""
    section = bench(family("second-moments/section"), "plain", Catalogue())
    section.prepared = [r for r in section.prepared if r.case.id.endswith("/i-8-inch")]
    (run,) = section.runs(section.right())
    said = {f.output: f for f in run.findings if f.output.startswith("minor axis")}
    assert [(f.verdict, f.why) for f in said.values()] == [("not applicable", STATED)]
    turned = attrs.evolve(section.right(), shown=lambda x: -x)
    (run,) = section.runs(turned)
    assert {f.verdict for f in run.findings if f.output == "area"} == {"fail"}


def test_a_wrong_word_away_from_a_border_is_not_excused(block):
    def always(owner, given, views):
        right = NaturalCalculator(block.file, owner).solved(owner, given, views)
        return {v: "holds" if v.answer == "state" else x for v, x in right.items()}

    runs = block.runs(attrs.evolve(block.right(), answering=always))
    words = [f for r in runs for f in r.findings if f.output == "state"]
    wrong = [f for f in words if f.verdict == "fail"]
    assert len(wrong) > 5
    assert all(f.why not in EXCUSED for f in wrong)


def test_a_number_that_merely_deviates_is_never_excused(block):
    def more(owner, given, views):
        right = NaturalCalculator(block.file, owner).solved(owner, given, views)
        return {v: x if isinstance(x, str) else 1.1 * x for v, x in right.items()}

    runs = block.runs(attrs.evolve(block.right(), answering=more))
    beyond = excused(runs) - excused(block.runs(block.right()))
    assert beyond == set()
    assert sum(f.verdict == "fail" for r in runs for f in r.findings) > 40
