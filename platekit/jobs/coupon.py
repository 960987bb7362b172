"""`platekit coupon`: a test piece to cut, and the readings taken on it as a row of the machine's file."""

from __future__ import annotations

import os
from pathlib import Path

from platekit.choices import Process
from platekit.cutting.coupon import Coupon, CouponResult, coupon_for, judge
from platekit.drawing.cautions import CAUTIONS, TWO_LINES
from platekit.errors import OutputError, PlatekitError, UnitError
from platekit.export.coupon import coupon_dxf, coupon_form, readings_text, row_of
from platekit.export.files import file_in, folder_for, rewrite, write_new, write_together
from platekit.jobs.told import Told, wrote_lines
from platekit.spec.coupon import CouponReadings, load_coupon
from platekit.spec.editing import written
from platekit.spec.machine import FILE, machine_of
from platekit.spec.machine_text import new_machine, with_row
from platekit.spec.side_files import text_of
from platekit.units import typed_length

NEXT = "next: cut it, measure it, fill in the readings, then run platekit coupon --measured READINGS --machine FILE"


def coupon(process: Process, thickness: str, out: Path) -> Told:
    """Writes drawing, form and readings of a test piece into `out`; a bare thickness is mm.

    Raises `UnitError`, `OutputError`.
    """
    # a coupon belongs to no spec, so nothing but mm can be meant by a bare figure
    size = typed_length(thickness, "mm")
    if size <= 0:
        raise UnitError(f"a thickness of {thickness}", "give a thickness above zero")
    files = write_coupon(coupon_for(process, size), out)
    return Told(
        "done",
        lambda: "\n".join([*wrote_lines(files), *TWO_LINES, NEXT]),
        lambda: {"files": [str(path) for path in files], "cautions": list(CAUTIONS)},
        files,
    )


def machine_row(readings_file: Path, machine_file: Path) -> Told:
    """Judges a file of readings and writes the row into the machine file; raises `PlatekitError`."""
    readings = load_coupon(readings_file)
    row = store(judge(readings), readings, machine_file)
    return Told(
        "done",
        lambda: f"wrote {machine_file}: {row}",
        lambda: {"files": [str(machine_file)], "row": row},
        (machine_file,),
    )


def write_coupon(coupon: Coupon, out: Path) -> tuple[Path, ...]:
    """Writes drawing, form and readings into `out`; raises `OutputError` if that cannot be."""
    folder = folder_for(out)
    name = f"coupon-{coupon.process}-{coupon.thickness:g}mm"
    # all three are made before one is written: a coupon without its form cannot be measured
    files = (
        (file_in(folder, f"{name}.cut.dxf"), coupon_dxf(coupon)),
        (file_in(folder, f"{name}.form.pdf"), coupon_form(coupon)),
        (file_in(folder, f"{name}.readings.yaml"), readings_text(coupon).encode()),
    )
    for path, _ in files:
        # drawing and form can be made again, readings cannot: that file is never written over
        if path.suffix == ".yaml" and os.path.lexists(path):
            raise OutputError(f"{path} is there already, with readings perhaps; take it away or name another folder")
    write_together(files, new=(path for path, _ in files if path.suffix == ".yaml"))
    return tuple(path for path, _ in files)


def _must_be_believed(text: str | bytes, machine_file: Path) -> None:
    """Nothing, if a machine file may say that; a file that no later run could read is never written."""
    try:
        machine_of(text if isinstance(text, str) else text.decode(), str(machine_file))
    except PlatekitError as error:
        raise PlatekitError(f"nothing was written: these readings give a row that cannot be; {error}") from error


def store(found: CouponResult, readings: CouponReadings, machine_file: Path) -> str:
    """Writes what was found into a machine file, new or old, and gives back the row as written.

    Raises `OutputError` if it cannot be written, `PlatekitError` if the old file is a machine of another process.
    """
    # a coupon tells of one thickness: the row replaces that of the same thickness and leaves all others
    row = row_of(found, readings.speed_mm_min, readings.pierce_s)
    # the user's own file is edited by its text, comments kept; rewrite refuses it where it was changed meanwhile
    if os.path.exists(machine_file):  # Path.exists fails for a name that is too long
        before = text_of(machine_file, FILE)
        after = with_row(before, str(machine_file), readings.process, row)
        _must_be_believed(after, machine_file)
        rewrite(machine_file, before, after)
    else:
        after = new_machine(machine_file.stem, readings.process, "mm", row)
        _must_be_believed(after, machine_file)
        write_new(machine_file, after.encode())
    return written(dict(row))
