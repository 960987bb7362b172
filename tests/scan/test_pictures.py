"""Pictures that cannot be used: each is refused in one line, before it is decoded if its head tells."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from platekit.scan import pictures
from platekit.scan.located import frame_in
from platekit.scan.opencv import GET_IT, PictureError, ScanMissing
from platekit.scan.pictures import picture_of
from tests.scan.made import flatbed, scene

NOISE = np.random.default_rng(1).integers(0, 256, (600, 500, 3), dtype=np.uint8)


def huge_png(path: Path) -> None:
    """A head that promises 60,000 x 60,000 pixels, and little behind it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 0, 0, 0, 0))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b""))


def save(path: Path, kind: str) -> None:
    picture = Image.fromarray(NOISE)
    if kind == "blank":
        Image.new("L", (800, 600), 200).save(path, "PNG")
    elif kind == "huge":
        huge_png(path)
    elif kind == "truncated":
        picture.save(path, "JPEG")
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    elif kind == "truncated PNG":
        picture.save(path, "PNG")
        path.write_bytes(path.read_bytes()[:9000])
    elif kind == "animated":
        picture.save(path, "WEBP", save_all=True, append_images=[picture.rotate(90)])
    elif kind == "pages":
        picture.save(path, "TIFF", save_all=True, append_images=[picture])
    elif kind == "GIF":
        picture.save(path, "GIF")
    elif kind == "16-bit":
        Image.fromarray(NOISE[..., 0].astype(np.uint16) * 200).save(path, "PNG")
    elif kind == "16-bit TIFF":
        Image.fromarray(NOISE[..., 0].astype(np.uint16) * 200).save(path, "TIFF")
    elif kind == "CMYK":
        picture.convert("CMYK").save(path, "JPEG")
    elif kind == "small":
        picture.resize((300, 300)).save(path, "PNG")
    elif kind == "text":
        path.write_text("platekit: 1\n")
    elif kind == "empty":
        path.write_bytes(b"")


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("blank", "a blank picture; take it again"),
        ("huge", "pixels; at most 120 million are read"),
        ("truncated", "breaks off or is damaged"),
        ("truncated PNG", "breaks off or is damaged"),
        ("animated", "2 pictures in one file"),
        ("pages", "2 pictures in one file"),
        ("GIF", "of the kind GIF"),
        ("16-bit", "16 bits a colour; save it with 8 bits"),
        ("16-bit TIFF", "16 bits a colour; save it with 8 bits"),
        ("CMYK", "colours as CMYK; save it in grey or RGB"),
        ("small", "300 x 300 pixels; at least 400"),
        ("text", "no picture; give a JPEG"),
        ("empty", "no picture; give a JPEG"),
        ("missing", "no such file; name a picture"),
        ("folder", "a folder; name a picture"),
    ],
)
def test_a_bad_picture_is_refused_in_one_line(kind: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "picture"
    if kind == "folder":
        path.mkdir()
    else:
        save(path, kind)
    with pytest.raises(PictureError) as refused:
        picture_of(path)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_huge_picture_is_never_decoded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    huge_png(tmp_path / "huge.png")
    monkeypatch.setattr(pictures, "_decoded", pytest.fail)
    with pytest.raises(PictureError):
        picture_of(tmp_path / "huge.png")


def test_a_file_cut_anywhere_is_refused_or_read(tmp_path: Path) -> None:
    Image.fromarray(NOISE).save(tmp_path / "whole.jpg", dpi=(300, 300))
    whole = (tmp_path / "whole.jpg").read_bytes()
    assert picture_of(tmp_path / "whole.jpg").dots_per_inch == pytest.approx(300)
    for cut in range(0, len(whole) - 200, len(whole) // 25):
        (tmp_path / "cut.jpg").write_bytes(whole[:cut])
        with pytest.raises(PictureError):
            picture_of(tmp_path / "cut.jpg")


@pytest.mark.parametrize("way", range(1, 9))
def test_a_jpeg_that_says_how_the_camera_was_held(way: int, tmp_path: Path) -> None:
    """Its pixels are read as they lie in the file; the codes tell how they are turned, whatever the tag says.

    A tag that is wrong, as phones held flat over a bench write it, does no harm then.
    """
    made = flatbed(np.random.default_rng(2), scene(np.random.default_rng(1), chamfer=False, rust=0.0), dpi=75.0)
    tags = Image.Exif()
    tags[0x0112] = way  # Exif 2.3: Orientation
    Image.fromarray(made.grey).convert("RGB").save(tmp_path / "held.jpg", quality=92, exif=tags)
    picture = picture_of(tmp_path / "held.jpg")
    assert picture.grey.shape == made.grey.shape
    frame = frame_in(picture)
    assert not frame.mirrored
    assert frame.rms < 0.05
    # as an app would have turned it by the same tag: another shape, or mirrored, and the same places come out
    with Image.open(tmp_path / "held.jpg") as held:
        assert held.getexif()[0x0112] == way
        ImageOps.exif_transpose(held).save(tmp_path / "turned.png")
    other = picture_of(tmp_path / "turned.png")
    after = frame_in(other)
    assert after.mirrored == (way in (2, 4, 5, 7))
    hole = np.array([[92.0, 135.0]])
    for one, seen in ((picture, frame), (other, after)):
        column, row = seen.pixels(hole)[0].round().astype(int)
        assert one.grey[row, column] < 70


def test_transparent_is_paper(tmp_path: Path) -> None:
    clear = np.zeros((500, 500, 4), dtype=np.uint8)
    clear[100:200, 100:200, 3] = 255
    Image.fromarray(clear).save(tmp_path / "clear.png")
    grey = picture_of(tmp_path / "clear.png").grey
    assert (grey[150, 150], grey[300, 300]) == (0, 255)


def test_without_opencv_one_sentence_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Image.fromarray(NOISE).save(tmp_path / "whole.png")
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    with pytest.raises(ScanMissing) as missing:
        picture_of(tmp_path / "whole.png")
    assert str(missing.value) == f"reading a picture needs opencv, which is not installed; get it by {GET_IT}"
