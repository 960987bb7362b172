"""The rules that a table can be held to, one function each: what rises, what is unique, what must be below what.

A rule takes the rows of one file and yields *complaints*, each one sentence that names file and line. Some are
made for their columns (`rising("height")`), some are of one standard (`flange_sizes`). `platekit.tables.validate`
says which file keeps which. All lengths in mm, whatever a file prints.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import pairwise

from platekit.errors import LookupFailed
from platekit.tables.drills import drill
from platekit.tables.rows import LENGTHS, Row, TableError, in_mm, plain_number, read
from platekit.tables.screws import FITS
from platekit.tables.threads import stress_area, thread
from platekit.units import INCH

Check = Callable[[tuple[Row, ...]], Iterator[str]]

PLAUSIBLE: dict[str, tuple[float, float]] = {
    "mm": (-10.0, 2000.0),
    "in": (-1.0, 80.0),
    "um": (-1000.0, 4000.0),
    "mm2": (1.0, 4000.0),
    "in2": (0.001, 6.0),
    "deg": (0.0, 120.0),
    "ksi": (20.0, 300.0),
    "n": (1.0, 5000.0),
    "n_mm2": (10.0, 300000.0),
    "kg_m": (0.001, 2.0),
    "kg": (0.5, 3000.0),
    "kg_m3": (400.0, 9000.0),
    "kw": (0.01, 1000.0),
    "hp": (0.1, 1000.0),
    "w": (10.0, 1e6),
    "m_s": (1.0, 100.0),
    "nm": (0.05, 100000.0),
    "rpm": (10.0, 100000.0),
    "mm_min": (0.0, 100000.0),
    "s": (0.0, 60.0),
}
"""What a figure of each unit can be in a table of machine parts (ours): outside of it a unit or point has slipped."""
_ROUNDED = 0.006  # share: what two or three printed figures of a stress area may hide
_UN_AREA = 0.9743  # ASME B1.1: stress area = 0.7854 (D - 0.9743 / n)^2


def unit_of(column: str) -> str:
    """The unit that a column's name ends in, the longest that fits; empty for none."""
    return max((unit for unit in PLAUSIBLE if column.endswith(f"_{unit}")), key=len, default="")


def figures_in(cell: str) -> list[str]:
    """The figures of a cell: one, or a list with blanks or semicolons between."""
    return cell.replace(";", " ").split()


def unique(*columns: str) -> Check:
    """No two rows have the same cells in these columns."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        # By the cells as printed: 6 and 6.0 would be two rows here, and one for whoever looks up.
        seen = Counter(tuple(row.text(column) for column in columns) for row in rows)
        for cells, count in seen.items():
            if count > 1:
                yield f"{rows[0].file}: {' '.join(cells)} stands there {count} times"

    return check


def powers_rise(rows: tuple[Row, ...]) -> Iterator[str]:
    """In each frame the least power is below the most."""
    for row in rows:
        # A frame in which one power only is made does not occur: equal ends are a slip of copying.
        if not 0 < row.number("least_kw") < row.number("most_kw"):
            yield f"{row.file}:{row.line}: the powers of frame {row.text('frame')} do not rise"


def bounds_nest(rows: tuple[Row, ...]) -> Iterator[str]:
    """What is usual lies within what is possible."""
    for row in rows:
        bounds = [row.number(word) for word in ("possible_from", "usual_from", "usual_to", "possible_to")]
        # Usual bounds outside of the possible ones would call a figure usual that cannot be.
        if bounds != sorted(bounds) or bounds[0] < 0:
            yield f"{row.file}:{row.line}: the bounds of {row.text('figure')} do not nest"


def _value(row: Row, stem: str) -> float | None:
    """The figure of a column, with or without a unit in its name, lengths in mm; None when the cell is blank."""
    # Tables print units that their standard prints, so rules ask by the stem and compare lengths in mm.
    for column, cell in row.cells.items():
        unit = unit_of(column)
        if column in (stem, f"{stem}_{unit}"):
            value = plain_number(cell) if cell else None
            return in_mm(value, unit) if value is not None and unit in LENGTHS else value
    raise TableError(f"{row.file}: no column {stem!r}")


def rising(*stems: str, per: str = "", strictly: bool = False) -> Check:
    """A length never falls from row to row (within rows that share the cell `per`)."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for stem in stems:
            # One last figure a group: a table may hold several series one after the other, or mixed.
            last: dict[str, float] = {}
            for row in rows:
                group = row.text(per) if per else ""
                value = _value(row, stem)
                if value is None:
                    continue
                before = last.get(group, -math.inf)
                # A standard's sizes grow together: a figure that falls is a digit that slipped, or a row in the wrong
                # place.
                if value < before or (strictly and value == before):
                    yield f"{row.file}:{row.line}: {stem} {value:g} comes after {before:g}"
                last[group] = value

    return check


