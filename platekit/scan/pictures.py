"""A picture file as grey values: its head is read first, and what cannot be used is refused before it is decoded."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.scan.opencv import PictureError, opencv

Grey = NDArray[np.uint8]
Source = Callable[[], str | BytesIO]
"""What a picture is opened from: twice, for its head and for its pixels."""

MOST_PIXELS: Final = 120_000_000
"""Most pixels of a picture (a stated limit, ours): an A3 page at 600 dots an inch has 70 million, and what is worked
out from one stays below 2 GB."""
LEAST_SIDE: Final = 400
"""Least pixels of either side (ours): with fewer the codes cannot be read."""
MOST_BYTES: Final = 500_000_000
"""Largest file (a stated limit, ours)."""
FORMATS: Final = ("JPEG", "PNG", "TIFF", "BMP", "WEBP")
"""What is read, by the names that the head's reader gives them."""
MODES: Final = ("1", "L", "P", "RGB", "RGBA", "LA")
"""Kinds of pixels that are 8 bits a colour, in grey or red, green and blue."""
FLAT: Final = 12.0
"""A picture whose brightest and darkest hundredth differ by less is blank (ours; black on white differ by 150)."""


class Picture(Struct, frozen=True, eq=False):
    """A picture in grey, `name` as it was given; `dots_per_inch` as its head says, 0 where it does not."""

    name: str
    grey: Grey
    dots_per_inch: float = 0.0

    @property
    def width(self) -> int:
        """Pixels across."""
        return int(self.grey.shape[1])

    @property
    def height(self) -> int:
        """Pixels up and down."""
        return int(self.grey.shape[0])


def picture_of(path: str | os.PathLike[str]) -> Picture:
    """The picture in a file; `PictureError`, in one line, for what cannot be used.

    How a camera says that it was held (a mark in the head) is not asked: the codes of the frame tell which way round
    the picture is, and whether it was mirrored.
    """
    name = os.fspath(path)
    try:
        size = Path(name).stat().st_size
        if not Path(name).is_file():
            raise PictureError(name, "a folder", "name a picture: JPEG, PNG, TIFF, BMP or WEBP")
    except FileNotFoundError:
        raise PictureError(name, "no such file", "name a picture: JPEG, PNG, TIFF, BMP or WEBP") from None
    except (OSError, ValueError) as error:
        raise PictureError(name, f"a file that cannot be read ({_reason(error)})", "name another") from None
    if size > MOST_BYTES:
        raise PictureError(name, f"a file of {size / 1e6:.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB is read")
    return _picture(name, lambda: name)


def picture_in(data: bytes, name: str) -> Picture:
    """The picture that some bytes are, called `name` in what is said of it; raises as `picture_of` does."""
    return _picture(name, lambda: BytesIO(data))


def _picture(name: str, source: Source) -> Picture:
    opencv()  # told before the work is begun
    dots = _usable_head(name, source)
    grey = _decoded(name, source)
    low, high = np.percentile(grey[:: max(grey.shape[0] // 500, 1), :: max(grey.shape[1] // 500, 1)], (1, 99))
    if high - low < FLAT:
        raise PictureError(name, "a blank picture", "take it again, with the frame and the part in it")
    return Picture(name, grey, dots)


def _usable_head(name: str, source: Source) -> float:
    """The dots an inch that the head tells, 0 if none; `PictureError` for a picture that is not to be decoded."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of sizes, which are held against our own bound
            with Image.open(source()) as head:
                kind, mode, (width, height) = str(head.format), str(head.mode), head.size
                frames = int(getattr(head, "n_frames", 1)) if kind != "JPEG" else 1
                dots = head.info.get("dpi", (0.0, 0.0))
                bits = _deepest(head)
    except UnidentifiedImageError:
        raise PictureError(name, "no picture", "give a JPEG, PNG, TIFF, BMP or WEBP file") from None
    except Image.DecompressionBombError:
        raise PictureError(name, "a picture of far too many pixels", _too_many()) from None
    except (OSError, ValueError, SyntaxError, EOFError, OverflowError, TypeError, KeyError, IndexError) as error:
        raise PictureError(name, f"a damaged picture ({_reason(error)})", "save it again") from None
    if kind not in FORMATS:
        raise PictureError(name, f"a picture of the kind {kind}", "save it as JPEG, PNG or TIFF")
    if frames != 1:
        raise PictureError(name, f"{frames} pictures in one file", "save the one that is meant by itself")
    if width * height > MOST_PIXELS:
        raise PictureError(name, f"a picture of {width} x {height} pixels", _too_many())
    if min(width, height) < LEAST_SIDE:
        wanted = f"at least {LEAST_SIDE} pixels a side are needed, 2,000 are good"
        raise PictureError(name, f"a picture of {width} x {height} pixels", wanted)
    if mode.startswith(("I", "F")) or bits > 8:
        raise PictureError(name, f"{max(bits, 16)} bits a colour", "save it with 8 bits a colour (or a grey)")
    if mode not in MODES:
        raise PictureError(name, f"colours as {mode}", "save it in grey or RGB")
    try:
        told = float(dots[0])
    except (TypeError, ValueError, IndexError, ZeroDivisionError):
        told = 0.0
    return told if 1.0 < told < 1e5 else 0.0


def _deepest(head: Any) -> int:
    """Bits of one colour, as the head tells them where the kind of pixels does not."""
    tags = getattr(head, "tag_v2", None)
    bits = None if tags is None else tags.get(258)  # TIFF 6.0: BitsPerSample
    if bits is not None:
        return max(int(one) for one in (bits if isinstance(bits, tuple) else (bits,)))
    # PNG: the reader turns 16 bits of red, green and blue into 8; the tile's raw mode says what is in the file
    raw = [str(one) for tile in head.tile for one in tile[3:4]]
    return 16 if any(";16" in one for one in raw) else 8


def _decoded(name: str, source: Source) -> Grey:
    """The grey values; `PictureError` where the file ends too soon."""
    from PIL import Image

    limit = Image.MAX_IMAGE_PIXELS
    try:
        # our own bound was held against the head already
        Image.MAX_IMAGE_PIXELS = None
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(source()) as file:
                clear = file.mode == "P" and "transparency" in file.info
                picture = file.convert("RGBA") if clear else file
                grey = np.array(picture.convert("L"))
                if picture.mode in ("RGBA", "LA"):
                    _on_paper(grey, np.asarray(picture.getchannel("A")))
                return grey
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, OverflowError, TypeError, KeyError) as error:
        wanted = "copy it again from camera or scanner, or save it again"
        raise PictureError(name, f"a picture that breaks off or is damaged ({_reason(error)})", wanted) from None
    finally:
        Image.MAX_IMAGE_PIXELS = limit


def _on_paper(grey: Grey, cover: Grey) -> None:
    """Lays grey values on white paper by how much they cover; in strips, as wider numbers of all of it are large."""
    for top in range(0, len(grey), 512):
        strip, share = grey[top : top + 512].astype(np.uint16), cover[top : top + 512].astype(np.uint16)
        grey[top : top + 512] = (strip * share + 255 * (255 - share) + 127) // 255


def _too_many() -> str:
    return f"at most {MOST_PIXELS // 1_000_000} million are read; scan at 300 dots an inch, or make it smaller"


def _reason(error: BaseException) -> str:
    """The library's own words, one line, short."""
    said = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(said).split())[:80].lower()
