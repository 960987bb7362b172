"""Which boxes come near each other: the same answer as trying every pair, few boxes or many."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.geometry import Box, Index

BOXES = st.builds(
    lambda x, y, w, h: Box(x, y, x + w, y + h),
    st.integers(-50, 50),
    st.integers(-50, 50),
    st.integers(0, 9),
    st.integers(0, 9),
)


def brute_pairs(boxes: list[Box], gap: float) -> list[tuple[int, int]]:
    return [(i, j) for j in range(len(boxes)) for i in range(j) if boxes[i].grown(gap).overlaps(boxes[j])]


@given(st.lists(BOXES, max_size=90), st.integers(0, 9))
def test_same_pairs_as_brute_force(boxes: list[Box], gap: int) -> None:
    found = list(Index(boxes).pairs_within(gap))
    assert found == sorted(brute_pairs(boxes, gap))


@given(st.lists(BOXES, max_size=90), BOXES, st.integers(0, 9))
def test_same_neighbours_as_brute_force(boxes: list[Box], box: Box, gap: int) -> None:
    assert Index(boxes).near(box, gap) == [i for i, own in enumerate(boxes) if own.overlaps(box.grown(gap))]


@pytest.mark.parametrize("count", [0, 1, 47, 48, 49, 200, 250, 251])
def test_few_and_many_boxes_give_the_same(count: int) -> None:
    chance = random.Random(count)
    boxes = [
        Box(x, y, x + chance.uniform(0, 20), y + chance.uniform(0, 20))
        for x, y in ((chance.uniform(0, 100), chance.uniform(0, 100)) for _ in range(count))
    ]
    assert list(Index(boxes).pairs_within(2.5)) == sorted(brute_pairs(boxes, 2.5))


def test_twenty_thousand_holes() -> None:
    boxes = [Box(x * 10.0, y * 10.0, x * 10.0 + 6, y * 10.0 + 6) for x in range(200) for y in range(100)]
    pairs = list(Index(boxes).pairs_within(5))
    # to the right, above, and both diagonals
    assert len(pairs) == 199 * 100 + 200 * 99 + 2 * 199 * 99
    assert Index(boxes).near(Box(55, 55, 65, 65)) == [505, 506, 605, 606]


@given(st.lists(BOXES, max_size=90), BOXES, st.integers(1, 9))
def test_the_first_so_many_neighbours(boxes: list[Box], box: Box, most: int) -> None:
    assert Index(boxes).near(box, most=most) == Index(boxes).near(box)[:most]


def test_the_first_neighbours_among_thousands_that_lie_on_each_other() -> None:
    apart = [Box(100.0 * k, 0, 100.0 * k + 1, 1) for k in range(5000)]
    index = Index([*apart, *([Box(-9, 0, -8, 1)] * 5000), *apart])
    assert index.near(Box(-9, 0, -8, 1), most=300) == list(range(5000, 5300))
    assert index.near(Box(0, 0, 1, 1), most=300) == [0, 10_000]
