"""What a known mistake leads to goes with the units as what is right does.

A mistake leaves a term out, takes a wrong arm, a wrong sense or a wrong factor, so its
answers are still of their dimension, unless the mistake is one of dimension: a formula of
its own that mixes up its terms would not be what anybody does by hand.
"""

from __future__ import annotations

import random

import pytest
from flint import ctx

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import DirectionKind, LineKind
from refsolver.statics.givens import restated
from refsolver.statics.registry import families
from tests.statics.properties.values import Rescaled, changed
from tests.statics.test_working import factor, near, numbers

OF_DIMENSION = {
    "centroids/centre-of-gravity": {"densities left out"},
    "centroids/lamina": {"root left out"},
    "centroids/mass-centre": {"densities left out"},
    "centroids/point-masses-plane": {"divided by the number of masses"},
    "centroids/point-masses-space": {"divided by the number of masses"},
    "centroids/ring-lamina": {"r left out of the element of area"},
    "centroids/rod": {"moment not divided"},
    "centroids/solid-of-revolution": {"radius not squared"},
    "friction/rolling": {"coefficient taken as a number"},
    "hydrostatics/press": {"diameters for areas"},
    "hydrostatics/pressure-on-area": {"force times area"},
    "mass-moments/composite": {"distance not squared"},
    "particle-equilibrium/plane-springs": {"stretch divided"},
    "second-moments/parallel-axis": {"distance not squared"},
    "second-moments/symmetric-section": {"root left out"},
    "trusses/plane-truss": {"length left out"},
    "trusses/space-truss": {"length left out"},
}
"""Mistakes that are one of dimension: the name says which."""

TRIES = 4
ENDLESS = (DirectionKind, LineKind)
"""Given by vectors of any length."""


def mistaken(owner, mistake, given):
    """The mistaken answers; None where the mistake cannot be made in this case."""
    ar = EnclosureArithmetic()
    if mistake.givens is not None:
        given = mistake.givens(given)
    if given is None:
        return None
    answers = owner.solve(given, ar, owner.rule_set(mistake.rules)).answers
    return answers if mistake.answers is None else mistake.answers(given, answers, ar)


def astray(owner, mistake):
    """The answers that do not go with their dimension, in any case that tells."""
    found = set()
    for seed in range(TRIES):
        given = owner.propose((1.0, 30.0), random.Random(f"{owner.name} {seed}"))
        try:
            before = mistaken(owner, mistake, given)
            after = None if before is None else mistaken(owner, mistake, restated(given, factor))
        except (Undecided, ArithmeticError, ValueError):  # a zero, or a case it does not fit
            continue
        if before is None or after is None:
            continue
        for name, value in before.items():
            kind = owner.answers[name].kind
            expected = list(numbers(changed(kind, value, Rescaled(factor))))
            if isinstance(kind, ENDLESS) or not all(x.is_finite() for x in expected):
                continue
            if not alike(expected, list(numbers(after[name]))):
                found.add(name)
    return found


def alike(ours, theirs):
    return len(ours) == len(theirs) and all(map(near, ours, theirs))


@pytest.mark.parametrize("name", [n for n, owner in families().items() if owner.mistakes])
def test_a_mistake_is_made_in_any_units(name):
    owner = families()[name]
    with ctx.workprec(200):
        found = {mistake.name: astray(owner, mistake) for mistake in owner.mistakes}
    wrong = {mistake: names for mistake, names in found.items() if names}
    assert set(wrong) == OF_DIMENSION.get(name, set()), wrong
