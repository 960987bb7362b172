"""Places of a motor on feet beside a shaft along the plate: across the pull, along the shaft, both ways round."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from platekit.checks import check
from platekit.drive import belt_length
from platekit.errors import SpecError
from platekit.geometry import Straight
from platekit.jobs.place import search_figures
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec, loads
from platekit.studies.place import place, written_text
from platekit.studies.place_one import Search
from platekit.studies.place_space import SearchPose, Spots, poses_of, space_of, spec_at
from tests.checks.lying import SOUND

PLACE = "at: {belt: {from: bed, angle: 0 deg}}"
BY_BELT = "at: {find: {belt: {from: bed}, turn: any}}"
SLOTS = "along: belt, install: auto, tension: auto"
# The pitch length of 1250 mm over pulleys of 200 and 80 mm leaves the shafts D apart. The bed's shaft is 150 mm over
# the far face of a plate of 15 mm, so 135 mm over the near one; the motor's is 90 mm over it (IEC 60072-1, frame 90).
RISE = 135 - 90


def spec_of(*changes: tuple[str, str]) -> Spec:
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return loads(text, "line-shaft.yaml")


def searched(*changes: tuple[str, str]) -> Search:
    return place(spec_of(*changes), "motor")


def numbers(row: Spots) -> tuple[int, int, int]:
    return (int(row[0]), int(row[1]), int(row[2]))


def apart(layout: Layout) -> float:
    return math.dist(layout.belts[0].driver.center, layout.belts[0].driven.center)


def off_line(layout: Layout) -> float:
    return layout.belts[0].driver.plane - layout.belts[0].driven.plane


def test_by_the_belt_there_are_two_directions_and_two_ways_round() -> None:
    space = space_of(spec_of((PLACE, BY_BELT)), "motor")
    assert [tuple(map(int, row)) for row in space.grid()] == [
        (0, 0, 0),
        (0, 0, 1800),
        (1800, 0, 0),
        (1800, 0, 1800),
    ]
    for row in space.grid():
        layout = lay_out(spec_at(space, SearchPose("near", numbers(row))))
        x, y = layout.mounts["motor"].pose.x, layout.mounts["motor"].pose.y
        assert belt_length(apart(layout), 80, 200) == pytest.approx(1250, abs=1e-6)
        over = math.sqrt(apart(layout) ** 2 - RISE**2)
        assert x == pytest.approx(-200 + (over if row[0] == 0 else -over))
        # the driven rim's middle is 110 mm up its shaft; the driver's 146 mm from the motor's zero, to its end
        assert y == pytest.approx(110 - 146 if row[2] == 0 else 110 + 146)


def test_the_place_found_is_clear_and_is_written_with_its_slots() -> None:
    search = searched((PLACE, BY_BELT))
    assert [p.spot.numbers for p in search.places] == [(0, 0, 0)]
    again = loads(written_text(search, 1), "line-shaft.yaml")
    assert check(lay_out(again)).clear
    assert lay_out(again).mounts["motor"].pose == search.places[0].layout.mounts["motor"].pose


@pytest.mark.parametrize(
    ("find", "where"),
    [
        (
            "{belt: {from: bed, angles: [20 deg, 160 deg]}}",
            "find.belt.angles: found directions of which none is square",
        ),
        ("{belt: {from: bed}, turn: [10 deg, 100 deg]}", "find.turn: found turns of which none leaves the shaft"),
        ("{box: [[100, 0], [300, 100]]}", r"comes nowhere into line.*let it hold \[200, -36\]"),
    ],
)
def test_a_space_without_any_such_place_is_told(find: str, where: str) -> None:
    with pytest.raises(SpecError, match=where) as caught:
        searched((PLACE, f"at: {{find: {find}}}"))
    assert caught.value.problems[0].line > 0


def test_in_a_box_only_places_in_line_are_looked_at() -> None:
    search = searched((PLACE, "at: {find: {box: [[190, -60], [206, 20]], turn: any}}"))
    assert search.places
    for p in search.places:
        assert off_line(p.layout) == pytest.approx(0, abs=0.08)
        assert p.merits.belt == pytest.approx(abs(apart(p.layout) - _wanted()), abs=0.01)
    assert search.places[0].merits.belt == pytest.approx(0, abs=0.1)


def _wanted() -> float:
    return apart(lay_out(spec_of()))


def test_turned_by_thirty_degrees_the_lines_are_turned_with_it() -> None:
    # the shaft 30 degrees off y; all else as it was, a plate with room all round
    text = SOUND.replace("at: [-200, 0]", "at: [-200, 0]\n    turn: 30 deg").replace(
        "width: 900, height: 500", "width: 1500, height: 1500"
    )
    text = text.replace(PLACE, "at: {find: {box: [[-100, 0], [200, 300]], turn: any}}")
    space = space_of(loads(text, "line-shaft.yaml"), "motor")
    assert space.turns.steps(1) == [300, 2100]
    grid = space.grid()
    _, can = poses_of(space, "near", grid)
    assert can.sum() > 100
    for row in grid[np.flatnonzero(can)[::200]]:
        layout = lay_out(spec_at(space, SearchPose("near", numbers(row))))
        assert off_line(layout) == pytest.approx(0, abs=0.08)
        travel = layout.mounts["motor"].travel
        assert isinstance(travel, Straight)
        assert abs(travel.direction[0] * math.cos(math.radians(30)) + travel.direction[1] * 0.5) == pytest.approx(1)


@pytest.mark.parametrize(
    "slots", [SLOTS, "along: 0 deg, install: auto, tension: auto", "along: 0 deg, install: 12, tension: 9"]
)
def test_the_travel_of_many_poses_is_that_of_the_layout(slots: str) -> None:
    spec = spec_of((SLOTS, slots), (PLACE, "at: {find: {box: [[150, -60], [250, 320]], turn: any}}"))
    space = space_of(spec, "motor")
    grid = space.grid()[::97]
    at, can = poses_of(space, "near", grid)
    assert can.any()
    for k in np.flatnonzero(can):
        layout = lay_out(spec_at(space, SearchPose("near", numbers(grid[k]))))
        travel = layout.mounts["motor"].travel
        assert isinstance(travel, Straight)
        assert at.high[k] == pytest.approx([travel.tension * d for d in travel.direction], abs=1e-6)
        assert at.low[k] == pytest.approx([-travel.install * d for d in travel.direction], abs=1e-6)


def test_a_pulley_in_line_is_found_its_place_along_its_shaft() -> None:
    """The motor may stand anywhere along the shafts, as far as its pulley of 20 mm stays on its shaft of 50 mm."""
    search = searched((PLACE, BY_BELT), ("span: {width: 20, from_end: 0}", "span: {width: 20, in_line: true}"))
    assert search.places
    for p in search.places:
        assert off_line(p.layout) == pytest.approx(0)
        back = p.spot.numbers[1] / 10
        assert 0 <= back <= 30
        # the shaft ends 156 mm from the feet's middle; the rim's own is half its width nearer, and what it sits back
        sign = 1 if p.spot.numbers[2] == 0 else -1
        assert p.layout.mounts["motor"].pose.y == pytest.approx(110 - sign * (146 - back))
    text = written_text(search, 1)
    assert f"from_end: {search.places[0].spot.numbers[1] / 10:g}" in text
    assert check(lay_out(loads(text, "line-shaft.yaml"))).clear
    told = json.loads(json.dumps(search_figures(search)))["places"][0]
    assert told["from_end_mm"] == search.places[0].spot.numbers[1] / 10


FREE = """\
platekit: 1
title: Motor beside a post
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 700, height: 700}}}
mounts:
  bed:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 600, height: 600}}
    bolts: {size: M12, into: part, depth: 24}
  motor:
    side: near
    pattern: {standard: IEC 90S}
    at: {find: {box: [[0, 0], [60, 60]], turn: [85 deg, 95 deg], side: either}}
    bolts: {size: M8, into: nut, flange: 10}
    take_up: {slots: {along: 10 deg, install: 8, tension: 15}}
