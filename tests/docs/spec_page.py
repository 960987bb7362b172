"""The reference of the spec language, from its pydantic models: every key, what it takes, what it is.

A **place** is where keys stand, with NAME for what the user calls something: `mounts.NAME.screws`. Each model has one
section, under the first place that holds it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

from msgspec import Struct
from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined
from ruamel.yaml import YAML

from platekit.spec import drive_words, fields, machine, mass_words, measured_words, space_words
from platekit.spec.base import OneOf
from platekit.spec.machine import MachineModel
from platekit.spec.models import SpecModel
from platekit.spec.printers import PrinterFile

from .tables_page import cell


class NoDescription(ValueError):
    """A key of the spec that does not say what it is, or a kind of value without words."""


class Kind(Struct, frozen=True):
    """One kind of value: its name in the tables, and what it takes."""

    name: str
    takes: str


def _marks(annotation: Any) -> list[fields.Read]:
    """What reads a value before pydantic does; the last is its alias's own."""
    if get_origin(annotation) is not Annotated:
        return []
    return [mark for mark in get_args(annotation)[1:] if isinstance(mark, fields.Read)]


LENGTH = Kind("length", "a number in `units`, or text with its own unit: `10 mm`, `3/8 in`, `5-7/8 in`")
ANGLE = Kind("angle", "a number of degrees, or text with its unit: `45 deg`, `0.5 rad`; counter-clockwise is positive")
KINDS: dict[str, Kind] = {
    "Length": LENGTH,
    "PositiveLength": Kind("length > 0", "a length above zero"),
    "LengthFromZero": Kind("length >= 0", "zero or a length above it"),
    "OfferedLength": Kind("length or `auto`", "`auto`, or zero or a length above it"),
    "Angle": ANGLE,
    "AngleFromZero": Kind("angle >= 0", "zero or an angle above it"),
    "OfferedAngle": Kind("angle or `auto`", "`auto`, or zero or an angle above it"),
    "Direction": Kind("angle or `belt`", "`belt`, the line of centres, or any angle"),
    "Density": Kind("density", "text with its unit: `7850 kg/m3`"),
    "Mass": Kind("mass", "text with its unit: `14 kg`, `31 lb`"),
    "MassRange": Kind("mass, [mass, mass] or `frame`", "one mass, its least and its most, or `frame`"),
    "Triple": Kind("[length, length, length]", "three lengths in brackets: [x, y, height]"),
    "Extent": Kind("[length > 0, length > 0, length > 0]", "[along x, along y, height]"),
    "Stress": Kind("stress", "text with its unit: `235 MPa`, `36 ksi`"),
    "Power": Kind("power", "text with its unit: `0.75 kW`, `1 HP`"),
    "Speed": Kind("speed", "text with its unit: `1740 rpm`"),
    "Frequency": Kind("frequency", "text with its unit: `60 Hz`"),
    "Current": Kind("current", "text with its unit: `1.8 A`"),
    "Torque": Kind("torque", "text with its unit: `12 Nm`, `8 lbf ft`"),
    "Force": Kind("force", "text with its unit: `640 N`, `140 lbf`"),
    "Judged": Kind("figure", "the figure of a finding, with or without its unit"),
    "Sigma": Kind("length > 0", "one standard deviation: a length above zero that a caliper can have"),
    "Share": Kind("share", "a number above 0 and at most 1"),
    "Count": Kind("count", "a whole number, without quotes"),
    "CountFromZero": Kind("count from 0", "a whole number, or 0, without quotes"),
    "Version": Kind("`1`", "the version of the spec language"),
    "YesNo": Kind("true or false", "without quotes"),
    "Name": Kind(
        "name", f"letters, digits, blanks and signs, but no `. / \\ : [ ]`; at most {fields.MAX_NAME} characters"
    ),
    "Designation": Kind(
        "designation", "the trade's or the program's own name: `M8`, `NEMA 56C`, `mild steel`, `motor.3`"
    ),
    "Text": Kind("text", f"one line of words, at most {fields.MAX_TEXT} characters"),
    "Pair": Kind("[length, length]", "two lengths in brackets: [x, y] or [from, to]"),
    "Size": Kind("[length > 0, length > 0]", "[width, height]"),
    "HoleName": Kind("hole", "the number of a hole, or its name in a measured pattern"),
    "Hole": Kind("diameter or keys", "a diameter, keys, or nothing where it was not measured"),
    "ReadingItem": Kind("reading", f"{measured_words.FORM.removeprefix('write ')}"),
    "RoughPlace": Kind("[x, y] or [x, y, x, y]", "roughly where a hole is, or the two ends of an edge"),
    "AllOrSome": Kind("true, false or names", "true for all holes, or a list of their names"),
    "Belt": Kind("designation or keys", "a trade size, or keys"),
    "LetterHeight": Kind("length > 0", "a length above zero"),
    "Feed": Kind("feed", "text with its unit: `2200 mm/min`, `90 in/min`"),
    "Seconds": Kind("time", "text with its unit: `0.5 s`"),
    "Money": Kind("amount", "a number, zero or above"),
}
"""Every alias of the spec's fields in words."""
_BY_MARK = {
    id(_marks(alias)[-1]): KINDS[name]
    for module in (fields, mass_words, measured_words, space_words, drive_words, machine)
    for name, alias in vars(module).items()
    if name in KINDS and _marks(alias)
}
SHOWN = (
    *("Length", "PositiveLength", "OfferedLength", "Angle", "Direction", "Density", "Stress", "Power", "Speed"),
    *(
        "Frequency",
        "Current",
        "Torque",
        "Force",
        "Mass",
        "Feed",
        "Seconds",
        "Money",
        "Share",
        "Count",
        "Name",
        "Designation",
        "Text",
        "ReadingItem",
    ),
)
"""Kinds that the table of kinds explains; the others say all in their name."""

