from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit import tables
from platekit.errors import LookupFailed
from platekit.tables import as_json, describe, found_text, look_up, mount, names, overview, search, sketch

EVERY = names()


def test_search_ranks_by_closeness_across_inch_and_metric() -> None:
    found = search(bolt_circle=165, holes=4)
    assert found[0].mount.designation == "FF165"
    assert found[0].distance == 0.0
    assert [candidate.distance for candidate in found] == sorted(candidate.distance for candidate in found)
    assert {candidate.mount.family.split()[0] for candidate in found} >= {"IEC", "NEMA", "ISO"}


def test_search_gives_the_difference() -> None:
    (best, *_) = search(bolt_circle=149.0, holes=4)
    assert best.mount.designation == "NEMA 56C"
    (difference,) = best.differences
    assert difference.difference == pytest.approx(0.225, abs=1e-9)
    assert "NEMA 145TC" in best.also


def test_search_by_feet_either_way_round() -> None:
    assert search(width=140, height=100)[0].mount.designation == "IEC 90S"
    assert search(width=100, height=140)[0].mount.designation == "IEC 90S"


def test_a_pilot_tells_equal_bolt_circles_apart() -> None:
    # both have a bolt circle of 5.875 in or near; only one has a 4.5 in pilot
    assert search(bolt_circle=149.2, pilot=114.3)[0].mount.designation == "NEMA 56C"
    assert search(bolt_circle=184.1, pilot=215.9)[0].mount.designation == "NEMA 182TC"


def test_a_shaft_narrows_the_search() -> None:
    best = search(bolt_circle=165, shaft=24)[0]
    assert best.mount.designation == "IEC 90 B5"
    assert best.also == ()


def test_search_for_nothing_like_it() -> None:
    assert search(bolt_circle=5000) == ()
    assert "no standard mount" in found_text(search(bolt_circle=5000))


@pytest.mark.parametrize("size", [0.0, -3.0, float("nan")])
def test_search_refuses_an_impossible_size(size: float) -> None:
    with pytest.raises(LookupFailed, match="above zero"):
        search(bolt_circle=size)


def test_search_wants_something_measured() -> None:
    with pytest.raises(LookupFailed, match="nothing to search for"):
        search(holes=4)


@given(st.sampled_from(EVERY), st.floats(-0.2, 0.2))
def test_a_mount_is_found_by_its_own_slightly_wrong_sizes(name: str, slip: float) -> None:
    own = mount(name)
    if own.bolt_circle is not None:
        found = search(bolt_circle=own.bolt_circle + slip, holes=own.holes, count=100)
    else:
        assert own.width is not None
        assert own.height is not None
        found = search(width=own.width + slip, height=own.height + slip, holes=own.holes, count=100)
    assert name in [n for candidate in found for n in (candidate.mount.designation, *candidate.also)]
    best = found[0]
    assert best.distance <= abs(slip) + 1e-9


def test_found_text_shows_both_units_and_the_difference() -> None:
    text = found_text(search(bolt_circle=149.0, holes=4))
    assert "149.225 mm (5.875 in)" in text
    assert "+0.22 mm from the 149 measured" in text or "+0.23 mm from the 149 measured" in text


# the keys that programs may rely on
MOUNT_KEYS = {
    "NEMA 56C": {"bolt_circle_mm", "pilot_mm", "pilot_depth_mm", "face_mm", "screw", "shaft_mm", "shaft_length_mm"},
    "FF165": {"bolt_circle_mm", "pilot_mm", "pilot_depth_mm", "face_mm", "hole_mm"},
    "FT115": {"bolt_circle_mm", "pilot_mm", "pilot_depth_mm", "face_mm", "screw"},
    "IEC 90S": {"width_mm", "height_mm", "hole_mm", "shaft_mm", "shaft_length_mm"},
    "82-2": {"bolt_circle_mm", "pilot_mm", "pilot_depth_mm", "hole_mm"},
}
ABSENT = {
    "NEMA 56C": "hole_mm",
    "FF165": "shaft_mm",
    "FT115": "hole_mm",
    "IEC 90S": "bolt_circle_mm",
    "82-2": "shaft_mm",
}


