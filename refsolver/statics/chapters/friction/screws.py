"""Screws: torque to raise and to lower a load, efficiency, and whether the screw holds.

Sources of the method, from memory: R. S. Khurmi and J. K. Gupta, "Theory of Machines",
chapter 10 (screw friction, V-threads by the coefficient mu / cos(half thread angle), collar
friction); R. C. Hibbeler, "Engineering Mechanics: Statics", section 8.4.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.dimensions import ANGULAR_SPEED, FORCE, LENGTH, MOMENT, NUMBER, POWER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    integer,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["Screw", "ScrewTorque"]


@attrs.frozen
class Screw:
    load: Exact = quantity(FORCE, "along the axis", sign="positive")
    mean_diameter: Exact = quantity(LENGTH, "of the thread", sign="positive")
    pitch: Exact = quantity(LENGTH, "of the thread", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient in the thread", sign="not negative")
    starts: int = integer("threads side by side", minimum=1, default=1)
    thread_angle: Angle | None = angle("between the flanks; none is a square thread", default=None)
    collar_friction: Exact = quantity(
        NUMBER, "coefficient at the collar", sign="not negative", default=fmpq(0)
    )
    collar_radius: Exact = quantity(
        LENGTH, "mean radius of the collar", sign="not negative", default=fmpq(0)
    )
    lever: Exact | None = quantity(
        LENGTH, "radius at which the effort works", sign="positive", default=None
    )
    speed: Exact | None = quantity(ANGULAR_SPEED, "of rotation", sign="positive", default=None)


def lead(pitch: Number, starts: int) -> Number:
    """Advance in a turn."""
    return pitch * starts


def thread_friction(friction: Number, half_cosine: Number) -> Number:
    """mu / cos(half the thread angle)."""
    return friction / half_cosine


def raising_tangent(slope: Number, friction: Number) -> Number:
    """tan(phi + alpha) = (mu + t) / (1 - mu t)."""
    return (friction + slope) / (1 - friction * slope)


def lowering_tangent(slope: Number, friction: Number) -> Number:
    """tan(phi - alpha) = (mu - t) / (1 + mu t)."""
    return (friction - slope) / (1 + friction * slope)


def collar_torque(load: Number, friction: Number, radius: Number) -> Number:
    """mu W R of the collar."""
    return load * friction * radius


def _thread(given: Screw, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number, Number]:
    """Tangent of the helix angle and friction coefficient of the thread."""
    slope = rules.lead(ar.bring(given.pitch), given.starts) / (
        ar.pi() * ar.bring(given.mean_diameter)
    )
    friction = ar.bring(given.friction)
    if given.thread_angle is None:
        return slope, friction
    cosine, _ = ar.cos_sin(given.thread_angle)
    return slope, rules.thread_friction(friction, ar.sqrt((1 + cosine) / 2))


_STATES = ("runs back", "on the point of running back", "holds itself")
_JAMS = NoAnswer("no solution", "helix and friction angle reach 90 degrees: no torque raises it")
_NO_THREAD = NoAnswer("not defined", "flanks at 180 degrees to each other are no thread")
_NO_SPEED = NoAnswer("not defined", "no speed is stated")
_NO_LEVER = NoAnswer("not defined", "no lever is stated")


@register
class ScrewTorque(Family):
    name = "friction/screw"
    title = "Torque of a screw against friction"
    givens = Screw
    answers = {
        "raising torque": Answer(
            ScalarKind(MOMENT), "to raise the load", ("no solution", "not defined")
        ),
        "lowering torque": Answer(
            ScalarKind(MOMENT),
            "to lower the load; negative holds it back from running down",
            ("not defined",),
        ),
        "raising effort": Answer(
            ScalarKind(FORCE), "at the lever, to raise", ("no solution", "not defined")
        ),
        "lowering effort": Answer(ScalarKind(FORCE), "at the lever, to lower", ("not defined",)),
        "raising power": Answer(
            ScalarKind(POWER), "at the speed, to raise", ("no solution", "not defined")
        ),
        "efficiency": Answer(
            ScalarKind(NUMBER), "of raising, as a fraction", ("no solution", "not defined")
        ),
        "torque ratio": Answer(
            ScalarKind(NUMBER), "raising over lowering torque", ("no solution", "not defined")
        ),
        "state": Answer(ChoiceKind(_STATES), "with no torque applied", ("not defined",)),
    }
    rules = {
        "lead": lead,
        "thread_friction": thread_friction,
        "raising_tangent": raising_tangent,
        "lowering_tangent": lowering_tangent,
        "collar_torque": collar_torque,
    }
    mistakes = (
        Mistake(
            "tangents added",
            "mu + tan(alpha) is taken for tan(phi + alpha)",
            rules={"raising_tangent": lambda slope, friction: friction + slope},
        ),
        Mistake(
            "pitch for lead",
            "a thread of several starts is taken to advance one pitch a turn",
            rules={"lead": lambda pitch, starts: pitch},
        ),
        Mistake(
            "collar left out",
            "the friction of the collar is forgotten",
            rules={"collar_torque": lambda load, friction, radius: load * 0},
        ),
        Mistake(
            "thread taken as square",
            "the inclination of the flanks is forgotten",
            rules={"thread_friction": lambda friction, half_cosine: friction},
        ),
        Mistake(
            "friction helps to raise",
            "the friction angle is subtracted when raising",
            rules={"raising_tangent": lambda slope, friction: lowering_tangent(-slope, -friction)},
        ),
    )
    method = (
        "T = W (d/2) tan(phi + alpha) + mu_c W R, lowering tan(phi - alpha); eff = W lead/2 pi T"
    )
    second_method = (
        "forces on the unwound thread along and across it: W and Q balance N and mu N both ways"
    )
    caution = cautions.SCREWS

    def solve(self, given: Screw, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        if given.thread_angle is not None:
            cosine, _ = ar.cos_sin(given.thread_angle)
            if ar.sign(1 + cosine, "depth of the thread") <= 0:
                return Solution(dict.fromkeys(self.answers, _NO_THREAD))
        slope, friction = _thread(given, ar, rules)
        load, radius = ar.bring(given.load), ar.bring(given.mean_diameter) / 2
        collar = rules.collar_torque(
            load, ar.bring(given.collar_friction), ar.bring(given.collar_radius)
        )
        lowering = load * radius * rules.lowering_tangent(slope, friction) + collar
        answers: dict[str, Value] = dict.fromkeys(self.answers, _JAMS)
        lowers = ar.sign(lowering, "torque that lowers the load")
        answers["lowering torque"] = lowering
        answers["state"] = Choice(_STATES[1 + lowers], {"lowering torque": lowering})
        answers["lowering effort"] = (
            _NO_LEVER if given.lever is None else lowering / ar.bring(given.lever)
        )
        torques = {"lowering": lowering, "collar": collar}
        if ar.sign(1 - friction * slope, "helix and friction angle short of 90 degrees") > 0:
            raising = load * radius * rules.raising_tangent(slope, friction) + collar
            torques["raising"] = raising
            answers["raising torque"] = raising
            answers["raising effort"] = (
                _NO_LEVER if given.lever is None else raising / ar.bring(given.lever)
            )
            answers["raising power"] = (
                _NO_SPEED if given.speed is None else raising * ar.bring(given.speed)
            )
            answers["efficiency"] = load * radius * slope / raising
            answers["torque ratio"] = (
                raising / lowering
                if lowers
                else NoAnswer("not defined", "no torque is needed to lower the load")
            )
        sheets = (
            number_sheet("Thread", {"tan alpha": slope, "mu": friction}, "", NUMBER),
            number_sheet("Torques", torques, self.method, MOMENT),
        )
        return Solution(answers, sheets)

    def check(
        self, given: Screw, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["lowering torque"], NoAnswer):
            return []
        slope, friction = _thread(given, ar, self.rule_set())
        load, radius = ar.bring(given.load), ar.bring(given.mean_diameter) / 2
        collar = load * ar.bring(given.collar_friction) * ar.bring(given.collar_radius)
        size = load * (1 + friction) * (1 + slope)
        down = (answers["lowering torque"] - collar) / radius
        # Q down the slope: normal W - Q t, along W t + Q = mu N (both over the cosine).
        off = load * slope + down - friction * (load - down * slope)
        residuals = [Residual("lowering, along the thread", off, size)]
        lowering, sign = answers["lowering torque"], _STATES.index(answers["state"].word) - 1
        residuals.append(of_sign("state", sign, lowering, size * radius + collar, ar))
        if isinstance(answers["raising torque"], NoAnswer):
            return residuals
        up = (answers["raising torque"] - collar) / radius
        off = up - load * slope - friction * (load + up * slope)
        residuals.append(Residual("raising, along the thread", off, size + up * (1 + slope)))
        got = load * ar.bring(given.pitch) * given.starts
        put_in = 2 * ar.pi() * answers["raising torque"]
        if not isinstance(answers["torque ratio"], NoAnswer):
            off = answers["torque ratio"] * lowering - answers["raising torque"]
            residuals.append(Residual("raising over lowering", off, answers["raising torque"]))
        residuals.append(Residual("work of a turn", answers["efficiency"] * put_in - got, got))
        if given.speed is not None:
            off = answers["raising power"] / ar.bring(given.speed) - answers["raising torque"]
            residuals.append(Residual("power", off, answers["raising torque"]))
        for way in ("raising", "lowering"):
            effort = answers[f"{way} effort"]
            if given.lever is not None:
                torque = answers[f"{way} torque"]
                off = effort * ar.bring(given.lever) - torque
                residuals.append(Residual(f"lever, {way}", off, load * radius + ar.size(torque)))
        return residuals

    def figure(self, given: Screw, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        slope = lead(ar.bring(given.pitch), given.starts) / (
            math.pi * ar.bring(given.mean_diameter)
        )
        load = ar.bring(given.load)
        corner = (1.0, float(slope))
        parts = (
            Stroke((0.0, 0.0), (1.0, 0.0)),
            Stroke((1.0, 0.0), corner, "lead"),
            Stroke((0.0, 0.0), corner, "thread unwound"),
            Arrow((0.5, corner[1] / 2), (0.0, -load), "W"),
        )
        return Drawing(parts, "one turn of the thread unwound, to scale, with the load on it")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Screw:
        """Helix and friction angle differ by about 1/kappa of themselves."""
        gap = gap_for(rng, kappa, 2.7)
        places = 2 + figures_for(kappa[1])
        diameter, friction = rng.uniform(20, 80), rng.uniform(0.08, 0.2)
        pitch = friction * math.pi * diameter * (1 - gap)
        starts = rng.randint(1, 3)
        return Screw(
            fmpq(rng.randint(1000, 99999)),
            decimal(diameter, places),
            decimal(pitch / starts, places),
            decimal(friction, places),
            starts,
            lever=fmpq(rng.randint(200, 900)),
        )
