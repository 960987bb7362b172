"""The figures of a spec, each with its kind: what the rules on plausible figures go through.

A figure is held against the bounds of its kind (`tables/usual.py`). One that is outside of them, but not if it is read
in the other unit of length, was meant in that unit; a bare angle that is a round share of a half turn was meant in
radians. All of this looks at the spec alone, so that it can be asked of a changed one without laying it out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any, Literal

from msgspec import Struct

from platekit import tables
from platekit.errors import LookupFailed, Problem
from platekit.spec import models as words
from platekit.spec.drive_words import SeatWords, Stage
from platekit.spec.guard_words import GuardWords
from platekit.spec.reading import Spec
from platekit.spec.source import node_at, path_of
from platekit.tables.rows import kept
from platekit.tables.usual import Usual, usual
from platekit.units import INCH, Unit

UNIT_WORDS: dict[Unit, str] = {"mm": "millimetres", "in": "inches"}
"""The units in words: `in` alone reads as something else."""
ENGINES = ("motor", "engine", "gearbox")
"""What a body that is the whole of a motor is called, at its end or before `body`; a motor shaft is none."""
FEWEST_DECIMALS = 2
"""An angle with fewer decimals is no angle in radians (ours): 1.6 deg is what a level shows."""
MOST_RADIANS = 6.3
"""An angle beyond one turn, rad, is not typed so (ours)."""
HALF_TURNS = (12, 8, 6, 5, 4, 3, 2, 1)
"""Round shares of a half turn that an angle is meant to be (ours)."""
ANGLES = frozenset({"turn", "angle", "start", "along", "up", "axis"})
"""Keys whose value is one angle."""

Place = Literal["possible", "unusual", "impossible"]


class SpecFigure(Struct, frozen=True):
    """One figure of a spec: where it stands, its kind, its value in mm, and the mm of what its bounds are told in.

    `feature` is the mount, body or cutout that it belongs to.
    """

    field: str
    kind: str
    value: float
    feature: str
    of: float = 1.0

    @property
    def bounds(self) -> Usual:
        """The bounds of its kind."""
        return usual(self.kind)

    @property
    def possible(self) -> tuple[float, float]:
        """Between what it can be at all, mm."""
        low, high = self.bounds.possible
        return low * self.of, high * self.of

    @property
    def usually(self) -> tuple[float, float]:
        """Between what it usually is, mm."""
        low, high = self.bounds.usual
        return low * self.of, high * self.of

    @property
    def place(self) -> Place:
        """How it lies in its bounds."""
        if not _within(self.value, self.possible):
            return "impossible"
        return "possible" if _within(self.value, self.usually) else "unusual"

    def meant(self, spec: Spec) -> Unit | None:
        """The other unit of length, if it was typed without one and would be usual in that; else None."""
        other: Unit = "in" if spec.unit == "mm" else "mm"
        factor = INCH if other == "in" else 1 / INCH
        if self.place == "possible" or not _bare(typed(spec, self.field)):
            return None
        return other if _within(self.value * factor, self.usually) else None


def _within(value: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] * (1 - 1e-9) <= value <= bounds[1] * (1 + 1e-9)


def typed(spec: Spec, field: str) -> Any:
    """What stands in the file at a field; None where nothing does."""
    node = node_at(spec.top, path_of(field, spec.top))
    return None if node is None else node.data


def _bare(data: Any) -> bool:
    """Whether a value is figures without a unit of their own."""
    match data:
        case bool() | None:
            return False
        case int() | float():
            return True
        case str():
            return re.fullmatch(r"\s*[-+]?[0-9./ -]+\s*", data) is not None
        case list():
            return bool(data) and all(_bare(item) for item in data)
    return False


def in_unit(data: Any, unit: str) -> Any:
    """A value as typed, each figure with a unit behind it."""
    if isinstance(data, list):
        return [in_unit(item, unit) for item in data]
    return f"{data:.10g} {unit}" if isinstance(data, int | float) else f"{data.strip()} {unit}"


def unit_slips(spec: Spec) -> tuple[Problem, ...]:
    """Every figure that fits nothing as it is read, but does in the other unit, as a problem of the spec."""
    # Only what is impossible as read and usual in the other unit: a slip of units shows in dozens of figures at once,
    # and a single odd one is the rule `unusual`'s, once the plate is laid out.
    slips = [(figure, figure.meant(spec)) for figure in figures_of(spec) if figure.place == "impossible"]
    return tuple(
        spec.problem(
            figure.field,
            f"what looks like {UNIT_WORDS[unit]}, read as {UNIT_WORDS[spec.unit]}",
            f"a {figure.kind} is usual so in {UNIT_WORDS[unit]} only: write the unit behind it, or `units: {unit}`",
        )
        for figure, unit in slips
        if unit is not None
    )


# ------------------------------------------------------------------------------------------- all of them


def figures_of(spec: Spec) -> Iterator[SpecFigure]:
    """Every figure of a spec whose kind has bounds."""
    model = spec.model
    yield SpecFigure("plate.thickness", "thickness", model.plate.thickness, "plate")
    outline = model.plate.outline
    if outline.rectangle is not None:
        for key in ("width", "height"):
            size = getattr(outline.rectangle, key)
            yield SpecFigure(f"plate.outline.rectangle.{key}", "plate size", size, "outline")
    if outline.circle is not None:
        yield SpecFigure("plate.outline.circle.diameter", "plate size", outline.circle.diameter, "outline")
    for name, tab in model.plate.tabs.items():
        yield SpecFigure(f"plate.tabs.{name}.width", "body size", tab.width, name)
    if model.plate.flange is not None:
        yield SpecFigure("plate.flange.height", "body size", model.plate.flange.height, "plate.flange")
    # In the order of the file, so that the first slip that is told is the first that the user meets.
    for name, rib in model.plate.ribs.items():
        yield SpecFigure(f"plate.ribs.{name}.height", "body size", rib.height, name)
        yield SpecFigure(f"plate.ribs.{name}.width", "body size", rib.width, name)
    for name, shape in model.plate.cutouts.items():
        yield from _shape(f"plate.cutouts.{name}", shape, "cutout", name)
    for name, mount in model.mounts.items():
        yield from _mount(name, mount)
    for name, body in model.bodies.items():
        yield from _body(model, name, body)
    if model.drive is not None:
        yield from _stage("drive", model.drive)
        if model.drive.second is not None:
            yield from _stage("drive.second", model.drive.second)
    for name, coupling in model.couplings.items():
        for key in ("diameter", "length"):
            if getattr(coupling, key) is not None:
                yield SpecFigure(f"couplings.{name}.{key}", "body size", getattr(coupling, key), f"coupling.{name}")
        if coupling.offset is not None:
            yield SpecFigure(f"couplings.{name}.offset", "coupling offset", coupling.offset, f"coupling.{name}")
    cutting, limits = model.cutting, model.limits
    wanted = None if model.drive is None else model.drive.wanted
    if wanted is not None and wanted.tool_diameter is not None:
        yield SpecFigure("drive.wanted.tool_diameter", "tool", wanted.tool_diameter, "drive.wanted")
    for key, guard in (("guard", model.guard), ("second_guard", model.second_guard)):
        if guard is not None:
            yield from _guard(key, guard)
    if cutting.kerf is not None:
        yield SpecFigure("cutting.kerf", "kerf", cutting.kerf, "cutting")
    if cutting.position is not None:
        yield SpecFigure("cutting.position", "table accuracy", cutting.position, "cutting")
    if cutting.drilling is not None:
        yield SpecFigure("cutting.drilling", "drilling accuracy", cutting.drilling, "cutting")
    if cutting.sheet is not None:
        yield SpecFigure("cutting.sheet", "sheet", max(cutting.sheet), "sheet")
    kinds = {"inside_radius": "corner limit", "gap": "gap limit"}
    for key in ("smallest_hole", "web", "edge", "inside_radius", "gap"):
        value = getattr(limits, key)
        if value is not None:
            yield SpecFigure(f"limits.{key}", kinds.get(key, "limit"), value, f"limits.{key}")


def _guard(key: str, guard: GuardWords) -> Iterator[SpecFigure]:
    """The gap and sheet of a guard, and its lengths that the spec gives; other defaults are in no unit of it."""
    name = key.replace("_", " ")
    yield SpecFigure(f"{key}.gap", "guard gap", guard.gap, name)
    yield SpecFigure(f"{key}.thickness", "guard sheet", guard.thickness, name)
    sizes = [
        ("band", "guard band", None if guard.band == "auto" else guard.band),
        ("back_from_plate", "guard standoff", guard.back_from_plate or None),
        ("bend_radius", "bend radius", None if guard.bend_radius == "auto" else guard.bend_radius),
        ("fixings.hole", "guard hole", guard.fixings.hole),
        ("fixings.ear", "guard ear", guard.fixings.ear if "ear" in guard.fixings.model_fields_set else None),
        ("cover.hole", "guard hole", guard.cover.hole),
    ]
    if guard.openings is not None:
        sizes.append(("openings.width", "guard opening", guard.openings.width))
        sizes.append(("openings.length", "guard slot", guard.openings.length))
    for one, kind, size in sizes:
        if size is not None:
            yield SpecFigure(f"{key}.{one}", kind, size, name)
    for number, place in enumerate(guard.fixings.at or ()):
        yield SpecFigure(f"{key}.fixings.at.{number}", "place", math.hypot(*place), name)


def _shape(field: str, shape: words.ShapeWords, kind: str, feature: str) -> Iterator[SpecFigure]:
    """The sizes of a flat shape; of a polygon its extent."""
    if shape.circle is not None:
        yield SpecFigure(f"{field}.circle.diameter", kind, shape.circle.diameter, feature)
    if shape.rectangle is not None:
        for key in ("width", "height"):
            yield SpecFigure(f"{field}.rectangle.{key}", kind, getattr(shape.rectangle, key), feature)
    if shape.slot is not None:
        for key in ("length", "width"):
            yield SpecFigure(f"{field}.slot.{key}", kind, getattr(shape.slot, key), feature)
    if shape.polygon is not None:
        yield SpecFigure(f"{field}.polygon.points", kind, _extent(shape.polygon.points), feature)


def _extent(points: list[tuple[float, float]]) -> float:
    """The longer side of the box round some points, mm."""
    across, along = [x for x, _ in points], [y for _, y in points]
    return max(max(across) - min(across), max(along) - min(along))


def _mount(name: str, mount: words.MountWords) -> Iterator[SpecFigure]:
    # In diameters of the mount's screws, mm, where it has any that the tables list.
    screws, standard = mount.screws, mount.pattern.standard
    size = None if screws is None else screws.size
    if screws is not None and size is None and standard is not None:
        size = tables.mount(standard).screw
    field, screw = f"mounts.{name}", None if size is None else tables.screw(size).diameter
    yield from _pattern(f"{field}.pattern", mount.pattern, screw, name)
    if mount.pilot is not None:
        yield SpecFigure(f"{field}.pilot.diameter", "pilot", mount.pilot.diameter, name)
        if mount.pilot.depth:
            yield SpecFigure(f"{field}.pilot.depth", "pilot height", mount.pilot.depth, name)
        if isinstance(mount.pilot.clearance, float):
            yield SpecFigure(f"{field}.pilot.clearance", "pilot play", mount.pilot.clearance, name)
    if mount.mass is not None:
        yield SpecFigure(f"{field}.mass.centre", "mass centre", max(abs(one) for one in mount.mass.centre), name)
        if mount.mass.size is not None:
            yield SpecFigure(f"{field}.mass.size", "body size", max(mount.mass.size), name)
    if mount.standoff:
        yield SpecFigure(f"{field}.standoff", "standoff", mount.standoff, name)
    if mount.spacers is not None and mount.spacers.outside is not None:
        yield SpecFigure(f"{field}.spacers.outside", "spacer", mount.spacers.outside, name)
    slots = None if mount.take_up is None else mount.take_up.straight
    kind = None if mount.take_up is None else mount.take_up.choice
    for key in ("install", "tension"):
        travel = None if slots is None else getattr(slots, key)
        if isinstance(travel, float) and travel:
            yield SpecFigure(f"{field}.take_up.{kind}.{key}", "travel", travel, name)
    if isinstance(mount.at, words.Polar):
        yield SpecFigure(f"{field}.at.distance", "place", mount.at.distance, name)
    if screws is not None and screw is not None:
        kinds = {"depth": "thread depth", "flange": "flange", "length": "screw length", "stands": "screw length"}
        for key, kind in kinds.items():
            value = getattr(screws, key)
            if value is not None:
                yield SpecFigure(f"{field}.screws.{key}", kind, value, name, screw)


def _pattern(field: str, pattern: words.Pattern, screw: float | None, name: str) -> Iterator[SpecFigure]:
    # Bounds are in diameters of the screw where there is one: 60 mm between M4 is a plate, between M30 a slip.
    kind, of = ("bare pattern", 1.0) if screw is None else ("pattern", screw)
    hole, where = pattern.hole_said
    if pattern.circle is not None:
        yield SpecFigure(f"{field}.circle.diameter", kind, pattern.circle.diameter, name, of)
    elif pattern.rectangle is not None:
        sides = {"width": pattern.rectangle.width, "height": pattern.rectangle.height}
        for side, value in sides.items():
            yield SpecFigure(f"{field}.rectangle.{side}", kind, value, name, of)
    elif pattern.points is not None and len(pattern.points) > 1:
        yield SpecFigure(f"{field}.points", kind, _extent(pattern.points), name, of)
    elif pattern.measured is not None:
        # Readings stand for the pattern itself, which is not known before they are adjusted.
        between = [reading.value for reading in pattern.measured.readings if len(reading.features) > 1]
        if between:
            yield SpecFigure(f"{field}.measured.readings", kind.replace("pattern", "readings"), max(between), name, of)
        for hole_name, measured in pattern.measured.holes.items():
            if hole_name in pattern.measured.screw_holes and measured.diameter is not None:
                inner = f"{field}.measured.holes.{hole_name}"
                # the old part's own, which may be a thread: a caliper reads its core
                yield SpecFigure(inner, "bare hole" if screw is None else "measured hole", measured.diameter, name, of)
    if hole is not None:
        yield SpecFigure(f"{field}.{where}", "bare hole" if screw is None else "hole", hole, name, of)


def _body(model: words.SpecModel, name: str, body: words.BodyWords) -> Iterator[SpecFigure]:
    field = f"bodies.{name}"
    mount = model.mounts.get(body.carried_by)
    engine = mount is not None and name.lower().removesuffix("body").strip(" -_").endswith(ENGINES)
    widths, lengths = [], []
    if body.shape is not None and body.span is not None:
        widths += list(_shape(f"{field}.shape", body.shape, "body size", name))
        lengths.append(SpecFigure(f"{field}.span", "body size", body.span[1] - body.span[0], name))
    if body.lying is not None:
        widths.append(SpecFigure(f"{field}.lying.diameter", "body size", body.lying.diameter, name))
        lengths.append(SpecFigure(f"{field}.lying.length", "body size", body.lying.length, name))
    for kinds, found in (("width", widths), ("length", lengths)):
        for figure in found:
            of = _engine_bounds(mount, kinds) if engine and mount is not None else None
            yield figure if of is None else SpecFigure(figure.field, of[0], figure.value, name, of[1])


def _engine_bounds(mount: words.MountWords, kinds: str) -> tuple[str, float] | None:
    """The kind of figure that the width or length of a motor on a mount is, and what it is a share of, mm."""
    # A motor's size is best judged by its own frame; where the table has none, by how far its holes are apart.
    if mount.pattern.standard is not None:
        row = tables.mount(mount.pattern.standard)
        for part in row.bodies:
            if part.name == "frame":
                return f"motor {kinds}", part.shape[1] if kinds == "width" else part.span[1] - part.span[0]
        reach = 2 * max(math.hypot(*point) for point in row.points)
        return f"engine {kinds}", reach
    pattern = mount.pattern
    if pattern.circle is not None:
        return f"engine {kinds}", pattern.circle.diameter
    if pattern.rectangle is not None:
        return f"engine {kinds}", math.hypot(pattern.rectangle.width, pattern.rectangle.height)
    if pattern.points is not None and len(pattern.points) > 1:
        return f"engine {kinds}", _extent(pattern.points)
    return None


def _stage(field: str, stage: Stage) -> Iterator[SpecFigure]:
    belt = stage.belt
    for key in ("pitch_length", "effective_length", "inside_length", "outside_length"):
        value = getattr(belt, key)
        if value is not None:
            yield SpecFigure(f"{field}.belt.{key}", "belt length", value, "belt")
    if belt.near is not None:
        yield SpecFigure(f"{field}.belt.near", "centre distance", belt.near, "belt")
    if belt.width is not None:
        yield SpecFigure(f"{field}.belt.width", "belt width", belt.width, "belt")
    for index, idler in enumerate(stage.idlers):
        yield SpecFigure(f"{field}.idlers.{index}.diameter", "pulley", idler.diameter, f"{field}.idlers.{index}")
    # V pulleys are held against the smallest of their section, which grows tenfold over the sections; others by mm
    # alone.
    smallest = _smallest(belt.section or belt.size or "")
    for end, pulley in (("driver", stage.driver), ("driven", stage.driven)):
        where = f"{field}.{end}"
        kind, of = ("pulley", 1.0) if smallest is None else ("V pulley", smallest)
        for key in ("pitch_diameter", "effective_diameter", "outside_diameter"):
            value = getattr(pulley, key)
            if value is not None:
                yield SpecFigure(f"{where}.{key}", kind, value, where, of)
        if pulley.hub is not None:
            yield SpecFigure(f"{where}.hub.diameter", "hub", pulley.hub.diameter, where)
        if pulley.flange_diameter is not None:
            yield SpecFigure(f"{where}.flange_diameter", "pulley", pulley.flange_diameter, where)
        if isinstance(pulley.span, SeatWords):
            if pulley.span.width != "auto":
                yield SpecFigure(f"{where}.span.width", "rim", pulley.span.width, where)
            continue
        low, high = pulley.span
        yield SpecFigure(f"{where}.span", "rim", high - low, where)
        yield SpecFigure(f"{where}.span", "shaft reach", max(abs(low), abs(high)), where)


@kept(64)
def _smallest(trade: str) -> float | None:
    """The smallest pulley of the section that a belt's trade size begins with, mm; None for a toothed belt."""
    from platekit.tables import belts

    # A section, or a trade size that begins with one: `A38`, `5M-500`, `SPZ1000`.
    letters = re.match(r"\d?[A-Za-z]+", trade)
    for name in (trade, letters[0] if letters else ""):
        try:
            return None if belts.section(name).toothed else belts.smallest_pulley(name).pitch_diameter
        except LookupFailed:
            continue
    return None


