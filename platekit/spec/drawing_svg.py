"""The strokes of an SVG file: its shapes and paths where they are drawn, in the units of its outermost element, y up.

The file is read as it comes, element by element, and never kept whole. What would change a shape in a way that is not
followed here (styles with transforms, clipping, shapes used again, an `svg` in an `svg`) is refused where it matters.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final, cast

from msgspec import Struct

from platekit.spec.drawing_paths import Matrix, PathPen, after, read_path
from platekit.spec.drawings import MAX_DEPTH, MAX_PARTS, MILLIMETRES, DrawingError, Said, Sheet
from platekit.units import INCH, shown

SVG: Final = "http://www.w3.org/2000/svg"
NO_PAINT: Final = "shape that has neither line nor fill"
PLAIN: Final = "save it as plain SVG"
UPRIGHT: Final[Matrix] = (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)

Attributes = Mapping[str, str]


class _OpenElement(Struct):
    """An element that has begun: what it passes on to what is in it."""

    matrix: Matrix
    taken: bool
    """Whether it belongs to the layer asked for."""
    ignored: str = ""
    """Why nothing in it is drawn; a blank where that need not be said."""
    trouble: str = ""
    """Why nothing in it can be read."""
    fill: str = ""
    stroke: str = ""
    visibility: str = "visible"


def read_svg(sheet: Sheet, data: bytes) -> None:
    """Put the strokes of an SVG file on the sheet."""
    from xml.parsers import expat

    reader = _Reader(sheet)
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = False
    parser.StartDoctypeDeclHandler = reader.doctype
    parser.ProcessingInstructionHandler = reader.instruction
    parser.StartElementHandler = reader.begin
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.text
    try:
        parser.Parse(data, True)
    except MemoryError as error:
        raise DrawingError(f"{sheet.name}, for which the memory is too small", "save the outline alone") from error
    except (expat.ExpatError, LookupError, UnicodeError) as error:  # the last two: encodings that nobody knows
        raise DrawingError(f"{sheet.name}, which is no SVG file ({error})", PLAIN) from None
    except _Unreadable as error:
        raise DrawingError(f"{sheet.name}, in which {error}", PLAIN) from None
    except ValueError as error:  # what the parser says to an encoding of many bytes
        raise DrawingError(f"{sheet.name}, which is no SVG file ({error})", PLAIN) from None


class _Unreadable(Exception):
    """Something that is not followed; the half sentence says what."""


class _Reader:
    """Takes what the parser finds."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._open: list[_OpenElement] = []
        self._elements = 0
        self._styled = ""
        self._style: list[str] | None = None

    def doctype(self, *_: object) -> None:
        """A document type may define entities, each made of others, without end; no drawing needs one."""
        raise DrawingError(
            f"{self._sheet.name}, which has a DOCTYPE and may define entities of its own",
            f"{PLAIN}, or delete its line <!DOCTYPE ...>",
        )

    def instruction(self, target: str, _: str) -> None:
        """A style sheet in another file may move what is drawn."""
        if target == "xml-stylesheet":
            raise _Unreadable("a style sheet of another file is used")

    def text(self, text: str) -> None:
        """What stands between tags matters in a style sheet only."""
        if self._style is not None:
            self._style.append(text)

    def begin(self, name: str, attributes: Attributes) -> None:
        """An element begins."""
        self._elements += 1
        if self._elements > MAX_PARTS:
            raise DrawingError(f"more than {MAX_PARTS} elements in {self._sheet.name}", "save the outline alone")
        space, _, tag = name.rpartition("}")
        if not self._open:
            self._begin_root(space, tag, attributes)
            return
        # Three sorts: what is followed (shapes, groups), what is passed over and counted, and what would make another
        # drawing of the rest and is refused, but only where it could touch what is asked for.
        outer = self._open[-1]
        if tag == "style" and space in ("", SVG):
            self._style = []
        followed = tag in _DRAWN or tag in ("g", "a") or tag in _REFUSED_INSIDE
        if tag in _REFUSED and space in ("", SVG) and outer.taken and not outer.ignored:
            raise _Unreadable(_REFUSED[tag])
        if outer.ignored == " " or space not in ("", SVG) or not followed:
            if outer.taken and not outer.ignored and space in ("", SVG) and tag not in _NOT_DRAWN:
                self._sheet.left_out[tag] += 1
            self._open.append(_OpenElement(outer.matrix, False, ignored=" "))
            return
        if len(self._open) > MAX_DEPTH:
            raise _Unreadable(f"groups are nested more than {MAX_DEPTH} deep")
        own = _opened(outer, tag, attributes, self._sheet.layer)
        self._open.append(own)
        if tag in _DRAWN and own.taken:
            self._draw(own, tag, attributes)

    def end(self, name: str) -> None:
        """An element ends."""
        self._open.pop()
        if self._style is not None and name.rpartition("}")[2] == "style":
            sheet = _COMMENT.sub(" ", "".join(self._style))
            self._style = None
            # A style sheet is not applied; one that would move or hide a shape makes the file unreadable instead.
            moving = next((name for name in map(str.lower, _PROPERTY.findall(sheet)) if name in _MOVES), "")
            # Escapes and imports would need a whole reader of style sheets to know what they say: refused, not guessed.
            if "\\" in sheet or "@import" in sheet.lower():
                moving = "parts that cannot be read"
            # A sheet may stand behind the shapes that it paints: those passed over or taken before are held against it.
            self._styled = moving or self._styled or " "
            if self._sheet.left_out[NO_PAINT] or (moving and self._sheet.strokes):
                moving = moving or "paint for shapes before it"
                raise _Unreadable(f"a style sheet has {moving}")

    def _begin_root(self, space: str, tag: str, attributes: Attributes) -> None:
        if tag != "svg" or space not in ("", SVG):
            raise _Unreadable(f"the outermost element is {shown(tag)} and not svg")
        self._sheet.said = _said(attributes)
        self._sheet.scale  # noqa: B018  units: own needs a file that says its unit
        own = _opened(_OpenElement(UPRIGHT, self._sheet.layer is None), "", attributes, self._sheet.layer)
        self._open.append(own)

    def _draw(self, own: _OpenElement, tag: str, attributes: Attributes) -> None:
        if own.trouble:
            raise _Unreadable(own.trouble)
        if self._styled.strip():
            raise _Unreadable(f"a style sheet has {self._styled}")
        hidden = own.ignored.strip()
        if not hidden and own.visibility != "visible":
            hidden = "that is set invisible"
        # a style sheet may well paint what has no paint of its own
        if not hidden and not self._styled and own.fill == "none" and own.stroke in ("", "none"):
            hidden = NO_PAINT
        if hidden:
            self._sheet.left_out[hidden if hidden == NO_PAINT else f"{tag} {hidden}"] += 1
            return
        try:
            definition = path_of(tag, attributes)
            if definition:
                read_path(definition, PathPen(own.matrix, self._sheet))
        except ValueError as error:
            raise _Unreadable(str(error)) from None


