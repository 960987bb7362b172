"""A search for places from the page: told how far it has come, left by whoever does not want to wait for it."""

from __future__ import annotations

import shutil
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from platekit.page.acts import done
from platekit.page.desk import Desk, Errand, LeftOff

SPECS = Path(__file__).parents[2] / "specs"


def test_a_search_that_is_left_ends_and_changes_nothing(tmp_path: Path) -> None:
    shutil.copy(SPECS / "apple-mill.yaml", tmp_path)
    desk = Desk(tmp_path / "apple-mill.yaml", tmp_path / "output")
    before = desk.path.read_bytes()
    told: list[dict[str, Any]] = []
    search = threading.Thread(target=lambda: told.append(done(desk, {"act": "places", "mount": "motor"})))
    search.start()
    while not (said := done(desk, {"act": "how far"})["said"]):
        assert search.is_alive(), told
        time.sleep(0.02)
    assert said.startswith("motor: ")
    done(desk, {"act": "how far", "leave": True})
    search.join()
    assert told == [{"refused": "the search was left; nothing was changed"}]
    assert desk.path.read_bytes() == before


def test_an_errand_goes_on_until_it_is_left() -> None:
    errand = Errand()
    errand.tell("20 of 40")
    assert errand.said == "20 of 40"
    errand.leave()
    with pytest.raises(LeftOff):
        errand.tell("40 of 40")


def test_stock_drives_are_ranked_by_how_far_apart_the_shafts_are_to_be(tmp_path: Path) -> None:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    desk = Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")
    own = done(desk, {"act": "drives"})["choices"]
    wide = max(one["centre_distance_mm"] for one in own) * 1.4
    for one in done(desk, {"act": "drives", "apart": f"{wide:.0f}"})["choices"][:3]:
        assert one["centre_distance_mm"] == pytest.approx(wide, rel=0.12)
