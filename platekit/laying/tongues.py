"""What stands out of the outline: tabs with a round end, and feet that the plate stands on; joined by hollow arcs.

A tongue goes in from its end until both its sides have steel under them. Where they meet the outline a wheel of the
radius asked for is rolled along outside, and what it does not reach is filled (the closing that a waist is made by, see
`outline.waisted`): exact arcs and lines, whatever outline is there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from platekit.errors import GeometryError, SpecError
from platekit.geometry import EPS, Disc, Line, Loop, Point, Pose, Shape, covers, intersection, polar, union_loops
from platekit.laying.lighten import CORNER
from platekit.laying.outline import PAD_IN_DIAMETERS
from platekit.placed import SAME_LENGTH, Movable, Opening, PlacedFeet, PlacedTab, PlateLimits
from platekit.spec import Spec
from platekit.spec.tab_words import FeetWords
from platekit.units import show_length

TABS: Final = "plate.tabs"
FEET: Final = "plate.feet"
"""Where in the spec they stand."""
ROOTS: Final = (1.0, 0.1)
"""How far a tongue's sides go into the steel, mm (ours): enough to be one with it, too little to come out behind."""
REACHES: Final = (3.0, 8.0, 24.0)
"""Radii round a tongue within which hollow corners are made, one after the other (ours): a tongue that leaves an edge
at a flat angle needs them far along it, and farther off nothing of the outline is to change."""
SAME_RADIUS: Final = 1e-4
"""Hollow corners so much tighter than asked for are as asked for, mm (ours: of rounding)."""


class Tongue(Struct, frozen=True):
    """A strip `width` wide that points along `way` (a unit vector) and ends at `tip`; mm, plate frame.

    A `round_end` is a half circle about `tip`, any other end lies square across it.
    """

    tip: Point
    way: Point
    width: float
    round_end: bool

    def sides(self) -> tuple[Point, Point]:
        """Where its sides end, the right one first as seen along its way (mm)."""
        (x, y), (ux, uy), half = self.tip, self.way, self.width / 2
        return (x + half * uy, y - half * ux), (x - half * uy, y + half * ux)

    def rooted(self, outline: Loop) -> Loop:
        """The strip from its end into the steel (mm). Raises GeometryError where a side of it finds none."""
        (ux, uy), box = self.way, outline.box
        far = box.width + box.height + math.dist(self.tip, box.center) + self.width
        right, left = self.sides()
        roots: list[Point] = []
        for start in (right, left):
            line = Line(start, (start[0] - far * ux, start[1] - far * uy))
            meets = sorted(line.place(p) * far for p in outline.crossings(line))
            entries = [0.0] if outline.contains(start) else [place for place in meets if place > 0]
            found = (
                place + deep for deep in ROOTS for place in entries if outline.contains(line.at((place + deep) / far))
            )
            root = next(found, None)
            if root is None:
                raise GeometryError("a strip that passes the plate by with a side", "make it narrower, or move it")
            roots.append(line.at(root / far))
        bulge = 1.0 if self.round_end else 0.0
        return Loop(((*roots[0], 0.0), (*right, bulge), (*left, 0.0), (*roots[1], 0.0)))


def joined(outline: Shape, tongue: Tongue, radius: float) -> Loop:
    """The outline with the tongue on it, and hollow corners of the radius (mm) where they meet.

    Over a hollow of the outline it goes in to the bottom of that. Raises GeometryError for a tongue within the outline,
    or beside it.
    """
    plate = outline.loop()
    strip = tongue.rooted(plate)
    if covers(plate, strip):
        raise GeometryError("a place where the plate is already", "move it outward")
    whole = union_loops([plate, strip])
    if len(whole) != 1:
        raise GeometryError("a strip that only touches the plate", "make it wider, or move it")
    own = plate.inside_corners()
    for reach in REACHES:
        near = intersection(plate, strip.grown(reach * radius))
        rolled = union_loops([part.grown(radius) for part in (*near, strip)])
        filled = [loop for around in rolled for loop in around.grown_all(-radius)]
        made = union_loops([plate, *filled])
        # cut off near by, the outline's own edge can end within a hollow arc: then it is looked at farther along
        tight = [at for at, found in made[0].inside_corners() if found < radius - SAME_RADIUS]
        if len(made) == 1 and all(any(math.dist(at, one) < SAME_LENGTH for one, _ in own) for at in tight):
            return made[0]
    raise GeometryError("a strip that leaves the edge at too flat an angle", "let it point more squarely out of it")


def corner_radius(spec: Spec, asked: float | str, limits: PlateLimits) -> float:
    """The radius of the hollow corners, mm: as asked, or as lightening openings have it."""
    if isinstance(asked, float):
        return asked
    return max(CORNER, spec.model.plate.thickness, limits.inside_radius.value)


# --------------------------------------------------------------------------------------------- tabs


