"""Pillow blocks: bearing blocks on two bolts, in the sizes that are commonly sold."""

from __future__ import annotations

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.naming import key, listed, nearest
from platekit.tables.rows import kept, read
from platekit.tables.screws import screw, screw_sizes
from platekit.tables.values import Source
from platekit.units import Unit, length, show_length

FILE = "bearing_block.csv"


class BearingBlock(Struct, frozen=True):
    """One size of pillow block, mm: a shaft of `bore` lies `shaft_height` over feet that are `foot` thick.

    Its two bolts (`hole` wide, `slot` long) are `bolts_apart` across the shaft; `length` is over all across the shaft,
    `width` along it, `reach` along it from the bolts to the end of ring or housing, whichever is farther. `inch_bores`
    are the shafts in inches that the same block is sold for, as they are called.
    """

    name: str
    bore: float
    inch_bores: tuple[str, ...]
    shaft_height: float
    bolts_apart: float
    foot: float
    length: float
    width: float
    hole: float
    slot: float
    high: float
    reach: float
    screw: str
    source: Source

    @property
    def inch_screw(self) -> str:
        """The coarse inch screw for the same hole: the thickest that is no thicker than the metric one."""
        most = screw(self.screw).diameter
        inch = [screw(size) for size in screw_sizes() if not size.startswith("M")]
        # of two threads of one thickness the coarser
        return max((one for one in inch if one.diameter <= most), key=lambda one: (one.diameter, one.pitch)).size

    def about(self, unit: Unit) -> str:
        """What tells it from the next, for a list, in mm or in."""
        shaft = f"{', '.join(self.inch_bores)} in" if unit == "in" else f"{self.bore:g} mm"
        apart, high = show_length(self.bolts_apart, unit), show_length(self.shaft_height, unit)
        return f"shaft {shaft}, bolts {apart} apart, {high} high"


@kept()
def bearing_blocks() -> tuple[BearingBlock, ...]:
    """All sizes, the thinnest shaft first; mm. Source: `bearing_block.csv`, each row with its kind.

    >>> [one.name for one in bearing_blocks() if one.bore == 25]
    ['P 205']
    """
    found = []
    for row in read(FILE):
        ring, side, width = row.need("ring"), row.need("ring_side"), row.need("width")
        found.append(
            BearingBlock(
                name=row.text("name"),
                bore=row.need("bore"),
                inch_bores=row.words("inch_bores_in"),
                shaft_height=row.need("shaft_height"),
                bolts_apart=row.need("bolts_apart"),
                foot=row.need("foot"),
                length=row.need("length"),
                width=width,
                hole=row.need("hole"),
                slot=row.need("slot"),
                high=row.need("high"),
                reach=max(width / 2, ring - side),
                screw=row.text("screw"),
                source=row.source,
            )
        )
    return tuple(found)


def bearing_block(name: str) -> BearingBlock:
    """The size of a pillow block by its name, `P 205` or what is cast into it, `UCP205`, with or without its inch bore.

    Raises LookupFailed for a name that the table does not hold, with the nearest ones.

    >>> bearing_block("UCP205").bolts_apart, bearing_block("ucp 205-16").bore
    (105.0, 25.0)
    """
    wanted = key(name).removeprefix("uc").partition("-")[0]
    wanted = wanted[:4] if wanted[:1] == "p" and wanted[1:4].isdigit() else wanted
    found = next((one for one in bearing_blocks() if key(one.name) == wanted), None)
    if found is None:
        near = nearest(name, tuple(one.name for one in bearing_blocks()))
        raise LookupFailed(f"no table has a bearing block {name!r}", near, f"use {listed(near)}, or give its figures")
    return found


def bore_of(block: BearingBlock, unit: Unit) -> float:
    """The shaft of a block in the unit of a job, mm: the metric one, or the thickest of those in inches."""
    return length(f"{block.inch_bores[-1]} in", "in") if unit == "in" and block.inch_bores else block.bore
