"""Cables: bad givens, both states of a tension, and properties that hold exactly.

A property is asked in enclosures: two ways of stating one cable may not part.
"""

import random
from functools import partial

import attrs
import pytest
from flint import arb, ctx, fmpq
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun
from refsolver.quantities.views import View
from refsolver.statics.chapters.cables.cable import Station
from refsolver.statics.chapters.cables.catenary import HangingCable
from refsolver.statics.chapters.cables.catenary_span import CutCable
from refsolver.statics.chapters.cables.loaded_strings import HungWeight, KnownSegment, LoadedString
from refsolver.statics.chapters.cables.parabolic import UniformCable
from refsolver.statics.chapters.cables.polygons import CableLoad, LoadedCable
from refsolver.statics.prover import prove
from refsolver.statics.registry import families, family

BITS = 160
few = settings(max_examples=15, deadline=None)
lengths = st.integers(1, 400).map(lambda n: fmpq(n, 10))
seeds = st.integers(0, 10**6)


def solved(name, given):
    owner = families()[name]
    with ctx.workprec(BITS):
        return owner.solve(given, EnclosureArithmetic(), owner.rule_set()).answers


def sampled(name, seed, kappa=(1.0, 20.0)):
    return families()[name].propose(kappa, random.Random(f"{name} {seed}"))


def meet(a, b):
    """Whether two enclosures may hold one number, and are narrow enough to mean it."""
    a, b = arb(a), arb(b)
    with ctx.workprec(BITS):
        narrow = (abs(a) + 1) * arb(2) ** -60
        return a.overlaps(b) and a.rad() < narrow and b.rad() < narrow


# --- what is refused in the givens ----------------------------------------------------------

LOADS = (CableLoad(fmpq(6), fmpq(4), "P"),)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (partial(LoadedCable, fmpq(8), LOADS), "exactly one of depth"),
        (partial(LoadedCable, fmpq(8), LOADS, horizontal=fmpq(4), length=fmpq(10)), "stated: hor"),
        (partial(LoadedCable, fmpq(8), LOADS, depth=fmpq(3), depth_of="Q"), "'depth_of' names"),
        (partial(LoadedCable, fmpq(8), LOADS, horizontal=fmpq(4), state="deeper"), "'deeper'"),
        (partial(LoadedCable, fmpq(3), LOADS, horizontal=fmpq(4)), "outside the span"),
        (partial(LoadedCable, fmpq(4), LOADS, horizontal=fmpq(4)), "one at a support"),
        (
            partial(
                LoadedCable, fmpq(8), (*LOADS, CableLoad(fmpq(1), fmpq(4))), horizontal=fmpq(4)
            ),
            "two loads at one place",
        ),
        (partial(LoadedCable, fmpq(8), LOADS, horizontal=fmpq(4), first="P"), "two go by the name"),
        (partial(UniformCable, fmpq(8), fmpq(1)), "exactly one of sag"),
        (
            partial(UniformCable, fmpq(8), fmpq(1), sag=fmpq(1), stations=(Station(fmpq(9)),)),
            "outside the span",
        ),
        (partial(HangingCable, fmpq(8), fmpq(1), sag=fmpq(1), state="deeper"), "'deeper'"),
        (partial(HangingCable, fmpq(8), fmpq(1), sag=fmpq(1), dip=fmpq(1)), "stated: sag and dip"),
        (partial(CutCable, fmpq(8), fmpq(1), dip=fmpq(1), first="second"), "both supports"),
        (partial(CutCable, fmpq(8), fmpq(1)), "exactly one of dip"),
    ],
)
def test_givens_that_contradict_themselves_are_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def segment(number, *run):
    return KnownSegment(number, ByRun(tuple(map(fmpq, run))))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"known": segment(1, 4, -3), "other": segment(1, 4, 3)}, "of one segment"),
        ({"known": segment(1, 4, -3), "other": segment(3, 4, 3)}, "2 segments, not 3"),
        (
            {"known": segment(1, 4, -3), "other": segment(2, 4, 3), "lengths": (fmpq(1),)},
            "2 lengths are expected",
        ),
        (
            {"known": segment(1, 4, -3), "other": segment(2, 4, 3), "lengths": (fmpq(1), fmpq(0))},
            "is positive",
        ),
        (
            {"known": segment(1, 4, -3), "other": segment(2, 4, 3), "first": "second"},
            "by the name .second.: rename one",
        ),
    ],
)
def test_strings_that_contradict_themselves_are_refused(given, words):
    with pytest.raises(ValueError, match=words):
        LoadedString((HungWeight(fmpq(5)),), **given)


# --- one cable, stated in every way ---------------------------------------------------------


STATED = ("depth", "length", "sag", "dip", "horizontal", "greatest", "parameter")


def restated(given, **way):
    """The same case with another quantity stated."""
    cleared = {name: None for name in STATED if hasattr(given, name)}
    if "greatest" not in way and hasattr(given, "state"):
        cleared["state"] = "flatter"
    return attrs.evolve(given, **{**cleared, **way})


