"""Pictures that the tests make: the printed frame with a rusty casting in its window, scanned or photographed.

The paper is the PDF of `platekit frame` itself, as a printer's rasteriser has it; holes, rust, chips, chamfers, lens,
carriage, blur, noise and JPEG are drawn here. So what is true is known to a thousandth of a mm.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pypdfium2
from msgspec import Struct
from numpy.typing import NDArray

from platekit.drawing.pdf.paper import SIZES
from platekit.export.paper.frame import frame_pdf
from platekit.scan.codes import Shows, Size
from platekit.scan.opencv import opencv
from platekit.scan.sheet import FrameSheet

Grey = NDArray[np.uint8]
Array = NDArray[np.float64]
DOTS = 10.0
"""Pixels a mm of the true scene."""


class Scene(Struct, frozen=True, eq=False):
    """The true scene as a raster of the whole page, and its holes (x, y, diameter), mm of the frame."""

    sheet: FrameSheet
    raster: Grey
    holes: Array


class Made(Struct, frozen=True, eq=False):
    """A picture, and the width of a pixel, mm."""

    grey: Grey
    pixel: float


@cache
def paper(size: Size, shows: Shows) -> Grey:
    page = pypdfium2.PdfDocument(frame_pdf(FrameSheet(size, shows)))[0]
    # a hair less: a page of 2970.0001 pixels would be stretched over 2971
    return np.asarray(page.render(scale=DOTS * 25.4 / 72 * (1 - 1e-5), grayscale=True).to_numpy())


def on_page(sheet: FrameSheet) -> tuple[float, float]:
    """Where (0, 0) of the frame is on its page, mm from the left and from above."""
    wide, high = SIZES[sheet.size]
    return (wide - sheet.bars.width) / 2, (high + sheet.bars.height) / 2


def noise(rng: np.random.Generator, high: int, wide: int, octaves: tuple[tuple[float, float], ...]) -> Array:
    """Grey values of rust: random values on grids of some mm each, smoothed."""
    cv2 = opencv()
    total = np.zeros((high, wide), np.float32)
    for cell, size in octaves:
        grid = rng.standard_normal((int(high / DOTS / cell) + 3, int(wide / DOTS / cell) + 3)).astype(np.float32)
        total += size * cv2.resize(grid, (wide, high), interpolation=cv2.INTER_CUBIC)
    return np.asarray(total, dtype=float)


RUST = ((30.0, 14.0), (6.0, 10.0), (1.5, 9.0), (0.4, 7.0))


def bare(rng: np.random.Generator, sheet: FrameSheet, rust: float = 1.0, level: float = 125.0) -> Grey:
    """The page with a rusty face in its window, without any hole."""
    raster = paper(sheet.size, sheet.shows)
    # as ink on paper is: neither black nor white
    raster = np.asarray(np.round(22 + raster.astype(float) * (232 - 22) / 255), dtype=np.uint8)
    left, high = on_page(sheet)
    window = sheet.window
    x0, x1 = (round((left + x) * DOTS) for x in (window.x0, window.x1))
    y0, y1 = (round((high - y) * DOTS) for y in (window.y1, window.y0))
    face = level + rust * noise(rng, y1 - y0, x1 - x0, RUST)
    raster[y0:y1, x0:x1] = np.clip(face, 0, 255).astype(np.uint8)
    return raster


def scene(
    rng: np.random.Generator,
    holes: Array | None = None,
    sheet: FrameSheet | None = None,
    rust: float = 1.0,
    chamfer: bool = True,
    chips: int = 3,
) -> Scene:
    """A casting with a bore and four holes, or with those given, under its frame."""
    sheet = sheet or FrameSheet("a4", "face")
    raster = bare(rng, sheet, rust)
    left, high = on_page(sheet)
    if holes is None:
        middle = np.array(sheet.bars.center) + rng.uniform(-6, 6, 2)
        rows = [(*middle, rng.uniform(45, 60))]
        for k in range(4):
            angle, reach = math.radians(45 + 90 * k + rng.uniform(-8, 8)), rng.uniform(58, 68)
            size = rng.choice([6.6, 9.0, 11.0, 13.5]) + rng.uniform(-0.2, 0.2)
            rows.append((*(middle + reach * np.array([0.85 * math.cos(angle), 1.3 * math.sin(angle)])), size))
        holes = np.array(rows)

    def disc(x: float, y: float, radius: float, grey: float) -> None:
        # each pixel by how much of it is covered: the library's own circles are half a pixel too wide
        cx, cy, r = (left + x) * DOTS - 0.5, (high - y) * DOTS - 0.5, radius * DOTS
        x0, y0, x1, y1 = (int(v) for v in (cx - r - 2, cy - r - 2, cx + r + 3, cy + r + 3))
        ys, xs = np.mgrid[y0:y1, x0:x1]
        share = np.clip(r + 0.5 - np.hypot(xs - cx, ys - cy), 0.0, 1.0)
        part = raster[y0:y1, x0:x1]
        part[:] = np.round(part + share * (int(grey) - part.astype(float)))

    for x, y, size in holes:
        radius = size / 2
        if chamfer:  # it catches the light
            disc(x, y, radius + rng.uniform(0.2, 0.5), rng.uniform(150, 200))
        disc(x, y, radius, rng.uniform(15, 45))
        for _ in range(chips):  # and burrs
            angle = rng.uniform(0, 2 * math.pi)
            at = (x + radius * math.cos(angle), y + radius * math.sin(angle))
            disc(*at, rng.uniform(0.15, 0.45), rng.uniform(20, 190))
    return Scene(sheet, raster, holes)


def casting(
    rng: np.random.Generator,
    outline: Array,
    behind: float = 225.0,
    holes: Array | None = None,
    sheet: FrameSheet | None = None,
) -> Scene:
    """A casting that fills an outline (n, 2; mm of the frame) and no more of the window, with something behind it."""
    cv2 = opencv()
    sheet = sheet or FrameSheet("a4", "face")
    of = scene(rng, holes if holes is not None else np.empty((0, 3)), sheet)
    raster, finer = of.raster, 4
    left, high = on_page(sheet)
    window = sheet.window
    x0, x1 = (round((left + x) * DOTS) for x in (window.x0, window.x1))
    y0, y1 = (round((high - y) * DOTS) for y in (window.y1, window.y0))
    # four times as fine, and brought down by area: the library fills half a pixel too wide
    mask = np.zeros(((y1 - y0) * finer, (x1 - x0) * finer), np.uint8)
    pixels = np.column_stack([(left + outline[:, 0]) * DOTS - x0, (high - outline[:, 1]) * DOTS - y0]) * finer - 0.5
    cv2.fillPoly(mask, [np.round(pixels * 16).astype(np.int32)], 255, cv2.LINE_8, shift=4)
    share = cv2.resize(mask, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA) / 255.0
    part = raster[y0:y1, x0:x1]
    part[:] = np.round(share * part + (1 - share) * behind)
    return Scene(sheet, raster, of.holes)


def flatbed(
    rng: np.random.Generator, of: Scene, dpi: float = 200.0, stick: float = 0.04, turn_deg: float = 0.0
) -> Made:
    """A scan: own scales along and across, a lean, a carriage that sticks and slips; JPEG."""
    pixel = 25.4 / dpi
    tall, wide = (side / DOTS for side in of.raster.shape)
    turn = math.radians(turn_deg + rng.uniform(-1.5, 1.5))
    w = int((wide * abs(math.cos(turn)) + tall * abs(math.sin(turn))) / pixel) + 20
    h = int((tall * abs(math.cos(turn)) + wide * abs(math.sin(turn))) / pixel) + 20
    xs, ys = np.meshgrid(np.arange(w, dtype=np.float32), np.arange(h, dtype=np.float32))
    across, along, lean = 1 + rng.uniform(-0.003, 0.003), 1 + rng.uniform(-0.004, 0.004), rng.uniform(-0.002, 0.002)
    slip = stick * np.sin(2 * math.pi * ys * pixel / rng.uniform(40, 90) + rng.uniform(0, 6))
    x, y = (xs - w / 2) * pixel * across, (ys - h / 2) * pixel * along + slip
    x = x + lean * y
    a = math.cos(turn) * x - math.sin(turn) * y + wide / 2
    b = math.sin(turn) * x + math.cos(turn) * y + tall / 2
    return Made(_taken(rng, of.raster, a, b, 0.6 * pixel, 3.0, 92), pixel)


def photo(
    rng: np.random.Generator,
    of: Scene,
    pixels: tuple[int, int] = (1560, 2080),
    tilt: float = 20.0,
    lens: float = -0.04,
    blur: float = 0.9,
    sd: float = 4.0,
    jpeg: int = 90,
) -> Made:
    """A photo: tilted, through a lens, uneven light; JPEG. `blur` in pixels."""
    cv2 = opencv()
    tall, wide = (side / DOTS for side in of.raster.shape)
    about: Any = [
        cv2.Rodrigues(np.array(axis, dtype=float))[0]
        for axis in (
            (math.radians(rng.uniform(-tilt, tilt)), 0, 0),
            (0, math.radians(rng.uniform(-tilt, tilt)), 0),
            (0, 0, math.radians(rng.uniform(-8, 8))),
        )
    ]
    turn = about[0] @ about[1] @ about[2]
    focal = 1.15 * max(pixels)
    away = tall * 1.22 * focal / max(pixels)
    xs, ys = np.meshgrid(np.arange(pixels[0], dtype=np.float32), np.arange(pixels[1], dtype=np.float32))
    x, y = (xs - pixels[0] / 2) / focal, (ys - pixels[1] / 2) / focal
    r2 = x * x + y * y
    u, v = x * (1 + lens * r2), y * (1 + lens * r2)
    # the ray meets the plane of the page, whose normal is the third column
    normal, camera = turn[:, 2], np.array([0.0, 0.0, away])
    t = (normal @ camera) / (normal[0] * u + normal[1] * v + normal[2])
    hit = np.stack([t * u, t * v, t - away], -1)
    a, b = hit @ turn[:, 0] + wide / 2, hit @ turn[:, 1] + tall / 2
    pixel = tall * 1.22 / max(pixels)
    shade = 1 + 0.25 * ((xs / pixels[0] - 0.5) * rng.uniform(-1, 1) + (ys / pixels[1] - 0.5) * rng.uniform(-1, 1))
    return Made(_taken(rng, of.raster, a, b, blur * pixel, sd, jpeg, shade), pixel)


def _taken(
    rng: np.random.Generator, raster: Grey, a: Any, b: Any, blur: float, sd: float, jpeg: int, shade: Any = 1.0
) -> Grey:
    """The raster seen at a, b (mm from its upper left), blurred by so many mm, with noise and JPEG."""
    cv2 = opencv()
    source = cv2.GaussianBlur(raster, (0, 0), max(blur * DOTS, 0.5))
    at = ((a * DOTS - 0.5).astype(np.float32), (b * DOTS - 0.5).astype(np.float32))
    grey = cv2.remap(source, *at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=90).astype(np.float32)
    grey = grey * shade + rng.standard_normal(grey.shape).astype(np.float32) * sd
    coded = cv2.imencode(".jpg", np.clip(grey, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, jpeg])[1]
    return np.asarray(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE))
