"""The drive as text and as figures: what was worked out, the working shaft over the setting, and ranked choices."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.checks.finding import Finding, Verdict
from platekit.drive import WorkingPoint
from platekit.errors import DriveError
from platekit.export.drive_chart import CHART_SUFFIX, chart_text, compared, working_belt
from platekit.export.drive_words import belt_rows
from platekit.export.figures import Figures, tidied
from platekit.export.files import file_in, folder_in, write_whole
from platekit.export.plate_json import belt_figures, verdict_figures
from platekit.placed import Layout, PlacedBelt
from platekit.units import show_length

if TYPE_CHECKING:
    from platekit.drive.choosing import Choice, ChoiceRequest, Choices

WIDTH: Final = 100
LABEL: Final = 21
"""Columns of the names in front of the figures."""

CENTRES_ROOM: Final = 0.25
"""Without other words, drives are looked for with the shafts this share closer and farther apart (ours)."""

SHOWN: Final = 10
"""How many choices are shown when nothing is said (ours)."""


def drive_verdict(layout: Layout, verdict: Verdict) -> Verdict:
    """Only what the rules on the drive have to say, and what was not checked about a belt."""
    from platekit.checks import drive, drive_fit, unknown

    names = {rule.name for rule in (*drive.RULES, *drive_fit.RULES)}
    gaps = {rule.name for rule in unknown.RULES}
    belts = {belt.name for belt in layout.belts}

    def about_the_drive(finding: Finding) -> bool:
        return finding.rule in names or (finding.rule in gaps and not belts.isdisjoint(finding.features))

    return Verdict(tuple(filter(about_the_drive, verdict.findings)))


def with_drive(layout: Layout) -> Layout:
    """The layout itself; `DriveError` if its spec has no drive."""
    if not layout.belts:
        raise DriveError("the spec has no drive; describe motor, belt and pulleys under `drive`")
    return layout


def write_chart(layout: Layout, out: Path) -> Path | None:
    """Writes the chart into the folder of the spec; None where there is no motor to show."""
    if working_belt(layout) is None:
        return None
    folder = folder_in(out, layout.spec.name)
    path = file_in(folder, layout.spec.name + CHART_SUFFIX)
    write_whole(path, chart_text(layout).encode())
    return path


# ------------------------------------------------------------------------------------------- figures


def drive_figures(layout: Layout, verdict: Verdict, chart: Path | None) -> Figures:
    """All figures of the drive: those of the belt on the motor's shaft, with the points of the working shaft.

    `belts` has every belt; `control` the torque that other pulleys, and inverter or voltage, give at each speed.
    """
    first, last = layout.belts[0], layout.belts[-1]
    motor = last.request.motor
    control = [] if motor is None or not last.result.points else compared(last, motor)
    return tidied(
        {
            **first.result.figures(),
            "ratio": last.result.ratio,
            "points": last.result.figures()["points"],
            "belts": [belt_figures(belt) for belt in layout.belts],
            "control": [
                {
                    "way": curve.way,
                    "points": [
                        {
                            "speed_rpm": held.speed_rpm,
                            "torque_nm": held.torque_nm,
                            "power_kw": held.power_w / 1000,
                        }
                        for held in curve.points
                    ],
                }
                for curve in control
            ],
            **verdict_figures(drive_verdict(layout, verdict)),
            "chart": None if chart is None else str(chart),
        }
    )


# ---------------------------------------------------------------------------------------------- text


def drive_text(layout: Layout, verdict: Verdict, chart: Path | None) -> str:
    """The drive for a terminal: each belt, the working shaft, what stands against it, and where the chart is."""
    lines = [f"{layout.model.title}  (revision {layout.spec.revision})", ""]
    for belt in layout.belts:
        lines += [*_belt(layout, belt), ""]
    lines += [*_working(layout.belts[-1]), ""]
    for finding in drive_verdict(layout, verdict).findings:
        lines += [*_finding(finding), ""]
    if chart is not None:
        lines.append(f"wrote {chart}")
    return "\n".join(lines).rstrip("\n")


def _finding(finding: Finding) -> list[str]:
    lines = textwrap.wrap(f"{finding.level:<5} {finding.rule}: {finding.message}", WIDTH, subsequent_indent=" " * 6)
    if finding.advice:
        lines += textwrap.wrap(f"> {finding.advice}", WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 8)
    return lines


def _belt(layout: Layout, belt: PlacedBelt) -> list[str]:
    lines = [f"{belt.name}: {belt.driver.mount} to {belt.driven.mount}"]
    for label, said in belt_rows(layout, belt):
        lines += textwrap.wrap(said, WIDTH, initial_indent=f"  {label:<{LABEL}}", subsequent_indent=" " * (LABEL + 2))
    for note in belt.result.notes:
        lines += textwrap.wrap(f"  - {note}", WIDTH, subsequent_indent="    ")
    return lines


def _working(belt: PlacedBelt) -> list[str]:
    points = belt.result.points
    if not points:
        return ["no motor is given, so there are no speeds and no torque"]
    head = "Hz" if points[0].frequency_hz is not None else "voltage"
    rows = [(head, "rpm", "Nm", "kW", "motor rpm", "belt m/s"), *(_point(point) for point in points)]
    lines = [f"at the working shaft ({belt.driven.mount}):"]
    lines += [f"  {line}" for line in _table(rows)]
    reach = belt.result.reach
    if reach is not None:
        said = "reached" if reach.reached else "NOT reached"
        lines.append(f"  wanted {reach.wanted_low_rpm:.0f} to {reach.wanted_high_rpm:.0f} rpm: {said}")
    return lines


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines, every column as wide as its widest cell, figures to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]


def _point(point: WorkingPoint) -> tuple[str, ...]:
    setting = f"{point.frequency_hz:.1f}" if point.frequency_hz is not None else f"{point.setting or 0:.2f}"
    return (
        setting,
        f"{point.speed_rpm:.1f}",
        f"{point.torque_nm:.2f}",
        f"{point.power_w / 1000:.3f}",
        f"{point.motor_rpm:.0f}",
        f"{point.belt_speed_m_s:.1f}",
    )


# ------------------------------------------------------------------------------------------- choosing


class ChoiceWanted(Struct, frozen=True):
    """What `platekit drive --choose` is asked for; lengths in mm, None where the spec's own drive tells."""

    closest: float | None = None
    farthest: float | None = None
    largest_driver: float | None = None
    largest_driven: float | None = None
    sections: tuple[str, ...] = ()
    count: int = SHOWN


