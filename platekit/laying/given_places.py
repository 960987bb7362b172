"""Places that the spec gives outright, without a belt or a search, and which way round a pattern lies there."""

from __future__ import annotations

import math

from platekit.geometry import Point, Pose
from platekit.spec import Spec
from platekit.spec import models as words


def shows_its_back(mount: words.MountWords) -> bool:
    """Whether the pattern as written is mirrored on the plate.

    Someone who looks at the plate's near side sees the back of a part that is on the near side, and the face of one
    on the far side; a pattern written the other way is mirrored. Standards are drawn looking at the face, layers as
    the plate is.
    """
    if mount.layer is not None:
        return False
    seen = "back" if mount.side == "near" else "face"
    return (mount.looking_at or "face") != seen


def given_pose(spec: Spec, name: str) -> Pose | None:
    """The pose of a mount, its own frame to the plate frame; None where its place depends on a belt or a search.

    In mm, rad.
    """
    mount = spec.model.mounts[name]
    if isinstance(mount.at, words.BeltPlace | words.FindPlace):
        return None
    if isinstance(mount.at, words.Polar):
        start = given_pose(spec, mount.at.from_)
        if start is None:
            return None
        x, y = on_the_ray(start, mount.at)
    else:
        x, y = mount.at
    return Pose(x, y, mount.turn, shows_its_back(mount))


def on_the_ray(start: Pose, at: words.Polar) -> Point:
    """The point (plate frame, mm) at a distance and angle from the zero of another mount."""
    return (start.x + at.distance * math.cos(at.angle), start.y + at.distance * math.sin(at.angle))
