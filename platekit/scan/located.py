"""A frame found in a picture: from mm of the frame to pixels, with perspective, lens and carriage undone.

    discs       dark ellipses that carry a code: they say which frame it is and roughly how it lies
    crossings   found to a part of a pixel near where the discs say; all of them together say exactly
    photo       a plane seen through a lens: homography (8 figures) and two radial terms of the lens
    scan        a page drawn past a line of sensors: affine map (6), and how the carriage wandered, as a smooth curve
                over the rows of the picture (cubic B-splines)

Both are fitted by least squares with Huber's weights (Robust Statistics, 1981), and the one that leaves less, for the
figures it spends, is taken. What is left over at the crossings, in mm, is how far the map can be trusted.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final, Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.scan.codes import BAND, DOT, RIM, SECTORS, Seen, known_words
from platekit.scan.opencv import PictureError, opencv
from platekit.scan.pictures import Grey, Picture
from platekit.scan.sheet import CROSSING, FrameSheet

Array = NDArray[np.float64]
How = Literal["photo", "scan"]
Distorted = tuple[tuple[float, float], tuple[float, float]]
"""What the printer did to the frame: a linear map about the middle of its bars, by rows."""

SMALL: Final = 1600
"""Longest side in which discs are looked for, pixels (ours): a disc of A3 is 50 pixels wide there."""
BLOCKS: Final = (31, 81, 201)
"""Neighbourhoods for the local threshold, pixels of the small picture (ours)."""
LEAST_DISC: Final = 12.0
"""Least width of a disc in the small picture, pixels (ours)."""
NEAR: Final = 2.5
"""How far a crossing may lie from where the map so far has it, mm (ours: half of what separates it from another)."""
HUBER: Final = 0.03
"""Misfit of a crossing from which it counts less, mm (ours: three times what a good picture leaves)."""
MOST_RMS: Final = 0.1
"""Rms misfit of the crossings above which a picture is refused, mm."""
FEWEST_CODES: Final = 3
LEAST_CROSSINGS: Final = 0.5
"""Share of the crossings that must be seen (ours)."""
SOFTEST: Final = 2.0
"""Sigma of an edge's blur above which a picture is refused, pixels."""
KNOTS: Final = 15.0
"""Distance of the knots of the carriage's curve, mm (ours: that of the crossings)."""
SMOOTH: Final = 0.02
"""Weight of the curve's own second differences beside the misfits (ours: keeps it straight where no crossing is)."""
AS_GOOD: Final = 0.9
"""A photo's map must leave less than this share of a scan's to be taken for the better one (ours)."""


class Disc(Struct, frozen=True, eq=False):
    """A coded disc as seen: what it says, and five points of it: pixels, and the mm of the disc's own frame."""

    seen: Seen
    pixels: Array
    own: Array


class Frame(Struct, frozen=True, eq=False):
    """A frame found in a picture. `rms` is in mm, `softness` in pixels, `pixel` is the width of one, mm.

    `mirrored` says that the picture, not the part, is the wrong way round: its codes read backwards, and that is
    undone.
    """

    sheet: FrameSheet
    how: How
    pixels: Callable[[Array], Array]
    codes: int
    crossings: int
    of: int
    rms: float
    softness: float
    pixel: float
    tilt_deg: float
    mirrored: bool
    misfits: Array
    at: Array


