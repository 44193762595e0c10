"""The rooms of the package import one way, and the repository's top level stays small."""

import ast
from pathlib import Path

import refsolver

PACKAGE = Path(refsolver.__file__).parent
ORDER = [
    "arithmetic",
    "quantities",
    "statics",
    "figures",
    "catalogue",
    "mistakes",
    "calculators",
    "checking",
    "records",
    "reporting",
    "runs",
    "demo",
]


def imported_rooms(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        for name in names:
            parts = name.split(".")
            if parts[0] == "refsolver" and len(parts) > 1:
                yield parts[1]


def test_rooms_import_one_way():
    wrong = []
    for room in ORDER:
        for path in (PACKAGE / room).rglob("*.py"):
            for other in imported_rooms(path):
                later = other in ORDER and ORDER.index(other) > ORDER.index(room)
                # the demonstration is found by the run that offers it
                if later and (room, other) != ("runs", "demo"):
                    wrong.append(f"{path.relative_to(PACKAGE)} imports {other}")
    assert not wrong, wrong


def test_only_processes_uses_posix_calls():
    """POSIX-only calls stand in one module, what outlives it and the lock of a folder apart."""
    allowed = {"calculators/processes.py", "calculators/warden.py", "records/locking.py"}
    posix = ("killpg", "setsid", "setpgid", "fork(", "import resource", "import fcntl")
    found = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if any(word in path.read_text(encoding="utf-8") for word in posix)
    }
    assert found <= allowed, found


def test_public_names_are_there():
    for name in refsolver.__all__:
        assert getattr(refsolver, name) is not None
