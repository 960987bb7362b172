"""What the other rules could not look at, and which figure would let them.

A rule that has nothing to go by is silent, and silence reads as "nothing is wrong". So each gap in what is known is a
finding of its own, whatever it is about: plate, screws, machine, drive. What a spec may ask for but need not (a sheet,
a pad) is no gap.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from platekit import tables
from platekit.analysis.fitting import MOST_JOINTS
from platekit.checks.advice import say
from platekit.checks.cutting import cut_to_pass
from platekit.checks.drive_edits import middle, shaft_asked, whole
from platekit.checks.finding import BLANK, Advice, FieldValue, Finding, Remedy
from platekit.checks.held import bodies_of_part
from platekit.checks.room import fan_end, motors, need_of, on_feet
from platekit.checks.rule import Rule
from platekit.checks.strength import gap_in
from platekit.cutting import capability_of, suitability
from platekit.errors import LookupFailed
from platekit.geometry import Disc, Index, distance, hull
from platekit.laying.shafts import shaft_of
from platekit.placed import SAME_LENGTH, Layout, PlacedBelt, PlacedCoupling, PlacedMount
from platekit.spec.figures import typed
from platekit.tables import belts
from platekit.tables.guards import safety_distance
from platekit.tables.torques import USUAL_CLASS
from platekit.units import mm_per, show_power

if TYPE_CHECKING:
    pass

FEW = 2
"""Most screws that one sentence names (ours)."""


def not_checked(layout: Layout) -> Iterator[Finding]:
    """Every gap: sizes whose scatter no table holds, mounts without screws, pilots without depth, belts unrated."""
    if suitability(layout).fitness == "unknown":
        name = layout.cutting.process
        yield Finding(
            rule="not-checked",
            level="warn",
            message=f"not checked: whether {name} cuts {layout.material.name}, because only its figures are given, not "
            "what kind of material it is",
            features=("outline",),
            advice=Advice("say it: plate: material: {family: steel}, or another of its choices"),
        )
    # Openings that something must pass, of a size for which no table says how far it comes off. ISO 9013 gives its
    # limits by ranges of size and thickness; outside of these its silence is no zero.
    capability = capability_of(layout)
    openings = [opening for opening, _ in cut_to_pass(layout) if not capability.scatter(opening.size).value]
    if capability.own_scatter is None and openings:
        first = openings[0]
        yield Finding(
            rule="not-checked",
            level="warn",
            message=f"{first.name}: not checked: how far a cut of {say(layout, first.size)} comes off, because ISO "
            f"9013 gives no figure for that size in {say(layout, layout.thickness)} plate; only its taper is held "
            "against what must pass",
            features=tuple(opening.name for opening in openings),
            at=first.center,
            advice=Advice(
                "have it drilled or milled, or give your own machine's scatter (a test piece tells it: platekit coupon)"
            ),
        )
    machine = layout.spec.machine
    if machine is not None and machine.bed is None:
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"not checked: whether {machine.name} reaches all of the plate, because {machine.file} gives "
            "no bed",
            features=("outline",),
            advice=Advice("give it in the machine's file: bed: [1250, 1250]"),
        )
    for mount in layout.mounts.values():
        yield from _of_mount(layout, mount)
    for mount in motors(layout):
        # What a motor has on it that no standard places: its terminal box with lid and cable, its fan's cover.
        own = [body for body in layout.bodies if body.carrier == mount.name and body.kind == "given"]
        if not any(need_of(layout, body) in ("lid", "cable") for body in own):
            yield _gap(
                mount,
                "whether its terminal box clears everything, its lid opens and its cable has room",
                "no body is its terminal box",
                f"describe it (carried_by: {mount.name}) under the name terminal box",
                _box_asked(layout, mount),
            )
        if fan_end(layout, mount) is None:
            yield _gap(
                mount,
                "whether its fan gets air",
                "its shaft lies along the plate" if on_feet(mount) else "no body says where it ends",
                "keep a fifth of its diameter free behind the fan's cover",
            )
    yield from _under_parts(layout)
    yield from _strength(layout)
    for belt in layout.belts:
        yield from _of_belt(layout, belt)
    for one in layout.couplings:
        yield from _of_coupling(layout, one)
    if layout.twisted is not None:
        twist = layout.twisted
        if twist.pulleys is None:
            yield Finding(
                rule="not-checked",
                level="note",
                message=f"{twist.name}: not checked: whether each run comes to its pulley in that one's plane, and has "
                "the length to twist in, because not both shafts are told as lines",
                features=(twist.name, twist.driver, twist.driven),
                at=(layout.mounts[twist.driver].pose.x, layout.mounts[twist.driver].pose.y),
                advice=Advice("tell the shaft that is not: mounts.NAME.shaft, with its height and its stretch"),
                field=f"{twist.field}.shafts",
            )
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"{twist.name}: not checked: the belt's length over its twist, wrap, take-up, rating, "
            "speeds and pull, the motor's limits and air, whether its pulleys sit on their shafts, and what pulleys "
            f"and runs of belt run into, because the shafts of {twist.driver} and {twist.driven} are "
            f"{math.degrees(twist.angle):.2f} degrees to each other and it is meant to be twisted (shafts: crossed)",
            features=(twist.name, twist.driver, twist.driven),
            at=(layout.mounts[twist.driver].pose.x, layout.mounts[twist.driver].pose.y),
            advice=Advice(
                "set it out by its maker's rules and turn it by hand before power goes on: each run must come off its "
                "pulley in the plane of the pulley that it runs to, which lets it run one way only (common practice); "
                "describe pulleys and runs as bodies to have their room checked"
            ),
            field=f"{twist.field}.shafts",
        )
    for guard in layout.guards:
        if guard.on != "machine":
            continue
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"{guard.name}: not checked: what carries it and whether the holes of its {len(guard.ears)} ears "
            "find steel there, because it is not fixed to the plate (on: machine)",
            features=(guard.name,),
            advice=Advice("see on the machine that each ear lies on something firm, and drill its hole there"),
        )


def _strength(layout: Layout) -> Iterator[Finding]:
    """A plate of which nothing says what it carries, and belts whose pull on it is not known."""
    gap = gap_in(layout)
    if gap is not None and gap.advice:
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"not checked: whether the plate holds, how far it bends and shakes, because {gap.why}",
            features=("plate",),
            advice=Advice(gap.advice),
            asks=_weight_asked(layout),
        )
    if gap is None:
        from platekit.strength.question import question_of, without_forces

        # there is an answer: what is left is what it could not take in
        question = question_of(layout)
        for belt in without_forces(layout, [part.name for part in question.carried]):
            yield Finding(
                rule="not-checked",
                level="note",
                message=f"{belt.name}: not checked: what the belt does to the plate, because "
                + ("idlers turn its pull" if belt.idlers else "no motor is given"),
                features=whole(belt),
                at=middle(belt),
                advice=Advice("have it judged by hand" if belt.idlers else "give `drive.motor` from its rating plate"),
            )
        for part in question.carried:
            if part.size is None:
                yield Finding(
                    rule="not-checked",
                    level="note",
                    message=f"{part.name}: not checked: at which speeds the plate shakes, because nothing says how "
                    f"large {part.name} is",
                    features=(part.name, "plate"),
                    advice=Advice("give its mass: size: [..., ..., ...], or describe it as a body"),
                )


def _weight_asked(layout: Layout) -> tuple[Remedy, ...]:
    """What strength wants to know first: what the parts weigh that the plate carries, and how it is bolted up."""
    from platekit.strength.question import is_part, usually

    carried = [
        mount
        for name, mount in layout.mounts.items()
        if name not in layout.originals and mount.mass is None and is_part(mount)
    ]
    asks: list[Remedy] = []
    for mount in carried:
        # a standard motor's own range is the table's; where it balances, about half its length out, is for a hand
        total = "frame" if usually(mount) else BLANK
        asks.append(Remedy(f"mounts.{mount.name}.mass", {"total": total, "centre": [BLANK, BLANK, BLANK]}))
    if layout.mounting is None:
        asks.append(Remedy("plate.mounting", BLANK))
    return tuple(asks)


def _under_parts(layout: Layout) -> Iterator[Finding]:
    """Screws that stand out of the face of another mount's part, where no body says what that part is like."""
    low, high = layout.plate_z
    for mount in layout.mounts.values():
        # Any body, given or the standard's, that lies before the face says what sits there.
        if any(
            body.carrier == mount.name
            and body.kind in ("given", "standard")
            and (body.z[1] > high + SAME_LENGTH if mount.side == "near" else body.z[0] < low - SAME_LENGTH)
            for body in layout.bodies
        ):
            continue
        # Another mount's hardware that reaches past the plane of this one's face ...
        proud = []
        for body in layout.bodies:
            out = body.z[1] - high if mount.side == "near" else low - body.z[0]
            others = body.hardware and body.carrier != mount.name and body.screw is not None
            if others and out > mount.standoff + SAME_LENGTH:
                proud.append(body)
        if not proud:
            continue
        # ... between its screw holes, which have a hole's width of steel round them: so far the part surely reaches.
        pads = hull([Disc(point, mount.hole) for point in mount.points])
        near = Index([pads.box])
        under = [
            body for body in proud if near.near(body.shape.box) and distance(body.shape, pads).distance < -SAME_LENGTH
        ]
        if under:
            screws = tuple(dict.fromkeys(body.screw for body in under if body.screw is not None))
            yield Finding(
                rule="not-checked",
                level="warn",
                message=f"{mount.name}: not checked: whether the part on it leaves room for {_some(screws)}, "
                "standing out of the face that it is bolted to, because no body says what is there",
                features=(*screws, mount.name),
                at=under[0].shape.centroid,
                advice=Advice(
                    f"describe that part as a body (carried_by: {mount.name}); where it lies over these screws, let "
                    "them in, or turn them into threads in the plate (screws: into: plate)"
                ),
            )


