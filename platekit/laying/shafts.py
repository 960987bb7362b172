"""The shafts that pulleys sit on, as lines in space: told by spec or standard, else from bodies described there."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from platekit.geometry import Disc, Lying, Point, Shape, Upright, distance
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedMount, PlacedPulley

SHAFT_POINT = 0.05
"""Radius of the spot in a pulley's middle that its shaft covers, mm (ours)."""
THICK = 0.4
"""A round body wider than this share of a pulley is a cap or boss where it does not reach into the pulley (ours: the
largest bores are about half of a pulley, from memory)."""
SAME_SHAFT = 1.25
"""A body up to this many times as thick as the standard's shaft is that shaft, measured; a thicker one is a boss on the
shield (ours)."""

Vector = tuple[float, float, float]
Span = tuple[float, float]


class Shaft(Struct, frozen=True):
    """A shaft as a line in space, plate frame, mm: a point on its axis, its direction, its stretch.

    `stretch` is (from, to) along the direction, counted from the point. A face's shaft stands square to the plate: its
    point lies in the mating face and its direction points into the part's own side, so that its stretch is the span
    that a spec would give it. One that lies along the plate points from where it leaves its part to its end, and spans
    count along it from there. `said` is what it is called.
    """

    point: Vector
    direction: Vector
    stretch: Span
    said: str

    @property
    def square(self) -> bool:
        """Whether it stands square to the plate."""
        return abs(self.direction[2]) > 1 - SAME_LENGTH


def shaft_of(layout: Layout, pulley: PlacedPulley) -> Shaft | None:
    """The shaft that a pulley sits on; None where nothing tells of it."""
    mount = layout.mounts.get(pulley.mount)
    if mount is None:
        return None
    if pulley.axis is not None:
        axis = pulley.axis
        if axis.lies:
            return Shaft(axis.point, axis.direction, axis.stretch, axis.said)
        return _square(layout, mount, pulley, (-axis.stretch[1], -axis.stretch[0]), axis.said)
    return _standing(layout, mount, pulley) or _lying(layout, mount, pulley)


def span_on(layout: Layout, mount: PlacedMount, z: Span) -> Span:
    """A z range as the span that a spec would give it: from the mating face, positive into the part's own side."""
    ends = [outward(mount) * (end - mating_z(layout, mount)) for end in z]
    return (min(ends), max(ends))


def outward(mount: PlacedMount) -> float:
    """The z direction from the plate into a part's own side."""
    return 1.0 if mount.side == "near" else -1.0


def mating_z(layout: Layout, mount: PlacedMount) -> float:
    """The z of a mount's mating face."""
    return mount.standoff if mount.side == "near" else -layout.thickness - mount.standoff


# --------------------------------------------------------------------------------------- along the plate


def _lying(layout: Layout, mount: PlacedMount, pulley: PlacedPulley) -> Shaft | None:
    """A body of the mount that lies across where the pulley is: what turns there lies along the plate."""
    rim = Disc(pulley.center, pulley.largest_diameter / 2)
    for body in layout.bodies:
        if body.carrier == mount.name and body.kind == "given":
            for solid in body.solids:
                if isinstance(solid, Lying) and distance(rim, solid.silhouette).distance < 0:
                    (ax, ay), (bx, by) = solid.a, solid.b
                    length = math.hypot(bx - ax, by - ay)
                    return Shaft(
                        (ax, ay, solid.height), ((bx - ax) / length, (by - ay) / length, 0.0), (0.0, length), body.name
                    )
    return None


# --------------------------------------------------------------------------------------- square to it


def _standing(layout: Layout, mount: PlacedMount, pulley: PlacedPulley) -> Shaft | None:
    """The shaft square to the plate in a pulley's middle: a body that was described, else the standard's."""
    rim = span_on(layout, mount, pulley.z)
    standard = mount.standard
    listed: tuple[Span, float] | None = None
    if standard is not None and standard.shaft_length and standard.shaft:
        axis = mount.pose.point((0.0, 0.0))
        if math.dist(axis, pulley.center) <= SAME_LENGTH:
            own = (body for body in layout.bodies if body.kind == "standard" and body.name == f"{mount.name}.shaft")
            span = next((span_on(layout, mount, body.z) for body in own), (-standard.shaft_length, 0.0))
            listed = (span, standard.shaft)
    found = [
        (span_on(layout, mount, (solid.low, solid.high)), body.name)
        for body, solid in _coaxial(layout, mount, pulley)
        if _may_be_shaft(span_on(layout, mount, (solid.low, solid.high)), rim, solid.silhouette, pulley)
        and (listed is None or _width(solid.silhouette) <= SAME_SHAFT * listed[1])
    ]
    if found:
        name = min(found, key=lambda one: (-_shared(one[0], rim), one[0]))[1]
        return _square(layout, mount, pulley, _joined([span for span, _ in found], rim), name)
    if listed is not None and standard is not None:
        said = f"the shaft of {standard.designation}"
        return _square(layout, mount, pulley, listed[0], said)
    return None


def _square(layout: Layout, mount: PlacedMount, pulley: PlacedPulley, stretch: Span, said: str) -> Shaft:
    return Shaft((*pulley.center, mating_z(layout, mount)), (0.0, 0.0, outward(mount)), stretch, said)


