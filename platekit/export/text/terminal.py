"""What every text for a terminal shares: how wide it is, and how its paragraphs are folded."""

from __future__ import annotations

import textwrap
from typing import Final

WIDTH: Final = 100
"""Widest line, characters; fixed, so that the same plate gives the same text everywhere (ours)."""


def folded(text: str, first: str = "", then: str = "") -> list[str]:
    """A paragraph in lines of at most `WIDTH` characters: the first begins with `first`, the others with `then`."""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then)
