"""What a picture of the answer is made of, and the picture and sheets that show it."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, cast

import pytest

import platekit
from platekit.checks.strength import shown_of
from platekit.drawing.labels import points_along
from platekit.drawing.pdf.letters import letters
from platekit.drawing.pdf.pen import Pen, Way
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.bench.strength import draw_strength
from platekit.export.picture.strength import shade, strength_picture
from platekit.geometry import Box, Point
from platekit.placed import Layout
from platekit.strength.shown import LEVELS, Field, Region, Shown
from platekit.studies.advised import judge
from tests.checks import carried, plates
from tests.export.text_boxes import texts_of_svg

SPECS: Final = Path(__file__).parents[2] / "specs"
FORCES: Final = r"\d+ / \d+"
"""What stands beside a screw: newtons off the plate and sideways."""


@cache
def laid() -> Layout:
    return platekit.lay_out(platekit.loads(carried.SOUND, "plate.yaml"))


def shown() -> Shown:
    found = shown_of(laid())
    assert found is not None
    return found


def area(region: Region) -> float:
    """By the shoelace formula; lines round holes run the other way."""
    lines = (zip(line, (*line[1:], line[0]), strict=True) for line in region)
    return sum((ax * by - ay * bx) / 2 for line in lines for (ax, ay), (bx, by) in line)


@pytest.mark.parametrize("which", ["stress", "movement", "mode"])
def test_regions_lie_in_each_other_and_the_first_is_the_plate(which: str) -> None:
    field: Field = getattr(shown(), which)
    assert len(field.regions) == LEVELS
    areas = [area(region) for region in field.regions]
    steel = laid().outline.area - sum(o.shape.loop().area for o in laid().openings if o.through)
    assert areas[0] == pytest.approx(steel, rel=5e-3)
    assert areas == sorted(areas, reverse=True)
    assert areas[-1] > 0


def test_the_most_is_where_the_finding_says() -> None:
    found = shown()
    assert found.stress.at == found.worst.at
    assert found.stress.most == found.worst.stress
    assert found.movement.most == found.furthest.sag
    assert {one.hole for one in found.screws} == {f"{mount}.{n}" for mount in ("machine", "motor") for n in range(1, 5)}


def test_every_shade_is_darker_than_the_last() -> None:
    colours = [shade(level, LEVELS) for level in range(LEVELS)]
    rgb = [[int(colour[i : i + 2], 16) for i in (1, 3, 5)] for colour in colours]
    grey = [0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in rgb]
    assert all(before - after > 12 for before, after in pairwise(grey))


def test_the_picture_says_what_is_most_and_is_left_out_without_a_mass() -> None:
    picture = strength_picture(laid())
    most = re.search(r">most ([\d.]+) N/mm² ", picture)
    assert most is not None
    assert float(most[1]) == pytest.approx(shown().worst.stress, rel=0.02)
    for title in ("Stress", "How far it moves out of its plane", "How it swings first", "What each screw takes"):
        assert title in picture
    assert strength_picture(platekit.lay_out(platekit.loads(plates.SOUND, "plate.yaml"))) == ""


def test_the_bench_sheet_has_a_page_of_it() -> None:
    from pypdfium2 import PdfDocument

    pages = PdfDocument(sheet_bytes(laid(), judge(laid())))
    texts = [page.get_textpage().get_text_range() for page in pages]
    (page,) = [text for text in texts if "What each screw takes" in text]
    assert "How it swings first" in page


class Watched:
    """A pen that draws nothing and keeps the words and edges it was to draw."""

    def __init__(self) -> None:
        self.words: list[tuple[Point, str, float]] = []
        self.edges: list[Point] = []

    def text(self, at: Point, said: str, size: float, face: str = "regular") -> None:
        self.words.append((at, said, size))

    def shape(self, shape: Any, at: Way, width: float) -> None:
        self.edges += points_along(shape, at, 0.5)

    def __getattr__(self, name: str) -> Any:
        return lambda *args, **kwargs: None


def test_no_force_lies_over_an_edge_on_paper_or_in_the_picture() -> None:
    layout = platekit.lay_out(platekit.load(SPECS / "dye-vat.yaml"))
    found = shown_of(layout)
    assert found is not None
    pen = Watched()
    draw_strength(cast(Pen, pen), layout, found, Box(10, 20, 287, 190))
    on_paper = [
        Box(x, y, x + letters(size)(said), y + 1.6) for (x, y), said, size in pen.words if re.fullmatch(FORCES, said)
    ]
    assert len(on_paper) == len(found.screws)
    assert not [at for at in pen.edges for box in on_paper if box.x0 < at[0] < box.x1 and box.y0 < at[1] < box.y1]

    picture = strength_picture(layout)
    said = [one.box for one in texts_of_svg(picture) if re.fullmatch(FORCES, one.words)]
    assert len(said) == len(found.screws)
    # the last plate of the picture is that of the screws
    scale, _, _, rise, x0, y0 = (float(figure) for figure in re.findall(r"matrix\(([^)]*)\)", picture)[-1].split())
    for shape in (layout.plane, *(opening.shape for opening in layout.openings)):
        for x, y in points_along(shape, lambda at: (x0 + scale * at[0], y0 + rise * at[1]), 0.5):
            assert not [box for box in said if box.x0 < x < box.x1 and box.y0 < y < box.y1]
