"""Plain double precision (math, numpy.linalg) beside the proof, hundreds of cases a family
(fewer of what has dozens of answers a case).

Generated cases of condition number up to 1e4: a straightforward computation in IEEE 754
doubles, following the proven decisions, must land within what that condition number
explains: a thousand roundings of 2^-53, times the condition number, of the size of what
the case is made of. The source of the bound: N. J. Higham, "Accuracy and Stability of
Numerical Algorithms", 2nd edition, section 1.6 (from memory).
"""

import random

import pytest

from refsolver.arithmetic.detached import nearest_double
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.kinds import AlternativesKind, FunctionKind, NoAnswer
from refsolver.quantities.views import dimension_of, evaluate, natural_views
from refsolver.statics.prover import prove
from refsolver.statics.question import scale_of
from refsolver.statics.reference import Proven
from refsolver.statics.registry import families

CHAPTERS = (
    "components",
    "concurrent-forces",
    "distributed-loads",
    "force-systems",
    "frames",
    "friction",
    "lifting-machines",
    "moments",
    "particle-equilibrium",
    "trusses",
)
CASES = 300
FEWER = {"frames": 300, "trusses": 200}
KAPPA = 1e4
ROUNDINGS = 1000 * 2.0**-53


def plain_views(owner, given):
    """The natural views of every answer that is no function of position."""
    answers = owner.solve(given, DoubleArithmetic({}), owner.rule_set()).answers
    return [
        view
        for name, answer in owner.answers.items()
        if not isinstance(answer.kind, FunctionKind | AlternativesKind)
        for view in natural_views(name, answer.kind, answers[name])
    ]


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [name for name in families() if name.partition("/")[0] in CHAPTERS]
)
def test_doubles_land_where_conditioning_lets_them(name):
    owner = families()[name]
    compared, cases = 0, FEWER.get(name.partition("/")[0], CASES)
    for seed in range(cases):
        given = owner.propose((1.0, KAPPA), random.Random(f"{name} {seed}"))
        views = plain_views(owner, given)
        reference = prove(owner, given, views, digits=18, second_opinion=False, residuals=False)
        ar = DoubleArithmetic(reference.decisions)
        answers = owner.solve(given, ar, owner.rule_set()).answers
        for view in views:
            outcome = reference.outcomes[view]
            if not isinstance(outcome, Proven):
                continue
            kind = owner.answers[view.answer].kind
            value = evaluate(view, kind, answers[view.answer], ar)
            assert not isinstance(value, NoAnswer), (seed, view)
            dimension = dimension_of(view, kind)
            true = nearest_double(outcome.enclosure.middle)
            apart, size = abs(value - true), max(abs(true), float(scale_of(given, dimension)))
            if dimension == ANGLE:
                turns = value / 6.283185307179586 - true
                apart, size = abs(turns - round(turns)), 1.0
            assert apart <= ROUNDINGS * KAPPA * size, (seed, view.describe(), value, true)
            compared += 1
    assert compared >= cases