def _some(names: Sequence[str], what: str = " screws") -> str:
    return " and ".join(names) if len(names) <= FEW else f"{names[0]} and {len(names) - 1} more{what}"


def _measured_shafts(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    """Shafts that were measured, but not how far they stand out."""
    for body in layout.bodies:
        if not body.measured or body.carrier != mount.name:
            continue
        # nothing measured ends just at the plate's free face, to a nanometre, but what was taken to end there
        ends = body.z[1] if mount.side == "far" else body.z[0]
        face = layout.plate_z[1] if mount.side == "far" else layout.plate_z[0]
        if abs(ends - face) <= SAME_LENGTH:
            yield _gap(
                mount,
                f"what {body.name} meets past the plate",
                "how far it stands out is not given; it is taken to end at the plate's other face",
                f"measure it from the mating face and give {body.field}.stands",
                Remedy(f"{body.field}.stands", BLANK),
            )


def _left_out(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    """A standard part's shaft (mm) that the spec leaves out, and no body of its own stands in its place."""
    row, typed = mount.standard, layout.typed_mounts.get(mount.name)
    if row is None or row.shaft is None or typed is None or typed.standard_bodies or typed.shafts:
        return
    for body in layout.bodies:
        enters = body.z[0] < 0 if mount.side == "near" else body.z[1] > -layout.thickness
        own = body.kind == "given" and body.carrier == mount.name
        if own and enters and math.dist(body.shape.centroid, (mount.pose.x, mount.pose.y)) < row.shaft:
            return
    yield Finding(
        rule="not-checked",
        level="warn",
        message=f"{mount.name}: not checked: whether its shaft of {say(layout, row.shaft)} passes the plate, because "
        "standard_bodies: false leaves it out and no body stands for it",
        features=mount.hole_names or (mount.name,),
        at=(mount.pose.x, mount.pose.y),
        advice=Advice(
            "take `standard_bodies` out, or tell the shaft that the part has (shaft: {along: square, ...}); of one "
            "without any, accept this"
        ),
    )


def _of_mount(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    yield from _left_out(layout, mount)
    yield from _measured_shafts(layout, mount)
    yield from _unplaced_shaft(layout, mount)
    if mount.stack is None:
        yield _gap(
            mount,
            "what goes through its holes, whether its screws hold and can be reached, and the odds that they go in",
            "no screws are described",
            "give its screws: screws: {size: ..., into: part}",
            Remedy(f"mounts.{mount.name}.screws", {"size": BLANK, "into": BLANK}),
        )
        return
    # a lug is drilled by our own paper
    if (
        mount.lug_of is None
        and mount.stack.into == "plate"
        and mount.survey is None
        and (mount.standard is None or not mount.standard.hole)
    ):
        clear = tables.screw(mount.stack.size).clearance.get("normal")
        taken = f"; {say(layout, clear)} is taken for the odds" if clear else ""
        yield _gap(
            mount,
            "whether the screws pass the part's own holes",
            f"no key of the spec says how wide they are{taken}",
            "measure them; a part that was measured (pattern: measured) brings its holes along",
        )
    if len(mount.points) > MOST_JOINTS:
        yield _gap(
            mount,
            f"the odds that all {len(mount.points)} screws go in",
            f"they are worked out for {MOST_JOINTS} screws at most",
            "try the plate on its paper, on both parts",
        )
    if mount.pilot is not None and not mount.pilot_depth:
        yield _gap(
            mount,
            "how far its pilot stands into the plate, and what it meets there",
            "its depth is not given" if mount.standard is None else f"{mount.standard.designation} lists no depth",
            f"measure it and give pilot: {{diameter: {say(layout, mount.pilot)}, depth: ...}}",
            Remedy(f"mounts.{mount.name}.pilot.depth", BLANK),
        )
    # Screws in a standard part that would be too short in aluminium, where nothing says what the part is cast in.
    stack = mount.stack
    wanted = tables.engagement("aluminium").diameters * tables.screw(stack.size).diameter
    unsaid = stack.thread_in is None and stack.into == "part" and mount.standard is not None
    if unsaid and stack.length is not None and stack.engagement < wanted - SAME_LENGTH:
        yield _gap(
            mount,
            f"whether {say(layout, stack.engagement)} of thread holds its {stack.size} screws",
            f"thread_in is not given; a shield of aluminium wants {say(layout, wanted)}",
            "see whether a magnet sticks to the part, and give screws: thread_in",
            Remedy(f"{stack.field}.thread_in", BLANK),
        )
    # too loose it slips, too tight it breaks: without a torque nobody knows which
    size = mount.stack.size
    try:
        tables.torque(size, USUAL_CLASS[tables.screw(size).system])
    except LookupFailed as error:
        yield _gap(mount, f"how tight its {size} screws may be", str(error), "take the torque from the screws' maker")
    if stack.into == "stud":
        yield _gap(
            mount,
            f"whether the {size} studs that stay hold their torque",
            "nothing tells of which strength they are, or how well they sit in their threads",
            "look for marks on their ends, and set in new ones that turn or are worn",
        )
    # A part that was described, but not where its screws hold.
    if stack.into != "part" or mount.standard is not None or mount.pad is not None:
        return
    flats = [flat for flat in bodies_of_part(layout, mount) if flat[2][0] >= -SAME_LENGTH]
    spots = [Disc(point, tables.screw(size).diameter / 2) for point in mount.points]
    if flats and not any(distance(spot, shape).distance < 0 for spot in spots for _, shape, _ in flats):
        names = _some(tuple(dict.fromkeys(name for name, _, _ in flats)), "")
        yield _gap(
            mount,
            "whether there is steel under its screws",
            f"nothing that it was described by reaches them ({names})",
            f"describe its flange or foot as a body (carried_by: {mount.name}, span: [0, ...])",
        )


def _box_asked(layout: Layout, mount: PlacedMount) -> Remedy:
    """A terminal box that is to be described: a block on the motor."""
    sizes: dict[str, FieldValue] = {"width": BLANK, "height": BLANK}
    shape: dict[str, FieldValue] = {"rectangle": sizes, "at": [BLANK, BLANK]}
    taken = {body.name for body in layout.bodies}
    name = "terminal box" if "terminal box" not in taken else f"terminal box of {mount.name}"
    return Remedy(f"bodies.{name}", {"carried_by": mount.name, "shape": shape, "span": [BLANK, BLANK]})


def _unplaced_shaft(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    """A shaft over a measured face that begins in zero, which is a hole: where a new job has it until it is told."""
    typed = layout.typed_mounts.get(mount.name)
    if mount.survey is None or typed is None or not typed.shaft_from_zero or typed.shaft is None:
        return
    field = f"mounts.{mount.name}.shaft"
    long = round(-typed.shaft[1] / mm_per(layout.spec.unit), 4)
    yield Finding(
        rule="not-checked",
        level="warn",
        message=f"{mount.name}: not checked: where its belt runs and the parts that follow it go, because its shaft "
        "begins in zero itself, as it does in a new job: nobody said where it ends over the face",
        features=(mount.name,),
        at=(mount.pose.x, mount.pose.y),
        advice=Advice(
            "measure from zero to below the middle of the shaft's end, to the right and up, and say so: "
            f"{field}: {{at: [x, y], stretch: [{long:g}, 0]}}"
        ),
        asks=(Remedy(f"{field}.at", [BLANK, BLANK]), Remedy(f"{field}.stretch", [long, 0.0])),
        field=f"{field}.at",
    )


def _gap(mount: PlacedMount, what: str, why: str, advice: str, *asks: Remedy) -> Finding:
    return Finding(
        rule="not-checked",
        level="note",
        message=f"{mount.name}: not checked: {what}, because {why}",
        features=mount.hole_names or (mount.name,),
        at=mount.points[0] if mount.points else (mount.pose.x, mount.pose.y),
        advice=Advice(advice),
        asks=asks,
    )


# --------------------------------------------------------------------------------------------- the drive


def _of_belt(layout: Layout, belt: PlacedBelt) -> Iterator[Finding]:
    """What was not checked of one belt: pulleys of whose shaft nothing is known, then figures that are not given."""
    for pulley in (belt.driver, belt.driven):
        if shaft_of(layout, pulley) is None:
            yield Finding(
                rule="not-checked",
                level="note",
                message=f"{belt.name}: not checked: whether {pulley.name} sits on its shaft and what this runs into, "
                f"because nothing says where the shaft of {pulley.mount} ends; it is taken to be square to the plate",
                features=(pulley.name, pulley.mount),
                at=pulley.at,
                advice=Advice(
                    f"describe it as a body (carried_by: {pulley.mount}, shape: {{circle: {{diameter: ...}}}}, "
                    f"span: [...]); of a part on feet tell how it lies (mounts.{pulley.mount}.shaft)"
                ),
                asks=(shaft_asked(layout, pulley),),
            )
    # Who leaves a rim to the tables of stock pulleys leaves the pulley to them. They list no hubs: what stands out past
    # the rim is the maker's, and is not guessed.
    hubs = {body.pulley for body in layout.bodies if body.name.endswith(".hub")}
    without = [
        pulley.name
        for pulley in (belt.driver, belt.driven)
        if pulley.name not in hubs and typed(layout.spec, f"{pulley.field}.span.width") == "auto"
    ]
    if without:
        end = without[0].rpartition(".")[2]
        whose = f"the hubs of {' and '.join(without)}" if len(without) > 1 else f"the hub of {without[0]}"
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"{belt.name}: not checked: what {whose} {'run' if len(without) > 1 else 'runs'} into, because no "
            "table of stock pulleys lists hubs, and none is given",
            features=(*without, belt.name),
            at=middle(belt),
            advice=Advice(
                f"measure a hub that stands out past its rim: {belt.field}.{end}.hub: {{diameter: ..., span: [...]}}"
            ),
        )
    # what was not checked, why, and what would let it be
    gaps: list[tuple[str, str, str] | tuple[str, str, str, Remedy]] = []
    wanted, forces = belt.request.wanted, belt.result.forces
    if belt.request.motor is None:
        if belt.request.before == 1:  # a second belt's motor is the first one's
            gaps.append(
                (
                    "speeds, forces, torque and the motor's own limits",
                    "no motor is given",
                    "give `drive.motor` with power, speed and frequency from its rating plate",
                    Remedy("drive.motor", {"power": BLANK, "speed": BLANK, "frequency": BLANK}),
                )
            )
    elif wanted.speeds is None and belt is layout.belts[-1]:
        gaps.append(
            (
                "whether the machine runs as fast as it should, with the torque that it needs",
                "the spec does not say what is wanted of it",
                "give the working shaft's: drive.wanted: {from: ... rpm, to: ... rpm, torque: ... Nm}",
                Remedy("drive.wanted", {"from": BLANK, "to": BLANK, "torque": BLANK}),
            )
        )
    elif wanted.speeds is not None and wanted.torque_nm is None:
        gaps.append(
            (
                "whether the torque at the working shaft is enough",
                "the spec gives no required torque",
                "give what the machine takes: drive.wanted.torque, such as 3 Nm",
                Remedy("drive.wanted.torque", BLANK),
            )
        )
    if belt.request.motor is not None and forces is not None:
        if forces.rating.power_w is None:
            gaps.append(
                (
                    f"whether the belt carries {show_power(forces.design_power_w, layout.spec.unit)}",
                    _why_unrated(belt),
                    "look the rating of this belt up in its maker's table; kept as a table of your own "
                    "(belts/power_tables.csv) it is judged by from then on",
                )
            )
        if forces.overhung_limit is None:
            whose = "this motor" if belt.request.before == 1 else f"the bearing of {belt.driver.mount}"
            gaps.append(
                (
                    f"whether {whose} stands the {forces.overhung:.0f} N of the belt",
                    "no table holds it",
                    "compare it with what the maker allows",
                )
            )
        if forces.mass_kg_m is None:
            gaps.append(
                (
                    "how far the belt's own mass slackens it at speed",
                    "its width or ribs are not given",
                    "give the belt's `width`, or its `ribs`",
                )
            )
    for what, why, advice, *asks in gaps:
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"{belt.name}: not checked: {what}, because {why}",
            features=whole(belt),
            at=middle(belt),
            advice=Advice(advice),
            asks=tuple(asks),
        )


SLIT = 8.0
"""A slit round a shaft, of which a finger's reach is told as an example, mm (ISO 13857 table 4: where a row ends)."""


def _of_coupling(layout: Layout, one: PlacedCoupling) -> Iterator[Finding]:
    """What was not checked of one coupling: what no figure of a plate can tell, then figures that are not given."""
    names, spot = (one.body, one.driving.mount, one.driven.mount), one.middle[:2]
    gaps = [
        (
            "how true its shafts run together, its bores, keys and screws, its balance, the thrust and the turning "
            "shakes that it passes on, how warm shafts grow, and what the torque's reaction does to the plate",
            "these are set and measured on the machine: a hole's clearance lets a part be set sideways, and only shims "
            "lift it",
            f"leave {one.driving.mount} loose in its holes, set it by indicator or straight edge as the coupling's "
            "maker says, shim its feet, tighten, and measure again warm",
        )
    ]
    if one.guarded is not None:
        reach = safety_distance("slot", SLIT, None)
        gaps.append(
            (
                f"whether a finger gets at it past what covers it ({one.guarded})",
                "that is told in words",
                f"try it standing still: through a slit of {say(layout, SLIT)} round a shaft a finger reaches "
                f"{say(layout, reach.distance)} ({reach.source.name}; local rules decide)",
            )
        )
    if one.offset is None or one.angle is None:
        key = " and ".join(key for key in ("offset", "angle") if getattr(one, key) is None)
        gaps.append(
            (
                "how far out of line it lets its shafts be",
                f"its {key} {'is' if 'and' not in key else 'are'} not given",
                f"give {one.field}: {key}, from its data sheet",
            )
        )
    if one.torque_nm is None or one.rated_nm is None:
        missing = "no motor is given" if one.torque_nm is None else "its rated torque is not given"
        give = "motor, with power, speed and frequency from its rating plate" if one.torque_nm is None else "torque"
        gaps.append(("whether it carries its motor", missing, f"give {one.field}: {give}"))
    elif one.service_factor is None:
        gaps.append(
            (
                "whether it stands starts and shocks",
                "its service_factor is not given, and 1 is taken",
                f"give {one.field}: service_factor, from its maker's selection",
            )
        )
    if one.speed_rpm is None or one.max_rpm is None:
        missing = "no motor is given" if one.speed_rpm is None else "its top speed is not given"
        gaps.append(("whether it may turn so fast", missing, f"give {one.field}: max_speed, from its data sheet"))
    for what, why, advice in gaps:
        yield Finding(
            rule="not-checked",
            level="note",
            message=f"{one.body}: not checked: {what}, because {why}",
            features=names,
            at=spot,
            advice=Advice(advice),
            field=one.field,
        )


def _why_unrated(belt: PlacedBelt) -> str:
    """Why no table here rates a belt, and its pull beside the usual one, which is the next best thing to go by."""
    made, forces = belt.request.belt, belt.result.forces
    if made is None or forces is None:
        return "no table at hand rates it (rating: look up)"
    why = "no figure of its table reaches its small pulley and speed"
    usual = belts.usual_pull(made.section)
    strands = {"belt": 1.0, "rib": float(made.ribs), "mm": made.width}[belts.mass(made.section).per] * made.count
    if not strands:
        return f"{why} (rating: look up)"
    return (
        f"{why} (rating: look up); it pulls {forces.pull:.0f} N, where {usual.pull * strands:.0f} N is usual "
        f"({usual.source.name}, {usual.source.kind})"
    )


RULES = (
    Rule(
        "not-checked",
        "a check that could not be made",
        "a figure that is not given, or that no table holds",
        "no number",
        not_checked,
        levels=("warn", "note"),
    ),
)
