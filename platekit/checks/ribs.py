"""Rules on ribs: flat bars welded on edge to the plate, which need steel under all of their length."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from platekit.checks.advice import in_units, rounded_down, rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Index, Point, Shape, distance, edge_distance, hull
from platekit.laying.welded import SMALLEST_LEG, weld_leg
from platekit.placed import SAME_LENGTH, Layout, Opening, PlacedRib

STEPS: Final = 200
"""Places along a bar at which a clear stretch of it is looked for (ours)."""
FACE: Final = 3
"""Screws from which on those of a part go round its face (ours)."""
SHORTEST: Final = 5.0
"""A clear stretch shorter than this many thicknesses of its bar is no rib (ours)."""
BESIDE: Final = 1.0
"""Steel that is left between a shortened bar's weld and what it met, mm (ours)."""

OUTSTAND: Final = 14.0
"""Free height over thickness up to which a flat bar of steel yields before it buckles (EN 1993-1-1 table 5.2: outstand
part in compression, class 3)."""
STEEL: Final = (235.0, 210000.0)
"""Yield strength and modulus for which that figure stands, N/mm2; another goes with the root of their ratio (the same:
its epsilon)."""


def rib(layout: Layout) -> Iterator[Finding]:
    """Bars (mm) that cross an opening, stand where a part or a washer bears, or leave the plate."""
    holes = [opening for opening in layout.openings if opening.through or opening.depth]
    for bar in layout.ribs:
        covered = bar.shape
        # one finding for each kind of thing that is met, at its worst: a bar across a row of holes is one mistake
        room = edge_distance(covered, layout.plane)
        if room.distance < -SAME_LENGTH:
            yield _finding(layout, bar, "lies beyond the edge of the plate", -room.distance, "plate", room.b)
        lost = _worst(covered, ((hole, hole.shape) for hole in holes if _opens(hole, bar)))
        if lost:
            deep, hole = lost[0]
            yield _finding(layout, bar, f"lies over the opening {_and_more(lost)}", deep, hole.name, hole.center)
        told = {hole.name for _, hole in lost}
        pressed = _worst(covered, ((hole, seat) for hole, seat in _seats(layout) if hole.name not in told))
        if pressed:
            deep, hole = pressed[0]
            said = f"lies where a washer or a part bears round {_and_more(pressed)}"
            yield _finding(layout, bar, said, deep, hole.name, hole.center)
        if not told and not pressed:
            yield from _under_parts(layout, bar)
        yield from _slender(layout, bar)


