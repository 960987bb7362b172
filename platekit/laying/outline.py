"""The outside of the plate: given, or wrapped round the pads of every opening."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from platekit.errors import GeometryError, SpecError
from platekit.geometry import Disc, Loop, Pose, Shape, hull, union_loops
from platekit.geometry.narrow import narrowest
from platekit.laying.limits import seat_web
from platekit.laying.screws import mouth_of
from platekit.laying.shapes import polygon_of, rectangle_of
from platekit.placed import Opening, PlateLimits, ScrewStack
from platekit.spec import Spec
from platekit.spec.models import Waist
from platekit.units import show_length

PAD_IN_DIAMETERS = 2.0
"""`margin: auto` leaves this many diameters from a screw hole's centre to the outside (common practice: 1.5 to 2)."""

WAIST_RADII: Final = (16.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0, 2500.0)
"""Radii of hollow arcs that are tried, mm: the preferred numbers R 5 of ISO 3. From 16 mm on a corner grinder's wheel
dresses the cut edge (common practice)."""
SHARE_KEPT: Final = 0.5
"""Share of a wrap's width that a waist keeps by itself (ours: half as wide bends twice as far)."""
NARROWER: Final = 0.02
"""So much narrower than asked still passes, mm (ours: the narrowest place is found to 0.01 mm)."""


def outline_of(
    spec: Spec,
    openings: tuple[Opening, ...],
    stacks: Mapping[str, ScrewStack],
    limits: PlateLimits,
    closes: tuple[Shape, ...] = (),
) -> Shape:
    """The outline in the plate frame, mm.

    A pad carries what sits on its hole (`stacks` by mount), and leaves steel round a head that is let in. A wrap or
    a waist also takes in what the plate `closes`: the back of a guard that has no sheet of its own there.
    """
    given = spec.model.plate.outline
    pose = Pose(given.at[0], given.at[1], given.turn)
    if given.rectangle is not None:
        return rectangle_of(spec, given.rectangle, "plate.outline.rectangle").moved(pose)
    if given.circle is not None:
        return Disc(given.at, given.circle.diameter / 2)
    if given.polygon is not None:
        return polygon_of(spec, given.polygon, "plate.outline.polygon").moved(pose)
    # Every opening with the steel that it needs round it: the hull of these is the least plate that holds them all.
    pads = [
        opening.shape.grown(margin_round(spec, opening, stacks.get(opening.mount or ""), limits))
        for opening in openings
    ]
    try:
        if given.waist is None:
            return hull([*pads, *closes])
        own = max(limits.web.value, limits.inside_radius.value)
        return waisted(spec, given.waist, (*pads, *closes), own)
    except GeometryError as error:
        raise SpecError((spec.problem("plate.outline", "nothing to wrap", str(error)),)) from error


def waisted(spec: Spec, waist: Waist, pads: tuple[Shape, ...], least: float) -> Shape:
    """Pads joined by hollow arcs (mm): where a wheel of the arcs' radius, rolled round outside, does not reach.

    Growing the pads by the radius and taking their outside in again by as much is just that, in exact arcs (a closing
    of mathematical morphology; J. Serra, Image Analysis and Mathematical Morphology, 1982). A large wheel reaches
    nowhere in, and leaves the hull; a small one falls through between two pads, and the plate comes apart.

    Raises `SpecError` for a given radius with which it does, or leaves it narrower than it may be; by itself it takes
    the hull where no radius does.
    """
    width = usual_waist(pads) if waist.narrowest == "auto" else waist.narrowest
    if waist.radius != "auto":
        made = drawn_in(pads, max(waist.radius, least), width)
        if made is not None:
            return made
        fits = [radius for radius in WAIST_RADII if radius > waist.radius and drawn_in(pads, radius, width) is not None]
        would = f"try {show_length(fits[0], spec.unit)}" if fits else "leave it out, or use wrap"
        found = f"{show_length(waist.radius, spec.unit)}, which leaves the plate in pieces or narrower than it may be"
        raise SpecError((spec.problem("plate.outline.waist.radius", found, would),))
    for radius in WAIST_RADII:
        made = drawn_in(pads, radius, width) if radius >= least else None
        if made is not None:
            return made
    return hull(pads)


@lru_cache(maxsize=64)
def usual_waist(pads: tuple[Shape, ...]) -> float:
    """How narrow a plate may be drawn in where the spec does not say, mm.

    As wide as its narrowest pad, which holds a screw by itself, and a share of the wrap's own width: whether less
    holds, only strength can tell, and that knows nothing where no masses are given.
    """
    around = hull(pads)
    width = around.box.width
    if isinstance(around, Loop):
        # The width is concave between two corners of the turn, so the least lies square to the end of an edge
        # (rotating calipers; M. I. Shamos, Computational Geometry, 1978). Of the plate turned anyhow it is the same.
        ways = [edge.direction(end) for edge in around.edges for end in (0.0, 1.0)]
        width = min(around.moved(Pose(turn=-math.atan2(y, x))).box.height for x, y in ways)
    return max(min(min(pad.box.width, pad.box.height) for pad in pads), SHARE_KEPT * width)


@lru_cache(maxsize=64)
def drawn_in(pads: tuple[Shape, ...], radius: float, width: float) -> Shape | None:
    """The pads joined by hollow arcs of a radius; None where they come apart or are narrower than `width` (mm)."""
    outsides = union_loops([pad.grown(radius) for pad in pads])
    if len(outsides) != 1:
        return None
    made = outsides[0].grown_all(-radius)
    # a neck as thin as nothing still hangs together; what is left over beside it is a second piece
    if len(made) != 1 or narrowest(made[0], width - NARROWER, every=True) is not None:
        return None
    return made[0]


def margin_round(spec: Spec, opening: Opening, stack: ScrewStack | None, limits: PlateLimits) -> float:
    """Steel that a wrap leaves round an opening, mm.

    As much as the spec says; else the edge rule for a screw hole, the web or the thickness for others.
    """
    wrap = spec.model.plate.outline.rope
    if wrap is not None and wrap.margin != "auto":
        return wrap.margin
    # Thinner than the plate is thick a web bends away under the torch.
    least = max(limits.web.value, spec.model.plate.thickness)
    if opening.role not in ("screw", "pivot", "fixing", "dowel"):
        return least
    edge = PAD_IN_DIAMETERS * opening.size if limits.edge is None else limits.edge.value
    # A washer must not stand out over the edge, whatever the rule for the hole says.
    from_center = max(edge, 0.0 if stack is None else stack.washer_outer / 2)
    if stack is not None and stack.spacer is not None:
        from_center = max(from_center, stack.spacer.outside / 2)
    if stack is not None and (mouth := mouth_of(stack)):
        from_center = max(from_center, mouth / 2 + seat_web(limits, spec.model.plate.thickness))
    return max(from_center - opening.size / 2, limits.web.value)
