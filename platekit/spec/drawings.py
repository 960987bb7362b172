"""Outlines in drawings of the user's own: the lines and arcs of a DXF or SVG file, as plain numbers.

A *stroke* is a run of `(x, y, bulge)` vertices in millimetres, y up, as the file has it; the bulge, tan of a quarter of
the angle turned through, belongs to the edge that starts there. Lines, arcs and circles stay what they are. Splines and
ellipses are cut into chords no farther than `CHORD` from the curve, and the stroke says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any, Final, Literal, cast

from msgspec import Struct

from platekit.errors import PlatekitError
from platekit.spec.user_file import first_bytes
from platekit.units import INCH, shown

CHORD: Final = 0.002
"""Farthest that a chord lies from the curve it stands for, mm; as much again is added outside, 0.004 in all (ours)."""
MAX_BYTES: Final = 5_000_000
"""Largest drawing that is read (a stated limit, ours)."""
MAX_VERTICES: Final = 10_000
"""Most vertices of an outline (a stated limit, ours)."""
MAX_DEPTH: Final = 20
"""How deep blocks and groups may be nested (ours)."""
MAX_PARTS: Final = 20_000
"""Most parts that come out of blocks (ours): twice the most vertices; blocks within blocks multiply."""
MAX_REACH: Final = 100_000.0
"""Farthest from the drawing's zero, mm: the longest length that a spec takes (ours)."""

Unit = Literal["mm", "cm", "in", "px"]
MILLIMETRES: Final[dict[str, float]] = {"mm": 1.0, "cm": 10.0, "in": INCH, "px": INCH / 96}
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
            raise _too_many(path)
        _check_figures(*(value for vertex in stroke.vertices for value in vertex), path=path)
        vertices = tuple((scale * x, scale * y, b) for x, y, b in stroke.vertices)
        _check_reach(max(max(abs(x), abs(y)) for x, y, _ in vertices), path)
        strokes.append(Stroke(vertices, stroke.closed, stroke.chords))
    if not strokes:
        where = f" on a layer {layer!r}" if layer else ""
        raise DrawingError(f"no line, arc, circle or curve{where} in {path.name}", "draw the outline there")
    return tuple(strokes)


def _check_figures(*values: float, path: Path) -> None:
    if not all(map(math.isfinite, values)):
        raise DrawingError(f"a coordinate in {path.name} that is no number", "save the drawing again")


def _check_reach(reach: float, path: Path) -> None:
    if reach > MAX_REACH:
        found = f"a point in {path.name} that is {reach / 1000:.4g} m from its zero"
        raise DrawingError(found, f"at most {MAX_REACH / 1000:g} m will do; check `units`, or move the outline")


def drawing_bytes(path: Path) -> bytes:
    """What is in the file; `DrawingError` if it is missing, no file, or too large."""
    try:
        if path.is_dir():
            raise DrawingError(f"{path.name}, which is a folder", "name the file in it")
        if path.stat().st_size > MAX_BYTES:
            size = f"{path.stat().st_size / 1e6:.1f} MB in {path.name}"
            raise DrawingError(size, f"a drawing is at most {MAX_BYTES // 1_000_000} MB; save the outline alone")
        data = first_bytes(path, MAX_BYTES + 1)
    except FileNotFoundError:
        raise DrawingError(f"no file {path}", "its path counts from the folder of the spec") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's"
        raise DrawingError(f"{path.name}, which cannot be read ({reason})", "check the file and your rights") from None
    if len(data) > MAX_BYTES:
        raise DrawingError(f"{path.name}, which never ends", "name a file")
    return data


def _too_many(path: Path) -> DrawingError:
    return DrawingError(f"more than {MAX_VERTICES} points in {path.name}", "simplify it, or name one `layer`")


# --------------------------------------------------------------------------------------------- DXF


def _dxf_strokes(path: Path, data: bytes, layer: str | None, chord: float) -> Iterator[Stroke]:
    wanted = None if layer is None else layer.casefold()
    for entity in _flat(_dxf_entities(path, data), path):
        if wanted is None or entity.dxf.layer.casefold() == wanted:
            yield from _dxf_stroke(entity, chord, path)


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    """What goes on in the DXF library; a damaged file makes it fail in any way, which is told as what it is."""
    from ezdxf.lldxf.const import DXFError

    try:
        yield
    except (
        *(OSError, ValueError, LookupError, ArithmeticError, TypeError, AttributeError, AssertionError),
        *(RecursionError, DXFError),
    ) as error:
        raise DrawingError(f"{path.name}, which is no DXF file that can be read", "save it as DXF again") from error


