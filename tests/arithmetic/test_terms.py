"""Like terms: what is collected must be worth the same, or a zero is proven that is none."""

from __future__ import annotations

import pytest

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions
from refsolver.arithmetic.algebraic_number import AlgebraicNumber
from refsolver.arithmetic.exact import Turn, rational
from refsolver.arithmetic.terms import Atoms


def sign_of(build) -> int:
    """The sign that is proven for the number that ``build`` makes of an arithmetic."""
    return algebraic_decisions(lambda ar: ar.sign(build(ar), "x"), 53, 60_000)["x"]


def seventh(ar, k):
    return ar.cos_sin(Turn(rational(k, 7)))[0]


@pytest.mark.parametrize("factor", [rational(3), rational(-2, 5)])
def test_factors_are_taken_out_of_quotients_products_and_roots(factor):
    """Both an identity and the same thing with the factor on the wrong side."""
    for build in (
        lambda c, d, ar, f: (1 / (f * c), 1 / f * (1 / c)),
        lambda c, d, ar, f: (c / (f * d), 1 / f * (c / d)),
        lambda c, d, ar, f: ((f * c) / d, f * (c / d)),
        lambda c, d, ar, f: ((f * c) * (d * f), f * f * (d * c)),
        lambda c, d, ar, f: (
            ar.sqrt(f * f * (c * c + d)),
            ar.size(ar.bring(f)) * ar.sqrt(c * c + d),
        ),
        lambda c, d, ar, f: (ar.size(f * (c - d)), ar.size(ar.bring(f)) * ar.size(c - d)),
        lambda c, d, ar, f: ((f * c + f * d) / d, f * ((c + d) / d)),
    ):

        def both(ar, build=build):
            one, other = build(seventh(ar, 1), seventh(ar, 2) + 2, ar, factor)
            return one, other

        assert sign_of(lambda ar: (lambda a, b: a - b)(*both(ar))) == 0
        assert sign_of(lambda ar: (lambda a, b: a - factor * b)(*both(ar))) != 0
        assert sign_of(lambda ar: (lambda a, b: factor * a - b)(*both(ar))) != 0


def test_what_cancels_is_no_multiple_of_anything():
    ar = AlgebraicArithmetic()
    c = seventh(ar, 1)
    nothing = (c + 1) - c - 1
    assert isinstance(nothing, AlgebraicNumber)
    atoms = Atoms()
    assert atoms.cancels(nothing) and atoms.term(nothing) == (0, 0)
    assert atoms.root_term(nothing) == (0, 0)
    assert not atoms.cancels(c) and atoms.term(2 * c) == (2, atoms.term(c)[1])


@pytest.mark.parametrize("factor", [rational(3), rational(-2, 5)])
def test_a_factor_below_the_line_is_taken_out_as_its_inverse(factor):
    ar, atoms = AlgebraicArithmetic(), Atoms()
    c, d = seventh(ar, 1), seventh(ar, 2) + 2
    share, atom = atoms.term(1 / c)
    assert atoms.term(1 / (factor * c)) == (share / factor, atom)
    share, atom = atoms.term(c / d)
    assert atoms.term((2 * c) / (factor * d)) == (2 * share / factor, atom)
    assert atoms.term((factor * c) / (2 * c)) == (factor / 2, 0)
