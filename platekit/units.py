"""Lengths, angles, speeds and the like as a shop writes them.

A *bare number* has no unit of its own. For a length it is in the unit of the spec, for an angle in degrees;
every other quantity wants its unit written out, because nothing is guessed.

A *mixed number* is whole inches and a fraction (`5-7/8 in`, `1 1/16"`). Fractions belong to inches and feet;
millimetres are written as decimals.

Inside the program lengths are mm, angles radians, forces newtons; functions that give anything else say so in
their name.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, Literal

from platekit.choices import Unit as Unit
from platekit.errors import UnitError

INCH: Final = 25.4
"""One inch in mm, exactly (published: the international inch of 1959)."""
MAX_LENGTH: Final = 100_000.0
"""Largest length, mm (ours): 100 m is beyond any plate, so a larger figure is a slip."""
TOO_LONG: Final = "a length is at most 100 m here; check the figure and its unit"
EXAMPLES: Final[dict[Unit, str]] = {"mm": "10 mm or 3/8 in", "in": "3/8 in or 10 mm"}
"""Lengths as an error shows them, the spec's own unit first."""
MAX_TURNS: Final = 100
"""Most turns in one angle (ours); beyond it a figure is a slip."""
MAX_FIGURE: Final = 1e12
"""Largest number in front of any other unit (ours)."""
MAX_TEXT: Final = 60
"""Longest text that is looked at as a quantity, characters (ours)."""
POUND_FORCE: Final = 4.4482216152605
"""One pound-force in newtons, exactly (published: the pound of 1959 times standard gravity, NIST SP 811)."""
POUND: Final = 0.45359237
"""One pound in kilograms, exactly (published: the international pound of 1959, NIST SP 811)."""
NOISE: Final = 1e-9
"""What is added to a figure before it is rounded for people, so that the last bits of a half do not tell (ours)."""

_LENGTH_MM: Final[dict[str, Fraction]] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(1)),
    "cm": Fraction(10),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("um", "µm"), Fraction(1, 1000)),
    **dict.fromkeys(("in", "inch", "inches", '"'), Fraction(127, 5)),
    **dict.fromkeys(("ft", "foot", "feet", "'"), Fraction(127 * 12, 5)),
    "thou": Fraction(127, 5000),
}
# only these are written with fractions: half a millimetre as 1/2 mm is a slip more often than a habit
_FRACTIONAL: Final = frozenset({"in", "inch", "inches", '"', "ft", "foot", "feet", "'"})
_ANGLE_RAD: Final[dict[str, float]] = {
    **dict.fromkeys(("deg", "degree", "degrees", "°"), math.pi / 180),
    **dict.fromkeys(("rad", "radian", "radians"), 1.0),
    **dict.fromkeys(("turn", "turns"), 2 * math.pi),
}
# in text alone: a bare number of turns would be taken for degrees somewhere
_SPEED_RPM: Final[dict[str, float]] = {
    **dict.fromkeys(("rpm", "r/min", "rev/min", "1/min", "/min"), 1.0),
    **dict.fromkeys(("rev/s", "r/s", "1/s", "/s"), 60.0),
    "rad/s": 30 / math.pi,
}
_FREQUENCY_HZ: Final[dict[str, float]] = {"hz": 1.0, "khz": 1000.0}
_CURRENT_A: Final[dict[str, float]] = {"a": 1.0, "ma": 0.001}
_POWER_W: Final[dict[str, float]] = {"w": 1.0, "kw": 1000.0, "hp": 550 * 12 * INCH / 1000 * POUND_FORCE}
_STRESS: Final[dict[str, float]] = {
    **dict.fromkeys(("mpa", "n/mm2", "n/mm²"), 1.0),
    "gpa": 1000.0,
    "kpa": 1e-3,
    **dict.fromkeys(("psi", "lbf/in2"), POUND_FORCE / INCH**2),
    "ksi": 1000 * POUND_FORCE / INCH**2,
}
_DENSITY_KG_M3: Final[dict[str, float]] = {
    **dict.fromkeys(("kg/m3", "kg/m³"), 1.0),
    **dict.fromkeys(("g/cm3", "g/cm³", "kg/dm3", "kg/dm³"), 1000.0),
    "lb/in3": POUND / (INCH / 1000) ** 3,
    "lb/ft3": POUND / (12 * INCH / 1000) ** 3,
}
_MASS_KG: Final[dict[str, float]] = {"kg": 1.0, "g": 1e-3, **dict.fromkeys(("lb", "lbs"), POUND)}
# lb here is the pound-force: nobody turns a shaft by a mass
_TORQUE_NM: Final[dict[str, float]] = {
    **dict.fromkeys(("nm", "n m"), 1.0),
    "ncm": 0.01,
    **dict.fromkeys(("lbf ft", "ft lbf", "lb ft", "ft lb"), POUND_FORCE * 12 * INCH / 1000),
    **dict.fromkeys(("lbf in", "in lbf", "lb in", "in lb"), POUND_FORCE * INCH / 1000),
}
# likewise: a pull in lb is one of that weight
_FORCE_N: Final[dict[str, float]] = {"n": 1.0, "kn": 1000.0, "dan": 10.0, "lbf": POUND_FORCE, "lb": POUND_FORCE}
_FEED_MM_MIN: Final[dict[str, float]] = {
    "mm/min": 1.0,
    "m/min": 1000.0,
    "mm/s": 60.0,
    "in/min": INCH,
    "in/s": 60 * INCH,
}
_TIME_S: Final[dict[str, float]] = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), 1.0),
    "ms": 0.001,
    **dict.fromkeys(("min", "minute", "minutes"), 60.0),
}

