"""What a laid-out plate consists of: values only, everything in the plate frame, frozen.

Vocabulary
    plate frame   x right, y up, looking at the near side; near face at z = 0, far face at z = -thickness
    opening       one closed shape that is taken out of the plate (hole, slot, pilot, cutout, relief)
    mount         something the plate bolts to, with its pose, travel and openings
    body          space that something takes up: a flat shape times a z range; `swept` is that shape over the travel;
                  `pieces` where it is no prism
    screw stack   the screws of one mount: what is clamped, how long they are, how deep they hold
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache, wraps
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from msgspec import Struct

from platekit.choices import MarkKind, Process
from platekit.choices import Side as Side
from platekit.geometry import (
    ACROSS,
    Edge,
    Line,
    Loop,
    Plane,
    Point,
    Pose,
    Shape,
    Solid,
    Spatial,
    Travel,
    Upright,
    polygon_loop,
)
from platekit.laying.bends import bend_length
from platekit.once import once
from platekit.spec import Spec
from platekit.spec.mass_words import Mounting, RibWords, Support
from platekit.spec.models import (
    Acceptance,
    BodyWords,
    CuttingWords,
    MountWords,
    Need,
    Paper,
    PaperSize,
    ScribedWord,
)
from platekit.tables import Material, Source, StandardMount

if TYPE_CHECKING:
    from platekit.drive import DriveRequest, DriveResult, Motor
    from platekit.geometry.kernel import Placed
    from platekit.survey.result import Survey

Role = Literal["screw", "pilot", "cutout", "relief", "pivot", "fixing", "dowel"]
PartKind = Literal["given", "standard", "spigot", "pulley", "belt", "guard"]
ScrewKind = Literal["head", "washer", "nut", "tip", "shank", "spacer"]
TakeUpKind = Literal["slots", "swing", "rails", "hinge"]
ToolKind = Literal["socket", "spanner"]
FlatKind = Literal["back", "cover", "band", "ear", "joint", "rib", "lug", "layer"]
GuardHole = Literal["ear", "cover screw", "vent", "lap", "rivet"]
PatternKind = Literal["standard", "circle", "rectangle", "points", "measured"]
BodyKind = PartKind | ScrewKind | ToolKind

SAME_LENGTH = 1e-6
"""Two lengths that differ by less are the same, mm (ours): inches and turned frames round differently, and a nanometre
is beyond anything in a shop."""
HARDWARE: frozenset[BodyKind] = frozenset({"head", "washer", "nut", "tip", "shank", "spacer"})
"""Bodies that belong to one screw rather than to a part."""


class Value(Struct, frozen=True):
    """A number in use and where it comes from: the spec, a table row, common practice."""

    value: float
    source: str


class Position(Struct, frozen=True):
    """Where on its travel a mount stands: `at` in mm, or degrees of a swing; above 0 towards tension."""

    mount: str
    at: float
    unit: Literal["mm", "deg"] = "mm"


class PlateLimits(Struct, frozen=True):
    """The limits that hold for this plate, in mm, each with its origin."""

    smallest_hole: Value
    web: Value
    edge: Value | None
    """From the spec; None: `EDGE_IN_DIAMETERS` of the hole in question."""
    inside_radius: Value
    gap: Value
    kerf: Value
    pilot_clearance: Value
    fit_warn: float | None = None
    fit_stop: float | None = None
    """From the spec: odds of fit below which a mount is warned of, or stopped; None: the usual ones."""


class Movable(Struct, frozen=True):
    """What one figure of the spec places: a mount, a cutout, a body or an idler on the plate.

    `field` is that figure's place in the spec, `at` what it says, as a point of the plate frame (mm).
    """

    kind: Literal["mount", "body", "cutout", "idler"]
    name: str
    field: str
    at: Point


class Opening(Struct, frozen=True):
    """One opening in the plate.

    `shape` is net and covers the travel; `center` is the nominal middle, `size` its diameter or slot width (mm; 0 for a
    cutout that is neither). `depth` is given for an opening that does not go through. `field` is where it
    stands in the spec. `label` is what a mount calls its hole (`motor.3`: `3`). `merged` are the openings that became
    one in it. `placed` is the figure that it alone is placed by; None where it goes with something else. `of_guard` is
    what it is in a part of the guard.
    """

    name: str
    role: Role
    shape: Shape
    center: Point
    size: float
    field: str
    mount: str | None = None
    thread: str | None = None
    depth: float | None = None
    side: Side | None = None
    for_body: str | None = None
    merged: tuple[str, ...] = ()
    label: str | None = None
    placed: Movable | None = None
    of_guard: GuardHole | None = None
    fit: str | None = None
    """Of a dowel's hole: the zone that it is made to, where that is not H7."""

    @property
    def through(self) -> bool:
        """Whether it goes right through the plate."""
        return self.depth is None


MEANT_IN_LINE = math.radians(10)
"""Two shafts at a larger angle than this are not joined by any shaft coupling; beyond it a joint is meant (ours)."""
GROUND = frozenset(
    {"floor", "ground", "bed", "bedplate", "leg", "legs", "foundation", "concrete", "slab", "pit", "wall", "walls"}
    | {"ceiling", "bench", "pillar", "pillars", "post", "posts", "column", "columns", "beam", "beams", "girder"}
)
"""Words in the name of a body on the plate that say that it is what the machine stands on or beside (ours)."""


