"""`platekit drive`: figures and text, exit codes, the chart's file, and the ranking."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from platekit.cli import Exit, main

SPECS = Path(__file__).parents[2] / "specs"
MIXER, GRADER = str(SPECS / "dough-mixer.yaml"), str(SPECS / "seed-grader.yaml")


class Ran:
    """What a command did: its exit code and what it printed."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def figures(self) -> dict[str, Any]:
        figures: dict[str, Any] = json.loads(self.out)
        return figures


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Any:
    def runs(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["platekit", "drive", *words, "--out", str(tmp_path / "out")])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return Ran(int(ended.value.code or 0), said.out, said.err)

    return runs


def test_the_figures_have_the_keys_that_were_promised(run: Any) -> None:
    ran = run(MIXER, "--json")
    assert ran.code == Exit.CLEAR
    promised = (
        "centre_distance_mm",
        "belt_length_mm",
        "wrap_driver_deg",
        "wrap_driven_deg",
        "belt_speed_m_s",
        "span_mm",
        "install_mm",
        "tension_mm",
    )
    assert all(isinstance(ran.figures[key], float) for key in promised)
    for point in ran.figures["points"]:
        assert {"frequency_hz", "speed_rpm", "torque_nm", "power_kw"} <= set(point)
    assert ran.figures["wrap_driver_deg"] + ran.figures["wrap_driven_deg"] == pytest.approx(360)


def test_torque_is_power_over_speed_at_every_point(run: Any) -> None:
    # torque = 9550 kW / rpm, the trade's own formula
    for spec in (MIXER, GRADER):
        for point in run(spec, "--json").figures["points"]:
            assert point["torque_nm"] == pytest.approx(9549.3 * point["power_kw"] / point["speed_rpm"], rel=1e-4)


def test_the_text_names_belt_speeds_and_what_stands_against_it(run: Any) -> None:
    ran = run(MIXER)
    assert ran.code == Exit.CLEAR
    for said in ("centre distance      230.26 mm", "741.2", "wanted 120 to 700 rpm: reached", "rating 1.09 kW"):
        assert said in ran.out
    assert "not-checked: drive: whether the torque at the working shaft is enough" in " ".join(ran.out.split())
    assert "clocking" not in ran.out
    assert max(map(len, ran.out.splitlines()[:-1])) <= 100


def test_the_chart_is_written_and_is_whole(run: Any, tmp_path: Path) -> None:
    run(MIXER)
    path = tmp_path / "out" / "dough-mixer" / "dough-mixer.drive.svg"
    root = ElementTree.parse(path).getroot()
    words = {text.text for text in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"speed, rpm", "torque, Nm", "power, kW", "these pulleys, inverter"} <= words
    first = path.read_bytes()
    run(MIXER)
    assert path.read_bytes() == first


