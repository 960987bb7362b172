"""The guard: its outline, its band, its parts, and the rule on its openings."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import platekit
from platekit.analysis.assembly import assembly
from platekit.drawing.from_side import side_views
from platekit.errors import SpecError
from platekit.geometry import Disc, Line, Loop, distance, edge_distance, hull, union_loops
from platekit.laying.guard import sheet_with_lugs, tab_reach, tab_shape
from platekit.laying.guard_parts import GUARD_PARTS, guard_parts
from platekit.placed import Guard
from platekit.spec import with_value
from tests.adversary.sound_plates import HULLER, ROLLER

SPEC = """\
platekit: 1
title: Fan with two equal pulleys
units: mm
plate:
  material: mild steel
  thickness: 8
  cutouts: {bore: {circle: {diameter: 26}}, motor bore: {circle: {diameter: 26}, at: [300, 0]}}
mounts:
  fan:
    side: far
    pattern: {circle: {count: 4, diameter: 60, hole: 12}}
  motor:
    side: far
    pattern: {circle: {count: 4, diameter: 60, hole: 12}}
    at: [300, 0]
bodies:
  fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-42, 0], gap: 0.4}
  motor shaft: {carried_by: motor, shape: {circle: {diameter: 25}}, span: [-42, 0], gap: 0.4}
drive:
  belt: {section: A, pitch_length: 914.159265358979}
  driver: {on: motor, pitch_diameter: 100, span: [-40, -20]}
  driven: {on: fan, pitch_diameter: 100, span: [-40, -20]}
