"""Lifting machines: velocity ratio, mechanical advantage, efficiency.

Sources of the method, from memory: R. S. Khurmi, "A Textbook of Engineering Mechanics",
chapters 10 and 11 (simple machines, simple lifting machines). A machine runs back under
its load where its efficiency exceeds one half (the friction taken alike both ways).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.lifting_machines.travels import travel_residual
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    integer,
    many,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["Gear", "Machine", "Performance"]

_NEEDS: dict[str, tuple[str, ...]] = {
    "stated ratio": ("velocity_ratio",),
    "arms": ("effort_arm", "load_arm"),
    "gears alone": (),
    "differential axle": ("effort_arm", "load_arm", "smaller"),
    "differential block": ("load_arm", "smaller"),
    "screw": ("effort_arm", "load_arm"),
    "differential screw": ("effort_arm", "load_arm", "smaller"),
    "pulleys, first order": ("pulleys",),
    "pulleys, second order": ("pulleys",),
    "pulleys, third order": ("pulleys",),
}
_KINDS_SAY = (
    "arms: lever, wheel and axle, winch, or length over height of a plane; screw: load_arm is "
    "the lead; first order: each movable pulley on its own rope; second: one rope, so many "
    "pulleys in both blocks; third: every rope made fast to the load"
)


@attrs.frozen
class Gear:
    driven: int = integer("teeth of the driven wheel", minimum=1)
    driver: int = integer("teeth of the driver, or starts of a worm", minimum=1)


@attrs.frozen
class Machine:
    kind: str = choice(tuple(_NEEDS), _KINDS_SAY)
    velocity_ratio: Exact | None = quantity(
        NUMBER, "of a machine known by it alone", sign="positive", default=None
    )
    effort_arm: Exact | None = quantity(
        LENGTH, "radius at which the effort works, or its travel", sign="positive", default=None
    )
    load_arm: Exact | None = quantity(
        LENGTH, "radius of the load, its travel, or the lead", sign="positive", default=None
    )
    smaller: Exact | None = quantity(
        LENGTH, "the smaller radius, or lead, of a differential", sign="positive", default=None
    )
    pulleys: int = integer("number of pulleys of a system", default=0)
    gears: tuple[Gear, ...] = many(Gear, "gears between effort and load", minimum=0, default=())
    load: Exact | None = quantity(FORCE, "lifted", sign="positive", default=None)
    effort: Exact | None = quantity(FORCE, "that lifts it", sign="positive", default=None)
    efficiency: Exact | None = quantity(
        NUMBER, "as a fraction, where the load or the effort is asked", sign="positive",
        default=None,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        for name in ("velocity_ratio", "effort_arm", "load_arm", "smaller", "pulleys"):
            stated = getattr(self, name) not in (None, 0)
            if stated != (name in _NEEDS[self.kind]):
                word = "needs" if name in _NEEDS[self.kind] else "takes no"
                raise ValueError(f"kind = {self.kind!r} {word} {name!r}")
        if sum(x is not None for x in (self.load, self.effort, self.efficiency)) != 2:
            raise ValueError("state two of 'load', 'effort' and 'efficiency'; the third follows")


def differential_ratio(effort_arm: Number, larger: Number, smaller: Number) -> Number:
    """V = 2 R / (r1 - r2): the load hangs on two parts of rope."""
    return 2 * effort_arm / (larger - smaller)


def screw_ratio(arm: Number, lead: Number, ar: Arithmetic) -> Number:
    """V = 2 pi l / lead."""
    return 2 * ar.pi() * arm / lead


def gear_ratio(gears: Sequence[Gear], ar: Arithmetic) -> Number:
    """Product of driven over driver."""
    product = ar.bring(fmpq(1))
    for gear in gears:
        product = product * ar.bring(fmpq(gear.driven, gear.driver))
    return product


def pulley_ratio(kind: str, count: int) -> int:
    """2^n, n, and 2^n - 1 of the first, second and third order."""
    powers: dict[str, int] = {"first": 2**count, "second": count, "third": 2**count - 1}
    return powers[kind.split()[1]]


def effort_lost(effort: Number, ideal: Number) -> Number:
    """Effort over what a frictionless machine would take, P - W / V."""
    return effort - ideal


def _base_ratio(given: Machine, ar: Arithmetic, rules: SimpleNamespace) -> Number | None:
    """Velocity ratio without the gears; None where a differential has no difference."""
    if given.kind.startswith("pulleys"):
        return ar.bring(fmpq(rules.pulley_ratio(given.kind, given.pulleys)))
    if given.kind == "gears alone":
        return ar.bring(fmpq(1))
    if given.kind == "stated ratio":
        return ar.bring(given.velocity_ratio)  # type: ignore[arg-type]
    large = ar.bring(given.load_arm)  # type: ignore[arg-type]
    arm = large if given.effort_arm is None else ar.bring(given.effort_arm)
    if given.kind == "arms":
        return arm / large
    if given.kind == "screw":
        return rules.screw_ratio(arm, large, ar)
    small = ar.bring(given.smaller)  # type: ignore[arg-type]
    if ar.sign(large - small, "difference of the differential") <= 0:
        return None
    if given.kind == "differential screw":
        return rules.screw_ratio(arm, large - small, ar)
    return rules.differential_ratio(arm, large, small)


def _forces(given: Machine, ratio: Number, ar: Arithmetic) -> tuple[Number, Number]:
    """Load and effort, one of them perhaps from W = eta V P."""
    if given.load is None:
        effort = ar.bring(given.effort)  # type: ignore[arg-type]
        return ar.bring(given.efficiency) * ratio * effort, effort  # type: ignore[arg-type]
    load = ar.bring(given.load)
    if given.effort is None:
        return load, load / (ar.bring(given.efficiency) * ratio)  # type: ignore[arg-type]
    return load, ar.bring(given.effort)


def _efficiency(given: Machine, found: Number, ar: Arithmetic) -> Number:
    """The stated one where there is one: a screw's ratio would hide that it is rational."""
    return found if given.efficiency is None else ar.bring(given.efficiency)


