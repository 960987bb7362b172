"""The nearest of two groups of solids, against measuring every pair of them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.analysis.nearness import nearest_of
from platekit.geometry import Disc, Lying, Solid, Upright, clearance, level_box
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
