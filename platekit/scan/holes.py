"""Holes in a picture: by a click, by the nominal pattern, or blind; each accepted or refused in words.

blind       round dark (or light) things are looked for over the whole window; strict, as nobody said they are there
click       somebody said that a hole is about there: looked for round the place
nominal     all that is known roughly of the pattern is laid over what was found blind, and says which is which;
what it misses is then looked for as by a click
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, permutations
from typing import Any, Final, Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.geometry import Box, Point
from platekit.scan.edges import RAYS, Circle, fitted_circle
from platekit.scan.located import SOFTEST, Frame
from platekit.scan.opencv import opencv
from platekit.scan.pictures import Picture

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
AnyArray = NDArray[np.floating[Any]]
By = Literal["blind", "click", "nominal"]

RASTER: Final = 0.2
"""Step of the flat picture of the window in which holes are looked for, mm (ours)."""
LEVELS: Final = (0.2, 0.35, 0.5, 0.65, 0.8)
"""Thresholds between the darkest (or brightest) and the usual grey value of the window (ours)."""
ROUND: Final = 0.7
"""Least share of the smallest circle round it that a round thing fills (ours)."""
BLIND_LEAST: Final = 5.0
"""Smallest hole that is looked for blind, mm (ours: speckles of rust are smaller)."""
BLIND_AGREEING: Final = 0.8
"""Share of rays that must agree on a hole nobody said is there (ours)."""
BLIND_ROUND: Final = 0.05
"""Farthest that the edge of such a hole leaves its circle, once chips and noise are smoothed away, mm, or an eighth of
a pixel where that is more (ours: flakes of rust leave it by more)."""
BLIND_SHARE: Final = 0.9
"""Share of all rays on which it must not leave it (ours)."""
BLIND_CONTRAST: Final = 25.0
"""Least rise at such a hole's edge, grey values (ours)."""
BLIND_EVEN: Final = 0.85
"""Share of directions in which the inside of such a hole is darker (or lighter) than the outside (ours)."""
LEAST_AGREEING: Final = 0.5
"""Share of rays below which a hole is refused, whoever said that it is there."""
REACH: Final = 4.0
"""How far from a click a hole's middle may be, mm (ours)."""
LARGEST: Final = 140.0
"""Largest hole that is looked for, mm (ours)."""
MOST_FOUND: Final = 60
"""Most round things that are laid against a nominal pattern (ours), those that agree best."""


class Hole(Struct, frozen=True, eq=False):
    """A hole as found: its name, its circle, and how it was looked for."""

    name: str
    circle: Circle
    by: By


class Refused(Struct, frozen=True):
    """A hole that was looked for and not accepted: its name, where, and why, in words."""

    name: str
    at: Point
    why: str


def why_not(circle: Circle | None) -> str:
    """Why a circle is refused, whoever said that it is there; "" where it is not."""
    if circle is None:
        return "no round edge is seen there"
    if circle.agreeing < LEAST_AGREEING:
        return (
            f"only {100 * circle.agreeing:.0f} % of the rays from its middle agree on an edge; "
            f"{100 * LEAST_AGREEING:.0f} % are needed"
        )
    if circle.softness > SOFTEST:
        return f"its edge is {circle.softness:.1f} pixels soft; up to {SOFTEST:g} are taken"
    return ""


# ------------------------------------------------------------------------------------------------ the flat picture


class Flat(Struct, frozen=True, eq=False):
    """The window seen square from above: rows go down, `step` mm each, from the upper left of `box`."""

    grey: Grey
    box: Box
    step: float

    def mm(self, column: float, row: float) -> Point:
        """The place of a pixel's middle, mm of the frame."""
        return (self.box.x0 + (column + 0.5) * self.step, self.box.y1 - (row + 0.5) * self.step)


def flat_picture(picture: Picture, frame: Frame, box: Box | None = None, step: float | None = None) -> Flat:
    """A part of the frame (its window, if none is named) as seen square from above."""
    cv2 = opencv()
    box = box or frame.sheet.window
    step = step or max(RASTER, frame.pixel)
    columns, rows = max(round(box.width / step), 1), max(round(box.height / step), 1)
    x = box.x0 + (np.arange(columns) + 0.5) * step
    y = box.y1 - (np.arange(rows) + 0.5) * step
    # the map is smooth: worked out on every eighth place, straight between them
    coarse = 8
    cx = np.append(x[::coarse], x[-1] + step)
    cy = np.append(y[::coarse], y[-1] - step)
    grid = frame.pixels(np.column_stack([g.ravel() for g in np.meshgrid(cx, cy)])).reshape(len(cy), len(cx), 2)
    px, py = (_between(grid[..., k], np.asarray(cx), np.asarray(cy), x, y) for k in (0, 1))
    # several pixels go into one of the raster: blurred before, so that none is left out
    grey = picture.grey
    if step > 1.5 * frame.pixel:
        grey = cv2.GaussianBlur(grey, (0, 0), 0.4 * step / frame.pixel)
    return Flat(np.asarray(cv2.remap(grey, px, py, cv2.INTER_LINEAR)), box, step)


