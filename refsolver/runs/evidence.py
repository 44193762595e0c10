"""The bars of the diagnosis, measured over the whole catalogue.

``python -m refsolver.runs.evidence`` writes ``reports/evidence.md``; with names of families
it measures those and prints. For every family and every known mistake a plain calculator
that makes it is put through a check, and the diagnosis is asked what is wrong. Right
calculators, in several conventions, must not be failed; errors that are no known mistake
must not be laid to one.

A mistake and what no case tells from it at the criteria (the same readings explained) are
one class: naming the class first is naming the mistake first.

What was measured of a family is kept at once, in ``--keep FOLDER`` or in a folder for this
very code and catalogue, and is not measured again: the command may be stopped and started.
``--workers N`` measures so many families at a time.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import attrs

import refsolver
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.quantities.units import UNITLESS, UnitSystem, read_unit
from refsolver.runs.bench import Bench, bench, can_be_asked, usual_units
from refsolver.runs.detection import Detection, detection
from refsolver.runs.diagnosis import Explanation
from refsolver.runs.evidence_text import HEADS, evidence_text
from refsolver.runs.natural_file import Angles, forms
from refsolver.runs.unlisted import UNLISTED
from refsolver.statics.contract import Family
from refsolver.statics.registry import families, family

__all__ = [
    "FamilyEvidence",
    "Pair",
    "Restraint",
    "details",
    "listed_pairs",
    "main",
    "measured",
    "right_runs",
    "unlisted_runs",
]

_BAD = ("fail", "error", "refused", "no answer", "not proven")


# ---- known mistakes


@attrs.frozen
class Pair:
    """A known mistake planted in a family's plain calculator, and what the diagnosis said."""

    family: str
    form: str
    mistake: str
    failures: int
    first: Explanation | None
    accused: tuple[str, ...]
    """Hypotheses said to explain every failing reading, the mistake's class left out."""

    @property
    def named(self) -> bool:
        return self.first is not None and self.mistake in _names(self.first)

    @property
    def indistinguishable(self) -> int:
        """How many other hypotheses no reading tells from it."""
        return len(self.first.also) if self.named and self.first is not None else 0


def _names(explanation: Explanation) -> tuple[str, ...]:
    return (explanation.name, *explanation.also)


def listed_pairs(benches: Sequence[Bench]) -> Iterator[Pair]:
    """Each known mistake once, in the first form of the calculator in which it shows."""
    done: set[str] = set()
    for made in benches:
        for found in detection(made.prepared, made.situations, leave=done):
            if found.revealed_by:
                done.add(found.name)
                yield _planted(made, found)


def _planted(made: Bench, found: Detection) -> Pair:
    mistake = next(m for m in made.situations.mistakes(found.family) if m.name == found.name)
    runs = made.runs(attrs.evolve(made.right(), mistake=mistake))
    explanations, unexplained = made.diagnostician.diagnose(runs)
    first = explanations[0] if explanations else None
    failures = first.failures if first else sum(unexplained.values())
    accused = tuple(
        each.name
        for each in explanations
        if len(each.explained) == each.failures and found.name not in _names(each)
    )
    return Pair(found.family, made.form, found.name, failures, first, accused)


# ---- restraint


@attrs.frozen
class Restraint:
    """A calculator that makes no known mistake, and what was said of it all the same."""

    family: str
    what: str
    readings: int
    """All of a right calculator; those that do not pass of a wrong one."""
    bad: tuple[str, ...] = ()
    """Readings of a right calculator that do not pass."""
    accused: tuple[str, ...] = ()
    """Hypotheses said to explain every failing reading."""
    partly: tuple[str, ...] = ()
    """Hypotheses said to explain some of them."""


def _rounded_to(figures: int) -> Callable[[float], float]:
    return lambda x: float(f"{x:.{figures - 1}e}")


_OTHER_UNITS = (("kip", "in"), ("kN", "mm"), ("N", "m"), ("lbf", "ft"))
_OTHER_ANGLES = (
    (Angles("+y", "+x"), "clockwise from +y"),
    (Angles("-x", "+y"), "clockwise from -x"),
    (Angles(unit="rad"), "in radians"),
)


def right_runs(benches: Sequence[Bench], catalogue: Catalogue) -> Iterator[Restraint]:
    """Right calculators: every form, other units and conventions, answers rounded."""
    for made in benches:
        yield _right(made, made.form)
    first = benches[0]
    yield _right(first, "answers rounded to 4 figures", _rounded_to(4))
    owner, form = first.owner, first.form
    wide = bench(owner, form, catalogue, share="1 %")
    yield _right(wide, "answers rounded to 3 figures, held to 1 %", _rounded_to(3))
    usual = usual_units(owner, catalogue)
    others = [] if usual == UNITLESS else [_system(*names) for names in _OTHER_UNITS]
    for system in [each for each in others if each != usual][:2]:
        said = f"in {system.force.name} and {system.length.name}"
        yield _right(bench(owner, form, catalogue, system=system), said)
    for angles, said in _OTHER_ANGLES if form == "angles" else ():
        yield _right(bench(owner, form, catalogue, angles=angles), f"angles {said}")


def _system(force: str, length: str) -> UnitSystem:
    return UnitSystem(read_unit(force), read_unit(length))


def _right(made: Bench, what: str, shown: Callable[[float], float] | None = None) -> Restraint:
    runs = made.runs(attrs.evolve(made.right(), shown=shown))
    findings = [(run.case.id, f) for run in runs for f in run.findings]
    bad = tuple(f"{id}: {f.output}: {f.verdict}" for id, f in findings if f.verdict in _BAD)
    return Restraint(made.owner.name, what, len(findings), bad)


