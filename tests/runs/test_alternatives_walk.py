"""A calculator that reports one of several solutions, from its file to the verdicts.

The calculator is made up here: a weight on a rod held up by a torsion spring, its positions
of equilibrium sought by bisection of sampled signs.
"""

from __future__ import annotations

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.check import run_check

FAMILY = "virtual-work/equilibrium-positions"
CASES = ("anchor-pendulum", "pendulum-nowhere", "inverted-on-a-torsion-spring")

MODULE = """
import math

def rod(asked):
    load, (point,) = asked["loads"][0]["down"], asked["points"]
    stiff = asked["springs"][0]["k"] if asked.get("springs") else 0
    start, end = math.radians(asked["from"]), math.radians(asked["to"])

    def slope(a):
        return stiff * a + load * (point["sy"] * math.cos(a) - point["cy"] * math.sin(a))

    places = [start + (end - start) * i / 1999 for i in range(2000)]
    found = {"count": 0}
    for low, high in zip(places, places[1:]):
        falls = slope(low) > 0
        if falls == (slope(high) > 0):
            continue
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if (slope(middle) > 0) == falls else (low, middle)
        found["count"] += 1
        number = found["count"]
        found[f"angle {number}"] = math.degrees(low)
        found[f"state {number}"] = WORDS[falls]
    return found

WORDS = {False: "stable", True: "unstable"}
"""

HEAD = """
[calculator]
name = "Rod on a torsion spring (made up)"
version = "1"
owner = "a workshop that does not exist"

[python]
function = "rods:rod"
limit = 5

[refusals]
blank = true

[[family]]
name = "virtual-work/equilibrium-positions"
"""

INPUTS = (
    ("forces[*].force", 'take = "component"\nalong = "-y"\nunit = "N"', "loads[*].down"),
    ("torsion_springs[*].stiffness", 'unit = "N m/rad"', "springs[*].k"),
    *(
        (f"points[*].{given}", f'take = "coordinate"\nalong = "+{axis}"\nunit = "m"',
         f"points[*].{given[0]}{axis}")
        for given in ("cosine", "sine")
        for axis in "xy"
    ),
    ("start", 'unit = "deg"', "from"),
    ("end", 'unit = "deg"', "to"),
)  # fmt: skip

OUTPUTS = tuple(
    entry
    for n in (1, 2)
    for entry in (
        (f'"positions"\npick = {n}\npart = "angle"\nunit = "deg"', f"angle {n}", "1e-9 deg"),
        (f'"positions"\npick = {n}\npart = "stability"', f"state {n}", ""),
    )
) + (('"count"', "count", "0"),)


def text():
    parts = [HEAD]
    for given, how, place in INPUTS:
        parts.append(
            f'[[family.input]]\ngiven = "{given}"\n{how}\nplace = "{place}"\nsays = "{place}"\n'
        )
    for answer, place, absolute in OUTPUTS:
        criterion = f'criterion = {{ absolute = "{absolute}", reason = "doubles" }}\n'
        parts.append(
            f'[[family.output]]\nanswer = {answer}\nplace = "{place}"\nsays = "{place}"\n'
            + (criterion if absolute else "")
        )
    return "\n".join(parts)


@pytest.fixture(params=["right", "states exchanged"])
def verdicts(request, tmp_path):
    module = MODULE
    if request.param != "right":
        module = module.replace('{False: "stable", True: "unstable"}',
                                '{True: "stable", False: "unstable"}')  # fmt: skip
    (tmp_path / "rods.py").write_text(module)
    (tmp_path / "rods.toml").write_text(text())
    run = run_check(
        read_calculator_file(tmp_path / "rods.toml"),
        Catalogue(),
        only=lambda case: case.id in {f"{FAMILY}/{name}" for name in CASES},
    )
    return request.param, {
        (one.case.id.rpartition("/")[2], finding.output): (finding.verdict, finding.why)
        for one in run.runs
        if one.asked
        for finding in one.findings
        if finding.judged == "stored"
    }


def test_each_solution_is_judged_by_its_place_in_the_order(verdicts):
    state, found = verdicts
    wrong = {key for key, (verdict, _) in found.items() if verdict != "pass"}
    states = {key for key in found if "stability" in key[1] and "nowhere" not in key[0]}
    assert len(found) == 5 * len(CASES) and len(states) == 4
    assert wrong == (set() if state == "right" else states)
    declined = [why for (name, _), (_, why) in found.items() if name == "pendulum-nowhere"]
    assert declined.count("rightly declined") == 4
