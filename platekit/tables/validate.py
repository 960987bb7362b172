"""Whether the tables can be right: every row looked over, by what a row of its file must fulfil. Run by the tests.

A **complaint** is one sentence that names file, line and what can't be. Rules are of two sorts: those that
every file must keep (a known unit, figures that are figures and of a plausible size, doubted columns that
exist) and those of one file (what rises, what is unique, what must be smaller than what, which figures belong
together).
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.drills import SYSTEMS, drill, drills
from platekit.tables.mounts import mount, names
from platekit.tables.rows import DATA, LENGTHS, Row, TableError, data_files, in_mm, plain_number, read
from platekit.tables.screws import FITS, screw, screw_sizes
from platekit.tables.threads import LEAST_PERCENT, stress_area, thread, threads
from platekit.tables.values import KINDS, Kind, Screw, StandardMount
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
    "kg_m3": (400.0, 9000.0),
    "kw": (0.01, 1000.0),
    "hp": (0.1, 1000.0),
    "w": (10.0, 1e6),
    "m_s": (1.0, 100.0),
    "mm_min": (0.0, 100000.0),
    "s": (0.0, 60.0),
}
"""What a figure of each unit can be in a table of machine parts (ours): outside of it a unit or point has slipped."""
NUMBERS = frozenset(
    {
        *("holes", "bolts", "pitch", "threads_per_inch", "diameters", "poisson", "share", "factor", "ratio", "slip"),
        *("efficiency", "overhung", "x", "y", "z", "most", "per_thickness", "per_kerf", "plus", "least", "add"),
        *("install", "tension", "install_share", "tension_share", "smallest", "values", "lengths"),
        *("possible_from", "usual_from", "usual_to", "possible_to"),
    }
)
"""Columns of figures without a unit in their name: bare numbers, shares, and those whose unit is a cell of the row."""
LABELS = frozenset(
    {
        *("size", "frame", "frames", "class", "name", "number", "iso_9013_class", "range", "pattern"),
        *("close", "normal", "loose", "tap_drill"),  # of the inch tables: drills by name
    }
)
"""Columns of names that may look like numbers: frame 56, drill 7, class 2."""
SPANS = ("over_", "up_to_", "from_")
"""How columns begin that bound a span of belt lengths or diameters: an open end is printed as a very large one."""
OPEN_END = 20000.0
UNIT_CELLS = frozenset(("mm", "in", "in/10", "deg", "pitch", "teeth"))
"""What a `unit` cell may say."""
WITH_UNIT_CELL = frozenset(("add", "smallest", "values", "lengths", "install", "tension", "plus", "least"))
"""Figures that need a `unit` cell in their row."""
_ROUNDED = 0.006  # share: what two or three printed figures of a stress area may hide
_MOST_PERCENT = 92.0  # of thread: more breaks taps (common practice)
_UN_AREA = 0.9743  # ASME B1.1: stress area = 0.7854 (D - 0.9743 / n)^2
_SMALLEST_WEB = 0.5  # mm: least wall that a real part has between two openings


class Counts(Struct, frozen=True):
    """How many rows and how many figures stand behind each kind of source."""

    rows: dict[Kind, int]
    figures: dict[Kind, int]


def validate_all() -> list[str]:
    """Every complaint about every table and about all that is built from them; empty when all is well."""
    found: list[str] = []
    for file in data_files():
        try:
            found += _file_complaints(file)
        except TableError as broken:
            found.append(str(broken))
    found += _mount_complaints()
    found += _screw_complaints()
    found += _drill_complaints()
    return found


def counts_by_kind() -> Counts:
    """Rows and figures of all tables by kind of source; a doubted column of a better row counts as from memory."""
    rows: Counter[Kind] = Counter()
    figures: Counter[Kind] = Counter()
    for file in data_files():
        for row in read(file):
            rows[row.source.kind] += 1
            for column, cell in row.cells.items():
                if _is_figure(column):
                    figures["from memory" if column in row.source.doubted else row.source.kind] += len(_figures(cell))
    return Counts({kind: rows[kind] for kind in KINDS}, {kind: figures[kind] for kind in KINDS})


def counts_by_file() -> dict[str, dict[Kind, int]]:
    """Rows of each table by kind of source."""
    return {file: dict(Counter(row.source.kind for row in read(file))) for file in data_files()}


def _unit(column: str) -> str:
    """The unit that a column's name ends in, the longest that fits; empty for none."""
    return max((unit for unit in PLAUSIBLE if column.endswith(f"_{unit}")), key=len, default="")


