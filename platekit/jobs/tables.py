"""`platekit tables`: published dimensions by name, or by what was measured."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from msgspec.structs import astuple

from platekit import tables as books
from platekit.jobs.told import Told
from platekit.tables.own import NO_TABLES, read_folder
from platekit.tables.rows import use_own
from platekit.units import typed_length


class MeasuredPart(Struct, frozen=True):
    """What was measured on a part, as typed; a bare length is mm. None for what was not."""

    bolt_circle: str | None = None
    holes: int | None = None
    pilot: str | None = None
    width: str | None = None
    height: str | None = None
    shaft: str | None = None


def tables(name: str | None, measured: MeasuredPart, own: Path | None = None) -> Told:
    """The standards that fit what was measured, closest first; else what a name means; else what there is.

    `own` is a folder of the shop's own tables, looked up like ours. Raises `LookupFailed` for a name that no table
    holds, `UnitError`, `SpecError` for rows of theirs that will not do.
    """
    theirs = NO_TABLES if own is None else read_folder(own)
    # in use before anything is looked up: a row of the shop's stands in place of ours
    use_own(theirs.rows)
    if any(size is not None for size in astuple(measured)):
        # no spec is open that would name a unit: a bare figure off a caliper is mm
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
        # `own` is left out where there is none, so that a program that knows only our tables reads on
        own_names = dict(theirs.told())
        more = {"own": own_names} if own_names else {}
        return Told("done", lambda: books.overview(theirs), lambda: {**books.names_held(), **more})
    found = books.look_up(name)
    return Told("done", lambda: books.described(found), lambda: books.figures_of(found))
