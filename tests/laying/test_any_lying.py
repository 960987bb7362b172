"""Drawn drives over shafts along the plate: laid out and judged, or refused in a line with its place; never a crash."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.drawing.from_side import side_views
from platekit.errors import SpecError
from platekit.export.text.belt import belt_rows
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks.lying import SOUND

TURNS = st.sampled_from(["0 deg", "90 deg", "180 deg", "270 deg", "30 deg", "90.2 deg"])
HEIGHTS = st.sampled_from([-150, -90, -20, -8, 0, 60])
SEATS: Any = st.sampled_from(
    [
        [10, 30],
        [-40, -20],
        {"width": 20, "from_face": 15},
        {"width": 20, "from_end": 0},
        {"width": 20, "in_line": True},
        {"width": "auto", "from_end": 5},
    ]
)
TRAVELS = st.sampled_from([0, 5, 40, "auto"])
PLACES: Any = st.one_of(
    st.tuples(st.integers(-300, 300), st.integers(-200, 200)).map(list),
    st.sampled_from([0, 60, 150, 200, 359]).flatmap(
        lambda angle: st.sampled_from(["upper", "lower", "left"]).map(
            lambda run: {"wrap": {"pulley": "driver", "angle": f"{angle} deg", "free": 60, "run": run}}
        )
    ),
)


@st.composite
def take_ups(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(["slots", "rails", "hinge", "swing"]))
    turning = kind in ("hinge", "swing")
    ends = {key: draw(TRAVELS) for key in ("install", "tension")}
    if turning:
        ends = {key: end if end == "auto" else f"{end} deg" for key, end in ends.items()}
    at = [draw(st.integers(-200, 200)), draw(st.integers(-100, 100))]
    if kind == "hinge":
        return {kind: {"at": at, "height": draw(st.integers(0, 150)), **ends}}
    if kind == "swing":
        return {kind: {"about": at, "tightens": "clockwise", **ends}}
    return {kind: {"along": draw(st.sampled_from(["belt", "0 deg", "45 deg", "90 deg"])), **ends}}


@st.composite
def idlers(draw: st.DrawFn) -> dict[str, Any]:
    told: dict[str, Any] = {
        "on": draw(st.sampled_from(["bed", "motor", "plate"])),
        "at": draw(PLACES),
        "diameter": draw(st.sampled_from([40, 120])),
        "inside": draw(st.booleans()),
        "span": {"width": 20, "in_line": True},
    }
    if draw(st.booleans()):
        told["height"] = draw(st.sampled_from([20, 140, 220]))
    return told


@st.composite
def specs(draw: st.DrawFn) -> str:
    text = SOUND

    def put(field: str, value: Any) -> None:
        nonlocal text
        text = with_value(text, field, value)

    some = st.integers(0, 2).map(lambda count: count == 0)
    if draw(some):
        put("mounts.bed.shaft.height", draw(HEIGHTS))
    if draw(some):
        put("mounts.motor.turn", draw(TURNS))
    if draw(some):
        put("mounts.motor.side", "far")
    if draw(some):
        put("mounts.motor.packing", "belt")
    if draw(st.booleans()):
        put("mounts.motor.take_up", draw(take_ups()))
    if draw(some):
        put(
            "mounts.motor.at",
            draw(st.sampled_from([[150, 0], [-200, 135], {"belt": {"from": "bed", "angle": "180 deg"}}])),
        )
    for end in ("driver", "driven"):
        if draw(some):
            put(f"drive.{end}.span", draw(SEATS))
    if draw(some):
        put("drive.idlers", [draw(idlers())])
    return text


@given(specs())
@settings(max_examples=120)
def test_any_such_drive_is_laid_out_or_refused_in_a_line(text: str) -> None:
    try:
        layout = platekit.lay_out(platekit.loads(text, "lying.yaml"))
    except SpecError as error:
        refused = [(problem.line, problem.wanted) for problem in error.problems]
    else:
        refused = []
        _judged(layout)
    assert all(line > 0 and wanted for line, wanted in refused)


def _judged(layout: Layout) -> None:
    for finding in platekit.check(layout).findings:
        assert finding.message
    for belt in layout.belts:
        assert belt_rows(layout, belt)
    assert side_views(layout)
