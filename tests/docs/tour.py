"""The blocks of the tour of the library: code, and what it prints."""

from __future__ import annotations

import re

from msgspec import Struct

from . import DOCS


class Block(Struct, frozen=True):
    """Code of the tour, its first line in the page, and what stands under it as printed (empty where nothing is)."""

    line: int
    code: str
    printed: str


def blocks() -> list[Block]:
    """Every block in the order of the page."""
    text = (DOCS / "tour.md").read_text("utf-8")
    found = re.finditer(r"^```python\n(.*?)^```\n(?:```text\n(.*?)^```\n)?", text, re.MULTILINE | re.DOTALL)
    return [Block(text.count("\n", 0, one.start()) + 2, one[1], one[2] or "") for one in found]
