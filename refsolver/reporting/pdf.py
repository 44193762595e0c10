"""The HTML report as a PDF, printed by a headless Chromium.

Every page bears the record's id and hash and "page n of m" by the page margin boxes of
the report's own style sheet, which Chromium prints since version 131.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Literal

from refsolver.catalogue.userfile import write_text

__all__ = ["PdfError", "Paper", "browser", "write_pdf"]

Paper = Literal["A4", "letter"]

_BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome",
    "microsoft-edge",
)  # fmt: skip
_LEAST = 131
_SECONDS = 300


class PdfError(RuntimeError):
    """No PDF could be made; says what is missing and how to mend it."""


def browser() -> str:
    """The path of a Chromium. Raises PdfError where there is none."""
    for name in _BROWSERS:
        found = shutil.which(name)
        if found is not None:
            return found
    raise PdfError(
        f"a PDF needs a Chromium, version {_LEAST} or later, on the path (looked for "
        f"{', '.join(_BROWSERS)}); on Debian: apt install chromium; or print report.html "
        "from any browser"
    )


def _need_a_font() -> None:
    """Chromium lays text out for ever where there is no font at all. Raises PdfError then."""
    listing = shutil.which("fc-list")
    if listing is None:
        return
    found = subprocess.run([listing, ":", "family"], capture_output=True, check=False)
    if found.returncode == 0 and not found.stdout.strip():
        raise PdfError(
            "no font is installed here, so that a PDF would have no letters; install one (on "
            "Debian: apt install fonts-dejavu-core), or print report.html from any browser"
        )


def write_pdf(html_path: Path, pdf_path: Path, *, paper: Paper = "A4") -> None:
    """Prints the report at ``html_path`` to ``pdf_path``, whole or not at all.

    Raises PdfError where Chromium is missing, fails, or takes more than five minutes.
    """
    program = browser()
    _need_a_font()
    with tempfile.TemporaryDirectory(prefix="refsolver-") as scratch:
        page = Path(scratch) / "report.html"
        sized = f"<style>@page {{ size: {paper} }}</style></head>"
        text = html_path.read_text(encoding="utf-8")
        page.write_text(text.replace("</head>", sized, 1), encoding="utf-8")
        made = Path(scratch) / "report.pdf"
        command = [
            program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
            "--no-pdf-header-footer", "--no-first-run", "--disable-extensions",
            f"--user-data-dir={scratch}/profile", f"--print-to-pdf={made}", page.as_uri(),
        ]  # fmt: skip
        try:
            done = subprocess.run(command, capture_output=True, timeout=_SECONDS, check=False)
        except subprocess.TimeoutExpired:
            raise PdfError(
                f"{program} did not finish within {_SECONDS} s; print report.html from a browser"
            ) from None
        if done.returncode != 0 or not made.exists():
            said = done.stderr.decode("utf-8", "replace").strip().splitlines()
            raise PdfError(
                f"{program} made no PDF: {said[-1] if said else 'no message'}; print "
                "report.html from any browser"
            )
        write_text(pdf_path, made.read_bytes())
