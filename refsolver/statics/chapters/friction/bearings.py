"""Pivots, collars, disc clutches and cones: load, pressure, friction torque and power.

Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 9 (rotating discs); R. S. Khurmi and J. K. Gupta,
"Theory of Machines", chapter 10 (uniform pressure, uniform wear, cones), from memory.
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
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    integer,
    quantity,
)
from refsolver.statics.drawing import Drawing, drawn_circle
from refsolver.statics.limits import reaches
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["RubbingSurface", "SurfaceTorque"]


@attrs.frozen
class RubbingSurface:
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="not negative")
    outer: Exact = quantity(LENGTH, "outer radius", sign="positive")
    inner: Exact = quantity(LENGTH, "inner radius", sign="not negative", default=fmpq(0))
    half_angle: Angle | None = angle(
        "of a cone, between its side and the axis; none is a flat face", default=None
    )
    surfaces: int = integer("faces that each carry the whole load", minimum=1, default=1)
    speed: Exact | None = quantity(ANGULAR_SPEED, "of rotation", sign="positive", default=None)
    load: Exact | None = quantity(FORCE, "along the axis", sign="positive", default=None)
    pressure: Exact | None = quantity(
        PRESSURE, "greatest on a face, where the load is asked", sign="positive", default=None
    )
    torque: Exact | None = quantity(
        MOMENT, "of friction, where the load is asked", sign="positive", default=None
    )
    power: Exact | None = quantity(
        POWER, "at the speed, where the load is asked", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        if sum(x is not None for x in (self.load, self.pressure, self.torque, self.power)) != 1:
            raise ValueError("state one of 'load', 'pressure', 'torque' and 'power'")
        if self.power is not None and self.speed is None:
            raise ValueError("'power' needs 'speed'")
        if reaches(self.inner, self.outer):
            raise ValueError("the inner radius must be smaller than the outer one")


def engaging(load: Number, friction: Number, cosine: Number, sine: Number) -> Number:
    """Normal load times sin + mu cos of the half angle."""
    return load * (sine + friction * cosine) / sine


_NO_LOAD = NoAnswer("not defined", "no load is stated")
_NO_GRIP = NoAnswer("no solution", "without friction no load gives a torque")
_POINTED = NoAnswer("not defined", "wear leaves the pressure at the axis without bound")


@register
class SurfaceTorque(Family):
    name = "friction/pivot-or-collar"
    title = "Friction torque of a pivot, collar or clutch face"
    givens = RubbingSurface
    answers = {
        **{
            f"{what}, {way}": Answer(
                ScalarKind(dimension),
                f"assuming {way}",
                ("no solution",)
                if way == WAYS[0] and what != "power"
                else ("no solution", "not defined"),
            )
            for what, dimension in {
                "torque": MOMENT,
                "power": POWER,
                "load": FORCE,
                "greatest pressure": PRESSURE,
                "least pressure": PRESSURE,
            }.items()
            for way in WAYS
        },
        **{
            f"engaging force, {way}": Answer(
                ScalarKind(FORCE),
                "along the axis, that presses a cone home against its friction",
                ("no solution",) if way == WAYS[0] else ("no solution", "not defined"),
            )
            for way in WAYS
        },
        "mean pressure": Answer(
            ScalarKind(PRESSURE),
            "load over the area, where it is stated",
            ("no solution", "not defined"),
        ),
    }
    rules = {
        "pressure_radius": pressure_radius,
        "wear_radius": wear_radius,
        "wedged": wedged,
        "engaging": engaging,
        "pressed_area": pressed_area,
        "worn_area": worn_area,
    }
    mistakes = (
        MEAN_RADIUS,
        Mistake(
            "uniform pressure for wear",
            "uniform wear is given the radius of uniform pressure",
            rules={"wear_radius": pressure_radius},
        ),
        TAKEN_AS_FLAT,
        Mistake(
            "friction left out of engaging",
            "the cone is taken to slide home by its running load",
            rules={"engaging": lambda load, friction, cosine, sine: load},
        ),
        Mistake(
            "whole circle for the ring",
            "the hole in the face is counted with it",
            rules={"pressed_area": lambda outer, inner, ar: ar.pi() * outer * outer},
        ),
        Mistake(
            "greatest pressure at the rim",
            "wear is taken to leave the greatest pressure at the outer edge",
            rules={"worn_area": lambda outer, inner, ar: 2 * ar.pi() * outer * (outer - inner)},
        ),
        ONE_FACE,
    )
    method = (
        "T = n mu W R / sin(half angle); R = (2/3)(r1^3 - r2^3)/(r1^2 - r2^2) for uniform "
        "pressure, (r1 + r2)/2 for uniform wear; power = T w; W = p pi (r1^2 - r2^2), by wear "
        "2 pi p r2 (r1 - r2) with p at the inner edge"
    )
    second_method = (
        "T from the cubes of the radii multiplied out, and the wear torque from the areas "
        "between the radii and their mean"
    )
    caution = cautions.DISCS

    def solve(self, given: RubbingSurface, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        mu = ar.bring(given.friction)
        grip = mu * given.surfaces
        cosine, sine = ar.bring(fmpq(0)), ar.bring(fmpq(1))
        if given.half_angle is not None:
            cosine, sine = ar.cos_sin(given.half_angle)
            if ar.sign(sine, "sine of the half angle") <= 0:
                return Solution(dict.fromkeys(self.answers, LEVEL))
            grip = rules.wedged(grip, sine)
        outer, inner = ar.bring(given.outer), ar.bring(given.inner)
        radii = {
            "uniform pressure": rules.pressure_radius(outer, inner),
            "uniform wear": rules.wear_radius(outer, inner),
        }
        ring = rules.pressed_area(outer, inner, ar)
        worn = None if given.inner == 0 else rules.worn_area(outer, inner, ar)
        answers: dict[str, Value] = {
            "mean pressure": _NO_LOAD if given.load is None else ar.bring(given.load) / ring
        }
        for (way, radius), area in zip(radii.items(), (ring, worn), strict=True):
            load = _load(given, grip * radius, area, ar)
            found = _found(given, load, grip * radius, area, ar)
            found["least pressure"] = found["greatest pressure"]
            if way == WAYS[1] and not isinstance(found["least pressure"], NoAnswer):
                found["least pressure"] = found["greatest pressure"] * inner / outer
            found["engaging force"] = (
                load if isinstance(load, NoAnswer) else rules.engaging(load, mu, cosine, sine)
            )
            answers |= {f"{what}, {way}": x for what, x in found.items()}
        return Solution(answers, (number_sheet("Radii of friction", radii, self.method, LENGTH),))

    def check(
        self, given: RubbingSurface, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        outer, inner = ar.bring(given.outer), ar.bring(given.inner)
        grip = ar.bring(given.friction) * given.surfaces
        sine = ar.bring(fmpq(1))
        if given.half_angle is not None:
            _, sine = ar.cos_sin(given.half_angle)
        squares = outer * outer - inner * inner
        cubes = outer * outer * outer - inner * inner * inner
        reach = outer + inner
        residuals: list[Residual] = []
        if not isinstance(answers["mean pressure"], NoAnswer):
            load = ar.bring(given.load)  # type: ignore[arg-type]
            off = answers["mean pressure"] * ar.pi() * squares - load
            residuals.append(Residual("mean pressure over the area", off, load))
        for way in WAYS:
            load, torque = answers[f"load, {way}"], answers[f"torque, {way}"]
            if isinstance(load, NoAnswer):
                continue
            if way == WAYS[0]:
                off = 3 * torque * sine * squares - 2 * load * grip * cubes
                residuals.append(
                    Residual("uniform pressure, cubes", off, load * reach * reach * reach)
                )
            else:
                off = 2 * torque * sine * (outer - inner) - load * grip * squares
                residuals.append(Residual("uniform wear, squares", off, load * reach * reach))
            # Along and across the cone's side: W_e = N sin + mu N cos, W = N sin.
            engage = answers[f"engaging force, {way}"] - load
            if given.half_angle is None:
                residuals.append(Residual(f"engaging a flat face, {way}", engage, load))
            else:
                cosine, _ = ar.cos_sin(given.half_angle)
                off = engage * sine - ar.bring(given.friction) * load * cosine
                residuals.append(Residual(f"engaging, {way}", off, load))
            residuals += _stated(given, way, answers, ar)
        return residuals

    def figure(
        self, given: RubbingSurface, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        parts = tuple(
            drawn_circle((0.0, 0.0), r, label)
            for r, label in ((ar.bring(given.outer), "outer"), (ar.bring(given.inner), "inner"))
            if r > 0
        )
        return Drawing(parts, "the rubbing face along its axis, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> RubbingSurface:
        """A narrow face: the pressure on it costs about its radius over its breadth."""
        gap = gap_for(rng, kappa, 0.55, 0.7)
        places = figures_for(kappa[1])
        outer = rng.uniform(50, 300)
        return RubbingSurface(
            decimal(rng.uniform(0.02, 0.4), 3),
            decimal(outer, places),
            decimal(outer * (1 - gap), places),
            surfaces=rng.randint(1, 6),
            speed=fmpq(rng.randint(5, 300)),
            load=fmpq(rng.randint(100, 99999)),
        )


def _load(
    given: RubbingSurface, lever: Number, area: Number | None, ar: Arithmetic
) -> Number | NoAnswer:
    """Along the axis; ``lever`` is the torque of a unit of load."""
    if given.load is not None:
        return ar.bring(given.load)
    if given.pressure is not None:
        return _POINTED if area is None else ar.bring(given.pressure) * area
    if given.friction == 0:
        return _NO_GRIP
    if given.torque is not None:
        return ar.bring(given.torque) / lever
    return ar.bring(given.power) / (ar.bring(given.speed) * lever)  # type: ignore[arg-type]


def _found(
    given: RubbingSurface, load: Number | NoAnswer, lever: Number, area: Number | None,
    ar: Arithmetic,
) -> dict[str, Value]:  # fmt: skip
    if isinstance(load, NoAnswer):
        return dict.fromkeys(("load", "torque", "power", "greatest pressure"), load)
    torque = load * lever
    return {
        "load": load,
        "torque": torque,
        "power": NO_SPEED if given.speed is None else torque * ar.bring(given.speed),
        "greatest pressure": _POINTED if area is None else load / area,
    }


def _stated(
    given: RubbingSurface, way: str, answers: Mapping[str, Value], ar: Arithmetic
) -> list[Residual]:
    """Power over speed, what was stated, and the pressures summed over rings."""
    outer, inner = ar.bring(given.outer), ar.bring(given.inner)
    load, torque, power, most, least = (
        answers[f"{what}, {way}"]
        for what in ("load", "torque", "power", "greatest pressure", "least pressure")
    )
    size = torque + load * outer
    residuals = []
    if given.speed is not None:
        off = power / ar.bring(given.speed) - torque
        residuals.append(Residual(f"power, {way}", off, size))
    stated = (("load", load), ("torque", torque), ("power", power), ("pressure", most))
    for name, value in stated:
        exact = getattr(given, name)
        if exact is not None:
            known = ar.bring(exact)
            residuals.append(Residual(f"the stated {name}, {way}", value - known, known))
    if isinstance(most, NoAnswer):
        return residuals
    if way == WAYS[0]:
        rings = most * ar.pi() * (outer - inner) * (outer + inner)
        residuals.append(Residual("the same pressure everywhere", most - least, most))
    else:
        rings = 2 * ar.pi() * least * outer * (outer - inner)
        off = most * inner - least * outer
        residuals.append(Residual("pressure times radius", off, most * outer))
    residuals.append(Residual(f"load from the pressures, {way}", rings - load, load + rings))
    return residuals
