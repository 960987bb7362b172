"""The solid: a STEP file (ISO 10303-21, AP214) of the finished plate, whose volume is proved.

It is the part as it lies on the bench when all is done: holes that the table only marks are real holes of their
finished size, recesses are bored to their depth, heads are let in: a countersink is a cone down to the hole's wall, a
counterbore has its floor. Threads are not modelled, a tapped hole has its drill's diameter. It lies in the plate frame
in millimetres, near face at z = 0, far face at z = -thickness.
"""

from __future__ import annotations

import io
import math
import os
import re
from collections.abc import Iterable
from importlib.util import find_spec
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.cutting.heads import HeadSeat, seats
from platekit.errors import OutputError
from platekit.export.exact import Slice, edges_of, one_piece, simplest, slices, z_range
from platekit.export.files import write_whole
from platekit.export.release import require_clear
from platekit.geometry import CurvedSlot, Disc, Line, Point, Shape
from platekit.placed import Layout

if TYPE_CHECKING:
    import cadquery as cq

VOLUME: Final = 1e-6
"""How far the solid's volume may be from exact area times thickness, as a share of it (ours)."""

TIME_STAMP: Final = "2000-01-01T00:00:00"
"""The header wants a time; a fixed one, so that the same plate gives the same bytes (ours)."""

OVERSHOOT: Final = 1.0
"""How far a recess's cutter stands out of the face it starts from, mm, so that no skin is left (common practice)."""

MOST_OPENINGS: Final = 1000
"""Most openings in a solid (a stated limit, ours): the kernel's time grows with their square, 20 s for a thousand."""


def step(layout: Layout, path: str | os.PathLike[str], verdict: Verdict | None = None) -> None:
    """Writes the solid as a STEP file, whole or not at all.

    `verdict` is that of `check(layout)`, if it is at hand. Raises `OutputError` when a stop is open, when the solid
    does not have the volume it should, or when the file cannot be written; then nothing is written.
    """
    require_clear(layout, verdict, "the solid")
    write_whole(path, step_bytes(layout))


