"""The views from the side, held against heights and places worked out by hand."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.drawing.dimensions import DimensionFigure, Head, ThinLine
from platekit.drawing.from_side import (
    SideMeasure,
    SidePart,
    SideView,
    leaders,
    name_heights,
    side_dimensions,
    side_names,
    side_views,
)
from platekit.drawing.pdf.drafting import paper_style
from platekit.drawing.svg.drafting import picture_style
from platekit.export.picture.from_side import side_text
from platekit.export.picture.whole import svg_text
from platekit.geometry import Box
from tests.checks import drives, lying, plates

SPECS = Path(__file__).parents[2] / "specs"


def views(text: str) -> tuple[SideView, ...]:
    return side_views(platekit.lay_out(platekit.loads(text, "plate.yaml")))


def box(view: SideView, name: str) -> tuple[float, float, float, float]:
    return next(part.box for part in view.parts if part.name == name)


def test_a_motor_on_feet_is_seen_along_its_shaft_and_square_to_it() -> None:
    along, square = views(lying.SOUND)
    # the line shaft lies 150 mm on the near side of the far face: 135 over the near face of 15 mm, at x = -200
    assert box(along, "bed.shaft") == pytest.approx((-215, 120, -185, 150), abs=0.05)
    # a motor of frame 90S (IEC 60072-1: H 90, shaft 24 mm)
    left, low, right, high = box(along, "motor.shaft")
    assert (low, high) == pytest.approx((78, 102), abs=0.05)
    assert right - left == pytest.approx(24, abs=0.05)
    centres = math.sqrt(400.5935**2 - 45**2)  # what the belt of 1250 mm asks for, less the difference of height
    assert (left + right) / 2 == pytest.approx(-200 + centres, abs=0.01)
    # square to it: the shaft of 50 mm (E) ends flush with the pulley's rim
    _, _, end, _ = box(square, "motor.shaft")
    assert end == pytest.approx(120)
    assert box(square, "drive.driver")[2] == pytest.approx(120)
    assert along.plate == (-300, -15, 600, 0)
    words = [measure.words for measure in along.heights]
    assert "135 mm to the axis of drive.driven" in words
    assert "90 mm to the axis of drive.driver" in words


def test_what_the_views_of_a_motor_on_feet_are_dimensioned_with() -> None:
    """Axes, planes of the belt, what stands proud, past the edge, below the plate, and the room that is left there."""
    wide = "shape: {rectangle: {width: 2000, height: 2000}}, span: [60, 90]"
    floor = f"bodies:\n  floor: {{carried_by: plate, side: far, {wide}}}\n"
    text = lying.changed(
        ("height: -150", "height: -60"),
        ("width: 900, height: 500", "width: 900, height: 180"),
        ("drive:\n", floor + "drive:\n"),
        ("pitch_diameter: 200,", "pitch_diameter: 200, flange_diameter: 230,"),
    )
    along, square = views(text)
    heights = {measure.words: (measure.low, measure.high) for measure in along.heights}
    # the line shaft is 45 mm over the near face: its flange of 230 mm reaches 70 mm under that face
    assert heights["45 mm to the axis of drive.driven"] == (0, 45)
    assert heights["55 mm below the plate: drive.driven"] == pytest.approx((-70, -15))
    assert heights["5 mm room from floor up to drive.driven"] == pytest.approx((-75, -70))
    # IEC 60072-1, frame 90: the axis 90 mm high; how high its housing stands is the maker's (a row of our table)
    top = next(words for words in heights if words.endswith("to the top of motor.frame"))
    assert heights[top][0] == 0
    # square to the shafts the plate ends at y = 90, and the belt runs in the plane y = 110
    spots = {words: (start, stop) for start, stop, words in square.along}
    assert spots["20 mm past the edge, plane of drive"] == pytest.approx((90, 110))
    # along them: the driven rim's middle is at x = -200, the plate's end at x = -300
    spots = {words: (start, stop) for start, stop, words in along.along}
    assert spots["15 mm past the edge: drive.driven"] == pytest.approx((-315, -300))


def test_the_picture_shows_the_views_too() -> None:
    layout = platekit.lay_out(platekit.loads(lying.SOUND, "plate.yaml"))
    text = svg_text(layout, platekit.check(layout))
    assert "From the side, along the shafts of drive" in text
    assert "135 mm to the axis of drive.driven" in text


def test_pulleys_square_to_the_plate_stand_in_their_spans() -> None:
    (view,) = views(drives.SOUND)
    assert "line of centres" in view.title
    low, high = box(view, "drive.driven")[1::2]
    layout = platekit.lay_out(platekit.loads(drives.SOUND, "plate.yaml"))
    assert (low, high) == pytest.approx(layout.belts[0].driven.z)
    assert box(view, "drive.driven")[2] - box(view, "drive.driven")[0] == pytest.approx(
        layout.belts[0].driven.largest_diameter
    )


def test_a_plate_without_drive_and_bodies_has_no_view_from_the_side() -> None:
    text = "\n".join(
        [
            "platekit: 1",
            "title: bare",
            "units: mm",
            "plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 300, height: 300}}}",
            "mounts:",
            "  base:",
            "    {side: far, pattern: {circle: {count: 4, diameter: 100}}, bolts: {size: M8, into: nut, flange: 9}}",
            "cutting: {process: laser}",
        ]
    )
    layout = platekit.lay_out(platekit.loads(text, "bare.yaml"))
    assert side_views(layout) == ()
    assert side_text(layout) == ""


def test_the_figure_is_the_same_every_time_and_names_what_it_shows() -> None:
    layout = platekit.lay_out(platekit.loads(plates.SOUND, "plate.yaml"))
    assert side_text(layout) == side_text(layout)
    layout = platekit.lay_out(platekit.loads(lying.SOUND, "plate.yaml"))
    assert ">motor.shaft</text>" in side_text(layout)


@settings(max_examples=50)
@given(st.lists(st.floats(-200, 200), max_size=14), st.floats(60, 400))
def test_names_beside_a_view_never_overlap_and_stay_in_their_room(spots: list[float], high: float) -> None:
    named = tuple(((0.0, y), f"part {index}") for index, y in enumerate(spots))
    view = SideView("", Box(0, -10, 100, 0), (), (), (), named)
    places = name_heights(view, lambda p: p, 4.0, (0.0, high))
    assert len(places) == len(spots)
    ordered = sorted(places)
    assert all(b - a >= min(4.0, high / max(len(spots) - 1, 1)) - 1e-6 for a, b in pairwise(ordered))
    assert not ordered or (ordered[0] >= -1e-6 and ordered[-1] <= high + 1e-6)
    # of two parts the higher one has the higher name, so that no two leaders cross
    assert all(places[i] <= places[j] for i in range(len(spots)) for j in range(len(spots)) if spots[i] < spots[j])


def _crosses(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]) -> bool:
    """Whether two lines meet between their ends, found by solving for where: a way of its own."""
    det = (b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])
    if abs(det) < 1e-9:
        return False
    s = ((c[0] - a[0]) * (d[1] - c[1]) - (c[1] - a[1]) * (d[0] - c[0])) / det
    t = ((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / det
    return 1e-6 < s < 1 - 1e-6 and 1e-6 < t < 1 - 1e-6


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(-200, 90), st.floats(-60, 60), st.floats(1, 80), st.floats(1, 60)), max_size=14),
    st.floats(80, 300),
)
def test_no_leader_crosses_another_and_each_begins_on_its_part(
    boxes: list[tuple[float, float, float, float]], high: float
) -> None:
    parts = []
    for index, (x, y, wide, tall) in enumerate(boxes):
        corners = ((x, y), (x - wide, y), (x - wide, y + tall), (x, y + tall))
        parts.append(SidePart(f"part {index}", "near", (corners,), ()))
    named = tuple(((part.box.x1, part.box.center[1]), part.name) for part in parts)
    view = SideView("", Box(0, -10, 100, 0), tuple(parts), (), (), named)
    lines = leaders(view, lambda p: p, 4.0, (-high, high), 100.0)
    for i, (start, end) in enumerate(lines):
        box = parts[i].box
        assert start[0] == pytest.approx(box.x1)
        assert box.y0 <= start[1] <= box.y1
        for other, last in lines[:i]:
            assert not _crosses(start, (100.0, end), other, (100.0, last))


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(-200, 90), st.floats(2, 60), st.floats(1, 80), st.floats(1, 60)), max_size=10))
def test_a_name_within_its_part_is_on_no_line_and_in_no_smaller_part(
    boxes: list[tuple[float, float, float, float]],
) -> None:
    parts = []
    for index, (x, y, wide, tall) in enumerate(boxes):
        corners = ((x, y), (x - wide, y), (x - wide, y + tall), (x, y + tall))
        parts.append(SidePart(f"part {index}", "near", (corners,), ()))
    named = tuple(((part.box.x1, part.box.center[1]), part.name) for part in parts)
    view = SideView("", Box(0, -10, 100, 0), tuple(parts), (), (), named)
    names = side_names(view, lambda p: p, 4.0, (-100.0, 100.0), 100.0, lambda words: 2.0 * len(words), 3.0)
    assert sorted([name for _, name in names.within] + [name for *_, name in names.beside]) == sorted(
        part.name for part in parts
    )
    rooms = [
        (name, Box(x - len(name), y - 1.5, x + len(name), y + 1.5)) for (x, y), name in names.within
    ]  # the words alone: as wide as measured, as high as told
    for index, (name, words) in enumerate(rooms):
        own = parts[int(name.split()[1])].box
        assert Box(min(own.x0, words.x0), min(own.y0, words.y0), max(own.x1, words.x1), max(own.y1, words.y1)) == own
        for part in parts:
            apart = not part.box.overlaps(words)
            round_it = (
                part.box.x0 <= words.x0
                and part.box.y0 <= words.y0
                and words.x1 <= part.box.x1
                and words.y1 <= part.box.y1
            )
            assert apart or round_it
            larger = part.box.width * part.box.height >= own.width * own.height
            assert part.name == name or apart or larger
        assert not any(words.overlaps(other) for _, other in rooms[:index])
        ends = [(words.x0, words.y0), (words.x1, words.y1), (words.x0, words.y1), (words.x1, words.y0)]
        for start, last, _ in names.beside:
            assert not _crosses(start, (100.0, last), ends[0], ends[1])
            assert not _crosses(start, (100.0, last), ends[2], ends[3])


def test_no_line_strikes_through_the_words_of_a_distance_where_there_is_another_place() -> None:
    rows = ((0.0, 100.0, "plate"), (100.0, 104.0, "past the edge"), (94.0, 99.0, "in the guard"))
    view = SideView("", Box(0, -10, 100, 0), (), (), rows, ())
    style = paper_style()
    marks, _ = side_dimensions(style, view, lambda p: p, -5.0, 4.0, 140.0)
    lines = [mark.points for mark in marks if isinstance(mark, ThinLine)]
    for figure in (mark for mark in marks if isinstance(mark, DimensionFigure)):
        (x, y), half = figure.middle, style.measure(figure.words) / 2
        for a, b in lines:
            upright = a[0] == b[0] and min(a[1], b[1]) < y < max(a[1], b[1])
            assert not (upright and x - half < a[0] < x + half), figure.words


def test_heights_and_distances_are_dimensioned_alike_on_paper_and_in_the_picture() -> None:
    view = SideView("", Box(0, -10, 100, 0), (), (SideMeasure(-10, 0, "10 mm plate"),), ((0.0, 100.0, "100 mm"),), ())
    for style, rise in ((paper_style(), 1.0), (picture_style(), -1.0)):
        marks, _ = side_dimensions(style, view, lambda p, r=rise: (p[0], r * p[1]), -5.0, 4.0)  # type: ignore[misc]
        figures = [(mark.words, mark.upright) for mark in marks if isinstance(mark, DimensionFigure)]
        assert figures == [("1", True), ("100 mm", False)]
        assert sum(isinstance(mark, Head) for mark in marks) == 4


def test_sheet_on_edge_is_drawn_by_its_four_corners() -> None:
    layout = platekit.lay_out(platekit.load(Path(platekit.__file__).parents[1] / "specs" / "winnowing-fan.yaml"))
    along, _ = side_views(layout)
    (lap,) = next(part.outlines for part in along.parts if part.name == "guard.lap 1")
    sides = [math.dist(p, q) for p, q in zip(lap, [*lap[1:], lap[0]], strict=True)]
    # a strip of 25 mm of sheet of 2 mm, whichever way it lies
    assert sorted(sides) == pytest.approx([2.0, 2.0, 25.0, 25.0])
    area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(lap, [*lap[1:], lap[0]], strict=True)) / 2
    assert area == pytest.approx(50.0)  # counter-clockwise


def test_a_length_that_only_looks_so_long_says_so() -> None:
    """Shafts 348.75 mm apart, 36.5 and 90 mm over the plate, lie as far apart along it as Pythagoras has it."""
    fan, mixer, sorter = (
        side_views(platekit.lay_out(platekit.load(SPECS / f"{name}.yaml")))
        for name in ("winnowing-fan", "dough-mixer", "bead-sorter")
    )
    level = math.sqrt(348.75**2 - (90 - 36.5) ** 2)
    assert f"{level:.2f} mm between the shafts of drive, in this view" in [words for *_, words in fan[0].along]
    assert any(words.endswith("mm plate, in this view") for *_, words in mixer[0].along)
    assert "230.26 mm between the shafts of drive" in [words for *_, words in mixer[0].along]
    assert "190 mm plate" in [words for *_, words in sorter[0].along]
