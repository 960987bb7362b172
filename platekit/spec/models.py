"""The words of the spec language, version 1, as pydantic models.

Every length here is millimetres and every angle radians: the field types convert on reading, with the unit of
the spec as validation context. Names and meaning are those of the README on the spec. No positions are worked
out here; that is the job of the layout.

A field's `description` is what an editor shows on hovering, so each is written for the person who types the
spec.
"""

import math
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    Discriminator,
    Field,
    Tag,
    model_validator,
)

from platekit.choices import MarkKind, Process, Side, Unit
from platekit.spec.base import OneOf, WordsModel
from platekit.spec.coupling_words import CouplingWords
from platekit.spec.drive_words import DriveWords
from platekit.spec.fields import (
    Angle,
    Count,
    Density,
    Designation,
    Judged,
    LengthFromZero,
    LetterHeight,
    Name,
    OfferedLength,
    Pair,
    PositiveLength,
    Share,
    Size,
    Stress,
    Text,
    Version,
    YesNo,
    no_items,
    no_names,
    wrong,
)
from platekit.spec.guard_words import GuardWords, SecondGuardWords
from platekit.spec.mass_words import MassWords, Mounting, RibWords, Support
from platekit.spec.measured_words import MeasuredPattern
from platekit.spec.screw_words import ScrewWords
from platekit.spec.shaft_words import ShaftWords
from platekit.spec.space_words import MAX_STEPS, DrawnShape, HoleName, LyingWords, StepWords
from platekit.spec.spacer_words import SpacerWords
from platekit.spec.tab_words import FeetWords, FlangeWords, TabWords
from platekit.spec.take_up_words import TakeUp

MAX_HOLES = 50_000
"""Most holes in one pattern, and openings in one plate (a stated limit, ours)."""
MAX_ON_CIRCLE = 2_000
"""Most holes on one circle (a stated limit, ours): a few letters must not ask for a minute of work."""
MAX_POLYGON_POINTS = 2_000
"""Most corners of one polygon (a stated limit, ours); an outline of more is drawn in a file."""
MAX_RELIEFS = 300
"""Most bodies of one spec that are cut out of the plate (a stated limit, ours): each is held against all others."""
MAX_NAMED = 5_000
"""Most mounts, bodies or cutouts in one spec (a stated limit, ours)."""

MAX_TABS = 50
"""Most tabs on one plate (a stated limit, ours): each is joined to all that is there."""

MAX_FEATURES = 20
"""Most features in one acceptance (a stated limit, ours)."""

MAX_SHAFTS = 8
"""Most shafts of one part (a stated limit, ours)."""

MAX_COUPLINGS = 8
"""Most couplings of one machine (a stated limit, ours)."""

MAX_COPIES = 500
"""Most copies of one plate on a sheet (a stated limit, ours)."""

MAX_SCRIBED = 4
"""Most kinds of words that are scribed: each of them once."""

ScribedWord = Literal["face", "revision", "names", "title"]
Need = Literal["air", "grease", "lid", "cable", "none"]
MaterialFamily = Literal[
    "steel",
    "stainless steel",
    "aluminium",
    "cast iron",
    "brass",
    "acetal",
    "HDPE",
    "polycarbonate",
    "acrylic",
    "wood board",
]


def place_tag(value: Any) -> str:
    """Which way of giving a place is meant: the tag by which pydantic chooses."""
    if isinstance(value, dict):
        return next((f"<{key}>" for key in ("find", "belt") if key in value), "<keys>")
    if isinstance(value, FindPlace):
        return "<find>"
    if isinstance(value, BaseModel):
        return "<belt>" if isinstance(value, BeltPlace) else "<keys>"
    return "<plain>"


def zero_tag(value: Any) -> str:
    """Whether a word stands there, or two lengths (mm)."""
    return "<each>" if isinstance(value, list | tuple) else "<plain>"


def list_tag(value: Any) -> str:
    """Whether one radius (mm) is given, or a list with one for each corner."""
    return "<each>" if isinstance(value, list | tuple) else "<one>"


def keys_tag(value: Any) -> str:
    """Whether a plain value is given, or keys below."""
    return "<keys>" if isinstance(value, dict | BaseModel) else "<plain>"


# --------------------------------------------------------------------------------------------- shapes


class CircleShape(WordsModel):
    """A circle by its diameter."""

    diameter: PositiveLength = Field(description="Diameter.")


class RectangleShape(WordsModel):
    """A rectangle, its middle at the shape's `at`."""

    width: PositiveLength = Field(description="Size along x, before turning.")
    height: PositiveLength = Field(description="Size along y, before turning.")
    corner: LengthFromZero = Field(default=0.0, description="Corner radius.")


class SlotShape(WordsModel):
    """A straight slot with round ends, its middle at the shape's `at`, lying along x before turning."""

    length: PositiveLength = Field(description="Over-all length, end to end.")
    width: PositiveLength = Field(description="Width, which is also the diameter of the ends.")

    @model_validator(mode="after")
    def check_length(self) -> Self:
        """A slot is no shorter than it is wide, mm."""
        if self.length < self.width:
            raise wrong("a slot shorter than it is wide", "give the length over all, ends included")
        return self


