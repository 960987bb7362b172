"""An empty DXF drawing with our layers, and its bytes: the same drawing gives the same bytes."""

from __future__ import annotations

import contextlib
import io
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from platekit.choices import MarkKind
from platekit.cutting.operations import CROSS, MARK_CIRCLE
from platekit.drawing.cautions import SHORT
from platekit.export.dxf_files.proof import INSUNITS
from platekit.geometry import Arc, Box, Edge, Point, Vertex
from platekit.units import Unit

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

DECIMALS = 10
"""Places kept of a coordinate in the file: far finer than any process, and rounding noise is dropped (ours).

The last bits of a sum differ from processor to processor; rounded to a grid far coarser than those and far finer than
the proof's `PLACE`, the same plate has the same bytes everywhere."""

BULGE_DECIMALS = 12
"""Places kept of a bulge: an arc on a chord of a metre moves by 1e-9 mm. The last bits differ between processors, as
their libraries work out tangents with and without fused steps, and the same plate must give the same file (ours)."""

LONGEST_TEXT = 250
"""Most characters of title and name; a text of DXF R12 holds 255 (published: DXF reference)."""

HEAD: Final = frozenset(
    {"$ACADVER", "$DWGCODEPAGE", "$HANDSEED", "$INSUNITS", "$MEASUREMENT", "$TILEMODE", "$INSBASE"}
    | {"$EXTMIN", "$EXTMAX", "$LIMMIN", "$LIMMAX"}
)
"""What the head of a file says: version, code page, unit, size (published: DXF reference, which asks for no other).

The rest are habits of a drafting program: how it draws dimensions, which menu it shows."""

HABIT_OF_THE_LIBRARY: Final = "HATCHBACKGROUNDCOLOR"
"""An application id that the library adds while it writes, whether or not there is a hatch."""


def new_document(
    release: Literal["R2000", "R12"], unit: Unit, layers: Mapping[str, int], told: Mapping[str, str]
) -> Drawing:
    """A drawing without shapes; `layers` with their colour numbers, `told` and cautions go where none draws them."""
    from ezdxf.document import Drawing

    document = Drawing.new(release)
    _leave_bare(document)
    if release == "R2000":
        document.units = INSUNITS[unit]
        document.header["$MEASUREMENT"] = int(unit == "mm")
    for name, color in layers.items():
        document.layers.add(name, color=color)
    metadata = document.ezdxf_metadata()
    for key, text in {**told, "CAUTIONS": SHORT}.items():
        metadata[key] = in_ascii(text)
    return document


def _leave_bare(document: Drawing) -> None:
    """Takes out whatever the library puts into an empty drawing that no reader asks for."""
    # A layer for the points of dimensions, a text and a dimension style, styles of leaders and double lines, materials:
    # one drafting program writes them into each of its files, and nothing here uses them. What is left is what the
    # format and an audit want: layer 0, three line types, the two spaces.
    document.layers.remove("Defpoints")
    document.appids.remove("ACAD")
    document.styles.remove("Standard")
    document.dimstyles.remove("Standard")
    if document.dxfversion > "AC1009":
        for name in ("MLEADERSTYLE", "MLINESTYLE", "TABLESTYLE", "VISUALSTYLE", "SCALELIST", "COLOR"):
            styles = document.rootdict.get_required_dict(f"ACAD_{name}")
            for style in [styles.get(key) for key in styles.keys()]:  # type: ignore[no-untyped-call]  # noqa: SIM118 - it is no mapping
                if style is not None:
                    document.objects.delete_entity(style)
            document.rootdict.discard(f"ACAD_{name}")
            document.objects.delete_entity(styles)
    for name in list(document.header.varnames()):
        if name not in HEAD:
            del document.header[name]


