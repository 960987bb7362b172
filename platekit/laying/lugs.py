"""Lugs of jacking screws that two screws hold on the plate: a piece of rolled angle, or a strip bent from sheet.

One leg stands up behind the part, and the jacking screw turns in it; the other, its foot, lies on the plate behind
that, away from the part, so that nothing of it is in the way of the travel. Pushed back by the screw, the lug would tip
about the end of its foot: the longer that is, the less its screws are pulled.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import Disc, Line, Loop, Pose, Upright, rectangle
from platekit.laying.bends import K_SOURCE, bend_length, k_factor
from platekit.laying.guard_parts import FLANGE_IN_THICKNESSES, TICK, TICK_INSET, flat_layout
from platekit.laying.mounts import MountFrame
from platekit.laying.spans import z_range
from platekit.laying.tools import SOCKET_IN_FLATS, SOCKET_WALL
from platekit.placed import SAME_LENGTH, FlatPart, JackingScrew, Layout, LugAngle, Opening, PlacedMount, Side
from platekit.spec import Spec
from platekit.spec.screw_words import ScrewWords
from platekit.spec.take_up_words import Jack
from platekit.tables.angles import angle_stock
from platekit.tables.values import Screw
from platekit.units import INCH, Unit, show_length

ROLLED_ROOT: Final = 1.5
"""Radius inside a rolled angle, in its thicknesses (ours: standards have 1.2 to 1.5 of them)."""
EDGE: Final = 1.5
"""Least from the middle of a hole to the end of its leg, in its diameters (common practice)."""
BESIDE: Final = 1.0
"""Room between a socket on a lug's screw and the leg, or the lock nut, mm (ours)."""


def rounded(unit: Unit, value: float) -> float:
    """A length (mm) in whole mm, or sixteenths of an inch, never less than it."""
    step = 1.0 if unit == "mm" else INCH / 16
    return math.ceil(value / step - 1e-9) * step


def needs(unit: Unit, jack: Screw, screws: ScrewWords, thick: float, root: float) -> tuple[float, float, float]:
    """Where a lug's screws go (mm): how far behind the outside of its leg, how far apart, and its least foot."""
    screw = tables.screw(screws.size or "")
    hole = screw.clearance.get(screws.fit) or screw.diameter
    # what stands on the foot: a nut, or a head where the plate is tapped
    if screws.into == "nut":
        across, flats, outer = screw.nut_across_corners, screw.nut_across_flats, screw.nut_wrench_outer
    elif screws.head == "socket":
        across, flats, outer = screw.socket_head_diameter, None, screw.socket_head_diameter
    else:
        across, flats, outer = screw.hex_across_corners, screw.hex_across_flats, screw.wrench_outer
    seat = max(across or 2 * screw.diameter, (screw.washer_outer or 0.0) if screws.washer else 0.0) / 2
    socket = (outer or SOCKET_IN_FLATS * (flats or 1.5 * screw.diameter) + SOCKET_WALL) / 2
    row = rounded(unit, thick + max(root + seat, max(socket, seat) + BESIDE))
    corners = jack.hex_across_corners or jack.diameter * 3**0.5
    apart = 2 * rounded(unit, max(socket, seat) + corners / 2 + BESIDE)
    return row, apart, rounded(unit, row + EDGE * hole)


def least_leg(thick: float, radius: float) -> float:
    """The shortest leg that a usual die holds while it is bent, from the outside of the other one, mm."""
    return (1 + FLANGE_IN_THICKNESSES) * thick + radius


