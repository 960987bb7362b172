"""The report: one page, verdict first, with everything that stands in the picture and the tables."""

from __future__ import annotations

import json
import math
import re
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest

from platekit.checks.finding import Advice, Finding, Remedy, Verdict
from platekit.drawing.cautions import CAUTIONS
from platekit.export.reports import page as module
from platekit.export.reports.page import report, report_html
from platekit.export.reports.page_rows import value_words
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

MILL = """
platekit: 1
title: Spice mill, geared motor on a swinging seat
units: mm
plate:
  material: mild steel
  thickness: 8
  cutouts:
    "cord & plug": {circle: {diameter: 18}, at: [-95, 40]}
mounts:
  mill:
    side: far
    looking_at: face
    pattern: {points: [[-110, -60], [110, -60], [95, 70], [-120, 70]], hole: 11}
    bolts: {size: M10, into: part, depth: 30, washer: true}
  motor:
    side: near
    pattern: {rectangle: {width: 90, height: 70}}
    at: [10, 0]
    bolts: {size: M6, into: nut, flange: 10}
    take_up: {swing: {about: [-70, 0], tightens: clockwise, install: 5 deg, tension: 7 deg, pivot_hole: 13}}
bodies:
  motor body: {carried_by: motor, shape: {rectangle: {width: 66, height: 50}}, span: [10, 120]}
limits: {gap: 1.25}
cutting: {process: laser}
"""

FEEDER = """
platekit: 1
title: Bark feeder, motor beside the old bearing
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  feeder:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 120, start: 45 deg, hole: 9}}
    bolts: {size: M8, into: part, depth: 20, washer: true}
  motor:
    side: near
    pattern: {rectangle: {width: 100, height: 80, hole: 9}}
    at: {belt: {from: feeder, angle: 90 deg}}
    bolts: {size: M8, into: nut, flange: 12, washer: true}
    take_up: {slots: {along: belt, install: 10, tension: 10}}
drive:
  motor: {power: 0.55 kW, speed: 1400 rpm, frequency: 50 Hz}
  belt: {section: A, pitch_length: 900}
  driver: {on: motor, pitch_diameter: 80, span: [-40, -20]}
  driven: {on: feeder, pitch_diameter: 160, span: [10, 30]}
cutting: {process: laser}
"""

CLEAR = Verdict(())
STOPPED = Verdict(
    (
        Finding(
            rule="web",
            level="stop",
            message="the web between motor.1 and motor.2 is 3 mm; 8 mm is needed",
            features=("motor.1", "motor.2"),
            at=(0, 0),
            found=3,
            needed=8,
            advice=Advice("move motor 5 mm up", (Remedy("mounts.motor.at", [10.0, 5.0]),)),
        ),
        Finding(rule="small-hole", level="warn", message="cord & plug is narrow", features=("cord & plug",)),
        Finding(
            rule="edge",
            level="stop",
            message="mill.3 is near the edge",
            features=("mill.3",),
            at=(95, 70),
            accepted="a strap is welded on there",
        ),
    )
)


class Page(HTMLParser):
    """What a reader of the page needs to be asked: texts by element, attributes, ids in order."""

    VOID = frozenset({"meta", "link", "input", "br"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.said: list[str] = []
        self.rows: list[list[str]] = []
        self.under: dict[str, list[list[str]]] = {}
        self._heading = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "h2":
            self._heading = dict(attrs).get("id") or ""
        if tag == "tr":
            self.rows.append([])
            self.under.setdefault(self._heading, []).append(self.rows[-1])
        if tag in {"td", "th"}:
            self.rows[-1].append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, f"{tag} closes something else"

    def handle_data(self, data: str) -> None:
        if "style" in self.open or "script" in self.open:
            return
        self.said.append(data)
        if {"td", "th"} & set(self.open):
            self.rows[-1][-1] += data

    def attributes(self, name: str) -> list[str]:
        return [attrs[name] for _, attrs in self.tags if name in attrs]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.said).split())


