"""How much of the package can be made wrong, one small change at a time, unnoticed by its tests.

    python -m tests.mutation                          every room of plan.toml, then the report
    python -m tests.mutation checking/overall ...     only modules whose path holds one of these

Survivors are printed as they are found, with line and change. ``accepted.toml`` says of the
changes that alter nothing why they do not. Figures go to ``figures.toml``.
"""

from __future__ import annotations

import functools
import sys
import time
import tomllib
from pathlib import Path

import flint  # noqa: F401  (imported once, for every process to come)
import mpmath  # noqa: F401

from tests.mutation import figures
from tests.mutation.trials import Limits, Module, Outcome, outcomes, read

HERE = Path(__file__).parent
TOP = HERE.parents[1]


def main(parts: list[str]) -> None:
    plan = tomllib.loads((HERE / "plan.toml").read_text(encoding="utf-8"))
    accepted = tomllib.loads((HERE / "accepted.toml").read_text(encoding="utf-8"))
    limits = Limits(plan["examples"], plan["slowest"])
    for room in plan["room"]:
        paths = sorted(path for pattern in room["modules"] for path in TOP.glob(pattern))
        modules = [
            read(path, TOP, room.get("most", plan["most"]))
            for path in paths
            if not parts or any(part in str(path.relative_to(TOP)) for part in parts)
        ]
        modules = [module for module in modules if module.tried]
        if not modules:
            continue
        start = time.monotonic()
        tell = functools.partial(_tell, accepted)
        for module, found in outcomes(modules, room["tests"], limits, tell):
            noticed = sum(outcome.noticed_by is not None for outcome in found)
            print(f"{module.name}: {noticed} of {len(found)} noticed", flush=True)
            figures.keep(module, found, accepted.get(module.name, {}))
        print(f"({time.monotonic() - start:.0f} s)", flush=True)


def _tell(accepted: dict[str, dict[str, str]], module: Module, outcome: Outcome) -> None:
    change = outcome.change
    explained = change.key in accepted.get(module.name, {})
    if explained == (outcome.noticed_by is None):
        return
    place = f"{module.path.name}:{change.lines.start}: {change.key}"
    if explained:
        place += "  [accepted as equivalent, yet noticed]"
    elif not outcome.reached:
        place += "  [no test comes here]"
    print(place, flush=True)


main(sys.argv[1:])
