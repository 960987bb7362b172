"""The key on a standard's shaft turns with it: a solid wider than the shaft, along it as the standard says."""

from __future__ import annotations

import pytest

import platekit
from platekit.export.text.belt import belt_rows
from platekit.geometry import Disc, Lying
from platekit.placed import Body, Layout
from platekit.units import INCH
from tests.checks.lying import SOUND, changed


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "line-shaft.yaml"))


def key(text: str) -> Body:
    (found,) = [body for body in laid(text).bodies if body.name == "motor.key"]
    return found


def test_the_key_of_a_foot_motor_by_hand() -> None:
    # IEC 90S: shaft 24 x 50 mm at 90 mm, key 8 x 7 with 4 mm of it in the shaft (ISO/R 773): 3 mm stand out. Its length
    # is the maker's, so that it may be anywhere along the 50 mm.
    text = SOUND.replace("at: {belt: {from: bed, angle: 0 deg}}", "at: [200, 0]")
    (piece,) = key(text).solids
    assert isinstance(piece, Lying)
    assert piece.radius == pytest.approx(12 + 3)
    assert piece.height == pytest.approx(90)
    assert sorted([piece.a[1], piece.b[1]]) == pytest.approx([50 + 56, 50 + 56 + 50])


def test_an_inch_key_ends_where_the_shaft_does() -> None:
    # NEMA 143T: shaft 7/8 x 2-1/4 in, key 3/16 square, 1-3/8 in long, from the shaft's end
    text = changed(("IEC 90S", "NEMA 143T"), ("{width: 20, from_end: 0}", "{width: 20, from_end: 1 in}"))
    (piece,) = key(text).solids
    assert isinstance(piece, Lying)
    (ax, ay), (bx, by) = piece.a, piece.b
    assert ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5 == pytest.approx(1.375 * INCH)
    assert piece.radius == pytest.approx((0.875 / 2 + 0.1875 - (0.875 - 0.771)) * INCH, abs=0.0006 * INCH)


FACE = """\
platekit: 1
title: Grist fan
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 300, height: 300}}}
mounts:
  frame:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 260, height: 260}}
    screws: {size: M10, into: nut, flange: 10, washer: true}
  motor:
    side: near
    pattern: {standard: IEC 90 B14}
    pilot: {diameter: 95, depth: 3, opening: recess}
    screws: {size: M8, into: part, depth: 12, thread_in: steel, washer: true}
cutting: {process: laser}
"""


def test_the_opening_of_a_shaft_lets_its_key_through_too() -> None:
    layout = laid(FACE)
    (opening,) = [one for one in layout.openings if one.role == "relief"]
    # 24 mm of shaft, 3 mm of key on one side of it, which turns, and the gap of 2 mm all round
    assert isinstance(opening.shape, Disc)
    assert opening.shape.diameter == pytest.approx(24 + 2 * 3 + 2 * layout.limits.gap.value)
    assert not [one for one in platekit.check(layout).findings if one.rule in ("blocked", "clash")]


def test_a_shaft_that_the_spec_tells_has_no_key_of_the_standard() -> None:
    told = "    shaft: {at: [0, 106], height: 90, along: 90 deg, stretch: [0, 50], diameter: 24}\n"
    text = SOUND.replace("    pattern: {standard: IEC 90S}\n", f"    pattern: {{standard: IEC 90S}}\n{told}")
    assert all(body.name != "motor.key" for body in laid(text).bodies)


def test_the_bore_and_its_keyway_are_told_where_the_pulley_is() -> None:
    layout = laid(SOUND)
    (driver,) = [said for label, said in belt_rows(layout, layout.belts[0]) if label == "driver"]
    assert "bore 24 mm with a keyway 8 mm wide and 3.3 mm deep (the shaft's is 4 mm deep" in driver
    (driven,) = [said for label, said in belt_rows(layout, layout.belts[0]) if label == "driven"]
    assert "bore" not in driven
