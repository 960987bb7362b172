"""Outlines in drawings of the user's own: the lines and arcs of a DXF or SVG file, as plain numbers.

A *stroke* is a run of `(x, y, bulge)` vertices in millimetres, y up, as the file has it; the bulge, tan of a quarter of
the angle turned through, belongs to the edge that starts there. Lines, arcs and circles stay what they are. Splines and
ellipses are cut into chords no farther than `CHORD` from the curve, and the stroke says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, Literal, cast

from msgspec import Struct

from platekit.errors import PlatekitError

CHORD: Final = 0.002
"""Farthest that a chord lies from the curve it stands for, mm; as much again is added outside, 0.004 in all (ours)."""
MAX_BYTES: Final = 5_000_000
"""Largest drawing that is read (a stated limit, ours)."""
MAX_VERTICES: Final = 10_000
"""Most vertices of an outline (a stated limit, ours)."""
MAX_DEPTH: Final = 20
"""How deep blocks and groups may be nested (ours)."""

Unit = Literal["mm", "cm", "in", "px"]
MILLIMETRES: Final[dict[str, float]] = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96}
"""What one unit of a drawing is, mm (P: CSS Values and Units 3 has 96 px to the inch)."""

Vertex = tuple[float, float, float]
Matrix = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f, as SVG has it."""


class Stroke(Struct, frozen=True):
    """A run of vertices; `closed` when its last one leads back to the first, `chords` when a curve was cut up."""

    vertices: tuple[Vertex, ...]
    closed: bool
    chords: bool = False


