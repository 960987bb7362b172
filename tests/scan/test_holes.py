"""Holes found in pictures that the tests make: how near the truth, which is which, and what is no hole."""

from __future__ import annotations

import math

import numpy as np
import pytest

from platekit.scan.edges import fitted_circle
from platekit.scan.holes import blind_holes, hole_near, laid_over, nominal_holes, why_not
from platekit.scan.located import Frame, frame_in
from platekit.scan.pictures import Picture
from tests.scan.clutter import clutter, seen_square
from tests.scan.made import Array, Made, Scene, flatbed, photo, scene

SCAN_RMS, PHOTO_RMS = 0.03, 0.05
"""mm; the bounds of the issue."""


def taken(made: Made) -> tuple[Picture, Frame]:
    picture = Picture("made", made.grey)
    return picture, frame_in(picture)


@pytest.fixture(scope="module")
def cast() -> Scene:
    return scene(np.random.default_rng(21))


@pytest.fixture(scope="module")
def scanned(cast: Scene) -> tuple[Picture, Frame]:
    return taken(flatbed(np.random.default_rng(22), cast, dpi=150.0))


def rms_of(pictures: list[tuple[Scene, Made]]) -> float:
    """Of the places of all holes found blind; every hole must be found, and nothing else."""
    off: list[float] = []
    for of, made in pictures:
        found = blind_holes(*taken(made))
        assert len(found) == len(of.holes)
        for x, y, _ in of.holes:
            off.append(min(math.dist(one.at, (x, y)) for one in found))
    return math.sqrt(sum(one**2 for one in off) / len(off))


def test_places_off_a_scan() -> None:
    pictures = []
    for seed in (31, 32):
        rng = np.random.default_rng(seed)
        of = scene(rng)
        pictures.append((of, flatbed(rng, of, dpi=200.0, turn_deg=90.0 * (seed - 31))))
    assert rms_of(pictures) < SCAN_RMS


def test_places_off_a_photo() -> None:
    pictures = []
    for seed in (41, 42):
        rng = np.random.default_rng(seed)
        of = scene(rng)
        pictures.append((of, photo(rng, of, lens=-0.1 * (seed - 41))))
    assert rms_of(pictures) < PHOTO_RMS


def test_diameters_are_good_enough_to_propose_a_drill(cast: Scene, scanned: tuple[Picture, Frame]) -> None:
    for x, y, size in cast.holes:
        circle = fitted_circle(*scanned, (x + 0.3, y - 0.3), size + 0.4)
        assert circle is not None
        assert circle.diameter == pytest.approx(size, abs=0.15)


def test_no_false_hole_in_two_hundred_pictures() -> None:
    assert [seed for seed in range(200) if blind_holes(*clutter(seed))] == []


def test_a_true_hole_among_clutter_is_found() -> None:
    """The same judge, with a hole drawn into some of the pictures: it does not refuse everything."""
    found = 0
    for seed in (1, 5, 9, 13):
        picture, frame = clutter(seed)
        at = (90.0, 130.0)
        (column, row), radius = frame.pixels(np.array([at]))[0], 7.0 / frame.pixel
        ys, xs = np.mgrid[0 : picture.height, 0 : picture.width]
        away = np.hypot(xs - column, ys - row)
        # a ring of bare metal round a dark hole, each pixel by its share
        grey = picture.grey.astype(float)
        for r, tone in ((radius + 6, 160.0), (radius, 25.0)):
            grey += np.clip(r + 0.5 - away, 0, 1) * (tone - grey)
        holes = blind_holes(*seen_square(np.round(grey).astype(np.uint8)))
        found += any(math.dist(one.at, at) < 0.05 and abs(one.diameter - 14.0) < 0.1 for one in holes)
    assert found >= 3  # rust and a stain may lie on one


def test_a_click_finds_the_hole_beside_it(cast: Scene, scanned: tuple[Picture, Frame]) -> None:
    for x, y, _ in cast.holes:
        circle = hole_near(*scanned, (x + 1.6, y - 1.2))
        assert circle is not None
        assert why_not(circle) == ""
        assert math.dist(circle.at, (x, y)) < 0.06


