"""From spec to layout: the one place where everything gets its position.

The job in the order of the bench: what the plate is made of and what limits hold; which belt runs where; where the
mounts go; which screws they take and what those clamp; what space the parts take up; which openings follow; what
outside holds it all together. Nothing moves after this; the checks judge the result and the exports draw it.
"""

from __future__ import annotations

from platekit import tables
from platekit.collector import without_collecting
from platekit.errors import Problem, SpecError
from platekit.laying.belts import drive_bodies, placed_belt
from platekit.laying.bodies import given_bodies, measured_shafts, rib_bodies, spigot, standard_bodies, told_shafts
from platekit.laying.couplings import coupling_bodies, placed_couplings
from platekit.laying.dowels import dowel_bodies, dowel_openings
from platekit.laying.flange import flange_bodies, with_flange
from platekit.laying.guard import closed_by_plate, guard_openings, guards_of
from platekit.laying.guard_bodies import guard_bodies
from platekit.laying.hinges import on_hinges
from platekit.laying.jacks import jack_bodies, lug_frames
from platekit.laying.layers import with_layers_in_place, without_layers
from platekit.laying.lighten import lightened
from platekit.laying.limits import limits_of, material_of
from platekit.laying.mounts import MountFrame, place_mounts
from platekit.laying.openings import cutout_openings, idler_holes, mount_openings, reliefs_within_count, within_count
from platekit.laying.outline import outline_of
from platekit.laying.packing import with_looked_up
from platekit.laying.placing import placed_mount
from platekit.laying.relief import opened_outline, relief_openings
from platekit.laying.runs import Run, runs_of
from platekit.laying.screws import Fastener, HoleWanted, fastener_of, hardware, hole_wanted, stack_of
from platekit.laying.shapes import errors_at
from platekit.laying.tongues import placed_feet, with_feet, with_tabs
from platekit.laying.twisted_pulleys import twisted_in_space
from platekit.placed import Body, Layout, Opening, PlacedBelt, PlacedMount, PlateLimits, ScrewStack
from platekit.spec import Spec
from platekit.spec.figures import unit_slips
from platekit.tables.rows import use_own

__all__ = ["Layout", "lay_out"]


@without_collecting()
def lay_out(spec: Spec) -> Layout:
    """The layout of a spec, in the plate frame, mm and radians.

    Raises `SpecError` with every problem found, each with its place in the file, if no plate can be laid out; figures
    that look like the other unit come first, since they may be why.
    """
    use_own(spec.own.rows)
    try:
        with errors_at(spec, "plate"):  # what has no nearer place
            return _laid_out(with_looked_up(spec))
    except SpecError as error:
        # Only now: a slip of the unit is looked for where nothing can be laid out; a plate that can be is the rules'
        # business.
        slips = unit_slips(spec)
        if not slips:
            raise
        raise SpecError((*slips, *error.problems)) from error


def _laid_out(spec: Spec) -> Layout:
    # Each step only needs what stands above it. Belts come before mounts, as a belt may decide where a mount goes; once
    # the mounts have their places, each belt is worked out again with the true distance of its shafts.
    reliefs_within_count(spec)
    material = material_of(spec)
    limits = limits_of(spec)
    runs = runs_of(spec)
    frames = place_mounts(spec, runs)
    belts = tuple(placed_belt(spec, run, frames) for run in runs)
    # a lug that is screwed on is a mount too, whose place follows from the travel of its part
    frames |= lug_frames(spec, frames)
    mounts, bolted = bolt_up(spec, frames, material)
    bodies = (*take_space(spec, frames, bolted, limits), *drive_bodies(spec, runs, belts, limits))
    couplings = placed_couplings(spec, frames, belts)
    bodies = (*bodies, *coupling_bodies(spec, frames, couplings, bodies, limits))
    bodies = tuple(on_hinges(bodies, frames))
    # A guard goes round all that turns, and is a body itself for all that comes after.
    guards = guards_of(spec, belts, bodies, mounts)
    for guard in guards:
        bodies = (*bodies, *guard_bodies(guard, limits, spec.model.plate.thickness))
    openings = open_up(spec, frames, bolted, (runs, belts), bodies, limits, tuple(guard_openings(guards)))
    outside = outline_of(spec, openings, stacks_of(mounts), limits, closed_by_plate(guards))
    # A given outline opens where a relief comes too near it; one that wraps the openings makes room by itself.
    openings, outline = opened_outline(spec, openings, outside, limits)
    # What stands out of the outline is no part of what the openings ask for: it is joined to what they left.
    outline, in_feet = with_feet(spec, outline, limits)
    outline, in_tabs, tabs = with_tabs(spec, outline, limits)
    openings = within_count(spec, (*openings, *in_feet, *in_tabs))
    openings = lightened(spec, openings, outline, limits, mounts, closed_by_plate(guards))
    # The blank goes on beyond the edge that is bent; nothing else is laid out on that.
    outline, flange = with_flange(spec, outline, limits, material)
    bodies = (*bodies, *flange_bodies(flange, limits))
    twisted = twisted_in_space(spec, frames)
    said = without_layers(spec)
    laid = Layout(
        said,
        material,
        limits,
        mounts,
        openings,
        bodies,
        outline,
        belts,
        guards,
        twisted=twisted,
        couplings=couplings,
        tabs=tabs,
        feet=placed_feet(spec),
        flange=flange,
    )
    # Layers lie on the plate, and what is open in it is open in them: so they come last, as plates and as bodies.
    return with_layers_in_place(laid)


