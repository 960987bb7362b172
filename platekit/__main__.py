"""The program: `platekit`, and `python -m platekit`. A process of its own, which starts and ends as fast as it can."""

from __future__ import annotations

import atexit
import gc
import os
import sys
from contextlib import suppress
from typing import NoReturn

SELDOM = (1_000_000, 50, 50)
"""How seldom Python looks for rings of dropped values (usually 700, 10, 10): a command is short, and makes few."""


def main() -> NoReturn:
    """Runs a command and ends the process with its exit code, without taking apart what is left in memory.

    Python would drop every module, model and shape one by one: a quarter of the time of a check. What others have
    registered for the end (`atexit`) is done before, and threads are waited for, as ever.
    """
    gc.set_threshold(*SELDOM)
    codes: list[int] = []
    atexit.register(leave_at_once, codes)  # the first that is registered is the last that is done
    from platekit import cli

    cli.only_the_command_named(sys.argv[1:])
    try:
        cli.main()
    except SystemExit as end:
        if isinstance(end.code, int):
            codes.append(end.code)
        raise
    raise SystemExit(0)


def leave_at_once(codes: list[int]) -> None:
    """Ends the process with the code that was noted, if there is one and all that was said is out."""
    if not codes:
        return
    with suppress(OSError, ValueError):  # a stream that takes no more or is closed: Python says so itself
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        os._exit(codes[0])


if __name__ == "__main__":
    main()
