"""Mass, centre and moments of inertia of plates of varying mass per area.

Source of the method: G. Strang, E. Herman et al., "Calculus Volume 3", OpenStax, section
5.6 (centres of mass and moments of inertia).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.dimensions import MASS
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.curves import drawn_points, faults
from refsolver.statics.chapters.centroids.plate_moments import (
    MOMENTS,
    RADII,
    TAKEN_AS_UNIFORM,
    plate_answers,
    plate_residuals,
    with_centre,
)
from refsolver.statics.chapters.centroids.plates import (
    DensityTerm,
    Lamina,
    along_edges,
    lamina_strips,
    over_strips,
    size_of_moment,
)
from refsolver.statics.contract import Column, Family, Mistake, Residual, Row, Sheet, Solution
from refsolver.statics.drawing import Drawing, Mark, Primitive
from refsolver.statics.drawing import Region as Drawn
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import family, register


def _axes_exchanged(
    given: Lamina, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    centre = answers["centre"]
    return {
        **answers,
        "M_x": answers["M_y"],
        "M_y": answers["M_x"],
        "I_x": answers["I_y"],
        "I_y": answers["I_x"],
        "centre": centre if isinstance(centre, NoAnswer) else centre[::-1],
    }


def _root_left_out(
    given: Lamina, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    squares = {k: answers[k] * answers[k] for k, _ in RADII if not isinstance(answers[k], NoAnswer)}
    return {**answers, **squares}


@register
class VaryingLamina(Family):
    name = "centroids/lamina"
    title = "Centre of mass and moments of inertia of a plate of varying mass per area"
    givens = Lamina
    answers = plate_answers("not defined")
    mistakes = (
        TAKEN_AS_UNIFORM,
        Mistake(
            "axes exchanged", "moments about the x axis and about the y axis change places",
            answers=_axes_exchanged,
        ),
        Mistake(
            "root left out", "I / m is given for its root",
            answers=_root_left_out,
        ),
    )  # fmt: skip
    method = (
        "m = integral of rho dA, M_x of rho y, M_y of rho x, I_x of rho y^2, I_y of rho x^2, up "
        "every strip and then across"
    )
    second_method = "Green's theorem: the antiderivative in x times dy around the plate"

    def solve(self, given: Lamina, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        strips = lamina_strips(given, ar)
        wrong = faults(strips, ar)
        if wrong is not None:
            return Solution(dict.fromkeys(self.answers, wrong))
        moments = {n: over_strips(given, strips, p, q, ar) for n, (p, q) in MOMENTS.items()}
        answers = with_centre(moments, ar)
        rows = tuple(Row(s.name, (over_strips(given, [s], 0, 0, ar),)) for s in strips)
        sheet = Sheet("Regions", (Column("m", MASS),), rows, self.method)
        return Solution(answers, (sheet,))

    def check(
        self, given: Lamina, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["mass"], NoAnswer):
            return ()
        strips = lamina_strips(given, ar)
        found = {n: along_edges(given, strips, p, q, ar) for n, (p, q) in MOMENTS.items()}
        sizes = {n: size_of_moment(given, p, q, ar) for n, (p, q) in MOMENTS.items()}
        return plate_residuals(answers, found, sizes)

    def figure(self, given: Lamina, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Drawn(drawn_points(region, given.reference, ar), region.name, region.kind == "hole")
            for region in given.regions
        ]
        parts.append(Mark((0.0, 0.0), "O", "axis"))
        if not isinstance(answers["centre"], NoAnswer):
            parts.append(Mark(answers["centre"], "centre of mass", "answer"))
        return Drawing(tuple(parts), "the plate and its centre of mass, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Lamina:
        """A plate between two curves 1/kappa of their height apart, of growing density."""
        plain = family("centroids/between-curves").propose(kappa, rng)
        return Lamina(plain.regions, _density(rng), plain.reference)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Lamina | None:
        plain = family("centroids/between-curves").filled({"regions": rows.get("regions", 1)}, rng)
        if plain is None or not set(rows) <= {"regions", "density"}:
            return None
        terms = tuple(
            DensityTerm(drawn(rng, 1, 9), fmpq(rng.randint(0, 2)), fmpq(rng.randint(0, 2)))
            for _ in range(rows.get("density", 2))
        )
        return Lamina(plain.regions, terms, plain.reference)


def _density(rng: random.Random) -> tuple[DensityTerm, ...]:
    return (
        DensityTerm(drawn(rng, 1, 9)),
        DensityTerm(drawn(rng, 1, 9), fmpq(rng.randint(0, 2)), fmpq(rng.randint(0, 2))),
    )
