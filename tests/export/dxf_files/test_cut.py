"""What stands in the cut file, read back from its bytes."""

from __future__ import annotations

import io
import itertools
import logging
import math
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.entities import LWPolyline, Polyline
from msgspec.structs import replace

from platekit.checks.finding import Finding, Verdict
from platekit.cutting.operations import operations_of
from platekit.errors import OutputError
from platekit.export.dxf_files.cut import FORMS, Form, Unit, dxf, dxf_bytes, dxf_suffix
from platekit.export.dxf_files.proof import faults
from platekit.geometry import Disc, Loop, polygon_loop, rectangle
from platekit.layout import lay_out
from platekit.placed import Layout, Opening
from platekit.spec import loads
from tests.checks import plates
from tests.export.entities import polylines

dxf_export = import_module("platekit.export.dxf_files.cut")  # the package has a function of that name
CLEAR = Verdict(())


def opened(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("ascii"), newline=None))


def kinds(data: bytes, layer: str) -> set[str]:
    return {entity.dxftype() for entity in opened(data).modelspace() if entity.dxf.layer == layer}


def with_outline(layout: Layout, outline: Disc | Loop) -> Layout:
    """The plate with another outside and no openings."""
    return replace(layout, outline=outline, openings=(), bodies=())


@pytest.mark.parametrize(
    ("form", "inside", "version"),
    [
        ("r2000", {"CIRCLE", "LWPOLYLINE"}, "AC1015"),
        ("r12", {"CIRCLE", "POLYLINE"}, "AC1009"),
        ("plain", {"CIRCLE", "LINE", "ARC"}, "AC1009"),
    ],
)
def test_each_form_keeps_to_its_words(winder: Layout, form: Form, inside: set[str], version: str) -> None:
    data = dxf_bytes(winder, form)
    assert kinds(data, "CUT-INSIDE") == inside
    assert kinds(data, "CUT-OUTSIDE") <= inside
    assert kinds(data, "MARK") == {"LINE"}
    assert opened(data).dxfversion == version


@pytest.mark.parametrize("form", FORMS)
def test_only_the_layers_that_are_cut_or_marked(plate: Layout, form: Form) -> None:
    layers = {entity.dxf.layer for entity in opened(dxf_bytes(plate, form)).modelspace()}
    assert layers <= {"CUT-INSIDE", "CUT-OUTSIDE", "MARK"}
    assert {"CUT-INSIDE", "CUT-OUTSIDE"} <= layers


@pytest.mark.parametrize("form", FORMS)
def test_reference_comes_on_request_and_changes_nothing_else(winder: Layout, form: Form) -> None:
    plain = opened(dxf_bytes(winder, form)).modelspace()
    asked = opened(dxf_bytes(winder, form, reference=True)).modelspace()
    added = [entity for entity in asked if entity.dxf.layer == "REFERENCE"]
    assert len(asked) - len(added) == len(plain)
    assert [e.dxftype() for e in asked if e.dxf.layer != "REFERENCE"] == [e.dxftype() for e in plain]
    # four tapped holes and a recess are not cut, so their finished circles are for the eye
    circles = sorted(e.dxf.radius for e in added if e.dxftype() == "CIRCLE")
    assert circles[:4] == [2.5] * 4
    assert 12.15 in circles


@pytest.mark.parametrize("form", FORMS)
def test_marks_then_openings_then_the_outside(winder: Layout, form: Form) -> None:
    order = [entity.dxf.layer for entity in opened(dxf_bytes(winder, form)).modelspace()]
    runs = [layer for layer, _ in itertools.groupby(order)]
    assert runs == ["MARK", "CUT-INSIDE", "CUT-OUTSIDE"]


def test_holes_stand_where_the_spec_puts_them(winder: Layout) -> None:
    """The plate reaches from x = -90 and y = -70, so every hole moves by that and nothing else."""
    circles = {
        (round(c.dxf.center.x, 9), round(c.dxf.center.y, 9)): c.dxf.radius
        for c in opened(dxf_bytes(winder)).modelspace().query("CIRCLE")
    }
    # block: seen at its face, on the far side, so as measured
    for x, y in [(-40, -30), (35, -28), (30, 32), (-38, 25)]:
        assert circles[(x + 90, y + 70)] == 5.5
    assert circles[(-62 + 90, -42 + 70)] == 11


