"""One view for pictures and papers: where the plate comes on the sheet, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.svg.parts import way_of
from platekit.drawing.view import View
from platekit.geometry import Box

numbers = st.floats(-500, 500)
views = st.builds(View, st.floats(0.01, 20), numbers, numbers, st.booleans())


@given(views, numbers, numbers)
def test_back_undoes_at(view: View, x: float, y: float) -> None:
    assert view.back(view.at((x, y))) == pytest.approx((x, y), abs=1e-6)


@given(views, numbers, numbers, st.floats(0, 300), st.floats(0, 300))
def test_a_box_stays_an_upright_box_of_its_size(view: View, x: float, y: float, wide: float, high: float) -> None:
    box = view.box(Box(x, y, x + wide, y + high))
    assert box.width == pytest.approx(view.scale * wide, abs=1e-6)
    assert box.height == pytest.approx(view.scale * high, abs=1e-6)


def test_up_on_the_plate_is_up_on_paper_and_in_a_picture() -> None:
    assert View(2.0, 10.0, 20.0).at((1.0, 3.0)) == (12.0, 26.0)
    assert View(2.0, 10.0, 20.0, down=True).at((1.0, 3.0)) == (12.0, 14.0)


def test_a_group_in_the_frame_of_the_plate_goes_the_same_way_as_its_points() -> None:
    view = View(2.5, 10.0, 20.0, down=True)
    a, b, c, d, e, f = (float(part) for part in way_of(view).removeprefix("matrix(").removesuffix(")").split())
    x, y = 4.0, -3.0
    assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx(view.at((x, y)))
