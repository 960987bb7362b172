"""The frame found in pictures: where its places come out, which way round, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from platekit.scan.located import Frame, discs_in, frame_in
from platekit.scan.opencv import PictureError, opencv
from platekit.scan.pictures import Picture
from platekit.scan.sheet import FrameSheet
from tests.scan.made import DOTS, Array, Grey, Scene, flatbed, on_page, photo, scene


@pytest.fixture(scope="module")
def cast() -> Scene:
    return scene(np.random.default_rng(5), rust=0.0, chamfer=False, chips=0)


@pytest.fixture(scope="module")
def scanned(cast: Scene) -> Grey:
    return flatbed(np.random.default_rng(6), cast, dpi=150.0).grey


def dark_middle(grey: Grey, near: Array, reach: int) -> Array:
    """The middle of what is dark round a pixel: by its weight, without any edge."""
    x, y = np.round(near).astype(int)
    part = grey[y - reach : y + reach + 1, x - reach : x + reach + 1].astype(float)
    rows, columns = np.nonzero(part < 70)
    return np.array([x - reach + columns.mean(), y - reach + rows.mean()])


def off(frame: Frame, grey: Grey, cast: Scene) -> float:
    """How far holes of the scene are from where the frame has them, mm, at most; judged by their dark middles."""
    found = []
    for x, y, size in cast.holes[1:]:
        at = frame.pixels(np.array([[x, y]]))[0]
        away = dark_middle(grey, at, round(0.8 * size / frame.pixel)) - at
        found.append(float(np.hypot(*away)) * frame.pixel)
    return max(found)


def test_a_scan_with_a_carriage_that_sticks(cast: Scene, scanned: Grey) -> None:
    frame = frame_in(Picture("scan", scanned))
    assert (frame.how, frame.codes, frame.sheet) == ("scan", 4, FrameSheet("a4", "face"))
    assert frame.rms < 0.02
    assert frame.pixel == pytest.approx(25.4 / 150, rel=0.01)
    assert off(frame, scanned, cast) < 0.05


def test_a_photo_from_aside(cast: Scene) -> None:
    made = photo(np.random.default_rng(7), cast, tilt=25.0)
    frame = frame_in(Picture("photo", made.grey))
    assert (frame.how, frame.mirrored) == ("photo", False)
    assert frame.rms < 0.02
    assert off(frame, made.grey, cast) < 0.05


@pytest.mark.parametrize("way", range(1, 8))
def test_the_codes_say_how_the_picture_was_turned_or_mirrored(cast: Scene, scanned: Grey, way: int) -> None:
    turned = np.ascontiguousarray(np.rot90(scanned, way % 4))
    turned = np.ascontiguousarray(turned[:, ::-1]) if way > 3 else turned
    frame = frame_in(Picture("scan", turned))
    assert frame.mirrored == (way > 3)
    assert off(frame, turned, cast) < 0.05


@pytest.mark.parametrize(("size", "shows"), [("a3", "unsaid"), ("letter", "back")])
def test_each_frame_says_which_it_is(size: str, shows: str) -> None:
    sheet = FrameSheet(size, shows)  # type: ignore[arg-type]
    rng = np.random.default_rng(8)
    made = flatbed(rng, scene(rng, sheet=sheet, holes=np.empty((0, 3))), dpi=100.0)
    frame = frame_in(Picture("scan", made.grey))
    assert frame.sheet == sheet


def without(cast: Scene, corners: tuple[int, ...]) -> Scene:
    """The scene with something white laid over corners of the frame."""
    raster = cast.raster.copy()
    left, high = on_page(cast.sheet)
    for corner in corners:
        x, y = cast.sheet.codes[corner][1]
        column, row = round((left + x) * DOTS), round((high - y) * DOTS)
        raster[max(row - 110, 0) : row + 110, max(column - 110, 0) : column + 110] = 235
    return Scene(cast.sheet, raster, cast.holes)


def test_one_corner_may_be_covered_and_two_may_not(cast: Scene) -> None:
    rng = np.random.default_rng(9)
    three = photo(rng, without(cast, (2,)), tilt=20.0).grey
    frame = frame_in(Picture("photo", three))
    assert frame.codes == 3
    assert off(frame, three, cast) < 0.05
    two = flatbed(rng, without(cast, (0, 2)), dpi=120.0).grey
    with pytest.raises(PictureError, match=r"found two of the frame's four coded corners; three are needed"):
        frame_in(Picture("scan", two))


def test_a_crumpled_frame_is_refused(cast: Scene) -> None:
    cv2 = opencv()
    rng = np.random.default_rng(10)
    made = flatbed(rng, cast, dpi=120.0)
    ys, xs = np.meshgrid(*(np.arange(n, dtype=np.float32) for n in made.grey.shape), indexing="ij")
    bent = (xs + 2.5 * np.sin(ys / 30) * np.sign(xs - xs.mean())).astype(np.float32)
    crumpled = cv2.remap(made.grey, bent, ys, cv2.INTER_LINEAR)
    with pytest.raises(PictureError, match="from where they belong"):
        frame_in(Picture("scan", np.asarray(crumpled)))


def test_a_blurred_picture_is_refused(cast: Scene) -> None:
    made = flatbed(np.random.default_rng(11), cast, dpi=200.0)
    blurred = opencv().GaussianBlur(made.grey, (0, 0), 3.0)
    with pytest.raises(PictureError, match=r"edges that are [23]\.\d pixels soft"):
        frame_in(Picture("scan", np.asarray(blurred)))


def test_noise_carries_no_codes() -> None:
    rng = np.random.default_rng(12)
    for _ in range(5):
        noise = opencv().GaussianBlur(rng.integers(0, 256, (900, 700), dtype=np.uint8), (0, 0), 6.0)
        assert not discs_in(np.asarray(opencv().normalize(noise, None, 0, 255, opencv().NORM_MINMAX)))


def test_what_the_printer_did_is_taken_out(cast: Scene, scanned: Grey) -> None:
    """The same picture, read as of a frame that a printer stretched across by half a hundredth."""
    plain = frame_in(Picture("scan", scanned))
    wide = frame_in(Picture("scan", scanned), distorted=((1.005, 0.0), (0.0, 1.0)))
    middle = np.array(cast.sheet.bars.center)
    right = plain.pixels(middle + np.array([[60.0, 0.0]]))
    assert wide.pixels(middle + np.array([[60.3, 0.0]])) == pytest.approx(right, abs=0.05)
