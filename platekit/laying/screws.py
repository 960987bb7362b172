"""The screws of a mount: what they clamp, which stock length holds deep enough, and the space that they take up."""

from __future__ import annotations

from msgspec import Struct

from platekit import tables
from platekit.errors import Problem, SpecError
from platekit.geometry import Disc, Point, sweep
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import sunk
from platekit.laying.spacers import spacer_of
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Body, BodyKind, PlateLimits, ScrewStack, Side
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.screw_words import ScrewWords
from platekit.units import show_length

ENGAGEMENT_IN_STANDARD_PART = 1.0
"""Thread engagement wanted, in screw diameters, in a thread whose depth a standard fixes (common practice)."""
LIGHT_METAL_DENSITY = 4000.0
"""Below this density (kg/m3) a plate of the user's own material is taken for aluminium, above for steel (ours)."""
THREADS_PAST_THE_NUT = 1.0
"""Pitches that a screw stands out of its nut (common practice: at least one full thread)."""
THREADS_PAST_AN_OLD_STUD = 2.0
"""Pitches that a stud stands out of its nut (common practice: its first thread is chamfered, an old one worn)."""
THICK_PIN = 1.25
"""A pin thicker than so many clearance holes of the screw was in no hole for that screw (ours)."""
ROUND_A_HEAD = 1.0
"""A counterbore is this much larger in diameter than the head or washer in it, mm (common practice)."""


class HoleWanted(Struct, frozen=True):
    """The plate's hole for a screw: diameter (mm), and the thread if it is tapped."""

    diameter: float
    thread: str | None = None


class Fastener(Struct, frozen=True):
    """A screw with just the parts that its mount asks for, mm; what is not asked for is 0."""

    size: str
    diameter: float
    pitch: float
    clearance: float
    tap_drill: float
    head_diameter: float
    head_height: float
    washer_outer: float
    washer_thickness: float
    nut_diameter: float
    nut_height: float
    stock_lengths: tuple[float, ...]

    def stock_length(self, grip: float, needed: float, available: float | None) -> float | None:
        """The shortest stock length whose thread past the grip is between what is needed and what is there, all mm.

        The shortest, since a longer one costs more, stands out farther, and bottoms sooner. None where none will do.
        """
        deepest = float("inf") if available is None else available
        for length in self.stock_lengths:
            if needed - SAME_LENGTH <= length - grip <= deepest + SAME_LENGTH:
                return length
        return None


def fastener_of(spec: Spec, frame: MountFrame) -> Fastener | None:
    """The mount's screw, head, washer and nut from the tables; None for a mount without screws.

    Raises `SpecError` for a part that no table lists in that size.
    """
    screws = frame.mount.screws
    if screws is None:
        return None
    size = screws.size or (frame.standard.screw if frame.standard else None)
    if size is None:
        wanted = "name the screw's size, such as M8 or 3/8-16; the pattern does not bring one"
        raise SpecError((spec.problem(f"{frame.field}.screws.size", "nothing", wanted),))
    screw = tables.screw(size)
    # All that is missing is told at once: a shop that has to choose another size wants to know of every part.
    listed = _Listed(spec, f"{frame.field}.screws", screw.size)
    washer, tapped = screws.washer, screws.into == "plate"
    # on a stud that stays a nut takes the place of the head, and no head is asked for
    stud = screws.into == "stud"
    nut = screws.into == "nut" or stud
    fastener = Fastener(
        size=screw.size,
        diameter=screw.diameter,
        pitch=screw.pitch,
        clearance=listed.figure("fit", "clearance hole", screw.clearance.get(screws.fit)),
        tap_drill=listed.figure("into", "tap drill", screw.tap_drill, tapped),
        head_diameter=listed.figure(
            "head", f"{screws.head} head", getattr(screw, f"{screws.head}_{_ACROSS[screws.head]}"), not stud
        ),
        head_height=listed.figure(
            "head", f"{screws.head} head", getattr(screw, f"{screws.head}_head_height"), not stud
        ),
        washer_outer=listed.figure("washer", "washer", screw.washer_outer, washer),
        washer_thickness=listed.figure("washer", "washer", screw.washer_thickness, washer),
        nut_diameter=listed.figure("into", "nut", screw.nut_across_corners, nut),
        nut_height=listed.figure("into", "nut", screw.nut_height, nut),
        stock_lengths=tuple(sorted(screw.stock_lengths)),
    )
    if listed.problems:
        raise SpecError(tuple(listed.problems))
    return fastener


