"""A work folder that one process holds at a time.

What is written is made there first. The lock is the system's own, on a file in the work folder, so it ends with its
process, however that ends; what a killed process leaves is one folder, and whoever holds it next takes it away. Where
a file system knows no locks (some network folders), nobody is kept out.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep
from typing import Final

LOCK: Final = "lock"

PATIENCE: float = 10.0
"""So many seconds a command waits for another one's folder; to hold it takes well under one, on a slow stick some."""

PAUSE: Final = 0.05


class Held(Exception):
    """Another process holds the folder, and goes on to."""


def tries() -> Iterator[None]:
    """Now, and again and again as long as there is patience; then raises ``Held``."""
    end = monotonic() + PATIENCE
    while True:
        yield
        if monotonic() >= end:
            raise Held
        sleep(PAUSE)


@contextmanager
def holding(work: Path) -> Iterator[None]:
    """Hold the work folder, made where it is not there; at the end its lock goes, and so does it when it is empty.

    Raises ``Held``, or OSError where it cannot be made or opened.
    """
    file = next(taken for _ in tries() if (taken := _take(work)) is not None)
    try:
        yield
    finally:
        _let_go(work, file)


def is_held(work: Path) -> bool:
    """Whether a process holds it now, this one included."""
    try:
        file = os.open(work / LOCK, os.O_RDWR)
    except OSError:
        return False
    try:
        return not _locks(file)
    finally:
        os.close(file)


def _take(work: Path) -> int | None:
    """The lock file, open and locked; None while somebody else has it."""
    work.mkdir(parents=True, exist_ok=True)
    if work.is_symlink():
        raise NotADirectoryError(errno.ENOTDIR, f"{work.name} is a link and not our folder")
    try:
        file = os.open(work / LOCK, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
    except FileNotFoundError:  # whoever had it has just taken the folder away
        return None
    taken = False
    try:
        # One who waited for a lock may get that of a file that its holder has removed: such a lock keeps nobody out.
        taken = _locks(file) and _lies_at(work / LOCK, file)
    finally:
        if not taken:
            os.close(file)
    return file if taken else None


def _lies_at(place: Path, file: int) -> bool:
    try:
        return os.path.samestat(os.fstat(file), os.lstat(place))
    except FileNotFoundError:
        return False


def _let_go(work: Path, file: int) -> None:
    """Remove the lock while it is held, so that nobody else's is removed; then let go."""
    try:
        if sys.platform != "win32":
            with suppress(OSError):
                (work / LOCK).unlink()
    finally:
        os.close(file)
    with suppress(OSError):
        if sys.platform == "win32":  # nothing open can be removed there: not one's own, and not the next one's either
            (work / LOCK).unlink()
        work.rmdir()


if sys.platform == "win32":
    import msvcrt

    def _locks(file: int) -> bool:
        try:
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    _NO_LOCKS: Final = frozenset({errno.ENOLCK, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.EINVAL})

    def _locks(file: int) -> bool:
        """Whether the lock is ours now; also where there is no such thing as a lock."""
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except (BlockingIOError, PermissionError):
            return False
        except OSError as error:
            if error.errno in _NO_LOCKS:
                return True
            raise
        return True
