"""Outlines in drawings of the user's own: the lines and arcs of a DXF or SVG file, as plain numbers.

A *stroke* is a run of `(x, y, bulge)` vertices in millimetres, y up, as the file has it; the bulge, tan of a quarter of
the angle turned through, belongs to the edge that starts there. Lines, arcs and circles stay what they are. Splines and
ellipses are cut into chords no farther than `CHORD` from the curve.

`drawing_reader.read_drawing` reads one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final, Literal

from msgspec import Struct, field

from platekit.errors import PlatekitError
from platekit.spec.user_file import first_bytes
from platekit.units import INCH

CHORD: Final = 0.0005
"""Farthest that a chord lies from the curve it stands for, mm (ours)."""
MAX_BYTES: Final = 5_000_000
"""Largest drawing that is read (a stated limit, ours)."""
MAX_MODEL_BYTES: Final = 40_000_000
"""Largest model that is read (a stated limit, ours)."""
MAX_VERTICES: Final = 20_000
"""Most vertices of an outline (a stated limit, ours)."""
MAX_DEPTH: Final = 20
"""How deep blocks and groups may be nested (ours)."""
MAX_PARTS: Final = 20_000
"""Most parts that come out of blocks, or elements of an SVG file (ours); blocks within blocks multiply."""
MAX_REACH: Final = 100_000.0
"""Farthest from the drawing's zero, mm: the longest length that a spec takes (ours)."""
MOST_REMARKS: Final = 4
"""Kinds of things left out that are told one by one (ours)."""

Unit = Literal["mm", "cm", "in", "px", "own"]
MILLIMETRES: Final[dict[str, float]] = {"mm": 1.0, "cm": 10.0, "in": INCH, "px": INCH / 96}
"""What one unit of a drawing is, mm (P: CSS Values and Units 3 has 96 px to the inch)."""

Vertex = tuple[float, float, float]


class Stroke(Struct, frozen=True):
    """A run of vertices; `closed` when its last one leads back to the first."""

    vertices: tuple[Vertex, ...]
    closed: bool


class Said(Struct, frozen=True):
    """What a drawing says one of its units is: in mm, in words, and whether a spec has a word for it."""

    mm: float
    words: str
    known: str | None = None


class DrawnFile(Struct, frozen=True):
    """The strokes of a drawing, mm, and what someone who relies on them must know."""

    strokes: tuple[Stroke, ...]
    remarks: tuple[str, ...] = ()
    unit_silent: bool = False


class DrawingError(PlatekitError):
    """A drawing that cannot be used; `found` and `wanted` are the halves of its sentence, `key` where to mend it."""

    def __init__(self, found: str, wanted: str, key: str = "file") -> None:
        super().__init__(f"found {found}; {wanted}")
        self.found = found
        self.wanted = wanted
        self.key = key


class Sheet(Struct):
    """What is gathered while a drawing is read: strokes in its own unit, what was left out, what it says."""

    name: str
    unit: Unit
    layer: str | None
    strokes: list[Stroke] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    remarks: list[str] = field(default_factory=list)
    said: Said | None = None
    count: int = 0

    @property
    def scale(self) -> float:
        """Length of one unit of the drawing in mm, as the spec has it."""
        if self.unit != "own":
            return MILLIMETRES[self.unit]
        if self.said is None:
            found = f"units: own for {self.name}, which does not say its unit"
            raise DrawingError(found, "write the unit, such as `units: mm`", "units")
        return self.said.mm

    @property
    def chord(self) -> float:
        """Farthest that a chord may lie from its curve, in units of the drawing; a unit is `scale` mm."""
        return CHORD / self.scale

    def add(self, stroke: Stroke) -> None:
        """Keep a stroke; refuses too many points, figures that are none, and what lies beyond any plate."""
        # A move without a line draws nothing: many programs leave some behind.
        if len(stroke.vertices) < 2:
            return
        self.count += len(stroke.vertices)
        if self.count > MAX_VERTICES:
            raise self.too_many()
        self.check(*(value for vertex in stroke.vertices for value in vertex))
        self.check_reach(max(max(abs(x), abs(y)) for x, y, _ in stroke.vertices))
        self.strokes.append(stroke)

    def too_many(self) -> DrawingError:
        """More points than an outline may have."""
        return DrawingError(f"more than {MAX_VERTICES} points in {self.name}", "simplify it, or name one `layer`")

    def check(self, *values: float) -> None:
        """Refuse what is no number."""
        if not all(map(math.isfinite, values)):
            raise DrawingError(f"a coordinate in {self.name} that is no number", "save the drawing again")

    def check_reach(self, reach: float) -> None:
        """Refuse a point, so many units from zero, that no plate reaches."""
        if reach * self.scale > MAX_REACH:
            found = f"a point in {self.name} that is {reach * self.scale / 1000:.4g} m from its zero"
            raise DrawingError(found, f"at most {MAX_REACH / 1000:g} m will do; check `units`, or move the outline")

    def steps(self, least: float) -> int:
        """Chords of one curve, at least so many."""
        if not least <= MAX_VERTICES:
            found = f"a curve in {self.name} that is too large for its unit"
            raise DrawingError(found, "check `units`, or simplify it")
        return max(math.ceil(least), 1)

    @property
    def size(self) -> float:
        """The longer side of all that is drawn, in its units; one is `scale` mm."""
        # By the vertices alone: enough to tell metres from millimetres, which is all that it is asked for.
        xs = [x for stroke in self.strokes for x, _, _ in stroke.vertices]
        ys = [y for stroke in self.strokes for _, y, _ in stroke.vertices]
        return max(max(xs) - min(xs), max(ys) - min(ys))

    def told(self) -> Iterator[str]:
        """What was left out, in words."""
        for what, count in self.left_out.most_common(MOST_REMARKS):
            yield f"{count} {what}"
        rest = len(self.left_out) - MOST_REMARKS
        if rest > 0:
            yield f"and {rest} kinds more"


def drawing_bytes(path: Path, most: int = MAX_BYTES, kind: str = "drawing") -> bytes:
    """What is in the file; `DrawingError` if it is missing, no file, or has more than `most` bytes."""
    try:
        if path.is_dir():
            raise DrawingError(f"{path.name}, which is a folder", "name the file in it")
        # Asked before reading, for the better sentence; a pipe says 0 and is caught by what comes out of it.
        if path.stat().st_size > most:
            size = f"{path.stat().st_size / 1e6:.1f} MB in {path.name}"
            less = "save the outline alone" if kind == "drawing" else "save it without threads, windings and screws"
            raise DrawingError(size, f"a {kind} is at most {most // 1_000_000} MB; {less}")
        data = first_bytes(path, most + 1)
    except FileNotFoundError:
        raise DrawingError(f"no file {path}", "its path counts from the folder of the spec") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a file's"
        raise DrawingError(f"{path.name}, which cannot be read ({reason})", "check the file and your rights") from None
    if len(data) > most:
        raise DrawingError(f"{path.name}, which never ends", "name a file")
    return data