class PolygonShape(WordsModel):
    """A closed outline of straight sides through the points, corners rounded on request."""

    points: list[Pair] = Field(
        min_length=3, max_length=MAX_POLYGON_POINTS, description="Corners in order, either way round."
    )
    corner: Annotated[
        Annotated[LengthFromZero, Tag("<one>")] | Annotated[list[LengthFromZero], Tag("<each>")],
        Discriminator(list_tag),
    ] = Field(default=0.0, description="Radius of every corner, or a list with one radius a corner.")

    @model_validator(mode="after")
    def check_corners(self) -> Self:
        """There are as many radii (mm) as corners, or one for all."""
        if isinstance(self.corner, list) and len(self.corner) != len(self.points):
            raise wrong(
                f"{len(self.corner)} corner radii for {len(self.points)} corners",
                "give one radius for each corner",
            )
        return self


class ShapeWords(OneOf):
    """A flat shape: one of circle, rectangle, slot, polygon or drawn, with where it sits."""

    circle: CircleShape | None = Field(default=None, description="A circle.")
    rectangle: RectangleShape | None = Field(default=None, description="A rectangle.")
    slot: SlotShape | None = Field(default=None, description="A straight slot with round ends.")
    polygon: PolygonShape | None = Field(default=None, description="A closed outline of straight sides.")
    drawn: DrawnShape | None = Field(default=None, description="A closed outline from a DXF or SVG file.")
    at: Pair = Field(default=(0.0, 0.0), description="[x, y] of its middle (of a polygon or drawing: of its own zero).")
    turn: Angle = Field(default=0.0, description="Counter-clockwise, such as `30 deg`.")

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of shape."""
        return ("circle", "rectangle", "slot", "polygon", "drawn")


class BodyShape(ShapeWords):
    """The shape of a body: a flat one with its place, or a maker's solid model, placed by its mounting face."""

    model: Text | None = Field(
        default=None,
        description="A maker's model of the part, a STEP file that holds solids; its path counts from the folder of "
        "the spec. It has no `span`: it brings its own heights. Its mounting face and its place on it are found by the "
        "holes and the pilot of the mount that carries it; where that leaves a choice, `face` and `turn` settle it. "
        "Searches and drawings take it for slices that hold it, some mm thick where its sides slope; what runs into "
        "what is settled on the model itself. Needs the extra `solid`.",
    )
    face: Count | None = Field(
        default=None,
        ge=1,
        description="Of a `model`: its flat face that lies on the carrier, by its number; a model that leaves a choice "
        "is refused with a list of them. With `at`, the middle of that face lies there, whatever holes it has.",
    )

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of shape."""
        return (*ShapeWords.options(), "model")

    @model_validator(mode="after")
    def check_model(self) -> Self:
        """A face belongs to a model, and a model that is put at a place needs one."""
        if self.face is not None and self.model is None:
            raise wrong("a `face` without a `model`", "leave it out")
        if self.model is not None and "at" in self.model_fields_set and self.face is None:
            raise wrong("`at` for a model without its `face`", "add `face`, or leave `at` out: holes place the model")
        return self


# --------------------------------------------------------------------------------------------- plate


class GivenMaterial(WordsModel):
    """A material that the tables do not hold."""

    name: Text = Field(default="as given", description="What to call it on the sheets.")
    family: MaterialFamily | None = Field(
        default=None, description="What it is to a cutting process: whether that cuts it, and how thick."
    )
    density: Density = Field(description="Such as `7850 kg/m3`.")
    modulus: Stress = Field(description="Modulus of elasticity, such as `210000 MPa`.")
    yield_strength: Stress = Field(description="Such as `235 MPa`.")


class Wrap(WordsModel):
    """The hull of pads round every opening."""

    margin: OfferedLength = Field(
        default="auto",
        description="Steel round each opening, edge to edge; `auto` takes it from the edge and web rules.",
    )


class Waist(WordsModel):
    """Drawn in between the pads by hollow arcs: less steel and less weight than a wrap, and no more corners."""

    margin: OfferedLength = Field(
        default="auto",
        description="Steel round each opening, edge to edge; `auto` takes it from the edge and web rules.",
    )
    radius: OfferedLength = Field(
        default="auto",
        description="Radius of the hollow arcs between the pads; `auto` takes the smallest standard one that leaves "
        "the plate in one piece and nowhere narrower than `narrowest`.",
    )
    narrowest: OfferedLength = Field(
        default="auto",
        description="Width that the plate keeps everywhere; `auto` is half that of a wrap, and no less than its "
        "narrowest pad. Strength has the last word where masses are given.",
    )


class Lighten(WordsModel):
    """Openings that make the plate lighter, between webs from screw to screw; only where strength is worked out."""

    web: OfferedLength = Field(
        default="auto",
        description="Width of the steel that stays: the webs, the rim along the outside, round every opening at "
        "least; `auto` is three thicknesses, and no less than the process wants.",
    )
    corner: OfferedLength = Field(
        default="auto",
        description="Radius of their corners; `auto` is 10 mm, or the plate's thickness if that is more.",
    )


class OutlineWords(OneOf):
    """The outside of the plate."""

    wrap: Wrap | None = Field(
        default=None, description="The outline drawn tight round all openings and their steel, like a rope."
    )
    waist: Waist | None = Field(
        default=None, description="The same, drawn in between the pads by hollow arcs: lighter, and as easily cut."
    )
    rectangle: RectangleShape | None = Field(default=None, description="A rectangle.")
    circle: CircleShape | None = Field(default=None, description="A circle; `disc` in older specs.")
    polygon: PolygonShape | None = Field(default=None, description="Straight sides through the points.")
    at: Pair = Field(default=(0.0, 0.0), description="[x, y] of its middle; not for wrap and waist.")
    turn: Angle = Field(default=0.0, description="Counter-clockwise; not for wrap and waist.")

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of outline."""
        return ("wrap", "waist", "rectangle", "circle", "polygon")

    @property
    def rope(self) -> Wrap | Waist | None:
        """What makes it follow the openings; None where it is given."""
        return self.wrap or self.waist

    @model_validator(mode="after")
    def check_wrap(self) -> Self:
        """A wrapped outline has no place of its own, since it follows the openings."""
        if self.rope is not None and {"at", "turn"} & self.model_fields_set:
            raise wrong("a place for a wrapped outline", "leave out `at` and `turn`; it follows the openings")
        return self


