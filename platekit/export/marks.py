"""The revision mark in a file that was written earlier: which state of a plate it shows."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

LARGEST: Final = 200_000_000
"""Larger files are not looked into, bytes (ours)."""

_MARK: Final = rb"(?P<mark>[0-9a-f]{8})"
WHERE: Final[dict[str, tuple[bytes, ...]]] = {
    ".svg": (rb'data-revision="' + _MARK + rb'"', rb"revision " + _MARK + rb"[<;,]"),
    ".pdf": (rb"/Subject \([^)]*revision " + _MARK,),
    ".html": (rb'class="mark">revision ' + _MARK,),
    ".json": (rb'"revision": "' + _MARK + rb'"',),
    ".csv": (rb"," + _MARK + rb",[^,\r\n]*\r?\n",),
    ".step": (rb"'revision " + _MARK + rb"'",),
    ".dxf": (
        rb"\nREVISION\r?\n1000\r?\n" + _MARK + rb"\r?\n",
        rb"\nREVISION\r?\n350\r?\n(?P<handle>[0-9A-F]+)\r?\n.*?\nDICTIONARYVAR\r?\n *5\r?\n(?P=handle)\r?\n"
        rb".*?\n *1\r?\n" + _MARK + rb"\r?\n",
    ),
}
"""Where each kind of file carries its mark; a DXF of the newer form names it in one place and has it in another."""


def mark_of(path: Path) -> str | None:
    """The revision mark that a file of ours carries; None if it has none or cannot be read."""
    try:
        if path.stat().st_size > LARGEST:
            return None
        data = path.read_bytes()
    except OSError:
        return None
    return mark_in(data, path.suffix)


def mark_in(data: bytes, suffix: str) -> str | None:
    """The revision mark in the bytes of a file with that ending: picture, paper, report, list, figures, cut, solid.

    >>> mark_in(b"/Subject (mixer, revision 249c2623, seen from the near side)", ".pdf")
    '249c2623'
    """
    plain = data.replace(b"\\000", b"")
    for pattern in WHERE.get(suffix, ()):
        found = re.search(pattern, plain, re.DOTALL)
        if found is not None:
            return found["mark"].decode()
    return None