_NONE = NoAnswer("no solution", "the larger of the two does not exceed the smaller: no lift")
_STATES = ("holds itself", "on the point of running back", "runs back")


@register
class Performance(Family):
    name = "lifting-machines/performance"
    title = "Velocity ratio, mechanical advantage and efficiency of a lifting machine"
    givens = Machine
    answers = {
        "velocity ratio": Answer(
            ScalarKind(NUMBER), "travel of the effort over travel of the load", ("no solution",)
        ),
        "load": Answer(ScalarKind(FORCE), "lifted", ("no solution",)),
        "effort": Answer(ScalarKind(FORCE), "that lifts it", ("no solution",)),
        "mechanical advantage": Answer(ScalarKind(NUMBER), "load over effort", ("no solution",)),
        "efficiency": Answer(
            ScalarKind(NUMBER), "work got over work put in, as a fraction", ("no solution",)
        ),
        "effort lost": Answer(
            ScalarKind(FORCE), "effort beyond the frictionless one", ("no solution",)
        ),
        "load lost": Answer(
            ScalarKind(FORCE), "load that the effort would lift more without friction",
            ("no solution",),
        ),
        "state": Answer(
            ChoiceKind(_STATES), "with the effort taken away: efficiency below, at or over 1/2",
            ("no solution",),
        ),
    }  # fmt: skip
    rules = {
        "differential_ratio": differential_ratio,
        "screw_ratio": screw_ratio,
        "gear_ratio": gear_ratio,
        "pulley_ratio": pulley_ratio,
        "effort_lost": effort_lost,
    }
    mistakes = (
        Mistake(
            "two parts of rope left out",
            "the factor two of a differential is forgotten",
            rules={"differential_ratio": lambda arm, large, small: arm / (large - small)},
        ),
        Mistake(
            "lever circle taken as its radius",
            "the effort is taken to travel l instead of 2 pi l a turn",
            rules={"screw_ratio": lambda arm, lead, ar: arm / lead},
        ),
        Mistake(
            "gears upside down",
            "driver over driven teeth",
            rules={"gear_ratio": lambda gears, ar: 1 / gear_ratio(gears, ar)},
        ),
        Mistake(
            "two to the n for two n",
            "pulleys counted double instead of doubling with each one",
            rules={"pulley_ratio": lambda kind, count: 2 * count},
        ),
        Mistake(
            "mechanical advantage for velocity ratio",
            "the velocity ratio is reported as load over effort",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["effort"], NoAnswer)
                else {**answers, "velocity ratio": answers["mechanical advantage"]}
            ),
        ),
    )
    method = "V from the machine, MA = W / P, efficiency = MA / V, lost: P - W / V and V P - W"
    second_method = (
        "the machine moved once: each wheel, pulley and nut followed from the load to the effort; "
        "work put in = work got + work lost, in effort and in load"
    )
    caution = cautions.LIFTING_MACHINES

    def solve(self, given: Machine, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        base = _base_ratio(given, ar, rules)
        if base is None:
            return Solution(dict.fromkeys(self.answers, _NONE))
        ratio = base * rules.gear_ratio(given.gears, ar)
        load, effort = _forces(given, ratio, ar)
        advantage = load / effort
        forces = {
            "load": load,
            "effort": effort,
            "effort lost": rules.effort_lost(effort, load / ratio),
            "load lost": ratio * effort - load,
        }
        numbers = {
            "velocity ratio": ratio,
            "mechanical advantage": advantage,
            "efficiency": advantage / ratio,
        }
        margin = 2 * _efficiency(given, advantage / ratio, ar) - 1
        word = _STATES[1 + ar.sign(margin, "efficiency against one half")]
        state = Choice(word, {"twice the efficiency less one": margin})
        sheets = (
            number_sheet("Ratios", numbers, self.method, NUMBER),
            number_sheet("Forces", forces, self.method),
        )
        return Solution({**forces, **numbers, "state": state}, sheets)

    def check(
        self, given: Machine, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["effort"], NoAnswer):
            return []
        put_in = answers["effort"] * answers["velocity ratio"]
        off = put_in - answers["load"] - answers["effort lost"] * answers["velocity ratio"]
        residuals = [
            Residual("work, lost at the effort", off, put_in),
            Residual(
                "work, lost at the load", put_in - answers["load"] - answers["load lost"], put_in
            ),
            Residual("efficiency", answers["efficiency"] * put_in - answers["load"], put_in),
            travel_residual(given, answers["velocity ratio"], ar),
        ]
        off = answers["mechanical advantage"] * answers["effort"] - answers["load"]
        residuals.append(Residual("load over effort", off, answers["load"]))
        margin = 2 * answers["efficiency"] - 1
        sign = _STATES.index(answers["state"].word) - 1
        residuals.append(of_sign("state", sign, margin, 2 + ar.size(margin), ar))
        for name in ("load", "effort", "efficiency"):
            stated = getattr(given, name)
            if stated is not None:
                value = ar.bring(stated)
                residuals.append(Residual(f"stated {name}", answers[name] - value, value))
        return residuals

    def figure(self, given: Machine, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ratio = answers["velocity ratio"]
        if isinstance(ratio, NoAnswer):
            return Drawing((Stroke((-1.0, 0.0), (1.0, 0.0)),), "a differential without difference")
        parts: list[Primitive] = [
            Stroke((-1.0 / ratio, 0.0), (1.0, 0.0), "equivalent lever"),
            Arrow((-1.0 / ratio, 0.0), (0.0, -answers["load"]), "W"),
            Arrow((1.0, 0.0), (0.0, -answers["effort"]), "P", "answer"),
        ]
        caption = "the lever of the same velocity ratio, its arms to scale, with load and effort"
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Machine:
        """A differential axle, block or screw: its radii or leads differ by about 1/kappa."""
        gap = gap_for(rng, kappa, 2.0, 0.7)
        places = 1 + figures_for(kappa[1])
        large = decimal(rng.uniform(50, 150), 1)
        small = large - decimal(float(large.p) / float(large.q) * gap, places)
        kind = rng.choice(("differential axle", "differential block", "differential screw"))
        arm = decimal(rng.uniform(200, 500), 1)
        return Machine(
            kind,
            effort_arm=None if kind == "differential block" else arm,
            load_arm=large,
            smaller=small,
            load=fmpq(rng.randint(100, 9999)),
            efficiency=decimal(rng.uniform(0.3, 0.95), 2),
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Machine | None:
        """Gears alone, no two ratios alike and none of them one."""
        teeth = range(11, 60)
        if set(rows) != {"gears"} or not 1 <= rows["gears"] <= len(teeth):
            return None
        drivers = rng.sample(teeth, rows["gears"])
        return Machine(
            "gears alone",
            gears=tuple(Gear(rng.randint(60, 140), driver) for driver in drivers),
            load=fmpq(rng.randint(100, 9999)),
            efficiency=decimal(rng.uniform(0.3, 0.95), 2),
        )
