"""What a drawing says of itself, what it does not show, what hides in it: compared, left out, or refused."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pytest

import platekit
from platekit.geometry import Loop
from tests.adversary import drawings
from tests.laying.test_drawn import laid_out, problem

SQUARE = [(0, 0), (60, 0), (60, 40), (0, 40)]


def saved(folder: Path, document: ezdxf.document.Drawing, name: str = "cup.dxf") -> str:
    document.saveas(folder / name)
    return name


def square_dxf(units: int) -> ezdxf.document.Drawing:
    document = ezdxf.new("R2000", units=units)
    document.modelspace().add_lwpolyline(SQUARE, close=True)
    return document


def notes(folder: Path, file: str, units: str = "mm", more: str = "") -> list[str]:
    laid_out(folder, file, units, more)
    verdict = platekit.check(platekit.lay_out(platekit.load(folder / "plate.yaml")))
    return [finding.message for finding in verdict.findings if finding.rule == "drawing"]


def whole_svg(folder: Path, head: str, inside: str = '<rect width="60" height="40"/>') -> str:
    (folder / "cup.svg").write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{inside}</svg>', "utf-8")
    return "cup.svg"


# ------------------------------------------------------------------------------- units


@pytest.mark.parametrize(("code", "unit"), [(1, "in"), (5, "cm")])
def test_a_dxf_whose_header_has_another_unit_is_refused_and_told_what_to_type(
    code: int, unit: str, tmp_path: Path
) -> None:
    told = problem(tmp_path, saved(tmp_path, square_dxf(code)))
    assert told.startswith("units: units: mm for cup.dxf, which says that it was drawn in ")
    assert f"`units: {unit}`" in told
    factor = {"in": 25.4, "cm": 10.0}[unit]
    for typed in (unit, "own"):
        assert laid_out(tmp_path, "cup.dxf", typed).area == pytest.approx(2400 * factor**2)


def test_a_dxf_in_feet_or_metres_is_refused_or_read_by_its_own_word(tmp_path: Path) -> None:
    document = ezdxf.new("R2000", units=6)
    document.modelspace().add_lwpolyline([(0, 0), (0.06, 0), (0.06, 0.04), (0, 0.04)], close=True)
    assert "`units: own`" in problem(tmp_path, saved(tmp_path, document))
    assert laid_out(tmp_path, "cup.dxf", "own").area == pytest.approx(2400)
    # a program that leaves metres there whatever is drawn: no plate is 60 m long
    assert any("metres" in note and "60 m across" in note for note in notes(tmp_path, saved(tmp_path, square_dxf(6))))


def test_a_dxf_without_a_unit_is_told_of(tmp_path: Path) -> None:
    (tmp_path / "old.dxf").write_bytes(drawings.dxf_of(drawings.square()))
    assert any(
        "does not say its unit; read in mm" in note and "20 mm x 20 mm" in note for note in notes(tmp_path, "old.dxf")
    )
    assert not notes(tmp_path, saved(tmp_path, square_dxf(4)))
    with pytest.raises(platekit.SpecError, match="does not say its unit"):
        laid_out(tmp_path, "old.dxf", "own")
    for system, units, other in ((0, "mm", "in"), (1, "in", "mm")):
        header = drawings.tags((9, "$MEASUREMENT"), (70, system))
        (tmp_path / "system.dxf").write_bytes(drawings.dxf_of(drawings.square(), "", header))
        with pytest.raises(platekit.SpecError, match=f"MEASUREMENT.*`units: {other}`"):
            laid_out(tmp_path, "system.dxf", units)


@pytest.mark.parametrize(
    ("head", "right"),
    [
        ('width="100mm" height="80mm" viewBox="0 0 100 80"', "mm"),
        ('width="10cm" height="8cm" viewBox="0 0 100 80"', "mm"),
        ('width="4in" viewBox="0 0 4 4"', "in"),
        ('width="100mm" height="80mm"', "px"),
        ('width="75pt" viewBox="0 0 100 100"', "px"),
        ('width="100mm" height="200mm" viewBox="0 0 100 100"', "mm"),
        ('width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMid slice"', "mm"),
    ],
)
def test_width_and_view_box_of_an_svg_decide_its_unit(head: str, right: str, tmp_path: Path) -> None:
    name = whole_svg(tmp_path, head, '<rect width="4" height="3"/>')
    size = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96}
    for units in size:
        if units == right:
            assert laid_out(tmp_path, name, units).area == pytest.approx(12 * size[right] ** 2)
        else:
            with pytest.raises(platekit.SpecError, match=f"`units: {right}`"):
                laid_out(tmp_path, name, units)
    assert laid_out(tmp_path, name, "own").area == pytest.approx(12 * size[right] ** 2)


def test_an_svg_that_is_scaled_by_an_odd_factor_is_read_by_its_own_word_only(tmp_path: Path) -> None:
    # 210 mm over 744.09448819 units: the 90 to the inch of older editors
    name = whole_svg(tmp_path, 'width="210mm" height="297mm" viewBox="0 0 744.09448819 1052.3622047"')
    for units in ("mm", "px"):
        with pytest.raises(platekit.SpecError, match=r"0.282222 mm.*`units: own`"):
            laid_out(tmp_path, name, units)
    assert laid_out(tmp_path, name, "own").area == pytest.approx(2400 * (25.4 / 90) ** 2, rel=1e-6)
    name = whole_svg(tmp_path, 'width="200" height="200" viewBox="0 0 100 100"')
    with pytest.raises(platekit.SpecError, match="`units: own`"):
        laid_out(tmp_path, name)


@pytest.mark.parametrize(
    "head",
    [
        'width="20em" viewBox="0 0 100 100"',
        'width="20vw" viewBox="0 0 100 100"',
        'width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="none"',
        'width="100mm" viewBox="0 0 0 100"',
        'width="-5mm" viewBox="0 0 100 100"',
        'width="1,5mm" viewBox="0 0 100 100"',
    ],
)
def test_sizes_of_an_svg_that_say_nothing_are_refused(head: str, tmp_path: Path) -> None:
    assert "save it as plain SVG" in problem(tmp_path, whole_svg(tmp_path, head))


def test_an_svg_of_so_many_pixels_or_a_share_says_no_unit(tmp_path: Path) -> None:
    for head in ("", 'viewBox="0 0 9 9"', 'width="100%" viewBox="0 0 9 9"', 'width="90" viewBox="0 0 90 90"'):
        assert any("does not say its unit" in note for note in notes(tmp_path, whole_svg(tmp_path, head))), head


# ------------------------------------------------------------------------------- what is not shown


def test_what_a_dxf_does_not_show_is_left_out_and_said(tmp_path: Path) -> None:
    document = square_dxf(4)
    space = document.modelspace()
    document.layers.add("iced").freeze()
    document.layers.add("dark").off()
    document.layers.add("help").dxf.plot = 0
    for layer in ("iced", "dark", "help", "Defpoints"):
        space.add_circle((5, 5), 2, dxfattribs={"layer": layer})
    space.add_circle((5, 5), 2, dxfattribs={"invisible": 1})
    space.add_text("a word")
    document.layout("Layout1").add_circle((0, 0), 9)
    block = document.blocks.new("PART")
    block.add_circle((30, 20), 5)  # on layer 0: takes the layer of the insert
    space.add_blockref("PART", (0, 0), dxfattribs={"layer": "dark"})
    (told,) = notes(tmp_path, saved(tmp_path, document))
    for word in ("CIRCLE on a layer that is off (dark)", "frozen layer (iced)", "left out: ", "2 CIRCLE"):
        assert word in told
    assert laid_out(tmp_path, "cup.dxf").area == pytest.approx(2400)
    assert "on a frozen layer (iced)" in problem(tmp_path, "cup.dxf", ", layer: iced")


def test_a_block_keeps_its_scale_its_mirror_and_its_layer(tmp_path: Path) -> None:
    document = ezdxf.new("R2000", units=4)
    block = document.blocks.new("PART")
    block.add_lwpolyline([(0, 0), (30, 0, 0, 0, 1), (30, 20), (0, 20)], format="xyseb", close=True)
    space = document.modelspace()
    space.add_blockref("PART", (5, 0), dxfattribs={"xscale": -2, "yscale": 2, "layer": "cut"})
    shape = laid_out(tmp_path, saved(tmp_path, document), more=", layer: cut")
    assert shape.area == pytest.approx(4 * (600 + math.pi * 50))
    assert (shape.box.x0, shape.box.x1) == pytest.approx((10 + 5 - 80, 15))
    uneven = ezdxf.new("R2000", units=4)
    uneven.blocks.new("PART").add_circle((0, 0), 10)
    uneven.modelspace().add_blockref("PART", (0, 0), dxfattribs={"xscale": 3, "yscale": 1})
    assert laid_out(tmp_path, saved(tmp_path, uneven)).area == pytest.approx(math.pi * 300, abs=0.005 * 140)
    down = ezdxf.new("R2000", units=4)
    down.modelspace().add_arc((20, 0), 10, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
    down.modelspace().add_lwpolyline([(-30, 0), (-20, 0), (-20, 10)])
    shape = laid_out(tmp_path, saved(tmp_path, down))
    assert shape.area == pytest.approx(math.pi * 25)
    assert (shape.box.x0, shape.box.x1) == pytest.approx((-20, -10))


def test_what_does_not_lie_flat_is_refused(tmp_path: Path) -> None:
    document = square_dxf(4)
    document.modelspace().add_line((0, 0, 0), (5, 0, 9))
    assert "does not lie flat" in problem(tmp_path, saved(tmp_path, document))


def test_a_closed_spline_is_read_over_its_own_part_of_the_knots(tmp_path: Path) -> None:
    """One whose first control points come again at the end: the curve begins at none of them."""
    corners = [(56, 23, 0), (48, 43, 0), (26, 48, 0), (3, 41, 0), (-20, 35, 0), (-30, 2, 0), (-5, -20, 0), (41, 3, 0)]
    document = ezdxf.new("R2000", units=4)
    spline = document.modelspace().add_spline()
    spline.set_closed(corners)
    shape = laid_out(tmp_path, saved(tmp_path, document))
    assert isinstance(shape, Loop)
    assert not [corner for corner in shape.outside_corners() + shape.inside_corners() if corner[1] == 0.0]
    n = len(corners)
    for k in range(n):  # P: a uniform cubic B-spline passes (a + 4 b + c) / 6 at its knots
        a, b, c = corners[k - 1], corners[k], corners[(k + 1) % n]
        x, y, _ = ((p + 4 * q + r) / 6 for p, q, r in zip(a, b, c, strict=True))
        assert abs(shape.depth((10 + x, 20 + y)).distance) <= 0.005


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        ('<g style="display:none"><circle r="5"/></g>', "circle that is not displayed"),
        ('<circle r="5" display="none"/>', "circle that is not displayed"),
        ('<g visibility="hidden"><circle r="5"/></g>', "circle that is set invisible"),
        ('<circle r="5" opacity="0.0"/>', "circle that is wholly transparent"),
        ('<circle r="5" style="fill:none;stroke:none"/>', "shape that has neither line nor fill"),
        ("<text>cup</text>", "1 text"),
    ],
)
def test_what_an_svg_does_not_show_is_left_out_and_said(inside: str, told: str, tmp_path: Path) -> None:
    name = whole_svg(tmp_path, 'width="60mm" viewBox="0 0 60 60"', f'<rect width="60" height="40"/>{inside}')
    (note,) = notes(tmp_path, name)
    assert told in note
    assert laid_out(tmp_path, name).area == pytest.approx(2400)


@pytest.mark.parametrize(
    "inside",
    [
        '<svg width="30" viewBox="0 0 60 60"><rect width="60" height="40"/></svg>',
        '<rect width="60" height="40" style="transform: scale(2)"/>',
        '<g style="rotate: 30deg"><rect width="60" height="40"/></g>',
        '<style>rect { transform: scale(2) }</style><rect width="60" height="40"/>',
        '<rect width="60" height="40"/><style>.a { display: none }</style>',
        '<style>@import "x.css";</style><rect width="60" height="40"/>',
        '<rect width="60" height="40" transform="scale(2)" transform-origin="3 4"/>',
        '<defs><rect id="a" width="6" height="4"/></defs><use href="#a"/>',
        '<rect width="60" height="40" clip-path="url(#a)"/>',
        '<rect width="60" height="40"><animate attributeName="width" to="9"/></rect>',
        '<switch><rect width="60" height="40"/></switch>',
        '<rect width="50%" height="40"/>',
        '<rect width="5em" height="40"/>',
        '<rect width="-5" height="40"/>',
    ],
)
def test_what_makes_another_drawing_of_an_svg_is_refused(inside: str, tmp_path: Path) -> None:
    assert "save it as plain SVG" in problem(tmp_path, whole_svg(tmp_path, 'width="60mm" viewBox="0 0 60 60"', inside))


def test_paths_are_read_as_the_standard_writes_them(tmp_path: Path) -> None:
    for path, area in (
        ("M0,0h10v10h-10z", 100),
        ("m 0 0 10 0 0 10 -10 0 z", 100),
        ("M0 0L10-0 10 10.0.0 10Z", 100),
        ("M10 0a10 10 0 01-20 0a10,10 0 0120 0z", math.pi * 100),
        ("M0 0 1e1 0 1E1 10 0 10z", 100),
    ):
        name = whole_svg(tmp_path, "", f'<path d="{path}"/>')
        assert laid_out(tmp_path, name).area == pytest.approx(area), path
    for path in (
        "M0 0L5",
        "L5 5 0 5z",
        "M0 0 L10 0 10 10 Q",
        "M0 0 L1O 0 5 5z",
        "M0 0 h5 v5 z 4 4",
        "M0 0 A5 5 0 2 1 9 9z",
    ):
        assert "cannot be read" in problem(tmp_path, whole_svg(tmp_path, "", f'<path d="{path}"/>')), path


# ------------------------------------------------------------------------------- hostile, and read once


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-be"])
@pytest.mark.parametrize(
    "kind", ['<!DOCTYPE svg [<!ENTITY a "5">]>', '<!DOCTYPE svg SYSTEM "x.dtd">', "<!DOCTYPE svg>"]
)
def test_no_document_type_is_let_in_in_whatever_encoding(encoding: str, kind: str, tmp_path: Path) -> None:
    text = f'<?xml version="1.0" encoding="{encoding[:6]}"?>{kind}<svg><circle r="5"/></svg>'
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    (tmp_path / "type.svg").write_bytes(mark + text.encode(encoding))
    assert "type.svg, which has a DOCTYPE" in problem(tmp_path, "type.svg")


def test_counts_are_limited_before_the_work(tmp_path: Path) -> None:
    assert "more than 20000 elements" in problem(tmp_path, whole_svg(tmp_path, "", "<g/>" * 30_000))
    long = whole_svg(tmp_path, "", f'<path d="M0 0 {"1 1 " * 1_000_000}"/>')
    assert "more than 20000 points" in problem(tmp_path, long)
    (tmp_path / "long.dxf").write_bytes(b"0\n" * 1_200_000)
    assert "lines of text" in problem(tmp_path, "long.dxf")


def test_what_is_cut_and_its_mark_are_of_the_same_bytes(tmp_path: Path) -> None:
    name = whole_svg(tmp_path, "", '<circle r="30"/>')
    laid_out(tmp_path, name)
    spec = platekit.load(tmp_path / "plate.yaml")
    before = platekit.load(tmp_path / "plate.yaml").revision
    whole_svg(tmp_path, "", '<circle r="40"/>')
    layout = platekit.lay_out(spec)
    cup = next(body.shape for body in layout.bodies if body.name == "cup")
    assert cup.area == pytest.approx(math.pi * 900)
    assert layout.spec.revision == before
    assert platekit.load(tmp_path / "plate.yaml").revision != before
