"""A picture on the page, the server's side: who may send one, what is refused, and what gets into the spec."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from PIL import Image

from platekit.jobs.read import ReadWanted, read
from platekit.page.server import MOST_PICTURE, Page
from platekit.page.start import JobFolder
from platekit.scan.opencv import PictureError
from platekit.scan.pictures import picture_of
from tests.jobs.test_read import HOLES, LUG, NAMES, put_picture, spec_text
from tests.page.test_server import Visitor
from tests.scan.made import casting, flatbed
from tests.scan.test_pictures import save

BYTES: dict[str, str | None] = {"Content-Type": "application/octet-stream"}


class Camera(Visitor):
    """A client that sends pictures, too."""

    def picture(self, data: bytes, name: str = "face.png", changed: dict[str, str | None] | None = None) -> Any:
        status, body = self.send(path=f"/picture?name={quote(name)}", body=data, changed=BYTES | (changed or {}))
        return json.loads(body) if status == 200 else status

    @property
    def state(self) -> str:
        assert self.page.desk is not None
        return self.page.desk.now().state


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("job")


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("camera")
    put_picture(folder / "face.png", folder / "press.yaml")
    return (folder / "face.png").read_bytes()


@pytest.fixture
def camera(folder: Path) -> Iterator[Camera]:
    (folder / "press.yaml").write_text(spec_text(), "utf-8")
    page = Page(JobFolder(folder, folder / "output", folder / "press.yaml"))
    running = threading.Thread(target=page.serve_forever, kwargs={"poll_interval": 0.05})
    running.start()
    yield Camera(page)
    page.shutdown()
    running.join()
    page.server_close()


@pytest.mark.parametrize(
    ("status", "changed"),
    [
        (403, {"X-Platekit-Token": None}), (403, {"X-Platekit-Token": "a" * 32}), (403, {"Origin": "null"}),
        (403, {"Origin": "http://evil.example"}), (403, {"Origin": None}), (403, {"Host": "evil.example"}),
        (415, {"Content-Type": "application/json"}), (415, {"Content-Type": "image/png"}),
        (415, {"Content-Type": "multipart/form-data"}), (415, {"Content-Type": None}),
        (411, {"Content-Length": None}), (411, {"Content-Length": "-1"}),
        (413, {"Content-Length": str(MOST_PICTURE + 1)}), (413, {"Content-Length": "9" * 40}),
    ],
)  # fmt: skip
def test_only_the_page_itself_sends_one(camera: Camera, status: int, changed: dict[str, str | None]) -> None:
    assert camera.picture(b"", changed=changed) == status
    assert camera.page.desk is not None
    assert camera.page.desk.picture is None


def test_an_act_may_not_be_as_long_as_a_picture(camera: Camera) -> None:
    assert camera.send(body=b"{}", changed=BYTES)[0] == 415
    assert camera.send("GET", "/picture")[0] == 404
    assert camera.send(path="/pictures", changed=BYTES)[0] == 404


def test_the_page_knows_the_limit() -> None:
    text = files("platekit.page").joinpath("static", "talk.js").read_text("utf-8")
    found = re.search(r"MOST_PICTURE = (\S+);", text)
    assert found is not None
    assert float(found[1]) == MOST_PICTURE


@pytest.mark.parametrize(
    "kind", ["blank", "huge", "truncated", "animated", "pages", "GIF", "16-bit", "CMYK", "small", "text", "empty"]
)
def test_a_bad_one_is_refused_in_the_words_of_the_command(camera: Camera, kind: str, tmp_path: Path) -> None:
    path = tmp_path / "face.png"
    save(path, kind)
    with pytest.raises(PictureError) as refused:
        picture_of(path)
    told = camera.picture(path.read_bytes(), "C:\\pictures\\face.png")
    # where the picture library names what it read, a page has no path to name
    assert told["refused"] == str(refused.value).replace(str(path), "face.png")


def test_without_the_frame_it_says_so_in_one_line(camera: Camera, tmp_path: Path) -> None:
    noise = np.random.default_rng(3).integers(0, 256, (600, 500), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "nothing.png")
    mark = camera.picture((tmp_path / "nothing.png").read_bytes())["picture"]
    said = camera.ask("see", mount="face", picture=mark)["refused"]
    assert "\n" not in said
    assert "code" in said


def test_seen_then_put_in_one_step_and_the_picture_is_kept_nowhere(camera: Camera, folder: Path, scan: bytes) -> None:
    assert camera.page.desk is not None
    mark = camera.picture(scan)["picture"]
    told = camera.ask("see", mount="face", picture=mark, whole=True)
    assert told["placed"]
    assert told["flat"]["jpeg"]
    assert {one["name"] for one in told["holes"] if one["named"]} == set(NAMES)
    for one in told["holes"]:
        assert one["at"] == pytest.approx(HOLES[NAMES.index(one["name"])][:2].tolist(), abs=0.05)
        assert one["off_mm"] < 0.1
    assert (folder / "press.yaml").read_text("utf-8") == spec_text()
    before = camera.state
    done = camera.ask("put places", state=before, mount="face", picture=mark)
    assert done["steps"] == [1, 0]
    assert done["text"].count(", across, ") == done["text"].count(", up, ") == 5
    assert "# by caliper" in done["text"]
    face = done["surveys"]["face"]
    assert face["floating"] == []
    assert face["suspect"] is None
    assert face["left"] == 0  # a picture leaves nothing of the plan for a caliper alone
    assert camera.ask("undo", state=done["state"])["text"] == spec_text()
    names = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert names == {"press.yaml", "output/press/press.face.seen.svg"}
    stale = camera.ask("put places", state=done["state"], mount="face", picture=mark)
    assert "changed meanwhile" in stale["refused"]


def test_without_any_distance_the_page_asks_for_one(camera: Camera, folder: Path, scan: bytes) -> None:
    text = re.sub(r"readings:.*\n(?: +- .*\n)+", "readings: []\n", spec_text())
    (folder / "press.yaml").write_text(text, "utf-8")
    mark = camera.picture(scan)["picture"]
    done = camera.ask("put places", state=camera.state, mount="face", picture=mark)
    face = done["surveys"]["face"]
    assert face["floating"]
    assert face["next"]["kind"] in ("inside", "over", "centres")
    assert len(face["next"]["features"]) == 2
    # each reading on a line of its own, as those typed by hand
    assert done["text"].count("\n          - [") == 10


def test_a_slip_of_the_caliper_is_named_beside_a_picture(camera: Camera, folder: Path, scan: bytes) -> None:
    (folder / "press.yaml").write_text(spec_text(AC=2.0), "utf-8")
    mark = camera.picture(scan)["picture"]
    assert "A-C centres" in camera.ask("see", mount="face", picture=mark)["slip"]
    done = camera.ask("put places", state=camera.state, mount="face", picture=mark)
    assert done["surveys"]["face"]["suspect"]["reading"]["features"] == ["A", "C"]


def test_diameters_go_in_only_where_they_were_said(camera: Camera, folder: Path, scan: bytes) -> None:
    known, asked = "{A: 9.1, B: 9, C: 11.1,", "{A: {}, B: {kind: hole}, C: {},"
    text = spec_text().replace(known, asked)
    (folder / "press.yaml").write_text(text, "utf-8")
    mark = camera.picture(scan)["picture"]
    told = camera.ask("see", mount="face", picture=mark)
    assert [one["name"] for one in told["sizes"]] == ["A", "B", "C"]
    assert "9 mm" in told["sizes"][0]["drills"]
    about = {"mount": "face", "picture": mark}
    done = camera.ask("put places", state=camera.state, **about, sizes={"A": "9 mm", "B": "9,1"})
    assert "holes: {A: 9 mm, B: {kind: hole, diameter: 9.1}, C: {}, D: 11, bore: 48}    # by caliper" in done["text"]
    wrong = camera.ask("put places", state=done["state"], **about, sizes={"Q": "9 mm"})
    assert "Q is not seen" in wrong["refused"]
    assert "refused" in camera.ask("put places", state=done["state"], **about, sizes={"A": "wide"})
    assert camera.state == done["state"]


def test_how_holes_are_looked_for(camera: Camera, scan: bytes) -> None:
    mark = camera.picture(scan)["picture"]
    about = {"mount": "face", "picture": mark}
    x, y, _ = HOLES[NAMES.index("A")]
    clicks = camera.ask("see", **about, find="clicks", clicks={"A": [x + 1, y - 1]})
    assert [(one["name"], one["by"]) for one in clicks["holes"]] == [("A", "click")]
    blind = camera.ask("see", **about, find="blind", clicks={"A": [x + 1, y - 1]})
    assert [one["name"] for one in blind["holes"] if one["named"]] == ["A"]
    assert len(blind["holes"]) == 5
    without = camera.ask("see", **about, without=["C"])
    assert {one["name"] for one in without["holes"] if one["named"]} == set(NAMES) - {"C"}
    # a hole is one hole: whoever was clicked has it
    swapped = camera.ask("see", **about, clicks={"B": [x, y, 9.0]})
    assert {one["name"] for one in swapped["holes"] if one["named"]} == set(NAMES) - {"A"}
    assert [(one["name"], one["why"]) for one in swapped["not_holes"]] == [
        ("A", "what is seen there is B, as was said")
    ]


@pytest.fixture(scope="module")
def on_white(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A scan with the whole casting in the window."""
    path = tmp_path_factory.mktemp("white") / "face.png"
    rng = np.random.default_rng(71)
    Image.fromarray(flatbed(rng, casting(rng, LUG, holes=HOLES), dpi=150.0).grey).save(path)
    return path.read_bytes()


