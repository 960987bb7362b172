"""Rules on what parts want round them: air for a fan, room for grease gun, lid and cable; and on upright motors.

What a body needs follows from its name, as a shop would call it, unless the spec says it (`needs`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Point, Pose, Upright, covered_by_union, distance, hull
from platekit.laying.shafts import span_on
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedMount
from platekit.spec.models import Need
from platekit.tables.shop import shop_figure

AIR = shop_figure("air behind a fan cover, in its diameters")
"""Air that a fan draws from behind its cover, in the cover's diameters (`shop_figures.csv`)."""
GUN_WIDE = shop_figure("grease gun, width")
"""Width of a grease gun's coupler, mm (`shop_figures.csv`)."""
GUN_LONG = shop_figure("grease gun, length with its hose")
"""A grease gun's coupler with the bend of its hose, mm (`shop_figures.csv`)."""
LID = shop_figure("terminal box, room for its lid")
"""Room in front of a terminal box, to lift its lid and get a screwdriver in, mm (`shop_figures.csv`)."""
CABLE = shop_figure("cable gland, room before it")
"""Room in front of a cable gland, for the cable's bend and a spanner on the gland, mm (`shop_figures.csv`)."""
NAMED: Final[tuple[tuple[Need, tuple[str, ...]], ...]] = (
    ("grease", ("nipple", "grease", "oiler", "oil cup", "lubricator")),
    ("lid", ("terminal box", "junction box", "terminal lid", "box lid")),
    ("cable", ("gland", "cable entry", "cable outlet", "conduit entry")),
)
"""What a body is called that needs room, in a shop's words."""
MOTORS = ("NEMA MG 1", "IEC 60072-1")
"""Families of standard mounts that are motors with a fan on their shaft (common practice)."""


def need_of(layout: Layout, body: Body) -> Need:
    """What a body needs round it: as the spec says, else by its name."""
    if body.kind != "given":
        return "none"
    if body.needs is not None:
        return body.needs
    return next((need for need, names in NAMED if any(name in body.name.lower() for name in names)), "none")


# --------------------------------------------------------------------------------------------- air


def motors(layout: Layout) -> Iterator[PlacedMount]:
    """The mounts that are motors: by their standard, or because they drive the first belt."""
    motor = layout.belts[0].request.motor if layout.belts else None
    driver = layout.belts[0].driver.mount if motor is not None and motor.kind == "induction" else None
    for mount in layout.mounts.values():
        if mount.name == driver or (mount.standard is not None and mount.standard.family.startswith(MOTORS)):
            yield mount


def air(layout: Layout) -> Iterator[Finding]:
    """Fans that something stands so near (mm) behind that they get no air."""
    for mount in layout.mounts.values():
        cover = fan_end(layout, mount)
        if cover is not None:
            wide = max(cover.shape.box.width, cover.shape.box.height)
            needed = AIR * wide
            out = 1.0 if mount.side == "near" else -1.0
            end = cover.z[1] if out > 0 else cover.z[0]
            nearest: tuple[float, str] | None = None
            for body in layout.bodies:
                if body.carrier == mount.name or body.hardware:
                    continue
                off = (body.z[0] - end) if out > 0 else (end - body.z[1])
                if -SAME_LENGTH <= off < needed - SAME_LENGTH:
                    # Only what stands in the cover's own shadow keeps its air off; past its side it draws freely.
                    reach = sorted((end, end + out * needed))
                    if any(distance(shape, cover.swept).distance < 0 for shape in body.covered(reach[0], reach[1])):
                        nearest = min(nearest or (off, body.name), (off, body.name))
            if nearest is None:
                continue
            found, name = nearest
            yield Finding(
                rule="air",
                level="warn",
                message=f"{cover.name}: {say(layout, max(found, 0.0))} of air behind it, before {name}; its fan wants "
                f"about {say(layout, needed)}",
                features=(cover.name, name, mount.name),
                at=cover.shape.centroid,
                found=max(found, 0.0),
                needed=needed,
                advice=Advice(
                    f"leave {say(layout, needed - max(found, 0.0))} more between them; a motor without a fan, or with "
                    f"a fan of its own, needs none (needs: none for {cover.name}, where it is described)"
                ),
            )


