"""The report page in a real browser: what moves, what lights up, what keys do, how wide it is."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from typing import Any

import pypdfium2
import pytest

from platekit.checks import check
from platekit.checks.finding import Finding, Verdict
from platekit.export.reports.page import report
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads
from tests.browser import browser

FULLER = """
platekit: 1
title: Wool fuller, gear motor beside the old crank
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  fuller:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 120, start: 45 deg, hole: 9}}
    bolts: {size: M8, into: part, depth: 20, washer: true}
  motor:
    side: near
    pattern: {rectangle: {width: 100, height: 80, hole: 9}}
    at: {belt: {from: fuller, angle: 80 deg}}
    bolts: {size: M8, into: nut, flange: 12, washer: true}
    take_up: {slots: {along: belt, install: 10, tension: 12}}
  pump:
    side: near
    pattern: {rectangle: {width: 60, height: 50, hole: 7}}
    at: [170, 40]
    bolts: {size: M6, into: nut, flange: 8}
    take_up: {swing: {about: [110, 40], tightens: clockwise, install: 4 deg, tension: 6 deg}}
bodies:
  motor body: {carried_by: motor, shape: {circle: {diameter: 90}}, span: [12, 200]}
drive:
  motor: {power: 0.55 kW, speed: 1400 rpm, frequency: 50 Hz}
  belt: {section: A, pitch_length: 900}
  driver: {on: motor, pitch_diameter: 80, span: [-40, -20]}
  driven: {on: fuller, pitch_diameter: 160, span: [10, 30]}
cutting: {process: laser}
"""

EXTRA = (
    Finding(
        rule="web",
        level="stop",
        message="the web between motor.1 and fuller.1 is thin",
        features=("motor.1", "fuller.1"),
        at=(0, 0),
    ),
    *(
        Finding(rule="edge", level="warn", message=f"fuller.{k} is near", features=(f"fuller.{k}",), found=5, needed=9)
        for k in (2, 3)
    ),
)


@pytest.fixture(scope="module")
def fuller() -> Layout:
    return lay_out(loads(FULLER, "wool-fuller"))


@pytest.fixture(scope="module")
def address(fuller: Layout, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("page") / "wool-fuller.report.html"
    report(fuller, Verdict((*EXTRA, *check(fuller).findings)), path)
    return path.as_uri()


@pytest.fixture(scope="module")
def tab(debug_port: int) -> Iterator[Any]:
    with browser.Tab(debug_port) as opened:
        yield opened


@pytest.fixture
def page(tab: Any, address: str) -> Any:
    """The page freshly opened, in a window of 1280 by 900, without complaints so far."""
    tab.size(1280, 900)
    tab.errors.clear()
    tab.open(address)
    return tab


def box(page: Any, selector: str) -> list[float]:
    """Left, top, right and bottom of an element in the window's own units."""
    found = page.ask(
        f"(() => {{ const b = document.querySelector({json.dumps(selector)}).getBoundingClientRect();"
        " return [b.left, b.top, b.right, b.bottom]; })()"
    )
    assert isinstance(found, list)
    return [float(value) for value in found]


def slide(page: Any, mount: str, to: float) -> str:
    """Puts a slider where a hand would, and gives back what it says."""
    script = f"""(() => {{
      const range = document.querySelector('[data-travel={json.dumps(mount)}]');
      range.value = "{to}";
      range.dispatchEvent(new Event("input", {{ bubbles: true }}));
      return range.closest("fieldset").querySelector("output").textContent;
    }})()"""
    return str(page.ask(script))


def lit(page: Any) -> set[str]:
    return set(page.ask('[...document.querySelectorAll("svg.pk-picture .pk-lit")].map((e) => e.dataset.feature ?? "")'))


def focused(page: Any, what: str) -> Any:
    return page.ask(f"document.activeElement.{what}")


def scale(page: Any) -> float:
    """Window units in one millimetre of the plate."""
    return float(page.ask('document.querySelector("#pk-steel").getScreenCTM().a'))


def test_the_console_stays_empty_and_nothing_is_fetched(page: Any, address: str) -> None:
    slide(page, "motor", 5)
    page.point_at("[data-say]")
    page.press("Escape")
    assert page.errors == []
    assert {asked for asked in page.asked_for if not asked.startswith("data:")} == {address}


def test_an_error_in_the_page_would_be_seen(page: Any) -> None:
    page.do("Runtime.evaluate", expression="console.error('on purpose')")
    assert page.errors


