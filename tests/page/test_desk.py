"""The desk: edits of one file that never overwrite another's, undo, and the last good plate."""

from __future__ import annotations

import json
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.errors import PlatekitError, SpecError
from platekit.page import desk as desk_module
from platekit.page.acts import done
from platekit.page.answers import changed
from platekit.page.desk import UNDER_WAY, Desk, Stale, problems_of, with_edits
from tests.checks.plates import SOUND

SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    return Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")


def thicker(text: str) -> str:
    return with_edits(text, [("plate.thickness", 12)])


def test_an_edit_is_in_the_file_and_nothing_else_changes(desk: Desk) -> None:
    before = desk.path.read_text("utf-8")
    now = desk.change(desk.now().state, thicker)
    after = desk.path.read_text("utf-8")
    assert after == now.text == before.replace("thickness: 10", "thickness: 12")
    assert now.layout is not None
    assert now.layout.thickness == 12


def test_undo_and_redo_go_through_all_steps(desk: Desk) -> None:
    texts = [desk.now().text]
    for size in (12, 15, 20):
        thick = partial(with_edits, edits=[("plate.thickness", size)])
        texts.append(desk.change(desk.now().state, thick).text)
    for text in reversed(texts[:-1]):
        assert desk.undo(desk.now().state).text == text == desk.path.read_text("utf-8")
    with pytest.raises(PlatekitError, match="nothing to undo"):
        desk.undo(desk.now().state)
    for text in texts[1:]:
        assert desk.redo(desk.now().state).text == text
    desk.undo(desk.now().state)
    desk.change(desk.now().state, lambda text: with_edits(text, [("title", "Another way")]))
    assert desk.steps == (3, 0)


def test_what_another_program_wrote_is_never_written_over(desk: Desk) -> None:
    old = desk.now().state
    theirs = desk.path.read_text("utf-8").replace("Dough mixer", "Batter mixer")
    desk.path.write_text(theirs, "utf-8")
    with pytest.raises(Stale, match="changed meanwhile"):
        desk.change(old, thicker)
    assert desk.path.read_text("utf-8") == theirs
    assert desk.now().spec is not None
    assert "Batter" in desk.now().text


def test_two_pages_on_one_file(desk: Desk) -> None:
    other = Desk(desk.path, desk.out)
    state = desk.now().state
    other.change(state, thicker)
    with pytest.raises(Stale):
        desk.undo(state)
    assert desk.now().text == other.now().text


@pytest.mark.parametrize(
    ("field", "value"), [("plate.thickness", "thick"), ("mounts.motor.side", "left"), ("plate.unheard", 3)]
)
def test_an_edit_that_is_no_spec_is_refused(desk: Desk, field: str, value: object) -> None:
    before = desk.now()
    with pytest.raises(SpecError):
        desk.change(before.state, lambda text: with_edits(text, [(field, value)]))  # type: ignore[list-item]
    assert desk.path.read_text("utf-8") == before.text
    assert desk.steps == (0, 0)


def test_a_text_saved_as_typed_may_be_wrong_and_keeps_the_last_good_plate(desk: Desk) -> None:
    good = desk.now()
    now = desk.change(good.state, lambda text: text.replace("thickness: 10", "thickness: [10"), whatever=True)
    assert not now.readable
    assert not now.fresh
    assert now.problems[0].line > 0
    assert now.layout is good.layout
    mended = desk.change(now.state, lambda text: text.replace("thickness: [10", "thickness: 10"))
    assert mended.fresh


def test_what_is_wrong_with_a_text_is_told_without_writing(desk: Desk) -> None:
    text = desk.now().text
    assert problems_of(desk.path, text) == ()
    wrong = text.replace("process: plasma", "process: teeth")
    assert [one.field for one in problems_of(desk.path, wrong)] == ["cutting.process"]
    assert desk.path.read_text("utf-8") == text


def test_a_drag_under_way_writes_nothing(desk: Desk) -> None:
    now = desk.now()
    layout, verdict = desk.trial(now.state, [("plate.thickness", 16)])
    assert layout.thickness == 16
    assert verdict.findings
    assert desk.path.read_text("utf-8") == now.text
    with pytest.raises(Stale):
        desk.trial("0" * 16, [])


def patched(before: Any, change: Any) -> Any:
    """What the page makes of a change (`patched` in talk.js)."""
    if isinstance(change, list):
        return change[0]
    keys = range(len(before)) if isinstance(before, list) else before
    after = {key: patched(before[key], change[str(key)]) if str(key) in change else before[key] for key in keys}
    return list(after.values()) if isinstance(before, list) else after


@given(
    *[
        st.recursive(
            st.integers(0, 2),
            lambda below: st.lists(below, max_size=3) | st.dictionaries(st.sampled_from("abc"), below),
        )
        for _ in "ab"
    ]
)
@settings(max_examples=200)
def test_what_changed_put_in_gives_what_there_is_now(before: Any, after: Any) -> None:
    assert patched(before, json.loads(json.dumps(changed(before, after)))) == after


