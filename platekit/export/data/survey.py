"""The figures of a survey for a program: keys are stable and carry their unit; lengths in mm, angles in degrees.

A length that is not known (a hole that floats) is null.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from platekit.analysis.fitting import FitCure, MountFit
from platekit.export.data.rounded import Figures, Json, tidied

if TYPE_CHECKING:
    from platekit.studies.surveyed import Surveyed
    from platekit.survey.net import Reading
    from platekit.survey.nominal import Near
    from platekit.survey.plan import MeasuringPlan

DECIMALS = 6
"""Places kept of a number, a nanometre: the same on every machine (ours)."""


def survey_figures(found: tuple[Surveyed, ...]) -> Figures:
    """All patterns by mount; below that readings, suspect and so on of all of them together, each with its `mount`."""
    mounts: dict[str, Figures] = {one.mount: pattern_figures(one) for one in found}

    def gathered(key: str) -> list[Json]:
        entries: list[Json] = []
        for one in found:
            value = mounts[one.mount][key]  # one entry, a list of them, or null
            listed = [value] if isinstance(value, Mapping) else value
            if isinstance(listed, Sequence) and not isinstance(listed, str):
                entries += [{"mount": one.mount, **entry} for entry in listed if isinstance(entry, Mapping)]
        return entries

    def first(key: str) -> Json:
        return next(iter(gathered(key)), None)

    return tidied(
        {
            "mounts": mounts,
            "readings": gathered("readings"),
            "suspect": first("suspect"),
            "candidates": gathered("candidates"),
            "next_reading": first("next_reading"),
            "fit_odds": {one.mount: mounts[one.mount]["fit_odds"] for one in found},
        },
        DECIMALS,
    )


def pattern_figures(one: Surveyed) -> Figures:
    """The figures of one measured pattern, in the frame that its readings ask for."""
    survey = one.survey
    readings = one.net.all_readings
    return {
        "state": one.state,
        "why_unusable": None if one.refused is None else str(one.refused),
        "frame": None if survey is None else survey.frame,
        "holes": {}
        if survey is None
        else {
            name: {
                "kind": hole.kind,
                "x_mm": hole.x,
                "y_mm": hole.y,
                "sigma_mm": hole.sigma,
                "ellipse": {
                    "major_mm": hole.ellipse.major,
                    "minor_mm": hole.ellipse.minor,
                    "angle_deg": math.degrees(hole.ellipse.angle),
                },
                "diameter_mm": hole.diameter,
                "diameter_sigma_mm": hole.diameter_sigma,
                "floating": hole.floating,
            }
            for name, hole in survey.holes.items()
        },
        "floating": list(one.floating),
        "readings": [
            {
                **_reading(reading.reading),
                "sigma_mm": reading.sigma,
                "adjusted_mm": reading.adjusted,
                "residual_mm": reading.residual,
                "normalised": reading.normalised,
                "redundancy": reading.redundancy,
                "smallest_blunder_mm": reading.smallest_blunder,
                "counted": not reading.copied,
            }
            for reading in survey.readings
        ]
        if survey is not None
        else [_reading(reading) for reading in one.net.all_readings],
        "redundancy": None if survey is None else survey.dof,
        "chi_square": None if survey is None else survey.chi_square,
        "probability": None if survey is None else survey.probability,
        "mirror": None if survey is None else "unsettled" if one.mirror_open else survey.mirror,
        "flips": [] if survey is None else [str(flip) for flip in survey.flips],
        "cautions": [] if survey is None else [str(caution) for caution in survey.cautions],
        "suspect": None
        if one.suspect is None
        else {
            "reading": _reading(one.suspect.reading),
            "index": one.suspect.index,
            "likely_mm": one.suspect.likely,
            "predicted_mm": one.suspect.predicted,
            "sigma_mm": one.suspect.sigma,
            "why": one.suspect.why,
            "sure": one.suspect.sure,
            "rivals": [_reading(readings[index]) for index in one.suspect.rivals],
            "alike": [_reading(readings[index]) for index in one.suspect.alike],
            "mended": [_reading(reading) for reading in one.suspect.mended],
            "stories": list(one.suspect.stories),
            "settles": None
            if one.suspect.settles is None
            else {
                "features": list(one.suspect.settles.features),
                "kind": one.suspect.settles.kind,
                "values_mm": list(one.suspect.settles.values),
            },
        },
        "next_reading": None
        if one.proposal is None
        else {
            "features": list(one.proposal.features),
            "kind": one.proposal.kind,
            "expected_mm": one.proposal.expected,
            "worst_sigma_before_mm": one.proposal.worst_before,
            "worst_sigma_after_mm": one.proposal.worst_after,
            "floating_after": list(one.proposal.floating),
            "helps": one.proposal.helps,
            "checks": None if one.proposal.checks is None else _reading(one.proposal.checks),
        },
        "bolt_circle_mm": None if one.circle is None else one.circle.diameter,
        "bolt_circle_sigma_mm": None if one.circle is None else one.circle.sigma,
        "rectangle_mm": None if one.rectangle is None else [one.rectangle.width, one.rectangle.height],
        "nominals": [
            {
                "kind": nominal.kind,
                "names": list(nominal.names),
                "measured_mm": nominal.measured,
                "sigma_mm": nominal.sigma,
                "metric": _near(nominal.metric),
                "inch": _near(nominal.inch),
            }
            for nominal in one.nominals
        ],
        "candidates": [
            {
                "name": match.name,
                "share": match.share,
                "probability": match.probability,
                "mirrored": match.mirrored,
                "holes": list(match.names),
                "off_mm": list(match.off),
            }
            for match in one.candidates
        ],
        "fit_odds": None if one.fit is None else fit_figures(one.fit, one.way),
    }


def plan_figures(plans: Mapping[str, MeasuringPlan]) -> Figures:
    """The readings to take, by mount."""
    return tidied(
        {
            "plan": {
                name: {
                    "readings": [
                        {
                            "features": list(step.features),
                            "kind": step.kind,
                            "expected_mm": step.expected,
                            "why": step.why,
                        }
                        for step in plan.steps
                    ],
                    "clockwise": None if plan.clockwise is None else list(plan.clockwise),
                    "worst_sigma_mm": plan.worst_sigma,
                    "redundancy": plan.redundancy,
                }
                for name, plan in plans.items()
            }
        },
        DECIMALS,
    )


def _reading(reading: Reading) -> Figures:
    return {"features": list(reading.features), "kind": reading.kind, "value_mm": reading.value}


def _near(near: Near) -> Figures:
    return {"text": near.text, "value_mm": near.value, "off_mm": near.off, "agrees": near.agrees, "chance": near.chance}


def fit_figures(fit: MountFit, way: FitCure | None = None) -> Figures:
    """The odds of one mount, and what would raise them."""
    return {
        "probability": fit.probability,
        "at_least": not fit.drawn,
        "standard_error": fit.standard_error,
        "draws": fit.draws,
        "warn_below": fit.warn,
        "stop_below": fit.stop,
        "hole_mm": fit.hole,
        "slack_mm": fit.slack,
        "shares": [{"source": source, "share": share} for source, share in fit.shares],
        "way_out": None
        if way is None
        else {
            "change": "register" if way.pilot else "screw holes",
            "diameter_mm": way.size,
            "probability": way.probability,
        },
    }
