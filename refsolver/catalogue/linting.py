"""Holding case files to the schema and to the house rules of the catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CITABLE, Case, CaseFileError, Complaint

__all__ = ["lint_catalogue", "lint_files"]

_SLUG = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")


def lint_catalogue(catalogue: Catalogue | None = None) -> list[Complaint]:
    """Every complaint about the catalogue: files, sources, titles told twice."""
    catalogue = catalogue or Catalogue()
    complaints: list[Complaint] = []
    titles: dict[tuple[str, str], str] = {}
    used: set[str] = set()
    for id in catalogue.paths:
        try:
            case = catalogue.read(id)
        except CaseFileError as error:
            complaints += error.complaints
            continue
        complaints += _house_rules(case)
        used.add(case.source.work)
        first = titles.setdefault((case.family, case.title), id)
        if first != id:
            said = f"is also the title of {first}"
            complaints.append(Complaint(str(case.path), "title", said, "give it one of its own"))
    return complaints


def lint_files(paths: Iterable[Path]) -> list[Complaint]:
    """Complaints about single files or folders of files, anywhere."""
    works = Catalogue().works
    complaints: list[Complaint] = []
    for path in paths:
        files = sorted(path.rglob("*.toml")) if path.is_dir() else [path]
        if not files:
            complaints.append(
                Complaint(str(path), "", "holds no case files (*.toml); name a folder that does")
            )
        for file in files:
            if file.name == "sources.toml":
                continue
            try:
                complaints += _house_rules(read_case(file, file.stem, works))
            except CaseFileError as error:
                complaints += error.complaints
    return complaints


def _house_rules(case: Case) -> Iterator[Complaint]:
    path = str(case.path)
    if not _SLUG.match(case.path.stem):
        yield Complaint(
            path, "", "the file's name is not lower-case words joined by hyphens; rename it"
        )
    if case.source.kind in CITABLE and not case.published:
        yield Complaint(path, "published", "a published case has at least one printed answer")
    if not case.statement.rstrip().endswith((".", "?", "!")):
        yield Complaint(
            path, "statement", "is not a whole sentence; write one that ends with . or ?"
        )
    seen = set()
    for published in case.published:
        told = (published.view, published.literal, published.word, published.refused)
        if told in seen:
            yield Complaint(
                path, published.key, f"{published.view.describe()} is told twice; leave one"
            )
        seen.add(told)
