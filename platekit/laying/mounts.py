"""Where the mounts go: patterns in their own frame, poses with the mirror settled, travel."""

from __future__ import annotations

import math
from dataclasses import dataclass

from platekit import tables
from platekit.errors import Problem, SpecError
from platekit.geometry import (
    Disc,
    Point,
    Pose,
    Shape,
    Straight,
    Swing,
    Travel,
    circle_points,
    even_angles,
    mirrored_matches,
    rectangle_points,
)
from platekit.laying.shapes import shape_of
from platekit.spec import Spec
from platekit.spec import models as words

SYMMETRY_TOLERANCE = 0.01
"""Two places closer than this count as the same when a pattern is compared with its mirror image, mm (ours)."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A mount's pattern in its own frame and the pose that brings it onto the plate."""

    name: str
    mount: words.Mount
    standard: tables.StandardMount | None
    own_points: tuple[Point, ...]
    hole: float | None
    pose: Pose
    travel: Travel | None

    @property
    def field(self) -> str:
        """Where it stands in the spec."""
        return f"mounts.{self.name}"

    @property
    def points(self) -> tuple[Point, ...]:
        """Hole centres in the plate frame."""
        return tuple(self.pose.point(point) for point in self.own_points)


def place_mounts(spec: Spec) -> dict[str, Frame]:
    """Every mount of the spec with its pose; raises `SpecError` with all that is wrong about them."""
    problems: list[Problem] = []
    frames: dict[str, Frame] = {}
    for name, mount in spec.model.mounts.items():
        standard = None if mount.pattern.standard is None else tables.mount(mount.pattern.standard)
        points, hole = pattern_of(mount.pattern, standard)
        problems += _unsettled_mirror(spec, name, mount, points)
        pose = Pose(*position(spec, name), mount.turn, shows_its_back(mount))
        frames[name] = Frame(name, mount, standard, points, hole, pose, travel_of(mount.take_up))
    if problems:
        raise SpecError(tuple(problems))
    return frames


def pattern_of(pattern: words.Pattern, standard: tables.StandardMount | None) -> tuple[tuple[Point, ...], float | None]:
    """Hole centres in the mount's own frame, and the hole's diameter if the spec gives it (mm)."""
    if standard is not None:
        return standard.points, pattern.hole
    if pattern.circle is not None:
        circle = pattern.circle
        angles = circle.angles or even_angles(circle.count or 0, circle.start or 0.0)
        return circle_points(circle.diameter, angles), circle.hole
    if pattern.rectangle is not None:
        return rectangle_points(pattern.rectangle.width, pattern.rectangle.height), pattern.rectangle.hole
    return tuple(pattern.points or ()), pattern.hole


def shows_its_back(mount: words.Mount) -> bool:
    """Whether the pattern as written is mirrored on the plate.

    Someone who looks at the plate's near side sees the back of a part that is on the near side, and the face of one
    on the far side; a pattern written the other way is mirrored. Standards are drawn looking at the face.
    """
    seen = "back" if mount.side == "near" else "face"
    return (mount.looking_at or "face") != seen


def position(spec: Spec, name: str) -> Point:
    """The mount's zero on the plate (mm), following `from` to the mounts that it is measured from."""
    at = spec.model.mounts[name].at
    if isinstance(at, words.Polar):
        x, y = position(spec, at.from_)
        return (x + at.distance * math.cos(at.angle), y + at.distance * math.sin(at.angle))
    return at


def travel_of(take_up: words.TakeUp | None) -> Travel | None:
    """The take-up as travel; None when the mount stays where it is."""
    if take_up is None:
        return None
    if take_up.slots is not None:
        slots = take_up.slots
        if slots.install == slots.tension == 0:
            return None
        direction = (math.cos(slots.along), math.sin(slots.along))
        return Straight(direction, slots.install, slots.tension)
    swing = take_up.swing
    assert swing is not None
    if swing.install == swing.tension == 0:
        return None
    sense = 1 if swing.tightens == "counter-clockwise" else -1
    return Swing(swing.about, swing.install, swing.tension, sense)


def _unsettled_mirror(spec: Spec, name: str, mount: words.Mount, points: tuple[Point, ...]) -> list[Problem]:
    if mount.pattern.standard is not None:
        if mount.looking_at == "back":
            wanted = "a standard is drawn looking at the face; leave looking_at out"
            return [spec.problem(f"mounts.{name}.looking_at", "back", wanted)]
        return []
    if mount.looking_at is not None:
        return []
    carried = [
        (body_name, shape_of(spec, body.shape, f"bodies.{body_name}.shape"))
        for body_name, body in spec.model.bodies.items()
        if body.carried_by == name
    ]
    lopsided = [body_name for body_name, shape in carried if not _own_mirror_image(shape)]
    if mirrored_matches([(point, 0) for point in points], SYMMETRY_TOLERANCE) and not lopsided:
        return []
    what = f"the body {lopsided[0]!r} it carries" if lopsided else "the pattern"
    wanted = (
        f"{what} is not its own mirror image: say face if it was drawn or measured looking at the part's "
        "mounting face, back if as seen through the part"
    )
    return [spec.problem(f"mounts.{name}.looking_at", "nothing", wanted)]


def _own_mirror_image(shape: Shape) -> bool:
    if isinstance(shape, Disc):
        return abs(shape.center[0]) <= SYMMETRY_TOLERANCE
    corners = [((x, y), 0) for x, y, _ in shape.loop().vertices]
    return mirrored_matches(corners, SYMMETRY_TOLERANCE)
