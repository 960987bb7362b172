"""Belt lengths: which length is meant, which are stocked, how the trade writes them, how true they are."""

from __future__ import annotations

import re
from math import pi
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.errors import LookupFailed
from platekit.tables.belts.data import figures, rows_of
from platekit.tables.belts.sections import LENGTH_KINDS, LengthKind, Section, section
from platekit.tables.naming import listed
from platekit.tables.rows import Row, TableError, in_mm, kept
from platekit.tables.values import Source
from platekit.units import INCH

LARGEST_INCH_SIZE = 400
"""A larger classical trade size cannot be meant in inches, the longest have 360 in (common practice)."""

WHOLE_TOOTH = 0.02
"""How far a length stated in mm may be from whole teeth, in teeth: tables print lengths to 0.01 or 0.1 mm."""

ROUNDED_TOOTH = 0.15
"""The same for a trade size: 187L has 50 teeth of 3/8 in, 18.75 in, written as 187 (ISO 5296)."""

_CLASSICAL = re.compile(r"(AX|BX|A|B)[ -]?(\d+(?:\.\d+)?)")
_LIGHT = re.compile(r"([345]L)[ -]?(\d{2,4})")
_NARROW_METRIC = re.compile(r"([SX]P[ZAB]|SPC)[ -]?(\d{3,5})")
_NARROW_INCH = re.compile(r"([35]V)[ -]?(\d{3,4})")
_RIBBED_METRIC = re.compile(r"(?:(\d+)[ -]?)?(P[JK])[ -]?(\d{3,4})")
_RIBBED_INCH = re.compile(r"(\d{3,4})[ -]?([JK])[ -]?(\d+)?")
_TOOTHED_INCH = re.compile(r"(\d{2,4})[ -]?(XL|L|H)[ -]?(\d{3})?")
_TOOTHED_METRIC = re.compile(r"(?:(\d+)[ -]?)?(A?T5|A?T10|3M|5M|8M|14M)[ /-]?(\d{2,4})(?:[ -](\d+))?")
_TOOTHED_METRIC_TURNED = re.compile(r"(\d{3,4})[ -]?(A?T5|A?T10|3M|5M|8M|14M)(?:[ -]?(\d+))?")

Style = Literal["classical", "plain", "ribbed metric", "ribbed inch", "toothed inch", "length first", "section first"]
EXAMPLES = ("A38", "4L380", "SPZ1000", "3V475", "6PJ1016", "380J6", "200XL037", "5M-500", "T5-500")
"""One trade size of each style, shown when a size cannot be read."""


class BeltSize(Struct, frozen=True):
    """One belt: its section, its length in mm as stated and along the pitch line, width in mm and ribs.

    Width, ribs and teeth are 0 where nothing is said of them.

    `length` and `of` are what was stated: a belt's length always says where it is measured.
    """

    section: Section
    length: float
    of: LengthKind
    pitch_length: float
    teeth: int
    width: float
    ribs: int
    label: str
    source: Source


class LengthTolerance(Struct, frozen=True):
    """How much longer (`plus`) and shorter (`minus`) than printed a belt may be, in mm; both positive."""

    plus: float
    minus: float
    source: Source


def pitch_length(name: str, length: float, of: LengthKind) -> float:
    """The pitch length in mm of a belt whose stated length in mm is measured as `of` says.

    Raises `LookupFailed` when no conversion is known. A38 has 38 in inside, and so 39.3 in along the cords:

    >>> round(pitch_length("A", 38 * 25.4, "inside") / 25.4, 1)
    39.3
    """
    return length if of == "pitch" else length + _added(name, of)


def stated_length(name: str, pitch: float, of: LengthKind) -> float:
    """The inside, outside or effective length in mm from the pitch length; undoes `pitch_length`."""
    return pitch if of == "pitch" else pitch - _added(name, of)


