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
from collections.abc import Iterator

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.drills import SYSTEMS, drills
from platekit.tables.mounts import mount, names
from platekit.tables.row_rules import (
    CUT_SIZES,
    PLAUSIBLE,
    Check,
    adjoining,
    areas,
    bounds_nest,
    cut_limits,
    drill_holes,
    each_process,
    each_section,
    elastic,
    falling_gauges,
    figures_in,
    flange_sizes,
    flanges_exist,
    frame_heights,
    known_sections,
    known_threads,
    larger_carries_more,
    list_matches,
    list_rises,
    ordered,
    powers_rise,
    pump_codes,
    rising,
    slower_when_thicker,
    spans_adjoin,
    steps,
    strengths,
    three_digits_rise,
    toothed_pitch,
    unique,
    unit_of,
)
from platekit.tables.rows import DATA, Row, TableError, data_files, plain_number, read
from platekit.tables.screws import FITS, screw, screw_sizes
from platekit.tables.threads import LEAST_PERCENT, thread, threads
from platekit.tables.values import KINDS, Kind, Screw, StandardMount

NUMBERS = frozenset(
    {
        *("holes", "bolts", "pitch", "threads_per_inch", "diameters", "poisson", "share", "factor", "ratio", "slip"),
        *("efficiency", "overhung", "x", "y", "z", "most", "per_thickness", "per_kerf", "plus", "least", "add"),
        *(
            "install",
            "tension",
            "install_share",
            "tension_share",
            "smallest",
            "values",
            "lengths",
            "thicknesses",
            "outer",
            "walls",
        ),
        *("possible_from", "usual_from", "usual_to", "possible_to", "speeds", "powers", "forces", "factors", "widths"),
    }
)
"""Columns of figures without a unit in their name: bare numbers, shares, and those whose unit is a cell of the row."""
LABELS = frozenset(
    {
        *("size", "frame", "frames", "class", "group", "name", "number", "iso_9013_class", "range", "pattern"),
        *("close", "normal", "loose", "tap_drill"),  # of the inch tables: drills by name
    }
)
"""Columns of names that may look like numbers: frame 56, drill 7, class 2."""
SPANS = ("over_", "up_to_", "from_")
"""How columns begin that bound a span of belt lengths or diameters: an open end is printed as a very large one."""
OPEN_END = 20000.0
UNIT_CELLS = frozenset(("mm", "in", "in/10", "deg", "pitch", "teeth"))
"""What a `unit` cell may say."""
WITH_UNIT_CELL = frozenset(
    ("add", "smallest", "values", "lengths", "thicknesses", "install", "tension", "plus", "least", "outer", "walls")
)
"""Figures that need a `unit` cell in their row."""
SETTLES = "settle"
"""Word with which the source of a figure from memory says what would end the doubt."""
_MOST_PERCENT = 92.0  # of thread: more breaks taps (common practice)
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
    for system in SYSTEMS:
        sizes = [one.diameter for one in drills(system)]
        if sizes != sorted(set(sizes)):
            found.append(f"the {system} drills do not rise")
    # Numbered drills end where the letters begin: a number that reached into them would name two sizes.
    if drills("number")[-1].diameter >= drills("letter")[0].diameter:
        found.append("number drills reach into the letters")
    if len(threads("metric")) < 1 or len(threads("inch")) < 1:
        found.append("a system has no threads")
    return found


def counts_by_kind() -> Counts:
    """Rows and figures of all tables by kind of source."""
    every = counts_by_file().values()
    return Counts(
        {kind: sum(counts.rows[kind] for counts in every) for kind in KINDS},
        {kind: sum(counts.figures[kind] for counts in every) for kind in KINDS},
    )


def counts_by_file() -> dict[str, Counts]:
    """Rows and figures of each table by kind; a doubted column of a better row counts as from memory."""
    return {file: _counts(read(file)) for file in data_files()}


def _counts(table: tuple[Row, ...]) -> Counts:
    rows: Counter[Kind] = Counter(row.source.kind for row in table)
    figures: Counter[Kind] = Counter()
    for row in table:
        for column, cell in row.cells.items():
            if _is_figure(column):
                figures["from memory" if column in row.source.doubted else row.source.kind] += len(figures_in(cell))
    return Counts({kind: rows[kind] for kind in KINDS}, {kind: figures[kind] for kind in KINDS})