class Body(Struct, frozen=True, dict=True, cache_hash=True):
    """Space that something takes up, in the plate frame.

    `z` is (low, high) in mm; `shape` is where it is at nominal, `swept` all that it covers over its carrier's travel.
    A body that is no prism has `pieces` at nominal, which it consists of; `shape` and `z` then bound them. `covers` is
    what it covers over all travels where it is not carried along as a whole, as a belt's run. `standard` is the part of
    the tables that the spec names for it. `needs` is the room that the spec says it wants free, and `removable` whether
    it comes off when a belt is put on. `belt` is the belt that it runs with, as its pulley or one of its runs, and
    `pulley` the pulley that it is the rim or the hub of. `placed` is the figure that it alone is placed by.
    `measured` says that it is a shaft that was measured with its part's holes, `turns` whether the spec says that it
    turns while the machine runs (None: it does not say).
    `of_screw` is what it is of a guard's screw, `of_guard` what of a guard has an edit of its own: its back plate, or
    the screws that hold it or its cover.
    """

    name: str
    kind: BodyKind
    carrier: str
    side: Side
    shape: Shape
    swept: Shape
    z: tuple[float, float]
    gap: float
    relief: bool
    field: str
    travel: Travel | None = None
    touches: frozenset[str] = frozenset()
    screw: str | None = None
    of_screw: Literal["head", "nut", "tip", "spacer"] | None = None
    pieces: tuple[Solid, ...] = ()
    covers: tuple[Solid, ...] = ()
    standard: str | None = None
    needs: Need | None = None
    removable: bool = False
    belt: str | None = None
    pulley: str | None = None
    placed: Movable | None = None
    of_guard: Literal["back", "screw", "cover screw"] | None = None
    measured: bool = False
    turns: bool | None = None
    solid_model: Placed | None = None
    """The maker's model that its pieces hold, at nominal; None for any other body."""

    @once
    def solids(self) -> tuple[Solid, ...]:
        """What it consists of at nominal (plate frame, mm)."""
        return self.pieces or (Upright(self.shape, *self.z),)

    @once
    def swept_solids(self) -> tuple[Solid, ...]:
        """What it covers over its carrier's travel (mm)."""
        if self.covers:
            return self.covers
        if not self.pieces:
            return (Upright(self.swept, *self.z),)
        return tuple(piece.swept(self.travel) for piece in self.pieces)

    def covered(self, low: float, high: float) -> tuple[Shape, ...]:
        """What it covers between two heights over its carrier's travel, seen along the normal (mm)."""
        # Between heights that do not meet there is nothing; else what is widest there, on the safe side for cones and
        # cylinders.
        parts = [(max(low, solid.low), min(high, solid.high), solid) for solid in self.swept_solids]
        return tuple(_widest(solid, start, end) for start, end, solid in parts if start < end)

    @property
    def is_ground(self) -> bool:
        """Whether it is, by its name, part of the room that the machine stands in: it was there before, and stays."""
        return self.carrier == "plate" and not GROUND.isdisjoint(self.name.lower().replace("-", " ").split())

    @property
    def hardware(self) -> bool:
        """Whether it belongs to one screw."""
        return self.kind in HARDWARE


class Spacer(Struct, frozen=True):
    """What the spacers of one mount are cut from: a piece of tube, or of bar with a hole, round each screw; mm.

    All are `length` long, which may be off by `plus_minus` as long as they are alike. `bears` (mm2) is where each
    presses on the plate, `preload` (N) what its screw presses with (0: not known), `yields` (N/mm2) the yield strength
    of the weaker of plate and spacer. `screw` is the diameter of its screw, `source` where the sizes come from.
    """

    made: Literal["tube", "bar"]
    outside: float
    bore: float
    length: float
    plus_minus: float
    count: int
    material: Material
    bears: float
    preload: float
    yields: float
    screw: float
    source: str
    field: str

    @property
    def pressure(self) -> float:
        """What its face presses with, N/mm2; infinite where it bears on nothing."""
        return 0.0 if not self.preload else self.preload / self.bears if self.bears > 0 else math.inf


class ScrewStack(Struct, frozen=True):
    """The screws of one mount, or the studs that stay in it with nuts on them: all lengths in mm.

    `grip` is what is clamped between head and thread, washers included. `length` is the screw's length under the head
    (over all for a countersunk head), None when no stock length would do. `engagement` is what is in the thread then,
    `needed` what should be, `available` how deep the thread goes (None: not known). Of studs `length` is how far they
    stand out of the part, `head_side` and `head_height` are those of the nuts.
    """

    mount: str
    size: str
    count: int
    head: Literal["hex", "socket", "countersunk"]
    into: Literal["part", "plate", "nut", "stud"]
    washers: int
    grip: float
    length: float | None
    given: bool
    engagement: float
    needed: float
    needed_source: str
    available: float | None
    stock_lengths: tuple[float, ...]
    head_side: Side
    head_height: float
    washer_outer: float
    field: str
    let_in: float = 0.0
    """How deep the head is let into the plate, mm; 0 where it stands on it."""
    flange: float = 0.0
    """Thickness of the part's flange or foot that the screw passes through, mm; 0 where the part holds the thread."""
    thread_in: str | None = None
    """What the part's thread is cut in, as the spec says it."""
    made: Literal["auto", "cut", "drill"] = "auto"
    """How the spec wants its round holes made."""
    open_thread: bool = False
    """Whether a screw may stand out at the other end of its thread: that of the plate itself, or of a layer."""
    spacer: Spacer | None = None
    """What its spacers are cut from; None where there are none, or they are packed of plate and shims."""
    held_in: str = ""
    """What its thread is counted as being cut in, in a part or the plate; of a standard part that does not say it
    aluminium, the weaker of the two that they come in."""


class CarriedMass(Struct, frozen=True):
    """What a part and all that moves with it weighs, least and most (kg), its middle and the block it fills (mm).

    `centre` is x and y in the part's own frame and the height out of its mating face; `size` is None where the spec
    leaves it to the extent of the part's bodies. What turns in it weighs `turning` kg (None: not said), balanced to
    the grade `balance` of ISO 21940-11, mm/s (None: not said). `by_frame` says that a table of frames told the mass.
    """

    least: float
    most: float
    centre: tuple[float, float, float]
    size: tuple[float, float, float] | None
    turning: float | None = None
    balance: float | None = None
    by_frame: bool = False


LugMade = Literal["welded", "bolted", "bent"]
"""How the lug of a jacking screw is made."""


