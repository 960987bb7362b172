"""What a job takes: counted by hand from the words of a spec."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.analysis.parts_list import Piece, StockFit, lines_of, pieces_of, totals_of
from platekit.export.text.parts_list import line_rows, to_settle
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from tests.checks.coupled import SOUND as COUPLED
from tests.laying.test_twisted import BY_HAND, twisted

SPECS = Path(__file__).parents[2] / "specs"

PLATE = """\
platekit: 1
title: Shelf bracket
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 200, height: 100, corner: 0}}}
mounts:
  post:
    side: far
    pattern: {rectangle: {width: 40, height: 20}}
    screws: {size: M8, into: part, depth: DEPTH, thread_in: cast iron, washer: true}
  arm:
    side: near
    pattern: {rectangle: {width: 60, height: 30}}
    at: [60, 0]
    standoff: 12.5
    screws: {size: M8, into: nut, flange: 6, washer: true}
cutting: {process: laser, kerf: 0.3, margin: 5}
"""


def shelf(depth: float) -> Layout:
    return lay_out(loads(PLATE.replace("DEPTH", f"{depth:g}"), "shelf"))


def of_kind(layout: Layout, kind: str) -> list[Piece]:
    return [piece for piece in pieces_of(layout) if piece.kind == kind]


def test_screws_nuts_washers_and_spacers_are_counted_by_mount() -> None:
    layout = shelf(16)
    post, arm = of_kind(layout, "screw")
    # post: 10 plate and 1.6 washer, 12 to hold in cast iron (1.5 diameters): 25 is the next stock length
    assert (post.part, post.count, post.size, post.length) == ("post", 4, "M8", 25)
    # arm: 10 + 12.5 + 6 + 2 x 1.6 = 31.7 clamped, then a nut of 6.8 and one thread of 1.25: 39.75, so 40
    assert (arm.part, arm.count, arm.length) == ("arm", 4, 40)
    assert [(one.part, one.count) for one in of_kind(layout, "nut")] == [("arm", 4)]
    assert [(one.part, one.count, one.width, one.thickness) for one in of_kind(layout, "washer")] == [
        ("post", 4, 16, 1.6),
        ("arm", 8, 16, 1.6),
    ]
    (spacer,) = of_kind(layout, "spacer")
    assert (spacer.get, spacer.count, spacer.length, spacer.width) == ("cut", 4, 12.5, 16)


def test_what_is_alike_stands_on_one_line_with_how_many_for_each_part() -> None:
    washers = next(line for line in lines_of(shelf(16)) if line.piece.kind == "washer")
    assert (washers.count, washers.by_part) == (12, (("post", 4), ("arm", 8)))


def test_a_stock_length_that_fits_not_says_how_deep_a_thread_would_let_it_in() -> None:
    # 11.6 clamped, 12 needed, 12 there: 20 holds only 8.4, and 25 would go 13.4 deep
    post, _ = of_kind(shelf(12), "screw")
    assert post.length is None
    assert post.open == ("stock length",)
    assert post.stock == StockFit(shorter=20, longer=25, deeper=25, depth=13.4)
    assert next(one for one in totals_of(shelf(12)) if one.part == "post").open == 1
    # a thread just that deep does
    deep, _ = of_kind(shelf(13.4), "screw")
    assert (deep.length, deep.open, deep.stock) == (25, (), StockFit(shorter=20, longer=30))


def test_the_blank_has_kerf_and_half_the_margin_on_every_side() -> None:
    layout = shelf(16)
    (sheet,) = of_kind(layout, "sheet")
    assert (sheet.length, sheet.width, sheet.thickness) == (200 + 0.6 + 5, 100 + 0.6 + 5, 10)
    # 200 x 100 x 10 less eight holes of 9 mm, in steel of 7850 kg/m3
    holes = 8 * 3.14159265 * 4.5**2
    assert sheet.mass == pytest.approx((200 * 100 - holes) * 10 * 7850e-9, rel=1e-4)


def test_a_drive_and_its_guard_are_on_the_list() -> None:
    layout = lay_out(load(SPECS / "apple-mill.yaml"))
    (belt,) = of_kind(layout, "belt")
    assert (belt.size, belt.count, belt.open) == ("SPZ862", 1, ())
    driver, driven = of_kind(layout, "pulley")
    # IEC 80 has a shaft of 19 mm; the spec describes the mill's of 30 mm
    assert (driver.size, driver.bore, driver.grooves, driven.size, driven.bore) == (
        "71 mm pitch",
        19,
        1,
        "180 mm pitch",
        30,
    )
    # three strips, lapped at three joints with two rivets each
    assert [one.count for one in of_kind(layout, "rivet")] == [6]
    # three tabs at the plate and four at the cover, each with a screw and a nut
    guard = [one for one in pieces_of(layout) if one.part == "guard"]
    assert sum(one.count for one in guard if one.kind == "screw") == 7
    assert sum(one.count for one in guard if one.kind == "nut") == 7
    assert {one.size for one in guard if one.get == "cut"} == {
        "guard-band-1",
        "guard-band-2",
        "guard-band-3",
        "guard-cover",
    }


def test_a_shaft_that_nothing_tells_of_leaves_its_bore_open() -> None:
    layout = lay_out(load(SPECS / "dough-mixer.yaml"))
    driver, driven = of_kind(layout, "pulley")
    assert driver.bore == pytest.approx(0.625 * 25.4)  # NEMA 56C: 5/8 in
    assert driven.bore is None
    assert "bore" in driven.open


def test_the_key_of_a_standard_shaft_is_listed_with_its_keyway() -> None:
    layout = lay_out(load(SPECS / "apple-mill.yaml"))
    (key,) = of_kind(layout, "key")
    # IEC 60072-1: frame 80 has a shaft of 19 mm with a key of 6 x 6; ISO/R 773: 2.8 deep in the hub
    assert (key.width, key.height) == (6, 6)
    driver, driven = of_kind(layout, "pulley")
    assert (driver.keyway, driver.open) == ((6, 2.8), ())
    # of the mill's own shaft of 30 mm nobody knows: ISO/R 773 has 8 x 7 for over 22 to 30 mm
    assert (driven.keyway, driven.open) == (None, ("key",))
    assert "usual for this shaft is a key 8 × 7 mm" in to_settle(driven, "mm")


def test_a_coupling_is_bought_with_its_bores() -> None:
    layout = lay_out(loads(COUPLED, "pump"))
    (coupling,) = of_kind(layout, "coupling")
    assert (coupling.part, coupling.height, coupling.length) == ("pump coupling", 70, 86)
    assert "motor: bore 24 mm" in coupling.what  # IEC 60072-1, frame 90
    assert "pump: bore 24 mm" in coupling.what


def test_a_twisted_belt_is_bought_though_nothing_of_it_is_worked_out() -> None:
    layout = lay_out(loads(twisted(BY_HAND), "twisted"))
    (belt,) = of_kind(layout, "belt")
    assert (belt.what, belt.length, belt.open) == ("A", None, ("length",))
    assert [(one.height, "bore" in one.open) for one in of_kind(layout, "pulley")] == [(80, True), (200, True)]


def test_captive_screws_take_their_washers() -> None:
    layout = lay_out(load(SPECS / "apple-mill.yaml"))
    assert [(one.count, one.size) for one in of_kind(layout, "washer") if one.what == "retaining"] == [(4, "M6")]


@pytest.mark.parametrize("name", ["apple-mill", "winnowing-fan", "bead-sorter"])
def test_totals_and_lines_come_to_the_same(name: str) -> None:
    layout = lay_out(load(SPECS / f"{name}.yaml"))
    pieces, lines, totals = pieces_of(layout), lines_of(layout), totals_of(layout)
    count = sum(piece.count for piece in pieces)
    assert count == sum(line.count for line in lines) == sum(one.bought + one.cut for one in totals)
    cut = sum(piece.mass or 0.0 for piece in pieces if piece.get == "cut")
    assert sum(one.mass for one in totals) == pytest.approx(cut)


def test_stock_lengths_are_told_as_screws_are_sold() -> None:
    """Inch screws by fractions in a job in mm too; ASME B18.2.1 lists 1, 1-1/4 and 1-1/2 in for 3/8-16."""
    rows = line_rows(lay_out(load(SPECS / "dough-mixer.yaml")), "buy")
    notes = {what: note for _, what, _, note in rows}
    assert notes["screw 3/8-16 × 1-1/4 in, hex, grade 5"] == "stock lengths next to it: shorter 1 in, longer 1-1/2 in"
    assert notes["screw M8 × 25, hex, 8.8"] == "stock lengths next to it: shorter 20 mm, longer 30 mm"


def test_a_belt_that_no_list_has_is_told_its_length_once() -> None:
    rows = line_rows(lay_out(load(SPECS / "winnowing-fan.yaml")), "buy")
    assert [what for _, what, _, _ in rows if what.startswith("belt")] == [
        "belt A, 1250 mm pitch length",
        "belt A, 1600 mm pitch length",
    ]
