"""The quick test passes nothing that the full judgement does not pass; borders included."""

from __future__ import annotations

import math
import random

import attrs
import numpy as np
import pytest
from flint import arb, ctx, fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.detached import Enclosure, enclosure_of, exact_double
from refsolver.calculators.criteria import read_criterion
from refsolver.calculators.file import Refusals
from refsolver.calculators.lines import OutputLine, WordReading
from refsolver.checking.comparison import compare, measures
from refsolver.checking.quick import judged_quickly, suits
from refsolver.checking.readings import displayed_number
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.literals import read_literal
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View

BITS = 100
CRITERIA = [
    {"relative": "0.01 %"},
    {"absolute": "0.5 lbf"},
    {"relative": "0.1 %", "absolute": "0.5 lbf"},
    {"relative": "0.1 %", "absolute": "0.5 lbf", "combine": "smaller"},
    {"relative": "1e-12"},
    {"below": {"relative": "0.1 %"}, "above": {"absolute": "0"}, "safe_side": "low is safe"},
    {"below": {"absolute": "1 lbf"}, "above": {"relative": "1 %"}, "safe_side": "none"},
    {"rounded_to": "1 lbf", "manner": "nearest"},
    {"rounded_to": "1 lbf", "manner": "up", "computed_within": "0.001 lbf"},
    {"rounded_to": "0.5 lbf", "manner": "down"},
]
LBF = read_unit("lbf")
NEWTONS = UnitSystem.of([read_unit("N"), read_unit("m")])
POUNDS = UnitSystem.of([LBF])


def line_of(table, unit=LBF, dimension=FORCE, negate=False, view=None):
    criterion = read_criterion({**table, "reason": "a test"}, unit, dimension, "criterion")
    view = view or View("resultant", "magnitude")
    return OutputLine(view, dimension, unit, "r", "r", criterion, negate=negate)


def ball_of(x: fmpq) -> arb:
    """A reference of about the accuracy asked, no better."""
    with ctx.workprec(BITS + 3):
        return arb(x) * arb(1).exp() / arb(1).exp()


def full(line, system, value, ball):
    """The decision of the full judgement, with what it measures."""
    reference = in_unit(enclosure_of(ball), system, line.unit, line.dimension)
    number = read_literal(repr(-value if line.negate else value)).value
    found = compare(number, reference, line.criterion.band(reference, {}), line.period)
    return found, measures(found.deviation, reference)


def borders(line, system, ball):
    """Doubles on, just within and just beyond every limit of the criterion."""
    reference = in_unit(enclosure_of(ball), system, line.unit, line.dimension)
    band = line.criterion.band(reference, {})
    for limit in (reference.middle - band.below.middle, reference.middle + band.above.middle):
        x = int(limit.p) / int(limit.q)
        for _ in range(3):
            yield x
            x = math.nextafter(x, math.inf)
        for _ in range(6):
            x = math.nextafter(x, -math.inf)
            yield x


def agree(line, system, values, balls):
    quick = judged_quickly(line, system, values, balls, BITS)
    for i, (value, ball) in enumerate(zip(values, balls, strict=True)):
        found, measured = full(line, system, value, ball)
        side = found.band.below if found.deviation.middle < 0 else found.band.above
        sized = 1e-200 < abs(float(ball.mid())) < 1e200
        # Which side it lies on is open within the width of the ball: both must allow it there.
        both = min(found.band.below.middle, found.band.above.middle) > 0
        sided = abs(found.deviation.middle) > abs(exact_double(float(ball.mid()))) / 2 ** (
            BITS - 10
        )
        if (
            sized
            and (both or sided)
            and abs(found.deviation.middle) < side.middle * fmpq(999, 1000)
        ):
            assert quick.passes[i], "what is well within is left to nobody"
        if not quick.passes[i]:
            continue
        assert found.decision == "within", (value, ball)
        size = abs(found.deviation.middle)
        assert quick.share[i] == pytest.approx(float(size / side.middle), rel=1e-9, abs=1e-20)
        assert quick.relative[i] == pytest.approx(measured.relative, rel=1e-9, abs=1e-25)
    return quick


