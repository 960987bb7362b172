"""The guard's parts flat and bent: lengths against closed forms, tabs, bends, joints, halves, what opens it."""

from __future__ import annotations

import math
import re

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, unary_union

import platekit
from platekit.analysis.assembly import assembly
from platekit.checks.guard import PART_RULES
from platekit.geometry import Arc, Disc, Line, distance, edge_distance
from platekit.laying.bends import bend_length, k_factor
from platekit.laying.guard import joining_strips, tab_shape
from platekit.laying.guard_parts import CutAlone, Strips, bends, flat_band, guard_parts
from tests.laying.test_guard import SPEC, laid_out, stops, with_guard


def test_the_neutral_fibre_by_the_standard() -> None:
    # DIN 6935: k = 0.65 + 0.5 log10(r/s), K = k/2; from r/s = 5 on the middle (from memory)
    assert k_factor(2, 2) == pytest.approx(0.325)
    assert k_factor(4, 2) == pytest.approx((0.65 + 0.5 * 0.30103) / 2, abs=1e-6)
    assert k_factor(10, 2) == 0.5
    # a right-angled bend of 3 mm inside in 2 mm sheet: a quarter of a circle through its neutral fibre
    k = k_factor(3, 2)
    assert bend_length(math.pi / 2, 3, 2, k) == pytest.approx(math.pi / 2 * (3 + 2 * k))


@settings(max_examples=25)
@given(
    gap=st.integers(12, 60),
    thickness=st.sampled_from([1.0, 1.5, 2.0, 3.0]),
    radius=st.sampled_from([1.0, 2.0, 4.0, 8.0]),
    angle=st.integers(-80, 80),
)
def test_the_band_flat_is_as_long_as_its_closed_form(gap: int, thickness: float, radius: float, angle: int) -> None:
    at = f"[{300 * math.cos(math.radians(angle)):.6f}, {300 * math.sin(math.radians(angle)):.6f}]"
    text = with_guard(f"bend_radius: {radius}, band_pieces: 1").replace("at: [300, 0]", f"at: {at}")
    text = text.replace("gap: 25, thickness: 2", f"gap: {gap}, thickness: {thickness}")
    text = text.replace("{circle: {diameter: 26}, at: [300", "{circle: {diameter: 26}, at: [300")
    layout = laid_out(text)
    guard = layout.guard
    assert guard is not None
    # the sharp polygon round the hull that shapely makes of what is swept, flats square to the bands' own
    swept = [body.swept for body in layout.bodies if body.name.startswith("drive.")]
    hull = unary_union([shape.polygon(1e-4) for shape in swept]).convex_hull
    points = list(hull.exterior.coords)
    flats = [edge for edge in guard.outline.edges if isinstance(edge, Line)]
    normals = sorted(math.atan2(-edge.direction(0)[0], edge.direction(0)[1]) % math.tau for edge in flats)
    reach = [max(x * math.cos(n) + y * math.sin(n) for x, y in points) + gap for n in normals]
    turns = [(b - a) % math.tau for a, b in zip(normals, [*normals[1:], normals[0]], strict=True)]
    assert sum(turns) == pytest.approx(math.tau)
    # the side of a polygon round a body, from how far it and its neighbours reach (support function, closed form)
    perimeter = 0.0
    for k, own in enumerate(reach):
        for turn, other in ((turns[k], reach[(k + 1) % len(reach)]), (turns[k - 1], reach[k - 1])):
            perimeter += (other - own * math.cos(turn)) / math.sin(turn)
    inside = min(radius, gap)
    share = k_factor(radius, thickness)
    saved = sum(2 * inside * math.tan(turn / 2) - turn * (inside + share * thickness) for turn in turns)
    assert guard.band_length == pytest.approx(perimeter - saved, abs=0.01)
    assert all(turn <= math.pi / 4 + 1e-9 for turn in turns)