@pytest.fixture(scope="module")
def mill() -> Layout:
    return lay_out(loads(MILL, "spice-mill"))


@pytest.fixture(scope="module")
def stopped(mill: Layout) -> Page:
    return Page(report_html(mill, STOPPED))


@pytest.fixture(scope="module")
def clear(mill: Layout) -> Page:
    return Page(report_html(mill, CLEAR))


def test_every_element_is_closed(stopped: Page, clear: Page) -> None:
    assert stopped.open == clear.open == []


def test_the_verdict_comes_first(stopped: Page, clear: Page) -> None:
    for page, word in ((stopped, "NOT FOR CUTTING"), (clear, "CLEAR TO CUT")):
        body = page.text.split("Skip to the findings", 1)[1]
        assert body.strip().startswith(word)
    assert "NOT FOR CUTTING" not in clear.text


def test_a_stopped_plate_says_why_in_its_first_lines(stopped: Page) -> None:
    head = stopped.text.split("Spice mill, geared motor on a swinging seat", 2)[1]
    assert "the web between motor.1 and motor.2 is 3 mm; 8 mm is needed" in head
    assert "mill.3 is near the edge" not in head


def test_findings_carry_advice_numbers_and_the_edit(stopped: Page) -> None:
    for say in ("move motor 5 mm up", "mounts.motor.at: [10, 5]"):
        assert say in stopped.text


def test_a_finding_is_told_by_its_sentence_and_not_by_bare_figures(stopped: Page) -> None:
    """A gap below zero, a count of ways: figures for a program, which say nothing to a reader."""
    assert not re.search(r"\bfound -?\d[^,]*, needed", stopped.text)


def test_findings_point_into_the_picture(stopped: Page) -> None:
    drawn = set(stopped.attributes("data-feature"))
    marked = set(stopped.attributes("data-finding"))
    for said in [json.loads(value) for value in stopped.attributes("data-features")]:
        assert set(said) <= drawn
    assert set(stopped.attributes("data-say")) == marked == {"1", "2", "3"}


def test_like_findings_stand_once_with_all_their_features(mill: Layout) -> None:
    alike = tuple(
        Finding(rule="edge", level="warn", message=f"mill.{k} is near", features=(f"mill.{k}",), found=5, needed=9)
        for k in (1, 2, 4)
    )
    page = Page(report_html(mill, Verdict(alike)))
    said = [attrs["data-features"] for tag, attrs in page.tags if tag == "li" and "data-say" in attrs]
    assert said == ['["mill.1", "mill.2", "mill.4"]']
    assert "mill.1 is near (the same at mill.2; mill.4)" in page.text


def test_findings_can_be_reached_by_keyboard(stopped: Page) -> None:
    rows = [attrs for tag, attrs in stopped.tags if tag == "li" and "data-say" in attrs]
    assert len(rows) == 3
    assert all(row.get("tabindex") == "0" for row in rows)


def test_accepted_findings_stand_apart_with_their_reason(stopped: Page) -> None:
    apart = stopped.text.split("Accepted findings", 1)[1]
    assert "a strap is welded on there" in apart
    assert "mill.3 is near the edge" in apart


def test_every_hole_is_in_the_table(stopped: Page, mill: Layout) -> None:
    rows = {row[0]: row for row in stopped.under["holes"]}
    assert {opening.name for opening in mill.openings} <= set(rows)
    assert rows["mill.3"][1:6] == ["screw", "95", "70", "Ø11", "cut"]
    assert rows["cord & plug"][2:5] == ["-95", "40", "Ø18"]


def test_screws_are_told_with_what_to_buy(stopped: Page) -> None:
    (row,) = [row for row in stopped.under["screws"] if row[0] == "mill"]
    # 10 of grip and 15 of thread (1.5 diameters in cast iron): 25 mm
    assert row[1] == "4 × M10 × 25 hex head"
    # grip: 8 mm of plate and a 2 mm washer (ISO 7089, M10)
    assert row[4] == "10"


