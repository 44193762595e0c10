"""Festoon desk, an invented calculator for lamp lines tied to one pole; mistakes are planted.

Planted: the direction comes from ``atan`` (wrong quadrant to the south), a first line due
north crashes, a sum stops at the seventh line, one line alone is left blank, pulls above
1000 lbf are declined, and in space the height is forgotten.
"""

import math


def pole(case):
    lines = case["lines"][:7]
    if any(line["pull"] > 1000 for line in lines):
        return {"pull": "over the desk's range", "heading": "over the desk's range"}
    if len(case["lines"]) == 1:
        return {"pull": None, "heading": None}
    if 360 / lines[0]["heading"] < 1:
        raise ValueError("a heading above a full turn")
    east = sum(line["pull"] * math.sin(math.radians(line["heading"])) for line in lines)
    north = sum(line["pull"] * math.cos(math.radians(line["heading"])) for line in lines)
    return {
        "pull": round(math.hypot(east, north), 1),
        "heading": math.degrees(math.atan(east / north)) % 360,
    }


def mast(case):
    sums = [sum(line[axis] for line in case["lines"]) for axis in ("x", "y", "z")]
    return {"x": sums[0], "y": sums[1], "z": sums[2], "pull": math.hypot(sums[0], sums[1])}


def guys(case):
    a, b = math.radians(case["first"]), math.radians(case["second"])
    area = math.cos(a) * math.sin(b) - math.sin(a) * math.cos(b)
    if abs(area) < 1e-12:
        return {"a": "parallel", "b": "parallel"}
    x, y = case["x"], case["y"]
    return {
        "a": (x * math.sin(b) - y * math.cos(b)) / area,
        "b": (y * math.cos(a) - x * math.sin(a)) / area,
    }


def desk(case):
    if "first" in case:
        return guys(case)
    return mast(case) if "z" in case["lines"][0] else pole(case)
