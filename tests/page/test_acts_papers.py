"""Single papers from the page: which are written, which are told, and never one that there is none of."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from platekit.page.acts import done
from platekit.page.desk import Desk

SPECS = Path(__file__).parents[2] / "specs"


@pytest.mark.parametrize(("which", "count"), [("parts", 0), ("commissioning", 1), ("going back", 1)])
def test_a_paper_by_itself(tmp_path: Path, which: str, count: int) -> None:
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    desk = Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")
    told = done(desk, {"act": "paper", "which": which})
    assert "NOT FOR CUTTING" in told["told"] or which == "parts"
    assert [one["name"] for one in told["files"]] == told["written"]
    assert len(told["written"]) == count


def test_another_one_is_refused(tmp_path: Path) -> None:
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    desk = Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")
    assert done(desk, {"act": "paper", "which": "../x"}) == {"refused": "found a paper that there is none of"}
    assert not desk.out.exists()
