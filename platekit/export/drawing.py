"""The drawing of the plate: steel, openings, bodies by side, travel, the dimensions that matter, names, findings.

Vocabulary
    sheet     the picture in sheet units: x right, y down, `WIDTH` wide
    steel     what is drawn in the plate's own frame (mm, y up) under one transform, so that every path is exact
    view      how the plate frame lies on the sheet
    layer     a group that the report can switch on and off

What is near and what is far is told three times: by the line (solid, dashed), by the hatch along the rim (strokes,
dots), by the tone. It reads in black and white.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal
from xml.etree.ElementTree import Element

from platekit.checks.finding import Finding, Verdict
from platekit.cutting import Making, makings
from platekit.export.cautions import NOT_FOR_CUTTING
from platekit.export.labels import Frame, Wish, place, shortened, text_width
from platekit.export.sizes import figure, opening_size, pattern_size
from platekit.export.svgparts import (
    FAR,
    INK,
    LEVEL_COLOURS,
    MARK,
    MOVING,
    NEAR,
    PAPER,
    SOFT_INK,
    STEEL,
    finding_mark,
    identifier,
    node,
    number,
    path_of,
    text,
)
from platekit.geometry import Box, Disc, Point, Pose, Shape, Swing, Travel, box_round, ends, pose_at
from platekit.placed import Body, Layout, Opening, PlacedMount, Side

WIDTH: Final = 1000.0
"""Width of the sheet (ours: a column of a page)."""
MOST_WIDE: Final = 740.0
MOST_HIGH: Final = 900.0
"""Room for plate and bodies, sheet units (ours: leaves a margin for names)."""
MARGIN: Final = 10.0
TOP: Final = 84.0
BOTTOM: Final = 72.0
BEYOND: Final = 0.6
"""How far round the plate bodies are shown, in plate sizes (ours: a long guard does not shrink the plate)."""
RIM: Final = 10.0
"""Width of the hatched rim of a body, sheet units (ours)."""
ALL_NAMED: Final = 44
"""Up to this many openings each is named with its size (ours: more would not be readable)."""
FIRST_ONLY: Final = 100
"""Beyond this many openings only the first and last of each mount are named (ours)."""
MOST_BODIES_NAMED: Final = 40
MOST_MARKS: Final = 60
"""Most findings marked in the picture; all of them are listed in the report (ours)."""
LABEL_WIDEST: Final = 190.0

End = Literal["install", "tension"]
TONES: Final[dict[Side, str]] = {"near": NEAR, "far": FAR}
ENDS: Final[tuple[tuple[End, str], ...]] = (
    ("install", "belt on"),
    ("tension", "tight"),
)


@dataclass(frozen=True, slots=True)
class View:
    """How the plate frame lies on the sheet: `scale` in sheet units per mm, and where the plate's zero comes."""

    scale: float
    x: float
    y: float

    def at(self, point: Point) -> Point:
        """A point of the plate on the sheet."""
        return (self.x + self.scale * point[0], self.y - self.scale * point[1])

    def frame(self, box: Box) -> Frame:
        """A box of the plate on the sheet."""
        left, bottom = self.at((box.x0, box.y0))
        right, top = self.at((box.x1, box.y1))
        return Frame(left, top, right, bottom)


@dataclass(frozen=True, slots=True)
class Drawing:
    """The finished drawing: its group, its height, the findings by their number, and what a legend must explain."""

    group: Element
    height: float
    scale: float
    shown: frozenset[str]


@dataclass(frozen=True, slots=True)
class Label:
    """A label that wants a place: lines of text, or the mark of a finding."""

    key: str
    feature: str
    lines: tuple[tuple[str, float, bool], ...]
    x: float
    y: float
    room: float
    layer: str
    colour: str = INK
    finding: tuple[int, Finding] | None = None

    @property
    def width(self) -> float:
        """Its width on the sheet."""
        if self.finding is not None:
            return 2 * MARK + 2
        return max(text_width(say, size, bold) for say, size, bold in self.lines) + 6

    @property
    def height(self) -> float:
        """Its height on the sheet."""
        if self.finding is not None:
            return 2 * MARK
        return sum(size * 1.2 for _, size, _ in self.lines) + 3


def numbered(verdict: Verdict) -> tuple[tuple[int, Finding], ...]:
    """The findings with the numbers they carry everywhere: open ones first, worst first, then those accepted."""
    ordered = [f for f in verdict.findings if f.accepted is None] + list(verdict.accepted)
    return tuple(enumerate(ordered, start=1))


