"""Scribed words in the files: that every stroke is there, and that a file with one missing or moved is refused."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Callable

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pytest
from ezdxf.document import Drawing

from platekit.checks import Verdict
from platekit.cutting import paths_of
from platekit.cutting.scribe import scribing_of
from platekit.drawing.pdf.strip import saying
from platekit.drawing.seen import seen_from_side
from platekit.export.data.plate import figures_bytes
from platekit.export.dxf_files import kerf_proof
from platekit.export.dxf_files.cut import FORMS, Form, drawing_bytes, dxf_bytes
from platekit.export.dxf_files.kerf import drawing_bytes as kerf_drawn
from platekit.export.dxf_files.kerf import kerf_bytes, shift_of
from platekit.export.dxf_files.proof import faults
from platekit.export.paper.template import template_bytes, tiling_of
from platekit.export.picture.whole import svg_text
from platekit.geometry import Arc
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import loads
from platekit.units import Unit

SPEC = """\
platekit: 1
title: Ore sieve 09
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 200, height: 120, corner: 10}, at: [15, -5]}
mounts:
  sieve:
    side: far
    looking_at: face
    pattern: {points: [[-60, -25], [50, -30], [45, 20]], hole: 9}
    bolts: {size: M8, into: part, depth: 40}
  plug:
    side: near
    looking_at: back
    pattern: {points: [[0, 0]]}
    at: [10, 0]
    bolts: {size: M6, into: plate, flange: 4}
