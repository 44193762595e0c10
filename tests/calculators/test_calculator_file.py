"""Calculator files: what is read, and a complaint by key for whatever cannot be."""

from __future__ import annotations

import copy

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.schema import CaseFileError

GOOD = {
    "calculator": {"name": "Two pulls (made up)", "version": "1", "owner": "nobody",
                   "description": "adds"},
    "acceptance": {"least_cases": 2},
    "refusals": {"texts": ["none"], "errors": ["#N/A"], "exit_codes": [3], "blank": False},
    "python": {"function": "m:f"},
    "family": [
        {
            "name": "concurrent-forces/plane-resultant",
            "gaps": True,
            "read_at_source": False,
            "fixed": {},
            "settings": {},
            "input": [
                {"given": "forces[*].force", "take": "magnitude", "unit": "lbf",
                 "place": "p[*].size", "says": "size", "decimals": 2, "blank": "",
                 "negate": False, "words": {}},
                {"given": "forces[*].force", "take": "angle", "unit": "deg", "from": "+y",
                 "toward": "+x", "range": "0..360", "place": "p[*].turn", "says": "turn"},
            ],
            "output": [
                {"answer": "resultant", "take": "component", "along": "+x", "unit": "lbf",
                 "units": {"pounds": "lbf"}, "place": "x", "says": "across", "judge": "both",
                 "negate": False, "sense": {"place": "s", "words": {"right": "+", "left": "-"}},
                 "criterion": {"absolute": "1 lbf", "reason": "a test"}},
                {"answer": "resultant", "take": "angle", "from": "+y", "toward": "+x",
                 "range": "-180..180", "unit": "deg", "place": "a", "says": "turn",
                 "quadrant": {"place": "q", "words": {"NE": "++", "NW": "+-"}},
                 "criterion": {"absolute": "1 deg", "reason": "a test"}},
            ],
            "scope": [
                {"count": "forces", "at_most": "8", "reason": "eight rows"},
                {"input": "forces[*].force magnitude", "at_most": "900 lbf", "reason": "so"},
                {"exclude": ["a/b/c"], "reason": "so"},
            ],
        }
    ],
}  # fmt: skip


def toml(value):
    """A value as TOML, tables inline."""
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{k}" = {toml(v)}' for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def read(folder, data):
    path = folder / "calculator.toml"
    path.write_text("\n".join(f'"{key}" = {toml(value)}' for key, value in data.items()))
    return read_calculator_file(path)


def steps(data, path=()):
    """The path of every value inside, tables and lists included."""
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield (*path, key)
        if isinstance(value, (dict, list)):
            yield from steps(value, (*path, key))


def changed(path, value):
    data = copy.deepcopy(GOOD)
    here = data
    for step in path[:-1]:
        here = here[step]
    if value is None:
        del here[path[-1]]
    else:
        here[path[-1]] = value
    return data


def test_a_good_file_is_read(tmp_path):
    file = read(tmp_path, GOOD)
    (section,) = file.sections
    assert (file.name, file.kind, file.least_cases) == ("Two pulls (made up)", "python", 2)
    assert [line.id for line in section.inputs] == [
        "forces[*].force magnitude", "forces[*].force angle",
    ]  # fmt: skip
    assert section.outputs[0].units["pounds"].name == "lbf"
    assert section.outputs[0].sense.words == {"right": (1,), "left": (-1,)}
    assert [c.sentence for c in section.scope] == [
        "number of forces: at most 8",
        "forces[*].force magnitude: at most 900 lbf",
        "without the cases a/b/c",
    ]
    assert file.refusals.exit_codes == (3,) and len(file.sha256) == 64
    assert section.outputs[1].period.lower == 360 and section.outputs[0].period is None


@pytest.mark.parametrize("value", ["nonsense", 7, -1, True, [], ["x", 1], {}, {"x": "y"}])
@pytest.mark.parametrize("path", list(steps(GOOD)), ids=lambda p: ".".join(map(str, p)))
def test_a_value_of_another_kind_is_read_or_complained_about(tmp_path, path, value):
    """Never anything but the error that names file and key."""
    try:
        read(tmp_path, changed(path, value))
    except CaseFileError as problem:
        assert problem.complaints and "calculator.toml" in str(problem)


