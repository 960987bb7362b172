"""What a job takes: everything to buy and to cut, counted once, from the layout alone.

Vocabulary
    piece      one kind of thing for one part of the job: so many screws of one size and length, one pulley, a sheet
    part       what of the job a piece is for: `plate`, a mount by its name, a belt by its name, `guard`
    open       what has to be settled before a piece can be bought or cut, because no figure at hand tells it

Exporters put these values into words and files; none of them counts screws by itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress
from typing import Literal

from msgspec import Struct

from platekit import tables
from platekit.cutting.estimate import blank_size
from platekit.errors import LookupFailed
from platekit.geometry import Lying, Upright
from platekit.laying.guard_parts import parts_of
from platekit.laying.layers import layer_parts
from platekit.laying.lugs import unfolded_length
from platekit.laying.shafts import key_on, on_the_axis
from platekit.placed import (
    SAME_LENGTH,
    Dowels,
    Guard,
    JackingScrew,
    Layer,
    Layout,
    PartDowels,
    PlacedBelt,
    PlacedCoupling,
    PlacedMount,
    PlacedPulley,
    ScrewStack,
    Spacer,
    Twisted,
)
from platekit.tables import belts
from platekit.tables.shop import shop_figure
from platekit.tables.torques import USUAL_CLASS

Get = Literal["buy", "cut"]
PieceKind = Literal[
    "sheet",
    "layer",
    "dowel",
    "spring pin",
    "guard sheet",
    "flat bar",
    "angle",
    "lug",
    "screw",
    "nut",
    "washer",
    "spacer",
    "rivet",
    "belt",
    "pulley",
    "idler",
    "key",
    "coupling",
]
Open = Literal["length", "stock length", "stock size", "bore", "key", "width", "size"]
"""What is not known of a piece; `stock length` and `stock size` say that no listed one does."""

PLATE, GUARD = "plate", "guard"
"""The parts of the job that are neither a mount nor a belt."""
SAME_BELT = 0.05
"""Belts whose pitch lengths differ by less are the same belt, mm (ours: tables print tenths)."""
SAME_PULLEY = 0.05
"""Pulleys whose pitch diameters differ by less are the same, mm (ours: tables print tenths)."""
RIVET_SIZE = 4.8
"""Blind rivets of a guard's band, mm (ours, the size whose hole `shop_figures.csv` lists)."""


class StockFit(Struct, frozen=True):
    """The stock lengths round what a screw would need, mm.

    `shorter` and `longer` are its neighbours in the list (of the ideal length where none is taken). `deeper` is the
    stock length that a deeper thread would let in where none fits now, and `depth` how deep, usable, that has to be.
    """

    shorter: float | None
    longer: float | None
    deeper: float | None = None
    depth: float | None = None


class Piece(Struct, frozen=True, kw_only=True):
    """So many alike of one thing for one part of the job. Lengths in mm, the mass of all of them in kg.

    `size` is what the trade calls it, as far as it has a name; `what` tells apart what has none: a kind of head, a
    material, a name of ours. `pieces` are the thicknesses that a spacer is packed of, `keyway` is width and depth of
    that in a hub, as the key of its shaft has it.
    """

    part: str
    get: Get
    kind: PieceKind
    count: int
    size: str = ""
    what: str = ""
    length: float | None = None
    width: float | None = None
    height: float | None = None
    thickness: float | None = None
    bore: float | None = None
    keyway: tuple[float, float] | None = None
    grooves: int = 0
    teeth: int = 0
    mass: float | None = None
    pieces: tuple[float, ...] = ()
    stock: StockFit | None = None
    open: tuple[Open, ...] = ()

    @property
    def alike(self) -> tuple[object, ...]:
        """What is the same of two pieces that go on one line of a shopping list: everything but what they are for."""
        # lengths that were worked out in different ways are the same to a thousandth
        sizes = (self.length, self.width, self.height, self.thickness, self.bore, *(self.keyway or ()), *self.pieces)
        said = (self.size, self.what, self.grooves, self.teeth, self.open)
        return (self.get, self.kind, *said, *(None if one is None else round(one, 3) for one in sizes))


