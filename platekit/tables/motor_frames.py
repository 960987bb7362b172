"""Which powers are made in a motor's frame and how thick its plate usually is (`motor_frame.csv`), what it weighs."""

from __future__ import annotations

import re
from functools import cache

from msgspec import Struct

from platekit.tables.rows import Row, read
from platekit.tables.values import Source, StandardMount

_IEC = re.compile(r"IEC (\d+)")
_IEC_LETTER = re.compile(r"IEC (\d+)[SML]?")
_NEMA = re.compile(r"NEMA (\d{2,3})")
_TWO_DIGITS = frozenset({"42", "48", "56", "66"})
"""Small frames are named by two digits, others by three, of which the first two tell the height."""


class MotorFrame(Struct, frozen=True):
    """The powers (W, least and most) that are made in a frame, and the least usual thickness of its plate (mm)."""

    name: str
    least_w: float
    most_w: float
    plate: float
    source: Source


@cache
def motor_frame(standard: StandardMount) -> MotorFrame | None:
    """The frame of a standard motor; None for what is no motor, or where the name tells no frame.

    A flange by its own name is carried by several frames: their powers together, and the thinnest of their plates.

    >>> from platekit.tables import mount
    >>> motor_frame(mount("IEC 80 B5")).most_w, motor_frame(mount("NEMA 184TC")).name
    (1100.0, 'frame NEMA 18')
    """
    if standard.family.startswith("IEC"):
        found = _IEC.match(standard.designation)
        if found:
            carriers: tuple[str, ...] = (found[1],)
        else:  # FF165 and the like: every frame that may carry it
            carriers = tuple(
                row.text("frame")
                for row in read("iec_frame_flange.csv")
                if standard.designation in (row.text("b5"), row.text("b14_small"), row.text("b14_large"))
            )
        return _frame("IEC", carriers, standard.designation)
    found = _NEMA.match(standard.designation) if standard.family.startswith("NEMA MG 1") else None
    if found is None:
        return None
    # NEMA: two digits are a frame of their own, of three the first two give the height, and the third only the length.
    digits = found[1] if found[1] in _TWO_DIGITS else found[1][:2]
    return _frame("NEMA", (digits,), f"NEMA {digits}")


ROOM = 1.2
"""How much farther apart than a motor's own holes those of its plate may be, as for a motor on rails (ours)."""


@cache
def frame_by_holes(apart: float) -> MotorFrame:
    """What is made in frames whose farthest holes, of foot or flange, are no farther apart than these (mm).

    >>> frame_by_holes(130.0).most_w
    5500.0
    """
    from platekit.tables.mounts import mount, names

    # Frame 56 always fits, so that the smallest plate has an answer. Small motors are left out of the least power,
    # since a plate with wide holes may carry a small motor too: only the most is a limit.
    fitting = {"56"}
    for row in read("iec_frame_flange.csv"):
        frame = row.text("frame")
        for name in (f"IEC {frame} B5", f"IEC {frame} B14", f"IEC {frame} B14 large"):
            if name in names() and (mount(name).bolt_circle or 0.0) <= apart * ROOM:
                fitting.add(frame)
    rows = [row for row in read("motor_frame.csv") if row.text("family") == "IEC" and row.text("frame") in fitting]
    return MotorFrame(
        f"a frame with holes {apart:.0f} mm apart",
        0.0,
        1000 * max(row.number("most_kw") for row in rows),
        0.0,
        rows[0].source,
    )


def _frame(family: str, frames: tuple[str, ...], name: str) -> MotorFrame | None:
    rows: list[Row] = [
        row for row in read("motor_frame.csv") if row.text("family") == family and row.text("frame") in frames
    ]
    if not rows:
        return None
    return MotorFrame(
        f"frame IEC {frames[0]}" if family == "IEC" and len(frames) == 1 else f"frame {name}",
        1000 * min(row.number("least_kw") for row in rows),
        1000 * max(row.number("most_kw") for row in rows),
        min(row.need("plate") for row in rows),
        rows[0].source,
    )


class MassRange(Struct, frozen=True):
    """What motors of a frame weigh, kg, from the lightest to the heaviest that a source prints."""

    least: float
    most: float
    source: Source


@cache
def motor_mass(standard: StandardMount) -> MassRange | None:
    """What motors of a standard's frame weigh; None for what is no motor, or a frame that no row holds.

    Where the standard does not tell the letter of its frame, the rows of all its letters together.

    >>> from platekit.tables import mount
    >>> found = motor_mass(mount("IEC 80 B5"))
    >>> found.least, found.most
    (7.8, 13.0)
    """
    found = _IEC_LETTER.match(standard.designation) if standard.family.startswith("IEC") else None
    if found is None:
        return None
    rows = [row for row in read("motor_mass.csv") if row.text("frame") == found[0].removeprefix("IEC ")]
    # Without its letter a frame may be any of its lengths: the range spans all of them.
    rows = rows or [row for row in read("motor_mass.csv") if row.text("frame").rstrip("SML") == found[1]]
    if not rows:
        return None
    least, most = min(row.number("least_kg") for row in rows), max(row.number("most_kg") for row in rows)
    return MassRange(least, most, rows[0].source)
