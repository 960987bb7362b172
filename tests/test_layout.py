"""The layout: what is mirrored, where z lies, how travel opens slots, what screws are chosen."""

from __future__ import annotations

import gc
import math
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit import layout
from platekit.errors import SpecError
from platekit.geometry import CurvedSlot, Disc, Slot, distance

BARE = """\
platekit: 1
title: One mount
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 900, height: 900}}}}}}
mounts:
  part:
    side: {side}
    {looking}
    pattern: {pattern}
    {more}
    bolts: {bolts}
{bodies}
"""
LOPSIDED = "{points: [[30, 5], [-10, 40], [-25, -12]]}"


def laid_out(
    side: str = "far",
    looking: str = "looking_at: face",
    pattern: str = LOPSIDED,
    more: str = "at: [0, 0]",
    bolts: str = "{size: M8, into: part, depth: 20}",
    bodies: str = "",
) -> platekit.Layout:
    text = BARE.format(side=side, looking=looking, pattern=pattern, more=more, bolts=bolts, bodies=bodies)
    return platekit.lay_out(platekit.loads(text, "one.yaml"))


def centers(layout: platekit.Layout) -> list[tuple[float, float]]:
    return [opening.center for opening in layout.openings if opening.role == "screw"]


@pytest.mark.parametrize(
    ("side", "looking", "mirrored"),
    [("near", "face", True), ("near", "back", False), ("far", "face", False), ("far", "back", True)],
)
def test_a_pattern_without_symmetry_is_mirrored_by_side_and_by_what_was_looked_at(
    side: str, looking: str, mirrored: bool
) -> None:
    layout = laid_out(side, f"looking_at: {looking}")
    sign = -1 if mirrored else 1
    assert centers(layout) == [(sign * 30, 5), (sign * -10, 40), (sign * -25, -12)]


def test_a_carried_body_is_mirrored_and_turned_with_its_carrier() -> None:
    body = "bodies: {lug: {carried_by: part, shape: {circle: {diameter: 8}, at: [20, 6]}, span: [0, 5]}}"
    layout = laid_out("near", "looking_at: face", more="turn: 90 deg\n    at: [100, 50]", bodies=body)
    lug = next(b for b in layout.bodies if b.name == "lug")
    # mirrored to (-20, 6), turned by 90 degrees to (-6, -20), moved by (100, 50)
    assert lug.shape.centroid == pytest.approx((94, 30))


@pytest.mark.parametrize("side", ["near", "far"])
def test_the_turn_is_counter_clockwise_seen_from_the_near_side_on_both_sides(side: str) -> None:
    layout = laid_out(side, "looking_at: face", "{points: [[50, 0]]}", "turn: 30 deg")
    sign = -1 if side == "near" else 1
    expected = (sign * 50 * math.cos(math.radians(30)), sign * 50 * math.sin(math.radians(30)))
    assert centers(layout)[0] == pytest.approx(expected)


def test_looking_at_must_be_said_when_the_mirror_image_differs() -> None:
    with pytest.raises(SpecError, match="looking_at"):
        laid_out(looking="")
    laid_out(looking="", pattern="{rectangle: {width: 80, height: 60}}")


def test_looking_at_must_be_said_when_only_a_carried_body_tells_the_sides_apart() -> None:
    body = "bodies: {cup: {carried_by: part, shape: {circle: {diameter: 8}, at: [AT]}, span: [0, 5]}}"
    square = "{rectangle: {width: 80, height: 60}}"
    with pytest.raises(SpecError, match=r"looking_at.*cup"):
        laid_out(looking="", pattern=square, bodies=body.replace("AT", "20, 0"))
    laid_out(looking="", pattern=square, bodies=body.replace("AT", "0, 20"))


@pytest.mark.parametrize(
    ("side", "span", "standoff", "z"),
    [
        ("near", "[-48, 0]", 0, (-48, 0)),
        ("near", "[-48, 0]", 25, (-23, 25)),
        ("near", "[0, 270]", 0, (0, 270)),
        # a boss 14 mm proud of the far part reaches 4 mm past the near face of a 10 mm plate
        ("far", "[-14, 0]", 0, (-10, 4)),
        ("far", "[0, 30]", 0, (-40, -10)),
        ("far", "[-14, 0]", 6, (-16, -2)),
    ],
)
def test_spans_are_measured_from_the_mating_face(side: str, span: str, standoff: float, z: tuple[float, float]) -> None:
    body = f"bodies: {{b: {{carried_by: part, shape: {{circle: {{diameter: 8}}}}, span: {span}}}}}"
    layout = laid_out(side, more=f"standoff: {standoff}", bodies=body)
    assert next(b for b in layout.bodies if b.name == "b").z == pytest.approx(z)