def changed(tmp_path: Path, *swaps: tuple[str, str]) -> str:
    text = Path(MIXER).read_text("utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "mixer.yaml"
    path.write_text(text, "utf-8")
    return str(path)


def test_speeds_that_are_not_reached_are_a_stop(run: Any, tmp_path: Path) -> None:
    ran = run(changed(tmp_path, ("to: 700 rpm", "to: 1400 rpm"), ("from: 120 rpm", "from: 240 rpm")))
    assert ran.code == Exit.STOP
    assert "NOT reached" in ran.out
    assert "a ratio of" in ran.out


def test_without_a_motor_there_is_no_chart(run: Any, tmp_path: Path) -> None:
    spec = changed(
        tmp_path,
        ("  motor: {power: 0.75 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}\n", ""),
        ("  inverter: {from: 15 Hz, to: 90 Hz}\n", ""),
    )
    ran = run(spec, "--json")
    assert ran.code == Exit.CLEAR
    assert ran.figures["points"] == []
    assert ran.figures["chart"] is None
    assert not list((tmp_path / "out").rglob("*.svg"))
    assert "no motor is given" in run(spec).out


def test_a_spec_without_a_drive_cannot_be_used(run: Any) -> None:
    ran = run(str(SPECS / "bead-sorter.yaml"))
    assert ran.code == Exit.UNUSABLE
    assert "describe motor, belt and pulleys under `drive`" in ran.err


def test_choosing_ranks_and_states_the_merits(run: Any) -> None:
    ran = run(MIXER, "--choose", "--section", "A", "--section", "SPZ", "--count", "5", "--json")
    assert ran.code == Exit.CLEAR
    choices = ran.figures["choices"]
    assert len(choices) == 5
    scores = [choice["score"] for choice in choices]
    assert scores == sorted(scores)
    for choice in choices:
        assert choice["score"] == pytest.approx(sum(choice["merits"].values()))
        assert choice["section"] in ("A", "SPZ")
        assert choice["speed_low_rpm"] <= 120 * 1.02
        assert choice["speed_high_rpm"] >= 700 * 0.98
    said = run(MIXER, "--choose", "--section", "SPZ", "--count", "3").out
    assert "stock drives tried" in said
    assert "degrees of wrap on the small pulley below half a turn" in said


def test_choosing_keeps_to_the_space_that_there_is(run: Any) -> None:
    ran = run(MIXER, "--choose", "--closest", "300", "--farthest", "13 in", "--largest-driven", "230", "--json")
    for choice in ran.figures["choices"]:
        assert 300 <= choice["centre_distance_mm"] <= 13 * 25.4
        assert choice["driven_pitch_mm"] <= 230 + 12  # the pitch line of ribbed and V-belts lies inside or on the rim
    none = run(MIXER, "--choose", "--section", "A", "--closest", "20", "--farthest", "30")
    assert none.code == Exit.UNUSABLE
    assert "none of" in none.err


def test_an_unknown_section_names_the_nearest(run: Any) -> None:
    ran = run(MIXER, "--choose", "--section", "SPX")
    assert ran.code == Exit.UNUSABLE
    assert "SPA" in ran.err


@pytest.mark.parametrize("section", ["SPZ", "T10", "J"])
def test_a_choice_is_written_into_the_spec_and_is_the_drive_that_was_shown(
    run: Any, tmp_path: Path, section: str
) -> None:
    spec = tmp_path / "mill.yaml"
    text = (SPECS / "apple-mill.yaml").read_text("utf-8")
    spec.write_text(text, "utf-8")
    shown = run(str(spec), "--choose", "--section", section, "--count", "2", "--write", "2", "--json")
    chosen = shown.figures["choices"][1]
    lines, now = text.splitlines(), spec.read_text("utf-8").splitlines()
    changed = [line.split(":")[0].strip() for line in now if line not in lines]
    assert changed == ["belt", "driver", "driven"]
    assert len(now) == len(lines)
    if section == "SPZ":
        figures = run(str(spec), "--json").figures
        assert figures["belt_length_mm"] == pytest.approx(chosen["belt_length_mm"], abs=0.01)
        assert figures["centre_distance_mm"] == pytest.approx(chosen["centre_distance_mm"], abs=0.01)


def test_a_choice_that_is_not_there_is_told_and_nothing_written(run: Any, tmp_path: Path) -> None:
    spec = tmp_path / "mill.yaml"
    text = (SPECS / "apple-mill.yaml").read_text("utf-8")
    spec.write_text(text, "utf-8")
    ran = run(str(spec), "--choose", "--section", "SPZ", "--count", "2", "--write", "3")
    assert ran.code != Exit.CLEAR
    assert "there is no choice 3; 2 are shown" in ran.err
    assert spec.read_text("utf-8") == text


DRIVEN = [path for path in sorted(SPECS.glob("*.yaml")) if "\ndrive:" in path.read_text("utf-8")]


@pytest.mark.parametrize("spec", DRIVEN, ids=lambda path: path.stem)
def test_no_example_has_a_belt_that_is_too_weak(run: Any, spec: Path) -> None:
    """An example with a belt of which the program says that it does not last would teach just that."""
    ran = run(str(spec))
    assert "rating " in ran.out
    assert "warn  belt-rating" not in ran.out


@pytest.mark.parametrize(("section", "key"), [("5M", "width"), ("PJ", "ribs")])
def test_a_written_choice_is_as_wide_as_it_must_be(run: Any, tmp_path: Path, section: str, key: str) -> None:
    spec = tmp_path / "mixer.yaml"
    spec.write_text(Path(MIXER).read_text("utf-8"), "utf-8")
    chosen = run(str(spec), "--choose", "--section", section, "--count", "1", "--write", "1", "--json").figures[
        "choices"
    ]
    needed = chosen[0]["ribs_needed"] or f"{chosen[0]['width_needed_mm']:g} mm"
    assert f"{key}: {needed}" in spec.read_text("utf-8")
    figures = run(str(spec), "--json").figures
    assert figures["rating_kw"] >= 0.75 * 1.2  # the motor, times the service factor of the spec
