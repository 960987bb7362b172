"""What a page asks for: only what a page of ours would send is taken up."""

from __future__ import annotations

import json

import pytest

from platekit.page.asked import FARTHEST, Asked, BadRequest


@pytest.mark.parametrize(
    "to", ["[1]", "[1, 2, 3]", '["1", 2]', "[true, 2]", "[NaN, 2]", "[1, -Infinity]", "null", "{}"]
)
def test_a_point_is_two_figures_of_a_picture(to: str) -> None:
    with pytest.raises(BadRequest):
        _ = Asked({"to": json.loads(to)}).point


def test_a_point_beyond_all_pictures_is_refused() -> None:
    assert Asked({"to": [-12.5, 3]}).point == (-12.5, 3.0)
    with pytest.raises(BadRequest):
        _ = Asked({"to": [0, FARTHEST]}).point


@pytest.mark.parametrize(
    "edits", [None, "title", [["title"]], [["title", 1, "words"]], [[1, "a", "words"]], [["", "a", "words"]]]
)
def test_typed_edits_are_field_text_and_kind(edits: object) -> None:
    with pytest.raises(BadRequest):
        _ = Asked({"edits": edits}).typed


@pytest.mark.parametrize("edits", [None, {"title": 1}, [["title"]], [[1, 2]], [["", 2]]])
def test_edits_of_an_advice_are_field_and_value(edits: object) -> None:
    with pytest.raises(BadRequest):
        _ = Asked({"edits": edits}).values


def test_edits_keep_their_order() -> None:
    asked = Asked({"edits": [["plate.thickness", "12", "words"], ["title", "Fan", "words"]]})
    assert asked.typed == [("plate.thickness", 12), ("title", "Fan")]
