"""The commands themselves, as click groups; see :mod:`refsolver.cli`."""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from refsolver.cli import UNUSABLE
from refsolver.quantities.visible import visible

if TYPE_CHECKING:
    from refsolver.runs.checking import CheckResult

__all__ = ["commands"]

_FORMAT = click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="What to print."
)
_PATH = click.Path(path_type=Path, readable=False)
"""Whether a file can be read is said by its reader, which also says what to do."""
_DIGITS = click.option(
    "--digits", type=click.IntRange(5, 1000), default=30, show_default=True,
    help="Proven significant digits.",
)  # fmt: skip


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="refsolver", message="refsolver %(version)s")
def commands() -> None:
    """Proven reference values for engineering statics, put to a calculator under test."""


def _say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Prints; whatever a case, a calculator or a record holds, no terminal obeys it."""
    click.echo(visible(text), err=err, nl=nl)


def _table(rows: Iterable[Iterable[Any]], heads: list[str]) -> str:
    from tabulate import tabulate

    return tabulate(list(rows), headers=heads, disable_numparse=True, tablefmt="simple")


def _progress(items: Iterable[Any], total: int, done: int = 0) -> Iterator[Any]:
    """The items, with a progress bar and the time left on stderr where that is a terminal.

    ``done`` of the ``total`` were there before.
    """
    if not sys.stderr.isatty():
        yield from items
        return
    import shutil

    from tqdm import tqdm

    tqdm.monitor_interval = 0  # a thread, beside which no worker could be forked
    yield from tqdm(
        items, total=total, initial=done, leave=False, file=sys.stderr, unit="case",
        ncols=shutil.get_terminal_size().columns, mininterval=0.2, miniters=1,
    )  # fmt: skip


@commands.command()
@click.argument("calculators", nargs=-1, type=_PATH)
@click.option(
    "--demo", is_flag=True, help="Check the made-up calculators that come along (exit status 0)."
)
@click.option("--out", type=_PATH, help="Folder for record and reports.")
@click.option("--trial", metavar="CASE", help="Put one case and show what is sent and received.")
@click.option(
    "--exchange",
    metavar="FOLDER",
    type=_PATH,
    help="Write filled copies for the program of use; run again to read them back.",
)
@click.option(
    "--cases",
    "count",
    type=click.IntRange(1, 500),
    default=12,
    show_default=True,
    help="With --exchange: how many cases, those that reveal most first.",
)
@click.option(
    "--short", is_flag=True, help="Put only the few cases that reveal what all of them would."
)
@click.option("--pdf", is_flag=True, help="Also write the report as PDF.")
@click.option(
    "--resume", is_flag=True, help="Go on with a run that was cut short; ask nothing twice."
)
@_DIGITS
@_FORMAT
def check(
    calculators: tuple[Path, ...],
    demo: bool,
    out: Path | None,
    trial: str | None,
    exchange: Path | None,
    count: int,
    short: bool,
    pdf: bool,
    resume: bool,
    digits: int,
    form: str,
) -> int:
    """Put the catalogue to calculators; write records and reports, several side by side."""
    from refsolver.runs.checking import demo_files
    from refsolver.runs.trial import trial_text

    if demo == bool(calculators):
        raise click.UsageError("give calculator files, or --demo for the ones that come along")
    files = demo_files() if demo else list(calculators)
    if len(files) > 1 and (trial is not None or exchange is not None):
        raise click.UsageError(
            "--trial and --exchange take one calculator file at a time; name one"
        )
    if short and (trial is not None or exchange is not None):
        raise click.UsageError("--short is for a run by itself; leave out --trial and --exchange")
    if trial is not None:
        _say(trial_text(files[0], trial))
        return 0
    if exchange is not None and not exchange.exists():
        from refsolver.runs.exchanging import write_exchange

        _say(write_exchange(files[0], exchange, count))
        return 0
    results = _checked(files, out, exchange, short, pdf, resume, digits, form)
    if results is None:
        return 1
    if len(files) > 1:
        from refsolver.runs.several import write_side_by_side

        compared = write_side_by_side(results, out)
        if form == "text":
            _say(f"side by side: {compared}")
    if form == "json":
        summaries = [result.summary() for result in results]
        _say(json.dumps(summaries if len(files) > 1 else summaries[0], indent=2))
    return 0 if demo or all(result.result == "met" for result in results) else 1


def _checked(
    files: list[Path],
    out: Path | None,
    exchange: Path | None,
    short: bool,
    pdf: bool,
    resume: bool,
    digits: int,
    form: str,
) -> list[CheckResult] | None:
    """The results of all files; None where the run was stopped, which is said."""
    from refsolver.runs.checking import check_and_report
    from refsolver.runs.several import check_each
    from refsolver.runs.stopping import Stopping

    results: list[CheckResult] = []
    with Stopping() as stopping:
        try:
            if len(files) == 1:
                found = iter([
                    check_and_report(
                        files[0], out, digits=digits, exchange=exchange, pdf=pdf, resume=resume,
                        short=short, progress=_progress, stopping=stopping,
                    )
                ])  # fmt: skip
            else:
                found = check_each(
                    files, out, digits=digits, pdf=pdf, resume=resume, short=short,
                    progress=_progress, stopping=stopping,
                )  # fmt: skip
            for result in found:
                results.append(result)
                if form == "text" and result.complete:
                    _say(result.text())
        except KeyboardInterrupt:
            _say_stopped(results, "its record and reports were not finished", exchange is None)
            return None
    if results and not results[-1].complete:
        _say_stopped(results[:-1], results[-1].stopped(), results[-1].resumable)
        return None
    if len(results) < len(files):
        _say_stopped(results, "", True)
        return None
    return results


def _say_stopped(results: list[CheckResult], how_far: str, resumable: bool) -> None:
    """Says how far a stopped run came and how to go on."""
    import shlex

    words = [word for word in sys.argv[1:] if word != "--resume"]
    again = shlex.join(["refsolver", *words, *(["--resume"] if resumable else [])])
    parts = [f"{len(results)} of the calculators checked" if results else "", how_far]
    said = "; ".join(part for part in parts if part)
    _say(f"refsolver: stopped: {said}; go on with: {again}", err=True)


@commands.command()
@click.option("--family", "families", multiple=True, help="Only this family (repeatable).")
@click.option("--all", "show_all", is_flag=True, help="List every answer, not only differences.")
@_DIGITS
@_FORMAT
def selfcheck(families: tuple[str, ...], show_all: bool, digits: int, form: str) -> int:
    """The reference solver against every published answer in the catalogue."""
    from refsolver.catalogue.catalogue import Catalogue
    from refsolver.quantities.printing import proven_text
    from refsolver.runs.selfcheck import check_case, counts
    from refsolver.statics.registry import family

    for name in families:
        family(name)
    catalogue = Catalogue()
    ids = [i for i in catalogue.paths if not families or i.rpartition("/")[0] in families]
    answers = [
        answer
        for id in _progress(ids, len(ids))
        for answer in check_case(catalogue.read(id), digits)
    ]
    found = counts(answers)
    if form == "json":
        _say(json.dumps(found, indent=2))
    else:
        shown = [a for a in answers if show_all or a.agreement != "agree" or a.stale]
        rows = [
            (
                a.case, a.answer, a.printed,
                "" if a.proven is None else f"{proven_text(a.proven, 8)} {a.unit}".strip(),
                "explained, but it agrees" if a.stale else a.agreement, a.why,
            )
            for a in shown
        ]  # fmt: skip
        if rows:
            heads = ["case", "answer", "printed", "proven", "", "why"]
            _say(_table(rows, heads) + "\n")
        _say(_table([list(found.values())], list(found)))
    wrong = found["disagree"] + found["not_proven"] + sum(a.stale for a in answers)
    return 1 if wrong else 0


@commands.command()
@click.argument("case")
@click.option("--sensitivity", is_flag=True, help="Also how each answer moves with each given.")
@_DIGITS
@_FORMAT
def solve(case: str, sensitivity: bool, digits: int, form: str) -> int:
    """The reference answers of a case (an id of the catalogue, or a file), with the working."""
    from refsolver.runs.solving import solve_case

    solved = solve_case(case, digits)
    if form == "json":
        data = solved.data()
        if sensitivity:
            data["sensitivities"] = solved.sensitivities()
        _say(json.dumps(data, indent=2))
    else:
        _say(solved.text())
        if sensitivity:
            _say(f"\n{solved.sensitivity_text()}")
    return 1 if solved.not_proven else 0


@commands.command()
@click.argument("calculator", type=_PATH)
@click.option(
    "--cases",
    "count",
    type=click.IntRange(1),
    default=10_000,
    show_default=True,
    help="About how many cases, spread evenly over families and ranges.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="What the cases come from.")
@click.option("--family", "families", multiple=True, help="Only this family (may be repeated).")
@click.option(
    "--range",
    "ranges",
    multiple=True,
    metavar="LOW..HIGH",
    help="Only this range of condition numbers, 1..1e5 for instance (may be repeated).",
)
@click.option(
    "--workers", type=click.IntRange(1), default=1, show_default=True, help="Processes at work."
)
@click.option("--cluster", metavar="ADDRESS", help="Scheduler of a Dask cluster to work on.")
@click.option("--resume", is_flag=True, help="Go on with a campaign that was stopped.")
@click.option("--out", type=_PATH, help="Folder for results.")
@_DIGITS
@_FORMAT
def campaign(
    calculator: Path,
    count: int,
    seed: int,
    families: tuple[str, ...],
    ranges: tuple[str, ...],
    workers: int,
    cluster: str | None,
    resume: bool,
    out: Path | None,
    digits: int,
    form: str,
) -> int:
    """Put generated cases to a calculator, by range of condition number; keep the worst."""
    from refsolver.runs.campaign import RANGES, range_of, run_campaign

    result = run_campaign(
        calculator,
        out or Path(f"{calculator.stem}-campaign"),
        count=count,
        seed=seed,
        digits=digits,
        families=families,
        ranges=[range_of(text) for text in ranges] or RANGES,
        workers=workers,
        cluster=cluster,
        resume=resume,
        progress=_progress,
    )
    if form == "json":
        _say(json.dumps(result.content, indent=2))
    else:
        _say(result.text())
    return 0 if result.passed else 1


@commands.command()
@click.argument("calculator", type=_PATH)
@click.option(
    "--cases",
    "count",
    type=click.IntRange(1, 500),
    default=12,
    show_default=True,
    help="How many cases, those that reveal most first.",
)
@click.option("--out", type=_PATH, help="The .xlsx to write.")
def sheet(calculator: Path, count: int, out: Path | None) -> int:
    """A blank answer sheet for a calculator that a person drives; check reads it back."""
    from refsolver.calculators.file import read_calculator_file
    from refsolver.runs.sheets import make_sheet, page_of

    file = read_calculator_file(calculator)
    path = out or Path(f"{calculator.stem}-sheet.xlsx")
    for there in (path, page_of(path)):
        if there.exists():
            raise click.UsageError(
                f"{there} is there already; it may hold readings or remarks: "
                "name another with --out"
            )
    made = make_sheet(file, path, count)
    _say(f"written: {made.path} ({len(made.cases)} of {made.available} cases in scope)")
    _say(f"written: {made.page} (statement and figure of each case, to be printed)")
    for text in made.not_revealed:
        _say(f"this set cannot reveal: {text}")
    return 0


@commands.command()
@click.argument("workbook", required=False, type=_PATH)
@click.option("--family", "families", multiple=True, help="What it computes (repeatable).")
@click.option("--python", "function", metavar="MODULE:FUNCTION", help="A blank for a function.")
@click.option("--command", "program", is_flag=True, help="A blank for a program.")
@click.option("--sheet", "by_hand", is_flag=True, help="A blank for a person with a calculator.")
@click.option("--out", type=_PATH, help="The .toml to write.")
def draft(
    workbook: Path | None,
    families: tuple[str, ...],
    function: str | None,
    program: bool,
    by_hand: bool,
    out: Path | None,
) -> int:
    """A draft of a calculator file, from a workbook or blank; what to decide is marked in it."""
    from refsolver.runs.drafting import drafted

    kinds = [k for k, on in (("python", function), ("command", program), ("sheet", by_hand)) if on]
    if (workbook is not None) + len(kinds) != 1:
        raise click.UsageError("give a workbook, or one of --python, --command and --sheet")
    if kinds and not families:
        raise click.UsageError(
            f"--{kinds[0]} needs --family (refsolver cases --families lists them)"
        )
    _say(drafted(workbook, families, kinds[0] if kinds else "", function or "", out))
    return 0


@commands.command()
@click.argument("record", type=_PATH)
@click.option("--file", "copy", type=_PATH, help="Is this copy the validated one?")
@click.option("--signature", type=_PATH, help="Is this a signature of the record?")
@click.option("--public", type=_PATH, help="With --signature: the signer's public key.")
@_FORMAT
def verify(
    record: Path, copy: Path | None, signature: Path | None, public: Path | None, form: str
) -> int:
    """Has this record been altered; can it be reproduced; is a copy the validated one."""
    import attrs

    from refsolver.records.signing import signature_problem
    from refsolver.runs.verifying import verify as verified

    if (signature is None) != (public is None):
        raise click.UsageError("--signature and --public go together: give both or none")
    unsigned = ""
    if signature is not None and public is not None:
        unsigned = signature_problem(record, signature, public)
    found = verified(record, copy)
    holds = found.holds and not unsigned
    if form == "json":
        data = attrs.asdict(found) | {"holds": holds}
        if signature is not None:
            data["signature"] = unsigned or "holds"
        _say(json.dumps(data, indent=2))
        return 0 if holds else 1
    for problem in (*found.altered, *found.not_reproduced, *found.copy, *filter(None, [unsigned])):
        _say(problem)
    if found.unchecked:
        _say(f"not looked at: {found.unchecked}")
    _say(found.text(copy, None if signature is None else not unsigned))
    return 0 if holds else 1


@commands.command()
@click.argument("record", type=_PATH)
@click.option(
    "--key",
    type=_PATH,
    required=True,
    help="Your Ed25519 private key, a PEM file.",
)
def sign(record: Path, key: Path) -> int:
    """A detached signature of a record with your own key, beside it as RECORD.sig."""
    from refsolver.records.alterations import stated
    from refsolver.records.canonical import read_record
    from refsolver.records.signing import sign_record

    path = sign_record(record, key)
    _say(f"signed: {stated(read_record(record))}")
    _say(f"written: {path}")
    return 0


@commands.command()
@click.option("--family", "families", multiple=True, help="Only this family (repeatable).")
@click.option(
    "--share",
    type=click.FloatRange(0, 100),
    default=0.5,
    show_default=True,
    help="Per cent of the right value by which an answer must change to reveal a mistake.",
)
@_FORMAT
def mistakes(families: tuple[str, ...], share: float, form: str) -> int:
    """The known mistakes, and which cases reveal which."""
    from refsolver.runs.mistakes_table import mistakes_table, mistakes_text

    rows = mistakes_table(share / 100, families)
    if form == "json":
        _say(json.dumps([row.data() for row in rows], indent=2))
    else:
        _say(mistakes_text(rows))
    return 0


@commands.command()
@click.argument("old", type=_PATH)
@click.argument("new", type=_PATH)
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="What to print."
)
def compare(old: Path, new: Path, form: str) -> int:
    """Two records of one calculator: what changed, beyond tolerance or not (Markdown)."""
    from refsolver.records.canonical import read_record, understood
    from refsolver.records.comparing import compared

    with understood(f"{old} or {new}"):
        found = compared(read_record(old), read_record(new))
        said = json.dumps(found.data(), indent=2) if form == "json" else found.markdown()
    _say(said)
    return 1 if found.matters else 0


@commands.group(invoke_without_command=True)
@click.option("--family", "wanted", help="Only this family or chapter.")
@click.option("--topic", help="Only cases with this topic word.")
@click.option("--families", is_flag=True, help="List the families instead, with what each is of.")
@_FORMAT
@click.pass_context
def cases(
    context: click.Context, wanted: str | None, topic: str | None, families: bool, form: str
) -> int:
    """List the catalogue, show a case, hold case files to the schema."""
    if context.invoked_subcommand is not None:
        return 0
    from refsolver.catalogue.listing import chosen, listed

    found = chosen(listed(), wanted, topic)
    if families:
        return _families(found, form)
    if form == "json":
        _say(json.dumps(found, indent=2))
        return 0
    for entry in found:
        source = entry["source"]
        said = f"{source['work']}, {source['place']}" if source["work"] else source["kind"]
        read = f" [{source['read']}]" if source["read"] not in ("", "read") else ""
        _say(f"{entry['id']}\n    {entry['title']} ({entry['published']}; {said}{read})")
    _say(f"{len(found)} cases, {sum(e['published'] for e in found)} published answers")
    return 0


def _families(entries: Iterable[Mapping[str, Any]], form: str) -> int:
    """Lists the families of some entries: name, number of cases, title."""
    from refsolver.statics.registry import family, folder_of

    counted = Counter(folder_of(entry["family"]) for entry in entries)
    rows = [(name, number, family(name).title) for name, number in sorted(counted.items())]
    if form == "json":
        heads = ("family", "cases", "title")
        _say(json.dumps([dict(zip(heads, row, strict=True)) for row in rows], indent=2))
        return 0
    _say(_table(rows, ["family", "cases", "what it is of"]))
    return 0


@cases.command()
@click.argument("case")
def show(case: str) -> int:
    """The file of a case as it stands, and its source in full."""
    from refsolver.catalogue.catalogue import Catalogue

    catalogue = Catalogue()
    found = catalogue.read(case)
    _say(found.text)
    work = catalogue.works.get(found.source.work)
    if work is not None:
        _say(f"# {work.citation}; {found.source.place} (read: {found.source.read})")
    return 0


@cases.command()
@click.argument("paths", nargs=-1, type=_PATH)
def lint(paths: tuple[Path, ...]) -> int:
    """Hold case files to the schema; every complaint names file and key."""
    from refsolver.catalogue.linting import lint_catalogue, lint_files

    complaints = lint_files(paths) if paths else lint_catalogue()
    for complaint in complaints:
        _say(str(complaint))
    _say(f"{len(complaints)} complaint{'s' * (len(complaints) != 1)}", err=True)
    return UNUSABLE if complaints else 0


@cases.command()
@click.argument("family")
def new(family: str) -> int:
    """A commented blank case file of a family, on standard output."""
    from refsolver.catalogue.blank import blank_case

    _say(blank_case(family), nl=False)
    return 0


@cases.command()
@click.option("--check", "only_check", is_flag=True, help="Only say whether it is up to date.")
def index(only_check: bool) -> int:
    """Write the index of the catalogue that listings read."""
    from refsolver.catalogue.listing import index_is_current, write_index

    if only_check:
        current = index_is_current()
        _say("the index is current" if current else "the index is stale: run cases index")
        return 0 if current else 1
    _say(f"{write_index()} cases")
    return 0
