"""What the user's own cutting table leaves, by a test piece: what is asked of it, and its figures in the spec."""

from __future__ import annotations

import math
import re
from typing import Any, Final

from platekit.cutting.coupon import CouponResult, coupon_for, judge
from platekit.errors import PlatekitError
from platekit.export.coupon import coupon_dxf, coupon_form
from platekit.export.files import file_in, folder_for, write_together
from platekit.jobs.coupon import store
from platekit.page.asked import Asked
from platekit.page.boxes import value_of
from platekit.page.desk import Desk, Now, with_edits
from platekit.placed import Layout
from platekit.spec.coupon import HOLES, coupon_of
from platekit.spec.editing import Value, written
from platekit.units import Unit, show_length

FOLDER: Final = "machines"
"""Where the files of cutting tables lie, beside the spec (`spec/reading.py`)."""
NAME: Final = re.compile(r"[^\W_][\w -]{0,40}")
"""What a table may be called: its file is called so."""
SIZES: Final = (
    ("square.x", "the square, one way"),
    ("square.y", "the square, the other way"),
    *((f"holes.{name}", f"hole {name}") for name in HOLES),
    ("slot.length", "the slot, over all"),
    ("slot.width", "the slot, across"),
)
"""What is measured, each at the face that was cut from and at the other face, as the form has it."""


def coupon_asked(layout: Layout) -> dict[str, Any] | None:
    """What is measured on a test piece of the plate's own thickness; None for a process that follows no drawing."""
    try:
        coupon = coupon_for(layout.cutting.process, layout.thickness)
    except PlatekitError:
        return None
    unit = layout.spec.unit
    drawn = (coupon.side, coupon.side, *(hole.diameter for hole in coupon.holes))
    drawn += (coupon.slot.length + coupon.slot.width, coupon.slot.width)
    return {
        "process": layout.cutting.process,
        "thickness": show_length(layout.thickness, unit),
        "sizes": [
            {"name": name, "said": said, "drawn": show_length(size, unit)}
            for (name, said), size in zip(SIZES, drawn, strict=True)
        ],
    }


def write_coupon(desk: Desk) -> dict[str, Any]:
    """The test piece's drawing and form, among the files of the spec."""
    layout = _laid(desk.now())
    coupon = coupon_for(layout.cutting.process, layout.thickness)
    folder = folder_for(desk.folder)
    name = f"coupon-{coupon.process}-{coupon.thickness:g}mm"
    made = ((f"{name}.cut.dxf", coupon_dxf(coupon)), (f"{name}.form.pdf", coupon_form(coupon)))
    write_together([(file_in(folder, file), data) for file, data in made])
    told = "Cut it of the same sheet, measure it at both faces, and type in what you read."
    return {"told": told, "written": [file for file, _ in made]}


def take_coupon(desk: Desk, asked: Asked) -> str:
    """What was read goes into the table's file beside the spec, which is cut by it from then on: what that comes to."""
    now = desk.now()
    layout, name = _laid(now), asked.text("table").strip()
    if not NAME.fullmatch(name):
        raise PlatekitError(f"found {name or 'no name'} for the table; letters and figures will do, such as yard")
    readings = coupon_of(_readings(layout, asked), "the test piece")
    found = judge(readings)
    path = file_in(folder_for(desk.path.parent / FOLDER), f"{name}.yaml")
    store(found, readings, path)

    def cut_by_it(text: str) -> str:
        return with_edits(text, [("cutting.machine", name)])

    desk.change(asked.state, cut_by_it)
    return _told(found, name, layout.spec.unit)


def _laid(now: Now) -> Layout:
    if now.layout is None or not now.fresh:
        raise PlatekitError("the plate cannot be laid out yet, so its thickness is not known for sure")
    return now.layout


def _readings(layout: Layout, asked: Asked) -> str:
    """The readings as a file of them would have them, with the sizes as drawn."""
    typed = asked.said.get("read")
    if not isinstance(typed, dict):
        raise PlatekitError("found no readings")
    coupon = coupon_for(layout.cutting.process, layout.thickness)

    def read(name: str) -> Value:
        pair = typed.get(name)
        if (
            not isinstance(pair, list)
            or len(pair) != 2
            or not all(isinstance(one, str) and one.strip() for one in pair)
        ):
            said = dict(SIZES)[name]
            raise PlatekitError(f"{said}: found a reading missing; it is measured at both faces")
        return [value_of(one, "reading") for one in pair]

    kerf = asked.text("kerf_set").strip() or "0"
    told: dict[str, Value] = {
        "platekit_coupon": 1,
        "process": layout.cutting.process,
        "units": layout.spec.unit,
        "thickness": f"{coupon.thickness:g} mm",
        "kerf_set": value_of(kerf, "reading"),
        "drawn": {
            "square": f"{coupon.side:g} mm",
            "holes": [f"{hole.diameter:g} mm" for hole in coupon.holes],
            "slot": [f"{coupon.slot.length + coupon.slot.width:g} mm", f"{coupon.slot.width:g} mm"],
        },
        "square": {axis: read(f"square.{axis}") for axis in ("x", "y")},
        "holes": {hole: read(f"holes.{hole}") for hole in HOLES},
        "slot": {way: read(f"slot.{way}") for way in ("length", "width")},
    }
    return "".join(f"{key}: {written(value)}\n" for key, value in told.items())


def _told(found: CouponResult, name: str, unit: Unit) -> str:
    """What the test piece says of the table, in words of the bench."""
    hole = "small" if found.hole_error < 0 else "large"
    return "\n".join(
        [
            f"The kerf of {name} is {show_length(found.kerf, unit)}.",
            f"Its holes come out {show_length(abs(found.hole_error), unit)} too {hole}, give or take "
            f"{show_length(found.scatter, unit)}.",
            f"The cut leans {math.degrees(abs(found.taper)):.1f} degrees.",
            f"This job is cut by {name} from now on; for another name it under How it is cut, as machine.",
        ]
    )