REQUIRED = [
    ("calculator", "name"), ("calculator", "owner"), ("calculator", "version"), ("python",),
    ("family",), ("family", 0, "name"), ("family", 0, "input"), ("family", 0, "output"),
    ("family", 0, "input", 0, "given"), ("family", 0, "input", 0, "unit"),
    ("family", 0, "input", 0, "place"), ("family", 0, "input", 0, "says"),
    ("family", 0, "output", 0, "answer"), ("family", 0, "output", 0, "unit"),
    ("family", 0, "output", 0, "place"), ("family", 0, "output", 0, "says"),
    ("family", 0, "output", 0, "criterion"), ("family", 0, "output", 0, "criterion", "reason"),
    ("family", 0, "output", 0, "along"), ("family", 0, "scope", 0, "reason"),
    ("family", 0, "output", 0, "sense", "place"), ("family", 0, "output", 0, "sense", "words"),
]  # fmt: skip


@pytest.mark.parametrize("path", REQUIRED, ids=lambda p: ".".join(map(str, p)))
def test_what_is_needed_is_asked_for_by_name(tmp_path, path):
    with pytest.raises(CaseFileError) as problem:
        read(tmp_path, changed(path, None))
    assert str(path[-1]).removeprefix("python") in str(problem.value)


@pytest.mark.parametrize("path", [p for p in steps(GOOD) if isinstance(p[-1], str)],
                         ids=lambda p: ".".join(map(str, p)))  # fmt: skip
def test_a_key_misspelt_is_never_taken_for_nothing(tmp_path, path):
    """A key with a letter too many is complained about, not left out in silence."""
    free = ("settings", "fixed", "words", "units", "python")
    if any(step in free for step in path[:-1]):
        return  # names of the user's own, or keys that the kind of calculator checks
    data = changed(path, None)
    here = data
    for step in path[:-1]:
        here = here[step]
    here[f"{path[-1]}s_"] = "x"
    with pytest.raises(CaseFileError):
        read(tmp_path, data)


def test_every_complaint_is_given_at_once(tmp_path):
    data = changed(("family", 0, "input", 0, "unit"), "furlongs")
    data["family"][0]["output"][1]["judge"] = "neither"
    data["colour"] = "red"
    with pytest.raises(CaseFileError) as problem:
        read(tmp_path, data)
    assert {c.key for c in problem.value.complaints} >= {
        "colour", "family[1].input[1].unit", "family[1].output[2].judge",
    }  # fmt: skip


def test_settings_of_a_family_that_nobody_would_read_are_refused(tmp_path):
    data = changed(("family", 0, "settings"), {"batch": 3})
    with pytest.raises(CaseFileError, match=r"family\[1\].settings.*under \[python\]"):
        read(tmp_path, data)
    del data["python"]
    assert read(tmp_path, data | {"command": {"argv": ["x"]}}).sections[0].settings


def test_an_angle_that_is_a_direction_is_held_to_less_than_all_round(tmp_path):
    """Half a turn to either side; an angle that is a quantity, a lap, may be of many turns."""
    wide = {"absolute": "180 deg", "reason": "a test"}
    data = changed(("family", 0, "output", 1, "criterion"), wide)
    with pytest.raises(CaseFileError, match="every direction"):
        read(tmp_path, data)
    lap = GOOD["family"][0] | {
        "name": "friction/belt-lap", "scope": [],
        "input": [{"given": "larger", "unit": "m", "place": "r", "says": "radius"}],
        "output": [{"answer": "lap on the larger", "unit": "deg", "place": "lap", "says": "lap",
                    "criterion": wide}],
    }  # fmt: skip
    assert read(tmp_path, GOOD | {"family": [lap]}).sections


@pytest.mark.parametrize("unit", ["rad", "lbf"])
def test_a_quadrant_completes_degrees_only(tmp_path, unit):
    """A quarter turn less an angle in radians is no exact number."""
    data = changed(("family", 0, "output", 1, "unit"), unit)
    if unit == "lbf":
        data["family"][0]["output"][1] |= {"take": "magnitude", "criterion": {
            "absolute": "1 lbf", "reason": "a test"}}  # fmt: skip
        for key in ("from", "toward", "range"):
            del data["family"][0]["output"][1][key]
    else:
        data["family"][0]["output"][1]["criterion"] = {"absolute": "1 rad", "reason": "a test"}
    with pytest.raises(CaseFileError) as problem:
        read(tmp_path, data)
    assert [c.key for c in problem.value.complaints] == ["family[1].output[2].quadrant"]