def _exact(value):
    """An exact number inside an enclosure, to state it with."""
    mantissa, exponent = arb(value).mid().man_exp()
    return fmpq(int(mantissa)) * fmpq(2) ** int(exponent)


@few
@drawn(seeds)
def test_a_cable_with_loads_is_the_same_however_it_is_stated(seed):
    name = "cables/point-loads"
    given = sampled(name, seed)
    answers = solved(name, given)
    with ctx.workprec(BITS):
        ways = [
            restated(given, horizontal=_exact(answers["horizontal"])),
            restated(given, length=_exact(answers["length"])),
            attrs.evolve(given, depth_from="second support",
                         depth=_exact(answers["depths"][given.depth_of] + given.rise)),
        ]  # fmt: skip
    for way in ways:
        again = solved(name, way)["horizontal"]
        with ctx.workprec(BITS):
            assert abs(again - answers["horizontal"]) < answers["horizontal"] * arb(2) ** -50
    greatest = restated(given, greatest=_exact(answers["greatest"]))
    states = [solved(name, attrs.evolve(greatest, state=s))["horizontal"]
              for s in ("flatter", "deeper")]  # fmt: skip
    with ctx.workprec(BITS):
        found = [h for h in states if not isinstance(h, NoAnswer)]
        assert any(
            abs(h - answers["horizontal"]) < answers["horizontal"] * arb(2) ** -50 for h in found
        )


@pytest.mark.parametrize("name", ["cables/parabolic", "cables/catenary"])
@few
@drawn(seed=seeds)
def test_a_uniform_cable_is_the_same_however_it_is_stated(name, seed):
    given = sampled(name, seed)
    answers = solved(name, given)
    if isinstance(answers["horizontal"], NoAnswer):
        return
    for way in ("length", "sag", "horizontal"):
        again = solved(name, restated(given, **{way: _exact(answers[way])}))
        with ctx.workprec(BITS):
            off = abs(again["horizontal"] - answers["horizontal"])
            assert off < answers["horizontal"] * arb(2) ** -40
    if not isinstance(answers["lowest"], NoAnswer):
        again = solved(name, restated(given, dip=_exact(-answers["lowest"][1])))
        with ctx.workprec(BITS):
            off = abs(again["horizontal"] - answers["horizontal"])
            assert off < answers["horizontal"] * arb(2) ** -40


@few
@drawn(seeds)
def test_span_and_length_of_a_catenary_are_inverse_questions(seed):
    given = sampled("cables/catenary", seed)
    answers = solved("cables/catenary", given)
    if isinstance(answers["horizontal"], NoAnswer):
        return
    cut = CutCable(
        _exact(answers["length"]), given.load, given.rise, horizontal=_exact(answers["horizontal"])
    )
    with ctx.workprec(BITS):
        span = solved("cables/catenary-span", cut)["span"]
        assert abs(span - given.span) < arb(2) ** -40 * span


# --- scaling, turning round, splitting ------------------------------------------------------


@pytest.mark.parametrize("name", ["cables/parabolic", "cables/catenary"])
@few
@drawn(seed=seeds)
def test_seen_from_the_other_side_nothing_changes(name, seed):
    given = sampled(name, seed)
    turned = attrs.evolve(
        given,
        rise=-given.rise,
        dip=None if given.dip is None else given.dip + given.rise,
        first=given.second,
        second=given.first,
        stations=tuple(attrs.evolve(s, at=given.span - s.at) for s in given.stations),
    )
    here, there = solved(name, given), solved(name, turned)
    if isinstance(here["horizontal"], NoAnswer):
        assert isinstance(there["horizontal"], NoAnswer)
        return
    for answer in ("horizontal", "greatest", "least", "sag", "length"):
        assert meet(here[answer], there[answer]), answer
    for key, tension in here["tensions"].items():
        assert meet(tension, there["tensions"][key]), key
        with ctx.workprec(BITS):
            assert meet(here["inclinations"][key], -there["inclinations"][key]), key


@few
@drawn(seeds, lengths)
def test_forces_follow_the_loads_and_shapes_do_not(seed, factor):
    for name in ("cables/parabolic", "cables/catenary"):
        given = sampled(name, seed)
        forces = {
            f: getattr(given, f) * factor
            for f in ("load", "horizontal", "greatest")
            if getattr(given, f) is not None
        }
        here, there = solved(name, given), solved(name, attrs.evolve(given, **forces))
        if isinstance(here["horizontal"], NoAnswer):
            assert isinstance(there["horizontal"], NoAnswer)
            continue
        with ctx.workprec(BITS):
            assert meet(here["greatest"] * factor, there["greatest"])
        assert meet(here["sag"], there["sag"]) and meet(here["length"], there["length"])


@few
@drawn(seeds)
def test_a_station_cuts_a_cable_into_two_cables(seed):
    """The part between the first support and a station is a cable with the same H."""
    for name in ("cables/parabolic", "cables/catenary"):
        given = sampled(name, seed)
        whole = solved(name, given)
        if isinstance(whole["horizontal"], NoAnswer):
            continue
        station = given.stations[0]
        part = attrs.evolve(
            restated(given, horizontal=_exact(whole["horizontal"])),
            span=station.at,
            rise=_exact(whole["heights"][station.name]),
            stations=(),
        )
        cut = solved(name, part)
        with ctx.workprec(BITS):
            off = abs(cut["tensions"]["second"] - whole["tensions"][station.name])
            assert off < arb(2) ** -60 * whole["greatest"]


