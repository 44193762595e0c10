"""Calculators as practitioners write them, each with one thing wrong (all constructed).

Every one is written from the textbook formula, not from the families of the package; what is
wrong is worded here as its writer would word it. ``known`` is the name of the listed mistake,
or the other mapping, that means the same; empty where the error is none of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import attrs

__all__ = ["SLIPS", "Slip"]


@attrs.frozen
class Slip:
    family: str
    words: str
    known: str
    answer: Callable[[dict[str, Any]], dict[str, Any]]


def number(x: Any, otherwise: float | None = None) -> Any:
    return otherwise if x is None else x


# ---- belts


def belt(
    radians=lambda lap: lap * math.pi / 180,
    wedge=lambda groove: math.sin(math.radians(groove) / 2),
    power=math.exp,
    arm=lambda r: r,
    ratio_shown=lambda x: x,
    exchanged=False,
):
    def answer(case):
        mu = case["friction"]
        if number(case.get("groove")) is not None:
            mu = mu / wedge(case["groove"])
        ratio = ratio_shown(power(mu * radians(case["lap"])))
        tension, known = case["tension"], number(case.get("known"), "tight")
        if known == "tight":
            tight, slack = tension, tension / ratio
        elif known == "slack":
            tight, slack = tension * ratio, tension
        else:
            slack = tension / (ratio - 1)
            tight = slack * ratio
        if exchanged:
            tight, slack = slack, tight
        found = {"ratio": ratio, "tight": tight, "slack": slack, "difference": tight - slack}
        if number(case.get("radius")) is not None:
            found["torque"] = (tight - slack) * arm(case["radius"])
        return found

    return answer


BELTS = [
    ("lap typed into EXP in degrees", "degrees for radians", belt(radians=lambda lap: lap)),
    ("V belt worked as a flat one", "groove left out", belt(wedge=lambda groove: 1.0)),
    ("pi typed as 3", "", belt(radians=lambda lap: lap * 3 / 180)),
    ("e typed as 2.7", "", belt(power=lambda x: 2.7**x)),
    ("whole groove angle under the sine", "", belt(wedge=lambda g: math.sin(math.radians(g)))),
    ("torque from the diameter", "", belt(arm=lambda r: 2 * r)),
    ("half a turn whatever the lap", "", belt(radians=lambda lap: math.pi)),
    ("ratio cut to one decimal", "", belt(ratio_shown=lambda x: math.floor(10 * x) / 10)),
]


# ---- masses


def masses(
    rows=lambda rows: rows,
    weight=lambda m: m,
    place=lambda x, y: (x, y),
    divisor=lambda rows, total: total,
    angle=lambda x, y: math.degrees(math.atan2(y, x)),
    centre=lambda x, y: (x, y),
):
    def answer(case):
        used = rows(case["masses"])
        total = sum(row["mass"] for row in used)
        places = [place(row["at"]["x"], row["at"]["y"]) for row in used]
        x = sum(weight(row["mass"]) * p[0] for row, p in zip(used, places, strict=True))
        y = sum(weight(row["mass"]) * p[1] for row, p in zip(used, places, strict=True))
        by = divisor(used, total)
        at = centre(x / by, y / by) if by else (None, None)
        size = math.hypot(x, y)
        turned = angle(x, y) if size > 1e-9 else "none: no direction"
        return {
            "mass": total,
            "first_moment": {"size": size, "angle": turned, "x": x, "y": y},
            "centre": {"x": at[0], "y": at[1]} if by else None,
        }

    return answer


MASSES = [
    ("the bottom line of the table is never picked up", "last row left out",
     masses(rows=lambda rows: rows[:-1] or rows)),
    ("ATAN of y over x", "one-argument arctangent",
     masses(angle=lambda x, y: math.degrees(math.atan(y / x)) if x else 90.0)),
    ("every distance entered as positive", "distances without sign",
     masses(place=lambda x, y: (abs(x), abs(y)))),
    ("total of m x divided by how many there are", "divided by the number of masses",
     masses(divisor=lambda rows, total: len(rows))),
    ("columns for x and y mixed up at the end", "coordinates exchanged",
     masses(centre=lambda x, y: (y, x))),
    ("mass squared by a copied cell", "", masses(weight=lambda m: m * m)),
    ("the origin is taken a hundredth off", "", masses(place=lambda x, y: (x + 0.01, y))),
    ("one kilogram added for the frame", "", masses(divisor=lambda rows, total: total + 1)),
]  # fmt: skip


# ---- moments


def moments(
    about=lambda p: p,
    product=lambda x, y, fx, fy: x * fy - y * fx,
    radians=math.radians,
    rows=lambda rows: rows,
    total=sum,
    shown=lambda m: m,
):
    def answer(case):
        asked = case.get("about") or {"x": 0.0, "y": 0.0}
        x0, y0 = about((asked["x"], asked["y"]))
        single, arms = [], []
        for row in case["forces"]:
            size, turn = row["force"]["size"], radians(row["force"]["angle"])
            fx, fy = size * math.cos(turn), size * math.sin(turn)
            x, y = row["at"]["x"] - x0, row["at"]["y"] - y0
            m = product(x, y, fx, fy)
            single.append(m)
            arms.append(abs(m / size) if size else "none: not defined")
        kept = rows(single)
        return {
            "moment": shown(total(kept)),
            "moments": [shown(m) for m in single],
            "distances": arms,
        }

    return answer


ANGLE = "the input forces[*].force.angle (forces, force, angle)"
MOMENTS = [
    ("always about (0, 0)", "moment about the origin", moments(about=lambda p: (0.0, 0.0))),
    # x Fy + y Fx is also what comes of reading Fx backwards: nothing tells the two apart.
    ("plus where the vector product has minus", f"{ANGLE} is counted from -x toward +y",
     moments(product=lambda x, y, fx, fy: x * fy + y * fx)),
    ("x times Fx less y times Fy", "sine and cosine swapped",
     moments(product=lambda x, y, fx, fy: x * fx - y * fy)),
    ("clockwise counted positive", "all outputs in N·m have the opposite sign or sense",
     moments(shown=lambda m: -m)),
    ("SIN of a number of degrees", "degrees taken as radians", moments(radians=lambda a: a)),
    ("only the upright parts turn", "", moments(product=lambda x, y, fx, fy: x * fy)),
    ("moments of more than 1000 cut off", "", moments(shown=lambda m: min(m, 1000.0))),
    ("an eccentricity of 2 % added", "", moments(product=lambda x, y, fx, fy:
                                                 1.02 * x * fy - y * fx)),
]  # fmt: skip


# ---- parallel axes


def carried(step=lambda d: d * d, start=lambda i, a, d: i - a * d * d, own=math.sqrt):
    def answer(case):
        a, i = case["area"], case["moment"]
        known, wanted = number(case.get("known"), 0.0), case["wanted"]
        centroidal = start(i, a, known)
        moment = centroidal + a * step(wanted)
        return {
            "moment": moment, "centroidal": centroidal,
            "radius_of_gyration": own(moment / a),
        }  # fmt: skip

    return answer


AXES = [
    ("d instead of d squared", "distance not squared",
     carried(step=lambda d: d, start=lambda i, a, d: i - a * d)),
    ("the term A d^2 left off", "parallel axis term left out",
     carried(step=lambda d: 0.0, start=lambda i, a, d: i)),
    ("k as I over A, not its root", "", carried(own=lambda x: x)),
    ("half of A d^2", "", carried(step=lambda d: d * d / 2)),
]  # fmt: skip


# ---- the screw


def screw(
    lead=lambda pitch, starts: pitch * starts,
    thread=lambda mu, half: mu / math.cos(half),
    turned=lambda slope, mu: math.tan(math.atan(slope) + math.atan(mu)),
    collar=lambda w, mu, r: w * mu * r,
    radius=lambda d: d / 2,
):
    def answer(case):
        w, d = case["load"], case["mean_diameter"]
        slope = lead(case["pitch"], number(case.get("starts"), 1)) / (math.pi * d)
        half = math.radians(number(case.get("thread_angle"), 0.0)) / 2
        mu = thread(case["friction"], half)
        rubbing = collar(
            w, number(case.get("collar_friction"), 0.0), number(case.get("collar_radius"), 0.0)
        )
        raising = w * radius(d) * turned(slope, mu) + rubbing
        lowering = w * radius(d) * math.tan(math.atan(mu) - math.atan(slope)) + rubbing
        found = {"raising_torque": raising, "lowering_torque": lowering}
        found["efficiency"] = w * radius(d) * slope / raising
        if number(case.get("lever")) is not None:
            found["raising_effort"] = raising / case["lever"]
            found["lowering_effort"] = lowering / case["lever"]
        if number(case.get("speed")) is not None:
            found["raising_power"] = raising * case["speed"]
        return found

    return answer


SCREWS = [
    ("a two-start thread climbs one pitch a turn", "pitch for lead",
     screw(lead=lambda pitch, starts: pitch)),
    ("tan phi and tan alpha simply added", "tangents added",
     screw(turned=lambda slope, mu: slope + mu)),
    ("no line for the thrust collar", "collar left out", screw(collar=lambda w, mu, r: 0.0)),
    ("trapezoidal threads as square ones", "thread taken as square",
     screw(thread=lambda mu, half: mu)),
    ("mean diameter where the radius belongs", "", screw(radius=lambda d: d)),
    ("collar friction at 1.5 times its radius", "",
     screw(collar=lambda w, mu, r: 1.5 * w * mu * r)),
]  # fmt: skip

_SETS = {
    "friction/belt": BELTS,
    "friction/screw": SCREWS,
    "centroids/point-masses-plane": MASSES,
    "moments/plane-point": MOMENTS,
    "second-moments/parallel-axis": AXES,
}
SLIPS = tuple(Slip(name, *slip) for name, slips in _SETS.items() for slip in slips)
RIGHT = {
    "friction/belt": belt(),
    "friction/screw": screw(),
    "centroids/point-masses-plane": masses(),
    "moments/plane-point": moments(),
    "second-moments/parallel-axis": carried(),
}
"""The same without the slip."""
