"""`platekit survey`: a spec's measured patterns as text, figures and a picture."""

from __future__ import annotations

import os
from pathlib import Path

from msgspec.structs import asdict

from platekit.drawing.cautions import CAUTIONS
from platekit.errors import Problem, SpecError
from platekit.export.data.survey import plan_figures, survey_figures
from platekit.export.files import file_in, folder_in, write_whole
from platekit.export.picture.survey import survey_svg
from platekit.export.standing import SURVEY_SUFFIX
from platekit.export.text.survey import plan_text, survey_text
from platekit.jobs.told import Told, Working, silent, wrote_lines
from platekit.laying.measured import survey_of as located
from platekit.spec import load
from platekit.studies.long_surveys import long_surveys
from platekit.studies.surveyed import State, plans, surveyed
from platekit.survey.net import BadReading


def measured(path: str | os.PathLike[str], out: Path, working: Working = silent) -> Told:
    """The survey of the spec at `path`, in the state of its worst pattern; its picture goes to `out/<name>/`.

    Raises `SpecError` for a spec that cannot be read, `PlatekitError` without a measured pattern, `OutputError`.
    """
    spec = load(path)
    for words in long_surveys(spec):
        working(words)
    found = surveyed(spec)
    picture = file_in(folder_in(out, spec.name), spec.name + SURVEY_SUFFIX)
    write_whole(picture, survey_svg(spec, found).encode())
    # A survey that was refused knows what is wrong, not where it stands: reading it once more as a layout does puts
    # each problem at its line of the spec.
    problems: list[Problem] = []
    for one in found:
        if one.refused is not None:
            try:
                located(spec, one.mount, one.pattern)
            except SpecError as error:
                problems += error.problems
    order: tuple[State, ...] = ("placed", "open", "unusable")
    # the worst pattern decides: a plate with one unsure pattern is unsure
    state = max((one.state for one in found), key=order.index)

    def figures() -> dict[str, object]:
        where = {
            "problems": [asdict(problem) for problem in problems],
            "files": [str(picture)],
            "cautions": list(CAUTIONS),
        }
        return {**survey_figures(found), "state": state, **where}

    def text() -> str:
        pointed = (problem.pointed() for problem in problems)
        return "\n".join([*pointed, survey_text(spec, found), "", *wrote_lines((picture,))])

    return Told(state, text, figures, (picture,))


def planned(path: str | os.PathLike[str]) -> Told:
    """The readings to take for the patterns of the spec at `path`; raises as `measured` does."""
    # a plan is wanted before there are readings, so nothing is laid out: the spec may have no places yet
    spec = load(path)
    try:
        found = plans(spec)
    except BadReading as error:
        raise SpecError((spec.problem("mounts", "holes that cannot be planned", str(error)),)) from error
    return Told("placed", lambda: plan_text(spec, found), lambda: plan_figures(found))
