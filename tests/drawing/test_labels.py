"""Labels never overlap, never get lost, and keep near their points while there is room."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.drawing.labels import PAPER, Wish, place
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


LINE = ((100.0, 100.0), (500.0, 300.0))


def on_the_line(key: str) -> Wish:
    return Wish(key, 300, 200, 4, 60, 18, LINE)


def test_a_value_stands_in_the_middle_of_its_line_and_the_next_one_beside_it() -> None:
    first, second, third = place([on_the_line(key) for key in "abc"], FIELD)
    assert first.frame.center == pytest.approx((300, 200))
    for spot in (first, second, third):
        x, y = spot.frame.center
        assert y - 100 == pytest.approx((x - 100) / 2)
        assert spot.leader is None
    assert second.frame.center[0] > 300 > third.frame.center[0]


def test_a_value_without_room_on_its_line_stands_beside_it_with_a_leader_to_its_middle() -> None:
    taken = [Box(90, 90, 510, 310)]
    (spot,) = place([on_the_line("a")], FIELD, taken)
    assert not spot.frame.overlaps(taken[0].grown(-1e-6))
    assert spot.leader is not None
    assert math.dist(spot.leader[2:], (300, 200)) == pytest.approx(4)


@settings(max_examples=30)
@given(wishes())
def test_paper_in_mm_with_y_up_gets_the_same_spots_as_a_picture(wanted: list[Wish]) -> None:
    per = PAPER.per_unit

    def on_paper(box: Box) -> Box:
        return Box(box.x0 / per, -box.y1 / per, box.x1 / per, -box.y0 / per)

    turned = [
        Wish(one.key, one.x / per, -one.y / per, one.room / per, one.width / per, one.height / per) for one in wanted
    ]
    spots = place(turned, on_paper(FIELD), grain=PAPER)
    assert [spot.frame.height for spot in spots] == pytest.approx([one.height for one in turned])
    frames = [spot.frame for spot in spots]
    assert not any(one.grown(-1e-6).overlaps(other) for i, one in enumerate(frames) for other in frames[:i])
    if len(wanted) == 1 and wanted[0].room > 0:
        (spot,) = place(wanted, FIELD)
        assert tuple(frames[0]) == pytest.approx(tuple(on_paper(spot.frame)), abs=1e-3)


@settings(max_examples=60)
@given(wishes(), st.floats(20, 580), st.floats(20, 380), st.floats(5, 180))
def test_no_label_hides_an_edge(wanted: list[Wish], x: float, y: float, radius: float) -> None:
    turns = [math.tau * k / 1500 for k in range(1500)]
    edge = [(x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns]
    for spot in place(wanted, FIELD, edges=edge):
        frame = spot.frame
        inside = [p for p in edge if 0 <= p[0] <= 600 and 0 <= p[1] <= 400]  # below the field nothing is drawn
        assert not any(frame.x0 < px < frame.x1 and frame.y0 < py < frame.y1 for px, py in inside)


def test_a_leader_does_not_run_through_an_opening_where_it_need_not() -> None:
    """Left and right of the point are taken; above, a rim lies in the way of all leaders, so the label goes below."""
    rim = [(x, 150.0) for x in range(100, 501, 2)]
    taken = [Box(0, 160, 280, 240), Box(320, 160, 600, 240)]
    (spot,) = place([Wish("a", 300, 200, 4, 90, 18)], FIELD, taken, edges=rim)
    assert spot.frame.y0 > 200


def test_a_label_stands_in_no_opening_but_its_own() -> None:
    hollow = Box(304, 150, 420, 250)
    (spot,) = place([Wish("a", 300, 200, 2, 60, 18)], FIELD, hollows=[hollow])
    assert not spot.frame.overlaps(hollow)
    (own,) = place([Wish("a", 310, 200, 2, 60, 18)], FIELD, hollows=[hollow])
    assert own.frame.overlaps(hollow)


def test_a_label_stands_clearly_nearer_to_its_own_opening() -> None:
    """Two slots end to end, 40 apart: what stands between them would be read as the name of either."""
    own, other = Box(300, 190, 400, 210), Box(160, 190, 260, 210)
    (spot,) = place([Wish("a", 350, 200, 10, 40, 18)], FIELD, hollows=[own, other], drawn=[(450.0, 200.0)] * 9)

    def apart(box: Box) -> float:
        x = max(box.x0 - spot.frame.x1, spot.frame.x0 - box.x1, 0.0)
        return math.hypot(x, max(box.y0 - spot.frame.y1, spot.frame.y0 - box.y1, 0.0))

    assert apart(own) < apart(other)


def test_a_leader_goes_round_another_opening() -> None:
    """The near place on the left is led to through a slot; the way down is longer and free."""
    slot = Box(255, 150, 275, 250)
    taken = [Box(280, 120, 460, 188), Box(312, 180, 460, 300), Box(150, 120, 250, 180)]
    (spot,) = place([Wish("a", 300, 200, 4, 90, 18)], FIELD, taken, hollows=[slot, Box(296, 196, 304, 204)])
    assert spot.leader is None or not slot.overlaps(
        Box(min(spot.leader[::2]), min(spot.leader[1::2]), max(spot.leader[::2]), max(spot.leader[1::2]))
    )
