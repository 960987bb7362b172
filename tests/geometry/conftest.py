"""A zoo of awkward shapes, and ways to draw random ones; any test that takes `shape` or `pair` runs over the zoo."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import pytest
from hypothesis import strategies as st

from platekit.errors import GeometryError
from platekit.geometry import (
    CurvedSlot,
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    Straight,
    Swing,
    Travel,
    loop_of,
    polygon_loop,
    rectangle,
)

BULGE_90 = math.tan(math.radians(90) / 4)

ZOO: dict[str, Shape] = {
    "disc": Disc((3, -2), 7),
    "tiny disc far away": Disc((1000, 1000), 0.01),
    "slot": Slot((-4, 1), (9, 3), 2.5),
    "slot shorter than wide": Slot((0, 0), (0.3, 0), 8),
    "curved slot": CurvedSlot((0, 0), 30, 0.4, 1.1, 3),
    "curved slot across the angle 0": CurvedSlot((2, 1), 20, -0.5, 1.0, 3),
    "curved slot past a half turn": CurvedSlot((0, 0), 20, 1.0, 4.5, 3),
    "curved slot too wide for its bend": CurvedSlot((0, 0), 4, 0.2, 2.0, 6),
    "curved slot as wide as its bend": CurvedSlot((0, 0), 5, 0.2, 2.0, 5),
    "curved slot that shuts in an island": CurvedSlot((0, 0), 20, 0.3, 6.1, 4),
    "curved slot whose ends touch": CurvedSlot((0, 0), 10, 0.0, math.radians(300), 5),
    "rectangle": rectangle(40, 20),
    "rounded rectangle, turned": rectangle(40, 20, 4, center=(5, 5), turn=0.3),
    "obround rectangle": rectangle(40, 20, 10),
    "sliver": rectangle(60, 0.02, turn=0.7),
    "L with sharp inside corner": polygon_loop([(0, 0), (30, 0), (30, 8), (9, 8), (9, 25), (0, 25)]),
    "L with round inside corner": polygon_loop(
        [(0, 0), (30, 0), (30, 8), (9, 8), (9, 25), (0, 25)], [0, 2, 2, 3, 2, 2]
    ),
    "lens": loop_of([(0, 0, BULGE_90), (20, 0, BULGE_90)]),
    "crescent": loop_of([(0, 10, 1.0), (0, -10, -0.5)]),
    "keyhole": loop_of([(-2, 0, 0), (2, 0, 0), (2, 12, 2.5), (-2, 12, 0)]),
    "star": loop_of(
        (math.cos(k * math.pi / 5) * r, math.sin(k * math.pi / 5) * r, 0.0) for k, r in enumerate([20, 8] * 5)
    ),
    "square with hollow sides": loop_of([(-9, -9, -0.3), (9, -9, -0.3), (9, 9, -0.3), (-9, 9, -0.3)]),
    "many corners": loop_of(
        (30 * math.cos(k * math.pi / 40), 20 * math.sin(k * math.pi / 40), 0.05 if k % 3 else 0.0) for k in range(80)
    ),
}

PAIRS = [pytest.param(ZOO[a], ZOO[b], id=f"{a} / {b}") for a, b in itertools.combinations_with_replacement(ZOO, 2)]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "shape" in metafunc.fixturenames:
        metafunc.parametrize("shape", ZOO.values(), ids=ZOO.keys())
    if {"one", "other"} <= set(metafunc.fixturenames):
        metafunc.parametrize(("one", "other"), PAIRS)


def _numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Sizes of a plate: any number, and often a round one, which is where shapes touch and line up."""
    return st.one_of(st.floats(low, high), st.integers(math.ceil(low), math.floor(high)).map(float))


POINTS = st.tuples(_numbers(-60, 60), _numbers(-60, 60))
DISCS = st.builds(Disc, POINTS, _numbers(1, 20))
SLOTS = st.builds(Slot, POINTS, POINTS, _numbers(1, 10)).filter(lambda s: s.length > 1e-3)
CURVED_SLOTS = st.builds(CurvedSlot, POINTS, _numbers(2, 40), st.floats(-7, 7), st.floats(0.05, 6.2), _numbers(1, 9))
POSES = st.builds(Pose, st.floats(-90, 90), st.floats(-90, 90), st.floats(-7, 7), st.booleans())


@st.composite
def loops(draw: st.DrawFn) -> Loop:
    """Star-shaped outlines with straight, bulging and hollow edges, and rounded polygons."""
    count = draw(st.integers(3, 8))
    radii = draw(st.lists(_numbers(6, 40), min_size=count, max_size=count))
    x, y = draw(POINTS)
    spots = [
        (x + r * math.cos(k * math.tau / count), y + r * math.sin(k * math.tau / count)) for k, r in enumerate(radii)
    ]
    try:
        if draw(st.booleans()):
            return polygon_loop(spots, draw(st.floats(0.1, 3.0)))
        bulges = st.one_of(st.just(0.0), st.floats(-0.7, -0.01), st.floats(0.01, 1.0), st.just(1.0))
        return loop_of((*p, draw(bulges)) for p in spots)
    except GeometryError:
        return polygon_loop(spots)


SHAPES = st.one_of(DISCS, SLOTS, CURVED_SLOTS, loops())

TRAVELS = st.one_of(
    st.builds(
        lambda angle, install, tension: Straight((math.cos(angle), math.sin(angle)), install, tension),
        st.one_of(st.floats(0, 6.3), st.integers(0, 7).map(lambda k: k * math.pi / 4)),
        st.floats(0, 15),
        st.floats(0.5, 20),
    ),
    st.builds(Swing, POINTS, st.floats(0, 0.7), st.floats(0.02, 1.2), st.sampled_from([1, -1])),
)


@pytest.fixture(scope="package")
def any_shape() -> st.SearchStrategy[Shape]:
    return SHAPES


@pytest.fixture(scope="package")
def any_loop() -> st.SearchStrategy[Loop]:
    return loops()


@pytest.fixture(scope="package")
def any_disc() -> st.SearchStrategy[Disc]:
    return DISCS


@pytest.fixture(scope="package")
def any_point() -> st.SearchStrategy[tuple[float, float]]:
    return POINTS


@pytest.fixture(scope="package")
def any_pose() -> st.SearchStrategy[Pose]:
    return POSES


@pytest.fixture(scope="package")
def any_travel() -> st.SearchStrategy[Travel]:
    return TRAVELS


@pytest.fixture(scope="package")
def zoo() -> dict[str, Shape]:
    return ZOO


@pytest.fixture(scope="package")
def edge_points() -> Callable[[Shape, int], list[tuple[float, float]]]:
    """Points spread over the whole outline of a shape, `count` on each edge, vertices included."""

    def points(shape: Shape, count: int) -> list[tuple[float, float]]:
        return [edge.at(k / count) for edge in shape.loop().edges for k in range(count)]

    return points
