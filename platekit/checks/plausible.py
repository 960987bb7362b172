"""Rules on what the figures of a spec can be: units that were mixed up, and what nothing in a shop is like."""

from __future__ import annotations

from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.errors import PlatekitError
from platekit.geometry import Point
from platekit.placed import Layout, held
from platekit.spec import with_data
from platekit.spec.figures import UNIT_WORDS, SpecFigure, figures_of, in_unit, radians_typed, typed
from platekit.tables.usual import usual
from platekit.units import Unit, shown

MOST_TOLD = 6
"""Most figures that one sentence lists (ours)."""
SLIPPED = 3.0
"""A material's figure this many times beyond its bounds has a slipped point or unit (ours)."""
LEAST_GAP = 0.5
"""Less than this, mm, between what runs and what stands still is no clearance (ours)."""
LEAST_ODDS = 0.5
"""A limit on the odds of bolting up below this lets plates pass that usually do not go together (ours)."""


@held
def _figures(layout: Layout) -> tuple[SpecFigure, ...]:
    return tuple(figures_of(layout.spec))


def mixed_units(layout: Layout) -> Iterator[Finding]:
    """Figures (mm, degrees) that fit nothing as they are read, but do in the other unit: told once for all."""
    spec = layout.spec
    odd = [figure for figure in _figures(layout) if figure.place != "possible"]
    slipped = [figure for figure in odd if figure.meant(spec)]
    if slipped:
        yield _slipped(layout, slipped)
    elif not odd:
        # A size over all that hints at the wrong unit, where no figure by itself does.
        # No figure by itself is odd, but all of them together may be: a plate as large as a room, or as a coin.
        bounds = usual("plate size")
        box = layout.outline.box
        longer = max(box.width, box.height)
        if not (bounds.usual[0] <= longer <= bounds.usual[1]):
            low = longer < bounds.usual[0]
            needed = bounds.usual[0] if low else bounds.usual[1]
            yield Finding(
                rule="mixed-units",
                level="warn" if bounds.possible[0] <= longer <= bounds.possible[1] else "stop",
                message=f"the plate comes out {say(layout, box.width)} x {say(layout, box.height)}; "
                f"{'less' if low else 'more'} than {say(layout, needed)} is unusual",
                features=("outline",),
                at=box.center,
                found=longer,
                needed=needed,
                advice=Advice(f"check that every bare number is meant in {UNIT_WORDS[layout.spec.unit]}"),
            )
    # an angle of a few hundredths of a degree is no angle of a plate: it was worked out in radians
    for turned in radians_typed(spec):
        degrees = f"{turned.degrees:.10g} deg"
        yield Finding(
            rule="mixed-units",
            level="stop",
            message=f"{turned.field} is {turned.typed:g}, which is read as degrees; in radians it would be just "
            f"{degrees}",
            features=(turned.feature,),
            at=layout.outline.box.center,
            found=turned.typed,
            needed=turned.degrees,
            unit="deg",
            advice=Advice(
                f"write {degrees}, or {turned.typed:g} deg if that is meant", (Remedy(turned.field, degrees),)
            ),
        )


def _slipped(layout: Layout, slipped: list[SpecFigure]) -> Finding:
    spec = layout.spec
    other: Unit = "in" if spec.unit == "mm" else "mm"
    listed = []
    for figure in slipped:
        data = typed(spec, figure.field)
        written = shown(data) if not isinstance(data, list) else "its figures"
        listed.append(f"{figure.field} ({written}: a usual {figure.kind} in {UNIT_WORDS[other]} only)")
    listed = list(dict.fromkeys(listed))
    if len(listed) > MOST_TOLD:
        listed = [*listed[:MOST_TOLD], f"{len(listed) - MOST_TOLD} more"]
    first = slipped[0]
    low, high = first.usually
    # What ends the finding: the unit of the whole spec if that makes every figure usual, else a unit behind each.
    fields = list(dict.fromkeys(figure.field for figure in slipped))
    whole = False
    if len(fields) > 1:
        try:
            whole = all(figure.place == "possible" for figure in figures_of(with_data(spec, (("units", other),))))
        except PlatekitError:  # in the other unit it is no spec at all
            whole = False
    if whole:
        advice = Advice(
            f"write `units: {other}`, if the whole spec is in {UNIT_WORDS[other]}", (Remedy("units", other),)
        )
    else:
        remedies = tuple(Remedy(field, in_unit(typed(spec, field), other)) for field in fields)
        what = f"{remedies[0].field}: {remedies[0].value}" if len(remedies) == 1 else f"10 {other}"
        advice = Advice(
            f"write the unit behind {'it' if len(remedies) == 1 else 'each'}, such as {what}, or the figure in "
            f"{UNIT_WORDS[spec.unit]}",
            remedies,
        )
    # What no shop has ever made stops; what is merely rare may be meant.
    level: Level = "stop" if any(figure.place == "impossible" for figure in slipped) else "warn"
    return Finding(
        rule="mixed-units",
        level=level,
        message=f"{'these look' if len(slipped) > 1 else 'this looks'} like {UNIT_WORDS[other]} but "
        f"{'are' if len(slipped) > 1 else 'is'} read as {UNIT_WORDS[spec.unit]}: {'; '.join(listed)}",
        features=tuple(dict.fromkeys(figure.feature for figure in slipped)),
        at=_at(layout, first),
        found=first.value,
        needed=low if first.value < low else high,
        advice=advice,
    )


def _at(layout: Layout, figure: SpecFigure) -> Point:
    mount = layout.mounts.get(figure.feature)
    if mount is not None:
        return (mount.pose.x, mount.pose.y)
    for body in layout.bodies:
        if body.name == figure.feature:
            return body.shape.centroid
    return layout.outline.box.center