class LugAngle(Struct, frozen=True):
    """What a lug is that two screws hold on the plate, lengths in mm.

    `foot` is how long its leg on the plate is, from the outside of the upright one; `root` the radius between them
    inside, `row` how far behind the outside of the upright leg its screws are, `apart` how far from each other.
    `k_factor` (None: rolled, not bent) places the neutral fibre of its bend, `k_source` says whence. `mount` is the
    mount that it is on the plate, `stock` what angle it is sawn off, where the list of stock told that.
    """

    made: Literal["bolted", "bent"]
    mount: str
    foot: float
    root: float
    row: float
    apart: float
    k_factor: float | None
    k_source: str
    stock: str


class JackingScrew(Struct, frozen=True):
    """The screw that pushes a part along its travel to tighten the belt, where it goes; lengths in mm.

    It turns in a lug, a piece of flat bar welded on edge to the plate or an `angle`, and is locked there by a nut.
    `tip` (plate frame) is where it bears on the part at nominal, `direction` (mm per mm) where it pushes, `z` the
    height of its axis in the plate frame and `above` that over the plate's face. `thread` is how much of it, from the
    tip, has to be threaded for the whole travel. `lug` is (along the screw, across it, above the plate), `leg` that of
    the weld round its foot, `set_back` how far the lug's face is behind the tip at nominal.
    """

    size: str
    length: float
    thread: float
    tip: Point
    direction: Point
    z: float
    above: float
    head: float
    flats: float
    corners: float
    nut: float
    lug: tuple[float, float, float]
    leg: float
    set_back: float
    field: str
    angle: LugAngle | None = None
    """What its lug is where that is not welded on."""

    def back(self, by: float) -> Point:
        """The point of its axis so far behind its tip at nominal, mm."""
        return (self.tip[0] - by * self.direction[0], self.tip[1] - by * self.direction[1])

    @property
    def made(self) -> LugMade:
        """How its lug is made."""
        return "welded" if self.angle is None else self.angle.made

    @property
    def locked(self) -> tuple[float, float]:
        """Where its lock nut is, against the lug: (from, to) behind the tip at nominal, mm."""
        start = self.set_back + self.lug[0]
        return (start, start + self.nut)


class Dowels(Struct, frozen=True):
    """The dowel pins of a layer: diameter, how many, and their length (None: none in stock fits), mm.

    `lengths` are those that the size is sold in; none for a size that is no pin's.
    """

    size: float
    count: int
    length: float | None
    lengths: tuple[float, ...]
    source: str


class PartDowels(Struct, frozen=True):
    """The dowel pins between the plate and a part: diameter, `depth` of the part's holes, and length, mm.

    `length` is None where the depth is not known or none in stock fits, `lengths` are those that the size is sold in.
    `measured` are the diameters of the part's own holes by the names of the plate's. `springs_to` is the least that a
    spring pin opens to. `together` says that the part has no such holes yet.
    """

    size: float
    pin: Literal["parallel", "spring"]
    names: tuple[str, ...]
    depth: float | None
    length: float | None
    lengths: tuple[float, ...]
    springs_to: float | None
    measured: tuple[tuple[str, float], ...]
    together: bool
    source: str
    field: str


class Layer(Struct, frozen=True):
    """A flat plate of its own on the plate: thickness in mm, material; `part` is what its files call it."""

    thickness: float
    material: Material
    part: str
    dowels: Dowels | None = None


class PlacedMount(Struct, frozen=True):
    """A mount where it goes. `points` are its hole centres in the plate frame, `own_points` in its own.

    `labels` are what the part's holes are called by themselves, in the same order; `new_holes` are the `hole_names`
    that the spec says are not in the part yet. `hole_field` is where the spec says how wide the
    holes are, `hole_given` whether it does. `bolt_circle` (mm) and `rectangle` (width and height, mm) are those of the
    pattern or its standard. `pad` is the seat round each hole, its zero at the hole's centre, turned as it lies on the
    plate. `place_from` is the mount that its place is given from, `belt_angle` the direction (rad) from that mount's
    pulley where the belt places it. `survey` is there when the pattern was measured.
    """

    name: str
    side: Side
    pose: Pose
    own_points: tuple[Point, ...]
    points: tuple[Point, ...]
    hole: float
    standoff: float
    travel: Travel | None
    stack: ScrewStack | None
    standard: StandardMount | None
    pilot: float | None
    pilot_depth: float
    field: str
    labels: tuple[str, ...]
    new_holes: tuple[str, ...]
    original: bool
    """Whether the spec says of it that it stays as it was; see `Layout.originals`."""
    pattern: PatternKind
    hole_field: str
    hole_given: bool
    bolt_circle: float | None
    rectangle: tuple[float, float] | None
    pad: Shape | None
    pilot_opening: Literal["through", "recess", "layer", "none"] | None
    """What the spec wants made of its pilot; None where it gives none."""
    take_up: TakeUpKind | None
    """How the spec lets it travel, even where that comes to no travel at all."""
    place_from: str | None
    belt_angle: float | None
    mass: CarriedMass | None
    """What the spec says it weighs; None: it says nothing."""
    support: Support | None
    """What its seat is made of; None: not said, so that the strength is bounded from both ends."""
    survey: Survey | None = None
    jack: JackingScrew | None = None
    """The screw that pushes it to tighten the belt."""
    layer: Layer | None = None
    """What it is as a flat plate of its own on the plate; None for a part from elsewhere."""
    on: str | None = None
    """The layer that it stands on, by its mount's name; None: the plate."""
    heads_on: str | None = None
    """The layer on the other side that its heads stand on, by its mount's name; None: the plate."""
    lift: float = 0.0
    """How much of its standoff is the layer that it stands on, mm."""
    lug_of: str | None = None
    """The mount whose jacking screw turns in it; None for all that is no lug."""
    dowels: PartDowels | None = None
    """The dowel pins between it and the plate."""

    @property
    def spacing(self) -> float:
        """How far spacers hold it off what it stands on, the plate or a layer, mm."""
        return self.standoff - self.lift

    @property
    def hole_travel(self) -> Travel | None:
        """The travel of its screws in the plate; None where its part moves on a base that is bolted fast.

        In mm or rad.
        """
        return self.travel if self.take_up in ("slots", "swing") else None

    @property
    def hole_names(self) -> tuple[str, ...]:
        """The names of its screw holes among the openings, in the order of `points`."""
        return tuple(f"{self.name}.{label}" for label in self.labels)

    @property
    def placed(self) -> Movable:
        """The figure that places it, with all that it carries."""
        return Movable("mount", self.name, f"{self.field}.at", (self.pose.x, self.pose.y))


