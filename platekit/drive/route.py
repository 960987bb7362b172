"""A belt round any number of wheels: two pulleys with an idler, inside or on the belt's back.

A *wheel* is a pulley or an idler with its pitch diameter; the *route* names the wheels in the order in
which the belt visits them. A wheel `inside` the loop is wrapped like a pulley, one that is not presses
on the belt's back. The wraps of the wheels inside, less those of the wheels outside, make one full
turn. All in the frame of the wheels' own coordinates, in mm and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations
from math import asin, atan2, cos, dist, hypot, pi, sin

from msgspec import Struct

from platekit.drive.open_belt import belt_length, centre_distance
from platekit.errors import DriveError

Point = tuple[float, float]

FULL_TURN = 2 * pi

TURN_TOLERANCE = 1e-7
"""How far the wraps may be from one full turn, in radians, before the route counts as tangled.

Far above rounding.
"""

CLOSED_TOLERANCE = 1e-6
"""How far the length of the route that was found may be from the belt's, in mm."""

SHIFT_TOLERANCE = 1e-10
"""Where the search for an idler's place ends, in mm."""


class Wheel(Struct, frozen=True):
    """A pulley or idler: centre, pitch diameter (mm), and whether it runs inside the loop or on the back."""

    x: float
    y: float
    diameter: float
    inside: bool = True


class Span(Struct, frozen=True):
    """One straight run of belt, from where it leaves one wheel to where it meets the next, in mm."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """The length of the run, in mm."""
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def heading(self) -> float:
        """The direction in which the belt runs, rad counter-clockwise from +x."""
        return atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])


class Route(Struct, frozen=True):
    """The belt's whole way: `wraps[i]` in radians on wheel i, `spans[i]` from there to the next wheel."""

    wraps: tuple[float, ...]
    spans: tuple[Span, ...]
    length: float


def route(wheels: Sequence[Wheel]) -> Route:
    """The belt's way round the wheels, in the order given (either way round), in mm and radians.

    Raises `DriveError` when two neighbours overlap or the belt would have to cross itself. Plane geometry.

    >>> round(route([Wheel(0, 0, 100), Wheel(300, 0, 100)]).length, 3)
    914.159
    """
    if len(wheels) < 2:
        raise DriveError("a belt needs at least two wheels to run round")
    # Whoever names the wheels does not say which way round the belt goes, and no one should have to: both are tried
    # with the loop's inside on the left. The way back is told in the caller's order again, its runs turned about.
    fitting = [way for way in (_counter_clockwise(wheels),) if way is not None]
    # two wheels are the same either way round
    back = _counter_clockwise([wheels[0], *reversed(wheels[1:])]) if len(wheels) > 2 else None
    if back is not None:
        runs = tuple(Span(span.end, span.start) for span in reversed(back.spans))
        fitting.append(Route((back.wraps[0], *reversed(back.wraps[1:])), runs, back.length))
    if not fitting:
        raise DriveError(
            "the belt would cross itself on this route, or an idler does not touch it",
            "name the wheels in the order in which the belt visits them, and say which of them press on its back",
        )
    return min(fitting, key=lambda way: round(way.length, 9))


def run_length(wheels: Sequence[Wheel]) -> float:
    """How long a taut belt round these wheels is, in mm; straight past the idlers where they do not touch it.

    The first and the last wheel are the pulleys, what is between them are the idlers.
    """
    try:
        return route(wheels).length
    except DriveError:
        # the route is tangled: the idler has let go, and the belt runs between the two pulleys alone
        first, last = wheels[0], wheels[-1]
        small, large = sorted((first.diameter, last.diameter))
        # nearer than this the small pulley lies within the large one, and the belt goes round that alone
        apart = max(dist((first.x, first.y), (last.x, last.y)), (large - small) / 2 + SHIFT_TOLERANCE)
        return belt_length(apart, small, large)


