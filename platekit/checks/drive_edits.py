"""Edits of the spec that mend a drive: other pulleys, another belt, another place; each tried before it is advised."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.checks.advice import in_units, rounded_down, rounded_up, say, words_at
from platekit.checks.finding import BLANK, BLANK_OUT, Advice, FieldValue, Remedy
from platekit.errors import DriveError, LookupFailed
from platekit.geometry import Point
from platekit.placed import SAME_LENGTH, Layout, PlacedBelt, PlacedPulley
from platekit.spec.drive_words import LENGTHS, BeltWords, PulleyWords, SeatWords, Stage
from platekit.tables import belts
from platekit.units import mm_per

if TYPE_CHECKING:
    from platekit.drive import Belt, DriveRequest, DriveResult, Pulley

End = Literal["driver", "driven"]
SIZES = ("pitch_diameter", "effective_diameter", "outside_diameter", "teeth")


RIM_SPARE = 2.0
"""A rim that is advised is so much wider than what runs on it, mm (ours: a flange on either side)."""
WAYS_TO_GROW = {0.0: "", 1.0: ", to the far end of its shafts", -1.0: ", to the other end of its shafts"}
"""Where rims grow to: about their middle, or to one side."""
RIM_ROOM = 5.0
"""Pulleys keep this apart where the belt is put on, beyond their pitch circles, mm: rims stand out (ours)."""
APART = 1.3
"""Shafts that must move for larger pulleys stand apart this many times the mean diameter (ours)."""


class Resized(Struct, frozen=True):
    """A pulley of another size: as the request has it, as the spec would say it, and as a person would."""

    end: End
    pulley: Pulley
    remedy: Remedy
    said: str


LONGER_TRIED = 4
"""Longer stock belts that are tried (ours)."""
STOCK_STEP = 5.0
"""Belts that differ by less than this are of one length, mm (ours)."""


class Refit(Struct, frozen=True):
    """A drive with changed pulleys: worked out (None: it cannot be), the edits that make it, and the words for it."""

    result: DriveResult | None
    remedies: tuple[Remedy, ...]
    said: str


def shaft_asked(layout: Layout, pulley: PlacedPulley, *, opened: bool = False) -> Remedy:
    """The shaft of a pulley as a body that is to be described: how thick, and how far out of its part's face (mm)."""
    words: PulleyWords = words_at(layout, pulley.field)
    shape: dict[str, FieldValue] = {"circle": {"diameter": BLANK}}
    if any(words.at):
        shape["at"] = [in_units(layout, one) for one in words.at]
    taken = {body.name for body in layout.bodies}
    name = next(one for k in range(1, 9) if (one := f"{pulley.mount} shaft" + (f" {k}" if k > 1 else "")) not in taken)
    value: dict[str, FieldValue] = {"carried_by": pulley.mount, "shape": shape, "span": [BLANK_OUT, 0.0]}
    return Remedy(f"bodies.{name}", value | ({"relief": "auto"} if opened else {}))


def stage_of(layout: Layout, belt: PlacedBelt) -> Stage:
    """The words of the spec behind a belt."""
    stage: Stage = words_at(layout, belt.field)
    return stage


def whole(belt: PlacedBelt) -> tuple[str, ...]:
    """The names by which the belt as a whole is known: its own, and its runs in the picture."""
    return (belt.name, *(f"{belt.name}.belt {run}" for run in range(1, len(belt.pulleys) + 1)))


def middle(belt: PlacedBelt) -> Point:
    """The point half way between the two shafts, mm."""
    (ax, ay), (bx, by) = belt.driver.at, belt.driven.at
    return ((ax + bx) / 2, (ay + by) / 2)


def try_out(request: DriveRequest) -> DriveResult | None:
    """The drive after a change (mm, N, rpm); None when it does not exist."""
    from platekit.drive import work_out

    try:
        return work_out(request)
    except (DriveError, LookupFailed):
        return None


