"""Rules on the screw that tightens a belt: that there is one, that it holds, and that spanners get at it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final

from platekit import tables
from platekit.analysis.assembly import TOOL_ROOM
from platekit.checks.advice import in_units, rounded_up, say
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.lugs import angle_lug
from platekit.checks.rule import Rule
from platekit.checks.stiffer import allowed_stress
from platekit.geometry import (
    EPS,
    Loop,
    Lying,
    Point,
    Pose,
    Shape,
    Solid,
    Straight,
    Upright,
    begin_between,
    distance,
    edge_distance,
    nearer_than,
    rectangle,
)
from platekit.laying.jacks import CLEAR, LUG_WIDE, lug_foot
from platekit.laying.tools import HANDLE_IN_FLATS, HANDLE_WIDTH_IN_FLATS, RING_IN_FLATS, SPANNER_HEIGHT_IN_FLATS, SWING
from platekit.laying.welded import weld_leg
from platekit.placed import SAME_LENGTH, Body, JackingScrew, Layout, PlacedMount
from platekit.tables.angles import angle_stock
from platekit.units import mm_per

ASIDE: Final = (0.0, 0.25, -0.25, 0.4, -0.4)
"""Where along the back of a part a tip may bear, in its widths from the middle (ours)."""
GRAVITY: Final = 9.80665
"""Standard acceleration of free fall, m/s2."""
HARD: Final = 2.0
"""A screw pushes with so many times the pull of the belt (ours): its part rubs under screws that are hand-tight, and
who turns it feels too late that the belt is tight."""
BESIDE: Final = 2 * TOOL_ROOM
"""Room between a spanner on the lock nut and the lug, mm (ours)."""
OFF: Final = 0.1
"""A tip is put so far off its part, mm (ours), that rounding never puts it, or the lug, too near."""
SIZES: Final = {"mm": ("M8", "M10", "M12", "M16"), "in": ("5/16-18", "3/8-16", "1/2-13", "5/8-11")}
"""Jacking screws that are tried where none is given, the smallest first (common practice)."""


def jack(layout: Layout) -> Iterator[Finding]:
    """Jacking screws with too little thread in their lug, a lug beside the steel, no way in for a spanner (mm)."""
    for mount in layout.mounts.values():
        screw = mount.jack
        if screw is None:
            continue
        thick = screw.lug[0]
        # A nut is as high as the thread of its screw needs to be stronger than the screw: so must the lug be.
        if thick < screw.nut - SAME_LENGTH:
            least = rounded_up(layout, screw.nut)
            if screw.angle is not None and screw.angle.stock:  # the next one that is sold
                known = angle_stock("metric" if layout.spec.unit == "mm" else "inch")
                sold = [one.thickness for one in known if one.thickness >= screw.nut - SAME_LENGTH]
                least = round(min(sold, default=screw.nut) / mm_per(layout.spec.unit), 6)
            nut = "weld a nut to it"
            yield Finding(
                rule="jack",
                level="warn",
                message=f"{mount.name}: the lug of its {screw.size} jacking screw is {say(layout, thick)} thick; its "
                f"thread wants {say(layout, screw.nut)}, the height of a nut",
                features=(mount.name,),
                at=screw.tip,
                found=thick,
                needed=screw.nut,
                field=f"{screw.field}.block",
                advice=Advice(
                    f"make the lug {least:g} {layout.spec.unit} thick (block: {least:g}), or {nut}",
                    (Remedy(f"{screw.field}.block", least),),
                )
                if _is_sold(layout, screw, least * mm_per(layout.spec.unit))
                else Advice(f"{nut}: no screw that is sold is long enough for a lug {say(layout, screw.nut)} thick"),
            )
        if screw.angle is None:
            yield from _lug_holds(layout, mount, screw)
        else:
            yield from angle_lug(layout, mount, screw, pushes(layout, mount))
        yield from _lug_on_steel(layout, mount, screw)
        yield from _on_the_weld(layout, mount, screw)
        yield from _spanners(layout, mount, screw)


def _is_sold(layout: Layout, screw: JackingScrew, thick: float) -> bool:
    """Whether a screw is sold that is long enough with a lug so thick (mm) and the weld that this takes."""
    more = thick - screw.lug[0]
    if screw.angle is None:
        more += weld_leg(layout.spec.unit, layout.thickness, thick) - screw.leg
    return screw.thread + more <= max(tables.screw(screw.size).stock_lengths)


def pushes(layout: Layout, mount: PlacedMount) -> float | None:
    """What the screw of a part pushes with, N; None where nothing tells how hard the belt pulls.

    So many times the pull of a new belt standing, and the part's weight on an upright plate, whichever way it travels:
    on the safe side.
    """
    pulls = [
        belt.result.forces.driver_new.size
        for belt in layout.belts
        if belt.adjusted == mount.name and belt.result.forces is not None
    ]
    if not pulls:
        return None
    hangs = mount.mass.most * GRAVITY if mount.mass is not None and layout.mounting == "upright" else 0.0
    return HARD * max(pulls) + hangs


def lug_stresses(layout: Layout, screw: JackingScrew, force: float, thick: float) -> tuple[float, float]:
    """The stress that a screw's force (N) makes at the foot of its lug, so thick (mm), and in its weld's throat, N/mm2.

    A flat bar on edge, held at its foot and pushed at the height of the axis (bending: M over b t2 / 6). The two welds
    along its faces take the moment as a couple, a bar's thickness apart, and share the push; the ends' are left out.
    """
    _, wide, _ = screw.lug
    moment = force * screw.above
    bent = moment / (wide * thick**2 / 6)
    throat = weld_leg(layout.spec.unit, layout.thickness, thick) / math.sqrt(2)
    return bent, math.hypot(moment / thick, force / 2) / (throat * wide)


def _lug_holds(layout: Layout, mount: PlacedMount, screw: JackingScrew) -> Iterator[Finding]:
    """A lug, or its weld, that the screw's own force bends beyond what it is allowed (N/mm2)."""
    force = pushes(layout, mount)
    if force is None:
        return
    allowed = allowed_stress(layout)
    limits = (allowed, allowed / math.sqrt(3))  # a weld's throat is held to shear (von Mises)

    def share(thick: float) -> tuple[float, int]:
        worst = [one / most for one, most in zip(lug_stresses(layout, screw, force, thick), limits, strict=True)]
        return max(worst), worst.index(max(worst))

    used, which = share(screw.lug[0])
    if used <= 1.0:
        return
    step = mm_per(layout.spec.unit) / (1 if layout.spec.unit == "mm" else 16)
    first = math.ceil(screw.lug[0] / step)
    thicker = (one * step for one in range(first, 4 * first))
    does = next((one for one in thicker if share(one)[0] <= 1.0 and _is_sold(layout, screw, one)), None)
    lower = Advice("let its tip bear lower on the part (height), nearer to the face of the plate")
    unit = layout.spec.unit
    ideas = [lower]
    if does is not None:
        block = rounded_up(layout, does)
        said = f"make the lug {block:g} {unit} thick (block: {block:g})"
        ideas.insert(0, Advice(said, (Remedy(f"{screw.field}.block", block),)))
    stress = lug_stresses(layout, screw, force, screw.lug[0])[which]
    what = ("the lug of its jacking screw is bent", "the weld of its jacking screw's lug is pulled")[which]
    yield Finding(
        rule="jack",
        level="warn",
        message=f"{mount.name}: {what} with {stress:.0f} N/mm2 by {force:.0f} N at {say(layout, screw.above)} over the "
        f"plate ({HARD:g} times the pull of a new belt, and its weight where that hangs on it); "
        f"{limits[which]:.0f} N/mm2 is allowed",
        features=(mount.name,),
        at=screw.tip,
        found=stress,
        needed=limits[which],
        unit="N/mm2",
        field=f"{screw.field}.block",
        advice=ideas[0],
        others=tuple(ideas[1:]),
    )