def test_the_slider_moves_motor_pulley_and_screws_by_the_travel(page: Any) -> None:
    selectors = ("#pk-body-motor_20_body .pk-line", "#pk-body-drive\\.driver .pk-line", "#pk-body-motor\\.1\\.head")
    before = [box(page, selector) for selector in selectors]
    assert slide(page, "motor", 10) == "10.0 mm tighter"
    after = [box(page, selector) for selector in selectors]
    # 10 mm along 80 degrees from x: 1.736 to the right, 9.848 up
    for old, new in zip(before, after, strict=True):
        assert (new[0] - old[0]) / scale(page) == pytest.approx(1.736, abs=0.05)
        assert (new[1] - old[1]) / scale(page) == pytest.approx(-9.848, abs=0.05)


def test_what_the_motor_does_not_carry_stays(page: Any) -> None:
    before = [box(page, s) for s in ("#pk-outline", "#pk-body-drive\\.driven .pk-line")]
    slide(page, "motor", 10)
    assert [box(page, s) for s in ("#pk-outline", "#pk-body-drive\\.driven .pk-line")] == before


def test_the_belt_stretches_with_the_motor_and_comes_back(page: Any) -> None:
    line = 'document.querySelector("[data-wheels]")'
    length = float(page.ask(f"{line}.getTotalLength()"))
    assert length == pytest.approx(900, abs=0.5)
    slide(page, "motor", 10)
    # both runs grow by nearly the travel: the cosine of the belt's angle to the line of centres is above 0.98
    assert float(page.ask(f"{line}.getTotalLength()")) == pytest.approx(length + 20, abs=0.5)
    assert "tighter" in page.ask('document.querySelector("[data-travel=motor]").getAttribute("aria-valuetext")')
    page.click("fieldset:has([data-travel=motor]) [data-nominal]")
    assert float(page.ask(f"{line}.getTotalLength()")) == pytest.approx(length, abs=1e-3)


def test_a_second_mount_has_a_slider_of_its_own(page: Any) -> None:
    motor = box(page, "#pk-body-motor_20_body")
    pump = box(page, "#pk-body-pump\\.1\\.head")
    assert slide(page, "pump", -4) == "4.0° slacker"
    assert box(page, "#pk-body-motor_20_body") == motor
    assert box(page, "#pk-body-pump\\.1\\.head") != pump
    slide(page, "pump", 0)
    assert box(page, "#pk-body-pump\\.1\\.head") == pytest.approx(pump, abs=0.01)


def test_the_slider_answers_to_the_arrow_keys(page: Any) -> None:
    page.ask('document.querySelector("[data-travel=motor]").focus()')
    page.press("End")
    assert page.ask('document.querySelector("[data-travel=motor]").getAttribute("aria-valuetext")') == "12.0 mm tighter"
    page.press("Home")
    assert page.ask('document.querySelector("[data-travel=motor]").getAttribute("aria-valuetext")') == "10.0 mm slacker"


def test_hovering_a_finding_lights_its_features_and_leaving_puts_them_out(page: Any) -> None:
    page.point_at('[data-say="1"] .say')
    assert {"motor.1", "fuller.1"} <= lit(page)
    colour = 'getComputedStyle(document.querySelector("#pk-opening-motor\\\\.1")).stroke'
    assert page.ask(colour) == page.ask('getComputedStyle(document.querySelector(".is-lit")).borderLeftColor')
    page.point_at("h1")
    assert lit(page) == set()


def test_hovering_a_group_of_findings_lights_them_all(page: Any) -> None:
    page.point_at('[data-say="2"] .say')
    assert {"fuller.2", "fuller.3"} <= lit(page)
    assert page.ask('document.querySelectorAll("svg.pk-picture [data-finding=\\"2\\"].pk-lit").length') >= 2


def test_hovering_a_row_of_a_table_lights_its_hole(page: Any) -> None:
    page.point_at('tr[data-name="fuller.4"] th')
    assert "fuller.4" in lit(page)


def test_hovering_a_belt_lights_its_line(page: Any) -> None:
    page.point_at('#parts ~ .wide tr[data-name="drive.belt"] th')
    assert "drive.belt" in lit(page)


def test_all_findings_are_reached_with_tab_and_light_up(page: Any) -> None:
    wanted = set(page.ask('[...document.querySelectorAll("li[data-say]")].map((row) => row.dataset.say)'))
    reached = set()
    for _ in range(150):
        page.press("Tab")
        say = focused(page, "dataset.say")
        if say is not None:
            assert lit(page) or "not drawn" in page.ask('document.getElementById("said").textContent')
            reached.add(say)
    assert reached == wanted


def test_enter_keeps_a_finding_lit_and_escape_lets_it_go(page: Any) -> None:
    page.ask("document.querySelector('[data-say=\"1\"]').focus()")
    page.press("Enter")
    page.ask("document.activeElement.blur()")
    assert {"motor.1", "fuller.1"} <= lit(page)
    page.press("Escape")
    assert lit(page) == set()


