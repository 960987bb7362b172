"""The compensated file: what stands in it, and that its proof finds every way in which it could be wrong."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from msgspec.structs import replace

from platekit.checks import check
from platekit.checks.finding import Finding, Verdict
from platekit.errors import OutputError
from platekit.export.dxf_files.kerf import cuttable_paths, drawing_bytes, kerf_bytes, kerf_dxf, kerf_suffix, shift_of
from platekit.export.dxf_files.kerf_proof import INSIDE, MARK, OUTSIDE, kerf_faults
from platekit.export.publishing import FilesWanted, every_cut_suffix, publish
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from platekit.units import Unit
from tests.export.entities import polylines

CLEAR = Verdict(())
STOPPED = Verdict((Finding(rule="web", level="stop", message="too little steel", features=("a", "b")),))


@pytest.fixture(scope="module")
def sorter() -> Layout:
    return lay_out(load("specs/bead-sorter.yaml"))


@pytest.fixture(scope="module")
def mixer() -> Layout:
    return lay_out(load("specs/dough-mixer.yaml"))


def opened(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("ascii"), newline=None))


def test_only_open_lines_and_crosses_on_layers_of_their_own(mixer: Layout) -> None:
    space = opened(kerf_bytes(mixer)).modelspace()
    assert {(entity.dxftype(), entity.dxf.layer) for entity in space} == {
        ("LINE", MARK),
        ("LWPOLYLINE", INSIDE),
        ("LWPOLYLINE", OUTSIDE),
    }
    assert not any(entity.closed for entity in polylines(space))


def test_nothing_of_it_can_be_taken_for_the_cut_file(mixer: Layout) -> None:
    document = opened(kerf_bytes(mixer))
    assert not {layer.dxf.name for layer in document.layers} & {"CUT-INSIDE", "CUT-OUTSIDE"}
    assert document.ezdxf_metadata()["TITLE"].startswith("COMPENSATED, DO NOT OFFSET AGAIN")
    assert document.ezdxf_metadata()["KERF_MM"] == "1.5"
    assert kerf_suffix() == ".kerf.dxf"


def test_inches_are_inches(sorter: Layout) -> None:
    document = opened(kerf_bytes(sorter, "in"))
    assert document.header["$INSUNITS"] == 1
    xs = [x for cut in polylines(document.modelspace()) for x, _ in cut.get_points("xy")]
    # the plate is 190 mm wide, the kerf's 0.1 mm reaches over it on both sides
    assert max(xs) - min(xs) == pytest.approx(190.2 / 25.4)


def test_same_plate_same_bytes(sorter: Layout) -> None:
    assert kerf_bytes(sorter) == kerf_bytes(lay_out(load("specs/bead-sorter.yaml")))


def test_no_file_while_a_stop_is_open(sorter: Layout, tmp_path: Path) -> None:
    path = tmp_path / "a.kerf.dxf"
    with pytest.raises(OutputError, match="the compensated file was not written: a stop is open"):
        kerf_dxf(sorter, path, verdict=STOPPED)
    assert not path.exists()
    kerf_dxf(sorter, path, verdict=CLEAR)
    assert path.read_bytes() == kerf_bytes(sorter)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_published_on_request_and_taken_away_when_outdated(sorter: Layout, tmp_path: Path, unit: Unit) -> None:
    file = tmp_path / "bead-sorter" / f"bead-sorter{kerf_suffix(unit)}"
    publish(sorter, check(sorter), tmp_path, FilesWanted(solid=False, kerf=True, unit=unit))
    assert file.exists()
    published = publish(sorter, check(sorter), tmp_path, FilesWanted(solid=False))
    assert file in published.removed
    assert not file.exists()
    assert {".kerf.dxf", ".kerf.in.dxf"} <= set(every_cut_suffix())


REFUSED = [
    ("window: {slot: {length: 40, width: 1.4}, at: [40, 0]}", "plasma, kerf: 1.5", "window is narrower than the kerf"),
    ("window: {slot: {length: 40, width: 3.5}, at: [40, 0]}", "plasma, kerf: 1.5", "window has no room for a pierce"),
    ("window: {circle: {diameter: 30}, at: [40, 0]}", "drill", "drill cuts nothing"),
]


@pytest.mark.parametrize(("window", "process", "why"), REFUSED)
def test_what_cannot_be_cut_is_said(window: str, process: str, why: str) -> None:
    text = f"""
platekit: 1
title: Net hauler
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {{rectangle: {{width: 200, height: 120}}}}
  cutouts: {{{window}}}
