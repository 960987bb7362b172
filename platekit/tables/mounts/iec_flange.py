"""IEC flanges by their own name (FF165, FT115) and by the frame that carries them (IEC 90 B5).

An FF flange has plain through holes and stands outside the frame (B5); an FT flange has tapped holes (B14). A
frame's flange brings the frame's shaft with it; a flange by its own name has none, because several frames
carry it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from platekit.errors import LookupFailed
from platekit.tables.fits import fit_limits
from platekit.tables.mounts.family import Family, disc, nominal_body, on_circle, only
from platekit.tables.mounts.iec_foot import FOOT_FILE, hole_editions, two_pole_note
from platekit.tables.rows import Row, kept, read
from platekit.tables.values import StandardBody, StandardMount

_FILE = "iec_60072_1_flange.csv"
_FRAMES = "iec_frame_flange.csv"
_STYLES = {"b5": "B5", "b14_small": "B14", "b14_large": "B14 large"}
_FORMS = {"b14small": "b14", "b14a": "b14", "v18": "b14", "b14b": "b14large", "v1": "b5"}
"""Other names of a style: small and large are also A and B; V1 and V18 are B5 and B14, shaft down (IEC 60034-7)."""
_LENGTHS = "SML"
_BY_FRAME = re.compile(r"(?:iec)?(\d{2,3})[sml]?(b5|b14|b14small|b14large|b14a|b14b|v1|v18)")


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each flange, then each frame's flanges, with their short names."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_FILE):
        name = row.text("designation")
        found[name] = f"IEC {name}", f"{name[:2]}-{name[2:]}"
    for row in read(_FRAMES):
        for style, title in _STYLES.items():
            if row.text(style):
                frame = row.text("frame")
                small = (f"IEC {frame} B14 small",) if style == "b14_small" else ()
                found[f"IEC {frame} {title}"] = f"{frame} {title}", *small
    return found


def fold(compared: str) -> str:
    """A frame's flange without the length of the frame and under one name for its style; other names as they are.

    >>> fold("iec90sb14a"), fold("132mv1"), fold("ff165")
    ('iec90b14', 'iec132b5', 'ff165')
    """
    found = _BY_FRAME.fullmatch(compared)
    return f"iec{found[1]}{_FORMS.get(found[2], found[2])}" if found else compared


def circles() -> Mapping[str, float]:
    """The bolt circle of each flange, and of each frame's, mm."""
    flanges = {row.text("designation"): row.need("bolt_circle") for row in read(_FILE)}
    frames = {
        f"IEC {row.text('frame')} {title}": flanges[row.text(style)]
        for row in read(_FRAMES)
        for style, title in _STYLES.items()
        if row.text(style)
    }
    return flanges | frames


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    found = re.fullmatch(r"IEC (\d+) (.+)", designation)
    if not found:
        return _flange(only(read(_FILE), "designation", designation), designation, None)
    # A frame may carry several flanges: its row says which one each style stands for.
    frames = only(read(_FRAMES), "frame", found[1])
    style = next(style for style, title in _STYLES.items() if title == found[2])
    flange = only(read(_FILE), "designation", frames.text(style))
    return _flange(flange, designation, frames)


def _flange(row: Row, designation: str, frames: Row | None) -> StandardMount:
    circle, pilot, holes = row.need("bolt_circle"), row.need("pilot"), row.count("holes")
    shaft: Row | None = None
    if frames:  # the foot table's first row of a frame number: every length of a frame has the same shaft
        frame = frames.text("frame")
        shaft = next((foot for foot in read(FOOT_FILE) if foot.text("frame").rstrip(_LENGTHS) == frame), None)
        if shaft is None:
            raise LookupFailed(f"no shaft for IEC frame {frame}")
    return StandardMount(
        designation=designation,
        family=FF if row.text("designation").startswith("FF") else FT,
        source=row.source,
        holes=holes,
        # Half a step off the axis: no hole of an IEC flange lies on the vertical through the shaft.
        points=on_circle(circle, holes, 180.0 / holes),
        turn_order=holes,
        aliases=entries()[designation],
        bolt_circle=circle,
        pilot=pilot,
        pilot_depth=row.need("pilot_depth"),
        pilot_depth_is="maximum",
        pilot_kind="spigot",
        pilot_tolerance=fit_limits(row.text("pilot_zone"), pilot),
        face=row.need("face"),
        hole=row.length("hole"),
        screw=row.text("screw") or None,
        shaft=shaft.need("shaft") if shaft else None,
        shaft_length=shaft.need("shaft_length") if shaft else None,
        shaft_tolerance=fit_limits(shaft.text("shaft_zone"), shaft.need("shaft")) if shaft else None,
        key=(shaft.text("key") or None) if shaft else None,
        bodies=_bodies(row, shaft),
        editions=hole_editions(row),
        notes=(*_notes(row, designation, frames), *(two_pole_note(shaft) if shaft else ())),
    )


def _bodies(row: Row, shaft: Row | None) -> tuple[StandardBody, ...]:
    # What carries a flange by its own name is not known, so neither is what stands behind it.
    if shaft is None:
        return ()
    found = []
    # Standards fix what bolts together; the frame behind is the maker's, so it is a nominal one that errs on the large
    # side.
    room = nominal_body("IEC", shaft.text("frame"))
    if room:
        thick = room.need("disc")
        found.append(disc("flange", row.need("face"), (0.0, thick), room.source))
        found.append(disc("frame", room.need("diameter"), (thick, room.need("length")), room.source))
    found.append(disc("shaft", shaft.need("shaft"), (-shaft.need("shaft_length"), 0.0), shaft.source))
    return tuple(found)


def _notes(row: Row, designation: str, frames: Row | None) -> tuple[str, ...]:
    notes = ["pilot depth is a maximum"]
    if frames is None:
        carriers = [
            f"IEC {other.text('frame')} {title}"
            for other in read(_FRAMES)
            for style, title in _STYLES.items()
            if other.text(style) == row.text("designation")
        ]
        if carriers:
            notes.append(f"carried by {', '.join(carriers)}; name the frame to get its shaft")
        return tuple(notes)
    notes.insert(0, f"the flange of this frame is {row.text('designation')}")
    if designation.endswith("B14") and frames.text("b14_large"):
        large = f"{frames.text('b14_large')} (IEC {frames.text('frame')} B14 large)"
        notes.append(f"B14 is the small flange; the large one is {large}")
    return tuple(notes)


FF = "IEC 60072-1 FF flange"
FT = "IEC 60072-1 FT flange"

FAMILY = Family(
    name="IEC 60072-1 flange",
    about="flanges FF55 to FF600 and FT45 to FT300, and the frames that carry them (B5, B14)",
    files=(_FILE, _FRAMES, FOOT_FILE, "iso_286_grades.csv", "iso_286_deviations.csv", "nominal_bodies.csv"),
    claims=re.compile(r"(iec)?(f[ft]\d+|\d{2,3}[sml]?(b5|b14|v1|v18).*)"),
    entries=entries,
    build=build,
    circles=circles,
    fold=fold,
)
