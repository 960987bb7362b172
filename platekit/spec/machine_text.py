"""Writing a row into a machine file: a new file, or a row in an old one whose text stays as it was typed."""

from __future__ import annotations

from collections.abc import Mapping

from platekit.choices import Process
from platekit.errors import PlatekitError
from platekit.spec.editing import Value, with_value, written
from platekit.spec.machine import machine_of
from platekit.spec.source import read, source_of
from platekit.units import Unit, length

NEAR = 1e-6
"""Thicknesses this near are one row, mm (ours)."""


def new_machine(name: str, process: Process, unit: Unit, row: Mapping[str, Value]) -> str:
    """The text of a machine file with one row."""
    return (
        f"platekit_machine: 1\nname: {written(name)}\nprocess: {process}\nunits: {unit}\n\ncuts:\n"
        f"  - {written(dict(row))}\n"
    )


def with_row(text: str, file: str, process: Process, row: Mapping[str, Value]) -> str:
    """The text of a machine file with the figures of a row set; `row["thickness"]` says of which, new ones come last.

    Raises SpecError for a text that is no machine, PlatekitError for a machine of another process.
    """
    machine = machine_of(text, file)
    if machine.process != process:
        raise PlatekitError(f"{file}: {machine.name} cuts by {machine.process}, the test piece was cut by {process}")
    number = _row_number(text, file, length(row["thickness"], "mm"))
    if number is None:
        top, _ = read(source_of(text, file))
        assert top is not None
        return with_value(text, f"cuts.{len(top.data['cuts'])}", dict(row))
    for key, value in row.items():
        if key != "thickness":
            text = with_value(text, f"cuts.{number}.{key}", value)
    return text


def _row_number(text: str, file: str, thickness: float) -> int | None:
    top, _ = read(source_of(text, file))
    assert top is not None
    unit: Unit = "in" if top.data["units"] == "in" else "mm"
    for number, row in enumerate(top.data["cuts"]):
        if abs(length(row["thickness"], unit) - thickness) < NEAR:
            return number
    return None
