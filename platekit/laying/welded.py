"""Flat bars that are welded to the plate on edge, ribs and lugs: where each stands, its weld, and what is cut of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal

from msgspec import Struct

from platekit import tables
from platekit.geometry import Disc, Line, Loop, Point, Upright, rectangle
from platekit.laying.guard_parts import flat_layout
from platekit.placed import FlatPart, Layout, Opening, Side
from platekit.units import INCH, Unit, show_length

LEG_SHARE: Final = 0.7
"""Leg of a weld over the thinner of bar and plate (common practice): its throat is half of that, and two throats carry
what the bar carries."""
SMALLEST_LEG: Final = 3.0
"""No weld is asked for below this leg, mm (common practice)."""
TICK: Final = 10.0
"""Length of the lines that mark a bar's place at either end of its faces, mm (ours: seen beside the bar while it is
tacked, gone under the weld)."""
BAR_PART: Final = r"(?:rib|lug)-\d+"
"""What a part is called that is a bar, as a regular expression."""


class WeldedBar(Struct, frozen=True):
    """A flat bar on edge: between the middles of its ends on the plate (plate frame, mm), its weld's leg, mm.

    `hole` is (thread, how far its middle is over the plate) of a lug, which a screw turns in.
    """

    name: str
    kind: Literal["rib", "lug"]
    side: Side
    start: Point
    end: Point
    height: float
    width: float
    leg: float
    hole: tuple[str, float] | None = None

    @property
    def length(self) -> float:
        """How long it stands on the plate, mm."""
        return math.dist(self.start, self.end)

    @property
    def weld_length(self) -> float:
        """Length of its weld, mm: along both faces and round both ends."""
        return 2 * (self.length + self.width)

    @property
    def foot(self) -> Loop:
        """What of the face it covers (plate frame, mm)."""
        (ax, ay), (bx, by) = self.start, self.end
        middle = ((ax + bx) / 2, (ay + by) / 2)
        return rectangle(self.length, self.width, center=middle, turn=math.atan2(by - ay, bx - ax))

    @property
    def covered(self) -> Loop:
        """The same with its weld (mm)."""
        return self.foot.grown(self.leg)

    @property
    def ticks(self) -> tuple[Line, ...]:
        """Lines that show where it goes, at both ends of both of its faces (plate frame, mm)."""
        (ax, ay), (bx, by) = self.start, self.end
        ux, uy = (bx - ax) / self.length, (by - ay) / self.length
        x, y = -uy * self.width / 2, ux * self.width / 2
        long = min(TICK, self.length / 3)
        found = []
        for sign in (1.0, -1.0):
            for (px, py), way in ((self.start, long), (self.end, -long)):
                corner = (px + sign * x, py + sign * y)
                found.append(Line(corner, (corner[0] + way * ux, corner[1] + way * uy)))
        return tuple(found)


def weld_leg(unit: Unit, plate: float, bar: float) -> float:
    """The leg of the fillet weld between a plate and a bar of these thicknesses, mm: in whole mm, or sixteenths."""
    step = 1.0 if unit == "mm" else INCH / 16
    leg = max(LEG_SHARE * min(bar, plate), SMALLEST_LEG)
    return math.ceil(leg / step - 1e-9) * step


def weld_solid(foot: Loop, leg: float, side: Side, thickness: float) -> Upright:
    """The room that the weld round the foot of a bar takes up (plate frame, mm)."""
    if side == "near":
        return Upright(foot, 0.0, leg, flare_low=leg)
    return Upright(foot, -thickness - leg, -thickness, flare_high=leg)


def welded_bars(layout: Layout) -> tuple[WeldedBar, ...]:
    """All bars that are welded to the plate: its ribs, then the welded lugs of jacking screws; mm."""
    return tuple(_welded(layout))


def _welded(layout: Layout) -> Iterator[WeldedBar]:
    unit, plate = layout.spec.unit, layout.thickness
    for rib in layout.ribs:
        leg = weld_leg(unit, plate, rib.width)
        yield WeldedBar(rib.name, "rib", rib.side, rib.start, rib.end, rib.height, rib.width, leg)
    for mount in layout.mounts.values():
        jack = mount.jack
        if jack is None or jack.angle is not None:
            continue
        thick, wide, high = jack.lug
        (x, y), (ux, uy) = jack.back(jack.set_back + thick / 2), jack.direction
        start, end = ((x + sign * wide / 2 * uy, y - sign * wide / 2 * ux) for sign in (1.0, -1.0))
        hole = (jack.size, jack.above)
        yield WeldedBar(f"{mount.name}.jack lug", "lug", mount.side, start, end, high, thick, jack.leg, hole)


def alike_bars(layout: Layout) -> dict[str, tuple[WeldedBar, ...]]:
    """The bars that are cut alike, by the name of their part, as `rib-1`."""
    alike: dict[tuple[object, ...], list[WeldedBar]] = {}
    for bar in welded_bars(layout):
        sizes = tuple(round(one, 3) for one in (bar.length, bar.height, bar.width))
        alike.setdefault((bar.kind, bar.hole, *sizes), []).append(bar)
    parts: dict[str, tuple[WeldedBar, ...]] = {}
    for bars in alike.values():
        kind = bars[0].kind
        parts[f"{kind}-{sum(name.startswith(kind) for name in parts) + 1}"] = tuple(bars)
    return parts


def bar_parts(layout: Layout) -> dict[str, Layout]:
    """Each bar as a flat plate of its own, its welded edge below; alike ones once, as `rib-1`."""
    parts: dict[str, Layout] = {}
    for part, bars in alike_bars(layout).items():
        first = bars[0]
        openings: tuple[Opening, ...] = ()
        if first.hole is not None:
            thread, above = first.hole
            at, drill = (first.length / 2, above), tables.screw(thread).tap_drill
            openings = (Opening("screw", "cutout", Disc(at, drill / 2), at, drill, "mounts", thread=thread),)
        names = ", ".join(bar.name for bar in bars)
        leg = show_length(first.leg, layout.spec.unit)
        note = (
            f"Lower edge to the plate, both faces alike: {names}. It may as well be sawn from flat bar. "
            f"Fillet weld along both faces and round the ends, leg {leg}. Welding by somebody qualified."
        )
        many = f", {len(bars)} of it" if len(bars) > 1 else ""
        parts[part] = flat_layout(
            layout,
            f"{first.kind.capitalize()} {names}{many}: {layout.title}",
            (first.width, layout.material),
            rectangle(first.length, first.height, center=(first.length / 2, first.height / 2)),
            openings,
            FlatPart(first.kind, ("EITHER FACE up", "EITHER FACE up"), False, note),
            None,
        )
    return parts
