"""The shafts that pulleys sit on, as lines in space: told by spec or standard, else from bodies described there."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from platekit import tables
from platekit.geometry import Disc, Lying, Point, Shape, Upright, covered_by_union, distance
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedMount, PlacedPulley, held

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
    # What spec or standard tells is worth more than what bodies hint at.
    if pulley.axis is not None:
        axis = pulley.axis
        if axis.lies:
            return Shaft(axis.point, axis.direction, axis.stretch, axis.said)
        return _square(layout, mount, pulley, (-axis.stretch[1], -axis.stretch[0]), axis.said)
    return _standing(layout, mount, pulley) or _lying(layout, mount, pulley)


def key_on(layout: Layout, name: str) -> tables.KeySeat | None:
    """The key and its keyways (mm) of a mount's shaft; None where no standard tells it, or the spec tells the shaft."""
    mount = layout.mounts.get(name)
    if mount is None or mount.standard is None or all(body.name != f"{name}.key" for body in layout.bodies):
        return None
    return tables.key_seat(mount.standard)


def span_on(layout: Layout, mount: PlacedMount, z: Span) -> Span:
    """A z range (mm) as the span that a spec would give it: from the mating face, positive into the part's own side."""
    ends = [outward(mount) * (end - mating_z(layout, mount)) for end in z]
    return (min(ends), max(ends))


def outward(mount: PlacedMount) -> float:
    """The z direction from the plate into a part's own side: 1 or -1, no unit; z itself is in mm."""
    return 1.0 if mount.side == "near" else -1.0


def mating_z(layout: Layout, mount: PlacedMount) -> float:
    """The z of a mount's mating face, mm."""
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
    # The standard's shaft counts where the pulley sits on the part's own axis; one beside it is on something else.
    listed: tuple[Span, float] | None = None
    if standard is not None and standard.shaft_length and standard.shaft:
        axis = mount.pose.point((0.0, 0.0))
        if math.dist(axis, pulley.center) <= SAME_LENGTH:
            own = (body for body in layout.bodies if body.kind == "standard" and body.name == f"{mount.name}.shaft")
            span = next((span_on(layout, mount, body.z) for body in own), (-standard.shaft_length, 0.0))
            listed = (span, standard.shaft)
    # What the mount was told to carry that goes through the pulley's middle and is narrower than its rim. It is the
    # pulley's shaft if it reaches into the pulley, or points at it and is thin enough for one.
    found: list[tuple[Span, str]] = []
    for body in layout.bodies:
        if body.carrier != mount.name or not (body.kind == "given" or body.measured):
            continue
        for solid in body.solids:
            if not isinstance(solid, Upright) or not _through_the_middle(solid.silhouette, pulley):
                continue
            span, width = span_on(layout, mount, (solid.low, solid.high)), solid.silhouette.box.longest
            points_at_it = span[0] < -SAME_LENGTH if rim[1] <= 0 else span[1] <= rim[0] + SAME_LENGTH
            thin = points_at_it and width <= THICK * pulley.largest_diameter
            if _shared(span, rim) <= SAME_LENGTH and not thin:
                continue
            if body.measured:
                # what stands out of a machine's face goes on behind it, where nobody measured it
                span = (span[0], math.inf)
            if listed is None or width <= SAME_SHAFT * listed[1]:
                found.append((span, body.name))
    if found:
        # The stretch that pieces on one axis make together, out of the one that comes nearest to the rim: as many
        # rounds as there are pieces, since each may only reach the stretch by way of all others.
        (low, high), name = min(found, key=lambda one: (-_shared(one[0], rim), one[0]))
        spans = [span for span, _ in found]
        for _ in spans:
            for a, b in spans:
                if a <= high + SAME_LENGTH and b >= low - SAME_LENGTH:
                    low, high = min(low, a), max(high, b)
        return _square(layout, mount, pulley, (low, high), name)
    if listed is not None and standard is not None:
        said = f"the shaft of {standard.designation}"
        return _square(layout, mount, pulley, listed[0], said)
    return None


def _square(layout: Layout, mount: PlacedMount, pulley: PlacedPulley, stretch: Span, said: str) -> Shaft:
    return Shaft((*pulley.center, mating_z(layout, mount)), (0.0, 0.0, outward(mount)), stretch, said)


def _through_the_middle(shape: Shape, pulley: PlacedPulley) -> bool:
    """Whether a shape covers a spot in a pulley's middle, and is narrower than its rim."""
    spot = Disc(pulley.center, SHAFT_POINT)
    box = shape.box
    return box.longest < pulley.largest_diameter and box.overlaps(spot.box) and distance(spot, shape).distance <= 0


ASKEW = math.radians(1.0)
"""Up to this angle to a pulley's axis a shaft that lies along the plate is its own, rad (ours: more no belt bears)."""


