"""Layers: flat plates of their own on the plate, such as a locating ring; what goes through them, as plates and bodies.

A layer is the part of a mount that is cut too. What stands on it is lifted by its thickness, so that all that goes by a
standoff (grip, bodies, shafts) needs to know nothing of layers. Only while a plate is laid out: the spec that a layout
carries says again what the user says, so that an edit of it is an edit of his text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from msgspec.structs import replace

from platekit import tables
from platekit.errors import GeometryError, LookupFailed, SpecError
from platekit.geometry import Disc, Shape, Upright, covers, distance, sweep
from platekit.laying.limits import limits_of, material_of
from platekit.laying.outline import outline_of
from platekit.laying.parted import parted
from platekit.laying.relief import size_of
from platekit.laying.shapes import shape_of
from platekit.laying.spans import z_range
from platekit.placed import (
    SAME_LENGTH,
    Body,
    CarriedMass,
    Dowels,
    FlatPart,
    Layer,
    Layout,
    Movable,
    Opening,
    PlacedMount,
)
from platekit.spec import Spec
from platekit.spec.models import LayerWords, MountWords
from platekit.tables.dowels import dowel_pins

LIGHT_METAL_DENSITY = 4000.0
"""Below this density (kg/m3) a layer without a family is taken for aluminium, above for steel (ours)."""
LAYER_PART = r"layer-[a-z0-9-]+"
"""What a layer is called in the names of files, as a regular expression."""
HAIR = 0.01
"""So much of its radius a pin is drawn thinner than its hole, mm (ours): its own fit is some thousandths."""


# --------------------------------------------------------------------------------------------- words


def with_layers(spec: Spec) -> Spec:
    """The spec with each part on a layer lifted by it, and the depths that a layer's screws find in it (mm).

    Done twice it changes nothing more. Raises `SpecError` for a layer that is none.
    """
    model = spec.model
    found: dict[str, MountWords] = {}
    lifts: dict[str, float] = {}
    as_said: dict[str, dict[str, Any]] = {}
    for name, mount in model.mounts.items():
        said = spec.as_said.get(name, {"standoff": mount.standoff, "screws": mount.screws})
        if mount.layer is not None and mount.screws is not None:
            layer = _layer(spec, name, mount.layer)
            told: dict[str, object] = {"flange": layer.thickness}
            if mount.screws.into == "part":
                told = {"depth": layer.thickness, "thread_in": _family(layer.material)}
            found[name] = mount.model_copy(update={"screws": mount.screws.model_copy(update=told)})
        for key, word in (("on", mount.on), ("heads_on", mount.heads_on)):
            if word is None:
                continue
            under = _under(spec, f"mounts.{name}.{key}", word, mount, same_side=key == "on")
            if key == "on":
                lifts[name] = under.thickness
                found[name] = mount.model_copy(update={"standoff": said["standoff"] + under.thickness})
        if name in found:
            as_said[name] = said
    if not found:
        return spec
    mounts = {name: found.get(name, mount) for name, mount in model.mounts.items()}
    return replace(spec, model=model.model_copy(update={"mounts": mounts}), lifts=lifts, as_said=as_said)


def without_layers(spec: Spec) -> Spec:
    """The spec with what `with_layers` reckoned in taken out again: standoffs (mm) and screws are the user's."""
    if not spec.as_said:
        return spec
    mounts = {name: mount.model_copy(update=spec.as_said.get(name, {})) for name, mount in spec.model.mounts.items()}
    return replace(spec, model=spec.model.model_copy(update={"mounts": mounts}), lifts={}, as_said={})


def _under(spec: Spec, field: str, word: str, mount: MountWords, same_side: bool) -> LayerWords:
    """The layer of a name, on the side where the mount needs it."""
    layers = [name for name, other in spec.model.mounts.items() if other.layer is not None]
    other = spec.model.mounts.get(word)
    if other is None or other.layer is None:
        wanted = f"name a mount that is a layer: {', '.join(layers)}" if layers else "give that mount its `layer`"
        raise SpecError((spec.problem(field, f"{word!r}, which is no layer", wanted),))
    if (other.side == mount.side) != same_side:
        wanted = "it must be on the part's own side" if same_side else "heads are on the other side than the part"
        raise SpecError((spec.problem(field, f"{word!r}, on the {other.side} side", wanted),))
    return other.layer


def layer_of(spec: Spec, name: str) -> Layer | None:
    """What a mount is as a layer; None for a part from elsewhere."""
    words = spec.model.mounts[name].layer
    return None if words is None else _layer(spec, name, words)


def _layer(spec: Spec, name: str, words: LayerWords) -> Layer:
    material, named = material_of(spec), words.material or spec.model.plate.material
    if isinstance(named, str):
        try:
            material = tables.as_thick(tables.material(named), words.thickness)
        except LookupFailed as error:
            field = f"mounts.{name}.layer.material"
            raise SpecError((spec.problem(field, named, str(error)),)) from error
    names = [one for one, mount in spec.model.mounts.items() if mount.layer is not None]
    # file names are plain: two names that come out alike are told apart by their places
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "layer"
    alike = [one for one in names if (re.sub(r"[^a-z0-9]+", "-", one.lower()).strip("-") or "layer") == plain]
    part = f"layer-{plain}" if len(alike) == 1 else f"layer-{plain}-{alike.index(name) + 1}"
    return Layer(words.thickness, material, part, _dowels(spec, words))


