"""Labels never overlap, never get lost, and keep near their points while there is room."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.drawing.labels import Wish, place
from platekit.geometry import Box

FIELD = Box(0, 0, 600, 400)


def wishes() -> st.SearchStrategy[list[Wish]]:
    size = st.floats(8, 120)
    one = st.builds(
        Wish,
        key=st.just("a"),
        x=st.floats(0, 600),
        y=st.floats(0, 400),
        room=st.floats(0, 30),
        width=size,
        height=st.floats(8, 40),
    )
    return st.lists(one, max_size=40)


@settings(max_examples=60)
@given(wishes())
def test_no_label_overlaps_another_and_none_is_lost(wanted: list[Wish]) -> None:
    spots = place(wanted, FIELD)
    assert len(spots) == len(wanted)
    frames = [spot.frame for spot in spots]
    for index, one in enumerate(frames):
        assert not any(one.overlaps(other) for other in frames[:index])
        assert one.x0 >= FIELD.x0
        assert one.x1 <= FIELD.x1
        assert one.y0 >= FIELD.y0


@settings(max_examples=60)
@given(wishes())
def test_a_label_has_the_size_that_it_wished(wanted: list[Wish]) -> None:
    for wish, spot in zip(wanted, place(wanted, FIELD), strict=True):
        assert spot.frame.width == pytest.approx(wish.width)
        assert spot.frame.height == pytest.approx(wish.height)


def test_a_lone_label_stands_close_and_needs_no_leader() -> None:
    (spot,) = place([Wish("a", 300, 200, 10, 60, 20)], FIELD)
    nearest_x = min(max(300.0, spot.frame.x0), spot.frame.x1)
    nearest_y = min(max(200.0, spot.frame.y0), spot.frame.y1)
    assert 10 <= math.hypot(nearest_x - 300, nearest_y - 200) <= 20
    assert spot.leader is None


def test_a_label_keeps_off_what_is_taken() -> None:
    taken = [Box(0, 0, 600, 190), Box(0, 210, 600, 400)]
    (spot,) = place([Wish("a", 300, 100, 5, 60, 18)], FIELD, taken)
    assert not any(spot.frame.overlaps(frame.grown(-1e-6)) for frame in taken)  # they may touch


def test_a_label_that_stands_off_has_a_leader_to_its_own_point() -> None:
    taken = [Box(240, 150, 360, 250)]
    (spot,) = place([Wish("a", 300, 200, 4, 60, 18)], FIELD, taken)
    assert spot.leader is not None
    _, _, x, y = spot.leader
    assert math.hypot(x - 300, y - 200) == pytest.approx(4)


def test_a_label_leaves_drawn_lines_visible_where_it_can() -> None:
    right_side = [(x, y) for x in range(305, 420, 3) for y in range(150, 250, 3)]
    (free,) = place([Wish("a", 300, 200, 4, 60, 18)], FIELD)
    (spot,) = place([Wish("a", 300, 200, 4, 60, 18)], FIELD, drawn=right_side)
    assert free.frame.x0 > 300
    assert spot.frame.x1 < 305


def test_more_labels_than_fit_go_on_below() -> None:
    spots = place([Wish(str(k), 50, 50, 2, 90, 30) for k in range(40)], Box(0, 0, 100, 100))
    assert max(spot.frame.y1 for spot in spots) > 100
    assert len({(spot.frame.x0, spot.frame.y0) for spot in spots}) == 40


def test_no_wishes_give_no_spots() -> None:
    assert place([], FIELD) == ()
