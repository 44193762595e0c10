"""Gates made of plates: a broken line in section, on a hinge and a smooth support.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 7, section on fluid statics: a force on each plate by its pressure
prism, then the whole as a rigid body.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun, Direction
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    density_given,
    gravity_given,
    needs_gravity,
    specific_weight_given,
    weight_of_density,
    weight_of_fluid,
    weight_stated_once,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    direction,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Pin, Primitive, Stroke
from refsolver.statics.forces.systems import sum_of, sum_of_vectors
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import vector_sheet
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    cross_plane,
    minus,
    scaled,
    unit_vector,
)

__all__ = ["Plate", "PlateGate", "ProfileGate"]


@attrs.frozen
class Plate:
    to: tuple[Exact, ...] = point("where the plate ends; it starts where the last one ended")
    weight: Exact = quantity(
        FORCE, "of the plate, at its middle", sign="not negative", default=rational(0)
    )
    name: str = text("what it is called")


@attrs.frozen(kw_only=True)
class PlateGate:
    start: tuple[Exact, ...] = point("where the first plate starts")
    plates: tuple[Plate, ...] = many(
        Plate,
        "the plates in section; the fluid lies on the left hand of one who walks along them",
        ordered=True,
    )
    width: Exact = quantity(LENGTH, "of the gate, along its hinge", sign="positive")
    level: Exact = quantity(LENGTH, "height y of the surface of the fluid")
    hinge: tuple[Exact, ...] = point("the hinge")
    support_at: tuple[Exact, ...] = point("where the smooth support touches")
    support: Direction = direction("in which the support pushes the gate")
    specific_weight: Exact | None = specific_weight_given("weight per volume of the fluid")
    density: Exact | None = density_given("density of the fluid, where that is not stated")
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "the fluid")
        needs_gravity((self,), self.gravity)
        distinct_names(self.plates, "plate")
        ends = [self.start, *(plate.to for plate in self.plates)]
        for key, here, there in zip(keys_of(self.plates, "plate"), ends, ends[1:], strict=False):
            if here == there:
                raise ValueError(f"{key} has no length: its ends coincide")


def mean_depth(first: Number, second: Number, ar: Arithmetic) -> Number:
    """Of the wetted part of a plate."""
    return (first + second) / 2


def place_of_pressure(first: Number, second: Number) -> Number:
    """(h1 + 2 h2) / (3 (h1 + h2)) of the wetted part, from the end of depth h1."""
    return (first + 2 * second) / (3 * (first + second))


def square_to(run: Numbers) -> Numbers:
    """To the right hand of one who walks along the plate, away from the fluid; length kept."""
    return (run[1], -run[0])


@attrs.frozen
class _Wet:
    """A wetted part: its ends as shares of the plate, and their depths."""

    start: Number
    end: Number
    first: Number
    second: Number


_PARALLEL = NoAnswer("improper constraint", "the push of the support passes the hinge")
_DRY = NoAnswer("no point", "the plate is dry")


@register
class ProfileGate(Family):
    name = "hydrostatics/profile-gate"
    title = "A gate of several plates: fluid on each, hinge and support"
    givens = PlateGate
    answers = {
        "forces": Answer(TableKind(VectorKind(FORCE, 2), "plate"), "of the fluid on each plate"),
        "places": Answer(
            TableKind(PointKind(2), "plate"), "where each of these acts", ("no point",)
        ),
        "fluid force": Answer(VectorKind(FORCE, 2), "of the fluid on all plates"),
        "fluid moment": Answer(
            ScalarKind(MOMENT), "of the fluid about the hinge, counter-clockwise positive"
        ),
        "support": Answer(
            ScalarKind(FORCE),
            "push of the support; negative: it would have to pull",
            ("improper constraint",),
        ),
        "hinge": Answer(
            VectorKind(FORCE, 2), "force of the hinge on the gate", ("improper constraint",)
        ),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "mean_depth": mean_depth,
        "place_of_pressure": place_of_pressure,
        "square_to": square_to,
    }
    mistakes = (
        Mistake(
            "pressure at the deeper end",
            "the greatest pressure of a plate is taken all over it",
            rules={
                "mean_depth": lambda first, second, ar: (
                    (first + second + ar.size(first - second)) / 2
                )
            },
        ),
        Mistake(
            "pressure at the middle of each plate",
            "the force is placed at the middle of the wetted part",
            rules={
                "place_of_pressure": lambda first, second: (first + second) / (first + second) / 2
            },
        ),
        Mistake(
            "pressure on level plates left out",
            "only the horizontal parts of the fluid's forces are counted",
            rules={"square_to": lambda run: (run[1], run[0] * 0)},
        ),
        Mistake(
            "weight of the gate left out",
            "the plates are taken without weight",
            givens=lambda given: attrs.evolve(
                given,
                plates=tuple(attrs.evolve(plate, weight=rational(0)) for plate in given.plates),
            ),
        ),
        *DENSITY_MISTAKES,
    )
    method = (
        "on each plate gamma b times the mean depth times the wetted length, at (h1 + 2 h2) / (3 "
        "(h1 + h2)); moments about the hinge, then both sums of forces"
    )
    second_method = (
        "the depths integrated along each wetted part by Simpson's rule; moments of everything "
        "about the start of the first plate"
    )
    caution = cautions.STILL_FLUIDS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weight = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width)
        hinge = brought(given.hinge, ar)
        forces: dict[str, Numbers] = {}
        places: dict[str, Value] = {}
        loads: list[tuple[Numbers, Numbers]] = []
        for key, start, run, _ in _walked(given, ar):
            wet = _wetted(given, key, start, run, ar)
            if wet is None:
                forces[key], places[key] = scaled(weight * 0, run), _DRY
            else:
                share = wet.end - wet.start
                size = weight * rules.mean_depth(wet.first, wet.second, ar) * share
                forces[key] = scaled(size, rules.square_to(run))
                along = wet.start + share * rules.place_of_pressure(wet.first, wet.second)
                places[key] = added(start, scaled(along, run))
                loads.append((places[key], forces[key]))
        fluid = sum_of_vectors(list(forces.values()), 2, ar)
        moment = sum_of([cross_plane(minus(at, hinge), f) for at, f in loads], ar)
        answers: dict[str, Value] = {
            "forces": forces,
            "places": places,
            "fluid force": fluid,
            "fluid moment": moment,
            **self._held(given, fluid, moment, hinge, ar),
        }
        return Solution(answers, (vector_sheet("Fluid on the plates", FORCE, forces, self.method),))

    def _held(
        self, given: Any, fluid: Numbers, moment: Number, hinge: Numbers, ar: Arithmetic
    ) -> dict[str, Value]:
        push = unit_vector(given.support, ar)
        arm = cross_plane(minus(brought(given.support_at, ar), hinge), push)
        if ar.sign(arm, "arm of the support about the hinge") == 0:
            return {"support": _PARALLEL, "hinge": _PARALLEL}
        down = _weights(given, ar)
        turning = moment + sum_of([cross_plane(minus(at, hinge), w) for at, w in down], ar)
        held = -turning / arm
        total = sum_of_vectors([fluid, scaled(held, push), *(w for _, w in down)], 2, ar)
        return {"support": held, "hinge": tuple(-x for x in total)}

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        weight = weight_of_fluid(given, given.gravity, ar, self.rule_set()) * ar.bring(given.width)
        origin, hinge = brought(given.start, ar), brought(given.hinge, ar)
        residuals: list[Residual] = []
        forces, moments = [scaled(weight * 0, origin)], [weight * 0]
        for key, start, run, _ in _walked(given, ar):
            wet = _wetted(given, key, start, run, ar)
            pressed, moment = _by_simpson(wet, start, run, origin, ar)
            forces.append(scaled(weight * pressed, (run[1], -run[0])))
            moments.append(moment * weight)
            residuals += _on_a_plate(
                key, answers, (start, run, origin), (forces[-1], moments[-1], weight), ar
            )
        fluid, turning = sum_of_vectors(forces, 2, ar), sum_of(moments, ar)
        size = weight + sum_of([ar.size(x) for force in forces for x in force], ar)
        turned = size * (1 + sum_of([ar.size(x) for x in (*origin, *hinge)], ar))
        turned = turned + sum_of([ar.size(x) for x in moments], ar)
        about = turning + cross_plane(minus(origin, hinge), fluid)
        residuals.append(Residual("moment of the fluid", answers["fluid moment"] - about, turned))
        for letter, a, b in zip("xy", answers["fluid force"], fluid, strict=True):
            residuals.append(Residual(f"all plates along {letter}", a - b, size))
        if isinstance(answers["support"], NoAnswer):
            return residuals
        return residuals + self._as_a_body(given, answers, (fluid, turning, size, turned), ar)

    def _as_a_body(
        self, given: Any, answers: Mapping[str, Value], pressed: tuple[Any, ...], ar: Arithmetic
    ) -> list[Residual]:
        """Both sums of forces, and moments about the start of the first plate."""
        fluid, turning, size, turned = pressed
        origin, at = brought(given.start, ar), brought(given.support_at, ar)
        push = scaled(answers["support"], unit_vector(given.support, ar))
        down, hinge = _weights(given, ar), brought(given.hinge, ar)
        acting = [(at, push), (hinge, answers["hinge"]), *down]
        sums = sum_of_vectors([fluid, *(force for _, force in acting)], 2, ar)
        rest = [cross_plane(minus(place, origin), force) for place, force in acting]
        size = size + sum_of([ar.size(x) for _, force in acting for x in force], ar)
        turned = turned + sum_of([ar.size(x) for x in rest], ar)
        return [
            *(Residual(f"forces along {letter}", x, size)
              for letter, x in zip("xy", sums, strict=True)),
            Residual("moments about the start", turning + sum_of(rest, ar), turned),
        ]  # fmt: skip

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        corners = []
        for key, start, run, _ in _walked(given, ar):
            end = added(start, run)
            parts.append(Stroke(start, end, key))
            corners += [start, end]
            place = answers["places"][key]
            if not isinstance(place, NoAnswer):
                force = answers["forces"][key]
                parts.append(Arrow(place, force, f"fluid on {key}", "answer", pushes=True))
        (left, right), (low, high) = ((min(side), max(side)) for side in zip(*corners, strict=True))
        level = ar.bring(given.level)
        surface = ((left - (right - left or high - low), level), (right, level))
        parts.insert(0, Stroke(*surface, "surface", "construction"))
        parts.append(Pin(brought(given.hinge, ar), "pin", label="hinge"))
        if not isinstance(answers["support"], NoAnswer):
            push = scaled(answers["support"], unit_vector(given.support, ar))
            at = brought(given.support_at, ar)
            parts.append(Arrow(at, push, "support", "answer", pushes=True))
        return Drawing(tuple(parts), "The plates in section with the forces on them, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlateGate:
        """A support whose push passes the hinge at about 1/kappa of the height."""
        return self._made(log_uniform(rng, kappa), rng.randint(1, 3), rng)

    def _made(self, target: float, count: int, rng: random.Random) -> PlateGate:
        x, y, plates = fmpq(0), fmpq(0), []
        for _ in range(count):
            x, y = x - drawn(rng, 0, 2), y + drawn(rng, 0.3, 2)
            plates.append(Plate((x, y), drawn(rng, 0, 9)))
        arm = decimal(rng.uniform(0.3, 0.9) / target, figures_for(target))
        return PlateGate(
            start=(fmpq(0), fmpq(0)), plates=tuple(plates), width=drawn(rng, 1, 4),
            level=y * drawn(rng, 0.4, 1.4) + fmpq(1, 1000), hinge=(fmpq(0), fmpq(0)),
            support_at=(x, y), support=ByRun((-x + arm, -y)), specific_weight=drawn(rng, 5, 15, 2),
        )  # fmt: skip

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlateGate | None:
        if set(rows) - {"plates"}:
            return None
        given = self._made(3.0, rows.get("plates", 1), rng)
        return attrs.evolve(given, level=fmpq(99))


def _walked(given: PlateGate, ar: Arithmetic) -> list[tuple[str, Numbers, Numbers, Plate]]:
    """Key, start and run of every plate."""
    here, found = brought(given.start, ar), []
    for key, plate in zip(keys_of(given.plates, "plate"), given.plates, strict=True):
        there = brought(plate.to, ar)
        found.append((key, here, minus(there, here), plate))
        here = there
    return found


def _wetted(
    given: PlateGate, key: str, start: Numbers, run: Numbers, ar: Arithmetic
) -> _Wet | None:
    """The part below the surface; None of a dry plate."""
    level, one = ar.bring(given.level), ar.bring(fmpq(1))
    first = level - start[1]
    second = first - run[1]
    begins = ar.sign(first, f"start of {key} under the surface")
    ends = ar.sign(second, f"end of {key} under the surface")
    if begins <= 0 and ends <= 0:
        return None
    if begins >= 0 and ends >= 0:
        return _Wet(one * 0, one, first, second)
    share = first / (first - second)
    if begins < 0:
        return _Wet(share, one, one * 0, second)
    return _Wet(one * 0, share, first, one * 0)


def _on_a_plate(
    key: str,
    answers: Mapping[str, Value],
    place: tuple[Numbers, Numbers, Numbers],
    pressed: tuple[Numbers, Number, Number],
    ar: Arithmetic,
) -> list[Residual]:
    """Force and place on one plate against its integrals about the origin."""
    (start, run, origin), (force, moment, weight) = place, pressed
    size = weight + sum_of([ar.size(x) for x in force], ar)
    found = [
        Residual(f"{key} along {letter}", a - b, size)
        for letter, a, b in zip("xy", answers["forces"][key], force, strict=True)
    ]
    acts = answers["places"][key]
    if not isinstance(acts, NoAnswer):
        long = sum_of([ar.size(x) for x in (*run, *start, *origin)], ar) + 1
        off = cross_plane(minus(acts, origin), force) - moment
        found.append(Residual(f"place on {key}", off, size * long))
        straight = cross_plane(minus(acts, start), run)
        found.append(Residual(f"place in line with {key}", straight, long * long))
    return found


def _weights(given: PlateGate, ar: Arithmetic) -> list[tuple[Numbers, Numbers]]:
    return [
        (added(start, scaled(ar.bring(fmpq(1, 2)), run)), (run[0] * 0, -ar.bring(plate.weight)))
        for _, start, run, plate in _walked(given, ar)
    ]


def _by_simpson(
    wet: _Wet | None, start: Numbers, run: Numbers, about: Numbers, ar: Arithmetic
) -> tuple[Number, Number]:
    """Integrals over the share t of the depth, and of its moment, square to the plate."""
    nothing = run[0] * 0
    if wet is None:
        return nothing, nothing
    middle = (wet.start + wet.end) / 2
    stations = [
        (wet.start, wet.first, 1), (middle, (wet.first + wet.second) / 2, 4),
        (wet.end, wet.second, 1),
    ]  # fmt: skip
    sixth = (wet.end - wet.start) / 6
    square = (run[1], -run[0])
    pressed, moment = nothing, nothing
    for share, depth, times in stations:
        at = minus(added(start, scaled(share, run)), about)
        pressed = pressed + depth * times * sixth
        moment = moment + cross_plane(at, square) * depth * times * sixth
    return pressed, moment
