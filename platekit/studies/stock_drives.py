"""Drives of stock pulleys and belts: what is asked of them, what they change in a spec, and which would mend a finding.

A belt that is too weak wants another section, more belts or larger pulleys at once; slots that run into each other want
a belt that asks for less travel. Both are looked for among all that is in stock, as `platekit drive --choose` does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from platekit.checks.advice import words_at
from platekit.checks.drive_edits import SIZES, belt_width, placed_by_belt, try_out, wider_rims
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.errors import DriveError, LookupFailed
from platekit.geometry import Straight
from platekit.placed import Layout, PlacedBelt
from platekit.spec.source import read, source_of
from platekit.tables import belts

if TYPE_CHECKING:
    from platekit.drive import Belt, DriveRequest
    from platekit.drive.choosing import Choice, ChoiceRequest

CENTRES_ROOM: Final = 0.25
"""Without other words, drives are looked for with the shafts this share closer and farther apart (ours)."""
MORE_ROOM: Final = 0.5
"""And in the place of one that will not do, this share (ours): such a plate is not cut yet."""
RANKED: Final = 60
"""Drives that are looked through for one that mends a finding (ours)."""
OFFERED: Final = 3
"""Drives that are offered against one finding (ours); each is tried on the whole plate, which takes time."""
MOST_BELTS: Final = 6
"""Most belts side by side that are offered (ours: more are seldom put on one motor)."""
SHORTER: Final = 1.0
"""Slots have to become this much shorter than they must, mm (ours: travel is rounded up in the plate)."""


def drive_wanted(
    layout: Layout,
    which: int,
    *,
    closest: float | None = None,
    farthest: float | None = None,
    about: float | None = None,
    largest: tuple[float, float] = (math.inf, math.inf),
    sections: tuple[str, ...] = (),
    room: float = CENTRES_ROOM,
    as_now: bool = False,
) -> ChoiceRequest:
    """What is asked of belt `which` of a spec, from the motor on, so that the working shaft runs as wanted.

    `closest` and `farthest` are centre distances and `about` the best one, which is else the spec's own; `largest` the
    outside diameters of driver and driven that fit, mm; with `as_now` speeds that nobody wanted are those that it has.
    Raises `DriveError` where figures are missing.
    """
    from platekit.drive import Range
    from platekit.drive.choosing import ChoiceRequest

    # The last belt drives the working shaft; behind a countershaft it runs `before` times slower than the motor, and
    # the belts after another one have their share of how much slower the working shaft is wanted.
    belt, last = layout.belts[which], layout.belts[-1]
    request, points = belt.request, last.result.points
    speeds, after = last.request.wanted.speeds, last.result.ratio / belt.result.ratio
    if speeds is None and as_now and points and points[0].speed_rpm > 0:
        speeds = Range(points[0].speed_rpm, points[-1].speed_rpm)
    if last.request.motor is None or not points or speeds is None:
        raise DriveError("to choose, give the motor under `drive.motor` and the speeds under `drive.wanted`")
    # The shafts stand where they stand: a drive fits best that leaves them there, but may ask for some room.
    own = about or belt.result.centre_distance
    low = own * (1 - room) if closest is None else closest
    high = own * (1 + room) if farthest is None else farthest
    motor = last.request.motor
    rated = motor.speed_rpm if motor.loaded is None else motor.loaded[0]
    before = request.before
    return ChoiceRequest(
        motor_speeds=Range(points[0].motor_rpm / before, points[-1].motor_rpm / before),
        wanted=Range(speeds.low * after, speeds.high * after),
        centres=Range(low, high),
        best_centres=min(max(own, low), high),
        sections=sections,
        largest_driver=largest[0],
        largest_driven=largest[1],
        power_w=max(point.motor_torque_nm * point.motor_rpm * math.pi / 30 for point in points),
        rated_rpm=rated / before,
        service_factor=request.service_factor,
        shop=layout.spec.unit,
    )


def choice_edits(layout: Layout, choice: Choice, which: int = -1) -> list[tuple[str, FieldValue]]:
    """The fields of the spec that a choice for one of the belts changes, (field, value): belt and both pulleys."""
    field = layout.belts[which].field
    # Stock belts are listed without a width or a number of ribs where the strand is cut to width: then what is needed
    # is written, unless the spec's own belt of that kind is wide enough.
    belt, before = choice.belt, layout.belts[which].request.belt
    words: dict[str, FieldValue] = {"size": belt.label}
    kept = _raw(layout, f"{field}.belt")
    if belt.section.toothed:
        enough = before is not None and before.width >= (choice.width_needed or 0)
        width = kept.get("width") if enough else f"{choice.width_needed:g} mm"
        words |= {} if width is None else {"width": width}
    if belt.section.family == "ribbed":
        ribs = belt.ribs or max(choice.ribs_needed or 0, before.ribs if before is not None else 0)
        words |= {"ribs": ribs} if ribs else {}
    if (choice.belts_needed or 1) > 1:
        words["count"] = choice.belts_needed or 1
    edits: list[tuple[str, FieldValue]] = [(f"{field}.belt", words)]
    for end, pulley in (("driver", choice.driver), ("driven", choice.driven)):
        sold = pulley.sold
        size: dict[str, FieldValue] = {"teeth": pulley.teeth} if sold is None else {f"{sold.of}_diameter": sold.typed}
        kept = {key: value for key, value in _raw(layout, f"{field}.{end}").items() if key not in SIZES}
        edits.append((f"{field}.{end}", kept | size))
    return edits


def _raw(layout: Layout, field: str) -> dict[str, FieldValue]:
    """What the spec says under a field, as it was typed."""
    top, _ = read(source_of(layout.spec.text, layout.spec.name))
    data = None if top is None else top.data
    for step in field.split("."):
        data = data[step] if isinstance(data, dict) else None
    return dict(data) if isinstance(data, dict) else {}


# ---------------------------------------------------------------------------------- against a finding


def mends(layout: Layout, finding: Finding) -> int | None:
    """Which belt another stock drive in its place may mend a finding, from the motor on; None where none could."""
    for which, belt in enumerate(layout.belts):
        if not placed_by_belt(layout, belt) or belt.idlers or belt.request.belt is None:
            continue
        if finding.rule == "belt-rating" and belt.name in finding.features:
            return which
        if finding.rule in ("overlap", "web") and own_slots(layout, finding) == belt.adjusted is not None:
            return which
    return None


def own_slots(layout: Layout, finding: Finding) -> str | None:
    """The mount whose own slots are too near each other, by a finding on two of its openings; else None."""
    owners = {opening.mount for opening in layout.openings if opening.name in finding.features}
    (owner,) = owners if len(owners) == 1 else (None,)
    return owner if owner is not None and layout.mounts[owner].take_up == "slots" else None


def stock_drives(layout: Layout, finding: Finding) -> Iterator[Advice]:
    """Advice to take another stock drive that carries the power, or whose belt asks for shorter slots (mm), best first.

    Belts of the same kind come first, then all others; one of each section, so that what is offered differs; with rims
    that hold what runs on them.
    """
    from platekit.drive.choosing import choose

    which = mends(layout, finding)
    if which is None or (finding.rule == "belt-rating" and finding.level == "note"):
        return
    belt = layout.belts[which]
    assert belt.request.belt is not None
    kind = _kind(belt.request.belt.section)
    alike = tuple(name for name in belts.section_names() if _kind(name) == kind)
    others = tuple(name for name in belts.section_names() if name not in alike)
    ranked: list[Choice] = []
    for sections in (alike, others):
        with suppress(DriveError, LookupFailed):
            asked = replace(drive_wanted(layout, which, room=MORE_ROOM, as_now=True), most_belts=MOST_BELTS)
            ranked += choose(replace(asked, sections=sections), RANKED).best
    most = math.inf
    slots_by_belt: tuple[Remedy, ...] = ()
    if finding.rule != "belt-rating":
        slots_by_belt = _by_the_belt(layout, belt)
        most = _longest_slots(layout, belt, finding) - SHORTER
        if slots_by_belt:
            said = f"let the belt give the slots of {belt.adjusted} their length (install: auto, tension: auto)"
            yield Advice(said, slots_by_belt)
    taken: set[str] = set()
    for choice in ranked:
        request = _request_with(belt, choice)
        section = choice.belt.section.name
        if section in taken or (after := try_out(request)) is None:
            continue
        slots = None if after.travel is None else after.travel.longest - after.travel.shortest
        if slots is None or slots > most or (after.smallest_pitch or 0.0) > after.small_pitch:
            continue
        taken.add(section)
        advice = _as_advice(layout, which, choice, request)
        yield replace(advice, remedies=(*advice.remedies, *slots_by_belt))
        if len(taken) == OFFERED:
            return


def _kind(section: str) -> str:
    """What sort of belt a section is: V-belts of all sorts run on pulleys that look alike and are bought alike."""
    family = belts.section(section).family
    return family if family in ("toothed", "ribbed") else "V"


def _longest_slots(layout: Layout, belt: PlacedBelt, finding: Finding) -> float:
    """How far the part that tightens a belt may travel in its slots before two of them are too near, mm."""
    mount = layout.mounts[belt.adjusted or ""]
    travel = mount.travel
    if not isinstance(travel, Straight):
        return math.inf
    spots = dict(zip(mount.hole_names, mount.points, strict=True))
    (ax, ay), (bx, by) = (spots.get(name, (mount.pose.x, mount.pose.y)) for name in finding.features[:2])
    along = abs((bx - ax) * travel.direction[0] + (by - ay) * travel.direction[1])
    across = abs((bx - ax) * travel.direction[1] - (by - ay) * travel.direction[0])
    # two slots of one length and direction: from round end to round end, seen across, this much lies along them
    apart = (finding.needed or 0.0) + sum(layout.opening(name).size for name in finding.features[:2]) / 2
    return along - math.sqrt(max(apart**2 - across**2, 0.0))


def _by_the_belt(layout: Layout, belt: PlacedBelt) -> tuple[Remedy, ...]:
    """The edits that leave the length of a belt's slots to the belt, where the spec gives it in figures."""
    field = f"mounts.{belt.adjusted}.take_up.slots"
    words = words_at(layout, field)
    ends = ("install", "tension")
    if words is None or all(getattr(words, end) == "auto" for end in ends):
        return ()
    return tuple(Remedy(f"{field}.{end}", "auto") for end in ends)


