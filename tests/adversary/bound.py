"""A bound on the processor time of one trial, so that what hangs is found and told."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager


class TooLong(BaseException):
    """A trial used up its time; no `except Exception` in its way may keep it."""


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """While this lasts, so much processor time may be used; no bound on a system that has no such clock."""
    clock = getattr(signal, "ITIMER_PROF", None)
    if clock is None:
        yield
        return

    def over(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGPROF, over)
    signal.setitimer(clock, seconds)
    try:
        yield
    finally:
        signal.setitimer(clock, 0)
        signal.signal(signal.SIGPROF, before)