def _is_figure(column: str) -> bool:
    return bool(_unit(column)) or column in NUMBERS


def _figures(cell: str) -> list[str]:
    """The figures of a cell: one, or a list with blanks or semicolons between."""
    return cell.replace(";", " ").split()


# what every file must keep


def _file_complaints(file: str) -> Iterator[str]:
    rows = read(file)
    yield from _head_complaints(file)
    for row in rows:
        yield from _row_complaints(row)
    for check in FILE_CHECKS.get(file, ()):
        yield from check(rows)
    if file not in FILE_CHECKS:
        yield f"{file}: no rules of its own; add them to FILE_CHECKS"


def _head_complaints(file: str) -> Iterator[str]:
    text = (DATA / file).read_text(encoding="utf-8")
    head = [line for line in text.splitlines() if line.startswith("#")]
    if not head:
        yield f"{file}: no head that names the standard"
    if any(_unit(column) for column in read(file)[0].cells) and "unit" not in "\n".join(head).lower():
        yield f"{file}: the head does not say which unit is the authority"


def _row_complaints(row: Row) -> Iterator[str]:
    place = f"{row.file}:{row.line}"
    for column in row.source.doubted:
        if not row.cells.get(column):
            yield f"{place}: doubts {column!r}, which the row does not fill"
    for column, cell in row.cells.items():
        if cell != cell.strip():
            yield f"{place}: blanks round {cell!r} in column {column!r}"
        if not _is_figure(column):
            if cell and column not in LABELS and _all_numbers(cell):
                yield f"{place}: {column} holds the figure {cell} and names no unit"
            continue
        low, high = PLAUSIBLE.get(_unit(column), (-100.0, math.inf))
        if column.startswith(SPANS):
            high = max(high, OPEN_END)
        for figure in _figures(cell):
            try:
                value = plain_number(figure)
            except (ValueError, ZeroDivisionError):
                yield f"{place}: no number in column {column!r}: {figure}"
                continue
            if not low <= value <= high:
                yield f"{place}: {column} is {value:g}, outside {low:g} to {high:g}"
        if column in WITH_UNIT_CELL and row.cells.get("unit") not in UNIT_CELLS:
            known = ", ".join(sorted(UNIT_CELLS))
            yield f"{place}: the unit of {column} is {row.cells.get('unit')!r}, not one of {known}"


def _all_numbers(cell: str) -> bool:
    return all(re.fullmatch(r"-?\d+(\.\d+)?(/\d+)?", part) for part in _figures(cell))


# rules of one file


