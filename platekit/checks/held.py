"""Rules on what the screws of a part hold in: steel under each of them, and as many screws as the part has holes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from platekit import tables
from platekit.checks.advice import say, words_at
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Point, Shape, Upright, covers, distance, edge_distance
from platekit.laying.shafts import Span, misplaced_shafts, span_on
from platekit.placed import SAME_LENGTH, Layout, PlacedMount

WALL = 0.25
"""Steel wanted beside a thread or hole in a part, in screw diameters (ours)."""
BREAKS = 0.1
"""With less, in screw diameters, the edge breaks out when the screw is tightened, however roughly the part was
described (ours)."""
SAME_CIRCLE = 0.5
"""A bolt circle measured or typed is a standard's when it differs by less, mm (ours)."""
SAME_PILOT = 0.3
"""A pilot measured or typed is a standard's when it differs by less, mm (ours)."""
SAME_ANGLE = math.radians(1)
"""Holes this near to an even division are meant to be on it, rad (ours)."""
USUAL = (4, 6, 8)
"""Holes that a face has evenly on its circle (common practice)."""
LEAST = 3
"""Fewer screws than this let a part rock about the line through them (P: geometry)."""

Flat = tuple[str, Shape, Span]
"""A body in which screws may hold: its name, its outline seen along the normal, its span from the mating face."""

# --------------------------------------------------------------------------------------------- steel


def steel_under(layout: Layout) -> Iterator[Finding]:
    """Screws (mm) of a part beside the bodies that it was described by, at their edge, or out of their back."""
    wrong = {one.mount for one in misplaced_shafts(layout)}  # `shaft-place` says that its holes and bodies do not agree
    for mount in layout.mounts.values():
        if mount.stack is None or mount.standard is not None or mount.stack.into == "plate" or mount.name in wrong:
            continue
        screw = tables.screw(mount.stack.size).diameter
        flats = bodies_of_part(layout, mount)
        if not any(
            distance(Disc(point, screw / 2), shape).distance < 0 for point in mount.points for _, shape, _ in flats
        ):
            continue
        needed = WALL * screw
        # the thickest of what lies round each screw counts: parts of one casting are described one by one
        walls = {
            hole: max((edge_distance(Disc(point, screw / 2), shape).distance, name) for name, shape, _ in flats)
            for hole, point in zip(mount.hole_names, mount.points, strict=True)
        }
        short = {hole: wall for hole, wall in walls.items() if wall[0] < needed - SAME_LENGTH}
        if short:
            hole = min(short, key=lambda one: short[one])
            found, name = short[hole]
            where = mount.points[mount.hole_names.index(hole)]
            if found < -screw + SAME_LENGTH:
                said = f"there is no steel under it: {name} ends {say(layout, -found - screw / 2)} from its middle"
            else:
                said = f"{say(layout, max(found, 0.0))} of {name} is left beside it; {say(layout, needed)} is needed"
            yield Finding(
                rule="steel-under",
                level="stop" if found < BREAKS * screw - SAME_LENGTH else "warn",
                message=f"{hole}: the screw into {mount.name} is not well within what {mount.name} was described by; "
                f"{said}"
                + (f" (the same at {'; '.join(one for one in short if one != hole)})" if len(short) > 1 else ""),
                features=(*short, name),
                at=where,
                found=found,
                needed=needed,
                advice=Advice(
                    f"measure again where {name} is and where its holes are; the part must have steel under each screw"
                ),
            )
        # Threads that are said to be deeper than the part is there: the first is told, as they are all drilled alike.
        stack, depth = mount.stack, mount.stack.available
        for hole, point in zip(mount.hole_names, mount.points, strict=True):
            if stack.into != "part" or depth is None:
                break
            over = [(span[1], name) for name, shape, span in flats if covers(shape, Disc(point, SAME_LENGTH))]
            if not over or depth <= max(over)[0] + SAME_LENGTH:
                continue
            steel, name = max(over)
            stops = min(stack.engagement, steel) < stack.needed - SAME_LENGTH
            yield Finding(
                rule="steel-under",
                level="stop" if stops else "warn",
                message=f"{hole}: its thread is said to be {say(layout, depth)} deep; {name} is {say(layout, steel)} "
                "thick" + (f"; the screw needs {say(layout, stack.needed)} of thread" if stops else ""),
                features=(hole, name),
                at=point,
                found=depth,
                needed=steel,
                advice=Advice(
                    f"measure which of the two is right, and correct screws: depth or the span of {name}",
                    () if stops else (Remedy(f"{stack.field}.depth", f"{steel:.6g} mm"),),
                ),
            )
            break


def bodies_of_part(layout: Layout, mount: PlacedMount) -> list[Flat]:
    """The bodies of a part that begin at its mating face, or in front of it, and lie on its own side."""
    found = []
    for body in layout.bodies:
        if body.carrier == mount.name and body.kind == "given":
            for solid in body.solids:
                low, high = span_on(layout, mount, (solid.low, solid.high))
                if isinstance(solid, Upright) and low <= SAME_LENGTH < high:
                    found.append((body.name, solid.shape, (low, high)))
    return found


# --------------------------------------------------------------------------------------------- how many