EXAMPLES: dict[str, str] = {
    "plate.material": "material: {name: shop steel, density: 7850 kg/m3, modulus: 210000 MPa, yield_strength: 235 MPa}",
    "plate.outline": "outline: {polygon: {points: [[-90, -130], [150, -130], [150, 150], [-90, 150]], corner: 12}}",
    "plate.cutouts.NAME": "cable: {slot: {length: 40, width: 16}, at: [60, -95], turn: 30 deg}",
    "plate.lighten": "lighten: {web: 20, corner: 12}",
    "plate.tabs.NAME": "earth: {at: [-60, 160], width: 40, hole: 13}",
    "plate.feet": "feet: {level: -170, width: 60, apart: 200, hole: 11}",
    "plate.flange": "flange: {edge: top, height: 40, towards: near}",
    "plate.ribs.NAME": "spine: {side: far, from: [0, 80], to: [0, 330], height: 40, width: 8}",
    "mounts.NAME.pattern": "pattern: {circle: {angles: [10 deg, 130 deg, 245 deg], diameter: 120, hole: 9}}",
    "mounts.NAME.pattern.measured": "measured:\n"
    "  holes: {A: 10.2, B: 10.1, C: 10.2, bore: 72}\n"
    "  readings: [[A, B, inside, 81.7], [B, C, over, 102.1], [A, C, centres, 120], [bore, A, inside, 20.4],\n"
    "    [bore, B, inside, 21.0], [bore, C, inside, 19.8]]\n"
    "  sigma: 0.1\n"
    "  clockwise: [A, B, C]\n"
    "  origin: bore\n"
    "  x_axis: [A, B]",
    "mounts.NAME.pilot": "pilot: {diameter: 110, depth: 3.5, opening: recess}",
    "mounts.NAME.at.find": "find: {box: [[-140, -60], [140, 170]], turn: any, side: either}",
    "mounts.NAME.layer": "layer: {thickness: 8, outline: {circle: {diameter: 290}}}",
    "mounts.NAME.spacers": "spacers: {from: tube, outside: 16, bore: 10}",
    "mounts.NAME.mass": "mass: {total: 14 kg, centre: [0, 0, 135]}",
    "mounts.NAME.screws": "screws: {size: M8, into: part, depth: 18, washer: true}",
    "mounts.NAME.take_up": "take_up: {slots: {along: belt, install: auto, tension: auto}}",
    "mounts.NAME.take_up.swing": "swing: {about: [120, 40], tightens: clockwise, install: 4 deg, tension: 8 deg}",
    "mounts.NAME.shaft": "shaft: {at: [0, 106], height: 90, along: 90 deg, stretch: [0, 50], diameter: 24}",
    "drive.driver.span": "span: {width: 20, from_end: 0}",
    "bodies.NAME": "oil cup:\n"
    "  carried_by: machine\n"
    "  shape: {circle: {diameter: 26}, at: [-20, 88]}\n"
    "  span: [-14, 0]\n"
    "  relief: auto",
    "bodies.NAME.lying": "lying: {diameter: 110, length: 230, height: 90, axis: 90 deg}",
    "bodies.NAME.steps.N": "steps: [{diameter: 70, span: [0, 14]}, {diameter: [44, 60], span: [-18, 0]}]",
    "drive.belt": "belt: {section: A, choose: true, near: 240}   # the stock belt for shafts about 240 apart",
    "drive.driver": "driver: {on: motor, pitch_diameter: 71, span: [-50, -30]}",
    "drive.wanted": "wanted: {from: 120 rpm, to: 700 rpm, torque: 3 Nm}",
    "drive": "drive:\n"
    "  motor: {power: 0.75 kW, speed: 1740 rpm, frequency: 60 Hz}\n"
    "  inverter: {from: 15 Hz, to: 90 Hz}\n"
    "  belt: A38\n"
    "  driver: {on: motor, pitch_diameter: 71, span: [-50, -30]}\n"
    "  driven: {on: machine, at: [0, 210], pitch_diameter: 250, span: [14, 34]}",
    "guard": "guard: {gap: 20, back_from_plate: 8, openings: {shape: slot, width: 8, length: 60}}",
    "second_guard": "second_guard: {belt: second, gap: 12, on: machine}",
    "cutting": "cutting: {process: plasma, kerf: 1.5, copies: 4, sheet: [1000, 500]}",
    "limits": "limits: {web: 8, edge: 18, gap: 3}",
    "paper": "paper: {size: a3, seen_from: far}",
    "machine file": "platekit_machine: 1\n"
    "name: Shed plasma\n"
    "process: plasma\n"
    "units: mm\n"
    "bed: [1250, 1250]\n"
    "cuts:   # one row a thickness; between two rows it is straight, what no row gives takes the usual value\n"
    "  - {thickness: 6, kerf: 1.5, taper: 1.5 deg, hole_error: -0.3, scatter: 0.4, speed: 2300 mm/min, pierce: 0.4 s}\n"
    "  - {thickness: 10, kerf: 1.7, taper: 2.2 deg, hole_error: -0.4, speed: 1150 mm/min, pierce: 0.8 s}\n"
    "prices: {currency: EUR, hour: 38, material_kg: 1.65}",
    "paper.measured": "measured: {bottom: 271.3, top: 271.2, left: 184.4, right: 184.5, rising: 328.2, falling: 327.8}",
    "accept.N": "accept:\n  - {rule: edge, feature: motor.3, found: 9.5, because: welded to the frame there}",
}
"""An example of the keys at a place; each is read by its model before it is shown."""