def plausible(row: Row, column: str) -> Iterator[tuple[str, float, float]]:
    """The figures of a cell as written, each with the least and the most that can be; none in a column of words."""
    if not _is_figure(column):
        return
    low, high = PLAUSIBLE.get(unit_of(column), (-100.0, math.inf))
    # An open end is printed as a very large figure, which is no slip.
    if column.startswith(SPANS):
        high = max(high, OPEN_END)
    for figure in figures_in(row.cells[column]):
        yield figure, low, high


def _is_figure(column: str) -> bool:
    return bool(unit_of(column)) or column in NUMBERS


# what every file must keep


def _file_complaints(file: str) -> Iterator[str]:
    rows = read(file)
    text = (DATA / file).read_text(encoding="utf-8")
    head = [line for line in text.splitlines() if line.startswith("#")]
    # Whoever opens the file must see at once which edition it was copied from.
    if not head:
        yield f"{file}: no head that names the standard"
    if any(unit_of(column) for column in read(file)[0].cells) and "unit" not in "\n".join(head).lower():
        yield f"{file}: the head does not say which unit is the authority"
    for row in rows:
        yield from _row_complaints(row)
        # What nobody looked up is only half told without what would end the doubt: a print, a sheet, a measurement.
        if (row.source.kind == "from memory" or row.source.doubted) and SETTLES not in row.source.name:
            yield f"{row.file}:{row.line}: from memory, and the source does not say what would settle it"
    for check in FILE_CHECKS.get(file, ()):
        yield from check(rows)
    # A table that no rule looks at is one in which no slip is ever found.
    if file not in FILE_CHECKS:
        yield f"{file}: no rules of its own; add them to FILE_CHECKS"


def _row_complaints(row: Row) -> Iterator[str]:
    place = f"{row.file}:{row.line}"
    for column in row.source.doubted:
        if not row.cells.get(column):
            yield f"{place}: doubts {column!r}, which the row does not fill"
    for column, cell in row.cells.items():
        if cell != cell.strip():
            yield f"{place}: blanks round {cell!r} in column {column!r}"
        if not _is_figure(column):
            # Words that look like a number are a length whose column forgot its unit, unless they are names.
            if (
                cell
                and column not in LABELS
                and all(re.fullmatch(r"-?\d+(\.\d+)?(/\d+)?", part) for part in figures_in(cell))
            ):
                yield f"{place}: {column} holds the figure {cell} and names no unit"
            continue
        for figure, low, high in plausible(row, column):
            try:
                value = plain_number(figure)
            except (ValueError, ZeroDivisionError):
                yield f"{place}: no number in column {column!r}: {figure}"
                continue
            if not low <= value <= high:
                yield f"{place}: {column} is {value:g}, outside {low:g} to {high:g}"
        # The unit stands in a cell of the row where one column holds millimetres for one belt and inches for the next.
        if column in WITH_UNIT_CELL and row.cells.get("unit") not in UNIT_CELLS:
            known = ", ".join(sorted(UNIT_CELLS))
            yield f"{place}: the unit of {column} is {row.cells.get('unit')!r}, not one of {known}"


_HEADS: tuple[Check, ...] = (
    unique("size"),
    known_threads("size"),
    rising("head_diameter", "head_height", "hexagon"),
)
_WASHERS: tuple[Check, ...] = (known_threads("size"), ordered("thickness", "hole", "outer"))