class Axis(Struct, frozen=True):
    """A shaft that a standard or the spec tells, as a line in the plate frame, mm.

    `point` is where it leaves its part, `direction` points from there to its end (square to the plate: into it), and
    `stretch` is (from, to) along that. `said` is what it is called.
    """

    point: Spatial
    direction: Spatial
    stretch: tuple[float, float]
    said: str

    @property
    def lies(self) -> bool:
        """Whether it lies along the plate."""
        return self.direction[2] == 0.0


class PlacedPulley(Struct, frozen=True):
    """A pulley or idler where it goes, at nominal, mm.

    `center`, `z` (its rim's low and high along the shafts) and `travel` are those of its belt's `drawn` plane, which
    for shafts square to the plate is the plate frame itself. `zero` and `sense` take a span of the spec there:
    z = zero + sense * span. `axis` is its shaft where that is told, `mount_travel` the travel of what carries it. `end`
    is which of its belt's pulleys it is: driver, driven, idler 1. `screw` is the size of the screw in the plate that an
    idler turns on.
    """

    name: str
    belt: str
    mount: str
    side: Side
    center: Point
    pitch_diameter: float
    largest_diameter: float
    z: tuple[float, float]
    travel: Travel | None
    field: str
    inside: bool = True
    drawn: Plane = ACROSS
    zero: float = 0.0
    sense: float = 1.0
    axis: Axis | None = None
    mount_travel: Travel | None = None
    end: str = ""
    screw: str | None = None

    @property
    def plane(self) -> float:
        """Where along the shafts the middle of its rim is, mm; z of the plate for shafts square to it."""
        return (self.z[0] + self.z[1]) / 2

    @property
    def at(self) -> Point:
        """The middle of its rim seen along the plate's normal, in the plate frame, mm."""
        return self.drawn.spot(self.center, self.plane)[:2] if self.drawn.lies else self.center

    @property
    def turns_on(self) -> Side:
        """The side of the plate that its rim is on.

        On a shaft through the plate that is behind the plate, whichever side its part is on.
        """
        if self.drawn.lies:
            return "near" if self.center[1] > 0 else "far"
        # a rim that is partly in the plate counts as on its part's own side, where it has its shaft
        if self.side == "near":
            return "near" if self.z[1] > 0 else "far"
        return "near" if self.z[0] >= 0 else "far"

    @property
    def span(self) -> tuple[float, float]:
        """Its rim as a span of the spec, mm: from its mount's mating face, positive into the part's own side."""
        ends = [self.sense * (end - self.zero) for end in self.z]
        return (min(ends), max(ends))


ASKEW = math.sin(math.radians(1))
"""Shafts farther than a degree out of parallel carry no belt: what else it would run into is no use to know (ours)."""


class PlacedBelt(Struct, frozen=True):
    """One belt over its pulleys where they go, and what was worked out about it.

    `line` is the direction from the driven shaft to the driver's (rad). `adjusted` names the mount whose travel
    tightens the belt, None when no mount of it travels.
    """

    name: str
    driver: PlacedPulley
    driven: PlacedPulley
    idlers: tuple[PlacedPulley, ...]
    request: DriveRequest
    result: DriveResult
    line: float
    adjusted: str | None
    field: str

    @property
    def pulleys(self) -> tuple[PlacedPulley, ...]:
        """Driven pulley, idlers in the order of the belt, driver."""
        return (self.driven, *self.idlers, self.driver)

    @property
    def impossible(self) -> bool:
        """Whether its shafts cannot carry it, so that its pulleys and runs are not where they were laid out.

        It was laid out as if they stood square to the plate, or over shafts that are degrees out of parallel.
        """
        if not self.drawn.lies:
            return any(p.axis is not None and p.axis.lies for p in self.pulleys)
        ends = [p.axis.direction for p in (self.driver, self.driven) if p.axis is not None]
        return len(ends) == 2 and abs(ends[0][0] * ends[1][1] - ends[0][1] * ends[1][0]) > ASKEW

    @property
    def drawn(self) -> Plane:
        """The plane it runs in, square to its shafts."""
        return self.driver.drawn


class TwistedPulley(Struct, frozen=True):
    """A pulley of a twisted belt: the middle of its rim and its shaft's direction (plate frame), its pitch radius, mm.

    `sense` is 1 where its span counts the way that `way` points, else -1; `span` is that span, `seat` its field.
    """

    mount: str
    middle: Spatial
    way: Spatial
    radius: float
    span: tuple[float, float]
    sense: float
    seat: str


class Twisted(Struct, frozen=True):
    """A belt that is meant to be twisted, of which nothing is worked out: between which mounts, and its shafts' angle.

    `angle` is in rad, more than 0 and up to a quarter turn. `pulleys` are the driver's and the driven one, None where
    nothing tells where one of them sits in space.
    """

    name: str
    driver: str
    driven: str
    angle: float
    field: str
    section: str = ""
    pulleys: tuple[TwistedPulley, TwistedPulley] | None = None


