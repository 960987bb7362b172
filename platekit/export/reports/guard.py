"""Rows of the report and the bench sheet on the guard: its parts, bends and screws, and what standards wish of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress

from platekit.cutting.estimate import plan
from platekit.drawing.sizes import figure, mass_figure
from platekit.errors import LookupFailed
from platekit.export.reports.rows import Row, minutes
from platekit.laying.guard import LAP, cover_off
from platekit.laying.guard_parts import bends, parts_of
from platekit.placed import Guard, Layout
from platekit.tables.guards import press_distance, safety_distance
from platekit.units import Unit, show_length


def guard_rows(guard: Guard, layout: Layout) -> Iterator[Row]:
    """The guard's parts and what there is to know of each: what is cut and bent, what holds it, how it opens."""
    unit = layout.spec.unit
    box = guard.outline.box
    size = f"{figure(box.width, unit)} × {show_length(box.height, unit)}"
    sheet = f"{show_length(guard.thickness, unit)} {guard.material.name}"
    over = " and ".join(guard.belts)
    yield "over", f"{over}, {guard.side} side; {show_length(guard.gap, unit)} to belt and pulleys over all travel"
    what = "ears" if guard.floor is None else "feet"
    ears = f"{len(guard.fixed_at)} {what} with holes of {show_length(guard.ear_hole, unit)}"
    if guard.drawn.lies:
        yield "stands", _stands(guard, unit)
    if guard.floor is not None:
        ends = sum(foot.wall != "back" for foot in guard.feet)
        yield "back plate", f"{size}, {sheet}; open round {len(guard.shafts)} shafts"
        fold = "welded on" if guard.made == "segments" else "folded outward"
        yield "feet", f"{ears}, {fold}: {ends} at the ends of the band, the others along the back plate"
    elif guard.back:
        halves = "" if guard.seam is None else ", in two halves with a joining strip over their seam"
        sockets = f" and for {len(guard.sockets)} sockets" if guard.sockets else ""
        yield "back plate", f"{size}, {sheet}{halves}; open round {len(guard.shafts)} shafts{sockets}; {ears}"
    else:
        yield "back plate", "none: the plate itself closes the back"
        yield "ears", f"tabs of the band at the plate, folded outward: {ears}"
    yield "fixed to", _fixed_to(guard, layout)
    yield "cover", f"{size} without its lugs, {sheet}; {_opened_by(guard, unit)}"
    long, wide = show_length(guard.band_length, unit), show_length(guard.band_width, unit)
    yield "band", f"{long} long once round, {wide} wide, {sheet}; {_band_words(guard, unit)}"
    # Each strip's bends in their order, outside face up on the bench
    for piece in range(guard.strips):
        told = [
            f"{bend.number}: {math.degrees(bend.angle):.1f}° at {figure(bend.at, unit)}"
            + (f" (rolled to {figure(bend.radius, unit)} inside)" if bend.rolled else "")
            for bend in sorted(bends(guard, piece), key=lambda one: one.number)
        ]
        name = "bends" if guard.strips == 1 else f"bends of strip {piece + 1}"
        start = "the first lap hole" if guard.floor is None else "the left edge of its wall"
        if told:
            yield name, f"down, in this order, {unit} from {start}: {'; '.join(told)}"
    if guard.made != "segments":
        first = "folded up by 90° once the band is bent, over a block in the vice"
        yield "tabs", f"{first}, or before that with a die that ends short of them (common practice)"
    # Pieces, mass, and what cutting them takes, all together
    pieces, mass, length, seconds = 0, 0.0, 0.0, 0.0
    costs: list[float] = []
    currency = ""
    for flat in parts_of(layout, guard).values():
        count = flat.cutting.copies // max(layout.cutting.copies, 1)
        made = plan(flat)
        pieces += count
        mass += count * flat.mass
        if made is not None:
            length += count * made.cut_length
            seconds += count * made.total_s
            if made.cost is not None:
                costs.append(count * made.cost.sum)
                currency = made.cost.currency
    said = f"{pieces} pieces, {mass_figure(mass, layout.spec.unit)}"
    if length:
        said += f"; {show_length(length, layout.spec.unit)} to cut, {minutes(seconds)}"
    if costs:
        said += f"; {math.fsum(costs):.2f} {currency}"
    yield "parts", said
    if guard.opening is None:
        yield "openings", "none: a plain cover"
    else:
        yield "openings", _openings_words(guard, layout)
    # What the standards on guards wish of a fixed guard, and how this one answers
    yield (
        "opened only by a tool",
        "yes: hexagon heads, so that nobody opens it by hand while the belt runs (ISO 14120; 2006/42/EC, annex I, "
        "1.4.2.1)",
    )
    stay = "yes: captive" if guard.captive else "no: keep them in a bag tied to the machine, or make them captive"
    yield "screws stay with it", f"{stay} (2006/42/EC, annex I, 1.4.2.1)"
    yield (
        "cannot stay closed without them",
        "yes: the cover stands square to the plate and nothing else holds it, as long as its shafts are level "
        "(2006/42/EC, annex I, 1.4.2.1)"
        if guard.drawn.lies
        else "yes where the plate stands upright: nothing else holds the cover; on a plate that lies under it, it "
        "stays by its weight, so look before power goes on (2006/42/EC, annex I, 1.4.2.1: where possible)",
    )
    yield "who decides", "local codes and licensed people"


