"""Figures: to scale, whole, and readable by those who cannot see them."""

from __future__ import annotations

import math
import random
import re
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.figures.frame import fitted, flat
from refsolver.figures.parts import PARTS, STYLES
from refsolver.figures.supports import SUPPORTS
from refsolver.figures.svg import described, svg
from refsolver.records.drawings import drawing_data
from refsolver.statics import drawing as primitives
from refsolver.statics.drawing import (
    Arc,
    Arrow,
    Curve,
    Dimension,
    Drawing,
    Mark,
    Pin,
    Region,
    Stroke,
    Turning,
)  # fmt: skip
from refsolver.statics.registry import families

NS = "{http://www.w3.org/2000/svg}"


def tree(*parts, space=2, caption="a test", **extra):
    data = {**drawing_data(Drawing(parts, caption, space)), **extra}
    return ElementTree.fromstring(svg(data))


def texts(root):
    return [text.text for text in root.iter(f"{NS}text")]


def path(element):
    numbers = [float(x) for x in re.findall(r"-?[\d.]+", element.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def shafts(root, role):
    """Tail and tip of every arrow of a role: the shaft's tail, and the point of its head."""
    colour, found = STYLES[role].colour, []
    lines = [p for p in root.iter(f"{NS}path") if p.get("stroke") == colour]
    heads = [path(p)[0] for p in root.iter(f"{NS}path") if p.get("fill") == colour]
    for line, tip in zip(lines, heads, strict=True):
        found.append((path(line)[0], tip))
    return found


def test_forces_are_drawn_at_one_scale_and_in_their_directions():
    root = tree(Arrow((0, 0), (30, 40)), Arrow((2, 0), (-10, 0)))
    [(tail, tip), (other_tail, other_tip)] = shafts(root, "given")
    long, short = math.dist(tail, tip), math.dist(other_tail, other_tip)
    assert long / short == pytest.approx(5, rel=0.01)
    assert (tip[0] - tail[0]) / long == pytest.approx(0.6, abs=0.01)
    assert (tail[1] - tip[1]) / long == pytest.approx(0.8, abs=0.01)


def test_a_pushing_force_ends_at_its_point_and_a_pulling_one_begins_there():
    for pushes in (True, False):
        root = tree(Mark((0, 0)), Mark((1, 0)), Arrow((0, 0), (0, -5), pushes=pushes))
        [(tail, tip)] = shafts(root, "given")
        assert tip[1] > tail[1]
        at = [float(c.get("cx")) for c in root.iter(f"{NS}circle")][0]
        level = [float(c.get("cy")) for c in root.iter(f"{NS}circle")][0]
        assert (tip if pushes else tail) == pytest.approx((at, level), abs=0.2)


@pytest.mark.parametrize("size", [0.003, 7.0, 450.0, 2.5e9])
def test_the_scale_bar_measures_the_forces(size):
    root = tree(Arrow((0, 0), (size, 0), "F"), units={"force": "lbf"})
    [(tail, tip)] = shafts(root, "given")
    said = next(text for text in texts(root) if text.endswith(" lbf"))
    amount = float(said.removesuffix(" lbf"))
    bar = max(path(p) for p in root.iter(f"{NS}path") if len(path(p)) == 4)
    assert (bar[2][0] - bar[1][0]) / math.dist(tail, tip) == pytest.approx(amount / size, rel=0.02)


def test_the_projection_of_space():
    """Cabinet projection: the receding axis at one half, the others at full length
    (ISO 5456-3, from memory; the angle of the receding axis here is our choice)."""
    assert math.hypot(*flat((1, 0, 0))) == pytest.approx(0.5)
    assert flat((0, 1, 0)) == (1, 0)
    assert flat((0, 0, 1)) == (0, 1)
    assert flat((1, 0, 0))[0] < 0 > flat((1, 0, 0))[1]


@given(st.lists(st.tuples(*[st.floats(-9, 9)] * 3), min_size=3, max_size=3))
def test_parallels_stay_parallel_and_middles_stay_middles(points):
    a, b, shift = points
    moved = [tuple(p + s for p, s in zip(point, shift, strict=True)) for point in (a, b)]
    first = [q - p for p, q in zip(flat(a), flat(b), strict=True)]
    second = [q - p for p, q in zip(flat(moved[0]), flat(moved[1]), strict=True)]
    assert first == pytest.approx(second, abs=1e-9)
    middle = flat(tuple((p + q) / 2 for p, q in zip(a, b, strict=True)))
    assert middle == pytest.approx(
        tuple((p + q) / 2 for p, q in zip(flat(a), flat(b), strict=True)), abs=1e-9
    )


def test_a_short_force_on_a_longer_ones_line_is_drawn_on_top():
    root = tree(Arrow((0, 0), (5, 0), "short"), Arrow((0, 0), (20, 0), "long"))
    sizes = [math.dist(*shaft) for shaft in shafts(root, "given")]
    assert sizes == sorted(sizes, reverse=True)


def test_zero_and_tiny_forces_are_said_not_left_out():
    root = tree(Arrow((0, 0), (0, 0), "A"), Arrow((0, 0), (1e-6, 0), "B"), Arrow((0, 0), (9, 0)))
    assert {"A (zero)", "B (tiny)"} <= set(texts(root))


def test_title_and_description_stand_for_the_figure():
    root = tree(
        Arrow((0, 0), (3, 4), "F"), Turning((1, 0), -2.5, "M", "answer"), Pin((1, 0), "roller"),
        caption="a beam & its load",
    )  # fmt: skip
    title, desc = root.find(f"{NS}title"), root.find(f"{NS}desc")
    assert title.text == "a beam & its load"
    assert root.get("aria-labelledby").split() == [title.get("id"), desc.get("id")]
    assert desc.text == (
        "force F (3, 4) at (0, 0); couple M (answer) -2.5 at (1, 0); roller support at (1, 0)"
    )


def test_every_primitive_is_drawn_in_plane_and_space():
    plane = (
        Arrow((0, 0), (1, 1), "a"), Turning((1, 0), 3.0, "b"), Stroke((0, 0), (1, 0), "c"),
        Curve(((0, 0), (1, 1), (2, 0)), "d"), Region(((0, 0), (1, 0), (1, 1)), "e"),
        Region(((0, 0), (1, 0), (1, 1)), "f", True), Mark((0, 1), "g"), Arc((0, 0), 30, 90, "h"),
        Dimension((0, 0), (1, 0), "i"), *(Pin((1, 0), kind, 30, kind) for kind in SUPPORTS),
    )  # fmt: skip
    assert {type(part).__name__ for part in plane} == set(PARTS)
    assert set("abcdefghi") | set(SUPPORTS) <= set(texts(tree(*plane)))
    space = (
        Arrow((0, 0, 0), (1, 1, 1), "a"), Turning((1, 0, 0), (3, 0, 1), "b"),
        Stroke((0, 0, 0), (1, 0, 2), "c"), Arc((0, 0, 0), 0, 90, "h"), Mark((1, 1, 1), "g"),
    )  # fmt: skip
    root = tree(*space, space=3)
    assert set("abcghxyz") <= set(texts(root))


def test_every_primitive_of_the_contract_has_a_drawer():
    assert set(PARTS) == {cls.__name__ for cls in primitives.Primitive.__args__}


def test_an_unknown_primitive_is_named():
    with pytest.raises(ValueError, match="no way to draw Cloud; known: Region"):
        svg({"caption": "", "space": 2, "parts": [{"is": "Cloud"}]})


def test_names_are_escaped():
    root = tree(Arrow((0, 0), (1, 0), "<F&>"))
    assert "<F&>" in texts(root)


def boxes(root):
    """Where each label may reach, by the width the labels room reckons with."""
    found = []
    for text in root.iter(f"{NS}text"):
        if text.get("font-size") == "11.5":
            x, y, half = float(text.get("x")), float(text.get("y")), len(text.text) * 3.5
            found.append((x - half, y - 9, x + half, y + 2))
    return found


@pytest.mark.parametrize("count", [3, 6, 9])
def test_labels_of_a_fan_of_forces_do_not_overlap(count):
    rng = random.Random(count)
    arrows = [
        Arrow((0, 0), (s * math.cos(a), s * math.sin(a)), f"force {k}")
        for k in range(count)
        for s, a in [(rng.uniform(200, 900), 2 * math.pi * k / count + rng.uniform(0, 0.3))]
    ]
    found = boxes(tree(*arrows))
    assert len(found) == count
    for i, a in enumerate(found):
        for b in found[:i]:
            assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


@given(
    st.lists(
        st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6), st.floats(-50, 50)),
        min_size=1, max_size=6,
    )
)  # fmt: skip
@example([(0.0, 1.1125369292536007e-308, 0.0)])
def test_everything_lies_within_the_view_and_the_width(numbers):
    arrows = [Arrow((c, -c), (a, b), "F") for a, b, c in numbers]
    root = tree(*arrows)
    left, top, wide, high = (float(x) for x in root.get("viewBox").split())
    assert 0 < wide < 420 + 2 * len("F (zero)") * 7 and 0 < high < 420
    for shape in root.iter(f"{NS}path"):
        for x, y in path(shape):
            assert left - 1 <= x <= left + wide + 1
            assert top - 1 <= y <= top + high + 1


def test_a_body_and_its_forces_share_the_paper():
    parts = drawing_data(Drawing((Stroke((0, 0), (8, 0)), Arrow((8, 0), (0, -3e5), "P")), ""))
    frame = fitted(parts["parts"], 2, 300)
    assert 8 * frame.length <= 300.001
    assert abs(frame.arrow((0, -3e5))[1]) == pytest.approx(0.4 * 8 * frame.length)


@pytest.mark.parametrize("name", sorted(families()))
def test_every_family_has_a_figure(name):
    owner, ar = families()[name], DoubleArithmetic({})
    given = owner.propose((1, 100), random.Random(f"figure of {name}"))
    solution = owner.solve(given, ar, owner.rule_set())
    data = drawing_data(owner.figure(given, solution.answers, ar))
    root = ElementTree.fromstring(svg(data))
    assert root.find(f"{NS}desc").text == described(data) != ""
    assert len(svg(data)) < 20_000
