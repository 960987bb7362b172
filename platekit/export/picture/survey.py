"""The picture of a survey: the holes as looked at, how surely each is placed, and every reading between them.

    inside, over, centres   a full line from edge to edge, a dashed one across both, a dash-and-dot one between centres
    ellipse                 where the hole's centre is, 19 times out of 20, drawn many times enlarged
    suspect                 a double line, with what the reading likely should have been; one for each that may be wrong
    next                    a dotted line: the reading that would help most

Nothing depends on colour alone. The same spec gives the same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from msgspec import Struct

from platekit.drawing.dimensions import pointed
from platekit.drawing.labels import Wish, place
from platekit.drawing.svg.drafting import draw_marks, picture_style
from platekit.drawing.svg.labels import SEEN_THROUGH, Words, write_leader, write_words
from platekit.drawing.svg.letters import letters, text_width
from platekit.drawing.svg.parts import COLOURS, FONT, PAPER, WIDTH, fill, node, number, stroke, text, written
from platekit.drawing.text import wrapped
from platekit.drawing.view import View
from platekit.export.text.survey import said_length, say, sentences
from platekit.geometry import Box, Point
from platekit.placed import Layout
from platekit.spec import Spec
from platekit.studies.surveyed import Surveyed, surveyed
from platekit.survey.net import PAIR_KINDS
from platekit.survey.result import WITHIN_95, LocatedFeature, Survey
from platekit.units import Unit, mm_per

MARGIN: Final = 90.0
"""Room round the holes, for their names and labels, sheet units (ours)."""
TALLEST: Final = 760.0
"""Height that the drawing of one pattern may take, sheet units (ours)."""
ENLARGED: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""Factors by which ellipses are enlarged (ours: round ones)."""
ELLIPSE_SHARE: Final = 0.07
"""Share of the pattern's size that the largest ellipse takes at most (ours)."""
MOST_LABELLED: Final = 40
"""Readings up to which each gets its value written on (ours)."""
BESIDE: Final = 8.0
"""Distance between two readings of the same pair, sheet units (ours)."""
DASHES: Final = {"inside": "", "over": "10 4", "centres": "12 3 2 3"}
SIZE: Final = 13.0
"""Height of the lettering, sheet units."""
AXIS: Final = 46.0
"""Length of the arrows that show the survey's frame, sheet units (ours)."""


class SurveyLabel(Struct, frozen=True):
    """Words with the place that they want, sheet units; `strong` ones are framed."""

    words: Words
    wish: Wish
    strong: bool = False

    @classmethod
    def beside(cls, lines: Sequence[str], point: Point, size: float, room: float, bold: bool = False) -> SurveyLabel:
        """Words that want to stand beside a point, outside the radius `room` round it, sheet units."""
        words = Words(tuple((line, size, bold) for line in lines))
        return cls(words, Wish(lines[0], *point, room, words.width, words.height))

    @classmethod
    def on_line(cls, line: str, ends: tuple[Point, Point], strong: bool = False) -> SurveyLabel:
        """Words that want to stand on a line, sheet units."""
        (x1, y1), (x2, y2) = ends
        words = Words(((line, SIZE, strong),))
        middle = ((x1 + x2) / 2.0, (y1 + y2) / 2.0)
        return cls(words, Wish(line, *middle, 4.0, words.width, words.height, ends), strong)


def survey_bytes(layout: Layout) -> bytes:
    """The picture of a laid-out plate's measured patterns."""
    return survey_svg(layout.spec, surveyed(layout.spec, layout)).encode()


def survey_svg(spec: Spec, found: tuple[Surveyed, ...]) -> str:
    """The picture of all measured patterns of a spec, one below the other, as SVG text."""
    sheet = node(None, "g")
    y = 44.0
    text(sheet, 24, y, spec.title, 22, bold=True)
    text(sheet, 24, y + 22, f"what was measured, as looked at  ·  revision {spec.revision}", SIZE, tone="soft")
    y += 44.0
    for one in found:
        node(sheet, "line", x1=24, y1=y, x2=WIDTH - 24, y2=y, **stroke("ink", 1.5))
        text(sheet, 24, y + 24, one.mount, 17, bold=True)
        y += 36.0
        survey = one.survey or one.without
        if survey is not None and len(survey.names) > 0 and one.net.readings:
            y = drawn_survey(sheet, one, survey, spec.unit, y)
        for sentence in sentences(one, spec.unit):
            for line in wrapped(sentence, WIDTH - 60, letters(SIZE)):
                text(sheet, 30, y, line, SIZE)
                y += 18.0
            y += 4.0
        y += 16.0
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        width=WIDTH,
        height=y,
        viewbox=f"0 0 {number(WIDTH)} {number(y)}",
        font_family=FONT,
        role="img",
        aria_labelledby="pk-survey-title",
        class_="pk-picture",
    )
    node(root, "title", id="pk-survey-title").text = f"{spec.title}: what was measured"
    node(root, "rect", width=WIDTH, height=y, fill=PAPER, class_="pk-paper")
    root.append(sheet)
    return written(root) + "\n"


