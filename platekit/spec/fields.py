"""The kinds of value that a spec is made of: lengths, angles, names, yes-or-no.

Each converts on reading, with the unit of the spec as validation context (`{"unit": "mm"}`), and says in the
words of a shop what was found and what would do. The JSON Schema beside each is what an editor uses for
completion and hover help.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Final, Literal, cast

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import PydanticCustomError
from pydantic_core.core_schema import (
    CoreSchema,
    no_info_before_validator_function,
    with_info_before_validator_function,
)

from platekit import units
from platekit.errors import UnitError
from platekit.tables.shop import shop_figure

MAX_NAME: Final = 80
"""Longest name or designation, characters (ours): it has to fit on a drawing."""
MAX_TEXT: Final = 200
"""Longest title or reason, characters (ours): it has to fit on a sheet."""
LEAST_LENGTH: Final = 1e-6
"""Least length that is told from zero, mm (ours): a nanometre."""
LOWEST_LETTERS: Final = shop_figure("scribed letters, lowest")
"""Lowest letters that are scribed, mm (`shop_figures.csv`)."""
TALLEST_LETTERS: Final = 50.0
"""Tallest letters that are scribed, mm (ours)."""
ROUNDING: Final = 1e-9
"""Less than this is rounding, mm: an inch is converted first."""
WRONG: Final = "platekit"
"""Type of the pydantic errors that carry `found` and `wanted` in our own words."""

_NOT_IN_NAMES: Final = {
    ".": "a dot",
    "/": "a slash",
    "\\": "a backslash",
    ":": "a colon",
    "[": "a bracket",
    "]": "a bracket",
}
_NOT_YES_OR_NO: Final = frozenset({"yes", "no", "on", "off", "y", "n", "true", "false"})


def wrong(found: str, wanted: str) -> PydanticCustomError:
    """The error of a value that cannot be used, with both halves of its sentence kept apart."""
    return PydanticCustomError(WRONG, "found {found}; {wanted}", {"found": found, "wanted": wanted})


def no_items() -> list[Any]:
    """A list of nothing, as a default. Written out: to ask `list` itself how it is called takes pydantic long."""
    return []


def no_names() -> dict[str, Any]:
    """No names, as a default; see `no_items`."""
    return {}


class Read:
    """Marks a field as read by a function first; `schema` is what an editor is told instead of the type's own.

    Does what pydantic's BeforeValidator and WithJsonSchema do together, without asking each function for its signature
    once a field: that is a tenth of the time that a command takes to start. `by_unit` functions also take the
    validation context, for the unit of the spec.
    """

    __slots__ = ("by_unit", "read", "schema")

    def __init__(
        self, read: Callable[..., object], schema: dict[str, Any] | None = None, *, by_unit: bool = False
    ) -> None:
        self.read, self.schema, self.by_unit = read, schema, by_unit

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        if self.by_unit:
            return with_info_before_validator_function(self.read, handler(source))
        return no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return handler(schema) if self.schema is None else dict(self.schema)


def _converted(read: Callable[[object], float], value: object) -> float:
    try:
        return read(value)
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None


def _unit(info: ValidationInfo) -> units.Unit:
    context = info.context
    return cast(units.Unit, context["unit"]) if isinstance(context, dict) and "unit" in context else "mm"


def read_length(value: object, info: ValidationInfo) -> float:
    """A length within 100 m, mm; a number is in the unit of the spec."""
    try:
        return units.length(value, _unit(info))
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None


def read_positive_length(value: object, info: ValidationInfo) -> float:
    """A length above zero, mm."""
    result = read_length(value, info)
    if result <= 0:
        raise wrong(units.shown(value), "give a length above zero")
    # Below what can be measured a length is a slip of units, and would go through as a hairline.
    if result < LEAST_LENGTH:
        raise wrong(units.shown(value), "give a length that can be measured")
    return result


def read_letter_height(value: object, info: ValidationInfo) -> float:
    """A height of letters that can be scribed and read, mm."""
    result = read_length(value, info)
    if not LOWEST_LETTERS - ROUNDING <= result <= TALLEST_LETTERS + ROUNDING:
        bounds = [units.show_length(bound, _unit(info)) for bound in (LOWEST_LETTERS, TALLEST_LETTERS)]
        raise wrong(units.shown(value), f"give a height from {bounds[0]} to {bounds[1]}")
    return result


def read_length_from_zero(value: object, info: ValidationInfo) -> float:
    """Zero or a length above it, mm."""
    result = read_length(value, info)
    if result < 0:
        raise wrong(units.shown(value), "give zero or a length above it")
    return result


def read_angle(value: object) -> float:
    """An angle, rad; a number is in degrees."""
    return _converted(units.angle, value)


def read_angle_from_zero(value: object) -> float:
    """Zero or an angle above it, rad."""
    result = read_angle(value)
    if result < 0:
        raise wrong(units.shown(value), "give zero or an angle above it")
    return result


def read_above_zero(read: Callable[[object], float]) -> Callable[[object], float]:
    """Reads a quantity that is never zero or less: a power (W), a density (kg/m3), a speed (rpm)."""

    def above_zero(value: object) -> float:
        result = _converted(read, value)
        if result <= 0:
            raise wrong(units.shown(value), "it has to be above zero")
        return result

    return above_zero


def read_or_word(word: str, figure: str, read: Callable[..., float]) -> Callable[..., float | str]:
    """Reads one word of the language, or else a figure; text without a digit in it was meant for the word."""

    def word_or_figure(value: object, *info: ValidationInfo) -> float | str:
        if value == word:
            return word
        # Text without a digit can only be meant for the word, so a slip in it is told as one, not as a wrong figure.
        if isinstance(value, str) and not any(sign.isdigit() for sign in value):
            raise wrong(units.shown(value), f"use {word}, or give {figure}")
        return read(value, *info)

    return word_or_figure


def read_judged(value: object) -> float | str:
    """The figure of a finding as it was written, with its unit (mm, N, ...) or without one."""
    if isinstance(value, str):
        text = line_of_text(value, MAX_NAME).strip()
        # Kept as text: only the finding that it is held against knows its unit.
        if text.lstrip("+-−. ")[:1].isdecimal():
            return text
    elif isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= units.MAX_FIGURE:
        return float(value)
    raise wrong(units.shown(value), "give the figure of the finding, as 4.5 or 4.5 mm")


def read_share(value: object) -> float:
    """A share above 0 and at most 1."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 1:
        raise wrong(units.shown(value), "give a share above 0 and at most 1, as 0.6")
    return float(value)


