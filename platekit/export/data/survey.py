"""The figures of a survey for a program: keys are stable and carry their unit; lengths in mm, angles in degrees.

A length that is not known (a hole that floats) is null.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from platekit.analysis.fitting import FitCure, MountFit
from platekit.export.data.rounded import Figures, Json, tidied
from platekit.studies.surveyed import Surveyed
from platekit.survey.blunder import Suspect
from platekit.survey.further import Proposal
from platekit.survey.match import Match
from platekit.survey.net import Reading
from platekit.survey.nominal import Near, NearestNominals
from platekit.survey.plan import MeasuringPlan
from platekit.survey.result import Checked, LocatedFeature

DECIMALS = 6
"""Places kept of a number, a nanometre: the same on every machine (ours)."""


def survey_figures(found: tuple[Surveyed, ...]) -> Figures:
    """All patterns by mount; below that readings, suspect and so on of all of them together, each with its `mount`."""
    mounts: dict[str, Figures] = {one.mount: pattern_figures(one) for one in found}

    def gathered(key: str) -> list[Json]:
        return [{"mount": one.mount, **entry} for one in found for entry in _entries(mounts[one.mount][key])]

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


def _entries(value: Json) -> list[Figures]:
    if isinstance(value, Mapping):
        return [dict(value)]
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [dict(one) for one in value if isinstance(one, Mapping)]
    return []


def pattern_figures(one: Surveyed) -> Figures:
    """The figures of one measured pattern, in the frame that its readings ask for."""
    survey = one.survey
    return {
        "state": one.state,
        "why_unusable": None if one.refused is None else str(one.refused),
        "frame": None if survey is None else survey.frame,
        "holes": {} if survey is None else {name: _hole(hole) for name, hole in survey.holes.items()},
        "floating": list(one.floating),
        "readings": [_checked(reading) for reading in survey.readings]
        if survey is not None
        else [_reading(reading) for reading in one.net.all_readings],
        "redundancy": None if survey is None else survey.dof,
        "chi_square": None if survey is None else survey.chi_square,
        "probability": None if survey is None else survey.probability,
        "mirror": None if survey is None else "unsettled" if one.mirror_open else survey.mirror,
        "flips": [] if survey is None else [str(flip) for flip in survey.flips],
        "cautions": [] if survey is None else list(survey.cautions),
        "suspect": None if one.suspect is None else _suspect(one, one.suspect),
        "next_reading": None if one.proposal is None else _proposal(one.proposal),
        "bolt_circle_mm": None if one.circle is None else one.circle.diameter,
        "bolt_circle_sigma_mm": None if one.circle is None else one.circle.sigma,
        "rectangle_mm": None if one.rectangle is None else [one.rectangle.width, one.rectangle.height],
        "nominals": [_nominal(nominal) for nominal in one.nominals],
        "candidates": [_candidate(match) for match in one.candidates],
        "fit_odds": None if one.fit is None else fit_figures(one.fit, one.way),
    }


def plan_figures(plans: Mapping[str, MeasuringPlan]) -> Figures:
    """The readings to take, by mount."""
    return tidied({"plan": {name: _plan(plan) for name, plan in plans.items()}}, DECIMALS)


def _plan(plan: MeasuringPlan) -> Figures:
    return {
        "readings": [
            {"features": list(step.features), "kind": step.kind, "expected_mm": step.expected, "why": step.why}
            for step in plan.steps
        ],
        "clockwise": None if plan.clockwise is None else list(plan.clockwise),
        "worst_sigma_mm": plan.worst_sigma,
        "redundancy": plan.redundancy,
    }


def _hole(hole: LocatedFeature) -> Figures:
    return {
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


def _reading(reading: Reading) -> Figures:
    return {"features": list(reading.features), "kind": reading.kind, "value_mm": reading.value}


def _checked(reading: Checked) -> Figures:
    return {
        **_reading(reading.reading),
        "sigma_mm": reading.sigma,
        "adjusted_mm": reading.adjusted,
        "residual_mm": reading.residual,
        "normalised": reading.normalised,
        "redundancy": reading.redundancy,
        "smallest_blunder_mm": reading.smallest_blunder,
        "counted": not reading.copied,
    }


def _suspect(one: Surveyed, suspect: Suspect) -> Figures:
    readings = one.net.all_readings
    return {
        "reading": _reading(suspect.reading),
        "index": suspect.index,
        "likely_mm": suspect.likely,
        "predicted_mm": suspect.predicted,
        "sigma_mm": suspect.sigma,
        "why": suspect.why,
        "sure": suspect.sure,
        "rivals": [_reading(readings[index]) for index in suspect.rivals],
        "alike": [_reading(readings[index]) for index in suspect.alike],
        "mended": [_reading(reading) for reading in suspect.mended],
        "stories": list(suspect.stories),
        "settles": None
        if suspect.settles is None
        else {
            "features": list(suspect.settles.features),
            "kind": suspect.settles.kind,
            "values_mm": list(suspect.settles.values),
        },
    }


def _proposal(proposal: Proposal) -> Figures:
    return {
        "features": list(proposal.features),
        "kind": proposal.kind,
        "expected_mm": proposal.expected,
        "worst_sigma_before_mm": proposal.worst_before,
        "worst_sigma_after_mm": proposal.worst_after,
        "floating_after": list(proposal.floating),
        "helps": proposal.helps,
        "checks": None if proposal.checks is None else _reading(proposal.checks),
    }


def _nominal(nominal: NearestNominals) -> Figures:
    return {
        "kind": nominal.kind,
        "names": list(nominal.names),
        "measured_mm": nominal.measured,
        "sigma_mm": nominal.sigma,
        "metric": _near(nominal.metric),
        "inch": _near(nominal.inch),
    }


def _near(near: Near) -> Figures:
    return {"text": near.text, "value_mm": near.value, "off_mm": near.off, "agrees": near.agrees, "chance": near.chance}


def _candidate(match: Match) -> Figures:
    return {
        "name": match.name,
        "share": match.share,
        "probability": match.probability,
        "mirrored": match.mirrored,
        "holes": list(match.names),
        "off_mm": list(match.off),
    }


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
