"""A measured pattern in the layout: the spec's readings made a net, solved, and what is wrong told at its reading."""

from __future__ import annotations

import math
from typing import Final

from platekit.errors import SpecError, SurveyError
from platekit.geometry import Point
from platekit.spec import Spec
from platekit.spec.measured_words import MeasuredPattern
from platekit.survey.match import own_mirror_image
from platekit.survey.net import BadReading, Feature, Net, Reading, pairs
from platekit.survey.plan import widest_triangle
from platekit.survey.result import Survey
from platekit.survey.solve import solved_once
from platekit.units import Unit


def net_of(pattern: MeasuredPattern, unit: Unit) -> Net:
    """The net that a measured pattern describes; lengths in mm, as looked at; its words are in `unit`."""
    features = [Feature(name, hole.diameter, pattern.kind_of(name), hole.sigma) for name, hole in pattern.holes.items()]
    features += [Feature(name, kind="edge") for name in pattern.edges]
    readings = tuple(
        Reading(reading.features, reading.kind, reading.value, reading.sigma, reading.tool)
        for reading in pattern.readings
    )
    circle = _names(pattern, pattern.on_circle)
    return Net(
        features=tuple(features),
        readings=readings,
        sigma=pattern.sigma,
        on_circle=circle,
        going_round=circle is not None and pattern.evenly,
        evenly=circle is not None and pattern.evenly,
        rectangle=_names(pattern, pattern.rectangle),
        clockwise=pattern.clockwise or way_round(pattern),
        origin=pattern.origin,
        x_axis=pattern.x_axis,
        unit=unit,
    )


FLAT: Final = 0.05
"""A sketched triangle lower than this share of its longest side tells no way round (ours: a hand draws worse)."""


def way_round(pattern: MeasuredPattern) -> tuple[str, str, str] | None:
    """Three holes named clockwise, as the sketch has them; None without one, or where it has them nearly in a row."""
    places = {name: place for name, place in pattern.sketch.items() if name in pattern.holes and len(place) == 2}
    three = widest_triangle({name: (place[0], place[1]) for name, place in places.items()})
    if three is None:
        return None
    (ax, ay), (bx, by), (cx, cy) = (places[name] for name in three)
    doubled = abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))
    longest = max(math.dist(places[a], places[b]) for a, b in pairs(three))
    return three if doubled > FLAT * longest**2 else None


def _names(pattern: MeasuredPattern, said: bool | list[str]) -> tuple[str, ...] | None:
    if said is True:
        return pattern.screw_holes
    return tuple(said) or None if said else None


def survey_of(spec: Spec, mount: str, pattern: MeasuredPattern) -> Survey:
    """The survey of a mount's pattern; readings that cannot be used become problems where they stand."""
    field = f"mounts.{mount}.pattern.measured"
    if not pattern.screw_holes:
        found = "only bores, shafts and dowel holes" if pattern.holes else "no holes yet"
        raise SpecError((spec.problem(f"{field}.holes", found, "name at least one hole that takes a screw"),))
    for name, hole in pattern.holes.items():
        if pattern.kind_of(name) == "shaft" and hole.diameter is None:
            wanted = "measure it over the outside, its opening is made of that: diameter"
            raise SpecError((spec.problem(f"{field}.holes.{name}", "a shaft without a diameter", wanted),))
    try:
        survey = solved_once(net_of(pattern, spec.unit))
        if survey.mirror == "open" and not own_mirror_image(survey, pattern.screw_holes):
            wanted = "distances cannot tell a pattern from its mirror image: name three holes, `clockwise: [A, C, B]`"
            raise SpecError((spec.problem(f"{field}.clockwise", "nothing", wanted),))
        return survey
    except BadReading as error:
        if not pattern.readings:
            wanted = f"{error}; `platekit survey SPEC --plan` lists them all"
            raise SpecError((spec.problem(field, "holes that were not measured yet", wanted),)) from error
        # It is said at the reading, at a word such as `clockwise`, or at all of it where nothing nearer is known.
        if error.readings and error.readings[0] < len(pattern.readings):
            at = f"{field}.readings.{error.readings[0]}"
        else:
            at = f"{field}.{error.word}" if error.word else field
        raise SpecError((spec.problem(at, "readings that cannot be used", str(error)),)) from error
    except SurveyError as error:
        raise SpecError((spec.problem(field, "readings that cannot be solved", str(error)),)) from error


def screw_points(pattern: MeasuredPattern, survey: Survey) -> tuple[Point, ...]:
    """Centres of the holes that take screws, in the order of the spec, in the frame that the survey was asked for.

    In mm.
    """
    return tuple((survey.holes[name].x, survey.holes[name].y) for name in pattern.screw_holes)
