"""Which files of an earlier run show a plate that is not wanted any more, told by the mark that each carries."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from msgspec import Struct

from platekit.analysis.compare import Comparison
from platekit.export.files import file_in
from platekit.export.paper.template import TEMPLATE_SUFFIX
from platekit.laying.guard import GUARD_PARTS, guard_parts

CUTTING: Final = (".dxf", ".step")
"""Endings of the files from which something can be cut."""
NO_STATE: Final = (".compare.svg", ".compare.pdf", ".places.svg")
"""Files that show several states of a plate, and are nobody's last word."""
LARGEST: Final = 200_000_000
"""Larger files are not looked into, bytes (ours)."""

_MARK: Final = rb"(?P<mark>[0-9a-f]{8})"
_WHERE: Final[dict[str, tuple[bytes, ...]]] = {
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


class Outdated(Struct, frozen=True):
    """A file that shows another state of the plate. `cuts` says that a plate can be cut from it.

    `mark` is the revision that it shows. `void` is False where the steel is the same in spite of the other mark.
    """

    path: Path
    mark: str
    cuts: bool
    void: bool


def outdated_files(comparison: Comparison, out: Path) -> tuple[Outdated, ...]:
    """The files of old and new name under `out` that do not carry the new mark, in the order of their names.

    A file of the old mark is void as far as what it shows has changed: paper by places, cut files and reports by the
    steel. One of any other mark is void: nobody knows what it shows. A file without a mark is none of ours.
    """
    found = []
    guards = {part: flat.spec.revision for part, flat in guard_parts(comparison.new).items()}
    for path in _ours(comparison, out):
        mark, part = mark_of(path), _guard_part(path)
        wanted = comparison.new.spec.revision if part is None else guards.get(part)
        if mark is None or mark == wanted:
            continue
        cuts = path.suffix in CUTTING
        kept = comparison.same_paper if path.name.endswith(TEMPLATE_SUFFIX) else comparison.same_steel
        void = mark != comparison.old.spec.revision or not kept
        found.append(Outdated(path, mark, cuts, void))
    return tuple(found)


def _guard_part(path: Path) -> str | None:
    """The part of the guard that a file is for; such a part has a mark of its own, which changes only with it."""
    rest = path.name.removeprefix(f"{path.parent.name}.")
    return next((part for part in GUARD_PARTS if rest.startswith(f"{part}.")), None)


def _ours(comparison: Comparison, out: Path) -> Iterator[Path]:
    """Every file of either name that may carry a mark, in the order of their names."""
    for name in dict.fromkeys((comparison.old.spec.name, comparison.new.spec.name)):
        folder = file_in(out, name)
        files = sorted(path for path in folder.iterdir() if path.is_file()) if folder.is_dir() else []
        for path in files:
            ours = path.name.startswith(f"{name}.") and path.suffix in _WHERE
            if ours and not path.name.endswith(NO_STATE):
                yield path


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
    for pattern in _WHERE.get(suffix, ()):
        found = re.search(pattern, plain, re.DOTALL)
        if found is not None:
            return found["mark"].decode()
    return None