def _lug_on_steel(layout: Layout, mount: PlacedMount, screw: JackingScrew) -> Iterator[Finding]:
    """A lug that stands past the plate's edge or over an opening, its weld counted: that goes all round its foot."""
    foot = lug_foot(screw).grown(screw.leg) if screw.leg else lug_foot(screw)
    beyond = -edge_distance(foot, layout.plane).distance
    met = [("plate", "stands past the edge of the plate", beyond, foot.centroid)]
    own = None if screw.angle is None else screw.angle.mount
    for hole in layout.openings:
        if hole.mount == own and own is not None:
            continue  # its own screws go through its foot
        if hole.through or (hole.depth and hole.side == mount.side):
            said = f"stands over the opening {hole.name}"
            met.append((hole.name, said, -distance(foot, hole.shape).distance, hole.center))
    name, said, deep, at = max(met, key=lambda one: (round(one[2], 6), one[0]))
    if deep > SAME_LENGTH:
        weld, why = (
            f", with its weld of {say(layout, screw.leg)},",
            "it is welded to steel that is free under all of it",
        )
        if screw.angle is not None:
            weld, why = "", "all of its foot bears on the plate"
        yield Finding(
            rule="jack",
            level="stop",
            message=f"{mount.name}: the lug of its jacking screw{weld} {said} by {say(layout, deep)}, where "
            f"{say(layout, 0.0)} may: {why}",
            features=(mount.name, name),
            at=at,
            found=-deep,
            needed=0.0,
            field=f"{screw.field}.at",
            advice=Advice("let its tip bear elsewhere on the part (at), or make the plate reach under the lug"),
            others=tuple(_places(layout, mount, screw)),
        )