class DrawingError(PlatekitError):
    """A drawing that cannot be used; `found` and `wanted` are the halves of its sentence."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"found {found}; {wanted}")
        self.found = found
        self.wanted = wanted


def read_strokes(path: Path, unit: Unit, layer: str | None = None) -> tuple[Stroke, ...]:
    """Every stroke of the drawing at `path` (on one layer, if it is named), in mm.

    Raises `DrawingError` for a file that is missing, too large, of another kind, or that cannot be read.
    """
    kinds = {".dxf": _dxf_strokes, ".svg": _svg_strokes}
    reader = kinds.get(path.suffix.lower())
    if reader is None:
        raise DrawingError(f"a file called {path.name}", "name a DXF or SVG file")
    data = drawing_bytes(path)
    scale = MILLIMETRES[unit]
    strokes: list[Stroke] = []
    count = 0
    for stroke in reader(path, data, layer, CHORD / scale):
        count += len(stroke.vertices)
        if count > MAX_VERTICES:
            raise DrawingError(f"more than {MAX_VERTICES} points in {path.name}", "simplify it, or name one `layer`")
        if not all(math.isfinite(value) for vertex in stroke.vertices for value in vertex):
            raise DrawingError(f"a coordinate in {path.name} that is no number", "save the drawing again")
        strokes.append(Stroke(tuple((scale * x, scale * y, b) for x, y, b in stroke.vertices), *_rest(stroke)))
    if not strokes:
        where = f" on a layer {layer!r}" if layer else ""
        raise DrawingError(f"no line, arc, circle or curve{where} in {path.name}", "draw the outline there")
    return tuple(strokes)


def _rest(stroke: Stroke) -> tuple[bool, bool]:
    return stroke.closed, stroke.chords


def drawing_bytes(path: Path) -> bytes:
    """What is in the file; `DrawingError` if it is missing, no file, or too large."""
    try:
        if path.is_dir():
            raise DrawingError(f"{path.name}, which is a folder", "name the file in it")
        if path.stat().st_size > MAX_BYTES:
            size = f"{path.stat().st_size / 1e6:.1f} MB in {path.name}"
            raise DrawingError(size, f"a drawing is at most {MAX_BYTES // 1_000_000} MB; save the outline alone")
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise DrawingError(f"no file {path}", "its path counts from the folder of the spec") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's"
        raise DrawingError(f"{path.name}, which cannot be read ({reason})", "check the file and your rights") from None
    if len(data) > MAX_BYTES:
        raise DrawingError(f"{path.name}, which never ends", "name a file")
    return data


# --------------------------------------------------------------------------------------------- DXF


def _dxf_strokes(path: Path, data: bytes, layer: str | None, chord: float) -> Iterator[Stroke]:
    import io

    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    try:
        document, _ = recover.read(io.BytesIO(data))
    except (OSError, ValueError, DXFError) as error:
        raise DrawingError(f"{path.name}, which is no DXF file that can be read", "save it as DXF again") from error
    wanted = None if layer is None else layer.casefold()
    for entity in _flat(document.modelspace(), 0, path):
        if wanted is None or entity.dxf.layer.casefold() == wanted:
            yield from _dxf_stroke(entity, chord, path)


def _flat(entities: Any, depth: int, path: Path) -> Iterator[Any]:
    """The entities, blocks taken apart."""
    if depth > MAX_DEPTH:
        raise DrawingError(f"blocks within blocks, more than {MAX_DEPTH} deep, in {path.name}", "explode them")
    for entity in entities:
        if entity.dxftype() == "INSERT":
            yield from _flat(entity.virtual_entities(), depth + 1, path)
        else:
            yield entity


def _dxf_stroke(entity: Any, chord: float, path: Path) -> Iterator[Stroke]:
    kind = entity.dxftype()
    if kind == "LINE":
        (x, y, _), (u, v, _) = entity.dxf.start, entity.dxf.end
        yield Stroke(((x, y, 0.0), (u, v, 0.0)), closed=False)
    elif kind in ("ARC", "CIRCLE"):
        yield _seen_straight(entity, _round(entity), path)
    elif kind == "LWPOLYLINE":
        points = tuple((x, y, b) for x, y, b in entity.get_points("xyb"))
        yield _seen_straight(entity, Stroke(points, bool(entity.closed)), path)
    elif kind == "POLYLINE" and entity.is_2d_polyline:
        vertices = [one for one in entity.vertices if not one.is_spline_frame_control_point]
        points = tuple((one.dxf.location.x, one.dxf.location.y, one.dxf.bulge) for one in vertices)
        yield _seen_straight(entity, Stroke(points, bool(entity.is_closed)), path)
    elif kind in ("SPLINE", "ELLIPSE"):
        chords = [(p.x, p.y, 0.0) for p in entity.flattening(chord)]
        shut = math.dist(chords[0][:2], chords[-1][:2]) <= chord
        yield Stroke(tuple(chords[:-1] if shut else chords), closed=shut, chords=True)


def _round(entity: Any) -> Stroke:
    (x, y, _), r = entity.dxf.center, entity.dxf.radius
    if entity.dxftype() == "CIRCLE":
        return Stroke(((x - r, y, 1.0), (x + r, y, 1.0)), closed=True)
    start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    sweep = (end - start) % math.tau or math.tau
    steps = 2 if sweep > math.pi else 1
    bulge = math.tan(sweep / steps / 4)
    angles = [start + sweep * k / steps for k in range(steps + 1)]
    points = [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]
    return Stroke((*((px, py, bulge) for px, py in points[:-1]), (*points[-1], 0.0)), closed=False)


def _seen_straight(entity: Any, stroke: Stroke, path: Path) -> Stroke:
    """The stroke as seen from above: mirrored when it was drawn facing down (P: the arbitrary axis of DXF)."""
    x, y, z = entity.dxf.extrusion
    if math.hypot(x, y) > 1e-6:
        raise DrawingError(f"a {entity.dxftype()} in {path.name} that does not lie flat", "draw it in the plane z = 0")
    if z > 0:
        return stroke
    return Stroke(tuple((-px, py, -bulge) for px, py, bulge in stroke.vertices), stroke.closed, stroke.chords)


# --------------------------------------------------------------------------------------------- SVG


def _svg_strokes(path: Path, data: bytes, layer: str | None, chord: float) -> Iterator[Stroke]:
    from xml.etree import ElementTree

    if b"<!ENTITY" in data:
        raise DrawingError(f"{path.name}, which defines entities of its own", "save it as plain SVG")
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise DrawingError(f"{path.name}, which is no SVG file ({error})", "save it as plain SVG") from None
    try:
        for element, matrix in _svg_elements(root, (1.0, 0.0, 0.0, -1.0, 0.0, 0.0), layer is None, layer, 0):
            yield from _svg_stroke(element, matrix, chord)
    except ValueError as error:
        raise DrawingError(f"{path.name}, in which {error}", "save it as plain SVG") from None


def _svg_elements(
    element: Any, outer: Matrix, shown: bool, layer: str | None, depth: int
) -> Iterator[tuple[Any, Matrix]]:
    """The elements that are drawn, each with the matrix that leads to the drawing's zero, y up."""
    tag = str(element.tag).rpartition("}")[2]
    if tag in _NOT_DRAWN or depth > MAX_DEPTH:
        return
    names = {value for key, value in element.attrib.items() if key.rpartition("}")[2] in ("id", "label")}
    shown = shown or layer in names
    matrix = _after(outer, _matrix(element.get("transform", "")))
    if tag in _SVG_SHAPES and shown:
        yield element, matrix
    for below in element:
        yield from _svg_elements(below, matrix, shown, layer, depth + 1)


