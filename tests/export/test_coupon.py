"""The coupon's files: a drawing that is its size, a form to write on, and a row for the machine's file."""

from __future__ import annotations

import io
import math
from pathlib import Path

import ezdxf
import pypdfium2
import pytest
from typer.testing import CliRunner

from platekit.cli import app
from platekit.cutting.coupon import coupon_for
from platekit.errors import OutputError, PlatekitError, UnitError
from platekit.export.coupon import coupon_dxf, coupon_files, coupon_form, machine_row, readings_text
from platekit.spec.machine import load_machine

FILLED = {
    "kerf_set: _": "kerf_set: 0",
    "square: {x: [_, _], y: [_, _]}": "square: {x: [128.5, 129.0], y: [128.4, 128.9]}",
    "holes: {a: [_, _], b: [_, _], c: [_, _]}": "holes: {a: [16.2, 15.5], b: [23.7, 23.0], c: [31.3, 30.6]}",
    "slot: {length: [_, _], width: [_, _]}": "slot: {length: [46.2, 45.5], width: [16.3, 15.6]}",
    "# speed: 2200 mm/min": "speed: 1150 mm/min",
}


def filled(folder: Path) -> Path:
    text = readings_text(coupon_for("plasma", 10))
    for old, new in FILLED.items():
        assert text.count(old) == 1
        text = text.replace(old, new)
    path = folder / "filled.yaml"
    path.write_text(text, "utf-8")
    return path


def test_the_drawing_is_its_size() -> None:
    space = ezdxf.read(io.StringIO(coupon_dxf(coupon_for("plasma", 10)).decode("ascii"), newline=None)).modelspace()
    assert [circle.dxf.radius * 2 for circle in space.query("CIRCLE")] == [15, 22.5, 30]
    slot, square = space.query("LWPOLYLINE")
    assert (slot.dxf.layer, square.dxf.layer) == ("CUT-INSIDE", "CUT-OUTSIDE")
    assert slot.closed
    assert square.closed
    assert sorted(square.get_points("xy")) == [(0, 0), (0, 130), (130, 0), (130, 130)]
    xs = [x for x, _ in slot.get_points("xy")]
    assert max(xs) - min(xs) == 30  # between its centres, 45 over all
    assert coupon_dxf(coupon_for("plasma", 10)) == coupon_dxf(coupon_for("plasma", 10))


def test_the_form_asks_for_everything() -> None:
    data = coupon_form(coupon_for("plasma", 10))
    (page,) = pypdfium2.PdfDocument(data)
    text = page.get_textpage().get_text_bounded()
    for words in ("square along x", "hole a", "22.5", "slot, width", "at the other face", "kerf that the controller"):
        assert words in text
    assert data == coupon_form(coupon_for("plasma", 10))


def test_readings_become_a_new_machine(tmp_path: Path) -> None:
    file = tmp_path / "shed.yaml"
    said = machine_row(filled(tmp_path), file)
    assert said.startswith("{thickness: 10 mm, kerf: 1.55 mm, taper: 2 deg")
    machine = load_machine(file)
    assert (machine.name, machine.process) == ("shed", "plasma")
    found = {quantity: machine.at(quantity, 10) for quantity in ("kerf", "hole_error", "scatter", "speed", "taper")}
    values = {quantity: reading.value for quantity, reading in found.items() if reading is not None}
    assert values["kerf"] == pytest.approx(1.55)
    assert values["hole_error"] == pytest.approx(-0.3)
    assert values["scatter"] == pytest.approx(0.05)
    assert values["speed"] == 1150
    assert values["taper"] == pytest.approx(math.radians(2), abs=math.radians(0.01))


def test_a_row_is_changed_or_added_and_the_rest_stays_as_typed(tmp_path: Path) -> None:
    old = Path("specs/machines/yard-plasma.yaml").read_text("utf-8")
    file = tmp_path / "yard.yaml"
    file.write_text(old, "utf-8")
    machine_row(filled(tmp_path), file)
    before, after = old.splitlines(), file.read_text("utf-8").splitlines()
    changed = [(one, other) for one, other in zip(before, after, strict=True) if one != other]
    assert len(changed) == 1
    assert "thickness: 10, kerf: 1.55 mm" in changed[0][1]
    assert "pierce: 0.8 s" in changed[0][1]
    file.write_text(old.replace("thickness: 10,", "thickness: 11,"), "utf-8")
    machine_row(filled(tmp_path), file)
    rows = dict(load_machine(file).cuts)["kerf"]
    assert [thickness for thickness, _ in rows] == [3, 6, 10, 11, 12]


def test_a_machine_of_another_process_is_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "laser.yaml"
    text = Path("specs/machines/county-laser.yaml").read_text("utf-8")
    file.write_text(text, "utf-8")
    with pytest.raises(PlatekitError, match="County laser cuts by laser, the coupon was cut by plasma"):
        machine_row(filled(tmp_path), file)
    assert file.read_text("utf-8") == text


def test_readings_are_not_written_over(tmp_path: Path) -> None:
    files = coupon_files("waterjet", "1/4 in", tmp_path)
    assert [path.name for path in files] == [
        f"coupon-waterjet-6.35mm.{ending}" for ending in ("cut.dxf", "form.pdf", "readings.yaml")
    ]
    with pytest.raises(OutputError, match="is there already, with readings perhaps"):
        coupon_files("waterjet", "1/4 in", tmp_path)
    with pytest.raises(UnitError):
        coupon_files("waterjet", -3.0, tmp_path / "other")


def test_the_command_goes_both_ways(tmp_path: Path) -> None:
    run = CliRunner()
    made = run.invoke(app, ["coupon", "--process", "plasma", "--thickness", "10", "--out", str(tmp_path)])
    assert made.exit_code == 0
    assert "coupon-plasma-10mm.readings.yaml" in made.output
    machine = tmp_path / "shed.yaml"
    back = run.invoke(app, ["coupon", "--measured", str(filled(tmp_path)), "--machine", str(machine)])
    assert back.exit_code == 0
    assert machine.exists()
    alone = run.invoke(app, ["coupon", "--measured", str(tmp_path / "filled.yaml")])
    assert isinstance(alone.exception, PlatekitError)


def test_a_machine_file_that_cannot_be_read_is_told_and_left_alone(tmp_path: Path) -> None:
    old = Path("specs/machines/yard-plasma.yaml").read_bytes()
    for data in (old.replace(b"An invented", b"An \xff"), old.decode().encode("utf-16")):
        (tmp_path / "odd.yaml").write_bytes(data)
        with pytest.raises(PlatekitError, match=r"odd.yaml"):
            machine_row(filled(tmp_path), tmp_path / "odd.yaml")
        assert (tmp_path / "odd.yaml").read_bytes() == data
    for name in (".", "x" * 300):
        with pytest.raises(PlatekitError):
            machine_row(filled(tmp_path), tmp_path / name)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_and_the_mark_of_a_machine_file_stay_or_go_without_harm(end: str, tmp_path: Path) -> None:
    old = Path("specs/machines/yard-plasma.yaml").read_text("utf-8").replace("\n", end)
    (tmp_path / "yard.yaml").write_bytes(b"\xef\xbb\xbf" + old.encode())
    machine_row(filled(tmp_path), tmp_path / "yard.yaml")
    new = (tmp_path / "yard.yaml").read_bytes().decode("utf-8-sig")
    assert new.count(end) == old.count(end)
    assert new.count("\n") == old.count("\n")
