"""Where the marks of a frame are."""

from __future__ import annotations

import numpy as np
import pytest

from platekit.drawing.pdf.paper import SIZES, PaperSheet, check_frame
from platekit.scan.codes import RIM, Size
from platekit.scan.sheet import BARS, CROSSING, FrameSheet

ALL: tuple[Size, ...] = ("a4", "letter", "a3")


@pytest.mark.parametrize("size", ALL)
def test_the_bars_are_those_of_a_template_on_that_paper(size: Size) -> None:
    frame = check_frame(PaperSheet(size, *SIZES[size]), "mm")
    assert BARS[size] == (frame.width, frame.height)


@pytest.mark.parametrize("size", ALL)
def test_no_mark_touches_another_the_bars_or_the_window(size: Size) -> None:
    sheet = FrameSheet(size)
    discs = np.array([at for _, at in sheet.codes])
    crossings = sheet.crossings
    apart = np.linalg.norm(crossings[:, None] - crossings[None], axis=2)
    np.fill_diagonal(apart, np.inf)
    assert apart.min() > 2 * CROSSING + 2.0
    assert np.linalg.norm(crossings[:, None] - discs[None], axis=2).min() > RIM + CROSSING + 1.0
    for marks, reach in ((crossings, CROSSING), (discs, RIM)):
        for x, y in marks:
            inner = sheet.bars.grown(-reach - 1.0)
            assert inner.x0 <= x <= inner.x1
            assert inner.y0 <= y <= inner.y1
            window = sheet.window.grown(reach + 1.0)
            assert not (window.x0 < x < window.x1 and window.y0 < y < window.y1)


def test_the_corners_go_round_from_the_lower_left() -> None:
    (first, a), (_, b), (_, c), (last, d) = FrameSheet("a4", "face").codes
    assert a[0] == d[0] < b[0] == c[0]
    assert a[1] == b[1] < c[1] == d[1]
    assert (first.corner, last.corner) == (0, 3)
