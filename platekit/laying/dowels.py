"""Dowel pins between the plate and a part from elsewhere, in holes that the part already has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.geometry import Disc, Point
from platekit.laying.mounts import MountFrame
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Body, Opening, PartDowels
from platekit.spec import Spec
from platekit.spec.models import PartDowelWords
from platekit.tables.dowels import DowelPin, dowel_pins

HAIR: Final = 0.005
"""A pin is drawn thinner than its hole by this much, mm (ours): so that it stands in it."""
FITS: Final = {"parallel": "F7", "spring": "H12"}
"""Zone of the plate's hole: F7 slides on a pin of m6 that is driven into the part (common practice: tight in one, free
in the other); H12 is the hole of a spring pin (ISO 8752)."""


def dowel_places(frame: MountFrame) -> tuple[tuple[str, Point], ...]:
    """The dowel holes of a part, by what the plate's are called, in the part's own frame (mm).

    Measured ones come first. A part that travels, or stands off the plate, has none: nothing would hold there.
    """
    words, survey, measured = frame.mount.dowels, frame.holes.survey, frame.mount.pattern.measured
    mount = frame.mount
    if mount.take_up is not None or mount.standoff or mount.packing is not None or mount.on is not None:
        return ()
    found: list[tuple[str, Point]] = []
    if measured is not None and survey is not None:
        found += [
            (f"{frame.name}.{name}", (survey.holes[name].x, survey.holes[name].y)) for name in measured.dowel_holes
        ]
    found += [
        (f"{frame.name}.dowel {number}", at) for number, at in enumerate(() if words is None else words.at, start=1)
    ]
    return tuple(found)


def part_dowels(spec: Spec, frame: MountFrame) -> PartDowels | None:
    """The pins of a part with the longest length in stock that stands out of neither (mm); None where it has none."""
    places, measured = dowel_places(frame), frame.mount.pattern.measured
    if not places:
        return None
    words = frame.mount.dowels or PartDowelWords()
    sizes: dict[str, float] = {}
    for name in () if measured is None else measured.dowel_holes:
        diameter = measured.holes[name].diameter if measured is not None else None
        if diameter is not None:
            sizes[f"{frame.name}.{name}"] = diameter
    own, other = ("metric", "inch") if spec.unit == "mm" else ("inch", "metric")
    sold = sold_as(own, words.pin)
    pins = (*dowel_pins(own, words.pin), *dowel_pins(other, words.pin))
    size = words.size
    if size is None:
        # holes wear wider: so of two pins equally near the thinner is meant
        first = min(sizes.values(), default=sold[0].diameter)
        size = min(sold, key=lambda one: (round(abs(one.diameter - first), 6), one.diameter)).diameter
    pin = next((one for one in pins if abs(one.diameter - size) <= SAME_LENGTH), None)
    fits: list[float] = []
    if words.depth is not None and pin is not None:
        fits = [one for one in pin.lengths if one <= spec.model.plate.thickness + words.depth + SAME_LENGTH]
    named = frame.mount.dowels is not None
    return PartDowels(
        size=size,
        pin=words.pin,
        names=tuple(name for name, _ in places),
        depth=words.depth,
        length=words.length or max(fits, default=None),
        lengths=() if pin is None else pin.lengths,
        springs_to=None if pin is None else pin.springs_to,
        measured=tuple(sizes.items()),
        together=words.together,
        source="" if pin is None else str(pin.source),
        field=f"{frame.field}.dowels" if named else f"{frame.field}.pattern.measured.holes",
    )


def dowel_openings(spec: Spec, frame: MountFrame) -> Iterator[Opening]:
    """The plate's holes over a part's dowel holes (plate frame, mm)."""
    pins = part_dowels(spec, frame)
    if pins is None:
        return
    for name, place in dowel_places(frame):
        center = frame.pose.point(place)
        shape = Disc(center, pins.size / 2)
        yield Opening(name, "dowel", shape, center, pins.size, pins.field, mount=frame.name, fit=FITS[pins.pin])


def dowel_bodies(spec: Spec, frame: MountFrame) -> Iterator[Body]:
    """The pins as they stand in the part and through the plate, flush with its free face (plate frame, mm)."""
    pins = part_dowels(spec, frame)
    if pins is None:
        return
    thick, side = spec.model.plate.thickness, frame.mount.side
    into = pins.depth or pins.size
    if pins.length is not None:
        into = max(pins.length - thick, 0.0)
    for name, place in dowel_places(frame):
        shape = Disc(frame.pose.point(place), pins.size / 2 - HAIR)
        yield Body(
            name=f"{name}.pin",
            kind="standard",
            carrier=frame.name,
            side=side,
            shape=shape,
            swept=shape,
            z=z_range(side, (-thick, into), thick, 0.0),
            gap=0.0,
            relief=False,
            field=pins.field,
        )


def sold_as(system: str, pin: str) -> tuple[DowelPin, ...]:
    """The pins of a kind in a system of sizes, of the other one where there are none in it; mm."""
    return dowel_pins(system, pin) or dowel_pins("inch" if system == "metric" else "metric", pin)