INTRO = """\
# The spec, key by key

A spec is a YAML file. Where keys stand is written with dots; NAME is what you call something, N counts a list from 0:
`mounts.NAME.screws`. An unknown key is an error, with the nearest known one. `platekit schema` gives the same to an
editor. Examples are in millimetres.

## Kinds of value
"""


class Section(Struct):
    """The keys of one model, and every place that holds it; `title` is its heading."""

    model: type[BaseModel]
    places: list[str]
    title: str = ""


ROOTS: dict[str, type[BaseModel]] = {"": SpecModel, "machine file": MachineModel, "printer file": PrinterFile}
"""The files that are written by hand: the spec, and what stands in the folders `machines` and `printers` beside it."""


def _kind(annotation: Any) -> Kind | None:
    """The kind that an annotation was given by its alias."""
    marks = _marks(annotation)
    if marks and id(marks[-1]) not in _BY_MARK:
        reader = getattr(marks[-1].read, "__name__", "?")
        raise NoDescription(f"no words for what {reader} reads: add its alias to KINDS in tests/docs/spec_page.py")
    return _BY_MARK[id(marks[-1])] if marks else None


def takes(annotation: Any) -> str:
    """What a key takes, in words."""
    if (kind := _kind(annotation)) is not None:
        return kind.name
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return takes(parts[0])
    if annotation is float:
        return "number"
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "keys"
    if origin is Literal:
        return _listed(f"`{part}`" for part in parts)
    if origin is list:
        return f"list of {_several(takes(parts[0]))}"
    if origin is tuple:
        return f"[{', '.join(takes(part) for part in parts)}]"
    if origin is dict:
        return f"{_several(takes(parts[1]))} by name"
    chosen = [takes(part) for part in parts if part is not type(None)]
    if not chosen:
        raise TypeError(f"no words for {annotation}")
    return _listed(dict.fromkeys(chosen))


def _listed(words: Iterable[str]) -> str:
    """`a`, `b` or `c`."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def _several(words: str) -> str:
    return words if words.startswith(("[", "keys", "diameter or")) else f"{words}s" if words.isalpha() else words


def bounds(field: FieldInfo) -> str:
    """Least and most of a number or a list, as said to pydantic."""
    said = {key: getattr(mark, key) for mark in field.metadata for key in ("gt", "ge", "le") if hasattr(mark, key)}
    words = [f"above {said['gt']}" if "gt" in said else "", f"at least {said['ge']}" if "ge" in said else ""]
    words.append(f"at most {said['le']}" if "le" in said else "")
    told = ", ".join(word for word in words if word)
    return f" ({told})" if told else ""


def left_out(field: FieldInfo, annotation: Any) -> str:
    """What holds where a key is left out, in the words of a spec; blank where its description has to say it."""
    value = field.default
    if value is PydanticUndefined or value is None:
        return ""
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, float) and _kind(annotation) is ANGLE:
        return f"`{math.degrees(value):g} deg`"
    if isinstance(value, float) and _is_length(annotation):
        return f"`{value:g} mm`" if value else "`0`"
    if isinstance(value, tuple):
        return f"`[{', '.join(f'{part:g}' for part in value)}]`"
    return f"`{value:g}`" if isinstance(value, float) else f"`{value}`"


def _is_length(annotation: Any) -> bool:
    kind = _kind(annotation)
    return kind is not None and kind.name.startswith("length")


def held(annotation: Any, place: str) -> Iterator[tuple[str, type[BaseModel]]]:
    """The models that a value holds, each with its place."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if annotation is not measured_words.ReadingWords:
            yield place, annotation
        return
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        parts = parts[:1]
    step = ".N" if origin is list else ".NAME" if origin is dict else ""
    for part in parts:
        if origin is not Literal:
            yield from held(part, place + step)


