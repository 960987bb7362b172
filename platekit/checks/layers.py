"""Rules on layers: each is held to the plate's own rules on cutting, and its parts must stand on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from typing import Final, Literal

from msgspec.structs import replace

from platekit.checks import cut_file, cutting, machine, necks, openings
from platekit.checks.advice import pilot_remedy, rounded_up, say, words_at
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import covers, distance
from platekit.laying.layers import layer_parts
from platekit.laying.pilots import RECESS_FLOOR
from platekit.placed import SAME_LENGTH, Dowels, Layer, Layout, Opening, PlacedMount
from platekit.tables.dowels import dowel_pins
from platekit.tables.shop import shop_figure

HOLD = shop_figure("dowel, least hold in either part, in its diameters")
"""Least of a dowel pin in either part, in its diameters (`shop_figures.csv`)."""

APART: Final = 0.5
"""Dowel pins nearer to each other than this share of the distance of the layer's farthest screws let it turn (ours)."""

CUT_RULES: tuple[Callable[[Layout], Iterable[Finding]], ...] = tuple(
    dict.fromkeys(
        rule.find
        for family in (openings, cutting, cut_file, machine, necks)
        for rule in family.RULES
        if rule.find is not openings.pilot_over_bolts
    )
)
"""Rules of the plate that its layers are held to as well.

In a layer a pilot's opening and a screw hole are two openings as any other two: its screws need none within the pilot.
"""


def layers(layout: Layout) -> Iterator[Finding]:
    """Layers (mm) that cannot be cut as they are, or on which what is on them does not stand."""
    flats = layer_parts(layout)
    for mount in layout.mounts.values():
        if mount.layer is None:
            continue
        flat = flats[mount.layer.part]
        for other in layout.mounts.values():
            if mount.name in (other.on, other.heads_on):
                yield from _stands(layout, mount, other, flat)
            if other.on == mount.name:
                yield from _spigot(layout, mount, mount.layer, other)
        if mount.layer.dowels is not None:
            yield from _dowels(layout, mount, mount.layer, mount.layer.dowels)
        yield from _as_cut(mount, flat)


def _dowels(layout: Layout, mount: PlacedMount, layer: Layer, pins: Dowels) -> Iterator[Finding]:
    """Pins (mm) of no size that is sold, that stand out or hold in too little, and a single one."""
    field = f"{mount.field}.layer.dowels"
    holes = [one for one in layout.openings if one.mount == mount.name and one.role == "dowel"]
    total, least = layout.thickness + layer.thickness, HOLD * pins.size
    sold = dowel_pins("metric" if layout.spec.unit == "mm" else "inch")

    def ideas() -> Iterator[Advice]:
        # sizes that hold in both, the thickest first
        for one in reversed(sold):
            fits = [long for long in one.lengths if long <= total + SAME_LENGTH]
            hold = HOLD * one.diameter
            if fits and max(fits) - layer.thickness >= hold - SAME_LENGTH and layer.thickness >= hold - SAME_LENGTH:
                at = words_at(layout, f"{field}.at")
                value: dict[str, FieldValue] = {
                    "size": f"{one.diameter:.6g} mm",
                    "at": [[f"{x:.6g} mm", f"{y:.6g} mm"] for x, y in at],
                }
                yield Advice(f"take pins of {say(layout, one.diameter)}", (Remedy(field, value),))
        yield Advice("take a thicker layer or plate, or leave the pins out")

    def second() -> Iterator[Advice]:
        """A second pin, opposite to the first over the layer's zero."""
        ((x, y),) = words_at(layout, f"{field}.at")
        if math.hypot(x, y) > pins.size:
            both: list[FieldValue] = [[f"{x:.6g} mm", f"{y:.6g} mm"], [f"{0.0 - x:.6g} mm", f"{0.0 - y:.6g} mm"]]
            yield Advice("add a second pin opposite to it", (Remedy(f"{field}.at", both),))

    def told(level: Literal["stop", "warn"], said: str, found: float, needed: float, *more: Advice) -> Finding:
        first, *others = more or tuple(ideas())
        return Finding(
            rule="layer",
            level=level,
            message=f"{mount.name}: {said}",
            features=(mount.name, *(one.name for one in holes)),
            at=holes[0].center,
            found=found,
            needed=needed,
            field=field,
            advice=first,
            others=tuple(others),
        )

    if not pins.lengths:
        near = min(sold, key=lambda one: (abs(one.diameter - pins.size), one.diameter)).diameter
        yield told(
            "stop",
            f"no dowel pin is {say(layout, pins.size)} thick; the nearest is {say(layout, near)}",
            pins.size,
            near,
        )
        return
    if pins.length is None:
        shortest = min(pins.lengths)
        yield told(
            "stop",
            f"the shortest dowel pin of {say(layout, pins.size)}, {say(layout, shortest)}, stands out of plate and "
            f"layer, {say(layout, total)} together",
            total,
            shortest,
        )
        return
    if pins.length > total + SAME_LENGTH:
        yield told(
            "stop",
            f"dowel pins {say(layout, pins.length)} long stand out of plate and layer, {say(layout, total)} together",
            total,
            pins.length,
        )
        return
    hold = min(layer.thickness, pins.length - layer.thickness)
    if hold < least - SAME_LENGTH:
        where = "the layer" if layer.thickness <= pins.length - layer.thickness else "the plate"
        yield told(
            "warn",
            f"its dowel pins of {say(layout, pins.size)} hold {say(layout, max(hold, 0.0))} in {where}; "
            f"{say(layout, least)}, a diameter, is the least that does not lean",
            hold,
            least,
        )
    if pins.count < 2:
        yield told(
            "warn",
            "one dowel pin lets it turn about itself; two, far apart, keep it in its place",
            1.0,
            2.0,
            *second(),
            Advice("add a second pin at the far side of the layer"),
        )
        return
    # A pin that is loose by a hair lets the layer turn by the more, the nearer the pins are to each other.
    apart = max(math.dist(a.center, b.center) for a in holes for b in holes)
    across = max((math.dist(a, b) for a in mount.points for b in mount.points), default=0.0)
    if apart < APART * across - SAME_LENGTH:
        x, y = words_at(layout, f"{field}.at")[0]
        opposite: list[FieldValue] = [[f"{x:.6g} mm", f"{y:.6g} mm"], [f"{0.0 - x:.6g} mm", f"{0.0 - y:.6g} mm"]]
        far = 2.0 * math.hypot(x, y) >= APART * across
        yield told(
            "warn",
            f"its dowel pins are {say(layout, apart)} apart at most, its screws {say(layout, across)}: what little "
            f"play they have lets it turn; {say(layout, APART * across)} is wanted",
            apart,
            APART * across,
            *([Advice("set two pins opposite to each other", (Remedy(f"{field}.at", opposite),))] if far else []),
            Advice("set the pins farther apart, at two ends of the layer"),
        )