def choices_for(layout: Layout, wanted: ChoiceWanted) -> Choices:
    """The best stock drives for the wanted speeds of the spec; raises `DriveError` when none would do."""
    from platekit.drive.choosing import choose

    return choose(_asked(layout, wanted), wanted.count)


def _asked(layout: Layout, wanted: ChoiceWanted) -> ChoiceRequest:
    from platekit.drive import Range
    from platekit.drive.choosing import ChoiceRequest

    belt = layout.belts[-1]
    request, points = belt.request, belt.result.points
    if request.motor is None or not points or request.wanted.speeds is None:
        raise DriveError("to choose, give the motor under `drive.motor` and the speeds under `drive.wanted`")
    own = belt.result.centre_distance
    low = own * (1 - CENTRES_ROOM) if wanted.closest is None else wanted.closest
    high = own * (1 + CENTRES_ROOM) if wanted.farthest is None else wanted.farthest
    rated = request.motor.speed_rpm if request.motor.loaded is None else request.motor.loaded[0]
    before = request.before
    return ChoiceRequest(
        motor_speeds=Range(points[0].motor_rpm / before, points[-1].motor_rpm / before),
        wanted=request.wanted.speeds,
        centres=Range(low, high),
        best_centres=min(max(own, low), high),
        sections=wanted.sections,
        largest_driver=wanted.largest_driver or math.inf,
        largest_driven=wanted.largest_driven or math.inf,
        power_w=max(point.motor_torque_nm * point.motor_rpm * math.pi / 30 for point in points),
        rated_rpm=rated / before,
        service_factor=request.service_factor,
    )


def choices_figures(choices: Choices) -> Figures:
    """The choices for a program: the best first, each with its merits."""
    return tidied(
        {"tried": choices.tried, "fitting": choices.fitting, "choices": [_choice(one) for one in choices.best]}
    )


def _choice(choice: Choice) -> Figures:
    return {
        "score": choice.score,
        "merits": dict(choice.merits),
        "section": choice.belt.section.name,
        "belt": choice.belt.label,
        "belt_length_mm": choice.belt.pitch_length,
        "driver": choice.driver.label,
        "driver_pitch_mm": choice.driver.pitch_diameter,
        "driven": choice.driven.label,
        "driven_pitch_mm": choice.driven.pitch_diameter,
        "centre_distance_mm": choice.centres,
        "wrap_small_deg": math.degrees(choice.wrap),
        "ratio": choice.ratio,
        "speed_low_rpm": choice.speeds.low,
        "speed_high_rpm": choice.speeds.high,
        "belt_speed_m_s": choice.belt_speed_m_s,
        "belts_needed": choice.belts_needed,
    }


def choices_text(layout: Layout, choices: Choices) -> str:
    """The ranked drives as a table, and below it what each merit counts."""
    from platekit.drive.choosing import MERITS

    unit = layout.spec.unit
    head = ("", "belt", "driver", "driven", f"centres {unit}", "rpm", "wrap", "m/s", "belts", "score")
    rows: list[Sequence[str]] = [head]
    for rank, choice in enumerate(choices.best, start=1):
        low, high = choice.speeds.low, choice.speeds.high
        rows.append(
            (
                f"{rank}",
                choice.belt.label,
                choice.driver.label,
                choice.driven.label,
                show_length(choice.centres, unit).removesuffix(f" {unit}"),
                f"{low:.0f}" if low == high else f"{low:.0f}-{high:.0f}",
                f"{math.degrees(choice.wrap):.0f}",
                f"{choice.belt_speed_m_s:.1f}",
                "look up" if choice.belts_needed is None else str(choice.belts_needed),
                f"{choice.score:.2f}",
            )
        )
    lines = [
        *_table(rows),
        "",
        f"{choices.tried:,} stock drives tried, {choices.fitting:,} would do; the lowest score is the best.",
        "A score adds up what a drive falls short of, each over what is bearable:",
    ]
    named = tuple(choices.best[0].merits)
    shares = [
        (f"{rank}", *(f"{choice.merits[name]:.2f}" for name in named))
        for rank, choice in enumerate(choices.best, start=1)
    ]
    lines += [*_table([("", *named), *shares]), ""]
    for name in named:
        what, bearable = MERITS[name]
        lines += textwrap.wrap(f"  {name}: {what}, over {bearable:g}", WIDTH, subsequent_indent="    ")
    return "\n".join(lines)
