"""Outlines from drawings: exact where lines and arcs are, outside a curve; every mistake is told in its place."""

from __future__ import annotations

import logging
import math
import random
import subprocess
import sys
from collections import Counter
from pathlib import Path

import ezdxf
import pytest

import platekit
from platekit.errors import SpecError
from platekit.geometry import Arc, Loop, Shape
from tests.adversary import drawings

SPEC = """\
platekit: 1
title: A cup of an odd shape
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 900, height: 900}}}}}}
mounts:
  part: {{side: far, looking_at: face, pattern: {{points: [[300, 300]], hole: 9}}}}
bodies:
  cup:
    carried_by: part
    shape: {{drawn: {{file: {file}, units: {units}{more}}}, at: [10, 20]}}
    span: [0, 30]
"""


def laid_out(folder: Path, file: str, units: str = "mm", more: str = "") -> Shape:
    path = folder / "plate.yaml"
    path.write_text(SPEC.format(file=file, units=units, more=more), "utf-8")
    layout = platekit.lay_out(platekit.load(path))
    return next(body.shape for body in layout.bodies if body.name == "cup")


def svg(folder: Path, inside: str, name: str = "cup.svg") -> str:
    text = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">{inside}</svg>'
    (folder / name).write_text(text, "utf-8")
    return name


def dxf(folder: Path, name: str = "cup.dxf") -> tuple[ezdxf.document.Drawing, str]:
    return ezdxf.new("R2000"), name


# --------------------------------------------------------------------------------------------- DXF


def test_lines_and_arcs_in_any_order_and_direction_make_one_exact_outline(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    space = document.modelspace()
    # a stadium 40 long between centres, 20 wide, its pieces mixed up
    space.add_arc((40, 0), 10, 270, 90)
    space.add_line((0, 10), (40, 10))
    space.add_arc((0, 0), 10, 90, 270)
    space.add_line((40, -10), (0, -10))
    document.saveas(tmp_path / "cup.dxf")
    shape = laid_out(tmp_path, "cup.dxf")
    assert isinstance(shape, Loop)
    assert shape.area == pytest.approx(40 * 20 + math.pi * 100, abs=1e-6)
    assert shape.centroid == pytest.approx((30, 20), abs=1e-6)
    assert {round(edge.radius, 6) for edge in shape.edges if isinstance(edge, Arc)} == {10}


def test_inches_and_a_layer(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (2, 0), (2, 1), (0, 1)], close=True, dxfattribs={"layer": "Cup"})
    space.add_circle((1, 0.5), 0.25, dxfattribs={"layer": "hole"})
    space.add_text("not an outline", dxfattribs={"layer": "cup"})
    document.saveas(tmp_path / "cup.dxf")
    shape = laid_out(tmp_path, "cup.dxf", "in", ", layer: cup, zero: middle")
    assert shape.area == pytest.approx(2 * 25.4**2)
    assert shape.centroid == pytest.approx((10, 20))


