"""Parts on hinged bases: the space that they cover while they swing about an axis along the plate.

The axis is parallel to the shafts of the belt that the swing tightens, so that all is seen in that belt's plane: each
body as the outline that it has there, held along the shafts as far as it reaches. Where it is no prism along the shafts
that is more than the body itself, which is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache

from msgspec.structs import replace

from platekit.geometry import Loop, Plane, Point, Solid, StandingPrism, Upright, hull, polygon_loop, pose_at
from platekit.laying.mounts import Hinged, MountFrame
from platekit.placed import Body

LOOKS = 48
"""Directions in which a body is looked at for its outline (ours): its lines of support there enclose it."""
STEPS = 12
"""Positions of the swing whose hull is taken, grown by what an arc bulges between two of them (ours)."""


def on_hinges(bodies: Iterable[Body], frames: dict[str, MountFrame]) -> Iterator[Body]:
    """The bodies, those of parts on hinged bases with all that they cover over the swing; screws stay in the base."""
    for body in bodies:
        frame = frames.get(body.carrier)
        if frame is None or frame.hinge is None or body.hardware or body.kind == "spigot":
            yield body
            continue
        covers = tuple(swing_cover(solid, frame.hinge) for solid in body.solids)
        whole = hull([one.silhouette for one in covers])
        # One that swings has left its nominal z, so the range is that of all it covers; the spigot and the screws stay
        # behind in the base, which is bolted fast.
        z = (min(one.low for one in covers), max(one.high for one in covers))
        yield replace(body, swept=whole, z=z, pieces=body.solids, covers=covers)


def swing_cover(solid: Solid, hinge: Hinged) -> StandingPrism:
    """What a solid covers while it swings: a convex prism along the shafts that holds it at every position (mm)."""
    plane, swing = hinge.plane, hinge.swing
    outline = polygon_loop(seen_along(solid, plane))
    turn = (swing.install + swing.tension) / STEPS
    far = max(math.dist(swing.about, (x, y)) for x, y, _ in outline.vertices)
    bulge = far * (1 - math.cos(turn / 2))
    positions = [-swing.install + turn * step for step in range(STEPS + 1)]
    # Between two positions a point runs on an arc that stands out over its chord by r(1 - cos(turn/2)), and the
    # farthest point most of all: grown by that, the hull holds every position between as well.
    covered = hull([outline.moved(pose_at(swing, s)) for s in positions]).grown(bulge)
    assert isinstance(covered, Loop)
    reach = [_reach(solid, (sign * plane.n[0], sign * plane.n[1], 0.0)) for sign in (1.0, -1.0)]
    return StandingPrism(covered, plane.u[:2], -reach[1], reach[0])


@lru_cache(maxsize=1024)  # what stands still is asked again at each edit of something else
def seen_along(solid: Solid, plane: Plane) -> tuple[Point, ...]:
    """The corners of a polygon that encloses a solid as it is seen along the shafts, counter-clockwise (mm)."""
    if isinstance(solid, Upright) and solid.straight:
        right, left = _reach(solid, (*plane.u[:2], 0.0)), -_reach(solid, (-plane.u[0], -plane.u[1], 0.0))
        return ((right, solid.high), (left, solid.high), (left, solid.low), (right, solid.low))
    angles = [math.tau * k / LOOKS for k in range(LOOKS)]  # level and upright too: a flat foot stays flat
    ways = [(math.cos(a), math.sin(a)) for a in angles]
    reaches = [_reach(solid, (x * plane.u[0], x * plane.u[1], y)) for x, y in ways]
    corners = []
    for k in range(LOOKS):
        (ax, ay), (bx, by) = ways[k], ways[(k + 1) % LOOKS]
        p, q = reaches[k], reaches[(k + 1) % LOOKS]
        det = ax * by - ay * bx
        # Two neighbouring lines of support cross in a corner of the enclosing polygon.
        corners.append(((p * by - q * ay) / det, (q * ax - p * bx) / det))
    # Where a flat side is looked at square on, several lines cross in one place: one corner is enough.
    around = zip(corners, corners[1:] + corners[:1], strict=True)
    return tuple(p for p, after in around if math.dist(p, after) > 1e-6)


def _reach(solid: Solid, way: tuple[float, float, float]) -> float:
    """How far a solid reaches in a direction, mm."""
    x, y, z = solid.support(way)
    return x * way[0] + y * way[1] + z * way[2]
