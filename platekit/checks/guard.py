"""Rules on the guard: that there is one, and that its openings keep hands from what it guards."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from typing import Final

from msgspec.structs import replace

from platekit.checks import cut_file, cutting, machine, necks, openings
from platekit.checks.advice import rounded_down, rounded_up, say
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.errors import LookupFailed
from platekit.geometry import (
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    Solid,
    Upright,
    clearance,
    covers,
    distance,
    edge_distance,
    ends,
    intersection,
    pose_at,
)
from platekit.laying.guard import (
    SHAFT_ROOM,
    TABS,
    apart_because,
    cover_off,
    dangers,
    ends_of,
    footprint,
    longest_grip,
    most_tabs,
    open_in_back,
    out_along,
    pulleys_in,
    sheet_with_lugs,
    upward,
)
from platekit.laying.guard_parts import CutAlone, off_the_flats, parts_of, short_flats
from platekit.laying.guard_plane import in_plane
from platekit.laying.relief import size_of
from platekit.laying.shafts import on_the_axis
from platekit.placed import SAME_LENGTH, Body, Guard, Layout, Opening, PlacedBelt
from platekit.tables.guards import largest_opening, press_distance, safety_distance
from platekit.tables.rows import kept

GAPS = (20.0, 30.0, 40.0, 12.0, 8.0)
"""Gaps from guard to belt and pulleys that are tried, mm (ours)."""
TURNING = re.compile(r"\b(pulley|sheave|flywheel|v-belt|belt)s?\b", re.IGNORECASE)
"""Names of bodies that turn with a belt (ours)."""
WHEEL = re.compile(r"\b(pulley|sheave|flywheel)s?\b(?! (guard|cover|hub))", re.IGNORECASE)
"""Names of wheels that turn on a shaft, whether or not a belt of the spec runs over them (ours)."""
USUAL_WIDTHS = (12.0, 10.0, 8.0, 6.0, 4.0)
"""Openings that are tried where wider ones are too near, mm (ISO 13857 table 4: where its rows end)."""
LEAST_OSHA = 6.35
"""The table for presses begins with openings of a quarter inch, mm (OSHA 1910.217 table O-10)."""
PART_RULES: tuple[Callable[[Layout], Iterable[Finding]], ...] = tuple(
    dict.fromkeys(rule.find for family in (openings, cutting, cut_file, machine, necks) for rule in family.RULES)
)
"""Rules of the plate that its guard's parts are held to as well."""
OWN_WORDS = {"plate.material": "material", "plate.thickness": "thickness"}
"""Words on the plate, and those that say the same of its guard's sheet."""
LEAST_HOLE = 3.4
"""The smallest hole that is offered, mm (ISO 273: M3, normal fit)."""
USUAL_HOLES = (6.6, 5.5, 4.5, 9.0)
"""Holes of tabs that are tried where another does not do, mm (ISO 273, normal fit: M6, M5, M4, M8)."""
WIDER = (6.0, 8.0, 10.0, 12.0)
"""Openings of the cover that are tried where a narrower one cannot be cut, mm (ISO 13857 table 4: where rows end)."""
EARS = (0.8, 0.65, 0.5)
"""Ears that are tried where wider ones find no room, in shares of what they are (ours)."""
EAR_IN_HOLES = 3.0
"""Least width of an ear, in diameters of its hole (common practice: steel a diameter wide all round it)."""
SHUTTER_LAP = 15.0
"""How far a sheet that travels with a shaft laps over the opening that it closes, mm (ours: more than a wide slot needs
behind a slit of 6 mm, by ISO 13857 table 4)."""
ALL_CLOSED = 99.95
"""A back closed to so many parts of 100 is closed (ours: what is left is rounding)."""


def guard(layout: Layout) -> Iterator[Finding]:
    """A belt without a described guard, or a guard whose openings (mm) let hands too near."""
    for belt in layout.belts:
        if all(belt.name not in guard.belts for guard in layout.guards):
            yield _missing(layout, belt)
    yield from _bare_couplings(layout)
    if layout.twisted is not None:
        twist = layout.twisted
        yield Finding(
            rule="guard",
            level="warn",
            message=f"{twist.name}: a twisted belt from {twist.driver} to {twist.driven}, and no guard is described",
            features=(twist.name, twist.driver, twist.driven),
            at=(layout.mounts[twist.driver].pose.x, layout.mounts[twist.driver].pose.y),
            advice=Advice(
                "make and check one by local rules before power goes on: over crossed shafts none is worked out here"
            ),
        )
    elif not layout.belts and not layout.couplings:
        # slots that tension something, or a part that turns by its name, in a spec without a drive: a new motor makes
        # the old guard useless all the same, so that it is not to be forgotten
        by_hand = Advice("describe the belt (drive) and its guard (guard), or make and check one by local rules")
        for mount in layout.mounts.values():
            if mount.take_up is not None:
                yield Finding(
                    rule="guard",
                    level="warn",
                    message=f"{mount.name} travels to tighten something, and no drive and no guard are described; a "
                    "new motor usually makes the old guard useless",
                    features=(mount.name,),
                    at=(mount.pose.x, mount.pose.y),
                    advice=by_hand,
                )
        for body in layout.bodies:
            if body.kind == "given" and (TURNING.search(body.name) if body.turns is None else body.turns):
                yield Finding(
                    rule="guard",
                    level="warn",
                    message=f"{body.name} turns{'' if body.turns else ' by its name'}, and no drive and no guard are "
                    "described",
                    features=(body.name,),
                    at=body.shape.centroid,
                    advice=by_hand,
                )
    if layout.belts:
        yield from _left_turning(layout)
    for guard in layout.guards:
        yield from _sheet(layout, guard)
        yield from _openings(layout, guard)
        yield from _vents(layout, guard)
        yield from _back(layout, guard)
        yield from _sockets(layout, guard)
        if guard.drawn.lies:
            yield from _round_the_shafts(layout, guard)
        if guard.floor is not None:
            yield from _standing(layout, guard)
        if guard.floor is not None or not guard.drawn.lies:
            yield from _through_the_plate(layout, guard)
        yield from _tabs(layout, guard)
        # its parts are cut like the plate: the plate's own rules on cutting judge each, laid out as a plate of its own
        yield from _parts(layout, guard)


