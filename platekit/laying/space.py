"""The space of a body as the spec writes it, in its carrier's own frame: prism, lying cylinder, steps, standard part.

Heights here are those of the spec's spans: from the mating face, positive into the part's own side.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.geometry import Disc, Lying, Pose, Shape, Solid, Upright, rectangle
from platekit.laying.shapes import shape_of
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Side
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.space_words import LyingWords, StepWords
from platekit.tables import StandardBody, StandardMount

if TYPE_CHECKING:
    from platekit.geometry.kernel import Matrix, Placed

POINTED = 1e-3
"""Radius given to the tip of a cone that runs to a point, mm (ours)."""


class OwnSpace(Struct, frozen=True):
    """What one body takes up: its outline seen along the normal, its span, and its pieces where it is no prism.

    `part` tells the bodies of a standard part from each other; empty for any other body. `model` is the maker's model
    that the pieces hold.
    """

    shape: Shape
    span: tuple[float, float]
    pieces: tuple[Solid, ...] = ()
    part: str = ""
    model: Placed | None = None

    @classmethod
    def of_lying(cls, solid: Lying, part: str = "") -> OwnSpace:
        """The space of a cylinder that lies across, mm."""
        return cls(solid.silhouette, (solid.low, solid.high), (solid,), part)

    def moved(self, pose: Pose) -> OwnSpace:
        """The same at another place of the carrier's frame (mm, rad); heights stay."""
        pieces = tuple(piece.moved(pose) for piece in self.pieces)
        return replace(self, shape=self.shape.moved(pose), pieces=pieces)


def spaces_of(spec: Spec, body: words.BodyWords, field: str) -> tuple[OwnSpace, ...]:
    """What a body of the spec takes up in its carrier's own frame, mm; several for a standard part.

    `field` is where it stands in the spec.
    """
    if body.shape is not None and body.shape.model is not None:
        from platekit.laying.modelled import model_space  # only here: it takes numpy, which most plates do without

        held = model_space(spec, body, field)
        return (OwnSpace(held.shape, held.span, held.pieces, model=held.placed),)
    if body.shape is not None:
        assert body.span is not None
        return (OwnSpace(shape_of(spec, body.shape, f"{field}.shape"), body.span),)
    # A shape has its own `at`; whatever else is drawn about 0,0 and then put where the body is.
    pose = Pose(*body.at, body.turn)
    if body.lying is not None:
        return (lying_space(body.lying).moved(pose),)
    if body.steps is not None:
        return (stepped_space(body.steps).moved(pose),)
    assert body.standard is not None
    standard = tables.mount(body.standard)
    return tuple(standard_space(standard, part).moved(pose) for part in standard.bodies if part.name != "pilot")


def silhouettes_of(spec: Spec, body: words.BodyWords, field: str) -> tuple[Shape, ...]:
    """The outlines of a body in its carrier's own frame, seen along the normal, mm."""
    return tuple(space.shape for space in spaces_of(spec, body, field))


def lying_space(given: LyingWords) -> OwnSpace:
    """A cylinder lying across, its axis through 0,0."""
    half, radius = given.length / 2, given.diameter / 2
    dx, dy = half * math.cos(given.axis), half * math.sin(given.axis)
    return OwnSpace.of_lying(Lying((-dx, -dy), (dx, dy), radius, given.height))


def stepped_space(steps: list[StepWords]) -> OwnSpace:
    """Round steps about 0,0."""
    pieces = []
    for step in steps:
        # A step is what is straight of it, and how far it flares out at either end; a cone that runs to a point gets a
        # tip with a radius, since a disc without one is no shape.
        radii = [diameter / 2 for diameter in step.diameters]
        least = max(min(radii), POINTED)
        flares = [max(radius - least, 0.0) for radius in radii]
        pieces.append(Upright(Disc((0.0, 0.0), least), *step.span, *flares))
    widest = max(max(step.diameters) for step in steps) / 2
    span = (min(step.span[0] for step in steps), max(step.span[1] for step in steps))
    # One straight step is a plain prism, which every check knows in closed form: no pieces are needed.
    if len(pieces) == 1 and pieces[0].straight:
        return OwnSpace(Disc((0.0, 0.0), widest), span)
    return OwnSpace(Disc((0.0, 0.0), widest), span, tuple(pieces))


def standard_space(standard: StandardMount, body: StandardBody) -> OwnSpace:
    """A body that a standard part brings; the shaft and frame of one on feet lie across (mm)."""
    if body.shape[0] == "circle":
        return OwnSpace(Disc(body.at, body.shape[1] / 2), body.span, part=body.name)
    _, width, height = body.shape
    x, y = body.at
    # A foot's shaft is in the tables as a box about its axis: at shaft height and as high as it is wide, it is a
    # cylinder.
    axis, high = (body.span[0] + body.span[1]) / 2, body.span[1] - body.span[0]
    if (
        standard.shaft_height is not None
        and abs(axis - standard.shaft_height) <= SAME_LENGTH
        and abs(high - width) <= SAME_LENGTH
    ):
        lying = Lying((x, y - height / 2), (x, y + height / 2), width / 2, axis)
        return OwnSpace.of_lying(lying, body.name)
    return OwnSpace(rectangle(width, height, 0.0, body.at), body.span, part=body.name)


def plate_matrix(pose: Pose, side: Side, thickness: float, standoff: float) -> Matrix:
    """The map from a carrier's own frame, heights from its mating face, to the plate frame (mm)."""
    # Own frame and heights together are right-handed or left-handed, as the pattern was looked at; the pose mirrors, or
    # the far side turns the heights, just so that the part itself is never mirrored.
    xx, xy, yx, yy = pose.matrix()
    z, up = (standoff, 1.0) if side == "near" else (-thickness - standoff, -1.0)
    return ((xx, xy, 0.0, pose.x), (yx, yy, 0.0, pose.y), (0.0, 0.0, up, z))


def on_plate(solid: Solid, pose: Pose, side: Side, thickness: float, standoff: float) -> Solid:
    """A piece of a carrier on `side` of the plate, brought into the plate frame (mm)."""
    # On the far side all heights run the other way, so what flares at the part's end flares at the other one here.
    low, high = z_range(side, (solid.low, solid.high), thickness, standoff)
    if isinstance(solid, Lying):
        return replace(solid.moved(pose), height=(low + high) / 2)
    assert isinstance(solid, Upright)
    flares = (solid.flare_low, solid.flare_high) if side == "near" else (solid.flare_high, solid.flare_low)
    return Upright(solid.shape.moved(pose), low, high, *flares)
