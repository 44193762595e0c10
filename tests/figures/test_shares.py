"""The plot of shares: a mark for every reading, on the right side of the limit."""

from __future__ import annotations

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from refsolver.figures.shares import Row, Share, lost_svg, shares_svg

NS = "{http://www.w3.org/2000/svg}"


def drawn(rows):
    root = ElementTree.fromstring(shares_svg(rows, title="shares", says="all of them"))
    limit = next(p for p in root.iter(f"{NS}path") if p.get("stroke-dasharray"))
    return root, float(limit.get("d").split()[0][1:])


@given(st.lists(st.floats(0, 1e12), min_size=1, max_size=40))
def test_marks_stand_on_their_side_of_the_limit(sizes):
    shares = [Share(size, size <= 1) for size in sizes]
    root, limit = drawn([Row("output", shares)])
    rings = [float(c.get("cx")) for c in root.iter(f"{NS}circle")]
    crosses = [p for p in root.iter(f"{NS}path") if p.get("stroke") == "#a11d21"]
    assert all(x < limit for x in rings)
    assert all(float(p.get("d").split()[0][1:]) >= limit for p in crosses)
    assert bool(rings) == any(s.passes for s in shares)
    assert bool(crosses) == any(not s.passes for s in shares)


def test_equal_shares_are_stacked_not_hidden():
    root, _ = drawn([Row("output", [Share(0.01, True)] * 5)])
    assert len({c.get("cy") for c in root.iter(f"{NS}circle")}) == 5


def test_thousands_of_readings_stay_a_small_figure():
    text = shares_svg(
        [Row("output", [Share(10.0 ** (-(k % 90) / 10), True) for k in range(20_000)])],
        title="shares", says="many",
    )  # fmt: skip
    assert len(text) < 200_000
    assert float(ElementTree.fromstring(text).get("height")) < 200


def test_title_description_and_labels_are_text():
    root, _ = drawn([Row("a & b", [Share(0.5, True)])])
    assert root.find(f"{NS}title").text == "shares"
    assert root.find(f"{NS}desc").text == "all of them"
    assert "a & b" in [text.text for text in root.iter(f"{NS}text")]


def test_digits_lost_stand_on_a_linear_axis():
    rows = [Row("beams", [Share(0.2, True), Share(13.7, False)]), Row("trusses", [Share(0, True)])]
    root = ElementTree.fromstring(lost_svg(rows, title="lost", says="three"))
    texts = [element.text for element in root.iter() if element.text]
    assert [t for t in texts if t.isdigit()] == [str(n) for n in range(15)]
    assert "double precision" in texts and "beams" in texts and "trusses" in texts
    rings = [e for e in root.iter() if e.tag.endswith("circle")]
    assert len(rings) == 2