_REFUSED: Final = {
    "use": "a shape is used again (use); unlink the copy",
    "script": "a script may change the drawing",
    **dict.fromkeys(("animate", "animateTransform", "animateMotion", "set"), "a shape moves"),
}
"""Elements that make another drawing of what stands in the file, in words."""
_REFUSED_INSIDE: Final = {
    "svg": "an svg stands within the svg; take its shapes out",
    "switch": "a switch chooses what is drawn",
}
"""Elements in which nothing can be read where it is drawn."""
_NOT_DRAWN: Final = frozenset(
    (
        *("defs", "clipPath", "mask", "symbol", "marker", "pattern", "metadata", "title", "desc", "style", "filter"),
        *("linearGradient", "radialGradient"),
    )
)
_COMMENT: Final = re.compile(r"/\*.*?(?:\*/|\Z)", re.DOTALL)
_PROPERTY: Final = re.compile(r"([-a-zA-Z]+)\s*:")
_MOVES: Final = frozenset(
    (
        *("transform", "transform-origin", "transform-box", "translate", "rotate", "scale", "zoom", "offset"),
        *("offset-path", "offset-distance", "offset-rotate", "clip-path", "clip", "mask", "d", "cx", "cy", "r"),
        *("rx", "ry", "x", "y", "width", "height", "display", "visibility", "animation", "animation-name"),
        *("perspective", "all"),
    )
)
"""Properties of a style by which a shape is elsewhere, another, or none at all."""
_HARMLESS: Final = frozenset(("none", "auto", "normal", "inherit", "initial", "unset"))
"""Values by which such a property changes nothing."""


