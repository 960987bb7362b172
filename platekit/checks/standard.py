"""Rules on what a spec says beside a standard that it names itself: pilot, screws, shaft, face, the part's body.

A designation is a short way to many figures; where the spec gives one of them too, the two must be the same part. The
other way round, a figure typed by hand that is a hair off a standard's is told as a question: it may be a slip.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.placed import Layout, PlacedMount
from platekit.spec import models as words
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
    """What contradicts a standard that the spec names, then what may be a standard that it does not name."""
    for mount in layout.mounts.values():
        given = layout.spec.model.mounts[mount.name]
        if mount.standard is not None:
            yield from _pilot(layout, mount, mount.standard, given)
            yield from _screws(layout, mount, mount.standard, given)
            for name, body in layout.spec.model.bodies.items():
                if body.carried_by == mount.name:
                    yield from _body(layout, mount, mount.standard, name, body)
        elif given.pattern.rectangle is not None or _on_a_circle(mount):
            # A circle, rectangle or pilot typed by hand that is a hair off a standard's. Only a figure in round units
            # asks the question: one with decimals beyond those was measured. Where all are a standard's, within what
            # a caliper says, there is nothing to ask.
            near: list[tuple[float, StandardMount, list[_Beside]]] = []
            for row in map(tables.mount, tables.names()):
                pairs = _compared(mount, given, row)
                hair = HAIR if len(pairs) > 1 else HAIR_ALONE
                if not pairs or any(pair.off > hair for pair in pairs):
                    continue
                off = [pair for pair in pairs if pair.off > READING]
                if any(pair.field is None or not _typed(layout, pair.found) for pair in off):
                    continue
                # Of several standards that are near, the one that fits in the most figures, and best, is told.
                near.append((sum(pair.off for pair in pairs) - HAIR * len(pairs), row, off))
            if not near:
                continue
            _, row, off = min(near, key=lambda one: round(one[0], 9))
            for pair in off[:1]:
                assert pair.field is not None
                yield _finding(
                    layout,
                    mount,
                    f"its {pair.what} of {say(layout, pair.found)} is {say(layout, pair.off)} off the "
                    f"{say(layout, pair.listed)} of {row.designation} ({row.source}); did you mean that one?",
                    (pair.found, pair.listed),
                    advice=f"if the part is {row.designation}, write pattern: {{standard: {row.designation}}}, or "
                    f"{say(layout, pair.listed)}; if it was measured so, leave it",
                    remedy=(f"{mount.field}.{pair.field}", f"{pair.listed:.6g} mm"),
                    level="note",
                )
    yield from _parts(layout)


def _level(row: StandardMount) -> Level:
    """A row from memory is no ground to stop a plate."""
    return "warn" if row.source.kind == "from memory" else "stop"


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


def _pilot(layout: Layout, mount: PlacedMount, row: StandardMount, given: words.MountWords) -> Iterator[Finding]:
    pilot = given.pilot
    if pilot is None:
        return
    if row.pilot is None:
        message = (
            f"the spec gives a pilot of {say(layout, pilot.diameter)}; {row.designation} ({row.family}) has none "
            f"({row.source})"
        )
        yield _finding(layout, mount, message, (pilot.diameter, 0.0), advice=f"take `pilot` out; {_another(row)}")
        return
    low, high = row.pilot - READING, row.pilot + READING
    if row.pilot_tolerance is not None:
        low, high = low + row.pilot_tolerance.lower, high + row.pilot_tolerance.upper
    if not low <= pilot.diameter <= high:
        message = (
            f"the spec gives a pilot of {say(layout, pilot.diameter)}; that of {row.designation} is "
            f"{say(layout, row.pilot)} ({row.source})"
        )
        # Another face of the same frame, whose pilot is of this diameter (mm): B14 large, or B5, for B14.
        frame = " ".join(row.designation.split()[:2])
        sisters = [name for name in tables.names() if name.startswith(f"{frame} ") and name != row.designation]
        sister = next(
            (name for name in sisters if abs((tables.mount(name).pilot or 0.0) - pilot.diameter) <= READING), None
        )
        other = _another(row) if sister is None else f"{say(layout, pilot.diameter)} would be {sister}"
        yield _finding(
            layout,
            mount,
            message,
            (pilot.diameter, row.pilot),
            advice=f"take the standard's {say(layout, row.pilot)}; {other}",
            remedy=(f"{mount.field}.pilot.diameter", f"{row.pilot:.6g} mm"),
        )
    if row.pilot_depth is not None and "depth" in pilot.model_fields_set:
        yield from _pilot_depth(layout, mount, row, pilot.depth, row.pilot_depth)


def _pilot_depth(
    layout: Layout, mount: PlacedMount, row: StandardMount, depth: float, listed: float
) -> Iterator[Finding]:
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
        level=_level(row),
    )


# ------------------------------------------------------------------------------------------- the screws


def _screws(layout: Layout, mount: PlacedMount, row: StandardMount, given: words.MountWords) -> Iterator[Finding]:
    screws = given.screws
    if screws is None or mount.stack is None:
        return
    size = mount.stack.size
    if row.screw is not None:
        # A part whose own holes are threads.
        assert row.screw is not None
        listed, found = tables.screw(row.screw), tables.screw(size)
        if screws.into == "part" and found.size != listed.size:
            yield _finding(
                layout,
                mount,
                f"the spec gives {size} screws; the threads in {row.designation} are {row.screw} ({row.source})",
                (found.diameter, listed.diameter),
                advice=f"take {row.screw}, or leave `size` out; {_another(row)}",
                remedy=(f"{mount.field}.screws.size", row.screw),
                level=_level(row),
            )
        elif screws.into != "part" and found.diameter > listed.tap_drill:
            yield _finding(
                layout,
                mount,
                f"{size} screws are to go through to {'a nut' if screws.into == 'nut' else 'the plate'}; the holes in "
                f"{row.designation} are {row.screw} threads ({row.source})",
                (found.diameter, listed.tap_drill),
                advice=f"screw into the part (into: part); {_another(row)}",
                level=_level(row),
            )
    elif row.hole is not None:
        yield from _plain(layout, mount, row, size, row.hole, screws)
    deepest = row.thread_depth
    if screws.into != "part" or deepest is None or screws.depth is None or screws.depth <= deepest + DEPTH_READING:
        return
    yield _finding(
        layout,
        mount,
        f"the spec says that its threads are {say(layout, screws.depth)} deep; {row.designation} lets a screw "
        f"{say(layout, deepest)} in ({row.source})",
        (screws.depth, deepest),
        advice=f"take the standard's {say(layout, deepest)}: a longer screw may run into the winding",
        remedy=(f"{mount.field}.screws.depth", f"{deepest:.6g} mm"),
    )


def _plain(
    layout: Layout, mount: PlacedMount, row: StandardMount, size: str, hole: float, screws: words.ScrewWords
) -> Iterator[Finding]:
    """A part whose own holes are plain: the screw must pass them, and not rattle in them."""
    screw = tables.screw(size)
    if screws.into == "part":
        yield _finding(
            layout,
            mount,
            f"{size} screws are to hold in the part; {row.designation} has plain holes of {say(layout, hole)} and no "
            f"thread ({row.source})",
            (hole, screw.diameter),
            advice=f"use a nut (into: nut, with flange) or a tapped plate (into: plate); {_another(row)}",
            level=_level(row),
        )
    # A screw into the part would need a thread; one through it must pass, with play but not too much of it.
    elif screw.diameter > hole - 1e-6:
        fitting = _passes(screw.system, hole)
        yield _finding(
            layout,
            mount,
            f"{size} screws do not pass the {say(layout, hole)} holes of {row.designation} ({row.source})",
            (screw.diameter, hole),
            advice=f"take {fitting}; {_another(row)}" if fitting else _another(row),
            remedy=(f"{mount.field}.screws.size", fitting) if fitting else None,
            level=_level(row),
        )
    elif hole > screw.clearance.get("loose", math.inf) + LOOSEST * screw.diameter:
        fitting = _passes(screw.system, hole)
        yield _finding(
            layout,
            mount,
            f"{size} screws have {say(layout, hole - screw.diameter)} of play in the {say(layout, hole)} holes of "
            f"{row.designation} ({row.source})",
            (screw.diameter, hole),
            advice=f"take {fitting}" if fitting else _another(row),
            remedy=(f"{mount.field}.screws.size", fitting) if fitting else None,
            level="warn",
        )


def _passes(system: str, hole: float) -> str | None:
    """The largest coarse screw of a system whose close clearance hole is not wider than a hole."""
    fitting = [
        screw
        for screw in map(tables.screw, tables.screw_sizes())
        if screw.system == system
        and screw.series in ("coarse", "UNC")
        and screw.clearance.get("close", math.inf) <= hole
    ]
    return max(fitting, key=lambda screw: screw.diameter).size if fitting else None


# ------------------------------------------------------------------------------------------- bodies


def _body(
    layout: Layout, mount: PlacedMount, row: StandardMount, name: str, body: words.BodyWords
) -> Iterator[Finding]:
    """A body that is the standard part's own shaft or face, by its name and place."""
    lying, circle = body.lying, None if body.shape is None else body.shape.circle
    if row.shaft is not None and _called(name, SHAFT_WORDS):
        if lying is not None and row.shaft_height is not None and abs(lying.height - row.shaft_height) > LENGTH_READING:
            figures = (lying.height, row.shaft_height)
            yield _of_body(layout, mount, row, name, "{} above its feet", figures, f"bodies.{name}.lying.height")
        if body.shape is not None and circle is not None and math.hypot(*body.shape.at) < SHAFT_READING:
            yield from _shaft(layout, mount, row, name, body)
    face = row.face if row.face_shape == "round" and row.hole is not None else None
    if circle is None or face is None or not _called(name, FLANGE_WORDS) or abs(circle.diameter - face) <= FACE_READING:
        return
    figures, key = (circle.diameter, face), f"bodies.{name}.shape.circle.diameter"
    yield _of_body(layout, mount, row, name, "{} across", figures, key, level="warn")


