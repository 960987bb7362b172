"""What the tables give: frozen values, every length in millimetres, each with its source.

Source          who says so, and how far that can be trusted
Limits          lower and upper deviation from a nominal size, and how the standard writes them
StandardMount   one face, flange or foot pattern with its pilot, shaft and bodies
StandardBody    space that a standard part takes up
Screw           one thread size with heads, nuts, washers, holes and drills
Drill, Thread, Torque, PropertyClass, Engagement, Material
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

Kind = Literal["published", "common practice", "from memory", "given"]
KINDS: tuple[Kind, ...] = ("published", "common practice", "from memory")

Shape = tuple[Literal["circle"], float] | tuple[Literal["rectangle"], float, float]
Point = tuple[float, float]


class Source(Struct, frozen=True):
    """Where a figure comes from.

    `name` is the standard, handbook or practice; `kind` tells how it stands behind the figure ("given" only
    for figures that a user gave, never in a table); `doubted` names the columns of the row that were written
    from memory although the row as a whole has a better source.
    """

    name: str
    kind: Kind
    doubted: tuple[str, ...] = ()

    def __str__(self) -> str:
        if not self.doubted:
            return f"{self.name} ({self.kind})"
        columns = (column.removesuffix("_mm").removesuffix("_in").replace("_", " ") for column in self.doubted)
        return f"{self.name} ({self.kind}; from memory: {', '.join(columns)})"


class LimitDeviations(Struct, frozen=True):
    """Deviations in mm from the nominal size, and how the standard writes them ("j6", "+0.000/-0.003 in")."""

    lower: float
    upper: float
    text: str


class StandardBody(Struct, frozen=True):
    """Space that a standard part takes up, in the frame of its mount (mm).

    `shape` is ("circle", diameter) or ("rectangle", width along x, height along y), centred on `at`. `span`
    is measured from the mating face: positive into the part's own side, negative towards and through the
    plate.
    """

    name: str
    shape: Shape
    at: Point
    span: tuple[float, float]
    source: Source


class StandardMount(Struct, frozen=True):
    """One standard face, flange or foot pattern, all lengths in mm.

    Frame: looking straight at the part's mating face. Faces and flanges: origin on the shaft's axis, x right,
    y up. Feet: origin in the middle of the rectangle of foot holes, x across, y towards the shaft end; the
    point of the foot plane below the shaft's end is `shaft_end_mm`, the axis lies `shaft_height` above that
    plane.

    `hole` is a plain through hole in the part, `screw` the thread tapped in it: a mount has one of them, or
    neither where the standard leaves it open. `turn_order` is how many ways round the hole pattern fits. The
    pilot is not among the `bodies`; `pilot_depth_least` is how low it may be where the standard says so. With
    `screws_inside_pilot` the screws' own face, which the pilot bounds, is the mating face.
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
    pilot_depth_is: Literal["nominal", "minimum", "maximum"] = "nominal"
    pilot_depth_least: float | None = None
    pilot_kind: Literal["spigot", "recess"] | None = None
    pilot_tolerance: LimitDeviations | None = None
    face: float | None = None
    face_shape: Literal["round", "square"] = "round"
    hole: float | None = None
    screw: str | None = None
    thread_depth: float | None = None
    shaft: float | None = None
    shaft_length: float | None = None
    shaft_tolerance: LimitDeviations | None = None
    key: str | None = None
    shaft_height: float | None = None
    shaft_end_mm: Point | None = None
    bodies: tuple[StandardBody, ...] = ()
    editions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def screws_inside_pilot(self) -> bool:
        """Whether the pilot is larger than the bolt circle: a through hole for it would cut the screws away."""
        return self.pilot is not None and self.bolt_circle is not None and self.pilot > self.bolt_circle


class Drill(Struct, frozen=True):
    """One stock drill; `name` as it is sold: "6.8 mm", "13/32", "#7", "F"."""

    name: str
    diameter: float
    system: Literal["metric", "fraction", "number", "letter"]
    source: Source


class TapDrill(Struct, frozen=True):
    """The drill for a thread and the share of full thread height that it leaves, in percent."""

    thread: str
    drill: Drill
    thread_percent: float
    source: Source


class Screw(Struct, frozen=True):
    """One thread size with all that is sold for it, lengths in mm, area in mm2; None where no standard lists it.

    `clearance` holds the holes `close`, `normal` and `loose`. `sources` tells for each group of figures
    (thread, clearance, tap drill, hex head, socket head, countersunk head, nut, washer, large washer, wrench,
    lengths) where it comes from.
    """

    size: str
    system: Literal["metric", "inch"]
    series: str
    diameter: float
    pitch: float
    stress_area: float
    tap_drill: float
    tap_drill_name: str
    thread_percent: float
    clearance: Mapping[str, float]
    fine_pitches: tuple[str, ...] = ()
    hex_across_flats: float | None = None
    hex_across_corners: float | None = None
    hex_head_height: float | None = None
    wrench_outer: float | None = None
    socket_head_diameter: float | None = None
    socket_head_height: float | None = None
    countersunk_head_diameter: float | None = None
    countersunk_head_height: float | None = None
    countersunk_angle_deg: float | None = None
    nut_across_flats: float | None = None
    nut_across_corners: float | None = None
    nut_height: float | None = None
    nut_wrench_outer: float | None = None
    washer_hole: float | None = None
    washer_outer: float | None = None
    washer_thickness: float | None = None
    large_washer_hole: float | None = None
    large_washer_outer: float | None = None
    large_washer_thickness: float | None = None
    stock_lengths: tuple[float, ...] = ()
    sources: tuple[tuple[str, Source], ...] = ()

    def __hash__(self) -> int:
        return hash((self.system, self.size))

    def source_of(self, group: str) -> Source | None:
        """Where a group of figures comes from; None when there are none for this size."""
        return dict(self.sources).get(group)


class PropertyClass(Struct, frozen=True):
    """Strength of a screw's steel in N/mm2 for the diameter asked for."""

    name: str
    proof_strength: float
    yield_strength: float
    tensile_strength: float
    source: Source


class Engagement(Struct, frozen=True):
    """How deep a screw should reach into a thread in this material, in diameters of the screw."""

    material: str
    diameters: float
    source: Source


class Torque(Struct, frozen=True):
    """Tightening torque in N m with the preload in N it gives, and the friction it takes for granted."""

    size: str
    property_class: str
    friction: float
    torque: float
    preload: float
    said: str
    source: Source


class Material(Struct, frozen=True):
    """A material: density in kg/m3, modulus and yield strength in N/mm2."""

    name: str
    density: float
    modulus: float
    yield_strength: float
    poisson: float | None
    aliases: tuple[str, ...]
    source: Source
    family: str | None = None
    """What it is to a cutting process, as `process_materials.csv` names it; None where nobody said."""
