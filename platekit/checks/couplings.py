"""Rules on shafts in line that a coupling joins: whether they are one line, how far apart, and what it carries."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import packing, say, words_at
from platekit.checks.drive_edits import length
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Pose, pose_at
from platekit.geometry.sweep import ends
from platekit.placed import SAME_LENGTH, CoupledShaft, Layout, PlacedCoupling, PlacedMount
from platekit.units import mm_per, show_torque

DRAWN_IN_LINE = 0.05
"""Shafts that are drawn farther beside each other than this are told where the coupling's own figure is not given, mm
(ours): what a drawing means to be one line is one; the last hundredths are set with shims and an indicator."""
DRAWN_STRAIGHT = math.radians(0.05)
"""Shafts that are drawn at a larger angle than this are told where the coupling's own figure is not given, rad (ours:
0.05 mm over 57 mm of hub)."""
SAME_GAP = 0.05
"""A gap that is no more than this outside of what is wanted is as wanted, mm (ours: a thread's play sets it)."""


def bears(one: PlacedCoupling) -> tuple[float, float]:
    """How far two shafts may be out of line, mm and rad: by the coupling's maker, else as a drawing can have them."""
    return (
        DRAWN_IN_LINE if one.offset is None else one.offset,
        DRAWN_STRAIGHT if one.angle is None else one.angle,
    )


def in_line(layout: Layout) -> Iterator[Finding]:
    """Coupled shafts that are not one line (mm and degrees), or are taken out of it by a take-up."""
    for one in layout.couplings:
        offset, angle = bears(one)
        names = (one.body, one.driving.mount, one.driven.mount)
        if not one.possible:
            ideas = _into_line(layout, one)
            many = math.degrees(one.askew)
            how = f"look {many:.1f} degrees past each other" if many < 170 else "look the same way"
            if math.degrees(one.askew) <= 10:
                how = f"are {say(layout, math.hypot(*one.beside))} beside each other, more than the coupling is thick"
            yield Finding(
                rule="in-line",
                level="stop",
                message=f"{one.body}: the shaft ends of {one.driving.mount} and {one.driven.mount} {how}; a coupling "
                "joins two ends that face each other in one line, and none is laid out between these",
                features=names,
                at=one.driving.end[:2],
                found=many if many > 10 else math.hypot(*one.beside),
                needed=math.degrees(angle) if many > 10 else offset,
                unit="degrees" if many > 10 else "mm",
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )
            continue
        off = math.hypot(*one.beside)
        if off > offset + SAME_LENGTH or one.askew > angle + 1e-6:
            ideas = _into_line(layout, one)
            across, up = math.hypot(*one.beside[:2]), abs(one.beside[2])
            where = f" ({say(layout, across)} sideways, {say(layout, up)} in height)" if one.lies else ""
            sideways = off - offset > SAME_LENGTH
            yield Finding(
                rule="in-line",
                level="stop",
                message=f"{one.body}: the shafts of {one.driving.mount} and {one.driven.mount} are {say(layout, off)} "
                f"beside each other{where} and {math.degrees(one.askew):.2f} degrees to each other; "
                f"{say(layout, offset)} and {math.degrees(angle):.2f} degrees are what "
                + ("the coupling bears" if one.offset is not None or one.angle is not None else "a drawing can hold"),
                features=names,
                at=one.middle[:2],
                found=off if sideways else math.degrees(one.askew),
                needed=offset if sideways else math.degrees(angle),
                unit="mm" if sideways else "degrees",
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )
        for shaft in one.shafts:
            yield from _taken_out(layout, one, shaft)


def _taken_out(layout: Layout, one: PlacedCoupling, shaft: CoupledShaft) -> Iterator[Finding]:
    """A take-up of a coupled part: whatever it tightens, it takes the shaft out of line."""
    mount = layout.mounts[shaft.mount]
    offset, _ = bears(one)
    aside = _aside(mount, shaft)
    if mount.take_up is None or aside <= offset + SAME_LENGTH:
        return
    pulled = [belt.name for belt in layout.belts if mount.name in (belt.driver.mount, belt.driven.mount)]
    field = f"{mount.field}.take_up.{mount.take_up}"
    ideas = "a coupling has nothing to tighten: take the take-up out, or give it no travel (install: 0, tension: 0)"
    if pulled:
        ideas = f"tighten {pulled[0]} from its other end; here take the take-up out, or give it no travel"
    yield Finding(
        rule="in-line",
        level="stop",
        message=f"{one.body}: over its {mount.take_up} the shaft of {mount.name} goes {say(layout, aside)} out of line "
        f"with that of {next(s.mount for s in one.shafts if s is not shaft)}; {say(layout, offset)} is allowed",
        features=(mount.name, one.body),
        at=shaft.end[:2],
        found=aside,
        needed=offset,
        advice=Advice(ideas, (Remedy(f"{field}.install", 0.0), Remedy(f"{field}.tension", 0.0))),
        field=f"{mount.field}.take_up",
    )


def _aside(mount: PlacedMount, shaft: CoupledShaft) -> float:
    """How far a take-up takes the end of a shaft off its own line, mm; along that line it may slide."""
    if mount.travel is None:
        # a hinge lifts the shaft, and has no travel in the plate's own plane
        return math.inf if mount.take_up == "hinge" else 0.0
    found = 0.0
    for travel in ends(mount.travel):
        x, y = pose_at(mount.travel, travel).point(shaft.end[:2])
        moved = (x, y, shaft.end[2])
        found = max(found, math.dist(moved, shaft.past(moved)))
    return found


def _into_line(layout: Layout, one: PlacedCoupling) -> list[Advice]:
    """The turn, the move and the packing that bring one of the two shafts into line with the other; one is there."""
    movers = []
    for mine, other in ((one.driving, one.driven), (one.driven, one.driving)):
        at = words_at(layout, f"mounts.{mine.mount}.at")
        if isinstance(at, tuple | list) and mine.mount not in layout.originals:
            movers.append((mine, other))
    flat = one.driving.direction[2] == 0.0 and one.driven.direction[2] == 0.0
    if (one.driving.direction[2] == 0.0) != (one.driven.direction[2] == 0.0):
        words = "one shaft stands square to the plate, the other lies along it: take a part that stands as that does"
        return [Advice(words)]
    if not movers:
        return [
            Advice(
                f"bring them into one line: neither {one.driving.mount} nor {one.driven.mount} is free to be moved "
                "(give one of them its place by at: [x, y])"
            )
        ]
    return [_brought(layout, one, mine, other, flat) for mine, other in movers]


def _brought(layout: Layout, one: PlacedCoupling, mine: CoupledShaft, other: CoupledShaft, flat: bool) -> Advice:
    """How one shaft comes into line with the other: turned about its zero, moved, packed."""
    _, angle = bears(one)
    mount, unit = layout.mounts[mine.mount], layout.spec.unit
    said: list[str] = []
    remedies: list[Remedy] = []
    # Turned about its own zero until its shaft looks straight at the other one's end ...
    turn = 0.0
    if flat:
        (dx, dy, _), (ox, oy, _) = mine.direction, other.direction
        turn = math.atan2(-(dx * oy - dy * ox), -(dx * ox + dy * oy))
    turn = turn if abs(turn) > min(angle, SMALLEST_TURN) else 0.0
    if turn:
        way = "counter-clockwise" if turn > 0 else "clockwise"
        said.append(f"turn {mount.name} {abs(math.degrees(turn)):.2f} degrees {way}")
        new = math.degrees(words_at(layout, f"mounts.{mount.name}.turn")) + turn * 180 / math.pi
        remedies.append(Remedy(f"mounts.{mount.name}.turn", f"{new:.8g} deg"))
    elif not flat and one.askew > math.radians(100):
        return Advice(f"set {mount.name} on the other side of the plate, or take its shaft's other end (end: back)")
    x0, y0 = mount.pose.x, mount.pose.y
    x, y = Pose(0.0, 0.0, turn).point((mine.end[0] - x0, mine.end[1] - y0))
    # ... and then moved so that its end stands before the other's, on that one's line, as far off as is wanted.
    low, high = one.gap
    apart = min(max(one.apart, low), high) if flat and not turn else (low + high) / 2
    wanted = [e + apart * d for e, d in zip(other.end, other.direction, strict=True)]
    mx, my = wanted[0] - (x0 + x), wanted[1] - (y0 + y)
    if math.hypot(mx, my) > SAME_LENGTH:
        at = [length(layout, x0 + mx), length(layout, y0 + my)]
        aside = f"{say(layout, abs(mx))} to the {'right' if mx > 0 else 'left'}"
        upward = f"{say(layout, abs(my))} {'up' if my > 0 else 'down'}"
        both = " and ".join(words for size, words in ((mx, aside), (my, upward)) if abs(size) > SAME_LENGTH)
        said.append(f"move {mount.name} {both} (at: [{_bare(x0 + mx, unit)}, {_bare(y0 + my, unit)}])")
        remedies.append(Remedy(f"mounts.{mount.name}.at", at))
    # Heights are mended from below, by packing; whichever of the two shafts is too low is lifted.
    if flat and abs(one.beside[2]) > SAME_LENGTH:
        rise = wanted[2] - mine.end[2]
        lifted = [(mount, rise), (layout.mounts[other.mount], -rise)]
        for part, up in lifted:
            more = part.spacing + (up if part.side == "near" else -up)
            if more >= 0 and part.name not in layout.originals and words_at(layout, f"{part.field}.packing") is None:
                figure = more / mm_per(unit)
                said.append(f"set {part.name} on {packing(layout, figure)} (standoff: {_bare(more, unit)})")
                remedies.append(Remedy(f"{part.field}.standoff", length(layout, more)))
                break
        else:
            return Advice(
                f"{mount.name} stands {say(layout, abs(rise))} too {'low' if rise > 0 else 'high'}, and no packing "
                "lowers a part: lift the other one, or take a part with another shaft height"
            )
    return Advice(", ".join(said), tuple(remedies))


SMALLEST_TURN = math.radians(0.005)
"""A part is not turned by less than this: its holes would not follow it, rad (ours)."""


def _bare(value: float, unit: str) -> str:
    figure = value / mm_per("in" if unit == "in" else "mm")
    return f"{round(figure, 3 if unit == 'mm' else 4) + 0.0:g}"


# --------------------------------------------------------------------------------------- how far apart


def shaft_gap(layout: Layout) -> Iterator[Finding]:
    """Shaft ends nearer or farther apart than a coupling takes (mm), or too little shaft for its hubs."""
    for one in layout.couplings:
        if not one.possible:
            continue
        low, high = one.gap
        names = (one.body, one.driving.mount, one.driven.mount)
        for shaft in one.shafts:
            if None not in (shaft.diameter, one.largest_bore):
                yield from _too_thick(layout, one, shaft)
        if not low - SAME_GAP <= one.apart <= high + SAME_GAP:
            wanted = low if one.apart < low else high
            how = f"overlap by {say(layout, -one.apart)}" if one.apart < 0 else f"are {say(layout, one.apart)} apart"
            between = say(layout, low) if high - low <= SAME_LENGTH else f"{say(layout, low)} to {say(layout, high)}"
            yield Finding(
                rule="shaft-gap",
                level="stop",
                message=f"{one.body}: the shaft ends of {one.driving.mount} and {one.driven.mount} {how}; the coupling "
                f"wants {between} between them",
                features=names,
                at=one.middle[:2],
                found=one.apart,
                needed=wanted,
                advice=_along(layout, one, wanted),
            )
            continue
        reach = (one.length - one.apart) / 2
        for shaft in one.shafts:
            if reach > shaft.free + SAME_GAP:
                yield Finding(
                    rule="shaft-gap",
                    level="stop",
                    message=f"{one.body}: it reaches {say(layout, reach)} over {shaft.said}, of which "
                    f"{say(layout, shaft.free)} is free",
                    features=(one.body, shaft.mount),
                    at=shaft.end[:2],
                    found=reach,
                    needed=shaft.free,
                    advice=Advice(
                        f"take a coupling no longer than {say(layout, 2 * shaft.free + one.apart)} over its hubs, or "
                        "one with a longer piece between them and the parts set farther apart"
                    ),
                )


def _too_thick(layout: Layout, one: PlacedCoupling, shaft: CoupledShaft) -> Iterator[Finding]:
    """A shaft that a coupling's hubs cannot be bored for (mm)."""
    thick, bore = shaft.diameter or 0.0, one.largest_bore or math.inf
    if thick > bore + SAME_LENGTH:
        yield Finding(
            rule="shaft-gap",
            level="stop",
            message=f"{one.body}: {shaft.said} is {say(layout, thick)} thick; its hubs can be bored for "
            f"{say(layout, bore)}",
            features=(one.body, shaft.mount),
            at=shaft.end[:2],
            found=thick,
            needed=bore,
            advice=Advice(f"take a larger coupling, whose hubs can be bored for {say(layout, thick)}"),
        )


def _along(layout: Layout, one: PlacedCoupling, wanted: float) -> Advice:
    """The move along the shafts that gives a gap (mm)."""
    # counted along the line midway between the two, of which a move along either is the cosine of half their angle
    by = (wanted - one.apart) / math.cos(one.askew / 2)
    if not one.lies:
        words = "farther from" if by > 0 else "nearer to"
        said = f"set one of the two {say(layout, abs(by))} {words} the other"
        # spacers that are there already, or that bring the two apart: their height follows, and nothing else moves
        for mine in one.shafts:
            mount = layout.mounts[mine.mount]
            high = mount.standoff + by
            if mount.layer is None and high >= -SAME_GAP and (mount.standoff > 0 or by > 0):
                new = length(layout, max(high, 0.0))
                return Advice(
                    f"{said}: {mount.name} on spacers {say(layout, max(high, 0.0))} high (standoff)",
                    (Remedy(f"{mount.field}.standoff", new),),
                )
        return Advice(f"{said}: spacers under it (standoff), another thickness of the plate, or another shaft")
    for mine in one.shafts:
        at = words_at(layout, f"mounts.{mine.mount}.at")
        if isinstance(at, tuple | list) and mine.mount not in layout.originals:
            mount = layout.mounts[mine.mount]
            x, y = (p - by * d for p, d in zip((mount.pose.x, mount.pose.y), mine.direction[:2], strict=True))
            way = "away from" if by > 0 else "towards"
            said = f"move {mount.name} {say(layout, abs(by))} {way} the other"
            unit = layout.spec.unit
            return Advice(
                f"{said} along its shaft (at: [{_bare(x, unit)}, {_bare(y, unit)}])",
                (Remedy(f"mounts.{mine.mount}.at", [length(layout, x), length(layout, y)]),),
            )
    return Advice(f"set them {say(layout, abs(by))} {'farther apart' if by > 0 else 'nearer together'}")


# --------------------------------------------------------------------------------------- what it carries


def coupling_load(layout: Layout) -> Iterator[Finding]:
    """Torque (Nm) or speed (rpm) beyond what a coupling is made for, or a speed beyond its motor's own."""
    for one in layout.couplings:
        names = (one.body, one.driving.mount, one.driven.mount)
        if one.torque_nm is not None and one.rated_nm is not None:
            factor = one.service_factor or 1.0
            wanted = one.torque_nm * factor
            if wanted > one.rated_nm * (1 + 1e-9):
                unit = layout.spec.unit
                yield Finding(
                    rule="coupling-load",
                    level="stop",
                    message=f"{one.body}: the motor's {show_torque(one.torque_nm, unit, '.3g')} times a service "
                    f"factor of {factor:g} are {show_torque(wanted, unit, '.3g')}; it is rated for "
                    f"{show_torque(one.rated_nm, unit, '.3g')}",
                    features=names,
                    at=one.middle[:2],
                    found=wanted,
                    needed=one.rated_nm,
                    unit="Nm",
                    advice=Advice(f"take a coupling that is rated for {show_torque(wanted, unit, '.3g')} or more"),
                )
        for limit, whose in ((one.max_rpm, "the coupling"), (one.motor_max_rpm, "the motor")):
            if one.speed_rpm is not None and limit is not None and one.speed_rpm > limit * (1 + 1e-9):
                yield Finding(
                    rule="coupling-load",
                    level="stop",
                    message=f"{one.body}: it turns at up to {one.speed_rpm:.0f} rpm; {whose} is made for "
                    f"{limit:.0f} rpm",
                    features=names,
                    at=one.middle[:2],
                    found=one.speed_rpm,
                    needed=limit,
                    unit="rpm",
                    advice=Advice(
                        "keep the inverter below that speed, or take one that is made for it"
                        if whose == "the motor"
                        else f"take a coupling for {one.speed_rpm:.0f} rpm, or run slower"
                    ),
                )


RULES = (
    Rule(
        "in-line",
        "coupled shafts that are not one line, or that a take-up takes out of it",
        f"what the coupling's maker lets them be; else {DRAWN_IN_LINE:g} mm, {math.degrees(DRAWN_STRAIGHT):g} degrees",
        "the maker's figures in the spec; ours",
        in_line,
        levels=("stop",),
        keys=("couplings.NAME.offset", "couplings.NAME.angle", "mounts.NAME.at", "mounts.NAME.standoff"),
    ),
    Rule(
        "shaft-gap",
        "coupled shaft ends too near or too far apart, too short for the hubs, or too thick for them",
        "the gap that the coupling's maker wants",
        "no number: the maker's figures stand in the spec",
        shaft_gap,
        levels=("stop",),
        keys=("couplings.NAME.gap", "couplings.NAME.length", "couplings.NAME.largest_bore"),
    ),
    Rule(
        "coupling-load",
        "a coupling too weak or too slow for its motor",
        "its rated torque over the service factor, its top speed, the motor's",
        "no number: the maker's figures stand in the spec",
        coupling_load,
        levels=("stop",),
        keys=("couplings.NAME.torque", "couplings.NAME.max_speed", "couplings.NAME.service_factor"),
    ),
)