def frame_in(picture: Picture, how: How | None = None, distorted: Distorted | None = None) -> Frame:
    """The frame in a picture; `distorted` is what the printer did to it, `how` the kind of picture if it is known.

    Raises `PictureError`: fewer than three codes, codes of several frames, too few crossings, crossings that no map
    explains to 0.1 mm, edges softer than two pixels.
    """
    discs = discs_in(picture.grey)
    sheet = _sheet_of(picture, discs)
    centres = dict(sheet.codes)
    marks = _printed(sheet, sheet.crossings, distorted)
    # the discs' own points first: they say roughly where every crossing is, even with one corner covered
    own = np.vstack([_printed(sheet, np.array(centres[disc.seen.code]) + disc.own, distorted) for disc in discs])
    rough = _homography(own, np.vstack([disc.pixels for disc in discs]))
    places, seen = _crossings(picture.grey, marks, rough)
    if seen.sum() < LEAST_CROSSINGS * len(marks):
        found = f"{int(seen.sum())} of the frame's {len(marks)} crossings"
        raise PictureError(picture.name, found, "take it again with the whole frame in sight, flat and evenly lit")
    pixel = _pixel(rough, marks)
    fits: list[tuple[How, tuple[Callable[[Array], Array], int]]] = []
    if how != "scan":
        fits.append(("photo", _photo(picture, rough, marks[seen], places[seen], pixel)))
    if how != "photo":
        fits.append(("scan", _scan(marks[seen], places[seen], pixel)))
    # what each leaves at the crossings, in mm, made larger for the figures that it spends
    spread: dict[str, tuple[float, Array]] = {}
    for kind, (mapped, spent) in fits:
        off = (mapped(marks[seen]) - places[seen]) * pixel
        freedom = max(2 * len(off) - spent, 1)
        spread[kind] = float(np.sqrt((np.minimum(off**2, (10 * HUBER) ** 2)).sum() / freedom)), off
    kind, (mapped, _) = min(fits, key=lambda fit: spread[fit[0]][0] * (AS_GOOD if fit[0] == "scan" else 1.0))
    off = spread[kind][1]
    # a crossing with a crease or a speck on it is left out of the count of the rest, a few of them only
    lengths = np.sort(np.hypot(*off.T))
    kept = lengths[: max(math.ceil(0.9 * len(lengths)), 1)]
    rms = float(np.sqrt((kept**2).mean()))
    if rms > MOST_RMS:
        raise PictureError(
            picture.name,
            f"crossings of the frame {rms:.2f} mm from where they belong (rms)",
            f"up to {MOST_RMS:g} mm is taken: lay the paper flat, all of it in one plane, and take it again",
        )
    softness = _softness(picture.grey, mapped, marks[seen], pixel)
    if softness > SOFTEST:
        raise PictureError(
            picture.name,
            f"edges that are {softness:.1f} pixels soft",
            f"up to {SOFTEST:g} are taken: hold still, focus on the paper, more light",
        )
    return Frame(
        sheet=sheet,
        how=kind,
        pixels=_of_true_mm(mapped),
        codes=len(discs),
        crossings=int(seen.sum()),
        of=len(marks),
        rms=rms,
        softness=softness,
        pixel=pixel,
        tilt_deg=_tilt(rough, picture),
        mirrored=discs[0].seen.mirrored,
        misfits=off,
        at=marks[seen],
    )


def _of_true_mm(mapped: Callable[[Array], Array]) -> Callable[[Array], Array]:
    return lambda places: mapped(np.atleast_2d(np.asarray(places, dtype=float)))


def _printed(sheet: FrameSheet, places: Array, distorted: Distorted | None) -> Array:
    """Where places of the frame really are on the paper, mm: the printer stretches it about the middle of the bars."""
    if distorted is None:
        return np.asarray(places, dtype=float)
    middle = np.array(sheet.bars.center)
    return np.asarray(middle + (places - middle) @ np.array(distorted).T, dtype=float)


def _sheet_of(picture: Picture, discs: list[Disc]) -> FrameSheet:
    """The one frame that all discs are of."""
    frames = {(disc.seen.code.size, disc.seen.code.shows, disc.seen.mirrored) for disc in discs}
    if len(frames) > 1:
        raise PictureError(picture.name, "codes of more than one frame", "take it again with one frame in the picture")
    if len(discs) < FEWEST_CODES:
        count = {0: "none", 1: "one", 2: "two"}[len(discs)]
        raise PictureError(
            picture.name,
            f"{count} of the frame's four coded corners",
            "three are needed: take it again with all corners in the picture, sharp, without glare; the frame is the "
            "page of `platekit frame`",
        )
    code = discs[0].seen.code
    return FrameSheet(code.size, code.shows)


# ------------------------------------------------------------------------------------------------ coded discs


def discs_in(grey: Grey) -> list[Disc]:
    """The coded discs in a picture, each corner once, in the order of the corners."""
    cv2 = opencv()
    scale = max(max(grey.shape) / SMALL, 1.0)
    small = grey
    if scale > 1.0:
        size = (round(grey.shape[1] / scale), round(grey.shape[0] / scale))
        small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    found: dict[tuple[Any, ...], tuple[float, Disc]] = {}
    for block in BLOCKS:
        dark = cv2.adaptiveThreshold(small, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, block, 8)
        outlines = cv2.findContours(dark, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)[0]
        for outline in outlines:
            if len(outline) < 2.5 * LEAST_DISC or len(outline) > 4 * max(small.shape) // 3:
                continue
            (_, _), (wide, high), _ = box = cv2.fitEllipse(outline)
            if not LEAST_DISC < min(wide, high) <= max(wide, high) < 3.0 * min(wide, high):
                continue
            area = math.pi / 4 * wide * high
            if abs(cv2.contourArea(outline) - area) > 0.08 * area:
                continue
            read = _read_disc(grey, box, scale)
            if read is not None:
                clear, disc = read
                key = (disc.seen.code.size, disc.seen.code.shows, disc.seen.code.corner, disc.seen.mirrored)
                if key not in found or clear > found[key][0]:
                    found[key] = read
    return [disc for _, disc in sorted(found.values(), key=lambda one: one[1].seen.code.corner)]


