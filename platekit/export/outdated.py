"""Which files of an earlier run show a plate that is not wanted any more, told by the mark that each carries."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from msgspec import Struct

from platekit.analysis.compare import Comparison
from platekit.export.files import file_in
from platekit.export.marks import WHERE, mark_of
from platekit.export.paper.template import TEMPLATE_SUFFIX
from platekit.export.standing import NO_STATE, part_of
from platekit.laying.flat_parts import flat_parts

CUTTING: Final = (".dxf", ".step")
"""Endings of the files from which something can be cut."""


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
    beside = {part: flat.spec.revision for part, flat in flat_parts(comparison.new).items()}
    for name in dict.fromkeys((comparison.old.spec.name, comparison.new.spec.name)):
        folder = file_in(out, name)
        for path in sorted(path for path in folder.iterdir() if path.is_file()) if folder.is_dir() else []:
            if not (path.name.startswith(f"{name}.") and path.suffix in WHERE) or path.name.endswith(NO_STATE):
                continue
            mark, part = mark_of(path), part_of(path, path.parent.name)
            wanted = comparison.new.spec.revision if part is None else beside.get(part)
            if mark is None or mark == wanted:
                continue
            # Another mark alone makes no file void: a paper whose places stayed, or a cut file whose steel stayed, is
            # still right. That can be told only of the two states that are compared.
            cuts = path.suffix in CUTTING
            kept = comparison.same_paper if path.name.endswith(TEMPLATE_SUFFIX) else comparison.same_steel
            # lists, sheets and reports tell of the parts beside the plate as well
            kept = kept and (cuts or path.name.endswith(TEMPLATE_SUFFIX) or not comparison.parts)
            void = mark != comparison.old.spec.revision or not kept
            found.append(Outdated(path, mark, cuts, void))
    return tuple(found)