def ordered(*stems: str, equal: bool = False) -> Check:
    """Within a row each length is smaller than the next one; blanks are passed over."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            # Blank cells are what a standard leaves to the maker: the sizes beside them are compared all the same.
            sizes = [(stem, size) for stem in stems if (size := row.length(stem)) is not None]
            for (one, small), (other, large) in pairwise(sizes):
                if small > large or (small == large and not equal):
                    yield f"{row.file}:{row.line}: {one} {small:g} mm is not below {other} {large:g} mm"

    return check


def strengths(unit: str) -> Check:
    """Proof strength at most yield strength, yield below tensile strength."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            proof, limit, tensile = (row.number(f"{name}_{unit}") for name in ("proof", "yield", "tensile"))
            # Steel yields before it breaks; proof and yield may be printed as one.
            if not proof <= limit < tensile:
                yield f"{row.file}:{row.line}: proof {proof:g}, yield {limit:g}, tensile {tensile:g} do not rise"

    return check


def known_threads(column: str) -> Check:
    """The sizes of a table are sizes of the thread tables."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            try:
                thread(row.text(column))
            except LookupFailed as failure:
                yield f"{row.file}:{row.line}: {failure}"

    return check


def drill_holes(rows: tuple[Row, ...]) -> Iterator[str]:
    """Clearance holes named by drills: each is a stock drill, close below normal below loose, all above the screw."""
    for row in rows:
        # A drill called by a wrong letter shows here, since the sizes would not rise any more.
        sizes = [thread(row.text("size")).diameter, *(drill(row.text(fit)).diameter for fit in FITS)]
        if sorted(set(sizes)) != sizes:
            yield f"{row.file}:{row.line}: screw and holes do not rise: {', '.join(f'{size:.3f}' for size in sizes)} mm"


def areas(rows: tuple[Row, ...]) -> Iterator[str]:
    """Printed stress areas agree with the formula of their standard to the last printed figure."""
    for row in rows:
        # A slip of one digit in diameter, pitch or area breaks the formula, which ties all three together.
        printed = row.area("stress_area")
        if printed is None:
            continue
        diameter = row.need("diameter")
        if "pitch_mm" in row.cells:
            formula = stress_area(diameter, row.need("pitch"))
        else:
            formula = math.pi / 4 * (diameter - _UN_AREA * INCH / row.number("threads_per_inch")) ** 2
        if abs(printed / formula - 1) > _ROUNDED:
            yield f"{row.file}:{row.line}: stress area {printed:.4g} mm2, by the formula {formula:.4g} mm2"


def frame_heights(rows: tuple[Row, ...]) -> Iterator[str]:
    """IEC: the frame number is the shaft height. NEMA: two digits are sixteenths, the first two of three quarters."""
    for row in rows:
        # The number that both standards build into the name is a second printing of the height, and finds a slip in it.
        digits = "".join(letter for letter in row.text("frame") if letter.isdigit())
        if row.file.startswith("iec"):
            due, slack = float(digits), 0.0
        else:
            due = (float(digits) / 16 if len(digits) == 2 else float(digits[:2]) / 4) * INCH
            slack = 0.005 * INCH + 1e-6  # printed to two decimals
        if abs(row.need("shaft_height") - due) > slack:
            height = row.need("shaft_height")
            yield f"{row.file}:{row.line}: shaft height {height:g} mm, the frame number says {due:g} mm"


def three_digits_rise(rows: tuple[Row, ...]) -> Iterator[str]:
    """NEMA's frames of three digits rise with their number; those of two digits are counted otherwise."""
    yield from rising("shaft_height", "width", "to_shoulder", "hole")(
        tuple(row for row in rows if re.match(r"\d{3}", row.text("frame")))
    )


