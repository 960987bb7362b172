"""Reliefs: the opening a body needs, merged, kept off screws, opened through the edge; the files agree with it."""

from __future__ import annotations

import math
from pathlib import Path

import cadquery as cq
import ezdxf
import pytest

import platekit
from platekit.export.dxf_files.cut import dxf_bytes
from platekit.export.solid_step import step_bytes
from platekit.geometry import Disc, Loop, Slot, covers, distance, edge_distance

SPEC = """\
platekit: 1
title: Bodies that reach through a plate
units: mm
plate:
  material: mild steel
  thickness: 10
  outline: {{rectangle: {{width: 400, height: 300}}}}
  cutouts: {{{cutouts}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {{rectangle: {{width: 340, height: 240}}}}
    bolts: {{size: M8, into: part, depth: 20, washer: true}}
    {travel}
bodies:
{bodies}
limits: {{web: 6, edge: 14, inside_radius: 1.5}}
cutting: {{process: laser, kerf: 0.3}}
"""


def post(name: str, x: float, y: float, diameter: float = 20, more: str = "gap: 2") -> str:
    return (
        f"  {name}: {{carried_by: machine, shape: {{circle: {{diameter: {diameter}}}, at: [{x}, {y}]}}, "
        f"span: [-25, 0], relief: auto, {more}}}\n"
    )


def box(name: str, x: float, y: float, width: float, height: float, more: str = "gap: 2") -> str:
    return (
        f"  {name}: {{carried_by: machine, shape: {{rectangle: {{width: {width}, height: {height}}}, at: [{x}, {y}]}}, "
        f"span: [-25, 0], relief: auto, {more}}}\n"
    )


def laid_out(bodies: str, cutouts: str = "", travel: str = "at: [0, 0]") -> platekit.Layout:
    text = SPEC.format(bodies=bodies, cutouts=cutouts, travel=travel)
    return platekit.lay_out(platekit.loads(text, "relief.yaml"))


def stops(layout: platekit.Layout) -> set[str]:
    return {finding.rule for finding in platekit.check(layout).open("stop")}


# --------------------------------------------------------------------------------------------- room


def test_a_relief_has_the_gap_all_round_over_the_travel() -> None:
    layout = laid_out(post("cup", 0, 0), travel="take_up: {slots: {along: 90 deg, install: 4, tension: 10}}")
    opening = layout.opening("cup.relief")
    assert isinstance(opening.shape, Slot)
    assert opening.shape.a == pytest.approx((0.0, -4.0))
    assert opening.shape.b == pytest.approx((0.0, 10.0))
    assert opening.shape.radius == 12
    assert not stops(layout)


def test_corners_are_no_tighter_than_the_process_cuts() -> None:
    wide = laid_out(box("lug", 0, 0, 40, 20, "gap: 2")).opening("lug.relief").shape
    assert isinstance(wide, Loop)
    assert min(radius for _, radius in wide.outside_corners()) == pytest.approx(2.0)
    assert wide.box.width == pytest.approx(44)
    tight = laid_out(box("lug", 0, 0, 40, 20, "gap: 0.5")).opening("lug.relief").shape
    assert isinstance(tight, Loop)
    assert min(radius for _, radius in tight.outside_corners()) == pytest.approx(1.5)
    assert tight.box.width == pytest.approx(43)


def test_only_what_is_inside_the_plate_counts_of_a_stepped_body() -> None:
    steps = (
        "  boss: {carried_by: machine, steps: [{diameter: 60, span: [0, 30]}, {diameter: 30, span: [-30, 0]}], "
        "relief: auto, gap: 2}\n"
    )
    layout = laid_out(steps)
    opening = layout.opening("boss.relief")
    assert isinstance(opening.shape, Disc)
    assert opening.size == pytest.approx(34)
    assert not stops(layout)
    lying = "  pipe: {carried_by: machine, lying: {diameter: 40, length: 100, height: 10}, relief: auto, gap: 1.5}\n"
    through = laid_out(lying).opening("pipe.relief").shape
    # the axis lies 10 above the mating face: inside the plate the pipe is widest at that face
    assert through.box.height == pytest.approx(2 * math.sqrt(20**2 - 10**2) + 3)
    assert through.box.width == pytest.approx(103)


# --------------------------------------------------------------------------------------------- merging


def test_two_reliefs_with_too_thin_a_web_become_one_with_round_corners() -> None:
    apart = laid_out(post("a", -15.1, 0) + post("b", 15.1, 0))
    assert {o.name for o in apart.openings if o.role == "relief"} == {"a.relief", "b.relief"}
    near = laid_out(post("a", -14.5, 0) + post("b", 14.5, 0))
    (one,) = [o for o in near.openings if o.role == "relief"]
    assert one.merged == ("a.relief", "b.relief")
    assert covers(one.shape, Disc((-14.5, 0), 12 - 1e-6))
    assert covers(one.shape, Disc((14.5, 0), 12 - 1e-6))
    assert isinstance(one.shape, Loop)
    # the thin place is filled with arcs of half the web, which bulge into the opening
    assert min(radius for _, radius in one.shape.inside_corners()) == pytest.approx(3.0)
    assert not stops(near)


def test_a_cut_out_beside_a_relief_becomes_part_of_it() -> None:
    layout = laid_out(post("a", 0, 0), cutouts="cable: {circle: {diameter: 16}, at: [23, 0]}")
    (one,) = [o for o in layout.openings if o.role in ("relief", "cutout")]
    assert one.merged == ("a.relief", "cable")
    assert not stops(layout)


