"""What readings on a coupon mean: cut a coupon on a known machine, on paper, and the machine comes back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.cutting.coupon import LEAST_SCATTER, Coupon, coupon_for, judge
from platekit.errors import LookupFailed, SpecError, SurveyError
from platekit.geometry import Shape, distance, edge_distance
from platekit.spec.coupon import CouponReadings, coupon_of
from platekit.tables.processes import process_names, process_rules

READINGS = """\
platekit_coupon: 1
process: plasma
units: mm
thickness: 10
kerf_set: 0
drawn: {square: 130, holes: [15, 22.5, 30], slot: [45, 15]}
square: {x: [128.5, 129.0], y: [128.4, 128.9]}
holes: {a: [16.2, 15.5], b: [23.7, 23.0], c: [31.3, 30.6]}
slot: {length: [46.2, 45.5], width: [16.3, 15.6]}
"""


def text_of(kerf: float, error: float, lean: float, kerf_set: float = 0.0, thickness: float = 10.0) -> str:
    """The readings on a coupon of 130 mm that a machine of known kerf, hole error and lean (mm) would leave."""
    out = 130 + kerf_set - kerf
    inside = [size - kerf_set + kerf + error for size in (15, 22.5, 30, 45, 15)]
    pairs = [f"[{size!r}, {size - lean!r}]" for size in inside]
    return f"""\
platekit_coupon: 1
process: plasma
units: mm
thickness: {thickness!r}
kerf_set: {kerf_set!r}
drawn: {{square: 130, holes: [15, 22.5, 30], slot: [45, 15]}}
square: {{x: [{out!r}, {out + lean!r}], y: [{out!r}, {out + lean!r}]}}
holes: {{a: {pairs[0]}, b: {pairs[1]}, c: {pairs[2]}}}
slot: {{length: {pairs[3]}, width: {pairs[4]}}}
"""


def test_an_example_by_hand() -> None:
    # 130 - 128.5 and 130 - 128.4: kerf 1.55. Holes are 1.2, 1.2 and 1.3 over, the slot 1.3: 0.35, 0.35, 0.25, 0.25 less
    # than the kerf, -0.3 on the average, 0.05 apart from it. All are 0.7 narrower below: atan(0.35 / 10).
    found = judge(coupon_of(READINGS))
    assert found.kerf == pytest.approx(1.55)
    assert found.hole_error == pytest.approx(-0.3)
    assert found.scatter == pytest.approx(0.05)
    assert found.taper == pytest.approx(math.atan(0.035))
    assert found.thickness == 10


@given(
    kerf=st.floats(0.1, 4),
    error=st.floats(-1, 0.5),
    lean=st.floats(0, 1.5),
    kerf_set=st.floats(0, 4),
    thickness=st.floats(2, 30),
)
def test_a_known_machine_comes_back(kerf: float, error: float, lean: float, kerf_set: float, thickness: float) -> None:
    found = judge(coupon_of(text_of(kerf, error, lean, kerf_set, thickness)))
    assert found.kerf == pytest.approx(kerf)
    assert found.hole_error == pytest.approx(error, abs=1e-9)
    assert 2 * thickness * math.tan(found.taper) == pytest.approx(lean, abs=1e-9)
    assert found.scatter == LEAST_SCATTER


def test_a_lean_the_other_way_is_no_taper() -> None:
    assert judge(coupon_of(text_of(1.5, 0.0, -0.3))).taper == 0.0


WRONG = [
    ("x: [128.5, 129.0]", "x: [127.5, 128.0]", "the square is 127.5 mm along x and 128.4 mm along y"),
    ("b: [23.7, 23.0]", "b: [32.7, 23.0]", "hole b is 32.7 mm at the face cut from, drawn 22.5 mm"),
    ("b: [23.7, 23.0]", "b: [23.7, 0.9]", "hole b is 0.9 mm at the other face"),
    ("square: {x: [128.5, 129.0], y: [128.4, 128.9]}", "square: {x: [131, 131], y: [131, 131]}", "a kerf of -1.00 mm"),
]


@pytest.mark.parametrize(("old", "new", "said"), WRONG)
def test_readings_that_cannot_be_are_told(old: str, new: str, said: str) -> None:
    assert READINGS.count(old) == 1
    with pytest.raises(SurveyError, match=said):
        judge(coupon_of(READINGS.replace(old, new)))


def test_a_reading_left_out_is_told_with_its_place() -> None:
    with pytest.raises(SpecError, match=r'readings:8:16  holes\.a\.1: found "_"; give a length'):
        coupon_of(READINGS.replace("a: [16.2, 15.5]", "a: [1, _]"))
    with pytest.raises(SpecError, match=r"found no `slot`; add `slot`"):
        coupon_of(READINGS[: READINGS.index("slot: {length")])


def test_inches_come_in_as_millimetres() -> None:
    readings: CouponReadings = coupon_of(READINGS.replace("kerf_set: 0", "kerf_set: 0.02 in"))
    assert readings.kerf_set == pytest.approx(0.508)


@pytest.mark.parametrize("thickness", [2.0, 6.35, 10.0, 25.0])
@pytest.mark.parametrize("process", [name for name in process_names() if name != "drill"])
def test_every_process_has_a_coupon_it_can_cut(process: str, thickness: float) -> None:
    coupon: Coupon = coupon_for(process, thickness)
    rules = process_rules(process)
    web = rules["web"].value(thickness, rules["kerf"].value(thickness, 0))
    inside: tuple[Shape, ...] = (*coupon.holes, coupon.slot)
    for number, one in enumerate(inside):
        assert edge_distance(one, coupon.square).distance >= web - 1e-9
        for other in inside[number + 1 :]:
            assert distance(one, other).distance >= web - 1e-9
    sizes = [hole.diameter for hole in coupon.holes]
    assert sizes == sorted(sizes)
    assert sizes[0] >= rules["smallest_hole"].value(thickness, rules["kerf"].value(thickness, 0)) - 1e-9


def test_no_coupon_without_a_table() -> None:
    with pytest.raises(SurveyError, match="a drill press follows no drawing"):
        coupon_for("drill", 10)
    with pytest.raises(LookupFailed):
        coupon_for("scissors", 10)
