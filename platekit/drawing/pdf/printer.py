"""What a printer does to a sheet, by six measured lengths, and how to bend the drawing so that it comes out true.

Vocabulary
    bars         four lines along the edges of a sheet that share their ends: bottom, top, left, right
    diagonals    rising: from the lower left to the upper right; falling: from the upper left to the lower right
    nominal      what the bars across and along the sheet were to measure
    readings     what they measure on the printed sheet
    distortion   the straight part of the printer's error: two scales and a lean; straight lines stay straight
    lean         how far upright lines lean to the right, which makes the rising diagonal longer (rad)
    left over    what of the readings no distortion explains

Six lengths between four points have one thing too many to say, and a distortion has three figures, so three things are
left over: the difference of top and bottom, that of left and right (both a trapezoid), and a misfit of the diagonals
to the bars, which no sheet can have: then a reading is wrong. All lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, Literal, get_args

import numpy as np
from msgspec import Struct

from platekit.drawing.pdf.paper import check_frame, sheet_of
from platekit.errors import PaperError, SpecError
from platekit.placed import Layout, MeasuredSheet
from platekit.spec.models import MeasuredWords
from platekit.units import INCH, Unit, show_length

Bar = Literal["bottom", "top", "left", "right", "rising", "falling"]
BARS: Final[tuple[Bar, ...]] = get_args(Bar)
"""The names of the readings, in the order in which they are told."""

READING: Final = 0.2
"""One standard deviation of a bar read with a steel rule, mm (common practice: half-millimetre lines, two ends)."""
MOST_TRAPEZOID: Final = 0.6
"""Largest difference of opposite bars that is put down to reading, mm: half of it is left in the drawing, and three
standard deviations are 0.6 (ours)."""
MOST_MISFIT: Final = 3 * READING
"""Largest misfit of the diagonals to the bars that is put down to reading, mm (ours)."""
MOST_LEFT: Final = MOST_MISFIT / 2
"""Most that a good set of readings leaves over on any of them, mm: what the two limits above amount to (ours)."""
MOST_SCALE: Final = 0.02
"""Largest error of scale that is mended: printers are off by up to 1 % with scaling off (common practice); what is
beyond twice that is a setting."""
MOST_LEAN: Final = math.radians(1.0)
"""Largest lean that is mended, rad (ours): more is paper that went in crooked."""
FITTED: Final = (0.90, 0.985)
"""Scales that `fit to page` makes: 94 to 97 % (common practice), with some room (ours)."""
SAME_SCALE: Final = 0.006
"""Two scales closer than this count as one, as a setting makes them (ours)."""
SLIP: Final = 0.06
"""Farther than this from all the others' scale, a reading is a slip and no printer's error (ours)."""
SEEN: Final = 0.0004
"""Share of a length from which an error of scale or squareness is told: 0.1 mm over 250 mm (ours: half a reading)."""
DECIMALS: Final = 12
"""Of scales and lean (ours): finer figures differ from processor to processor, and would give other bytes on paper."""
STEPS: Final = 20
"""Most steps of the least-squares search; it takes four (ours)."""


class NominalBars(Struct, frozen=True):
    """What the bars across and along a sheet were to measure."""

    across: float
    along: float

    @property
    def turned(self) -> NominalBars:
        """The same sheet, lying the other way."""
        return NominalBars(self.along, self.across)

    @property
    def diagonal(self) -> float:
        """What both diagonals were to measure, mm."""
        return math.hypot(self.across, self.along)

    def of(self, bar: Bar) -> float:
        """What one bar or diagonal was to measure, mm."""
        lengths = {"bottom": self.across, "top": self.across, "left": self.along, "right": self.along}
        return lengths.get(bar, self.diagonal)


class Distortion(Struct, frozen=True):
    """The straight part of what a printer does to a sheet: `across` and `along` are scales, `lean` is in rad.

    >>> Distortion(1.01, 0.99).matrix
    ((1.01, 0.0), (0.0, 0.99))
    """

    across: float = 1.0
    along: float = 1.0
    lean: float = 0.0

    @property
    def matrix(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where a step on the drawing goes on the paper, level lines staying level."""
        up = self.along * math.cos(self.lean)
        return ((self.across, self.along * math.sin(self.lean)), (0.0, up))

    @property
    def inverse(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """How to bend the drawing, so that it comes out true."""
        (a, b), (_, d) = self.matrix
        # of an upper triangle, so written out; the lean is at most a degree, and d is never near 0
        return ((1 / a, -b / (a * d)), (0.0, 1 / d))

    @property
    def turned(self) -> Distortion:
        """The same printer's, for a sheet that lies the other way: turning the sheet turns the lean round."""
        return Distortion(self.along, self.across, -self.lean)

    def length(self, bar: Bar, nominal: NominalBars) -> float:
        """What a bar or diagonal measures on the paper, mm."""
        x, y = self.across * nominal.across, self.along * nominal.along
        if bar in ("bottom", "top"):
            return x
        if bar in ("left", "right"):
            return y
        sign = 1.0 if bar == "rising" else -1.0
        return math.sqrt(x * x + y * y + sign * 2 * x * y * math.sin(self.lean))


class Printer(Struct, frozen=True):
    """A printer as measured, its sheet in portrait; `name` is what the user calls it, "" if it has no name.

    `wider_on_top` is the top bar less the bottom one, `longer_right` the right bar less the left one, both in the way
    the measured sheet lay; `misfit` is how far the diagonals miss the bars.
    """

    name: str
    portrait: Distortion
    wider_on_top: float
    longer_right: float
    misfit: float

    @property
    def called(self) -> str:
        """Its name in a sentence."""
        return f"the printer {self.name}" if self.name else "the measured printer"

    @property
    def left(self) -> float:
        """How far a corrected sheet may still be off from end to end, mm: half the trapezoid, and the reading."""
        # what the straight correction leaves: half of the trapezoid at each edge, and the reading itself, added as
        # independent errors
        trapezoid = max(abs(self.wider_on_top), abs(self.longer_right)) / 2
        return math.hypot(trapezoid, READING)

    def distortion(self, width: float, height: float) -> Distortion:
        """What it does to a sheet of that size (mm) as it lies before the reader."""
        return self.portrait if height >= width else self.portrait.turned


Readings = dict[Bar, float]


def printer_of(readings: Readings, nominal: NominalBars, unit: Unit, name: str = "") -> Printer:
    """The printer that made a sheet with these readings.

    The sheet may have lain either way: the readings tell. `unit` is the one to speak in. Raises `PaperError`, which
    names the reading and what would do, for readings that are no lengths, contradict each other, come from another
    sheet, or show an error that no straight correction mends.
    """
    for bar in BARS:
        if not (math.isfinite(readings[bar]) and readings[bar] > 0):
            raise PaperError(bar, f"{readings[bar]:g}", "give the length of the bar, above zero")
    nominal = as_it_lay(readings, nominal)
    _refuse_slips(readings, nominal, unit)
    found = fitted_distortion(readings, nominal)
    left = {bar: readings[bar] - found.length(bar, nominal) for bar in BARS}
    # Six lengths, five degrees of freedom of a quadrilateral: around a rectangle a change of all six is possible only
    # if W (bottom + top) + H (left + right) = D (rising + falling), the parallelogram law taken to first order. What
    # is left over, mm, is scaled so that its standard deviation is that of one reading.
    w, h, d = nominal.across, nominal.along, nominal.diagonal
    total = w * (left["bottom"] + left["top"]) + h * (left["left"] + left["right"])
    misfit = (d * (left["rising"] + left["falling"]) - total) / (2 * d)
    if abs(misfit) > MOST_MISFIT:
        raise _contradiction(readings, nominal, misfit, unit)
    across, along = found.across, found.along
    # off by the same both ways is hardly the paper, which stretches more one way than the other: it is a setting of the
    # print dialog, and a correction for it would fail on the next sheet
    if abs(across - along) < SAME_SCALE and FITTED[0] <= (across + along) / 2 <= FITTED[1]:
        raise PaperError(
            "",
            f"a print at {_percent((across + along) / 2)} of its size both ways, which is `fit to page`",
            "set scaling to 100 %, also called actual size, in the print dialog, print again and measure that",
        )
    if abs(across - along) < SAME_SCALE and abs((across + along) / 2 - 1) > MOST_SCALE:
        raise PaperError(
            "",
            f"a print at {_percent((across + along) / 2)} of its size both ways, more than a printer is off by itself",
            "set scaling to 100 % in the print dialog, print again and measure that",
        )
    for scale, bars, pair in ((across, "bottom and top", nominal.across), (along, "left and right", nominal.along)):
        if abs(scale - 1) > MOST_SCALE:
            found_words = f"{bars} at {_percent(scale)} of {_length(pair, unit)}"
            raise PaperError(
                "bottom" if pair == nominal.across else "left",
                found_words,
                f"up to {_percent(MOST_SCALE)} is mended; look for a scaling in the print dialog, or measure again",
            )
    if abs(found.lean) > MOST_LEAN:
        raise PaperError(
            "rising",
            f"diagonals that make the sheet lean {math.degrees(abs(found.lean)):.2f} degrees",
            f"up to {math.degrees(MOST_LEAN):g} degree is mended; put the paper square into its guides and print again",
        )
    # Opposite bars that differ make a trapezoid, which no straight correction mends
    opposite: tuple[tuple[Bar, Bar], ...] = (("top", "bottom"), ("right", "left"))
    for one, other in opposite:
        a, b = readings[one], readings[other]
        if abs(a - b) > MOST_TRAPEZOID + 1e-9:
            long, short = (one, other) if a > b else (other, one)
            raise PaperError(
                one,
                f"a trapezoid: the {long} bar is {show_length(abs(a - b), unit)} longer than the {short} one",
                f"up to {show_length(MOST_TRAPEZOID, unit)} is taken for reading, and more is not mended by a straight "
                "correction; put the paper square into its guides, print and measure again, or use another printer",
            )
    portrait = found if nominal.along >= nominal.across else found.turned
    wider, longer = readings["top"] - readings["bottom"], readings["right"] - readings["left"]
    return Printer(name, portrait, wider, longer, misfit)


def fitted_distortion(readings: Readings, nominal: NominalBars, bars: Sequence[Bar] = BARS) -> Distortion:
    """The distortion that comes closest to the readings of `bars`, by least squares of what is left over (mm)."""
    # Gauss-Newton from the sheet as it was meant: the lengths are nearly straight functions of scales and sine of the
    # lean, so it ends in three or four steps. Both are kept where a length stays real, for readings that are nonsense
    # and shall be refused in words afterwards.
    observed = np.array([readings[bar] for bar in bars])
    x = np.array([1.0, 1.0, 0.0])
    for _ in range(STEPS):
        off = observed - np.array([_lengths(x, nominal, bar)[0] for bar in bars])
        slope = np.array([_lengths(x, nominal, bar)[1] for bar in bars])
        step = np.linalg.lstsq(slope, off, rcond=None)[0]
        x = x + step
        x[:2] = np.maximum(x[:2], 1e-3)
        x[2] = min(max(x[2], -0.99), 0.99)
        if float(np.abs(step).max()) < 1e-13:
            break
    across, along, sine = (round(float(value), DECIMALS) for value in x)
    return Distortion(across, along, round(math.asin(sine), DECIMALS))


def _lengths(x: Any, nominal: NominalBars, bar: Bar) -> tuple[float, tuple[float, float, float]]:
    """The length of a bar at scales and sine of the lean, and how it changes with each of them."""
    across, along, sine = (float(value) for value in x)
    wide, high = nominal.across, nominal.along
    if bar in ("bottom", "top"):
        return wide * across, (wide, 0.0, 0.0)
    if bar in ("left", "right"):
        return high * along, (0.0, high, 0.0)
    sign = 1.0 if bar == "rising" else -1.0
    a, b = wide * across, high * along
    length = math.sqrt(a * a + b * b + sign * 2 * a * b * sine)
    slope = (wide * (a + sign * b * sine), high * (b + sign * a * sine), sign * a * b)
    return length, (slope[0] / length, slope[1] / length, slope[2] / length)


def readings_of(measured: MeasuredWords | MeasuredSheet) -> Readings:
    """The readings of a spec or a printer's file."""
    return {bar: float(getattr(measured, bar)) for bar in BARS}


def printer_of_spec(layout: Layout) -> Printer | None:
    """The printer that a spec names or measures, None if it does neither.

    Raises `SpecError` with the place, in the spec or in the printer's own file, of what cannot be used.
    """
    paper, spec = layout.paper, layout.spec
    if paper.printer is not None:
        from platekit.spec.printers import printer_path  # only here: few specs name a printer

        return stored_printer(printer_path(paper.printer, spec.path), spec.unit)
    if paper.measured is None:
        return None
    bars = paper.measured.bars
    sheet = sheet_of(paper)
    if bars is None:
        assert sheet is not None  # the spec language asks for the bars of a single sheet
        frame = check_frame(sheet, spec.unit)
        bars = (frame.width, frame.height)
    try:
        return printer_of(readings_of(paper.measured), NominalBars(*bars), spec.unit)
    except PaperError as error:
        field = f"paper.measured.{error.bar}" if error.bar else "paper.measured"
        raise SpecError((spec.problem(field, error.found, error.wanted),)) from None


def stored_printer(path: Path, unit: Unit) -> Printer:
    """The printer in a file of its own; `SpecError` or `PlatekitError` if it cannot be used."""
    from platekit.spec.printers import load_printer

    stored = load_printer(path)
    try:
        return printer_of(readings_of(stored.file.measured), NominalBars(*stored.file.bars), unit, stored.name)
    except PaperError as error:
        raise SpecError((stored.problem(error.bar, error.found, error.wanted),)) from None


# --------------------------------------------------------------------------------------- what is refused


def as_it_lay(readings: Readings, nominal: NominalBars) -> NominalBars:
    """The nominal bars of the sheet in the way it lay, as far as the readings tell."""

    def strangeness(bars: NominalBars) -> float:
        ratios = [readings[bar] / bars.of(bar) for bar in ("bottom", "top", "left", "right")]
        return max(ratios) / min(ratios)

    # the way in which the four bars come out most alike; the readings say nothing about which way up the sheet was held
    return min((nominal, nominal.turned), key=strangeness)


def _refuse_slips(readings: Readings, nominal: NominalBars, unit: Unit) -> None:
    """A wrong unit, a bar of another sheet, figures that were swapped."""
    ratios = {bar: readings[bar] / nominal.of(bar) for bar in BARS}
    usual = float(np.median(list(ratios.values())))
    # The middle of six ratios is not moved by one or two slips, so it tells what went wrong with the whole sheet
    mixed = [
        (1 / INCH, "as if inches were taken for mm", "write each with its unit, as 10-5/8 in"),
        (INCH, "as if mm were taken for inches", "write each with its unit, as 270.5 mm"),
    ]
    if unit == "mm":
        mixed.append((0.1, "as if centimetres were taken for mm", "write each with its unit, as 27.05 cm"))
    for factor, cause, wanted in mixed:
        if abs(usual / factor - 1) < 0.1:
            raise PaperError("", f"readings about {usual:.3g} times what the bars say, {cause}", wanted)
    far = [bar for bar in BARS if abs(ratios[bar] / usual - 1) > SLIP]
    if len(far) == 1:
        (bar,) = far
        raise _outlier(readings, nominal, bar, unit)
    bars = f"{_length(nominal.across, unit)} and {_length(nominal.along, unit)}"
    if far:
        raise PaperError(
            "",
            f"readings that fit no sheet whose bars say {bars} ({_told(readings, unit)})",
            "measure the sheet again, each bar under its own name",
        )
    if abs(usual - 1) > 0.2:
        raise PaperError(
            "",
            f"readings {usual:.3g} times as long as bars of {bars}",
            "measure a sheet of the paper that the spec names, or say what its bars were to measure: bars: [.., ..]",
        )


def _contradiction(readings: Readings, nominal: NominalBars, misfit: float, unit: Unit) -> PaperError:
    """Which reading contradicts the others, as far as they tell."""
    # A reading is suspect if the other five agree without it. Of two diagonals either may be the wrong one, as nothing
    # else tells them apart.
    suspects = []
    for bar in BARS:
        without = _without(readings, nominal, bar)
        left = [abs(readings[other] - without.length(other, nominal)) for other in BARS if other != bar]
        if max(left) <= MOST_LEFT:
            suspects.append(bar)
    if len(suspects) == 1:
        return _outlier(readings, nominal, suspects[0], unit)
    if set(suspects) == {"rising", "falling"}:
        long = "long" if misfit > 0 else "short"
        found = f"diagonals together {show_length(2 * abs(misfit), unit)} too {long} for the bars"
        return PaperError("rising", found, "measure both diagonals again, one of them is wrong")
    found = f"bars and diagonals that contradict each other by {show_length(2 * abs(misfit), unit)}"
    return PaperError("", f"{found} ({_told(readings, unit)})", "measure all six again on one flat sheet")


def _without(readings: Readings, nominal: NominalBars, bar: Bar) -> Distortion:
    return fitted_distortion(readings, nominal, [other for other in BARS if other != bar])


def _outlier(readings: Readings, nominal: NominalBars, bar: Bar, unit: Unit) -> PaperError:
    expected = show_length(_without(readings, nominal, bar).length(bar, nominal), unit)
    found = f"{show_length(readings[bar], unit)}, and the other five make it {expected}"
    return PaperError(bar, found, f"measure the {bar_words(bar)} again")


# --------------------------------------------------------------------------------------------- in words


def bar_words(bar: Bar) -> str:
    """A bar or diagonal as a shop would call it.

    >>> bar_words("rising")
    'rising diagonal, lower left to upper right'
    """
    diagonals = {"rising": "lower left to upper right", "falling": "upper left to lower right"}
    return f"{bar} diagonal, {diagonals[bar]}" if bar in diagonals else f"{bar} bar"


def printer_words(printer: Printer, nominal: NominalBars, unit: Unit) -> tuple[str, ...]:
    """What the printer does to an upright sheet, in sentences; `nominal` are the bars of the sheet, either way."""
    found = printer.portrait
    nominal = nominal if nominal.along >= nominal.across else nominal.turned
    lines = [
        _scale_words("Across an upright sheet", found.across, nominal.across, unit),
        _scale_words("Along an upright sheet", found.along, nominal.along, unit),
    ]
    if _leans(found.lean):
        way, aside = "right" if found.lean > 0 else "left", abs(nominal.along * math.sin(found.lean))
        lines.append(
            f"It prints askew: upright lines lean {math.degrees(abs(found.lean)):.2f} degrees to the {way}, "
            f"{show_length(aside, unit)} over the sheet."
        )
    else:
        lines.append("It prints square: upright lines stand upright.")
    trapezoid = max(abs(printer.wider_on_top), abs(printer.longer_right))
    lines.append(
        f"Trapezoid: opposite bars differ by {show_length(trapezoid, unit)} at most, no more than reading explains."
    )
    lines.append(f"Corrected sheets from it are true within about {show_length(printer.left, unit)} from end to end.")
    return tuple(lines)


def amount_words(printer: Printer) -> str:
    """What the printer does to an upright sheet in a few words, the same as `printer_words` says at length.

    `0.7 % too short across and 1.3 % too long along an upright sheet, 0.30 degrees askew`
    """
    found = printer.portrait
    across, along = (_off(scale) for scale in (found.across, found.along))
    askew = f"{abs(math.degrees(found.lean)):.2f} degrees askew" if _leans(found.lean) else "square"
    return f"{across} across and {along} along an upright sheet, {askew}"


def _off(scale: float) -> str:
    """How far a scale is off: `0.46 % too long`; `true` where no rule shows it."""
    if abs(scale - 1) < SEEN:
        return "true"
    return f"{_percent(abs(scale - 1))} too {'long' if scale > 1 else 'short'}"


def _leans(lean: float) -> bool:
    return abs(math.sin(lean)) >= SEEN


def _scale_words(where: str, scale: float, nominal: float, unit: Unit) -> str:
    return f"{where} it prints {_off(scale)}: {_length(nominal, unit)} comes out as {_length(nominal * scale, unit)}."


def _length(mm: float, unit: Unit) -> str:
    return show_length(mm, unit, 3 if unit == "in" else 2)


def _percent(share: float) -> str:
    return f"{100 * share:.2f}".rstrip("0").rstrip(".") + " %"


def _told(readings: Readings, unit: Unit) -> str:
    return ", ".join(f"{bar} {_length(readings[bar], unit)}" for bar in BARS)
