"""The internal forces at one section of a beam: what a sheet with a cell for x asks.

The beam, its signs and its sources are in :mod:`.beam`; the forces along
the whole of it in :mod:`.diagrams`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.chapters.beams.beam import (
    Beam,
    Diagrams,
    beam_equilibrium,
    diagrams,
    stations,
)
from refsolver.statics.chapters.beams.family import REFUSALS, BeamFamily, load_sheet
from refsolver.statics.chapters.beams.sections import right_sections
from refsolver.statics.contract import Answer, Mistake, Residual, Solution, choice, quantity
from refsolver.statics.drawing import Primitive, Stroke
from refsolver.statics.polynomials import value
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["BeamCut", "SectionForces"]

_REFUSALS = (*REFUSALS, "not defined")
_NAMES = ("axial", "shear", "moment")


@attrs.frozen(kw_only=True)
class BeamCut(Beam):
    """A beam and the section at which it is cut."""

    section: fmpq = quantity(LENGTH, "of the section, from the left end", sign="not negative")
    side: str = choice(
        ("left", "right"), "just left or just right of a load that stands there", default="left"
    )

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        if not isinstance(self.section, fmpq) or self.section > self.length:
            raise ValueError("section: a rational position on the beam is expected")


def _piece(at: Sequence[fmpq], given: BeamCut) -> int | None:
    """Which stretch between stations the section lies in; None beyond the ends."""
    x, left = given.section, given.side == "left"
    for i, (a, b) in enumerate(pairwise(at)):
        if a < x < b or (x == b and left) or (x == a and not left):
            return i
    return None


_BEYOND = NoAnswer("not defined", "there is no beam on that side of its end")


@register
class SectionForces(BeamFamily):
    name = "beams/section-forces"
    title = "Axial force, shear force and bending moment at one section of a beam"
    givens = BeamCut
    answers = {
        "axial": Answer(ScalarKind(FORCE), "N, tension positive", _REFUSALS),
        "shear": Answer(
            ScalarKind(FORCE), "V, positive where the part on the left is pushed up", _REFUSALS
        ),
        "moment": Answer(ScalarKind(MOMENT), "M, sagging positive", _REFUSALS),
    }
    mistakes = (
        *BeamFamily.mistakes,
        Mistake(
            "other side of the section",
            "a load at the section is counted where it should not be, or left out",
            givens=lambda given: attrs.evolve(
                given, side="right" if given.side == "left" else "left"
            ),
        ),
        Mistake(
            "section measured from the right",
            "the position is counted from the right end",
            givens=lambda given: attrs.evolve(given, section=given.length - given.section),
        ),
    )
    method = (
        "a section from the left: N = -sum of F_x, V = sum of F_y, M = sum of F_y (x - x_i) - sum "
        "of couples, of all that acts left of it"
    )
    second_method = (
        "sections from the right at inner places of the stretch the section lies in, joined by "
        "the one polynomial through them"
    )

    def solve(self, given: BeamCut, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = diagrams(given, beam_equilibrium(given, ar, rules), ar, rules)
        if isinstance(found, NoAnswer):
            return self.refused(found, given, ar, rules)
        index = _piece(stations(given), given)
        if index is None:
            return self.refused(_BEYOND, given, ar, rules)
        answers = self._at(found, index, given, ar)
        forces = {name: answers[name] for name in ("axial", "shear")}
        bending = {"moment": answers["moment"]}
        return Solution(
            answers,
            lambda: (
                load_sheet(given, ar, rules, self.method),
                number_sheet("Forces at the section", forces, ""),
                number_sheet("Moment at the section", bending, "", MOMENT),
            ),
        )

    def _at(self, found: Diagrams, index: int, given: BeamCut, ar: Arithmetic) -> dict[str, Value]:
        answers: dict[str, Value] = {}
        for name in _NAMES:
            piece = getattr(found, name)[index]
            answers[name] = value(piece.coefficients, ar.bring(given.section) - piece.start)
        return answers

    def check(
        self, given: BeamCut, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["moment"], NoAnswer):
            return []
        at = stations(given)
        index = _piece(at, given)
        assert index is not None
        most = max((len(line.intensities) for line in given.line_loads), default=0) + 2
        a, b = at[index], at[index + 1]
        places = [a + (b - a) * fmpq(i, most + 1) for i in range(1, most + 1)]
        section = right_sections(given, ar)
        values = [section(x) for x in places]
        weights = _lagrange(places, given.section)
        residuals = []
        for k, name in enumerate(_NAMES):
            here: Number = ar.bring(fmpq(0))
            size = ar.bring(fmpq(1)) + ar.size(answers[name])
            for weight, found in zip(weights, values, strict=True):
                here = here + ar.bring(weight) * found[k]
                size = size + ar.size(found[k])
            residuals.append(Residual(f"{name} from the right", here - answers[name], size))
        return residuals

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        assert isinstance(given, BeamCut)
        x, reach = ar.bring(given.section), ar.bring(given.length) / 12
        return [Stroke((x, -reach), (x, reach), given.side, "axis")]

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> BeamCut:
        """Two supports close together, and the section between them."""
        beam = super().propose(kappa, rng)
        if log_uniform(rng, kappa) < 30:
            return _cut(beam, rng)
        places = sorted(s.at for s in beam.supports)
        own = {f.name: getattr(beam, f.name) for f in attrs.fields(Beam)}
        middle = places[0] + (places[1] - places[0]) * decimal(rng.uniform(0.2, 0.8), 2)
        return BeamCut(**own, section=middle, side=rng.choice(("left", "right")))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> BeamCut | None:
        beam = super().filled(rows, rng)
        return None if beam is None else _cut(beam, rng)


def _lagrange(places: Sequence[fmpq], x: fmpq) -> list[fmpq]:
    """The weights with which values at the places give the polynomial's value at x."""
    weights = []
    for i, a in enumerate(places):
        weight = fmpq(1)
        for j, b in enumerate(places):
            if i != j:
                weight = weight * (x - b) / (a - b)
        weights.append(weight)
    return weights


def _cut(beam: Beam, rng: random.Random) -> BeamCut:
    """The beam with a section somewhere on it, at a decimal place between two stations."""
    own = {f.name: getattr(beam, f.name) for f in attrs.fields(Beam)}
    at = stations(beam)
    a, b = rng.choice(list(pairwise(at)))
    share = decimal(rng.uniform(0.2, 0.8), 2)
    return BeamCut(**own, section=a + (b - a) * share, side=rng.choice(("left", "right")))
