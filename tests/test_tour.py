"""The tour of the library does what it says: its code is run in the order of the page, and prints what stands there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.docs.site import asks, gallery
from tests.docs.tour import blocks


def test_the_tour_prints_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    found = blocks()
    assert len(found) >= 6
    for block in found:
        exec(compile("\n" * (block.line - 1) + block.code, "docs/tour.md", "exec"), names)
        assert capsys.readouterr().out == block.printed, f"docs/tour.md, line {block.line}"


def test_the_gallery_shows_every_example() -> None:
    page, pictures = gallery()
    assert len(pictures) >= 6
    assert all(f"gallery/{name}" in page and text.startswith("<svg") for name, text in pictures.items())


def test_a_site_that_asks_another_host_is_told(tmp_path: Path) -> None:
    fetched = '<script src="https://host.invalid/a.js"></script><link rel="stylesheet" href="//host.invalid/a.css">'
    (tmp_path / "page.html").write_text(
        f'{fetched}<a href="https://host.invalid/">there</a><img src="own.png">', "utf-8"
    )
    (tmp_path / "style.css").write_text(
        "@font-face {src: url('https://host.invalid/a.woff')} p {background: url(a.png)}"
    )
    assert len(asks(tmp_path)) == 3
