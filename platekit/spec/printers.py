"""Printers as measured, each in a file of its own, and readings typed on the command line.

    printer: 1
    units: mm
    bars: [270, 185]
    measured: {bottom: 271.3, top: 271.2, left: 184.4, right: 184.5, rising: 328.0, falling: 327.6}

A spec names one with `paper: {printer: NAME}`: the file `printers/NAME.yaml` beside the spec.
"""

from __future__ import annotations

import re
from pathlib import Path as FilePath
from typing import Final

from msgspec import Struct
from pydantic import Field, ValidationError

from platekit import units
from platekit.choices import Unit
from platekit.errors import PaperError, PlatekitError, Problem, UnitError
from platekit.spec.base import WordsModel
from platekit.spec.fields import LEAST_LENGTH, Size, Version
from platekit.spec.models import MeasuredWords, Paper
from platekit.spec.side_files import Kind, model_of, text_of
from platekit.spec.source import Complaint, Node, SourceText, located
from platekit.spec.vocabulary import nearest
from platekit.units import show_length, shown

FOLDER: Final = "printers"
"""Folder beside the spec in which the printers' files are."""
READINGS: Final = ("bottom", "top", "left", "right", "rising", "falling")
"""The names of the readings."""
EXAMPLE: Final = "bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.0, falling=327.6"
_ITEM: Final = re.compile(r"\s*([A-Za-z ]+?)\s*[=:]\s*(\S.*?)\s*")


class PrinterFile(WordsModel):
    """What a printer's file says."""

    printer: Version = Field(description="Version of this kind of file.")
    units: Unit = Field(description="Unit of every bare number: mm or in.")
    bars: Size = Field(description="[across, along]: what the bars on the measured sheet say.")
    measured: MeasuredWords = Field(description="The bars and diagonals as measured.")


FILE: Final = Kind(
    "a printer's file",
    "printer",
    "check the name, or let `platekit template SPEC --measured ... --printer NAME` write it",
    (PrinterFile, MeasuredWords),
)


class StoredPrinter(Struct, frozen=True):
    """A printer's file that was read: its name, what it says, and how a problem in it is placed."""

    name: str
    file: PrinterFile
    source: SourceText
    top: Node

    def problem(self, bar: str, found: str, wanted: str) -> Problem:
        """A problem at a reading, with its place in the file."""
        path = ("measured", bar) if bar else ("measured",)
        return located(self.source, self.top, Complaint(path, found, wanted))


def printer_path(name: str, spec: FilePath | None) -> FilePath:
    """Where the file of a printer is: in the folder `printers` beside the spec."""
    folder = FilePath() if spec is None else spec.parent
    return folder / FOLDER / f"{name}.yaml"


def printer_named(name: str, spec: FilePath | None) -> FilePath:
    """The path for a printer's name typed on the command line; `PlatekitError` if no file can have that name."""
    try:
        Paper.model_validate({"printer": name})
    except ValidationError as error:
        said = error.errors(include_url=False)[0]["ctx"]
        raise PlatekitError(f"the printer's name: found {said['found']}; {said['wanted']}") from None
    return printer_path(name, spec)


def load_printer(path: FilePath) -> StoredPrinter:
    """The printer in a file.

    Raises SpecError with every problem and its place, PlatekitError if the file cannot be read at all.
    """
    file, source, top = model_of(PrinterFile, text_of(path, FILE), str(path), FILE)
    return StoredPrinter(path.stem, file, source, top)


def printer_text(measured: MeasuredWords, bars: tuple[float, float], unit: units.Unit) -> str:
    """The text of a printer's file, in the unit of its bars.

    >>> from platekit.spec.models import MeasuredWords
    >>> six = dict(bottom=270, top=270, left=185, right=185, rising=327, falling=327.5)
    >>> print(printer_text(MeasuredWords.model_validate(six), (270, 185), "mm").splitlines()[-1])
    measured: {bottom: 270, top: 270, left: 185, right: 185, rising: 327, falling: 327.5}
    """
    readings = ", ".join(f"{bar}: {_figure(getattr(measured, bar), unit)}" for bar in READINGS)
    return (
        "# A printer as measured. A spec with `paper: {printer: NAME}`, this file's name, prints corrected for it.\n"
        "printer: 1\n"
        f"units: {unit}\n"
        f"bars: [{_figure(bars[0], unit)}, {_figure(bars[1], unit)}]      # what the bars across and along said\n"
        f"measured: {{{readings}}}\n"
    )


def measured_of_text(text: str, unit: units.Unit) -> MeasuredWords:
    """The readings in a text such as `bottom=271.3, top=271.2, ...`, in mm.

    Bare numbers are in `unit`. Raises PaperError for a reading that is missing, given twice, unknown or no length.
    """
    found: dict[str, float] = {}
    for part in filter(str.strip, re.split(r"[,;]", text)):
        item = _ITEM.fullmatch(part)
        if item is None:
            raise PaperError("", shown(part.strip()), f"write each as name=length, as {EXAMPLE}")
        name, value = item[1].lower(), item[2]
        if name not in READINGS:
            like = nearest(name, READINGS)
            raise PaperError("", shown(name), f"write {like[0]}" if like else f"use {', '.join(READINGS)}")
        if name in found:
            raise PaperError(name, "it twice", "give each bar once")
        found[name] = _length(name, value, unit)
    missing = [name for name in READINGS if name not in found]
    if missing:
        raise PaperError("", f"no {', no '.join(missing)}", f"give all six, as {EXAMPLE}")
    return MeasuredWords.model_validate(found, context={"unit": "mm"})


def _length(name: str, text: str, unit: units.Unit) -> float:
    try:
        value = float(text)
    except ValueError:
        pass
    else:
        text = f"{value!r} {unit}" if value == value and abs(value) < 1e6 else text
    try:
        length = units.length(text, unit)
    except UnitError as error:
        raise PaperError(name, error.found, error.wanted) from None
    if length <= 0:
        raise PaperError(name, shown(text), "give a length above zero")
    if length < LEAST_LENGTH:
        raise PaperError(name, shown(text), "give a length that can be measured")
    return length


def _figure(mm: float, unit: units.Unit) -> str:
    return show_length(mm, unit, 5).removesuffix(f" {unit}").rstrip("0").rstrip(".")
