"""What the tables give: frozen values, every length in millimetres, each with its source.

Source          who says so, and how far that can be trusted
Limits          lower and upper deviation from a nominal size, and how the standard writes them
StandardMount   one face, flange or foot pattern with its pilot, shaft and bodies
StandardBody    space that a standard part takes up
Screw           one thread size with heads, nuts, washers, holes and drills
Drill, Thread, Torque, PropertyClass, Engagement, Material
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["published", "common practice", "from memory"]
KINDS: tuple[Kind, ...] = ("published", "common practice", "from memory")

Shape = tuple[Literal["circle"], float] | tuple[Literal["rectangle"], float, float]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from.

    `name` is the standard, handbook or practice; `kind` tells how it stands behind the figure; `doubted` names the
    columns of the row that were written from memory although the row as a whole has a better source.
    """

    name: str
    kind: Kind
    doubted: tuple[str, ...] = ()

    def __str__(self) -> str:
        doubts = f"; from memory: {', '.join(self.doubted)}" if self.doubted else ""
        return f"{self.name} ({self.kind}{doubts})"


@dataclass(frozen=True, slots=True)
class Limits:
    """Deviations in mm from the nominal size, and the way the standard writes them ("j6", "+0.000/-0.003 in")."""

    lower: float
    upper: float
    text: str


@dataclass(frozen=True, slots=True)
class StandardBody:
    """Space that a standard part takes up, in the frame of its mount (mm).

    `shape` is ("circle", diameter) or ("rectangle", width along x, height along y), centred on `at`. `span` is measured
    from the mating face: positive into the part's own side, negative towards and through the plate.
    """

    name: str
    shape: Shape
    at: Point
    span: tuple[float, float]
    source: Source


@dataclass(frozen=True, slots=True)
class StandardMount:
    """One standard face, flange or foot pattern, all lengths in mm.

    Frame: looking straight at the part's mating face. Faces and flanges: origin on the shaft's axis, x right, y up.
    Feet: origin in the middle of the rectangle of foot holes, y towards the shaft end, x across; the shaft end's foot
    point is `shaft_end_mm` and its axis lies `shaft_height` above the foot plane.

    `hole` is a plain through hole in the part, `screw` the thread tapped in the part: a mount has one of them, or neither where
    the standard leaves it open. `turn_order` is how many ways round the hole pattern fits.
    """

    designation: str
    family: str
    source: Source
    holes: int
    points: tuple[Point, ...]
    turn_order: int
    aliases: tuple[str, ...] = ()
    bolt_circle: float | None = None
    width: float | None = None
    height: float | None = None
    pilot: float | None = None
    pilot_depth: float | None = None
    pilot_kind: Literal["spigot", "recess"] | None = None
    pilot_tolerance: Limits | None = None
    face: float | None = None
    face_shape: Literal["round", "square"] = "round"
    hole: float | None = None
    screw: str | None = None
    thread_depth: float | None = None
    shaft: float | None = None
    shaft_length: float | None = None
    shaft_tolerance: Limits | None = None
    key: str | None = None
    shaft_height: float | None = None
    shaft_end_mm: Point | None = None
    bodies: tuple[StandardBody, ...] = ()
    editions: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())
