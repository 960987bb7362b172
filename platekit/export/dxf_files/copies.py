"""The cut files of all copies on their sheet, proved copy by copy before they are written.

They are made of what the files of the single plate are made of: the same layers, forms and units, each copy turned and
moved to its place. The lower left of the sheet is at 0,0, so that the file lies on the table as the sheet does. Marks
and scribed words of all copies come first, then copy by copy the openings and the outside. The sheet's own outline is
there on request, for reference.
"""

from __future__ import annotations

from platekit.cutting.nest import Nest
from platekit.cutting.sheet_paths import SheetPaths, sheet_paths
from platekit.errors import OutputError
from platekit.export.dxf_files.copies_proof import prove_copies, prove_copies_kerf
from platekit.export.dxf_files.cut import Form, add_item, dxf_suffix, empty, items, shape_item
from platekit.export.dxf_files.document import bytes_of, fixed_metadata, new_document
from platekit.export.dxf_files.kerf import add_paths, cuttable_paths, kerf_suffix
from platekit.export.dxf_files.kerf_proof import LAYERS
from platekit.geometry import Box, Pose, box_round
from platekit.placed import Layout
from platekit.units import Unit, mm_per

COPIES = ".copies"


def copies_dxf_suffix(form: Form = "r2000", unit: Unit = "mm") -> str:
    """The ending of the name of the copies' cut file.

    >>> copies_dxf_suffix(), copies_dxf_suffix("plain", "in")
    ('.copies.cut.dxf', '.copies.cut.plain.in.dxf')
    """
    return COPIES + dxf_suffix(form, unit)


def copies_kerf_suffix(unit: Unit = "mm") -> str:
    """The ending of the name of the copies' compensated file.

    >>> copies_kerf_suffix()
    '.copies.kerf.dxf'
    """
    return COPIES + kerf_suffix(unit)


def copies_dxf_bytes(
    layout: Layout, nest: Nest, form: Form = "r2000", unit: Unit = "mm", reference: bool = False
) -> bytes:
    """The bytes of the cut file of the whole sheet, proved; the same layout gives the same bytes.

    Raises `OutputError` when the drawing does not pass its proof. Whether the plate may be cut is not asked here.
    """
    data = copies_drawn(layout, nest, form, unit, reference)
    prove_copies(data, layout, nest, form, unit, reference)
    return data


def copies_kerf_bytes(layout: Layout, nest: Nest, unit: Unit = "mm") -> bytes:
    """The bytes of the compensated file of the whole sheet, proved; the same layout gives the same bytes.

    Raises `OutputError` as `kerf_bytes` does, and when a copy has no room beside the others for the pierce of its
    outside.
    """
    paths = sheet_paths(layout, cuttable_paths(layout), nest, to_file(nest))
    if paths.tight:
        numbers = ", ".join(map(str, paths.tight[:5])) + (" and more" if len(paths.tight) > 5 else "")
        raise OutputError(
            f"the compensated file of the copies was not written: no room is left beside copy {numbers} to pierce for "
            "its outside; leave more between them (cutting: margin)"
        )
    data = copies_kerf_drawn(layout, nest, paths, unit)
    prove_copies_kerf(data, layout, nest, unit)
    return data


def to_file(nest: Nest) -> Pose:
    """From the sheet's frame to the file's, whose 0,0 is the sheet's lower left, mm."""
    box = nest.sheet.box
    return Pose(-box.x0, -box.y0)


def copies_drawn(layout: Layout, nest: Nest, form: Form, unit: Unit, reference: bool) -> bytes:
    """The bytes of the cut file before the proof."""
    scale = 1.0 / mm_per(unit)
    at_zero = to_file(nest)
    poses = [pose.then(at_zero) for pose in nest.poses]
    drawn = list(items(layout, reference))
    first = [item for item in drawn if item.layer in ("REFERENCE", "MARK")]
    then = [item for item in drawn if item.layer not in ("REFERENCE", "MARK")]
    with fixed_metadata():
        document = empty(layout, form, unit)
        space = document.modelspace()
        if reference:
            add_item(space, form, shape_item("REFERENCE", nest.sheet), at_zero, scale)
        for part in (first, then):
            for pose in poses:
                for item in part:
                    add_item(space, form, item, pose, scale)
        shapes = _scaled(box_round([layout.outline.moved(pose).box for pose in poses]), scale)
        return bytes_of(document, nest.sheet.box.width * scale, nest.sheet.box.height * scale, shapes)


def copies_kerf_drawn(layout: Layout, nest: Nest, paths: SheetPaths, unit: Unit) -> bytes:
    """The bytes of the compensated file before the proof."""
    scale = 1.0 / mm_per(unit)
    told = {
        "TITLE": f"COMPENSATED, DO NOT OFFSET AGAIN: {layout.title}",
        "SPEC": layout.spec.name,
        "REVISION": layout.spec.revision,
        "KERF_MM": f"{paths.kerf:g}",
        "COPIES": f"{len(nest.poses)}",
    }
    with fixed_metadata():
        document = new_document("R2000", unit, LAYERS, told)
        add_paths(document.modelspace(), paths.marks, layout.cutting.mark, paths.words, paths.cuts, (0.0, 0.0), scale)
        shapes = _scaled(box_round([cut.box.grown(paths.kerf / 2) for cut in paths.cuts]), scale)
        return bytes_of(document, nest.sheet.box.width * scale, nest.sheet.box.height * scale, shapes)


def _scaled(box: Box, scale: float) -> Box:
    return Box(box.x0 * scale, box.y0 * scale, box.x1 * scale, box.y1 * scale)
