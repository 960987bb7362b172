"""An old pulley that is left on its shaft: whether it is told that it turns bare."""

from __future__ import annotations

from pathlib import Path

from platekit.checks import check
from platekit.layout import lay_out
from platekit.spec import load, loads

SPEC = Path(__file__).parents[2] / "specs" / "apple-mill.yaml"
LEFT = "\n  NAME:\n    carried_by: bracket\n    shape: {circle: {diameter: 150}}\n    span: [120, 150]MORE\n\ndrive:"


def told(name: str, more: str = "") -> list[str]:
    """What the rule says against a wheel on the far end of the mill's shaft, behind the plate."""
    text = SPEC.read_text("utf-8").replace("\ndrive:", LEFT.replace("NAME", name).replace("MORE", more), 1)
    findings = check(lay_out(loads(text, "mill"))).findings
    return [one.level for one in findings if one.rule == "guard" and name in one.features]


def test_a_wheel_that_is_left_is_warned_of_by_its_name_or_its_word() -> None:
    assert told("old pulley") == ["warn"]
    assert told("collar", "\n    turns: true") == ["warn"]
    assert told("collar") == []
    assert told("old pulley", "\n    turns: false") == []


def test_the_pulleys_of_the_drive_are_not_warned_of_twice() -> None:
    assert not [one for one in check(lay_out(load(SPEC))).findings if one.rule == "guard" and one.level == "warn"]
