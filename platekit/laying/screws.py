"""The screws of a mount: what they clamp, which stock length holds deep enough, and the space that they take up."""

from __future__ import annotations

from dataclasses import dataclass

from platekit import tables
from platekit.errors import Problem, SpecError
from platekit.geometry import Disc, Point, sweep
from platekit.laying.mounts import Frame
from platekit.laying.spans import z_range
from platekit.placed import Body, BodyKind, Limits, ScrewStack, Side
from platekit.spec import Spec
from platekit.spec import models as words

ENGAGEMENT_IN_DIAMETERS = {"steel": 1.0, "cast iron": 1.5, "aluminium": 2.0}
"""Thread engagement wanted, in screw diameters, by what the thread is cut in (common practice)."""
ENGAGEMENT_IN_STANDARD_PART = 1.0
"""Thread engagement wanted, in screw diameters, in a thread whose depth a standard fixes (common practice)."""
LIGHT_METAL_DENSITY = 4000.0
"""Below this density (kg/m3) a tapped plate is taken for aluminium, above for steel (ours)."""
THREADS_PAST_THE_NUT = 1.0
"""Pitches that a screw stands out of its nut (common practice: at least one full thread)."""


@dataclass(frozen=True, slots=True)
class HoleWanted:
    """The plate's hole for a screw: diameter (mm), and the thread if it is tapped."""

    diameter: float
    thread: str | None = None


def screw_of(spec: Spec, frame: Frame) -> tables.Screw | None:
    """The mount's screw from the tables; None for a mount without screws."""
    bolts = frame.mount.bolts
    if bolts is None:
        return None
    size = bolts.size or (frame.standard.screw if frame.standard else None)
    if size is None:
        wanted = "name the screw's size, such as M8 or 3/8-16; the pattern does not bring one"
        raise SpecError((spec.problem(f"{frame.field}.bolts.size", "nothing", wanted),))
    return tables.screw(size)


def hole_wanted(spec: Spec, frame: Frame, screw: tables.Screw | None) -> HoleWanted:
    """The hole in the plate: as given, or from the screw's size and fit; the tap drill where the plate is tapped."""
    bolts = frame.mount.bolts
    if screw is not None and bolts is not None:
        if bolts.into == "plate":
            return _tapped(spec, frame, screw)
        return HoleWanted(frame.hole or screw.clearance[bolts.fit])
    if frame.hole is None:
        wanted = "add bolts with a size, or give the pattern a hole diameter"
        raise SpecError((spec.problem(frame.field, "neither bolts nor a hole size", wanted),))
    return HoleWanted(frame.hole)


def _tapped(spec: Spec, frame: Frame, screw: tables.Screw) -> HoleWanted:
    problems: list[Problem] = []
    if frame.hole is not None:
        wanted = "leave `hole` out: a tapped hole is drilled for its thread"
        problems.append(spec.problem(f"{frame.field}.pattern", f"a hole of {frame.hole:g} mm", wanted))
    if frame.travel is not None:
        wanted = "a slot cannot be tapped; use `into: nut` or leave take_up out"
        problems.append(spec.problem(f"{frame.field}.take_up", "travel with `into: plate`", wanted))
    if problems:
        raise SpecError(tuple(problems))
    return HoleWanted(screw.tap_drill, screw.size)


def stack_of(
    spec: Spec, frame: Frame, screw: tables.Screw, material: tables.Material
) -> ScrewStack:
    """What the mount's screws clamp and how long they are."""
    bolts = frame.mount.bolts
    assert bolts is not None
    flange = _flange(spec, frame, bolts)
    washers = _washers(bolts)
    plate = 0.0 if bolts.into == "plate" else spec.model.plate.thickness
    grip = plate + frame.mount.standoff + flange + washers * screw.washer_thickness
    needed, source = _needed(frame, bolts, screw, material)
    available = _available(spec, frame, bolts)
    length = bolts.length or _stock_length(screw, grip, needed, available)
    reach = 0.0 if length is None else length - grip
    return ScrewStack(
        mount=frame.name,
        size=screw.size,
        count=len(frame.own_points),
        head=bolts.head,
        into=bolts.into,
        washers=washers,
        grip=grip,
        length=length,
        given=bolts.length is not None,
        engagement=max(0.0, min(reach, available) if available is not None else reach),
        needed=needed,
        needed_source=source,
        available=available,
        stock_lengths=screw.stock_lengths,
        head_side=head_side(frame.mount),
        head_height=head_size(screw, bolts)[1],
        washer_outer=screw.washer_outer if bolts.washer else 0.0,
        field=f"{frame.field}.bolts",
    )


def head_side(mount: words.Mount) -> Side:
    """The side of the plate that the heads are on: the free side, unless the plate itself holds the thread."""
    assert mount.bolts is not None
    if mount.bolts.into == "plate":
        return mount.side
    return "far" if mount.side == "near" else "near"


def head_size(screw: tables.Screw, bolts: words.Bolts) -> tuple[float, float]:
    """Diameter of the space a head needs (across corners for hex) and its height, mm."""
    if bolts.head == "hex":
        return screw.hex_across_corners, screw.hex_head_height
    if bolts.head == "socket":
        return screw.socket_head_diameter, screw.socket_head_height
    return screw.countersunk_head_diameter, screw.countersunk_head_height