@few
@drawn(seeds, st.integers(1, 9))
def test_a_load_may_be_split_into_two_side_by_side(seed, tenths):
    """Two loads close together pull like one: the cable theorem in the limit, from above."""
    given = sampled("cables/point-loads", seed)
    flat = restated(given, horizontal=fmpq(500))
    first = flat.loads[0]
    near = fmpq(1, 10**12)
    if first.at + near >= flat.span:
        return
    split = (
        attrs.evolve(first, weight=first.weight * tenths / 10),
        CableLoad(first.weight * (10 - tenths) / 10, first.at + near, "beside"),
        *flat.loads[1:],
    )
    one = solved("cables/point-loads", flat)
    two = solved("cables/point-loads", attrs.evolve(flat, loads=split))
    with ctx.workprec(BITS):
        for key, depth in one["depths"].items():
            assert abs(two["depths"][key] - depth) < arb("1e-9")


# --- the two states of one greatest tension -------------------------------------------------


def test_both_states_of_a_catenary_bear_the_stated_tension_and_differ():
    for rise in (fmpq(0), fmpq(30), fmpq(-30)):
        cable = HangingCable(fmpq(100), fmpq(2), rise, greatest=fmpq(300))
        flatter = solved("cables/catenary", cable)
        deeper = solved("cables/catenary", attrs.evolve(cable, state="deeper"))
        assert meet(flatter["greatest"], 300) and meet(deeper["greatest"], 300)
        with ctx.workprec(BITS):
            assert flatter["horizontal"] > 2 * deeper["horizontal"]
            assert flatter["sag"] * 2 < deeper["sag"]


@pytest.mark.parametrize("rise", [0, 1, 40, 1000])
def test_refused_below_the_least_tension_and_answered_above_it(rise):
    """The least greatest tension, found by scanning the answer's own shape, not its root."""
    span = fmpq(100)
    shapes = [fmpq(n, 10) for n in range(5, 4000)]
    with ctx.workprec(BITS):
        least = min(
            float(_greatest(span, fmpq(rise), c).mid()) for c in shapes
        )  # fmt: skip
    below, above = fmpq(int(least * 0.999 * 1000), 1000), fmpq(int(least * 1.001 * 1000), 1000)
    make = partial(HangingCable, span, fmpq(1), fmpq(rise))
    assert isinstance(solved("cables/catenary", make(greatest=below))["sag"], NoAnswer)
    assert not isinstance(solved("cables/catenary", make(greatest=above))["sag"], NoAnswer)


def _greatest(span, rise, c):
    half = arb(span / (2 * c))
    middle = (arb(rise / (2 * c)) / half.sinh()).asinh()
    return c * (half + middle).cosh()


# --- sensitivities --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "given",
    [
        HangingCable(fmpq(100), fmpq(2), fmpq(7), length=fmpq(120)),
        HangingCable(fmpq(100), fmpq(2), fmpq(7), sag=fmpq(12)),
        HangingCable(fmpq(100), fmpq(2), fmpq(7), dip=fmpq(12)),
        HangingCable(fmpq(100), fmpq(2), fmpq(7), greatest=fmpq(400)),
        HangingCable(fmpq(100), fmpq(2), fmpq(7), greatest=fmpq(400), state="deeper"),
        UniformCable(fmpq(100), fmpq(2), fmpq(7), length=fmpq(120)),
    ],
    ids=["length", "sag", "dip", "flatter", "deeper", "parabola"],
)
def test_derivatives_through_a_root_are_those_of_finite_differences(given):
    """d H / d span, against a central difference of two proven values."""
    name = "cables/parabolic" if isinstance(given, UniformCable) else "cables/catenary"
    owner = families()[name]
    with ctx.workprec(BITS):
        ar = DerivativeArithmetic([given.span])
        slope = owner.solve(given, ar, owner.rule_set()).answers["horizontal"].gradient[0]
        step = fmpq(1, 10**8)
        there, here = (
            solved(name, attrs.evolve(given, span=given.span + sense * step))["horizontal"]
            for sense in (1, -1)
        )
        assert abs((there - here) / (2 * step) - slope) < abs(slope) * arb("1e-12")


def test_a_segment_stated_level_is_level():
    """Beside a slope of many decimals, whose sums no arithmetic proves to be zero."""
    owner = family("cables/weights-on-a-string")
    given = LoadedString(
        tuple(HungWeight(fmpq(w, 5)) for w in (4171, 1960, 3293)),
        KnownSegment(3, ByAngle(Turn(fmpq(-332478649, 4500000000)))),
        KnownSegment(4, ByRun((fmpq(1), fmpq(0)))),
    )
    ask = View("directions", "angle", key="weight 3-second")
    reference = prove(owner, given, [ask], strict=True)
    assert reference.outcomes[ask].how == "zero" and reference.residuals == "close"
