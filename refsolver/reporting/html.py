"""The report to sign: one self-contained HTML file, a view of the record.

The templates lie in ``templates/``; style and script are written into the file, so that it
needs no network and no second file. It reads without JavaScript; with it the findings can
be filtered and sorted. On paper everything is shown whatever the filter says, and each
page bears the record's id and hash and "page n of m" (page margin boxes; a browser without
them prints the title, which bears the id, in its own header).
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import jinja2
from markupsafe import Markup

from refsolver.figures.shares import Row, Share, lost_svg, shares_svg
from refsolver.figures.svg import svg
from refsolver.quantities.visible import visible
from refsolver.reporting import cells, words
from refsolver.reporting.accepted import counted
from refsolver.reporting.arrangement import Arrangement, ReportError, arranged
from refsolver.reporting.spans import BLUNT_SHARES

__all__ = ["html_text"]


def html_text(record: Mapping[str, Any]) -> str:
    """The whole report. Raises ReportError where the record's counts do not add up."""
    arrangement = arranged(record)
    environment = _environment()
    script = Markup(environment.get_template("report.js").render())
    try:
        return environment.get_template("report.html.j2").render(
            a=arrangement,
            script=script,
            policy=_policy(script),
            c=arrangement.content,
            record=record,
            words=words,
            cell=cells,
            plot=_plot(arrangement),
            lost=_lost(arrangement),
            blunt=BLUNT_SHARES,
            accepted_counted=counted(arrangement.accepted),
        )
    except jinja2.UndefinedError as error:
        raise ReportError(f"the record lacks what a report shows: {error}") from None


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("refsolver.reporting"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_seen,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "breakable": _breakable,
        "css_string": _css_string,
        "figure": _figure,
        "key": _key,
    }
    return environment


def _seen(value: Any) -> Any:
    """What an expression of a template comes to; markup of our own stays as it is."""
    return visible(value) if type(value) is str else value


def _policy(script: str) -> str:
    """What the page may do: show its own style, run this very script, and nothing else."""
    known = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    return (
        f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{known}'; "
        "base-uri 'none'; form-action 'none'"
    )


def _breakable(text: str) -> Markup:
    """A path or a hash that may break after a slash, a bracket, ! or a colon."""
    return Markup(re.sub(r"([/\]!:])", r"\1<wbr>", str(Markup.escape(visible(text)))))


def _css_string(text: str) -> Markup:
    """A CSS string that says ``text``; everything unusual is written as its code."""
    return Markup(
        '"'
        + "".join(
            char if char.isascii() and (char.isalnum() or char in " .-,") else f"\\{ord(char):x} "
            for char in visible(text)
        )
        + '"'
    )


def _key(text: str) -> str:
    """A name for an id or a class: letters, digits and hyphens."""
    return re.sub(r"[^0-9A-Za-z]+", "-", text).strip("-")


def _figure(drawing: Mapping[str, Any], name: str) -> Markup:
    return Markup(svg(drawing, width=400, name=name))


def _plot(arrangement: Arrangement) -> dict[str, Any]:
    """The plot of shares with the numbers its caption states."""
    rows, left_out = [], 0
    for section in arrangement.content["criteria"]:
        for output in dict.fromkeys(item["output"] for item in section["outputs"]):
            shares, missing = _shares(arrangement, section["family"], output)
            left_out += missing
            if shares:
                rows.append(Row(f"{section['family']}: {output}", shares))
    shown = sum(len(row.shares) for row in rows)
    outside = sum(not share.passes for row in rows for share in row.shares)
    title = "Deviation of every reading as a share of its tolerance"
    says = f"{shown} readings in {len(rows)} rows; {shown - outside} within, {outside} not passed"
    return {
        "svg": Markup(shares_svg(rows, name="shares", title=title, says=says)) if rows else "",
        "shown": shown,
        "outside": outside,
        "left_out": left_out,
    }


def _lost(arrangement: Arrangement) -> dict[str, Any]:
    """The plot of digits lost, a row a family; empty where no reading is a double."""
    by_family: dict[str, list[Share]] = {}
    for id in arrangement.content["order"]:
        data = arrangement.content["cases"][id]
        for finding in data.get("findings", ()):
            if finding["digits_lost"] is not None:
                share = Share(finding["digits_lost"], finding["verdict"] == "pass")
                by_family.setdefault(data["family"], []).append(share)
    rows = [Row(name, shares) for name, shares in by_family.items()]
    shown = sum(len(row.shares) for row in rows)
    title = "Digits lost by every reading that is a double"
    says = f"{shown} readings in {len(rows)} families"
    return {
        "svg": Markup(lost_svg(rows, name="lost", title=title, says=says)) if rows else "",
        "shown": shown,
    }


def _shares(arrangement: Arrangement, family: str, output: str) -> tuple[Sequence[Share], int]:
    """The shares of one output, and how many readings of it have none."""
    shares, missing = [], 0
    for id in arrangement.content["order"]:
        data = arrangement.content["cases"][id]
        for finding in data.get("findings", ()) if data["family"] == family else ():
            if output not in (finding["line"], finding["output"]):
                continue
            tolerance = finding["tolerance"]
            unjudged = finding["verdict"] == "not applicable"
            if unjudged or tolerance is None or tolerance["share"] is None:
                missing += 1
            else:
                shares.append(Share(tolerance["share"], finding["verdict"] == "pass"))
    return shares, missing