def _washers(bolts: words.Bolts) -> int:
    if not bolts.washer or (bolts.head == "countersunk" and bolts.into != "nut"):
        return 0
    under_head = 0 if bolts.head == "countersunk" else 1
    return under_head + (1 if bolts.into == "nut" else 0)


def _flange(spec: Spec, frame: Frame, bolts: words.Bolts) -> float:
    if bolts.into == "part":
        return 0.0
    if bolts.flange is None:
        what = "nut" if bolts.into == "nut" else "head"
        wanted = f"give the thickness of the part's flange or foot under the {what}"
        raise SpecError((spec.problem(f"{frame.field}.bolts.flange", "nothing", wanted),))
    return bolts.flange


def _needed(
    frame: Frame, bolts: words.Bolts, screw: tables.Screw, material: tables.Material
) -> tuple[float, str]:
    if bolts.into == "nut":
        needed = screw.nut_height + THREADS_PAST_THE_NUT * screw.pitch
        return needed, "nut height and one thread, common practice"
    if bolts.into == "part" and bolts.thread_in is None and frame.standard is not None:
        factor = ENGAGEMENT_IN_STANDARD_PART
        return factor * screw.diameter, f"{factor:g} diameter in a standard part, common practice"
    held_in = bolts.thread_in or "cast iron"
    if bolts.into == "plate":
        held_in = "aluminium" if material.density < LIGHT_METAL_DENSITY else "steel"
    factor = ENGAGEMENT_IN_DIAMETERS[held_in]
    return factor * screw.diameter, f"{factor:g} diameters in {held_in}, common practice"


def _available(spec: Spec, frame: Frame, bolts: words.Bolts) -> float | None:
    if bolts.into == "nut":
        return None
    if bolts.into == "plate":
        return spec.model.plate.thickness
    if bolts.depth is not None:
        return bolts.depth
    return frame.standard.thread_depth if frame.standard else None


def _stock_length(
    screw: tables.Screw, grip: float, needed: float, available: float | None
) -> float | None:
    deepest = float("inf") if available is None else available
    return next((l for l in sorted(screw.stock_lengths) if needed <= l - grip <= deepest), None)


# --------------------------------------------------------------------------------------------- bodies


def hardware(
    spec: Spec, frame: Frame, screw: tables.Screw, stack: ScrewStack, limits: Limits
) -> tuple[Body, ...]:
    """Heads, washers, nuts and standing-out screw ends of one mount, as bodies that move with it."""
    pieces = _pieces(spec, frame, screw, stack)
    return tuple(
        _piece_at(spec, frame, f"{frame.name}.{index}", point, piece, limits)
        for index, point in enumerate(frame.points, start=1)
        for piece in pieces
    )


@dataclass(frozen=True, slots=True)
class _Piece:
    name: str
    kind: BodyKind
    diameter: float
    side: Side
    from_plate: float
    height: float


def _pieces(
    spec: Spec, frame: Frame, screw: tables.Screw, stack: ScrewStack
) -> tuple[_Piece, ...]:
    bolts = frame.mount.bolts
    assert bolts is not None
    part_side: Side = frame.mount.side
    part_face = frame.mount.standoff + (bolts.flange or 0.0)
    washer = screw.washer_thickness if bolts.washer else 0.0
    head_seat = part_face if bolts.into == "plate" else 0.0
    pieces = []
    if bolts.head != "countersunk":
        diameter, height = head_size(screw, bolts)
        if washer:
            pieces.append(_Piece("washer", "washer", screw.washer_outer, stack.head_side, head_seat, washer))
        pieces.append(_Piece("head", "head", diameter, stack.head_side, head_seat + washer, height))
    if bolts.into == "nut":
        if washer:
            pieces.append(_Piece("nut washer", "washer", screw.washer_outer, part_side, part_face, washer))
        seat = part_face + washer
        pieces.append(_Piece("nut", "nut", screw.nut_across_corners, part_side, seat, screw.nut_height))
    pieces += _tip(spec, frame, screw, stack)
    return tuple(pieces)


def _tip(spec: Spec, frame: Frame, screw: tables.Screw, stack: ScrewStack) -> list[_Piece]:
    """The screw's end, where it stands out of a nut or of the tapped plate."""
    if stack.length is None or stack.into == "part":
        return []
    reach = stack.length - stack.grip
    if stack.into == "nut":
        washer = screw.washer_thickness if stack.washers else 0.0
        assert frame.mount.bolts is not None
        seat = frame.mount.standoff + (frame.mount.bolts.flange or 0.0)
        side: Side = frame.mount.side
        start, out = seat + washer + screw.nut_height, reach - screw.nut_height
    else:
        side = "far" if frame.mount.side == "near" else "near"
        start, out = 0.0, reach - spec.model.plate.thickness
    return [_Piece("tip", "tip", screw.diameter, side, start, out)] if out > 0 else []


def _piece_at(spec: Spec, frame: Frame, hole: str, point: Point, piece: _Piece, limits: Limits) -> Body:
    shape = Disc(point, piece.diameter / 2)
    span = (piece.from_plate, piece.from_plate + piece.height)
    return Body(
        name=f"{hole}.{piece.name}",
        kind=piece.kind,
        carrier=frame.name,
        side=piece.side,
        shape=shape,
        swept=sweep(shape, frame.travel),
        z=z_range(piece.side, span, spec.model.plate.thickness),
        gap=limits.gap.value,
        relief=False,
        field=f"{frame.field}.bolts",
        travel=frame.travel,
        screw=hole,
    )