def draw(layout: Layout, verdict: Verdict) -> Drawing:
    """The drawing of a layout with the findings marked."""
    content = _content(layout)
    view = _view(content)
    edge = view.frame(content)
    group = node(None, "g", class_="pk-drawing")
    _definitions(group, view, edge)
    steel = _steel_group(group, view)
    _plate(steel, layout, view)
    _openings(steel, layout, view)
    _bodies(steel, layout, view, "far")
    _bodies(steel, layout, view, "near")
    _screws(steel, layout, view)
    _ghosts(steel, layout, view)
    _centre_lines(steel, layout, view)
    if not verdict.clear:
        _stamp(group, edge)
    marks = [(count, finding) for count, finding in numbered(verdict)][:MOST_MARKS]
    labels = [
        *_finding_labels(layout, view, marks),
        *_mount_labels(layout, view),
        *_travel_labels(layout, view),
        *_pattern_labels(layout, view),
        *_opening_labels(layout, view),
        *_body_labels(layout, view, edge),
    ]
    taken = [*_dimensions(group, layout, view, edge), *_orientation(group)]
    between, apart = _distances(group, layout, view)
    labels[len(marks) : len(marks)] = between
    _zeros(group, layout, view)
    _travel_arrows(group, layout, view)
    bottom = _labels(group, labels, view, layout, edge, [*taken, *apart])
    shown = _shown(layout, marks)
    return Drawing(group, bottom, view.scale, shown)


# ------------------------------------------------------------------------------------------- the view


def _content(layout: Layout) -> Box:
    """What the picture shows: the plate, and what is round it as far as `BEYOND` reaches."""
    plate = layout.outline.box
    reach = plate.grown(BEYOND * max(plate.width, plate.height))
    boxes = [opening.shape.box for opening in layout.openings]
    boxes += [body.swept.box for body in layout.bodies]
    boxes += [Box(*mount.pose.point((0.0, 0.0)), *mount.pose.point((0.0, 0.0))) for mount in _mounts(layout)]
    return box_round([plate, *(_within(box, reach) for box in boxes if box.overlaps(reach))])


def _within(box: Box, reach: Box) -> Box:
    return Box(max(box.x0, reach.x0), max(box.y0, reach.y0), min(box.x1, reach.x1), min(box.y1, reach.y1))


def _view(content: Box) -> View:
    scale = min(MOST_WIDE / content.width, MOST_HIGH / content.height)
    middle, _ = content.center
    return View(scale, WIDTH / 2 - scale * middle, TOP + scale * content.y1)


def _mounts(layout: Layout) -> tuple[PlacedMount, ...]:
    return tuple(layout.mounts.values())


def _zero(mount: PlacedMount) -> Point:
    return mount.pose.point((0.0, 0.0))


def _definitions(group: Element, view: View, edge: Frame) -> None:
    definitions = node(group, "defs")
    unit = 1 / view.scale
    for side, tone in TONES.items():
        pitch = (5.0 if side == "near" else 6.0) * unit
        pattern = node(
            definitions,
            "pattern",
            id=f"pk-hatch-{side}",
            patternUnits="userSpaceOnUse",
            width=number(pitch, 6),
            height=number(pitch, 6),
            patternTransform="rotate(-50)" if side == "near" else "rotate(30)",
        )
        if side == "near":
            node(
                pattern,
                "path",
                d=f"M0 0V{number(pitch, 6)}",
                stroke=tone,
                stroke_width=number(1.9 * unit, 6),
                class_="pk-line-near",
            )
        else:
            node(
                pattern,
                "circle",
                cx=number(pitch / 2, 6),
                cy=number(pitch / 2, 6),
                r=number(1.15 * unit, 6),
                fill=tone,
                class_="pk-dot-far",
            )
    window = edge.grown(3)
    clip = node(definitions, "clipPath", id="pk-window")
    node(clip, "rect", x=window.left, y=window.top, width=window.width, height=window.height)
    for key, colour in (("dim", SOFT_INK), ("move", MOVING)):
        arrow = node(
            definitions,
            "marker",
            id=f"pk-arrow-{key}",
            viewbox="0 0 10 8",
            refX="10",
            refY="4",
            markerWidth="9",
            markerHeight="7.2",
            markerUnits="userSpaceOnUse",
            orient="auto-start-reverse",
        )
        node(arrow, "path", d="M0 0L10 4L0 8L2.4 4Z", fill=colour, class_=f"pk-fill-{key}")


