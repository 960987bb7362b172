"""What the tables offer for a box: designations, materials, screws, belts, pulleys, found by parts of words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Final, Literal

from platekit import tables
from platekit.placed import Layout
from platekit.units import Unit, show_length

MOST_OFFERED: Final = 40
"""Most names that one list shows (ours: a screen full); the rest are counted, and found by typing more."""
BELT: Final = re.compile(r"(?P<drive>drive(?:\.\w+)?)\.belt(?:\.size)?$")
SECTION: Final = re.compile(r"(?:^|\.)belt\.section$")
PULLEY: Final = re.compile(
    r"(?P<drive>drive(?:\.\w+)?)\.(?:driver|driven)\.(?P<of>pitch|effective|outside)?_?(?:diameter|(?P<teeth>teeth))$"
)
MOTOR: Final = re.compile(r"(?:^|\.)motor\.power$")
COUPLING: Final = re.compile(r"^couplings[.][^.]+[.]stock$")
STANDARD: Final = re.compile(r"(?:^|\.)standard$")
MATERIAL: Final = re.compile(r"^(?!.*(?:driver|driven|idlers)).*material$")
SIZE: Final = re.compile(r"(?:^|\.)(?:bolts|screws?)\.size$")
"""Fields of the spec and the table that each is filled from."""


def listed(field: str) -> bool:
    """Whether the tables have names for a field."""
    return any(kind.search(field) for kind in (BELT, SECTION, PULLEY, MOTOR, COUPLING, STANDARD, MATERIAL, SIZE))


def offers(field: str, typed: str, layout: Layout | None) -> tuple[list[dict[str, str]], int]:
    """Names for a field that have every word of `typed` in them or in what is said of them: {name, about}.

    Those that begin as typed come first, else they stand in the order of their table; the number tells how many more
    there are. Pulleys are those of the belt's section in `layout`.
    """
    words = typed.lower().split()
    found = [
        (name, about)
        for name, about in dict(_all(field, layout)).items()
        if all(word in f"{name} {about}".lower() for word in words)
    ]
    found.sort(key=lambda one: not one[0].lower().startswith(typed.strip().lower()))
    shown = [{"name": name, "about": about} for name, about in found[:MOST_OFFERED]]
    if STANDARD.search(field):
        shown = [one | {"picture": drawn_as(one["name"])} for one in shown]
    return shown, len(found) - len(shown)


def drawn_as(name: str) -> Literal["face", "threads", "through", "feet"]:
    """Which small picture a part from the tables has: feet; or a face with threads, or one that screws go through."""
    part = tables.mount(name)
    if part.shaft_height is not None:
        return "feet"
    if part.screw is not None:
        return "threads"
    return "face" if part.hole is None else "through"


MOUNTED: Final = {
    "B5": "wide flange, screws go through it (also V1, V3; B35 has feet too)",
    "B14": "small face with threads (also V18, V19; B34 has feet too)",
    "B3": "on feet (also B6, B7, B8, V5, V6)",
}
"""What the letters on a motor's rating plate say of how it is fixed (IEC 60034-7, the short code)."""


def mounted(name: str) -> str:
    """What the letters of an IEC motor say of how it is fixed, in words; empty for all others.

    >>> mounted("IEC 80 B14 large").partition(" (")[0]
    'B14: small face with threads'
    """
    found = re.fullmatch(r"IEC \d+[SML]?(?: (B\d+).*)?", name)
    if found is None:
        return ""
    letters = found[1] or "B3"
    return f"{letters}: {MOUNTED[letters]}" if letters in MOUNTED else ""


@cache
def figures_of(name: str, unit: Unit) -> str:
    """What tells one part from the tables from the next, in a line: what a rule laid on it shows."""
    part = tables.mount(name)
    said: list[str] = []
    # a face with threads and one with holes of the same frame differ by a letter and a figure in their names only
    through = f"{part.screw} threads" if part.screw else None
    through = through or (None if part.hole is None else f"{show_length(part.hole, unit)} holes")
    if part.bolt_circle is not None:
        said.append(f"{part.holes} on a {show_length(part.bolt_circle, unit)} circle")
    elif part.width is not None and part.height is not None:
        said.append(f"{part.holes} holes {show_length(part.width, unit)} x {show_length(part.height, unit)}")
    if through is not None:
        said.append(through)
    if part.pilot is not None:
        said.append(f"pilot {show_length(part.pilot, unit)}")
    if part.shaft_height is not None:
        said.append(f"shaft {show_length(part.shaft_height, unit)} high")
    if part.shaft is not None:
        said.append(f"shaft {show_length(part.shaft, unit)}")
    told = mounted(name)
    return ", ".join(said) + (f". {told}" if told else "")


def _all(field: str, layout: Layout | None) -> Iterator[tuple[str, str]]:
    from platekit.tables.belts.lengths import stock
    from platekit.tables.belts.pulleys import stock_pulleys
    from platekit.tables.belts.sections import section_names

    if STANDARD.search(field):
        unit = "mm" if layout is None else layout.spec.unit
        for family in tables.families():
            for designation in family.entries():
                yield designation, f"{family.name}: {figures_of(designation, unit)}"
    elif MATERIAL.search(field):
        for name in tables.materials():
            known = tables.material(name)
            yield name, ", ".join(filter(None, (known.family, *known.aliases)))
    elif SIZE.search(field):
        yield from ((size, "") for size in tables.screw_sizes())
    elif COUPLING.search(field):
        from platekit.tables.couplings import stock_coupling, stock_couplings

        unit = "mm" if layout is None else layout.spec.unit
        for name in stock_couplings():
            one = stock_coupling(name)
            least, most = (show_length(gap, unit) for gap in one.gap)
            about = (
                f"{show_length(one.diameter, unit)} across, {show_length(one.length, unit)} long, gap {least} to {most}"
            )
            bore = "" if one.bore is None else f", bored up to {show_length(one.bore, unit)}"
            yield name, about + bore + ("" if one.torque is None else f", {one.torque:g} Nm")
    elif SECTION.search(field):
        yield from ((name, "") for name in section_names())
    elif MOTOR.search(field):
        from platekit.tables.motors import standard_powers_kw

        yield from ((f"{power:g} kW", "a power that motors are sold in") for power in standard_powers_kw())
    elif (found := BELT.search(field)) is not None:
        # The section that runs there now comes first: another one asks for other pulleys as well.
        own = _section(found["drive"], layout)
        for name in sorted(section_names(), key=lambda one: one != own):
            yield from (
                (size.label, f"section {name}, {size.pitch_length:.0f} mm along the cords") for size in stock(name)
            )
    elif (found := PULLEY.search(field)) is not None and (own := _section(found["drive"], layout)) is not None:
        for pulley in stock_pulleys(own):
            about = f"section {own}, {pulley.label}, {pulley.material}"
            if found["teeth"]:
                if pulley.teeth:
                    yield f"{pulley.teeth}", about
            elif found["of"] == "pitch":
                yield f"{round(pulley.pitch_diameter, 2):g} mm", about
            elif pulley.sold is not None and pulley.sold.of == found["of"]:
                yield pulley.sold.typed, about


def _section(drive: str, layout: Layout | None) -> str | None:
    """The section of the belt whose drive is said at a field."""
    belts = () if layout is None else layout.belts
    found = next((belt for belt in belts if belt.field == drive), belts[0] if belts else None)
    return None if found is None or found.request.belt is None else str(found.request.belt.section)
