"""Lightening openings: webs and corners as wide as asked, steel where something bears, none without strength."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.checks import Finding, lighten
from platekit.checks.stiffer import shares, wider_webs
from platekit.checks.strength import worked_out
from platekit.geometry import Arc, Disc, Pose, distance, edge_distance
from platekit.laying.lighten import lightened, webs_between
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks import carried, plates

HAIR = 1e-6


def light(web: float, corner: float = 8, *more: tuple[str, str], text: str | None = None) -> Layout:
    words = f"thickness: 6\n  lighten: {{web: {web}, corner: {corner}}}"
    return platekit.lay_out(platekit.loads(text or plates.changed(("thickness: 6", words), *more), "plate.yaml"))


@settings(max_examples=12)
@given(web=st.floats(8, 30), corner=st.floats(3, 20))
def test_webs_and_corners_are_what_was_asked_for(web: float, corner: float) -> None:
    layout = light(web, corner)
    for one in layout.lightening:
        assert edge_distance(one.shape, layout.outline).distance >= web - HAIR
        edges = one.shape.loop().edges
        for before, edge in zip((edges[-1], *edges[:-1]), edges, strict=True):
            # going round counter-clockwise: what turns left is a corner of the opening, and none is sharp
            assert not (isinstance(edge, Arc) and edge.sweep > 0) or edge.radius >= corner - HAIR
            (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
            assert ux * vy - uy * vx < 1e-3
    for one, other in itertools.combinations(layout.openings, 2):
        if one in layout.lightening or other in layout.lightening:
            assert distance(one.shape, other.shape).distance >= web - HAIR


def test_the_plate_weighs_less_by_what_is_taken_out() -> None:
    layout = light(12)
    plain = platekit.lay_out(platekit.loads(plates.SOUND, "plate.yaml"))
    # by points along each outline and the shoelace formula, not by the closed forms of the program
    area = 0.0
    for one in layout.lightening:
        spots = [edge.at(k / 200) for edge in one.shape.loop().edges for k in range(200)]
        area += sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise([*spots, spots[0]])) / 2
    assert plain.mass - layout.mass == pytest.approx(area * 6 * 7850e-9, rel=1e-4)
    assert len(layout.lightening) >= 6


def test_a_mirrored_plate_has_mirrored_openings() -> None:
    turned = plates.changed(
        ("at: [90, -70]", "at: [-90, -70]"), ("at: [170, 0]", "at: [-170, 0]"), ("at: [60, 0]", "at: [-60, 0]")
    ).replace("thickness: 6", "thickness: 6\n  lighten: {web: 12, corner: 8}")
    one, other = light(12), light(12, text=turned)
    spots = sorted((round(p.shape.area, 3), round(abs(p.center[0]), 3), round(p.center[1], 3)) for p in one.lightening)
    assert spots == sorted(
        (round(p.shape.area, 3), round(abs(p.center[0]), 3), round(p.center[1], 3)) for p in other.lightening
    )


def test_webs_of_equal_length_cross_and_longer_ones_give_way() -> None:
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    assert len(webs_between(square)) == 6  # four sides and both diagonals
    flat = [(0.0, 0.0), (10.0, 0.0), (12.0, 8.0), (2.0, 8.0)]
    assert len(webs_between(flat)) == 5  # of the two diagonals the shorter one
    assert len(webs_between([*square, (5.0, 5.0)])) == 8  # over the middle no web goes on


def test_steel_stays_under_bars_and_behind_a_guard() -> None:
    rib = "thickness: 6\n  ribs: {spine: {side: far, from: [-100, -110], to: [200, -110], height: 20, width: 6}}"
    layout = light(12, text=plates.changed(("thickness: 6", f"{rib}\n  lighten: {{web: 12, corner: 8}}")))
    assert layout.lightening
    (bar,) = layout.ribs
    for one in layout.lightening:
        assert distance(one.shape, bar.shape).distance >= 5 + 6 - HAIR  # the weld's leg and half a web
    plain = platekit.lay_out(platekit.loads(plates.SOUND, "plate.yaml"))
    spec, covered = light(12).spec, Disc((60.0, 90.0), 60.0)
    found = lightened(spec, plain.openings, plain.outline, plain.limits, plain.mounts, (covered,))
    assert len(found) > len(plain.openings)
    for one in found[len(plain.openings) :]:
        assert distance(one.shape, covered).distance >= -HAIR


def of_rule(layout: Layout) -> list[Finding]:
    return list(lighten.lighten(layout))


def test_nothing_is_taken_out_of_a_plate_of_which_nobody_knows_what_it_bears() -> None:
    (finding,) = of_rule(light(12))
    assert finding.level == "stop"
    assert "nothing says what motor weighs" in finding.message
    assert "mass" in finding.advice.text
    assert not platekit.check(light(12)).clear


def test_what_is_saved_is_told_once_strength_says_yes() -> None:
    layout = light(24, text=carried.LIGHTENED)
    (finding,) = of_rule(layout)
    assert finding.level == "note"
    assert finding.found == pytest.approx(light(24, text=carried.SOUND).mass - layout.mass)
    assert f"{finding.found:.3g} kg" in finding.message


def test_webs_too_wide_for_any_opening_are_told_and_narrower_ones_do() -> None:
    text = carried.LIGHTENED.replace("web: 24", "web: 90")
    (finding,) = of_rule(light(90, text=text))
    assert (finding.level, finding.found) == ("note", 0.0)
    (remedy,) = finding.remedies
    assert light(45, text=with_value(text, remedy.field, remedy.value)).lightening or any(
        light(45, text=with_value(text, r.field, r.value)).lightening
        for other in finding.others
        for r in other.remedies
    )


def test_wider_webs_are_advised_where_thin_ones_do_not_hold() -> None:
    text = carried.carrying("25 kg", 150, 6).replace("plate:\n", "plate:\n  lighten: {web: 20, corner: 6}\n", 1)
    layout = light(20, text=text)
    thin = worked_out(layout)
    assert thin is not None
    assert shares(layout, thin)["strength"] > 1
    (advice,) = wider_webs(layout, "strength")
    (remedy,) = advice.remedies
    wider = light(20, text=with_value(text, remedy.field, remedy.value))
    holds = worked_out(wider)
    assert holds is not None
    assert shares(wider, holds)["strength"] <= 1
    assert len(wider.lightening) > 0


def test_the_openings_follow_the_plate_when_all_of_it_is_moved() -> None:
    moved = plates.changed(
        ("at: [90, -70]", "at: [190, -20]"), ("at: [170, 0]", "at: [270, 50]"), ("at: [60, 0]", "at: [160, 50]")
    ).replace("side: far\n    looking_at: face", "side: far\n    at: [100, 50]\n    looking_at: face")
    moved = moved.replace("thickness: 6", "thickness: 6\n  lighten: {web: 12, corner: 8}")
    one, other = light(12), light(12, text=moved)
    for a, b in zip(one.lightening, other.lightening, strict=True):
        assert b.shape.area == pytest.approx(a.shape.area)
        assert math.dist(Pose(100, 50).point(a.center), b.center) < 1e-3