def test_an_outline_is_shown_over_the_picture_and_nothing_is_written(camera: Camera, on_white: bytes) -> None:
    assert camera.page.desk is not None
    mark = camera.picture(on_white)["picture"]
    told = camera.ask("see", mount="face", picture=mark, outline=[70, 110])["outline"]
    assert told["at"] == [70, 110]
    for x, y in LUG.tolist():
        assert min(np.hypot(x - a, y - b) for a, b in told["corners"]) < 0.4
    assert told["in_frame_of"] == "pattern"
    assert told["over_all_mm"] == pytest.approx([165.0, 115.0], abs=0.4)
    # 115 x 165 less three corners cut off: 40 x 25 and 25 x 35 halved
    assert told["area_mm2"] == pytest.approx(115 * 165 - (40 * 25 + 25 * 35) / 2, rel=0.003)
    assert max(abs(y - 60) for x, y in told["edge"] if 40 < x < 145 and y < 70) < 0.4
    assert camera.ask("see", mount="face", picture=mark)["outline"] is None
    assert not (camera.page.desk.folder / "press.face.outline.dxf").exists()


def test_the_outline_is_written_as_by_the_command_and_over_nothing_unasked(
    camera: Camera, on_white: bytes, folder: Path, tmp_path: Path
) -> None:
    (tmp_path / "face.png").write_bytes(on_white)
    (tmp_path / "press.yaml").write_text(spec_text(), "utf-8")
    read(tmp_path / "face.png", tmp_path / "press.yaml", tmp_path / "output", ReadWanted(outline="70,110"))
    mark = camera.picture(on_white)["picture"]
    about = {"state": camera.state, "mount": "face", "picture": mark, "outline": [70, 110]}
    told = camera.ask("outline", **about)["outline"]
    assert (
        told["use"] == "as the shape of a body on face: {drawn: {file: output/press/press.face.outline.dxf, units: mm}}"
    )
    made = folder / "output" / "press" / "press.face.outline.dxf"
    assert made.read_bytes() == (tmp_path / "output" / "press" / "press.face.outline.dxf").read_bytes()
    assert (folder / "output" / "press" / "press.face.seen.svg").read_text("utf-8").count("<polygon") == 2
    assert (folder / "press.yaml").read_text("utf-8") == spec_text()
    # the same once more is no other outline
    assert "use" in camera.ask("outline", **about)["outline"]
    made.write_bytes(b"of mine")
    asked = camera.ask("outline", **about)["outline"]
    assert asked["asks"] == "press.face.outline.dxf is there already with another outline"
    made.write_bytes(b"of mine, and newer")
    asked = camera.ask("outline", **about, over=asked["over"])["outline"]
    assert "asks" in asked
    assert made.read_bytes() == b"of mine, and newer"
    assert "use" in camera.ask("outline", **about, over=asked["over"])["outline"]
    assert made.read_bytes() == (tmp_path / "output" / "press" / "press.face.outline.dxf").read_bytes()
    assert "changed meanwhile" in camera.ask("outline", **(about | {"state": "0" * 16}))["refused"]
    made.unlink()
    made.mkdir()
    assert "folder of that name" in camera.ask("outline", **about)["refused"]
    made.rmdir()
    assert sorted(path.name for path in made.parent.iterdir()) == ["press.face.seen.svg"]


