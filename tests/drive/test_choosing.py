from __future__ import annotations

from math import degrees

import pytest
from msgspec.structs import replace

from platekit.drive.choosing import MERITS, Choice, ChoiceRequest, choose
from platekit.drive.open_belt import belt_length
from platekit.drive.rating import toothed_rating, v_belt_rating
from platekit.drive.request import Range
from platekit.errors import DriveError
from platekit.tables import belts
from platekit.tables.belts.pulleys import StockPulley

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


@pytest.mark.parametrize("name", belts.section_names())
def test_what_is_needed_carries_the_design_power_and_one_less_does_not(name: str) -> None:
    """Worked out pair by pair with the rating that a laid-out drive is judged by."""
    power = 100 if name in ("XL", "3M", "3L") else 600
    request = replace(MIXER, sections=(name,), power_w=power, wanted=Range(150, 600), centres=Range(150, 900))
    if name == "SPC":
        request = replace(request, power_w=9000, wanted=Range(300, 700), centres=Range(500, 1200))
    design = request.power_w * request.service_factor
    for choice in choose(request, count=12).best:
        small = min(choice.driver, choice.driven, key=lambda pulley: pulley.pitch_diameter)
        speed = 1740 * choice.driver.pitch_diameter / small.pitch_diameter
        needed = choice.width_needed or choice.ribs_needed or choice.belts_needed
        assert needed is not None

        def carried(many: float, choice: Choice = choice, speed: float = speed, small: StockPulley = small) -> float:
            size, diameter = choice.belt, small.pitch_diameter
            if choice.width_needed:
                rating = toothed_rating(name, small.teeth, speed, choice.wrap, many)
            else:
                rating = v_belt_rating(name, diameter, speed, choice.wrap, size.pitch_length, int(many))
            return rating.power_w or 0.0

        assert carried(needed) >= design * (1 - 1e-9)
        less = [width for width in belts.stock_widths(name) if width < needed] or [needed - 1]
        if choice.width_needed and less == [needed - 1]:
            continue  # the narrowest that is sold
        assert needed == 1 or carried(less[-1]) < design


def test_without_a_power_nothing_is_said_of_what_is_needed() -> None:
    best = choose(replace(MIXER, sections=("PJ",), power_w=0)).best[0]
    assert (best.belts_needed, best.ribs_needed, best.width_needed) == (None, None, None)


def test_a_range_that_no_belt_widens() -> None:
    with pytest.raises(DriveError, match="no belt widens the range"):
        choose(replace(MIXER, wanted=Range(50, 700)))


def test_nothing_fits_in_no_room() -> None:
    with pytest.raises(DriveError, match=r"none of \d+ stocked drives .* 50 to 60 mm apart"):
        choose(replace(MIXER, centres=Range(50, 60)))


def test_a_shop_in_inches_is_offered_what_the_inch_trade_lists() -> None:
    """Section A has pulleys and belts by inches and by millimetres (ISO 4183, ISO 4184), SPZ by millimetres alone."""
    asked = replace(MIXER, sections=("A",), shop="in")
    best = choose(asked, 30).best
    assert best
    for one in best:
        assert one.driver.sold is not None
        assert one.driven.sold is not None
        assert {one.driver.sold.unit, one.driven.sold.unit} == {"in"}
        assert " mm " not in one.belt.label
    assert any(one.driver.sold.unit == "mm" for one in choose(replace(asked, shop="mm"), 300).best if one.driver.sold)
    metric = choose(replace(asked, sections=("SPZ",)), 3).best
    assert {one.driver.sold.unit for one in metric if one.driver.sold} == {"mm"}