def _stands(guard: Guard, unit: Unit) -> str:
    """How a guard over lying shafts goes round them."""
    if guard.floor is None:
        return "square to the plate, its band all round belt and pulleys; it goes on over the ends of the shafts"
    off = f", {show_length(guard.off_plate, unit)} off it" if guard.off_plate else ""
    return (
        f"square to the plate on its {guard.side} side{off}: the plate closes it below; it goes on over the ends of "
        "the shafts, before the pulleys"
    )


def _openings_words(guard: Guard, layout: Layout) -> str:
    """The openings of the cover, and what two authorities ask of such: how far they are off."""
    assert guard.opening is not None
    unit, (shape, width, length) = layout.spec.unit, guard.opening
    long = "" if length is None else f", {show_length(length, unit)} long"
    said = f"{len(guard.vents)} in the cover, {shape}, {show_length(width, unit)} wide{long}; "
    said += f"{show_length(cover_off(layout, guard), unit)} from belt and pulleys"
    with suppress(LookupFailed):  # past the table's end; a rule says so
        iso = safety_distance(shape, width, length)
        said += f"; {iso.source.name} asks for {show_length(iso.distance, unit)}"
    with suppress(LookupFailed):
        press = press_distance(width)
        said += f"; {press.source.name}, for presses, for {show_length(press.distance, unit)}"
    return said


def _fixed_to(guard: Guard, layout: Layout) -> str:
    unit = layout.spec.unit
    if guard.on == "machine":
        return "not to the plate: what carries it has holes of its own"
    spacers = f", spacers of {show_length(guard.off_plate, unit)}" if guard.off_plate else ""
    screw = ""
    if guard.screw is not None and guard.length is not None:
        screw = (
            f" with {len(guard.fixed_at)} {guard.screw} screws {show_length(guard.length, unit)} long and nuts{spacers}"
        )
    what = "ear" if guard.floor is None else "foot"
    return f"the plate, through its holes {guard.name}.{what} 1 to {len(guard.fixed_at)}{screw}"


def _opened_by(guard: Guard, unit: Unit) -> str:
    """The cover's screws."""
    if guard.cover_screw is None or guard.cover_length is None:
        return f"{len(guard.cover_holes)} holes of {show_length(guard.cover_hole, unit)}"
    stay = "held in it by retaining washers" if guard.captive else "loose once they are out"
    return (
        f"{len(guard.cover_holes)} {guard.cover_screw} screws {show_length(guard.cover_length, unit)} long, {stay}, "
        "into nuts fixed under the tabs of the band; pulleys and belt stay on when it comes off"
    )


def _band_words(guard: Guard, unit: Unit) -> str:
    strips = "one strip" if guard.strips == 1 else f"{guard.strips} strips"
    lapped = f"ends lapped {show_length(LAP, unit)} and riveted (4.8 mm); " if guard.joints else ""
    if guard.made == "segments":
        return "flat segments, welded at their edges; ears welded on"
    return (
        f"{strips}, {lapped}inside radius of its bends "
        f"{show_length(guard.bend_radius, unit)}, K-factor {guard.k_factor:.3f} by {guard.k_source}"
    )