def _slender(layout: Layout, bar: PlacedRib) -> Iterator[Finding]:
    """A bar (mm) whose free edge buckles before its steel yields, or that the weld burns through."""
    material = layout.material
    steel = material.yield_strength * STEEL[1] / (STEEL[0] * material.modulus)
    limit = OUTSTAND / math.sqrt(steel)
    slender = bar.height / bar.width
    thin = bar.width < SMALLEST_LEG - SAME_LENGTH
    if slender <= limit + SAME_LENGTH and not thin:
        return
    width = rounded_up(layout, max(bar.height / limit, SMALLEST_LEG))
    height = rounded_down(layout, bar.width * limit)
    unit, field = layout.spec.unit, f"plate.ribs.{bar.name}"
    thicker = Advice(
        f"take a bar at least {width:g} {unit} thick (width: {width:g})", (Remedy(f"{field}.width", width),)
    )
    lower = Advice(
        f"let it stand no higher than {height:g} {unit} (height: {height:g})", (Remedy(f"{field}.height", height),)
    )
    size = f"{say(layout, bar.height)} high and {say(layout, bar.width)} thick"
    if slender > limit + SAME_LENGTH:
        yield Finding(
            rule="rib",
            level="warn",
            message=f"{bar.name}: {size}, {slender:.3g} times as high as thick: its free edge buckles before "
            f"{material.name} yields, from {limit:.3g} times on (EN 1993-1-1 table 5.2, class 3: 14 for steel of 235 "
            "N/mm2), and it stiffens less than is worked out",
            features=(bar.name,),
            at=((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2),
            found=slender,
            needed=limit,
            unit="times",
            field=field,
            advice=thicker,
            others=() if thin else (lower,),
        )
    else:
        yield Finding(
            rule="rib",
            level="warn",
            message=f"{bar.name}: {size}; a fillet weld of {say(layout, SMALLEST_LEG)}, the smallest that is asked "
            f"for, burns through a bar thinner than {say(layout, SMALLEST_LEG)} and warps it (common practice)",
            features=(bar.name,),
            at=((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2),
            found=bar.width,
            needed=SMALLEST_LEG,
            field=field,
            advice=thicker,
        )


def _under_parts(layout: Layout, bar: PlacedRib) -> Iterator[Finding]:
    """Parts on the bar's own side between whose screws it stands (mm), and that nothing describes there."""
    for mount in layout.mounts.values():
        described = any(body.carrier == mount.name and body.kind == "given" for body in layout.bodies)
        if mount.side != bar.side or described or mount.standoff >= bar.height or len(mount.points) < FACE:
            continue
        face = hull([Disc(point, mount.hole / 2) for point in mount.points])
        deep = -distance(bar.shape, face).distance
        if deep > SAME_LENGTH:
            yield Finding(
                rule="rib",
                level="warn",
                message=f"{bar.name}: {say(layout, deep)} of the bar lies between the screws of {mount.name}, on its "
                "side of the plate, and nothing tells where that part is open",
                features=(bar.name, mount.name),
                at=((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2),
                found=-deep,
                needed=0.0,
                field=f"plate.ribs.{bar.name}",
                advice=Advice(
                    f"weld it to the other side, or describe {mount.name} as bodies (rails, feet, a flange), which are "
                    "then held against it"
                ),
            )


def _worst(covered: Shape, shapes: Iterable[tuple[Opening, Shape]]) -> list[tuple[float, Opening]]:
    """How deep (mm) a bar lies over each shape that it meets, the worst first; of equals as their names go."""
    deep = [(-distance(covered, shape).distance, hole) for hole, shape in shapes]
    met = [(depth, hole) for depth, hole in deep if depth > SAME_LENGTH]
    return sorted(met, key=lambda one: (-round(one[0], 6), one[1].name))


def _and_more(met: Sequence[tuple[float, Opening]]) -> str:
    return met[0][1].name if len(met) == 1 else f"{met[0][1].name} and {len(met) - 1} more"


def _opens(hole: Opening, bar: PlacedRib) -> bool:
    """Whether an opening takes steel from the face that a bar stands on."""
    return hole.through or hole.side == bar.side


def _seats(layout: Layout) -> Iterator[tuple[Opening, Shape]]:
    """Each screw's opening with the face round it that is pressed: by its head on one side, its part on the other."""
    for opening in layout.openings:
        mount = layout.mounts.get(opening.mount or "")
        if mount is None or mount.stack is None or opening.size <= 0:
            continue
        over = (mount.stack.washer_outer - opening.size) / 2
        if over > SAME_LENGTH:
            yield opening, opening.shape.grown(over)


def _finding(layout: Layout, bar: PlacedRib, said: str, deep: float, feature: str, at: Point) -> Finding:
    shorter = _clear_stretch(layout, bar)
    field = f"plate.ribs.{bar.name}"
    if shorter is None:
        advice = Advice("weld it where the face is free: move it aside, or leave it out")
    else:
        start, end = ([in_units(layout, one) for one in place] for place in shorter)
        unit = layout.spec.unit
        advice = Advice(
            f"weld it only from ({start[0]:g}, {start[1]:g}) to ({end[0]:g}, {end[1]:g}) {unit}, or move it aside",
            (Remedy(f"{field}.from", [*start]), Remedy(f"{field}.to", [*end])),
        )
    return Finding(
        rule="rib",
        level="stop",
        message=f"{bar.name}: {say(layout, deep)} of the bar {said}, where {say(layout, 0.0)} of it may: it is welded "
        "to steel that is free under all of its length",
        features=(bar.name, feature),
        at=at,
        found=-deep,
        needed=0.0,
        field=field,
        advice=advice,
    )


def _clear_stretch(layout: Layout, bar: PlacedRib) -> tuple[Point, Point] | None:
    """The longest part of a bar (mm) with room for itself and its weld on free steel; None where that is no rib."""
    room = weld_leg(layout.spec.unit, layout.thickness, bar.width) + BESIDE
    (ax, ay), (bx, by) = bar.start, bar.end
    length = math.dist(bar.start, bar.end)
    if length < SAME_LENGTH:
        return None
    shapes = [hole.shape for hole in layout.openings if _opens(hole, bar)] + [seat for _, seat in _seats(layout)]
    index = Index([shape.box for shape in shapes])
    step = length / STEPS

    def at(number: int) -> Point:
        return ax + (bx - ax) * number / STEPS, ay + (by - ay) * number / STEPS

    runs: list[tuple[int, int]] = []
    first: int | None = None
    for number in range(STEPS + 1):
        # each place stands for the piece of bar round it, with its weld
        (x, y), half = at(number), (step / 2 / length)
        ends = [(x + sign * half * (bx - ax), y + sign * half * (by - ay)) for sign in (-1, 1)]
        piece = PlacedRib(bar.name, bar.side, ends[0], ends[1], bar.height, bar.width).shape.grown(room)
        free = edge_distance(piece, layout.plane).distance >= 0 and all(
            distance(piece, shapes[k]).distance >= 0 for k in index.near(piece.box, 0.0)
        )
        if free and first is None:
            first = number
        if first is not None and (not free or number == STEPS):
            runs.append((first, number if free else number - 1))
            first = None
    longest = max(runs, key=lambda run: (run[1] - run[0], -run[0]), default=None)
    if longest is None or (longest[1] - longest[0]) * step < SHORTEST * bar.width:
        return None
    return at(longest[0]), at(longest[1])


RULES = (
    Rule(
        "rib",
        "a welded bar that crosses an opening or a washer's seat, stands out over the plate's edge, buckles or burns "
        "through",
        f"no overlap of the bar's own footprint; {FACE} screws go round a part's face; {OUTSTAND:g} times as high as "
        f"thick in steel of {STEEL[0]:g} N/mm2; {SMALLEST_LEG:g} mm thick at least",
        "geometry; EN 1993-1-1 table 5.2 (published); the weld common practice; ours",
        rib,
        levels=("stop", "warn"),
        keys=("plate.ribs.NAME.from", "plate.ribs.NAME.to", "plate.ribs.NAME.width", "plate.ribs.NAME.height"),
    ),
)