def _read_disc(grey: Grey, box: Any, scale: float) -> tuple[float, Disc] | None:
    """What a dark ellipse says, and how clearly (grey values); None where it carries no word of ours."""
    (cx, cy), (wide, high), angle = box
    cx, cy = (cx + 0.5) * scale - 0.5, (cy + 0.5) * scale - 0.5
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    # from the unit disc to the ellipse: a turn is left open, which the word tells
    to = np.array([[cos * wide, -sin * high], [sin * wide, cos * high]]) / 2 * scale

    def at(radius: float, angles: Array) -> Array:
        ring = radius / RIM * np.column_stack([np.cos(angles), np.sin(angles)]) @ to.T + (cx, cy)
        return _values(grey, ring)

    finely = 2 * math.pi * np.arange(8 * SECTORS) / (8 * SECTORS)
    rim, inner = at((BAND[1] + RIM) / 2, finely), at((BAND[0] + DOT) / 2, finely)
    dark = float(np.median(np.concatenate([rim, inner])))
    bright = float(np.median(np.concatenate([at(0.4 * DOT, finely), at(1.15 * RIM, finely)])))
    if bright - dark < 25.0 or np.percentile(rim, 90) > (dark + bright) / 2:
        return None
    middle = (BAND[0] + BAND[1]) / 2
    band = (at(middle - 0.5, finely) + at(middle, finely) + at(middle + 0.5, finely)) / 3
    # where sectors begin is not known: of eight ways the one whose sectors are each most plainly black or white
    best: tuple[float, int, float] | None = None
    for phase in range(8):
        sectors = np.roll(band, -phase).reshape(SECTORS, 8)[:, 2:6].mean(axis=1)
        clear = float(np.abs(sectors - (dark + bright) / 2).min())
        word = sum(1 << k for k in range(SECTORS) if sectors[k] > (dark + bright) / 2)
        if best is None or clear > best[0]:
            best = clear, word, finely[phase]
    assert best is not None
    clear, word, begin = best
    # in the picture y points down: a frame that is not mirrored is read backwards there
    seen = known_words().get(word)
    if seen is None or clear < 0.12 * (bright - dark):
        return None
    step = 2 * math.pi / SECTORS
    own = np.vstack([[0.0, 0.0], RIM * np.column_stack([np.cos(_ROUND), np.sin(_ROUND)])])
    # of a word that is mirrored, sector k in the picture is the one of the disc that lies as far the other way round
    angles = begin + seen.turned * step + (-_ROUND if seen.mirrored else _ROUND)
    pixels = np.vstack([[cx, cy], np.column_stack([np.cos(angles), np.sin(angles)]) @ to.T + (cx, cy)])
    # read in the picture's own sense, a word that comes out mirrored is one whose picture is not
    return clear, Disc(Seen(seen.code, seen.turned, not seen.mirrored), pixels, own)


_ROUND: Final = 2 * math.pi * np.arange(8) / 8


def _values(grey: Grey, places: Array) -> Array:
    """Grey values at places (n, 2), pixels, between pixels by straight lines; the edge goes on outwards."""
    cv2 = opencv()
    x, y = np.asarray(places, dtype=np.float32).T
    shape = (1, len(places))
    found = cv2.remap(grey, x.reshape(shape), y.reshape(shape), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found[0], dtype=float)


# ------------------------------------------------------------------------------------------------ crossings


def _homography(mm: Array, pixels: Array) -> Array:
    """The plane map (3, 3) that suits pairs of places best; a slip among them counts little."""
    cv2 = opencv()
    found, _ = cv2.findHomography(mm, pixels, cv2.RANSAC, 8.0)
    if found is None:
        found, _ = cv2.findHomography(mm, pixels, 0)
    return np.asarray(found, dtype=float)


