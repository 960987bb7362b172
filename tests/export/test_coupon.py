"""The coupon's drawing, which is its size, and its form, which asks for everything."""

from __future__ import annotations

import io

import ezdxf
import pypdfium2

from platekit.cutting.coupon import coupon_for
from platekit.export.coupon import coupon_dxf, coupon_form
from tests.export.entities import polylines


def test_the_drawing_is_its_size() -> None:
    space = ezdxf.read(io.StringIO(coupon_dxf(coupon_for("plasma", 10)).decode("ascii"), newline=None)).modelspace()
    assert [circle.dxf.radius * 2 for circle in space.query("CIRCLE")] == [15, 22.5, 30]
    slot, square = polylines(space)
    assert (slot.dxf.layer, square.dxf.layer) == ("CUT-INSIDE", "CUT-OUTSIDE")
    assert slot.closed
    assert square.closed
    assert sorted((x, y) for x, y in square.get_points("xy")) == [(0, 0), (0, 130), (130, 0), (130, 130)]
    xs = [x for x, _ in slot.get_points("xy")]
    assert max(xs) - min(xs) == 30  # between its centres, 45 over all
    assert coupon_dxf(coupon_for("plasma", 10)) == coupon_dxf(coupon_for("plasma", 10))


def test_the_form_asks_for_everything() -> None:
    data = coupon_form(coupon_for("plasma", 10))
    (page,) = pypdfium2.PdfDocument(data)
    text = page.get_textpage().get_text_bounded()
    for words in ("square along x", "hole a", "22.5", "slot, width", "at the other face", "kerf that the controller"):
        assert words in text
    assert data == coupon_form(coupon_for("plasma", 10))