def few_screws(layout: Layout) -> Iterator[Finding]:
    """Parts that are held by fewer screws than their face (circle, mm) has holes for."""
    for mount in layout.mounts.values():
        if mount.standard is not None or len(mount.points) < 2:
            continue
        full, why = _full(layout, mount) or (0, "")
        used = len(mount.points)
        if full > used:
            advice = (
                f"give the plate a hole for each of the part's screws and use all of them ({full} instead of {used}), "
                "or accept it with the reason"
            )
            # angles that the spec lists are those that it has of the whole division: then the others can be given, too
            remedies: tuple[Remedy, ...] = ()
            given = words_at(layout, f"{mount.field}.pattern.circle.angles") if mount.pattern == "circle" else None
            if given and _on_division(mount.own_points, full):
                first = math.degrees(given[0])
                angles: list[FieldValue] = [f"{(first + 360 * k / full) % 360:.6g} deg" for k in range(full)]
                remedies = (Remedy(f"{mount.field}.pattern.circle.angles", angles),)
            yield Finding(
                rule="few-screws",
                level="warn",
                message=f"{mount.name} is held by {used} screws: {why}",
                features=(mount.name, *mount.hole_names),
                at=mount.points[0],
                found=float(used),
                needed=float(full),
                unit="screws",
                advice=Advice(advice, remedies),
            )


def _full(layout: Layout, mount: PlacedMount) -> tuple[int, str] | None:
    """How many screws the part's face has, and how that is known; None where nothing speaks for more."""
    used = len(mount.own_points)
    # Diameter of the circle about 0,0 that all points lie on, mm.
    radii = [math.hypot(*point) for point in mount.own_points]
    even = max(radii) - min(radii) <= SAME_CIRCLE / 2
    circle = 2 * sum(radii) / len(radii) if even and min(radii) > SAME_CIRCLE else None
    if circle is not None:
        # a standard face with this circle and pilot says how many holes it has; one with as many as are used settles it
        rows = [row for row in tables.mounts_on_circle(circle, SAME_CIRCLE) if _fits(mount, row)]
        if any(row.holes == used for row in rows):
            return None
        if rows:
            row = max(rows, key=lambda one: one.holes)
            pilot = "" if mount.pilot is None else f" round a pilot of {say(layout, mount.pilot)}"
            return row.holes, (
                f"a face with a bolt circle of {say(layout, circle)}{pilot} has {row.holes} ({row.designation}, "
                f"{row.source})"
            )
        # Half of an even division or more, and no pattern of their own: not even by itself, nor a rectangle, of which
        # every point has its opposite.
        points = mount.own_points
        opposite = [any(math.dist((-x, -y), point) <= SAME_CIRCLE for point in points) for x, y in points]
        own_pattern = all(opposite) or _on_division(points, used)
        for whole in USUAL:
            if whole / 2 <= used < whole and _on_division(points, whole) and not own_pattern:
                return whole, (
                    f"they stand where {used} of {whole} even ones would, so {whole - used} of them are left out"
                )
    driven = any(pulley.mount == mount.name for belt in layout.belts for pulley in (belt.driver, belt.driven))
    if layout.twisted is not None and mount.name in (layout.twisted.driver, layout.twisted.driven):
        driven = True
    driven |= any(mount.name == shaft.mount for one in layout.couplings for shaft in one.shafts)
    if used < LEAST and (driven or mount.pilot is not None):
        return (
            LEAST,
            f"with fewer than {LEAST} a part that a belt pulls, or that turns, can rock about the line of both",
        )
    return None


def _fits(mount: PlacedMount, row: tables.StandardMount) -> bool:
    """Whether a standard face with the part's circle could be this one: its pilot, its places for the screws.

    Without a pilot only what is no even pattern of its own, or a pair, is held against a standard.
    """
    if mount.pilot is not None and (row.pilot is None or abs(row.pilot - mount.pilot) > SAME_PILOT):
        return False
    if mount.pilot is None and len(mount.own_points) >= LEAST and _on_division(mount.own_points, len(mount.own_points)):
        return False
    return _on_division(mount.own_points, row.holes)


def _on_division(points: Sequence[Point], full: int) -> bool:
    """Whether points about 0,0 lie on an even division of the circle into so many."""
    step = math.tau / full
    first = math.atan2(points[0][1], points[0][0])
    # from the first point, since nobody says where on its circle a pattern begins
    offs = [(math.atan2(y, x) - first) / step for x, y in points]
    return all(abs(off - round(off)) * step <= SAME_ANGLE for off in offs)


RULES = (
    Rule(
        "steel-under",
        "a screw where its part has no steel, or a thread deeper than the part",
        f"{WALL:g} screw diameters beside the thread; it stops below {BREAKS:g}",
        "ours",
        steel_under,
        levels=("stop", "warn"),
        keys=("bodies.NAME.shape", "bodies.NAME.span", "mounts.NAME.screws.depth"),
    ),
    Rule(
        "few-screws",
        "a part on some of its screws only",
        "as many as the face has holes",
        "the standard with that circle and pilot (published), else an even division (geometry)",
        few_screws,
        levels=("warn",),
        keys=("mounts.NAME.pattern",),
    ),
)