_NOT_DRAWN: Final = frozenset({"defs", "clipPath", "mask", "symbol", "marker", "pattern", "metadata", "text", "title"})
_TURN: Final = re.compile(r"([a-zA-Z]+)\s*\(([^)]*)\)")
_FIGURE: Final = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def _after(outer: Matrix, inner: Matrix) -> Matrix:
    """First the inner, then the outer."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


def _matrix(text: str) -> Matrix:
    """What a `transform` does (P: SVG 1.1, chapter 7.6)."""
    whole: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    for name, inside in _TURN.findall(text):
        whole = _after(whole, _one_transform(name, [float(one) for one in _FIGURE.findall(inside)]))
    return whole


def _one_transform(name: str, figures: list[float]) -> Matrix:
    match name, figures:
        case "matrix", [_, _, _, _, _, _]:
            return cast(Matrix, tuple(figures))
        case "translate", [x, *rest]:
            return (1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0)
        case "scale", [x, *rest]:
            return (x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0)
        case "rotate", [angle]:
            c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            return (c, s, -s, c, 0.0, 0.0)
        case "rotate", [angle, x, y]:
            back = _after(_one_transform("rotate", [angle]), (1.0, 0.0, 0.0, 1.0, -x, -y))
            return _after((1.0, 0.0, 0.0, 1.0, x, y), back)
        case "skewX", [angle]:
            return (1.0, 0.0, math.tan(math.radians(angle)), 1.0, 0.0, 0.0)
        case "skewY", [angle]:
            return (1.0, math.tan(math.radians(angle)), 0.0, 1.0, 0.0, 0.0)
    raise ValueError(f"a transform {name} with {len(figures)} figures cannot be read")


def _svg_stroke(element: Any, matrix: Matrix, chord: float) -> Iterator[Stroke]:
    from fontTools.svgLib.path import parse_path

    pen = _Pen(matrix, chord)
    definition = _SVG_SHAPES[str(element.tag).rpartition("}")[2]](element)
    if definition:
        parse_path(definition, pen)
    yield from pen.strokes


def _figures(element: Any, *names: str) -> list[float]:
    """The figures of an element, 0 where one is left out."""
    values = []
    for name in names:
        text = element.get(name, "0").strip()
        found = _FIGURE.match(text)
        if found is None or text[found.end() :] not in ("", "px"):
            raise ValueError(f"{name}={text!r} is no plain number")
        values.append(float(found.group()))
    return values


def _circle(element: Any) -> str:
    x, y, r = _figures(element, "cx", "cy", "r")
    return f"M{x - r!r} {y!r}A{r!r} {r!r} 0 0 1 {x + r!r} {y!r}A{r!r} {r!r} 0 0 1 {x - r!r} {y!r}Z" if r else ""


def _ellipse(element: Any) -> str:
    x, y, p, q = _figures(element, "cx", "cy", "rx", "ry")
    if not (p and q):
        return ""
    return f"M{x - p!r} {y!r}A{p!r} {q!r} 0 0 1 {x + p!r} {y!r}A{p!r} {q!r} 0 0 1 {x - p!r} {y!r}Z"


def _rect(element: Any) -> str:
    x, y, w, h, p, q = _figures(element, "x", "y", "width", "height", "rx", "ry")
    p, q = min(p or q, w / 2), min(q or p, h / 2)
    if not (w and h):
        return ""
    if not (p and q):
        return f"M{x!r} {y!r}h{w!r}v{h!r}h{-w!r}Z"
    corner = f"a{p!r} {q!r} 0 0 1"
    return (
        f"M{x + p!r} {y!r}h{w - 2 * p!r}{corner} {p!r} {q!r}v{h - 2 * q!r}{corner} {-p!r} {q!r}"
        f"h{2 * p - w!r}{corner} {-p!r} {-q!r}v{2 * q - h!r}{corner} {p!r} {-q!r}Z"
    )


def _polygon(element: Any) -> str:
    figures = _FIGURE.findall(element.get("points", ""))
    return f"M{' '.join(figures)}Z" if len(figures) >= 4 else ""


def _polyline(element: Any) -> str:
    return _polygon(element).removesuffix("Z")


def _line(element: Any) -> str:
    a, b, c, d = _figures(element, "x1", "y1", "x2", "y2")
    return f"M{a!r} {b!r}L{c!r} {d!r}"


_SVG_SHAPES: Final = {
    "path": lambda element: element.get("d", ""),
    "circle": _circle,
    "ellipse": _ellipse,
    "rect": _rect,
    "polygon": _polygon,
    "polyline": _polyline,
    "line": _line,
}


class _Pen:
    """Takes the commands of a path and keeps its strokes, in the drawing's zero, y up."""

    def __init__(self, matrix: Matrix, chord: float) -> None:
        self.strokes: list[Stroke] = []
        self._matrix, self._chord = matrix, chord
        self._points: list[Vertex] = []
        self._own: tuple[float, float] = (0.0, 0.0)
        self._chords = False

    def _put(self, own: tuple[float, float]) -> None:
        a, b, c, d, e, f = self._matrix
        self._own = own
        self._points.append((a * own[0] + c * own[1] + e, b * own[0] + d * own[1] + f, 0.0))

    def moveTo(self, p: tuple[float, float]) -> None:  # the pen protocol's own names
        """Start a stroke."""
        self._points, self._chords = [], False
        self._put(p)

    def lineTo(self, p: tuple[float, float]) -> None:
        """A straight edge."""
        self._put(p)

    def curveTo(self, *points: tuple[float, float]) -> None:
        """A cubic curve, in chords."""
        self._cubic(self._own, *points)

    def qCurveTo(self, control: tuple[float, float], end: tuple[float, float]) -> None:
        """A quadratic curve: a cubic whose controls lie two thirds on the way to its own."""
        start = self._own
        p = tuple(s + 2 / 3 * (c - s) for s, c in zip(start, control, strict=True))
        q = tuple(e + 2 / 3 * (c - e) for e, c in zip(end, control, strict=True))
        self._cubic(start, cast(tuple[float, float], p), cast(tuple[float, float], q), end)

    def _cubic(self, *points: tuple[float, float]) -> None:
        """Even chords, so many that none is farther off than the chord error: at most 1/8 of the bend (P: de Boor)."""
        self._chords = True
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points
        bend = max(math.hypot(ax - 2 * bx + cx, ay - 2 * by + cy), math.hypot(bx - 2 * cx + dx, by - 2 * cy + dy))
        steps = max(math.ceil(math.sqrt(0.75 * bend * self._stretch / self._chord)), 1)
        if steps > MAX_VERTICES:
            raise ValueError("a curve is too large for its unit")
        for k in range(1, steps + 1):
            t = k / steps
            u = 1 - t
            w = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            x = w[0] * ax + w[1] * bx + w[2] * cx + w[3] * dx
            y = w[0] * ay + w[1] * by + w[2] * cy + w[3] * dy
            self._put((dx, dy) if k == steps else (x, y))

    @property
    def _stretch(self) -> float:
        """How much longer a length may come out than it is written."""
        a, b, c, d, *_ = self._matrix
        return math.sqrt(a * a + b * b + c * c + d * d)

    def arcTo(
        self, rx: float, ry: float, rotation: float, large: bool, clockwise: bool, end: tuple[float, float]
    ) -> None:
        """An arc of a circle as it is; of an ellipse, or one that the transform makes one of, in chords."""
        start = self._own
        found = _ellipse_arc(start, (abs(rx), abs(ry)), math.radians(rotation), bool(large), bool(clockwise), end)
        if found is None:
            self._put(end)
            return
        center, (p, q), turn, first, sweep = found
        a, b, c, d, *_ = self._matrix
        even = abs(math.hypot(a, b) - math.hypot(c, d)) <= 1e-9 * self._stretch
        square = abs(a * c + b * d) <= 1e-9 * self._stretch**2
        if abs(p - q) <= 1e-9 * p and even and square:
            self._arc(center, p, turn + first, sweep, end, math.copysign(1.0, a * d - b * c))
            return
        self._chords = True
        reach = max(p, q) * self._stretch
        steps = max(math.ceil(abs(sweep) / (2 * math.acos(max(1 - self._chord / reach, 0.0)))), 1)
        for k in range(1, steps + 1):
            x, y = p * math.cos(first + sweep * k / steps), q * math.sin(first + sweep * k / steps)
            c, s = math.cos(turn), math.sin(turn)
            self._put(end if k == steps else (center[0] + c * x - s * y, center[1] + s * x + c * y))

    def _arc(
        self,
        center: tuple[float, float],
        radius: float,
        first: float,
        sweep: float,
        end: tuple[float, float],
        sense: float,
    ) -> None:
        steps = 2 if abs(sweep) > math.pi * (1 - 1e-9) else 1
        for k in range(1, steps + 1):
            x, y, _ = self._points[-1]
            self._points[-1] = (x, y, sense * math.tan(sweep / steps / 4))
            angle = first + sweep * k / steps
            point = (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))
            self._put(end if k == steps else point)

    def closePath(self) -> None:
        """A closed stroke."""
        points = self._points
        if len(points) > 1 and math.dist(points[0][:2], points[-1][:2]) <= 1e-9 * max(1.0, self._stretch):
            points = points[:-1]
        self._keep(points, closed=True)

    def endPath(self) -> None:
        """An open stroke."""
        self._keep(self._points, closed=False)

    def _keep(self, points: list[Vertex], closed: bool) -> None:
        if len(points) > 1:
            self.strokes.append(Stroke(tuple(points), closed, self._chords))
        self._points, self._chords = [], False


