"""Forces, moments and equilibrium: the plane in space, one body by three families."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.statics.bodies.loads import LineLoad, PlaneCouple, PlaneLoad
from refsolver.statics.bodies.supports import PlaneSupport
from refsolver.statics.chapters.distributed_loads.area_loads import Patch
from refsolver.statics.chapters.distributed_loads.linear_loads import LinearStretch
from refsolver.statics.chapters.distributed_loads.polynomial_loads import PolynomialStretch, Term
from refsolver.statics.chapters.frames.frame import (
    FrameBody,
    FrameCouple,
    FrameForce,
    FrameLineLoad,
    FrameSupport,
)
from refsolver.statics.chapters.trusses.joints import SpaceJoint
from refsolver.statics.chapters.trusses.truss import SpaceTrussLoad, SpaceTrussSupport
from refsolver.statics.contract import Family
from refsolver.statics.forces.concurrent import SpaceForce
from refsolver.statics.forces.systems import PlaneForceAt, SpaceCouple, SpaceForceAt
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import ONE, ZERO, asked, picked, twin
from tests.statics.properties.units_and_rows import named

UP = ByRun((ZERO, ONE))
NORMAL = ByRun((ZERO, ZERO, ONE))


def lifted_direction(direction: Any) -> Any:
    """A direction of the plane as one of space."""
    if isinstance(direction, ByAngle):
        return ByAzimuth(direction.angle, Turn(ZERO), direction.start, direction.toward, "+z")
    return ByRun((*direction.run, ZERO))


def lifted(vector: Any) -> Any:
    if isinstance(vector, Polar):
        return Polar(vector.magnitude, lifted_direction(vector.direction))
    return Components((*vector.along, ZERO))


def raised(place: Sequence[Exact]) -> tuple[Exact, ...]:
    return (*place, ZERO)


def _with_zero(v: Any) -> Any:
    return v if isinstance(v, NoAnswer) else (*v, 0)


def _axial(moment: Any) -> Any:
    return (0, 0, moment)


@twin("concurrent-forces/plane-resultant")
def the_plane_in_space(owner: Family, given: Any, rng: random.Random) -> Claim:
    forces = tuple(SpaceForce(lifted(f.force), f.name) for f in given.forces)
    other = asked("concurrent-forces/space-resultant", forces=forces)

    def expect(found: Answers) -> Answers:
        flat = {key: v[:2] for key, v in found["components"].items()}
        return {
            "resultant": found["resultant"][:2],
            "equilibrant": found["equilibrant"][:2],
            "components": flat,
        }

    return Claim(given, [other], expect)


@twin("concurrent-forces/plane-resultant")
def forces_through_the_origin(owner: Family, given: Any, rng: random.Random) -> Claim:
    placed = tuple(PlaneForceAt(f.force, (ZERO, ZERO), f.name) for f in given.forces)
    other = asked("force-systems/single-force", forces=placed)
    return Claim(given, [other], lambda found: {"resultant": found["resultant"]})


def _space_system(given: Any) -> dict[str, Any]:
    return {
        "forces": tuple(SpaceForceAt(lifted(f.force), raised(f.at), f.name) for f in given.forces),
        "couples": tuple(
            SpaceCouple(Components((ZERO, ZERO, c.moment)), c.name)
            for c in getattr(given, "couples", ())
        ),
    }


@twin("force-systems/plane-reduction")
def reduced_in_space(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = asked(
        "force-systems/space-reduction", about=raised(given.about), **_space_system(given)
    )
    return Claim(
        given,
        [other],
        lambda found: {"resultant": found["resultant"][:2], "moment": found["moment"][2]},
    )


@twin("force-systems/single-force")
def a_wrench_without_pitch(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    other = asked("force-systems/wrench", **_space_system(given))

    def expect(found: Answers) -> Answers:
        return {"resultant": found["force"][:2]}

    return Claim(given, [other], expect)


@twin("force-systems/wrench")
def the_couple_along_the_force(owner: Family, given: Any, rng: random.Random) -> Claim:
    """M . R / R^2 of the reduction to the origin is the pitch (invariants of a system)."""
    other = asked(
        "force-systems/space-reduction",
        forces=given.forces,
        couples=given.couples,
        about=(ZERO, ZERO, ZERO),
    )

    def expect(found: Answers) -> Answers:
        force, moment = found["resultant"], found["moment"]
        along = sum(f * m for f, m in zip(force, moment, strict=True))
        square = sum(f * f for f in force)
        pitch = {"pitch": along / square} if bool(square > 0) else {}
        return {"force": force, **pitch}

    return Claim(given, [other], expect)


@twin("force-systems/wrench")
def about_any_other_point(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Reduced to a point off the origin, force and couple there make the same wrench."""
    spot = tuple(fmpq(rng.randint(-9, 9), 2) for _ in "xyz")
    moved = attrs.evolve(
        given,
        forces=tuple(
            attrs.evolve(f, at=tuple(difference(a, s) for a, s in zip(f.at, spot, strict=True)))
            for f in given.forces
        ),
    )
    names = ("force", "moment", "couple", "pitch", "reduces to")
    return Claim(moved, [(owner, given)], lambda found: {n: found[n] for n in names})