def _on_the_weld(layout: Layout, mount: PlacedMount, screw: JackingScrew) -> Iterator[Finding]:
    """A lock nut so low that its corners meet the weld at the foot of its lug (mm).

    The weld is as high as its leg where the nut goes on. The head has the nut's corners and never comes nearer to the
    lug than the nut is high, so it is clear where the nut is; the shank is thinner than either.
    """
    room = screw.above - screw.corners / 2
    under, what, on = screw.leg, "the weld of its lug is", "the weld"
    if screw.angle is not None:
        under, what, on = screw.lug[0] + screw.angle.root, "the rounded corner of its lug is", "the corner"
    if room >= under - SAME_LENGTH:
        return
    height = rounded_up(layout, under + screw.corners / 2 - mount.standoff)
    yield Finding(
        rule="jack",
        level="warn",
        message=f"{mount.name}: the lock nut of its {screw.size} jacking screw, {say(layout, screw.corners)} over its "
        f"corners, comes down to {say(layout, room)} over the plate, where {what} "
        f"{say(layout, under)} high: it sits on {on}, not on the lug",
        features=(mount.name,),
        at=screw.back(screw.locked[0]),
        found=room,
        needed=under,
        field=f"{screw.field}.height",
        advice=Advice(
            f"let its tip bear higher on the part (height: {height:g} {layout.spec.unit})",
            (Remedy(f"{screw.field}.height", height),),
        ),
    )


def _spanners(layout: Layout, mount: PlacedMount, screw: JackingScrew) -> Iterator[Finding]:
    travel = mount.travel
    assert isinstance(travel, Straight)
    own = {
        f"{mount.name}.jack {screw.size} x {screw.length:g}",
        f"{mount.name}.jack head",
        f"{mount.name}.jack lock nut",
    }
    covers = {guard.cover_name for guard in layout.guards}
    others = [body for body in layout.bodies if body.name not in own and body.carrier not in covers]
    head, (start, end) = (screw.length, screw.length + screw.head), screw.locked
    low = {"the plate", f"{mount.name}.jack lug"}  # the lug by its weld, as a spanner keeps off its face
    # The head goes with the part, so it is tried at both ends and at nominal; the lock nut stays where its lug is.
    for what, (near, far), moves in (
        ("head", head, (-travel.install, 0.0, travel.tension)),
        ("lock nut", (start, end), (0.0,)),
    ):
        worst: tuple[str, ...] = ()
        for by in moves:
            # A spanner is thicker than a lock nut, and goes on from the side that is away from the lug.
            beside = (near + far) / 2 if what == "head" else near + BESIDE + SPANNER_HEIGHT_IN_FLATS * screw.flats / 2
            middle = beside - by
            ways = [_in_way(layout, mount, solids, others, what == "head") for solids in _ways_in(mount, screw, middle)]
            blocked = min(ways, key=len)
            worst = max(worst, blocked, key=len)
        if worst:
            room = RING_IN_FLATS * screw.flats + TOOL_ROOM
            ideas = [*_places(layout, mount, screw)]
            yield Finding(
                rule="jack",
                level="warn",
                message=f"{mount.name}: no spanner of {say(layout, screw.flats)} gets at the {what} of its jacking "
                f"screw and turns it by {math.degrees(SWING):.0f} degrees, from above or from either side; "
                f"{worst[0]} is in the way of the first",
                features=(mount.name, *(name for name in worst if name != "the plate")),
                at=screw.back((near + far) / 2),
                found=0.0,
                needed=room,
                field=f"{screw.field}.height" if low.issuperset(worst) else f"{screw.field}.at",
                advice=ideas[0] if ideas else Advice("let its tip bear elsewhere (at), or higher (height)"),
                others=tuple(ideas[1:]),
            )


