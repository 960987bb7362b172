"""Lines of dimensions: through no opening that they only pass, and broken at every edge of the plate."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.drawing.dimensions import ThinLine
from platekit.drawing.view import View
from platekit.export.bench.drawing import interrupted, ladders, planned
from platekit.export.bench.sheet import drawing_fields
from platekit.export.bench.words import zero_of
from platekit.geometry import Line
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

EXAMPLES = sorted((Path(__file__).parents[3] / "specs").glob("*.yaml"))
ROW = """\
platekit: 1
title: Three holes in a row
units: mm
plate: {material: mild steel, thickness: 6, outline: {rectangle: {width: 200, height: 100}}}
mounts:
  frame: {side: far, looking_at: face, pattern: {points: [[-50, 0], [0, 0], [50, 0]], hole: 10}}
cutting: {process: laser}
"""
VIEW = View(1.0, 0.0, 0.0)


@pytest.fixture(scope="module")
def row() -> Layout:
    return lay_out(loads(ROW, "row"))


def pieces(layout: Layout, *points: tuple[float, float]) -> list[tuple[tuple[float, float], ...]]:
    found = interrupted(layout, VIEW, ThinLine(points))
    return [tuple((round(x, 3), round(y, 3)) for x, y in line.points) for line in found]


def test_a_line_passes_a_hole_in_two_pieces(row: Layout) -> None:
    """Hole of 10 at 0: centre lines reach 1.5 past its edge, 0.6 of air; the same at the hole that it comes from."""
    assert pieces(row, (44.0, 0.0), (-30.0, 0.0)) == [((42.9, 0.0), (7.1, 0.0)), ((-7.1, 0.0), (-30.0, 0.0))]


def test_a_line_has_a_gap_at_the_edge_and_keeps_its_bend(row: Layout) -> None:
    """The edge lies at y -50, the gap is 0.7 each way."""
    found = pieces(row, (20.0, -10.0), (20.0, -53.0), (22.0, -56.0), (22.0, -58.0))
    assert found == [((20.0, -10.0), (20.0, -49.3)), ((20.0, -50.7), (20.0, -53.0), (22.0, -56.0), (22.0, -58.0))]


def test_a_line_that_passes_nothing_stays_whole(row: Layout) -> None:
    assert pieces(row, (20.0, -10.0), (20.0, -40.0)) == [((20.0, -10.0), (20.0, -40.0))]


@pytest.mark.parametrize("spec", EXAMPLES, ids=lambda path: path.stem)
def test_no_line_of_an_example_runs_through_an_opening(spec: Path) -> None:
    layout = lay_out(load(spec))
    zero = zero_of(layout).point
    _, plan = planned(layout, zero, drawing_fields(layout))
    whole = [mark for one in ladders(layout, plan, zero) for mark in one.marks if isinstance(mark, ThinLine)]
    assert whole
    for line in (piece for mark in whole for piece in interrupted(layout, plan.view, mark)):
        way = Line(plan.view.back(line.points[0]), plan.view.back(line.points[1]))
        for opening in layout.openings:
            assert not any(opening.shape.contains(way.at(k / 50)) for k in range(51)), (opening.name, line)
