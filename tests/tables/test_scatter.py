"""How far finished holes come off: every way of making one is there, and says where its figure comes from."""

from __future__ import annotations

import pytest

from platekit.errors import LookupFailed
from platekit.tables.processes import process_names
from platekit.tables.scatter import hole_scatter


def test_every_process_and_every_work_by_hand_has_a_scatter() -> None:
    for way in (*process_names(), "drilled", "drilled out", "bored", "bored out", "reamed", "printed", "part"):
        if way != "drill":
            assert 0.0 < hole_scatter(way).position < 1.0
            assert hole_scatter(way).source.name


def test_an_unknown_way_names_the_known_ones() -> None:
    with pytest.raises(LookupFailed, match="drilled out"):
        hole_scatter("gnawed")


@pytest.mark.parametrize(
    ("way", "limit"),
    # plus or minus at three standard deviations: entry-level plasma tables 0.76 mm, laser 0.13 at most, waterjet 0.25
    [("plasma", 0.76), ("laser", 0.13), ("waterjet", 0.25)],
)
def test_places_of_cutting_tables(way: str, limit: float) -> None:
    assert 0.4 * limit < 3 * hole_scatter(way).position < 1.05 * limit
    assert hole_scatter(way).source.kind == "published"


def test_a_hole_drilled_at_a_punch_mark_lies_in_the_circle_of_and10387_and_is_large() -> None:
    """AND10387: position tolerance of 2.0 mm diameter for centre punch and drill, so 1 mm at three sigma.

    Sizes: 0.03 under to 0.15 over; a guide to CNC drilling has 0.1 to 0.3 over (twist drill) and 0.05 to 0.15
    (precision drill).
    """
    by_hand, follows = hole_scatter("drilled"), hole_scatter("drilled out")
    assert by_hand.source.kind == "published"
    assert 3 * by_hand.position == pytest.approx(1.0, abs=0.02)
    assert by_hand.size is not None
    assert by_hand.larger - 3 * by_hand.size <= -0.03
    assert by_hand.larger + 3 * by_hand.size >= 0.15
    assert (by_hand.larger, follows.larger) == (0.1, 0.05)
    assert all(hole_scatter(way).larger == 0.0 for way in ("bored", "reamed", "laser", "part"))