def test_the_outline_becomes_a_body_in_one_step_and_follows_its_file(
    camera: Camera, on_white: bytes, folder: Path
) -> None:
    mark = camera.picture(on_white)["picture"]
    about = {"mount": "face", "picture": mark, "outline": [70, 110]}
    body = {"mount": "face", "name": "casting", "low": "0", "high": "3/4 in"}
    assert "write the outline first" in camera.ask("outline body", **body)["refused"]
    before = camera.ask("put places", state=camera.state, **about)
    camera.ask("outline", state=before["state"], **about)
    edits = camera.ask("outline body", **body)["edits"]
    shown = camera.ask("preview", state=before["state"], edits=edits)["lines"]
    assert all(line[0] == "+" for line in shown)
    done = camera.ask("set", state=before["state"], edits=edits)
    assert done["steps"] == [2, 0]
    assert camera.page.desk is not None
    layout = camera.page.desk.now().layout
    assert layout is not None
    (one,) = (space for space in layout.bodies if space.name == "casting")
    assert one.z[1] - one.z[0] == pytest.approx(19.05)
    assert "there is a casting already" in camera.ask("outline body", **body)["refused"]
    # another edge under the same name: asked with what it means, and the plate is worked out again
    bore = about | {"outline": [92, 133]}
    asked = camera.ask("outline", state=done["state"], **bore)["outline"]
    assert asked["asks"].endswith("another outline, and the spec uses it")
    camera.ask("outline", state=done["state"], **bore, over=asked["over"])
    after = camera.page.desk.now()
    assert after.state == done["state"]
    assert after.layout is not None
    (other,) = (space for space in after.layout.bodies if space.name == "casting")
    assert other.shape.box.width == pytest.approx(48.0, abs=0.5)
    assert camera.ask("undo", state=done["state"])["text"] == before["text"]
    (folder / "output" / "press" / "press.face.outline.dxf").unlink()


