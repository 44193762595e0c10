"""One section of a beam: against the whole diagram, against plain sums, and at its ends."""

from __future__ import annotations

import random

import attrs
import numpy
import pytest
from flint import fmpq
from scipy.integrate import trapezoid

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.beams.beam import Beam
from refsolver.statics.givens import walk
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import unit_vector, vector

SECTION = family("beams/section-forces")
WHOLE = family("beams/internal-forces")
NAMES = ("axial", "shear", "moment")


def drawn(seed, side=None):
    given = SECTION.propose((1.0, 100.0), random.Random(seed))
    return given if side is None else attrs.evolve(given, side=side)


def with_a_force(seed):
    """The first drawn beam from this seed on that carries a point load."""
    return next(given for n in range(100) if (given := drawn(1000 * seed + n)).forces)


def proven(given):
    outcomes = prove(SECTION, given, [View(name) for name in NAMES], strict=True).outcomes
    return [outcomes[View(name)] for name in NAMES]


@pytest.mark.parametrize("seed", range(20))
def test_it_is_the_diagram_at_that_place(seed):
    given = drawn(seed)
    beam = Beam(**{f.name: getattr(given, f.name) for f in attrs.fields(Beam)})
    views = [View(name, at=given.section, side=given.side) for name in NAMES]
    whole = prove(WHOLE, beam, views).outcomes
    for one, view in zip(proven(given), views, strict=True):
        assert one.ball.overlaps(whole[view].ball)


@pytest.mark.parametrize("seed", range(20))
def test_a_load_at_the_section_is_the_jump_of_the_shear(seed):
    given = with_a_force(seed)
    force = given.forces[0]
    left, right = (
        proven(attrs.evolve(given, section=force.at, side=side)) for side in ("left", "right")
    )
    if len([f for f in given.forces if f.at == force.at]) > 1 or any(
        s.at == force.at for s in given.supports
    ):
        return
    across = left[1].enclosure.middle - right[1].enclosure.middle
    down = -vector(force.force, DoubleArithmetic())[1]
    assert float(across) == pytest.approx(down, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_against_sums_over_small_slices(seed):
    """Sums from the left in doubles, written without the solver; reactions from its answers."""
    given = drawn(seed)
    ar = DoubleArithmetic()
    reactions = family("beams/reactions")
    beam = Beam(**{f.name: getattr(given, f.name) for f in attrs.fields(Beam)})
    found = reactions.solve(beam, ar, reactions.rule_set()).answers
    x0 = ar.bring(given.section)
    shear = moment = 0.0
    for support, (key, force) in zip(given.supports, found["reactions"].items(), strict=True):
        at = ar.bring(support.at)
        if at < x0:
            shear += force[1]
            moment += force[1] * (x0 - at) - found["couples"].get(key, 0.0)
    for item in given.forces:
        at = ar.bring(item.at)
        if at < x0:
            fy = vector(item.force, ar)[1]
            shear += fy
            moment += fy * (x0 - at)
    for couple in given.couples:
        if ar.bring(couple.at) < x0:
            moment -= ar.bring(couple.moment)
    for line in given.line_loads:
        start, end = ar.bring(line.start), ar.bring(line.end)
        stop = min(end, x0)
        if stop <= start:
            continue
        assert len(line.intensities) <= 2  # what the generator draws
        q = [ar.bring(w) for w in line.intensities]
        xs = numpy.linspace(start, stop, 20001)
        w = numpy.interp(xs, [start, end], [q[0], q[-1]]) * unit_vector(line.direction, ar)[1]
        shear += trapezoid(w, xs)
        moment += trapezoid(w * (x0 - xs), xs)
    _, v, m = (float(one.enclosure.middle) for one in proven(given))
    size = abs(shear) + abs(moment) + 1
    assert v == pytest.approx(shear, abs=1e-6 * size)
    assert m == pytest.approx(moment, abs=1e-6 * size)


def test_beyond_the_ends_there_is_no_section():
    given = drawn(1)
    for section, side in ((fmpq(0), "left"), (given.length, "right")):
        found = proven(attrs.evolve(given, section=section, side=side))
        assert all(isinstance(one, NoAnswer) and one.reason == "not defined" for one in found)
    with pytest.raises(ValueError, match="section: a rational position on the beam"):
        attrs.evolve(given, section=given.length + 1)


def test_the_section_is_a_given_like_the_others():
    paths = [path for path, _, _ in walk(with_a_force(2))]
    assert "section" in paths and "side" in paths and "forces[1].at" in paths