def test_a_mark_in_the_picture_leads_to_its_finding(page: Any) -> None:
    page.ask('document.querySelector("#pk-finding-1").focus()')
    page.press("Enter")
    assert focused(page, "dataset.say") == "1"
    page.press("Escape")
    page.click("#pk-finding-2 .pk-mark")
    assert focused(page, "dataset.say") == "2"


def test_space_switches_a_layer_off_and_on(page: Any) -> None:
    shown = 'getComputedStyle(document.querySelector("#pk-body-motor_20_body .pk-line")).visibility'
    assert page.ask(shown) == "visible"
    page.ask('document.querySelector("[data-switch=near]").focus()')
    page.press(" ")
    assert page.ask(shown) == "hidden"
    page.press(" ")
    assert page.ask(shown) == "visible"


def test_every_switch_hides_something(page: Any) -> None:
    for key in page.ask('[...document.querySelectorAll("[data-switch]")].map((box) => box.dataset.switch)'):
        layers = f"[...document.querySelectorAll('.pk-picture [data-layer=\"{key}\"]')]"
        assert page.ask(f"{layers}.some((layer) => layer.children.length > 0)"), key
        page.ask(f"document.querySelector('[data-switch=\"{key}\"]').click()")
        assert page.ask(f'{layers}.every((layer) => getComputedStyle(layer).visibility === "hidden")'), key


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_the_page_is_never_wider_than_the_window(page: Any, width: int) -> None:
    page.size(width, 800)
    assert page.ask("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [390, 500, 1200])
@pytest.mark.parametrize(("figure", "wide"), [("pk-picture", 900), ("pk-side", 819)])
def test_the_words_of_the_pictures_are_never_too_small(page: Any, width: int, figure: str, wide: int) -> None:
    page.size(width, 900)
    smallest = page.ask(
        f"(() => {{ const svg = document.querySelector('svg.{figure}');"
        "const scale = svg.getScreenCTM().a;"
        "const sizes = [...svg.querySelectorAll('text')].map(t => parseFloat(getComputedStyle(t).fontSize));"
        "return Math.min(...sizes) * scale })()"
    )
    assert smallest >= 9 - 0.01
    # what does not fit is scrolled within its own frame, by keys as well
    assert page.ask(f"document.querySelector('svg.{figure}').closest('[tabindex]').scrollWidth") >= wide


def test_the_cautions_come_before_the_tables(page: Any) -> None:
    heads = page.ask("[...document.querySelectorAll('h2')].map(h => h.id)")
    assert heads.index("cautions") < heads.index("holes")


def test_text_stands_out_in_light_and_dark(page: Any) -> None:
    for dark in (False, True):
        page.size(1280, 900, dark=dark)
        ink, paper = (
            _brightness(page.ask(f"getComputedStyle(document.body).{what}")) for what in ("color", "backgroundColor")
        )
        assert (ink > paper) is dark
        # 7 to 1 is the enhanced contrast of WCAG 2.1 (success criterion 1.4.6)
        assert (max(ink, paper) + 0.05) / (min(ink, paper) + 0.05) > 7


def _brightness(colour: str) -> float:
    """Relative luminance of "rgb(r, g, b)" as WCAG 2.1 defines it."""
    parts = [int(part) / 255 for part in colour.removeprefix("rgb(").removesuffix(")").split(",")]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_theme_can_be_turned_by_hand(page: Any) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    before = page.ask(ground)
    page.click("#theme")
    assert page.ask(ground) != before


def test_paper_is_white_on_a_dark_screen_too_and_no_figure_is_taller_than_it(page: Any) -> None:
    page.size(1280, 900, dark=True)
    dark = [{"name": "prefers-color-scheme", "value": "dark"}]
    page.do("Emulation.setEmulatedMedia", media="print", features=dark)
    ground = page.ask("getComputedStyle(document.documentElement).getPropertyValue('--paper').trim()")
    tall = page.ask("[...document.querySelectorAll('svg')].map(one => one.getBoundingClientRect().height / 96 * 25.4)")
    page.do("Emulation.setEmulatedMedia", media="", features=[])
    assert ground in {"#ffffff", "#fff"}
    # A4, with the margins of the page off
    assert max(tall) <= 297 - 14 - 16


def test_paper_shows_the_stamp_and_no_controls(page: Any) -> None:
    printed = page.do("Page.printToPDF", preferCSSPageSize=True, paperWidth=8.27, paperHeight=11.69)["data"]
    document = pypdfium2.PdfDocument(base64.b64decode(printed))
    pages = [sheet.get_textpage().get_text_range() for sheet in document]
    assert all("NOT FOR CUTTING" in said for said in pages)
    assert "travel of motor" not in "".join(pages)
    width, height = document[0].get_size()
    assert (width, height) == pytest.approx((595, 842), abs=2)