def _opened(outer: _OpenElement, tag: str, attributes: Attributes, layer: str | None) -> _OpenElement:
    """An element with what it has from those round it and what it says itself."""
    names = {value for key, value in attributes.items() if key.rpartition("}")[2] in ("id", "label")}
    own = _OpenElement(
        outer.matrix,
        outer.taken or layer in names,
        outer.ignored,
        outer.trouble,
        outer.fill,
        outer.stroke,
        outer.visibility,
    )
    style = _style(attributes.get("style", ""))
    shown_as = {
        key: style.get(key, attributes.get(key, "")).strip().lower()
        for key in ("display", "visibility", "fill", "stroke", "opacity")
    }
    own.fill = _inherited(shown_as["fill"], outer.fill)
    own.stroke = _inherited(shown_as["stroke"], outer.stroke)
    own.visibility = _inherited(shown_as["visibility"], outer.visibility)
    # Kept with the element and told when something in it is drawn: a symbol that is never used harms nobody.
    own.trouble = own.trouble or _REFUSED_INSIDE.get(tag, "")
    # Troubles are kept, not raised: an element that nobody asked for may hold whatever it likes.
    moved = {key for key, value in style.items() if key in _MOVES and value.strip().lower() not in _HARMLESS}
    if not own.trouble and moved - {"display", "visibility"}:
        own.trouble = f"a style has {min(moved - {'display', 'visibility'})}"
    if not own.trouble and "\\" in attributes.get("style", ""):
        own.trouble = "a style cannot be read"
    for key in ("transform-origin", "transform-box", "clip-path", "mask"):
        if not own.trouble and attributes.get(key, "none").strip() != "none":
            own.trouble = f"a shape has a {key}"
    try:
        # Transforms are applied from the left, each in the frame of those before it (SVG 1.1, chapter 7.6).
        text = attributes.get("transform", "")
        whole: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        at = 0
        while at < len(text.rstrip()):
            turn = _TURN.match(text, at)
            if turn is None:
                if text.strip() == "none":
                    break
                raise ValueError(f"the transform {shown(text[at:])} cannot be read")
            whole = after(whole, _one_transform(turn[1], _figures_in(turn[2])))
            at = turn.end()
        own.matrix = after(outer.matrix, whole)
    except ValueError as error:
        own.trouble = own.trouble or str(error)
    if shown_as["display"] == "none":
        own.ignored = "that is not displayed"
    elif re.fullmatch(r"[-+]?0*\.?0+%?", shown_as["opacity"]) is not None:
        own.ignored = "that is wholly transparent"
    return own


def _inherited(own: str, outer: str) -> str:
    return own if own and own != "inherit" else outer


def _style(text: str) -> dict[str, str]:
    """The properties in a `style`."""
    pairs = (part.partition(":") for part in _COMMENT.sub(" ", text).split(";"))
    return {key.strip().lower(): value.replace("!important", "") for key, _, value in pairs if key.strip()}


# ------------------------------------------------------------------------------- units


_ABSOLUTE: Final = {
    **dict.fromkeys(("", "px"), MILLIMETRES["px"]),
    "mm": 1.0,
    "cm": 10.0,
    "in": INCH,
    "pt": INCH / 72,
    "pc": INCH / 6,
    "q": 0.25,
}
"""Units of a length in mm (P: CSS Values and Units 3, chapter 6.2)."""
_LENGTH: Final = re.compile(r"\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)\s*([a-zA-Z%]*)\s*")
_SPEAKS: Final = 1e-6
"""Share by which width and viewBox may differ and still be one."""


