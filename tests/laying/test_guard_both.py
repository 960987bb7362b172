"""One guard over both belts of a countershaft: what it holds, what goes on when, where it is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.analysis.assembly import assembly
from platekit.checks.guard import guard as rule
from platekit.errors import SpecError
from platekit.export.bench.commissioning import before_power
from platekit.geometry import covers, distance, edge_distance
from platekit.laying.guard import ends_of
from platekit.laying.guard_parts import guard_parts
from platekit.laying.guard_plane import in_plane
from platekit.placed import Guard
from platekit.spec import with_value
from tests.laying.two_belts import BESIDE, BOTH, FAN, OWN, changed, lying

BARE = changed(BESIDE, (BOTH, ""))
OTHER_SIDE = (("{on: fan, pitch_diameter: 100, span: [-70, -50]}", "{on: fan, pitch_diameter: 100, span: [20, 40]}"),)


def laid(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "two.yaml"))


def guard_in(layout: platekit.Layout) -> Guard:
    assert layout.guard is not None
    return layout.guard


def told(text: str) -> list[platekit.Finding]:
    return [one for one in platekit.check(laid(text)).findings if one.rule == "guard"]


places = st.tuples(st.integers(180, 420), st.integers(0, 359))


@settings(max_examples=15)
@given(
    places,
    st.integers(8, 40),
    st.sampled_from(["bent", "rolled", "segments"]),
    st.sampled_from([("[-40, -20]", "[-70, -50]"), ("[-70, -50]", "[-40, -20]")]),
)
def test_one_guard_keeps_its_gap_from_both_belts_and_all_their_pulleys(
    place: tuple[int, int], gap: int, made: str, spans: tuple[str, str]
) -> None:
    far, angle = place
    x, y = far * math.cos(math.radians(angle)), far * math.sin(math.radians(angle))
    text = changed(
        BESIDE,
        ("gap: 25", f"gap: {gap}, band_made: {made}"),
        ("at: [-300, 0]", f"at: [{x:.4f}, {y:.4f}]"),
        ("pitch_length: 914.159265358979}\n    driver", "pitch_length: 1200}\n    driver"),
        ("[-40, -20]", "first"),
        ("[-70, -50]", "last"),
        ("first", spans[0]),
        ("last", spans[1]),
    )
    try:
        layout = laid(text)
    except SpecError:
        return
    guard = guard_in(layout)
    back, front = ends_of(guard)
    running = [body for body in layout.bodies if body.kind in ("belt", "pulley")]
    assert {body.belt for body in running} == {"drive", "second"}
    for body in running:
        assert covers(guard.outline, body.swept)
        assert edge_distance(body.swept, guard.outline).distance >= gap - 1e-6
        for z in body.z:
            assert guard.outward * (front - z) >= gap - 1e-6
            assert guard.outward * (z - back) >= -1e-6


def test_it_is_open_once_round_each_shaft_and_reaches_past_the_longest() -> None:
    guard = guard_in(laid(BESIDE))
    assert guard.belts == ("drive", "second")
    middles = sorted(shape.centroid for shape in guard.shafts)
    assert middles == [pytest.approx(one, abs=1e-9) for one in ((-300.0, 0.0), (0.0, 0.0), (300.0, 0.0))]
    # shafts 72 mm out of the far side's face, 8 mm of plate between: 64 past the near one, less than 62 + 25 of gap
    assert max(guard.z) == pytest.approx(70 - 8 + 25)


def test_the_box_goes_on_before_both_belts_and_the_cover_after() -> None:
    order = [step.item for step in assembly(laid(BESIDE)).steps]
    on = {item: order.index(item) for item in order}
    assert on["guard"] < min(on["drive.belt"], on["second.belt"])
    assert on["guard.cover"] > max(on["drive.belt"], on["second.belt"])


def test_papers_and_lists_say_that_it_is_over_both() -> None:
    layout = laid(BESIDE)
    assert any("The guard over drive and second is on" in line for line in before_power(layout))
    assert not [line for line in before_power(layout) if "made by local rules" in line]
    assert set(guard_parts(layout)) == {"guard-back", "guard-band", "guard-cover"}
    assert not told(BESIDE)


@pytest.mark.parametrize("text", [BARE, changed(BESIDE, ("belt: both, ", "")), changed(BESIDE, ("both", "second"))])
def test_a_belt_that_is_left_bare_is_told_and_one_guard_over_both_clears_it(text: str) -> None:
    found = [one for one in told(text) if "no guard is described" in one.message]
    assert len(found) == (2 if text == BARE else 1)
    for one in found:
        assert one.advice.remedies
        mended = text
        for remedy in one.advice.remedies:
            mended = with_value(mended, remedy.field, remedy.value)
        assert not told(mended)
        assert guard_in(laid(mended)).belts == ("drive", "second")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (((BOTH, "guard: {belt: both, split: [driven]}\n"),), "a split back plate under two belts"),
        (OTHER_SIDE, "run on both sides of the plate"),
        (((BESIDE[BESIDE.index("  second:") : BESIDE.index("guard:")], ""),), "of a drive that has one"),
    ],
)
def test_what_no_one_guard_covers_is_refused_in_words(changes: tuple[tuple[str, str], ...], said: str) -> None:
    with pytest.raises(SpecError, match=said):
        laid(changed(BESIDE, *changes))


def test_belts_at_both_ends_of_a_lying_countershaft_are_refused_one_guard() -> None:
    with pytest.raises(SpecError, match="opposite ends of their shafts"):
        laid(changed(FAN, (OWN, ""), ("guard: {belt: drive", "guard: {belt: both")))


def test_over_lying_shafts_one_guard_holds_both_and_nothing_is_left_to_tell() -> None:
    layout = laid(lying())
    guard = guard_in(layout)
    assert guard.outward == -1.0  # along a shaft that points up the plate, along n, which points down it
    for body in layout.bodies:
        shape, (low, high) = in_plane(guard.drawn, body)
        if body.kind in ("belt", "pulley"):
            assert covers(guard.outline, shape)
            assert edge_distance(shape, guard.outline).distance >= 12 - 1e-6
            assert guard.z[0] <= low
            assert high <= guard.z[1]
        elif body.name.endswith(".shaft"):
            low_end = min(low, high)
            assert low_end > guard.z[0]  # no shaft through the cover
    assert len(guard.shafts) == 3
    assert not [one for one in rule(layout) if one.level == "stop"]
    assert platekit.check(layout).clear


def test_without_the_sheets_behind_it_each_slot_of_its_back_is_told() -> None:
    text = lying()
    start = text.index("  countershaft shutter:")
    bare = text[:start] + text[text.index("drive:", start) :]
    found = [one for one in rule(laid(bare)) if "open round shaft" in one.message]
    assert len(found) == 2
    for one in found:
        assert any("fix a sheet" in idea.text for idea in (one.advice, *one.others))


def test_a_guard_over_the_far_end_of_a_shaft_leads_out_past_that_end() -> None:
    layout = laid(changed(FAN, (OWN, ""), ("guard: {belt: drive", "guard: {belt: second")))
    guard = guard_in(layout)
    ends = [in_plane(guard.drawn, body)[1] for body in layout.bodies if body.name.endswith("countershaft.shaft")]
    _, front = ends_of(guard)
    assert ends
    assert all(guard.outward * (front - z) > 0 for span in ends for z in span if guard.outward * z > 0)
    for body in layout.bodies:
        if body.belt == "second":
            shape, (low, high) = in_plane(guard.drawn, body)
            assert distance(shape, guard.outline).distance < 0
            assert guard.z[0] < low < high < guard.z[1]