def _without_habits(text: str) -> str:
    """The text of a drawing without what the library adds while it writes: an application id, classes of no object."""
    lines = text.split("\n")
    # group codes and values take a line each, and a record goes from one code 0 to the next
    starts = [n for n in range(0, len(lines) - 1, 2) if lines[n].strip() == "0"]
    records = [lines[a:b] for a, b in pairwise([*starts, len(lines)])]
    kinds = {record[1] for record in records}
    kept = [
        record
        for record in records
        if not (record[1] == "APPID" and HABIT_OF_THE_LIBRARY in record)
        and not (record[1] == "CLASS" and record[3] not in kinds)
    ]
    return "\n".join([*lines[: starts[0]], *(line for record in kept for line in record)])


@contextlib.contextmanager
def fixed_metadata() -> Iterator[None]:
    """No dates and no random identifiers in what is made and written meanwhile."""
    from ezdxf import options

    # The switch holds for the whole library; it is put back, as a program that uses platekit may write drawings of
    # its own
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def bytes_of(document: Drawing, width: float, height: float, shapes: Box | None = None) -> bytes:
    """The bytes of a drawing between 0,0 and `width`, `height` (in its own unit), where its `shapes` fill less too."""
    space = document.modelspace()
    filled = shapes or Box(0, 0, width, height)
    # extents and limits of our own, in both places where readers look: so that the drawing opens whole and at true size
    space.reset_extents((filled.x0, filled.y0, 0), (filled.x1, filled.y1, 0))
    space.reset_limits((0, 0), (width, height))
    document.set_modelspace_vport(1.1 * max(width, height), (width / 2, height / 2))
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (filled.x0, filled.y0, 0), (filled.x1, filled.y1, 0)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (0, 0), (width, height)
    # Line ends as DXF has had them from the beginning: some controllers read no others
    stream = io.StringIO()
    document.write(stream)
    return document.encode(_without_habits(stream.getvalue()).replace("\n", "\r\n"))


def in_ascii(text: str) -> str:
    r"""The text as DXF has it in any code page, other letters as `\U+00E9`, cut to what one entry takes."""
    signs = (sign if " " <= sign <= "~" else f"\\U+{ord(sign):04X}" for sign in text)
    # cut between whole signs: half an escape would be read as letters
    whole = (end for end in itertools.accumulate(signs) if len(end) <= LONGEST_TEXT)
    return max(whole, key=len, default="")


def tidy(value: float) -> float:
    """A coordinate as it stands in the file: in the file's unit (mm or in), rounded to `DECIMALS`."""
    return round(value, DECIMALS) + 0.0


def tidy_vertices(vertices: Iterable[Vertex], placed: Callable[[Point], Point]) -> list[Vertex]:
    """Vertices as they stand in the file; `placed` gives the (tidy) place in the file of a place on the plate."""
    return [(*placed((x, y)), round(bulge, BULGE_DECIMALS) + 0.0) for x, y, bulge in vertices]


def add_edge(space: Modelspace, edge: Edge, layer: str, placed: Callable[[Point], Point], scale: float) -> None:
    """One line or arc of a word; `placed` gives the place in the file of a place on the plate."""
    named = {"layer": layer}
    if isinstance(edge, Arc):
        low, high = sorted((edge.start, edge.start + edge.sweep))
        start, end = (tidy(math.degrees(angle) % 360.0) for angle in (low, high))
        space.add_arc(placed(edge.center), tidy(edge.radius * scale), start, end, dxfattribs=named)
    else:
        space.add_line(placed(edge.a), placed(edge.b), dxfattribs=named)


def add_mark(
    space: Modelspace, kind: MarkKind, at: Point, layer: str, placed: Callable[[Point], Point], scale: float
) -> None:
    """The mark of one centre, in the kind that the spec asks for; `placed` as for `add_edge`."""
    named = {"layer": layer}
    if kind == "point":
        space.add_point(placed(at), dxfattribs=named)
    elif kind == "circle":
        space.add_circle(placed(at), tidy(MARK_CIRCLE * scale), dxfattribs=named)
    else:
        (x, y), arm = at, CROSS / 2
        for dx, dy in ((arm, 0.0), (0.0, arm)):
            space.add_line(placed((x - dx, y - dy)), placed((x + dx, y + dy)), dxfattribs=named)