class Line(Struct, frozen=True):
    """One line of the list: what to ask for, how many in all, and how many for each part of the job; mass in kg."""

    piece: Piece
    count: int
    by_part: tuple[tuple[str, int], ...]
    mass: float | None


class Total(Struct, frozen=True):
    """What one part of the job comes to: pieces to buy and to cut, mass of what is cut (kg), how many are open."""

    part: str
    bought: int
    cut: int
    mass: float
    open: int


def pieces_of(layout: Layout) -> tuple[Piece, ...]:
    """Everything that one machine takes, part by part in the order of the spec."""
    found: list[Piece] = list(_plate(layout))
    flats = layer_parts(layout)
    for mount in layout.mounts.values():
        if mount.layer is not None:
            found.append(_layer(mount, mount.layer, flats[mount.layer.part]))
            if mount.layer.dowels is not None:
                found.append(_dowels(mount.name, mount.layer.dowels))
        if mount.dowels is not None:
            found.append(_part_dowels(mount.name, mount.dowels))
        if mount.stack is not None:
            found += _fasteners(layout, mount, mount.stack)
        if mount.jack is not None:
            found += _jack(layout, mount.name, mount.jack)
    for belt in layout.belts:
        found += _drive(layout, belt)
    if layout.twisted is not None:
        found += _twisted(layout.twisted)
    for coupling in layout.couplings:
        found += _coupling(layout, coupling)
    for guard in layout.guards:
        found += _guard(layout, guard)
    return tuple(found)


def lines_of(layout: Layout) -> tuple[Line, ...]:
    """The list with what is alike on one line, in the order in which it is first met."""
    together: dict[tuple[object, ...], list[Piece]] = {}
    for piece in pieces_of(layout):
        together.setdefault(piece.alike, []).append(piece)
    lines = []
    for pieces in together.values():
        by_part: dict[str, int] = {}
        for piece in pieces:
            by_part[piece.part] = by_part.get(piece.part, 0) + piece.count
        masses = [piece.mass for piece in pieces if piece.mass is not None]
        mass = math.fsum(masses) if len(masses) == len(pieces) else None
        lines.append(Line(pieces[0], sum(by_part.values()), tuple(by_part.items()), mass))
    return tuple(lines)


def totals_of(layout: Layout) -> tuple[Total, ...]:
    """What each part of the job comes to, in the order of the list; masses in kg."""
    found: dict[str, Total] = {}
    for piece in pieces_of(layout):
        before = found.get(piece.part, Total(piece.part, 0, 0, 0.0, 0))
        cut = piece.get == "cut"
        found[piece.part] = Total(
            piece.part,
            before.bought + (0 if cut else piece.count),
            before.cut + (piece.count if cut else 0),
            before.mass + (piece.mass or 0.0) * cut,
            before.open + (len(piece.open) > 0),
        )
    return tuple(found.values())


# ------------------------------------------------------------------------------------------- steel


def _plate(layout: Layout) -> Iterator[Piece]:
    wide, high = blank_size(layout)
    yield Piece(
        part=PLATE,
        get="cut",
        kind="sheet",
        count=1,
        what=layout.material.name,
        size="" if layout.flange is None else f"{layout.flange.edge} edge bent",
        length=wide,
        width=high,
        thickness=layout.thickness,
        mass=layout.mass,
    )
    for rib in layout.ribs:
        long = math.dist(rib.start, rib.end)
        mass = long * rib.height * rib.width * layout.material.density * 1e-9
        yield Piece(
            part=PLATE,
            get="cut",
            kind="flat bar",
            count=1,
            what=layout.material.name,
            length=long,
            width=rib.height,
            thickness=rib.width,
            mass=mass,
        )


def _layer(mount: PlacedMount, layer: Layer, flat: Layout) -> Piece:
    """A layer as what it is cut from."""
    wide, high = blank_size(flat)
    return Piece(
        part=mount.name,
        get="cut",
        kind="layer",
        count=1,
        size=mount.name,
        what=layer.material.name,
        length=wide,
        width=high,
        thickness=layer.thickness,
        mass=flat.mass,
    )


