"""What `platekit survey` tells of each measured pattern: gathered once, then put into words, figures and a picture.

It goes on where the layout must stop: readings too few to place a hole, or sides that make no triangle, are told with
what would settle them.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import combinations
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.analysis.fitting import FitCure, MountFit, fits, way_out
from platekit.checks.survey import UNLIKELY, next_one, suspect_of
from platekit.errors import PlatekitError, SpecError
from platekit.laying.measured import net_of
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec
from platekit.spec.measured_words import MeasuredPattern
from platekit.survey.blunder import Suspect
from platekit.survey.fit import CircleFit, RectangleFit, circle_fit, rectangle_fit
from platekit.survey.further import Proposal
from platekit.survey.match import KnownPattern, Match, fits_standard, own_mirror_image
from platekit.survey.net import BadReading, Feature, Net
from platekit.survey.nominal import MANY, NearestNominals, nominals
from platekit.survey.plan import MeasuringPlan, plan
from platekit.survey.result import Survey
from platekit.survey.solve import WrongReading, solve, solved_once
from platekit.units import Unit

MOST_CANDIDATES = 5
"""Most standard patterns that are told (ours)."""
LEAST_SHARE = 0.01
"""Probability below which a standard pattern is not told (ours)."""

State = Literal["placed", "open", "unusable"]


class Surveyed(Struct, frozen=True, eq=False):
    """One measured pattern.

    `survey` is None where the readings cannot be solved; `refused` then says why, and `without` is what comes out if
    the suspect is left out. `mirror_open` says that a pattern which is not its own mirror image could be either. `fit`
    is None where the plate cannot be laid out; `unlaid` then says why.
    """

    mount: str
    pattern: MeasuredPattern
    net: Net
    survey: Survey | None
    refused: BadReading | None = None
    without: Survey | None = None
    suspect: Suspect | None = None
    proposal: Proposal | None = None
    candidates: tuple[Match, ...] = ()
    nominals: tuple[NearestNominals, ...] = ()
    circle: CircleFit | None = None
    rectangle: RectangleFit | None = None
    mirror_open: bool = False
    fit: MountFit | None = None
    way: FitCure | None = None
    unlaid: str = ""

    @property
    def floating(self) -> tuple[str, ...]:
        """Holes whose place, or whose needed diameter, stays open."""
        return () if self.survey is None else (*self.survey.floating, *self.survey.loose_diameters)

    @property
    def contradict(self) -> bool:
        """Whether the readings contradict each other, with a suspect or without."""
        survey = self.survey
        return self.suspect is not None or (survey is not None and survey.dof > 0 and survey.probability < UNLIKELY)

    @property
    def state(self) -> State:
        """Whether the readings can be used: all holes placed, something left open, or not at all."""
        if self.survey is None:
            return "unusable"
        unsettled = self.floating or self.survey.flips or self.mirror_open or self.contradict
        unlikely = self.fit is not None and self.fit.probability < self.fit.stop
        return "open" if unsettled or unlikely else "placed"


def surveyed(spec: Spec, layout: Layout | None = None) -> tuple[Surveyed, ...]:
    """Every measured pattern of a spec (mm), in its order; `layout` spares laying it out again.

    Raises `PlatekitError` when the spec has none.
    """
    found = _each_solved(spec)
    if layout is None:
        try:
            layout = lay_out(spec)
        except SpecError as error:
            # without a plate there are no odds; a pattern that is itself the reason says so, the others what it was
            first = error.problems[0]
            why = f"{first.field}: found {first.found}; {first.wanted}"
            own = "its readings must be settled first"
            return tuple(replace(one, unlaid=own if one.floating or one.survey is None else why) for one in found)
    by_mount = {fit.mount: fit for fit in fits(layout)}
    odds = []
    for one in found:
        fit = by_mount.get(one.mount)
        short = fit is not None and fit.probability < fit.warn
        way = way_out(layout, layout.mounts[one.mount]) if short else None
        odds.append(replace(one, fit=fit, way=way, unlaid="" if fit else "the mount has no screws"))
    return tuple(odds)


def measured_of(layout: Layout) -> tuple[Surveyed, ...]:
    """Every measured pattern of a laid-out plate; empty when none was measured."""
    return surveyed(layout.spec, layout) if layout.measured else ()


def plans(spec: Spec) -> dict[str, MeasuringPlan]:
    """The readings (mm) to take for every measured pattern of a spec, by mount.

    What was read already tells roughly where the holes are. Raises `PlatekitError` as `surveyed` does, and
    `BadReading` for holes that no plan places.
    """
    return {one.mount: plan_of(one) for one in _each_solved(spec)}


def plan_of(one: Surveyed, out_of_reach: Iterable[frozenset[str]] = ()) -> MeasuringPlan:
    """The readings (mm) to take of one pattern; its sketch, if it has one, tells roughly where the holes are.

    Pairs out of reach are left out, and so are those with a shaft between them. Raises `BadReading` for holes that no
    plan places.
    """
    net, rough = one.net, _roughly(one)
    # An origin that is no hole (the middle, a corner) says nothing about what to measure.
    origin = net.origin if net.origin in {feature.name for feature in net.placed} else None
    places = None if rough is None else tuple(rough.items())
    blocked = frozenset(out_of_reach) | behind_shafts(one)
    return _planned(net.features, places, net.sigma, origin, net.x_axis, blocked)


def _roughly(one: Surveyed) -> dict[str, tuple[float, float]] | None:
    """Where the holes are by the readings, or else by the sketch (mm); None where neither has all of them."""
    net, sketch = one.net, one.pattern.sketch
    if one.survey is not None and net.readings and not one.floating:
        return {name: (hole.x, hole.y) for name, hole in one.survey.holes.items()}
    if net.placed and all(feature.name in sketch for feature in net.placed):
        return {feature.name: (sketch[feature.name][0], sketch[feature.name][1]) for feature in net.placed}
    return None


def behind_shafts(one: Surveyed) -> frozenset[frozenset[str]]:
    """Pairs whose line runs through a shaft that stands out of the face: a caliper does not get past it."""
    features, found = one.net.placed, set()
    if (places := _roughly(one)) is None:
        return frozenset()
    for shaft in features:
        if shaft.kind != "shaft" or not shaft.diameter:
            continue
        at = np.array(places[shaft.name])
        for a, b in combinations([other.name for other in features if other is not shaft], 2):
            start, way = np.array(places[a]), np.array(places[b]) - np.array(places[a])
            along = float(way @ way)
            share = min(max(float((at - start) @ way) / along, 0.0), 1.0) if along > 0.0 else 0.0
            if float(np.linalg.norm(start + share * way - at)) < shaft.diameter / 2:
                found.add(frozenset((a, b)))
    return frozenset(found)


@lru_cache(maxsize=32)  # asked again after every edit of the plate, most of which are none of the survey
def _planned(
    features: tuple[Feature, ...],
    rough: tuple[tuple[str, tuple[float, float]], ...] | None,
    sigma: float | None,
    origin: str | None,
    x_axis: tuple[str, str] | None,
    blocked: frozenset[frozenset[str]],
) -> MeasuringPlan:
    pairs = [(min(pair), max(pair)) for pair in sorted(blocked, key=sorted)]
    return plan(
        features,
        rough=None if rough is None else dict(rough),
        sigma=sigma,
        out_of_reach=pairs,
        origin=origin,
        x_axis=x_axis,
    )


def _each_solved(spec: Spec) -> list[Surveyed]:
    found = [
        _solved(name, mount.pattern.measured, spec.unit)
        for name, mount in spec.model.mounts.items()
        if mount.pattern.measured is not None
    ]
    if not found:
        wanted = "give a mount `pattern: {measured: {holes: ..., readings: ...}}`"
        raise PlatekitError(f"{spec.name}: found no measured pattern; {wanted}")
    return found


def _solved(mount: str, pattern: MeasuredPattern, unit: Unit) -> Surveyed:
    net = net_of(pattern, unit)
    try:
        survey = solved_once(net, floating_ok=True)
    except WrongReading as error:
        return Surveyed(mount, pattern, net, None, error, _left_out(net, error.suspect), error.suspect)
    except BadReading as error:
        return Surveyed(mount, pattern, net, None, error)
    one = Surveyed(mount, pattern, net, survey, proposal=next_one(survey))
    if one.floating:
        return one
    screws = pattern.screw_holes
    # The bolt circle and the rectangle that the holes may lie on. Three holes lie on a circle always.
    circle, square = None, None
    try:
        circle = circle_fit(survey, screws) if 4 <= len(screws) <= MANY else None
        square = rectangle_fit(survey, screws) if len(screws) == 4 else None
    except BadReading:
        circle, square = None, None
    # The standard patterns that fit within the uncertainty, the most probable first; two holes fit too many.
    alike = [
        KnownPattern(row.designation, row.points) for row in tables.every_mount() if len(row.points) == len(screws)
    ]
    matches = fits_standard(survey, alike, screws) if len(screws) >= 2 and alike else ()
    likely = tuple(match for match in matches if match.fits and match.share >= LEAST_SHARE)[:MOST_CANDIDATES]
    return replace(
        one,
        suspect=suspect_of(survey),
        candidates=likely,
        nominals=nominals(survey),
        circle=circle if circle is not None and circle.consistent else None,
        rectangle=square if square is not None and square.consistent else None,
        mirror_open=survey.mirror == "open" and not own_mirror_image(survey, screws),
    )


def _left_out(net: Net, wrong: Suspect) -> Survey | None:
    """The survey without what is wrong, or with it mended; None where that is not sure, or does not help."""
    if not wrong.sure:
        return None
    mended = dict(zip(wrong.alike, wrong.mended, strict=True))
    kept = tuple(
        mended.get(index, reading)
        for index, reading in enumerate(net.readings)
        if index in mended or index != wrong.index
    )
    sizes = {one.features[0]: one.value for one in wrong.mended if one.kind == "diameter"}
    features = tuple(replace(one, diameter=sizes.get(one.name, one.diameter)) for one in net.features)
    try:
        survey = solve(replace(net, readings=kept, features=features), floating_ok=True)
    except BadReading:
        return None
    return None if survey.floating or survey.loose_diameters else survey