def belt_size(name: str, length: float, of: LengthKind, width: float = 0, ribs: int = 0) -> BeltSize:
    """The belt of this section and stated length in mm.

    Raises `LookupFailed` when a toothed one is not whole teeth.
    """
    kind = section(name)
    along = pitch_length(name, length, of)
    label = f"{kind.name} {length:g} mm {of}"
    if kind.toothed:
        # The stated length may be rounded; the belt has whole teeth, so its true length is theirs.
        teeth = _whole_teeth(kind, along, WHOLE_TOOTH)
        return BeltSize(kind, length, of, teeth * kind.pitch, teeth, width, ribs, label, kind.source)
    return BeltSize(kind, length, of, along, 0, width, ribs, label, kind.source)


def trade_size(text: str) -> BeltSize:
    """The belt that the trade calls by this name.

    Classical V-belts are sold by inches inside (A38), light-duty ones by tenths of an inch outside
    (4L380), narrow inch ones by tenths of an inch effective (3V475), narrow metric ones by mm of pitch
    length (SPZ1000), ribbed ones by mm (6PJ1016) or tenths of an inch (380J6) effective, toothed ones
    by tenths of an inch (200XL037) or mm (5M-500) of pitch length. Raises `LookupFailed`.

    >>> size = trade_size("A38")
    >>> size.of, round(size.length, 1), round(size.pitch_length, 1)
    ('inside', 965.2, 998.2)
    """
    name = " ".join(text.upper().split())
    for style, pattern in _STYLES:
        found = pattern.fullmatch(name)
        if found is None:
            continue
        a, b, c = (*found.groups(""), "", "")[:3]
        match style:
            case "classical":
                if float(b) > LARGEST_INCH_SIZE:
                    raise LookupFailed(
                        f"{name!r} does not say which length it means: {a} belts of {float(b):g} mm are sold "
                        f"by inside and by pitch length",
                        wanted="give the section and `inside_length` or `pitch_length`",
                    )
                return _sold(a, float(b), f"{a}{float(b):g}")
            case "plain":
                return _sold(a, float(b), f"{a}{b}")
            case "ribbed metric":
                return _sold(b, float(c), f"{a}{b}{c}", ribs=int(a or 0))
            case "ribbed inch":
                return _sold(b, float(a), f"{a}{b}{c}", ribs=int(c or 0))
            case "toothed inch":  # its width in hundredths of an inch: 037 is 3/8 in
                return _sold(b, float(a), f"{a}{b}{c}", width=round(float(c) * INCH / 100, 3) if c else 0.0)
            case "length first":  # a belt is always longer than wide, so the larger figure is the length
                width, length = sorted((int(a), int(c or 0)))
                return _sold(b, length, f"{b}-{length}", width=width)
            case "section first":
                return _sold(b, float(c), f"{b}-{c}", width=float(a or found[4] or 0))
    raise LookupFailed(f"{text!r} is no belt size that the tables can read", wanted=f"write it like {listed(EXAMPLES)}")


@kept()
def stock(name: str) -> tuple[BeltSize, ...]:
    """The belts commonly stocked in a section, shortest first; each pitch length (mm) once."""
    kind = section(name)
    found: dict[float, BeltSize] = {}
    for row in rows_of("belts/stock.csv", "section", kind.name):
        for value in figures(row, "values"):
            size = _stocked(kind, row, value)
            # Two rows may tell one length in different words: the first to name it gives its label.
            found.setdefault(round(size.pitch_length, 3), size)
    return tuple(found[length] for length in sorted(found))


def nearest_stock(name: str, pitch: float, count: int = 3) -> tuple[BeltSize, ...]:
    """The stocked belts closest to a pitch length in mm, closest first."""
    return tuple(sorted(stock(name), key=lambda size: abs(size.pitch_length - pitch))[:count])


@kept(256)
def length_tolerance(name: str, pitch: float) -> LengthTolerance:
    """How true the length of a belt of this section and pitch length in mm is."""
    kind = section(name)
    for row in rows_of("belts/tolerances.csv", "for", kind.name, kind.family):
        if row.need("over") < pitch <= row.need("up_to"):
            # Standards print a fixed part and, for long belts, a share of the length.
            share = row.number("share") * pitch
            return LengthTolerance(row.need("plus") + share, row.need("minus") + share, row.source)
    raise LookupFailed(f"no length tolerance is known for {kind.name} belts of {pitch:g} mm")


