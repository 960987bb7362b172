"""The template is true to size: measured on pictures that pdfium makes of it.

Source: ISO 32000-1:2008, 8.3.2.3 (PDF's unit is 1/72 in); ISO 216 (A4, A3) and ANSI/ASME Y14.1 (A, B) for the sheets.
Compared: 200 mm between crosshairs on one sheet and across a seam, sheet sizes, printed distances, bars and diagonals,
    both views.
Within: 0.1 mm, which is what a ruler shows; 0.01 mm at the sheets.

pdfium shares no code with the writer. Positions are the middle of the ink of crosshair arms, found at 600 dpi (0.04 mm
a pixel, and a page is stretched to whole pixels), so a distance is known to some 0.03 mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest

from platekit.checks import Verdict, check
from platekit.drawing.pdf.paper import Tile, Tiling
from platekit.drawing.pdf.strip import saying
from platekit.drawing.seen import seen_from_side
from platekit.export.paper.template import seam_crosses, template_bytes, tiling_of
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import loads

MM = 72 / 25.4
DPI = 600
ALLOWED = 0.1
WINDOW = 8.0

SPEC = """\
platekit: 1
title: Two holes a known way apart
units: {units}
plate:
  material: mild steel
  thickness: 10 mm
  outline: {{rectangle: {{width: {width} mm, height: {height} mm}}, at: [{mx} mm, {my} mm]}}
mounts:
  part:
    side: near
    looking_at: back
    pattern: {{points: [{points}], hole: 6 mm}}
    bolts: {{size: M5, into: part}}
cutting: {{process: laser}}
paper: {{size: {size}}}
"""

SHEETS = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "a3": (297.0, 420.0),
    "tabloid": (279.4, 431.8),
    "{width: 260 mm, height: 310 mm}": (260.0, 310.0),
}


def plate(points: list[tuple[float, float]], size: str, margin: float = 11.0, units: str = "mm") -> Layout:
    xs, ys = zip(*points, strict=True)
    text = SPEC.format(
        units=units,
        width=max(xs) - min(xs) + 2 * margin,
        height=max(ys) - min(ys) + 2 * margin,
        mx=(max(xs) + min(xs)) / 2,
        my=(max(ys) + min(ys)) / 2,
        points=", ".join(f"[{x} mm, {y} mm]" for x, y in points),
        size=size,
    )
    return lay_out(loads(text, "two-holes"))


class Printed:
    """A template as pdfium shows it: what is where on which sheet."""

    def __init__(self, layout: Layout, side: Side = "near", verdict: Verdict | None = None) -> None:
        verdict = check(layout) if verdict is None else verdict
        self.pdf = pdfium.PdfDocument(template_bytes(layout, verdict, side))
        seen = seen_from_side(layout, side)
        self.tiling: Tiling = tiling_of(seen, saying(layout, verdict, side))
        self.crosses = {cross.name: cross.at for cross in seam_crosses(self.tiling, seen)}
        self.mirror = -1.0 if side == "far" else 1.0

    def sheets_with(self, point: tuple[float, float]) -> list[int]:
        """The sheets whose drawing shows the surroundings of a point of the plate."""
        view = (self.mirror * point[0], point[1])
        return [i for i, tile in enumerate(self.tiling.tiles) if _inside(view, tile, 9.0)]

    def hole(self, sheet: int, point: tuple[float, float]) -> tuple[float, float]:
        """Where the crosshair of the hole at `point` really is on the sheet, mm."""
        near = self.tiling.tiles[sheet].view.at((self.mirror * point[0], point[1]))
        return self.cross(sheet, near, clear=4.3, reach=5.7)

    def seam_cross(self, sheet: int, name: str) -> tuple[float, float]:
        near = self.tiling.tiles[sheet].view.at(self.crosses[name])
        return self.cross(sheet, near, clear=2.4, reach=3.8, play=1.5)

    def cross(
        self, sheet: int, near: tuple[float, float], clear: float, reach: float, play: float = 4.0
    ) -> tuple[float, float]:
        """The middle of a cross near a place: of the ink of its arms between `clear` and `reach` from the middle."""
        ink, left, top = self.ink(sheet, near, WINDOW)
        x, y = near
        for _ in range(2):
            bands = [(x - reach, x - clear), (x + clear, x + reach)]
            y_new = _middle(ink, left, top, bands, axis=1, around=y, play=play)
            bands = [(y - reach, y - clear), (y + clear, y + reach)]
            x_new = _middle(ink, left, top, bands, axis=0, around=x, play=play)
            x, y = x_new, y_new
        return x, y

    def ink(self, sheet: int, near: tuple[float, float], half: float) -> tuple[Any, float, float]:
        """How black each pixel round a place is, and the mm of the picture's left and top edge."""
        page = self.pdf[sheet]
        width, height = page.get_size()
        left, bottom = (near[0] - half) * MM, (near[1] - half) * MM
        right, top = (near[0] + half) * MM, (near[1] + half) * MM
        # Whole pixels at the left and the top, so that the picture's own place is known exactly; pdfium rounds up.
        scale = DPI / 72
        left, top_gap = math.floor(left * scale) / scale, math.floor((height - top) * scale) / scale
        crop = (left - 1e-6, max(bottom, 0), max(width - right, 0), top_gap - 1e-6)
        picture = page.render(scale=scale, crop=crop, grayscale=True).to_numpy().squeeze()
        return 1.0 - picture.astype(float) / 255.0, left / MM, (height - top_gap) / MM

    def words(self, sheet: int) -> str:
        return str(self.pdf[sheet].get_textpage().get_text_range())


