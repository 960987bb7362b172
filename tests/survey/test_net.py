"""Bad input: every kind of it is a sentence that names the reading."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from platekit.errors import SurveyError
from platekit.survey.net import BadReading, Feature, Net, Reading, checked
from platekit.survey.solve import solve

FEATURES = (Feature("A", 10.0), Feature("B", 10.0), Feature("C", 10.0), Feature("D", 10.0))
SQUARE = (
    Reading(("A", "B"), "centres", 80.0, line=11),
    Reading(("B", "C"), "centres", 60.0, line=12),
    Reading(("A", "C"), "centres", 100.0, line=13),
    Reading(("A", "D"), "centres", 60.0, line=14),
    Reading(("C", "D"), "centres", 80.0, line=15),
    Reading(("B", "D"), "centres", 100.0, line=16),
)
NET = Net(FEATURES, SQUARE, 0.1)


def with_reading(**changes: object) -> Net:
    return replace(NET, readings=(*SQUARE[:2], replace(SQUARE[2], **changes), *SQUARE[3:]))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"features": ("A", "Q")}, "there is no hole Q"),
        ({"features": ("A", "A")}, "names A twice"),
        ({"features": ("A",)}, "needs two holes, found 1"),
        ({"features": ("A", "B", "C")}, "needs two holes, found 3"),
        ({"features": ("A", "B"), "kind": "x"}, "needs one hole, found 2"),
        ({"features": ("A", "B"), "kind": "edge"}, "one hole and one datum edge"),
        ({"value": math.nan}, "not a number"),
        ({"value": math.inf}, "not a number"),
        ({"value": 0.0}, "must be above zero"),
        ({"value": -3.0}, "must be above zero"),
        ({"sigma": 0.0}, "sigma is 0"),
        ({"sigma": -0.1}, "sigma is -0.1"),
        ({"sigma": math.nan}, "sigma is nan"),
        ({"tool": "string"}, "there is no tool 'string'; use caliper, rule or tape"),
        ({"kind": "along"}, "there is no kind 'along'"),
    ],
)
def test_a_bad_reading_is_named_with_its_line(changes: dict[str, object], sentence: str) -> None:
    with pytest.raises(BadReading, match=sentence) as caught:
        solve(with_reading(**changes))
    assert caught.value.reading == 2
    assert caught.value.lines == (13,)
    assert isinstance(caught.value, SurveyError)


def test_an_unknown_hole_gets_the_nearest_name() -> None:
    net = replace(NET, features=(*FEATURES[:3], Feature("Drain")))
    with pytest.raises(BadReading, match="did you mean Drain"):
        checked(replace(net, readings=(Reading(("A", "Drian"), "centres", 20.0),)))


@pytest.mark.parametrize(
    ("net", "sentence"),
    [
        (replace(NET, features=(*FEATURES, Feature("A", 9.0))), "hole A is given twice"),
        (replace(NET, features=(Feature("A", 0.0), *FEATURES[1:])), "diameter of A is 0"),
        (replace(NET, features=(Feature("A", math.nan), *FEATURES[1:])), "diameter of A is nan"),
        (replace(NET, features=(Feature("A", 10.0, sigma=0.0), *FEATURES[1:])), "sigma of the diameter of A is 0"),
        (replace(NET, sigma=0.0), "sigma of the net is 0"),
        (replace(NET, features=(), readings=()), "there is no hole"),
        (replace(NET, on_circle=("A", "B")), "takes three or more"),
        (replace(NET, on_circle=("A", "B", "B")), "on_circle: names B twice"),
        (replace(NET, on_circle=("A", "B", "E")), "on_circle: there is no hole E"),
        (replace(NET, rectangle=("A", "B", "C")), "name its four corners"),
        (replace(NET, rectangle=("A", "B", "C", "D"), on_circle=("B", "C", "D")), "not both"),
        (replace(NET, clockwise=("A", "B", "E")), "clockwise: there is no hole E"),
        (replace(NET, clockwise=("A", "B", "A")), "clockwise: names A twice"),
        (replace(NET, origin="E"), "origin: there is no hole E"),
        (replace(NET, origin="corner"), "only be the origin when there are x and y readings"),
        (replace(NET, x_axis=("A", "A")), "x_axis: names A twice"),
    ],
)
def test_a_net_that_cannot_be_meant_is_refused(net: Net, sentence: str) -> None:
    with pytest.raises(BadReading, match=sentence):
        solve(net)


def test_readings_that_make_no_triangle_are_listed() -> None:
    net = Net(FEATURES[:3], (replace(SQUARE[0], value=10.0), replace(SQUARE[1], value=10.0), SQUARE[2]), 0.1)
    with pytest.raises(BadReading, match=r"A-C comes out at 100 mm .* longer than A-B and B-C") as caught:
        solve(net)
    assert caught.value.readings == (2, 0, 1)
    assert caught.value.lines == (13, 11, 12)


def test_the_reading_that_spoils_the_triangle_is_named_where_the_others_tell() -> None:
    with pytest.raises(
        BadReading, match=r"most likely A-C centres 1000 mm is wrong: .*: 1000 mm would be 100 mm: decimal point"
    ) as caught:
        solve(with_reading(value=1000.0))
    assert caught.value.reading == 2
    assert caught.value.lines == (13,)


def test_an_over_all_size_below_the_radii_is_refused() -> None:
    with pytest.raises(BadReading, match="not more than the two radii together") as caught:
        solve(with_reading(kind="over", value=9.0))
    assert caught.value.reading == 2


def test_clockwise_of_holes_in_one_row_is_refused() -> None:
    square = (Feature("M", 10.0), *FEATURES)
    halves = tuple(Reading((name, "M"), "centres", 50.0) for name in "ABCD")
    net = Net(square, SQUARE + halves, 0.1, clockwise=("A", "M", "C"))
    with pytest.raises(BadReading, match="A, M, C lie in one row"):
        solve(net)


def test_sigma_comes_from_the_reading_then_its_tool_then_the_net_then_the_caliper() -> None:
    reading = Reading(("A", "B"), "centres", 80.0)
    assert NET.sigma_of(replace(reading, sigma=0.5, tool="rule")) == 0.5
    assert NET.sigma_of(replace(reading, tool="rule")) == 0.3
    assert NET.sigma_of(reading) == 0.1
    assert replace(NET, sigma=None).sigma_of(reading) == 0.1