@pytest.mark.parametrize(("at", "said"), [([25, 40], "runs into the frame"), ([5, 5], "outside the frame's window")])
def test_an_edge_that_cannot_be_followed_is_refused_in_the_words_of_the_command(
    camera: Camera, on_white: bytes, tmp_path: Path, at: list[float], said: str
) -> None:
    (tmp_path / "face.png").write_bytes(on_white)
    (tmp_path / "press.yaml").write_text(spec_text(), "utf-8")
    with pytest.raises(PictureError, match=said) as refused:
        read(
            tmp_path / "face.png", tmp_path / "press.yaml", tmp_path / "output", ReadWanted(outline=f"{at[0]},{at[1]}")
        )
    mark = camera.picture(on_white)["picture"]
    assert camera.page.desk is not None
    for act in ("see", "outline"):
        told = camera.ask(act, state=camera.state, mount="face", picture=mark, outline=at)
        assert told["refused"] == str(refused.value).replace(str(tmp_path / "face.png"), "face.png")
    assert not (camera.page.desk.folder / "press.face.outline.dxf").exists()


@pytest.mark.parametrize(
    "about",
    [
        {"outline": "70,110"}, {"outline": [70]}, {"outline": [70, True]}, {"outline": [1e9, 2]},
        {"clicks": {"A": [1]}}, {"clicks": {"A": [1, True]}}, {"clicks": {"A": [1, 2, 500]}}, {"clicks": [1, 2]},
        {"clicks": {"A": [1e9, 2]}}, {"without": "A"}, {"without": [1]}, {"find": "everything"}, {"kind": 3},
        {"looking_at": "front"}, {"mount": 3}, {"picture": None},
    ],
)  # fmt: skip
def test_what_no_page_would_ask_is_refused(camera: Camera, scan: bytes, about: dict[str, Any]) -> None:
    mark = camera.picture(scan)["picture"]
    said = camera.ask("see", **({"mount": "face", "picture": mark} | about))["refused"]
    assert said.startswith("found no")


@pytest.mark.parametrize(
    ("about", "said"),
    [
        ({"clicks": {"a.b": [1, 2]}}, "for a name"),
        ({"without": ["Q"]}, "found a hole Q"),
        ({"mount": "motor"}, "has no measured pattern of a mount motor"),
        ({"sigma": "0"}, "sigma: found 0; give a length above zero"),
        ({"measured": "bottom=1"}, "bottom"),
        ({"picture": "0" * 16}, "that picture is not at hand any more; choose it again"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(camera: Camera, scan: bytes, about: dict[str, Any], said: str) -> None:
    mark = camera.picture(scan)["picture"]
    told = camera.ask("see", **({"mount": "face", "picture": mark} | about))["refused"]
    assert said in told
    assert "\n" not in told


def test_another_job_has_no_picture(camera: Camera, scan: bytes) -> None:
    mark = camera.picture(scan)["picture"]
    camera.ask("close")
    assert camera.picture(scan) == {"closed": True}
    camera.ask("open", name="press.yaml")
    assert "choose it again" in camera.ask("see", mount="face", picture=mark)["refused"]


def test_without_opencv_nothing_else_breaks(camera: Camera, scan: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    sentence = "reading a picture needs opencv, which is not installed; get it by pip install 'platekit[scan]'"
    assert camera.picture(scan)["refused"] == sentence
    whole = camera.ask("look", state="")
    assert whole["surveys"]["face"]["no_pictures"] == sentence
    assert camera.ask("frame", size="letter", looking_at="back")["written"] == ["frame-letter-back.pdf"]
    assert camera.ask("edit", state=whole["state"], edits=[["plate.thickness", "10", "words"]])["steps"] == [1, 0]