def _ways_in(mount: PlacedMount, screw: JackingScrew, middle: float) -> Iterator[tuple[Solid, ...]]:
    """A spanner on a hexagon so far behind the tip, with all that its handle sweeps: from above, left, right; mm.

    The handle's fan is held by a box round it, which is on the safe side.
    """
    thick = SPANNER_HEIGHT_IN_FLATS * screw.flats
    reach = HANDLE_IN_FLATS * screw.flats
    half = HANDLE_WIDTH_IN_FLATS * screw.flats / 2 + reach * math.sin(SWING / 2)
    ring = Lying(screw.back(middle - thick / 2), screw.back(middle + thick / 2), RING_IN_FLATS * screw.flats, screw.z)
    (ux, uy), (x, y) = screw.direction, screw.back(middle)
    turn = math.atan2(uy, ux)
    up = (screw.z, screw.z + reach) if mount.side == "near" else (screw.z - reach, screw.z)
    yield ring, Upright(rectangle(thick, 2 * half, center=(x, y), turn=turn), *up)
    for way in (0.5, -0.5):
        center = (x - way * reach * uy, y + way * reach * ux)
        yield ring, Upright(rectangle(thick, reach, center=center, turn=turn), screw.z - half, screw.z + half)


def _in_way(
    layout: Layout, mount: PlacedMount, tool: tuple[Solid, ...], bodies: list[Body], goes_along: bool
) -> tuple[str, ...]:
    """What a spanner meets; what travels with it is met where it is, all else wherever it may be."""
    low, high = layout.plate_z
    met = ["the plate"] if any(one.low < high + TOOL_ROOM and one.high > low - TOOL_ROOM for one in tool) else []
    for body in bodies:
        solids = body.solids if goes_along and body.carrier == mount.name else body.swept_solids
        if any(nearer_than(one, other, TOOL_ROOM) for one in tool for other in solids):
            met.append(body.name)
    return tuple(met)


# ------------------------------------------------------------------------------------- slots that slip


def slots_slip(layout: Layout) -> Iterator[Finding]:
    """Belts held tight by nothing but the friction of screws in slots (the screws that would push are in mm)."""
    for belt in layout.belts:
        mount = layout.mounts.get(belt.adjusted or "")
        if mount is None or mount.take_up != "slots" or mount.jack is not None:
            continue
        if not isinstance(mount.travel, Straight) or mount.travel.install + mount.travel.tension <= SAME_LENGTH:
            continue
        ideas = [*_places(layout, mount, None)]
        words = Advice(
            "add a jacking screw in a lug (take_up: slots: jack): size, where its tip bears (at), its height"
        )
        yield Finding(
            rule="slots-slip",
            level="note",
            message=f"{mount.name}: {belt.name} is held tight by the friction of {len(mount.points)} screws in slots "
            "alone, with no screw that pushes: slots slip, and a lever holds no tension while they are tightened",
            features=(mount.name,),
            found=0.0,
            needed=1.0,
            unit="screws",
            field=f"{mount.field}.take_up.slots",
            advice=ideas[0] if ideas else words,
            others=(*ideas[1:], words) if ideas else (),
        )


