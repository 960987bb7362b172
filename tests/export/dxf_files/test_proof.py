"""Every way to spoil a cut file is found by its proof. Each test spoils a good file in one way."""

from __future__ import annotations

import io
import math
from collections.abc import Callable

import ezdxf
import pytest
from ezdxf.document import Drawing
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.choices import Form
from platekit.errors import OutputError
from platekit.export.dxf_files.cut import FORMS, Unit, drawing_bytes
from platekit.export.dxf_files.doubles import doubled_faults
from platekit.export.dxf_files.pieces import NumberedPoints, Piece, ReadDrawing
from platekit.export.dxf_files.proof import faults, prove
from platekit.export.exact import SHORTEST
from platekit.geometry import CurvedSlot, Disc, Loop, Pose, Shape, Slot, polygon_loop, rectangle
from platekit.placed import Layout

Spoil = Callable[[Drawing], object]


def spoiled(layout: Layout, form: Form, spoil: Spoil) -> list[str]:
    """The faults found after `spoil` has changed the drawing."""
    document = ezdxf.read(io.StringIO(drawing_bytes(layout, form, "mm", False).decode("ascii"), newline=None))
    spoil(document)
    stream = io.StringIO()
    document.write(stream)
    return faults(stream.getvalue().encode("ascii"), layout, form, "mm")


def replaced(layout: Layout, name: str, shape: Shape) -> Layout:
    openings = tuple(replace(o, shape=shape) if o.name == name else o for o in layout.openings)
    return replace(layout, openings=openings)


def faults_of_other(drawn_from: Layout, held_against: Layout, form: Form = "r2000") -> list[str]:
    return faults(drawing_bytes(drawn_from, form, "mm", False), held_against, form, "mm")


@pytest.mark.parametrize("form", FORMS)
def test_a_good_file_passes(plate: Layout, form: Form) -> None:
    for unit in ("mm", "in"):
        for reference in (False, True):
            data = drawing_bytes(plate, form, unit, reference)
            assert faults(data, plate, form, unit, reference) == []


def test_written_once_more_it_still_passes(plate: Layout) -> None:
    """The spoiling below does nothing but what it says."""
    for form in FORMS:
        assert spoiled(plate, form, lambda _: None) == []


def test_the_error_is_one_sentence_with_the_first_fault(winder: Layout) -> None:
    with pytest.raises(OutputError, match=r"did not pass its proof and was not written: .*") as caught:
        prove(drawing_bytes(replace(winder, openings=()), "r2000", "mm", False), winder, "r2000", "mm")
    assert "\n" not in str(caught.value)


# --------------------------------------------------------------------------------------- loops


@pytest.mark.parametrize("gap", [0.01, 0.0001])
@pytest.mark.parametrize("kind", ["LINE", "ARC"])
def test_a_gap_is_found(winder: Layout, gap: float, kind: str) -> None:
    def spoil(document: Drawing) -> None:
        entity = document.modelspace().query(f'{kind}[layer=="CUT-INSIDE"]')[0]
        if kind == "LINE":
            along = (entity.dxf.end - entity.dxf.start).normalize(gap)
            entity.dxf.end -= along
        else:
            entity.dxf.end_angle -= math.degrees(gap / entity.dxf.radius)

    found = spoiled(winder, "plain", spoil)
    assert any("ends in the open" in fault for fault in found)


def test_an_open_polyline_is_found(winder: Layout) -> None:
    def open_light(document: Drawing) -> None:
        document.modelspace().query("LWPOLYLINE")[0].closed = False

    def open_old(document: Drawing) -> None:
        document.modelspace().query("POLYLINE")[0].close(False)

    assert any("is open" in fault for fault in spoiled(winder, "r2000", open_light))
    assert any("is open" in fault for fault in spoiled(winder, "r12", open_old))


def test_a_lost_piece_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        space.delete_entity(space.query('ARC[layer=="CUT-OUTSIDE"]')[0])

    assert any("ends in the open" in fault for fault in spoiled(winder, "plain", spoil))