def _dxf_entities(path: Path, data: bytes) -> Any:
    """The drawing's entities; refuses a file in which a figure had to be guessed."""
    import io
    import logging

    from ezdxf import recover
    from ezdxf.audit import AuditError

    if b"Binary DXF" in data[:22]:
        raise DrawingError(f"{path.name}, which is a binary DXF file", "save it as a text (ASCII) DXF")
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # what it has to say is said in our own words
    with _readable(path):
        document, auditor = recover.read(io.BytesIO(data))
        entities = document.modelspace()
    if any(entry.code == AuditError.INVALID_FLOATING_POINT_VALUE for entry in auditor.errors):
        raise DrawingError(f"figures in {path.name} that are no numbers", "save it as DXF again")
    return entities


def _flat(entities: Any, path: Path) -> Iterator[Any]:
    """The entities, blocks taken apart."""
    open_blocks = [iter(entities)]
    parts = 0
    while open_blocks:
        with _readable(path):
            entity = next(open_blocks[-1], None)
        if entity is None:
            open_blocks.pop()
            continue
        parts += len(open_blocks) > 1
        if parts > MAX_PARTS:
            raise DrawingError(f"blocks in {path.name} that hold more than {MAX_PARTS} parts", "save the outline alone")
        if entity.dxftype() != "INSERT":
            yield entity
        elif len(open_blocks) > MAX_DEPTH:
            raise DrawingError(f"blocks within blocks, more than {MAX_DEPTH} deep, in {path.name}", "explode them")
        else:
            open_blocks.append(entity.multi_insert() if entity.mcount > 1 else entity.virtual_entities())


def _dxf_stroke(entity: Any, chord: float, path: Path) -> Iterator[Stroke]:
    kind = entity.dxftype()
    if kind == "LINE":
        with _readable(path):
            (x, y, _), (u, v, _) = entity.dxf.start, entity.dxf.end
        yield Stroke(((x, y, 0.0), (u, v, 0.0)), closed=False)
    elif kind in ("ARC", "CIRCLE"):
        yield _seen_straight(entity, _round(entity, path), path)
    elif kind == "LWPOLYLINE":
        with _readable(path):
            points = tuple((x, y, b) for x, y, b in entity.get_points("xyb"))
        yield from _polyline_stroke(entity, points, bool(entity.closed), path)
    elif kind == "POLYLINE" and entity.is_2d_polyline:
        with _readable(path):
            vertices = [one.dxf for one in entity.vertices if not one.dxf.flags & one.SPLINE_FRAME_CONTROL_POINT]
            points = tuple((one.location.x, one.location.y, one.bulge) for one in vertices)
        yield from _polyline_stroke(entity, points, bool(entity.is_closed), path)
    elif kind in ("SPLINE", "ELLIPSE"):
        yield from _curve(entity, chord, path)


def _polyline_stroke(entity: Any, points: tuple[Vertex, ...], closed: bool, path: Path) -> Iterator[Stroke]:
    """The stroke of a polyline; one of fewer than two points draws nothing."""
    if len(points) > 1:
        yield _seen_straight(entity, Stroke(points, closed), path)


def _curve(entity: Any, chord: float, path: Path) -> Iterator[Stroke]:
    """A spline or ellipse in chords; far out they would not get any nearer to the curve, so that is asked first."""
    dxf, millimetre = entity.dxf, chord / CHORD
    with _readable(path):
        ellipse = entity.dxftype() == "ELLIPSE"
        points = (dxf.center, dxf.major_axis) if ellipse else (*entity.control_points, *entity.fit_points)
        figures = [float(value) for point in points for value in tuple(point)[:2]]
    _check_figures(*figures, path=path)
    _check_reach(max(map(abs, figures), default=0.0) / millimetre, path)
    with _readable(path):
        chords = [(p.x, p.y, 0.0) for p in islice(entity.flattening(chord), MAX_VERTICES + 2)]
    if len(chords) > 1:
        shut = math.dist(chords[0][:2], chords[-1][:2]) <= chord
        yield Stroke(tuple(chords[:-1] if shut else chords), closed=shut, chords=True)