# ------------------------------------------------------------------------------------------- unusual


def unusual(layout: Layout) -> Iterator[Finding]:
    """Figures (mm) that nothing in a shop is like, in whatever unit."""
    spec = layout.spec
    for figure in _figures(layout):
        if figure.place == "possible" or figure.meant(spec):
            continue
        (low, high), worst = figure.usually, figure.place == "impossible"
        # against what is possible where it is beyond that, else against what is usual: the nearer end of either
        bound = figure.possible if worst else figure.usually
        needed = bound[0] if figure.value < bound[0] else bound[1]
        less = figure.value < bound[0]
        yield Finding(
            rule="unusual",
            level="stop" if worst else "warn",
            message=f"{figure.field} is {say(layout, figure.value)}, {'below' if less else 'above'} the "
            f"{say(layout, needed)} that {figure.bounds.source.name} {'can have' if worst else 'usually have'} at "
            f"{'least' if less else 'most'} ({figure.bounds.source.kind})",
            features=(figure.feature,),
            at=_at(layout, figure),
            found=figure.value,
            needed=needed,
            advice=Advice(
                f"measure again, and look at the unit and the point; usual is {say(layout, low)} to {say(layout, high)}"
            ),
        )
    yield from _material(layout)
    # A limit on the odds so low that it is no limit.
    for key in ("fit_warn", "fit_stop"):
        share = getattr(layout.limits, key)
        if share is not None and share < LEAST_ODDS:
            yield Finding(
                rule="unusual",
                level="stop",
                message=f"limits.{key} of {share:.3g} lets a plate pass whose screws usually do not go in; "
                f"{LEAST_ODDS:g} is the least that says anything",
                features=(f"limits.{key}",),
                at=layout.outline.box.center,
                found=share,
                needed=LEAST_ODDS,
                unit="",
                advice=Advice(f"leave it out, or give at least {LEAST_ODDS:g}", (Remedy(f"limits.{key}", 0.95),)),
            )
    gap = layout.limits.gap.value
    if layout.belts and gap < LEAST_GAP:
        yield Finding(
            rule="unusual",
            level="warn",
            message=f"limits.gap of {say(layout, gap)} lets belt and pulleys pass that near to what stands still, "
            f"and they shake; {say(layout, LEAST_GAP)} is the least that says anything",
            features=("limits.gap",),
            at=layout.outline.box.center,
            found=gap,
            needed=LEAST_GAP,
            field="limits.gap",
            advice=Advice(
                f"give at least {say(layout, LEAST_GAP)}, and a body that may come nearer a gap of its own",
                (Remedy("limits.gap", f"{LEAST_GAP:g} mm"),),
            ),
        )
    # A plate or motor that hangs on one screw can turn about it.
    mounts = layout.mounts
    old = layout.originals
    turning = [belt.driver.mount for belt in layout.belts]
    turning += [] if layout.twisted is None else [layout.twisted.driver]
    turning += [one.driving.mount for one in layout.couplings]
    for what, names in (("the plate", old), *((name, (name,)) for name in dict.fromkeys(turning) if name not in old)):
        holes = [point for name in names for point in mounts[name].points]
        swings = any(mounts[name].take_up for name in names)
        if len(holes) != 1 or swings:
            continue
        yield Finding(
            rule="unusual",
            level="stop",
            message=f"{what} is held by 1 screw, about which it turns; 2 are the least that hold it",
            features=tuple(names),
            at=holes[0],
            found=1.0,
            needed=2.0,
            unit="",
            advice=Advice("give all its holes; where something else keeps it from turning, accept this and say what"),
        )


def _material(layout: Layout) -> Iterator[Finding]:
    """Figures of a material of one's own that none of its family has; of any, where the family is not said."""
    own = layout.material
    listed = [tables.material(name) for name in tables.materials()]
    family = [one for one in listed if own.family in (None, one.family)] or listed
    # density in kg/m3, the others in N/mm2: what strength and weight are worked out with
    for key, factor, unit in (("density", 1.5, "kg/m3"), ("modulus", 1.5, "N/mm2"), ("yield_strength", 4.0, "N/mm2")):
        field, value = f"plate.material.{key}", getattr(own, key)
        if typed(layout.spec, field) is None:
            continue
        figures = [getattr(one, key) for one in family]
        low, high = min(figures) / factor, max(figures) * factor
        if low <= value <= high:
            continue
        needed = low if value < low else high
        impossible = value < low / SLIPPED or value > high * SLIPPED
        what = "a material" if own.family is None else own.family
        yield Finding(
            rule="unusual",
            level="stop" if impossible else "warn",
            message=f"{field} is {value:.6g} {unit}; {what} has {min(figures):g} to {max(figures):g} {unit} in "
            "the tables",
            features=("outline",),
            at=layout.outline.box.center,
            found=value,
            needed=needed,
            unit=unit,
            advice=Advice(f"look at its data sheet and at the unit: {key.replace('_', ' ')} counts in {unit} here"),
            field=field,
        )


RULES = (
    Rule(
        "mixed-units",
        "inches read as millimetres, or the other way; radians read as degrees",
        "what each kind of figure usually is (usual_figures.csv)",
        "usual figures, each row with its kind",
        mixed_units,
        levels=("stop", "warn"),
        keys=("units",),
    ),
    Rule(
        "unusual",
        "a figure with a slipped point or unit, a limit that limits nothing, a part on one screw",
        "what each kind of figure can be and usually is (usual_figures.csv); figures of materials in material.csv, and "
        f"{SLIPPED:g} times as far; 2 screws; odds of one half",
        "usual figures, each row with its kind; ours",
        unusual,
        levels=("stop", "warn"),
    ),
)
