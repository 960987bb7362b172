"""Shapes as the spec writes them, made exact in their own frame."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from platekit.errors import GeometryError, SpecError
from platekit.geometry import Disc, Pose, Shape, polygon_loop, rectangle, slot
from platekit.laying.drawn import drawn_outline
from platekit.spec import Spec
from platekit.spec import models as words

ROUNDING = "a corner that cannot be rounded like this"
"""What is found where a corner radius does not fit."""


def shape_of(spec: Spec, given: words.ShapeWords, field: str) -> Shape:
    """The shape in the frame it is written in, turned and moved as it says (mm, rad).

    `field` is where it stands in the spec. Raises `SpecError` for a corner radius that does not fit.
    """
    pose = Pose(given.at[0], given.at[1], given.turn)
    if given.circle is not None:
        return Disc(given.at, given.circle.diameter / 2)
    if given.slot is not None:
        # A slot's length is over all, as drawings give it: its ends take half of its width each.
        half = (given.slot.length - given.slot.width) / 2
        return slot((-half, 0.0), (half, 0.0), given.slot.width / 2).moved(pose)
    if given.rectangle is not None:
        return rectangle_of(spec, given.rectangle, f"{field}.rectangle").moved(pose)
    if given.drawn is not None:
        return drawn_outline(spec, given.drawn, f"{field}.drawn").moved(pose)
    assert given.polygon is not None
    return polygon_of(spec, given.polygon, f"{field}.polygon").moved(pose)


def rectangle_of(spec: Spec, given: words.RectangleShape, field: str) -> Shape:
    """A rectangle with its corner radius, middle at 0,0, mm."""
    try:
        return rectangle(given.width, given.height, given.corner)
    except GeometryError as error:
        raise _cannot_be(spec, f"{field}.corner", ROUNDING, error) from error


def polygon_of(spec: Spec, given: words.PolygonShape, field: str) -> Shape:
    """A polygon with its corner radii, in its own frame, mm."""
    try:
        return polygon_loop(given.points, given.corner)
    except GeometryError as error:
        # Where no radius was given the corners themselves are at fault.
        if "corner" in given.model_fields_set:
            raise _cannot_be(spec, f"{field}.corner", ROUNDING, error) from error
        raise _cannot_be(spec, f"{field}.points", "corners that make no outline", error) from error


@contextmanager
def errors_at(spec: Spec, field: str) -> Iterator[None]:
    """What geometry refuses while this lasts becomes a `SpecError` at a field of the spec."""
    try:
        yield
    except GeometryError as error:
        wanted = error.wanted or "change it a little"
        raise SpecError((spec.problem(field, f"what gives {error.why}", wanted),)) from error


def _cannot_be(spec: Spec, field: str, found: str, error: GeometryError) -> SpecError:
    return SpecError((spec.problem(field, found, str(error)),))
