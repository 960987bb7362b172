"""Stock pulleys and belts ranked for a spec's wanted speeds: as a table for a terminal, and as figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.checks.drive_edits import SIZES
from platekit.drawing.cautions import CAUTIONS
from platekit.errors import DriveError, PlatekitError
from platekit.export.data.rounded import Figures, tidied
from platekit.export.files import rewrite
from platekit.export.text.drive import in_columns
from platekit.export.text.terminal import folded
from platekit.placed import Layout
from platekit.spec.editing import Value, with_value
from platekit.spec.source import read, source_of
from platekit.units import Unit, said_in, show_length, show_speed, typed_length

if TYPE_CHECKING:
    from platekit.drive.choosing import Choice, RankedDrives
    from platekit.tables.belts.pulleys import StockPulley

CENTRES_ROOM: Final = 0.25
"""Without other words, drives are looked for with the shafts this share closer and farther apart (ours)."""
SHOWN: Final = 10
"""How many choices are shown when nothing is said (ours)."""


class ChoiceWanted(Struct, frozen=True):
    """What `platekit drive --choose` is asked for, lengths as typed; None where the spec's own drive tells.

    `belt` is which of the belts, from the motor on; the last one drives the working shaft.
    """

    closest: str | None = None
    farthest: str | None = None
    largest_driver: str | None = None
    largest_driven: str | None = None
    sections: tuple[str, ...] = ()
    count: int = SHOWN
    belt: int = -1


def choices_for(layout: Layout, wanted: ChoiceWanted) -> RankedDrives:
    """The best stock drives for the wanted speeds of the spec; raises `DriveError` when none would do."""
    from platekit.drive import Range
    from platekit.drive.choosing import ChoiceRequest, choose

    closest, farthest, driver, driven = (
        None if size is None else typed_length(size, layout.spec.unit)
        for size in (wanted.closest, wanted.farthest, wanted.largest_driver, wanted.largest_driven)
    )
    # The last belt drives the working shaft; behind a countershaft it runs `before` times slower than the motor, and
    # the belts after another one have their share of how much slower the working shaft is wanted.
    belt, last = layout.belts[wanted.belt], layout.belts[-1]
    request, points = belt.request, last.result.points
    speeds, after = last.request.wanted.speeds, last.result.ratio / belt.result.ratio
    if last.request.motor is None or not points or speeds is None:
        raise DriveError("to choose, give the motor under `drive.motor` and the speeds under `drive.wanted`")
    # The shafts stand where they stand: a drive fits best that leaves them there, but may ask for some room.
    own = belt.result.centre_distance
    low = own * (1 - CENTRES_ROOM) if closest is None else closest
    high = own * (1 + CENTRES_ROOM) if farthest is None else farthest
    motor = last.request.motor
    rated = motor.speed_rpm if motor.loaded is None else motor.loaded[0]
    before = request.before
    return choose(
        ChoiceRequest(
            motor_speeds=Range(points[0].motor_rpm / before, points[-1].motor_rpm / before),
            wanted=Range(speeds.low * after, speeds.high * after),
            centres=Range(low, high),
            best_centres=min(max(own, low), high),
            sections=wanted.sections,
            largest_driver=driver or math.inf,
            largest_driven=driven or math.inf,
            power_w=max(point.motor_torque_nm * point.motor_rpm * math.pi / 30 for point in points),
            rated_rpm=rated / before,
            service_factor=request.service_factor,
        ),
        wanted.count,
    )


def choices_figures(choices: RankedDrives) -> Figures:
    """The choices for a program, the best first: mm, degrees, rpm, m/s, each with its merits (shares, no unit)."""
    return tidied(
        {
            "cautions": list(CAUTIONS),
            "tried": choices.tried,
            "fitting": choices.fitting,
            "choices": [
                {
                    "score": one.score,
                    "merits": dict(one.merits),
                    "section": one.belt.section.name,
                    "belt": one.belt.label,
                    "belt_length_mm": one.belt.pitch_length,
                    "driver": one.driver.label,
                    "driver_pitch_mm": one.driver.pitch_diameter,
                    "driven": one.driven.label,
                    "driven_pitch_mm": one.driven.pitch_diameter,
                    "centre_distance_mm": one.centres,
                    "wrap_small_deg": math.degrees(one.wrap),
                    "ratio": one.ratio,
                    "speed_low_rpm": one.speeds.low,
                    "speed_high_rpm": one.speeds.high,
                    "belt_speed_m_s": one.belt_speed_m_s,
                    "belts_needed": one.belts_needed,
                    "ribs_needed": one.ribs_needed,
                    "width_needed_mm": one.width_needed,
                }
                for one in choices.best
            ],
        }
    )


def choices_text(layout: Layout, choices: RankedDrives) -> str:
    """The ranked drives as a table, and below it what each merit counts."""
    # One row a drive, the best first: the rank is what `--write` is given.
    unit = layout.spec.unit
    rows: list[Sequence[str]] = [
        (
            "",
            "belt",
            "driver",
            "driven",
            f"centres {unit}",
            "rpm",
            "wrap",
            "ft/min" if unit == "in" else "m/s",
            "belts",
            "score",
        )
    ]
    for rank, choice in enumerate(choices.best, start=1):
        low, high = choice.speeds.low, choice.speeds.high
        rows.append(
            (
                f"{rank}",
                said_in(choice.belt.label, unit),
                _pulley_words(choice.driver, unit),
                _pulley_words(choice.driven, unit),
                show_length(choice.centres, unit).removesuffix(f" {unit}"),
                f"{low:.0f}" if low == high else f"{low:.0f}-{high:.0f}",
                f"{math.degrees(choice.wrap):.0f}",
                show_speed(choice.belt_speed_m_s, unit).partition(" ")[0],
                _needed_words(choice, unit),
                f"{choice.score:.2f}",
            )
        )
    lines = [
        *in_columns(rows),
        "",
        f"{choices.tried:,} stock drives tried, {choices.fitting:,} would do; the lowest score is the best.",
        "A score adds up what a drive falls short of, each over what is bearable:",
        *_merits(choices, unit),
    ]
    return "\n".join(lines)


def write_choice(layout: Layout, choices: RankedDrives, number: int) -> Path:
    """Writes belt and pulleys of choice `number` (from 1) into the spec's own file, comments kept, and gives its path.

    Raises `PlatekitError` for a number that no choice has, and for a spec that is no file.
    """
    count, path = len(choices.best), layout.spec.path
    if number > count:
        raise PlatekitError(f"there is no choice {number}; {count} {'is' if count == 1 else 'are'} shown")
    if path is None:
        raise PlatekitError("the spec is no file; write belt and pulleys down by hand")
    rewrite(path, layout.spec.text, with_choice(layout, choices.best[number - 1]))
    return path


def with_choice(layout: Layout, choice: Choice) -> str:
    """The text of the spec with belt and pulleys of a choice; what else it says of them (shaft, span) stays."""
    text = layout.spec.text
    for field, value in choice_edits(layout, choice):
        text = with_value(text, field, value)
    return text


def choice_edits(layout: Layout, choice: Choice, which: int = -1) -> list[tuple[str, Value]]:
    """The fields of the spec that a choice for one of the belts changes, (field, value): belt and both pulleys."""
    field = layout.belts[which].field
    # Stock belts are listed without a width or a number of ribs where the strand is cut to width: then what is needed
    # is written, unless the spec's own belt of that kind is wide enough.
    belt, before = choice.belt, layout.belts[which].request.belt
    words: dict[str, Value] = {"size": belt.label}
    kept = _raw(layout, f"{field}.belt")
    if belt.section.toothed:
        enough = before is not None and before.width >= (choice.width_needed or 0)
        width = kept.get("width") if enough else f"{choice.width_needed:g} mm"
        words |= {} if width is None else {"width": width}
    if belt.section.family == "ribbed":
        ribs = belt.ribs or max(choice.ribs_needed or 0, before.ribs if before is not None else 0)
        words |= {"ribs": ribs} if ribs else {}
    if (choice.belts_needed or 1) > 1:
        words["count"] = choice.belts_needed or 1
    edits: list[tuple[str, Value]] = [(f"{field}.belt", words)]
    for end, pulley in (("driver", choice.driver), ("driven", choice.driven)):
        sold = pulley.sold
        size: dict[str, Value] = {"teeth": pulley.teeth} if sold is None else {f"{sold.of}_diameter": sold.typed}
        kept = {key: value for key, value in _raw(layout, f"{field}.{end}").items() if key not in SIZES}
        edits.append((f"{field}.{end}", kept | size))
    return edits


def _needed_words(choice: Choice, unit: Unit) -> str:
    """How many V-belts, or how many ribs, or how wide a toothed belt; nothing where no power was given."""
    if choice.width_needed is not None:
        return f"{show_length(choice.width_needed, unit)} wide"
    if choice.ribs_needed is not None:
        return f"{choice.ribs_needed} {'rib' if choice.ribs_needed == 1 else 'ribs'}"
    return "" if choice.belts_needed is None else str(choice.belts_needed)


def _pulley_words(pulley: StockPulley, unit: Unit) -> str:
    """A stock pulley's size in the unit of the spec, whatever it is sold by; teeth stay teeth."""
    return pulley.label if pulley.sold is None else f"{show_length(pulley.sold.mm, unit)} {pulley.sold.of}"


def _raw(layout: Layout, field: str) -> dict[str, Value]:
    """What the spec says under a field, as it was typed."""
    top, _ = read(source_of(layout.spec.text, layout.spec.name))
    data = None if top is None else top.data
    for step in field.split("."):
        data = data[step] if isinstance(data, dict) else None
    return dict(data) if isinstance(data, dict) else {}


def _merits(choices: RankedDrives, unit: Unit) -> list[str]:
    """What each merit adds to the score of each drive, and what it counts."""
    from platekit.drive.choosing import MERITS

    named = tuple(choices.best[0].merits)
    shares = [
        (f"{rank}", *(f"{choice.merits[name]:.2f}" for name in named))
        for rank, choice in enumerate(choices.best, start=1)
    ]
    lines = [*in_columns([("", *named), *shares]), ""]
    for name in named:
        what, bearable = MERITS[name]
        lines += folded(f"  {name}: {said_in(what, unit)}, over {bearable:g}", then="    ")
    return lines
