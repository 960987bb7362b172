"""Answers that come while somebody presses, types, marks or looks: nothing of that is lost, and nothing moves."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from platekit.page.acts import done
from tests.browser import test_live as live
from tests.browser.test_old_face import EMPTY

FACE = EMPTY.replace(
    "holes: {}\n",
    "holes: {A: 11, B: 11, C: 11, D: 11}\n"
    "        sketch: {A: [-60, 40], B: [60, 40], C: [60, -40], D: [-60, -40]}\n"
    "        readings:\n"
    "          - [A, B, centres, 120.1]\n"
    "          - [B, C, centres, 80.1]\n"
    "          - [C, D, centres, 120.2]\n"
    "          - [D, A, centres, 80.2]\n"
    "          - [A, C, centres, 144.3]\n",
)
ON_ITS_WAY = 0.4
"""So long an answer that the server has given is waited for, s: it may only come too late to prove anything."""


class Gates:
    """Answers of the server that are kept back until they are let through."""

    def __init__(self, answered: Callable[..., Any]) -> None:
        self._done = answered
        self._shut: dict[str, threading.Event] = {}
        self.given: list[str] = []

    def shut(self, act: str) -> None:
        self._shut[act] = threading.Event()

    def open(self, act: str) -> None:
        self._shut.pop(act).set()
        time.sleep(ON_ITS_WAY)

    def open_all(self) -> None:
        for act in [*self._shut]:
            self._shut.pop(act).set()

    def __call__(self, desk: Any, asked: dict[str, Any]) -> Any:
        gate, act = self._shut.get(asked["act"]), asked["act"]
        # a search is kept back before it begins: it takes long enough
        answer = None if act == "places" else self._done(desk, asked)
        if gate is not None:
            self.given.append(act)
            assert gate.wait(live.PATIENCE)
        return self._done(desk, asked) if act == "places" else answer

    def until_given(self, act: str) -> None:
        end = time.monotonic() + live.PATIENCE
        while act not in self.given:
            assert time.monotonic() < end, act
            time.sleep(0.02)


@pytest.fixture(scope="module")
def bench(debug_port: int, tmp_path_factory: pytest.TempPathFactory) -> Iterator[live.Bench]:
    folder = tmp_path_factory.mktemp("hands")
    with live.served(debug_port, folder) as bench:
        yield bench


@pytest.fixture
def gates(monkeypatch: pytest.MonkeyPatch) -> Iterator[Gates]:
    found = Gates(done)
    # which advice is there must not depend on how busy the machine is
    monkeypatch.setattr("platekit.page.desk.PATIENCE", 600.0)
    monkeypatch.setattr("platekit.page.server.done", found)
    yield found
    found.open_all()


def begin(bench: live.Bench, text: str = FACE) -> None:
    """A spec of this text, opened."""
    for path in bench.folder.glob("*.yaml"):
        path.unlink()
    (bench.folder / "grater.yaml").write_text(text, "utf-8")
    bench.close()
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('[data-job]')")
    bench.tab.click("[data-job]")
    bench.until("document.querySelector('#spec textarea')")
    bench.before = text.splitlines()


def example(bench: live.Bench, name: str) -> None:
    for path in bench.folder.glob("*.yaml"):
        path.unlink()
    bench.open(name)


def mouse(bench: live.Bench, kind: str, at: tuple[float, float], clicks: int = 1) -> None:
    bench.tab.do("Input.dispatchMouseEvent", type=kind, x=at[0], y=at[1], button="left", clickCount=clicks)


def write(bench: live.Bench, selector: str, words: str) -> None:
    """Types words by the keyboard, in place of what is in a box, and stays in it."""
    bench.tab.ask(
        f"(() => {{ const one = document.querySelector({json.dumps(selector)});"
        " for (let up = one.closest('details'); up; up = up.parentElement.closest('details')) up.open = true;"
        " one.focus(); one.select(); })()"
    )
    bench.tab.do("Input.insertText", text=words)


def holds(bench: live.Bench, words: str) -> None:
    """Waits until the file holds some words, and the page knows."""
    end = time.monotonic() + live.PATIENCE
    while words not in bench.spec.read_text("utf-8"):
        assert time.monotonic() < end, (words, bench.told, bench.spec.read_text("utf-8"))
        time.sleep(0.05)


def shown(bench: live.Bench, words: str) -> None:
    """Waits until the sheet is of a text with these words."""
    bench.until(f"document.querySelector('#spec textarea').value.includes({json.dumps(words)})")


THICK = "[data-field='plate.thickness']"
SIGMA = "[data-field='mounts.gear case.pattern.measured.sigma']"


def test_a_press_counts_though_an_answer_comes_between_press_and_release(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("edit")
    bench.type(THICK, "12")
    gates.until_given("edit")
    # a button of the very part that the answer makes anew
    button = "[aria-label='Take out A to C, centres']"
    at = bench.tab.middle(button)
    bench.tab.ask(f"window.pressed = document.querySelector({json.dumps(button)})")
    mouse(bench, "mousePressed", at)
    gates.open("edit")
    assert bench.tab.ask("window.pressed.isConnected")
    assert bench.tab.middle(button) == pytest.approx(at, abs=1)
    mouse(bench, "mouseReleased", at)
    holds(bench, "[D, A, centres, 80.2]\n        sigma")
    assert "thickness: 12" in bench.spec.read_text("utf-8")


def test_a_blank_pressed_on_a_button_counts_as_well(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("edit")
    bench.type(THICK, "12")
    gates.until_given("edit")
    bench.tab.ask("document.querySelector(\"[aria-label='Take out A to C, centres']\").focus()")
    key = {"key": " ", "code": "Space", "windowsVirtualKeyCode": 32}
    bench.tab.do("Input.dispatchKeyEvent", type="keyDown", text=" ", **key)
    gates.open("edit")
    bench.tab.do("Input.dispatchKeyEvent", type="keyUp", **key)
    holds(bench, "[D, A, centres, 80.2]\n        sigma")


def test_a_number_that_is_being_typed_stays_while_an_earlier_one_is_answered(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("edit")
    bench.type(THICK, "12")
    gates.until_given("edit")
    box = "[data-field$='readings.0.3']"
    write(bench, box, "120,3")
    gates.open("edit")
    state = "(({ value, selectionStart }) => [value, selectionStart])(document.activeElement)"
    assert bench.tab.ask(state) == ["120,3", 5]
    # what has nothing to do with the box is told at once
    assert not bench.tab.ask("document.getElementById('undo').disabled")
    bench.tab.do("Input.insertText", text="5")
    bench.tab.press("Tab")
    holds(bench, "120.35")
    shown(bench, "120.35")
    assert "thickness: 12" in bench.spec.read_text("utf-8")


def test_what_is_not_given_in_yet_outlives_the_answers_of_other_boxes(bench: live.Bench) -> None:
    example(bench, "pug-mill.yaml")
    bench.tab.click("#kerf")
    write(bench, "[aria-label^='one more for']", "half typed")
    bench.tab.ask(
        "(() => { const pick = [...document.querySelectorAll('select')].find((one) => [...one.options].some((two) => "
        "two.value === 'bodies')); pick.value = 'bodies'; pick.dispatchEvent(new Event('change')); })()"
    )
    bench.until("document.querySelector('form.new [data-name]')")
    write(bench, "[data-name]", "oil cup")
    bench.type("[data-field='title']", "Another mill")
    shown(bench, "Another mill")
    bench.type(THICK, "13")
    shown(bench, "thickness: 13")
    assert bench.tab.ask("document.getElementById('kerf').checked")
    assert bench.tab.ask("document.querySelector(\"[aria-label^='one more for']\").value") == "half typed"
    assert bench.tab.ask("document.querySelector('[data-name]').value") == "oil cup"


def test_advice_that_comes_in_moves_nothing_and_leaves_what_is_marked(bench: live.Bench, gates: Gates) -> None:
    gates.shut("advise")
    example(bench, "wrong-on-purpose.yaml")
    gates.until_given("advise")
    before = bench.tab.ask("document.getElementById('findings').textContent")
    last = "#findings [data-row]:last-child p"
    bench.tab.ask(
        f"(() => {{ const words = document.querySelector({json.dumps(last)}).lastChild;"
        " document.getSelection().setBaseAndExtent(words, 3, words, 9); })()"
    )
    marked = bench.tab.ask("String(document.getSelection())")
    at = bench.tab.middle(last)
    mouse(bench, "mouseMoved", at)
    gates.open("advise")
    bench.until(f"document.getElementById('findings').textContent !== {json.dumps(before)}")
    bench.until("!document.getElementById('findings').textContent.includes('is being tried')")
    box = f"document.querySelector({json.dumps(last)}).getBoundingClientRect()"
    top = f"{box}.top + {box}.height / 2"
    assert bench.tab.ask(top) == pytest.approx(at[1], abs=1.5)
    assert bench.tab.ask("String(document.getSelection())") == marked != ""


def test_a_row_of_findings_that_is_known_already_is_not_made_anew(bench: live.Bench, gates: Gates) -> None:
    gates.shut("advise")
    example(bench, "wrong-on-purpose.yaml")
    gates.until_given("advise")
    bench.tab.ask("window.notes = [...document.querySelectorAll('.finding.note, .finding.accepted')]")
    bench.tab.ask("window.sections = [...document.querySelectorAll('#sheet > *')]")
    gates.open("advise")
    bench.until("!document.getElementById('findings').textContent.includes('is being tried')")
    assert bench.tab.ask("[...window.notes, ...window.sections].every((one) => one.isConnected)")


def test_what_an_editor_writes_waits_while_somebody_types_and_costs_no_number(bench: live.Bench) -> None:
    begin(bench)
    write(bench, SIGMA, "0,2")
    bench.spec.write_text(bench.spec.read_text("utf-8").replace("Root grater", "Beet grater"), "utf-8")
    time.sleep(2.5)
    assert bench.tab.ask("document.getElementById('title').textContent") == "Root grater"
    assert bench.tab.ask(f"document.querySelector({json.dumps(SIGMA)}).value") == "0,2"
    bench.tab.press("Enter")
    bench.until("document.getElementById('told').textContent.includes('was changed meanwhile')")
    bench.until("document.getElementById('title').textContent === 'Beet grater'")
    # nothing was written; the number is still there, marked, and goes in by Enter
    assert "sigma: 0.1" in bench.spec.read_text("utf-8")
    box = f"document.querySelector({json.dumps(SIGMA)})"
    bench.until(f"{box}.classList.contains('wrong')")
    assert bench.tab.ask(f"{box}.value") == "0,2"
    assert bench.tab.ask(f"{box} === document.activeElement")
    bench.tab.press("Enter")
    holds(bench, "sigma: 0.2")
    shown(bench, "Beet grater")


def test_a_box_that_was_refused_shows_what_the_spec_has_after_the_next_act(bench: live.Bench) -> None:
    begin(bench)
    bench.type(THICK, "thick")
    bench.until(f"document.querySelector({json.dumps(THICK)}).classList.contains('wrong')")
    bench.type("[data-field='title']", "Beet grater")
    shown(bench, "Beet grater")
    bench.until(f"document.querySelector({json.dumps(THICK)}).value === '10'")


def test_two_are_taken_out_by_two_quick_clicks_and_one_by_a_double_click(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("take out")
    for one in ("A to B", "C to D"):
        bench.tab.click(f"[aria-label='Take out {one}, centres']")
    at = bench.tab.middle("[aria-label='Take out A to C, centres']")
    for count in (1, 2):
        mouse(bench, "mousePressed", at, count)
        mouse(bench, "mouseReleased", at, count)
    gates.until_given("take out")
    gates.open("take out")
    holds(bench, "readings:\n          - [B, C, centres, 80.1]\n          - [D, A, centres, 80.2]\n        sigma")
    bench.until("!document.querySelector(\"[aria-label='Take out A to C, centres']\")")


def test_a_second_click_of_a_pair_is_not_for_what_has_come_in_its_place(bench: live.Bench) -> None:
    begin(bench)
    at = bench.tab.middle("[aria-label='Take out B to C, centres']")
    mouse(bench, "mousePressed", at)
    mouse(bench, "mouseReleased", at)
    bench.until("!document.querySelector(\"[aria-label='Take out B to C, centres']\")")
    at = bench.tab.middle("[aria-label='Take out C to D, centres']")
    mouse(bench, "mousePressed", at, 2)
    mouse(bench, "mouseReleased", at, 2)
    time.sleep(ON_ITS_WAY)
    assert bench.spec.read_text("utf-8").count("centres") == 4


def test_a_list_that_was_left_is_not_opened_by_a_late_answer(bench: live.Bench, gates: Gates) -> None:
    example(bench, "press-pump.yaml")
    box = "[data-field='plate.material']"
    bench.tab.ask("document.querySelectorAll('#sheet details').forEach((one) => { one.open = true; })")
    write(bench, box, "s")
    bench.until("document.querySelector('.offers:not([hidden])')")
    gates.shut("look up")
    write(bench, box, "s35")
    gates.until_given("look up")
    bench.tab.press("Escape")
    gates.open("look up")
    assert bench.tab.ask("document.querySelector('.offers:not([hidden])')") is None
    # an arrow that comes before the list takes hold of its first entry
    gates.given.clear()
    gates.shut("look up")
    write(bench, box, "s35")
    gates.until_given("look up")
    bench.tab.press("ArrowDown")
    gates.open("look up")
    bench.until("document.querySelector('.offers [aria-selected=true]')")
    assert bench.tab.ask("document.querySelector('.offers [aria-selected=true]').dataset.offer") == "S355"


def test_a_search_goes_on_though_the_sheet_is_drawn_anew(bench: live.Bench, gates: Gates) -> None:
    example(bench, "apple-mill.yaml")
    gates.shut("places")
    bench.tab.ask("[...document.querySelectorAll('button')].find((b) => b.textContent === 'Places for motor').click()")
    bench.until("document.getElementById('leave')")
    gates.until_given("places")
    bench.type("[data-field='title']", "Another mill")
    shown(bench, "Another mill")
    assert bench.tab.ask("document.getElementById('leave')?.isConnected")
    busy = "[...document.querySelectorAll('button')].find((b) => b.textContent.startsWith('Places for motor'))"
    assert bench.tab.ask(f"{busy}.disabled")
    gates.open("places")
    bench.until("document.querySelector('#leave + [role=status]').textContent.startsWith('motor: ')")
    bench.tab.click("#leave")
    bench.until("document.getElementById('told').textContent.includes('the search was left')")
    bench.until("!document.getElementById('leave')")
    bench.until(f"!{busy}.disabled && {busy}.textContent === 'Places for motor'")


def test_a_late_answer_takes_nobodys_keys(bench: live.Bench, gates: Gates) -> None:
    example(bench, "wrong-on-purpose.yaml")
    bench.until("document.querySelector('[data-shows=blocked]')")
    gates.shut("preview")
    bench.tab.click("[data-shows=blocked]")
    gates.until_given("preview")
    write(bench, "[data-field='title']", "Dusty")
    gates.open("preview")
    bench.until("document.querySelector('.preview')")
    assert bench.tab.ask("document.activeElement.dataset.field") == "title"
    bench.tab.do("Input.insertText", text=" fan")
    bench.tab.press("Tab")
    holds(bench, "Dusty fan")


def test_the_pointer_stays_on_what_is_below_when_a_refusal_is_told(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("edit")
    bench.type(THICK, "thick")
    gates.until_given("edit")
    spot = "[aria-label='Take out B to C, centres']"
    at = bench.tab.middle(spot)
    mouse(bench, "mouseMoved", at)
    gates.open("edit")
    bench.until("!document.getElementById('told').hidden")
    top = f"document.querySelector({json.dumps(spot)}).getBoundingClientRect().top"
    high = bench.tab.ask(f"document.querySelector({json.dumps(spot)}).offsetHeight")
    assert bench.tab.ask(top) + high / 2 == pytest.approx(at[1], abs=1.5)


def test_a_list_of_choices_that_is_open_stays_open(bench: live.Bench, gates: Gates) -> None:
    begin(bench)
    gates.shut("edit")
    bench.type(THICK, "12")
    gates.until_given("edit")
    bench.tab.ask("window.chosen = document.querySelector('[data-field=\"mounts.gear case.side\"]'); undefined")
    bench.tab.ask("document.querySelectorAll('#sheet details').forEach((one) => { one.open = true; })")
    bench.tab.do("Runtime.evaluate", expression="window.chosen.focus(); window.chosen.showPicker()", userGesture=True)
    bench.until("window.chosen.matches(':open')")
    gates.open("edit")
    assert bench.tab.ask("window.chosen.matches(':open') && window.chosen.isConnected")
    bench.tab.ask("window.chosen.blur()")
    shown(bench, "thickness: 12")


def test_under_a_slow_processor_every_quick_number_goes_in(bench: live.Bench) -> None:
    begin(bench)
    bench.tab.do("Emulation.setCPUThrottlingRate", rate=6)
    try:
        for k, typed in enumerate(("120,11", "80,12", "120,13", "80,14", "144,25")):
            write(bench, f"[data-field$='readings.{k}.3']", typed)
        bench.tab.press("Tab")
        for words in ("120.11", "80.12", "120.13", "80.14", "144.25"):
            holds(bench, words)
    finally:
        bench.tab.do("Emulation.setCPUThrottlingRate", rate=1)