# What text carries that was not typed in a plain editor: curly quotes and primes, the true minus, hard blanks,
# fractions as one sign.
_SIGNS: Final = str.maketrans(
    {"”": '"', "“": '"', "″": '"', "’": "'", "‘": "'", "′": "'", "−": "-", "‑": "-", "⁄": "/", "μ": "µ"}
    | {"\u00a0": " ", "\u2009": " ", "\u202f": " "}
    | {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
)
# Digits are bounded everywhere: a pattern with an open count could be made to run for minutes, and no caliper reads
# sixteen of them.
_DECIMAL: Final = r"(?:\d{1,15}(?:\.\d{0,20})?|\.\d{1,20})(?:[eE][+-]?\d{1,2})?"
_FRACTION: Final = r"\d{1,6}\s*/\s*\d{1,6}"
_FIGURE: Final = rf"(?:\d{{1,6}}(?:-|\s+){_FRACTION}|{_FRACTION}|{_DECIMAL})"
_QUANTITY: Final = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<figure>{_FIGURE})\s*(?P<unit>1/[a-z]+|[^\d\s.,+-].*)?", re.ASCII | re.DOTALL
)
_FEET_INCHES: Final = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<feet>\d{{1,6}})\s*(?:'|ft|feet|foot)\s*-?\s*"
    rf"(?P<inches>{_FIGURE})\s*(?:\"|''|in|inch|inches)",
    re.ASCII | re.IGNORECASE,
)
_DEGREES_MINUTES: Final = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<degrees>\d{{1,6}})\s*°\s*(?P<minutes>{_DECIMAL})\s*'"
    rf"(?:\s*(?P<seconds>{_DECIMAL})\s*\")?",
    re.ASCII,
)
_COMMA: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)*,\d+(?:[.,]\d+)*\s*(?:[a-z]+|[\"'°])?", re.ASCII | re.IGNORECASE)


def mm_per(unit: Unit) -> float:
    """How many mm one of a unit of length is.

    >>> mm_per("in")
    25.4
    """
    return INCH if unit == "in" else 1.0


def length(value: object, unit: Unit) -> float:
    """The length in mm.

    `value` is a number in `unit` (mm or in), or text with a unit of its own: mm, cm, m, um, in, ft, thou,
    with mixed fractions for inches. Source of the factors: the inch of 1959 (published).

    >>> length(10, "mm"), length(1.5, "in")
    (10.0, 38.1)
    >>> length("5-7/8 in", "mm"), length("1 1/16 in", "mm"), length("1 ft 2-1/2 in", "mm")
    (149.225, 26.9875, 368.3)

    Raises UnitError for anything else: a number as text without a unit, a decimal comma, not a number,
    beyond 100 m.
    """
    if isinstance(value, str):
        return _length_of_text(value, unit)
    figure = _bare_number(value, f"give a length, such as 10, {EXAMPLES[unit]}")
    # 25.4 as 127/5: multiplied before it is divided, 1.5 in is 38.1 mm to the last digit.
    result = figure * 127 / 5 if unit == "in" else float(figure)
    return _within(result, value, MAX_LENGTH, TOO_LONG)


def typed_length(text: str, unit: Unit) -> float:
    """The length in mm of what was typed after an option, where text without a unit is a number in `unit`.

    >>> typed_length("2", "in"), typed_length("2 mm", "in")
    (50.8, 2.0)

    Raises UnitError as `length` does.
    """
    try:
        bare = float(text)
    except ValueError:
        return length(text, unit)
    return length(bare, unit)


def angle(value: object) -> float:
    """The angle in radians; a bare number is degrees.

    Text carries its own unit: `45 deg`, `45°`, `0.5 rad`, `7° 30'`.

    >>> round(angle(180), 6), round(angle("0.5 rad"), 6), round(angle("7° 30'"), 6)
    (3.141593, 0.5, 0.1309)
    """
    wanted = "give an angle, such as 45, 45 deg or 0.5 rad"
    if isinstance(value, str):
        text = _cleaned(value, wanted)
        parts = _DEGREES_MINUTES.fullmatch(text)
        if parts is not None:
            # minutes and seconds of arc, as on old drawings
            seconds = float(parts["minutes"]) * 60 + float(parts["seconds"] or 0)
            size = math.radians(int(parts["degrees"]) + seconds / 3600)
            result = -size if parts["sign"] == "-" else size
        else:
            result = _quantity(value, text, _ANGLE_RAD, "deg or rad", f"{text} deg" if text.isdigit() else "45 deg")
    else:
        result = float(_bare_number(value, wanted)) * math.pi / 180
    return _within(result, value, MAX_TURNS * 2 * math.pi, f"an angle is at most {MAX_TURNS} turns here")


def speed_rpm(value: object) -> float:
    """The speed of turning in revolutions a minute (rpm), from text as `1740 rpm`, `29 rev/s` or `180 rad/s`.

    >>> speed_rpm("29 rev/s")
    1740.0
    """
    return _with_unit(value, _SPEED_RPM, "rpm, rev/s or rad/s", "1740 rpm")


def frequency_hz(value: object) -> float:
    """The frequency in hertz (Hz), from text as `60 Hz`.

    >>> frequency_hz("60 Hz")
    60.0
    """
    return _with_unit(value, _FREQUENCY_HZ, "Hz", "60 Hz")


def current_a(value: object) -> float:
    """The current in amperes (A), from text as `1.8 A` or `350 mA`.

    >>> current_a("1.8 A")
    1.8
    """
    return _with_unit(value, _CURRENT_A, "A", "1.8 A")


def power_w(value: object) -> float:
    """The power in watts (W), from text as `0.75 kW`, `550 W` or `1 HP` (550 ft lbf/s; published: NIST SP 811).

    >>> power_w("0.75 kW"), round(power_w("1 HP"), 3)
    (750.0, 745.7)
    """
    return _with_unit(value, _POWER_W, "W, kW or HP", "0.75 kW")


def stress(value: object) -> float:
    """The stress in N/mm2, from text as `235 MPa`, `210 GPa`, `36 ksi` or `36000 psi`.

    >>> stress("210 GPa"), round(stress("36 ksi"), 2)
    (210000.0, 248.21)
    """
    return _with_unit(value, _STRESS, "MPa, GPa, psi or ksi", "235 MPa")


def density(value: object) -> float:
    """The density in kg/m3, from text as `7850 kg/m3`, `7.85 g/cm3` or `0.284 lb/in3`.

    >>> density("7.85 g/cm3"), round(density("0.284 lb/in3"))
    (7850.0, 7861)
    """
    return _with_unit(value, _DENSITY_KG_M3, "kg/m3, g/cm3 or lb/in3", "7850 kg/m3")


def mass_kg(value: object) -> float:
    """The mass in kilograms (kg), from text as `14 kg`, `850 g` or `31 lb`.

    >>> mass_kg("14 kg"), round(mass_kg("31 lb"), 3)
    (14.0, 14.061)
    """
    return _with_unit(value, _MASS_KG, "kg, g or lb", "14 kg")


def torque_nm(value: object) -> float:
    """The torque in newton metres (Nm), from text as `12 Nm`, `8 lbf ft` or `40 lbf in`.

    >>> torque_nm("12 Nm"), round(torque_nm("1 lbf ft"), 4)
    (12.0, 1.3558)
    """
    return _with_unit(value, _TORQUE_NM, "Nm, lbf ft or lbf in", "12 Nm")


def force_n(value: object) -> float:
    """The force in newtons (N), from text as `640 N`, `1.2 kN` or `140 lbf`.

    >>> force_n("1.2 kN"), round(force_n("140 lbf"), 1)
    (1200.0, 622.8)
    """
    return _with_unit(value, _FORCE_N, "N, kN or lbf", "640 N")


def feed_mm_min(value: object) -> float:
    """The speed of a cutting head in millimetres a minute (mm/min); the unit must be written.

    >>> round(feed_mm_min("2.2 m/min"), 6), round(feed_mm_min("100 in/min"), 6)
    (2200.0, 2540.0)
    """
    return _with_unit(value, _FEED_MM_MIN, "mm/min, m/min, mm/s, in/min or in/s", "2200 mm/min")


def time_s(value: object) -> float:
    """The time in seconds (s); the unit must be written.

    >>> time_s("0.5 s"), time_s("2 min")
    (0.5, 120.0)
    """
    return _with_unit(value, _TIME_S, "s, ms or min", "0.5 s")


def show_length(mm: float, unit: Unit, digits: int | None = None) -> str:
    """A length as text in `unit`, with `digits` decimals, or with up to 2 (mm) or 3 (in) and no idle zeros.

    A half goes up, whatever the last bits of the figure: the same length always reads the same.

    >>> show_length(9.2, "mm"), show_length(9.2, "in"), show_length(38.1, "in", 2)
    ('9.2 mm', '0.362 in', '1.50 in')
    """
    # Away from zero on both sides, so that what is mirrored reads the same but for its sign.
    figure = mm / INCH if unit == "in" else mm
    figure += math.copysign(NOISE, figure)
    if digits is not None:
        text = f"{figure:.{digits}f}"
    else:
        text = f"{figure:.{3 if unit == 'in' else 2}f}".rstrip("0").rstrip(".")
    # What rounds to nothing has no sign.
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return f"{text} {unit}"


def show_force(n: float, unit: Unit, form: str = ".0f") -> str:
    """A force in newtons as text: `form` says how newtons are written; pounds-force where lengths are in inches.

    >>> show_force(640.0, "mm"), show_force(640.0, "in")
    ('640 N', '144 lbf')
    """
    return f"{n:{form}} N" if unit == "mm" else f"{three_figures(n / POUND_FORCE)} lbf"


def show_torque(nm: float, unit: Unit, form: str = ".2f") -> str:
    """A torque in newton metres as text: `form` is for these; pounds-force times feet where lengths are in inches.

    >>> show_torque(12.0, "mm"), show_torque(12.0, "in")
    ('12.00 Nm', '8.85 lbf ft')
    """
    return f"{nm:{form}} Nm" if unit == "mm" else f"{three_figures(nm / _TORQUE_NM['lbf ft'])} lbf ft"


def show_power(w: float, unit: Unit, form: str = ".2f") -> str:
    """A power in watts as text: `form` is for kilowatts; horsepower where lengths are in inches.

    >>> show_power(750.0, "mm", "g"), show_power(750.0, "in")
    ('0.75 kW', '1.01 hp')
    """
    return f"{w / 1000:{form}} kW" if unit == "mm" else f"{three_figures(w / _POWER_W['hp'])} hp"


def show_speed(m_s: float, unit: Unit, form: str = ".1f") -> str:
    """The speed (m/s) of a belt or rim as text: `form` is for m/s; feet a minute where lengths are in inches.

    >>> show_speed(15.0, "mm"), show_speed(15.0, "in")
    ('15.0 m/s', '2953 ft/min')
    """
    return f"{m_s:{form}} m/s" if unit == "mm" else f"{m_s * 60_000 / (12 * INCH):.0f} ft/min"


def show_stress(n_mm2: float, unit: Unit, form: str = ".0f") -> str:
    """A stress in N/mm2 as text: `form` is for these; thousands of pounds a square inch where lengths are in inches.

    >>> show_stress(235.0, "mm"), show_stress(235.0, "in")
    ('235 N/mm2', '34.1 ksi')
    """
    return f"{n_mm2:{form}} N/mm2" if unit == "mm" else f"{three_figures(n_mm2 / _STRESS['ksi'])} ksi"


def show_mass(kg: float, unit: Unit, form: str = "g") -> str:
    """A mass in kilograms as text: `form` is for these; pounds where lengths are in inches.

    >>> show_mass(14.0, "mm"), show_mass(14.0, "in")
    ('14 kg', '30.9 lb')
    """
    return f"{kg:{form}} kg" if unit == "mm" else f"{three_figures(kg / POUND)} lb"


def three_figures(value: float) -> str:
    """A number with no more decimals than three figures need, as a shop in inches writes what it converts.

    >>> three_figures(144.4), three_figures(14.44), three_figures(1.444), three_figures(1444.0)
    ('144', '14.4', '1.44', '1444')
    """
    digits = 0 if abs(value) >= 99.95 else 1 if abs(value) >= 9.995 else 2
    return f"{value + math.copysign(NOISE, value):.{digits}f}"


_NUMBER: Final = r"(?<![\w.])-?\d+(?:\.\d+)?"
_METRIC: Final = re.compile(
    rf"((?:{_NUMBER}(?: to | and | x ))?{_NUMBER}) (mm|N/mm[2²]|Nm|N|kW|m/s|kg/m[3³]|kg)(?![\w/])"
    "(?! drill| bit| reamer)"
)


def said_in(text: str, unit: Unit) -> str:
    """A sentence of a room that knows no unit, its quantities in the unit of the spec.

    >>> said_in("a belt of 1000.0 mm is too short", "mm"), said_in("a belt of 1000.0 mm is too short", "in")
    ('a belt of 1000.0 mm is too short', 'a belt of 39.37 in is too short')
    >>> said_in("14 to 16 kg, 640 N, an M8 screw, 0.75 kW", "in")
    '30.9 to 35.3 lb, 144 lbf, an M8 screw, 1.01 hp'
    >>> said_in("80 x 40 mm, rated 2 x 1.395 kW", "in")
    '3.15 x 1.575 in, rated 2 x 1.87 hp'
    """
    if unit == "mm":
        return text

    def other(found: re.Match[str]) -> str:
        # two lengths make a size, 80 x 40 mm; before anything else the first figure only counts: 2 x 1.4 kW
        times, _, rest = found[1].rpartition(" x ") if found[2] != "mm" else ("", "", found[1])
        said = re.sub(
            rf"({_NUMBER})( to | and | x )?",
            lambda one: (
                _in_inches(float(one[1]), found[2]).partition(" ")[0] + one[2]
                if one[2]
                else _in_inches(float(one[1]), found[2])
            ),
            rest,
        )
        return f"{times} x {said}" if times else said

    return _METRIC.sub(other, text)


def _in_inches(value: float, metric: str) -> str:
    """A figure in a metric unit, as text in that of a shop that works in inches."""
    match metric:
        case "mm":
            return show_length(value, "in")
        case "N/mm2" | "N/mm²":
            return show_stress(value, "in")
        case "kg/m3" | "kg/m³":
            return f"{value / _DENSITY_KG_M3['lb/in3']:.3f} lb/in3"
        case "Nm":
            return show_torque(value, "in")
        case "N":
            return show_force(value, "in")
        case "kW":
            return show_power(value * 1000, "in")
        case "m/s":
            return show_speed(value, "in")
        case _:
            return show_mass(value, "in")


def measured_in(value: float, metric: Literal["mm", "N/mm2", ""], unit: Unit) -> tuple[float, str]:
    """A figure in mm or N/mm2 as one in the unit of the spec, with that unit: for a scale, which says its unit once.

    >>> measured_in(25.4, "mm", "in"), measured_in(235.0, "N/mm2", "mm")
    ((1.0, 'in'), (235.0, 'N/mm2'))
    """
    if unit == "mm" or not metric:
        return value, metric
    return (value / INCH, "in") if metric == "mm" else (value / _STRESS["ksi"], "ksi")


def written_length(mm: float, unit: Unit) -> float | str:
    """A length (mm) as it is written into a spec in `unit`: a bare number in mm, else inches to a millionth.

    >>> written_length(228.6, "mm"), written_length(228.6, "in"), written_length(-10.0, "in")
    (228.6, '9 in', '-0.393701 in')
    """
    if unit == "mm":
        return mm
    return f"{f'{mm / INCH:.6f}'.rstrip('0').rstrip('.')} in"


def nearest_fraction(mm: float, parts: int = 64) -> Fraction:
    """The inches nearest to a length in mm, in whole `parts` of an inch (64ths if left out).

    >>> nearest_fraction(149.2), show_fraction(nearest_fraction(149.2))
    (Fraction(47, 8), '5-7/8 in')
    """
    return Fraction(round(mm / INCH * parts), parts)


def show_fraction(inches: Fraction) -> str:
    """Inches (25.4 mm each) as a mixed number that `length` reads back.

    >>> show_fraction(Fraction(3, 8)), show_fraction(Fraction(-17, 16)), show_fraction(Fraction(2))
    ('3/8 in', '-1-1/16 in', '2 in')
    """
    sign = "-" if inches < 0 else ""
    # the sign stands before all of it: -1-1/16 is minus one and a sixteenth
    whole, rest = divmod(abs(inches), 1)
    if rest == 0:
        return f"{sign}{whole} in"
    return f"{sign}{whole}-{rest} in" if whole else f"{sign}{rest} in"


def shown(value: object) -> str:
    """What was given, short enough for a message: text in quotes, anything else as a shop would call it.

    >>> shown("ten"), shown(True), shown(None), shown([1, 2])
    ('"ten"', 'true', 'nothing', 'a list')
    """
    match value:
        case str():
            text = "".join(sign if sign.isprintable() else "?" for sign in value)
            mark = "'" if '"' in text and "'" not in text else '"'
            return f"{mark}{text[: MAX_TEXT - 3] + '...' if len(text) > MAX_TEXT else text}{mark}"
        case bool():
            return "true" if value else "false"
        case None:
            return "nothing"
        case float() if math.isnan(value):
            return "not-a-number"
        case float() if math.isinf(value):
            return "an infinite number"
        case int() if abs(value) >= 10**30:
            return "a number of more than 30 digits"
        case int() | float():
            return f"{value:.12g}" if isinstance(value, float) else str(value)
        case dict():
            return "a group of keys"
        case list() | tuple():
            return "a list"
        case _:
            return f"a {type(value).__name__}"


# -------------------------------------------------------------------------------- the reading itself


def _bare_number(value: object, wanted: str) -> int | float:
    # `yes` is a truth value to YAML, and True would be the number 1; not-a-number differs from itself
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise UnitError(shown(value), wanted)
    return value if abs(value) <= MAX_FIGURE else math.inf


def _within(result: float, value: object, limit: float, wanted: str) -> float:
    if not abs(result) <= limit:
        raise UnitError(shown(value), wanted)
    return result


def _cleaned(value: str, wanted: str) -> str:
    """The text with its typographic signs made plain; refuses what cannot be a quantity at all."""
    # Text from web pages and word processors carries curly quotes for inches and fractions as one sign: these are
    # taken. A decimal comma is refused although it could be guessed: 1,250 is one metre in one shop, a millimetre and
    # a quarter in another. Long text is not looked at, so that no pattern below ever runs over a whole file.
    if len(value) > MAX_TEXT or not value.strip():
        raise UnitError(shown(value), wanted)
    text = value.translate(_SIGNS).strip()
    if _COMMA.fullmatch(text):
        plain = text.replace(",", ".") if text.count(",") == 1 else text.replace(",", "")
        raise UnitError(shown(value), f"write {plain}, with a point for the decimals and nothing for thousands")
    return text


def _length_of_text(value: str, unit: Unit) -> float:
    """The length in mm of text with a unit in it; raises UnitError as `length` says.

    A fraction is kept exact up to the last step, so that 5-7/8 in is the float64 nearest to it.
    """
    wanted = f"give a length, such as 10, {EXAMPLES[unit]}"
    text = _cleaned(value, wanted)
    # Feet and inches first: 1' 2-1/2" would otherwise be a figure with a strange unit.
    joined = _FEET_INCHES.fullmatch(text)
    if joined is not None:
        inches = int(joined["feet"]) * 12 + _figure(joined["inches"], value)
        result = float((-inches if joined["sign"] == "-" else inches) * Fraction(127, 5))
        return _within(result, value, MAX_LENGTH, TOO_LONG)
    parts = _QUANTITY.fullmatch(text)
    if parts is None:
        raise UnitError(shown(value), wanted)
    name = _unit_name(parts["unit"])
    # A number in quotes: whoever writes quotes may have meant inches, whoever leaves them off gets the spec's unit.
    # So it is not taken for either.
    if not name:
        figure = text.lstrip("+")
        if "/" in figure:
            raise UnitError(f"{shown(value)}, a fraction without a unit", f"write {figure} in")
        raise UnitError(
            f"{shown(value)}, a number as text",
            f"write {figure} without quotes, or with its unit: {figure} {unit}",
        )
    factor = _LENGTH_MM.get(name)
    if factor is None:
        raise UnitError(f"{shown(value)} with an unknown unit", "use mm, cm, m, in, ft or thou")
    if "/" in parts["figure"] and name not in _FRACTIONAL:
        raise UnitError(shown(value), f"fractions go with inches; write {name} as a decimal")
    size = _figure(parts["figure"], value) * factor
    result = float(-size if parts["sign"] == "-" else size)
    return _within(result, value, MAX_LENGTH, TOO_LONG)


def _unit_name(given: str | None) -> str:
    # Two single quotes are typed for one double quote; case carries no meaning (HP, hp, KW).
    name = (given or "").strip()
    return '"' if name == "''" else name.lower()


def _figure(text: str, value: str) -> Fraction:
    """The figure in front of a unit, exactly."""
    if "/" not in text:
        return Fraction(text)
    # Whole and fraction are parted by a dash or blanks between digits, after blanks round the stroke are gone.
    *whole, fraction = re.split(r"(?<=\d)(?:-|\s+)(?=\d)", re.sub(r"\s*/\s*", "/", text))
    over, under = (int(part) for part in fraction.split("/"))
    if under == 0:
        raise UnitError(shown(value), "a fraction cannot have zero below the line")
    if whole and over >= under:
        raise UnitError(shown(value), "a mixed number has a fraction below one, as 5-7/8 in")
    return Fraction(over, under) + (int(whole[0]) if whole else 0)


def _with_unit(value: object, factors: dict[str, float], units: str, example: str) -> float:
    if not isinstance(value, str):
        raise UnitError(shown(value), f"give it with its unit ({units}), as {example}")
    return _quantity(value, _cleaned(value, f"give it with its unit, as {example}"), factors, units, example)


def _quantity(value: str, text: str, factors: dict[str, float], units: str, example: str) -> float:
    parts = _QUANTITY.fullmatch(text)
    if parts is None or "/" in parts["figure"]:
        raise UnitError(shown(value), f"give it with its unit, as {example}")
    name = _unit_name(parts["unit"])
    if not name:
        raise UnitError(shown(value), f"give its unit too ({units}), as {example}")
    factor = factors.get(name)
    if factor is None:
        raise UnitError(f"{shown(value)} with an unknown unit", f"use {units}, as {example}")
    # bounded before it is multiplied, so that no unit makes it infinite
    figure = float(parts["figure"])
    _within(figure, value, MAX_FIGURE, f"that is too large; give it as {example}")
    return -figure * factor if parts["sign"] == "-" else figure * factor