def _places(layout: Layout, mount: PlacedMount, now: JackingScrew | None) -> Iterator[Advice]:
    """Jacking screws whose tip bears on the back of the part, lowest and smallest first; all that are tried are sound.

    The tip is put where everything of the part ends, over the width and up to the top of the lug: a lug that stands
    behind that meets nothing of the part even when it is pushed home.
    """
    travel = mount.travel
    assert isinstance(travel, Straight)
    unit = layout.spec.unit
    step = 0.5 * mm_per(unit) / (1 if unit == "mm" else 4)
    face = layout.plate_z[1] if mount.side == "near" else layout.plate_z[0]
    sign = 1 if mount.side == "near" else -1
    part = [
        body for body in layout.bodies if body.carrier == mount.name and not body.hardware and ".jack " not in body.name
    ]
    # once, turned so that the screw pushes along x: every size and every place along the back asks the same bodies
    along = Pose(0.0, 0.0, -math.atan2(travel.direction[1], travel.direction[0]))
    turned = {body.name: _turned(body.shape, along) for body in part}
    for size in SIZES[unit] if now is None else (now.size,):
        screw = tables.screw(size)
        flats, block = screw.hex_across_flats or 1.5 * screw.diameter, max(screw.nut_height or 0.0, screw.diameter)
        leg = weld_leg(unit, layout.thickness, rounded_up(layout, block) * mm_per(unit))
        angle = None if now is None else now.angle
        behind_leg = leg
        if now is not None and angle is not None:
            # its foot lies where a weld would be, and is as thick as the lug; in front of it there is none
            block, leg, behind_leg = max(block, now.lug[0]), 0.0, max(block, now.lug[0]) + angle.root
        # over the plate far enough for a ring spanner, which is larger than head and nut, to pass over the lug's weld
        above = math.ceil((RING_IN_FLATS * flats + behind_leg + 2 * TOOL_ROOM) / step) * step
        height = above - mount.standoff
        needed = travel.install + travel.tension + CLEAR + leg + block + (screw.nut_height or screw.diameter)
        if height <= 0.0 or needed > max(screw.stock_lengths, default=0.0) - step:
            continue
        wide = LUG_WIDE * screw.diameter if now is None or angle is None else now.lug[1]
        at_height = sorted((face + sign * mount.standoff, face + sign * (above + wide / 2)))
        behind = [body for body in part if body.z[0] < at_height[1] and body.z[1] > at_height[0]]
        bears = [body for body in behind if body.z[0] <= face + sign * above <= body.z[1]]
        for share in ASIDE:
            tip = _back_of(bears, behind, turned, travel.direction, share, wide + 2 * leg)
            if tip is None:
                continue
            own = mount.pose.inverse().point(tip)
            spot = [in_units(layout, own[0]), in_units(layout, own[1])]
            value: dict[str, FieldValue] = {
                "size": size,
                "at": [*spot],
                "height": rounded_up(layout, height),
                "block": rounded_up(layout, block),
            }
            field = f"{mount.field}.take_up.{mount.take_up}.jack"
            edits: tuple[Remedy, ...] = (Remedy(field, value),)
            if angle is not None:  # the rest of what it says of its lug stays
                edits = tuple(Remedy(f"{field}.{key}", value[key]) for key in ("at", "height", "block"))
            yield Advice(
                f"push it by an {size} jacking screw in a lug {say(layout, block)} thick, {say(layout, above)} above "
                f"the plate, whose tip bears at ({spot[0]:g}, {spot[1]:g}) {unit} of {mount.name}",
                edits,
            )


@lru_cache(maxsize=256)  # a part keeps its outline at most edits
def _turned(shape: Shape, along: Pose) -> Loop:
    return shape.loop().moved(along)


def _back_of(
    bears: list[Body], behind: list[Body], turned: Mapping[str, Loop], way: Point, share: float, wide: float
) -> Point | None:
    """Where the axis of a screw that pushes `way` first meets a part's bodies, mm; None where it meets none.

    `share` of the widest body is how far the axis is off its middle; what is within `wide`, that of a lug with its
    weld, counts. `turned` are the bodies' outlines, by name, in a frame whose x is `way`.
    """
    (ux, uy), across = way, (-way[1], way[0])
    if not bears:
        return None
    widest = max(bears, key=lambda body: (round(turned[body.name].box.height, 6), body.name))
    cx, cy = widest.shape.centroid
    off = share * turned[widest.name].box.height
    x, y = cx + off * across[0], cy + off * across[1]
    level, half = y * ux - x * uy, wide / 2 + 2 * CLEAR
    begins = [begin_between(turned[body.name], level - half, level + half) for body in behind]
    found = [begin for begin in begins if begin is not None]
    if not found:
        return None
    # a hair farther off: between two tenths of mm, to which it is rounded, it is the farther one on every processor
    back = min(found) - OFF - 1e3 * EPS - (x * ux + y * uy)
    return (x + back * ux, y + back * uy)


RULES = (
    Rule(
        "jack",
        "a jacking screw that its lug, weld or the lug's screws do not hold, whose lug is not on steel or cannot be "
        "bent, whose nut is on the weld, or that no spanner turns",
        "thread as long as a nut is high; stress in lug, weld, screws; 1.5 holes to an edge; steel under it; nut over "
        "the weld; 30 degrees to turn",
        "ours; sizes of tools from memory",
        jack,
        levels=("stop", "warn"),
        keys=("mounts.NAME.take_up.slots.jack",),
    ),
    Rule(
        "slots-slip",
        "a belt that only friction in slots holds tight",
        "a screw that pushes the part",
        "common practice",
        slots_slip,
        levels=("note",),
        keys=("mounts.NAME.take_up.slots.jack",),
    ),
)
