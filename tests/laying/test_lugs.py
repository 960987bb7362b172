"""Lugs of jacking screws that are screwed to the plate: angle and bent sheet, from the spec to the cut file."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.analysis.assembly import assembly
from platekit.analysis.parts_list import pieces_of
from platekit.checks.lugs import burdens
from platekit.errors import SpecError
from platekit.export.text.parts_list import piece_words
from platekit.geometry import Disc, nearer_than
from platekit.laying.flat_parts import flat_parts
from platekit.laying.jacks import lug_foot
from platekit.placed import Layout, LugAngle
from platekit.spec import with_value
from tests.laying.test_bases import jacked, laid, rules, sides_changed


def lugged(made: str, into: str = "nut", more: str = "", jack: str = "") -> str:
    """The sound drive with a lug of a make; `more` goes into the lug, `jack` takes the place of height and block."""
    screws = f"screws: {{size: M8, into: {into}, washer: true}}{more}"
    return jacked(f"{{size: M10, at: [98, -44], {jack or 'height: 40, block: 10'}, lug: {{{made}: {{{screws}}}}}}}")


def angle_of(layout: Layout) -> LugAngle:
    jack = layout.mounts["motor"].jack
    assert jack is not None
    assert jack.angle is not None
    return jack.angle


@pytest.mark.parametrize("into", ["nut", "plate"])
@pytest.mark.parametrize("made", ["bolted", "bent"])
@pytest.mark.parametrize("far", [False, True])
def test_a_lug_that_is_screwed_on_is_sound(made: str, into: str, far: bool) -> None:
    text = lugged(made, into)
    if far:
        text = sides_changed(text).replace("at: [98, -44]", "at: [-98, -44]")
    layout = laid(text)
    verdict = platekit.check(layout)
    assert not [
        one for one in verdict.findings if one.stops or ("lug" in " ".join(one.features) and one.rule != "small-hole")
    ]
    motor = layout.mounts["motor"]
    jack, travel = motor.jack, motor.travel
    assert jack is not None
    # no weld in front of it: 2 mm behind where the tip is with the motor pushed home (23.97 mm)
    assert jack.set_back == pytest.approx(23.969 + 2, abs=1e-3)
    assert travel is not None
    # its holes are openings of the plate, 33 or 28 mm behind the outside of the leg, 20 mm off the axis each
    holes = [layout.opening(f"motor lug.{k}") for k in (1, 2)]
    row = {"bolted": 33, "bent": 28}[made]
    x, y = jack.back(jack.set_back + row)
    assert sorted(hole.center for hole in holes) == [pytest.approx((x, y - 20)), pytest.approx((x, y + 20))]
    assert all(hole.thread == ("M8" if into == "plate" else None) for hole in holes)
    # screwed down before the motor is pushed; nothing is welded
    order = assembly(layout)
    assert not order.welded
    step = next(one for one in order.steps if one.item == "motor lug")
    assert step.screws == ("motor lug.1", "motor lug.2")
    assert step.tools
    # its solids stand on the face that the motor is on, foot and leg 10 mm thick
    lug = next(body for body in layout.bodies if body.name == "motor.jack lug")
    leg, foot, corner = lug.pieces
    high = {"bolted": 80, "bent": 60}[made]
    root = {"bolted": 15, "bent": 10}[made]
    for solid, up in ((leg, high), (foot, 10), (corner, 10 + root)):
        assert (solid.low, solid.high) == pytest.approx((-15 - up, -15) if far else (0, up))


def test_a_bent_lug_has_the_blank_that_the_bend_table_gives() -> None:
    layout = laid(lugged("bent"))
    blank = flat_parts(layout)["lug-1"]
    # DIN 6935 at r/s = 1: k = 0.65, so that the neutral fibre is 3.25 mm off the hollow side: a quarter of 13.25 mm
    fold = math.pi / 2 * (10 + 0.325 * 10)
    assert blank.outline.box.height == pytest.approx((60 - 20) + fold + (60 - 20))
    assert blank.thickness == 10
    by_name = {one.name: one for one in blank.openings}
    # the axis is 40 mm over the plate, the bend ends 20 mm over it
    assert by_name["jacking screw"].center[1] == pytest.approx(40 + fold + 20)
    assert by_name["jacking screw"].size == pytest.approx(8.5)
    assert by_name["screw 1"].center[1] == pytest.approx(60 - 28)
    assert by_name["screw 2"].center[0] - by_name["screw 1"].center[0] == pytest.approx(40)
    assert blank.flat is not None
    assert blank.flat.cut
    assert [line.a[1] for line in blank.flat.folds] == [pytest.approx(40 + fold / 2)] * 2
    own = laid(lugged("bent", more=", k_factor: 0.4, bend_radius: 12"))
    assert flat_parts(own)["lug-1"].outline.box.height == pytest.approx(2 * (62 - 22) + math.pi / 2 * (12 + 0.4 * 10))


def test_a_lug_from_angle_has_a_paper_to_fold_and_is_not_cut() -> None:
    layout = laid(lugged("bolted"))
    paper = flat_parts(layout)["lug-1"]
    # the smallest listed angle 10 mm thick whose legs are long enough; its outsides make 160 mm
    assert angle_of(layout).stock == "80 x 80"
    assert paper.outline.box.height == pytest.approx(160)
    assert paper.flat is not None
    assert not paper.flat.cut
    by_name = {one.name: one for one in paper.openings}
    assert by_name["jacking screw"].center[1] == pytest.approx(80 + 40)
    assert by_name["screw 1"].center[1] == pytest.approx(80 - 33)


def test_lug_screws_and_stock_are_on_the_list() -> None:
    for made, words in (
        ("bolted", "angle 80 × 80 × 10 mm, 67 mm long"),
        ("bent", "bent lug: blank 100.81 × 67 × 10 mm"),
    ):
        layout = laid(lugged(made))
        pieces = pieces_of(layout)
        (lug,) = [one for one in pieces if one.kind in ("angle", "lug")]
        assert piece_words(lug, "mm").startswith(words)
        screws = [one for one in pieces if one.part == "motor lug" and one.kind == "screw"]
        # 15 mm of plate, 10 of foot, two washers of 1.6, a nut of 6.8 and a thread of 1.25: 36.25 mm; 40 is sold
        assert [(one.size, one.length, one.count) for one in screws] == [("M8", 40.0, 2)]


def test_an_angle_that_nobody_lists_is_refused_and_said_ones_are_taken() -> None:
    with pytest.raises(SpecError, match="no angle of that thickness is listed"):
        laid(lugged("bolted", jack="height: 40, block: 11"))
    with pytest.raises(SpecError, match="100 mm is the longest"):
        laid(lugged("bolted", jack="height: 140, block: 8"))
    own = laid(lugged("bolted", more=", foot: 70, upright: 90", jack="height: 40, block: 11"))
    assert (angle_of(own).foot, angle_of(own).stock) == (70, "")


def test_what_a_lug_takes_is_what_a_lever_gives_by_hand() -> None:
    layout = laid(lugged("bent"))
    jack, angle = layout.mounts["motor"].jack, angle_of(layout)
    assert jack is not None
    leg, foot, pull, slide = burdens(layout, jack, angle, 1000.0, "M8", 9.0)
    # 1000 N, 40 mm up: 40 Nm in 67 x 10 mm, less two holes of 9 mm in the foot
    assert leg.found == pytest.approx(40000 / (67 * 100 / 6))
    assert foot.found == pytest.approx(40000 / ((67 - 18) * 100 / 6))
    # seven eighths of the 32 mm behind the screws
    assert pull.found == pytest.approx(40000 / (7 / 8 * 32) / 2)
    # M8 8.8: 600 N/mm2 (over 16 mm; 580 to 16 mm) on 36.6 mm2, three quarters of it, half of that at the least
    assert pull.allowed == pytest.approx(0.75 * 580 * 36.6 / 2, rel=0.02)
    assert slide.allowed == pytest.approx(0.2 * 2 * pull.allowed / 1.25)


@pytest.mark.parametrize(
    ("made", "more", "jack", "said"),
    [
        ("bent", ", foot: 40", "", "ends 12 mm from the middle of its two screws"),
        ("bent", ", width: 55", "", "ends 7.5 mm from the middle of its two screws"),
        ("bent", ", upright: 48", "", "the upright of its bent lug"),
        ("bent", ", bend_radius: 6", "", "cracks under 10 mm"),
        ("bolted", "", "height: 40, block: 8", "its thread wants 8.4 mm"),
        ("bolted", "", "height: 33, block: 10", "sits on the corner"),
        ("bent", "", "height: 300, block: 10", "is bent at its screws"),
        ("bolted", ", width: 60", "height: 135, block: 10", "is bent at its screws"),
    ],
)
def test_each_advice_on_a_lug_ends_its_finding(made: str, more: str, jack: str, said: str) -> None:
    from platekit.studies.advised import judge

    text = lugged(made, more=more, jack=jack)
    found = [one for one in judge(laid(text)).findings if one.rule == "jack" and said in one.message]
    assert found
    assert found[0].advice.remedies, found[0].advice.text
    for remedy in found[0].advice.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not [one for one in rules(laid(text), "jack") if said[:20] in one.message]


def test_a_lug_over_the_edge_or_an_opening_is_stopped_and_its_own_holes_are_none() -> None:
    text = lugged("bent").replace("width: 900", "width: 240").replace("[150, 0]", "[300, 0]")
    (stop,) = [one for one in rules(laid(text), "jack") if one.level == "stop"]
    assert "past the edge" in stop.message
    assert "all of its foot bears" in stop.message


def test_the_part_never_meets_its_lug_and_a_socket_passes_the_lock_nut() -> None:
    layout = laid(lugged("bent"))
    jack = layout.mounts["motor"].jack
    assert jack is not None
    lug = next(body for body in layout.bodies if body.name == "motor.jack lug")
    nut = next(body for body in layout.bodies if body.name == "motor.jack lock nut")
    motor = [body for body in layout.bodies if body.carrier == "motor" and ".jack" not in body.name]
    for body in motor:
        assert not any(nearer_than(one, other, 1.0) for one in lug.pieces for other in body.swept_solids)
    # a socket for M8 is 17.9 mm or so outside: from 11 mm off the axis on, where the lock nut ends at 9.24 mm
    for name in layout.mounts["motor lug"].hole_names:
        center = layout.opening(name).center
        assert math.dist(center, (center[0], jack.tip[1])) - 9.2 > nut.shape.box.height / 2
        assert lug_foot(jack).grown(-9).box.x0 < center[0] or isinstance(layout.opening(name).shape, Disc)


def test_a_mount_by_the_name_of_a_lug_is_refused() -> None:
    other = "  motor lug:\n    side: far\n    looking_at: face\n    pattern: {points: [[300, 100]], hole: 9}\n"
    text = lugged("bent").replace("  motor:\n", f"{other}  motor:\n")
    with pytest.raises(SpecError, match="the lug is that"):
        laid(text)
