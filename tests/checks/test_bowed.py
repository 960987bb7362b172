"""Slender strips of steel that bow in the heat of the cut."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.plates import changed

WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"
LONG = "rectangle: {width: 900, height: 260, corner: 10}, at: [300, 0]"
OUTLINE = "rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]"


def told(*swaps: tuple[str, str]) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(changed(*swaps), "plate.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == "bow"]


def window(width: float, y: float) -> tuple[str, str]:
    return (WINDOW, f"window: {{rectangle: {{width: {width}, height: 40, corner: 5}}, at: [400, {y}]}}")


@pytest.mark.parametrize(
    ("width", "y", "bows"),
    # the outside is at y = -130; sides of 490 and 180 mm want 32.7 and 12 mm beside them
    [(500, -90, 20.0), (500, -77, None), (190, -99.5, 10.5), (190, -97, None)],
)
def test_a_long_strip_beside_a_window_bows(width: float, y: float, bows: float | None) -> None:
    found = told((OUTLINE, LONG), window(width, y))
    assert [one.found for one in found] == ([] if bows is None else [pytest.approx(bows)])
    for one in found:
        assert one.needed == pytest.approx((width - 10) / 15)
        assert one.features == ("outline", "window")


def test_two_windows_have_one_between_them_and_cold_cuts_bow_nothing() -> None:
    swaps = ((OUTLINE, LONG), window(500, -40))
    second = "\n    shelf: {rectangle: {width: 500, height: 40, corner: 5}, at: [400, 15]}"
    both = (swaps[0], (swaps[1][0], swaps[1][1] + second))
    (found,) = told(*both)
    assert (found.features, found.found) == (("shelf", "window"), pytest.approx(15.0))
    assert not told(*both, ("process: laser", "process: waterjet"))


def test_usual_webs_beside_slots_and_windows_are_left_alone() -> None:
    bolts = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
    assert not told((bolts, f"{bolts}\n    take_up: {{slots: {{along: 0 deg, install: 20, tension: 20}}}}"))