def taut(length: float, wheels: Callable[[float], Sequence[Wheel]], near: float, far: float) -> float:
    """The place between `near` and `far` at which a belt of this pitch length is taut round `wheels(place)`, in mm.

    The way round must grow from `near` to `far`. Raises `DriveError` when the belt is too short already at `near`, or
    an idler does not touch it where it is taut.
    """
    # Halving, since the length has a kink where an idler begins to touch, where Newton's steps would go astray.
    if run_length(wheels(near)) > length:
        raise DriveError(f"a belt of {length:.1f} mm is too short for these pulleys and idlers")
    while far - near > SHIFT_TOLERANCE:
        middle = (near + far) / 2
        if middle in (near, far):
            break
        near, far = (middle, far) if run_length(wheels(middle)) < length else (near, middle)
    # Below the kink the search may have ended on a belt that passes its idler by.
    found = (near + far) / 2
    if abs(route(wheels(found)).length - length) > CLOSED_TOLERANCE:
        raise DriveError(f"an idler does not touch a belt of {length:.1f} mm", "move it towards the belt")
    return found


def centres_with_idlers(
    length: float,
    driver: float,
    driven: float,
    idlers: Sequence[Wheel] | Callable[[float], Sequence[Wheel]],
    line: float,
) -> float:
    """The centre distance at which a belt of this pitch length is taut with idlers in its way, in mm.

    `driver` and `driven` are pitch diameters; the driven pulley stands at the origin and the driver in
    the direction `line` (radians) from it. The belt goes from the driven pulley over the idlers, in
    their order, to the driver and back; idlers that follow the shafts are given as a function of the
    centre distance. Raises `DriveError` when no place of the driver fits, or an idler would not touch
    the belt there.
    """
    along = (cos(line), sin(line))

    def wheels(centres: float) -> list[Wheel]:
        between = idlers(centres) if callable(idlers) else idlers
        return [Wheel(0, 0, driven), *between, Wheel(centres * along[0], centres * along[1], driver)]

    return taut(length, wheels, (driver + driven) / 2, centre_distance(length, driver, driven))


def wrapping_idler(
    pulley: Wheel, other: Wheel, wrap: float, free: float, diameter: float, inside: bool, leaves: bool
) -> Wheel:
    """The one idler that makes a belt lie on `pulley` over the angle `wrap` (radians).

    The belt goes counter-clockwise round the two pulleys; the idler is on the run that leaves the pulley, or on the
    one that comes to it, with `free` mm of straight belt between them. On the other run nothing changes. Raises
    `DriveError` where an idler on that side of the belt cannot make such a wrap.

    >>> spot = wrapping_idler(Wheel(0, 0, 100), Wheel(300, 0, 100), pi, 80, 40, True, True)
    >>> (round(spot.x, 9), round(spot.y, 9))
    (80.0, -30.0)
    """
    out, back = _span(pulley, other), _span(other, pulley)
    # an idler on the back presses the belt round the pulley, one inside lifts it off
    plain = (out.heading - back.heading) % FULL_TURN
    if (wrap < plain) if not inside else (wrap > plain):
        more = "less" if wrap < plain else "more"
        kind = "inside" if inside else "on the back"
        raise DriveError(
            f"an idler {kind} cannot make the wrap {more} than the {plain * 180 / pi:.1f} degrees that it is without",
            f"say a larger wrap than {plain * 180 / pi:.1f} degrees" if not inside else "say a smaller wrap",
        )
    # the run on the idler's side, as it then leaves the pulley or comes to it; the other run is as it was
    heading = back.heading + wrap if leaves else out.heading - wrap
    outward = (sin(heading), -cos(heading))
    along = free if leaves else -free
    off = pulley.diameter / 2 - (diameter / 2 if inside else -diameter / 2)
    return Wheel(
        pulley.x + off * outward[0] + along * cos(heading),
        pulley.y + off * outward[1] + along * sin(heading),
        diameter,
        inside,
    )


