"""`platekit coupon`: its files, and its readings as a row of the machine's file."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from platekit.cli import app
from platekit.cutting.coupon import coupon_for
from platekit.errors import OutputError, PlatekitError, UnitError
from platekit.export.coupon import readings_text
from platekit.export.files import write_together
from platekit.jobs.coupon import coupon, machine_row
from platekit.spec.machine import load_machine
from platekit.spec.machine_text import new_machine

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


def test_readings_become_a_new_machine(tmp_path: Path) -> None:
    file = tmp_path / "shed.yaml"
    told = machine_row(filled(tmp_path), file)
    assert told.figures["row"].startswith("{thickness: 10 mm, kerf: 1.55 mm, taper: 2 deg")
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
    with pytest.raises(PlatekitError, match="County laser cuts by laser, the test piece was cut by plasma"):
        machine_row(filled(tmp_path), file)
    assert file.read_text("utf-8") == text


def test_readings_are_not_written_over(tmp_path: Path) -> None:
    files = coupon("waterjet", "1/4 in", tmp_path).written
    assert [path.name for path in files] == [
        f"coupon-waterjet-6.35mm.{ending}" for ending in ("cut.dxf", "form.pdf", "readings.yaml")
    ]
    with pytest.raises(OutputError, match="is there already, with readings perhaps"):
        coupon("waterjet", "1/4 in", tmp_path)
    with pytest.raises(UnitError):
        coupon("waterjet", "-3", tmp_path / "other")


def test_a_machine_file_that_came_meanwhile_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "shed.yaml"

    def beside(*words: Any) -> str:
        file.write_text("the row of another run", "utf-8")
        return new_machine(*words)

    monkeypatch.setattr("platekit.jobs.coupon.new_machine", beside)
    with pytest.raises(OutputError, match=r"shed\.yaml exists already"):
        machine_row(filled(tmp_path), file)
    assert file.read_text("utf-8") == "the row of another run"


def test_readings_that_came_meanwhile_are_not_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "coupon-laser-6mm.readings.yaml"

    def beside(*words: Any, **more: Any) -> None:
        file.write_text("my readings", "utf-8")
        write_together(*words, **more)

    monkeypatch.setattr("platekit.jobs.coupon.write_together", beside)
    with pytest.raises(OutputError, match=r"readings\.yaml exists already"):
        coupon("laser", "6", tmp_path)
    assert [one.name for one in tmp_path.iterdir()] == [file.name]
    assert file.read_text("utf-8") == "my readings"


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
