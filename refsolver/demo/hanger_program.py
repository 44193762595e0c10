"""An invented in-house program of the demonstration, with a planted mistake.

``hanger_program.py INPUT REPORT`` reads the pulls of the stays on a hanger plate and
writes a report. Angles are counted from the right, counter-clockwise, 0 to 360 degrees;
pulls are in pounds.

Exit codes: 0 a report is written, 2 the input cannot be read, 3 more than twelve stays.

The planted mistake: for a stay that pulls down to the left (180 to 270 degrees) the angle
left over is taken from the vertical, but resolved like the others, from the horizontal.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

MOST_STAYS = 12
BALANCE = 0.005
"""Pounds below which the stays count as balanced."""


class Unreadable(ValueError):
    """The input is not in the program's format."""


def read(text: str) -> list[tuple[float, float]]:
    """Pull and angle of each stay."""
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) < 3 or lines[0].split() != ["STAY", "SUM", "INPUT"] or lines[-1] != "END":
        raise Unreadable("no STAY SUM INPUT ... END")
    rows = [line.split() for line in lines[2:-1]]
    if lines[1].split() != ["STAYS", str(len(rows))]:
        raise Unreadable("the number of stays does not fit the lines")
    return [(float(pull), float(angle)) for _, pull, angle in rows]


def resolved(pull: float, angle: float) -> tuple[float, float]:
    """Across (to the right) and up, quarter by quarter."""
    across, up = 1, 1
    if angle <= 90:
        rest = angle
    elif angle <= 180:
        rest, across = 180 - angle, -1
    elif angle <= 270:
        rest, across, up = 270 - angle, -1, -1  # planted: angle - 180 would be right
    else:
        rest, up = 360 - angle, -1
    turn = math.radians(rest)
    return across * pull * math.cos(turn), up * pull * math.sin(turn)


def report(stays: list[tuple[float, float]]) -> str:
    parts = [resolved(*stay) for stay in stays]
    across, up = sum(x for x, _ in parts), sum(y for _, y in parts)
    size = math.hypot(across, up)
    direction = f"{math.degrees(math.atan2(up, across)) % 360:.2f} degrees from the right"
    if size < BALANCE:
        direction = "none, the stays balance"
    return "\n".join(
        [
            "STAY SUM                        Thistle Row Sign Shop (invented)",
            "",
            "AS ENTERED",
            *(
                f"  stay {number:2d}  {pull:12.3f} pounds  at {angle:9.3f} degrees"
                for number, (pull, angle) in enumerate(stays, 1)
            ),
            "",
            "RESULT",
            f"  across     {abs(across):12.2f} pounds to the {'left' if across < 0 else 'right'}",
            f"  upright    {abs(up):12.2f} pounds {'down' if up < 0 else 'up'}",
            f"  resultant  {size:12.2f} pounds",
            f"  direction  {direction}",
            "",
        ]
    )


def main(source: str, target: str) -> int:
    try:
        stays = read(Path(source).read_text(encoding="utf-8"))
    except ValueError as problem:
        print(f"input not readable: {problem}", file=sys.stderr)
        return 2
    if len(stays) > MOST_STAYS:
        print(f"{len(stays)} stays, at most {MOST_STAYS}", file=sys.stderr)
        return 3
    Path(target).write_text(report(stays), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
