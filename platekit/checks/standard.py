"""Rules on what a spec says beside a standard that it names itself: pilot, screws, shaft, face, the part's body.

A designation is a short way to many figures; where the spec gives one of them too, the two must be the same part. The
other way round, a figure typed by hand that is a hair off a standard's is told as a question: it may be a slip.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.placed import Layout, PlacedMount, TypedBody, TypedMount
from platekit.tables import StandardMount

READING = 0.15
"""A diameter measured by caliper may differ from the true one by this, mm (common practice)."""
DEPTH_READING = 0.3
"""A depth measured with a caliper's rod may differ by this, mm (common practice)."""
ROUNDED_DEPTH = 0.1
"""A printed depth may be rounded by this, mm (ours): 0.16 in is 4.06 mm."""
ABOVE_A_LEAST = 1.0
"""How much higher than a standard's least a pilot is made, mm (ours)."""
SHAFT_READING = 0.3
"""A shaft's diameter may be read or rounded by this, mm (ours)."""
LENGTH_READING = 1.5
"""A shaft's length or height may be read or rounded by this, mm (ours)."""
HAIR = 1.0
"""A figure typed by hand within this of a standard's, mm, may be meant to be it where another agrees too (ours)."""
HAIR_ALONE = 0.5
"""The same where no other figure speaks for that standard, mm (ours): round figures lie near many."""
LOOSEST = 0.15
"""A hole this share of the screw's diameter wider than its loose clearance hole is meant for another screw (ours)."""
MOST_HOLES = 24
"""No standard mount has more holes than this (of those in the tables)."""
SHAFT_WORDS = ("shaft", "spindle", "journal")
"""What a body that is a shaft is called."""
FLANGE_WORDS = ("flange", "face")
"""What a body that is a part's mounting face is called."""
FACE_READING = 3.0
"""How far the outside of a flange may be from the standard's, mm (ours): it is not a fit."""


def standard(layout: Layout) -> Iterator[Finding]:
    """What contradicts a standard (mm) that the spec names, then what may be a standard that it does not name."""
    typed = layout.typed_mounts
    for mount in layout.mounts.values():
        if mount.lug_of is not None:  # ours: no standard is meant
            continue
        if mount.standard is None:
            yield from _nearly(layout, mount, typed[mount.name])
            yield from _bore(layout, mount, typed[mount.name])
            continue
        yield from _pilot(layout, mount, mount.standard, typed[mount.name])
        yield from _screws(layout, mount, mount.standard, typed[mount.name])
        yield from _shaft(layout, mount, mount.standard, typed[mount.name])
        for body in layout.typed_bodies:
            if body.carrier == mount.name:
                yield from _body(layout, mount, mount.standard, body, typed[mount.name].standard_bodies)
    # a body that is a standard part where the mount that carries it is another: their holes do not agree
    for body in layout.typed_bodies:
        if body.standard is None or body.carrier not in layout.mounts or math.hypot(*body.at) > HAIR:
            continue
        mount, row = layout.mounts[body.carrier], tables.mount(body.standard)
        own = mount.standard
        if own is not None and own.designation == row.designation:
            continue
        if not mount.points or len(row.points) != len(mount.own_points):
            continue
        found, listed = reach(mount.own_points), reach(row.points)
        if own is None and abs(found - listed) <= HAIR:
            continue
        said = f"the mount is {own.designation}" if own is not None else f"its holes are {say(layout, 2 * found)} apart"
        yield _finding(
            layout,
            mount,
            f"the body is {row.designation}, with holes {say(layout, 2 * listed)} apart; {said} on {mount.name} "
            f"({row.source})",
            (2 * found, 2 * listed),
            advice=f"name one part: give the body the mount's own standard, or the mount {row.designation}",
            remedy=None if own is None else (f"bodies.{body.name}.standard", own.designation),
            level=_level(row, *PATTERN),
            feature=body.name,
        )


PATTERN = ("bolt_circle", "spacing", "width", "height", "square")
"""How columns begin that tell how far a part's holes are apart."""


def _level(row: StandardMount, *figures: str) -> Level:
    """What is from memory is no ground to stop a plate: a whole row, or figures whose columns begin like these."""
    doubted = any(column.startswith(figures) for column in row.source.doubted) if figures else False
    return "warn" if row.source.kind == "from memory" or doubted else "stop"


