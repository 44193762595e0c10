"""Wedges: force to drive in and to draw out, and whether the wedge stays by itself.

A load is guided upright between walls and rests on the sloping face of a wedge that
slides on a level floor; or it rests on two equal wedges pushed in from opposite sides,
whose side thrusts meet in it, so that it needs no wall. Sources of the method: D. W. Baker
and W. Haynes, "Engineering Statics: Open and Interactive", chapter 9 (wedges);
R. K. Bansal, "A Textbook of Engineering Mechanics", chapter 8, from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import FORCE, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
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
    integer,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Region, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign

__all__ = ["Wedge", "WedgeForces"]


@attrs.frozen
class Wedge:
    load: Exact = quantity(FORCE, "on the wedge or wedges together", sign="positive")
    wedge_angle: Angle = angle("between the faces of the wedge")
    friction: Exact = quantity(NUMBER, "coefficient, load on wedge", sign="not negative")
    floor_friction: Exact = quantity(NUMBER, "coefficient, wedge on floor", sign="not negative")
    wall_friction: Exact = quantity(
        NUMBER, "coefficient, load on wall or guide", sign="not negative", default=fmpq(0)
    )
    wedge_weight: Exact = quantity(
        FORCE, "of each wedge itself", sign="not negative", default=fmpq(0)
    )
    wedges: int = integer("one, or two pushed in from opposite sides", minimum=1, default=1)

    def __attrs_post_init__(self) -> None:
        if self.wedges > 2:
            raise ValueError("'wedges' is one or two")
        if self.wedges == 2 and self.wall_friction != 0:
            raise ValueError("two wedges hold the load between them: leave out 'wall_friction'")


def load_on_a_wedge(load: Number, wedges: int) -> Number:
    """Each of two wedges carries half."""
    return load / wedges


def rubbing(friction: Number, normal: Number) -> Number:
    """mu N."""
    return friction * normal


def side_thrust(normal: Number, sine: Number, cosine: Number, friction: Number) -> Number:
    """Level part of the force on the face, N (sin a + mu cos a); drawing out mu < 0."""
    return normal * (sine + friction * cosine)


def upright_thrust(normal: Number, sine: Number, cosine: Number, friction: Number) -> Number:
    """Upright part of the force on the face, N (cos a - mu sin a); drawing out mu < 0."""
    return normal * (cosine - friction * sine)


_SURFACES = ("floor", "face", "wall")
_KINDS = ("normal", "friction")
_WAYS = ("driving in", "drawing out")
_STATES = ("is squeezed out", "on the point of being squeezed out", "stays")
_JAMS = NoAnswer("no solution", "friction grows faster than the drive: no force drives it in")
_NO_WEDGE = NoAnswer("not defined", "the angle is not between 0 and 90 degrees: this is no wedge")


@attrs.frozen
class _Impending:
    """Motion impending: normals on floor, face and wall, frictions, level force needed."""

    normals: tuple[Number, Number, Number]
    frictions: tuple[Number, Number, Number]
    force: Number


def _impending(
    given: Wedge, way: str, ar: Arithmetic, rules: SimpleNamespace
) -> _Impending | NoAnswer:
    """Driving in the load rises; drawing out every friction turns round."""
    cosine, sine = ar.cos_sin(given.wedge_angle)
    inward = way == _WAYS[0]
    face, floor, wall = (
        ar.bring(x) for x in (given.friction, given.floor_friction, given.wall_friction)
    )
    mu = face if inward else -face
    load = rules.load_on_a_wedge(ar.bring(given.load), given.wedges)
    one = ar.bring(fmpq(1))
    thrust = rules.side_thrust(one, sine, cosine, mu)
    if inward:
        lift = rules.upright_thrust(one, sine, cosine, mu) - rules.rubbing(wall, thrust)
        if ar.sign(lift, "lift left beside the friction") <= 0:
            return _JAMS
        against = thrust
    else:
        leans = ar.sign(thrust, "thrust on the wall while it is drawn out")
        against = leans * thrust
        lift = rules.upright_thrust(one, sine, cosine, mu) + rules.rubbing(wall, against)
    normal = load / lift
    below = rules.upright_thrust(normal, sine, cosine, mu) + ar.bring(given.wedge_weight)
    drag = rules.rubbing(floor, below)
    level = thrust * normal
    return _Impending(
        (below, normal, against * normal),
        (drag, rules.rubbing(face, normal), rules.rubbing(wall, against * normal)),
        drag + level if inward else drag - level,
    )


def _keys(way: str) -> list[str]:
    """The answers at the three surfaces, normal forces before frictions."""
    return [f"{surface} {what}, {way}" for what in _KINDS for surface in _SURFACES]


def _no_friction(friction: Number, normal: Number) -> Number:
    return friction * 0


@register
class WedgeForces(Family):
    name = "friction/wedge"
    title = "Forces to drive a wedge under a load and to draw it out"
    givens = Wedge
    answers = {
        "force to drive in": Answer(
            ScalarKind(FORCE), "level, on each wedge, the load about to rise",
            ("no solution", "not defined"),
        ),
        "force to draw out": Answer(
            ScalarKind(FORCE),
            "level, on each wedge, the load about to sink; negative: so much must hold it in",
            ("not defined",),
        ),
        "state": Answer(ChoiceKind(_STATES), "of the wedge with no force on it", ("not defined",)),
        "efficiency": Answer(
            ScalarKind(NUMBER), "load lifted over work put in, driving in",
            ("no solution", "not defined"),
        ),
        **{
            f"{surface} {what}, {way}": Answer(
                ScalarKind(FORCE),
                f"at the {surface} of one wedge, {way} impending",
                ("no solution", "not defined") if way == _WAYS[0] else ("not defined",),
            )
            for way in _WAYS
            for what in _KINDS
            for surface in _SURFACES
        },
    }  # fmt: skip
    rules = {
        "load_on_a_wedge": load_on_a_wedge,
        "rubbing": rubbing,
        "side_thrust": side_thrust,
        "upright_thrust": upright_thrust,
    }
    mistakes = (
        Mistake(
            "friction left out",
            "the surfaces are taken as smooth",
            rules={
                "rubbing": _no_friction,
                "side_thrust": lambda n, s, c, mu: n * s,
                "upright_thrust": lambda n, s, c, mu: n * c,
            },
        ),
        Mistake(
            "friction of the face turned round",
            "the face's friction is taken to help",
            rules={
                "side_thrust": lambda n, s, c, mu: side_thrust(n, s, c, -mu),
                "upright_thrust": lambda n, s, c, mu: upright_thrust(n, s, c, -mu),
            },
        ),
        Mistake(
            "normal taken as the load",
            "the face is given the normal force W cos(a) of a block that nothing pushes",
            rules={"upright_thrust": lambda n, s, c, mu: n / c},
        ),
        Mistake(
            "wall left out",
            "the friction of the wall or guide is forgotten",
            givens=lambda given: (
                None if given.wall_friction == 0 else attrs.evolve(given, wall_friction=fmpq(0))
            ),
        ),
        Mistake(
            "whole load on each wedge",
            "two wedges are each given the whole load",
            rules={"load_on_a_wedge": lambda load, wedges: load},
        ),
    )
    method = (
        "load: N (cos a - mu sin a) - mu_w N (sin a + mu cos a) = W; wedge: "
        "P = N (sin a + mu cos a) + mu_f (w + N (cos a - mu sin a)); drawing out mu, mu_w < 0"
    )
    second_method = (
        "level and upright equilibrium of load and wedge together, of the load along and "
        "across the face, and each friction over its normal force"
    )
    caution = cautions.WEDGES

    def solve(self, given: Wedge, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        cosine, sine = ar.cos_sin(given.wedge_angle)
        if (
            ar.sign(sine, "sine of the wedge angle") <= 0
            or ar.sign(cosine, "cosine of the wedge angle") <= 0
        ):
            return Solution(dict.fromkeys(self.answers, _NO_WEDGE))
        answers: dict[str, Value] = {}
        rows = []
        for way, name in zip(_WAYS, ("force to drive in", "force to draw out"), strict=True):
            found = _impending(given, way, ar, rules)
            if isinstance(found, NoAnswer):
                answers |= dict.fromkeys((name, "efficiency", *_keys(way)), found)
                continue
            answers[name] = found.force
            answers |= dict(zip(_keys(way), (*found.normals, *found.frictions), strict=True))
            rows.append(Row(way, (*found.normals, found.force)))
            if way == "driving in":
                ideal = ar.bring(given.load) / given.wedges * sine / cosine
                answers["efficiency"] = ideal / found.force
        out = answers["force to draw out"]
        word = _STATES[1 + ar.sign(out, "force to draw out")]
        answers["state"] = Choice(word, {"force to draw out": out})
        heads = ("N floor", "N face", "N wall", "level force")
        columns = tuple(Column(head, FORCE) for head in heads)
        return Solution(answers, (Sheet("Motion impending", columns, tuple(rows), self.method),))

    def check(
        self, given: Wedge, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        residuals: list[Residual] = []
        for way, name in zip(_WAYS, ("force to drive in", "force to draw out"), strict=True):
            if not isinstance(answers[name], NoAnswer):
                residuals += self._balance(given, answers, way, answers[name], ar)
        driven = answers["force to drive in"]
        if not isinstance(driven, NoAnswer):
            cosine, sine = ar.cos_sin(given.wedge_angle)
            load = ar.bring(given.load)
            work = answers["efficiency"] * driven * given.wedges * cosine - load * sine
            residuals.append(Residual("work", work, driven + load))
        out = answers["force to draw out"]
        if not isinstance(out, NoAnswer):
            sign = _STATES.index(answers["state"].word) - 1
            size = ar.size(out) + ar.bring(given.load)
            residuals.append(of_sign("state", sign, out, size, ar))
        return residuals

    def _balance(
        self, given: Wedge, answers: Mapping[str, Value], way: str, force: Number, ar: Arithmetic
    ) -> list[Residual]:
        """Sense +1 driving in, -1 drawing out; a thrust away from the wall counts negative."""
        cosine, sine = ar.cos_sin(given.wedge_angle)
        sense = 1 if way == _WAYS[0] else -1
        floor, face, wall, drag, rub, grip = (answers[key] for key in _keys(way))
        load = ar.bring(given.load) / given.wedges
        weight = ar.bring(given.wedge_weight)
        signed = face * sine + sense * rub * cosine
        size = load + weight + floor + face + wall + ar.size(force)
        along = (load + sense * grip) * sine - signed * cosine + sense * rub
        across = (load + sense * grip) * cosine + signed * sine - face
        level = sense * force - sense * drag - signed
        upright = floor - weight - load - sense * grip
        residuals = [
            Residual(f"load along the face, {way}", along, size),
            Residual(f"load across the face, {way}", across, size),
            Residual(f"level forces together, {way}", level, size),
            Residual(f"upright forces together, {way}", upright, size),
            Residual(f"side thrust, {way}", ar.size(signed) - wall, size),
        ]
        slips = ((drag, floor, given.floor_friction), (rub, face, given.friction),
                 (grip, wall, given.wall_friction))  # fmt: skip
        for surface, (friction, normal, mu) in zip(_SURFACES, slips, strict=True):
            off = friction - ar.bring(mu) * normal
            residuals.append(Residual(f"limiting friction at the {surface}, {way}", off, size))
        return residuals

    def figure(self, given: Wedge, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.wedge_angle)
        steep = sine / cosine if cosine > 0 and sine > 0 else 0.0
        rise = min(3.0 * steep, 6.0)
        run = rise / steep if steep else 3.0
        middle = (run / 2, rise / 2)
        block = ((0.0, rise), (run, 0.0), (run, rise + 2.0), (0.0, rise + 2.0))
        parts: list[Region | Stroke | Arrow] = [
            Stroke((-1.0, 0.0), (run + 1.0, 0.0), "floor"),
            Stroke((run, 0.0), (run, rise + 3.0), "wall" if given.wedges == 1 else "middle"),
            Region(((0.0, 0.0), (run, 0.0), (0.0, rise)), "wedge"),
            Region(block, "load"),
            Arrow((run / 2, rise + 2.0), (0.0, -ar.bring(given.load)), "W", pushes=True),
        ]
        force = answers["force to drive in"]
        if not isinstance(force, NoAnswer):
            parts.append(Arrow((0.0, rise / 3), (force, 0.0), "P", "answer", pushes=True))
            face = answers["face normal, driving in"]
            parts.append(Arrow(middle, (face * sine, face * cosine), "N face", "answer"))
        return Drawing(tuple(parts), "a wedge under its load, driving in, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Wedge:
        """A wedge nearly on the point of being squeezed out, by about 1/kappa of its drive."""
        gap = gap_for(rng, kappa, 1.8)
        places = 2 + figures_for(kappa[1])
        face, floor = rng.uniform(0.1, 0.3), rng.uniform(0.1, 0.3)
        limit = math.atan(face) + math.atan(floor)
        turned = limit * (1 + rng.choice((-1, 1)) * gap)
        return Wedge(
            fmpq(rng.randint(100, 9999)),
            Turn(decimal(math.degrees(turned), places) / 360),
            decimal(face, places),
            decimal(floor, places),
            wedges=rng.randint(1, 2),
        )
