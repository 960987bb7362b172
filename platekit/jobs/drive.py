"""`platekit drive`: the belt drive worked out with its chart, or stock pulleys and belts ranked for it."""

from __future__ import annotations

from pathlib import Path

from platekit.drawing.cautions import TWO_LINES
from platekit.errors import SpecError
from platekit.export.files import file_in, folder_in, write_whole
from platekit.export.picture.drive_chart import CHART_SUFFIX, chart_text, working_belt
from platekit.export.standing import left_of
from platekit.export.text.drive import drive_figures, drive_text, drive_verdict
from platekit.jobs.drive_choices import ChoiceWanted, choices_figures, choices_for, choices_text, write_choice
from platekit.jobs.plates import laid_out
from platekit.jobs.told import Told, Working, silent, wrote_lines
from platekit.placed import Layout
from platekit.studies.advised import judge


def drive(path: Path, out: Path, working: Working = silent) -> Told:
    """The drive of the spec at `path`; its chart goes under `out`, and void cut files there go away.

    Raises `SpecError`, also for a spec without a drive, and `OutputError`.
    """
    layout = _with_drive(path, working, coupled=True)
    # Judged as a whole, for the cut files that any stop makes void; the state told is that of the drive's rules alone.
    verdict = judge(layout)
    standing = left_of(layout, verdict, out)
    chart: Path | None = None
    if working_belt(layout) is not None:  # without a motor there is no curve to draw
        chart = file_in(folder_in(out, layout.spec.name), layout.spec.name + CHART_SUFFIX)
        write_whole(chart, chart_text(layout).encode())
    return Told(
        drive_verdict(layout, verdict).word,
        lambda: "\n".join([*standing.lines(), drive_text(layout, verdict, chart)]),
        lambda: {**drive_figures(layout, verdict, chart), **standing.figures()},
        () if chart is None else (chart,),
    )


def choose(path: Path, wanted: ChoiceWanted, write: int | None = None, working: Working = silent) -> Told:
    """Stock drives ranked for the spec at `path`; choice `write` (from 1) goes into the spec.

    Raises `SpecError`, `UnitError`, `DriveError` when no drive would do, `PlatekitError` for a choice not shown.
    """
    layout = _with_drive(path, working)
    # thousands of pairs of pulleys and belts: the one step here that takes a second
    working("making the ranking of all stock pulleys and belts")
    choices = choices_for(layout, wanted)
    written = () if write is None else (write_choice(layout, choices, write),)
    return Told(
        "done",
        lambda: "\n\n".join([choices_text(layout, choices), "\n".join(TWO_LINES), *wrote_lines(written)]),
        lambda: choices_figures(choices),
        written,
    )


def _with_drive(path: Path, working: Working, *, coupled: bool = False) -> Layout:
    layout = laid_out(path, working)
    if layout.twisted is not None:
        wanted = "use platekit check, which says what is left to be set out by hand"
        found = "a belt over crossed shafts, of which nothing is worked out"
        raise SpecError((layout.spec.problem(f"{layout.twisted.field}.shafts", found, wanted),))
    if not layout.belts and not (coupled and layout.couplings):
        raise SpecError((layout.spec.problem("drive", "no drive", "describe motor, belt and pulleys under `drive`"),))
    return layout