def _said(attributes: Attributes) -> Said | None:
    """What one unit in the outermost `svg` is by its own words (P: SVG 1.1, chapters 7.7 to 7.8 and 7.11)."""
    wide, high = (_length(attributes, key) for key in ("width", "height"))
    view, text = None, attributes.get("viewBox", "")
    if text.strip():
        try:
            _, _, across, along = _figures_in(text)
        except ValueError:
            raise _Unreadable(f"the viewBox {shown(text)} cannot be read") from None
        if not (0.0 < across < math.inf and 0.0 < along < math.inf):
            raise _Unreadable(f"the viewBox {shown(text)} has no size")
        view = across, along
    # Width over viewBox is the size of one unit. A plain number in both is no word at all: every program writes one.
    physical = any(unit not in ("", "px") for _, unit in (wide, high) if _ is not None)
    if view is None:
        if physical:
            return Said(MILLIMETRES["px"], "px of 1/96 in (a width or height in a unit, but no viewBox)", "px")
        return None
    scales = [
        value * _ABSOLUTE[unit] / side
        for (value, unit), side in zip((wide, high), view, strict=True)
        if value is not None
    ]
    if not scales:
        return None
    fit = attributes.get("preserveAspectRatio", "xMidYMid meet").split()
    uneven = max(scales) - min(scales) > _SPEAKS * max(scales)
    if "none" in fit and uneven:
        raise _Unreadable("the drawing is stretched (preserveAspectRatio none, width and height unlike the viewBox)")
    mm = max(scales) if "slice" in fit else min(scales)
    if not physical and abs(mm - MILLIMETRES["px"]) <= _SPEAKS * mm:
        return None  # a drawing of so many px: no word on how large it is meant
    known = next((unit for unit, size in MILLIMETRES.items() if abs(mm - size) <= _SPEAKS * size), None)
    return Said(mm, f"units of {mm:.6g} mm (its width or height over its viewBox)", known)


def _length(attributes: Attributes, key: str) -> tuple[float | None, str]:
    """A length and its unit; None where it is left out or a share of what is round it."""
    text = attributes.get(key, "")
    found = _LENGTH.fullmatch(text)
    if not text or text.strip() == "auto":
        return None, ""
    if found is None:
        raise _Unreadable(f"the {key} {shown(text)} cannot be read")
    unit = found[2].lower()
    if unit == "%":
        return None, ""
    if unit not in _ABSOLUTE:
        raise _Unreadable(f"the {key} {shown(text)} has no size in mm")
    value = float(found[1])
    if not 0.0 < value < math.inf:
        raise _Unreadable(f"the {key} is {shown(text)}")
    return value, unit


# ------------------------------------------------------------------------------- shapes and transforms


_TURN: Final = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")
_FIGURE: Final = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
_BETWEEN: Final = re.compile(r"[\s,]*")


def _figures_in(text: str) -> list[float]:
    """The figures of a list, parted by blanks or commas; raises ValueError for one that is none."""
    values = []
    at = cast(re.Match[str], _BETWEEN.match(text)).end()
    while at < len(text):
        figure = _FIGURE.match(text, at)
        if figure is None:
            raise ValueError(f"{shown(text[at : at + 20])} is no plain number")
        values.append(float(figure.group()))
        at = cast(re.Match[str], _BETWEEN.match(text, figure.end())).end()
    return values


