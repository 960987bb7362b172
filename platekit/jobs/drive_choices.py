"""Stock pulleys and belts ranked for a spec's wanted speeds: as a table for a terminal, and as figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.drawing.cautions import CAUTIONS
from platekit.errors import PlatekitError
from platekit.export.data.rounded import Figures, tidied
from platekit.export.files import rewrite
from platekit.export.text.drive import in_columns
from platekit.export.text.terminal import folded
from platekit.placed import Layout
from platekit.spec.editing import with_value
from platekit.studies.stock_drives import choice_edits, drive_wanted
from platekit.units import Unit, said_in, show_length, show_speed, typed_length

if TYPE_CHECKING:
    from platekit.drive.choosing import Choice, RankedDrives
    from platekit.tables.belts.pulleys import StockPulley

SHOWN: Final = 10
"""How many choices are shown when nothing is said (ours)."""


class ChoiceWanted(Struct, frozen=True):
    """What `platekit drive --choose` is asked for, lengths as typed; None where the spec's own drive tells.

    `belt` is which of the belts, from the motor on; the last one drives the working shaft. `apart` is how far apart the
    shafts are to be, about.
    """

    closest: str | None = None
    farthest: str | None = None
    largest_driver: str | None = None
    largest_driven: str | None = None
    sections: tuple[str, ...] = ()
    count: int = SHOWN
    belt: int = -1
    apart: str | None = None


def choices_for(layout: Layout, wanted: ChoiceWanted) -> RankedDrives:
    """The best stock drives for the wanted speeds of the spec; raises `DriveError` when none would do."""
    from platekit.drive.choosing import choose

    closest, farthest, driver, driven, apart = (
        None if size is None else typed_length(size, layout.spec.unit)
        for size in (wanted.closest, wanted.farthest, wanted.largest_driver, wanted.largest_driven, wanted.apart)
    )
    asked = drive_wanted(
        layout,
        wanted.belt,
        closest=closest,
        farthest=farthest,
        about=apart,
        largest=(driver or math.inf, driven or math.inf),
        sections=wanted.sections,
    )
    return choose(asked, wanted.count)


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
                choice.belt.label,
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


def _needed_words(choice: Choice, unit: Unit) -> str:
    """How many V-belts, or how many ribs, or how wide a toothed belt; nothing where no power was given."""
    if choice.width_needed is not None:
        return f"{show_length(choice.width_needed, unit)} wide"
    if choice.ribs_needed is not None:
        return f"{choice.ribs_needed} {'rib' if choice.ribs_needed == 1 else 'ribs'}"
    return "" if choice.belts_needed is None else str(choice.belts_needed)


def _pulley_words(pulley: StockPulley, unit: Unit) -> str:
    """A stock pulley's size in the unit of the spec; in inches one that is sold by the millimetre says both."""
    if pulley.sold is None:
        return pulley.label
    if unit == "in" and pulley.sold.unit == "mm":
        return f"{pulley.sold.typed} {pulley.sold.of} ({show_length(pulley.sold.mm, unit)})"
    return f"{show_length(pulley.sold.mm, unit)} {pulley.sold.of}"


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
