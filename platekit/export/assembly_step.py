"""The assembly: a STEP file (ISO 10303-21, AP214) of plate, bodies, screws, belts and guard, to look at before cutting.

Everything lies in the plate frame, mm, at nominal, each part by its name with the revision, in a colour by its kind.
The plate is that of its own STEP file, a maker's model is the maker's own shape, all else are the solids that the rules
go by. A plate could be cut from it: so it is written, and taken away, as a cut file is.
"""

from __future__ import annotations

import os
import re
from typing import Final

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import SHORT
from platekit.errors import OutputError
from platekit.export.files import write_whole
from platekit.export.release import require_clear
from platekit.export.solid_step import TIME_STAMP, quoted, step_bytes
from platekit.geometry.kernel import ModelError, Part, Placed, assembly_step, need_kernel, read_model
from platekit.placed import BodyKind, Layout

PLATE: Final = (0.55, 0.60, 0.66)
GIVEN: Final = (0.80, 0.72, 0.55)
COLOURS: Final[dict[BodyKind, tuple[float, float, float]]] = {
    "head": (0.30, 0.30, 0.33),
    "washer": (0.45, 0.45, 0.48),
    "nut": (0.30, 0.30, 0.33),
    "tip": (0.30, 0.30, 0.33),
    "shank": (0.30, 0.30, 0.33),
    "pulley": (0.36, 0.50, 0.62),
    "belt": (0.15, 0.15, 0.15),
    "guard": (0.88, 0.78, 0.30),
}
"""Red, green, blue by the kind of body (ours); any other body is of the colour `GIVEN`."""
_HERE: Final = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, 0.0))


def assembly(layout: Layout, path: str | os.PathLike[str], verdict: Verdict | None = None) -> None:
    """Writes the assembly as a STEP file in mm, whole or not at all.

    `verdict` is that of `check(layout)`, if it is at hand. Raises `OutputError` when a stop is open or the file cannot
    be written, and `KernelMissing` without the extra `solid`; then nothing is written.
    """
    require_clear(layout, verdict, "the assembly")
    write_whole(path, assembly_bytes(layout))


def assembly_bytes(layout: Layout) -> bytes:
    """The bytes of the STEP file, lengths in mm; the same layout gives the same bytes.

    Raises as `step_bytes` does, and `KernelMissing` without the extra `solid`.
    """
    need_kernel("an assembly")
    revision = f"revision {layout.spec.revision}"
    try:
        plate = Placed(read_model("plate.step", step_bytes(layout, bars=False)), _HERE)
        parts = [Part(f"plate, {revision}", PLATE, model=plate)]
        parts += [
            Part(f"{body.name}, {revision}", COLOURS.get(body.kind, GIVEN), body.solids, body.solid_model)
            for body in layout.bodies
        ]
        data = assembly_step(f"{layout.spec.name}, {revision}", parts)
    except ModelError as error:
        raise OutputError(f"the assembly was not written: {error}") from error
    # The kernel's header says when it was written, and by what: ours says what it is, and the same every time.
    head = (
        f"HEADER;\nFILE_DESCRIPTION(({quoted(layout.title)},{quoted(revision)},{quoted(SHORT)}),'2;1');\n"
        f"FILE_NAME({quoted(layout.spec.name)},'{TIME_STAMP}',(''),(''),'platekit','platekit','');\n"
    ).encode("ascii")
    data = re.sub(rb"HEADER;.*?(?=FILE_SCHEMA)", lambda _: head, data, count=1, flags=re.DOTALL)
    # Products are numbered by a count that runs on from file to file of one run: here each gets its place in this one.
    seen: dict[bytes, bytes] = {}

    def numbered(found: re.Match[bytes]) -> bytes:
        return seen.setdefault(found[0], b"NEXT_ASSEMBLY_USAGE_OCCURRENCE('%d'" % (len(seen) + 1))

    return re.sub(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+'", numbered, data)