def _dowels(part: str, dowels: Dowels) -> Piece:
    """The dowel pins of a layer."""
    return Piece(
        part=part,
        get="buy",
        kind="dowel",
        count=dowels.count,
        length=dowels.length,
        width=dowels.size,
        what=dowels.source,
        open=("stock length",) if dowels.length is None else (),
    )


def _part_dowels(part: str, dowels: PartDowels) -> Piece:
    """The dowel pins between the plate and a part from elsewhere."""
    return Piece(
        part=part,
        get="buy",
        kind="spring pin" if dowels.pin == "spring" else "dowel",
        count=len(dowels.names),
        length=dowels.length,
        width=dowels.size,
        what=dowels.source,
        open=("length",) if dowels.length is None else (),
    )


# ------------------------------------------------------------------------------------------ screws


def _fasteners(layout: Layout, mount: PlacedMount, stack: ScrewStack) -> Iterator[Piece]:
    """The screws of a mount with nuts, washers and spacers."""
    screw = tables.screw(stack.size)
    if stack.into != "stud":  # studs that stay are bought by nobody
        yield Piece(
            part=mount.name,
            get="buy",
            kind="screw",
            count=stack.count,
            size=stack.size,
            what=f"{stack.head}, {USUAL_CLASS[screw.system]}",
            length=stack.length,
            stock=stock_fit(stack),
            open=("stock length",) if stack.length is None else (),
        )
    if stack.into in ("nut", "stud"):
        yield Piece(part=mount.name, get="buy", kind="nut", count=stack.count, size=stack.size)
    if stack.washers:
        thick = screw.washer_thickness
        if stack.washer_outer == screw.large_washer_outer:
            thick = screw.large_washer_thickness
        yield Piece(
            part=mount.name,
            get="buy",
            kind="washer",
            count=stack.count * stack.washers,
            size=stack.size,
            width=stack.washer_outer,
            thickness=thick,
        )
    if stack.spacer is not None:
        yield _spacer(mount.name, stack.size, stack.spacer)
    else:
        yield from _spacers(layout, mount.name, stack.size, stack.count, mount.spacing)


def _jack(layout: Layout, part: str, jack: JackingScrew) -> Iterator[Piece]:
    """The screw that tightens a belt, its lock nut, and the lug that it turns in."""
    made = USUAL_CLASS[tables.screw(jack.size).system]
    yield Piece(
        part=part,
        get="buy",
        kind="screw",
        count=1,
        size=jack.size,
        what=f"hex, {made}, jacking screw, threaded over {jack.thread:.1f} mm at least: a fully threaded one",
        length=jack.length,
    )
    yield Piece(part=part, get="buy", kind="nut", count=1, size=jack.size, what="lock nut of the jacking screw")
    thick, wide, high = jack.lug
    density, tapped = (
        layout.material.density * 1e-9,
        f"lug of the jacking screw: tapped through {jack.size} in its middle, ",
    )
    if jack.angle is None:
        yield Piece(
            part=part,
            get="cut",
            kind="flat bar",
            count=1,
            size=jack.size,
            what=f"{layout.material.name}, {tapped}{jack.above:.6g} mm above the end that is welded to the plate",
            length=high,
            width=wide,
            thickness=thick,
            mass=thick * wide * high * density,
        )
        return
    bent = jack.angle.k_factor is not None
    yield Piece(
        part=part,
        get="cut",
        kind="lug" if bent else "angle",
        count=1,
        size=jack.size,
        what=f"{layout.material.name}, {tapped}{jack.above:.6g} mm over the plate",
        length=unfolded_length(jack, jack.angle) if bent else wide,
        width=wide if bent else high,
        height=None if bent else jack.angle.foot,
        thickness=thick,
        mass=thick * wide * (unfolded_length(jack, jack.angle) if bent else high + jack.angle.foot - thick) * density,
    )


