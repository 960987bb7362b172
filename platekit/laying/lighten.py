"""Lightening openings: pockets between webs that run from screw to screw, so that the load still goes straight.

Every opening, and every corner of the outside, is a node. The shortest lines between nodes that cross none shorter are
the webs (a greedy triangulation; of lines that are equally short and cross, both are). What lies between the webs, the
rim and the steel round the openings is taken out, with round corners.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Final

from platekit.errors import GeometryError, SpecError
from platekit.geometry import (
    EPS,
    Arc,
    Disc,
    Index,
    Line,
    Loop,
    Point,
    Pose,
    Shape,
    difference,
    distance,
    polar,
    slot,
    sweep,
)
from platekit.laying.jacks import lug_foot
from platekit.laying.outline import margin_round
from platekit.laying.welded import weld_leg
from platekit.placed import Layout, Opening, PlacedMount, PlacedRib, PlateLimits, ScrewStack
from platekit.spec import Spec
from platekit.spec.models import Lighten

FIELD: Final = "plate.lighten"
"""Where in the spec it is asked for."""
WEB_IN_THICKNESSES: Final = 3.0
"""Webs by themselves are so many thicknesses wide (ours): as stiff across as a flat bar, and no table warps them."""
CORNER: Final = 10.0
"""Radius of the corners by itself, mm, but no less than the plate is thick (common practice): no notch for fatigue, and
a table runs round it at full speed."""
WIDER: Final = 1.5
"""A pocket in which a circle of so many of its corners' radii finds no room is not worth its pierce (ours)."""
WORTH: Final = 0.004
"""Share of the plate's face below which a pocket is not worth its pierce (ours)."""
MOST_NODES: Final = 80
"""Most openings and corners between which webs are laid (ours): with more there is little steel left to take."""
CONVEX: Final = math.radians(20)
"""An outside that turns by less is no corner (ours)."""
ON_A_DISC: Final = 8
"""Nodes on a round outside (ours)."""
ROUNDS: Final = 3
"""How often pockets give way to each other, before those that are still too near stay steel (ours)."""
ALIKE: Final = 1e-3
"""Lines whose lengths differ by less are equally short, mm (ours: no processor rounds by so much)."""


def lightened(
    spec: Spec,
    openings: tuple[Opening, ...],
    outline: Shape,
    limits: PlateLimits,
    mounts: Mapping[str, PlacedMount],
    closes: tuple[Shape, ...] = (),
) -> tuple[Opening, ...]:
    """All openings with the lightening ones that the spec asks for (plate frame, mm); none where the plate `closes`.

    Raises `SpecError` where there are too many openings, or none of the outline is left.
    """
    words = spec.model.plate.lighten
    if words is None:
        return openings
    web, corner = web_of(spec, words, limits), corner_of(spec, words, limits)
    stacks: dict[str, ScrewStack] = {name: one.stack for name, one in mounts.items() if one.stack is not None}
    pads = [one.shape.grown(max(margin_round(spec, one, stacks.get(one.mount or ""), limits), web)) for one in openings]
    # what has to stay whole: under bars with their welds, under feet that bear on all of their pad, a guard's back
    unit, thickness = spec.unit, spec.model.plate.thickness
    whole = [*closes]
    for name, rib in spec.model.plate.ribs.items():
        bar = PlacedRib.of(name, rib)
        whole.append(bar.shape.grown(weld_leg(unit, thickness, bar.width) + web / 2))
    for mount in mounts.values():
        if mount.pad is not None:
            whole += [sweep(mount.pad.moved(Pose(*point)), mount.hole_travel) for point in mount.points]
        if mount.jack is not None:
            thick, wide, _ = mount.jack.lug
            if mount.jack.angle is not None:
                whole.append(lug_foot(mount.jack).grown(web / 2))
                continue
            reach = math.hypot(thick, wide) / 2 + mount.jack.leg
            whole.append(Disc(mount.jack.back(mount.jack.set_back + thick / 2), reach + web / 2))
    nodes = [*dict.fromkeys(one.shape.centroid for one in openings), *corners_of(outline)]
    if len(nodes) > MOST_NODES:
        found = f"a plate with {len(nodes)} openings and corners"
        raise SpecError((spec.problem(FIELD, found, f"webs are laid between at most {MOST_NODES}; leave it out"),))
    try:
        pockets = pockets_between(outline, tuple(nodes), (*pads, *whole), web, corner)
    except GeometryError as error:
        raise SpecError((spec.problem(FIELD, "webs that leave no sound opening", str(error)),)) from error
    return (
        *openings,
        *(
            Opening(f"lightening {number}", "cutout", shape, shape.centroid, 0.0, FIELD)
            for number, shape in enumerate(pockets, start=1)
        ),
    )


def web_of(spec: Spec, words: Lighten, limits: PlateLimits) -> float:
    """How wide the webs are, mm."""
    if words.web != "auto":
        return words.web
    return max(WEB_IN_THICKNESSES * spec.model.plate.thickness, limits.web.value)


def webs_wanted(layout: Layout) -> float | None:
    """How wide the webs are that the spec asks for, mm; None where it asks for no lightening."""
    words = layout.spec.model.plate.lighten
    return None if words is None else web_of(layout.spec, words, layout.limits)


