"""From the bytes of a drawing to its strokes in mm.

What a drawing says of itself (its unit) is held against the spec; what is drawn but not shown is left out, and said.
"""

from __future__ import annotations

from typing import Final

from platekit.spec.drawings import DrawingError, DrawnFile, Sheet, Stroke, Unit


def read_drawing(name: str, data: bytes, unit: Unit, layer: str | None = None) -> DrawnFile:
    """Every stroke of a drawing (on one layer, if it is named), in mm; `name` tells its kind by its ending.

    Raises `DrawingError` for a file of another kind, one that cannot be read, or whose unit is not the one given.
    """
    sheet = Sheet(name, unit, layer)
    ending = name[name.rfind(".") :].lower()
    if ending == ".dxf":
        from platekit.spec.drawing_dxf import read_dxf

        read_dxf(sheet, data)
    elif ending == ".svg":
        from platekit.spec.drawing_svg import read_svg

        read_svg(sheet, data)
    else:
        raise DrawingError(f"a file called {name}", "name a DXF or SVG file")
    left_out = "; left out: " + ", ".join(sheet.told()) if sheet.left_out else ""
    if not sheet.strokes:
        where = f" on a layer {layer!r}" if layer else ""
        found = f"no line, arc, circle or curve{where} in {name}{left_out}"
        raise DrawingError(found, "draw the outline there", "file" if layer is None else "layer")
    _held_against_the_file(sheet)
    # To mm only here, at the end: checks on the way are in the drawing's own unit, as its figures stand in the file.
    scale = sheet.scale
    strokes = tuple(Stroke(tuple((scale * x, scale * y, b) for x, y, b in s.vertices), s.closed) for s in sheet.strokes)
    if left_out:
        sheet.remarks.append(left_out.removeprefix("; "))
    return DrawnFile(strokes, tuple(sheet.remarks), sheet.said is None)


SAME_UNIT: Final = 1e-6
"""Share by which a unit in the file may differ from the spec's: figures cut off in writing (ours)."""
LARGEST: Final = 1000.0
"""A drawing whose header names a unit that no shop draws plates in, and which would come out larger than this, mm, was
not drawn in it: many programs leave metres there whatever is drawn (ours)."""
SMALLEST: Final = 5.0
"""Unless the spec's own unit would make it smaller than this, mm (ours)."""


def _held_against_the_file(sheet: Sheet) -> None:
    """Stop where file and spec disagree on the unit."""
    said, scale = sheet.said, sheet.scale
    # A file that says no unit contradicts nobody; that it is silent is told as a remark.
    if said is None or abs(said.mm - scale) <= SAME_UNIT * scale:
        return
    across = sheet.size
    # Metres in the header are a habit of programs, not a word of the draughtsman.
    if said.known is None and said.mm > 100.0 and across * said.mm > LARGEST and across * scale >= SMALLEST:
        sheet.remarks.append(
            f"it says that it was drawn in {said.words}, which would make it {across * said.mm / 1000:.4g} m across; "
            f"it was read in {sheet.unit}, as the spec says: {across * scale:.6g} mm"
        )
        return
    mend = f"`units: {said.known or 'own'}`"
    raise DrawingError(
        f"units: {sheet.unit} for {sheet.name}, which says that it was drawn in {said.words}: "
        f"{across * scale:.6g} mm across by the spec, {across * said.mm:.6g} mm by the file",
        f"measure the part; then write {mend}, or set the drawing's own unit right and save it again",
        "units",
    )