def _through(homography: Array, places: Array) -> Array:
    mapped = np.column_stack([places, np.ones(len(places))]) @ homography.T
    return np.asarray(mapped[:, :2] / mapped[:, 2:], dtype=float)


def _pixel(homography: Array, marks: Array) -> float:
    """The width of a pixel, mm, as a mean over the marks."""
    here = _through(homography, marks)
    steps = [_through(homography, marks + step) - here for step in ((1.0, 0.0), (0.0, 1.0))]
    area = np.abs(steps[0][:, 0] * steps[1][:, 1] - steps[0][:, 1] * steps[1][:, 0])
    return float(1.0 / np.sqrt(area.mean()))


def _crossings(grey: Grey, marks: Array, rough: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Each crossing to a part of a pixel, and which of them are seen.

    The saddle of grey values: where every gradient is square to the way from there (the usual search for corners).
    Twice, the second time from a map that the first ones made.
    """
    cv2 = opencv()
    ends = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 60, 1e-3)
    places, seen = _through(rough, marks), np.zeros(len(marks), dtype=bool)
    for share in (1.0, 0.5):
        start = places if share == 1.0 else _through(rough, marks)
        pixel = _pixel(rough, marks)
        window = max(round(0.5 * CROSSING / pixel), 3)
        inside = ((start > window + 2) & (start < np.array(grey.shape[::-1]) - window - 3)).all(axis=1)
        sought = np.ascontiguousarray(start[inside].reshape(-1, 1, 2).astype(np.float32))
        places = start.copy()
        if len(sought):
            fine = cv2.cornerSubPix(grey, sought, (window, window), (-1, -1), ends)
            places[inside] = fine.reshape(-1, 2)
        near = np.hypot(*(places - start).T) < share * NEAR / pixel
        seen = inside & near & _checkered(grey, rough, marks, places)
        if seen.sum() < 8:
            break
        rough[:] = _homography(marks[seen], places[seen])
    return places, seen


def _checkered(grey: Grey, rough: Array, marks: Array, places: Array) -> NDArray[np.bool_]:
    """Whether two quarters are dark and two bright round a place, as they were printed."""
    shift = places - _through(rough, marks)
    d = 0.4 * CROSSING

    def quarter(a: float, b: float) -> Array:
        return _values(grey, _through(rough, marks + np.array((a * d, b * d))) + shift)

    dark = np.maximum(quarter(1, 1), quarter(-1, -1))
    bright = np.minimum(quarter(1, -1), quarter(-1, 1))
    return np.asarray(bright - dark > 20.0)


def _softness(grey: Grey, mapped: Callable[[Array], Array], marks: Array, pixel: float) -> float:
    """Sigma of the blur of the crossings' edges, pixels: the middle one of all.

    An edge of a height h, blurred by sigma, rises at most by h / (sigma root(2 pi)) a pixel.
    """
    step = 0.25
    reach = min(8.0, 0.8 * CROSSING / pixel)
    along = np.arange(-reach, reach + step, step)
    found = []
    for mark in marks:
        # across the edge between black above right and white above left, half way out
        line = np.column_stack([along * pixel, np.full(len(along), 0.5 * CROSSING)]) + mark
        values = _values(grey, mapped(line))
        height = float(np.median(values[:8]) - np.median(values[-8:]))
        steepest = float(-np.diff(values).min() / step)
        if abs(height) > 20.0 and steepest > 0.0:
            found.append(height / steepest / math.sqrt(2 * math.pi))
    return float(np.median(found)) if found else math.inf


def _tilt(rough: Array, picture: Picture) -> float:
    """About how far the camera stood from square, degrees: from how scale differs over the frame; 0 for a scan.

    With a distance d and a tilt t the scale along the tilt changes by 2 sin t / d for each mm; d is taken as 1.2 times
    the picture's own width in mm, that of a usual phone lens.
    """
    middle = np.linalg.inv(rough) @ np.array([picture.width / 2, picture.height / 2, 1.0])
    weight = float(rough[2] @ (middle / middle[2]))
    pull = np.hypot(*rough[2, :2]) / abs(weight)
    wide = picture.width * _pixel(rough, np.array([(middle / middle[2])[:2]]))
    return math.degrees(math.asin(min(float(pull) * 1.2 * float(wide), 1.0)))


# ------------------------------------------------------------------------------------------------ photo and scan


def _weights(off: Array, limit: float) -> Array:
    """Huber's weights, one a pair of x and y."""
    length = np.hypot(off[:, 0], off[:, 1])
    weight = np.minimum(1.0, limit / np.maximum(length, 1e-12))
    return np.repeat(weight, 2)


def _photo(
    picture: Picture, rough: Array, marks: Array, places: Array, pixel: float
) -> tuple[Callable[[Array], Array], int]:
    """The map of a photo, and how many figures it spends: homography, then two radial terms about the middle."""
    centre, size = np.array([picture.width - 1, picture.height - 1]) / 2, float(max(picture.grey.shape)) / 2
    middle, reach = marks.mean(axis=0), float(np.ptp(marks, axis=0).max()) / 2
    # both sides made about one in size, so that all figures have a like weight
    before = np.array([[1 / reach, 0, -middle[0] / reach], [0, 1 / reach, -middle[1] / reach], [0, 0, 1]])
    after = np.array([[1 / size, 0, -centre[0] / size], [0, 1 / size, -centre[1] / size], [0, 0, 1]])
    start = after @ rough @ np.linalg.inv(before)
    u = np.append((start / start[2, 2]).ravel()[:8], (0.0, 0.0))
    local, seen = (marks - middle) / reach, (places - centre) / size

    def model(u: Array, local: Array) -> Array:
        flat = _through(np.append(u[:8], 1.0).reshape(3, 3), local)
        r2 = (flat**2).sum(axis=1, keepdims=True)
        return np.asarray(flat * (1 + u[8] * r2 + u[9] * r2 * r2), dtype=float)

    u = _least_squares(model, u, local, seen, HUBER / pixel / size)
    return lambda mm: centre + size * model(u, (mm - middle) / reach), 10


def _least_squares(model: Callable[[Array, Array], Array], u: Array, local: Array, seen: Array, limit: float) -> Array:
    """Gauss-Newton with Huber's weights, the derivatives by small steps."""
    for _ in range(25):
        here = model(u, local)
        off = seen - here
        slope = np.column_stack([(model(u + step, local) - here).ravel() / 1e-6 for step in 1e-6 * np.eye(len(u))])
        root = np.sqrt(_weights(off, limit))
        change = np.linalg.lstsq(slope * root[:, None], off.ravel() * root, rcond=None)[0]
        u = u + change
        if float(np.abs(change).max()) < 1e-10:
            break
    return u


def _scan(marks: Array, places: Array, pixel: float) -> tuple[Callable[[Array], Array], int]:
    """The map of a scan, and how many figures it spends: affine, then what the carriage did over the rows."""
    middle = marks.mean(axis=0)
    flat = np.column_stack([np.ones(len(marks)), marks - middle])
    plain = np.linalg.lstsq(flat, places, rcond=None)[0]
    rows = (flat @ plain)[:, 1]
    low, high = float(rows.min()), float(rows.max())
    count = max(round((high - low) * pixel / KNOTS), 2)

    def curve(rows: Array) -> Array:
        """The cubic B-splines at rows of the picture, those beyond the ends as at the ends."""
        at = np.clip((rows - low) / (high - low), 0.0, 1.0) * count
        # the cardinal cubic spline about each knot, in knots
        away = np.abs(at[:, None] - np.arange(-1, count + 2)[None, :])
        near = (4 - 6 * away**2 + 3 * away**3) / 6
        far = np.maximum(2 - away, 0.0) ** 3 / 6
        return np.asarray(np.where(away < 1, near, far), dtype=float)

    basis = curve(rows)
    knots = basis.shape[1]
    second = np.zeros((knots - 2, 3 + knots))
    second[:, 3:] = np.diff(np.eye(knots), 2, axis=0)
    # the affine map goes with constant and slope: a hair of weight on the curve itself settles which has them
    small = np.zeros((knots, 3 + knots))
    small[:, 3:] = 1e-3 * np.eye(knots)
    system = np.column_stack([flat, basis])
    u = np.vstack([plain, np.zeros((knots, 2))])
    for _ in range(12):
        weight = np.sqrt(_weights(places - system @ u, HUBER / pixel)[::2])[:, None]
        whole = np.vstack([system * weight, SMOOTH * second, small])
        right = np.vstack([places * weight, np.zeros((len(second) + len(small), 2))])
        u = np.linalg.lstsq(whole, right, rcond=None)[0]

    def mapped(mm: Array) -> Array:
        flat = np.column_stack([np.ones(len(mm)), mm - middle])
        return np.asarray(flat @ u[:3] + curve((flat @ plain)[:, 1]) @ u[3:], dtype=float)

    return mapped, 6 + 2 * (knots - 2)
