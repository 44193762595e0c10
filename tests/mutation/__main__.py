"""How much of the package can be made wrong, one small change at a time, unnoticed by its tests.

    python -m tests.mutation                          every room of plan.toml
    python -m tests.mutation checking/overall ...     only modules whose path holds one of these
    python -m tests.mutation --left ...               what went unnoticed last, and new modules
    python -m tests.mutation --inside ...             changes inside functions, all tests
    python -m tests.mutation --quick ...              changes inside functions, by own test files

Unnoticed changes are printed as they are found, with line and change. ``accepted.toml`` says of
those that alter nothing why they do not. A module's own test file is ``test_NAME.py`` in the
folder of the tests that mirrors its room; ``--quick`` tries it alone.

Figures go to ``figures.toml``, from which ``python -m tests.reliability report`` writes the
report, and the unnoticed changes to ``left.toml``.
"""

from __future__ import annotations

import argparse
import dataclasses
import functools
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import flint  # noqa: F401  (imported once, for every process to come)
import mpmath  # noqa: F401

from tests.mutation import figures
from tests.mutation.apart import apart
from tests.mutation.families import concerns, families_in, files_of
from tests.mutation.trials import Limits, Module, Outcome, outcomes, read

HERE = Path(__file__).parent
TOP = HERE.parents[1]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("parts", nargs="*", help="parts of the paths of the modules to be tried")
    parser.add_argument("--left", action="store_true", help="only what went unnoticed last time")
    parser.add_argument("--inside", action="store_true", help="only changes inside functions")
    parser.add_argument("--quick", action="store_true", help="inside functions, own tests only")
    asked = parser.parse_args()
    plan, accepted = _toml("plan"), _toml("accepted")
    for room in plan["room"]:
        limits = Limits(plan["examples"], room.get("slowest", plan["slowest"]))
        modules = _modules(room, room.get("most", plan["most"]), asked)
        start = time.monotonic()
        for some, tests, wanted in _tests_of(modules, room, asked.quick):
            own = dataclasses.replace(limits, wanted=wanted)
            for module, found in outcomes(some, tests, own, functools.partial(_tell, accepted)):
                _keep(module, found, accepted.get(module.name, {}), asked.left)
        if modules:
            print(f"({time.monotonic() - start:.0f} s)", flush=True)


def _tests_of(
    modules: list[Module], room: dict[str, Any], quick: bool
) -> Iterator[tuple[list[Module], list[str], Callable[[Any], bool]]]:
    """Modules, where their tests are and which of those: all of a room, or a module's own."""
    if not quick and modules and not room.get("chapters"):
        yield modules, room["tests"], lambda item: True
        return
    for module in modules:
        own = Path("tests", *module.name.split(".")[1:-1], f"test_{module.path.stem}.py")
        if not quick:
            # apart, so that the tests import the chapters under the eyes of the trials
            names = apart(functools.partial(families_in, module.name))
            files = files_of(names, module.name, room["tests"])
            yield [module], files, functools.partial(concerns, names=names)
        elif (TOP / own).exists():
            yield [module], [str(own)], lambda item: True


def _keep(module: Module, found: list[Outcome], reasons: dict[str, str], left: bool) -> None:
    unnoticed = [o.change.key for o in found if o.noticed_by is None]
    tried = figures.tried(module.name) if left else None
    figures.keep(module.name, module.all, tried or len(found), unnoticed, reasons)
    print(f"{module.name}: {len(unnoticed)} of {len(found)} unnoticed", flush=True)


def _modules(room: dict[str, Any], most: int, asked: argparse.Namespace) -> list[Module]:
    found = []
    for path in sorted(path for pattern in room["modules"] for path in TOP.glob(pattern)):
        place = str(path.relative_to(TOP))
        if not asked.parts or any(part in place for part in asked.parts):
            name = place.removesuffix(".py").replace("/", ".")
            only = figures.left(name) if asked.left else None
            found.append(read(path, name, most, only, inside=asked.quick or asked.inside))
    return [module for module in found if module.tried]


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


def _toml(name: str) -> dict[str, Any]:
    return tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))


main()
