"""The HTML report as text: structure, self-containment, and nothing slipping through as markup."""

from __future__ import annotations

import re
from collections import Counter
from html.parser import HTMLParser

import pytest

from refsolver.reporting import words
from refsolver.reporting.arrangement import readings
from refsolver.reporting.html import html_text

HOSTILE = "</title></style><script>alert('x')</script> \\ \" & é"


class Page(HTMLParser):
    """Tags with attributes, and the text outside style and script."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.silent = [], [], 0
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self.silent += tag in ("style", "script")

    def handle_endtag(self, tag):
        self.silent -= tag in ("style", "script")

    def handle_data(self, data):
        if not self.silent:
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())

    def all(self, *names):
        return [attributes for tag, attributes in self.tags if tag in names]


@pytest.fixture
def page(record):
    return Page(html_text(record))


def test_one_file_that_needs_nothing_else(record):
    text = html_text(record)
    page = Page(text)
    assert not page.all("link", "img", "iframe", "object", "embed", "base")
    for attributes in page.all("script", "a", "use"):
        assert "src" not in attributes
        assert attributes.get("href", "#").startswith("#")
    assert not re.search(r"@import|url\(|https?://(?!www\.w3\.org/2000/svg)", text)


def test_headings_descend_one_level_at_a_time_below_one_h1(page):
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in zip(levels, levels[1:], strict=False))


def test_ids_are_unique_and_every_reference_to_one_holds(page):
    ids = Counter(a["id"] for _, a in page.tags if "id" in a)
    assert max(ids.values()) == 1
    wanted = {a["href"][1:] for a in page.all("a")}
    for _, attributes in page.tags:
        wanted |= set((attributes.get("aria-labelledby") or "").split())
    assert wanted <= set(ids)


def test_landmarks_table_heads_and_captions(page):
    for name in ("main", "nav", "header", "footer"):
        assert page.all(name)
    assert all(a.get("scope") in ("col", "row", "rowgroup") for a in page.all("th"))
    assert len(page.all("caption")) == len(page.all("table"))
    for attributes in page.all("svg"):
        assert attributes["role"] == "img"
        assert attributes["aria-labelledby"]


def test_page_one_facts_come_before_everything_else(record):
    text = Page(html_text(record)).text
    front = text[: text.index("Calculator and suite")]
    overall = record["content"]["overall"]
    for said in (
        "not met", overall["rule"], *overall["because"], record["identity"]["content"],
        "The user's own function was called by this suite", "nothing was compared",
        "rope-on-a-crane", "a crane hook is outside the desk's purpose",
    ):  # fmt: skip
        assert said in front, said


def test_changes_since_the_previous_record_stand_on_page_one(record):
    record["circumstances"]["changes"] = {
        "previous": "ab" * 32,
        "items": ["acceptance criteria: new: within 5 % (wish)"],
    }
    text = Page(html_text(record)).text
    assert text.index("within 5 % (wish)") < text.index("Calculator and suite")


def test_everything_a_reviewer_asks_for_is_said(record):
    content, text = record["content"], Page(html_text(record)).text
    wanted = [
        *words.PROVEN, *words.NOT_SHOWN, *words.LIMITS, *words.BLANKS, *words.SIGNATURES,
        content["suite"]["catalogue"], content["calculator"]["file"]["sha256"],
        *(work["citation"] for work in content["sources"].values()),
        *(family["second_method"] for family in content["families"].values()),
        *(line["says"] for s in content["mapping"] for line in s["inputs"] + s["outputs"]),
        *(line["sentence"] for s in content["criteria"] for line in s["outputs"]),
        *(line["reason"] for s in content["criteria"] for line in s["outputs"]),
    ]  # fmt: skip
    for said in wanted:
        assert " ".join(said.split()) in text, said
    for key, case in content["cases"].items():
        assert key.removeprefix(case["family"] + "/") in text.replace("/ ", "/")


def test_every_reading_that_does_not_pass_shows_value_reference_and_digits(record):
    text = Page(html_text(record)).text
    for reading in readings(record):
        finding = reading.finding
        if reading.verdict == "fail":
            assert finding["reported"] in text
            assert finding["reference"]["shown"] in text


def test_the_plot_shows_what_was_judged_and_says_what_it_leaves_out(record):
    """A zero resultant's direction deviates wildly from nothing: it is no failure."""
    found = [r.finding for r in readings(record)]
    judged = [f for f in found if f["tolerance"] and f["verdict"] != "not applicable"]
    failing = sum(f["verdict"] == "fail" for f in judged)
    said = f"Shown: {len(judged)}, not passed: {failing};"
    text = Page(html_text(record)).text
    assert said in text
    assert f"no tolerance): {len(found) - len(judged)}." in text


def test_a_diagnosis_is_marked_as_a_suggestion(record):
    case = next(r.case for r in readings(record) if r.verdict == "fail")
    said = "the angle looks as if it came from a quadrant too early"
    record["content"]["diagnosis"] = {"suggestions": [said], "cases": {case: [said]}}
    text = Page(html_text(record)).text
    assert text.count(said) == 2
    assert text.count("suggestion, not a result") == 2


def test_hostile_words_stay_words(record):
    content = record["content"]
    content["calculator"]["name"] = HOSTILE
    content["overall"]["because"].append(HOSTILE)
    for reading in readings(record):
        reading.finding["reported"] = HOSTILE
    for case in content["cases"].values():
        case["title"] = HOSTILE
        if case.get("drawing"):
            case["drawing"]["caption"] = HOSTILE
            case["drawing"]["parts"][0]["label"] = HOSTILE
    text = html_text(record)
    assert len(Page(text).all("script")) == 1
    assert "<script>alert" not in text


def test_the_same_record_gives_the_same_bytes(record):
    assert html_text(record) == html_text(record)