def _unique(*columns: str) -> Check:
    """No two rows have the same cells in these columns."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        seen = Counter(tuple(row.text(column) for column in columns) for row in rows)
        for cells, count in seen.items():
            if count > 1:
                yield f"{rows[0].file}: {' '.join(cells)} stands there {count} times"

    return check


def _powers_rise(rows: tuple[Row, ...]) -> Iterator[str]:
    """In each frame the least power is below the most."""
    for row in rows:
        if not 0 < row.number("least_kw") < row.number("most_kw"):
            yield f"{row.file}:{row.line}: the powers of frame {row.text('frame')} do not rise"


def _bounds_nest(rows: tuple[Row, ...]) -> Iterator[str]:
    """What is usual lies within what is possible."""
    for row in rows:
        bounds = [row.number(word) for word in ("possible_from", "usual_from", "usual_to", "possible_to")]
        if bounds != sorted(bounds) or bounds[0] < 0:
            yield f"{row.file}:{row.line}: the bounds of {row.text('figure')} do not nest"


def _value(row: Row, stem: str) -> float | None:
    """The figure of a column, with or without a unit in its name, lengths in mm; None when the cell is blank."""
    for column, cell in row.cells.items():
        unit = _unit(column)
        if column in (stem, f"{stem}_{unit}"):
            value = plain_number(cell) if cell else None
            return in_mm(value, unit) if value is not None and unit in LENGTHS else value
    raise TableError(f"{row.file}: no column {stem!r}")


def _rising(*stems: str, per: str = "", strictly: bool = False) -> Check:
    """A length never falls from row to row (within rows that share the cell `per`)."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for stem in stems:
            last: dict[str, float] = {}
            for row in rows:
                group = row.text(per) if per else ""
                value = _value(row, stem)
                if value is None:
                    continue
                before = last.get(group, -math.inf)
                if value < before or (strictly and value == before):
                    yield f"{row.file}:{row.line}: {stem} {value:g} comes after {before:g}"
                last[group] = value

    return check


def _ordered(*stems: str, equal: bool = False) -> Check:
    """Within a row each length is smaller than the next one; blanks are passed over."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            sizes = [(stem, size) for stem in stems if (size := row.length(stem)) is not None]
            for (one, small), (other, large) in pairwise(sizes):
                if small > large or (small == large and not equal):
                    yield f"{row.file}:{row.line}: {one} {small:g} mm is not below {other} {large:g} mm"

    return check


def _strengths(unit: str) -> Check:
    """Proof strength at most yield strength, yield below tensile strength."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            proof, limit, tensile = (row.number(f"{name}_{unit}") for name in ("proof", "yield", "tensile"))
            if not proof <= limit < tensile:
                yield f"{row.file}:{row.line}: proof {proof:g}, yield {limit:g}, tensile {tensile:g} do not rise"

    return check


def _known_threads(column: str) -> Check:
    """The sizes of a table are sizes of the thread tables."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            try:
                thread(row.text(column))
            except LookupFailed as failure:
                yield f"{row.file}:{row.line}: {failure}"

    return check


def _drill_holes(rows: tuple[Row, ...]) -> Iterator[str]:
    """Clearance holes named by drills: each is a stock drill, close below normal below loose, all above the screw."""
    for row in rows:
        sizes = [thread(row.text("size")).diameter, *(drill(row.text(fit)).diameter for fit in FITS)]
        if sorted(set(sizes)) != sizes:
            yield f"{row.file}:{row.line}: screw and holes do not rise: {', '.join(f'{size:.3f}' for size in sizes)} mm"


def _areas(rows: tuple[Row, ...]) -> Iterator[str]:
    """Printed stress areas agree with the formula of their standard to the last printed figure."""
    for row in rows:
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


def _frame_heights(rows: tuple[Row, ...]) -> Iterator[str]:
    """IEC: the frame number is the shaft height. NEMA: two digits are sixteenths, the first two of three quarters."""
    for row in rows:
        digits = "".join(letter for letter in row.text("frame") if letter.isdigit())
        if row.file.startswith("iec"):
            due, slack = float(digits), 0.0
        else:
            due = (float(digits) / 16 if len(digits) == 2 else float(digits[:2]) / 4) * INCH
            slack = 0.005 * INCH + 1e-6  # printed to two decimals
        if abs(row.need("shaft_height") - due) > slack:
            height = row.need("shaft_height")
            yield f"{row.file}:{row.line}: shaft height {height:g} mm, the frame number says {due:g} mm"


def _three_digits_rise(rows: tuple[Row, ...]) -> Iterator[str]:
    """NEMA's frames of three digits rise with their number; those of two digits are counted otherwise."""
    yield from _rising("shaft_height", "width", "to_shoulder", "hole")(
        tuple(row for row in rows if re.match(r"\d{3}", row.text("frame")))
    )