def angle_of(spec: Spec, part: str, at: str, words: Jack, above: float) -> tuple[LugAngle, float, float]:
    """A lug's angle, how wide it is and how high (mm), for a jacking screw of a part so far over the plate.

    `at` is where the spec says that.
    Raises `SpecError` where no listed angle is so thick and long enough.
    """
    assert words.lug is not None
    unit, thick, said = spec.unit, words.block, words.lug.angle
    field = f"{at}.lug.{words.lug.choice}"
    jack = tables.screw(words.size)
    root, k, source = ROLLED_ROOT * thick, None, ""
    if words.lug.bent is not None:
        bent = words.lug.bent
        root = thick if bent.bend_radius == "auto" else bent.bend_radius
        k = bent.k_factor or k_factor(root, thick)
        source = "your own test bend" if bent.k_factor else K_SOURCE
    row, apart, least = needs(unit, jack, said.screws, thick, root)
    hole = tables.screw(said.screws.size or "").clearance.get(said.screws.fit) or 0.0
    wide = rounded(unit, max(apart + 2 * EDGE * hole, 3 * jack.diameter)) if said.width == "auto" else said.width
    tall = rounded(unit, above + EDGE * jack.diameter)
    if k is not None:
        least, tall = (rounded(unit, max(one, least_leg(thick, root))) for one in (least, tall))
    foot = least if said.foot == "auto" else said.foot
    high = tall if said.upright == "auto" else said.upright
    stock = ""
    if k is None and "auto" in (said.foot, said.upright):
        known = angle_stock("metric" if unit == "mm" else "inch")
        alike = [one for one in known if abs(one.thickness - thick) <= 0.01]
        found = next((one.leg for one in alike if one.leg >= max(foot, high) - SAME_LENGTH), None)
        if found is None:
            longest = max((one.leg for one in alike), default=None)
            legs = f"legs of {show_length(max(foot, high), unit)}, {show_length(thick, unit)} thick"
            what = (
                "no angle of that thickness is listed"
                if longest is None
                else f"{show_length(longest, unit)} is the longest"
            )
            wanted = (
                f"take another thickness (block), say foot and upright of an angle that you have, or bend it; {what}"
            )
            raise SpecError((spec.problem(field, f"an angle with {legs}", wanted),))
        foot = found if said.foot == "auto" else said.foot
        high = found if said.upright == "auto" else said.upright
        stock = f"{show_length(found, unit).split()[0]} x {show_length(found, unit).split()[0]}"
    made = LugAngle(
        made="bolted" if k is None else "bent",
        mount=f"{part} lug",
        foot=foot,
        root=root,
        row=row,
        apart=apart,
        k_factor=k,
        k_source=source,
        stock=stock,
    )
    return made, wide, high


def field_of(frame: MountFrame) -> str:
    """Where the jacking screw of a mount stands in the spec."""
    take_up = frame.mount.take_up
    assert take_up is not None
    return f"{frame.field}.take_up.{take_up.choice}.jack"


def along(jack: JackingScrew, start: float, end: float, wide: float) -> Loop:
    """A rectangle under the axis of a jacking screw, from so far to so far behind its tip at nominal, mm."""
    ux, uy = jack.direction
    return rectangle(abs(end - start), wide, center=jack.back((start + end) / 2), turn=math.atan2(uy, ux))


def angle_solids(jack: JackingScrew, angle: LugAngle, side: Side, thickness: float) -> tuple[Upright, ...]:
    """A lug of angle as solids: its upright leg, its foot, and the corner between them (plate frame, mm)."""
    thick, wide, high = jack.lug
    start = jack.set_back
    return (
        Upright(along(jack, start, start + thick, wide), *z_range(side, (0.0, high), thickness)),
        Upright(along(jack, start, start + angle.foot, wide), *z_range(side, (0.0, thick), thickness)),
        # the rounded corner is held by a box, which is on the safe side
        Upright(
            along(jack, start, start + thick + angle.root, wide), *z_range(side, (0.0, thick + angle.root), thickness)
        ),
    )


def screw_pose(jack: JackingScrew, angle: LugAngle) -> Pose:
    """Where the middle between a lug's two screws is (mm), its x along the jacking screw."""
    x, y = jack.back(jack.set_back + angle.row)
    ux, uy = jack.direction
    return Pose(x, y, math.atan2(uy, ux))


# ----------------------------------------------------------------------------------------------- as parts


def angle_lugs(layout: Layout) -> Iterator[tuple[PlacedMount, JackingScrew, LugAngle]]:
    """The lugs that are screwed to the plate, with the mount whose jacking screw turns in each."""
    for mount in layout.mounts.values():
        if mount.jack is not None and mount.jack.angle is not None:
            yield mount, mount.jack, mount.jack.angle


