"""The hole list, read back as a spreadsheet would read it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.checks.finding import Finding, Verdict
from platekit.export.data.hole_list import FORMULA_STARTS, holes, holes_bytes, screw_words, what_it_is
from platekit.geometry import Disc
from platekit.placed import Layout, Opening

CLEAR = Verdict(())
STOPPED = Verdict(
    (Finding(rule="web", level="stop", message="the web between a and b is 2 mm; 5 mm is needed", features=("a", "b")),)
)


def rows(data: bytes) -> dict[str, dict[str, str]]:
    return {row["name"]: row for row in csv.DictReader(io.StringIO(data.decode("utf-8"), newline=""), strict=True)}


def test_one_row_an_opening_in_order(plate: Layout) -> None:
    assert list(rows(holes_bytes(plate))) == [opening.name for opening in plate.openings]


def test_holes_as_the_spec_has_them(winder: Layout) -> None:
    found = rows(holes_bytes(winder))
    cable = found["cable"]
    assert (cable["x_mm"], cable["y_mm"], cable["size_mm"]) == ("-62", "-42", "22")
    assert (cable["from_left_mm"], cable["from_bottom_mm"]) == ("28", "28")
    assert (cable["what"], cable["shape"], cable["made"], cable["mount"]) == ("cutout", "round", "cut", "")
    block = found["block.2"]
    assert (block["what"], block["mount"], block["x_mm"], block["y_mm"]) == ("screw hole", "block", "35", "-28")
    assert block["screw"].startswith("M10 x ")


def test_tapped_holes_name_drill_and_thread(winder: Layout) -> None:
    """M6 is drilled 5.0 mm (ISO 2306)."""
    row = rows(holes_bytes(winder))["motor.1"]
    assert (row["what"], row["drill_mm"], row["thread"]) == ("tapped hole", "5", "M6")
    assert row["made"] == "mark, drill and tap"
    # drawn at [-30, -22], looking at the face of a part on the near side: mirrored, then moved to [105, -10]
    assert (row["x_mm"], row["y_mm"]) == ("135", "-32")


def test_a_recess_tells_depth_and_side(winder: Layout) -> None:
    row = rows(holes_bytes(winder))["motor.pilot"]
    assert row["what"] == "pilot, recess"
    assert row["opens_to"] == "near side"
    assert float(row["depth_mm"]) >= 2.0


def test_a_slot_tells_its_two_ends(winder: Layout) -> None:
    """30 mm over all and 10 wide: the ends are 20 mm apart, at 5 degrees."""
    row = rows(holes_bytes(winder))["drain"]
    step = (
        float(row["slot_to_x_mm"]) - float(row["slot_from_x_mm"]),
        float(row["slot_to_y_mm"]) - float(row["slot_from_y_mm"]),
    )
    assert step == pytest.approx((19.9239, 1.7431), abs=2e-4)
    assert (row["x_mm"], row["y_mm"], row["size_mm"]) == ("20", "-52", "10")


def test_an_inch_spec_gives_inches_and_says_so(auger: Layout) -> None:
    row = rows(holes_bytes(auger))["frame.2"]
    assert (row["x_in"], row["y_in"], row["size_in"]) == ("-4", "-3", "0.4375")
    assert not any(heading.endswith("_mm") for heading in row)
    assert rows(holes_bytes(auger))["seat.1"]["shape"] == "curved slot"


def test_every_length_has_its_unit_in_the_heading(winder: Layout) -> None:
    for row in rows(holes_bytes(winder)).values():
        for heading, cell in row.items():
            if not heading.endswith("_mm") and heading not in {"title", "spec", "revision"}:
                assert not cell.replace(".", "").replace("-", "").isdigit(), heading


def test_every_row_tells_where_it_is_from(winder: Layout) -> None:
    for verdict, word in ((CLEAR, "clear to cut"), (STOPPED, "NOT FOR CUTTING")):
        for row in rows(holes_bytes(winder, verdict)).values():
            assert row["title"] == winder.title
            assert (row["spec"], row["revision"]) == ("winder", winder.spec.revision)
            assert row["verdict"] == word


def named(layout: Layout, name: str) -> Layout:
    opening = replace(layout.opening("cable"), name=name, for_body=name, role="relief")
    return replace(layout, openings=(opening,))


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "＝1", '=HYPERLINK("a","b")'])
def test_no_cell_starts_a_formula(winder: Layout, name: str) -> None:
    found = rows(holes_bytes(named(winder, name), CLEAR))
    assert list(found) == [f"'{name}"]


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=30))
def test_any_name_comes_back_as_it_was_or_with_an_apostrophe(winder: Layout, name: str) -> None:
    (found,) = rows(holes_bytes(named(winder, name), CLEAR))
    assert found == name or (found == f"'{name}" and name[0] in FORMULA_STARTS)
    assert found[0] not in FORMULA_STARTS


def test_negative_coordinates_stay_numbers(winder: Layout) -> None:
    assert rows(holes_bytes(winder))["cable"]["x_mm"] == "-62"


def test_no_openings_give_the_headings_alone(winder: Layout) -> None:
    data = holes_bytes(replace(winder, openings=()), CLEAR)
    assert data.startswith(b"name,what,mount,x_mm,y_mm,")
    assert data.count(b"\r\n") == 1


def test_same_plate_same_bytes_with_dos_line_ends(winder: Layout) -> None:
    assert holes_bytes(winder) == holes_bytes(winder)
    assert holes_bytes(winder).count(b"\r\n") == len(winder.openings) + 1


def test_words_for_every_role(winder: Layout) -> None:
    base = Opening("a", "cutout", Disc((0, 0), 5.0), (0, 0), 10.0, "plate.cutouts.a")
    assert what_it_is(base) == "cutout"
    assert what_it_is(replace(base, role="relief", for_body="oil cup")) == "relief for oil cup"
    assert what_it_is(replace(base, role="pivot")) == "pivot hole"
    assert what_it_is(replace(base, role="pilot", depth=2.0)) == "pilot, recess"
    assert screw_words(winder, base) is None


def test_a_screw_without_a_stock_length_is_named_by_size(winder: Layout) -> None:
    mount = winder.mounts["block"]
    assert mount.stack is not None
    bare = replace(mount, stack=replace(mount.stack, length=None))
    layout = replace(winder, mounts={**winder.mounts, "block": bare})
    assert screw_words(layout, layout.opening("block.1")) == "M10 hex"


def test_writes_what_holes_bytes_gives(tmp_path: Path, winder: Layout) -> None:
    holes(winder, tmp_path / "plate.holes.csv", STOPPED)
    assert (tmp_path / "plate.holes.csv").read_bytes() == holes_bytes(winder, STOPPED)
