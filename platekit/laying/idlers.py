"""Idlers in their belt's plane: where each is, given or found from the wrap that is wanted, and how far it travels.

The wheels of a belt are named in its order: driven pulley, idlers, driver. All is in the belt's own plane, which for
shafts that lie along the plate stands square to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from platekit.drive.route import Wheel, lengthens, run_length, wrapping_idler
from platekit.drive.take_up import REACHES, LengthRange, until
from platekit.errors import SpecError
from platekit.geometry import Plane, Point, Pose, Straight, Swing, Travel, pose_at
from platekit.laying.located import located
from platekit.laying.spans import z_range
from platekit.spec import Spec
from platekit.spec.drive_words import IdlerWords, Stage, WrapPlace
from platekit.spec.take_up_words import Hinge, Slots, SwingTakeUp

FARTHEST_SWING = math.radians(120)
"""An arm that has not tightened the belt after so much turning never will (ours)."""

Poses = Callable[[str], Pose | None]
"""Where a mount lies; None where that is not known yet."""


def idler_field(field: str, index: int) -> str:
    """Where an idler stands in the spec, counted from 0."""
    return f"{field}.idlers.{index}"


def idler_wheels(
    spec: Spec, stage: Stage, field: str, plane: Plane, poses: Poses, driven: Wheel, driver: Wheel
) -> tuple[Wheel, ...] | None:
    """The idlers of a belt whose pulleys are here; None where one is on a mount whose place is not known yet (mm).

    Raises `SpecError` for an idler that its words do not place.
    """
    wheels: list[Wheel] = []
    for index, idler in enumerate(stage.idlers):
        at = idler_field(field, index)
        if isinstance(idler.at, WrapPlace):
            wheels.append(_by_wrap(spec, stage, at, idler, plane, driven, driver))
            continue
        pose = Pose() if idler.on not in spec.model.mounts else poses(idler.on)
        if pose is None:
            return None
        (x, y), _ = given_center(spec, idler, at, plane, pose)
        wheels.append(Wheel(x, y, idler.diameter, idler.inside))
    return tuple(wheels)


def given_center(spec: Spec, idler: IdlerWords, field: str, plane: Plane, pose: Pose) -> tuple[Point, float]:
    """The middle of an idler that has a place of its own: in its belt's plane, and how far along the shafts (mm)."""
    at = (0.0, 0.0) if isinstance(idler.at, WrapPlace) else idler.at
    x, y = pose.point(at)
    if not plane.lies:
        if idler.height is not None:
            wanted = "leave it out: the shafts of this belt stand square to the plate, and `span` says how high it is"
            raise SpecError((spec.problem(f"{field}.height", "a height of an idler's axis", wanted),))
        return (x, y), 0.0
    mount = spec.model.mounts.get(idler.on)
    if mount is None:
        wanted = "give the bracket that holds it a pattern of its own under `mounts`, and put the idler on that"
        raise SpecError(
            (spec.problem(f"{field}.on", "an idler on the plate, beside shafts that lie along it", wanted),)
        )
    if idler.height is None and not isinstance(idler.at, WrapPlace):
        wanted = f"say how high its axis is above the mating face of {idler.on} (`height`)"
        raise SpecError((spec.problem(f"{field}.height", "nothing", wanted),))
    height = idler.height or 0.0
    z = z_range(mount.side, (height, height), spec.model.plate.thickness, mount.standoff)[0]
    return plane.flat((x, y, z))


def _by_wrap(
    spec: Spec, stage: Stage, field: str, idler: IdlerWords, plane: Plane, driven: Wheel, driver: Wheel
) -> Wheel:
    """The idler that gives a pulley the wrap that is wanted."""
    assert isinstance(idler.at, WrapPlace)
    told = idler.at.wrap
    if len(stage.idlers) > 1:
        wanted = "give each its [x, y]: only one idler of a belt follows from a wrap"
        raise SpecError((spec.problem(f"{field}.at.wrap", f"a wrap with {len(stage.idlers)} idlers", wanted),))
    if idler.on not in spec.model.mounts and plane.lies:
        # Only for what it refuses: an idler on the plate beside shafts that lie along it has nothing to hold it.
        given_center(spec, idler, field, plane, Pose())
    if (told.run in ("upper", "lower")) != plane.lies:
        ways = "upper or lower" if plane.lies else "left or right, looking from the driven pulley to the driver"
        raise SpecError((spec.problem(f"{field}.at.wrap.run", told.run, f"say {ways}"),))
    # Upper and lower are seen with the plate below: which of them is the left run depends on which shaft is farther
    # along.
    left = told.run == "left" or ((told.run == "upper") == (driver.x >= driven.x) and plane.lies)
    here, there = (driver, driven) if told.pulley == "driver" else (driven, driver)
    # counter-clockwise, the run on the left comes from the driver, seen from the driven pulley
    leaves = left == (told.pulley == "driver")
    return located(
        spec,
        f"{field}.at.wrap.angle",
        lambda: wrapping_idler(here, there, told.angle, told.free, idler.diameter, idler.inside, leaves),
    )


