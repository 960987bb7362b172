"""A mount where it goes, as the value that the later rooms go by: what they need of its words is settled here."""

from __future__ import annotations

from typing import cast

from platekit.errors import SpecError
from platekit.geometry import Pose
from platekit.laying.dowels import part_dowels
from platekit.laying.jacks import jacking_screw
from platekit.laying.layers import layer_of
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import pilot_of
from platekit.laying.screws import HoleWanted
from platekit.laying.shapes import shape_of
from platekit.placed import CarriedMass, PatternKind, PlacedMount, ScrewStack, TakeUpKind
from platekit.spec import Spec
from platekit.spec.models import BeltPlace, Polar
from platekit.tables.motor_frames import motor_mass


def placed_mount(spec: Spec, frame: MountFrame, hole: HoleWanted, stack: ScrewStack | None) -> PlacedMount:
    """One mount with what holds it."""
    words, standard, pilot = frame.mount, frame.standard, pilot_of(frame)
    pattern = words.pattern
    circle = standard.bolt_circle if standard is not None else None
    sides = (standard.width, standard.height) if standard is not None else (None, None)
    if pattern.circle is not None:
        circle = pattern.circle.diameter
    if pattern.rectangle is not None:
        sides = (pattern.rectangle.width, pattern.rectangle.height)
    width, height = sides
    pad = None
    if frame.mount.pad is not None:  # turned and mirrored as the mount is, but its zero stays at the hole's centre
        turned = Pose(0.0, 0.0, frame.pose.turn, frame.pose.mirrored)
        pad = shape_of(spec, frame.mount.pad, f"{frame.field}.pad").moved(turned)
    place_from = words.at.from_ if isinstance(words.at, Polar) else None
    if isinstance(words.at, BeltPlace):
        place_from = words.at.belt.from_
    return PlacedMount(
        name=frame.name,
        side=words.side,
        pose=frame.pose,
        own_points=frame.own_points,
        points=frame.points,
        hole=hole.diameter,
        standoff=words.standoff,
        travel=frame.travel,
        stack=stack,
        standard=standard,
        pilot=None if pilot is None else pilot.diameter,
        pilot_depth=0.0 if pilot is None else pilot.depth,
        field=frame.field,
        labels=frame.labels,
        new_holes=tuple(f"{frame.name}.{name}" for name in dict.fromkeys(words.new_holes)),
        original=words.original,
        pattern=cast(PatternKind, pattern.choice),
        hole_field=f"{frame.field}.pattern.{pattern.hole_said[1]}",
        hole_given=frame.hole is not None,
        bolt_circle=circle,
        rectangle=None if width is None or height is None else (width, height),
        pad=pad,
        pilot_opening=None if words.pilot is None else words.pilot.opening,
        take_up=None if words.take_up is None else cast(TakeUpKind, words.take_up.choice),
        place_from=place_from,
        belt_angle=words.at.belt.angle if isinstance(words.at, BeltPlace) else None,
        mass=_carried(spec, frame),
        support=words.support,
        survey=frame.holes.survey,
        jack=jacking_screw(spec, frame),
        layer=None if frame.lug_of is not None else layer_of(spec, frame.name),
        on=words.on,
        heads_on=words.heads_on,
        lift=spec.lifts.get(frame.name, 0.0),
        lug_of=frame.lug_of,
        dowels=part_dowels(spec, frame),
    )


def _carried(spec: Spec, frame: MountFrame) -> CarriedMass | None:
    """What a mount weighs, if the spec says so; `frame` is looked up. Raises SpecError where no table tells it."""
    words = frame.mount.mass
    if words is None:
        return None
    by_frame = isinstance(words.total, str)
    if isinstance(words.total, str):
        found = None if frame.standard is None else motor_mass(frame.standard)
        if found is None:
            what = "no standard" if frame.standard is None else frame.standard.designation
            raise SpecError(
                (
                    spec.problem(
                        f"{frame.field}.mass.total",
                        f"`frame` for {what}, of which no table tells what its motors weigh",
                        "give the mass from its rating plate or data sheet, as 14 kg",
                    ),
                )
            )
        least, most = found.least, found.most
    else:
        least, most = words.total
    return CarriedMass(least, most, words.centre, words.size, words.turning, words.balance, by_frame)
