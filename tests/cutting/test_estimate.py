"""What cutting takes, against an example worked out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from platekit.cutting import CutPlan, plan
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

MACHINE = """\
platekit_machine: 1
name: Back room
process: waterjet
units: mm
cuts: [{thickness: 10, kerf: 1, speed: 100 mm/min, pierce: 5 s, lead: 4, overrun: 2, pierce_room: 2}]
positioning: 6 m/min
consumables: {name: nozzle, pierces: 40, hours: 10}
prices: {currency: CHF, hour: 60, material_kg: 2, consumables: 30}
"""

SPEC = """\
platekit: 1
title: Counterweight for a greenhouse vent
units: mm
plate:
  material: mild steel
  thickness: 10
  outline: {disc: {diameter: 200}}
  cutouts:
    eye: {circle: {diameter: 81}}
mounts:
  vent: {side: far, looking_at: face, pattern: {points: [[0, 75]], hole: 9}}
cutting: {machine: back-room, margin: 4}
"""


def made(folder: Path, machine: str = MACHINE, spec: str = SPEC) -> Layout:
    (folder / "back-room.yaml").write_text(machine, "utf-8")
    (folder / "vent.yaml").write_text(spec, "utf-8")
    return lay_out(load(folder / "vent.yaml"))


def planned(folder: Path, machine: str = MACHINE, spec: str = SPEC) -> CutPlan:
    found = plan(made(folder, machine, spec))
    assert found is not None
    return found


def test_lengths_times_and_pierces_by_hand(tmp_path: Path) -> None:
    # Half a kerf is 0.5 mm. The hole of 9 mm: its path has a radius of 4, which is at most 2.5 leads of 4 mm, so it is
    # entered by a half circle of radius 2. The eye's path has a radius of 40: a quarter circle of 4 mm leads in; the
    # outside's has 100.5. Each overruns by 2 mm. The lead-out is a quarter circle of half the lead, 2 mm.
    found = planned(tmp_path)
    contours = math.tau * (4 + 40 + 100.5)
    quarter = math.pi / 2
    leads_in = math.pi * 2 + quarter * 4 + quarter * 4
    overruns = 3 * 2
    leads_out = 3 * quarter * 2
    assert found.contour_length == pytest.approx(contours)
    assert found.cut_length == pytest.approx(contours + leads_in + overruns + leads_out)
    assert found.pierces == 3
    assert found.cutting_s == pytest.approx((contours + leads_in + overruns + leads_out) / 100 * 60)
    assert found.piercing_s == 15.0
    assert found.total_s == found.cutting_s + found.piercing_s + found.travelling_s


def test_the_ways_between_by_hand(tmp_path: Path) -> None:
    found = planned(tmp_path)
    here, way = (-100.0, -100.0), 0.0
    for path in found.paths.cuts:
        way += math.dist(here, path.pierce)
        here = path.end
    assert found.travel_length == pytest.approx(way)
    assert found.travelling_s == pytest.approx(way / 6000 * 60)


def test_mass_by_hand(tmp_path: Path) -> None:
    found = planned(tmp_path)
    area = math.pi * (100**2 - 40.5**2 - 4.5**2)
    assert found.mass == pytest.approx(area * 10 * 7850e-9)
    # the rectangle of sheet: 200, a kerf of 1 and half the margin of 4 on both sides
    assert found.sheet_mass == pytest.approx(206 * 206 * 10 * 7850e-9)


def test_wear_and_cost_by_hand(tmp_path: Path) -> None:
    found = planned(tmp_path)
    hours = found.cutting_s / 3600
    # three of forty pierces are 0.075 of a set; nearly eleven minutes of ten hours are less
    assert hours / 10 < 3 / 40
    assert found.wear == pytest.approx(3 / 40)
    assert found.cost is not None
    assert [(item.what, item.unit, item.price) for item in found.cost.items] == [
        ("machine time", "h", 60.0),
        ("sheet", "kg", 2.0),
        ("consumables", "sets", 30.0),
    ]
    assert found.cost.sum == pytest.approx(found.total_s / 60 + 2 * found.sheet_mass + 30 * 3 / 40)
    assert (found.cost.currency, found.cost.without) == ("CHF", ())


def test_what_has_no_price_is_named(tmp_path: Path) -> None:
    found = planned(tmp_path, MACHINE.replace("hour: 60, material_kg: 2, consumables: 30", "hour: 60"))
    assert found.cost is not None
    assert found.cost.without == ("sheet", "consumables")
    assert found.cost.sum == pytest.approx(found.total_s / 60)


def test_gaps_are_filled_by_the_usual_values_and_say_so(tmp_path: Path) -> None:
    bare = "platekit_machine: 1\nname: Bare\nprocess: waterjet\nunits: mm\ncuts: [{thickness: 10, kerf: 1}]\n"
    found = planned(tmp_path, bare)
    assert found.speed_mm_min.value == 130
    said = found.speed_mm_min.source
    assert said == "waterjet (with abrasive; the machine's own chart settles what is doubted), from memory"
    assert found.pierce_s.value == 9
    assert (found.cost, found.wear) == (None, None)


def test_small_round_holes_are_slower_under_plasma() -> None:
    text = SPEC.replace("machine: back-room, margin: 4", "process: plasma, kerf: 1.5").replace("hole: 9", "hole: 20")
    layout = lay_out(loads(text))
    found = plan(layout)
    assert found is not None
    assert found.slow_holes == 1
    slow, fast = 0.0, 0.0
    for path in found.paths.cuts:
        if path.name == "vent.1":
            slow += path.length
        else:
            fast += path.length
    assert found.cutting_s == pytest.approx((slow / 0.6 + fast) / 390 * 60)


def test_a_drill_press_has_no_plan() -> None:
    assert plan(lay_out(loads(SPEC.replace("machine: back-room, margin: 4", "process: drill")))) is None