def _finding(
    layout: Layout,
    mount: PlacedMount,
    message: str,
    figures: tuple[float, float],
    *,
    advice: str,
    remedy: tuple[str, FieldValue] | None = None,
    more: tuple[Remedy, ...] = (),
    level: Level = "stop",
    feature: str = "",
) -> Finding:
    found, needed = figures
    return Finding(
        rule="standard",
        level=level,
        message=f"{feature or mount.name}: {message}",
        features=(feature, mount.name) if feature else (mount.name, *mount.hole_names),
        at=mount.points[0] if mount.points else (mount.pose.x, mount.pose.y),
        found=found,
        needed=needed,
        advice=Advice(advice, () if remedy is None else (Remedy(*remedy), *more)),
    )


def _another(row: StandardMount) -> str:
    return f"where the part at hand is no {row.designation}, give its holes as they are instead of `standard`"


# ------------------------------------------------------------------------------------------- the pilot


def _pilot(layout: Layout, mount: PlacedMount, row: StandardMount, typed: TypedMount) -> Iterator[Finding]:
    """A pilot that the spec gives beside its standard: whether there is one, its diameter, its depth."""
    diameter, depth, listed = typed.pilot, typed.pilot_depth, row.pilot_depth
    if diameter is None:
        return
    if row.pilot is None:
        message = (
            f"the spec gives a pilot of {say(layout, diameter)}; {row.designation} ({row.family}) has none "
            f"({row.source})"
        )
        yield _finding(layout, mount, message, (diameter, 0.0), advice=f"take `pilot` out; {_another(row)}")
        return
    # a reading may be off as well as the part within its own tolerance
    low, high = row.pilot - READING, row.pilot + READING
    if row.pilot_tolerance is not None:
        low, high = low + row.pilot_tolerance.lower, high + row.pilot_tolerance.upper
    if not low <= diameter <= high:
        message = (
            f"the spec gives a pilot of {say(layout, diameter)}; that of {row.designation} is "
            f"{say(layout, row.pilot)} ({row.source})"
        )
        # Another face of the same frame, whose pilot is of this diameter (mm): B14 large, or B5, for B14.
        frame = " ".join(row.designation.split()[:2])
        sisters = [name for name in tables.names() if name.startswith(f"{frame} ") and name != row.designation]
        sister = next((name for name in sisters if abs((tables.mount(name).pilot or 0.0) - diameter) <= READING), None)
        other = _another(row) if sister is None else f"{say(layout, diameter)} would be {sister}"
        yield _finding(
            layout,
            mount,
            message,
            (diameter, row.pilot),
            advice=f"take the standard's {say(layout, row.pilot)}; {other}",
            remedy=(f"{mount.field}.pilot.diameter", f"{row.pilot:.6g} mm"),
        )
    if listed is None or depth is None:
        return
    # A standard that gives a least depth lets makers go above it, and one that gives a most, below: the reading may be
    # off on that side only.
    below = ROUNDED_DEPTH if row.pilot_depth_is == "minimum" else DEPTH_READING
    if row.pilot_depth_least is not None:
        below += listed - row.pilot_depth_least
    above = {"minimum": ABOVE_A_LEAST, "maximum": ROUNDED_DEPTH}.get(row.pilot_depth_is, DEPTH_READING)
    if listed - below - 1e-9 <= depth <= listed + above + 1e-9:
        return
    bound = {"minimum": "at least ", "maximum": "at most "}.get(row.pilot_depth_is, "")
    message = (
        f"the spec says that its pilot is {say(layout, depth)} high; that of {row.designation} is "
        f"{bound}{say(layout, listed)} ({row.source})"
    )
    lifted = ""
    more: tuple[Remedy, ...] = ()
    # A pilot that is kept out of the plate needs spacers as high as it really is.
    if mount.pilot_opening == "none" and mount.standoff < listed:
        lifted = f", with spacers of {say(layout, listed)} to keep it out of the plate"
        more = (Remedy(f"{mount.field}.standoff", f"{listed:.6g} mm"),)
    yield _finding(
        layout,
        mount,
        message,
        (depth, listed),
        advice=f"take the standard's {say(layout, listed)}{lifted}, or measure it and accept this; a pilot that is "
        "higher than was thought keeps the faces apart",
        remedy=(f"{mount.field}.pilot.depth", f"{listed:.6g} mm"),
        more=more,
        level=_level(row, "pilot_depth"),
    )


# ------------------------------------------------------------------------------------------- the screws


