"""What holds a lug that is screwed to the plate: its legs, its two screws, its holes' edges, its bend."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.checks.advice import rounded_up, say, words_at
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.stiffer import allowed_stress
from platekit.checks.strength import preload
from platekit.errors import SpecError
from platekit.laying.lugs import EDGE, angle_of, least_leg
from platekit.placed import SAME_LENGTH, JackingScrew, Layout, LugAngle, PlacedMount
from platekit.tables.angles import angle_stock
from platekit.tables.strengths import limit
from platekit.units import mm_per

BEARS: Final = 7 / 8
"""The foot is pressed to the plate so far along from its screws to its end (common practice: 7/8, not the very end)."""
SHARPEST: Final = {"aluminium": 3.0}
"""Least inside radius of a bend in thicknesses by family of material, 1 for all others (common practice for mild
steel; hard aluminium cracks under it: from memory)."""


class Burden(Struct, frozen=True):
    """What one part of a lug takes under a jacking screw's force, and what it may: in N/mm2, or N."""

    what: str
    found: float
    allowed: float
    unit: str

    @property
    def used(self) -> float:
        """The share of what it may take."""
        return self.found / self.allowed


def burdens(layout: Layout, screw: JackingScrew, angle: LugAngle, force: float, size: str, hole: float) -> list[Burden]:
    """What a lug takes when its jacking screw pushes back on it with a force (N), held by screws of a size.

    The force at the height of the axis tips the lug about the end of its foot. Both legs take that moment, M over
    b t2 / 6, the foot at its screws less their holes (mm). The two screws pull it back on the arm from their row to
    where the foot is pressed to the plate, `BEARS` of the way to its end; together they hold it by friction against
    sliding. Held against that is the least preload of a screw that is tightened to its torque.
    """
    thick, wide, _ = screw.lug
    moment, allowed = force * screw.above, allowed_stress(layout)
    net = wide - 2 * hole
    found = [Burden("its upright leg is bent", moment / (wide * thick**2 / 6), allowed, "N/mm2")]
    if net > SAME_LENGTH:
        found.append(Burden("its foot is bent at its screws", moment / (net * thick**2 / 6), allowed, "N/mm2"))
    least = preload(size)
    arm = BEARS * (angle.foot - angle.row)
    if least is not None and arm > SAME_LENGTH:
        found.append(Burden("each of its screws is pulled", moment / arm / 2, least, "N"))
        held = limit("slip factor").figure * 2 * least / limit("slip safety").figure
        found.append(Burden("it is pushed along the plate", force, held, "N"))
    return found


def angle_lug(layout: Layout, mount: PlacedMount, screw: JackingScrew, force: float | None) -> Iterator[Finding]:
    """A lug of angle (mm) whose holes are near its ends, that cannot be bent, or that the force (N) overloads."""
    angle = screw.angle
    assert angle is not None
    field = f"{screw.field}.lug.{angle.made}"
    stack = layout.mounts[angle.mount].stack
    assert stack is not None
    hole = tables.screw(stack.size).clearance.get("normal") or tables.screw(stack.size).diameter
    unit = layout.spec.unit

    def told(said: str, figures: tuple[float, float], key: str, advice: Advice, *others: Advice) -> Finding:
        return Finding(
            rule="jack",
            level="warn",
            message=f"{mount.name}: {said}",
            features=(mount.name, angle.mount),
            at=screw.back(screw.set_back),
            found=figures[0],
            needed=figures[1],
            field=f"{field}.{key}",
            advice=advice,
            others=others,
        )

    def longer(key: str, to: float) -> Advice:
        size = rounded_up(layout, to)
        return Advice(
            f"make it {size:g} {unit} ({key}: {size:g}), or leave {key} out", (Remedy(f"{field}.{key}", size),)
        )

    thick, wide, high = screw.lug
    rows = (
        ("foot", angle.foot - angle.row, EDGE * hole, "its two screws", "the end of its foot", angle.foot),
        ("width", (wide - angle.apart) / 2, EDGE * hole, "its two screws", "its ends", wide / 2),
        ("upright", high - screw.above, tables.screw(screw.size).diameter, "its jacking screw", "its top", high),
    )
    for key, found, needed, what, where, has in rows:
        if found < needed - SAME_LENGTH:
            to = (has + needed - found) * (2 if key == "width" else 1)
            said = f"the lug of its jacking screw ends {say(layout, max(found, 0.0))} from the middle of {what}; "
            said += f"{say(layout, needed)} to {where} keep{'s' if key == 'upright' else ''} it from tearing out"
            yield told(said, (found, needed), key, longer(key, to))
    if angle.made == "bent":
        least = SHARPEST.get(layout.material.family or "", 1.0) * thick
        if angle.root < least - SAME_LENGTH:
            size = rounded_up(layout, least)
            said = (
                f"its lug is bent to {say(layout, angle.root)} inside; {layout.material.name} so thick cracks under "
                f"{say(layout, least)}"
            )
            bend = Advice(
                f"bend it to {size:g} {unit} (bend_radius: {size:g})", (Remedy(f"{field}.bend_radius", size),)
            )
            yield told(said, (angle.root, least), "bend_radius", bend)
        shortest = least_leg(thick, angle.root)
        for key, leg in (("foot", angle.foot), ("upright", high)):
            if leg < shortest - SAME_LENGTH:
                said = f"the {key} of its bent lug is {say(layout, leg)}; a usual die wants {say(layout, shortest)}"
                yield told(said, (leg, shortest), key, longer(key, shortest))
    if force is None:
        return
    worst = max(burdens(layout, screw, angle, force, stack.size, hole), key=lambda one: (round(one.used, 9), one.what))
    if worst.used <= 1.0:
        return
    first, *others = [*_stronger(layout, mount, screw, force), Advice(LOWER)]
    yield Finding(
        rule="jack",
        level="warn",
        message=f"{mount.name}: the lug of its jacking screw: {worst.what} with {worst.found:.0f} {worst.unit} by "
        f"{force:.0f} N at {say(layout, screw.above)} over the plate; {worst.allowed:.0f} {worst.unit} is allowed",
        features=(mount.name, angle.mount),
        at=screw.tip,
        found=worst.found,
        needed=worst.allowed,
        unit=worst.unit,
        field=field,
        advice=first,
        others=tuple(others),
    )