def key_of(name: str, field: FieldInfo) -> str:
    """The key as typed."""
    return field.alias or name


def sections() -> list[Section]:
    """Every model from the top down, depth first, each once."""
    found: dict[type[BaseModel], Section] = {}

    def walk(model: type[BaseModel], place: str) -> None:
        if model in found:
            found[model].places.append(place)
            return
        found[model] = Section(model, [place])
        for annotation, key in _annotations(model):
            for below, other in held(annotation, f"{place}.{key}".lstrip(".")):
                walk(other, below)

    for place, model in ROOTS.items():
        walk(model, place)
    many = Counter(section.places[0] for section in found.values())
    for section in found.values():
        place = section.places[0]
        keys = ", ".join(f"`{key_of(*item)}`" for item in section.model.model_fields.items())
        section.title = f"{place} with {keys}" if many[place] > 1 else place or "The whole"
    return list(found.values())


def anchor(title: str) -> str:
    """What a heading is linked by."""
    return "".join(sign for sign in title.lower().replace(" ", "-") if sign.isalnum() or sign in "-_")


def _annotations(model: type[BaseModel]) -> Iterator[tuple[Any, str]]:
    hints = get_type_hints(model, include_extras=True)
    for name, field in model.model_fields.items():
        yield hints[name], key_of(name, field)


def _rows(section: Section, titles: dict[type[BaseModel], str]) -> Iterator[str]:
    model, place = section.model, section.places[0]
    chosen = model.options() if issubclass(model, OneOf) else ()
    hints = get_type_hints(model, include_extras=True)
    yield "| key | takes | needed | if left out | what it is |"
    yield "| --- | --- | --- | --- | --- |"
    for name, field in model.model_fields.items():
        key = key_of(name, field)
        if not field.description:
            raise NoDescription(f"{place}.{key} has no description; give its Field one")
        need = "yes" if field.is_required() else "one of these" if name in chosen else ""
        links = [f"[keys](#{anchor(titles[other])})" for _, other in held(hints[name], "")]
        words = cell(takes(hints[name]) + bounds(field)).replace(
            "keys", _listed(dict.fromkeys(links)) if links else "keys"
        )
        yield f"| `{key}` | {words} | {need} | {left_out(field, hints[name])} | {cell(field.description)} |"


def _said(model: type[BaseModel]) -> str:
    return " ".join((model.__doc__ or "").split("\n\n")[0].split())


def example(section: Section) -> str:
    """The example of a section, after its model has read it; blank if it has none."""
    place = section.places[0]
    text = EXAMPLES.get(place, "")
    if text:
        given = YAML(typ="safe", pure=True).load(text)
        if place not in ROOTS:
            (given,) = given.values()
        for keys in given if isinstance(given, list) else [given]:
            words = {"size": keys} if isinstance(keys, str) else keys  # a belt by its trade size
            TypeAdapter(section.model).validate_python(words, context={"unit": "mm"})
    return text


def spec_page() -> str:
    """Every key of the spec language."""
    lines = [INTRO, "| kind | takes |", "| --- | --- |"]
    lines += [f"| {KINDS[name].name} | {KINDS[name].takes} |" for name in SHOWN]
    found = sections()
    titles = {section.model: section.title for section in found}
    for section in found:
        place = section.places[0]
        keys = [part for part in place.split(".") if part not in ("NAME", "N")]
        lines += ["", f"{'#' * min(len(keys) + 1, 5)} {section.title}", "", _said(section.model)]
        if len(section.places) > 1:
            lines[-1] += f" The same keys at {', '.join(f'`{other}`' for other in section.places[1:])}."
        lines += ["", *_rows(section, titles)]
        if text := example(section):
            lines += ["", "```yaml", text, "```"]
    unknown = set(EXAMPLES) - {section.places[0] for section in found}
    if unknown:
        raise ValueError(f"examples for places that the spec has not: {', '.join(sorted(unknown))}")
    return "\n".join(lines) + "\n"
