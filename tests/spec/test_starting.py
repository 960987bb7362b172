"""The starter spec: whatever is chosen, it reads, and a draft passes the checks."""

from __future__ import annotations

import random
import re
from typing import get_args

import pytest

from platekit import tables
from platekit.checks import check
from platekit.choices import OldPattern, Process
from platekit.errors import LookupFailed, PlatekitError
from platekit.layout import lay_out
from platekit.spec import StarterChoices, loads, starter
from platekit.tables.motor_frames import motor_frame


def clear(text: str) -> bool:
    return check(lay_out(loads(text))).clear


def some_choices(count: int) -> list[StarterChoices]:
    """Choices drawn from all that there are, the same in every run."""
    chance = random.Random(20)
    names = tables.names()
    drawn = []
    for _ in range(count):
        unit = chance.choice(("mm", "in"))
        thickness = chance.choice((6, "10 mm", 16.0, "3/8 in") if unit == "mm" else (0.25, "3/8 in", "1/2 in", "12 mm"))
        process, machine, motor = (chance.choice(every) for every in (get_args(Process), get_args(OldPattern), names))
        frame = motor_frame(tables.mount(motor))
        drawn.append(
            StarterChoices(
                units="mm" if unit == "mm" else "in",
                thickness="20 mm" if frame is not None and frame.plate > 7 else thickness,  # heavy motors, thick plates
                material="6082-T6" if process == "router" else "mild steel",  # a router cuts no steel
                process=process,
                machine=machine,
                motor=motor,
                take_up=chance.random() < 0.6,
            )
        )
    return drawn


@pytest.mark.parametrize("choices", some_choices(40), ids=lambda c: f"{c.motor}-{c.process}-{c.machine}-{c.thickness}")
def test_a_starter_passes_the_checks(choices: StarterChoices) -> None:
    spec = loads(starter(choices, clear))
    assert clear(spec.text)
    assert spec.model.cutting.process == choices.process
    assert spec.model.units == choices.units
    assert tables.mount(spec.model.mounts["motor"].pattern.standard or "") == tables.mount(choices.motor)


def test_it_explains_itself_and_names_the_schema_for_the_editor() -> None:
    lines = starter(StarterChoices()).splitlines()
    assert lines[0] == "# yaml-language-server: $schema=./platekit.schema.json"
    assert sum("# " in line for line in lines) > 12


def test_what_it_shows_in_remarks_reads_too() -> None:
    text = starter(StarterChoices(), clear)
    opened = text.replace("# bodies: ", "bodies: ").replace("#   machine shaft", "  machine shaft")
    opened = opened.replace("#     ", "    ").replace("  # cutouts:", "  cutouts:").replace("  #   cable", "    cable")
    model = loads(opened).model
    assert set(model.bodies) == {"machine shaft"}
    assert set(model.plate.cutouts) == {"cable"}


@pytest.mark.parametrize("title", ["Mixer: new motor", "12", "true", '"quoted"', "a # b", "- x", "Fräse Ø 12"])
def test_any_title_stands_as_given(title: str) -> None:
    assert loads(starter(StarterChoices(title=title))).model.title == title


def test_the_same_choices_give_the_same_text() -> None:
    assert starter(StarterChoices(), clear) == starter(StarterChoices(), clear)


@pytest.mark.parametrize("choices", [StarterChoices(material="mild stel"), StarterChoices(motor="NEMA 56Q")])
def test_a_name_that_no_table_knows_is_told(choices: StarterChoices) -> None:
    with pytest.raises(LookupFailed, match=r"mild stel|NEMA 56Q"):
        starter(choices)


@pytest.mark.parametrize("thickness", ["ten", 0, "-3 mm", "10"])
def test_a_thickness_that_is_none_is_told(thickness: str | float) -> None:
    with pytest.raises(PlatekitError, match="found"):
        starter(StarterChoices(thickness=thickness))


def test_when_nothing_passes_that_is_said() -> None:
    with pytest.raises(PlatekitError, match=r"no way to start with NEMA 56C on 10 mm of mild steel cut by plasma"):
        starter(StarterChoices(), lambda text: False)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("take_up", [True, False])
def test_a_measured_start_has_readings_that_agree(units: str, take_up: bool) -> None:
    spec = loads(
        starter(StarterChoices(units="mm" if units == "mm" else "in", machine="measured", take_up=take_up), clear)
    )
    survey = lay_out(spec).mounts["machine"].survey
    assert survey is not None
    assert survey.dof == 3
    assert max(abs(reading.residual) for reading in survey.readings) < (0.01 if units == "mm" else 0.02)
    assert "#" in spec.text[spec.text.index("measured:") : spec.text.index("readings:")]


def test_a_thickness_without_unit_is_told_as_such() -> None:
    with pytest.raises(PlatekitError, match=r"^thickness: found .10., a number as text; give it with its unit"):
        starter(StarterChoices(thickness="10"))


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_drive_in_the_remarks_runs_in_one_plane_and_places_the_motor(units: str) -> None:
    text = starter(StarterChoices(units="mm" if units == "mm" else "in", motor="IEC 90 B14"), clear)
    start, end = text.index("# drive:"), text.index("cutting:")
    drive = re.sub(r"(?m)^# ", "", text[start:end].replace("#   # ", "# # "))
    placed = re.sub(r"at: \{from: machine.*\}", "at: {belt: {from: machine, angle: 90 deg}}", text[:start])
    travelled = re.sub(r"take_up: .*", "take_up: {slots: {along: belt, install: auto, tension: auto}}", placed)
    assert travelled != text[:start]
    layout = lay_out(loads(travelled + drive + text[end:]))
    (belt,) = layout.belts
    assert belt.driver.plane == pytest.approx(belt.driven.plane, abs=0.5)
    assert belt.driver.z[1] < layout.plate_z[0]
    assert check(layout).clear


@pytest.mark.parametrize(("motor", "units"), [("IEC 90S", "mm"), ("IEC 112M", "mm"), ("NEMA 182T", "in")])
def test_the_drive_in_the_remarks_of_a_motor_on_feet_runs_over_shafts_along_the_plate(motor: str, units: str) -> None:
    """What the remarks say, done to the letter, may be cut: slots square to the shaft, pulleys in line."""
    choices = StarterChoices(units="mm" if units == "mm" else "in", motor=motor, machine="rectangle", thickness="12 mm")
    text = starter(choices, clear)
    assert clear(text)
    start, end = text.index("# drive:"), text.index("cutting:")
    drive = re.sub(r"(?m)^# ", "", text[start:end].replace("#   # ", "# # "))
    before = re.sub(r"    # (shaft: |  \{at: )", r"    \1", text[:start])
    placed = re.sub(r"at: \{from: machine.*\}", "at: {belt: {from: machine, angle: 90 deg}}", before)
    travelled = re.sub(r"take_up: .*", "take_up: {slots: {along: belt, install: auto, tension: auto}}", placed)
    layout = lay_out(loads(travelled + drive + text[end:]))
    (belt,) = layout.belts
    assert belt.drawn.lies
    assert belt.driver.plane == pytest.approx(belt.driven.plane)
    verdict = check(layout)
    assert verdict.clear, [finding.message for finding in verdict.findings if finding.stops]