def _added(name: str, of: LengthKind) -> float:
    kind = section(name)
    for row in rows_of("belts/conversions.csv", "section", kind.name):
        if row.text("of") == of:
            # What is added is round the belt: a depth times two pi, or the whole of it as printed.
            added = in_mm(row.number("add"), row.text("unit"))
            return added * pi if row.text("times_pi") == "yes" else added
    known = [kind.sold_by, *(row.text("of") for row in rows_of("belts/conversions.csv", "section", kind.name))]
    usual = listed(dict.fromkeys(["pitch", *known]))
    raise LookupFailed(
        f"the {of} length of {kind.name} belts has no published conversion", wanted=f"give the {usual} length"
    )


def _whole_teeth(kind: Section, along: float, tolerance: float) -> int:
    teeth = round(along / kind.pitch)
    if teeth < 1 or abs(along / kind.pitch - teeth) > tolerance:
        below = int(along // kind.pitch)
        raise LookupFailed(
            f"{kind.name} belts of {along:g} mm would have {along / kind.pitch:.2f} teeth",
            wanted=f"use {below * kind.pitch:g} mm ({below} teeth) or "
            f"{(below + 1) * kind.pitch:g} mm ({below + 1} teeth)",
        )
    return teeth


def _sold(name: str, number: float, label: str, width: float = 0, ribs: int = 0) -> BeltSize:
    """The belt whose trade size carries this number, as the section is sold."""
    kind = section(name)
    length = in_mm(number, kind.sold_in)
    along = pitch_length(kind.name, length, kind.sold_by)
    teeth = _whole_teeth(kind, along, ROUNDED_TOOTH) if kind.toothed else 0
    return BeltSize(kind, length, kind.sold_by, teeth * kind.pitch or along, teeth, width, ribs, label, kind.source)


_STYLES: tuple[tuple[Style, re.Pattern[str]], ...] = (
    ("classical", _CLASSICAL),
    ("plain", _LIGHT),
    ("plain", _NARROW_METRIC),
    ("plain", _NARROW_INCH),
    ("ribbed metric", _RIBBED_METRIC),
    ("ribbed inch", _RIBBED_INCH),
    ("toothed inch", _TOOTHED_INCH),
    ("length first", _TOOTHED_METRIC_TURNED),
    ("section first", _TOOTHED_METRIC),
)
"""How the trade writes sizes; what is written `length first` is tried before, as its first figure has more digits."""


def _stocked(kind: Section, row: Row, value: float) -> BeltSize:
    """One entry of the stock table."""
    if row.text("unit") == "teeth":
        # The table counts teeth where that is how a section is sold; the trade then writes tenths of an inch, rounded.
        along = value * kind.pitch
        label = f"{int(along / INCH * 10 + 0.5)}{kind.name}"
        return BeltSize(kind, along, "pitch", along, int(value), 0, 0, label, row.source)
    of = next((known for known in LENGTH_KINDS if known == row.text("of")), None)
    if of is None:
        raise TableError(f"{row.file}:{row.line}: no kind of length is called {row.text('of')!r}")
    length = in_mm(value, row.text("unit"))
    size = belt_size(kind.name, length, of)
    sold = of == kind.sold_by and row.text("unit") == kind.sold_in
    if not sold:
        return replace(size, source=row.source)
    # As the trade writes it: behind the figure where that counts inches of a section by one letter, else before it.
    label = f"{kind.name}{value:g}"
    if kind.name in ("J", "K") or (kind.toothed and kind.sold_in == "in/10"):
        label = f"{value:g}{kind.name}"
    elif kind.toothed:
        label = f"{kind.name}-{value:g}"
    return replace(size, label=label, source=row.source)
