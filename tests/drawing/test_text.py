"""Words fitted to their room, measured by whoever sets them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.pdf import letters as paper
from platekit.drawing.svg import letters as picture
from platekit.drawing.text import Measure, shortened, wrapped

MEASURES = [len, picture.letters(12.0, True), paper.letters(8.0, "italic")]
words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=80)


@pytest.mark.parametrize("measure", MEASURES, ids=["signs", "picture", "paper"])
@given(say=words, share=st.floats(1, 12))
def test_wrapped_lines_fit_and_lose_nothing(measure: Measure, say: str, share: float) -> None:
    room = share * max((measure(sign) for sign in say), default=1.0)
    lines = wrapped(say, room, measure)
    assert all(measure(line) <= room for line in lines)
    assert "".join("".join(lines).split()) == "".join(say.split())


@pytest.mark.parametrize("measure", MEASURES, ids=["signs", "picture", "paper"])
@given(say=words, share=st.floats(0, 40))
def test_a_shortened_text_fits_and_a_short_one_stays(measure: Measure, say: str, share: float) -> None:
    room = share * measure("…")
    short = shortened(say, room, measure)
    assert measure(short) <= max(room, measure("…"))
    assert short == say if measure(say) <= room else short.endswith("…")


def test_the_longest_beginning_that_fits_is_kept() -> None:
    assert shortened("old bearing block", 12, len) == "old bearing…"
    assert shortened("old bearing block", 13, len) == "old bearing…"
    assert shortened("old bearing block", 14, len) == "old bearing b…"


def test_a_word_wider_than_a_line_goes_on_in_the_next() -> None:
    assert wrapped("a counterbalance b", 8, len) == ("a", "counterb", "alance b")
    assert wrapped("", 8, len) == ()
    assert wrapped("  ", 8, len) == ()
    assert wrapped("ab", 0.5, len) == ("a", "b")


# Widths of the Helvetica metrics file, thousandths of an em: H 722, e 556, l 222, o 556.
def test_letters_of_a_picture_are_as_wide_as_the_font_metrics_say() -> None:
    assert picture.text_width("Hello", 10) == pytest.approx((722 + 556 + 222 + 222 + 556) / 100)


def test_wide_scripts_count_as_a_full_em_and_marks_as_nothing() -> None:
    assert picture.text_width("板", 10) == pytest.approx(10)
    assert picture.text_width("e\u0301", 10) == pytest.approx(picture.text_width("e", 10))


def test_what_paper_cannot_show_is_measured_as_it_is_shown() -> None:
    assert paper.text_width("板\n", 8) == paper.text_width("? ", 8)


@pytest.mark.parametrize(
    ("say", "width", "lines"),
    [
        ("it does not pass the opening of 34 mm: first", 35, ("it does not pass the opening of", "34 mm: first")),
        ("a key 8 × 7 mm of steel", 9, ("a key", "8 × 7 mm", "of steel")),
        ("washer 1.65 = 19.65 mm", 17, ("washer 1.65", "= 19.65 mm")),
        ("with 4 washers, 4 spacers", 17, ("with 4 washers,", "4 spacers")),
        ("a usual key (ISO/R 773)", 17, ("a usual key", "(ISO/R 773)")),
        ("at 1, 2 and 3 of them", 9, ("at 1,", "2 and", "3 of them")),
        # what belongs together and is wider than a line is broken all the same
        ("34 millimetres", 8, ("34", "millimet", "res")),
    ],
)
def test_a_figure_stays_with_what_it_counts(say: str, width: int, lines: tuple[str, ...]) -> None:
    assert wrapped(say, width, len) == lines