def test_a_lost_bulge_is_found(winder: Layout) -> None:
    """Some readers and writers drop the bulge of a polyline: arcs become chords."""

    def light(document: Drawing) -> None:
        line = document.modelspace().query("LWPOLYLINE")[0]
        line.set_points(line.get_points("xy"), format="xy")

    def old(document: Drawing) -> None:
        for vertex in document.modelspace().query("POLYLINE")[0].vertices:
            vertex.dxf.bulge = 0.0

    assert any("window" in fault for fault in spoiled(winder, "r2000", light))
    assert any("window" in fault for fault in spoiled(winder, "r12", old))


def test_a_bulge_the_wrong_way_round_is_found(auger: Layout) -> None:
    def spoil(document: Drawing) -> None:
        line = document.modelspace().query("LWPOLYLINE")[0]
        points = line.get_points("xyb")
        line.set_points([(x, y, -bulge) for x, y, bulge in points], format="xyb")

    assert spoiled(auger, "r2000", spoil)


# --------------------------------------------------------------------------------------- doubles


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("off", [0.0, 0.004, -0.004])
def test_a_doubled_circle_is_found(winder: Layout, form: Form, off: float) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        circle = space.query("CIRCLE")[0].copy()
        circle.dxf.center += (off, 0, 0)
        space.add_entity(circle)

    assert any("cut twice" in fault for fault in spoiled(winder, form, spoil))


@pytest.mark.parametrize("kind", ["LINE", "ARC"])
def test_a_doubled_piece_is_found(winder: Layout, kind: str) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        space.add_entity(space.query(f'{kind}[layer=="CUT-INSIDE"]')[0].copy())

    assert any("cut twice" in fault for fault in spoiled(winder, "plain", spoil))


def test_a_line_over_part_of_another_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        line = space.query('LINE[layer=="CUT-OUTSIDE"]')[0]
        a, b = line.dxf.start, line.dxf.end
        space.add_line(a.lerp(b, 0.7), a.lerp(b, 0.4), dxfattribs={"layer": "CUT-OUTSIDE"})

    assert any("cut twice" in fault for fault in spoiled(winder, "plain", spoil))


def test_an_arc_over_part_of_a_circle_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        circle = space.query("CIRCLE")[0]
        center, radius = circle.dxf.center, circle.dxf.radius
        space.add_arc(center, radius, 350, 10, dxfattribs={"layer": "CUT-INSIDE"})

    assert any("cut twice" in fault for fault in spoiled(winder, "plain", spoil))


def test_a_doubled_polyline_is_found(auger: Layout) -> None:
    forms: list[tuple[Form, str]] = [("r2000", "LWPOLYLINE"), ("r12", "POLYLINE")]
    for form, kind in forms:

        def spoil(document: Drawing, kind: str = kind) -> None:
            space = document.modelspace()
            space.add_entity(space.query(kind)[0].copy())

        assert any("cut twice" in fault for fault in spoiled(auger, form, spoil))


@given(
    angle=st.floats(0, 2 * math.pi),
    along=st.floats(-300, 300),
    away=st.floats(-300, 300),
    off=st.floats(-0.006, 0.006),
)
@settings(max_examples=200)
def test_doubled_lines_are_found_however_they_lie(angle: float, along: float, away: float, off: float) -> None:
    def line(start: float, end: float, side: float) -> Piece:
        u, v = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
        a, b = ((s * u[0] + side * v[0], s * u[1] + side * v[1]) for s in (start, end))
        return Piece("CUT-INSIDE", 0, a, b)

    twice = ReadDrawing([line(along, along + 20, away), line(along + 30, along + 19, away + off)])
    in_a_row = ReadDrawing([line(along, along + 20, away), line(along + 20, along + 30, away)])
    assert list(doubled_faults(twice))
    assert not list(doubled_faults(in_a_row))


# --------------------------------------------------------------------------------- kinds and layers


def test_a_spline_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        points = [(100, 100), (110, 105), (120, 100)]
        document.modelspace().add_spline(points, dxfattribs={"layer": "CUT-INSIDE"})

    assert any("SPLINE" in fault for fault in spoiled(winder, "r2000", spoil))


def test_an_ellipse_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        document.modelspace().add_ellipse((50, 50), (8, 0), 0.9, dxfattribs={"layer": "CUT-INSIDE"})

    assert any("ELLIPSE" in fault for fault in spoiled(winder, "r2000", spoil))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("layer", ["CUT-INSIDE", "MARK", "0", "REFERENCE"])