NO_COVER: Final = frozenset({"none", "no", "nothing", "nil", "open", "bare", "later", "not yet", "todo", "tbd", "-"})
"""What people write where there is no cover, or none yet (ours)."""


def _bare_couplings(layout: Layout) -> Iterator[Finding]:
    """A coupling of which nothing says what covers it: it is told every time, as a bare belt is."""
    for one in layout.couplings:
        if one.guarded is not None and one.guarded.strip().lower() not in NO_COVER:
            continue  # what cannot be seen of it is told by `not-checked`
        yield Finding(
            rule="guard",
            level="warn",
            message=f"{one.body} from {one.driving.mount} to {one.driven.mount} turns bare, as far as the spec says; "
            "it catches sleeves and hands as a belt does",
            features=(one.body, one.driving.mount, one.driven.mount),
            at=one.middle[:2],
            advice=Advice(
                "make a cover over coupling and shaft ends, fixed by screws, and check it by local rules before power "
                f"goes on; then say what it is ({one.field}: {{guarded: ...}}). The guard worked out here goes over a "
                "belt"
            ),
            field=one.field,
        )


SPLINTERS: Final = {
    "acrylic": "it splinters when struck, and is not bent cold",
    "wood board": "it breaks when struck, and is not bent",
    "cast iron": "it breaks when struck, and is not bent",
}
"""Families of which no guard is made, and why (common practice; ISO 14120 wants guards to bear what strikes them)."""