guard: {gap: 25, thickness: 2}
cutting: {process: laser}
"""


def laid_out(text: str = SPEC) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "fan.yaml"))


def guard_findings(text: str) -> list[platekit.Finding]:
    return [f for f in platekit.check(laid_out(text)).findings if f.rule == "guard"]


def test_the_outline_keeps_its_gap_from_pulleys_and_belt() -> None:
    layout = laid_out()
    guard = layout.guard
    assert guard is not None
    swept = [body.swept for body in layout.bodies if body.name.startswith("drive.")]
    # the outline is the hull of what is swept, grown by the gap: the nearest thing is just the gap away
    gaps = [guard.outline.loop().depth(body.centroid).distance for body in swept]
    assert min(gaps) >= 25
    nearest = min(guard.outline.nearest(edge.at(0.5)).distance for body in swept for edge in body.loop().edges)
    assert nearest == pytest.approx(25, abs=1e-6)


def test_the_band_is_as_long_as_the_outline_and_covers_the_pulleys_with_the_gap() -> None:
    guard = laid_out().guard
    assert guard is not None
    # round two pulleys of 100 + 5.5 mm (ISO 4183: 2.75 mm of groove above the datum line) it would be the shorter of
    # these; the belt's runs, 8 mm thick (ISO 4184), stand out a little between them. Eight flats go round the longer.
    shorter, longer = 2 * 300 + 2 * math.pi * (52.75 + 25), 2 * 300 + 16 * math.tan(math.pi / 8) * (50 + 8 + 25)
    assert shorter < guard.band_length < longer
    # 40 mm from the far face is 32 mm from the near one; the back plate lies on that, 2 mm thick
    assert guard.side == "near"
    assert guard.z == pytest.approx((2, 32 + 25))
    assert guard.band_width == pytest.approx(55)


def test_each_part_is_a_file_that_can_be_cut(tmp_path: Path) -> None:
    layout = laid_out()
    parts = guard_parts(layout)
    assert set(parts) < set(GUARD_PARTS)
    assert set(parts) == {"guard-back", "guard-band", "guard-cover"}
    for part in parts.values():
        assert platekit.export.dxf_bytes(part)
    back = parts["guard-back"]
    assert [opening.name for opening in back.openings] == ["ear 1", "ear 2", "ear 3", "ear 4", "shaft 1", "shaft 2"]
    assert layout.guard is not None
    holes = [opening for opening in back.openings if opening.name.startswith("ear")]
    for hole in holes:
        # an ear is 22 mm wide round a hole of 6.6: steel all round
        assert distance(hole.shape, Disc(hole.center, 11)).distance < 0
        assert back.outline.contains(hole.center)
        assert not layout.guard.outline.contains(hole.center)
        assert any(opening.name == hole.name and opening.size == hole.size for opening in parts["guard-band"].openings)
    written = platekit.export.publish(layout, platekit.check(layout), tmp_path)
    names = {path.name for path in written.written}
    assert {f"fan.{part}.{what}" for part in parts for what in ("cut.dxf", "template.pdf")} <= names


def test_a_belt_without_a_guard_is_a_warning_that_stays_until_one_is_described() -> None:
    bare = SPEC.replace("guard: {gap: 25, thickness: 2}\n", "")
    (finding,) = guard_findings(bare)
    assert finding.level == "warn"
    assert not guard_findings(with_value(bare, finding.remedies[0].field, finding.remedies[0].value))


@pytest.mark.parametrize(
    ("opening", "needed"),
    [
        # ISO 13857 table 4: slots over 8 to 10 mm need 80 mm, square 25, round 20
        ("{shape: slot, width: 10}", 80),
        ("{shape: square, width: 10}", None),
        ("{shape: round, width: 10}", None),
        ("{shape: slot, width: 12}", 100),
        ("{shape: slot, width: 25}", 850),
        # a slot no longer than 65 mm stops the hand at the thumb
        ("{shape: slot, width: 25, length: 65}", 200),
    ],
)
def test_openings_ask_for_their_safety_distance(opening: str, needed: float | None) -> None:
    text = SPEC.replace("gap: 25, thickness: 2", f"gap: 25, thickness: 2, openings: {opening}")
    findings = guard_findings(text)
    assert [finding.needed for finding in findings] == ([] if needed is None else [needed])
    for finding in findings:
        assert not guard_findings(with_value(text, finding.remedies[0].field, finding.remedies[0].value))


def test_an_opening_past_the_table_is_not_allowed_at_all() -> None:
    text = SPEC.replace("thickness: 2}", "thickness: 2, openings: {shape: round, width: 130}}")
    (finding,) = guard_findings(text)
    assert finding.level == "stop"
    assert finding.needed == 120


def test_a_guard_without_a_belt_is_told_where_it_stands() -> None:
    start, end = SPEC.index("drive:"), SPEC.index("guard:")
    with pytest.raises(SpecError, match=r"fan\.yaml:19:1  guard"):
        laid_out(SPEC[:start] + SPEC[end:])


def test_a_band_that_ends_before_the_pulleys_is_refused() -> None:
    with pytest.raises(SpecError, match=r"guard\.band"):
        laid_out(SPEC.replace("thickness: 2}", "thickness: 2, band: 29}"))


def stops(text: str) -> list[platekit.Finding]:
    return [f for f in platekit.check(laid_out(text)).findings if f.level == "stop"]


def with_guard(more: str) -> str:
    return SPEC.replace("gap: 25, thickness: 2", f"gap: 25, thickness: 2, {more}")


def test_the_plate_gets_a_hole_for_each_ear_with_steel_round_it() -> None:
    layout = laid_out()
    assert layout.guard is not None
    holes = [opening for opening in layout.openings if opening.name.startswith("guard.ear ")]
    assert [hole.center for hole in holes] == list(layout.guard.ears)
    for hole in holes:
        # two diameters of 6.6 mm from the centre to the outside (common practice: 1.5 to 2)
        assert edge_distance(hole.shape, layout.outline).distance >= 1.5 * 6.6 - 6.6 / 2
    assert not stops(SPEC)


def test_an_ear_past_the_plate_is_a_stop_with_both_figures() -> None:
    text = SPEC.replace(
        "  thickness: 8\n", "  thickness: 8\n  outline: {rectangle: {width: 400, height: 90}, at: [150, 0]}\n"
    )
    found = [f for f in stops(text) if f.rule == "edge" and f.features[0].startswith("guard.ear")]
    assert len(found) == 4
    assert all(f.found is not None and f.needed is not None and f.found < f.needed for f in found)


def test_a_guard_on_the_machine_leaves_the_plate_alone_and_says_what_was_not_looked_at() -> None:
    layout = laid_out(with_guard("on: machine"))
    assert not [opening for opening in layout.openings if opening.name.startswith("guard.")]
    notes = [f.message for f in platekit.check(layout).findings if f.rule == "not-checked"]
    assert any("its 4 ears" in message and "on: machine" in message for message in notes)


def test_ears_go_where_the_spec_says() -> None:
    layout = laid_out(with_guard("fixings: {at: [[-95, 0], [150, 95], [395, 0]]}"))
    assert layout.guard is not None
    assert layout.guard.ears == ((-95, 0), (150, 95), (395, 0))
    assert [o.center for o in layout.openings if o.role == "fixing"] == [(-95, 0), (150, 95), (395, 0)]
    with pytest.raises(SpecError, match="count"):
        laid_out(with_guard("fixings: {count: 3, at: [[-95, 0], [150, 95], [395, 0]]}"))


def test_the_back_plate_in_pieces_is_the_part_that_is_cut() -> None:
    layout = laid_out()
    pieces = [body.shape for body in layout.bodies if body.name.startswith("guard.back ")]
    back = guard_parts(layout)["guard-back"]
    shafts = sum(opening.shape.area for opening in back.openings if opening.name.startswith("shaft"))
    assert sum(piece.area for piece in pieces) == pytest.approx(back.outline.area - shafts, rel=1e-9)


@pytest.mark.parametrize("span", ["[-40, -9]", "[-30, -8]"])
def test_a_back_plate_through_a_pulley_is_a_stop_and_its_advice_holds(span: str) -> None:
    near = SPEC.replace("[-40, -20]", span)  # the plate is 8 mm thick: the back lies 8 to 10 mm from the mounts' faces
    met = [f for f in stops(near) if f.rule == "clash" and any(name.startswith("guard.back") for name in f.features)]
    assert {name for f in met for name in f.features if name.startswith("drive.dr")} == {"drive.driven", "drive.driver"}
    for finding in met:
        text = near
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        assert not [f for f in stops(text) if f.rule == "clash"]


def test_without_a_back_plate_the_ears_are_tabs_of_the_band_and_the_plate_closes_the_back() -> None:
    text = with_guard("back: none")
    parts = guard_parts(laid_out(text))
    assert tuple(parts) == ("guard-band", "guard-cover")
    tabs = [opening for opening in parts["guard-band"].openings if not opening.name.startswith("lap")]
    assert [tab.name for tab in tabs] == [f"{what} {k}" for what in ("ear", "cover screw") for k in (1, 2, 3, 4)]
    for hole in tabs:
        assert edge_distance(hole.shape, parts["guard-band"].outline).distance == pytest.approx((22 - 6.6) / 2)
    narrow = text.replace(
        "  thickness: 8\n", "  thickness: 8\n  outline: {rectangle: {width: 400, height: 90}, at: [150, 0]}\n"
    )
    (open_back,) = [f for f in guard_findings(narrow) if "closes" in f.message]
    assert open_back.level == "stop"
    assert open_back.found is not None
    assert 0 < open_back.found < 100
    for idea in (open_back.advice, *open_back.others):
        changed = narrow
        for remedy in idea.remedies:
            changed = with_value(changed, remedy.field, remedy.value)
        assert not guard_findings(changed)


@pytest.mark.parametrize(("off", "needed"), [(8, None), (10, 80), (11, 100)])
def test_a_band_that_stands_off_the_plate_is_a_slot_for_fingers(off: float, needed: float | None) -> None:
    # ISO 13857 table 4: slots over 8 to 10 mm need 80 mm, over 10 to 12 mm 100 mm
    found = [
        f for f in guard_findings(with_guard(f"back: none, back_from_plate: {off}")) if "off the plate" in f.message
    ]
    assert [f.needed for f in found] == ([] if needed is None else [needed])


@pytest.mark.parametrize("back", ["sheet", "none"])
def test_the_belt_goes_on_with_all_of_the_guard_there_but_its_cover(back: str) -> None:
    order = [step.item for step in assembly(laid_out(with_guard(f"back: {back}"))).steps]
    assert order.index("guard") < order.index("drive.belt") < order.index("guard.cover")
    if back == "sheet":  # it sits behind the pulleys
        assert order.index("guard") < order.index("drive.driver")


def test_the_back_plate_is_open_round_a_shaft_over_its_whole_travel() -> None:
    text = ROLLER.replace("back: none", "back_from_plate: 12")
    layout = platekit.lay_out(platekit.loads(text, "roller.yaml"))
    assert layout.guard is not None
    # its key turns with it and stands out of it
    (shaft,) = (body for body in layout.bodies if body.name == "motor.key")
    (motor,) = (opening for opening in layout.guard.shafts if distance(opening, shaft.shape).distance < 0)
    assert shaft.swept != shaft.shape
    assert edge_distance(shaft.swept, motor).distance == pytest.approx(5)


def test_ears_whose_nuts_meet_the_motor_are_tried_at_another_count() -> None:
    text = HULLER.replace("gap: 1.8, back: none, fixings: {count: 3}", "gap: 1, back_from_plate: 0.5")
    nuts = [
        finding
        for finding in platekit.check(platekit.lay_out(platekit.loads(text, "huller.yaml"))).findings
        if finding.rule == "clash" and any(" nut" in name for name in finding.features)
    ]
    assert nuts
    for finding in nuts:
        ideas = [remedy.value for idea in finding.others for remedy in idea.remedies]
        assert 3 in [*ideas, *(remedy.value for remedy in finding.remedies)]


def test_an_opening_for_a_socket_that_a_hand_gets_to_is_a_stop_and_its_advice_holds() -> None:
    text = ROLLER.replace("back: none", "back_from_plate: 12")
    found = [f for f in platekit.check(laid_out(text)).findings if "for a socket on" in f.message]
    assert {name for f in found for name in f.features} >= {"motor.1", "motor.2", "motor.3", "motor.4"}
    # ISO 13857 table 4: a slot over 10 to 12 mm, as it is between back plate and plate, needs 100 mm
    assert {f.needed for f in found} == {100}
    for remedy in found[0].remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not [f for f in platekit.check(laid_out(text)).findings if "for a socket on" in f.message]


def test_a_hole_of_the_plate_inside_the_guard_is_told_unless_something_closes_it() -> None:
    shaft = "  fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-42, 0], gap: 0.4}\n"
    assert not [f for f in guard_findings(SPEC) if "lets a hand through" in f.message]
    (found,) = [f for f in guard_findings(SPEC.replace(shaft, "")) if "lets a hand through" in f.message]
    assert found.features == ("bore", "guard")
    # 26 mm: ISO 13857 table 4 wants 120 mm of a round one, OSHA 1910.217 table O-10 7.5 in of 7/8 to 1-1/4 in
    assert found.needed == pytest.approx(7.5 * 25.4)
    cap = shaft.replace("fan shaft", "cap").replace("25}}, span: [-42, 0]", "60}}, span: [0, 30]")
    assert not [f for f in guard_findings(SPEC.replace(shaft, cap)) if "bore lets a hand through" in f.message]


def test_a_pulley_in_a_spec_without_a_drive_asks_for_its_guard() -> None:
    start, end = SPEC.index("drive:"), SPEC.index("cutting:")
    bare = SPEC[:start] + SPEC[end:]
    assert not guard_findings(bare)
    (found,) = guard_findings(bare.replace("  fan shaft:", "  old pulley:"))
    assert found.level == "warn"
    assert found.features == ("old pulley",)


def test_a_shaft_that_ends_behind_openings_of_the_cover_keeps_its_distance_too() -> None:
    # the shafts end 42 mm from the far face, 34 mm over the near one; a slot 8 mm wide asks for 20 mm (ISO 13857)
    text = SPEC.replace("gap: 25, thickness: 2", "gap: 25, thickness: 2, openings: {shape: slot, width: 8}")
    guard = laid_out(text).guard
    assert guard is not None
    assert guard.z[1] == pytest.approx(34 + 25)
    assert not guard_findings(text)
    low = text.replace("openings:", "band: 46, openings:")  # its cover is at 48 mm: 16 from the pulleys, 14 from these
    (found,) = guard_findings(low)
    assert (found.found, found.needed) == (pytest.approx(14), 20)
    for idea in (found.advice, *found.others):
        changed = low
        for remedy in idea.remedies:
            changed = with_value(changed, remedy.field, remedy.value)
        assert not guard_findings(changed)


@pytest.mark.parametrize("back", ["sheet", "none"])
def test_the_view_from_the_side_has_the_guard_and_the_room_left_in_it(back: str) -> None:
    layout = laid_out(SPEC.replace("gap: 25, thickness: 2", f"gap: 25, thickness: 2, back: {back}"))
    (view,) = side_views(layout)
    parts = {part.name: part.box for part in view.parts}
    guard = layout.guard
    assert guard is not None
    # pulleys 12 to 32 mm over the near face; the cover 25 mm over them, 2 mm thick; the back on the plate
    assert (parts["guard.cover"].y0, parts["guard.cover"].y1) == (pytest.approx(57), pytest.approx(59))
    assert parts["guard.band"].y1 == pytest.approx(57)
    assert parts["guard.band"].width == pytest.approx(guard.outline.box.width + 4)
    assert ("guard.back" in parts) == (back == "sheet")
    said = [measure.words for measure in view.heights]
    assert "25 mm from what turns to guard.cover" in said
    assert ("10 mm from guard.back to what turns" in said) == (back == "sheet")
    assert [words for _, _, words in view.along].count("25 mm in the guard") == 2
    assert {"guard.cover", "guard.band"} <= {name for _, name in view.named}


def test_a_band_that_is_left_to_us_goes_past_the_ends_of_the_shafts() -> None:
    text = SPEC.replace("span: [-42, 0]", "span: [-80, 0]")  # 72 mm over the near face; 2 mm keep bodies apart
    guard = laid_out(text).guard
    assert guard is not None
    assert guard.z[1] == pytest.approx(72 + 2)
    assert not stops(text)


@pytest.mark.parametrize("back", ["sheet", "none"])
def test_a_guard_that_begins_past_the_pulleys_is_refused(back: str) -> None:
    # the pulleys end 32 mm over the near face; the sheet of a back plate is 2 mm thick
    with pytest.raises(SpecError, match=f"give less than {30 if back == 'sheet' else 32} mm"):
        laid_out(with_guard(f"back: {back}, back_from_plate: 33"))


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(0, 7), st.floats(0.02, 0.98)), min_size=1, max_size=5),
    st.floats(8, 40),
    st.floats(3, 9),
    st.floats(0, 12),
)
def test_lugs_stand_on_the_sheet_as_growing_and_shrinking_rounds_them(
    spots: list[tuple[int, float]], ear: float, root: float, rounding: float
) -> None:
    """Lugs on flats are told in closed form, those near a bend or near each other by growing: both are the same."""
    corners = [Disc((150 * math.cos(0.8 * k) + 30 * k % 60, 120 * math.sin(0.8 * k)), 0.1) for k in range(8)]
    guard = replace(_guard(), outline=_convex(corners, rounding), ear=ear, root=root, thickness=2.0)
    holes = []
    for which, share in spots:
        flats = [edge for edge in guard.outline.edges if isinstance(edge, Line)]
        edge = flats[which % len(flats)]
        (x, y), (ux, uy), reach = edge.at(share), edge.direction(0.0), tab_reach(ear, 2.0)
        holes.append((x + reach * uy, y - reach * ux))
    found = sheet_with_lugs(guard, tuple(holes))
    sharp = union_loops([guard.outline.grown(2.0), *(tab_shape(guard, hole) for hole in holes)])[0]
    other = sharp.grown(root).grown(-root)
    assert found.area == pytest.approx(other.area, abs=1e-4)
    assert max(other.nearest(edge.at(0.5)).distance for edge in found.edges) < 1e-5


def _guard() -> Guard:
    guard = laid_out().guard
    assert guard is not None
    return guard


def _convex(discs: list[Disc], rounding: float) -> Loop:
    around = hull([disc.grown(rounding) for disc in discs])
    assert isinstance(around, Loop)
    return around
