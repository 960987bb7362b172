"""The plan of cutting in words and figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.cutting import plan
from platekit.export.data.cut_plan import plan_figures, plan_text, shown_time
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

SPEC = """\
platekit: 1
title: Apple washer
units: mm
plate: {material: mild steel, thickness: 6, outline: {rectangle: {width: 200, height: 120}}}
mounts:
  tub: {side: far, looking_at: face, pattern: {points: [[-60, 0], [60, 10]], hole: 22}}
cutting: {machine: yard-plasma}
"""
MACHINES = Path("specs/machines")


def washer(folder: Path) -> Layout:
    (folder / "yard-plasma.yaml").write_bytes((MACHINES / "yard-plasma.yaml").read_bytes())
    (folder / "washer.yaml").write_text(SPEC, "utf-8")
    return lay_out(load(folder / "washer.yaml"))


def test_two_lines_say_length_pierces_time_wear_and_cost(tmp_path: Path) -> None:
    layout = washer(tmp_path)
    found = plan(layout)
    assert found is not None
    first, second = plan_text(found, "mm").splitlines()
    assert first.startswith(f"cutting (Yard plasma): {found.cut_length:.0f} mm with 3 pierces, about ")
    assert first.endswith("at 2300 mm/min (yard-plasma.yaml)")
    assert found.cost is not None
    assert second.strip() == f"{found.wear:.2f} sets of nozzle and electrode, EUR {found.cost.sum:.2f}"


def test_figures_say_where_each_came_from(tmp_path: Path) -> None:
    told = plan_figures(plan(washer(tmp_path)))
    assert told is not None
    assert told["speed"] == {"value_mm_min": 2300.0, "source": "yard-plasma.yaml"}
    assert told["positioning"] == {"value_mm_min": 9000.0, "source": "yard-plasma.yaml"}
    assert [cut["name"] for cut in told["order"]][-1] == "outside"
    assert told["cost"]["without_price"] == []
    assert told["cost"]["sum"] == pytest.approx(sum(item["sum"] for item in told["cost"]["items"]))


def test_a_drill_press_has_nothing_to_say() -> None:
    found = plan(lay_out(loads(SPEC.replace("machine: yard-plasma", "process: drill"))))
    assert plan_text(found, "mm") == ""
    assert plan_figures(found) is None


def test_times_as_a_shop_says_them() -> None:
    assert [shown_time(length) for length in (3.4, 89, 90, 5399, 5400, 9000)] == [
        "3 s",
        "89 s",
        "1.5 min",
        "90.0 min",
        "1 h 30 min",
        "2 h 30 min",
    ]
