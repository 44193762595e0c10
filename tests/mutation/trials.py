"""Which tests notice which change.

The tests of a room are collected once, in a process that has the package imported. Each change
is put into the functions of that process's fork, and the tests that reach its lines run, the
quickest first. A change outside functions, and an unnoticed one in lines that run while the
package is imported or the tests are collected, is tried in a process that imports the
changed module afresh.
"""

from __future__ import annotations

import ast
import functools
import gc
import importlib.abc
import importlib.machinery
import importlib.util
import sys
import types
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from refsolver.statics import givens, registry
from tests.mutation.apart import Ended, apart
from tests.mutation.changes import Change, changes, sampled
from tests.mutation.steady import Reached, collect, first_failure, timed

LIMIT = "limit of time or memory, or a crash"
IMPORT = "the module, or the tests, cannot be imported"
AFRESH = "to be tried afresh"


@dataclass(frozen=True)
class Module:
    """A source file of the package, its changes to be tried and how many there are at all."""

    path: Path
    name: str
    tree: ast.Module
    tried: list[Change]
    all: int


@dataclass(frozen=True)
class Limits:
    """Examples of one property, the seconds past which a test is left out, and which are tried."""

    examples: int
    slowest: float
    wanted: Callable[[Any], bool] = lambda item: True


@dataclass(frozen=True)
class Outcome:
    """``noticed_by`` is a test, :data:`LIMIT` or :data:`IMPORT`; None for a surviving change."""

    change: Change
    noticed_by: str | None
    reached: bool


Tell = Callable[[Module, Outcome], None]


def read(
    path: Path, name: str, most: int, only: list[str] | None = None, inside: bool = False
) -> Module:
    """The module with at most so many of its changes, or with those of the keys given only.

    ``inside`` leaves out those that lie outside functions.
    """
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = changes(tree)
    tried = sampled(found, most, name)
    if only is not None:
        tried = [change for change in found if change.key in only]
    tried = [change for change in tried if change.inside or not inside]
    return Module(path, name, tree, tried, len(found))


def outcomes(
    modules: Sequence[Module], tests: Sequence[str], limits: Limits, tell: Tell
) -> Iterator[tuple[Module, list[Outcome]]]:
    """The outcomes of every change, a module at a time, each told as soon as it is known.

    Raises SystemExit if a test fails without any change.
    """
    quick = apart(functools.partial(_collected, modules, tests, limits, tell))
    if isinstance(quick, str):
        raise SystemExit(f"this test fails without any change: {quick}")
    for module, (noticed, chosen, seconds) in zip(modules, quick, strict=True):
        found = []
        for change, by, nodes, limit in zip(module.tried, noticed, chosen, seconds, strict=True):
            if by == AFRESH:
                by = _afresh(module, change, nodes, limit, limits.examples)
                tell(module, Outcome(change, by, True))
            found.append(Outcome(change, by, bool(nodes)))
        yield module, found


def _collected(modules: Sequence[Module], tests: Sequence[str], limits: Limits, tell: Tell) -> Any:
    answer: list[Any] = []
    reached = Reached(str(module.path) for module in modules)

    def work(items: list[Any]) -> None:
        imported.__exit__(None, None, None)
        answer.append(_quick_trials(modules, items, set(reached.lines), limits, tell))

    imported = reached.watching()
    imported.__enter__()
    collect(tests, work, limits.examples)
    return answer[0] if answer else "none: they could not be collected"


def _quick_trials(
    modules: Sequence[Module], items: list[Any], imported: set[Any], limits: Limits, tell: Tell
) -> Any:
    files = [str(module.path) for module in modules]
    lines: dict[Any, set[tuple[str, int]]] = {}
    cost: dict[Any, float] = {}
    items = [item for item in items if limits.wanted(item)]
    for item in items:
        reached = Reached(files)
        failed: list[str | None] = []
        with reached.watching():
            cost[item] = timed(lambda item=item, into=failed: into.append(first_failure([item])))
        if failed[0]:
            return failed[0]
        lines[item] = reached.lines
    items = sorted((i for i in items if cost[i] <= limits.slowest), key=cost.__getitem__)
    gc.collect()
    functions, caches = [_functions_of(file) for file in files], _caches()
    gc.freeze()  # so that the forks share its memory
    return [
        _module_trials(module, own, caches, items, lines, cost, imported, tell)
        for module, own in zip(modules, functions, strict=True)
    ]