@pytest.mark.parametrize("name", MOUNT_KEYS)
def test_figures_of_a_mount(name: str) -> None:
    figures = as_json(name)
    assert set(figures) >= MOUNT_KEYS[name] | {"designation", "family", "holes", "source", "source_kind"}
    assert ABSENT[name] not in figures
    assert json.loads(json.dumps(figures)) == figures


def test_figures_of_a_screw() -> None:
    figures = as_json("M10")
    assert figures["clearance_mm"] == {"close": 10.5, "normal": 11.0, "loose": 12.0}
    assert figures["tap_drill_mm"] == 8.5
    assert figures["head_height_mm"] == 6.4
    assert figures["across_flats_mm"] == 16.0
    assert figures["washer_mm"] == 20.0
    assert figures["stress_area_mm2"] == 58.0


@pytest.mark.parametrize("name", ["mild steel", "drill 13/32", "gauge 11 steel", "110 j6", "M8x1", "#4-40", *EVERY])
def test_everything_can_be_told_and_named_with_its_source(name: str) -> None:
    figures = as_json(name)
    text = describe(name)
    assert str(figures["designation"]) in text.splitlines()[0]
    assert figures["source_kind"] in ("published", "common practice", "from memory")
    assert "source" in text or f"- {figures['source']}" in text
    assert all(value is not None for value in figures.values())
    assert max(len(line) for line in text.splitlines()) <= 160


def test_text_of_a_face_says_what_matters() -> None:
    text = describe("NEMA 182TC")
    assert "184.15 mm (7.250 in)" in text
    assert "4 x 1/2-13, tapped in the part" in text
    assert "would cut the screws away" in " ".join(text.split())
    assert "NEMA MG 1 table 4.4.4 (published)" in text


def test_text_of_a_flange_gives_both_editions() -> None:
    text = describe("FF215")
    assert "14.5 mm after IEC 60072-1:2022" in text
    assert "15 mm after IEC 60072-1:1991" in text


def test_doubt_is_said() -> None:
    assert "from memory: hole" in " ".join(describe("FF165").split())


def test_the_sketch_has_every_hole_where_it_is() -> None:
    rows = sketch(mount("NEMA 56C")).splitlines()
    places = {
        letter: (row, line.index(letter)) for row, line in enumerate(rows) for letter in "1234+" if letter in line
    }
    assert places["1"][0] == places["2"][0] < places["+"][0] < places["3"][0] == places["4"][0]
    assert places["2"][1] < places["+"][1] < places["1"][1]
    assert places["3"][1] == places["2"][1]


def test_the_overview_names_every_family_and_material() -> None:
    text = overview()
    for family in tables.families():
        assert (family.name in text) == bool(family.entries())  # a shop's own parts, where there are none
    assert "mild steel" in text
    assert "drill 13/32" in text


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("3/8", r"say 3/8-16 \(the screw\) or drill 3/8"),
        ("#10", r"say #10-24 \(the screw\) or drill #10"),
        ("NEMA 42", "NEMA 42 foot .* or NEMA 42 stepper"),
        ("M8x1.3", "not listed with pitch 1.3"),
        ("M9", "no table holds 'M9'; the nearest are M8"),
        ("gauge 40 steel", "goes from 3 to"),
        ("gauge 11", "say the number and the metal"),
        ("drill 6.83", "no stock drill"),
        ("nothing of the kind", "no table holds"),
        ("", "no table holds"),
    ],
)
def test_what_cannot_be_looked_up(name: str, message: str) -> None:
    with pytest.raises(LookupFailed, match=message) as failure:
        look_up(name)
    assert "\n" not in str(failure.value)


@pytest.mark.parametrize(
    "name",
    ["drill 3/8", "3/8 drill", "3/8-16", "#7", "16 gauge stainless", "gauge 16 galvanized", "16ga steel", "30 H7"],
)
def test_what_can_be_looked_up(name: str) -> None:
    assert describe(name)


def test_a_name_that_is_not_there() -> None:
    with pytest.raises(AttributeError, match="no attribute 'colour'"):
        tables.colour  # noqa: B018 - asking for it is the test


def test_every_name_promised_is_there() -> None:
    for name in tables.__all__:
        assert getattr(tables, name) is not None