def _one_transform(name: str, figures: list[float]) -> Matrix:
    match name, figures:
        case "matrix", [_, _, _, _, _, _]:
            return cast(Matrix, tuple(figures))
        case "translate", [x, *rest] if len(rest) < 2:
            return (1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0)
        case "scale", [x, *rest] if len(rest) < 2:
            return (x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0)
        case "rotate", [angle]:
            c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            return (c, s, -s, c, 0.0, 0.0)
        case "rotate", [angle, x, y]:
            back = after(_one_transform("rotate", [angle]), (1.0, 0.0, 0.0, 1.0, -x, -y))
            return after((1.0, 0.0, 0.0, 1.0, x, y), back)
        case "skewX", [angle]:
            return (1.0, 0.0, math.tan(math.radians(angle)), 1.0, 0.0, 0.0)
        case "skewY", [angle]:
            return (1.0, math.tan(math.radians(angle)), 0.0, 1.0, 0.0, 0.0)
    raise ValueError(f"a transform {name} with {len(figures)} figures cannot be read")


def _figures(attributes: Attributes, *names: str) -> list[float]:
    """The figures of an element, 0 where one is left out."""
    values = []
    for name in names:
        text = attributes.get(name, "0").strip()
        found = _FIGURE.match(text)
        if found is None or text[found.end() :] not in ("", "px"):
            raise ValueError(f"{name}={text!r} is no plain number")
        values.append(float(found.group()))
    return values


def _sizes(attributes: Attributes, *names: str) -> list[float]:
    """Figures that must not be below zero."""
    values = _figures(attributes, *names)
    for name, value in zip(names, values, strict=True):
        if value < 0.0:
            raise ValueError(f"{name}={value:g} is below zero")
    return values


def path_of(tag: str, own: Attributes) -> str:
    """A shape as the path that the standard says it is (P: SVG 1.1, chapter 9), in units of the drawing; "" for none.

    So there is one pen for all. Figures are written by repr, which reads back to the same float64. Raises ValueError
    for a figure that is none, or a size below zero.
    """
    match tag:
        case "path":
            return own.get("d", "")
        case "circle":
            (x, y), (r,) = _figures(own, "cx", "cy"), _sizes(own, "r")
            return f"M{x - r!r} {y!r}A{r!r} {r!r} 0 0 1 {x + r!r} {y!r}A{r!r} {r!r} 0 0 1 {x - r!r} {y!r}Z" if r else ""
        case "line":
            a, b, c, d = _figures(own, "x1", "y1", "x2", "y2")
            return f"M{a!r} {b!r}L{c!r} {d!r}"
        case "polygon" | "polyline":
            figures = _figures_in(own.get("points", ""))
            if len(figures) % 2:
                raise ValueError("a list of points has an x without its y")
            points = f"M{' '.join(map(repr, figures))}" if len(figures) >= 4 else ""
            return f"{points}Z" if points and tag == "polygon" else points
    # An ellipse, or a rectangle with its corners rounded: a radius that is left out, or `auto`, is like the other one.
    x, y = _figures(own, *(("cx", "cy") if tag == "ellipse" else ("x", "y")))
    w, h = (0.0, 0.0) if tag == "ellipse" else _sizes(own, "width", "height")
    given = {name: _sizes(own, name)[0] for name in ("rx", "ry") if own.get(name, "auto").strip() != "auto"}
    p = given.get("rx", given.get("ry", 0.0))
    q = given.get("ry", p)
    if tag == "ellipse":
        if not (p and q):
            return ""
        return f"M{x - p!r} {y!r}A{p!r} {q!r} 0 0 1 {x + p!r} {y!r}A{p!r} {q!r} 0 0 1 {x - p!r} {y!r}Z"
    # Radii larger than half a side are taken as half of it.
    p, q = min(p, w / 2), min(q, h / 2)
    if not (w and h):
        return ""
    if not (p and q):
        return f"M{x!r} {y!r}h{w!r}v{h!r}h{-w!r}Z"
    corner = f"a{p!r} {q!r} 0 0 1"
    return (
        f"M{x + p!r} {y!r}h{w - 2 * p!r}{corner} {p!r} {q!r}v{h - 2 * q!r}{corner} {-p!r} {q!r}"
        f"h{2 * p - w!r}{corner} {-p!r} {-q!r}v{2 * q - h!r}{corner} {p!r} {-q!r}Z"
    )


_DRAWN: Final = frozenset(("path", "circle", "ellipse", "rect", "polygon", "polyline", "line"))
"""Elements that are drawn."""
