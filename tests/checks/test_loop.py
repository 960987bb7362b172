"""What goes through a belt's loop keeps an endless belt from being put on."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.rollers import SOUND, changed

BAR = "  tie bar: {carried_by: housing, shape: {rectangle: {width: 40, height: 30}, at: [150, 55]}, span: SPAN, "


def found(text: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "roller.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == "belt-loop"]


def with_bar(span: str, more: str = "relief: auto", at: str = "[150, 55]") -> str:
    return changed(("bodies:\n", f"bodies:\n{BAR.replace('SPAN', span).replace('[150, 55]', at)}{more}}}\n"))


@pytest.mark.parametrize(
    ("span", "level", "past"),
    [
        # the roller's shaft ends 64 mm in front of the housing's face
        ("[-150, 0]", "stop", 86),
        ("[-95, 0]", "stop", 31),
        ("[-94, 0]", "warn", 30),
        ("[-65, 0]", "warn", 1),
        ("[-64, 0]", None, 0),
        ("[-20, 0]", None, 0),  # does not reach the belt at all
        ("[-150, -60]", None, 0),  # stands before the belt's plane, as a guard does
    ],
)
def test_a_bar_past_the_ends_of_the_shafts_is_in_the_way_of_the_belt(span: str, level: str | None, past: float) -> None:
    findings = found(with_bar(span))
    assert [one.level for one in findings] == ([] if level is None else [level])
    for finding in findings:
        assert finding.features[0] == "tie bar"
        assert finding.found == pytest.approx(past)
        assert "removable: true" in finding.advice.text


def test_a_bar_that_comes_off_or_stands_outside_the_loop_is_not() -> None:
    assert found(with_bar("[-150, 0]", "relief: auto, removable: true")) == []
    assert found(with_bar("[-150, 0]", at="[150, 190]")) == []
    assert found(SOUND) == []