def test_limits_tell_where_they_come_from(stopped: Page) -> None:
    rows = {row[0]: row for row in stopped.under["limits"]}
    assert rows["gap between parts"][1:] == ["1.25 mm", "given in the spec", ""]
    assert rows["steel between two openings"][1:] == ["8 mm", "laser (one plate thickness)", "common practice"]
    kinds = {row[3] for row in rows.values()} - {"", "kind"}
    assert kinds <= {"published", "common practice", "from memory"}


def test_all_cautions_and_the_revision_are_there(stopped: Page, mill: Layout) -> None:
    for say in CAUTIONS:
        assert say in stopped.text
    assert stopped.text.count(f"revision {mill.spec.revision}") >= 2


def test_each_switch_has_a_layer(stopped: Page) -> None:
    switches = stopped.attributes("data-switch")
    assert {"near", "screws", "travel", "dimensions", "names", "findings"} <= set(switches)
    assert set(switches) <= set(stopped.attributes("data-layer"))


def test_a_mount_that_moves_has_a_control_over_its_whole_travel(stopped: Page) -> None:
    (control,) = [attrs for tag, attrs in stopped.tags if attrs.get("type") == "range"]
    assert (control["min"], control["max"], control["data-unit"]) == ("-5", "7", "°")
    assert (control["data-about-x"], control["data-about-y"], control["data-sense"]) == ("-70", "0", "-1")
    assert control["data-travel"] in stopped.attributes("data-carrier")


def test_straight_travel_is_told_in_the_unit_of_the_spec() -> None:
    swing = "{swing: {about: [-70, 0], tightens: clockwise, install: 5 deg, tension: 7 deg, pivot_hole: 13}}"
    text = MILL.replace(swing, "{slots: {along: 90 deg, install: 0.25 in, tension: 0.5 in}}")
    page = Page(report_html(lay_out(loads(text, "x")), CLEAR))
    (control,) = [attrs for tag, attrs in page.tags if attrs.get("type") == "range"]
    assert (control["min"], control["max"], control["data-unit"]) == ("-6.35", "12.7", "mm")
    assert float(control["data-along-x"]) == pytest.approx(0, abs=1e-6)
    assert float(control["data-along-y"]) == pytest.approx(1)


def test_the_page_needs_no_network(mill: Layout) -> None:
    text = report_html(mill, STOPPED)
    assert "default-src 'none'" in text
    assert set(re.findall(r"https?://[^\"'\s)]*", text)) == {"http://www.w3.org/2000/svg"}
    page = Page(text)
    assert all(value.startswith(("#", "data:")) for value in page.attributes("href"))
    assert page.attributes("src") == []


def test_what_the_user_typed_is_escaped(mill: Layout) -> None:
    title = '"</title><script>alert(1)</script>"'
    text = MILL.replace("title: Spice mill, geared motor on a swinging seat", f"title: {title}")
    text = text.replace('"cord & plug"', "'\"><img src=x>'")
    layout = lay_out(loads(text, "<b>name"))
    bad = Finding(
        rule="web",
        level="stop",
        message="<script>alert(2)</script>",
        features=('"><img src=x>',),
        at=(0, 0),
        advice=Advice("</li><b>"),
    )
    page = Page(report_html(layout, Verdict((bad,))))
    assert page.open == []
    assert [tag for tag, _ in page.tags].count("script") == 1
    assert not [tag for tag, _ in page.tags if tag in {"img", "b"}]
    assert "<script>alert(2)</script>" in page.text


def test_ids_are_unique_and_links_lead_somewhere(stopped: Page) -> None:
    ids = stopped.attributes("id")
    assert len(ids) == len(set(ids))
    for link in stopped.attributes("href"):
        assert not link.startswith("#") or link[1:] in ids


def test_the_same_spec_gives_the_same_bytes(mill: Layout, tmp_path: Path) -> None:
    path = tmp_path / "spice-mill.report.html"
    report(lay_out(loads(MILL, "spice-mill")), STOPPED, path)
    assert path.read_bytes() == report_html(mill, STOPPED).encode()