def _screws(layout: Layout, mount: PlacedMount, row: StandardMount, typed: TypedMount) -> Iterator[Finding]:
    """Screws that do not go with the standard's own holes, threads or plain, and threads deeper than it lets be."""
    into, depth, hole = typed.into, typed.thread_depth, row.hole
    if into is None or mount.stack is None:
        return
    size = mount.stack.size
    screw = tables.screw(size)
    if row.screw is not None:
        # A part whose own holes are threads: the screw is theirs, or, going through, thin enough for their bore.
        listed = tables.screw(row.screw)
        if into in ("part", "stud") and screw.size != listed.size:
            yield _finding(
                layout,
                mount,
                f"the spec gives {size} screws; the threads in {row.designation} are {row.screw} ({row.source})",
                (screw.diameter, listed.diameter),
                advice=f"take {row.screw}, or leave `size` out; {_another(row)}",
                remedy=(f"{mount.field}.screws.size", row.screw),
                level=_level(row, *PATTERN),
            )
        elif into not in ("part", "stud") and screw.diameter > listed.tap_drill:
            yield _finding(
                layout,
                mount,
                f"{size} screws are to go through to {'a nut' if into == 'nut' else 'the plate'}; the holes in "
                f"{row.designation} are {row.screw} threads ({row.source})",
                (screw.diameter, listed.tap_drill),
                advice=f"screw into the part (into: part); {_another(row)}",
                level=_level(row, *PATTERN),
            )
    elif hole is not None and into == "part":
        # A part whose own holes are plain: a screw into the part would need a thread there.
        yield _finding(
            layout,
            mount,
            f"{size} screws are to hold in the part; {row.designation} has plain holes of {say(layout, hole)} and no "
            f"thread ({row.source})",
            (hole, screw.diameter),
            advice=f"use a nut (into: nut, with flange) or a tapped plate (into: plate); {_another(row)}",
            level=_level(row),
        )
    elif hole is not None:
        # One through it must pass, with play but not too much of it. What would do: the largest coarse screw of the
        # same system whose close clearance hole is not wider than the part's.
        fitting = max(
            (
                one
                for one in map(tables.screw, tables.screw_sizes())
                if one.system == screw.system
                and one.series in ("coarse", "UNC")
                and one.clearance.get("close", math.inf) <= hole
            ),
            key=lambda one: one.diameter,
            default=None,
        )
        remedy = (f"{mount.field}.screws.size", fitting.size) if fitting else None
        if screw.diameter > hole - 1e-6:
            yield _finding(
                layout,
                mount,
                f"{size} screws do not pass the {say(layout, hole)} holes of {row.designation} ({row.source})",
                (screw.diameter, hole),
                advice=f"take {fitting.size}; {_another(row)}" if fitting else _another(row),
                remedy=remedy,
                level=_level(row, *PATTERN),
            )
        elif hole > screw.clearance.get("loose", math.inf) + LOOSEST * screw.diameter:
            yield _finding(
                layout,
                mount,
                f"{size} screws have {say(layout, hole - screw.diameter)} of play in the {say(layout, hole)} holes of "
                f"{row.designation} ({row.source})",
                (screw.diameter, hole),
                advice=f"take {fitting.size}" if fitting else _another(row),
                remedy=remedy,
                level="warn",
            )
    deepest = row.thread_depth
    if into != "part" or deepest is None or depth is None or depth <= deepest + DEPTH_READING:
        return
    yield _finding(
        layout,
        mount,
        f"the spec says that its threads are {say(layout, depth)} deep; {row.designation} lets a screw "
        f"{say(layout, deepest)} in ({row.source})",
        (depth, deepest),
        advice=f"take the standard's {say(layout, deepest)}: a longer screw may run into the winding",
        remedy=(f"{mount.field}.screws.depth", f"{deepest:.6g} mm"),
    )


# ------------------------------------------------------------------------------------------- its shaft


def _shaft(layout: Layout, mount: PlacedMount, row: StandardMount, typed: TypedMount) -> Iterator[Finding]:
    """A shaft (mm) that the spec tells in the standard's place, and that is not the standard's."""
    if typed.shaft is None or row.shaft is None:
        return
    across, length = typed.shaft
    # the other number of poles has another shaft, which the notes of the row list
    if any(f"{across:g}x{length:g}" in note for note in row.notes):
        return
    pairs = [("thick", across, row.shaft, SHAFT_READING)]
    if row.shaft_length is not None:
        pairs.append(("long", length, row.shaft_length, LENGTH_READING))
    off = [pair for pair in pairs if abs(pair[1] - pair[2]) > pair[3]]
    if not off:
        return
    found = " and ".join(f"{say(layout, pair[1])} {pair[0]}" for pair in off)
    listed = " and ".join(f"{say(layout, pair[2])} {pair[0]}" for pair in off)
    yield _finding(
        layout,
        mount,
        f"the spec tells a shaft {found}; that of {row.designation} is {listed} ({row.source}); the opening that lets "
        "it through goes by what is told",
        (off[0][1], off[0][2]),
        advice=f"take `shaft` out, or, where it was measured so, accept this; {_another(row)}",
        level="warn",
    )


