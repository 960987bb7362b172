"""Paths of an SVG file: the figures of their commands, and a pen that draws lines and arcs of them.

Read sign by sign (P: SVG 1.1, chapter 8.3.9), so that a long path takes no more memory than its points.
"""

from __future__ import annotations

import math
import re
from typing import Final

from platekit.spec.drawings import MAX_VERTICES, Sheet, Stroke, Vertex
from platekit.units import shown

Matrix = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f, as SVG has it."""
Spot = tuple[float, float]


def after(outer: Matrix, inner: Matrix) -> Matrix:
    """First the inner, then the outer."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


class PathPen:
    """Draws on a sheet, by a matrix that leads to the drawing's zero, y up."""

    def __init__(self, matrix: Matrix, sheet: Sheet) -> None:
        self._sheet = sheet
        self._matrix = matrix
        self._points: list[Vertex] = []
        self.at: Spot = (0.0, 0.0)
        self._start: Spot = (0.0, 0.0)
        a, b, c, d, *_ = matrix
        # The Frobenius norm: never less than the longest that the matrix makes a unit, so that chords err on the safe
        # side.
        self._stretch = math.sqrt(a * a + b * b + c * c + d * d)
        """How much longer a length may come out than it is written."""

    def _put(self, own: Spot) -> None:
        a, b, c, d, e, f = self._matrix
        self.at = own
        # Counted point by point: a path of a few letters may ask for millions of chords.
        if len(self._points) + self._sheet.count > MAX_VERTICES:
            raise self._sheet.too_many()
        self._points.append((a * own[0] + c * own[1] + e, b * own[0] + d * own[1] + f, 0.0))

    def move(self, p: Spot) -> None:
        """Start a stroke."""
        self.lift()
        self._start = p
        self._put(p)

    def line(self, p: Spot) -> None:
        """A straight edge."""
        self._put(p)

    def close(self) -> None:
        """A closed stroke; what follows starts where it did."""
        # Many programs draw back to the start before they close: the same place twice would be an edge of no length.
        points = self._points
        if len(points) > 1 and math.dist(points[0][:2], points[-1][:2]) <= 1e-9 * max(1.0, self._stretch):
            points = points[:-1]
        self._points = []
        self._sheet.add(Stroke(tuple(points), closed=True))
        self._put(self._start)

    def lift(self) -> None:
        """An open stroke, if anything was drawn."""
        points, self._points = self._points, []
        self._sheet.add(Stroke(tuple(points), closed=False))

    def cubic(self, b: Spot, c: Spot, d: Spot) -> None:
        """Even chords, so many that none is farther off than the chord error: at most 1/8 of the bend (P: de Boor)."""
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.at, b, c, d
        # Second differences of the control points bound the second derivative, and that the rise over a chord.
        bend = max(math.hypot(ax - 2 * bx + cx, ay - 2 * by + cy), math.hypot(bx - 2 * cx + dx, by - 2 * cy + dy))
        steps = self._sheet.steps(math.sqrt(0.75 * bend * self._stretch / self._sheet.chord))
        for k in range(1, steps + 1):
            t = k / steps
            u = 1 - t
            w = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            x = w[0] * ax + w[1] * bx + w[2] * cx + w[3] * dx
            y = w[0] * ay + w[1] * by + w[2] * cy + w[3] * dy
            self._put((dx, dy) if k == steps else (x, y))

    def quadratic(self, control: Spot, end: Spot) -> None:
        """A quadratic curve: a cubic whose controls lie two thirds on the way to its own."""
        (sx, sy), (cx, cy), (ex, ey) = self.at, control, end
        # Degree elevation: the same curve written as a cubic, so that there is one way to draw.
        share = 2 / 3
        first = (sx + share * (cx - sx), sy + share * (cy - sy))
        self.cubic(first, (ex + share * (cx - ex), ey + share * (cy - ey)), end)

    def arc(self, radii: Spot, rotation: float, large: bool, clockwise: bool, end: Spot) -> None:
        """An arc of a circle as it is; of an ellipse, or one that the transform makes one of, in chords."""
        rx, ry = abs(radii[0]), abs(radii[1])
        if end == self.at:
            return
        found = _ellipse_arc(self.at, (rx, ry), math.radians(rotation), large, clockwise, end)
        if found is None:
            self._put(end)
            return
        # An arc of a circle stays one where the transform neither stretches nor shears: columns of its matrix equally
        # long and square to each other. A mirror among them turns the arc the other way.
        center, (p, q), turn, first, sweep = found
        a, b, c, d, *_ = self._matrix
        even = abs(math.hypot(a, b) - math.hypot(c, d)) <= 1e-9 * self._stretch
        square = abs(a * c + b * d) <= 1e-9 * self._stretch**2
        if abs(p - q) <= 1e-9 * p and even and square:
            self._arc(center, p, turn + first, sweep, end, math.copysign(1.0, a * d - b * c))
            return
        reach = max(p, q) * self._stretch
        # As on the circle with the longer half axis, stretched as far as the transform may: no chord is farther off.
        each = 2 * math.acos(max(1 - self._sheet.chord / reach, 0.0)) if reach else math.pi
        steps = self._sheet.steps(abs(sweep) / each if each else math.inf)
        for k in range(1, steps + 1):
            x, y = p * math.cos(first + sweep * k / steps), q * math.sin(first + sweep * k / steps)
            c, s = math.cos(turn), math.sin(turn)
            # The last point is the one that was written, to the digit: the next stroke begins there.
            self._put(end if k == steps else (center[0] + c * x - s * y, center[1] + s * x + c * y))

    def _arc(self, center: Spot, radius: float, first: float, sweep: float, end: Spot, sense: float) -> None:
        # From half a turn on in two: the bulge of half a turn is 1, of a whole one infinite.
        steps = 2 if abs(sweep) > math.pi * (1 - 1e-9) else 1
        for k in range(1, steps + 1):
            x, y, _ = self._points[-1]
            self._points[-1] = (x, y, sense * math.tan(sweep / steps / 4))
            angle = first + sweep * k / steps
            point = (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))
            self._put(end if k == steps else point)


