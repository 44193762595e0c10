"""One run at a time writes into a folder: a lock file that says who holds it.

The system itself holds the lock, so it ends with its process, however that ends. A lock file
left by a process that was killed is not locked any more and is simply taken over.
"""

from __future__ import annotations

import contextlib
import errno
import os
import platform
import stat
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from refsolver.records.canonical import RecordError

__all__ = ["LOCK", "FolderInUse", "locked", "open_own"]

LOCK = "record.lock"
"""The name of the lock file in the folder of the record."""

if sys.platform == "win32":
    import msvcrt

    def _taken(file: int) -> bool:
        os.lseek(file, 1 << 20, os.SEEK_SET)  # beyond the text, which others must be able to read
        try:
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _taken(file: int) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


class FolderInUse(RecordError):
    """Another check is writing into the folder; says which process, where and since when."""


_HELD: set[int] = set()


def _let_go() -> None:
    """A forked process would hold the lock as well, also when the one that has it is gone."""
    while _HELD:
        os.close(_HELD.pop())


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_let_go)


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Holds the lock of ``folder``, which is made where it is not there.

    Raises FolderInUse. A folder that holds nothing in the end is taken away again.
    """
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    file = _lock_file(folder)
    _HELD.add(file)
    try:
        yield
    finally:
        _HELD.discard(file)
        with contextlib.suppress(OSError):
            (folder / LOCK).unlink()
        os.close(file)
        with contextlib.suppress(OSError):
            for path in missing:
                path.rmdir()


def _lock_file(folder: Path) -> int:
    path = folder / LOCK
    while True:
        file = open_own(path, os.O_RDWR)
        try:
            if not _locked_by_us(file, folder):
                raise FolderInUse(
                    f"{folder}: another run is writing there ({_holder(path)}); wait until it "
                    "has ended, or give another folder with --out"
                )
            if _is_at(path, file):  # not one that its holder removed in the meantime
                os.ftruncate(file, 0)
                os.write(file, _words().encode())
                return file
        except BaseException:
            os.close(file)
            raise
        os.close(file)


def open_own(path: Path, flags: int) -> int:
    """Opens a file that this program itself keeps in a folder, and makes it where it is not.

    A link is not followed, for what it leads to would be overwritten; a device, a pipe or a
    folder is refused. Raises RecordError.
    """
    extra = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        file = os.open(path, flags | os.O_CREAT | extra, 0o666)
    except OSError as error:
        if error.errno not in (errno.ELOOP, errno.EISDIR, errno.ENXIO):
            raise
        raise RecordError(_NOT_OURS.format(path=path)) from None
    if not stat.S_ISREG(os.fstat(file).st_mode):
        os.close(file)
        raise RecordError(_NOT_OURS.format(path=path))
    return file


_NOT_OURS = "{path}: is a link, a folder or a device where a file of this program goes; remove it"


def _locked_by_us(file: int, folder: Path) -> bool:
    try:
        return _taken(file)
    except OSError as error:
        raise FolderInUse(
            f"{folder}: its file system keeps no locks ({error.strerror}), so that two checks "
            "writing there could not be kept apart; give a folder on another disk with --out"
        ) from None


def _words() -> str:
    since = datetime.now(UTC).isoformat(timespec="seconds")
    return f"process {os.getpid()} on {platform.node()}, since {since}"


def _is_at(path: Path, file: int) -> bool:
    try:
        return os.path.samestat(path.stat(), os.fstat(file))
    except OSError:
        return False


def _holder(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace").strip() or "just begun"
    except OSError:
        return "just ended"
