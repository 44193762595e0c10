"""The tests of a trial: collected once, each always the same, few examples of a property."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any

import pytest
from hypothesis import Phase, settings

OPTIONS = ["-o", "addopts=", "--import-mode=importlib", "-x", "-m", "not slow"]
for _plugin in ("cacheprovider", "terminal", "xdist", "benchmark"):
    OPTIONS += ["-p", f"no:{_plugin}"]
OWN_SETTINGS = "_hypothesis_internal_use_settings"


def collect(tests: Iterable[str], work: Callable[[list[Any]], object], examples: int) -> int:
    """Collects the tests and hands them to ``work`` in place of running them all."""
    return int(pytest.main([*OPTIONS, *tests], plugins=[_InPlaceOfTheRun(work, examples)]))


class _InPlaceOfTheRun:
    def __init__(self, work: Callable[[list[Any]], object], examples: int) -> None:
        self.work, self.examples = work, examples

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        for item in items:
            function = getattr(item, "obj", None)
            for holder in (function, getattr(function, "__func__", None)):
                own = getattr(holder, OWN_SETTINGS, None)
                if own is not None:
                    setattr(holder, OWN_SETTINGS, _few(own, self.examples))

    def pytest_runtestloop(self, session: Any) -> bool:
        if not session.testsfailed:
            self.work(session.items)
        return True


def _few(own: settings, most: int) -> settings:
    """The property's own settings with few examples, never random, nothing kept or shrunk."""
    return settings(
        own,
        max_examples=min(own.max_examples, most),
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
    )


class _Outcome:
    def __init__(self) -> None:
        self.failed = False

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.failed = self.failed or report.failed


def first_failure(items: list[Any]) -> str | None:
    """Runs the tests in this order up to the first that fails, and names that one."""
    if not items:
        return None
    outcome = _Outcome()
    manager = items[0].config.pluginmanager
    manager.register(outcome)
    try:
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if outcome.failed:
                return str(item.nodeid)
    finally:
        manager.unregister(outcome)
    return None


class Reached:
    """The lines of some files that ran while this was open."""

    def __init__(self, files: Iterable[str]) -> None:
        self.files = frozenset(files)
        self.lines: set[tuple[str, int]] = set()

    @contextlib.contextmanager
    def watching(self) -> Any:
        before = sys.gettrace()
        sys.settrace(self._call)
        try:
            yield self
        finally:
            sys.settrace(before)

    def _call(self, frame: Any, event: str, arg: object) -> Any:
        if frame.f_code.co_filename not in self.files:
            return None
        self.lines.add((frame.f_code.co_filename, frame.f_lineno))
        return self._line

    def _line(self, frame: Any, event: str, arg: object) -> Any:
        if event == "line":
            self.lines.add((frame.f_code.co_filename, frame.f_lineno))
        return self._line


def timed(work: Callable[[], object]) -> float:
    """Seconds of this processor's time."""
    start = time.process_time()
    work()
    return time.process_time() - start
