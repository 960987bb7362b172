"""Spacers that hold a part off the plate: the tube or bar in stock that they are cut from, and what presses on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from platekit import tables
from platekit.errors import LookupFailed, SpecError
from platekit.laying.limits import DEFAULT_GAP
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import pilot_of
from platekit.placed import SAME_LENGTH, Spacer
from platekit.spec import Spec
from platekit.spec.spacer_words import SpacerWords
from platekit.tables.shop import shop_figure
from platekit.tables.spacers import MadeFrom, SpacerStock, general_deviation, spacer_stock
from platekit.tables.torques import USUAL_CLASS
from platekit.units import show_length

SHORTEST = shop_figure("spacer, shortest that is sawn off tube or bar")
"""Shorter ones are packed of plate, mm (`shop_figures.csv`)."""
LONGEST = shop_figure("spacer, length in its diameters")
"""A spacer longer than so many of its diameters leans (`shop_figures.csv`)."""
OVER_SCREW = shop_figure("spacer, bore over the screw, least")
"""Least room of a screw in a bore, mm (`shop_figures.csv`)."""
OVER_LOOSE = shop_figure("spacer, bore over the loose hole, most")
"""A bore wider than the loose clearance hole by more lets a spacer sit aside, mm (`shop_figures.csv`)."""


def spacer_of(spec: Spec, frame: MountFrame, size: str, count: int, plate: tables.Material) -> Spacer | None:
    """What the spacers round screws of a size are cut from (mm); None for none, or for those packed of plate.

    They keep the plate's `gap` from the part's own pilot, which stands between them. Raises `SpecError` for
    words that no spacer answers to.
    """
    mount, said = frame.mount, frame.mount.spacers
    field = f"{frame.field}.spacers"
    long = mount.standoff - spec.lifts.get(frame.name, 0.0)
    if long <= SAME_LENGTH:
        if said is not None and said != SpacerWords():
            raise SpecError((spec.problem(field, "spacers of no length", "give the standoff that they keep"),))
        return None
    words = said or SpacerWords()
    packed = words.from_ == "auto" and words.outside is None and (long < SHORTEST or mount.packing is not None)
    if words.from_ == "plate" or packed:
        return None
    try:
        material = tables.material(words.material)
    except LookupFailed as error:
        raise SpecError((spec.problem(f"{field}.material", words.material, str(error)),)) from error
    screw = tables.screw(size)
    hole = frame.hole or screw.clearance["normal"]
    slotted = frame.hole_travel is not None
    try:
        preload = tables.torque(size, USUAL_CLASS[screw.system]).preload
    except LookupFailed:
        preload = 0.0  # no strength is listed: what presses on it is not known

    def made(stock: SpacerStock) -> Spacer:
        bore = words.bore or stock.bore or screw.clearance["normal"]
        return Spacer(
            made=stock.made,
            outside=stock.outside,
            bore=bore,
            length=long,
            plus_minus=general_deviation(long),
            count=count,
            material=material,
            bears=bearing_area(stock.outside, max(bore, 0.0), hole, slotted),
            preload=preload,
            yields=min(plate.yield_strength, material.yield_strength),
            screw=screw.diameter,
            source=stock.source.name if words.bore is None or stock.bore == words.bore else "spec",
            field=field,
        )

    stock = list(_stock(words, screw.system))
    # As wide as a washer: so much of a flange is made for being pressed on
    wide = screw.washer_outer or 2 * screw.diameter
    # Where the part's own pilot stands nearer to its screws than that, a shop turns them narrower.
    room = _room_beside_pilot(spec, frame)
    least = max(min(wide, room), long / LONGEST)
    most = screw.clearance["loose"] + OVER_LOOSE
    fits = [
        one
        for one in map(made, stock)
        if screw.diameter + OVER_SCREW - SAME_LENGTH <= one.bore <= most + SAME_LENGTH and one.bore < one.outside
    ]
    if words.outside is not None:
        # of one outside the thinnest wall that bears the pull, else the thickest
        held = next((one for one in fits if one.pressure <= one.yields), fits[-1] if fits else None)
        return held or _own(spec, words, field, stock, made)
    sound = [one for one in fits if one.outside >= least - SAME_LENGTH and one.pressure <= one.yields]
    if room < wide:
        beside = [one for one in fits if one.outside <= room + SAME_LENGTH]
        sound = [one for one in sound if one in beside] or beside[-1:] or sound
    # where none is sound the widest, whose finding then says by how much it is not
    found = next(iter(sound), None) or max(fits, key=lambda one: (one.outside, one.made == "bar"), default=None)
    if found is None:
        wanted = f"the stock list has none for {size}; give `outside` and `bore`"
        raise SpecError((spec.problem(field, f"a {words.from_} for spacers", wanted),))
    return found


def _room_beside_pilot(spec: Spec, frame: MountFrame) -> float:
    """How wide spacers may be beside the part's own pilot (mm); without one no width is too much."""
    pilot = pilot_of(frame)
    if pilot is None or pilot.carries_screws or pilot.enters == 0:
        return math.inf
    gap = DEFAULT_GAP if spec.model.limits.gap is None else spec.model.limits.gap
    nearest = min((math.hypot(x, y) for x, y in frame.own_points), default=math.inf)
    return 2 * (nearest - pilot.diameter / 2 - gap)


def _stock(words: SpacerWords, system: str) -> Iterator[SpacerStock]:
    """What the stock list has of what the words allow, the narrowest and thinnest first, tube before bar.

    Of inch sizes for inch screws: the same plate takes the same spacers in whatever unit its spec is typed.
    """
    for one in spacer_stock(system):
        if words.from_ not in ("auto", one.made):
            continue
        if words.outside is not None and abs(one.outside - words.outside) > SAME_LENGTH:
            continue
        if words.bore is not None and one.bore is not None and abs(one.bore - words.bore) > SAME_LENGTH:
            continue
        yield one


def _own(
    spec: Spec, words: SpacerWords, field: str, stock: list[SpacerStock], made: Callable[[SpacerStock], Spacer]
) -> Spacer:
    """A spacer of diameters that the spec gives and no stock list has, or that does not go over its screw."""
    assert words.outside is not None
    if words.bore is not None or words.from_ != "tube":
        kind: MadeFrom = "tube" if words.from_ == "tube" else "bar"
        return made(SpacerStock(kind, words.outside, None, tables.Source("spec", "common practice")))
    bores = ", ".join(show_length(one.bore, spec.unit) for one in stock if one.bore is not None)
    wanted = (
        f"give its `bore`; in stock are {bores}" if bores else "give its `bore` too: the stock list has none so wide"
    )
    raise SpecError((spec.problem(f"{field}.outside", show_length(words.outside, spec.unit), wanted),))


def bearing_area(outside: float, bore: float, hole: float, slotted: bool) -> float:
    """Where a spacer presses on steel round its hole, or beside its slot, mm2; diameters and slot width in mm.

    >>> round(bearing_area(16, 10, 9, False), 2)
    122.52
    """
    if not slotted:
        return max(math.pi / 4 * (outside**2 - max(bore, hole) ** 2), 0.0)
    return max(_beside(outside, hole) - _beside(bore, hole), 0.0)


def _beside(diameter: float, slot: float) -> float:
    """What of a disc lies beside a slot through its middle (mm, mm2): two segments."""
    if diameter <= slot:
        return 0.0
    angle = 2 * math.acos(slot / diameter)
    return (diameter / 2) ** 2 * (angle - math.sin(angle))
