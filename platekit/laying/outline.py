"""The outside of the plate: given, or wrapped round the pads of every opening."""

from __future__ import annotations

from collections.abc import Mapping

from platekit.errors import GeometryError, SpecError
from platekit.geometry import Disc, Pose, Shape, hull
from platekit.laying.limits import seat_web
from platekit.laying.screws import mouth_of
from platekit.laying.shapes import polygon_of, rectangle_of
from platekit.placed import Opening, PlateLimits, ScrewStack
from platekit.spec import Spec

PAD_IN_DIAMETERS = 2.0
"""`margin: auto` leaves this many diameters from a screw hole's centre to the outside (common practice: 1.5 to 2)."""


def outline_of(
    spec: Spec,
    openings: tuple[Opening, ...],
    stacks: Mapping[str, ScrewStack],
    limits: PlateLimits,
    closes: tuple[Shape, ...] = (),
) -> Shape:
    """The outline in the plate frame, mm.

    A pad carries what sits on its hole (`stacks` by mount), and leaves steel round a head that is let in. A wrap also
    takes in what the plate `closes`: the back of a guard that has no sheet of its own there.
    """
    given = spec.model.plate.outline
    pose = Pose(given.at[0], given.at[1], given.turn)
    if given.rectangle is not None:
        return rectangle_of(spec, given.rectangle, "plate.outline.rectangle").moved(pose)
    if given.circle is not None:
        return Disc(given.at, given.circle.diameter / 2)
    if given.polygon is not None:
        return polygon_of(spec, given.polygon, "plate.outline.polygon").moved(pose)
    assert given.wrap is not None
    # Every opening with the steel that it needs round it: the hull of these is the least plate that holds them all.
    pads = [
        opening.shape.grown(margin_round(spec, opening, stacks.get(opening.mount or ""), limits))
        for opening in openings
    ]
    try:
        return hull([*pads, *closes])
    except GeometryError as error:
        raise SpecError((spec.problem("plate.outline", "nothing to wrap", str(error)),)) from error


def margin_round(spec: Spec, opening: Opening, stack: ScrewStack | None, limits: PlateLimits) -> float:
    """Steel that a wrap leaves round an opening, mm.

    As much as the spec says; else the edge rule for a screw hole, the web or the thickness for others.
    """
    wrap = spec.model.plate.outline.wrap
    if wrap is not None and wrap.margin != "auto":
        return wrap.margin
    # Thinner than the plate is thick a web bends away under the torch.
    least = max(limits.web.value, spec.model.plate.thickness)
    if opening.role not in ("screw", "pivot", "fixing"):
        return least
    edge = PAD_IN_DIAMETERS * opening.size if limits.edge is None else limits.edge.value
    # A washer must not stand out over the edge, whatever the rule for the hole says.
    from_center = max(edge, 0.0 if stack is None else stack.washer_outer / 2)
    if stack is not None and (mouth := mouth_of(stack)):
        from_center = max(from_center, mouth / 2 + seat_web(limits, spec.model.plate.thickness))
    return max(from_center - opening.size / 2, limits.web.value)
