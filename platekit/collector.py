"""Building much without the garbage collector walking over it again and again."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collecting() -> Iterator[None]:
    """Pauses the collector of reference cycles, also as a decorator; afterwards it is as it was.

    A layout of many holes, or its picture, makes many objects and no cycle. Each full collection walks over all of them
    and finds nothing, and there are more of these the more objects there are: time would grow faster than the plate.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