def _ellipse_arc(
    start: tuple[float, float],
    radii: tuple[float, float],
    turn: float,
    large: bool,
    clockwise: bool,
    end: tuple[float, float],
) -> tuple[tuple[float, float], tuple[float, float], float, float, float] | None:
    """Centre, radii, turn, first angle and sweep of an arc given by its ends (P: SVG 1.1, appendix F.6.5)."""
    rx, ry = radii
    if start == end or not (rx and ry):
        return None
    c, s = math.cos(turn), math.sin(turn)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = c * hx + s * hy, -s * hx + c * hy
    spread = (x / rx) ** 2 + (y / ry) ** 2
    if spread > 1.0:
        rx, ry = rx * math.sqrt(spread), ry * math.sqrt(spread)
        spread = 1.0
    root = math.sqrt(max(1.0 / spread - 1.0, 0.0)) * (1.0 if large != clockwise else -1.0)
    mx, my = root * rx * y / ry, -root * ry * x / rx
    center = (c * mx - s * my + (start[0] + end[0]) / 2, s * mx + c * my + (start[1] + end[1]) / 2)
    first = math.atan2((y - my) / ry, (x - mx) / rx)
    last = math.atan2((-y - my) / ry, (-x - mx) / rx)
    sweep = (last - first) % math.tau if clockwise else -((first - last) % math.tau)
    return center, (rx, ry), turn, first, sweep
