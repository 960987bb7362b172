"""A picture of an old face in a real browser: from the file to the readings in the spec, which are the result."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.browser import test_live as live
from tests.scan.made import casting, flatbed, scene

HOLES = {
    "A": (52.0, 80.0, 9.0), "B": (131.0, 76.0, 9.0), "C": (140.0, 190.0, 11.0), "D": (48.0, 181.0, 11.0),
    "bore": (92.0, 133.0, 48.0),
}  # fmt: skip
"""Where they are, mm of the frame, and how wide."""
LUG = [(35.0, 60.0), (150.0, 60.0), (150.0, 200.0), (110.0, 225.0), (60.0, 225.0), (35.0, 190.0)]
"""Corners of a casting that lies whole in the window, mm of the frame."""
EVERY = "".join(
    f"          - [{a}, {b}, centres, {math.dist(HOLES[a][:2], HOLES[b][:2]):.2f}]\n" for a, b in combinations(HOLES, 2)
)
"""Every distance between two holes: readings that need no picture."""
SPEC = """\
platekit: 1
title: Cider press, gearbox face
units: mm
plate: {material: mild steel, thickness: 8, outline: {wrap: {margin: auto}}}
mounts:
  face:
    side: near
    looking_at: face
    screws: {size: M8, into: part, depth: 14}
    pattern:
      measured:
        holes: {A: {}, B: 9, C: 11, D: 11, bore: 48}    # by caliper
        sketch: {A: [-40, -50], B: [42, -60], C: [45, 60], bore: [2, 0]}
        readings:       # three of them
          - [A, C, centres, 140.88]
          - [B, D, centres, 133.83]
          - [B, C, centres, 114.35]
        sigma: 0.1
