"""One door for every name: a mount, a screw, a drill, a sheet gauge, a material, a fit.

A name may belong to more than one kind of thing (`3/8` is a screw and a drill): the word `drill` or the
screw's pitch settles it.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.drills import drill
from platekit.tables.fits import fit_limits, zones
from platekit.tables.materials import gauge, gauge_source, material, material_names
from platekit.tables.mounts import mount, names
from platekit.tables.naming import alike, listed, nearest
from platekit.tables.screws import screw, screw_sizes
from platekit.tables.values import Drill, LimitDeviations, Material, Screw, Source, StandardMount

_DRILL = re.compile(r"\bdrill\b", re.IGNORECASE)
_GAUGE = re.compile(r"(?<![a-z])(?:gauge|gage|ga)(?![a-z])", re.IGNORECASE)
_FIT = re.compile(r"(\d+(?:\.\d+)?) ?(?:mm)? ?([A-Za-z]{1,2})(\d{1,2})")
_FIT_SOURCE = Source("ISO 286-1", "published")


class SheetGauge(Struct, frozen=True):
    """A sheet gauge number of a metal with its thickness in mm."""

    name: str
    thickness: float
    source: Source


class FitLimits(Struct, frozen=True):
    """A size in mm with its ISO 286 limits."""

    name: str
    size: float
    limits: LimitDeviations
    source: Source


Found = StandardMount | Screw | Drill | SheetGauge | Material | FitLimits


def look_up(name: str) -> Found:
    """Whatever a table calls by this name.

    Raises LookupFailed for an unknown name, with the three nearest of all tables, and for one that means
    several things.

    >>> look_up("drill 3/8").name
    '3/8'
    """
    text = name.strip()
    # The word drill settles what 3/8 is.
    if _DRILL.search(text):
        return drill(_DRILL.sub("", text).strip(" -"))
    if _GAUGE.search(text) and re.search(r"\d", text):
        number = re.search(r"\d+", text)
        metal = re.sub(r"\d+|\s+", " ", _GAUGE.sub(" ", text)).strip(" -#")
        if number is None or not metal:
            raise LookupFailed(f"found {text!r}", wanted="say the number and the metal, such as 'gauge 11 steel'")
        # Gauges go first, since a bare number could be anything; the word beside it says what is meant.
        thickness = gauge(int(number[0]), metal)
        return SheetGauge(f"gauge {number[0]} {metal.lower()}", thickness, gauge_source(int(number[0]), metal))
    # Every table is asked, not the first that knows the name: 3/8 is a screw and a drill, and the user must say which.
    things: list[Found] = []
    doors: tuple[Callable[[str], Found], ...] = (mount, screw, _only_drill, material, _fit)
    for door in doors:
        try:
            things.append(door(text))
        except LookupFailed as failure:
            # A table that knew what was meant but can't serve it (several meanings, a pitch that is not made) has the
            # better answer than "unknown": its own message goes on.
            message = str(failure)
            if "more than one" in message or "is not listed" in message:
                raise
    if len(things) > 1:
        said = tuple(_said(thing) for thing in things)
        raise LookupFailed(f"{name!r} means more than one thing", said, wanted=f"say {listed(said)}")
    if things:
        return things[0]
    # Drills and fits are left out: their names are so short that they would be near to everything.
    known = (*names(), *screw_sizes(), *material_names())
    close = nearest(name, known)
    if not any(alike(name, one) for one in close):
        raise LookupFailed(
            f"no table holds {name!r}, nor anything like it", wanted="`platekit tables` lists what there is"
        )
    raise LookupFailed(f"no table holds {name!r}", close, wanted=f"the nearest are {listed(close, 'and')}")


def _only_drill(text: str) -> Drill:
    """A drill by a name that only a drill has: a bare figure could be anything."""
    if re.fullmatch(r"[A-Za-z]|#\d+|\d*[- ]?\d+/\d+|\d+(\.\d+)? ?mm", text):
        return drill(text)
    raise LookupFailed(f"no drill is called {text!r}")


def _fit(text: str) -> FitLimits:
    found = _FIT.fullmatch(text)
    if not found or found[2] not in zones():
        raise LookupFailed(f"no fit is called {text!r}")
    size = float(found[1])
    zone = f"{found[2]}{found[3]}"
    return FitLimits(f"{size:g} {zone}", size, fit_limits(zone, size), _FIT_SOURCE)


def _said(thing: Found) -> str:
    if isinstance(thing, StandardMount):
        return f"{thing.designation} ({thing.family})"
    if isinstance(thing, Screw):
        return f"{thing.size} (the screw)"
    return f"drill {thing.name}" if isinstance(thing, Drill) else f"{thing.name} ({thing.source.name})"
