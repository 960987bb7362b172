"""What the figures of a spec usually are, from `usual_figures.csv`: by kind, and against what they are measured."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import read
from platekit.tables.values import Source


class Usual(Struct, frozen=True):
    """The bounds of one kind of figure: `possible` and, within it, `usual`; in mm or in what `of` names."""

    figure: str
    of: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    source: Source


@cache
def _usual() -> dict[str, Usual]:
    return {
        row.text("figure"): Usual(
            row.text("figure"),
            row.text("of"),
            (row.number("possible_from"), row.number("possible_to")),
            (row.number("usual_from"), row.number("usual_to")),
            row.source,
        )
        for row in read("usual_figures.csv")
    }


def usual(figure: str) -> Usual:
    """The bounds of a kind of figure, such as `thickness`; raises `LookupFailed` for one that the table does not hold.

    >>> usual("thickness").possible
    (0.8, 120.0)
    """
    found = _usual().get(figure)
    if found is None:
        known = tuple(_usual())
        raise LookupFailed(f"no figure is called {figure!r}", known, wanted=f"known are {', '.join(known)}")
    return found
