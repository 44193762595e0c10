"""The figures of reports/reliability.md, measured anew: one command, slow (an hour or two).

    python -m tests.reliability                    every part, then the report
    python -m tests.reliability fuzz kills         only these parts, then the report
    python -m tests.reliability report             only the report, from the figures kept

Parts: ``fuzz`` (spoilt files for every reader), ``kills`` (runs ended by force at random
moments), ``versions`` (the oldest and the newest packages, other versions of Python). Each keeps
its figures in ``figures/PART.toml``; the mutation figures come from ``python -m tests.mutation``.
"""

from __future__ import annotations

import argparse
import platform
from datetime import UTC, datetime
from pathlib import Path

from tests.reliability import report


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", help="fuzz, kills, versions, report; all of them")
    parser.add_argument("--tries", type=int, default=10_000, help="for each reader")
    parser.add_argument("--kills", type=int, default=100, help="in all")
    parser.add_argument("--root", type=Path, action="append", default=[], help="see versions.py")
    parser.add_argument("--quick", action="store_true", help="of versions: not the whole suite")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    parts = asked.parts or ["fuzz", "kills", "versions"]
    for part in parts:
        begun = datetime.now(UTC)
        if part == "fuzz":
            from tests.reliability.fuzz import figures

            found = figures(asked.tries, asked.seed)
        elif part == "kills":
            from tests.reliability.kills import figures

            found = figures(asked.kills, asked.seed)
        elif part == "versions":
            from tests.reliability.versions import figures

            found = figures(asked.root, not asked.quick)
        elif part == "report":
            continue
        else:
            raise SystemExit(f"there is no part {part!r}: fuzz, kills, versions, report")
        measured = {
            "day": begun.date().isoformat(),
            "minutes": round((datetime.now(UTC) - begun).total_seconds() / 60),
            "on": f"{platform.system()}, Python {platform.python_version()}",
        }
        report.keep(part, measured | found)
    report.write()


if __name__ == "__main__":
    main()