def _flange_sizes(rows: tuple[Row, ...]) -> Iterator[str]:
    """IEC flanges are called by their bolt circle; FF has holes, FT a thread."""
    for row in rows:
        name = row.text("designation")
        if float(name[2:]) != row.need("bolt_circle"):
            yield f"{row.file}:{row.line}: {name} has a bolt circle of {row.need('bolt_circle'):g} mm"
        if (name[:2] == "FF") == bool(row.text("screw")):
            yield f"{row.file}:{row.line}: {name} must have {'holes' if name[:2] == 'FF' else 'a thread'}"


def _flanges_exist(rows: tuple[Row, ...]) -> Iterator[str]:
    """Every flange of a frame is a row of the flange table, the small one smaller than the large one."""
    known = {row.text("designation"): row.need("bolt_circle") for row in read("iec_60072_1_flange.csv")}
    for row in rows:
        named = [row.text(column) for column in ("b5", "b14_small", "b14_large") if row.text(column)]
        yield from (f"{row.file}:{row.line}: no flange {name}" for name in named if name not in known)
        small, large = row.text("b14_small"), row.text("b14_large")
        if small in known and large in known and known[small] >= known[large]:
            yield f"{row.file}:{row.line}: {small} is not smaller than {large}"


def _pump_codes(rows: tuple[Row, ...]) -> Iterator[str]:
    """A pump flange's code is its pilot in whole mm and the number of its bolts."""
    for row in rows:
        pilot, bolts = row.text("code").split("-")[:2]
        if abs(float(pilot) - row.need("pilot")) >= 1.0 or bolts.split()[0] != row.text("bolts"):
            yield f"{row.file}:{row.line}: code {row.text('code')} for a pilot of {row.need('pilot'):g} mm"


def _steps(rows: tuple[Row, ...]) -> Iterator[str]:
    for row in rows:
        if not 0 < row.need("step") <= row.need("last") - row.need("first"):
            yield f"{row.file}:{row.line}: steps of {row.need('step'):g} mm from {row.need('first'):g} mm"


def _adjoining(rows: tuple[Row, ...]) -> Iterator[str]:
    """Each range begins where the last one ends."""
    for before, row in pairwise(rows):
        if before.need("up_to") != row.need("over"):
            yield f"{row.file}:{row.line}: does not begin where the row before ends"


def _falling_gauges(rows: tuple[Row, ...]) -> Iterator[str]:
    """Within a metal the numbers go up by one or more and the sheets get thinner."""
    for before, row in pairwise(rows):
        if before.text("metal") == row.text("metal") and not (
            before.count("number") < row.count("number") and before.need("thickness") > row.need("thickness")
        ):
            yield f"{row.file}:{row.line}: gauge {row.text('number')} is not thinner than {before.text('number')}"


