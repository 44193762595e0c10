"""``refsolver cases``: the catalogue listed, shown and held to its schema."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import click

from refsolver.commands.terminal import FORMAT, PATH, UNUSABLE, say, table

__all__ = ["cases"]


@click.group(invoke_without_command=True)
@click.option("--family", "wanted", help="Only this family or chapter.")
@click.option("--topic", help="Only cases with this topic word.")
@click.option("--families", is_flag=True, help="List the families instead, with what each is of.")
@FORMAT
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
        say(json.dumps(found, indent=2))
        return 0
    for entry in found:
        source = entry["source"]
        said = f"{source['work']}, {source['place']}" if source["work"] else source["kind"]
        read = f" [{source['read']}]" if source["read"] not in ("", "read") else ""
        say(f"{entry['id']}\n    {entry['title']} ({entry['published']}; {said}{read})")
    say(f"{len(found)} cases, {sum(e['published'] for e in found)} published answers")
    return 0


def _families(entries: Iterable[Mapping[str, Any]], form: str) -> int:
    """Lists the families of some entries: name, number of cases, title."""
    from refsolver.statics.registry import family, folder_of

    counted = Counter(folder_of(entry["family"]) for entry in entries)
    rows = [(name, number, family(name).title) for name, number in sorted(counted.items())]
    if form == "json":
        heads = ("family", "cases", "title")
        say(json.dumps([dict(zip(heads, row, strict=True)) for row in rows], indent=2))
        return 0
    say(table(rows, ["family", "cases", "what it is of"]))
    return 0


@cases.command()
@click.argument("case")
def show(case: str) -> int:
    """The file of a case as it stands, and its source in full."""
    from refsolver.catalogue.catalogue import Catalogue

    catalogue = Catalogue()
    found = catalogue.read(case)
    say(found.text)
    work = catalogue.works.get(found.source.work)
    if work is not None:
        say(f"# {work.citation}; {found.source.place} (read: {found.source.read})")
    return 0


@cases.command()
@click.argument("paths", nargs=-1, type=PATH)
def lint(paths: tuple[Path, ...]) -> int:
    """Hold case files to the schema; every complaint names file and key."""
    from refsolver.catalogue.linting import lint_catalogue, lint_files

    complaints = lint_files(paths) if paths else lint_catalogue()
    for complaint in complaints:
        say(str(complaint))
    say(f"{len(complaints)} complaint{'s' * (len(complaints) != 1)}", err=True)
    return UNUSABLE if complaints else 0


@cases.command()
@click.argument("family")
def new(family: str) -> int:
    """A commented blank case file of a family, on standard output."""
    from refsolver.catalogue.blank import blank_case

    say(blank_case(family), nl=False)
    return 0


@cases.command()
@click.option("--check", "only_check", is_flag=True, help="Only say whether it is up to date.")
def index(only_check: bool) -> int:
    """Write the index of the catalogue that listings read."""
    from refsolver.catalogue.listing import index_is_current, write_index

    if only_check:
        current = index_is_current()
        say("the index is current" if current else "the index is stale: run cases index")
        return 0 if current else 1
    say(f"{write_index()} cases")
    return 0