@pytest.mark.parametrize("table", CRITERIA, ids=str)
@pytest.mark.parametrize("system", [NEWTONS, POUNDS], ids=["newtons", "pounds"])
def test_border_readings_get_the_verdict_of_the_full_judgement(table, system):
    """Adversarial: the doubles next to the very limits, for references of many sizes."""
    draw = random.Random(str(table))
    for negate in (False, True):
        line = line_of(table, negate=negate)
        assert suits(line)
        values, balls = [], []
        for _ in range(40):
            size = 10 ** draw.uniform(-3, 6)
            ball = ball_of(exact_double(size * draw.choice((1, -1))))
            near = [*borders(line, system, ball)]
            values += [-x if negate else x for x in near]
            balls += [ball] * len(near)
        agree(line, system, values, balls)


@settings(max_examples=60)
@given(
    st.sampled_from(CRITERIA),
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(-1e-2, 1e-2)), min_size=1, max_size=8),
)
def test_random_readings_get_the_verdict_of_the_full_judgement(table, pairs):
    line = line_of(table)
    balls = [ball_of(exact_double(x)) for x, _ in pairs]
    agree(line, POUNDS, [x * (1 + e) for x, e in pairs], balls)


@pytest.mark.parametrize("table", CRITERIA, ids=str)
@pytest.mark.parametrize("negate", [False, True])
def test_displayed_readings_get_the_verdict_of_the_full_judgement(table, negate):
    """Texts of few and of many decimals around references; half a step is always allowed."""
    draw = random.Random(str(table))
    line = line_of(table, negate=negate)
    readings, balls = [], []
    for _ in range(150):
        size = 10 ** draw.uniform(-2, 4) * draw.choice((1, -1))
        off = draw.choice([0.0, 0.5, 0.51, 1e-3 * size, draw.uniform(-1, 1)])
        shown = f"{(-1 if negate else 1) * (size + off):.{draw.choice([0, 1, 3, 9])}f}"
        readings.append(displayed_number(line, shown + draw.choice(["", " lbf"]), Refusals()))
        balls.append(ball_of(exact_double(size)))
    quick = judged_quickly(line, POUNDS, readings, balls, BITS)
    passed = 0
    for i, (reading, ball) in enumerate(zip(readings, balls, strict=True)):
        reference = in_unit(enclosure_of(ball), POUNDS, line.unit, line.dimension)
        band, half = line.criterion.band(reference, {}), reading.step / 2
        deviation = reading.number - reference.middle
        side = band.below if deviation < 0 else band.above
        within = abs(deviation) <= max(side.middle, half)
        passed += within
        clear = abs(abs(deviation) - max(side.middle, half)) > fmpq(1, 10**10)
        assert quick.passes[i] == within if clear else quick.passes[i] <= within
    assert 20 < passed < 150


def test_what_is_displayed_and_no_number_is_left():
    line = line_of(CRITERIA[1])
    shown = ["5.0", None, "", "none", "5.0 kN", "5 m", "#####"]
    readings = [displayed_number(line, text, Refusals(texts=("none",))) for text in shown]
    assert [r is not None for r in readings] == [True, False, False, False, True, False, False]
    quick = judged_quickly(line, POUNDS, readings, [ball_of(fmpq(5))] * len(shown), BITS)
    assert quick.passes.tolist() == [True] + [False] * 6


def test_most_of_what_passes_passes_quickly():
    line = line_of(CRITERIA[0])
    draw = random.Random(5)
    sizes = [draw.uniform(1, 1000) for _ in range(200)]
    balls = [ball_of(exact_double(x)) for x in sizes]
    quick = agree(line, POUNDS, [x * (1 + draw.uniform(-0.9e-4, 0.9e-4)) for x in sizes], balls)
    assert np.all(quick.passes)


@pytest.mark.parametrize(
    ("span", "unit"), [("0..360", "deg"), ("-180..180", "deg"), ("0..180", "rad")]
)
def test_angles_are_compared_on_the_circle(span, unit):
    unit = read_unit(unit)
    view = View("resultant", "angle", start="+x", toward="+y", range=span)
    line = line_of({"absolute": f"0.01 {unit.name}"}, unit, ANGLE, view=view)
    draw = random.Random(span)
    whole = 360.0 if unit.name == "deg" else 2 * math.pi
    values, balls = [], []
    for _ in range(200):
        turns = draw.choice([0.0, 0.5, -0.5, 0.25]) + draw.uniform(-3e-3, 3e-3)
        balls.append(ball_of(exact_double(turns)))
        off = draw.choice([0.0099999, 0.01, 0.0100001, 1e-9, -0.01, 0.5])
        values.append(turns * whole + off + draw.choice([-1, 0, 1]) * whole)
    quick = agree(line, POUNDS, values, balls)
    assert 20 < np.count_nonzero(quick.passes) < 180


