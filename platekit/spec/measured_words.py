"""The words of the spec language for a pattern measured with caliper, rule or tape."""

import difflib
from typing import Annotated, Any, Final, Literal, Self, get_args

from pydantic import Field, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core import CoreSchema

from platekit import units
from platekit.errors import UnitError
from platekit.spec.base import WordsModel
from platekit.spec.fields import LengthFromZero, Name, PositiveLength, Read, YesNo, no_items, no_names, wrong

ReadingKind = Literal["inside", "over", "centres", "edge", "x", "y", "across", "up", "diameter"]
Tool = Literal["caliper", "rule", "tape"]
HoleKind = Literal["hole", "bore", "shaft", "stud", "pin", "dowel"]

PAIRS: Final = frozenset({"inside", "over", "centres"})
"""Kinds of reading that go from one hole to another."""
SIGNED: Final = frozenset({"x", "y", "across", "up"})
"""Kinds of reading whose value may be zero or negative."""
MAX_MEASURED = 100
"""Most holes in one measured pattern (a stated limit, ours): so many take some seconds to survey."""
MAX_READINGS = 2_000
"""Most readings of one pattern (a stated limit, ours)."""
MAX_SIGMA = 5.0
"""Largest sigma of one reading, mm (ours): seven times that of a tape; what is larger is a slip, not a measurement."""
LIKE: Final = 0.6
"""Likeness (0 to 1) from which a word is taken for a slip of a kind (ours, tried on common slips)."""
FORM: Final = "write [A, B, inside, 81.7], or [A, x, 35.2]; a sigma or tool may follow"


def read_sigma(value: Any, info: ValidationInfo) -> Any:
    """One standard deviation, mm: a length above zero that a reading can have."""
    unit: units.Unit = info.context["unit"] if info.context else "mm"
    try:
        length = units.length(value, unit)
    except UnitError:
        return value  # the kind of value below says what is wrong with it
    # A sigma of 37 mm is the second half of 79,37 far more often than a measurement.
    if length > MAX_SIGMA:
        shown = units.show_length(MAX_SIGMA, unit)
        raise wrong(f"a sigma of {units.shown(value)}", f"a sigma is at most {shown}, a good reading's is far below it")
    return value


Sigma = Annotated[PositiveLength, Read(read_sigma, by_unit=True)]
"""One standard deviation of a reading, mm."""


class MeasuredHole(WordsModel):
    """One hole, bore, shaft, stud or pin that was measured."""

    diameter: PositiveLength | None = Field(default=None, description="As measured; needed for inside and over.")
    kind: HoleKind = Field(
        default="hole",
        description="`bore`, `shaft` and `dowel` take no screw: a shaft sticks out of the part, is measured over the "
        "outside, and gets an opening; `stud` and `pin` are measured over the outside too. A `pin` is put into a screw "
        "hole to measure by, and its screw goes there; a `stud` stays if `screws: into: stud` says so. A `dowel` is a "
        "hole for a dowel pin that the part already has: the plate gets one over it (`dowels`).",
    )
    stands: LengthFromZero | None = Field(
        default=None,
        description="Of a shaft or a stud: how far it stands out of the part's mating face; 0 of a shaft that ends "
        "behind that face: it gets no opening.",
    )
    sigma: Sigma | None = Field(
        default=None,
        description="The usual error of its diameter (one standard deviation): two readings out of three are better.",
    )


class ReadingWords(WordsModel):
    """One measurement: which holes, what kind, the value, and how good it is."""

    features: tuple[Name, ...] = Field(min_length=1, max_length=2)
    kind: ReadingKind
    value: float
    sigma: Sigma | None = None
    tool: Tool | None = None