def test_bending_the_flat_band_gives_the_outline_back() -> None:
    layout = laid_out(with_guard("fixings: {count: 5}, cover: {count: 3}"))
    guard = layout.guard
    assert guard is not None
    outline, holes, _ = flat_band(guard)
    told = bends(guard)
    assert sum(bend.angle for bend in told) == pytest.approx(math.tau)
    # walk along the flat strip and turn at each bend: the hollow side closes on itself
    x = y = heading = at = 0.0
    for bend in told:
        step = bend.at - bend.length / 2 - at
        x, y = x + step * math.cos(heading), y + step * math.sin(heading)
        cx, cy = x - bend.radius * math.sin(heading), y + bend.radius * math.cos(heading)
        heading += bend.angle
        x, y = cx + bend.radius * math.sin(heading), cy - bend.radius * math.cos(heading)
        at = bend.at + bend.length / 2
    step = Strips.of(guard).length(0) - at
    x, y = x + step * math.cos(heading), y + step * math.sin(heading)
    assert math.hypot(x, y) < 1e-6
    # a tab folded about its bend: the hole comes to lie over that of the plate, so far from the hollow side
    fold = bend_length(math.pi / 2, guard.bend_radius, guard.thickness, guard.k_factor)
    seat = guard.thickness + guard.bend_radius
    for hole in holes:
        if hole.name.startswith("ear"):
            flat = -hole.center[1]
            reached = seat + (flat + seat - fold)
            wanted = guard.ears[int(hole.name.split()[1]) - 1]
            assert reached == pytest.approx(guard.outline.nearest(wanted).distance)
    assert outline.area == pytest.approx(outline.polygon(1e-5).area, rel=1e-6)
    # from both ends to the middle
    assert [bend.number for bend in told] == [1, 3, 5, 7, 8, 6, 4, 2]


def test_no_tab_stands_over_a_bend_and_none_over_another() -> None:
    layout = laid_out(with_guard("fixings: {count: 6}, cover: {count: 6}"))
    guard = layout.guard
    assert guard is not None
    tabs = [tab_shape(guard, hole) for hole in (*guard.ears, *guard.cover_holes)]
    assert len(tabs) == 12
    for tab in tabs:
        for edge in guard.outline.edges:
            if isinstance(edge, Arc):
                assert min(math.dist(tab.nearest(end).b, end) for end in (edge.a, edge.b)) >= guard.thickness
        assert all(distance(tab, other).distance > 0 for other in tabs if other is not tab)


def test_more_tabs_than_the_flats_take_is_a_stop_and_its_advice_holds() -> None:
    text = with_guard("fixings: {count: 40}")
    found = [f for f in stops(text) if "tabs for its ears" in f.message]
    assert len(found) == 1
    assert found[0].found is not None
    changed = platekit.spec.with_value(text, found[0].remedies[0].field, found[0].remedies[0].value)
    assert not [f for f in stops(changed) if "tabs for its ears" in f.message]


def test_an_ear_at_a_bend_is_a_stop_and_its_advice_puts_it_on_a_flat() -> None:
    text = with_guard("back: none, fixings: {at: [[150, 95], [150, -95], [385, 58]]}")
    found = [f for f in stops(text) if "cannot be folded" in f.message]
    assert found
    assert found[0].features == ("guard.ear 3",)
    changed = text
    for remedy in found[0].remedies:
        changed = platekit.spec.with_value(changed, remedy.field, remedy.value)
    assert not [f for f in stops(changed) if "cannot be folded" in f.message]


def test_a_band_longer_than_the_sheet_is_of_several_strips_with_laps() -> None:
    text = SPEC.replace("{process: laser}", "{process: laser, sheet: [600, 500]}")
    layout = laid_out(text)
    guard = layout.guard
    assert guard is not None
    strips = {name: part for name, part in guard_parts(layout).items() if name.startswith("guard-band")}
    assert list(strips) == ["guard-band-1", "guard-band-2", "guard-band-3"][: len(strips)]
    assert len(strips) >= 2
    assert sum(Strips.of(guard).length(k) for k in range(len(strips))) == pytest.approx(guard.band_length)
    assert all(part.outline.box.width <= 600 for part in strips.values())
    for part in strips.values():
        assert [opening.name for opening in part.openings if opening.name.startswith("lap")] == [
            "lap 1",
            "lap 2",
            "lap 3",
            "lap 4",
        ]
        assert platekit.export.dxf_bytes(part)


