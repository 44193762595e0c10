"""The lines of a calculator file: where givens go, where answers come from, what is in scope."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import Criterion
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.leaves import Axis
from refsolver.quantities.units import UNITLESS, Unit
from refsolver.quantities.views import View
from refsolver.statics.contract import Given

__all__ = ["Condition", "InputLine", "OutputLine", "WordReading"]


@attrs.frozen
class InputLine:
    """One given of the case, in the calculator's unit and convention, and where it goes."""

    given: str
    """Path pattern: ``forces[*].force``, ``span``."""
    field: Given
    take: str
    unit: Unit | None
    place: str
    says: str
    along: str | None = None
    start: Axis = "+x"
    toward: Axis = "+y"
    range: str = "-180..180"
    negate: bool = False
    decimals: int | None = None
    words: Mapping[str, str] = attrs.field(factory=dict)
    blank: str = ""
    """What an unused row holds: "" leaves the cell blank."""

    @property
    def id(self) -> str:
        return " ".join(x for x in (self.given, self.take, self.along) if x)


@attrs.frozen
class WordReading:
    """A second place whose word completes a number: its sense, or its quadrant."""

    place: str
    words: Mapping[str, tuple[int, ...]]
    """Sense: word to (+1,) or (-1,). Quadrant: word to the signs along from and toward."""


@attrs.frozen
class OutputLine:
    """One answer, in the calculator's unit and convention, where it stands, and its criterion."""

    view: View
    dimension: Dimension
    unit: Unit | None
    place: str
    says: str
    criterion: Criterion | None
    negate: bool = False
    sense: WordReading | None = None
    quadrant: WordReading | None = None
    judge: str = "both"
    words: Mapping[str, str] = attrs.field(factory=dict)
    """For a choice: the calculator's word to ours."""
    units: Mapping[str, Unit] = attrs.field(factory=dict)
    """What the calculator's own unit words mean ("pounds" is lbf)."""
    line: str = ""
    """The id of the mapping line that this one was expanded from, where it was."""

    @property
    def id(self) -> str:
        return self.view.describe()

    @property
    def period(self) -> Enclosure | None:
        """The period in which the output, an angle, repeats; in its own unit."""
        turns = self.view.repeats_after if self.dimension == ANGLE else None
        return None if turns is None else factor_to(UNITLESS, self.unit, ANGLE).scaled(turns)


@attrs.frozen
class Condition:
    """One plain condition of the scope; ``sentence`` is what a report says."""

    kind: str
    target: str
    reason: str
    sentence: str
    at_least: fmpq | None = None
    at_most: fmpq | None = None
    resolution: fmpq | None = None
    unit: Unit | None = None
    ids: tuple[str, ...] = ()
    above: fmpq | None = None
    below: fmpq | None = None
    one_of: tuple[fmpq, ...] | None = None
    of_cells: bool = False
    """True where the workbook states it (data validation), not the calculator file."""