def flange_sizes(rows: tuple[Row, ...]) -> Iterator[str]:
    """IEC flanges are called by their bolt circle; FF has holes, FT a thread."""
    for row in rows:
        name = row.text("designation")
        if float(name[2:]) != row.need("bolt_circle"):
            yield f"{row.file}:{row.line}: {name} has a bolt circle of {row.need('bolt_circle'):g} mm"
        # F for a flange with free holes, T for one with tapped holes: the letter and the cells say it twice.
        if (name[:2] == "FF") == bool(row.text("screw")):
            yield f"{row.file}:{row.line}: {name} must have {'holes' if name[:2] == 'FF' else 'a thread'}"


def flanges_exist(rows: tuple[Row, ...]) -> Iterator[str]:
    """Every flange of a frame is a row of the flange table, the small one smaller than the large one."""
    known = {row.text("designation"): row.need("bolt_circle") for row in read("iec_60072_1_flange.csv")}
    for row in rows:
        named = [row.text(column) for column in ("b5", "b14_small", "b14_large") if row.text(column)]
        yield from (f"{row.file}:{row.line}: no flange {name}" for name in named if name not in known)
        small, large = row.text("b14_small"), row.text("b14_large")
        if small in known and large in known and known[small] >= known[large]:
            yield f"{row.file}:{row.line}: {small} is not smaller than {large}"


def pump_codes(rows: tuple[Row, ...]) -> Iterator[str]:
    """A pump flange's code is its pilot in whole mm and the number of its bolts."""
    for row in rows:
        # The code cuts decimals off and does not round: 101.6 mm is 101.
        pilot, bolts = row.text("code").split("-")[:2]
        if abs(float(pilot) - row.need("pilot")) >= 1.0 or bolts.split()[0] != row.text("bolts"):
            yield f"{row.file}:{row.line}: code {row.text('code')} for a pilot of {row.need('pilot'):g} mm"


def steps(rows: tuple[Row, ...]) -> Iterator[str]:
    """A series of sizes that a row tells by its first, last and step has more than one of them."""
    for row in rows:
        if not 0 < row.need("step") <= row.need("last") - row.need("first"):
            yield f"{row.file}:{row.line}: steps of {row.need('step'):g} mm from {row.need('first'):g} mm"


def adjoining(rows: tuple[Row, ...]) -> Iterator[str]:
    """Each range begins where the last one ends."""
    for before, row in pairwise(rows):
        # A gap would leave sizes without a row, an overlap give two answers.
        if before.need("up_to") != row.need("over"):
            yield f"{row.file}:{row.line}: does not begin where the row before ends"


def falling_gauges(rows: tuple[Row, ...]) -> Iterator[str]:
    """Within a metal the numbers go up by one or more and the sheets get thinner."""
    for before, row in pairwise(rows):
        if before.text("metal") == row.text("metal") and not (
            before.count("number") < row.count("number") and before.need("thickness") > row.need("thickness")
        ):
            yield f"{row.file}:{row.line}: gauge {row.text('number')} is not thinner than {before.text('number')}"


def known_sections(column: str) -> Check:
    """The cells name belt sections or families of belts."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        known = {cell for row in read("belts/sections.csv") for cell in (row.text("section"), row.text("family"))}
        for row in rows:
            if row.text(column) not in known:
                yield f"{row.file}:{row.line}: no belt section or family is called {row.text(column)!r}"

    return check


def each_section(rows: tuple[Row, ...]) -> Iterator[str]:
    """Every belt section has a row, of its own or by the section that it is like."""
    # `like` names the section whose pulleys and rows serve this one too (4L runs in the grooves of A).
    named = {row.text("section") for row in rows}
    for row in read("belts/sections.csv"):
        if rows and not named & {row.text("section"), row.text("like")}:
            yield f"{rows[0].file}: no row for section {row.text('section')}"


def list_rises(column: str, blank: bool = False) -> Check:
    """The figures of one cell rise and none stands there twice."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            values = [plain_number(figure) for figure in figures_in(row.text(column))]
            if (not values and not blank) or values != sorted(set(values)):
                yield f"{row.file}:{row.line}: the {column} do not rise"

    return check


