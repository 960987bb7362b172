"""Places that are known to be there are found: a box between four walls, however little play it has."""

from __future__ import annotations

import math
import random

import pytest

from platekit.checks import check
from platekit.errors import SpecError
from platekit.layout import lay_out
from platekit.spec import Spec, loads
from platekit.studies.place import found, place

NEEDLE = """\
platekit: 1
title: A box between four walls
units: mm
plate: {{material: mild steel, thickness: 6, outline: {{rectangle: {{width: 700, height: 700}}}}}}
mounts:
  machine: {{side: far, looking_at: face, at: [-300, -300], pattern: {{circle: {{diameter: 40, count: 4, hole: 9}}}}}}
  motor:
    side: near
    looking_at: back
    pattern: {{rectangle: {{width: 70, height: 40, hole: 7}}}}
    {place}
bodies:
  box: {{carried_by: motor, shape: {{rectangle: {{width: 100, height: 60}}}}, span: [0, 100]}}
{walls}
cutting: {{process: laser}}
limits: {{web: 6}}
"""


def needle(play: float, at: tuple[float, float], turn: float, place: str) -> str:
    """A box 100 x 60 in a chamber turned with it, with so much play on all sides beyond the usual gap of 2 mm."""
    room = 2 + play
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    walls = []
    for k, (x, y, w, h) in enumerate(
        [(250 + room, 0, 400, 900), (-250 - room, 0, 400, 900), (0, 230 + room, 104, 400), (0, -230 - room, 104, 400)]
    ):
        middle = f"[{at[0] + c * x - s * y:.6f}, {at[1] + s * x + c * y:.6f}]"
        shape = f"{{rectangle: {{width: {w}, height: {h}}}, at: {middle}, turn: {turn} deg}}"
        walls.append(f"  wall{k}: {{carried_by: plate, side: near, shape: {shape}, span: [10, 90]}}")
    return NEEDLE.format(place=place, walls="\n".join(walls))


def drawn(seed: int) -> tuple[float, tuple[float, float], float, str]:
    """Play, place and turn (both in tenths), and where it is looked for."""
    some = random.Random(seed)
    play = some.choice([0.2, 0.3, 0.6, 1.0, 2.0, 4.0])
    at = (some.randint(-1200, 1200) / 10, some.randint(-1200, 1200) / 10)
    fixed = some.random() < 0.3
    turn = some.randint(-1799, 1800) / 10
    kept = f"turn: {turn} deg\n    " if fixed else ""
    return (
        play,
        at,
        turn,
        f"{kept}at: {{find: {{box: [[-150, -150], [150, 150]], turn: {'fixed' if fixed else 'any'}}}}}",
    )


def spec(text: str) -> Spec:
    return loads(text, "needle.yaml")


@pytest.mark.parametrize("seed", range(6))
def test_a_place_that_is_there_is_found(seed: int) -> None:
    play, at, turn, wanted = drawn(seed)
    known = needle(play, at, turn, f"at: [{at[0]}, {at[1]}]\n    turn: {turn} deg")
    assert check(lay_out(spec(known))).clear
    search = place(spec(needle(play, at, turn, wanted)), "motor", count=1)
    assert search.places
    layout = search.places[0].layout
    assert check(layout).clear
    assert math.dist(layout.mounts["motor"].pose.point((0.0, 0.0)), at) <= math.hypot(play, play) + 0.1


def test_where_there_is_none_the_grid_is_said() -> None:
    too_wide = needle(-0.2, (8.4, 10.9), -3.8, "at: {find: {box: [[-150, -150], [150, 150]], turn: any}}")
    with pytest.raises(SpecError) as caught:
        found(spec(too_wide))
    said = str(caught.value)
    assert "no place without a stop on a grid of 0.1 mm and 0.1 degrees of turn" in said
    assert "narrow" not in said  # it was looked at to the end


def test_a_space_too_large_to_be_looked_at_finely_is_to_be_narrowed() -> None:
    # a hundred small posts leave thousands of places where the box nearly fits
    wanted = "at: {find: {box: [[-200, -200], [200, 200]], turn: any}}"
    posts = "\n".join(
        f"  post{k}: {{carried_by: plate, side: near, shape: {{circle: {{diameter: 8}}, "
        f"at: [{-250 + 55 * (k % 10)}, {-250 + 55 * (k // 10)}]}}, span: [10, 90]}}"
        for k in range(10 * 10)
    )
    text = NEEDLE.format(place=wanted, walls=posts).replace("width: 100, height: 60", "width: 112, height: 62")
    try:
        found(spec(text))
    except SpecError as error:
        said = str(error)
        assert "narrow the space (box, turn)" in said or "grid of 0.1 mm and 0.1 degrees" in said
        assert "larger space" not in said or "grid of 0.1 mm" in said
    else:
        raise AssertionError("the box is wider than two posts are apart, whichever way it lies")
