"""Circles, rectangles, known patterns and nominal sizes seen in a survey."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import least_squares

from platekit.survey.fit import circle_fit, rectangle_fit
from platekit.survey.match import KnownPattern, fits_standard, own_mirror_image
from platekit.survey.net import BadReading, Net
from platekit.survey.nominal import inch_text, nominal, nominals
from platekit.survey.solve import solve

Made = Callable[..., Net]
Pairs = Callable[..., list[tuple[str, ...]]]
UNEVEN = {"A": (0.0, 0.0), "B": (80.0, 0.0), "C": (75.0, 60.0), "D": (5.0, 66.0)}


def ring(count: int, diameter: float) -> tuple[tuple[float, float], ...]:
    steps = [2.0 * math.pi * k / count for k in range(count)]
    return tuple((diameter / 2.0 * math.cos(step), diameter / 2.0 * math.sin(step)) for step in steps)


def named(points: tuple[tuple[float, float], ...]) -> dict[str, tuple[float, float]]:
    return dict(zip("ABCDEFGH", points, strict=False))


def test_a_bolt_circle_is_seen_with_its_diameter(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(named(ring(5, 130.0)), every_pair("ABCDE", "inside", "over"), noise=0.1))
    fit = circle_fit(survey, tuple("ABCDE"))
    assert abs(fit.diameter - 130.0) < 4.0 * fit.sigma
    assert fit.sigma < 0.1
    assert fit.consistent
    assert fit.even
    assert (fit.dof, fit.even_dof) == (2, 6)


def test_three_holes_lie_on_the_circle_of_heron(made: Made, every_pair: Pairs) -> None:
    """The circle through three holes has D = abc / 2F, F by Heron."""
    survey = solve(made({name: UNEVEN[name] for name in "ABC"}, every_pair("ABC", "centres"), sizes={}))
    a, b, c = (math.dist(UNEVEN[p], UNEVEN[q]) for p, q in ("AB", "BC", "AC"))
    half = (a + b + c) / 2.0
    area = math.sqrt(half * (half - a) * (half - b) * (half - c))
    fit, diameter = circle_fit(survey, tuple("ABC")), a * b * c / (2.0 * area)
    assert fit.diameter == pytest.approx(diameter, abs=1e-7)
    assert fit.probability == 1.0
    by_length = [
        (lambda s: s[0] * s[1] * s[2] / (2.0 * heron(s)))(np.array([a, b, c]) + step) for step in np.eye(3) * 1e-6
    ]
    slope = (np.array(by_length) - diameter) / 1e-6
    assert fit.sigma == pytest.approx(0.1 * float(np.linalg.norm(slope)), rel=1e-3)


def heron(sides: np.ndarray) -> float:
    half = sides.sum() / 2.0
    return float(math.sqrt(half * np.prod(half - sides)))


def test_holes_off_the_circle_are_seen(made: Made, every_pair: Pairs) -> None:
    places = named(ring(5, 130.0)) | {"C": (-54.0, 38.2)}
    fit = circle_fit(solve(made(places, every_pair("ABCDE", "inside", "over"), noise=0.05)), tuple("ABCDE"))
    assert not fit.consistent
    assert not fit.even


def test_a_circle_with_uneven_spacing_is_a_circle_but_not_even(made: Made, every_pair: Pairs) -> None:
    angles = [0.0, 1.0, 2.5, 4.0]
    places = named(tuple((60.0 * math.cos(a), 60.0 * math.sin(a)) for a in angles))
    fit = circle_fit(solve(made(places, every_pair("ABCD", "inside", "over"), noise=0.05)), tuple("ABCD"))
    assert fit.consistent
    assert not fit.even


def test_the_circle_is_the_weighted_best_by_a_general_solver(made: Made, every_pair: Pairs) -> None:
    places = named(ring(6, 140.0)) | {"B": (37.0, 60.0)}
    survey = solve(made(places, every_pair("ABCDEF", "inside"), noise=0.1, sizes=dict.fromkeys("ABCDEF", 10.0)))
    fit = circle_fit(survey, tuple("ABCDEF"))
    points = survey.points
    whiten = np.linalg.pinv(survey.free_covariance, rcond=1e-9)
    values, vectors = np.linalg.eigh(whiten)
    root = vectors * np.sqrt(np.maximum(values, 0.0))

    def residuals(u: np.ndarray) -> np.ndarray:
        on = u[:2] + u[2] * np.column_stack([np.cos(u[3:]), np.sin(u[3:])])
        return np.asarray(root.T @ (points - on).ravel(), dtype=float)

    middle = points.mean(axis=0)
    start = np.concatenate([middle, [70.0], np.arctan2(*(points - middle).T[::-1])])
    solved = least_squares(residuals, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert fit.diameter == pytest.approx(2.0 * solved.x[2], abs=2e-3)
    assert fit.chi_square == pytest.approx(2.0 * solved.cost, rel=5e-3)


def test_fewer_than_three_holes_make_no_circle(made: Made) -> None:
    survey = solve(made({"A": (0, 0), "B": (50, 0)}, [("A", "B", "centres")]))
    with pytest.raises(BadReading, match="a circle needs three holes"):
        circle_fit(survey, ("A", "B"))
    with pytest.raises(BadReading, match="a rectangle needs four holes"):
        rectangle_fit(survey, ("A", "B"))


def test_a_rectangle_is_seen_with_its_sides(made: Made, every_pair: Pairs) -> None:
    corners = {"A": (0.0, 0.0), "C": (80.0, 60.0), "B": (80.0, 0.0), "D": (0.0, 60.0)}
    fit = rectangle_fit(solve(made(corners, every_pair("ACBD", "inside", "over"), noise=0.1)), tuple("ACBD"))
    assert fit.names[0] == "A"
    assert {fit.names[1], fit.names[3]} == {"B", "D"}
    assert sorted((fit.width, fit.height)) == pytest.approx([60.0, 80.0], abs=0.3)
    assert fit.consistent
    uneven = rectangle_fit(solve(made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.1)), tuple("ABCD"))
    assert not uneven.consistent


def test_the_right_pattern_gets_the_odds(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(named(ring(4, 149.2)), every_pair("ABCD", "inside", "over"), noise=0.1))
    candidates = [KnownPattern(f"ring {d:g}", ring(4, d)) for d in (115.0, 130.0, 149.2, 151.5, 165.0)]
    candidates.append(KnownPattern("five", ring(5, 149.2)))
    best, *rest = fits_standard(survey, candidates)
    assert best.name == "ring 149.2"
    assert best.fits
    assert best.share > 0.99
    assert not best.mirrored
    assert all(not match.fits for match in rest)
    assert "five" not in {match.name for match in rest}
    assert best.dof == 5


def test_no_pattern_in_the_list_gets_no_odds(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.1))
    assert all(not m.fits and m.share < 1e-6 for m in fits_standard(survey, [KnownPattern("ring", ring(4, 100.0))]))


def test_a_mirrored_pattern_is_found_and_said(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.1, clockwise=("A", "C", "B")))
    image = tuple((-x + 300.0, y) for x, y in UNEVEN.values())
    (straight,) = fits_standard(survey, [KnownPattern("own", tuple(UNEVEN.values()))])
    (mirrored,) = fits_standard(survey, [KnownPattern("image", image)])
    assert (straight.mirrored, mirrored.mirrored) == (False, True)
    assert straight.names == mirrored.names == tuple("ABCD")
    assert mirrored.fits


def test_the_placing_lays_the_candidate_on_the_holes(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(UNEVEN, every_pair("ABCD", "inside", "over"), noise=0.01, sigma=0.01))
    candidate = KnownPattern("image", tuple((40.0 - y, x) for x, y in UNEVEN.values()))
    (match,) = fits_standard(survey, [candidate])
    for name, (x, y), off in zip(match.names, candidate.points, match.off, strict=True):
        x = -x if match.mirrored else x
        hole = survey.holes[name]
        laid = (
            x * math.cos(match.turn) - y * math.sin(match.turn) + match.shift[0],
            x * math.sin(match.turn) + y * math.cos(match.turn) + match.shift[1],
        )
        assert math.dist(laid, (hole.x, hole.y)) == pytest.approx(off, abs=1e-9)
        assert off < 0.1


def test_chi_square_of_the_right_pattern_follows_its_distribution(made: Made, every_pair: Pairs) -> None:
    """Its mean is the number of degrees of freedom, over many measurings."""
    found = [
        fits_standard(
            solve(made(UNEVEN, every_pair("ABCD", "inside"), noise=0.1, seed=k)),
            [KnownPattern("own", tuple(UNEVEN.values()), 0.0)],
        )[0]
        for k in range(150)
    ]
    mean = sum(match.chi_square for match in found) / len(found)
    assert mean == pytest.approx(found[0].dof, abs=3.5 * math.sqrt(2.0 * found[0].dof / len(found)))


def test_only_symmetric_patterns_are_their_own_mirror_image(made: Made, every_pair: Pairs) -> None:
    kinds = every_pair("ABCD", "inside", "over")
    assert own_mirror_image(solve(made(named(ring(4, 130.0)), kinds, noise=0.1)))
    assert own_mirror_image(solve(made(named(((0, 0), (80, 0), (65, 60), (15, 60))), kinds, noise=0.1)))
    assert not own_mirror_image(solve(made(UNEVEN, kinds, noise=0.1)))
    odd = {"A": 10.0, "B": 12.0, "C": 10.0, "D": 14.0}
    trapezium = named(((0, 0), (80, 0), (65, 60), (15, 60)))
    assert not own_mirror_image(solve(made(trapezium, kinds, sizes=odd, noise=0.1)))


def test_nominals_of_an_inch_machine(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(named(ring(4, 5.875 * 25.4)), every_pair("ABCD", "inside", "over"), noise=0.05, sigma=0.05))
    circle = next(n for n in nominals(survey) if n.kind == "bolt circle")
    assert circle.inch.text == "5-7/8 in"
    assert circle.inch.agrees
    assert circle.measured != circle.inch.value
    assert len([n for n in nominals(survey) if n.kind == "distance"]) == 6


@pytest.mark.parametrize(
    ("measured", "metric", "inch"),
    [
        (50.02, "50 mm", "1-31/32 in"),
        (82.55, "82.5 mm", "3-1/4 in"),
        (25.4, "25.5 mm", "1 in"),
        (6.38, "6.5 mm", "1/4 in"),
    ],
)
def test_the_coarsest_nominal_that_agrees(measured: float, metric: str, inch: str) -> None:
    found = nominal("distance", ("A", "B"), measured, 0.0)
    assert (found.metric.text, found.inch.text) == (metric, inch)


def test_a_nominal_that_anything_would_meet_says_so() -> None:
    loose = nominal("distance", ("A", "B"), 83.2, 2.0)
    assert loose.metric.agrees
    assert loose.metric.chance > 0.7
    assert nominal("distance", ("A", "B"), 80.0, 0.01).metric.chance < 0.05


def test_inch_sizes_as_a_shop_writes_them() -> None:
    assert [inch_text(Fraction(k, 32)) for k in (32, 48, 4, 53)] == ["1 in", "1-1/2 in", "1/8 in", "1-21/32 in"]