# --------------------------------------------------------------------------------------------- travel


def travel_over_idlers(
    length: Callable[[float], float], needed: LengthRange, farthest: float
) -> tuple[float | None, float | None]:
    """How far to travel to put the belt on, and to take up its stretch; `length(s)` is its way round at position s.

    None where that travel never gets there. In the unit of `farthest`.
    """
    # To put it on, the way round has to get as short as the shortest belt of that size while it is slipped over a rim.
    install = until(length, needed.shortest, -farthest)
    return None if install is None else 0.0 - install, until(length, needed.longest, farthest)


def own_travel(
    spec: Spec, idler: IdlerWords, field: str, wheels: Sequence[Wheel], index: int, needed: LengthRange | None
) -> Travel:
    """The travel of an idler on the plate; `index` is its place among the wheels of the belt; mm or rad.

    `needed` is None for a belt without a length. Raises `SpecError` where a travel that is left to the belt never
    tightens it.
    """
    take_up = idler.take_up
    if take_up is None:
        return None
    wheel = wheels[index]

    def length(travel: Travel) -> Callable[[float], float]:
        def at(s: float) -> float:
            x, y = pose_at(travel, s).point((wheel.x, wheel.y))
            return run_length([*wheels[:index], Wheel(x, y, wheel.diameter, wheel.inside), *wheels[index + 1 :]])

        return at

    if take_up.slots is not None:
        slots, kind = take_up.slots, f"{field}.take_up.slots"
        way = slot_way(spec, slots, kind, wheels, index)
        farthest = sum(math.dist((a.x, a.y), (b.x, b.y)) for a, b in pairwise(wheels))
        install, tension = travel_ends(spec, slots, kind, length(Straight(way, 0.0, 0.0)), needed, farthest)
        return Straight(way, install, tension) if install + tension > 0 else None
    assert take_up.swing is not None
    swing, kind = take_up.swing, f"{field}.take_up.swing"
    # The travel has no ends yet: they follow from the belt's way round as the arm turns from where it is.
    turning = Swing(swing.about, 0.0, 0.0, 1 if swing.tightens == "counter-clockwise" else -1)
    install, tension = travel_ends(spec, swing, kind, length(turning), needed, FARTHEST_SWING)
    return Swing(swing.about, install, tension, turning.sense) if install + tension > 0 else None


def slot_way(spec: Spec, slots: Slots, field: str, wheels: Sequence[Wheel], index: int) -> Point:
    """The direction in the belt's plane in which slots tighten it: given, or the one that bends it most.

    A direction without unit, from an angle in rad.
    """
    if slots.along == "belt":
        return located(spec, f"{field}.along", lambda: lengthens(wheels, index))
    return (math.cos(slots.along), math.sin(slots.along))


def travel_ends(
    spec: Spec,
    told: Slots | SwingTakeUp | Hinge,
    field: str,
    length: Callable[[float], float],
    needed: LengthRange | None,
    farthest: float,
) -> tuple[float, float]:
    """Install and tension travel, those left to the belt worked out from its way round at each position.

    In mm, of a swing rad.
    """
    install, tension = told.install, told.tension
    if "auto" in (install, tension):
        assert needed is not None
        # Both ends are asked for at once although one may be given: what cannot be reached is told of the one that was
        # asked.
        found = travel_over_idlers(length, needed, farthest)
        if install == "auto":
            install = _reached(spec, f"{field}.install", found[0], needed.shortest, _extreme(length, -farthest))
        if tension == "auto":
            tension = _reached(spec, f"{field}.tension", found[1], needed.longest, _extreme(length, farthest))
    assert install != "auto"
    assert tension != "auto"
    return install, tension


def _extreme(length: Callable[[float], float], farthest: float) -> float:
    """The shortest way round on the way to install, the longest on the way to tighten, mm."""
    found = [length(farthest * step / REACHES) for step in range(REACHES + 1)]
    return max(found) if farthest > 0 else min(found)


def _reached(spec: Spec, field: str, found: float | None, wanted: float, end: float) -> float:
    """What was found; `SpecError` with what the way round gets to where it never is as short or long as wanted."""
    if found is None:
        longer = end < wanted
        way = "long" if longer else "short"
        said = f"a travel that never makes the belt's way round as {way} as {wanted:.1f} mm, only {end:.1f} mm"
        advice = "set the idler deeper into the belt, so that letting it go gives more slack"
        if longer:
            advice = (
                "turn it the way that tightens, let an idler run inside and push outwards, or move the motor instead"
            )
        raise SpecError((spec.problem(field, said, advice),))
    return found
