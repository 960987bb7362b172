"""Reliefs: the openings that bodies need in the plate, merged where steel between them would be too thin, and notches.

A relief covers what its body covers inside the plate over the travel, with the body's gap all round and no corner
tighter than the process cuts. Two that leave too little steel between them become one: both are grown by half the web,
taken together and taken in again, which fills the thin place and rounds its ends. Where a relief comes too near the
outside, the outline opens straight outwards as a notch. Neither is done where it would come nearer to a screw.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from platekit.errors import GeometryError
from platekit.geometry import (
    Disc,
    Index,
    Loop,
    Pose,
    Shape,
    Slot,
    Straight,
    covered_by_union,
    covers,
    distance,
    edge_distance,
    notch,
    sweep,
    union_loops,
    within_reach,
)
from platekit.laying.shapes import errors_at
from platekit.placed import SAME_LENGTH, Body, Opening, PlateLimits
from platekit.spec import Spec

MERGES = frozenset({"relief", "cutout"})
"""Roles of openings that become one with a relief: those that locate nothing and hold no screw."""


def relief_openings(
    spec: Spec, bodies: tuple[Body, ...], openings: tuple[Opening, ...], limits: PlateLimits
) -> tuple[Opening, ...]:
    """All openings: those given, with the reliefs that bodies still need; merged ones stand for their parts (mm)."""
    needed = tuple(_needed(spec, bodies, openings, limits))
    if not needed:
        return openings
    kept, web = [*openings, *needed], limits.web.value
    fixed = _Fixed([opening for opening in kept if opening.role not in MERGES], web)
    refused: set[tuple[str, str]] = set()
    wide = _Wide(web / 2)
    # Every pass leaves fewer openings, or none is joined: it ends after at most as many passes as there are openings.
    while _joined_once(kept, fixed, web, refused, wide):
        pass
    return tuple(kept)


def _needed(
    spec: Spec, bodies: tuple[Body, ...], openings: tuple[Opening, ...], limits: PlateLimits
) -> Iterator[Opening]:
    """An opening for each body with relief that enters the plate, unless an opening lets it through already."""
    plate_z = (-spec.model.plate.thickness, 0.0)
    through = [opening.shape for opening in openings if opening.through]
    index = Index([shape.box for shape in through]) if through else None
    for body in bodies:
        if not body.relief or not enters(body, plate_z):
            continue
        with errors_at(spec, body.field):
            covered = body.covered(*plate_z)
            # Many bodies share the plate with many openings: only the few that are near can let one through.
            near = [] if index is None else [through[k] for k in index.near(body.swept.box, body.gap)]
            if all(covered_by_union(shape, near, body.gap) for shape in covered):
                continue
            # What the body covers with its gap, in one piece. Growing a shape rounds its corners by as much, so where
            # the gap is not enough for the radius that the process cuts, all of it grows by what is wanting.
            holds_all = (one for one in covered if all(other is one or covers(one, other) for other in covered))
            shape = next(holds_all, None) or union_loops(covered)[0]
            shape = shape.grown(body.gap) if body.gap else shape
            corners = shape.outside_corners() if isinstance(shape, Loop) else []
            least = limits.inside_radius.value
            tightest = min((found for _, found in corners), default=least)
            if tightest < least - SAME_LENGTH:
                shape = shape.grown(least - tightest)
        yield Opening(
            name=f"{body.name}.relief",
            role="relief",
            shape=shape,
            center=body.shape.centroid,
            size=size_of(shape),
            field=body.field,
            mount=body.carrier if body.carrier != "plate" else None,
            for_body=body.name,
            placed=body.placed,
        )


def enters(body: Body, plate_z: tuple[float, float]) -> bool:
    """Whether the body's span reaches into the plate's thickness (both in mm)."""
    return body.z[0] < plate_z[1] - SAME_LENGTH and body.z[1] > plate_z[0] + SAME_LENGTH


def size_of(shape: Shape) -> float:
    """Diameter or slot width of a shape, mm; 0 for one that is neither."""
    return 2 * shape.radius if isinstance(shape, Disc | Slot) else 0.0


# --------------------------------------------------------------------------------------------- merging


class _Wide:
    """Shapes grown by half a web, each once; of one that was joined, that is what it was taken in from."""

    def __init__(self, by: float) -> None:
        self.by = by
        self._grown: dict[Shape, Shape] = {}

    def of(self, shape: Shape) -> Shape:
        """A shape grown by half a web (mm). Raises as `Loop.grown` does."""
        if shape not in self._grown:
            self._grown[shape] = shape.grown(self.by)
        return self._grown[shape]

    def taken_in(self, wide: Loop) -> Loop:
        """The shape that is `wide` when it is grown: nothing of that is lost, since all of it was grown as much."""
        # Kept by its own name: should it be joined again, the grown shape is there, and is the very one it came from.
        shape = wide.grown(-self.by)
        self._grown[shape] = wide
        return shape

    def closed(self, one: Shape, other: Shape) -> Shape | None:
        """Two shapes as one, thin steel between them filled and the ends of the filling rounded by half the web.

        Growing both by half the web closes what is narrower; taking in again leaves all else as it was (closing, as
        image processing calls it). None where that gives no single shape, or one that does not hold both.
        """
        for shape, within in ((one, other), (other, one)):
            if covers(shape, within):
                return shape
        try:
            loops = union_loops(self.of(shape) for shape in (one, other))
            closed = self.taken_in(loops[0]) if len(loops) == 1 else None
        except GeometryError:
            return None
        holds = closed is not None and all(covers(closed, shape, -SAME_LENGTH) for shape in (one, other))
        return closed if holds else None


class _Fixed:
    """Openings that must keep their steel, such as screw holes, pilots and pivots."""

    def __init__(self, openings: Sequence[Opening], web: float) -> None:
        self._shapes = [opening.shape for opening in openings]
        self._index = Index([shape.box for shape in self._shapes]) if openings else None
        self._web = web

    def loses_steel(self, shape: Shape, parts: Sequence[Shape]) -> bool:
        """Whether an opening leaves less steel to one of them than its parts did, and less than the web (mm)."""
        if self._index is None:
            return False
        for k in self._index.near(shape.box, self._web):
            left = distance(shape, self._shapes[k]).distance
            if (
                left < self._web - SAME_LENGTH
                and left < min(distance(p, self._shapes[k]).distance for p in parts) - SAME_LENGTH
            ):
                return True
        return False


def _joined_once(kept: list[Opening], fixed: _Fixed, web: float, refused: set[tuple[str, str]], wide: _Wide) -> bool:
    """Join openings that are too near, two by two; True if any were, since the new ones may have new neighbours.

    Each takes part once, so that of many in one place none grows while it goes through all the others.
    """
    # Two cutouts are left as the user drew them; only where a relief takes part may steel between be taken away.
    free = [opening for opening in kept if opening.through and opening.role in MERGES]
    if not any(opening.role == "relief" for opening in free):
        return False
    taken: dict[int, Opening | None] = {}
    for i, j in Index([opening.shape.box for opening in free]).pairs_within(web):
        a, b = free[i], free[j]
        if i in taken or j in taken or "relief" not in (a.role, b.role) or (a.name, b.name) in refused:
            continue
        if not within_reach(a.shape, b.shape, web - SAME_LENGTH):
            continue
        # Two become one only where that takes no steel from a screw hole or pilot; a pair that was refused is not
        # tried again, since neither of them changes until it is joined with another.
        shape = wide.closed(a.shape, b.shape)
        if shape is None or fixed.loses_steel(shape, [a.shape, b.shape]):
            one = None
        else:
            first, second = (a, b) if a.role == "relief" else (b, a)
            one = replace(
                first,
                shape=shape,
                center=shape.centroid,
                size=size_of(shape),
                mount=first.mount if first.mount == second.mount else None,
                merged=(*(first.merged or (first.name,)), *(second.merged or (second.name,))),
            )
        if one is None:
            refused.add((a.name, b.name))
            continue
        taken[i], taken[j] = one, None
    # The joined one stands where its first part stood, so that the order of openings stays that of the spec.
    became = {free[k].name: one for k, one in taken.items()}
    kept[:] = [now for opening in kept if (now := became.get(opening.name, opening)) is not None]
    return bool(taken)


# --------------------------------------------------------------------------------------------- notches


def opened_outline(
    spec: Spec, openings: tuple[Opening, ...], outline: Shape, limits: PlateLimits
) -> tuple[tuple[Opening, ...], Shape]:
    """Openings and outline, each relief too near a given outline turned into a notch, one outside it left out (mm)."""
    if spec.model.plate.outline.rope is not None:
        return openings, outline
    kept = list(openings)
    for opening in openings:
        if opening.role != "relief" or edge_distance(opening.shape, outline).distance >= limits.web.value - SAME_LENGTH:
            continue
        # It lies outside of the plate altogether: there is nothing to be cut.
        if distance(opening.shape, outline).distance >= -SAME_LENGTH:
            kept.remove(opening)
            continue
        # Straight outwards, and no farther than the relief is long that way: beyond, the plate may go on behind a
        # hollow of its outline. Where that meets others or cuts the plate up, the relief stays an opening.
        around, web = outline.loop(), limits.web.value
        out = around.outward(edge_distance(opening.shape, outline).b)
        run = opening.shape.moved(Pose(turn=-math.atan2(out[1], out[0]))).box.width + 2 * web
        cutter = sweep(opening.shape, Straight(out, 0.0, run))
        others = _Fixed([other for other in kept if other is not opening], web)
        if not others.loses_steel(cutter, [opening.shape]):
            with contextlib.suppress(GeometryError):
                outline = notch(around, cutter)
                kept.remove(opening)
    return tuple(kept), outline
