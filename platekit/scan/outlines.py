"""The outline of a casting, or of an opening in one: the closed edge round a point, as a polyline.

level       a grey value that parts inside from outside; of all levels whose area round the point is closed, the one
whose rim is the steepest edge all the way round
ray         square to that rim; the outline is where grey changes most steeply on it, to a part of a pixel
thinned     corners left out (Douglas-Peucker) as long as the polyline stays within a tolerance of the edge seen
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.errors import GeometryError
from platekit.geometry import Loop, Point, loop_of
from platekit.scan.edges import LEAST_RISE, ON_CIRCLE, SMOOTHED, STEP, softness_of
from platekit.scan.holes import BLIND_CONTRAST, LEAST_AGREEING, Flat, flat_picture
from platekit.scan.located import SOFTEST, Frame
from platekit.scan.opencv import PictureError, opencv
from platekit.scan.pictures import Picture

Array = NDArray[np.float64]

WITHIN: Final = 0.1
"""How far the polyline may leave the edge that was seen, mm (ours: one sigma of a picture)."""
SPACED: Final = 0.25
"""From ray to ray along the edge, mm (ours)."""
MOST_RAYS: Final = 20_000
"""Most rays (ours): five metres of edge; of longer ones they stand farther apart."""
LEVELS: Final = 24
"""Levels that are tried between the darkest and the brightest of the window (ours)."""
BESIDE: Final = 2.0
"""How far beside the edge the point may lie, mm (ours: a click)."""
RIM: Final = 1.0
"""An outline nearer than this to the window's rim touches the frame, mm (ours: scissors are no truer)."""
LEAST_ACROSS: Final = 8.0
"""Smallest outline, mm across (ours: spots of rust are smaller)."""
REACHES: Final = (1.2, 0.6)
"""How far from the outline so far its edge is looked for, mm, round after round (ours)."""
AS_CLEAR: Final = 0.2
"""Share of the usual rise below which a ray shows no edge (ours)."""
LOST: Final = 3.0
"""Length of edge that may be lost at one place, mm (ours): over more, nobody knows how it runs."""

ENDS: Final = 4
"""Rays at either end of a side that are left out of its line: they see the corner round (ours)."""
SHARPER: Final = 0.5
"""Farthest that a corner is moved to where its sides meet, mm (ours)."""

ROUNDED: Final = 0.25
"""Farthest that a short side is cut off a corner by the rounding of rays alone, mm (ours)."""


class Outline(Struct, frozen=True, eq=False):
    """A closed outline, counter-clockwise, mm of the frame: its `corners` (n, 2), and the `edge` that was seen (m, 2).

    `at` is the point it was asked round; `sigma` how far single rays scatter, mm; `agreeing` the share of rays that go
    with their neighbours; `softness` in pixels; `within` how far the corners' polyline may leave the edge, mm.
    """

    at: Point
    corners: Array
    edge: Array
    sigma: float
    agreeing: float
    softness: float
    within: float

    @property
    def loop(self) -> Loop:
        """The polyline, mm of the frame."""
        return loop_of([(float(x), float(y), 0.0) for x, y in self.corners])

    @property
    def over_all(self) -> tuple[float, float]:
        """Sides of the smallest rectangle round it, the longer first, mm of the frame: what a caliper reads."""
        wide, high = opencv().minAreaRect(self.corners.astype(np.float32))[1]
        return max(wide, high), min(wide, high)


