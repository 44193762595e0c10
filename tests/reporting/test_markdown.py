"""The report as Markdown: whole tables, nothing of the calculator taken for markup."""

from __future__ import annotations

import re

from refsolver.reporting import words
from refsolver.reporting.arrangement import readings
from refsolver.reporting.markdown import markdown_text


def tables(text):
    """Each pipe table as a list of rows of cells; an escaped bar is no border."""
    found, rows = [], []
    for line in [*text.splitlines(), ""]:
        if line.startswith("|"):
            rows.append([x.strip() for x in re.split(r"(?<!\\)\|", line)[1:-1]])
        elif rows:
            found.append(rows)
            rows = []
    return found


def test_every_table_is_rectangular(record):
    found = tables(markdown_text(record))
    assert len(found) > 20
    for table in found:
        assert len({len(row) for row in table}) == 1


def test_the_counts_stand_in_the_summary_and_add_up(record):
    summary = next(t for t in tables(markdown_text(record)) if t[0][0] == "verdict")
    counted = {row[0].split(" ", 1)[-1]: int(row[1]) for row in summary[2:]}
    total = counted.pop("**total**")
    assert total == sum(counted.values()) == record["content"]["counts"]["total"]
    assert counted == record["content"]["counts"]["readings"]


def test_failures_stand_before_passes_and_every_case_has_its_heading(record):
    text = markdown_text(record)
    assert text.index("## What does not pass") < text.index("## What passes")
    for reading in readings(record):
        if reading.verdict == "fail":
            assert f"`{reading.case}`" in text


def test_fixed_sentences_are_there(record):
    text = markdown_text(record)
    for sentence in (*words.PROVEN, *words.NOT_SHOWN, *words.LIMITS):
        assert sentence in text
    assert record["identity"]["content"] in text


def test_markup_in_names_and_values_is_escaped(record):
    record["content"]["calculator"]["name"] = "a|b *c* <script> [x](y)"
    first = next(r for r in readings(record) if r.verdict == "fail")
    first.finding["reported"] = "1|2\n3 `x`"
    text = markdown_text(record)
    assert r"a\|b \*c\* \<script\> \[x\](y)" in text
    assert r"1\|2 3 \`x\`" in text
    for table in tables(text):
        assert len({len(row) for row in table}) == 1
