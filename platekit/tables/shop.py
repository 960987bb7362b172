"""Small figures of a shop's practice that no standard gives: what a tool needs, what steel should be left."""

from __future__ import annotations

from functools import cache

from platekit.tables.rows import TableError, read


@cache
def shop_figure(name: str) -> float:
    """The figure of this name in `shop_figures.csv`, mm or a bare factor; every name is written in the code.

    >>> shop_figure("grease gun, width")
    16.0
    """
    for row in read("shop_figures.csv"):
        if row.text("name") == name:
            return row.need("figure") if row.text("figure_mm") else row.number("factor")
    raise TableError(f"shop_figures.csv: no row {name!r}")