def test_a_tiny_angle_a_turn_away_is_not_passed_on_noise():
    """The rounding of a whole period is not small beside a reference of 1e-40."""
    view = View("resultant", "angle", start="+x", toward="+y", range="0..360")
    line = line_of({"absolute": "1e-33 deg"}, read_unit("deg"), ANGLE, view=view)
    ball = ball_of(fmpq(1, 10**40))
    assert not judged_quickly(line, POUNDS, [360.0], [ball], BITS).passes[0]


def test_what_is_no_double_or_has_no_reference_is_left():
    line = line_of(CRITERIA[1])
    ball = ball_of(fmpq(5))
    values = [5.0, math.nan, math.inf, {"blank": True}, 5.0, 0.0]
    balls = [ball, ball, ball, ball, None, arb(0)]
    assert judged_quickly(line, POUNDS, values, balls, BITS).passes.tolist() == [
        True, False, False, False, False, False,
    ]  # fmt: skip


@pytest.mark.parametrize("digits", [3, 10, 30])
def test_a_coarse_reference_widens_nothing(digits):
    """Where few digits are proven the width of the reference counts against passing."""
    bits = digits * 3322 // 1000 + 1
    with ctx.workprec(200):
        ball = arb(100, arb(100) * arb(2) ** -bits)
    line = line_of({"absolute": "1 lbf"})
    values = [100 + x / 64 for x in range(-130, 131)]
    quick = judged_quickly(line, POUNDS, values, [ball] * len(values), bits)
    for value, passes in zip(values, quick.passes, strict=True):
        if passes:
            found, _ = full(line, POUNDS, value, ball)
            assert found.decision == "within"


@pytest.mark.parametrize(
    ("table", "fits"),
    [
        ({"significant": 3, "manner": "nearest"}, False),
        ({"rounded_to": "1 lbf", "manner": "cut"}, False),
        ({"fraction": "0.01", "of": "largest force"}, False),
        ({"absolute": "1 lbf", "as_vector": True}, False),
        ({"absolute": "1 lbf"}, True),
    ],
)
def test_only_plain_criteria_are_judged_quickly(table, fits):
    assert suits(line_of(table)) is fits


def test_the_enclosure_is_that_of_the_ball():
    ball = ball_of(fmpq(1, 3))
    assert isinstance(enclosure_of(ball), Enclosure) and ball.rel_accuracy_bits() >= BITS - 3


def test_a_number_completed_by_a_word_or_without_a_criterion_is_not_judged_quickly():
    line = line_of({"absolute": "1 lbf"})
    word = WordReading("which way", {"up": (1,), "down": (-1,)})
    assert suits(line)
    for change in ({"sense": word}, {"quadrant": word}, {"criterion": None}):
        assert not suits(attrs.evolve(line, **change))


def test_some_rows_of_what_was_counted():
    line = line_of({"absolute": "1 lbf"})
    balls = [ball_of(fmpq(n)) for n in (5, 8, 20)]
    whole = judged_quickly(line, POUNDS, [5.25, 11.0, 20.5], balls, BITS)
    some = whole.at([2, 0])
    assert some.passes.tolist() == [True, True] and whole.passes.tolist() == [True, False, True]
    assert some.share.tolist() == pytest.approx([0.5, 0.25])
    assert some.relative.tolist() == pytest.approx([0.025, 0.05])


def test_nothing_is_allowed_where_the_allowance_is_too_small_for_doubles():
    """A part of 1e-200 of a reference of 1e-100: what is left is not taken for a whole unit."""
    line = line_of({"relative": "1e-200"})
    ball = ball_of(exact_double(1e-100))
    assert not judged_quickly(line, POUNDS, [1e-100, 0.5], [ball] * 2, BITS).passes.any()