def resize(layout: Layout, belt: PlacedBelt, end: End, pitch: float, up: bool) -> Resized:
    """A pulley with a pitch diameter of at least (`up`) or at most `pitch` mm, told the way the spec tells it."""
    words: PulleyWords = getattr(stage_of(layout, belt), end)
    field = f"{belt.field}.{end}"
    section = belt.request.belt.section if belt.request.belt else ""
    own = getattr(belt.request, end)
    if words.teeth is not None:
        # Teeth are whole numbers: the next one that keeps to the side that is asked for.
        exact = words.teeth * pitch / own.pitch(section)
        teeth = max(1, math.ceil(exact - 1e-6) if up else math.floor(exact + 1e-6))
        return Resized(end, replace(own, teeth=teeth), Remedy(f"{field}.teeth", teeth), f"{teeth} teeth")
    key = next(key for key in SIZES if getattr(words, key) is not None)
    of: belts.DiameterKind = {"effective_diameter": "effective", "outside_diameter": "outside"}.get(key, "pitch")  # type: ignore[assignment]  # literals
    stated = belts.stated_diameter(section, pitch, of) if section else pitch
    value = rounded_up(layout, stated) if up else rounded_down(layout, stated)
    size = value * mm_per(layout.spec.unit)
    return Resized(
        end, replace(own, **{key: size}), Remedy(f"{field}.{key}", value), f"{say(layout, size)} {of} diameter"
    )


def with_pulley(request: DriveRequest, change: Resized) -> DriveRequest:
    """The request with one pulley changed."""
    if change.end == "driver":
        return replace(request, driver=change.pulley)
    return replace(request, driven=change.pulley)


def both_resized(layout: Layout, belt: PlacedBelt, factor: float) -> tuple[Resized, Resized]:
    """Both pulleys larger or smaller by a factor (a ratio of diameters), so that the speeds stay."""
    up = factor > 1
    result = belt.result
    driver = resize(layout, belt, "driver", result.driver_pitch * factor, up)
    section = belt.request.belt.section if belt.request.belt else None
    # By as much as the rounded driver really grew, so that the ratio is kept as well as can be.
    grown = driver.pulley.pitch(section) / result.driver_pitch
    return driver, resize(layout, belt, "driven", result.driven_pitch * grown, up)


def refit(layout: Layout, belt: PlacedBelt, *changes: Resized) -> Refit:
    """The drive with other pulleys (mm): on its belt if that still fits, else on the next stock belt."""
    request = belt.request
    for change in changes:
        request = with_pulley(request, change)
    said = " and ".join(f"a {change.end} pulley of {change.said}" for change in changes)
    remedies = tuple(change.remedy for change in changes)
    after = try_out(request)
    # Larger pulleys want a longer belt: the same one may no longer reach, or not go over the rims.
    # Whether the pulleys still clear each other where the belt is put on.
    nearest = None
    if after is not None:
        nearest = after.centre_distance if after.travel is None else after.travel.shortest
    if after is None or nearest is None or nearest <= (after.driver_pitch + after.driven_pitch) / 2 + RIM_ROOM:
        # The next longer stock belt that keeps the shafts where they are, or a little farther apart for large pulleys.
        from platekit.drive import belt_length

        made = request.belt
        if made is None or request.idlers:
            return Refit(None, (), said)
        driver, driven = request.driver.pitch(made.section), request.driven.pitch(made.section)
        apart = max(belt.result.centre_distance, APART * (driver + driven) / 2)
        least = belt_length(apart, driver, driven)
        size = next((one for one in belts.stock(made.section) if one.pitch_length >= least), None)
        if size is None:
            return Refit(None, (), said)
        after = try_out(replace(request, belt=replace(made, length=size.length, of=size.of)))
        said = f"{said} with a belt {size.label}"
        remedies = (*remedies, other_length(layout, belt, size))
    return Refit(after, remedies if placed_by_belt(layout, belt) and after is not None else (), said)


