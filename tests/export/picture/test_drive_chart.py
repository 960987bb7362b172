"""The drive's chart: whole, readable without colour, true to its figures, nothing outside the picture."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest

import platekit
from platekit.drawing.svg.letters import text_width
from platekit.errors import DriveError
from platekit.export.data.plate import plate_figures
from platekit.export.picture.drive_chart import HEAD, LEFT, RIGHT, STRIP, WIDTH, chart_text, compared, working_belt
from platekit.export.reports.page import report_html
from platekit.placed import Layout
from tests.checks import drives

SVG = "{http://www.w3.org/2000/svg}"
ONE_SPEED = drives.SOUND.replace("  inverter: {from: 15 Hz, to: 90 Hz}\n", "")
UNIVERSAL = drives.BRUSHED.replace(
    "kind: dc, loaded: {speed: 3000 rpm, torque: 0.8 Nm}, light: {speed: 3600 rpm, torque: 0.08 Nm}",
    "kind: universal, loaded: {speed: 8000 rpm, torque: 0.5 Nm}, light: {speed: 18000 rpm, torque: 0.1 Nm}",
)
FAR_OFF = drives.SOUND.replace("from: 120 rpm, to: 700 rpm, torque: 3 Nm", "from: 90 rpm, to: 90000 rpm, torque: 3 Nm")
ABOVE = drives.SOUND.replace("from: 120 rpm, to: 700 rpm, torque: 3 Nm", "from: 5000 rpm, to: 9000 rpm")
EVERY = {
    "wanted far off": FAR_OFF,
    "wanted above": ABOVE,
    "V": drives.SOUND,
    "toothed": drives.TOOTHED,
    "DC": drives.BRUSHED,
    "universal": UNIVERSAL,
    "one speed": ONE_SPEED,
}


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def drawn(text: str) -> Element:
    return ElementTree.fromstring(chart_text(laid(text)))


def words(root: Element) -> list[str]:
    return [text.text or "" for text in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("text", EVERY.values(), ids=EVERY)
def test_nothing_is_drawn_outside_the_picture(text: str) -> None:
    root = drawn(text)
    wide, high = (float(root.get(key, "0")) for key in ("width", "height"))
    for element in root.iter(f"{SVG}text"):
        x, y, size = (float(element.get(key, "0")) for key in ("x", "y", "font-size"))
        reach = text_width(element.text or "", size, element.get("font-weight") == "bold")
        left = {"end": x - reach, "middle": x - reach / 2}.get(element.get("text-anchor", "start"), x)
        assert left >= 0, element.text
        assert left + reach <= wide, element.text
        assert size <= y <= high
    for path in root.iter(f"{SVG}path"):
        pairs = [point.split() for point in path.get("d", "")[1:].split("L")]
        assert all(LEFT - 0.01 <= float(x) <= WIDTH - RIGHT + 0.01 and 0 <= float(y) <= high for x, y in pairs)


@pytest.mark.parametrize("text", EVERY.values(), ids=EVERY)
def test_lines_can_be_told_apart_without_colour(text: str) -> None:
    paths = list(drawn(text).iter(f"{SVG}path"))
    looks = [(path.get("stroke-width"), path.get("stroke-dasharray")) for path in paths[-2:]]
    assert looks[0] != looks[1]
    assert looks[0][1] is None
    assert looks[1][1] is not None


def test_the_speed_strip_is_true_to_its_scale() -> None:
    root = drawn(drives.SOUND)
    dots = list(root.iter(f"{SVG}circle"))
    points = laid(drives.SOUND).belts[-1].result.points
    speed = dots[len(points) - 1]
    # the scale runs from 0 to 800 rpm over one strip
    share = 1 - (float(speed.get("cy", "0")) - HEAD - 18) / STRIP
    assert share * 800 == pytest.approx(points[-1].speed_rpm, abs=0.5)
    assert float(speed.get("cx", "0")) == pytest.approx(WIDTH - RIGHT)


def test_each_motor_is_compared_with_what_can_change_its_speed() -> None:
    assert "these pulleys, inverter" in words(drawn(drives.SOUND))
    assert "these pulleys, less voltage" in words(drawn(drives.BRUSHED))
    assert any("starves" in said for said in words(drawn(UNIVERSAL)))
    assert any("one speed" in said for said in words(drawn(ONE_SPEED)))


@pytest.mark.parametrize("text", [drives.BRUSHED, UNIVERSAL], ids=["DC", "universal"])
def test_less_voltage_leaves_less_torque_than_gearing_at_the_same_speed(text: str) -> None:
    belt = laid(text).belts[-1]
    assert belt.request.motor is not None
    gearing, voltage = compared(belt, belt.request.motor)
    slow = [held for held in voltage.points if held.speed_rpm < 0.5 * belt.result.points[-1].speed_rpm]
    assert slow
    power = belt.result.points[-1].power_w
    for held in slow:
        assert held.torque_nm < 0.6 * power * 9.5493 / held.speed_rpm
    assert gearing.points[0].torque_nm > gearing.points[-1].torque_nm


def test_a_drive_without_a_motor_has_no_chart() -> None:
    text = drives.changed(
        ("  motor: {power: 0.25 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}\n", ""),
        ("  inverter: {from: 15 Hz, to: 90 Hz}\n", ""),
    )
    with pytest.raises(DriveError, match="no chart without a motor"):
        chart_text(laid(text))


def test_report_and_figures_tell_the_drive() -> None:
    layout = laid(drives.SOUND)
    verdict = platekit.check(layout)
    page = report_html(layout, verdict)
    assert 'id="drive"' in page
    assert "pk-chart" in page
    assert "230.26 mm" in page
    belts = plate_figures(layout, verdict)["belts"]
    assert isinstance(belts, list)
    assert belts[0]["centre_distance_mm"] == pytest.approx(layout.belts[0].result.centre_distance)
    assert belts[0]["adjusted_by"] == "motor"
    undriven = platekit.lay_out(platekit.load(Path(__file__).parents[3] / "specs" / "bead-sorter.yaml"))
    plain = report_html(undriven, platekit.check(undriven))
    assert 'id="drive"' not in plain
    assert 'pk-chart"' not in plain


def test_a_title_that_would_break_the_page_is_escaped() -> None:
    text = drives.SOUND.replace("title: A sound drive", 'title: "<script>alert(1)</script> & co"')
    assert "<script>alert" not in chart_text(laid(text))


def test_a_motor_that_only_stalls_has_no_chart_and_stops_nothing() -> None:
    text = drives.BRUSHED.replace("speed: 3000 rpm, torque: 0.8 Nm", "speed: 100 rpm, torque: 0.8 Nm").replace(
        "voltage: {from: 0.3, to: 1}", "voltage: {from: 0.01, to: 0.02}"
    )
    layout = laid(text)
    assert working_belt(layout) is None
    assert not platekit.check(layout).clear
