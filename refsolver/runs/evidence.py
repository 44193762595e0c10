"""The bars of the diagnosis, measured over the whole catalogue.

``python -m refsolver.runs.evidence`` writes ``reports/evidence.md``; with names of families
it measures those and prints. For every family and every known mistake a plain calculator
that makes it is put through a check, and the diagnosis is asked what is wrong. Right
calculators, in several conventions, must not be failed; errors that are no known mistake
must not be laid to one.

A mistake and what no case tells from it at the criteria (the same readings explained) are
one class: naming the class first is naming the mistake first.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.calculators.file import CalculatorFile, read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.quantities.units import UNITLESS, UnitSystem, read_unit
from refsolver.records.runs import CaseRun
from refsolver.runs.detection import Detection, detection
from refsolver.runs.diagnosis import Diagnostician, Explanation
from refsolver.runs.natural import NaturalCalculator
from refsolver.runs.natural_file import Angles, forms, natural_text
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.questions import questions_for
from refsolver.runs.situations import Situations
from refsolver.runs.unlisted import UNLISTED
from refsolver.statics.contract import Family
from refsolver.statics.prover import Reference, prove
from refsolver.statics.registry import families, family

__all__ = [
    "Bench",
    "FamilyEvidence",
    "Pair",
    "Restraint",
    "bench",
    "can_be_asked",
    "evidence_text",
    "listed_pairs",
    "main",
    "measured",
    "right_runs",
    "unlisted_runs",
]

_DIGITS = 15
_BAD = ("fail", "error", "refused", "no answer", "not proven")


@attrs.define
class Bench:
    """One family, one form of its plain calculator, and its cases ready to be put.

    What was proven and what was judged is kept: a mistake leaves most readings as they are.
    """

    owner: Family
    form: str
    file: CalculatorFile
    prepared: list[CaseRun]
    angles: Angles = Angles()
    situations: Situations = attrs.field(init=False)
    diagnostician: Diagnostician = attrs.field(init=False)
    _proven: dict[Any, Reference] = attrs.field(factory=dict)
    _judged: dict[Any, CaseRun] = attrs.field(factory=dict)

    def __attrs_post_init__(self) -> None:
        self.situations = Situations(self.file)
        self.diagnostician = Diagnostician(self.situations)

    def runs(self, calculator: NaturalCalculator) -> list[CaseRun]:
        """Every case put to the calculator and judged, as in a check."""
        return [self._put(run, calculator) if run.asked else run for run in self.prepared]

    def _put(self, run: CaseRun, calculator: NaturalCalculator) -> CaseRun:
        (received,) = calculator.ask([asked_of(run)])
        shown = tuple((place, str(value)) for place, value in received.values.items())
        key = (run.case.id, shown)
        if key not in self._judged:
            self._judged[key] = judged_run(
                run, received, self.file, True, _DIGITS, proving=self._prove
            )
        return self._judged[key]

    def _prove(
        self, owner: Family, given: Any, views: Sequence[Any], *, digits: int, **how: Any
    ) -> Reference:
        key = (given, tuple(views), digits)
        if key not in self._proven:
            self._proven[key] = prove(owner, given, views, digits=digits, **how)
        return self._proven[key]

    def right(self) -> NaturalCalculator:
        return NaturalCalculator(self.file, self.owner, angles=self.angles)


def bench(
    owner: Family,
    form: str,
    catalogue: Catalogue,
    *,
    system: UnitSystem | None = None,
    angles: Angles | None = None,
    share: str = "0.5 %",
) -> Bench:
    """The family's plain calculator over all its cases, by default in their usual units."""
    counted = angles or Angles()
    text = natural_text(
        owner, system or usual_units(owner, catalogue), form, share=share, angles=counted
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "natural.toml"
        path.write_text(text, encoding="utf-8")
        file = read_calculator_file(path)
    prepared = [prepared_run(q, True) for q in questions_for(file, catalogue, True)]
    return Bench(owner, form, file, prepared, counted)


def usual_units(owner: Family, catalogue: Catalogue) -> UnitSystem:
    """The units that most cases of a family are stated in."""
    systems = Counter(c.units for c in catalogue.cases((owner.name,)) if c.units != UNITLESS)
    return systems.most_common(1)[0][0] if systems else UNITLESS


def can_be_asked(owner: Family) -> bool:
    """Whether a calculator file can map any answer (a function of position needs a place)."""
    return "[[family.output]]" in natural_text(owner, UNITLESS, forms(owner)[0])


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
        for found in detection(made.prepared, made.situations):
            if found.name not in done and found.revealed_by:
                done.add(found.name)
                yield _planted(made, found)


def _planted(made: Bench, found: Detection) -> Pair:
    mistake = next(m for m in made.situations.mistakes(found.family) if m.name == found.name)
    runs = made.runs(NaturalCalculator(made.file, made.owner, mistake, angles=made.angles))
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


_HEADS = [
    "family", "cases", "mistakes planted", "named first", "another accused", "largest class",
    "readings of right calculators", "false alarms", "other errors", "laid to a mistake",
    "partly laid to one",
]  # fmt: skip


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


def evidence_text(found: Sequence[FamilyEvidence]) -> str:
    """The report, as Markdown."""
    rows = [each.row() for each in found]
    total = ["all", *(sum(row[k] for row in rows) for k in range(1, len(_HEADS)))]
    total[5] = max((row[5] for row in rows), default=0)
    short = [line for each in found for line in details(each)]
    planted, named = total[2], total[3]
    return "\n".join(
        [
            "# Evidence: what the diagnosis is worth",
            "",
            *_SAYS,
            "",
            f"Named first: {named} of {planted} planted mistakes "
            f"({100 * named / max(planted, 1):.2f} %); another one accused: {total[4]}.",
            f"Right calculators: {total[7]} false alarms in {total[6]} readings.",
            f"Errors beyond the list: {total[9]} of {total[8]} laid to a known mistake as "
            f"explaining all, {total[10]} in part.",
            "",
            tabulate([*rows, total], headers=_HEADS, tablefmt="pipe", disable_numparse=True),
            "",
            "## What falls short",
            "",
            *(f"- {line}" for line in short or ["nothing"]),
            "",
        ]
    )


_SAYS = (
    "A plain calculator of each family, which takes every given and shows every answer, is put",
    "through a check over all its cases with a criterion of 0.5 %: once with each known mistake",
    "that makes a reading fail; right, in several units, conventions and roundings; and with",
    f"{len(UNLISTED)} errors that are no known mistake. Mistakes that no reading tells apart are",
    "one class, and count as named where the class is (largest class: how many others are in it).",
)


def main(arguments: list[str]) -> int:
    """Measures the families named and prints, or all of them and writes the report."""
    catalogue = Catalogue()
    names = arguments or [name for name, owner in families().items() if can_be_asked(owner)]
    found = []
    for name in names:
        found.append(measured(family(name), catalogue))
        said = ", ".join(f"{head} {x}" for head, x in zip(_HEADS, found[-1].row(), strict=True))
        print(said, *details(found[-1]), sep="\n  ", flush=True)
    text = evidence_text(found)
    if arguments:
        print(text)
    else:
        reports = Path(__file__).resolve().parent.parent.parent / "reports"
        write_text(reports / "evidence.md", text)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
