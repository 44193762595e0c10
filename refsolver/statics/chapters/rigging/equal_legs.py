"""Sling legs: what each leg of a bridle carries, by geometry alone.

Sources of the method: equilibrium of the hook, as in US Navy training course NAVEDTRA
14080, chapter 3 (bridle hitches), and Occupational Safety and Health Administration,
"Guidance on Safe Sling Use" (three legs counted of a four-leg bridle). Which legs of a
bridle of more than three share the load cannot follow from equilibrium: it is an
assumption, and a given here.

Rated capacities, choker reduction, dynamic effects, wear and edges are out of scope.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH, NUMBER
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    angle,
    choice,
    integer,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import scaled

__all__ = ["BridleLoads", "EqualBridle", "EqualLegs", "Hitch", "HitchTable"]

_SHARING = ("every leg", "three legs", "two legs")
_SHARING_SAYS = (
    "which legs carry the load, all alike: every leg; three of four; two of three or four"
)


def _sine_cosine(item: Any, ar: Arithmetic) -> tuple[Number, Number]:
    """Sine and cosine of the angle of a leg with the horizontal."""
    if item.angle is None:
        sine = ar.bring(item.height) / ar.bring(item.leg_length)
        return sine, ar.sqrt(1 - sine * sine)
    c, s = ar.cos_sin(item.angle)
    return (s, c) if item.measured_from == "horizontal" else (c, s)


def _check_inclination(item: Any) -> None:
    lengths = [x for x in (item.leg_length, item.height) if x is not None]
    if (item.angle is None) == (len(lengths) != 2) or (item.angle is not None and lengths):
        raise ValueError("state either the 'angle' of a leg or its 'leg_length' and 'height'")
    if len(lengths) == 2 and seen_sign(difference(*lengths)) == -1:
        raise ValueError("the height of a leg cannot exceed its length")


def _rises(sine: Number, cosine: Number, name: str, ar: Arithmetic) -> bool:
    """Whether a leg stands between the horizontal (excluded) and the vertical."""
    upward = ar.sign(sine, f"{name}: rise of the leg") > 0
    return upward and ar.sign(cosine, f"{name}: reach of the leg") >= 0


_FLAT = NoAnswer("no solution", "a level leg, or one that hangs, carries no weight at any tension")


# --- legs all alike -----------------------------------------------------------------------


@attrs.frozen
class EqualBridle:
    load: Exact = quantity(
        FORCE, "weight of the load, rigging below the hook included", sign="positive"
    )
    legs: int = integer("legs of the bridle, all alike", minimum=1)
    sharing: str = choice(_SHARING, _SHARING_SAYS, default="every leg")
    sharing_source: str = text("where that assumption comes from")
    angle: Angle | None = angle("of a leg", default=None)
    measured_from: str = choice(
        ("horizontal", "vertical"), "what the angle is measured from", default="horizontal"
    )
    leg_length: Exact | None = quantity(
        LENGTH, "of a leg, instead of the angle", sign="positive", default=None
    )
    height: Exact | None = quantity(
        LENGTH, "of the hook above the lugs", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        _check_inclination(self)
        if carrying_legs(self.legs, self.sharing) > self.legs:
            raise ValueError(f"{self.sharing} cannot carry where there are {self.legs}")


def carrying_legs(legs: int, sharing: str) -> int:
    """How many legs carry under an assumption of sharing."""
    return {"every leg": legs, "three legs": 3, "two legs": 2}[sharing]


def leg_tension(share: Number, sine: Number, cosine: Number) -> Number:
    """T = share / sin(angle from the horizontal)."""
    return share / sine


def _by_cosine(share: Number, sine: Number, cosine: Number) -> Number:
    return share / cosine


def _times_sine(share: Number, sine: Number, cosine: Number) -> Number:
    return share * sine


def _inclination_left_out(share: Number, sine: Number, cosine: Number) -> Number:
    return share


_LEG_MISTAKES = (
    Mistake(
        "angle from the wrong axis",
        "the cosine of the angle from the horizontal is used for its sine",
        rules={"leg_tension": _by_cosine},
    ),
    Mistake(
        "multiplied by the sine",
        "the share of a leg is multiplied by the sine instead of divided by it",
        rules={"leg_tension": _times_sine},
    ),
    Mistake(
        "inclination left out",
        "the load is divided by the number of legs and the inclination forgotten",
        rules={"leg_tension": _inclination_left_out},
    ),
)


@register
class EqualLegs(Family):
    name = "rigging/equal-legs"
    title = "Tension in a bridle of equal legs"
    givens = EqualBridle
    answers = {
        "tension": Answer(ScalarKind(FORCE), "in each carrying leg", ("no solution",)),
        "factor": Answer(
            ScalarKind(NUMBER), "tension over the share of the load", ("no solution",)
        ),
        "share": Answer(ScalarKind(FORCE), "weight that each carrying leg takes"),
        "horizontal": Answer(
            ScalarKind(FORCE), "level pull of each carrying leg on its lug", ("no solution",)
        ),
    }
    rules = {"carrying_legs": carrying_legs, "leg_tension": leg_tension}
    mistakes = (
        *_LEG_MISTAKES,
        Mistake(
            "all legs counted",
            "the load is divided by all legs although fewer are assumed to carry",
            rules={"carrying_legs": lambda legs, sharing: legs},
        ),
    )
    method = "share = W / carrying legs, T = share / sin(angle from the horizontal), H = T cos"
    second_method = "T^2 = H^2 + share^2, H sin = share cos, shares add up to the load"
    caution = cautions.RIGGING

    def solve(self, given: EqualBridle, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        sine, cosine = _sine_cosine(given, ar)
        share = ar.bring(given.load) / rules.carrying_legs(given.legs, given.sharing)
        if not _rises(sine, cosine, "bridle", ar):
            answers = {**dict.fromkeys(self.answers, _FLAT), "share": share}
            return Solution(answers, (number_sheet("Share", {"each leg": share}, self.method),))
        tension = rules.leg_tension(share, sine, cosine)
        found = {"share": share, "tension": tension, "horizontal": tension * cosine}
        return Solution(
            {**found, "factor": tension / share},
            (number_sheet("Each carrying leg", found, self.method),),
        )

    def check(
        self, given: EqualBridle, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        load, share = ar.bring(given.load), answers["share"]
        total = share * carrying_legs(given.legs, given.sharing)
        residuals = [Residual("shares add up", total - load, load)]
        tension, level = answers["tension"], answers["horizontal"]
        if isinstance(tension, NoAnswer):
            return residuals
        sine, cosine = _sine_cosine(given, ar)
        square = tension * tension
        off = square - level * level - share * share
        residuals.append(Residual("tension from its components", off, square))
        residuals.append(Residual("direction", level * sine - share * cosine, tension))
        residuals.append(Residual("factor", answers["factor"] * share - tension, tension))
        return residuals

    def figure(self, given: EqualBridle, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        sine, cosine = _sine_cosine(given, ar)
        lugs = [(-cosine, -sine), (cosine, -sine)]
        parts: list[Primitive] = [Stroke((0.0, 0.0), lug, role="body") for lug in lugs]
        parts.append(Stroke(lugs[0], lugs[1], "load"))
        parts.append(Arrow((0.0, -sine), (0.0, -ar.bring(given.load)), "W"))
        if not isinstance(answers["tension"], NoAnswer):
            pull = answers["tension"]
            parts += [Arrow(lug, scaled(-pull, lug), "T", "answer") for lug in lugs]
        caption = f"Bridle of {given.legs} equal legs from the side, {given.sharing} carrying"
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> EqualBridle:
        """The flatter the legs, measured from the vertical, the larger the condition number."""
        spread = log_uniform(rng, kappa)
        flat = math.degrees(math.atan(1 / spread))
        digits = figures_for(kappa[1])
        legs = rng.randint(2, 4)
        sharing = rng.choice(_SHARING[: 3 if legs > 2 else 1])
        return EqualBridle(
            fmpq(rng.randint(100, 99999)),
            legs,
            sharing,
            "random",
            Turn(decimal(90 - flat, digits) / 360),
            "vertical",
        )


# --- a table of hitches -------------------------------------------------------------------


@attrs.frozen
class Hitch:
    carrying: int = integer("parts of sling that carry, all alike", minimum=1)
    angle: Angle | None = angle("of each part", default=None)
    measured_from: str = choice(
        ("horizontal", "vertical"), "what the angle is measured from", default="horizontal"
    )
    leg_length: Exact | None = quantity(
        LENGTH, "of each part, instead of the angle", sign="positive", default=None
    )
    height: Exact | None = quantity(
        LENGTH, "of the hook above the lugs", sign="positive", default=None
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        _check_inclination(self)


@attrs.frozen
class HitchTable:
    tension: Exact = quantity(FORCE, "in each carrying part", sign="positive")
    hitches: tuple[Hitch, ...] = many(Hitch, "the arrangements")
    sharing_source: str = text("where the count of carrying parts comes from")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.hitches, "hitch")


def _angles_from_the_other_line(given: HitchTable) -> HitchTable | None:
    turned = tuple(
        hitch
        if hitch.angle is None
        else attrs.evolve(
            hitch,
            measured_from="vertical" if hitch.measured_from == "horizontal" else "horizontal",
        )
        for hitch in given.hitches
    )
    return attrs.evolve(given, hitches=turned)


def lifted(tension: Number, carrying: int, sine: Number) -> Number:
    """W = n T sin(angle from the horizontal)."""
    return tension * sine * carrying


@register
class BridleLoads(Family):
    name = "rigging/bridle-loads"
    title = "Load that brings a stated tension into the legs, for several arrangements"
    givens = HitchTable
    answers = {
        "loads": Answer(
            TableKind(ScalarKind(FORCE), "hitch"),
            "the load at which each carrying part has the stated tension",
            ("no solution",),
        ),
        "factors": Answer(
            TableKind(ScalarKind(NUMBER), "hitch"),
            "tension over the share of the load of one part: 1 / sin(angle from the horizontal)",
            ("no solution",),
        ),
    }
    rules = {"lifted": lifted}
    mistakes = (
        Mistake(
            "inclination left out",
            "parts times tension, whatever the angle",
            rules={"lifted": lambda tension, carrying, sine: tension * carrying},
        ),
        Mistake(
            "divided by the sine",
            "the load is taken as the tension over the sine, the wrong way round",
            rules={"lifted": lambda tension, carrying, sine: tension * carrying / sine},
        ),
        Mistake(
            "one part counted",
            "the load that one part lifts is given for all of them",
            rules={"lifted": lambda tension, carrying, sine: tension * sine},
        ),
        Mistake(
            "angle from the other line",
            "the angle from the horizontal is taken as from the vertical, or the other way round",
            givens=_angles_from_the_other_line,
        ),
    )
    method = "W = n T sin(angle from the horizontal) = n T H / L"
    second_method = "(W / n)^2 + (T cos)^2 = T^2 for each hitch, and factor x (W / n) = T"
    caution = cautions.RIGGING

    def solve(self, given: HitchTable, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        tension = ar.bring(given.tension)
        loads: dict[str, Value] = {}
        factors: dict[str, Value] = {}
        rows = []
        for hitch, key in zip(given.hitches, keys_of(given.hitches, "hitch"), strict=True):
            sine, cosine = _sine_cosine(hitch, ar)
            if not _rises(sine, cosine, key, ar):
                loads[key] = factors[key] = _FLAT
                continue
            loads[key] = rules.lifted(tension, hitch.carrying, sine)
            factors[key] = 1 / sine
            rows.append(Row(key, (sine, loads[key])))
        columns = (Column("sine", NUMBER), Column("W", FORCE))
        sheet = Sheet("Hitches", columns, tuple(rows), self.method)
        return Solution({"loads": loads, "factors": factors}, (sheet,))

    def check(
        self, given: HitchTable, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        tension = ar.bring(given.tension)
        square = tension * tension
        residuals = []
        for hitch, key in zip(given.hitches, keys_of(given.hitches, "hitch"), strict=True):
            load = answers["loads"][key]
            if isinstance(load, NoAnswer):
                continue
            share = load / hitch.carrying
            level = tension * _sine_cosine(hitch, ar)[1]
            off = share * share + level * level - square
            residuals.append(Residual(f"components of {key}", off, square))
            off = answers["factors"][key] * share - tension
            residuals.append(Residual(f"factor of {key}", off, tension))
        return residuals

    def figure(self, given: HitchTable, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        for number, (hitch, key) in enumerate(
            zip(given.hitches, keys_of(given.hitches, "hitch"), strict=True)
        ):
            sine, cosine = _sine_cosine(hitch, ar)
            hook = (3.0 * number, 0.0)
            for side in (-1, 1):
                parts.append(Stroke(hook, (hook[0] + side * cosine, -sine)))
            parts.append(Mark(hook, key))
        return Drawing(
            tuple(parts), f"{len(given.hitches)} hitches with legs of length 1, to scale"
        )

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HitchTable:
        """Angles from the vertical; the flattest has about the condition number asked."""
        bridle = EqualLegs().propose(kappa, rng)
        hitches = tuple(
            Hitch(rng.randint(1, 4), a, "vertical")
            for a in (Turn(decimal(rng.uniform(0, 60), 1) / 360), bridle.angle)
        )
        return HitchTable(bridle.load, hitches, "random")

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> HitchTable | None:
        count = rows.get("hitches", 0)
        hitches = tuple(
            Hitch(rng.randint(1, 4), Turn(decimal(rng.uniform(20, 90), 1) / 360))
            for _ in range(count)
        )
        return HitchTable(fmpq(rng.randint(100, 9999)), hitches, "random") if count else None
