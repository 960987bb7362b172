"""The openings of the plate: screw holes and slots, pilots, pivots, cutouts; each covers its travel."""

from __future__ import annotations

from collections.abc import Iterator

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import Disc, Swing, sweep
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import RECESS_FLOOR, pilot_of
from platekit.laying.relief import size_of
from platekit.laying.runs import Run
from platekit.laying.screws import HoleWanted
from platekit.laying.shapes import shape_of
from platekit.placed import Movable, Opening, PlacedBelt, PlateLimits
from platekit.spec import Spec
from platekit.spec.drive_words import WrapPlace
from platekit.spec.models import MAX_HOLES, MAX_RELIEFS


def mount_openings(frame: MountFrame, hole: HoleWanted, limits: PlateLimits) -> Iterator[Opening]:
    """The screw holes, the pilot and the pivot of one mount, numbered from 1 in the order of the pattern (mm)."""
    for label, name, point in zip(frame.labels, frame.hole_names, frame.points, strict=True):
        # A hole that travels is a slot: what its screw sweeps, exact for straight and swinging travel.
        shape = sweep(Disc(point, hole.diameter / 2), frame.hole_travel)
        yield Opening(
            name=name,
            role="screw",
            shape=shape,
            center=point,
            size=hole.diameter,
            field=frame.said or f"{frame.field}.pattern",
            mount=frame.name,
            thread=hole.thread,
            label=label,
        )
    # The pilot's opening travels as the holes do: a pilot that goes into the plate goes along in its slot.
    pilot = pilot_of(frame)
    if pilot is not None and pilot.opening not in ("none", "layer"):
        clearance = limits.pilot_clearance.value if pilot.clearance is None else pilot.clearance
        # A pilot is located by its hole, so the clearance is what the process holds unless the spec wants a fit of its
        # own.
        size = pilot.diameter + clearance
        center = frame.pose.point((0.0, 0.0))
        yield Opening(
            name=f"{frame.name}.pilot",
            role="pilot",
            shape=sweep(Disc(center, size / 2), frame.hole_travel),
            center=center,
            size=size,
            field=pilot.field,
            mount=frame.name,
            depth=pilot.depth + RECESS_FLOOR if pilot.opening == "recess" else None,
            side=frame.mount.side if pilot.opening == "recess" else None,
        )
    dowels = None if frame.mount.layer is None else frame.mount.layer.dowels
    for number, place in enumerate(() if dowels is None else dowels.at, start=1):
        assert dowels is not None
        center, field = frame.pose.point(place), f"{frame.field}.layer.dowels"
        shape = Disc(center, dowels.size / 2)
        yield Opening(f"{frame.name}.dowel {number}", "dowel", shape, center, dowels.size, field, mount=frame.name)
    take_up = frame.mount.take_up
    if not isinstance(frame.travel, Swing) or take_up is None or take_up.swing is None:
        return
    diameter = take_up.swing.pivot_hole
    if diameter is None:
        return
    about = frame.travel.about
    field = f"{frame.field}.take_up.swing.pivot_hole"
    yield Opening(f"{frame.name}.pivot", "pivot", Disc(about, diameter / 2), about, diameter, field, mount=frame.name)


def cutout_openings(spec: Spec) -> Iterator[Opening]:
    """The openings simply wanted, by their names (plate frame, mm)."""
    for name, given in spec.model.plate.cutouts.items():
        field = f"plate.cutouts.{name}"
        shape = shape_of(spec, given, field)
        placed = Movable("cutout", name, f"{field}.at", given.at)
        yield Opening(name, "cutout", shape, shape.centroid, size_of(shape), field, placed=placed)


def idler_holes(spec: Spec, runs: tuple[Run, ...], belts: tuple[PlacedBelt, ...]) -> Iterator[Opening]:
    """What idlers on the plate itself need: a clearance hole or slot for the screw, and the pivot of a swinging arm.

    In mm.
    """
    for run, belt in zip(runs, belts, strict=True):
        for idler, placed in zip(run.words.idlers, belt.idlers, strict=True):
            label = f"{run.name} {placed.end}"
            if idler.screw is not None:
                field = f"{placed.field}.screw"
                given = None if isinstance(idler.at, WrapPlace) else idler.at
                by = None if given is None else Movable("idler", label, f"{placed.field}.at", given)
                size = tables.screw(idler.screw).clearance.get("normal")
                if size is None:
                    wanted = "the tables list no clearance hole for it; choose another size"
                    raise SpecError((spec.problem(field, idler.screw, wanted),))
                shape = sweep(Disc(placed.center, size / 2), placed.mount_travel)
                yield Opening(f"{label} screw", "cutout", shape, placed.center, size, field, placed=by)
            swing = None if idler.take_up is None else idler.take_up.swing
            if swing is not None and swing.pivot_hole is not None:
                field = f"{placed.field}.take_up.swing.pivot_hole"
                hole = Disc(swing.about, swing.pivot_hole / 2)
                yield Opening(f"{label} pivot", "cutout", hole, swing.about, swing.pivot_hole, field)


def reliefs_within_count(spec: Spec) -> None:
    """Nothing; `SpecError` at the first body too many that is to be cut out of the plate."""
    cut_out = [name for name, body in spec.model.bodies.items() if body.relief == "auto"]
    if len(cut_out) > MAX_RELIEFS:
        wanted = f"at most {MAX_RELIEFS} bodies are cut out of one plate; draw the opening as one cutout"
        field = f"bodies.{cut_out[MAX_RELIEFS]}.relief"
        raise SpecError((spec.problem(field, f"{len(cut_out)} bodies with a relief", wanted),))


def within_count(spec: Spec, openings: tuple[Opening, ...]) -> tuple[Opening, ...]:
    """The openings themselves, if they are not more than the stated limit; else `SpecError`."""
    if len(openings) > MAX_HOLES:
        wanted = f"one plate takes at most {MAX_HOLES}"
        raise SpecError((spec.problem("mounts", f"{len(openings)} openings in all", wanted),))
    return openings