def test_segments_go_round_without_a_brake() -> None:
    layout = laid_out(with_guard("band_made: segments"))
    guard = layout.guard
    assert guard is not None
    parts = guard_parts(layout)
    strips = [part for name, part in parts.items() if name.startswith("guard-band")]
    pieces = sum(part.cutting.copies for part in strips)
    assert pieces == len(guard.outline.edges)
    total = sum(part.cutting.copies * part.outline.box.width for part in strips)
    assert total == pytest.approx(guard.outline.perimeter, abs=0.01)
    ears = [part for name, part in parts.items() if name.startswith("guard-ear")]
    assert sum(part.cutting.copies for part in ears) == len(guard.ears) + len(guard.cover_holes)
    assert not stops(with_guard("band_made: segments"))


def test_a_rolled_band_follows_the_hull() -> None:
    guard = laid_out(with_guard("band_made: rolled")).guard
    assert guard is not None
    around = sum(edge.length for edge in guard.outline.edges)
    # large radii: the neutral fibre is the middle of the sheet, so half a thickness more all round
    assert guard.band_length == pytest.approx(around + math.tau * guard.thickness / 2)
    assert not stops(with_guard("band_made: rolled"))


SPLIT = with_guard("back_from_plate: 0, split: [driven]").replace("span: [-40, -20]", "span: [-44, -24]")


def test_a_pulley_that_stays_parts_the_back_in_two_halves_with_a_strip() -> None:
    layout = laid_out(SPLIT)
    guard = layout.guard
    assert guard is not None
    parts = guard_parts(layout)
    assert {"guard-back-1", "guard-back-2", "guard-joint-1", "guard-joint-2", "guard-joint-3"} >= {
        name for name in parts if "back" in name or "joint" in name
    }
    for part in parts.values():
        assert platekit.export.dxf_bytes(part)
    halves = [parts[f"guard-back-{k}"] for k in (1, 2)]
    whole = guard_parts(laid_out(SPLIT.replace(", split: [driven]", "")))["guard-back"]
    # an ear that keeps off the seam may stand elsewhere: sheet for sheet the halves are the whole
    united = unary_union([half.outline.polygon(1e-4) for half in halves])
    assert not isinstance(united, MultiPolygon) or len(united.geoms) == 1
    inside = united.area - sum(opening.shape.area for half in halves for opening in half.openings)
    assert inside + sum(4 * math.pi * 2.45**2 for _ in joining_strips(guard)) == pytest.approx(whole.net_area, rel=5e-3)
    order = [step.item for step in assembly(layout).steps]
    assert order.index("drive.driven") < order.index("guard.half 1") < order.index("guard")
    assert not stops(SPLIT)


def test_a_whole_back_cannot_go_on_once_the_pulley_is_there() -> None:
    order = [step.item for step in assembly(laid_out(SPLIT.replace(", split: [driven]", ""))).steps]
    assert order.index("guard") < order.index("drive.driven")


def test_strips_lie_over_the_seam_between_the_shafts_with_rivets_in_both_halves() -> None:
    guard = laid_out(SPLIT).guard
    assert guard is not None
    assert guard.seam is not None
    strips = joining_strips(guard)
    assert strips
    for strip in strips:
        assert all(distance(strip.shape, shaft).distance > 0 for shaft in guard.shafts)
        assert all(guard.outline.contains(hole) for hole in strip.holes)
        assert len({hole[1] > 0 for hole in strip.holes}) == 2


VENTS = with_guard("openings: {shape: slot, width: 8, length: 60, count: 9}")


def test_openings_are_cut_into_the_cover_with_steel_between_them() -> None:
    layout = laid_out(VENTS)
    guard = layout.guard
    assert guard is not None
    cover = guard_parts(layout)["guard-cover"]
    vents = [opening.shape for opening in cover.openings if opening.name.startswith("vent ")]
    assert len(vents) == 9
    for number, vent in enumerate(vents):
        # a slot 8 mm wide and 60 mm long over all
        assert vent.area == pytest.approx(8 * 52 + math.pi * 16)
        assert edge_distance(vent, guard.outline).distance >= 8
        assert all(distance(vent, other).distance >= 8 - 1e-9 for other in vents[:number])
        assert all(distance(vent, Disc(hole, 3.3)).distance > 0 for hole in guard.cover_holes)
    plain = guard_parts(laid_out())["guard-cover"]
    assert plain.net_area - cover.net_area == pytest.approx(9 * (8 * 52 + math.pi * 16))
    assert platekit.export.dxf_bytes(cover).count(b"LWPOLYLINE") > platekit.export.dxf_bytes(plain).count(b"LWPOLYLINE")
    assert not stops(VENTS)
    # the picture has each of them
    drawn, without = (
        set(re.findall(r'd="([^"]+)" class="pk-line pk-line-near"', platekit.export.svg_text(one, platekit.check(one))))
        for one in (layout, laid_out())
    )
    assert len(drawn - without) == 9


