"""Outlines of castings in pictures that the tests make: how near the truth, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from platekit.geometry import Loop, loop_of
from platekit.scan.located import Frame, frame_in
from platekit.scan.opencv import PictureError, opencv
from platekit.scan.outlines import outline_round
from platekit.scan.pictures import Picture
from tests.scan.made import Array, Made, Scene, casting, flatbed, photo

BOUND = 0.3
"""mm; of the task."""


def lug(arc: int = 120) -> Array:
    """A face with square corners, a notch in its side, and half an ellipse over it, mm of the frame."""
    square = [(40.0, 60.0), (140.0, 60.0), (140.0, 110.0), (120.0, 110.0), (120.0, 130.0), (140.0, 130.0)]
    turns = np.linspace(0, math.pi, arc)
    return np.vstack([square, np.column_stack([90 + 50 * np.cos(turns), 190 + 40 * np.sin(turns)])])


def along(corners: Array) -> Array:
    """Points of a closed polyline, 0.2 mm apart at most."""
    ends = np.roll(corners, -1, axis=0)
    pairs = zip(corners, ends, strict=True)
    sides = [a + (b - a) * np.arange(0, 1, min(0.2 / math.dist(a, b), 1.0))[:, None] for a, b in pairs]
    return np.vstack(sides)


def off(points: Array, corners: Array) -> float:
    """How far the farthest of the points is from a closed polyline, mm."""
    a, b = corners, np.roll(corners, -1, axis=0)
    way = b - a
    share = ((points[:, None] - a) * way).sum(axis=2) / (way**2).sum(axis=1)
    foot = a + np.clip(share, 0, 1)[..., None] * way
    return float(np.hypot(*(points[:, None] - foot).transpose(2, 0, 1)).min(axis=1).max())


def deviation(found: Array, true: Array) -> float:
    return max(off(along(found), true), off(along(true), found))


def loop(corners: Array) -> Loop:
    return loop_of([(x, y, 0.0) for x, y in corners.tolist()])


def taken(made: Made) -> tuple[Picture, Frame]:
    picture = Picture("made.png", made.grey)
    return picture, frame_in(picture)


@pytest.fixture(scope="module")
def cast() -> Scene:
    # its hole is no part of the outline
    return casting(np.random.default_rng(3), lug(), holes=np.array([(90.0, 150.0, 40.0)]))


@pytest.fixture(scope="module")
def scanned(cast: Scene) -> tuple[Picture, Frame]:
    return taken(flatbed(np.random.default_rng(4), cast, dpi=300.0))


def test_a_scan_at_300_dots_an_inch(scanned: tuple[Picture, Frame]) -> None:
    found = outline_round(*scanned, (70.0, 90.0))
    true = lug()
    assert deviation(found.corners, true) < BOUND
    # no more than if all of it were off by a twentieth of a mm
    assert found.loop.area == pytest.approx(loop(true).area, abs=0.05 * loop(true).perimeter)
    assert len(found.corners) < 80
    assert found.agreeing > 0.9
    assert found.sigma < 0.05
    # the same off a click on the edge, and a little beside it
    for at in ((40.3, 100.0), (39.0, 100.0)):
        assert np.array_equal(outline_round(*scanned, at).corners, found.corners)


def test_a_click_in_a_hole_follows_the_hole(scanned: tuple[Picture, Frame]) -> None:
    found = outline_round(*scanned, (88.0, 152.0))
    turns = 2 * math.pi * np.arange(360) / 360
    true = np.array((90.0, 150.0)) + 20.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    # its chamfer, up to half a mm wide and lighter than the face, may count for the edge
    assert deviation(found.corners, true) < 0.8


def test_dark_behind_it_and_a_photo(cast: Scene) -> None:
    dark = casting(np.random.default_rng(5), lug(), behind=15.0)
    found = outline_round(*taken(photo(np.random.default_rng(6), dark, tilt=10.0)), (90.0, 100.0))
    assert deviation(found.corners, lug()) < 0.4  # its pixels are twice as wide


def test_what_runs_into_the_frame_is_refused() -> None:
    wide = lug()
    wide[:2, 1] = 10.0
    picture, frame = taken(flatbed(np.random.default_rng(7), casting(np.random.default_rng(7), wide), dpi=150.0))
    with pytest.raises(PictureError, match=r"made.png: found an outline round 90.0,100.0 of the frame that runs into"):
        outline_round(picture, frame, (90.0, 100.0))
    with pytest.raises(PictureError, match="outside the frame's window"):
        outline_round(picture, frame, (5.0, 100.0))


def test_an_edge_that_is_lost_is_not_closed(scanned: tuple[Picture, Frame]) -> None:
    """Below 40 mm of the lower side lies a shadow, as dark as the casting where it begins, that fades slowly."""
    picture, frame = scanned
    grey = picture.grey.copy()
    (x0, y0), (x1, y1) = frame.pixels(np.array([[60.0, 62.0], [100.0, 40.0]])).round().astype(int)
    grey[y0:y1, x0:x1] = np.linspace(125, 225, y1 - y0).round()[:, None]
    with pytest.raises(PictureError, match=r"not closed: its edge is lost over \d\d mm at"):
        outline_round(Picture("made.png", grey), frame, (70.0, 90.0))


def test_a_soft_edge_is_refused(scanned: tuple[Picture, Frame]) -> None:
    """The paper is sharp, the casting out of focus."""
    picture, frame = scanned
    soft = picture.grey.copy()
    (x0, y1), (x1, y0) = frame.pixels(np.array([[25.0, 30.0], [158.0, 240.0]])).round().astype(int)
    soft[y0:y1, x0:x1] = opencv().GaussianBlur(picture.grey, (0, 0), 3.5)[y0:y1, x0:x1]
    with pytest.raises(PictureError, match=r"whose edge is [34]\.\d pixels soft; up to 2 are taken"):
        outline_round(Picture("made.png", soft), frame, (70.0, 90.0))


def test_a_rusty_face_all_over_the_window_has_no_outline() -> None:
    rng = np.random.default_rng(8)
    everywhere = casting(rng, np.array([(0.0, 0.0), (190.0, 0.0), (190.0, 280.0), (0.0, 280.0)]))
    picture, frame = taken(flatbed(rng, everywhere, dpi=100.0))
    for at in ((60.0, 80.0), (90.0, 130.0)):
        with pytest.raises(PictureError):
            outline_round(picture, frame, at)