def _inside(point: tuple[float, float], tile: Tile, by: float) -> bool:
    box = tile.box.grown(-by)
    return box.x0 <= point[0] <= box.x1 and box.y0 <= point[1] <= box.y1


def _middle(
    ink: Any, left: float, top: float, bands: list[tuple[float, float]], axis: int, around: float, play: float = 4.0
) -> float:
    """Where the ink across the bands lies: x of upright arms (axis 0) or y of level arms (axis 1), mm."""
    step = 25.4 / DPI
    if axis == 0:
        rows = [slice(round((top - hi) / step), round((top - lo) / step)) for lo, hi in bands]
        profile = sum(ink[row, :].sum(axis=0) for row in rows)
        places = left + (np.arange(len(profile)) + 0.5) * step
    else:
        columns = [slice(round((lo - left) / step), round((hi - left) / step)) for lo, hi in bands]
        profile = sum(ink[:, column].sum(axis=1) for column in columns)
        places = top - (np.arange(len(profile)) + 0.5) * step
    peak = int(np.argmax(np.where(abs(places - around) < play, profile, 0.0)))
    near = slice(max(peak - 6, 0), peak + 7)
    assert profile[near].sum() > 20, "no arm of a cross found"
    return float((profile[near] * places[near]).sum() / profile[near].sum())


def apart(a: tuple[float, float], b: tuple[float, float]) -> float:
    return math.hypot(b[0] - a[0], b[1] - a[1])


# ------------------------------------------------------------------------------------------ on one sheet


WAYS = [(200.0, 0.0), (120.0, 160.0), (0.0, 200.0)]


@pytest.mark.parametrize(
    ("size", "way"),
    [(size, way) for size in [*SHEETS, "single"] for way in WAYS if (size, way) != ("letter", WAYS[2])],
)
def test_200_mm_between_crosshairs_on_one_sheet(size: str, way: tuple[float, float]) -> None:
    """Level, slanted and upright; only Letter, beside its margins and words, has no room for 200 mm upright."""
    printed = Printed(plate([(0.0, 0.0), way], size))
    (sheet,) = set(printed.sheets_with((0.0, 0.0))) & set(printed.sheets_with(way))
    first, second = printed.hole(sheet, (0.0, 0.0)), printed.hole(sheet, way)
    assert apart(first, second) == pytest.approx(200.0, abs=ALLOWED)
    assert second[0] - first[0] == pytest.approx(way[0], abs=ALLOWED)
    assert second[1] - first[1] == pytest.approx(way[1], abs=ALLOWED)


