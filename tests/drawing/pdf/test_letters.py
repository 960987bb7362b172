"""Titles that fit: smaller letters before any are cut off."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.drawing.pdf.letters import SMALLEST_TEXT, fitted, text_width

TITLE = "Bean drum, gear motor whose spigot is wider than its bolt circle"


@settings(max_examples=100)
@given(st.floats(1.0, 250.0), st.floats(SMALLEST_TEXT, 20.0))
def test_a_line_never_leaves_its_room_and_is_cut_only_when_the_smallest_letters_are_too_wide(
    room: float, size: float
) -> None:
    line, came = fitted(TITLE, room, size, "bold")
    assert SMALLEST_TEXT <= came <= size
    assert text_width(line, came, "bold") <= room or line == "…"
    if text_width(TITLE, SMALLEST_TEXT, "bold") <= room:
        assert line == TITLE
        if came < size:  # and no smaller than it must be
            assert text_width(TITLE, came + 0.11, "bold") > room


def test_letters_below_the_smallest_stay_as_they_are() -> None:
    assert fitted("hub", 50.0, 6.0) == ("hub", 6.0)


@pytest.mark.parametrize("sheet", ["sheet", "template", "commissioning", "going back"])
def test_the_longest_title_of_the_examples_stands_whole_on_every_paper(sheet: str) -> None:
    # the narrowest room of each: beside verdict and revision, in the strip, on the list pages, on a label
    room, size = {"sheet": (131, 13), "template": (146, 13), "commissioning": (74, 10), "going back": (86, 7)}[sheet]
    assert fitted(TITLE, float(room), float(size), "bold")[0] == TITLE
