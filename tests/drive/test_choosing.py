from __future__ import annotations

from math import degrees

import pytest
from msgspec.structs import replace

from platekit.drive.choosing import MERITS, ChoiceRequest, choose
from platekit.drive.open_belt import belt_length
from platekit.drive.request import Range
from platekit.errors import DriveError
from platekit.tables import belts

MIXER = ChoiceRequest(
    motor_speeds=Range(390, 2610),
    wanted=Range(120, 700),
    centres=Range(200, 400),
    best_centres=260,
    power_w=750,
    rated_rpm=1740,
)


def test_everything_in_stock_is_tried() -> None:
    found = choose(MIXER)
    pairs = (len(belts.stock_pulleys(name)) ** 2 * len(belts.stock(name)) for name in belts.section_names())
    assert found.tried == sum(pairs)
    assert found.tried > 200_000
    assert 0 < found.fitting < found.tried


def test_the_best_come_first_and_every_one_would_do() -> None:
    found = choose(MIXER, count=40)
    scores = [choice.score for choice in found.best]
    assert scores == sorted(scores)
    assert len(found.best) == 40
    for choice in found.best:
        small, large = choice.driver.pitch_diameter, choice.driven.pitch_diameter
        assert belt_length(choice.centres, small, large) == pytest.approx(choice.belt.pitch_length)
        assert 200 <= choice.centres <= 400
        assert choice.speeds.low <= 120 * 1.02
        assert choice.speeds.high >= 700 * 0.98
        assert degrees(choice.wrap) >= 120 or choice.belt.section.toothed
        assert min(small, large) >= belts.smallest_pulley(choice.belt.section.name).pitch_diameter * 0.995
        assert set(choice.merits) == set(MERITS)


def test_nothing_better_was_left_out_of_a_small_section() -> None:
    """Every pair of one section by plain loops finds no better one."""
    request = replace(MIXER, sections=("XL",), motor_speeds=Range(1740, 1740), wanted=Range(560, 600), power_w=0)
    request = replace(request, centres=Range(80, 200), best_centres=120)
    best = choose(request, count=1).best[0]
    tried = choose(request, count=10_000)
    assert len(tried.best) == tried.fitting
    assert best.score == min(choice.score for choice in tried.best)
    hits = 0
    for driver in belts.stock_pulleys("XL"):
        for driven in belts.stock_pulleys("XL"):
            speed = 1740 * driver.teeth / driven.teeth
            if driver.teeth >= 10 and 560 * 0.98 <= speed <= 600 * 1.02:
                for size in belts.stock("XL"):
                    hits += _fits(driver, driven, size.pitch_length)
    assert tried.fitting == hits


def _fits(driver: belts.StockPulley, driven: belts.StockPulley, length: float) -> bool:
    """By bisection instead of the vectorised steps."""
    small, large = sorted((driver.pitch_diameter, driven.pitch_diameter))
    low, high = (small + large) / 2, length
    if belt_length(low, small, large) > length:
        return False
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if belt_length(middle, small, large) < length else (low, middle)
    from platekit.drive.open_belt import wrap_angle

    held = min(driver.teeth, driven.teeth) * wrap_angle(low, small, large) / 6.283185307179586
    rims = (small + large) / 2 - belts.section("XL").offset
    return 80 <= low <= 200 and held >= 6 and low >= rims + 2


def test_one_motor_speed_takes_any_speed_within_the_wanted() -> None:
    fixed = replace(MIXER, motor_speeds=Range(1740, 1740), wanted=Range(480, 520), sections=("A",))
    for choice in choose(fixed).best:
        assert 480 * 0.98 <= choice.speeds.low == choice.speeds.high <= 520 * 1.02


def test_space_for_the_pulleys_is_kept() -> None:
    tight = replace(MIXER, largest_driven=200.0, sections=("SPZ", "3L", "PJ"))
    for choice in choose(tight).best:
        assert choice.driven.pitch_diameter - choice.belt.section.offset <= 200


def test_a_closer_wanted_distance_moves_the_choice() -> None:
    near = choose(replace(MIXER, best_centres=220.0)).best[0]
    far = choose(replace(MIXER, best_centres=380.0)).best[0]
    assert near.centres < far.centres


def test_more_power_needs_more_or_larger_belts() -> None:
    weak = choose(replace(MIXER, sections=("A",), power_w=500.0)).best[0]
    strong = choose(replace(MIXER, sections=("A",), power_w=2200.0, most_belts=6)).best[0]
    assert weak.belts_needed is not None
    assert strong.belts_needed is not None
    assert strong.belts_needed > weak.belts_needed


def test_a_section_without_a_published_rating_says_so() -> None:
    assert choose(replace(MIXER, sections=("PJ",))).best[0].belts_needed is None


def test_a_range_that_no_belt_widens() -> None:
    with pytest.raises(DriveError, match="no belt widens the range"):
        choose(replace(MIXER, wanted=Range(50, 700)))


def test_nothing_fits_in_no_room() -> None:
    with pytest.raises(DriveError, match=r"none of \d+ stocked drives .* 50 to 60 mm apart"):
        choose(replace(MIXER, centres=Range(50, 60)))
