"""Floating by shares: densities and the part submerged; the marks of a hydrometer.

Source of the method: any text of physics, for instance P. P. Urone and R. Hinrichs,
"College Physics", OpenStax, section on Archimedes' principle.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import (
    DENSITY,
    FORCE,
    LENGTH,
    NUMBER,
    SPECIFIC_WEIGHT,
    VOLUME,
)
from refsolver.quantities.kinds import (
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
)
from refsolver.statics.chapters.hydrostatics.fluids import AFLOAT, unknown_given
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.limits import exceeds
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["FloatingShare", "FloatingShareGivens", "Hydrometer", "HydrometerStem", "ScaleMark"]


@attrs.frozen
class FloatingShareGivens:
    body: Exact | None = unknown_given(DENSITY, "mean density of the body")
    fluid: Exact | None = unknown_given(DENSITY, "density of the fluid")
    submerged: Exact | None = unknown_given(NUMBER, "share of the volume under the surface")

    def __attrs_post_init__(self) -> None:
        stated = [x for x in (self.body, self.fluid, self.submerged) if x is not None]
        if len(stated) != 2:
            raise ValueError("state two of body, fluid and submerged")
        if exceeds(self.submerged, fmpq(1)):
            raise ValueError("the submerged share is not above 1 (100 %)")


def share_of(body: Number, fluid: Number) -> Number:
    """rho_b / rho_f."""
    return body / fluid


_SINKS = NoAnswer("no solution", "the body is denser than the fluid and does not float")


@register
class FloatingShare(Family):
    name = "hydrostatics/floating-share"
    title = "A floating body: densities and the share of its volume submerged"
    givens = FloatingShareGivens
    answers = {
        "submerged": Answer(
            ScalarKind(NUMBER), "share of the volume under the surface", ("no solution",)
        ),
        "above": Answer(ScalarKind(NUMBER), "share above the surface", ("no solution",)),
        "body": Answer(ScalarKind(DENSITY), "mean density of the body"),
        "fluid": Answer(ScalarKind(DENSITY), "density of the fluid"),
    }
    rules = {"share_of": share_of}
    mistakes = (
        Mistake(
            "ratio upside down",
            "the density of the fluid is divided by that of the body",
            rules={"share_of": lambda body, fluid: fluid / body},
        ),
        Mistake(
            "share above taken for the share below",
            "the stated share, or the one found, is that above the surface",
            rules={"share_of": lambda body, fluid: 1 - body / fluid},
        ),
        Mistake(
            "stated share taken as that above",
            "the complement of the stated share is used",
            givens=lambda given: (
                attrs.evolve(given, submerged=1 - given.submerged)
                if isinstance(given.submerged, fmpq) and given.submerged < 1
                else None
            ),
        ),
    )
    method = "weight = weight of the fluid displaced: rho_b V = rho_f V_sub"
    second_method = "what floats above weighs as much as the fluid lacks below, rho_b / rho_f"
    caution = AFLOAT

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        if given.submerged is None:
            body, fluid = ar.bring(given.body), ar.bring(given.fluid)
            if ar.sign(body - fluid, "body denser than the fluid") > 0:
                answers = {"submerged": _SINKS, "above": _SINKS, "body": body, "fluid": fluid}
                return Solution(answers)
            share = rules.share_of(body, fluid)
        else:
            share = ar.bring(given.submerged)
            if given.body is None:
                fluid = ar.bring(given.fluid)
                body = share * fluid
            else:
                body = ar.bring(given.body)
                fluid = body / share
        shares = {"submerged": share, "above": 1 - share}
        sheets = (
            number_sheet("Densities", {"body": body, "fluid": fluid}, "", DENSITY),
            number_sheet("Shares of the volume", shares, self.method, NUMBER),
        )
        return Solution({**shares, "body": body, "fluid": fluid}, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        body, fluid = answers["body"], answers["fluid"]
        residuals = []
        for name in ("body", "fluid", "submerged"):
            stated = getattr(given, name)
            if stated is not None and not isinstance(answers[name], NoAnswer):
                size = ar.bring(stated)
                residuals.append(Residual(f"stated {name}", answers[name] - size, size))
        if isinstance(answers["submerged"], NoAnswer):
            return residuals
        below, above = answers["submerged"], answers["above"]
        off = above * body - below * (fluid - body)
        return [
            *residuals,
            Residual("weight above against lack below", off, fluid),
            Residual("above", (fluid - body) - above * fluid, fluid),
            Residual("below", body - below * fluid, fluid),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [Stroke((-1.0, 0.0), (2.0, 0.0), "surface", "construction")]
        share = answers["submerged"]
        low = -1.2 if isinstance(share, NoAnswer) else -share
        parts.append(Region(((0.0, low), (1.0, low), (1.0, low + 1), (0.0, low + 1)), "body"))
        return Drawing(tuple(parts), "The body as an upright block at its depth, shares to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> FloatingShareGivens:
        """About 1/kappa of the body above the surface."""
        target = log_uniform(rng, kappa)
        above = decimal(rng.uniform(0.3, 0.9) / target, figures_for(target))
        fluid, form = drawn(rng, 500, 1500), rng.choice(("share", "body", "fluid"))
        if form == "share":
            return FloatingShareGivens(fluid * (1 - above), fluid)
        if form == "body":
            return FloatingShareGivens(fluid=fluid, submerged=1 - above)
        return FloatingShareGivens(body=fluid, submerged=1 - above)


@attrs.frozen
class ScaleMark:
    relative_density: Exact = quantity(
        NUMBER, "of the fluid to the reference fluid", sign="positive"
    )
    name: str = text("what it is called")


@attrs.frozen
class HydrometerStem:
    weight: Exact = quantity(FORCE, "of the whole hydrometer", sign="positive")
    stem: Exact = quantity(LENGTH, "diameter of the stem", sign="positive")
    reference: Exact = quantity(
        SPECIFIC_WEIGHT, "weight per volume of the fluid of the mark 1", sign="positive"
    )
    marks: tuple[ScaleMark, ...] = many(ScaleMark, "the marks asked")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.marks, "mark")


def displaced_more(weight: Number, reference: Number, density: Number) -> Number:
    """W / gamma (1 / S - 1): the volume displaced beyond that in the reference fluid."""
    return weight / reference * (1 / density - 1)


@register
class Hydrometer(Family):
    name = "hydrostatics/hydrometer"
    title = "Marks on the stem of a hydrometer"
    givens = HydrometerStem
    answers = {
        "marks": Answer(
            TableKind(ScalarKind(LENGTH), "mark"),
            "height of each mark on the stem above the mark 1; below it negative",
        ),
        "displaced": Answer(ScalarKind(VOLUME), "below the mark 1"),
    }
    rules = {
        "displaced_more": displaced_more,
        "stem_area": lambda stem, ar: ar.pi() * stem * stem / 4,
    }
    mistakes = (
        Mistake(
            "marks evenly spaced",
            "the height is taken in proportion to 1 - S, not to 1 / S - 1",
            rules={
                "displaced_more": lambda weight, reference, density: (
                    weight / reference * (1 - density)
                )
            },
        ),
        Mistake(
            "marks the wrong way up",
            "denser fluids are marked higher on the stem",
            rules={
                "displaced_more": lambda weight, reference, density: (
                    weight / reference * (1 - 1 / density)
                )
            },
        ),
        Mistake(
            "diameter for radius",
            "the diameter of the stem is squared and multiplied by pi, without the quarter",
            rules={"stem_area": lambda stem, ar: ar.pi() * stem * stem},
        ),
    )
    method = "W = gamma V = S gamma (V + A h): h = W / (gamma A) (1 / S - 1)"
    second_method = "the weight recovered in each fluid from the volume below its mark"
    caution = ""

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weight, reference = ar.bring(given.weight), ar.bring(given.reference)
        area = rules.stem_area(ar.bring(given.stem), ar)
        heights = {
            key: rules.displaced_more(weight, reference, ar.bring(mark.relative_density)) / area
            for key, mark in zip(keys_of(given.marks, "mark"), given.marks, strict=True)
        }
        sheets = (
            number_sheet("Volume below the mark 1", {"V": weight / reference}, "", VOLUME),
            number_sheet("Heights on the stem", heights, self.method, LENGTH),
        )
        return Solution({"marks": heights, "displaced": weight / reference}, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        weight, reference = ar.bring(given.weight), ar.bring(given.reference)
        radius, volume = ar.bring(given.stem) / 2, answers["displaced"]
        residuals = [Residual("volume below the mark 1", volume * reference - weight, weight)]
        for (key, height), mark in zip(answers["marks"].items(), given.marks, strict=True):
            below = volume + height * radius * radius * ar.pi()
            fluid = reference * ar.bring(mark.relative_density)
            size = weight + volume * fluid
            residuals.append(Residual(f"weight at {key}", below * fluid - weight, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        heights = answers["marks"]
        reach = max(map(abs, heights.values())) or 1.0
        parts: list[Primitive] = [Stroke((0.0, -1.3 * reach), (0.0, 1.3 * reach), "stem")]
        parts.append(Mark((0.0, 0.0), "1"))
        parts += [Mark((0.0, height), key, "answer") for key, height in heights.items()]
        return Drawing(tuple(parts), "The stem with its marks, heights to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HydrometerStem:
        """Marks within about 1/kappa of the mark 1."""
        target = log_uniform(rng, kappa)
        return self._made(rng.randint(1, 3), target, rng)

    def _made(self, count: int, target: float, rng: random.Random) -> HydrometerStem:
        places = figures_for(target) + 1
        marks = tuple(
            ScaleMark(1 + decimal(rng.choice((-1, 1)) * rng.uniform(0.2, 0.5) / target, places))
            for _ in range(count)
        )
        return HydrometerStem(drawn(rng, 0.1, 2), drawn(rng, 1, 9), drawn(rng, 5, 15), marks)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> HydrometerStem | None:
        if set(rows) - {"marks"}:
            return None
        return self._made(rows.get("marks", 1), 3.0, rng)
