"""What stands in a plate's folder from earlier runs, once its verdict is known: cut files go, papers are told.

A cut file shows the state of the plate that it was made of. As soon as the verdict of another state is known, it goes:
all of them while a stop is open or the spec cannot be used, else those that carry another revision mark. Only `check`,
which writes nothing, leaves the cut files of another clear state, and says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.errors import OutputError, PlatekitError
from platekit.export.data.rounded import Figures
from platekit.export.files import file_in, remove
from platekit.export.marks import WHERE, mark_of
from platekit.export.one_writer import one_writer
from platekit.laying.flat_parts import PART, flat_parts
from platekit.placed import Layout

SURVEY_SUFFIX: Final = ".survey.svg"
"""Ending of the picture of what was measured."""
NO_STATE: Final = (".compare.svg", ".compare.pdf", ".places.svg")
"""Files that show several states of a plate, and are nobody's last word."""
MOST_TOLD: Final = 12
"""Most files of another revision that are named (ours); the rest are counted."""
_CUT: Final = re.compile(
    rf"(?:\.{PART})?(?:\.copies)?\.(?:cut|kerf)(?:\.(?:r12|plain))?(?:\.(?:mm|in))?\.dxf|(?:\.{PART}|\.assembly)?\.step"
)
"""The endings of all files from which a plate can be cut."""
_PART: Final = re.compile(rf"({PART})\.")


class FolderState(Struct, frozen=True):
    """What was found in a plate's folder: the cut files taken away, and the files that show another revision."""

    removed: tuple[Path, ...] = ()
    outdated: tuple[tuple[Path, str], ...] = ()

    def lines(self) -> list[str]:
        """The same in sentences."""
        lines = [f"took away {path}: it belonged to another state of the plate" for path in self.removed]
        if not self.outdated:
            return lines
        told = [f"{path.name} ({mark})" for path, mark in self.outdated[:MOST_TOLD]]
        more = len(self.outdated) - len(told)
        words = ", ".join([*told, *([f"{more} more"] if more else [])])
        folder = self.outdated[0][0].parent
        return [*lines, f"of another revision, in {folder}: {words}; do not use them, platekit make writes them anew"]

    def figures(self) -> Figures:
        """The same for a program."""
        return {
            "removed": [str(path) for path in self.removed],
            "outdated": [{"path": str(path), "revision": mark} for path, mark in self.outdated],
        }


@contextmanager
def telling(standing: FolderState) -> Iterator[None]:
    """Whatever error ends this also tells which cut files went before, and what else is of another revision."""
    try:
        yield
    except PlatekitError as error:
        error.also += tuple(standing.lines())
        raise


def without_cut_files(out: Path, name: str) -> tuple[Path, ...]:
    """Takes away every cut file of the plate `name` under `out`, and gives their paths; `OutputError` if one stays."""
    folder = _folder(out, name)
    if folder is None:
        return ()
    with one_writer(folder):
        return tuple(path for path in cut_files(folder, name) if remove(path))


def left_of(layout: Layout, verdict: Verdict, out: Path, *, keep_clear: bool = False) -> FolderState:
    """Takes away the cut files that are void under this verdict, and tells what else is of another revision.

    `keep_clear` leaves the cut files of another revision while this one is clear. Raises `OutputError` if a cut file
    cannot be taken away.
    """
    folder = _folder(out, layout.spec.name)
    if folder is None:
        return FolderState()
    with one_writer(folder):
        # `check` is run while typing: it must not throw away the cut files of a sound state
        void = () if verdict.clear and keep_clear else void_cut_files(layout, verdict, folder)
        removed = tuple(path for path in void if remove(path))
        # what shows another revision is told, not taken away: paper that was printed and written on is somebody's
        marked = [path for path in _ours(folder, layout.spec.name) if path.suffix in WHERE]
        told = [path for path in marked if not path.name.endswith(NO_STATE)]
        found = ((path, mark_of(path), wanted) for path, wanted in _marks(layout, told).items())
        other = tuple((path, mark) for path, mark, wanted in found if mark is not None and mark != wanted)
        return FolderState(removed, other)


def void_cut_files(layout: Layout, verdict: Verdict, folder: Path) -> tuple[Path, ...]:
    """The cut files in a plate's folder that are void under this verdict: all, or those of another revision."""
    cut = cut_files(folder, layout.spec.name)
    if not verdict.clear:
        return cut
    return tuple(path for path, wanted in _marks(layout, cut).items() if mark_of(path) != wanted)


def cut_files(folder: Path, name: str) -> tuple[Path, ...]:
    """Every file of the plate `name` in its folder from which something can be cut, in the order of their names."""
    return tuple(path for path in _ours(folder, name) if _CUT.fullmatch(path.name.removeprefix(name)))


def _marks(layout: Layout, paths: Sequence[Path]) -> dict[Path, str | None]:
    """The mark that each file of a plate should carry; a part that is cut beside it has one of its own."""
    # parts of the guard and bars are plates of their own, with a spec that is made of this one; worked out only when a
    # file of theirs lies there, as that takes another layout
    parts = {path: part_of(path, layout.spec.name) for path in paths}
    flat = flat_parts(layout) if any(parts.values()) else {}
    of_part = {part: one.spec.revision for part, one in flat.items()}
    plate = layout.spec.revision
    return {path: plate if part is None else of_part.get(part) for path, part in parts.items()}


def part_of(path: Path, name: str) -> str | None:
    """The part beside the plate `name` that a file is for; None for the plate itself."""
    found = _PART.match(path.name.removeprefix(f"{name}."))
    return None if found is None else found[1]


def _ours(folder: Path, name: str) -> Iterator[Path]:
    with suppress(OSError):
        yield from (
            path
            for path in sorted(folder.iterdir())
            if path.name.startswith(f"{name}.") and (path.is_file() or path.is_symlink())
        )


def _folder(out: Path, name: str) -> Path | None:
    """The plate's folder; None where nothing was written: it is not there, no file has that name, a link leads away."""
    try:
        folder = file_in(out, name)
        # a link that leads out of the output folder is nobody's plate: nothing behind it is ever taken away
        there = folder.is_dir() and folder.resolve().parent == Path(out).resolve()
    except (OutputError, OSError, ValueError):
        return None
    return folder if there else None
