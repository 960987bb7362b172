"""The rows of the report's tables, in words and figures as the page shows them; how the page looks is in `page`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.analysis.fitting import fits
from platekit.checks.finding import FieldValue, Level, Verdict
from platekit.checks.survey import SOURCE_WORDS, percent
from platekit.cutting import Operations
from platekit.drawing.like_findings import features_of, led, same_at
from platekit.drawing.sizes import figure, opening_size
from platekit.drawing.svg.parts import LEVEL_WORDS, number
from platekit.drawing.svg.shown import numbered_kinds, parts, side_of
from platekit.export.bench.words import place_words, screw_name, torque_words
from platekit.geometry import Disc, Swing, ends
from platekit.placed import Body, Layout, PlacedMount, ScrewStack
from platekit.units import mm_per

if TYPE_CHECKING:
    pass


class FindingRow(Struct, frozen=True):
    """Like findings as the page tells them."""

    count: int
    level: Level
    level_word: str
    rule: str
    message: str
    said: str
    """The sentence behind the rule's name, which is not said again."""
    advice: str
    edits: tuple[tuple[str, str], ...]
    features: tuple[str, ...]
    accepted: str | None


class HoleRow(Struct, frozen=True):
    """An opening: where it is from the spec's zero, how large, how it is made."""

    name: str
    role: str
    x: str
    y: str
    size: str
    how: str
    drill: str
    reason: str


class ScrewRow(Struct, frozen=True):
    """The screws of one mount: what to buy and how deep they hold."""

    mount: str
    buy: str
    washers: str
    into: str
    grip: str
    engagement: str
    needed: str
    available: str
    source: str
    torque: str


class OddsRow(Struct, frozen=True):
    """How likely it is that every screw of a mount goes in, and where the errors come from."""

    mount: str
    odds: str
    hole: str
    slack: str
    shares: str


class PartRow(Struct, frozen=True):
    """A body: where it is carried and what it reaches, measured from the plate's near face."""

    name: str
    side: str
    carrier: str
    low: str
    high: str
    gap: str
    moves: str


class BeltTold(Struct, frozen=True):
    """One belt: what was worked out, line by line, and what was taken for granted."""

    name: str
    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


class Slider(Struct, frozen=True):
    """A control for one mount's travel; `path` tells what moving by one unit means, in the plate frame."""

    mount: str
    low: str
    high: str
    unit: str
    path: dict[str, str]


# ------------------------------------------------------------------------------------------- findings


def finding_rows(verdict: Verdict) -> Iterator[FindingRow]:
    """The findings, like ones in one row; both numbers of each stand in its sentence, so they are not said again."""
    for count, alike in numbered_kinds(verdict):
        finding = alike[0]
        # the same edit may mend several findings of a kind: it is shown once
        edits = ((remedy.field, value_words(remedy.value)) for one in alike for remedy in one.remedies)
        yield FindingRow(
            count,
            finding.level,
            LEVEL_WORDS[finding.level],
            finding.rule,
            finding.message + same_at(alike),
            led(finding).removeprefix(f"{finding.rule}: ") + same_at(alike),
            finding.advice.text,
            tuple(dict.fromkeys(edits)),
            features_of(alike),
            finding.accepted,
        )


