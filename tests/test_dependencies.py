"""Every declared dependency is imported somewhere, and every import is declared."""

import ast
import re
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
MODULES = {
    "python-flint": {"flint"}, "pyyaml": {"yaml"}, "dask": {"dask", "distributed"},
    "pytest-benchmark": set(), "pytest-xdist": set(), "pytest": {"pytest", "_pytest"},
}  # fmt: skip
"""The modules of a distribution that is not named like its module; plug-ins have none."""
BY_THE_SYSTEM = {"uno", "com", "unohelper", "worker_loop", "markupsafe"}
"""What LibreOffice's own Python brings along and finds beside it; what jinja2 itself needs."""


def names(requirements):
    return {re.match(r"[A-Za-z0-9_.-]+", text)[0].lower() for text in requirements}


def modules(distributions):
    return set().union(*(MODULES.get(name, {name}) for name in distributions))


def _loads(call):
    known = ("importorskip", "import_module")
    said = call.args and isinstance(call.args[0], ast.Constant)
    return said and getattr(call.func, "attr", "") in known


@cache
def imported(*folders):
    found = {}
    for path in (path for folder in folders for path in (TOP / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                said = [node.module]
            elif isinstance(node, ast.Import):
                said = [alias.name for alias in node.names]
            elif isinstance(node, ast.Call) and _loads(node):
                said = [node.args[0].value]
            else:
                continue
            for name in said:
                found.setdefault(name.partition(".")[0], path.relative_to(TOP))
    local = {path.stem for path in (TOP / "tests").rglob("*.py")} | {"refsolver", "tests"}
    return {
        name: path
        for name, path in found.items()
        if name not in sys.stdlib_module_names | local | BY_THE_SYSTEM
    }


def test_every_import_of_the_package_is_declared():
    declared = modules(names([*PROJECT["dependencies"], *EXTRAS["sign"], *EXTRAS["cluster"]]))
    undeclared = {n: p for n, p in imported("refsolver").items() if n not in declared}
    assert not undeclared, undeclared


@pytest.mark.parametrize("group", ["dependencies", "sign", "cluster"])
def test_every_declared_dependency_is_imported(group):
    declared = names(PROJECT["dependencies"] if group == "dependencies" else EXTRAS[group])
    found = imported("refsolver")
    unused = [name for name in declared if not modules([name]) & set(found)]
    assert not unused


def test_the_tests_import_what_is_declared_and_no_more_is():
    declared = names([*PROJECT["dependencies"], *EXTRAS["test"]])
    found = set(imported("tests", "refsolver"))
    assert not found - modules(declared) - modules(names(EXTRAS["sign"]))
    unused = [n for n in names(EXTRAS["test"]) if modules([n]) and not modules([n]) & found]
    assert not unused


def test_whoever_opens_a_text_says_its_encoding():
    """The encoding of a locale is not the same everywhere."""
    silent = []
    for path in (TOP / "refsolver").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            keywords = {keyword.arg for keyword in node.keywords}
            if called in ("read_text", "write_text") and "encoding" not in keywords:
                ours = isinstance(node.func, ast.Name) or len(node.args) == 2
                if not ours:
                    silent.append(f"{path.relative_to(TOP)}:{node.lineno}")
    assert not silent