class PlateWords(WordsModel):
    """The plate itself."""

    material: Annotated[
        Annotated[Designation, Tag("<plain>")] | Annotated[GivenMaterial, Tag("<keys>")],
        Discriminator(keys_tag),
    ] = Field(description="A name from the tables, such as `mild steel`, or the figures themselves.")
    thickness: PositiveLength = Field(description="Thickness of the plate.")
    outline: OutlineWords = Field(
        default_factory=lambda: OutlineWords(wrap=Wrap()),
        description="The outside; if left out it follows the openings (`wrap`), with steel all round them.",
    )
    cutouts: dict[Name, ShapeWords] = Field(
        default_factory=no_names, max_length=MAX_NAMED, description="Openings simply wanted, by name."
    )
    tabs: dict[Name, TabWords] = Field(
        default_factory=dict, max_length=MAX_TABS, description="Tongues that stand out of the outline, by name."
    )
    feet: FeetWords | None = Field(default=None, description="What it stands on, at its lower end.")
    flange: FlangeWords | None = Field(default=None, description="A straight edge that is bent up to stiffen it.")
    ribs: dict[Name, RibWords] = Field(
        default_factory=no_names, max_length=MAX_NAMED, description="Flat bars welded on edge to stiffen it, by name."
    )
    lighten: Lighten | None = Field(
        default=None,
        description="Openings that make it lighter, by themselves; masses and `mounting` must be given, so that "
        "strength can say whether it still holds.",
    )
    up: Angle = Field(
        default=math.pi / 2,
        description="Which way is up on the machine: counter-clockwise from +x, near side; +y if left out.",
    )
    mounting: Mounting | None = Field(
        default=None,
        description="How the plate is bolted up, for the weight on it: `upright` (then `up` says which way), or lying "
        "with its near or its far side up; without it, strength is not checked.",
    )


# --------------------------------------------------------------------------------------------- mounts


class CirclePattern(WordsModel):
    """Holes on a bolt circle, evenly spaced or at given angles."""

    diameter: PositiveLength = Field(description="Bolt circle diameter.")
    count: Count | None = Field(default=None, ge=1, le=MAX_ON_CIRCLE, description="How many, evenly spaced.")
    start: Angle | None = Field(default=None, description="Angle of the first hole from +x; 0 if left out.")
    angles: list[Angle] | None = Field(
        default=None, min_length=1, max_length=MAX_ON_CIRCLE, description="Angle of every hole, if uneven."
    )
    hole: PositiveLength | None = Field(
        default=None, description="The same as `hole` beside the kind of pattern, where it belongs."
    )

    @model_validator(mode="after")
    def check_spacing(self) -> Self:
        """Holes are counted from `start`, or each lies at its own angle (rad)."""
        if (self.count is None) == (self.angles is None):
            found = "neither `count` nor `angles`" if self.count is None else "both `count` and `angles`"
            raise wrong(found, "give `count` for even spacing or `angles` for uneven, one of the two")
        if self.angles is not None and self.start is not None:
            raise wrong("`start` beside `angles`", "leave out `start`; `angles` says where every hole is")
        return self


class RectanglePattern(WordsModel):
    """Four holes at the corners of a rectangle, its middle at the mount's zero."""

    width: PositiveLength = Field(description="Centre to centre along x.")
    height: PositiveLength = Field(description="Centre to centre along y.")
    hole: PositiveLength | None = Field(
        default=None, description="The same as `hole` beside the kind of pattern, where it belongs."
    )


class Pattern(OneOf):
    """Where a mount's holes are, in its own frame."""

    standard: Designation | None = Field(
        default=None,
        description="Its designation, which is what a standard calls that size, as `NEMA 56C`; `platekit tables` lists "
        "them. Of IEC motors B5 (V1) is a wide flange that screws go through, B14 (V18) a small face with threads, the "
        "frame alone (B3) stands on feet.",
    )
    circle: CirclePattern | None = Field(default=None, description="Holes on a bolt circle.")
    rectangle: RectanglePattern | None = Field(default=None, description="Four holes in a rectangle.")
    points: list[Pair] | None = Field(
        default=None, min_length=1, max_length=MAX_HOLES, description="[x, y] of every hole."
    )
    measured: MeasuredPattern | None = Field(default=None, description="Readings, of which the survey makes places.")
    hole: PositiveLength | None = Field(
        default=None, description="Hole in the plate, whatever the pattern; from the screw's size and fit if left out."
    )

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of pattern."""
        return ("standard", "circle", "rectangle", "points", "measured")

    @model_validator(mode="after")
    def check_hole(self) -> Self:
        """The hole's diameter (mm) stands in one place."""
        kind = self.choice
        if self.hole is not None and kind != "points" and getattr(getattr(self, kind), "hole", None) is not None:
            raise wrong(f"`hole` twice, beside `{kind}` and inside it", "keep the one beside it")
        return self

    @property
    def hole_said(self) -> tuple[float | None, str]:
        """How wide the hole in the plate is to be (mm; None if that is left to the screw), and the key that says so.

        Its place is beside the kind of pattern; inside `circle`, `rectangle` and `measured` it is read as well, as it
        once stood there.
        """
        within = getattr(getattr(self, self.choice), "hole", None) if self.choice != "points" else None
        return (self.hole, "hole") if within is None else (within, f"{self.choice}.hole")


