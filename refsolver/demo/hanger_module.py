"""An invented in-house module of the demonstration, with a planted mistake.

The planted mistake: each component is rounded to whole pounds before the sum.
"""

from __future__ import annotations

import math
from typing import Any


def resultant(plate: dict[str, Any]) -> dict[str, Any]:
    """The one pull that replaces those of the stays.

    ``plate["stays"]`` lists the pull of each stay in pounds and its angle in degrees from
    the vertical, clockwise. Gives the pull, its direction counted in the same way, 0 to
    360 degrees (None where the stays balance), and its components.
    """
    across = up = 0
    for stay in plate["stays"]:
        turn = math.radians(stay["angle"])
        across += round(stay["pull"] * math.sin(turn))  # planted: no rounding would be right
        up += round(stay["pull"] * math.cos(turn))
    balanced = across == 0 and up == 0
    return {
        "pull": math.hypot(across, up),
        "direction": None if balanced else math.degrees(math.atan2(across, up)) % 360,
        "across": across,
        "up": up,
    }
