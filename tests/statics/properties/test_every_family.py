"""No family is without identities, and every declaration speaks of what there is."""

from __future__ import annotations

import pytest

from refsolver.statics.registry import families
from tests.statics.properties.declared import (
    ADDED_UP,
    LINEAR,
    MIRRORS,
    PLACED,
    REVERSED,
    STRETCHES,
    TWINS,
    identities,
)
from tests.statics.properties.units_and_rows import patterns

OWNERS = pytest.mark.parametrize("owner", families().values(), ids=lambda f: f.name)


@OWNERS
def test_a_family_has_an_identity_of_its_own_besides_its_units(owner):
    names = [identity.name for identity in identities(owner)]
    assert len(set(names)) == len(names)
    assert set(names) - {"units", "rows"}, "nothing but what its givens tell"


def test_declarations_are_of_families_there_are():
    for table in (PLACED, LINEAR, REVERSED, ADDED_UP, MIRRORS, STRETCHES, TWINS):
        assert set(table) <= set(families())


@OWNERS
def test_declared_answers_and_givens_are_those_of_the_family(owner):
    answers: set[str] = set()
    if (placed := PLACED.get(owner.name)) is not None:
        answers |= {*placed.about_origin, *placed.weighed}
        for name in placed.turning | placed.axial:
            assert name in owner.answers or name in patterns(owner.givens), name
    if (loads := LINEAR.get(owner.name)) is not None:
        answers |= loads.answers
        assert loads.patterns & set(patterns(owner.givens))
    if (reverse := REVERSED.get(owner.name)) is not None:
        answers |= reverse.negated | reverse.same
        answers |= {*reverse.exchanged, *reverse.swapped}
        assert reverse.patterns & set(patterns(owner.givens))
    for stretch in STRETCHES.get(owner.name, ()):
        answers |= set(stretch.powers)
        assert stretch.patterns <= set(patterns(owner.givens))
    assert answers <= set(owner.answers)
