"""The nearest of two groups of solids, against measuring every pair of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.analysis.nearness import nearest_of, surely_apart
from platekit.geometry import Disc, Lying, Solid, StandingPrism, Upright, clearance, level_box, rectangle
from platekit.placed import Body
from tests.geometry.test_solids import lengths, solids

groups = st.lists(solids(), min_size=1, max_size=4).map(tuple)


@settings(max_examples=60)
@given(groups, groups)
def test_it_is_the_first_of_the_nearest_of_all_pairs(some: tuple[Solid, ...], others: tuple[Solid, ...]) -> None:
    every = [clearance(one, other) for one in some for other in others]
    assert nearest_of(some, others) == min(every, key=lambda near: round(near.distance, 9))


@settings(max_examples=60)
@given(groups, groups, lengths)
def test_asked_up_to_a_distance_it_tells_that_or_a_figure_beyond(
    some: tuple[Solid, ...], others: tuple[Solid, ...], enough: float
) -> None:
    nearest, found = nearest_of(some, others), nearest_of(some, others, enough)
    assert found == nearest if nearest.distance <= enough else found.distance > enough


def test_what_is_deepest_in_the_other_is_told_though_all_boxes_meet() -> None:
    pin, post = Lying((-20, 0), (20, 0), 5, 10), Upright(Disc((0, 0), 8), 0, 20)
    grazed = Upright(Disc((0, 12.5), 8), 0, 20)
    for group in ((post, grazed), (grazed, post)):
        found = nearest_of((pin,), group, 2.0)
        assert found.distance == clearance(pin, post).distance < clearance(pin, grazed).distance < 0.0


@settings(max_examples=60)
@given(solids())
def test_the_level_box_is_that_of_the_silhouette(solid: Solid) -> None:
    # a silhouette is at least a hair wide, whatever it is of
    assert tuple(level_box(solid)) == pytest.approx(tuple(solid.silhouette.box), abs=1e-5)


def standing() -> st.SearchStrategy[StandingPrism]:
    turns = st.sampled_from([0.0, 0.5, 1.2, 2.9])
    return st.builds(
        lambda x, y, turn, start, thick: StandingPrism(
            rectangle(30, 8, center=(x, y)), (math.cos(turn), math.sin(turn)), start, start + thick
        ),
        *(st.floats(-60, 60), st.floats(-30, 30), turns, st.floats(-60, 60), st.floats(1, 20)),
    )


def body_of(name: str, pieces: tuple[Solid, ...]) -> Body:
    whole = pieces[0].silhouette
    field, z = f"bodies.{name}", (min(one.low for one in pieces), max(one.high for one in pieces))
    return Body(name, "given", name, "near", whole, whole, z, 0.0, False, field, pieces=pieces)


@given(st.lists(standing(), min_size=1, max_size=3), st.lists(solids(), min_size=1, max_size=3), st.floats(0, 40))
def test_what_boxes_hold_apart_is_apart(some: list[Solid], others: list[Solid], by: float) -> None:
    a, b = body_of("a", tuple(some)), body_of("b", tuple(others))
    if surely_apart(a, b, by):
        assert nearest_of(a.solids, b.solids).distance >= by - 1e-3


def test_boxes_along_a_sheet_hold_apart_what_stands_askew_beside_it() -> None:
    way = (math.cos(0.5), math.sin(0.5))
    sheet = body_of("sheet", (StandingPrism(rectangle(200, 80), way, 0.0, 2.0),))
    beside = body_of("beside", (StandingPrism(rectangle(200, 80), way, 5.0, 9.0),))
    assert surely_apart(sheet, beside, 2.999)
    assert not surely_apart(sheet, beside, 3.001)
