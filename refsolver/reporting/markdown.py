"""The report as Markdown: the same facts in the same order, tables by tabulate."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from refsolver.quantities.visible import markdown_line as safe
from refsolver.quantities.visible import visible
from refsolver.reporting import cells, words
from refsolver.reporting.accepted import counted
from refsolver.reporting.arrangement import Arrangement, CaseView, arranged
from refsolver.reporting.spans import BLUNT_SHARES, Spans

__all__ = ["markdown_text"]


def markdown_text(record: Mapping[str, Any]) -> str:
    """The whole report. Raises ReportError where the record's counts do not add up."""
    arrangement = arranged(record)
    parts = (
        _front, _identification, _scope, _mapping, _criteria, _summary, _coverage, _engines,
        _detection, _failing, _accepted, _passing, _outside, _unreached, _proven, _selfcheck,
        _sources, _limits, _sign,
    )  # fmt: skip
    blocks = [block for part in parts for block in part(arrangement)]
    return "\n\n".join(blocks) + "\n"


def _code(value: Any) -> str:
    text = visible(" ".join(str(value).split())).replace("|", "\\|")
    longest = max(map(len, re.findall("`+", text)), default=0)
    fence = "`" * (longest + 1)
    return f"{fence} {text} {fence}" if longest else f"`{text}`"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], right: str = "") -> str:
    """``right`` has an ``r`` for each column that stands to the right."""
    from tabulate import tabulate

    align = ["right" if x == "r" else "left" for x in right.ljust(len(heads))]
    return tabulate(
        list(rows), headers=list(heads), tablefmt="pipe", colalign=align, disable_numparse=True
    )


def _list(sentences: Iterable[str]) -> str:
    return "\n".join(f"- {sentence}" for sentence in sentences)


def _front(a: Arrangement) -> Iterator[str]:
    c, overall = a.content, a.content["overall"]
    name = f"{c['calculator']['name']}, version {c['calculator']['version']}"
    yield f"# {safe(name)}"
    yield "Check of a calculator against proven reference values of engineering statics."
    yield f"**Result: {words.RESULTS[overall['result']]} {overall['result']}**"
    if not overall["complete"]:
        yield f"**INCOMPLETE.** {words.how_far(c['counts']['cases'])}"
    if "short" in c:
        yield f"**Short set only.** {safe(_short(c['short']))}"
    if overall["because"]:
        yield "Because:"
        yield _list(map(safe, overall["because"]))
    yield f"Rule: {safe(overall['rule'])}"
    if a.blunt:
        yield f"How sharp the criteria were: {a.blunt}"
    if a.unshown:
        yield f"What the cells show: {a.unshown}"
    if a.accepted:
        yield f"Accepted deviations: {counted(a.accepted)}."
    note = c["calculator"]["identity"].get("note", "")
    yield safe(a.computed[1] + (f" Note: {note}." if note else ""))
    yield from _changes(a.record["circumstances"].get("changes", {}))
    yield "Cases excluded by name:" + ("" if a.excluded else " none.")
    if a.excluded:
        yield _list(f"{_code(id)}: {safe(reason)}" for _, id, reason in a.excluded)
    yield f"Record {_code(a.id)}, SHA-256 of its content {_code(a.hash)}."


def _short(short: Mapping[str, Any]) -> str:
    return (
        f"{short['cases']} of {short['of']} cases within the scope were put: {short['says']}. "
        f"Left out: {len(short['left_out'])} cases, listed in the record."
    )


def _changes(changes: Mapping[str, Any]) -> Iterator[str]:
    if not changes.get("previous"):
        yield "Changed since the previous record: no previous record, nothing was compared."
    elif not changes["items"]:
        yield f"Changed since record {_code(changes['previous'][:12])}: nothing."
    else:
        yield f"Changed since record {_code(changes['previous'][:12])}:"
        yield _list(map(safe, changes["items"]))


def _identification(a: Arrangement) -> Iterator[str]:
    calculator, suite = a.content["calculator"], a.content["suite"]
    circumstances = a.record["circumstances"]
    yield "## Calculator and suite"
    rows = [
        ("owner", calculator["owner"] or "not stated"),
        ("kind", calculator["kind"]),
        (
            "calculator file",
            f"{calculator['file']['name']}, SHA-256 {calculator['file']['sha256']}",
        ),
        *a.identification,
        ("suite", f"{suite['program']} {suite['version']}, Python {suite['python']}"),
        ("catalogue", f"SHA-256 {suite['catalogue']}"),
        ("libraries", ", ".join(f"{k} {v}" for k, v in suite["libraries"].items())),
        ("digits asked", suite["digits"]),
        ("platform", circumstances["platform"]),
        ("start and end", words.start_and_end(circumstances)),
    ]
    yield _table(("fact", "value"), [(safe(k), safe(v)) for k, v in rows])