cutting: {process: laser}
"""


def test_slots_of_a_motor_on_feet_turn_with_it() -> None:
    """They stand 10 degrees off square to its shaft, and mirrored so on the other side."""
    space = space_of(loads(FREE, "post.yaml"), "motor")
    for side, turn, along in (("near", 900, 100.0), ("far", 900, 80.0), ("near", 850, 95.0)):
        layout = lay_out(spec_at(space, SearchPose(side, (100, 100, turn))))  # type: ignore[arg-type]
        travel = layout.mounts["motor"].travel
        assert isinstance(travel, Straight)
        found = math.degrees(math.atan2(travel.direction[1], travel.direction[0]))
        assert (found - along) % 180 == pytest.approx(0, abs=1e-6)
        at, _ = poses_of(space, side, np.array([[100, 100, turn]]))  # type: ignore[arg-type]
        assert at.high[0] == pytest.approx([15 * d for d in travel.direction])


def test_the_turned_slots_are_written() -> None:
    search = place(loads(FREE, "post.yaml"), "motor")
    text = written_text(search, 1)
    assert "along: 10 deg" not in text
    again = lay_out(loads(text, "post.yaml"))
    ours = search.places[0].layout.mounts["motor"].travel
    travel = again.mounts["motor"].travel
    assert isinstance(travel, Straight)
    assert isinstance(ours, Straight)
    assert travel.direction == pytest.approx(ours.direction, abs=1e-6)
