"""Size of a pivot or clutch face: its radii from the pressure it may bear.

The ratio of the radii is stated, and the load or the torque. Source of the method: R. S.
Khurmi and J. K. Gupta, "Theory of Machines", chapter 10 (conical pivots, plate clutches), from
memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.dimensions import (
    ANGULAR_SPEED,
    FORCE,
    LENGTH,
    MOMENT,
    NUMBER,
    POWER,
    PRESSURE,
)
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.friction.rubbing_surfaces import (
    LEVEL,
    MEAN_RADIUS,
    NO_SPEED,
    ONE_FACE,
    TAKEN_AS_FLAT,
    WAYS,
    pressed_area,
    pressure_radius,
    wear_radius,
    wedged,
    worn_area,
)
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
    quantity,
)
from refsolver.statics.drawing import Drawing, drawn_circle
from refsolver.statics.limits import reaches
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register

__all__ = ["FaceSize", "FaceToSize"]


@attrs.frozen
class FaceToSize:
    ratio: Exact = quantity(NUMBER, "outer over inner radius", sign="positive")
    pressure: Exact = quantity(PRESSURE, "that a face may bear", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="positive")
    pressure_is: str = choice(
        ("greatest", "mean"), "which pressure that is, under wear", default="greatest"
    )
    half_angle: Angle | None = angle(
        "of a cone, between its side and the axis; none is a flat face", default=None
    )
    surfaces: int = integer("faces that each carry the whole load", minimum=1, default=1)
    speed: Exact | None = quantity(ANGULAR_SPEED, "of rotation", sign="positive", default=None)
    load: Exact | None = quantity(FORCE, "along the axis", sign="positive", default=None)
    torque: Exact | None = quantity(MOMENT, "of friction", sign="positive", default=None)
    power: Exact | None = quantity(POWER, "at the speed", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        if reaches(fmpq(1), self.ratio):
            raise ValueError("the outer radius must exceed the inner one: 'ratio' above 1")
        if sum(x is not None for x in (self.load, self.torque, self.power)) != 1:
            raise ValueError("state one of 'load', 'torque' and 'power'")
        if self.power is not None and self.speed is None:
            raise ValueError("'power' needs 'speed'")


def cube_root(cube: Number, ar: Arithmetic) -> Number:
    """Of a positive number."""
    return ar.exp(ar.log(cube) / 3)


@register
class FaceSize(Family):
    name = "friction/face-size"
    title = "Radii of a pivot or clutch face from the pressure it may bear"
    givens = FaceToSize
    answers = {
        f"{what}, {way}": Answer(
            ScalarKind(dimension),
            f"assuming {way}",
            ("no solution", "not defined") if what == "power" else ("no solution",),
        )
        for what, dimension in {
            "inner radius": LENGTH,
            "outer radius": LENGTH,
            "load": FORCE,
            "torque": MOMENT,
            "power": POWER,
        }.items()
        for way in WAYS
    }
    rules = {
        "pressure_radius": pressure_radius,
        "wear_radius": wear_radius,
        "wedged": wedged,
        "pressed_area": pressed_area,
        "worn_area": worn_area,
    }
    mistakes = (
        MEAN_RADIUS,
        Mistake(
            "uniform pressure for wear",
            "the greatest pressure is taken to act all over the face",
            rules={"worn_area": pressed_area},
        ),
        TAKEN_AS_FLAT,
        Mistake(
            "radii taken as diameters",
            "the diameters come out half as large as they are",
            answers=lambda given, answers, ar: {
                key: x / 2 if key.partition(" ")[2].startswith("radius")
                and not isinstance(x, NoAnswer) else x
                for key, x in answers.items()
            },
        ),
        ONE_FACE,
    )  # fmt: skip
    method = (
        "with r1 = k r2: W = p A, T = n mu W R / sin(half angle); A = pi (r1^2 - r2^2), by wear "
        "and the greatest pressure 2 pi r2 (r1 - r2); from W a root of r2^2, from T one of r2^3"
    )
    second_method = (
        "the radii put back: the pressure they leave, and the torque by cubes and squares"
    )
    caution = cautions.DISCS

    def solve(self, given: FaceToSize, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        grip = ar.bring(given.friction) * given.surfaces
        if given.half_angle is not None:
            _, sine = ar.cos_sin(given.half_angle)
            if ar.sign(sine, "sine of the half angle") <= 0:
                return Solution(dict.fromkeys(self.answers, LEVEL))
            grip = rules.wedged(grip, sine)
        ratio, one = ar.bring(given.ratio), ar.bring(fmpq(1))
        ring = rules.pressed_area(ratio, one, ar)
        worn = rules.worn_area(ratio, one, ar) if given.pressure_is == "greatest" else ring
        answers: dict[str, Value] = {}
        rows = []
        arms = (rules.pressure_radius(ratio, one), rules.wear_radius(ratio, one))
        for way, arm, area in zip(WAYS, arms, (ring, worn), strict=True):
            found = _sized(given, grip * arm, ar.bring(given.pressure) * area, ar)
            answers |= {f"{what}, {way}": x for what, x in found.items()}
            rows.append(Row(way, (found["inner radius"], found["outer radius"])))
        columns = (Column("inner", LENGTH), Column("outer", LENGTH))
        return Solution(answers, (Sheet("Radii", columns, tuple(rows), self.method),))

    def check(
        self, given: FaceToSize, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["load, uniform wear"], NoAnswer):
            return []
        grip, sine = ar.bring(given.friction) * given.surfaces, ar.bring(fmpq(1))
        if given.half_angle is not None:
            _, sine = ar.cos_sin(given.half_angle)
        pressure = ar.bring(given.pressure)
        residuals: list[Residual] = []
        for way in WAYS:
            inner, outer, load, torque, power = (
                answers[f"{what}, {way}"]
                for what in ("inner radius", "outer radius", "load", "torque", "power")
            )
            squares, breadth = outer * outer - inner * inner, outer - inner
            spread = pressure * ar.pi() * squares
            if way == WAYS[1] and given.pressure_is == "greatest":
                spread = 2 * ar.pi() * pressure * inner * breadth
            residuals.append(Residual(f"load from the pressure, {way}", load - spread, load))
            if way == WAYS[0]:
                cubes = outer * outer * outer - inner * inner * inner
                off = 3 * torque * sine * squares - 2 * load * grip * cubes
                size = load * grip * (outer + inner) * squares
            else:
                off = 2 * torque * sine * breadth - load * grip * squares
                size = load * grip * squares
            residuals.append(Residual(f"torque, {way}", off, size))
            off = ar.bring(given.ratio) * inner - outer
            residuals.append(Residual(f"ratio, {way}", off, outer))
            for name, value in (("load", load), ("torque", torque), ("power", power)):
                exact = getattr(given, name)
                if exact is not None:
                    known = ar.bring(exact)
                    residuals.append(Residual(f"the stated {name}, {way}", value - known, known))
            if given.speed is not None:
                off = power - torque * ar.bring(given.speed)
                residuals.append(Residual(f"power, {way}", off, power))
        return residuals

    def figure(self, given: FaceToSize, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = []
        for what in ("inner radius", "outer radius"):
            radius = answers[f"{what}, uniform wear"]
            drawn = 1.0 if isinstance(radius, NoAnswer) else radius
            parts.append(drawn_circle((0.0, 0.0), drawn, what.partition(" ")[0], "answer"))
        return Drawing(tuple(parts), "the rubbing face along its axis, sized for uniform wear")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> FaceToSize:
        """A narrow face: its breadth is about 1/kappa of its radius."""
        gap = gap_for(rng, kappa, 0.45)
        places = 2 + figures_for(kappa[1])
        loaded = rng.random() < 0.5
        return FaceToSize(
            decimal(1 + gap, places),
            decimal(rng.uniform(0.05, 0.5), 3),
            decimal(rng.uniform(0.03, 0.4), 3),
            rng.choice(("greatest", "mean")),
            surfaces=rng.randint(1, 5),
            speed=fmpq(rng.randint(5, 300)),
            load=fmpq(rng.randint(100, 99999)) if loaded else None,
            torque=None if loaded else fmpq(rng.randint(10000, 999999)),
        )


def _sized(given: FaceToSize, lever: Number, push: Number, ar: Arithmetic) -> dict[str, Value]:
    """``lever``: torque of a unit of load, and ``push``: load, at an inner radius of one."""
    speed = None if given.speed is None else ar.bring(given.speed)
    if given.load is not None:
        load = ar.bring(given.load)
        inner = ar.sqrt(load / push)
        torque = load * lever * inner
    else:
        torque = (
            ar.bring(given.torque) if given.torque is not None
            else ar.bring(given.power) / speed  # type: ignore[arg-type]
        )  # fmt: skip
        inner = cube_root(torque / (lever * push), ar)
        load = push * inner * inner
    return {
        "inner radius": inner,
        "outer radius": ar.bring(given.ratio) * inner,
        "load": load,
        "torque": torque,
        "power": NO_SPEED if speed is None else torque * speed,
    }
