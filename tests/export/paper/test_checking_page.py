"""The checking page: what it says of distances, and that what is typed from it gives the plate back."""

from __future__ import annotations

import math
import re
from itertools import combinations
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.checks import Verdict
from platekit.export.paper.checking_page import ALL_PAIRS, MOST_PAIRS, between_groups, groups_of
from platekit.export.paper.template import template_bytes
from platekit.laying.guard_parts import guard_parts
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import load, loads

SPECS = Path(__file__).parents[3] / "specs"
CLEAR = Verdict(())
PLATE = """\
platekit: 1
title: Felt press, new drive
units: {units}
plate:
  material: mild steel
  thickness: 8 mm
  outline: {{rectangle: {{width: 400 mm, height: 300 mm}}}}
  cutouts:
    cable: {{circle: {{diameter: 24 mm}}, at: [150 mm, 100 mm]}}
    window: {{rectangle: {{width: 30 mm, height: 20 mm}}, at: [-150 mm, 100 mm]}}
mounts:
  press:
    side: {side}
    looking_at: {looking_at}
    pattern: {pattern}
    pilot: {{diameter: 60 mm, depth: 4 mm, clearance: 0}}
    bolts: {{size: M8, into: part, depth: 20 mm}}
  motor:
    side: near
    looking_at: face
    pattern: {{points: [[0, 0], [40 mm, 0]]}}
    at: [120 mm, -90 mm]
    bolts: {{size: M6, into: part, depth: 15 mm}}
    take_up: {{slots: {{along: 90 deg, install: 5 mm, tension: 9 mm}}}}
cutting: {{process: laser}}
paper: {{size: a4}}
"""
LOPSIDED = "{points: [[-60 mm, -50 mm], [60 mm, -45 mm], [55 mm, 50 mm], [-40 mm, 62 mm]], hole: 9 mm}"


def plate(pattern: str = LOPSIDED, side: Side = "far", looking_at: str = "face", units: str = "mm") -> Layout:
    text = PLATE.format(pattern=pattern, side=side, looking_at=looking_at, units=units)
    return lay_out(loads(text, "felt"))


def page_words(layout: Layout, side: Side | None = None) -> str:
    pdf = pdfium.PdfDocument(template_bytes(layout, CLEAR, side))
    words = [" ".join(page.get_textpage().get_text_range().split()) for page in pdf]
    return " ".join(page for page in words if "checking page" in page)


def test_every_pair_of_few_holes_is_there_with_what_a_caliper_reads() -> None:
    (group,) = groups_of(plate(), "near")
    assert [feature.name for feature in group.features] == ["A", "B", "C", "D", "bore"]
    assert {frozenset((pair.one, pair.other)) for pair in group.pairs} == {
        frozenset(pair) for pair in combinations(["A", "B", "C", "D", "bore"], 2)
    }
    first = group.pairs[0]
    apart = math.hypot(120, 5)
    assert (first.one, first.other) == ("A", "B")
    assert first.centres == pytest.approx(apart)
    assert first.inside == pytest.approx(apart - 9)
    assert first.over == pytest.approx(apart + 9)
    to_bore = next(pair for pair in group.pairs if (pair.one, pair.other) == ("A", "bore"))
    assert to_bore.inside == pytest.approx(math.hypot(60, 50) - 4.5 - 30)


def test_the_page_shows_rows_as_the_spec_has_them_beside_what_is_expected() -> None:
    words = page_words(plate())
    for said in (
        "Distances to check, seen from the near side (mm)",
        "- [A, B, inside, ] 111.1",
        "- [A, B, over, ] 129.1",
        "centres 120.1",
        "A is press.1, B is press.2, C is press.3, D is press.4, bore is press.pilot",
        "looking_at: face",
        "holes: {A: , 9",
        "press.3 to cable",
        "motor.1, width 6.6 length over all 20.6",
    ):
        assert said in words
    assert "window" not in words


def test_inches_are_written_in_inches() -> None:
    words = page_words(plate(units="in"))
    assert "centres 4.729" in words
    assert "(in)" in words


def test_slots_are_no_features_and_a_mount_of_slots_is_no_group() -> None:
    assert [group.mount for group in groups_of(plate(), "near")] == ["press"]


def test_pairs_across_the_plate_go_to_the_nearest_and_the_farthest_hole() -> None:
    layout = plate()
    pairs = {(pair.one, pair.other): pair for pair in between_groups(layout)}
    centers = {opening.name: opening.center for opening in layout.openings}
    reach = {
        name: math.dist(at, centers["cable"])
        for name, at in centers.items()
        if name.startswith("press.") and name != "press.pilot"
    }
    ends = {min(reach, key=reach.__getitem__), max(reach, key=reach.__getitem__)}
    assert {one for one, other in pairs if other == "cable"} == ends
    for (one, _), pair in pairs.items():
        assert pair.centres == pytest.approx(reach[one])
        assert pair.over - pair.centres == pytest.approx((9 + 24) / 2)


def test_many_holes_get_a_choice_of_pairs_that_holds_them_all() -> None:
    angles = [f"{10 + 360 * i / 12 + i} deg" for i in range(12)]
    pattern = f"{{circle: {{diameter: 180 mm, angles: [{', '.join(angles)}], hole: 9 mm}}}}"
    (group,) = groups_of(plate(pattern), "near")
    assert ALL_PAIRS < len(group.features) < len(group.pairs) <= MOST_PAIRS
    assert {name for pair in group.pairs for name in (pair.one, pair.other)} == {f.name for f in group.features}
    longest = max(pair.centres for pair in group.pairs)
    assert longest == pytest.approx(180, abs=2)


