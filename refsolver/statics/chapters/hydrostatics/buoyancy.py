"""Buoyancy of bodies wholly under a fluid.

Source of the method: any text of physics, for instance P. P. Urone and R. Hinrichs,
"College Physics", OpenStax, section on Archimedes' principle: the buoyant force is the
weight of the fluid displaced.
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
    FORCE,
    SPECIFIC_WEIGHT,
    VOLUME,
)
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    Value,
)
from refsolver.statics.chapters.hydrostatics.fluids import AFLOAT, unknown_given
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Region, Stroke
from refsolver.statics.limits import reaches
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["SubmergedBody", "SubmergedBodyGivens", "unknown_given"]


@attrs.frozen
class SubmergedBodyGivens:
    """Any three of the five, not weight, volume and the body's weight per volume alone."""

    weight: Exact | None = unknown_given(FORCE, "of the body in air")
    apparent: Exact | None = unknown_given(
        FORCE, "its weight in the fluid; negative if it has to be held down", "any"
    )
    volume: Exact | None = unknown_given(VOLUME, "of the body")
    body: Exact | None = unknown_given(SPECIFIC_WEIGHT, "weight per volume of the body")
    fluid: Exact | None = unknown_given(SPECIFIC_WEIGHT, "weight per volume of the fluid")

    def __attrs_post_init__(self) -> None:
        stated = {a.name for a in attrs.fields(type(self)) if getattr(self, a.name) is not None}
        if len(stated) != 3 or stated == {"weight", "volume", "body"}:
            raise ValueError(
                "state three of weight, apparent, volume, body and fluid, one of them 'fluid' or "
                "'apparent'"
            )
        if reaches(self.apparent, self.weight):
            raise ValueError("in a fluid a body seems lighter: 'apparent' is below 'weight'")


def buoyancy_of(fluid: Number, volume: Number, body: Number | None) -> Number:
    """The weight of the fluid displaced, gamma_f V."""
    return fluid * volume


def seems(weight: Number, buoyancy: Number) -> Number:
    """W - B."""
    return weight - buoyancy


_NO_VOLUME = NoAnswer("no solution", "no body and fluid of positive weight fit what is stated")


