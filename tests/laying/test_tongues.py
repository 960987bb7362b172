"""Tabs and feet: joined by hollow arcs of the radius asked for, wherever they stand, on whatever outline."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

import platekit
from platekit.checks import openings
from platekit.errors import SpecError
from platekit.geometry import Arc, Disc, Loop, Shape, polygon_loop, rectangle
from platekit.laying.tongues import Tongue, joined
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks import plates

OUTLINE = "outline: {rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]}"
FILLET = 1 - math.pi / 4
"""Area between two lines at right angles and the arc of radius 1 that touches both."""


def laid(words: str, outline: str = OUTLINE, *more: tuple[str, str]) -> Layout:
    text = plates.changed((OUTLINE, f"{outline}\n  {words}"), *more)
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def polygon(shape: Shape, parts: int = 90) -> Polygon:
    return Polygon([edge.at(k / parts) for edge in shape.loop().edges for k in range(parts)])


def smooth(loop: Loop) -> bool:
    """Whether no hollow corner is sharp, by the directions of the edges that meet."""
    for before, edge in itertools.pairwise([*loop.edges, loop.edges[0]]):
        (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
        if ux * vy - uy * vx < -1e-6:
            return False
    return True


def test_a_tab_adds_its_strip_its_half_circle_and_two_hollow_corners() -> None:
    plain, layout = laid("up: 90 deg"), laid("tabs: {earth: {at: [60, 160], width: 40, hole: 13, radius: 12}}")
    more = 40 * 30 + math.pi * 20**2 / 2 + 2 * FILLET * 12**2
    assert layout.outline.area - plain.outline.area == pytest.approx(more, abs=1e-6)
    hole = layout.opening("earth.hole")
    assert (hole.center, hole.size) == ((60.0, 160.0), 13.0)
    assert layout.outline.box.y1 == pytest.approx(180)


def test_feet_add_two_strips_and_four_hollow_corners_and_stand_level() -> None:
    plain = laid("up: 90 deg")
    layout = laid("feet: {level: -170, width: 60, apart: 200, middle: 60, hole: 11, radius: 15}")
    more = 2 * 60 * 40 + 4 * FILLET * 15**2
    assert layout.outline.area - plain.outline.area == pytest.approx(more, abs=1e-6)
    lowest = [edge for edge in layout.outline.loop().edges if max(edge.a[1], edge.b[1]) < -170 + 1e-9]
    assert [edge.length for edge in lowest] == pytest.approx([60, 60])
    assert [layout.opening(f"feet.{k}").center for k in (1, 2)] == [(-40.0, -148.0), (160.0, -148.0)]


def test_one_standing_edge_has_holes_near_its_ends() -> None:
    layout = laid("feet: {level: -150, width: 300, middle: 60, hole: 9, hole_height: 12}")
    assert [round(layout.opening(f"feet.{k}").center[0], 6) for k in (1, 2)] == [60 - 132, 60 + 132]
    assert layout.opening("feet.1").center[1] == pytest.approx(-138)


@pytest.mark.parametrize("up", [0, 90, 180, 217.5])
def test_feet_are_at_the_lower_end_whichever_way_is_up(up: float) -> None:
    layout = laid(f"up: {up} deg\n  feet: {{level: -300, width: 50, apart: 120, middle: 20, hole: 9}}")
    u = math.radians(up)
    heights = [math.cos(u) * x + math.sin(u) * y for x, y, _ in layout.outline.loop().vertices]
    assert min(heights) == pytest.approx(-300)
    along = [math.sin(u) * x - math.cos(u) * y for x, y in (layout.opening(f"feet.{k}").center for k in (1, 2))]
    assert along == pytest.approx([-40, 80])


WITH_HOLLOWS = polygon_loop([(-100, -60), (100, -60), (100, 60), (30, 60), (0, 20), (-30, 60), (-100, 60)], 8)
OUTLINES: dict[str, Shape] = {
    "circle": Disc((0.0, 0.0), 90.0),
    "rectangle": rectangle(200, 120, 10),
    "sharp rectangle": rectangle(200, 120),
    "hollows": WITH_HOLLOWS,
    "triangle": polygon_loop([(-120, -60), (120, -60), (0, 130)], 15),
}


@settings(max_examples=60)
@example(name="hollows", way=90.0, off=70.0, lean=0.0, width=90.0, radius=9.0)
@given(
    name=st.sampled_from(sorted(OUTLINES)),
    way=st.floats(0, 360),
    off=st.floats(60, 190),
    lean=st.floats(-50, 50),
    width=st.floats(8, 90),
    radius=st.floats(2, 30),
)
def test_a_tongue_is_joined_as_by_growing_and_taking_in(
    name: str, way: float, off: float, lean: float, width: float, radius: float
) -> None:
    outline, a, b = OUTLINES[name].loop(), math.radians(way), math.radians(way + lean)
    tip = (off * math.cos(a), off * math.sin(a))
    tongue = Tongue(tip, (math.cos(b), math.sin(b)), width, round_end=True)
    try:
        made = joined(outline, tongue, radius)
    except platekit.errors.GeometryError:
        assume(False)
        return
    assert made.area > outline.area
    if outline.is_convex:
        assert smooth(made)
        assert all(found >= radius - 1e-3 for _, found in made.inside_corners())
        # an outline without hollows of its own: grown and taken in again by another library, chord by chord
        plain = unary_union([polygon(outline), polygon(tongue.rooted(outline))])
        closed = plain.buffer(radius, quad_segs=90).buffer(-radius, quad_segs=90)
        assert made.area == pytest.approx(closed.area, rel=1e-3)
    # nothing is taken away, and all that is new is near the tongue
    new = polygon(made).difference(polygon(outline).buffer(0.05))
    strip = polygon(tongue.rooted(outline))
    assert new.is_empty or strip.buffer(24 * radius + 1).contains(new)
    assert polygon(made).buffer(0.05).contains(polygon(outline))
    assert polygon(made).buffer(0.05).contains(strip)


@pytest.mark.parametrize(
    "outline",
    [OUTLINE, "outline: {wrap: {}}", "outline: {waist: {}}", "outline: {circle: {diameter: 470}, at: [60, 0]}"],
)
def test_any_outline_takes_tabs_and_feet(outline: str) -> None:
    words = (
        "tabs: {earth: {at: [60, 290], width: 40, hole: 13}}\n  feet: {level: -290, width: 40, apart: 110, middle: 60}"
    )
    layout = laid(words, outline)
    steel = polygon(layout.outline)
    assert steel.contains(ShapelyPoint(60, 290).buffer(19.99))
    assert steel.contains(box(-14.99, -289.99, 24.99, -140))
    assert layout.outline.box.y0 == pytest.approx(-290)
    assert all(isinstance(e, Arc) or e.length > 1e-3 for e in layout.outline.loop().edges)


@pytest.mark.parametrize(
    ("words", "field", "would"),
    [
        ("tabs: {earth: {at: [60, 100], width: 40}}", "plate.tabs.earth.at", "to [60, 170] mm"),
        ("tabs: {earth: {at: [-170, 150], width: 40, towards: 90 deg}}", "plate.tabs.earth.towards", "narrower"),
        ("tabs: {earth: {at: [60, 300], width: 40, towards: 270 deg}}", "plate.tabs.earth.towards", "narrower"),
        ("feet: {level: -100, width: 60, apart: 200}", "plate.feet.level", "as -150 mm"),
        ("feet: {level: -180, width: 60, apart: 700}", "plate.feet.apart", "under the plate"),
    ],
)
def test_what_cannot_be_joined_is_said_in_one_line(words: str, field: str, would: str) -> None:
    with pytest.raises(SpecError) as caught:
        laid(words)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert would in problem.wanted
    assert "\n" not in str(problem)


@pytest.mark.parametrize(
    ("words", "hole"),
    [
        ("tabs: {earth: {at: [60, 160], width: 24, hole: 13}}", "earth.hole"),
        ("feet: {level: -170, width: 22, apart: 200, middle: 60, hole: 11}", "feet.1"),
        ("feet: {level: -170, width: 60, apart: 200, middle: 60, hole: 11, hole_height: 10}", "feet.1"),
    ],
)
def test_a_hole_too_near_to_its_edge_is_told_and_the_advice_mends_it(words: str, hole: str) -> None:
    text = plates.changed((OUTLINE, f"{OUTLINE}\n  {words}"))
    found = [f for f in openings.edge(platekit.lay_out(platekit.loads(text, "p"))) if f.features[0] == hole]
    assert len(found) == 1
    assert found[0].remedies
    for remedy in found[0].remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not list(openings.edge(platekit.lay_out(platekit.loads(text, "p"))))
