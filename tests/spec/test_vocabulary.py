"""The nearest right word, and the docstring examples of the room."""

from __future__ import annotations

import doctest
import importlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.spec.vocabulary import advice_for_key, choices_at, homes, keys_at, meaning_at, nearest

ROOM = ("editing", "explain", "reading", "references", "schema", "source", "starting", "syntax", "vocabulary")


@pytest.mark.parametrize("name", ROOM)
def test_the_examples_of_the_docstrings_run(name: str) -> None:
    assert doctest.testmod(importlib.import_module(f"platekit.spec.{name}")).failed == 0


@pytest.mark.parametrize(
    ("path", "advice"),
    [
        (("plates",), "write `plate`"),
        (("mount",), "write `mounts`"),
        (("plate", "thickness "), "write `thickness`"),
        (("plate", "Thickness"), "write `thickness`"),
        (("mounts", "motor", "takeup"), "write `take_up`"),
        (("mounts", "motor", "looking-at"), "write `looking_at`"),
        (("mounts", "motor", "rotation"), "write `turn`"),
        (("mounts", "motor", "screws", "washers"), "write `washer`"),
        (("mounts", "motor", "pattern", "circle", "pcd"), "write `diameter`, that of the bolt circle"),
        (("bodies", "lug", "shape", "circle", "radius"), "write `diameter`, twice the radius"),
        (("mounts", "motor", "washer"), "it belongs under `mounts.motor.screws`"),
        (("mounts", "motor", "seen_from"), "it belongs under `paper`"),
        (("kerf",), "it belongs under `cutting`"),
        (("looking_at",), "it belongs under `mounts.NAME`"),
        (("plate", "platekit"), "it belongs at the outermost level, without indentation"),
        (("accept", 0, "zzz"), "use rule, feature, found or because"),
    ],
)
def test_a_wrong_key_gets_the_right_one(path: tuple[str | int, ...], advice: str) -> None:
    assert advice_for_key(path) == advice


def test_one_slip_in_any_key_still_finds_it() -> None:
    for path in [(), ("plate",), ("mounts", "m"), ("mounts", "m", "screws"), ("mounts", "m", "pilot"), ("bodies", "b")]:
        keys = tuple(keys_at(path))
        for key in keys:
            for at in range(1, len(key)):
                if len(key) < 4:
                    continue
                doubled = key[:at] + key[at - 1] + key[at:]
                assert nearest(doubled, keys)[0] == key, doubled
                swapped = key[: at - 1] + key[at] + key[at - 1] + key[at + 1 :]
                assert key in nearest(swapped, keys), swapped


def test_of_two_equally_near_words_the_one_that_begins_alike_is_taken() -> None:
    assert nearest("moter", ("other", "motor")) == ("motor", "other")


@given(st.text(max_size=30), st.lists(st.text(max_size=12), max_size=6))
def test_the_nearest_words_are_always_among_the_known(word: str, words: list[str]) -> None:
    assert set(nearest(word, tuple(words))) <= set(words)


def test_every_key_of_the_language_has_a_home_and_a_meaning() -> None:
    waiting: list[tuple[str | int, ...]] = [()]
    seen = 0
    while waiting:
        path = waiting.pop()
        for key in keys_at(path):
            below = (*path, key)
            assert meaning_at(below), below
            assert any(len(home) == len(path) for home in homes(key)), below
            seen += 1
            waiting += [below, (*below, 0), (*below, "*")]
    assert seen > 80


def test_choices_are_those_of_the_language() -> None:
    assert choices_at(("units",)) == ("mm", "in")
    assert choices_at(("mounts", "any", "screws", "into")) == ("part", "plate", "nut", "stud")
    assert choices_at(("title",)) == ()
