"""A bent edge: its blank by the textbook, its solid by a kernel, and what a brake cannot make told."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

import platekit
from platekit.checks import Finding, flange
from platekit.cutting.scribe import scribing_of
from platekit.errors import SpecError
from platekit.export.exact import slices
from platekit.export.solid_step import exact_volume, step_bytes
from platekit.geometry import Shape
from platekit.placed import Layout, PlacedFlange
from platekit.spec import with_value
from tests.checks import plates

OUTLINE = "outline: {rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]}"
SHARP = "outline: {rectangle: {width: 420, height: 260}, at: [60, 0]}"


def laid(words: str, outline: str = OUTLINE, *more: tuple[str, str]) -> Layout:
    text = plates.changed((OUTLINE, f"{outline}\n  flange: {{{words}}}"), *more)
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def bent(layout: Layout) -> PlacedFlange:
    assert layout.flange is not None
    return layout.flange


def found(layout: Layout, level: str = "stop") -> list[Finding]:
    return [one for one in flange.flange(layout) if one.level == level]


def polygon(shape: Shape) -> Polygon:
    return Polygon([edge.at(k / 90) for edge in shape.loop().edges for k in range(90)])


def test_the_blank_goes_on_by_what_the_bend_takes_up_and_the_leg() -> None:
    layout = laid("edge: bottom, height: 46, towards: near, radius: 8", SHARP)
    # DIN 6935: r/s = 8/6, k = 0.65 + 0.5 log10(4/3) = 0.7125; a quarter turn takes up pi/2 (r + k s/2)
    taken = math.pi / 2 * (8 + (0.65 + 0.5 * math.log10(8 / 6)) * 6 / 2)
    assert layout.outline.box.y0 == pytest.approx(-130 - taken - (46 - 8), abs=1e-9)
    # at a sharp corner of the plate nothing is in its way: as long as the edge, without notches
    assert bent(layout).length == pytest.approx(420)
    assert layout.outline.area - layout.plane.area == pytest.approx(420 * (taken + 38))
    assert layout.plane.box.y0 == pytest.approx(-130)
    line = bent(layout).bend_line
    assert (line.a[1], line.b[1]) == pytest.approx((-130 - taken / 2, -130 - taken / 2))


def test_beside_round_corners_it_is_notched_a_thickness_deep() -> None:
    layout = laid("edge: top, height: 46, towards: far")
    edge = 420 - 2 * 10
    notch = (edge - bent(layout).length) / 2
    assert notch >= 6
    deep = max(6.0, notch / 2)
    lost = 2 * (notch * (deep - notch / 2) + math.pi * notch**2 / 8)
    assert rectangle_area() - layout.plane.area == pytest.approx(lost, abs=1e-6)
    corners = [radius for _, radius in layout.plane.loop().inside_corners()]
    assert corners == pytest.approx([notch / 2, notch / 2])


def rectangle_area() -> float:
    return 420 * 260 - (4 - math.pi) * 10**2


def test_at_an_acute_corner_nothing_is_notched() -> None:
    outline = "outline: {polygon: {points: [[-150, -130], [330, -130], [60, 200], [-150, 130]]}}"
    layout = laid("edge: bottom, height: 46, towards: near", outline)
    assert bent(layout).length == pytest.approx(480)
    assert step_bytes(layout)


@settings(max_examples=40)
@given(
    edge=st.sampled_from(["bottom", "top", "left", "right"]),
    towards=st.sampled_from(["near", "far"]),
    height=st.floats(12, 90),
    radius=st.floats(1, 11),
    corner=st.sampled_from([0, 10, 60]),
    turn=st.integers(-40, 40),
)
def test_blank_and_plane_hold_together(
    edge: str, towards: str, height: float, radius: float, corner: int, turn: int
) -> None:
    outline = f"outline: {{rectangle: {{width: 420, height: 260, corner: {corner}}}, at: [60, 0], turn: {turn} deg}}"
    layout = laid(f"edge: {edge}, height: {height}, towards: {towards}, radius: {radius}", outline)
    one = bent(layout)
    blank, plane = polygon(layout.outline), polygon(layout.plane)
    assert blank.is_valid
    assert blank.buffer(0.05).contains(plane)
    # by another library: what the blank has more is a rectangle beyond the edge
    assert blank.difference(plane).area == pytest.approx(one.length * one.blank, rel=1e-3)
    assert blank.area == pytest.approx(layout.outline.area, rel=1e-3)
    (ox, oy), (sx, sy) = one.out, one.start
    assert max((x - sx) * ox + (y - sy) * oy for x, y, _ in layout.outline.loop().vertices) == pytest.approx(one.blank)


@pytest.mark.parametrize("outline", [OUTLINE, SHARP, "outline: {wrap: {margin: 20}}"])
@pytest.mark.parametrize(("edge", "towards"), [("bottom", "near"), ("left", "far"), ("top", "far"), ("right", "near")])
def test_the_solid_is_bent_and_a_kernel_finds_its_volume(outline: str, edge: str, towards: str, tmp_path: Path) -> None:
    cadquery = pytest.importorskip("cadquery")
    layout = laid(f"edge: {edge}, height: 40, towards: {towards}", outline)
    file = tmp_path / "bent.step"
    file.write_bytes(step_bytes(layout))
    solid = cadquery.importers.importStep(str(file)).val()
    assert solid.isValid()
    assert solid.ShapeType() == "Solid"
    one = bent(layout)
    # Pappus: a section's area times the way of its middle; the ring's middle goes a quarter round
    ring = 6 * math.pi / 2 * (one.radius + 3)
    wanted = exact_volume(slices(layout)) + one.length * (ring + 6 * (40 - one.radius))
    assert solid.Volume() == pytest.approx(wanted, rel=1e-9)
    box = solid.BoundingBox(1e-6)
    assert (box.zmin, box.zmax) == pytest.approx((-6, 40) if towards == "near" else (-46, 0), abs=1e-4)
    (body,) = [body for body in layout.bodies if body.name == "plate.flange"]
    assert body.z == pytest.approx((-6, 40) if towards == "near" else (-46, 0))


def test_bend_marks_lie_on_the_bend_line() -> None:
    layout = laid("edge: left, height: 40, towards: near")
    line = bent(layout).bend_line
    marks = [word for word in scribing_of(layout).words if word.what == "fold"]
    assert len(marks) == 2
    for mark in marks:
        for edge in mark.edges:
            assert {edge.a[0], edge.b[0]} == {line.a[0]}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("edge: bottom, height: 20, towards: near", "slips"),
        ("edge: bottom, height: 60, towards: near, radius: 3", "cracks"),
    ],
)
def test_what_a_brake_cannot_make_is_told_and_the_advice_mends_it(words: str, says: str) -> None:
    layout = laid(words)
    (finding,) = found(layout)
    assert says in finding.message
    text = layout.spec.source.text
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(platekit.lay_out(platekit.loads(text, "plate.yaml")))


def test_a_hole_beside_the_bend_is_told_where_it_is_nearer_than_two_thicknesses() -> None:
    window = "window: {circle: {diameter: 30}, at: [90, -70]}"
    words = "edge: bottom, height: 40, towards: near"
    assert not found(laid(words, OUTLINE, (window, window.replace("-70", "-102.9"))))
    (finding,) = found(laid(words, OUTLINE, (window, window.replace("-70", "-103.1"))))
    assert finding.features[0] == "window"
    assert finding.found == pytest.approx(11.9)
    (beyond,) = found(laid(words, OUTLINE, (window, window.replace("-70", "-145"))))
    assert "beyond it" in beyond.message


@pytest.mark.parametrize("material", ["cast iron", "acrylic"])
def test_what_breaks_is_not_bent(material: str) -> None:
    from platekit import tables

    name = next(name for name in tables.materials() if tables.material(name).family == material)
    layout = laid("edge: bottom, height: 60, towards: near", OUTLINE, ("mild steel", name))
    (finding,) = found(layout)
    assert "not bent cold" in finding.message


@pytest.mark.parametrize(
    ("words", "outline", "field"),
    [
        ("edge: bottom, height: 40, towards: near", "outline: {circle: {diameter: 470}, at: [60, 0]}", "edge"),
        ("edge: bottom, height: 6, towards: near", OUTLINE, "height"),
        # bent up in the hollow of a U that is not so deep as the flange is long, under a lip
        (
            "edge: top, height: 120, towards: near",
            "outline: {polygon: {points: [[-150, -130], [270, -130], [270, 130], [200, 130], [200, 120], [240, 120], "
            "[240, 60], [-120, 60], [-120, 130], [-150, 130]]}}",
            "edge",
        ),
        # a strip less wide than its notches are deep
        (
            "edge: top, height: 60, towards: near",
            "outline: {rectangle: {width: 200, height: 5, corner: 2}, at: [60, 0]}",
            "edge",
        ),
        ("edge: bottom, height: 40, towards: near", f"{OUTLINE}\n  feet: {{level: -170, width: 60}}", "edge"),
    ],
)
def test_what_cannot_be_laid_out_is_refused_in_one_line(words: str, outline: str, field: str) -> None:
    with pytest.raises(SpecError) as caught:
        laid(words, outline)
    problem = caught.value.problems[-1]  # figures that look like inches come first
    assert problem.field == f"plate.flange.{field}"
    assert "\n" not in str(problem)


def test_a_part_where_the_flange_stands_clashes_with_it() -> None:
    box = (
        "bodies:\n",
        "bodies:\n  box: {carried_by: machine, shape: {rectangle: {width: 80, height: 40}, at: [0, -140]}, "
        "span: [-40, -10]}\n",
    )
    layout = laid("edge: bottom, height: 40, towards: near", OUTLINE, box)
    clashes = [f for f in platekit.check(layout).findings if f.rule == "clash" and "plate.flange" in f.features]
    assert [f.features for f in clashes] == [("box", "plate.flange")]
    away = laid("edge: bottom, height: 40, towards: far", OUTLINE, box)
    assert not [f for f in platekit.check(away).findings if f.rule == "clash" and "plate.flange" in f.features]