def test_values_are_written_as_the_spec_has_them() -> None:
    assert value_words({"wrap": {"margin": "auto"}}) == "{wrap: {margin: auto}}"
    assert value_words([1.5, -2.0]) == "[1.5, -2]"


def test_a_belt_drive_is_told_from_putting_together_to_its_sources() -> None:
    layout = lay_out(loads(FEEDER, "feeder"))
    page = Page(report_html(layout, CLEAR))
    assert page.open == []
    steps = [row[1] for row in page.under["order"][1:]]
    assert steps.index("motor") < steps.index("drive.driver") < steps.index("drive.belt")
    assert "they go back into their own holes" in page.text
    assert {"cut length", "pierces", "time"} <= {row[0] for row in page.under["cutting"]}
    kinds = {row[0]: row[3] for row in page.under["limits"]}
    assert kinds["torque of M8"] in {"published", "common practice", "from memory"}
    assert "drive: belt section" in kinds


def test_the_figures_of_a_drive_can_be_worked_out_by_the_formulas_beside_them() -> None:
    """The demo's, by a pocket calculator: 0.75 kW at 1740 rpm on 71 mm, 134.255 degrees, 0.072 kg/m, 212.16 mm."""
    spec = load(Path(__file__).parents[3] / "specs" / "dough-mixer.yaml")
    rows = {row[0]: row[1:] for row in Page(report_html(lay_out(spec), CLEAR)).under["limits"]}
    pull, speed, q = 115.946, 6.4685, 5 ** (134.255 / 180)
    static = 1.2 * pull * (q + 1) / (q - 1) / 2 + 0.072 * speed**2
    assert rows["drive: static tension F0"][0] == f"{static:.0f} N"
    assert rows["drive: tight and slack side"][0] == f"{static + pull / 2:.0f} N, {static - pull / 2:.0f} N"
    half = math.radians(134.255 / 2)
    running = math.hypot(2 * (static - 0.072 * speed**2) * math.sin(half), pull * math.cos(half))
    assert rows["drive: load on the shaft"][0] == f"{2 * static * math.sin(half):.0f} N, {running:.0f} N"
    assert rows["drive: span frequency"][0] == f"{math.sqrt(static / 0.072) / 2 / 0.21216:.0f} Hz"
    constant, linear, square = (
        float(figure) for figure in re.findall(r"0\.\d+", rows["drive: rating's factor for wrap"][1])
    )
    assert rows["drive: rating's factor for wrap"][0] == f"{constant + linear * 134.255 - square * 134.255**2:.3f}"


def test_what_the_spec_gives_of_scatter_is_told_as_it_is_used() -> None:
    """0.3 and 0.45 mm either way are taken for three standard deviations, and the row says both."""
    spec = load(Path(__file__).parents[3] / "specs" / "dough-mixer.yaml")
    page = Page(report_html(lay_out(spec), CLEAR))
    rows = {row[0]: row[1:] for row in page.under["limits"]}
    for what, sigma, given in (("what the table cuts or marks", "0.1", "0.3"), ("drilled holes", "0.15", "0.45")):
        assert rows[f"places of {what}"][0].startswith(f"{sigma} mm each way, one standard deviation")
        assert f"± {given} mm" in rows[f"places of {what}"][1]
    odds = {row[0]: row[1] for row in page.under["odds"]}
    assert odds["motor"].endswith("its slots as wide as drawn")
    assert "slots" not in odds["machine"]


def test_what_a_plate_that_carries_is_held_to_is_told_with_its_source() -> None:
    spec = load(Path(__file__).parents[3] / "specs" / "bean-drum.yaml")
    rows = {row[0]: row[1:] for row in Page(report_html(lay_out(spec), CLEAR)).under["limits"]}
    assert rows["strength: yield strength over the stress that is allowed in it"][0] == "1.67"
    assert rows["strength: slip factor of surfaces with mill scale and without treatment"][0] == "0.2"
    assert "MITC" in rows["strength: stress, movement, forces, natural frequencies"][1]


