"""Reference cases for the tests of an in-house Python calculator, under pytest or any other.

A test takes the numbers of a case in its own units and conventions, calls the calculator
with them, and has each answer checked::

    @pytest.mark.parametrize("case", reference_cases("beams/simple"), ids=str)
    def test_ours(case):
        span = case.number("span", unit="ft")
        ...
        case.check(ours(span), "left reaction", unit="lbf", criterion={...})

The reference is solved, with proof, for the doubles that were really handed out.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs
from flint import fmpq
from tabulate import tabulate

from refsolver.arithmetic.detached import nearest_double
from refsolver.calculators.contract import Received
from refsolver.calculators.file import CalculatorFileError, FamilySection, Refusals
from refsolver.calculators.line_readers import read_input_line, read_output_line
from refsolver.calculators.lines import InputLine, OutputLine
from refsolver.calculators.mapping import Handed, NotApplicable, hand_over, handed_value
from refsolver.calculators.python_columns import raw_value
from refsolver.calculators.python_worker import decoded, encoded
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.ladders import LADDER
from refsolver.catalogue.reading import read_view
from refsolver.catalogue.schema import Case
from refsolver.catalogue.toml import TomlReader
from refsolver.checking.judging import Finding
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.printing import proven_text
from refsolver.quantities.views import View
from refsolver.runs.one_case import judged_readings, with_outputs
from refsolver.runs.questions import with_units
from refsolver.statics.givens import leaf, pattern_of
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven
from refsolver.statics.registry import family as family_of
from refsolver.statics.registry import folder_of

__all__ = ["NotApplicable", "ReferenceCase", "ReferenceCaseError", "reference_cases"]

_RIGHT = ("pass", "not applicable")
_DIGITS = 30
_FIGURES = 17


class ReferenceCaseError(ValueError):
    """A test that asks something the case cannot give; says what, and how to mend it."""


def reference_cases(
    family: str, *, topic: str | None = None, catalogue: Catalogue | None = None
) -> list[ReferenceCase]:
    """The cases of a family (with a topic word), in order of id, for ``parametrize``.

    The cases of the difficulty ladder, which no double can bear to the last, come only where
    their topic is asked for. ``catalogue`` is the one that came along unless another is given.
    Raises UnknownFamily, CaseFileError, and ReferenceCaseError where there is no such case,
    since a test without cases would pass unseen.
    """
    name = family_of(family).name
    cases = [
        ReferenceCase(case)
        for case in (catalogue or Catalogue()).cases((name,))
        if case.family == name
        and (LADDER not in case.topics if topic is None else topic in case.topics)
    ]
    if not cases:
        having = f" with the topic {topic!r}" if topic is not None else ""
        raise ReferenceCaseError(
            f"{family}: the catalogue has no case{having}; choose another (refsolver cases lists "
            "them)"
        )
    return cases


@attrs.define(eq=False)
class ReferenceCase:
    """One case, and what a test was handed of it.

    Numbers handed out after an answer was asked or checked begin anew, so that
    several tests may use one case.
    """

    case: Case
    _inputs: dict[str, InputLine] = attrs.field(factory=dict, init=False)
    _handed_out: set[str] = attrs.field(factory=set, init=False)
    _checked: dict[View, tuple[OutputLine, Any]] = attrs.field(factory=dict, init=False)
    _answered: bool = attrs.field(default=False, init=False)

    def __str__(self) -> str:
        """The id without its family."""
        return self.case.id.removeprefix(f"{folder_of(self.case.family)}/")

    def rows(self, table: str) -> list[str]:
        """The path of each row of a table: ``forces[1]``, ``forces[2]``, ..."""
        found = self._leaf(table)
        if not isinstance(found, tuple):
            raise self._error(f"{table} is no table", "ask for it by number() or word()")
        return [f"{table}[{number}]" for number in range(1, len(found) + 1)]

    def states(self, given: str) -> bool:
        """Whether the case states this given; some families leave givens to choice."""
        return self._leaf(given) is not None

    def number(
        self,
        given: str,
        take: str | None = None,
        *,
        unit: str = "",
        along: str | None = None,
        start: str | None = None,
        toward: str | None = None,
        range: str | None = None,
        negate: bool = False,
    ) -> float:
        """The double nearest to a given of the case, in this unit and convention.

        ``given`` is a path such as ``forces[2].force``; the other keys are those of an
        input in a calculator file (``start`` is its ``from``). Each row of a table is handed
        out in the same way. Raises CaseFileError for keys that do not fit,
        ReferenceCaseError for a given that the case does not have, and NotApplicable where
        the convention cannot state it (no slope triangle, beyond the range of a double).
        """
        handed = self._handed(
            given,
            take=take,
            unit=unit,
            along=along,
            toward=toward,
            range=range,
            negate=negate,
            **{"from": start},
        )
        if isinstance(handed, str):
            raise self._error(f"{given} is a word, {handed!r}", "ask for it by word()")
        return nearest_double(handed)

    def word(self, given: str, words: Mapping[str, str] | None = None) -> str:
        """A choice or a name of the case; ``words`` gives the calculator's own words."""
        handed = self._handed(given, words=dict(words or {}))
        if not isinstance(handed, str):
            raise self._error(f"{given} is a number", "ask for it by number()")
        return handed

    def check(
        self,
        value: object,
        answer: str,
        take: str | None = None,
        *,
        unit: str = "",
        criterion: Mapping[str, Any] | None = None,
        negate: bool = False,
        words: Mapping[str, str] | None = None,
        **view: Any,
    ) -> None:
        """Raises AssertionError, with a table, unless ``value`` meets the criterion.

        ``criterion`` (needless for a word) and the other keys are those of an output in a
        calculator file (``start`` is its ``from``). A ``value`` of None says that the
        calculator declines: right where no answer exists, wrong elsewhere. The direction of
        a resultant whose size, checked before, cannot be told from zero by its own criterion
        is not judged. Raises ReferenceCaseError where a given was never handed out.
        """
        table = _stated(
            answer=answer,
            take=take,
            unit=unit,
            criterion=None if criterion is None else dict(criterion),
            negate=negate,
            words=dict(words or {}),
            place=f"value {len(self._checked) + 1}",
            says=answer,
            **_view_keys(view),
        )
        line = self._read(read_output_line, table, f"check({answer!r})")
        self._checked.pop(line.view, None)
        self._checked[line.view] = (line, raw_value(decoded(encoded(value))))
        section = self._section(tuple(line for line, _ in self._checked.values()))
        handed = self._given_out(section)
        case = with_units(self.case, section)
        received = Received({line.place: raw for line, raw in self._checked.values()})
        outputs = with_outputs(case, section, handed).outputs
        _, findings = judged_readings(
            case, handed, outputs, received, Refusals(blank=True), _DIGITS
        )
        if findings[-1].verdict not in _RIGHT:
            raise AssertionError(_told(self.case, handed, findings[-1]))

    def refused(self, answer: str, take: str | None = None, **view: Any) -> bool:
        """Whether it is proven that this answer does not exist for the numbers handed out.

        Raises ReferenceCaseError where that is not proven either way.
        """
        owner = family_of(self.case.family)
        section = self._section(())
        asked = read_view(
            _stated(answer=answer, take=take, **_view_keys(view)),
            owner,
            with_units(self.case, section).units,
        )
        given = self._given_out(section).given
        outcome = prove(owner, given, [asked], digits=_DIGITS).outcomes[asked]
        if isinstance(outcome, NotProven):
            raise self._error(f"{answer}: not proven ({outcome.why})")
        return isinstance(outcome, NoAnswer)

    def _handed(self, given: str, **keys: Any) -> fmpq | str:
        if self._answered:
            self._answered = False
            self._inputs.clear()
            self._handed_out.clear()
            self._checked.clear()
        found, pattern = self._leaf(given), pattern_of(given)
        if found is None:
            raise self._error(f"the case does not state {given}", "ask first with states()")
        table = _stated(given=pattern, place=pattern, says=pattern, **keys)
        line = self._read(read_input_line, table, f"number({given!r})")
        before = self._inputs.setdefault(line.id, line)
        if before != line:
            raise self._error(
                f"{given} was handed out in another unit or convention before",
                "hand out every row in the same way, and keep one convention in a test",
            )
        self._handed_out.add(given)
        case = with_units(self.case, self._section(()))
        return handed_value(line, found, case.units, True)[2]

    def _leaf(self, path: str) -> Any:
        try:
            return leaf(self.case.given, path)
        except KeyError as missing:
            raise self._error(str(missing.args[0])) from None

    def _read(self, read: Any, table: dict[str, Any], key: str) -> Any:
        """The line that the keys state. Raises CaseFileError, naming the case and the key."""
        reader = TomlReader(self.case.id)
        line = read(reader, table, key, family_of(self.case.family))
        reader.stop_if_wrong()
        return line

    def _section(self, outputs: tuple[OutputLine, ...]) -> FamilySection:
        inputs = tuple(self._inputs.values())
        return FamilySection(self.case.family, inputs, outputs, (), {}, False, False, False)

    def _given_out(self, section: FamilySection) -> Handed:
        """The givens that the doubles handed out state; they are complete from here on."""
        self._answered = True
        try:
            handed = hand_over(with_units(self.case, section), section, takes_doubles=True)
        except NotApplicable as missing:
            raise self._error(
                f"a given was never handed out ({missing})", "ask for it by number() or word()"
            ) from None
        except CalculatorFileError as incomplete:
            raise self._error(
                f"a vector was handed out in part ({incomplete})", "hand out the rest of it"
            ) from None
        for found in handed.leaves:
            if found.given not in self._handed_out:
                raise self._error(f"{found.given} was never handed out", "hand out every row")
        return handed

    def _error(self, what: str, mend: str = "") -> ReferenceCaseError:
        return ReferenceCaseError(f"{self.case.id}: {what}" + (f"; {mend}" if mend else ""))


