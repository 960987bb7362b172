"""Linear algebra on one thread while a plate is worked out.

A sparse factor calls for thousands of products of small matrices. Split over threads each of them is mostly waiting:
on two cores the same answer took three to five times the processor time. So the threads of the libraries that numpy
and scipy bring along (OpenBLAS, one each) are set to one here and given back afterwards. Where another library does
the work, or it cannot be asked, nothing is changed.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

Pair = tuple[Callable[[], int], Callable[[int], None]]

_ENDINGS = ("64_", "")
"""OpenBLAS with whole numbers of 64 bits has names of its own."""


@contextmanager
def on_one_thread() -> Iterator[None]:
    """Within it OpenBLAS computes on one thread; as a decorator, within a function."""
    before = [(told(), told_so) for told, told_so in _libraries()]
    for count, set_to in before:
        if count != 1:
            set_to(1)
    try:
        yield
    finally:
        for count, set_to in before:
            if count != 1:
                set_to(count)


@cache
def _libraries() -> tuple[Pair, ...]:
    """How many threads each OpenBLAS of numpy and scipy has, and how to tell it another number."""
    import numpy as np
    import scipy.linalg  # its library is loaded by this, and found by its file below

    found = []
    for package in (np, scipy):
        at = Path(str(package.__file__)).parent
        # wheels keep it beside the package (Linux, Windows) or inside it (macOS)
        for file in sorted([*at.parent.glob(f"{at.name}.libs/*openblas*"), *at.glob(".dylibs/*openblas*")]):
            found += _pairs(file)
    return tuple(found)


def _pairs(file: Path) -> list[Pair]:
    try:
        library = ctypes.CDLL(str(file))
    except OSError:
        return []
    for name in (f"{before}openblas_%s_num_threads{ending}" for before in ("scipy_", "") for ending in _ENDINGS):
        try:
            return [(getattr(library, name % "get"), getattr(library, name % "set"))]
        except AttributeError:
            continue
    return []