def test_slots_cover_the_travel_in_the_direction_that_tightens() -> None:
    layout = laid_out(more="take_up: {slots: {along: 90 deg, install: 5, tension: 12}}")
    slot = layout.opening("part.1").shape
    assert isinstance(slot, Slot)
    assert sorted((slot.a, slot.b), key=lambda p: p[1]) == [pytest.approx((30, 0)), pytest.approx((30, 17))]
    assert slot.radius == pytest.approx(4.5)


def test_a_hole_on_the_pivot_stays_round_and_the_others_curve_about_it() -> None:
    swing = "take_up: {swing: {about: [30, 5], tightens: clockwise, install: 4 deg, tension: 8 deg}}"
    layout = laid_out(more=swing)
    assert isinstance(layout.opening("part.1").shape, Disc)
    curved = layout.opening("part.2").shape
    assert isinstance(curved, CurvedSlot)
    assert curved.center == pytest.approx((30, 5))
    assert curved.mid_radius == pytest.approx(math.hypot(40, 35))
    assert curved.sweep == pytest.approx(math.radians(12))
    # clockwise tightens: from nominal the slot goes 8 degrees clockwise and 4 degrees the other way
    nominal = math.atan2(35, -40)
    assert curved.start == pytest.approx(nominal - math.radians(8))


def test_polar_places_are_measured_from_the_other_mounts_zero() -> None:
    text = """\
platekit: 1
title: Chain of places
units: mm
plate: {material: mild steel, thickness: 6}
mounts:
  a: {side: far, pattern: {circle: {count: 4, diameter: 40, hole: 9}}, at: [10, 20]}
  b: {side: far, pattern: {circle: {count: 4, diameter: 40, hole: 9}}, at: {from: a, distance: 100, angle: 90 deg}}
  c: {side: far, pattern: {circle: {count: 4, diameter: 40, hole: 9}}, at: {from: b, distance: 50, angle: 180 deg}}
"""
    layout = platekit.lay_out(platekit.loads(text, "chain.yaml"))
    assert (layout.mounts["c"].pose.x, layout.mounts["c"].pose.y) == pytest.approx((-40, 120))


@pytest.mark.parametrize(
    ("bolts", "length", "engagement"),
    [
        # 10 mm plate and an ISO 7089 washer of 1.6 mm; M8 in cast iron wants 12 mm: 11.6 + 12 = 23.6, next length 25
        ("{size: M8, into: part, depth: 20, washer: true}", 25, 13.4),
        # in steel 8 mm do: 19.6, next length 20
        ("{size: M8, into: part, depth: 20, washer: true, thread_in: steel}", 20, 8.4),
        # through a flange of 12 mm into a nut: 22 mm, nut 6.8 (ISO 4032) and a thread of 1.25: 30.05, next 35
        ("{size: M8, into: nut, flange: 12}", 35, 13),
    ],
)
def test_the_next_stock_length_that_holds_is_chosen(bolts: str, length: float, engagement: float) -> None:
    stack = laid_out(bolts=bolts).stacks[0]
    assert stack.length == pytest.approx(length)
    assert stack.engagement == pytest.approx(engagement)


def test_a_tapped_plate_is_drilled_for_its_thread_and_takes_the_head_on_the_parts_side() -> None:
    layout = laid_out("near", bolts="{size: M8, into: plate, flange: 12}")
    assert layout.opening("part.1").size == pytest.approx(6.8)
    assert layout.opening("part.1").thread == "M8"
    head = next(body for body in layout.bodies if body.kind == "head")
    assert head.side == "near"
    assert head.z[0] == pytest.approx(12)


def test_a_missing_flange_is_asked_for_where_it_is_missing() -> None:
    with pytest.raises(SpecError) as caught:
        laid_out(bolts="{size: M8, into: nut}")
    problem = caught.value.problems[0]
    assert problem.field == "mounts.part.bolts.flange"
    assert problem.line == 11