cutting: {process: laser, kerf: 0.3, scribe: [names, face, revision, title]}
paper: {size: a4}
"""
Spoil = Callable[[Drawing], object]


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "sieve"))


def read(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("ascii"), newline=None))


def again(document: Drawing) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("ascii")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_layer_of_the_marks_has_every_stroke_and_no_text(layout: Layout, form: Form, unit: Unit) -> None:
    marks = [e for e in read(dxf_bytes(layout, form, unit)).modelspace() if e.dxf.layer == "MARK"]
    edges = [edge for stroke in scribing_of(layout).strokes for edge in stroke]
    crosses = 2 * len(paths_of(layout).marks)
    assert crosses == 2
    assert len(marks) == len(edges) + crosses
    assert sum(e.dxftype() == "ARC" for e in marks) == sum(isinstance(edge, Arc) for edge in edges)
    assert {e.dxftype() for e in marks} == {"LINE", "ARC"}


def test_words_come_before_anything_is_cut(layout: Layout) -> None:
    layers = [entity.dxf.layer for entity in read(dxf_bytes(layout)).modelspace()]
    assert layers == sorted(layers, key=["MARK", "CUT-INSIDE", "CUT-OUTSIDE"].index)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_kerf_file_has_them_as_marking_paths(layout: Layout, unit: Unit) -> None:
    marks = [e for e in read(kerf_bytes(layout, unit)).modelspace() if e.dxf.layer == "KERF-PATH-MARK"]
    edges = [edge for stroke in scribing_of(layout).strokes for edge in stroke]
    assert len(marks) == len(edges) + 2
    size = 1.0 if unit == "mm" else 1 / 25.4
    arcs = sorted(e.dxf.radius for e in marks if e.dxftype() == "ARC")
    assert arcs == pytest.approx(sorted(edge.radius * size for edge in edges if isinstance(edge, Arc)))


def test_the_same_plate_gives_the_same_bytes(layout: Layout) -> None:
    other = lay_out(loads(SPEC, "sieve"))
    assert dxf_bytes(layout) == dxf_bytes(other)
    assert kerf_bytes(layout) == kerf_bytes(other)


# ------------------------------------------------------------------------------------------ the proof


def stroke(document: Drawing, kind: str) -> ezdxf.entities.DXFGraphic:
    """A line that is no cross, or an arc."""
    marks = [e for e in document.modelspace() if e.dxf.layer.endswith("MARK") and e.dxftype() == kind]
    if kind == "ARC":
        return marks[len(marks) // 2]
    return next(e for e in marks if abs(math.dist(e.dxf.start, e.dxf.end) - 4.0) > 0.1)


def delete(kind: str) -> Spoil:
    return lambda document: document.modelspace().delete_entity(stroke(document, kind))


def move(kind: str, by: float) -> Spoil:
    def change(document: Drawing) -> None:
        stroke(document, kind).translate(by, 0, 0)

    return change


def grow(document: Drawing) -> None:
    stroke(document, "ARC").dxf.radius += 0.01


def flip(document: Drawing) -> None:
    """The other half of the circle: the same ends, the same radius."""
    arc = stroke(document, "ARC")
    arc.dxf.start_angle, arc.dxf.end_angle = arc.dxf.end_angle, arc.dxf.start_angle


def mirror(document: Drawing) -> None:
    """Every word as it would be seen in a mirror; the crosses stay where they are."""
    for entity in list(document.modelspace()):
        if entity.dxf.layer.endswith("MARK"):
            entity.transform(ezdxf.math.Matrix44.scale(-1, 1, 1))
            entity.translate(200, 0, 0)


def double(document: Drawing) -> None:
    entity = stroke(document, "LINE")
    document.modelspace().add_line(entity.dxf.start, entity.dxf.end, dxfattribs={"layer": entity.dxf.layer})


SPOILT: dict[str, Spoil] = {
    "a line is missing": delete("LINE"),
    "an arc is missing": delete("ARC"),
    "a line has moved": move("LINE", 0.001),
    "an arc has moved": move("ARC", 0.001),
    "an arc is larger": grow,
    "an arc is the wrong half": flip,
    "all is mirrored": mirror,
    "a line is there twice": double,
    "a text lies there": lambda d: d.modelspace().add_text("OUT", dxfattribs={"layer": "MARK"}),
    "a line lies on a cut layer": lambda d: setattr(stroke(d, "LINE").dxf, "layer", "CUT-INSIDE"),
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("what", SPOILT)
def test_a_spoilt_cut_file_is_refused(layout: Layout, form: Form, what: str) -> None:
    document = read(drawing_bytes(layout, form, "mm", False))
    assert faults(again(document), layout, form, "mm") == []
    SPOILT[what](document)
    assert faults(again(document), layout, form, "mm"), what


@pytest.mark.parametrize("what", [what for what in SPOILT if "cut layer" not in what])
def test_a_spoilt_kerf_file_is_refused(layout: Layout, what: str) -> None:
    paths = paths_of(layout)
    document = read(kerf_drawn(layout, paths, "mm"))
    assert kerf_proof.kerf_faults(again(document), layout, "mm", shift_of(paths)) == []
    SPOILT[what](document)
    assert kerf_proof.kerf_faults(again(document), layout, "mm", shift_of(paths)), what


def test_the_fault_names_the_word(layout: Layout) -> None:
    document = read(drawing_bytes(layout, "r2000", "mm", False))
    move("ARC", 0.5)(document)
    (fault, *_) = faults(again(document), layout, "r2000", "mm")
    assert fault.startswith("a stroke of the word ")


def test_words_of_another_plate_are_refused(layout: Layout) -> None:
    other = lay_out(loads(SPEC.replace("Ore sieve 09", "Ore sieve 08"), "sieve"))
    assert faults(drawing_bytes(other, "r2000", "mm", False), layout, "r2000", "mm")
    bare = lay_out(loads(SPEC.replace(", scribe: [names, face, revision, title]", ""), "sieve"))
    assert faults(drawing_bytes(bare, "r2000", "mm", False), layout, "r2000", "mm")
    assert faults(drawing_bytes(layout, "r2000", "mm", False), bare, "r2000", "mm")


# -------------------------------------------------------------------------------- picture, paper, figures


def test_the_picture_shows_every_word(layout: Layout) -> None:
    picture = svg_text(layout, Verdict(()))
    for word in scribing_of(layout).words:
        assert f"<title>scribed: {word.text}</title>" in picture
    assert "scribed by the table" in picture
    bare = svg_text(
        lay_out(loads(SPEC.replace("scribe: [names, face, revision, title]", "scribe: []"), "s")), Verdict(())
    )
    assert "scribed" not in bare


def test_the_figures_have_every_word(layout: Layout) -> None:
    told = json.loads(figures_bytes(layout))["scribed"]
    assert told["face"] == "near"
    assert told["height_mm"] == 5.0
    assert [word["text"] for word in told["words"]] == [word.text for word in scribing_of(layout).words]
    assert {word["opening"] for word in told["words"] if word["kind"] == "names"} == {
        "sieve.1",
        "sieve.2",
        "sieve.3",
        "plug.1",
    }
    assert told["length_mm"] == pytest.approx(scribing_of(layout).length)
    assert told["left_out"] == []


def dark(layout: Layout, side: Side) -> float:
    """The share of places along the strokes that are inked on the paper of that side; 300 dpi."""
    tile = tiling_of(seen_from_side(layout, side), saying(layout, Verdict(()), side)).tiles[0]
    page = pdfium.PdfDocument(template_bytes(layout, Verdict(()), side))[0]
    scale = 300 / 25.4
    ink = np.asarray(page.render(scale=300 / 72).to_pil().convert("L"))
    hits = []
    for edge in (edge for stroke in scribing_of(layout).strokes for edge in stroke):
        x, y = edge.at(0.37)
        u, v = tile.view.at((-x if side == "far" else x, y))
        column, row = round(u * scale), round(ink.shape[0] - v * scale)
        hits.append(bool(ink[row - 2 : row + 3, column - 2 : column + 3].min() < 200))
    return sum(hits) / len(hits)


def test_the_paper_shows_them_on_the_face_that_is_scribed(layout: Layout) -> None:
    assert dark(layout, "near") == 1.0
    assert dark(layout, "far") < 0.3
