"""`platekit tables`: published dimensions by name, or by what was measured."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import astuple

from platekit import tables as books
from platekit.jobs.told import Told
from platekit.units import typed_length


class MeasuredPart(Struct, frozen=True):
    """What was measured on a part, as typed; a bare length is mm. None for what was not."""

    bolt_circle: str | None = None
    holes: int | None = None
    pilot: str | None = None
    width: str | None = None
    height: str | None = None
    shaft: str | None = None


def tables(name: str | None, measured: MeasuredPart) -> Told:
    """The standards that fit what was measured, closest first; else what a name means; else what there is.

    Raises `LookupFailed` for a name that no table holds, `UnitError`.
    """
    if any(size is not None for size in astuple(measured)):

        def mm(size: str | None) -> float | None:
            return None if size is None else typed_length(size, "mm")

        fitting = books.search(
            bolt_circle=mm(measured.bolt_circle),
            holes=measured.holes,
            pilot=mm(measured.pilot),
            width=mm(measured.width),
            height=mm(measured.height),
            shaft=mm(measured.shaft),
        )
        return Told(
            "done", lambda: books.found_text(fitting), lambda: [books.candidate_figures(one) for one in fitting]
        )
    if name is None:
        return Told("done", books.overview, books.names_held)
    found = books.look_up(name)
    return Told("done", lambda: books.described(found), lambda: books.figures_of(found))