def _steel_group(group: Element, view: View) -> Element:
    window = node(group, "g", clip_path="url(#pk-window)")
    scale = number(view.scale, 6)
    place_ = f"matrix({scale} 0 0 -{scale} {number(view.x, 4)} {number(view.y, 4)})"
    return node(window, "g", id="pk-steel", transform=place_)


def _layer(parent: Element, name: str, view: View | None = None, width: float = 1.0) -> Element:
    layer = node(parent, "g", id=f"pk-layer-{name}", class_="pk-layer", data_layer=name)
    if view is not None:
        layer.set("stroke-width", number(width / view.scale, 6))
        layer.set("fill", "none")
    return layer


def _dashes(view: View, *lengths: float) -> str:
    return " ".join(number(length / view.scale, 5) for length in lengths)


# ------------------------------------------------------------------------------------ plate, openings


def _plate(steel: Element, layout: Layout, view: View) -> None:
    layer = _layer(steel, "plate", view, 2.4)
    node(
        layer,
        "path",
        id="pk-outline",
        data_feature="outline",
        d=path_of(layout.outline),
        fill=STEEL,
        stroke=INK,
        class_="pk-plate",
    )


def _openings(steel: Element, layout: Layout, view: View) -> None:
    layer = _layer(steel, "openings", view, 1.5)
    for opening, making in zip(layout.openings, makings(layout), strict=True):
        path = node(
            layer,
            "path",
            id=identifier("opening", opening.name),
            data_feature=opening.name,
            d=path_of(opening.shape),
            fill=PAPER,
            stroke=INK,
            class_=f"pk-opening pk-{opening.role}",
        )
        if not opening.through:
            path.set("fill-opacity", "0.55")
            if opening.side == "far":
                path.set("stroke-dasharray", _dashes(view, 6, 3))
        _tooltip(path, f"{opening.name}: {opening_size(layout, opening)}, {making.how}")
        if making.mark is not None:
            _punch_mark(layer, opening, making, view)


def _punch_mark(layer: Element, opening: Opening, making: Making, view: View) -> None:
    """Cross strokes through a hole that the table only marks, and the thread's ring where it is tapped."""
    assert making.mark is not None
    x, y = making.mark
    reach = max(opening.size / 2 + 4 / view.scale, 5 / view.scale)
    cross = f"M{number(x - reach, 6)} {number(y, 6)}h{number(2 * reach, 6)}"
    cross += f"M{number(x, 6)} {number(y - reach, 6)}v{number(2 * reach, 6)}"
    node(layer, "path", d=cross, stroke=INK, stroke_width=number(0.9 / view.scale, 6), class_="pk-punch")
    if opening.thread is not None:
        node(
            layer,
            "circle",
            cx=number(x, 6),
            cy=number(y, 6),
            r=number(opening.size / 2 * 1.18, 6),
            stroke=INK,
            stroke_width=number(0.9 / view.scale, 6),
            stroke_dasharray=_dashes(view, 5, 2),
            class_="pk-thread",
        )


def _tooltip(element: Element, say: str) -> None:
    node(element, "title").text = say


# --------------------------------------------------------------------------------------------- bodies


def parts(layout: Layout) -> tuple[Body, ...]:
    """The bodies that belong to a part, not to one screw."""
    return tuple(body for body in layout.bodies if not body.hardware)


def _bodies(steel: Element, layout: Layout, view: View, side: Side) -> None:
    layer = _layer(steel, side, view, 1.7)
    layer.set("stroke", TONES[side])
    for body in parts(layout):
        if body.side == side:
            _body(layer, body, view, layout)


def _body(layer: Element, body: Body, view: View, layout: Layout) -> None:
    name = identifier("body", body.name)
    group = node(
        layer,
        "g",
        id=name,
        data_feature=body.name,
        data_carrier=body.carrier,
        class_=f"pk-body pk-{body.side}",
    )
    unit = layout.spec.unit
    low, high = (figure(value, unit) for value in body.z)
    _tooltip(group, f"{body.name}: on the {body.side} side, carried by {body.carrier}, z {low} to {high} {unit}")
    outline = path_of(body.shape)
    clip = node(group, "clipPath", id=f"{name}-rim")
    node(clip, "path", d=outline)
    node(
        group,
        "path",
        d=outline,
        stroke=f"url(#pk-hatch-{body.side})",
        stroke_width=number(2 * RIM / view.scale, 6),
        clip_path=f"url(#{name}-rim)",
        class_="pk-rim",
    )
    line = node(group, "path", d=outline, class_=f"pk-line pk-line-{body.side}")
    if body.side == "far":
        line.set("stroke-dasharray", _dashes(view, 9, 4))