class CoupledShaft(Struct, frozen=True):
    """One of the two shafts that a coupling joins, plate frame, mm.

    `end` is where it ends inside the coupling, `direction` points out of that end, and `free` is how much of it there
    is behind the end, to where it leaves its part. `said` is what it is called; `diameter` is None where nothing tells.
    """

    mount: str
    end: Spatial
    direction: Spatial
    free: float
    said: str
    diameter: float | None

    def past(self, spot: Spatial) -> Spatial:
        """The point of its line that is nearest to a spot (plate frame, mm)."""
        on = sum((p - e) * d for p, e, d in zip(spot, self.end, self.direction, strict=True))
        x, y, z = (e + on * d for e, d in zip(self.end, self.direction, strict=True))
        return (x, y, z)


class PlacedCoupling(Struct, frozen=True):
    """A coupling between two shaft ends where they lie, mm and rad.

    `apart` is how far the second end is from the first along them (below zero: they overlap), `beside` the way from the
    first shaft to the second one where they meet, square to both, and `askew` the angle of the two lines (rad); it is
    up to a half turn, where the ends do not face each other. `gap` is what its maker wants between the ends, `offset`
    and `angle` what he lets them be out of line (None: not said). `torque_nm` and `speed_rpm` are the most that its
    motor brings, `rated_nm` and `max_rpm` what it is made for; `motor` and the range of its `inverter` (Hz) are those
    that the coupling's own words tell (None: they tell none). `guarded` is what covers it, in the spec's words. `stock`
    is its size in the tables and who says so, None for one that the spec tells whole; `largest_bore` is of its hubs.
    """

    name: str
    driving: CoupledShaft
    driven: CoupledShaft
    diameter: float
    length: float
    gap: tuple[float, float]
    apart: float
    beside: Spatial
    askew: float
    offset: float | None
    angle: float | None
    torque_nm: float | None
    speed_rpm: float | None
    rated_nm: float | None
    max_rpm: float | None
    service_factor: float | None
    motor_max_rpm: float | None
    motor: Motor | None
    inverter: tuple[float, float] | None
    guarded: str | None
    stock: tuple[str, Source] | None
    largest_bore: float | None
    field: str

    @property
    def body(self) -> str:
        """What its body is called."""
        return f"coupling.{self.name}"

    @property
    def shafts(self) -> tuple[CoupledShaft, CoupledShaft]:
        """The shaft that drives and the one that is driven."""
        return (self.driving, self.driven)

    @property
    def middle(self) -> Spatial:
        """Midway between the two shaft ends (plate frame, mm)."""
        (ax, ay, az), (bx, by, bz) = self.driving.end, self.driven.end
        return ((ax + bx) / 2, (ay + by) / 2, (az + bz) / 2)

    @property
    def lies(self) -> bool:
        """Whether its shafts lie along the plate."""
        return self.driving.direction[2] == 0.0

    @property
    def possible(self) -> bool:
        """Whether its two ends face each other at all, near enough in line for it to be laid out between them."""
        return self.askew <= MEANT_IN_LINE and math.hypot(*self.beside) <= self.diameter


Wall = Literal["back", "first end", "last end"]
"""What of a guard a foot is folded from: its back plate, or one of the two ends of its band at the plate."""


class Foot(Struct, frozen=True):
    """A foot of a guard that stands on the plate, folded out of its back plate or an end of its band to lie on that.

    `hole` is the middle of its hole and `root` the middle of its fold, on the hollow side of the sheet (plate frame,
    mm). `wall` is the sheet that it is folded from, `along` where on that, mm: of the back plate along the belt's
    plane, of the band across its width from the back plate.
    """

    hole: Point
    root: Point
    wall: Wall
    along: float


class Guard(Struct, frozen=True):
    """The guard over a belt, mm: its outline and z range between back plate and cover.

    All but `feet` is in the belt's own plane, `drawn`: the plate frame where the shafts stand square to the plate. Its
    z is along the shafts, and `outward` (1 or -1) the way along it from the back plate to the cover. `floor` is the
    height in a plane that stands on the plate at which the guard ends, open towards the plate: its band runs from one
    end of the outline's edge there to the other, and `feet` hold it. None where the band goes all round.

    `outline` is the hollow side of its band, `made` how that goes round: bent in flats, rolled, or flat segments;
    `bend_radius` is inside, `k_factor` places the neutral fibre and `k_source` says whence. `on` is what carries it,
    `back` whether it has a back plate (else the band begins `off_plate` from the plate's face). `shafts` are open in
    the back plate, and so are `sockets`: the screws by name that are tightened through each, and the opening. `seam` is
    (point, direction) of the line that parts the back plate in two halves, `stays` the pulleys for whose sake.
    `ears` are the holes of the tabs at the back (`ears_given`: at places of the spec; `tabs_wanted`: how
    many the spec wants there and at the cover), `notch` the width of the cut beside each, where it is folded, `root`
    the radius of the inside corners of lugs, `screw` the size of their screws
    and `length` their length (None: no listed screw passes so small a hole, no stock length would do);
    `cover_holes`, `cover_screw` and `cover_length` are those of the cover, `captive` whether they stay in it. `joints`
    are where on the outline the band's strips meet. `opening` is the shape, width and length of the openings in the
    cover, None for plain sheet; `vents` are those that found room, of `vents_wanted`. `belts` names the belts it is
    over: one, or both that run beside each other. `name` is what it and all of its parts are called by: guard, or
    second guard.
    """

    belts: tuple[str, ...]
    side: Side
    on: Literal["plate", "machine"]
    back: bool
    off_plate: float
    outline: Loop
    made: Literal["bent", "rolled", "segments"]
    bend_radius: float
    k_factor: float
    k_source: str
    gap: float
    thickness: float
    material: Material
    band_length: float
    band_width: float
    z: tuple[float, float]
    shafts: tuple[Shape, ...]
    sockets: tuple[tuple[tuple[str, ...], Shape], ...]
    seam: tuple[Point, Point] | None
    stays: tuple[str, ...]
    joints: tuple[Point, ...]
    ears: tuple[Point, ...]
    ears_given: bool
    tabs_wanted: tuple[int, int]
    ear: float
    notch: float
    root: float
    ear_hole: float
    screw: str | None
    length: float | None
    cover_holes: tuple[Point, ...]
    cover_hole: float
    cover_screw: str | None
    cover_length: float | None
    captive: bool
    opening: tuple[Literal["slot", "square", "round"], float, float | None] | None
    vents: tuple[Shape, ...]
    vents_wanted: int
    outward: float = 1.0
    drawn: Plane = ACROSS
    floor: float | None = None
    feet: tuple[Foot, ...] = ()
    name: str = "guard"
    ears_off: Loop | None = None
    """Where none of its ears goes, as another guard stands behind the plate there."""

    @property
    def field(self) -> str:
        """Where in the spec it is described."""
        return self.name.replace(" ", "_")

    @property
    def cover_name(self) -> str:
        """The item of its cover with its screws; the item of all else is its `name`."""
        return f"{self.name}.cover"

    @property
    def half_names(self) -> tuple[str, str]:
        """The items of its back plate in two halves."""
        return f"{self.name}.half 1", f"{self.name}.half 2"

    @property
    def fixed_at(self) -> tuple[Point, ...]:
        """The holes that hold it, in the plane of what they are in: its feet on the plate, else its ears, mm."""
        return tuple(foot.hole for foot in self.feet) if self.floor is not None else self.ears

    @property
    def strips(self) -> int:
        """How many strips its band is cut in; 0 where it is flat segments."""
        return 0 if self.made == "segments" else len(self.joints) + (self.floor is not None)


