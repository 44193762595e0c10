"""Names of the decisions that the arithmetics take on their own account."""

from __future__ import annotations

from collections.abc import Mapping

from refsolver.arithmetic.exact import Slope

__all__ = ["root_count", "root_decisions", "slope_name"]


def slope_name(angle: Slope) -> str:
    """The name under which every arithmetic decides the quadrant of a slope.

    They must agree on it, or a decision proven by one is not found by the others.
    """
    return f"slope {angle.rise}:{angle.run}"


def root_decisions(name: str, count: int) -> dict[str, int]:
    """The decisions that say how many roots there are: 1 for each, -1 for the one after them."""
    return {f"{name}: root {i}": 1 if i <= count else -1 for i in range(1, count + 2)}


def root_count(name: str, decisions: Mapping[str, int]) -> int | None:
    """How many roots these decisions speak of; None where they say nothing of them."""
    count = 0
    while (said := decisions.get(f"{name}: root {count + 1}")) == 1:
        count += 1
    return None if said is None else count