def _called(name: str, wanted: tuple[str, ...]) -> bool:
    return any(word in name.lower() for word in wanted)


def _shaft(
    layout: Layout, mount: PlacedMount, row: StandardMount, name: str, body: words.BodyWords
) -> Iterator[Finding]:
    """A given shaft of a face: as thick and as long as the standard's, or as the thinner one of two poles."""
    assert body.shape is not None
    assert body.shape.circle is not None
    assert row.shaft is not None
    if body.span is None or body.span[0] >= 0:
        return
    diameter, length = body.shape.circle.diameter, -body.span[0]
    if any(f"{diameter:g}x{length:g}" in note for note in row.notes):
        return
    level: Level = "stop" if layout.spec.model.mounts[mount.name].standard_bodies else "warn"
    if abs(diameter - row.shaft) > SHAFT_READING:
        figures, key = (diameter, row.shaft), f"bodies.{name}.shape.circle.diameter"
        yield _of_body(layout, mount, row, name, "{} thick", figures, key, level=level)
    if row.shaft_length is not None and abs(length - row.shaft_length) > LENGTH_READING:
        figures, key = (length, row.shaft_length), f"bodies.{name}.span.0"
        yield _of_body(layout, mount, row, name, "{} long from the face", figures, key, sense=-1.0, level=level)