"""


@pytest.fixture(scope="module")
def bench(debug_port: int, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    folder = tmp_path_factory.mktemp("press")
    (folder / "press.yaml").write_text(SPEC, "utf-8")
    rng = np.random.default_rng(61)
    cast = scene(rng, np.array(list(HOLES.values())))
    Image.fromarray(flatbed(rng, cast, dpi=120.0).grey).save(folder / "face.jpg", quality=92)
    lug = casting(rng, np.array(LUG), holes=np.array(list(HOLES.values())))
    Image.fromarray(flatbed(rng, lug, dpi=120.0).grey).save(folder / "lug.jpg", quality=92)
    (folder / "notes.jpg").write_text("no picture", "utf-8")
    with live.served(debug_port, folder) as bench:
        yield bench


def begin(bench: Any, text: str = SPEC) -> None:
    """The spec as it was, opened, with the part for pictures open."""
    (bench.folder / "press.yaml").write_text(text, "utf-8")
    bench.close()
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('[data-job=\"press.yaml\"]')")
    bench.tab.click("[data-job='press.yaml']")
    bench.until("document.querySelector('details.seen')")
    bench.before = text.splitlines()
    bench.tab.ask("document.querySelector('details.seen').open = true")
    # what opens it is told a moment later
    bench.until("document.querySelector('[data-seen=file]').offsetHeight")


def give(bench: Any, name: str) -> None:
    """Chooses a file, as its user does in the window that the button opens."""
    root = bench.tab.do("DOM.getDocument")["root"]["nodeId"]
    node = bench.tab.do("DOM.querySelector", nodeId=root, selector="[data-seen=file]")["nodeId"]
    bench.tab.do("DOM.setFileInputFiles", nodeId=node, files=[str(bench.folder / name)])


def click_at(bench: Any, x: float, y: float, high: float = 270.0) -> None:
    """A click in the picture, mm of the frame."""
    at = bench.tab.ask(
        "(() => { const drawn = document.querySelector('.seeing'); "
        "drawn.scrollIntoView({ block: 'center', behavior: 'instant' }); "
        f"const at = new DOMPoint({x}, {high - y}).matrixTransform(drawn.getScreenCTM()); return [at.x, at.y]; }})()"
    )
    for kind in ("mousePressed", "mouseReleased"):
        bench.tab.do("Input.dispatchMouseEvent", type=kind, x=at[0], y=at[1], button="left", clickCount=1)


def seen(bench: Any) -> list[str]:
    found: list[str] = bench.tab.ask(
        "[...document.querySelectorAll('[data-seen-hole]')].map((o) => o.dataset.seenHole)"
    )
    return sorted(found)


def until_named(bench: Any, count: int) -> None:
    bench.until(f"document.querySelectorAll('.seen-holes tbody tr').length === {count}")


def test_a_picture_becomes_readings_in_one_step(bench: Any) -> None:
    begin(bench)
    give(bench, "face.jpg")
    until_named(bench, 4)
    # D is not on the sketch: it has no name before it is clicked
    assert seen(bench) == ["A", "B", "C", "bore", "hole 1"]
    assert bench.tab.ask("document.querySelector('[data-seen=next]').value") == "D"
    click_at(bench, HOLES["D"][0] + 1, HOLES["D"][1] - 1)
    until_named(bench, 5)
    assert bench.changed() == []
    # the only diameter that is wanting is asked for, and not taken by itself
    assert bench.tab.ask("document.querySelector('[data-size]').dataset.size") == "A"
    assert "looks " in bench.tab.ask("document.querySelector('[data-size]').textContent")
    bench.tab.click("[data-drill='9 mm']")
    bench.until("!document.querySelector('[data-size]')")
    bench.tab.click("[data-seen=put]")
    changed = bench.until_changed()
    assert [line for line in changed if line[0] == "-"] == [f"- {SPEC.splitlines()[11]}"]
    came = [line[2:].strip() for line in changed if line[0] == "+"]
    assert came[0] == "holes: {A: 9 mm, B: 9, C: 11, D: 11, bore: 48}    # by caliper"
    rows = [re.fullmatch(r"- \[(\w+), (across|up), ([\d.]+), 0\.1 mm\]", line) for line in came[1:]]
    assert len(rows) == 10
    for row in rows:
        assert row is not None
        assert float(row[3]) == pytest.approx(HOLES[row[1]][row[2] == "up"], abs=0.06)
    bench.until("document.querySelector('.seen [role=status]').textContent.includes('10 readings of 5 holes')")
    assert (bench.folder / "output" / "press" / "press.face.seen.svg").exists()
    bench.tab.click("#undo")
    bench.until("document.getElementById('undo').disabled")
    assert (bench.folder / "press.yaml").read_text("utf-8") == SPEC


def test_a_hole_is_named_otherwise_and_left_out_by_keys(bench: Any) -> None:
    begin(bench)
    give(bench, "face.jpg")
    until_named(bench, 4)
    bench.tab.ask("document.querySelector('[data-seen-hole=\"hole 1\"]').focus()")
    bench.tab.press("Enter")
    until_named(bench, 5)
    # what was called D is C: the hole that the sketch calls C loses its name then
    bench.until("document.querySelector('[data-picked-hole=D]')")
    bench.tab.ask(
        "(() => { const box = document.querySelector('[data-seen=name]'); box.value = 'C'; "
        "box.dispatchEvent(new Event('change', { bubbles: true })); })()"
    )
    bench.until("document.querySelector('[data-picked-hole=C]')")
    until_named(bench, 4)
    assert seen(bench) == ["A", "B", "C", "bore", "hole 1"]
    bench.tab.ask("document.querySelector('[data-seen=\"leave out\"]').focus()")
    bench.tab.press("Enter")
    until_named(bench, 3)
    # back by numbers
    assert bench.tab.ask("document.querySelector('[data-seen=next]').value") == "C"
    bench.type("[data-seen='number x']", "140,5")
    bench.type("[data-seen='number y']", "189.5")
    bench.tab.ask("document.querySelector('[data-seen=numbers]').closest('form').requestSubmit()")
    until_named(bench, 4)
    across = bench.tab.ask("document.querySelector('.seen-holes tbody tr').textContent")
    assert across.startswith(("C139.9", "C140.0"))
    assert bench.changed() == []


def test_an_outline_is_followed_written_and_made_a_body(bench: Any) -> None:
    placed = re.sub(
        r"( +)- \[A, C, centres.*\n(.*centres.*\n)+", EVERY, SPEC.replace("bore: [2, 0]", "D: [-42, 45], bore: [2, 0]")
    )
    begin(bench, placed)
    give(bench, "lug.jpg")
    until_named(bench, 5)
    # a place off the casting is refused, and the next click may be a better one
    bench.tab.click("[data-seen=aim]")
    bench.until("document.querySelector('[data-seen=aim]').ariaPressed === 'true'")
    click_at(bench, 25, 40)
    bench.until("!document.getElementById('told').hidden")
    assert "that runs into the frame; the whole part has to lie within the window" in bench.told
    bench.until("document.querySelector('[data-seen=aim]').ariaPressed === 'true'")
    click_at(bench, 70, 110)
    bench.until("document.querySelector('.seeing .outline')")
    said = bench.tab.ask("document.querySelector('[data-outline]').textContent")
    sizes = re.search(r"round 70, 110.*?: ([\d.]+) x ([\d.]+) mm over all, area (\d+) mm\u00b2, \d+ corners", said)
    assert sizes is not None, said
    assert [float(one) for one in sizes.groups()] == pytest.approx([165.0, 115.0, 18037.5], rel=0.004)
    assert bench.tab.ask("document.querySelector('[data-seen=aim]').ariaPressed") == "false"
    drawn = bench.folder / "output" / "press" / "press.face.outline.dxf"
    drawn.parent.mkdir(parents=True, exist_ok=True)
    drawn.write_text("of mine", "utf-8")
    bench.tab.click("[data-seen='write outline']")
    bench.until("document.querySelector('[data-seen=\"write over\"]')")
    assert drawn.read_text("utf-8") == "of mine"
    bench.until("document.activeElement.dataset.seen === 'write over'")
    bench.tab.press("Enter")
    bench.until("document.querySelector('[data-outline-written]')")
    assert (bench.folder / "press.yaml").read_text("utf-8") == placed
    corners = dxf_corners(drawn)
    long = max(math.dist(a, b) for a in corners for b in corners)
    true = max(math.dist(a, b) for a in LUG for b in LUG)
    assert long == pytest.approx(true, abs=0.4)
    use = bench.tab.ask("document.querySelector('[data-outline-written] code').textContent")
    assert use == "as the shape of a body on face: {drawn: {file: output/press/press.face.outline.dxf, units: mm}}"
    # shown before it is in the spec, then one step
    bench.type("[data-seen='body high']", "20")
    bench.tab.ask("document.querySelector('[data-seen=body]').closest('form').requestSubmit()")
    bench.until("document.querySelector('.outlined .preview')")
    assert (bench.folder / "press.yaml").read_text("utf-8") == placed
    shown = bench.tab.ask("[...document.querySelectorAll('.outlined .preview .plus')].map((one) => one.textContent)")
    bench.before = placed.splitlines()
    bench.tab.ask("document.querySelector('.outlined .preview button').click()")
    changed = bench.until_changed()
    assert [line.replace("+ ", "+", 1) for line in changed] == shown
    assert "".join(changed).replace(" ", "").replace("+", "") == (
        "bodies:{casting:{carried_by:face,span:[0,20],"
        "shape:{drawn:{file:output/press/press.face.outline.dxf,units:mm}}}}"
    )
    bench.until("document.querySelector('.outlined').textContent.includes('The spec uses it.')")
    bench.tab.click("#undo")
    bench.until("!document.querySelector('.outlined').textContent.includes('The spec uses it.')")
    assert (bench.folder / "press.yaml").read_text("utf-8") == placed
    drawn.unlink()


def dxf_corners(path: Path) -> list[tuple[float, float]]:
    """Corners of the only polyline of a DXF file, mm."""
    import ezdxf
    from ezdxf.entities import LWPolyline

    (line,) = ezdxf.readfile(path).modelspace()
    assert isinstance(line, LWPolyline)
    return [(float(x), float(y)) for x, y in line.get_points("xy")]


def test_an_outline_by_keys_and_numbers(bench: Any) -> None:
    begin(bench)
    give(bench, "lug.jpg")
    until_named(bench, 4)
    bench.type("[data-seen='outline x']", "70,5")
    bench.tab.ask("document.querySelector('[data-seen=follow]').focus()")
    bench.tab.press("Enter")
    bench.until("!document.getElementById('told').hidden")
    assert bench.told.startswith("found no number")
    bench.type("[data-seen='outline y']", "110")
    bench.tab.ask("document.querySelector('[data-seen=follow]').focus()")
    bench.tab.press("Enter")
    bench.until("document.querySelector('.seeing .outline')")
    assert bench.told == ""
    # while D floats nothing is settled: it lies on the paper, and makes no body
    assert bench.tab.ask("document.querySelector('[data-outline]').dataset.outline") == "paper"
    bench.tab.size(360, 900)
    small = bench.tab.ask(
        "[...document.querySelectorAll('.outlined button, .outlined input, [data-seen=aim]')]"
        ".filter((one) => one.getBoundingClientRect().height < 43.5).map((one) => one.outerHTML.slice(0, 80))"
    )
    assert small == []
    assert bench.tab.ask("document.documentElement.scrollWidth <= window.innerWidth") is True
    bench.tab.size(1400, 1000)
    bench.tab.ask("document.querySelector('[data-seen=\"leave outline\"]').focus()")
    bench.tab.press("Enter")
    bench.until("!document.querySelector('.seeing .outline')")
    assert bench.changed() == []


def test_a_new_face_gets_letters(bench: Any) -> None:
    begin(bench, re.sub(r"holes: .*\n.*sketch.*\n(.*readings:.*\n)(.*centres.*\n)+", "holes: {}   # none yet\n", SPEC))
    give(bench, "face.jpg")
    until_named(bench, 5)
    assert seen(bench) == ["A", "B", "C", "D", "E"]
    assert bench.tab.ask("document.querySelectorAll('[data-size]').length") == 1
    bench.tab.click("[data-seen='size open']")
    bench.until("document.querySelector('[data-size]').dataset.size === 'B'")
    bench.tab.click("[data-seen=put]")
    changed = bench.until_changed()
    assert any("holes: {A: {}, B: {}, C: {}, D: {}, E: {}}   # none yet" in line for line in changed), changed
    assert sum(", across, " in line for line in changed) == 5


def test_a_face_with_its_shaft_alone_takes_all_that_is_seen(bench: Any) -> None:
    # the questions put the shaft there before any picture is taken
    only = "holes: {shaft: {kind: shaft, diameter: 48}}\n        sketch: {shaft: [0, 0]}\n        origin: shaft\n"
    begin(bench, re.sub(r"holes: .*\n.*sketch.*\n(.*readings:.*\n)(.*centres.*\n)+", only, SPEC))
    give(bench, "face.jpg")
    bench.until("document.querySelectorAll('[data-seen-hole]').length === 5")
    assert bench.tab.ask("document.querySelector('[data-seen=next]').value") == "shaft"
    click_at(bench, *HOLES["bore"][:2])
    until_named(bench, 1)
    bench.tab.click("[data-seen='take all']")
    until_named(bench, 5)
    assert seen(bench) == ["A", "B", "C", "D", "shaft"]
    bench.tab.click("[data-all='11 mm']")
    bench.until("document.querySelector('[data-all=\"9 mm\"]')")
    bench.tab.click("[data-all='9 mm']")
    bench.until("!document.querySelector('[data-size]')")
    bench.tab.click("[data-seen=put]")
    bench.until_changed()
    text = bench.spec.read_text("utf-8")
    for name, size in {"A": 11, "B": 11, "C": 9, "D": 9}.items():
        assert re.search(rf"\b{name}: {size}( mm)?[,}}]", text.partition("holes:")[2].partition("sketch")[0]), text
    # a picture has no scale of its own: distances are asked for, by jaws that no shaft is between
    at = {name: [float(v) for v in re.findall(rf"\[{name}, (?:across|up), ([\d.]+)", text)] for name in "ABCD"}
    for _ in range(4):
        bench.until("document.querySelector('[data-level], [data-face] .wanted b')")
        if bench.tab.ask("!!document.querySelector('[data-level]')"):
            break
        asked = bench.tab.ask("document.querySelector('[data-face] .wanted b').textContent")
        step = re.match(r"(\w) to (\w), jaws (inside|outside)", asked)
        assert step is not None, asked
        radii = sum(11 if name in "AB" else 9 for name in step.groups()[:2]) / 2
        apart = math.dist(at[step[1]], at[step[2]]) + (radii if step[3] == "outside" else -radii)
        bench.type("[data-reading=face]", f"{apart:.2f}")
        bench.tab.ask("document.querySelector('[data-reading=face]').form.requestSubmit()")
        bench.until(f"document.querySelector('[data-face] .wanted b')?.textContent !== {asked!r}")
    # then the only thing that is wanting is said, with the levelest pair at hand
    bench.until("document.querySelector('[data-level]')")
    bench.tab.click("[data-level]")
    bench.until("!document.querySelector('[data-level]')")
    assert re.search(r"x_axis: \[\w, \w\]", bench.spec.read_text("utf-8"))


def test_what_is_no_picture_is_refused_in_words(bench: Any) -> None:
    begin(bench)
    give(bench, "notes.jpg")
    bench.until("!document.getElementById('told').hidden")
    assert bench.told == "notes.jpg: found no picture; give a JPEG, PNG, TIFF, BMP or WEBP file"
    assert bench.tab.ask("document.querySelector('.seeing')") is None


def test_the_frame_is_written_beside_the_papers(bench: Any) -> None:
    begin(bench)
    bench.tab.ask("document.querySelector('[data-seen=frame]').scrollIntoView({ block: 'center' })")
    bench.tab.click("[data-seen=frame]")
    bench.until("document.querySelector('.seen a')")
    assert bench.tab.ask("document.querySelector('.seen a').textContent") == "frame-a4-face.pdf"
    assert (bench.folder / "output" / "press" / "frame-a4-face.pdf").read_bytes().startswith(b"%PDF")
    assert bench.changed() == []


def test_without_opencv_one_sentence_says_how_to_get_it(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    (bench.folder / "press.yaml").write_text(SPEC, "utf-8")
    bench.close()
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('[data-job=\"press.yaml\"]')")
    bench.tab.click("[data-job='press.yaml']")
    bench.until("document.querySelector('details.seen')")
    said = bench.tab.ask("document.querySelector('[data-without]').textContent")
    assert said.startswith("Reading a picture needs opencv, which is not installed; get it by pip install")
    assert bench.tab.ask("document.querySelector('[data-seen=file]')") is None
    assert bench.tab.ask("!!document.querySelector('[data-seen=frame]')") is True


@pytest.mark.parametrize(("width", "dark"), [(1400, False), (1400, True), (360, False)])
def test_its_buttons_are_large_enough_and_nothing_is_wider_than_the_window(bench: Any, width: int, dark: bool) -> None:
    bench.tab.size(width, 900, dark)
    try:
        begin(bench)
        give(bench, "face.jpg")
        until_named(bench, 4)
        small = bench.tab.ask(
            "[...document.querySelectorAll('.seen button, .seen select, .seen input')]"
            ".filter((one) => one.getBoundingClientRect().height < 43.5 && one.offsetParent !== null)"
            ".map((one) => one.outerHTML.slice(0, 80))"
        )
        assert small == []
        targets = bench.tab.ask(
            "[...document.querySelectorAll('.seeing .target')].map((one) => one.getBoundingClientRect().height)"
        )
        assert min(targets) >= 43.5
        assert bench.tab.ask("document.documentElement.scrollWidth <= window.innerWidth") is True
    finally:
        bench.tab.size(1400, 1000)


def test_a_picture_stays_with_its_job(bench: Any) -> None:
    begin(bench)
    give(bench, "face.jpg")
    bench.until("document.querySelector('[data-seen=put]')")
    # another job of the folder with a mount of the same name
    (bench.folder / "other.yaml").write_text(SPEC.replace("Cider press", "Other press"), "utf-8")
    bench.tab.click("#close")
    bench.until("document.querySelector('[data-job=\"other.yaml\"]')")
    bench.tab.click("[data-job='other.yaml']")
    bench.until("document.title.startsWith('Other press') && document.querySelector('details.seen')")
    assert bench.tab.ask("!!document.querySelector('[data-seen=put]')") is False
    (bench.folder / "other.yaml").unlink()