def _between(grid: Array, cx: AnyArray, cy: AnyArray, x: AnyArray, y: AnyArray) -> NDArray[np.float32]:
    """Values on a coarse grid, by straight lines between, at the places of a fine one."""
    rows = np.array([np.interp(x, cx, line) for line in grid])
    at = np.interp(-y, -cy, np.arange(len(cy)))
    low = np.clip(at.astype(int), 0, len(cy) - 2)
    share = (at - low)[:, None]
    return np.asarray(rows[low] * (1 - share) + rows[low + 1] * share, dtype=np.float32)


# ------------------------------------------------------------------------------------------------ blind


def blind_holes(picture: Picture, frame: Frame, strict: bool = True) -> list[Circle]:
    """The round holes of the window, from the upper left in rows; `strict` as for a hole that nobody said is there."""
    flat = flat_picture(picture, frame)
    window = frame.sheet.window
    found: list[Circle] = []
    tried: list[tuple[Point, float, bool]] = []
    for at, diameter, light in _round_things(flat):
        # the same thing by another threshold, near enough to come to the same
        if any(math.dist(at, o) < 0.4 and abs(diameter - d) < 0.6 and light == w for o, d, w in tried):
            continue
        tried.append((at, diameter, light))
        # what lies on one that was found already is the same, by another threshold
        if any(math.dist(at, one.at) < 0.3 * min(one.diameter, diameter) + 0.5 for one in found):
            continue
        circle = fitted_circle(picture, frame, at, diameter, light)
        if circle is None or why_not(circle):
            continue
        inner = window.grown(-circle.radius - 0.5)
        if not (inner.x0 < circle.x < inner.x1 and inner.y0 < circle.y < inner.y1):
            continue
        if circle.diameter < BLIND_LEAST or (strict and not _surely(circle, frame, flat)):
            continue
        rivals = [one for one in found if math.dist(circle.at, one.at) < (circle.radius + one.radius) * 0.9]
        if any(one.agreeing >= circle.agreeing for one in rivals):
            continue
        found = [one for one in found if one not in rivals] + [circle]
    return sorted(found, key=lambda one: (-round(one.y / 8), one.x))


def _surely(circle: Circle, frame: Frame, flat: Flat) -> bool:
    """Whether a circle is a hole beyond doubt, although nobody said that one is there."""
    if circle.agreeing < BLIND_AGREEING or circle.contrast < BLIND_CONTRAST:
        return False
    # out of round by shape, not by noise: the middle one of all edges within fifteen degrees either way
    off = np.hypot(*(circle.edges - circle.at).T) - circle.radius
    half = max(len(off) // 24, 2)
    near = np.median([np.roll(off, shift) for shift in range(-half, half + 1)], axis=0)
    limit = max(BLIND_ROUND, frame.pixel / 8)
    if (np.abs(near) <= limit).sum() < BLIND_SHARE * RAYS:
        return False
    # a hole is dark all over and round: not a ring, not a stain that fades
    angles = 2 * math.pi * np.arange(72) / 72
    out = np.column_stack([np.cos(angles), np.sin(angles)])

    def ring(radius: float) -> Array:
        places = circle.at + out * radius
        columns = np.clip(((places[:, 0] - flat.box.x0) / flat.step).astype(int), 0, flat.grey.shape[1] - 1)
        rows = np.clip(((flat.box.y1 - places[:, 1]) / flat.step).astype(int), 0, flat.grey.shape[0] - 1)
        return np.asarray(flat.grey[rows, columns], dtype=float) * (-1.0 if circle.light else 1.0)

    inside = np.concatenate([ring(share * circle.radius) for share in (0.3, 0.6, 0.8)])
    outside = ring(circle.radius + 0.8)
    even = float((outside[None, :] - inside.reshape(3, -1) > 0.5 * BLIND_CONTRAST).mean())
    return even >= BLIND_EVEN


def _round_things(flat: Flat) -> Iterator[tuple[Point, float, bool]]:
    """Roundish areas darker, then lighter, than the usual of the window: middle (mm), diameter (mm), whether light."""
    cv2 = opencv()
    calm = cv2.medianBlur(flat.grey, 5)
    low, usual, high = np.percentile(calm, (0.2, 50, 99.8))
    for light, end in ((False, low), (True, high)):
        if abs(end - usual) < BLIND_CONTRAST:
            continue
        for share in LEVELS:
            level = end + share * (usual - end)
            mask = ((calm > level) if light else (calm < level)).astype(np.uint8)
            mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
            mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((7, 7), np.uint8))
            # those on the rim of the window are seen in part: two pixels of nothing round it keep them open
            for outline in cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)[0]:
                area = float(cv2.contourArea(outline))
                (x, y), radius = cv2.minEnclosingCircle(outline)
                size = 2 * math.sqrt(area / math.pi) * flat.step
                if area > ROUND * math.pi * radius**2 and 0.8 * BLIND_LEAST < size < LARGEST:
                    yield flat.mm(x, y), size, light