def test_many_in_a_row_become_one() -> None:
    layout = laid_out("".join(post(f"p{k}", 28 * k - 84, 0) for k in range(7)))
    (one,) = [o for o in layout.openings if o.role == "relief"]
    assert len(one.merged) == 7
    assert not stops(layout)


def test_many_through_each_other_become_one_that_leaves_each_its_gap() -> None:
    bars = "".join(
        f"  b{k}: {{carried_by: machine, shape: {{rectangle: {{width: 120, height: {1 + k % 3}}}, turn: {15 * k}}}, "
        "span: [-12, 0], gap: 2, relief: auto}\n"
        for k in range(12)
    )
    layout = laid_out(bars)
    (one,) = [o for o in layout.openings if o.role == "relief"]
    assert set(one.merged) == {f"b{k}.relief" for k in range(12)}
    for body in layout.bodies:
        if body.relief:
            assert edge_distance(body.swept, one.shape).distance >= 2 - 1e-6
    assert isinstance(one.shape, Loop)
    corners = [radius for _, radius in one.shape.outside_corners() if radius > 0]
    assert min(corners) >= 1.5 - 1e-6
    hollows = [radius for _, radius in one.shape.inside_corners()]
    assert min(hollows) >= 3 - 1e-6  # half the web, 6 mm


def test_merging_never_comes_nearer_to_a_screw() -> None:
    # two boxes whose thin web ends beside the screw at 170, 120
    bodies = box("a", 140, 106, 40, 8) + box("b", 140, 120 - 30, 40, 12)
    layout = laid_out(bodies)
    screw = next(o for o in layout.openings if o.role == "screw" and o.center == pytest.approx((170, 120)))
    for opening in layout.openings:
        if opening.role == "relief":
            assert distance(opening.shape, screw.shape).distance >= min(
                6 - 1e-6, distance(layout.openings[-1].shape, screw.shape).distance
            )


# --------------------------------------------------------------------------------------------- notches


def test_a_relief_that_breaks_the_edge_becomes_a_notch_with_round_corners() -> None:
    layout = laid_out(box("frame", 195, 0, 40, 60))
    assert not [o for o in layout.openings if o.role == "relief"]
    assert isinstance(layout.outline, Loop)
    # 25 + 2 mm deep from the edge at x = 200, 64 wide, two corners of radius 2
    assert layout.outline.area == pytest.approx(400 * 300 - (27 * 64 - 2 * (1 - math.pi / 4) * 4))
    assert min(radius for _, radius in layout.outline.inside_corners()) == pytest.approx(2.0)
    assert not stops(layout)


def test_a_relief_just_inside_the_edge_opens_too_and_one_well_inside_does_not() -> None:
    near = laid_out(post("cup", 184, 0))
    assert not [o for o in near.openings if o.role == "relief"]
    assert not stops(near)
    assert distance(Disc((184, 0), 10), near.outline).distance == pytest.approx(2.0)
    inside = laid_out(post("cup", 181.9, 0))
    assert [o.name for o in inside.openings if o.role == "relief"] == ["cup.relief"]
    assert inside.outline.area == pytest.approx(400 * 300)


def test_a_body_beside_the_plate_needs_nothing() -> None:
    layout = laid_out(post("cup", 230, 0))
    assert not [o for o in layout.openings if o.role == "relief"]
    assert layout.outline.area == pytest.approx(400 * 300)
    assert not stops(layout)


def test_a_notch_that_would_cut_a_screw_hole_away_is_not_made_and_the_plate_stops() -> None:
    layout = laid_out(box("frame", 170, 105, 30, 10))
    assert [o.name for o in layout.openings if o.role == "relief"] == ["frame.relief"]
    assert stops(layout)


def test_a_relief_across_the_whole_plate_does_not_cut_it_in_two() -> None:
    layout = laid_out(box("beam", 0, 0, 500, 20))
    assert edge_distance(layout.opening("beam.relief").shape, layout.outline).distance < 0
    assert "edge" in stops(layout)


# --------------------------------------------------------------------------------------------- files


@pytest.fixture(scope="module")
def notched() -> platekit.Layout:
    return laid_out(box("frame", 195, 0, 40, 60) + post("a", -14.5, 0) + post("b", 14.5, 0) + post("c", 0, -149))


def test_the_cut_file_of_merged_reliefs_and_notches_passes_its_proof(notched: platekit.Layout, tmp_path: Path) -> None:
    assert not stops(notched)
    # writing proves the file against the layout: loops, areas, kinds of entity
    (tmp_path / "notched.dxf").write_bytes(dxf_bytes(notched))
    space = ezdxf.readfile(tmp_path / "notched.dxf").modelspace()
    inside = [entity for entity in space if entity.dxf.layer == "CUT-INSIDE"]
    # the merged opening; the screw holes are marked and drilled
    assert len(inside) == 1
    assert len([entity for entity in space if entity.dxf.layer == "CUT-OUTSIDE"]) == 1


def test_the_solid_of_merged_reliefs_and_notches_has_the_volume_of_the_layout(
    notched: platekit.Layout, tmp_path: Path
) -> None:
    (tmp_path / "notched.step").write_bytes(step_bytes(notched))
    solid = cq.importers.importStep(str(tmp_path / "notched.step")).val()
    assert isinstance(solid, cq.Shape)
    assert solid.Volume() == pytest.approx(notched.net_area * notched.thickness, rel=1e-6)
