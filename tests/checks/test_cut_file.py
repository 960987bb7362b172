"""What cannot be written as a cut file is found beforehand, with its place, and no acceptance covers it."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, given, settings

import platekit
from platekit.checks import Finding, cut_file, cutting
from platekit.cutting.capability import capability_of
from platekit.cutting.doubles import doubles
from platekit.errors import OutputError, PlatekitError
from platekit.export.dxf_files.cut import dxf_bytes
from platekit.export.dxf_files.kerf import kerf_bytes
from platekit.placed import Layout
from tests.checks.plates import SOUND, changed
from tests.strategies import AWKWARD, USUAL, as_text, plates

WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"


def layout_of(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def found(text: str) -> list[Finding]:
    return list(cut_file.cut_file(layout_of(text)))


def test_the_sound_plate_can_be_written() -> None:
    assert not found(SOUND)


@pytest.mark.parametrize(
    ("window", "words", "features"),
    [
        ("window: {rectangle: {width: 500, height: 300}, at: [60, 0]}", "leave nothing", {"window", "outline"}),
        ("window: {rectangle: {width: 8, height: 300}, at: [90, 0]}", "into 2 pieces", {"window", "outline"}),
        ("window: {circle: {diameter: 30}, at: [90, -200]}", "outside of the plate", {"window", "outline"}),
        ("window: {circle: {diameter: 0.000001}, at: [90, -70]}", "nothing under 0.3 mm", {"window"}),
        (
            "window: {rectangle: {width: 20, height: 20}, at: [90, -80]}\n"
            "    other: {rectangle: {width: 20, height: 20}, at: [110.004, -80]}",
            "cut twice",
            {"window", "other"},
        ),
        (
            "window: {rectangle: {width: 20, height: 20}, at: [90, -119.995]}",
            "cut twice",
            {"window", "outline"},
        ),
    ],
)
def test_each_reason_for_which_writing_is_refused_is_a_stop_that_cannot_be_accepted(
    window: str, words: str, features: set[str]
) -> None:
    text = changed((WINDOW, window))
    (finding,) = [f for f in found(text) if words in f.message]
    assert (finding.level, finding.acceptable) == ("stop", False)
    assert features <= set(finding.features)
    assert finding.at is not None
    rules = {f.rule for f in platekit.check(layout_of(text)).findings}
    accepted = "".join(
        f"  - {{rule: {rule}, feature: {name}, because: I know}}\n" for rule in rules for name in ("window", "outline")
    )
    assert not platekit.check(layout_of(f"{text}accept:\n{accepted}")).clear


def test_punch_marks_that_fall_along_each_other_are_found() -> None:
    """Two holes of 3 mm, 3 mm apart: the strokes of their crosses, 4 mm long, run along each other."""
    layout = layout_of(
        changed(
            ("pattern: {rectangle: {width: 90, height: 60}}", "pattern: {points: [[0, 0], [3, 0], [40, 30]]}"),
            ("thread_in: steel,", "thread_in: steel, made: drill,"),
        )
    )
    (finding,) = [f for f in cut_file.cut_file(layout) if "cut twice" in f.message]
    assert set(finding.features) == {"motor.1", "motor.2"}
    with pytest.raises(OutputError, match="cut twice"):
        dxf_bytes(layout)


FIXED = settings(
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def written_or_found(text: str) -> None:
    """A plate of which nothing is said that keeps it from being written is written, in both files."""
    try:
        layout = layout_of(text)
    except PlatekitError:
        return
    if list(cut_file.cut_file(layout)):
        return
    assert dxf_bytes(layout)
    table = capability_of(layout).traits.table and layout.limits.kerf.value > 0
    if table and not [*cutting.kerf_fits(layout), *cutting.pierce_room(layout)]:
        assert kerf_bytes(layout)


@settings(FIXED, max_examples=60)
@given(plates(USUAL).map(as_text))
def test_a_usual_plate_without_such_a_finding_is_written(text: str) -> None:
    written_or_found(text)


@settings(FIXED, max_examples=60)
@given(plates(AWKWARD).map(as_text))
def test_an_awkward_plate_without_such_a_finding_is_written(text: str) -> None:
    written_or_found(text)


def test_arcs_of_almost_one_circle_that_follow_each_other_are_not_cut_twice() -> None:
    """Two arcs of 1.25 mm, the centre of the second 0.01 mm aside: the second begins where the first ends."""
    first, second = ((0.0, 0.0), 1.25, 0.0, 0.8), ((0.0, 0.01), 1.25, 0.8 - 0.01 / 1.25, 0.8)
    assert not list(doubles([], [first, second]))
    assert list(doubles([], [first, ((0.0, 0.005), 1.25, 0.2, 0.8)]))


@pytest.mark.parametrize(
    ("window", "why"),
    [
        ("window: {rectangle: {width: 500, height: 300}, at: [60, 0]}", "leave nothing of the plate"),
        ("window: {rectangle: {width: 8, height: 300}, at: [90, 0]}", "cut the plate into 2 pieces"),
    ],
)
def test_both_files_are_refused_for_a_plate_in_no_piece_or_in_two(window: str, why: str) -> None:
    layout = layout_of(changed((WINDOW, window)))
    for write in (dxf_bytes, kerf_bytes):
        with pytest.raises(OutputError, match=why):
            write(layout)


@pytest.mark.parametrize("cutting", ["process: laser, kerf: 0.3", "process: oxy-fuel, kerf: 4", "process: plasma"])
@pytest.mark.parametrize("thickness", [3, 10, 16, 25, 32])
def test_the_way_in_is_as_long_as_the_room_that_a_pierce_wants(cutting: str, thickness: float) -> None:
    """So the outside, beside which there is room without end, has a place for its pierce in any thickness."""
    layout = layout_of(changed(("thickness: 6", f"thickness: {thickness}"), ("process: laser, kerf: 0.3", cutting)))
    assert not [f for f in cut_file.cut_file(layout) if "outline" in f.features]
