"""Packing under a part that its belt sizes: pulleys come in line, or shafts along the plate come as high."""

from __future__ import annotations

from msgspec.structs import replace

from platekit import tables
from platekit.errors import SpecError
from platekit.laying.axes import Seated, plane_of, pulley_seat, span_of, turned_pose
from platekit.laying.coupling_sizes import with_couplings
from platekit.laying.layers import with_layers
from platekit.laying.rims import with_rims
from platekit.laying.twisted import BY_HAND, is_twisted
from platekit.placed import SAME_LENGTH
from platekit.spec import Spec
from platekit.spec.drive_words import PulleyWords, SeatWords, Stage
from platekit.units import show_length


def with_looked_up(spec: Spec) -> Spec:
    """The spec with the figures that it leaves to others: layers, couplings, rims of stock pulleys, then packing."""
    return with_packing(with_rims(with_couplings(with_layers(spec))))


def with_packing(spec: Spec) -> Spec:
    """The spec with the standoff of each mount that its belt packs, in stock thicknesses; its text stays the user's.

    Raises `SpecError` where the part would have to go lower than the plate, or nothing says what it is to meet.
    """
    waiting = [name for name, mount in spec.model.mounts.items() if mount.packing == "belt"]
    if not waiting:
        return spec
    mounts = dict(spec.model.mounts)
    for name in waiting:
        mounts[name] = mounts[name].model_copy(update={"standoff": _standoff(spec, name)})
    return replace(spec, model=spec.model.model_copy(update={"mounts": mounts}))


def _standoff(spec: Spec, name: str) -> float:
    field = f"mounts.{name}.packing"
    drive = spec.model.drive
    second = None if drive is None else drive.second
    stages: tuple[tuple[str, Stage | None], ...] = (("drive", drive), ("drive.second", second))
    for at, stage in stages:
        if stage is None:
            continue
        ends = {"driver": stage.driver, "driven": stage.driven}
        end = next((key for key, pulley in ends.items() if pulley.on == name), None)
        if end is None:
            continue
        if is_twisted(stage):
            raise SpecError((spec.problem(field, "packing by a twisted belt", f"give the standoff: {BY_HAND}"),))
        other = "driven" if end == "driver" else "driver"
        if spec.model.mounts[ends[other].on].packing is not None:
            found = f"packing by the belt under {name} and {ends[other].on} both"
            raise SpecError((spec.problem(field, found, "give one of them its standoff: the other one meets it"),))
        needed = _needed(spec, at, stage, (end, ends[end]), (other, ends[other]))
        if needed < -SAME_LENGTH:
            low = show_length(-needed, spec.unit)
            lies = plane_of(spec, stage, at).lies
            wanted = f"lift {ends[other].on} by so much, or take a part with a lower shaft"
            if not lies:
                wanted = f"move its pulley so much along its shaft, or pack {ends[other].on} up"
            raise SpecError((spec.problem(field, f"a part that would have to be {low} lower than the plate", wanted),))
        return tables.packing(max(needed, 0.0), spec.unit).height
    wanted = f"put a pulley of the drive on {name}, or give its standoff"
    raise SpecError((spec.problem(field, "packing by a belt that there is none of", wanted),))


def _needed(
    spec: Spec, field: str, stage: Stage, own: tuple[str, PulleyWords], other: tuple[str, PulleyWords]
) -> float:
    """How far the part has to be lifted off the plate, mm; below 0 where it would have to go into it."""
    plane = plane_of(spec, stage, field)
    seats: list[Seated] = []
    for end, pulley in (own, other):
        mount = spec.model.mounts[pulley.on]
        seats.append(pulley_seat(spec, pulley, f"{field}.{end}", turned_pose(mount), plane))
    # Shafts along the plate come to one height in the belt's plane; square to it, the rims come in line along them.
    if plane.lies:
        by = seats[1].center[1] - seats[0].center[1]
    else:
        middles = []
        for (end, pulley), seat in zip((own, other), seats, strict=True):
            told = pulley.span
            if isinstance(told, SeatWords) and told.in_line:
                at = f"{field}.{end}.span.in_line"
                wanted = "say where along its shaft it sits (from_face, from_end or [from, to])"
                raise SpecError((spec.problem(at, "a pulley in line with one that packing brings in line", wanted),))
            middles.append(sum(seat.z(span_of(spec, pulley, f"{field}.{end}", seat, None))) / 2)
        by = middles[1] - middles[0]
    return by if spec.model.mounts[own[1].on].side == "near" else -by