def placed_by_belt(layout: Layout, belt: PlacedBelt) -> bool:
    """Whether one of the two shafts goes where the belt puts it, so that another belt or pulley does no harm."""
    # either shaft may be the one that the belt places; the other is then where it was measured
    ends = ((belt.driver.mount, belt.driven.mount), (belt.driven.mount, belt.driver.mount))
    mounts = layout.mounts
    return any(mounts[own].belt_angle is not None and mounts[own].place_from == other for own, other in ends)


def length(layout: Layout, value: float) -> FieldValue:
    """A length (mm) as a value for the spec, to a thousandth of a millimetre."""
    return round(value, 3) if layout.spec.unit == "mm" else f"{value:.7g} mm"


def belt_value(layout: Layout, belt: PlacedBelt, **changes: FieldValue) -> Remedy:
    """The whole belt of the spec with some of its words changed."""
    words: BeltWords = stage_of(layout, belt).belt
    value: dict[str, FieldValue] = {}
    if words.size is not None:
        value["size"] = words.size
    if words.section is not None:
        value["section"] = words.section
    lengths = (*LENGTHS, "width")
    value |= {key: length(layout, getattr(words, key)) for key in lengths if getattr(words, key) is not None}
    if words.choose:  # the belt that was chosen is the one the advice was tried with
        value["pitch_length"] = length(layout, belt.result.belt_length)
    if words.count > 1:
        value["count"] = words.count
    if words.ribs is not None:
        value["ribs"] = words.ribs
    return Remedy(f"{belt.field}.belt", value | changes)


def other_length(layout: Layout, belt: PlacedBelt, size: belts.BeltSize) -> Remedy:
    """The same kind of belt in another stock length (mm)."""
    words = stage_of(layout, belt).belt
    kept: dict[str, FieldValue] = {"section": size.section.name, f"{size.of}_length": length(layout, size.length)}
    # what a maker's code said of ribs and width is written out: the code names one length only
    if words.count > 1:
        kept["count"] = words.count
    made = belt.request.belt
    if made is not None and made.ribs:
        kept["ribs"] = made.ribs
    if made is not None and made.width:
        kept["width"] = length(layout, made.width)
    return Remedy(f"{belt.field}.belt", kept)


def with_ribs(layout: Layout, belt: PlacedBelt, size: belts.BeltSize, ribs: int) -> Remedy:
    """The same belt with this many ribs, written out, as a maker's code names its own number of them."""
    remedy = other_length(layout, belt, size)
    assert isinstance(remedy.value, dict)
    return Remedy(remedy.field, remedy.value | {"ribs": ribs})


def by_the_belt(layout: Layout, belt: PlacedBelt) -> Remedy:
    """The driver's mount put where the belt wants it, in the direction (degrees) in which it is now."""
    angle = math.degrees(belt.line)
    if belt.drawn.lies:  # in the plate, square to the shafts
        away = math.copysign(1.0, math.cos(belt.line))
        angle = math.degrees(math.atan2(away * belt.drawn.u[1], away * belt.drawn.u[0]))
    value: FieldValue = {"belt": {"from": belt.driven.mount, "angle": f"{round(angle, 4):g} deg"}}
    return Remedy(f"mounts.{belt.driver.mount}.at", value)


def span_moved(layout: Layout, field: str, span: Point, by: float) -> Remedy:
    """A span moved along the shaft by so many mm."""
    # both ends by the same: a pulley keeps its width
    return Remedy(field, [in_units(layout, end + by) for end in span])


def pulley_moved(layout: Layout, pulley: PlacedPulley, rise: float) -> Iterator[Remedy]:
    """The edits that move a pulley by `rise` mm along z: its rim's span, and its hub's."""
    words = words_at(layout, pulley.field)
    by = rise * pulley.sense
    yield span_moved(layout, f"{pulley.field}.span", pulley.span, by)
    hub = getattr(words, "hub", None)
    if hub is not None:
        yield span_moved(layout, f"{pulley.field}.hub.span", hub.span, by)


