"""What stands in a cut file beside its shapes: only what the format asks for, and one colour for one kind of line."""

from __future__ import annotations

import io

import ezdxf
import pytest
from ezdxf import recover

from platekit.choices import Form
from platekit.cutting.coupon import coupon_for
from platekit.export.coupon import coupon_dxf
from platekit.export.dxf_files.cut import FORMS, dxf_bytes
from platekit.export.dxf_files.kerf import kerf_bytes
from platekit.placed import Layout

HABITS = ("Defpoints", "Standard", "HATCHBACKGROUNDCOLOR", "\nACAD\r", "$DIM", "$MENU", "MLEADER", "ISO-25")
"""What a drafting program puts into its files and no reader asks for."""


@pytest.mark.parametrize("form", FORMS)
def test_nothing_of_a_drafting_program_is_in_it(winder: Layout, form: Form) -> None:
    files = [dxf_bytes(winder, form), kerf_bytes(winder), coupon_dxf(coupon_for("plasma", 10.0))]
    for data in files:
        assert not [habit for habit in HABITS if habit in data.decode("ascii")]


@pytest.mark.parametrize("form", FORMS)
def test_readers_find_nothing_to_mend(winder: Layout, form: Form) -> None:
    for data in (dxf_bytes(winder, form), kerf_bytes(winder)):
        document, audit = recover.read(io.BytesIO(data))
        assert (audit.errors, audit.fixes) == ([], [])
        again = ezdxf.read(io.StringIO(data.decode("ascii"), newline=None)).audit()
        assert (again.errors, again.fixes) == ([], [])
        assert len(document.modelspace())


def test_the_same_kind_of_line_has_the_same_colour_in_every_file(winder: Layout) -> None:
    def colours(data: bytes) -> dict[str, int]:
        layers = ezdxf.read(io.StringIO(data.decode("ascii"), newline=None)).layers
        return {layer.dxf.name.rpartition("-")[2]: layer.dxf.color for layer in layers if layer.dxf.name[0] in "CKM"}

    cut, kerf = colours(dxf_bytes(winder)), colours(kerf_bytes(winder))
    assert cut == kerf == {"MARK": 212, "INSIDE": 32, "OUTSIDE": 112}