def _dowels(spec: Spec, words: LayerWords) -> Dowels | None:
    """The pins of a layer: the longest in stock that goes into both without standing out of them (mm)."""
    said = words.dowels
    if said is None:
        return None
    pins = dowel_pins("metric" if spec.unit == "mm" else "inch") + dowel_pins("inch" if spec.unit == "mm" else "metric")
    pin = next((one for one in pins if abs(one.diameter - said.size) <= SAME_LENGTH), None)
    lengths = () if pin is None else pin.lengths
    most = spec.model.plate.thickness + words.thickness
    fits = [one for one in lengths if one <= most + SAME_LENGTH]
    length = said.length or max(fits, default=None)
    return Dowels(said.size, len(said.at), length, lengths, "" if pin is None else str(pin.source))


def _family(material: tables.Material) -> str:
    """What a thread in a layer is cut in, as screws know it."""
    if material.family in ("steel", "aluminium"):
        return str(material.family)
    return "aluminium" if material.density < LIGHT_METAL_DENSITY else "steel"


# --------------------------------------------------------------------------------------------- as plates


def layer_parts(layout: Layout) -> dict[str, Layout]:
    """Each layer as a flat plate of its own, in the plate frame, by what its files call it (mm)."""
    return {mount.layer.part: _flat(layout, mount, mount.layer) for mount in layout.mounts.values() if mount.layer}


def _flat(layout: Layout, mount: PlacedMount, layer: Layer) -> Layout:
    model = layout.spec.model
    words = model.mounts[mount.name].layer
    assert words is not None
    plate = model.plate.model_copy(
        update={
            "thickness": layer.thickness,
            "material": words.material or model.plate.material,
            "outline": words.outline,
            "cutouts": words.cutouts,
            "ribs": {},
            "tabs": {},
            "feet": None,
            "flange": None,
        }
    )
    as_plate = {
        "plate": plate,
        "cutting": model.cutting.model_copy(update={"scribe": []}),
        "title": f"Layer {mount.name}: {layout.title}",
    }
    spec = replace(layout.spec, model=model.model_copy(update=as_plate))
    limits = limits_of(spec)
    own = [*_own(layout, spec, mount), *_of_others(layout, mount, limits.pilot_clearance.value)]
    # a screw that stands in a wider opening of the layer needs none of its own
    wide = [one for one in own if one.role != "screw"]
    own = [one for one in own if one.role != "screw" or not any(covers(other.shape, one.shape) for other in wide)]
    try:
        outside = outline_of(spec, tuple(own), {}, limits)
    except SpecError as error:  # said of the plate's outline, as which it was drawn
        field = f"{mount.field}.layer.outline"
        told = [layout.spec.problem(field, one.found, one.wanted) for one in error.problems]
        raise SpecError(tuple(told)) from error
    there = {one.name for one in own}
    through = [
        replace(one, mount=None)
        for one in layout.openings
        if one.through and one.name not in there and not (one.role == "screw" and one.mount in _with(layout, mount))
        if distance(one.shape, outside).distance < -SAME_LENGTH
        and not any(covers(other.shape, one.shape) for other in wide)
    ]
    lies = "lies on the plate"
    faces = {
        side: f"{side.upper()} SIDE facing you: {'away from the plate' if side == mount.side else lies}"
        for side in ("near", "far")
    }
    note = (
        f"On the {mount.side} side of the plate, x and y as on its paper. Clamped on the plate in its place: holes "
        "that both have are drilled through both, its own screw holes spotted through those of the plate."
    )
    return replace(
        layout,
        spec=spec,
        material=layer.material,
        limits=limits,
        mounts={},
        openings=(*own, *through),
        bodies=(),
        outline=outside,
        belts=(),
        guards=(),
        flat=FlatPart("layer", (faces["near"], faces["far"]), True, note),
        twisted=None,
        couplings=(),
        tabs=(),
        feet=None,
        flange=None,
    )


def _with(layout: Layout, mount: PlacedMount) -> set[str]:
    """The mounts whose screws go through a layer: its own, those that stand on it, those whose heads do."""
    others = layout.mounts.values()
    return {mount.name, *(one.name for one in others if mount.name in (one.on, one.heads_on))}