def list_matches(one: str, other: str) -> Check:
    """Two cells of a row hold as many figures each."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            if len(figures_in(row.text(one))) != len(figures_in(row.text(other))):
                yield f"{row.file}:{row.line}: {one} and {other} are not as many"

    return check


def larger_carries_more(rows: tuple[Row, ...]) -> Iterator[str]:
    """At a speed that is printed for two pulleys of a section, the larger one lets the belt carry more."""
    last: dict[tuple[str, str], float] = {}
    for row in sorted(rows, key=lambda row: (row.text("section"), row.need("small"))):
        for speed, power in zip(figures_in(row.text("speeds")), figures_in(row.text("powers")), strict=False):
            spot = (row.text("section"), speed)
            # A larger pulley bends the belt less and turns it faster: at the same speed of turning it carries more.
            if float(power) < last.get(spot, 0.0):
                yield f"{row.file}:{row.line}: in powers {power} at {speed} rpm is less than on a smaller pulley"
            last[spot] = float(power)


def spans_adjoin(rows: tuple[Row, ...]) -> Iterator[str]:
    """For each name the spans of length follow each other without a gap."""
    for before, row in pairwise(rows):
        if before.text("for") == row.text("for") and before.need("up_to") != row.need("over"):
            yield f"{row.file}:{row.line}: does not begin where the row before ends"
        if row.need("over") >= row.need("up_to"):
            yield f"{row.file}:{row.line}: from {row.need('over'):g} to {row.need('up_to'):g} mm is no span"


def each_process(rows: tuple[Row, ...]) -> Iterator[str]:
    """The processes of a table are those that have limits."""
    known = {row.text("process") for row in read("processes.csv")}
    for row in rows:
        if row.text("process") not in known:
            yield f"{row.file}:{row.line}: no process is called {row.text('process')!r}"


def slower_when_thicker(rows: tuple[Row, ...]) -> Iterator[str]:
    """Within a process thicker plate is cut slower."""
    for before, row in pairwise(rows):
        if before.text("process") == row.text("process") and not (
            before.need("thickness") < row.need("thickness")
            and before.number("speed_mm_min") >= row.number("speed_mm_min")
        ):
            yield f"{row.file}:{row.line}: thicker plate is not cut slower"


def toothed_pitch(rows: tuple[Row, ...]) -> Iterator[str]:
    """Ribbed and toothed belts have a pitch, V-belts a width."""
    for row in rows:
        v_belt = row.text("family").endswith("V")
        # A V-belt is told by its width, ribbed and toothed ones by their pitch: a row with both would be read as
        # either.
        if v_belt == bool(row.text("pitch_mm")) or v_belt != bool(row.text("top_width_mm")):
            needed = "a width and no pitch" if v_belt else "a pitch and no width"
            yield f"{row.file}:{row.line}: {row.text('section')} needs {needed}"


def elastic(rows: tuple[Row, ...]) -> Iterator[str]:
    """Density, modulus, yield and Poisson's ratio as engineering materials have them."""
    # From wood and plastic at the low end to steel at the high one.
    ranges = {
        "density_kg_m3": (400, 9000),
        "modulus_n_mm2": (500, 230000),
        "yield_n_mm2": (10, 1500),
        "poisson": (0.1, 0.5),
    }
    for row in rows:
        for column, (low, high) in ranges.items():
            if not low <= row.number(column) <= high:
                yield f"{row.file}:{row.line}: {column} {row.text(column)} is outside {low:g} to {high:g}"


CUT_SIZES = tuple(f"size_{span}" for span in ("0_3", "3_10", "10_35", "35_125", "125_315", "315_1000"))


def cut_limits(rows: tuple[Row, ...]) -> Iterator[str]:
    """A larger part may come off further, and a row's thicknesses rise."""
    yield from unique("class", "over_mm")(rows)
    yield from ordered("over", "up_to")(rows)
    yield from ordered(*CUT_SIZES, equal=True)(rows)