class CuttingOrder(Struct, frozen=True):
    """How the user wants the plate cut, in mm; None and empty where the spec leaves it open."""

    process: Process
    position: float | None
    drilling: float | None
    sheet: tuple[float, float] | None
    remnant: tuple[Point, ...] | None
    copies: int
    margin: float | None
    direction: Literal["clockwise", "counter-clockwise"] | None
    mark: MarkKind
    scribe: tuple[ScribedWord, ...]
    scribe_height: float

    @classmethod
    def of(cls, words: CuttingWords) -> CuttingOrder:
        """What the words of the spec ask for."""
        return cls(
            process=words.process,
            position=words.position,
            drilling=words.drilling,
            sheet=words.sheet,
            remnant=None if words.remnant is None else tuple(words.remnant),
            copies=words.copies,
            margin=words.margin,
            direction=words.direction,
            mark=words.mark,
            scribe=tuple(words.scribe),
            scribe_height=words.scribe_height,
        )


class MeasuredSheet(Struct, frozen=True):
    """The bars and diagonals of a print as measured, mm; `bars` are (across, along) as the sheet says, if told."""

    bottom: float
    top: float
    left: float
    right: float
    rising: float
    falling: float
    bars: tuple[float, float] | None


class PaperOrder(Struct, frozen=True):
    """The paper that the user wants. `size` is a usual size, `single`, or (width, height) in mm.

    `zero` is where the bench sheet counts from: a name, or a point of the plate. `said` is whether the spec speaks of
    paper at all.
    """

    size: str | tuple[float, float]
    seen_from: Side
    zero: str | Point | None
    printer: str | None
    measured: MeasuredSheet | None
    said: bool

    @classmethod
    def of(cls, words: Paper, said: bool) -> PaperOrder:
        """What the words of the spec ask for."""
        size, print_ = words.size, words.measured
        return cls(
            size=(size.width, size.height) if isinstance(size, PaperSize) else size,
            seen_from=words.seen_from,
            zero=words.zero,
            printer=words.printer,
            measured=None if print_ is None else MeasuredSheet(**print_.model_dump()),
            said=said,
        )


class PlacedRib(Struct, frozen=True):
    """A flat bar welded on edge to the plate, between the middles of its ends (plate frame, mm)."""

    name: str
    side: Side
    start: Point
    end: Point
    height: float
    width: float

    @classmethod
    def of(cls, name: str, words: RibWords) -> PlacedRib:
        """What the words of the spec give (mm)."""
        return cls(name, words.side, words.from_, words.to, words.height, words.width)

    @property
    def shape(self) -> Loop:
        """What of the face it covers (plate frame, mm)."""
        (ax, ay), (bx, by) = self.start, self.end
        length = math.dist(self.start, self.end)
        x, y = -(by - ay) / length * self.width / 2, (bx - ax) / length * self.width / 2
        return polygon_loop([(ax - x, ay - y), (bx - x, by - y), (bx + x, by + y), (ax + x, ay + y)])


class PlacedTab(Struct, frozen=True):
    """A tongue on the outline: the middle of its round end (plate frame), its width, how far it stands out; mm."""

    name: str
    at: Point
    width: float
    reach: float


class PlacedFeet(Struct, frozen=True):
    """What the plate stands on: a bed at `level` over its zero, feet with their `middles` along it (mm), so wide."""

    level: float
    middles: tuple[float, ...]
    width: float