def outline_round(picture: Picture, frame: Frame, at: Point, within: float = WITHIN) -> Outline:
    """The closed edge round a point inside it or on it, mm of the frame.

    Raises `PictureError` where it is not closed, touches the frame, is softer than two pixels, or crosses itself.
    """
    rough = _rough(picture, frame, at)
    first, *_ = _along_rays(picture, frame, _smoothed(_spaced(rough), 0.3 / SPACED), REACHES[0], at)
    edge, off, rise, k = _along_rays(picture, frame, _spaced(first), REACHES[1], at)
    softness = softness_of(rise, k)
    if softness > SOFTEST:
        raise _refused(
            picture,
            at,
            f"whose edge is {softness:.1f} pixels soft",
            f"up to {SOFTEST:g} are taken: the edge has to lie in the plane of the paper, in focus",
        )
    away = off - _medians(off, 4)
    agreeing = float((np.abs(away) <= max(ON_CIRCLE, frame.pixel)).mean())
    if agreeing < LEAST_AGREEING:
        raise _refused(
            picture,
            at,
            f"of which only {100 * agreeing:.0f} % of the rays agree with their neighbours",
            f"{100 * LEAST_AGREEING:.0f} % are needed: clean the edge, or lay something of another grey behind it",
        )
    cv2 = opencv()
    line = edge.astype(np.float32).reshape(-1, 1, 2)
    kept = cv2.approxPolyDP(line, within, True).reshape(-1, 2)
    sigma = float(1.4826 * np.median(np.abs(away)))
    found = Outline(at, _sided(edge, line[:, 0], kept), edge, sigma, agreeing, softness, within)
    try:
        _ = found.loop
    except GeometryError as error:
        raise _refused(picture, at, f"that is none: {error}", "clean the edge, and take the picture again") from error
    return found


def _refused(picture: Picture, at: Point, found: str, wanted: str) -> PictureError:
    return PictureError(picture.name, f"an outline round {at[0]:.1f},{at[1]:.1f} of the frame {found}", wanted)


# ------------------------------------------------------------------------------------------------ roughly


def _rough(picture: Picture, frame: Frame, at: Point) -> Array:
    """The rim of the area round a point, counter-clockwise, mm, to about the step of the flat picture."""
    window = frame.sheet.window
    if not (window.x0 < at[0] < window.x1 and window.y0 < at[1] < window.y1):
        raise PictureError(
            picture.name,
            f"{at[0]:.1f},{at[1]:.1f} outside the frame's window",
            f"give a point on the part, from {window.x0:g},{window.y0:g} to {window.x1:g},{window.y1:g}",
        )
    flat = flat_picture(picture, frame)
    calm = opencv().medianBlur(flat.grey, 5)
    # what the point itself lies in; only where that gives nothing, it lies a little beside the edge
    turns = 2 * math.pi * np.arange(8) / 8
    around = [(at[0] + BESIDE * math.cos(turn), at[1] + BESIDE * math.sin(turn)) for turn in turns]
    low, high = (float(value) for value in np.percentile(calm, (0.5, 99.5)))
    levels = np.linspace(low, high, LEVELS + 2)[1:-1].tolist()
    touched = False
    for seeds in ([at], around):
        best: tuple[float, Array] | None = None
        for level in levels:
            for rim in _areas_round(calm, flat, seeds, level):
                touched |= rim is None
                clear = 0.0 if rim is None else round(_clear(calm, flat, rim), 3)
                if rim is not None and clear > BLIND_CONTRAST and (best is None or clear > best[0]):
                    best = clear, rim
        if best is not None:
            return best[1]
    if touched:
        raise _refused(
            picture,
            at,
            "that runs into the frame",
            f"the whole part has to lie within the window, {RIM:g} mm off its rim, on something of another grey",
        )
    raise _refused(
        picture,
        at,
        "that is not closed, or nowhere clear",
        "click elsewhere within it, or lay something of another grey behind the part",
    )