def _known_sections(column: str) -> Check:
    """The cells name belt sections or families of belts."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        known = {cell for row in read("belts/sections.csv") for cell in (row.text("section"), row.text("family"))}
        for row in rows:
            if row.text(column) not in known:
                yield f"{row.file}:{row.line}: no belt section or family is called {row.text(column)!r}"

    return check


def _each_section(rows: tuple[Row, ...]) -> Iterator[str]:
    """Every belt section has a row, of its own or by the section that it is like."""
    named = {row.text("section") for row in rows}
    for row in read("belts/sections.csv"):
        if not named & {row.text("section"), row.text("like")}:
            yield f"{rows[0].file}: no row for section {row.text('section')}"


def _list_rises(column: str) -> Check:
    """The figures of one cell rise and none stands there twice."""

    def check(rows: tuple[Row, ...]) -> Iterator[str]:
        for row in rows:
            values = [plain_number(figure) for figure in _figures(row.text(column))]
            if not values or values != sorted(set(values)):
                yield f"{row.file}:{row.line}: the {column} do not rise"

    return check


def _spans_adjoin(rows: tuple[Row, ...]) -> Iterator[str]:
    """For each name the spans of length follow each other without a gap."""
    for before, row in pairwise(rows):
        if before.text("for") == row.text("for") and before.need("up_to") != row.need("over"):
            yield f"{row.file}:{row.line}: does not begin where the row before ends"
        if row.need("over") >= row.need("up_to"):
            yield f"{row.file}:{row.line}: from {row.need('over'):g} to {row.need('up_to'):g} mm is no span"


def _each_process(rows: tuple[Row, ...]) -> Iterator[str]:
    """The processes of a table are those that have limits."""
    known = {row.text("process") for row in read("processes.csv")}
    for row in rows:
        if row.text("process") not in known:
            yield f"{row.file}:{row.line}: no process is called {row.text('process')!r}"


def _slower_when_thicker(rows: tuple[Row, ...]) -> Iterator[str]:
    """Within a process thicker plate is cut slower."""
    for before, row in pairwise(rows):
        if before.text("process") == row.text("process") and not (
            before.need("thickness") < row.need("thickness")
            and before.number("speed_mm_min") >= row.number("speed_mm_min")
        ):
            yield f"{row.file}:{row.line}: thicker plate is not cut slower"


def _toothed_pitch(rows: tuple[Row, ...]) -> Iterator[str]:
    """Ribbed and toothed belts have a pitch, V-belts a width."""
    for row in rows:
        v_belt = row.text("family").endswith("V")
        if v_belt == bool(row.text("pitch_mm")) or v_belt != bool(row.text("top_width_mm")):
            needed = "a width and no pitch" if v_belt else "a pitch and no width"
            yield f"{row.file}:{row.line}: {row.text('section')} needs {needed}"


def _elastic(rows: tuple[Row, ...]) -> Iterator[str]:
    """Density, modulus, yield and Poisson's ratio as engineering materials have them."""
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


_CUT_SIZES = tuple(f"size_{span}" for span in ("0_3", "3_10", "10_35", "35_125", "125_315", "315_1000"))


def _cut_limits(rows: tuple[Row, ...]) -> Iterator[str]:
    """A larger part may come off further, and a row's thicknesses rise."""
    yield from _unique("class", "over_mm")(rows)
    yield from _ordered("over", "up_to")(rows)
    yield from _ordered(*_CUT_SIZES, equal=True)(rows)


_rises_by_class: tuple[Check, ...] = (_rising("over", *_CUT_SIZES, per="class"),)


_HEADS: tuple[Check, ...] = (
    _unique("size"),
    _known_threads("size"),
    _rising("head_diameter", "head_height", "hexagon"),
)
_WASHERS: tuple[Check, ...] = (_known_threads("size"), _ordered("thickness", "hole", "outer"))

