"""Names of the decisions that the arithmetics take on their own account."""

from __future__ import annotations

from refsolver.arithmetic.exact import Slope

__all__ = ["slope_name"]


def slope_name(angle: Slope) -> str:
    """The name under which every arithmetic decides the quadrant of a slope.

    They must agree on it, or a decision proven by one is not found by the others.
    """
    return f"slope {angle.rise}:{angle.run}"