class PilotWords(WordsModel):
    """What locates a part: a spigot on it, or a bore in it."""

    diameter: PositiveLength = Field(description="Diameter of the spigot on the part.")
    depth: LengthFromZero = Field(
        default=0.0, description="How far the spigot stands into the plate; a standard part brings its own."
    )
    opening: Literal["through", "recess", "layer", "none"] = Field(
        default="through",
        description="`through` cuts it, `recess` is bored to a depth, `layer` is cut through the layer that the part "
        "stands on (`on`) and leaves the plate whole behind it, `none` leaves both whole there.",
    )
    clearance: OfferedLength = Field(
        default="auto", description="Added to the diameter; `auto` takes the process's own."
    )


MountName = Name


class DowelWords(WordsModel):
    """Dowel pins that keep a layer in its place on the plate, in holes reamed through both."""

    size: PositiveLength = Field(description="Diameter of the pins, such as 6 or `1/4 in`.")
    at: list[Pair] = Field(
        min_length=1, max_length=MAX_HOLES, description="[x, y] of every pin, in the layer's own frame as its pattern."
    )
    length: PositiveLength | None = Field(
        default=None, description="Length of the pins; the longest in stock that stands out nowhere if left out."
    )


class PartDowelWords(WordsModel):
    """Dowel pins between the plate and a part from elsewhere: it goes back to the same place after it was taken off.

    They go into holes that the part already has: those measured as `kind: dowel`, and those `at` given places.
    """

    size: PositiveLength | None = Field(
        default=None,
        description="Diameter of the pins; for measured holes the pin sold that is nearest to them, if left out.",
    )
    at: list[Pair] = Field(
        default_factory=no_items,
        max_length=MAX_HOLES,
        description="[x, y] of dowel holes that the part already has, in its own frame as its pattern, beside those "
        "that were measured.",
    )
    pin: Literal["parallel", "spring"] = Field(
        default="parallel",
        description="`parallel` are hardened pins (m6), driven into the part; `spring` are slotted (ISO 8752), and "
        "hold in a drilled or worn hole too.",
    )
    depth: PositiveLength | None = Field(
        default=None, description="How deep the holes in the part are; the length of the pins follows from it."
    )
    length: PositiveLength | None = Field(
        default=None, description="Length of the pins; the longest in stock that stands out nowhere if left out."
    )
    together: YesNo = Field(
        default=False,
        description="The part has no such holes yet: they are drilled through plate and part at once, which changes "
        "the part for good.",
    )

    @model_validator(mode="after")
    def check_size(self) -> Self:
        """Places that were not measured tell no diameter (mm)."""
        if self.size is None and self.at:
            raise wrong("`dowels: at` without a size", "give the pins' diameter, such as size: 8")
        return self


class LayerWords(WordsModel):
    """A flat plate of its own on the plate, such as a locating ring: cut by the same process, with a file of its own.

    Its mount's pattern are the screws that hold it, drawn as the plate is, seen from the near side. What stands on it
    (`on`), and what has its heads on it (`heads_on`), goes through it; any opening of the plate that it lies over goes
    on through it.
    """

    thickness: PositiveLength = Field(description="How thick it is.")
    material: Designation | None = Field(default=None, description="A name from the tables; the plate's if left out.")
    outline: OutlineWords = Field(
        default_factory=lambda: OutlineWords(wrap=Wrap()),
        description="The outside, in the plate's x and y; if left out it follows its own openings (`wrap`).",
    )
    cutouts: dict[Name, ShapeWords] = Field(
        default_factory=no_names, max_length=MAX_NAMED, description="Openings in the layer alone, by name."
    )
    dowels: DowelWords | None = Field(default=None, description="Dowel pins between it and the plate.")


class Polar(WordsModel):
    """A place at a distance and an angle from another mount's zero."""

    from_: MountName = Field(alias="from", description="The mount to measure from.")
    distance: PositiveLength = Field(description="From that mount's zero.")
    angle: Angle = Field(description="Counter-clockwise from +x, seen from the near side.")


class ByBelt(WordsModel):
    """A place that the belt decides: at the belt's centre distance from the pulley at its other end."""

    from_: MountName = Field(alias="from", description="The mount whose pulley is at the belt's other end.")
    angle: Angle = Field(description="Direction from that pulley's middle, counter-clockwise from +x, near side.")


class BeltPlace(WordsModel):
    """A place at the end of the drive's belt."""

    belt: ByBelt = Field(description="From which mount, and in which direction.")


class FindByBelt(WordsModel):
    """The places at the belt's centre distance from the pulley at its other end, within a range of directions."""

    from_: MountName = Field(alias="from", description="The mount whose pulley is at the belt's other end.")
    angles: list[Angle] | None = Field(
        default=None,
        min_length=2,
        max_length=2,
        description="[from, to] counter-clockwise: directions from that pulley's middle; all round if left out.",
    )