mounts: {{frame: {{side: far, looking_at: face, pattern: {{points: [[-60, 0]], hole: 6}}}}}}
cutting: {{process: {process}}}
"""
    with pytest.raises(OutputError, match=f"the compensated file was not written: {why}"):
        kerf_bytes(lay_out(loads(text, "net")))


# ------------------------------------------------------------------------------------ the proof finds it


def faults_after(layout: Layout, spoil: Callable[[Drawing], None]) -> list[str]:
    paths = cuttable_paths(layout)
    document = opened(drawing_bytes(layout, paths, "mm"))
    spoil(document)
    stream = io.StringIO()
    document.write(stream)
    return kerf_faults(document.encode(stream.getvalue()), layout, "mm", shift_of(paths))


def first_cut(document: Drawing, layer: str = INSIDE) -> ezdxf.entities.LWPolyline:
    return next(cut for cut in polylines(document.modelspace()) if cut.dxf.layer == layer)


def moved(document: Drawing) -> None:
    first_cut(document).translate(0.01, 0, 0)


def nominal(document: Drawing) -> None:
    """As if nobody had compensated: the cut of the outside is scaled down by the kerf."""
    cut = first_cut(document, OUTSIDE)
    points = cut.get_points("xyb")
    xs, ys = [x for x, _, _ in points], [y for _, y, _ in points]
    cx, cy = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    cut.set_points([(cx + (x - cx) * 0.999, cy + (y - cy) * 0.999, b) for x, y, b in points], format="xyb")


def turned_round(document: Drawing) -> None:
    cut = first_cut(document)
    points = cut.get_points("xyb")
    bulges = [*[-b for _, _, b in points[:-1]][::-1], 0.0]
    cut.set_points([(x, y, b) for (x, y, _), b in zip(points[::-1], bulges, strict=True)], format="xyb")


def missing(document: Drawing) -> None:
    document.modelspace().delete_entity(first_cut(document))


def doubled(document: Drawing) -> None:
    space = document.modelspace()
    space.add_entity(first_cut(document).copy())


def closed(document: Drawing) -> None:
    first_cut(document).close(True)


def straightened(document: Drawing) -> None:
    cut = first_cut(document, OUTSIDE)
    points = cut.get_points("xyb")
    k = max(range(len(points)), key=lambda n: abs(points[n][2]) if 2 < n < len(points) - 3 else 0)
    points[k] = (*points[k][:2], 0.0)
    cut.set_points(points, format="xyb")


def pierced_on_the_edge(document: Drawing) -> None:
    cut = first_cut(document)
    points = cut.get_points("xyb")
    cut.set_points(points[1:], format="xyb")


def stopped_short(document: Drawing) -> None:
    cut = first_cut(document)
    points = cut.get_points("xyb")
    cut.set_points(points[:3], format="xyb")


def outside_first(document: Drawing) -> None:
    space = document.modelspace()
    cut = first_cut(document, OUTSIDE)
    copy = cut.copy()
    space.delete_entity(cut)
    space.entity_space.entities.insert(0, copy)
    document.entitydb.add(copy)
    copy.set_owner(space.layout_key, 0)


def on_a_cut_layer(document: Drawing) -> None:
    document.layers.add("CUT-INSIDE")
    first_cut(document).dxf.layer = "CUT-INSIDE"


def lettered(document: Drawing) -> None:
    document.modelspace().add_text("inside", dxfattribs={"layer": INSIDE})


def other_unit(document: Drawing) -> None:
    document.header["$INSUNITS"] = 1


SPOILT: dict[Callable[[Drawing], None], str] = {
    moved: "off the finished edge",
    nominal: "outside",
    turned_round: "runs the wrong way round",
    missing: "it has 16 cuts, not 17",
    doubled: "it has 18 cuts, not 17",
    closed: "is closed",
    straightened: "off the finished edge",
    pierced_on_the_edge: "",
    stopped_short: "does not close",
    outside_first: "not in order",
    on_a_cut_layer: "lies on layer CUT-INSIDE",
    lettered: "a TEXT lies on layer",
    other_unit: "unit code",
}


@pytest.mark.parametrize("spoil", SPOILT, ids=lambda spoil: spoil.__name__)
def test_the_proof_finds_a_spoilt_file(sorter: Layout, spoil: Callable[[Drawing], None]) -> None:
    found = faults_after(sorter, spoil)
    assert found
    assert any(SPOILT[spoil] in fault for fault in found), found


def test_the_proof_finds_nothing_in_a_good_file(sorter: Layout) -> None:
    assert faults_after(sorter, lambda document: None) == []


def test_a_file_for_another_plate_does_not_pass(sorter: Layout) -> None:
    paths = cuttable_paths(sorter)
    other = replace(sorter, openings=sorter.openings[:-1])
    assert kerf_faults(drawing_bytes(sorter, paths, "mm"), other, "mm", shift_of(paths))


def test_bytes_that_are_no_drawing_are_refused(sorter: Layout) -> None:
    assert kerf_faults(b"no drawing", sorter, "mm", (0.0, 0.0))[0].startswith("it cannot be read as DXF")


def test_the_marks_are_proved_too(mixer: Layout) -> None:
    def spoil(document: Drawing) -> None:
        stroke = next(entity for entity in document.modelspace() if entity.dxftype() == "LINE")
        stroke.translate(0.5, 0, 0)

    assert any("mark" in fault for fault in faults_after(mixer, spoil))
    assert math.isclose(len(faults_after(mixer, lambda document: None)), 0)