def test_a_text_is_found_on_any_layer(winder: Layout, form: Form, layer: str) -> None:
    def spoil(document: Drawing) -> None:
        document.modelspace().add_text("NEAR", dxfattribs={"layer": layer})

    assert any("TEXT" in fault for fault in spoiled(winder, form, spoil))


def test_a_text_is_found_on_an_allowed_reference_layer(winder: Layout) -> None:
    document = ezdxf.read(io.StringIO(drawing_bytes(winder, "r2000", "mm", True).decode(), newline=None))
    document.modelspace().add_text("NEAR", dxfattribs={"layer": "REFERENCE"})
    stream = io.StringIO()
    document.write(stream)
    assert faults(stream.getvalue().encode(), winder, "r2000", "mm", reference=True)


def test_another_forms_words_are_found(winder: Layout) -> None:
    for one in FORMS:
        data = drawing_bytes(winder, one, "mm", False)
        for other in FORMS:
            assert bool(faults(data, winder, other, "mm")) == (one != other), (one, other)


@pytest.mark.parametrize("form", FORMS)
def test_an_opening_on_the_wrong_layer_is_found(winder: Layout, form: Form) -> None:
    for layer, words in (
        ("CUT-OUTSIDE", "2 outsides"),
        ("MARK", "CIRCLE lies on layer MARK"),
        ("0", "lies on layer 0"),
        ("REFERENCE", "lies on layer REFERENCE"),
    ):

        def spoil(document: Drawing, layer: str = layer) -> None:
            document.modelspace().query("CIRCLE")[0].dxf.layer = layer

        assert any(words in fault for fault in spoiled(winder, form, spoil))


@pytest.mark.parametrize("form", FORMS)
def test_an_opening_turned_into_reference_is_missed(winder: Layout, form: Form) -> None:
    document = ezdxf.read(io.StringIO(drawing_bytes(winder, form, "mm", True).decode("ascii"), newline=None))
    document.modelspace().query('CIRCLE[layer=="CUT-INSIDE"]')[0].dxf.layer = "REFERENCE"
    stream = io.StringIO()
    document.write(stream)
    found = faults(stream.getvalue().encode("ascii"), winder, form, "mm", reference=True)
    assert any("is missing" in fault for fault in found)


@pytest.mark.parametrize("form", FORMS)
def test_a_layer_switched_off_is_found(winder: Layout, form: Form) -> None:
    def spoil(document: Drawing) -> None:
        document.layers.get("CUT-INSIDE").off()

    assert any("switched off" in fault for fault in spoiled(winder, form, spoil))


def test_shapes_in_a_block_or_on_a_paper_sheet_are_found(winder: Layout) -> None:
    def block(document: Drawing) -> None:
        document.blocks.new("STAMP").add_circle((0, 0), 3)

    def sheet(document: Drawing) -> None:
        document.layout("Layout1").add_circle((0, 0), 3)

    assert any("block STAMP" in fault for fault in spoiled(winder, "r2000", block))
    assert any("paper sheet" in fault for fault in spoiled(winder, "r2000", sheet))


def test_shapes_off_the_plane_are_found(winder: Layout) -> None:
    def lifted(document: Drawing) -> None:
        document.modelspace().query("CIRCLE")[0].dxf.center += (0, 0, 1)

    def tilted(document: Drawing) -> None:
        document.modelspace().query("CIRCLE")[0].dxf.extrusion = (0, 0, -1)

    def raised(document: Drawing) -> None:
        document.modelspace().query("LWPOLYLINE")[0].dxf.elevation = 2

    def wide(document: Drawing) -> None:
        document.modelspace().query("LWPOLYLINE")[0].dxf.const_width = 1.5

    for spoil in (lifted, tilted, raised, wide):
        assert spoiled(winder, "r2000", spoil)


# ------------------------------------------------------------------------------ against the layout


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", ["cable", "window", "drain", "block.2"])
def test_a_missing_opening_is_found_by_name(winder: Layout, form: Form, name: str) -> None:
    less = replace(winder, openings=tuple(o for o in winder.openings if o.name != name))
    found = faults_of_other(less, winder, form)
    assert f"opening {name} is missing" in found