FILE_CHECKS: dict[str, tuple[Check, ...]] = {
    "iso_13857_opening.csv": (
        _unique("shape", "up_to_mm"),
        _ordered("above", "up_to"),
        _rising("above", "up_to", "distance", per="shape"),
    ),
    "osha_1910_217_opening.csv": (
        _unique("up_to_in"),
        _ordered("above", "up_to"),
        _rising("above", "up_to", "distance"),
    ),
    "asme_b1_1_thread.csv": (_unique("thread"), _rising("diameter", per="series"), _areas),
    "asme_b18_2_1_hex_head.csv": (
        _unique("size"),
        _known_threads("size"),
        _rising("across_flats", "height", "shortest", strictly=False),
        _ordered("height", "across_flats", "across_corners"),
        _ordered("shortest", "longest"),
    ),
    "asme_b18_2_2_nut.csv": (
        _unique("size"),
        _known_threads("size"),
        _rising("across_flats", "height"),
        _ordered("height", "across_flats"),
    ),
    "asme_b18_2_8_clearance.csv": (_unique("size"), _drill_holes),
    "asme_b18_3_countersunk.csv": (*_HEADS, _ordered("head_height", "head_diameter")),
    "asme_b18_3_socket_head.csv": (*_HEADS, _ordered("head_height", "head_diameter")),
    "asme_b18_21_1_washer.csv": (
        _unique("series", "size"),
        *_WASHERS,
        _rising("hole", "outer", "thickness", per="series"),
    ),
    "drill_fraction.csv": (_steps,),
    "drill_letter.csv": (_unique("name"), _rising("diameter", strictly=True)),
    "drill_metric.csv": (_steps,),
    "drill_number.csv": (_unique("name"),),
    "iec_60072_1_flange.csv": (_unique("designation"), _flange_sizes, _ordered("pilot", "bolt_circle", "face")),
    "iec_60072_1_foot.csv": (
        _unique("frame"),
        _frame_heights,
        _rising("shaft_height", "width", "to_shoulder", "hole", "shaft", "shaft_length"),
        _ordered("hole", "hole_1991", equal=True),
        _ordered("shaft", "shaft_length"),
    ),
    "iec_frame_flange.csv": (_unique("frame"), _flanges_exist),
    "iso_261_thread.csv": (
        _unique("thread"),
        _rising("diameter", per="series"),
        _ordered("pitch", "tap_drill", "diameter"),
        _areas,
    ),
    "iso_273_clearance.csv": (
        _unique("size"),
        _known_threads("size"),
        _rising("close", "normal", "loose", strictly=True),
        _ordered("close", "normal", "loose"),
    ),
    "iso_286_deviations.csv": (_adjoining,),
    "iso_286_grades.csv": (
        _adjoining,
        _ordered(*(f"IT{grade}" for grade in range(5, 15))),
        _rising(*(f"IT{grade}" for grade in range(5, 15))),
    ),
    "hole_scatter.csv": (_unique("way"),),
    "motor_frame.csv": (_unique("family", "frame"), _rising("plate", per="family"), _powers_rise),
    "usual_figures.csv": (_unique("figure"), _bounds_nest),
    "iso_9013_2002_limit.csv": (_cut_limits, *_rises_by_class),
    "iso_9013_2017_limit.csv": (_cut_limits, *_rises_by_class),
    "iso_9013_squareness.csv": (_unique("range"), _rising("base", strictly=True)),
    "iso_898_1_property_class.csv": (_strengths("n_mm2"),),
    "iso_3019_1_pump.csv": (
        _unique("code"),
        _pump_codes,
        _ordered("pilot", "spacing"),
        _ordered("pilot", "bolt_circle"),
    ),
    "iso_3019_2_pump.csv": (
        _unique("pilot_mm", "letter"),
        _rising("pilot", "spacing", "bolt_circle", "hole", per="letter"),
        _ordered("pilot", "spacing"),
        _ordered("pilot", "bolt_circle"),
    ),
    "sae_j617_housing.csv": (
        _unique("size"),
        _rising("pilot", "bolt_circle", strictly=True),
        _ordered("pilot", "bolt_circle"),
    ),
    "iso_4014_hex_head.csv": (
        _unique("size"),
        _known_threads("size"),
        _rising("across_flats", "height", "shortest", "longest"),
        _ordered("height", "across_flats"),
        _ordered("shortest", "longest"),
    ),
    "iso_4032_nut.csv": (
        _unique("size"),
        _known_threads("size"),
        _rising("across_flats", "height"),
        _ordered("height", "across_flats"),
    ),
    "iso_4762_socket_head.csv": (*_HEADS, _ordered("hexagon", "head_height", "head_diameter")),
    "iso_7089_washer.csv": (_unique("size"), *_WASHERS, _rising("hole", "outer", "thickness")),
    "iso_7093_washer.csv": (_unique("size"), *_WASHERS, _rising("hole", "outer", "thickness")),
    "iso_10642_countersunk.csv": (*_HEADS, _ordered("head_height", "head_diameter")),
    "material.csv": (_unique("name"), _elastic),
    "nema_ics16_stepper.csv": (_unique("size"), _rising("square", "face"), _ordered("square", "face")),
    "nema_mg1_c_face.csv": (
        _unique("frames"),
        _ordered("bolt_circle", "face"),
        _ordered("pilot", "face"),
        _ordered("shaft", "pilot"),
    ),
    "nema_mg1_foot.csv": (
        _unique("frame"),
        _frame_heights,
        _three_digits_rise,
        _ordered("hole", "width"),
    ),
    "nominal_bodies.csv": (_unique("family", "frame"), _ordered("disc", "diameter"), _ordered("disc", "length")),
    "sae_j429_grade.csv": (_strengths("ksi"),),
    "sheet_gauge.csv": (_unique("metal", "number"), _falling_gauges),
    "socket_outside.csv": (
        _unique("across_flats_mm"),
        _rising("across_flats", "outer", strictly=True),
        _ordered("across_flats", "outer"),
    ),
    "measuring_tool.csv": (_unique("tool"), _rising("sigma", strictly=True)),
    "motor_power.csv": (_rising("power", strictly=True),),
    "motor_slip.csv": (_rising("up_to", strictly=True),),
    "strength_limits.csv": (_unique("name"),),
    "en_1090_2_clearance.csv": (_rising("up_to", strictly=True), _rising("normal"), _ordered("normal", "oversize")),
    "process_materials.csv": (
        _unique("process", "family"),
        _each_process,
        _ordered("thinnest", "usual", "most", equal=True),
    ),
    "process_speeds.csv": (_unique("process", "thickness_mm"), _each_process, _slower_when_thicker),
    "process_traits.csv": (_unique("process"), _each_process),
    "processes.csv": (_unique("process", "quantity"),),
    "belts/allowances.csv": (_unique("for"), _known_sections("for")),
    "belts/conversions.csv": (_known_sections("section"),),
    "belts/families.csv": (_unique("family"), _known_sections("family")),
    "belts/friction.csv": (_unique("for"), _known_sections("for")),
    "belts/grooves.csv": (_known_sections("section"), _rising("up_to", "angle", per="section")),
    "belts/masses.csv": (_unique("section"), _each_section, _known_sections("section")),
    "belts/motor_pulleys.csv": (_unique("power_hp"), _rising("power", "smallest")),
    "belts/pulleys.csv": (_each_section, _known_sections("section"), _list_rises("values")),
    "belts/pulls.csv": (_unique("section"), _each_section, _known_sections("section")),
    "belts/rims.csv": (_unique("material"),),
    "belts/sections.csv": (_unique("section"), _toothed_pitch),
    "belts/smallest.csv": (_each_section, _known_sections("section")),
    "belts/speeds.csv": (_unique("section"), _each_section, _known_sections("section")),
    "belts/stock.csv": (_each_section, _known_sections("section"), _list_rises("values")),
    "belts/tolerances.csv": (_known_sections("for"), _spans_adjoin),
    "belts/toothed_ratings.csv": (_unique("section"), _known_sections("section")),
    "belts/v_length_factors.csv": (_known_sections("section"), _rising("from", "factor", per="section")),
    "belts/v_ratings.csv": (_unique("section"), _known_sections("section")),
    "stock_lengths.csv": (_unique("system"), _list_rises("lengths")),
    "thread_engagement.csv": (_unique("material"),),
}
"""What each file must fulfil beyond what all must: a new file is one line here."""


