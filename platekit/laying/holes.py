"""The holes of a mount's pattern in its own frame, as the spec, a standard or a survey has them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from platekit import tables
from platekit.geometry import Point, circle_points, even_angles, rectangle_points
from platekit.spec import Spec
from platekit.spec import models as words

if TYPE_CHECKING:
    from platekit.survey.result import Survey


class Holes(Struct, frozen=True):
    """A pattern in its own frame: hole centres, the plate's hole if given (mm), own names and survey if measured."""

    points: tuple[Point, ...]
    hole: float | None = None
    names: tuple[str, ...] = ()
    survey: Survey | None = None


def pattern_of(spec: Spec, name: str, pattern: words.Pattern, standard: tables.StandardMount | None) -> Holes:
    """The holes of a mount's pattern in its own frame."""
    hole, _ = pattern.hole_said
    if standard is not None:
        return Holes(standard.points, hole)
    if pattern.circle is not None:
        circle = pattern.circle
        # Uneven holes are told one by one; even ones by how many and where the first lies.
        angles = circle.angles or even_angles(circle.count or 0, circle.start or 0.0)
        return Holes(circle_points(circle.diameter, angles), hole)
    if pattern.rectangle is not None:
        rectangle = pattern.rectangle
        return Holes(rectangle_points(rectangle.width, rectangle.height), hole)
    if pattern.measured is not None:
        from platekit.laying.measured import screw_points, survey_of

        measured = pattern.measured
        survey = survey_of(spec, name, measured)
        return Holes(screw_points(measured, survey), hole, measured.screw_holes, survey)
    return Holes(tuple(pattern.points or ()), hole)