def test_marks_are_crosses_at_the_mirrored_holes(winder: Layout) -> None:
    """The motor is on the near side and drawn looking at its face: its pattern is mirrored, then moved to 105, -10."""
    lines = opened(dxf_bytes(winder)).modelspace().query('LINE[layer=="MARK"]')
    middles = [((e.dxf.start + e.dxf.end) / 2).round(9) for e in lines]
    expected = [(-x + 105 + 90, y - 10 + 70) for x, y in [(-30, -22), (30, -22), (27, 22), (-30, 25)]]
    expected.append((105 + 90, -10 + 70))
    assert sorted((m.x, m.y) for m in middles) == sorted(expected * 2)
    assert {round((e.dxf.end - e.dxf.start).magnitude, 9) for e in lines} == {4.0}


def test_marked_holes_are_not_cut(winder: Layout) -> None:
    marked = [operations for operations in operations_of(winder) if operations.cut is None]
    inside = opened(dxf_bytes(winder)).modelspace().query('*[layer=="CUT-INSIDE"]')
    assert len(marked) == 5
    assert len(inside) == len(winder.openings) - 5


def test_two_marks_in_one_place_are_one_cross(winder: Layout) -> None:
    recess = winder.opening("motor.pilot")
    deeper = replace(recess, name="deeper", depth=1.0, shape=Disc(recess.center, 20.0))
    data = dxf_bytes(replace(winder, openings=(*winder.openings, deeper)))
    assert len(opened(data).modelspace().query('LINE[layer=="MARK"]')) == 10


def test_a_slot_is_two_lines_and_two_half_circles(winder: Layout) -> None:
    slots = [
        e.get_points("b")
        for e in polylines(opened(dxf_bytes(winder)).modelspace())
        if len(e) == 4 and e.dxf.layer == "CUT-INSIDE"
    ]
    assert [sorted(bulge for (bulge,) in points) for points in slots] == [[0, 0, 1, 1]]


def test_plain_lines_end_on_the_arcs_own_ends(plate: Layout) -> None:
    """A reader works out an arc's ends from its angles; each line must end on those very numbers."""
    space = opened(dxf_bytes(plate, "plain")).modelspace()
    arc_ends = [
        (
            arc.dxf.center.x + arc.dxf.radius * math.cos(math.radians(angle)),
            arc.dxf.center.y + arc.dxf.radius * math.sin(math.radians(angle)),
        )
        for arc in space.query("ARC")
        for angle in (arc.dxf.start_angle, arc.dxf.end_angle)
    ]
    line_ends = [
        (point.x, point.y) for line in space.query('LINE[layer!="MARK"]') for point in (line.dxf.start, line.dxf.end)
    ]
    for end in line_ends:
        others = sum(end == other for other in line_ends) - 1
        assert others + sum(end == other for other in arc_ends) == 1, end


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_lower_left_at_zero_and_the_size_in_the_unit(auger: Layout, form: Form, unit: Unit) -> None:
    from ezdxf import bbox

    space = opened(dxf_bytes(auger, form, unit)).modelspace()
    box = bbox.extents(space.query('*[layer=="CUT-OUTSIDE"]'), fast=False)
    size = 1.0 if unit == "mm" else 25.4
    assert box.extmin.isclose((0, 0, 0), abs_tol=2e-3)
    assert box.size.x == pytest.approx(auger.outline.box.width / size, abs=2e-3)
    assert box.size.y == pytest.approx(auger.outline.box.height / size, abs=2e-3)


def test_the_unit_stands_in_the_file_or_in_its_name(winder: Layout) -> None:
    assert opened(dxf_bytes(winder, unit="mm")).header["$INSUNITS"] == 4
    assert opened(dxf_bytes(winder, unit="in")).header["$INSUNITS"] == 1
    assert dxf_suffix() == ".cut.dxf"
    assert dxf_suffix("r2000", "in") == ".cut.in.dxf"
    assert dxf_suffix("r12", "mm") == ".cut.r12.mm.dxf"
    assert dxf_suffix("plain", "in") == ".cut.plain.in.dxf"


def test_the_head_tells_title_name_and_revision(winder: Layout) -> None:
    for form in FORMS:
        told = opened(dxf_bytes(winder, form)).ezdxf_metadata()
        assert told["TITLE"] == winder.title
        assert told["SPEC"] == "winder"
        assert told["REVISION"] == winder.spec.revision


def test_any_title_stays_within_plain_letters(winder: Layout) -> None:
    model = winder.spec.model.model_copy(update={"title": "Mühle Nº 3 " + "磨" * 180})
    odd = replace(winder, spec=replace(winder.spec, model=model))
    for form in FORMS:
        data = dxf_bytes(odd, form)
        assert data.isascii()
        assert b"M\\U+00FChle N\\U+00BA 3 \\U+78E8" in data


