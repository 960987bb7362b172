"""Rules on spacers: that they go over their screws, bear the pull of these, stand on steel, and do not lean."""

from __future__ import annotations

from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import say, words_at
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, distance, edge_distance
from platekit.laying.spacers import LONGEST, OVER_LOOSE, OVER_SCREW, bearing_area
from platekit.placed import SAME_LENGTH, Layout, PlacedMount, Spacer
from platekit.tables.spacers import spacer_stock
from platekit.units import show_stress


def spacers(layout: Layout) -> Iterator[Finding]:
    """Spacers (mm) that the screw does not go through, that yield under it, that stand over an edge, or are slender."""
    for mount in layout.mounts.values():
        spacer = None if mount.stack is None else mount.stack.spacer
        if spacer is None:
            continue
        least = spacer.screw + OVER_SCREW
        if spacer.bore < least - SAME_LENGTH:
            yield _finding(
                layout,
                mount,
                "stop",
                f"the screw of {say(layout, spacer.screw)} does not go through a bore of {say(layout, spacer.bore)}; "
                f"{say(layout, least)} is needed",
                spacer.bore,
                least,
            )
            continue  # what presses on one that does not go over its screw is no matter
        if spacer.pressure > spacer.yields * (1 + SAME_LENGTH):
            unit = layout.spec.unit
            yield _finding(
                layout,
                mount,
                "warn",
                f"tightened, the screw presses with {show_stress(spacer.pressure, unit)} on the face of a spacer "
                f"{say(layout, spacer.outside)} wide; the steel there yields at {show_stress(spacer.yields, unit)}, "
                "so that the screw works loose",
                spacer.pressure,
                spacer.yields,
                "N/mm2",
            )
        if spacer.length > LONGEST * spacer.outside * (1 + SAME_LENGTH):
            yield _finding(
                layout,
                mount,
                "warn",
                f"spacers {say(layout, spacer.length)} long and {say(layout, spacer.outside)} wide lean under a belt's "
                f"pull or a shaking motor; {LONGEST:g} diameters, {say(layout, LONGEST * spacer.outside)}, is the most",
                spacer.length,
                LONGEST * spacer.outside,
            )
        yield from _over_an_edge(layout, mount, spacer)


def _over_an_edge(layout: Layout, mount: PlacedMount, spacer: Spacer) -> Iterator[Finding]:
    """Spacers whose face stands out over the outside of the plate, or over an opening beside their own; the worst."""
    own, found = set(mount.hole_names), []
    for name, point in zip(mount.hole_names, mount.points, strict=True):
        face = Disc(point, spacer.outside / 2)
        found.append((edge_distance(face, layout.plane).distance, name, "the outside of the plate"))
        for opening in layout.openings:
            if opening.name not in own and (opening.through or opening.side == mount.side):
                found.append((distance(face, opening.shape).distance, name, opening.name))
    short, name, over = min(found, key=lambda one: (round(one[0], 6), one[1], one[2]))
    if short < -SAME_LENGTH:
        point = mount.points[mount.hole_names.index(name)]
        yield _finding(
            layout,
            mount,
            "warn",
            f"the spacer round {name} stands {say(layout, -short)} over {over}, where it bears on nothing",
            short,
            0.0,
            features=(name, over if over in {one.name for one in layout.openings} else "outline"),
            at=point,
        )


def _finding(
    layout: Layout,
    mount: PlacedMount,
    level: str,
    said: str,
    found: float,
    needed: float,
    unit: str = "mm",
    features: tuple[str, ...] = (),
    at: tuple[float, float] | None = None,
) -> Finding:
    stack = mount.stack
    assert stack is not None
    assert stack.spacer is not None
    advice, *others = (*_other_stock(layout, mount, stack.spacer), *_by_hand(mount))
    return Finding(
        rule="spacer",
        level="stop" if level == "stop" else "warn",
        message=f"{mount.name}: {said}",
        features=features or (mount.name,),
        at=at or mount.points[0],
        found=found,
        needed=needed,
        unit=unit,
        field=stack.spacer.field,
        advice=advice,
        others=tuple(others),
    )


def _other_stock(layout: Layout, mount: PlacedMount, spacer: Spacer) -> Iterator[Advice]:
    """The tubes and bars in stock that would do, the narrowest first; at most two."""
    slotted, told = mount.hole_travel is not None, 0
    assert mount.stack is not None
    loose = tables.screw(mount.stack.size).clearance["loose"] + OVER_LOOSE
    for one in spacer_stock(tables.screw(mount.stack.size).system):
        bore = one.bore or mount.hole
        area = bearing_area(one.outside, bore, mount.hole, slotted)
        sound = (
            spacer.screw + OVER_SCREW - SAME_LENGTH <= bore <= loose + SAME_LENGTH
            and bore < one.outside
            and spacer.length <= LONGEST * one.outside
            and (not spacer.preload or (area > 0 and spacer.preload / area <= spacer.yields))
            and _stands(layout, mount, one.outside)
        )
        if not sound or told == 2:
            continue
        told += 1
        size: dict[str, FieldValue] = {"from": one.made, "outside": f"{one.outside:.6g} mm"}
        if words_at(layout, f"{mount.field}.spacers") is not None:
            size["material"] = spacer.material.name
        said = f"cut them from {one.made} {say(layout, one.outside)} wide, hole {say(layout, bore)}"
        if one.bore is not None:
            size["bore"] = f"{one.bore:.6g} mm"
        yield Advice(said, (Remedy(f"{mount.field}.spacers", size),))


def _stands(layout: Layout, mount: PlacedMount, outside: float) -> bool:
    """Whether spacers so wide (mm) stand on steel all round; a wrap grows with them."""
    own = set(mount.hole_names)
    others = [one.shape for one in layout.openings if one.name not in own and (one.through or one.side == mount.side)]
    for point in mount.points:
        face = Disc(point, outside / 2)
        if not layout.wrapped and edge_distance(face, layout.plane).distance < 0:
            return False
        if any(distance(face, shape).distance < 0 for shape in others):
            return False
    return True


def _by_hand(mount: PlacedMount) -> Iterator[Advice]:
    yield Advice(f"set {mount.name} nearer to the plate, or on a frame that is welded to it instead of on spacers")


RULES = (
    Rule(
        "spacer",
        "a spacer that its screw does not fit, that yields under it, stands over an edge, or leans",
        f"the yield strength of the weaker of plate and spacer; at most {LONGEST:g} diameters long",
        "pressure: geometry and preload (Shigley); length: from memory",
        spacers,
        levels=("stop", "warn"),
        keys=("mounts.NAME.spacers", "mounts.NAME.standoff"),
    ),
)
