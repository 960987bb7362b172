"""The single-stroke alphabet: what each sign is drawn with, and what becomes of signs that it has not."""

from __future__ import annotations

import itertools
import math
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.cutting.lettering import BETWEEN, CAPITAL, Sign, alphabet, letter, plain, unknown
from platekit.geometry import Arc, box_round, edge_intersections
from platekit.spec.fields import MAX_NAME

NEEDED = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,-_+/()'&#×Ø"
"""Letters, figures and the stops that names and titles of plates have."""


def test_it_has_what_names_and_titles_need() -> None:
    assert set(NEEDED) <= set(alphabet())


@pytest.mark.parametrize("sign", alphabet())
def test_strokes_run_on_without_a_gap_and_stay_in_their_width(sign: str) -> None:
    drawn = alphabet()[sign]
    assert drawn.strokes
    for stroke in drawn.strokes:
        assert all(one.b == other.a for one, other in itertools.pairwise(stroke))
        assert all(edge.length > 0 for edge in stroke)
    box = box_round([edge.box for stroke in drawn.strokes for edge in stroke])
    assert box.x0 >= -1e-12
    assert box.x1 <= drawn.width + 1e-12
    assert box.y0 >= -1.0
    assert box.y1 <= CAPITAL + 0.5


@pytest.mark.parametrize("sign", [sign for sign in alphabet() if sign.isalnum()])
def test_letters_and_figures_are_one_height(sign: str) -> None:
    box = box_round([edge.box for stroke in alphabet()[sign].strokes for edge in stroke])
    high = CAPITAL + 1.0 if sign == "Ø" else CAPITAL
    assert box.height == pytest.approx(high, abs=1e-9)


@pytest.mark.parametrize("sign", alphabet())
def test_nothing_is_drawn_twice(sign: str) -> None:
    """Two pieces of a sign meet or cross in single points: a stretch in common would be scribed twice."""
    edges = [edge for stroke in alphabet()[sign].strokes for edge in stroke]
    for one, other in itertools.combinations(edges, 2):
        shared = [p for k in range(1, 20) if math.dist(p := one.at(k / 20), other.nearest(p)) < 1e-6]
        assert len(shared) <= 1
        assert len(edge_intersections(one, other)) <= 2


def drawn_as(sign: Sign) -> set[tuple[float, ...]]:
    return {(*edge.a, *edge.b, edge.bulge) for stroke in sign.strokes for edge in stroke}


@pytest.mark.parametrize("pair", ["0O", "1I", "5S", "8B", "2Z", "OQ", "0Ø", "XK", "UV"])
def test_signs_that_are_easily_taken_for_each_other_differ(pair: str) -> None:
    one, other = (drawn_as(alphabet()[sign]) for sign in pair)
    assert one != other


def test_arcs_are_true_arcs() -> None:
    """An O is two half circles of radius 3 and two lines of 4, at capitals 10 high."""
    edges = [edge for stroke in letter("O", 12.0).strokes for edge in stroke]
    assert sorted(edge.radius for edge in edges if isinstance(edge, Arc)) == pytest.approx([3.6, 3.6])
    assert math.fsum(edge.length for edge in edges) == pytest.approx(2 * math.pi * 3.6 + 2 * 4.8)


@pytest.mark.parametrize("height", [2.0, 6.0, 25.4])
def test_a_text_is_as_high_as_asked_and_stands_on_its_base_line(height: float) -> None:
    letters = letter("HIT 1", height)
    assert letters.box.y0 == pytest.approx(0.0, abs=1e-12)
    assert letters.box.height == pytest.approx(height)
    assert letters.box.x0 == pytest.approx(0.0, abs=1e-12)


def test_letters_follow_each_other_from_left_to_right() -> None:
    letters = letter("HI", CAPITAL)
    (upright,) = letters.strokes[-1]
    assert upright.a[0] == upright.b[0] == pytest.approx(alphabet()["H"].width + BETWEEN)


@pytest.mark.parametrize(
    ("given_text", "wanted"),
    [
        ("motor.1", "MOTOR.1"),
        ("Förderband", "FORDERBAND"),
        ("Größe", "GROSSE"),
        ("Łódź, çà et là", "LODZ, CA ET LA"),
        ("tête – 3½″", 'TETE - 31/2"'),
        ("ærø", "AERØ"),
        ("two  words\u00a0here", "TWO WORDS HERE"),
        ("ﬁne", "FINE"),
        ("M8 × 20", "M8 × 20"),
    ],
)
def test_other_letters_lose_their_accents(given_text: str, wanted: str) -> None:
    assert plain(given_text) == wanted
    assert not unknown(wanted)


@pytest.mark.parametrize(("text", "signs"), [("насос", "НАСО"), ("A€B€", "€"), ("日本", "日本"), ("😀", "😀")])
def test_what_has_no_strokes_is_told(text: str, signs: str) -> None:
    assert unknown(plain(text)) == signs


@given(st.text(max_size=MAX_NAME))
def test_any_text_is_scribed_whole_or_refused(text: str) -> None:
    said = plain(text)
    assert plain(said) == said
    if not said or unknown(said):
        with pytest.raises(ValueError, match="cannot be scribed"):
            letter(said, 6.0)
        return
    letters = letter(said, 6.0)
    assert len(letters.strokes) == sum(len(alphabet()[sign].strokes) for sign in said if sign != " ")
    assert not any(unicodedata.combining(sign) for sign in said)


def test_the_proportions_are_those_of_iso_3098() -> None:
    """Type B, in tenths of the height (from memory): two between letters, six between words, most letters six wide."""
    apart = letter("II", 10.0).box.width
    words = letter("I I", 10.0).box.width
    assert (apart, words) == (pytest.approx(2.0), pytest.approx(6.0))
    wide = [alphabet()[sign].width for sign in "ABDGHKNOPQRSTUVXYZ"]
    assert set(wide) == {6.0}
