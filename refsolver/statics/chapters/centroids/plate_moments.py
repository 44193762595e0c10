"""Plates of varying mass per area: what follows from their mass and its moments.

The centre of mass is at the first moments over the mass, the radius of gyration about an axis
is the root of the moment of inertia over the mass. Source of the method: G. Strang, E. Herman
et al., "Calculus Volume 3", OpenStax, section 5.6.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import LENGTH, MASS, MASS_MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, Value
from refsolver.statics.areas.second_moment_sums import gyration
from refsolver.statics.contract import Answer, Mistake, Residual

__all__ = [
    "MOMENTS",
    "RADII",
    "TAKEN_AS_UNIFORM",
    "plate_answers",
    "plate_residuals",
    "with_centre",
]

MOMENTS = {"mass": (0, 0), "M_y": (1, 0), "M_x": (0, 1), "I_y": (2, 0), "I_x": (0, 2)}
"""Answer to the powers of x and y in its integral."""
RADII = (("k_x", "I_x"), ("k_y", "I_y"), ("polar k", "polar"))


def plate_answers(*refused: str) -> dict[str, Answer]:
    """The answers for a plate; ``refused`` is why none of them may be there."""
    first, second = ScalarKind(MASS * LENGTH), ScalarKind(MASS_MOMENT)
    return {
        "mass": Answer(ScalarKind(MASS), "of the whole plate", refused),
        "M_x": Answer(first, "first moment about the x axis", refused),
        "M_y": Answer(first, "first moment about the y axis", refused),
        "centre": Answer(PointKind(), "the centre of mass", ("no point", *refused)),
        "I_x": Answer(second, "about the x axis", refused),
        "I_y": Answer(second, "about the y axis", refused),
        "polar": Answer(second, "about the origin, I_x + I_y", refused),
        **{
            k: Answer(ScalarKind(LENGTH), f"root of {n} over m", ("not defined",)) for k, n in RADII
        },
    }


def with_centre(moments: Mapping[str, Number], ar: Arithmetic) -> dict[str, Value]:
    """The moments, and the polar moment, the centre and the radii of gyration that follow."""
    answers: dict[str, Value] = {**moments, "polar": moments["I_x"] + moments["I_y"]}
    mass = moments["mass"]
    if ar.sign(mass, "mass of the whole") == 0:
        why = "positive and negative masses cancel"
        answers["centre"] = NoAnswer("no point", why)
        answers.update({k: NoAnswer("not defined", why) for k, _ in RADII})
        return answers
    answers["centre"] = (moments["M_y"] / mass, moments["M_x"] / mass)
    for k, n in RADII:
        answers[k] = gyration(answers[n], mass, n, "mass", ar)
    return answers


def plate_residuals(
    answers: Mapping[str, Value], moments: Mapping[str, Number], sizes: Mapping[str, Number]
) -> list[Residual]:
    """All answers against the moments by another route, each beside a size of its terms."""
    found = {**moments, "polar": moments["I_x"] + moments["I_y"]}
    sizes = {**sizes, "polar": sizes["I_x"] + sizes["I_y"]}
    residuals = [Residual(n, answers[n] - x, sizes[n]) for n, x in found.items()]
    if isinstance(answers["centre"], NoAnswer):
        return residuals
    for x, n in zip(answers["centre"], ("M_y", "M_x"), strict=True):
        residuals.append(Residual(f"centre from {n}", x * found["mass"] - found[n], sizes[n]))
    for k, n in RADII:
        if not isinstance(answers[k], NoAnswer):
            gap = answers[k] * answers[k] * found["mass"] - found[n]
            residuals.append(Residual(k, gap, sizes[n]))
    return residuals


def _uniform(given: Any) -> Any | None:
    """The first coefficient everywhere."""
    first = given.density[0]
    terms = (type(first)(first.coefficient),)
    return None if terms == given.density else attrs.evolve(given, density=terms)


TAKEN_AS_UNIFORM = Mistake(
    "taken as uniform",
    "the density of the first term alone is taken throughout",
    givens=_uniform,
)