def _of_body(
    layout: Layout,
    mount: PlacedMount,
    row: StandardMount,
    name: str,
    what: str,
    figures: tuple[float, float],
    field: str,
    *,
    sense: float = 1.0,
    level: Level = "stop",
) -> Finding:
    """A figure of a body beside the standard's, both mm; `sense` is -1 where the spec counts it the other way."""
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
        level=level if _level(row) == "stop" else "warn",
        feature=name,
    )


def _parts(layout: Layout) -> Iterator[Finding]:
    """A body that is a standard part where the mount that carries it is another: their holes do not agree."""
    for name, body in layout.spec.model.bodies.items():
        if body.standard is None or body.carried_by not in layout.mounts or math.hypot(*body.at) > HAIR:
            continue
        mount, row = layout.mounts[body.carried_by], tables.mount(body.standard)
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
            remedy=None if own is None else (f"bodies.{name}.standard", own.designation),
            level=_level(row),
            feature=name,
        )


def reach(points: tuple[tuple[float, float], ...]) -> float:
    """How far the farthest hole lies from the middle of all, mm."""
    middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
    return max(math.dist(point, middle) for point in points)


# ------------------------------------------------------------------------------------------- typed by hand


def _on_a_circle(mount: PlacedMount) -> bool:
    """Whether its holes may be a standard's: not more than any has, and as far from its zero as each other."""
    if len(mount.own_points) > MOST_HOLES:
        return False
    radii = [math.hypot(*point) for point in mount.own_points]
    return max(radii) - min(radii) <= HAIR_ALONE


class _Beside(Struct, frozen=True):
    """One figure of a mount beside a standard's, mm; `field` is where it was typed, None where it was not."""

    what: str
    field: str | None
    found: float
    listed: float

    @property
    def off(self) -> float:
        return abs(self.found - self.listed)


def _compared(mount: PlacedMount, given: words.MountWords, row: StandardMount) -> list[_Beside]:
    """What a mount without a standard has in common with one; empty where they are of another kind."""
    circle, rectangle, pilot = given.pattern.circle, given.pattern.rectangle, given.pilot
    pairs = []
    if rectangle is not None:
        if row.width is None or row.height is None:
            return []
        sides = (row.width, row.height)
        if abs(rectangle.width - row.width) > HAIR:
            sides = (row.height, row.width)
        pairs.append(_Beside("width", "pattern.rectangle.width", rectangle.width, sides[0]))
        pairs.append(_Beside("height", "pattern.rectangle.height", rectangle.height, sides[1]))
    else:
        if row.bolt_circle is None or len(mount.own_points) != row.holes:
            return []
        radii = [math.hypot(*point) for point in mount.own_points]
        field = None if circle is None else "pattern.circle.diameter"
        pairs.append(_Beside("bolt circle", field, 2 * sum(radii) / len(radii), row.bolt_circle))
    if pilot is not None and row.pilot is not None:
        pairs.append(_Beside("pilot", "pilot.diameter", pilot.diameter, row.pilot))
    return pairs


def _typed(layout: Layout, value: float) -> bool:
    """Whether a length looks typed from a drawing: whole or half mm, or an even part of an inch."""
    step = 0.5 if layout.spec.unit == "mm" else 25.4 / 32
    return abs(value / step - round(value / step)) < 1e-6 or abs(value / 12.7 - round(value / 12.7)) < 1e-6


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