def _areas_round(calm: NDArray[np.uint8], flat: Flat, seeds: list[Point], level: float) -> Iterator[Array | None]:
    """The rims of the areas on one side of a level in which the places lie; None for one that touches the frame."""
    cv2 = opencv()
    high, wide = calm.shape
    above = calm > level
    for light in (False, True):
        mask = cv2.morphologyEx((above == light).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
        label = cv2.connectedComponents(mask, connectivity=4)[1]
        inside: dict[int, None] = {}  # in order, each once
        for x, y in seeds:
            column = min(max(int((x - flat.box.x0) / flat.step), 0), wide - 1)
            row = min(max(int((flat.box.y1 - y) / flat.step), 0), high - 1)
            if mask[row, column]:
                inside[int(label[row, column])] = None
        for one in inside:
            outlines = cv2.findContours((label == one).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]
            pixels = max(outlines, key=len).reshape(-1, 2)
            start, end = pixels.min(axis=0), pixels.max(axis=0)
            rim = RIM / flat.step
            if start.min() < rim or end[0] > wide - 1 - rim or end[1] > high - 1 - rim:
                yield None
            elif (end - start).max() * flat.step >= LEAST_ACROSS:
                places = np.column_stack(flat.mm(pixels[:, 0].astype(float), pixels[:, 1].astype(float)))
                yield places if _area(places) > 0 else places[::-1]


def _clear(calm: NDArray[np.uint8], flat: Flat, rim: Array) -> float:
    """How much grey changes across a rim, a mean over all of it in which no part of it counts for too much."""
    places = _smoothed(_spaced(rim), 2.0)
    out = _outward(places)
    inner, outer = (
        calm[
            np.clip(((flat.box.y1 - side[:, 1]) / flat.step).astype(int), 0, calm.shape[0] - 1),
            np.clip(((side[:, 0] - flat.box.x0) / flat.step).astype(int), 0, calm.shape[1] - 1),
        ].astype(float)
        for side in (places - 0.6 * out, places + 0.6 * out)
    )
    change = outer - inner
    return float(np.clip(change if change.mean() > 0 else -change, 0.0, 60.0).mean())


# ------------------------------------------------------------------------------------------------ finely


def _along_rays(
    picture: Picture, frame: Frame, places: Array, reach: float, at: Point
) -> tuple[Array, Array, Array, NDArray[np.intp]]:
    """Places moved onto the edge: them, how far, mm, and of rays that see it the rise and the sample where it is."""
    cv2 = opencv()
    step = STEP * frame.pixel
    reach = max(reach, 5 * frame.pixel)
    along = np.arange(-reach, reach + step, step)
    out = _outward(places)
    pixels = frame.pixels((places[:, None, :] + out[:, None, :] * along[None, :, None]).reshape(-1, 2))
    x, y = pixels.astype(np.float32).T
    shape = (len(places), len(along))
    values = cv2.remap(picture.grey, x.reshape(shape), y.reshape(shape), cv2.INTER_CUBIC).astype(np.float32)
    smooth = cv2.GaussianBlur(values, (0, 0), sigmaX=SMOOTHED / STEP, sigmaY=0.8)
    sign = 1.0 if float(np.median(smooth[:, -4:].mean(axis=1) - smooth[:, :4].mean(axis=1))) > 0 else -1.0
    rise = sign * np.gradient(smooth.astype(float), STEP, axis=1)
    k = np.clip(rise.argmax(axis=1), 2, len(along) - 3)
    rows = np.arange(len(places))
    before, here, after = (rise[rows, k + d] for d in (-1, 0, 1))
    bend = before - 2 * here + after
    # the top of a parabola through three samples
    part = np.where(bend < 0, (before - after) / np.where(bend < 0, 2 * bend, 1.0), 0.0)
    off = along[k] + np.clip(part, -1, 1) * step
    inside = (rise.argmax(axis=1) > 1) & (rise.argmax(axis=1) < len(along) - 2)
    seen = inside & (here > max(LEAST_RISE, AS_CLEAR * float(np.median(here))))
    lost, where = _longest_run(~seen)
    spacing = _length(places) / len(places)
    if lost * spacing > LOST:
        x0, y0 = places[where]
        raise _refused(
            picture,
            at,
            f"that is not closed: its edge is lost over {lost * spacing:.0f} mm at {x0:.1f},{y0:.1f}",
            "lay something of another grey behind the part, light it evenly, and take the picture again",
        )
    # between rays that see it where one does not; and a chip or a burr counts for no more than its neighbours do
    off = np.interp(rows, np.flatnonzero(seen), off[seen], period=len(rows))
    calm = np.where(np.abs(off - _medians(off, 4)) > 0.4, _medians(off, 4), off)
    calm = _medians(calm, 1)
    return places + out * calm[:, None], off, rise[seen], k[seen]


def _sided(edge: Array, line: NDArray[np.float32], kept: NDArray[np.float32]) -> Array:
    """The corners that were kept, moved to where the sides meet: each side the line through the edge between them.

    Rays round a corner off, and chords lie all on one side of an arc; lines through the middle of a side do neither.
    """
    at = np.sort([int(np.argmin(np.hypot(*(line - corner).T))) for corner in kept])
    sides: list[tuple[int, int, Array, Array]] = []
    for begin, end in zip(at.tolist(), [*at[1:].tolist(), int(at[0]) + len(edge)], strict=True):
        points = edge[np.arange(begin, end + 1) % len(edge)]
        points = points[ENDS:-ENDS] if len(points) > 4 * ENDS else points[[0, -1]]
        middle = points.mean(axis=0)
        sides.append((begin, end - begin, middle, np.linalg.svd(points - middle, full_matrices=False)[2][0]))
    # a short side between two long ones that meet close by is a corner seen round
    corners, skipped = [], -1
    for k, (begin, steps, q, v) in enumerate(sides):
        _, before, p, u = sides[k - 1]
        _, after, r, w = sides[(k + 1) % len(sides)]
        here = edge[begin]
        if k > 0 and skipped == k - 1:
            continue
        if steps <= 2 * ENDS < min(before, after) // 2 and len(sides) > 4:
            middle = edge[(begin + steps // 2) % len(edge)]
            meet = _meeting(p, u, r, w)
            if meet is not None and math.dist(meet, middle) < ROUNDED and k < len(sides) - 1:
                corners.append(meet)
                skipped = k
                continue
        # of two sides that go on nearly straight, the foot of the corner on each, the middle of both
        moved = (p + u * ((here - p) @ u) + q + v * ((here - q) @ v)) / 2
        meet = _meeting(p, u, q, v)
        if meet is not None and math.dist(meet, here) < SHARPER:
            moved = meet
        corners.append(moved if math.dist(moved, here) < SHARPER else here)
    return np.round(corners, 4)


def _meeting(p: Array, u: Array, q: Array, v: Array) -> Array | None:
    """Where two lines meet, each by a point of it and a unit vector; None where they are nearly parallel."""
    turn = float(u[0] * v[1] - u[1] * v[0])
    if abs(turn) < 0.1:
        return None
    return np.asarray(p + u * ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / turn)


def _longest_run(missing: NDArray[np.bool_]) -> tuple[int, int]:
    """How many in a row are missing at most, going round, and which is in their middle."""
    if missing.all():
        return len(missing), 0
    start = int(np.argmin(missing))  # one that is not missing: no run goes over the ends
    best, run, middle = 0, 0, 0
    for nth, gone in enumerate(np.roll(missing, -start).tolist()):
        run = run + 1 if gone else 0
        if run > best:
            best, middle = run, (start + nth - run // 2) % len(missing)
    return best, middle


def _area(places: Array) -> float:
    x, y = places.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _length(places: Array) -> float:
    return float(np.hypot(*(np.roll(places, -1, axis=0) - places).T).sum())


def _spaced(places: Array) -> Array:
    """A closed polyline at even steps of about `SPACED`."""
    whole = np.vstack([places, places[:1]])
    way = np.append(0.0, np.cumsum(np.hypot(*np.diff(whole, axis=0).T)))
    count = min(max(round(float(way[-1]) / SPACED), 16), MOST_RAYS)
    at = way[-1] * np.arange(count) / count
    return np.column_stack([np.interp(at, way, whole[:, axis]) for axis in (0, 1)])


def _smoothed(places: Array, sigma: float) -> Array:
    """A closed polyline smoothed along itself, `sigma` in its steps."""
    half = math.ceil(3 * sigma)
    weights = np.exp(-0.5 * (np.arange(-half, half + 1) / sigma) ** 2)
    weights /= weights.sum()
    return np.asarray(sum(w * np.roll(places, k, axis=0) for w, k in zip(weights, range(-half, half + 1), strict=True)))


def _outward(places: Array) -> Array:
    """Unit vectors square to a closed polyline that runs counter-clockwise, outwards; calm over half a millimetre."""
    calm = _smoothed(places, 2.0)
    along = np.roll(calm, -1, axis=0) - np.roll(calm, 1, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    return np.column_stack([along[:, 1], -along[:, 0]])


def _medians(values: Array, half: int) -> Array:
    """Each value's median with so many neighbours on either side, going round."""
    return np.asarray(np.median([np.roll(values, k) for k in range(-half, half + 1)], axis=0), dtype=float)