def _spacers(layout: Layout, part: str, size: str, count: int, high: float) -> Iterator[Piece]:
    """Spacers of a height (mm) round screws of a size; out of sold thicknesses where these add up to it."""
    if high <= SAME_LENGTH:
        return
    packed = tables.packing(high, layout.spec.unit)
    exact = abs(packed.height - high) <= SAME_LENGTH
    yield Piece(
        part=part,
        get="cut",
        kind="spacer",
        count=count,
        size=size,
        length=high,
        # no narrower than a washer, which a part's flange is made for
        width=tables.screw(size).washer_outer,
        bore=tables.screw(size).clearance.get("normal"),
        pieces=packed.pieces if exact and len(packed.pieces) > 1 else (),
    )


SAW = shop_figure("saw, width of its cut")
"""What a saw takes, mm (`shop_figures.csv`)."""
FACING = shop_figure("spacer, left on for facing")
"""What is left on a spacer for facing both its ends, mm (`shop_figures.csv`)."""


def _spacer(part: str, size: str, spacer: Spacer) -> Piece:
    """Spacers off tube or bar; `height` is how much of that they take, saw cuts and facing counted."""
    ring = math.pi / 4 * (spacer.outside**2 - spacer.bore**2)
    return Piece(
        part=part,
        get="cut",
        kind="spacer",
        count=spacer.count,
        size=size,
        what=f"{spacer.made}, {spacer.material.name}",
        length=spacer.length,
        width=spacer.outside,
        height=spacer.count * (spacer.length + FACING + SAW),
        bore=spacer.bore,
        mass=ring * spacer.length * spacer.count * spacer.material.density * 1e-9,
    )


def stock_fit(stack: ScrewStack) -> StockFit:
    """The stock lengths next to what is taken, and which depth of thread would let one in where none fits; mm.

    The shortest stock length that holds deep enough is the one asked about: the thread has to be as deep, usable, as
    that screw reaches past what it clamps.
    """
    ideal = stack.length if stack.length is not None else stack.grip + stack.needed
    shorter = max((one for one in stack.stock_lengths if one < ideal - SAME_LENGTH), default=None)
    longer = min((one for one in stack.stock_lengths if one > ideal + SAME_LENGTH), default=None)
    fits = stack.available is None or stack.into != "part"
    if fits or stack.length in stack.stock_lengths:
        return StockFit(shorter, longer)
    holds = (one for one in stack.stock_lengths if one - stack.grip >= stack.needed - SAME_LENGTH)
    deeper = min(holds, default=None)
    depth = None if deeper is None else round(deeper - stack.grip, 6)
    return StockFit(shorter, longer, deeper, depth)


# ------------------------------------------------------------------------------------------- drive


def _drive(layout: Layout, belt: PlacedBelt) -> Iterator[Piece]:
    """Motor, belt, pulleys and idlers."""
    request, result = belt.request, belt.result
    made = request.belt
    if made is None:
        yield Piece(part=belt.name, get="buy", kind="belt", count=1, length=result.belt_length, open=("size",))
    else:
        size = result.belt
        found: list[Open] = []
        # Of the belts in stock the very one that was laid out, if there is such; else what was asked for by its length
        pitch = result.belt_length if size is None else size.pitch_length
        stocked = next((one for one in result.stock if abs(one.pitch_length - pitch) <= SAME_BELT), None)
        label = made.section if size is None else size.label
        if stocked is not None:
            label = stocked.label
        else:
            found.append("stock size")
        kind = belts.section(made.section)
        wide = made.width or (0.0 if size is None else size.width)
        if kind.toothed and not wide:
            found.append("width")
        yield Piece(
            part=belt.name,
            get="buy",
            kind="belt",
            count=made.count,
            size=label,
            what=f"{made.section}, {made.ribs} ribs" if made.ribs else made.section,
            length=result.belt_length,
            width=wide or None,
            open=tuple(found),
        )
    for pulley in (belt.driver, belt.driven):
        yield _pulley(layout, belt, pulley)
        yield from _key(layout, belt.name, pulley.mount)
    for idler in belt.idlers:
        wide = idler.z[1] - idler.z[0]
        yield Piece(
            part=belt.name,
            get="buy",
            kind="idler",
            count=1,
            size=idler.end,
            what="inside the belt" if idler.inside else "on its back",
            height=idler.largest_diameter,
            width=wide,
            # it turns on its screw, which is as thick as its bore
            bore=None if idler.screw is None else tables.screw(idler.screw).diameter,
            open=("bore",) if idler.screw is None else (),
        )
        if idler.screw is not None:
            # how long the screw is depends on the idler's bearing and on what stands between it and the plate
            yield Piece(
                part=belt.name, get="buy", kind="screw", count=1, size=idler.screw, what="hex", open=("length",)
            )
            yield Piece(part=belt.name, get="buy", kind="nut", count=1, size=idler.screw)


