"""The tables of the processes: complete, in order, and told what they are."""

from __future__ import annotations

from itertools import pairwise
from typing import get_args

import pytest

from platekit.choices import Process
from platekit.errors import LookupFailed
from platekit.tables.iso_9013 import limit_deviation, squareness
from platekit.tables.processes import (
    BY_ISO_9013,
    QUANTITIES,
    process_names,
    process_rules,
    process_traits,
    usual_pace,
)
from platekit.tables.values import KINDS

PROCESSES = process_names()


def test_the_spec_language_knows_the_processes_of_the_table_and_no_others() -> None:
    assert set(get_args(Process)) == set(PROCESSES)


@pytest.mark.parametrize("process", PROCESSES)
def test_every_quantity_has_a_row_with_its_kind(process: str) -> None:
    rules = process_rules(process)
    by_standard = set(BY_ISO_9013) if process_traits(process).iso_class else set()
    assert set(rules) == set(QUANTITIES) - by_standard
    for rule in rules.values():
        assert rule.kind in KINDS
        assert rule.source
        assert rule.origin == f"{process} ({rule.source}), {rule.kind}"
        assert min(rule.per_thickness, rule.per_kerf, rule.plus, rule.least) >= 0


@pytest.mark.parametrize("process", PROCESSES)
@pytest.mark.parametrize("thickness", [3, 6, 10, 20])
def test_the_smallest_hole_has_room_for_its_pierce(process: str, thickness: float) -> None:
    rules = process_rules(process)
    kerf = rules["kerf"].value(thickness, 0)
    smallest = rules["smallest_hole"].value(thickness, kerf)
    # a pierce in the middle of the smallest hole must be possible, or the smallest hole would be no hole
    assert rules["pierce_room"].value(thickness, kerf) <= smallest / 2 + 1e-9


def test_only_a_drill_press_has_no_table() -> None:
    assert [name for name in PROCESSES if not process_traits(name).table] == ["drill"]
    assert usual_pace("drill", 10) is None


@pytest.mark.parametrize("process", [name for name in PROCESSES if name != "drill"])
def test_thicker_plate_takes_longer(process: str) -> None:
    paces = [usual_pace(process, thickness) for thickness in (0.5, 3, 5, 6, 8, 10, 12, 20, 60)]
    for thin, thick in pairwise(paces):
        assert thin is not None
        assert thick is not None
        assert thin.speed_mm_min >= thick.speed_mm_min > 0
        assert 0 < thin.pierce_s <= thick.pierce_s


def test_between_two_rows_the_pace_is_straight() -> None:
    # plasma of 40 A: 6 mm 1050 mm/min and 0.5 s, 10 mm 390 mm/min and 0.8 s; half-way 720 and 0.65
    pace = usual_pace("plasma", 8)
    assert pace is not None
    assert (pace.speed_mm_min, round(pace.pierce_s, 9)) == (720.0, 0.65)


def test_names_that_no_table_has_are_refused() -> None:
    with pytest.raises(LookupFailed, match="no cutting process is called 'scissors'"):
        process_rules("scissors")
    with pytest.raises(LookupFailed, match="tolerance class 3"):
        limit_deviation(3, 10, 10)
    with pytest.raises(LookupFailed, match="range 6"):
        squareness(6, 10)


def test_beyond_its_rows_the_standard_says_nothing() -> None:
    assert limit_deviation(1, 200, 50) is None
    assert limit_deviation(1, 8, 2) is None
    assert limit_deviation(1, 8, 1001) is None