def with_tabs(
    spec: Spec, outline: Shape, limits: PlateLimits
) -> tuple[Shape, tuple[Opening, ...], tuple[PlacedTab, ...]]:
    """The outline with the tabs of the spec, each in its turn, the holes in them, and the tabs (plate frame, mm).

    Raises `SpecError` for one that cannot stand where it is wanted.
    """
    holes: list[Opening] = []
    tabs: list[PlacedTab] = []
    for name, tab in spec.model.plate.tabs.items():
        field, at, plate = f"{TABS}.{name}", tab.at, outline.loop()
        if covers(plate, Disc(at, tab.width / 2)):
            out, edge = plate.outward(at), plate.nearest(at).b
            there = [round(edge[k] + tab.width * out[k], 1) for k in (0, 1)]
            said = ", ".join(show_length(value, spec.unit).rsplit(" ", 1)[0] for value in there)
            found = "a place where the plate is already"
            raise SpecError((spec.problem(f"{field}.at", found, f"move it outward, as to [{said}] {spec.unit}"),))
        if tab.towards is not None:
            way = polar((0.0, 0.0), 1.0, tab.towards)
        else:
            near = plate.nearest(at)
            x, y = at[0] - near.b[0], at[1] - near.b[1]
            # on the edge itself, or within it, the edge tells the way
            on_it = plate.contains(at) or near.distance <= EPS
            way = plate.outward(at) if on_it else (x / near.distance, y / near.distance)
        tongue = Tongue(at, way, tab.width, round_end=True)
        try:
            outline = joined(plate, tongue, corner_radius(spec, tab.radius, limits))
        except GeometryError as error:
            key = "at" if tab.towards is None else "towards"
            raise SpecError((spec.problem(f"{field}.{key}", error.why, error.wanted),)) from error
        tabs.append(PlacedTab(name, at, tab.width, max(-plate.depth(at).distance, 0.0) + tab.width / 2))
        if tab.hole is not None:
            placed = Movable("cutout", name, f"{field}.at", at)
            hole = Disc(at, tab.hole / 2)
            holes.append(Opening(f"{name}.hole", "fixing", hole, at, tab.hole, field, placed=placed))
    return outline, tuple(holes), tuple(tabs)


# --------------------------------------------------------------------------------------------- feet


def with_feet(spec: Spec, outline: Shape, limits: PlateLimits) -> tuple[Shape, tuple[Opening, ...]]:
    """The outline with what the plate stands on, and the holes in it (plate frame, mm).

    Raises `SpecError` where the plate reaches lower than it is to stand, or a foot finds no steel above it.
    """
    feet = spec.model.plate.feet
    if feet is None:
        return outline, ()
    frame = standing(spec.model.plate.up)
    stands = outline.moved(frame.inverse()).box
    lowest = stands.y0
    if lowest < feet.level + SAME_LENGTH:
        found = f"{show_length(feet.level, spec.unit)}, and the plate reaches down to {show_length(lowest, spec.unit)}"
        lower = show_length(lowest - 2 * CORNER, spec.unit)
        raise SpecError((spec.problem(f"{FEET}.level", found, f"give a lower bed, as {lower}"),))
    down = frame.point((0.0, -1.0))
    for middle in middles(feet):
        tongue = Tongue(frame.point((middle, feet.level)), down, feet.width, round_end=False)
        try:
            outline = joined(outline, tongue, corner_radius(spec, feet.radius, limits))
        except GeometryError as error:
            key = "middle" if feet.apart is None else "apart"
            told = f"{error.why} (a foot with its middle at {show_length(middle, spec.unit)} along the bed)"
            ends = " to ".join(show_length(x, spec.unit).rsplit(" ", 1)[0] for x in (stands.x0, stands.x1))
            wanted = f"set it under the plate, which reaches from {ends} {spec.unit} there, or make it narrower"
            raise SpecError((spec.problem(f"{FEET}.{key}", told, wanted),)) from error
    return outline, tuple(_foot_holes(feet, frame))


def standing(up: float) -> Pose:
    """The frame in which a plate stands, `up` (rad) being up: y up from the plate's zero, x along the bed (mm)."""
    return Pose(turn=up - math.pi / 2)


def placed_feet(spec: Spec) -> PlacedFeet | None:
    """What the plate stands on (mm); None where nothing is asked for."""
    feet = spec.model.plate.feet
    return None if feet is None else PlacedFeet(feet.level, middles(feet), feet.width)


def middles(feet: FeetWords) -> tuple[float, ...]:
    """Where along the bed the middles of the feet are, mm."""
    if feet.apart is None:
        return (feet.middle,)
    return (feet.middle - feet.apart / 2, feet.middle + feet.apart / 2)


def _foot_holes(feet: FeetWords, frame: Pose) -> Iterator[Opening]:
    if feet.hole is None:
        return
    high = PAD_IN_DIAMETERS * feet.hole if feet.hole_height == "auto" else feet.hole_height
    places = middles(feet)
    if feet.apart is None:
        # near each end of the one edge, as far from it as from the bed
        inset = max(feet.width / 2 - max(high, PAD_IN_DIAMETERS * feet.hole), 0.0)
        places = (feet.middle - inset, feet.middle + inset) if inset > feet.hole else (feet.middle,)
    for number, place in enumerate(places, start=1):
        at = frame.point((place, feet.level + high))
        yield Opening(f"feet.{number}", "fixing", Disc(at, feet.hole / 2), at, feet.hole, FEET)
