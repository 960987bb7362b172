"""`platekit read`: from a picture to readings in the spec, whose survey then says whether they go with the caliper."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from platekit.checks import check
from platekit.geometry import Loop, loop_of
from platekit.layout import lay_out
from platekit.spec import load
from platekit.spec.editing import with_value
from platekit.studies.surveyed import surveyed
from tests.scan.made import casting, flatbed, scene
from tests.terminal import Terminal

HOLES = np.array(
    [(92.0, 133.0, 48.0), (52.0, 80.0, 9.1), (131.0, 76.0, 9.0), (140.0, 190.0, 11.1), (48.0, 181.0, 11.0)]
)
NAMES = ("bore", "A", "B", "C", "D")
SPEC = """\
platekit: 1
title: Cider press, gearbox face
units: mm
plate: {material: mild steel, thickness: 8, outline: {wrap: {margin: auto}}}
mounts:
  face:
    side: near
    looking_at: face
    at: [0, 0]
    screws: {size: M8, into: part, depth: 14}
    pattern:
      measured:
        holes: {A: 9.1, B: 9, C: 11.1, D: 11, bore: 48}    # by caliper
        sketch: {A: [-40, -50], B: [42, -60], C: [45, 60], D: [-42, 45], bore: [2, 0]}
        readings:       # three of them
          - [A, C, centres, AC]
          - [B, D, centres, BD]
          - [C, D, centres, CD]
        sigma: 0.1