def test_a_block_and_a_polyline_that_was_drawn_facing_down(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    block = document.blocks.new("CUP")
    block.add_lwpolyline([(0, 0), (30, 0, 0, 0, 1), (30, 20), (0, 20)], format="xyseb", close=True)
    document.modelspace().add_blockref("CUP", (5, 0))
    document.saveas(tmp_path / "cup.dxf")
    area = 30 * 20 + math.pi * 50
    assert laid_out(tmp_path, "cup.dxf").area == pytest.approx(area)
    document = ezdxf.new("R2000")
    down = {"extrusion": (0, 0, -1)}
    document.modelspace().add_lwpolyline(
        [(0, 0), (30, 0, 0, 0, 1), (30, 20), (0, 20)], format="xyseb", close=True, dxfattribs=down
    )
    document.saveas(tmp_path / "down.dxf")
    shape = laid_out(tmp_path, "down.dxf")
    assert shape.area == pytest.approx(area)
    assert (shape.box.x0, shape.box.x1) == pytest.approx((10 - 40, 10))


def test_a_polyline_of_the_old_kind_comes_out_exact(tmp_path: Path) -> None:
    document = ezdxf.new("R12")
    document.modelspace().add_polyline2d([(0, 0, 1), (20, 0, 0), (20, 30, 0), (0, 30, 0)], format="xyb", close=True)
    document.saveas(tmp_path / "old.dxf")
    assert laid_out(tmp_path, "old.dxf").area == pytest.approx(600 + math.pi * 50)


def test_a_block_put_in_rows_and_columns_is_put_in_each_of_its_places(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    document.blocks.new("STEP").add_lwpolyline([(0, 0), (10, 0), (10, 10)])
    grid = {"column_count": 3, "column_spacing": 10, "row_count": 1}
    document.modelspace().add_blockref("STEP", (0, 0), dxfattribs=grid)
    document.saveas(tmp_path / "rows.dxf")
    assert "open at 10, 10 mm" in problem(tmp_path, "rows.dxf")
    document.modelspace().add_line((10, 10), (10, 0))
    document.modelspace().query("INSERT").first.dxf.column_count = 1
    document.modelspace().add_line((10, 10), (0, 0))
    document.saveas(tmp_path / "rows.dxf")
    assert "branches at 10, 10 mm" in problem(tmp_path, "rows.dxf")


def test_splines_and_ellipses_are_kept_to_a_few_thousandths(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    document.modelspace().add_ellipse((0, 0), (40, 0), 0.5)
    document.saveas(tmp_path / "cup.dxf")
    shape = laid_out(tmp_path, "cup.dxf")
    assert isinstance(shape, Loop)
    for k in range(720):
        angle = math.radians(k / 2)
        depth = shape.depth((10 + 40 * math.cos(angle), 20 + 20 * math.sin(angle))).distance
        assert abs(depth) <= 0.005
    document = ezdxf.new("R2000")
    spline = document.modelspace().add_spline()
    spline.set_open_uniform([(0, 0), (60, -10), (70, 50), (20, 60), (-20, 30), (0, 0)])
    document.saveas(tmp_path / "curl.dxf")
    curl = laid_out(tmp_path, "curl.dxf")
    assert isinstance(curl, Loop)
    for x, y, _ in spline.construction_tool().approximate(500):
        assert abs(curl.depth((10 + x, 20 + y)).distance) <= 0.005


# --------------------------------------------------------------------------------------------- SVG


@pytest.mark.parametrize(
    ("inside", "area", "middle"),
    [
        ('<circle cx="30" cy="40" r="10"/>', math.pi * 100, (30, -40)),
        ('<rect x="10" y="20" width="30" height="10" rx="2"/>', 300 - (4 - math.pi) * 4, (25, -25)),
        ('<path d="M0 0 h40 v20 h-40 z"/>', 800, (20, -10)),
        ('<path d="M 0,10 A 10 10 0 0 1 20,10 L 20,30 0,30 Z"/>', 400 + math.pi * 50, None),
        ('<polygon points="0,0 30,0 0,40"/>', 600, (10, -40 / 3)),
        (
            '<g transform="translate(5 6)"><g transform="rotate(90)"><rect width="30" height="10"/></g></g>',
            300,
            (0, -21),
        ),
        ('<g transform="scale(2)"><circle r="5"/></g>', math.pi * 100, (0, 0)),
        ('<line x1="0" y1="0" x2="9" y2="0"/><polyline points="9,0 9,9 0,9 0,0"/>', 81, (4.5, -4.5)),
    ],
)
def test_shapes_of_an_svg_come_out_exact_with_y_up(
    tmp_path: Path, inside: str, area: float, middle: tuple[float, float] | None
) -> None:
    shape = laid_out(tmp_path, svg(tmp_path, inside))
    assert shape.area == pytest.approx(area, abs=1e-6)
    if middle is not None:
        assert shape.centroid == pytest.approx((10 + middle[0], 20 + middle[1]), abs=1e-6)


def test_a_pixel_is_a_ninety_sixth_of_an_inch(tmp_path: Path) -> None:
    shape = laid_out(tmp_path, svg(tmp_path, '<rect width="96" height="48"/>'), "px")
    assert (shape.box.width, shape.box.height) == pytest.approx((25.4, 12.7))


def test_curves_of_an_svg_are_kept_to_a_few_thousandths(tmp_path: Path) -> None:
    curve = [(0.0, 0.0), (10.0, 60.0), (70.0, 60.0), (80.0, 0.0)]
    shape = laid_out(tmp_path, svg(tmp_path, '<path d="M0 0 C10 60 70 60 80 0 Z"/>'))
    assert isinstance(shape, Loop)
    for k in range(400):
        t = k / 400
        w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (sum(a * p[i] for a, p in zip(w, curve, strict=True)) for i in (0, 1))
        assert abs(shape.depth((10 + x, 20 - y)).distance) <= 0.005
    ellipse = laid_out(tmp_path, svg(tmp_path, '<ellipse rx="30" ry="10" transform="rotate(30)"/>'))
    assert ellipse.area == pytest.approx(math.pi * 300, abs=0.005 * 140)


def test_only_the_group_that_is_named_counts_and_definitions_never_do(tmp_path: Path) -> None:
    inside = '<defs><circle r="5"/></defs><g id="cup"><circle r="10"/></g><g id="rest"><circle r="20"/></g>'
    shape = laid_out(tmp_path, svg(tmp_path, inside), more=", layer: cup")
    assert shape.area == pytest.approx(math.pi * 100)


# --------------------------------------------------------------------------------------------- mistakes


def problem(folder: Path, file: str, more: str = "") -> str:
    with pytest.raises(SpecError) as caught:
        laid_out(folder, file, more=more)
    (found,) = caught.value.problems
    assert found.line == 10
    assert found.field.startswith("bodies.cup.shape.drawn.")
    return f"{found.field.rpartition('.')[2]}: {found.found}; {found.wanted}"


def test_every_mistake_is_told_at_its_place_in_the_spec(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("no drawing")
    (tmp_path / "broken.dxf").write_text("this is no drawing")
    (tmp_path / "broken.svg").write_text("<svg")
    (tmp_path / "folder.dxf").mkdir()
    (tmp_path / "huge.dxf").write_bytes(b"0\nSECTION\n" * 600_000)
    assert "no file" in problem(tmp_path, "missing.dxf")
    assert "name a DXF or SVG file" in problem(tmp_path, "notes.txt")
    assert "save it as DXF again" in problem(tmp_path, "broken.dxf")
    assert "no SVG file" in problem(tmp_path, "broken.svg")
    assert "which is a folder" in problem(tmp_path, "folder.dxf")
    assert "6.0 MB" in problem(tmp_path, "huge.dxf")
    assert "2 outlines" in problem(tmp_path, svg(tmp_path, '<circle r="5"/><circle r="2"/>'))
    assert "open at" in problem(tmp_path, svg(tmp_path, '<path d="M0 0 h40 v20 h-39.9"/>'))
    assert "20 mm from the next end" in problem(tmp_path, svg(tmp_path, '<path d="M0 0 h40 v20 h-40"/>'))
    assert "crosses" in problem(tmp_path, svg(tmp_path, '<path d="M0 0 L40 40 L40 0 L0 30 Z"/>'))
    assert "no line, arc, circle" in problem(tmp_path, svg(tmp_path, "<text>cup</text>"))
    assert problem(tmp_path, svg(tmp_path, '<circle r="5"/>'), ", layer: cup").startswith("layer: no line")
    assert "transform" in problem(tmp_path, svg(tmp_path, '<circle r="5" transform="bend(3)"/>'))
    entities = '<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg"/>'
    (tmp_path / "entities.svg").write_text(entities)
    assert "entities" in problem(tmp_path, "entities.svg")


def test_an_svg_in_which_a_figure_is_no_number_is_refused_and_not_read_without_it(tmp_path: Path) -> None:
    """A list of points less one figure is another outline."""
    for inside in (
        '<polygon points="0,0 nan,7 9,9 0,9"/>',
        '<polygon points="0,0 9,0 9,9 0"/>',
        '<rect width="9" height="9" transform="translate(3) turned"/>',
        '<rect width="9" height="9" transform="rotate(3x)"/>',
        '<path d="M0 0 L9 0 L9 L 9 Z"/>',
    ):
        assert "save it as plain SVG" in problem(tmp_path, svg(tmp_path, inside)), inside


def test_a_dxf_in_which_a_figure_must_be_guessed_is_refused(tmp_path: Path) -> None:
    logger = logging.getLogger("ezdxf")
    before = (logger.level, logger.propagate, list(logger.handlers), list(logger.filters))
    for figure in ("1,5", "1e", "--1"):
        (tmp_path / "guess.dxf").write_bytes(drawings.dxf_of(drawings.square().replace("\n20.0\n", f"\n{figure}\n", 1)))
        assert "figures in guess.dxf that are no numbers; save it as DXF again" in problem(tmp_path, "guess.dxf")
    assert (logger.level, logger.propagate, list(logger.handlers), list(logger.filters)) == before


def test_a_damaged_dxf_prints_nothing_of_the_librarys_own(tmp_path: Path) -> None:
    """In a process in which nobody asked for logs: those would be printed as a last resort."""
    (tmp_path / "guess.dxf").write_bytes(drawings.dxf_of(drawings.square().replace("\n20.0\n", "\n1,5\n", 1)))
    (tmp_path / "plate.yaml").write_text(SPEC.format(file="guess.dxf", units="mm", more=""), "utf-8")
    code = f"import platekit; platekit.lay_out(platekit.load({str(tmp_path / 'plate.yaml')!r}))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "no numbers" in ran.stderr
    assert "recovered" not in ran.stderr


def test_a_binary_dxf_is_told_as_what_it_is(tmp_path: Path) -> None:
    (tmp_path / "binary.dxf").write_bytes(drawings.whole_dxfs()[1])
    assert "binary.dxf, which is a binary DXF file; save it as a text (ASCII) DXF" in problem(tmp_path, "binary.dxf")


def test_small_files_with_a_drawing_without_end_are_refused_soon(tmp_path: Path) -> None:
    """Blocks that hold blocks ten times each, twelve deep, would hold a million million squares."""
    empty = drawings.tags((0, "POINT"), (8, "0"), (10, 0), (20, 0))
    for inside in (drawings.square(), empty, ""):
        (tmp_path / "bomb.dxf").write_bytes(drawings.block_bomb(10, 12, inside))
        told = problem(tmp_path, "bomb.dxf")
        assert "more than 20000 parts" in told or "more than 20000 points" in told
    rows = drawings.insert("A", (70, 32_000), (71, 32_000), (44, 1), (45, 1))
    (tmp_path / "rows.dxf").write_bytes(drawings.dxf_of(rows, drawings.block("A", drawings.square())))
    assert "more than" in problem(tmp_path, "rows.dxf")
    into = drawings.insert("A")
    (tmp_path / "turns.dxf").write_bytes(drawings.dxf_of(into, drawings.block("A", into)))
    assert "more than 20 deep" in problem(tmp_path, "turns.dxf")
    curves = "".join(f"C{k} 900 0 -900 {k} 9" for k in range(3000))
    assert "more than 20000 points" in problem(tmp_path, svg(tmp_path, f'<path d="M0 0{curves}Z"/>'))
    deep = "<g>" * 40 + '<circle r="5"/>' + "</g>" * 40
    assert "nested more than 20 deep" in problem(tmp_path, svg(tmp_path, deep))
    (tmp_path / "bomb.svg").write_bytes(drawings.bomb_svg("utf-16"))
    assert "bomb.svg" in problem(tmp_path, "bomb.svg")


def test_an_outline_farther_out_than_any_length_is_refused(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    document.modelspace().add_ellipse((0, 0), (1e12, 0), 0.5)
    document.saveas(tmp_path / "far.dxf")
    assert "1e+09 m from its zero; at most 100 m will do; check `units`" in problem(tmp_path, "far.dxf")
    assert "2000 m from its zero" in problem(tmp_path, svg(tmp_path, '<rect width="2000000" height="5"/>'))
    assert "too large" in problem(tmp_path, svg(tmp_path, '<ellipse rx="1e200" ry="5"/>'))
    assert "too large" in problem(tmp_path, svg(tmp_path, '<path d="M0 0C1e308 0 -1e308 1e308 5 5Z"/>'))


@pytest.mark.parametrize("encoding", ["latin-9", "utf-7", "shift_jis", "no such"])
def test_an_encoding_that_xml_cannot_have_is_told(encoding: str, tmp_path: Path) -> None:
    (tmp_path / "odd.svg").write_text(f'<?xml version="1.0" encoding="{encoding}"?><svg/>', "ascii")
    assert "odd.svg, which is no SVG file" in problem(tmp_path, "odd.svg")


@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_odd_drawings_end_in_an_outline_or_a_sentence(kind: str, tmp_path: Path) -> None:
    """The same ones in every run; `python -m tests.adversary --kind svg` draws others."""
    ends = Counter[str]()
    for number in range(150):
        data = getattr(drawings, f"odd_{kind}")(random.Random(number))
        (tmp_path / f"{number}.{kind}").write_bytes(data)
        try:
            laid_out(tmp_path, f"{number}.{kind}")
            ends["laid out"] += 1
        except SpecError:
            ends["refused"] += 1
    assert len(ends) == 2


def test_units_of_the_drawing_are_asked_for(tmp_path: Path) -> None:
    name = svg(tmp_path, '<circle r="5"/>')
    path = tmp_path / "plate.yaml"
    path.write_text(SPEC.format(file=name, units="mm", more="").replace(", units: mm", ""), "utf-8")
    with pytest.raises(SpecError, match="units"):
        platekit.load(path)


def test_a_changed_drawing_changes_the_shape_and_the_revision_mark(tmp_path: Path) -> None:
    assert laid_out(tmp_path, svg(tmp_path, '<circle r="5"/>')).area == pytest.approx(math.pi * 25)
    first = platekit.load(tmp_path / "plate.yaml").revision
    assert laid_out(tmp_path, svg(tmp_path, '<circle r="5.5"/>')).area == pytest.approx(math.pi * 30.25)
    assert platekit.load(tmp_path / "plate.yaml").revision != first