def _request_with(belt: PlacedBelt, choice: Choice) -> DriveRequest:
    from platekit.drive import Belt

    before = belt.request.belt
    assert before is not None
    size = choice.belt
    made = Belt(
        size.section.name,
        size.pitch_length,
        "pitch",
        choice.belts_needed or 1,
        size.ribs or max(choice.ribs_needed or 0, before.ribs if size.section.family == "ribbed" else 0),
        size.width or max(choice.width_needed or 0.0, before.width if size.section.toothed else 0.0),
    )

    ends = {
        end: replace(
            getattr(belt.request, end),
            pitch_diameter=None if stock.teeth else stock.pitch_diameter,
            effective_diameter=None,
            outside_diameter=None,
            teeth=stock.teeth or None,
        )
        for end, stock in (("driver", choice.driver), ("driven", choice.driven))
    }
    return replace(belt.request, belt=made, centres=None, **ends)


def _as_advice(layout: Layout, which: int, choice: Choice, request: DriveRequest) -> Advice:
    """A stock drive as advice, its rims as wide as what runs on them."""
    belt, made = layout.belts[which], request.belt
    assert made is not None
    edits = dict(choice_edits(layout, choice, which))
    needed = belt_width(made, min(choice.driver.pitch_diameter, choice.driven.pitch_diameter))
    for rim in () if needed is None else wider_rims(layout, belt, needed):
        # the pulley is written as a whole: its rim goes into that
        pulley, _, below = rim.field.partition(".span")
        words = edits[pulley]
        assert isinstance(words, dict)
        if below:
            seat = words["span"]
            assert isinstance(seat, dict)
            words["span"] = seat | {below.removeprefix("."): rim.value}
        else:
            words["span"] = rim.value
    said = f"take another stock drive: {_belt_words(made, choice)} on pulleys {choice.driver.label} and "
    said += f"{choice.driven.label}, with rims that hold it"
    return Advice(said, tuple(Remedy(field, value) for field, value in edits.items()))


def _belt_words(made: Belt, choice: Choice) -> str:
    if made.count > 1:
        return f"{made.count} belts {choice.belt.label} of section {made.section} side by side"
    return f"one belt {choice.belt.label} of section {made.section}"