class PlacedFlange(Struct, frozen=True):
    """A straight edge of the plate that is bent up, by a right angle; plate frame, mm.

    The bend begins along `start` to `end`, with the plate on the left; `flat` is all of the plate that stays flat, its
    notches beside the bend included. `height` is how far it stands off the face on its `side`, `radius` the bend's
    inside, `k` its K-factor, `die` the opening of the die that it is taken to be bent in.
    """

    edge: Literal["bottom", "top", "left", "right"]
    side: Side
    start: Point
    end: Point
    height: float
    radius: float
    thickness: float
    k: float
    die: float
    flat: Loop

    @property
    def length(self) -> float:
        """How long it is along the bend, mm."""
        return math.dist(self.start, self.end)

    @property
    def out(self) -> Point:
        """The unit direction out of the plate, square to the bend."""
        (ax, ay), (bx, by) = self.start, self.end
        return ((by - ay) / self.length, (ax - bx) / self.length)

    @property
    def allowance(self) -> float:
        """Flat sheet that the bend takes up, mm."""
        return bend_length(math.pi / 2, self.radius, self.thickness, self.k)

    @property
    def leg(self) -> float:
        """What is straight beyond the bend, mm."""
        return self.height - self.radius

    @property
    def blank(self) -> float:
        """How far the blank goes on beyond where the bend begins, mm."""
        return self.allowance + self.leg

    @property
    def bend_line(self) -> Line:
        """Where the punch comes down on the blank: half-way through the bend."""
        return self.on_blank(self.allowance / 2)

    def on_blank(self, beyond: float) -> Line:
        """The line along the bend so far beyond its begin on the blank, mm."""
        (ox, oy), (ax, ay), (bx, by) = self.out, self.start, self.end
        return Line((ax + beyond * ox, ay + beyond * oy), (bx + beyond * ox, by + beyond * oy))

    @property
    def profile_from_outside(self) -> tuple[Point, ...]:
        """Its section as (out from the begin of the bend, z), mm: outside of the bend, leg, tip, and back inside."""
        t, r, high = self.thickness, self.radius, self.height
        corners = ((0.0, -t), (r + t, r), (r + t, high), (r, high), (r, r), (0.0, 0.0))
        return corners if self.side == "near" else tuple((out, -t - z) for out, z in corners)

    @property
    def volume(self) -> float:
        """Volume of bend and leg as they are bent, mm3: by a section that keeps its thickness."""
        ring = math.pi / 4 * ((self.radius + self.thickness) ** 2 - self.radius**2)
        return self.length * (ring + self.thickness * self.leg)


class TypedMount(Struct, frozen=True):
    """Figures of a mount that its spec gives itself, mm, beside what a standard says; None: not given there."""

    pilot: float | None
    pilot_depth: float | None
    into: Literal["part", "plate", "nut", "stud"] | None
    thread_depth: float | None
    circle: float | None
    rectangle: tuple[float, float] | None
    standard_bodies: bool
    shaft: tuple[float, float] | None
    """Diameter and length, from the part to its end, of the one shaft that the spec tells."""
    shafts: int
    """How many shafts it tells."""
    shaft_from_zero: bool
    """Whether the one shaft lies along the plate and begins in zero itself, as one does that nobody placed yet."""

    @classmethod
    def of(cls, words: MountWords) -> TypedMount:
        """What the words of the spec give (mm)."""
        pilot, screws, pattern = words.pilot, words.screws, words.pattern
        return cls(
            pilot=None if pilot is None else pilot.diameter,
            # a depth left out is nil in the words, and none that was given
            pilot_depth=pilot.depth if pilot is not None and "depth" in pilot.model_fields_set else None,
            into=None if screws is None else screws.into,
            thread_depth=None if screws is None else screws.depth,
            circle=None if pattern.circle is None else pattern.circle.diameter,
            rectangle=None if pattern.rectangle is None else (pattern.rectangle.width, pattern.rectangle.height),
            standard_bodies=words.standard_bodies,
            shaft=None if words.shaft is None else (words.shaft.diameter, words.shaft.stretch[1]),
            shafts=len(words.shafts) + (words.shaft is not None),
            shaft_from_zero=words.shaft is not None
            and words.shaft.along != "square"
            and words.shaft.at == (0.0, 0.0)
            and words.shaft.stretch[0] == 0.0,
        )


class TypedBody(Struct, frozen=True):
    """A body as its spec gives it, mm: what carries it, where, its circle, the height of its axis, its span."""

    name: str
    carrier: str
    at: Point
    standard: str | None
    circle: float | None
    circle_at: Point | None
    height: float | None
    span: tuple[float, float] | None

    @classmethod
    def of(cls, name: str, words: BodyWords) -> TypedBody:
        """What the words of the spec give (mm)."""
        shape = words.shape
        return cls(
            name=name,
            carrier=words.carried_by,
            at=words.at,
            standard=words.standard,
            circle=None if shape is None or shape.circle is None else shape.circle.diameter,
            circle_at=None if shape is None else shape.at,
            height=None if words.lying is None else words.lying.height,
            span=words.span,
        )


class AcceptedFinding(Struct, frozen=True):
    """What the user has judged: a rule at some features, why, and the figure that was judged, as typed."""

    rule: str
    features: tuple[str, ...]
    because: str
    found: float | str | None

    @classmethod
    def of(cls, words: Acceptance) -> AcceptedFinding:
        """What the words of the spec accept."""
        return cls(words.rule, words.names, words.because, words.found)


class FlatPart(Struct, frozen=True):
    """What a part of the guard, or a bar, is told by as a flat plate of its own, and what `kind` of part it is.

    `faces` are the words for the face that one looks at: as it is drawn, and turned over. `up` says whether up on the
    machine is a direction of it, `note` where it belongs; along `folds` it is bent: marked at their ends, not cut.
    `bends` are those across it in their order, each its number, its place from the zero of the part's x (mm), the angle
    it is turned by (rad), and the inside radius where it is rolled (mm).
    """

    kind: FlatKind
    faces: tuple[str, str]
    up: bool
    note: str
    folds: tuple[Edge, ...] = ()
    bends: tuple[tuple[int, float, float, float | None], ...] = ()
    cut: bool = True
    """Whether it is cut of sheet; else it is sawn, and its paper shows where it is drilled."""


