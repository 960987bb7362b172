"""Words lie on no other words and on no edge that is to be cut: all outputs of all examples, and drawn ones."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings

from platekit.checks import QUICK, check
from platekit.errors import PlatekitError
from platekit.export.picture.drawing import drawings
from platekit.export.picture.whole import svg_text
from platekit.geometry import Box
from platekit.jobs.make import make
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from tests import strategies
from tests.export.text_boxes import overlaps, struck_in_pdf, texts_of_pdf, texts_of_svg

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "specs").glob("*.yaml"))
SEAM_NAME = re.compile(r"[A-Z]+[0-9]+")
STEP = 1.0
"""Step along edges at which labels are looked for, sheet units."""


@pytest.mark.parametrize("spec", EXAMPLES, ids=lambda path: path.stem)
def test_no_words_lie_on_words_in_any_output_of_an_example(spec: Path, tmp_path: Path) -> None:
    make(spec, tmp_path)
    files = [path for path in tmp_path.rglob("*") if path.suffix in {".svg", ".pdf"}]
    assert any(path.suffix == ".svg" for path in files)
    for path in files:
        pages = texts_of_pdf(path.read_bytes()) if path.suffix == ".pdf" else [texts_of_svg(path.read_text("utf-8"))]
        assert any(pages)
        for number, said in enumerate(pages, start=1):
            assert not overlaps(said), f"{path.name}, page {number}"
        if path.suffix == ".pdf":
            # nothing that the spec says is cut off on paper, and nothing struck through but the name of a seam cross,
            # which has to stand by its cross
            assert not [one.words for said in pages for one in said if one.words.rstrip().endswith("…")], path.name
            assert not [one for one in struck_in_pdf(path.read_bytes()) if not SEAM_NAME.fullmatch(one[1].strip())], (
                path.name
            )


@pytest.mark.parametrize("spec", EXAMPLES, ids=lambda path: path.stem)
def test_no_label_hides_an_edge_of_an_example(spec: Path) -> None:
    assert not hidden(lay_out(load(spec)))


@given(strategies.plates())
@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
def test_no_words_lie_on_words_in_drawn_pictures(drawn: strategies.Data) -> None:
    try:
        layout = lay_out(loads(strategies.as_text(drawn), "drawn"))
        text = svg_text(layout, check(layout, QUICK))
    except PlatekitError:
        assume(False)
        return
    assert not overlaps(texts_of_svg(text))


def hidden(layout: Layout) -> list[Box]:
    """The patches under labels that lie on an edge to be cut, sheet units."""
    found = []
    for drawing in drawings(layout, check(layout, QUICK)):
        patches = [
            Box(x, y, x + float(e.get("width") or 0), y + float(e.get("height") or 0))
            for e in drawing.group.iter("rect")
            if e.get("class") == "pk-ground"
            for x, y in [(float(e.get("x") or 0), float(e.get("y") or 0))]
        ]
        steel = next(e for e in drawing.group.iter() if (e.get("id") or "").startswith("pk-steel"))
        way = (steel.get("transform") or "").removeprefix("matrix(").removesuffix(")").split()
        scale, rise, x0, y0 = (float(way[k]) for k in (0, 3, 4, 5))
        for shape in (layout.outline, *(opening.shape for opening in layout.openings)):
            for edge in shape.loop().edges:
                count = max(int(edge.length * scale / STEP), 1)
                for k in range(count):
                    x, y = edge.at(k / count)
                    spot = (x0 + scale * x, y0 + rise * y)
                    found += [p for p in patches if p.x0 < spot[0] < p.x1 and p.y0 < spot[1] < p.y1]
    return found
