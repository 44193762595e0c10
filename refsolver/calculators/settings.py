"""The table of a calculator file that says how the calculator is asked, read with care."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.quantities.nearest import did_you_mean

__all__ = ["Settings", "stated_by_the_user"]


def stated_by_the_user(words: str) -> str:
    """What nobody but the user can know, marked as such; "not stated" where it is left out."""
    return f"{words} (as stated by the user)" if words else "not stated"


class Settings:
    """Typed look-ups in ``file.settings``; every complaint names file and key.

    Raises CalculatorFileError for unknown keys at once, for the others when asked.
    """

    def __init__(self, file: CalculatorFile, known: tuple[str, ...]) -> None:
        self._file = file
        for key in file.settings:
            if key not in known:
                near = did_you_mean(key, known, most=1, cutoff=0.6)
                hint = near or f"known: {', '.join(known)}"
                raise self.problem(key, f"unknown key; {hint}")

    def problem(self, key: str, what: str) -> CalculatorFileError:
        return CalculatorFileError(f"{self._file.path}: {self._file.kind}.{key}: {what}")

    @property
    def where(self) -> Path:
        return self._file.path

    def get(self, key: str, default: Any = None) -> Any:
        return self._file.settings.get(key, default)

    def text(self, key: str, default: str | None = None) -> str:
        value = self.get(key, default)
        if not isinstance(value, str) or not value.strip():
            raise self.problem(key, "a text is expected")
        return value

    def one_of(self, key: str, choices: tuple[str, ...], default: str) -> str:
        value = self.text(key, default)
        if value not in choices:
            raise self.problem(key, f"{value!r} is not one of: {', '.join(choices)}")
        return value

    def seconds(self, key: str, default: float) -> float:
        value = self.get(key, default)
        try:
            seconds = float(value)
        except (TypeError, ValueError):
            seconds = -1.0
        if isinstance(value, bool) or not 0 < seconds < 86_400:
            raise self.problem(key, "a number of seconds is expected")
        return seconds

    def whole(self, key: str, default: int) -> int:
        value = self.get(key, default)
        if type(value) is not int or value < 1:
            raise self.problem(key, "a whole number of at least 1 is expected")
        return value

    def yes_or_no(self, key: str) -> bool:
        value = self.get(key, False)
        if type(value) is not bool:
            raise self.problem(key, "true or false is expected")
        return value

    def texts(self, key: str) -> list[str]:
        value = self.get(key, [])
        if not isinstance(value, list) or not all(isinstance(x, str) for x in value):
            raise self.problem(key, "a list of texts is expected")
        return list(value)

    def whole_numbers(self, key: str, default: tuple[int, ...]) -> tuple[int, ...]:
        value = self.get(key, list(default))
        if not isinstance(value, list) or not all(type(x) is int for x in value):
            raise self.problem(key, "a list of whole numbers is expected")
        return tuple(value)

    def table(self, key: str) -> dict[str, Any]:
        value = self.get(key, {})
        if not isinstance(value, dict):
            raise self.problem(key, f"a table is expected, not {value!r}")
        return dict(value)

    def path(self, key: str, default: str | None = None) -> Path:
        """A path beside the calculator file; it must exist."""
        path = self._file.folder / self.text(key, default)
        if not path.exists():
            raise self.problem(
                key,
                f"{path} does not exist; check the name",
            )
        return path

    def paths(self, key: str) -> list[Path]:
        found = [self._file.folder / name for name in self.texts(key)]
        for path in found:
            if not path.exists():
                raise self.problem(
                    key,
                    f"{path} does not exist; check the name",
                )
        return found