def corner_of(spec: Spec, words: Lighten, limits: PlateLimits) -> float:
    """The radius of the corners, mm."""
    if words.corner != "auto":
        return words.corner
    return max(CORNER, spec.model.plate.thickness, limits.inside_radius.value)


def corners_of(outline: Shape) -> list[Point]:
    """Where the outside turns: the middles of its round corners, and its sharp ones (mm)."""
    if isinstance(outline, Disc):
        return [polar(outline.center, outline.radius, math.tau * number / ON_A_DISC) for number in range(ON_A_DISC)]
    found: list[Point] = []
    edges = outline.loop().edges
    for before, edge in zip((edges[-1], *edges[:-1]), edges, strict=True):
        (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
        if math.atan2(ux * vy - uy * vx, ux * vx + uy * vy) > CONVEX:
            found.append(edge.a)
        if isinstance(edge, Arc) and edge.sweep > CONVEX:
            # of a long arc several, so that no chord between two cuts off much
            parts = max(round(edge.sweep / (math.tau / ON_A_DISC)), 1)
            found += [edge.at((k + 0.5) / parts) for k in range(parts)]
    return found


def webs_between(nodes: Sequence[Point]) -> tuple[Line, ...]:
    """The shortest lines between nodes that cross no shorter one and pass over no other node (mm)."""
    pairs = sorted(itertools.combinations(sorted(nodes), 2), key=lambda pair: math.dist(*pair))
    taken: list[Line] = []
    group: list[Line] = []
    first = 0.0
    for a, b in pairs:
        long = math.dist(a, b)
        if long <= ALIKE:
            continue
        if long - first > ALIKE:
            # equally short ones do not keep each other out: else a plate and its mirror image had other webs
            taken += group
            group, first = [], long
        line = Line(a, b)
        if any(_near(line, node) for node in nodes) or any(_cross(line, other) for other in taken):
            continue
        group.append(line)
    return (*taken, *group)


def _near(line: Line, node: Point) -> bool:
    """Whether a line passes over a node that is none of its ends."""
    if math.dist(node, line.a) <= ALIKE or math.dist(node, line.b) <= ALIKE:
        return False
    return math.dist(line.nearest(node), node) <= ALIKE


def _cross(one: Line, other: Line) -> bool:
    """Whether two lines cross within both; where they only share an end they do not."""

    def side(line: Line, p: Point) -> float:
        (ax, ay), (bx, by) = line.a, line.b
        return ((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / line.length

    a, b, c, d = side(other, one.a), side(other, one.b), side(one, other.a), side(one, other.b)
    return min(a, b) < -ALIKE and max(a, b) > ALIKE and min(c, d) < -ALIKE and max(c, d) > ALIKE


@lru_cache(maxsize=32)  # a page asks again after a change of anything else
def pockets_between(
    outline: Shape, nodes: tuple[Point, ...], kept: tuple[Shape, ...], web: float, corner: float
) -> tuple[Loop, ...]:
    """What may be taken out between the webs from node to node, the rim, and what is kept; mm, the largest first."""
    strips = [slot(line.a, line.b, web / 2) for line in webs_between(nodes)]
    cutters = [*kept, *strips]
    found: list[Loop] = []
    for inner in outline.loop().grown_all(-web):
        for piece in difference(inner, cutters):
            # what lies loose within a piece would fall out with it; rooms that no web reaches stay as they are
            if not any(piece.contains(cutter.centroid) for cutter in cutters):
                found += rounded(piece, corner)
    found = apart(found, web, corner)
    worth = [one for one in found if one.area >= WORTH * outline.area and _holds(one, WIDER * corner)]
    return tuple(sorted(worth, key=lambda one: (-round(one.area, 3), *(round(c, 3) for c in one.centroid))))


def rounded(piece: Loop, corner: float) -> list[Loop]:
    """What a tool of this radius reaches within a piece, mm: an opening of mathematical morphology, see `waisted`."""
    try:
        return [core.grown(corner) for core in piece.grown_all(-corner)]
    except GeometryError:
        return []  # hardly wider than its corners: it stays steel


def apart(pockets: list[Loop], web: float, corner: float) -> list[Loop]:
    """The pockets with a web between any two (mm): what a tool reaches from both ends of a neck may meet.

    Each gives way to the others as they were, so that none goes first: a plate and its mirror image stay alike.
    """
    for _ in range(ROUNDS):
        near = _too_near(pockets, web)
        if not near:
            return pockets
        made: list[Loop] = []
        for number, pocket in enumerate(pockets):
            others = [pockets[k].grown(web) for k in near.get(number, ())]
            made += [one for piece in difference(pocket, others) for one in rounded(piece, corner)]
        pockets = made
    near = _too_near(pockets, web)
    return [pocket for number, pocket in enumerate(pockets) if number not in near]


def _too_near(pockets: Sequence[Loop], web: float) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for i, j in Index([one.box for one in pockets]).pairs_within(web):
        if distance(pockets[i], pockets[j]).distance < web - EPS:
            found.setdefault(i, []).append(j)
            found.setdefault(j, []).append(i)
    return found


def _holds(pocket: Loop, radius: float) -> bool:
    """Whether a circle of a radius (mm) finds room."""
    try:
        return bool(pocket.grown_all(-radius))
    except GeometryError:
        return False