# ------------------------------------------------------------------------------------------- bodies


def _body(
    layout: Layout, mount: PlacedMount, row: StandardMount, body: TypedBody, standard_bodies: bool
) -> Iterator[Finding]:
    """A body that is the standard part's own shaft or face, by its name and place."""
    field, circle = f"bodies.{body.name}", body.circle
    # By name, since a body says nowhere what it is; by place, since a shaft of the part itself lies on its zero.
    is_shaft = row.shaft is not None and any(word in body.name.lower() for word in SHAFT_WORDS)
    is_flange = any(word in body.name.lower() for word in FLANGE_WORDS)
    height, listed = body.height, row.shaft_height
    if is_shaft and height is not None and listed is not None and abs(height - listed) > LENGTH_READING:
        yield _of_body(layout, mount, row, body, "{} above its feet", (height, listed), f"{field}.lying.height")
    central = body.circle_at is not None and math.hypot(*body.circle_at) < SHAFT_READING
    if is_shaft and circle is not None and central and body.span is not None and body.span[0] < 0:
        assert row.shaft is not None
        # As thick and as long as the standard's, or as the other number of poles has it, which its notes list.
        length = -body.span[0]
        if not any(f"{circle:g}x{length:g}" in note for note in row.notes):
            level: Level = "stop" if standard_bodies else "warn"
            if abs(circle - row.shaft) > SHAFT_READING:
                figures, key = (circle, row.shaft), f"{field}.shape.circle.diameter"
                yield _of_body(layout, mount, row, body, "{} thick", figures, key, level=level)
            if row.shaft_length is not None and abs(length - row.shaft_length) > LENGTH_READING:
                figures, key = (length, row.shaft_length), f"{field}.span.0"
                said = "{} long from the face"
                yield _of_body(layout, mount, row, body, said, figures, key, sense=-1.0, level=level)
    face = row.face if row.face_shape == "round" and row.hole is not None else None
    if circle is not None and face is not None and is_flange and abs(circle - face) > FACE_READING:
        figures, key = (circle, face), f"{field}.shape.circle.diameter"
        yield _of_body(layout, mount, row, body, "{} across", figures, key, level="warn")


def _of_body(
    layout: Layout,
    mount: PlacedMount,
    row: StandardMount,
    body: TypedBody,
    what: str,
    figures: tuple[float, float],
    field: str,
    *,
    sense: float = 1.0,
    level: Level = "stop",
) -> Finding:
    """A figure of a body beside the standard's, both mm; `sense` is -1 where the spec counts it the other way."""
    # both figures and whose they are, so that a reader sees which of the two was looked up
    found, listed = figures
    return _finding(
        layout,
        mount,
        f"is {what.format(say(layout, found))}; {what.format(say(layout, listed))} is that of "
        f"{row.designation}, which {mount.name} is said to be ({row.source})",
        figures,
        advice=f"take the standard's {say(layout, listed)}, or, where it really differs, set "
        f"mounts.{mount.name}.standard_bodies: false and accept this; {_another(row)}",
        remedy=(field, f"{sense * listed:.6g} mm"),
        level=level if _level(row, "shaft", "face") == "stop" else "warn",
        feature=body.name,
    )


def reach(points: tuple[tuple[float, float], ...]) -> float:
    """How far the farthest hole lies from the middle of all, mm."""
    middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
    return max(math.dist(point, middle) for point in points)


# ------------------------------------------------------------------------------------------- typed by hand


