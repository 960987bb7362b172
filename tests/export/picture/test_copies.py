"""The picture of the copies, and where they lie in figures."""

from __future__ import annotations

from xml.etree import ElementTree

from platekit.export.picture.copies import copies_figures, copies_svg, wanted_copies
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Beehive scale, <three> of them
units: mm
plate: {material: mild steel, thickness: 6, outline: {rectangle: {width: 120, height: 80}, at: [30, 10]}}
mounts:
  hive: {side: far, looking_at: face, pattern: {points: [[0, 0], [40, 10]], hole: 12}}
cutting: {process: plasma, kerf: 1.5, margin: 3, %s}
"""
SVG = "{http://www.w3.org/2000/svg}"


def scale(cutting: str) -> Layout:
    return lay_out(loads(SPEC % cutting, "scale"))


def test_every_copy_is_drawn_with_its_openings_and_number() -> None:
    layout = scale("copies: 3, sheet: [500, 200]")
    found = wanted_copies(layout)
    assert found is not None
    root = ElementTree.fromstring(copies_svg(layout, found))
    # the sheet, and for each of three copies an outline and two holes
    assert len(root.findall(f".//{SVG}path")) == 1 + 3 * 3
    said = [element.text or "" for element in root.iter(f"{SVG}text")]
    assert said[0] == "Beehive scale, <three> of them: 3 of 3 nested on a sheet of 500 mm x 200 mm"
    assert said[1].startswith("6 mm between finished edges, 4.5 mm to its edge; material used: 29 %")
    assert said[2:6] == [f"{layout.spec.name}, revision {layout.spec.revision}", "1", "2", "3"]
    assert copies_svg(layout, found) == copies_svg(layout, found)


def test_figures_say_where_each_copy_lies() -> None:
    told = copies_figures(scale("copies: 2, sheet: [500, 200]"))
    assert told is not None
    assert (told["wanted"], told["fits"], told["on"]) == (2, True, "sheet")
    boxes = [place["box_mm"] for place in told["places"]]
    assert len(boxes) == 2
    for x0, y0, x1, y1 in boxes:
        assert x0 >= 4.5
        assert y0 >= 4.5
        assert {round(x1 - x0, 6), round(y1 - y0, 6)} == {120, 80}


def test_one_plate_on_a_sheet_needs_no_picture() -> None:
    assert wanted_copies(scale("sheet: [500, 200]")) is None
    assert wanted_copies(scale("copies: 4")) is None
    assert copies_figures(scale("copies: 4")) is None
    assert wanted_copies(scale("remnant: [[0, 0], [300, 0], [0, 300]]")) is not None
