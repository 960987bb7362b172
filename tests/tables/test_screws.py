from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import LookupFailed
from platekit.tables import screw, screw_sizes, tap_drill, thread

EVERY = screw_sizes()


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("M8", "M8"),
        ("m8", "M8"),
        ("M8x1.25", "M8"),
        ("M8 x 1.25", "M8"),
        ("M8×1,25", "M8"),
        ("M 8", "M8"),
        ("M8x1", "M8x1"),
        ("M8x1.0", "M8x1"),
        ("M3.5", "M3.5"),
        ("3/8-16", "3/8-16"),
        ("3/8", "3/8-16"),
        ('3/8"', "3/8-16"),
        ("3/8 in", "3/8-16"),
        ("3/8-16 UNC", "3/8-16"),
        ("1/4-28 UNF", "1/4-28"),
        ("#10-24", "#10-24"),
        ("10-32", "#10-32"),
        ("No. 10-24", "#10-24"),
        ("#10", "#10-24"),
        ("1-8", "1-8"),
        ("1 in", "1-8"),
        ("1-1/8-7", "1-1/8-7"),
        ("1 1/8-7", "1-1/8-7"),
    ],
)
def test_a_size_is_found_however_it_is_written(said: str, meant: str) -> None:
    assert screw(said).size == meant


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("M9", "no thread is called 'M9'; the nearest are M8, M10"),
        ("M8x1.3", "M8 is not listed with pitch 1.3; use 1.25, 1 or 0.75"),
        ("3/8-17", "3/8-17 is not listed; use 3/8-16 or 3/8-24"),
        ("5/17", "no thread is called"),
        ("", "no thread is called"),
        ("M", "no thread is called"),
        ("8", "8 is not listed; use #8-32 or #8-36"),
        ("M8x", "no thread is called"),
    ],
)
def test_a_size_that_is_not_made_is_refused_with_what_is(said: str, message: str) -> None:
    with pytest.raises(LookupFailed, match=message) as failure:
        screw(said)
    assert failure.value.nearest


def _meanings(text: str) -> tuple[str, ...]:
    try:
        return (screw(text).size,)
    except LookupFailed as failure:
        return failure.nearest


@given(st.text(alphabet='M0123456789x./-# UNCF"', max_size=12))
def test_any_text_is_a_screw_or_refused(text: str) -> None:
    assert _meanings(text)


@pytest.mark.parametrize("size", EVERY)
def test_sizes_of_a_screw_fit_each_other(size: str) -> None:
    found = screw(size)
    holes = found.clearance
    assert found.tap_drill < found.diameter < holes["close"] < holes["normal"] < holes["loose"]
    assert 50 < found.thread_percent < 92
    if found.hex_across_flats is not None:
        assert found.hex_across_corners is not None
        assert found.wrench_outer is not None
        assert found.hex_across_flats < found.hex_across_corners < found.wrench_outer
    if found.washer_outer is not None:
        assert found.washer_hole is not None
        assert found.diameter < found.washer_hole < found.washer_outer
    assert list(found.stock_lengths) == sorted(found.stock_lengths)


def test_a_fine_thread_shares_head_and_holes_with_the_coarse_one() -> None:
    coarse, fine = screw("M8"), screw("M8x1")
    assert coarse.clearance == fine.clearance
    assert coarse.hex_across_flats == fine.hex_across_flats
    assert fine.tap_drill > coarse.tap_drill
    assert fine.stress_area > coarse.stress_area
    assert "M8x1" in coarse.fine_pitches
    assert "M8" in fine.fine_pitches


def test_what_no_standard_lists_is_absent() -> None:
    small = screw("#10-24")
    assert small.hex_across_flats is None
    assert small.wrench_outer is None
    assert small.stock_lengths == ()
    assert small.source_of("hex head") is None
    assert small.nut_across_flats is not None


def test_each_group_names_its_source() -> None:
    found = screw("M8")
    assert {group: source.name for group, source in found.sources if group in ("clearance", "washer")} == {
        "clearance": "ISO 273",
        "washer": "ISO 7089",
    }


def test_stock_lengths_stay_within_what_the_size_is_made_in() -> None:
    lengths = screw("M8").stock_lengths
    assert lengths[0] == 16
    assert lengths[-1] == 80
    assert 22 not in lengths
    assert screw("3/8-16").stock_lengths[2] == pytest.approx(0.75 * 25.4)


def test_pitch_diameter_and_full_thread() -> None:
    found = thread("M10")
    assert found.pitch_diameter == pytest.approx(9.026, abs=0.001)
    assert found.percent(10.0) == 0.0
    assert found.percent(10.0 - 1.299 * 1.5) == pytest.approx(100.0)


def test_a_tap_drill_for_a_wanted_share_of_thread() -> None:
    found = tap_drill("3/8-16", percent=60)
    assert abs(found.thread_percent - 60) < 5
    assert found.drill.diameter > tap_drill("3/8-16").drill.diameter


def test_a_share_of_thread_that_no_tap_likes() -> None:
    with pytest.raises(LookupFailed, match="50 to 85 percent"):
        tap_drill("M8", percent=99)


def test_a_thread_that_no_stock_drill_serves() -> None:
    # 60.1 mm would be wanted, and the largest stock drill is 58 mm
    with pytest.raises(LookupFailed, match=r"no stock drill serves M64"):
        tap_drill("M64", percent=50)


def test_a_screw_can_be_a_key() -> None:
    assert {screw("M8"): 1}[screw("m8")] == 1