@register
class SubmergedBody(Family):
    name = "hydrostatics/submerged-body"
    title = "A body wholly under a fluid: buoyancy and apparent weight"
    givens = SubmergedBodyGivens
    answers = {
        "weight": Answer(ScalarKind(FORCE), "of the body in air", ("no solution",)),
        "apparent": Answer(
            ScalarKind(FORCE), "its weight in the fluid; negative where it rises", ("no solution",)
        ),
        "buoyancy": Answer(ScalarKind(FORCE), "upward, of the fluid", ("no solution",)),
        "volume": Answer(ScalarKind(VOLUME), "of the body", ("no solution",)),
        "body": Answer(
            ScalarKind(SPECIFIC_WEIGHT), "weight per volume of the body", ("no solution",)
        ),
        "fluid": Answer(
            ScalarKind(SPECIFIC_WEIGHT), "weight per volume of the fluid", ("no solution",)
        ),
        "state": Answer(
            ChoiceKind(("sinks", "hovers", "rises")), "of the body let go", ("no solution",)
        ),
    }
    rules = {"buoyancy_of": buoyancy_of, "seems": seems}
    mistakes = (
        Mistake(
            "buoyancy with the body's own weight",
            "the volume is multiplied by the weight per volume of the body",
            rules={"buoyancy_of": lambda fluid, volume, body: body * volume},
        ),
        Mistake(
            "buoyancy added",
            "the buoyant force is added to the weight",
            rules={"seems": lambda weight, buoyancy: weight + buoyancy},
        ),
        Mistake(
            "apparent weight taken for the buoyancy",
            "what the body seems to weigh is taken for what it loses",
            givens=lambda given: (
                None
                if given.weight is None
                or given.apparent is None
                or not isinstance(given.weight, fmpq)
                or not isinstance(given.apparent, fmpq)
                or given.apparent <= 0
                else attrs.evolve(given, apparent=given.weight - given.apparent)
            ),
        ),
    )
    method = "W = gamma_b V, B = gamma_f V, apparent weight = W - B"
    second_method = (
        "the apparent weight as (gamma_b - gamma_f) V, and the ratio of weight to buoyancy as "
        "that of the weights per volume"
    )
    caution = AFLOAT

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        known = {
            name: ar.bring(getattr(given, name))
            for name in ("weight", "apparent", "volume", "body", "fluid")
            if getattr(given, name) is not None
        }
        if not _completed(known, ar, rules):
            return Solution(dict.fromkeys(self.answers, _NO_VOLUME))
        buoyancy = rules.buoyancy_of(known["fluid"], known["volume"], known["body"])
        known["buoyancy"] = buoyancy
        sheets = (
            number_sheet(
                "Weights per volume",
                {"body": known["body"], "fluid": known["fluid"]},
                "",
                SPECIFIC_WEIGHT,
            ),
            number_sheet("Volume", {"V": known["volume"]}, "", VOLUME),
            number_sheet(
                "Forces",
                {key: known[key] for key in ("weight", "buoyancy", "apparent")},
                self.method,
            ),
        )
        answers: dict[str, Value] = dict(known)
        sign = ar.sign(known["apparent"], "apparent weight")
        word = {1: "sinks", 0: "hovers", -1: "rises"}[sign]
        answers["state"] = Choice(word, {"apparent weight": known["apparent"]})
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["volume"], NoAnswer):
            return []
        names = ("weight", "apparent", "volume", "body", "fluid")
        weight, apparent, volume, body, fluid = (answers[name] for name in names)
        size = weight + ar.size(apparent) + answers["buoyancy"]
        residuals = [
            Residual("difference of weights", (body - fluid) * volume - apparent, size),
            Residual("weight less buoyancy", weight - answers["buoyancy"] - apparent, size),
            Residual("ratio", weight * fluid - answers["buoyancy"] * body, size * (body + fluid)),
        ]
        for name in names:
            if getattr(given, name) is not None:
                stated = ar.bring(getattr(given, name))
                off = answers[name] - stated
                residuals.append(Residual(f"stated {name}", off, ar.size(stated)))
        sign = {"sinks": 1, "hovers": 0, "rises": -1}[answers["state"].word]
        residuals.append(of_sign("state", sign, (body - fluid) * volume, size, ar))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        level = Stroke((-2.0, 1.0), (2.0, 1.0), "surface of the fluid", "construction")
        box = Region(((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)), "body")
        parts: list[Primitive] = [level, box]
        if not isinstance(answers["volume"], NoAnswer):
            parts.append(Arrow((0.0, -0.5), (0.0, -answers["weight"]), "W"))
            parts.append(Arrow((0.0, 0.5), (0.0, answers["buoyancy"]), "B", "answer"))
        return Drawing(tuple(parts), "A body under a fluid with its weight and its buoyancy")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SubmergedBodyGivens:
        """Body and fluid alike but for about 1/kappa."""
        target = log_uniform(rng, kappa)
        fluid = drawn(rng, 5, 15, 2)
        off = decimal(rng.choice((-1, 1)) * rng.uniform(0.4, 0.9) / target, figures_for(target))
        body = fluid * (1 + off)
        form = rng.choice(("volume", "weight", "apparent"))
        if form == "volume":
            return SubmergedBodyGivens(volume=drawn(rng, 1, 9), body=body, fluid=fluid)
        if form == "weight" or off == 0:
            return SubmergedBodyGivens(weight=drawn(rng, 10, 99), body=body, fluid=fluid)
        return SubmergedBodyGivens(
            apparent=drawn(rng, 10, 99) * (1 if off > 0 else -1), body=body, fluid=fluid
        )


def _completed(known: dict[str, Number], ar: Arithmetic, rules: SimpleNamespace) -> bool:
    """Adds the two unknown ones; False where no positive volume fits."""
    if "weight" not in known and "volume" not in known:
        lighter = known["body"] - known["fluid"]
        sides = ar.sign(lighter, "body heavier than the fluid")
        if sides * ar.sign(known["apparent"], "stated apparent weight") <= 0:
            return False
        known["volume"] = known["apparent"] / lighter
    if "weight" not in known:
        known["weight"] = (
            known["body"] * known["volume"]
            if "body" in known
            else known["apparent"] + known["fluid"] * known["volume"]
        )
    if "volume" not in known:
        known["volume"] = (
            known["weight"] / known["body"]
            if "body" in known
            else (known["weight"] - known["apparent"]) / known["fluid"]
        )
    if "body" not in known:
        known["body"] = known["weight"] / known["volume"]
    if "fluid" not in known:
        known["fluid"] = (known["weight"] - known["apparent"]) / known["volume"]
    buoyancy = rules.buoyancy_of(known["fluid"], known["volume"], known["body"])
    known.setdefault("apparent", rules.seems(known["weight"], buoyancy))
    return all(ar.sign(known[name], f"{name} above zero") > 0 for name in ("weight", "fluid"))
