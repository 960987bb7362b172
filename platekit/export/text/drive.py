"""The drive as text and as figures: what was worked out, and the working shaft over the setting."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from platekit.checks.finding import Finding, Verdict
from platekit.drawing.cautions import TWO_LINES
from platekit.export.data.plate import belt_figures, coupling_figures, verdict_figures
from platekit.export.data.rounded import Figures, tidied
from platekit.export.picture.drive_chart import compared
from platekit.export.text.belt import belt_rows
from platekit.export.text.coupling import coupling_rows
from platekit.export.text.terminal import folded
from platekit.export.text.verdict import finding_lines
from platekit.placed import Layout, PlacedBelt
from platekit.units import Unit, said_in, show_power, show_speed, show_torque

LABEL: Final = 21
"""Columns of the names in front of the figures."""


def drive_verdict(layout: Layout, verdict: Verdict) -> Verdict:
    """Only what the rules on the drive have to say, and what was not checked about a belt."""
    from platekit.checks import couplings, drive, drive_fit, unknown

    names = {rule.name for rule in (*drive.RULES, *drive_fit.RULES, *couplings.RULES)}
    gaps = {rule.name for rule in unknown.RULES}
    belts = {belt.name for belt in layout.belts} | {one.body for one in layout.couplings}

    def about_the_drive(finding: Finding) -> bool:
        return finding.rule in names or (finding.rule in gaps and not belts.isdisjoint(finding.features))

    return Verdict(tuple(filter(about_the_drive, verdict.findings)))


# ------------------------------------------------------------------------------------------- figures


def drive_figures(layout: Layout, verdict: Verdict, chart: Path | None) -> Figures:
    """All figures of the drive: those of the belt on the motor's shaft, with the points of the working shaft.

    `belts` has every belt; `control` the torque that other pulleys, and inverter or voltage, give at each speed.
    """
    if not layout.belts:  # shafts in line: nothing changes between motor and machine
        return tidied(
            {
                "ratio": 1.0,
                "belts": [],
                "couplings": [coupling_figures(one) for one in layout.couplings],
                **verdict_figures(drive_verdict(layout, verdict)),
                "chart": None,
            }
        )
    first, last = layout.belts[0], layout.belts[-1]
    motor = last.request.motor
    control = [] if motor is None or not last.result.points else compared(last, motor)
    return tidied(
        {
            **first.result.figures(),
            "ratio": last.result.ratio,
            "points": last.result.figures()["points"],
            "belts": [belt_figures(belt) for belt in layout.belts],
            "couplings": [coupling_figures(one) for one in layout.couplings],
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
    lines = [f"{layout.title}  (revision {layout.spec.revision})", ""]
    for belt in layout.belts:
        lines.append(f"{belt.name}: {belt.driver.mount} to {belt.driven.mount}")
        for label, said in belt_rows(layout, belt):
            lines += folded(said, f"  {label:<{LABEL}}", " " * (LABEL + 2))
        for note in belt.result.notes:
            lines += folded(f"  - {said_in(note, layout.spec.unit)}", then="    ")
        lines.append("")
    for one in layout.couplings:
        lines.append(f"{one.body}: {one.driving.mount} to {one.driven.mount}")
        for label, said in coupling_rows(layout, one):
            lines += folded(said, f"  {label:<{LABEL}}", " " * (LABEL + 2))
        lines.append("")
    if layout.belts:
        lines += [*_working(layout.belts[-1], layout.spec.unit), ""]
    for finding in drive_verdict(layout, verdict).findings:
        lines += [*finding_lines([finding]), ""]
    lines += TWO_LINES
    if chart is not None:
        lines.append(f"wrote {chart}")
    return "\n".join(lines).rstrip("\n")


def _working(belt: PlacedBelt, unit: Unit) -> list[str]:
    points = belt.result.points
    if not points:
        return ["no motor is given, so there are no speeds and no torque"]
    head = "Hz" if points[0].frequency_hz is not None else "voltage"
    in_inches = unit == "in"
    power, torque, speed = ("hp", "lbf ft", "ft/min") if in_inches else ("kW", "Nm", "m/s")
    rows = [(head, "rpm", torque, power, "motor rpm", f"belt {speed}")]
    for point in points:
        setting = f"{point.frequency_hz:.1f}" if point.frequency_hz is not None else f"{point.setting or 0:.2f}"
        rows.append(
            (
                setting,
                f"{point.speed_rpm:.1f}",
                show_torque(point.torque_nm, unit).partition(" ")[0],
                show_power(point.power_w, unit, ".3f").partition(" ")[0],
                f"{point.motor_rpm:.0f}",
                show_speed(point.belt_speed_m_s, unit).partition(" ")[0],
            )
        )
    lines = [f"at the working shaft ({belt.driven.mount}):"]
    lines += [f"  {line}" for line in in_columns(rows)]
    reach = belt.result.reach
    if reach is not None:
        said = "reached" if reach.reached else "NOT reached"
        lines.append(f"  wanted {reach.wanted_low_rpm:.0f} to {reach.wanted_high_rpm:.0f} rpm: {said}")
    return lines


def in_columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines, every column as wide as its widest cell, figures to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