def _own(layout: Layout, spec: Spec, mount: PlacedMount) -> Iterator[Opening]:
    """A layer's own screw holes, tapped where it holds the thread, and its cutouts (mm)."""
    stack = mount.stack
    for one in layout.openings:
        if one.mount != mount.name or stack is None:
            continue
        if one.role == "dowel":
            yield replace(one, mount=None)
            continue
        screw = tables.screw(stack.size)
        if stack.into == "part":
            shape: Shape = Disc(one.center, screw.tap_drill / 2)
            yield replace(one, mount=None, shape=shape, size=screw.tap_drill, thread=stack.size)
        elif stack.into == "plate":
            wide = screw.clearance["normal"]
            yield replace(one, mount=None, shape=Disc(one.center, wide / 2), size=wide, thread=None)
        else:
            yield replace(one, mount=None)
    for name, given in spec.model.plate.cutouts.items():
        field = f"{mount.field}.layer.cutouts.{name}"
        shape = shape_of(spec, given, field)
        placed = Movable("cutout", name, f"{field}.at", given.at)
        yield Opening(name, "cutout", shape, shape.centroid, size_of(shape), field, placed=placed)


def _of_others(layout: Layout, mount: PlacedMount, clearance: float) -> Iterator[Opening]:
    """What goes through a layer of the mounts on it (mm): screws, the pilot in it, pivots."""
    for other in layout.mounts.values():
        if mount.name not in (other.on, other.heads_on):
            continue
        for one in layout.openings:
            if one.mount != other.name or one.role not in ("screw", "pilot", "pivot") or not one.through:
                continue
            if one.role == "pilot" and other.on != mount.name:
                continue
            if one.thread is not None and other.stack is not None:  # tapped in the plate: here it only passes
                wide = tables.screw(other.stack.size).clearance["normal"]
                yield replace(one, mount=None, shape=Disc(one.center, wide / 2), size=wide, thread=None)
            else:
                yield replace(one, mount=None)
        if other.on == mount.name and other.pilot_opening == "layer" and other.pilot is not None:
            given = layout.spec.model.mounts[other.name].pilot
            play = clearance if given is None or given.clearance == "auto" else given.clearance
            size, center = other.pilot + play, (other.pose.x, other.pose.y)
            shape = sweep(Disc(center, size / 2), other.hole_travel)
            yield Opening(f"{other.name}.pilot", "pilot", shape, center, size, f"{other.field}.pilot")


# --------------------------------------------------------------------------------------------- as bodies


def with_layers_in_place(layout: Layout) -> Layout:
    """The layout with its layers as bodies, and with what each weighs (mm, kg)."""
    parts = layer_parts(layout)
    if not parts:
        return layout
    bodies, mounts = list(layout.bodies), dict(layout.mounts)
    for mount in layout.mounts.values():
        if mount.layer is None:
            continue
        flat = parts[mount.layer.part]
        body = _body(layout, mount, mount.layer, flat)
        if body is not None:
            bodies.append(body)
            bodies += _pins(layout, mount, mount.layer, body)
        x, y = mount.pose.inverse().point(flat.outline.centroid)
        box = flat.outline.box
        size = (box.width, box.height, mount.layer.thickness)
        mass = CarriedMass(flat.mass, flat.mass, (x, y, mount.layer.thickness / 2), size)
        mounts[mount.name] = replace(mount, mass=mass)
    return replace(layout, bodies=tuple(bodies), mounts=mounts)


def _body(layout: Layout, mount: PlacedMount, layer: Layer, flat: Layout) -> Body | None:
    """A layer where it lies, in pieces without holes; None where it is in pieces, which its own rules tell."""
    z = z_range(mount.side, (0.0, layer.thickness), layout.thickness)
    try:
        pieces = parted(flat.outline.loop(), flat.outline.loop(), [one.shape for one in flat.openings if one.through])
    except GeometryError:
        return None
    on, clamped = {one.name for one in layout.mounts.values() if one.on == mount.name}, _with(layout, mount)

    def lets(body: Body) -> bool:
        beside = body.z[0] >= z[1] - SAME_LENGTH or body.z[1] <= z[0] + SAME_LENGTH
        if body.carrier in on and (body.kind == "spigot" or beside):
            return True
        return body.carrier in clamped and body.hardware

    return Body(
        name=f"{mount.name}.layer",
        kind="standard",
        carrier=mount.name,
        side=mount.side,
        shape=flat.outline,
        swept=flat.outline,
        z=z,
        gap=0.0,
        relief=False,
        field=mount.field,
        touches=frozenset(body.name for body in layout.bodies if lets(body)),
        pieces=tuple(Upright(piece, *z) for piece in pieces),
    )


def _pins(layout: Layout, mount: PlacedMount, layer: Layer, body: Body) -> Iterator[Body]:
    """The dowel pins of a layer, flush with its free face (mm): as they stand in their holes, a hair thinner."""
    if layer.dowels is None or layer.dowels.length is None:
        return
    z = z_range(mount.side, (layer.thickness - layer.dowels.length, layer.thickness), layout.thickness)
    beside = {one.name for one in layout.bodies if one.z[0] >= z[1] - SAME_LENGTH or one.z[1] <= z[0] + SAME_LENGTH}
    for one in layout.openings:
        if one.mount == mount.name and one.role == "dowel":
            shape = Disc(one.center, one.size / 2 - HAIR)
            pin = replace(body, name=f"{one.name}.pin", shape=shape, swept=shape, z=z, pieces=())
            yield replace(pin, touches=frozenset(beside | {body.name}))
