"""The pictures' handles: a drag comes to the edit that takes the thing where it was dragged."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from platekit.checks import check
from platekit.layout import lay_out
from platekit.page.scene import dragged, handles, scene
from platekit.placed import Layout
from platekit.spec import load, loads, with_data

SPECS = sorted((Path(__file__).parents[2] / "specs").glob("*.yaml"))
FAR = """
platekit: 1
title: Cheese press, a part on the far side
units: {units}
plate:
  material: mild steel
  thickness: 10 mm
  outline: {{polygon: {{points: [[-9, -9], [9, -9], [9, 9], [-9, 9]]}}}}
mounts:
  press: {{side: near, looking_at: face, pattern: {{points: [[-6, 0], [6, 0]], hole: 10 mm}}}}
  pump: {{side: far, looking_at: back, pattern: {{points: [[0, 0]], hole: 9 mm}}, at: [1, 2], turn: 30 deg}}
bodies:
  cup: {{carried_by: pump, shape: {{circle: {{diameter: 1}}, at: [2, 1]}}, span: [0, 2]}}
"""


def moved(layout: Layout, name: str, to: tuple[float, float]) -> tuple[float, float]:
    """Where the handle is after it was dragged to a point."""
    after = lay_out(with_data(layout.spec, dragged(layout, name, to)))
    return {one.name: one for one in handles(after)}[name].at


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_whatever_is_dragged_comes_to_lie_there(path: Path) -> None:
    layout = lay_out(load(path))
    names = [one.name for one in handles(layout)]
    assert len(set(names)) == len(names)
    for handle in handles(layout):
        to = (handle.at[0] + 3.0, handle.at[1] + 2.0)
        if handle.kind in ("body", "cutout", "corner"):
            # Places are rounded to 0.1 mm or 0.005 in, in the carrier's own frame.
            assert math.dist(moved(layout, handle.name, to), to) < 0.1
        elif handle.kind in ("span", "end"):
            assert moved(layout, handle.name, to)[1] == pytest.approx(to[1], abs=0.07)
        elif handle.kind == "standoff":
            mount = layout.mounts[handle.name.removesuffix(" standoff")]
            # towards the plate no farther than up to it
            rise = 2.0 if mount.side == "near" else max(-mount.spacing, -2.0)
            to = (handle.at[0], handle.at[1] + rise)
            assert moved(layout, handle.name, to)[1] == pytest.approx(to[1], abs=0.07)


def test_what_stands_on_a_layer_is_dragged_off_it_and_the_layer_is_not() -> None:
    layout = lay_out(load(next(path for path in SPECS if path.stem == "bean-drum")))
    stands = {one.name: one for one in handles(layout) if one.kind == "standoff"}
    assert "ring standoff" not in stands
    x, y = stands["motor standoff"].at
    # its face is on the ring of 8; the standoff counts from there
    assert y == 8
    assert dragged(layout, "motor standoff", (x, 8 + 3.0)) == [("mounts.motor.standoff", 3.0)]
    assert dragged(layout, "motor standoff", (x, 2.0)) == [("mounts.motor.standoff", 0.0)]


def test_a_part_on_a_belt_goes_round_the_other_pulley() -> None:
    layout = lay_out(load(next(path for path in SPECS if path.stem == "dough-mixer")))
    belt = layout.belts[0]
    x, y = belt.driven.center
    for turn in (30.0, 60.0, 95.0):
        way = math.radians(turn)
        to = (x + 300 * math.cos(way), y + 300 * math.sin(way))
        ((field, value),) = dragged(layout, "motor", to)
        assert field == "mounts.motor.at.belt.angle"
        assert float(str(value).removesuffix(" deg")) == pytest.approx(turn, abs=0.06)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_body_on_the_far_side_follows_the_pointer_though_its_frame_is_mirrored(units: str) -> None:
    scale = 10 if units == "mm" else 25.4
    text = FAR.format(units=units)
    if units == "mm":
        text = text.replace("[-9, -9], [9, -9]", "[-90, -90], [90, -90]").replace(
            "[9, 9], [-9, 9]", "[90, 90], [-90, 90]"
        )
        text = text.replace("[-6, 0], [6, 0]", "[-60, 0], [60, 0]").replace("diameter: 1}", "diameter: 10}")
        text = text.replace("[1, 2]", "[10, 20]").replace("[2, 1]", "[20, 10]").replace("[0, 2]}", "[0, 20]}")
    layout = lay_out(loads(text))
    handle = {one.name: one for one in handles(layout)}["cup"]
    # By hand: seen through its back, x is mirrored first; then 30 degrees; then the mount's place.
    c, s = math.cos(math.pi / 6), math.sin(math.pi / 6)
    by_hand = (scale * (1 - 2 * c - s), scale * (2 - 2 * s + c))
    assert handle.at == pytest.approx(by_hand, abs=1e-6)
    to = (handle.at[0] + 7, handle.at[1] - 4)
    assert moved(layout, "cup", to) == pytest.approx(to, abs=0.15)
    assert moved(layout, "corner 2", (95.0, -85.0)) == pytest.approx((95.0, -85.0), abs=0.07)


def test_a_scene_has_every_opening_and_a_mark_for_each_place() -> None:
    layout = lay_out(load(next(path for path in SPECS if path.stem == "wrong-on-purpose")))
    verdict = check(layout)
    drawn = scene(layout, verdict)
    assert [one["name"] for one in drawn["front"]["openings"]] == [one.name for one in layout.openings]
    assert len(drawn["front"]["marks"]) == sum(one.at is not None for one in verdict.findings)
