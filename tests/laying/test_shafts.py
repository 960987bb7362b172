"""Drives whose shafts lie along the plate: places, slots and solids worked out by hand.

The motor is of frame 90S on feet. Source: IEC 60072-1:1991, table 1, as EN 50347 prints it: H 90, A 140, B 100, C 56,
D 24, E 50 mm. Its shoulder is B / 2 + C = 106 mm from the middle of its holes, its shaft's end 156 mm.

Two pulleys of 100 mm and a belt of 1000 + 100 pi mm keep the shafts 500 mm apart; the machine's lies 300 mm above the
motor's, so that along the plate they are 400 mm apart (3, 4, 5).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.errors import SpecError
from platekit.geometry import Lying, StandingPrism, Straight
from platekit.laying.shafts import shaft_of
from platekit.placed import Layout

SPEC = """
platekit: 1
title: Line shaft beside a motor on feet
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 3000, height: 3000}}}
mounts:
  bed:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 80, height: 300}}
    at: [-200, 0]
    turn: 0 deg
    bolts: {size: M12, into: part, depth: 28, washer: true}
    shaft: {height: -400, along: 90 deg, stretch: [-200, 200], diameter: 30}
  motor:
    side: near
    pattern: {standard: IEC 90S}
    at: {belt: {from: bed, angle: 0 deg}}
    turn: 0 deg
    bolts: {size: M8, into: nut, flange: 10, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
drive:
  motor: {power: 1.1 kW, speed: 1420 rpm, frequency: 50 Hz, max_speed: 3000 rpm}
  belt: {section: A, pitch_length: 1314.1592653589793}
  driver: {on: motor, pitch_diameter: 100, span: {width: 20, from_end: 0}}
  driven: {on: bed, pitch_diameter: 100, span: [100, 120]}
cutting: {process: laser}
"""


def laid(*changes: tuple[str, str]) -> Layout:
    text = SPEC
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return platekit.lay_out(platekit.loads(text, "line-shaft.yaml"))


def where(layout: Layout) -> tuple[float, float]:
    pose = layout.mounts["motor"].pose
    return (pose.x, pose.y)


SLOTS = "slots: {along: belt, install: auto, tension: auto}"
RIM = "span: {width: 20, from_end: 0}"
SECOND_TURN = "turn: 0 deg\n    bolts: {size: M8"


def motor_turned(degrees: float) -> tuple[str, str]:
    return (SECOND_TURN, SECOND_TURN.replace("0 deg", f"{degrees} deg"))


def turned(p: tuple[float, float], degrees: float) -> tuple[float, float]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (c * p[0] - s * p[1], s * p[0] + c * p[1])


# --------------------------------------------------------------------------------------- places


def test_the_belt_places_a_motor_on_feet_beside_a_shaft_along_y() -> None:
    layout = laid()
    # the driven rim's middle is 110 mm up the shaft; the driver's 10 mm before the end at 156 mm
    assert where(layout) == pytest.approx((-200 + 400, 110 - 146))
    shaft = shaft_of(layout, layout.belts[0].driver)
    assert shaft is not None
    assert shaft.point == pytest.approx((200, -36 + 106, 90))
    assert shaft.direction == pytest.approx((0, 1, 0))
    assert shaft.stretch == (0, 50)
    driven = shaft_of(layout, layout.belts[0].driven)
    assert driven is not None
    assert driven.point == pytest.approx((-200, 0, 390))  # 400 mm on the near side of the far face, 10 mm thick


@pytest.mark.parametrize("turn", [30.0, -90.0, 180.0, 77.0])
def test_all_turned_together_is_the_same_turned(turn: float) -> None:
    x, y = turned((-200, 0), turn)
    layout = laid(
        ("at: [-200, 0]\n    turn: 0 deg", f"at: [{x!r}, {y!r}]\n    turn: {turn} deg"),
        ("angle: 0 deg}}\n    turn: 0 deg", f"angle: {turn} deg}}}}\n    turn: {turn} deg"),
    )
    assert where(layout) == pytest.approx(turned((200, -36), turn))
    travel = layout.mounts["motor"].travel
    assert isinstance(travel, Straight)
    assert travel.direction == pytest.approx(turned((1, 0), turn))


def test_on_the_other_side_of_the_shaft() -> None:
    assert where(laid(("angle: 0 deg", "angle: 180 deg"))) == pytest.approx((-200 - 400, -36))


def test_on_the_other_end_of_the_shaft_and_turned_round() -> None:
    assert where(laid(("span: [100, 120]", "span: [-120, -100]"))) == pytest.approx((200, -110 - 146))
    round_ = laid(("angle: 0 deg}}\n    turn: 0 deg", "angle: 0 deg}}\n    turn: 180 deg"))
    assert where(round_) == pytest.approx((200, 110 + 146))


def test_a_motor_under_the_plate_hangs_its_shaft_as_far_below_it() -> None:
    layout = laid(
        ("side: near\n    pattern: {standard", "side: far\n    pattern: {standard"), ("height: -400", "height: -210")
    )
    # the motor's axis is at -10 - 90, the machine's at -10 + 210: 300 mm apart
    assert layout.belts[0].driver.center[1] == pytest.approx(-100)
    assert where(layout) == pytest.approx((200, -36))


def test_a_pattern_seen_from_behind_mirrors_the_shaft_with_it() -> None:
    slanted = laid(
        ("along: 90 deg", "along: 60 deg"),
        ("angle: 0 deg", "angle: -30 deg"),
        motor_turned(-30),
    )
    behind = laid(
        ("looking_at: face", "looking_at: back"),
        ("along: 90 deg", "along: 120 deg"),
        ("angle: 0 deg", "angle: -30 deg"),
        motor_turned(-30),
    )
    assert where(behind) == pytest.approx(where(slanted))
    shaft = shaft_of(behind, behind.belts[0].driven)
    assert shaft is not None
    assert shaft.direction == pytest.approx((0.5, math.sqrt(3) / 2, 0))


@settings(max_examples=25)
@given(st.floats(-180, 180), st.floats(-200, 150), st.booleans(), st.sampled_from(["near", "far"]))
def test_shafts_are_as_far_apart_as_the_belt_wants_and_pulleys_in_one_plane(
    turn: float, place: float, over: bool, side: str
) -> None:
    turn = round(turn, 2)
    layout = laid(
        ("turn: 0 deg\n    bolts: {size: M12", f"turn: {turn} deg\n    bolts: {{size: M12"),
        (
            "angle: 0 deg}}\n    turn: 0 deg",
            f"angle: {turn + (180 if over else 0)} deg}}}}\n    turn: {turn + 180} deg",
        ),
        ("side: near", f"side: {side}"),
        ("span: [100, 120]", f"span: [{round(place, 2)}, {round(place, 2) + 20}]"),
        ("height: -400", "height: -250"),
    )
    belt = layout.belts[0]
    axes = [shaft_of(layout, pulley) for pulley in (belt.driver, belt.driven)]
    assert axes[0] is not None
    assert axes[1] is not None
    way = axes[1].direction
    apart = [q - p for p, q in zip(axes[0].point, axes[1].point, strict=True)]
    along = sum(a * w for a, w in zip(apart, way, strict=True))
    assert math.sqrt(sum(a * a for a in apart) - along * along) == pytest.approx(500, abs=1e-6)
    assert belt.driver.plane == pytest.approx(belt.driven.plane)
    rims = [next(b for b in layout.bodies if b.name == f"drive.{end}").pieces[0] for end in ("driver", "driven")]
    for rim, shaft in zip(rims, axes, strict=True):
        assert isinstance(rim, Lying)
        assert shaft is not None
        middle = [(p + q) / 2 for p, q in zip(rim.a, rim.b, strict=True)]
        off = (middle[0] - shaft.point[0]) * shaft.direction[1] - (middle[1] - shaft.point[1]) * shaft.direction[0]
        assert off == pytest.approx(0, abs=1e-6)
        assert rim.height == pytest.approx(shaft.point[2])
        assert math.dist(rim.a, rim.b) == pytest.approx(20)


# --------------------------------------------------------------------------------------- slots


def test_slots_run_square_to_the_shaft_and_give_the_belt_its_travel() -> None:
    layout = laid()
    travel, needed = layout.mounts["motor"].travel, layout.belts[0].result.travel
    assert isinstance(travel, Straight)
    assert needed is not None
    assert travel.direction == pytest.approx((1, 0))
    assert math.hypot(400 - travel.install, 300) == pytest.approx(needed.shortest)
    assert math.hypot(400 + travel.tension, 300) == pytest.approx(needed.longest)


def test_slots_by_hand_travel_farther_by_as_much_as_they_lean() -> None:
    straight, leaning = laid(), laid(("along: belt", "along: 20 deg"))
    one, other = straight.mounts["motor"].travel, leaning.mounts["motor"].travel
    assert isinstance(one, Straight)
    assert isinstance(other, Straight)
    assert other.tension * math.cos(math.radians(20)) == pytest.approx(one.tension)
    assert other.direction == pytest.approx((math.cos(math.radians(20)), math.sin(math.radians(20))))


# --------------------------------------------------------------------------------------- words


def driver_span(span: str, *more: tuple[str, str]) -> tuple[float, float]:
    return laid((RIM, f"span: {span}"), *more).belts[0].driver.span


def test_where_a_pulley_sits_in_words_that_can_be_measured() -> None:
    assert driver_span("{width: 20, from_face: 12}") == pytest.approx((12, 32))
    assert driver_span("{width: 20, from_end: 0}") == pytest.approx((30, 50))
    assert driver_span("{width: 20, from_end: 4}") == pytest.approx((26, 46))
    fixed = ("at: {belt: {from: bed, angle: 0 deg}}", "at: [200, -30]")
    # the shoulder is at y = -30 + 106 = 76, the driven rim's middle at 110: 34 mm along
    assert driver_span("{width: 20, in_line: true}", fixed) == pytest.approx((24, 44))


def test_two_shafts_of_one_part_each_with_its_own_pulley() -> None:
    two = (
        "shaft: {height: -400, along: 90 deg, stretch: [-200, 200], diameter: 30}",
        "shafts:\n      in: {height: -400, along: 90 deg, stretch: [0, 200], diameter: 30}\n"
        "      out: {at: [0, 0], height: -210, along: -90 deg, stretch: [0, 200], diameter: 40}",
    )
    named = laid(two, ("driven: {on: bed,", "driven: {on: bed, shaft: in,"))
    assert where(named) == pytest.approx(where(laid()))
    other = laid(
        two,
        ("driven: {on: bed,", "driven: {on: bed, shaft: out,"),
        motor_turned(180),
    )
    # 110 mm down the other end; the motor's shaft points down too
    assert where(other)[1] == pytest.approx(-110 + 146)
    assert {"bed.in", "bed.out"} <= {body.name for body in other.bodies}


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ([("driven: {on: bed,", "driven: {on: bed, shaft: top,")], "drive.driven.shaft", "no shaft of bed"),
        ([("driven: {on: bed,", "driven: {on: bed, at: [1, 2],")], "drive.driven.at", "a place beside its shaft"),
        ([("angle: 0 deg", "angle: 5 deg")], "mounts.motor.at.belt.angle", "5.0 degrees from square to the shafts"),
        (
            [(RIM, "span: {width: 20, in_line: true}")],
            "drive.driver.span.in_line",
            "no place",
        ),
        ([("height: -400", "height: -700")], "mounts.motor.at.belt.angle", "their heights differ by 600.0 mm"),
        (
            [
                (
                    "slots: {along: belt, install: auto, tension: auto}",
                    "swing: {about: [0, 0], tightens: clockwise, install: auto}",
                )
            ],
            "mounts.motor.take_up.swing",
            "out of line",
        ),
        ([("along: belt", "along: 88 deg")], "mounts.motor.take_up.slots.along", "off the shafts"),
        ([("stretch: [-200, 200]", "stretch: [200, -200]")], "mounts.bed.shaft", "falls"),
    ],
)
def test_what_cannot_be_is_told_at_its_place(changes: list[tuple[str, str]], place: str, words: str) -> None:
    with pytest.raises(SpecError) as caught:
        laid(*changes)
    problem = caught.value.problems[0]
    assert problem.field == place
    assert words in str(caught.value)


# --------------------------------------------------------------------------------------- solids


def test_runs_of_belt_stand_on_the_plate_between_their_pulleys() -> None:
    layout = laid(("height: -400", "height: -100"), ("at: {belt: {from: bed, angle: 0 deg}}", "at: [300, -36]"))
    runs = [body for body in layout.bodies if body.name.startswith("drive.belt")]
    assert len(runs) == 2
    lowest = min(runs, key=lambda one: one.z[0]).pieces[0]
    assert isinstance(lowest, StandingPrism)
    # both axes at 90: the lower run's cords are at 40, level, from x = -200 to 300, in the plane y = 110
    box = lowest.silhouette.box
    thick = lowest.high - lowest.low
    assert (lowest.low + lowest.high) / 2 == pytest.approx(40)
    assert (box.y0 + box.y1) / 2 == pytest.approx(110)
    assert (box.x0, box.x1) == pytest.approx((-200 - thick / 2, 300 + thick / 2))
