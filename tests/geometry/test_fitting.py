"""Chords fitted by arcs and lines: measured against the drawn chords by another library, both ways."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import Arc, Loop, loop_of
from platekit.geometry.fitting import fit_edges

TOLERANCE = 0.005
Vertices = list[tuple[float, float, float]]


def ring(loop: Loop, each: float = 0.2) -> shapely.LinearRing:
    """The outline in steps so small that what lies between them is known to a hundred-thousandth of a mm."""
    points = []
    for edge in loop.edges:
        radius = edge.radius if isinstance(edge, Arc) else math.inf
        step = min(each, math.sqrt(8e-5 * radius))
        count = max(math.ceil(edge.length / step), 1)
        points += [edge.at(k / count) for k in range(count)]
    return shapely.LinearRing(points)


def apart(a: Loop, b: Loop) -> float:
    """The farthest that a point of either outline lies from the other, mm."""
    first, second = ring(a), ring(b)
    shapely.prepare([first, second])
    ways = ((first, second), (second, first))
    return max(float(shapely.distance(shapely.points(one.coords), other).max()) for one, other in ways)


def round_corners(corner: float, digits: int, chords: int) -> Vertices:
    vertices = []
    for x, y, start in ((30, 20, 0), (-30, 20, 90), (-30, -20, 180), (30, -20, 270)):
        for k in range(chords + 1):
            angle = math.radians(start + 90 * k / chords)
            vertices.append(
                (round(x + corner * math.cos(angle), digits), round(y + corner * math.sin(angle), digits), 0.0)
            )
    return vertices


@st.composite
def outlines(draw: st.DrawFn) -> Vertices:
    """Smooth shapes round a middle, in chords, some with true corners, kept to a few digits."""
    waves = draw(st.lists(st.tuples(st.integers(2, 7), st.floats(0, 2.5), st.floats(0, 6)), max_size=4))
    radius, count = draw(st.floats(12, 60)), draw(st.integers(20, 900))
    digits, corners = draw(st.integers(3, 12)), draw(st.integers(0, 5))
    vertices = []
    for k in range(count):
        angle = math.tau * k / count
        r = radius + sum(size * math.sin(often * angle + start) for often, size, start in waves)
        if corners:
            r += 3 * abs(math.sin(corners * angle / 2))
        vertices.append((round(r * math.cos(angle), digits), round(r * math.sin(angle), digits), 0.0))
    return vertices


@given(outlines())
@settings(max_examples=25, deadline=None)
def test_the_outline_stays_within_what_is_said(vertices: Vertices) -> None:
    drawn = loop_of(vertices)
    fit = fit_edges(drawn.vertices, TOLERANCE)
    loop = loop_of(fit.vertices)
    assert fit.away <= TOLERANCE
    assert apart(drawn, loop) <= TOLERANCE + 2e-5
    assert fit.replaced or fit.vertices == drawn.vertices
    assert fit_edges(drawn.vertices, TOLERANCE) == fit


@given(st.floats(0.5, 400), st.floats(-500, 500), st.floats(-500, 500), st.integers(0, 5), st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_circle_of_chords_is_a_circle_again(radius: float, x: float, y: float, more: int, backwards: bool) -> None:
    # so many that the chord's rise r (1 - cos(pi / n)), which is at most r pi^2 / (2 n^2), is within the tolerance
    count = math.ceil(math.pi * math.sqrt(radius / (2 * TOLERANCE))) + 12 + more
    vertices = [
        (x + radius * math.cos(math.tau * k / count), y + radius * math.sin(math.tau * k / count), 0.0)
        for k in range(count)
    ]
    loop = loop_of(fit_edges(vertices[::-1] if backwards else vertices, TOLERANCE).vertices)
    assert len(loop.edges) == 2
    for edge in loop.edges:
        assert isinstance(edge, Arc)
        assert edge.radius == pytest.approx(radius, abs=1e-8)
        assert edge.center == pytest.approx((x, y), abs=1e-8)


@pytest.mark.parametrize("digits", [3, 4, 6, 12])
def test_corners_of_chords_become_arcs_and_sides_stay(digits: int) -> None:
    loop = loop_of(fit_edges(round_corners(8.0, digits, 40), TOLERANCE).vertices)
    assert not loop.inside_corners()
    assert all(radius == pytest.approx(8.0, abs=0.05) for _, radius in loop.outside_corners())
    assert loop.area == pytest.approx(76 * 56 - (4 - math.pi) * 64, abs=0.5)
    assert len(loop.edges) <= 12


def test_a_smooth_outline_has_no_corners() -> None:
    for count in (300, 900, 5000):
        vertices = [
            (40 * math.cos(math.tau * k / count), 20 * math.sin(math.tau * k / count), 0.0) for k in range(count)
        ]
        loop = loop_of(fit_edges(vertices, TOLERANCE).vertices)
        assert not loop.inside_corners()
        assert not [corner for corner in loop.outside_corners() if corner[1] == 0.0]
        assert len(loop.edges) < 80


def test_true_corners_and_drawn_arcs_stay_to_the_last_digit() -> None:
    hexagon = [(20 * math.cos(k * math.pi / 3), 20 * math.sin(k * math.pi / 3), 0.0) for k in range(6)]
    assert fit_edges(hexagon, TOLERANCE).vertices == tuple(hexagon)
    stadium = [(0.0, 0.0, 0.0), (40.0, 0.0, 1.0), (40.0, 20.0, 0.0), (0.0, 20.0, 1.0)]
    assert fit_edges(stadium, TOLERANCE).vertices == tuple(stadium)
    rng = random.Random(4)
    jagged = [
        (
            (20 + rng.uniform(-3, 3)) * math.cos(math.tau * k / 60),
            (20 + rng.uniform(-3, 3)) * math.sin(math.tau * k / 60),
            0.0,
        )
        for k in range(60)
    ]
    drawn = loop_of(jagged)
    assert apart(drawn, loop_of(fit_edges(drawn.vertices, TOLERANCE).vertices)) <= TOLERANCE
