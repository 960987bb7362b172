"""The picture: verdict first, then the drawing, what its signs mean, and every finding in words.

It is for eyes, not for measuring or cutting: the template and the cut file are for those. The picture is the same for
the same spec, byte for byte.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Final
from xml.etree.ElementTree import Element

from platekit.checks.finding import LEVELS, Finding, Verdict
from platekit.collector import without_collecting
from platekit.drawing.cautions import CLEAR_TO_CUT, NOT_FOR_CUTTING, SHORT
from platekit.drawing.from_side import side_views
from platekit.drawing.like_findings import count_words, features_of, same_at
from platekit.drawing.sizes import figure, mass_figure
from platekit.drawing.svg.letters import letters, text_width
from platekit.drawing.svg.parts import (
    COLOURS,
    FONT,
    LEVEL_WORDS,
    PAD,
    PAPER,
    WIDTH,
    fill,
    finding_mark,
    node,
    number,
    stroke,
    text,
    written,
)
from platekit.drawing.svg.shown import numbered_kinds
from platekit.drawing.text import shortened, wrapped
from platekit.export.files import write_whole
from platekit.export.picture.drawing import DrawnPicture, drawings
from platekit.export.picture.from_side import draw_views
from platekit.export.picture.legend import legend
from platekit.placed import Layout
from platekit.units import Unit

MOST_LISTED: Final = 40
"""Most findings put into words under the picture; the report has all (ours)."""
ONE_COLUMN: Final = 5
"""Up to this many findings stand in one column, more in two (ours)."""
MOST_REASONS: Final = 3
"""Most reasons not to cut given in the banner; the list below has the rest (ours)."""
UNIT_WORDS: Final[dict[Unit, str]] = {"mm": "mm", "in": "inches"}
SECOND: Final = 30.0
"""Room for the heading of a second drawing, sheet units (ours)."""
BARRED: Final = 24.0
"""Width of the slanting bars at the ends of the banner, sheet units (ours)."""


Drawn = tuple[DrawnPicture, ...]
"""The one or two drawings of a layout; picture and report show the same, so whoever writes both draws once."""


def svg(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """The picture as a file at `path`, whole or not at all; raises `OutputError` if it cannot be written."""
    write_whole(path, svg_text(layout, verdict).encode())


@without_collecting()
def svg_text(layout: Layout, verdict: Verdict, drawn: Drawn | None = None) -> str:
    """The picture as SVG text.

    Holes and outline are exact: lines and true arcs in mm under one transform. Features carry `data-feature`
    with their name, findings `data-finding` with their number. `drawn` are the `drawings` of both, if they are there.
    """
    # The verdict stands on top and once more at the foot: a picture that is cropped or scrolled must not look clear
    sheet = node(None, "g")
    group = node(sheet, "g", id="pk-banner")
    y = _clear_banner(group, verdict) if verdict.clear else _stop_banner(group, verdict)
    y = _heading(sheet, layout, y)
    y = _drawings(sheet, layout, drawn or drawings(layout, verdict), y)
    y = _from_the_side(sheet, layout, y)
    y = _findings(sheet, verdict, y)
    y = _foot(sheet, layout, verdict, y)
    return written(_root(layout, verdict, sheet, y)) + "\n"


@without_collecting()
def drawing_text(layout: Layout, verdict: Verdict, drawn: Drawn | None = None) -> str:
    """The drawing and its legend alone, for a page that says the rest in its own words."""
    sheet = node(None, "g")
    height = _drawings(sheet, layout, drawn or drawings(layout, verdict), 0.0)
    return written(_root(layout, verdict, sheet, height))


def _drawings(sheet: Element, layout: Layout, drawn: Drawn, y: float) -> float:
    """The drawing, or the two that it takes, and the legend of both; from `y` to what is given back, sheet units."""
    for count, drawing in enumerate(drawn):
        if count:  # what the second is for stands above it
            text(sheet, PAD, y + 34, "Where the findings are", 18, bold=True)
            y += SECOND
        drawing.group.set("transform", f"translate(0 {number(y)})")
        sheet.append(drawing.group)
        y += drawing.height
    return legend(sheet, drawn[0], frozenset.union(*(drawing.shown for drawing in drawn)), layout, y)


def _from_the_side(sheet: Element, layout: Layout, y: float) -> float:
    """The views from the side, which the plan cannot show: heights, what runs over the face and past the edge."""
    views = side_views(layout)
    if not views:
        return y
    group = node(sheet, "g", id="pk-side")
    node(group, "line", x1=PAD, y1=y, x2=WIDTH - PAD, y2=y, **stroke("ink", 1))
    return draw_views(group, views, y + 8) + 16


def plate_facts(layout: Layout) -> str:
    """The plate in one line: thickness, material, size, mass, process, unit."""
    unit = layout.spec.unit
    box = layout.outline.box
    cutting = layout.cutting
    kerf = layout.limits.kerf.value
    kerf_said = f", kerf {figure(kerf, unit)}" if kerf else ""
    return (
        f"{figure(layout.thickness, unit)} {unit} {layout.material.name}  ·  "
        f"{figure(box.width, unit)} × {figure(box.height, unit)} {unit}  ·  {mass_figure(layout.mass, unit)}  ·  "
        f"{cutting.process}{kerf_said}  ·  dimensions in {UNIT_WORDS[unit]}"
    )


def summary(verdict: Verdict) -> str:
    """How many findings of each kind there are, in words."""
    said = [count_words(found, LEVEL_WORDS[level]) for level in LEVELS if (found := verdict.open(level))]
    if verdict.accepted:
        said.append(f"{len(verdict.accepted)} accepted")
    return ", ".join(said) if said else "no findings"


def _root(layout: Layout, verdict: Verdict, sheet: Element, height: float) -> Element:
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        width=WIDTH,
        height=height,
        viewbox=f"0 0 {number(WIDTH)} {number(height)}",
        font_family=FONT,
        role="img",
        aria_labelledby="pk-title pk-about",
        class_="pk-picture",
        data_verdict=verdict.word,
        data_revision=layout.spec.revision,
    )
    node(root, "title", id="pk-title").text = f"{layout.title}: {(CLEAR_TO_CUT if verdict.clear else NOT_FOR_CUTTING)}"
    about = f"{layout.spec.name}, revision {layout.spec.revision}; {summary(verdict)}"
    node(root, "desc", id="pk-about").text = about
    node(root, "rect", width=WIDTH, height=height, fill=PAPER, class_="pk-paper")
    root.append(sheet)
    return root


# ------------------------------------------------------------------------------------ verdict, heading


def _clear_banner(group: Element, verdict: Verdict) -> float:
    high = 76.0
    node(
        group,
        "rect",
        x=3,
        y=3,
        width=WIDTH - 6,
        height=high - 6,
        fill=PAPER,
        stroke=COLOURS["clear"],
        stroke_width=6,
    )
    node(group, "circle", cx=50, cy=high / 2, r=23, **fill("clear"))
    tick = node(group, "path", d=f"M38 {high / 2 + 1}L47 {high / 2 + 10}L63 {high / 2 - 10}", fill="none")
    tick.set("stroke", PAPER)
    tick.set("stroke-width", "6")
    text(group, 92, 51, CLEAR_TO_CUT, 36, bold=True, tone="clear")
    # a plate can be clear and still have warnings: the tick alone would not be read on
    say = summary(verdict)
    if verdict.open("warn"):
        say += ": read before cutting"
    text(group, WIDTH - 22, 46, say, 17, anchor="end", bold=bool(verdict.open("warn")))
    return high


def _stop_banner(group: Element, verdict: Verdict) -> float:
    stops = verdict.open("stop")
    kinds = [alike for _, alike in numbered_kinds(verdict) if alike[0].stops]
    lines = [
        shortened(alike[0].message + same_at(alike), WIDTH - 112 - 40, letters(16)) for alike in kinds[:MOST_REASONS]
    ]
    more = len(kinds) - len(lines)
    high = 84.0 + 24 * len(lines) + (22 if more else 6)
    node(group, "rect", width=WIDTH, height=high, fill=COLOURS["stop"])
    # Slanting bars down both ends of the banner, and below it a sign of crossed bars in an eight-cornered ring: both
    # say no in a black print, and to an eye that sees no red
    ends = (0.0, WIDTH - BARRED)
    clip = node(node(group, "defs"), "clipPath", id="pk-banner-ends")
    for left in ends:
        node(clip, "rect", x=left, y=0, width=BARRED, height=high)
    bars = "".join(
        f"M{number(left)} {number(top)}l{number(BARRED)} {number(-BARRED)}v13l{number(-BARRED)} {number(BARRED)}z"
        for left in ends
        for top in range(0, int(high + BARRED) + 26, 26)
    )
    node(group, "path", d=bars, fill=PAPER, clip_path="url(#pk-banner-ends)")
    corners = ((-11, -27), (11, -27), (27, -11), (27, 11), (11, 27), (-11, 27), (-27, 11), (-27, -11))
    ring = " ".join(f"{66 + dx:g},{42 + dy:g}" for dx, dy in corners)
    node(group, "polygon", points=ring, fill="none", stroke=PAPER, stroke_width=4)
    node(
        group,
        "path",
        d=f"M{66 - 11:g} {42 - 11:g}L{66 + 11:g} {42 + 11:g}M{66 + 11:g} {42 - 11:g}L{66 - 11:g} {42 + 11:g}",
        stroke=PAPER,
        stroke_width=7,
    )
    text(group, 112, 56, NOT_FOR_CUTTING, 42, bold=True, tone="paper")
    text(group, WIDTH - 40, 53, f"{count_words(stops, 'stop')} open", 20, bold=True, anchor="end", tone="paper")
    y = 94.0
    # the reasons on the banner itself: whoever sees only the top of the page knows why
    for order, say in enumerate(lines, start=1):
        text(group, 66, y, str(order), 16, bold=True, anchor="middle", tone="paper")
        text(group, 112, y, say, 16, tone="paper")
        y += 24
    if more:
        text(group, 112, y, f"and {more} more, listed below", 14, tone="paper")
    return high


def _heading(sheet: Element, layout: Layout, y: float) -> float:
    group = node(sheet, "g", id="pk-heading")
    spec = layout.spec
    mark = f"revision {spec.revision}"
    box = text_width(mark, 15, True) + 18
    lines = wrapped(layout.title, WIDTH - 2 * PAD - box - 20, letters(23, True))
    y += 10
    node(
        group,
        "rect",
        x=WIDTH - PAD - box,
        y=y + 2,
        width=box,
        height=27,
        **stroke("ink", 1.4),
    )
    text(group, WIDTH - PAD - box / 2, y + 21, mark, 15, bold=True, anchor="middle")
    name = shortened(spec.name, 300, letters(13))
    text(group, WIDTH - PAD, y + 46, name, 13, anchor="end", tone="soft")
    for line in lines:
        text(group, PAD, y + 24, line, 23, bold=True)
        y += 27
    y += 10
    for line in wrapped(plate_facts(layout).replace("  ·  ", " · "), WIDTH - 2 * PAD - 310, letters(14.5)):
        text(group, PAD, y + 12, line, 14.5, tone="soft")
        y += 19
    y += 8
    node(group, "line", x1=PAD, y1=y, x2=WIDTH - PAD, y2=y, **stroke("ink", 1))
    return y


# ----------------------------------------------------------------------------------- findings, the foot


def _findings(sheet: Element, verdict: Verdict, y: float) -> float:
    """Every finding in words: one column, or two where there are many."""
    group = node(sheet, "g", id="pk-findings")
    listed = numbered_kinds(verdict)
    node(group, "line", x1=PAD, y1=y, x2=WIDTH - PAD, y2=y, **stroke("ink", 1))
    y += 8
    if not listed:
        text(group, PAD, y + 20, "No findings: every check was passed.", 15)
        return y + 34
    columns = 1 if len(listed) <= ONE_COLUMN else 2
    width = (WIDTH - PAD) / columns - PAD
    rows = [_finding(group, count, alike, width) for count, alike in listed[:MOST_LISTED]]
    # One below the other in columns of about the same height: a column ends once it has its share of the whole
    step, top, most = width + PAD, y, sum(height for _, height in rows) / columns
    x, bottom = PAD, top
    for row, height in rows:
        if y - top >= most and x + step < WIDTH - PAD:
            x, y = x + step, top
        row.set("transform", f"translate({number(x)} {number(y)})")
        y += height
        bottom = max(bottom, y)
    if len(listed) > MOST_LISTED:
        rest = sum(len(alike) for _, alike in listed[MOST_LISTED:])
        text(group, PAD + 38, bottom + 16, f"and {rest} more findings: see the report", 14, bold=True)
        bottom += 26
    return bottom + 4


def _finding(group: Element, count: int, alike: Sequence[Finding], width: float) -> tuple[Element, float]:
    """Like findings as one row, and the row's height."""
    finding = alike[0]
    row = node(group, "g", data_finding=str(count), data_feature=" | ".join(features_of(alike)))
    finding_mark(row, finding.level, str(count), 14, 16, finding.accepted is not None)
    x, y = 38.0, 17.0
    word = f"{LEVEL_WORDS[finding.level]}, {finding.rule}"
    text(row, x, 15, word, 12, bold=True, tone=finding.level)
    said: list[tuple[str, float, bool]] = [(finding.message + same_at(alike), 15, finding.stops)]
    if finding.advice:
        said.append((f"What to do: {finding.advice.text}", 14, False))
    if finding.accepted is not None:
        said.append((f"Accepted: {finding.accepted}", 14, True))
    for say, size, bold in said:
        for line in wrapped(say, width - x, letters(size, bold)):
            text(row, x, y + 14, line, size, bold=bold)
            y += size * 1.28
    return row, y + 9


def _foot(sheet: Element, layout: Layout, verdict: Verdict, y: float) -> float:
    group = node(sheet, "g", id="pk-foot")
    node(group, "line", x1=PAD, y1=y, x2=WIDTH - PAD, y2=y, **stroke("soft", 0.8))
    y += 6
    for line in wrapped(SHORT, WIDTH - 2 * PAD, letters(12.5)):
        text(group, PAD, y + 13, line, 12.5, tone="soft")
        y += 16
    mark = f"{layout.spec.name}, revision {layout.spec.revision}"
    y += 6
    if verdict.clear:
        text(group, WIDTH - PAD, y + 12, mark, 12.5, anchor="end", tone="soft")
        return y + 24
    node(group, "rect", x=0, y=y, width=WIDTH, height=34, fill=COLOURS["stop"])
    text(group, PAD, y + 24, NOT_FOR_CUTTING, 20, bold=True, tone="paper")
    text(group, WIDTH - PAD, y + 22, mark, 13, anchor="end", tone="paper")
    return y + 34