class Find(OneOf):
    """Where to look for a place without a stop."""

    box: list[Pair] | None = Field(
        default=None, min_length=2, max_length=2, description="[[x0, y0], [x1, y1]]: two corners; its zero lies within."
    )
    belt: FindByBelt | None = Field(default=None, description="At belt distance from another mount.")
    turn: Annotated[
        Annotated[Literal["fixed", "any"], Tag("<plain>")]
        | Annotated[Annotated[list[Angle], Field(min_length=2, max_length=2)], Tag("<each>")],
        Discriminator(zero_tag),
    ] = Field(default="fixed", description="`fixed` keeps the mount's turn, `any` tries all, [from, to] a range.")
    side: Literal["near", "far", "either"] | None = Field(
        default=None, description="Which side to try; the mount's own if left out."
    )

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of space to look in."""
        return ("box", "belt")

    @model_validator(mode="after")
    def check_ranges(self) -> Self:
        """Each range begins below its end, mm or rad."""
        ranges = [("turn", self.turn)] if isinstance(self.turn, list) else []
        if self.belt is not None and self.belt.angles is not None:
            ranges.append(("angles", self.belt.angles))
        for key, (low, high) in ranges:
            if low > high:
                raise wrong(f"`{key}` that fall", "give the smaller angle first, such as [-30 deg, 60 deg]")
        return self


class FindPlace(WordsModel):
    """A place that platekit finds: no `stop`, best by plate area, belt, clearance and reach."""

    find: Find = Field(description="Where to look, and which turns and sides to try.")


Place = Annotated[
    Annotated[Pair, Tag("<plain>")]
    | Annotated[Polar, Tag("<keys>")]
    | Annotated[BeltPlace, Tag("<belt>")]
    | Annotated[FindPlace, Tag("<find>")],
    Discriminator(place_tag),
]


class MountWords(WordsModel):
    """Something the plate bolts to: the old machine, the new motor, a bearing, a jack plate."""

    side: Side = Field(description="The side of the plate that this part is on.")
    looking_at: Literal["face", "back"] | None = Field(
        default=None,
        description="How the pattern was drawn or measured: looking straight at the part's mounting `face`, "
        "or at its `back`, as seen through the part.",
    )
    pattern: Pattern = Field(description="Where its holes are.")
    pilot: PilotWords | None = Field(default=None, description="What locates it, a spigot or a bore, if it has one.")
    at: Place = Field(
        default=(0.0, 0.0),
        description="[x, y] of its zero, polar from another mount, by the `belt`, or left to be found (`find`).",
    )
    turn: Angle = Field(default=0.0, description="Counter-clockwise, seen from the near side.")
    standoff: LengthFromZero = Field(
        default=0.0, description="How far spacers hold the part off the plate, from face to face."
    )
    layer: LayerWords | None = Field(
        default=None,
        description="This part is a flat plate that is cut too and lies on the plate: a second layer, a locating ring.",
    )
    on: MountName | None = Field(
        default=None, description="The layer that this part stands on, by its mount's name; the plate if left out."
    )
    heads_on: MountName | None = Field(
        default=None,
        description="The layer on the other side that the heads of its screws stand on; the plate if left out.",
    )
    spacers: SpacerWords | None = Field(
        default=None,
        description="What the spacers of a standoff are cut from; if left out the narrowest tube or bar in stock that "
        "does, plate and shims where they are too short for that.",
    )
    packing: Literal["belt"] | None = Field(
        default=None,
        description="`belt` works the standoff out, in thicknesses of plate and shims that are sold: its pulley comes "
        "in line with the other one of its belt, or, over shafts that lie along the plate, its shaft comes as high.",
    )
    screws: ScrewWords | None = Field(default=None, description="Its screws; `bolts` in older specs.")
    take_up: TakeUp | None = Field(default=None, description="Travel to fit and tension the belt.")
    shaft: ShaftWords | None = Field(
        default=None, description="Its shaft, if no standard tells it or it was measured; takes the standard's place."
    )
    shafts: dict[Name, ShaftWords] = Field(
        default_factory=no_names,
        max_length=MAX_SHAFTS,
        description="Several shafts by their names, such as a gearbox's input and output, or both ends of a motor's.",
    )
    standard_bodies: YesNo = Field(
        default=True, description="Whether a standard part brings its shaft, face and frame as bodies."
    )
    dowels: PartDowelWords | None = Field(
        default=None, description="Dowel pins between the plate and this part, in holes that it already has."
    )
    pad: ShapeWords | None = Field(
        default=None,
        description="The machined pad round each of the part's holes, its zero at the hole's centre; washers and heads "
        "must sit within it.",
    )
    original: YesNo = Field(
        default=False,
        description="This part stays as it was, so that what was there before can go back; the first if none says so.",
    )
    new_holes: list[HoleName] = Field(
        default_factory=no_items,
        max_length=MAX_HOLES,
        description="Names or numbers of holes that are not in the part yet and would have to be drilled into it.",
    )
    mass: MassWords | None = Field(
        default=None,
        description="For a part that the plate carries: what it weighs, with all that moves with it; without it, "
        "strength is not checked.",
    )
    support: Support | None = Field(
        default=None,
        description="What it is made of where the plate bears on it, for how far that gives way: `soft` is a frame of "
        "sheet or on rubber; a range that covers all but that if left out.",
    )

    @model_validator(mode="after")
    def check_standoff(self) -> Self:
        """The mount has a standoff (mm) or packing, not both."""
        if self.packing is not None and self.standoff:
            raise wrong("`standoff` and `packing`", "leave one out: the packing is the standoff, worked out")
        return self

    @model_validator(mode="after")
    def check_dowels(self) -> Self:
        """Pins hold a part that lies on the plate itself and stays where it is, in holes that are there."""
        if self.dowels is None:
            return self
        if self.take_up is not None:
            raise wrong("`dowels` and `take_up`", "leave one out: pins hold fast what should travel")
        off = next((key for key in ("standoff", "packing", "on") if key in self.model_fields_set), None)
        if off is not None:
            raise wrong(f"`dowels` and `{off}`", "leave one out: pins hold only a part that lies on the plate itself")
        measured = self.pattern.measured
        if not self.dowels.at and (measured is None or not measured.dowel_holes):
            raise wrong("`dowels` without a hole", "give their places (at), or measure them as holes of kind: dowel")
        return self

    @model_validator(mode="after")
    def check_layer(self) -> Self:
        """A layer lies flat on the plate, is held by screws, and has nothing that only a part from elsewhere has."""
        strange = {"pilot", "standoff", "packing", "spacers", "take_up", "mass", "shaft", "shafts", "support", "pad"}
        strange |= {"original", "new_holes", "on", "heads_on", "looking_at"}
        if self.layer is not None and self.dowels is not None:
            raise wrong("`dowels` beside `layer`", "write them inside the layer (layer: dowels)")
        said = sorted(strange & self.model_fields_set)
        if self.layer is not None:
            on = next((key for key in ("on", "heads_on") if key in said), None)
            if on is not None:
                raise wrong(
                    f"`{on}` of a layer: a layer on a layer",
                    "let both lie on the plate side by side, one on either face, or make one of the thickness of both: "
                    "every layer lies on the plate itself",
                )
            if said:
                raise wrong(
                    f"`{said[0]}` of a layer", "leave it out: a layer lies flat on the plate, and is cut with it"
                )
            if self.pattern.standard is not None or self.pattern.measured is not None:
                raise wrong(
                    "a layer with a pattern that is given", "use circle, rectangle or points: its holes are new"
                )
            if self.screws is None or self.screws.into == "stud":
                raise wrong("a layer that no screw holds", "give its `screws`, into: part, plate or nut")
            told = {"depth", "flange", "thread_in"} & self.screws.model_fields_set
            if told:
                raise wrong(
                    f"`{min(told)}` of a layer's screws", "leave it out: it follows from thickness and material"
                )
        elif self.pilot is not None and self.pilot.opening == "layer" and self.on is None:
            raise wrong("`opening: layer` of a part on the plate", "name the layer that it stands on (`on`)")
        if self.on is not None and self.packing is not None:
            raise wrong("`packing` on a layer", "give the standoff over the layer instead")
        if self.on is not None and self.pilot is not None and self.pilot.opening == "recess":
            raise wrong(
                "`opening: recess` on a layer", "use `layer`: it is cut through that, and the plate stays whole"
            )
        if self.heads_on is not None and self.screws is not None:
            if self.screws.into == "plate":
                raise wrong("`heads_on` with `into: plate`", "leave it out: these heads are on the part")
            if self.screws.counterbore or self.screws.head == "countersunk":
                raise wrong("a head that is let in, on a layer", "let it stand on the layer (head: hex)")
        return self

    @model_validator(mode="after")
    def check_shafts(self) -> Self:
        """The part has one shaft, or several that have names."""
        if self.shaft is not None and self.shafts:
            raise wrong("`shaft` and `shafts`", "put them all under `shafts`, each with its name")
        return self


# --------------------------------------------------------------------------------------------- bodies


class BodyWords(OneOf):
    """Space that something takes up: a flat shape times a span along the plate's normal, or one of the other kinds."""

    carried_by: MountName = Field(description="What it is fixed to and moves with: a mount by its name, or `plate`.")
    side: Side | None = Field(default=None, description="For a body on the plate itself: on which side.")
    shape: BodyShape | None = Field(
        default=None, description="Its outline, in its carrier's own frame; needs a `span`, but for a `model`."
    )
    lying: LyingWords | None = Field(default=None, description="A cylinder lying across.")
    steps: list[StepWords] | None = Field(
        default=None, min_length=1, max_length=MAX_STEPS, description="A turned body: round steps, straight or cones."
    )
    standard: Designation | None = Field(
        default=None, description="A part from the tables, as `IEC 90 B14`: its frame, face and shaft."
    )
    at: Pair = Field(
        default=(0.0, 0.0), description="[x, y] of its middle in its carrier's own frame; a `shape` has its own `at`."
    )
    turn: Angle = Field(default=0.0, description="Of a `standard`: counter-clockwise in its carrier's own frame.")
    span: Pair | None = Field(
        default=None,
        description="How deep it lies, of a `shape`: [from, to] from the carrier's mating face, positive into the "
        "part's own side, negative towards and through the plate.",
    )
    gap: LengthFromZero | None = Field(default=None, description="Clearance to keep; the limit `gap` if left out.")
    relief: Literal["auto", "none"] = Field(
        default="none",
        description="Opening in the plate that lets the body through: `auto` cuts one, with the body's gap all round.",
    )
    needs: Need | None = Field(
        default=None,
        description="Room that it wants free: `air` behind a fan's cover, for a `grease` gun, to lift a `lid`, for a "
        "`cable` and its gland, or `none`; by its name if left out, as grease nipple or terminal box.",
    )
    removable: YesNo = Field(
        default=False, description="Whether it comes off, or has a free end, when a belt is put on round it."
    )
    turns: YesNo | None = Field(
        default=None,
        description="Whether it turns while the machine runs, as an old pulley that is left on its shaft does, and so "
        "wants a cover; by its name if left out (pulley, sheave, flywheel).",
    )
    touches: list[Designation] = Field(
        default_factory=no_items,
        max_length=MAX_NAMED,
        description="Bodies that it is meant to touch; one that a standard part brings is `motor.shaft`.",
    )

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The kinds of body."""
        return ("shape", "lying", "steps", "standard")

    @model_validator(mode="after")
    def check_kinds(self) -> Self:
        """What is said of it belongs to one kind of body, and to what carries it."""
        if self.shape is not None and self.shape.model is not None:
            if self.span is not None:
                raise wrong("a span beside a model", "leave it out; the model has its heights itself")
        elif (self.shape is None) != (self.span is None):
            found = "a span without a shape" if self.shape is None else "a shape without its span"
            raise wrong(found, "give both, or neither: only a `shape` has a `span` beside it")
        if self.shape is not None and "at" in self.model_fields_set:
            raise wrong("`at` beside `shape`", "write `at` inside the shape")
        if self.standard is None and "turn" in self.model_fields_set:
            instead = {"shape": "write `turn` inside the shape", "lying": "give its `axis`"}
            # a kind that is not named here is round, or says itself which way it points
            raise wrong(f"`turn` beside `{self.choice}`", instead.get(self.choice, "leave it out"))
        if self.span is not None and self.span[0] >= self.span[1]:
            raise wrong("a span whose first figure is not the smaller", "write [from, to] with `from` below `to`")
        if self.carried_by == "plate" and self.side is None:
            raise wrong("a body on the plate without its `side`", "add `side: near` or `side: far`")
        if self.carried_by != "plate" and self.side is not None:
            raise wrong("a `side` for a body that a mount carries", "leave it out; the body is on its mount's side")
        return self


# --------------------------------------------------------------------------------------------- the rest


class CuttingWords(WordsModel):
    """How the plate is cut."""

    process: Process = Field(default="plasma", description="The process; its limits come from the tables.")
    kerf: PositiveLength | None = Field(default=None, description="Width of the cut.")
    position: LengthFromZero | None = Field(
        default=None,
        description="How far what your table cuts or marks lies off its place, plus or minus, as its maker says or a "
        "test piece shows; if left out, that of an entry-level table of this process.",
    )
    drilling: LengthFromZero | None = Field(
        default=None,
        description="How far what is drilled, bored or reamed at a mark lies off it, plus or minus, as holes that you "
        "measured show, or a jig allows; if left out, that of a hole drilled by hand at a centre punch.",
    )
    sheet: Size | None = Field(
        default=None, description="[width, height] of the stock or the table; the plate must fit."
    )
    machine: Designation | None = Field(
        default=None,
        description="Your own machine: a file beside the spec, or its name in the folder `machines` there.",
    )
    direction: Literal["clockwise", "counter-clockwise"] | None = Field(
        default=None,
        description="Which way a compensated path runs round the outside, openings the other way; "
        "clockwise if left out.",
    )
    copies: Count = Field(
        default=1, ge=1, le=MAX_COPIES, description="How many are nested (laid side by side) on one sheet or remnant."
    )
    margin: LengthFromZero | None = Field(
        default=None, description="Left between copies and to the edge of the sheet, the kerf not included."
    )
    remnant: list[Pair] | None = Field(
        default=None,
        min_length=3,
        max_length=MAX_POLYGON_POINTS,
        description="Corners of an irregular remnant that the copies must fit on.",
    )
    mark: MarkKind = Field(
        default="cross",
        description="How the cut file marks the centre of a hole that is drilled, tapped or bored: a `cross` of two "
        "lines 4 mm long, a `point` for a table that punches or spots by itself, or a small `circle` 2 mm in diameter.",
    )
    scribe: list[ScribedWord] = Field(
        default_factory=no_items,
        max_length=MAX_SCRIBED,
        description="Words scribed on the near face, on the layer of the marks: `face` (THIS FACE OUT, or IN), "
        "`revision`, `names` beside their openings, `title`; none if left out.",
    )
    scribe_height: LetterHeight = Field(
        default=5.0,
        description="Height of the scribed capitals; 5 mm if left out. ISO 3098 has 2.5, 3.5, 5, 7, 10, 14 and 20.",
    )


class LimitsWords(WordsModel):
    """Limits of the checks; each left out takes the process's or the trade's usual value."""

    smallest_hole: PositiveLength | None = Field(default=None, description="Smallest hole the process holds.")
    web: PositiveLength | None = Field(default=None, description="Least steel between two openings.")
    edge: PositiveLength | None = Field(
        default=None,
        description="Least distance from a screw hole's centre to the outside; 1.5 holes if left out.",
    )
    inside_radius: PositiveLength | None = Field(default=None, description="Smallest inside corner radius.")
    gap: LengthFromZero | None = Field(default=None, description="Clearance between bodies.")
    fit_warn: Share | None = Field(
        default=None, description="Probability that every screw of a mount goes in, below which a warning is given."
    )
    fit_stop: Share | None = Field(
        default=None, description="Probability that every screw of a mount goes in, below which the plate is stopped."
    )


class PaperSize(WordsModel):
    """A sheet of one's own."""

    width: PositiveLength = Field(description="Width of the sheet.")
    height: PositiveLength = Field(description="Height of the sheet.")