def _ellipse_arc(
    start: Spot, radii: Spot, turn: float, large: bool, clockwise: bool, end: Spot
) -> tuple[Spot, Spot, float, float, float] | None:
    """Centre, radii, turn, first angle and sweep of an arc given by its ends (P: SVG 1.1, appendix F.6.5)."""
    rx, ry = radii
    if start == end or not (rx and ry):
        return None
    c, s = math.cos(turn), math.sin(turn)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = c * hx + s * hy, -s * hx + c * hy
    # Radii too small to reach from end to end are made just large enough, as the standard wants it (F.6.6).
    spread = (x / rx) ** 2 + (y / ry) ** 2
    if spread > 1.0:
        rx, ry = rx * math.sqrt(spread), ry * math.sqrt(spread)
        spread = 1.0
    # The centre lies on either side of the chord: which one follows from the two flags being alike or not.
    root = math.sqrt(max(1.0 / spread - 1.0, 0.0)) * (1.0 if large != clockwise else -1.0)
    mx, my = root * rx * y / ry, -root * ry * x / rx
    center = (c * mx - s * my + (start[0] + end[0]) / 2, s * mx + c * my + (start[1] + end[1]) / 2)
    first = math.atan2((y - my) / ry, (x - mx) / rx)
    last = math.atan2((-y - my) / ry, (-x - mx) / rx)
    sweep = (last - first) % math.tau if clockwise else -((first - last) % math.tau)
    return center, (rx, ry), turn, first, sweep


# ------------------------------------------------------------------------------- commands


_SPACE: Final = re.compile(r"[ \t\r\n\f]*")
_GAP: Final = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_NUMBER: Final = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_FLAG: Final = re.compile(r"[01]")
_FIGURES: Final = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}
"""Figures after each command."""


def read_path(text: str, pen: PathPen) -> None:
    """Draw a path; ValueError, with where, for one that cannot be read to its end."""
    at = _skip(_SPACE, text, 0)
    command, last = "", ""
    control: Spot = (0.0, 0.0)
    while at < len(text):
        if text[at].lower() in _FIGURES:
            command, at = text[at], at + 1
            at = _skip(_SPACE, text, at)
        elif not command or command in "zZ":
            raise _unread(text, at)
        else:  # the same command once more; after a first place, lines
            command = {"m": "l", "M": "L"}.get(command, command)
        kind = command.lower()
        if not last and kind != "m":
            raise _unread(text, at)
        # Figures need no gap where a sign or a second point parts them (`1-2`, `.5.5`), and the two flags of an arc
        # are one digit each, often run together with what follows.
        values: list[float] = []
        for number in range(_FIGURES[kind]):
            if number:
                at = _skip(_GAP, text, at)
            found = (_FLAG if kind == "a" and number in (3, 4) else _NUMBER).match(text, at)
            if found is None:
                raise _unread(text, at)
            values.append(float(found.group()))
            at = found.end()
        ox, oy = pen.at if command.islower() else (0.0, 0.0)
        if kind == "a":
            end = (ox + values[5], oy + values[6])
            pen.arc((values[0], values[1]), values[2], values[3] == 1.0, values[4] == 1.0, end)
        elif kind == "h":
            pen.line((ox + values[0], pen.at[1]))
        elif kind == "v":
            pen.line((pen.at[0], oy + values[0]))
        elif kind == "z":
            pen.close()
        else:
            # A smooth curve mirrors the last control only behind a curve of its own sort; else it starts flat.
            spots = [(ox + x, oy + y) for x, y in zip(values[::2], values[1::2], strict=True)]
            control = _draw(pen, kind, spots, control if last in {"s": "cs", "t": "qt"}.get(kind, "") else pen.at)
        last = kind
        at = _skip(_SPACE if kind in "z" else _GAP, text, at)
    pen.lift()


def _draw(pen: PathPen, kind: str, spots: list[Spot], control: Spot) -> Spot:
    """A command whose figures are places; its last control comes back, which a smooth curve after it mirrors."""
    # About the end of the curve before, so that the two meet without a corner.
    mirrored = (2 * pen.at[0] - control[0], 2 * pen.at[1] - control[1])
    match kind:
        case "m":
            pen.move(spots[0])
        case "l":
            pen.line(spots[0])
        case "c":
            pen.cubic(*spots)
            return spots[1]
        case "s":
            pen.cubic(mirrored, *spots)
            return spots[0]
        case "q":
            pen.quadratic(*spots)
            return spots[0]
        case "t":
            pen.quadratic(mirrored, spots[0])
            return mirrored
    return pen.at


def _skip(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return at if found is None else found.end()


def _unread(text: str, at: int) -> ValueError:
    return ValueError(f"the path cannot be read at its sign {at + 1}, {shown(text[at : at + 20])}")
