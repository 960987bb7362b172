"""The tables as text for a person: one name with a sketch of its face, a list of what there is, what a search found.

A **line** is a label, the figure in mm and, where the thing comes from an inch standard, in inches, and a
remark.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from platekit.tables.drills import SYSTEMS, drills
from platekit.tables.keys import key_seat
from platekit.tables.lookup import FitLimits, Found, SheetGauge, look_up
from platekit.tables.materials import materials
from platekit.tables.mounts import families
from platekit.tables.own import NO_TABLES, OwnTables
from platekit.tables.searching import StandardCandidate
from platekit.tables.threads import threads
from platekit.tables.values import Drill, LimitDeviations, Material, Screw, StandardMount
from platekit.units import INCH

_LABEL, _WIDTH = 18, 100  # letters
_COLUMNS, _ROWS = 45, 21  # of the sketch; a letter is about twice as high as wide
_RIM, _PILOT, _SHAFT = ".", ":", "+"


def describe(name: str) -> str:
    """One name as text with its sizes, a sketch where it has a hole pattern, and its source.

    Raises LookupFailed like `look_up`.
    """
    return described(look_up(name))


def described(thing: Found) -> str:
    """Something already looked up, as text."""
    if isinstance(thing, StandardMount):
        # IEC is the only family here that thinks in mm; all others print inches, and who buys by them reads both.
        inch = not thing.family.startswith("IEC")
        parts = [_title(thing.designation, thing.family).lstrip("\n"), sketch(thing), ""]
        parts += [_line(label, text) for label, text in _mount_lines(thing, inch)]
        parts += [_line("edition" if n == 0 else "", text) for n, text in enumerate(thing.editions)]
        parts += [_line("note" if n == 0 else "", text) for n, text in enumerate(thing.notes)]
        parts.append(_line("source", str(thing.source)))
        if thing.aliases:
            parts.append(_line("also called", ", ".join(thing.aliases[:6])))
        return "\n".join(parts)
    if isinstance(thing, Screw):
        return _screw(thing)
    if isinstance(thing, Material):
        lines = [
            ("density", f"{thing.density:g} kg/m3"),
            ("modulus", f"{thing.modulus:g} N/mm2"),
            ("yield strength", f"{thing.yield_strength:g} N/mm2"),
            ("Poisson's ratio", "-" if thing.poisson is None else f"{thing.poisson:g}"),
            ("source", str(thing.source)),
            ("also called", ", ".join(thing.aliases)),
        ]
        return "\n".join(
            [_title(thing.name, "material").lstrip("\n"), *(_line(label, text) for label, text in lines if text)]
        )
    if isinstance(thing, Drill):
        head, figures = f"{thing.system} drill", [("diameter", _both(thing.diameter, True))]
    elif isinstance(thing, SheetGauge):
        head, figures = "sheet", [("thickness", _both(thing.thickness, True))]
    else:
        assert isinstance(thing, FitLimits)
        head = "ISO 286 limits"
        figures = [
            ("size", f"{thing.size + thing.limits.lower:.3f} to {thing.size + thing.limits.upper:.3f} mm"),
            ("deviations", f"{thing.limits.lower * 1000:+.0f} to {thing.limits.upper * 1000:+.0f} micrometres"),
        ]
    figures.append(("source", str(thing.source)))
    return "\n".join([_title(thing.name, head).lstrip("\n"), *(_line(label, text) for label, text in figures)])


def overview(own: OwnTables = NO_TABLES) -> str:
    """What the tables hold, with an example of how each thing is called; a shop's own tables with their files."""
    parts = [_title("Standard mounts", "looked up by designation")]
    for family in families():
        known = tuple(family.entries())
        if not known:  # no part of the shop's own
            continue
        parts.append(_line(f"{len(known):>6}", f"{family.name}: {family.about}"))
        step = max(len(known) // 4, 1)  # four examples, spread from the smallest to the largest
        parts.append(_line("", f"such as {', '.join(known[::step][:4])}"))
    parts.append(_title("Screws", "heads, nuts, washers, holes, drills, lengths"))
    parts.append(_line("metric", _range(threads("metric"))))
    parts.append(_line("inch", _range(threads("inch"))))
    parts.append(_title("Drills", "call them 'drill 13/32', 'drill #7'"))
    for system in SYSTEMS:
        parts.append(_line(system, _range([drill.name for drill in drills(system)])))
    parts.append(_title("Materials", "density, modulus, yield strength"))
    parts.append(_line("", ", ".join(materials())))
    parts.append(_title("Also", "'gauge 11 steel', '110 j6'"))
    if own.rows:
        parts.append(_title("Your own tables", own.folder))
        parts += [_line(name, ", ".join(names)) for name, names in own.told()]
    return "\n".join(parts)


def found_text(candidates: Iterable[StandardCandidate]) -> str:
    """What a search found, closest first, with every difference in mm."""
    lines = []
    for place, candidate in enumerate(candidates, 1):
        also = f"  (also {', '.join(candidate.also)})" if candidate.also else ""
        lines.append(f"{place:>2}  {candidate.mount.designation}{also}")
        for pair in candidate.differences:
            listed = _both(pair.listed, True)
            lines.append(
                f"      {pair.what:<12}{listed}   {pair.difference:+.2f} mm from the {pair.measured:g} measured"
            )
        lines.append(f"      {candidate.mount.family}, {candidate.mount.holes} holes")
    return "\n".join(lines) if lines else "no standard mount is within 15 percent of what was measured"


def _range(names: Iterable[str]) -> str:
    known = list(names)
    return f"{len(known)}, from {known[0]} to {known[-1]}"


def _title(left: str, right: str) -> str:
    return f"\n{left}   {right}\n{'=' * (len(left) + 3 + len(right))}"


def _line(label: str, text: str) -> str:
    """A label and its text, further lines of the text below its first."""
    from textwrap import wrap

    lines = wrap(text, _WIDTH - _LABEL - 2, break_long_words=False, break_on_hyphens=False) or [""]
    # A label that fills its column, such as the name of a shop's file, still keeps a space before what follows.
    label = label if len(label) < _LABEL else f"{label} "
    return "\n".join(f"  {label if n == 0 else '':<{_LABEL}}{part}".rstrip() for n, part in enumerate(lines))


def _both(size: float, inch: bool) -> str:
    """A length in mm, and in inches where the standard thinks in inches."""
    shown = f"{size:.3f}".rstrip("0").rstrip(".")
    return f"{shown} mm ({size / INCH:.3f} in)" if inch else f"{shown} mm"


def _mount_lines(found: StandardMount, inch: bool) -> list[tuple[str, str]]:
    holes = f"{found.holes}, their size is left to the maker"
    if found.screw:
        deep = f", thread {_both(found.thread_depth, inch)} deep" if found.thread_depth else ""
        holes = f"{found.holes} x {found.screw}, tapped in the part{deep}"
    elif found.hole is not None:
        holes = f"{found.holes} x {_both(found.hole, inch)} through the part"
    lines = [("holes", holes)]
    if found.bolt_circle is not None:
        label = "hole spacing" if found.holes == 2 else "bolt circle"
        lines.append((label, _both(found.bolt_circle, inch)))
    if found.width and found.height:
        lines.append(("hole rectangle", f"{_both(found.width, inch)} across x {_both(found.height, inch)} along"))
    if found.pilot is not None:
        lines.append(("pilot", f"{_both(found.pilot, inch)} {found.pilot_kind}{_limits(found.pilot_tolerance)}"))
    if found.pilot_depth is not None:
        lines.append(("pilot depth", _both(found.pilot_depth, inch)))
    if found.face is not None:
        lines.append(("face", f"{_both(found.face, inch)} {found.face_shape}"))
    if found.shaft is not None:
        lines.append(("shaft", f"{_both(found.shaft, inch)}{_limits(found.shaft_tolerance)}"))
    if found.shaft_length is not None:
        lines.append(("shaft length", _both(found.shaft_length, inch)))
    if found.key:
        lines.append(("key", found.key if inch else f"{found.key} mm"))
        seat = key_seat(found)
        if seat is not None:
            depths = f"{_both(seat.shaft_depth, inch)} deep in the shaft, {_both(seat.hub_depth, inch)} in the hub"
            lines.append(("keyway", f"{depths}; the key stands {_both(seat.proud, inch)} out"))
    if found.shaft_height is not None:
        lines.append(("shaft height", _both(found.shaft_height, inch)))
    lines.append(("fits", f"{found.turn_order} ways round"))
    return lines


def _limits(limits: LimitDeviations | None) -> str:
    if limits is None:
        return ""
    numbers = f"{limits.upper:+.3f}/{limits.lower:+.3f} mm"
    return f", {limits.text} ({numbers})"


def sketch(found: StandardMount) -> str:
    """A plan of the face or foot in letters, looking at it: rim, pilot, and the holes by number."""
    width = max(abs(x) for x, _ in found.points)
    height = max(abs(y) for _, y in found.points)
    # A little more than the farthest that is drawn, so that the rim falls on the canvas by rounding.
    reach = max(width, height, (found.face or 0.0) / 2, (found.pilot or 0.0) / 2) * 1.02
    # Drawn in the order of what may be covered: rim, pilot, shaft, then the holes, which one came to see.
    canvas = [[" "] * _COLUMNS for _ in range(_ROWS)]

    def put(x: float, y: float, letter: str) -> None:
        column = round((_COLUMNS - 1) / 2 * (1 + x / reach))
        row = round((_ROWS - 1) / 2 * (1 - y / reach))
        canvas[row][column] = letter

    if found.face is not None:
        for x, y in _outline(found.face / 2, found.face_shape == "square"):
            put(x, y, _RIM)
    if found.pilot is not None:
        for x, y in _outline(found.pilot / 2, False):
            put(x, y, _PILOT)
    put(0.0, 0.0, _SHAFT)
    for number, (x, y) in enumerate(found.points, 1):
        put(x, y, str(number))
    return "\n".join("      " + "".join(row).rstrip() for row in canvas if "".join(row).strip())


def _outline(reach: float, square: bool) -> list[tuple[float, float]]:
    """Points along a circle or a square about the origin, mm, close enough for a sketch."""
    points = []
    for step in range(240):
        angle = math.tau * step / 240
        x, y = math.cos(angle), math.sin(angle)
        scale = reach / max(abs(x), abs(y)) if square else reach
        points.append((x * scale, y * scale))
    return points


def _screw(found: Screw) -> str:
    inch = found.system == "inch"
    parts = [_title(found.size, f"{found.system} screw, {found.series} thread").lstrip("\n")]
    groups = [(found.source_of(group), lines) for group, lines in _screw_groups(found, inch)]
    listed = [(source, lines) for source, lines in groups if source is not None]
    # A source stands once, below the last of the groups in a row that it speaks for.
    for place, (source, lines) in enumerate(listed):
        parts += [_line(label, text) for label, text in lines]
        if place + 1 == len(listed) or listed[place + 1][0] != source:
            parts.append(_line("", f"- {source}"))
    if found.fine_pitches:
        parts.append(_line("also made as", ", ".join(found.fine_pitches)))
    return "\n".join(parts)


def _screw_groups(found: Screw, inch: bool) -> list[tuple[str, list[tuple[str, str]]]]:
    def size(value: float | None) -> str:
        return "-" if value is None else _both(value, inch)

    holes = ", ".join(f"{fit} {_both(hole, inch)}" for fit, hole in found.clearance.items())
    drilled = f"{found.tap_drill_name} = {size(found.tap_drill)}" if inch else size(found.tap_drill)
    lengths = ", ".join(f"{length / (INCH if inch else 1.0):.4g}" for length in found.stock_lengths)
    # A group is what one standard prints together, under the name by which the screw keeps its source.
    return [
        (
            "thread",
            [
                ("diameter", size(found.diameter)),
                ("pitch", f"{found.pitch:.4g} mm" + (f" ({INCH / found.pitch:.0f} per inch)" if inch else "")),
            ],
        ),
        ("tap drill", [("tap drill", f"{drilled}, {found.thread_percent:.0f} % of thread")]),
        ("stress area", [("stress area", f"{found.stress_area:.4g} mm2")]),
        ("clearance", [("clearance hole", holes)]),
        (
            "hex head",
            [
                ("hexagon head", f"{size(found.hex_across_flats)} across flats, {size(found.hex_head_height)} high"),
                ("", f"at most {size(found.hex_across_corners)} across corners"),
            ],
        ),
        ("wrench", [("socket round it", f"{size(found.wrench_outer)} outside")]),
        (
            "socket head",
            [("socket head", f"{size(found.socket_head_diameter)} x {size(found.socket_head_height)} high")],
        ),
        (
            "countersunk head",
            [
                (
                    "countersunk head",
                    f"{size(found.countersunk_head_diameter)} x {size(found.countersunk_head_height)} high, "
                    f"{found.countersunk_angle_deg or 0:g} degrees",
                )
            ],
        ),
        ("nut", [("nut", f"{size(found.nut_across_flats)} across flats, {size(found.nut_height)} high")]),
        ("washer", [("washer", _washer(found.washer_hole, found.washer_outer, found.washer_thickness, inch))]),
        (
            "large washer",
            [
                (
                    "large washer",
                    _washer(found.large_washer_hole, found.large_washer_outer, found.large_washer_thickness, inch),
                )
            ],
        ),
        (
            "lengths",
            [("stock lengths", lengths + (" in" if inch else " mm"))],
        ),
    ]


def _washer(hole: float | None, outer: float | None, thick: float | None, inch: bool) -> str:
    return " x ".join("-" if value is None else _both(value, inch) for value in (hole, outer, thick))