def _module_trials(
    module: Module,
    functions: Any,
    caches: list[Any],
    items: list[Any],
    lines: Any,
    cost: Any,
    imported: set[Any],
    tell: Tell,
) -> tuple[list[str | None], list[list[str]], list[float]]:
    noticed, chosen, seconds = [], [], []
    for change in module.tried:
        where = {(str(module.path), line) for line in change.lines}
        reaching = [item for item in items if not where.isdisjoint(lines[item])]
        early = not where.isdisjoint(imported)
        if early:
            told = set(reaching)
            reaching += [item for item in items if item not in told]
        limit = 3 + 3 * sum(cost[item] for item in reaching)
        by = AFRESH if early or not change.inside else None
        if change.inside and reaching:
            with change.applied():
                code = compile(module.tree, str(module.path), "exec")
            work = functools.partial(_patched, functions, caches, code, reaching)
            by = _noticed(work, limit) or by
        noticed.append(by if reaching else None)
        if noticed[-1] != AFRESH:
            tell(module, Outcome(change, noticed[-1], bool(reaching)))
        chosen.append([item.nodeid for item in reaching])
        seconds.append(limit)
    return noticed, chosen, seconds


def _noticed(work: Any, limit: float) -> str | None:
    try:
        return apart(work, limit)
    except Ended:
        return LIMIT


def _caches() -> list[Any]:
    return [x for x in gc.get_objects() if isinstance(x, functools._lru_cache_wrapper)]


def _functions_of(file: str) -> dict[tuple[str, int], list[types.FunctionType]]:
    found: dict[tuple[str, int], list[types.FunctionType]] = {}
    for thing in gc.get_objects():
        if isinstance(thing, types.FunctionType) and thing.__code__.co_filename == file:
            found.setdefault(_named(thing.__code__), []).append(thing)
    return found


def _named(code: types.CodeType) -> tuple[str, int]:
    return code.co_qualname, code.co_firstlineno


def _codes(code: types.CodeType) -> Iterator[types.CodeType]:
    for inner in code.co_consts:
        if isinstance(inner, types.CodeType):
            yield inner
            yield from _codes(inner)


def _patched(
    functions: Any, caches: list[Any], module: types.CodeType, items: list[Any]
) -> str | None:
    for code in _codes(module):
        for function in functions.get(_named(code), []):
            if function.__code__ != code:
                try:
                    function.__code__ = code
                except ValueError:  # it closes over other names than the old one
                    return AFRESH
    for cache in caches:
        cache.cache_clear()
    for kept in (registry._DERIVED, givens._FIELDS):  # made anew by what makes them
        kept.clear()
    return first_failure(items)


_ANEW = ("refsolver", "tests.")


def _afresh(
    module: Module, change: Change, nodes: list[str], limit: float, examples: int
) -> str | None:
    with change.applied():
        code = compile(module.tree, str(module.path), "exec")
    order = {node: place for place, node in enumerate(nodes)}
    files = sorted({node.partition("::")[0] for node in nodes})

    def work() -> str | None:
        # what this process has imported for itself is imported anew, and the tests that hold it
        for name in [name for name in sys.modules if name.startswith(_ANEW)]:
            if not name.startswith(__package__ or __name__):
                del sys.modules[name]
        sys.meta_path.insert(0, _Changed(module, code))
        answer: list[str | None] = [IMPORT]

        def run(items: list[Any]) -> None:
            there = sorted((i for i in items if i.nodeid in order), key=lambda i: order[i.nodeid])
            # a test that is gone was made from what the module says
            answer[0] = first_failure(there) if len(there) == len(order) else IMPORT

        collect(files, run, examples)
        return answer[0]

    return _noticed(work, limit + 20)


class _Changed(importlib.abc.MetaPathFinder):
    """Imports one module of the package as changed."""

    def __init__(self, module: Module, code: types.CodeType) -> None:
        self.module, self.code = module, code

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> Any:
        if name != self.module.name:
            return None
        loader = _Loader(name, str(self.module.path))
        loader.code = self.code
        return importlib.util.spec_from_file_location(name, self.module.path, loader=loader)


class _Loader(importlib.machinery.SourceFileLoader):
    code: types.CodeType

    def get_code(self, fullname: str) -> types.CodeType:
        return self.code