def test_a_gap_too_narrow_for_jaws_has_no_inside() -> None:
    (group,) = groups_of(plate("{points: [[-60 mm, -50 mm], [-50 mm, -50 mm], [55 mm, 50 mm]], hole: 9 mm}"), "near")
    pair = group.pairs[0]
    assert (pair.one, pair.other, pair.inside) == ("A", "B", None)
    assert pair.over == pytest.approx(19)


# ---------------------------------------------------------------------- typed in, it gives the plate back


def typed(layout: Layout, side: Side) -> str:
    """What a user types from the page of the first mount who measured exactly what is expected."""
    group = groups_of(layout, side)[0]
    sizes = ", ".join(f"{f.name}: {f.opening.size:.4f} mm" for f in group.features)
    rows = []
    for pair in group.pairs:
        if pair.inside is not None:
            rows.append(f"[{pair.one}, {pair.other}, inside, {pair.inside:.4f} mm]")
        rows.append(f"[{pair.one}, {pair.other}, over, {pair.over:.4f} mm]")
    clockwise = "" if group.clockwise is None else f", clockwise: [{', '.join(group.clockwise)}]"
    return (
        f"{{measured: {{holes: {{{sizes}}}, readings: [{', '.join(rows)}]{clockwise}, origin: bore, x_axis: [A, B]}}}}"
    )


@pytest.mark.parametrize("side", ["near", "far"])
@pytest.mark.parametrize("on", ["near", "far"])
def test_rows_typed_as_they_stand_give_the_same_pattern_the_same_way_round(side: Side, on: Side) -> None:
    """Neither the distances nor the mirror image are lost, whichever side was looked at."""
    layout = plate(side=on)
    group = groups_of(layout, side)[0]
    again = plate(typed(layout, side), side=on, looking_at=group.looking_at)
    true = [opening.center for opening in layout.openings if opening.mount == "press" and opening.role == "screw"]
    found = [opening.center for opening in again.openings if opening.mount == "press" and opening.role == "screw"]
    for i, j in combinations(range(4), 2):
        assert math.dist(found[i], found[j]) == pytest.approx(math.dist(true[i], true[j]), abs=0.01)
    assert _turn(found[:3]) * _turn(true[:3]) > 0


def _turn(points: list[tuple[float, float]]) -> float:
    (ax, ay), (bx, by), (cx, cy) = points
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)


corner = st.tuples(st.floats(-90, 90), st.floats(-90, 90))


@settings(max_examples=25)
@given(st.lists(corner, min_size=3, max_size=6, unique_by=lambda p: (round(p[0] / 25), round(p[1] / 25))))
def test_pairs_are_true_distances_for_any_pattern(points: list[tuple[float, float]]) -> None:
    listed = ", ".join(f"[{x:.4f} mm, {y:.4f} mm]" for x, y in points)
    layout = plate(f"{{points: [{listed}], hole: 9 mm}}", looking_at="face")
    group = groups_of(layout, "near")[0]
    at: dict[str, Any] = {feature.name: feature.opening for feature in group.features}
    for pair in group.pairs:
        apart = math.dist(at[pair.one].center, at[pair.other].center)
        assert pair.centres == pytest.approx(apart, abs=1e-9)
        assert pair.over == pytest.approx(apart + (at[pair.one].size + at[pair.other].size) / 2, abs=1e-9)
        assert pair.inside is None or pair.inside + pair.over == pytest.approx(2 * apart, abs=1e-9)


def test_a_measured_pattern_keeps_its_own_names() -> None:
    layout = plate(typed(plate(), "near").replace("A", "north"))
    (group,) = groups_of(layout, "near")
    assert {"north", "B", "C", "D"} <= {feature.name for feature in group.features}
    assert re.search(r"- \[north, B, inside, \]", page_words(layout))


def test_paper_too_small_for_the_page_goes_without_it() -> None:
    text = PLATE.format(pattern=LOPSIDED, side="far", looking_at="face", units="mm")
    small = lay_out(loads(text.replace("size: a4", "size: {width: 150 mm, height: 180 mm}"), "felt"))
    assert page_words(small) == ""


def test_a_measured_bore_is_listed_and_the_frame_of_the_spec_kept() -> None:
    layout = lay_out(load(SPECS / "pug-mill.yaml"))
    (group,) = (one for one in groups_of(layout, "near") if one.mount == "gear case")
    assert [feature.name for feature in group.features] == ["A", "B", "C", "D", "bore"]
    bore = group.features[-1]
    assert bore.opening.size == pytest.approx(71.93, abs=0.2)
    to_bore = {pair.one: pair.inside for pair in group.pairs if pair.other == "bore"}
    radii = (71.93 + 11.0) / 2
    for name, inside, hole in (("A", 34.22, 11.08), ("B", 34.14, 11.14), ("C", 38.76, 11.08), ("D", 34.72, 11.07)):
        found = to_bore[name]
        assert found is not None
        assert found + radii == pytest.approx(inside + (71.93 + hole) / 2, abs=0.25)
    words = page_words(layout)
    assert "origin: bore" in words
    assert "x_axis: [D, C]" in words


def test_the_band_of_a_guard_tells_its_bends_in_their_order() -> None:
    """The fan's band goes once round: its bends come to a whole turn, within the tenth of a degree each is told in."""
    band = guard_parts(lay_out(load(SPECS / "winnowing-fan.yaml")))["guard-band"]
    words = page_words(band)
    turns = [float(turn) for turn in re.findall(r"bent by\s+([\d.]+)°", words)]
    assert len(turns) == 10
    assert sum(turns) == pytest.approx(360.0, abs=0.5)
    assert re.search(r"1: at [\d.]+ mm from the first lap hole", words)
