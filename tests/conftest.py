"""How the processes that run the tests, and those that tests start, are set up."""

from __future__ import annotations

import gc
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

BYTECODE = pytest.StashKey[str]()
HANDED = "refsolver bytecode"

# As the command does: exact numbers are many small objects without cycles.
gc.set_threshold(100_000, 20, 20)

# A loaded machine is no error of what is tested.
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

ROOT = str(Path(__file__).parents[1])


def pytest_configure(config: pytest.Config) -> None:
    """Started processes take the package from this tree, as the tests themselves do.

    Where Python is told to keep no bytecode, theirs goes to a folder of this run: else each
    would compile the package anew, which takes as long as most commands. The processes that
    run the tests are left as they are.

    With xdist each process has one run of neighbouring tests, which share what they set up,
    and takes some of another's when it is through.
    """
    if ROOT not in (paths := os.environ.get("PYTHONPATH", "").split(os.pathsep)):
        os.environ["PYTHONPATH"] = os.pathsep.join([ROOT, *filter(None, paths)])
    if config.getoption("dist", "no") == "load":
        config.option.dist = "worksteal"
    handed = getattr(config, "workerinput", {}).get(HANDED)
    if handed is None and sys.dont_write_bytecode:
        config.stash[BYTECODE] = tempfile.mkdtemp(prefix="refsolver-bytecode-")
    folder = handed or config.stash.get(BYTECODE, None)
    if folder is not None and not config.getoption("tx", None):
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = folder


def pytest_unconfigure(config: pytest.Config) -> None:
    if (folder := config.stash.get(BYTECODE, None)) is not None:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """The processes of one run share the folder."""
    if (folder := node.config.stash.get(BYTECODE, None)) is not None:
        node.workerinput[HANDED] = folder


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Files with slow tests come first where tests are shared out, lest one be the last."""
    if hasattr(config, "workerinput"):
        slow = {item.path for item in items if item.get_closest_marker("slow")}
        items.sort(key=lambda item: item.path not in slow)