def _screws(steel: Element, layout: Layout, view: View) -> None:
    layer = _layer(steel, "screws", view, 0.9)
    for body in layout.bodies:
        if not body.hardware or body.kind == "tip":
            continue
        path = node(
            layer,
            "path",
            id=identifier("body", body.name),
            data_feature=body.name,
            data_carrier=body.carrier,
            d=path_of(body.shape),
            stroke=TONES[body.side],
            class_=f"pk-hardware pk-line-{body.side}",
        )
        if body.side == "far":
            path.set("stroke-dasharray", _dashes(view, 4, 2.5))
        _tooltip(path, f"{body.name}, {body.side} side")


# --------------------------------------------------------------------------------------------- travel


def end_pose(travel: Travel, end: End) -> Pose:
    """Where a carrier goes, from nominal, at one end of its travel."""
    low, high = ends(travel)
    return pose_at(travel, high if end == "tension" else low)


def amount(travel: Travel, end: End) -> float:
    """How far it goes from nominal to that end: mm, or radians of a swing."""
    low, high = ends(travel)
    return high if end == "tension" else -low


def _ghosts(steel: Element, layout: Layout, view: View) -> None:
    """Bodies and holes of moving mounts, at both ends of their travel."""
    layer = _layer(steel, "travel", view, 1.1)
    layer.set("stroke", MOVING)
    for mount in _mounts(layout):
        if mount.travel is None:
            continue
        for end, _ in ENDS:
            if amount(mount.travel, end) <= 0:
                continue
            pose = end_pose(mount.travel, end)
            dashes = _dashes(view, 10, 3, 2, 3) if end == "install" else _dashes(view, 3, 3)
            group = node(layer, "g", class_=f"pk-ghost pk-ghost-{end}", stroke_dasharray=dashes)
            group.set("data-ghost-of", mount.name)
            for shape in _moving_shapes(layout, mount):
                node(group, "path", d=path_of(shape.moved(pose)), class_="pk-line-move")


def _moving_shapes(layout: Layout, mount: PlacedMount) -> Iterator[Shape]:
    yield from (body.shape for body in parts(layout) if body.carrier == mount.name)
    yield from (Disc(point, mount.hole / 2) for point in mount.points)


def _carried_point(mount: PlacedMount, travel: Travel) -> Point:
    """The point whose travel is drawn: the mount's zero, or a hole where the zero is the pivot itself."""
    points = (_zero(mount), *mount.points)
    if not isinstance(travel, Swing):
        return points[0]
    x, y = travel.about
    return next((p for p in points if math.hypot(p[0] - x, p[1] - y) > 1.0), points[0])


def _travel_arrows(group: Element, layout: Layout, view: View) -> None:
    layer = _layer(group, "travel-arrows")
    layer.set("data-layer", "travel")
    for mount in _mounts(layout):
        travel = mount.travel
        if travel is None:
            continue
        start, nominal, end = _travel_points(mount, travel, view)
        path = f"M{number(start[0])} {number(start[1])}"
        if isinstance(travel, Swing):
            radius = number(math.hypot(*(a - b for a, b in zip(nominal, view.at(travel.about), strict=True))))
            sweep = 0 if travel.sense > 0 else 1
            for stop in (nominal, end):
                path += f"A{radius} {radius} 0 0 {sweep} {number(stop[0])} {number(stop[1])}"
            _pivot_sign(layer, view.at(travel.about))
        else:
            path += f"L{number(end[0])} {number(end[1])}"
        line = node(layer, "path", d=path, fill="none", stroke=MOVING, stroke_width=2.0, class_="pk-line-move")
        line.set("marker-end", "url(#pk-arrow-move)")
        if amount(travel, "install") > 0:
            line.set("marker-start", "url(#pk-arrow-move)")


def _travel_points(mount: PlacedMount, travel: Travel, view: View) -> tuple[Point, Point, Point]:
    point = _carried_point(mount, travel)
    start = end_pose(travel, "install").point(point)
    end = end_pose(travel, "tension").point(point)
    return view.at(start), view.at(point), view.at(end)


def _pivot_sign(layer: Element, at: Point) -> None:
    x, y = at
    node(layer, "circle", cx=x, cy=y, r=5, fill="none", stroke=MOVING, stroke_width=1.4, class_="pk-line-move")
    node(layer, "circle", cx=x, cy=y, r=1.6, fill=MOVING, class_="pk-fill-move")


