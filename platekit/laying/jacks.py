"""Jacking screws: how long each must be for the travel of its part, and the space that screw and block take up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import Lying, Point, Straight, rectangle, sweep
from platekit.laying.mounts import MountFrame
from platekit.laying.spans import z_range
from platekit.placed import Body, PlateLimits
from platekit.spec import Spec

CLEAR = 2.0
"""What the tip stands out of its block with the part pushed back all the way, mm (ours)."""
BLOCK_WIDE = 3.0
"""A block is so many times as wide as its screw, and reaches half of that above its axis (ours)."""


def jack_bodies(spec: Spec, frame: MountFrame, own: frozenset[str], limits: PlateLimits) -> Iterator[Body]:
    """The screw, its tip on the part, and the block behind it; `own` are the bodies of the part, which it pushes (mm).

    Raises `SpecError` where no screw that is sold is long enough for the travel, or the part has none.
    """
    take_up = frame.mount.take_up
    straight = None if take_up is None else take_up.straight
    jack = None if straight is None else straight.jack
    if jack is None or take_up is None:
        return
    field = f"{frame.field}.take_up.{take_up.choice}.jack"
    if not isinstance(frame.travel, Straight):
        wanted = "give it travel (install and tension, in mm or `auto`), or take the jack out"
        raise SpecError((spec.problem(field, f"a jacking screw for {frame.name}, which does not travel", wanted),))
    screw, travel = tables.screw(jack.size), frame.travel
    # The tip goes all of the travel while the thread has to fill the block at both ends of it.
    needed = travel.install + travel.tension + CLEAR + jack.block
    length = next((one for one in sorted(screw.stock_lengths) if one >= needed), None)
    if length is None:
        longest = max(screw.stock_lengths, default=0.0)
        said = f"a jacking screw that has to be {needed:.1f} mm long, where {longest:g} mm is the longest sold"
        raise SpecError(
            (spec.problem(field, said, "take a larger one, a thinner block, or a belt that needs less travel"),)
        )
    (ux, uy), tip = travel.direction, frame.pose.point(jack.at)
    side, thickness = frame.mount.side, spec.model.plate.thickness
    z = z_range(side, (jack.height, jack.height), thickness, frame.mount.standoff)[0]

    def back(by: float) -> Point:
        return (tip[0] - by * ux, tip[1] - by * uy)

    head = screw.hex_head_height or screw.diameter
    # It is threaded into its block and pushes the part with its tip, so it moves as the part does and runs through the
    # block at every position: each of the two may touch the other.
    still = Lying(tip, back(length + head), screw.diameter / 2, z)
    # the name tells what to buy, wherever the screw is shown
    names = (f"{frame.name}.jack {screw.size} x {length:g}", f"{frame.name}.jack block")
    yield Body(
        name=names[0],
        kind="standard",
        carrier=frame.name,
        side=side,
        shape=still.silhouette,
        swept=sweep(still.silhouette, frame.travel),
        z=(still.low, still.high),
        gap=limits.gap.value,
        relief=False,
        field=field,
        travel=frame.travel,
        touches=frozenset({*own, names[1]}),
        pieces=(still,),
    )
    # So far back that the tip still stands out of the block with the part pushed home for putting the belt on.
    middle = back(travel.install + CLEAR + jack.block / 2)
    half = BLOCK_WIDE * screw.diameter / 2
    shape = rectangle(jack.block, 2 * half, center=middle, turn=math.atan2(uy, ux))
    yield Body(
        name=names[1],
        kind="standard",
        carrier="plate",
        side=side,
        shape=shape,
        swept=shape,
        z=z_range(side, (0.0, jack.height + frame.mount.standoff + half), thickness),
        gap=0.0,
        relief=False,
        field=field,
        touches=frozenset({names[0]}),
    )