def fan_end(layout: Layout, mount: PlacedMount) -> Body | None:
    """The body whose far end is a fan's cover: one that says so, else a motor's that reaches farthest out."""
    own = [body for body in layout.bodies if body.carrier == mount.name and body.kind in ("given", "standard")]
    said = [body for body in own if need_of(layout, body) == "air"]
    if not said and (on_feet(mount) or all(motor.name != mount.name for motor in motors(layout))):
        return None
    # The fan sits at the end away from the shaft, under whatever of the motor reaches farthest out.
    # what ends at the mating face or before it is no fan's cover
    standing = [body for body in own if span_on(layout, mount, body.z)[1] > SAME_LENGTH]
    end = max(said or standing, key=lambda body: (span_on(layout, mount, body.z)[1], body.name), default=None)
    return None if end is not None and end.needs not in (None, "air") else end


def on_feet(mount: PlacedMount) -> bool:
    """Whether a mount's part stands on feet, its shaft along the plate."""
    return mount.standard is not None and mount.standard.shaft_height is not None


def upended(layout: Layout) -> Iterator[Finding]:
    """Motors whose shaft stands upright, as their plate lies: up, water stands on its seal; down, on its fan."""
    if layout.mounting not in ("near up", "far up"):
        return
    for mount in motors(layout):
        if on_feet(mount):
            continue
        # a face's shaft points towards the plate and through it, away from the motor
        up = (mount.side == "near") != (layout.mounting == "near up")
        yield Finding(
            rule="upended",
            level="note",
            message=f"{mount.name}: its shaft stands upright and points {'up' if up else 'down'}; "
            + (
                "water, oil and dust stand on its seal and go into its bearing"
                if up
                else "its fan is on top, and what falls goes in by the grille"
            ),
            features=(mount.name,),
            at=(mount.pose.x, mount.pose.y),
            advice=Advice(
                "ask its maker whether it may run so, which drain hole to open, and "
                + ("for a seal and a slinger on its shaft" if up else "for a canopy over its fan")
            ),
        )


# --------------------------------------------------------------------------------------------- access


def access(layout: Layout) -> Iterator[Finding]:
    """Nipples, lids and glands that nobody gets at (room in mm), because the plate or a part is over them."""
    for body in layout.bodies:
        if body.kind != "given" or body.carrier not in layout.mounts:
            continue
        need, mount = need_of(layout, body), layout.mounts[body.carrier]
        if need == "grease":
            yield from _gun(layout, mount, body)
        elif need in ("lid", "cable"):
            # A box or gland on a part's flank opens away from the part's middle.
            room = LID if need == "lid" else CABLE
            far = _outward(mount, body, room)
            if far is None:
                continue
            x, y = body.shape.centroid
            by = (far[0] - x, far[1] - y)
            swept = hull([body.shape, body.shape.moved(Pose(*by))])
            hit = _first(layout, body, Upright(swept, *body.z), with_plate=True)
            if hit is None:
                continue
            yield Finding(
                rule="access",
                level="warn",
                message=f"{body.name}: {hit} is within {say(layout, room)} in front of it, which it takes "
                f"{_WORDS[need]}",
                features=(body.name, mount.name),
                at=body.shape.centroid,
                found=0.0,
                needed=room,
                advice=Advice(
                    f"turn {mount.name} so that it faces a free side, or, where it opens another way, say needs: none"
                ),
            )


_WORDS: Final[dict[Need, str]] = {"lid": "to lift its lid", "cable": "for its cable and gland"}


