"""Reading a file that the user named: up to a limit, and without waiting for a pipe into which nobody writes."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path
from typing import Final

_AT_ONCE: Final = getattr(os, "O_NONBLOCK", 0)
"""Opens a pipe without waiting for someone at its other end; systems without such pipes have no such flag."""


def first_bytes(path: Path, most: int) -> bytes:
    """What is in the file, the first `most` bytes of it; a pipe into which nobody writes is empty.

    Raises OSError, or ValueError for a name that no file can have.
    """
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | _AT_ONCE)
    plain = stat.S_ISREG(os.fstat(descriptor).st_mode)
    begun = b""
    with os.fdopen(descriptor, "rb") as stream:
        if _AT_ONCE and not plain:
            with suppress(BlockingIOError):  # someone will write, but has not yet
                begun = os.read(descriptor, 1)
                if not begun:
                    return b""
            os.set_blocking(descriptor, True)
        return begun + stream.read(most - len(begun))