# ------------------------------------------------------------------------------------------------ by a click


def hole_near(
    picture: Picture, frame: Frame, at: Point, diameter: float | None = None, reach: float = REACH
) -> Circle | None:
    """The hole about there (mm of the frame), of about that diameter if one is named; None where no edge is round.

    What it comes to is for `why_not` to judge.
    """
    sizes = _sizes(diameter)
    half = reach + sizes[-1] / 2 + 2.0
    x, y = at
    bars = frame.sheet.bars
    box = Box(max(x - half, bars.x0), max(y - half, bars.y0), min(x + half, bars.x1), min(y + half, bars.y1))
    if box.width < 4.0 or box.height < 4.0:
        return None
    step = max(0.25, frame.pixel)
    flat = flat_picture(picture, frame, box, step)
    cv2 = opencv()
    calm = cv2.GaussianBlur(flat.grey, (0, 0), 1.2).astype(float)
    down, right = np.gradient(calm)
    limit = max(float(np.percentile(np.hypot(down, right), 97)), 1.0)
    angles = 2 * math.pi * np.arange(64) / 64
    cos, sin = np.cos(angles), np.sin(angles)
    fine = 1.0 if diameter is None else 0.5  # where any size may be, the middle is sought more coarsely
    grid = np.arange(-reach, reach + 0.25, fine)
    middles = np.array([(x + dx, y + dy) for dx in grid for dy in grid if math.hypot(dx, dy) <= reach])
    scored: list[tuple[float, Point, float, bool]] = []
    for size in sizes:
        # by how much it grows lighter outwards, a mean over all directions in which no one counts for too much
        columns = (middles[:, :1] + size / 2 * cos - box.x0) / step - 0.5
        rows = (box.y1 - middles[:, 1:] - size / 2 * sin) / step - 0.5
        c, r = np.round(columns).astype(int), np.round(rows).astype(int)
        within = (c >= 0) & (r >= 0) & (c < calm.shape[1]) & (r < calm.shape[0])
        c, r = np.clip(c, 0, calm.shape[1] - 1), np.clip(r, 0, calm.shape[0] - 1)
        outward = np.clip(right[r, c] * cos - down[r, c] * sin, -limit, limit)
        mean = np.where(within, outward, 0.0).mean(axis=1)
        for light in (False, True):
            score = -mean if light else mean
            best = int(np.argmax(np.round(score, 6)))
            scored.append((float(score[best]), (float(middles[best, 0]), float(middles[best, 1])), size, light))
    scored.sort(key=lambda one: -round(one[0], 6))
    best_one: Circle | None = None
    for _, middle, size, light in scored[:8]:
        circle = fitted_circle(picture, frame, middle, size, light)
        if circle is None or math.dist(circle.at, at) > reach + 0.5:
            continue
        if diameter is not None and abs(circle.diameter - diameter) > 0.2 * diameter + 1.0:
            continue
        if best_one is None or _merit(circle) > _merit(best_one):
            best_one = circle
    return best_one


def _merit(circle: Circle) -> float:
    return round(circle.agreeing * min(circle.contrast, 60.0), 3)


def _sizes(diameter: float | None) -> list[float]:
    """Diameters to try, mm: near the one that is named, or all a casting may have."""
    if diameter is not None:
        return [diameter * share for share in (0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.15)]
    return [2.5 * 1.04**k for k in range(87)]


# ------------------------------------------------------------------------------------------------ by a pattern


class Laid(Struct, frozen=True):
    """A pattern laid over the frame: place = shift + scale * turn * (x, y), `mirrored` (x to -x) before that."""

    a: float
    b: float
    shift: Point
    mirrored: bool

    @property
    def scale(self) -> float:
        """How many mm of the frame a mm of the pattern takes."""
        return math.hypot(self.a, self.b)

    def place(self, at: Point) -> Point:
        """A place of the pattern on the frame, mm."""
        x, y = -at[0] if self.mirrored else at[0], at[1]
        return (self.shift[0] + self.a * x - self.b * y, self.shift[1] + self.b * x + self.a * y)


class Match(Struct, frozen=True, eq=False):
    """A pattern laid over circles: which is which, and how far off they are together (rms, mm)."""

    laid: Laid
    pairs: dict[str, int]
    rms: float


