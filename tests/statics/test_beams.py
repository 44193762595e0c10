"""Beams: what mirroring, adding and cutting may not change, refusals, mistakes, figures."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View, evaluate
from refsolver.statics.chapters.beams.beam import (
    Beam,
    BeamCouple,
    BeamForce,
    BeamHinge,
    BeamLineLoad,
    BeamSupport,
    beam_equilibrium,
    stations,
)
from refsolver.statics.chapters.beams.line_resultant import LineLoads
from refsolver.statics.givens import leaf, replaced
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

REACTIONS = family("beams/reactions")
INTERNAL = family("beams/internal-forces")
EXTREMES = family("beams/extremes")
RESULTANT = family("beams/line-resultant")
BEAMS = pytest.mark.parametrize("owner", [REACTIONS, INTERNAL, EXTREMES], ids=lambda f: f.name)
ALL = pytest.mark.parametrize(
    "owner", [REACTIONS, INTERNAL, EXTREMES, RESULTANT], ids=lambda f: f.name
)
TINY = fmpq(1, 10**24)


def down(size):
    return Components((fmpq(0), -fmpq(size)))


def asked(owner, case, *asks):
    return list(prove(owner, case, list(asks), strict=True).outcomes.values())


def middles(owner, case, *asks):
    found = asked(owner, case, *asks)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def sections(case):
    """A shear and a moment in the middle of every piece."""
    at = stations(case)
    return [
        View(answer, at=(a + b) / 2)
        for a, b in zip(at, at[1:], strict=False)
        for answer in ("shear", "moment")
    ]


place = st.integers(0, 20).map(lambda n: fmpq(n, 2))
force = st.builds(lambda at, size: BeamForce(down(size), at), place, st.integers(-50, 50))
couple = st.builds(lambda at, m: BeamCouple(fmpq(m), at), place, st.integers(-50, 50))
line = st.builds(
    lambda a, n, w: BeamLineLoad(a / 2, a / 2 + n, tuple(fmpq(x) for x in w)),
    place, st.integers(1, 5), st.lists(st.integers(-20, 20), min_size=1, max_size=3),
)  # fmt: skip
loads = st.fixed_dictionaries(
    {
        "forces": st.lists(force, max_size=2).map(tuple),
        "couples": st.lists(couple, max_size=1).map(tuple),
        "line_loads": st.lists(line, max_size=2).map(tuple),
    }
)
SPAN = (BeamSupport("pin", fmpq(1), name="A"), BeamSupport("roller", fmpq(8), name="B"))


def beam(supports=SPAN, **loads_):
    return Beam(fmpq(10), supports, **loads_)


def mirrored(case):
    """The beam seen from the other side."""
    length = case.length
    return attrs.evolve(
        case,
        supports=tuple(attrs.evolve(s, at=length - s.at) for s in case.supports),
        hinges=tuple(attrs.evolve(h, at=length - h.at) for h in case.hinges),
        forces=tuple(attrs.evolve(f, at=length - f.at) for f in case.forces),
        couples=tuple(attrs.evolve(c, at=length - c.at, moment=-c.moment) for c in case.couples),
        line_loads=tuple(
            attrs.evolve(
                w,
                start=length - w.end,
                end=length - w.start,
                intensities=tuple(reversed(w.intensities)),
            )
            for w in case.line_loads
        ),
    )


@settings(max_examples=25, deadline=None)
@given(loads)
def test_the_mirrored_beam_has_the_same_moments_and_opposite_shears(given_loads):
    case = beam(**given_loads)
    other = mirrored(case)
    asks = sections(case)
    seen = [attrs.evolve(ask, at=case.length - ask.at) for ask in asks]
    for ask, x, y in zip(
        asks, middles(INTERNAL, case, *asks), middles(INTERNAL, other, *seen), strict=True
    ):
        sign = 1 if ask.answer == "moment" else -1
        assert abs(x - sign * y) < TINY


@settings(max_examples=25, deadline=None)
@given(loads, loads)
def test_moments_superpose(one, two):
    both = {name: one[name] + two[name] for name in one}
    asks = [View("moment", at=fmpq(13, 4)), View("shear", at=fmpq(37, 4))]
    parts = [middles(INTERNAL, beam(**part), *asks) for part in (one, two)]
    for whole_, a, b in zip(middles(INTERNAL, beam(**both), *asks), *parts, strict=True):
        assert abs(whole_ - a - b) < TINY


@settings(max_examples=15, deadline=None)
@given(loads)
def test_no_section_exceeds_the_extremes(given_loads):
    case = beam(**given_loads)
    names = ("largest moment", "smallest moment", "largest shear", "smallest shear")
    high_m, low_m, high_v, low_v = middles(EXTREMES, case, *(View(n) for n in names))
    grid = [fmpq(2 * i + 1, 7) / 2 + fmpq(1, 100) for i in range(69)]
    moments = middles(INTERNAL, case, *(View("moment", at=x) for x in grid))
    shears = middles(INTERNAL, case, *(View("shear", at=x) for x in grid))
    assert all(low_m - TINY <= m <= high_m + TINY for m in moments)
    assert all(low_v - TINY <= v <= high_v + TINY for v in shears)


@settings(max_examples=25, deadline=None)
@given(loads)
def test_cutting_a_line_load_in_two_changes_nothing(given_loads):
    case = beam(**given_loads)
    parts = []
    for w in case.line_loads:
        if len(w.intensities) > 2:
            parts.append(w)
            continue
        mid = (w.intensities[0] + w.intensities[-1]) / 2
        half = (w.start + w.end) / 2
        parts.append(BeamLineLoad(w.start, half, (w.intensities[0], mid)))
        parts.append(BeamLineLoad(half, w.end, (mid, w.intensities[-1])))
    asks = [View("reactions", "component", key=k, along="+y") for k in "AB"]
    cut = attrs.evolve(case, line_loads=tuple(parts))
    for a, b in zip(middles(REACTIONS, case, *asks), middles(REACTIONS, cut, *asks), strict=True):
        assert abs(a - b) < TINY


def test_a_line_load_across_a_hinge_is_that_of_both_parts():
    """3 per length from 1 to 9, the hinge at 4: the left part is a span from A to the hinge,
    so A bears 9 * (4 - 2.5) / 4, and the hinge passes the rest of the 9 to the right part."""
    supports = (
        SPAN[0],
        *(BeamSupport("roller", fmpq(x), name=n) for x, n in ((7, "B"), (10, "C"))),
    )
    supports = (attrs.evolve(supports[0], at=fmpq(0)), *supports[1:])
    whole = (BeamLineLoad(fmpq(1), fmpq(9), (fmpq(3),)),)
    cut = tuple(BeamLineLoad(fmpq(a), fmpq(b), (fmpq(3),)) for a, b in ((1, 4), (4, 9)))
    asks = [View("reactions", "component", key=k, along="+y") for k in "ABC"]
    found = []
    for loads_ in (whole, cut):
        case = beam(supports, hinges=(BeamHinge(fmpq(4), "H"),), line_loads=loads_)
        assert middles(INTERNAL, case, View("moment", at=fmpq(4))) == [0]
        found.append(middles(REACTIONS, case, *asks))
    assert found[0] == found[1] and found[0][0] == fmpq(27, 8)
    ar = EnclosureArithmetic()
    held = beam_equilibrium(case, ar, REACTIONS.rule_set())
    assert held.values["H: along x"] == 0 and held.values["H: along y"] == fmpq(45, 8)


@pytest.mark.parametrize(
    "path", ["line_loads[1].end", "line_loads[2].start", "forces[1].at", "supports[2].at"]
)
def test_sensitivities_where_several_givens_share_a_place(path):
    """The derivative of M beyond the place, against a difference quotient of exact values."""
    case = beam(
        (SPAN[0], BeamSupport("roller", fmpq(6), name="B")),
        forces=(BeamForce(down(7), fmpq(6)),),
        line_loads=(
            BeamLineLoad(fmpq(2), fmpq(6), (fmpq(1), fmpq(3))),
            BeamLineLoad(fmpq(6), fmpq(9), (fmpq(5),)),
        ),
    )
    ask, step = View("moment", at=fmpq(8)), fmpq(1, 10**6)
    seed = leaf(case, path)
    ar = DerivativeArithmetic([seed])
    answers = INTERNAL.solve(case, ar, INTERNAL.rule_set()).answers
    kind = INTERNAL.answers["moment"].kind
    (found,) = ar.derivatives(evaluate(ask, kind, answers["moment"], ar))
    (above,), (below,) = (
        middles(INTERNAL, replaced(case, {path: seed + d}), ask) for d in (step, -step)
    )
    quotient = (above - below) / (2 * step)
    assert abs(float(found.mid()) - int(quotient.p) / int(quotient.q)) < 1e-4


def test_views_at_a_jump_need_a_side():
    case = beam(forces=(BeamForce(down(7), fmpq(3)),))
    left, right, bare = asked(
        INTERNAL,
        case,
        View("shear", at=fmpq(3), side="left"),
        View("shear", at=fmpq(3), side="right"),
        View("shear", at=fmpq(3)),
    )
    assert left.enclosure.middle - right.enclosure.middle == 7
    assert isinstance(bare, NoAnswer)


@BEAMS
@pytest.mark.parametrize(
    ("supports", "hinges", "reason"),
    [
        (
            (BeamSupport("fixed", fmpq(0), name="A"), BeamSupport("roller", fmpq(8), name="B")),
            (),
            "redundant",
        ),
        (SPAN, (BeamHinge(fmpq(4)),), "mechanism"),
        (
            (BeamSupport("pin", fmpq(0), name="A"), BeamSupport("pin", fmpq(8), name="B")),
            (BeamHinge(fmpq(4)),),
            "improper constraint",
        ),
    ],
)
def test_refusals(owner, supports, hinges, reason):
    case = Beam(fmpq(10), supports, hinges, (BeamForce(down(10), fmpq(2)),))
    ask = {
        REACTIONS.name: View("reactions", "magnitude", key="A"),
        INTERNAL.name: View("moment", at=fmpq(1)),
        EXTREMES.name: View("greatest moment"),
    }[owner.name]
    (found,) = asked(owner, case, ask)
    assert isinstance(found, NoAnswer)
    assert found.reason == reason


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: BeamLineLoad(fmpq(3), fmpq(3), (fmpq(1),)), "to the right of its start"),
        (lambda: BeamSupport("pin", fmpq(0), ByRun((fmpq(0), fmpq(1)))), "only a roller"),
        (lambda: beam(forces=(BeamForce(down(1), fmpq(11)),)), "beyond the end"),
        (lambda: beam(forces=(BeamForce(down(1), Constant("pi")),)), "rational"),
        (
            lambda: beam(hinges=(BeamHinge(fmpq(4)),), couples=(BeamCouple(fmpq(1), fmpq(4)),)),
            "which side",
        ),
        (lambda: beam(hinges=(BeamHinge(fmpq(4)), BeamHinge(fmpq(4), "H"))), "different places"),
        (
            lambda: Beam(fmpq(10), (BeamSupport("fixed", fmpq(4)),), (BeamHinge(fmpq(4)),)),
            "which side",
        ),
        (lambda: LineLoads((BeamLineLoad(fmpq(0), Constant("pi"), (fmpq(1),)),)), "rational"),
    ],
)  # fmt: skip
def test_givens_that_cannot_be_meant_are_refused(make, says):
    with pytest.raises(ValueError, match=says):
        make()


@ALL
@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        asks = sections(case) if owner is INTERNAL else asks_of(owner, case)
        reference = prove(owner, case, asks, strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"


@BEAMS
def test_filled_tables_have_the_rows_asked(owner):
    rows = {"supports": 4, "hinges": 2, "forces": 3, "couples": 2, "line_loads": 2}
    case = owner.filled(rows, random.Random(1))
    assert {name: len(getattr(case, name)) for name in rows} == rows
    assert owner.filled({"supports": 5}, random.Random(1)) is None


def test_every_filled_row_matters():
    rows = {"forces": 2, "couples": 2, "line_loads": 2}
    case = REACTIONS.filled(rows, random.Random(1))
    asks = [View("reactions", "component", key="A", along="+y")]
    (before,) = middles(REACTIONS, case, *asks)
    for name in rows:
        for i in range(2):
            kept = tuple(x for j, x in enumerate(getattr(case, name)) if j != i)
            (after,) = middles(REACTIONS, attrs.evolve(case, **{name: kept}), *asks)
            assert before != after, (name, i)


@ALL
def test_every_mistake_shows_on_some_case(owner):
    rng = random.Random(3)
    rows = {"forces": 1, "couples": 1, "line_loads": 2}
    cases = [owner.filled(rows, rng) for _ in range(4)]
    ar = DoubleArithmetic()
    for mistake in owner.mistakes:
        assert any(_shows(owner, mistake, case, ar) for case in cases), mistake.name


def _shows(owner, mistake, case, ar):
    right = owner.solve(case, ar, owner.rule_set()).answers
    changed = case if mistake.givens is None else mistake.givens(case)
    return owner.solve(changed, ar, owner.rule_set(mistake.rules)).answers != right


@ALL
def test_figures_are_drawn(owner):
    ar = DoubleArithmetic()
    case = owner.filled({"forces": 1, "couples": 1, "line_loads": 1}, random.Random(4))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.caption
    assert len(drawing.parts) > 2


@BEAMS
def test_figures_of_refused_cases_show_the_beam(owner):
    ar = DoubleArithmetic()
    case = Beam(fmpq(10), SPAN, (BeamHinge(fmpq(4)),), (BeamForce(down(10), fmpq(2)),))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert not any(getattr(part, "role", "") == "answer" for part in drawing.parts)