# ------------------------------------------------------------------------------------------- angles


class Turned(Struct, frozen=True):
    """A bare angle that looks like radians: where it stands and in what, as typed, and the degrees that it would be."""

    field: str
    feature: str
    typed: float
    degrees: float


def radians_typed(spec: Spec) -> Iterator[Turned]:
    """Every bare angle of a spec that is a round share of a half turn in radians, to its last decimal."""
    # 0.785 degrees is typed by nobody; 0.785 is a quarter of pi to three decimals. The more decimals agree the surer,
    # so short figures are let pass, and the last decimal may be cut off or rounded (0.6 of it).
    for path, value in _angles(spec.top.data, ()):
        text = f"{abs(value):.10g}"
        decimals = len(text.partition(".")[2])
        if decimals < FEWEST_DECIMALS or abs(value) > MOST_RADIANS:
            continue
        for parts in HALF_TURNS:
            turns = round(abs(value) * parts / math.pi)
            if turns and abs(round(turns * math.pi / parts, decimals) - abs(value)) < 0.6 * 10**-decimals:
                degrees = math.copysign(180 * turns / parts, value)
                yield Turned(".".join(path), path[min(1, len(path) - 1)], value, degrees)
                break


def _angles(data: Any, path: tuple[str, ...], key: str = "") -> Iterator[tuple[tuple[str, ...], float]]:
    """Every bare figure of the spec's data that is an angle, with its path."""
    match data:
        case dict():
            for name, inner in data.items():
                swings = path[-1:] in (("swing",), ("hinge",)) and name in ("install", "tension")
                yield from _angles(inner, (*path, str(name)), "angle" if swings else str(name))
        case list() if key == "angles":
            for index, item in enumerate(data):
                yield from _angles(item, (*path, str(index)), "angle")
        case int() | float() if key in ANGLES and not isinstance(data, bool):
            yield path, float(data)
