"""Rows of the report and the bench sheet on layers: what each is cut from, what holds it, what stands on it."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.cutting.estimate import plan
from platekit.drawing.pdf.strip import by
from platekit.drawing.sizes import figure, mass_figure
from platekit.export.reports.rows import Row, minutes
from platekit.laying.layers import layer_parts
from platekit.placed import Layout
from platekit.units import show_length

LAYERS_NOTE = (
    "Each is cut as a plate of its own, by a file and a paper of its own. Faces that lie on each other are flat, "
    "deburred and bare of scale and paint; what lies between them bends the stack. Loose layers bend each by itself: "
    "their stiffness is not counted, their weight is."
)


def layer_rows(layout: Layout) -> Iterator[Row]:
    """What there is to know of each layer; nothing where there is none."""
    unit, parts = layout.spec.unit, layer_parts(layout)
    for mount in layout.mounts.values():
        if mount.layer is None:
            continue
        flat, box = parts[mount.layer.part], parts[mount.layer.part].outline.box
        said = [
            f"{by(box.width, box.height, unit)}, {show_length(mount.layer.thickness, unit)} "
            f"{mount.layer.material.name}, {mass_figure(flat.mass, unit)}, {mount.side} side, "
            f"revision {flat.spec.revision}"
        ]
        on = [one.name for one in layout.mounts.values() if one.on == mount.name]
        heads = [one.name for one in layout.mounts.values() if one.heads_on == mount.name]
        said += [f"under {' and '.join(on)}"] if on else []
        said += [f"heads of {' and '.join(heads)} on it"] if heads else []
        if mount.stack is not None:
            where = {"part": "threads in it", "plate": "threads in the plate", "nut": "nuts on it"}
            said.append(f"{mount.stack.count} × {mount.stack.size}, {where[mount.stack.into]}")
        pins = mount.layer.dowels
        if pins is not None:
            long = "no stock length" if pins.length is None else show_length(pins.length, unit)
            said.append(
                f"{pins.count} dowel pins {figure(pins.size, unit)} × {long}: reamed H7 through both, driven in from "
                "the layer until they are flush"
            )
        made = plan(flat)
        said += [f"{show_length(made.cut_length, unit)} to cut, {minutes(made.total_s)}"] if made is not None else []
        said.append(f"file {layout.spec.name}.{mount.layer.part}.cut.dxf")
        yield mount.name, "; ".join(said)
