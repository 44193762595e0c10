"""Whether one exact given is seen to be more than another, for refusing givens when made."""

from __future__ import annotations

from typing import Any

from flint import fmpq

from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Constant
from refsolver.quantities.folding import difference

__all__ = ["exceeds", "reaches"]


def exceeds(a: Any, b: Any) -> bool:
    """Whether a > b is seen, irrational numbers included.

    Not where one is left out, and never of columns: each of their cases was looked at alone.
    """
    return _sign_of_difference(a, b) == 1


def reaches(a: Any, b: Any) -> bool:
    """Whether a >= b is seen; of irrational numbers a > b, since no ball shows equality."""
    return _sign_of_difference(a, b) in (0, 1)


def _sign_of_difference(a: Any, b: Any) -> int | None:
    if not isinstance(a, fmpq | Constant) or not isinstance(b, fmpq | Constant):
        return None
    return seen_sign(difference(a, b))