def laid_over(
    pattern: Mapping[str, Point], circles: Sequence[Circle], rough: bool, mirrored: bool = False
) -> Match | None:
    """The way to lay a pattern over circles that brings most of its holes onto one each; None for fewer than two.

    A `rough` pattern was drawn by hand: of any scale, and off by a sixth of its extent; one that was measured is of
    the frame's own scale to a fiftieth and off by 2 mm.
    """
    names = list(pattern)
    if len(names) < 2 or len(circles) < 2:
        return None
    own = np.array([pattern[name] for name in names], dtype=float)
    own[:, 0] *= -1.0 if mirrored else 1.0
    seen = np.array([circle.at for circle in circles])
    extent = float(np.ptp(own, axis=0).max())
    # long pairs turn it least wrongly; of a hand's sketch any pair may be the bad one, so more are tried
    pairs = sorted(combinations(range(len(names)), 2), key=lambda p: -round(math.dist(own[p[0]], own[p[1]]), 6))
    best: Match | None = None
    for i, j in pairs[: 12 if rough else 4]:
        step = complex(*(own[j] - own[i]))
        if abs(step) < 1e-9:
            continue
        for p, q in permutations(range(len(circles)), 2):
            turn = complex(*(seen[q] - seen[p])) / step
            if not ((0.4 < abs(turn) < 2.5) if rough else (0.98 < abs(turn) < 1.02)):
                continue
            a, b = turn.real, turn.imag
            mapped = own @ np.array([[a, b], [-b, a]])
            mapped += seen[p] - mapped[i]
            match = _paired(mapped, seen, extent * abs(turn) / 6 if rough else 2.0)
            key = (len(match[0]), -round(match[1], 6))
            if len(match[0]) >= 2 and (best is None or key > (len(best.pairs), -round(best.rms, 6))):
                # once more over all that were paired, by least squares
                laid = similar(own[[k for k, _ in match[0]]], seen[[k for _, k in match[0]]], mirrored)
                best = Match(laid, {names[k]: c for k, c in match[0]}, match[1])
    return best


def _paired(mapped: Array, seen: Array, near: float) -> tuple[list[tuple[int, int]], float]:
    """Holes and circles that are each other's nearest, and how far they are apart together (rms, mm)."""
    apart = np.hypot(*(mapped[:, None, :] - seen[None, :, :]).transpose(2, 0, 1))
    to, back = apart.argmin(axis=1), apart.argmin(axis=0)
    pairs = [(k, int(c)) for k, c in enumerate(to) if back[c] == k and apart[k, c] <= near]
    rms = math.sqrt(sum(float(apart[k, c]) ** 2 for k, c in pairs) / len(pairs)) if pairs else math.inf
    return pairs, rms


def similar(own: Array, seen: Array, mirrored: bool) -> Laid:
    """Shift, turn and scale that bring places (n, 2; mirrored already, mm) onto others, by least squares."""
    middle, there = own.mean(axis=0), seen.mean(axis=0)
    p, q = own - middle, seen - there
    total = float((p**2).sum())
    a = float((p * q).sum()) / total
    b = float((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum()) / total
    x, y = middle
    return Laid(a, b, (float(there[0] - a * x + b * y), float(there[1] - b * x - a * y)), mirrored)


def nominal_holes(
    picture: Picture,
    frame: Frame,
    pattern: Mapping[str, Point],
    diameters: Mapping[str, float | None],
    rough: bool,
) -> tuple[list[Hole], list[Refused], Match | None, Match | None]:
    """The holes of a pattern that is roughly known, those that are refused, and how it was laid, straight and mirrored.

    `mirrored` is the better way to lay it only if the picture is of the other face, or the pattern is its own mirror
    image; that is for the caller to say.
    """
    circles = blind_holes(picture, frame, strict=False)
    circles = sorted(circles, key=lambda one: -round(one.agreeing, 3))[:MOST_FOUND]
    straight, other = (laid_over(pattern, circles, rough, mirrored) for mirrored in (False, True))
    if straight is None:
        return [], [], None, other
    found: list[Hole] = []
    refused: list[Refused] = []
    for name, at in pattern.items():
        place = straight.laid.place(at)
        if name in straight.pairs:
            circle: Circle | None = circles[straight.pairs[name]]
        else:
            reach = 1.5 * REACH if rough else REACH
            circle = hole_near(picture, frame, place, diameters.get(name), reach)
        why = why_not(circle)
        # two names for one hole: the one that the pattern put there has it
        if circle is not None and any(math.dist(circle.at, one.circle.at) < 1.0 for one in found):
            why = "what is seen there is another hole of the pattern"
        if why or circle is None:
            refused.append(Refused(name, place, why))
        else:
            found.append(Hole(name, circle, "nominal"))
    return found, refused, straight, other