def lug_parts(layout: Layout, first: int = 1) -> dict[str, Layout]:
    """Each lug of angle as a flat plate of its own, by its part's name, numbered from `first`; mm.

    A bent one is its blank before it is bent, its outside up. Of a rolled one it is the paper that is laid round its
    outside: where it is drilled.
    """
    parts: dict[str, Layout] = {}
    for number, (mount, jack, angle) in enumerate(angle_lugs(layout), start=first):
        bent = angle.k_factor is not None
        parts[f"lug-{number}"] = flat_layout(
            layout,
            f"Lug of {mount.name}, {'bent' if bent else 'from angle'}: {layout.title}",
            (jack.lug[0], layout.material),
            *_unfolded(layout, jack, angle),
            None,
        )
    return parts


def unfolded_length(jack: JackingScrew, angle: LugAngle) -> float:
    """How long the blank of a bent lug is, mm; of a rolled one how long its outside is."""
    thick, _, high = jack.lug
    if angle.k_factor is None:
        return angle.foot + high
    seat = thick + angle.root  # where a leg ends and the bend begins, from the outside of the other leg
    return angle.foot - seat + bend_length(math.pi / 2, angle.root, thick, angle.k_factor) + high - seat


def _unfolded(layout: Layout, jack: JackingScrew, angle: LugAngle) -> tuple[Loop, tuple[Opening, ...], FlatPart]:
    """A lug's outline, holes and words, from the end of its foot up (mm)."""
    thick, wide, _ = jack.lug
    unit, k = layout.spec.unit, angle.k_factor
    seat = 0.0 if k is None else thick + angle.root
    fold = 0.0 if k is None else bend_length(math.pi / 2, angle.root, thick, k)
    begins = angle.foot - seat  # of the bend, from the end of the foot
    line = begins + fold / 2
    stack, middle = layout.mounts[angle.mount].stack, wide / 2
    assert stack is not None
    hole, drill = layout.mounts[angle.mount].hole, tables.screw(jack.size).tap_drill
    if stack.into == "plate":  # the plate is tapped there, and the foot lets the screw through
        hole = tables.screw(stack.size).clearance.get("normal") or hole
    up = begins + fold + jack.above - seat
    openings = [
        Opening(f"screw {k}", "cutout", Disc(at, hole / 2), at, hole, "mounts")
        for k, at in enumerate(((middle + way * angle.apart / 2, angle.foot - angle.row) for way in (-1, 1)), start=1)
    ]
    at = (middle, up)
    openings.append(Opening("jacking screw", "cutout", Disc(at, drill / 2), at, drill, "mounts", thread=jack.size))
    length = unfolded_length(jack, angle)
    outline = rectangle(wide, length, center=(middle, length / 2))
    if k is None:
        legs = " x ".join(show_length(one, unit).split()[0] for one in (jack.lug[2], angle.foot))
        note = (
            f"A piece of angle, legs {legs}, {show_length(thick, unit)} thick, {show_length(wide, unit)} long: "
            f"fold this paper along the line at {show_length(angle.foot, unit)} and lay it round the outside, the foot "
            "below. The foot lies on the plate, away from the part."
        )
        heel = (Line((0.0, line), (wide, line)),)
        return outline, tuple(openings), FlatPart("lug", ("OUTSIDE up", "INSIDE up"), False, note, heel, cut=False)
    note = (
        f"Bend along the line by 90 degrees, the marked face outside, inside radius {show_length(angle.root, unit)} "
        f"(K-factor {k:.3f}): foot {show_length(angle.foot, unit)}, upright {show_length(jack.lug[2], unit)}, outside. "
        "Tap the hole of the jacking screw after bending. The foot lies on the plate, away from the part."
    )
    tick = min(TICK, wide / 2 - 2 * TICK_INSET)
    folds = (
        Line((TICK_INSET, line), (TICK_INSET + tick, line)),
        Line((wide - TICK_INSET - tick, line), (wide - TICK_INSET, line)),
    )
    return outline, tuple(openings), FlatPart("lug", ("OUTSIDE FACE up", "INSIDE FACE up"), False, note, folds)