def _twisted(belt: Twisted) -> Iterator[Piece]:
    """A belt over crossed shafts, of which no length is worked out, and its pulleys as far as they are told."""
    yield Piece(part=belt.name, get="buy", kind="belt", count=1, what=belt.section, open=("length",))
    for mount, pulley in zip((belt.driver, belt.driven), belt.pulleys or (None, None), strict=True):
        yield Piece(
            part=belt.name,
            get="buy",
            kind="pulley",
            count=1,
            what=f"{belt.section}, on {mount}" if belt.section else f"on {mount}",
            height=None if pulley is None else 2 * pulley.radius,
            width=None if pulley is None else pulley.span[1] - pulley.span[0],
            open=("bore", "key"),
        )


def _pulley(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley) -> Piece:
    """A pulley by what it is sold by: section, diameter or teeth, grooves; its bore is its shaft's diameter."""
    made, end = belt.request.belt, belt.driver is pulley
    teeth = belt.result.driver_teeth if end else belt.result.driven_teeth
    material = (belt.request.driver if end else belt.request.driven).material
    found: list[Open] = []
    label, grooves = "", 0
    if made is not None:
        kind = belts.section(made.section)
        grooves = 0 if kind.toothed else made.ribs or made.count
        with suppress(LookupFailed):
            stocked = next(
                (
                    one
                    for one in belts.stock_pulleys(made.section)
                    if abs(one.pitch_diameter - pulley.pitch_diameter) <= SAME_PULLEY
                ),
                None,
            )
            label = "" if stocked is None else stocked.label
        if not label:
            found.append("stock size")
    bore = bore_of(layout, pulley)
    found += ["bore"] if bore is None else []
    # the key of a standard part's shaft is listed; of any other only the shaft itself tells whether it has one
    seat = key_on(layout, pulley.mount)
    found += ["key"] if seat is None else []
    return Piece(
        part=belt.name,
        get="buy",
        kind="pulley",
        count=1,
        size=label,
        what=f"{'' if made is None else f'{made.section}, '}{material}, on {pulley.mount}",
        height=pulley.pitch_diameter,
        width=pulley.z[1] - pulley.z[0],
        bore=bore,
        keyway=None if seat is None else (seat.width, seat.hub_depth),
        grooves=grooves,
        teeth=teeth,
        open=tuple(found),
    )


def bore_of(layout: Layout, pulley: PlacedPulley) -> float | None:
    """The diameter of the shaft that goes through a pulley's rim, mm; None where no body or standard tells it."""
    for body in layout.bodies:
        # a key stands out of its shaft, and is not what the hub is bored for
        if body.kind == "pulley" or body.name.endswith(".key") or not on_the_axis(body, pulley):
            continue
        for solid in body.solids:
            if isinstance(solid, Lying):
                return 2 * solid.radius
            # of a stepped shaft the step that is in the rim counts
            if isinstance(solid, Upright) and min(solid.high, pulley.z[1]) - max(solid.low, pulley.z[0]) > SAME_LENGTH:
                return solid.silhouette.box.width
    standard = None if pulley.mount not in layout.mounts else layout.mounts[pulley.mount].standard
    return None if standard is None or pulley.axis is None else standard.shaft