def drawn_survey(sheet: Element, one: Surveyed, survey: Survey, unit: Unit, top: float) -> float:
    """Draws one pattern with its readings from `top` on; gives how far down it reaches, sheet units."""
    group = node(sheet, "g")
    holes = tuple(survey.holes.values())
    # Every hole with its rim must be on the sheet, and words round it: as large as both ways allow.
    reach = [(hole, (hole.diameter or 0.0) / 2.0) for hole in holes]
    x0, x1 = min(h.x - r for h, r in reach), max(h.x + r for h, r in reach)
    y0, y1 = min(h.y - r for h, r in reach), max(h.y + r for h, r in reach)
    wide, high = max(x1 - x0, 1.0), max(y1 - y0, 1.0)
    scale = min((WIDTH - 2 * MARGIN) / wide, (TALLEST - 2 * MARGIN) / high)
    left = (WIDTH - wide * scale) / 2.0
    view = View(scale, left - x0 * scale, top + MARGIN - 30.0 + y1 * scale, down=True)
    bottom = top + 2 * MARGIN - 60.0 + high * scale
    worst = max((WITHIN_95 * hole.ellipse.major for hole in holes if not hole.floating), default=0.0)
    xs, ys = [hole.x for hole in holes], [hole.y for hole in holes]
    extent = max(max(xs) - min(xs), max(ys) - min(ys), 1.0)
    # Ellipses of hundredths are drawn as large as the picture bears, all by the same factor, which the key tells
    enlarged = 1 if worst <= 0.0 else next((f for f in reversed(ENLARGED) if worst * f <= ELLIPSE_SHARE * extent), 1)
    drawing = SurveyDrawing(one, survey, unit, view, enlarged)
    lines, marks, labels = (node(group, "g") for _ in range(3))
    axes = drawing.axes(lines)
    for hole in holes:
        drawing.draw_hole(marks, hole)
    said = [*drawing.draw_readings(lines), *drawing.draw_proposal(lines)]
    names = []
    for hole in holes:  # the name of each hole stands beside it, outside its ellipse
        ellipse = 0.0 if hole.floating else WITHIN_95 * enlarged * hole.ellipse.major
        room = max((hole.diameter or 0.0) / 2.0, ellipse) * view.scale + 3.0
        names.append(SurveyLabel.beside((hole.name,), view.at((hole.x, hole.y)), 17.0, max(room, 16.0), bold=True))
    names += drawing.labels_of_single_readings()
    # Values have only their lines to stand on, so they come first; names keep off them and, where they can, off the
    # lines: of each, 60 points are enough for the placer to feel it.
    field = Box(24.0, top, WIDTH - 24.0, bottom)
    centers = [view.at((hole.x, hole.y)) for hole in holes]
    kept = [*axes, *(Box(x, y, x, y).grown(16.0) for x, y in centers)]
    on_lines = place([one.wish for one in said], field, kept)
    runs = [one.wish.along for one in said if one.wish.along is not None]
    ink = [(a[0] + (b[0] - a[0]) * k / 60, a[1] + (b[1] - a[1]) * k / 60) for a, b in runs for k in range(61)]
    beside = place([one.wish for one in names], field, [*kept, *(spot.frame for spot in on_lines)], ink)
    for words, spot in zip([*said, *names], [*on_lines, *beside], strict=True):
        # Words at their spot, on a patch of paper, with a leader if they stand off
        if spot.leader is not None:
            write_leader(labels, spot.leader)
        patch = write_words(labels, words.words, spot.frame, SEEN_THROUGH if words.wish.along is None else 1.0)
        if words.strong:
            patch.set("stroke", COLOURS["stop"])
            patch.set("stroke-width", "1.6")
    bottom = max([bottom, *(spot.frame.y1 for spot in beside)])
    return drawing.draw_key(group, bottom)