"""


def apart(a: str, b: str) -> float:
    return math.dist(HOLES[NAMES.index(a)][:2], HOLES[NAMES.index(b)][:2])


def spec_text(**more: float) -> str:
    text = SPEC
    for a, b in ("AC", "BD", "CD"):
        text = text.replace(f"centres, {a}{b}]", f"centres, {apart(a, b) + more.get(a + b, 0.0):.2f}]")
    return text


def put_picture(picture: Path, spec: Path) -> None:
    """Writes a scan of the face, and the spec that it belongs to."""
    rng = np.random.default_rng(61)
    Image.fromarray(flatbed(rng, scene(rng, HOLES), dpi=150.0).grey).save(picture)
    spec.write_text(spec_text())


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scan")
    put_picture(folder / "face.png", folder / "press.yaml")
    return folder / "face.png"


def test_places_are_shown_first_then_written_and_go_with_the_caliper(terminal: Terminal, picture: Path) -> None:
    Path("press.yaml").write_text(spec_text())
    first = terminal("read", picture, "--spec", "press.yaml")
    assert first.code == 0, first.out + first.err
    assert "nothing is written yet; --write puts 10 readings into the spec" in first.out
    assert Path("press.yaml").read_text() == spec_text()
    ran = terminal("read", picture, "--spec", "press.yaml", "--write")
    assert ran.code == 0
    text = Path("press.yaml").read_text()
    assert "# by caliper" in text
    assert "# three of them" in text
    assert text.count(", across, ") == text.count(", up, ") == 5
    (one,) = surveyed(load("press.yaml"))
    assert one.survey is not None
    assert not one.contradict
    assert not one.mirror_open
    for a in NAMES:
        for b in NAMES:
            assert one.survey.distance(a, b)[0] == pytest.approx(apart(a, b), abs=0.05)
    # another picture takes the place of the first
    assert terminal("read", picture, "--spec", "press.yaml", "--write").code == 0
    assert Path("press.yaml").read_text().count(", across, ") == 5


def test_a_slip_of_the_caliper_shows(terminal: Terminal, picture: Path) -> None:
    Path("press.yaml").write_text(spec_text(AC=2.0))
    ran = terminal("read", picture, "--spec", "press.yaml", "--json")
    assert ran.code == 1
    said = json.loads(ran.out)
    assert said["state"] == "open"
    assert said["survey"]["suspect"]["reading"]["features"] == ["A", "C"]
    assert said["written_into_spec"] is False


def test_two_holes_clicked_under_each_others_name_are_named_and_put_right(terminal: Terminal, picture: Path) -> None:
    text = spec_text().replace(
        "          - [C, D", f"          - [A, B, centres, {apart('A', 'B'):.2f}]\n          - [C, D"
    )

    Path("press.yaml").write_text(text)
    (ax, ay, _), (bx, by, _) = HOLES[1], HOLES[2]
    clicks = ("--at", f"A={bx},{by}", "--at", f"B={ax},{ay}")
    ran = terminal("read", picture, "--spec", "press.yaml", *clicks, "--write")
    assert ran.code == 1
    said = "A and B have each other's place in the picture: look which is which"
    assert said in " ".join(ran.out.split())
    layout = lay_out(load("press.yaml"))
    (finding,) = (one for one in check(layout).findings if said in one.message)
    assert finding.level == "stop"
    mended = Path("press.yaml").read_text()
    for remedy in finding.advice.remedies:
        mended = with_value(mended, remedy.field, remedy.value)
    Path("press.yaml").write_text(mended)
    (one,) = surveyed(load("press.yaml"))
    assert one.suspect is None
    assert not one.contradict
    assert one.survey is not None
    assert one.survey.distance("A", "B")[0] == pytest.approx(apart("A", "B"), abs=0.05)


def test_one_hole_does_not_get_two_names(terminal: Terminal, picture: Path) -> None:
    Path("press.yaml").write_text(spec_text())
    x, y, _ = HOLES[2]
    ran = terminal("read", picture, "--spec", "press.yaml", "--at", f"A={x},{y}", "--json")
    told = json.loads(ran.out)
    assert told["refused"][0]["name"] == "B"
    assert told["refused"][0]["why"] == "what is seen there is A, as was said"
    assert "B" not in told["holes"]


def test_a_picture_of_the_other_face_is_mirrored(terminal: Terminal, picture: Path) -> None:
    """The frame says that it shows the face; this spec looks at the back."""
    text = spec_text().replace("looking_at: face", "looking_at: back")
    for name, (x, y) in {"A": (-40, -50), "B": (42, -60), "C": (45, 60), "D": (-42, 45), "bore": (2, 0)}.items():
        text = text.replace(f"{name}: [{x}, {y}]", f"{name}: [{-x}, {y}]")
    Path("press.yaml").write_text(text)
    ran = terminal("read", picture, "--spec", "press.yaml", "--json")
    said = json.loads(ran.out)
    assert said["mirrored"] is True
    assert any("the picture shows the face, the spec looks at the back" in note for note in said["notes"])
    across = {name: hole["across_mm"] for name, hole in said["holes"].items()}
    assert across["A"] - across["B"] == pytest.approx(131.0 - 52.0, abs=1.0)


def test_holes_without_a_sketch_are_named_by_clicks(terminal: Terminal, picture: Path) -> None:
    lines = [line for line in spec_text().splitlines() if "sketch" not in line]
    Path("press.yaml").write_text("\n".join(lines) + "\n")
    blind = terminal("read", picture, "--spec", "press.yaml")
    assert blind.code == 1
    assert blind.out.count("without a name: at ") == 5
    assert "Give `--at A=X,Y`" in blind.out
    clicks = [
        word
        for name, hole in zip(NAMES, HOLES, strict=True)
        for word in ("--at", f"{name}={hole[0]:.0f},{hole[1]:.0f}")
    ]
    ran = terminal("read", picture, "--spec", "press.yaml", *clicks, "--write")
    assert ran.code == 0, ran.out + ran.err
    assert Path("press.yaml").read_text().count(", across, ") == 5


def test_what_is_not_there_is_refused_in_one_line(terminal: Terminal, picture: Path) -> None:
    Path("press.yaml").write_text(spec_text())
    Path("bad.png").write_text("no picture")
    for words in (
        ("bad.png",),
        ("missing.png",),
        (picture, "--mount", "motor"),
        (picture, "--at", "Q=1,2"),
        (picture, "--at", "A:1,2"),
        (picture, "--sigma", "0 mm"),
        (picture, "--measured", "bottom=1"),
    ):
        ran = terminal("read", words[0], "--spec", "press.yaml", *words[1:])
        assert ran.code == 2
        assert len(ran.err.strip().splitlines()) == 1
    assert Path("press.yaml").read_text() == spec_text()


def test_without_opencv_it_says_how_to_get_it(
    terminal: Terminal, picture: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("press.yaml").write_text(spec_text())
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    ran = terminal("read", picture, "--spec", "press.yaml")
    assert ran.code == 2
    assert ran.err.strip().endswith("get it by pip install 'platekit[scan]'")


LUG = np.array([(35.0, 60.0), (150.0, 60.0), (150.0, 200.0), (110.0, 225.0), (60.0, 225.0), (35.0, 190.0)])
"""The casting's outline in the outline's own tests, mm of the frame."""


@pytest.fixture(scope="module")
def on_white(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scan of the face with its casting whole in the window."""
    path = tmp_path_factory.mktemp("outline") / "face.png"
    rng = np.random.default_rng(71)
    Image.fromarray(flatbed(rng, casting(rng, LUG, holes=HOLES), dpi=150.0).grey).save(path)
    return path