@pytest.mark.parametrize("shape", ["slot", "square", "round"])
def test_more_openings_than_find_room_is_a_stop_and_its_advice_holds(shape: str) -> None:
    text = with_guard(f"openings: {{shape: {shape}, width: 6, count: 200}}, thickness: 4").replace("thickness: 2, ", "")
    found = [f for f in stops(text) if "find room in its cover" in f.message]
    assert len(found) == 1
    for idea in (found[0].advice, *found[0].others):
        changed = text
        for remedy in idea.remedies:
            changed = platekit.spec.with_value(changed, remedy.field, remedy.value)
        assert not stops(changed)


def test_the_paper_of_a_part_says_which_face_and_where_it_begins() -> None:
    layout = laid_out(SPEC.replace("{process: laser}", "{process: laser, sheet: [600, 500]}"))
    guard = layout.guard
    assert guard is not None
    parts = guard_parts(layout)
    verdict = platekit.check(layout)
    for name, part in parts.items():
        paper = platekit.export.template_bytes(part, verdict)
        words = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(paper))
        words = " ".join(words.split())
        assert "Local codes and licensed people decide" in words
        if name.startswith("guard-band"):
            assert "OUTSIDE FACE up" in words
            assert "NEAR SIDE" not in words
            assert "UP on the machine" not in words
            x, y = guard.joints[int(name[-1]) - 1]
            assert f"{x:.2f}".rstrip("0").rstrip(".") in words
            assert f"{y:.2f}".rstrip("0").rstrip(".") in words
        else:
            assert f"NEAR SIDE facing you: {'out' if name == 'guard-cover' else 'in'}side" in words


@pytest.mark.parametrize("side", ["near", "far"])
def test_a_strip_begins_at_the_joint_that_its_paper_names(side: str) -> None:
    text = SPEC.replace("{process: laser}", "{process: laser, sheet: [600, 500]}")
    if side == "far":
        text = text.replace("span: [-40, -20]", "span: [14, 34]").replace("span: [-42, 0]", "span: [0, 42]")
    layout = laid_out(text)
    guard = layout.guard
    assert guard is not None
    assert guard.side == side
    for index in range(len(guard.joints)):
        part = guard_parts(layout)[f"guard-band-{index + 1}"]
        joint = guard.joints[index if side == "near" else (index + 1) % len(guard.joints)]
        # the leftmost tab lies so far from the joint along the flats as it is drawn from 0, less what the bends save
        tabs = [opening for opening in part.openings if opening.name.startswith(("ear", "cover screw"))]
        first = min(tabs, key=lambda opening: opening.center[0])
        number = int(first.name.rsplit(" ", 1)[1]) - 1
        hole = (guard.ears if first.name.startswith("ear") else guard.cover_holes)[number]
        assert math.dist(guard.outline.nearest(hole).b, joint) <= first.center[0] + 1e-6
        far = [one for k, one in enumerate(guard.joints) if one != joint]
        assert all(math.dist(guard.outline.nearest(hole).b, other) > 30 for other in far)


def test_a_part_is_judged_by_how_it_is_cut_alone() -> None:
    """Without the job round it each rule finds the same; another plate round it is no other part, another sheet is."""
    narrow = f"{SPEC}limits: {{web: 60}}\n"
    parts = guard_parts(laid_out(narrow))
    found = [(name, one) for name, part in parts.items() for rule in PART_RULES for one in rule(part)]
    assert found
    assert found == [
        (name, one) for name, part in parts.items() for rule in PART_RULES for one in rule(CutAlone(part).layout)
    ]
    retitled = guard_parts(laid_out(re.sub("title: .*", "title: Another job", narrow)))
    wider = guard_parts(laid_out(narrow.replace("web: 60", "web: 61")))
    for name, part in parts.items():
        assert CutAlone(part) == CutAlone(retitled[name])
        assert hash(CutAlone(part)) == hash(CutAlone(retitled[name]))
        assert CutAlone(part) != CutAlone(wider[name])