def read_count(value: object) -> int:
    """A whole number. To Python true is 1, and pydantic would take 4.0 and "4": a count is none of these."""
    if isinstance(value, bool) or not isinstance(value, int):
        found = repr(value) if isinstance(value, float) else units.shown(value)
        raise wrong(found, "give a whole number, as 4, without quotes")
    return value


def read_version(value: object) -> object:
    """The version of the spec language."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise wrong(units.shown(value), "write `platekit: 1`, the version of the spec language")
    return value


def read_yes_no(value: object) -> bool:
    """True or false, and none of the words that YAML once read as such."""
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.lower() in _NOT_YES_OR_NO:
        raise wrong(f"{units.shown(value)}, which YAML 1.2 reads as text", "write true or false, without quotes")
    raise wrong(units.shown(value), "write true or false")


def line_of_text(value: object, longest: int) -> str:
    """Text on one line, no longer than so many characters; numbers and true or false want quotes."""
    # A name such as 12 or on is a number or true to YAML: quotes make it text.
    if isinstance(value, bool | int | float):
        raise wrong(f"{units.shown(value)}, which is not text", f'put it in quotes: "{units.shown(value)}"')
    if not isinstance(value, str):
        raise wrong(units.shown(value), "give text on one line")
    if not value.strip():
        raise wrong("empty text", "give it some words")
    if len(value) > longest:
        raise wrong(f"text of {len(value)} characters", f"use at most {longest}")
    if not value.isprintable():
        raise wrong(f"{units.shown(value)} with a line break, tab or control character", "use one line of plain text")
    return value


def read_name(value: object) -> str:
    """A name that can stand in those of features: without dots, slashes, colons and brackets."""
    name = line_of_text(value, MAX_NAME)
    if name != name.strip():
        raise wrong(f"{units.shown(name)} with a blank at its end", f"name it {units.shown(name.strip())}")
    for sign, word in _NOT_IN_NAMES.items():
        if sign in name:
            raise wrong(
                f"{units.shown(name)} with {word} in it",
                "a name holds letters, digits, blanks and signs, but none of . / : [ ] and no backslash",
            )
    return name


def read_designation(value: object) -> str:
    """A name of the trade, blanks round it left out."""
    return line_of_text(value, MAX_NAME).strip()


def read_text(value: object) -> str:
    """One line of words."""
    return line_of_text(value, MAX_TEXT).strip()


def read_pair(value: object) -> object:
    """A list of two lengths, each still as it was written; mm come after."""
    if not isinstance(value, list | tuple):
        raise wrong(units.shown(value), "give two lengths in brackets, as [10, 25]")
    if len(value) != 2:
        raise wrong(f"a list of {len(value)}", "give two lengths in brackets, as [10, 25] or [10.5, 25]")
    return value


_LENGTH_TEXT: Final = r"^\s*[-+−]?\s*[0-9.½¼¾⅛⅜⅝⅞].*(m|in|inch|inches|ft|foot|feet|thou|[\"”″'’′])\s*$"


def _number_or_text(words: str, pattern: str, *examples: object, **bounds: float) -> dict[str, Any]:
    return {
        "anyOf": [{"type": "number", **bounds}, {"type": "string", "pattern": pattern}],
        "description": words,
        "examples": list(examples),
    }


_WITH_UNIT: Final = r"^\s*[0-9.].*[A-Za-z]"


def _text_schema(words: str, pattern: str, *examples: str) -> dict[str, Any]:
    return {"type": "string", "pattern": pattern, "description": words, "examples": list(examples)}


_LENGTH_WORDS: Final = "A number in the unit of the spec, or text with its own unit."

Length = Annotated[
    float,
    Read(read_length, by_unit=True, schema=_number_or_text(_LENGTH_WORDS, _LENGTH_TEXT, 10, "3/8 in", "5-7/8 in")),
]
"""Any length within 100 m, mm."""
PositiveLength = Annotated[
    float,
    Read(
        read_positive_length,
        by_unit=True,
        schema=_number_or_text(_LENGTH_WORDS, _LENGTH_TEXT, 10, "3/8 in", "5-7/8 in", exclusiveMinimum=0),
    ),
]
"""A length above zero, mm."""
LengthFromZero = Annotated[
    float,
    Read(
        read_length_from_zero,
        by_unit=True,
        schema=_number_or_text(_LENGTH_WORDS, _LENGTH_TEXT, 0, 10, "3/8 in", minimum=0),
    ),
]
"""Zero or a length above it, mm."""
OfferedLength = Annotated[
    float | Literal["auto"],
    Read(
        read_or_word("auto", "a length", read_length_from_zero),
        by_unit=True,
        schema={
            "anyOf": [
                {"const": "auto"},
                {"type": "number", "minimum": 0},
                {"type": "string", "pattern": _LENGTH_TEXT},
            ],
            "examples": ["auto", 10],
        },
    ),
]
"""`auto`, or zero or a length above it, mm."""
_ANGLE_TEXT: Final = r"^\s*[-+−]?\s*[0-9.].*(deg|degree|degrees|°|rad|radian|radians|turn|turns|'|′|\"|″)\s*$"
_ANGLE_WORDS: Final = "A number of degrees, or text with its own unit; counter-clockwise is positive."
Angle = Annotated[
    float,
    Read(read_angle, _number_or_text(_ANGLE_WORDS, _ANGLE_TEXT, "45 deg", "0.5 rad")),
]
"""Any angle within 100 turns, radians."""
AngleFromZero = Annotated[
    float,
    Read(read_angle_from_zero, _number_or_text(_ANGLE_WORDS, _ANGLE_TEXT, "5 deg", minimum=0)),
]
"""Zero or an angle above it, radians."""
OfferedAngle = Annotated[
    float | Literal["auto"],
    Read(
        read_or_word("auto", "an angle", read_angle_from_zero),
        {"anyOf": [{"const": "auto"}, {"type": "number", "minimum": 0}, {"type": "string", "pattern": _ANGLE_TEXT}]},
    ),
]
"""`auto`, or zero or an angle above it, radians."""
Direction = Annotated[
    float | Literal["belt"],
    Read(
        read_or_word("belt", "an angle", read_angle),
        {"anyOf": [{"const": "belt"}, {"type": "number"}, {"type": "string", "pattern": _ANGLE_TEXT}]},
    ),
]
"""`belt`, or any angle, radians."""
Density = Annotated[
    float,
    Read(
        read_above_zero(units.density),
        _text_schema("Mass of a volume, with its unit.", _WITH_UNIT, "7850 kg/m3"),
    ),
]
"""Density, kg/m3."""
Mass = Annotated[
    float,
    Read(read_above_zero(units.mass_kg), _text_schema("Mass, with its unit.", _WITH_UNIT, "14 kg", "31 lb")),
]
"""Mass, kg."""
Stress = Annotated[
    float,
    Read(
        read_above_zero(units.stress),
        _text_schema("Force on an area, with its unit.", _WITH_UNIT, "235 MPa", "36 ksi"),
    ),
]
"""Stress, N/mm2."""
Power = Annotated[
    float,
    Read(read_above_zero(units.power_w), _text_schema("Power, with its unit.", _WITH_UNIT, "0.75 kW", "1 HP")),
]
"""Power, W."""
Current = Annotated[
    float,
    Read(read_above_zero(units.current_a), _text_schema("Electric current, with its unit.", _WITH_UNIT, "1.8 A")),
]
"""Electric current, A."""
Speed = Annotated[
    float,
    Read(
        read_above_zero(units.speed_rpm),
        _text_schema("Speed of turning, with its unit.", _WITH_UNIT, "1740 rpm"),
    ),
]
"""Speed of turning, rpm."""
Frequency = Annotated[
    float,
    Read(read_above_zero(units.frequency_hz), _text_schema("Frequency, with its unit.", _WITH_UNIT, "60 Hz")),
]
"""Frequency, Hz."""
Torque = Annotated[
    float,
    Read(
        read_above_zero(units.torque_nm),
        _text_schema("Torque, with its unit.", _WITH_UNIT, "12 Nm", "8 lbf ft"),
    ),
]
"""Torque, N m."""
Force = Annotated[
    float,
    Read(read_above_zero(units.force_n), _text_schema("Force, with its unit.", _WITH_UNIT, "640 N", "140 lbf")),
]
"""Force, N."""
Share = Annotated[
    float,
    Read(read_share, {"type": "number", "exclusiveMinimum": 0, "maximum": 1, "examples": [0.6]}),
]
"""A share, above 0 and at most 1."""
Judged = Annotated[
    float | str,
    Read(
        read_judged,
        {
            "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^\s*[-+−]?\s*[.]?[0-9]"}],
            "examples": [4.5, "4.5 mm"],
        },
    ),
]
"""The figure of a finding, with or without its unit."""
LetterHeight = Annotated[
    float,
    Read(
        read_letter_height,
        by_unit=True,
        schema=_number_or_text(
            f"{_LENGTH_WORDS} From {LOWEST_LETTERS:g} mm to {TALLEST_LETTERS:g} mm.",
            _LENGTH_TEXT,
            5,
            "5 mm",
            "1/4 in",
            exclusiveMinimum=0,
        ),
    ),
]
"""How high letters are, mm."""

Count = Annotated[int, Read(read_count, {"type": "integer", "minimum": 1})]
"""A whole number."""
CountFromZero = Annotated[int, Read(read_count, {"type": "integer", "minimum": 0})]
"""A whole number, or 0."""
Version = Annotated[Literal[1], Read(read_version)]
"""The version of the spec language."""
YesNo = Annotated[bool, Read(read_yes_no, {"type": "boolean"})]
"""true or false."""
Name = Annotated[
    str,
    Read(read_name, {"type": "string", "pattern": r"^[^./\\:\[\]]+$", "minLength": 1, "maxLength": MAX_NAME}),
]
"""What the user calls a mount, a body or a cutout. Dots are left to the names of features, as `motor.3`."""
Designation = Annotated[
    str,
    Read(read_designation, {"type": "string", "minLength": 1, "maxLength": MAX_NAME}),
]
"""The trade's or the program's own name of something: `M8`, `3/8-16`, `NEMA 56C`, `mild steel`, `motor.3`."""
Text = Annotated[str, Read(read_text, {"type": "string", "minLength": 1, "maxLength": MAX_TEXT})]
"""One line of words for people."""
Pair = Annotated[tuple[Length, Length], Read(read_pair)]
"""Two lengths, mm: [x, y], or [from, to]."""
Size = Annotated[tuple[PositiveLength, PositiveLength], Read(read_pair)]
"""Two lengths above zero, mm: [width, height]."""