_ACROSS = {"hex": "across_corners", "socket": "head_diameter", "countersunk": "head_diameter"}


def mouth_of(stack: ScrewStack) -> float | None:
    """Diameter of what is taken out of the plate's face for each head of a stack, mm; None where heads stand on it."""
    if stack.into == "plate":
        return None
    screw = tables.screw(stack.size)
    if stack.let_in:
        return max(screw.socket_head_diameter or 0.0, stack.washer_outer) + ROUND_A_HEAD
    return screw.countersunk_head_diameter if stack.head == "countersunk" else None


class _Listed:
    """Takes figures of one screw and keeps a problem, once a key, for what no table lists."""

    def __init__(self, spec: Spec, field: str, size: str) -> None:
        self.problems: list[Problem] = []
        self._spec, self._field, self._size = spec, field, size
        self._said: set[str] = set()

    def figure(self, key: str, what: str, value: float | None, asked: bool = True) -> float:
        """The value in mm, 0 if it is not asked for."""
        if not asked:
            return 0.0
        if value is not None:
            return value
        # A head has two figures, a washer too: the same thing that is missing is said once.
        if what not in self._said:
            self._said.add(what)
            wanted = f"the tables list no {what} for {self._size}; choose another {key} or size"
            self.problems.append(self._spec.problem(f"{self._field}.{key}", self._size, wanted))
        return 0.0


def hole_wanted(spec: Spec, frame: MountFrame, screw: Fastener | None) -> HoleWanted:
    """The hole in the plate: as given, or from the screw's size and fit; the tap drill where the plate is tapped."""
    screws = frame.mount.screws
    if screw is not None and screws is not None:
        if screws.into == "plate":
            problems: list[Problem] = []
            if frame.hole is not None:
                wanted = "leave `hole` out: a tapped hole is drilled for its thread"
                problems.append(spec.problem(f"{frame.field}.pattern", f"a hole of {frame.hole:g} mm", wanted))
            if frame.hole_travel is not None:
                wanted = "a slot cannot be tapped; use `into: nut` or leave take_up out"
                problems.append(spec.problem(f"{frame.field}.take_up", "travel with `into: plate`", wanted))
            if problems:
                raise SpecError(tuple(problems))
            return HoleWanted(screw.tap_drill, screw.size)
        return HoleWanted(frame.hole or screw.clearance)
    if frame.hole is None:
        wanted = "add screws with a size, or give the pattern a hole diameter"
        raise SpecError((spec.problem(frame.field, "neither screws nor a hole size", wanted),))
    return HoleWanted(frame.hole)