@pytest.mark.parametrize("form", FORMS)
def test_an_opening_too_many_is_found(winder: Layout, form: Form) -> None:
    extra = replace(winder.opening("cable"), name="extra", shape=Disc((0, 60), 6.0), center=(0, 60))
    found = faults_of_other(replace(winder, openings=(*winder.openings, extra)), winder, form)
    assert any("openings, not" in fault for fault in found)


@pytest.mark.parametrize("form", FORMS)
def test_a_mirrored_plate_is_found(plate: Layout, form: Form) -> None:
    """Turned over by the writer: same size, same areas, every hole in a wrong place."""
    over = Pose(mirrored=True)
    mirrored = replace(
        plate,
        outline=plate.outline.moved(over),
        openings=tuple(replace(o, shape=o.shape.moved(over), center=over.point(o.center)) for o in plate.openings),
    )
    assert any("is missing" in fault or "differs" in fault for fault in faults_of_other(mirrored, plate, form))


@pytest.mark.parametrize("form", FORMS)
def test_an_opening_mirrored_in_its_own_place_is_found(winder: Layout, form: Form) -> None:
    window = winder.opening("window")
    x, _ = window.shape.centroid
    mirrored = window.shape.moved(Pose(x=2 * x, mirrored=True))
    found = faults_of_other(replaced(winder, "window", shape=mirrored), winder, form)
    assert any("window" in fault for fault in found)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("scale", [25.4, 1 / 25.4, 1.00001])
def test_a_scaled_drawing_is_found(winder: Layout, form: Form, scale: float) -> None:
    def spoil(document: Drawing) -> None:
        from ezdxf.math import Matrix44

        for entity in document.modelspace():
            entity.transform(Matrix44.scale(scale, scale, scale))

    assert spoiled(winder, form, spoil)


def test_the_wrong_unit_is_found(winder: Layout) -> None:
    for form in FORMS:
        assert faults(drawing_bytes(winder, form, "in", False), winder, form, "mm")
        assert faults(drawing_bytes(winder, form, "mm", False), winder, form, "in")

    def claims_inches(document: Drawing) -> None:
        document.header["$INSUNITS"] = 1

    assert any("unit code is 1, not 4" in fault for fault in spoiled(winder, "r2000", claims_inches))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("by", [0.00001, 0.01, 1.0])
def test_a_moved_hole_is_found(winder: Layout, form: Form, by: float) -> None:
    cable = winder.opening("cable")
    moved = cable.shape.moved(Pose(by, 0))
    found = faults_of_other(replaced(winder, "cable", shape=moved), winder, form)
    assert any("cable" in fault for fault in found)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", ["cable", "window", "drain"])
def test_a_hole_a_little_large_is_found(winder: Layout, form: Form, name: str) -> None:
    grown = winder.opening(name).shape.grown(0.00002)
    found = faults_of_other(replaced(winder, name, shape=grown), winder, form)
    assert any(name in fault for fault in found)


@pytest.mark.parametrize("form", FORMS)
def test_another_outside_is_found(winder: Layout, form: Form) -> None:
    outline = winder.outline.grown(0.001)
    assert any("outside" in fault for fault in faults_of_other(replace(winder, outline=outline), winder, form))


@pytest.mark.parametrize("form", FORMS)
def test_a_drawing_away_from_zero_is_found(winder: Layout, form: Form) -> None:
    def spoil(document: Drawing) -> None:
        for entity in document.modelspace():
            entity.translate(-1, 0, 0)

    assert any(
        "lower left is at -1.0000, 0.0000, not at 0.0000, 0.0000" in fault for fault in spoiled(winder, form, spoil)
    )


@pytest.mark.parametrize("form", FORMS)
def test_the_outside_first_is_found(winder: Layout, form: Form) -> None:
    def spoil(document: Drawing) -> None:
        space = document.modelspace()
        for entity in list(space.query('*[layer!="CUT-OUTSIDE"]')):
            space.unlink_entity(entity)
            space.add_entity(entity)

    assert spoiled(winder, form, spoil) == ["the outside comes before an opening or a mark"]