FILE_CHECKS: dict[str, tuple[Check, ...]] = {
    "iso_13857_opening.csv": (
        unique("shape", "up_to_mm"),
        ordered("above", "up_to"),
        rising("above", "up_to", "distance", per="shape"),
    ),
    "osha_1910_217_opening.csv": (
        unique("up_to_in"),
        ordered("above", "up_to"),
        rising("above", "up_to", "distance"),
    ),
    "asme_b1_1_thread.csv": (unique("thread"), rising("diameter", per="series"), areas),
    "asme_b18_2_1_hex_head.csv": (
        unique("size"),
        known_threads("size"),
        rising("across_flats", "height", strictly=False),
        ordered("height", "across_flats", "across_corners"),
    ),
    "asme_b18_2_2_nut.csv": (
        unique("size"),
        known_threads("size"),
        rising("across_flats", "height"),
        ordered("height", "across_flats"),
    ),
    "asme_b18_2_8_clearance.csv": (unique("size"), drill_holes),
    "asme_b18_3_countersunk.csv": (*_HEADS, ordered("head_height", "head_diameter")),
    "asme_b18_3_socket_head.csv": (*_HEADS, ordered("head_height", "head_diameter")),
    "asme_b18_21_1_washer.csv": (
        unique("series", "size"),
        *_WASHERS,
        rising("hole", "outer", "thickness", per="series"),
    ),
    "drill_fraction.csv": (steps,),
    "drill_letter.csv": (unique("name"), rising("diameter", strictly=True)),
    "drill_metric.csv": (steps,),
    "drill_number.csv": (unique("name"),),
    "iec_60072_1_flange.csv": (unique("designation"), flange_sizes, ordered("pilot", "bolt_circle", "face")),
    "iec_60072_1_foot.csv": (
        unique("frame"),
        frame_heights,
        rising("shaft_height", "width", "to_shoulder", "hole", "shaft", "shaft_length"),
        ordered("hole", "hole_1991", equal=True),
        ordered("shaft", "shaft_length"),
    ),
    "iec_frame_flange.csv": (unique("frame"), flanges_exist),
    "iso_261_thread.csv": (
        unique("thread"),
        rising("diameter", per="series"),
        ordered("pitch", "tap_drill", "diameter"),
        areas,
    ),
    "iso_273_clearance.csv": (
        unique("size"),
        known_threads("size"),
        rising("close", "normal", "loose", strictly=True),
        ordered("close", "normal", "loose"),
    ),
    "iso_286_deviations.csv": (adjoining,),
    "iso_286_grades.csv": (
        adjoining,
        ordered(*(f"IT{grade}" for grade in range(5, 15))),
        rising(*(f"IT{grade}" for grade in range(5, 15))),
    ),
    "hole_scatter.csv": (unique("way"),),
    "motor_frame.csv": (unique("family", "frame"), rising("plate", per="family"), powers_rise),
    "usual_figures.csv": (unique("figure"), bounds_nest),
    "iso_9013_2002_limit.csv": (cut_limits, rising("over", *CUT_SIZES, per="class")),
    "iso_9013_2017_limit.csv": (cut_limits, rising("over", *CUT_SIZES, per="class")),
    "iso_9013_squareness.csv": (unique("range"), rising("base", strictly=True)),
    "iso_898_1_property_class.csv": (strengths("n_mm2"),),
    "iso_3019_1_pump.csv": (
        unique("code"),
        pump_codes,
        ordered("pilot", "spacing"),
        ordered("pilot", "bolt_circle"),
    ),
    "iso_3019_2_pump.csv": (
        unique("pilot_mm", "letter"),
        rising("pilot", "spacing", "bolt_circle", "hole", per="letter"),
        ordered("pilot", "spacing"),
        ordered("pilot", "bolt_circle"),
    ),
    "sae_j617_housing.csv": (
        unique("size"),
        rising("pilot", "bolt_circle", strictly=True),
        ordered("pilot", "bolt_circle"),
    ),
    "iso_4014_hex_head.csv": (
        unique("size"),
        known_threads("size"),
        rising("across_flats", "height", "shortest", "longest"),
        ordered("height", "across_flats"),
        ordered("shortest", "longest"),
    ),
    "iso_4032_nut.csv": (
        unique("size"),
        known_threads("size"),
        rising("across_flats", "height"),
        ordered("height", "across_flats"),
    ),
    "iso_4762_socket_head.csv": (*_HEADS, ordered("hexagon", "head_height", "head_diameter")),
    "iso_7089_washer.csv": (unique("size"), *_WASHERS, rising("hole", "outer", "thickness")),
    "iso_7093_washer.csv": (unique("size"), *_WASHERS, rising("hole", "outer", "thickness")),
    "inch_screw_lengths.csv": (
        unique("size"),
        known_threads("size"),
        rising("shortest", "longest", strictly=False),
        ordered("shortest", "longest"),
    ),
    "iso_10642_countersunk.csv": (*_HEADS, ordered("head_height", "head_diameter")),
    "material.csv": (unique("name"), elastic),
    "yield_by_thickness.csv": (unique("name", "over_mm"), rising("over", "up_to", per="name")),
    "nema_ics16_stepper.csv": (unique("size"), rising("square", "face"), ordered("square", "face")),
    "nema_mg1_c_face.csv": (
        unique("frames"),
        ordered("bolt_circle", "face"),
        ordered("pilot", "face"),
        ordered("shaft", "pilot"),
    ),
    "nema_mg1_foot.csv": (
        unique("frame"),
        frame_heights,
        three_digits_rise,
        ordered("hole", "width"),
    ),
    "nominal_bodies.csv": (unique("family", "frame"), ordered("disc", "diameter"), ordered("disc", "length")),
    "sae_j429_grade.csv": (strengths("ksi"),),
    "sheet_gauge.csv": (unique("metal", "number"), falling_gauges),
    "socket_outside.csv": (
        unique("across_flats_mm"),
        rising("across_flats", "outer", strictly=True),
        ordered("across_flats", "outer"),
    ),
    "measuring_tool.csv": (unique("tool"), rising("sigma", strictly=True)),
    "motor_power.csv": (rising("power", strictly=True),),
    "motor_mass.csv": (unique("frame"), rising("least", "most")),
    "motor_slip.csv": (rising("up_to", strictly=True),),
    "shaft_coupling.csv": (unique("name"), ordered("gap_least", "gap_most"), ordered("bore", "diameter")),
    "shop_figures.csv": (unique("name"),),
    "strength_limits.csv": (unique("name"),),
    "hole_bending.csv": (rising("ratio", strictly=True),),
    "en_1090_2_clearance.csv": (rising("up_to", strictly=True), rising("normal"), ordered("normal", "oversize")),
    "process_materials.csv": (
        unique("process", "family"),
        each_process,
        ordered("thinnest", "usual", "most", equal=True),
    ),
    "process_speeds.csv": (unique("process", "thickness_mm"), each_process, slower_when_thicker),
    "process_traits.csv": (unique("process"), each_process),
    "processes.csv": (unique("process", "quantity"),),
    "belts/allowances.csv": (unique("for"), known_sections("for")),
    "belts/conversions.csv": (known_sections("section"),),
    "belts/families.csv": (unique("family"), known_sections("family")),
    "belts/friction.csv": (unique("for"), known_sections("for")),
    "belts/grooves.csv": (known_sections("section"), rising("up_to", "angle", per="section")),
    "belts/masses.csv": (unique("section"), each_section, known_sections("section")),
    "belts/motor_pulleys.csv": (unique("power_hp"), rising("power", "smallest")),
    "belts/power_tables.csv": (
        unique("section", "small_mm"),
        known_sections("section"),
        list_rises("speeds"),
        list_matches("speeds", "powers"),
        larger_carries_more,
    ),
    "belts/pulleys.csv": (each_section, known_sections("section"), list_rises("values")),
    "belts/pulls.csv": (unique("section"), each_section, known_sections("section")),
    "belts/rated_as.csv": (unique("section"), known_sections("section")),
    "belts/rims.csv": (unique("material"),),
    "belts/driven_machines.csv": (unique("machine"),),
    "belts/service_factors.csv": (unique("group", "start"),),
    "belts/sections.csv": (unique("section"), toothed_pitch),
    "belts/smallest.csv": (each_section, known_sections("section")),
    "belts/speeds.csv": (unique("section"), each_section, known_sections("section")),
    "belts/stock.csv": (each_section, known_sections("section"), list_rises("values")),
    "belts/tolerances.csv": (known_sections("for"), spans_adjoin),
    "belts/tooth_forces.csv": (
        unique("section"),
        known_sections("section"),
        list_rises("speeds", blank=True),
        list_matches("speeds", "forces"),
    ),
    "belts/toothed_ratings.csv": (unique("section"), known_sections("section")),
    "belts/v_length_factors.csv": (known_sections("section"), rising("from", "factor", per="section")),
    "belts/v_ratings.csv": (unique("section"), known_sections("section")),
    "belts/widths.csv": (unique("section"), known_sections("section"), list_rises("widths")),
    "iso_773_key.csv": (unique("width_mm"), rising("over", "thru", "width", "shaft_depth", "hub_depth")),
    "bearing_block.csv": (
        unique("name"),
        unique("bore_mm"),
        ordered("foot", "shaft_height"),
        ordered("shaft_height", "high"),
        ordered("bolts_apart", "length"),
        ordered("hole", "slot"),
        ordered("ring_side", "ring"),
        known_threads("screw"),
    ),
    "angle_stock.csv": (unique("system", "outer"), list_rises("thicknesses")),
    "dowel_pin.csv": (unique("system", "pin", "outer"), list_rises("lengths")),
    "iso_2768_1.csv": (rising("over", "thru", "fine", "medium"), ordered("fine", "medium"), ordered("over", "thru")),
    "packing.csv": (unique("system", "made"), list_rises("thicknesses")),
    "spacer_stock.csv": (unique("system", "made", "outer"), list_rises("walls", blank=True)),
    "stock_lengths.csv": (unique("system"), list_rises("lengths")),
    "thread_engagement.csv": (unique("material"),),
}
"""What each file must fulfil beyond what all must: a new file is one line here."""


