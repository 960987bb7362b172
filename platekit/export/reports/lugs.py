"""Rows of the report and the bench sheet on lugs that are screwed on: what each is made of, its holes, its bend."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.drawing.sizes import figure
from platekit.export.reports.rows import Row
from platekit.laying.flat_parts import flat_parts
from platekit.laying.lugs import angle_lugs, unfolded_length
from platekit.placed import Layout
from platekit.units import show_length

LUGS_NOTE = (
    "The foot lies on the plate, away from the part; both faces flat and bare. Deburr the holes, break the edges. "
    "Screwed down first, then the jacking screw in its thread."
)


def lug_rows(layout: Layout) -> Iterator[Row]:
    """What there is to know of each lug of angle, lengths in the unit of the spec; nothing where there is none."""
    unit = layout.spec.unit
    names = [part for part, flat in flat_parts(layout).items() if flat.flat is not None and flat.flat.kind == "lug"]
    lugs = tuple(angle_lugs(layout))
    for part, (_, jack, angle) in zip(names[len(names) - len(lugs) :], lugs, strict=True):
        thick, wide, high = jack.lug
        legs = f"{figure(high, unit)} × {figure(angle.foot, unit)}"
        thickness, long = show_length(thick, unit), show_length(wide, unit)
        stack = layout.mounts[angle.mount].stack
        assert stack is not None
        if angle.k_factor is None:
            sawn = f" (sold as {angle.stock})" if angle.stock else ""
            said = [f"rolled angle {legs}, {thickness} thick{sawn}, {long} long"]
        else:
            blank = f"{figure(wide, unit)} × {show_length(unfolded_length(jack, angle), unit)}"
            said = [
                f"bent angle {legs} outside, {thickness} thick, {long} wide: blank {blank}",
                f"bend of 90 degrees, inside radius {show_length(angle.root, unit)}, K-factor {angle.k_factor:.3f} by "
                f"{angle.k_source}",
            ]
        said += [
            f"upright: tapped {jack.size} in its middle, {show_length(jack.above, unit)} over the plate",
            f"foot: two holes for {stack.size}, {show_length(angle.apart, unit)} apart, "
            f"{show_length(angle.row, unit)} behind the outside of the upright leg",
        ]
        ending = "cut.dxf" if angle.k_factor is not None else "template.pdf"
        said.append(f"file {layout.spec.name}.{part}.{ending}")
        yield angle.mount, "; ".join(said)
