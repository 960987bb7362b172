"""A line shaft and a motor on feet whose belt has a guard that stands on the plate."""

from __future__ import annotations

from tests.checks.lying import changed

GUARD = "guard: {gap: 20, fixings: {count: 3}}\n"
SHUTTER = """\
bodies:
  shutter:
    {carried_by: motor, shape: {rectangle: {width: 320, height: 2}, at: [0, 109]}, span: [55, 125]}
"""


def guarded(guard: str = GUARD, *others: tuple[str, str]) -> str:
    """The line shaft, which ends behind the cover, the pulleys clear of the motor, and a sheet that travels with it."""
    text = changed(
        ("stretch: [-100, 200]", "stretch: [-100, 125]"),
        ("{width: 900, height: 500, corner: 10}", "{width: 1060, height: 500, corner: 10}"),
        ("span: {width: 20, from_end: 0}", "span: [20, 40]"),
        ("span: [100, 120]", "span: [90, 110]"),
        ("drive:\n", f"{SHUTTER}drive:\n"),
        ("cutting:", f"{guard}cutting:"),
    )
    for old, new in others:
        assert old in text, old
        text = text.replace(old, new)
    return text