def read_reading(value: Any, info: ValidationInfo) -> Any:
    """A reading written as a list, taken apart by where its kind stands."""
    if isinstance(value, ReadingWords):
        return value
    if not isinstance(value, list | tuple):
        raise wrong(units.shown(value), FORM)
    # The kind stands third (two holes) or second (one): where it is found tells how many holes the reading is of. The
    # third place is asked first, so that a hole called `x` or `edge` in the second does not pass for a kind.
    items = list(value)
    at = next((place for place in (2, 1) if len(items) > place and items[place] in get_args(ReadingKind)), None)
    if at is None and (strange := _strange_kind(items)) is not None:
        # A slip has the kind meant named first; the others may be what was wanted all the same.
        kinds = get_args(ReadingKind)
        near = _near_kinds(strange)
        others = ", ".join(kind for kind in kinds if kind not in near)
        raise wrong(
            f"a reading of the kind {units.shown(strange)}",
            f"did you mean {near[0]}? The others are {others}" if near else f"use one of {', '.join(kinds)}",
        )
    if at is not None and (comma := _decimal_comma(items[at + 1 :])) is not None:
        raise wrong(*comma)
    if at is None or len(items) not in (at + 2, at + 3):
        raise wrong(f"a reading of {len(items)} parts without one of its kinds in its place", FORM)
    kind = items[at]
    if kind in PAIRS and at != 2:
        raise wrong(f"a reading `{kind}` of one hole", f"it goes from one hole to another: {FORM}")
    if kind not in PAIRS and kind != "edge" and at != 1:
        raise wrong(f"a reading `{kind}` of two holes", f"it is of one hole: [A, {kind}, 35.2]")
    unit: units.Unit = info.context["unit"] if info.context else "mm"
    # x and y count from a corner, across and up from somewhere in a picture, and may lie either side of it; all else is
    # a length between two jaws.
    try:
        length = units.length(items[at + 1], unit)
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None
    if length <= 0 and kind not in SIGNED:
        raise wrong(units.shown(items[at + 1]), "a reading is a length above zero")
    # What stands behind the value may be a tool or a sigma, in either order: each tells itself by its kind.
    read = {"features": items[:at], "kind": kind, "value": length}
    for quality in items[at + 2 :]:
        read["tool" if quality in get_args(Tool) else "sigma"] = quality
    return read


def _decimal_comma(figures: list[Any]) -> tuple[str, str] | None:
    """What is found and wanted where value and sigma, both whole, look like one figure with a decimal comma.

    YAML takes the comma for the end of a value: 79,37 becomes a reading of 79 with a sigma of 37.
    """
    if len(figures) < 2 or not all(isinstance(one, int) and not isinstance(one, bool) for one in figures[:2]):
        return None
    whole, rest = figures[:2]
    if rest < 0 or len(figures) > 3:
        return None
    wanted = f"if that is one figure with a decimal comma, write {whole}.{rest}; else a sigma with a point, {rest}.0"
    return f"{whole} and then {rest}", wanted


def _strange_kind(items: list[Any]) -> str | None:
    """The word that stands where the kind has to; of one hole only if it is like a kind."""
    # In the third place any word must be meant for a kind. In the second it may well be a hole, with the kind left
    # out behind it, so there only what is near to a kind is one.
    for place in (2, 1):
        word = items[place] if len(items) > place + 1 else None
        if isinstance(word, str) and not word.lstrip("+-. ")[:1].isdigit() and (place == 2 or _near_kinds(word)):
            return word
    return None


def _near_kinds(word: str) -> list[str]:
    return difflib.get_close_matches(word[:80].casefold(), get_args(ReadingKind), 1, LIKE)


ReadingItem = Annotated[
    ReadingWords,
    Read(
        read_reading,
        by_unit=True,
        schema={
            "type": "array",
            "minItems": 3,
            "maxItems": 5,
            "description": f"One reading: {FORM}. Kinds: {', '.join(get_args(ReadingKind))}.",
            "examples": [["A", "B", "inside", 81.7], ["A", "bore", "centres", 65.0, 0.2], ["A", "x", 35.2, "rule"]],
        },
    ),
]


def read_hole(value: Any) -> Any:
    """A hole written as its diameter only; nothing where it was not measured."""
    if value is None:
        return {}
    return value if isinstance(value, dict | MeasuredHole) else {"diameter": value}


class _OrDiameter:
    """Tells editors that a hole may be written as its diameter only, or left empty."""

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        bare = MeasuredHole.model_json_schema()["properties"]["diameter"]["anyOf"]
        return {"anyOf": [handler(core), *bare], "description": MeasuredHole.__doc__ or "", "examples": [10.2]}


Hole = Annotated[MeasuredHole, Read(read_hole), _OrDiameter()]


def read_all_or_some(value: Any) -> Any:
    """True, or the names of those that are meant."""
    if isinstance(value, bool | list | tuple):
        return value
    raise wrong(units.shown(value), "write true for all holes, or a list of their names")