def along_the_shafts(layout: Layout, belt: PlacedBelt, rise: float) -> Advice:
    """Advice to move a belt with all its pulleys by at least `rise` mm along z, so that it stays in its plane."""
    by = math.copysign(rounded_up(layout, abs(rise)) * mm_per(layout.spec.unit), rise)
    # rounded up to a figure of the spec, and all pulleys by the same, so that they stay in line
    edits = tuple(edit for pulley in belt.pulleys for edit in pulley_moved(layout, pulley, by))
    return Advice(
        f"move the belt and all pulleys of {belt.name} {say(layout, abs(by))} along their shafts (span)", edits
    )


def longer_belts(layout: Layout, belt: PlacedBelt) -> Iterator[Advice]:
    """The next stock lengths (mm), where the belt places a mount: the shafts go apart."""
    made = belt.request.belt
    if made is None or not placed_by_belt(layout, belt):
        return
    longer = [size for size in belts.stock(made.section) if size.pitch_length > belt.result.belt_length + STOCK_STEP]
    for size in longer[:LONGER_TRIED]:
        yield Advice(
            f"use a longer belt, {size.label}, which sets the shafts farther apart", (other_length(layout, belt, size),)
        )


def belt_width(made: Belt, small_pitch: float) -> float | None:
    """How wide what runs on a belt's rims is, all belts side by side, mm; None where neither table nor spec say it.

    `small_pitch` (mm) is the pitch diameter of the smaller pulley, which its grooves go by.
    """
    section = belts.section(made.section)
    if section.family == "toothed":
        return made.width or None
    if section.family == "ribbed":
        return section.pitch * made.ribs if made.ribs else None
    try:
        # belts side by side stand as far apart as the grooves, which are wider than the belts
        spacing = belts.groove(made.section, small_pitch).spacing
    except LookupFailed:
        spacing = section.top_width
    return section.top_width + (made.count - 1) * spacing or None


def wider_rims(layout: Layout, belt: PlacedBelt, needed: float, way: float = 0.0) -> tuple[Remedy, ...]:
    """The edits that make both rims of a belt hold what is `needed` mm wide; none where they do.

    The belt stays in its plane (`way` 0), or both pulleys go the same way with it (1, -1): then the side that is now
    nearest to something stays where it is. A rim that is told from its shaft's end grows off that.
    """
    pulleys = (belt.driver, belt.driven)
    narrow = [pulley for pulley in pulleys if pulley.z[1] - pulley.z[0] < needed - SAME_LENGTH]
    if not narrow:
        return ()
    wanted = needed + RIM_SPARE
    aside = way * max(wanted - (pulley.z[1] - pulley.z[0]) for pulley in narrow) / 2
    edits: list[Remedy] = []
    for pulley in pulleys:
        if isinstance(words_at(layout, pulley.field).span, SeatWords):
            if pulley in narrow:
                edits.append(Remedy(f"{pulley.field}.span.width", rounded_up(layout, wanted)))
            continue
        if pulley not in narrow and not aside:
            continue
        half = rounded_up(layout, max(wanted, pulley.z[1] - pulley.z[0]) / 2)
        center = in_units(layout, sum(pulley.span) / 2 + pulley.sense * aside)
        span: list[FieldValue] = [round(center - half, 6), round(center + half, 6)]
        edits.append(Remedy(f"{pulley.field}.span", span))
    return tuple(edits)


def with_rims(layout: Layout, belt: PlacedBelt, made: Belt, advice: Advice) -> Iterator[Advice]:
    """An advice for another belt on the same pulleys, with rims that hold it: about their middle, or to one side."""
    needed = belt_width(made, belt.result.small_pitch)
    rims = () if needed is None else wider_rims(layout, belt, needed)
    if needed is None or not rims:
        yield advice
        return
    for way, where in WAYS_TO_GROW.items():
        edits = wider_rims(layout, belt, needed, way)
        yield Advice(
            f"{advice.text}, on rims {say(layout, needed + RIM_SPARE)} wide{where}", (*advice.remedies, *edits)
        )
