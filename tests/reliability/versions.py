"""The package with the oldest versions that it says it takes, with the newest, on each Python.

    python -m tests.reliability versions                        every Python found on this machine
    python -m tests.reliability versions --root /srv/debian     and that of another system's folder

uv (from PyPI, in an environment of its own) makes the environments and finds the interpreters.
In each the wheel and the source package are installed from files, the wheel is put to work in
an empty folder, and tests are run on the files that git tracks: all of them with the lowest
versions, a quick part elsewhere. A folder made by debootstrap (``--root``) is entered by chroot,
which needs root; what its Python needs is put into it from outside.
"""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import attrs

ROOT = Path(__file__).resolve().parents[2]
QUICK = (
    "-m", "not slow and not office and not browser", "tests/records", "tests/quantities",
    "tests/reporting/test_csv.py", "tests/reporting/test_junit.py",
    "tests/catalogue/test_reading.py", "tests/catalogue/test_userfile.py",
)  # fmt: skip
EXTRAS = "[test,sign,cluster]"
LEAST = (3, 11)


@attrs.frozen
class Ran:
    """What a command came to."""

    status: int
    said: str

    @property
    def last(self) -> str:
        return (self.said.strip().splitlines() or [""])[-1]


def ran(*command: str | Path, cwd: Path | None = None) -> Ran:
    # what this process runs with is not what the environments are to find
    clean = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(
        list(map(str, command)), cwd=cwd, env=clean, text=True, check=False,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    return Ran(done.returncode, done.stdout)


def outcome(found: Ran) -> str:
    return "yes" if found.status == 0 else f"no: {found.last[:200]}"


@attrs.frozen
class Bench:
    """uv, the built packages, and the tracked files, in a folder."""

    folder: Path

    @classmethod
    def made(cls, folder: Path) -> Bench:
        bench = cls(folder)
        ran(sys.executable, "-m", "venv", folder / "tools")
        needed = ran(folder / "tools/bin/pip", "install", "-q", "uv", "pip-audit")
        if needed.status:
            raise SystemExit(f"uv cannot be had: {needed.last}")
        bench.source.mkdir()
        tracked = ran("git", "ls-files", "-z", cwd=ROOT).said.split("\0")
        for name in filter(None, tracked):
            (bench.source / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, bench.source / name)
        built = bench.uv("build", "-q", "--out-dir", folder / "dist", bench.source)
        if built.status:
            raise SystemExit(f"the package cannot be built: {built.said}")
        return bench

    @property
    def source(self) -> Path:
        return self.folder / "source"

    @property
    def wheel(self) -> Path:
        return next((self.folder / "dist").glob("*.whl"))

    @property
    def source_package(self) -> Path:
        return next((self.folder / "dist").glob("*.tar.gz"))

    def uv(self, *arguments: str | Path) -> Ran:
        return ran(self.folder / "tools/bin/uv", *arguments)

    def interpreters(self) -> dict[str, str]:
        """The path of one interpreter for each version of Python that is new enough."""
        said = self.uv("python", "list", "--only-installed", "--output-format", "json").said
        listed = json.loads(said[said.index("[{") :]) if "[{" in said else []
        found: dict[str, str] = {}
        for one in listed:
            parts = one["version_parts"]
            if one["implementation"] == "cpython" and (parts["major"], parts["minor"]) >= LEAST:
                found.setdefault(f"{parts['major']}.{parts['minor']}", one["path"])
        return found

    def row(self, name: str, python: str, resolution: str, tests: Sequence[str]) -> dict[str, Any]:
        """One environment: what can be installed and used there, and what its tests say."""
        made = self.folder / re.sub(r"\W+", "-", name)
        there = made / "bin/python"
        packed = self.folder / f"{made.name}-source"
        for place in (made, packed):
            self.uv("venv", "-q", "--python", python, place)
        wheel = self.uv(
            "pip", "install", "-q", "--python", there, "--resolution", resolution,
            f"refsolver{EXTRAS} @ {self.wheel.as_uri()}",
        )  # fmt: skip
        row = {
            "Python": ran(there, "-c", "import platform; print(platform.python_version())").last,
            "wheel": outcome(wheel),
            "source package": outcome(self._packed(packed, resolution)),
        }
        if wheel.status:
            return row
        return row | {
            "demonstration": self._put_to_work(there),
            "tests": self._tested(there, tests),
        }

    def _packed(self, place: Path, resolution: str) -> Ran:
        there = place / "bin/python"
        installed = self.uv(
            "pip", "install", "-q", "--python", there, "--resolution", resolution,
            self.source_package,
        )  # fmt: skip
        if installed.status:
            return installed
        return ran(there, "-m", "refsolver", "cases", "show", ONE, cwd=place)

    def _put_to_work(self, python: Path) -> str:
        with tempfile.TemporaryDirectory() as empty:
            done = ran(python, "-m", "refsolver", "check", "--demo", "--out", "out",
                       cwd=Path(empty))  # fmt: skip
            records = list(Path(empty).rglob("record.json"))
        return f"{len(records)} records" if done.status == 0 else outcome(done)

    def _tested(self, python: Path, tests: Sequence[str]) -> str:
        return counted(ran(python, "-m", "pytest", "-n", "2", "-p", "no:cacheprovider", *tests,
                           cwd=self.source), tests)  # fmt: skip

    def row_in(self, root: Path) -> dict[str, Any]:
        """The Python of another system, whose packages are put beside it from outside."""
        version = ran("chroot", root, "python3", "-c",
                      "import platform; print(platform.python_version())").last  # fmt: skip
        target = root / "opt" / "refsolver-versions"
        shutil.rmtree(target, ignore_errors=True)
        wheel = self.uv(
            "pip", "install", "-q", "--target", target / "site", "--only-binary", ":all:",
            "--python-version", ".".join(version.split(".")[:2]),
            f"refsolver{EXTRAS} @ {self.wheel.as_uri()}",
        )  # fmt: skip
        row = {"Python": version, "wheel": outcome(wheel)}
        if wheel.status:
            return row
        shutil.copytree(self.source, target / "source", ignore=shutil.ignore_patterns("refsolver"))
        inside = "cd /opt/refsolver-versions/{} && PYTHONPATH=/opt/refsolver-versions/site {}"
        (target / "empty").mkdir()
        put = inside.format("empty", "python3 -m refsolver check --demo --out out")
        done = ran("chroot", root, "sh", "-c", put)
        records = list((target / "empty").rglob("record.json"))
        tests = shlex.join(QUICK)
        asked = inside.format("source", f"python3 -m pytest -n 2 -p no:cacheprovider {tests}")
        found = counted(ran("chroot", root, "sh", "-c", asked), QUICK)
        shown = f"{len(records)} records" if done.status == 0 else outcome(done)
        shutil.rmtree(target)
        return row | {"demonstration": shown, "tests": found}

    def audit(self, resolution: str) -> str:
        """What pip-audit says of the packages, or why it could say nothing."""
        listed = self.folder / f"{resolution}.txt"
        self.uv("pip", "compile", "-q", "--resolution", resolution, "--python-version", "3.11",
                "--extra", "sign", "--extra", "cluster", self.source / "pyproject.toml",
                "-o", listed)  # fmt: skip
        found = ran(self.folder / "tools/bin/pip-audit", "--no-deps", "--disable-pip", "-f", "json",
                    "-r", listed)  # fmt: skip
        try:
            said = json.loads(found.said[found.said.index('{"dependencies"') :].splitlines()[0])
        except ValueError:
            return f"pip-audit failed: {found.last[:200]}"
        packages = said["dependencies"]
        skipped = [p["name"] for p in packages if "skip_reason" in p]
        if len(skipped) == len(packages):
            return "no advisories can be had from here: every package was skipped"
        known = [f"{p['name']} {v['id']}" for p in packages for v in p.get("vulns", ())]
        return f"{len(packages) - len(skipped)} packages asked for; {', '.join(known) or 'none'}"


ONE = "concurrent-forces/plane-resultant/anchor-three-four-five"


def counted(found: Ran, tests: Sequence[str]) -> str:
    """The closing line of pytest without its time, and what was run."""
    what = "quick part" if tests else "whole suite"
    counts = re.findall(r"\d+ (?:passed|failed|skipped|errors?)\b", found.last)
    if not counts:
        return f"{what}: {found.last[:200]}"
    for line in found.said.splitlines():
        if line.startswith(("FAILED", "ERROR")):
            print(f"    {line}", flush=True)
    return f"{what}: {', '.join(counts)}"


def figures(roots: Sequence[Path], whole: bool = True) -> dict[str, Any]:
    """A row for each environment; ``whole`` runs all tests with the lowest versions."""
    rows: dict[str, Any] = {}
    with tempfile.TemporaryDirectory(prefix="refsolver-versions-") as name:
        bench = Bench.made(Path(name))
        pythons = bench.interpreters()
        lowest = min(pythons, key=lambda text: int(text.partition(".")[2]))
        wanted = [("lowest direct versions", lowest, "lowest-direct", () if whole else QUICK)]
        wanted += [(f"newest versions, {v}", v, "highest", QUICK) for v in sorted(pythons)]
        for title, version, resolution, tests in wanted:
            rows[title] = bench.row(title, pythons[version], resolution, tests)
            print(f"{title}: {rows[title]}", flush=True)
        for root in roots:
            row = bench.row_in(root)
            rows[f"newest versions, {root.name}"] = row
            print(f"{root.name}: {row}", flush=True)
        notes = [
            f"pip-audit, {resolution} versions: {bench.audit(resolution)}."
            for resolution in ("lowest-direct", "highest")
        ]
    return {"notes": notes, "rows": rows}
