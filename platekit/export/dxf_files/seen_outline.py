"""An outline off a picture as the drawing that a spec's `drawn` reads: one closed polyline, mm, y up."""

from __future__ import annotations

from typing import Final

from platekit.export.dxf_files.document import bytes_of, fixed_metadata, new_document, tidy_vertices
from platekit.geometry import Loop

OUTLINE_SUFFIX: Final = ".outline.dxf"
LAYER: Final = "SEEN"


def outline_dxf(loop: Loop, told: str) -> bytes:
    """The DXF file of an outline, mm where it lies; `told` says in its head what it comes from."""
    with fixed_metadata():
        document = new_document("R2000", "mm", {LAYER: 7}, {"SEEN": told})
        corners = tidy_vertices(loop.vertices, lambda place: place)
        document.modelspace().add_lwpolyline(corners, "xyb", close=True, dxfattribs={"layer": LAYER})
        return bytes_of(document, loop.box.width, loop.box.height, loop.box)