def _stated(**keys: Any) -> dict[str, Any]:
    return {name: value for name, value in keys.items() if value is not None}


def _view_keys(view: Mapping[str, Any]) -> dict[str, Any]:
    return {"from" if name == "start" else name: value for name, value in view.items()}


def _told(case: Case, handed: Handed, finding: Finding) -> str:
    """The comparison and what was handed out, as tables."""
    reference = finding.expected
    if finding.reference is not None:
        reference = proven_text(finding.reference, min(finding.digits, _FIGURES))
    deviation = "" if finding.deviation is None else proven_text(finding.deviation, 3)
    tolerance = ""
    if finding.band is not None:
        below, above = (proven_text(x, 4) for x in (finding.band.below, finding.band.above))
        tolerance = f"-{below} .. +{above}"
    compared = tabulate(
        [[finding.reported or "(none)", reference, deviation, tolerance, finding.unit]],
        headers=["reported", "reference", "deviation", "tolerance", "unit"],
        disable_numparse=True,
    )
    given = tabulate(
        [[x.given, x.take, x.handed_value, x.unit] for x in handed.leaves],
        headers=["given", "take", "handed out", "unit"],
        disable_numparse=True,
    )
    why = f" ({finding.why})" if finding.why else ""
    return f"{case.id}: {finding.output}: {finding.verdict}{why}\n\n{compared}\n\n{given}"
