"""An old face in a real browser: from an empty sketch to placed holes, each act once."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser import test_live as live

EMPTY = """\
platekit: 1
title: Root grater
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  gear case:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {}
        sigma: 0.1
    screws: {size: M10, into: nut, flange: 14}
"""


class Face:
    """The sketch of an old face, on a page."""

    def __init__(self, bench: Any) -> None:
        self.bench = bench
        self.tab = bench.tab

    def begin(self, text: str = EMPTY) -> None:
        path = self.bench.folder / "grater.yaml"
        path.write_text(text, "utf-8")
        self.bench.close()
        self.tab.open("about:blank")
        self.tab.open(self.bench.page.address)
        self.bench.until("document.querySelector('[data-job=\"grater.yaml\"]')")
        self.tab.click("[data-job='grater.yaml']")
        self.bench.until("document.querySelector('.sketching')")
        self.bench.before = path.read_text("utf-8").splitlines()

    def click(self, x: float, y: float) -> None:
        """A click at a place of the sketch, mm."""
        at = self.tab.ask(
            "(() => { const drawn = document.querySelector('.sketching'); "
            "drawn.scrollIntoView({ block: 'center', behavior: 'instant' }); "
            f"const at = new DOMPoint({x}, {-y}).matrixTransform(drawn.getScreenCTM()); return [at.x, at.y]; }})()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.tab.do("Input.dispatchMouseEvent", type=kind, x=at[0], y=at[1], button="left", clickCount=1)

    def put(self, kind: str, x: float, y: float) -> None:
        count = self.tab.ask("document.querySelectorAll('.item').length")
        self.tab.click(f"[data-mode={kind}]")
        self.click(x, y)
        self.bench.until(f"document.querySelectorAll('.item').length === {count + 1}")

    def read(self, typed: str) -> None:
        """Types the reading that is asked for; what is asked for changes then."""
        asked = self.tab.ask("document.querySelector('.next').textContent")
        self.bench.type("[data-reading]", typed)
        self.tab.press("Enter")
        self.bench.until(f"document.querySelector('.next').textContent !== {json.dumps(asked)}")

    def measured(self) -> str:
        """The measured pattern as the file has it."""
        text: str = self.bench.spec.read_text("utf-8")
        return text.partition("measured:\n")[2].partition("    screws")[0]

    def until_written(self, words: str) -> None:
        """Waits until the file holds some words."""
        end = time.monotonic() + live.PATIENCE
        while words not in self.measured():
            assert time.monotonic() < end, (words, self.measured(), self.bench.told)
            time.sleep(0.05)


@pytest.fixture(scope="module")
def face(debug_port: int, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Face]:
    folder = tmp_path_factory.mktemp("bench")
    # a job to be shown at the start
    (folder / "grater.yaml").write_text(EMPTY, "utf-8")
    with live.served(debug_port, folder) as bench:
        yield Face(bench)


def test_holes_bore_and_edge_are_put_by_clicking(face: Face) -> None:
    face.begin()
    face.put("hole", -60, 40)
    face.put("hole", 60, 40)
    face.put("shaft", 0, 0)
    assert face.measured().split("\n") == [
        "        holes: {A: {}, B: {}, shaft: {kind: shaft}}",
        "        sigma: 0.1",
        "        sketch: {A: [-60, 40], B: [60, 40], shaft: [0, 0]}",
        "        origin: shaft",
        "",
    ]
    face.put("dowel", 0, 60)
    assert "dowel: {kind: dowel}" in face.measured()
    face.tab.click("[data-mode=edge]")
    face.click(-50, -40)
    face.bench.until("document.querySelector('.begun')")
    face.click(50, -40)
    face.bench.until("document.querySelector('.item.edge')")
    assert "edge: [-50, -40, 50, -40]" in face.measured()
    face.tab.click("#undo")
    face.bench.until("!document.querySelector('.item.edge')")
    assert "edge" not in face.measured()


def test_holes_are_clicked_round_a_shaft_that_is_there_already(face: Face) -> None:
    face.begin(EMPTY.replace("holes: {}\n", "holes: {shaft: {kind: shaft}}\n        sketch: {shaft: [0, 0]}\n"))
    for count, (x, y) in enumerate(((-40, 30), (40, 30)), 2):
        face.click(x, y)
        face.bench.until(f"document.querySelectorAll('.item').length === {count}")
    assert "A: [-40, 30], B: [40, 30]" in face.measured()


def test_the_same_by_keys_and_number_boxes(face: Face) -> None:
    face.begin()
    for x, y in (("-60", "40"), ("60,4", "40")):
        count = face.tab.ask("document.querySelectorAll('.item').length")
        face.bench.type(".numbers input", x)
        face.bench.type(".numbers input:nth-of-type(2)", y)
        face.tab.ask("document.querySelector('.numbers').requestSubmit()")
        face.bench.until(f"document.querySelectorAll('.item').length === {count + 1}")
    face.tab.ask("document.querySelector('[data-spot=B]').focus()")
    face.tab.press("Enter")
    face.bench.until("document.querySelector('[data-picked=name]')")
    face.tab.press("ArrowRight")
    face.until_written("sketch: {A: [-60, 40], B: [61, 40]}")
    face.bench.until("document.activeElement?.dataset?.spot === 'B'")
    face.bench.type("[data-picked=name]", "upper right")
    face.bench.until("document.querySelector('[data-spot=\"upper right\"]')")
    face.until_written("holes: {A: {}, upper right: {}}")


def test_zero_and_direction_and_way_round_are_chosen_by_clicking(face: Face) -> None:
    face.begin()
    for x, y in ((-60, 40), (60, 40), (50, -40)):
        face.put("hole", x, y)
    chosen = {"origin": ("C", "origin: C"), "x_axis": ("AB", "[A, B]"), "clockwise": ("BCA", "[B, C, A]")}
    for mode, (names, words) in chosen.items():
        face.tab.click(f"[data-mode={mode}]")
        for name in names:
            face.tab.click(f"[data-spot={name}]")
        face.until_written(words)
        face.bench.until("document.querySelector('[data-mode=pick]').ariaPressed === 'true'")
    assert face.measured().endswith("origin: C\n        x_axis: [A, B]\n        clockwise: [B, C, A]\n")


def test_readings_go_in_one_at_a_time_and_a_slip_turns_red_at_once(face: Face) -> None:
    face.begin()
    face.put("hole", -60, 40)
    face.put("hole", 60, 40)
    for typed in ("11,1", "11.1"):
        face.read(typed)
    assert "A: 11.1, B: 11.1" in face.measured()
    said = face.tab.ask("document.querySelector('.next .wanted').textContent")
    first, second = ("108,9", "113,1") if "inside" in said else ("131,1", "180,9")
    face.read(first)
    face.read(second)
    assert face.tab.ask("document.querySelector('.next').className") == "next wrong-reading"
    says = "[...document.querySelectorAll('.next button')].find(one => one.textContent.startsWith('My paper says'))"
    assert face.tab.ask(f"{says}.textContent") == f"My paper says {131.1 if 'inside' in said else 108.9:.2f} mm"
    assert face.tab.ask("document.querySelectorAll('.item.wrong').length") == 2
    face.tab.ask(f"{says}.click()")
    face.bench.until("!document.querySelector('.wrong-reading')")
    lines = sorted(line.strip() for line in face.measured().splitlines() if "- [" in line)
    assert lines == ["- [A, B, inside, 108.9]", "- [A, B, over, 131.1]"]


def test_what_cannot_be_reached_is_passed_over_and_typing_goes_on(face: Face) -> None:
    face.begin()
    for x, y in ((-60, 40), (60, 40), (50, -40)):
        face.put("hole", x, y)
    for _ in range(3):
        face.read("11,1")
    asked = face.tab.ask("document.querySelector('.next .wanted b').textContent")
    pair = asked.partition(",")[0]
    before = face.measured()
    face.tab.ask("document.querySelector('[data-cannot]').click()")
    face.bench.until(f"!document.querySelector('.next .wanted b').textContent.startsWith({json.dumps(pair)})")
    assert face.measured() == before
    # the box for the next reading has the keyboard, so that it can be typed at once
    face.bench.until("document.activeElement?.dataset?.reading")


LYING = "    shaft: {at: [0, 0], height: -150, along: 0 deg, stretch: [0, 190], diameter: 28}\n"


def test_the_end_of_a_shaft_over_the_face_is_typed_from_zero(face: Face) -> None:
    face.begin()
    path = face.bench.spec
    path.write_text(EMPTY + LYING, "utf-8")
    face.tab.do("Page.reload")
    face.bench.until("document.querySelector('#spec textarea')?.value.includes('stretch')")
    for x, y in ((-60, 40), (60, 40)):
        face.put("hole", x, y)
    assert "Choose zero" in face.tab.ask("document.querySelector('.lying').textContent")
    face.tab.click("[data-mode=origin]")
    face.tab.click("[data-spot=A]")
    face.bench.until("document.querySelector('[data-end=x]')")
    face.bench.type("[data-end=x]", "121,5")
    face.bench.type("[data-end=y]", "-30")
    face.tab.ask("document.querySelector('.lying form').requestSubmit()")
    face.bench.until("document.querySelector('[data-end=x]')?.value === '121.5'")
    assert "shaft: {at: [121.5, -30], height: -150, along: 0 deg, stretch: [-190, 0]" in path.read_text("utf-8")


@pytest.mark.parametrize("width", [400, 800, 1400])
def test_nothing_of_the_face_is_wider_than_the_window(face: Face, width: int) -> None:
    face.tab.size(width, 900, dark=width == 800)
    face.begin()
    face.put("hole", -60, 40)
    face.put("bore", 0, 0)
    assert face.tab.ask("document.documentElement.scrollWidth") <= width
    low = face.tab.ask(
        "[...document.querySelectorAll('.face button, .face select, .face input')]"
        ".filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5).map(one => one.outerHTML)"
    )
    assert low == []
    face.tab.size(1400, 1000)