@pytest.mark.parametrize("form", FORMS)
def test_marks_gone_astray_are_found(winder: Layout, form: Form) -> None:
    def moved(document: Drawing) -> None:
        document.modelspace().query('LINE[layer=="MARK"]')[0].translate(0.01, 0, 0)

    def longer(document: Drawing) -> None:
        document.modelspace().query('LINE[layer=="MARK"]')[0].dxf.end += (0.5, 0, 0)

    def lost(document: Drawing) -> None:
        space = document.modelspace()
        space.delete_entity(space.query('LINE[layer=="MARK"]')[0])

    def slanted(document: Drawing) -> None:
        line = document.modelspace().query('LINE[layer=="MARK"]')[0]
        middle = (line.dxf.start + line.dxf.end) / 2
        line.dxf.start, line.dxf.end = (
            middle + (line.dxf.start - middle).rotate_deg(30),
            middle + (line.dxf.end - middle).rotate_deg(30),
        )

    for spoil in (moved, longer, lost, slanted):
        assert any("mark" in fault for fault in spoiled(winder, form, spoil))


def test_a_piece_too_short_is_found(winder: Layout) -> None:
    def spoil(document: Drawing) -> None:
        line = document.modelspace().query("LWPOLYLINE")[0]
        points = line.get_points("xyb")
        x, y, _ = points[0]
        u, v, _ = points[1]
        step = SHORTEST / 2 / math.dist((x, y), (u, v))
        extra = (x + (u - x) * step, y + (v - y) * step, 0.0)
        line.set_points([(x, y, 0.0), extra, *points[1:]], format="xyb")

    found = spoiled(winder, "r2000", spoil)
    assert any("is only" in fault for fault in found)


# ------------------------------------------------------------------------------------ broken files


@pytest.mark.parametrize("form", FORMS)
def test_a_file_cut_short_is_found(winder: Layout, form: Form) -> None:
    data = drawing_bytes(winder, form, "mm", False)
    for share in (0.0, 0.3, 0.6, 0.9, 0.97):
        assert faults(data[: int(len(data) * share)], winder, form, "mm"), share


def test_bytes_that_are_no_dxf_are_found(winder: Layout) -> None:
    for data in (b"", b"not a drawing", b"\xff\xfe\x00", b"  0\r\nEOF\r\n"):
        assert faults(data, winder, "r2000", "mm")


def test_pieces_know_their_length_and_area() -> None:
    """A half circle of radius 3 from (3, 0) to (-3, 0), by its closed forms."""
    half = Piece("CUT-INSIDE", 0, (3.0, 0.0), (-3.0, 0.0), 1.0)
    assert half.length == pytest.approx(3 * math.pi)
    assert half.swept / 2 == pytest.approx(4.5 * math.pi)
    assert half.middle == pytest.approx((0.0, 3.0))
    assert max(y for _, y in half.corners) == pytest.approx(3.0)
    assert half.turned_round().middle == pytest.approx((0.0, 3.0))


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4), st.floats(0, 6.28), st.floats(0, 0.9e-6))
def test_near_points_share_a_number(x: float, y: float, angle: float, away: float) -> None:
    places = NumberedPoints(1e-6)
    number = places.number((x, y))
    assert places.number((x + away * math.cos(angle), y + away * math.sin(angle))) == number
    assert places.number((x + 2.1e-6, y)) != number


def test_sliver_tolerance_does_not_hide_a_real_change(winder: Layout) -> None:
    """An outside with one edge too short to be shape is still held to a few micrometres."""
    corners = [(0, 0), (50, -0.00005), (50.0002, -0.00005), (100, 0), (100, 40), (0, 40)]
    bare = replace(winder, openings=(), bodies=(), outline=polygon_loop(corners))
    moved = replace(bare, outline=polygon_loop([*corners[:-1], (0, 40.01)]))
    assert faults_of_other(bare, bare) == []
    assert faults_of_other(moved, bare)


# ------------------------------------------------------------------------------- any plate, any change