def _stands(layout: Layout, mount: PlacedMount, other: PlacedMount, flat: Layout) -> Iterator[Finding]:
    """A part beside the layer that it should stand on: a screw of it where the layer ends, or where it is open."""
    holes = [one for one in layout.openings if one.mount == other.name and one.role == "screw"]
    beside = [one for one in holes if distance(one.shape, flat.outline).distance > -SAME_LENGTH]
    what = "the part stands" if other.on == mount.name else "their heads stand"
    if beside:
        yield _finding(
            mount,
            f"{', '.join(one.name for one in beside)}: {what} beside {mount.name}, on nothing",
            (mount.name, *(one.name for one in beside)),
            beside[0],
            -distance(beside[0].shape, flat.outline).distance,
            0.0,
            Advice(
                f"let {mount.name} follow its openings (layer: outline: {{wrap: {{margin: auto}}}})",
                (Remedy(f"{mount.field}.layer.outline", {"wrap": {"margin": "auto"}}),),
            ),
        )
        return
    if other.heads_on != mount.name:
        return
    # a head in a window of the layer would stand on the plate, and its screw be too long by the layer
    wide = [one for one in flat.openings if one.role != "screw"]
    sunk = [one for one in holes if any(covers(window.shape, one.shape) for window in wide)]
    if sunk:
        yield _finding(
            mount,
            f"{', '.join(one.name for one in sunk)}: their heads stand in an opening of {mount.name}, not on it",
            (mount.name, *(one.name for one in sunk)),
            sunk[0],
            0.0,
            mount.layer.thickness if mount.layer is not None else 0.0,
            Advice(f"let them stand on the plate (leave heads_on out of {other.name})"),
        )


def _spigot(layout: Layout, mount: PlacedMount, layer: Layer, other: PlacedMount) -> Iterator[Finding]:
    """A spigot that is deeper than its layer lands on the plate before its part is on the layer."""
    if other.pilot_opening != "layer" or other.pilot_depth + RECESS_FLOOR <= layer.thickness + SAME_LENGTH:
        return
    thicker = rounded_up(layout, other.pilot_depth + RECESS_FLOOR)
    stop = other.pilot_depth > layer.thickness + SAME_LENGTH
    yield Finding(
        rule="layer",
        level="stop" if stop else "warn",
        message=f"{other.name}: its spigot stands {say(layout, other.pilot_depth)} deep in {mount.name}, which is "
        f"{say(layout, layer.thickness)} thick: it lands on the plate "
        + ("before the part is on the layer" if stop else "if it is a hair deeper")
        + f"; {say(layout, RECESS_FLOOR)} is left under it",
        features=(other.name, mount.name),
        at=(other.pose.x, other.pose.y),
        found=layer.thickness - other.pilot_depth,
        needed=RECESS_FLOOR,
        field=f"{mount.field}.layer.thickness",
        advice=Advice(
            f"take {mount.name} {thicker:g} {layout.spec.unit} thick",
            (Remedy(f"{mount.field}.layer.thickness", thicker),),
        ),
        others=(
            Advice("let the spigot through the plate too (pilot: opening: through)", (pilot_remedy(other, "through"),)),
        ),
    )