AllOrSome = Annotated[YesNo | list[Name], Read(read_all_or_some)]


def read_rough_place(value: Any, info: ValidationInfo) -> Any:
    """[x, y] of a hole, or [x, y, x, y] of the two ends of an edge, as lengths."""
    if not isinstance(value, list | tuple) or len(value) not in (2, 4):
        raise wrong(units.shown(value), "write [x, y], for an edge [x, y, x, y] of its two ends; roughly is enough")
    unit: units.Unit = info.context["unit"] if info.context else "mm"
    try:
        return tuple(units.length(one, unit) for one in value)
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None


RoughPlace = Annotated[
    tuple[float, ...],
    Read(
        read_rough_place,
        by_unit=True,
        schema={
            "type": "array",
            "minItems": 2,
            "maxItems": 4,
            "description": "Roughly where it is: [x, y], for an edge [x, y, x, y] of its two ends.",
            "examples": [[-60, 45]],
        },
    ),
]
"""Roughly where something is as drawn by hand, mm: a point, or the two ends of an edge."""


class MeasuredPattern(WordsModel):
    """Holes and the readings between them; the survey works out where they are."""

    holes: dict[Name, Hole] = Field(
        max_length=MAX_MEASURED,
        description="Measured diameter of every hole, by name; a bore is called bore, or says `kind: bore`. Empty "
        "where measuring has not begun.",
    )
    readings: list[ReadingItem] = Field(
        default_factory=no_items, max_length=MAX_READINGS, description="What was measured, one reading a line."
    )
    sigma: Sigma | None = Field(
        default=None,
        description="The usual error of one reading (one standard deviation): two out of three are better. A caliper "
        "in a shop has about 0.1 mm.",
    )
    clockwise: tuple[Name, Name, Name] | None = Field(
        default=None, description="Three holes that follow each other clockwise, as looked at."
    )
    origin: Name | None = Field(default=None, description="The hole at 0,0; or centre, or corner.")
    x_axis: tuple[Name, Name] | None = Field(default=None, description="Two holes: x points from one to the other.")
    on_circle: AllOrSome = Field(default=False, description="The holes lie on one bolt circle.")
    evenly: YesNo = Field(default=False, description="With on_circle: evenly spaced, named going round.")
    rectangle: AllOrSome = Field(default=False, description="Four holes, named going round, make a rectangle.")
    edges: list[Name] = Field(default_factory=no_items, max_length=8, description="Straight datum edges, by name.")
    sketch: dict[Name, RoughPlace] = Field(
        default_factory=no_names,
        max_length=MAX_MEASURED,
        description="Roughly where each hole is, as looked at, drawn by hand: it says which readings to take, and, "
        "where `clockwise` does not, which way round the holes follow each other. No place on the plate comes from it.",
    )
    hole: PositiveLength | None = Field(
        default=None, description="The same as `hole` beside the kind of pattern, where it belongs."
    )

    @model_validator(mode="after")
    def check_standing(self) -> Self:
        """Only what stands out of the part says how far (mm)."""
        for name, hole in self.holes.items():
            kind = self.kind_of(name)
            if hole.stands is not None and kind not in ("shaft", "stud"):
                raise wrong(f"`stands` of {name}, a {kind}", "leave it out, or say `kind: shaft` or `kind: stud`")
            if hole.stands == 0.0 and kind == "stud":
                raise wrong(f"`stands: 0` of {name}, a stud", "say how far it stands out of the part")
        return self

    def kind_of(self, name: str) -> HoleKind:
        """What a hole is: as said, else a bore if it is called so."""
        hole = self.holes[name]
        named_bore = name.lower() == "bore" and "kind" not in hole.model_fields_set
        return "bore" if named_bore else hole.kind

    @property
    def screw_holes(self) -> tuple[str, ...]:
        """The holes that take screws, in the order of the spec."""
        return tuple(name for name in self.holes if self.kind_of(name) not in ("bore", "shaft", "dowel"))

    @property
    def dowel_holes(self) -> tuple[str, ...]:
        """The holes for dowel pins that the part already has, in the order of the spec."""
        return tuple(name for name in self.holes if self.kind_of(name) == "dowel")
