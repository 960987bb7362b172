"""One writer at a time in a folder, on Linux, macOS and Windows alike.

The system itself keeps the lock, on a file in the folder, and lets it go when the process that holds it ends, however
it ends: a lock never outlives a killed run. The file goes with the lock; one that a killed run left is taken over.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from platekit.errors import OutputError, printable

LOCK: Final = ".platekit.lock"
"""Name of the file that is locked."""
PATIENCE: Final = 30.0
"""How long another run may write before this one gives up, seconds (ours): all files of a plate take less than one."""
_PAUSE: Final = 0.02
_PART: Final = re.compile(r"\.[0-9a-f]{16}\.part")
_NO_LOCKS: Final = frozenset(
    getattr(errno, name) for name in ("ENOLCK", "ENOTSUP", "EOPNOTSUPP", "ENOSYS", "EINVAL") if hasattr(errno, name)
)
"""What a disk says that keeps no locks, such as some network drives."""

_ours = threading.RLock()
_held: dict[Path, int] = {}


@contextmanager
def one_writer(folder: Path) -> Iterator[None]:
    """While this lasts, no other run of platekit writes in `folder`; what a killed one left half written is cleared.

    Raises `OutputError` if another one is at it for longer than `PATIENCE`. A folder that takes no lock (it is not
    there, may not be written, lies on a disk without locks) is not held: what is written there tells its own reason.
    """
    with _ours:
        home = _absolute(folder)
        lock = None if home is None or home in _held else _lock(home)
        if home is None or lock is None:
            yield
            return
        _held[home] = lock
        try:
            # What killed runs left half written goes now: whoever holds the folder is the only one to write in it, so
            # such a file belongs to nobody
            with suppress(OSError, ValueError):
                for entry in os.scandir(home):
                    if _PART.fullmatch(entry.name) and entry.is_file(follow_symlinks=False):
                        with suppress(OSError):
                            os.unlink(entry.path)
            yield
        finally:
            del _held[home]
            _let_go(home / LOCK, lock)


def part_name() -> str:
    """A new name for a file that is being written and not in its place yet."""
    return f".{secrets.token_hex(8)}.part"


def _absolute(folder: Path) -> Path | None:
    """The folder's whole path; None where there is none, as the working folder was taken away."""
    try:
        return Path(os.path.realpath(folder))
    except (OSError, ValueError):
        return None


def _lock(home: Path) -> int | None:
    """The locked file's descriptor; None where no lock can be had."""
    path, last = home / LOCK, time.monotonic() + PATIENCE
    while True:
        try:
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)
        except (OSError, ValueError):
            return None
        try:
            locked = _locked(descriptor)
            if locked is None:
                os.close(descriptor)
                return None
            if locked:
                # The run before takes its lock file away while it still holds it. Whoever opened that file meanwhile
                # gets a lock on a file that nobody else will find: then it is opened anew.
                with suppress(OSError):
                    if os.path.samestat(os.stat(path), os.fstat(descriptor)):
                        return descriptor
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)
        if time.monotonic() > last:
            raise OutputError(
                f"{printable(str(home))}: another platekit has been writing there for {PATIENCE:.0f} s; wait until it "
                "has ended, then run this again"
            )
        if not locked:
            time.sleep(_PAUSE)


if sys.platform == "win32":
    import msvcrt

    def _locked(descriptor: int) -> bool | None:
        """Whether the lock was free; None where the disk keeps none."""
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            return None if error.errno in _NO_LOCKS else False
        return True

    def _let_go(path: Path, descriptor: int) -> None:
        os.close(descriptor)
        with suppress(OSError):  # another run has it open already
            os.unlink(path)

else:
    import fcntl

    def _locked(descriptor: int) -> bool | None:
        """Whether the lock was free; None where the disk keeps none."""
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            return None if error.errno in _NO_LOCKS else False
        return True

    def _let_go(path: Path, descriptor: int) -> None:
        with suppress(OSError):  # while it is still held: whoever waits for it sees that it is gone, and makes another
            os.unlink(path)
        os.close(descriptor)