def _finding(
    mount: PlacedMount,
    said: str,
    features: tuple[str, ...],
    opening: Opening,
    found: float,
    needed: float,
    advice: Advice,
) -> Finding:
    return Finding(
        rule="layer",
        level="stop",
        message=said,
        features=features,
        at=opening.center,
        found=found,
        needed=needed,
        field=f"{mount.field}.layer",
        advice=advice,
    )


def _as_cut(mount: PlacedMount, flat: Layout) -> Iterator[Finding]:
    """What the plate's own rules on cutting say of a layer."""
    for rule in CUT_RULES:
        for found in rule(flat):
            if found.level == "note":
                continue
            first, *others = _ideas(mount, flat, found)
            yield replace(
                found,
                rule="layer",
                message=f"{mount.name}: {found.message}",
                features=(mount.name, *(f"{mount.name}: {feature}" for feature in found.features)),
                field=f"{mount.field}.layer",
                advice=first,
                others=tuple(others),
            )


def _ideas(mount: PlacedMount, flat: Layout, found: Finding) -> Iterator[Advice]:
    """What may mend a layer that cannot be cut as it is, in its own words."""
    layer = f"{mount.field}.layer"
    for idea in (found.advice, *found.others):
        edits = tuple(replace(one, field=_own_field(layer, one.field)) for one in idea.remedies)
        if edits:
            yield replace(idea, text=f"of {mount.name}: {idea.text}", remedies=edits)
    if found.rule in ("web", "overlap") and found.needed is not None and found.found is not None:
        # the holes that hold a layer are its own: on a wider circle they are farther from what is inside it
        wide = mount.bolt_circle
        named = {one for name in found.features for one in flat.openings if one.name == name}
        if wide is not None and any(one.name in mount.hole_names for one in named):
            short = found.needed - found.found
            wider = rounded_up(flat, wide + 2 * math.ceil(short))
            said = f"set the screws of {mount.name} on a circle of {wider:g} {flat.spec.unit}"
            yield Advice(said, (Remedy(f"{mount.field}.pattern.circle.diameter", wider),))
    if found.rule in ("web", "overlap") and found.needed is not None and found.found is not None:
        # pins are farther from what is inside them where they stand farther out
        pins = mount.layer.dowels if mount.layer is not None else None
        if pins is not None and any(name.startswith(f"{mount.name}.dowel ") for name in found.features):
            more = math.ceil(found.needed - found.found)
            farther: list[FieldValue] = []
            for x, y in words_at(flat, f"{layer}.dowels.at"):
                share = 1 + more / max(math.hypot(x, y), pins.size)
                farther.append([f"{x * share:.6g} mm", f"{y * share:.6g} mm"])
            yield Advice(f"set its pins {say(flat, more)} farther out", (Remedy(f"{layer}.dowels.at", farther),))
    if found.rule in ("edge", "outside", "overlap") or "outside of" in found.message:
        said = f"let {mount.name} follow its openings (layer: outline: {{wrap: {{margin: auto}}}})"
        yield Advice(said, (Remedy(f"{layer}.outline", {"wrap": {"margin": "auto"}}),))
    yield Advice(f"change the outline, the openings or the screws of {mount.name}, or cut it by another process")


def _own_field(layer: str, field: str) -> str:
    """The field of a layer that says what one of the plate says; any other field is itself."""
    for key in ("plate.outline", "plate.thickness", "plate.material", "plate.cutouts"):
        if field == key or field.startswith(f"{key}."):
            return f"{layer}{field.removeprefix('plate')}"
    return field


RULES = (
    Rule(
        "layer",
        "a layer that cannot be cut as it is, or that what is on it does not stand on",
        f"the plate's own rules; {RECESS_FLOOR:g} mm under a spigot; a diameter of each dowel pin in either part",
        "those of the plate's rules; spigot and dowels: common practice",
        layers,
        levels=("stop", "warn"),
        keys=("mounts.NAME.layer", "mounts.NAME.on", "mounts.NAME.heads_on"),
    ),
)