def step_bytes(layout: Layout) -> bytes:
    """The bytes of the STEP file; the same layout gives the same bytes.

    The solid is read back from them, and its volume held against the exact one (see `exact_volume`). Raises
    `OutputError` when they differ by more than `VOLUME`, when the openings cut the plate into pieces, or when there
    are more than `MOST_OPENINGS`, a head's seat counted as one more, or when the kernel for solids is not installed.
    """
    if find_spec("cadquery") is None:
        raise OutputError(
            "the solid needs cadquery, which is not installed; `pip install cadquery` gets it, `platekit make "
            "--no-solid` does without"
        )
    count, sunk = len(layout.openings), len(seats(layout))
    # asked before anything is built: the kernel cannot be stopped half way, and the other files wait for it
    if count + sunk > MOST_OPENINGS:
        also = f" and {sunk} heads let in" if sunk else ""
        raise OutputError(
            f"the solid was not written: {count} openings{also} would take the solid's kernel too long, "
            f"which it can do for {MOST_OPENINGS}; leave the solid out"
        )
    # The kernel writes the hour and a running number of its products into the text: with a header and a product of our
    # own in their place, the same plate gives the same bytes.
    text = _written(_solid(layout))
    name, title = _quoted(layout.spec.name), _quoted(layout.title)
    revision = _quoted(f"revision {layout.spec.revision}")
    header = (
        f"HEADER;\nFILE_DESCRIPTION(({title},{revision}),'2;1');\n"
        f"FILE_NAME({name},'{TIME_STAMP}',(''),(''),'platekit','platekit','');\n"
    )
    text = re.sub(r"HEADER;.*?(?=FILE_SCHEMA)", lambda _: header, text, count=1, flags=re.DOTALL)
    product = f"PRODUCT({name},{title},{revision},"
    text = re.sub(r"PRODUCT\('[^']*',\s*'[^']*',\s*'',", lambda _: product, text, count=1)
    data = text.encode("ascii")
    # Proved by reading the bytes back: a boolean cut can fail without an error, and what leaves the house is the file,
    # not the solid that was in memory. The volume is known in closed form, by no kernel at all.
    wanted = exact_volume(slices(layout))
    import cadquery as cq
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    if reader.ReadStream("plate", io.BytesIO(data)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise _unproved("it cannot be read back")
    reader.TransferRoots()
    found = cq.Shape.cast(reader.OneShape())
    if len(found.Solids()) != 1 or not found.isValid():
        raise _unproved(f"it holds {len(found.Solids())} solids, or one that does not close")
    volume = found.Volume()
    if not abs(volume - wanted) <= VOLUME * wanted:
        raise _unproved(f"its volume is {volume:.4f} mm3, not {wanted:.4f}")
    return data


def exact_volume(plate: Iterable[Slice]) -> float:
    """Volume of the plate in mm3 by closed forms: the exact area of each slice along its height."""
    return math.fsum(one.volume for one in plate)


# --------------------------------------------------------------------------------------- the solid


def _solid(layout: Layout) -> cq.Shape:
    """The plate with its through openings, then recesses and heads' seats cut from the face they start at."""
    through = [opening.shape for opening in layout.openings if opening.through]
    outline, openings = one_piece(layout.outline, through, "the solid")
    low, high = layout.plate_z
    plate: cq.Shape = _prism(outline, [one.shape for one in openings], low, high)
    cutters: list[cq.Shape] = []
    for recess in layout.openings:
        if not recess.through:
            cutters.append(_straight(recess.shape, *z_range(recess, layout.thickness), layout))
    for seat in seats(layout).values():
        if not seat.tapers:
            cutters.append(_straight(seat.mouth, seat.solid.low, seat.solid.high, layout))
        elif not isinstance(seat.solid.shape, CurvedSlot):
            cutters.append(_cone(seat))
    # Recesses and seats start outside the face they open to (`OVERSHOOT`): two faces in one plane are what the kernel's
    # boolean cut is least sure of
    plate = plate.cut(*cutters) if cutters else plate
    for seat in seats(layout).values():
        if seat.tapers and isinstance(seat.solid.shape, CurvedSlot):
            # one after the other: the kernel fails now and then on faces that touch within one cut
            for cutter in _bent_groove(seat, seat.solid.shape):
                plate = plate.cut(cutter)
    return plate


def _straight(shape: Shape, start: float, end: float, layout: Layout) -> cq.Solid:
    """What a recess or counterbore takes out, standing out of each face that it opens to."""
    low, high = layout.plate_z
    return _prism(shape, (), start - OVERSHOOT * (start <= low), end + OVERSHOOT * (end >= high))


class _Taper(Struct, frozen=True):
    """A countersink's cutter: from `start`, which is out of the face, `height` down or up to inside the hole, mm.

    So the edge where the cone meets the hole's wall is where two sides cross, and lies on no end of either. `widest`
    and `narrowest` say how far it stands out from the hole's edge at its ends.
    """

    start: float
    height: float
    down: float
    widest: float
    narrowest: float
    angle: float

    @classmethod
    def of(cls, seat: HeadSeat) -> _Taper:
        """The cutter of a seat that tapers."""
        solid, size = seat.solid, seat.solid.shape.box
        down = -1.0 if seat.side == "near" else 1.0
        face, floor = (solid.high, solid.low) if seat.side == "near" else (solid.low, solid.high)
        wide, narrow = solid.flare(face), solid.flare(floor)
        slope = (wide - narrow) / seat.depth
        deeper = min(OVERSHOOT, min(size.width, size.height) / 4 / slope)
        height = OVERSHOOT + seat.depth + deeper
        widest = wide + slope * OVERSHOOT
        return cls(face - down * OVERSHOOT, height, down, widest, widest - slope * height, math.atan(slope))


def _cone(seat: HeadSeat) -> cq.Solid:
    """The cutter of a countersink in a round hole or along a slot."""
    import cadquery as cq

    taper, shape = _Taper.of(seat), seat.solid.shape
    if isinstance(shape, Disc):
        return _round_cone(taper, shape.center, shape.radius)
    outer = _wire(shape.grown(taper.widest), taper.start)
    along = cq.Vector(0, 0, taper.down * taper.height)
    return cq.Solid.extrudeLinear(outer, [], along, taper=math.degrees(taper.angle))


def _round_cone(taper: _Taper, center: Point, radius: float) -> cq.Solid:
    import cadquery as cq

    at, along = cq.Vector(*center, taper.start), cq.Vector(0, 0, taper.down)
    return cq.Solid.makeCone(radius + taper.widest, radius + taper.narrowest, taper.height, at, along)


def _bent_groove(seat: HeadSeat, shape: CurvedSlot) -> Iterable[cq.Solid]:
    """The cutters of a countersink that swings: the groove turned about the pivot, and a cone at each end."""
    import cadquery as cq

    taper, middle = _Taper.of(seat), shape.mid_radius
    wide, narrow = shape.radius + taper.widest, shape.radius + taper.narrowest
    end = taper.start + taper.down * taper.height
    corners = [
        (middle - wide, taper.start),
        (middle + wide, taper.start),
        (middle + narrow, end),
        (middle - narrow, end),
    ]
    section = cq.Wire.makePolygon([cq.Vector(x, 0, z) for x, z in corners], close=True)
    axis = cq.Vector(0, 0, 0), cq.Vector(0, 0, 1)
    groove = cq.Solid.revolve(section, [], math.degrees(shape.sweep), *axis)
    yield groove.rotate(*axis, math.degrees(shape.start)).translate(cq.Vector(*shape.center, 0))
    for center in shape.ends:
        yield _round_cone(taper, center, shape.radius)


def _prism(outer: Shape, inner: Iterable[Shape], low: float, high: float) -> cq.Solid:
    """A flat figure made thick, from z = `high` down to z = `low`."""
    import cadquery as cq

    down = cq.Vector(0, 0, low - high)
    return cq.Solid.extrudeLinear(_wire(outer, high), [_wire(shape, high) for shape in inner], down)


def _wire(shape: Shape, z: float) -> cq.Wire:
    import cadquery as cq

    known = simplest(shape)
    if isinstance(known, Disc):
        x, y = known.center
        return cq.Wire.assembleEdges([cq.Edge.makeCircle(known.radius, cq.Vector(x, y, z))])

    def at(point: Point) -> cq.Vector:
        return cq.Vector(point[0], point[1], z)

    # Arcs through three points of theirs, not by centre and angles: so each edge ends just where the next begins
    made = [
        cq.Edge.makeLine(at(edge.a), at(edge.b))
        if isinstance(edge, Line)
        else cq.Edge.makeThreePointArc(at(edge.a), at(edge.at(0.5)), at(edge.b))
        for edge in edges_of(known.vertices)
    ]
    return cq.Wire.assembleEdges(made)


# ---------------------------------------------------------------------------------------- the file


def _written(solid: cq.Shape) -> str:
    """The solid as STEP text. Every setting that it depends on is made here: the kernel keeps them for all."""
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    writer = STEPControl_Writer()
    # settings of the kernel are global and last: all are set anew, whatever ran before in this process
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    Interface_Static.SetIVal_s("write.precision.mode", 0)
    stream = io.BytesIO()
    done = writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
    if done == IFSelect_ReturnStatus.IFSelect_RetDone:
        done = writer.WriteStream(stream)
    if done != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise OutputError("the solid was not written: its shape could not be put into a STEP file; please report this")
    return stream.getvalue().decode("ascii")


def _quoted(text: str) -> str:
    r"""The text as a string of ISO 10303-21: quotes and backslashes doubled, other signs as `\X2\00E9\X0\`.

    >>> _quoted("it's")
    "'it''s'"
    """
    said = ""
    for sign in text:
        if sign in "'\\":
            said += sign * 2
        elif " " <= sign <= "~":
            said += sign
        elif ord(sign) < 0x10000:
            said += f"\\X2\\{ord(sign):04X}\\X0\\"
        else:  # beyond four digits the standard wants eight
            said += f"\\X4\\{ord(sign):08X}\\X0\\"
    return f"'{said}'"


def _unproved(fault: str) -> OutputError:
    return OutputError(f"the solid did not pass its proof and was not written: {fault}; please report this")