def _sheet(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """A guard of what does not hold back a belt that parts."""
    why = SPLINTERS.get(guard.material.family or "")
    if why is None and guard.made == "bent" and guard.material.name.startswith("7075"):
        why = "it cracks where it is bent cold"
    if why is not None:
        yield Finding(
            rule="guard",
            level="warn",
            message=f"{guard.name}: its sheet is {guard.material.name}: {why}",
            features=(guard.name,),
            at=guard.outline.box.center,
            advice=Advice(
                f"make it of steel, aluminium or, to look through, polycarbonate ({guard.field}: material)",
                (Remedy(f"{guard.field}.material", "mild steel"),),
            ),
        )


def _left_turning(layout: Layout) -> Iterator[Finding]:
    """What turns beside the new drive and lies under no guard: an old pulley that is left on its shaft."""
    for body in left_turning(layout):
        yield Finding(
            rule="guard",
            level="warn",
            message=f"{body.name} turns{'' if body.turns else ' by its name'} while the machine runs, and no "
            "guard that is described covers it",
            features=(body.name,),
            at=body.shape.centroid,
            advice=Advice(
                "take it off its shaft if nothing runs on it any more, else cover it before power goes on and accept "
                "this with the reason; say `turns: false` if it stands still"
            ),
        )


def left_turning(layout: Layout) -> tuple[Body, ...]:
    """The bodies (mm) that turn, by the spec's word or their name, belong to no pulley of the drive, and stand bare."""
    found = []
    for body in layout.bodies:
        if body.kind != "given":
            continue
        if not (WHEEL.search(body.name) is not None if body.turns is None else body.turns):
            continue
        # a body in the very place of a pulley of the drive is that pulley, described as well
        same = any(
            on_the_axis(body, pulley) and body.z[0] < pulley.z[1] and pulley.z[0] < body.z[1]
            for belt in layout.belts
            for pulley in belt.pulleys
            if not pulley.drawn.lies
        )
        under = False
        for guard in layout.guards:
            shape, (low, high) = in_plane(guard.drawn, body)
            under |= guard.z[0] <= low and high <= guard.z[1] and covers(guard.outline, shape)
        if not same and not under:
            found.append(body)
    return tuple(found)


def _missing(layout: Layout, belt: PlacedBelt) -> Finding:
    """A belt without a guard, with guards that may find room as its advice."""
    by_hand = "make and check one by local rules before power goes on"
    ideas: list[Advice] = []
    described = next((one for one in layout.guards if one.field == "guard"), None)
    # beside another belt on the same side one guard goes over both; else each has its own
    beside = any(one is not belt and apart_because(one, belt) is None for one in layout.belts)
    overs = ("both", belt.name) if beside and not layout.guards else (belt.name,)
    key, usual = ("guard", "drive") if described is None else ("second_guard", "second")
    if described is not None and beside:
        whole = (Remedy("guard.belt", "both"), *((Remedy("guard.split", []),) if described.seam is not None else ()))
        ideas.append(Advice("let the guard go over both belts (guard: belt: both)", whole))
        for gap in GAPS:
            size = rounded_up(layout, gap)
            said = f"let the guard go over both belts (guard: {{belt: both, gap: {size:g}}})"
            ideas.append(Advice(said, (*whole, Remedy("guard.gap", size))))
    elif belt.drawn.lies:
        # one on the plate ends at its face: it is none over a belt that runs past or through the plate
        near = belt.driver.turns_on == "near"
        up, face = (1.0, 0.0) if near else (-1.0, -layout.thickness)
        past = any(up * (one.center[1] - face) <= one.largest_diameter / 2 for one in belt.pulleys)
        for over, gap in ((over, gap) for over in overs for gap in GAPS):
            size = rounded_up(layout, gap)
            stands: dict[str, FieldValue] = {"belt": over, "gap": size}
            which = "" if over == usual else f"belt: {over}, "
            ways = (("", stands), (", on: machine", stands | {"on": "machine"}))
            for said, words in ways[1:] if past else ways:
                told = f"describe one ({key}: {{{which}gap: {size:g}{said}}}), or {by_hand}"
                ideas.append(Advice(told, (Remedy(key, words),)))
    low, high = layout.plate_z
    heads = [body for body in layout.bodies if body.hardware]
    far = belt.driver.plane < low
    tall = max([0.0, *(low - one.z[0] if far else one.z[1] - high for one in heads)])
    for over, gap in () if ideas else ((over, gap) for over in overs for gap in GAPS):
        # a sheet lies on the plate, or over the heads of the screws; where neither goes in, the plate is the back
        for back in (0.0, tall + layout.limits.gap.value, None):
            value: dict[str, FieldValue] = {"belt": over, "gap": rounded_up(layout, gap)}
            value |= {"back_from_plate": rounded_up(layout, back)} if back else {}
            value |= {"back": "none"} if back is None else {}  # the plate then closes the back by itself
            said = ", ".join(
                f"{word}: {size:g}" if isinstance(size, float) else f"{word}: {size}"
                for word, size in value.items()
                if word != "belt" or size != usual
            )
            ideas.append(
                Advice(
                    f"describe one ({key}: {{{said}}}), or make and check it by local rules before power goes on",
                    (Remedy(key, value),),
                )
            )
    covered = [name for one in layout.guards for name in one.belts]
    if covered:
        other = f"the guard described here covers the belt `{covered[0]}` alone: one box over both, or one more"
        ideas.append(
            Advice(
                f"{other}; {by_hand}, then accept this with what covers it (accept: {{rule: guard, feature: "
                f"{belt.driver.name}, because: ...}})"
            )
        )
    else:
        ideas.append(Advice(f"{by_hand}: as it is, none fits in between"))
    only = f", only one for the belt `{covered[0]}`" if covered else ""
    return Finding(
        rule="guard",
        level="warn",
        message=f"no guard is described for the belt from {belt.driver.mount} to {belt.driven.mount}{only}; a "
        "new motor usually makes the old one useless",
        features=tuple(pulley.name for pulley in belt.pulleys),
        at=belt.driver.at,
        advice=ideas[0],
        others=tuple(ideas[1:]),
    )


def _back(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Without a back plate: what the plate leaves open there, and a gap under the band that a hand reaches through."""
    if guard.back:
        return
    if guard.off_plate:
        try:
            reach = safety_distance("slot", guard.off_plate, None).distance
        except LookupFailed:  # wider than any opening that the table lets be
            reach = math.inf
        if guard.gap < reach:
            lower = Advice(
                "set the band nearer to the plate (back_from_plate: 0)",
                (Remedy(f"{guard.field}.back_from_plate", 0.0),),
            )
            wanted = "no distance makes good" if math.isinf(reach) else f"{say(layout, reach)} is needed"
            ideas = [lower]
            if math.isfinite(reach):
                gap = rounded_up(layout, reach)
                said = f"make the gap {gap:g} {layout.spec.unit} (gap: {gap:g})"
                ideas.append(Advice(said, (Remedy(f"{guard.field}.gap", gap),)))
            yield Finding(
                rule="guard",
                level="stop",
                message=f"{guard.name}: without a back plate its band stands {say(layout, guard.off_plate)} off the "
                f"plate, {say(layout, guard.gap)} from belt and pulleys; for a slot so wide {wanted} (ISO 13857; local "
                "rules decide)",
                features=(guard.name,),
                found=guard.gap,
                needed=None if math.isinf(reach) else reach,
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )
    steel = sum(loop.area for loop in intersection(guard.outline, layout.plane))
    closed = 100.0 * steel / guard.outline.area
    if closed < ALL_CLOSED:
        larger = _larger_plate(layout, guard.outline)
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: it has no back plate, and the plate closes {math.floor(closed)} % of its back; "
            "all of it is needed",
            features=(guard.name, "outline"),
            found=closed,
            needed=100.0,
            unit="%",
            advice=larger,
            others=(
                Advice(
                    f"give the {guard.name} its back plate ({guard.field}: back: sheet)",
                    (Remedy(f"{guard.field}.back", "sheet"),),
                ),
            ),
        )


def _larger_plate(layout: Layout, inside: Loop) -> Advice:
    """A rectangle that holds the plate as it is and all of what it must close, a millimetre larger for rounding."""
    boxes = (layout.outline.box, inside.box)
    x0, y0 = (min(box[k] for box in boxes) for k in (0, 1))
    x1, y1 = (max(box[k] for box in boxes) for k in (2, 3))
    wide, tall = x1 - x0 + 1, y1 - y0 + 1
    size: dict[str, FieldValue] = {"width": rounded_up(layout, wide), "height": rounded_up(layout, tall)}
    middle: list[FieldValue] = [f"{(x0 + x1) / 2:.6g} mm", f"{(y0 + y1) / 2:.6g} mm"]
    return Advice(
        f"make the plate larger there: a rectangle of {say(layout, wide)} x {say(layout, tall)} would do",
        (Remedy("plate.outline", {"rectangle": size, "at": middle}),),
    )


def _standing(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """What a guard that stands on the plate leaves open there: where it stands past the steel, the slit under it."""
    under = footprint(guard)
    steel = sum(loop.area for loop in intersection(under, layout.plane))
    closed = 100.0 * steel / under.area
    if closed < ALL_CLOSED:
        larger = _larger_plate(layout, under)
        machine = Advice(
            "close it all round and fix it to the machine (on: machine)",
            (Remedy(f"{guard.field}.on", "machine"), Remedy(f"{guard.field}.back_from_plate", 0.0)),
        )
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: it stands on the plate, open towards it, and the plate closes "
            f"{math.floor(closed)} % of that; all of it is needed",
            features=(guard.name, "outline"),
            found=closed,
            needed=100.0,
            unit="%",
            advice=larger,
            others=(machine,),
        )
    if guard.off_plate < SAME_LENGTH:
        return
    # A hand comes in flat under the edge of the band, the back plate or the cover: each is as far off as it stands.
    slit = _reached(guard.off_plate, round_one=False)
    nearest = min(clearance(one, side).distance for side in _edges_below(guard) for one in _dangerous(layout, guard))
    if nearest >= slit - SAME_LENGTH:
        return
    wanted = "no distance makes good" if math.isinf(slit) else f"{say(layout, slit)} is needed"
    ideas = [Advice("set it down on the plate (back_from_plate: 0)", (Remedy(f"{guard.field}.back_from_plate", 0.0),))]
    for width in USUAL_WIDTHS:
        if width < guard.off_plate and _reached(width, round_one=False) <= nearest:
            less = rounded_down(layout, width)
            said = f"set it nearer to the plate (back_from_plate: {less:g})"
            ideas.append(Advice(said, (Remedy(f"{guard.field}.back_from_plate", less),)))
    yield Finding(
        rule="guard",
        level="stop",
        message=f"{guard.name}: its sheets end {say(layout, guard.off_plate)} off the plate, {say(layout, nearest)} "
        f"from belt and pulleys; for a slot so wide {wanted} (ISO 13857; local rules decide)",
        features=(guard.name,),
        found=nearest,
        needed=None if math.isinf(slit) else slit,
        advice=ideas[0],
        others=tuple(ideas[1:]),
    )


def _dangerous(layout: Layout, guard: Guard) -> list[Solid]:
    return [one for body in dangers(layout, guard) for one in body.swept_solids]


def _edges_below(guard: Guard) -> Iterator[Upright]:
    """The four sides of the slit under a guard that stands off the plate, as thin uprights (plate frame, mm)."""
    floor = guard.floor
    assert floor is not None
    face = floor - upward(guard) * guard.off_plate
    corners = [edge.a for edge in footprint(guard).edges]
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        yield Upright(Slot(a, b, SAME_LENGTH), min(face, floor), max(face, floor))


def _round_the_shafts(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Openings of the back plate round lying shafts, which a hand gets at from behind: nothing lies there but parts."""
    back, _ = ends_of(guard)
    outside = back - guard.outward * guard.thickness
    for number, shape in enumerate(guard.shafts, start=1):
        box = shape.box
        # round a shaft that does not travel only the room round it is open; what travels leaves all of its slot at one
        # end but its own width
        narrow = [SHAFT_ROOM for body in layout.bodies if body.travel is None and _fills(guard, body, shape)]
        width = min([*narrow, box.width, box.height])
        danger = _from_danger(layout, guard, shape, back)
        needed = _reached(width, isinstance(shape, Disc) and not narrow)
        if danger >= needed - SAME_LENGTH or _closed_from_behind(layout, guard, shape, outside, danger):
            continue
        wanted = "no distance makes good" if math.isinf(needed) else f"{say(layout, needed)} is needed"
        by_hand = Advice("close it by a part that lies close behind the back plate, and describe that as a body")
        ideas = [*_shutters(layout, guard, shape, outside), *_nearer_parts(layout, guard, shape, outside), by_hand]
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: its back plate is open round shaft {number}, {say(layout, width)} wide and "
            f"{say(layout, danger)} from belt and pulleys, where {wanted}; no part behind it closes that over all of "
            "the travel (ISO 13857; local rules decide)",
            features=(f"{guard.name}.back",),
            at=guard.drawn.spot(shape.centroid, outside)[:2],
            found=danger,
            needed=None if math.isinf(needed) else needed,
            advice=ideas[0],
            others=tuple(ideas[1:]),
        )


def _shutters(layout: Layout, guard: Guard, shape: Shape, outside: float) -> Iterator[Advice]:
    """A sheet on the part that travels, behind the back plate, which covers an opening of that at every position."""
    plane, gap = guard.drawn, layout.limits.gap.value
    shut: set[str] = set()
    for pulley in pulleys_in(layout, guard):
        mount = layout.mounts.get(pulley.mount)
        if mount is None or mount.travel is None or not shape.contains(pulley.center) or mount.name in shut:
            continue
        shut.add(mount.name)
        # At one end of the travel the sheet must still lap over the opening's other end, as far off as all the travel.
        low, high = (0.0, 0.0) if pulley.travel is None else ends(pulley.travel)
        box, (x, y) = shape.box, pulley.center
        wide = box.width + high - low + 2 * SHUTTER_LAP
        tall = 2 * (max(box.y1 - y, y - box.y0) + SHUTTER_LAP)
        middle = outside - guard.outward * (gap + guard.thickness / 2)
        own = mount.pose.inverse()
        spot, level = own.point(plane.spot((x, y), middle)[:2]), own.vector(plane.u[:2])
        face = layout.plate_z[1] + mount.standoff if mount.side == "near" else layout.plate_z[0] - mount.standoff
        heights = sorted(abs(one - face) for one in (y - tall / 2, y + tall / 2))
        at: list[FieldValue] = [f"{one:.6g} mm" for one in spot]
        span: list[FieldValue] = [f"{one:.6g} mm" for one in heights]
        size: dict[str, FieldValue] = {"width": rounded_up(layout, wide)}
        size |= {"height": rounded_down(layout, guard.thickness)}
        body: dict[str, FieldValue] = {
            "carried_by": mount.name,
            "shape": {"rectangle": size, "at": at, "turn": f"{math.degrees(math.atan2(level[1], level[0])):.6g} deg"},
            "span": span,
        }
        said = f"fix a sheet of {say(layout, wide)} x {say(layout, tall)} with a hole for the shaft to {mount.name}"
        words = f"{said}, close behind the back plate, which travels with it (describe it as a body)"
        taken = {one.name for one in layout.bodies}
        names = (f"{mount.name} shutter{more}" for more in ("", *(f" {k}" for k in range(2, len(taken) + 3))))
        yield Advice(words, (Remedy(f"bodies.{next(one for one in names if one not in taken)}", body),))


def _nearer_parts(layout: Layout, guard: Guard, shape: Shape, outside: float) -> Iterator[Advice]:
    """Both pulleys so much nearer to the part behind an opening that its end closes it."""
    pulleys = pulleys_in(layout, guard)
    slits = [
        _slit(guard, outside, span)
        for body in layout.bodies
        for behind, span in (in_plane(guard.drawn, body),)
        if _may_close(body) and edge_distance(shape, behind).distance >= 0
    ]
    near = [one - layout.limits.gap.value for one in slits if one > layout.limits.gap.value]
    if not near or any(belt.idlers for belt in layout.belts if belt.name in guard.belts):
        return
    all_of = "both" if len(pulleys) == 2 else f"all {len(pulleys)}"
    for share in (1.0, 0.75, 0.5):
        by = rounded_down(layout, share * min(near))
        edits = []
        for pulley in pulleys:
            span: list[FieldValue] = [
                f"{end - math.copysign(by, out_along(pulley) * pulley.sense):.6g} mm" for end in pulley.span
            ]
            edits.append(Remedy(f"{pulley.field}.span", span))
        said = f"set {all_of} pulleys {by:g} {layout.spec.unit} nearer to their parts along the shafts (span)"
        yield Advice(said, tuple(edits))


def _may_close(body: Body) -> bool:
    """Whether a body may stand before an opening: part of the machine or a motor, but nothing that goes through it."""
    return body.kind in ("given", "standard") and not body.name.endswith((".shaft", ".key"))


def _slit(guard: Guard, outside: float, span: tuple[float, float]) -> float:
    """Between a part, by its stretch along the shafts, and the outside of the back plate, mm; below 0 past that."""
    low, high = span
    return outside - high if guard.outward > 0 else low - outside


def _closed_from_behind(layout: Layout, guard: Guard, shape: Shape, outside: float, danger: float) -> bool:
    """Whether a part behind the back plate covers an opening of it, so near that no hand gets in, at any position."""
    plane = guard.drawn
    pulleys = pulleys_in(layout, guard)
    for body in layout.bodies:
        if not _may_close(body):
            continue
        # What travels covers the least where it is at either end: both ends count, and nominal.
        poses = [Pose()] if body.travel is None else [pose_at(body.travel, s) for s in (0.0, *ends(body.travel))]
        closed = True
        for pose in poses:
            there = _standing_at(body, pose)
            behind, span = in_plane(plane, there)
            slit = _slit(guard, outside, span)
            if body.kind == "standard":
                # A standard gives a motor's largest frame as a box: only what is round its shaft surely is there.
                axes = [pulley.center for pulley in pulleys if pulley.mount == body.carrier]
                shifted = [plane.flat((*pose.point(plane.spot(axis, span[0])[:2]), axis[1]))[0] for axis in axes]
                depths = [(behind.loop().depth(axis).distance, axis) for axis in shifted]
                depth, axis = max(depths, default=(0.0, (0.0, 0.0)))
                if depth <= 0.0:
                    closed = False
                    break
                behind = Disc(axis, depth)
            needed = math.inf if slit < -SAME_LENGTH else 0.0 if slit < SAME_LENGTH else _reached(slit, round_one=False)
            inside = edge_distance(shape, behind).distance
            if inside < 0 or inside + danger < needed - SAME_LENGTH:
                closed = False
                break
        if closed:
            return True
    return False


@lru_cache(maxsize=128)  # each opening of a back plate asks for the same positions of the same parts
def _standing_at(body: Body, pose: Pose) -> Body:
    """A body at one position of its travel, as if it stood there."""
    solids, silhouette = tuple(one.moved(pose) for one in body.solids), body.shape.moved(pose)
    return replace(body, shape=silhouette, swept=silhouette, pieces=solids, covers=(), travel=None)


def _openings(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Openings of the cover that are nearer to belt and pulleys than a hand's safety distance."""
    if guard.opening is None:
        return
    shape, width, length = guard.opening
    try:
        needed = safety_distance(shape, width, length)
    except LookupFailed as error:
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: {error}",
            features=(guard.name,),
            found=width,
            needed=largest_opening(),
            advice=_plain(guard),
            others=tuple(_smaller(layout, guard, cover_off(layout, guard))),
        )
        return
    # they are in the cover only, so it is along the shafts that they must be far enough off
    nearest = cover_off(layout, guard)
    if nearest >= needed.distance - SAME_LENGTH:
        return
    band = rounded_up(layout, guard.band_width + needed.distance - nearest)
    yield Finding(
        rule="guard",
        level="stop",
        message=f"{guard.name}: {shape} openings {say(layout, width)} wide are {say(layout, nearest)} from belt and "
        f"pulleys; {say(layout, needed.distance)} is needed ({needed.source.name}; local rules decide)",
        features=(guard.name,),
        found=nearest,
        needed=needed.distance,
        advice=Advice(
            f"make the band {say(layout, band)} wide, which puts the cover farther off (band: {band:g})",
            (Remedy(f"{guard.field}.band", band),),
        ),
        others=(*_smaller(layout, guard, nearest), _plain(guard)),
    )


def _plain(guard: Guard) -> Advice:
    return Advice("leave the cover plain (openings: count: 0)", (Remedy(f"{guard.field}.openings.count", 0),))


def _smaller(layout: Layout, guard: Guard, nearest: float) -> Iterator[Advice]:
    """The widest of the usual openings that may be so near, mm."""
    assert guard.opening is not None
    shape, width, length = guard.opening
    for one in USUAL_WIDTHS:
        if one >= width:
            continue
        long = None if length is None or one > length else length
        try:
            needed = safety_distance(shape, one, long).distance
        except LookupFailed:  # wider than any opening that the table lets be
            continue
        if needed <= nearest + SAME_LENGTH:
            less = rounded_down(layout, one)
            yield Advice(f"make them {say(layout, one)} wide", (Remedy(f"{guard.field}.openings.width", less),))
            return


def _vents(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Openings of the cover that find no room."""
    found, wanted = len(guard.vents), guard.vents_wanted
    if found >= wanted or (guard.opening is not None and guard.opening[1] > largest_opening()):
        return  # the larger mistake first
    fewer = Advice(
        f"take as many as find room (openings: count: {found})", (Remedy(f"{guard.field}.openings.count", found),)
    )
    yield Finding(
        rule="guard",
        level="stop",
        message=f"{guard.name}: {found} openings find room in its cover, with steel between them; {wanted} are wanted",
        features=(guard.cover_name,),
        found=float(found),
        needed=float(wanted),
        unit="openings",
        advice=fewer if found else _plain(guard),
        others=(_plain(guard),) if found else (),
    )


def _from_danger(layout: Layout, guard: Guard, shape: Shape, z: float) -> float:
    """From a flat opening to the nearest of belt and pulleys over all travel, mm.

    The shape is in the guard's plane and `z` where that is along its shafts.
    """
    found = math.inf
    for body in dangers(layout, guard):
        covered, (low, high) = in_plane(guard.drawn, body)
        # both ways square to each other: across the plane by outlines, along the shafts by places there
        up = max(low - z, z - high, 0.0)
        found = min(found, math.hypot(up, max(distance(shape, covered).distance, 0.0)))
    return found


def _over_danger(layout: Layout, guard: Guard, shape: Shape, z: float) -> float:
    """The same of an opening of the plate, at a height (mm)."""
    if not guard.drawn.lies:
        return _from_danger(layout, guard, shape, z)
    hole = Upright(shape, z, z)
    return min(clearance(hole, one).distance for body in dangers(layout, guard) for one in body.swept_solids)


@kept(256)  # each position of what closes an opening asks it again, for few widths
def _reached(width: float, round_one: bool) -> float:
    """How far from danger an opening must be, mm: the more of ISO 13857 and the table for presses; inf: not allowed."""
    try:
        iso = safety_distance("round" if round_one else "slot", width).distance
    except LookupFailed:  # wider than any opening that the table lets be
        return math.inf
    try:
        return max(iso, press_distance(width).distance) if width > LEAST_OSHA else iso
    except LookupFailed:
        return math.inf


def _sockets(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Openings of the back plate for sockets that a hand reaches through: from its edge, under it, and up."""
    back = guard.z[0] if guard.side == "near" else guard.z[1]
    outside = sheet_with_lugs(guard, guard.ears)
    for names, shape in guard.sockets:
        # through the sheet alone first: an opening far enough from the belt needs nothing behind it
        width = min(shape.box.width, shape.box.height) if size_of(shape) == 0 else size_of(shape)
        danger = _from_danger(layout, guard, shape, back)
        # a hand that comes straight at the opening is kept off by the sheet's distance from the belt alone
        direct = _reached(width, isinstance(shape, Disc))
        if danger >= direct - SAME_LENGTH:
            continue
        # the plate lies behind it: a hand comes in through the slit between the two, as far off as the nearest edge
        edges = [edge_distance(shape, outside).distance, edge_distance(shape, layout.plane).distance]
        slit = 0.0 if guard.off_plate < SAME_LENGTH else _reached(guard.off_plate, round_one=False)
        way = min(edges)
        if way > 0 and way + danger >= slit - SAME_LENGTH:
            continue
        wanted = "no distance makes good" if math.isinf(slit) else f"{say(layout, slit)} is needed"
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: its back plate is open {say(layout, width)} wide for a socket on "
            f"{' and '.join(names)}; a hand comes there through the {say(layout, guard.off_plate)} between back plate "
            f"and plate, {say(layout, max(way, 0.0) + danger)} from belt and pulleys, where {wanted} (ISO 13857; local "
            "rules decide)",
            features=(f"{guard.name}.back", *names),
            at=shape.centroid,
            found=max(way, 0.0) + danger,
            needed=None if math.isinf(slit) else slit,
            advice=Advice(
                f"leave the back plate out ({guard.field}: back: none): the band then goes down to the plate",
                (Remedy(f"{guard.field}.back", "none"), Remedy(f"{guard.field}.back_from_plate", 0.0)),
            ),
            others=(
                *_so_far(layout, guard, slit - way - danger),
                Advice("close each with a plug or a lid that a tool takes off, and accept it with that reason"),
            ),
        )


def _so_far(layout: Layout, guard: Guard, more: float) -> Iterator[Advice]:
    """A gap so much larger (mm), which puts the edge of the back plate farther from what is open in it."""
    if math.isfinite(more):
        gap = rounded_up(layout, guard.gap + more)
        yield Advice(f"make the gap {gap:g} {layout.spec.unit} (gap: {gap:g})", (Remedy(f"{guard.field}.gap", gap),))


def _through_the_plate(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Openings of the plate that lead into the guard from behind, where no part on the other face closes them."""
    other = layout.plate_z[0] if guard.side == "near" else layout.plate_z[1]
    for opening in layout.openings:
        if not opening.through or opening.role in ("screw", "fixing", "pivot", "dowel"):
            continue
        inside = guard.outline if guard.floor is None else footprint(guard)
        if distance(opening.shape, inside).distance >= 0:
            continue
        # the way through is as wide as the opening, or as what passes through it leaves at its side: a shaft that does
        # not travel narrows it, and whatever reaches into it at any height
        box = opening.shape.box
        width = size_of(opening.shape) or min(box.width, box.height)
        low, high = layout.plate_z
        for body in layout.bodies:
            if body.kind == "guard" or min(body.z[1], high) - max(body.z[0], low) <= SAME_LENGTH:
                continue
            if body.travel is None and distance(body.shape, opening.shape).distance < 0:
                inner = body.shape.box
                width = min(width, max(box.width - inner.width, box.height - inner.height, 0.0) / 2)
        danger = _over_danger(layout, guard, opening.shape, other)
        needed = _reached(width, isinstance(opening.shape, Disc))
        if danger >= needed - SAME_LENGTH or _closed_behind(layout, guard, opening, other, danger):
            continue
        if guard.back and guard.floor is None and _closed_by_back(layout, guard, opening):
            continue
        wanted = "no distance makes good" if math.isinf(needed) else f"{say(layout, needed)} is needed"
        ideas = list(_to_close(layout, guard, opening, danger))
        yield Finding(
            rule="guard",
            level="warn",
            message=f"{guard.name}: {opening.name} lets a hand through the plate from behind, {say(layout, width)} "
            f"wide and {say(layout, danger)} from belt and pulleys, where {wanted}; nothing described closes it there "
            "(ISO 13857; local rules decide)",
            features=(opening.name, guard.name),
            at=opening.center,
            found=danger,
            needed=None if math.isinf(needed) else needed,
            advice=ideas[0],
            others=tuple(ideas[1:]),
        )


def _closed_by_back(layout: Layout, guard: Guard, opening: Opening) -> bool:
    """Whether the guard's back plate closes an opening of the plate: no way leads from there to one of its own."""
    inner = guard.z[0] if guard.side == "near" else guard.z[1]
    slit = 0.0 if guard.off_plate < SAME_LENGTH else _reached(guard.off_plate, round_one=False)
    for shape in open_in_back(guard):
        aside = distance(opening.shape, shape).distance
        danger = _from_danger(layout, guard, shape, inner)
        # round a shaft that does not travel only the room round it is open
        narrow = [SHAFT_ROOM for body in layout.bodies if body.travel is None and _fills(guard, body, shape)]
        direct = _reached(min([*narrow, shape.box.width, shape.box.height]), isinstance(shape, Disc) and not narrow)
        if danger >= direct - SAME_LENGTH:
            continue
        if aside < 0 or (guard.off_plate >= SAME_LENGTH and aside + danger < slit - SAME_LENGTH):
            return False
    return True


def _fills(guard: Guard, body: Body, shape: Shape) -> bool:
    """Whether a body passes in the middle of an opening of the back plate, with the room round it that it is cut to."""
    # what reaches higher or lower than the opening does not pass in it
    if body.kind == "guard" or (guard.drawn.lies and not shape.box.y0 <= body.z[0] < body.z[1] <= shape.box.y1):
        return False
    return abs(edge_distance(in_plane(guard.drawn, body)[0], shape).distance - SHAFT_ROOM) < SAME_LENGTH


def _to_close(layout: Layout, guard: Guard, opening: Opening, danger: float) -> Iterator[Advice]:
    """What may close a way through the plate: a back plate, a smaller opening, less room round what passes there."""
    if not guard.back:
        for off in (0.0, guard.off_plate):
            sheet = (
                Remedy(f"{guard.field}.back", "sheet"),
                Remedy(f"{guard.field}.back_from_plate", rounded_up(layout, off)),
            )
            yield Advice(f"give the {guard.name} a back plate ({guard.field}: back: sheet)", sheet)
    for width in USUAL_WIDTHS:
        if _reached(width, isinstance(opening.shape, Disc)) > danger + SAME_LENGTH:
            continue
        size = rounded_down(layout, width)
        if opening.role == "cutout" and isinstance(opening.shape, Disc) and opening.size > width:
            said = f"make {opening.name} {say(layout, width)} wide"
            yield Advice(said, (Remedy(f"{opening.field}.circle.diameter", size),))
        own = next((body for body in layout.bodies if body.name == opening.for_body), None)
        if opening.role == "relief" and own is not None and own.kind == "given":
            said = f"leave {say(layout, width)} of room round it (gap: {size:g})"
            yield Advice(said, (Remedy(f"{opening.field}.gap", size),))
    yield Advice("describe what closes it as a body, or see on the machine that a hand cannot get there")


def _closed_behind(layout: Layout, guard: Guard, opening: Opening, face: float, danger: float) -> bool:
    """Whether a part on the other face covers an opening, so near that no hand gets in between at all positions."""
    for body in layout.bodies:
        if body.kind == "guard" or body.hardware or (body.side == guard.side and body.kind != "pulley"):
            continue
        if guard.side == "near":
            beyond, slit = body.z[0] < face, face - body.z[1]
        else:
            beyond, slit = body.z[1] > face, body.z[0] - face
        if not beyond or distance(body.shape, opening.shape).distance >= 0:
            continue
        # a hand comes in under its edge and goes on to the opening: both ways together count
        inside = edge_distance(opening.shape, body.shape).distance
        slit = max(slit, 0.0)
        needed = 0.0 if slit < SAME_LENGTH else _reached(slit, round_one=False)
        if inside >= 0 and inside + danger >= needed - SAME_LENGTH:
            return True
    return False


def _tabs(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Tabs that the band cannot have, flats too short to bend, and holes of tabs for which there is no screw."""
    stands = guard.floor is not None
    what = "feet" if stands else "tabs for its ears"
    for key, found, wanted in (
        ("fixings", len(guard.fixed_at), guard.tabs_wanted[0]),
        ("cover", len(guard.cover_holes), guard.tabs_wanted[1]),
    ):
        if found < wanted and not (key == "fixings" and guard.ears_given):
            most = most_tabs(guard, key, wanted)
            ideas = []
            if most:
                said = f"take as many as find room ({key}: count: {most})"
                ideas.append(Advice(said, (Remedy(f"{guard.field}.{key}.count", most),)))
            if key == "cover" and len(guard.ears) > TABS and not guard.ears_given and not stands:
                said = f"take fewer ears (fixings: count: {TABS}), which leaves room for the cover's tabs"
                ideas.append(Advice(said, (Remedy(f"{guard.field}.fixings.count", TABS),)))
            hole = max(guard.ear_hole, guard.cover_hole)
            ears = [rounded_up(layout, share * guard.ear) for share in EARS if share * guard.ear >= EAR_IN_HOLES * hole]
            ideas += [
                Advice(f"make the ears {ear:g} {layout.spec.unit} wide", (Remedy(f"{guard.field}.fixings.ear", ear),))
                for ear in ears
            ]
            if stands and key == "fixings":
                for share in (1.5, 2.0):
                    band = rounded_up(layout, share * guard.band_width)
                    ideas.append(
                        Advice(f"make the band {say(layout, band)} wide", (Remedy(f"{guard.field}.band", band),))
                    )
            for made in ("bent", "segments"):
                if guard.made != made:
                    said = f"let it go round in flats (band_made: {made})"
                    ideas.append(Advice(said, (Remedy(f"{guard.field}.band_made", made),)))
            for share in (1.5, 2.0, 3.0):
                gap = rounded_up(layout, share * guard.gap)
                ideas.append(
                    Advice(
                        f"make the gap {gap:g} {layout.spec.unit} (gap: {gap:g})", (Remedy(f"{guard.field}.gap", gap),)
                    )
                )
            yield Finding(
                rule="guard",
                level="stop",
                message=f"{guard.name}: {found} {'tabs for its cover' if key == 'cover' else what} find room on the "
                f"flats of the band{' and along its back plate' if stands and key == 'fixings' else ''}; "
                f"{wanted} are wanted",
                features=(guard.name,),
                found=float(found),
                needed=float(wanted),
                unit="tabs",
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )
    for number, place in off_the_flats(guard):
        name = f"{guard.name}.ear {number}"
        # the edit gives all places of ears, so the others stay where they are
        others = (*guard.ears[: number - 1], place, *guard.ears[number:])
        places: list[FieldValue] = [[f"{x:.6g} mm", f"{y:.6g} mm"] for x, y in others]
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{name}: its tab stands at a bend or at the joint of the band, where it cannot be folded",
            features=(name,),
            at=guard.ears[number - 1],
            advice=Advice(
                f"put it at {say(layout, place[0])}, {say(layout, place[1])}, on a flat",
                (Remedy(f"{guard.field}.fixings.at", places),),
            ),
            others=(
                Advice(
                    "make the band of flat segments with welded ears (band_made: segments)",
                    (Remedy(f"{guard.field}.band_made", "segments"),),
                ),
            ),
        )
    for length, needed in list(short_flats(guard))[:1]:  # one larger gap or one roll mends all of them
        yield Finding(
            rule="guard",
            level="stop",
            message=f"{guard.name}: a flat of its band is {say(layout, length)} long; a usual die holds "
            f"{say(layout, needed)} and up",
            features=(guard.name,),
            found=length,
            needed=needed,
            advice=Advice(
                "roll it (band_made: rolled), or use segments", (Remedy(f"{guard.field}.band_made", "rolled"),)
            ),
            others=(
                Advice(
                    "make it of flat segments, welded at their edges (band_made: segments)",
                    (Remedy(f"{guard.field}.band_made", "segments"),),
                ),
            ),
        )
    for key, size, stock, hole in (
        ("fixings", guard.screw, guard.length, guard.ear_hole),
        ("cover", guard.cover_screw, guard.cover_length, guard.cover_hole),
    ):
        if size is None:
            yield Finding(
                rule="guard",
                level="stop",
                message=f"{guard.name}: no listed screw passes its holes of {say(layout, hole)} ({key}: hole)",
                features=(guard.name,),
                found=hole,
                advice=_holes(layout, guard, key)[0],
                others=tuple(_holes(layout, guard, key)[1:]),
            )
        # what holds the guard to the machine goes into a thread there, whose depth nobody gives
        elif stock is None and not (key == "fixings" and guard.on == "machine"):
            yield Finding(
                rule="guard",
                level="stop",
                message=f"{guard.name}: no stock {size} screw is long enough to hold it over "
                f"{say(layout, guard.off_plate)} of spacer",
                features=(guard.name,),
                advice=_nearer(layout, guard, size),
            )


def _holes(layout: Layout, guard: Guard, key: str) -> list[Advice]:
    """Holes of tabs for a usual screw, as far as the tabs are wide enough."""
    found = []
    for hole in (*USUAL_HOLES, LEAST_HOLE):
        if EAR_IN_HOLES * hole <= guard.ear or hole == LEAST_HOLE:
            size = rounded_up(layout, hole)
            said = f"make them {say(layout, hole)} ({key}: hole: {size:g})"
            found.append(Advice(said, (Remedy(f"{guard.field}.{key}.hole", size),)))
    return found


def _nearer(layout: Layout, guard: Guard, size: str) -> Advice:
    """So near to the plate that the longest stock screw holds it."""
    longest = longest_grip(size) - layout.thickness - guard.thickness * (2 if guard.back and guard.floor is None else 1)
    off = rounded_down(layout, max(longest, 0.0))
    return Advice(
        f"set it nearer to the plate (back_from_plate: {off:g})", (Remedy(f"{guard.field}.back_from_plate", off),)
    )


def _parts(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """What the plate's own rules on cutting say of the guard's parts; each says of which."""
    for name, flat in parts_of(layout, guard).items():
        holes = {opening.name: opening.of_guard for opening in flat.openings}
        told: dict[tuple[object, ...], Finding] = {}
        for found in _found_of(CutAlone(flat)):
            if found.level == "note":
                continue
            features = (name, *(f"{name}.{feature}" for feature in found.features))
            # openings of the cover are all alike: what holds of one holds of each
            kinds = tuple("vent" if holes.get(one) == "vent" else one for one in found.features)
            figures = (say(layout, one) for one in (found.found, found.needed) if one is not None)
            alike = (found.rule, kinds, *figures)
            if alike in told:
                features = (*told[alike].features, *features[1:])
                told[alike] = replace(told[alike], features=features)
                continue
            first, *others = _part_ideas(layout, guard, flat, found)
            told[alike] = replace(
                found,
                rule="guard",
                message=f"{name}: {found.message}",
                features=features,
                at=None,
                advice=first,
                others=tuple(others),
            )
        yield from told.values()


@kept(32)  # most edits leave most parts of a guard as they are
def _found_of(part: CutAlone) -> tuple[Finding, ...]:
    flat = part.layout
    return tuple(found for rule in PART_RULES for found in rule(flat))


def _part_ideas(layout: Layout, guard: Guard, part: Layout, found: Finding) -> Iterator[Advice]:
    """What may mend a part of the guard that cannot be cut as it is, the least change first."""
    if found.rule == "machine" and found.advice is not None:
        yield found.advice  # about the table's own figures for such sheet: no other shape of the part mends it
        return
    kinds = {opening.of_guard for opening in part.openings if opening.name in found.features}
    of_band = part.flat is not None and part.flat.kind == "band"
    short = found.needed - found.found if found.needed is not None and found.found is not None else 0.0
    if "vent" in kinds:
        for wide in WIDER:
            if guard.opening is not None and wide > guard.opening[1]:
                width = rounded_down(layout, wide)
                yield Advice(
                    f"make the openings {say(layout, wide)} wide", (Remedy(f"{guard.field}.openings.width", width),)
                )
        yield _plain(guard)
    if kinds & {"ear", "cover screw"}:
        if found.rule == "edge":
            ear = rounded_up(layout, guard.ear + 2 * short)
            yield Advice(f"make the ears {ear:g} {layout.spec.unit} wide", (Remedy(f"{guard.field}.fixings.ear", ear),))
        for hole in USUAL_HOLES:
            size = rounded_up(layout, hole)
            both = (Remedy(f"{guard.field}.fixings.hole", size), Remedy(f"{guard.field}.cover.hole", size))
            yield Advice(f"take holes of {say(layout, hole)} for its screws", both)
    if "lap" in kinds:
        # the holes of a lap are a quarter of the band's width from its edges
        band = rounded_up(layout, guard.band_width + 4 * max(short, 0.0))
        yield Advice(f"make the band {band:g} {layout.spec.unit} wide", (Remedy(f"{guard.field}.band", band),))
    if of_band and found.rule == "stock-size":
        pieces = max(len(guard.joints), 1) + 1
        yield Advice(f"make the band of {pieces} strips", (Remedy(f"{guard.field}.band_pieces", pieces),))
    if of_band and guard.made != "segments":
        said = "make the band of flat segments, welded at their edges (band_made: segments)"
        yield Advice(said, (Remedy(f"{guard.field}.band_made", "segments"),))
    for idea in (found.advice, *found.others):
        edits = tuple(
            replace(one, field=f"{guard.field}.{OWN_WORDS[one.field]}" if one.field in OWN_WORDS else one.field)
            for one in idea.remedies
        )
        if edits and all(edit.field.startswith((f"{guard.field}.", "cutting.", "limits.")) for edit in edits):
            yield replace(idea, remedies=edits)
    for gap in GAPS:
        size = rounded_up(layout, gap)
        if gap != guard.gap:
            yield Advice(
                f"make the gap {size:g} {layout.spec.unit} (gap: {size:g})", (Remedy(f"{guard.field}.gap", size),)
            )
    yield Advice("change the guard's gap, tabs or sheet, or cut it by another process")


RULES = (
    Rule(
        "guard",
        "a belt or coupling without a guard, or a guard that a hand reaches through or round",
        "the safety distance of its openings",
        "ISO 13857 table 4, published; local rules decide",
        guard,
        levels=("stop", "warn"),
    ),
)