def lengthens(wheels: Sequence[Wheel], index: int) -> Point:
    """The direction (unit vector) in which moving this wheel makes the belt's way longest fastest.

    Both runs pull the wheel the other way with the same tension, so that it is the middle between them. Raises
    `DriveError` where the belt hardly bends there.
    """
    way = route(wheels)
    came, goes = way.spans[index - 1], way.spans[index]
    # unit vectors along both runs, away from the wheel's own pull: their sum halves the angle between them
    x = (came.end[0] - came.start[0]) / came.length + (goes.start[0] - goes.end[0]) / goes.length
    y = (came.end[1] - came.start[1]) / came.length + (goes.start[1] - goes.end[1]) / goes.length
    size = hypot(x, y)
    if size < LEAST_BEND:
        raise DriveError("an idler that only just touches the belt", "move it farther into the belt")
    return (x / size, y / size)


LEAST_BEND = 0.01
"""A wheel that turns the belt by less than this (rad) hardly moves it (ours)."""


def _counter_clockwise(wheels: Sequence[Wheel]) -> Route | None:
    """The route with its inside on the left, or None when that would tangle the belt."""
    followers = [*wheels[1:], wheels[0]]
    spans = [_span(wheel, after) for wheel, after in zip(wheels, followers, strict=True)]
    arriving = [spans[-1], *spans[:-1]]
    # The angle turned on each wheel between two runs, from 0 to one full turn. A belt that just grazes a wheel turns by
    # nothing; rounding must not make a whole turn of it.
    wraps = []
    for wheel, came, goes in zip(wheels, arriving, spans, strict=True):
        wrap = (goes.heading - came.heading if wheel.inside else came.heading - goes.heading) % FULL_TURN
        wraps.append(0.0 if FULL_TURN - wrap < TURN_TOLERANCE else wrap)
    # Going once round, the belt turns by one full turn, left on the wheels inside and right on those outside; two
    # turns or none is a tangle, and so are two runs that cross.
    turned = sum(wrap if wheel.inside else -wrap for wheel, wrap in zip(wheels, wraps, strict=True))
    if abs(turned - FULL_TURN) > TURN_TOLERANCE or any(_cross(a, b) for a, b in combinations(spans, 2)):
        return None
    length = sum(span.length for span in spans)
    length += sum(wheel.diameter / 2 * wrap for wheel, wrap in zip(wheels, wraps, strict=True))
    return Route(tuple(wraps), tuple(spans), length)


def _signed_radius(wheel: Wheel) -> float:
    """The radius in mm, below zero for a wheel on the belt's back: the belt turns the other way round it."""
    return wheel.diameter / 2 if wheel.inside else -wheel.diameter / 2


def _span(wheel: Wheel, after: Wheel) -> Span:
    """The run that leaves `wheel` and meets `after`, the loop going counter-clockwise."""
    dx, dy = after.x - wheel.x, after.y - wheel.y
    apart = hypot(dx, dy)
    leaving, meeting = _signed_radius(wheel), _signed_radius(after)
    if apart <= abs(leaving - meeting) or apart < (wheel.diameter + after.diameter) / 2:
        raise DriveError(
            f"two wheels of {wheel.diameter:.1f} and {after.diameter:.1f} mm are only {apart:.1f} mm apart",
            "the belt cannot pass between them",
        )
    # A tangent to both circles with the loop on its left. Radii are signed: of two wheels inside the loop it is the
    # outer tangent, of one inside and one on the back the inner one, by the same formula. `outward` points right.
    heading = atan2(dy, dx) - asin((meeting - leaving) / apart)
    outward = (sin(heading), -cos(heading))
    return Span(
        (wheel.x + leaving * outward[0], wheel.y + leaving * outward[1]),
        (after.x + meeting * outward[0], after.y + meeting * outward[1]),
    )


def _cross(one: Span, other: Span) -> bool:
    """Whether two runs cross between their ends."""

    # The ends of each lie on different sides of the other: the sign of the cross product says on which.
    def side(span: Span, point: Point) -> float:
        (x, y), (to_x, to_y) = span.start, span.end
        return (to_x - x) * (point[1] - y) - (to_y - y) * (point[0] - x)

    apart = side(one, other.start) * side(one, other.end)
    return apart < 0 and side(other, one.start) * side(other, one.end) < 0