def on_the_axis(body: Body, pulley: PlacedPulley) -> bool:
    """Whether a body of a pulley's own mount turns with it, or is what it turns on: on its axis and narrower (mm)."""
    own = body.carrier == pulley.mount and body.kind in ("given", "standard", "pulley")
    if own and pulley.drawn.lies:
        for solid in body.solids:
            if not isinstance(solid, Lying) or solid.radius > pulley.largest_diameter / 2 + SAME_LENGTH:
                return False
            # A shaft a little askew to the belt's plane is that pulley's shaft all the same: how far it may be so is
            # another rule's matter. It is beside the pulley's axis by so much as it is long.
            ends = [pulley.drawn.flat((*end, solid.height)) for end in (solid.a, solid.b)]
            far = max(abs(along - sum(pulley.z) / 2) for _, along in ends)
            if any(math.dist(end, pulley.center) > SAME_LENGTH + far * math.tan(ASKEW) for end, _ in ends):
                return False
        return True
    return own and all(
        isinstance(solid, Upright) and _through_the_middle(solid.silhouette, pulley) for solid in body.solids
    )


def on_their_axes(bodies: Sequence[Body], pulleys: Sequence[PlacedPulley]) -> list[bool]:
    """Of each body whether it is on the axis of one of these pulleys, as `on_the_axis` has it (mm)."""
    mounts = {pulley.mount for pulley in pulleys}
    return [body.carrier in mounts and any(on_the_axis(body, one) for one in pulleys) for body in bodies]


def _shared(one: Span, other: Span) -> float:
    """How much of their length two spans have in common, mm; below zero the room between them."""
    return min(one[1], other[1]) - max(one[0], other[0])


# --------------------------------------------------------------------------------------- where they cannot be


@held
def inside_the_plate(layout: Layout) -> tuple[Body, ...]:
    """Lying shafts whose axis is between the plate's faces where it has steel, without an opening round all of it."""
    low, high = layout.plate_z
    through = [opening.shape for opening in layout.openings if opening.through]
    found = []
    for body in layout.bodies:
        axes = [one.height for one in body.pieces if isinstance(one, Lying)]
        if body.name.endswith(".key"):  # told with its shaft
            continue
        if body.kind != "standard" or body.carrier not in layout.mounts or len(axes) != len(body.pieces) or not axes:
            continue
        if not all(low + SAME_LENGTH < height < high - SAME_LENGTH for height in axes):
            continue
        inside = [shape for shape in body.covered(low, high) if distance(shape, layout.plane).distance < body.gap]
        if any(not covered_by_union(shape, through, body.gap) for shape in inside):
            found.append(body)
    return tuple(found)


class Misplaced(Struct, frozen=True):
    """A hole of a mount that a shaft of the same mount runs through: the hole's name, and what is on that axis."""

    mount: str
    hole: str
    at: Point
    shafts: tuple[str, ...]


@held
def misplaced_shafts(layout: Layout) -> tuple[Misplaced, ...]:
    """Screws and shafts of one part in one place: the shafts are not where the spec says, or the holes are not."""
    found = []
    piercing: dict[str, list[Body]] = {}
    for body in layout.bodies:
        carrier = layout.mounts.get(body.carrier)
        if carrier is None or body.kind not in ("given", "standard") or not isinstance(body.shape, Disc):
            continue
        if body.name == f"{carrier.name}.key":  # told with its shaft
            continue
        if span_on(layout, carrier, body.z)[0] < -carrier.standoff - SAME_LENGTH:  # into the plate, or past it
            piercing.setdefault(carrier.name, []).append(body)
    for mount in layout.mounts.values():
        ends = (pulley for belt in layout.belts for pulley in (belt.driver, belt.driven))
        pulleys = [p for p in ends if p.mount == mount.name and (p.axis is None or not p.axis.lies)]
        round_ones = piercing.get(mount.name, [])
        if len(mount.points) < 2 or not (pulleys or round_ones):
            continue  # a single stud may be the very axle that a pulley turns on
        for hole, point in zip(mount.hole_names, mount.points, strict=True):
            names = [p.name for p in pulleys if math.dist(p.center, point) < mount.hole / 2]
            for body in round_ones:
                center, reach = body.shape.box.center, mount.hole / 2
                # on a pulley's axis it is surely a shaft, whose edge must not run through the hole either; else it may
                # be anything, and only its middle counts
                if any(math.dist(center, pulley.center) <= SAME_LENGTH for pulley in pulleys):
                    reach += body.shape.box.width / 2
                if math.dist(center, point) < reach:
                    names.append(body.name)
            if names:
                found.append(Misplaced(mount.name, hole, point, tuple(names)))
    return tuple(found)