def test_a_click_beside_nothing_is_refused_in_words(cast: Scene, scanned: tuple[Picture, Frame]) -> None:
    x, y = cast.holes[0][:2]
    circle = hole_near(*scanned, (x + 5.0, y + 80.0), 11.0)
    assert why_not(circle).startswith(("no round edge", "only "))


def test_half_an_edge_is_not_enough() -> None:
    """A hole of which rust hides most of the edge: fewer than half of the rays agree."""
    grey = np.full((545, 343), 130, np.uint8)
    picture, frame = seen_square(grey)
    column, row = frame.pixels(np.array([(90.0, 130.0)]))[0]
    ys, xs = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    seen = (np.hypot(xs - column, ys - row) < 20) & (np.arctan2(ys - row, xs - column) > 0.8)
    grey[seen] = 30
    circle = fitted_circle(picture, frame, (90.0, 130.0), 40 * frame.pixel)
    assert circle is not None
    assert "of the rays from its middle agree on an edge; 50 % are needed" in why_not(circle)


def test_a_hand_sketch_says_which_is_which(cast: Scene, scanned: tuple[Picture, Frame]) -> None:
    names = ("bore", "A", "B", "C", "D")
    rng = np.random.default_rng(51)
    turn = math.radians(160)
    # drawn small, askew, and turned
    own = (
        (cast.holes[:, :2] - 90) * 0.6 @ np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    )
    sketch = {name: (x, y) for name, (x, y) in zip(names, own + rng.uniform(-4, 4, own.shape), strict=True)}
    found, refused, laid, _ = nominal_holes(*scanned, sketch, {}, rough=True)
    assert laid is not None
    assert not refused
    for hole in found:
        assert math.dist(hole.circle.at, cast.holes[names.index(hole.name)][:2]) < 0.06


def test_a_pattern_that_was_measured_says_where_to_look(cast: Scene, scanned: tuple[Picture, Frame]) -> None:
    names = ("bore", "A", "B", "C", "D")
    places = cast.holes[:, :2] - cast.holes[0, :2]
    known = {name: (float(x), float(y)) for name, (x, y) in zip(names, places, strict=True)}
    known["E"] = (0.0, 85.0)  # there is none
    found, refused, laid, other = nominal_holes(*scanned, known, {"E": 9.0}, rough=False)
    assert {hole.name for hole in found} == set(names)
    assert [one.name for one in refused] == ["E"]
    assert laid is not None
    assert laid.laid.scale == pytest.approx(1.0, abs=1e-3)
    assert other is None or len(other.pairs) < 5


def test_a_pattern_of_the_other_face_fits_mirrored_only() -> None:
    places: Array = np.array([(0, 0), (60, 5), (70, 50), (10, 45), (35, 22)], dtype=float)
    circles = []
    for x, y in places:
        circle = fitted_circle(*_disc_at((60 + x, 100 + y)), (60 + x, 100 + y), 12.0)
        assert circle is not None
        circles.append(circle)
    pattern = {str(k): (-float(x), float(y)) for k, (x, y) in enumerate(places)}
    straight, mirrored = (laid_over(pattern, circles, False, way) for way in (False, True))
    assert mirrored is not None
    assert len(mirrored.pairs) == 5
    assert straight is None or len(straight.pairs) < 5
    assert mirrored.pairs == {str(k): k for k in range(5)}


def _disc_at(at: tuple[float, float]) -> tuple[Picture, Frame]:
    grey = np.full((545, 343), 150.0)
    _, frame = seen_square(np.zeros((545, 343), np.uint8))
    column, row = frame.pixels(np.array([at]))[0]
    ys, xs = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    grey += np.clip(6.0 / frame.pixel + 0.5 - np.hypot(xs - column, ys - row), 0, 1) * (20 - grey)
    return seen_square(np.round(grey).astype(np.uint8))