@st.composite
def plates(draw: st.DrawFn) -> tuple[Loop, list[Disc | Slot | CurvedSlot | Loop]]:
    """An outside with random corner radii, and a random shape in each of up to six cells of 60 x 60 mm."""
    columns, rows = draw(st.integers(1, 3)), draw(st.integers(1, 2))
    width, height = columns * 60 + 20.0, rows * 60 + 20.0
    skew = draw(st.floats(-8, 8))
    corners = [(-10, -10 + skew), (width - 10, -10), (width - 10 + skew, height), (-10, height - 10)]
    outline = polygon_loop([(float(x), float(y)) for x, y in corners], draw(st.floats(0, 9)))
    shapes = [shape_in(draw, (30 + 60 * column, 30 + 60 * row)) for column in range(columns) for row in range(rows)]
    return outline.moved(Pose(draw(st.floats(-500, 500)), draw(st.floats(-500, 500)))), shapes


def shape_in(draw: st.DrawFn, center: tuple[float, float]) -> Disc | Slot | CurvedSlot | Loop:
    """A shape of at most 40 mm across, turned any way, about a point."""
    kind = draw(st.sampled_from(["disc", "slot", "curved", "rectangle", "triangle"]))
    size = draw(st.floats(1, 8))
    place = Pose(*center, draw(st.floats(0, 6.28)), draw(st.booleans()))
    if kind == "disc":
        return Disc(center, size)
    if kind == "slot":
        return Slot((-draw(st.floats(0.5, 10)), 0), (draw(st.floats(0.5, 10)), 1), size).moved(place)
    if kind == "curved":
        return CurvedSlot((0, 0), 12, draw(st.floats(0, 6)), draw(st.floats(0.1, 4)), min(size, 6)).moved(place)
    if kind == "rectangle":
        return rectangle(draw(st.floats(4, 25)), draw(st.floats(4, 25)), draw(st.floats(0, 2))).moved(place)
    return polygon_loop([(-10, -8), (12, -6), (draw(st.floats(-5, 5)), 11)], draw(st.floats(0, 1.5))).moved(place)


def plate_of(winder: Layout, drawn_plate: tuple[Loop, list[Disc | Slot | CurvedSlot | Loop]]) -> Layout:
    outline, shapes = drawn_plate
    box = outline.box
    to_outline = Pose(box.x0 + 10, box.y0 + 10)
    cable = winder.opening("cable")
    openings = tuple(
        replace(cable, name=f"o{n}", shape=shape.moved(to_outline), center=shape.moved(to_outline).centroid)
        for n, shape in enumerate(shapes)
    )
    return replace(winder, outline=outline, openings=openings, bodies=())


@given(plates(), st.sampled_from(FORMS), st.sampled_from(["mm", "in"]))
@settings(max_examples=40)
def test_any_plate_passes(
    winder: Layout, drawn_plate: tuple[Loop, list[Disc | Slot | CurvedSlot | Loop]], form: Form, unit: Unit
) -> None:
    layout = plate_of(winder, drawn_plate)
    try:
        data = drawing_bytes(layout, form, unit, False)
    except OutputError:
        return  # the openings took the plate apart
    assert faults(data, layout, form, unit) == []


@given(st.data(), st.sampled_from(FORMS), st.sampled_from([1e-4, -1e-4, 0.01, 1.0, -25.4]))
@settings(max_examples=60)
def test_any_changed_number_is_found(winder: Layout, data: st.DataObject, form: Form, by: float) -> None:
    """Whichever coordinate, radius, angle or bulge of the drawing is changed, by a tenth of a micrometre or more."""
    lines = drawing_bytes(winder, form, "mm", False).decode("ascii").split("\r\n")
    start = lines.index("ENTITIES")
    numbers = []
    kind = ""
    for at in range(start + 1, len(lines) - 2, 2):
        code, value = lines[at].strip(), lines[at + 1]
        kind = value if code == "0" else kind
        if kind == "ENDSEC":
            break
        # the point of the old polyline itself is a dummy, only its vertices are drawn
        if code in {"10", "20", "30", "11", "21", "31", "40", "42", "50", "51"} and kind != "POLYLINE":
            numbers.append(at + 1)
    at = data.draw(st.sampled_from(numbers))
    lines[at] = repr(float(lines[at]) + by)
    assert faults("\r\n".join(lines).encode("ascii"), winder, form, "mm")