class SurveyDrawing(Struct, frozen=True):
    """One measured pattern on the sheet: `view` says where and how large, `enlarged` by how much its ellipses are."""

    one: Surveyed
    survey: Survey
    unit: Unit
    view: View
    enlarged: int

    def axes(self, group: Element) -> list[Box]:
        """Zero and the two directions of the survey's frame; gives the room they take."""
        x, y = self.view.at((0.0, 0.0))
        if not (10.0 < x < WIDTH - 60.0):
            return []
        for dx, dy, name in ((AXIS, 0.0, "x"), (0.0, -AXIS, "y")):
            draw_marks(group, pointed(picture_style(), (x, y), (x + dx, y + dy)))
            text(group, x + dx * 1.2, y + dy * 1.2 + 4, name, 12, anchor="middle", tone="soft")
        return [Box(x, y - 4.0, x + 1.3 * AXIS, y + 5.0), Box(x - 5.0, y - 1.3 * AXIS, x + 5.0, y)]

    def draw_hole(self, group: Element, hole: LocatedFeature) -> None:
        """Draws a hole as large as it is, and the ellipse of its place; one that floats gets a question mark."""
        x, y = self.view.at((hole.x, hole.y))
        radius = max((hole.diameter or 0.0) / 2.0 * self.view.scale, 4.0)
        look = stroke("ink", 1.6)
        if hole.kind in ("shaft", "stud", "pin"):
            node(group, "circle", cx=x, cy=y, r=max(radius - 3.5, 2.0), **stroke("ink", 0.8))
        # what stands out of the part has a second rim; what too few readings hold has a broken one and no place
        if hole.floating:
            look["stroke_dasharray"] = "4 4"
        node(group, "circle", cx=x, cy=y, r=radius, data_hole=hole.name, **look)
        if hole.floating:
            text(group, x, y + 6, "?", 18, bold=True, anchor="middle", tone="stop")
            return
        for dx, dy in ((5.0, 0.0), (0.0, 5.0)):
            node(group, "line", x1=x - dx, y1=y - dy, x2=x + dx, y2=y + dy, **stroke("ink", 1.0))
        ellipse = hole.ellipse.scaled(WITHIN_95 * self.enlarged * self.view.scale)
        if ellipse.major > 0.5:
            tone = stroke("near", 2.0)
            tone |= {"fill": COLOURS["near"], "fill_opacity": "0.16"}
            turn = f"rotate({number(-math.degrees(hole.ellipse.angle))} {number(x)} {number(y)})"
            node(group, "ellipse", cx=x, cy=y, rx=ellipse.major, ry=max(ellipse.minor, 0.6), transform=turn, **tone)

    def labels_of_single_readings(self) -> Iterator[SurveyLabel]:
        """Readings of one hole: x, y, and from an edge."""
        told: dict[str, list[str]] = {}
        for reading in self.one.net.readings:
            if reading.kind in ("x", "y", "edge"):
                edge = f" {reading.features[1]}" if len(reading.features) > 1 else ""
                name = next(name for name in reading.features if name in self.survey.holes)
                told.setdefault(name, []).append(f"{reading.kind}{edge} {say(reading.value, self.unit)}")
        for name, lines in told.items():
            hole = self.survey.holes[name]
            room = max((hole.diameter or 0.0) / 2.0 * self.view.scale + 3.0, 16.0)
            yield SurveyLabel.beside(lines, self.view.at((hole.x, hole.y)), 12.0, room)

    def ends(self, kind: str, a: LocatedFeature, b: LocatedFeature, beside: float) -> tuple[Point, Point]:
        """From where to where a reading between two holes goes, on the sheet, moved aside."""
        ax, ay = self.view.at((a.x, a.y))
        bx, by = self.view.at((b.x, b.y))
        length = math.hypot(bx - ax, by - ay) or 1.0
        ux, uy = (bx - ax) / length, (by - ay) / length
        # from the near edges, the far ones, or the middles, as the jaws stand
        sign = {"inside": 1.0, "over": -1.0}.get(kind, 0.0)
        near, far = ((hole.diameter or 0.0) / 2.0 * self.view.scale * sign for hole in (a, b))
        ox, oy = -uy * beside, ux * beside
        return (ax + ux * near + ox, ay + uy * near + oy), (bx - ux * far + ox, by - uy * far + oy)

    def draw_readings(self, lines: Element) -> Iterator[SurveyLabel]:
        """Draws the readings between two holes, and gives their values, those that may be wrong first."""
        normalised = {} if self.one.survey is None else {r.index: r.normalised for r in self.one.survey.readings}
        # values are written on the readings that are farthest off: the others agree, and would only cover them
        written_on = sorted(
            range(len(self.one.net.readings)), key=lambda index: (-abs(normalised.get(index) or 0.0), index)
        )[:MOST_LABELLED]
        count: dict[frozenset[str], int] = {}
        doubted: list[SurveyLabel] = []
        others: list[SurveyLabel] = []
        for index, reading in enumerate(self.one.net.readings):
            wrong = self.one.suspect is not None and index in self.one.suspect.doubted
            if reading.kind not in PAIR_KINDS:
                continue
            pair = frozenset(reading.features)
            place = count.get(pair, 0)
            count[pair] = place + 1
            # several readings between two holes lie side by side, in turn on either side of the straight line
            beside = BESIDE * ((place + 1) // 2) * (1 if place % 2 else -1)
            a, b = (self.survey.holes[name] for name in reading.features)
            ends = self.ends(reading.kind, a, b, beside)
            draw_line(lines, reading.kind, ends, wrong)
            if wrong and self.one.suspect is not None:
                likely = f"  likely {said_length(self.one.suspect.likely, self.unit)}"
                single = self.one.suspect.sure and not self.one.suspect.alike
                doubted.append(
                    SurveyLabel.on_line(
                        f"{say(reading.value, self.unit)}?{likely if single else ''}", ends, strong=True
                    )
                )
            elif index in written_on:
                others.append(SurveyLabel.on_line(say(reading.value, self.unit), ends))
        yield from (*doubted, *others)

    def draw_proposal(self, lines: Element) -> Iterator[SurveyLabel]:
        """Draws the reading that would help most, dotted, and gives its words."""
        proposal = self.one.proposal
        if proposal is None or not proposal.helps or proposal.kind not in PAIR_KINDS:
            return
        a, b = (self.survey.holes[name] for name in proposal.features)
        ends = self.ends(proposal.kind, a, b, 3.0 * BESIDE)
        look = stroke("move", 2.6) | {"stroke_dasharray": "1.5 6", "stroke_linecap": "round"}
        node(lines, "line", x1=ends[0][0], y1=ends[0][1], x2=ends[1][0], y2=ends[1][1], **look)
        yield SurveyLabel.on_line(f"next: {'-'.join(proposal.features)} {proposal.kind}", ends)

    def draw_key(self, group: Element, bottom: float) -> float:
        """What the lines and ellipses mean, with a bar for each of the two scales."""
        y, x = bottom + 12.0, 30.0
        kinds = [kind for kind in DASHES if any(reading.kind == kind for reading in self.one.net.readings)]
        words = {"inside": "inside", "over": "over all", "centres": "between centres"}
        for kind in kinds:
            draw_line(group, kind, ((x, y), (x + 46.0, y)), False)
            text(group, x + 54.0, y + 4.5, words[kind], SIZE)
            x += 70.0 + text_width(words[kind], SIZE, False)
        per_unit = mm_per(self.unit)
        placed = [hole for hole in self.survey.holes.values() if not hole.floating and hole.ellipse.major > 0.0]
        bars = [(round_length(120.0 / self.view.scale / per_unit) * per_unit, 1, "as drawn")]
        if placed:
            size = round_length(90.0 / (self.view.scale * self.enlarged) / per_unit) * per_unit
            bars.append((size, self.enlarged, f"in the ellipses (19 in 20, {self.enlarged} times enlarged)"))
        for length, factor, said in bars:
            wide = length * factor * self.view.scale
            words_ = f"{number(length / per_unit, 4)} {self.unit} {said}"
            if x + wide + 20.0 + text_width(words_, SIZE, False) > WIDTH - 24.0:
                x, y = 30.0, y + 24.0
            tone = fill("near") if factor > 1 else fill("ink")
            node(group, "rect", x=x, y=y - 3, width=wide, height=6, **tone)
            text(group, x + wide + 8.0, y + 4.5, words_, SIZE)
            x += wide + 30.0 + text_width(words_, SIZE, False)
        return y + 34.0


def draw_line(group: Element, kind: str, ends: tuple[Point, Point], wrong: bool) -> None:
    """Draws a reading from end to end (sheet units): dashed by its kind, with a tick across each end."""
    (x1, y1), (x2, y2) = ends
    at = {"x1": x1, "y1": y1, "x2": x2, "y2": y2}
    if wrong:
        # a pale core in a wide line reads as a double line, which also shows in grey
        node(group, "line", **at, **stroke("stop", 7.0))
        node(group, "line", **at, stroke=PAPER, stroke_width=3.0, class_="pk-core")
    look = stroke("stop" if wrong else "ink", 1.3)
    if DASHES[kind]:
        look["stroke_dasharray"] = DASHES[kind]
    node(group, "line", **at, **look)
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    nx, ny = -(y2 - y1) / length * 5.0, (x2 - x1) / length * 5.0
    for x, y in ends:
        node(group, "line", x1=x - nx, y1=y - ny, x2=x + nx, y2=y + ny, **stroke("stop" if wrong else "ink", 1.3))


def round_length(length: float) -> float:
    """The largest of 1, 2 or 5 times a power of ten that is not above a length."""
    power = 10.0 ** math.floor(math.log10(length))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= length * (1 + 1e-9))
