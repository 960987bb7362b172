"""`platekit frame`: the page, and what is said of it."""

from __future__ import annotations

from pathlib import Path

from tests.terminal import Terminal

PRINTER = """\
printer: 1
units: mm
bars: [185, 270]
measured: {bottom: 184.4, top: 184.5, left: 271.3, right: 271.2, rising: 328.2, falling: 327.8}
"""


def test_a_stored_printer_is_drawn_against(terminal: Terminal) -> None:
    plain = terminal("frame", "--looking-at", "face")
    assert plain.code == 0
    assert "not corrected" in plain.out
    before = Path("output/frame-a4-face.pdf").read_bytes()
    Path("printers").mkdir()
    Path("printers/bench.yaml").write_text(PRINTER)
    ran = terminal("frame", "--looking-at", "face", "--printer", "bench")
    assert "corrected for the printer bench: 0.3 % too short across and 0.46 % too long along" in ran.out
    assert Path("output/frame-a4-face.pdf").read_bytes() != before


def test_a_printer_that_is_not_there_is_told(terminal: Terminal) -> None:
    ran = terminal("frame", "--printer", "nobody")
    assert ran.code == 2
    assert "nobody.yaml" in ran.err
    assert not Path("output/frame-a4.pdf").exists()
