"""Every refusal and every word of a family is reached by a case, and none beyond them is.

The files are read as plain TOML: that each expected one is what the solver gives, with
proof, is what the test of the printed answers shows.
"""

import tomllib
from collections import defaultdict

import pytest

from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.kinds import REFUSALS, ChoiceKind
from refsolver.statics.registry import families

FAMILIES = families()


@pytest.fixture(scope="module")
def refused():
    """(answer, reason) by family, as the catalogue's cases state them."""
    found = defaultdict(set)
    for path in Catalogue().paths.values():
        case = tomllib.loads(path.read_text(encoding="utf-8"))
        for published in case.get("published", ()):
            if "refused" in published:
                found[case["family"]].add((published["answer"], published["refused"]))
    return found


@pytest.mark.parametrize("name", FAMILIES)
def test_each_declared_refusal_is_reached_by_a_case(name, refused):
    declared = {
        (answer, reason)
        for answer, given in FAMILIES[name].answers.items()
        for reason in given.refusals
    }
    assert {reason for _, reason in declared} <= set(REFUSALS)
    missing = [f"{answer}: {reason}" for answer, reason in sorted(declared - refused[name])]
    assert not missing, f"{name}: no case expects {'; '.join(missing)}"
    beyond = [
        f"{answer}: {reason}"
        for answer, reason in sorted(refused[name] - declared)
        if answer in FAMILIES[name].answers
    ]
    assert not beyond, f"{name}: declare {'; '.join(beyond)}"


@pytest.fixture(scope="module")
def said():
    """The words expected of each answer, by family and answer."""
    found = defaultdict(set)
    for path in Catalogue().paths.values():
        case = tomllib.loads(path.read_text(encoding="utf-8"))
        for published in case.get("published", ()):
            found[case["family"], published["answer"]].add(published.get("value"))
    return found


WORDS = [
    pytest.param(name, answer, kind.words, id=f"{name}: {answer}")
    for name, owner in FAMILIES.items()
    for answer, given in owner.answers.items()
    for kind in (given.kind, getattr(given.kind, "of", None))
    if isinstance(kind, ChoiceKind)
]


@pytest.mark.parametrize(("name", "answer", "words"), WORDS)
def test_each_word_of_an_answer_is_reached_by_a_case(name, answer, words, said):
    missing = sorted(set(words) - said[name, answer])
    assert not missing, f"{name}: no case expects {answer} to be {' or '.join(missing)}"
