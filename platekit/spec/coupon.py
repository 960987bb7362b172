"""The readings of a test piece: what was drawn, what was measured on the cut piece, and with which kerf it was cut."""

from __future__ import annotations

import os
from pathlib import Path as FilePath
from typing import Final, Literal

from msgspec import Struct
from pydantic import Field

from platekit.choices import Process, Unit
from platekit.spec.base import WordsModel
from platekit.spec.fields import LengthFromZero, PositiveLength, Size
from platekit.spec.machine import Feed, Seconds
from platekit.spec.side_files import Kind, model_of, text_of

HOLES: Final = ("a", "b", "c")
"""The names of the coupon's holes, small to large."""


class DrawnModel(WordsModel):
    """The sizes that were drawn."""

    square: PositiveLength = Field(description="Side of the square.")
    holes: tuple[PositiveLength, PositiveLength, PositiveLength] = Field(description="Diameters of the holes a, b, c.")
    slot: Size = Field(description="[length over all, width] of the slot.")


class SquareModel(WordsModel):
    """The square as measured: at the face that was cut from, and at the other."""

    x: Size = Field(description="[at the face cut from, at the other face] along x.")
    y: Size = Field(description="[at the face cut from, at the other face] along y.")


class HolesModel(WordsModel):
    """The holes as measured, each [at the face cut from, at the other face]."""

    a: Size = Field(description="The smallest.")
    b: Size = Field(description="The middle one.")
    c: Size = Field(description="The largest.")


class SlotModel(WordsModel):
    """The slot as measured, each [at the face cut from, at the other face]."""

    length: Size = Field(description="Over all.")
    width: Size = Field(description="Across.")


class CouponModel(WordsModel):
    """A file of readings, version 1."""

    platekit_coupon: Literal[1] = Field(description="Version of the file.")
    process: Process = Field(description="What it was cut with.")
    units: Unit = Field(description="Unit of every bare length: mm or in.")
    thickness: PositiveLength = Field(description="Thickness of the piece.")
    kerf_set: LengthFromZero = Field(description="The kerf that the controller allowed for; 0 if it ran on the line.")
    drawn: DrawnModel = Field(description="The sizes in the drawing.")
    square: SquareModel = Field(description="The square as measured.")
    holes: HolesModel = Field(description="The holes as measured.")
    slot: SlotModel = Field(description="The slot as measured.")
    speed: Feed | None = Field(default=None, description="The speed it was cut at, as `2200 mm/min`.")
    pierce: Seconds | None = Field(default=None, description="The time it was pierced for, as `0.5 s`.")


READINGS: Final = Kind(
    "readings",
    "platekit_coupon",
    "check the name of the readings",
    (CouponModel, DrawnModel, SquareModel, HolesModel, SlotModel),
)


class CouponSize(Struct, frozen=True):
    """One size: as drawn, at the face that was cut from, and at the other face, mm."""

    what: str
    drawn: float
    top: float
    bottom: float


class CouponReadings(Struct, frozen=True):
    """What was measured on a test piece; lengths mm, speed mm a minute, time s."""

    process: Process
    thickness: float
    kerf_set: float
    outside: tuple[CouponSize, CouponSize]
    inside: tuple[CouponSize, ...]
    """Sizes that the cut makes larger: the holes, the slot's width."""
    speed_mm_min: float | None
    pierce_s: float | None


def load_coupon(path: str | os.PathLike[str]) -> CouponReadings:
    """The readings in a file.

    Raises SpecError with every problem and its place when they cannot be used, PlatekitError when the file cannot be
    read.
    """
    file = FilePath(path)
    return coupon_of(text_of(file, READINGS), str(file))


def coupon_of(text: str, name: str = "readings") -> CouponReadings:
    """The readings in a text; `name` is what the problems call it."""
    model = model_of(CouponModel, text, name, READINGS)[0]
    drawn = model.drawn
    holes = zip(HOLES, drawn.holes, (model.holes.a, model.holes.b, model.holes.c), strict=True)
    return CouponReadings(
        process=model.process,
        thickness=model.thickness,
        kerf_set=model.kerf_set,
        outside=(
            CouponSize("the square along x", drawn.square, *model.square.x),
            CouponSize("the square along y", drawn.square, *model.square.y),
        ),
        inside=(
            *(CouponSize(f"hole {name}", size, *pair) for name, size, pair in holes),
            CouponSize("the slot's width", drawn.slot[1], *model.slot.width),
        ),
        speed_mm_min=model.speed,
        pierce_s=model.pierce,
    )