# what is built from them


def _mount_complaints() -> Iterator[str]:
    for name in names():
        found = mount(name)
        yield from (f"{name}: {complaint}" for complaint in _mount_faults(found))


def _mount_faults(found: StandardMount) -> Iterator[str]:
    if len(found.points) != found.holes:
        yield f"{len(found.points)} points for {found.holes} holes"
    if found.hole is not None and found.screw is not None:
        yield "both a plain hole and a thread"
    yield from _centred(found)
    if found.screws_inside_pilot and not any("larger than the bolt circle" in note for note in found.notes):
        yield "the pilot is larger than the bolt circle and no note says so"
    yield from _webs(found)
    if found.screw is not None and thread(found.screw).name != found.screw:
        yield f"screw {found.screw} is called {thread(found.screw).name}"
    for body in found.bodies:
        if not body.span[0] < body.span[1] or min(body.shape[1:]) <= 0:
            yield f"body {body.name} takes up no room"


def _centred(found: StandardMount) -> Iterator[str]:
    """Holes lie about the origin: twice the way from the centre to a hole is the span, and their mean is the centre."""
    if abs(math.fsum(x for x, _ in found.points)) > 1e-6 or abs(math.fsum(y for _, y in found.points)) > 1e-6:
        yield "the holes are not centred"
    for x, y in found.points:
        if found.bolt_circle is not None and abs(2 * math.hypot(x, y) - found.bolt_circle) > 1e-6:
            yield f"a hole is off the bolt circle by {2 * math.hypot(x, y) - found.bolt_circle:.4f} mm"
        if found.bolt_circle is None and (found.width, found.height) != (2 * abs(x), 2 * abs(y)):
            yield "a hole is off the rectangle"
    if found.width and found.height and found.bolt_circle:
        diagonal = math.hypot(found.width, found.height)
        if abs(diagonal - found.bolt_circle) > 1e-6:
            yield f"diagonal {diagonal:.3f} mm, bolt circle {found.bolt_circle:.3f} mm"


