"""Cut files of all copies: order, forms, what the proof catches, what is refused, what `make` writes and takes away."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.entities import LWPolyline
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.checks import check
from platekit.cutting.nest import Nest
from platekit.cutting.paths import paths_of
from platekit.cutting.sheet_paths import sheet_paths
from platekit.errors import OutputError
from platekit.export.dxf_files.copies import (
    copies_drawn,
    copies_dxf_bytes,
    copies_kerf_bytes,
    copies_kerf_drawn,
    to_file,
)
from platekit.export.dxf_files.copies_proof import copies_faults, copies_kerf_faults
from platekit.export.dxf_files.cut import FORMS, Form
from platekit.export.dxf_files.kerf import cuttable_paths
from platekit.export.marks import mark_in
from platekit.export.picture.copies import wanted_copies
from platekit.export.publishing import FilesWanted, publish
from platekit.geometry import Line
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads
from tests.export.entities import polylines

SPEC = """\
platekit: 1
title: Sluice gate, lug
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: OUTLINE
  cutouts: CUTOUTS
mounts:
  gate:
    side: far
    looking_at: face
    pattern: {points: [[-30, 0], [32, 5]], hole: 13}
    bolts: {size: M12, into: part, depth: 30}
cutting: {process: plasma, kerf: 1.5MORE}
"""
OBLONG = "{rectangle: {width: 120, height: 70, corner: 9}, at: [4, -2]}"
SCRIBED = "scribe: [face], scribe_height: 5"


def plate(more: str = "", outline: str = OBLONG, cutouts: str = "{}") -> Layout:
    text = SPEC.replace("OUTLINE", outline).replace("CUTOUTS", cutouts).replace("MORE", more)
    return lay_out(loads(text, "lug"))


def lug(cutting: str, outline: str = OBLONG, cutouts: str = "{}") -> tuple[Layout, Nest]:
    layout = plate(f", {cutting}", outline, cutouts)
    found = wanted_copies(layout)
    assert found is not None
    return layout, found


@pytest.fixture(scope="module")
def four() -> tuple[Layout, Nest]:
    return lug(f"sheet: [340, 220], copies: 4, {SCRIBED}")


def opened(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("ascii"), newline=None))


def again(document: Drawing) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("ascii")


# ---------------------------------------------------------------------------------- what is drawn


@pytest.mark.parametrize("form", FORMS)
def test_marks_first_then_openings_then_outsides(four: tuple[Layout, Nest], form: Form) -> None:
    layout, nest = four
    layers = [entity.dxf.layer for entity in opened(copies_dxf_bytes(layout, nest, form)).modelspace()]
    order = [layer for layer, before in zip(layers, [None, *layers], strict=False) if layer != before]
    assert order == ["MARK", *(["CUT-INSIDE", "CUT-OUTSIDE"] * 4)]


def test_the_same_plate_gives_the_same_bytes_and_carries_its_mark(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    for make in (copies_dxf_bytes, copies_kerf_bytes):
        data = make(layout, nest)
        assert data == make(layout, nest)
        assert mark_in(data, ".dxf") == layout.spec.revision


def test_the_head_of_the_file_tells_what_the_shapes_fill(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    header = opened(copies_dxf_bytes(layout, nest)).header
    low, high = header["$EXTMIN"], header["$EXTMAX"]
    boxes = [layout.outline.moved(pose).box for pose in nest.poses]
    assert low[:2] == pytest.approx((min(b.x0 for b in boxes), min(b.y0 for b in boxes)))
    assert high[:2] == pytest.approx((max(b.x1 for b in boxes), max(b.y1 for b in boxes)))


def test_on_request_the_sheet_is_there_for_reference(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    space = opened(copies_dxf_bytes(layout, nest, reference=True)).modelspace()
    (sheet,) = polylines(space.query('LWPOLYLINE[layer=="REFERENCE"]'))
    assert {point[:2] for point in sheet.get_points("xy")} == {(0, 0), (340, 0), (340, 220), (0, 220)}


def test_copies_that_lie_at_odd_angles_pass_the_proof_in_every_form() -> None:
    """A narrow remnant that leans: only a turned copy fits, and no turn is a quarter."""
    layout, nest = lug(f"remnant: [[0, 0], [160, 95], [110, 185], [-50, 90]], copies: 1, {SCRIBED}")
    assert nest.poses[0].turn % (math.pi / 2) > 0.01
    for form in FORMS:
        copies_dxf_bytes(layout, nest, form, "in")
    copies_kerf_bytes(layout, nest)


@settings(max_examples=15)
@given(
    width=st.integers(260, 700),
    height=st.integers(180, 500),
    copies=st.integers(2, 7),
    form=st.sampled_from(FORMS),
    cutout=st.sampled_from(["{}", "{eye: {circle: {diameter: 20}, at: [2, 18]}}"]),
)
def test_whatever_finds_a_place_passes_the_proof(width: int, height: int, copies: int, form: Form, cutout: str) -> None:
    layout, nest = lug(f"sheet: [{width}, {height}], copies: {copies}", cutouts=cutout)
    document = opened(copies_dxf_bytes(layout, nest, form))
    outside = [e for e in document.modelspace() if e.dxf.layer == "CUT-OUTSIDE"]
    assert len(outside) == len(nest.poses) * (8 if form == "plain" else 1)
    copies_kerf_bytes(layout, nest)


# ---------------------------------------------------------------------------------- what the proof catches


def spoilt(change: Callable[[Drawing], None]) -> Callable[[bytes], bytes]:
    def spoil(data: bytes) -> bytes:
        document = opened(data)
        change(document)
        return again(document)

    return spoil


def _first(document: Drawing, layer: str) -> ezdxf.entities.DXFGraphic:
    return next(e for e in document.modelspace() if e.dxf.layer == layer)


def lose(layer: str) -> Callable[[Drawing], None]:
    return lambda document: document.modelspace().delete_entity(_first(document, layer))


def shift(layer: str, x: float, y: float) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        _first(document, layer).translate(x, y, 0)

    return change


def double(layer: str) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        copy = _first(document, layer).copy()
        copy.translate(400, 300, 0)
        document.modelspace().add_entity(copy)

    return change


def shift_copy(document: Drawing) -> None:
    """All of one copy a little to the side: each loop is right by itself."""
    for entity in document.modelspace():
        kind, dxf = entity.dxftype(), entity.dxf
        one = [dxf.start if kind == "LINE" else dxf.center] if not isinstance(entity, LWPolyline) else []
        points = entity.get_points("xy") if isinstance(entity, LWPolyline) else one
        if all(point[0] < 140 and point[1] < 90 for point in points):
            entity.translate(0.05, 0, 0)


CHANGES = {
    "an opening is lost": lose("CUT-INSIDE"),
    "an outside is lost": lose("CUT-OUTSIDE"),
    "a stroke is lost": lose("MARK"),
    "an opening is off": shift("CUT-INSIDE", 0.001, 0),
    "an outside is off": shift("CUT-OUTSIDE", 0, 0.001),
    "a stroke is off": shift("MARK", 0.01, 0),
    "a hole too many": double("CUT-INSIDE"),
    "a copy is off": shift_copy,
}


@pytest.mark.parametrize("change", CHANGES)
def test_the_proof_sees_what_is_wrong(four: tuple[Layout, Nest], change: str) -> None:
    layout, nest = four
    data = copies_drawn(layout, nest, "r2000", "mm", False)
    assert copies_faults(data, layout, nest, "r2000", "mm") == []
    assert copies_faults(spoilt(CHANGES[change])(data), layout, nest, "r2000", "mm")


def test_the_proof_holds_against_another_sheet_and_unit(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    data = copies_drawn(layout, nest, "r2000", "mm", False)
    assert copies_faults(data, layout, nest, "r2000", "in")
    other = wanted_copies(lug(f"sheet: [700, 150], copies: 4, {SCRIBED}")[0])
    assert other is not None
    assert copies_faults(data, layout, other, "r2000", "mm")


# ---------------------------------------------------------------------------------- compensated


def test_each_copy_is_cut_whole_its_outside_last(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    layers = [entity.dxf.layer for entity in opened(copies_kerf_bytes(layout, nest)).modelspace()]
    cuts = [layer for layer in layers if layer != "KERF-PATH-MARK"]
    assert cuts == [*["KERF-PATH-INSIDE"] * 2, "KERF-PATH-OUTSIDE"] * 4
    assert layers.index("KERF-PATH-INSIDE") == layers.count("KERF-PATH-MARK")


def test_the_way_between_cuts_is_short() -> None:
    """Copies in a grid: from one to the next is never much more than a copy and its gap."""
    layout, nest = lug("sheet: [560, 420], copies: 16, margin: 8")
    paths = sheet_paths(layout, paths_of(layout), nest, to_file(nest))
    middles = [next(cut for cut in copy if cut.kind == "outside").shape.box.center for copy in paths.copies]
    assert len(set(middles)) == 16
    assert max(math.dist(a, b) for a, b in pairwise(middles)) < 2 * (120 + 11)
    # by hand: 16 copies, each with two ways inside it of at most 70 mm and one to the next of at most 150
    ends = [(0.0, 0.0), *(cut.end for cut in paths.cuts)]
    assert sum(math.dist(end, cut.pierce) for end, cut in zip(ends, paths.cuts, strict=False)) < 16 * (2 * 75 + 150)


def test_leads_that_would_meet_a_neighbour_go_elsewhere_or_are_refused() -> None:
    disc = "{disc: {diameter: 110}}"
    layout, nest = lug("sheet: [400, 400], copies: 9, margin: 5", disc)
    copies_kerf_bytes(layout, nest)
    # 1.5 mm of kerf to the edges and two between: a pierce 2 mm from every finished edge has no place there
    square = "{rectangle: {width: 120, height: 70}}"
    tight, nest = lug("sheet: [246.4, 73.4], copies: 2, margin: 0", square)
    assert len(nest.poses) == 2
    with pytest.raises(OutputError, match=r"no room is left beside copy .*leave more between them \(cutting: margin\)"):
        copies_kerf_bytes(tight, nest)


@pytest.mark.parametrize(
    "change",
    [lose("KERF-PATH-INSIDE"), lose("KERF-PATH-MARK"), shift("KERF-PATH-OUTSIDE", 0.01, 0)],
)
def test_the_proof_of_the_compensated_file_sees_what_is_wrong(
    four: tuple[Layout, Nest], change: Callable[[Drawing], None]
) -> None:
    layout, nest = four
    paths = sheet_paths(layout, cuttable_paths(layout), nest, to_file(nest))
    data = copies_kerf_drawn(layout, nest, paths, "mm")
    assert copies_kerf_faults(data, layout, nest, "mm") == []
    assert copies_kerf_faults(spoilt(change)(data), layout, nest, "mm")


def test_cuts_out_of_order_are_seen(four: tuple[Layout, Nest]) -> None:
    layout, nest = four
    paths = sheet_paths(layout, cuttable_paths(layout), nest, to_file(nest))
    first, *others = paths.copies
    for copies in ([first[::-1], *others], [first[:1], *others, first[1:]]):
        data = copies_kerf_drawn(layout, nest, replace(paths, copies=tuple(map(tuple, copies))), "mm")
        assert copies_kerf_faults(data, layout, nest, "mm")


def test_a_lead_over_the_edge_of_the_sheet_is_seen(four: tuple[Layout, Nest]) -> None:
    """An outside whose pierce is drawn out to beyond the edge of the sheet."""
    layout, nest = four
    paths = sheet_paths(layout, cuttable_paths(layout), nest, to_file(nest))
    (*inside, outside), *others = paths.copies
    entry = outside.lead_in[0].a
    far = replace(outside, lead_in=(Line((entry[0], -20.0), entry), *outside.lead_in))
    data = copies_kerf_drawn(layout, nest, replace(paths, copies=((*inside, far), *others)), "mm")
    assert any("leaves the sheet" in fault for fault in copies_kerf_faults(data, layout, nest, "mm"))


# ---------------------------------------------------------------------------------- make


def test_make_writes_them_and_a_stop_takes_them_away(four: tuple[Layout, Nest], tmp_path: Path) -> None:
    layout, _ = four
    wanted = FilesWanted(("r2000", "r12", "plain"), "mm", solid=False, kerf=True)
    names = {path.name for path in publish(layout, check(layout), tmp_path, wanted).written}
    copies = {f"lug.copies{ending}" for ending in (".cut.dxf", ".cut.r12.mm.dxf", ".cut.plain.mm.dxf", ".kerf.dxf")}
    assert copies <= names
    tight = lug(f"sheet: [340, 220], copies: 9, {SCRIBED}")[0]
    verdict = check(tight)
    assert not verdict.clear
    assert {path.name for path in publish(tight, verdict, tmp_path, wanted).removed} >= copies
    assert not [path for path in (tmp_path / "lug").iterdir() if path.suffix == ".dxf"]


def test_without_copies_or_kerf_they_are_not_there(tmp_path: Path) -> None:
    layout = lug("sheet: [340, 220], copies: 4")[0]
    publish(layout, check(layout), tmp_path, FilesWanted(solid=False))
    assert {p.name for p in (tmp_path / "lug").glob("*.dxf")} == {"lug.cut.dxf", "lug.copies.cut.dxf"}
    alone = plate()
    published = publish(alone, check(alone), tmp_path, FilesWanted(solid=False))
    assert {p.name for p in published.removed} == {"lug.copies.cut.dxf", "lug.copies.svg"}
