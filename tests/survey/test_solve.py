"""The survey against the truth, against a general solver, and against closed forms."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import least_squares
from scipy.stats import chi2

from platekit.survey.adjust import settle
from platekit.survey.frame import in_frame
from platekit.survey.net import BadReading, Feature, Net, Reading, ReadingKind
from platekit.survey.result import WITHIN_95, Survey
from platekit.survey.solve import Floating, solve

UNEVEN = {"A": (0.0, 0.0), "B": (80.0, 0.0), "C": (75.0, 60.0), "D": (5.0, 66.0)}
GRID = 3e-8
"""mm; places are rounded to 1e-8 mm in their frame, so a distance may differ by three such steps."""
Made = Callable[..., Net]
Pairs = Callable[..., list[tuple[str, ...]]]


def distances(survey: Survey) -> np.ndarray:
    return np.array([survey.distance(*pair)[0] for pair in itertools.combinations(survey.names, 2)])


def true_distances(places: dict[str, tuple[float, float]]) -> np.ndarray:
    return np.array([math.dist(places[a], places[b]) for a, b in itertools.combinations(places, 2)])


# The truth ----------------------------------------------------------------------------------------------------------


def test_perfect_readings_return_the_places_in_the_frame_asked_for(made: Made, every_pair: Pairs) -> None:
    survey = solve(
        made(UNEVEN, every_pair("ABCD", "inside", "over"), origin="A", x_axis=("A", "B"), clockwise=("A", "C", "B"))
    )
    for name, place in UNEVEN.items():
        assert (survey.holes[name].x, survey.holes[name].y) == pytest.approx(place, abs=1e-8)
        assert survey.holes[name].diameter == pytest.approx(10.0, abs=1e-9)
    assert survey.mirror == "clockwise"
    assert survey.dof == 12 + 4 - (2 * 4 - 3) - 4
    assert survey.chi_square == pytest.approx(0.0, abs=1e-12)


def test_the_other_way_round_is_the_mirror_image(made: Made, every_pair: Pairs) -> None:
    survey = solve(
        made(UNEVEN, every_pair("ABCD", "centres"), origin="A", x_axis=("A", "B"), clockwise=("A", "B", "C"))
    )
    for name, (x, y) in UNEVEN.items():
        assert (survey.holes[name].x, survey.holes[name].y) == pytest.approx((x, -y), abs=1e-8)


def test_without_clockwise_the_mirror_image_stays_open(made: Made, every_pair: Pairs) -> None:
    assert solve(made(UNEVEN, every_pair("ABCD", "centres"))).mirror == "open"


places = st.lists(
    st.tuples(st.floats(-150, 150), st.floats(-150, 150)).map(lambda p: (round(p[0], 1), round(p[1], 1))),
    min_size=3,
    max_size=7,
)


def spread_out(points: list[tuple[float, float]]) -> bool:
    """Holes apart from each other, and no three in one row."""
    apart = all(math.dist(p, q) > 20.0 for p, q in itertools.combinations(points, 2))
    flat = any(
        abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))
        < 0.1 * max(math.dist(a, b), math.dist(b, c), math.dist(a, c)) ** 2
        for a, b, c in itertools.combinations(points, 3)
    )
    return apart and not flat


@settings(max_examples=40)
@given(points=places.filter(spread_out), kind=st.sampled_from(["inside", "over", "centres"]))
def test_readings_made_from_known_holes_return_them(points: list[tuple[float, float]], kind: ReadingKind) -> None:
    named = dict(zip("ABCDEFG", points, strict=False))
    sign = {"inside": -1.0, "over": 1.0, "centres": 0.0}[kind]
    readings = tuple(
        Reading(pair, kind, math.dist(named[pair[0]], named[pair[1]]) + sign * 9.0)
        for pair in itertools.combinations(named, 2)
    )
    survey = solve(Net(tuple(Feature(name, 9.0) for name in named), readings))
    assert distances(survey) == pytest.approx(true_distances(named), abs=1e-6)


# Repeated readings, tools, redundancy -------------------------------------------------------------------------------


def test_repeated_readings_share_a_part_of_their_errors() -> None:
    """Against the general formula for correlated readings: half of the smallest variance is common to all."""
    pair = ("A", "B")
    values, sigmas = np.array([80.0, 80.4, 80.1]), np.array([0.1, 0.2, 0.1])
    readings = tuple(Reading(pair, "centres", *figures) for figures in zip(values, sigmas, strict=True))
    survey = solve(Net((Feature("A"), Feature("B")), readings))
    common = 0.5 * 0.1**2
    inverse = np.linalg.inv(np.diag(sigmas**2 - common) + common)
    variance = 1.0 / inverse.sum()
    best = variance * inverse.sum(axis=0) @ values
    residuals = values - best
    left = inverse - variance * np.outer(inverse.sum(axis=0), inverse.sum(axis=0))
    length, sigma = survey.distance("A", "B")
    assert length == pytest.approx(best, abs=GRID)
    assert sigma == pytest.approx(math.sqrt(variance), rel=1e-9)
    assert survey.chi_square == pytest.approx(residuals @ inverse @ residuals, rel=1e-6)
    assert survey.dof == 2
    tests = (inverse @ residuals) / np.sqrt(left.diagonal())
    assert [r.normalised for r in survey.readings] == pytest.approx(tests.tolist(), rel=1e-5)


@pytest.mark.parametrize("times", [2, 33, 200])
def test_a_figure_typed_again_counts_once(times: int, made: Made, every_pair: Pairs) -> None:
    net = made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.1)
    once, again = solve(net), solve(replace(net, readings=net.readings * times))
    assert again.points == pytest.approx(once.points, abs=GRID)
    assert again.covariance == pytest.approx(once.covariance, abs=1e-9)
    assert again.dof == once.dof
    assert again.chi_square == pytest.approx(once.chi_square, rel=1e-6)
    assert [one.copied for one in again.readings[: len(net.readings)]] == [False] * len(net.readings)
    assert all(one.copied and one.normalised is None for one in again.readings[len(net.readings) : -4])


def test_any_number_of_repeats_leaves_what_they_share(made: Made, every_pair: Pairs) -> None:
    """With errors of their own, 60 repeats come close to the root of one half of the sigma of one, and not below."""
    random = np.random.default_rng(4)
    net = made(UNEVEN, every_pair("ABCD", "centres"), sizes={})
    repeated = tuple(
        replace(one, value=one.value + 0.07 * float(random.standard_normal())) for one in net.readings * 60
    )
    one, many = solve(net), solve(replace(net, readings=repeated))
    for name in "BCD":
        share = many.holes[name].sigma / one.holes[name].sigma
        assert math.sqrt(0.5) < share < math.sqrt(0.5) + 0.01


def test_inside_and_over_together_need_no_diameters() -> None:
    readings = (Reading(("A", "B"), "inside", 70.0, 0.1), Reading(("A", "B"), "over", 90.0, 0.1))
    net = Net((Feature("A"), Feature("B")), readings)
    with pytest.raises(Floating, match="diameter of A and B"):
        solve(net)
    length, sigma = solve(net, floating_ok=True).distance("A", "B")
    assert length == pytest.approx(80.0)
    assert sigma == pytest.approx(0.1 / math.sqrt(2.0), rel=1e-6)


def test_redundancy_numbers_add_up_to_the_redundancy(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.1))
    assert sum(reading.redundancy for reading in survey.readings) == pytest.approx(survey.dof, abs=1e-9)
    assert survey.probability == pytest.approx(chi2.sf(survey.chi_square, survey.dof), rel=1e-9)


def test_a_reading_that_no_other_checks_says_so() -> None:
    survey = solve(Net((Feature("A"), Feature("B")), (Reading(("A", "B"), "centres", 80.0),)))
    assert survey.readings[0].normalised is None
    assert survey.readings[0].smallest_blunder == math.inf
    assert survey.probability == 1.0


# A general solver as oracle -----------------------------------------------------------------------------------------


def oracle(net: Net, names: str) -> tuple[np.ndarray, np.ndarray, float]:
    """Places in the frame A = (0, 0), B on x, by scipy with finite differences; unknowns xB, xC, yC, ..., diameters."""
    readings = net.all_readings
    sigma = np.array([net.sigma_of(reading) for reading in readings])

    def residuals(u: np.ndarray) -> np.ndarray:
        at = {"A": (0.0, 0.0), "B": (u[0], 0.0)} | {
            name: (u[2 * k + 1], u[2 * k + 2]) for k, name in enumerate(names[2:])
        }
        size = dict(zip(names, u[2 * len(names) - 3 :], strict=True))
        values = []
        for reading in readings:
            if reading.kind == "diameter":
                values.append(size[reading.features[0]])
                continue
            a, b = reading.features
            radii = (size[a] + size[b]) / 2.0
            values.append(math.dist(at[a], at[b]) + {"inside": -radii, "over": radii, "centres": 0.0}[reading.kind])
        return np.asarray((np.array([reading.value for reading in readings]) - values) / sigma, dtype=float)

    start = np.concatenate([[UNEVEN["B"][0]], *(UNEVEN[name] for name in names[2:]), np.full(len(names), 10.0)])
    solved = least_squares(residuals, start, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return solved.x, np.linalg.inv(solved.jac.T @ solved.jac), float(2.0 * solved.cost)


def test_a_general_solver_finds_the_same_places_covariance_and_chi_square(made: Made, every_pair: Pairs) -> None:
    net = made(
        UNEVEN,
        every_pair("ABCD", "inside", "over"),
        noise=0.1,
        origin="A",
        x_axis=("A", "B"),
        clockwise=("A", "C", "B"),
    )
    survey = solve(net)
    u, covariance, chi_square = oracle(net, "ABCD")
    assert survey.points.ravel()[[2, 4, 5, 6, 7]] == pytest.approx(u[:5], abs=1e-6)
    assert survey.chi_square == pytest.approx(chi_square, rel=1e-8)
    rows = [2, 4, 5, 6, 7]
    assert survey.covariance[np.ix_(rows, rows)] == pytest.approx(covariance[:5, :5], rel=1e-5, abs=1e-9)
    assert [hole.diameter_sigma for hole in survey.holes.values()] == pytest.approx(
        np.sqrt(np.diag(covariance)[5:]), rel=1e-5
    )


def test_the_covariance_is_what_repeated_measuring_scatters_by(made: Made, every_pair: Pairs) -> None:
    kinds = [*every_pair("ABCD", "inside"), ("A", "C", "over"), ("B", "D", "over")]
    more = {"origin": "A", "x_axis": ("A", "B"), "clockwise": ("A", "C", "B")}
    true = solve(made(UNEVEN, kinds, **more))
    expected, model, random = true.covariance, true.adjusted.model, np.random.default_rng(3)
    found = []
    for _ in range(2000):
        again = replace(model, observed=model.observed + model.sigma * random.standard_normal(len(model.observed)))
        found.append(in_frame(true.net, again, settle(again, true.adjusted.unknowns)[0]).points.ravel())
    rows = [2, 4, 5, 6, 7]
    scatter = np.cov(np.array(found).T)[np.ix_(rows, rows)]
    predicted = expected[np.ix_(rows, rows)]
    assert np.sqrt(np.diag(scatter)) == pytest.approx(np.sqrt(np.diag(predicted)), rel=0.05)
    correlation = predicted / np.sqrt(np.outer(np.diag(predicted), np.diag(predicted)))
    assert np.corrcoef(np.array(found).T[rows]) == pytest.approx(correlation, abs=0.05)


def test_the_95_percent_ellipse_holds_the_hole_95_times_in_100(made: Made, every_pair: Pairs) -> None:
    more = {"origin": "A", "x_axis": ("A", "B"), "clockwise": ("A", "C", "B")}
    held = 0
    for seed in range(300):
        hole = solve(made(UNEVEN, every_pair("ABCD", "centres"), noise=0.1, seed=seed, **more)).holes["C"]
        ellipse = hole.ellipse.within_95
        dx, dy = UNEVEN["C"][0] - hole.x, UNEVEN["C"][1] - hole.y
        along = dx * math.cos(ellipse.angle) + dy * math.sin(ellipse.angle)
        across = dy * math.cos(ellipse.angle) - dx * math.sin(ellipse.angle)
        held += (along / ellipse.major) ** 2 + (across / ellipse.minor) ** 2 <= 1.0
    assert held / 300 == pytest.approx(0.95, abs=0.035)
    assert pytest.approx(math.sqrt(chi2.ppf(0.95, 2))) == WITHIN_95


# Frames -------------------------------------------------------------------------------------------------------------


def test_distances_and_their_sigmas_do_not_depend_on_the_frame(made: Made, every_pair: Pairs) -> None:
    net = made(UNEVEN, every_pair("ABCD", "inside"), noise=0.1)
    one = solve(replace(net, origin="A", x_axis=("A", "B")))
    two = solve(replace(net, origin="C", x_axis=("D", "B")))
    three = solve(net)
    for pair in itertools.combinations("ABCD", 2):
        assert one.distance(*pair) == pytest.approx(two.distance(*pair), abs=GRID)
        assert one.distance(*pair) == pytest.approx(three.distance(*pair), abs=GRID)
    assert np.trace(one.free_covariance) == pytest.approx(np.trace(two.free_covariance), rel=1e-9)


def test_the_origin_and_the_direction_of_x_have_no_uncertainty(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside"), noise=0.1, origin="B", x_axis=("B", "C")))
    assert survey.holes["B"].sigma == 0.0
    assert (survey.holes["B"].x, survey.holes["B"].y) == (0.0, 0.0)
    assert survey.holes["C"].y == 0.0
    assert survey.holes["C"].covariance[1][1] == pytest.approx(0.0, abs=1e-15)


def test_the_free_covariance_has_no_shift_and_no_turn(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside"), noise=0.1))
    local = survey.points - survey.points.mean(axis=0)
    turn = np.column_stack([-local[:, 1], local[:, 0]]).ravel()
    for motion in (np.tile([1.0, 0.0], 4), np.tile([0.0, 1.0], 4), turn):
        assert survey.free_covariance @ motion == pytest.approx(np.zeros(8), abs=1e-12)


def test_x_axis_between_holes_at_one_place_is_refused(made: Made) -> None:
    corner = [(name, kind) for name in "AB" for kind in "xy"]
    with pytest.raises(BadReading, match="same place"):
        solve(made({"A": (10.0, 10.0), "B": (10.0, 10.0)}, corner, sizes={}, x_axis=("A", "B"), origin="A"))


# Corner and edge ----------------------------------------------------------------------------------------------------


def test_x_and_y_from_a_corner_give_places_and_settle_the_mirror_image(made: Made) -> None:
    survey = solve(made(UNEVEN, [(name, kind) for name in UNEVEN for kind in "xy"]))
    assert survey.mirror == "corner"
    assert survey.points == pytest.approx(np.array(list(UNEVEN.values())), abs=1e-9)
    assert survey.holes["C"].sigma == pytest.approx(0.1)


def test_clockwise_against_the_corner_is_refused(made: Made) -> None:
    with pytest.raises(BadReading, match="put A, B, C counter-clockwise"):
        solve(made(UNEVEN, [(name, kind) for name in UNEVEN for kind in "xy"], clockwise=("A", "B", "C")))


def test_corner_and_caliper_together(made: Made) -> None:
    kinds = [
        ("A", "x"),
        ("A", "y"),
        ("B", "x"),
        ("B", "y"),
        ("C", "y"),
        ("A", "C", "over"),
        ("B", "C", "inside"),
        ("C", "D", "inside"),
        ("A", "D", "inside"),
        ("B", "D", "over"),
    ]
    survey = solve(made(UNEVEN, kinds))
    assert survey.points == pytest.approx(np.array(list(UNEVEN.values())), abs=1e-7)
    assert survey.flips == ()


def test_a_row_of_holes_is_placed_by_a_straight_edge(made: Made) -> None:
    row = {"A": (0.0, 0.0), "B": (50.0, 1.0), "C": (100.0, 0.0)}
    lengths = [("A", "B", "inside"), ("B", "C", "inside"), ("A", "C", "over")]
    with pytest.raises(Floating, match=r"nearly in one row, .* straight edge"):
        solve(made(row, lengths))
    survey = solve(made(row, [*lengths, ("A", "edge"), ("B", "edge"), ("C", "edge")], origin="A", x_axis=("A", "C")))
    assert abs(survey.holes["B"].y) == pytest.approx(1.0, abs=1e-6)
    assert survey.holes["B"].sigma < 0.2


def test_two_datum_edges_square_to_each_other_place_what_calipers_do_not_reach() -> None:
    """Edges along y = -20 and x = -30; D hangs on one distance and on both edges, which three holes have placed."""
    features = (*(Feature(name, 10.0) for name in UNEVEN), Feature("bottom", kind="edge"), Feature("left", kind="edge"))
    readings = [
        Reading(pair, "centres", math.dist(UNEVEN[pair[0]], UNEVEN[pair[1]]))
        for pair in (("A", "B"), ("B", "C"), ("A", "C"), ("C", "D"))
    ]
    for name, (x, y) in UNEVEN.items():
        readings += [Reading((name, "bottom"), "edge", y + 20.0 - 5.0), Reading((name, "left"), "edge", x + 30.0 - 5.0)]
    net = Net(features, tuple(readings), 0.1, clockwise=("A", "C", "B"), origin="A", x_axis=("A", "B"))
    survey = solve(net)
    assert survey.points == pytest.approx(np.array(list(UNEVEN.values())), abs=1e-6)
    assert survey.dof == 4 + 8 + 4 - (8 - 3) - 4 - 4
    with pytest.raises(BadReading, match="names one hole and one datum edge"):
        solve(replace(net, readings=(Reading(("A",), "edge", 15.0),)))


def test_holes_within_a_wide_bore_are_no_contradiction(made: Made, every_pair: Pairs) -> None:
    places = UNEVEN | {"pilot": (40.0, 32.0)}
    kinds = [*every_pair("ABCD", "inside"), *((name, "pilot", "centres") for name in "ABC")]
    net = made(places, kinds, sizes=dict.fromkeys("ABCD", 10.0) | {"pilot": 140.0})
    net = replace(net, features=tuple(replace(f, kind="bore") if f.name == "pilot" else f for f in net.features))
    assert distances(solve(net)) == pytest.approx(true_distances(places), abs=1e-6)


def test_studs_and_pins_are_measured_over(made: Made) -> None:
    net = Net(
        (Feature("S", 12.0, "stud"), Feature("P", 8.0, "pin")),
        (Reading(("S", "P"), "over", 110.0), Reading(("S", "P"), "inside", 90.0)),
    )
    assert solve(net).distance("S", "P")[0] == pytest.approx(100.0)


# Assumed shapes -----------------------------------------------------------------------------------------------------


def ring(count: int, radius: float = 50.0) -> dict[str, tuple[float, float]]:
    step = 2.0 * math.pi / count
    return {"ABCDEFGH"[k]: (radius * math.cos(k * step), radius * math.sin(k * step)) for k in range(count)}


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8])
def test_one_spacing_of_an_even_bolt_circle_gives_its_diameter(count: int) -> None:
    """D = s / sin(180 deg / n), and sigma grows by the same factor."""
    names = tuple("ABCDEFGH"[:count])
    net = Net(
        tuple(Feature(name) for name in names),
        (Reading(("A", "B"), "centres", 40.0, 0.1),),
        on_circle=names,
        evenly=True,
    )
    survey = solve(net)
    factor = 1.0 / math.sin(math.pi / count)
    radii = [math.hypot(hole.x, hole.y) for hole in survey.holes.values()]
    assert radii == pytest.approx([20.0 * factor] * count, abs=1e-7)
    assert math.sqrt(survey.holes["A"].covariance[0][0] + survey.holes["A"].covariance[1][1]) == pytest.approx(
        0.05 * factor, rel=1e-6
    )


def test_neighbours_alone_fix_a_bolt_circle_when_named_going_round(made: Made) -> None:
    five = ring(5)
    neighbours = [
        ("A", "B", "centres"),
        ("B", "C", "centres"),
        ("C", "D", "centres"),
        ("D", "E", "centres"),
        ("E", "A", "centres"),
    ]
    survey = solve(made(five, neighbours, on_circle=tuple("ABCDE"), going_round=True))
    assert distances(survey) == pytest.approx(true_distances(five), abs=1e-6)
    assert survey.flips == ()
    star = solve(made(five, neighbours, on_circle=tuple("ABCDE")))
    assert len(star.flips) >= 1


def test_holes_on_a_circle_obey_ptolemy(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(ring(4), every_pair("ABCD", "inside"), noise=0.3, on_circle=tuple("ABCD")))
    ab, bc, cd, da, ac, bd = (survey.distance(*pair)[0] for pair in ("AB", "BC", "CD", "DA", "AC", "BD"))
    assert ac * bd == pytest.approx(ab * cd + bc * da, rel=1e-9)
    assert survey.dof == solve(made(ring(4), every_pair("ABCD", "inside"), noise=0.3)).dof + 1


def test_a_rectangle_needs_two_readings(made: Made) -> None:
    corners = {"A": (0.0, 0.0), "B": (80.0, 0.0), "C": (80.0, 60.0), "D": (0.0, 60.0)}
    survey = solve(made(corners, [("A", "B", "inside"), ("A", "C", "over")], rectangle=tuple("ABCD")))
    assert distances(survey) == pytest.approx(true_distances(corners), abs=1e-7)
    assert survey.dof == 0


# Flips, floating, awkward nets --------------------------------------------------------------------------------------


def test_a_hole_held_by_two_readings_can_be_on_either_side(made: Made, every_pair: Pairs) -> None:
    kinds = [*every_pair("ABC", "inside"), ("A", "D", "inside"), ("B", "D", "over")]
    survey = solve(made(UNEVEN, kinds))
    (flip,) = survey.flips
    assert flip.moved == ("D",)
    assert flip.telling == ("C", "D")
    image = (5.0, -66.0)
    assert sorted([flip.here, flip.there]) == pytest.approx(
        sorted([math.dist(UNEVEN["C"], UNEVEN["D"]), math.dist(UNEVEN["C"], image)]), abs=1e-5
    )
    assert solve(made(UNEVEN, [*kinds, ("C", "D", "inside")])).flips == ()


def test_two_groups_on_one_hinge_fold(made: Made, every_pair: Pairs) -> None:
    six = UNEVEN | {"E": (30.0, -50.0), "F": (60.0, -45.0)}
    kinds = [*every_pair("ABCD", "centres"), *every_pair("ABEF", "centres")]
    survey = solve(made(six, kinds))
    (flip,) = survey.flips
    assert set(flip.moved) in ({"C", "D"}, {"E", "F"})


def test_every_arrangement_of_two_triangles_on_three_bars_suits_the_readings(made: Made, every_pair: Pairs) -> None:
    six = {
        "A": (0.0, 0.0),
        "B": (80.0, 0.0),
        "C": (35.0, 60.0),
        "D": (20.0, 20.0),
        "E": (65.0, 12.0),
        "F": (38.0, 80.0),
    }
    bars = [("A", "D", "centres"), ("B", "E", "centres"), ("C", "F", "centres")]
    survey = solve(made(six, [*every_pair("ABC", "centres"), *every_pair("DEF", "centres"), *bars], sizes={}))
    assert survey.dof == 0
    assert len(survey.flips) >= 1
    arrangements = [true_distances(dict(flip.points)) for flip in survey.flips] + [distances(survey)]
    assert any(found == pytest.approx(true_distances(six), abs=1e-4) for found in arrangements)
    for flip in survey.flips:
        for a, b in ("AB", "BC", "AC", "DE", "EF", "DF", "AD", "BE", "CF"):
            assert math.dist(flip.points[a], flip.points[b]) == pytest.approx(math.dist(six[a], six[b]), abs=1e-4)


def test_arrangements_that_come_out_all_but_alike_are_no_flips() -> None:
    """Four holes nearly in one row, called a bolt circle: two ways to lie that differ by a part in a thousand."""
    readings = (
        Reading(("K", "L"), "inside", 13.68),
        Reading(("K", "M"), "inside", 97.09),
        Reading(("L", "M"), "centres", 83.11),
        Reading(("L", "N"), "over", 100.05),
        Reading(("M", "N"), "centres", 9.06),
    )
    features = (Feature("K", 20.0), Feature("L", 9.0), Feature("M", 9.0), Feature("N", 9.0))
    for clockwise in (("L", "M", "N"), ("K", "L", "N"), None):
        net = Net(features, readings, on_circle=("K", "L", "M", "N"), clockwise=clockwise)
        for flip in solve(net, floating_ok=True).flips:
            assert flip.moved
            assert str(flip)


def test_what_a_flip_leaves_alone_is_found_in_a_long_chain() -> None:
    """Fifty holes, each read from two before it: a flip moves the rest of the chain, and never all of it."""
    random = np.random.default_rng(8)
    places = {f"h{k}": (float(random.uniform(0, 400)), float(random.uniform(0, 400))) for k in range(50)}
    names = tuple(places)
    readings = tuple(
        Reading((names[k], names[j]), "centres", math.dist(places[names[k]], places[names[j]]))
        for k in range(50)
        for j in range(max(0, k - 2), k)
    )
    survey = solve(Net(tuple(Feature(name) for name in names), readings), floating_ok=True)
    assert 1 <= len(survey.flips) <= 8
    for flip in survey.flips:
        assert flip.moved
        stayed = [name for name in names if name not in flip.moved]
        assert len(stayed) >= 2
        for a, b in itertools.pairwise(stayed):
            assert math.dist(flip.points[a], flip.points[b]) == pytest.approx(survey.distance(a, b)[0], abs=0.1)


def test_too_few_readings_name_the_hole_that_floats_and_what_helps(made: Made, every_pair: Pairs) -> None:
    with pytest.raises(Floating, match="too few readings to place D; the reading to take next is") as caught:
        solve(made(UNEVEN, [*every_pair("ABC", "inside"), ("A", "D", "inside")]))
    assert caught.value.features == ("D",)
    assert caught.value.proposal is not None
    assert "D" in caught.value.proposal.features
    loose = solve(made(UNEVEN, [*every_pair("ABC", "inside"), ("A", "D", "inside")]), floating_ok=True)
    assert loose.holes["D"].floating
    assert loose.holes["D"].sigma == math.inf
    assert loose.distance("B", "C")[0] == pytest.approx(math.dist(UNEVEN["B"], UNEVEN["C"]))


def test_a_hole_that_no_reading_names_floats(made: Made, every_pair: Pairs) -> None:
    assert solve(made(UNEVEN, every_pair("ABC", "inside")), floating_ok=True).floating == ("D",)


@pytest.mark.parametrize("offset", [0.0, 1e-6, 0.05])
def test_three_holes_all_but_in_one_row_never_look_sure(made: Made, every_pair: Pairs, offset: float) -> None:
    survey = solve(
        made({"A": (0.0, 0.0), "B": (50.0, offset), "C": (100.0, 0.0)}, every_pair("ABC", "centres")), floating_ok=True
    )
    assert survey.floating or max(hole.sigma for hole in survey.holes.values()) > 1.0


def test_one_hole_alone_is_the_origin() -> None:
    survey = solve(Net((Feature("A", 10.0),)))
    assert (survey.holes["A"].x, survey.holes["A"].y, survey.holes["A"].sigma) == (0.0, 0.0, 0.0)
    assert survey.mirror == "same"


def test_small_holes_get_a_caution(made: Made) -> None:
    survey = solve(made({"A": (0, 0), "B": (50, 0)}, [("A", "B", "inside")], sizes={"A": 6.0, "B": 12.0}))
    assert tuple(map(str, survey.cautions)) == (
        "A: inside jaws read small in holes under 10 mm; check with a drill shank",
    )
    assert [caution.holes for caution in survey.cautions] == [("A",)]


def test_the_same_net_gives_the_same_figures_to_the_last_bit(made: Made, every_pair: Pairs) -> None:
    net = made(UNEVEN, every_pair("ABCD", "inside"), noise=0.1)
    assert solve(net).points.tobytes() == solve(net).points.tobytes()


def test_twenty_four_holes(made: Made, every_pair: Pairs) -> None:
    random = np.random.default_rng(5)
    named = {
        f"h{k}": (float(40 * (k % 6) + random.uniform(-8, 8)), float(40 * (k // 6) + random.uniform(-8, 8)))
        for k in range(24)
    }
    all_pairs = every_pair(named, "inside")
    kinds = [all_pairs[k] for k in sorted(random.permutation(len(all_pairs))[:150])]
    survey = solve(made(named, kinds, noise=0.1))
    assert survey.flips == ()
    assert distances(survey) == pytest.approx(true_distances(named), abs=1.0)
    assert survey.probability > 0.001