def _key(layout: Layout, part: str, mount: str) -> Iterator[Piece]:
    seat = key_on(layout, mount)
    if seat is not None:
        unknown: tuple[Open, ...] = ("length",) if seat.length is None else ()
        yield Piece(
            part=part,
            get="buy",
            kind="key",
            count=1,
            what=f"on {mount}",
            length=seat.length,
            width=seat.width,
            height=seat.height,
            open=unknown,
        )


def _coupling(layout: Layout, coupling: PlacedCoupling) -> Iterator[Piece]:
    """A coupling by its size, with the bores of both its hubs where their shafts are told, and the keys in them."""
    ends = [shaft.mount for shaft in coupling.shafts]
    bores = [_shaft_of(layout, mount) for mount in ends]
    known = [f"{mount}: bore {bore:.6g} mm" for mount, bore in zip(ends, bores, strict=True) if bore is not None]
    unknown: list[Open] = ["bore"] if None in bores else []
    unknown += ["key"] if any(key_on(layout, mount) is None for mount in ends) else []
    yield Piece(
        part=coupling.name,
        get="buy",
        kind="coupling",
        count=1,
        what=", ".join(known) or f"{ends[0]} to {ends[1]}",
        size="" if coupling.stock is None else coupling.stock[0],
        length=coupling.length,
        height=coupling.diameter,
        open=tuple(unknown),
    )
    for mount in ends:
        yield from _key(layout, coupling.name, mount)


def _shaft_of(layout: Layout, mount: str) -> float | None:
    """The diameter of a mount's own shaft (mm): as a standard or the spec tells it; None where neither does."""
    for body in layout.bodies:
        if body.name == f"{mount}.shaft":
            solid = body.solids[0]
            return 2 * solid.radius if isinstance(solid, Lying) else body.shape.box.width
    placed = layout.mounts.get(mount)
    return None if placed is None or placed.standard is None else placed.standard.shaft


# ------------------------------------------------------------------------------------------- guard


def _guard(layout: Layout, guard: Guard) -> Iterator[Piece]:
    """Its sheet, part by part, and what holds it together."""
    rivets = 0
    for name, flat in parts_of(layout, guard).items():
        count = flat.cutting.copies // max(layout.cutting.copies, 1)
        wide, high = blank_size(flat)
        yield Piece(
            part=guard.name,
            get="cut",
            kind="guard sheet",
            count=count,
            size=name,
            what=guard.material.name,
            length=wide,
            width=high,
            thickness=guard.thickness,
            mass=flat.mass * count,
        )
        # A rivet of the band goes through both of its lapped ends, one of a joining strip through strip and back plate,
        # whose holes are not counted again.
        holes = [one.of_guard for one in flat.openings]
        joint = flat.flat is not None and flat.flat.kind == "joint"
        rivets += count * (holes.count("lap") // 2 + (holes.count("rivet") if joint else 0))
    if rivets:
        yield Piece(part=guard.name, get="buy", kind="rivet", count=rivets, height=RIVET_SIZE)
    cover = "hex captive" if guard.captive else "hex"
    of_cover = (cover, guard.cover_screw, guard.cover_length, len(guard.cover_holes))
    # what carries a guard on the machine has holes of its own, and nobody here knows how deep
    on_machine = guard.on == "machine"
    of_ears = ("hex", guard.screw, None if on_machine else guard.length, len(guard.fixed_at))
    for (what, size, length, count), nuts in ((of_ears, not on_machine), (of_cover, True)):
        unknown: tuple[Open, ...] = ("size",) if size is None else ("length",) if length is None else ()
        made = what if size is None else f"{what}, {USUAL_CLASS[tables.screw(size).system]}"
        yield Piece(
            part=guard.name,
            get="buy",
            kind="screw",
            count=count,
            size=size or "",
            what=made,
            length=length,
            open=unknown,
        )
        if what.endswith("captive"):
            yield Piece(part=guard.name, get="buy", kind="washer", count=count, size=size or "", what="retaining")
        if size is not None and nuts:
            yield Piece(part=guard.name, get="buy", kind="nut", count=count, size=size)
    if guard.screw is not None and not on_machine:
        yield from _spacers(layout, guard.name, guard.screw, len(guard.fixed_at), guard.off_plate)
