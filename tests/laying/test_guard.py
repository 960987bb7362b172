"""The guard: its outline, its band, its parts, and the rule on its openings."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

import platekit
from platekit.errors import SpecError
from platekit.geometry import Disc, distance
from platekit.laying.guard import GUARD_PARTS, guard_parts
from platekit.spec import with_value

SPEC = """\
platekit: 1
title: Fan with two equal pulleys
units: mm
plate:
  material: mild steel
  thickness: 8
  cutouts: {fan shaft: {circle: {diameter: 26}}, motor shaft: {circle: {diameter: 26}, at: [300, 0]}}
mounts:
  fan:
    side: far
    pattern: {circle: {count: 4, diameter: 60, hole: 12}}
  motor:
    side: far
    pattern: {circle: {count: 4, diameter: 60, hole: 12}}
    at: [300, 0]
drive:
  belt: {section: A, pitch_length: 914.159265358979}
  driver: {on: motor, pitch_diameter: 100, span: [-40, -20]}
  driven: {on: fan, pitch_diameter: 100, span: [-40, -20]}
guard: {gap: 25, thickness: 2}
cutting: {process: laser}
"""


def laid_out(text: str = SPEC) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "fan.yaml"))


def guard_findings(text: str) -> list[platekit.Finding]:
    return [f for f in platekit.check(laid_out(text)).findings if f.rule == "guard"]


def test_the_outline_keeps_its_gap_from_pulleys_and_belt() -> None:
    layout = laid_out()
    guard = layout.guard
    assert guard is not None
    swept = [body.swept for body in layout.bodies if body.name.startswith("drive.")]
    # the outline is the hull of what is swept, grown by the gap: the nearest thing is just the gap away
    gaps = [guard.outline.loop().depth(body.centroid).distance for body in swept]
    assert min(gaps) >= 25
    nearest = min(guard.outline.nearest(edge.at(0.5)).distance for body in swept for edge in body.loop().edges)
    assert nearest == pytest.approx(25, abs=1e-6)


def test_the_band_is_as_long_as_the_outline_and_covers_the_pulleys_with_the_gap() -> None:
    guard = laid_out().guard
    assert guard is not None
    # round two pulleys of 100 + 5.5 mm (ISO 4183: 2.75 mm of groove above the datum line) it would be the shorter of
    # these; the belt's runs, 8 mm thick (ISO 4184), stand out a little between them
    shorter, longer = (2 * 300 + 2 * math.pi * (radius + 25) for radius in (52.75, 50 + 8))
    assert shorter < guard.band_length < longer
    # 40 mm from the far face is 32 mm from the near one; the back plate lies on that, 2 mm thick
    assert guard.side == "near"
    assert guard.z == pytest.approx((2, 32 + 25))
    assert guard.band_width == pytest.approx(55)


def test_each_part_is_a_file_that_can_be_cut(tmp_path: Path) -> None:
    layout = laid_out()
    parts = guard_parts(layout)
    assert tuple(parts) == GUARD_PARTS
    for part in parts.values():
        assert platekit.export.dxf_bytes(part)
    back = parts["guard-back"]
    assert [opening.name for opening in back.openings] == ["ear 1", "ear 2", "ear 3", "ear 4", "shaft 1", "shaft 2"]
    assert layout.guard is not None
    assert parts["guard-band"].outline.area == pytest.approx(layout.guard.band_length * layout.guard.band_width)
    holes = [opening for opening in back.openings if opening.name.startswith("ear")]
    for hole in holes:
        # an ear is 22 mm wide round a hole of 6.6: steel all round
        assert distance(hole.shape, Disc(hole.center, 11)).distance < 0
        assert back.outline.contains(hole.center)
        assert not layout.guard.outline.contains(hole.center)
    written = platekit.export.publish(layout, platekit.check(layout), tmp_path)
    names = {path.name for path in written.written}
    assert {f"fan.{part}.cut.dxf" for part in GUARD_PARTS} <= names


def test_a_belt_without_a_guard_is_a_warning_that_stays_until_one_is_described() -> None:
    bare = SPEC.replace("guard: {gap: 25, thickness: 2}\n", "")
    (finding,) = guard_findings(bare)
    assert finding.level == "warn"
    assert not guard_findings(with_value(bare, finding.remedies[0].field, finding.remedies[0].value))


@pytest.mark.parametrize(
    ("opening", "needed"),
    [
        # ISO 13857 table 4: slots over 8 to 10 mm need 80 mm, square 25, round 20
        ("{shape: slot, width: 10}", 80),
        ("{shape: square, width: 10}", None),
        ("{shape: round, width: 10}", None),
        ("{shape: slot, width: 12}", 100),
        ("{shape: slot, width: 25}", 850),
        # a slot no longer than 65 mm stops the hand at the thumb
        ("{shape: slot, width: 25, length: 65}", 200),
    ],
)
def test_openings_ask_for_their_safety_distance(opening: str, needed: float | None) -> None:
    text = SPEC.replace("gap: 25, thickness: 2", f"gap: 25, thickness: 2, openings: {opening}")
    findings = guard_findings(text)
    assert [finding.needed for finding in findings] == ([] if needed is None else [needed])
    for finding in findings:
        assert not guard_findings(with_value(text, finding.remedies[0].field, finding.remedies[0].value))


def test_an_opening_past_the_table_is_not_allowed_at_all() -> None:
    text = SPEC.replace("thickness: 2}", "thickness: 2, openings: {shape: round, width: 130}}")
    (finding,) = guard_findings(text)
    assert finding.level == "stop"
    assert finding.needed == 120


def test_a_guard_without_a_belt_is_told_where_it_stands() -> None:
    start, end = SPEC.index("drive:"), SPEC.index("guard:")
    with pytest.raises(SpecError, match=r"fan\.yaml:16:1  guard"):
        laid_out(SPEC[:start] + SPEC[end:])


def test_a_band_that_ends_before_the_pulleys_is_refused() -> None:
    with pytest.raises(SpecError, match=r"guard\.band"):
        laid_out(SPEC.replace("thickness: 2}", "thickness: 2, band: 29}"))