def _gun(layout: Layout, mount: PlacedMount, body: Body) -> Iterator[Finding]:
    """A grease gun comes along the normal, over the nipple, or from outside where there is height for its coupler."""
    low, high = layout.plate_z
    near = mount.side == "near"
    tip = body.z[0] if near else body.z[1]
    face = high if near else low
    # how far the nipple's tip stands out of the plate's face, on the side that the part is on
    over = (tip - face) if near else (face - tip)
    if over < -SAME_LENGTH:
        return  # it stands in the plate or through it: openings and `blocked` say what there is to say
    way = sorted((tip, tip - GUN_LONG if near else tip + GUN_LONG))
    gun = Upright(Disc(body.shape.centroid, GUN_WIDE / 2), way[0], way[1])
    hit = _first(layout, body, gun, with_plate=over < GUN_LONG)
    if hit is None:
        return
    # from the side the coupler needs half its width below the nipple's middle, which the plate's face may take
    side_room = over + (body.z[1] - body.z[0]) / 2 >= GUN_WIDE / 2
    aside = _outward(mount, body, GUN_LONG)
    if side_room and aside is not None:
        middle = (body.z[0] + body.z[1]) / 2
        across = Upright(
            hull([Disc(body.shape.centroid, GUN_WIDE / 2), Disc(aside, GUN_WIDE / 2)]),
            middle - GUN_WIDE / 2,
            middle + GUN_WIDE / 2,
        )
        if _first(layout, body, across, with_plate=False) is None:
            return
    free = max(over, 0.0) if hit == "the plate" else 0.0
    yield Finding(
        rule="access",
        level="warn",
        message=f"{body.name}: {hit} is over it with {say(layout, free)} between; a grease gun needs "
        f"{say(layout, GUN_LONG)} in front of it, or {say(layout, GUN_WIDE)} of height from the side",
        features=(body.name, mount.name),
        at=body.shape.centroid,
        found=free,
        needed=GUN_LONG,
        advice=Advice(
            f"cut an opening over it (a cutout of {say(layout, GUN_WIDE + 2)} or more), lead it out by a pipe, or, "
            "where it is got at another way, say needs: none"
        ),
    )


def _outward(mount: PlacedMount, body: Body, room: float) -> Point | None:
    """A point so far beyond a body, away from its part's middle; None where it sits in the middle."""
    x, y = body.shape.centroid
    dx, dy = x - mount.pose.x, y - mount.pose.y
    away = math.hypot(dx, dy)
    half = max(body.shape.box.width, body.shape.box.height) / 2
    if away <= half:
        return None
    return (x + dx / away * room, y + dy / away * room)


def _first(layout: Layout, own: Body, space: Upright, *, with_plate: bool) -> str | None:
    """What stands in a space that must be free: the plate where it has no opening there, or another body."""
    low, high = layout.plate_z
    if with_plate and space.low < high - SAME_LENGTH and space.high > low + SAME_LENGTH:
        through = [opening.shape for opening in layout.openings if opening.through]
        if distance(space.shape, layout.plane).distance < 0 and not covered_by_union(space.shape, through):
            return "the plate"
    for body in layout.bodies:
        if body.name == own.name or body.kind == "belt":
            continue
        # what a part brings with it was so when it was bought
        if body.carrier == own.carrier and (body.kind != "given" or distance(body.shape, own.shape).distance <= 0):
            continue  # its own part's screws, and what it sits on
        if any(distance(shape, space.shape).distance < -SAME_LENGTH for shape in body.covered(space.low, space.high)):
            return body.name
    return None


RULES = (
    Rule(
        "air",
        "a fan without air",
        f"{AIR:g} of the cover's diameter behind it",
        "from memory",
        air,
        levels=("warn",),
        keys=("bodies.NAME.needs",),
    ),
    Rule(
        "upended",
        "a motor whose shaft stands upright, into which water runs",
        "a face motor on a plate that lies",
        "common practice; IEC 60034-7 names these mountings apart (IM V)",
        upended,
        levels=("note",),
        keys=("plate.mounting",),
    ),
    Rule(
        "access",
        "a nipple, lid or gland that nobody gets at",
        f"grease gun {GUN_LONG:g} mm, lid {LID:g} mm, cable {CABLE:g} mm",
        "from memory",
        access,
        levels=("warn",),
        keys=("bodies.NAME.needs",),
    ),
)
