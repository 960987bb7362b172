"""Places off a picture as readings: of one free scale, told from their mirror image, held against calipers."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.survey.blunder import suspect
from platekit.survey.model import model_of
from platekit.survey.net import BadReading, Feature, Net, Reading
from platekit.survey.solve import Floating, solve

PLACES = {"A": (0.0, 0.0), "B": (120.3, 4.0), "C": (96.0, 88.5), "D": (11.0, 70.2), "E": (52.0, 31.0)}
NAMES = tuple(PLACES)


def seen(scale: float = 1.003, turn: float = 0.7, mirrored: bool = False, off: float = 0.0) -> tuple[Reading, ...]:
    """All places as a picture has them, with normal errors of `off` mm."""
    rng = np.random.default_rng(3)
    found = []
    for name, (x, y) in PLACES.items():
        x = -x if mirrored else x
        across = scale * (math.cos(turn) * x - math.sin(turn) * y) + 140 + off * rng.standard_normal()
        up = scale * (math.sin(turn) * x + math.cos(turn) * y) - 30 + off * rng.standard_normal()
        found += [Reading((name,), "across", across, 0.1), Reading((name,), "up", up, 0.1)]
    return tuple(found)


def spanned(*pairs: str, more: float = 0.0) -> tuple[Reading, ...]:
    return tuple(Reading((a, b), "centres", math.dist(PLACES[a], PLACES[b]) + more, 0.1) for a, b in map(tuple, pairs))


def net(*readings: Reading, **more: object) -> Net:
    return replace(Net(tuple(Feature(name) for name in NAMES), tuple(readings)), **more)


def distances_of(places: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([math.dist(places[i], places[j]) for i, j in combinations(range(len(places)), 2)])


def left_of(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> float:
    (ux, uy), (vx, vy) = b - a, c - a
    return float(ux * vy - uy * vx)


TRUE = distances_of(np.array(list(PLACES.values())))


@given(scale=st.floats(0.9, 1.1), turn=st.floats(-3.1, 3.1))
def test_two_distances_scale_the_picture(scale: float, turn: float) -> None:
    survey = solve(net(*seen(scale, turn), *spanned("AC", "BD")))
    assert distances_of(survey.points) == pytest.approx(TRUE, abs=1e-5)
    assert survey.chi_square == pytest.approx(0.0, abs=1e-6)
    # ten places, two distances; five holes less shift and turn, and the picture's four
    assert survey.dof == 12 - (10 - 3 + 4)


def test_a_picture_alone_has_no_scale() -> None:
    with pytest.raises(Floating, match="the reading to take next is"):
        solve(net(*seen()))


def test_a_picture_says_which_way_round() -> None:
    survey = solve(net(*seen(), *spanned("AC", "BD")))
    assert survey.mirror == "picture"
    a, b, c = (survey.points[NAMES.index(name)] for name in "ABC")
    assert left_of(a, b, c) > 0  # counter-clockwise, as they are
    other = solve(net(*seen(mirrored=True), *spanned("AC", "BD")))
    a, b, c = (other.points[NAMES.index(name)] for name in "ABC")
    assert left_of(a, b, c) < 0


def test_a_picture_of_the_other_face_does_not_go_with_clockwise() -> None:
    right = net(*seen(), *spanned("AC", "BD"), clockwise=("A", "C", "B"))
    assert solve(right).mirror == "clockwise"
    with pytest.raises(BadReading, match="it is one of the other face, or the three names stand"):
        solve(net(*seen(mirrored=True), *spanned("AC", "BD"), clockwise=("A", "C", "B")))


def test_a_hole_that_the_picture_lacks_is_placed_by_calipers() -> None:
    """And on the right side of the line of the two that it was measured from, which a third reading tells."""
    without = tuple(reading for reading in seen() if reading.features != ("E",))
    survey = solve(net(*without, *spanned("AC", "BD", "AE", "BE", "CE")))
    assert distances_of(survey.points) == pytest.approx(TRUE, abs=1e-5)


def test_a_slip_of_the_caliper_shows_against_the_picture() -> None:
    readings = [*seen(off=0.05), *spanned("AC", "BD", "CD", "AB")]
    readings[-2] = replace(readings[-2], value=readings[-2].value + 1.8)
    found = suspect(solve(net(*readings)))
    assert found is not None
    assert found.reading == readings[-2]


@pytest.mark.parametrize("off", [(3.1, -2.2), (-6.0, 4.0)])
def test_a_wrong_edge_in_the_picture_is_found_by_its_hole(off: tuple[float, float]) -> None:
    readings = [*seen(off=0.03), *spanned("AC", "BD", "AB", "CD", "BC")]
    for k, step in zip((4, 5), off, strict=True):  # of C
        readings[k] = replace(readings[k], value=readings[k].value + step)
    found = suspect(solve(net(*readings)))
    assert found is not None
    assert found.alike == (4, 5)
    assert found.stories[0].startswith("C is wrong in the picture: the others have it ")
    assert [one.value for one in found.mended] == pytest.approx([one.value for one in seen()[4:6]], abs=0.4)


def test_holes_exchanged_in_the_picture_do_not_pass() -> None:
    """A and B are each seen where the other is."""
    other = {"A": "B", "B": "A"}
    named = tuple(replace(one, features=(other.get(one.features[0], one.features[0]),)) for one in seen())
    survey = solve(net(*named, *spanned("AC", "BD", "AD", "BC")))
    assert survey.probability < 1e-6
    found = suspect(survey)
    assert found is not None
    assert found.stories == ("A and B have each other's place in the picture: look which is which",)
    assert found.alike == (0, 1, 2, 3)
    assert [one.value for one in found.mended] == [seen()[k].value for k in (2, 3, 0, 1)]


@pytest.mark.parametrize(
    ("pair", "clockwise"), [("AB", None), ("DE", None), ("AC", ("A", "C", "B")), ("BE", ("A", "C", "B"))]
)
def test_whichever_two_are_exchanged_are_named(pair: str, clockwise: tuple[str, ...] | None) -> None:
    """With three distances, the fewest that check a picture."""
    other = dict(zip(pair, reversed(pair), strict=True))
    named = [replace(one, features=(other.get(one.features[0], one.features[0]),)) for one in seen(off=0.03)]
    whole = replace(net(*named, *spanned("AC", "BD", "CD")), clockwise=clockwise)
    try:
        found = suspect(solve(whole))
        told = "" if found is None else str(found)
    except BadReading as error:
        told = str(error)
    assert f"{pair[0]} and {pair[1]} have each other's place in the picture" in told
    assert "clockwise: clockwise" not in told


def test_sigmas_follow_from_both() -> None:
    """By hand: n holes seen with s each; a distance L by caliper with t scales it, so the scale's sigma is t / L."""
    survey = solve(net(*seen(), *spanned("AC")))
    length, sigma = survey.distance("A", "B")
    assert length == pytest.approx(math.dist(PLACES["A"], PLACES["B"]), abs=1e-5)
    # what is seen of two distances of about a length, and the caliper on one of them: root of three readings' share
    assert 0.1 < sigma < 0.25


@given(u=st.lists(st.floats(-2.0, 2.0), min_size=14, max_size=14))
def test_the_derivative_is_that_of_what_is_seen(u: list[float]) -> None:
    model = model_of(net(*seen(), *spanned("AC", "BD")))
    here = np.array(u) * 10.0 + np.arange(14) * 7.0
    steps = 1e-5 * np.eye(len(here))
    slope = np.array([(model.predict(here + s) - model.predict(here - s)) / 2e-5 for s in steps]).T
    assert model.jacobian(here) == pytest.approx(slope, abs=1e-4)
    # what is seen stays as the whole is shifted and turned
    assert model.jacobian(here) @ model.moved_as_a_whole(here) == pytest.approx(0.0, abs=1e-6)


def test_rows_of_unknowns_are_predicted_alike() -> None:
    model = model_of(net(*seen(), *spanned("AC"), on_circle=("A", "B", "C", "D")))
    here = np.array([3.0 * k + 1.0 for k in range(model.unknowns)])
    many = np.array([here, here + 0.5])
    assert model.predict(many)[1] == pytest.approx(model.predict(here + 0.5))
    assert model.jacobian(here) @ model.moved_as_a_whole(here) == pytest.approx(0.0, abs=1e-6)
