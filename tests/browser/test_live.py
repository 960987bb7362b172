"""The live page in a real browser: each act once, with what it changed in the spec as the result."""

from __future__ import annotations

import base64
import difflib
import json
import re
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from platekit.page.server import Page
from platekit.page.start import JobFolder
from tests.browser import browser

SPECS = Path(__file__).parents[2] / "specs"
PATIENCE = 60.0
"""Longest wait for something on the page, s: machines that test may be slow."""


class Bench:
    """A page that is open in a tab, and the folder it works in."""

    def __init__(self, tab: Any, page: Page, folder: Path) -> None:
        self.tab = tab
        self.page = page
        self.folder = folder
        self.before: list[str] = []

    @property
    def spec(self) -> Path:
        assert self.page.desk is not None
        return self.page.desk.path

    def until(self, script: str) -> None:
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if self.tab.ask(f"!!({script})"):
                return
            time.sleep(0.05)
        raise AssertionError(f"never: {script}; the page says {self.told!r}")

    @property
    def told(self) -> str:
        return str(self.tab.ask("document.getElementById('told').textContent"))

    def open(self, name: str) -> None:
        """Opens a fresh copy of an example, by a click on its card."""
        shutil.copy(SPECS / name, self.folder)
        self.close()
        self.tab.open("about:blank")
        self.tab.open(self.page.address)
        self.until(f"document.querySelector('[data-job={json.dumps(name)}]')")
        self.tab.click(f"[data-job={json.dumps(name)}]")
        self.until("document.querySelector('#front .steel')")
        self.before = self.spec.read_text("utf-8").splitlines()

    def close(self) -> None:
        """Nothing is open any more, and nothing goes on for it."""
        if self.page.desk is not None:
            self.page.desk.close()
        self.page.desk = None

    def changed(self) -> list[str]:
        """The lines of the spec that went and came since it was opened."""
        lines = difflib.ndiff(self.before, self.spec.read_text("utf-8").splitlines())
        return [line for line in lines if line[0] in "+-"]

    def until_changed(self) -> list[str]:
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if found := self.changed():
                self.until("document.getElementById('undo').disabled === false")
                return found
            time.sleep(0.05)
        raise AssertionError(f"the spec did not change; the page says {self.told!r}")

    def type(self, selector: str, words: str) -> None:
        """Puts words into a box, as if typed, and leaves it."""
        self.tab.ask(
            f"(() => {{ const box = document.querySelector({json.dumps(selector)}); box.focus(); "
            f"box.value = {json.dumps(words)}; box.dispatchEvent(new Event('input', {{ bubbles: true }})); "
            "box.dispatchEvent(new Event('change', { bubbles: true })); })()"
        )

    def drag(self, handle: str, dx: float, dy: float) -> None:
        """Drags a handle by so many px, in steps."""
        x, y = self.tab.middle(f"[data-handle={json.dumps(handle)}]")
        self.tab.do("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, button="left", buttons=1, clickCount=1)
        for k in range(1, 6):
            to = {"x": x + dx * k / 5, "y": y + dy * k / 5}
            self.tab.do("Input.dispatchMouseEvent", type="mouseMoved", button="left", buttons=1, **to)
        self.tab.do("Input.dispatchMouseEvent", type="mouseReleased", button="left", clickCount=1, **to)


@contextmanager
def served(debug_port: int, folder: Path, width: int = 1400) -> Iterator[Bench]:
    """A page of a folder that runs, in a tab so many px wide, which complains of nothing and asks no other host."""
    page = Page(JobFolder(folder, folder / "output"))
    running = threading.Thread(target=page.serve_forever, kwargs={"poll_interval": 0.05})
    running.start()
    try:
        with browser.Tab(debug_port) as tab:
            tab.size(width, 1000)
            yield Bench(tab, page, folder)
            assert tab.errors == []
            assert all(address.startswith((page.origin, "about:", "data:")) for address in tab.asked_for)
    finally:
        page.shutdown()
        running.join()
        page.server_close()


@pytest.fixture(scope="module")
def bench(debug_port: int, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder = tmp_path_factory.mktemp("shop")
    for name in ("wrong-on-purpose.yaml", "press-pump.yaml", "pug-mill.yaml"):
        shutil.copy(SPECS / name, folder)
    # which advice is there must not depend on how busy the machine is
    with pytest.MonkeyPatch.context() as patch, served(debug_port, folder) as bench:
        patch.setattr("platekit.page.desk.PATIENCE", 600.0)
        yield bench


def test_a_search_for_places_tells_how_far_it_is_and_may_be_left(bench: Bench) -> None:
    bench.open("apple-mill.yaml")
    bench.tab.ask("[...document.querySelectorAll('button')].find((b) => b.textContent === 'Places for motor').click()")
    bench.until("document.querySelector('#leave + [role=status]')?.textContent.startsWith('motor: ')")
    bench.tab.ask("document.getElementById('leave').click()")
    bench.until("document.getElementById('told').textContent.includes('the search was left')")
    assert bench.tab.ask("document.getElementById('leave')") is None
    assert bench.changed() == []


def test_a_press_on_a_job_counts_though_its_picture_comes_in_meanwhile(bench: Bench) -> None:
    for name in ("apple-mill.yaml", "bean-drum.yaml", "winnowing-fan.yaml"):
        shutil.copy(SPECS / name, bench.folder)
    bench.close()
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    # the last card of the folder: the others are looked at first, which leaves time for the press
    card = "[data-job='wrong-on-purpose.yaml']"
    bench.until(f'document.querySelector("{card}")')
    pressed = bench.tab.middle(card)
    bench.tab.do(
        "Input.dispatchMouseEvent", type="mousePressed", x=pressed[0], y=pressed[1], button="left", clickCount=1
    )
    assert not bench.tab.ask(f'!!document.querySelector("{card} svg")')
    bench.until(f'document.querySelector("{card} svg")')
    assert bench.tab.middle(card) == pytest.approx(pressed, abs=1.0)
    bench.tab.do(
        "Input.dispatchMouseEvent", type="mouseReleased", x=pressed[0], y=pressed[1], button="left", clickCount=1
    )
    bench.until("document.querySelector('#front .steel')")
    assert bench.spec.name == "wrong-on-purpose.yaml"


def test_a_number_typed_into_a_box_is_in_the_spec(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.type("[data-field='plate.thickness']", "12,5")
    assert [line.partition("#")[0].split() for line in bench.until_changed()] == [
        ["-", "thickness:", "8"],
        ["+", "thickness:", "12.5"],
    ]


def test_a_bad_one_is_refused_at_once_and_nothing_is_written(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.type("[data-field='plate.thickness']", "thick")
    bench.until("document.getElementById('told').textContent.includes('plate.thickness')")
    assert bench.tab.ask("document.querySelector('[data-field=\"plate.thickness\"]').className") == "wrong"
    assert bench.changed() == []


def test_a_dragged_opening_lies_where_it_was_let_go(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.drag("cable", 60, -40)
    changed = bench.until_changed()
    assert len(changed) == 2
    assert all("cable" in line for line in changed)
    scale = bench.tab.ask("document.querySelector('#front svg').getScreenCTM().a")
    (x0, y0), (x1, y1) = (json.loads(line.partition("at: ")[2].partition("]")[0] + "]") for line in changed)
    assert (x1 - x0, y1 - y0) == pytest.approx((60 / scale, 40 / scale), abs=1.0)
    bench.tab.click("#undo")
    bench.until("document.getElementById('undo').disabled")
    assert bench.changed() == []


def test_a_handle_goes_by_the_arrow_keys(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.tab.ask("document.querySelector('[data-handle=cable]').focus()")
    bench.tab.press("ArrowRight")
    changed = bench.until_changed()
    (x0, y0), (x1, y1) = (json.loads(line.partition("at: ")[2].partition("]")[0] + "]") for line in changed)
    assert (x1 - x0, y1 - y0) == pytest.approx((1, 0))


def test_words_of_the_spec_are_set_as_such_in_findings(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.until("document.querySelector('.finding')")
    shown = bench.tab.ask("document.getElementById('findings').textContent")
    assert "`" not in shown


def test_an_advice_is_shown_first_then_made(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    show = "[...document.querySelectorAll('#findings button')].find(one => one.textContent.startsWith('Show what'))"
    bench.until(show)
    bench.tab.ask(f"{show}.click()")
    bench.until("document.querySelector('.preview button')")
    assert bench.changed() == []
    planned = bench.tab.ask("[...document.querySelectorAll('.preview pre div')].map(one => one.textContent)")
    bench.tab.ask("document.querySelector('.preview button').click()")
    assert [line[0] + line[2:] for line in bench.until_changed()] == planned


def test_accepting_asks_for_the_reason(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    accept = "[...document.querySelectorAll('#findings button')].find(one => one.textContent.startsWith('Accept'))"
    bench.until(accept)
    bench.tab.ask(f"{accept}.click()")
    bench.until("document.querySelector('.finding form')")
    bench.tab.ask("document.querySelector('.finding form button').click()")
    bench.until("document.getElementById('told').textContent.includes('reason')")
    assert bench.changed() == []
    bench.type(".finding form input", "tried on scrap")
    bench.tab.ask("document.querySelector('.finding form button').click()")
    assert any("because: tried on scrap" in line for line in bench.until_changed())


def test_the_spec_as_text_shows_faults_as_typed_and_is_saved_on_request(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.tab.ask("document.getElementById('spec').open = true")
    text = bench.spec.read_text("utf-8")
    bench.type("#spec textarea", text.replace("units: ", "unit: "))
    bench.until("document.querySelector('#spec .slip li')?.textContent.includes('unit')")
    assert bench.changed() == []
    bench.type("#spec textarea", text + "# looked at\n")
    bench.tab.ask("[...document.querySelectorAll('#spec button')][0].click()")
    assert bench.until_changed() == ["+ # looked at"]


def test_what_an_editor_writes_is_taken_in(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.spec.write_text(bench.spec.read_text("utf-8").replace("title: ", "title: My "), "utf-8")
    bench.until("document.getElementById('title').textContent.startsWith('My ')")


def test_a_key_is_added_by_its_form_and_taken_out_again(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.tab.ask(
        "(() => { const pick = [...document.querySelectorAll('.adder select')]"
        ".find(one => [...one.options].some(option => option.value === 'plate.up'));"
        "pick.value = 'plate.up'; pick.dispatchEvent(new Event('change')); })()"
    )
    bench.until("document.querySelector('[data-new=\"plate.up\"]')")
    bench.type("[data-new='plate.up']", "80 deg")
    bench.tab.ask("document.querySelector('form.new button').click()")
    assert any("up: 80 deg" in line for line in bench.until_changed())


def test_files_are_written_and_can_be_opened(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.tab.ask("document.getElementById('make').click()")
    bench.until("document.querySelector('.files a')")
    names = bench.tab.ask("[...document.querySelectorAll('.files a')].map(one => one.textContent)")
    assert "press-pump.report.html" in names
    bench.tab.ask("document.getElementById('moved').click()")
    bench.until("document.getElementById('made').textContent.includes('no hole moved')")
    clear = bench.tab.ask("document.getElementById('verdict').className").endswith("clear")
    assert ("press-pump.cut.dxf" in names) == clear


@pytest.mark.parametrize("width", [360, 760, 1400])
@pytest.mark.parametrize("dark", [False, True])
def test_nothing_is_wider_than_the_window_and_targets_are_large(bench: Bench, width: int, dark: bool) -> None:
    bench.tab.size(width, 900, dark)
    bench.open("press-pump.yaml")
    assert bench.tab.ask("document.documentElement.scrollWidth") <= width
    low = bench.tab.ask(
        "[...document.querySelectorAll('button, select, input:not([type=checkbox]):not([type=range])')]"
        ".filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5).map(one => one.outerHTML)"
    )
    assert low == []
    bench.tab.size(1400, 1000)


def test_paper_is_white_and_leaves_out_what_holds_nothing_but_buttons(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    dark = [{"name": "prefers-color-scheme", "value": "dark"}]
    bench.tab.do("Emulation.setEmulatedMedia", media="print", features=dark)
    sheet = bench.tab.ask("getComputedStyle(document.querySelector('.part')).backgroundColor")
    field = bench.tab.ask("getComputedStyle(document.documentElement).colorScheme")
    shown = bench.tab.ask(
        "[...document.querySelectorAll('h2')].filter(h => h.checkVisibility()).map(h => h.textContent)"
    )
    bench.tab.do("Emulation.setEmulatedMedia", media="", features=[])
    assert (sheet, field) == ("rgb(255, 255, 255)", "light")
    assert {"What was found", "The job", "The plate", "Screw holes and their odds", "Cautions"} <= set(shown)
    assert not {"Not in this job yet", "Paper and files"} & set(shown)


def test_on_paper_a_figure_is_on_the_sheet_of_its_name(bench: Bench) -> None:
    bench.open("dough-mixer.yaml")
    bench.tab.ask("document.querySelectorAll('#sheet details').forEach((one) => { one.open = true; })")
    printed = bench.tab.do("Page.printToPDF", preferCSSPageSize=True, paperWidth=8.27, paperHeight=11.69)["data"]
    sheets = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(base64.b64decode(printed))]
    # no sheet begins with a figure, nor has boxes for what may be added
    begins = [said.split()[0] for said in sheets]
    assert [one for one in begins if re.fullmatch(r"-?[0-9.]+", one)] == []
    assert "one more" not in "".join(sheets)


def test_a_job_without_anything_shows_no_empty_value(bench: Bench) -> None:
    (bench.folder / "bare.yaml").write_text(
        "platekit: 1\ntitle: Bare\nunits: mm\nplate: {material: mild steel, thickness: 10}\nmounts:\n"
        "  case: {side: far, looking_at: face, pattern: {measured: {holes: {}, sigma: 0.1}},"
        " screws: {size: M8, into: nut, flange: 10}}\n",
        "utf-8",
    )
    bench.close()
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('[data-job=\"bare.yaml\"]')")
    bench.tab.click("[data-job='bare.yaml']")
    bench.until("document.querySelector('#papers')")
    words = bench.tab.ask("document.body.innerText")
    assert [one for one in ("null", "undefined", "NaN", "[object") if one in words] == []
    # on paper the verdict is not cut to its two lines
    bench.tab.size(420, 900)
    bench.tab.do("Emulation.setEmulatedMedia", media="print", features=[])
    cut = bench.tab.ask(
        "(({ scrollHeight, clientHeight }) => scrollHeight - clientHeight)(document.getElementById('verdict'))"
    )
    bench.tab.do("Emulation.setEmulatedMedia", media="", features=[])
    bench.tab.size(1400, 1000)
    assert cut <= 1
    (bench.folder / "bare.yaml").unlink()


@pytest.mark.parametrize("width", [330, 390, 1400])
def test_the_name_of_a_box_stays_on_its_line(bench: Bench, width: int) -> None:
    bench.tab.size(width, 900)
    bench.open("dye-vat.yaml")
    apart = bench.tab.ask(
        "[...document.querySelectorAll('.line .about:has(+ input)')].filter(one => {"
        "const [a, b] = [one, one.nextElementSibling].map(part => part.getBoundingClientRect());"
        "return a.width > 0 && (a.bottom < b.top || b.bottom < a.top) }).map(one => one.textContent)"
    )
    bench.tab.size(1400, 1000)
    assert apart == []


CONTRAST = """(() => {
  const light = (colour) => {
    const [r, g, b] = colour.map((one) => one / 255)
      .map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const read = (words) => words.match(/[\\d.]+/g).map(Number);
  const below = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = read(getComputedStyle(at).backgroundColor);
      if (colour.length === 3 || colour[3] > 0.99) return colour.slice(0, 3);
    }
    return [255, 255, 255];
  };
  const poor = [];
  for (const one of document.querySelectorAll("body *:not(svg *)")) {
    const own = [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
    if (!(own || one.matches("input, select, textarea")) || !one.checkVisibility()) continue;
    const [a, b] = [light(read(getComputedStyle(one).color).slice(0, 3)), light(below(one))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) poor.push(`${one.outerHTML.slice(0, 80)}: ${ratio.toFixed(2)}`);
  }
  return poor;
})()"""
"""Texts whose colour is less than 4.5 to 1 against what is behind them: WCAG 2.2, success criterion 1.4.3."""


@pytest.mark.parametrize("dark", [False, True])
def test_every_text_stands_out_from_what_is_behind_it(bench: Bench, dark: bool) -> None:
    bench.tab.size(1400, 1000, dark)
    bench.open("wrong-on-purpose.yaml")
    assert bench.tab.ask(CONTRAST) == []
    bench.tab.size(1400, 1000)


def test_at_twice_the_size_nothing_is_cut_off_or_lies_on_something_else(bench: Bench) -> None:
    # a window of 1400 px at 200 % is one of 700 px
    bench.tab.size(700, 500)
    bench.open("dough-mixer.yaml")
    assert bench.tab.ask("document.documentElement.scrollWidth") <= 700
    lies_on = bench.tab.ask("""(() => {
      const found = [];
      const all = [...document.querySelectorAll("#sheet > .part, #pictures > *, header, footer")]
        .filter((one) => one.checkVisibility());
      const boxes = all.map((one) => one.getBoundingClientRect());
      boxes.forEach((a, i) => boxes.forEach((b, k) => {
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (i < k && high > 1 && Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1)
          found.push([all[i].id || all[i].className, all[k].id || all[k].className]);
      }));
      return found;
    })()""")
    assert lies_on == []
    bench.tab.size(1400, 1000)


def test_with_forced_colours_nothing_is_told_by_colour_alone(bench: Bench) -> None:
    bench.tab.do("Emulation.setEmulatedMedia", features=[{"name": "forced-colors", "value": "active"}])
    bench.open("wrong-on-purpose.yaml")
    assert bench.tab.ask("matchMedia('(forced-colors: active)').matches")
    # every line of the pictures has a colour that the user has chosen, whatever the palette is
    own = "(name) => { const one = document.body.appendChild(document.createElement('i')); one.style.color = name; "
    own += "const found = getComputedStyle(one).color; one.remove(); return found; }"
    lines = "[...document.querySelectorAll('.steel, .body, .opening, .swept, .grip, .mark')]"
    lines += ".map((one) => getComputedStyle(one).stroke)"
    strange = bench.tab.ask(
        f"(() => {{ const own = {own}; const may = ['CanvasText', 'LinkText'].map(own);"
        f" return {lines}.filter((one) => !may.includes(one)); }})()"
    )
    assert strange == []
    # a stop and a warning are told apart by their words and by the shape of their signs
    assert bench.tab.ask("document.querySelector('.finding.stop b').textContent") == "Stop"
    bench.tab.size(1400, 1000)


def test_the_ends_of_a_body_are_dragged_from_the_side_or_typed_beside(bench: Bench) -> None:
    bench.open("dough-mixer.yaml")
    bench.drag("motor body to", 30, 20)
    changed = bench.until_changed()
    assert len(changed) == 2
    (a0, b0), (a1, b1) = (json.loads(line.partition("span: ")[2].partition("]")[0] + "]") for line in changed)
    assert a0 == a1
    assert b1 < b0
    box = "#numbers [data-number='bodies.motor body.span.1']"
    bench.until(f"document.querySelector({json.dumps(box)})?.value === '{b1:g}'")
    bench.type(box, "9,5 in")
    end = time.monotonic() + PATIENCE
    while "9.5 in" not in bench.spec.read_text("utf-8") and time.monotonic() < end:
        time.sleep(0.05)
    assert "9.5 in" in bench.spec.read_text("utf-8")


def test_escape_leaves_a_drag_as_if_it_had_not_been(bench: Bench) -> None:
    bench.open("dough-mixer.yaml")
    x, y = bench.tab.middle("[data-handle='cable']")
    bench.tab.do("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, button="left", buttons=1, clickCount=1)
    bench.tab.do("Input.dispatchMouseEvent", type="mouseMoved", x=x + 40, y=y, button="left", buttons=1)
    bench.until("document.querySelector(\"#numbers [data-number$='.0']\")?.value !== '60'")
    bench.tab.press("Escape")
    bench.tab.do("Input.dispatchMouseEvent", type="mouseReleased", x=x + 40, y=y, button="left", clickCount=1)
    bench.until("document.querySelector(\"#numbers [data-number$='.0']\")?.value === '60'")
    assert bench.changed() == []


def test_a_drag_moves_what_is_drawn_and_draws_nothing_anew(bench: Bench) -> None:
    """A picture made again at each move of the pointer takes longer than a frame."""
    bench.open("wrong-on-purpose.yaml")
    bench.tab.ask("window.lines = [...document.querySelectorAll('#front svg > g:first-child path')]")
    shown = "JSON.stringify([...document.querySelectorAll('#front .opening')].map((one) => one.getAttribute('d')))"
    before = bench.tab.ask(shown)
    x, y = bench.tab.middle("[data-handle='cable']")
    bench.tab.do("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, button="left", buttons=1, clickCount=1)
    bench.tab.do("Input.dispatchMouseEvent", type="mouseMoved", button="left", buttons=1, x=x + 30, y=y - 20)
    bench.until(f"{shown} !== {json.dumps(before)}")
    assert bench.tab.ask("window.lines.every((one) => one.isConnected)")
    bench.tab.press("Escape")
    bench.until(f"{shown} === {json.dumps(before)}")
    bench.tab.do("Input.dispatchMouseEvent", type="mouseReleased", x=x, y=y, button="left", clickCount=1)
    assert bench.changed() == []


def test_a_slider_of_a_bolt_circle_writes_the_number_and_tells_the_odds(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    hole = '[data-pull="mounts.fan.pattern.circle.hole"]'
    said = "document.querySelector('[data-odds=fan]').textContent"
    before = bench.tab.ask(said)
    assert before.startswith("Stop")
    bench.tab.ask(
        f"(() => {{ const one = document.querySelector('{hole}'); one.value = 14;"
        " one.dispatchEvent(new Event('input')); })()"
    )
    bench.until(f"!{said}.startsWith('Stop')")
    assert bench.changed() == []
    bench.tab.ask(f"document.querySelector('{hole}').dispatchEvent(new Event('change'))")
    assert "hole: 14" in bench.until_changed()[1]
    bench.tab.ask("document.querySelector('[data-pull$=\".count\"]').focus()")
    bench.tab.press("ArrowRight")
    bench.until("document.querySelector('[data-hole$=\".count\"]').value === '5'")
    bench.until("document.getElementById('spec').querySelector('textarea').value.includes('count: 5')")


def test_a_name_is_found_in_its_list_as_typed_and_taken_by_keys(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    box = "[data-field='plate.material']"
    bench.tab.ask(
        f"(() => {{ const box = document.querySelector({json.dumps(box)}); box.focus(); box.value = 's35';"
        " box.dispatchEvent(new Event('input', { bubbles: true })); })()"
    )
    bench.until("document.querySelector('.offers:not([hidden]) [role=option]')")
    first = bench.tab.ask("document.querySelector('.offers:not([hidden]) [role=option]').dataset.offer")
    assert first == "S355"
    assert bench.changed() == []
    bench.tab.press("ArrowDown")
    assert bench.tab.ask(f"document.querySelector({json.dumps(box)}).getAttribute('aria-activedescendant')")
    bench.tab.press("Enter")
    assert any(first in line for line in bench.until_changed())


def test_cut_files_are_grey_while_a_stop_is_open_and_papers_are_not(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    assert bench.tab.ask("document.getElementById('make').disabled")
    why = bench.tab.ask("document.getElementById('why-not').textContent")
    assert why.startswith("No cut file while this stands: ")
    assert "NOT FOR CUTTING" in why
    bench.tab.ask("document.querySelector('[data-paper=parts]').click()")
    bench.until("document.getElementById('made').textContent.includes('revision')")
    bench.tab.ask("document.querySelector('[data-paper=commissioning]').click()")
    bench.until("document.querySelector('.files a')")
    names = bench.tab.ask("[...document.querySelectorAll('.files a')].map(one => one.textContent)")
    assert names
    assert not any(name.endswith((".dxf", ".step")) for name in names)


def test_a_reload_in_the_middle_of_typing_or_dragging_writes_nothing(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.tab.ask(
        "(() => { const box = document.querySelector('[data-field=\"plate.thickness\"]'); box.focus();"
        " box.value = '1'; box.dispatchEvent(new Event('input', { bubbles: true })); })()"
    )
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('#front .steel')")
    assert bench.changed() == []
    x, y = bench.tab.middle("[data-handle]")
    bench.tab.do("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, button="left", buttons=1, clickCount=1)
    bench.tab.do("Input.dispatchMouseEvent", type="mouseMoved", x=x + 30, y=y, button="left", buttons=1)
    bench.tab.open("about:blank")
    bench.tab.open(bench.page.address)
    bench.until("document.querySelector('#front .steel')")
    assert bench.changed() == []


def test_tab_reaches_each_control(bench: Bench) -> None:
    bench.open("press-pump.yaml")
    bench.until("!document.querySelector('#findings') || document.querySelector('#sheet .part')")
    wanted = bench.tab.ask(
        "(() => { const all = [...document.querySelectorAll('button, input, select, textarea, summary, a[href],"
        " [data-handle], [data-row]')].filter(one => !one.disabled && one.checkVisibility());"
        " all.forEach((one, k) => { one.dataset.reach = k; }); document.activeElement.blur(); return all.length; })()"
    )
    reached = set()
    for _ in range(wanted + 10):
        bench.tab.press("Tab")
        reached.add(bench.tab.ask("document.activeElement?.dataset?.reach ?? null"))
    missed = bench.tab.ask(
        f"[...document.querySelectorAll('[data-reach]')].filter(one => !{json.dumps(sorted(reached - {None}))}"
        ".includes(one.dataset.reach)).map(one => one.outerHTML.slice(0, 160))"
    )
    assert missed == []


@pytest.mark.parametrize("width", [360, 1400])
def test_an_open_list_is_not_wider_than_the_window(bench: Bench, width: int) -> None:
    bench.tab.size(width, 900)
    bench.open("press-pump.yaml")
    # a box in a group that is folded up takes no focus
    bench.tab.ask("document.querySelectorAll('#sheet details').forEach(one => { one.open = true; })")
    for box in ("mounts.pump.pattern.standard", "plate.material"):
        bench.tab.ask(f"document.querySelector('[data-field={json.dumps(box)}]').focus()")
        bench.tab.press("ArrowDown")
        bench.until("document.querySelector('.offers:not([hidden]) [role=option]')")
        assert bench.tab.ask("document.documentElement.scrollWidth") <= width
        bench.tab.press("Escape")
        bench.until("!document.querySelector('.offers:not([hidden])')")
    bench.tab.size(1400, 1000)


def test_a_figure_that_a_finding_misses_is_filled_in_where_it_is_missed(bench: Bench) -> None:
    bench.open("apple-mill.yaml")
    row = "[...document.querySelectorAll('[data-row]')].find(one => one.textContent.includes('no required torque'))"
    bench.until(row)
    bench.tab.ask(f"{row}.querySelector('[data-fill]').click()")
    bench.type("[data-row] form [data-new='drive.wanted.torque']", "9,5 Nm")
    bench.tab.ask(f"{row}.querySelector('form').requestSubmit()")
    assert [line for line in bench.until_changed() if "9.5 Nm" in line]
    bench.until(f"!({row})")


def test_a_body_is_added_by_its_kind(bench: Bench) -> None:
    bench.open("pug-mill.yaml")
    bench.tab.ask(
        "(() => { const pick = [...document.querySelectorAll('select')].find(one => [...one.options].some(two => "
        "two.value === 'bodies')); pick.value = 'bodies'; pick.dispatchEvent(new Event('change')); })()"
    )
    bench.until("document.querySelector('form.new select[data-kinds]')")
    for kind in ("shape", "circle"):
        bench.tab.ask(
            "(() => { const pick = [...document.querySelectorAll('form.new select[data-kinds]')].at(-1); "
            f"pick.value = '{kind}'; pick.dispatchEvent(new Event('change')); }})()"
        )
        bench.until(
            "!document.querySelector('form.new select[data-kinds]:not([data-chosen])') || "
            "document.querySelectorAll('form.new select[data-kinds]').length === 2"
        )
    bench.until("document.querySelector('[data-new=\"bodies.new.shape.circle.diameter\"]')")
    bench.type("[data-name]", "oil cup")
    bench.type("[data-new='bodies.new.shape.circle.diameter']", "1")
    for k, typed in enumerate(("0,5", "1")):
        bench.type(f".places[data-new='bodies.new.span'] label:nth-child({k + 1}) input", typed)
    bench.tab.ask("document.querySelector('form.new').requestSubmit()")
    text = "".join(bench.until_changed())
    assert "oil cup" in text
    assert "[0.5, 1]" in text


def test_the_own_table_is_measured_on_the_page(bench: Bench) -> None:
    bench.open("pug-mill.yaml")
    bench.tab.ask("document.getElementById('own-table').open = true")
    bench.tab.ask("document.getElementById('test-piece').click()")
    bench.until("document.getElementById('made-word').textContent === 'Written: 2 files.'")
    row = "[row.querySelector('input').dataset.read, row.cells[1].innerText]"
    rows = bench.tab.ask(f"[...document.querySelectorAll('.coupon tbody tr')].map(row => {row})")
    assert len(rows) == 7
    for key, drawn in rows:
        # a kerf of 0.2 mm run on the line: the square comes out small, all else large by it; both faces alike
        size = float(drawn.split()[0]) + (-0.2 if key.startswith("square") else 0.2)
        for k in (0, 1):
            bench.type(f"[data-read='{key[:-1]}{k}']", f"{size:.2f}".replace(".", ","))
    bench.type("[data-read=kerf_set]", "0")
    bench.type("[data-read=table]", "shed")
    bench.tab.ask("document.getElementById('test-piece-read').click()")
    bench.until_changed()
    bench.until("document.getElementById('made').textContent.includes('kerf of shed is 0.2 mm')")
    assert (bench.folder / "machines" / "shed.yaml").is_file()
    assert any("machine: shed" in line for line in bench.changed() if line[0] == "+")


def test_a_paper_that_is_corrected_keeps_its_printer(bench: Bench) -> None:
    bench.open("dough-mixer.yaml")
    bench.tab.ask("document.querySelector('.bars').open = true")
    for name, size in {"bottom": "185,7", "top": "185,7", "left": "271,1", "right": "271,1"}.items():
        bench.type(f"[data-bar={name}]", size)
    for name in ("rising", "falling"):
        bench.type(f"[data-bar={name}]", "328,6")
    bench.type("[aria-label='name of the printer']", "office")
    bench.tab.ask("document.getElementById('print-corrected').click()")
    lines = bench.until_changed()
    assert any("printer: office" in line for line in lines)
    bench.until("document.getElementById('made').textContent.includes('too long')")
    # the boxes stay open for the next one, and what was made is told first
    assert bench.tab.ask("document.querySelector('.bars').open")
    assert bench.tab.ask("document.getElementById('made-word').textContent") == "Written: dough-mixer.template.pdf."


def test_an_idea_that_costs_another_stop_is_tried_on_its_own_and_says_so(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    # what may do is tried behind; of this finding nothing does without another stop
    row = "document.querySelector('[data-try=pilot-over-bolts]')?.closest('.finding')"
    bench.until(f"{row}?.textContent.includes('No change that was tried ends this')")
    bench.tab.ask("document.querySelector('[data-try=pilot-over-bolts]').click()")
    bench.until(f"{row}?.querySelector('.trial')?.textContent.startsWith('Tried: this finding is gone, but ')")
    bench.until(f"{row}?.querySelector('.preview .plus')")
    assert bench.changed() == []
    bench.tab.ask(f"[...{row}.querySelectorAll('button')].find((b) => b.textContent === 'Make this change').click()")
    assert any("opening: none" in line for line in bench.until_changed())


def test_advice_that_was_tried_ends_its_finding(bench: Bench) -> None:
    bench.open("wrong-on-purpose.yaml")
    bench.until("document.querySelector('[data-shows=blocked]')")
    bench.tab.ask("document.querySelector('[data-shows=blocked]').click()")
    bench.until("document.querySelector('.preview .plus')")
    bench.tab.ask(
        "[...document.querySelectorAll('.preview button')].find((b) => b.textContent === 'Make this change').click()"
    )
    assert any("relief: auto" in line for line in bench.until_changed())
    bench.until(
        "![...document.querySelectorAll('#findings .finding')].some((one) => one.textContent.includes('blocked: lug'))"
    )