def stack_of(spec: Spec, frame: MountFrame, screw: Fastener, material: tables.Material) -> ScrewStack:
    """What the mount's screws clamp and how long they are."""
    screws = frame.mount.screws
    assert screws is not None
    # A screw into the part has its head on the plate: what is clamped is the plate alone, without the part's flange.
    _pins_go_in(spec, frame, screw)
    stud = screws.into == "stud"
    if screws.into not in ("part", "stud") and screws.flange is None:
        what = "nut" if screws.into == "nut" else "head"
        wanted = f"give the thickness of the part's flange or foot under the {what}"
        raise SpecError((spec.problem(f"{frame.field}.screws.flange", "nothing", wanted),))
    stands = _standing_of(spec, frame, screws) if stud else None
    flange = screws.flange if screws.into != "part" and screws.flange is not None else 0.0
    if not screws.washer or (screws.head == "countersunk" and screws.into != "nut"):
        washers = 0
    else:
        under_head = 0 if screws.head == "countersunk" else 1
        washers = under_head + (1 if screws.into == "nut" else 0)
    plate = 0.0 if screws.into == "plate" else spec.model.plate.thickness
    deep = let_in(spec, frame, screw)
    # Between head and thread: a head that is let in is nearer to the thread, and a part that goes into the plate with
    # its pilot brings its face nearer, too.
    grip = plate - deep - sunk(frame) + frame.mount.standoff + flange + washers * screw.washer_thickness
    grip += under_heads(spec, frame.mount)
    needed, source = _needed(frame, screws, screw, material)
    # A nut takes what its height is and a thread that shows, a hole in the part its depth, the plate its thickness.
    if screws.into in ("nut", "stud"):
        available = None
    elif screws.into == "plate":
        available = spec.model.plate.thickness
    elif screws.depth is not None:
        available = screws.depth
    else:
        available = frame.standard.thread_depth if frame.standard else None
    length = stands or screws.length or screw.stock_length(grip, needed, available)
    is_open = screws.into == "plate" or (screws.into == "part" and frame.mount.layer is not None)
    if length is None and is_open:  # its thread is open: a screw may stand out on the other side
        length = screw.stock_length(grip, needed, None)
    # What of the screw is past the clamped parts is in the thread, or through it.
    reach = 0.0 if length is None else length - grip
    return ScrewStack(
        mount=frame.name,
        size=screw.size,
        count=len(frame.own_points),
        head=screws.head,
        into=screws.into,
        washers=washers,
        grip=grip,
        length=length,
        given=stud or screws.length is not None,
        engagement=max(0.0, min(reach, available) if available is not None else reach),
        needed=needed,
        needed_source=source,
        available=available,
        stock_lengths=() if stud else screw.stock_lengths,
        head_side=head_side(frame.mount),
        head_height=screw.nut_height if stud else screw.head_height,
        washer_outer=screw.washer_outer,
        field=f"{frame.field}.screws",
        let_in=deep,
        flange=flange,
        thread_in=screws.thread_in,
        made=screws.made,
        open_thread=is_open,
        spacer=spacer_of(spec, frame, screw.size, len(frame.own_points), material),
        held_in=_held_in(frame, screws, material),
    )


def _pins_go_in(spec: Spec, frame: MountFrame, screw: Fastener) -> None:
    """Nothing; `SpecError` for a pin too thick for the hole that it was put into, most likely a shaft; mm."""
    measured = frame.mount.pattern.measured
    for name, hole in {} if measured is None else measured.holes.items():
        if hole.kind == "pin" and (hole.diameter or 0.0) > THICK_PIN * screw.clearance:
            found = f"a pin of {show_length(hole.diameter or 0.0, spec.unit)} in a hole for {screw.size}"
            wanted = "a pin is put into a screw hole to measure by; a shaft that sticks out is `kind: shaft`"
            raise SpecError((spec.problem(f"{frame.field}.pattern.measured.holes.{name}.kind", found, wanted),))


def _standing_of(spec: Spec, frame: MountFrame, screws: ScrewWords) -> float:
    """How far the studs of a mount stand out of its mating face, mm: as said, else the shortest of those measured."""
    measured = frame.mount.pattern.measured
    holes = () if measured is None else [measured.holes[name] for name in measured.screw_holes]
    each = [hole.stands for hole in holes if hole.stands is not None]
    if screws.stands is not None:
        return screws.stands
    if each and len(each) == len(holes):
        return min(each)
    wanted = "measure how far the shortest stud stands out of the part's mating face, and give it"
    raise SpecError((spec.problem(f"{frame.field}.screws.stands", "nothing", wanted),))