LOWER: Final = "let its tip bear lower on the part (height), nearer to the face of the plate"


def _stronger(layout: Layout, mount: PlacedMount, screw: JackingScrew, force: float) -> Iterator[Advice]:
    """What makes a lug hold a force (N): thicker, wider, a longer foot, larger screws, else two of these."""
    words, unit, per = words_at(layout, screw.field), layout.spec.unit, mm_per(layout.spec.unit)
    assert screw.angle is not None
    made, said = screw.angle.made, words.lug.angle
    step = 1.0 if unit == "mm" else 1 / 16
    thick, wide, _ = screw.lug
    now = math.floor(thick / per / step + 1e-9)
    blocks = [round((now + k) * step, 6) for k in range(1, 16)]
    if screw.angle.stock:  # the next ones that are sold
        known = angle_stock("metric" if unit == "mm" else "inch")
        blocks = sorted({round(one.thickness / per, 6) for one in known if one.thickness > thick + SAME_LENGTH})
    thicker: list[_Edit] = [
        (f"take it {one:g} {unit} thick (block: {one:g})", "block", one, one * per) for one in blocks
    ]
    longer: list[_Edit] = [
        (f"make its {key} {to:g} {unit} ({key}: {to:g})", f"lug.{made}.{key}", to, to * per)
        for factor in (1.25, 1.5, 2.0)
        for key, has in (("width", wide), ("foot", screw.angle.foot))
        for to in (rounded_up(layout, math.ceil(factor * has / per / step) * step * per),)
    ]
    system, least = tables.screw(said.screws.size).system, tables.screw(said.screws.size).diameter
    larger: list[_Edit] = [
        (f"hold it by {one} screws", f"lug.{made}.screws.size", one, one)
        for one in LARGER[system]
        if tables.screw(one).diameter > least + SAME_LENGTH
    ]

    def holds(*edits: _Edit) -> bool:
        changed, lug = words, said
        for _, key, _, value in edits:
            if key == "block":
                changed = changed.model_copy(update={"block": value})
            elif key.endswith("size"):
                lug = lug.model_copy(update={"screws": lug.screws.model_copy(update={"size": value})})
            else:
                lug = lug.model_copy(update={key.rpartition(".")[2]: value})
        changed = changed.model_copy(update={"lug": changed.lug.model_copy(update={made: lug})})
        try:
            angle, broad, high = angle_of(layout.spec, mount.name, screw.field, changed, screw.above)
        except SpecError:
            return False
        then = replace(screw, lug=(changed.block, broad, high), angle=angle)
        size = tables.screw(lug.screws.size)
        hole = size.clearance.get("normal") or size.diameter
        return all(one.used <= 1.0 for one in burdens(layout, then, angle, force, size.size, hole))

    ways: Sequence[tuple[_Edit, ...]] = [(one,) for one in (*thicker, *longer, *larger) if holds(one)]
    if not ways:
        ways = [(one, other) for one in thicker for other in (*longer, *larger) if holds(one, other)][:6]
    for way in ways:
        edits = tuple(Remedy(f"{screw.field}.{key}", value) for _, key, value, _ in way)
        yield Advice(" and ".join(words for words, *_ in way), edits)


_Edit = tuple[str, str, FieldValue, FieldValue]
"""One edit of a lug: in words, its key under the jack, its value in the unit of the spec, and in mm."""
LARGER: Final = {"metric": ("M8", "M10", "M12", "M16"), "inch": ("5/16-18", "3/8-16", "1/2-13", "5/8-11")}
"""Screws that are tried where a lug's are too weak, the smallest first (common practice)."""