class Layout(Struct, frozen=True, dict=True):
    """Everything with its position; what the checks judge and the exports draw."""

    spec: Spec
    material: Material
    limits: PlateLimits
    mounts: dict[str, PlacedMount]
    openings: tuple[Opening, ...]
    bodies: tuple[Body, ...]
    outline: Shape
    belts: tuple[PlacedBelt, ...] = ()
    guards: tuple[Guard, ...] = ()
    flat: FlatPart | None = None
    """None for the plate itself."""
    twisted: Twisted | None = None
    """The belt over crossed shafts; it is none of `belts`."""
    couplings: tuple[PlacedCoupling, ...] = ()
    """What joins shafts in line, without a belt."""
    tabs: tuple[PlacedTab, ...] = ()
    feet: PlacedFeet | None = None
    """None for a plate that hangs on its screws alone."""
    flange: PlacedFlange | None = None
    """A straight edge that is bent up; `outline` is then that of the flat blank."""

    @property
    def guard(self) -> Guard | None:
        """The first of its guards; None where none is described."""
        return self.guards[0] if self.guards else None

    @property
    def subject(self) -> str:
        """How a sentence about the whole names it: a part of the guard has been named before."""
        return "the plate" if self.flat is None else "it"

    @once
    def thickness(self) -> float:
        """Thickness of the plate, mm."""
        return self.spec.model.plate.thickness

    @property
    def title(self) -> str:
        """What the plate is for."""
        return self.spec.title

    @property
    def up(self) -> float:
        """Which way is up on the machine: rad counter-clockwise from +x, near side."""
        return self.spec.model.plate.up

    @property
    def mounting(self) -> Mounting | None:
        """How the plate hangs or lies on the machine; None: not said, and what it bears cannot be worked out."""
        return self.spec.model.plate.mounting

    @property
    def wrapped(self) -> bool:
        """Whether the outline follows the openings, so that it moves with them."""
        return self.rope_field != ""

    @property
    def rope_field(self) -> Literal["plate.outline.wrap", "plate.outline.waist", ""]:
        """The field of what makes the outline follow the openings; "" where it is given."""
        outline = self.spec.model.plate.outline
        if outline.rope is None:
            return ""
        return "plate.outline.wrap" if outline.waist is None else "plate.outline.waist"

    @once
    def cutting(self) -> CuttingOrder:
        """How it is to be cut."""
        return CuttingOrder.of(self.spec.model.cutting)

    @property
    def paper(self) -> PaperOrder:
        """The paper it is to be drawn on."""
        return PaperOrder.of(self.spec.model.paper, "paper" in self.spec.model.model_fields_set)

    @property
    def accepted(self) -> tuple[AcceptedFinding, ...]:
        """What the user has judged and takes responsibility for, in the order of the spec."""
        return tuple(map(AcceptedFinding.of, self.spec.model.accept))

    @property
    def typed_mounts(self) -> dict[str, TypedMount]:
        """The figures (mm) that the spec itself gives for each mount."""
        return {name: TypedMount.of(words) for name, words in self.spec.model.mounts.items()}

    @once
    def ribs(self) -> tuple[PlacedRib, ...]:
        """The bars welded on edge to the plate (plate frame, mm)."""
        return tuple(PlacedRib.of(name, words) for name, words in self.spec.model.plate.ribs.items())

    @property
    def driven_machine(self) -> str | None:
        """What the drive drives, by its kind; None where the spec does not say."""
        drive = self.spec.model.drive
        return None if drive is None else drive.machine

    @property
    def driven_hours(self) -> float:
        """Hours that it runs a day."""
        drive = self.spec.model.drive
        return 8.0 if drive is None else drive.hours

    @property
    def typed_bodies(self) -> tuple[TypedBody, ...]:
        """The bodies as the spec gives them (mm), in its order."""
        return tuple(TypedBody.of(name, words) for name, words in self.spec.model.bodies.items())

    @property
    def plane(self) -> Shape:
        """What of the plate lies in its plane once it is bent: the outline, less a flange (mm)."""
        return self.outline if self.flange is None else self.flange.flat

    @property
    def plate_z(self) -> tuple[float, float]:
        """The plate's own (low, high) z range, mm."""
        # The near face is zero, so that heights on the near side are what a depth gauge reads there.
        return (-self.thickness, 0.0)

    def opening(self, name: str) -> Opening:
        """The opening of that name; `KeyError` if there is none."""
        return next(opening for opening in self.openings if opening.name == name)

    @property
    def originals(self) -> tuple[str, ...]:
        """The mounts that stay as they were: those of which the spec says so, else the first."""
        # Specs name the old machine first: where nothing is said, that is what must be able to take its old part again.
        said = tuple(name for name, mount in self.mounts.items() if mount.original)
        return (
            said
            or tuple(name for name, mount in self.mounts.items() if mount.layer is None and mount.lug_of is None)[:1]
        )

    @property
    def stacks(self) -> tuple[ScrewStack, ...]:
        """The screw stacks of all mounts that have screws."""
        return tuple(mount.stack for mount in self.mounts.values() if mount.stack is not None)

    @property
    def measured(self) -> bool:
        """Whether any pattern of the plate was measured."""
        return any(mount.survey is not None for mount in self.mounts.values())

    @property
    def lightening(self) -> tuple[Opening, ...]:
        """The openings that only make it lighter."""
        return tuple(one for one in self.openings if one.field == "plate.lighten")

    @property
    def net_area(self) -> float:
        """Area of the plate less its through openings, mm2, exact as long as no two openings overlap."""
        # Overlapping openings would count twice: a rule stops them, and costs are estimates before it does.
        return self.outline.area - sum(opening.shape.area for opening in self.openings if opening.through)

    @property
    def mass(self) -> float:
        """Mass of the plate, kg."""
        # kg/m3 and mm: a thousand million cubic millimetres to the cubic metre.
        return self.net_area * self.thickness * self.material.density * 1e-9


@lru_cache(maxsize=512)  # what the plate is asked to leave open for what passes through it, by a dozen rules
def _widest(solid: Solid, low: float, high: float) -> Shape:
    return solid.widest(low, high)[0]


Asked = TypeVar("Asked", bound=Struct)
Found = TypeVar("Found")


def held(tell: Callable[[Asked], Found]) -> Callable[[Asked], Found]:
    """Keeps what a function tells of a value with it, mostly of a layout: a dozen rules ask, and none ever changes."""
    name = f"{tell.__module__}.{tell.__qualname__}"

    @wraps(tell)
    def asked(value: Asked) -> Found:
        kept: dict[str, Any] = value.__dict__
        if name not in kept:
            kept[name] = tell(value)
        found: Found = kept[name]
        return found

    return asked
