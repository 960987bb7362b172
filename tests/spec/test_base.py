"""A spec after an edit of its data is the one that the edited file would be, though most of it is not read again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import platekit
from platekit.errors import SpecError
from platekit.page.desk import with_edits
from platekit.spec import Spec, with_data
from platekit.spec.editing import Value
from platekit.spec.reading import with_text

SPECS = Path(__file__).parents[2] / "specs"
EDITS: list[tuple[str, str, Value]] = [
    ("winnowing-fan", "mounts.motor.turn", "12 deg"),
    ("winnowing-fan", "drive.driver.pitch_diameter", 95),
    ("apple-mill", "mounts.motor.at", [210, 40]),
    ("apple-mill", "mounts.bracket.pattern.measured.readings.0.3", 120.4),
    ("dough-mixer", "bodies.oil cup.gap", 4),
    ("dough-mixer", "plate.thickness", "3/8"),
    ("bead-sorter", "units", "in"),
    ("bead-sorter", "cutting.process", "waterjet"),
]


def tried(make: Callable[[], Spec]) -> Spec | list[tuple[str, str]]:
    try:
        return make()
    except SpecError as error:
        return [(one.field, one.found) for one in error.problems]


@pytest.mark.parametrize(("name", "field", "value"), EDITS)
def test_an_edit_of_the_data_is_an_edit_of_the_text(name: str, field: str, value: Value) -> None:
    spec = platekit.load(SPECS / f"{name}.yaml")
    afresh = tried(lambda: with_text(spec, with_edits(spec.text, [(field, value)])))
    edited = tried(lambda: with_data(spec, [(field, value)]))
    if isinstance(afresh, Spec) and isinstance(edited, Spec):
        assert repr(edited.model) == repr(afresh.model)
    else:
        assert edited == afresh


def test_what_an_edit_leaves_alone_is_not_read_again() -> None:
    spec = platekit.load(SPECS / "winnowing-fan.yaml")
    edited = with_data(spec, [("mounts.motor.turn", "12 deg")])
    assert edited.model.drive is spec.model.drive
    assert edited.model.mounts["motor"] is not spec.model.mounts["motor"]
    # bare numbers mean something else then
    inches = tried(lambda: with_data(spec, [("units", "in")]))
    assert not isinstance(inches, Spec) or inches.model.plate != spec.model.plate


def test_two_readings_of_one_file_are_equal() -> None:
    path = SPECS / "dough-mixer.yaml"
    assert platekit.load(path) == platekit.load(path)
