"""All figures for a program, read back as JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from platekit.checks import check
from platekit.checks.finding import Advice, Finding, Remedy, Verdict
from platekit.export.data.plate import figures, figures_bytes, verdict_figures
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

STOP = Finding(
    rule="web",
    level="stop",
    message="the web between a and b is 2 mm; 5 mm is needed",
    features=("a", "b"),
    at=(1.0, -0.0),
    found=2.0,
    needed=5.0,
    advice=Advice("move a 3 mm to the left", (Remedy("plate.cutouts.a.at", [1.0, "2 mm"]),)),
)


def read(layout: Layout, verdict: Verdict | None = None) -> Any:
    def no_constant(text: str) -> None:
        raise AssertionError(f"{text} is not JSON")

    return json.loads(figures_bytes(layout, verdict), parse_constant=no_constant)


def test_keys_of_a_finding_are_those_promised() -> None:
    told = verdict_figures(Verdict((STOP,)))
    assert told["verdict"] == "stop"
    (finding,) = json.loads(json.dumps(told["findings"]))
    promised = {"rule", "level", "message", "features", "found", "needed", "unit", "at_mm"}
    assert promised <= set(finding)
    assert finding == {
        "rule": "web",
        "level": "stop",
        "message": "the web between a and b is 2 mm; 5 mm is needed",
        "features": ["a", "b"],
        "found": 2.0,
        "needed": 5.0,
        "unit": "mm",
        "at_mm": [1.0, 0.0],
        "field": None,
        "line": None,
        "advice": "move a 3 mm to the left",
        "positions": [],
        "remedies": [{"field": "plate.cutouts.a.at", "value": [1.0, "2 mm"]}],
        "accepted": None,
        "tried": False,
    }


def test_an_accepted_stop_is_clear_and_keeps_its_reason(winder: Layout) -> None:
    told = read(winder, Verdict((replace(STOP, accepted="welded there"),)))
    assert told["verdict"] == "clear"
    assert told["stamp"] is None
    assert told["findings"][0]["accepted"] == "welded there"


def test_a_stop_is_stamped(winder: Layout) -> None:
    told = read(winder, Verdict((STOP,)))
    assert (told["verdict"], told["stamp"]) == ("stop", "NOT FOR CUTTING")


def test_the_verdict_is_that_of_the_checks(auger: Layout) -> None:
    told = read(auger)
    verdict = check(auger)
    assert told["verdict"] == verdict.word
    assert [f["message"] for f in told["findings"]] == [f.message for f in verdict.findings]


def test_it_tells_which_spec(winder: Layout) -> None:
    told = read(winder)
    assert (told["spec"], told["revision"], told["units"]) == ("winder", winder.spec.revision, "mm")
    assert told["title"] == winder.title


def test_figures_of_the_plate_as_the_spec_has_them(winder: Layout) -> None:
    told = read(winder)
    plate = told["plate"]
    assert (plate["thickness_mm"], plate["width_mm"]) == (8.0, 250.0)
    assert 178 < plate["height_mm"] < 180  # the top corner at 180 is rounded off
    assert plate["lower_left_mm"] == [-90.0, -70.0]
    assert plate["material"]["density_kg_m3"] == 7850
    assert plate["mass_kg"] == pytest.approx(plate["net_area_mm2"] * 8 * 7850e-9)
    cable = next(one for one in told["openings"] if one["name"] == "cable")
    assert (cable["x_mm"], cable["y_mm"], cable["from_left_mm"]) == (-62.0, -42.0, 28.0)
    assert cable["shape"] == {"kind": "disc", "center_mm": [-62.0, -42.0], "diameter_mm": 22.0}
    assert cable["area_mm2"] == pytest.approx(math.pi * 121)
    assert told["cutting"]["marks"] == 5
    assert told["cutting"]["loops"] == 9


def test_inch_specs_are_told_in_millimetres_too(auger: Layout) -> None:
    told = read(auger)
    assert told["units"] == "in"
    hole = next(one for one in told["openings"] if one["name"] == "frame.2")
    assert (hole["x_mm"], hole["y_mm"], hole["size_mm"]) == (-101.6, -76.2, 11.1125)
    travel = told["mounts"]["seat"]["travel"]
    assert travel == {
        "kind": "swing",
        "about_mm": [0.0, 0.0],
        "tightens": "clockwise",
        "install_deg": 3.0,
        "tension_deg": 5.0,
    }
    slot = next(one for one in told["openings"] if one["name"] == "seat.1")["shape"]
    assert slot["kind"] == "curved slot"
    assert slot["sweep_deg"] == pytest.approx(8.0)


def test_straight_travel_tells_its_direction(winder: Layout) -> None:
    text = winder.spec.text.replace(
        "bolts: {size: M6, into: plate, flange: 8}",
        "bolts: {size: M6, into: nut, flange: 8}\n    take_up: {slots: {along: 90 deg, install: 4, tension: 6}}",
    ).replace("pilot: {diameter: 24, depth: 2, opening: recess, clearance: 0.3}\n    at", "at")
    told = read(lay_out(loads(text, "winder")))
    assert told["mounts"]["motor"]["travel"] == {
        "kind": "straight",
        "along_deg": 90.0,
        "install_mm": 4.0,
        "tension_mm": 6.0,
    }
    slot = next(one for one in told["openings"] if one["name"] == "motor.1")
    (x0, y0), (x1, y1) = slot["slot_ends_mm"]
    assert (x0, x1) == (135.0, 135.0)
    assert sorted((y0, y1)) == [-36.0, -26.0]
    assert slot["shape"]["kind"] == "slot"


def test_every_limit_has_a_source(winder: Layout) -> None:
    for limit in read(winder)["limits"].values():
        assert limit["source"]
        assert isinstance(limit.get("value_mm", limit.get("hole_diameters")), float)


def keys(value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, one in value.items():
            yield key, one
            yield from keys(one)
    if isinstance(value, list):
        for one in value:
            yield from keys(one)


UNITLESS = {"figures", "count", "washers", "loops", "marks", "found", "needed", "bulges", "hole_diameters", "value"}
UNITLESS |= {"probability", "standard_error", "draws", "warn_below", "stop_below", "share"}
UNITLESS |= {"line", "pierces", "slow_holes", "amount", "price", "sum", "strokes"}
UNITLESS |= {"to_buy", "to_cut", "open", "grooves", "teeth"}
UNITS = ("_mm", "_mm2", "_deg", "_kg", "_kg_m3", "_n_mm2", "_mm_min", "_s", "_sets")


def test_every_number_carries_its_unit_in_its_key(plate: Layout) -> None:
    for key, value in keys(read(plate)):
        number = value[0] if isinstance(value, list) and value else value
        if isinstance(number, int | float) and not isinstance(number, bool):
            assert key.endswith(UNITS) or key in UNITLESS, key


def test_keys_are_sorted_and_bytes_repeat(plate: Layout) -> None:
    data = figures_bytes(plate)
    assert data == figures_bytes(plate)
    assert data.endswith(b"}\n")
    told = json.loads(data, object_pairs_hook=list)
    names = [key for key, _ in told]
    assert names == sorted(names)


def test_no_number_that_is_none(winder: Layout) -> None:
    endless = replace(STOP, found=math.inf, needed=math.nan)
    (finding,) = read(winder, Verdict((endless,)))["findings"]
    assert (finding["found"], finding["needed"]) == (None, None)


def test_writes_what_figures_bytes_gives(tmp_path: Path, winder: Layout) -> None:
    figures(winder, tmp_path / "plate.json", Verdict((STOP,)))
    assert (tmp_path / "plate.json").read_bytes() == figures_bytes(winder, Verdict((STOP,)))
