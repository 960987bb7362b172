"""Jacking screws: how long each must be for the travel of its part, and the space of screw, lock nut and lug.

A lug that is not welded on is a mount too, by the name of its part: so its screws, with hole, grip, reach and order,
are those of any mount.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import Loop, Lying, Straight, Upright, sweep
from platekit.laying.holes import Holes
from platekit.laying.lugs import along, angle_of, angle_solids, field_of, screw_pose
from platekit.laying.mounts import MountFrame
from platekit.laying.spans import z_range
from platekit.laying.welded import weld_leg, weld_solid
from platekit.placed import Body, JackingScrew, PlateLimits
from platekit.spec import Spec
from platekit.spec.models import MountWords, Pattern

CLEAR = 2.0
"""What the tip stands out past the weld of its lug with the part pushed back all the way, mm (ours)."""
LUG_WIDE = 3.0
"""A lug is so many times as wide as its screw, and reaches half of that above its axis (ours)."""


def jacking_screw(spec: Spec, frame: MountFrame) -> JackingScrew | None:
    """The jacking screw of a mount with its lock nut and lug (mm), None where the spec asks for none.

    Raises `SpecError` where no screw that is sold is long enough for the travel, or the part has none.
    """
    take_up = frame.mount.take_up
    straight = None if take_up is None else take_up.straight
    jack = None if straight is None else straight.jack
    if jack is None or take_up is None:
        return None
    field = field_of(frame)
    if not isinstance(frame.travel, Straight):
        wanted = "give it travel (install and tension, in mm or `auto`), or take the jack out"
        raise SpecError((spec.problem(field, f"a jacking screw for {frame.name}, which does not travel", wanted),))
    screw, travel = tables.screw(jack.size), frame.travel
    # A size without a listed nut takes one as high as its screw is thick, which no usual nut exceeds.
    nut = screw.nut_height or screw.diameter
    # The tip goes all of the travel, while the thread has to fill lug and lock nut at both ends of it: at the end of
    # tightening the head comes up against the lock nut, at the other end the tip still stands out past the lug's weld.
    leg = 0.0 if jack.lug is not None else weld_leg(spec.unit, spec.model.plate.thickness, jack.block)
    set_back = travel.install + CLEAR + leg
    needed = travel.tension + set_back + jack.block + nut
    length = next((one for one in sorted(screw.stock_lengths) if one >= needed), None)
    if length is None:
        longest = max(screw.stock_lengths, default=0.0)
        said = f"a jacking screw that has to be {needed:.1f} mm long, where {longest:g} mm is the longest sold"
        raise SpecError(
            (spec.problem(field, said, "take a larger one, a thinner lug (block), or a belt that needs less travel"),)
        )
    side, standoff = frame.mount.side, frame.mount.standoff
    above = jack.height + standoff
    angle, wide, high = None, LUG_WIDE * screw.diameter, above + LUG_WIDE * screw.diameter / 2
    if jack.lug is not None:
        angle, wide, high = angle_of(spec, frame.name, field, jack, above)
    flats = screw.hex_across_flats or 1.5 * screw.diameter
    return JackingScrew(
        size=screw.size,
        length=length,
        thread=needed,
        tip=frame.pose.point(jack.at),
        direction=travel.direction,
        z=z_range(side, (jack.height, jack.height), spec.model.plate.thickness, standoff)[0],
        above=above,
        head=screw.hex_head_height or screw.diameter,
        flats=flats,
        corners=screw.hex_across_corners or flats * 2 / math.sqrt(3),
        nut=nut,
        lug=(jack.block, wide, high),
        leg=leg,
        set_back=set_back,
        field=field,
        angle=angle,
    )


def jack_bodies(spec: Spec, frame: MountFrame, own: frozenset[str], limits: PlateLimits) -> Iterator[Body]:
    """The screw with its tip on the part, its head, lock nut and lug; `own` are the bodies that it may touch (mm).

    Raises `SpecError` as `jacking_screw` does.
    """
    jack = jacking_screw(spec, frame)
    if jack is None:
        return
    side, travel, fixed = frame.mount.side, frame.travel, "plate" if jack.angle is None else jack.angle.mount
    # the name tells what to buy, wherever the screw is shown
    shank, head, nut, lug = (
        f"{frame.name}.jack {jack.size} x {jack.length:g}",
        f"{frame.name}.jack head",
        f"{frame.name}.jack lock nut",
        f"{frame.name}.jack lug",
    )

    def body(name: str, solid: Lying, moves: bool, touches: frozenset[str]) -> Body:
        return Body(
            name=name,
            kind="standard",
            carrier=frame.name if moves else fixed,
            side=side,
            shape=solid.silhouette,
            swept=sweep(solid.silhouette, travel) if moves else solid.silhouette,
            z=(solid.low, solid.high),
            gap=limits.gap.value if moves else 0.0,
            relief=False,
            field=jack.field,
            travel=travel if moves else None,
            touches=touches,
            pieces=(solid,),
        )

    # It is threaded into its lug and pushes the part with its tip, so it moves as the part does and runs through the
    # lug at every position: each of the two may touch the other.
    along = Lying(jack.tip, jack.back(jack.length), tables.screw(jack.size).diameter / 2, jack.z)
    yield body(shank, along, True, frozenset({*own, head, nut, lug}))
    behind = Lying(jack.back(jack.length), jack.back(jack.length + jack.head), jack.corners / 2, jack.z)
    yield body(head, behind, True, frozenset({*own, shank, nut}))
    start, end = jack.locked
    yield body(
        nut, Lying(jack.back(start), jack.back(end), jack.corners / 2, jack.z), False, frozenset({shank, head, lug})
    )
    foot, thickness = lug_foot(jack), spec.model.plate.thickness
    if jack.angle is not None:
        pieces = angle_solids(jack, jack.angle, side, thickness)
        yield Body(
            name=lug,
            kind="standard",
            carrier=fixed,
            side=side,
            shape=foot,
            swept=foot,
            z=(min(one.low for one in pieces), max(one.high for one in pieces)),
            gap=0.0,
            relief=False,
            field=jack.field,
            touches=frozenset({shank, nut}),
            pieces=pieces,
        )
        return
    low, high = z_range(side, (0.0, jack.lug[2]), thickness)
    weld, covered = weld_solid(foot, jack.leg, side, thickness), foot.grown(jack.leg)
    yield Body(
        name=lug,
        kind="standard",
        carrier="plate",
        side=side,
        shape=covered,
        swept=covered,
        z=(min(low, weld.low), max(high, weld.high)),
        gap=0.0,
        relief=False,
        field=jack.field,
        touches=frozenset({shank, nut}),
        pieces=(Upright(foot, low, high), weld),
    )


def lug_foot(jack: JackingScrew) -> Loop:
    """Where a lug stands on the plate: so far back that with the part pushed home the tip is past its weld, mm."""
    thick, wide, _ = jack.lug
    deep = thick if jack.angle is None else jack.angle.foot
    return along(jack, jack.set_back, jack.set_back + deep, wide)


def lug_frames(spec: Spec, frames: dict[str, MountFrame]) -> dict[str, MountFrame]:
    """The lugs that are screwed to the plate, as mounts of their own: two screws through a foot (mm).

    Raises `SpecError` as `jacking_screw` does, and where a mount has the name of a lug.
    """
    found: dict[str, MountFrame] = {}
    for frame in frames.values():
        jack = jacking_screw(spec, frame)
        if jack is None or jack.angle is None:
            continue
        take_up = frame.mount.take_up
        words = None if take_up is None or take_up.straight is None else take_up.straight.jack
        assert words is not None
        assert words.lug is not None
        field, name = f"{jack.field}.lug.{words.lug.choice}", jack.angle.mount
        if name in frames:
            problem = spec.problem(
                field, f"a lug for {frame.name}", f"call the mount {name!r} otherwise: the lug is that"
            )
            raise SpecError((problem,))
        half = jack.angle.apart / 2
        points = ((0.0, -half), (0.0, half))
        screws = words.lug.angle.screws.model_copy(update={"flange": jack.lug[0]})
        mount = MountWords.model_construct(
            side=frame.mount.side, pattern=Pattern.model_construct(points=list(points)), screws=screws
        )
        pose = screw_pose(jack, jack.angle)
        found[name] = MountFrame(name, mount, None, Holes(points), pose, None, said=field, lug_of=frame.name)
    return found
