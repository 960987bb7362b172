"""Pictures of every bad kind: no picture, half of one, of the wrong kind, or of a frame that is in no good way."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageEnhance, ImageFilter, ImageOps

from tests.adversary.spoil import spoilt
from tests.jobs.test_read import HOLES
from tests.scan.clutter import clutter
from tests.scan.made import flatbed, photo, scene
from tests.scan.test_pictures import save

NO_USE: Final = (
    "blank", "huge", "truncated", "truncated PNG", "animated", "pages", "GIF", "16-bit", "16-bit TIFF", "CMYK", "small",
    "text", "empty",
)  # fmt: skip
"""Kinds that are refused by their head or their end."""


@cache
def good() -> tuple[Image.Image, ...]:
    """A scan and a photo of the face that the read's own tests have, coarse."""
    rng = np.random.default_rng(5)
    cast = scene(rng, HOLES)
    return (
        Image.fromarray(flatbed(rng, cast, dpi=90.0).grey),
        Image.fromarray(photo(rng, cast, pixels=(900, 1200), tilt=12.0).grey),
    )


def coded(picture: Image.Image, rng: random.Random) -> bytes:
    """The picture as a file of some kind."""
    kind = rng.choice(("JPEG", "JPEG", "PNG", "TIFF", "BMP", "WEBP"))
    more: dict[str, Any] = {"quality": rng.choice((5, 30, 75, 95))} if kind in ("JPEG", "WEBP") else {}
    if kind == "JPEG" and rng.random() < 0.3:
        tags = Image.Exif()
        tags[0x0112] = rng.choice((0, 1, 3, 6, 8, 9, 255))  # Exif 2.3: Orientation
        more["exif"] = tags
    if kind == "PNG" and rng.random() < 0.4:
        picture = picture.convert(rng.choice(("1", "L", "P", "RGB", "RGBA", "LA")))
    data = io.BytesIO()
    picture.save(data, kind, **more)
    return data.getvalue()


def _covered(picture: Image.Image, rng: random.Random) -> Image.Image:
    """A hand, a glare or a shadow over some of it."""
    found = picture.copy()
    for _ in range(rng.choice((1, 2, 5))):
        x, y = rng.randrange(found.width), rng.randrange(found.height)
        found.paste(rng.randrange(256), (x, y, x + rng.randrange(20, 500), y + rng.randrange(20, 500)))
    return found


def _noisy(picture: Image.Image, rng: random.Random) -> Image.Image:
    grey = np.asarray(picture, dtype=float)
    noise = np.random.default_rng(rng.getrandbits(32)).standard_normal(grey.shape) * rng.choice((10, 40, 120))
    return Image.fromarray(np.clip(grey + noise, 0, 255).astype(np.uint8))


def _doubled(picture: Image.Image, rng: random.Random) -> Image.Image:
    found = Image.new("L", (2 * picture.width, picture.height), 120)
    found.paste(picture, (0, 0))
    found.paste(rng.choice((picture, ImageOps.mirror(picture), rng.choice(good()))), (picture.width, 0))
    return found


def _bent(picture: Image.Image, rng: random.Random) -> Image.Image:
    """Paper that is no plane any more."""
    grey: NDArray[np.uint8] = np.array(picture)
    for row in range(len(grey)):
        grey[row] = np.roll(grey[row], round(rng.choice((3, 12)) * np.sin(row / 60)))
    return Image.fromarray(grey)


SPOILT: Final[tuple[Callable[[Image.Image, random.Random], Image.Image], ...]] = (
    _covered,
    _noisy,
    _doubled,
    _bent,
    lambda one, rng: one.filter(ImageFilter.GaussianBlur(rng.choice((1.5, 3, 8)))),
    lambda one, rng: ImageEnhance.Contrast(one).enhance(rng.choice((0.05, 0.15, 4.0))),
    lambda one, rng: ImageOps.invert(one),
    lambda one, rng: ImageOps.mirror(one),
    lambda one, rng: one.rotate(rng.uniform(0, 360), expand=True, fillcolor=rng.randrange(256)),
    lambda one, rng: one.resize((rng.randrange(400, 1500), rng.randrange(400, 1500))),
    lambda one, rng: one.crop((0, 0, rng.randrange(400, one.width), rng.randrange(400, one.height))),
)


def a_picture(rng: random.Random, path: Path) -> tuple[str, bytes]:
    """What it is, and its bytes; `path` is written over on the way."""
    way = rng.choice(("no use", "bytes", "bytes", "spoilt", "spoilt", "spoilt", "spoilt", "clutter", "good"))
    if way == "no use":
        kind = rng.choice(NO_USE)
        save(path, kind)
        return kind, path.read_bytes()
    if way == "clutter":
        picture, _ = clutter(rng.getrandbits(16))
        return "clutter", coded(Image.fromarray(picture.grey).resize((700, 1000)), rng)
    one = rng.choice(good())
    if way == "good":
        return way, coded(one, rng)
    if way == "bytes":
        return "bytes", spoilt(coded(one, rng), rng)
    for _ in range(rng.choice((1, 1, 2))):
        one = rng.choice(SPOILT)(one, rng)
        if min(one.size) < 2:
            break
    return "spoilt", coded(one, rng)


PLACES: Final = (
    "52,80",
    "131,76",
    "131,76,9",
    "0,0",
    "-1,-1",
    "1e9,5",
    "nan,1",
    "inf,inf",
    "5",
    "a,b",
    "1,2,3,4",
    "",
    "92,133,48",
)
NAMES: Final = ("A", "B", "bore", "Q", "", "a.b", "holes", "A=B", "é", "x" * 300)
LENGTHS: Final = ("0.1 mm", "0", "-1", "1e9", "nan", "0,2", "1/64 in", "many", "")


def words(rng: random.Random) -> list[str]:
    """Options of `read` as people type them."""
    found: list[str] = []
    for _ in range(rng.choice((0, 0, 1, 3))):
        found += ["--at", f"{rng.choice(NAMES)}={rng.choice(PLACES)}"]
    for option, choices in (
        ("--find", ("pattern", "clicks", "blind", "all")),
        ("--kind", ("photo", "scan", "film")),
        ("--looking-at", ("face", "back", "side")),
        ("--sigma", LENGTHS),
        ("--outline", PLACES),
        ("--measured", ("bottom=185, top=185, left=270, right=270, rising=327.3, falling=327.3", "bottom=1", "", "x")),
        ("--mount", ("face", "motor", "")),
    ):
        if rng.random() < 0.12:
            found += [option, rng.choice(choices)]
    return found + ["--write"] * rng.choice((0, 1)) + ["--json"] * rng.choice((0, 0, 1))
