"""The law of a machine, from two observations: effort = m load + c.

Source of the method, from memory: R. S. Khurmi, "A Textbook of Engineering Mechanics",
chapters 10 and 11 (simple machines, simple lifting machines).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, NUMBER
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Solution, quantity
from refsolver.statics.drawing import Drawing, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["Law", "LawOfMachine", "Observation"]


@attrs.frozen
class Observation:
    load: Exact = quantity(FORCE, "lifted", sign="not negative")
    effort: Exact = quantity(FORCE, "that lifted it", sign="not negative")


@attrs.frozen
class Law:
    velocity_ratio: Exact = quantity(NUMBER, "of the machine", sign="positive")
    load: Exact = quantity(FORCE, "at which effort and efficiency are asked", sign="positive")
    first: Exact = quantity(FORCE, "load of the first observation", sign="not negative")
    first_effort: Exact = quantity(FORCE, "its effort", sign="positive")
    second: Exact = quantity(FORCE, "load of the second observation", sign="not negative")
    second_effort: Exact = quantity(FORCE, "its effort", sign="positive")


def law_slope(first: Observation, second: Observation, ar: Arithmetic) -> Number:
    """m = (P2 - P1) / (W2 - W1)."""
    rise = ar.bring(second.effort) - ar.bring(first.effort)
    return rise / (ar.bring(second.load) - ar.bring(first.load))


def _slope_through_origin(first: Observation, second: Observation, ar: Arithmetic) -> Number:
    return ar.bring(second.effort) / ar.bring(second.load)


@register
class LawOfMachine(Family):
    name = "lifting-machines/law"
    title = "Law of a machine from two observations"
    givens = Law
    answers = {
        "slope": Answer(ScalarKind(NUMBER), "m of P = m W + C", ("no unique answer",)),
        "offset": Answer(ScalarKind(FORCE), "C of P = m W + C", ("no unique answer",)),
        "effort": Answer(ScalarKind(FORCE), "at the load asked", ("no unique answer",)),
        "efficiency": Answer(
            ScalarKind(NUMBER), "at the load asked", ("no unique answer", "not defined")
        ),
        "effort lost": Answer(ScalarKind(FORCE), "at the load asked", ("no unique answer",)),
        "greatest advantage": Answer(
            ScalarKind(NUMBER), "1 / m, approached by large loads",
            ("no unique answer", "not defined"),
        ),
        "greatest efficiency": Answer(
            ScalarKind(NUMBER), "1 / (m V), approached by large loads",
            ("no unique answer", "not defined"),
        ),
    }  # fmt: skip
    rules = {"law_slope": law_slope}
    mistakes = (
        Mistake(
            "law through the origin",
            "the effort without load is left out of the slope",
            rules={"law_slope": _slope_through_origin},
        ),
        Mistake(
            "effort without load left out",
            "the effort is the slope times the load, without C",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["slope"], NoAnswer)
                else {**answers, "effort": answers["effort"] - answers["offset"]}
            ),
        ),
        Mistake(
            "advantage for efficiency",
            "load over effort is reported as the efficiency",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["efficiency"], NoAnswer)
                else {
                    **answers,
                    "efficiency": answers["efficiency"] * ar.bring(given.velocity_ratio),
                }
            ),
        ),
        Mistake(
            "ideal effort for the effort lost",
            "what a machine without friction would take is reported as lost",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["slope"], NoAnswer)
                else {**answers, "effort lost": answers["effort"] - answers["effort lost"]}
            ),
        ),
    )
    method = "m = (P2 - P1)/(W2 - W1), C = P1 - m W1, P = m W + C, MA = W/P, eff = MA/V"
    second_method = "the three points (W1, P1), (W2, P2), (W, P) lie on one line; work balance"
    caution = cautions.LIFTING_MACHINES

    def solve(self, given: Law, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        apart = ar.bring(given.second) - ar.bring(given.first)
        if ar.sign(apart, "difference of the observed loads") == 0:
            alike = NoAnswer("no unique answer", "both observations are of one load")
            return Solution(dict.fromkeys(self.answers, alike))
        seen = (
            Observation(given.first, given.first_effort),
            Observation(given.second, given.second_effort),
        )
        slope = rules.law_slope(*seen, ar)
        offset = ar.bring(given.first_effort) - slope * ar.bring(given.first)
        load, ratio = ar.bring(given.load), ar.bring(given.velocity_ratio)
        effort = slope * load + offset
        flat = ar.sign(slope, "slope of the law") <= 0
        without = NoAnswer("not defined", "the effort does not grow with the load")
        nothing = ar.sign(effort, "effort at the load asked") <= 0
        forces = {"offset": offset, "effort": effort, "effort lost": effort - load / ratio}
        answers: dict[str, Value] = {
            **forces,
            "slope": slope,
            "efficiency": NoAnswer("not defined", "no effort is needed at this load")
            if nothing
            else load / (effort * ratio),
            "greatest advantage": without if flat else 1 / slope,
            "greatest efficiency": without if flat else 1 / (slope * ratio),
        }
        return Solution(answers, (number_sheet("Law of the machine", forces, self.method),))

    def check(self, given: Law, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["slope"], NoAnswer):
            return []
        x1, y1 = ar.bring(given.first), ar.bring(given.first_effort)
        x2, y2 = ar.bring(given.second), ar.bring(given.second_effort)
        load, effort = ar.bring(given.load), answers["effort"]
        turned = (x2 - x1) * (effort - y1) - (y2 - y1) * (load - x1)
        size = ar.size(x2 - x1) * (ar.size(effort) + y1) + ar.size(y2 - y1) * (load + x1)
        ratio = ar.bring(given.velocity_ratio)
        work = effort * ratio - load - answers["effort lost"] * ratio
        on_law = answers["slope"] * x2 + answers["offset"] - y2
        residuals = [
            Residual("one line", turned, size),
            Residual("second observation", on_law, y2 + ar.size(answers["offset"])),
            Residual("work", work, load + ar.size(effort) * ratio),
        ]
        if not isinstance(answers["efficiency"], NoAnswer):
            got = answers["efficiency"] * effort * ratio - load
            residuals.append(Residual("work got of work put in", got, load))
        if not isinstance(answers["greatest advantage"], NoAnswer):
            off = answers["greatest efficiency"] * ratio - answers["greatest advantage"]
            residuals.append(Residual("limits", off, answers["greatest advantage"]))
        return residuals

    def figure(self, given: Law, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        first = (ar.bring(given.first), ar.bring(given.first_effort))
        second = (ar.bring(given.second), ar.bring(given.second_effort))
        line = Stroke(first, second, "P = m W + C", "construction")
        return Drawing((line,), "effort over load through the two observations")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Law:
        """Two loads that differ by about 1/kappa of themselves."""
        gap = gap_for(rng, kappa, 20.0, 3.0)
        places = figures_for(kappa[1])
        first, effort = rng.uniform(200, 500), rng.uniform(20, 40)
        step = first * gap
        return Law(
            fmpq(rng.randint(20, 60)),
            fmpq(rng.randint(600, 999)),
            decimal(first, places),
            decimal(effort, places),
            decimal(first + step, places),
            decimal(effort + step * rng.uniform(0.03, 0.1), places),
        )
