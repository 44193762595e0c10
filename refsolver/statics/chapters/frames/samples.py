"""Frames made at random: of a stated difficulty, or with stated numbers of rows."""

from __future__ import annotations

import random
from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

from flint import fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.leaves import ByAngle, ByRun, Components
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Body
from refsolver.statics.chapters.frames.frame import (
    FRAME_RULES,
    CablePart,
    Connection,
    Frame,
    FrameBody,
    FrameCouple,
    FrameForce,
    FrameLineLoad,
    FrameSupport,
    KnownTension,
    frame_loads,
    frame_unknowns,
)
from refsolver.statics.random_givens import (
    decimal,
    drawn,
    drawn_point,
    drawn_vector,
    figures_for,
    log_uniform,
    rounded,
)

__all__ = ["frame_of_difficulty", "frame_with_rows"]

_TRIES = 200


def frame_of_difficulty(kappa: tuple[float, float], rng: random.Random) -> Frame:
    """A three-hinged arch whose crown lies near the line of its abutments, and what hangs on it.

    The thrust is about as many times the load as the condition asked.
    """
    spread = log_uniform(rng, kappa)
    span = rng.uniform(4, 20)
    ground = fmpq(rng.randint(1, 9))  # heights from elsewhere, so that the rise is a difference
    rise = rounded(ground / 2 / fmpq(round(100 * spread), 100), figures_for(spread) + 2)
    crown: tuple[Exact, ...] = (decimal(span * rng.uniform(0.3, 0.7), 2), ground + rise)
    far: tuple[Exact, ...] = (decimal(span, 2), ground)
    bodies, connections, forces = ["left", "right"], [], []
    connections.append(Connection("pin", "left", "right", crown, name="crown"))
    if rng.random() < 0.6:
        bodies.append("hanger")
        at = drawn_point(rng, 2)
        connections.append(Connection("pin", "hanger", "left", at, name="H"))
        foot = (at[0] + drawn(rng, 1, 3), at[1] - 2)
        tie = (foot[0] + drawn(rng, 1, 4), foot[1] + drawn(rng, 1, 4))
        connections.append(Connection("link", "hanger", "left", foot, tie, name="tie"))
    parts, tensions = [], []
    if rng.random() < 0.5:
        at = drawn_point(rng, 2)
        for turn in (rng.uniform(0, 360), rng.uniform(0, 360)):
            along = ByAngle(Turn(decimal(turn, 1) / 360))
            parts.append(CablePart("rope", "right", at, along))
        tensions.append(KnownTension("rope", drawn(rng, 10, 90)))
    for body in bodies:
        forces.append(FrameForce(drawn_vector(rng, 2), drawn_point(rng, 2), body))
    return Frame(
        tuple(FrameBody(body) for body in bodies),
        tuple(connections),
        (
            FrameSupport("pin", "left", (fmpq(0), ground), name="A"),
            FrameSupport("pin", "right", far, name="B"),
        ),
        tuple(forces),
        (FrameCouple(drawn(rng, -90, 90), "left"),) if rng.random() < 0.5 else (),
        (_line("right", rng),) if rng.random() < 0.5 else (),
        tuple(parts),
        tuple(tensions),
    )


def _line(body: str, rng: random.Random) -> FrameLineLoad:
    start = fmpq(rng.randint(1, 9)), fmpq(rng.randint(1, 9))
    end = start[0] + 3 * rng.randint(1, 2), start[1] + 4 * rng.randint(1, 2)
    return FrameLineLoad(start, end, fmpq(rng.randint(1, 20)), fmpq(rng.randint(21, 50)), body)


def frame_with_rows(rows: Mapping[str, int], rng: random.Random) -> Frame | None:
    """A determinate frame with these numbers of rows; None where there is none.

    Bodies hang together by pins in a chain; further connections are links. Supports are
    rollers, pins and fixed ends, as many of each as make up the unknowns.
    """
    bodies = rows.get("bodies", 2)
    connections = rows.get("connections", bodies - 1)
    held = 3 * bodies - 2 * (bodies - 1) - (connections - bodies + 1)
    kinds = _supports(rows.get("supports", 2), held)
    parts = rows.get("cable_parts", rows.get("tensions", 0))
    if kinds is None or connections < bodies - 1 or parts != rows.get("tensions", parts):
        return None
    best, most = None, -1
    for _ in range(_TRIES):
        frame = _tried(bodies, connections, kinds, rows, rng)
        bearing = -1 if frame is None else _bearing(frame)
        if bearing > most:
            best, most = frame, bearing
        if most == 3 * bodies:
            break
    return best


def _supports(count: int, held: int) -> list[str] | None:
    """So many supports with so many unknowns together."""
    extra = held - count
    if not 0 <= extra <= 2 * count:
        return None
    fixed = max(0, extra - count)
    pins = extra - 2 * fixed
    return ["fixed"] * fixed + ["pin"] * pins + ["link"] * (count - fixed - pins)


def _tried(
    bodies: int, connections: int, kinds: list[str], rows: Mapping[str, int], rng: random.Random
) -> Frame | None:
    names = [f"body {n}" for n in range(1, bodies + 1)]
    joined = [
        Connection("pin", a, b, _spot(rng), name=f"pin {n}")
        for n, (a, b) in enumerate(zip(names, names[1:], strict=False), 1)
    ]
    for n in range(connections - len(joined)):
        if bodies < 2:
            return None
        a, b = rng.sample(names, 2)
        at, far = _spot(rng), _spot(rng)
        if at == far:
            return None
        joined.append(Connection("link", a, b, at, far, name=f"link {n + 1}"))
    held = [
        FrameSupport(kind, rng.choice(names), _spot(rng), _run(rng) if kind == "link" else None,
                     name=f"support {n}")
        for n, kind in enumerate(kinds, 1)
    ]  # fmt: skip
    parts = tuple(
        CablePart(f"rope {n + 1}", rng.choice(names), _spot(rng), _run(rng))
        for n in range(rows.get("cable_parts", rows.get("tensions", 0)))
    )
    return Frame(
        tuple(FrameBody(name) for name in names),
        tuple(joined),
        tuple(held),
        tuple(
            FrameForce(Components(_spot(rng, 90)), _spot(rng), names[-1 - n % bodies])
            for n in range(rows.get("forces", 2))
        ),
        tuple(
            FrameCouple(fmpq(rng.randint(11, 99)), rng.choice(names))
            for _ in range(rows.get("couples", 0))
        ),
        tuple(_line(rng.choice(names), rng) for _ in range(rows.get("line_loads", 0))),
        parts,
        tuple(KnownTension(part.cable, fmpq(rng.randint(11, 99))) for part in parts),
    )


def _spot(rng: random.Random, reach: int = 9) -> tuple[Exact, ...]:
    return tuple(fmpq(rng.choice((-1, 1)) * rng.randint(1, reach)) for _ in range(2))


def _run(rng: random.Random) -> ByRun:
    return ByRun(rng.choice(((fmpq(3), fmpq(4)), (fmpq(-4), fmpq(3)), (fmpq(5), fmpq(-12)))))


def _bearing(frame: Frame) -> int:
    """How many unknowns of a determinate frame are not zero; -1 of any other frame."""
    rules: Any = SimpleNamespace(**FRAME_RULES)
    found = equilibrium(
        [Body(body.name) for body in frame.bodies],
        2,
        lambda a: frame_unknowns(frame, a, rules),
        lambda a: [action for _, action in frame_loads(frame, a, rules)],
        EnclosureArithmetic(),
    )
    if found.free_motions or found.redundants:
        return -1
    return sum(not x.is_zero() for x in found.values.values())