def _scope(a: Arrangement) -> Iterator[str]:
    yield "## Scope"
    for section in a.content["scope"]:
        yield f"{_code(section['family'])}:"
        said = [
            f"{safe(x['sentence'])} (reason: {safe(x['reason'])})" for x in section["conditions"]
        ]
        if section["read_at_source"]:
            said.append("only cases read at the source count towards coverage")
        yield _list(said or ["no condition"])


def _mapping(a: Arrangement) -> Iterator[str]:
    yield "## Mapping"
    for section in a.content["mapping"]:
        yield f"{_code(section['family'])}:"
        lines = [*section["inputs"], *section["outputs"]]
        fixed = [f"the calculator takes {k} to be {v}" for k, v in section["fixed"].items()]
        granted = [*fixed, *section.get("assumed", [])]
        yield _list(safe(x) for x in (*(line["sentence"] for line in lines), *granted))


def _criteria(a: Arrangement) -> Iterator[str]:
    kind = a.content["calculator"]["kind"]
    yield "## Acceptance criteria"
    yield _table(
        ("family", "output", "judged", "accepted", "reason"),
        [
            (
                _code(s["family"]), safe(x["output"]), words.judged(kind, x["judged"]),
                safe(x["sentence"]), safe(x["reason"]),
            )
            for s in a.content["criteria"]
            for x in s["outputs"]
        ],
    )  # fmt: skip


def _summary(a: Arrangement) -> Iterator[str]:
    counts = a.content["counts"]
    yield "## Summary"
    rows = [
        (f"{words.VERDICTS[verdict][0]} {verdict}", str(n), words.VERDICTS[verdict][1])
        for verdict, n in a.verdicts
    ]
    yield _table(
        ("verdict", "readings", "meaning"), [*rows, ("**total**", str(counts["total"]), "")], " r"
    )
    asked, outside = (counts["cases"].get(state, 0) for state in ("asked", "not applicable"))
    unreached = counts["cases"].get("not judged", 0)
    yield (
        f"{asked + outside + unreached} cases: {asked} asked, {outside} not applicable"
        + (f", {unreached} not judged." if unreached else ".")
    )
    heads, by_family = a.provenance
    yield "Cases asked, by how their source is known:"
    yield _table(
        ("family", *heads, "all"),
        [(_code(name), *map(str, numbers)) for name, numbers in by_family],
        " " + "r" * (len(heads) + 1),
    )


def _coverage(a: Arrangement) -> Iterator[str]:
    yield "## Coverage"
    for part in a.content["coverage"]:
        yield f"{_code(part['family'])}, cases judged that count: {part['cases']}."
        judged = ", ".join(f"{k}: {n}" for k, n in part["outputs"].items())
        varied = ", ".join(f"{k}: {n}" for k, n in part["inputs"].items())
        yield _list(
            safe(line)
            for line in (
                f"outputs, cases judged: {judged}",
                f"inputs, different values: {varied}",
                f"outputs never judged: {', '.join(part['never_judged']) or 'none'}",
                f"inputs never varied: {', '.join(part['never_varied']) or 'none'}",
                f"formula cells followed: {part['formula_cells']}, never exercised: "
                f"{', '.join(part['never_exercised']) or 'none'}",
            )
        )
        yield from _spans(a.spans[part["family"]])


def _spans(spans: Spans) -> Iterator[str]:
    """Between which values the calculator was tried, and how blunt the criteria were there."""
    if spans.inputs:
        heads = ("input, range tried", "the calculator's words", "from", "to", "unit")
        inputs = [(safe(x.name), safe(x.says), x.least, x.most, safe(x.unit)) for x in spans.inputs]
        yield _table(heads, inputs, "  rr")
    if spans.outputs:
        parts = (f"tolerance beyond {part} of the value" for part in BLUNT_SHARES)
        columns = ("output, range of reference values", "from", "to", "unit", "readings", *parts)
        outputs = [
            (
                safe(x.name), safe(x.least), safe(x.most), safe(x.unit), str(x.readings),
                *(["—"] * len(BLUNT_SHARES) if x.blunt is None else map(str, x.blunt)),
            )
            for x in spans.outputs
        ]  # fmt: skip
        yield _table(columns, outputs, " rr rrr")
        yield words.RANGE


