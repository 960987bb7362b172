"""Heads let into the plate, as the solids that are taken out for them beyond the hole itself.

Vocabulary
    seat     what a countersink or counterbore takes out, over the whole travel of its screw
    mouth    the seat at the face that the head is at, where it is widest
    floor    where a seat ends: a counterbore at its depth, a countersink where its cone meets the hole's wall
"""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.cutting.operations import Operation, head_operation
from platekit.geometry import Shape, Upright
from platekit.placed import SAME_LENGTH, Layout, Opening, Side


class HeadSeat(Struct, frozen=True):
    """The room for one head, in the plate frame, mm.

    `solid` goes from the face to the floor; at every height it holds the hole. `diameter` is that of its mouth,
    before any travel.
    """

    opening: str
    step: Operation
    side: Side
    solid: Upright
    diameter: float

    @property
    def mouth(self) -> Shape:
        """What it takes of the face."""
        return self.solid.silhouette

    @property
    def depth(self) -> float:
        """From the face to its floor, mm."""
        return self.solid.high - self.solid.low

    @property
    def floor(self) -> float:
        """Height of its floor, mm."""
        return self.solid.low if self.side == "near" else self.solid.high

    @property
    def tapers(self) -> bool:
        """Whether it is a cone, as for a countersunk head."""
        return self.step.work == "countersink"


def seats(layout: Layout) -> dict[str, HeadSeat]:
    """The seat (mm) of every opening that has one, by the opening's name, in the order of the openings.

    A head that is no wider than its hole has none.
    """
    sunk = {
        name: step
        for name, mount in layout.mounts.items()
        if mount.stack is not None and (step := head_operation(mount.stack)) is not None
    }
    if not sunk:
        return {}
    # only a mount's screw holes have heads in them: pilots and cutouts of the same mount do not
    found = (
        seat_of(opening, sunk[opening.mount], layout.thickness)
        for opening in layout.openings
        if opening.role == "screw" and opening.mount in sunk
    )
    return {seat.opening: seat for seat in found if seat is not None}


def seat_of(opening: Opening, step: Operation, thickness: float) -> HeadSeat | None:
    """The seat (mm) that a countersink or counterbore leaves at an opening; None where the hole swallows it.

    A countersink is a cone of the step's angle, `step.diameter` wide at the face; it ends where it is as wide as the
    hole, or at the other face. A counterbore is as deep as `step.depth`, or goes through.
    """
    assert step.diameter is not None
    assert step.side is not None
    # how far the mouth reaches beyond the hole on each side
    wider = (step.diameter - opening.size) / 2
    if wider <= SAME_LENGTH:
        return None
    if step.angle_deg is None:
        assert step.depth is not None
        shape, depth = opening.shape.grown(wider), min(step.depth, thickness)
        at_face = at_floor = 0.0
    else:
        # a cone's half angle: so much wider for each mm of height
        slope = math.tan(math.radians(step.angle_deg) / 2)
        shape, depth = opening.shape, min(wider / slope, thickness)
        at_face, at_floor = wider, wider - depth * slope
        at_floor = at_floor if at_floor > SAME_LENGTH else 0.0  # rounding leaves no ring of a nanometre
    # z is nil at the near face and minus the thickness at the far one; the mouth is at the face of the head
    if step.side == "near":
        solid = Upright(shape, -depth, 0.0, flare_low=at_floor, flare_high=at_face)
    else:
        solid = Upright(shape, -thickness, depth - thickness, flare_low=at_face, flare_high=at_floor)
    return HeadSeat(opening.name, step, step.side, solid, step.diameter)