Bolted = dict[str, tuple[Fastener | None, HoleWanted, ScrewStack | None]]
"""By mount: its screw, the hole that takes it, and what it clamps."""


def bolt_up(
    spec: Spec, frames: dict[str, MountFrame], material: tables.Material
) -> tuple[dict[str, PlacedMount], Bolted]:
    """The mounts with their screws; all that is wrong with the screws is said at once."""
    problems: list[Problem] = []
    mounts: dict[str, PlacedMount] = {}
    bolted: Bolted = {}
    for name, frame in frames.items():
        try:
            screw = fastener_of(spec, frame)
            hole = hole_wanted(spec, frame, screw)
            stack = None if screw is None else stack_of(spec, frame, screw, material)
        # One mount's screws say nothing of another's: all are asked, so that a shop hears of every mistake at once.
        except SpecError as error:
            problems += error.problems
            continue
        bolted[name] = (screw, hole, stack)
        mounts[name] = placed_mount(spec, frame, hole, stack)
    if problems:
        raise SpecError(tuple(problems))
    return mounts, bolted


def take_space(spec: Spec, frames: dict[str, MountFrame], bolted: Bolted, limits: PlateLimits) -> tuple[Body, ...]:
    """Everything that takes up space: given bodies, standard parts, spigots, screws (plate frame, mm)."""
    bodies = [*given_bodies(spec, frames, limits), *rib_bodies(spec, limits)]
    for name, frame in frames.items():
        with errors_at(spec, frame.field):
            bodies += standard_bodies(spec, frame, limits)
            bodies += told_shafts(spec, frame, limits)
            bodies += measured_shafts(spec, frame, limits)
            bodies += spigot(spec, frame)
            bodies += dowel_bodies(spec, frame)
            screw, _, stack = bolted[name]
            if screw is not None and stack is not None:
                bodies += hardware(spec, frame, screw, stack, limits)
            # The jack pushes its own part, so it may touch whatever belongs to that.
            own = frozenset(body.name for body in bodies if body.carrier == name)
            bodies += jack_bodies(spec, frame, own, limits)
    return tuple(bodies)


def open_up(
    spec: Spec,
    frames: dict[str, MountFrame],
    bolted: Bolted,
    driven: tuple[tuple[Run, ...], tuple[PlacedBelt, ...]],
    bodies: tuple[Body, ...],
    limits: PlateLimits,
    fixings: tuple[Opening, ...] = (),
) -> tuple[Opening, ...]:
    """Every opening: the mounts' own, the cutouts, the guard's `fixings`, then the reliefs that bodies still need.

    In mm.
    """
    openings: list[Opening] = []
    for name, frame in frames.items():
        with errors_at(spec, frame.field):
            openings += mount_openings(frame, bolted[name][1], limits)
            openings += dowel_openings(spec, frame)
    openings += cutout_openings(spec)
    openings += idler_holes(spec, *driven)
    # Reliefs come last: a body gets one only where no opening that is there lets it through.
    openings += fixings
    return within_count(spec, relief_openings(spec, bodies, tuple(openings), limits))


def stacks_of(mounts: dict[str, PlacedMount]) -> dict[str, ScrewStack]:
    """The screw stacks by mount, of the mounts that have screws."""
    return {name: mount.stack for name, mount in mounts.items() if mount.stack is not None}