def test_inches_and_millimetres_give_the_same_plate() -> None:
    metric = laid_out(pattern="{circle: {count: 3, diameter: 127, start: 10 deg, hole: 12.7}}")
    inch = platekit.lay_out(
        platekit.loads(
            BARE.replace("units: mm", "units: in")
            .format(
                side="far",
                looking="looking_at: face",
                pattern="{circle: {count: 3, diameter: 5, start: 10 deg, hole: 1/2 in}}",
                more="at: [0, 0]",
                bolts="{size: M8, into: part, depth: 20 mm}",
                bodies="",
            )
            .replace("thickness: 10,", "thickness: 10 mm,")
            .replace("width: 900, height: 900", "width: 900 mm, height: 900 mm"),
            "inch.yaml",
        )
    )
    for one, other in zip(metric.openings, inch.openings, strict=True):
        assert one.center == pytest.approx(other.center)
        assert one.size == pytest.approx(other.size)
    assert metric.outline.area == pytest.approx(inch.outline.area)


@settings(max_examples=40)
@given(
    turn=st.floats(-360, 360),
    x=st.floats(-200, 200),
    y=st.floats(-200, 200),
    side=st.sampled_from(["near", "far"]),
    looking=st.sampled_from(["face", "back"]),
)
def test_no_placing_changes_the_distances_within_a_pattern(
    turn: float, x: float, y: float, side: str, looking: str
) -> None:
    layout = laid_out(side, f"looking_at: {looking}", more=f"turn: {turn:.6f} deg\n    at: [{x:.6f}, {y:.6f}]")
    own = [(30, 5), (-10, 40), (-25, -12)]
    placed = centers(layout)
    for (a, b), (c, d) in zip(product(own, own), product(placed, placed), strict=True):
        assert math.dist(a, b) == pytest.approx(math.dist(c, d), abs=1e-9)


def test_a_wrapped_outline_leaves_the_margin_round_every_opening() -> None:
    text = """\
platekit: 1
title: Wrapped
units: mm
plate: {material: mild steel, thickness: 8, outline: {wrap: {margin: 12}}}
mounts:
  a: {side: far, looking_at: face, pattern: {points: [[0, 0], [100, 10], [40, 80], [45, 30]], hole: 11}}
"""
    layout = platekit.lay_out(platekit.loads(text, "wrap.yaml"))
    gaps = [min(distance(Disc(o.center, o.size / 2 + 12 - 1e-7), layout.outline).distance, 0) for o in layout.openings]
    assert all(gap <= 0 for gap in gaps)
    # three discs of radius 17.5 round the outer holes: hull area = triangle + perimeter x r + pi r^2
    corners = [(0, 0), (100, 10), (40, 80)]
    sides = sum(math.dist(corners[i], corners[i - 1]) for i in range(3))
    triangle = abs(100 * 80 - 40 * 10) / 2
    assert layout.outline.area == pytest.approx(triangle + sides * 17.5 + math.pi * 17.5**2, rel=1e-12)


def test_the_layout_of_the_same_spec_is_the_same() -> None:
    assert laid_out().openings == laid_out().openings
    assert laid_out().spec.revision == laid_out().spec.revision


def test_a_pilot_that_carries_the_screws_shortens_the_grip_by_what_it_sinks_into_the_plate() -> None:
    pattern = "{circle: {count: 4, diameter: 184.15, start: 45 deg}}"
    bolts = "{size: 1/2-13, into: nut, flange: 15}"
    flat = laid_out(pattern=pattern, bolts=bolts).stacks[0]
    sunk = laid_out(pattern=pattern, bolts=bolts, more="pilot: {diameter: 215.9, depth: 6, opening: recess}").stacks[0]
    resting = laid_out(pattern=pattern, bolts=bolts, more="pilot: {diameter: 215.9, depth: 6, opening: none}")
    assert flat.grip == pytest.approx(25)
    assert sunk.grip == pytest.approx(19)
    assert resting.stacks[0].grip == pytest.approx(25)
    assert not [body for body in resting.bodies if body.kind == "spigot"]


def test_the_collector_of_cycles_rests_while_a_plate_is_laid_out(monkeypatch: pytest.MonkeyPatch) -> None:
    resting: list[bool] = []
    laid_out = layout._laid_out

    def watched(spec: platekit.Spec) -> platekit.Layout:
        resting.append(not gc.isenabled())
        return laid_out(spec)

    monkeypatch.setattr(layout, "_laid_out", watched)
    platekit.lay_out(platekit.load(Path(platekit.__file__).parents[1] / "specs" / "dough-mixer.yaml"))
    assert resting == [True]
    assert gc.isenabled()