class MeasuredWords(WordsModel):
    """The bars and diagonals of a printed sheet, as measured on it."""

    bottom: PositiveLength = Field(description="The bar along the bottom.")
    top: PositiveLength = Field(description="The bar along the top.")
    left: PositiveLength = Field(description="The bar along the left.")
    right: PositiveLength = Field(description="The bar along the right.")
    rising: PositiveLength = Field(description="The diagonal from the lower left corner to the upper right.")
    falling: PositiveLength = Field(description="The diagonal from the upper left corner to the lower right.")
    bars: Size | None = Field(
        default=None,
        description="[across, along]: what the bars say on the measured sheet; those of this spec's paper if left out.",
    )


class Paper(WordsModel):
    """The paper: the 1:1 template, the bench sheet."""

    size: Annotated[
        Annotated[Literal["a4", "letter", "a3", "tabloid", "single"], Tag("<plain>")]
        | Annotated[PaperSize, Tag("<keys>")],
        Discriminator(keys_tag),
    ] = Field(default="a4", description="Sheet size; `single` is one sheet as large as the plate needs.")
    seen_from: Side = Field(default="near", description="The side of the plate that the paper shows.")
    printer: Name | None = Field(
        default=None,
        description="A printer measured before, which the template is corrected for: a file in the folder `printers` "
        "beside the spec, without its ending.",
    )
    measured: MeasuredWords | None = Field(
        default=None, description="The bars of an uncorrected print as measured; the template is corrected for them."
    )
    zero: (
        Annotated[Annotated[Designation, Tag("<plain>")] | Annotated[Pair, Tag("<each>")], Discriminator(zero_tag)]
        | None
    ) = Field(
        default=None,
        description="Where X and Y of the bench sheet count from: a mount, a cutout, `lower left`, or [x, y]; the "
        "first mount if left out.",
    )

    @model_validator(mode="after")
    def check_printer(self) -> Self:
        """A printer's error is given in one way, with what that way needs."""
        if self.printer is not None and self.measured is not None:
            raise wrong("both `printer` and `measured`", "give one of the two; `measured` is for a print of today")
        if self.measured is not None and self.measured.bars is None and self.size == "single":
            raise wrong("`measured` without `bars` for a single sheet", "add `bars`, what the bars on it say")
        return self


