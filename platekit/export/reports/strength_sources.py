"""What the figures of strength rest on: how they are worked out, and what screws, edges and plate are held to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.strength import gap_in
from platekit.export.reports.rows import SourceRow, source_row
from platekit.placed import Layout
from platekit.tables.strengths import limit

ALWAYS: Final = (
    "yield over allowed",
    "tightening factor",
    "slip factor",
    "slip safety",
    "relieved by a pull",
    "thread shear",
    "cut edge",
    "borne without end",
    "fatigue safety",
    "clear of resonance",
)
"""The limits of every plate that carries something, by their names in `strength_limits.csv`."""
ELEMENTS: Final = (
    "finite elements of a plate that bends and shears, triangles of the MITC family (Bathe, Brezzi, Cho); round each "
    "screw a ring of springs, between a soft and a stiff bound; linear"
)


def strength_sources(layout: Layout) -> Iterator[SourceRow]:
    """A row for each figure behind the plate's strength; nothing where it is not worked out."""
    if gap_in(layout) is not None:
        return
    yield SourceRow("strength: stress, movement, forces, natural frequencies", "worked out", ELEMENTS, "published")
    names = list(ALWAYS)
    if any(mount.travel is not None for mount in layout.mounts.values()):
        names.insert(3, "long slot")
    if layout.ribs:
        names += ["weld end to 50 mm", "weld end to 80 mm", "weld end to 100 mm", "weld end"]
    for name in names:
        found = limit(name)
        is_stress = name == "cut edge" or name.startswith("weld end")
        yield source_row(f"strength: {found.what}", f"{found.figure:g}{' N/mm²' if is_stress else ''}", found.source)
