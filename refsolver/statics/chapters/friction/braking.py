"""What brakes worked by a lever share: how they are stated, and when they lock themselves."""

from __future__ import annotations

from typing import Any

from refsolver.quantities.kinds import NoAnswer

__all__ = ["LOCKS", "STATES", "effort_or_torque"]

STATES = ("locks itself", "on the point of locking itself", "needs an effort")
LOCKS = NoAnswer("no solution", "it grips by itself: no effort is in balance with it")


def effort_or_torque(brake: Any) -> None:
    """Raises ValueError unless the effort at the lever or the torque is stated, not both."""
    if (brake.effort is None) == (brake.torque is None):
        raise ValueError("state 'effort' or 'torque', one of them; the other follows")