class Acceptance(WordsModel):
    """A finding that the user has judged and takes responsibility for."""

    rule: Designation = Field(description="The rule's name as printed.")
    feature: Annotated[
        Annotated[Designation, Tag("<plain>")]
        | Annotated[Annotated[list[Designation], Field(min_length=1, max_length=MAX_FEATURES)], Tag("<each>")],
        Discriminator(zero_tag),
    ] = Field(
        description="The feature it is about, as printed, or several in brackets. Where two things are in each other's "
        "way (`overlap`, `clash`, `pilot-over-bolts`) both are named; what cannot be made is never accepted."
    )
    found: Judged | None = Field(
        default=None,
        description="The figure that was judged, as the finding says it; a bare length is in the unit of the spec. A "
        "stop is accepted only with it, and opens again when the figure is worse.",
    )
    because: Text = Field(description="The reason; printed on every sheet.")

    @property
    def names(self) -> tuple[str, ...]:
        """The features, one or more."""
        return (self.feature,) if isinstance(self.feature, str) else tuple(self.feature)


class SpecModel(WordsModel):
    """A whole spec."""

    platekit: Version = Field(description="Version of the spec language.")
    title: Text = Field(description="What the plate is for; printed on every sheet.")
    units: Unit = Field(description="Unit of every bare number: mm or in. Nothing is guessed.")
    plate: PlateWords = Field(description="The plate itself.")
    mounts: dict[MountName, MountWords] = Field(
        min_length=1,
        max_length=MAX_NAMED,
        description="What the plate bolts to, such as the old machine and the new motor, by name.",
    )
    bodies: dict[Name, BodyWords] = Field(
        default_factory=no_names, max_length=MAX_NAMED, description="Space that something takes up, by name."
    )
    drive: DriveWords | None = Field(default=None, description="The belt drive.")
    couplings: dict[Name, CouplingWords] = Field(
        default_factory=no_names,
        max_length=MAX_COUPLINGS,
        description="Shafts in line that a coupling joins end to end, without a belt, by name.",
    )
    guard: GuardWords | None = Field(default=None, description="The guard over the belt.")
    second_guard: SecondGuardWords | None = Field(
        default=None,
        description="A guard of its own over the other belt of a countershaft, where the two do not run beside each "
        "other on the same side.",
    )
    cutting: CuttingWords = Field(default_factory=CuttingWords, description="How the plate is cut.")
    limits: LimitsWords = Field(default_factory=LimitsWords, description="Limits of the checks.")
    paper: Paper = Field(default_factory=Paper, description="The 1:1 paper.")
    tables: Designation | None = Field(
        default=None,
        description="Your own tables: a folder, from the spec, of CSV files with the motors, steels, belts and process "
        "figures that your shop has. See the page on tables.",
    )
    side_files: Literal["here", "anywhere"] = Field(
        default="here",
        description="Where the files that the spec names (drawings, the machine) may lie: `here`, in the folder of the "
        "spec and those within it, or `anywhere`.",
    )
    accept: list[Acceptance] = Field(
        default_factory=no_items, max_length=MAX_NAMED, description="Findings judged and accepted."
    )