def unlisted_runs(benches: Sequence[Bench]) -> Iterator[Restraint]:
    """Errors that are no known mistake, in the first form of the calculator that shows them."""
    done: set[str] = set()
    for made in benches:
        for name, answering in UNLISTED.items():
            if name in done:
                continue
            runs = made.runs(attrs.evolve(made.right(), answering=answering))
            failing = sum(f.verdict in ("fail", "refused") for run in runs for f in run.findings)
            if not failing:
                continue
            done.add(name)
            explanations, _ = made.diagnostician.diagnose(runs)
            whole = [e for e in explanations if len(e.explained) == e.failures]
            part = [e for e in explanations if e not in whole]
            yield Restraint(
                made.owner.name,
                name,
                failing,
                accused=tuple(e.name for e in whole),
                partly=tuple(f"{e.name} ({len(e.explained)} of {e.failures})" for e in part),
            )


# ---- the whole catalogue


@attrs.frozen
class FamilyEvidence:
    """What was measured of one family."""

    family: str
    cases: int
    pairs: tuple[Pair, ...]
    right: tuple[Restraint, ...]
    unlisted: tuple[Restraint, ...]

    @property
    def failing(self) -> list[Pair]:
        """The pairs in which some reading fails: where outputs stay blank it says itself."""
        return [pair for pair in self.pairs if pair.failures]

    def row(self) -> list[Any]:
        return [
            self.family,
            self.cases,
            len(self.failing),
            sum(p.named for p in self.failing),
            sum(bool(p.accused) for p in self.pairs),
            max((p.indistinguishable for p in self.pairs), default=0),
            sum(r.readings for r in self.right),
            sum(len(r.bad) for r in self.right),
            len(self.unlisted),
            sum(bool(r.accused) for r in self.unlisted),
            sum(bool(r.partly) for r in self.unlisted),
        ]


def measured(owner: Family, catalogue: Catalogue) -> FamilyEvidence:
    """Every bar, for one family."""
    benches = [bench(owner, form, catalogue) for form in forms(owner)]
    return FamilyEvidence(
        owner.name,
        sum(run.asked for run in benches[0].prepared),
        tuple(listed_pairs(benches)),
        tuple(right_runs(benches, catalogue)),
        tuple(unlisted_runs(benches)),
    )


def details(found: FamilyEvidence) -> Iterator[str]:
    """Everything that falls short of a bar, one sentence each."""
    for p in found.failing:
        if not p.named:
            instead = "nothing" if p.first is None else p.first.name
            yield f"{p.family}, {p.form}: {p.mistake}: named first was {instead}"
        if p.accused:
            yield f"{p.family}, {p.form}: {p.mistake}: accused: {'; '.join(p.accused)}"
    for r in found.right:
        yield from (f"{r.family}, right, {r.what}: {bad}" for bad in r.bad)
    for r in found.unlisted:
        if r.accused:
            yield f"{r.family}: {r.what} ({r.readings} readings) laid to {'; '.join(r.accused)}"


def main(arguments: list[str]) -> int:
    """Measures the families named and prints, or all of them and writes the report."""
    asked = _arguments(arguments)
    catalogue = Catalogue()
    every = [name for name, owner in families().items() if can_be_asked(owner)]
    names = asked.families or every
    unknown = set(names) - set(every)
    if unknown:
        print(f"no such family, or none that can be asked: {', '.join(sorted(unknown))}")
        return 2
    keep = Path(asked.keep) if asked.keep else _folder_of(catalogue)
    keep.mkdir(parents=True, exist_ok=True)
    missing = [name for name in names if not _part(keep, name).exists()]
    missing.sort(key=lambda name: -sum(id.startswith(f"{name}/") for id in catalogue.paths))
    with multiprocessing.get_context("spawn").Pool(asked.workers, maxtasksperchild=6) as pool:
        for name in pool.imap_unordered(partial(_kept, keep), missing):
            _say(json.loads(_part(keep, name).read_text(encoding="utf-8")))
    parts = [json.loads(_part(keep, name).read_text(encoding="utf-8")) for name in names]
    text = evidence_text(parts, len(UNLISTED))
    if asked.families:
        print(text)
    else:
        reports = Path(__file__).resolve().parent.parent.parent / "reports"
        write_text(reports / "evidence.md", text)
    return 0


def _arguments(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m refsolver.runs.evidence")
    parser.add_argument("families", nargs="*", metavar="FAMILY")
    parser.add_argument("--workers", type=int, default=1, help="families at a time")
    parser.add_argument("--keep", metavar="FOLDER", help="where what was measured is kept")
    return parser.parse_args(arguments)


def _folder_of(catalogue: Catalogue) -> Path:
    """A folder for this very code and catalogue."""
    seen = hashlib.sha256()
    for path in [*sorted(Path(refsolver.__file__).parent.rglob("*.py")), *catalogue.paths.values()]:
        seen.update(path.read_bytes())
    return Path(tempfile.gettempdir()) / f"refsolver-evidence-{seen.hexdigest()[:16]}"


def _part(keep: Path, name: str) -> Path:
    return keep / f"{name.replace('/', '--')}.json"


def _kept(keep: Path, name: str) -> str:
    """Measures a family and keeps what was found; its name."""
    found = measured(family(name), Catalogue())
    part = {"row": found.row(), "short": list(details(found))}
    write_text(_part(keep, name), json.dumps(part, indent=1))
    return name


def _say(part: dict[str, Any]) -> None:
    said = ", ".join(f"{head} {x}" for head, x in zip(HEADS, part["row"], strict=True))
    print(said, *part["short"], sep="\n  ", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