BODY = """\
bodies:
  casting:
    carried_by: face
    span: [0, 20]
    shape: {drawn: {file: output/press/press.face.outline.dxf, units: mm}}
"""


@pytest.mark.parametrize("looking_at", ["face", "back"])
def test_the_outline_lies_round_the_holes_in_a_spec(terminal: Terminal, on_white: Path, looking_at: str) -> None:
    text = spec_text()
    if looking_at == "back":  # of the frame that shows the face: all is mirrored
        text = text.replace("looking_at: face", "looking_at: back")
        for name, (x, y) in {"A": (-40, -50), "B": (42, -60), "C": (45, 60), "D": (-42, 45), "bore": (2, 0)}.items():
            text = text.replace(f"{name}: [{x}, {y}]", f"{name}: [{-x}, {y}]")
    Path("press.yaml").write_text(text)
    ran = terminal("read", on_white, "--spec", "press.yaml", "--outline", "70,110", "--write")
    assert ran.code == 0, ran.out + ran.err
    assert "{drawn: {file: output/press/press.face.outline.dxf, units: mm}}" in ran.out
    assert "the outline is a picture's, sigma 0.1 mm" in " ".join(ran.out.split())
    Path("press.yaml").write_text(Path("press.yaml").read_text() + BODY)
    layout = lay_out(load("press.yaml"))
    (body,) = (one for one in layout.bodies if one.name == "casting")
    true = loop_of([(x, y, 0.0) for x, y in LUG.tolist()])
    assert isinstance(body.shape, Loop)
    assert body.shape.area == pytest.approx(true.area, abs=0.1 * true.perimeter)
    # every corner is as far from every hole as on the casting, however the mount lies
    centers = [opening.center for opening in layout.openings if opening.mount == "face"]
    assert len(centers) >= 4
    for corner in LUG.tolist():
        wanted = sorted(math.dist(corner, hole[:2]) for hole in HOLES[1:].tolist())
        near = [
            max(abs(a - b) for a, b in zip(sorted(math.dist(v[:2], c) for c in centers), wanted, strict=False))
            for v in body.shape.vertices
        ]
        assert min(near) < 0.5


def test_an_outline_in_json_and_in_the_overlay(terminal: Terminal, on_white: Path) -> None:
    Path("press.yaml").write_text(spec_text())
    ran = terminal("read", on_white, "--spec", "press.yaml", "--outline", "70,110", "--json")
    said = json.loads(ran.out)["outline"]
    assert said["in_frame_of"] == "pattern"
    assert said["scale"] == pytest.approx(1.0, abs=0.005)
    assert len(said["points_mm"]) < 20
    assert said["over_all_mm"] == pytest.approx([165.0, 115.0], abs=0.4)
    svg = Path("output/press/press.face.seen.svg").read_text()
    assert svg.count("<polygon") == 2
    # without holes that the survey settles it stays on the paper
    lines = [line for line in spec_text().splitlines() if "sketch" not in line]
    Path("press.yaml").write_text("\n".join(lines) + "\n")
    loose = json.loads(terminal("read", on_white, "--spec", "press.yaml", "--outline", "70,110", "--json").out)
    assert loose["outline"]["in_frame_of"] == "paper"
    for x, y in LUG.tolist():
        assert min(math.dist((x, y), corner) for corner in loose["outline"]["points_mm"]) < 0.4


def test_an_outline_that_cannot_be_had_writes_nothing(terminal: Terminal, on_white: Path) -> None:
    Path("press.yaml").write_text(spec_text())
    for typed, said in (("25,40", "runs into the frame"), ("5,5", "outside the frame's window"), ("70", "write X,Y")):
        ran = terminal("read", on_white, "--spec", "press.yaml", "--outline", typed, "--write")
        assert ran.code == 2
        assert said in ran.err
        assert len(ran.err.strip().splitlines()) == 1
    assert Path("press.yaml").read_text() == spec_text()
    assert not Path("output").exists()
