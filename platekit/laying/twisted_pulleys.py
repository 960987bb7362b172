"""The two pulleys of a twisted belt in space, and how its runs enter them.

A belt stays on a pulley that it runs up to in that pulley's own plane, at whatever angle it then leaves (Shop Practice,
vol. 2, quarter-twist belt: "the center line of the belt is always delivered into the central plane of the receiving
pulley"). So the line in which the two planes cross has to touch both pulleys, each where the belt leaves it. That is
asked of the pulleys' places alone, whatever the angle of the shafts is.
"""

from __future__ import annotations

import math

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry import ACROSS, Spatial, lying
from platekit.laying.axes import lying_shaft, own_axis, pulley_seat, span_of
from platekit.laying.located import located
from platekit.laying.mounts import MountFrame
from platekit.laying.runs import pulley_of, twisted_of
from platekit.placed import Twisted, TwistedPulley
from platekit.spec import Spec
from platekit.spec.drive_words import PulleyWords


def twisted_in_space(spec: Spec, frames: dict[str, MountFrame]) -> Twisted | None:
    """The twisted belt of a spec with its pulleys where they sit (mm); None where there is none.

    Raises `SpecError` as `twisted_of` does, and for a pulley whose place along its shaft cannot be worked out.
    """
    twisted, words = twisted_of(spec), spec.model.drive
    if twisted is None or words is None:
        return None
    found: list[TwistedPulley] = []
    for end, pulley in (("driver", words.driver), ("driven", words.driven)):
        one = _in_space(spec, pulley, f"{twisted.field}.{end}", twisted.section, frames[pulley.on])
        if one is None:
            return twisted
        found.append(one)
    return replace(twisted, pulleys=(found[0], found[1]))


def _in_space(spec: Spec, pulley: PulleyWords, field: str, section: str, frame: MountFrame) -> TwistedPulley | None:
    own = own_axis(spec, pulley, field)
    if own is None and lying_shaft(spec, pulley.on) is not None:
        return None  # a body that lies across says which way the shaft points, not where a span counts from
    along = None if own is None else own.along
    plane = ACROSS if along is None else lying(frame.pose.angle(along))
    seat = pulley_seat(spec, pulley, field, frame.pose, plane)
    span = span_of(spec, pulley, field, seat, None)
    pitch = located(spec, field, lambda: pulley_of(pulley).pitch(section))
    middle = plane.spot(seat.center, sum(seat.z(span)) / 2)
    return TwistedPulley(pulley.on, middle, plane.n, pitch / 2, span, seat.sense, f"{field}.span")


class Entry(Struct, frozen=True):
    """How a twisted belt runs: the distance of its pulleys, and how far each misses the line that it should touch, mm.

    `driver` and `driven` are how far the pitch circle is from the line in which both planes cross (above zero: the
    line passes outside of it). `moves` are how far along their shafts, the way these point, driver and driven pulley
    would have to go for both to touch it.
    """

    distance: float
    driver: float
    driven: float
    moves: tuple[float, float]


def entry_of(twisted: Twisted) -> Entry | None:
    """How a twisted belt runs up to its pulleys (mm); None where nothing tells where they are."""
    if twisted.pulleys is None:
        return None
    a, b = twisted.pulleys
    w = _minus(b.middle, a.middle)
    c = _dot(a.way, b.way)
    s = math.sqrt(max(1.0 - c * c, 0.0))
    # In its own plane each pulley's middle is so far, with its sign, from the line in which both planes cross.
    from_a, from_b = _dot(w, b.way) / s, -_dot(w, a.way) / s
    want_a, want_b = math.copysign(a.radius, from_a), math.copysign(b.radius, from_b)
    # Either pulley that moves along its shaft takes its plane along, and with it the line for both: two equations,
    # p = move_b - c move_a and q = c move_b - move_a.
    p, q = s * want_a - _dot(w, b.way), -s * want_b - _dot(w, a.way)
    move_a = (c * p - q) / (s * s)
    return Entry(math.hypot(*w), abs(from_a) - a.radius, abs(from_b) - b.radius, (move_a, p + c * move_a))


def _dot(one: Spatial, other: Spatial) -> float:
    return sum(p * q for p, q in zip(one, other, strict=True))


def _minus(one: Spatial, other: Spatial) -> Spatial:
    return (one[0] - other[0], one[1] - other[1], one[2] - other[2])
