"""What a picture shows of a layout, and in which order: room, parts, findings by number, ends of a travel.

Vocabulary
    part      a body that belongs to a part, not to one screw
    end       one end of a mount's travel: `install` puts the belt on, `tension` tightens it
"""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from platekit.checks.finding import Finding, Verdict
from platekit.drawing.like_findings import grouped
from platekit.drawing.svg.parts import (
    WIDTH,
)
from platekit.drawing.view import View
from platekit.geometry import Box, Point, Pose, Travel, box_round, ends, pose_at
from platekit.placed import Body, Layout, PlacedMount, Side

MOST_WIDE: Final = 740.0
MOST_HIGH: Final = 900.0
"""Room for plate and bodies, sheet units (ours: leaves a margin for names)."""
TOP: Final = 84.0
BEYOND: Final = 0.6
CLIPPED: Final = 0.12
"""How far round the plate things are shown whole, and how far those that reach beyond that, in plate sizes (ours: a
long guard does not shrink the plate)."""
End = Literal["install", "tension"]
ENDS: Final[tuple[tuple[End, str], ...]] = (
    ("install", "belt on"),
    ("tension", "tight"),
)


def content_of(layout: Layout) -> Box:
    """What the picture shows: the plate, and whole whatever ends within `BEYOND` of it; of larger things a part; mm."""
    plate = layout.outline.box
    size = max(plate.width, plate.height)
    reach, clip = plate.grown(BEYOND * size), plate.grown(CLIPPED * size)
    boxes = [opening.shape.box for opening in layout.openings]
    boxes += [body.swept.box for body in layout.bodies]
    boxes += [Box(*zero_of(mount), *zero_of(mount)) for mount in mounts_of(layout)]
    # a guard as long as the machine would shrink the plate to a spot: what ends near is shown whole, of the rest as
    # much as tells that it goes on
    shown = (box if _within(box, reach) == box else _within(box, clip) for box in boxes if box.overlaps(clip))
    return box_round([plate, *shown])


def _within(box: Box, reach: Box) -> Box:
    return Box(max(box.x0, reach.x0), max(box.y0, reach.y0), min(box.x1, reach.x1), min(box.y1, reach.y1))


def view_of(content: Box) -> View:
    """The view that shows the content (mm) as large as there is room, in the middle of the sheet."""
    scale = min(MOST_WIDE / content.width, MOST_HIGH / content.height)
    middle, _ = content.center
    return View(scale, WIDTH / 2 - scale * middle, TOP + scale * content.y1, down=True)


def parts(layout: Layout) -> tuple[Body, ...]:
    """The bodies that belong to a part, not to one screw."""
    return tuple(body for body in layout.bodies if not body.hardware)


def side_of(layout: Layout, body: Body) -> Side:
    """The side on which a body lies: that of its part, or the other where all of it is beyond the plate's other face.

    A pulley on a shaft that goes through the plate is hidden behind it, whichever side its motor is on.
    """
    low, high = layout.plate_z
    if body.z[0] >= high:
        return "near"
    return "far" if body.z[1] <= low else body.side


def titles_of_parts(layout: Layout) -> tuple[tuple[Body, str], ...]:
    """The bodies that get a name in the picture, and which: the strips of a guard share one, those of a belt too."""
    named: dict[str, tuple[Body, str]] = {}
    for body in parts(layout):
        # a belt is made of strands and a guard of strips, which nobody knows by name; a guard is known by its cover
        strip = body.kind in {"guard", "belt"}
        if body.kind != "guard" or body.name.endswith("guard.cover"):
            name = body.carrier if strip else body.name
            named.setdefault(f"{body.kind} {name}", (body, name))
    return tuple(named.values())


def numbered_kinds(verdict: Verdict) -> tuple[tuple[int, tuple[Finding, ...]], ...]:
    """Like findings together, with the number they carry everywhere: open ones first, worst first, then those accepted.

    Each is counted once, however many places it has.
    """
    # the number is the same in picture, legend and report, since all of them ask here
    ordered = [finding for finding in verdict.findings if finding.accepted is None] + list(verdict.accepted)
    return tuple((count, tuple(alike)) for count, alike in enumerate(grouped(ordered), start=1))


class Marked(Struct, frozen=True):
    """A finding to mark in the picture: the number of its kind, and which of its kind it is, from 0."""

    count: int
    which: int
    finding: Finding


def marks_of(verdict: Verdict, most: int) -> tuple[Marked, ...]:
    """The findings to mark, `most` of them: one of each kind before a second of any."""
    marks = [
        Marked(count, which, finding) for count, alike in numbered_kinds(verdict) for which, finding in enumerate(alike)
    ]
    # the sort is stable: within first and further ones the order of the findings stays
    return tuple(sorted(marks, key=lambda mark: mark.which > 0)[:most])


def mounts_of(layout: Layout) -> tuple[PlacedMount, ...]:
    """The mounts in the order of the spec."""
    return tuple(layout.mounts.values())


def zero_of(mount: PlacedMount) -> Point:
    """A mount's own zero, on the plate, mm."""
    return mount.pose.point((0.0, 0.0))


def end_pose(travel: Travel, end: End) -> Pose:
    """Where a carrier goes, from nominal, at one end of its travel."""
    low, high = ends(travel)
    return pose_at(travel, high if end == "tension" else low)


def amount(travel: Travel, end: End) -> float:
    """How far it goes from nominal to that end: mm, or radians of a swing."""
    low, high = ends(travel)
    return high if end == "tension" else -low
