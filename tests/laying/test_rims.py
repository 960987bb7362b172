"""Rims that a spec leaves to the table of grooves."""

from __future__ import annotations

import pytest

import platekit
from platekit.errors import SpecError
from platekit.export.text.belt import belt_rows
from platekit.placed import Layout
from tests.checks import drives, lying


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


@pytest.mark.parametrize(
    ("belt", "wide"),
    [
        ("{section: A, pitch_length: 1000}", 18.0),  # ISO 4183: f = 9 mm, twice
        ("{section: A, pitch_length: 1000, count: 3}", 48.0),  # e = 15 mm, f = 9 mm
        ("{section: SPZ, pitch_length: 1000, count: 2}", 28.0),  # e = 12 mm, f = 8 mm
        ("{section: B, pitch_length: 1000, count: 2}", 42.0),  # e = 19 mm, f = 11.5 mm
    ],
)
def test_a_stock_rim_is_as_wide_as_its_grooves(belt: str, wide: float) -> None:
    text = drives.changed(
        ("belt: {section: A, pitch_length: 1000}", f"belt: {belt}"),
        ("span: [-50, -30]", "span: {width: auto, from_face: 20}"),
        ("span: [22, 42]", "span: {width: auto, in_line: true}"),
    )
    layout = laid(text)
    for pulley in (layout.belts[0].driver, layout.belts[0].driven):
        assert pulley.z[1] - pulley.z[0] == pytest.approx(wide)
    assert layout.belts[0].driver.span == pytest.approx((-20 - wide, -20))
    said = dict(belt_rows(layout, layout.belts[0]))
    assert any("as of a stock pulley (ISO 4183" in words for words in said.values())
    assert not [f for f in platekit.check(layout).findings if f.rule in ("rim-width", "align")]


def test_a_stock_rim_on_a_shaft_along_the_plate_counts_back_from_its_end() -> None:
    layout = laid(lying.changed(("span: {width: 20, from_end: 0}", "span: {width: auto, from_end: 0}")))
    assert layout.belts[0].driver.span == pytest.approx((32, 50))  # IEC 60072-1: shaft end of frame 90 is 50 mm long


@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        (
            drives.changed(("span: [-52, -24]", "span: {width: auto, from_face: 20}"), text=drives.TOOTHED),
            "drive.driver.span.width",
            "no groove in the tables",
        ),
        (
            drives.changed(("span: [-50, -30]", "span: {width: 0, from_face: 20}")),
            "drive.driver.span",
            "measure the rim",
        ),
    ],
)
def test_a_rim_that_no_table_lists_is_asked_for(text: str, field: str, said: str) -> None:
    with pytest.raises(SpecError) as caught:
        laid(text)
    (problem,) = caught.value.problems
    assert str(problem.field) == field
    assert said in str(problem)
