"""The letters of the papers: an open typeface that comes as a package of its own, what it can show, how wide it is.

A character that the typeface lacks is drawn as its plain letter if it has one, else as a question mark.
"""

from __future__ import annotations

import math
import sys
import unicodedata
from functools import lru_cache, partial
from importlib.util import LazyLoader, find_spec, module_from_spec
from pathlib import Path
from typing import Final, Literal

from platekit.drawing.text import Measure, shortened
from platekit.errors import OutputError
from platekit.units import INCH

Face = Literal["regular", "bold", "italic"]

POINT: Final = 72 / INCH
"""Points in a millimetre. Published: PDF's unit is 1/72 in (ISO 32000-1, 8.3.2.3)."""
SMALLEST_TEXT: Final = 7.0
"""Smallest text, points: still readable when photocopied (common practice)."""
LINE: Final = 1.22
"""Distance of two lines of text, in text heights (common practice)."""

_FILES: Final[dict[Face, str]] = {
    "regular": "SourceSansPro-Regular.ttf",
    "bold": "SourceSansPro-Semibold.ttf",
    "italic": "SourceSansPro-It.ttf",
}
_PACKAGE: Final = "font_source_sans_pro"


@lru_cache(maxsize=256)
def letters(size: float, face: Face = "regular") -> Measure:
    """The measure (mm) of text of a size in points, for `wrapped` and `shortened`."""
    return partial(text_width, size=size, face=face)


def fitted(text: str, width: float, size: float, face: Face = "regular") -> tuple[str, float]:
    """A line of at most `width` mm and the size that it is set in: smaller letters before it is cut short."""
    least = min(SMALLEST_TEXT, size)
    wide = text_width(text, size, face)
    if wide <= width:
        return text, size
    # in tenths of a point, down: what is set at the size that is given must not be wider than the room
    size = max(math.floor(size * width / wide * 10) / 10, least)
    return shortened(text, width, letters(size, face)), size


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, face: Face = "regular") -> float:
    """How wide a text is as it is printed, mm; `size` in points."""
    widths = _widths(face)
    # reportlab's own sum, in its order, without the way there through its fonts: papers ask ten thousand times
    try:
        total = sum(map(widths.__getitem__, text))
    except KeyError:
        total = sum(map(widths.__getitem__, printable(text)))
    return float(0.001 * size * total) / POINT


class _Widths(dict[str, float]):
    """How wide each character of a face is that is printed as it is, in thousandths of its size; read as asked for."""

    def __init__(self, face: Face) -> None:
        pictures_later()
        from reportlab.pdfbase.pdfmetrics import getFont

        super().__init__()
        self._face = getFont(font_name(face)).face
        self._known = _known() | {"?", " "}

    def __missing__(self, sign: str) -> float:
        if sign not in self._known or not sign.isprintable():
            raise KeyError(sign)
        width = self[sign] = float(self._face.charWidths.get(ord(sign), self._face.defaultWidth))
        return width


@lru_cache(maxsize=3)
def _widths(face: Face) -> _Widths:
    return _Widths(face)


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """The text with only what the typeface can show: one line, no control characters, strangers replaced."""
    known = _known()
    # nearly every text: nothing but characters with a shape, and blanks
    if text.isprintable() and known.issuperset(text):
        return text
    # line ends and control characters come along from a spec; a title is one line whatever was typed
    line = "".join(" " if unicodedata.category(sign)[0] in "ZC" else sign for sign in text)
    if known.issuperset(line):
        return line
    shown = []
    for sign in unicodedata.normalize("NFC", line):
        if sign in known:
            shown.append(sign)
            continue
        # taken apart (NFKD), an accented letter is its plain letter and marks to be combined with it: the letter stays
        plain = [part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part)]
        shown += [part if part in known else "?" for part in plain]
    return "".join(shown)


@lru_cache(maxsize=3)
def font_name(face: Face) -> str:
    """The name under which reportlab knows the face; registered on first use. Raises `OutputError` if it is missing."""
    pictures_later()
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    found = find_spec(_PACKAGE)
    if found is None or found.origin is None:
        raise OutputError("the typeface of the paper templates is missing; install platekit again")
    file = Path(found.origin).parent / "files" / _FILES[face]
    if not file.is_file():
        raise OutputError(f"the typeface of the papers is missing ({file.name}); install platekit again")
    name = f"platekit-{face}"
    pdfmetrics.registerFont(TTFont(name, str(file)))
    return name


def pictures_later() -> None:
    """Lets Pillow be read when a picture is asked for: reportlab imports it, and no paper has a picture."""
    name = "PIL.Image"
    found = None if name in sys.modules else find_spec(name)
    if found is None or found.loader is None:
        return
    found.loader = LazyLoader(found.loader)
    module = sys.modules[name] = module_from_spec(found)
    found.loader.exec_module(module)
    sys.modules["PIL"].Image = module  # type: ignore[attr-defined]  # as importing it would


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    """The characters that the regular face can show."""
    from reportlab.pdfbase import pdfmetrics

    return frozenset(map(chr, pdfmetrics.getFont(font_name("regular")).face.charToGlyph))