def _webs(found: StandardMount) -> Iterator[str]:
    """A hole or thread does not run into the pilot, nor out of the face."""
    size = thread(found.screw).diameter if found.screw else found.hole
    if size is None or found.bolt_circle is None:
        return
    if found.pilot is not None and abs(found.bolt_circle - found.pilot) / 2 - size / 2 < _SMALLEST_WEB:
        yield f"{(abs(found.bolt_circle - found.pilot) - size) / 2:.2f} mm are left between pilot and screws"
    if found.face is not None and found.face_shape == "round" and (found.face - found.bolt_circle - size) / 2 < 0:
        yield "the screws run out of the face"


def _screw_complaints() -> Iterator[str]:
    for name in screw_sizes():
        try:
            found = screw(name)
        except LookupFailed as failure:
            yield str(failure)
            continue
        yield from (f"{name}: {complaint}" for complaint in _screw_faults(found))


def _screw_faults(found: Screw) -> Iterator[str]:
    holes = [found.clearance[fit] for fit in FITS]
    if not found.tap_drill < found.diameter < holes[0] < holes[1] < holes[2]:
        yield "tap drill, screw and clearance holes do not rise"
    if not LEAST_PERCENT < found.thread_percent < _MOST_PERCENT:
        yield f"{found.tap_drill_name} leaves {found.thread_percent:.0f} % of thread"
    if _at_least(found.washer_outer, found.large_washer_outer):
        yield "the large washer is not larger"
    if _at_least(found.diameter, found.washer_hole):
        yield "the washer does not go over the screw"
    if _at_least(found.hex_across_corners, found.wrench_outer):
        yield "the socket is smaller than the head"


def _at_least(one: float | None, other: float | None) -> bool:
    """Whether the first of two listed sizes reaches the second; not where one is not listed."""
    return one is not None and other is not None and one >= other


def _drill_complaints() -> Iterable[str]:
    for system in SYSTEMS:
        sizes = [one.diameter for one in drills(system)]
        if sizes != sorted(set(sizes)):
            yield f"the {system} drills do not rise"
    letters = drills("letter")
    numbers = drills("number")
    if numbers[-1].diameter >= letters[0].diameter:
        yield "number drills reach into the letters"
    if len(threads("metric")) < 1 or len(threads("inch")) < 1:
        yield "a system has no threads"