def test_every_usual_value_behind_fit_screws_and_drive_is_told_with_its_source() -> None:
    page = Page(report_html(lay_out(loads(FEEDER, "feeder")), CLEAR))
    rows = {row[0]: row[1:] for row in page.under["limits"]}
    for what in ("service factor", "efficiency", "belt's mass", "belt's length", "a new belt is set tighter by"):
        assert rows[f"drive: {what}"][1]
    # Shigley, table 17-15; ISO 155: 1.5 % of the length to put a V-belt on, 3 % to take up its stretch
    assert rows["drive: service factor"][0] == "1.2"
    assert rows["drive: travel beside the length's"][2] == "published"
    assert rows["taper of a cut edge"][2] == "common practice"
    assert rows["odds below which it warns, and stops"][0] == "99 %, 80 %"
    # ISO 273 and ISO 7089
    screws = ", ".join(row[1] for row in page.under["limits"] if row[0] == "screw M8")
    assert "clearance close 8.4 mm, normal 9 mm, loose 10 mm" in screws
    assert "washer 16 mm × 1.6 mm" in screws


def test_the_strips_of_a_belt_are_one_part() -> None:
    page = Page(report_html(lay_out(loads(FEEDER, "feeder")), CLEAR))
    names = [row[0] for row in page.under["parts"]]
    assert names.count("drive.belt") == 1
    assert not [name for name in names if name.startswith("drive.belt ")]


def test_the_tightest_places_are_told_least_to_spare_first() -> None:
    page = Page(report_html(lay_out(loads(FEEDER, "feeder")), CLEAR))
    spare = [float(row[4].split()[0]) for row in page.under["tight"][1:]]
    assert 0 < len(spare) <= 10
    assert spare == sorted(spare)


def test_a_pulley_on_a_shaft_through_the_plate_is_told_behind_it() -> None:
    page = Page(report_html(lay_out(loads(FEEDER, "feeder")), CLEAR))
    sides = {row[0]: row[1] for row in page.under["parts"]}
    # the motor is in front; its shaft's pulley begins 20 mm behind its face, the plate ends at 10
    assert sides["drive.driver"] == "far"


def test_only_sources_of_what_is_used_are_told() -> None:
    page = Page(report_html(lay_out(loads(FEEDER, "feeder")), CLEAR))
    told = ", ".join(row[1] for row in page.under["limits"] if row[0] == "screw M8")
    for used in ("hex head", "nut", "washer", "clearance"):
        assert used in told
    for unused in ("socket head", "countersunk head", "large washer"):
        assert unused not in told


def test_a_plate_that_no_table_cuts_tells_how_far_marks_through_the_paper_are_off() -> None:
    """A drill press follows no drawing, so no row of the scatters is called by its name."""
    text = FEEDER.replace("process: laser", "process: drill")
    assert text != FEEDER
    rows = [row[0] for row in Page(report_html(lay_out(loads(text, "feeder")), CLEAR)).under["limits"]]
    assert "places of what is marked through the paper" in rows
    assert "places of what the table cuts or marks" not in rows


@pytest.mark.parametrize("kept", [True, False], ids=["a folder that takes it", "a folder that does not"])
def test_the_compiled_template_is_kept_where_it_can_be(
    kept: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(module, "__file__", str(tmp_path / "page.py"))
    layout = lay_out(loads(MILL, "mill.yaml"))
    made = report_html(layout, Verdict(()))
    folder = tmp_path / "__pycache__"
    if kept:
        folder.mkdir()
    try:
        for _ in range(2):  # once to keep it, once from what was kept
            module._template.cache_clear()
            assert report_html(layout, Verdict(())) == made
        assert len(list(folder.glob("report-*"))) == kept
        for file in folder.glob("report-*"):
            file.write_bytes(b"spoilt")
        module._template.cache_clear()
        assert report_html(layout, Verdict(())) == made
    finally:
        module._template.cache_clear()
