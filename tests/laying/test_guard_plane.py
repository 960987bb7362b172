"""The guard over shafts along the plate: a box that stands on the plate, or one that goes all round the belt."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.analysis.assembly import assembly
from platekit.drawing.from_side import side_views
from platekit.errors import SpecError
from platekit.geometry import Disc, Line, Loop, Slot, polygon_loop, rectangle
from platekit.laying.guard import footprint, walls
from platekit.laying.guard_parts import guard_parts
from platekit.laying.guard_plane import in_plane, without
from platekit.placed import Guard
from tests.laying.lying_guards import GUARD, guarded


def laid_out(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "line-shaft.yaml"))


def guard_of(text: str) -> Guard:
    guard = laid_out(text).guard
    assert guard is not None
    return guard


def test_the_sound_one_passes_every_rule() -> None:
    findings = platekit.check(laid_out(guarded())).findings
    assert not [f.message for f in findings if f.level == "stop"]
    assert not [f.message for f in findings if f.rule == "guard"]


def test_it_stands_on_the_plate_with_walls_square_to_it_and_keeps_its_gap_over_the_travel() -> None:
    layout = laid_out(guarded())
    guard = layout.guard
    assert guard is not None
    assert guard.floor == 0.0
    assert guard.outline.box.y0 == pytest.approx(0.0, abs=1e-9)
    first, *_, last = walls(guard.outline, 0.0)
    for wall, end in ((first, first.a), (last, last.b)):
        assert isinstance(wall, Line)
        assert wall.direction(0.0)[0] == pytest.approx(0.0, abs=1e-9)
        assert end[1] == pytest.approx(0.0, abs=1e-9)
    # IEC 90S pulls its 85.5 mm rim from 174.08 to 245.43 mm, 90 mm over the plate; the other is 205.5 mm at -200
    assert guard.outline.box.x1 == pytest.approx(198.05108 + 47.37404 + 42.75 + 20, abs=1e-3)
    assert guard.outline.box.x0 == pytest.approx(-200 - 102.75 - 20, abs=1e-3)
    for body in layout.bodies:
        if body.belt == "drive":
            shape, _ = in_plane(guard.drawn, body)
            assert min(guard.outline.depth(p).distance for p in points(shape.loop())) >= 20 - 1e-6


def points(loop: Loop) -> list[tuple[float, float]]:
    return [edge.at(k / 8) for edge in loop.edges for k in range(8)]


def test_a_rolled_band_is_as_long_as_its_middle_and_half_a_turn_of_its_sheet() -> None:
    guard = guard_of(guarded("guard: {gap: 20, band_made: rolled}\n"))
    hollow = math.fsum(edge.length for edge in walls(guard.outline, guard.floor))
    # straight up at one end and straight down at the other, so half a turn in all, its neutral fibre 1 mm further out
    assert guard.band_length == pytest.approx(hollow + math.pi * 1.0, abs=1e-6)


def test_the_flat_patterns_have_their_feet_where_these_lie_once_folded() -> None:
    parts = guard_parts(laid_out(guarded()))
    assert sorted(parts) == ["guard-back", "guard-band", "guard-cover"]
    # folded over 2 mm inside in 2 mm sheet the fold takes pi/2 * (2 + 0.325 * 2) mm (DIN 6935); 4 mm of wall end before
    # it, and the hole stands 13 mm off the hollow side
    reach = math.pi / 2 * (2 + 0.325 * 2) - 4 + (13 - 4)
    back = parts["guard-back"]
    (hole,) = [opening for opening in back.openings if opening.name.startswith("foot")]
    assert hole.center[1] == pytest.approx(-reach)
    assert back.outline.box.y0 == pytest.approx(-reach - 11)
    band = parts["guard-band"]
    holes = sorted(opening.center[0] for opening in band.openings if opening.name.startswith("foot"))
    guard = guard_of(guarded())
    assert holes == pytest.approx([-reach, guard.band_length + reach])
    assert band.flat is not None
    # a line for each fold: of both feet and the cover's four tabs; the bends of the band are marked at both edges
    bends = len(walls(guard.outline, guard.floor)) // 2
    assert len(band.flat.folds) == 2 + 4 + 2 * bends


def test_a_band_longer_than_the_stock_is_lapped_and_has_a_foot_at_its_ends_only() -> None:
    parts = guard_parts(laid_out(guarded(GUARD, ("process: laser", "process: laser, sheet: [800, 500]"))))
    strips = {name: part for name, part in parts.items() if name.startswith("guard-band")}
    assert len(strips) == 2
    for part in strips.values():
        what = [opening.name.split()[0] for opening in part.openings]
        assert what.count("foot") == 1
        assert what.count("lap") == 2


def test_segments_are_flat_and_their_feet_are_welded_on() -> None:
    parts = guard_parts(laid_out(guarded("guard: {gap: 20, fixings: {count: 3}, band_made: segments}\n")))
    ears = [part for name, part in parts.items() if name.startswith("guard-ear")]
    assert sum(part.cutting.copies for part in ears) == 3 + 4
    assert not any(part.flat is not None and part.flat.folds for part in parts.values())
    assert parts["guard-back"].outline.box.y0 == pytest.approx(0.0, abs=1e-9)


def test_the_plate_has_a_hole_under_each_foot_and_a_wrap_takes_the_guard_in() -> None:
    layout = laid_out(guarded(GUARD, ("rectangle: {width: 1060, height: 500, corner: 10}, at: [150, 0]", "wrap: {}")))
    guard = layout.guard
    assert guard is not None
    holes = [opening.center for opening in layout.openings if opening.name.startswith("guard.foot")]
    assert holes == [foot.hole for foot in guard.feet]
    assert all(layout.outline.contains(corner) for corner in (edge.a for edge in footprint(guard).edges))
    assert not [f for f in platekit.check(layout).findings if f.rule in ("edge", "web", "guard")]


def test_it_goes_on_before_the_pulleys_and_opens_by_its_cover_alone() -> None:
    order = [step.item for step in assembly(laid_out(guarded())).steps]
    assert order.index("motor") < order.index("guard") < order.index("drive.driver") < order.index("drive.belt")
    assert order[-1] == "guard.cover"


def test_on_the_machine_its_band_goes_all_round() -> None:
    text = guarded("guard: {gap: 20, on: machine}\n", ("height: -150", "height: -330"))
    guard = guard_of(text)
    assert guard.floor is None
    assert not guard.feet
    assert len(guard.ears) == 4
    assert len(walls(guard.outline, guard.floor)) == len(guard.outline.edges)
    assert guard.joints


def test_a_guard_in_the_steel_of_the_plate_is_stopped() -> None:
    findings = platekit.check(laid_out(guarded("guard: {gap: 40, on: machine}\n"))).findings
    assert any(f.rule == "blocked" and f.features[0].startswith("guard.") for f in findings)


@pytest.mark.parametrize(
    ("guard", "others", "words"),
    [
        ("guard: {back: none}\n", [], "the plate stands square to its back"),
        ("guard: {split: [driven]}\n", [], "pull the pulleys off"),
        ("guard: {fixings: {at: [[0, 0], [10, 0]]}}\n", [], "give `count`"),
        ("guard: {on: machine, back_from_plate: 5}\n", [], "leave it out"),
        ("guard: {}\n", [("height: -150", "height: -80")], "fix it to the machine"),
    ],
)
def test_what_is_not_built_is_refused_in_a_plain_sentence(
    guard: str, others: list[tuple[str, str]], words: str
) -> None:
    with pytest.raises(SpecError, match=words):
        laid_out(guarded(guard, *others))


def test_it_is_seen_from_both_sides() -> None:
    for view in side_views(laid_out(guarded())):
        assert {"guard.band", "guard.back", "guard.cover"} <= {part.name for part in view.parts}


@given(
    st.lists(st.tuples(st.integers(-60, 60), st.integers(-30, 30), st.integers(4, 18), st.integers(0, 30)), max_size=3),
    st.lists(st.tuples(st.floats(-0.49, 0.49), st.floats(-0.49, 0.49)), min_size=20, max_size=20),
)
@settings(max_examples=60)
def test_pieces_of_an_opened_sheet_hold_all_of_its_steel(
    holes: list[tuple[int, int, int, int]], spots: list[tuple[float, float]]
) -> None:
    sheet = rectangle(200, 100, 10.0)
    openings = [Slot((x, y), (x + long, y), r) if long else Disc((x, y), r) for x, y, r, long in holes]
    pieces = without(sheet, openings)
    assert all(piece.is_convex for piece in pieces)
    for x, y in ((200 * a, 100 * b) for a, b in spots):
        clear = min((-one.loop().depth((x, y)).distance for one in openings), default=1.0)
        held = max((piece.depth((x, y)).distance for piece in pieces), default=-1.0)
        if sheet.depth((x, y)).distance > 1e-6 and clear > 1e-6:
            assert held >= -1e-6
        if clear < -0.51:
            assert held <= 1e-6


def test_a_piece_is_told_by_its_corners() -> None:
    pieces = without(rectangle(10, 10), [polygon_loop([(-1, -1), (1, -1), (1, 1), (-1, 1)])])
    assert math.fsum(piece.area for piece in pieces) == pytest.approx(96)