def let_in(spec: Spec, frame: MountFrame, screw: Fastener) -> float:
    """How deep the head, with a washer under it, is let into the plate until it is flush, mm; 0 if it is not."""
    screws = frame.mount.screws
    if screws is None or not screws.counterbore:
        return 0.0
    if screws.head != "socket" or screws.into == "plate":
        found = f"a {screws.head} head" if screws.head != "socket" else "`into: plate`, with the head on the part"
        wanted = "leave counterbore out, or use head: socket with the thread in the part or a nut"
        raise SpecError((spec.problem(f"{frame.field}.screws.counterbore", found, wanted),))
    return screw.head_height + screw.washer_thickness


def under_heads(spec: Spec, mount: words.MountWords) -> float:
    """How thick the layer is that the heads of a mount stand on, mm; 0 where they stand on the plate."""
    if mount.heads_on is None:
        return 0.0
    layer = spec.model.mounts[mount.heads_on].layer
    return 0.0 if layer is None else layer.thickness


def head_side(mount: words.MountWords) -> Side:
    """The side of the plate that the heads are on: the free side, unless the plate itself holds the thread."""
    assert mount.screws is not None
    if mount.screws.into == "plate":
        return mount.side
    return "far" if mount.side == "near" else "near"


def _held_in(frame: MountFrame, screws: ScrewWords, material: tables.Material) -> str:
    """What a screw's thread is counted as being cut in; nothing for a nut's."""
    if screws.into in ("nut", "stud"):
        return ""
    if screws.into == "plate":
        return material.family or ("aluminium" if material.density < LIGHT_METAL_DENSITY else "steel")
    return screws.thread_in or ("cast iron" if frame.standard is None else "aluminium")


def _needed(frame: MountFrame, screws: ScrewWords, screw: Fastener, material: tables.Material) -> tuple[float, str]:
    if screws.into == "nut":
        needed = screw.nut_height + THREADS_PAST_THE_NUT * screw.pitch
        return needed, "nut height and one thread, common practice"
    if screws.into == "stud":
        needed = screw.nut_height + THREADS_PAST_AN_OLD_STUD * screw.pitch
        return needed, "nut height and two threads, common practice"
    # A standard says where its holes are but seldom what they are tapped in: without a depth of its own it may be a
    # shield of aluminium, which needs the longer engagement.
    if screws.into == "part" and screws.thread_in is None and frame.standard is not None:
        if frame.standard.thread_depth is None:
            found = tables.engagement("aluminium")
            return found.diameters * screw.diameter, (
                f"{found.diameters:g} diameters, as its shield may be aluminium where thread_in is not given, "
                f"{found.source.kind}"
            )
        factor = ENGAGEMENT_IN_STANDARD_PART
        return factor * screw.diameter, f"{factor:g} diameter in a standard part, common practice"
    # Old machines are cast iron unless the spec says better.
    held_in = _held_in(frame, screws, material)
    found = tables.engagement(held_in)
    many = "diameter" if found.diameters == 1.0 else "diameters"
    return found.diameters * screw.diameter, f"{found.diameters:g} {many} in {held_in}, {found.source.kind}"


# --------------------------------------------------------------------------------------------- bodies


class ScrewPiece(Struct, frozen=True):
    """What lies round the axis of each screw of a mount: how far off the plate's face on its side, and how high, mm."""

    name: str
    kind: BodyKind
    diameter: float
    side: Side
    from_plate: float
    height: float

    def at(self, spec: Spec, frame: MountFrame, hole: str, point: Point, gap: float) -> Body:
        """The piece of the screw in one hole, moving with the screws of its mount; `gap` in mm."""
        shape = Disc(point, self.diameter / 2)
        span = (self.from_plate, self.from_plate + self.height)
        return Body(
            name=f"{hole}.{self.name}",
            kind=self.kind,
            carrier=frame.name,
            side=self.side,
            shape=shape,
            swept=sweep(shape, frame.hole_travel),
            z=z_range(self.side, span, spec.model.plate.thickness),
            gap=gap,
            relief=False,
            field=f"{frame.field}.screws",
            travel=frame.hole_travel,
            screw=hole,
        )


