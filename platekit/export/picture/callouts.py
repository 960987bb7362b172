"""The names, sizes and finding marks of the drawing, each with the point that it belongs to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.cutting import Operations
from platekit.drawing.labels import Wish, place, points_seen
from platekit.drawing.sizes import figure, opening_size, pattern_size
from platekit.drawing.svg.labels import Words, write_leader, write_words
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import (
    MARK,
    WIDTH,
    Tone,
    finding_mark,
    new_layer,
    node,
    number,
    stroke,
    tooltip,
)
from platekit.drawing.svg.shown import ENDS, Marked, amount, mounts_of, parts, side_of, titles_of_parts, zero_of
from platekit.drawing.text import shortened
from platekit.drawing.view import View
from platekit.export.picture.dimensions import (
    MARGIN,
    distances,
    travel_points,
)
from platekit.geometry import Box, Disc, Point, Shape, Swing, distance
from platekit.placed import Layout, Opening

BOTTOM: Final = 72.0
FIRST_ONLY: Final = 100
"""Beyond this many openings only the first and last of each mount are named (ours)."""
MOST_MOUNTS_NAMED: Final = 40
MOST_BODIES_NAMED: Final = 40
"""Most mounts, and most bodies, that are named in the picture; the report has all (ours)."""
MOST_OUTLINES_SPARED: Final = 200
"""Most bodies whose outlines labels try not to cover (ours)."""
LABEL_WIDEST: Final = 240.0
"""A wider line of a label is cut short in the picture, sheet units (ours); the tables have it whole."""
CORNER: Final = 0.01
"""Radius of the spot at the corner of the plate's box from which its outside is looked for, mm (ours)."""
LABEL_LAYERS: Final = ("near", "far", "travel", "dimensions", "names", "findings")
SMALL_HOLE: Final = 12.0
"""Of very many holes those smaller than this have no edge of their own that labels keep off, sheet units (ours)."""
EDGE_STEP: Final = 0.8
"""Step along visible edges at which labels are kept off them, sheet units (ours: so much finer than the placer's
squares that none is crossed at a corner between two points)."""


class Label(Struct, frozen=True):
    """A label that wants a place: lines of text, or the mark of a finding."""

    key: str
    feature: str
    lines: tuple[tuple[str, float, bool], ...]
    x: float
    y: float
    room: float
    layer: str
    tone: Tone = "ink"
    mark: Marked | None = None

    @property
    def width(self) -> float:
        """Its width, sheet units."""
        if self.mark is not None:
            return 2 * MARK + 2
        return self.words.width

    @property
    def height(self) -> float:
        """Its height, sheet units."""
        if self.mark is not None:
            return 2 * MARK
        return self.words.height

    @property
    def words(self) -> Words:
        """Its words, cut short where they are too wide for the picture."""
        lines = ((shortened(say, LABEL_WIDEST, letters(size, bold)), size, bold) for say, size, bold in self.lines)
        return Words(tuple(lines), self.tone)


def finding_labels(layout: Layout, view: View, marks: Iterable[Marked]) -> Iterator[Label]:
    """The numbered marks, each at the place of its finding.

    A finding without a place is marked at the middle of its first feature that has one; what is about the whole plate
    on its outside, at the upper right.
    """
    zeros = {mount.name: zero_of(mount) for mount in mounts_of(layout)}
    known = {body.name: body.shape.centroid for body in layout.bodies} | zeros
    known |= {opening.name: opening.center for opening in layout.openings}
    box = layout.outline.box
    corner = distance(Disc((box.x1, box.y1), CORNER), layout.outline).b
    for mark in marks:
        finding = mark.finding
        point = finding.at
        if point is None:
            point = next((known[name] for name in finding.features if name in known), corner)
        x, y = view.at(point)
        features = " | ".join(finding.features)
        key = f"finding {mark.count}.{mark.which}"
        yield Label(key, features, (), x, y, 7.0, "findings", finding.level, mark=mark)


def mount_labels(layout: Layout, view: View) -> Iterator[Label]:
    """The mounts' names at their zeros."""
    for mount in mounts_of(layout)[:MOST_MOUNTS_NAMED]:
        x, y = view.at(zero_of(mount))
        under = f"zero, {mount.side} side"
        lines = ((mount.name, 15.0, True), (under, 11.0, False))
        yield Label(f"mount {mount.name}", mount.name, lines, x, y, 12.0, "names", mount.side)