@pytest.mark.parametrize(("size", "portrait"), SHEETS.items())
def test_pages_have_the_published_size(size: str, portrait: tuple[float, float]) -> None:
    printed = Printed(plate([(0.0, 0.0), (200.0, 0.0)], size))
    for page in printed.pdf:
        width, height = (side / MM for side in page.get_size())
        assert sorted((width, height)) == pytest.approx(sorted(portrait), abs=0.01)


def test_an_inch_spec_measures_the_same() -> None:
    printed = Printed(plate([(0.0, 0.0), (200.0, 0.0)], "letter", units="in"))
    assert apart(printed.hole(0, (0.0, 0.0)), printed.hole(0, (200.0, 0.0))) == pytest.approx(200.0, abs=ALLOWED)


# --------------------------------------------------------------------------------------- across the seam


@pytest.mark.parametrize("size", ["a4", "letter", "a3", "tabloid"])
@pytest.mark.parametrize("way", [(200.0, 0.0), (0.0, 200.0)], ids=["level", "upright"])
def test_200_mm_across_a_seam(size: str, way: tuple[float, float]) -> None:
    """Two sheets laid cross on cross: the distance from a hole on the one to a hole on the other."""
    across = way[1] == 0.0
    pairs = [((at, 0.0) if across else (0.0, at)) for at in np.arange(0.0, 700.0, 50.0)]
    printed = Printed(plate(pairs, size, margin=30.0))
    found = 0
    for point in pairs:
        other = (point[0] + way[0], point[1] + way[1])
        if other not in pairs:
            continue
        for one, two in _neighbours(printed):
            if one in printed.sheets_with(point) and two in printed.sheets_with(other):
                shared = _shared_crosses(printed, one, two)
                laid = _laid_over(
                    [printed.seam_cross(two, n) for n in shared], [printed.seam_cross(one, n) for n in shared]
                )
                measured = apart(printed.hole(one, point), laid(printed.hole(two, other)))
                assert measured == pytest.approx(200.0, abs=ALLOWED)
                found += 1
    assert found > 0


def _neighbours(printed: Printed) -> list[tuple[int, int]]:
    tiles = [tile for tile in printed.tiling.tiles if not tile.extra]
    return [
        (i, j)
        for i, one in enumerate(tiles)
        for j, two in enumerate(tiles)
        if (two.column - one.column, one.row - two.row) in {(1, 0), (0, 1)}
    ]


def _shared_crosses(printed: Printed, one: int, two: int) -> list[str]:
    tiles = printed.tiling.tiles
    names = [name for name, at in printed.crosses.items() if all(_inside(at, tiles[i], 4.0) for i in (one, two))]
    assert len(names) == 2
    return names


def _laid_over(
    own: list[tuple[float, float]], under: list[tuple[float, float]]
) -> Callable[[tuple[float, float]], tuple[float, float]]:
    """The move (no stretch) that lays the sheet's own two crosses on those of the sheet under it."""
    a, b = (complex(*point) for point in own)
    c, d = (complex(*point) for point in under)
    turn = (d - c) / (b - a)
    turn /= abs(turn)

    def laid(point: tuple[float, float]) -> tuple[float, float]:
        z = (c + d) / 2 + turn * (complex(*point) - (a + b) / 2)
        return z.real, z.imag

    return laid