def test_no_text_no_curves_no_blocks(plate: Layout) -> None:
    for form in FORMS:
        document = opened(dxf_bytes(plate, form, reference=True))
        seen = {entity.dxftype() for entity in document.entitydb.values()}
        assert not seen & {"TEXT", "MTEXT", "SPLINE", "ELLIPSE", "INSERT", "DIMENSION", "HATCH"}


def test_same_plate_same_bytes_in_another_process(tmp_path: Path, winder: Layout) -> None:
    spec = tmp_path / "winder.yaml"
    spec.write_text(winder.spec.text, encoding="utf-8")
    script = (
        "import sys, hashlib; from platekit.spec import loads; from platekit.layout import lay_out;"
        "from platekit.export.dxf_files.cut import dxf_bytes; from pathlib import Path;"
        "layout = lay_out(loads(Path(sys.argv[1]).read_text(encoding='utf-8'), 'winder'));"
        "print(hashlib.sha256(b''.join(dxf_bytes(layout, f) for f in ('r2000', 'r12', 'plain'))).hexdigest())"
    )
    root = Path(plates.__file__).parents[2]
    hashes = {
        subprocess.run(
            [sys.executable, "-c", script, str(spec)],
            cwd=root,
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
            timeout=120,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(hashes) == 1
    assert dxf_bytes(winder) == dxf_bytes(winder)


def test_nothing_is_said_on_the_screen(winder: Layout, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING):
        for form in FORMS:
            dxf_bytes(winder, form)
    assert caplog.records == []


def test_settings_of_the_library_are_left_alone(winder: Layout) -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_bytes(winder)
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


# ---------------------------------------------------------------------------------- whole or not at all


def test_writes_what_dxf_bytes_gives(tmp_path: Path, winder: Layout) -> None:
    dxf(winder, tmp_path / "plate.dxf", "plain", "in")
    assert (tmp_path / "plate.dxf").read_bytes() == dxf_bytes(winder, "plain", "in")


def test_an_open_stop_leaves_no_file(tmp_path: Path, winder: Layout) -> None:
    stop = Finding(
        rule="web", level="stop", message="the web between a and b is 2 mm; 5 mm is needed", features=("a", "b")
    )
    with pytest.raises(OutputError, match="not written: a stop is open, the first is web: the web between a"):
        dxf(winder, tmp_path / "plate.dxf", verdict=Verdict((stop,)))
    with pytest.raises(OutputError, match="2 stops are open"):
        dxf(winder, tmp_path / "plate.dxf", verdict=Verdict((stop, stop)))
    assert list(tmp_path.iterdir()) == []
    accepted = replace(stop, accepted="welded to the frame there")
    dxf(winder, tmp_path / "plate.dxf", verdict=Verdict((accepted,)))
    assert (tmp_path / "plate.dxf").exists()


def test_the_stop_is_found_without_a_verdict_at_hand(tmp_path: Path, winder: Layout) -> None:
    close = winder.spec.text.replace("at: [-62, -42]", "at: [-44, -44]")
    with pytest.raises(OutputError, match=r"block\.1"):
        dxf(lay_out(loads(close, "close")), tmp_path / "plate.dxf")
    assert list(tmp_path.iterdir()) == []


def test_what_fails_the_proof_is_not_published(tmp_path: Path, winder: Layout, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "plate.dxf").write_bytes(b"old")
    other = replace(winder, openings=winder.openings[1:])
    bad = dxf_export.drawing_bytes(other, "r2000", "mm", False)
    monkeypatch.setattr(dxf_export, "drawing_bytes", lambda *_: bad)
    with pytest.raises(OutputError, match="did not pass its proof"):
        dxf(winder, tmp_path / "plate.dxf", verdict=CLEAR)
    assert (tmp_path / "plate.dxf").read_bytes() == b"old"


# ------------------------------------------------------------------------------------- awkward plates


@pytest.mark.parametrize("form", FORMS)
def test_a_round_plate_is_a_circle(winder: Layout, form: Form) -> None:
    for outline in (Disc((5, -3), 40.0), rectangle(80, 80, corner=40, center=(5, -3))):
        (entity,) = opened(dxf_bytes(with_outline(winder, outline), form)).modelspace()
        assert entity.dxftype() == "CIRCLE"
        assert entity.dxf.center.isclose((40, 40, 0))
        assert entity.dxf.radius == pytest.approx(40, abs=1e-9)


@pytest.mark.parametrize("form", FORMS)
def test_hollow_arcs_and_arcs_of_more_than_half_a_turn(winder: Layout, form: Form) -> None:
    keyhole = Loop(((0, 0, -0.4), (20, 0, 0), (20, 30, 0.9), (14, 44, 0.9), (6, 44, 0.9), (0, 30, 0)))
    data = dxf_bytes(with_outline(winder, keyhole), form)
    wanted = {"plain": {"LINE", "ARC"}, "r12": {"POLYLINE"}, "r2000": {"LWPOLYLINE"}}
    assert kinds(data, "CUT-OUTSIDE") == wanted[form]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_an_edge_too_short_to_be_shape_is_joined_to_its_neighbour(winder: Layout, form: Form, unit: Unit) -> None:
    """Three pads all but in line leave a hull arc of a ten-thousandth of a millimetre; no head should see it."""
    sliver = polygon_loop([(0, 0), (50, -0.00005), (50.0002, -0.00005), (100, 0), (100, 40), (0, 40)])
    data = dxf_bytes(with_outline(winder, sliver), form, unit)
    space = opened(data).modelspace()
    first = next(iter(space))
    edges = len(first) if isinstance(first, LWPolyline | Polyline) else len(space)
    assert (edges == len(space)) == (form == "plain")
    assert len(sliver.edges) == 6
    assert edges == 5


def test_an_outside_of_many_corners(winder: Layout) -> None:
    teeth = [(100 * math.cos(a), 60 * math.sin(a)) for a in (2 * math.pi * k / 1500 for k in range(1500))]
    for form in FORMS:
        assert dxf_bytes(with_outline(winder, polygon_loop(teeth)), form)


# ----------------------------------------------------------------------------- accepted overlaps


def opening_at(layout: Layout, name: str, shape: Disc) -> Opening:
    return replace(layout.opening("cable"), name=name, shape=shape, center=shape.center)


@pytest.mark.parametrize("form", FORMS)
def test_openings_that_overlap_are_cut_as_one(winder: Layout, form: Form) -> None:
    """Two crossing loops would cut each other's slug loose: the table gets the one shape that they make."""
    pair = (opening_at(winder, "a", Disc((0, 0), 10.0)), opening_at(winder, "b", Disc((12, 0), 10.0)))
    layout = replace(winder, openings=pair, bodies=())
    entities = list(opened(dxf_bytes(layout, form)).modelspace().query('*[layer=="CUT-INSIDE"]'))
    if form == "plain":
        assert {e.dxftype() for e in entities} == {"ARC"}
        swept = sum((e.dxf.end_angle - e.dxf.start_angle) % 360 for e in entities)
        # each circle loses the arc inside the other: twice acos(d / 2r)
        assert swept == pytest.approx(2 * (360 - 2 * math.degrees(math.acos(0.6))))
    else:
        assert len(entities) == 1
    found = faults(dxf_export.drawing_bytes(layout, form, "mm", False), replace(layout, openings=pair[:1]), form, "mm")
    assert found


@pytest.mark.parametrize("form", FORMS)
def test_an_opening_over_the_outside_is_a_notch(winder: Layout, form: Form) -> None:
    layout = replace(
        winder,
        outline=rectangle(100, 60),
        bodies=(),
        openings=(opening_at(winder, "notch", Disc((50, 0), 8.0)), opening_at(winder, "eye", Disc((0, 0), 8.0))),
    )
    space = opened(dxf_bytes(layout, form)).modelspace()
    assert len(space.query('*[layer=="CUT-INSIDE"]')) == 1
    if form == "plain":
        assert len(space.query('ARC[layer=="CUT-OUTSIDE"]')) in (1, 2)
    over_the_left = replace(layout, openings=(opening_at(winder, "notch", Disc((-50, 0), 8.0)),))
    assert dxf_bytes(over_the_left, form)


def test_a_plate_that_falls_apart_gets_no_file(winder: Layout) -> None:
    gash = replace(winder.opening("cable"), name="gash", shape=rectangle(4, 400))
    with pytest.raises(OutputError, match="the openings cut the plate into 2 pieces"):
        dxf_bytes(replace(winder, openings=(gash,)))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_head_says_how_far_the_drawing_reaches(unit: Unit) -> None:
    """A plate of 420 x 260 mm, its lower left at 0,0; without these figures readers see a page of 1e20."""
    data = dxf_bytes(lay_out(loads(plates.SOUND, "plate.yaml")), "r2000", unit)
    header = ezdxf.filemanagement.read(io.StringIO(data.decode("ascii"), newline=None)).header
    scale = 1.0 if unit == "mm" else 25.4
    assert tuple(header["$EXTMIN"]) == (0, 0, 0)
    assert tuple(header["$EXTMAX"]) == pytest.approx((420 / scale, 260 / scale, 0))