def travel_labels(layout: Layout, view: View) -> Iterator[Label]:
    """What both ends of each travel are for, and how far they are."""
    unit = layout.spec.unit
    for mount in mounts_of(layout)[:MOST_MOUNTS_NAMED]:
        travel = mount.travel
        if travel is None:
            continue
        start, _, end = travel_points(mount, travel, view)
        for (which, word), at in zip(ENDS, (start, end), strict=True):
            far = amount(travel, which)
            if far <= 0:
                continue
            turn = isinstance(travel, Swing)
            shown = f"{number(math.degrees(far), 1)}°" if turn else f"{figure(far, unit)} {unit}"
            yield Label(
                f"travel {mount.name} {which}",
                mount.name,
                ((f"{mount.name}: {word}", 11.0, True), (f"{shown} from nominal", 10.5, False)),
                *at,
                3.0,
                "travel",
                "move",
            )


def distance_labels(layout: Layout, view: View) -> Iterator[Label]:
    """How far mounts are apart, and in which direction."""
    for one, other in distances(layout):
        a, b = zero_of(one), zero_of(other)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        say = f"{figure(math.dist(a, b), layout.spec.unit)} at {number(turn)}°"
        lines = ((say, 13.0, True), (f"{one.name} to {other.name}", 10.5, False))
        middle = view.at(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
        yield Label(f"apart {other.name}", other.name, lines, *middle, 1.0, "dimensions")


def pattern_labels(layout: Layout, view: View) -> Iterator[Label]:
    """What gives each mount's pattern its size."""
    for mount in mounts_of(layout)[:MOST_MOUNTS_NAMED]:
        size = pattern_size(layout, mount)
        if size is None:
            continue
        lines = ((f"{mount.name} {size.words}", 11.0, False),)
        yield Label(f"pattern {mount.name}", mount.name, lines, *view.at(size.at), 1.0, "dimensions", "soft")


def opening_labels(layout: Layout, made: Sequence[Operations], view: View, on_plate: frozenset[str]) -> Iterator[Label]:
    """The names of the openings, with size and, where the table only marks them, what is done instead.

    What openings of one mount have in common is said at the first of them, with how many there are; the others have
    their names alone, and those in `on_plate`, whose names are scribed beside them and drawn so, nothing.
    """
    many = len(layout.openings)
    # Of very many openings only the first and the last of each mount are named: the others follow in between
    first: dict[str, str] = {}
    last: dict[str, str] = {}
    alike: dict[tuple[str, str], list[str]] = {}
    size_of: dict[str, tuple[str, str]] = {}
    for opening, operations in zip(layout.openings, made, strict=True):
        group = opening.mount or opening.name
        if opening.role == "screw":
            first.setdefault(group, opening.name)
            last[group] = opening.name
        else:
            first.setdefault(opening.name, opening.name)
        size = opening_size(layout, opening)
        said = size if operations.as_cut else f"{size}, {operations.steps[-1].work}"
        size_of[opening.name] = (group, said)
        alike.setdefault((group, said), []).append(opening.name)
    ends = frozenset([*first.values(), *last.values()])
    for opening in layout.openings:
        if many > FIRST_ONLY and opening.name not in ends:
            continue
        same = alike[size_of[opening.name]]
        lines: list[tuple[str, float, bool]] = [(opening.name, 12.0, True)]
        if opening.name == same[0]:
            count = f"{len(same)} × " if len(same) > 1 else ""
            lines.append((f"{count}{size_of[opening.name][1]}", 11.0, False))
        elif opening.name in on_plate:
            continue
        x, y, room = _label_point(opening, view)
        yield Label(f"opening {opening.name}", opening.name, tuple(lines), x, y, room, "names")


def _label_point(opening: Opening, view: View) -> tuple[float, float, float]:
    """Where a label points: the middle of a small opening, the lower left of the rim of a large one."""
    frame = view.box(opening.shape.box)
    # the middle of a large opening may lie far from any edge, and hold another part
    if max(frame.width, frame.height) <= 80:
        x, y = (frame.x0 + frame.x1) / 2, (frame.y0 + frame.y1) / 2
        return x, y, max(frame.width, frame.height) / 2
    return (*view.at(_rim_point(opening.shape, math.radians(215))), 1.0)


def _rim_point(shape: Shape, towards: float) -> Point:
    """The point of the outline that lies farthest in a direction."""
    if isinstance(shape, Disc):
        x, y = shape.center
        return (x + shape.radius * math.cos(towards), y + shape.radius * math.sin(towards))
    ux, uy = math.cos(towards), math.sin(towards)
    points = [edge.at(share) for edge in shape.loop().edges for share in (0.0, 0.25, 0.5, 0.75)]
    return max(points, key=lambda point: round(point[0] * ux + point[1] * uy, 6))


def body_labels(layout: Layout, view: View, edge: Box) -> Iterator[Label]:
    """The parts' names at their outlines."""
    for index, (body, name) in enumerate(titles_of_parts(layout)[:MOST_BODIES_NAMED]):
        # A point of the rim inside the picture; each body looks another way first, so that names spread
        towards = (math.radians(48 + 67 * index + 30 * turn) for turn in range(12))
        rim = (view.at(_rim_point(body.shape, way)) for way in towards)
        point = next(((x, y) for x, y in rim if edge.x0 <= x <= edge.x1 and edge.y0 <= y <= edge.y1), None)
        if point is None:
            continue
        side = side_of(layout, body)
        lines = ((name, 11.5, False), (f"{side} side", 10.0, False))
        yield Label(f"body {body.name}", body.name, lines, *point, 2.0, side, side)


def draw_labels(group: Element, labels: list[Label], view: View, layout: Layout, edge: Box, taken: list[Box]) -> float:
    """Places and draws all labels; gives back how far down the drawing reaches, sheet units."""
    field = Box(MARGIN, MARGIN, WIDTH - MARGIN, edge.y1 + BOTTOM)
    wishes = [Wish(label.key, label.x, label.y, label.room, label.width, label.height) for label in labels]
    # What is to be cut stays visible all along; of thousands of small holes the middles are kept off instead
    shapes = [layout.outline]
    few = len(layout.openings) <= FIRST_ONLY
    shapes += [one.shape for one in layout.openings if few or one.size * view.scale >= SMALL_HOLE]
    edges = np.concatenate([points_seen(shape, view, EDGE_STEP / view.scale) for shape in shapes])
    hollows = [view.box(one.shape.box) for one in layout.openings if few]
    spots = place(wishes, field, taken, _drawn(layout, view), edges=edges, hollows=hollows)
    layers = {name: new_layer(group, f"{name}-labels", switch=name) for name in LABEL_LAYERS}
    for label, spot in zip(labels, spots, strict=True):
        if spot.leader is not None:
            _belongs_to(write_leader(layers[label.layer], spot.leader, label.tone), label)
    # Leaders first, so that none runs over the words of a neighbour
    for label, spot in zip(labels, spots, strict=True):
        one = node(layers[label.layer], "g", class_="pk-label")
        _belongs_to(one, label)
        if label.mark is None:
            write_words(one, label.words, spot.frame)
            continue
        # A finding's mark, and a ring round the very place
        count, finding = label.mark.count, label.mark.finding
        one.set("id", f"pk-finding-{count}" + (f"-{label.mark.which + 1}" if label.mark.which else ""))
        ring = node(one, "circle", cx=label.x, cy=label.y, r=6, **stroke(label.tone, 2.2))
        ring.set("class", f"pk-target pk-line-{label.tone}")
        x, y = (spot.frame.x0 + spot.frame.x1) / 2, (spot.frame.y0 + spot.frame.y1) / 2
        mark = finding_mark(one, finding.level, str(count), x, y, finding.accepted is not None)
        tooltip(mark, finding.message)
    return max([field.y1, *(spot.frame.y1 + 6 for spot in spots)])


def _belongs_to(element: Element, label: Label) -> None:
    """Ties an element to its feature, or to its finding."""
    if label.mark is None:
        element.set("data-feature", label.feature)
    else:
        element.set("data-finding", str(label.mark.count))


def _drawn(layout: Layout, view: View) -> NDArray[np.float64]:
    """Points along the lines of the drawing that labels had better not cover, closer than a label is high."""
    step = 5.0 / view.scale
    shapes = [layout.outline, *(body.shape for body in parts(layout)[:MOST_OUTLINES_SPARED])]
    points: list[Point] = []
    for opening in layout.openings:
        x, y = view.at(opening.center)
        if opening.size * view.scale < SMALL_HOLE and len(layout.openings) > FIRST_ONLY:
            points.append((x, y))
            continue
        shapes.append(opening.shape)
        points += [(x, y)] * 6
    for mount in mounts_of(layout)[:MOST_MOUNTS_NAMED]:
        x, y = view.at(zero_of(mount))
        points += [(x + dx, y + dy) for dx in range(-9, 10, 3) for dy in range(-9, 10, 3)]
    return np.concatenate([np.array(points).reshape(-1, 2), *(points_seen(shape, view, step) for shape in shapes)])