def test_the_printed_distances_of_the_crosses_are_true() -> None:
    """The words on every sheet say how far apart the outer crosses are once the sheets are glued."""
    printed = Printed(plate([(0.0, 0.0), (330.0, 40.0)], "a4"))
    said = dict(re.findall(r"(A1 to [A-Z]+1) ([\d.]+) mm", " ".join(printed.words(0).split())))
    ((pair, length),) = said.items()
    last = pair.split()[-1]
    one, two = _neighbours(printed)[0]
    shared = _shared_crosses(printed, one, two)
    laid = _laid_over([printed.seam_cross(two, n) for n in shared], [printed.seam_cross(one, n) for n in shared])
    assert last == "C1"
    assert apart(printed.seam_cross(one, "A1"), laid(printed.seam_cross(two, "C1"))) == pytest.approx(
        float(length), abs=ALLOWED
    )


# --------------------------------------------------------------------------------------------- the bars


@pytest.mark.parametrize("size", SHEETS)
def test_bars_and_diagonals_are_as_long_as_they_say(size: str) -> None:
    printed = Printed(plate([(0.0, 0.0), (100.0, 0.0)], size))
    lengths = [float(text) for text in re.findall(r"([\d.]+) mm", printed.words(0)) if len(text.split(".")[-1]) == 2]
    said = re.search(r"([\d.]+) mm\s+\(both diagonals ([\d.]+) mm\)", printed.words(0))
    assert said is not None
    across, diagonal = said.groups()
    width, height = (side / MM for side in printed.pdf[0].get_size())
    along = math.sqrt(float(diagonal) ** 2 - float(across) ** 2)
    assert any(abs(length - along) < 0.02 for length in lengths)
    middle = (width / 2, height / 2)
    guess = {(i, j): (middle[0] + i * float(across) / 2, middle[1] + j * along / 2) for i in (-1, 1) for j in (-1, 1)}
    corner = {place: _corner(printed, at, place) for place, at in guess.items()}
    for a, b, wanted in [
        ((-1, -1), (1, -1), float(across)),
        ((-1, 1), (1, 1), float(across)),
        ((-1, -1), (-1, 1), along),
        ((1, -1), (1, 1), along),
        ((-1, -1), (1, 1), float(diagonal)),
        ((-1, 1), (1, -1), float(diagonal)),
    ]:
        assert apart(corner[a], corner[b]) == pytest.approx(wanted, abs=ALLOWED)


def _corner(printed: Printed, near: tuple[float, float], place: tuple[int, int]) -> tuple[float, float]:
    """Where two bars meet, from the ink of both bars 3 to 7 mm off their ends."""
    ink, left, top = printed.ink(0, near, WINDOW)
    x_band = sorted((near[0] - place[0] * 3.0, near[0] - place[0] * 7.0))
    y_band = sorted((near[1] - place[1] * 3.0, near[1] - place[1] * 7.0))
    y = _middle(ink, left, top, [(x_band[0], x_band[1])], axis=1, around=near[1], play=1.2)
    x = _middle(ink, left, top, [(y_band[0], y_band[1])], axis=0, around=near[0], play=1.2)
    return x, y


# --------------------------------------------------------------------------------------------- mirroring

LOPSIDED = [(0.0, 0.0), (60.0, 10.0), (20.0, 75.0)]


@pytest.mark.parametrize(("side", "sign"), [("near", 1.0), ("far", -1.0)])
def test_the_far_view_is_mirrored_and_its_words_are_not(side: Side, sign: float) -> None:
    printed = Printed(plate(LOPSIDED, "a4"), side)
    zero, *others = (printed.hole(0, point) for point in LOPSIDED)
    for (x, y), at in zip(LOPSIDED[1:], others, strict=True):
        assert at[0] - zero[0] == pytest.approx(sign * x, abs=ALLOWED)
        assert at[1] - zero[1] == pytest.approx(y, abs=ALLOWED)
    page = printed.pdf[0].get_textpage()
    for word in ("part.2", f"{side.upper()} SIDE facing you"):
        start = page.search(word).get_next()[0]
        lefts = [page.get_charbox(start + i)[0] for i in range(len(word)) if word[i] != " "]
        assert lefts == sorted(lefts)