def _nearly(layout: Layout, mount: PlacedMount, typed: TypedMount) -> Iterator[Finding]:
    """A circle, rectangle or pilot typed by hand that is a hair off a standard's: a question, not a mistake.

    Only a figure in round units asks it: one with decimals beyond those was measured. Where all are a standard's,
    within what a caliper says, there is nothing to ask.
    """
    radii = [math.hypot(*point) for point in mount.own_points]
    if typed.rectangle is None and (len(radii) > MOST_HOLES or max(radii) - min(radii) > HAIR_ALONE):
        return  # neither a rectangle nor on one circle, as all mounts of the tables are
    # figures beside a standard's, each as what it is, the field where it was typed (None: nowhere), found, listed
    near: list[tuple[float, StandardMount, list[tuple[str, str | None, float, float]]]] = []
    # of a circle only those beside it can be meant: the others, a few hundred, are not even built
    circle = 2 * sum(radii) / len(radii)
    beside = tables.every_mount() if typed.rectangle else tables.mounts_on_circle(circle, max(HAIR, HAIR_ALONE))
    for row in beside:
        pairs: list[tuple[str, str | None, float, float]] = []
        if typed.rectangle is not None:
            if row.width is None or row.height is None:
                continue
            # a foot's pattern has no up: the side that is near the standard's width is its width
            width, height = typed.rectangle
            sides = (row.width, row.height)
            if abs(width - row.width) > HAIR:
                sides = (row.height, row.width)
            pairs.append(("width", "pattern.rectangle.width", width, sides[0]))
            pairs.append(("height", "pattern.rectangle.height", height, sides[1]))
        else:
            if row.bolt_circle is None or len(radii) != row.holes:
                continue
            field = None if typed.circle is None else "pattern.circle.diameter"
            pairs.append(("bolt circle", field, circle, row.bolt_circle))
        if typed.pilot is not None and row.pilot is not None:
            pairs.append(("pilot", "pilot.diameter", typed.pilot, row.pilot))
        off = [abs(found - listed) for _, _, found, listed in pairs]
        if max(off) > (HAIR if len(pairs) > 1 else HAIR_ALONE):
            continue
        # What looks typed from a drawing: whole or half mm, or an even part of an inch (all in mm here).
        step = 0.5 if layout.spec.unit == "mm" else 25.4 / 32
        asked = [pair for pair, by in zip(pairs, off, strict=True) if by > READING]
        if any(
            field is None or min(abs(found / one - round(found / one)) for one in (step, 12.7)) >= 1e-6
            for _, field, found, _ in asked
        ):
            continue
        # Of several standards that are near, the one that fits in the most figures, and best, is told.
        near.append((sum(off) - HAIR * len(pairs), row, asked))
    if not near:
        return
    _, row, asked = min(near, key=lambda one: round(one[0], 9))
    for what, field, found, listed in asked[:1]:
        yield _finding(
            layout,
            mount,
            f"its {what} of {say(layout, found)} is {say(layout, abs(found - listed))} off the "
            f"{say(layout, listed)} of {row.designation} ({row.source}); did you mean that one?",
            (found, listed),
            advice=f"if the part is {row.designation}, write pattern: {{standard: {row.designation}}}, or "
            f"{say(layout, listed)}; if it was measured so, leave it",
            remedy=(f"{mount.field}.{field}", f"{listed:.6g} mm"),
            level="note",
        )


def _bore(layout: Layout, mount: PlacedMount, typed: TypedMount) -> Iterator[Finding]:
    """A pilot (mm) that is none of the bores that were measured with its part's holes: a question."""
    if mount.survey is None or typed.pilot is None:
        return
    bores = {one.name: one.diameter for one in mount.survey.net.features if one.kind == "bore" and one.diameter}
    if not bores or any(abs(found - typed.pilot) <= HAIR for found in bores.values()):
        return
    name, found = min(bores.items(), key=lambda one: (abs(one[1] - (typed.pilot or 0.0)), one[0]))
    yield _finding(
        layout,
        mount,
        f"its pilot is told as {say(layout, typed.pilot)}; of its bores none measures so, the nearest, {name}, "
        f"{say(layout, found)}; did you mean that one?",
        (typed.pilot, found),
        advice=f"if {name} locates it, give pilot: {{diameter: {say(layout, found)}}}; if another does, leave it",
        remedy=(f"{mount.field}.pilot.diameter", f"{found:.6g} mm"),
        level="note",
    )


RULES = (
    Rule(
        "standard",
        "a part that is not the one whose standard the spec names",
        f"the standard's own figure; {READING:g} mm for a diameter, {DEPTH_READING:g} mm for a depth as read",
        "mount tables, each row with its kind; common practice",
        standard,
        levels=("stop", "warn", "note"),
        keys=("mounts.NAME.pattern.standard",),
    ),
)
