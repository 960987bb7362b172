"""Rules on a belt that does not stay where it runs: one that whips over a long way, one that runs off its teeth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import say, words_at
from platekit.checks.drive_edits import middle, whole
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.placed import Layout, PlacedBelt
from platekit.tables import belts

FARTHEST: Final = 3.0
"""Farthest apart that the shafts of a V-belt usually are, in the sum of both pitch diameters (Mott, Machine Elements in
Mechanical Design, on V-belt drive design; Shigley, Mechanical Engineering Design, on V belts: published)."""
BOTH_FLANGED: Final = 8.0
"""From so many diameters of the small pulley between the shafts both toothed pulleys have flanges (a belt maker's
guidelines on flanges, published)."""


def long_belt(layout: Layout) -> Iterator[Finding]:
    """V-belts over shafts so far apart (mm) that their slack run whips."""
    for belt in layout.belts:
        made, result = belt.request.belt, belt.result
        if made is None or belt.idlers or belts.section(made.section).family not in ("classical V", "narrow V"):
            continue
        most = FARTHEST * (result.driver_pitch + result.driven_pitch)
        if result.centre_distance <= most:
            continue
        yield Finding(
            rule="long-belt",
            level="warn",
            message=f"{belt.name}: the shafts are {say(layout, result.centre_distance)} apart; over more than "
            f"{say(layout, most)}, {FARTHEST:g} times both pulleys together, the slack run of a V-belt whips and jumps",
            features=whole(belt),
            at=middle(belt),
            found=result.centre_distance,
            needed=most,
            advice=Advice(
                "bring the shafts nearer to each other, use larger pulleys at the same ratio, a countershaft between "
                "them, or an idler on the slack run"
            ),
        )


def belt_flange(layout: Layout) -> Iterator[Finding]:
    """Toothed belts of which no pulley is said to have flanges, or too few of them."""
    for belt in layout.belts:
        made = belt.request.belt
        if made is None or not belts.section(made.section).toothed:
            continue
        flanged = [end for end in ("driver", "driven") if _flanged(layout, belt, end)]
        far = belt.result.centre_distance > BOTH_FLANGED * belt.result.small_pitch
        if len(flanged) == 2 or (flanged and not far):
            continue
        lacking = [end for end in ("driver", "driven") if end not in flanged]
        why = "over so long a way both pulleys need them" if far else "the small pulley mostly has one on either side"
        yield Finding(
            rule="belt-flange",
            level="note",
            message=f"{belt.name}: no flanges are told of {' and '.join(getattr(belt, end).name for end in lacking)}; "
            f"a toothed belt walks off pulleys without any, and {why}",
            features=tuple(getattr(belt, end).name for end in lacking),
            at=middle(belt),
            advice=Advice(
                f"buy {'them' if len(lacking) == 2 else 'it'} with flanges and give their size, as they take room too: "
                f"{belt.field}.{lacking[0]}.flange_diameter"
            ),
        )


def _flanged(layout: Layout, belt: PlacedBelt, end: str) -> bool:
    return words_at(layout, f"{belt.field}.{end}").flange_diameter is not None


RULES = (
    Rule(
        "long-belt",
        "a V-belt that whips over a long way between its shafts",
        f"{FARTHEST:g} times both pitch diameters together",
        "Mott, Machine Elements in Mechanical Design (published)",
        long_belt,
        levels=("warn",),
    ),
    Rule(
        "belt-flange",
        "a toothed belt that walks off its pulleys",
        f"one pulley with flanges; both over {BOTH_FLANGED:g} diameters of the small one between the shafts",
        "a belt maker's guidelines on flanges (published)",
        belt_flange,
        levels=("note",),
        keys=("drive.driver.flange_diameter", "drive.driven.flange_diameter"),
    ),
)
