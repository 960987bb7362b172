"""What governs whether a plate holds: held against the plate with that number really changed."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks.stiffer import shares
from platekit.checks.strength import worked_out
from platekit.jobs.explained import explained_figures, explained_text
from platekit.placed import Layout
from platekit.studies.loaded import used
from tests.checks import carried, plates


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def test_what_governs_is_what_changes_most() -> None:
    layout = laid(carried.SOUND)
    found = {one.rule: one for one in used(layout)}
    assert set(found) == {"strength", "fatigue", "sag"}
    thicker = laid(carried.SOUND.replace("thickness: 8", "thickness: 8.8"))
    answer = worked_out(thicker)
    assert answer is not None
    sag = found["sag"]
    assert sag.field == "plate.thickness"
    assert sag.then == pytest.approx(shares(thicker, answer)["sag"], rel=0.01)
    assert sag.then < sag.share
    told = explained_text(layout)
    assert f"shafts out of line: {100 * sag.share:.0f} % of what is allowed." in " ".join(told.split())
    assert "depends most on plate.thickness" in " ".join(told.split())
    figures = explained_figures(layout)["loaded"]
    assert isinstance(figures, list)
    assert len(figures) == len(found)


def test_a_plate_without_masses_has_nothing_to_tell() -> None:
    layout = laid(plates.SOUND)
    assert used(layout) == ()
    assert "what governs that" not in explained_text(layout)