@twin("moments/plane-point")
def about_an_axis_square_to_the_plane(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = asked(
        "moments/space-axis",
        forces=_space_system(given)["forces"],
        through=raised(given.about),
        along=NORMAL,
    )
    names = {"moment": "moment", "moments": "moments", "distances": "distances"}
    return Claim(given, [other], lambda found: picked(found, names))


@twin("moments/space-axis")
def the_share_of_the_moment_about_a_point(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    if not isinstance(given.along, ByRun):
        return None
    other = asked("moments/space-point", forces=given.forces, about=given.through)

    def expect(found: Answers) -> Answers:
        run = [evaluate(x) for x in given.along.run]
        size = sum(x * x for x in run).sqrt()  # type: ignore[union-attr]
        return {"moment": sum(m * x for m, x in zip(found["moment"], run, strict=True)) / size}

    return Claim(given, [other], expect)


@twin("distributed-loads/line-load")
def a_straight_line_is_a_polynomial(owner: Family, given: Any, rng: random.Random) -> Claim:
    given = named(given)
    stretches = tuple(
        PolynomialStretch(
            s.start,
            s.end,
            (Term(0, s.first), Term(1, difference(s.last, s.first))),
            difference(s.end, s.start),
            s.start,
            s.name,
        )
        for s in given.stretches
    )
    other = asked("distributed-loads/polynomial", stretches=stretches, about=given.about)
    return Claim(given, [other], lambda found: found)


@twin("beams/line-resultant")
def loads_down_along_a_line(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    given = named(given)
    if any(len(line.intensities) > 2 for line in given.line_loads):
        return None
    down = attrs.evolve(
        given,
        line_loads=tuple(attrs.evolve(x, direction=ByRun((ZERO, -ONE))) for x in given.line_loads),
    )
    stretches = tuple(
        LinearStretch(x.start, x.end, x.intensities[0], x.intensities[-1], x.name)
        for x in given.line_loads
    )
    other = asked("distributed-loads/line-load", stretches=stretches)

    def expect(found: Answers) -> Answers:
        return {
            "resultant": (0, -found["resultant"]),
            "moment": -found["moment"],
            "totals": found["forces"],
        }

    return Claim(down, [other], expect)


@twin("beams/reactions")
def a_beam_is_a_body(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    given = named(given)
    if given.hinges or any(len(x.intensities) > 2 for x in given.line_loads):
        return None

    def at(x: Exact) -> tuple[Exact, Exact]:
        return (x, ZERO)

    other = asked(
        "rigid-bodies/plane-reactions",
        supports=tuple(
            PlaneSupport(
                s.kind, at(s.at), (s.direction or UP) if s.kind == "roller" else None, s.name
            )
            for s in given.supports
        ),
        forces=tuple(PlaneLoad(f.force, at(f.at), f.name) for f in given.forces),
        couples=tuple(PlaneCouple(c.moment, c.name) for c in given.couples),
        line_loads=tuple(
            LineLoad(
                at(x.start), at(x.end), x.intensities[0], x.intensities[-1], x.direction, x.name
            )
            for x in given.line_loads
        ),
    )
    names = {name: name for name in ("reactions", "couples", "constraint", "degree")}
    return Claim(given, [other], lambda found: picked(found, names))


@twin("beams/section-forces")
def a_cut_beside_a_support(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Just right of the left end the section carries what acts at the end itself."""
    other = asked(
        "beams/internal-forces",
        **{f.name: getattr(given, f.name) for f in attrs.fields(type(given))[:6]},
    )

    def expect(found: Answers) -> Answers:
        after = {}
        for name in ("axial", "shear", "moment"):
            if not isinstance(found[name], NoAnswer):
                piece = found[name][0]
                after[name] = piece.coefficients[0]
        return after

    return Claim(attrs.evolve(given, section=ZERO, side="right"), [other], expect)


@twin("beams/section-forces")
def any_cut_along_the_beam(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Inside the beam a section carries what the functions of position say there."""
    section = given.length * fmpq(rng.randint(1, 36), 37)
    other = asked(
        "beams/internal-forces",
        **{f.name: getattr(given, f.name) for f in attrs.fields(type(given))[:6]},
    )

    def there(pieces: Any) -> Any:
        x = evaluate(section)
        (piece,) = (p for p in pieces if p.start < x < p.end)
        return sum(c * (x - piece.start) ** k for k, c in enumerate(piece.coefficients))

    def expect(found: Answers) -> Answers:
        names = ("axial", "shear", "moment")
        return {n: there(found[n]) for n in names if not isinstance(found[n], NoAnswer)}

    return Claim(attrs.evolve(given, section=section, side="left"), [other], expect)


@twin("rigid-bodies/plane-reactions")
def one_body_of_a_frame(owner: Family, given: Any, rng: random.Random) -> Claim:
    given = named(given)
    body = "body"
    other = asked(
        "frames/plane-frame",
        bodies=(FrameBody(body),),
        supports=tuple(
            FrameSupport(s.kind, body, s.at, s.direction, s.name) for s in given.supports
        ),
        forces=tuple(FrameForce(f.force, f.at, body, f.name) for f in given.forces),
        couples=tuple(FrameCouple(c.moment, body, c.name) for c in given.couples),
        line_loads=tuple(
            FrameLineLoad(x.start, x.end, x.at_start, x.at_end, body, x.direction, x.name)
            for x in given.line_loads
        ),
    )
    names = {
        "reactions": "reactions",
        "couples": "couples",
        "forces": "support_forces",
        "constraint": "constraint",
        "degree": "degree",
        "state": "state",
    }
    return Claim(given, [other], lambda found: picked(found, names))


KINDS = {"pin": "ball", "roller": "roller", "link": "link"}


@twin("trusses/plane-truss")
def a_truss_held_in_its_plane(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """In space every joint that no ball holds is linked to the plane."""
    if any(joint.at is None for joint in given.joints):
        return None
    held = {s.joint for s in given.supports if s.kind == "pin"}
    supports = [
        SpaceTrussSupport(
            KINDS[s.kind],
            s.joint,
            None if s.direction is None else lifted_direction(s.direction),
            s.name,
        )
        for s in given.supports
    ]
    supports += [
        SpaceTrussSupport("link", joint.name, NORMAL, f"{joint.name} to the plane")
        for joint in given.joints
        if joint.name not in held
    ]
    other = asked(
        "trusses/space-truss",
        joints=tuple(SpaceJoint(j.name, raised(j.at)) for j in given.joints),
        members=given.members,
        supports=tuple(supports),
        loads=tuple(SpaceTrussLoad(lifted(x.force), x.joint, x.name) for x in given.loads),
    )
    names = {name: name for name in ("forces", "senses", "zero_members", "degree")}
    return Claim(given, [other], lambda found: picked(found, names))


@twin("particle-equilibrium/one-cord")
def a_cord_pulls_as_the_equilibrant(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = asked("concurrent-forces/plane-resultant", forces=given.forces)
    return Claim(given, [other], lambda found: {"cord": found["equilibrant"]})


@twin("force-systems/parallel-line")
def a_level_in_space(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = asked(
        "distributed-loads/area-load",
        patches=tuple(_patch(f) for f in given.forces),
    )
    return Claim(given, [other], lambda found: {"resultant": found["total"]})


def _patch(force: Any) -> Any:
    return Patch((force.force,), ONE)


@twin("components/oblique")
def axes_exchanged(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = attrs.evolve(given, first=given.second, second=given.first)
    names = {"first": "second", "second": "first"}
    return Claim(other, [(owner, given)], lambda found: picked(found, names))


@twin("components/plane-rectangular")
def a_component_is_a_projection(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = asked("components/plane-projection", force=given.force, line=given.axis)
    return Claim(given, [other], lambda found: {"along": found["projection"]})


@twin("components/space-angle", "components/plane-angle")
def vectors_exchanged(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = attrs.evolve(given, first=given.second, second=given.first)
    names = {name: name for name in ("product", "angle", "acute")}
    return Claim(other, [(owner, given)], lambda found: picked(found, names))


@twin("virtual-work/stability")
def what_holds_it_is_the_slope_of_the_energy(
    owner: Family, given: Any, rng: random.Random
) -> Claim:
    other = asked(
        "virtual-work/holding-force",
        **{f.name: getattr(given, f.name) for f in attrs.fields(type(given))},
    )
    return Claim(given, [other], lambda found: {"first": found["couple"]})
