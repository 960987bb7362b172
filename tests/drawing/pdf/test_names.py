"""Names on paper: none over another, none over what must stay clear, none outside the window."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.pdf.names import OFF_AXIS, Name, NameWish, placed_names
from platekit.geometry import Box

WINDOW = Box(15, 50, 195, 282)


def want(text: str, x: float, y: float, room: float = 5.0) -> NameWish:
    return NameWish(((text, "bold"), ("ø10.5 mm, cut", "regular")), (x, y), room, room)


def overlap(a: Box, b: Box) -> bool:
    return a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1


spots = st.tuples(st.floats(15, 195), st.floats(50, 282))


@given(st.lists(spots, max_size=40))
def test_no_name_covers_another_or_what_is_to_stay_clear(points: list[tuple[float, float]]) -> None:
    clear = [Box(x - 4, y - 4, x + 4, y + 4) for x, y in points]
    names = placed_names([want(f"motor.{i}", x, y) for i, (x, y) in enumerate(points)], WINDOW, clear, ())
    for index, name in enumerate(names):
        assert WINDOW.x0 <= name.box.x0
        assert name.box.x1 <= WINDOW.x1
        assert WINDOW.y0 <= name.box.y0
        assert name.box.y1 <= WINDOW.y1
        assert not any(overlap(name.box, box) for box in clear)
        assert not any(overlap(name.box, other.box) for other in names[:index])


def test_a_lone_hole_has_its_name_close_by_without_a_leader() -> None:
    (name,) = placed_names([want("motor.1", 100, 150)], WINDOW, [Box(95, 145, 105, 155)], ())
    assert name.leader is None
    assert _gap(name, (100, 150)) < 8.0


def test_forty_crowded_holes_all_get_their_names() -> None:
    points = [(60.0 + 12 * i, 120.0 + 12 * j) for i in range(8) for j in range(5)]
    clear = [Box(x - 4, y - 4, x + 4, y + 4) for x, y in points]
    names = placed_names([want(f"grid.{i}", *point, 4.0) for i, point in enumerate(points)], WINDOW, clear, ())
    assert len(names) == 40


def test_a_leader_ends_on_the_hole_and_never_lies_along_an_arm() -> None:
    clear = [Box(60, 145, 140, 155), Box(95, 110, 105, 190)]
    (name,) = placed_names([want("motor.1", 100, 150)], WINDOW, clear, ())
    assert name.leader is not None
    (x0, y0), (x1, y1) = name.leader
    assert math.hypot(x1 - 100, y1 - 150) == pytest.approx(5.0)
    off = math.atan2(y1 - 150, x1 - 100) % (math.pi / 2)
    assert min(off, math.pi / 2 - off) > OFF_AXIS / 2
    assert (x0, y0) != (x1, y1)


def test_a_name_keeps_off_drawn_lines_where_it_can() -> None:
    line = [(107.0, 100 + 0.5 * step) for step in range(200)]
    (name,) = placed_names([want("motor.1", 100, 150)], WINDOW, [Box(95, 145, 105, 155)], line)
    assert not (name.box.x0 < 107.0 < name.box.x1)


def _gap(name: Name, point: tuple[float, float]) -> float:
    x = min(max(point[0], name.box.x0), name.box.x1)
    y = min(max(point[1], name.box.y0), name.box.y1)
    return math.hypot(x - point[0], y - point[1])