def _travel_labels(layout: Layout, view: View) -> Iterator[Label]:
    unit = layout.spec.unit
    for mount in _mounts(layout):
        travel = mount.travel
        if travel is None:
            continue
        start, _, end = _travel_points(mount, travel, view)
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
                MOVING,
            )


# ----------------------------------------------------------------------------------------- dimensions


def _centre_lines(steel: Element, layout: Layout, view: View) -> None:
    """Bolt circles, and the rectangle or line that joins the holes of other patterns."""
    layer = _layer(steel, "dimensions", view, 0.9)
    layer.set("stroke", SOFT_INK)
    layer.set("stroke-dasharray", _dashes(view, 12, 3, 2, 3))
    for mount in _mounts(layout):
        size = pattern_size(layout, mount)
        if size is None:
            continue
        if size.circle is not None:
            x, y = _zero(mount)
            shape = path_of(Disc((x, y), size.circle / 2))
        else:
            points = "L".join(f"{number(x, 6)} {number(y, 6)}" for x, y in mount.points)
            shape = f"M{points}Z"
        node(layer, "path", d=shape, class_="pk-line-dim", data_feature=mount.name)


def _pattern_labels(layout: Layout, view: View) -> Iterator[Label]:
    for mount in _mounts(layout):
        size = pattern_size(layout, mount)
        if size is None:
            continue
        at = view.at(_beside_the_holes(mount, size.circle))
        lines = ((f"{mount.name} {size.words}", 11.0, False),)
        yield Label(f"pattern {mount.name}", mount.name, lines, *at, 1.0, "dimensions", SOFT_INK)


def _beside_the_holes(mount: PlacedMount, circle: float | None) -> Point:
    """A point of the centre line that lies midway between two holes, as far down as there is one."""
    x, y = _zero(mount)
    if circle is None:
        first, second = mount.points[0], mount.points[1]
        return ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
    turns = sorted(math.atan2(py - y, px - x) for px, py in mount.points)
    middles = [(a + b) / 2 for a, b in zip(turns, [*turns[1:], turns[0] + 2 * math.pi], strict=True)]
    angle = min(middles, key=lambda turn: (round(math.sin(turn), 6), turn))
    return (x + circle / 2 * math.cos(angle), y + circle / 2 * math.sin(angle))


def _dimensions(group: Element, layout: Layout, view: View, edge: Frame) -> list[Frame]:
    """Over-all width below, over-all height at the left; gives back the room they take."""
    layer = _layer(group, "dimensions-over-all")
    layer.set("data-layer", "dimensions")
    plate = view.frame(layout.outline.box)
    box, unit = layout.outline.box, layout.spec.unit
    below = edge.bottom + 34
    left = max(edge.left - 40, 24.0)
    for x in (plate.left, plate.right):
        _thin(layer, x, plate.bottom + 4, x, below + 6)
    for y in (plate.top, plate.bottom):
        _thin(layer, plate.left - 4, y, left - 6, y)
    _arrowed(layer, plate.left, below, plate.right, below)
    _arrowed(layer, left, plate.bottom, left, plate.top)
    wide, high = figure(box.width, unit), figure(box.height, unit)
    middle = (plate.left + plate.right) / 2
    half_way = (plate.top + plate.bottom) / 2
    taken = [_figure_on(layer, wide, middle, below), _figure_on(layer, high, left, half_way, upright=True)]
    taken.append(Frame(plate.left, below - 4, plate.right, below + 4))
    taken.append(Frame(left - 4, plate.top, left + 4, plate.bottom))
    return taken