def _coaxial(layout: Layout, mount: PlacedMount, pulley: PlacedPulley) -> Iterator[tuple[Body, Upright]]:
    """What a mount was told to carry that goes through a pulley's middle and is narrower than its rim."""
    for body in layout.bodies:
        if body.carrier == mount.name and body.kind == "given":
            for solid in body.solids:
                if isinstance(solid, Upright) and _through_the_middle(solid.silhouette, pulley):
                    yield body, solid


def _through_the_middle(shape: Shape, pulley: PlacedPulley) -> bool:
    narrower = _width(shape) < pulley.largest_diameter
    return narrower and distance(Disc(pulley.center, SHAFT_POINT), shape).distance <= 0


def on_the_axis(body: Body, pulley: PlacedPulley) -> bool:
    """Whether a body of a pulley's own mount turns with it, or is what it turns on: on its axis and narrower."""
    own = body.carrier == pulley.mount and body.kind in ("given", "standard", "pulley")
    if own and pulley.drawn.lies:
        return all(isinstance(solid, Lying) and _on_lying_axis(solid, pulley) for solid in body.solids)
    return own and all(
        isinstance(solid, Upright) and _through_the_middle(solid.silhouette, pulley) for solid in body.solids
    )


def _on_lying_axis(solid: Lying, pulley: PlacedPulley) -> bool:
    """Whether a lying cylinder is about a pulley's axis, and no thicker than its rim."""
    ends = (pulley.drawn.flat((*end, solid.height))[0] for end in (solid.a, solid.b))
    thin = solid.radius <= pulley.largest_diameter / 2 + SAME_LENGTH
    return thin and all(math.dist(end, pulley.center) <= SAME_LENGTH for end in ends)


def _may_be_shaft(span: Span, rim: Span, shape: Shape, pulley: PlacedPulley) -> bool:
    """Whether a coaxial body is the pulley's shaft: it reaches into it, or points at it and is thin enough for one."""
    if _shared(span, rim) > SAME_LENGTH:
        return True
    points_at_it = span[0] < -SAME_LENGTH if rim[1] <= 0 else span[1] <= rim[0] + SAME_LENGTH
    return points_at_it and _width(shape) <= THICK * pulley.largest_diameter


def _width(shape: Shape) -> float:
    return max(shape.box.width, shape.box.height)


def _shared(one: Span, other: Span) -> float:
    return min(one[1], other[1]) - max(one[0], other[0])


def _joined(spans: Sequence[Span], rim: Span) -> Span:
    """The stretch that pieces on one axis make together, out of the one that comes nearest to the rim."""
    low, high = min(spans, key=lambda span: (-_shared(span, rim), span))
    for _ in spans:
        for a, b in spans:
            if a <= high + SAME_LENGTH and b >= low - SAME_LENGTH:
                low, high = min(low, a), max(high, b)
    return (low, high)


# --------------------------------------------------------------------------------------- where they cannot be


class Misplaced(Struct, frozen=True):
    """A hole of a mount that a shaft of the same mount runs through: the hole's name, and what is on that axis."""

    mount: str
    hole: str
    at: Point
    shafts: tuple[str, ...]


def misplaced(layout: Layout) -> tuple[Misplaced, ...]:
    """Screws and shafts of one part in one place: the shafts are not where the spec says, or the holes are not."""
    found = []
    piercing: dict[str, list[Body]] = {}
    for body in layout.bodies:
        if body.carrier in layout.mounts and _pierces(layout, layout.mounts[body.carrier], body):
            piercing.setdefault(body.carrier, []).append(body)
    for mount in layout.mounts.values():
        ends = (pulley for belt in layout.belts for pulley in (belt.driver, belt.driven))
        pulleys = [p for p in ends if p.mount == mount.name and (p.axis is None or not p.axis.lies)]
        round_ones = piercing.get(mount.name, [])
        if len(mount.points) < 2 or not (pulleys or round_ones):
            continue  # a single stud may be the very axle that a pulley turns on
        for hole, point in zip(mount.hole_names, mount.points, strict=True):
            near = [p for p in pulleys if math.dist(p.center, point) < mount.hole / 2]
            bodies = [b for b in round_ones if _at_the_hole(b, point, mount.hole / 2, pulleys)]
            names = (*(p.name for p in near), *(b.name for b in bodies))
            if names:
                found.append(Misplaced(mount.name, hole, point, names))
    return tuple(found)


def _pierces(layout: Layout, mount: PlacedMount, body: Body) -> bool:
    """Whether a round body of a mount goes into the plate, or past it."""
    if body.kind not in ("given", "standard") or not isinstance(body.shape, Disc):
        return False
    return span_on(layout, mount, body.z)[0] < -mount.standoff - SAME_LENGTH


def _at_the_hole(body: Body, point: Point, radius: float, pulleys: Sequence[PlacedPulley]) -> bool:
    center = body.shape.box.center
    off = math.dist(center, point)
    if any(math.dist(center, pulley.center) <= SAME_LENGTH for pulley in pulleys):
        return off < body.shape.box.width / 2 + radius
    return off < radius
