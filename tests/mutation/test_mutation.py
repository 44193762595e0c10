"""The trials themselves: what is changed, what is left alone, and that a test is noticed."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from refsolver.arithmetic import contract
from tests.mutation.apart import Ended, apart
from tests.mutation.changes import changes, sampled
from tests.mutation.trials import _afresh, read


def made(source):
    """Every text that the changes of a source lead to."""
    tree, texts = ast.parse(source), []
    for change in changes(tree):
        with change.applied():
            texts.append(ast.unparse(tree))
    assert ast.unparse(tree) == ast.unparse(ast.parse(source))
    return texts


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("a < b", ["pass", "a <= b", "a > b"]),
        ("x = a + 1", ["x = a - 1", "x = a + 2"]),
        ("x = not a", ["x = a"]),
        ("x = a and b", ["x = a or b"]),
        ("x = f(a, b)", ["x = f(b, a)"]),
        ("x = f(a, a)", []),
        ("x = 'word'", ["x = 'wordx'"]),
        ("x = 'for people'", []),
        ("x = True", ["x = False"]),
        ("x[0] = y", ["pass", "x[1] = y"]),
        ("x = [y for y in z if y]", ["x = [y for y in z if not y]"]),
        ("x: int = -a", ["x: int = a"]),
        ("'''Says what.'''", []),
        ("raise ValueError('word')", ["pass"]),
        ("import os", []),
    ],
)
def test_the_changes_of_a_line(source, expected):
    assert made(source) == expected


def test_the_changes_of_a_function():
    source = "def f(a, b=2):\n    '''Doc.'''\n    while a:\n        break\n    return a"
    head = "def f(a, b=2):\n    '''Doc.'''\n"
    tail = "    while a:\n        break\n    return a"
    assert [text.replace('"""', "'''") for text in made(source)] == [
        head.replace("2", "3") + tail,
        head + tail.replace("while a", "while not a"),
        head + tail.replace("break", "continue"),
        head + tail.replace("return a", "return None"),
    ]


def test_a_change_knows_its_place_and_its_turn():
    found = changes(ast.parse("def f(a):\n    g(a + b)\n    return [\n        a + b,\n    ]"))
    sums = [change for change in found if change.before == "a + b"]
    assert [c.key for c in sums] == ["f: a + b -> a - b", "f: a + b -> a - b (2)"]
    assert [c.lines for c in sums] == [range(2, 3), range(3, 6)]
    assert all(c.inside for c in found)
    assert not changes(ast.parse("A = 1"))[0].inside


def test_a_sample_is_always_the_same():
    found = changes(ast.parse("\n".join(f"x{n} = {n}" for n in range(50))))
    keys = [change.key for change in sampled(found, 10, "seed")]
    assert keys == [change.key for change in sampled(found, 10, "seed")] and len(keys) == 10
    assert keys != [change.key for change in sampled(found, 10, "other")]
    assert sampled(found, 50, "seed") == found


def test_a_change_of_what_the_trials_import_themselves_is_tried_all_the_same():
    path = Path(contract.__file__)
    module = read(path, contract.__name__, 10**6)
    node = "tests/arithmetic/test_contract.py::test_a_signal_names_its_decision"
    found = [c for c in module.tried if c.before.startswith("super().__init__")]
    assert len(found) == 3
    for change in found:
        assert _afresh(module, change, [node], 20, 1) == node


def endless():
    while True:
        pass


def crash():
    raise RuntimeError


def test_work_apart_is_answered_or_ended():
    assert apart(lambda: "x" * 10**6, 5) == "x" * 10**6
    with pytest.raises(Ended):
        apart(crash, 5)
    with pytest.raises(Ended):
        apart(endless, 0)