# what is built from them


def _mount_complaints() -> Iterator[str]:
    for name in names():
        yield from (f"{name}: {complaint}" for complaint in mount_faults(mount(name)))


def mount_faults(found: StandardMount) -> Iterator[str]:
    """What cannot be of a mount's sizes in mm: holes off their pattern, walls that are too thin, bodies of no size."""
    if len(found.points) != found.holes:
        yield f"{len(found.points)} points for {found.holes} holes"
    # A part has holes or threads: with both, whoever bolts it up would not know which way the screw goes.
    if found.hole is not None and found.screw is not None:
        yield "both a plain hole and a thread"
    if abs(math.fsum(x for x, _ in found.points)) > 1e-6 or abs(math.fsum(y for _, y in found.points)) > 1e-6:
        yield "the holes are not centred"
    # Points are worked out from circle or rectangle by code: here they are held against what the row itself prints.
    for x, y in found.points:
        if found.bolt_circle is not None and abs(2 * math.hypot(x, y) - found.bolt_circle) > 1e-6:
            yield f"a hole is off the bolt circle by {2 * math.hypot(x, y) - found.bolt_circle:.4f} mm"
        if found.bolt_circle is None and (found.width, found.height) != (2 * abs(x), 2 * abs(y)):
            yield "a hole is off the rectangle"
    if found.width and found.height and found.bolt_circle:
        diagonal = math.hypot(found.width, found.height)
        if abs(diagonal - found.bolt_circle) > 1e-6:
            yield f"diagonal {diagonal:.3f} mm, bolt circle {found.bolt_circle:.3f} mm"
    # So unusual that the reader of a table must be told that it is no slip.
    if found.screws_inside_pilot and not any("larger than the bolt circle" in note for note in found.notes):
        yield "the pilot is larger than the bolt circle and no note says so"
    # A hole or thread does not run into the pilot, nor out of the face.
    size = thread(found.screw).diameter if found.screw else found.hole
    if size is not None and found.bolt_circle is not None:
        if found.pilot is not None and abs(found.bolt_circle - found.pilot) / 2 - size / 2 < _SMALLEST_WEB:
            yield f"{(abs(found.bolt_circle - found.pilot) - size) / 2:.2f} mm are left between pilot and screws"
        if found.face is not None and found.face_shape == "round" and (found.face - found.bolt_circle - size) / 2 < 0:
            yield "the screws run out of the face"
    # A thread of another name would be looked up in vain by whoever asks for its screws.
    if found.screw is not None and thread(found.screw).name != found.screw:
        yield f"screw {found.screw} is called {thread(found.screw).name}"
    for body in found.bodies:
        if not body.span[0] < body.span[1] or min(body.shape[1:]) <= 0:
            yield f"body {body.name} takes up no room"


def _screw_complaints() -> Iterator[str]:
    for name in screw_sizes():
        try:
            found = screw(name)
        except LookupFailed as failure:
            yield str(failure)
            continue
        yield from (f"{name}: {complaint}" for complaint in screw_faults(found))


def screw_faults(found: Screw) -> Iterator[str]:
    """What cannot be of a screw's sizes in mm: what must rise and does not, what does not go over what."""
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