def _engines(a: Arrangement) -> Iterator[str]:
    if "engines" not in a.content:
        return
    engines = a.content["engines"]
    yield "## Two engines"
    yield safe(words.two_engines(engines))
    if engines["differences"]:
        yield _table(
            ("case", "cell", "what", engines["judged"], engines["other"]),
            [
                (
                    _code(d["case"]), _code(d["cell"]), d["what"],
                    _code(words.cell_said(d["judged"])), _code(words.cell_said(d["other"])),
                )
                for d in engines["differences"]
            ],
        )  # fmt: skip
    if engines["not_compared"]:
        yield _list(f"{_code(n['case'])}: {safe(n['why'])}" for n in engines["not_compared"])


def _detection(a: Arrangement) -> Iterator[str]:
    found = a.content.get("detection")
    if not found:
        return
    yield "## Which mistakes this run would have revealed"
    yield from words.DETECTION
    for name, part in found.items():
        yield (
            f"{_code(name)}: {len(part['revealed'])} of {part['known']} known mistakes revealed, "
            f"{len(part['holes'])} not, {len(part['not_made'])} without effect here."
        )
        if part["revealed"]:
            rows = [(safe(m["name"]), safe(m["says"]), str(m["cases"])) for m in part["revealed"]]
            yield _table(("mistake revealed", "what is done", "cases"), rows, "  r")
        if part["holes"]:
            rows = [(safe(m["name"]), safe(m["says"]), safe(m["why"])) for m in part["holes"]]
            yield _table(("mistake NOT revealed", "what is done", "why"), rows)
        if part["not_made"]:
            yield (
                "Not made by any case asked, or without effect on what is judged: "
                f"{safe('; '.join(part['not_made']))}."
            )


def _failing(a: Arrangement) -> Iterator[str]:
    yield "## What does not pass"
    if not a.failing:
        yield words.ALL_PASS if a.passes else words.NOTHING_JUDGED
    diagnosis = a.content.get("diagnosis") or {}
    if diagnosis.get("suggestions"):
        yield "Diagnosis over all cases (suggestion, not a result):"
        yield _list(map(safe, diagnosis["suggestions"]))
    for case in a.failing:
        yield from _case(a, case, diagnosis.get("cases", {}).get(case.id, ()))


def _accepted(a: Arrangement) -> Iterator[str]:
    if not a.accepted:
        return
    yield "## Accepted deviations"
    yield f"{counted(a.accepted)}. {words.ACCEPTED}"
    for each in a.accepted:
        entry = each.entry
        yield f"**{each.state}**: {safe(entry['sentence'])}. Reason: {safe(entry['reason'])}."
        yield safe(each.words) + "."
        if entry["readings"]:
            yield _list(
                f"{_code(r['case'])}: {safe(r['output'])} ({r['judged']}), reported "
                f"{safe(r['reported'])}"
                for r in entry["readings"]
            )


def _case(a: Arrangement, case: CaseView, diagnosis: Sequence[str]) -> Iterator[str]:
    data, works = case.data, a.content["sources"]
    yield f"### {safe(data['title'])}"
    yield f"{_code(case.id)} ({', '.join(case.verdicts)})"
    yield safe(data["statement"])
    yield f"Source: {safe(_source(data['source'], works))}"
    if data["failure"]:
        yield f"No usable answer: {safe(', '.join(data['failure'].values()))}"
    yield _readings(a, case)
    yield _table(
        ("place", "the calculator's words", "case", "used", "unit"),
        [
            (
                _code(x["place"]),
                *(safe(x[k]) for k in ("says", "case_value", "handed_value", "unit")),
            )
            for x in data["handed"]
        ],
        "  rr",
    )
    for sheet in data.get("working", ()):
        yield f"Working: {safe(sheet['title'])}. {safe(sheet['note'])}".rstrip(" .") + "."
        rows = [[safe(value) for value in row] for row in sheet["rows"]]
        yield _table(("", *map(safe, sheet["columns"])), rows, " " + "r" * len(sheet["columns"]))
    if diagnosis:
        yield "Diagnosis (suggestion, not a result):"
        yield _list(map(safe, diagnosis))


def _source(source: Mapping[str, Any], works: Mapping[str, Any]) -> str:
    if not source["work"]:
        return f"{source['kind']}: {source['by']}"
    work = works.get(source["work"], {}).get("citation", source["work"])
    said = ", ".join(x for x in (work, source["place"]) if x)
    return said if source["read"] == "read" else f"{said} ({source['read'].upper()})"


