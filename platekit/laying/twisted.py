"""A belt that is meant to be twisted: what its shafts must be, and what cannot be had of it.

Every way round that is worked out here lies in one plane. The way of a twisted belt does not, so that neither its
length nor anything that follows from that is worked out: what asks for it is refused, the rest is said
not to be checked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.errors import Problem, SpecError
from platekit.laying.axes import angle_between, lying_shaft, own_axis, turned_pose
from platekit.placed import Twisted
from platekit.spec import Spec
from platekit.spec.drive_words import Stage
from platekit.spec.models import BeltPlace, FindPlace
from platekit.tables import belts

BY_HAND = "nothing of a belt over crossed shafts is worked out"


def is_twisted(stage: Stage) -> bool:
    """Whether the spec says that this belt is meant to be twisted."""
    return stage.shafts == "crossed"


def twisted_belt(spec: Spec, stage: Stage, field: str, section: str) -> Twisted:
    """A belt over crossed shafts, with the angle between them (rad).

    Raises `SpecError` for shafts that are parallel or not told, and for all that would have to follow from the belt.
    """
    angle = _angle(spec, stage, field)
    bears = math.atan(belts.family_figures(belts.section(section).family).misalignment)
    if angle <= bears:
        found = f"`crossed`, of shafts that are {math.degrees(angle):.2f} degrees out of parallel"
        wanted = (
            "leave it out: the belt runs in one plane; or mend the `turn` or the `shaft` of the mount that lies wrong"
        )
        raise SpecError((spec.problem(f"{field}.shafts", found, wanted),))
    problems = tuple(_asked_of_it(spec, stage, field))
    if problems:
        raise SpecError(problems)
    return Twisted(field.rpartition(".")[2], stage.driver.on, stage.driven.on, angle, field, section)


def _angle(spec: Spec, stage: Stage, field: str) -> float:
    """The angle between the two shafts, rad, 0 to a quarter turn."""
    ways: list[float | None] = []
    for end, pulley in (("driver", stage.driver), ("driven", stage.driven)):
        mount = spec.model.mounts[pulley.on]
        own = own_axis(spec, pulley, f"{field}.{end}")
        along = lying_shaft(spec, pulley.on) if own is None else own.along
        # A standard face has its shaft square to it, and so has a part with a round body about the pulley's middle. Of
        # any other part nothing is assumed: the angle is what all of this hangs on.
        round_about = any(
            body.carried_by == pulley.on
            and (body.steps is not None or (body.shape is not None and body.shape.circle is not None))
            for body in spec.model.bodies.values()
        )
        if own is None and along is None and mount.pattern.standard is None and not round_about:
            found = f"`crossed`, and nothing tells how the shaft of {pulley.on} lies"
            wanted = f"tell it: mounts.{pulley.on}.shaft: {{at: [x, y], height: ..., along: square or an angle, ...}}"
            raise SpecError((spec.problem(f"{field}.shafts", found, wanted),))
        ways.append(None if along is None else turned_pose(mount).angle(along))
    one, other = ways
    if one is None or other is None:  # square to the plate: all that lies along it is at a right angle to that
        return 0.0 if one is other else math.pi / 2
    return angle_between(one, other)


def _asked_of_it(spec: Spec, stage: Stage, field: str) -> Iterator[Problem]:
    """All that would have to be worked out from the twisted belt."""
    if stage.belt.choose:
        yield spec.problem(f"{field}.belt.choose", "a length to be chosen", f"name the belt: {BY_HAND}")
    if stage.idlers:
        yield spec.problem(f"{field}.idlers", "idlers", f"describe each as a body, by its mount's frame: {BY_HAND}")
    for key in ("guard", "second_guard"):
        if getattr(spec.model, key) is not None:
            yield spec.problem(key, "a guard over a twisted belt", f"leave it out and make it by the parts: {BY_HAND}")
    for name in (stage.driver.on, stage.driven.on):
        mount, place = spec.model.mounts[name], f"mounts.{name}"
        by_belt = isinstance(mount.at, BeltPlace) or (
            isinstance(mount.at, FindPlace) and mount.at.find.belt is not None
        )
        if by_belt:
            yield spec.problem(f"{place}.at", "a place by a twisted belt", f"give [x, y], as measured: {BY_HAND}")
        if mount.take_up is None:
            continue
        kind = mount.take_up.choice
        if mount.take_up.hinge is not None:
            yield spec.problem(f"{place}.take_up.hinge", "a hinge for a twisted belt", f"use slots or rails: {BY_HAND}")
            continue
        words = mount.take_up.straight or mount.take_up.swing
        for key in ("along", "install", "tension"):
            told = getattr(words, key, None)
            if told in ("auto", "belt"):
                wanted = f"give {'a direction' if key == 'along' else 'how far'}: {BY_HAND}"
                yield spec.problem(f"{place}.take_up.{kind}.{key}", f"`{told}`, of a twisted belt", wanted)