def value_words(value: FieldValue) -> str:
    """A value as it would stand in the spec, on one line.

    >>> value_words({"at": [1.5, 2.0], "relief": "auto"})
    '{at: [1.5, 2], relief: auto}'
    """
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {value_words(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(value_words(item) for item in value) + "]"
    return number(value, 4) if isinstance(value, float | int) else value


# --------------------------------------------------------------------------------------------- tables


def hole_rows(layout: Layout, made: Sequence[Operations]) -> Iterator[HoleRow]:
    """Every opening, in the order of the layout; places from the spec's zero, all in its unit."""
    unit = layout.spec.unit
    for opening, operations in zip(layout.openings, made, strict=True):
        x, y = (place_words(opening, axis, (0.0, 0.0), unit) for axis in (0, 1))
        drill = "" if operations.drill is None else figure(operations.drill, unit)
        size = opening_size(layout, opening)
        yield HoleRow(opening.name, opening.role, x, y, size, operations.how, drill, operations.reason)


def screw_row(layout: Layout, stack: ScrewStack) -> ScrewRow:
    """The screws of one mount, lengths in the unit of the spec."""
    unit = layout.spec.unit
    doubt = ": none in stock fits" if stack.length is None else ", as given" if stack.given else ""
    depth = "through the nut" if stack.into in ("nut", "stud") else "not known"
    into = {"part": "the part's thread", "plate": "the plate, tapped", "nut": "a nut", "stud": "a nut on the stud"}[
        stack.into
    ]
    return ScrewRow(
        mount=stack.mount,
        buy=f"{stack.count} × {screw_name(stack)}"
        if stack.into == "stud"
        else f"{stack.count} × {screw_name(stack)} head{doubt}",
        washers=str(stack.washers * stack.count) if stack.washers else "none",
        into=into,
        grip=figure(stack.grip, unit),
        engagement=figure(stack.engagement, unit),
        needed=figure(stack.needed, unit),
        available=depth if stack.available is None else figure(stack.available, unit),
        source=stack.needed_source,
        torque=torque_words(stack, unit),
    )


def odds_rows(layout: Layout) -> Iterator[OddsRow]:
    """The odds of every mount that was measured or comes from a standard, in per cent."""
    for fit in fits(layout):
        # without draws there is only a bound from below
        least = "" if fit.drawn else "at least "
        # what was not measured comes from a standard: then the error of its place is the part's own tolerance
        words = dict(SOURCE_WORDS)
        if layout.mounts[fit.mount].survey is None:
            words["measuring"] = "the part's own tolerance"
        # a slot lets go what lies along it; that it passes its screw at all is the matter of `tolerance`
        slotted = any(
            opening.mount == fit.mount and opening.role == "screw" and not isinstance(opening.shape, Disc)
            for opening in layout.openings
        )
        yield OddsRow(
            fit.mount,
            f"{least}{percent(fit.probability)}".replace("at least more", "more")
            + (", its slots as wide as drawn" if slotted else ""),
            figure(fit.hole, layout.spec.unit),
            figure(fit.slack, layout.spec.unit),
            ", ".join(f"{words[source]} {100.0 * share:.0f} %" for source, share in fit.shares if share),
        )


def part_rows(layout: Layout) -> Iterator[PartRow]:
    """Every part once: the strips of a belt or of a guard are one."""
    unit = layout.spec.unit
    pieces: dict[str, list[Body]] = {}
    for body in parts(layout):
        pieces.setdefault(
            body.name.split(".")[0] if body.kind == "guard" else body.carrier if body.kind == "belt" else body.name, []
        ).append(body)
    for name, bodies in pieces.items():
        first = bodies[0]
        moves = any(body.shape != body.swept for body in bodies)
        yield PartRow(
            name,
            side_of(layout, first),
            "" if first.carrier == name else first.carrier,
            figure(min(body.z[0] for body in bodies), unit),
            figure(max(body.z[1] for body in bodies), unit),
            figure(max(body.gap for body in bodies), unit),
            "moves with the take-up" if moves else "stays",
        )


# -------------------------------------------------------------------------------------------- picture


def slider(layout: Layout, mount: PlacedMount) -> Slider:
    """The control of a mount's travel: in the unit of the spec along a slot, in degrees about a pivot."""
    travel = mount.travel
    low, high = ends(travel)
    if isinstance(travel, Swing):
        start, end = number(math.degrees(low), 4), number(math.degrees(high), 4)
        path = {
            "about-x": number(travel.about[0], 6),
            "about-y": number(travel.about[1], 6),
            "sense": str(travel.sense),
        }
        return Slider(mount.name, start, end, "°", path)
    assert travel is not None
    unit = layout.spec.unit
    # the slider counts in the unit of the spec, the picture is in mm
    per_unit = mm_per(unit)
    path = {
        "along-x": number(travel.direction[0] * per_unit, 8),
        "along-y": number(travel.direction[1] * per_unit, 8),
    }
    return Slider(mount.name, number(low / per_unit, 4), number(high / per_unit, 4), unit, path)