def hardware(
    spec: Spec, frame: MountFrame, screw: Fastener, stack: ScrewStack, limits: PlateLimits
) -> tuple[Body, ...]:
    """Heads, washers, nuts and standing-out screw ends of one mount, as bodies that move with it (plate frame, mm)."""
    screws = frame.mount.screws
    assert screws is not None
    part_side: Side = frame.mount.side
    part_face = frame.mount.standoff + (screws.flange or 0.0) - sunk(frame)
    # A screw into the plate is put in from the part's side: its head lies on the flange. Any other comes through the
    # plate, and its head lies on the plate's own face.
    washer = screw.washer_thickness
    head_seat = part_face if screws.into == "plate" else under_heads(spec, frame.mount)
    pieces = []
    if screws.into == "stud":
        # The stud is there before the plate, which goes over it: a nut where else the head is, and what stands past it.
        if washer:
            pieces.append(ScrewPiece("washer", "washer", screw.washer_outer, stack.head_side, head_seat, washer))
        seat = head_seat + washer
        pieces.append(ScrewPiece("nut", "nut", screw.nut_diameter, stack.head_side, seat, screw.nut_height))
        past = (stack.length or 0.0) - stack.grip - screw.nut_height
        if past > 0:
            end = ScrewPiece("stud end", "tip", screw.diameter, stack.head_side, seat + screw.nut_height, past)
            pieces.append(end)
    elif screws.head != "countersunk" and not screws.counterbore:
        if washer:
            pieces.append(ScrewPiece("washer", "washer", screw.washer_outer, stack.head_side, head_seat, washer))
        pieces.append(
            ScrewPiece("head", "head", screw.head_diameter, stack.head_side, head_seat + washer, screw.head_height)
        )
    if screws.into == "nut":
        if washer:
            pieces.append(ScrewPiece("nut washer", "washer", screw.washer_outer, part_side, part_face, washer))
        seat = part_face + washer
        pieces.append(ScrewPiece("nut", "nut", screw.nut_diameter, part_side, seat, screw.nut_height))
    if frame.mount.standoff > 0:
        # as far as the face that it goes into, which a pilot that carries the screws brings nearer
        high = frame.mount.standoff - sunk(frame)
        if high > 0:
            pieces.append(ScrewPiece("shank", "shank", screw.diameter, part_side, 0.0, high))
        if stack.spacer is not None:
            across = stack.spacer.outside
            foot = spec.lifts.get(frame.name, 0.0)
            pieces.append(ScrewPiece("spacer", "spacer", across, part_side, foot, frame.mount.standoff - foot))
    if head_seat and screws.into != "plate":
        pieces.append(ScrewPiece("neck", "shank", screw.diameter, stack.head_side, 0.0, head_seat))
    # The screw's end, where it stands out of a nut or of the tapped plate.
    if stack.length is not None and (stack.open_thread or stack.into not in ("part", "stud")):
        reach = stack.length - stack.grip
        if frame.mount.layer is not None and stack.into == "part":
            side, start, out = part_side, frame.mount.layer.thickness, reach - frame.mount.layer.thickness
        elif stack.into == "nut":
            # Threads in a nut are counted from its seat: what is left over its height stands out.
            side, start, out = part_side, part_face + washer + screw.nut_height, reach - screw.nut_height
        else:
            side = "far" if part_side == "near" else "near"
            start, out = 0.0, reach - spec.model.plate.thickness
        if out > 0:
            pieces.append(ScrewPiece("screw end", "tip", screw.diameter, side, start, out))
    return tuple(
        piece.at(spec, frame, name, point, limits.gap.value)
        for name, point in zip(frame.hole_names, frame.points, strict=True)
        for piece in pieces
    )
