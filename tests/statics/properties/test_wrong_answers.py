"""The second method of a family notices each number of its answers that is told wrong.

One number after another is made a hundredth larger (one that is zero becomes one), as if a
rule of ``solve`` were wrong; some residual must then exclude zero. ``ESCAPING`` lists, family
by family, the answers that no residual looks at yet: it may only become shorter.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

import attrs
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import Piece
from refsolver.statics.prover import prove
from refsolver.statics.registry import families

ESCAPING = {
    "beams/extremes": {
        "contraflexure",
        "greatest moment",
        "greatest shear",
        "largest shear",
        "smallest shear",
    },
    "beams/line-resultant": {"places", "totals"},
    "beams/reactions": {"degree"},
    "centroids/centre-of-gravity": {"centroids", "weights"},
    "centroids/composite-area": {"centroids"},
    "centroids/composite-line": {"centroids"},
    "centroids/composite-volume": {"centroids", "volumes"},
    "centroids/line-in-space": {"centroids"},
    "centroids/mass-centre": {"centroids", "masses"},
    "distributed-loads/area-load": {"intensities"},
    "force-systems/parallel-line": {"moments"},
    "frames/plane-frame": {"degree"},
    "friction/band-brake": {"locking arm"},
    "friction/block": {"angle of repose"},
    "friction/pivot-or-collar": {"least pressure, uniform pressure", "mean pressure"},
    "friction/screw": {"torque ratio"},
    "friction/slip-or-tip": {"force to move"},
    "friction/stacked-blocks": {"force to move"},
    "lifting-machines/law": {"efficiency"},
    "lifting-machines/performance": {"mechanical advantage"},
    "moments/plane-couples": {"moments"},
    "moments/space-couples": {"moments"},
    "rigging/bridle-in-space": {"angles"},
    "rigging/two-legs": {"angles"},
    "rigid-bodies/plane-reactions": {"degree", "forces"},
    "rigid-bodies/space-reactions": {"degree", "forces"},
    "second-moments/composite": {"centroidal polar", "polar"},
    "second-moments/section": {"polar"},
    "trusses/plane-truss": {"degree", "free_motions", "zero_members"},
    "trusses/space-truss": {"degree", "free_motions", "zero_members"},
}

MORE = arb(fmpq(101, 100))


def wrong(value):
    """The value with one of its numbers changed, for each of them."""
    if isinstance(value, arb | fmpq | int) and not isinstance(value, bool):
        yield value + 1 if arb(value).contains(0) else value * MORE
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from ({**value, key: other} for other in wrong(inner))
    elif isinstance(value, tuple | list):
        for i, inner in enumerate(value):
            yield from (type(value)([*value[:i], x, *value[i + 1 :]]) for x in wrong(inner))
    elif isinstance(value, Piece):
        yield from (attrs.evolve(value, coefficients=x) for x in wrong(value.coefficients))


def closes(owner, given, answers, decisions):
    residuals = owner.check(given, answers, EnclosureArithmetic(decisions))
    return all(arb(residual.value).contains(0) for residual in residuals)


def solved(owner, given):
    try:
        answers = owner.solve(given, EnclosureArithmetic(), owner.rule_set()).answers
        return answers, {}
    except Undecided:
        decisions = prove(owner, given, (), residuals=False, second_opinion=False).decisions
        ar = EnclosureArithmetic(decisions)
        return owner.solve(given, ar, owner.rule_set()).answers, decisions


@pytest.mark.parametrize("name", sorted(families()))
def test_each_number_told_wrong_is_noticed(name):
    owner = families()[name]
    with ctx.workprec(200):
        given = owner.propose((1.0, 30.0), random.Random(f"wrong answers of {name}"))
        answers, decisions = solved(owner, given)
        assert closes(owner, given, answers, decisions)
        escaping = {
            key
            for key, value in answers.items()
            for other in wrong(value)
            if closes(owner, given, {**answers, key: other}, decisions)
        }
    assert escaping == ESCAPING.get(name, set())
