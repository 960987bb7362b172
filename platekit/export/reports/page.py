"""The report: one page that says it all, verdict first; it needs no network and no other file.

The page itself is `report.html`, a jinja2 template; this module works out the figures and words that stand in it.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.analysis.fitting import fits
from platekit.checks.finding import FieldValue, Level, Verdict
from platekit.checks.survey import SOURCE_WORDS, percent
from platekit.cutting import Operations, operations_of
from platekit.cutting.estimate import plan
from platekit.drawing.cautions import CAUTIONS, CLEAR_TO_CUT, NOT_FOR_CUTTING, STRENGTH_LIMITS
from platekit.drawing.like_findings import features_of, same_at
from platekit.drawing.sizes import figure, opening_size
from platekit.drawing.svg.collector import without_collecting
from platekit.drawing.svg.parts import COLOURS, LEVEL_WORDS, number
from platekit.drawing.svg.shown import numbered_kinds, parts, side_of
from platekit.export.bench.words import TORQUE_NOTE, place_words, screw_name, torque_words
from platekit.export.files import write_whole
from platekit.export.picture.drive_chart import chart_text, working_belt
from platekit.export.picture.from_side import side_text
from platekit.export.picture.strength import strength_picture
from platekit.export.picture.survey import survey_bytes
from platekit.export.picture.whole import drawing_text, plate_facts, summary
from platekit.export.reports.drive_sources import drive_sources
from platekit.export.reports.fit_sources import fit_sources
from platekit.export.reports.guard import guard_rows
from platekit.export.reports.rows import (
    back_words,
    by_kind,
    circle_words,
    cutting_sources,
    limit_rows,
    order_of,
    plan_rows,
    source_rows,
    step_rows,
    tight_rows,
)
from platekit.export.text.belt import belt_rows
from platekit.geometry import Swing, ends
from platekit.placed import Body, Layout, PlacedMount, ScrewStack
from platekit.studies.surveyed import has_survey
from platekit.units import Unit, mm_per, said_in, show_length

if TYPE_CHECKING:
    from jinja2 import Template

LAYERS: Final[tuple[tuple[str, str], ...]] = (
    ("scribed", "scribed words"),
    ("near", "near side"),
    ("far", "far side"),
    ("screws", "screws"),
    ("travel", "travel"),
    ("dimensions", "dimensions"),
    ("names", "names"),
    ("findings", "findings"),
)
"""Layers of the drawing that the page can switch, with the words on their switches."""


class FindingRow(Struct, frozen=True):
    """Like findings as the page tells them."""

    count: int
    level: Level
    level_word: str
    rule: str
    message: str
    advice: str
    edits: tuple[tuple[str, str], ...]
    features: tuple[str, ...]
    figures: str
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


def report(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """The report as a file at `path`, whole or not at all; raises `OutputError` if it cannot be written."""
    write_whole(path, report_html(layout, verdict).encode())


@without_collecting()
def report_html(layout: Layout, verdict: Verdict) -> str:
    """The report as the text of one HTML page, the same for the same spec."""
    from markupsafe import Markup

    unit = layout.spec.unit
    made = operations_of(layout)
    order, cutting = order_of(layout), plan(layout)
    sources = (
        *limit_rows(layout),
        *cutting_sources(layout, cutting),
        *fit_sources(layout),
        *source_rows(layout),
        *drive_sources(layout),
    )
    sources = tuple(replace(row, value=said_in(row.value, layout.spec.unit)) for row in sources)
    rows = tuple(_finding_rows(verdict, unit))
    # Whatever comes from the spec is escaped by the template; only what our own tree writer made goes in as it is
    # The switches that would do something
    present = {"dimensions", "names", *(side_of(layout, body) for body in parts(layout))}
    if layout.cutting.scribe:
        present.add("scribed")
    if any(body.hardware for body in layout.bodies):
        present.add("screws")
    if any(mount.travel is not None for mount in layout.mounts.values()):
        present.add("travel")
    if rows:
        present.add("findings")
    page: str = _template().render(
        title=layout.title,
        name=layout.spec.name,
        revision=layout.spec.revision,
        unit=unit,
        clear=verdict.clear,
        word=CLEAR_TO_CUT if verdict.clear else NOT_FOR_CUTTING,
        stamp=NOT_FOR_CUTTING,
        summary=summary(verdict),
        reasons=[row for row in rows if row.level == "stop" and row.accepted is None],
        facts=plate_facts(layout).split("  ·  "),
        picture=Markup(drawing_text(layout, verdict)),  # written by our own tree writer, all escaped
        side=Markup(side_text(layout)),  # likewise our own writer's
        holds=Markup(strength_picture(layout)),
        holds_limits=STRENGTH_LIMITS,
        layers=tuple((key, words) for key, words in LAYERS if key in present),
        sliders=tuple(_slider(layout, mount) for mount in layout.mounts.values() if mount.travel is not None),
        open_findings=[row for row in rows if row.accepted is None],
        accepted=[row for row in rows if row.accepted is not None],
        holes=_hole_rows(layout, made),
        screws=tuple(_screw_row(layout, stack) for stack in layout.stacks),
        parts=tuple(_part_rows(layout)),
        belts=tuple(BeltTold(belt.name, tuple(belt_rows(layout, belt)), belt.result.notes) for belt in layout.belts),
        chart=Markup(chart_text(layout)) if working_belt(layout) is not None else "",  # likewise our own writer's
        odds=tuple(_odds_rows(layout)),
        survey=Markup(survey_bytes(layout).decode()) if has_survey(layout) else "",  # likewise
        cutting=tuple(plan_rows(layout, cutting)),
        steps=tuple(step_rows(layout, order)),
        circle=tuple(circle_words(order)),
        back=tuple(back_words(layout)),
        guard=() if layout.guard is None else tuple(guard_rows(layout.guard, layout)),
        tight=tuple(tight_rows(layout)),
        sources=sources,
        source_kinds=by_kind(sources),
        tones=tuple(COLOURS),
        torque_note=TORQUE_NOTE,
        cautions=CAUTIONS,
    )
    return page


@cache
def _template() -> Template:
    from jinja2 import Environment, StrictUndefined

    text = resources.files("platekit.export.reports").joinpath("report.html").read_text("utf-8")
    page = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return page.from_string(text)


# ------------------------------------------------------------------------------------------- findings


def _finding_rows(verdict: Verdict, unit: Unit) -> Iterator[FindingRow]:
    for count, alike in numbered_kinds(verdict):
        finding = alike[0]
        # both numbers of a finding, lengths in the unit of the spec
        said = []
        for word, value in (("found", finding.found), ("needed", finding.needed)):
            if value is not None and finding.unit == "mm":
                said.append(f"{word} {show_length(value, unit)}")
            elif value is not None:
                said.append(f"{word} {number(value, 3)} {finding.unit}".rstrip())
        if finding.unit == "ways":
            said = [f"fits {number(finding.found or 0.0, 3)} ways round, one would be unmistakable"]
        # the same edit may mend several findings of a kind: it is shown once
        edits = ((remedy.field, value_words(remedy.value)) for one in alike for remedy in one.remedies)
        yield FindingRow(
            count,
            finding.level,
            LEVEL_WORDS[finding.level],
            finding.rule,
            finding.message + same_at(alike),
            finding.advice.text,
            tuple(dict.fromkeys(edits)),
            features_of(alike),
            ", ".join(said),
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


def _hole_rows(layout: Layout, made: Sequence[Operations]) -> Iterator[HoleRow]:
    unit = layout.spec.unit
    for opening, operations in zip(layout.openings, made, strict=True):
        x, y = (place_words(opening, axis, (0.0, 0.0), unit) for axis in (0, 1))
        drill = "" if operations.drill is None else figure(operations.drill, unit)
        size = opening_size(layout, opening)
        yield HoleRow(opening.name, opening.role, x, y, size, operations.how, drill, operations.reason)


def _screw_row(layout: Layout, stack: ScrewStack) -> ScrewRow:
    unit = layout.spec.unit
    doubt = ": none in stock fits" if stack.length is None else ", as given" if stack.given else ""
    depth = "through the nut" if stack.into == "nut" else "not known"
    into = {"part": "the part's thread", "plate": "the plate, tapped", "nut": "a nut"}[stack.into]
    return ScrewRow(
        mount=stack.mount,
        buy=f"{stack.count} × {screw_name(stack)} head{doubt}",
        washers=str(stack.washers * stack.count) if stack.washers else "none",
        into=into,
        grip=figure(stack.grip, unit),
        engagement=figure(stack.engagement, unit),
        needed=figure(stack.needed, unit),
        available=depth if stack.available is None else figure(stack.available, unit),
        source=stack.needed_source,
        torque=torque_words(stack, unit),
    )


def _odds_rows(layout: Layout) -> Iterator[OddsRow]:
    for fit in fits(layout):
        least = "" if fit.drawn else "at least "
        # what was not measured comes from a standard: then the error of its place is the part's own tolerance
        words = dict(SOURCE_WORDS)
        if layout.mounts[fit.mount].survey is None:
            words["measuring"] = "the part's own tolerance"
        yield OddsRow(
            fit.mount,
            f"{least}{percent(fit.probability)}".replace("at least more", "more"),
            figure(fit.hole, layout.spec.unit),
            figure(fit.slack, layout.spec.unit),
            ", ".join(f"{words[source]} {100.0 * share:.0f} %" for source, share in fit.shares if share),
        )


def _part_rows(layout: Layout) -> Iterator[PartRow]:
    """Every part once: the strips of a belt or of a guard are one."""
    unit = layout.spec.unit
    pieces: dict[str, list[Body]] = {}
    for body in parts(layout):
        pieces.setdefault(
            "guard" if body.kind == "guard" else body.carrier if body.kind == "belt" else body.name, []
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


def _slider(layout: Layout, mount: PlacedMount) -> Slider:
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
