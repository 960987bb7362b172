"""Random pictures of faces without any hole: rust, stains, ovals, corners, letters, scratches, shadows."""

from __future__ import annotations

import math

import numpy as np

from platekit.scan.located import Frame
from platekit.scan.opencv import opencv
from platekit.scan.pictures import Picture
from platekit.scan.sheet import FrameSheet
from tests.scan.made import DOTS, Array, Grey, noise

PIXEL = 0.42
"""mm; small pictures, so that many of them take little time."""
LETTERS = "ABDOPQR0689CGJSU"


def seen_square(grey: Grey) -> tuple[Picture, Frame]:
    """A picture of a window alone, seen square from above, with the frame that says so."""
    sheet = FrameSheet("a4", "face")
    corner = np.array([sheet.window.x0, sheet.window.y1])

    def pixels(mm: Array) -> Array:
        return np.asarray((np.atleast_2d(mm) - corner) * (1, -1) / PIXEL - 0.5, dtype=float)

    nothing = np.empty((0, 2))
    frame = Frame(
        sheet=sheet, how="scan", pixels=pixels, codes=4, crossings=52, of=52, rms=0.01, softness=0.8, pixel=PIXEL,
        tilt_deg=0.0, mirrored=False, misfits=nothing, at=nothing,
    )  # fmt: skip
    return Picture("clutter", grey), frame


def clutter(seed: int) -> tuple[Picture, Frame]:
    """One of them; all that is round in it is out of round by a tenth at least, or a rounded square, or open."""
    cv2 = opencv()
    rng = np.random.default_rng(seed)
    window = FrameSheet("a4", "face").window
    high, wide = round(window.height / PIXEL), round(window.width / PIXEL)
    cells = ((30.0, 16.0), (8.0, 14.0), (2.5, 10.0), (1.0, 8.0))
    scale = 1 / DOTS / PIXEL  # the noise is in tenths of a mm
    face = rng.uniform(90, 170) + rng.uniform(0.2, 2.2) * noise(
        rng, high, wide, tuple((cell * scale, size) for cell, size in cells)
    )
    grey = np.clip(face, 0, 255).astype(np.uint8)
    for _ in range(int(rng.integers(0, 9))):
        at = (int(rng.uniform(0.1, 0.9) * wide), int(rng.uniform(0.1, 0.9) * high))
        size, tone, turn = rng.uniform(2.5, 22.0) / PIXEL, int(rng.uniform(5, 60)), rng.uniform(0, 360)
        if rng.uniform() < 0.2:
            tone = int(rng.uniform(215, 250))
        kind = rng.integers(0, 7)
        if kind == 0:  # an oval
            axes = (int(size), int(size * rng.uniform(0.3, 0.88)))
            if min(axes) * PIXEL > 1.5:
                cv2.ellipse(grey, at, axes, turn, 0, 360, tone, -1, cv2.LINE_AA)
        elif kind == 1:  # a polygon of three to six corners
            angles = np.radians(turn) + 2 * math.pi * np.arange(n := int(rng.integers(3, 7))) / n
            points = np.array(at) + size * rng.uniform(0.7, 1.1, (n, 1)) * np.column_stack(
                [np.cos(angles), np.sin(angles)]
            )
            cv2.fillPoly(grey, [np.round(points).astype(np.int32)], tone, cv2.LINE_AA)
        elif kind == 2:  # half a disc or a crescent
            cv2.ellipse(grey, at, (int(size), int(size)), turn, 0, rng.uniform(90, 230), tone, -1, cv2.LINE_AA)
        elif kind == 3:  # a letter
            letter = LETTERS[int(rng.integers(0, len(LETTERS)))]
            cv2.putText(grey, letter, at, cv2.FONT_HERSHEY_SIMPLEX, size / 10, tone, 4, cv2.LINE_AA)
        elif kind == 4:  # a stain that fades, round as it may be
            ys, xs = np.mgrid[0:high, 0:wide]
            share = np.exp(-(((xs - at[0]) ** 2 + (ys - at[1]) ** 2) / (2 * (0.6 * size) ** 2)))
            grey = (grey + share * (tone - grey.astype(float))).astype(np.uint8)
        elif kind == 5:  # blotches of what has flaked off
            flakes = noise(rng, high, wide, ((rng.uniform(3, 12) * scale, 1.0),))
            grey[flakes > rng.uniform(1.6, 2.4)] = tone
        else:  # a scratch
            end = (int(at[0] + 3 * size * math.cos(turn)), int(at[1] + 3 * size * math.sin(turn)))
            cv2.line(grey, at, end, tone, int(rng.integers(1, 6)), cv2.LINE_AA)
    blurred = cv2.GaussianBlur(grey, (0, 0), rng.uniform(0.5, 1.1)).astype(float)
    return seen_square(np.clip(blurred + rng.standard_normal(blurred.shape) * 3, 0, 255).astype(np.uint8))