def _round(entity: Any, path: Path) -> Stroke:
    with _readable(path):
        (x, y, _), r = entity.dxf.center, entity.dxf.radius
    if entity.dxftype() == "CIRCLE":
        return Stroke(((x - r, y, 1.0), (x + r, y, 1.0)), closed=True)
    start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    _check_figures(x, y, r, start, end, path=path)
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
    except (ElementTree.ParseError, ValueError, LookupError) as error:  # the last two: encodings that nobody knows
        raise DrawingError(f"{path.name}, which is no SVG file ({error})", "save it as plain SVG") from None
    try:
        for element, matrix in _svg_elements(root, (1.0, 0.0, 0.0, -1.0, 0.0, 0.0), layer is None, layer, 0):
            yield from _svg_stroke(element, matrix, chord, path)
    except ValueError as error:
        raise DrawingError(f"{path.name}, in which {error}", "save it as plain SVG") from None


def _svg_elements(
    element: Any, outer: Matrix, shown: bool, layer: str | None, depth: int
) -> Iterator[tuple[Any, Matrix]]:
    """The elements that are drawn, each with the matrix that leads to the drawing's zero, y up."""
    tag = str(element.tag).rpartition("}")[2]
    if tag in _NOT_DRAWN:
        return
    if depth > MAX_DEPTH:
        raise ValueError(f"groups are nested more than {MAX_DEPTH} deep")
    names = {value for key, value in element.attrib.items() if key.rpartition("}")[2] in ("id", "label")}
    shown = shown or layer in names
    matrix = _after(outer, _matrix(element.get("transform", "")))
    if tag in _SVG_SHAPES and shown:
        yield element, matrix
    for below in element:
        yield from _svg_elements(below, matrix, shown, layer, depth + 1)


_NOT_DRAWN: Final = frozenset({"defs", "clipPath", "mask", "symbol", "marker", "pattern", "metadata", "text", "title"})
_TURN: Final = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")
_FIGURE: Final = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_BETWEEN: Final = re.compile(r"[\s,]*")


def _after(outer: Matrix, inner: Matrix) -> Matrix:
    """First the inner, then the outer."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


def _matrix(text: str) -> Matrix:
    """What a `transform` does (P: SVG 1.1, chapter 7.6)."""
    whole: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    at = 0
    while at < len(text.rstrip()):
        turn = _TURN.match(text, at)
        if turn is None:
            raise ValueError(f"the transform {shown(text[at:])} cannot be read")
        whole = _after(whole, _one_transform(turn[1], _figures_in(turn[2])))
        at = turn.end()
    return whole


def _figures_in(text: str) -> list[float]:
    """The figures of a list; ValueError for anything else in it, since to leave that out would bend the shape."""
    if _BETWEEN.fullmatch(_FIGURE.sub("", text)) is None:
        raise ValueError(f"{shown(text)} is no list of figures")
    return [float(one) for one in _FIGURE.findall(text)]


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


def _svg_stroke(element: Any, matrix: Matrix, chord: float, path: Path) -> Iterator[Stroke]:
    from fontTools.svgLib.path import parse_path

    pen = _Pen(matrix, chord, path)
    definition = _SVG_SHAPES[str(element.tag).rpartition("}")[2]](element)
    if definition:
        try:
            parse_path(definition, pen)
        except (ValueError, LookupError):
            raise ValueError(f"the path {shown(definition)} cannot be read") from None
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
    figures = _figures_in(element.get("points", ""))
    if len(figures) % 2:
        raise ValueError(f"a {str(element.tag).rpartition('}')[2]} has an x without its y")
    return f"M{' '.join(map(repr, figures))}Z" if len(figures) >= 4 else ""


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

    def __init__(self, matrix: Matrix, chord: float, path: Path) -> None:
        self.strokes: list[Stroke] = []
        self._matrix, self._chord, self._path = matrix, chord, path
        self._count = 0
        self._points: list[Vertex] = []
        self._own: tuple[float, float] = (0.0, 0.0)
        self._chords = False

    def _put(self, own: tuple[float, float]) -> None:
        a, b, c, d, e, f = self._matrix
        self._own = own
        self._count += 1
        if self._count > MAX_VERTICES:
            raise _too_many(self._path)
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
        steps = self._chord_count(math.sqrt(0.75 * bend * self._stretch / self._chord))
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
        each = 2 * math.acos(max(1 - self._chord / reach, 0.0)) if reach else math.pi
        steps = self._chord_count(abs(sweep) / each if each else math.inf)
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

    def _chord_count(self, least: float) -> int:
        """Chords of one curve, at least so many."""
        if not least <= MAX_VERTICES:
            found = f"a curve in {self._path.name} that is too large for its unit"
            raise DrawingError(found, "check `units`, or simplify it")
        return max(math.ceil(least), 1)

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