def _thin(layer: Element, x1: float, y1: float, x2: float, y2: float, class_: str = "pk-line-dim") -> Element:
    return node(layer, "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=SOFT_INK, stroke_width=0.8, class_=class_)


def _arrowed(layer: Element, x1: float, y1: float, x2: float, y2: float) -> None:
    line = _thin(layer, x1, y1, x2, y2)
    line.set("marker-start", "url(#pk-arrow-dim)")
    line.set("marker-end", "url(#pk-arrow-dim)")


def _figure_on(layer: Element, say: str, x: float, y: float, upright: bool = False) -> Frame:
    """A dimension's figure on its line, on a ground that lets the line end before it."""
    size = 14.0
    width = text_width(say, size, True) + 10
    wide, high = (size + 6, width) if upright else (width, size + 6)
    frame = Frame(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    _ground(layer, frame, 1.0)
    words = text(layer, x, y + size * 0.36, say, size, bold=True, anchor="middle")
    if upright:
        words.set("transform", f"rotate(-90 {number(x)} {number(y)})")
    return frame


def _ground(layer: Element, frame: Frame, opacity: float) -> Element:
    return node(
        layer,
        "rect",
        x=frame.left,
        y=frame.top,
        width=frame.width,
        height=frame.height,
        rx=2,
        fill=PAPER,
        fill_opacity=opacity,
        class_="pk-ground",
    )


def _distances(group: Element, layout: Layout, view: View) -> tuple[list[Label], list[Frame]]:
    """Lines between the zeros of mounts, with labels for them; gives back what they take."""
    layer = _layer(group, "dimensions-zeros")
    layer.set("data-layer", "dimensions")
    labels: list[Label] = []
    mounts = _mounts(layout)
    unit = layout.spec.unit
    for mount in mounts[1:] if len(mounts) <= 12 else ():
        other = _measured_from(layout, mount)
        a, b = _zero(other), _zero(mount)
        apart = math.hypot(b[0] - a[0], b[1] - a[1])
        if apart < 1e-6:
            continue
        _arrowed(layer, *view.at(a), *view.at(b))
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        say = f"{figure(apart, unit)} at {number(turn, 2)}°"
        middle = view.at(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
        names = f"{other.name} to {mount.name}"
        lines = ((say, 13.0, True), (names, 10.5, False))
        labels.append(Label(f"apart {mount.name}", mount.name, lines, *middle, 1.0, "dimensions", INK))
    return labels, []


def _measured_from(layout: Layout, mount: PlacedMount) -> PlacedMount:
    """The mount that this one's distance is shown from: the one its place is given from, else the first."""
    at = layout.model.mounts[mount.name].at
    origin = getattr(at, "from_", None)
    return layout.mounts[origin] if origin is not None else _mounts(layout)[0]


# ----------------------------------------------------------------------------------------- the labels


def _zeros(group: Element, layout: Layout, view: View) -> None:
    """The zero point of each mount: an upright square on its corner with long cross strokes."""
    layer = _layer(group, "zeros")
    layer.set("data-layer", "names")
    for mount in _mounts(layout):
        x, y = (number(value) for value in view.at(_zero(mount)))
        sign = node(layer, "g", data_feature=mount.name, class_="pk-zero", transform=f"translate({x} {y})")
        sign.set("data-zero-of", mount.name)
        node(sign, "path", d="M-11 0H11M0 -11V11", stroke=INK, stroke_width=1.1, class_="pk-line-ink")
        node(
            sign,
            "path",
            d="M0 -6L6 0L0 6L-6 0Z",
            fill=PAPER,
            stroke=INK,
            stroke_width=1.4,
            class_="pk-zero-sign",
        )
        node(sign, "circle", cx=0, cy=0, r=1.4, fill=INK, class_="pk-ink")


def _mount_labels(layout: Layout, view: View) -> Iterator[Label]:
    for mount in _mounts(layout):
        x, y = view.at(_zero(mount))
        under = f"zero, {mount.side} side"
        lines = ((mount.name, 15.0, True), (under, 11.0, False))
        yield Label(f"mount {mount.name}", mount.name, lines, x, y, 12.0, "names", TONES[mount.side])


def _opening_labels(layout: Layout, view: View) -> Iterator[Label]:
    many = len(layout.openings)
    ends = _first_and_last(layout)
    for opening, making in zip(layout.openings, makings(layout), strict=True):
        if many > FIRST_ONLY and opening.name not in ends:
            continue
        lines: list[tuple[str, float, bool]] = [(opening.name, 12.0, True)]
        if many <= ALL_NAMED or opening.name in ends:
            size = opening_size(layout, opening)
            lines.append((size if making.cut is not None else f"{size}, {_short(making)}", 11.0, False))
        x, y, room = _label_point(opening, view)
        yield Label(f"opening {opening.name}", opening.name, tuple(lines), x, y, room, "names")


def _short(making: Making) -> str:
    return {"mark and drill": "drill", "mark, drill and tap": "tap", "mark and bore": "bore"}.get(
        making.how, making.how
    )


def _first_and_last(layout: Layout) -> frozenset[str]:
    first: dict[str, str] = {}
    last: dict[str, str] = {}
    for opening in layout.openings:
        group = opening.mount or opening.name
        if opening.role == "screw":
            first.setdefault(group, opening.name)
            last[group] = opening.name
        else:
            first.setdefault(opening.name, opening.name)
    return frozenset([*first.values(), *last.values()])


def _label_point(opening: Opening, view: View) -> tuple[float, float, float]:
    """Where a label points: the middle of a small opening, the lower left of the rim of a large one."""
    frame = view.frame(opening.shape.box)
    if max(frame.width, frame.height) <= 80:
        x, y = (frame.left + frame.right) / 2, (frame.top + frame.bottom) / 2
        return x, y, max(frame.width, frame.height) / 2
    return (*view.at(_rim_point(opening.shape, math.radians(215))), 1.0)


def _rim_point(shape: Shape, towards: float) -> Point:
    """The point of the outline that lies farthest in a direction."""
    if isinstance(shape, Disc):
        x, y = shape.center
        return (x + shape.radius * math.cos(towards), y + shape.radius * math.sin(towards))
    ux, uy = math.cos(towards), math.sin(towards)
    points = [edge.at(share) for edge in shape.loop().edges for share in (0.0, 0.25, 0.5, 0.75)]
    return max(points, key=lambda point: point[0] * ux + point[1] * uy)


def _body_labels(layout: Layout, view: View, edge: Frame) -> Iterator[Label]:
    for index, body in enumerate(parts(layout)[:MOST_BODIES_NAMED]):
        point = _visible_rim_point(body.shape, view, edge, index)
        if point is None:
            continue
        lines = ((shortened(body.name, LABEL_WIDEST, 11.5), 11.5, False), (f"{body.side} side", 10.0, False))
        yield Label(f"body {body.name}", body.name, lines, *point, 2.0, body.side, TONES[body.side])


def _visible_rim_point(shape: Shape, view: View, edge: Frame, index: int) -> Point | None:
    """A point of the rim inside the picture; each body looks another way first, so that names spread."""
    for turn in range(12):
        x, y = view.at(_rim_point(shape, math.radians(48 + 67 * index + 30 * turn)))
        if edge.left <= x <= edge.right and edge.top <= y <= edge.bottom:
            return (x, y)
    return None


def _finding_labels(layout: Layout, view: View, marks: Iterable[tuple[int, Finding]]) -> Iterator[Label]:
    for count, finding in marks:
        point = finding.at if finding.at is not None else _place_of(layout, finding)
        x, y = view.at(point)
        features = " | ".join(finding.features)
        colour = LEVEL_COLOURS[finding.level]
        yield Label(f"finding {count}", features, (), x, y, 7.0, "findings", colour, finding=(count, finding))


def _place_of(layout: Layout, finding: Finding) -> Point:
    """The middle of the first feature that has a place; else the upper right of the plate."""
    centers = {opening.name: opening.center for opening in layout.openings}
    zeros = {mount.name: _zero(mount) for mount in _mounts(layout)}
    known = {body.name: body.shape.centroid for body in layout.bodies} | zeros | centers
    box = layout.outline.box
    return next((known[name] for name in finding.features if name in known), (box.x1, box.y1))


def _labels(group: Element, labels: list[Label], view: View, layout: Layout, edge: Frame, taken: list[Frame]) -> float:
    """Places and draws all labels; gives back how far down the drawing reaches."""
    field = Frame(MARGIN, MARGIN, WIDTH - MARGIN, edge.bottom + BOTTOM)
    wishes = [Wish(label.key, label.x, label.y, label.room, label.width, label.height) for label in labels]
    spots = place(wishes, field, taken, tuple(_drawn(layout, view)))
    layers = {}
    for name in ("near", "far", "travel", "dimensions", "names", "findings"):
        layers[name] = _layer(group, f"{name}-labels")
        layers[name].set("data-layer", name)
    for label, spot in zip(labels, spots, strict=True):
        if spot.leader is not None:
            _leader(layers[label.layer], label, spot.leader)
    for label, spot in zip(labels, spots, strict=True):
        _label(layers[label.layer], label, spot.frame)
    return max([field.bottom, *(spot.frame.bottom + 6 for spot in spots)])


def _leader(layer: Element, label: Label, leader: tuple[float, float, float, float]) -> None:
    x1, y1, x2, y2 = (number(value) for value in leader)
    line = node(layer, "path", d=f"M{x1} {y1}L{x2} {y2}", fill="none", stroke=label.colour, stroke_width=0.9)
    line.set("class", f"pk-leader pk-leader-{label.layer}")
    if label.finding is None:
        line.set("data-feature", label.feature)
    else:
        line.set("data-finding", str(label.finding[0]))


def _label(layer: Element, label: Label, frame: Frame) -> None:
    group = node(layer, "g", class_="pk-label")
    if label.finding is not None:
        _mark_label(group, label, frame)
        return
    group.set("data-feature", label.feature)
    _ground(group, frame, 0.86)
    y = frame.top + 1
    middle = (frame.left + frame.right) / 2
    for say, size, bold in label.lines:
        y += size * 1.2
        class_ = f"pk-text-{label.layer}" if label.colour != INK else "pk-ink"
        text(
            group,
            middle,
            y - size * 0.22,
            say,
            size,
            bold=bold,
            anchor="middle",
            fill=label.colour,
            class_=class_,
        )


def _mark_label(group: Element, label: Label, frame: Frame) -> None:
    assert label.finding is not None
    count, finding = label.finding
    group.set("id", f"pk-finding-{count}")
    group.set("data-finding", str(count))
    node(
        group,
        "circle",
        cx=label.x,
        cy=label.y,
        r=6,
        fill="none",
        stroke=label.colour,
        stroke_width=2.2,
        class_=f"pk-target pk-target-{finding.level}",
    )
    x, y = (frame.left + frame.right) / 2, (frame.top + frame.bottom) / 2
    mark = finding_mark(group, finding.level, str(count), x, y, finding.accepted is not None)
    _tooltip(mark, finding.message)


def _drawn(layout: Layout, view: View) -> Iterator[Point]:
    """Points along the lines of the drawing, closer than a label is high."""
    step = 5.0 / view.scale
    shapes = [layout.outline, *(body.shape for body in parts(layout)[:200])]
    for opening in layout.openings:
        x, y = view.at(opening.center)
        if opening.size * view.scale < 12 and len(layout.openings) > FIRST_ONLY:
            yield (x, y)
            continue
        shapes.append(opening.shape)
        yield from [(x, y)] * 6
    for shape in shapes:
        for piece in shape.loop().edges:
            count = min(max(math.ceil(piece.length / step), 1), 400)
            yield from (view.at(piece.at(index / count)) for index in range(count))
    for mount in _mounts(layout):
        x, y = view.at(_zero(mount))
        yield from ((x + dx, y + dy) for dx in range(-9, 10, 3) for dy in range(-9, 10, 3))


# ------------------------------------------------------------------------------------- round the plate


def _orientation(group: Element) -> list[Frame]:
    """Which side is seen and which way is up; gives back the room it takes."""
    layer = _layer(group, "orientation")
    layer.set("data-layer", "plate")
    frame = Frame(MARGIN, MARGIN, MARGIN + 196, MARGIN + 50)
    x = frame.left + 18
    node(
        layer,
        "path",
        d=f"M{x} {frame.top + 2}L{x + 14} {frame.top + 22}H{x + 6}V{frame.bottom - 2}H{x - 6}V{frame.top + 22}H{x - 14}Z",
        fill=INK,
        class_="pk-ink",
    )
    text(layer, x + 24, frame.top + 20, "UP", 18, bold=True)
    text(layer, x + 24, frame.top + 42, "near side facing you", 15, bold=True)
    return [frame]


def _stamp(group: Element, edge: Frame) -> None:
    """The stamp across a plate that must not be cut."""
    layer = _layer(group, "stamp")
    layer.set("data-layer", "plate")
    x, y = (edge.left + edge.right) / 2, (edge.top + edge.bottom) / 2
    lean = math.degrees(math.atan2(edge.height, edge.width))
    lean = min(max(lean, 12.0), 40.0)
    size = min(0.92 * math.hypot(edge.width, edge.height) / text_width(NOT_FOR_CUTTING, 1, True), 84.0)
    words = text(
        layer,
        x,
        y + size * 0.36,
        NOT_FOR_CUTTING,
        size,
        bold=True,
        anchor="middle",
        fill="none",
        class_="pk-stamp",
    )
    words.set("stroke", LEVEL_COLOURS["stop"])
    words.set("stroke-width", "1.6")
    words.set("stroke-opacity", "0.4")
    words.set("transform", f"rotate({number(-lean)} {number(x)} {number(y)})")


def _shown(layout: Layout, marks: list[tuple[int, Finding]]) -> frozenset[str]:
    """What the legend has to explain."""
    shown = {"plate"}
    shown |= {body.side for body in parts(layout)}
    if any(body.hardware for body in layout.bodies):
        shown.add("screws")
    if any(mount.travel is not None for mount in _mounts(layout)):
        shown.add("travel")
    if any(making.mark is not None for making in makings(layout)):
        shown.add("punch")
    shown |= {finding.level for _, finding in marks if finding.accepted is None}
    if any(finding.accepted is not None for _, finding in marks):
        shown.add("accepted")
    return frozenset(shown)
