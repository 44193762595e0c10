"""The guarded functions on the directed cases of ``vectors.txt``.

Signed zeros, branch cuts, the ends of domains, arguments from 2^-1074 to 1e1000, points and
wide intervals. The values come from mpmath (see ``vectors.py``), which shares no code with
FLINT. A ball must hold the whole range, and be as narrow as its precision, or as the range it
encloses, allows.
"""

from __future__ import annotations

from fractions import Fraction
from operator import add, mul, sub, truediv

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.constants import whole_power
from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn
from tests.arithmetic.vectors import FILE, cases, interval

BITS = 128
LINES = [
    line.split(" = ") for line in FILE.read_text(encoding="utf-8").splitlines() if line[0] != "#"
]
PRINTED = fmpq(1, 10**59)
"""Half a unit of the last of sixty digits, relative, and a little more."""


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(BITS):
        yield


def exact(x: Fraction) -> fmpq:
    return fmpq(x.numerator, x.denominator)


def ball(text: str) -> arb:
    """With far more bits than the function will work at, so that the argument is as written."""
    low, high = map(exact, interval(text))
    with ctx.workprec(4000):
        return arb(low) if low == high else arb((low + high) / 2, (high - low) / 2)


def angle_of(kind: str, texts: list[str]) -> Turn | Radian | Slope:
    given = [exact(interval(text)[0]) for text in texts]
    return {"turn": Turn, "radian": Radian, "slope": Slope}[kind](*given)


def of_angle(kind: str, take: str, texts: list[str]) -> arb:
    angle = angle_of(kind, texts)
    if take == "radians":
        return EnclosureArithmetic().radians(angle)
    if take == "tan":
        return evaluate(Constant("tan", (angle,)))
    return EnclosureArithmetic.cos_sin(angle)[("cos", "sin").index(take)]


OPERATIONS = {"add": add, "subtract": sub, "multiply": mul, "divide": truediv}


def applied(name: str, texts: list[str]) -> arb:
    kind, _, take = name.partition("_")
    if take:
        return of_angle(kind, take, texts)
    ar, balls = EnclosureArithmetic(), [ball(text) for text in texts]
    if name in OPERATIONS:
        return OPERATIONS[name](*balls)
    if name == "power":
        return whole_power(balls[0], fmpq(int(texts[1])))
    if name == "sign":
        return arb(ar.sign(balls[0], "it"))
    if name in ("atan2", "larger"):
        return getattr(ar, name)(*balls, "it")
    return getattr(ar, name)(*balls)


def holds(found: arb, value: fmpq) -> bool:
    slack = abs(value) * PRINTED
    return bool(found.overlaps(arb(value, slack)))


# How many times as wide as the range a ball of it may be, wide intervals included.
LOOSE = {"sin": 3, "cos": 3, "exp": 3, "log": 3, "sqrt": 3, "cosh": 4, "sinh": 3, "asinh": 3,
         "size": 3, "sign": 1, "atan2": 5, "divide": 3, "larger": 3, "power": 600,
         **dict.fromkeys(("add", "subtract", "multiply"), 3)}  # fmt: skip
ANGLES = {f"{kind}_{take}" for kind in ("turn", "radian", "slope")
          for take in ("cos", "sin", "tan", "radians")}  # fmt: skip
"""Of an exact angle: one number, so that only the precision leaves a width."""
LOOSE |= dict.fromkeys(ANGLES, 1)
# A product knows nothing of its factors' being equal, and a radius has thirty bits.
COARSE = {"sqrt [-4,0]": "1e-4", "cosh [-1e-30,1e-30]": "3e-30"}
GIVEN_UP = {
    "asinh [-1,1]", "asinh [1e300,1e301]", "asinh [0,2^30]", "asinh [-2^30,-1]",
    "power [1,2] -3", "power [1,2] -4", "power [-2,-1] -3", "power [-2,-1] -4",
    "power [2^-30,1] -2", "power [-1,-2^-30] -3",
}  # fmt: skip
"""No number at all, which decides nothing: more precision narrows the argument."""


@pytest.mark.parametrize(("asked", "said"), LINES, ids=[asked for asked, _ in LINES])
def test_the_range_is_held_or_the_reason_said(asked, said):
    name, *texts = asked.split()
    if said == "undecided":
        with pytest.raises(Undecided):
            applied(name, texts)
    elif said == "refused":
        with pytest.raises(ValueError, match="negative|zero vector"):
            applied(name, texts)
    elif said == "unbounded":
        assert not applied(name, texts).is_finite()
    elif asked in GIVEN_UP:
        assert applied(name, texts).is_nan()
    else:
        found, (low, high) = applied(name, texts), map(exact, interval(said))
        assert holds(found, low) and holds(found, high)
        assert 2 * found.rad() <= LOOSE[name] * (high - low) + fine(asked, max(abs(low), abs(high)))


def fine(asked: str, size: fmpq) -> fmpq:
    """The width that the precision leaves.

    Near a zero of sine or cosine an absolute one, near a pole of the tangent that of its slope.
    """
    if asked in COARSE:
        return exact(Fraction(COARSE[asked]))
    name, first, *_ = asked.split()
    name = name.removeprefix("radian_")
    periodic = name in ("sin", "cos", "tan") and abs(interval(first)[0]) > 1
    slope = 1 + size * size if name == "tan" and periodic else max(size, int(periodic))
    return slope * fmpq(1, 2 ** (BITS - 12))


def test_every_case_is_in_the_file():
    assert [asked for asked, _ in LINES] == [" ".join([name, *args]) for name, args in cases()]
    assert {asked.split()[0] for asked, _ in LINES} == set(LOOSE)
