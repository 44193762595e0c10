"""Where a mechanism of one freedom is in equilibrium, and whether it stays there.

The mechanism, its sources and its signs are in :mod:`.mechanism`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Angle, Turn
from refsolver.quantities.dimensions import ANGLE, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    AlternativesKind,
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    Value,
)
from refsolver.statics import cautions
from refsolver.statics.chapters.virtual_work.cancelling import nearly_cancelled
from refsolver.statics.chapters.virtual_work.drawn import (
    drawn_mechanism,
    mechanism_with_rows,
    two_bars,
    with_knee_load,
)
from refsolver.statics.chapters.virtual_work.energy import (
    MISTAKES,
    RULES,
    PotentialEnergy,
    positions,
    virtual_work,
    without_separation,
)
from refsolver.statics.chapters.virtual_work.idle import nothing_does_work
from refsolver.statics.chapters.virtual_work.mechanism import BarCouple, Mechanism
from refsolver.statics.chapters.virtual_work.meeting_points import meeting_pair
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
)
from refsolver.statics.drawing import Drawing, Primitive
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["BALANCE", "STABILITY", "EquilibriumPositions", "MechanismBetween", "PlacedMechanism",
           "Stability"]  # fmt: skip

STABILITY = ("stable", "unstable", "neutral")
BALANCE = ("in equilibrium", "driven to larger angles", "driven to smaller angles")


@attrs.frozen(kw_only=True)
class PlacedMechanism(Mechanism):
    angle: Angle = angle("the position", default=attrs.NOTHING)


@attrs.frozen(kw_only=True)
class MechanismBetween(Mechanism):
    start: Angle = angle("where the search begins; this angle itself is left out",
                         default=attrs.NOTHING)  # fmt: skip
    end: Angle = angle("where the search ends; this angle itself is left out",
                       default=attrs.NOTHING)  # fmt: skip

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        if not isinstance(self.start, Turn) or not isinstance(self.end, Turn):
            raise ValueError("state 'start' and 'end' in degrees")
        if self.start.turns >= self.end.turns:
            raise ValueError("'start' must be less than 'end'")
        if self.end.turns - self.start.turns > 1:
            raise ValueError("'start' and 'end' lie more than one turn apart")


def by_second_derivative(second: Number, name: str, ar: Arithmetic) -> str:
    """A minimum of the energy is stable; neutral where the second derivative is zero."""
    sign = ar.sign(second, name)
    return "stable" if sign > 0 else "unstable" if sign < 0 else "neutral"


def _exchanged(second: Number, name: str, ar: Arithmetic) -> str:
    return by_second_derivative(-second, f"{name}, reversed", ar)


_REVERSED = Mistake(
    "stable and unstable exchanged",
    "a maximum of the potential energy is taken for the stable state",
    rules={"stability": _exchanged},
)

_DRAWS = 20

_BALANCED_RULES: dict[str, Callable[..., Any]] = {**RULES, "stability": by_second_derivative}


# --- a stated position --------------------------------------------------------------------


@register
class Stability(Family):
    name = "virtual-work/stability"
    title = "Is a mechanism in equilibrium in a given position, and is it stable?"
    givens = PlacedMechanism
    answers = {
        "balance": Answer(ChoiceKind(BALANCE), "what the forces do to it", ("not defined",)),
        "stability": Answer(
            ChoiceKind(STABILITY),
            "by the sign of the second derivative of the potential energy; neutral where it is "
            "zero, so that higher derivatives decide",
            ("not defined",),
        ),
        "first": Answer(
            ScalarKind(MOMENT), "derivative of the potential energy by the angle", ("not defined",)
        ),
        "second": Answer(
            ScalarKind(MOMENT),
            "second derivative of the potential energy, for each radian squared",
            ("not defined",),
        ),
    }
    rules = _BALANCED_RULES
    mistakes = (*MISTAKES, _REVERSED)
    method = "V' = 0 is equilibrium; V'' > 0 is stable, V'' < 0 unstable"
    second_method = (
        "the virtual work of all forces and its derivative, displacements from the places a "
        "quarter turn further, springs as forces on two points"
    )
    caution = cautions.MECHANISMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        c, s = ar.cos_sin(given.angle)
        lost = without_separation(given, positions(given.points, c, s, ar), ar)
        if lost is not None:
            why = NoAnswer("not defined", f"what joins {lost[0]} and {lost[1]} has no direction")
            return Solution(dict.fromkeys(self.answers, why))
        t = ar.radians(given.angle) if given.torsion_springs else 0 * c
        energy = PotentialEnergy(given, ar, rules)
        (first, parts), second = energy.first(t, c, s), energy.second(c, s)
        driven = ar.sign(first, "derivative of the potential energy")
        stability: Value = NoAnswer("not defined", "it is not in equilibrium there")
        if driven == 0:
            word = rules.stability(second, "second derivative of the potential energy", ar)
            stability = Choice(word, {"V''": second})
        answers = {
            "balance": Choice(BALANCE[0 if driven == 0 else 1 if driven < 0 else 2],
                              {"V'": first}),
            "stability": stability,
            "first": first,
            "second": second,
        }  # fmt: skip
        sheets = (
            number_sheet("First derivative of the potential energy", parts, self.method, MOMENT),
            number_sheet("Sums", {"V'": first, "V''": second}, "", MOMENT),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["first"], NoAnswer):
            return []
        c, s = ar.cos_sin(given.angle)
        t = ar.radians(given.angle) if given.torsion_springs else 0 * c
        first, second = answers["first"], answers["second"]
        residuals = _energy_residuals(given, first, second, t, c, s, "", ar)
        size = residuals[0].size
        sign = {BALANCE[0]: 0, BALANCE[1]: -1, BALANCE[2]: 1}[answers["balance"].word]
        residuals.append(of_sign("balance", sign, first, size, ar))
        return residuals + _stability_residuals(answers["stability"], second, "", size, ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        caption = "the points of the mechanism in this position and the forces on them"
        return Drawing(tuple(drawn_mechanism(given, ar.radians(given.angle), ar, caption)), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlacedMechanism:
        """Two bars on a spring, for a larger ``kappa`` nearly in equilibrium."""
        spread = log_uniform(rng, kappa)
        tables = two_bars(rng, torsion=rng.random() < 0.3)
        if spread > 30:
            turn = Turn(decimal(rng.uniform(20, 70), 1) / 360)
            return nearly_cancelled(
                self,
                "first",
                lambda load: PlacedMechanism(**with_knee_load(tables, load), angle=turn),
                spread,
            )
        return PlacedMechanism(**tables, angle=Turn(decimal(rng.uniform(5, 85), 2) / 360))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlacedMechanism | None:
        tables = mechanism_with_rows(rows, rng)
        return None if tables is None else PlacedMechanism(**tables, angle=Turn(fmpq(40, 360)))


def _energy_residuals(
    given: Mechanism,
    first: Number,
    second: Number,
    t: Number,
    c: Number,
    s: Number,
    where: str,
    ar: Arithmetic,
) -> list[Residual]:
    work, change, size = virtual_work(given, t, c, s, ar)
    return [
        Residual(f"virtual work{where}", work + first, size),
        Residual(f"derivative of the virtual work{where}", change + second, size),
    ]


def _stability_residuals(
    stability: Value, second: Number, where: str, size: Number, ar: Arithmetic
) -> list[Residual]:
    if isinstance(stability, NoAnswer):
        return []
    sign = {"stable": 1, "unstable": -1, "neutral": 0}[stability.word]
    return [of_sign(f"stability{where}", sign, second, size, ar)]


def _everywhere(zeros: Sequence[tuple[fmpq, Number]], ar: Arithmetic) -> Solution:
    """Every angle of the range is a position of equilibrium."""
    why = NoAnswer("no unique answer", "nothing does work: it balances at every angle")
    sheet = Sheet(
        "Virtual work",
        (Column("tan(t/2)", NUMBER), Column("V'", MOMENT)),
        tuple(Row(f"angle {n}", (ar.bring(x), v)) for n, (x, v) in enumerate(zeros, 1)),
        "zero at more angles than V' can have roots, so that it is zero at all",
    )
    return Solution({"positions": why, "count": why}, (sheet,))


def _about_to_meet(spread: float, rng: random.Random) -> dict[str, Any]:
    """Two bars, load and couple such that V' hardly crosses zero where V'' vanishes.

    The two roots of V' lie near that angle; with about 1/``spread`` more of the couple they
    would be one. ValueError where no such bars are drawn.
    """
    placed = Stability()
    for _ in range(_DRAWS):
        tables = two_bars(rng, torsion=rng.random() < 0.4)
        turn = Turn(decimal(rng.uniform(20, 70), 1) / 360)

        def loaded(load: fmpq, tables: dict[str, Any] = tables, turn: Turn = turn) -> Any:
            return PlacedMechanism(**with_knee_load(tables, load), angle=turn)

        level = nearly_cancelled(placed, "second", loaded, 1e3 * spread**0.5)

        def held(moment: fmpq, level: Any = level) -> Any:
            return attrs.evolve(level, couples=(BarCouple(moment),))

        meeting = nearly_cancelled(placed, "first", held, spread)
        beyond = attrs.evolve(meeting, angle=Turn(turn.turns + fmpq(1, 3600)))
        found = placed.solve(beyond, EnclosureArithmetic(), placed.rule_set()).answers
        # V' is negative for a positive couple, as the couple chosen is a little too large.
        if (found["second"] > 0) == (meeting.couples[0].moment > 0):
            return {**tables, "forces": meeting.forces, "couples": meeting.couples}
    raise ValueError("no two bars drawn have positions of equilibrium about to meet")


# --- all positions in a range -------------------------------------------------------------


@register
class EquilibriumPositions(Family):
    name = "virtual-work/equilibrium-positions"
    title = "All equilibrium positions of a mechanism between two angles, stable or not"
    givens = MechanismBetween
    answers = {
        "positions": Answer(
            AlternativesKind(
                {
                    "angle": ScalarKind(ANGLE),
                    "stability": ChoiceKind(STABILITY),
                    "second": ScalarKind(MOMENT),
                }
            ),
            "each with its angle, its stability and the second derivative of the potential "
            "energy there, in the order of the angles",
            ("no solution", "no unique answer", "not defined"),
        ),
        "count": Answer(
            ScalarKind(NUMBER), "how many there are", ("no unique answer", "not defined")
        ),
    }
    rules = _BALANCED_RULES
    mistakes = (*MISTAKES, _REVERSED)
    method = (
        "all roots of V' = 0 strictly between the two angles, proven complete; V'' > 0 is stable, "
        "V'' < 0 unstable"
    )
    second_method = (
        "at each position the virtual work of all forces vanishes and its derivative is - V'', "
        "displacements from the places a quarter turn further, springs as forces on two points"
    )
    caution = cautions.MECHANISMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        start, end = given.start.turns, given.end.turns
        meeting = meeting_pair(given, start, end, ar)
        if meeting is not None:
            why = NoAnswer(
                "not defined", f"where {meeting[0]} and {meeting[1]} meet, what joins them has no "
                "direction",
            )  # fmt: skip
            return Solution({"positions": why, "count": why})
        turn = 2 * ar.pi()
        energy = PotentialEnergy(given, ar, rules)

        def first(x: Number) -> Number:
            t = turn * x
            return energy.first(t, ar.cos(t), ar.sin(t))[0]

        def second_at(x: Number) -> Number:
            t = turn * x
            return energy.second(ar.cos(t), ar.sin(t))

        zeros = nothing_does_work(given, lambda c, s: energy.first(0 * c, c, s)[0], start, end, ar)
        if zeros:
            return _everywhere(zeros, ar)
        found = ar.roots(
            first,
            lambda x: turn * second_at(x),
            (start, end),
            "positions of equilibrium",
        )
        states = []
        for number, x in enumerate(found, 1):
            second = second_at(x)
            name = f"second derivative of the potential energy, position {number}"
            word = rules.stability(second, name, ar)
            states.append(
                {"angle": turn * x, "stability": Choice(word, {"V''": second}), "second": second}
            )
        answers = {"positions": states, "count": ar.bring(fmpq(len(states)))}
        rows = tuple(
            Row(f"position {n}, {state['stability'].word}", (state["angle"], state["second"]))
            for n, state in enumerate(states, 1)
        )
        columns = (Column("angle", ANGLE), Column("V''", MOMENT))
        return Solution(answers, (Sheet("Positions", columns, rows, self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        one = ar.bring(fmpq(1))
        states = answers["positions"]
        if isinstance(states, NoAnswer):
            if states.reason == "not defined":
                return []
            ends = ((name, getattr(given, name)) for name in ("start", "end"))
            return [
                residual
                for name, end in ends
                for residual in _energy_residuals(
                    given, 0 * one, 0 * one, ar.radians(end), *ar.cos_sin(end), f", {name}", ar
                )
            ]
        residuals = [Residual("count", answers["count"] - len(states), one)]
        for number, state in enumerate(states, 1):
            t = state["angle"]
            here, second = f", {number}", state["second"]
            residuals += _energy_residuals(
                given, 0 * one, second, t, ar.cos(t), ar.sin(t), here, ar
            )
            size = residuals[-1].size
            residuals += _stability_residuals(state["stability"], second, here, size, ar)
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        caption = "the points of the mechanism in each position of equilibrium"
        states = answers["positions"]
        found = [] if isinstance(states, NoAnswer) else [state["angle"] for state in states]
        parts: list[Primitive] = []
        for t in found or [ar.radians(given.start)]:
            parts += drawn_mechanism(given, t, ar, caption)
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> MechanismBetween:
        """Two bars on a spring, for a larger ``kappa`` with two positions about to meet."""
        spread = log_uniform(rng, kappa)
        tables = two_bars(rng, torsion=rng.random() < 0.4)
        if spread > 30:
            tables = _about_to_meet(spread, rng)
        return MechanismBetween(**tables, start=Turn(fmpq(-85, 360)), end=Turn(fmpq(85, 360)))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> MechanismBetween | None:
        tables = mechanism_with_rows(rows, rng)
        if tables is None:
            return None
        return MechanismBetween(**tables, start=Turn(fmpq(-171, 360)), end=Turn(fmpq(189, 360)))