def test_of_a_drag_only_what_moved_is_told_to_a_page_that_has_the_rest(desk: Desk) -> None:
    state = desk.now().state

    def moved(x: float, seen: object = None) -> dict[str, Any]:
        return done(desk, {"act": "drag", "state": state, "handle": "cable", "to": [x, -80.0], "seen": seen})

    first = moved(50.0)
    second = moved(52.0, first["number"])
    third = moved(54.0, second["number"])
    whole = moved(54.0)
    scene = first["scene"]
    for one in (second, third):
        assert "scene" not in one
        scene = patched(scene, json.loads(json.dumps(one["changed"])))
    assert scene == json.loads(json.dumps(whole["scene"]))
    assert len(json.dumps(third)) < 0.25 * len(json.dumps(whole))
    # a move that comes to the same is answered with nothing new, as it is of the same layout
    same = moved(54.0, whole["number"])
    assert same["changed"] == {}
    assert same["verdict"] == third["verdict"]
    # another page has dragged meanwhile: what this one has is not the last picture
    for seen in (third["number"], 0, "1", True, [1]):
        assert moved(50.0, seen)["scene"] == json.loads(json.dumps(first["scene"]))


def test_advice_is_tried_when_the_hand_rests(tmp_path: Path) -> None:
    shutil.copy(SPECS / "press-pump.yaml", tmp_path)
    desk = Desk(tmp_path / "press-pump.yaml", tmp_path / "output")
    now = desk.change(desk.now().state, lambda text: with_edits(text, [("plate.thickness", 4)]))
    assert now.verdict is not None
    assert any(one.remedies for one in now.verdict.open("stop"))
    start = time.monotonic()
    desk.trial(now.state, [("plate.thickness", 5)], live=True)
    while not desk.advised()[0].advised:  # each question waits a moment
        assert time.monotonic() - start < 60
    assert time.monotonic() - start >= UNDER_WAY


def test_no_advice_is_tried_any_more_for_a_job_that_was_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(_layout: Any, _verdict: Any, in_time: Callable[[], bool], _between: Any) -> Iterator[dict[int, Any]]:
        while in_time():
            time.sleep(0.01)
            yield {}

    monkeypatch.setattr(desk_module, "by_and_by", endless)
    monkeypatch.setattr(desk_module, "PATIENCE", 600.0)
    shutil.copy(SPECS / "press-pump.yaml", tmp_path)
    desk = Desk(tmp_path / "press-pump.yaml", tmp_path / "output")
    before = set(threading.enumerate())
    assert not desk.advised()[0].advised
    (trying,) = set(threading.enumerate()) - before
    desk.close()
    trying.join(60)
    assert not trying.is_alive()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("mounts.motor.standoff", 2.1),
        ("mounts.motor.standoff", "1/8 in"),
        ("mounts.motor.standoff", 25),
        ("mounts.ring.layer.thickness", 9.3),
        ("plate.thickness", 15),
    ],
)
def test_a_drag_over_a_layer_comes_to_what_the_edited_file_does(tmp_path: Path, field: str, value: float | str) -> None:
    shutil.copy(SPECS / "bean-drum.yaml", tmp_path)
    desk = Desk(tmp_path / "bean-drum.yaml", tmp_path / "output")
    tried = desk.laid(desk.now().state, [(field, value)])
    desk.change(desk.now().state, partial(with_edits, edits=[(field, value)]))
    made = desk.now().layout
    assert made is not None
    # all that was laid out; the spec of a trial has the text that the file still holds
    assert replace(tried, spec=made.spec) == made
    assert tried.spec.model == made.spec.model
    assert tried.spec.revision == made.spec.revision
    if field == "mounts.ring.layer.thickness":
        assert made.mounts["motor"].standoff == value


def test_a_file_that_went_away_is_told(desk: Desk) -> None:
    desk.now()
    desk.path.unlink()
    with pytest.raises(PlatekitError, match="no such file"):
        desk.now()


def test_a_file_in_another_encoding_is_told_and_never_rewritten(desk: Desk) -> None:
    state = desk.now().state
    theirs = desk.path.read_text("utf-8").replace("Dough", "D\xfcgh").encode("latin-1")
    desk.path.write_bytes(theirs)
    with pytest.raises(SpecError, match="UTF-8"):
        desk.change(state, thicker)
    assert desk.path.read_bytes() == theirs


def test_a_place_that_was_found_stays_while_something_else_is_dragged(desk: Desk) -> None:
    found = desk.change(
        desk.now().state,
        lambda text: with_edits(
            text, [("mounts.motor.at", {"find": {"belt": {"from": "machine", "angles": [60, 90]}}})]
        ),
    )
    assert found.fresh
    assert found.layout is not None
    layout, _ = desk.trial(found.state, [("plate.cutouts.cable.at", [61, -95])])
    assert layout.mounts["motor"].pose == found.layout.mounts["motor"].pose


def test_a_text_saved_on_the_page_keeps_the_line_ends_of_its_file(desk: Desk) -> None:
    desk.path.write_bytes(desk.path.read_bytes().replace(b"\n", b"\r\n"))
    now = desk.now()
    typed = now.text.replace("\r\n", "\n").replace("thickness: 10", "thickness: 12")
    done(desk, {"act": "save", "state": now.state, "text": typed})
    assert desk.path.read_bytes().decode() == now.text.replace("thickness: 10", "thickness: 12")


def test_what_is_no_text_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "plate.yaml"
    path.write_text(SOUND, "utf-8")
    desk = Desk(path, tmp_path / "output")
    for text in ("a\0b", "# x\n" * 600_000):
        told = done(desk, {"act": "save", "state": desk.now().state, "text": text})
        assert "no text of a spec" in told["refused"]
        assert path.read_text("utf-8") == SOUND