def _readings(a: Arrangement, case: CaseView) -> str:
    heads = (
        "output", "verdict", "reported", "reference", "proven digits", "unit", "deviation",
        "tolerance", "share", "digits agreeing", "condition", "digits lost", "why",
    )  # fmt: skip
    rows = []
    for reading in case.readings:
        f = reading.finding
        accepted = a.acceptance(case.id, f)
        why = "; ".join(x for x in (f["why"], accepted.mark if accepted else "") if x)
        rows.append(
            (
                cells.output(f), f"{words.VERDICTS[f['verdict']][0]} {f['verdict']}",
                cells.reported(f), cells.reference(f),
                f["reference"]["digits"] if f["reference"] else "", f["unit"],
                cells.deviation(f), cells.tolerance(f), cells.share(f), cells.agreeing(f),
                cells.condition(f), cells.lost(f), why,
            )
        )  # fmt: skip
    return _table(heads, [[safe(x) for x in row] for row in rows], "  rrr rrrrrr")


def _passing(a: Arrangement) -> Iterator[str]:
    yield "## What passes"
    yield words.CONDITION
    heads = (
        "case",
        "output",
        "reported",
        "reference",
        "unit",
        "deviation",
        "share",
        "digits agreeing",
        "condition",
        "digits lost",
    )
    for family, found in a.passes:
        yield f"{_code(family)}, readings that pass: {len(found)}."
        rows = [
            (
                _code(r.case.removeprefix(f"{family}/")),
                *(
                    safe(x)
                    for x in (
                        cells.output(r.finding), cells.reported(r.finding),
                        cells.reference(r.finding),
                        r.finding["unit"], cells.deviation(r.finding), cells.share(r.finding),
                        cells.agreeing(r.finding), cells.condition(r.finding),
                        cells.lost(r.finding),
                    )
                ),
            )
            for r in found
        ]  # fmt: skip
        yield _table(heads, rows, "  rr rrrrr")
    if not a.passes:
        yield "Nothing passes."


def _outside(a: Arrangement) -> Iterator[str]:
    yield "## Not applicable"
    if a.outside:
        rows = [(_code(case.id), safe(case.data["condition"])) for case in a.outside]
        yield _table(("case not asked", "condition"), rows)
    if a.unjudged:
        rows = [
            (_code(r.case), f"{safe(r.finding['output'])}: {safe(r.finding['why'])}")
            for r in a.unjudged
        ]
        yield _table(("case", "reading not applicable"), rows)
    if not a.outside and not a.unjudged:
        yield "Nothing."


def _unreached(a: Arrangement) -> Iterator[str]:
    if a.unreached:
        yield "## Not judged"
        yield f"{len(a.unreached)} cases: {words.STOPPED}."
        yield _list(_code(case.id) for case in a.unreached)


def _proven(a: Arrangement) -> Iterator[str]:
    yield '## What "proven" means'
    yield from words.PROVEN
    yield _table(
        ("family", "method", "second method"),
        [(_code(name), safe(x["method"]), safe(x["second_method"])) for name, x in a.families],
    )


def _selfcheck(a: Arrangement) -> Iterator[str]:
    s = a.content["selfcheck"]
    yield "## Self-check"
    yield (
        f"{s['values']} published answers of the cases used: {s['agree']} agree, {s['explained']} "
        f"differ for a stated reason, {s['disagree']} disagree, {s['not proven']} are not proven."
    )
    if s["differences"]:
        keys = ("answer", "printed", "why")
        rows = [(_code(d["case"]), *(safe(d[k]) for k in keys)) for d in s["differences"]]
        yield _table(("case", *keys), rows)


def _sources(a: Arrangement) -> Iterator[str]:
    yield "## Sources"
    works = a.content["sources"].values()
    said = [
        f"{safe(w['citation'])} ({safe(w['kind'])}; {words.READ[w['read']]}"
        f"{': ' + safe(w['read_from']) if w['read_from'] else ''})"
        for w in works
    ]
    yield _list(said or ["no published work is cited by the cases used"])


def _limits(a: Arrangement) -> Iterator[str]:
    yield "## What this report does not show; cautions and limits"
    yield _list(words.NOT_SHOWN)
    cautions = [f"{x['title']}: {x['caution']}" for _, x in a.families if x["caution"]]
    yield _list((*words.LIMITS, *map(safe, cautions)))


def _sign(a: Arrangement) -> Iterator[str]:
    yield "## For people to fill in"
    yield _table(("", ""), [(name, "&nbsp;") for name in words.BLANKS])
    yield _table(
        ("", "name and position", "signature", "date"),
        [(name, "&nbsp;", "&nbsp;", "&nbsp;") for name in words.SIGNATURES],
    )
